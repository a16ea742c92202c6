//! Paper: text measured on the real faces, files that keep to their standards.

use press::paper::{
    Align, Colour, Document, Drawing, Face, Fonts, Made, Paint, PaperError, Pen, Tag, TextStyle,
    Turn,
};

pub(crate) const MADE: Made = Made {
    year: 2026,
    month: 11,
    day: 25,
};

/// Leaves a file for eyes in the tests' own folder.
pub(crate) fn keep(name: &str, file: &[u8]) {
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("paper");
    std::fs::create_dir_all(&folder).expect("the test folder can be made");
    std::fs::write(folder.join(name), file).expect("the folder can be written");
}

pub(crate) fn page_of(drawing: Drawing) -> Document {
    let mut document = Document::new("A page", "en", MADE);
    document.pages.push(drawing);
    document
}

/// A table of a font file, by its name.
fn table(font: &[u8], name: [u8; 4]) -> &[u8] {
    let u32_at =
        |at: usize| u32::from_be_bytes(font[at..at + 4].try_into().expect("four bytes")) as usize;
    let tables = usize::from(u16::from_be_bytes([font[4], font[5]]));
    let record = (0..tables)
        .map(|idx| 12 + 16 * idx)
        .find(|at| &font[*at..*at + 4] == name.as_slice())
        .expect("every font has the table");
    &font[u32_at(record + 8)..u32_at(record + 8) + u32_at(record + 12)]
}

fn i16_at(table: &[u8], at: usize) -> f64 {
    f64::from(i16::from_be_bytes([table[at], table[at + 1]]))
}

/// OpenType 1.9, OS/2 table: sxHeight at byte 86, sCapHeight at 88, in units of
/// the em that `head` states at byte 18. Their makers wrote them; we measure the
/// outlines.
#[test]
fn heights_of_the_outlines_are_those_the_font_states() {
    let fonts = Fonts::new();
    for face in Face::ALL {
        let em = i16_at(table(face.bytes(), *b"head"), 18);
        let os2 = table(face.bytes(), *b"OS/2");
        let (x, cap) = (i16_at(os2, 86) / em, i16_at(os2, 88) / em);
        let (measured_x, measured_cap) = (fonts.x_height(face, 1.0), fonts.cap_height(face, 1.0));
        let small_cut = matches!(face, Face::Serif | Face::SerifBold | Face::SerifItalic);
        if small_cut {
            // The serif is the cut for small sizes of a design whose table still
            // states the x of text sizes; the outline is what prints.
            assert!(
                measured_x > x && measured_x < x * 1.08,
                "{face:?}: {measured_x}"
            );
        } else {
            // An italic's x may rise a little over the stated line.
            assert!(
                (measured_x - x).abs() < 0.012,
                "{face:?}: {measured_x} beside {x}"
            );
        }
        assert!(
            (measured_cap - cap).abs() < 0.01,
            "{face:?}: {measured_cap} beside {cap}"
        );
    }
}

#[test]
fn a_height_asked_for_is_the_height_that_comes() {
    let fonts = Fonts::new();
    for face in Face::ALL {
        let size = fonts.size_for_x_height(face, 1.2);
        assert!((fonts.x_height(face, size) - 1.2).abs() < 1e-9);
        let set = fonts.set_line("xzx", &TextStyle::new(face, size));
        let ink = set.ink().expect("letters print");
        let high = set.first_baseline_mm() - ink.y0;
        assert!((high - 1.2).abs() < 0.03, "{face:?}: {high}");
    }
}

#[test]
fn lines_break_at_the_width_and_long_words_inside() {
    let fonts = Fonts::new();
    let style = TextStyle::new(Face::Sans, 3.0);
    for text in [
        "Two households, both alike in dignity, in fair surroundings, where we lay our scene",
        "https://shop.quillfen.example/labels/harbour-fig/2026-11-25/declaration-of-contents",
        "Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaft",
    ] {
        let set = fonts.set(text, &style, 30.0);
        assert_eq!(set.overflow_mm(), None, "{text}");
        assert!(set.lines().len() > 1);
        assert!(set.width_mm() <= 30.0);
        let ink = set.ink().expect("letters print");
        assert!(ink.x1 < 30.2 && ink.x0 > -0.2, "{ink:?}");
    }
    // Narrower than one letter: said, not hidden.
    assert!(fonts.set("W", &style, 1.0).overflow_mm().is_some());
}

#[test]
fn alignment_moves_the_ink() {
    let fonts = Fonts::new();
    let text = "Harbour Fig and Rainy Loft and Tin Roof Mint in one tray";
    let at = |align| {
        let style = TextStyle::new(Face::Serif, 4.0).aligned(align);
        let set = fonts.set(text, &style, 42.0);
        let line = &set.lines()[0];
        let ink = set.ink_of(line).expect("letters print");
        (ink.x0, 42.0 - ink.x1)
    };
    let (left, right) = at(Align::Start);
    assert!(left < 0.3 && right > 0.5, "{left} {right}");
    let (left, right) = at(Align::End);
    assert!(right < 0.3 && left > 0.5, "{left} {right}");
    let (left, right) = at(Align::Centre);
    assert!((left - right).abs() < 0.4, "{left} {right}");
    let (left, right) = at(Align::Justify);
    assert!(left < 0.3 && right < 0.3, "{left} {right}");
}

#[test]
fn a_balanced_headline_leaves_no_line_short() {
    let fonts = Fonts::new();
    let mut style = TextStyle::new(Face::SerifBold, 6.0).aligned(Align::Centre);
    let text = "Peat & Plum after the long rain in spring";
    let plain = fonts.set(text, &style, 60.0);
    style.balanced = true;
    let balanced = fonts.set(text, &style, 60.0);
    assert_eq!(plain.lines().len(), balanced.lines().len());
    let spread = |set: &press::paper::Set| {
        let widths: Vec<f64> = set.lines().iter().map(|line| line.width_mm).collect();
        widths.iter().copied().fold(0.0, f64::max) - widths.iter().copied().fold(99.0, f64::min)
    };
    assert!(
        spread(&balanced) < spread(&plain),
        "{} {}",
        spread(&balanced),
        spread(&plain)
    );
    let ink = balanced.ink().expect("letters print");
    assert!((ink.x0 - (60.0 - ink.x1)).abs() < 0.5, "{ink:?}");
}

#[test]
fn parts_of_a_paragraph_have_faces_of_their_own() {
    let fonts = Fonts::new();
    let style = TextStyle::new(Face::Sans, 3.0);
    let parts = [
        ("Warning. ", Face::SansBold),
        ("Hot wax burns.\t", Face::Sans),
        ("Let it set.", Face::SansItalic),
    ];
    let set = fonts.set_mixed(&parts, &style, 200.0);
    assert_eq!(set.text(), "Warning. Hot wax burns. Let it set.");
    let alone = |text: &str, face| fonts.width(text, &TextStyle::new(face, 3.0));
    let sum = alone("Warning. Hot", Face::SansBold) - alone("Hot", Face::SansBold)
        + alone("Hot wax burns. Let", Face::Sans)
        - alone("Let", Face::Sans)
        + alone("Let it set.", Face::SansItalic);
    assert!(
        (set.width_mm() - sum).abs() < 0.05,
        "{} beside {sum}",
        set.width_mm()
    );
}

#[test]
fn letters_of_europe_are_there_and_others_are_named() {
    let fonts = Fonts::new();
    let alphabets = "Żółć ąęśćń ěščřž őű ăâîșț ßẞ øåæ þð ıİğ ñ ¿¡ ŀ ΑΒΓ αβγ άέή Жшщъыэюя ѓќ ђћ \
                     ½ ⅓ ° µ × ÷ ± € £ ™ © ® ℮ “” ‘’ «» – — … • ≤ ≥ − ′ ″ ✓ №";
    assert_eq!(fonts.missing(alphabets), Vec::<char>::new());
    assert_eq!(fonts.missing("fig 蝋 wax 🕯 蝋"), vec!['蝋', '🕯']);
    let mut drawing = Drawing::new(50.0, 20.0);
    let set = fonts.set("Rainy Loft 🕯", &TextStyle::new(Face::Serif, 4.0), 40.0);
    drawing.text(5.0, 5.0, set, Tag::Paragraph);
    let document = page_of(drawing);
    let refusal = PaperError::Missing {
        character: '🕯',
        text: "Rainy Loft 🕯".to_owned(),
        page: 1,
    };
    assert_eq!(document.pdf(), Err(refusal.clone()));
    assert_eq!(document.svg(0), Err(refusal.clone()));
    assert_eq!(
        refusal.to_string(),
        "page 1 holds “🕯” (U+1F56F) in \"Rainy Loft 🕯\", and no typeface here has it"
    );
}

fn a_little_of_everything() -> Document {
    let fonts = Fonts::new();
    let mut page = Drawing::new(90.0, 60.0);
    page.rect(1.0, 1.0, 88.0, 58.0, 3.0, Paint::pen(Pen::new(0.3)));
    page.text(
        5.0,
        4.0,
        fonts.set("Harbour Fig", &TextStyle::new(Face::SerifBold, 7.0), 60.0),
        Tag::Heading(1),
    );
    let german = TextStyle::new(Face::Sans, 2.4).spoken("de");
    page.text(
        5.0,
        16.0,
        fonts.set(
            "Kann allergische Hautreaktionen verursachen. <b>&\"",
            &german,
            50.0,
        ),
        Tag::Paragraph,
    );
    let mut mark = Drawing::new(10.0, 6.0);
    mark.circle(3.0, 3.0, 2.0, Paint::fill(Colour::HAZARD_RED));
    page.figure(60.0, 20.0, "A red dot", mark.clone());
    let mut turned = Drawing::new(30.0, 5.0);
    turned.text(
        0.0,
        0.0,
        fonts.set("Lot 2611-04", &TextStyle::new(Face::SansItalic, 3.0), 30.0),
        Tag::Paragraph,
    );
    page.place(80.0, 20.0, Turn::Left, turned);
    page.line((5.0, 50.0), (85.0, 50.0), Pen::new(0.2).dashed(1.0, 1.0));
    page_of(page)
}

#[test]
fn the_same_document_gives_the_same_bytes() {
    let once = a_little_of_everything()
        .pdf()
        .expect("it keeps to its standards");
    let again = a_little_of_everything()
        .pdf()
        .expect("it keeps to its standards");
    assert!(once.starts_with(b"%PDF-1.7"));
    assert!(once == again);
    keep("little.pdf", &once);
    let svg = a_little_of_everything().svg(0).expect("drawn");
    keep("little.svg", svg.as_bytes());
}

#[test]
fn a_preview_has_its_true_size_and_its_words() {
    let svg = a_little_of_everything().svg(0).expect("drawn");
    assert!(
        svg.contains(r#"width="90mm" height="60mm" viewBox="0 0 90 60""#),
        "{}",
        &svg[..200]
    );
    assert!(svg.contains("<title>A page</title>"));
    assert!(
        svg.contains("Harbour Fig Kann allergische Hautreaktionen verursachen. &lt;b&gt;&amp;")
    );
    assert!(svg.contains("A red dot"));
    assert!(!svg.contains("NaN") && !svg.contains("inf"));
}

#[test]
fn lengths_that_are_none_are_refused() {
    assert_eq!(
        Document::new("Nothing", "en", MADE).pdf(),
        Err(PaperError::NoPage)
    );
    for side in [f64::NAN, 0.0, -3.0, f64::INFINITY, 9000.0] {
        let document = page_of(Drawing::new(side, 50.0));
        assert_eq!(document.pdf(), Err(PaperError::Length { page: 1 }));
    }
    let mut drawing = Drawing::new(50.0, 50.0);
    drawing.circle(f64::NAN, 3.0, 2.0, Paint::fill(Colour::BLACK));
    assert_eq!(page_of(drawing).pdf(), Err(PaperError::Place { page: 1 }));
    // A text of no size and no width is set all the same.
    let fonts = Fonts::new();
    let set = fonts.set(
        "Wax",
        &TextStyle::new(Face::Sans, f64::NAN),
        f64::NEG_INFINITY,
    );
    assert!(set.height_mm().is_finite());
}

#[test]
fn a_preview_of_a_whole_sheet_stays_small() {
    let fonts = Fonts::new();
    let mut label = Drawing::new(60.0, 25.0);
    let text = "Never leave a warmer alone. Keep from children and pets. Hot wax burns: let it \
                set before you change it. Do not eat. Keep out of the sun.";
    let set = fonts.set(text, &TextStyle::new(Face::Sans, 1.8), 50.0);
    label.text(3.0, 3.0, set, Tag::Paragraph);
    let label = std::sync::Arc::new(label);
    let mut page = Drawing::new(200.0, 280.0);
    for row in 0..10 {
        for column in 0..3 {
            page.place(
                5.0 + 63.0 * f64::from(column),
                5.0 + 27.0 * f64::from(row),
                Turn::None,
                std::sync::Arc::clone(&label),
            );
        }
    }
    let svg = page_of(page).svg(0).expect("drawn");
    assert!(svg.len() < 40_000, "{} bytes", svg.len());
    let again = svg.matches("transform=\"matrix(1 0 0 1 ").count();
    assert_eq!(again, 30, "the label is drawn once and placed thirty times");
    keep("thirty.svg", svg.as_bytes());
}
