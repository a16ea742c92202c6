//! What is on hand, what it cost, what a lot cost and what a price leaves.

use measure::{Currency, Money, Reading, System, TimeSpan, Typed};
use workshop::facts::{
    Amount, FreightSpread, ProductId, ReceiptId, ReceiptLine, SupplyId, SupplyKind,
};
use workshop::{
    Charges, SharedBy, decide, delivery_cost, format_of, freight_working, is_unpriced, landed_rate,
    latest_wax, lot_working, receipts_of, recent_cost, small_cost, uses_of, worth_of, worth_of_all,
    worth_of_shelf, worth_on_hand, worth_working,
};

use crate::book::{Book, Mould, WAX, filled, mass};

const BAG: SupplyId = SupplyId(2);
const GOOD: ProductId = ProductId(1);

fn usd(text: &str) -> Money {
    Money::parse(text, Some(Currency::USD), Reading::PLAIN).unwrap()
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
        paid: usd(paid),
    }
}

/// A workshop with a wax, a bag, an hour worth 18, and a good packed in one bag.
fn stocked() -> Book {
    let mut book = Book::new(System::Us, "0.1 oz", None, Mould::bare(12));
    let mut settings = book.workshop.settings().unwrap().clone();
    settings.wage = Some(usd("18"));
    settings.overhead_per_hour = Some(usd("3"));
    book.fact(decide::set_up(&book.workshop, settings));
    book.fact(decide::define_supply(
        &book.workshop,
        SupplyKind::Wrap,
        "bag",
        None,
        None,
    ));
    let (formula, mould) = (workshop::facts::FormulaId(1), crate::book::MOULD);
    book.fact(decide::define_product(
        &book.workshop,
        "bar",
        formula,
        mould,
        vec![(BAG, 1)],
    ));
    book
}

impl Book {
    fn receive(&mut self, lines: Vec<ReceiptLine>, freight: Option<&str>, spread: FreightSpread) {
        self.fact(decide::receive(
            &self.workshop,
            "",
            lines,
            freight.map(usd),
            spread,
        ));
    }

    /// A finished lot of the good from so much wax.
    fn lot(&mut self, wax: &str, good: u32, rejects: u32, minutes: Option<&str>) {
        let pour = self.workshop.next_pour();
        let portion = workshop::facts::Portion {
            supply: WAX,
            weight: mass(wax),
        };
        let (formula, mould) = (workshop::facts::FormulaId(1), crate::book::MOULD);
        self.fact(decide::start_pour(
            &self.workshop,
            formula,
            Some(mould),
            Some(GOOD),
            good,
            vec![portion],
            self.day,
        ));
        self.fact(decide::weigh(&self.workshop, pour, 0, mass(wax)));
        self.fact(decide::pour_out(&self.workshop, pour, None, None));
        let count = filled(good + rejects, "0 oz");
        self.fact(decide::count(&self.workshop, pour, count, None));
        self.fact(decide::demould(&self.workshop, pour));
        let minutes = minutes.map(|text| Typed::<TimeSpan>::parse(text).unwrap());
        self.fact(decide::finish(
            &self.workshop,
            pour,
            good,
            0,
            rejects,
            minutes,
        ));
    }
}

/// The textbook example of the weighted average, periodic: 150 at 21, 225 at 27
/// and 210 at 33 are 585 for 16,155, or 27.62 each (Principles of Accounting,
/// Volume 1, OpenStax 2019, section 10.2; figures from memory).
#[test]
fn landed_cost_is_the_weighted_average_of_the_deliveries() {
    let mut book = stocked();
    for (came, paid) in [("150", "3150"), ("225", "6075"), ("210", "6930")] {
        book.receive(vec![line(BAG, came, paid)], None, FreightSpread::ByValue);
    }
    let bag = book.workshop.supply(BAG).unwrap();
    assert_eq!(bag.stock.received, 585);
    assert_eq!(bag.stock.landed.unwrap().to_string(), "16155.00 USD");
    assert_eq!(
        landed_rate(bag, System::Us).unwrap().cost.to_string(),
        "27.62 USD"
    );
    assert_eq!(receipts_of(&book.workshop, BAG).count(), 3);
}

#[test]
fn freight_is_shared_by_value_or_by_weight_and_adds_up() {
    let lines = || vec![line(WAX, "10 lb", "30"), line(BAG, "100", "10")];
    for (spread, wax, bag, by) in [
        (
            FreightSpread::ByValue,
            "33.00 USD",
            "11.00 USD",
            SharedBy::Value,
        ),
        (
            FreightSpread::ByWeight,
            "34.00 USD",
            "10.00 USD",
            SharedBy::Weight,
        ),
    ] {
        let mut book = stocked();
        book.receive(lines(), Some("4"), spread);
        let receipt = book.workshop.receipt(ReceiptId(1)).unwrap();
        let landed: Vec<_> = receipt.landed.iter().map(ToString::to_string).collect();
        assert_eq!(landed, [wax, bag]);
        let cost = delivery_cost(receipt);
        assert_eq!(cost.total.unwrap().to_string(), "44.00 USD");
        assert_eq!(cost.freight_by, Some(by));
        let working = freight_working(&book.workshop, receipt);
        let results: Vec<_> = working
            .steps()
            .iter()
            .filter(|step| step.label.starts_with("Cost with delivery"))
            .map(|step| step.result.as_str())
            .collect();
        assert_eq!(results, [wax, bag]);
    }
}

#[test]
fn freight_goes_by_room_and_duty_by_value() {
    let room = |line: ReceiptLine, room: &str| ReceiptLine {
        volume: Some(room.parse().unwrap()),
        ..line
    };
    let lines = || {
        vec![
            room(line(WAX, "10 lb", "30"), "5 l"),
            room(line(BAG, "100", "10"), "15 l"),
        ]
    };
    let charges = Charges {
        freight: Some(usd("4")),
        duty: Some(usd("2")),
        spread: FreightSpread::ByVolume,
    };
    let mut book = stocked();
    book.fact(decide::take_in(&book.workshop, "", lines(), charges));
    let receipt = book.workshop.receipt(ReceiptId(1)).unwrap();
    // 1.00 and 3.00 of freight, 1.50 and 0.50 of duty.
    assert_eq!(receipt.landed, [usd("32.50"), usd("13.50")]);
    let working = freight_working(&book.workshop, receipt);
    let results: Vec<_> = working
        .steps()
        .iter()
        .map(|it| it.result.as_str())
        .collect();
    let expected = [
        "1.00 USD",
        "1.50 USD",
        "32.50 USD",
        "3.00 USD",
        "0.50 USD",
        "13.50 USD",
    ];
    assert_eq!(results, expected);
    assert!(working.steps()[0].numbers.contains("5 l ÷ 20 l"));

    let mut short = lines();
    short[1].volume = None;
    let refused = decide::take_in(&book.workshop, "", short, charges);
    assert!(format!("{refused:?}").contains("needs the room of every line"));
}

#[test]
fn the_shelf_is_worth_what_is_left_of_it() {
    let mut book = stocked();
    book.receive(
        vec![line(WAX, "10 lb", "32"), line(BAG, "100", "10")],
        None,
        FreightSpread::ByValue,
    );
    book.lot("1 lb", 11, 0, None);
    let shelf = worth_of_shelf(&book.workshop);
    // Nine of ten pounds, 89 of 100 bags.
    assert_eq!(shelf.cost.unwrap().to_string(), "37.70 USD");
    assert_eq!((shelf.unpriced, shelf.short), (0, 0));
    let used: Vec<_> = uses_of(&book.workshop, BAG)
        .map(|used| used.smallest)
        .collect();
    assert_eq!(used, [11]);
    let wax = book.workshop.supply(WAX).unwrap();
    assert_eq!(
        landed_rate(wax, System::Metric).unwrap().to_string(),
        "7.05 USD per kg"
    );
}

#[test]
fn more_used_than_received_is_short_and_worth_nothing() {
    let mut book = stocked();
    book.receive(vec![line(WAX, "8 oz", "2")], None, FreightSpread::ByValue);
    book.lot("1 lb", 11, 0, None);
    let shelf = worth_of_shelf(&book.workshop);
    assert_eq!((shelf.unpriced, shelf.short), (1, 1));
    let wax = book.workshop.supply(WAX).unwrap();
    assert!(!is_unpriced(wax) && is_unpriced(book.workshop.supply(BAG).unwrap()));
    assert_eq!(worth_on_hand(wax).unwrap().to_string(), "0.00 USD");
    assert_eq!(recent_cost(&book.workshop, GOOD), None);
}

#[test]
fn a_label_at_an_eighth_of_a_cent_does_not_cost_nothing() {
    let cost = |text| measure::Cost::parse(text, Some(Currency::USD), Reading::PLAIN).unwrap();
    for (exact, said) in [
        ("0.00125", "0.00125 USD"),
        ("0.105432", "0.105 USD"),
        ("1.09091", "1.09 USD"),
        ("123.456", "123.46 USD"),
        ("0", "0.00 USD"),
    ] {
        assert_eq!(small_cost(cost(exact)), said);
    }
}

#[test]
fn recent_lots_are_averaged_by_their_units() {
    let mut book = stocked();
    book.receive(
        vec![line(WAX, "10 lb", "32"), line(BAG, "100", "10")],
        None,
        FreightSpread::ByValue,
    );
    // 3.20 of wax, 1.00 of bags, 12.00 of time, 2.00 of overhead: 18.20.
    book.lot("1 lb", 10, 1, Some("40 min"));
    // 3.20 + 1.20 + 9.00 + 1.50: 14.90, which makes 33.10 over 22 units.
    book.lot("1 lb", 12, 0, Some("30 min"));
    let prices = [usd("1"), usd("5"), usd("6")];
    let [low, typical, high] = prices;
    book.fact(decide::set_prices(&book.workshop, GOOD, low, typical, high));
    let product = book.workshop.product(GOOD).unwrap();
    let worth = worth_of(&book.workshop, product);
    let recent = worth.recent.clone().unwrap();
    assert_eq!((recent.lots, recent.cost.good()), (2, 22));
    assert_eq!(recent.cost.full_of_batch().to_string(), "33.10 USD");
    assert_eq!(recent.cost.full().to_string(), "1.50 USD");
    let earning = worth.earning.unwrap();
    assert_eq!(earning.typical.left.to_string(), "3.50 USD");
    assert_eq!(earning.low.unwrap().left.to_string(), "-0.50 USD");
    // (110.00 - 33.10 + 21.00 of wage) over 70 minutes.
    assert_eq!(
        earning.typical.pays_per_hour.unwrap().to_string(),
        "83.91 USD"
    );
    assert_eq!(worth.leaves_something(), None);
    let working = worth_working(&worth);
    assert!(
        working
            .steps()
            .iter()
            .any(|step| step.result == "83.91 USD")
    );
    assert_eq!(worth_of_all(&book.workshop).len(), 1);
}

#[test]
fn the_working_of_a_lot_ends_in_its_unit_cost() {
    let mut book = stocked();
    book.receive(
        vec![line(WAX, "10 lb", "32"), line(BAG, "100", "10")],
        None,
        FreightSpread::ByValue,
    );
    book.lot("1 lb", 10, 1, Some("40 min"));
    let pour = book.workshop.pours().next().unwrap();
    let working = lot_working(&book.workshop, pour).unwrap();
    let last = working.steps().last().unwrap();
    assert_eq!(
        (last.numbers.as_str(), last.result.as_str()),
        ("18.20 USD ÷ 10", "1.82 USD")
    );
    let wax = &working.steps()[0];
    assert_eq!(wax.numbers, "16 oz × 32.00 USD ÷ 160 oz");
}

#[test]
fn a_good_as_a_format_scales_with_the_wax_and_leaves_time_to_the_wage() {
    let mut book = stocked();
    book.receive(
        vec![line(WAX, "10 lb", "32"), line(BAG, "100", "10")],
        None,
        FreightSpread::ByValue,
    );
    book.lot("1 lb", 10, 0, Some("40 min"));
    let product = book.workshop.product(GOOD).unwrap();
    assert_eq!(latest_wax(&book.workshop, GOOD), Some(mass("1 lb").value()));
    let format = format_of(&book.workshop, product, Some(mass("2 lb").value()));
    assert_eq!(format.units, Some(20.into()));
    assert_eq!(format.minutes.as_deref(), Some("80 min"));
    // 3.20 + 1.00 + 2.00 over ten, the 12.00 of time apart.
    assert_eq!(format.unit_cost.as_deref(), Some("0.62 USD"));
}

#[test]
fn a_new_good_rests_on_the_trial_lots_of_its_formula_and_mould() {
    let mut book = stocked();
    book.receive(
        vec![line(WAX, "10 lb", "20"), line(BAG, "100", "10")],
        None,
        FreightSpread::ByValue,
    );
    let trial = book.pour("16 oz", 10, filled(10, "0 oz"));
    book.finish(trial, 10);
    let recent = recent_cost(&book.workshop, GOOD).unwrap();
    // A pound of wax at 2 and ten bags at 0.10, over ten units.
    assert_eq!(recent.cost.full().to_string(), "0.30 USD");
    assert_eq!((recent.lots, recent.trials), (1, 1));
    assert_eq!(recent.lots_word(), "one costed lot, poured as a trial");
}

#[test]
fn a_column_of_costs_has_one_number_of_decimals() {
    let column = |amounts: &[&str]| {
        let costs: Vec<_> = amounts
            .iter()
            .map(|amount| {
                measure::Cost::parse(
                    amount,
                    Some(measure::Currency::USD),
                    measure::Reading::default(),
                )
            })
            .map(Result::unwrap)
            .collect();
        workshop::column_of_costs(&costs)
    };
    assert_eq!(column(&["0.267", "0.18"]), ["0.27 USD", "0.18 USD"]);
    assert_eq!(column(&["0.267", "0.018"]), ["0.267 USD", "0.018 USD"]);
    assert_eq!(column(&["12", "0.00125"]), ["12.0000 USD", "0.0012 USD"]);
    assert!(column(&[]).is_empty());
}
