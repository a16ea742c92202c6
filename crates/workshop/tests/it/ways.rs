//! Back on course after a slip of the hand.

use formula::FragranceLoad;
use measure::{Decimal, System};
use workshop::facts::{AfterSlip, BlendPart, FormulaId, PourId, Recipe, SupplyId, SupplyKind};
use workshop::{decide, plan_pour, ways_on};

use crate::book::{Book, MOULD, Mould, WAX, mass, percent};

const OIL: SupplyId = SupplyId(2);
const FORMULA: FormulaId = FormulaId(2);
const POUR: PourId = PourId(1);

/// 20 oz of wax and 2 oz of oil planned, and nothing in the pot.
fn planned() -> Book {
    let mut book = Book::new(System::Us, "0.1 oz", None, Mould::bare(12));
    let kind = SupplyKind::FragranceOil;
    book.fact(decide::define_supply(
        &book.workshop,
        kind,
        "Harbour Fig oil",
        None,
        None,
    ));
    let recipe = Recipe {
        blend: vec![BlendPart {
            supply: WAX,
            parts: Decimal::ONE,
        }],
        oil: Some(OIL),
        load: FragranceLoad::OfWax(percent("10 %")),
        dye: None,
        add_at: None,
        pour_at: None,
        cure_days: 0,
        set_density: None,
    };
    book.fact(decide::define_formula(
        &book.workshop,
        "Harbour Fig",
        recipe.clone(),
    ));
    let target = formula::Target::Wax(mass("20 oz").value());
    let planned = plan_pour(&book.workshop, &recipe, target).unwrap();
    assert_eq!(planned.total().to_string(), "22.0 oz");
    book.fact(decide::start_pour(
        &book.workshop,
        FORMULA,
        Some(MOULD),
        None,
        12,
        planned.portions,
        book.day,
    ));
    book
}

impl Book {
    fn weighed(&mut self, portion: u32, weight: &str) {
        self.fact(decide::weigh(&self.workshop, POUR, portion, mass(weight)));
    }

    /// What each portion is to weigh if the formula is kept, and the load if not.
    fn ways(&self) -> Option<(Vec<String>, String)> {
        let ways = ways_on(&self.workshop, self.workshop.pour(POUR).unwrap())?;
        let scaled = ways.keep_formula.unwrap().portions;
        let ounces = scaled
            .iter()
            .map(|scaled| scaled.target.typed(measure::MassUnit::Ounce, 1).to_string());
        let load = measure::percent(ways.keep_going.of_wax, 1);
        Some((ounces.collect(), load))
    }
}

#[test]
fn what_a_scale_is_too_coarse_for_has_its_own_name() {
    let book = planned();
    let recipe = book.workshop.formula(FORMULA).unwrap().current();
    // 10 % of 2.4 oz is 0.24 oz, and the scale shows tenths.
    let target = formula::Target::Wax(mass("2.4 oz").value());
    let planned = plan_pour(&book.workshop, recipe, target).unwrap();
    let notes = planned.plan.notes.iter().map(|note| note.text.as_str());
    let coarse: Vec<_> = notes.filter(|text| text.contains("finer scale")).collect();
    assert_eq!(coarse.len(), 1, "{coarse:?}");
    assert!(coarse[0].starts_with("Harbour Fig oil should be "));
}

#[test]
fn on_target_to_half_a_step_there_is_nothing_to_choose() {
    for (weight, slipped) in [("19.8 oz", false), ("20.04 oz", false), ("20.06 oz", true)] {
        let mut book = planned();
        book.weighed(0, weight);
        assert_eq!(book.ways().is_some(), slipped, "{weight}");
    }
}

#[test]
fn too_much_wax_asks_for_more_oil_or_gives_a_weaker_load() {
    let mut book = planned();
    book.weighed(0, "22 oz");
    // 22 × 10 % is 2.2; 2 ÷ 22 is 9.1 %.
    let expected = vec!["22.0 oz".to_owned(), "2.2 oz".to_owned()];
    assert_eq!(book.ways(), Some((expected, "9.1 %".to_owned())));
}

#[test]
fn too_much_oil_asks_for_more_wax_or_gives_a_stronger_load() {
    let mut book = planned();
    book.weighed(0, "20 oz");
    book.weighed(1, "2.5 oz");
    // 2.5 ÷ 10 % is 25; 2.5 ÷ 20 is 12.5 %.
    let expected = vec!["25.0 oz".to_owned(), "2.5 oz".to_owned()];
    assert_eq!(book.ways(), Some((expected, "12.5 %".to_owned())));
}

#[test]
fn a_slip_that_was_met_is_not_asked_about_again() {
    let mut book = planned();
    book.weighed(0, "22 oz");
    let targets = vec![mass("22 oz"), mass("2.2 oz")];
    let choice = AfterSlip::ScaleTheRest;
    book.fact(decide::rescale(&book.workshop, POUR, choice, targets));
    assert_eq!(book.ways(), None);
    // A second slip is measured from the new targets.
    book.weighed(1, "2.4 oz");
    let expected = vec!["24.0 oz".to_owned(), "2.4 oz".to_owned()];
    assert_eq!(book.ways(), Some((expected, "10.9 %".to_owned())));
}

#[test]
fn a_weight_put_right_takes_the_slip_back() {
    let mut book = planned();
    book.weighed(0, "22 oz");
    assert!(book.ways().is_some());
    let right = mass("20.0 oz");
    book.fact(decide::correct_weight(
        &book.workshop,
        POUR,
        0,
        right,
        "mistyped",
    ));
    assert_eq!(book.ways(), None);
}
