//! A page as SVG, for the preview: the outlines of the glyphs themselves, so that
//! it looks as the paper will, and the words beside them.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::sync::Arc;

use kurbo::{Affine, BezPath, PathEl, Shape as _};

use super::drawing::{Drawing, Item, Paint, Structure};
use super::font::{Face, Outline};
use super::text::Set;
use super::{Document, PaperError};
use crate::svg::El;

impl Document {
    /// Draws one page, counted from zero, as a complete `svg` element.
    ///
    /// # Errors
    ///
    /// [`PaperError`] when there is no such page, and where [`pdf`](Self::pdf) refuses.
    pub fn svg(&self, page: usize) -> Result<String, PaperError> {
        self.sound()?;
        let drawing = self.pages.get(page).ok_or(PaperError::NoPage)?;
        let title = if self.pages.len() > 1 {
            format!("{}, page {} of {}", self.title, page + 1, self.pages.len())
        } else {
            self.title.clone()
        };
        Ok(drawing.to_svg(&title, &self.language))
    }
}

impl Drawing {
    /// Draws the piece as a complete `svg` element of its true size.
    ///
    /// # Errors
    ///
    /// [`PaperError::Missing`] for a character no face can draw.
    pub fn svg(&self, title: &str, language: &str) -> Result<String, PaperError> {
        self.sound(1)?;
        Ok(self.to_svg(title, language))
    }

    fn to_svg(&self, title: &str, language: &str) -> String {
        let words = self.spoken().join(" ");
        let mut writer = Writer::new(self, &format!("{title}{words}"));
        let mut body = String::new();
        writer.draw(self, Affine::IDENTITY, &mut body);
        let defs = writer.defs();
        let head = El::new("svg")
            .attr("xmlns", "http://www.w3.org/2000/svg")
            .class("paper")
            .attr("role", "img")
            .attr("lang", language)
            .attr("width", format!("{}mm", short(self.width_mm)))
            .attr("height", format!("{}mm", short(self.height_mm)))
            .attr(
                "viewBox",
                format!("0 0 {} {}", short(self.width_mm), short(self.height_mm)),
            )
            .holding(vec![
                El::new("title").text(title),
                El::new("desc").text(words),
            ])
            .to_string();
        // What is drawn is figures and our own names alone; every word is above.
        head.replacen("</svg>", &format!("{defs}{body}</svg>"), 1)
    }

    /// Texts and what figures show, in the order they are read.
    fn spoken(&self) -> Vec<String> {
        let mut words = Vec::new();
        for item in &self.items {
            match item {
                Item::Text { set, .. } => words.push(set.text().to_owned()),
                Item::Shape { .. } => {}
                Item::Part {
                    drawing, structure, ..
                } => match structure {
                    Some(Structure::Figure(alt)) => words.push(alt.clone()),
                    Some(Structure::Furniture) => {}
                    _ => words.extend(drawing.spoken()),
                },
            }
        }
        words
    }
}

/// Units of a glyph's outline in an em.
const UNITS: f64 = 1000.0;

/// Writes every glyph and every drawing that comes again once, and refers to it.
struct Writer {
    /// Begins every name, so that two pictures on one web page keep apart.
    prefix: String,
    /// Each glyph used, with its outline.
    glyphs: BTreeMap<(Face, u32), Arc<Outline>>,
    /// Drawings placed more than once, by where they lie in memory: the number
    /// each is known by, in the order they are met.
    again: BTreeMap<usize, usize>,
    /// What those drawings look like, by number.
    parts: Vec<Option<String>>,
}

impl Writer {
    fn new(drawing: &Drawing, about: &str) -> Self {
        let mut met = BTreeMap::new();
        count(drawing, &mut met);
        // FNV-1a, 32 bit.
        let hash = about.bytes().fold(0x811c_9dc5_u32, |hash, byte| {
            (hash ^ u32::from(byte)).wrapping_mul(0x0100_0193)
        });
        let mut often: Vec<(usize, usize)> = met
            .into_iter()
            .filter(|(_, (times, _))| *times > 1)
            .map(|(place, (_, first))| (first, place))
            .collect();
        often.sort_unstable();
        Self {
            prefix: format!("p{hash:x}"),
            glyphs: BTreeMap::new(),
            parts: vec![None; often.len()],
            again: often
                .into_iter()
                .enumerate()
                .map(|(number, (_, place))| (place, number))
                .collect(),
        }
    }

    fn defs(&self) -> String {
        let mut defs = String::from("<defs>");
        for ((face, glyph), outline) in &self.glyphs {
            let _ = write!(defs, r#"<path id="{}" d=""#, self.name(*face, *glyph));
            data(
                &(Affine::scale(UNITS) * outline.path.clone()),
                tenth,
                &mut defs,
            );
            defs.push_str("\"/>");
        }
        for (number, part) in self.parts.iter().enumerate() {
            if let Some(part) = part {
                let _ = write!(defs, r#"<g id="{}-{number}">{part}</g>"#, self.prefix);
            }
        }
        defs.push_str("</defs>");
        defs
    }

    fn name(&self, face: Face, glyph: u32) -> String {
        format!("{}-{}-{glyph}", self.prefix, face as usize)
    }

    fn draw(&mut self, drawing: &Drawing, to: Affine, out: &mut String) {
        for item in &drawing.items {
            match item {
                Item::Text {
                    x_mm, y_mm, set, ..
                } => self.text(set, to * Affine::translate((*x_mm, *y_mm)), out),
                Item::Shape {
                    path,
                    even_odd,
                    paint,
                } => {
                    let scale = to.determinant().abs().sqrt();
                    element(&(to * path.clone()), *even_odd, *paint, scale, out);
                }
                Item::Part {
                    affine,
                    drawing,
                    clip,
                    ..
                } => {
                    let to = to * *affine;
                    let Some(clip) = clip else {
                        self.part(drawing, to, out);
                        continue;
                    };
                    // A nested viewport clips a rectangle without a name.
                    let bounds = (to * clip.clone()).bounding_box();
                    let [x, y, w, h] =
                        [bounds.x0, bounds.y0, bounds.width(), bounds.height()].map(short);
                    let _ = write!(
                        out,
                        r#"<svg x="{x}" y="{y}" width="{w}" height="{h}" viewBox="{x} {y} {w} {h}" overflow="hidden">"#
                    );
                    self.part(drawing, to, out);
                    out.push_str("</svg>");
                }
            }
        }
    }

    fn part(&mut self, drawing: &Arc<Drawing>, to: Affine, out: &mut String) {
        let Some(number) = self.again.get(&place(drawing)).copied() else {
            self.draw(drawing, to, out);
            return;
        };
        if self.parts[number].is_none() {
            let mut part = String::new();
            self.draw(drawing, Affine::IDENTITY, &mut part);
            self.parts[number] = Some(part);
        }
        let _ = write!(
            out,
            r##"<use href="#{}-{number}" transform="{}"/>"##,
            self.prefix,
            matrix(to)
        );
    }

    fn text(&mut self, set: &Set, to: Affine, out: &mut String) {
        let em = set.style.size_mm / UNITS;
        for line in set.lines() {
            if line.runs.is_empty() {
                continue;
            }
            let place = to * Affine::translate((0.0, line.baseline_mm)) * Affine::scale(em);
            let _ = write!(
                out,
                r#"<g transform="{}" fill="{}">"#,
                matrix(place),
                set.style.colour.hex()
            );
            line.each_glyph(|face, glyph, x, y| {
                let outline = set.fonts.outline(face, glyph.id);
                if outline.bounds.is_none() {
                    return;
                }
                self.glyphs.entry((face, glyph.id)).or_insert(outline);
                let up = y - line.baseline_mm;
                let name = self.name(face, glyph.id);
                let _ = write!(out, r##"<use href="#{name}" x="{}""##, tenth(x / em));
                if up.abs() > 1e-9 {
                    let _ = write!(out, r#" y="{}""#, tenth(up / em));
                }
                out.push_str("/>");
            });
            out.push_str("</g>");
        }
    }
}

fn place(drawing: &Arc<Drawing>) -> usize {
    Arc::as_ptr(drawing) as usize
}

/// How often each part is met, and when first.
fn count(drawing: &Drawing, met: &mut BTreeMap<usize, (usize, usize)>) {
    for item in &drawing.items {
        if let Item::Part { drawing, .. } = item {
            let first = met.len();
            let times = &mut met.entry(place(drawing)).or_insert((0, first)).0;
            *times += 1;
            // What stands inside something met again is drawn with it.
            if *times == 1 {
                count(drawing, met);
            }
        }
    }
}

fn matrix(to: Affine) -> String {
    let [xx, yx, xy, yy, x, y] = to.as_coeffs();
    let fine = |number: f64| {
        let text = format!("{number:.7}");
        let text = text.trim_end_matches('0').trim_end_matches('.');
        if text == "-0" { "0" } else { text }.to_owned()
    };
    format!(
        "matrix({} {} {} {} {} {})",
        fine(xx),
        fine(yx),
        fine(xy),
        fine(yy),
        short(x),
        short(y)
    )
}

fn element(path: &BezPath, even_odd: bool, paint: Paint, scale: f64, out: &mut String) {
    out.push_str("<path d=\"");
    data(path, short, out);
    out.push('"');
    match paint.fill {
        Some(colour) => {
            let _ = write!(out, r#" fill="{}""#, colour.hex());
        }
        None => out.push_str(r#" fill="none""#),
    }
    if even_odd {
        out.push_str(r#" fill-rule="evenodd""#);
    }
    if let Some(pen) = paint.pen {
        let _ = write!(
            out,
            r#" stroke="{}" stroke-width="{}""#,
            pen.colour.hex(),
            short(pen.width_mm * scale)
        );
        if let Some((dash, gap)) = pen.dash_mm {
            let _ = write!(
                out,
                r#" stroke-dasharray="{} {}""#,
                short(dash * scale),
                short(gap * scale)
            );
        }
        if pen.round {
            out.push_str(r#" stroke-linecap="round" stroke-linejoin="round""#);
        }
    }
    out.push_str("/>");
}

fn data(path: &BezPath, written: fn(f64) -> String, out: &mut String) {
    let figure = |out: &mut String, letter: &str, points: &[kurbo::Point]| {
        out.push_str(letter);
        for (idx, point) in points.iter().enumerate() {
            let gap = if idx > 0 { " " } else { "" };
            let _ = write!(out, "{gap}{} {}", written(point.x), written(point.y));
        }
    };
    for element in path.elements() {
        match *element {
            PathEl::MoveTo(p) => figure(out, "M", &[p]),
            PathEl::LineTo(p) => figure(out, "L", &[p]),
            PathEl::QuadTo(p, q) => figure(out, "Q", &[p, q]),
            PathEl::CurveTo(p, q, r) => figure(out, "C", &[p, q, r]),
            PathEl::ClosePath => out.push('z'),
        }
    }
}

/// A glyph's unit to a tenth, without zeros at its end.
fn tenth(number: f64) -> String {
    let text = format!("{number:.1}");
    let text = text.strip_suffix(".0").unwrap_or(&text);
    if text == "-0" { "0" } else { text }.to_owned()
}

/// A length to a thousandth, without zeros at its end.
fn short(number: f64) -> String {
    let text = format!("{number:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0" } else { text }.to_owned()
}
