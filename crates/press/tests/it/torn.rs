//! Paper under any input: nothing panics, nothing stands where it should not.

use press::paper::kurbo::Affine;
use press::paper::{
    Align, Cell, Column, Document, Drawing, Face, Flow, Fonts, PageSize, Paint, PaperError, Pen,
    Setup, Structure, Tag, TextStyle, Turn, Wide,
};
use proptest::prelude::*;

use super::paper::MADE;

fn any_face() -> impl Strategy<Value = Face> {
    proptest::sample::select(Face::ALL.to_vec())
}

fn any_style() -> impl Strategy<Value = TextStyle> {
    (
        any_face(),
        prop_oneof![0.5..12.0, Just(f64::NAN), Just(0.0), Just(1e9)],
        0.9..2.0,
        proptest::sample::select(vec![
            Align::Start,
            Align::Centre,
            Align::End,
            Align::Justify,
        ]),
        any::<[bool; 3]>(),
    )
        .prop_map(
            |(face, size, leading, align, [tabular, balanced, spaced])| TextStyle {
                tabular,
                balanced,
                spacing: if spaced { 0.08 } else { 0.0 },
                ..TextStyle::new(face, size).leaded(leading).aligned(align)
            },
        )
}

/// Words a maker may type, and what they surely would not.
fn any_text() -> impl Strategy<Value = String> {
    prop_oneof![
        "[A-Za-zÀ-ž ,.'’&-]{0,120}",
        "[Α-ωА-я0-9 ½℮€°]{0,60}",
        "\\PC{0,40}",
        Just("<b>&\"'</b><script>".to_owned()),
        Just("fi ffi fl \u{301}e\u{301} a\u{ad}b \u{200d}\u{200b} \t \r\n x".to_owned()),
        Just("שלום עולם and back".to_owned()),
        Just("W".repeat(300)),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn any_text_is_set_inside_its_box(text in any_text(), style in any_style(), width in 5.0..200.0) {
        let fonts = Fonts::new();
        let set = fonts.set(&text, &style, width);
        let again = fonts.set(&text, &style, width);
        prop_assert_eq!(set.lines().len(), again.lines().len());
        prop_assert!(set.height_mm().is_finite() && set.width_mm().is_finite());
        prop_assert!(set.width_mm() <= width + set.overflow_mm().unwrap_or(0.0) + 0.01);
        if let Some(ink) = set.ink() {
            // An italic leans out a little; marks stack above.
            let size = set.style().size_mm;
            let over = set.overflow_mm().unwrap_or(0.0) + 0.5 * size;
            prop_assert!(ink.x0 >= -over && ink.x1 <= width + over, "{:?} in {}", ink, width);
        }
        let (first, rest) = set.clone().split(1);
        prop_assert_eq!(first.lines().len() + rest.lines().len(), set.lines().len());
        prop_assert!((first.height_mm() + rest.height_mm() - set.height_mm()).abs() < 0.01);
    }

    #[test]
    fn any_text_gives_a_file_or_its_reason(text in any_text(), style in any_style()) {
        let fonts = Fonts::new();
        let mut page = Drawing::new(210.0, 297.0);
        page.text(10.0, 10.0, fonts.set(&text, &style, 190.0), Tag::Heading(1));
        let mut inner = Drawing::new(40.0, 20.0);
        inner.text(0.0, 0.0, fonts.set(&text, &style, 40.0), Tag::Paragraph);
        inner.rect(0.0, 0.0, 40.0, 20.0, 3.0, Paint::pen(Pen::new(0.2).dashed(1.0, 0.5)));
        let inner = std::sync::Arc::new(inner);
        page.place(20.0, 100.0, Turn::Left, inner.clone());
        page.transformed(Affine::rotate(0.3) * Affine::scale(0.7), inner.clone());
        page.figure(20.0, 160.0, &text, inner.clone());
        page.group(20.0, 200.0, Structure::Cell, inner);
        let mut document = Document::new(text.clone(), "en", MADE);
        document.pages.push(page);
        match document.pdf() {
            Ok(file) => prop_assert!(file == document.pdf().expect("as before")),
            Err(PaperError::Missing { character, .. }) => prop_assert!(text.contains(character)),
            Err(PaperError::Untitled) => prop_assert!(text.trim().is_empty()),
            Err(PaperError::Refused(reason)) => prop_assert!(false, "{}", reason),
            Err(other) => prop_assert!(false, "{}", other),
        }
        if let Ok(svg) = document.svg(0) {
            prop_assert!(!svg.contains("<script>") && !svg.contains("NaN"));
        }
    }

    #[test]
    fn any_table_stays_on_its_pages(
        texts in proptest::collection::vec("[A-Za-z0-9 .,-]{0,90}", 1..40),
        columns in 1_usize..6,
        size in proptest::sample::select(vec![PageSize::A4, PageSize::A6, PageSize::FourBySix]),
    ) {
        let fonts = Fonts::new();
        let mut flow = Flow::new(&fonts, Setup::new(size));
        let heads: Vec<Column> = (0..columns)
            .map(|idx| match idx % 3 {
                0 => Column::words("Name").wide(Wide::Rest(1.0)),
                1 => Column::figures("How much"),
                _ => Column::boxes("Box", 12.0),
            })
            .collect();
        let rows: Vec<Vec<Cell>> = texts
            .chunks(columns)
            .map(|row| row.iter().map(|text| Cell::from(text.as_str())).collect())
            .collect();
        flow.table(&heads, &rows);
        let document = flow.finish("Table", MADE);
        for page in &document.pages {
            for (text, ink) in page.text_boxes() {
                prop_assert!(
                    ink.x0 > 0.0 && ink.x1 < page.width_mm && ink.y0 > 0.0 && ink.y1 < page.height_mm,
                    "{} at {:?}", text, ink
                );
            }
        }
        prop_assert!(document.pdf().is_ok());
    }
}

/// An empty name once came back as a list of the library's own codes.
#[test]
fn a_document_without_a_title_is_refused_and_a_picture_without_words_is_decoration() {
    let square = || {
        let mut square = Drawing::new(10.0, 10.0);
        square.rect(0.0, 0.0, 10.0, 10.0, 0.0, Paint::pen(Pen::new(0.2)));
        square
    };
    for title in ["", " \t", "\u{a0}"] {
        let mut document = Document::new(title, "en", MADE);
        document.pages.push(square());
        assert!(
            matches!(document.pdf(), Err(PaperError::Untitled)),
            "{title:?}"
        );
    }
    let figures = |alt: &str| {
        let mut page = Drawing::new(210.0, 297.0);
        page.figure(10.0, 10.0, alt, square());
        let mut document = Document::new("Squares", "en", MADE);
        document.pages.push(page);
        let file = document.pdf().expect("nothing in it is refused");
        String::from_utf8_lossy(&file).matches("/Figure").count()
    };
    assert_eq!(["a square", "", " "].map(figures), [1, 0, 0]);
}
