//! Words on a picture: how wide they run, how they are counted.

/// What is counted, in both numbers: `bar`, `bars`. The maker's own words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Noun<'a> {
    /// One of them.
    pub one: &'a str,
    /// Several of them.
    pub many: &'a str,
}

impl<'a> Noun<'a> {
    /// A count with its noun: `1 bar`, `11 bars`.
    pub(crate) fn counted(self, n: usize) -> String {
        format!("{n} {}", self.of(n))
    }

    /// The noun that goes with a count.
    pub(crate) fn of(self, n: usize) -> &'a str {
        if n == 1 { self.one } else { self.many }
    }
}

/// About how wide text runs, in ems of its size. On the wide side of common
/// sans-serif faces, since a label that is given too much room is still read.
pub(crate) fn width(text: &str) -> f64 {
    text.chars().map(char_width).sum()
}

fn char_width(c: char) -> f64 {
    match c {
        'i' | 'l' | 'j' | 'I' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | ' ' | '\u{a0}' | 't'
        | 'f' | 'r' => 0.36,
        'm' | 'w' | 'M' | 'W' | '%' | '@' => 0.95,
        'A'..='Z' => 0.72,
        '0'..='9' => 0.64,
        c if c.is_ascii() => 0.58,
        // Scripts set in full squares, and pictographs.
        '\u{1100}'..='\u{11ff}'
        | '\u{2e80}'..='\u{a4cf}'
        | '\u{ac00}'..='\u{d7af}'
        | '\u{f900}'..='\u{faff}'
        | '\u{fe30}'..='\u{fe6f}'
        | '\u{ff00}'..='\u{ff60}'
        | '\u{1f300}'..='\u{1faff}'
        | '\u{20000}'..='\u{3ffff}' => 1.1,
        _ => 0.68,
    }
}

/// The text, cut with an ellipsis where it would run wider than `room` ems. The
/// whole text stands in the picture's table.
pub(crate) fn fit(text: &str, room: f64) -> String {
    if width(text) <= room {
        return text.to_owned();
    }
    let mut used = width("…");
    let kept: String = text
        .chars()
        .take_while(|c| {
            used += char_width(*c);
            used <= room
        })
        .collect();
    format!(
        "{}…",
        kept.trim_end_matches(|c: char| c.is_whitespace() || c == '\u{200d}')
    )
}

/// The text in lines of at most `room` ems, broken between words. A word that is
/// wider than that is cut with an ellipsis.
pub(crate) fn wrap(text: &str, room: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if width(line) + width(" ") + width(word) <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(fit(word, room)),
        }
    }
    lines
}

/// A chance as a whole percentage that never claims certainty.
pub(crate) fn percent(chance: f64) -> String {
    let percent = chance * 100.0;
    if percent < 1.0 {
        "under 1 %".to_owned()
    } else if percent > 99.0 && percent < 100.0 {
        "over 99 %".to_owned()
    } else {
        format!("{percent:.0} %")
    }
}

/// Names in a sentence: `a`, `a and b`, `a, b and c`.
pub(crate) fn list(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_text_is_cut_to_its_room() {
        assert_eq!(fit("Rainy Loft", 10.0), "Rainy Loft");
        let cut = fit("Harbour Fig with a very long tail", 7.0);
        assert_eq!(cut, "Harbour Fig…");
        assert!(width(&cut) <= 7.0);
        assert_eq!(fit("mmmm", 0.5), "…");
    }

    #[test]
    fn long_text_is_broken_between_words() {
        assert_eq!(wrap("", 9.0), [] as [&str; 0]);
        let lines = wrap("Warning, and names two allergens", 9.0);
        assert_eq!(lines, ["Warning, and", "names two", "allergens"]);
        assert!(lines.iter().all(|line| width(line) <= 9.0));
    }

    #[test]
    fn a_chance_is_never_called_certain() {
        assert_eq!(percent(0.003), "under 1 %");
        assert_eq!(percent(0.614), "61 %");
        assert_eq!(percent(0.9991), "over 99 %");
        assert_eq!(percent(1.0), "100 %");
    }

    #[test]
    fn names_are_listed_as_spoken() {
        let names = ["a", "b", "c"].map(str::to_owned);
        assert_eq!(list(&names[..1]), "a");
        assert_eq!(list(&names[..2]), "a and b");
        assert_eq!(list(&names), "a, b and c");
    }
}
