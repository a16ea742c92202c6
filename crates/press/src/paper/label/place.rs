//! Placing: blocks of text and figures, stacked in a room that may be round.

use std::rc::Rc;

use ::label::wording::{Care, Language, Role};
use kurbo::Rect;

use super::line::{Line, Ruler, Type};
use crate::paper::{Align, Colour};

/// What a line as it is shaped may be longer than its words added up, mm.
pub(super) const HAIR: f64 = 0.06;

/// Where things may stand: a rectangle with round corners, or a part of a
/// circle. Sizes in mm on the label.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Room {
    pub(super) x0: f64,
    pub(super) y0: f64,
    pub(super) x1: f64,
    pub(super) y1: f64,
    pub(super) edge: Edge,
}

/// What cuts into the corners of a [`Room`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Edge {
    /// Nothing.
    Square,
    /// The safe area of a label with round corners: its box and their radius.
    Rounded { of: Rect, radius: f64 },
    /// A circle.
    Round { x: f64, y: f64, radius: f64 },
}

impl Room {
    pub(super) fn width(&self) -> f64 {
        self.x1 - self.x0
    }

    pub(super) fn height(&self) -> f64 {
        self.y1 - self.y0
    }

    pub(super) fn area(&self) -> f64 {
        let area = match self.edge {
            Edge::Round { radius, .. } => {
                (std::f64::consts::PI * radius * radius).min(self.width() * self.height())
            }
            Edge::Square | Edge::Rounded { .. } => self.width() * self.height(),
        };
        area.max(0.0)
    }

    pub(super) fn is_round(&self) -> bool {
        matches!(self.edge, Edge::Round { .. })
    }

    pub(super) fn inset(&self, left: f64, top: f64, right: f64, bottom: f64) -> Self {
        Self {
            x0: self.x0 + left,
            y0: self.y0 + top,
            x1: self.x1 - right,
            y1: self.y1 - bottom,
            edge: self.edge,
        }
    }

    /// From where to where something from `top` to `bottom` may reach; none
    /// where it does not lie within.
    pub(super) fn span(&self, top: f64, bottom: f64) -> Option<(f64, f64)> {
        if top < self.y0 - 1e-9 || bottom > self.y1 + 1e-9 || bottom < top {
            return None;
        }
        let (x0, x1) = match self.edge {
            Edge::Square => (self.x0, self.x1),
            Edge::Rounded { of, radius } => {
                let cut = |y: f64| {
                    let near = (y - of.y0).min(of.y1 - y).max(0.0);
                    let deep = (radius - near).max(0.0);
                    radius - (radius * radius - deep * deep).max(0.0).sqrt()
                };
                let most = cut(top).max(cut(bottom));
                (self.x0.max(of.x0 + most), self.x1.min(of.x1 - most))
            }
            Edge::Round { x, y, radius } => {
                let away = (top - y).abs().max((bottom - y).abs());
                if away >= radius {
                    return None;
                }
                let half = (radius * radius - away * away).sqrt();
                (self.x0.max(x - half), self.x1.min(x + half))
            }
        };
        (x1 > x0).then_some((x0, x1))
    }
}

/// Where the lines of a paragraph stand in their room.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stand {
    Left,
    Centre,
}

/// A paragraph at its size.
#[derive(Debug, Clone)]
pub(super) struct Para {
    pub(super) role: Role,
    pub(super) text: Rc<str>,
    pub(super) of: Type,
    pub(super) em: f64,
    pub(super) leading: f64,
    pub(super) stand: Stand,
    pub(super) language: Language,
    pub(super) colour: Colour,
    pub(super) ground: Colour,
    /// Whether lines are made of about equal length.
    pub(super) balanced: bool,
    pub(super) heading: bool,
    /// Most lines; a statement that belongs on one.
    pub(super) most_lines: usize,
    /// What it is in the checklist.
    pub(super) kind: TextKind,
    /// Kept free at both sides, mm.
    pub(super) inset: f64,
    /// Kept free above and below, mm: for what is drawn behind it.
    pub(super) pad: f64,
}

/// Which rule a text's size follows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum TextKind {
    Net,
    EMark,
    Hazard,
    Fire,
    Plain,
}

/// A drawing in its box.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Figure {
    /// A hazard pictogram: its code and the side of its frame.
    Pictogram(String, f64),
    /// A care symbol.
    Care(Care),
    /// A bar code: the digits and the width of a module.
    Bars(String, f64),
    /// A square code: what it holds, the width of a module and of its border.
    Square(String, f64),
}

/// Something to place, one below the other.
#[derive(Debug, Clone)]
pub(super) enum Block {
    Text(Para),
    /// A row of figures with a gap between them, broken where it is too long.
    Figures {
        role: Role,
        figures: Vec<(Figure, f64, f64)>,
        gap: f64,
        stand: Stand,
    },
    /// Figures to the left of a stack.
    Beside {
        role: Role,
        figures: Vec<(Figure, f64, f64)>,
        gap: f64,
        stack: Vec<Block>,
    },
    /// A key at the left, its value at the right, on one line if it fits.
    Pair {
        key: Para,
        value: Para,
    },
    /// Room.
    Gap(f64),
    /// A hairline across.
    Rule {
        width: f64,
        colour: Colour,
    },
    /// A lozenge between two short rules, so wide and high.
    Ornament {
        width: f64,
        height: f64,
    },
    /// Stays with what follows: no column ends here.
    Keep,
}

/// What was placed.
#[derive(Debug, Clone)]
pub(super) struct Placed {
    pub(super) role: Option<Role>,
    /// The box of its ink.
    pub(super) ink: Rect,
    pub(super) what: Thing,
}

#[derive(Debug, Clone)]
pub(super) enum Thing {
    Text {
        para: Para,
        lines: Vec<Line>,
        /// Where the lines begin, or their middle.
        x: f64,
        align: Align,
        /// Baseline of the first line.
        baseline: f64,
        /// No line is longer.
        width: f64,
    },
    Figure(Figure),
    Rule {
        width: f64,
        colour: Colour,
    },
    Ornament,
}

/// Sets a paragraph from `top` down; returns where its ink ends.
///
/// In a round room each line is as long as the room is at its height.
pub(super) fn paragraph(
    ruler: &Ruler<'_>,
    para: &Para,
    room: &Room,
    top: f64,
    cut: bool,
) -> Option<(Placed, f64)> {
    let Para {
        of,
        em,
        leading,
        stand,
        ..
    } = *para;
    // How far the ink of a line reaches is known only when its words are; the
    // most a word of this text reaches is a bound.
    let (rise, hang) = ruler.reach(of, em, &para.text)?;
    let (out_left, out_right) = ruler.out(of, em, &para.text);
    let (in_left, in_right) = (para.inset + out_left, para.inset + out_right + HAIR);
    let first = top + rise;
    let pitch = em * leading;
    let span = |nth: usize| -> Option<(f64, f64)> {
        let baseline = first + pitch * nth as f64;
        let (x0, x1) = room.span(baseline - rise, baseline + hang)?;
        (x1 - x0 > in_left + in_right).then_some((x0 + in_left, x1 - in_right))
    };
    let middle = match room.edge {
        Edge::Round { x, .. } => x,
        _ => f64::midpoint(room.x0, room.x1),
    };
    // Lines at the left begin where the narrowest of them may, the first or
    // the last.
    let mut left = room.x0 + in_left;
    let width = |nth: usize, left: f64| -> Option<f64> {
        let (x0, x1) = span(nth)?;
        match stand {
            Stand::Left => (x0 <= left + 1e-9).then_some(x1 - left),
            Stand::Centre => Some(2.0 * (middle - x0).min(x1 - middle)),
        }
        .filter(|mm| *mm > 0.0)
    };
    if stand == Stand::Left {
        left = left.max(span(0)?.0);
    }
    let mut lines = None;
    for _ in 0..4 {
        let found = if para.balanced {
            ruler.balanced(of, em, &para.text, cut, |nth| width(nth, left))
        } else {
            ruler.lines(of, em, &para.text, cut, |nth| width(nth, left))
        };
        match found {
            Some(found) => {
                lines = Some(found);
                break;
            }
            None if stand == Stand::Left => {
                // Further right, where a corner or a circle cuts in below.
                let further = (0..64)
                    .map_while(&span)
                    .map(|(x0, _)| x0)
                    .fold(left, f64::max);
                let step = left + (further - left).min(room.width() / 8.0);
                if step <= left + 1e-6 {
                    return None;
                }
                left = step;
            }
            None => return None,
        }
    }
    let lines = lines?;
    if lines.len() > para.most_lines && !(cut && lines.len() <= para.most_lines + 2) {
        return None;
    }
    let widest = lines.iter().map(|line| line.width).fold(0.0, f64::max);
    let last = first + pitch * (lines.len() - 1) as f64;
    let ink_top = lines.first().map_or(top, |line| first - line.top);
    let ink_bottom = lines.last().map_or(top, |line| last + line.bottom);
    let (x, align, ink) = match stand {
        Stand::Left => (
            left,
            Align::Start,
            Rect::new(left, ink_top, left + widest, ink_bottom),
        ),
        Stand::Centre => (
            middle,
            Align::Centre,
            Rect::new(
                middle - widest / 2.0,
                ink_top,
                middle + widest / 2.0,
                ink_bottom,
            ),
        ),
    };
    Some((
        Placed {
            role: Some(para.role),
            ink,
            what: Thing::Text {
                para: para.clone(),
                lines,
                x,
                align,
                baseline: first,
                width: widest,
            },
        },
        // Where the lowest letter could reach: lines of a size end alike.
        last + hang,
    ))
}

/// A stack that grows downwards.
struct Growing {
    placed: Vec<Placed>,
    y: f64,
    pending: f64,
}

impl Growing {
    fn new(top: f64) -> Self {
        Self {
            placed: Vec::new(),
            y: top,
            pending: 0.0,
        }
    }

    fn add(&mut self, ruler: &Ruler<'_>, block: &Block, room: &Room, cut: bool) -> Option<()> {
        match block {
            Block::Gap(mm) => self.pending = f64::max(self.pending, *mm),
            Block::Keep => {}
            Block::Rule { .. } | Block::Ornament { .. } if self.placed.is_empty() => {}
            other => {
                if !self.placed.is_empty() {
                    self.y += self.pending;
                }
                self.pending = 0.0;
                self.y = one(ruler, other, room, self.y, cut, &mut self.placed)?;
            }
        }
        Some(())
    }
}

/// Stacks blocks from `top` down; returns where they end. Room before the
/// first and after the last is dropped.
pub(super) fn stack(
    ruler: &Ruler<'_>,
    blocks: &[Block],
    room: &Room,
    top: f64,
    cut: bool,
) -> Option<(Vec<Placed>, f64)> {
    let mut growing = Growing::new(top);
    for block in blocks {
        growing.add(ruler, block, room, cut)?;
    }
    Some((growing.placed, growing.y))
}

fn one(
    ruler: &Ruler<'_>,
    block: &Block,
    room: &Room,
    y: f64,
    cut: bool,
    placed: &mut Vec<Placed>,
) -> Option<f64> {
    match block {
        Block::Gap(_) | Block::Keep => Some(y),
        Block::Rule { width, colour } => {
            let (x0, x1) = room.span(y, y + width)?;
            placed.push(Placed {
                role: None,
                ink: Rect::new(x0, y, x1, y + width),
                what: Thing::Rule {
                    width: *width,
                    colour: *colour,
                },
            });
            Some(y + width)
        }
        Block::Ornament { width, height } => {
            let (x0, x1) = room.span(y, y + height)?;
            let (middle, half) = (f64::midpoint(x0, x1), width.min(x1 - x0) / 2.0);
            placed.push(Placed {
                role: None,
                ink: Rect::new(middle - half, y, middle + half, y + height),
                what: Thing::Ornament,
            });
            Some(y + height)
        }
        Block::Text(para) => {
            let (one, end) = paragraph(ruler, para, room, y + para.pad, cut)?;
            let end = end + para.pad;
            if para.pad > 0.0 {
                room.span(y, end)?;
            }
            placed.push(one);
            Some(end)
        }
        Block::Pair { key, value } => {
            let key_wide = ruler.width(key.of, key.em, &key.text);
            let value_wide = ruler.width(value.of, value.em, &value.text);
            let height = key.em.max(value.em) * 1.3;
            let fits = room
                .span(y, y + height)
                .is_some_and(|(x0, x1)| key_wide + value_wide + key.em * 1.2 <= x1 - x0);
            if fits {
                let (left, left_end) = paragraph(ruler, key, room, y, cut)?;
                let mut side = *room;
                let (out_left, out_right) = ruler.out(value.of, value.em, &value.text);
                side.x0 =
                    room.span(y, y + height)?.1 - value_wide - out_left - out_right - 2.0 * HAIR;
                let mut value = value.clone();
                value.stand = Stand::Left;
                let (mut right, mut right_end) = paragraph(ruler, &value, &side, y, cut)?;
                // On one baseline.
                if let (Thing::Text { baseline: a, .. }, Thing::Text { baseline: b, .. }) =
                    (&left.what, &mut right.what)
                {
                    let down = a - *b;
                    *b += down;
                    right.ink = right.ink + kurbo::Vec2::new(0.0, down);
                    right_end += down;
                }
                placed.push(left);
                placed.push(right);
                return Some(left_end.max(right_end));
            }
            let mut joined = value.clone();
            joined.text = format!("{} {}", key.text, value.text).into();
            joined.stand = key.stand;
            let (one, end) = paragraph(ruler, &joined, room, y, cut)?;
            placed.push(one);
            Some(end)
        }
        Block::Figures {
            role,
            figures,
            gap,
            stand,
        } => figure_rows(*role, figures, *gap, *stand, room, y, placed),
        Block::Beside {
            role,
            figures,
            gap,
            stack: beside,
        } => {
            let widest = figures.iter().map(|(_, w, _)| *w).fold(0.0, f64::max);
            let (x0, x1) = room.span(y, y + 0.1)?;
            let side = Room {
                x0: x0 + widest + gap,
                x1,
                ..*room
            };
            // One under the other, if the text is wide enough to be worth it.
            let narrow = if widest > 10.0 { 27.0 } else { 14.0 };
            if room.is_round() || side.width() < narrow {
                let mut all = vec![
                    Block::Figures {
                        role: *role,
                        figures: figures.clone(),
                        gap: *gap,
                        stand: if room.is_round() {
                            Stand::Centre
                        } else {
                            Stand::Left
                        },
                    },
                    Block::Gap(*gap),
                ];
                all.extend(beside.iter().cloned());
                let (more, end) = stack(ruler, &all, room, y, cut)?;
                placed.extend(more);
                return Some(end);
            }
            let mut left = *room;
            left.x1 = x0 + widest + 1e-6;
            let mut end = y;
            for (nth, figure) in figures.iter().enumerate() {
                let from = if nth == 0 { y } else { end + gap };
                end = figure_rows(
                    *role,
                    std::slice::from_ref(figure),
                    *gap,
                    Stand::Left,
                    &left,
                    from,
                    placed,
                )?;
            }
            let (more, text_end) = stack(ruler, beside, &side, y, cut)?;
            placed.extend(more);
            Some(end.max(text_end))
        }
    }
}

fn figure_rows(
    role: Role,
    figures: &[(Figure, f64, f64)],
    gap: f64,
    stand: Stand,
    room: &Room,
    top: f64,
    placed: &mut Vec<Placed>,
) -> Option<f64> {
    let mut y = top;
    let mut rest = figures;
    while !rest.is_empty() {
        // As many as the room holds at this height.
        let mut taken = rest.len();
        let (x0, width, height) = loop {
            if taken == 0 {
                return None;
            }
            let row = &rest[..taken];
            let height = row.iter().map(|(_, _, h)| *h).fold(0.0, f64::max);
            let width = row.iter().map(|(_, w, _)| *w).sum::<f64>() + gap * (taken - 1) as f64;
            if let Some((x0, x1)) = room.span(y, y + height)
                && width <= x1 - x0 + 1e-6
            {
                let from = match stand {
                    Stand::Left => x0,
                    Stand::Centre => f64::midpoint(x0, x1) - width / 2.0,
                };
                break (from, width, height);
            }
            taken -= 1;
        };
        // Rows of about as many each, in a room that is as wide further down.
        let (taken, x0) = if taken < rest.len() && !room.is_round() && stand == Stand::Left {
            (rest.len().div_ceil(rest.len().div_ceil(taken)), x0)
        } else {
            (taken, x0)
        };
        let mut x = x0;
        for (figure, w, h) in &rest[..taken] {
            let down = (height - h) / 2.0;
            let role = match figure {
                Figure::Square(..) => Role::Qr,
                Figure::Bars(..) => Role::Barcode,
                Figure::Care(_) | Figure::Pictogram(..) => role,
            };
            placed.push(Placed {
                role: Some(role),
                ink: Rect::new(x, y + down, x + w, y + down + h),
                what: Thing::Figure(figure.clone()),
            });
            x += w + gap;
        }
        debug_assert!(
            x - gap - x0 <= width + 1e-6,
            "a row is as wide as its parts"
        );
        rest = &rest[taken..];
        y += height;
        if !rest.is_empty() {
            y += gap;
        }
    }
    Some(y)
}

/// Cuts a room into columns of equal width.
pub(super) fn columns(room: &Room, number: usize, gutter: f64) -> Vec<Room> {
    let number = number.max(1);
    let width = (room.width() - gutter * (number - 1) as f64) / number as f64;
    if width <= 0.0 {
        return Vec::new();
    }
    (0..number)
        .map(|nth| {
            let x0 = room.x0 + (width + gutter) * nth as f64;
            Room {
                x0,
                x1: x0 + width,
                ..*room
            }
        })
        .collect()
}

/// Flows blocks through rooms, one after the other; if `even`, makes what
/// stands in them about equally high. Returns what was placed and where the lowest ends.
pub(super) fn flow(
    ruler: &Ruler<'_>,
    blocks: &[Block],
    rooms: &[Room],
    cut: bool,
    even: bool,
) -> Option<(Vec<Placed>, f64)> {
    let whole = rooms.first()?.height();
    let mut best = fill(ruler, blocks, rooms, whole, cut)?;
    if even && rooms.len() > 1 {
        let (mut low, mut high) = (0.0, whole);
        for _ in 0..6 {
            let tried = f64::midpoint(low, high);
            if let Some(found) = fill(ruler, blocks, rooms, tried, cut) {
                best = found;
                high = tried;
            } else {
                low = tried;
            }
        }
    }
    Some(best)
}

fn fill(
    ruler: &Ruler<'_>,
    blocks: &[Block],
    rooms: &[Room],
    height: f64,
    cut: bool,
) -> Option<(Vec<Placed>, f64)> {
    let mut placed = Vec::new();
    let mut end = rooms.first()?.y0;
    let mut rest = blocks;
    for room in rooms {
        let column = Room {
            y1: room.y1.min(room.y0 + height),
            ..*room
        };
        let mut growing = Growing::new(column.y0);
        // The longest beginning that fits: how many blocks, how many things,
        // where it ends.
        let mut fits = (0, 0, column.y0);
        for (nth, block) in rest.iter().enumerate() {
            if growing.add(ruler, block, &column, cut).is_none() || growing.y > column.y1 + 1e-9 {
                break;
            }
            // A column ends neither before a Keep has what follows it, nor
            // behind a rule.
            let follows_kept = matches!(rest.get(nth + 1), Some(Block::Keep));
            if !follows_kept && !matches!(block, Block::Keep | Block::Rule { .. } | Block::Gap(_)) {
                fits = (nth + 1, growing.placed.len(), growing.y);
            }
        }
        let (taken, things, y) = fits;
        growing.placed.truncate(things);
        placed.extend(growing.placed);
        end = f64::max(end, y);
        rest = rest.get(taken..).unwrap_or_default();
        // A rule or room at the head of a column goes.
        while let [Block::Gap(_) | Block::Rule { .. } | Block::Keep, more @ ..] = rest {
            rest = more;
        }
        if rest.is_empty() {
            break;
        }
    }
    rest.is_empty().then_some((placed, end))
}

/// Stacks blocks in the middle of a room: between its top and its foot, a
/// share `at` of what is left above. In a circle the place is searched, since
/// every height has its own widths.
pub(super) fn stack_between(
    ruler: &Ruler<'_>,
    blocks: &[Block],
    room: &Room,
    at: f64,
    cut: bool,
) -> Option<(Vec<Placed>, f64)> {
    if !matches!(room.edge, Edge::Round { .. }) {
        let (placed, end) = stack(ruler, blocks, room, room.y0, cut)?;
        let spare = room.y1 - end;
        if spare < -1e-9 {
            return None;
        }
        // Round corners may cut in less further down, so it is set again.
        return match room.edge {
            Edge::Square => {
                let down = spare.max(0.0) * at;
                Some((moved(placed, down), end + down))
            }
            _ => stack(ruler, blocks, room, room.y0 + spare.max(0.0) * at, cut)
                .filter(|(_, end)| *end <= room.y1 + 1e-9)
                .or(Some((placed, end))),
        };
    }
    let steps = 40;
    let mut best: Option<(f64, Vec<Placed>, f64)> = None;
    for step in 0..steps {
        let top = room.y0 + room.height() * f64::from(step) / f64::from(steps);
        let Some((placed, end)) = stack(ruler, blocks, room, top, cut) else {
            continue;
        };
        if end > room.y1 + 1e-9 {
            continue;
        }
        let spare = room.height() - (end - top);
        let off = ((top - room.y0) - spare * at).abs();
        if best.as_ref().is_none_or(|(least, ..)| off < *least) {
            best = Some((off, placed, end));
        }
    }
    best.map(|(_, placed, end)| (placed, end))
}

pub(super) fn moved(placed: Vec<Placed>, down: f64) -> Vec<Placed> {
    placed
        .into_iter()
        .map(|mut one| {
            one.ink = one.ink + kurbo::Vec2::new(0.0, down);
            if let Thing::Text { baseline, .. } = &mut one.what {
                *baseline += down;
            }
            one
        })
        .collect()
}
