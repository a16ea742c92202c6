//! A notice that calls goods back.

use super::{Draw, On, setup};
use crate::paper::{Cell, Column, Document, Face, Flow, Fonts, Setup, TextStyle, Wide};

/// A recall, told in one language after another.
#[derive(Debug, Clone, Default)]
pub struct RecallNotice {
    /// The same notice in each language, the first one leading.
    pub notices: Vec<Notice>,
}

/// The notice in one language.
#[derive(Debug, Clone, Default)]
pub struct Notice {
    /// The language as a tag.
    pub language: &'static str,
    /// The heading, in the words a buyer is to see first.
    pub title: String,
    /// Who calls the goods back.
    pub maker: String,
    /// What it says, part by part.
    pub parts: Vec<NoticePart>,
    /// Writes the number of a page.
    pub page_of: Option<fn(usize, usize) -> String>,
}

/// A part of a notice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoticePart {
    /// Its heading.
    pub heading: String,
    /// What it says.
    pub says: Says,
}

/// What a part of a notice says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Says {
    /// Paragraphs.
    Text(Vec<String>),
    /// What to do, in large letters, one thing after another.
    Loud(Vec<String>),
    /// Rows of texts under headings; the first column is a name, the second
    /// stands out.
    Rows(Vec<String>, Vec<Vec<String>>),
    /// Not known: so many ruled lines to write on.
    Ruled(usize),
}

impl Draw for RecallNotice {
    fn draw(&self, fonts: &Fonts, on: &On) -> Document {
        let first = self.notices.first();
        let title = first.map_or("", |notice| notice.title.trim());
        // A file of the standard has a title, whatever the paper is called.
        let title = if title.is_empty() {
            "Recall notice"
        } else {
            title
        };
        let language = first.map_or("en", |notice| notice.language);
        let mut document = Document::new(title, language, on.made);
        for notice in &self.notices {
            document.pages.extend(notice.draw(fonts, on).pages);
        }
        document
    }
}

/// Sizes of letters, as shares of what is usual on the page: the largest that
/// keeps a notice on one page is taken.
const LETTERS: [f64; 4] = [1.12, 1.04, 0.96, 0.88];

impl Notice {
    fn draw(&self, fonts: &Fonts, on: &On) -> Document {
        let mut drawn = self.in_letters(fonts, on, LETTERS[0]);
        for share in &LETTERS[1..] {
            if drawn.pages.len() == 1 {
                break;
            }
            drawn = self.in_letters(fonts, on, *share);
        }
        drawn
    }

    fn in_letters(&self, fonts: &Fonts, on: &On, share: f64) -> Document {
        let plain = setup(on, &self.title);
        let mut flow = Flow::new(
            fonts,
            Setup {
                language: self.language,
                body_mm: plain.body_mm * share,
                page_of: self.page_of.unwrap_or(plain.page_of),
                ..plain
            },
        );
        let body = flow.body();
        let title = TextStyle {
            face: Face::SansBold,
            balanced: true,
            ..body.sized(body.size_mm * 2.9).leaded(1.1)
        };
        let heading = fonts.set(&self.title, &title, flow.width_mm());
        let mut head = crate::paper::Drawing::new(flow.width_mm(), heading.height_mm());
        head.text(0.0, 0.0, heading, crate::paper::Tag::Heading(1));
        flow.drawing(head);
        flow.paragraph_in(&self.maker, &body.sized(body.size_mm * 1.2));
        flow.rule();
        for part in &self.parts {
            flow.heading(2, &part.heading);
            match &part.says {
                Says::Text(lines) => {
                    for line in lines {
                        flow.paragraph(line);
                    }
                }
                Says::Loud(lines) => {
                    let loud = TextStyle {
                        face: Face::SansBold,
                        ..body.sized(body.size_mm * 1.15)
                    };
                    for line in lines {
                        flow.paragraph_in(line, &loud);
                    }
                }
                Says::Rows(head, rows) => rows_of(&mut flow, head, rows),
                Says::Ruled(lines) => flow.ruled(*lines, 9.0),
            }
        }
        flow.finish(self.title.clone(), on.made)
    }
}

fn rows_of(flow: &mut Flow, head: &[String], rows: &[Vec<String>]) {
    let columns: Vec<Column> = head
        .iter()
        .enumerate()
        .map(|(idx, title)| {
            let column = Column::words(title.clone());
            if idx == 0 {
                column.wide(Wide::Rest(1.0))
            } else {
                column
            }
        })
        .collect();
    let rows: Vec<Vec<Cell>> = rows
        .iter()
        .map(|row| {
            row.iter()
                .enumerate()
                .map(|(idx, text)| match idx {
                    1 => Cell::Strong(text.clone()),
                    _ => Cell::Text(text.clone()),
                })
                .collect()
        })
        .collect();
    flow.table(&columns, &rows);
}
