//! Cards and signs, several to a page, to be cut apart.

use label::wording::Care;

use super::{Draw, On, RULE, SOFT};
use crate::paper::{Align, Document, Drawing, Face, Fonts, Pen, Structure, Tag, TextStyle, care};

/// How large a card is: a page is cut into equal parts, so that nothing of it
/// is waste. Of an A4 page they are A5, A6 and A7 (ISO 216).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum CardSize {
    /// Half a page.
    A5,
    /// A quarter.
    #[default]
    A6,
    /// An eighth.
    A7,
}

impl CardSize {
    /// Columns and rows on a page.
    pub const fn grid(self) -> (u8, u8) {
        match self {
            Self::A5 => (1, 2),
            Self::A6 => (2, 2),
            Self::A7 => (2, 4),
        }
    }

    /// How many cards a page gives.
    pub const fn per_page(self) -> usize {
        let (columns, rows) = self.grid();
        columns as usize * rows as usize
    }

    /// Width and height of a card cut from a page.
    pub fn size_mm(self, page_mm: (f64, f64)) -> (f64, f64) {
        let (columns, rows) = self.grid();
        (page_mm.0 / f64::from(columns), page_mm.1 / f64::from(rows))
    }
}

/// What a buyer has to know, on a card that goes with the good.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct CareCard {
    /// What was bought.
    pub name: String,
    /// What the card is.
    pub heading: String,
    /// The word above the cautions, where a standard asks for one.
    pub signal: String,
    /// How it is used.
    pub uses: Vec<String>,
    /// What to mind.
    pub cautions: Vec<Mind>,
    /// Who made it, and how to reach them.
    pub maker: Vec<String>,
}

/// One thing to mind.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mind {
    /// The drawing that says the same.
    pub care: Care,
    /// The sentence.
    pub text: String,
}

/// A page of one care card.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CareCards {
    /// The card.
    pub card: CareCard,
    /// How large.
    pub size: CardSize,
    /// The language it is in, as a tag.
    pub language: &'static str,
}

/// A sign that says what a good costs.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PriceSign {
    /// The good.
    pub name: String,
    /// What it costs; a line to write on where it is empty.
    pub price: String,
    /// What stands below: format, net weight.
    pub below: String,
}

/// Signs for a stall.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PriceSigns {
    /// A sign each.
    pub signs: Vec<PriceSign>,
    /// Who sells; may be empty.
    pub maker: String,
    /// How large.
    pub size: CardSize,
}

/// From the edge of a card to what is printed: no printer reaches the edge of a
/// page, and no knife follows a line.
const INSIDE_MM: f64 = 7.0;

impl Draw for CareCards {
    fn draw(&self, fonts: &Fonts, on: &On) -> Document {
        let title = format!("Care card, {}", self.card.name);
        let mut document = Document::new(title, self.language, on.made);
        let page_mm = on.size.size_mm();
        let (width, height) = self.size.size_mm(page_mm);
        let card = self.card.draw(fonts, width, height, self.language);
        let cards = vec![card; self.size.per_page()];
        document.pages.push(sheet(page_mm, self.size, &cards));
        document
    }
}

impl CareCard {
    /// Sets all of it in the largest letters the card holds; very long texts go
    /// on over its edge only where even the smallest do not fit.
    fn draw(&self, fonts: &Fonts, width: f64, height: f64, language: &'static str) -> Drawing {
        // Largest first; 1.9 mm is about 5.5 points, which is small.
        let mut drawn = None;
        for step in 0..=20 {
            let em = 5.9 - 0.2 * f64::from(step);
            let (drawing, used) = self.set(fonts, width, height, em, language);
            let fits = used <= height - INSIDE_MM;
            drawn = Some(drawing);
            if fits {
                break;
            }
        }
        drawn.unwrap_or_else(|| Drawing::new(width, height))
    }

    fn set(
        &self,
        fonts: &Fonts,
        width: f64,
        height: f64,
        em: f64,
        language: &'static str,
    ) -> (Drawing, f64) {
        let mut drawing = Drawing::new(width, height);
        let inside = (width - 2.0 * INSIDE_MM).max(5.0);
        let body = TextStyle::new(Face::Sans, em).spoken(language).leaded(1.25);
        let name = TextStyle {
            balanced: true,
            ..TextStyle::new(Face::SerifBold, em * 1.6)
                .spoken(language)
                .leaded(1.1)
        };
        let bold = TextStyle {
            face: Face::SansBold,
            ..body
        };
        let mut y = INSIDE_MM;
        let mut put = |drawing: &mut Drawing, text: &str, style: &TextStyle, tag, indent: f64| {
            if text.is_empty() {
                return;
            }
            let set = fonts.set(text, style, inside - indent);
            let high = set.height_mm();
            drawing.text(INSIDE_MM + indent, y, set, tag);
            y += high;
        };
        put(&mut drawing, &self.name, &name, Tag::Heading(1), 0.0);
        put(
            &mut drawing,
            &self.heading,
            &body.inked(SOFT),
            Tag::Paragraph,
            0.0,
        );
        let rule = |drawing: &mut Drawing, y: &mut f64| {
            *y += em * 0.35;
            drawing.line((INSIDE_MM, *y), (INSIDE_MM + inside, *y), RULE);
            *y += em * 0.45;
        };
        rule(&mut drawing, &mut y);
        for text in &self.uses {
            let set = fonts.set(text, &body, inside);
            let high = set.height_mm();
            drawing.text(INSIDE_MM, y, set, Tag::Paragraph);
            y += high;
        }
        if !self.uses.is_empty() && !self.cautions.is_empty() {
            y += em * 0.3;
        }
        if !self.signal.is_empty() {
            let set = fonts.set(&self.signal, &bold, inside);
            let high = set.height_mm();
            drawing.text(INSIDE_MM, y, set, Tag::Heading(2));
            y += high;
        }
        let (side, indent) = (em * 1.8, em * 2.5);
        let mut last = None;
        for mind in &self.cautions {
            let set = fonts.set(&mind.text, &body, inside - indent);
            let (words, row) = (set.height_mm(), set.height_mm().max(side));
            // Two sentences of one meaning need one drawing; it says nothing that
            // the sentence does not.
            if last != Some(mind.care) {
                let symbol = care::drawing(mind.care, side, side);
                let at = y + (row - side) / 2.0;
                drawing.group(INSIDE_MM, at, Structure::Furniture, symbol);
            }
            last = Some(mind.care);
            let at = y + (row - words) / 2.0;
            drawing.text(INSIDE_MM + indent, at, set, Tag::Paragraph);
            y += row + em * 0.15;
        }
        let small = body.sized(em * 0.85).inked(SOFT).leaded(1.2);
        let lines: Vec<_> = self
            .maker
            .iter()
            .filter(|line| !line.is_empty())
            .map(|line| fonts.set(line, &small, inside))
            .collect();
        let high: f64 = lines.iter().map(crate::paper::Set::height_mm).sum();
        // The maker stands at the foot where there is room.
        y = (y + em * 0.5).max(height - INSIDE_MM - high);
        for line in lines {
            let high = line.height_mm();
            drawing.text(INSIDE_MM, y, line, Tag::Paragraph);
            y += high;
        }
        (drawing, y - 1e-6)
    }
}

impl Draw for PriceSigns {
    fn draw(&self, fonts: &Fonts, on: &On) -> Document {
        let mut document = Document::new("Price signs", "en", on.made);
        let page_mm = on.size.size_mm();
        let (width, height) = self.size.size_mm(page_mm);
        let drawn: Vec<Drawing> = self
            .signs
            .iter()
            .map(|sign| sign.draw(fonts, width, height, &self.maker))
            .collect();
        for cards in drawn.chunks(self.size.per_page()) {
            document.pages.push(sheet(page_mm, self.size, cards));
        }
        if document.pages.is_empty() {
            document.pages.push(Drawing::new(page_mm.0, page_mm.1));
        }
        document
    }
}

impl PriceSign {
    fn draw(&self, fonts: &Fonts, width: f64, height: f64, maker: &str) -> Drawing {
        let mut drawing = Drawing::new(width, height);
        let (inside, tall) = (width - 2.0 * INSIDE_MM, height - 2.0 * INSIDE_MM);
        let centred = |face, em: f64| TextStyle {
            balanced: true,
            ..TextStyle::new(face, em).aligned(Align::Centre).leaded(1.1)
        };
        let small_em = (width.min(height) * 0.045).clamp(2.6, 6.0);
        // Name above, price in the middle, what it is and who sells it below.
        let name_room = tall * 0.36;
        let name = fonts.fit(
            &self.name,
            &centred(Face::SerifBold, (height * 0.17).min(width * 0.13)),
            inside,
            name_room,
            small_em * 0.8,
        );
        let mut foot = INSIDE_MM + tall;
        let mut below = Vec::new();
        for (text, face) in [(maker, Face::Serif), (self.below.as_str(), Face::Sans)] {
            if text.is_empty() {
                continue;
            }
            let set = fonts.fit(
                text,
                &centred(face, small_em),
                inside,
                small_em * 2.4,
                small_em * 0.6,
            );
            foot -= set.height_mm() + small_em * 0.3;
            below.push((foot, set));
        }
        let name_at = INSIDE_MM + (name_room - name.height_mm()).max(0.0) / 2.0;
        let name_end = name_at + name.height_mm();
        drawing.text(INSIDE_MM, name_at, name, Tag::Heading(1));
        let (top, room) = (name_end, (foot - name_end).max(1.0));
        if self.price.is_empty() {
            let y = top + room * 0.75;
            let pen = Pen::new(0.35);
            let third = inside / 4.0;
            drawing.line((INSIDE_MM + third, y), (INSIDE_MM + inside - third, y), pen);
        } else {
            let style = TextStyle {
                balanced: false,
                ..centred(Face::SansBold, (height * 0.36).min(width * 0.3)).leaded(1.05)
            };
            let price = fonts.fit(&self.price, &style, inside, room * 0.92, small_em);
            let y = top + (room - price.height_mm()) / 2.0;
            drawing.text(INSIDE_MM, y, price, Tag::Paragraph);
        }
        for (y, set) in below.into_iter().rev() {
            drawing.text(INSIDE_MM, y, set, Tag::Paragraph);
        }
        drawing
    }
}

/// A page of cards with marks where to cut.
fn sheet(page_mm: (f64, f64), size: CardSize, cards: &[Drawing]) -> Drawing {
    let (columns, rows) = size.grid();
    let (width, height) = size.size_mm(page_mm);
    let mut page = Drawing::new(page_mm.0, page_mm.1);
    let mut cells = (0..rows).flat_map(|row| (0..columns).map(move |column| (column, row)));
    for card in cards {
        let Some((column, row)) = cells.next() else {
            break;
        };
        let (x, y) = (f64::from(column) * width, f64::from(row) * height);
        page.group(x, y, Structure::Group, card.clone());
    }
    let marks = marks(page_mm, size);
    page.group(0.0, 0.0, Structure::Furniture, marks);
    page
}

/// Ticks in from the edges of the page and crosses where cuts meet.
fn marks(page_mm: (f64, f64), size: CardSize) -> Drawing {
    const TICK_MM: f64 = 9.0;
    const CROSS_MM: f64 = 2.5;
    let pen = Pen::new(0.12);
    let (columns, rows) = size.grid();
    let (width, height) = size.size_mm(page_mm);
    let mut marks = Drawing::new(page_mm.0, page_mm.1);
    let across: Vec<f64> = (1..rows).map(|row| f64::from(row) * height).collect();
    let down: Vec<f64> = (1..columns)
        .map(|column| f64::from(column) * width)
        .collect();
    for y in &across {
        marks.line((0.0, *y), (TICK_MM, *y), pen);
        marks.line((page_mm.0 - TICK_MM, *y), (page_mm.0, *y), pen);
    }
    for x in &down {
        marks.line((*x, 0.0), (*x, TICK_MM), pen);
        marks.line((*x, page_mm.1 - TICK_MM), (*x, page_mm.1), pen);
        for y in &across {
            marks.line((*x - CROSS_MM, *y), (*x + CROSS_MM, *y), pen);
            marks.line((*x, *y - CROSS_MM), (*x, *y + CROSS_MM), pen);
        }
    }
    marks
}
