//! Pictures of the label: the ladder of loads and the pictograms on it.

use press::{LabelLadder, LabelRung, MarkedLoad, Pictogram, Picture, label_ladder};

use crate::shown;

pub(crate) const RUNGS: [LabelRung; 4] = [
    LabelRung {
        from: 0.0,
        to: 0.63,
        span: "up to 0.62 %",
        title: "no hazard label",
        signal: None,
        pictograms: &[],
        codes: &[],
    },
    LabelRung {
        from: 0.63,
        to: 7.41,
        span: "up to 7.41 %",
        title: "a line that names two allergens",
        signal: None,
        pictograms: &[],
        codes: &["EUH208"],
    },
    LabelRung {
        from: 7.41,
        to: 11.2,
        span: "up to 11.19 %",
        title: "a warning label: may cause an allergic skin reaction",
        signal: Some("Warning"),
        pictograms: &[Pictogram::ExclamationMark],
        codes: &["H317", "H412"],
    },
    LabelRung {
        from: 11.2,
        to: 12.0,
        span: "above 11.19 %",
        title: "a warning label: allergic skin reaction, and toxic to aquatic life",
        signal: Some("Warning"),
        pictograms: &[Pictogram::ExclamationMark, Pictogram::Environment],
        codes: &["H317", "H411"],
    },
];

pub(crate) fn ladder(rungs: &[LabelRung], now: Option<(f64, usize)>) -> Option<Picture> {
    let text = now.map(|(now, _)| format!("{now} % of wax"));
    label_ladder(&LabelLadder {
        rungs,
        limit: Some(MarkedLoad {
            load: 12.0,
            text: "12 % of wax",
        }),
        now: now
            .zip(text.as_deref())
            .map(|((load, _), text)| MarkedLoad { load, text }),
        at: now.map(|(_, at)| at),
        of: "of wax",
    })
}

#[test]
fn a_ladder_says_what_the_label_carries_at_each_load() {
    let picture = ladder(&RUNGS, Some((8.0, 2))).expect("four rungs");
    assert_eq!(
        picture.title,
        "At 8 % of wax: a warning label: may cause an allergic skin reaction; \
         up to 7.41 %: a line that names two allergens"
    );
    insta::assert_snapshot!(shown(&picture));
}

#[test]
fn a_load_on_a_boundary_stands_where_it_is_told() {
    let title = |at| ladder(&RUNGS, Some((7.41, at))).expect("four rungs").title;
    assert!(title(1).starts_with("At 7.41 % of wax: a line"));
    assert!(title(2).starts_with("At 7.41 % of wax: a warning"));
}

#[test]
fn a_rung_of_one_load_is_drawn() {
    let mut rungs = RUNGS;
    rungs[3].from = 12.0;
    let picture = ladder(&rungs, Some((12.0, 3))).expect("four rungs");
    assert!(
        picture
            .title
            .starts_with("At 12 % of wax: a warning label: allergic")
    );
    assert_eq!(picture.table.rows.len(), 4);
}

#[test]
fn without_a_load_the_lightest_label_is_the_answer() {
    let picture = ladder(&RUNGS, None).expect("four rungs");
    assert_eq!(
        picture.title,
        "Up to 0.62 %: no hazard label; up to 7.41 %: a line that names two allergens"
    );
    let picture = ladder(&RUNGS[..1], None).expect("one rung");
    assert_eq!(picture.title, "At every load: no hazard label");
    assert_eq!(ladder(&[], Some((8.0, 2))), None);
}

#[test]
fn many_rungs_close_together_stay_apart() {
    let rungs: Vec<LabelRung> = (0..14)
        .map(|n| LabelRung {
            from: f64::from(n) * 0.01,
            to: f64::from(n + 1) * 0.01,
            ..RUNGS[2]
        })
        .collect();
    let picture = ladder(&rungs, None).expect("rungs");
    assert_eq!(picture.table.rows.len(), 14);
    assert!(picture.svg.contains("4 more above; the table has them"));
    // Each block's top line, from the lowest rung up, leaves room for its words.
    let tops: Vec<f64> = picture
        .svg
        .split("class=\"rule\"")
        .skip(1)
        .filter_map(|rest| rest.split("y1=\"").nth(1)?.split("em").next()?.parse().ok())
        .collect();
    assert_eq!(tops.len(), 10);
    assert!(
        tops.windows(2).all(|pair| pair[0] - pair[1] > 6.0),
        "{tops:?}"
    );
}

/// CLP Annex I, 1.2.1: the size is that of the red frame's side; the diagonal of a square
/// of 16 mm is 22.627 mm (Euclid, I.47).
#[test]
fn a_pictogram_is_as_large_as_its_side_says() {
    let svg = Pictogram::ExclamationMark.svg(16.0);
    assert!(
        svg.contains("width=\"22.627mm\" height=\"22.627mm\""),
        "{svg}"
    );
    for side in [0.0, -3.0, f64::NAN, f64::INFINITY] {
        assert!(Pictogram::Flame.svg(side).contains("width=\"14.142mm\""));
    }
}

/// The names are those of CLP Annex V and of the GHS (from memory).
#[test]
fn every_pictogram_has_its_code_and_its_name() {
    let all: Vec<String> = Pictogram::ALL
        .map(|one| format!("{} {}", one.code(), one.name()))
        .into();
    assert_eq!(
        all,
        [
            "GHS01 exploding bomb",
            "GHS02 flame",
            "GHS03 flame over circle",
            "GHS04 gas cylinder",
            "GHS05 corrosion",
            "GHS06 skull and crossbones",
            "GHS07 exclamation mark",
            "GHS08 health hazard",
            "GHS09 environment",
        ]
    );
    for one in Pictogram::ALL {
        assert_eq!(Pictogram::parse(one.code()), Some(one));
        let svg = one.svg(10.0);
        // Frame, ground, and never a frame with nothing in it.
        assert!(svg.matches("<path").count() > 2 && svg.contains("fill=\"#000\""));
        assert!(svg.contains(one.name()));
    }
    assert_eq!(Pictogram::parse("GHS10"), None);
    assert_eq!(Pictogram::parse(""), None);
}
