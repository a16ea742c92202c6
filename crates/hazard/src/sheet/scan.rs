//! What stands in a scrap of a sheet: numbers of substances, classes, shares.

use rust_decimal::Decimal;

use crate::cas::Cas;
use crate::class::{Class, Route};
use crate::ingredient::EstimateKind;
use crate::share::Share;

/// Text whose understood places are marked, so that the rest can be shown.
#[derive(Debug, Clone, Default)]
pub(super) struct Scrap {
    signs: Vec<char>,
    used: Vec<bool>,
}

/// Something understood, and where it stood.
#[derive(Debug, Clone)]
pub(super) struct Token {
    pub(super) from: usize,
    pub(super) to: usize,
    pub(super) kind: Kind,
}

/// The kinds of things a section 3 is made of.
#[derive(Debug, Clone)]
pub(super) enum Kind {
    Cas(Result<Cas, measure::Unclear>),
    Ec { text: String, right: bool },
    Index(String),
    Reach(String),
    Class(Named),
    Statement(String),
    NotClassified,
    Limit(Limit),
    Factor { value: u64, water: Option<Water> },
    Estimate(Estimate),
    Share(Spotted),
}

/// A class by its abbreviation, whose statement may still be open.
#[derive(Debug, Clone)]
pub(super) struct Named {
    pub(super) code: &'static str,
    pub(super) route: Option<Route>,
    pub(super) minimum: bool,
    /// The words as they stood, where they were not the abbreviation.
    pub(super) other_words: Option<String>,
}

/// A specific concentration limit without its class.
#[derive(Debug, Clone)]
pub(super) struct Limit {
    pub(super) from: Decimal,
    pub(super) below: Option<Decimal>,
    /// Whether an end was open or closed the other way than the law's form.
    pub(super) doubtful: bool,
    pub(super) text: String,
}

/// Which of the two aquatic classes an M-factor is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Water {
    Acute,
    Chronic,
}

/// An acute toxicity estimate as found.
#[derive(Debug, Clone)]
pub(super) struct Estimate {
    pub(super) kind: Option<EstimateKind>,
    pub(super) value: Option<Decimal>,
    pub(super) above: bool,
    /// Whether a mark in the value may be one of thousands.
    pub(super) thousands: bool,
    pub(super) text: String,
}

/// A share as found.
#[derive(Debug, Clone)]
pub(super) struct Spotted {
    pub(super) share: Option<Share>,
    pub(super) percent: bool,
    pub(super) about: bool,
    pub(super) text: String,
}

/// The abbreviations of classes, ready to be looked for.
#[derive(Debug)]
pub(super) struct Lexicon {
    entries: Vec<Entry>,
}

#[derive(Debug)]
struct Entry {
    letters: Vec<char>,
    code: &'static str,
    own: bool,
}

/// Words in full for the abbreviation they stand for.
const IN_FULL: &[(&str, &str)] = &[
    ("skinsensitisation", "skinsens"),
    ("skinsensitization", "skinsens"),
    ("skinsensitiser", "skinsens"),
    ("skinsensitizer", "skinsens"),
    ("respiratorysensitisation", "respsens"),
    ("respiratorysensitization", "respsens"),
    ("acutetoxicity", "acutetox"),
    ("flammableliquid", "flamliq"),
    ("flammableliquids", "flamliq"),
    ("skinirritation", "skinirrit"),
    ("skincorrosion", "skincorr"),
    ("seriouseyedamage", "eyedam"),
    ("eyedamage", "eyedam"),
    ("eyeirritation", "eyeirrit"),
    ("aspirationhazard", "asptox"),
    ("aspirationtoxicity", "asptox"),
    ("acuteaquatic", "aquaticacute"),
    ("chronicaquatic", "aquaticchronic"),
    ("reproductivetoxicity", "repr"),
    ("carcinogenicity", "carc"),
    ("germcellmutagenicity", "muta"),
];

impl Lexicon {
    pub(super) fn new() -> Self {
        let mut entries: Vec<Entry> = Vec::new();
        for class in Class::ALL {
            let letters = squeezed(class.code());
            if entries.iter().any(|entry| entry.letters == letters) {
                continue;
            }
            let text: String = letters.iter().collect();
            for (words, short) in IN_FULL {
                let category = text
                    .strip_prefix(short)
                    .filter(|rest| rest.starts_with(|sign: char| sign.is_ascii_digit()));
                if let Some(category) = category {
                    entries.push(Entry {
                        letters: words.chars().chain(category.chars()).collect(),
                        code: class.code(),
                        own: false,
                    });
                }
            }
            entries.push(Entry {
                letters,
                code: class.code(),
                own: true,
            });
        }
        // The categories the UN splits and the EU does not.
        for letters in [
            "eyeirrit2a",
            "eyeirrit2b",
            "eyeirritation2a",
            "eyeirritation2b",
        ] {
            entries.push(Entry {
                letters: letters.chars().collect(),
                code: Class::EyeIrrit2.code(),
                own: false,
            });
        }
        Self { entries }
    }

    /// The longest class that begins at `at`, and where it ends.
    fn class_at(&self, signs: &[char], at: usize) -> Option<(&Entry, usize)> {
        self.entries
            .iter()
            .filter_map(|entry| Some((entry, matched(signs, at, &entry.letters)?)))
            .max_by_key(|(entry, _)| entry.letters.len())
    }

    /// Whether the text ends in a class that lacks its category.
    pub(super) fn ends_open(&self, text: &str) -> bool {
        let signs: Vec<char> = text.chars().collect();
        let words = word_starts(&signs);
        words.iter().rev().take(4).any(|at| {
            let tail: Vec<char> = signs
                .get(*at..)
                .unwrap_or_default()
                .iter()
                .filter(|sign| sign.is_alphanumeric())
                .flat_map(|sign| sign.to_lowercase())
                .collect();
            tail.len() >= 4
                && tail.iter().all(|sign| sign.is_alphabetic())
                && self.entries.iter().any(|entry| {
                    entry.letters.starts_with(&tail)
                        && entry
                            .letters
                            .get(tail.len())
                            .is_some_and(char::is_ascii_digit)
                })
        })
    }
}

fn squeezed(code: &str) -> Vec<char> {
    code.chars()
        .filter(|sign| sign.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect()
}

/// Where the pattern ends, if it stands at `at` with nothing but stops, spaces
/// and the word for category between its letters.
fn matched(signs: &[char], at: usize, pattern: &[char]) -> Option<usize> {
    let mut place = at;
    let mut before: Option<char> = None;
    for wanted in pattern {
        if wanted.is_ascii_digit() && before.is_some_and(char::is_alphabetic) {
            place = skip_category_word(signs, place);
        }
        let mut gap = 0;
        loop {
            let sign = *signs.get(place)?;
            if sign.to_lowercase().eq([*wanted]) {
                break;
            }
            let filler =
                sign.is_whitespace() || matches!(sign, '.' | '-' | ',' | '(' | ')' | '/' | ':');
            // Within a word nothing is skipped, except the hyphen of a line's end.
            if before.is_none() || !filler || gap > 6 {
                return None;
            }
            gap += 1;
            place += 1;
        }
        // Letters and digits of one category stand together: 1B, not 1 B.
        if gap > 0 && wanted.is_alphabetic() && before.is_some_and(|sign| sign.is_ascii_digit()) {
            return None;
        }
        before = Some(*wanted);
        place += 1;
    }
    let next = signs.get(place);
    if next.is_some_and(|sign| sign.is_alphanumeric()) {
        return None;
    }
    Some(if next == Some(&'.') { place + 1 } else { place })
}

fn skip_category_word(signs: &[char], at: usize) -> usize {
    let start = skip(signs, at, |sign| {
        sign.is_whitespace() || matches!(sign, '.' | ',' | ':' | '-' | '(')
    });
    let end = skip(signs, start, char::is_alphabetic);
    let word: String = slice(signs, start, end).to_lowercase();
    if matches!(
        word.as_str(),
        "cat" | "kat" | "category" | "kategorie" | "catégorie" | "categoría" | "categoria"
    ) {
        end
    } else {
        at
    }
}

fn skip(signs: &[char], from: usize, takes: impl Fn(char) -> bool) -> usize {
    signs
        .iter()
        .skip(from)
        .position(|sign| !takes(*sign))
        .map_or(signs.len(), |gap| from + gap)
        .max(from)
}

/// The text between two places, as far as there is any.
fn slice(signs: &[char], from: usize, to: usize) -> String {
    let to = to.min(signs.len());
    signs.get(from..to).unwrap_or_default().iter().collect()
}

fn word_starts(signs: &[char]) -> Vec<usize> {
    let mut before = ' ';
    let mut starts = Vec::new();
    for (at, sign) in signs.iter().enumerate() {
        if sign.is_alphanumeric() && !before.is_alphanumeric() {
            starts.push(at);
        }
        before = *sign;
    }
    starts
}

/// Writes every space, dash, sign and ligature in its plainest form.
pub(super) fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for sign in text.chars() {
        match sign {
            '\u{2010}'..='\u{2015}' | '\u{2212}' | '\u{fe63}' | '\u{ff0d}' => out.push('-'),
            '\r'
            | '\u{b}'
            | '\u{c}'
            | '\u{a0}'
            | '\u{2000}'..='\u{200a}'
            | '\u{202f}'
            | '\u{3000}' => {
                out.push(' ');
            }
            '\u{ad}' | '\u{200b}'..='\u{200d}' | '\u{feff}' | '\u{2060}' => {}
            '\u{2264}' | '\u{2a7d}' | '\u{2266}' => out.push_str("<="),
            '\u{2265}' | '\u{2a7e}' | '\u{2267}' => out.push_str(">="),
            '\u{fb00}' => out.push_str("ff"),
            '\u{fb01}' => out.push_str("fi"),
            '\u{fb02}' => out.push_str("fl"),
            '\u{fb03}' => out.push_str("ffi"),
            '\u{fb04}' => out.push_str("ffl"),
            '\u{ff1c}' => out.push('<'),
            '\u{ff1e}' => out.push('>'),
            '\u{ff05}' | '\u{fe6a}' => out.push('%'),
            other => out.push(other),
        }
    }
    out
}

impl Scrap {
    pub(super) fn new(text: &str) -> Self {
        let signs: Vec<char> = text.chars().collect();
        Self {
            used: vec![false; signs.len()],
            signs,
        }
    }

    fn free(&self, from: usize, to: usize) -> bool {
        self.used
            .get(from..to)
            .is_some_and(|places| places.iter().all(|used| !used))
    }

    fn mark(&mut self, from: usize, to: usize) {
        if let Some(places) = self.used.get_mut(from..to) {
            places.fill(true);
        }
    }

    fn at(&self, place: usize) -> Option<char> {
        self.signs.get(place).copied()
    }

    fn before(&self, place: usize) -> Option<char> {
        place.checked_sub(1).and_then(|place| self.at(place))
    }

    /// The text between two places.
    pub(super) fn text(&self, from: usize, to: usize) -> String {
        slice(&self.signs, from, to)
    }

    /// What was not understood, one run after another, each with its place.
    pub(super) fn runs(&self) -> Vec<(usize, String)> {
        let mut runs: Vec<(usize, String)> = Vec::new();
        let mut open = false;
        for (place, (sign, used)) in self.signs.iter().zip(&self.used).enumerate() {
            match runs.last_mut() {
                _ if *used => open = false,
                Some((_, run)) if open => run.push(*sign),
                _ => {
                    runs.push((place, sign.to_string()));
                    open = true;
                }
            }
        }
        runs.retain(|(_, run)| run.chars().any(char::is_alphanumeric));
        runs
    }

    /// The same as one text.
    pub(super) fn rest(&self) -> String {
        let runs: Vec<String> = self.runs().into_iter().map(|(_, run)| run).collect();
        runs.join(" ")
    }

    /// Everything understood, in the order it stands. `shares` says whether a
    /// bare figure may be one, `limits` whether a share is a limit of a class.
    pub(super) fn tokens(&mut self, lexicon: &Lexicon, shares: Shares) -> Vec<Token> {
        let mut tokens = Vec::new();
        self.ids(&mut tokens);
        self.estimates(&mut tokens);
        self.factors(&mut tokens);
        self.classes(lexicon, &mut tokens);
        self.not_classified(&mut tokens);
        self.limits(&mut tokens, shares);
        if shares != Shares::Never && shares != Shares::Limits {
            self.shares(&mut tokens, shares);
        }
        self.labels();
        tokens.sort_by_key(|token| token.from);
        tokens
    }

    fn push(&mut self, tokens: &mut Vec<Token>, from: usize, to: usize, kind: Kind) {
        self.mark(from, to);
        tokens.push(Token { from, to, kind });
    }

    fn ids(&mut self, tokens: &mut Vec<Token>) {
        let mut at = 0;
        while at < self.signs.len() {
            let starts = self.at(at).is_some_and(|sign| sign.is_ascii_digit())
                && !self
                    .before(at)
                    .is_some_and(|sign| sign.is_alphanumeric() || matches!(sign, '-' | ',' | '.'));
            if !starts {
                at += 1;
                continue;
            }
            let run = skip(&self.signs, at, |sign| sign.is_ascii_digit() || sign == '-');
            let mut end = run;
            while self.before(end) == Some('-') {
                end -= 1;
            }
            let text = self.text(at, end);
            let groups: Vec<usize> = text.split('-').map(str::len).collect();
            let kind = match groups.as_slice() {
                [2..=7, 2, 1] => Some(Kind::Cas(Cas::parse(&text))),
                [3, 3, 1] => Some(Kind::Ec {
                    right: ec_is_right(&text),
                    text: text.clone(),
                }),
                [3, 3, 2, 1] => Some(Kind::Index(text.clone())),
                [3, 3, 2] if matches!(self.at(run), Some('X' | 'x')) && run > end => {
                    end = run + 1;
                    Some(Kind::Index(self.text(at, end).to_uppercase()))
                }
                [2, 10, 2 | 3] | [2, 10, 2, 4] if text.starts_with('0') => {
                    // The last group is often blacked out: 01-2119529223-47-XXXX.
                    if run > end {
                        end = skip(&self.signs, run, |sign| matches!(sign, 'X' | 'x'));
                    }
                    Some(Kind::Reach(text.clone()))
                }
                _ => None,
            };
            let ends = !self.at(end).is_some_and(char::is_alphanumeric);
            match kind {
                Some(kind) if ends => {
                    self.push(tokens, at, end, kind);
                    at = end;
                }
                _ => at = run.max(at + 1),
            }
        }
    }

    fn classes(&mut self, lexicon: &Lexicon, tokens: &mut Vec<Token>) {
        let mut next = 0;
        for at in word_starts(&self.signs) {
            if at < next || !self.free(at, at + 1) {
                continue;
            }
            if let Some((code, end)) = self.statement_at(at) {
                self.push(tokens, at, end, Kind::Statement(code));
                next = end;
                continue;
            }
            let Some((entry, mut end)) = lexicon.class_at(&self.signs, at) else {
                continue;
            };
            let named = Named {
                code: entry.code,
                route: None,
                minimum: false,
                other_words: (!entry.own).then(|| self.text(at, end)),
            };
            let (minimum, after) = self.star(end);
            let (route, after) = self.route(after);
            let (again, after) = self.star(after);
            end = end.max(after);
            self.push(
                tokens,
                at,
                end,
                Kind::Class(Named {
                    route,
                    minimum: minimum || again,
                    ..named
                }),
            );
            next = end;
        }
    }

    fn star(&self, at: usize) -> (bool, usize) {
        let place = skip(&self.signs, at, char::is_whitespace);
        if self.at(place) == Some('*') {
            (true, skip(&self.signs, place, |sign| sign == '*'))
        } else {
            (false, at)
        }
    }

    /// A way of entering named right behind a class, in brackets or not.
    fn route(&self, at: usize) -> (Option<Route>, usize) {
        let start = skip(&self.signs, at, |sign| {
            sign.is_whitespace() || matches!(sign, '(' | ',' | '-' | '[')
        });
        let end = skip(&self.signs, start, char::is_alphabetic);
        let Some(route) = route_of(&self.text(start, end)) else {
            return (None, at);
        };
        // The rest of the brackets goes with it: (inhalation, vapour).
        let opened = self.text(at, start).contains(['(', '[']);
        let closed = skip(&self.signs, end, |sign| !matches!(sign, ')' | ']' | '\n'));
        match self.at(closed) {
            Some(')' | ']') if opened && closed - end < 30 => (Some(route), closed + 1),
            _ => (Some(route), end),
        }
    }

    /// `H317`, `H 317`, `H361fd`, `EUH066`.
    fn statement_at(&self, at: usize) -> Option<(String, usize)> {
        let head: String = self.text(at, at + 3).to_ascii_uppercase();
        let (head, mut place) = if head == "EUH" {
            ("EUH", at + 3)
        } else if head.starts_with('H') {
            ("H", at + 1)
        } else {
            return None;
        };
        if matches!(self.at(place), Some(' ' | '-')) {
            place += 1;
        }
        let digits_end = skip(&self.signs, place, |sign| sign.is_ascii_digit());
        if digits_end != place + 3 {
            return None;
        }
        let end = skip(&self.signs, digits_end, |sign| {
            matches!(sign, 'i' | 'f' | 'd' | 'F' | 'D')
        });
        if self.at(end).is_some_and(char::is_alphanumeric) {
            return None;
        }
        let mut code = format!("{head}{}", self.text(place, end));
        // EUH066 and the like may carry an A; a letter behind it was refused above.
        code.truncate(8);
        let end = if self.at(end) == Some('*') {
            skip(&self.signs, end, |sign| sign == '*')
        } else {
            end
        };
        Some((code, end))
    }

    fn not_classified(&mut self, tokens: &mut Vec<Token>) {
        const WORDS: &[&str] = &[
            "not classified",
            "no classification",
            "not hazardous",
            "nicht eingestuft",
            "keine einstufung",
            "non classé",
            "non classée",
            "non classe",
            "sin clasificar",
            "no clasificado",
            "no clasificada",
        ];
        let lower: Vec<char> = self
            .signs
            .iter()
            .map(|sign| sign.to_lowercase().next().unwrap_or(*sign))
            .collect();
        for words in WORDS {
            let wanted: Vec<char> = words.chars().collect();
            let found = lower
                .windows(wanted.len())
                .position(|window| window == wanted.as_slice());
            if let Some(at) = found {
                let end = at + wanted.len();
                if self.free(at, end) && !self.at(end).is_some_and(char::is_alphabetic) {
                    self.push(tokens, at, end, Kind::NotClassified);
                }
            }
        }
    }

    /// `M=10`, `M (Acute)=1`, `M-factor chronic: 10`, `Facteur M (aigu) = 1`.
    fn factors(&mut self, tokens: &mut Vec<Token>) {
        for at in word_starts(&self.signs) {
            let word_end = skip(&self.signs, at, char::is_alphabetic);
            if !self.free(at, word_end) || self.text(at, word_end).to_uppercase() != "M" {
                continue;
            }
            let mut place = word_end;
            let mut words = String::new();
            // Words between the M and its figure say which of the two it is.
            let figure = loop {
                let Some(sign) = self.at(place) else {
                    break None;
                };
                match sign {
                    '0'..='9' => break Some(place),
                    '=' | ':' | '(' | ')' | '[' | ']' | '-' | '.' | ',' | ' ' | '\n' | '/' => {
                        place += 1;
                    }
                    sign if sign.is_alphabetic() => {
                        let end = skip(&self.signs, place, char::is_alphabetic);
                        let word = self.text(place, end).to_lowercase();
                        if !is_factor_word(&word) && water_of(&word).is_none() {
                            break None;
                        }
                        words.push_str(&word);
                        words.push(' ');
                        place = end;
                    }
                    _ => break None,
                }
            };
            let Some(figure) = figure else { continue };
            let between = self.text(word_end, figure);
            let marked = between.contains(['=', ':']) || !words.is_empty();
            let mut end = skip(&self.signs, figure, |sign| sign.is_ascii_digit());
            let digits = self.text(figure, end);
            if !marked || digits.len() > 9 || self.at(end).is_some_and(char::is_alphanumeric) {
                continue;
            }
            let mut value: u64 = digits.parse().unwrap_or_default();
            // 1 000 or 1.000 or 1,000
            if matches!(self.at(end), Some('.' | ',' | ' '))
                && digits.len() <= 3
                && skip(&self.signs, end + 1, |sign| sign.is_ascii_digit()) == end + 4
                && self.text(end + 1, end + 4) == "000"
            {
                value *= 1000;
                end += 4;
            }
            let mut water = words.split_whitespace().find_map(water_of);
            if water.is_none() {
                // M=10 (acute)
                let open = skip(&self.signs, end, |sign| matches!(sign, ' ' | '(' | '['));
                let close = skip(&self.signs, open, char::is_alphabetic);
                if self.text(end, open).contains(['(', '[']) {
                    water = water_of(&self.text(open, close).to_lowercase());
                    if water.is_some() {
                        end = skip(&self.signs, close, |sign| matches!(sign, ')' | ']'));
                    }
                }
            }
            let start = self.factor_label(at);
            self.push(tokens, start, end, Kind::Factor { value, water });
        }
    }

    /// The start of `Facteur M`, `Factor M`.
    fn factor_label(&self, at: usize) -> usize {
        let mut end = at;
        while self.before(end) == Some(' ') {
            end -= 1;
        }
        let mut start = end;
        while self.before(start).is_some_and(char::is_alphabetic) {
            start -= 1;
        }
        if is_factor_word(&self.text(start, end).to_lowercase()) && self.free(start, at) {
            start
        } else {
            at
        }
    }

    /// `ATE (oral) = 500 mg/kg`, `oral: ATE = 500 mg/kg bw`, `LD50 oral > 2000 mg/kg`.
    fn estimates(&mut self, tokens: &mut Vec<Token>) {
        let starts = word_starts(&self.signs);
        for at in &starts {
            let at = *at;
            let word_end = skip(&self.signs, at, char::is_alphanumeric);
            let word = self.text(at, word_end).to_uppercase();
            let kin = matches!(
                word.as_str(),
                "ATE" | "ETA" | "ATEMIX" | "SAT" | "LD50" | "LC50" | "DL50" | "CL50"
            );
            if !kin || !self.free(at, word_end) {
                continue;
            }
            // Up to the unit, on what may be the same line or its wrap.
            let reach = (word_end + 90).min(self.signs.len());
            let Some((unit_at, unit_end, unit)) =
                (word_end..reach).find_map(|place| self.unit_at(place))
            else {
                continue;
            };
            let between = self.text(word_end, unit_at);
            // Another estimate that begins before this one's unit: it has none.
            if between.contains("ATE") || between.contains("ETA") {
                continue;
            }
            let Some(figure) = between.trim_end().rfind(|sign: char| {
                sign.is_whitespace() || matches!(sign, '=' | ':' | '<' | '>' | '~' | '(')
            }) else {
                continue;
            };
            let digits: String = between
                .get(figure..)
                .unwrap_or_default()
                .chars()
                .filter(|sign| sign.is_ascii_digit() || matches!(sign, '.' | ','))
                .collect();
            let above = between.contains('>');
            // A route named just before counts too: oral: ATE = 500 mg/kg.
            let (lead, lead_text) = self.words_before(at);
            let mut words = between.to_lowercase();
            let mut start = at;
            if route_in(&words).is_none() && route_in(&lead_text.to_lowercase()).is_some() {
                words = format!("{} {words}", lead_text.to_lowercase());
                start = lead;
            }
            let tail = skip(&self.signs, unit_end, |sign| {
                !matches!(sign, ';' | ',' | '\n' | ')' | '|')
            });
            let tail_text = self.text(unit_end, tail.min(unit_end + 24)).to_lowercase();
            let form_words = format!("{words} {tail_text}");
            let (value, thousands) = estimate_value(&digits);
            let kind = kind_of(unit, route_in(&words), &form_words);
            let mut end = unit_end;
            for extra in ["bw", "kg", "/4h", "/4 h", "4h", "4 h"] {
                let from = skip(&self.signs, end, |sign| matches!(sign, ' ' | '/' | '('));
                let to = from + extra.trim_start_matches('/').len();
                if self
                    .text(from, to)
                    .eq_ignore_ascii_case(extra.trim_start_matches('/'))
                    && !self.at(to).is_some_and(char::is_alphanumeric)
                {
                    end = to;
                }
            }
            let text = self.text(start, end);
            self.push(
                tokens,
                start,
                end,
                Kind::Estimate(Estimate {
                    kind,
                    value,
                    above,
                    thousands,
                    text,
                }),
            );
        }
    }

    /// Up to two words right before a place, for a route given first.
    fn words_before(&self, at: usize) -> (usize, String) {
        let mut start = at;
        while self
            .before(start)
            .is_some_and(|sign| matches!(sign, ' ' | ':' | ',' | '(' | ')'))
        {
            start -= 1;
        }
        while self.before(start).is_some_and(char::is_alphabetic) && self.free(start - 1, start) {
            start -= 1;
        }
        (start, self.text(start, at))
    }

    fn unit_at(&self, at: usize) -> Option<(usize, usize, Unit)> {
        if self.before(at).is_some_and(char::is_alphabetic) {
            return None;
        }
        let ahead = self.text(at, at + 6).to_lowercase();
        for (text, unit) in [
            ("mg/kg", Unit::Weight),
            ("mg/l", Unit::Air),
            ("ppmv", Unit::Parts),
            ("ppm", Unit::Parts),
        ] {
            if ahead.starts_with(text) {
                return Some((at, at + text.chars().count(), unit));
            }
        }
        None
    }

    /// Limits of a class: `C >= 0.1 %`, `10 % <= C < 25 %`, and any share that
    /// follows a class and a colon or stands in the column of limits.
    fn limits(&mut self, tokens: &mut Vec<Token>, shares: Shares) {
        for at in word_starts(&self.signs) {
            let word_end = skip(&self.signs, at, char::is_alphabetic);
            let word = self.text(at, word_end).to_lowercase();
            if !matches!(word.as_str(), "c" | "conc") || !self.free(at, word_end) {
                continue;
            }
            let mut from = None;
            let mut start = at;
            let mut doubtful = false;
            if let Some((lead, value, sign)) = self.figure_before(at) {
                start = lead;
                from = Some(value);
                doubtful |= sign == "<";
            }
            let mut below = None;
            let mut end = word_end + usize::from(self.at(word_end) == Some('.'));
            // C >= 1 % may be followed by a second end: C >= 1 % - < 5 %
            loop {
                let place = skip(&self.signs, end, |sign| {
                    sign.is_whitespace() || matches!(sign, '-' | ',')
                });
                let Some((sign, place)) = self.sign_at(place) else {
                    break;
                };
                let Some((value, place, _)) = self.figure_at(place) else {
                    break;
                };
                match sign {
                    ">=" | ">" if from.is_none() => {
                        from = Some(value);
                        doubtful |= sign == ">";
                    }
                    "<" | "<=" if below.is_none() => {
                        below = Some(value);
                        doubtful |= sign == "<=";
                    }
                    _ => break,
                }
                end = place;
            }
            if from.is_none() && below.is_none() {
                continue;
            }
            let text = self.text(start, end);
            self.push(
                tokens,
                start,
                end,
                Kind::Limit(Limit {
                    from: from.unwrap_or_default(),
                    below,
                    doubtful,
                    text,
                }),
            );
        }
        // Without a C: H317: >= 0.1 %
        let named: Vec<usize> = tokens
            .iter()
            .filter(|token| matches!(token.kind, Kind::Class(_) | Kind::Statement(_)))
            .map(|token| token.to)
            .collect();
        let spots: Vec<usize> = if shares == Shares::Limits {
            (0..self.signs.len()).collect()
        } else {
            named
        };
        let mut next = 0;
        for spot in spots {
            let at = skip(&self.signs, spot, |sign| {
                sign.is_whitespace() || matches!(sign, ':' | '(' | ')' | ';')
            });
            let colon = self.text(spot, at).contains([':', '(']) || shares == Shares::Limits;
            let begins = self.sign_at(at).is_some()
                || (shares == Shares::Limits
                    && self.at(at).is_some_and(|sign| sign.is_ascii_digit()));
            let fresh = at >= next && !self.before(at).is_some_and(char::is_alphanumeric);
            if !colon || !begins || !fresh {
                continue;
            }
            let Some((spotted, end)) = self.share_at(at) else {
                continue;
            };
            let Some(share) = spotted
                .share
                .filter(|_| spotted.percent && self.free(at, end))
            else {
                continue;
            };
            next = end;
            let point = share.is_point();
            self.push(
                tokens,
                at,
                end,
                Kind::Limit(Limit {
                    from: share.low(),
                    below: share.high().filter(|_| !point),
                    doubtful: share.low_is_open()
                        || (!point && share.high().is_some() && !share.high_is_open()),
                    text: spotted.text,
                }),
            );
        }
    }

    /// `10 % <=` right before a place.
    fn figure_before(&self, at: usize) -> Option<(usize, Decimal, &'static str)> {
        let back = |mut place: usize, takes: fn(char) -> bool| {
            while self.before(place).is_some_and(takes) {
                place -= 1;
            }
            place
        };
        let sign_end = back(at, char::is_whitespace);
        let sign_start = back(sign_end, |sign| matches!(sign, '<' | '='));
        let sign = match self.text(sign_start, sign_end).as_str() {
            "<=" | "=<" => "<=",
            "<" => "<",
            _ => return None,
        };
        let figure_end = back(sign_start, |sign| sign.is_whitespace() || sign == '%');
        let figure_start = back(figure_end, |sign| {
            sign.is_ascii_digit() || matches!(sign, '.' | ',')
        });
        let value = decimal(&self.text(figure_start, figure_end))?;
        self.free(figure_start, at)
            .then_some((figure_start, value, sign))
    }

    fn shares(&mut self, tokens: &mut Vec<Token>, shares: Shares) {
        let mut at = 0;
        while at < self.signs.len() {
            let previous = self.before(at);
            let begins = self.free(at, at + 1)
                && !previous.is_some_and(|sign| {
                    sign.is_alphanumeric()
                        || matches!(sign, '-' | ',' | '.' | '<' | '>' | '=' | '\'')
                });
            let Some((spotted, end)) = begins.then(|| self.share_at(at)).flatten() else {
                at += 1;
                continue;
            };
            let alone = self.is_all_but_marks(at, end);
            let ranged = spotted.text.contains(['<', '>']) || spotted.text.contains('-');
            let taken = match shares {
                Shares::Column => spotted.percent || alone || ranged,
                Shares::Anywhere => {
                    spotted.percent || alone || (ranged && self.stands_free(at, end))
                }
                Shares::Never | Shares::Limits => false,
            };
            if taken && self.free(at, end) {
                self.push(tokens, at, end, Kind::Share(spotted));
                at = end;
            } else {
                at = skip(&self.signs, at, |sign| sign.is_ascii_digit()).max(at + 1);
            }
        }
    }

    /// Whether white space or the border of the text is on both sides.
    fn stands_free(&self, from: usize, to: usize) -> bool {
        self.before(from).is_none_or(char::is_whitespace)
            && self.at(to).is_none_or(char::is_whitespace)
    }

    /// Whether a stretch is all there is, but for marks around it.
    fn is_all_but_marks(&self, from: usize, to: usize) -> bool {
        self.signs
            .iter()
            .enumerate()
            .all(|(place, sign)| (from..to).contains(&place) || !sign.is_alphanumeric())
    }

    /// `5 - 10 %`, `>= 10 - < 25`, `< 1 %`, `max. 5 %`, `ca. 3 %`.
    fn share_at(&self, at: usize) -> Option<(Spotted, usize)> {
        let word_end = skip(&self.signs, at, char::is_alphabetic);
        let word = self.text(at, word_end).to_lowercase();
        let (about, most, start) = match word.as_str() {
            "" => (
                self.at(at) == Some('~'),
                false,
                at + usize::from(self.at(at) == Some('~')),
            ),
            "ca" | "approx" | "circa" | "environ" | "etwa" | "aprox" => (true, false, word_end),
            "max" => (false, true, word_end),
            _ => return None,
        };
        let start = if word.is_empty() {
            start
        } else {
            skip(&self.signs, start, |sign| {
                sign.is_whitespace() || sign == '.'
            })
        };
        let (mut first_sign, place) =
            match self.sign_at(skip(&self.signs, start, char::is_whitespace)) {
                Some((sign, place)) => (Some(sign), place),
                None => (None, skip(&self.signs, start, char::is_whitespace)),
            };
        if word.is_empty() && !about && place != at && first_sign.is_none() {
            return None;
        }
        let (first, mut end, mut percent) = self.figure_at(place)?;
        if most && first_sign.is_none() {
            first_sign = Some("<=");
        }
        let mut second = None;
        if let Some((link, joined)) = self.link_at(end) {
            let (sign, place) = match self.sign_at(skip(&self.signs, link, char::is_whitespace)) {
                Some((sign, place)) => (Some(sign), place),
                None => (None, skip(&self.signs, link, char::is_whitespace)),
            };
            if let Some((value, after, also)) = self.figure_at(place)
                && (joined || sign.is_some())
            {
                second = Some((sign, value));
                percent |= also;
                end = after;
            }
        }
        // 5-methyl is a name, 5-10-2 a number of something.
        if let Some(next) = self.at(end)
            && (next.is_alphanumeric()
                || (matches!(next, '-' | ',' | '.' | '\'')
                    && self.at(end + 1).is_some_and(char::is_alphanumeric)))
        {
            return None;
        }
        let share = match (first_sign, second) {
            (None | Some(">" | ">="), Some((sign, high))) if !matches!(sign, Some(">" | ">=")) => {
                Share::within(
                    first,
                    Some(high),
                    first_sign == Some(">"),
                    sign == Some("<"),
                )
            }
            (None, None) => Share::exactly(first),
            (Some(sign @ ("<" | "<=")), None) => {
                Share::within(Decimal::ZERO, Some(first), false, sign == "<")
            }
            (Some(sign @ (">" | ">=")), None) => Share::within(first, None, sign == ">", false),
            _ => None,
        };
        Some((
            Spotted {
                share,
                percent,
                about,
                text: self.text(at, end),
            },
            end,
        ))
    }

    /// A limit sign, and where the figure behind it may begin.
    fn sign_at(&self, at: usize) -> Option<(&'static str, usize)> {
        let two = self.text(at, at + 2);
        let (sign, length) = match two.as_str() {
            ">=" | "=>" => (">=", 2),
            "<=" | "=<" => ("<=", 2),
            "> " if self.at(at + 2) == Some('=') => (">=", 3),
            "< " if self.at(at + 2) == Some('=') => ("<=", 3),
            _ => match self.at(at)? {
                '<' => ("<", 1),
                '>' => (">", 1),
                _ => return None,
            },
        };
        Some((sign, skip(&self.signs, at + length, char::is_whitespace)))
    }

    /// A figure, where it ends, and whether a percent sign followed.
    fn figure_at(&self, at: usize) -> Option<(Decimal, usize, bool)> {
        let end = skip(&self.signs, at, |sign| {
            sign.is_ascii_digit() || matches!(sign, '.' | ',')
        });
        let mut stop = end;
        while matches!(self.before(stop), Some('.' | ',')) && stop > at {
            stop -= 1;
        }
        let value = decimal(&self.text(at, stop))?;
        let after = skip(&self.signs, stop, char::is_whitespace);
        for unit in [
            "%", "Gew.-%", "Gew.%", "Gew-%", "wt%", "wt.%", "wt-%", "w/w%", "Masse-%", "pct",
            "percent",
        ] {
            let length = unit.chars().count();
            if self.text(after, after + length).eq_ignore_ascii_case(unit) {
                let mut end = after + length;
                let bracket = self.text(end, end + 6);
                for tail in [" (w/w)", "(w/w)", " w/w"] {
                    if bracket.starts_with(tail) {
                        end += tail.len();
                        break;
                    }
                }
                return Some((value, end, true));
            }
        }
        Some((value, stop, false))
    }

    /// What joins the two ends of a range, and whether it says so by itself.
    fn link_at(&self, at: usize) -> Option<(usize, bool)> {
        let place = skip(&self.signs, at, char::is_whitespace);
        if matches!(self.at(place), Some('-' | '~')) {
            return Some((place + 1, true));
        }
        if matches!(self.at(place), Some('.')) && self.text(place, place + 2) == ".." {
            return Some((skip(&self.signs, place, |sign| sign == '.'), true));
        }
        let end = skip(&self.signs, place, char::is_alphabetic);
        match self.text(place, end).to_lowercase().as_str() {
            "to" | "bis" | "à" | "a" | "hasta" => Some((end, true)),
            "and" | "und" | "et" | "y" => Some((end, false)),
            "" if self.sign_at(place).is_some() => Some((place, false)),
            "" if self.at(place) == Some(',') && self.at(place + 1) == Some(' ') => {
                Some((place + 1, false))
            }
            _ => None,
        }
    }

    /// The start of `N.º CAS`, `No. CAS`.
    fn number_word(&self, at: usize) -> usize {
        let mut end = at;
        while self
            .before(end)
            .is_some_and(|sign| matches!(sign, ' ' | '.' | '°' | 'º'))
        {
            end -= 1;
        }
        let mut start = end;
        while self.before(start).is_some_and(char::is_alphabetic) {
            start -= 1;
        }
        let word = self.text(start, end).to_lowercase();
        if matches!(word.as_str(), "n" | "no" | "nr") && self.free(start, at) {
            start
        } else {
            at
        }
    }

    /// Marks the words that only announce a number or a factor.
    fn labels(&mut self) {
        let mut at = 0;
        while at < self.signs.len() {
            let word_end = skip(&self.signs, at, char::is_alphabetic);
            if word_end == at {
                at += 1;
                continue;
            }
            let word = self.text(at, word_end).to_lowercase();
            let boundary = !self
                .before(at)
                .is_some_and(|sign| sign.is_alphanumeric() || sign == '-');
            if !(boundary && is_label(&word) && self.free(at, word_end)) {
                at = word_end;
                continue;
            }
            // CAS-No., EC number, REACH Reg. No., Index-Nr.:
            let mut end = word_end;
            loop {
                let next = skip(&self.signs, end, |sign| {
                    matches!(sign, ' ' | '-' | '.' | '/' | '°' | 'º')
                });
                let next_end = skip(&self.signs, next, char::is_alphabetic);
                let next_word = self.text(next, next_end).to_lowercase();
                if next_end > next
                    && self.free(next, next_end)
                    && (is_label_tail(&next_word) || is_label(&next_word))
                {
                    end = next_end;
                } else {
                    break;
                }
            }
            end = skip(&self.signs, end, |sign| {
                matches!(sign, '.' | ':' | '°' | 'º' | '#')
            });
            let start = self.number_word(at);
            self.mark(start, end.min(self.signs.len()));
            // A value that says there is none.
            let value = skip(&self.signs, end, |sign| sign.is_whitespace() || sign == ':');
            for none in [
                "n/a",
                "n.a.",
                "not available",
                "not applicable",
                "none",
                "nicht verfügbar",
                "non disponible",
                "no disponible",
                "---",
                "--",
                "-",
            ] {
                let to = value + none.chars().count();
                if self.text(value, to).to_lowercase() == *none
                    && !self.at(to).is_some_and(char::is_alphanumeric)
                    && self.free(value, to)
                {
                    self.mark(value, to);
                    break;
                }
            }
            at = end.max(at + 1);
        }
    }
}

/// What a figure in a piece of the sheet may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shares {
    /// It stands in the column of shares.
    Column,
    /// Nobody said what the column holds.
    Anywhere,
    /// It stands in the column of specific limits.
    Limits,
    /// It stands where no share does.
    Never,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Unit {
    Weight,
    Air,
    Parts,
}

fn decimal(text: &str) -> Option<Decimal> {
    if !text.starts_with(|sign: char| sign.is_ascii_digit()) {
        return None;
    }
    Decimal::from_str_exact(&text.replace(',', ".")).ok()
}

/// The value, and whether its mark may be one of thousands.
fn estimate_value(digits: &str) -> (Option<Decimal>, bool) {
    let digits = digits.trim_matches(['.', ',']);
    let grouped = digits.split_once(['.', ',']).is_some_and(|(head, tail)| {
        tail.len() == 3 && (1..=3).contains(&head.len()) && head != "0"
    });
    if grouped {
        return (decimal(&digits.replace(['.', ','], "")), true);
    }
    (decimal(digits), false)
}

fn kind_of(unit: Unit, route: Option<Route>, words: &str) -> Option<EstimateKind> {
    let says = |stems: &[&str]| stems.iter().any(|stem| words.contains(stem));
    match (unit, route) {
        (Unit::Weight, Some(Route::Oral)) => Some(EstimateKind::Oral),
        (Unit::Weight, Some(Route::Dermal)) => Some(EstimateKind::Dermal),
        (Unit::Parts, None | Some(Route::Inhalation)) => Some(EstimateKind::Gas),
        (Unit::Air, None | Some(Route::Inhalation)) => {
            let vapour = says(&["vapo", "dampf", "dämpf", "vapeur"]);
            let mist = says(&[
                "mist",
                "dust",
                "nebel",
                "staub",
                "stäube",
                "aerosol",
                "brouillard",
                "poussi",
                "niebla",
                "polvo",
            ]);
            match (vapour, mist) {
                (true, false) => Some(EstimateKind::Vapour),
                (false, true) => Some(EstimateKind::Mist),
                _ => None,
            }
        }
        _ => None,
    }
}

fn route_of(word: &str) -> Option<Route> {
    let word = word.to_lowercase();
    match word.as_str() {
        "oral" | "orale" | "oralement" | "orally" | "ingestion" | "verschlucken" | "ingestión" => {
            Some(Route::Oral)
        }
        "dermal" | "dermale" | "cutanée" | "cutané" | "kutan" | "hautkontakt" | "dérmica"
        | "dérmico" | "cutánea" | "cutaneous" => Some(Route::Dermal),
        "inhal" | "inhalation" | "inhalativ" | "einatmen" | "inhalación" | "inhalativer" => {
            Some(Route::Inhalation)
        }
        _ => None,
    }
}

fn route_in(words: &str) -> Option<Route> {
    words
        .split(|sign: char| !sign.is_alphabetic())
        .find_map(route_of)
}

fn is_factor_word(word: &str) -> bool {
    matches!(
        word,
        "factor"
            | "factors"
            | "faktor"
            | "faktoren"
            | "facteur"
            | "facteurs"
            | "factores"
            | "aquatic"
            | "aquatique"
            | "aquatisch"
            | "toxicity"
            | "toxicité"
            | "toxizität"
            | "toxicidad"
            | "hazard"
            | "aquatische"
            | "acuática"
    )
}

fn water_of(word: &str) -> Option<Water> {
    match word {
        "acute" | "akut" | "aigu" | "aiguë" | "aigue" | "agudo" | "aguda" => Some(Water::Acute),
        "chronic" | "chronisch" | "chronique" | "crónico" | "crónica" | "cronico" => {
            Some(Water::Chronic)
        }
        _ => None,
    }
}

fn is_label(word: &str) -> bool {
    matches!(
        word,
        "cas"
            | "ec"
            | "eg"
            | "ce"
            | "einecs"
            | "elincs"
            | "index"
            | "reach"
            | "rrn"
            | "indexnummer"
            | "scl"
            | "skg"
            | "lcs"
    )
}

fn is_label_tail(word: &str) -> bool {
    matches!(
        word,
        "no" | "nr"
            | "n"
            | "nos"
            | "number"
            | "numbers"
            | "nummer"
            | "rn"
            | "reg"
            | "regn"
            | "registration"
            | "registrierungsnummer"
            | "registriernummer"
            | "registrierungsnr"
            | "num"
            | "núm"
            | "numéro"
            | "número"
            | "enregistrement"
            | "registro"
            | "list"
            | "identifier"
    )
}

/// Whether an EC number's last digit fits: the first six digits times their
/// place, summed, modulo 11.
fn ec_is_right(text: &str) -> bool {
    let digits: Vec<u32> = text.chars().filter_map(|sign| sign.to_digit(10)).collect();
    let Some((check, first)) = digits.split_last() else {
        return false;
    };
    let sum: u32 = first
        .iter()
        .zip(1..)
        .map(|(digit, place)| digit * place)
        .sum();
    sum % 11 == *check
}
