use formula::blend::{Blend, BlendError};
use formula::{Dye, DyeAmount, Formula, Target};
use measure::{Decimal, Mass, Reading};

use crate::{load, mass, nine_to_one, part, planned};

#[test]
fn a_blend_needs_something_in_it() {
    assert_eq!(Blend::try_new(vec![]), Err(BlendError::Empty));
    assert_eq!(
        Blend::try_new(vec![part("soy", 0, None)]),
        Err(BlendError::AllZero)
    );
    assert_eq!(
        Blend::try_new(vec![part("soy", 5, None), part("palm", -1, None)]),
        Err(BlendError::Negative(1))
    );
    let mut huge = part("soy", 1, None);
    huge.parts = Decimal::MAX;
    assert_eq!(
        Blend::try_new(vec![huge, part("palm", 1, None)]),
        Err(BlendError::TooLarge)
    );
}

/// Of 60 µg in 101 equal parts, each is owed 0.594 µg: sixty get one and
/// nobody is left with less than nothing.
#[test]
fn no_part_of_very_little_is_below_nothing() {
    let parts = (0..101).map(|i| part(&format!("wax {i}"), 1, None));
    let blend = Blend::try_new(parts.collect()).unwrap();
    let split = blend.split(Mass::from_micrograms(60));
    assert_eq!(split.iter().copied().sum::<Mass>().micrograms(), 60);
    assert_eq!(
        split.iter().filter(|part| part.micrograms() == 1).count(),
        60
    );
    assert!(split.iter().all(|part| *part >= Mass::ZERO));
}

/// The seats of 1792 by population, as printed in the article "Hamilton
/// method", https://electowiki.org/wiki/Hamilton_method
#[test]
fn what_is_left_goes_to_the_largest_remainders() {
    let populations = [
        630_560, 475_327, 432_879, 353_523, 331_589, 278_514, 236_841, 206_236, 179_570, 141_822,
        85_533, 70_835, 68_705, 68_446, 55_540,
    ];
    let parts = populations.map(|people| part("state", people, None));
    let split = Blend::try_new(parts.to_vec())
        .unwrap()
        .split(Mass::from_micrograms(60));
    let seats: Vec<_> = split.iter().map(|seats| seats.micrograms()).collect();
    assert_eq!(seats, [11, 8, 7, 6, 6, 5, 4, 3, 3, 2, 1, 1, 1, 1, 1]);
}

#[test]
fn thirds_add_up() {
    let blend = Blend::try_new(vec![
        part("soy", 1, None),
        part("palm", 1, None),
        part("rape", 1, None),
    ])
    .unwrap();
    let split = blend.split(mass("1 g"));
    assert_eq!(
        split
            .iter()
            .map(|mass| mass.micrograms())
            .collect::<Vec<_>>(),
        [333_334, 333_333, 333_333]
    );
}

#[test]
fn each_wax_adds_its_own_capacity_on_its_own_base() {
    // By hand: 0.5 × 10 % + 0.5 × (10/90) = 5 % + 5.5556 % = 10.5556 %.
    let blend = Blend::try_new(vec![
        part("soy", 1, Some("10 % of wax")),
        part("palm", 1, Some("10 % of total")),
    ])
    .unwrap();
    let limit = blend.limit();
    assert_eq!(
        limit.of_wax.unwrap().percent().round_dp(4).to_string(),
        "10.5556"
    );
    assert!(limit.unknown.is_empty());
}

#[test]
fn a_wax_without_a_limit_carries_none_and_is_named() {
    let limit = nine_to_one("8 % of wax").blend.limit();
    assert_eq!(limit.of_wax.unwrap().to_string(), "9 %");
    assert_eq!(limit.unknown, ["paraffin melt wax"]);
    let blend = Blend::try_new(vec![part("soy", 1, None)]).unwrap();
    assert_eq!(blend.limit().of_wax, None);
}

#[track_caller]
fn dyed(amount: &str, drop: Option<&str>, target: Target, expected: &str) {
    let formula = Formula {
        blend: Blend::try_new(vec![part("soy", 1, None)]).unwrap(),
        load: load("10 % of wax"),
        dyes: vec![Dye {
            name: "blue".to_owned(),
            amount: DyeAmount::parse(amount, Reading::PLAIN).unwrap(),
            drop_weight: drop.map(mass),
        }],
    };
    let plan = planned(&formula, target, "0.01 g");
    let portions: Vec<String> = plan
        .portions
        .iter()
        .map(|portion| format!("{} {}", portion.weight, portion.name))
        .chain(
            plan.drops
                .iter()
                .map(|dye| format!("{} drops {}", dye.drops.normalize(), dye.name)),
        )
        .collect();
    assert_eq!(portions.join(", "), expected);
    assert_eq!(
        plan.exact.wax + plan.exact.oil + plan.exact.dye,
        plan.exact.total()
    );
}

#[test]
fn dye_counts_in_the_total() {
    // T = W (1 + 0.10 + 0.005): 1105 g of mix are 1000 g of wax.
    let all = Target::Total(mass("1105 g"));
    dyed(
        "0.5 % of wax",
        None,
        all,
        "1000.00 g soy, 5.00 g blue, 100.00 g fragrance oil",
    );
    let wax = Target::Wax(mass("1000 g"));
    dyed(
        "0.5 %",
        None,
        wax,
        "1000.00 g soy, 5.00 g blue, 100.00 g fragrance oil",
    );
}

#[test]
fn drops_are_counted_and_weighed_only_when_their_weight_is_known() {
    let wax = Target::Wax(mass("2 lb"));
    dyed(
        "2 drops per lb",
        None,
        wax,
        "907.18 g soy, 90.72 g fragrance oil, 4 drops blue",
    );
    dyed(
        "2 drops per lb",
        Some("0.05 g"),
        wax,
        "907.18 g soy, 0.20 g blue, 90.72 g fragrance oil, 4 drops blue",
    );
    // T = W (1 + 0.10) + 4 × 0.05 g
    dyed(
        "4 drops",
        Some("0.05 g"),
        Target::Total(mass("1100.2 g")),
        "1000.00 g soy, 0.20 g blue, 100.00 g fragrance oil, 4 drops blue",
    );
    dyed(
        "4 drops",
        None,
        Target::Wax(mass("1 kg")),
        "1000.00 g soy, 100.00 g fragrance oil, 4 drops blue",
    );
}

#[test]
fn an_amount_of_dye_says_what_it_is() {
    let wrong = |text: &str| {
        DyeAmount::parse(text, Reading::PLAIN)
            .unwrap_err()
            .wrong
            .into_owned()
    };
    assert_eq!(wrong(""), "the amount of dye is missing");
    assert_eq!(
        wrong("0.5 % of total"),
        "dye is given as a share of the wax"
    );
    assert_eq!(wrong("120 % of wax"), "that is more dye than wax");
    assert_eq!(wrong("-2 drops"), "the number of drops cannot be negative");
    assert_eq!(wrong("2 drops per 0 g"), "the wax weighs nothing");
    assert_eq!(
        wrong("2 drops a lb"),
        "after the drops comes nothing, or per and a weight"
    );
    assert_eq!(
        wrong("99999999999999 drops"),
        "that is more drops than anyone counts"
    );
    assert_eq!(wrong("a bit"), "there is no percent sign");
}

/// Once the dye was reckoned from wax that was a microgram off, and the parts
/// added up to a microgram too much.
#[test]
fn two_dyes_add_up_to_the_last_microgram() {
    let dye = |share: &str| Dye {
        name: "dye".to_owned(),
        amount: DyeAmount::parse(share, Reading::PLAIN).unwrap(),
        drop_weight: None,
    };
    let formula = Formula {
        dyes: vec![dye("0.8 %"), dye("3.4 %")],
        ..crate::plain("40.8 % of wax")
    };
    let total = Mass::from_micrograms(218_795_784_546);
    let plan = planned(&formula, Target::Total(total), "1 g");
    let sum: Mass = plan.portions.iter().map(|portion| portion.exact).sum();
    assert_eq!(sum, total);
}
