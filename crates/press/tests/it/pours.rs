//! Pictures of what pours teach: unit weights, how much to melt, what it fills.

use press::{
    CountChance, CountChances, EarlierPour, FillRange, Nominal, Noun, Picture, UnitWeights,
    count_chances, fill_range, unit_weights,
};

use crate::{oz, shown};

pub(crate) const BAR: Noun = Noun {
    one: "bar",
    many: "bars",
};

pub(crate) fn weighed(weights: &[f64]) -> Option<Picture> {
    unit_weights(&UnitWeights {
        noun: BAR,
        weights,
        nominal: Some(Nominal {
            word: "declared",
            weight: 1.5,
        }),
        next: Some((1.46, 1.67)),
        write: &oz,
    })
}

pub(crate) const LOT: [f64; 12] = [
    1.5, 1.55, 1.6, 1.55, 1.52, 1.58, 1.55, 1.6, 1.48, 1.56, 1.54, 1.62,
];

pub(crate) fn advised(pours: &[EarlierPour]) -> Option<Picture> {
    fill_range(&FillRange {
        noun: BAR,
        want: 12,
        middle: 19.5,
        advised: 19.5,
        low: 18.9,
        high: 20.2,
        pours,
        write: &|weight| format!("{weight:.1} oz"),
    })
}

/// The mould's first pour came one bar short, the second filled it.
pub(crate) const POURS: [EarlierPour; 2] = [
    EarlierPour {
        melted: 19.5,
        full: 12,
        of: 12,
    },
    EarlierPour {
        melted: 18.7,
        full: 11,
        of: 12,
    },
];

pub(crate) fn chances(chances: &[(usize, f64)]) -> Option<Picture> {
    let chances: Vec<CountChance> = chances
        .iter()
        .map(|(count, chance)| CountChance {
            count: *count,
            chance: *chance,
        })
        .collect();
    count_chances(&CountChances {
        noun: BAR,
        amount: "18.7 oz",
        chances: &chances,
    })
}

pub(crate) const SPREAD: [(usize, f64); 7] = [
    (7, 0.004),
    (8, 0.01),
    (9, 0.02),
    (10, 0.2),
    (11, 0.62),
    (12, 0.145),
    (13, 0.001),
];

#[test]
fn unit_weights_are_dots_about_their_mean() {
    insta::assert_snapshot!(shown(&weighed(&LOT).unwrap()));
}

#[test]
fn one_unit_is_spoken_of_as_one() {
    let picture = unit_weights(&UnitWeights {
        noun: BAR,
        weights: &[1.55],
        nominal: None,
        next: None,
        write: &oz,
    });
    let picture = picture.unwrap();
    assert_eq!(picture.title, "The one bar weighed is 1.55 oz");
    assert_eq!(picture.text, "One bar was weighed: 1.55 oz.");
}

#[test]
fn every_unit_is_one_dot() {
    for n in [1, 7, 400] {
        let weights: Vec<f64> = (0..n).map(|i| 1.5 + f64::from(i % 23) / 100.0).collect();
        let svg = weighed(&weights).unwrap().svg;
        assert_eq!(svg.matches("class=\"dot\"").count(), weights.len());
    }
}

#[test]
fn what_to_melt_is_a_band_over_the_pours() {
    insta::assert_snapshot!(shown(&advised(&POURS).unwrap()));
}

#[test]
fn the_title_tells_of_the_last_pour_when_it_came_short() {
    assert_eq!(
        advised(&POURS).unwrap().title,
        "11 of 12 filled; 12 needs about 19.5 oz"
    );
    assert_eq!(
        advised(&POURS[..1]).unwrap().title,
        "12 bars need about 19.5 oz"
    );
    assert!(
        advised(&[])
            .unwrap()
            .text
            .ends_with("No pour of this mould is on record yet.")
    );
}

#[test]
fn chances_are_bars_from_zero() {
    insta::assert_snapshot!(shown(&chances(&SPREAD).unwrap()));
}

#[test]
fn unlikely_counts_stand_together() {
    let many: Vec<(usize, f64)> = (1..=40)
        .map(|n| (n, if n == 20 { 0.61 } else { 0.01 }))
        .collect();
    let picture = chances(&many).unwrap();
    assert!(picture.svg.contains(">16 or fewer<") && picture.svg.contains(">24 or more<"));
    assert!(picture.svg.contains(">17 %<"), "17 counts of 1 % each");
    assert_eq!(picture.table.rows.len(), 40);
}

#[test]
fn no_count_is_passed_over_beside_those_that_stand_together() {
    let gaps = [(6, 0.001), (9, 0.01), (12, 0.93), (19, 0.001)];
    let picture = chances(&gaps).unwrap();
    assert!(picture.svg.contains(">8 or fewer<") && picture.svg.contains(">16 or more<"));
}

#[test]
fn nothing_weighed_or_learned_is_no_picture() {
    assert_eq!(weighed(&[]), None);
    assert_eq!(weighed(&[f64::NAN]), None);
    assert_eq!(chances(&[]), None);
    assert_eq!(chances(&[(3, 0.0), (4, f64::NAN)]), None);
}
