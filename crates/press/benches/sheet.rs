//! A sheet of thirty labels and a price list of twelve goods, from texts to the
//! bytes of the file, beside a plain Python script that draws comparable pages
//! with `reportlab` in the same run, where python3 and that package are there.

use std::hint::black_box;
use std::io::Write as _;
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::time::{Duration, Instant};

use criterion::{Criterion, criterion_group, criterion_main};
use label::gtin::{Gtin, Kind};
use label::sheet::{Drift, Outline, Sheet};
use label::symbol::{BarSize, Bars};
use press::paper::sheet::{self, Marks};
use press::paper::{
    Align, Cell, Column, Document, Drawing, Face, Flow, Fonts, Made, PageSize, Setup, Tag,
    TextStyle, Wide, code,
};

const MADE: Made = Made {
    year: 2026,
    month: 11,
    day: 25,
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

const GOODS: [&str; 6] = [
    "Harbour Fig",
    "Rainy Loft",
    "Peat & Plum",
    "Tin Roof Mint",
    "Salt Hay",
    "Lamp Oil and Oranges",
];
const CAUTION: &str = "Never leave a warmer alone. Keep from children and pets. Hot wax burns: \
                       let it set before you change it. Do not eat. Contains linalool; may produce \
                       an allergic reaction.";

fn label_of(fonts: &Fonts, idx: usize) -> Drawing {
    let mut label = Drawing::new(THIRTY.label_width_mm, THIRTY.label_height_mm);
    let set = |text: &str, face, size, width| fonts.set(text, &TextStyle::new(face, size), width);
    let name = GOODS[idx % GOODS.len()];
    label.text(
        2.5,
        1.5,
        set(name, Face::SerifBold, 4.2, 38.0),
        Tag::Heading(1),
    );
    label.text(
        2.5,
        7.0,
        set("Scented wax melt", Face::SerifItalic, 2.6, 38.0),
        Tag::Paragraph,
    );
    label.text(
        2.5,
        10.4,
        set(CAUTION, Face::Sans, 1.75, 37.0),
        Tag::Paragraph,
    );
    let lot = format!("Lot 2611-{idx:02}");
    label.text(2.5, 21.6, set(&lot, Face::Sans, 2.0, 30.0), Tag::Paragraph);
    label.text(
        21.0,
        21.2,
        set("NET WT 2.6 OZ (73 g)", Face::SansBold, 2.4, 40.0),
        Tag::Paragraph,
    );
    let maker = TextStyle::new(Face::Sans, 1.75).aligned(Align::End);
    let maker = fonts.set("Quillfen Wax Works, Port Averin", &maker, 24.0);
    label.text(40.0, 1.5, maker, Tag::Paragraph);
    let gtin = Gtin::parse("96385074", Some(Kind::Gtin8))
        .expect("a number")
        .gtin;
    let bars = Bars::of(&gtin).expect("a till reads it");
    let drawing = code::bars(fonts, &bars, &BarSize::at(bars.symbol(), 0.264));
    label.figure(43.0, 5.5, &code::bars_in_words(&bars), drawing);
    label
}

fn sheet_of_labels(fonts: &Fonts) -> Vec<u8> {
    let runs: Vec<_> = (0..GOODS.len())
        .map(|idx| (Arc::new(label_of(fonts, idx)), 5))
        .collect();
    let mut document = Document::new("Labels", "en", MADE);
    document.pages =
        sheet::labels(&THIRTY, &runs, 1, Drift::NONE, Marks::default()).expect("one page");
    document.pdf().expect("it keeps to its standards")
}

fn price_list(fonts: &Fonts) -> Vec<u8> {
    let mut flow = Flow::new(fonts, Setup::new(PageSize::A4));
    flow.heading(1, "Quillfen Wax Works, Port Averin");
    flow.paragraph("Prices to shops from 1 December, for six or more of a scent.");
    let columns = [
        Column::words("Scent").wide(Wide::Rest(1.0)),
        Column::words("Format"),
        Column::figures("Net weight"),
        Column::figures("Trade"),
        Column::figures("In the shop"),
    ];
    let rows: Vec<Vec<Cell>> = (0..12)
        .map(|idx| {
            vec![
                Cell::Strong(GOODS[idx % GOODS.len()].to_owned()),
                (if idx < 6 {
                    "six-cavity shell"
                } else {
                    "snap bar"
                })
                .into(),
                "2.6 oz (73 g)".into(),
                format!("{}.25 USD", 3 + idx % 3).into(),
                format!("{}.50 USD", 6 + idx % 3).into(),
            ]
        })
        .collect();
    flow.table(&columns, &rows);
    flow.paragraph("Scents last longest away from sun and heat. Best within eighteen months.");
    flow.finish("Price list", MADE)
        .pdf()
        .expect("it keeps to its standards")
}

fn drawing_paper(c: &mut Criterion) {
    let started = Instant::now();
    let fonts = Fonts::new();
    let sheet = sheet_of_labels(&fonts);
    println!(
        "faces read and the first sheet drawn in {:.1} ms",
        started.elapsed().as_secs_f64() * 1e3
    );
    let list = price_list(&fonts);
    println!(
        "sheet {} bytes, price list {} bytes",
        sheet.len(),
        list.len()
    );
    c.bench_function("thirty labels on a sheet", |b| {
        b.iter(|| sheet_of_labels(black_box(&fonts)));
    });
    c.bench_function("a price list of twelve goods", |b| {
        b.iter(|| price_list(black_box(&fonts)));
    });
    let ours = [
        fastest(|| sheet_of_labels(&fonts)),
        fastest(|| price_list(&fonts)),
    ];
    let Some(theirs) = python() else {
        println!("no python3 with reportlab: nothing to compare with");
        return;
    };
    for ((what, ours), theirs) in ["thirty labels", "price list"]
        .into_iter()
        .zip(ours)
        .zip(theirs)
    {
        println!(
            "{what}: {:.1} ms beside {:.1} ms in Python, each the fastest of 30: {:.2} times",
            ours.as_secs_f64() * 1e3,
            theirs * 1e3,
            ours.as_secs_f64() / theirs
        );
    }
}

fn fastest(draw: impl Fn() -> Vec<u8>) -> Duration {
    (0..30)
        .map(|_| {
            let started = Instant::now();
            black_box(draw());
            started.elapsed()
        })
        .min()
        .expect("it was drawn")
}

/// Seconds the script takes for the sheet and for the list.
fn python() -> Option<[f64; 2]> {
    let folder = std::env::temp_dir().join("pourwright-bench-faces");
    std::fs::create_dir_all(&folder).ok()?;
    let mut given = format!("{CAUTION}\n");
    for (name, face) in [
        ("serif-bold", Face::SerifBold),
        ("serif-italic", Face::SerifItalic),
        ("sans", Face::Sans),
        ("sans-bold", Face::SansBold),
    ] {
        let path = folder.join(format!("{name}.ttf"));
        std::fs::write(&path, face.bytes()).ok()?;
        given.extend([name, "\t", path.to_str()?, "\n"]);
    }
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/sheet.py");
    let mut child = Command::new("python3")
        .arg(script)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .ok()?;
    let mut stdin = child.stdin.take()?;
    stdin.write_all(given.as_bytes()).ok()?;
    drop(stdin);
    let output = child.wait_with_output().ok()?;
    let text = String::from_utf8(output.stdout).ok()?;
    let seconds: Vec<f64> = text
        .split_whitespace()
        .filter_map(|word| word.parse().ok())
        .collect();
    seconds.try_into().ok()
}

criterion_group!(benches, drawing_paper);
criterion_main!(benches);
