//! Who has a lot: the holders to call, the sum, and where it came from.

use super::{Blank, Draw, Maker, On, boxes, letterhead, setup};
use crate::paper::{Cell, Column, Document, Flow, Fonts, Wide};

/// Who has a lot.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TraceSheet {
    /// Whose goods they are.
    pub maker: Maker,
    /// The day, in words.
    pub day: String,
    /// What it is about.
    pub about: String,
    /// How it adds up, in a sentence.
    pub sum: String,
    /// What is not known, a paragraph each.
    pub unknown: Vec<String>,
    /// Whom to tell, those with the most first.
    pub calls: Vec<CallLine>,
    /// Where the rest is: what, and how many.
    pub elsewhere: Vec<(String, String)>,
    /// All together.
    pub total: String,
    /// The lots concerned: code, good, made, on hand.
    pub lots: Vec<[String; 4]>,
    /// What went into them: supply, supplier and its lot, the day it came, how
    /// much.
    pub sources: Vec<[String; 4]>,
}

/// One whom to tell.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct CallLine {
    /// Who.
    pub who: String,
    /// How many went there.
    pub units: String,
    /// How many more may be of it; may be empty.
    pub maybe: String,
}

const ROW_MM: f64 = 7.0;

impl Draw for TraceSheet {
    fn draw(&self, fonts: &Fonts, on: &On) -> Document {
        let title = "Who has this lot?";
        let mut flow = Flow::new(fonts, setup(on, title));
        letterhead(&mut flow, title, &self.day, &self.maker);
        flow.heading(2, &self.about);
        flow.paragraph(&self.sum);
        for words in &self.unknown {
            flow.paragraph(words);
        }
        self.calls(&mut flow);
        self.rest(&mut flow);
        let names = ["Begun at", "Every holder known at", "Done by"];
        boxes(&mut flow, &names.map(|name| Blank::new(name, "")), 3, 10.0);
        rows(
            &mut flow,
            "Lots concerned",
            ["Lot", "Good", "Made", "On hand"],
            &self.lots,
        );
        rows(
            &mut flow,
            "What went in",
            ["Supply", "Supplier and lot", "Came on", "Used"],
            &self.sources,
        );
        flow.finish(title, on.made)
    }
}

impl TraceSheet {
    fn calls(&self, flow: &mut Flow) {
        flow.heading(3, "Whom to tell");
        if self.calls.is_empty() {
            flow.paragraph("Nobody: none of it went out.");
            return;
        }
        let doubtful = self.calls.iter().any(|call| !call.maybe.is_empty());
        let mut columns = vec![
            Column::words("Told"),
            Column::words("Who").wide(Wide::Rest(1.0)),
            Column::figures("Units"),
        ];
        if doubtful {
            columns.push(Column::figures("Perhaps"));
        }
        columns.push(Column::boxes("Back", 22.0));
        let rows: Vec<Vec<Cell>> = self
            .calls
            .iter()
            .map(|call| {
                let mut row = vec![
                    Cell::Tick,
                    Cell::from(call.who.clone()),
                    Cell::Strong(call.units.clone()),
                ];
                if doubtful {
                    row.push(Cell::from(call.maybe.clone()));
                }
                row.push(Cell::Write(ROW_MM));
                row
            })
            .collect();
        flow.table(&columns, &rows);
    }

    fn rest(&self, flow: &mut Flow) {
        flow.heading(3, "Where the rest is");
        let columns = [
            Column::words("Where").wide(Wide::Rest(1.0)),
            Column::figures("Units"),
        ];
        let mut rows: Vec<Vec<Cell>> = self
            .elsewhere
            .iter()
            .map(|(what, units)| vec![Cell::from(what.clone()), Cell::Strong(units.clone())])
            .collect();
        rows.push(vec![
            Cell::from("Everything together, and made"),
            Cell::Strong(self.total.clone()),
        ]);
        flow.table(&columns, &rows);
    }
}

fn rows(flow: &mut Flow, heading: &str, head: [&str; 4], of: &[[String; 4]]) {
    if of.is_empty() {
        return;
    }
    flow.heading(3, heading);
    let [first, second, third, fourth] = head;
    let columns = [
        Column::words(first),
        Column::words(second).wide(Wide::Rest(1.0)),
        Column::figures(third),
        Column::figures(fourth),
    ];
    let rows: Vec<Vec<Cell>> = of
        .iter()
        .map(|row| row.iter().map(|text| Cell::from(text.clone())).collect())
        .collect();
    flow.table(&columns, &rows);
}
