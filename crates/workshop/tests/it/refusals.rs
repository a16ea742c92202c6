//! What the decisions refuse, and in which words.

use formula::FragranceLoad;
use measure::{Currency, Decimal, Mass, Money, Ratio, Reading, System, Typed};
use workshop::Refusal;
use workshop::decide::{self, Decision};
use workshop::facts::{
    AfterSlip, Amount, BlendPart, DyeDose, Format, FormulaId, FreightSpread, MouldId, PartFill,
    PourCount, PourId, ProductId, ReceiptId, ReceiptLine, Recipe, SupplyId, SupplyKind,
};

use crate::book::{Book, MOULD, Mould, WAX, filled, mass, percent};

const OIL: SupplyId = SupplyId(2);
const BAG: SupplyId = SupplyId(3);
const FORMULA: FormulaId = FormulaId(1);
const GOOD: ProductId = ProductId(1);
/// Weighed in part.
const OPEN: PourId = PourId(1);
/// Counted, nine full.
const COUNTED: PourId = PourId(2);
/// On the rack.
const FINISHED: PourId = PourId(3);

fn money(text: &str) -> Money {
    Money::parse(text, None, Reading::PLAIN).unwrap()
}

/// A workshop with one of everything, and a pour at each point of its way.
fn workshop() -> Book {
    let mut book = Book::new(System::Us, "0.1 oz", None, Mould::bare(12));
    for (kind, name) in [
        (SupplyKind::FragranceOil, "Harbour Fig oil"),
        (SupplyKind::Wrap, "bag"),
    ] {
        book.fact(decide::define_supply(
            &book.workshop,
            kind,
            name,
            None,
            None,
        ));
    }
    book.fact(receive(&book, vec![line(WAX, "10 lb", "20 USD")]));
    let packing = vec![(BAG, 1)];
    book.fact(decide::define_product(
        &book.workshop,
        "bar",
        FORMULA,
        MOULD,
        packing,
    ));
    let portions = ["16 oz", "1 oz"].map(|weight| workshop::facts::Portion {
        supply: WAX,
        weight: mass(weight),
    });
    book.fact(decide::start_pour(
        &book.workshop,
        FORMULA,
        Some(MOULD),
        None,
        12,
        portions.to_vec(),
        book.day,
    ));
    book.fact(decide::weigh(&book.workshop, OPEN, 0, mass("16 oz")));
    book.pour("16 oz", 12, filled(9, "1 oz"));
    book.pour("16 oz", 12, filled(9, "1 oz"));
    book.finish(FINISHED, 9);
    book
}

fn line(supply: SupplyId, amount: &str, paid: &str) -> ReceiptLine {
    let amount = amount
        .parse()
        .map_or_else(|_| Amount::Weight(mass(amount)), Amount::Count);
    ReceiptLine {
        volume: None,
        supply,
        supplier_lot: String::new(),
        amount,
        paid: money(paid),
    }
}

fn receive(book: &Book, lines: Vec<ReceiptLine>) -> Decision {
    decide::receive(&book.workshop, "", lines, None, FreightSpread::ByValue)
}

fn recipe(change: impl FnOnce(&mut Recipe)) -> Recipe {
    let mut recipe = Recipe {
        blend: vec![BlendPart {
            supply: WAX,
            parts: Decimal::ONE_HUNDRED,
        }],
        oil: Some(OIL),
        load: FragranceLoad::OfWax(percent("8 %")),
        dye: None,
        add_at: None,
        pour_at: None,
        cure_days: 0,
        set_density: None,
    };
    change(&mut recipe);
    recipe
}

/// The refusal in words: each problem with its field, or the sentence.
fn said(decided: Decision) -> String {
    match decided {
        Ok(facts) => format!("allowed: {facts:?}"),
        Err(Refusal::Input(problems)) => {
            let each = problems.0.iter();
            let each: Vec<_> = each.map(|p| format!("{}: {}", p.field, p.wrong)).collect();
            each.join(" / ")
        }
        Err(other) => other.to_string(),
    }
}

#[track_caller]
fn check(rows: Vec<(Decision, &str)>) {
    for (decided, expected) in rows {
        assert_eq!(said(decided), expected);
    }
}

#[test]
fn names_are_one_short_line_and_taken_once() {
    let book = workshop();
    let shop = &book.workshop;
    let oil = |name: &str| decide::define_supply(shop, SupplyKind::FragranceOil, name, None, None);
    let mould = |name: &str| decide::define_mould(shop, name, Format::Shapes, 6, None, None);
    check(vec![
        (oil(" \u{a0} "), "name: it is missing"),
        (oil(&"é".repeat(81)), "name: it is too long"),
        (
            oil("Peat\nPlum"),
            "name: it has a line break or another control character in it",
        ),
        (
            oil("harbour FIG oil "),
            "name: there is a fragrance oil of that name",
        ),
        (
            decide::amend_supply(shop, SupplyId(9), "x", None, None),
            "there is no supply 9",
        ),
        (mould("Twelve Bars"), "name: there is a mould of that name"),
    ]);
    assert!(oil(&"é".repeat(80)).is_ok());
    // The same name for a thing of another kind is another thing.
    let dye = decide::define_supply(shop, SupplyKind::Dye, "Harbour Fig oil", None, None);
    assert!(dye.is_ok());
    assert!(decide::amend_supply(shop, OIL, "HARBOUR FIG OIL", None, None).is_ok());
}

#[test]
fn settings_are_in_one_currency_and_weights_a_bench_can_bear() {
    let book = workshop();
    let with = |change: &dyn Fn(&mut workshop::facts::Settings)| {
        let mut settings = book.workshop.settings().unwrap().clone();
        change(&mut settings);
        decide::set_up(&book.workshop, settings)
    };
    check(vec![
        (with(&|s| s.name.clear()), "name: it is missing"),
        (
            with(&|s| s.currency = Currency::EUR),
            "currency: money is already written down in USD",
        ),
        (
            with(&|s| s.wage = Some(money("12 GBP"))),
            "wage: it is in another currency",
        ),
        (
            with(&|s| s.overhead_per_hour = Some(money("3 GBP"))),
            "overhead_per_hour: it is in another currency",
        ),
        (
            with(&|s| s.readability = mass("10001 kg")),
            "readability: that is more than ten tonnes",
        ),
        (
            with(&|s| s.melter = Some(mass("10001 kg"))),
            "melter: that is more than ten tonnes",
        ),
    ]);
}

#[test]
fn deliveries_name_what_is_wrong_line_by_line() {
    let book = workshop();
    let of = |lines| receive(&book, lines);
    let correct = |receipt, nth, amount, paid, reason| {
        let receipt = ReceiptId(receipt);
        decide::correct_receipt(&book.workshop, receipt, nth, amount, money(paid), reason)
    };
    let pounds = || Amount::Weight(mass("5 lb"));
    check(vec![
        (of(vec![]), "lines: nothing came"),
        (
            of(vec![
                line(SupplyId(9), "1 lb", "1 USD"),
                line(WAX, "12", "1 USD"),
                line(BAG, "1 lb", "1 USD"),
                line(WAX, "0 lb", "1 USD"),
                line(BAG, "0", "1 USD"),
            ]),
            "lines[0].supply: there is no such supply / \
             lines[1].amount: soy container wax goes by weight / \
             lines[2].amount: bag goes by count / \
             lines[3].amount: that is nothing / \
             lines[4].amount: that is nothing",
        ),
        (
            of(vec![
                line(WAX, "10001 kg", "1 USD"),
                line(BAG, "10000001", "1 USD"),
            ]),
            "lines[0].amount: that is more than ten tonnes / \
             lines[1].amount: that is more than ten million",
        ),
        (
            of(vec![line(WAX, "1 lb", "1 EUR")]),
            "paid: this workshop keeps its books in USD",
        ),
        (
            of(vec![line(BAG, "1", "1 USD"); 101]),
            "lines: that is too many at once",
        ),
        (
            correct(9, 0, pounds(), "1 USD", "misread"),
            "there is no delivery line 9/0",
        ),
        (
            correct(1, 1, pounds(), "1 USD", "misread"),
            "there is no delivery line 1/1",
        ),
        (
            correct(1, 0, Amount::Count(5), "1 USD", "misread"),
            "amount: soy container wax goes by weight",
        ),
        (
            correct(1, 0, pounds(), "1 EUR", "misread"),
            "paid: this workshop keeps its books in USD",
        ),
        (
            correct(1, 0, pounds(), "1 USD", ""),
            "reason: it is missing",
        ),
    ]);
}

#[test]
fn a_formula_is_made_of_wax_that_stands_on_the_shelf() {
    let book = workshop();
    let of = |change: &dyn Fn(&mut Recipe)| {
        decide::define_formula(&book.workshop, "Rainy Loft", recipe(change))
    };
    let revise = |id, recipe, reason| decide::revise_formula(&book.workshop, id, recipe, reason);
    let same = book.workshop.formula(FORMULA).unwrap().current().clone();
    check(vec![
        (of(&|r| r.blend.clear()), "blend: there is no wax in it"),
        (
            of(&|r| r.blend[0].parts = Decimal::ZERO),
            "blend: there is no wax in it",
        ),
        (
            of(&|r| r.blend[0].parts = Decimal::NEGATIVE_ONE),
            "blend[0].parts: parts cannot be negative",
        ),
        (
            of(&|r| r.blend[0].supply = OIL),
            "blend[0].supply: it is not a wax or additive",
        ),
        (
            of(&|r| r.blend[0].supply = SupplyId(9)),
            "blend[0].supply: it is not a wax or additive",
        ),
        (of(&|r| r.oil = Some(WAX)), "oil: it is not a fragrance oil"),
        (
            of(&|r| r.dye = Some((OIL, DyeDose::OfWax(Ratio::ONE)))),
            "dye: it is not a dye",
        ),
        (
            of(&|r| r.blend = vec![r.blend[0].clone(); 101]),
            "blend: that is too many at once",
        ),
        (
            revise(FormulaId(9), recipe(|_| ()), "softer"),
            "there is no formula 9",
        ),
        (revise(FORMULA, same, "softer"), ": nothing has changed"),
        (
            revise(FORMULA, recipe(|_| ()), " "),
            "reason: it is missing",
        ),
    ]);
}

#[test]
fn a_good_is_a_formula_in_a_mould_packed_in_things_one_counts() {
    let book = workshop();
    let of = |formula, mould, packing| {
        let (formula, mould) = (FormulaId(formula), MouldId(mould));
        decide::define_product(&book.workshop, "bar", formula, mould, packing)
    };
    let prices = |id, low, typical, high| {
        let [low, typical, high] = [low, typical, high].map(money);
        decide::set_prices(&book.workshop, ProductId(id), low, typical, high)
    };
    check(vec![
        (of(9, 1, vec![]), "there is no formula 9"),
        (of(1, 9, vec![]), "there is no mould 9"),
        (of(1, 1, vec![(SupplyId(9), 1)]), "there is no supply 9"),
        (
            of(1, 1, vec![(WAX, 1)]),
            "packing: it goes by weight and belongs in the formula",
        ),
        (
            of(1, 1, vec![(BAG, 1_001)]),
            "packing: that is a great many of bag on one unit",
        ),
        (
            of(1, 1, vec![(BAG, 1); 101]),
            "packing: that is too many at once",
        ),
        (prices(9, "1 USD", "2 USD", "3 USD"), "there is no good 9"),
        (
            prices(1, "1 USD", "3 USD", "2 USD"),
            "typical: the prices do not rise from low to high",
        ),
        (
            prices(1, "2 USD", "1 USD", "3 USD"),
            "typical: the prices do not rise from low to high",
        ),
        (
            prices(1, "1 EUR", "2 EUR", "3 EUR"),
            "typical: this workshop keeps its books in USD",
        ),
    ]);
    assert!(prices(GOOD.0, "2 USD", "2 USD", "2 USD").is_ok());
    for cavities in [0, 10_001] {
        let mould = decide::define_mould(&book.workshop, "x", Format::Shapes, cavities, None, None);
        let wrong = "cavities: a mould has at least one cavity and at most 10,000";
        assert_eq!(said(mould), wrong);
    }
}

#[test]
fn a_pour_goes_one_way() {
    let book = workshop();
    let shop = &book.workshop;
    let begin = |formula, mould, product, wanted, weight: Option<Typed<Mass>>| {
        let portions = weight.map(|weight| workshop::facts::Portion {
            supply: WAX,
            weight,
        });
        decide::start_pour(
            shop,
            FormulaId(formula),
            Some(MouldId(mould)),
            Some(ProductId(product)),
            wanted,
            portions.into_iter().collect(),
            book.day,
        )
    };
    let pound = || Some(mass("1 lb"));
    let ounce = || mass("1 oz");
    let slip = AfterSlip::KeepGoing;
    check(vec![
        (begin(9, 1, 1, 1, pound()), "there is no formula 9"),
        (begin(1, 9, 1, 1, pound()), "there is no mould 9"),
        (begin(1, 1, 9, 1, pound()), "there is no good 9"),
        (
            begin(1, 1, 1, 1, None),
            "portions: there is nothing to weigh",
        ),
        (
            begin(1, 1, 1, 1, Some(mass("0 oz"))),
            "portions: there is nothing to weigh",
        ),
        (
            begin(1, 1, 1, 1, Some(mass("10001 kg"))),
            "melt: that is more than ten tonnes",
        ),
        (
            begin(1, 1, 1, 10_001, pound()),
            "wanted: that is more units than one pour is for",
        ),
        (
            decide::weigh(shop, PourId(9), 0, ounce()),
            "there is no pour 9",
        ),
        (
            decide::weigh(shop, OPEN, 2, ounce()),
            "there is no portion 2",
        ),
        (
            decide::weigh(shop, OPEN, 0, ounce()),
            "weight: this ingredient is already in the pot with 16 oz",
        ),
        (
            decide::weigh(shop, COUNTED, 0, ounce()),
            "pour 260901-2 is setting in the mould; correct a weight instead",
        ),
        (
            decide::weigh_pot(shop, COUNTED, ounce()),
            "pour 260901-2 is setting in the mould; the pot is weighed before it is filled",
        ),
        (
            decide::correct_weight(shop, OPEN, 1, ounce(), "misread"),
            "there is no weighed portion 1",
        ),
        (
            decide::correct_weight(shop, OPEN, 0, ounce(), ""),
            "reason: it is missing",
        ),
        (
            decide::rescale(shop, OPEN, slip, vec![ounce()]),
            "targets: there is not one target for each portion",
        ),
        (
            decide::rescale(shop, COUNTED, slip, vec![ounce()]),
            "pour 260901-2 is setting in the mould; what is poured cannot be scaled",
        ),
        (
            decide::add_to_portion(shop, OPEN, 1, ounce()),
            "there is no weighed portion 1",
        ),
        (
            decide::add_to_portion(shop, OPEN, 0, mass("0 oz")),
            "weight: that adds nothing",
        ),
        (
            decide::pour_out(shop, OPEN, None, None),
            "pour 260901-1 is being weighed out; weigh everything first; it is poured once",
        ),
        (
            decide::pour_out(shop, COUNTED, None, None),
            "pour 260901-2 is setting in the mould; weigh everything first; it is poured once",
        ),
        (
            decide::demould(shop, OPEN),
            "pour 260901-1 is being weighed out; pour first; it leaves the mould once",
        ),
        (
            decide::demould(shop, FINISHED),
            "pour 260901-3 is on the rack; pour first; it leaves the mould once",
        ),
        (
            decide::abandon(shop, FINISHED, "spilt"),
            "pour 260901-3 is on the rack; hold the lot instead if it is finished",
        ),
        (decide::abandon(shop, OPEN, ""), "why: it is missing"),
    ]);
}

#[test]
fn a_count_is_of_what_went_in_and_is_changed_for_a_reason() {
    let book = workshop();
    let of = |pour, change: &dyn Fn(&mut PourCount), reason| {
        let mut count = filled(9, "1 oz");
        change(&mut count);
        decide::count(&book.workshop, pour, count, reason)
    };
    let units = |pour, weights: &[&str]| {
        let weights = weights.iter().map(|text| mass(text)).collect();
        decide::weigh_units(&book.workshop, pour, weights)
    };
    let misread = Some("misread");
    check(vec![
        (
            of(OPEN, &|_| (), None),
            "pour 260901-1 is being weighed out; pour first, then count",
        ),
        (of(COUNTED, &|c| c.full = 8, None), "reason: it is missing"),
        (
            of(COUNTED, &|c| c.left = Some(mass("16.1 oz")), misread),
            "left: more is left over than was put in",
        ),
        (
            of(COUNTED, &|c| c.full = 10_001, misread),
            "full: that is more units than one pour can fill",
        ),
        (
            of(COUNTED, &|c| c.part = PartFill::Share(Ratio::ONE), misread),
            "part: a full unit is not a part-filled one",
        ),
        (
            of(
                COUNTED,
                &|c| c.part = PartFill::Weighed(mass("17 oz")),
                misread,
            ),
            "part: it weighs more than the whole pour",
        ),
        (
            of(COUNTED, &|c| c.topped_up = Some(mass("10001 kg")), misread),
            "topped_up: that is more than ten tonnes",
        ),
        (
            of(FINISHED, &|c| c.full = 8, misread),
            "pour 260901-3 is on the rack; put the lot right, and its count goes with it",
        ),
        (
            units(OPEN, &["1 oz"]),
            "pour 260901-1 is being weighed out; pour first, then weigh units",
        ),
        (units(COUNTED, &[]), "weights: no weight was given"),
        (
            units(COUNTED, &["0 oz", "1.5 oz", "16.1 oz"]),
            "weights: a unit cannot weigh nothing / weights: it weighs more than the whole pour",
        ),
        (
            units(COUNTED, &["1.5 oz"; 11]),
            "weights: that makes 11 weights, and this lot has fewer units",
        ),
        (
            decide::strike_unit_weight(&book.workshop, COUNTED, 0, "misread"),
            "there is no unit weight 0",
        ),
    ]);
    // The same count again adds nothing; what was topped up may be left over.
    assert_eq!(of(COUNTED, &|_| (), None), Ok(vec![]));
    let topped_up = |count: &mut PourCount| {
        count.topped_up = Some(mass("1 oz"));
        count.left = Some(mass("17 oz"));
    };
    assert!(of(COUNTED, &topped_up, misread).is_ok());
}

#[test]
fn a_lot_is_finished_once_and_adds_up_to_its_count() {
    let mut book = workshop();
    let finish = |book: &Book, pour, good, minutes: Option<&str>| {
        let minutes = minutes.map(|text| Typed::parse(text).unwrap());
        decide::finish(&book.workshop, pour, good, 1, 1, minutes)
    };
    check(vec![
        (
            finish(&book, OPEN, 7, None),
            "pour 260901-1 is being weighed out; count the units first",
        ),
        (
            finish(&book, COUNTED, 8, None),
            "good: good, seconds and rejects are 10 together; 9 were counted full",
        ),
        (
            finish(&book, COUNTED, 7, Some("169 h")),
            "minutes: that is more than a week of work",
        ),
        (
            finish(&book, COUNTED, u32::MAX, None),
            "good: good, seconds and rejects are 4294967297 together; 9 were counted full",
        ),
        (
            finish(&book, FINISHED, 7, None),
            "pour 260901-3 is on the rack; it is finished once",
        ),
        (
            decide::hold(&book.workshop, COUNTED, "sweating"),
            "pour 260901-2 is setting in the mould; only a finished lot can be held",
        ),
        (
            decide::hold(&book.workshop, FINISHED, ""),
            "reason: it is missing",
        ),
        (
            decide::release(&book.workshop, FINISHED, "dry"),
            "pour 260901-3 is on the rack; it is not held",
        ),
    ]);
    book.fact(decide::hold(&book.workshop, FINISHED, "sweating"));
    check(vec![
        (
            decide::hold(&book.workshop, FINISHED, "sweating"),
            "pour 260901-3 is on the rack; it is held already",
        ),
        (
            decide::release(&book.workshop, FINISHED, ""),
            "reason: it is missing",
        ),
    ]);
}

#[test]
fn an_amount_of_money_has_a_bound() {
    let book = workshop();
    let shop = &book.workshop;
    let (most, over) = ("1000000000 USD", "1000000000.01 USD");
    assert!(receive(&book, vec![line(WAX, "10 lb", most)]).is_ok());
    let with_freight = decide::receive(
        shop,
        "",
        vec![line(WAX, "10 lb", "20 USD")],
        Some(money(over)),
        FreightSpread::ByValue,
    );
    let prices = decide::set_prices(shop, GOOD, money("1 USD"), money("2 USD"), money(over));
    let mut settings = shop.settings().unwrap().clone();
    settings.currency = money(over).currency();
    let wage = workshop::facts::Settings {
        wage: Some(money(over)),
        ..settings.clone()
    };
    let overhead = workshop::facts::Settings {
        overhead_per_hour: Some(money(over)),
        ..settings
    };
    let corrected = decide::correct_receipt(
        shop,
        ReceiptId(1),
        0,
        Amount::Weight(mass("10 lb")),
        money(over),
        "misread",
    );
    check(vec![
        (
            receive(&book, vec![line(WAX, "10 lb", over)]),
            "lines[0].paid: that is more than a thousand million",
        ),
        (
            with_freight,
            "freight: that is more than a thousand million",
        ),
        (prices, "high: that is more than a thousand million"),
        (
            decide::set_up(shop, wage),
            "wage: that is more than a thousand million",
        ),
        (
            decide::set_up(shop, overhead),
            "overhead_per_hour: that is more than a thousand million",
        ),
        (corrected, "paid: that is more than a thousand million"),
    ]);
}
