//! Laying a cover flat.

use std::f64::consts::{FRAC_PI_2, PI};

use super::{
    Allowance, Arc, Cover, Fold, FoldKind, GAPE_MM, INSET_MM, Panel, PanelName, Plan, Point, Slope,
    bounds,
};
use crate::unit::{Frustum, Shape, Solid};

/// Straight pieces a curve is drawn in.
const PIECES: u32 = 96;

pub(super) fn lay(solid: &Solid, cover: Cover, allowance: &Allowance) -> Plan {
    match *solid {
        Shape::Box { .. } | Shape::TaperedBar { .. } => {
            let bar = solid.frustum().unwrap_or(Frustum {
                front_length: 0.0,
                front_width: 0.0,
                back_length: 0.0,
                back_width: 0.0,
                height: 0.0,
            });
            lay_bar(&bar, cover, allowance)
        }
        Shape::Clamshell {
            width,
            height,
            depth,
            header,
        } => lay_clamshell(
            width,
            height,
            depth,
            header.unwrap_or(0.0),
            cover,
            allowance,
        ),
        Shape::Cylinder { diameter, height } => lay_round(diameter, height, cover, allowance, true),
        Shape::Jar { diameter, height } | Shape::Tin { diameter, height } => {
            lay_round(diameter, height, cover, allowance, false)
        }
        Shape::Tumbler {
            bottom_diameter,
            top_diameter,
            height,
        } if (bottom_diameter - top_diameter).abs() < 1e-6 => {
            lay_round(bottom_diameter, height, cover, allowance, false)
        }
        Shape::Tumbler {
            bottom_diameter,
            top_diameter,
            height,
        } => lay_tumbler(bottom_diameter, top_diameter, height, cover, allowance),
    }
}

/// A row of the sheet: from `from` to `to` round the unit, with half its
/// length along the unit at both ends.
struct Row {
    name: PanelName,
    from: f64,
    to: f64,
    half_from: f64,
    half_to: f64,
}

/// A rectangle of the whole sheet with nothing folded: a front label.
fn front_label(width: f64, height: f64) -> (f64, f64) {
    // On a small face a fixed inset would leave nothing.
    let inset = |side: f64| (side - 2.0 * INSET_MM).max(side * 0.5);
    (inset(width), inset(height))
}

fn rectangle(x: f64, y: f64, width: f64, height: f64) -> Vec<Point> {
    vec![
        (x, y),
        (x + width, y),
        (x + width, y + height),
        (x, y + height),
    ]
}

/// A label on the front alone, flat.
fn lay_front(width: f64, height: f64, round: f64, slope: Option<Slope>) -> Plan {
    let (label_width, label_height) = front_label(width, height);
    Plan {
        cover: Cover::Front,
        width_mm: label_width,
        height_mm: label_height,
        round_mm: round,
        end_fold_mm: 0.0,
        overlap_mm: 0.0,
        outline: rectangle(0.0, 0.0, label_width, label_height),
        arc: None,
        panels: vec![Panel {
            name: PanelName::Front,
            corners: rectangle(0.0, 0.0, label_width, label_height),
        }],
        folds: Vec::new(),
        front_label: (0.0, 0.0, label_width, label_height),
        slope,
    }
}

/// A rectangle with nothing on it yet.
fn blank(cover: Cover, width: f64, height: f64, round: f64, overlap: f64) -> Plan {
    Plan {
        cover,
        width_mm: width,
        height_mm: height,
        round_mm: round,
        end_fold_mm: 0.0,
        overlap_mm: overlap,
        outline: rectangle(0.0, 0.0, width, height),
        arc: None,
        panels: Vec::new(),
        folds: Vec::new(),
        front_label: (0.0, 0.0, 0.0, 0.0),
        slope: None,
    }
}

fn lay_bar(bar: &Frustum, cover: Cover, allowance: &Allowance) -> Plan {
    let slant = bar.side_slant();
    let round = bar.front_width + bar.back_width + 2.0 * slant;
    let lean_side = (bar.front_width - bar.back_width) / 2.0;
    let lean_end = (bar.front_length - bar.back_length) / 2.0;
    let leans = lean_side.abs().max(lean_end.abs()) > 1e-6;
    // Along the bar the section is the same everywhere as far as the back
    // reaches, so a band across it lies flat there.
    let band = allowance
        .band_mm
        .unwrap_or(bar.front_length / 2.0)
        .min(bar.front_length);
    let degrees = |lean: f64| libm::atan2(lean, bar.height).abs().to_degrees();
    let slope = leans.then(|| Slope {
        side_degrees: degrees(lean_side),
        end_degrees: degrees(lean_end),
        gape_mm: (4.0 * (lean_side + lean_end)).abs(),
        lies_flat: match cover {
            Cover::Full | Cover::Front => true,
            Cover::Band => band <= bar.front_length.min(bar.back_length) + 1e-9,
        },
    });
    if cover == Cover::Front {
        return lay_front(bar.front_length, bar.front_width, round, slope);
    }
    let end_fold = match cover {
        Cover::Full => allowance
            .end_fold_mm
            .unwrap_or(bar.end_slant() / 2.0 + allowance.tuck_mm),
        Cover::Band | Cover::Front => 0.0,
    };
    let longest = bar.front_length.max(bar.back_length);
    let along = match cover {
        Cover::Full => longest + 2.0 * end_fold,
        Cover::Band | Cover::Front => band,
    };
    let clip = |half: f64| half.min(along / 2.0);
    let front_half = clip(bar.front_length / 2.0);
    let back_half = clip(bar.back_length / 2.0);
    let mut at = 0.0;
    let mut row = |name, deep: f64, half_from, half_to| {
        let from = at;
        at += deep;
        Row {
            name,
            from,
            to: at,
            half_from,
            half_to,
        }
    };
    let rows = [
        row(PanelName::Back, bar.back_width / 2.0, back_half, back_half),
        row(PanelName::Side, slant, back_half, front_half),
        row(PanelName::Front, bar.front_width, front_half, front_half),
        row(PanelName::Side, slant, front_half, back_half),
        row(PanelName::Back, bar.back_width / 2.0, back_half, back_half),
    ];
    let mut plan = blank(
        cover,
        along,
        round + allowance.overlap_mm,
        round,
        allowance.overlap_mm,
    );
    plan.end_fold_mm = end_fold;
    plan.slope = slope;
    lay_rows(&mut plan, &rows, along);
    if end_fold > 0.0 {
        crease_ends(&mut plan, bar, &rows, along / 2.0);
    }
    let [_, _, front, ..] = &rows;
    let (label_width, label_height) = front_label(2.0 * front_half, bar.front_width);
    plan.front_label = (
        (along - label_width) / 2.0,
        f64::midpoint(front.from, front.to) - label_height / 2.0,
        label_width,
        label_height,
    );
    plan
}

/// Panels, flaps, overlap and the folds between them, x along and y round.
fn lay_rows(plan: &mut Plan, rows: &[Row], along: f64) {
    let middle = along / 2.0;
    let mut push = |name, corners: Vec<Point>| {
        if super::area(&corners) > 1e-9 {
            plan.panels.push(Panel { name, corners });
        }
    };
    for row in rows {
        let (left_from, left_to) = (middle - row.half_from, middle - row.half_to);
        let (right_from, right_to) = (middle + row.half_from, middle + row.half_to);
        push(
            row.name,
            vec![
                (left_from, row.from),
                (right_from, row.from),
                (right_to, row.to),
                (left_to, row.to),
            ],
        );
        push(
            PanelName::EndFlap,
            vec![
                (0.0, row.from),
                (left_from, row.from),
                (left_to, row.to),
                (0.0, row.to),
            ],
        );
        push(
            PanelName::EndFlap,
            vec![
                (right_from, row.from),
                (along, row.from),
                (along, row.to),
                (right_to, row.to),
            ],
        );
    }
    if plan.overlap_mm > 0.0 {
        push(
            PanelName::Overlap,
            rectangle(0.0, plan.round_mm, along, plan.overlap_mm),
        );
    }
    for row in rows {
        for side in [-1.0, 1.0] {
            let (from, to) = (middle + side * row.half_from, middle + side * row.half_to);
            // The edge of the sheet itself is cut, not folded.
            if row.half_from < middle - 1e-9 || row.half_to < middle - 1e-9 {
                plan.folds.push(Fold {
                    kind: FoldKind::Edge,
                    from: (from, row.from),
                    to: (to, row.to),
                });
            }
        }
    }
    let last = rows.len().saturating_sub(1);
    for row in rows.iter().take(last) {
        plan.folds.push(Fold {
            kind: FoldKind::Edge,
            from: (0.0, row.to),
            to: (along, row.to),
        });
    }
    if plan.overlap_mm > 0.0 {
        plan.folds.push(Fold {
            kind: FoldKind::Seam,
            from: (0.0, plan.round_mm),
            to: (along, plan.round_mm),
        });
    }
}

/// The slanting creases of an end folded like an envelope: the short flaps
/// are pushed in first, and the long ones come to lie over them.
///
/// Round a corner of the unit the paper has 360°. The front takes a right
/// angle, side and end take the angles of their own corners, and what is left
/// is folded in half; for a box that is 45°.
fn crease_ends(plan: &mut Plan, bar: &Frustum, rows: &[Row; 5], half_along: f64) {
    let lean_end = (bar.front_length - bar.back_length) / 2.0;
    let lean_side = (bar.front_width - bar.back_width) / 2.0;
    let corner = libm::hypot(libm::hypot(lean_end, lean_side), bar.height);
    let side_angle = libm::acos((lean_end / corner).clamp(-1.0, 1.0));
    let end_angle = libm::acos((lean_side / corner).clamp(-1.0, 1.0));
    let at_front = (3.0 * FRAC_PI_2 - side_angle - end_angle) / 2.0;
    let at_back = (side_angle + end_angle - FRAC_PI_2) / 2.0;
    let [back, _, front, _, other_back] = rows;
    // Corner, direction round, how far the row goes that way, angle.
    let corners = [
        (back.to, -1.0, back.to - back.from, at_back, back.half_to),
        (
            front.from,
            1.0,
            (front.to - front.from) / 2.0,
            at_front,
            front.half_from,
        ),
        (
            front.to,
            -1.0,
            (front.to - front.from) / 2.0,
            at_front,
            front.half_to,
        ),
        (
            other_back.from,
            1.0,
            other_back.to - other_back.from,
            at_back,
            other_back.half_from,
        ),
    ];
    for (y, down, room, angle, half) in corners {
        let (out, round) = (libm::sin(angle), libm::cos(angle));
        let flap = half_along - half;
        // As far as the edge of the sheet or the middle of the row.
        let mut reach = if out > 1e-9 { flap / out } else { 0.0 };
        if round.abs() > 1e-9 {
            reach = reach.min(room / round.abs());
        }
        if reach <= 1e-9 {
            continue;
        }
        for side in [-1.0, 1.0] {
            let x = half_along + side * half;
            plan.folds.push(Fold {
                kind: FoldKind::Crease,
                from: (x, y),
                to: (x + side * reach * out, y + down * reach * round),
            });
        }
    }
}

/// Turns a sheet on its side, so that x runs round and y along.
fn stand(mut plan: Plan) -> Plan {
    let swap = |point: &mut Point| *point = (point.1, point.0);
    std::mem::swap(&mut plan.width_mm, &mut plan.height_mm);
    plan.outline.iter_mut().for_each(swap);
    for panel in &mut plan.panels {
        panel.corners.iter_mut().for_each(swap);
    }
    for fold in &mut plan.folds {
        swap(&mut fold.from);
        swap(&mut fold.to);
    }
    let (x, y, width, height) = plan.front_label;
    plan.front_label = (y, x, height, width);
    plan
}

fn lay_clamshell(
    width: f64,
    height: f64,
    depth: f64,
    header: f64,
    cover: Cover,
    allowance: &Allowance,
) -> Plan {
    let round = 2.0 * (width + depth);
    if cover == Cover::Front {
        return lay_front(width, height + header, round, None);
    }
    // A sleeve: a strip round the shell, as high as it is or as the band.
    let high = match cover {
        Cover::Band => allowance.band_mm.unwrap_or(height / 2.0).min(height),
        Cover::Full | Cover::Front => height,
    };
    let ends = [width / 2.0, depth, width, depth, width / 2.0];
    let names = [
        PanelName::Back,
        PanelName::Side,
        PanelName::Front,
        PanelName::Side,
        PanelName::Back,
    ];
    sleeve(cover, high, &names, &ends, allowance.overlap_mm, 0.0)
}

fn lay_round(
    diameter: f64,
    height: f64,
    cover: Cover,
    allowance: &Allowance,
    has_ends: bool,
) -> Plan {
    let round = PI * diameter;
    if cover == Cover::Front {
        // A label that is read from one side: two fifths of the way round.
        return lay_front(0.4 * round, height, round, None);
    }
    let high = match cover {
        Cover::Band => allowance.band_mm.unwrap_or(height / 2.0).min(height),
        Cover::Full | Cover::Front => height,
    };
    let end_fold = if has_ends && cover == Cover::Full {
        allowance
            .end_fold_mm
            .unwrap_or(diameter / 2.0 + allowance.tuck_mm)
    } else {
        0.0
    };
    let names = [PanelName::Back, PanelName::Front, PanelName::Back];
    let parts = [0.3 * round, 0.4 * round, 0.3 * round];
    let mut plan = sleeve(cover, high, &names, &parts, allowance.overlap_mm, end_fold);
    // A round side has no edges to fold round, only its ends and the seam.
    plan.folds
        .retain(|fold| fold.kind != FoldKind::Edge || (fold.from.1 - fold.to.1).abs() < 1e-9);
    plan
}

/// A strip round something upright, of parts side by side.
fn sleeve(
    cover: Cover,
    high: f64,
    names: &[PanelName],
    parts: &[f64],
    overlap: f64,
    end_fold: f64,
) -> Plan {
    let round: f64 = parts.iter().sum();
    let along = high + 2.0 * end_fold;
    let mut at = 0.0;
    let rows: Vec<Row> = names
        .iter()
        .zip(parts)
        .map(|(name, part)| {
            let from = at;
            at += part;
            Row {
                name: *name,
                from,
                to: at,
                half_from: high / 2.0,
                half_to: high / 2.0,
            }
        })
        .collect();
    let mut plan = blank(cover, along, round + overlap, round, overlap);
    plan.end_fold_mm = end_fold;
    lay_rows(&mut plan, &rows, along);
    if let Some(front) = rows.iter().find(|row| row.name == PanelName::Front) {
        let (label_high, label_round) = front_label(high, front.to - front.from);
        plan.front_label = (
            (along - label_high) / 2.0,
            f64::midpoint(front.from, front.to) - label_round / 2.0,
            label_high,
            label_round,
        );
    }
    stand(plan)
}

/// A strip that lies flat on a tapered round side: a piece of a ring.
fn lay_tumbler(bottom: f64, top: f64, height: f64, cover: Cover, allowance: &Allowance) -> Plan {
    let (wide, narrow) = (bottom.max(top), bottom.min(top));
    let whole_slant = libm::hypot(height, (wide - narrow) / 2.0);
    // The ring is cut from a circle about the point where the sides would meet.
    let radians = PI * (wide - narrow) / whole_slant;
    let whole_outer = PI * wide / radians;
    let whole_inner = PI * narrow / radians;
    let strip = match cover {
        Cover::Band => allowance
            .band_mm
            .unwrap_or(whole_slant / 2.0)
            .min(whole_slant),
        Cover::Full | Cover::Front => whole_slant,
    };
    let middle = f64::midpoint(whole_outer, whole_inner);
    let (outer, inner) = (middle + strip / 2.0, middle - strip / 2.0);
    let gape = radians * strip;
    let slope = Slope {
        side_degrees: libm::atan2((wide - narrow) / 2.0, height).to_degrees(),
        end_degrees: 0.0,
        gape_mm: gape,
        lies_flat: gape <= GAPE_MM,
    };
    let round = radians * outer;
    if cover == Cover::Front {
        // Two fifths of the way round at the narrow edge, straight.
        return lay_front(0.4 * radians * inner, whole_slant, round, Some(slope));
    }
    let overlap_radians = allowance.overlap_mm / outer;
    let total = radians + overlap_radians;
    // The curve bulges upwards when the top is the wider end.
    let flip = if top >= bottom { -1.0 } else { 1.0 };
    let place = |radius: f64, angle: f64| -> Point {
        let from_middle = angle - total / 2.0;
        (
            radius * libm::sin(from_middle),
            flip * radius * libm::cos(from_middle),
        )
    };
    let ring = |from: f64, to: f64| -> Vec<Point> {
        let step = |piece: u32| from + (to - from) * f64::from(piece) / f64::from(PIECES);
        let out = (0..=PIECES).map(|piece| place(outer, step(piece)));
        let back = (0..=PIECES).rev().map(|piece| place(inner, step(piece)));
        out.chain(back).collect()
    };
    // Around the largest circle the ring may reach further than its corners.
    let half = total / 2.0;
    let reach_x = if half >= FRAC_PI_2 {
        outer
    } else {
        outer * libm::sin(half)
    };
    let near = if half >= FRAC_PI_2 {
        outer * libm::cos(half.min(PI))
    } else {
        inner * libm::cos(half)
    };
    let (top_y, bottom_y) = if flip < 0.0 {
        (-outer, -near)
    } else {
        (near, outer)
    };
    let shift = |corners: Vec<Point>| -> Vec<Point> {
        corners
            .into_iter()
            .map(|(x, y)| (x + reach_x, y - top_y))
            .collect()
    };
    let parts = [
        (PanelName::Back, 0.0, 0.3 * radians),
        (PanelName::Front, 0.3 * radians, 0.7 * radians),
        (PanelName::Back, 0.7 * radians, radians),
        (PanelName::Overlap, radians, total),
    ];
    let panels = parts
        .into_iter()
        .filter(|(_, from, to)| to > from)
        .map(|(name, from, to)| Panel {
            name,
            corners: shift(ring(from, to)),
        })
        .collect();
    let seam = shift(vec![place(inner, radians), place(outer, radians)]);
    let folds = match seam.as_slice() {
        [from, to] if allowance.overlap_mm > 0.0 => vec![Fold {
            kind: FoldKind::Seam,
            from: *from,
            to: *to,
        }],
        _ => Vec::new(),
    };
    let outline = shift(ring(0.0, total));
    // The largest upright box about the middle of the front.
    let (label_width, label_height) = (
        2.0 * inner * libm::sin((0.2 * radians).min(FRAC_PI_2)),
        outer - inner,
    );
    let sag = inner * (1.0 - libm::cos((0.2 * radians).min(FRAC_PI_2)));
    let (label_width, label_height) =
        front_label(label_width, (label_height - sag).max(label_height * 0.2));
    let front_middle = shift(vec![place(f64::midpoint(outer, inner), 0.5 * radians)]);
    let (x, y, ..) = bounds(&front_middle);
    Plan {
        cover,
        width_mm: 2.0 * reach_x,
        height_mm: bottom_y - top_y,
        round_mm: round,
        end_fold_mm: 0.0,
        overlap_mm: allowance.overlap_mm,
        outline,
        arc: Some(Arc {
            outer_mm: outer,
            inner_mm: inner,
            radians: total,
        }),
        panels,
        folds,
        front_label: (
            x - label_width / 2.0,
            y - label_height / 2.0,
            label_width,
            label_height,
        ),
        slope: Some(slope),
    }
}
