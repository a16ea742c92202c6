//! Whether a label on hand fits a unit, and by how much it is over or short.

mod calculation;

use crate::sheet::Outline;
use crate::unit::Solid;
use crate::wrap::{Cover, OVERLAP_MM, round_mm};

pub use calculation::{Input, Output, calculate, calculate_with};

/// Sizes that are the same for a hand that sticks labels, mm.
const SAME_MM: f64 = 0.05;

/// A label on hand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Label {
    /// Its width.
    pub width_mm: f64,
    /// Its height.
    pub height_mm: f64,
    /// Its outline.
    pub outline: Outline,
}

/// Where a label is to go.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// Its width.
    pub width_mm: f64,
    /// Its height.
    pub height_mm: f64,
    /// Which of its sides runs round the unit and is closed by overlapping.
    pub closes: Closes,
}

/// Which side of a room runs round the unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Closes {
    /// None: the label stays within.
    Nowhere,
    /// The width.
    Across,
    /// The height.
    Down,
}

/// How a label lies in a room.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// Whether it fits.
    pub fits: bool,
    /// Whether it has to lie on its side.
    pub is_turned: bool,
    /// Room less label across; below zero when the label is over. Round the
    /// unit it is the gap, below zero the overlap.
    pub spare_across_mm: f64,
    /// The same down.
    pub spare_down_mm: f64,
    /// Round the unit: how far the label laps over itself.
    pub overlap_mm: Option<f64>,
}

impl Fit {
    /// How far this is from fitting, mm; nothing when it fits.
    fn want(&self, closes: Closes) -> f64 {
        let inside = |spare: f64| (-spare).max(0.0);
        let round = |spare: f64| spare.max(0.0);
        match closes {
            Closes::Nowhere => inside(self.spare_across_mm) + inside(self.spare_down_mm),
            Closes::Across => round(self.spare_across_mm) + inside(self.spare_down_mm),
            Closes::Down => inside(self.spare_across_mm) + round(self.spare_down_mm),
        }
    }
}

/// Lays a label into a room, whichever way round is better.
///
/// Within a panel it fits when it is nowhere over. Round a unit it fits when
/// it reaches all the way, whatever is over lapping over itself, and is no
/// higher than the room.
pub fn fit(label: &Label, room: &Room) -> Fit {
    let upright = lay(label.width_mm, label.height_mm, false, room);
    let turned = lay(label.height_mm, label.width_mm, true, room);
    let better = match (upright.fits, turned.fits) {
        (true, _) => false,
        (false, true) => true,
        (false, false) => turned.want(room.closes) + SAME_MM < upright.want(room.closes),
    };
    if better { turned } else { upright }
}

fn lay(width: f64, height: f64, is_turned: bool, room: &Room) -> Fit {
    let spare_across_mm = room.width_mm - width;
    let spare_down_mm = room.height_mm - height;
    let within = |spare: f64| spare >= -SAME_MM;
    let reaches = |spare: f64| spare <= SAME_MM;
    let (fits, overlap_mm) = match room.closes {
        Closes::Nowhere => (within(spare_across_mm) && within(spare_down_mm), None),
        Closes::Across => (
            reaches(spare_across_mm) && within(spare_down_mm),
            reaches(spare_across_mm).then_some((-spare_across_mm).max(0.0)),
        ),
        Closes::Down => (
            within(spare_across_mm) && reaches(spare_down_mm),
            reaches(spare_down_mm).then_some((-spare_down_mm).max(0.0)),
        ),
    };
    Fit {
        fits,
        is_turned,
        spare_across_mm,
        spare_down_mm,
        overlap_mm,
    }
}

/// The room a unit has for a label that covers so much of it.
///
/// On the front it is the whole face; round the unit once round by the length
/// of its side.
pub fn room(solid: &Solid, cover: Cover) -> Room {
    match cover {
        Cover::Front => {
            let face = solid.front_face();
            Room {
                width_mm: face.0,
                height_mm: face.1,
                closes: Closes::Nowhere,
            }
        }
        Cover::Band | Cover::Full => {
            let round = round_mm(solid);
            match solid.frustum() {
                // Across a tapered bar a strip lies flat as far as the smaller
                // face goes.
                Some(bar) => Room {
                    width_mm: bar.front_length.min(bar.back_length),
                    height_mm: round,
                    closes: Closes::Down,
                },
                None => Room {
                    width_mm: round,
                    height_mm: solid.side_mm(),
                    closes: Closes::Across,
                },
            }
        }
    }
}

/// The overlap a wrap-round label is best given, mm.
///
/// Common practice, no source.
pub const WISHED_OVERLAP_MM: f64 = OVERLAP_MM;
