//! What holds for any mixture.

use std::collections::BTreeSet;

use hazard::{
    AcuteEstimate, Class, Classification, EstimateKind, Form, Hazard, Ingredient, Jurisdiction,
    Mixture, Part, Share, Unlisted, classify,
};
use measure::Decimal;
use proptest::prelude::*;

use crate::mixing::{law, part, some, told};

/// Any class but the physical ones, which are not added up.
fn any_class() -> impl Strategy<Value = Class> {
    let classes: Vec<Class> = Class::ALL
        .iter()
        .copied()
        .filter(|class| !class.is_physical())
        .collect();
    prop::sample::select(classes)
}

/// A share in hundred-thousandths of a percent, small or large.
fn any_share() -> impl Strategy<Value = i64> {
    prop_oneof![
        1..2_000_i64,
        2_000..200_000_i64,
        prop::sample::select(vec![
            1_000_i64, 10_000, 30_000, 100_000, 300_000, 500_000, 1_000_000
        ]),
    ]
}

fn percent(share: i64) -> Decimal {
    Decimal::new(share, 5)
}

fn any_ingredient() -> impl Strategy<Value = Ingredient> {
    (
        any_share(),
        0..4_u8,
        prop::option::weighted(0.9, prop::collection::vec(any_class(), 0..4)),
        prop::sample::select(vec![1_u32, 10, 100]),
        prop::option::of((
            prop::sample::select(vec![
                EstimateKind::Oral,
                EstimateKind::Dermal,
                EstimateKind::Vapour,
                EstimateKind::Mist,
            ]),
            1..6000_i64,
        )),
    )
        .prop_map(|(share, ranged, classes, factor, estimate)| {
            let low = if ranged == 0 { share / 2 } else { share };
            Ingredient {
                name: String::new(),
                cas: None,
                share: Share::within(percent(low), Some(percent(share)), false, false).unwrap(),
                hazards: classes.map(|classes| classes.into_iter().map(Hazard::from).collect()),
                m_acute: Some(factor),
                m_chronic: Some(factor),
                estimates: estimate
                    .map(|(kind, value)| AcuteEstimate {
                        kind,
                        value: Decimal::new(value, 1),
                        above: false,
                    })
                    .into_iter()
                    .collect(),
                bands: Vec::new(),
            }
        })
}

/// Ingredients of 8 × 10 % at most, each with its own name.
fn any_oil() -> impl Strategy<Value = Vec<Ingredient>> {
    prop::collection::vec(any_ingredient(), 1..9).prop_map(|mut lines| {
        for (nth, line) in lines.iter_mut().enumerate() {
            line.name = format!("x{nth}");
        }
        lines
    })
}

fn any_law() -> impl Strategy<Value = Jurisdiction> {
    prop::sample::select(vec![Jurisdiction::Eu, Jurisdiction::Gb, Jurisdiction::Un])
}

fn any_unlisted() -> impl Strategy<Value = Unlisted> {
    prop::sample::select(vec![Unlisted::NotHazardous, Unlisted::Unknown])
}

const THIN: Form = Form::MoltenAt40C {
    viscosity_mm2_s: None,
};

fn ask(parts: &[Part], jurisdiction: Jurisdiction) -> (Mixture, Classification) {
    let mixture = Mixture::of(parts).unwrap();
    let answer = classify(&mixture, &law(jurisdiction), &THIN);
    (mixture, answer)
}

fn oil(weight: i64, lines: Vec<Ingredient>, unlisted: Unlisted) -> Part {
    Part {
        unlisted,
        ..part(&weight.to_string(), lines)
    }
}

/// Everything of an answer that a person reads, whatever the order of lines.
fn read(mixture: &Mixture, answer: &Classification) -> Vec<String> {
    let names = |places: &[usize]| {
        places
            .iter()
            .map(|place| mixture.name(*place))
            .collect::<BTreeSet<_>>()
    };
    let mut lines: Vec<String> = answer
        .found
        .iter()
        .map(|found| {
            format!(
                "{} {:?} {}",
                found.hazard,
                names(&found.deciding),
                found.only_by_worst_case
            )
        })
        .collect();
    lines.push(format!("{:?}", names(&answer.contains)));
    lines.push(format!(
        "{:.6} {:.6} {:.6} {:?}",
        answer.unknown.oral,
        answer.unknown.inhalation,
        answer.unknown.aquatic,
        names(&answer.unknown.substances)
    ));
    lines
}

/// How severe an answer is in each kind: kind and rank, the severer the lower.
fn severity(answer: &Classification) -> Vec<(String, Class)> {
    answer
        .hazards()
        .map(|hazard| {
            let class = hazard.class;
            let code = class.code();
            let kind: String = code
                .chars()
                .take_while(|sign| !sign.is_ascii_digit())
                .collect();
            let kind = match (class.acute(), kind.as_str()) {
                (Some((route, _)), _) => route.to_string(),
                (None, "Skin Corr. " | "Skin Irrit. ") => "skin".to_owned(),
                (None, "Eye Dam. " | "Eye Irrit. ") => "eye".to_owned(),
                (None, "STOT SE ") if code.ends_with('3') => format!("{class:?}"),
                (None, _) => kind,
            };
            (kind, class)
        })
        .collect()
}

/// Skin Corr. 1, 1A, 1B and 1C have one statement and one label, and so have
/// sensitisers; which stands there hangs on the others present.
fn rank(class: Class) -> Class {
    match class {
        Class::SkinCorr1A | Class::SkinCorr1B | Class::SkinCorr1C => Class::SkinCorr1,
        Class::SkinSens1A | Class::SkinSens1B => Class::SkinSens1,
        Class::RespSens1A | Class::RespSens1B => Class::RespSens1,
        other => other,
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    #[test]
    fn the_order_of_lines_never_matters(
        lines in any_oil(),
        seed in any::<u64>(),
        jurisdiction in any_law(),
        unlisted in any_unlisted(),
    ) {
        let mut shuffled = lines.clone();
        let mut seed = seed;
        for nth in (1..shuffled.len()).rev() {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            let other = usize::try_from(seed >> 33).unwrap() % (nth + 1);
            shuffled.swap(nth, other);
        }
        let (one, first) = ask(&[oil(1, lines, unlisted)], jurisdiction);
        let (two, second) = ask(&[oil(1, shuffled, unlisted)], jurisdiction);
        prop_assert_eq!(read(&one, &first), read(&two, &second));
    }

    #[test]
    fn splitting_a_line_changes_nothing(
        lines in any_oil(),
        which in any::<prop::sample::Index>(),
        at in 1..1000_i64,
        jurisdiction in any_law(),
        unlisted in any_unlisted(),
    ) {
        let mut split = lines.clone();
        let nth = which.index(split.len());
        let whole = split[nth].share;
        let piece = |share: Decimal| (share * Decimal::new(at, 3)).trunc_with_scale(5);
        let (low, high) = (whole.low(), whole.high().unwrap());
        let (low_piece, high_piece) = (piece(low), piece(high));
        split[nth].share =
            Share::within(low_piece, Some(high_piece), false, false).unwrap();
        let mut rest = split[nth].clone();
        rest.share = match Share::within(low - low_piece, Some(high - high_piece), false, false) {
            Some(share) => share,
            None => return Ok(()),
        };
        split.push(rest);
        let (one, first) = ask(&[oil(1, lines, unlisted)], jurisdiction);
        let (two, second) = ask(&[oil(1, split, unlisted)], jurisdiction);
        prop_assert_eq!(read(&one, &first), read(&two, &second));
    }

    /// A wax that is not classified never makes a class severer. It may turn
    /// H317 into EUH208, or a deciding sensitiser into a further name (CLP Annex
    /// II, 2.8): names that were not due before.
    #[test]
    fn thinning_never_adds_a_hazard(
        lines in any_oil(),
        wax in 1..5000_i64,
        jurisdiction in any_law(),
        unlisted in any_unlisted(),
    ) {
        let (pure, before) = ask(&[oil(100, lines.clone(), unlisted)], jurisdiction);
        let (thin, after) = ask(
            &[part(&wax.to_string(), Vec::new()), oil(100, lines, unlisted)],
            jurisdiction,
        );
        let severe = severity(&before);
        for (kind, class) in severity(&after) {
            let was = severe.iter().find(|(own, _)| *own == kind);
            prop_assert!(
                was.is_some_and(|(_, was)| rank(*was) <= rank(class)),
                "{} became {}", told(&pure, &before), told(&thin, &after)
            );
        }
        // Whoever is named now was named or decided before.
        for place in &after.contains {
            let name = thin.name(*place);
            let was = before
                .contains
                .iter()
                .chain(before.found.iter().flat_map(|found| &found.deciding))
                .any(|place| pure.name(*place) == name);
            prop_assert!(was, "{name} is named only in the thinner one");
        }
    }

    /// More of one ingredient never takes its own hazard away, only makes it
    /// severer.
    #[test]
    fn more_of_it_is_never_milder(
        lines in any_oil(),
        which in any::<prop::sample::Index>(),
        more in 1..1_000_000_i64,
        jurisdiction in any_law(),
    ) {
        let mut richer = lines.clone();
        let nth = which.index(richer.len());
        let share = richer[nth].share;
        let high = (share.high().unwrap() + percent(more)).min(Decimal::TEN);
        richer[nth].share = Share::within(share.low(), Some(high), false, false).unwrap();
        let of = |lines| ask(&[oil(1, lines, Unlisted::NotHazardous)], jurisdiction);
        let (less_mix, less) = of(lines);
        let (more_mix, more) = of(richer);
        let severe = severity(&more);
        for (kind, class) in severity(&less) {
            let is = severe.iter().find(|(own, _)| *own == kind);
            prop_assert!(
                is.is_some_and(|(_, is)| rank(*is) <= rank(class)),
                "{} became {}", told(&less_mix, &less), told(&more_mix, &more)
            );
        }
    }

    #[test]
    fn one_category_of_a_kind_and_no_name_twice(
        lines in any_oil(),
        jurisdiction in any_law(),
    ) {
        let (_, answer) = ask(&[oil(1, lines, Unlisted::NotHazardous)], jurisdiction);
        let kinds = severity(&answer);
        let distinct: BTreeSet<_> = kinds.iter().map(|(kind, _)| kind.clone()).collect();
        prop_assert_eq!(distinct.len(), kinds.len());
        for found in &answer.found {
            let class = found.hazard.class;
            if matches!(rank(class), Class::SkinSens1 | Class::RespSens1) {
                prop_assert!(found.deciding.iter().all(|one| !answer.contains.contains(one)));
            }
        }
        let mut order: Vec<Class> = answer.hazards().map(|hazard| hazard.class).collect();
        order.sort_unstable();
        let shown: Vec<Class> = answer.hazards().map(|hazard| hazard.class).collect();
        prop_assert_eq!(order, shown);
    }
}

/// The same oil in grams, ounces or hundredths: only the proportion counts.
#[test]
fn the_unit_of_the_parts_does_not_matter() {
    let lines = || vec![some("a", "11", &["Skin Sens. 1B"])];
    for (wax, oil) in [("100", "10"), ("16.7", "1.67"), ("453592370", "45359237")] {
        let mixture = Mixture::of(&[part(wax, Vec::new()), part(oil, lines())]).unwrap();
        let answer = classify(&mixture, &law(Jurisdiction::Eu), &Form::Solid);
        assert_eq!(told(&mixture, &answer), "Skin Sens. 1B H317", "{wax} {oil}");
    }
}
