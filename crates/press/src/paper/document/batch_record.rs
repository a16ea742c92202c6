//! What was done with one lot, as it was written down.

use super::{Blank, Draw, On, boxes, pairs, setup};
use crate::paper::{Cell, Column, Document, Flow, Fonts, Wide};

/// A batch record.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct BatchRecord {
    /// What was poured.
    pub what: String,
    /// The lot's code.
    pub lot: String,
    /// How it stands, in a sentence.
    pub verdict: String,
    /// Formula, mould, days; what is empty is left out.
    pub about: Vec<Blank>,
    /// What was weighed.
    pub weighed: Vec<Weighed>,
    /// All of it together.
    pub total: String,
    /// What it took from the shelf.
    pub supplies: Vec<Used>,
    /// What is said of where it came from.
    pub supplies_note: String,
    /// Temperatures, minutes, counts.
    pub came_out: Vec<Blank>,
    /// Weights of single units; none before one was weighed.
    pub units: Option<UnitWeights>,
    /// Slips, corrections, strikes and holds, a sentence each.
    pub corrections: Vec<String>,
    /// What was written down, in its order.
    pub told: Vec<Told>,
}

/// An ingredient as it was weighed.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Weighed {
    /// What.
    pub name: String,
    /// What the plan said.
    pub plan: String,
    /// What was aimed at.
    pub target: String,
    /// What was weighed; may be empty.
    pub weighed: String,
    /// How far off the target.
    pub difference: String,
}

/// What a lot took of a supply.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Used {
    /// What.
    pub name: String,
    /// How much.
    pub amount: String,
    /// Which supplier lots had come in by then.
    pub came_as: String,
}

/// The weights of single units.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct UnitWeights {
    /// Each of those that count.
    pub weights: Vec<String>,
    /// Their number, mean and spread; a sentence each.
    pub words: Vec<String>,
}

/// One thing that was written down.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Told {
    /// The day it concerns.
    pub day: String,
    /// Who wrote it.
    pub who: String,
    /// What it says.
    pub what: String,
}

impl Draw for BatchRecord {
    fn draw(&self, fonts: &Fonts, on: &On) -> Document {
        let title = format!("Batch record, lot {}", self.lot);
        let mut flow = Flow::new(fonts, setup(on, &title));
        flow.title_with_code(&self.what, "Batch record, lot", &self.lot);
        if !self.verdict.is_empty() {
            flow.paragraph(&self.verdict);
        }
        pairs(&mut flow, &self.about);
        self.went_in(&mut flow);
        if self.came_out.iter().any(|blank| !blank.value.is_empty()) {
            flow.heading(2, "What came out");
            pairs(&mut flow, &self.came_out);
        }
        if let Some(units) = &self.units {
            flow.heading(2, "Unit weights, bare");
            flow.paragraph(&units.weights.join(", "));
            for line in &units.words {
                flow.paragraph(line);
            }
        }
        flow.heading(2, "Slips and corrections");
        if self.corrections.is_empty() {
            flow.paragraph("None is written down.");
        }
        for line in &self.corrections {
            flow.paragraph(line);
        }
        if !self.told.is_empty() {
            flow.heading(2, "As it was written down");
            let columns = [
                Column::words("Day"),
                Column::words("By"),
                Column::words("What").wide(Wide::Rest(1.0)),
            ];
            let rows: Vec<Vec<Cell>> = self
                .told
                .iter()
                .map(|told| {
                    [&told.day, &told.who, &told.what]
                        .map(|text| text.clone().into())
                        .into()
                })
                .collect();
            flow.table(&columns, &rows);
        }
        flow.heading(3, "Looked over");
        let blanks = ["By", "Day", "Signed"].map(|name| Blank::new(name, ""));
        boxes(&mut flow, &blanks, 3, 10.0);
        flow.finish(title, on.made)
    }
}

impl BatchRecord {
    fn went_in(&self, flow: &mut Flow) {
        if !self.weighed.is_empty() {
            flow.heading(2, "What went in");
            let columns = [
                Column::words("Ingredient").wide(Wide::Rest(1.0)),
                Column::figures("Plan"),
                Column::figures("Aimed at"),
                Column::figures("Weighed"),
                Column::figures("Difference"),
            ];
            let mut rows: Vec<Vec<Cell>> = self
                .weighed
                .iter()
                .map(|row| {
                    let weighed = if row.weighed.is_empty() {
                        Cell::from("not yet")
                    } else {
                        Cell::Strong(row.weighed.clone())
                    };
                    vec![
                        row.name.clone().into(),
                        row.plan.clone().into(),
                        row.target.clone().into(),
                        weighed,
                        row.difference.clone().into(),
                    ]
                })
                .collect();
            if !self.total.is_empty() {
                rows.push(vec![
                    Cell::from("Together"),
                    Cell::Blank,
                    Cell::Blank,
                    Cell::Strong(self.total.clone()),
                    Cell::Blank,
                ]);
            }
            flow.table(&columns, &rows);
        }
        if !self.supplies.is_empty() {
            flow.heading(2, "Supplies used");
            let columns = [
                Column::words("Supply").wide(Wide::Rest(1.0)),
                Column::figures("Used"),
                Column::words("Supplier lots in by then").wide(Wide::Rest(1.0)),
            ];
            let rows: Vec<Vec<Cell>> = self
                .supplies
                .iter()
                .map(|used| {
                    [&used.name, &used.amount, &used.came_as]
                        .map(|text| text.clone().into())
                        .into()
                })
                .collect();
            flow.table(&columns, &rows);
            if !self.supplies_note.is_empty() {
                flow.paragraph(&self.supplies_note);
            }
        }
    }
}
