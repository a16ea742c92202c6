//! Words that say a thing is not finished, and words about how the work was
//! done instead of what it is.

use crate::tree::Tree;

// Put together here, so that this file does not find itself.
const WORDS: &[&str] = &[
    concat!("to", "do!"),
    concat!("unimple", "mented!"),
    concat!("FIX", "ME"),
];

/// A reader of the code needs the reason for a thing, not the way it came to be
/// asked for. Sources are published ones.
const PROCESS: &[&str] = &[
    concat!("trans", "cript"),
    concat!("seed docu", "ment"),
    concat!("steer", "ing"),
    concat!("C", "EO"),
    concat!("DEVELO", "PERS.md"),
    concat!("/fa", "rm/"),
    concat!("/wo", "rk/main"),
    concat!("/wo", "rk/shared"),
    concat!(".lib", "rary"),
];

/// What is written for people, beside the code.
const TEXTS: &[&str] = &[".rs", ".md", ".toml", ".sql", ".js", ".css", ".sh", ".yml"];

/// Looks for unfinished work in the code, and for talk of the work in every text.
pub(crate) fn check(tree: &Tree) -> anyhow::Result<Vec<String>> {
    let mut findings = Vec::new();
    let mut note = |path: &str, found: Vec<(usize, &str)>| {
        findings.extend(
            found
                .iter()
                .map(|(line, word)| format!("{path}:{line}: {word}")),
        );
    };
    for (path, text) in tree.texts(".rs")? {
        note(path, find(&text, WORDS));
    }
    for ending in TEXTS {
        for (path, text) in tree.texts(ending)? {
            note(path, find(&text, PROCESS));
        }
    }
    Ok(findings)
}

/// Returns the lines, counted from 1, that hold one of the words whole; a word
/// that begins or ends with a sign needs no room there.
fn find(text: &str, words: &[&'static str]) -> Vec<(usize, &'static str)> {
    let joins = |c: char| c.is_alphanumeric() || c == '_';
    let mut found = Vec::new();
    for (idx, line) in text.lines().enumerate() {
        for word in words {
            let whole = |at: usize| {
                let before = line.get(..at).and_then(|text| text.chars().next_back());
                let after = line
                    .get(at + word.len()..)
                    .and_then(|text| text.chars().next());
                let free = |edge: Option<char>, beyond: Option<char>| {
                    !(edge.is_some_and(joins) && beyond.is_some_and(joins))
                };
                free(word.chars().next(), before) && free(word.chars().next_back(), after)
            };
            if line.match_indices(word).any(|(at, _)| whole(at)) {
                found.push((idx + 1, *word));
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn unfinished_work_is_found_by_line() {
        for word in WORDS {
            let text = format!("fn melt() {{\n    {word}(\"later\")\n}}\n");
            assert_eq!(find(&text, WORDS), [(2, *word)]);
        }
    }

    #[test]
    fn a_longer_word_is_another_word() {
        let text = format!("my_{}() pre{}", WORDS[0], WORDS[2]);
        assert_eq!(find(&text, WORDS), []);
        assert_eq!(find("to do: nothing; unimplemented; fixed", WORDS), []);
        let longer = format!("a public {}ion, {}s", PROCESS[0], PROCESS[3]);
        assert_eq!(find(&longer, PROCESS), []);
    }

    #[test]
    fn talk_of_the_work_is_found_by_line() {
        for word in PROCESS {
            let text = format!("# Notes\n\nAs said ({word}).\n");
            assert_eq!(find(&text, PROCESS), [(3, *word)]);
        }
        assert_eq!(
            find(&format!("see x{}/env", PROCESS[8]), PROCESS),
            [(1, PROCESS[8])]
        );
    }
}
