//! Every dependency in the root manifest says what it is for.

use crate::tree::Tree;

/// Looks for dependencies without a word about their use.
pub(crate) fn check(tree: &Tree) -> anyhow::Result<Vec<String>> {
    let findings = silent_entries(&tree.text("Cargo.toml")?);
    Ok(findings
        .into_iter()
        .map(|(line, name)| format!("Cargo.toml:{line}: {name} does not say what it is for"))
        .collect())
}

/// Returns the dependencies that carry no comment, with their lines.
///
/// The comment stands on a line of the entry itself: a line above could speak
/// of several. Our own crates are told by their `path`; their purpose is the
/// description in their own manifest.
fn silent_entries(manifest: &str) -> Vec<(usize, String)> {
    let mut silent = Vec::new();
    // Dependencies stand one a line, or one a table.
    let mut entries = false;
    let mut open: Option<Entry> = None;
    for (idx, line) in manifest.lines().enumerate() {
        let (code, comment) = split_line(line);
        let code = code.trim();
        let said = !comment.trim_matches(['#', ' ', '\t']).is_empty();
        if let Some(table) = header(code).filter(|_| !open.as_ref().is_some_and(Entry::unclosed)) {
            silent.extend(open.take().and_then(Entry::complaint));
            entries = table.ends_with("dependencies");
            if let Some((parent, name)) = table.rsplit_once("dependencies.")
                && (parent.is_empty() || parent.ends_with(['.', '-']))
            {
                open = Some(Entry::new(idx + 1, name));
            }
        } else if entries && !open.as_ref().is_some_and(Entry::unclosed) {
            silent.extend(open.take().and_then(Entry::complaint));
            open = code
                .split_once('=')
                .map(|(name, _)| Entry::new(idx + 1, name.trim()));
        }
        if let Some(entry) = &mut open {
            entry.take(code, said);
        }
    }
    silent.extend(open.and_then(Entry::complaint));
    silent
}

/// A dependency being read, over as many lines as it takes.
struct Entry {
    line: usize,
    name: String,
    depth: i32,
    settled: bool,
}

impl Entry {
    fn new(line: usize, name: &str) -> Self {
        Self {
            line,
            name: name.to_owned(),
            depth: 0,
            settled: false,
        }
    }

    fn take(&mut self, code: &str, said: bool) {
        let ours = code
            .split(['{', ',', '}', ' '])
            .any(|word| word == "path" || word.starts_with("path="));
        self.settled |= said || ours;
        // A table header opens and closes on its own line.
        for c in code.chars() {
            match c {
                '{' | '[' => self.depth += 1,
                '}' | ']' => self.depth -= 1,
                _ => {}
            }
        }
    }

    fn unclosed(&self) -> bool {
        self.depth > 0
    }

    fn complaint(self) -> Option<(usize, String)> {
        (!self.settled).then_some((self.line, self.name))
    }
}

/// Returns the name in a table header.
fn header(code: &str) -> Option<&str> {
    code.strip_prefix('[')?.strip_suffix(']')
}

/// Splits a line into its code, without what stands in quotes, and its comment.
fn split_line(line: &str) -> (String, &str) {
    let mut bare = String::new();
    let mut quote = None;
    let mut escaped = false;
    for (at, c) in line.char_indices() {
        match quote {
            Some('"') if escaped => escaped = false,
            Some('"') if c == '\\' => escaped = true,
            Some(open) if c == open => quote = None,
            Some(_) => {}
            None => match c {
                '#' => return (bare, line.get(at..).unwrap_or_default()),
                '"' | '\'' => quote = Some(c),
                _ => bare.push(c),
            },
        }
    }
    (bare, "")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(manifest: &str, expected: &[(usize, &str)]) {
        let found = silent_entries(manifest);
        let found: Vec<(usize, &str)> = found.iter().map(|(l, n)| (*l, n.as_str())).collect();
        assert_eq!(found, expected);
    }

    #[test]
    fn an_entry_without_a_word_is_named_with_its_line() {
        check(
            "[workspace.dependencies]\n# Wax.\nwax = \"1\" # for the melt\noil = \"2\"\n",
            &[(4, "oil")],
        );
        check("[dependencies]\noil = \"2\" #\n", &[(2, "oil")]);
    }

    #[test]
    fn a_hash_in_a_string_is_no_comment() {
        check(
            "[workspace.dependencies]\noil = { git = \"a#b\" }\ndye = { tag = 'c#d\"' }\n",
            &[(2, "oil"), (3, "dye")],
        );
        check(
            "[workspace.dependencies]\noil = { git = \"a\\\"#b\" } # scent\n",
            &[],
        );
    }

    #[test]
    fn our_own_crates_say_it_in_their_own_manifest() {
        check(
            "[workspace.dependencies]\nfill = { path = \"crates/fill\" }\nwick={path=\"wick\"}\n",
            &[],
        );
        check(
            "[workspace.dependencies]\npath-finder = \"1\"\noil = { features = [\"path\"] }\n",
            &[(2, "path-finder"), (3, "oil")],
        );
    }

    #[test]
    fn an_entry_over_several_lines_speaks_on_any_of_them() {
        check(
            "[workspace.dependencies]\noil = { version = \"1\", features = [\n  \"a\", # scent\n] }\ndye = { features = [\n  \"b\",\n] }\n",
            &[(5, "dye")],
        );
    }

    #[test]
    fn a_table_of_its_own_counts_as_one_entry() {
        check(
            "[workspace.dependencies.oil] # scent\nversion = \"1\"\n\n[workspace.dependencies.dye]\nversion = \"1\"\n\n[dev-dependencies.wick]\nversion = \"1\" # test burns\n",
            &[(4, "dye")],
        );
    }

    #[test]
    fn other_tables_are_left_alone() {
        check(
            "[workspace]\nmembers = [\n  \"crates/*\",\n]\n[workspace.lints.rust]\nunsafe_code = \"forbid\"\n",
            &[],
        );
    }
}
