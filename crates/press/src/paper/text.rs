//! Text, shaped and broken into lines at a width.

use std::borrow::Cow;
use std::ops::Range;
use std::sync::Arc;

use kurbo::Rect;
use parley::{
    Alignment, AlignmentOptions, FontFamily, FontFamilyName, FontFeatures, Layout, LineHeight,
    OverflowWrap, PositionedLayoutItem, StyleProperty,
};

use super::drawing::Colour;
use super::font::{Face, Fonts};

/// Units of the shaper in a millimetre; it works in single precision.
const UNITS: f64 = 100.0;

/// The largest em there is; a poster takes less.
const LARGEST_MM: f64 = 1_000.0;

/// Where the lines of a paragraph stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Align {
    /// From where its script begins.
    #[default]
    Start,
    /// In the middle.
    Centre,
    /// To where its script ends.
    End,
    /// On both edges, the last line from its beginning.
    Justify,
}

/// How a text is set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TextStyle {
    /// The face tried first for each character.
    pub face: Face,
    /// The em, in millimetres.
    pub size_mm: f64,
    /// From baseline to baseline, in ems.
    pub leading: f64,
    /// The ink.
    pub colour: Colour,
    /// Where the lines stand.
    pub align: Align,
    /// The language as a tag: `en`, `de`.
    pub language: &'static str,
    /// Room added between letters, in ems.
    pub spacing: f64,
    /// Whether figures are all of one width.
    pub tabular: bool,
    /// Whether small letters are drawn as small capitals, where the face has them.
    pub small_caps: bool,
    /// Whether lines are made of about equal length: for a headline.
    pub balanced: bool,
}

impl TextStyle {
    /// A style with leading 1.25, black ink, from the beginning, English.
    pub fn new(face: Face, size_mm: f64) -> Self {
        Self {
            face,
            size_mm,
            leading: 1.25,
            colour: Colour::BLACK,
            align: Align::Start,
            language: "en",
            spacing: 0.0,
            tabular: false,
            small_caps: false,
            balanced: false,
        }
    }

    /// The same at another em.
    #[must_use]
    pub fn sized(self, size_mm: f64) -> Self {
        Self { size_mm, ..self }
    }

    /// The same standing elsewhere.
    #[must_use]
    pub fn aligned(self, align: Align) -> Self {
        Self { align, ..self }
    }

    /// The same in another language.
    #[must_use]
    pub fn spoken(self, language: &'static str) -> Self {
        Self { language, ..self }
    }

    /// The same in another ink.
    #[must_use]
    pub fn inked(self, colour: Colour) -> Self {
        Self { colour, ..self }
    }

    /// The same with another leading.
    #[must_use]
    pub fn leaded(self, leading: f64) -> Self {
        Self { leading, ..self }
    }
}

/// A text shaped and broken at a width. All lengths are millimetres from the
/// left and the top of its box.
#[derive(Debug, Clone)]
pub struct Set {
    pub(crate) text: Arc<str>,
    pub(crate) style: TextStyle,
    pub(crate) lines: Vec<Line>,
    pub(crate) fonts: Fonts,
    box_width_mm: f64,
    height_mm: f64,
    missing: Vec<char>,
    broken_word: bool,
}

/// One line of a [`Set`].
#[derive(Debug, Clone)]
pub struct Line {
    /// Where its baseline is.
    pub baseline_mm: f64,
    /// Where it begins.
    pub x_mm: f64,
    /// How far it reaches, spaces at its end left out.
    pub width_mm: f64,
    /// The bytes of the text it shows.
    pub(crate) range: Range<usize>,
    pub(crate) runs: Vec<Run>,
}

/// Glyphs of one face.
#[derive(Debug, Clone)]
pub(crate) struct Run {
    pub(crate) face: Face,
    pub(crate) x_mm: f64,
    pub(crate) glyphs: Vec<Glyph>,
}

/// A glyph with the bytes of the text it stands for.
#[derive(Debug, Clone)]
pub(crate) struct Glyph {
    pub(crate) id: u32,
    pub(crate) advance_mm: f64,
    pub(crate) dx_mm: f64,
    /// Upwards.
    pub(crate) dy_mm: f64,
    pub(crate) range: Range<usize>,
}

impl Set {
    /// The text as it was set.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// How it was set.
    pub fn style(&self) -> &TextStyle {
        &self.style
    }

    /// The width it was broken at.
    pub fn box_width_mm(&self) -> f64 {
        self.box_width_mm
    }

    /// The longest line, spaces at its end left out.
    pub fn width_mm(&self) -> f64 {
        self.lines
            .iter()
            .map(|line| line.width_mm)
            .fold(0.0, f64::max)
    }

    /// The lines times the leading.
    pub fn height_mm(&self) -> f64 {
        self.height_mm
    }

    /// The lines.
    pub fn lines(&self) -> &[Line] {
        &self.lines
    }

    /// The baseline of the first line, zero for an empty text.
    pub fn first_baseline_mm(&self) -> f64 {
        self.lines.first().map_or(0.0, |line| line.baseline_mm)
    }

    /// The baseline of the last line, zero for an empty text.
    pub fn last_baseline_mm(&self) -> f64 {
        self.lines.last().map_or(0.0, |line| line.baseline_mm)
    }

    /// How far the longest line stands over the width, when one does.
    pub fn overflow_mm(&self) -> Option<f64> {
        let over = self.width_mm() - self.box_width_mm;
        (over > 0.005).then_some(over)
    }

    /// Whether a word had to be broken where no break belongs.
    pub fn breaks_a_word(&self) -> bool {
        self.broken_word
    }

    /// The characters no face can draw. They are not drawn at all, and a
    /// document that holds any is refused.
    pub fn missing(&self) -> &[char] {
        &self.missing
    }

    /// The box of what is printed, from the outlines; none for a blank text.
    pub fn ink(&self) -> Option<Rect> {
        self.lines
            .iter()
            .filter_map(|line| self.ink_of(line))
            .reduce(|all, one| all.union(one))
    }

    /// The box of what a line prints.
    pub fn ink_of(&self, line: &Line) -> Option<Rect> {
        let mut all: Option<Rect> = None;
        line.each_glyph(|face, glyph, x, y| {
            if let Some(one) = self.fonts.outline(face, glyph.id).bounds {
                let size = self.style.size_mm;
                let one = Rect::new(
                    x + one.x0 * size,
                    y + one.y0 * size,
                    x + one.x1 * size,
                    y + one.y1 * size,
                );
                all = Some(all.map_or(one, |all| all.union(one)));
            }
        });
        all
    }

    /// The first lines and the others, each a text of its own.
    pub fn split(self, lines: usize) -> (Set, Set) {
        if lines >= self.lines.len() {
            let rest = Set {
                lines: Vec::new(),
                height_mm: 0.0,
                text: Arc::from(""),
                ..self.clone()
            };
            return (self, rest);
        }
        let height = self.style.size_mm * self.style.leading;
        let mut first = self;
        let mut rest = Set {
            lines: first.lines.split_off(lines),
            ..first.clone()
        };
        let above = height * lines as f64;
        for line in &mut rest.lines {
            line.baseline_mm -= above;
        }
        rest.height_mm -= above;
        first.height_mm = above;
        (first.cropped(), rest.cropped())
    }

    /// Leaves of the text what its lines show.
    fn cropped(mut self) -> Self {
        let from = self.lines.first().map_or(0, |line| line.range.start);
        let to = self.lines.last().map_or(0, |line| line.range.end);
        let text = self.text.get(from..to).unwrap_or_default().to_owned();
        for line in &mut self.lines {
            line.range = line.range.start - from..line.range.end - from;
            for glyph in line.runs.iter_mut().flat_map(|run| &mut run.glyphs) {
                glyph.range = glyph.range.start - from..glyph.range.end - from;
            }
        }
        self.text = Arc::from(text);
        self
    }
}

impl Line {
    pub(crate) fn each_glyph(&self, mut visit: impl FnMut(Face, &Glyph, f64, f64)) {
        for run in &self.runs {
            let mut x = run.x_mm;
            for glyph in &run.glyphs {
                visit(
                    run.face,
                    glyph,
                    x + glyph.dx_mm,
                    self.baseline_mm - glyph.dy_mm,
                );
                x += glyph.advance_mm;
            }
        }
    }
}

/// The text as it can be drawn: line ends and tabs made plain, joints that
/// show nothing taken out.
pub(crate) fn drawable(text: &str) -> Cow<'_, str> {
    let plain = |c: char| c == '\n' || !(c.is_control() || joint(c) || c == '\u{2011}');
    if text.chars().all(plain) {
        return Cow::Borrowed(text);
    }
    let mut drawn = String::with_capacity(text.len());
    let mut before = '\0';
    for c in text.chars() {
        match c {
            '\n' if before == '\r' => {}
            '\r' | '\u{2028}' | '\u{2029}' => drawn.push('\n'),
            '\t' => drawn.push(' '),
            '\u{2011}' => drawn.push('-'),
            c if joint(c) => {}
            c => drawn.push(c),
        }
        before = c;
    }
    Cow::Owned(drawn)
}

/// Marks that only say where a line may or may not break.
fn joint(c: char) -> bool {
    matches!(
        c,
        '\u{ad}' | '\u{200b}' | '\u{2060}' | '\u{feff}' | '\u{2028}' | '\u{2029}'
    )
}

impl Fonts {
    /// Shapes a text and breaks it at `width_mm`.
    ///
    /// A word longer than the width is broken inside; what still stands over it
    /// is told by [`Set::overflow_mm`]. A width or an em that is no length is
    /// taken as a hundredth of a millimetre.
    pub fn set(&self, text: &str, style: &TextStyle, width_mm: f64) -> Set {
        self.set_faces(text, &[], style, width_mm)
    }

    /// Sets one paragraph of parts, each in a face of its own: a word that leads
    /// in bold, a name in italic. What the style says of the face is not asked.
    pub fn set_mixed(&self, parts: &[(&str, Face)], style: &TextStyle, width_mm: f64) -> Set {
        let mut text = String::new();
        let mut faces = Vec::new();
        for (part, face) in parts {
            let from = text.len();
            text.push_str(&drawable(part));
            faces.push((from..text.len(), *face));
        }
        self.set_faces(&text, &faces, style, width_mm)
    }

    /// `faces` are places in a text that is already drawable, or none.
    fn set_faces(
        &self,
        text: &str,
        faces: &[(Range<usize>, Face)],
        style: &TextStyle,
        width_mm: f64,
    ) -> Set {
        let drawn = drawable(text);
        let style = TextStyle {
            size_mm: length(style.size_mm).min(LARGEST_MM),
            leading: if style.leading.is_finite() {
                style.leading.clamp(0.5, 10.0)
            } else {
                1.25
            },
            ..*style
        };
        let width_mm = length(width_mm);
        let mut set = Set {
            text: Arc::from(&*drawn),
            style,
            lines: Vec::new(),
            fonts: self.clone(),
            box_width_mm: width_mm,
            height_mm: 0.0,
            missing: self.missing(text),
            broken_word: false,
        };
        if drawn.trim().is_empty() {
            return set;
        }
        let mut layout = self.shape(&drawn, faces, &style);
        layout.break_all_lines(Some(units(width_mm)));
        let broken_at = if style.balanced && layout.len() > 1 && !emergency(&layout) {
            balance(&mut layout, width_mm)
        } else {
            width_mm
        };
        let alignment = match style.align {
            Align::Start => Alignment::Start,
            Align::Centre => Alignment::Center,
            Align::End => Alignment::End,
            Align::Justify => Alignment::Justify,
        };
        layout.align(alignment, AlignmentOptions::default());
        let spare = width_mm - broken_at;
        let shift_mm = match style.align {
            Align::Start | Align::Justify if layout.is_rtl() => spare,
            Align::Centre => spare / 2.0,
            Align::End if !layout.is_rtl() => spare,
            _ => 0.0,
        };
        self.read(&layout, shift_mm, &mut set);
        set
    }

    /// Shapes a text on one line, however long it is.
    pub fn set_line(&self, text: &str, style: &TextStyle) -> Set {
        let unbroken = drawable(text).replace('\n', " ");
        let natural = self.set(&unbroken, &style.aligned(Align::Start), 10_000.0);
        let width_mm = natural.width_mm();
        Set {
            box_width_mm: width_mm,
            ..natural
        }
    }

    /// How long a text is on one line.
    pub fn width(&self, text: &str, style: &TextStyle) -> f64 {
        self.set_line(text, style).width_mm()
    }

    /// Sets a text in the largest em up to the style's own that fits a box and
    /// breaks no word, down to `least_mm`; at that em it is set as it may.
    pub fn fit(
        &self,
        text: &str,
        style: &TextStyle,
        width_mm: f64,
        height_mm: f64,
        least_mm: f64,
    ) -> Set {
        let fits = |set: &Set| {
            set.height_mm() <= height_mm + 1e-6
                && set.overflow_mm().is_none()
                && !set.breaks_a_word()
        };
        let whole = self.set(text, style, width_mm);
        if fits(&whole) {
            return whole;
        }
        let (mut low, mut high) = (least_mm.min(style.size_mm), style.size_mm);
        let mut best = self.set(text, &style.sized(low), width_mm);
        if !fits(&best) {
            return best;
        }
        for _ in 0..10 {
            let tried = f64::midpoint(low, high);
            let set = self.set(text, &style.sized(tried), width_mm);
            if fits(&set) {
                low = tried;
                best = set;
            } else {
                high = tried;
            }
        }
        best
    }

    fn shape(&self, text: &str, faces: &[(Range<usize>, Face)], style: &TextStyle) -> Layout<()> {
        let mut shaper = self.shaper();
        let super::font::Shaper { fonts, layouts } = &mut *shaper;
        let mut features = String::new();
        for (on, feature) in [
            (style.tabular, "\"tnum\""),
            (style.tabular, "\"lnum\""),
            (style.small_caps, "\"smcp\""),
            // Letters that grow together would not be spaced.
            (style.spacing.abs() > 1e-9, "\"liga\" 0"),
        ] {
            if on {
                if !features.is_empty() {
                    features.push_str(", ");
                }
                features.push_str(feature);
            }
        }
        let mut builder = layouts.ranged_builder(fonts, text, 1.0, false);
        builder.push_default(StyleProperty::FontFamily(families(style.face)));
        for (range, face) in faces {
            let property = StyleProperty::FontFamily(families(*face));
            builder.push(property, range.clone());
        }
        builder.push_default(StyleProperty::FontSize(units(style.size_mm)));
        builder.push_default(StyleProperty::LineHeight(LineHeight::Absolute(units(
            style.size_mm * style.leading,
        ))));
        builder.push_default(StyleProperty::OverflowWrap(OverflowWrap::BreakWord));
        builder.push_default(StyleProperty::LetterSpacing(units(
            style.size_mm * style.spacing,
        )));
        if !features.is_empty() {
            builder.push_default(StyleProperty::FontFeatures(FontFeatures::Source(
                Cow::Owned(features),
            )));
        }
        if let Ok(language) = parley::fontique::Language::parse(style.language) {
            builder.push_default(StyleProperty::Locale(Some(language)));
        }
        builder.build(text)
    }

    fn read(&self, layout: &Layout<()>, shift_mm: f64, set: &mut Set) {
        set.height_mm = mm(layout.height());
        for line in layout.lines() {
            let metrics = line.metrics();
            set.broken_word |= matches!(line.break_reason(), parley::BreakReason::Emergency);
            let mut runs = Vec::new();
            for item in line.items() {
                let PositionedLayoutItem::GlyphRun(run) = item else {
                    continue;
                };
                let Some(face) = self.face_of(run.run().font().data.id()) else {
                    continue;
                };
                let x_mm = mm(run.offset()) + shift_mm;
                let mut glyphs: Vec<Glyph> = Vec::new();
                for cluster in run.run().visual_clusters() {
                    let bytes = cluster.text_range();
                    if cluster.is_ligature_continuation() {
                        if let Some(last) = glyphs.last_mut() {
                            last.range =
                                last.range.start.min(bytes.start)..last.range.end.max(bytes.end);
                        }
                        continue;
                    }
                    let breaks = set.text.get(bytes.clone()) == Some("\n");
                    for glyph in cluster.glyphs() {
                        if glyph.id == 0 || breaks {
                            continue;
                        }
                        glyphs.push(Glyph {
                            id: glyph.id,
                            advance_mm: mm(glyph.advance),
                            dx_mm: mm(glyph.x),
                            dy_mm: mm(glyph.y),
                            range: bytes.clone(),
                        });
                    }
                }
                if !glyphs.is_empty() {
                    runs.push(Run { face, x_mm, glyphs });
                }
            }
            let trailing = mm(metrics.hanging_advance);
            set.lines.push(Line {
                baseline_mm: mm(metrics.baseline),
                x_mm: runs
                    .iter()
                    .map(|run| run.x_mm)
                    .reduce(f64::min)
                    .unwrap_or(0.0),
                width_mm: runs
                    .iter()
                    .flat_map(|run| &run.glyphs)
                    .map(|glyph| glyph.advance_mm)
                    .sum::<f64>()
                    - trailing,
                range: line.text_range(),
                runs,
            });
        }
    }
}

/// A face and those tried after it.
fn families(face: Face) -> FontFamily<'static> {
    let names: Vec<_> = face
        .chain()
        .into_iter()
        .map(|face| FontFamilyName::Named(Cow::Borrowed(face.family())))
        .collect();
    FontFamily::List(Cow::Owned(names))
}

/// Narrows the lines as far as their number stays, so that none is left short.
/// Returns the width they are then broken at.
fn balance(layout: &mut Layout<()>, width_mm: f64) -> f64 {
    let lines = layout.len();
    let (mut fits, mut fails) = (width_mm, 0.0);
    for _ in 0..12 {
        let tried = f64::midpoint(fits, fails);
        layout.break_all_lines(Some(units(tried)));
        if layout.len() <= lines && !emergency(layout) {
            fits = tried;
        } else {
            fails = tried;
        }
    }
    layout.break_all_lines(Some(units(fits)));
    fits
}

fn emergency(layout: &Layout<()>) -> bool {
    layout
        .lines()
        .any(|line| matches!(line.break_reason(), parley::BreakReason::Emergency))
}

fn length(mm: f64) -> f64 {
    if mm.is_finite() && mm > 0.01 {
        mm.min(10_000.0)
    } else {
        0.01
    }
}

#[expect(clippy::cast_possible_truncation, reason = "a length on paper")]
fn units(mm: f64) -> f32 {
    (mm * UNITS) as f32
}

fn mm(units: f32) -> f64 {
    f64::from(units) / UNITS
}
