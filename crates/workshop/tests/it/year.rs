//! A made-up year of a busy workshop adds up, however it is asked.
//!
//! What is held against the state here is reckoned from the facts alone.

use std::collections::{BTreeMap, BTreeSet};

use workshop::books::{Books, Days};
use workshop::facts::{
    Amount, CostMethod, Dated, Payment, Place, PourId, ReturnTo, SupplyId, Suspect,
};
use workshop::trace::trace;
use workshop::{Fact, Workshop};

#[path = "../../fixtures/year.rs"]
#[expect(
    dead_code,
    unreachable_pub,
    reason = "taken in by others too, which use the rest of it"
)]
mod fixture;

use fixture::{SEED, Size, Year};

/// What the facts say of a year, summed up without the workshop's own fold.
#[derive(Default)]
struct Summed {
    made: BTreeMap<PourId, u32>,
    /// Units sold, less those of sales that never were and those given back.
    sold: i64,
    lines: usize,
    tokens: BTreeSet<String>,
    invoices: Vec<u32>,
    /// On hand of what goes by weight, in micrograms.
    weighed: BTreeMap<SupplyId, i64>,
    /// Paid for deliveries, freight in it, in cents.
    paid: i64,
}

fn summed(facts: &[Fact]) -> Summed {
    let mut sum = Summed::default();
    let mut portions = BTreeMap::new();
    let mut sales = BTreeMap::new();
    let mut paid = BTreeMap::new();
    for fact in facts {
        match fact {
            Fact::SupplyReceived(fact) => {
                for (nth, line) in (0..).zip(&fact.lines) {
                    paid.insert((fact.receipt, nth), line.paid.minor());
                    if let Amount::Weight(weight) = &line.amount {
                        *sum.weighed.entry(line.supply).or_default() += weight.value().micrograms();
                    }
                }
                sum.paid += fact.freight.unwrap().minor();
            }
            Fact::ReceiptCorrected(fact) => {
                paid.insert((fact.receipt, fact.line), fact.paid.minor());
            }
            Fact::PourStarted(fact) => {
                let supplies: Vec<_> = fact.portions.iter().map(|it| it.supply).collect();
                portions.insert(fact.pour, supplies);
            }
            Fact::IngredientWeighed(fact) => {
                let supply = portions[&fact.pour][fact.portion as usize];
                *sum.weighed.get_mut(&supply).unwrap() -= fact.weight.value().micrograms();
            }
            Fact::SupplyWasted(fact) => {
                *sum.weighed.get_mut(&fact.supply).unwrap() -= fact.amount.smallest();
            }
            Fact::SupplyCounted(fact) => {
                if let Amount::Weight(weight) = &fact.counted {
                    sum.weighed.insert(fact.supply, weight.value().micrograms());
                }
            }
            Fact::PourFinished(fact) => {
                sum.made.insert(fact.pour, fact.good + fact.seconds);
            }
            Fact::LotCorrected(fact) => {
                sum.made.insert(fact.pour, fact.good + fact.seconds);
            }
            Fact::Sold(fact) => {
                let units = fact.lines.iter().flat_map(|line| &line.units);
                let units: u32 = units.map(|units| units.count).sum();
                sales.insert(fact.sale, (fact.lines.len(), i64::from(units)));
                if !fact.token.is_empty() {
                    assert!(sum.tokens.insert(fact.token.clone()), "{}", fact.token);
                }
            }
            Fact::SaleVoided(fact) => {
                sales.remove(&fact.sale);
            }
            Fact::GoodsReturned(fact) => {
                let units: u32 = fact.units.iter().map(|units| units.count).sum();
                if fact.to != ReturnTo::Kept {
                    sum.sold -= i64::from(units);
                }
            }
            Fact::Invoiced(fact) => sum.invoices.push(fact.invoice.0),
            Fact::Credited(fact) => sum.invoices.push(fact.invoice.0),
            _ => {}
        }
    }
    sum.paid += paid.values().sum::<i64>();
    sum.lines = sales.values().map(|(lines, _)| lines).sum();
    sum.sold += sales.values().map(|(_, units)| units).sum::<i64>();
    sum
}

fn a_tenth() -> Year {
    fixture::make(Size::TENTH, SEED)
}

#[test]
fn a_busy_year_adds_up() {
    let size = Size::TENTH;
    let Year { facts, workshop } = a_tenth();
    let facts: Vec<Fact> = facts.into_iter().map(|(_, fact)| fact).collect();
    let sum = summed(&facts);
    let count = |at_least: usize, name: &str| {
        let found = facts.iter().filter(|fact| fact.name() == name).count();
        assert!(found >= at_least, "{found} of {name}");
    };
    count(size.pours as usize, "PourFinished");
    count(size.market_days as usize, "MarketDayCounted");
    count(size.shops as usize, "BuyerSettled");
    for rare in [
        "SupplyOpened",
        "SupplyWasted",
        "SupplyCounted",
        "GoodsCounted",
        "GoodsSetAside",
        "GoodsReturned",
        "SaleVoided",
        "OrderSent",
        "ShopCounted",
        "InvoicePaid",
        "ExpensePaid",
        "PayoutMatched",
        "RecallEnded",
    ] {
        count(1, rare);
    }
    count(2, "FileRead");
    assert_eq!(sum.lines, size.lines as usize);

    // Goods.
    let (made, held, out) = workshop.goods().totals();
    assert_eq!(made, held + out);
    assert_eq!(made, sum.made.values().map(|n| i64::from(*n)).sum::<i64>());
    assert_eq!(workshop.goods().gaps().count(), 0);
    // Whoever has an account may also have goods that are not sold yet.
    let on_return = workshop.goods().everywhere();
    let on_return = on_return.filter(|(place, ..)| matches!(place, Place::Shop(_)));
    let mut sold = -on_return.map(|(_, _, count)| count).sum::<i64>();
    for (pour, made) in &sum.made {
        let traced = trace(&workshop, Suspect::Lot(*pour)).unwrap();
        assert_eq!(traced.sums.made, i64::from(*made), "lot {pour}");
        assert_eq!(traced.sums.found(), traced.sums.made, "lot {pour}");
        sold += traced.sums.accounts + traced.sums.web + traced.sums.stall;
    }
    assert_eq!(sold, sum.sold);

    // Supplies.
    for (supply, there) in &sum.weighed {
        let stock = &workshop.supply(*supply).unwrap().stock;
        assert_eq!(stock.on_hand(), *there, "supply {supply}");
        assert!(*there >= 0);
    }

    // Numbers that are given out once.
    let numbers = u32::try_from(sum.invoices.len()).unwrap();
    assert_eq!(sum.invoices, (1..=numbers).collect::<Vec<_>>());
    let trade = workshop.trade();
    assert!(sum.tokens.len() > size.lines as usize / 4);
    assert!(sum.tokens.iter().all(|token| trade.has_token(token)));

    // Money.
    let books = Books::of(&workshop).unwrap();
    for method in CostMethod::ALL {
        let year = books.by(method).period(Days::ALL);
        assert_eq!(books.money(year.bought.full()).minor(), sum.paid);
        let known = year.opening.all() + year.bought + year.worked;
        assert_eq!(known, year.cost_of_goods() + year.closing.all());
    }
    let open: i64 = workshop::accounts(trade)
        .values()
        .map(|account| account.owed.minor())
        .sum();
    let on_invoices: i64 = trade
        .invoices()
        .iter()
        .map(|invoice| {
            let paid: i64 = invoice.paid.iter().map(|(_, paid, _)| paid.minor()).sum();
            match invoice.credits {
                Some(_) => -invoice.total.minor(),
                None => invoice.total.minor() - paid,
            }
        })
        .sum();
    assert_eq!(open, on_invoices);
    let unpaid = trade
        .sales()
        .iter()
        .filter(|sale| sale.payment == Payment::Owed);
    assert!(unpaid.count() > 0);
}

#[test]
fn what_was_stored_folds_to_the_same_year() {
    let year = a_tenth();
    let mut again = Workshop::default();
    for (day, fact) in &year.facts {
        let fact = Fact::read(fact.name(), fact.version(), &fact.write()).unwrap();
        again.apply(&Dated { day: *day, fact });
    }
    assert!(again == year.workshop);
}

#[test]
fn the_seed_makes_the_year() {
    let (first, again) = (a_tenth(), a_tenth());
    assert!(first.facts == again.facts);
    let other = fixture::make(Size::TENTH, SEED + 1);
    assert!(other.facts != first.facts);
}
