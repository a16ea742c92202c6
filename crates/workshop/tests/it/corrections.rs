//! What was wrong is put right by a later fact, and the past keeps its costs.

use measure::{Currency, Money, Reading, System, Typed};
use workshop::facts::{
    Amount, FreightSpread, PartFill, PourId, ReceiptId, ReceiptLine, SupplyKind,
};
use workshop::{Refusal, Stage, decide, history_of, lot_cost};

use crate::book::{Book, MOULD, Mould, WAX, filled, mass};

fn usd(text: &str) -> Money {
    Money::parse(text, Some(Currency::USD), Reading::PLAIN).unwrap()
}

fn wax(amount: &str, paid: &str) -> Vec<ReceiptLine> {
    vec![ReceiptLine {
        volume: None,
        supply: WAX,
        supplier_lot: String::new(),
        amount: Amount::Weight(mass(amount)),
        paid: usd(paid),
    }]
}

fn workshop() -> Book {
    Book::new(System::Us, "0.1 oz", None, Mould::bare(12))
}

impl Book {
    fn delivery(&mut self, amount: &str, paid: &str) -> ReceiptId {
        let receipt = self.workshop.next_receipt();
        let spread = FreightSpread::ByValue;
        self.fact(decide::receive(
            &self.workshop,
            "",
            wax(amount, paid),
            None,
            spread,
        ));
        receipt
    }

    fn wage(&mut self, wage: &str) {
        let mut settings = self.workshop.settings().unwrap().clone();
        settings.wage = Some(usd(wage));
        self.fact(decide::set_up(&self.workshop, settings));
    }

    /// A pound of wax into ten units in an hour.
    fn hour_of_ten(&mut self) -> PourId {
        let pour = self.pour("16 oz", 10, filled(10, "0 oz"));
        let hour = Some(Typed::parse("1 h").unwrap());
        self.fact(decide::finish(&self.workshop, pour, 10, 0, 0, hour));
        pour
    }

    fn cost(&self, pour: PourId) -> String {
        let pour = self.workshop.pour(pour).unwrap();
        let cost = lot_cost(&self.workshop, pour).unwrap().cost.unwrap();
        cost.full_of_batch().to_string()
    }
}

#[test]
fn dearer_wax_and_a_better_wage_leave_an_old_lot_alone() {
    let mut book = workshop();
    book.wage("18");
    book.delivery("10 lb", "20");
    let old = book.hour_of_ten();
    assert_eq!(book.cost(old), "20.00 USD"); // 1 lb at 2, 1 h at 18
    book.delivery("10 lb", "40");
    book.wage("24");
    assert_eq!(book.cost(old), "20.00 USD");
    let new = book.hour_of_ten();
    assert_eq!(book.cost(new), "27.00 USD"); // 1 lb at (20 + 40) ÷ 20, 1 h at 24
}

#[test]
fn what_was_not_known_then_comes_from_when_it_first_was() {
    let mut book = workshop();
    let lot = book.hour_of_ten();
    assert_eq!(
        lot_cost(&book.workshop, book.workshop.pour(lot).unwrap())
            .unwrap()
            .unpriced,
        [WAX]
    );
    book.delivery("10 lb", "20");
    assert_eq!(book.cost(lot), "2.00 USD");
    book.wage("18");
    assert_eq!(book.cost(lot), "20.00 USD");
    book.delivery("10 lb", "90");
    book.wage("99");
    assert_eq!(book.cost(lot), "20.00 USD");
}

#[test]
fn a_misread_delivery_changes_every_lot_it_went_into() {
    let mut book = workshop();
    let receipt = book.delivery("10 lb", "20");
    let lot = book.hour_of_ten();
    assert_eq!(book.cost(lot), "2.00 USD");
    let amount = Amount::Weight(mass("5 lb"));
    book.fact(decide::correct_receipt(
        &book.workshop,
        receipt,
        0,
        amount,
        usd("20"),
        "misread",
    ));
    assert_eq!(book.cost(lot), "4.00 USD");
}

#[test]
fn a_workshop_keeps_one_currency_once_money_is_written() {
    let mut book = workshop();
    let mut settings = book.workshop.settings().unwrap().clone();
    settings.currency = Currency::EUR;
    assert!(decide::set_up(&book.workshop, settings.clone()).is_ok());
    book.delivery("10 lb", "20");
    let Err(Refusal::Input(problems)) = decide::set_up(&book.workshop, settings) else {
        panic!("the currency changed under the money");
    };
    assert_eq!(
        problems.of("currency").unwrap().wrong,
        "money is already written down in USD"
    );
}

#[test]
fn a_wage_from_before_the_currency_was_settled_is_not_added_to_other_money() {
    let mut book = workshop();
    book.wage("18");
    let lot = book.hour_of_ten();
    let mut settings = book.workshop.settings().unwrap().clone();
    settings.currency = Currency::EUR;
    settings.wage = None;
    book.fact(decide::set_up(&book.workshop, settings.clone()));
    let spread = FreightSpread::ByValue;
    let mut lines = wax("10 lb", "20");
    lines[0].paid = Money::parse("20 EUR", None, Reading::PLAIN).unwrap();
    book.fact(decide::receive(&book.workshop, "", lines, None, spread));
    assert_eq!(book.cost(lot), "2.00 EUR");
    settings.wage = Some(Money::parse("15 EUR", None, Reading::PLAIN).unwrap());
    book.fact(decide::set_up(&book.workshop, settings));
    assert_eq!(book.cost(lot), "17.00 EUR");
}

#[test]
fn freight_by_weight_over_counted_lines_goes_by_value() {
    let mut book = workshop();
    let kind = SupplyKind::Label;
    book.fact(decide::define_supply(
        &book.workshop,
        kind,
        "label",
        None,
        None,
    ));
    let label = book.workshop.supply_named(kind, "label").unwrap().id;
    let line = |paid| ReceiptLine {
        volume: None,
        supply: label,
        supplier_lot: String::new(),
        amount: Amount::Count(100),
        paid: usd(paid),
    };
    let lines = vec![line("10"), line("90")];
    let spread = FreightSpread::ByWeight;
    book.fact(decide::receive(
        &book.workshop,
        "",
        lines,
        Some(usd("10")),
        spread,
    ));
    let landed = &book.workshop.receipts().next().unwrap().landed;
    assert_eq!(landed, &[usd("11"), usd("99")]);
}

#[test]
fn a_finished_lot_is_put_right_with_its_count() {
    let mut book = workshop();
    book.delivery("10 lb", "20");
    let lot = book.hour_of_ten();
    assert!(matches!(
        decide::count(&book.workshop, lot, filled(3, "0 oz"), Some("miscounted")),
        Err(Refusal::WrongStage { .. })
    ));
    let correct = |book: &Book, units, reason| {
        decide::correct_lot(&book.workshop, lot, filled(9, "0 oz"), units, None, reason)
    };
    assert!(correct(&book, (8, 0, 0), "miscounted").is_err());
    assert!(correct(&book, (8, 1, 0), "").is_err());
    let decided = correct(&book, (8, 1, 0), "miscounted");
    book.fact(decided);
    let pour = book.workshop.pour(lot).unwrap();
    assert_eq!(pour.count.as_ref().unwrap().full, 9);
    assert_eq!(pour.finished.as_ref().unwrap().good, 8);
    assert_eq!(
        lot_cost(&book.workshop, pour).unwrap().cost.unwrap().good(),
        9
    );
}

#[test]
fn a_pour_given_up_leaves_the_bench_and_teaches_nothing() {
    let mut book = workshop();
    book.delivery("10 lb", "20");
    let pour = book.pour("16 oz", 10, filled(10, "0 oz"));
    assert!(decide::abandon(&book.workshop, pour, " ").is_err());
    let decided = decide::abandon(&book.workshop, pour, "spilt");
    book.fact(decided);
    assert_eq!(book.workshop.pour(pour).unwrap().stage(), Stage::Abandoned);
    assert_eq!(book.workshop.open_pours().count(), 0);
    assert!(history_of(&book.workshop, MOULD).unwrap().pours.is_empty());
    assert!(decide::finish(&book.workshop, pour, 10, 0, 0, None).is_err());
    // The wax is gone all the same.
    let left = book.workshop.supply(WAX).unwrap().stock.on_hand();
    assert_eq!(left, mass("9 lb").value().micrograms());
}

#[test]
fn more_of_an_ingredient_adds_to_what_is_in_the_pot() {
    let mut book = workshop();
    let pour = book.pour("16 oz", 10, filled(10, "0 oz"));
    assert!(matches!(
        decide::add_to_portion(&book.workshop, pour, 0, mass("0.3 oz")),
        Err(Refusal::WrongStage { .. })
    ));
    let pour = book.begun("16 oz", "15.9 oz");
    let decided = decide::add_to_portion(&book.workshop, pour, 0, mass("0.15 oz"));
    book.fact(decided);
    let pour = book.workshop.pour(pour).unwrap();
    assert_eq!(pour.weighed[0].as_ref().unwrap().to_string(), "16.05 oz");
    assert_eq!(
        book.workshop.supply(WAX).unwrap().stock.used,
        (mass("16 oz").value() + mass("16.05 oz").value()).micrograms()
    );
}

#[test]
fn figures_that_no_workshop_handles_are_refused() {
    let mut book = workshop();
    let pour = book.begun("16 oz", "16 oz");
    let heavy = || mass("9200000000 kg");
    assert!(decide::correct_weight(&book.workshop, pour, 0, heavy(), "misread").is_err());
    assert!(
        decide::receive(
            &book.workshop,
            "",
            wax("9200000000 kg", "20"),
            None,
            FreightSpread::ByValue
        )
        .is_err()
    );
    let pour = book.pour("16 oz", 10, filled(10, "0 oz"));
    let weights = vec![mass("1.5 oz"); 12];
    assert!(decide::weigh_units(&book.workshop, pour, weights[..11].to_vec()).is_ok());
    assert!(decide::weigh_units(&book.workshop, pour, weights).is_err());
    let over = workshop::facts::PourCount {
        left: Some(mass("17 oz")),
        ..filled(10, "0 oz")
    };
    assert!(decide::count(&book.workshop, pour, over, Some("misread")).is_err());
    let share = workshop::facts::PourCount {
        part: PartFill::Share(measure::Ratio::ONE),
        ..filled(10, "0 oz")
    };
    assert!(decide::count(&book.workshop, pour, share, Some("misread")).is_err());
}

#[test]
fn lot_codes_of_a_day_never_repeat() {
    let mut book = workshop();
    let codes: std::collections::BTreeSet<_> = (0..30)
        .map(|_| {
            let pour = book.begun("16 oz", "16 oz");
            book.workshop.pour(pour).unwrap().lot.clone()
        })
        .collect();
    assert_eq!(codes.len(), 30);
    assert!(codes.contains("260901-30"));
}
