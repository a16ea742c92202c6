//! Writes contact sheets of labels to look at: all three layouts, sizes,
//! languages and lengths of names. `cargo run -p press --example labels`.

mod specimen;

use std::path::Path;
use std::time::Instant;

use label::wording::{Care, Language, Wording};
use press::paper::label::{FittedLabel, LabelError, Layout, Request, Shape, Side, fit};
use press::paper::{
    Colour, Document, Drawing, Face, Fonts, Made, Paint, Pen, Structure, Tag, TextStyle, care,
};

const MADE: Made = Made {
    year: 2026,
    month: 11,
    day: 25,
};

fn shapes() -> Vec<(&'static str, Shape)> {
    let rectangle = |width_mm, height_mm, corner_mm| Shape::Rectangle {
        width_mm,
        height_mm,
        corner_mm,
    };
    vec![
        ("25 mm round", Shape::Round { diameter_mm: 25.0 }),
        ("50 mm round", Shape::Round { diameter_mm: 50.0 }),
        ("50 × 25", rectangle(50.0, 25.0, 2.0)),
        ("63.5 × 38.1", rectangle(63.5, 38.1, 2.5)),
        ("100 × 62", rectangle(101.6, 61.0, 3.0)),
        (
            "band 200 × 30",
            Shape::Band {
                width_mm: 200.0,
                height_mm: 30.0,
                front_mm: 60.0,
            },
        ),
        ("A6", rectangle(105.0, 148.0, 0.0)),
    ]
}

fn outline(shape: Shape) -> Drawing {
    let (width, height) = shape.size_mm();
    let mut drawing = Drawing::new(width, height);
    let paint = Paint::pen(Pen::new(0.1).inked(Colour::grey(0xc0)));
    match shape {
        Shape::Round { diameter_mm } => {
            drawing.circle(width / 2.0, height / 2.0, diameter_mm / 2.0, paint);
        }
        Shape::Rectangle { corner_mm, .. } => {
            drawing.rect(0.0, 0.0, width, height, corner_mm, paint);
        }
        Shape::Band { .. } => drawing.rect(0.0, 0.0, width, height, 0.0, paint),
    }
    drawing
}

/// Fills pages of a document, shelf by shelf.
struct Sheet {
    document: Document,
    page: Drawing,
    x: f64,
    y: f64,
    shelf: f64,
    fonts: Fonts,
}

impl Sheet {
    fn new(title: &str) -> Self {
        Self {
            document: Document::new(title, "en", MADE),
            page: Drawing::new(297.0, 420.0),
            x: 10.0,
            y: 10.0,
            shelf: 0.0,
            fonts: Fonts::new(),
        }
    }

    fn turn_page(&mut self) {
        if !self.page.is_empty() {
            let page = std::mem::replace(&mut self.page, Drawing::new(297.0, 420.0));
            self.document.pages.push(page);
        }
        (self.x, self.y, self.shelf) = (10.0, 10.0, 0.0);
    }

    fn add(&mut self, what: &str, shape: Shape, label: &Result<FittedLabel, LabelError>) {
        let (width, height) = shape.size_mm();
        if self.x + width > 287.0 {
            self.x = 10.0;
            self.y += self.shelf + 9.0;
            self.shelf = 0.0;
        }
        if self.y + height + 8.0 > 415.0 {
            self.turn_page();
        }
        let words = match label {
            Ok(label) => {
                let fails: Vec<String> = label
                    .checks
                    .iter()
                    .filter(|check| check.verdict == label::check::Verdict::Fail)
                    .map(|check| check.rule.clone())
                    .collect();
                let gone: Vec<String> = label
                    .left_out
                    .iter()
                    .map(|out| format!("{} ({})", out.role.name(), out.what))
                    .collect();
                format!(
                    "{what}: {} {}{}{}",
                    label.layout.name(),
                    label.arrangement,
                    if gone.is_empty() {
                        String::new()
                    } else {
                        format!("; without {}", gone.join(", "))
                    },
                    if fails.is_empty() {
                        String::new()
                    } else {
                        format!("; FAILS {}", fails.join(", "))
                    }
                )
            }
            Err(error) => format!("{what}: {error}"),
        };
        let caption = self.fonts.set(
            &words,
            &TextStyle::new(Face::Sans, 2.0).inked(Colour::grey(0x60)),
            width.max(45.0),
        );
        self.page.place(
            self.x,
            self.y,
            press::paper::Turn::None,
            furniture(outline(shape)),
        );
        let drawing = match label {
            Ok(label) => Some(label.drawing.clone()),
            Err(LabelError::NoFit(no)) => no.best.as_ref().map(|best| best.drawing.clone()),
            Err(_) => None,
        };
        if let Some(drawing) = drawing {
            self.page.group(self.x, self.y, Structure::Group, drawing);
        }
        let caption_high = caption.height_mm();
        self.page
            .text(self.x, self.y + height + 1.0, caption, Tag::Caption);
        self.x += width.max(45.0) + 6.0;
        self.shelf = self.shelf.max(height + caption_high);
    }

    fn write(mut self, folder: &Path, name: &str) -> anyhow::Result<()> {
        self.turn_page();
        std::fs::write(folder.join(format!("{name}.pdf")), self.document.pdf()?)?;
        Ok(())
    }
}

fn furniture(drawing: Drawing) -> Drawing {
    let mut outer = Drawing::new(drawing.width_mm, drawing.height_mm);
    outer.group(0.0, 0.0, Structure::Furniture, drawing);
    outer
}

fn us(shape: Shape, name: &str) -> Wording {
    // 16 CFR 500.21(b): the panel is taken as the label.
    let square_inches = shape.area_mm2() / (25.4 * 25.4);
    let (sixteenths, share) = if square_inches <= 5.0 {
        (1.0, None)
    } else if square_inches <= 25.0 {
        (2.0, Some(0.3))
    } else {
        (3.0, Some(0.3))
    };
    let text = if square_inches < 1.0 {
        "NET WT 1 OZ (28 g)"
    } else {
        "NET WT 2.5 OZ (70 g)"
    };
    Wording {
        net_weight: Some(specimen::us_net(text, sixteenths, share)),
        ..specimen::us_melt(name, sixteenths, share)
    }
}

fn main() -> anyhow::Result<()> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../target/tmp/labels");
    std::fs::create_dir_all(&folder)?;
    let fonts = Fonts::new();
    let amber = Colour::new(0x8a, 0x46, 0x0c);
    let four = Language::ALL;
    for layout in Layout::ALL {
        let wanted = |shape, side| Request {
            other_layouts: false,
            accent: Some(amber),
            ..Request::new(shape, side, layout)
        };
        let began = Instant::now();
        let mut fronts = Sheet::new("Fronts");
        let mut backs = Sheet::new("Backs");
        let mut wholes = Sheet::new("Wholes");
        for (what, shape) in shapes() {
            for name in specimen::NAMES {
                let wording = us(shape, name);
                fronts.add(
                    what,
                    shape,
                    &fit(&fonts, &wording, &wanted(shape, Side::Front)),
                );
            }
            for (market, wording) in [
                ("US melt", us(shape, "Rainy Loft")),
                (
                    "EU melt de",
                    specimen::eu_melt("Rainy Loft", &[Language::De]),
                ),
                ("EU melt 4", specimen::eu_melt("Rainy Loft", &four)),
            ] {
                let what = format!("{what} {market}");
                backs.add(
                    &what,
                    shape,
                    &fit(&fonts, &wording, &wanted(shape, Side::Back)),
                );
            }
            for (market, wording) in [
                ("US melt", us(shape, "Harbour Fig")),
                ("US candle", {
                    let melt = us(shape, "Tin Roof Mint");
                    Wording {
                        net_weight: melt.net_weight,
                        ..specimen::us_candle("Tin Roof Mint", 1.0, None)
                    }
                }),
                (
                    "EU melt fr",
                    specimen::eu_melt("Peat & Plum", &[Language::Fr]),
                ),
                (
                    "EU candle de, en",
                    specimen::eu_candle("Regenspeicher", &[Language::De, Language::En]),
                ),
                ("EU melt 4", specimen::eu_melt(specimen::NAMES[2], &four)),
            ] {
                let what = format!("{what} {market}");
                wholes.add(
                    &what,
                    shape,
                    &fit(&fonts, &wording, &wanted(shape, Side::Whole)),
                );
            }
        }
        println!("{}: fitted in {:?}", layout.name(), began.elapsed());
        fronts.write(&folder, &format!("{}-front", layout.name()))?;
        backs.write(&folder, &format!("{}-back", layout.name()))?;
        wholes.write(&folder, &format!("{}-whole", layout.name()))?;
    }
    care_symbols(&fonts, &folder)?;
    println!("{}", folder.display());
    Ok(())
}

/// Every care symbol, small as on a label and large to look at.
fn care_symbols(fonts: &Fonts, folder: &Path) -> anyhow::Result<()> {
    let mut page = Drawing::new(210.0, 148.0);
    for (nth, care) in (0_u32..).zip(Care::ALL) {
        let (x, y) = (
            10.0 + f64::from(nth % 5) * 39.0,
            10.0 + f64::from(nth / 5) * 45.0,
        );
        let words = fonts.set(care.meaning(), &TextStyle::new(Face::Sans, 2.4), 36.0);
        page.figure(x, y, care.meaning(), care::drawing(care, 24.0, 24.0));
        page.figure(x + 27.0, y, care.meaning(), care::drawing(care, 5.0, 5.0));
        page.text(x, y + 26.0, words, Tag::Caption);
    }
    let mut document = Document::new("Care symbols", "en", MADE);
    document.pages.push(page);
    std::fs::write(folder.join("care.pdf"), document.pdf()?)?;
    Ok(())
}
