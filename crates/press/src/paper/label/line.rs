//! Lines: words measured once at an em of one, and broken by arithmetic.
//!
//! Fitting tries hundreds of sizes. Widths grow with the em, so each word is
//! shaped once and every trial is a sum.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use ::label::symbol::{Level, QUIET_MODULES, Square};

use crate::paper::{Face, Fonts, TextStyle};

/// The em words are measured at, mm: large, so that nothing is lost in
/// rounding.
const MEASURED_AT: f64 = 10.0;

/// Widths that are the same but for rounding, mm.
pub(super) const SLACK: f64 = 0.01;

/// A face with what changes the widths of its letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Type {
    pub(super) face: Face,
    /// Room between letters, thousandths of the em.
    pub(super) spacing: u16,
    pub(super) small_caps: bool,
}

impl Type {
    pub(super) const fn plain(face: Face) -> Self {
        Self {
            face,
            spacing: 0,
            small_caps: false,
        }
    }

    pub(super) fn style(self, em: f64, leading: f64) -> TextStyle {
        TextStyle {
            leading,
            spacing: f64::from(self.spacing) / 1000.0,
            small_caps: self.small_caps,
            ..TextStyle::new(self.face, em)
        }
    }
}

/// A word at an em of one: how far it reaches, y upwards from the baseline.
#[derive(Debug, Clone, Copy, Default)]
struct Word {
    advance: f64,
    top: f64,
    bottom: f64,
    /// How far its ink stands out at the left and the right.
    out: (f64, f64),
}

/// A line that was broken off, at its real size, mm.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Line {
    pub(super) text: String,
    pub(super) width: f64,
    /// How far its ink stands over the baseline.
    pub(super) top: f64,
    /// How far it hangs below.
    pub(super) bottom: f64,
}

/// What is measured on the outlines of a face.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Of {
    /// Height of a capital H.
    Capital,
    /// Height of the lowest digit.
    Digit,
    /// Height of a small o.
    SmallO,
    /// Height of a small x.
    SmallX,
    /// Width of a capital N.
    WideN,
    /// Height of the mark ℮.
    Mark,
}

/// A piece of text no line is broken in.
#[derive(Debug, Clone)]
struct Piece<'t> {
    text: &'t str,
    /// Whether a space stands before it.
    spaced: bool,
}

/// A text cut into pieces and measured.
#[derive(Debug)]
struct Prepared {
    pieces: Vec<(String, bool, Word)>,
    space: f64,
    top: f64,
    bottom: f64,
    out: (f64, f64),
}

/// Measures words and remembers them.
pub(super) struct Ruler<'f> {
    pub(super) fonts: &'f Fonts,
    words: RefCell<BTreeMap<Type, BTreeMap<String, Word>>>,
    /// Modules along the side of the square code of a text.
    squares: RefCell<BTreeMap<String, Option<u32>>>,
    heights: RefCell<BTreeMap<(Face, Of), f64>>,
    texts: RefCell<BTreeMap<Type, BTreeMap<String, Rc<Prepared>>>>,
}

impl<'f> Ruler<'f> {
    pub(super) fn new(fonts: &'f Fonts) -> Self {
        Self {
            fonts,
            words: RefCell::default(),
            squares: RefCell::default(),
            heights: RefCell::default(),
            texts: RefCell::default(),
        }
    }

    fn word(&self, of: Type, text: &str) -> Word {
        if let Some(word) = self
            .words
            .borrow()
            .get(&of)
            .and_then(|words| words.get(text))
        {
            return *word;
        }
        let set = self.fonts.set_line(text, &of.style(MEASURED_AT, 1.25));
        let baseline = set.first_baseline_mm();
        let word = Word {
            advance: set.width_mm() / MEASURED_AT,
            top: set
                .ink()
                .map_or(0.0, |ink| (baseline - ink.y0) / MEASURED_AT),
            bottom: set
                .ink()
                .map_or(0.0, |ink| (ink.y1 - baseline) / MEASURED_AT),
            out: set.ink().map_or((0.0, 0.0), |ink| {
                (
                    (-ink.x0).max(0.0) / MEASURED_AT,
                    (ink.x1 - set.width_mm()).max(0.0) / MEASURED_AT,
                )
            }),
        };
        self.words
            .borrow_mut()
            .entry(of)
            .or_default()
            .insert(text.to_owned(), word);
        word
    }

    fn space(&self, of: Type) -> f64 {
        (self.word(of, "n n").advance - 2.0 * self.word(of, "n").advance).max(0.05)
    }

    fn prepared(&self, of: Type, text: &str) -> Rc<Prepared> {
        if let Some(found) = self.texts.borrow().get(&of).and_then(|all| all.get(text)) {
            return Rc::clone(found);
        }
        let pieces: Vec<(String, bool, Word)> = pieces(text)
            .into_iter()
            .map(|piece| {
                (
                    piece.text.to_owned(),
                    piece.spaced,
                    self.word(of, piece.text),
                )
            })
            .collect();
        let prepared = Rc::new(Prepared {
            space: self.space(of),
            out: pieces
                .iter()
                .fold((0.0, 0.0), |(left, right), (_, _, word)| {
                    (f64::max(left, word.out.0), f64::max(right, word.out.1))
                }),
            top: pieces
                .iter()
                .map(|(_, _, word)| word.top)
                .fold(0.0, f64::max),
            bottom: pieces
                .iter()
                .map(|(_, _, word)| word.bottom)
                .fold(0.0, f64::max),
            pieces,
        });
        self.texts
            .borrow_mut()
            .entry(of)
            .or_default()
            .insert(text.to_owned(), Rc::clone(&prepared));
        prepared
    }

    /// How wide a text is on one line.
    pub(super) fn width(&self, of: Type, em: f64, text: &str) -> f64 {
        let prepared = self.prepared(of, text);
        em * prepared
            .pieces
            .iter()
            .enumerate()
            .map(|(nth, (_, spaced, word))| {
                let gap = if *spaced && nth > 0 {
                    prepared.space
                } else {
                    0.0
                };
                gap + word.advance
            })
            .sum::<f64>()
    }

    /// How far the ink of a text reaches over and under its baseline; none
    /// for a blank text.
    pub(super) fn reach(&self, of: Type, em: f64, text: &str) -> Option<(f64, f64)> {
        let prepared = self.prepared(of, text);
        (!prepared.pieces.is_empty()).then_some((prepared.top * em, prepared.bottom * em))
    }

    /// How far the ink of a word of a text stands out beyond its line, at the
    /// left and the right: the tail of a j, the head of an f.
    pub(super) fn out(&self, of: Type, em: f64, text: &str) -> (f64, f64) {
        let (left, right) = self.prepared(of, text).out;
        (left * em, right * em)
    }

    /// The side of a square code with its border; none where there is no such
    /// square.
    pub(super) fn square_size(&self, text: &str, module_mm: f64) -> Option<f64> {
        let mut squares = self.squares.borrow_mut();
        let modules = *squares.entry(text.to_owned()).or_insert_with(|| {
            Square::of(text, Level::M)
                .ok()
                .map(|square| square.n_modules())
        });
        Some(f64::from(modules? + 2 * QUIET_MODULES) * module_mm)
    }

    /// A height or a width on the outlines at an em of one.
    pub(super) fn outline(&self, face: Face, of: Of) -> f64 {
        if let Some(found) = self.heights.borrow().get(&(face, of)) {
            return *found;
        }
        let fonts = self.fonts;
        let bounds = |c: char| fonts.bounds(face, c).unwrap_or_default();
        let found = match of {
            Of::Capital => fonts.cap_height(face, 1.0),
            Of::Digit => fonts.digit_height(face, 1.0),
            Of::SmallO => fonts.height_of(face, 'o', 1.0),
            Of::SmallX => fonts.x_height(face, 1.0),
            Of::WideN => bounds('N').width(),
            Of::Mark => bounds('\u{212e}').height(),
        }
        .max(0.05);
        self.heights.borrow_mut().insert((face, of), found);
        found
    }

    /// How high the letters of a kind stand at an em of one: a lower-case x as
    /// this type draws it.
    pub(super) fn x_height(&self, of: Type) -> f64 {
        self.word(of, "x").top.max(0.1)
    }

    /// Breaks a text at the width each line has; none where a word is longer
    /// than its line, unless words may be cut, or where `room` has no line.
    pub(super) fn lines(
        &self,
        of: Type,
        em: f64,
        text: &str,
        cut_words: bool,
        mut room: impl FnMut(usize) -> Option<f64>,
    ) -> Option<Vec<Line>> {
        let prepared = self.prepared(of, text);
        let space = prepared.space * em;
        let mut lines = Vec::new();
        let mut line = Building::default();
        let mut width = room(0)? + SLACK;
        for (piece, spaced, word) in &prepared.pieces {
            let word = *word;
            let gap = if *spaced && !line.text.is_empty() {
                space
            } else {
                0.0
            };
            if line.width + gap + word.advance * em <= width {
                line.push(if gap > 0.0 { " " } else { "" }, piece, gap, word, em);
                continue;
            }
            if !line.text.is_empty() {
                lines.push(std::mem::take(&mut line).done());
                width = room(lines.len())? + SLACK;
            }
            if word.advance * em <= width {
                line.push("", piece, 0.0, word, em);
                continue;
            }
            if !cut_words {
                return None;
            }
            let mut rest = piece.as_str();
            while !rest.is_empty() {
                let (head, hyphen) = self.head(of, em, rest, width)?;
                let shown = format!("{head}{}", if hyphen { "-" } else { "" });
                line.push("", &shown, 0.0, self.word(of, &shown), em);
                rest = &rest[head.len()..];
                if !rest.is_empty() {
                    lines.push(std::mem::take(&mut line).done());
                    width = room(lines.len())? + SLACK;
                }
            }
        }
        if !line.text.is_empty() {
            lines.push(line.done());
        }
        Some(lines)
    }

    /// As [`lines`](Self::lines), the lines of about equal length: the
    /// narrowest share of the room that takes no more of them.
    pub(super) fn balanced(
        &self,
        of: Type,
        em: f64,
        text: &str,
        cut_words: bool,
        room: impl Fn(usize) -> Option<f64>,
    ) -> Option<Vec<Line>> {
        let mut best = self.lines(of, em, text, cut_words, &room)?;
        if best.len() < 2 {
            return Some(best);
        }
        for step in 1..=16 {
            let share = 1.0 - f64::from(step) * 0.04;
            // A narrower share may never be the reason to cut a word.
            let Some(lines) = self.lines(of, em, text, false, |nth| room(nth).map(|mm| mm * share))
            else {
                break;
            };
            if lines.len() > best.len() {
                break;
            }
            best = lines;
        }
        Some(best)
    }

    /// The longest beginning of a word that fits, and whether a hyphen follows.
    fn head<'t>(&self, of: Type, em: f64, word: &'t str, width: f64) -> Option<(&'t str, bool)> {
        if self.word(of, word).advance * em <= width {
            return Some((word, false));
        }
        let ends: Vec<usize> = word.char_indices().map(|(at, _)| at).skip(1).collect();
        for end in ends.into_iter().rev() {
            let head = &word[..end];
            let rest = &word[end..];
            if rest.starts_with(is_mark) {
                continue;
            }
            let hyphen =
                head.ends_with(char::is_alphabetic) && rest.starts_with(char::is_alphabetic);
            let shown = format!("{head}{}", if hyphen { "-" } else { "" });
            // Not remembered: every cut would be.
            let wide = self
                .fonts
                .set_line(&shown, &of.style(MEASURED_AT, 1.25))
                .width_mm()
                / MEASURED_AT;
            if wide * em <= width {
                return Some((head, hyphen));
            }
        }
        None
    }
}

/// A mark that stands on the letter before it.
fn is_mark(c: char) -> bool {
    matches!(u32::from(c), 0x300..=0x36f | 0x200c..=0x200d | 0xfe00..=0xfe0f)
}

#[derive(Default)]
struct Building {
    text: String,
    width: f64,
    top: f64,
    bottom: f64,
}

impl Building {
    fn push(&mut self, before: &str, text: &str, gap: f64, word: Word, em: f64) {
        self.text.push_str(before);
        self.text.push_str(text);
        self.width += gap + word.advance * em;
        self.top = self.top.max(word.top * em);
        self.bottom = self.bottom.max(word.bottom * em);
    }

    fn done(self) -> Line {
        Line {
            text: self.text,
            width: self.width,
            top: self.top,
            bottom: self.bottom,
        }
    }
}

/// Cuts a text where a line may end: at spaces, and behind a hyphen or a
/// stroke between letters. A no-break space holds.
fn pieces(text: &str) -> Vec<Piece<'_>> {
    let mut all = Vec::new();
    for (nth, word) in text
        .split([' ', '\n', '\t', '\r'])
        .filter(|word| !word.is_empty())
        .enumerate()
    {
        let mut from = 0;
        let mut spaced = nth > 0;
        let ends: Vec<(usize, char)> = word.char_indices().collect();
        for pair in ends.windows(2) {
            let [(_, c), (next, after)] = pair else {
                continue;
            };
            if matches!(c, '-' | '/' | '–') && after.is_alphabetic() && *next >= from + 3 {
                all.push(Piece {
                    text: &word[from..*next],
                    spaced,
                });
                from = *next;
                spaced = false;
            }
        }
        all.push(Piece {
            text: &word[from..],
            spaced,
        });
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    const SANS: Type = Type::plain(Face::Sans);

    fn broken(text: &str, em: f64, width: f64, cut: bool) -> Option<Vec<String>> {
        let fonts = Fonts::new();
        let ruler = Ruler::new(&fonts);
        ruler
            .lines(SANS, em, text, cut, |_| Some(width))
            .map(|lines| lines.into_iter().map(|line| line.text).collect())
    }

    #[test]
    fn a_sum_of_words_is_what_the_shaper_measures() {
        let fonts = Fonts::new();
        let ruler = Ruler::new(&fonts);
        for text in [
            "Harbour Fig",
            "Never leave a warmer unattended.",
            "PA-0612/3",
        ] {
            let summed = ruler.width(SANS, 2.0, text);
            let shaped = fonts.width(text, &SANS.style(2.0, 1.25));
            assert!((summed - shaped).abs() < 0.02, "{text}: {summed} {shaped}");
        }
    }

    #[test]
    fn a_long_word_is_refused_or_cut_with_a_hyphen() {
        let word = "Kaminfeuerabendduft";
        assert_eq!(broken(word, 2.0, 8.0, false), None);
        let lines = broken(word, 2.0, 8.0, true).expect("cut");
        assert!(lines.len() > 1 && lines[0].ends_with('-'), "{lines:?}");
        let joined: String = lines.concat().replace('-', "");
        assert_eq!(joined, word);
    }

    #[test]
    fn lines_end_behind_a_hyphen_but_not_at_a_no_break_space() {
        let lines = broken("sea-salt and 10\u{a0}cm", 2.0, 8.7, false).expect("broken");
        assert_eq!(lines, ["sea-salt", "and", "10\u{a0}cm"]);
        assert_eq!(
            broken("wax-melt", 2.0, 5.0, false).expect("broken"),
            ["wax-", "melt"]
        );
    }
}
