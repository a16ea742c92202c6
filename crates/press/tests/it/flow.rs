//! Blocks down the pages.

use press::paper::{Cell, Column, Document, Flow, Fonts, PageSize, Setup, Wide};

use super::paper::{MADE, keep};

fn pour_sheet(size: PageSize) -> Document {
    let fonts = Fonts::new();
    let mut setup = Setup::new(size);
    "Pour sheet, lot 2611-04".clone_into(&mut setup.name);
    setup.foot = vec![
        "Hot wax burns. Never leave it on the heat alone; no water near it; lid and cloth beside the pot."
            .to_owned(),
    ];
    let mut flow = Flow::new(&fonts, setup);
    flow.title_with_code("Harbour Fig in the six-cavity shell", "Lot", "2611-04");
    flow.paragraph("Fills 11 shells with what is in the pot; 12 need about 19.5 oz.");
    flow.pairs(&[
        ("Wax", "soy blend, opened 2 November"),
        ("Mould", "six-cavity shell, two of them"),
        ("Pour at", "145 °F (63 °C)"),
    ]);
    flow.heading(2, "Weigh");
    flow.table(
        &[
            Column::words("Into the pot").wide(Wide::Rest(1.0)),
            Column::figures("Target"),
            Column::figures("Total on the pot"),
            Column::boxes("Weighed", 30.0),
            Column::boxes("", 8.0),
        ],
        &[
            vec![
                "Soy blend".into(),
                Cell::Strong("16.90 oz".into()),
                "16.90 oz".into(),
                Cell::Write(9.0),
                Cell::Tick,
            ],
            vec![
                "Harbour Fig".into(),
                Cell::Strong("1.69 oz".into()),
                "18.59 oz".into(),
                Cell::Write(9.0),
                Cell::Tick,
            ],
            vec![
                "Dye, amber".into(),
                Cell::Strong("0.02 oz".into()),
                "18.61 oz".into(),
                Cell::Write(9.0),
                Cell::Tick,
            ],
        ],
    );
    flow.heading(2, "As it went");
    flow.write_in(
        &[
            "Melted at",
            "Scent in at",
            "Poured at",
            "Room",
            "Filled",
            "Left in the pot",
        ],
        32.0,
        9.0,
    );
    flow.ticks(&[
        "Moulds clean and warm",
        "Lot code written on the tray",
        "Nothing left on the heat",
    ]);
    flow.heading(2, "Notes");
    flow.ruled(4, 9.0);
    flow.finish("Pour sheet, lot 2611-04", MADE)
}

fn write(document: &Document, name: &str) -> Vec<u8> {
    let pdf = document.pdf().expect("it keeps to its standards");
    keep(&format!("{name}.pdf"), &pdf);
    pdf
}

/// No text stands outside the page or over another.
#[track_caller]
fn tidy(document: &Document) {
    for (idx, page) in document.pages.iter().enumerate() {
        let boxes = page.text_boxes();
        for (at, (text, ink)) in boxes.iter().enumerate() {
            assert!(
                ink.x0 > 0.0 && ink.y0 > 0.0 && ink.x1 < page.width_mm && ink.y1 < page.height_mm,
                "page {}: {text:?} at {ink:?}",
                idx + 1
            );
            for (other, its) in &boxes[..at] {
                let over = ink.intersect(*its);
                assert!(
                    over.width() <= 0.05 || over.height() <= 0.05,
                    "page {}: {text:?} over {other:?}: {over:?}",
                    idx + 1
                );
            }
        }
    }
}

#[test]
fn a_sheet_for_the_bench_stands_on_one_page() {
    for (size, name) in [(PageSize::A4, "pour-a4"), (PageSize::Letter, "pour-letter")] {
        let sheet = pour_sheet(size);
        assert_eq!(sheet.pages.len(), 1, "{size:?}");
        tidy(&sheet);
        write(&sheet, name);
    }
    for (size, name) in [
        (PageSize::A5, "pour-a5"),
        (PageSize::A6, "pour-a6"),
        (PageSize::FourBySix, "pour-4x6"),
    ] {
        let sheet = pour_sheet(size);
        assert!(sheet.pages.len() < 5, "{size:?}: {}", sheet.pages.len());
        tidy(&sheet);
        write(&sheet, name);
    }
}

#[test]
fn a_long_table_goes_over_with_its_heading() {
    let fonts = Fonts::new();
    let mut flow = Flow::new(&fonts, Setup::new(PageSize::A5));
    flow.heading(1, "What is on the shelf");
    let rows: Vec<Vec<Cell>> = (1..=80)
        .map(|idx| {
            vec![
                format!("Supply {idx}, with a name that may well need a second line on a page this small").into(),
                format!("{}.25", idx * 3).into(),
                Cell::Blank,
            ]
        })
        .collect();
    flow.table(
        &[
            Column::words("Supply"),
            Column::figures("oz"),
            Column::boxes("Counted", 24.0),
        ],
        &rows,
    );
    let document = flow.finish("Shelf", MADE);
    assert!(document.pages.len() > 3);
    tidy(&document);
    for page in &document.pages {
        let headings = page
            .text_boxes()
            .iter()
            .filter(|(text, _)| text == "Supply")
            .count();
        assert_eq!(headings, 1);
    }
    // Read aloud, the heading comes once.
    assert_eq!(
        document
            .texts()
            .iter()
            .filter(|text| *text == "Supply")
            .count(),
        1
    );
    let read: Vec<String> = document
        .texts()
        .into_iter()
        .filter(|text| text.contains(".25"))
        .collect();
    assert_eq!(read.len(), 80);
    let pages = document.pages.len();
    let last = document.pages[pages - 1].text_boxes();
    assert!(
        last.iter()
            .any(|(text, _)| *text == format!("page {pages} of {pages}"))
    );
    write(&document, "shelf");
}

#[test]
fn what_is_longer_than_a_page_is_cut_and_none_is_lost() {
    let fonts = Fonts::new();
    let long =
        "Wick, dye and scent, written down by hand in the cold of the back room. ".repeat(60);
    let mut flow = Flow::new(&fonts, Setup::new(PageSize::A6));
    flow.paragraph(&long);
    flow.table(
        &[Column::words("What"), Column::figures("How much")],
        &[
            vec![long.as_str().into(), "3".into()],
            vec!["after".into(), "4".into()],
        ],
    );
    flow.pairs(&[
        ("Name", "value"),
        ("A name that is much longer than most names are", "x"),
    ]);
    let document = flow.finish("Long", MADE);
    tidy(&document);
    let text = document.texts().join(" ");
    assert_eq!(text.matches("back room").count(), 120);
    assert!(text.contains("after"));
    write(&document, "long");
}

#[test]
fn odd_pages_and_empty_tables_do_no_harm() {
    let fonts = Fonts::new();
    for size in [
        PageSize::Other(20.0, 15.0),
        PageSize::Other(300.0, 12.0),
        PageSize::A7,
    ] {
        let mut setup = Setup::new(size);
        setup.foot = vec!["Hot wax burns. ".repeat(30)];
        let mut flow = Flow::new(&fonts, setup);
        flow.heading(1, "A heading longer than the paper is wide");
        flow.paragraph("Some words.");
        flow.table(&[], &[]);
        flow.table(&[Column::words("Only a heading")], &[]);
        flow.table(
            &[Column::words("One"), Column::boxes("Box", 500.0)],
            &[
                vec![],
                vec!["a".into(), Cell::Write(400.0), "too many".into()],
            ],
        );
        flow.write_in(&[], 30.0, 9.0);
        flow.write_in(&["x"], f64::NAN, 9.0);
        flow.ticks(&["one", ""]);
        flow.ruled(3, 8.0);
        flow.space(f64::NAN);
        let document = flow.finish("Odd", MADE);
        assert!(
            document.pages.len() < 60,
            "{size:?}: {}",
            document.pages.len()
        );
        document.pdf().expect("it keeps to its standards");
    }
}
