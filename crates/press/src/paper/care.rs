//! Care symbols: what to mind with a candle or a melt, drawn plainly.
//!
//! All are our own line drawings of what the words say, of one weight. The
//! general warning sign keeps the geometry of ISO 7010 W001, from memory: an
//! exclamation mark in an equilateral triangle; in black and white, since EN
//! 15494:2019 no longer asks for yellow (second hand).

use ::label::wording::Care;
use kurbo::{Affine, BezPath, Circle, Shape as _};

use super::{Colour, Drawing, Paint, Pen};

/// The weight of the lines in a box of a hundred.
const WEIGHT: f64 = 6.5;

/// Draws a symbol in the middle of a box.
///
/// A warning sign fills the height as far as an equilateral triangle does.
pub fn drawing(care: Care, width_mm: f64, height_mm: f64) -> Drawing {
    let mut drawing = Drawing::new(width_mm, height_mm);
    let side = width_mm.min(height_mm);
    if !(width_mm.is_finite() && height_mm.is_finite() && side > 0.0) {
        return drawing;
    }
    if care == Care::Warning {
        warning(&mut drawing);
        return drawing;
    }
    let mut pencil = Pencil {
        drawing,
        to: Affine::translate(((width_mm - side) / 2.0, (height_mm - side) / 2.0))
            * Affine::scale(side / 100.0),
        scale: side / 100.0,
    };
    match care {
        Care::Warning => {}
        Care::WithinSight => within_sight(&mut pencil),
        Care::AwayFromWhatBurns => away_from_what_burns(&mut pencil),
        Care::ChildrenAndPets => children_and_pets(&mut pencil),
        Care::Apart => apart(&mut pencil),
        Care::TrimWick => trim_wick(&mut pencil),
        Care::FourHours => four_hours(&mut pencil),
        Care::HeatProof => heat_proof(&mut pencil),
        Care::WarmerOnly => warmer_only(&mut pencil),
        Care::DoNotEat => do_not_eat(&mut pencil),
        Care::HotWax => hot_wax(&mut pencil),
        Care::OutOfSun => out_of_sun(&mut pencil),
        Care::BinNotDrain => bin_not_drain(&mut pencil),
    }
    pencil.drawing
}

/// An equilateral triangle of rounded corners with an exclamation mark.
fn warning(drawing: &mut Drawing) {
    let height = drawing
        .height_mm
        .min(drawing.width_mm * 3.0_f64.sqrt() / 2.0);
    let half = height / 3.0_f64.sqrt();
    let middle = drawing.width_mm / 2.0;
    let top = (drawing.height_mm - height) / 2.0;
    let at = |x: f64, y: f64| (middle + x * half, top + y * height);
    let pen = height * 0.085;
    // The line lies within the triangle: its corners move in by half of it.
    let inner = 1.0 - 1.5 * pen / height;
    let centre = 2.0 / 3.0;
    let corner = |x: f64, y: f64| at(x * inner, centre + (y - centre) * inner);
    let mut path = BezPath::new();
    path.move_to(corner(0.0, 0.0));
    path.line_to(corner(1.0, 1.0));
    path.line_to(corner(-1.0, 1.0));
    path.close_path();
    drawing.path(path, Paint::pen(Pen::new(pen).rounded()));
    let mut stem = BezPath::new();
    stem.move_to(at(-0.085, 0.36));
    stem.line_to(at(0.085, 0.36));
    stem.line_to(at(0.05, 0.68));
    stem.line_to(at(-0.05, 0.68));
    stem.close_path();
    drawing.path(stem, Paint::fill(Colour::BLACK));
    let (x, y) = at(0.0, 0.785);
    drawing.circle(x, y, height * 0.05, Paint::fill(Colour::BLACK));
}

/// Draws in a box of a hundred.
struct Pencil {
    drawing: Drawing,
    to: Affine,
    scale: f64,
}

impl Pencil {
    fn pen(&self, weight: f64) -> Paint {
        Paint::pen(Pen::new(weight * self.scale).rounded())
    }

    /// Draws along a path in the notation of SVG.
    fn stroke(&mut self, d: &str) {
        self.line(d, WEIGHT);
    }

    fn line(&mut self, d: &str, weight: f64) {
        if let Ok(path) = BezPath::from_svg(d) {
            let paint = self.pen(weight);
            self.drawing.path(self.to * path, paint);
        }
    }

    fn fill(&mut self, d: &str) {
        if let Ok(path) = BezPath::from_svg(d) {
            self.drawing
                .path(self.to * path, Paint::fill(Colour::BLACK));
        }
    }

    fn ring(&mut self, x: f64, y: f64, radius: f64) {
        let paint = self.pen(WEIGHT);
        self.drawing
            .path(self.to * Circle::new((x, y), radius).to_path(0.01), paint);
    }

    fn disc(&mut self, x: f64, y: f64, radius: f64) {
        self.drawing.path(
            self.to * Circle::new((x, y), radius).to_path(0.01),
            Paint::fill(Colour::BLACK),
        );
    }

    /// A stroke across: not so.
    fn not(&mut self) {
        if let Ok(path) = BezPath::from_svg("M10 92L90 8") {
            let wide = Paint::pen(Pen::new(WEIGHT * 2.6 * self.scale).inked(Colour::WHITE));
            self.drawing.path(self.to * path, wide);
        }
        self.line("M8 94L92 6", WEIGHT * 1.1);
    }

    /// A flame, its foot at a place.
    fn flame(&mut self, x: f64, y: f64, size: f64) {
        if let Ok(path) = BezPath::from_svg(
            "M0 0C-9 0 -15 -6 -15 -14C-15 -24 -4 -30 -1 -44C9 -36 15 -25 15 -14C15 -6 9 0 0 0z",
        ) {
            let place = Affine::translate((x, y)) * Affine::scale(size);
            self.drawing
                .path(self.to * place * path, Paint::fill(Colour::BLACK));
        }
    }
}

/// An eye with a flame in it.
fn within_sight(pencil: &mut Pencil) {
    pencil.stroke("M5 52C20 28 36 18 50 18C64 18 80 28 95 52C80 74 64 84 50 84C36 84 20 74 5 52z");
    pencil.flame(50.0, 72.0, 0.92);
}

/// A flame, and a curtain at a distance.
fn away_from_what_burns(pencil: &mut Pencil) {
    pencil.flame(23.0, 52.0, 0.95);
    pencil.stroke("M11 64L35 64L35 94L11 94z");
    pencil.stroke("M58 6L96 6");
    pencil.stroke("M66 8C60 30 74 48 66 70C64 78 64 86 66 94");
    pencil.stroke("M80 8C76 30 86 48 80 70C78 78 78 86 80 94");
    pencil.stroke("M94 8L94 94");
    pencil.line("M40 36L56 36M50 30L56 36L50 42M46 30L40 36L46 42", 4.5);
}

/// A child and a cat, struck out.
fn children_and_pets(pencil: &mut Pencil) {
    pencil.disc(30.0, 20.0, 11.0);
    pencil.fill("M30 34C42 34 47 42 48 56L41 58L40 72L42 94L31 94L30 76L29 94L18 94L20 72L19 58L12 56C13 42 18 34 30 34z");
    pencil.fill(
        "M60 58L62 44L68 50L78 50L84 44L85 60C88 66 90 74 90 82C94 84 96 80 94 72L98 70C102 84 98 92 88 94L60 94C58 82 58 70 60 58z",
    );
    pencil.not();
}

/// Two candles with a distance between them.
fn apart(pencil: &mut Pencil) {
    for x in [17.0, 83.0] {
        pencil.flame(x, 40.0, 0.78);
    }
    pencil.stroke("M6 52L28 52L28 94L6 94z");
    pencil.stroke("M72 52L94 52L94 94L72 94z");
    pencil.line("M38 72L62 72M45 64L38 72L45 80M55 64L62 72L55 80", 5.0);
}

/// A wick in its candle, cut off above.
fn trim_wick(pencil: &mut Pencil) {
    pencil.stroke("M14 72L62 72L62 96M14 72L14 96");
    pencil.line("M38 72C38 62 40 58 38 48", 8.0);
    pencil.line("M38 26C37 20 40 16 38 8", 6.0);
    // Scissors.
    pencil.line("M20 44L74 28M20 28L74 46", 5.0);
    pencil.ring(84.0, 23.0, 8.5);
    pencil.ring(84.0, 51.0, 8.5);
}

/// A clock, four hours of it filled.
fn four_hours(pencil: &mut Pencil) {
    pencil.ring(50.0, 50.0, 42.0);
    // From twelve to four: a third of the way round.
    pencil.fill("M50 50L50 17C61.8 17 72.7 23.3 78.6 33.5C84.5 43.7 84.5 56.3 78.6 66.5z");
    pencil.line("M50 50L50 18", 4.0);
    for (x, y) in [(50.0, 82.0), (18.0, 50.0)] {
        pencil.disc(x, y, 3.2);
    }
}

/// A candle on a thick slab.
fn heat_proof(pencil: &mut Pencil) {
    pencil.flame(50.0, 34.0, 0.68);
    pencil.stroke("M34 44L66 44L66 70L34 70z");
    pencil.fill("M6 74L94 74L94 86L6 86z");
    pencil.fill("M14 90L28 90L28 98L14 98zM72 90L86 90L86 98L72 98z");
}

/// A melt in the dish of a warmer.
fn warmer_only(pencil: &mut Pencil) {
    pencil.fill("M36 12L64 12L68 30L32 30z");
    pencil.stroke("M10 38L90 38C86 50 78 54 68 54L32 54C22 54 14 50 10 38z");
    pencil.stroke("M26 56L18 94L82 94L74 56");
    pencil.flame(50.0, 88.0, 0.55);
}

/// Fork and knife, struck out.
fn do_not_eat(pencil: &mut Pencil) {
    pencil.line("M22 8L22 30M33 8L33 30M44 8L44 30", 5.5);
    pencil.stroke("M22 30C22 40 28 44 33 44C38 44 44 40 44 30M33 44L33 94");
    pencil.fill("M66 6C80 10 84 30 82 52L70 54L70 92C70 96 62 96 62 92L62 8z");
    pencil.not();
}

/// A drop with heat over it.
fn hot_wax(pencil: &mut Pencil) {
    for x in [26.0, 50.0, 74.0] {
        let d = format!(
            "M{x} 40C{} 32 {} 24 {x} 16C{} 12 {} 9 {x} 5",
            x - 8.0,
            x + 8.0,
            x - 3.0,
            x - 2.0
        );
        pencil.stroke(&d);
    }
    pencil.fill("M6 62C20 52 34 66 50 60C66 54 80 64 94 58C96 76 84 80 78 80C72 80 74 92 68 92C62 92 64 80 56 80L20 80C12 80 6 74 6 62z");
}

/// The sun, struck out.
fn out_of_sun(pencil: &mut Pencil) {
    pencil.ring(50.0, 50.0, 19.0);
    for ray in 0..8 {
        let angle = f64::from(ray) * std::f64::consts::FRAC_PI_4;
        let (sin, cos) = (libm::sin(angle), libm::cos(angle));
        let d = format!(
            "M{:.2} {:.2}L{:.2} {:.2}",
            50.0 + 31.0 * cos,
            50.0 + 31.0 * sin,
            50.0 + 44.0 * cos,
            50.0 + 44.0 * sin
        );
        pencil.stroke(&d);
    }
    pencil.not();
}

/// A lump going into a bin, and a tap's drain struck out.
fn bin_not_drain(pencil: &mut Pencil) {
    pencil.stroke("M8 36L50 36L45 94L13 94z");
    pencil.fill("M20 6L38 6L40 20L18 20z");
    pencil.line("M29 50L29 80M20 71L29 80L38 71", 5.0);
    pencil.stroke("M60 52L96 52C96 66 90 72 84 74L72 74C66 72 60 66 60 52z");
    pencil.stroke("M78 76L78 94");
    pencil.line("M58 94L98 42", 6.0);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::paper::drawing::Item;

    #[test]
    fn every_symbol_keeps_to_its_box() {
        for care in Care::ALL {
            let drawn = drawing(care, 6.0, 5.0);
            assert!(!drawn.is_empty(), "{care:?}");
            let ink = drawn
                .items
                .iter()
                .filter_map(|item| match item {
                    Item::Shape { path, paint, .. } => {
                        let half = paint.pen.map_or(0.0, |pen| pen.width_mm / 2.0);
                        // The white behind a stroke is no ink.
                        let white = paint.pen.is_some_and(|pen| pen.colour == Colour::WHITE);
                        (!white).then(|| path.bounding_box().inflate(half, half))
                    }
                    _ => None,
                })
                .reduce(|all, one| all.union(one))
                .expect("drawn");
            assert!(
                ink.x0 >= -0.01 && ink.y0 >= -0.01 && ink.x1 <= 6.01 && ink.y1 <= 5.01,
                "{care:?}: {ink:?}"
            );
        }
    }

    #[test]
    fn a_box_that_is_none_gives_an_empty_drawing() {
        assert!(drawing(Care::FourHours, f64::NAN, 5.0).is_empty());
        assert!(drawing(Care::FourHours, 0.0, 5.0).is_empty());
    }
}
