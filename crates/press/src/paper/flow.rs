//! Blocks that run down a page and over to the next: headings, paragraphs,
//! pairs, tables, boxes to tick and to write in.
//!
//! Black ink, one side; the cautions stand at the foot of every page with the
//! page's number, and the heading of a table comes again on each page it reaches.

use std::sync::Arc;

use super::drawing::{Colour, Drawing, Paint, Pen, Structure, Tag};
use super::font::{Face, Fonts};
use super::text::{Align, Set, TextStyle};
use super::{Document, Made};

/// A size of page, upright.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PageSize {
    /// ISO 216: 210 by 297 mm.
    A4,
    /// ISO 216: 148 by 210 mm.
    A5,
    /// ISO 216: 105 by 148 mm.
    A6,
    /// ISO 216: 74 by 105 mm.
    A7,
    /// 8½ by 11 inches.
    Letter,
    /// 5½ by 8½ inches.
    HalfLetter,
    /// 4 by 6 inches.
    FourBySix,
    /// Any other, width and height in millimetres.
    Other(f64, f64),
}

impl PageSize {
    /// Width and height in millimetres.
    pub fn size_mm(self) -> (f64, f64) {
        match self {
            Self::A4 => (210.0, 297.0),
            Self::A5 => (148.0, 210.0),
            Self::A6 => (105.0, 148.0),
            Self::A7 => (74.0, 105.0),
            Self::Letter => (215.9, 279.4),
            Self::HalfLetter => (139.7, 215.9),
            Self::FourBySix => (101.6, 152.4),
            Self::Other(width, height) => (width, height),
        }
    }
}

/// How the pages of a flow are set up.
#[derive(Debug, Clone)]
pub struct Setup {
    /// How wide a page is.
    pub width_mm: f64,
    /// How high it is.
    pub height_mm: f64,
    /// Room kept free at each edge.
    pub margin_mm: f64,
    /// The em of body text.
    pub body_mm: f64,
    /// The language the texts are in, as a tag.
    pub language: &'static str,
    /// What stands at the foot of every page, above its number.
    pub foot: Vec<String>,
    /// What stands beside the page's number.
    pub name: String,
    /// Writes the number of a page: `page 1 of 3`.
    pub page_of: fn(usize, usize) -> String,
}

impl Setup {
    /// A setup fit for a size: the smaller the page, the smaller the text.
    pub fn new(size: PageSize) -> Self {
        let (width_mm, height_mm) = size.size_mm();
        let narrow = width_mm.min(height_mm);
        Self {
            width_mm,
            height_mm,
            margin_mm: (narrow * 0.075).clamp(5.0, 16.0),
            body_mm: (2.3 + narrow * 0.0066).clamp(2.6, 3.7),
            language: "en",
            foot: Vec::new(),
            name: String::new(),
            page_of: |page, pages| format!("page {page} of {pages}"),
        }
    }

    /// The same lying on its side.
    #[must_use]
    pub fn lying(self) -> Self {
        Self {
            width_mm: self.height_mm,
            height_mm: self.width_mm,
            ..self
        }
    }
}

/// How wide a column is.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Wide {
    /// By what stands in it.
    #[default]
    Content,
    /// So many millimetres.
    Mm(f64),
    /// A share of what the others leave.
    Rest(f64),
}

/// A column of a table.
#[derive(Debug, Clone)]
pub struct Column {
    /// Its heading.
    pub title: String,
    /// Where its cells stand.
    pub align: Align,
    /// How wide it is.
    pub wide: Wide,
}

impl Column {
    /// A column of words.
    pub fn words(title: impl Into<String>) -> Self {
        Self {
            title: title.into(),
            align: Align::Start,
            wide: Wide::Content,
        }
    }

    /// A column of figures, which stand at its end.
    pub fn figures(title: impl Into<String>) -> Self {
        Self {
            align: Align::End,
            ..Self::words(title)
        }
    }

    /// A column of boxes to write in.
    pub fn boxes(title: impl Into<String>, width_mm: f64) -> Self {
        Self {
            wide: Wide::Mm(width_mm),
            ..Self::words(title)
        }
    }

    /// The same with another width.
    #[must_use]
    pub fn wide(self, wide: Wide) -> Self {
        Self { wide, ..self }
    }
}

/// A cell of a table.
#[derive(Debug, Clone)]
pub enum Cell {
    /// Words or figures.
    Text(String),
    /// The same, heavier.
    Strong(String),
    /// A box to write in, so high.
    Write(f64),
    /// A box to tick.
    Tick,
    /// Nothing.
    Blank,
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

/// Blocks laid down the pages, one after another.
pub struct Flow {
    fonts: Fonts,
    setup: Setup,
    pages: Vec<Drawing>,
    /// Where the next block begins on the last page.
    y_mm: f64,
    tables: u32,
    foot: Vec<Arc<Set>>,
    foot_mm: f64,
    /// Room to leave before the next block, unless it begins a page.
    gap_mm: f64,
}

const RULE: Pen = Pen::new(0.15);
const BOX: Pen = Pen::new(0.25);
const SOFT: Colour = Colour::grey(70);

impl Flow {
    /// Begins with an empty page.
    pub fn new(fonts: &Fonts, setup: Setup) -> Self {
        let width_mm = (setup.width_mm - 2.0 * setup.margin_mm).max(5.0);
        let small = TextStyle::new(Face::Sans, setup.body_mm * 0.82)
            .spoken(setup.language)
            .leaded(1.3);
        let foot: Vec<Arc<Set>> = setup
            .foot
            .iter()
            .filter(|text| !text.trim().is_empty())
            .map(|text| Arc::new(fonts.set(text, &small, width_mm)))
            .collect();
        let texts: f64 = foot.iter().map(|set| set.height_mm()).sum();
        let number = small.size_mm * 1.3;
        let above = if foot.is_empty() { 1.0 } else { 3.0 };
        // A foot never takes more than half the page.
        let most = (setup.height_mm - 2.0 * setup.margin_mm) / 2.0;
        let foot_mm = (texts + number + above).min(most.max(0.0));
        let mut flow = Self {
            fonts: fonts.clone(),
            y_mm: 0.0,
            pages: Vec::new(),
            tables: 0,
            foot,
            foot_mm,
            gap_mm: 0.0,
            setup,
        };
        flow.turn_over();
        flow
    }

    /// The faces it sets with.
    pub fn fonts(&self) -> &Fonts {
        &self.fonts
    }

    /// How wide a block is.
    pub fn width_mm(&self) -> f64 {
        (self.setup.width_mm - 2.0 * self.setup.margin_mm).max(5.0)
    }

    /// How much is left on the page.
    pub fn left_mm(&self) -> f64 {
        self.bottom_mm() - self.y_mm
    }

    fn bottom_mm(&self) -> f64 {
        self.setup.height_mm - self.setup.margin_mm - self.foot_mm
    }

    /// Body text of this flow.
    pub fn body(&self) -> TextStyle {
        TextStyle::new(Face::Sans, self.setup.body_mm)
            .spoken(self.setup.language)
            .leaded(1.35)
    }

    /// Goes on to the next page.
    pub fn turn_over(&mut self) {
        self.pages
            .push(Drawing::new(self.setup.width_mm, self.setup.height_mm));
        self.y_mm = self.setup.margin_mm;
        self.gap_mm = 0.0;
    }

    /// Whether nothing stands on the last page.
    fn page_is_fresh(&self) -> bool {
        self.y_mm <= self.setup.margin_mm + 1e-9
    }

    fn page(&mut self) -> &mut Drawing {
        self.pages.last_mut().expect("a flow begins with a page")
    }

    /// Leaves room before the next block.
    pub fn space(&mut self, mm: f64) {
        if mm.is_finite() {
            self.gap_mm = self.gap_mm.max(mm);
        }
    }

    /// Goes on to the next page unless so much is left on this one.
    pub fn need(&mut self, height_mm: f64) {
        if height_mm + self.gap_mm > self.left_mm() && !self.page_is_fresh() {
            self.turn_over();
        }
        if self.page_is_fresh() {
            self.gap_mm = 0.0;
        }
        self.y_mm += self.gap_mm;
        self.gap_mm = 0.0;
    }

    fn x_mm(&self) -> f64 {
        self.setup.margin_mm
    }

    /// A heading of level 1 to 3; it never stands alone at the end of a page.
    pub fn heading(&mut self, level: u8, text: &str) {
        let set = self.heading_set(level, text, self.width_mm());
        let body = self.setup.body_mm;
        self.space(if level == 1 { body * 2.0 } else { body * 1.6 });
        self.need(set.height_mm() + 4.0 * body);
        let (x, y, height) = (self.x_mm(), self.y_mm, set.height_mm());
        self.page().text(x, y, set, Tag::Heading(level));
        self.y_mm += height;
        self.space(body * 0.6);
    }

    fn heading_set(&self, level: u8, text: &str, width_mm: f64) -> Set {
        let body = self.setup.body_mm;
        let (face, size) = match level {
            0 | 1 => (Face::SerifBold, body * 2.1),
            2 => (Face::SerifBold, body * 1.45),
            _ => (Face::SansBold, body),
        };
        let style = TextStyle {
            balanced: level < 3,
            ..TextStyle::new(face, size)
                .spoken(self.setup.language)
                .leaded(1.15)
        };
        self.fonts.set(text, &style, width_mm)
    }

    /// The title of a sheet with a code that must be found at once, large, at the
    /// right: a lot's code with the word for it above.
    pub fn title_with_code(&mut self, title: &str, word: &str, code: &str) {
        let body = self.setup.body_mm;
        let width = self.width_mm();
        let word_set = self.fonts.set_line(
            word,
            &TextStyle::new(Face::Sans, body * 0.82)
                .spoken(self.setup.language)
                .inked(SOFT),
        );
        let code_style = TextStyle {
            tabular: true,
            ..TextStyle::new(Face::SansBold, body * 2.6)
                .spoken(self.setup.language)
                .leaded(1.1)
        };
        let code_set = self
            .fonts
            .fit(code, &code_style, width * 0.5, body * 6.0, body);
        let code_width = code_set.width_mm().max(word_set.width_mm());
        let title_set = self.heading_set(1, title, (width - code_width - body * 2.0).max(10.0));
        let height = title_set
            .height_mm()
            .max(word_set.height_mm() + code_set.height_mm());
        self.need(height + body * 4.0);
        let (left, top) = (self.x_mm(), self.y_mm);
        let right = left + width;
        let page = self.page();
        page.text(left, top, title_set, Tag::Heading(1));
        let word_height = word_set.height_mm();
        page.text(right - code_width, top, word_set, Tag::Paragraph);
        page.text(
            right - code_width,
            top + word_height,
            code_set,
            Tag::Paragraph,
        );
        self.y_mm += height;
        self.space(body * 0.8);
    }

    /// A paragraph of body text; over a page's end at least two lines stay together.
    pub fn paragraph(&mut self, text: &str) {
        self.paragraph_in(text, &self.body());
    }

    /// A paragraph in another style.
    pub fn paragraph_in(&mut self, text: &str, style: &TextStyle) {
        let set = self.fonts.set(text, style, self.width_mm());
        self.lines(set, Tag::Paragraph);
        self.space(self.setup.body_mm * 0.7);
    }

    fn lines(&mut self, set: Set, tag: Tag) {
        let mut rest = set;
        while !rest.lines().is_empty() {
            let line = rest.height_mm() / count(rest.lines().len());
            let least = rest.lines().len().min(2);
            self.need(line * count(least));
            let mut fits = whole(self.left_mm() / line).max(1);
            let lines = rest.lines().len();
            if fits < lines && lines - fits < 2 && fits > 2 {
                fits -= 1;
            }
            let (now, later) = rest.split(fits.min(lines));
            let (x, y, height) = (self.x_mm(), self.y_mm, now.height_mm());
            self.page().text(x, y, now, tag);
            self.y_mm += height;
            rest = later;
            if !rest.lines().is_empty() {
                self.turn_over();
            }
        }
    }

    /// A thin line across.
    pub fn rule(&mut self) {
        let body = self.setup.body_mm;
        self.space(body * 0.7);
        self.need(1.0);
        let (x, y, width) = (self.x_mm(), self.y_mm, self.width_mm());
        self.page().line((x, y), (x + width, y), RULE);
        self.space(body * 0.7);
    }

    /// Names with what belongs to them, one pair a line, the names in a column.
    pub fn pairs(&mut self, pairs: &[(&str, &str)]) {
        let body = self.body();
        let name_style = body.inked(SOFT);
        let width = self.width_mm();
        let names: f64 = pairs
            .iter()
            .map(|(name, _)| self.fonts.width(name, &name_style))
            .fold(0.0, f64::max)
            .min(width * 0.4);
        let gap = self.setup.body_mm * 1.2;
        let (indent, rest) = (names + gap, (width - names - gap).max(5.0));
        for (name, value) in pairs {
            let name = self.fonts.set(name, &name_style, names + 0.01);
            let value = self.fonts.set(value, &body, rest);
            let height = name.height_mm().max(value.height_mm());
            self.need(height.min(self.bottom_mm() - self.setup.margin_mm));
            let (x, y) = (self.x_mm(), self.y_mm);
            self.page().text(x, y, name, Tag::Paragraph);
            self.page().text(x + indent, y, value, Tag::Paragraph);
            self.y_mm += height;
        }
        self.space(self.setup.body_mm * 0.7);
    }

    /// Lines with a box to tick before each.
    pub fn ticks(&mut self, lines: &[&str]) {
        let body = self.body();
        let size = self.setup.body_mm;
        let indent = size * 1.9;
        for text in lines {
            let set = self
                .fonts
                .set(text, &body, (self.width_mm() - indent).max(5.0));
            let height = set.height_mm() + size * 0.35;
            self.need(height.min(self.bottom_mm() - self.setup.margin_mm));
            let (x, y) = (self.x_mm(), self.y_mm);
            let middle = set.first_baseline_mm() - self.fonts.cap_height(Face::Sans, size) / 2.0;
            let page = self.page();
            tick_box(page, x, y + middle, size * 1.15);
            page.text(x + indent, y, set, Tag::Paragraph);
            self.y_mm += height;
        }
        self.space(size * 0.7);
    }

    /// Boxes to write in, side by side, each under its name; so many to a row
    /// that none is narrower than `least_mm`.
    pub fn write_in(&mut self, names: &[&str], least_mm: f64, height_mm: f64) {
        let gap = self.setup.body_mm;
        let width = self.width_mm();
        let least = if least_mm.is_finite() {
            least_mm.clamp(5.0, width)
        } else {
            width
        };
        let most = whole((width + gap) / (least + gap)).clamp(1, names.len().max(1));
        // As even as the rows can be.
        let per_row = names
            .len()
            .div_ceil(names.len().div_ceil(most).max(1))
            .max(1);
        let box_width = (width - gap * count(per_row - 1)) / count(per_row);
        let style = self.body().sized(self.setup.body_mm * 0.82).inked(SOFT);
        let height_mm = height_mm.clamp(3.0, 100.0);
        for row in names.chunks(per_row) {
            let sets: Vec<Set> = row
                .iter()
                .map(|name| self.fonts.set(name, &style, box_width))
                .collect();
            let names_high = sets.iter().map(Set::height_mm).fold(0.0, f64::max);
            self.need(names_high + height_mm + gap * 0.6);
            let (x, y) = (self.x_mm(), self.y_mm);
            for (idx, set) in sets.into_iter().enumerate() {
                let x = x + count(idx) * (box_width + gap);
                let over = names_high - set.height_mm();
                self.page().text(x, y + over, set, Tag::Paragraph);
                self.page().rect(
                    x,
                    y + names_high + 0.4,
                    box_width,
                    height_mm,
                    0.0,
                    Paint::pen(BOX),
                );
            }
            self.y_mm += names_high + 0.4 + height_mm;
            self.space(gap * 0.8);
        }
    }

    /// Ruled lines to write on.
    pub fn ruled(&mut self, lines: usize, apart_mm: f64) {
        let apart = apart_mm.clamp(4.0, 40.0);
        for _ in 0..lines.min(200) {
            self.need(apart);
            self.y_mm += apart;
            let (x, y, width) = (self.x_mm(), self.y_mm, self.width_mm());
            self.page().line((x, y), (x + width, y), RULE);
        }
        self.space(self.setup.body_mm);
    }

    /// A drawing kept whole, at the left.
    pub fn drawing(&mut self, drawing: impl Into<Arc<Drawing>>) {
        let drawing = drawing.into();
        let height = drawing.height_mm;
        self.need(height);
        let (x, y) = (self.x_mm(), self.y_mm);
        self.page().place(x, y, super::Turn::None, drawing);
        self.y_mm += height;
        self.space(self.setup.body_mm * 0.8);
    }

    /// A figure kept whole, at the left, with what it shows in words.
    pub fn figure(&mut self, alt: &str, drawing: impl Into<Arc<Drawing>>) {
        let drawing = drawing.into();
        let height = drawing.height_mm;
        self.need(height);
        let (x, y) = (self.x_mm(), self.y_mm);
        self.page().figure(x, y, alt, drawing);
        self.y_mm += height;
        self.space(self.setup.body_mm * 0.8);
    }

    /// A table. A row with too few cells is filled up, cells too many are left out.
    pub fn table(&mut self, columns: &[Column], rows: &[Vec<Cell>]) {
        if columns.is_empty() {
            return;
        }
        self.tables += 1;
        let widths = self.widths(columns, rows);
        let head = self.head_row(columns, &widths);
        let body = self.setup.body_mm;
        let first = rows
            .first()
            .map_or(0.0, |row| self.row(columns, &widths, row).height_mm);
        self.space(body * 0.4);
        self.need(head.height_mm + first.min(body * 12.0));
        self.put_row(&head, Structure::HeadRow);
        for row in rows {
            let mut rest = Some(self.row(columns, &widths, row));
            while let Some(row) = rest.take() {
                if row.height_mm <= self.left_mm() {
                    self.put_row(&row, Structure::Row);
                    continue;
                }
                let fresh = self.bottom_mm() - self.setup.margin_mm - head.height_mm;
                // A row too high for any page is cut where the page ends.
                if row.height_mm > fresh
                    && self.left_mm() > body * 6.0
                    && let Some((now, later)) = row.cut(self.left_mm(), body)
                {
                    self.put_row(&now, Structure::Row);
                    rest = Some(later);
                } else if self.page_is_fresh()
                    || (self.y_mm - self.setup.margin_mm) <= head.height_mm + 1e-9
                {
                    // Nothing of it can be cut, and it stands at the top already.
                    self.put_row(&row, Structure::Row);
                    continue;
                } else {
                    rest = Some(row);
                }
                self.turn_over();
                self.put_row(&head, Structure::Furniture);
            }
        }
        self.space(body * 1.0);
    }

    fn widths(&self, columns: &[Column], rows: &[Vec<Cell>]) -> Vec<f64> {
        // Between columns; the outer edges of the table are those of the page's text.
        let inside =
            (self.width_mm() - self.apart_mm() * count(columns.len().saturating_sub(1))).max(1.0);
        let mut least = Vec::new();
        let mut most = Vec::new();
        for (idx, column) in columns.iter().enumerate() {
            if let Wide::Mm(mm) = column.wide {
                let mm = if mm.is_finite() {
                    mm.clamp(1.0, inside)
                } else {
                    inside
                };
                least.push(mm);
                most.push(mm);
                continue;
            }
            let heading = self.heading_style();
            let (mut word, mut line) = self.reach(&column.title, &heading);
            for row in rows {
                let (one_word, one_line) = match row.get(idx) {
                    Some(Cell::Text(text)) => self.reach(text, &self.cell_style(false, column)),
                    Some(Cell::Strong(text)) => self.reach(text, &self.cell_style(true, column)),
                    Some(Cell::Write(_)) => (14.0, 22.0),
                    Some(Cell::Tick) => (5.0, 5.0),
                    Some(Cell::Blank) | None => (0.0, 0.0),
                };
                word = word.max(one_word);
                line = line.max(one_line);
            }
            // A figure is not parted from its unit.
            if column.align == Align::End {
                word = word.max(line);
            }
            // A word longer than a third of the table is broken rather than kept.
            least.push(word.min(inside / 3.0).max(1.0));
            most.push(line.max(word).max(1.0));
        }
        share(columns, &least, &most, inside)
    }

    /// The longest word and the whole line.
    fn reach(&self, text: &str, style: &TextStyle) -> (f64, f64) {
        let text: String = text.chars().take(400).collect();
        let line = text
            .lines()
            .map(|line| self.fonts.width(line, style))
            .fold(0.0, f64::max);
        let longest = text
            .split_whitespace()
            .max_by_key(|word| word.chars().count())
            .unwrap_or_default();
        let word = if longest.len() == text.len() {
            line
        } else {
            self.fonts.width(longest, style)
        };
        // A hair more, so that a line measured alone also fits where it stands.
        (word + 0.05, line + 0.05)
    }

    fn pad_mm(&self) -> f64 {
        self.setup.body_mm * 0.35
    }

    fn apart_mm(&self) -> f64 {
        self.setup.body_mm * 1.1
    }

    fn heading_style(&self) -> TextStyle {
        TextStyle::new(Face::SansBold, self.setup.body_mm * 0.85)
            .spoken(self.setup.language)
            .leaded(1.25)
    }

    fn cell_style(&self, strong: bool, column: &Column) -> TextStyle {
        let face = if strong { Face::SansBold } else { Face::Sans };
        TextStyle {
            face,
            tabular: column.align == Align::End,
            align: column.align,
            ..self.body().leaded(1.25)
        }
    }

    fn head_row(&self, columns: &[Column], widths: &[f64]) -> Row {
        let mut row = Row::new(self.pad_mm(), self.apart_mm());
        for (column, width) in columns.iter().zip(widths) {
            let style = TextStyle {
                align: column.align,
                ..self.heading_style()
            };
            row.push(
                Inside::Words(self.fonts.set(&column.title, &style, *width)),
                *width,
            );
        }
        row.head = true;
        row
    }

    fn row(&self, columns: &[Column], widths: &[f64], cells: &[Cell]) -> Row {
        let mut row = Row::new(self.pad_mm(), self.apart_mm());
        for (idx, (column, width)) in columns.iter().zip(widths).enumerate() {
            let set = |text: &str, strong| {
                Inside::Words(
                    self.fonts
                        .set(text, &self.cell_style(strong, column), *width),
                )
            };
            let inside = match cells.get(idx) {
                Some(Cell::Text(text)) => set(text, false),
                Some(Cell::Strong(text)) => set(text, true),
                Some(Cell::Write(height)) => Inside::Write(height.clamp(3.0, 60.0)),
                Some(Cell::Tick) => Inside::Tick(self.setup.body_mm * 1.15),
                Some(Cell::Blank) | None => Inside::Blank,
            };
            row.push(inside, *width);
        }
        row
    }

    fn put_row(&mut self, row: &Row, kind: Structure) {
        self.need(0.0);
        let width = self.width_mm();
        let drawing = row.draw(width, &kind);
        let height = row.height_mm;
        let (x, y, number) = (self.x_mm(), self.y_mm, self.tables);
        if kind == Structure::Furniture {
            self.page().group(x, y, kind, drawing);
        } else {
            let mut table = Drawing::new(width, height);
            table.group(0.0, 0.0, kind, drawing);
            self.page().group(x, y, Structure::Table(number), table);
        }
        self.y_mm += height;
    }

    /// Ends the flow: the foot goes on every page.
    pub fn finish(self, title: impl Into<String>, made: Made) -> Document {
        let mut document = Document::new(title, self.setup.language, made);
        document.pages = self.pages();
        document
    }

    /// The pages with their foot.
    pub fn pages(mut self) -> Vec<Drawing> {
        let pages = self.pages.len();
        let width = self.width_mm();
        let small = self.body().sized(self.setup.body_mm * 0.82).inked(SOFT);
        let bottom = self.setup.height_mm - self.setup.margin_mm;
        for idx in 0..pages {
            let number = self
                .fonts
                .set_line(&(self.setup.page_of)(idx + 1, pages), &small);
            let name_room = (width - number.width_mm() - self.setup.body_mm).max(1.0);
            let name = self.fonts.set(&self.setup.name, &small, name_room);
            let (name, _) = name.split(1);
            let page = &mut self.pages[idx];
            let line = bottom - number.height_mm();
            let x = self.setup.margin_mm;
            let texts: f64 = self.foot.iter().map(|set| set.height_mm()).sum();
            if !self.foot.is_empty() {
                let mut y = line - texts - 0.8;
                page.line((x, y - 1.0), (x + width, y - 1.0), RULE);
                for set in &self.foot {
                    // Read once, on the first page; on others it is only seen.
                    let tag = if idx == 0 {
                        Tag::Paragraph
                    } else {
                        Tag::Furniture
                    };
                    page.text(x, y, Arc::clone(set), tag);
                    y += set.height_mm();
                }
            }
            page.text(x, line, name, Tag::Furniture);
            page.text(x + width - number.width_mm(), line, number, Tag::Furniture);
        }
        self.pages
    }
}

/// A row laid out.
#[derive(Clone)]
struct Row {
    cells: Vec<(Inside, f64)>,
    pad_mm: f64,
    apart_mm: f64,
    height_mm: f64,
    head: bool,
}

#[derive(Clone)]
enum Inside {
    Words(Set),
    Write(f64),
    Tick(f64),
    Blank,
}

impl Inside {
    fn height_mm(&self) -> f64 {
        match self {
            Self::Words(set) => set.height_mm(),
            Self::Write(height) => *height,
            Self::Tick(side) => *side,
            Self::Blank => 0.0,
        }
    }
}

impl Row {
    fn new(pad_mm: f64, apart_mm: f64) -> Self {
        Self {
            cells: Vec::new(),
            pad_mm,
            apart_mm,
            height_mm: 2.0 * pad_mm,
            head: false,
        }
    }

    fn push(&mut self, inside: Inside, width_mm: f64) {
        self.height_mm = self.height_mm.max(inside.height_mm() + 2.0 * self.pad_mm);
        self.cells.push((inside, width_mm));
    }

    /// What fits a height and what is left, unless nothing can be cut.
    fn cut(&self, height_mm: f64, least_mm: f64) -> Option<(Self, Self)> {
        let room = height_mm - 2.0 * self.pad_mm;
        let (mut now, mut later) = (
            Self::new(self.pad_mm, self.apart_mm),
            Self::new(self.pad_mm, self.apart_mm),
        );
        let mut cut = false;
        for (inside, width) in &self.cells {
            let width = *width;
            match inside {
                Inside::Words(set) if set.height_mm() > room => {
                    let line = set.height_mm() / count(set.lines().len().max(1));
                    let fits = whole(room / line.max(least_mm * 0.1)).max(1);
                    let (first, rest) = set.clone().split(fits);
                    cut |= !rest.lines().is_empty();
                    now.push(Inside::Words(first), width);
                    later.push(Inside::Words(rest), width);
                }
                inside => {
                    now.push(inside.clone(), width);
                    later.push(Inside::Blank, width);
                }
            }
        }
        cut.then_some((now, later))
    }

    fn draw(&self, width_mm: f64, kind: &Structure) -> Drawing {
        let mut drawing = Drawing::new(width_mm, self.height_mm);
        let boxes = self
            .cells
            .iter()
            .any(|(inside, _)| matches!(inside, Inside::Write(_) | Inside::Tick(_)));
        let mut x = 0.0;
        for (inside, width) in &self.cells {
            let mut cell = Drawing::new(*width, self.height_mm);
            match inside {
                Inside::Words(set) => {
                    // Headings stand on one line at the bottom, cells at the top or
                    // beside the middle of a box.
                    let y = if self.head {
                        self.height_mm - self.pad_mm - set.height_mm()
                    } else if boxes {
                        (self.height_mm - set.height_mm()) / 2.0
                    } else {
                        self.pad_mm
                    };
                    cell.text(0.0, y, set.clone(), Tag::Paragraph);
                }
                Inside::Write(height) => cell.rect(
                    0.0,
                    (self.height_mm - height) / 2.0,
                    *width,
                    *height,
                    0.0,
                    Paint::pen(BOX),
                ),
                Inside::Tick(side) => tick_box(&mut cell, 0.0, self.height_mm / 2.0, *side),
                Inside::Blank => {}
            }
            let kind = match kind {
                Structure::HeadRow => Some(Structure::HeadCell),
                Structure::Row => Some(Structure::Cell),
                _ => None,
            };
            let at = kurbo::Affine::translate((x, 0.0));
            drawing.part(at, Arc::new(cell), kind, None);
            x += width + self.apart_mm;
        }
        let pen = if self.head { Pen::new(0.3) } else { RULE };
        drawing.line((0.0, self.height_mm), (width_mm, self.height_mm), pen);
        drawing
    }
}

/// A square to tick, its middle at `middle_mm`.
fn tick_box(drawing: &mut Drawing, x_mm: f64, middle_mm: f64, side_mm: f64) {
    drawing.rect(
        x_mm + 0.15,
        middle_mm - side_mm / 2.0,
        side_mm,
        side_mm,
        0.0,
        Paint::pen(BOX),
    );
}

/// Shares out the room for columns: each gets its longest word at least, then its
/// longest line where there is room; what is over goes to those that asked for
/// it, otherwise to all by what stands in them.
fn share(columns: &[Column], least: &[f64], most: &[f64], inside: f64) -> Vec<f64> {
    let (sum_least, sum_most): (f64, f64) = (least.iter().sum(), most.iter().sum());
    if sum_most <= inside {
        let over = inside - sum_most;
        let asked: f64 = columns.iter().map(rest_of).sum();
        let open: f64 = columns
            .iter()
            .zip(most)
            .filter(|(column, _)| !matches!(column.wide, Wide::Mm(_)))
            .map(|(_, most)| most)
            .sum();
        return columns
            .iter()
            .zip(most)
            .map(|(column, most)| {
                if asked > 0.0 {
                    most + over * rest_of(column) / asked
                } else if open > 0.0 && !matches!(column.wide, Wide::Mm(_)) {
                    most + over * most / open
                } else {
                    *most
                }
            })
            .collect();
    }
    if sum_least <= inside {
        let wish = (sum_most - sum_least).max(1e-9);
        return least
            .iter()
            .zip(most)
            .map(|(least, most)| least + (inside - sum_least) * (most - least) / wish)
            .collect();
    }
    least
        .iter()
        .map(|least| least * inside / sum_least)
        .collect()
}

fn rest_of(column: &Column) -> f64 {
    match column.wide {
        Wide::Rest(share) if share.is_finite() => share.max(0.0),
        _ => 0.0,
    }
}

fn count(number: usize) -> f64 {
    number as f64
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "never negative, and a page holds few"
)]
fn whole(number: f64) -> usize {
    (number + 1e-6).max(0.0) as usize
}
