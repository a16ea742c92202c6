//! What to weigh and what came out: enough to finish the job without a screen.

use super::{Blank, Draw, On, boxes, setup};
use crate::paper::{Cell, Column, Document, Flow, Fonts, Setup, Wide};

/// A pour sheet.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PourSheet {
    /// What is poured.
    pub what: String,
    /// The lot's code.
    pub lot: String,
    /// What stands below the title, a paragraph each.
    pub about: Vec<String>,
    /// What to weigh, in this order.
    pub weigh: Vec<ToWeigh>,
    /// Remarks of the plan.
    pub notes: Vec<String>,
    /// What to write down at the pot.
    pub at_the_pot: Vec<Blank>,
    /// What to write down of what came out.
    pub came_out: Vec<Blank>,
    /// Weights of single units, and room for more.
    pub units: Vec<Blank>,
    /// When it is fit for sale.
    pub ready: String,
    /// What to mind, at the foot.
    pub cautions: Vec<String>,
}

/// An ingredient of a pour sheet.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ToWeigh {
    /// What.
    pub name: String,
    /// What the plan said.
    pub plan: String,
    /// What to aim at.
    pub target: String,
    /// What the pot then reads.
    pub running: String,
    /// What was really weighed; may be empty.
    pub weighed: String,
}

/// Heights of a box, the most room for a wet pencil first.
const BOXES_MM: [f64; 4] = [12.0, 10.5, 9.0, 7.5];

impl Draw for PourSheet {
    fn draw(&self, fonts: &Fonts, on: &On) -> Document {
        let mut drawn = self.with_boxes(fonts, on, BOXES_MM[0]);
        for box_mm in &BOXES_MM[1..] {
            if drawn.pages.len() == 1 {
                break;
            }
            drawn = self.with_boxes(fonts, on, *box_mm);
        }
        drawn
    }
}

impl PourSheet {
    fn with_boxes(&self, fonts: &Fonts, on: &On, box_mm: f64) -> Document {
        let title = format!("Pour sheet, lot {}", self.lot);
        let mut flow = Flow::new(
            fonts,
            Setup {
                foot: self.cautions.clone(),
                ..setup(on, &title)
            },
        );
        flow.title_with_code(&self.what, "Pour sheet, lot", &self.lot);
        for line in &self.about {
            flow.paragraph(line);
        }
        self.weighing(&mut flow, box_mm);
        for note in &self.notes {
            flow.paragraph(note);
        }
        for (name, of, per_row) in [
            ("At the pot", &self.at_the_pot, 4),
            ("Out of the mould", &self.came_out, 4),
            ("Unit weights, bare", &self.units, 6),
        ] {
            if !of.is_empty() {
                flow.heading(3, name);
                boxes(&mut flow, of, per_row, box_mm);
            }
        }
        flow.heading(3, "Ready, and remarks");
        if !self.ready.is_empty() {
            flow.paragraph(&self.ready);
        }
        flow.ruled(2, box_mm * 0.8);
        flow.finish(title, on.made)
    }

    fn weighing(&self, flow: &mut Flow, box_mm: f64) {
        if self.weigh.is_empty() {
            return;
        }
        // The plan is told apart only where something else is aimed at by now.
        let moved = self.weigh.iter().any(|row| row.plan != row.target);
        let mut columns = vec![Column::words("Weigh, in this order").wide(Wide::Rest(1.0))];
        if moved {
            columns.push(Column::figures("Plan"));
        }
        columns.extend([
            Column::figures("Target"),
            Column::figures("Pot then reads"),
            Column::boxes("Really weighed", 38.0),
            Column::words("In"),
        ]);
        let rows: Vec<Vec<Cell>> = self
            .weigh
            .iter()
            .map(|row| {
                let mut cells = vec![Cell::from(row.name.clone())];
                if moved {
                    cells.push(row.plan.clone().into());
                }
                cells.push(Cell::Strong(row.target.clone()));
                cells.push(row.running.clone().into());
                if row.weighed.is_empty() {
                    cells.extend([Cell::Write(box_mm), Cell::Tick]);
                } else {
                    cells.extend([Cell::Strong(row.weighed.clone()), Cell::from("in")]);
                }
                cells
            })
            .collect();
        flow.table(&columns, &rows);
    }
}
