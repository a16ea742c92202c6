//! The list of checks and the run through it.

use std::path::Path;
use std::time::Instant;

use anyhow::Context as _;

use crate::tree::Tree;
use crate::{direction, links, manifest, tables, words};

/// One check: what it is called, how to put a failure right, and the check.
struct Check {
    name: &'static str,
    fix: &'static str,
    run: fn(&Tree) -> anyhow::Result<Vec<String>>,
}

/// Cheapest first: the first complaint comes within a second.
const CHECKS: &[Check] = &[
    Check {
        name: "words",
        fix: "finish the thing or leave it out; a known debt is an #[expect] with its reason; \
              say why the thing is as it is, not how it came to be asked for",
        run: words::check,
    },
    Check {
        name: "manifest",
        fix: "say in half a line behind the entry in the root Cargo.toml what it is for",
        run: manifest::check,
    },
    Check {
        name: "links",
        fix: "correct the link, or commit the file or heading it points to",
        run: links::check,
    },
    Check {
        name: "direction",
        fix: "move the code to the crate that may know it; the map is in crates/xtask/src/direction.rs",
        run: direction::check,
    },
    Check {
        name: "tables",
        fix: "run `cargo xtask tables` and commit what it writes",
        run: tables::check,
    },
    Check {
        name: "format",
        fix: "run `cargo fmt --all`",
        run: |tree| cargo(tree, &["fmt", "--all", "--check"], &[]),
    },
    Check {
        name: "clippy",
        fix: "do as each lint says, or put #[expect(the_lint, reason = \"...\")] on the item",
        run: |tree| {
            let args = "clippy --locked --workspace --all-targets -- -D warnings";
            cargo(tree, &args.split(' ').collect::<Vec<_>>(), &[])
        },
    },
    Check {
        name: "docs",
        fix: "correct the doc comment at the place named",
        run: |tree| {
            let args = "doc --locked --workspace --no-deps --document-private-items";
            let args: Vec<&str> = args.split(' ').collect();
            cargo(tree, &args, &[("RUSTDOCFLAGS", "-D warnings")])
        },
    },
];

/// Returns the names of all checks, in the order they run.
pub(crate) fn names() -> String {
    let names: Vec<&str> = CHECKS.iter().map(|check| check.name).collect();
    names.join(", ")
}

/// Returns whether a check has this name.
pub(crate) fn is_known(name: &str) -> bool {
    CHECKS.iter().any(|check| check.name == name)
}

/// Runs the checks named, or all when none is, and returns whether all held.
///
/// A failure does not end the run: one run tells everything.
pub(crate) fn run(only: &[String]) -> anyhow::Result<bool> {
    let tree = tree()?;
    let mut failed = Vec::new();
    for check in CHECKS {
        if !only.is_empty() && !only.iter().any(|name| name == check.name) {
            continue;
        }
        let start = Instant::now();
        let (findings, fix) = match (check.run)(&tree) {
            Ok(findings) => (findings, Some(check.fix)),
            // It could not look; what hinders it says so itself.
            Err(error) => (vec![format!("{error:#}")], None),
        };
        let elapsed = start.elapsed().as_secs_f64();
        if findings.is_empty() {
            println!("{:<10} holds          {elapsed:>7.1} s", check.name);
            continue;
        }
        println!("{:<10} does not hold  {elapsed:>7.1} s", check.name);
        for finding in &findings {
            println!("    {finding}");
        }
        if let Some(fix) = fix {
            println!("    To put it right: {fix}.");
        }
        println!("    Then: cargo xtask check --only {}", check.name);
        failed.push(check.name);
    }
    if !failed.is_empty() {
        println!("not held: {}", failed.join(", "));
    }
    Ok(failed.is_empty())
}

/// Lists the files of this workspace.
pub(crate) fn tree() -> anyhow::Result<Tree> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"))
        .ancestors()
        .nth(2)
        .context("the workspace is two folders above the manifest of xtask")?;
    Tree::read(root)
}

/// Runs cargo with its output shown as it comes.
fn cargo(tree: &Tree, args: &[&str], env: &[(&str, &str)]) -> anyhow::Result<Vec<String>> {
    let status = tree
        .cargo()
        .args(args)
        .envs(env.iter().copied())
        .status()
        .context("could not start cargo")?;
    if status.success() {
        return Ok(Vec::new());
    }
    Ok(vec![format!(
        "`cargo {}` ended with {status}",
        args.join(" ")
    )])
}
