//! The ledger of goods: whatever is written down, nothing is made or lost by
//! moving it.

use jiff::civil::date;
use measure::{Currency, Money};
use proptest::prelude::*;
use workshop::facts::{
    BuyerId, ChannelId, Dated, GoodsCounted, GoodsReturned, GoodsSetAside, GoodsTaken, Grade, Lost,
    MarketDayCounted, MarketDayId, OrderCancelled, OrderId, OrderPicked, OrderSent, OrderTaken,
    Payment, Place, PourFinished, PourId, PourStarted, ProductId, ReturnTo, SaleFrom, SaleId,
    SaleLine, SaleVoided, ShopCounted, Sold, Units,
};
use workshop::{Fact, Goods, Spot, Workshop};

/// Histories tried; most of them short, so that odd ones are among them.
const HISTORIES: u32 = 100_000;

fn any_units() -> impl Strategy<Value = Units> {
    (0_u32..3, 0_u32..20, any::<bool>()).prop_map(|(lot, count, second)| Units {
        product: ProductId(1),
        lot: (lot > 0).then_some(PourId(lot)),
        grade: if second { Grade::Second } else { Grade::Good },
        count,
    })
}

fn any_units_list() -> impl Strategy<Value = Vec<Units>> {
    prop::collection::vec(any_units(), 0..3)
}

fn any_place() -> impl Strategy<Value = Place> {
    prop_oneof![
        Just(Place::Rack),
        Just(Place::Stall(MarketDayId(1))),
        Just(Place::Packed(OrderId(1))),
        Just(Place::Shop(BuyerId(1))),
    ]
}

/// One that happened, whether or not a decision would have let it.
pub(crate) fn any_fact() -> impl Strategy<Value = Fact> {
    let usd = |minor| Money::from_minor(minor, Currency::USD);
    let market_day = MarketDayId(1);
    let (order, buyer) = (OrderId(1), BuyerId(1));
    let from = prop::sample::select(vec![SaleFrom::Tapped, SaleFrom::Shop, SaleFrom::Order]);
    prop_oneof![
        (1_u32..3, 0_u32..40, 0_u32..4).prop_map(|(pour, good, seconds)| PourFinished {
            pour: PourId(pour),
            good,
            seconds,
            rejects: 0,
            minutes: None,
        }
        .into()),
        (any_units_list(), any_units_list()).prop_map(move |(units, back)| GoodsTaken {
            market_day,
            units,
            back
        }
        .into()),
        (any_units_list(), any_units_list(), any_units_list()).prop_map(
            move |(back, given, missing)| MarketDayCounted {
                market_day,
                back,
                given,
                spoilt: vec![],
                missing,
            }
            .into()
        ),
        (from, 1_u32..6, any_units_list()).prop_map(move |(from, sale, units)| Sold {
            sale: SaleId(sale),
            token: String::new(),
            from,
            channel: ChannelId(1),
            market_day: (from == SaleFrom::Tapped).then_some(market_day),
            buyer: (from == SaleFrom::Shop).then_some(buyer),
            order: (from == SaleFrom::Order).then_some(order),
            lines: vec![SaleLine {
                units,
                paid: usd(700),
            }],
            postage: None,
            tax: usd(0),
            fees: None,
            payment: Payment::Cash,
            row: None,
        }
        .into()),
        (1_u32..6).prop_map(|sale| SaleVoided {
            sale: SaleId(sale),
            reason: "rung up twice".to_owned(),
        }
        .into()),
        (
            1_u32..6,
            any_units_list(),
            prop::sample::select(vec![ReturnTo::Rack, ReturnTo::Spoilt, ReturnTo::Kept])
        )
            .prop_map(move |(sale, units, to)| GoodsReturned {
                sale: SaleId(sale),
                units,
                refund: usd(700),
                tax: usd(0),
                to,
                reason: "dented".to_owned(),
            }
            .into()),
        (
            any_place(),
            any_units_list(),
            prop::sample::select(Lost::ALL.to_vec())
        )
            .prop_map(|(place, units, how)| GoodsSetAside {
                place,
                units,
                how,
                note: String::new(),
            }
            .into()),
        (any_place(), any_units_list()).prop_map(|(place, units)| GoodsCounted {
            place,
            units,
            note: String::new(),
        }
        .into()),
        any::<bool>().prop_map(move |on_return| OrderTaken {
            order,
            buyer,
            channel: ChannelId(1),
            lines: vec![],
            due: None,
            on_return,
            note: String::new(),
        }
        .into()),
        any_units_list().prop_map(move |units| OrderPicked { order, units }.into()),
        Just(
            OrderSent {
                order,
                postage: None
            }
            .into()
        ),
        Just(
            OrderCancelled {
                order,
                reason: "too late".to_owned()
            }
            .into()
        ),
        (any_units_list(), any_units_list()).prop_map(move |(back, spoilt)| ShopCounted {
            buyer,
            back,
            spoilt,
            missing: vec![],
        }
        .into()),
    ]
}

/// The two lots, begun.
pub(crate) fn begun() -> Workshop {
    let mut workshop = Workshop::default();
    for pour in 1..3 {
        let fact = PourStarted {
            pour: PourId(pour),
            lot: format!("26060{pour}"),
            formula: workshop::facts::FormulaId(1),
            revision: 1,
            mould: None,
            product: Some(ProductId(1)),
            wanted: 24,
            portions: vec![],
        };
        tell(&mut workshop, fact.into());
    }
    workshop
}

pub(crate) fn tell(workshop: &mut Workshop, fact: Fact) {
    let day = date(2026, 6, 1);
    workshop.apply(&Dated { day, fact });
}

/// What is held, found anew from the movements alone.
fn held_again(goods: &Goods) -> std::collections::BTreeMap<(Place, workshop::Item), i64> {
    let mut held = std::collections::BTreeMap::new();
    for movement in goods.movements() {
        assert_ne!(movement.count, 0);
        for (spot, sign) in [(movement.from, -1), (movement.to, 1)] {
            if let Spot::At(place) = spot {
                *held.entry((place, movement.item)).or_default() +=
                    sign * i64::from(movement.count);
            }
        }
    }
    held.retain(|_, count| *count != 0);
    held
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(HISTORIES))]

    #[test]
    fn what_was_made_is_held_sold_or_gone(facts in prop::collection::vec(any_fact(), 0..12)) {
        let mut workshop = begun();
        for fact in facts {
            tell(&mut workshop, fact);
        }
        let goods = workshop.goods();
        let (made, held, out) = goods.totals();
        prop_assert_eq!(made, held + out);
        let again = held_again(goods);
        let now: std::collections::BTreeMap<_, _> = goods
            .everywhere()
            .map(|(place, item, count)| ((place, item), count))
            .collect();
        prop_assert_eq!(&now, &again);
        for ((place, item), count) in &now {
            prop_assert_eq!(goods.held(*place, *item), *count);
            prop_assert!(goods.places_of(*item).any(|found| found == (*place, *count)));
            prop_assert!(goods.at(*place).any(|found| found == (*item, *count)));
        }
        let short: u64 = goods.gaps().map(|gap| gap.short).sum();
        let below: i64 = now.values().filter(|count| **count < 0).sum();
        prop_assert_eq!(short, below.unsigned_abs());
        for lot in [PourId(1), PourId(2)] {
            let of_lot = goods.movements_of(lot).count();
            let all = goods.movements().iter().filter(|one| one.item.lot() == Some(lot));
            prop_assert_eq!(of_lot, all.count());
        }
    }
}
