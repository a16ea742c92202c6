//! Paper read back by programs of others: poppler (what is on a page and where),
//! qpdf (the file's syntax), zbar (bar codes). Lengths are measured on a raster
//! of 600 dots to the inch.
//!
//! Where a program is missing the test says that it is left out and passes; with
//! `POURWRIGHT_PAPER=required` it fails.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Arc;

use label::gtin::{Gtin, Kind};
use label::sheet::{Drift, Outline, Sheet};
use label::symbol::{BarSize, Bars, Level, Square};
use press::Pictogram;
use press::paper::sheet::{self, Marks};
use press::paper::{Colour, Document, Drawing, Face, Fonts, Paint, Tag, TextStyle, code};

use super::paper::{MADE, page_of};

const DPI: f64 = 600.0;

/// Whether a program answers; when it must and does not, the test fails.
#[track_caller]
fn there(program: &str) -> bool {
    let found = Command::new(program).arg("--version").output().is_ok()
        || Command::new(program).arg("-v").output().is_ok();
    if !found {
        assert!(
            std::env::var("POURWRIGHT_PAPER").as_deref() != Ok("required"),
            "{program} is not installed"
        );
        eprintln!("left out: {program} is not installed");
    }
    found
}

struct Printed {
    folder: PathBuf,
}

impl Printed {
    fn new(name: &str, document: &Document) -> Self {
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR"))
            .join("outside")
            .join(name);
        std::fs::create_dir_all(&folder).expect("the test folder can be made");
        let pdf = document.pdf().expect("it keeps to its standards");
        std::fs::write(folder.join("paper.pdf"), pdf).expect("the folder can be written");
        Self { folder }
    }

    #[track_caller]
    fn ask(&self, program: &str, arguments: &[&str]) -> String {
        let output = Command::new(program)
            .args(arguments)
            .current_dir(&self.folder)
            .output()
            .expect("the program starts");
        assert!(
            output.status.success(),
            "{program} {arguments:?}: {}",
            String::from_utf8_lossy(&output.stderr)
        );
        String::from_utf8_lossy(&output.stdout).into_owned()
    }

    /// A page as grey values, drawn by poppler.
    fn raster(&self, page: usize) -> Raster {
        let page = page.to_string();
        self.ask(
            "pdftoppm",
            &[
                "-r",
                "600",
                "-gray",
                "-f",
                &page,
                "-l",
                &page,
                "-singlefile",
                "paper.pdf",
                "page",
            ],
        );
        Raster::read(&std::fs::read(self.folder.join("page.pgm")).expect("a raster was written"))
    }
}

struct Raster {
    width: usize,
    grey: Vec<u8>,
}

impl Raster {
    /// Reads the binary grey map of netpbm: `P5`, width, height, 255, then a byte a dot.
    fn read(file: &[u8]) -> Self {
        let mut at = 0;
        let mut word = || {
            let from = at
                + file[at..]
                    .iter()
                    .position(|b| !b.is_ascii_whitespace())
                    .expect("a word");
            let to = from
                + file[from..]
                    .iter()
                    .position(u8::is_ascii_whitespace)
                    .expect("an end");
            at = to;
            String::from_utf8_lossy(&file[from..to]).into_owned()
        };
        assert_eq!(word(), "P5");
        let width: usize = word().parse().expect("a width");
        let height: usize = word().parse().expect("a height");
        assert_eq!(word(), "255");
        let grey = file[at + 1..].to_vec();
        assert_eq!(grey.len(), width * height);
        Self { width, grey }
    }

    fn dark(&self, x: usize, y: usize) -> bool {
        self.grey[y * self.width + x] < 128
    }

    /// Where dark begins and ends along a row, in millimetres.
    fn runs_across(&self, y_mm: f64) -> Vec<(f64, f64)> {
        let y = dots(y_mm);
        runs((0..self.width).map(|x| self.dark(x, y)))
    }

    fn runs_down(&self, x_mm: f64) -> Vec<(f64, f64)> {
        let x = dots(x_mm);
        runs((0..self.grey.len() / self.width).map(|y| self.dark(x, y)))
    }

    /// The box of what is dark inside a box, in millimetres.
    fn ink(&self, x: (f64, f64), y: (f64, f64)) -> (f64, f64, f64, f64) {
        let (mut left, mut top, mut right, mut bottom) = (usize::MAX, usize::MAX, 0, 0);
        for row in dots(y.0)..dots(y.1) {
            for column in dots(x.0)..dots(x.1) {
                if self.dark(column, row) {
                    left = left.min(column);
                    right = right.max(column + 1);
                    top = top.min(row);
                    bottom = bottom.max(row + 1);
                }
            }
        }
        (mm(left), mm(top), mm(right), mm(bottom))
    }
}

fn runs(dark: impl Iterator<Item = bool>) -> Vec<(f64, f64)> {
    let mut runs = Vec::new();
    let mut begun = None;
    let mut end = 0;
    for (at, dark) in dark.enumerate() {
        match (begun, dark) {
            (None, true) => begun = Some(at),
            (Some(from), false) => {
                runs.push((mm(from), mm(at)));
                begun = None;
            }
            _ => {}
        }
        end = at + 1;
    }
    if let Some(from) = begun {
        runs.push((mm(from), mm(end)));
    }
    runs
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a place on a page"
)]
fn dots(mm: f64) -> usize {
    (mm / 25.4 * DPI).round() as usize
}

fn mm(dots: usize) -> f64 {
    dots as f64 / DPI * 25.4
}

#[track_caller]
fn near(measured: f64, meant: f64, within: f64, what: &str) {
    assert!(
        (measured - meant).abs() <= within,
        "{what}: {measured:.3} mm measured, {meant:.3} mm meant"
    );
}

/// 21 labels of 63.5 by 38.1 mm on A4, a gutter across and none down.
const TWENTY_ONE: Sheet = Sheet {
    page_width_mm: 210.0,
    page_height_mm: 297.0,
    margin_left_mm: 7.21,
    margin_top_mm: 15.15,
    label_width_mm: 63.5,
    label_height_mm: 38.1,
    pitch_x_mm: 66.04,
    pitch_y_mm: 38.1,
    columns: 3,
    rows: 7,
    outline: Outline::Rectangle { corner_mm: 1.5 },
};

/// 30 labels of 2⅝ by 1 inch on letter.
const THIRTY: Sheet = Sheet {
    page_width_mm: 215.9,
    page_height_mm: 279.4,
    margin_left_mm: 4.7625,
    margin_top_mm: 12.7,
    label_width_mm: 66.675,
    label_height_mm: 25.4,
    pitch_x_mm: 69.85,
    pitch_y_mm: 25.4,
    columns: 3,
    rows: 10,
    outline: Outline::Rectangle { corner_mm: 1.0 },
};

/// A black field one millimetre inside the edges of a label.
fn field(sheet: &Sheet) -> Arc<Drawing> {
    let (width, height) = (sheet.label_width_mm, sheet.label_height_mm);
    let mut field = Drawing::new(width, height);
    field.rect(
        1.0,
        1.0,
        width - 2.0,
        height - 2.0,
        0.0,
        Paint::fill(Colour::BLACK),
    );
    Arc::new(field)
}

#[test]
fn labels_lie_where_the_sheet_says() {
    if !there("pdftoppm") {
        return;
    }
    for (name, sheet) in [("a4", TWENTY_ONE), ("letter", THIRTY)] {
        let runs = [(field(&sheet), sheet.per_page())];
        let mut document = Document::new("Fields", "en", MADE);
        document.pages =
            sheet::labels(&sheet, &runs, 1, Drift::NONE, Marks::default()).expect("one page");
        let raster = Printed::new(&format!("labels-{name}"), &document).raster(1);
        let middle = sheet.margin_top_mm + sheet.label_height_mm / 2.0;
        let across = raster.runs_across(middle);
        assert_eq!(across.len(), sheet.columns as usize);
        for (column, (from, to)) in (0..).zip(across) {
            let (x, _) = sheet.cell_mm(column, 0);
            near(from, x + 1.0, 0.1, "left edge");
            near(to, x + sheet.label_width_mm - 1.0, 0.1, "right edge");
        }
        let down = raster.runs_down(sheet.margin_left_mm + sheet.label_width_mm / 2.0);
        assert_eq!(down.len(), sheet.rows as usize);
        for (row, (from, to)) in (0..).zip(down) {
            let (_, y) = sheet.cell_mm(0, row);
            near(from, y + 1.0, 0.1, "upper edge");
            near(to, y + sheet.label_height_mm - 1.0, 0.1, "lower edge");
        }
    }
}

#[test]
fn a_printer_that_drifts_is_met() {
    if !there("pdftoppm") {
        return;
    }
    let drift = Drift {
        dx_mm: 1.2,
        dy_mm: -0.8,
        scale_x: 0.995,
        scale_y: 1.004,
    };
    let mut document = Document::new("Fields", "en", MADE);
    // Only the last place, so that the whole page's stretch shows.
    document.pages = sheet::labels(&THIRTY, &[(field(&THIRTY), 1)], 30, drift, Marks::default())
        .expect("one page");
    let raster = Printed::new("drift", &document).raster(1);
    let (x, y) = THIRTY.cell_mm(2, 9);
    let (left, top, right, bottom) = raster.ink((0.5, 215.0), (0.5, 279.0));
    // What such a printer makes of the page lands in the cell.
    let (landed_left, landed_top) = drift.lands(left, top);
    let (landed_right, landed_bottom) = drift.lands(right, bottom);
    near(landed_left, x + 1.0, 0.1, "left edge");
    near(
        landed_right,
        x + THIRTY.label_width_mm - 1.0,
        0.1,
        "right edge",
    );
    near(landed_top, y + 1.0, 0.1, "upper edge");
    near(
        landed_bottom,
        y + THIRTY.label_height_mm - 1.0,
        0.1,
        "lower edge",
    );
}

#[test]
fn cut_marks_stand_in_line_with_the_labels_and_keep_off_them() {
    if !there("pdftoppm") {
        return;
    }
    let blank = Arc::new(Drawing::new(63.5, 38.1));
    let mut document = Document::new("Marks", "en", MADE);
    let marks = Marks {
        cut: true,
        ..Marks::default()
    };
    document.pages =
        sheet::labels(&TWENTY_ONE, &[(blank, 1)], 1, Drift::NONE, marks).expect("one page");
    let raster = Printed::new("marks", &document).raster(1);
    let across = raster.runs_across(12.0);
    let middles: Vec<f64> = across
        .iter()
        .map(|(from, to)| f64::midpoint(*from, *to))
        .collect();
    assert_eq!(middles.len(), 6, "{middles:?}");
    for column in 0..3 {
        let (x, _) = TWENTY_ONE.cell_mm(column, 0);
        let at = column as usize * 2;
        near(middles[at], x, 0.1, "left mark");
        near(middles[at + 1], x + 63.5, 0.1, "right mark");
    }
    assert_eq!(
        raster.runs_across(30.0).len(),
        0,
        "nothing lies over the labels"
    );
}

#[test]
fn heights_of_letters_are_those_in_the_raster() {
    if !there("pdftoppm") {
        return;
    }
    let fonts = Fonts::new();
    let mut page = Drawing::new(80.0, 200.0);
    let mut y = 10.0;
    let heights = [1.2, 1.4, 1.8, 2.0, 6.0];
    for face in Face::ALL {
        for (idx, height) in heights.into_iter().enumerate() {
            let size = fonts.size_for_x_height(face, height);
            let set = fonts.set_line("x", &TextStyle::new(face, size));
            page.text_on(5.0 + 14.0 * idx as f64, y, set, Tag::Paragraph);
            let size = fonts.size_for_cap_height(face, height);
            let set = fonts.set_line("H", &TextStyle::new(face, size));
            page.text_on(5.0 + 14.0 * idx as f64, y + 12.0, set, Tag::Paragraph);
        }
        y += 26.0;
    }
    let raster = Printed::new("heights", &page_of(page)).raster(1);
    let mut y = 10.0;
    for face in Face::ALL {
        for (idx, height) in heights.into_iter().enumerate() {
            let x = 4.0 + 14.0 * idx as f64;
            for (what, baseline) in [("x", y), ("H", y + 12.0)] {
                let (_, top, _, _) = raster.ink((x, x + 13.5), (baseline - 9.0, baseline + 2.0));
                // An edge falls on a dot or beside it.
                near(
                    baseline - top,
                    height,
                    0.06,
                    &format!("{face:?} {what} of {height}"),
                );
            }
        }
        y += 26.0;
    }
}

#[test]
fn pages_have_their_size_their_fonts_and_sound_syntax() {
    let programs = ["pdfinfo", "pdffonts", "qpdf"];
    if !programs.into_iter().all(there) {
        return;
    }
    let fonts = Fonts::new();
    let mut page = Drawing::new(210.0, 297.0);
    for (idx, face) in Face::ALL.into_iter().enumerate() {
        let set = fonts.set(
            "Żółty wosk, warmes Wachs, Κερί и воск",
            &TextStyle::new(face, 4.0),
            150.0,
        );
        page.text(20.0, 20.0 + 12.0 * idx as f64, set, Tag::Paragraph);
    }
    let mut document = page_of(page);
    document.pages.push(Drawing::new(215.9, 279.4));
    let printed = Printed::new("fonts", &document);
    let info = printed.ask("pdfinfo", &["-f", "1", "-l", "2", "paper.pdf"]);
    for line in [
        "Title:           A page",
        "Tagged:          yes",
        "PDF version:     1.7",
    ] {
        assert!(info.contains(line), "{info}");
    }
    // ISO 216: 210 by 297 mm; letter is 612 by 792 points.
    assert!(info.contains("size:  595.276 x 841.89 pts (A4)"), "{info}");
    assert!(info.contains("size:  612 x 792 pts (letter)"), "{info}");
    let table = printed.ask("pdffonts", &["paper.pdf"]);
    let rows: Vec<&str> = table.lines().skip(2).collect();
    assert_eq!(rows.len(), Face::ALL.len(), "{table}");
    for row in rows {
        // Embedded, subset, with a map to characters; a subset's name has a prefix.
        assert!(row.contains(" yes yes yes "), "{row}");
        assert!(row.as_bytes()[6] == b'+', "{row}");
    }
    let check = printed.ask("qpdf", &["--check", "paper.pdf"]);
    assert!(
        check.contains("No syntax or stream encoding errors"),
        "{check}"
    );
}

#[test]
fn text_is_read_in_order_with_its_structure() {
    if !(there("pdftotext") && there("pdfinfo")) {
        return;
    }
    let fonts = Fonts::new();
    let mut flow = press::paper::Flow::new(
        &fonts,
        press::paper::Setup {
            foot: vec!["Hot wax burns.".to_owned()],
            ..press::paper::Setup::new(press::paper::PageSize::A5)
        },
    );
    flow.heading(1, "Tin Roof Mint");
    flow.paragraph("Effizient geflossen: <b>&\" “quoted” fiſh ﬁne.");
    flow.table(
        &[
            press::paper::Column::words("What"),
            press::paper::Column::figures("oz"),
        ],
        &[
            vec!["Soy blend".into(), "16.9".into()],
            vec!["Mint".into(), "1.69".into()],
        ],
    );
    flow.figure("A flame", Pictogram::Flame.drawing(10.0));
    let printed = Printed::new("order", &flow.finish("Order", MADE));
    let text = printed.ask("pdftotext", &["paper.pdf", "-"]);
    let words: Vec<&str> = text.split_whitespace().collect();
    assert_eq!(
        words.join(" "),
        "Tin Roof Mint Effizient geflossen: <b>&\" “quoted” fiſh ﬁne. What oz Soy blend 16.9 \
         Mint 1.69 Hot wax burns. page 1 of 1"
    );
    let structure = printed.ask("pdfinfo", &["-struct-text", "paper.pdf"]);
    let plain: Vec<&str> = structure.split_whitespace().collect();
    let at = |wanted: &str| {
        plain
            .iter()
            .position(|word| word.contains(wanted))
            .unwrap_or_else(|| panic!("no {wanted} in {structure}"))
    };
    assert!(
        at("H1") < at("Roof") && at("Roof") < at("Effizient"),
        "{structure}"
    );
    assert!(at("Table") < at("TH") && at("TH") < at("TD"), "{structure}");
    assert!(at("Figure") > at("TD"), "{structure}");
    // Where the figure stands is said with it, in points from the lower left.
    assert!(structure.contains("BBox"), "{structure}");
    // The page's number is furniture: it is not in the structure.
    assert!(!structure.contains("page 1 of 1"), "{structure}");
}

#[test]
fn bar_codes_and_squares_are_read_from_the_raster() {
    if !(there("pdftoppm") && there("zbarimg")) {
        return;
    }
    let fonts = Fonts::new();
    // GS1 General Specifications print 629104150021 with check digit 3; the
    // others are examples whose check digit follows by the same rule.
    for (digits, told, x_mm) in [
        ("6291041500213", "EAN-13:6291041500213", 0.264),
        ("6291041500213", "EAN-13:6291041500213", 0.33),
        ("6291041500213", "EAN-13:6291041500213", 0.66),
        ("036000291452", "EAN-13:0036000291452", 0.264),
        ("96385074", "EAN-8:96385074", 0.264),
    ] {
        let kind = match digits.len() {
            8 => Kind::Gtin8,
            12 => Kind::Gtin12,
            _ => Kind::Gtin13,
        };
        let gtin = Gtin::parse(digits, Some(kind))
            .expect("a number with its check digit")
            .gtin;
        let bars = Bars::of(&gtin).expect("a till reads it");
        let drawing = code::bars(&fonts, &bars, &BarSize::at(bars.symbol(), x_mm));
        let mut page = Drawing::new(drawing.width_mm + 10.0, drawing.height_mm + 10.0);
        page.figure(5.0, 5.0, &code::bars_in_words(&bars), drawing);
        let printed = Printed::new(&format!("bars-{digits}-{x_mm}"), &page_of(page));
        let raster = printed.raster(1);
        assert_eq!(printed.ask("zbarimg", &["-q", "page.pgm"]).trim(), told);
        // The first bar is one module wide, a quiet zone from the edge.
        let size = BarSize::at(bars.symbol(), x_mm);
        let across = raster.runs_across(5.0 + size.bar_height_mm / 2.0);
        near(across[0].0, 5.0 + size.quiet_left_mm, 0.05, "first bar");
        let last = across[across.len() - 1].1;
        near(
            last,
            5.0 + size.width_mm - size.quiet_right_mm,
            0.05,
            "last bar",
        );
    }
    let address = "https://quillfen.example/harbour-fig?lot=2611-04";
    let square = Square::of(address, Level::M).expect("short enough");
    for module_mm in [0.25, 0.4] {
        let drawing = code::square(&square, &square.size_at(module_mm));
        let mut page = Drawing::new(drawing.width_mm + 4.0, drawing.height_mm + 4.0);
        page.figure(2.0, 2.0, "A square with the address of the shop", drawing);
        let printed = Printed::new(&format!("square-{module_mm}"), &page_of(page));
        printed.raster(1);
        let told = printed.ask("zbarimg", &["-q", "page.pgm"]);
        assert_eq!(told.trim(), format!("QR-Code:{address}"));
    }
}

#[test]
fn the_crosses_of_the_calibration_page_are_where_it_says() {
    if !there("pdftoppm") {
        return;
    }
    let fonts = Fonts::new();
    let printed = Printed::new(
        "calibration",
        &page_of(sheet::calibration(&fonts, &TWENTY_ONE)),
    );
    let raster = printed.raster(1);
    // Just outside the circle of a cross only its arm is dark. 20 mm from the
    // edges: `label::sheet::CALIBRATION_INSET_MM`.
    for x in [20.0, 190.0] {
        for y in [20.0, 277.0] {
            let (top, bottom) = (y - 5.0, y - 4.8);
            let (left, _, right, _) = raster.ink((x - 0.6, x + 0.6), (top, bottom));
            near(f64::midpoint(left, right), x, 0.05, "upright arm");
            let (_, top, _, bottom) = raster.ink((x - 5.0, x - 4.8), (y - 0.6, y + 0.6));
            near(f64::midpoint(top, bottom), y, 0.05, "level arm");
        }
    }
}

/// CLP Annex I, 1.2.1: a square set on its point; its side is what the law measures.
#[test]
fn a_pictogram_is_as_large_as_asked() {
    if !there("pdftoppm") {
        return;
    }
    for pictogram in Pictogram::ALL {
        let mut page = Drawing::new(24.0, 24.0);
        page.figure(4.0, 4.0, pictogram.name(), pictogram.drawing(10.0));
        let raster = Printed::new(pictogram.code(), &page_of(page)).raster(1);
        let (left, top, right, bottom) = raster.ink((0.5, 23.5), (0.5, 23.5));
        let diagonal = 10.0 * std::f64::consts::SQRT_2;
        near(right - left, diagonal, 0.1, "across");
        near(bottom - top, diagonal, 0.1, "down");
        near(left, 4.0, 0.1, "left");
    }
}
