//! What a buyer owes, is let off, or was lent: invoice, credit note and
//! consignment note.

use super::{Blank, Draw, Maker, On, boxes, letterhead, setup};
use crate::paper::{Cell, Column, Document, Flow, Fonts, Wide};

/// An invoice, a credit note or a consignment note.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Bill {
    /// What it is: `Invoice 12`.
    pub title: String,
    /// Who writes it.
    pub maker: Maker,
    /// The day, in words.
    pub day: String,
    /// To whom, line by line; room to write where it is empty.
    pub to: Vec<String>,
    /// Its number, its days and what else stands in boxes at the top.
    pub facts: Vec<Blank>,
    /// What it is for.
    pub lines: Vec<BillLine>,
    /// What the lines come to, one below the other; the last one in bold.
    pub sums: Vec<Blank>,
    /// Terms and remarks, each its own paragraph.
    pub notes: Vec<String>,
    /// Whom it is signed by; empty where nobody signs.
    pub signed: Vec<String>,
}

/// One line of it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct BillLine {
    /// What.
    pub what: String,
    /// Of which lots; may be empty.
    pub lots: String,
    /// How many; may be empty.
    pub quantity: String,
    /// What each costs; may be empty.
    pub each: String,
    /// What the line comes to; may be empty.
    pub amount: String,
}

const ROW_MM: f64 = 8.0;

impl Draw for Bill {
    fn draw(&self, fonts: &Fonts, on: &On) -> Document {
        let mut flow = Flow::new(fonts, setup(on, &self.title));
        letterhead(&mut flow, &self.title, &self.day, &self.maker);
        flow.heading(3, "To");
        if self.to.is_empty() {
            flow.ruled(3, 9.0);
        } else {
            flow.paragraph(&self.to.join("\n"));
        }
        if !self.facts.is_empty() {
            boxes(&mut flow, &self.facts, 3, ROW_MM);
        }
        let has_lots = self.lines.iter().any(|line| !line.lots.is_empty());
        let mut columns = vec![Column::words("What").wide(Wide::Rest(1.0))];
        if has_lots {
            columns.push(Column::words("Lot"));
        }
        columns.extend(["Quantity", "Each", "Amount"].map(Column::figures));
        let mut rows: Vec<Vec<Cell>> = self
            .lines
            .iter()
            .map(|line| {
                let mut row = vec![Cell::from(line.what.as_str())];
                if has_lots {
                    row.push(Cell::from(line.lots.as_str()));
                }
                row.extend([&line.quantity, &line.each, &line.amount].map(|text| {
                    if text.is_empty() {
                        Cell::Blank
                    } else {
                        Cell::from(text.as_str())
                    }
                }));
                row
            })
            .collect();
        for (nth, sum) in self.sums.iter().enumerate() {
            let is_last = nth + 1 == self.sums.len();
            let cell = |text: &str| {
                if is_last {
                    Cell::Strong(text.to_owned())
                } else {
                    Cell::from(text)
                }
            };
            let mut row = vec![cell(&sum.name)];
            row.extend(std::iter::repeat_n(
                Cell::Blank,
                columns.len().saturating_sub(2),
            ));
            row.push(cell(&sum.value));
            rows.push(row);
        }
        flow.table(&columns, &rows);
        for note in &self.notes {
            flow.paragraph(note);
        }
        if !self.signed.is_empty() {
            let names: Vec<Blank> = self
                .signed
                .iter()
                .map(|name| Blank::new(name, ""))
                .collect();
            boxes(&mut flow, &names, 3, 10.0);
        }
        flow.finish(&self.title, on.made)
    }
}
