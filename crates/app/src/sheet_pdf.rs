//! The text of a PDF, laid out as on the page, for the reader of sheets.
//!
//! Glyphs are gathered with their places, put into lines by height, and written
//! with spaces so that columns stand under one another. Nothing is drawn, and
//! no picture is looked into: a scanned sheet has no text and must be typed.

use std::sync::mpsc;
use std::thread;
use std::time::Duration;

use hayro_interpret::font::Glyph;
use hayro_interpret::hayro_cmap::BfString;
use hayro_interpret::hayro_syntax::{DecryptionError, LoadPdfError, Pdf};
use hayro_interpret::{
    BlendMode, ClipPath, Context, Device, GlyphDrawMode, Image, InterpreterCache,
    InterpreterSettings, Paint, PathDrawMode, SoftMask, TransformExt, interpret_page,
};
use hazard::sheet::{self, Sheet};
use kurbo::{Affine, BezPath, PathEl, Point, Rect, Shape};
use measure::{Problem, Problems};

/// The largest file that is read, in bytes. Sheets have some hundred thousand.
pub const LARGEST: usize = 10_000_000;
/// The most pages that are read.
pub const MOST_PAGES: usize = 100;
/// The most glyphs of one page that are gathered.
const MOST_GLYPHS: usize = 100_000;
/// How long a file may take.
const LONGEST: Duration = Duration::from_secs(20);
/// Deep nesting in a hostile file must not reach the end of the stack.
const STACK: usize = 64 << 20;
/// Above this share of glyphs without a letter the text is not to be trusted.
const UNREADABLE: f64 = 0.02;

const ACCEPTED: &str = "paste the text of section 3, or type its lines";

/// Reads the sheet in a PDF.
///
/// # Errors
///
/// As [`text`], or when there is no text a sheet could be in.
pub fn read(pdf: Vec<u8>) -> Result<Sheet, Problems> {
    sheet::read(&text(pdf)?)
}

/// The text of a PDF, its columns held apart by spaces and its rows by empty
/// lines where the page leaves room between them.
///
/// # Errors
///
/// A problem with `pdf` when it is empty, too large, no PDF, locked, broken,
/// has too many pages, has no text, or has text whose letters cannot be told.
pub fn text(pdf: Vec<u8>) -> Result<String, Problems> {
    if pdf.is_empty() {
        return Err(refused("there is no file"));
    }
    if pdf.len() > LARGEST {
        return Err(refused("that file is larger than 10 MB"));
    }
    if !pdf
        .iter()
        .take(1024)
        .copied()
        .collect::<Vec<u8>>()
        .windows(5)
        .any(|head| head == b"%PDF-")
    {
        return Err(refused("that is not a PDF"));
    }
    // The library reads files of strangers. On a thread of its own a panic in
    // it ends that thread, and an endless loop is left behind, not waited for.
    let (tell, told) = mpsc::channel();
    thread::Builder::new()
        .name("pdf".to_owned())
        .stack_size(STACK)
        .spawn(move || {
            // Nobody listens any more when it took too long.
            let _ = tell.send(gather(pdf));
        })
        .map_err(|_| refused("there is no room to read a file just now"))?;
    match told.recv_timeout(LONGEST) {
        Ok(answer) => answer.map_err(refused),
        Err(mpsc::RecvTimeoutError::Timeout) => Err(refused("reading that file takes too long")),
        Err(mpsc::RecvTimeoutError::Disconnected) => Err(refused("that PDF is broken")),
    }
}

fn refused(wrong: &'static str) -> Problems {
    Problem::new("pdf", "", wrong, ACCEPTED).into()
}

fn gather(pdf: Vec<u8>) -> Result<String, &'static str> {
    let pdf = Pdf::new(pdf).map_err(|error| match error {
        LoadPdfError::Decryption(DecryptionError::PasswordProtected) => {
            "that PDF is locked with a password"
        }
        LoadPdfError::Decryption(_) => "that PDF is locked",
        LoadPdfError::Invalid => "that PDF is broken",
    })?;
    let pages = pdf.pages();
    if pages.len() > MOST_PAGES {
        return Err("that PDF has more than 100 pages");
    }
    let settings = InterpreterSettings {
        render_annotations: false,
        ..InterpreterSettings::default()
    };
    let cache = InterpreterCache::new();
    let mut text = String::new();
    let (mut glyphs, mut unreadable) = (0_usize, 0_usize);
    for page in pages.iter() {
        let (width, height) = page.render_dimensions();
        let mut context = Context::new(
            page.initial_transform(true).to_kurbo(),
            Rect::new(0.0, 0.0, f64::from(width), f64::from(height)),
            &cache,
            pdf.xref(),
            settings.clone(),
        );
        let mut sight = Sight::default();
        interpret_page(page, &mut context, &mut sight);
        glyphs += sight.marks.len();
        unreadable += sight.marks.iter().filter(|mark| mark.unreadable).count();
        text.push_str(&sight.laid_out());
    }
    if glyphs == 0 {
        return Err("there is no text in that PDF, only pictures");
    }
    if unreadable as f64 > glyphs as f64 * UNREADABLE {
        return Err("the letters of that PDF cannot be told from its glyphs");
    }
    Ok(text)
}

/// A glyph where it stands. Points, downwards from the top.
#[derive(Debug, Clone)]
struct Mark {
    text: String,
    left: f64,
    right: f64,
    base: f64,
    size: f64,
    unreadable: bool,
}

/// What a page shows: glyphs, and upright rules that part columns.
#[derive(Debug, Default)]
struct Sight {
    marks: Vec<Mark>,
    /// Blanks between glyphs, which part words where the gap is too small to.
    blanks: Vec<Point>,
    /// Glyphs of text that does not run from left to right.
    turned: String,
    rules: Vec<Rule>,
}

#[derive(Debug, Clone, Copy)]
struct Rule {
    x: f64,
    top: f64,
    bottom: f64,
}

impl Sight {
    fn rule(&mut self, x: f64, from: f64, to: f64) {
        let (top, bottom) = (from.min(to), from.max(to));
        if bottom - top > 4.0 && self.rules.len() < MOST_GLYPHS {
            self.rules.push(Rule { x, top, bottom });
        }
    }

    fn outline(&mut self, path: &BezPath) {
        // A thin upright bar is a rule, and so is each upright side of a box.
        let bounds = path.bounding_box();
        if bounds.width() < 2.0 {
            self.rule(bounds.center().x, bounds.y0, bounds.y1);
            return;
        }
        let mut last: Option<Point> = None;
        let mut first: Option<Point> = None;
        for element in path.elements() {
            let next = match element {
                PathEl::MoveTo(point) => {
                    first = Some(*point);
                    last = Some(*point);
                    continue;
                }
                PathEl::LineTo(point) => Some(*point),
                PathEl::ClosePath => first,
                PathEl::QuadTo(_, point) | PathEl::CurveTo(_, _, point) => {
                    last = Some(*point);
                    continue;
                }
            };
            if let (Some(from), Some(to)) = (last, next)
                && (from.x - to.x).abs() < 0.5
            {
                self.rule(to.x, from.y, to.y);
            }
            last = next;
        }
    }

    /// The page as text.
    fn laid_out(mut self) -> String {
        let lines = self.lines();
        let mut sizes: Vec<f64> = self.marks.iter().map(|mark| mark.size).collect();
        sizes.sort_by(f64::total_cmp);
        let Some(size) = sizes.get(sizes.len() / 2).copied() else {
            return String::new();
        };
        // A third of the type size: narrower than its letters on average, so
        // that what stands in a column seldom runs past its place.
        let step = (size / 3.0).max(0.5);
        let starts = column_starts(&lines, &self.rules);
        let mut out = String::new();
        let mut before: Option<f64> = None;
        for line in &lines {
            let Some(base) = line.first().map(|mark| mark.base) else {
                continue;
            };
            let tall = line.iter().map(|mark| mark.size).fold(0.0, f64::max);
            if before.is_some_and(|before| base - before > 1.55 * tall) {
                out.push('\n');
            }
            before = Some(base);
            out.push_str(&self.line_text(line, &starts, step));
            out.push('\n');
        }
        if !self.turned.trim().is_empty() {
            out.push_str(&std::mem::take(&mut self.turned));
            out.push('\n');
        }
        out
    }

    /// The glyphs in lines from top to bottom, each from left to right.
    fn lines(&mut self) -> Vec<Vec<Mark>> {
        let mut marks = self.marks.clone();
        marks.sort_by(|one, other| {
            one.base
                .total_cmp(&other.base)
                .then(one.left.total_cmp(&other.left))
        });
        let mut lines: Vec<Vec<Mark>> = Vec::new();
        for mark in marks {
            let same = lines
                .last()
                .and_then(|line| line.first())
                .is_some_and(|first| {
                    (mark.base - first.base).abs() < 0.3 * first.size.min(mark.size)
                });
            match lines.last_mut() {
                Some(line) if same => line.push(mark),
                _ => lines.push(vec![mark]),
            }
        }
        for line in &mut lines {
            line.sort_by(|one, other| one.left.total_cmp(&other.left));
            // Bold is sometimes the same glyph printed twice.
            line.dedup_by(|later, first| {
                later.text == first.text && (later.left - first.left).abs() < 0.15 * first.size
            });
        }
        lines
    }

    fn line_text(&self, line: &[Mark], starts: &[f64], step: f64) -> String {
        let mut out = String::new();
        let mut length = 0_usize;
        let mut before: Option<&Mark> = None;
        for mark in line {
            let gap = before.map(|before| mark.left - before.right);
            let parted = before.is_none_or(|before| {
                parts(before, mark, &self.rules)
                    || (gap.is_some_and(|gap| gap > 0.34 * mark.size)
                        && begins_column(mark, starts))
            });
            if parted {
                let place = (mark.left / step).round().clamp(0.0, 2000.0);
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "clamped to 0 to 2000"
                )]
                let place = place as usize;
                let pad = match before {
                    None => place,
                    Some(_) => place.saturating_sub(length).max(2),
                };
                out.extend(std::iter::repeat_n(' ', pad));
                length += pad;
            } else if let Some(before) = before
                && (gap.is_some_and(|gap| gap > 0.15 * mark.size)
                    || self.is_blank_between(before, mark))
            {
                out.push(' ');
                length += 1;
            }
            out.push_str(&mark.text);
            length += mark.text.chars().count();
            before = Some(mark);
        }
        out
    }

    fn is_blank_between(&self, before: &Mark, mark: &Mark) -> bool {
        let from = self
            .blanks
            .partition_point(|blank| blank.y < mark.base - 0.5);
        self.blanks
            .iter()
            .skip(from)
            .take_while(|blank| blank.y <= mark.base + 0.5)
            .any(|blank| blank.x > before.left && blank.x < mark.left + 0.01)
    }
}

/// Whether two neighbours stand in two cells: wide apart, or a rule between.
fn parts(before: &Mark, mark: &Mark, rules: &[Rule]) -> bool {
    let middle = mark.base - 0.3 * mark.size;
    mark.left - before.right > 0.8 * mark.size
        || rules.iter().any(|rule| {
            rule.x >= before.right - 0.5
                && rule.x <= mark.left + 0.5
                && rule.top <= middle
                && rule.bottom >= middle
        })
}

/// Where cells begin on two lines or more.
fn column_starts(lines: &[Vec<Mark>], rules: &[Rule]) -> Vec<f64> {
    let mut begins: Vec<f64> = Vec::new();
    for line in lines {
        let mut before: Option<&Mark> = None;
        for mark in line {
            if before.is_some_and(|before| parts(before, mark, rules)) {
                begins.push(mark.left);
            }
            before = Some(mark);
        }
    }
    begins.sort_by(f64::total_cmp);
    let mut starts: Vec<(f64, usize)> = Vec::new();
    for begin in begins {
        match starts.last_mut() {
            Some((start, count)) if begin - *start < 1.0 => *count += 1,
            _ => starts.push((begin, 1)),
        }
    }
    starts
        .into_iter()
        .filter(|(_, count)| *count >= 2)
        .map(|(start, _)| start)
        .collect()
}

fn begins_column(mark: &Mark, starts: &[f64]) -> bool {
    starts.iter().any(|start| (mark.left - start).abs() < 1.0)
}

impl Device<'_> for Sight {
    fn draw_glyph(
        &mut self,
        glyph: &Glyph<'_>,
        transform: Affine,
        glyph_transform: Affine,
        _: &Paint<'_>,
        _: &GlyphDrawMode,
    ) {
        if self.marks.len() >= MOST_GLYPHS {
            return;
        }
        let whole = transform * glyph_transform;
        let advance = match glyph {
            Glyph::Outline(outline) => outline.advance_width(),
            Glyph::Type3(_) => None,
        };
        let origin = whole * Point::ORIGIN;
        let end = whole * Point::new(f64::from(advance.unwrap_or(500.0)), 0.0);
        let top = whole * Point::new(0.0, 1000.0);
        let size = (top - origin).hypot();
        if ![origin.x, origin.y, end.x, size]
            .iter()
            .all(|value| value.is_finite())
            || size <= 0.0
        {
            return;
        }
        let text = match glyph.as_unicode() {
            Some(BfString::Char(sign)) => sign.to_string(),
            Some(BfString::String(signs)) => signs,
            None => String::new(),
        };
        let unreadable = text.is_empty()
            || text.chars().any(|sign| {
                sign == '\u{fffd}'
                    || ('\u{e000}'..='\u{f8ff}').contains(&sign)
                    || (sign.is_control() && !sign.is_whitespace())
            });
        if !unreadable && text.trim().is_empty() {
            let at = self.blanks.partition_point(|blank| blank.y <= origin.y);
            self.blanks.insert(at, origin);
            return;
        }
        // Text that stands on its side: a stamp in the margin, a watermark.
        if (end.y - origin.y).abs() > 0.2 * (end.x - origin.x).abs() || end.x < origin.x {
            self.turned.push_str(&text);
            return;
        }
        self.marks.push(Mark {
            text: if unreadable {
                "\u{fffd}".to_owned()
            } else {
                text
            },
            left: origin.x,
            right: end.x,
            base: origin.y,
            size,
            unreadable,
        });
    }

    fn draw_path(&mut self, path: &BezPath, transform: Affine, _: &Paint<'_>, _: &PathDrawMode) {
        if path.elements().len() < 10_000 {
            self.outline(&(transform * path));
        }
    }

    fn set_soft_mask(&mut self, _: Option<SoftMask<'_>>) {}
    fn set_blend_mode(&mut self, _: BlendMode) {}
    fn push_clip_path(&mut self, _: &ClipPath) {}
    fn push_transparency_group(&mut self, _: f32, _: Option<SoftMask<'_>>, _: BlendMode) {}
    fn draw_image(&mut self, _: Image<'_, '_>, _: Affine) {}
    fn pop_clip_path(&mut self) {}
    fn pop_transparency_group(&mut self) {}
}
