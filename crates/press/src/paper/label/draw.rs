//! Drawing what was placed, and measuring it.

use ::label::check::{self, Check, NetPlace};
use ::label::gtin::Gtin;
use ::label::symbol::{BarSize, Bars, Level, Square};
use ::label::wording::{Care, Role, Wording};
use kurbo::{BezPath, Circle, Point, Rect, Shape as _, Vec2};

use super::blocks;
use super::compose::{Candidate, Decor};
use super::line::{Of, Ruler};
use super::place::{Edge, Figure, Placed, Room, TextKind, Thing};
use super::{InkBox, Layout, Request, Shape};
use crate::Pictogram;
use crate::paper::{
    Align, Colour, Drawing, Fonts, Paint, Pen, Structure, Tag, care, code, rectangle,
};

/// The width of a frame's outer line, mm.
const HEAVY_MM: f64 = 0.34;
/// The width of a fine line, mm.
const FINE_MM: f64 = 0.12;

/// A label on paper, with what was measured of it.
pub(super) struct Drawn {
    pub(super) drawing: Drawing,
    pub(super) boxes: Vec<InkBox>,
    /// Nearest print to the cut edge, mm.
    edge_mm: f64,
}

fn gtin(digits: &str) -> Option<Bars> {
    // A number is drawn as it stands: twelve digits are UPC-A.
    let digits: String = digits.chars().filter(char::is_ascii_digit).collect();
    let kind = match digits.len() {
        8 => ::label::gtin::Kind::Gtin8,
        12 => ::label::gtin::Kind::Gtin12,
        13 => ::label::gtin::Kind::Gtin13,
        _ => return None,
    };
    let read = Gtin::parse(&digits, Some(kind)).ok()?;
    Bars::of(&read.gtin)
}

/// Width and height of a bar code with quiet zones and digits; none for digits
/// that make none.
pub(super) fn bars_size(digits: &str, module_mm: f64) -> Option<(f64, f64)> {
    let size = BarSize::at(gtin(digits)?.symbol(), module_mm);
    Some((size.width_mm, size.height_mm))
}

/// Draws a candidate.
pub(super) fn draw(fonts: &Fonts, request: &Request, layout: Layout, found: &Candidate) -> Drawn {
    let (width, height) = request.shape.size_mm();
    let mut drawing = Drawing::new(width, height);
    let mut boxes = Vec::new();
    let mut behind = Drawing::new(width, height);
    let mut edge_mm = f64::INFINITY;
    for decor in &found.decor {
        decorate(&mut behind, decor, found, layout, request, &mut boxes);
    }
    for placed in &found.placed {
        match &placed.what {
            Thing::Rule { width, colour } => {
                behind.rect(
                    placed.ink.x0,
                    placed.ink.y0,
                    placed.ink.width(),
                    *width,
                    0.0,
                    Paint::fill(*colour),
                );
                boxes.push(ink_box(None, placed.ink));
            }
            Thing::Ornament => {
                ornament(&mut behind, placed.ink, found.inks.accent);
                boxes.push(ink_box(None, placed.ink));
            }
            Thing::Text { .. } | Thing::Figure(_) => {}
        }
    }
    if !behind.is_empty() {
        edge_mm = request.safe_mm;
        drawing.group(0.0, 0.0, Structure::Furniture, behind);
    }
    for placed in &found.placed {
        match &placed.what {
            Thing::Text {
                para,
                lines,
                x,
                align,
                baseline,
                width,
            } => {
                let text = lines
                    .iter()
                    .map(|line| line.text.as_str())
                    .collect::<Vec<_>>()
                    .join("\n");
                let style = crate::paper::TextStyle {
                    align: *align,
                    colour: para.colour,
                    language: para.language.tag(),
                    ..para.of.style(para.em, para.leading)
                };
                // Room to spare, so that no line is broken anew.
                let spare = 0.5;
                let set = fonts.set(&text, &style, width + 2.0 * spare);
                let from = match align {
                    Align::Centre => x - width / 2.0 - spare,
                    _ => *x,
                };
                let top = baseline - set.first_baseline_mm();
                // A box a line: in a circle, the box of all is no measure.
                for line in set.lines() {
                    if let Some(ink) = set.ink_of(line) {
                        boxes.push(ink_box(placed.role, ink + Vec2::new(from, top)));
                    }
                }
                let tag = if para.heading {
                    Tag::Heading(1)
                } else {
                    Tag::Paragraph
                };
                drawing.text(from, top, set, tag);
            }
            Thing::Figure(figure) => {
                let (ink, alt, drawn) = figure_drawing(fonts, figure, placed);
                boxes.push(ink_box(placed.role, ink));
                if let Some(drawn) = drawn {
                    drawing.figure(ink.x0, ink.y0, &alt, drawn);
                }
            }
            Thing::Rule { .. } | Thing::Ornament => {}
        }
    }
    for one in &boxes {
        edge_mm = edge_mm.min(to_edge(request.shape, one));
    }
    Drawn {
        drawing,
        boxes,
        edge_mm,
    }
}

fn ink_box(role: Option<Role>, ink: Rect) -> InkBox {
    InkBox {
        role,
        ink,
        behind: false,
    }
}

fn figure_drawing(
    fonts: &Fonts,
    figure: &Figure,
    placed: &Placed,
) -> (Rect, String, Option<Drawing>) {
    let ink = placed.ink;
    match figure {
        Figure::Pictogram(code, side) => {
            let one = Pictogram::parse(code);
            let alt = one.map_or_else(String::new, |one| {
                format!("Hazard pictogram: {} ({})", one.name(), one.code())
            });
            (ink, alt, one.map(|one| one.drawing(*side)))
        }
        Figure::Care(care) => (
            ink,
            format!("Symbol: {}", care.meaning()),
            Some(care::drawing(*care, ink.width(), ink.height())),
        ),
        Figure::Bars(digits, module) => match gtin(digits) {
            Some(bars) => {
                let size = BarSize::at(bars.symbol(), *module);
                (
                    ink,
                    code::bars_in_words(&bars),
                    Some(code::bars(fonts, &bars, &size)),
                )
            }
            None => (ink, String::new(), None),
        },
        Figure::Square(text, module) => match Square::of(text, Level::M) {
            Ok(square) => (
                ink,
                format!("QR code: {text}"),
                Some(code::square(&square, &square.size_at(*module))),
            ),
            Err(_) => (ink, String::new(), None),
        },
    }
}

/// How far a box is from the cut edge.
fn to_edge(shape: Shape, one: &InkBox) -> f64 {
    let ink = one.ink;
    match shape {
        Shape::Round { diameter_mm } => {
            // The ribbon's ends follow the circle.
            if one.behind {
                return f64::INFINITY;
            }
            let middle = Point::new(diameter_mm / 2.0, diameter_mm / 2.0);
            let far = corners(ink)
                .into_iter()
                .map(|corner| corner.distance(middle))
                .fold(0.0, f64::max);
            diameter_mm / 2.0 - far
        }
        Shape::Rectangle {
            width_mm,
            height_mm,
            corner_mm,
        } => {
            let straight = from_sides(ink, width_mm, height_mm);
            let radius = corner_mm.clamp(0.0, width_mm.min(height_mm) / 2.0);
            corners(ink)
                .into_iter()
                .filter_map(|corner| {
                    let dx = (radius - corner.x).max(corner.x - (width_mm - radius));
                    let dy = (radius - corner.y).max(corner.y - (height_mm - radius));
                    (dx > 0.0 && dy > 0.0).then(|| radius - dx.hypot(dy))
                })
                .fold(straight, f64::min)
        }
        Shape::Band {
            width_mm,
            height_mm,
            ..
        } => from_sides(ink, width_mm, height_mm),
    }
}

fn from_sides(ink: Rect, width: f64, height: f64) -> f64 {
    ink.x0.min(ink.y0).min(width - ink.x1).min(height - ink.y1)
}

fn corners(ink: Rect) -> [Point; 4] {
    [
        Point::new(ink.x0, ink.y0),
        Point::new(ink.x1, ink.y0),
        Point::new(ink.x0, ink.y1),
        Point::new(ink.x1, ink.y1),
    ]
}

fn decorate(
    drawing: &mut Drawing,
    decor: &Decor,
    found: &Candidate,
    layout: Layout,
    request: &Request,
    boxes: &mut Vec<InkBox>,
) {
    let accent = found.inks.accent;
    match decor {
        Decor::Frame { room, double } => frame(drawing, room, *double, accent),
        Decor::Spine { x, y0, y1, double } => {
            let heavy = if *double { 0.5 } else { 0.3 };
            drawing.rect(*x, *y0, heavy, y1 - y0, 0.0, Paint::fill(accent));
            if *double {
                drawing.rect(x + 0.85, *y0, FINE_MM, y1 - y0, 0.0, Paint::fill(accent));
            }
        }
        Decor::Rails { x0, x1, y0, y1 } => {
            let bar = |drawing: &mut Drawing, y: f64, high: f64| {
                drawing.rect(*x0, y, x1 - x0, high, 0.0, Paint::fill(accent));
            };
            bar(drawing, *y0, 0.5);
            bar(drawing, y0 + 0.78, FINE_MM);
            bar(drawing, y1 - 0.5, 0.5);
            bar(drawing, y1 - 0.78 - FINE_MM, FINE_MM);
        }
        Decor::Divider { x, y0, y1 } => {
            drawing.rect(
                x - FINE_MM / 2.0,
                *y0,
                FINE_MM,
                y1 - y0,
                0.0,
                Paint::fill(found.inks.soft),
            );
        }
        Decor::Ribbon { room } => {
            debug_assert!(layout == Layout::Ribbon, "only a ribbon has one");
            ribbon(drawing, room, found, request, boxes);
        }
    }
}

/// The frame of a plate: corners cut in around its screws, or rounded where
/// the label is.
fn frame(drawing: &mut Drawing, room: &Room, double: bool, accent: Colour) {
    let least = room.width().min(room.height());
    let pad = (least * 0.034).clamp(0.8, 3.0);
    let outer = if double { HEAVY_MM } else { 0.2 };
    let between = pad * 0.55;
    let line = |drawing: &mut Drawing, path: BezPath, wide: f64, colour: Colour| {
        drawing.path(path, Paint::pen(Pen::new(wide).inked(colour)));
    };
    if let Edge::Round { x, y, radius } = room.edge {
        let ring = |radius: f64| Circle::new((x, y), radius).to_path(0.001);
        line(drawing, ring(radius - outer / 2.0), outer, accent);
        if double {
            line(
                drawing,
                ring(radius - outer - between),
                FINE_MM,
                Colour::BLACK,
            );
        }
        return;
    }
    let rect = |inset: f64| {
        Rect::new(
            room.x0 + inset,
            room.y0 + inset,
            room.x1 - inset,
            room.y1 - inset,
        )
    };
    let radius = match room.edge {
        Edge::Rounded { radius, .. } => radius,
        _ => 0.0,
    };
    let notch = pad * 1.15;
    if radius > notch * 0.6 {
        let round = |inset: f64| {
            let of = rect(inset);
            rectangle(
                of.x0,
                of.y0,
                of.width(),
                of.height(),
                (radius - inset).max(0.0),
            )
        };
        line(drawing, round(outer / 2.0), outer, accent);
        if double {
            line(drawing, round(outer + between), FINE_MM, Colour::BLACK);
        }
        return;
    }
    if !double {
        line(
            drawing,
            notched(rect(outer / 2.0), notch * 0.7),
            outer,
            accent,
        );
        return;
    }
    line(drawing, notched(rect(outer / 2.0), notch), outer, accent);
    // The inner line keeps its distance around the corners, too.
    line(
        drawing,
        notched(rect(outer + between), notch + between * 0.35),
        FINE_MM,
        Colour::BLACK,
    );
    if radius < 0.05 {
        let dot = (notch * 0.2).clamp(0.2, 0.5);
        let at = rect(dot * 1.15);
        for (x, y) in [
            (at.x0, at.y0),
            (at.x1, at.y0),
            (at.x0, at.y1),
            (at.x1, at.y1),
        ] {
            drawing.circle(x, y, dot, Paint::fill(accent));
        }
    }
}

/// A rectangle whose corners are cut in by a quarter circle.
fn notched(of: Rect, radius: f64) -> BezPath {
    // A quarter circle as a cubic: 0.5523 is 4/3 (√2 − 1).
    let k = 0.552_284_749_8 * radius;
    let r = radius;
    let Rect { x0, y0, x1, y1 } = of;
    let mut path = BezPath::new();
    path.move_to((x0 + r, y0));
    path.line_to((x1 - r, y0));
    path.curve_to((x1 - r, y0 + k), (x1 - k, y0 + r), (x1, y0 + r));
    path.line_to((x1, y1 - r));
    path.curve_to((x1 - k, y1 - r), (x1 - r, y1 - k), (x1 - r, y1));
    path.line_to((x0 + r, y1));
    path.curve_to((x0 + r, y1 - k), (x0 + k, y1 - r), (x0, y1 - r));
    path.line_to((x0, y0 + r));
    path.curve_to((x0 + k, y0 + r), (x0 + r, y0 + k), (x0 + r, y0));
    path.close_path();
    path
}

/// The ribbon behind the name: cut in at both ends, or as wide as the circle.
fn ribbon(
    drawing: &mut Drawing,
    room: &Room,
    found: &Candidate,
    request: &Request,
    boxes: &mut Vec<InkBox>,
) {
    let Some((ink, em)) = found.placed.iter().find_map(|placed| match &placed.what {
        Thing::Text { para, .. } if placed.role == Some(Role::Name) => Some((placed.ink, para.em)),
        _ => None,
    }) else {
        return;
    };
    let pad = em * blocks::RIBBON_PAD;
    let (top, bottom) = (ink.y0 - pad, ink.y1 + pad);
    let mut path = BezPath::new();
    let bar = if let Edge::Round { x, y, .. } = room.edge {
        let radius = match request.shape {
            Shape::Round { diameter_mm } => diameter_mm / 2.0 - request.safe_mm,
            _ => room.width() / 2.0,
        };
        let half = |at: f64| (radius * radius - (at - y) * (at - y)).max(0.0).sqrt();
        let steps = 24;
        let at = |step: i32| top + (bottom - top) * f64::from(step) / f64::from(steps);
        let mut widest = 0.0_f64;
        for step in 0..=steps {
            let point = (x + half(at(step)), at(step));
            widest = widest.max(half(at(step)));
            if step == 0 {
                path.move_to(point);
            } else {
                path.line_to(point);
            }
        }
        for step in (0..=steps).rev() {
            path.line_to((x - half(at(step)), at(step)));
        }
        Rect::new(x - widest, top, x + widest, bottom)
    } else {
        let (x0, x1) = room
            .span(top.max(room.y0), bottom.min(room.y1))
            .unwrap_or((room.x0, room.x1));
        let notch = (em * 0.4).min((bottom - top) * 0.35);
        let middle = f64::midpoint(top, bottom);
        path.move_to((x0, top));
        path.line_to((x1, top));
        path.line_to((x1 - notch, middle));
        path.line_to((x1, bottom));
        path.line_to((x0, bottom));
        path.line_to((x0 + notch, middle));
        Rect::new(x0, top, x1, bottom)
    };
    path.close_path();
    drawing.path(path, Paint::fill(found.inks.ribbon));
    boxes.push(InkBox {
        role: Some(Role::Name),
        ink: bar,
        behind: true,
    });
}

/// A lozenge between two short rules.
fn ornament(drawing: &mut Drawing, of: Rect, accent: Colour) {
    let middle = of.center();
    let half = of.height() / 2.0;
    let mut lozenge = BezPath::new();
    lozenge.move_to((middle.x - half, middle.y));
    lozenge.line_to((middle.x, of.y0));
    lozenge.line_to((middle.x + half, middle.y));
    lozenge.line_to((middle.x, of.y1));
    lozenge.close_path();
    drawing.path(lozenge, Paint::fill(accent));
    let gap = half * 1.9;
    for (x0, x1) in [(of.x0, middle.x - gap), (middle.x + gap, of.x1)] {
        if x1 > x0 {
            drawing.rect(
                x0,
                middle.y - FINE_MM / 2.0,
                x1 - x0,
                FINE_MM,
                0.0,
                Paint::fill(accent),
            );
        }
    }
}

/// The free space between two boxes.
fn between(one: Rect, other: Rect) -> f64 {
    let dx = (other.x0 - one.x1).max(one.x0 - other.x1).max(0.0);
    let dy = (other.y0 - one.y1).max(one.y0 - other.y1).max(0.0);
    dx.hypot(dy)
}

/// The checklist of a drawn label.
pub(super) fn checks(
    ruler: &Ruler<'_>,
    wording: &Wording,
    request: &Request,
    found: &Candidate,
    drawn: &Drawn,
) -> Vec<Check> {
    let mut checks = Vec::new();
    for due in &wording.due {
        let there = found
            .placed
            .iter()
            .any(|placed| placed.role == Some(due.role));
        checks.push(check::element(due.role.name(), &due.why, there));
    }
    undrawable(wording, found, &mut checks);
    net_checks(ruler, wording, found, drawn, &mut checks, request);
    hazard_checks(ruler, wording, found, drawn, &mut checks);
    caution_checks(ruler, wording, found, &mut checks);
    code_checks(found, &mut checks);
    for placed in &found.placed {
        if let Thing::Text { para, .. } = &placed.what
            && (para.colour != Colour::BLACK || para.ground != Colour::WHITE)
        {
            checks.push(check::contrast(
                para.role.name(),
                para.colour.rgb,
                para.ground.rgb,
            ));
        }
    }
    let smallest = found
        .placed
        .iter()
        .filter_map(|placed| match &placed.what {
            Thing::Text { para, .. }
                if !matches!(para.kind, TextKind::EMark | TextKind::Hazard) =>
            {
                Some((ruler.x_height(para.of) * para.em, para.role))
            }
            _ => None,
        })
        .min_by(|one, other| one.0.total_cmp(&other.0));
    if let Some((x_height, role)) = smallest {
        checks.push(check::legible(role.name(), x_height));
    }
    checks.push(check::safe_area(drawn.edge_mm, request.safe_mm));
    checks
}

/// What was asked for and cannot be drawn at all: it is missed, not left out
/// in silence.
fn undrawable(wording: &Wording, found: &Candidate, checks: &mut Vec<Check>) {
    let there = |role: Role| found.placed.iter().any(|placed| placed.role == Some(role));
    for (role, why) in [
        (
            Role::Barcode,
            "its digits make no EAN-13, UPC-A or EAN-8: see the check digit",
        ),
        (Role::Qr, "it holds more than any square does"),
    ] {
        if wording.has(role) && !there(role) {
            checks.push(check::element(role.name(), why, false));
        }
    }
    for code in wording.hazard.iter().flat_map(|hazard| &hazard.pictograms) {
        if Pictogram::parse(code).is_none() {
            checks.push(check::element(
                &format!("pictogram {code}"),
                "no pictogram of the GHS has this code",
                false,
            ));
        }
    }
}

fn net_checks(
    ruler: &Ruler<'_>,
    wording: &Wording,
    found: &Candidate,
    drawn: &Drawn,
    checks: &mut Vec<Check>,
    request: &Request,
) {
    let Some(net) = &wording.net_weight else {
        return;
    };
    let texts = |kind: TextKind| {
        found
            .placed
            .iter()
            .find_map(move |placed| match &placed.what {
                Thing::Text { para, .. } if para.kind == kind => Some((para, placed.ink)),
                _ => None,
            })
    };
    let Some((para, ink)) = texts(TextKind::Net) else {
        return;
    };
    for rule in &net.heights {
        if blocks::asks(net, rule.reach) {
            let high = blocks::reach_height(ruler, para.of.face, rule.reach) * para.em;
            checks.push(check::net_height(rule, high));
        }
    }
    if let (Some(least), Some((mark, _))) = (net.e_mark_mm, texts(TextKind::EMark)) {
        let high = ruler.outline(mark.of.face, Of::Mark) * mark.em;
        checks.extend(check::e_mark(high, least));
    }
    if let Some(rule) = &net.placement {
        let letter_mm = ruler.outline(para.of.face, Of::Capital) * para.em;
        let n_width_mm = ruler.outline(para.of.face, Of::WideN) * para.em;
        let (mut above_below, mut sides) = (f64::INFINITY, f64::INFINITY);
        for other in &drawn.boxes {
            if other.role.is_none() || other.role == Some(Role::NetWeight) {
                continue;
            }
            let over = other.ink.x0 < ink.x1 && ink.x0 < other.ink.x1;
            let level = other.ink.y0 < ink.y1 && ink.y0 < other.ink.y1;
            if over {
                above_below = above_below.min(between(ink, other.ink));
            } else if level {
                sides = sides.min(between(ink, other.ink));
            }
        }
        let panel_height_mm = request.shape.size_mm().1;
        checks.extend(check::net_place(
            rule,
            &NetPlace {
                panel_height_mm,
                top_mm: ink.y0,
                clear_above_below_mm: above_below,
                clear_sides_mm: sides,
                letter_mm,
                n_width_mm,
            },
        ));
    }
}

fn hazard_checks(
    ruler: &Ruler<'_>,
    wording: &Wording,
    found: &Candidate,
    drawn: &Drawn,
    checks: &mut Vec<Check>,
) {
    let Some(hazard) = &wording.hazard else {
        return;
    };
    let mut lowest: Option<(f64, f64, Colour, Colour, bool)> = None;
    let mut side = f64::INFINITY;
    let mut apart = f64::INFINITY;
    for placed in &found.placed {
        match &placed.what {
            Thing::Text { para, .. } if para.kind == TextKind::Hazard => {
                let high = ruler.fonts.x_height(para.of.face, para.em);
                let serifs = !matches!(
                    para.of.face,
                    crate::paper::Face::Sans | crate::paper::Face::SansBold
                );
                if lowest.is_none_or(|(least, ..)| high < least) {
                    lowest = Some((high, para.leading, para.colour, para.ground, serifs));
                }
            }
            Thing::Figure(Figure::Pictogram(_, mm)) => {
                side = side.min(*mm);
                for other in &drawn.boxes {
                    if other.ink != placed.ink {
                        apart = apart.min(between(placed.ink, other.ink));
                    }
                }
            }
            _ => {}
        }
    }
    if let Some((high, leading, text, ground, serifs)) = lowest {
        checks.push(check::hazard_height(&hazard.sizes, high));
        checks.push(check::hazard_lines(&hazard.sizes, leading));
        checks.push(check::hazard_colours(
            &hazard.sizes,
            text.rgb,
            ground.rgb,
            serifs,
        ));
    }
    if side.is_finite() {
        checks.extend(check::pictogram(&hazard.sizes, side));
        checks.push(check::pictograms_apart(apart));
    }
}

fn caution_checks(
    ruler: &Ruler<'_>,
    wording: &Wording,
    found: &Candidate,
    checks: &mut Vec<Check>,
) {
    let placed = |role: Role| {
        found
            .placed
            .iter()
            .filter(move |placed| placed.role == Some(role))
    };
    let Some(first) = wording.cautions.first() else {
        return;
    };
    if placed(Role::Cautions).next().is_none() {
        return;
    }
    let lowest = placed(Role::Cautions)
        .filter_map(|placed| match &placed.what {
            Thing::Text { para, .. } => Some(ruler.fonts.x_height(para.of.face, para.em)),
            _ => None,
        })
        .fold(f64::INFINITY, f64::min);
    if let Some(taken) = first.least_x_height_hundredths {
        checks.push(check::fire_text_height(lowest, f64::from(taken) / 100.0));
    }
    let sign = placed(Role::Cautions)
        .filter_map(|placed| match &placed.what {
            Thing::Figure(Figure::Care(Care::Warning)) => Some(placed.ink.height()),
            _ => None,
        })
        .fold(f64::INFINITY, f64::min);
    if let Some(least) = first.least_sign_mm
        && sign.is_finite()
    {
        checks.push(check::sign_height(sign, f64::from(least)));
    }
    for note in &first.to_check {
        checks.push(check::fire_words(note));
    }
    if let Some(missing) = first.missing {
        checks.push(check::element(missing, "EN 15494:2019, second hand", false));
    }
}

fn code_checks(found: &Candidate, checks: &mut Vec<Check>) {
    for placed in &found.placed {
        match &placed.what {
            Thing::Figure(Figure::Bars(digits, module)) => {
                let Some(bars) = gtin(digits) else {
                    continue;
                };
                let size = BarSize::at(bars.symbol(), *module);
                let (left, right) = bars.symbol().quiet_modules();
                checks.extend(check::barcode(&check::Bars {
                    x_mm: size.x_mm,
                    height_mm: size.bar_height_mm,
                    quiet_left_mm: size.quiet_left_mm,
                    quiet_right_mm: size.quiet_right_mm,
                    quiet_modules: (f64::from(left), f64::from(right)),
                    nominal_height_mm: bars.symbol().bar_height_mm(),
                }));
            }
            Thing::Figure(Figure::Square(_, module)) => {
                checks.extend(check::qr(*module, 4.0 * module));
            }
            _ => {}
        }
    }
}
