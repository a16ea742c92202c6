//! Finding an arrangement: which sizes, how many columns, what beside what.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use ::label::wording::{Role, Wording};
use kurbo::Rect;

use super::blocks::{self, Front, Inks, Net, Size};
use super::line::Ruler;
use super::place::{
    Block, Edge, HAIR, Para, Placed, Room, Stand, Thing, columns, flow, paragraph, stack,
    stack_between,
};
use super::{Layout, Request, Shape};
use crate::paper::{Align, Colour};

/// Steps from the least size to the one wanted.
const STEPS: u32 = 8;
/// The narrowest column of small print, mm.
const NARROWEST_MM: f64 = 15.0;

/// To the left and the right of something that stands alone.
const NOTHING_BESIDE: (f64, f64) = (f64::INFINITY, f64::INFINITY);

/// An arrangement that holds everything.
#[derive(Debug, Clone)]
pub(super) struct Candidate {
    pub(super) placed: Vec<Placed>,
    pub(super) decor: Vec<Decor>,
    pub(super) arrangement: String,
    pub(super) inks: Inks,
    score: f64,
}

/// A front that is set, with room beside it.
struct Fronted {
    size: f64,
    placed: Vec<Placed>,
    room: Room,
    decor: Vec<Decor>,
    /// How far down the small print may reach.
    foot: f64,
    penalty: f64,
}

/// What is drawn around and behind the text.
#[derive(Debug, Clone)]
pub(super) enum Decor {
    /// The double frame of a plate, or a single one.
    Frame { room: Room, double: bool },
    /// The margin of a page.
    Spine {
        x: f64,
        y0: f64,
        y1: f64,
        double: bool,
    },
    /// A thick and a thin line above and below.
    Rails { x0: f64, x1: f64, y0: f64, y1: f64 },
    /// A hairline between two parts.
    Divider { x: f64, y0: f64, y1: f64 },
    /// The ribbon behind the name, so far to both sides.
    Ribbon { room: Room },
}

/// The part of a label nothing may leave.
pub(super) fn safe_room(request: &Request) -> Room {
    let (width, height) = request.shape.size_mm();
    let safe = request.safe_mm;
    let of = Rect::new(safe, safe, width - safe, height - safe);
    let edge = match request.shape {
        Shape::Round { diameter_mm } => Edge::Round {
            x: diameter_mm / 2.0,
            y: diameter_mm / 2.0,
            radius: diameter_mm / 2.0 - safe,
        },
        Shape::Rectangle { corner_mm, .. } => {
            let most = of.width().min(of.height()) / 2.0;
            let radius = (corner_mm - safe).clamp(0.0, most.max(0.0));
            if radius > 0.0 {
                Edge::Rounded { of, radius }
            } else {
                Edge::Square
            }
        }
        Shape::Band { .. } => Edge::Square,
    };
    Room {
        x0: of.x0,
        y0: of.y0,
        x1: of.x1,
        y1: of.y1,
        edge,
    }
}

pub(super) fn inks(request: &Request) -> Inks {
    let accent = request.accent.unwrap_or(Colour::BLACK);
    let ratio = ::label::check::contrast_ratio(accent.rgb, Colour::WHITE.rgb);
    Inks {
        accent,
        ribbon: if ratio >= 4.5 { accent } else { Colour::BLACK },
        soft: Colour::grey(0x8c),
    }
}

/// The height of small letters wanted in the small print of a label so large.
fn ideal_x(request: &Request) -> f64 {
    let side = request.shape.area_mm2().max(1.0).sqrt();
    (0.95 + (side - 40.0) * 0.0065).clamp(0.95, 1.7)
}

/// What a ledger's page leaves free at its head and foot.
fn head(zone: &Room, slim: bool) -> f64 {
    if slim {
        0.0
    } else {
        (zone.height() * 0.025).clamp(0.3, 2.5)
    }
}

/// A room without round corners, so that everything in it begins on one line.
fn squared(room: &Room) -> Room {
    let Edge::Rounded { of, radius } = room.edge else {
        return *room;
    };
    let deepest = [
        (room.x0 - of.x0, room.y0 - of.y0),
        (of.x1 - room.x1, room.y0 - of.y0),
        (room.x0 - of.x0, of.y1 - room.y1),
        (of.x1 - room.x1, of.y1 - room.y1),
    ]
    .into_iter()
    .map(|(dx, dy)| {
        let (a, b) = (radius - dx.max(0.0), radius - dy.max(0.0));
        let over = a * a + b * b - radius * radius;
        if a <= 0.0 || b <= 0.0 || over <= 0.0 {
            return 0.0;
        }
        // So far in along both sides that the corner lies on the arc.
        let root = ((a + b) * (a + b) - 2.0 * over).max(0.0).sqrt();
        (a + b - root) / 2.0
    })
    .fold(0.0, f64::max);
    Room {
        edge: Edge::Square,
        ..room.inset(deepest, deepest, deepest, deepest)
    }
}

/// Puts a layout's frame, margin or lines around a zone; returns what is left
/// inside.
fn dress(layout: Layout, zone: &Room, slim: bool, front: bool) -> (Room, Vec<Decor>) {
    let least = zone.width().min(zone.height());
    match layout {
        Layout::Plate => {
            let pad = (least * 0.034).clamp(0.8, 3.0);
            let double = !slim && front;
            let inset = if double {
                pad * 2.1
            } else {
                (pad * 1.1).min(2.4)
            };
            let edge = match zone.edge {
                Edge::Round { x, y, radius } => Edge::Round {
                    x,
                    y,
                    radius: radius - inset,
                },
                Edge::Rounded { of, radius } => Edge::Rounded {
                    of: of.inset(-inset),
                    radius: (radius - inset).max(0.0),
                },
                Edge::Square => Edge::Square,
            };
            let mut room = zone.inset(inset, inset, inset, inset);
            room.edge = edge;
            (
                squared(&room),
                vec![Decor::Frame {
                    room: *zone,
                    double,
                }],
            )
        }
        Layout::Ledger => {
            if let Edge::Round { x, y, radius } = zone.edge {
                // The margin is a chord.
                let share = if slim { 0.86 } else { 0.74 };
                let margin = x - radius * share;
                let reach = radius * (1.0_f64 - share * share).sqrt();
                let gap = if slim { 0.9 } else { 1.1 + radius * 0.03 };
                let inner = x - radius * share + gap;
                let high = (radius * radius - (x - inner) * (x - inner))
                    .max(0.0)
                    .sqrt();
                let room = Room {
                    x0: inner,
                    y0: y - high,
                    x1: zone.x1,
                    y1: y + high,
                    edge: zone.edge,
                };
                return (
                    room,
                    vec![Decor::Spine {
                        x: margin,
                        y0: y - reach + 0.2,
                        y1: y + reach - 0.2,
                        double: !slim,
                    }],
                );
            }
            let margin = if slim {
                1.0
            } else {
                1.1 + (zone.width() * 0.035).clamp(0.8, 3.5)
            };
            let cut = match zone.edge {
                Edge::Rounded { radius, .. } => radius,
                _ => 0.0,
            };
            let head = head(zone, slim);
            (
                squared(&zone.inset(margin, head, 0.0, head)),
                vec![Decor::Spine {
                    x: zone.x0,
                    y0: zone.y0 + cut,
                    y1: zone.y1 - cut,
                    double: !slim,
                }],
            )
        }
        Layout::Ribbon => {
            if slim || zone.is_round() {
                return (squared(zone), Vec::new());
            }
            let pad = 0.9 + (least * 0.04).clamp(0.6, 3.0);
            let cut = match zone.edge {
                Edge::Rounded { radius, .. } => radius,
                _ => 0.0,
            };
            (
                squared(&zone.inset(0.0, pad, 0.0, pad)),
                vec![Decor::Rails {
                    x0: zone.x0 + cut,
                    x1: zone.x1 - cut,
                    y0: zone.y0,
                    y1: zone.y1,
                }],
            )
        }
    }
}

/// The net weight at the foot of a room.
struct NetPlaced {
    placed: Vec<Placed>,
    top: f64,
    /// Nothing else may stand below this.
    limit: f64,
    penalty: f64,
}

/// `free` is what is free anyhow to the left and the right of the room.
fn place_net(
    ruler: &Ruler<'_>,
    net: &Net,
    room: &Room,
    label_height: f64,
    free: (f64, f64),
    several: bool,
) -> Option<NetPlaced> {
    let room = &room.inset(
        (net.clear_sides - free.0).max(0.0),
        0.0,
        (net.clear_sides - free.1).max(0.0),
        0.0,
    );
    let para = &net.para;
    let out = ruler.out(para.of, para.em, &para.text);
    let room = &room.inset(out.0, 0.0, out.1, 0.0);
    let (mut rise, mut hang) = ruler.reach(para.of, para.em, &para.text)?;
    let mut width = ruler.width(para.of, para.em, &para.text);
    let gap = para.em * 0.5;
    let words = width;
    if let Some(mark) = &net.e_mark {
        let (up, down) = ruler.reach(mark.of, mark.em, &mark.text)?;
        rise = rise.max(up);
        hang = hang.max(down);
        width += gap + ruler.width(mark.of, mark.em, &mark.text);
    }
    let legal = |top: f64| {
        net.lowest_share
            .is_none_or(|share| top >= label_height * (1.0 - share) - 1e-9)
    };
    let mut bottom = room.y1;
    while bottom - rise - hang > room.y0 && legal(bottom - rise - hang) {
        let top = bottom - rise - hang;
        if let Some((x0, x1)) = room.span(top, bottom)
            && (para.stand == Stand::Centre || x0 <= room.x0 + 1e-6)
            && width + HAIR <= x1 - x0
        {
            let from = match para.stand {
                Stand::Left => room.x0,
                Stand::Centre => f64::midpoint(x0, x1) - width / 2.0,
            };
            let baseline = bottom - hang;
            let mut placed = vec![one_line(ruler, para, from, baseline, words)?];
            if let Some(mark) = &net.e_mark {
                let wide = ruler.width(mark.of, mark.em, &mark.text);
                placed.push(one_line(ruler, mark, from + words + gap, baseline, wide)?);
            }
            return Some(NetPlaced {
                placed,
                top,
                limit: top - net.clear_above,
                penalty: 0.0,
            });
        }
        if !room.is_round() && matches!(room.edge, Edge::Square) {
            break;
        }
        bottom -= 0.2;
    }
    if net.e_mark.is_some() || !several {
        return None;
    }
    // On several lines, whole words only.
    let several = Para {
        most_lines: 3,
        ..para.clone()
    };
    let mut bottom = room.y1;
    while bottom > room.y0 {
        let mut high = *room;
        high.y1 = bottom;
        let top = (1..=30).find_map(|step| {
            let top = bottom - para.em * 0.2 * f64::from(step) - para.em * 1.2;
            (top > room.y0)
                .then(|| paragraph(ruler, &several, &high, top, false))
                .flatten()
                .filter(|(_, end)| *end <= bottom + 1e-9)
        });
        if let Some((one, _)) = top {
            let lines = match &one.what {
                Thing::Text { lines, .. } => lines.len(),
                _ => 1,
            };
            let top = one.ink.y0;
            if !legal(top) {
                return None;
            }
            return Some(NetPlaced {
                placed: vec![one],
                top,
                limit: top - net.clear_above,
                penalty: 0.45 * (lines.saturating_sub(1)) as f64,
            });
        }
        if matches!(room.edge, Edge::Square) {
            return None;
        }
        bottom -= 0.4;
    }
    None
}

fn one_line(ruler: &Ruler<'_>, para: &Para, x: f64, baseline: f64, width: f64) -> Option<Placed> {
    let lines = ruler.lines(para.of, para.em, &para.text, false, |_| Some(1e6))?;
    let line = lines.first()?;
    Some(Placed {
        role: Some(para.role),
        ink: Rect::new(x, baseline - line.top, x + width, baseline + line.bottom),
        what: Thing::Text {
            para: para.clone(),
            x,
            align: Align::Start,
            baseline,
            width,
            lines,
        },
    })
}

/// What stands above the net weight, on one line of thought: the maker at the
/// head, the name below.
struct Upper {
    placed: Vec<Placed>,
    end: f64,
}

/// Maker and name as one stack, with room between.
fn upper_blocks(front: &Front, layout: Layout, inks: Inks, gap: f64) -> Vec<Block> {
    let mut all = front.maker.clone();
    if !all.is_empty() && !front.name.is_empty() {
        match layout {
            Layout::Ledger => {
                all.push(Block::Gap(gap * 0.5));
                all.push(Block::Rule {
                    width: 0.12,
                    colour: inks.soft,
                });
                all.push(Block::Gap(gap * 0.9));
            }
            Layout::Plate | Layout::Ribbon => all.push(Block::Gap(gap)),
        }
    }
    all.extend(front.name.iter().cloned());
    all
}

fn place_upper(
    ruler: &Ruler<'_>,
    front: &Front,
    room: &Room,
    layout: Layout,
    inks: Inks,
    cut: bool,
    spread: bool,
) -> Option<Upper> {
    let em = name_em(front);
    let gap = (em * 0.45).clamp(0.9, 6.0);
    let all = upper_blocks(front, layout, inks, gap);
    if all.is_empty() {
        return Some(Upper {
            placed: Vec::new(),
            end: room.y0,
        });
    }
    if room.is_round() {
        let at = match layout {
            Layout::Ledger => 0.42,
            Layout::Plate | Layout::Ribbon => 0.5,
        };
        let (placed, end) = stack_between(ruler, &all, room, at, cut)?;
        return Some(Upper { placed, end });
    }
    if layout == Layout::Ledger || !spread || front.maker.is_empty() {
        let (placed, end) = if spread && layout != Layout::Ledger {
            stack_between(ruler, &all, room, 0.46, cut)?
        } else {
            stack(ruler, &all, room, room.y0, cut)?
        };
        return (end <= room.y1 + 1e-9).then_some(Upper { placed, end });
    }
    let (mut placed, end) = stack(ruler, &front.maker, room, room.y0, cut)?;
    let mut below = *room;
    below.y0 = end + gap * 0.7;
    let (more, end) = stack_between(ruler, &front.name, &below, 0.46, cut)?;
    if end > room.y1 + 1e-9 {
        return None;
    }
    placed.extend(more);
    Some(Upper { placed, end })
}

fn name_em(front: &Front) -> f64 {
    front
        .name
        .iter()
        .chain(&front.maker)
        .filter_map(|block| match block {
            Block::Text(para) if para.role == Role::Name => Some(para.em),
            _ => None,
        })
        .fold(2.4, f64::max)
}

/// Ruled lines where a ledger's page is left free.
fn ruled(room: &Room, from: f64, to: f64, inks: Inks) -> Vec<Placed> {
    let pitch = (room.height() * 0.06).clamp(1.9, 5.5);
    let number = ((to - from) / pitch).floor();
    if number < 2.0 {
        return Vec::new();
    }
    let first = from + (to - from - pitch * (number - 1.0)) * 0.6;
    (0..24)
        .map(|nth| first + pitch * f64::from(nth))
        .take_while(|y| *y + 0.1 <= to)
        .filter_map(|y| {
            let (x0, x1) = room.span(y, y + 0.1)?;
            Some(Placed {
                role: None,
                ink: Rect::new(x0, y, x1, y + 0.1),
                what: Thing::Rule {
                    width: 0.1,
                    colour: inks.soft,
                },
            })
        })
        .collect()
}

/// How hard to look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Look {
    /// Whether it fits at the least sizes at all.
    Whether,
    /// The arrangement with the largest type.
    Best,
}

struct Finder<'r, 'f> {
    ruler: &'r Ruler<'f>,
    wording: &'r Wording,
    request: &'r Request,
    layout: Layout,
    cut: bool,
    inks: Inks,
    ideal_x: f64,
    height: f64,
    look: Look,
    /// The small print at every size, built once.
    prints: RefCell<BTreeMap<u32, Rc<Vec<Block>>>>,
    best: Option<Candidate>,
}

/// Finds an arrangement of a layout.
pub(super) fn compose(
    ruler: &Ruler<'_>,
    wording: &Wording,
    request: &Request,
    layout: Layout,
    cut: bool,
    look: Look,
) -> Option<Candidate> {
    let mut finder = Finder {
        ruler,
        wording,
        request,
        layout,
        cut,
        inks: inks(request),
        ideal_x: ideal_x(request),
        height: request.shape.size_mm().1,
        look,
        prints: RefCell::default(),
        best: None,
    };
    // The slim dress holds whatever the full one does.
    if look == Look::Best {
        finder.all(false);
    }
    finder.all(true);
    finder.best
}

fn share(step: u32) -> f64 {
    f64::from(step) / f64::from(STEPS)
}

impl Finder<'_, '_> {
    fn offer(&mut self, candidate: Candidate) {
        // A later one has to be better, not as good.
        if self
            .best
            .as_ref()
            .is_none_or(|best| candidate.score > best.score + 1e-9)
        {
            self.best = Some(candidate);
        }
    }

    /// Whether a score could still be the best.
    fn worth(&self, score: f64) -> bool {
        self.best
            .as_ref()
            .is_none_or(|best| score > best.score + 1e-9)
    }

    fn all(&mut self, slim: bool) {
        let safe = safe_room(self.request);
        let has_front = [Role::Maker, Role::Name, Role::Identity, Role::NetWeight]
            .iter()
            .any(|role| self.wording.has(*role));
        let has_print = Role::ALL
            .iter()
            .any(|role| !role.is_front() && self.wording.has(*role));
        let penalty = if slim { 0.18 } else { 0.0 };
        match (has_front, has_print) {
            (true, false) => self.front_alone(&safe, slim, penalty),
            (false, _) => self.print_alone(&safe, slim, penalty),
            (true, true) if safe.is_round() => self.under(&safe, slim, penalty),
            (true, true) => {
                if let Shape::Band { front_mm, .. } = self.request.shape {
                    self.between(&safe, slim, front_mm, penalty);
                } else {
                    // A front higher than wide reads badly beside something.
                    let upright = safe.height() > 0.95 * safe.width();
                    if upright {
                        self.under(&safe, slim, penalty);
                    }
                    let penalty = if upright { penalty + 0.25 } else { penalty };
                    for (nth, part) in [0.46, 0.40, 0.52, 0.34, 0.58].into_iter().enumerate() {
                        self.beside(&safe, slim, part, penalty + nth as f64 * 0.004);
                    }
                    if !upright {
                        self.under(&safe, slim, penalty + 0.002);
                    }
                    if safe.width() > 2.6 * safe.height() {
                        self.between(&safe, slim, safe.width() * 0.36, penalty + 0.01);
                    }
                }
            }
        }
    }

    fn build_front(&self, room: &Room, size: f64) -> Front {
        let (mut width, mut height) = (room.width(), room.height());
        if let Edge::Round { radius, .. } = room.edge {
            width = width.min(radius * 1.7);
            height = height.min(radius * 1.5);
        }
        blocks::front(
            self.ruler,
            self.wording,
            self.layout,
            self.inks,
            (width, height),
            Size(size),
        )
    }

    fn build_print(&self, step: u32) -> Rc<Vec<Block>> {
        let mut prints = self.prints.borrow_mut();
        Rc::clone(prints.entry(step).or_insert_with(|| {
            Rc::new(blocks::small_print(
                self.ruler,
                self.wording,
                self.layout,
                self.inks,
                safe_room(self.request).is_round(),
                self.ideal_x,
                Size(share(step)),
            ))
        }))
    }

    /// The largest step at which something is found; that at the least size is
    /// asked first, since most of what does not fit fails there.
    fn largest<T>(&self, mut found: impl FnMut(u32) -> Option<T>) -> Option<(u32, T)> {
        let least = found(0)?;
        if self.look == Look::Whether {
            return Some((0, least));
        }
        if let Some(most) = found(STEPS) {
            return Some((STEPS, most));
        }
        let (mut fits, mut fails, mut kept) = (0, STEPS, least);
        while fails - fits > 1 {
            let tried = u32::midpoint(fits, fails);
            if let Some(one) = found(tried) {
                fits = tried;
                kept = one;
            } else {
                fails = tried;
            }
        }
        Some((fits, kept))
    }

    /// Whether looking on is of no use.
    fn is_done(&self) -> bool {
        self.look == Look::Whether && self.best.is_some()
    }

    /// A front in a room of its own, as large as it can be.
    fn front_in(&self, room: &Room, free: (f64, f64)) -> Option<(f64, Vec<Placed>, f64)> {
        // The weight stays on one line as long as anything else can give way.
        [false, true].into_iter().find_map(|several| {
            let (step, (placed, worse)) =
                self.largest(|step| self.front_at(room, free, step, several))?;
            Some((share(step), placed, worse))
        })
    }

    /// The net weight as large as the name would have it, or as it may be.
    fn net_in(
        &self,
        front: &Front,
        room: &Room,
        free: (f64, f64),
        several: bool,
    ) -> Option<NetPlaced> {
        front
            .nets
            .iter()
            .find_map(|net| place_net(self.ruler, net, room, self.height, free, several))
    }

    fn front_at(
        &self,
        room: &Room,
        free: (f64, f64),
        step: u32,
        several: bool,
    ) -> Option<(Vec<Placed>, f64)> {
        let front = self.build_front(room, share(step));
        let net = if front.nets.is_empty() {
            None
        } else {
            Some(self.net_in(&front, room, free, several)?)
        };
        let mut above = *room;
        if let Some(net) = &net {
            above.y1 = net.limit;
        }
        if above.y1 < above.y0 && !(front.name.is_empty() && front.maker.is_empty()) {
            return None;
        }
        let upper = place_upper(
            self.ruler,
            &front,
            &above,
            self.layout,
            self.inks,
            self.cut,
            true,
        )?;
        let mut placed = upper.placed;
        if self.layout == Layout::Ledger && !placed.is_empty() {
            let to = net.as_ref().map_or(room.y1, |net| net.limit);
            let gap = (name_em(&front) * 0.4).max(1.2);
            placed.extend(ruled(room, upper.end + gap, to - 0.4, self.inks));
        }
        let mut worse = 0.0;
        if let Some(net) = net {
            placed.extend(net.placed);
            worse = net.penalty;
        }
        Some((placed, worse))
    }

    fn with_ribbon(&self, mut decor: Vec<Decor>, room: &Room) -> Vec<Decor> {
        if self.layout == Layout::Ribbon && self.wording.has(Role::Name) {
            decor.push(Decor::Ribbon { room: *room });
        }
        decor
    }

    fn front_alone(&mut self, safe: &Room, slim: bool, penalty: f64) {
        let (room, decor) = dress(self.layout, safe, slim, true);
        let Some((size, placed, worse)) = self.front_in(&room, NOTHING_BESIDE) else {
            return;
        };
        let candidate = Candidate {
            placed,
            decor: self.with_ribbon(decor, &room),
            arrangement: "front".to_owned(),
            inks: self.inks,
            score: size - penalty - worse,
        };
        self.offer(candidate);
    }

    fn gutter(&self) -> f64 {
        (self.ideal_x * 2.2).clamp(1.8, 4.0)
    }

    /// How large small print in columns can be.
    fn print_step(&self, rooms: &[Room]) -> Option<u32> {
        let (step, _) =
            self.largest(|step| flow(self.ruler, &self.build_print(step), rooms, self.cut, false))?;
        Some(step)
    }

    /// Small print of a size, its columns about equally high, with where it
    /// ends.
    fn print_at(&self, step: u32, rooms: &[Room]) -> Option<(Vec<Placed>, f64)> {
        flow(self.ruler, &self.build_print(step), rooms, self.cut, true)
    }

    /// The same further down; none where it does not fit there.
    fn print_lower(&self, step: u32, rooms: &[Room], down: f64) -> Option<Vec<Placed>> {
        let lower: Vec<Room> = rooms
            .iter()
            .map(|one| one.inset(0.0, down, 0.0, 0.0))
            .collect();
        let (placed, _) = flow(self.ruler, &self.build_print(step), &lower, self.cut, true)?;
        Some(placed)
    }

    fn print_alone(&mut self, safe: &Room, slim: bool, penalty: f64) {
        let (room, decor) = dress(self.layout, safe, slim, false);
        if room.is_round() {
            let found = self.largest(|step| {
                stack_between(self.ruler, &self.build_print(step), &room, 0.5, self.cut)
            });
            if let Some((step, (placed, _))) = found {
                let candidate = Candidate {
                    placed,
                    decor,
                    arrangement: "small print".to_owned(),
                    inks: self.inks,
                    score: share(step) - penalty,
                };
                self.offer(candidate);
            }
            return;
        }
        for number in 1..=5_u32 {
            let rooms = columns(&room, number as usize, self.gutter());
            let Some(width) = rooms.first().map(Room::width) else {
                break;
            };
            if number > 1 && width < NARROWEST_MM {
                break;
            }
            // Lines of more than some 75 letters are hard to follow.
            let long = if width > self.ideal_x * 62.0 {
                0.1
            } else {
                0.0
            };
            let penalty = penalty + f64::from(number - 1) * 0.01 + long;
            if !self.worth(1.0 - penalty) {
                continue;
            }
            let Some(step) = self.print_step(&rooms) else {
                continue;
            };
            let size = share(step);
            if !self.worth(size - penalty) {
                continue;
            }
            let Some((mut placed, end)) = self.print_at(step, &rooms) else {
                continue;
            };
            let spare = room.y1 - end;
            if spare > 0.1
                && self.layout != Layout::Ledger
                && let Some(better) = self.print_lower(step, &rooms, spare / 2.0)
            {
                placed = better;
            }
            if self.layout == Layout::Ledger && number == 1 && spare > 0.0 {
                placed.extend(ruled(&room, end + 2.0, room.y1, self.inks));
            }
            let candidate = Candidate {
                placed,
                decor: decor.clone(),
                arrangement: format!("small print in {}", column_words(number)),
                inks: self.inks,
                score: size - penalty,
            };
            self.offer(candidate);
        }
    }

    fn beside(&mut self, safe: &Room, slim: bool, part: f64, penalty: f64) {
        if self.is_done() || !self.worth(1.0 - penalty) {
            return;
        }
        let gap = self.gutter() * 1.3;
        // A ribbon's lines run across both parts, a plate frames the front.
        let (outer, mut decor) = match self.layout {
            Layout::Ribbon => dress(self.layout, safe, slim, true),
            Layout::Plate | Layout::Ledger => (*safe, Vec::new()),
        };
        let split = outer.x0 + outer.width() * part;
        let left = Room {
            x1: split - gap / 2.0,
            ..outer
        };
        let mut right = squared(&Room {
            x0: split + gap / 2.0,
            ..outer
        });
        if self.layout == Layout::Ledger {
            let head = head(&outer, slim);
            right = right.inset(0.0, head, 0.0, head);
        }
        if left.width() < 8.0 || right.width() < 8.0 {
            return;
        }
        let front_room = match self.layout {
            Layout::Ribbon => left,
            Layout::Plate | Layout::Ledger => {
                let (room, more) = dress(self.layout, &left, slim, true);
                decor.extend(more);
                room
            }
        };
        if self.layout == Layout::Ledger {
            decor.push(Decor::Divider {
                x: split,
                y0: outer.y0,
                y1: outer.y1,
            });
        }
        let Some((front_size, front, worse)) =
            self.front_in(&front_room, (f64::INFINITY, right.x0 - front_room.x1))
        else {
            return;
        };
        let front = Fronted {
            size: front_size,
            placed: front,
            room: front_room,
            decor,
            foot: right.y1,
            penalty: penalty + worse,
        };
        self.print_beside(&front, &[right], |columns| {
            format!("front beside {columns}")
        });
    }

    /// The front in the middle, small print on both sides.
    fn between(&mut self, safe: &Room, slim: bool, front_mm: f64, penalty: f64) {
        if self.is_done() || !self.worth(1.0 - penalty) {
            return;
        }
        let gap = self.gutter() * 1.3;
        let (outer, mut decor) = match self.layout {
            Layout::Ribbon => dress(self.layout, safe, slim, true),
            Layout::Plate | Layout::Ledger => (*safe, Vec::new()),
        };
        let middle = f64::midpoint(outer.x0, outer.x1);
        let half = front_mm.min(outer.width()) / 2.0;
        let zone = Room {
            x0: middle - half,
            x1: middle + half,
            ..outer
        };
        let sides = [
            Room {
                x1: zone.x0 - gap,
                ..outer
            },
            Room {
                x0: zone.x1 + gap,
                ..outer
            },
        ]
        .map(|side| squared(&side));
        let front_room = match self.layout {
            Layout::Ribbon => zone,
            Layout::Plate | Layout::Ledger => {
                let (room, more) = dress(self.layout, &zone, slim, true);
                decor.extend(more);
                room
            }
        };
        if self.layout == Layout::Ledger {
            decor.push(Decor::Divider {
                x: zone.x1 + gap / 2.0,
                y0: outer.y0,
                y1: outer.y1,
            });
        }
        let Some((front_size, front, worse)) = self.front_in(
            &front_room,
            (front_room.x0 - sides[0].x1, sides[1].x0 - front_room.x1),
        ) else {
            return;
        };
        let front = Fronted {
            size: front_size,
            placed: front,
            room: front_room,
            decor,
            foot: sides[0].y1,
            penalty: penalty + worse,
        };
        let wide: Vec<Room> = sides
            .into_iter()
            .filter(|side| side.width() >= NARROWEST_MM.min(10.0))
            .collect();
        self.print_beside(&front, &wide, |columns| {
            format!("front between {columns} on each side")
        });
    }

    /// Sets the small print beside a front, in one to four columns a side, and
    /// offers each that is worth it.
    fn print_beside(
        &mut self,
        front: &Fronted,
        sides: &[Room],
        arrangement: impl Fn(&str) -> String,
    ) {
        for number in 1..=4_u32 {
            if self.is_done() {
                return;
            }
            let rooms: Vec<Room> = sides
                .iter()
                .flat_map(|side| columns(side, number as usize, self.gutter()))
                .collect();
            let Some(width) = rooms.first().map(Room::width) else {
                break;
            };
            if number > 1 && width < NARROWEST_MM {
                break;
            }
            let penalty = front.penalty + f64::from(number - 1) * 0.01;
            let score = |size: f64| 0.55 * front.size + 0.45 * size - penalty;
            if !self.worth(score(1.0)) {
                continue;
            }
            let Some(step) = self.print_step(&rooms) else {
                continue;
            };
            let score = score(share(step));
            if !self.worth(score) {
                continue;
            }
            let Some((mut print, end)) = self.print_at(step, &rooms) else {
                continue;
            };
            let spare = front.foot - end;
            if spare > 0.1
                && self.layout != Layout::Ledger
                && let Some(better) = self.print_lower(step, &rooms, spare / 2.0)
            {
                print = better;
            }
            let mut placed = front.placed.clone();
            placed.extend(print);
            let candidate = Candidate {
                placed,
                decor: self.with_ribbon(front.decor.clone(), &front.room),
                arrangement: arrangement(column_words(number)),
                inks: self.inks,
                score,
            };
            self.offer(candidate);
        }
    }

    /// The small print under the name, the net weight at the foot.
    fn under(&mut self, safe: &Room, slim: bool, penalty: f64) {
        if self.is_done() || !self.worth(1.0 - penalty) {
            return;
        }
        let (room, decor) = dress(self.layout, safe, slim, true);
        // The least first: where that finds nothing, nothing larger does. Then
        // from the largest down, until none can be better.
        let larger = match self.look {
            Look::Whether => 0,
            Look::Best => STEPS,
        };
        for front_step in std::iter::once(0).chain((1..=larger).rev()) {
            let front_size = share(front_step);
            if front_step > 0 && !self.worth(0.55 * front_size + 0.45 - penalty) {
                break;
            }
            let front = self.build_front(&room, front_size);
            let mut foot = room.y1;
            let mut net_placed = Vec::new();
            let mut worse = 0.0;
            if !front.nets.is_empty() {
                let placed = [false, true]
                    .into_iter()
                    .find_map(|several| self.net_in(&front, &room, NOTHING_BESIDE, several));
                let Some(net) = placed else {
                    continue;
                };
                foot = net.limit;
                worse = net.penalty;
                net_placed = net.placed;
                debug_assert!(net.top >= foot, "nothing comes below the limit");
            }
            let mut above = room;
            above.y1 = foot;
            if above.y1 <= above.y0 {
                continue;
            }
            if room.is_round() {
                self.under_in_circle(
                    &decor,
                    &above,
                    &front,
                    front_size,
                    &net_placed,
                    penalty + worse,
                );
                continue;
            }
            let Some(upper) = place_upper(
                self.ruler,
                &front,
                &above,
                self.layout,
                self.inks,
                self.cut,
                false,
            ) else {
                continue;
            };
            let gap = (name_em(&front) * 0.5).clamp(1.0, 6.0);
            let below = Room {
                y0: if upper.placed.is_empty() {
                    above.y0
                } else {
                    upper.end + gap
                },
                ..above
            };
            for number in 1..=4_u32 {
                if self.is_done() {
                    return;
                }
                let rooms = columns(&below, number as usize, self.gutter());
                let Some(width) = rooms.first().map(Room::width) else {
                    break;
                };
                if number > 1 && width < NARROWEST_MM || below.height() <= 0.0 {
                    break;
                }
                let long = if width > self.ideal_x * 62.0 {
                    0.1
                } else {
                    0.0
                };
                let penalty = penalty + worse + long + f64::from(number - 1) * 0.01;
                if !self.worth(0.55 * front_size + 0.45 - penalty) {
                    continue;
                }
                let Some(step) = self.print_step(&rooms) else {
                    continue;
                };
                let size = share(step);
                if !self.worth(0.55 * front_size + 0.45 * size - penalty) {
                    continue;
                }
                let Some((mut print, end)) = self.print_at(step, &rooms) else {
                    continue;
                };
                let mut placed = upper.placed.clone();
                // What is left free goes between name and small print.
                let spare = below.y1 - end;
                if spare > 0.1
                    && let Some(moved) = self.print_lower(step, &rooms, spare)
                {
                    let print_top = below.y0 + spare;
                    let mut over = above;
                    over.y1 = print_top - gap;
                    if let Some(spread) = place_upper(
                        self.ruler,
                        &front,
                        &over,
                        self.layout,
                        self.inks,
                        self.cut,
                        true,
                    ) {
                        placed = spread.placed;
                        print = moved;
                        if self.layout == Layout::Ledger {
                            placed.extend(ruled(
                                &room,
                                spread.end + gap * 0.8,
                                print_top - gap * 0.8,
                                self.inks,
                            ));
                        }
                    }
                }
                placed.extend(print);
                placed.extend(net_placed.iter().cloned());
                let candidate = Candidate {
                    placed,
                    decor: self.with_ribbon(decor.clone(), &room),
                    arrangement: format!("front over {}", column_words(number)),
                    inks: self.inks,
                    score: 0.55 * front_size + 0.45 * size - penalty,
                };
                self.offer(candidate);
            }
        }
    }

    fn under_in_circle(
        &mut self,
        decor: &[Decor],
        above: &Room,
        front: &Front,
        front_size: f64,
        net: &[Placed],
        penalty: f64,
    ) {
        let gap = (name_em(front) * 0.45).clamp(0.9, 6.0);
        let found = self.largest(|step| {
            let mut all = upper_blocks(front, self.layout, self.inks, gap);
            if !all.is_empty() {
                all.push(Block::Gap(gap));
            }
            all.extend(self.build_print(step).iter().cloned());
            stack_between(self.ruler, &all, above, 0.5, self.cut)
        });
        if let Some((step, (mut placed, _))) = found {
            placed.extend(net.iter().cloned());
            let candidate = Candidate {
                placed,
                decor: self.with_ribbon(decor.to_vec(), above),
                arrangement: "front over small print".to_owned(),
                inks: self.inks,
                score: 0.55 * front_size + 0.45 * share(step) - penalty,
            };
            self.offer(candidate);
        }
    }
}

fn column_words(number: u32) -> &'static str {
    match number {
        1 => "one column",
        2 => "two columns",
        3 => "three columns",
        4 => "four columns",
        _ => "five columns",
    }
}

/// The paper every part needs at its least size, mm², and the lines it makes
/// across the label.
pub(super) fn least_area(
    ruler: &Ruler<'_>,
    wording: &Wording,
    role: Role,
    request: &Request,
) -> (f64, usize) {
    let mut alone = blocks::without_all(wording);
    blocks::take(&mut alone, wording, role);
    let room = safe_room(request);
    let mut sum = Sum {
        ruler,
        across: room.width().max(1.0),
        area: 0.0,
        lines: 0,
    };
    if role.is_front() {
        let front = blocks::front(
            ruler,
            &alone,
            Layout::Ledger,
            inks(request),
            (room.width(), room.height()),
            Size(0.0),
        );
        sum.add(&front.maker);
        sum.add(&front.name);
        if let Some(net) = front.nets.into_iter().next_back() {
            sum.add(&[Block::Text(net.para)]);
            if let Some(mark) = net.e_mark {
                sum.add(&[Block::Text(mark)]);
            }
        }
    } else {
        sum.add(&blocks::small_print(
            ruler,
            &alone,
            Layout::Plate,
            inks(request),
            false,
            0.9,
            Size(0.0),
        ));
    }
    (sum.area, sum.lines)
}

struct Sum<'r, 'f> {
    ruler: &'r Ruler<'f>,
    across: f64,
    area: f64,
    lines: usize,
}

impl Sum<'_, '_> {
    fn add(&mut self, blocks: &[Block]) {
        for block in blocks {
            match block {
                Block::Text(para) => self.text(para),
                Block::Pair { key, value } => {
                    self.text(key);
                    self.text(value);
                }
                Block::Figures { figures, .. } => self.figures(figures),
                Block::Beside { figures, stack, .. } => {
                    self.figures(figures);
                    self.add(stack);
                }
                Block::Gap(_) | Block::Keep | Block::Rule { .. } | Block::Ornament { .. } => {}
            }
        }
    }

    fn figures(&mut self, figures: &[(super::place::Figure, f64, f64)]) {
        // A square on its point covers half its box.
        self.area += figures.iter().map(|(_, w, h)| w * h).sum::<f64>();
    }

    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a count of lines"
    )]
    fn text(&mut self, para: &Para) {
        let width = self.ruler.width(para.of, para.em, &para.text);
        let lines = (width / self.across).ceil().clamp(1.0, 1e6);
        self.lines += lines as usize;
        self.area += width * para.em * para.leading.min(1.2);
    }
}

/// Whether even the least sizes need more paper than there is, so that no
/// arrangement need be tried.
pub(super) fn is_hopeless(ruler: &Ruler<'_>, wording: &Wording, request: &Request) -> bool {
    let room = safe_room(request);
    let needed: f64 = Role::ALL
        .into_iter()
        .filter(|role| wording.has(*role))
        .map(|role| least_area(ruler, wording, role, request).0)
        .sum();
    // Accents and tails may share a line's height with the next: less counts.
    needed * 0.8 > room.area()
}
