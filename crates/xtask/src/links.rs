//! Links in the papers lead to files and headings that exist.

use std::collections::{BTreeMap, BTreeSet};

use crate::tree::Tree;

/// Follows every link from one file of the tree to another.
pub(crate) fn check(tree: &Tree) -> anyhow::Result<Vec<String>> {
    let papers: Vec<(&str, String)> = tree.texts(".md")?;
    Ok(dead_links(tree.files(), &papers))
}

/// Returns a complaint for each link in `papers` that leads nowhere.
fn dead_links(files: &[String], papers: &[(&str, String)]) -> Vec<String> {
    let mut known: BTreeSet<&str> = files.iter().map(String::as_str).collect();
    for file in files {
        let folders = file.match_indices('/').filter_map(|(at, _)| file.get(..at));
        known.extend(folders);
    }
    known.insert("");
    let anchors: BTreeMap<&str, BTreeSet<String>> = papers
        .iter()
        .map(|(path, text)| (*path, headings(text)))
        .collect();
    let mut dead = Vec::new();
    for (path, text) in papers {
        for (line, link) in links(text) {
            if let Some(why) = fault(path, &link, &known, &anchors) {
                dead.push(format!("{path}:{line}: {link}: {why}"));
            }
        }
    }
    dead
}

/// Returns what is wrong with a link that stands in the file `from`.
fn fault(
    from: &str,
    link: &str,
    known: &BTreeSet<&str>,
    anchors: &BTreeMap<&str, BTreeSet<String>>,
) -> Option<&'static str> {
    if has_scheme(link) || link.starts_with("//") {
        return None;
    }
    let (file, anchor) = link.split_once('#').unwrap_or((link, ""));
    let file = file.split('?').next().unwrap_or_default();
    let target = if file.is_empty() {
        from.to_owned()
    } else {
        let Some(file) = percent_decoded(file) else {
            return Some("the address cannot be read");
        };
        match resolved(from, &file) {
            Some(target) => target,
            None => return Some("it leaves the repository"),
        }
    };
    if !known.contains(target.as_str()) {
        return Some("there is no such file");
    }
    match anchors.get(target.as_str()) {
        Some(headings) if !anchor.is_empty() && !headings.contains(anchor) => {
            Some("there is no such heading")
        }
        _ => None,
    }
}

/// Returns whether a link begins with a scheme, such as `https:`.
fn has_scheme(link: &str) -> bool {
    link.split_once(':').is_some_and(|(scheme, _)| {
        scheme.starts_with(|c: char| c.is_ascii_alphabetic())
            && scheme
                .chars()
                .all(|c| c.is_ascii_alphanumeric() || matches!(c, '+' | '-' | '.'))
    })
}

/// Returns the path below the root, or nothing when it leads above it.
fn resolved(from: &str, link: &str) -> Option<String> {
    let mut parts: Vec<&str> = match link.strip_prefix('/') {
        Some(_) => Vec::new(),
        None => from
            .rsplit_once('/')
            .map_or(Vec::new(), |(folder, _)| folder.split('/').collect()),
    };
    for part in link.split('/') {
        match part {
            "" | "." => {}
            ".." => {
                parts.pop()?;
            }
            _ => parts.push(part),
        }
    }
    Some(parts.join("/"))
}

/// Returns the text with `%20` and its like read.
fn percent_decoded(text: &str) -> Option<String> {
    let mut bytes = Vec::new();
    let mut pieces = text.split('%');
    bytes.extend_from_slice(pieces.next().unwrap_or_default().as_bytes());
    for piece in pieces {
        let (hex, rest) = piece.split_at_checked(2)?;
        bytes.push(u8::from_str_radix(hex, 16).ok()?);
        bytes.extend_from_slice(rest.as_bytes());
    }
    String::from_utf8(bytes).ok()
}

/// Returns the lines of a paper, counted from 1, with code blocks and code in
/// a line left out.
fn prose(text: &str) -> Vec<(usize, String)> {
    let mut lines = Vec::new();
    let mut fence: Option<(char, usize)> = None;
    for (idx, line) in text.lines().enumerate() {
        let start = line.trim_start();
        let mark = start.chars().next().filter(|c| matches!(c, '`' | '~'));
        let run = mark.map_or(0, |mark| start.chars().take_while(|c| *c == mark).count());
        match fence {
            Some((open, length)) => {
                if mark == Some(open) && run >= length {
                    fence = None;
                }
            }
            None => match mark {
                Some(mark) if run >= 3 => fence = Some((mark, run)),
                _ => lines.push((idx + 1, without_code(line))),
            },
        }
    }
    lines
}

/// Returns a line with what stands between backticks blanked.
fn without_code(line: &str) -> String {
    let mut kept = String::new();
    let mut rest = line;
    while let Some(at) = rest.find('`') {
        let (before, ticked) = rest.split_at(at);
        kept.push_str(before);
        let run = ticked.chars().take_while(|c| *c == '`').count();
        let (ticks, after) = ticked.split_at(run);
        let close = after.match_indices(ticks).map(|(at, _)| at).find(|&at| {
            let longer = |c: Option<char>| c == Some('`');
            !longer(after.get(..at).and_then(|s| s.chars().next_back()))
                && !longer(after.get(at + run..).and_then(|s| s.chars().next()))
        });
        if let Some(close) = close {
            rest = after.get(close + run..).unwrap_or_default();
        } else {
            kept.push_str(ticks);
            rest = after;
        }
    }
    kept.push_str(rest);
    kept
}

/// Returns the targets of the links and pictures in a paper, with their lines.
fn links(text: &str) -> Vec<(usize, String)> {
    let mut found = Vec::new();
    for (number, line) in prose(text) {
        for (at, _) in line.match_indices("](") {
            found.extend(line.get(at + 2..).and_then(target).map(|t| (number, t)));
        }
        // `[name]: target`, the long form.
        if let Some((_, definition)) = line
            .strip_prefix('[')
            .filter(|rest| !rest.starts_with('^'))
            .and_then(|rest| rest.split_once("]:"))
        {
            found.extend(target(definition.trim_start()).map(|t| (number, t)));
        }
        for attribute in ["src=\"", "srcset=\"", "href=\""] {
            for (at, _) in line.match_indices(attribute) {
                let value = line
                    .get(at + attribute.len()..)
                    .and_then(|rest| rest.split_once('"'));
                let value = value.map_or("", |(value, _)| value);
                // `srcset` holds several, each with a width behind it.
                for one in value.split(',').filter(|_| !value.starts_with("data:")) {
                    let one = one.split_whitespace().next();
                    found.extend(one.map(|one| (number, one.to_owned())));
                }
            }
        }
    }
    found
}

/// Returns the target at the start of `rest`: up to the bracket that closes
/// it, or to the space before a title.
fn target(rest: &str) -> Option<String> {
    if let Some(rest) = rest.strip_prefix('<') {
        return rest.split_once('>').map(|(target, _)| target.to_owned());
    }
    let mut depth = 0_u32;
    let end = rest.find(|c: char| match c {
        '(' => {
            depth += 1;
            false
        }
        ')' if depth > 0 => {
            depth -= 1;
            false
        }
        ')' => true,
        c => c.is_whitespace(),
    });
    let target = rest.get(..end.unwrap_or(rest.len()))?;
    (!target.is_empty()).then(|| target.to_owned())
}

/// Returns the anchors of a paper's headings, as the common forges make them:
/// lower case, spaces to hyphens, punctuation dropped, a repeat numbered.
fn headings(text: &str) -> BTreeSet<String> {
    let mut anchors = BTreeSet::new();
    let mut counts: BTreeMap<String, usize> = BTreeMap::new();
    // Code in a heading is part of its name, so only the fences count here.
    let shown: BTreeSet<usize> = prose(text).into_iter().map(|(number, _)| number).collect();
    for (idx, line) in text.lines().enumerate() {
        let title = line.trim_start_matches('#');
        let level = line.len() - title.len();
        if !(1..=6).contains(&level) || !title.starts_with(' ') || !shown.contains(&(idx + 1)) {
            continue;
        }
        let slug: String = title
            .trim()
            .to_lowercase()
            .chars()
            .filter_map(|c| match c {
                ' ' => Some('-'),
                c if c.is_alphanumeric() || matches!(c, '-' | '_') => Some(c),
                _ => None,
            })
            .collect();
        let count = counts.entry(slug.clone()).or_default();
        anchors.insert(match *count {
            0 => slug,
            n => format!("{slug}-{n}"),
        });
        *count += 1;
    }
    anchors
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(readme: &str, expected: &[&str]) {
        let files = [
            "README.md",
            "docs/wax & wick.md",
            "docs/words.md",
            "docs/pictures/rack.png",
        ]
        .map(str::to_owned);
        let words = "# Words\n\n[up](../README.md) [pair](words.md#of-wax)\n\n## Of wax\n";
        let papers = [
            ("README.md", readme.to_owned()),
            ("docs/words.md", words.to_owned()),
        ];
        assert_eq!(dead_links(&files, &papers), expected);
    }

    #[test]
    fn a_link_to_a_file_folder_or_heading_that_is_there_holds() {
        check(
            "# Top\n[a](docs/words.md) [b](docs) [c](./docs/words.md#of-wax \"title\")",
            &[],
        );
        check("[a](docs/wax%20&%20wick.md) [b](<docs/wax & wick.md>)", &[]);
        check(
            "# A `load` of 8 %\n[a](#a-load-of-8-)\n# Two\n# Two\n[b](#two-1)",
            &[],
        );
        check(
            "![rack](docs/pictures/rack.png)\n[one]: docs/words.md\n",
            &[],
        );
        check(
            "[far](https://www.nist.gov/) [mail](mailto:a@example.org)",
            &[],
        );
        check(
            "<img src=\"docs/pictures/rack.png\" alt=\"\"><source srcset=\"docs/pictures/rack.png, docs/pictures/rack.png 2x\">",
            &[],
        );
    }

    #[test]
    fn a_link_that_leads_nowhere_is_named_with_its_line() {
        check(
            "\n[a](docs/gone.md)",
            &["README.md:2: docs/gone.md: there is no such file"],
        );
        check(
            "[a](docs/words.md#of-oil)",
            &["README.md:1: docs/words.md#of-oil: there is no such heading"],
        );
        check(
            "[![a](gone.png)](docs/words.md)",
            &["README.md:1: gone.png: there is no such file"],
        );
        check(
            "[one]: docs/gone.md\n<img src=\"gone.png\">",
            &[
                "README.md:1: docs/gone.md: there is no such file",
                "README.md:2: gone.png: there is no such file",
            ],
        );
    }

    #[test]
    fn a_link_stays_inside_the_repository() {
        check(
            "[a](../notes.md) [b](docs/../../notes.md)",
            &[
                "README.md:1: ../notes.md: it leaves the repository",
                "README.md:1: docs/../../notes.md: it leaves the repository",
            ],
        );
    }

    #[test]
    fn code_holds_no_links() {
        check("`[a](gone.md)` and ``[b](`gone.md)``", &[]);
        check("```text\n[a](gone.md)\n~~~\n[b](gone.md)\n```\n", &[]);
        check(
            "~~~\n# Not a heading\n~~~\n[a](#not-a-heading)",
            &["README.md:4: #not-a-heading: there is no such heading"],
        );
    }

    #[test]
    fn brackets_may_stand_in_a_target() {
        check(
            "[a](gone_(one).md) x)",
            &["README.md:1: gone_(one).md: there is no such file"],
        );
        check(
            "[a](docs/%2)",
            &["README.md:1: docs/%2: the address cannot be read"],
        );
    }
}
