//! What is drawn: charts for the screen, and paper.
//!
//! Charts: plain figures in, a [`Picture`] out, drawn as SVG on the server.
//! Paper: texts, shapes and codes in millimetres, in [`paper`].
//!
//! Each picture answers one question and its title is the answer. Beside the
//! drawing it carries the same in words and as a table, so that nobody needs
//! the drawing to know what it says. One function draws each:
//! [`unit_weights()`], [`fill_range()`], [`count_chances()`], [`price_ladder()`],
//! [`cost_parts()`], [`cure_rack()`], [`control_chart()`], [`label_ladder()`],
//! [`wrap_plan()`], [`bars()`], [`price_curve()`], [`channel_ladder()`] and
//! [`bar_to_target()`].
//! A [`Pictogram`] is the other kind of drawing: its colours and shape are the
//! law's, its size a length on paper.
//!
//! This crate refuses to know what a figure is: masses, money and days come as
//! plain numbers in the maker's unit, with a function that writes one
//! ([`Write`]). It computes no result; at most it counts, averages and sorts
//! what it draws. Text typed by the maker is data and is escaped, never markup.
//!
//! # How a picture fits its place
//!
//! Across, everything is placed in percent of the width, down, in ems of the
//! text; there is no `viewBox`. A picture 280 pixels wide and one 730 wide
//! therefore have the same legible text, and only the room between things
//! grows. Labels are placed so that they fit the narrow one.
//!
//! Colours, lines and type come from [`STYLE`], which is served as a style
//! sheet and uses the page's custom properties, so the picture follows light,
//! dark and paper without a `style` attribute.
//!
//! # Why not a charting crate
//!
//! `kuva` 0.6 was tried and draws well, but colours are written into each
//! element (no class reaches it, text and frame are black on white), its fill
//! patterns are always black and so vanish on a dark page, its text shrinks with
//! the drawing on a phone, its marks carry no identifiers a script could use,
//! and labels beside marks are not placed. What is wanted here are few, plain
//! shapes with much care for labels, which the small writer in `svg.rs` gives.

mod bar_to_target;
mod bars;
mod canvas;
mod channel_ladder;
mod control_chart;
mod cost_parts;
mod count_chances;
mod cure_rack;
mod fill_range;
mod label_ladder;
pub mod paper;
mod pictogram;
mod price_curve;
mod price_ladder;
mod scale;
mod svg;
mod unit_weights;
mod words;
mod wrap_plan;

pub use bar_to_target::{BarToTarget, bar_to_target};
pub use bars::{Bar, Bars, bars};
pub use channel_ladder::{ChannelLadder, ChannelRung, channel_ladder};
pub use control_chart::{ControlChart, ControlLot, Limited, control_chart};
pub use cost_parts::{CostPart, CostParts, cost_parts};
pub use count_chances::{CountChance, CountChances, count_chances};
pub use cure_rack::{CureLot, CureRack, CureState, cure_rack};
pub use fill_range::{EarlierPour, FillRange, fill_range};
pub use label_ladder::{LabelLadder, LabelRung, MarkedLoad, label_ladder};
pub use pictogram::Pictogram;
pub use price_curve::{PriceCurve, PricePoint, price_curve};
pub use price_ladder::{EqualAt, LadderFormat, PriceLadder, price_ladder};
pub use scale::{nice_step, ticks};
pub use unit_weights::{Nominal, UnitWeights, unit_weights};
pub use words::Noun;
pub use wrap_plan::{WrapFold, WrapLine, WrapPanel, WrapPlan, wrap_plan};

/// The style sheet every picture needs, written against the page's custom
/// properties `--paper`, `--raised`, `--ink`, `--soft`, `--rule`, `--accent`,
/// `--moss`, `--brick` and `--slate`.
pub const STYLE: &str = include_str!("style.css");

/// Writes a figure with its unit, as a person reads it: `1.55 oz`, `3.84 USD`.
pub type Write<'a> = &'a dyn Fn(f64) -> String;

/// A drawing with its answer, the same in words, and its data.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// A complete `svg` element, with title and description inside.
    pub svg: String,
    /// The answer the picture gives, as plain text.
    pub title: String,
    /// What the drawing shows, in words, as plain text.
    pub text: String,
    /// The figures drawn.
    pub table: Table,
}

/// The data of a picture, as plain text.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Table {
    /// One heading a column.
    pub headers: Vec<String>,
    /// Rows, each as long as the headings.
    pub rows: Vec<Vec<String>>,
}

impl Table {
    pub(crate) fn new<const N: usize>(headers: [&str; N]) -> Self {
        Self {
            headers: headers.map(str::to_owned).into(),
            rows: Vec::new(),
        }
    }

    pub(crate) fn row<const N: usize>(&mut self, cells: [String; N]) {
        debug_assert_eq!(N, self.headers.len(), "a row has a cell for each heading");
        self.rows.push(cells.into());
    }
}
