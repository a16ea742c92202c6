//! Lists of goods: for the table of a stall, for a buyer, for a shop.

use super::{Draw, Maker, On, RULE, letterhead, setup};
use crate::paper::{
    Align, Cell, Column, Document, Drawing, Face, Flow, Fonts, Set, Setup, Tag, TextStyle, Wide,
};

/// Every good on one page, large enough to read across a table.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ScentList {
    /// Whose goods they are.
    pub maker: String,
    /// What stands below the name.
    pub below: String,
    /// The goods, by what they are.
    pub groups: Vec<ScentGroup>,
}

/// Goods of one kind.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ScentGroup {
    /// The kind.
    pub name: String,
    /// What all of them cost, where it is the same; may be empty.
    pub price: String,
    /// Each with what it costs; may be empty.
    pub goods: Vec<(String, String)>,
}

/// A good on a list.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Ware {
    /// What it is sold as.
    pub name: String,
    /// What it is.
    pub format: String,
    /// Its declared net weight; may be empty.
    pub net_weight: String,
    /// What it costs; a box to write in where it is empty.
    pub price: String,
    /// What a shop is advised to ask; a box to write in where it is empty.
    pub suggested: String,
}

/// A price list.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PriceList {
    /// Who sells.
    pub maker: Maker,
    /// The day, in words.
    pub day: String,
    /// The goods.
    pub goods: Vec<Ware>,
    /// Remarks; a paragraph each.
    pub notes: Vec<String>,
}

/// A list for shops that buy.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct LineSheet {
    /// Who sells.
    pub maker: Maker,
    /// The day, in words.
    pub day: String,
    /// The goods.
    pub goods: Vec<Ware>,
    /// The least a shop orders; a ruled line where it is empty.
    pub minimum: String,
    /// How long until it is sent; a ruled line where it is empty.
    pub terms: String,
    /// Remarks; a paragraph each.
    pub notes: Vec<String>,
}

const ROW_MM: f64 = 7.0;

fn or_box(text: &str) -> Cell {
    if text.is_empty() {
        Cell::Write(ROW_MM)
    } else {
        Cell::Strong(text.to_owned())
    }
}

impl Draw for PriceList {
    fn draw(&self, fonts: &Fonts, on: &On) -> Document {
        let title = "Price list";
        let mut flow = Flow::new(fonts, setup(on, title));
        letterhead(&mut flow, title, &self.day, &self.maker);
        if self.goods.is_empty() {
            flow.paragraph("Nothing that is sold is written down yet.");
        } else {
            let weighed = self.goods.iter().any(|good| !good.net_weight.is_empty());
            let mut columns = vec![
                Column::words("Good").wide(Wide::Rest(2.0)),
                Column::words("What it is").wide(Wide::Rest(1.0)),
            ];
            if weighed {
                columns.push(Column::figures("Net weight"));
            }
            columns.push(Column::figures("Price"));
            let rows: Vec<Vec<Cell>> = self
                .goods
                .iter()
                .map(|good| {
                    let mut row = vec![
                        Cell::Strong(good.name.clone()),
                        Cell::from(good.format.clone()),
                    ];
                    if weighed {
                        row.push(Cell::from(good.net_weight.clone()));
                    }
                    row.push(or_box(&good.price));
                    row
                })
                .collect();
            flow.table(&columns, &rows);
        }
        for note in &self.notes {
            flow.paragraph(note);
        }
        flow.finish(title, on.made)
    }
}

impl Draw for LineSheet {
    fn draw(&self, fonts: &Fonts, on: &On) -> Document {
        let title = "Line sheet for shops";
        let mut flow = Flow::new(fonts, setup(on, title));
        letterhead(&mut flow, title, &self.day, &self.maker);
        if self.goods.is_empty() {
            flow.paragraph("Nothing that is sold is written down yet.");
        } else {
            let weighed = self.goods.iter().any(|good| !good.net_weight.is_empty());
            let mut columns = vec![
                Column::words("Good").wide(Wide::Rest(2.0)),
                Column::words("What it is").wide(Wide::Rest(1.0)),
            ];
            if weighed {
                columns.push(Column::figures("Net weight"));
            }
            let money = |title, known: bool| {
                if known {
                    Column::figures(title)
                } else {
                    Column::boxes(title, 24.0)
                }
            };
            let all = |of: fn(&Ware) -> &String| self.goods.iter().all(|good| !of(good).is_empty());
            columns.push(money("Trade price", all(|good| &good.price)));
            columns.push(money("Suggested price", all(|good| &good.suggested)));
            columns.push(Column::boxes("How many", 20.0));
            let rows: Vec<Vec<Cell>> = self
                .goods
                .iter()
                .map(|good| {
                    let mut row = vec![
                        Cell::Strong(good.name.clone()),
                        Cell::from(good.format.clone()),
                    ];
                    if weighed {
                        row.push(Cell::from(good.net_weight.clone()));
                    }
                    row.extend([
                        or_box(&good.price),
                        or_box(&good.suggested),
                        Cell::Write(ROW_MM),
                    ]);
                    row
                })
                .collect();
            flow.table(&columns, &rows);
        }
        for (heading, text) in [
            ("The least we send", &self.minimum),
            ("Delivery and payment", &self.terms),
        ] {
            flow.heading(3, heading);
            if text.is_empty() {
                flow.ruled(1, 8.0);
            } else {
                flow.paragraph(text);
            }
        }
        for note in &self.notes {
            flow.paragraph(note);
        }
        let names = ["Shop", "Order from (name)", "Day"];
        let blanks = names.map(|name| super::Blank::new(name, ""));
        super::boxes(&mut flow, &blanks, 3, 10.0);
        flow.finish(title, on.made)
    }
}

/// A line of the scent list with what it takes in height.
struct Entry {
    left: Set,
    right: Option<Set>,
    tag: Tag,
    /// Room above, except at the top of a column.
    above_mm: f64,
    height_mm: f64,
    ruled: bool,
    /// A heading does not stand alone at the end of a column.
    keeps_with_next: bool,
}

impl Draw for ScentList {
    fn draw(&self, fonts: &Fonts, on: &On) -> Document {
        let title = "Scent list";
        let base = setup(on, title);
        // The largest letters with which all of it stands on one page; a list
        // too long for that goes on over more pages in the smallest.
        let mut tried = None;
        for (em, columns) in sizes() {
            let pages = self.pages(fonts, &base, em, columns);
            let fits = pages.len() == 1;
            tried = Some(pages);
            if fits {
                break;
            }
        }
        let bodies = tried.unwrap_or_default();
        let mut flow = Flow::new(fonts, base);
        for (idx, body) in bodies.into_iter().enumerate() {
            if idx > 0 {
                flow.turn_over();
            }
            flow.drawing(body);
        }
        flow.finish(title, on.made)
    }
}

/// Sizes of letters and columns to try, the easiest to read first.
fn sizes() -> impl Iterator<Item = (f64, usize)> {
    [13.0, 11.5, 10.0, 9.0, 8.0, 7.0, 6.2, 5.6]
        .into_iter()
        .map(|em| (em, 1))
        .chain(
            [5.2, 4.6, 4.1, 3.6, 3.2, 2.8]
                .into_iter()
                .flat_map(|em| [(em, 1), (em, 2)]),
        )
}

impl ScentList {
    fn pages(&self, fonts: &Fonts, setup: &Setup, em: f64, columns: usize) -> Vec<Drawing> {
        let width = (setup.width_mm - 2.0 * setup.margin_mm).max(5.0);
        // The foot's line takes a little more than its letters.
        let height = setup.height_mm - 2.0 * setup.margin_mm - setup.body_mm * 2.0 - 2.0;
        let n_columns = u32::try_from(columns.max(1)).map_or(1.0, f64::from);
        let gap = em * 2.0;
        let column_width = (width - gap * (n_columns - 1.0)) / n_columns;
        let entries = self.entries(fonts, em, column_width);
        let mut page = Drawing::new(width, height);
        let mut y = 0.0;
        let centred = |face, em: f64| TextStyle {
            balanced: true,
            ..TextStyle::new(face, em).aligned(Align::Centre).leaded(1.15)
        };
        for (text, style, tag) in [
            (
                &self.maker,
                centred(Face::SerifBold, (em * 1.6).max(8.0)),
                Tag::Heading(1),
            ),
            (
                &self.below,
                centred(Face::Serif, (em * 0.75).clamp(3.4, 5.0)),
                Tag::Paragraph,
            ),
        ] {
            if !text.is_empty() {
                let set = fonts.fit(text, &style, width, height * 0.2, 3.0);
                let high = set.height_mm();
                page.text(0.0, y, set, tag);
                y += high;
            }
        }
        y += em * 0.8;
        let mut top = y;
        let mut pages = Vec::new();
        let mut column = 0;
        for (idx, entry) in entries.iter().enumerate() {
            let next = entries.get(idx + 1).filter(|_| entry.keeps_with_next);
            let with_next = next.map_or(0.0, |next| next.height_mm + next.above_mm);
            let above = if y > top { entry.above_mm } else { 0.0 };
            if y + above + entry.height_mm + with_next > height && y > top {
                column += 1;
                if column >= columns.max(1) {
                    pages.push(std::mem::replace(&mut page, Drawing::new(width, height)));
                    column = 0;
                    top = 0.0;
                }
                y = top;
            } else {
                y += above;
            }
            let x = u32::try_from(column).map_or(0.0, f64::from) * (column_width + gap);
            page.text(x, y, entry.left.clone(), entry.tag);
            if let Some(right) = &entry.right {
                let last = y + entry.left.last_baseline_mm();
                let at = x + column_width - right.width_mm();
                page.text_on(at, last, right.clone(), Tag::Paragraph);
            }
            y += entry.height_mm;
            if entry.ruled {
                page.line((x, y), (x + column_width, y), RULE);
            }
        }
        pages.push(page);
        pages
    }

    fn entries(&self, fonts: &Fonts, em: f64, width: f64) -> Vec<Entry> {
        let heading = TextStyle::new(Face::SansBold, em * 0.72).leaded(1.3);
        let name = TextStyle::new(Face::Serif, em).leaded(1.2);
        let price = TextStyle {
            tabular: true,
            ..TextStyle::new(Face::SansBold, em * 0.9).leaded(1.2)
        };
        let mut entries = Vec::new();
        for group in &self.groups {
            let of_all = (!group.price.is_empty()).then(|| fonts.set_line(&group.price, &price));
            let room = of_all.as_ref().map_or(0.0, |set| set.width_mm() + em);
            let left = fonts.set(&group.name, &heading, (width - room).max(em));
            entries.push(Entry {
                height_mm: left.height_mm().max(em * 0.9 * 1.2) + em * 0.25,
                left,
                right: of_all,
                tag: Tag::Heading(2),
                above_mm: em * 1.1,
                ruled: true,
                keeps_with_next: true,
            });
            for (good, costs) in &group.goods {
                let right = (!costs.is_empty()).then(|| fonts.set_line(costs, &price));
                let room = right.as_ref().map_or(0.0, |set| set.width_mm() + em);
                let left = fonts.set(good, &name, (width - room).max(em * 4.0));
                entries.push(Entry {
                    height_mm: left.height_mm(),
                    left,
                    right,
                    tag: Tag::Paragraph,
                    above_mm: em * 0.35,
                    ruled: false,
                    keeps_with_next: false,
                });
            }
        }
        entries
    }
}
