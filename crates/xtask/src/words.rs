//! Words that say a thing is not finished.

use crate::tree::Tree;

// Put together here, so that this file does not find itself.
const WORDS: &[&str] = &[
    concat!("to", "do!"),
    concat!("unimple", "mented!"),
    concat!("FIX", "ME"),
];

/// Looks for unfinished work in the code.
pub(crate) fn check(tree: &Tree) -> anyhow::Result<Vec<String>> {
    let mut findings = Vec::new();
    for (path, text) in tree.texts(".rs")? {
        for (line, word) in find(&text) {
            findings.push(format!("{path}:{line}: {word}"));
        }
    }
    Ok(findings)
}

/// Returns the lines, counted from 1, that hold one of the words.
fn find(text: &str) -> Vec<(usize, &'static str)> {
    let mut found = Vec::new();
    for (idx, line) in text.lines().enumerate() {
        for word in WORDS {
            let whole = |at: usize| {
                let before = line.get(..at).and_then(|before| before.chars().next_back());
                !before.is_some_and(|c| c.is_alphanumeric() || c == '_')
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
            assert_eq!(find(&text), [(2, *word)]);
        }
    }

    #[test]
    fn a_longer_word_is_another_word() {
        let text = format!("my_{}() pre{}", WORDS[0], WORDS[2]);
        assert_eq!(find(&text), []);
        assert_eq!(find("to do: nothing; unimplemented; fixed"), []);
    }
}
