//! Checks of the whole workspace; not shipped.
//!
//! `cargo xtask check` runs every check, cheapest first, and says of each
//! failure how to put it right. `cargo xtask check --only NAME` runs one.
//! `cargo xtask tables` writes the compiled tables of `hazard` anew.
//! `cargo xtask year FILE` writes the made-up year of a busy workshop into a
//! new journal file.
//!
//! This crate refuses to know the trade: it reads manifests, papers, lists and
//! the tree, and judges no fact or figure in them. Start with [`check`]; the
//! map of the crates is in [`direction`].

mod check;
mod direction;
mod links;
mod manifest;
mod tables;
mod tree;
mod words;

use std::process::ExitCode;

const USAGE: &str =
    "usage: cargo xtask check [--only NAME]... | cargo xtask tables | cargo xtask year FILE";

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    if args == ["tables"] {
        return match check::tree().and_then(|tree| tables::write(&tree)) {
            Ok(()) => ExitCode::SUCCESS,
            Err(error) => {
                eprintln!("{error:#}");
                ExitCode::FAILURE
            }
        };
    }
    if let [task, file] = args.as_slice()
        && task == "year"
    {
        return match check::tree().and_then(|tree| year(&tree, file)) {
            Ok(()) => ExitCode::SUCCESS,
            Err(error) => {
                eprintln!("{error:#}");
                ExitCode::FAILURE
            }
        };
    }
    let names = match check_names(&args) {
        Ok(names) => names,
        Err(complaint) => {
            eprintln!("{complaint}\n{USAGE}\nchecks: {}", check::names());
            return ExitCode::from(2);
        }
    };
    match check::run(&names) {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(error) => {
            eprintln!("{error:#}");
            ExitCode::FAILURE
        }
    }
}

/// Has the example that knows the workshop write the year: this crate does not
/// know the trade, and its checks are not to wait for what does.
fn year(tree: &tree::Tree, file: &str) -> anyhow::Result<()> {
    let file = std::path::absolute(file)?;
    let status = tree
        .cargo()
        .args(["run", "--quiet", "--package", "pourwright"])
        .args(["--example", "year", "--"])
        .arg(file)
        .status()?;
    anyhow::ensure!(status.success(), "the year was not written");
    Ok(())
}

/// Returns the checks asked for; none named means all.
fn check_names(args: &[String]) -> Result<Vec<String>, String> {
    let mut rest = args.iter();
    match rest.next().map(String::as_str) {
        Some("check") => {}
        Some(other) => return Err(format!("there is no task \"{other}\"")),
        None => return Err("name a task".to_owned()),
    }
    let mut names = Vec::new();
    while let Some(arg) = rest.next() {
        let name = match arg.strip_prefix("--only") {
            Some("") => rest.next().map(String::as_str),
            Some(rest) => rest.strip_prefix('='),
            None => return Err(format!("\"{arg}\" is not an option of check")),
        };
        match name {
            Some(name) if check::is_known(name) => names.push(name.to_owned()),
            Some(name) => return Err(format!("there is no check \"{name}\"")),
            None => return Err("--only wants the name of a check".to_owned()),
        }
    }
    Ok(names)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(args: &str, expected: Result<&[&str], &str>) {
        let args: Vec<String> = args.split_whitespace().map(str::to_owned).collect();
        let found = check_names(&args);
        let found = found.as_deref().map_err(String::as_str);
        assert_eq!(
            found,
            expected
                .map(|names| names
                    .iter()
                    .map(|&name| name.to_owned())
                    .collect::<Vec<_>>())
                .as_deref()
                .map_err(|e| *e)
        );
    }

    #[test]
    fn all_checks_or_those_named() {
        check("check", Ok(&[]));
        check("check --only links", Ok(&["links"]));
        check("check --only=format --only docs", Ok(&["format", "docs"]));
    }

    #[test]
    fn what_is_not_understood_is_refused() {
        check("", Err("name a task"));
        check("chekc", Err("there is no task \"chekc\""));
        check("check links", Err("\"links\" is not an option of check"));
        check("check --only", Err("--only wants the name of a check"));
        check("check --only lnks", Err("there is no check \"lnks\""));
    }
}
