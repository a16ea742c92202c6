//! Paper that measures true: text, shapes and codes in millimetres, written as
//! PDF to print and as SVG to look at first.
//!
//! [`Fonts`] holds the faces and measures heights on the outlines of their
//! glyphs, which is what a rule about letter height means. [`Fonts::set`] shapes
//! a text and breaks it into lines; a [`Drawing`] holds texts, shapes and other
//! drawings; a [`Document`] is a row of them with a title and a language.
//!
//! A text with a character no face has is refused by naming the character
//! ([`PaperError::Missing`]), never drawn as a box. The same document gives the
//! same bytes on every machine.
//!
//! # Example
//!
//! ```
//! use press::paper::{Document, Drawing, Face, Fonts, Made, Tag, TextStyle};
//!
//! let fonts = Fonts::new();
//! // Letters whose x stands 1.2 mm high, broken at 44 mm.
//! let size_mm = fonts.size_for_x_height(Face::Sans, 1.2);
//! let text = fonts.set("Keep out of reach of children.", &TextStyle::new(Face::Sans, size_mm), 44.0);
//! let mut label = Drawing::new(50.0, 25.0);
//! label.text(3.0, 3.0, text, Tag::Paragraph);
//! let made = Made { year: 2026, month: 11, day: 25 };
//! let mut document = Document::new("A label", "en", made);
//! document.pages.push(label);
//! assert!(document.pdf().unwrap().starts_with(b"%PDF-1.7"));
//! assert!(document.svg(0).unwrap().contains(r#"width="50mm""#));
//! ```

pub mod care;
pub mod code;
pub mod document;
mod drawing;
mod flow;
mod font;
pub mod label;
mod pdf;
pub mod proof;
pub mod sheet;
mod svg;
mod text;

pub use drawing::{Colour, Drawing, Paint, Pen, Structure, Tag, Turn, rectangle};
pub use flow::{Cell, Column, Flow, PageSize, Setup, Wide};
pub use font::{Face, Fonts};
/// Paths, places and boxes are spoken of in this crate's types.
pub use kurbo;
pub use text::{Align, Line, Set, TextStyle};

/// The day a document says it was made on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Made {
    /// The year.
    pub year: u16,
    /// 1 to 12.
    pub month: u8,
    /// 1 to 31.
    pub day: u8,
}

/// Pages with a title and a language.
#[derive(Debug, Clone)]
pub struct Document {
    /// What the paper is called.
    pub title: String,
    /// The language most of it is in, as a tag: `en`, `de`.
    pub language: String,
    /// The day it says it was made on; it takes part in the bytes of the file.
    pub made: Made,
    /// The pages.
    pub pages: Vec<Drawing>,
}

/// Why no paper came of it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PaperError {
    /// A character no face can draw.
    #[error("page {page} holds {} (U+{:04X}) in {text:?}, and no typeface here has it", shown(*character), u32::from(*character))]
    Missing {
        /// The character.
        character: char,
        /// The text it stands in, cut short.
        text: String,
        /// The page, counted from one.
        page: usize,
    },
    /// There is no page, or not that one.
    #[error("there is no such page")]
    NoPage,
    /// A page side that is no length, or none a page can have.
    #[error("page {page} is not between 1 mm and 5,080 mm wide and high")]
    Length {
        /// The page, counted from one.
        page: usize,
    },
    /// A place on a page that is no number.
    #[error("something on page {page} has no place that could be measured")]
    Place {
        /// The page, counted from one.
        page: usize,
    },
    /// More pages than anyone prints at once.
    #[error("that would be {pages} pages; print fewer at a time")]
    TooMany {
        /// How many.
        pages: u64,
    },
    /// A document without a name, which no reader could announce.
    #[error("the document has no title")]
    Untitled,
    /// The standards of the file refuse what is in it.
    #[error("the file would not keep to its standard: {0}")]
    Refused(String),
}

/// A character as it may be shown: itself, or nothing where it would not show.
fn shown(character: char) -> String {
    if character.is_control() || character.is_whitespace() {
        "a character that does not show".to_owned()
    } else {
        format!("“{character}”")
    }
}

impl Document {
    /// A document without pages.
    pub fn new(title: impl Into<String>, language: impl Into<String>, made: Made) -> Self {
        Self {
            title: title.into(),
            language: language.into(),
            made,
            pages: Vec::new(),
        }
    }

    /// The texts of all pages in the order they are read.
    pub fn texts(&self) -> Vec<String> {
        self.pages.iter().flat_map(Drawing::texts).collect()
    }

    fn sound(&self) -> Result<(), PaperError> {
        if self.pages.is_empty() {
            return Err(PaperError::NoPage);
        }
        for (idx, page) in self.pages.iter().enumerate() {
            if !pdf::fits_a_page(page) {
                return Err(PaperError::Length { page: idx + 1 });
            }
            page.sound(idx + 1)?;
        }
        Ok(())
    }
}

impl Drawing {
    fn sound(&self, page: usize) -> Result<(), PaperError> {
        let mut missing = None;
        self.each_set(&mut |set, _| {
            if let (None, Some(character)) = (&missing, set.missing().first()) {
                missing = Some((*character, set.text().chars().take(60).collect()));
            }
        });
        if let Some((character, text)) = missing {
            return Err(PaperError::Missing {
                character,
                text,
                page,
            });
        }
        if self.measurable() {
            Ok(())
        } else {
            Err(PaperError::Place { page })
        }
    }
}
