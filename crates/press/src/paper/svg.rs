//! A page as SVG, for the preview: the outlines of the glyphs themselves, so that
//! it looks as the paper will, and the words beside them.

use std::fmt::Write as _;

use kurbo::{Affine, BezPath, PathEl};

use super::drawing::{Drawing, Item, Paint, Structure};
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
        let mut body = String::new();
        draw(self, Affine::IDENTITY, &mut body);
        let words = self.spoken().join(" ");
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
        head.replacen("</svg>", &format!("{body}</svg>"), 1)
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

fn draw(drawing: &Drawing, to: Affine, out: &mut String) {
    for item in &drawing.items {
        match item {
            Item::Text {
                x_mm, y_mm, set, ..
            } => {
                let place = to * Affine::translate((*x_mm, *y_mm));
                let path = place * set.outlines();
                if !path.is_empty() {
                    element(&path, false, Paint::fill(set.style.colour), 1.0, out);
                }
            }
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
                    draw(drawing, to, out);
                    continue;
                };
                // A nested viewport clips a rectangle without a name that could
                // stand twice on a web page.
                let bounds = kurbo::Shape::bounding_box(&(to * clip.clone()));
                let [x, y, w, h] =
                    [bounds.x0, bounds.y0, bounds.width(), bounds.height()].map(short);
                let _ = write!(
                    out,
                    r#"<svg x="{x}" y="{y}" width="{w}" height="{h}" viewBox="{x} {y} {w} {h}" overflow="hidden">"#
                );
                draw(drawing, to, out);
                out.push_str("</svg>");
            }
        }
    }
}

fn element(path: &BezPath, even_odd: bool, paint: Paint, scale: f64, out: &mut String) {
    out.push_str("<path d=\"");
    data(path, out);
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

fn data(path: &BezPath, out: &mut String) {
    let figure = |out: &mut String, letter: &str, points: &[kurbo::Point]| {
        out.push_str(letter);
        for (idx, point) in points.iter().enumerate() {
            let gap = if idx > 0 { " " } else { "" };
            let _ = write!(out, "{gap}{} {}", short(point.x), short(point.y));
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

/// A length to a thousandth, without zeros at its end.
fn short(number: f64) -> String {
    let text = format!("{number:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0" } else { text }.to_owned()
}
