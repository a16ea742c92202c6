//! What was once written is read for ever.

use jiff::civil::date;
use measure::Mass;
use workshop::facts::{Dated, FormulaId, Grade, Place, PourId, ProductId, SupplyId};
use workshop::{Fact, Item, Stage, Workshop, lot_cost};

/// One stored fact of version 1 of every kind, and more where a kind has
/// several shapes. Never changed: a new version brings a file of its own.
const V1: &str = include_str!("../specimens/v1.jsonl");

#[derive(serde::Deserialize)]
struct Stored<'a> {
    name: &'a str,
    version: u16,
    day: jiff::civil::Date,
    #[serde(borrow)]
    payload: &'a serde_json::value::RawValue,
}

fn stored() -> Vec<Stored<'static>> {
    V1.lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect()
}

fn read(stored: &Stored) -> Dated {
    let fact = Fact::read(stored.name, stored.version, stored.payload.get()).unwrap();
    Dated {
        day: stored.day,
        fact,
    }
}

#[test]
fn every_fact_has_a_specimen() {
    let specimens = stored();
    for (name, version) in Fact::NAMES {
        assert!(
            specimens
                .iter()
                .any(|found| found.name == *name && found.version == *version),
            "{name} version {version} has none"
        );
    }
}

#[test]
fn a_specimen_is_written_as_it_was_read() {
    for specimen in stored() {
        let dated = read(&specimen);
        assert_eq!(dated.fact.name(), specimen.name);
        assert_eq!(dated.fact.version(), specimen.version);
        assert_eq!(dated.fact.write(), specimen.payload.get());
    }
}

#[test]
fn the_specimens_fold_to_what_they_say() {
    let mut workshop = Workshop::default();
    for specimen in stored() {
        workshop.apply(&read(&specimen));
    }
    assert_eq!(workshop.facts(), stored().len() as u64);
    let grams = |supply| {
        let on_hand = workshop.supply(SupplyId(supply)).unwrap().stock.on_hand();
        format!("{:.2}", Mass::from_micrograms(on_hand).grams())
    };
    // 30 lb less 61 + 0.05 oz; 2 lb 2.5 oz less 4.95 oz; 100 less two each on
    // 22, less 3 torn, of which the count found 50.
    assert_eq!(grams(1), "11877.03");
    assert_eq!(grams(2), "837.73");
    assert_eq!(workshop.supply(SupplyId(4)).unwrap().stock.on_hand(), 50);
    assert_eq!(workshop.supply(SupplyId(1)).unwrap().name, "soy wax");
    let formula = workshop.formula(FormulaId(1)).unwrap();
    assert_eq!((formula.revision(), formula.current().cure_days), (2, 10));
    let pour = workshop.pour(PourId(1)).unwrap();
    assert_eq!(pour.stage(), Stage::Finished);
    assert_eq!(pour.held, None);
    assert_eq!(pour.weights().count(), 1);
    assert_eq!(workshop.ready_on(pour), Some(date(2026, 6, 15)));
    assert_eq!(workshop.pour(PourId(2)).unwrap().stage(), Stage::Abandoned);
    // 22 made: on 6 August 1 lies on the rack, having come back from the shop,
    // after 12 counted, 6 and 4 picked, 1 sold without its lot being known.
    let goods = workshop.goods();
    let good = Item::Lot(PourId(1), Grade::Good);
    assert_eq!(goods.held(Place::Rack, good), 3);
    let gaps: Vec<_> = goods.gaps().collect();
    assert_eq!(gaps.len(), 1);
    assert_eq!(gaps[0].item, Item::Unknown(ProductId(1)));
    assert_eq!(goods.totals(), (22, 2, 20));
    assert_eq!(workshop.trade().sales().len(), 6);
    assert_eq!(workshop.trade().sales()[0].left()[0].count, 2);
    let cost = lot_cost(&workshop, pour).unwrap().cost.unwrap();
    assert_eq!(cost.good(), 22);
    // 80.00 of goods bear 5.40 of freight by value: 52.00 + 3.51, 24.00 + 1.62,
    // 4.00 + 0.27. Wax 55.51 × 61.05 ÷ 320, oil 25.62 × 4.95 ÷ 18.5, foil
    // 4.27 × 44 ÷ 100, and 64 min at 18 + 3.50 an hour.
    assert_eq!(cost.material_of_batch().to_string(), "19.32 USD");
    assert_eq!(cost.full_of_batch().to_string(), "42.26 USD");
}

#[test]
fn a_fact_from_the_future_is_not_read() {
    let error = Fact::read("Poured", 2, "{}").unwrap_err().to_string();
    assert!(
        error.starts_with("cannot read the fact Poured version 2"),
        "{error}"
    );
    assert!(Fact::read("Sung", 1, "{}").is_err());
    assert!(Fact::read("Poured", 1, r#"{"pour":1,"wax_at":"hot","room_at":null}"#).is_err());
}

#[test]
fn facts_about_things_never_defined_change_nothing_but_the_count() {
    let known: Vec<_> = stored()
        .iter()
        .map(read)
        .filter(|dated| {
            !matches!(
                dated.fact,
                Fact::WorkshopSetUp(_)
                    | Fact::SupplyDefined(_)
                    | Fact::SupplyReceived(_)
                    | Fact::MouldDefined(_)
                    | Fact::FormulaDefined(_)
                    | Fact::ProductDefined(_)
                    | Fact::PourStarted(_)
            )
        })
        .collect();
    let mut workshop = Workshop::default();
    for dated in &known {
        workshop.apply(dated);
    }
    assert_eq!(workshop.facts(), known.len() as u64);
    assert_eq!(workshop.n_pours(), 0);
    assert_eq!(workshop.supplies().count(), 0);
}

#[test]
fn folding_in_two_pieces_agrees_with_folding_whole() {
    let all: Vec<_> = stored().iter().map(read).collect();
    let mut whole = Workshop::default();
    for dated in &all {
        whole.apply(dated);
    }
    for cut in 0..=all.len() {
        let mut pieces = Workshop::default();
        for dated in &all[..cut] {
            pieces.apply(dated);
        }
        let mut resumed = pieces.clone();
        for dated in &all[cut..] {
            resumed.apply(dated);
        }
        assert_eq!(resumed, whole, "cut at {cut}");
    }
}
