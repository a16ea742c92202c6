//! What is in a parcel.

use super::{Blank, Draw, Maker, On, boxes, letterhead, setup};
use crate::paper::{Cell, Column, Document, Flow, Fonts, Wide};

/// A packing slip.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PackingSlip {
    /// Who sends it.
    pub maker: Maker,
    /// The day, in words.
    pub day: String,
    /// To whom, line by line; room to write where it is empty.
    pub to: Vec<String>,
    /// The order it answers; may be empty.
    pub order: String,
    /// The day it was sent, in words; room to write where it is empty.
    pub sent: String,
    /// In how many parcels; room to write where it is empty.
    pub parcels: String,
    /// What is in it; room to write where it is empty.
    pub lines: Vec<SlipLine>,
    /// All pieces together, where every line has its count; may be empty.
    pub total: String,
}

/// One line of a packing slip.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SlipLine {
    /// What; empty where it is to be written in.
    pub good: String,
    /// The lot's code; empty where it is to be written in.
    pub lot: String,
    /// How many; empty where it is to be written in.
    pub quantity: String,
}

/// Rows to write in where no line was given.
const EMPTY_ROWS: usize = 10;
const ROW_MM: f64 = 8.0;

impl Draw for PackingSlip {
    fn draw(&self, fonts: &Fonts, on: &On) -> Document {
        let title = "Packing slip";
        let mut flow = Flow::new(fonts, setup(on, title));
        letterhead(&mut flow, title, &self.day, &self.maker);
        flow.heading(3, "To");
        if self.to.is_empty() {
            flow.ruled(3, 9.0);
        } else {
            flow.paragraph(&self.to.join("\n"));
        }
        boxes(
            &mut flow,
            &[
                Blank::new("Order", self.order.clone()),
                Blank::new("Sent on", self.sent.clone()),
                Blank::new("Parcels", self.parcels.clone()),
            ],
            3,
            ROW_MM,
        );
        let columns = [
            Column::words("In"),
            Column::words("Good").wide(Wide::Rest(1.0)),
            Column::boxes("Lot", 40.0),
            Column::boxes("Quantity", 28.0),
        ];
        let or_box = |text: &str, strong: bool| match (text.is_empty(), strong) {
            (true, _) => Cell::Write(ROW_MM),
            (false, true) => Cell::Strong(text.to_owned()),
            (false, false) => Cell::from(text),
        };
        let blank = SlipLine::default();
        let lines = self.lines.iter().chain(
            std::iter::repeat_n(&blank, EMPTY_ROWS).take(if self.lines.is_empty() {
                EMPTY_ROWS
            } else {
                0
            }),
        );
        let mut rows: Vec<Vec<Cell>> = lines
            .map(|line| {
                vec![
                    Cell::Tick,
                    or_box(&line.good, false),
                    or_box(&line.lot, true),
                    or_box(&line.quantity, true),
                ]
            })
            .collect();
        if !self.total.is_empty() {
            rows.push(vec![
                Cell::Blank,
                Cell::from("Together"),
                Cell::Blank,
                Cell::Strong(self.total.clone()),
            ]);
        }
        flow.table(&columns, &rows);
        let names = ["Packed by", "Looked over by", "Received by, and the day"];
        boxes(&mut flow, &names.map(|name| Blank::new(name, "")), 3, 10.0);
        flow.finish(title, on.made)
    }
}
