//! The colours hold on both pages, and every class drawn has a style.

use press::STYLE;

/// Relative luminance, WCAG 2.2 "relative luminance".
fn luminance(hex: u32) -> f64 {
    let channel = |shift: u32| {
        let c = f64::from((hex >> shift) & 0xff) / 255.0;
        if c <= 0.04045 {
            c / 12.92
        } else {
            libm::pow((c + 0.055) / 1.055, 2.4)
        }
    };
    0.2126 * channel(16) + 0.7152 * channel(8) + 0.0722 * channel(0)
}

/// Contrast ratio, WCAG 2.2 "contrast ratio".
fn contrast(a: u32, b: u32) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// WCAG 2.2: black on white is 21 : 1; success criterion 1.4.3 asks 4.5 : 1 of
/// text (the page's text colours here, ink to moss, on its paper).
#[test]
fn text_is_read_on_both_pages() {
    assert!((contrast(0, 0x00ff_ffff) - 21.0).abs() < 1e-9);
    let light = (
        0x00fa_f6ee,
        [
            0x002a_2420,
            0x006a_5f55,
            0x00a4_560f,
            0x003f_6b35,
            0x00a1_3a2a,
            0x004a_5f7a,
        ],
    );
    let dark = (
        0x0019_1614,
        [
            0x00ef_e6da,
            0x00a8_9b8c,
            0x00f0_a35a,
            0x008f_c07f,
            0x00ee_8a78,
            0x009d_b3d1,
        ],
    );
    for (paper, inks) in [light, dark] {
        for ink in inks {
            assert!(
                contrast(paper, ink) >= 4.5,
                "{ink:06x} on {paper:06x}: {:.2}",
                contrast(paper, ink)
            );
        }
    }
}

#[test]
fn every_class_drawn_has_a_style() {
    for picture in crate::torture::all() {
        for classes in picture
            .svg
            .split("class=\"")
            .skip(1)
            .filter_map(|rest| rest.split('"').next())
        {
            let known = classes
                .split(' ')
                .any(|class| STYLE.contains(&format!(".{class}")) || class == "word");
            assert!(known, "{classes}");
        }
    }
}

#[test]
fn no_colour_and_no_style_is_written_into_a_picture() {
    for picture in crate::torture::all() {
        assert!(!picture.svg.contains("style=") && !picture.svg.contains("<style"));
        let fills = picture.svg.split("fill=\"").skip(1);
        // A pictogram's red, white and black are the law's.
        assert!(fills.into_iter().all(|fill| {
            ["url(#p", "#e2001a\"", "#fff\"", "#000\""]
                .iter()
                .any(|known| fill.starts_with(known))
        }));
        assert!(!picture.svg.contains("stroke=\""));
    }
}
