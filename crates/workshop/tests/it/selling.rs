//! Channels, market days and sales: the figures of a day come out, what is
//! there is what is sold, and nothing is made or lost by any wish.

use jiff::civil::{Date, date};
use measure::{Currency, Money, Ratio, Reading};
use proptest::prelude::*;
use workshop::decide::{
    self, BackWish, Counted, Decision, LineWish, MarketDayWish, SaleWish, WhatIsLeft,
};
use workshop::facts::{
    BookSettings, Bundle, ChannelId, ChannelKind, ChannelTerms, Dated, DayCosts, FormulaDefined,
    FormulaId, Grade, Lost, MarketDayId, MouldDefined, MouldId, Payment, Place, PourCount,
    PourFinished, PourId, PourStarted, Poured, PriceSet, ProductDefined, ProductId, Recipe,
    ReturnTo, SaleFrom, SaleId, SalesTax, Units, UnitsCounted,
};
use workshop::selling::{Priced, bill, fees_of, price_in, tax_inside, together};
use workshop::tried::{days_sold, goods_alike, share_off};
use workshop::{Fact, Item, Refusal, Workshop};

use crate::book::percent;

const FIG: ProductId = ProductId(1);
const MINT: ProductId = ProductId(2);
const LANE: MarketDayId = MarketDayId(1);
const STALL: ChannelId = ChannelId(1);

fn usd(cents: i64) -> Money {
    Money::from_minor(cents, Currency::USD)
}

struct Shop {
    workshop: Workshop,
    day: Date,
}

impl Shop {
    fn tell(&mut self, fact: impl Into<Fact>) {
        self.workshop.apply(&Dated {
            day: self.day,
            fact: fact.into(),
        });
    }

    #[track_caller]
    fn note(&mut self, decided: Decision) -> Vec<Fact> {
        let facts = decided.unwrap();
        for fact in facts.clone() {
            self.tell(fact);
        }
        facts
    }

    fn lot(&mut self, pour: u32, product: ProductId, poured: Date, good: u32) {
        let day = self.day;
        let pour = PourId(pour);
        self.day = poured;
        self.tell(PourStarted {
            pour,
            lot: format!("lot-{pour}"),
            formula: FormulaId(2 - product.0 % 2),
            revision: 1,
            mould: Some(MouldId(1)),
            product: Some(product),
            wanted: good,
            portions: vec![],
        });
        self.tell(Poured {
            pour,
            wax_at: None,
            room_at: None,
        });
        self.tell(UnitsCounted {
            pour,
            count: PourCount {
                full: good,
                part: workshop::facts::PartFill::None,
                left: None,
                topped_up: None,
            },
        });
        self.tell(PourFinished {
            pour,
            good,
            seconds: 0,
            rejects: 0,
            minutes: None,
        });
        self.day = day;
    }

    fn held(&self, place: Place, lot: u32) -> i64 {
        let item = Item::Lot(PourId(lot), Grade::Good);
        self.workshop.goods().held(place, item)
    }

    fn sale(&self, id: u32) -> &workshop::Sale {
        self.workshop.trade().sale(SaleId(id)).unwrap()
    }

    fn balances(&self) -> bool {
        let (made, held, out) = self.workshop.goods().totals();
        made == held + out
    }
}

/// Two goods at 7.00 and 5.00, two lots of the first, a stall at which three of
/// any cost 18.00, 6.25 % tax inside, and a day at Quarry Lane.
fn shop() -> Shop {
    let mut shop = Shop {
        workshop: Workshop::default(),
        day: date(2026, 6, 1),
    };
    shop.tell(workshop::facts::WorkshopSetUp {
        settings: workshop::facts::Settings {
            name: "Quillfen Wax Works".to_owned(),
            system: measure::System::Us,
            currency: Currency::USD,
            decimal_mark: measure::DecimalMark::Point,
            readability: crate::book::mass("0.01 oz"),
            expected_loss: None,
            melter: None,
            wage: None,
            overhead_per_hour: None,
        },
    });
    for product in [FIG, MINT] {
        shop.tell(FormulaDefined {
            formula: FormulaId(product.0),
            name: format!("scent {product}"),
            recipe: Recipe {
                blend: vec![],
                oil: None,
                load: formula::FragranceLoad::OfWax(percent("8 %")),
                dye: None,
                add_at: None,
                pour_at: None,
                cure_days: 10,
                set_density: None,
            },
        });
    }
    shop.tell(MouldDefined {
        mould: MouldId(1),
        name: "bar".to_owned(),
        format: workshop::facts::Format::SnapBar,
        cavities: 12,
        line_volume: None,
        nominal: None,
    });
    for (product, name, cents) in [
        (FIG, "Harbour Fig bar", 700),
        (MINT, "Tin Roof Mint bar", 500),
    ] {
        shop.tell(ProductDefined {
            product,
            name: name.to_owned(),
            formula: FormulaId(product.0),
            mould: MouldId(1),
            packing: vec![],
        });
        let [low, typical, high] = [cents - 100, cents, cents + 100].map(usd);
        shop.tell(PriceSet {
            product,
            low,
            typical,
            high,
        });
    }
    shop.lot(1, FIG, date(2026, 5, 1), 20);
    shop.lot(2, FIG, date(2026, 5, 11), 20);
    shop.lot(3, MINT, date(2026, 5, 5), 20);
    let terms = ChannelTerms {
        payment_percent: Some(percent("2.6 %")),
        payment_fixed: Some(usd(10)),
        ..ChannelTerms::default()
    };
    let decided = decide::settle_channel(
        &shop.workshop,
        None,
        "the stall",
        ChannelKind::Stall,
        terms,
        false,
    );
    shop.note(decided);
    let decided = decide::settle_books(
        &shop.workshop,
        BookSettings {
            tax: Some(SalesTax {
                name: "sales tax".to_owned(),
                rate: percent("6.25 %"),
                inside: true,
                number: String::new(),
            }),
            year_month: 1,
            year_day: 1,
            ..BookSettings::default()
        },
    );
    shop.note(decided);
    let decided = decide::settle_market_day(&shop.workshop, None, lane());
    shop.note(decided);
    shop
}

fn lane() -> MarketDayWish {
    MarketDayWish {
        channel: STALL,
        market: "Quarry Lane".to_owned(),
        on: date(2026, 6, 6),
        costs: DayCosts {
            pitch: Some(usd(4500)),
            travel: Some(usd(2400)),
            other: Some(usd(1200)),
        },
        hours: None,
        called_off: false,
    }
}

fn with_bundle(mut shop: Shop) -> Shop {
    let bundles = vec![Bundle {
        products: vec![FIG, MINT],
        count: 3,
        price: usd(1400),
    }];
    let decided = decide::set_bundles(&shop.workshop, STALL, bundles);
    shop.note(decided);
    shop
}

fn take(shop: &mut Shop, fig: u32, mint: u32) {
    let wanted = [Counted::of(FIG, fig), Counted::of(MINT, mint)];
    let decided = decide::take_goods(&shop.workshop, LANE, &wanted, shop.day);
    shop.note(decided);
}

fn tap(token: &str, lines: &[(ProductId, u32)], payment: Payment) -> SaleWish {
    let lines = lines.iter().map(|(product, count)| LineWish {
        units: Counted::of(*product, *count),
        paid: None,
    });
    SaleWish::tapped(token.to_owned(), LANE, lines.collect(), payment)
}

#[track_caller]
fn refused(decided: Decision) -> String {
    match decided {
        Err(Refusal::Input(problems)) => problems.to_string(),
        Err(other) => other.to_string(),
        Ok(facts) => panic!("it was let: {facts:?}"),
    }
}

#[test]
fn a_day_without_taps_is_sold_by_its_count() {
    let mut shop = shop();
    take(&mut shop, 36, 0);
    assert_eq!(
        (shop.held(Place::Rack, 1), shop.held(Place::Stall(LANE), 1)),
        (0, 20)
    );
    assert_eq!(
        (shop.held(Place::Rack, 2), shop.held(Place::Stall(LANE), 2)),
        (4, 16)
    );
    shop.day = date(2026, 6, 6);
    let wish = BackWish {
        back: vec![Counted::of(FIG, 4)],
        given: vec![Counted::of(FIG, 1)],
        ..BackWish::default()
    };
    shop.note(decide::count_back(&shop.workshop, LANE, &wish));
    let sale = shop.sale(1);
    assert_eq!(
        (sale.n_units(), sale.paid(), sale.tax),
        (31, usd(21700), usd(1276))
    );
    assert_eq!(sale.from, SaleFrom::CountedBack);
    // The latest came home, the earliest were sold.
    assert_eq!(
        (shop.held(Place::Rack, 1), shop.held(Place::Rack, 2)),
        (0, 8)
    );
    assert_eq!(shop.workshop.goods().at(Place::Stall(LANE)).count(), 0);
    assert!(shop.balances());
}

#[test]
fn a_day_counted_again_replaces_the_first_count() {
    let mut shop = shop();
    take(&mut shop, 30, 0);
    let wish = |back| BackWish {
        back: vec![Counted::of(FIG, back)],
        ..BackWish::default()
    };
    shop.note(decide::count_back(&shop.workshop, LANE, &wish(12)));
    shop.note(decide::count_back(&shop.workshop, LANE, &wish(21)));
    assert!(shop.sale(1).voided.is_some());
    assert_eq!(
        (shop.sale(2).n_units(), shop.sale(2).paid()),
        (9, usd(6300))
    );
    assert_eq!(
        (shop.held(Place::Rack, 1), shop.held(Place::Rack, 2)),
        (11, 20)
    );
    assert_eq!(shop.workshop.goods().gaps().count(), 0);
    assert!(shop.balances());
}

#[test]
fn tapped_sales_take_the_earliest_and_bundles() {
    let mut shop = with_bundle(shop());
    take(&mut shop, 25, 5);
    // Two fig and a mint for 14.00, and a fig alone for 7.00 in the second.
    shop.note(decide::sell(
        &shop.workshop,
        &tap("a", &[(FIG, 2), (MINT, 1)], Payment::Cash),
        shop.day,
    ));
    shop.note(decide::sell(
        &shop.workshop,
        &tap("b", &[(FIG, 7)], Payment::Card),
        shop.day,
    ));
    let sale = shop.sale(1);
    let paid: Vec<_> = sale.lines.iter().map(|line| line.paid.minor()).collect();
    // 14.00 over 14.00 and 5.00 worth: 10.315… and 3.684….
    assert_eq!(paid, [1032, 368]);
    assert_eq!(shop.sale(2).paid(), usd(3500));
    assert_eq!(shop.sale(2).tax, usd(206));
    // 35.00 × 2.6 % + 0.10 = 1.01; cash costs nothing.
    assert_eq!(fees_of(&shop.workshop, shop.sale(2)), usd(101));
    assert_eq!(fees_of(&shop.workshop, shop.sale(1)), usd(0));
    assert_eq!(shop.held(Place::Stall(LANE), 1), 11);
    assert_eq!(shop.held(Place::Stall(LANE), 2), 5);
}

#[test]
fn a_sale_sent_twice_counts_once() {
    let mut shop = shop();
    take(&mut shop, 10, 0);
    let wish = tap("phone-1", &[(FIG, 2)], Payment::Cash);
    assert_eq!(
        shop.note(decide::sell(&shop.workshop, &wish, shop.day))
            .len(),
        1
    );
    assert_eq!(decide::sell(&shop.workshop, &wish, shop.day), Ok(vec![]));
    assert_eq!(shop.workshop.trade().sales().len(), 1);
}

#[test]
fn more_sold_than_there_was_has_no_lot_and_is_a_gap() {
    let mut shop = shop();
    take(&mut shop, 3, 0);
    shop.note(decide::sell(
        &shop.workshop,
        &tap("a", &[(FIG, 5)], Payment::Cash),
        shop.day,
    ));
    let units: Vec<Units> = shop.sale(1).lines[0].units.clone();
    assert_eq!(
        units
            .iter()
            .map(|one| (one.lot, one.count))
            .collect::<Vec<_>>(),
        [(Some(PourId(1)), 3), (None, 2)]
    );
    let gaps: Vec<_> = shop.workshop.goods().gaps().collect();
    assert_eq!((gaps.len(), gaps[0].short), (1, 2));
    // Written down late that ten had been taken, of which one came home.
    take(&mut shop, 10, 0);
    let wish = BackWish {
        back: vec![Counted::of(FIG, 5)],
        ..BackWish::default()
    };
    shop.note(decide::count_back(&shop.workshop, LANE, &wish));
    assert_eq!(shop.workshop.goods().gaps().count(), 0);
    assert_eq!(shop.workshop.goods().at(Place::Stall(LANE)).count(), 0);
    assert!(shop.balances());
}

#[test]
fn what_was_not_tapped_is_missing_unless_the_maker_says_it_was_sold() {
    for (rest, sales, missing) in [(None, 1, 3), (Some(WhatIsLeft::Sold), 2, 0)] {
        let mut shop = shop();
        take(&mut shop, 10, 0);
        shop.note(decide::sell(
            &shop.workshop,
            &tap("a", &[(FIG, 2)], Payment::Cash),
            shop.day,
        ));
        let wish = BackWish {
            back: vec![Counted::of(FIG, 5)],
            rest,
            ..BackWish::default()
        };
        shop.note(decide::count_back(&shop.workshop, LANE, &wish));
        assert_eq!(shop.workshop.trade().sales().len(), sales);
        let counted = shop
            .workshop
            .trade()
            .market_day(LANE)
            .unwrap()
            .counted
            .as_ref();
        let lost: u32 = counted
            .unwrap()
            .missing
            .iter()
            .map(|units| units.count)
            .sum();
        assert_eq!(lost, missing);
        assert!(shop.balances());
    }
}

#[test]
fn a_sale_that_comes_in_late_is_what_was_missing() {
    let mut shop = shop();
    take(&mut shop, 10, 0);
    shop.note(decide::sell(
        &shop.workshop,
        &tap("a", &[(FIG, 2)], Payment::Cash),
        shop.day,
    ));
    let wish = BackWish {
        back: vec![Counted::of(FIG, 5)],
        ..BackWish::default()
    };
    shop.note(decide::count_back(&shop.workshop, LANE, &wish));
    shop.note(decide::sell(
        &shop.workshop,
        &tap("b", &[(FIG, 2)], Payment::Cash),
        shop.day,
    ));
    let day = shop.workshop.trade().market_day(LANE).unwrap();
    let lost: u32 = day
        .counted
        .as_ref()
        .unwrap()
        .missing
        .iter()
        .map(|units| units.count)
        .sum();
    assert_eq!(lost, 1);
    assert_eq!(shop.workshop.goods().gaps().count(), 0);
    let late = decide::sell(
        &shop.workshop,
        &tap("c", &[(FIG, 2)], Payment::Cash),
        shop.day,
    );
    assert!(refused(late).contains("counted back on 2026-06-01"));
    assert!(shop.balances());
}

#[test]
fn packing_more_than_there_is_is_refused_with_how_many_there_are() {
    let mut shop = shop();
    let wanted = [Counted::of(FIG, 41)];
    let decided = decide::take_goods(&shop.workshop, LANE, &wanted, shop.day);
    assert!(refused(decided).contains("there are only 40 of Harbour Fig bar"));
    // A lot on hold and one that cures past the day do not go along.
    shop.lot(4, FIG, date(2026, 5, 30), 20);
    shop.note(decide::hold(&shop.workshop, PourId(2), "frosted"));
    let decided = decide::take_goods(&shop.workshop, LANE, &wanted, shop.day);
    assert!(refused(decided).contains("there are only 20 of Harbour Fig bar"));
    // Of a day that is past it has happened.
    let decided = decide::take_goods(&shop.workshop, LANE, &wanted, date(2026, 6, 8));
    shop.note(decided);
    assert!(shop.balances());
}

#[test]
fn packing_less_puts_the_latest_back() {
    let mut shop = shop();
    take(&mut shop, 30, 0);
    take(&mut shop, 15, 0);
    assert_eq!(
        (shop.held(Place::Rack, 1), shop.held(Place::Rack, 2)),
        (5, 20)
    );
    let day = shop.workshop.trade().market_day(LANE).unwrap();
    assert_eq!(day.n_taken(), 15);
    take(&mut shop, 15, 0);
    assert!(shop.balances());
}

#[test]
fn a_day_called_off_puts_everything_back() {
    let mut shop = shop();
    take(&mut shop, 30, 4);
    let wish = MarketDayWish {
        called_off: true,
        ..lane()
    };
    let decided = decide::settle_market_day(&shop.workshop, Some(LANE), wish);
    shop.note(decided);
    assert_eq!(shop.held(Place::Rack, 2), 20);
    let sold = decide::sell(
        &shop.workshop,
        &tap("a", &[(FIG, 1)], Payment::Cash),
        shop.day,
    );
    assert!(refused(sold).contains("called off"));
}

#[test]
fn more_home_than_was_taken_is_refused() {
    let mut shop = shop();
    take(&mut shop, 10, 0);
    let wish = BackWish {
        back: vec![Counted::of(FIG, 12)],
        ..BackWish::default()
    };
    let decided = decide::count_back(&shop.workshop, LANE, &wish);
    assert!(refused(decided).contains("only 10 were taken"));
    let nothing = decide::count_back(&self::shop().workshop, LANE, &BackWish::default());
    assert!(refused(nothing).contains("nothing was taken to it"));
}

#[test]
fn a_sale_is_taken_back_and_goods_come_back() {
    let mut shop = shop();
    take(&mut shop, 10, 0);
    for token in ["a", "b"] {
        shop.note(decide::sell(
            &shop.workshop,
            &tap(token, &[(FIG, 3)], Payment::Cash),
            shop.day,
        ));
    }
    shop.note(decide::void_sale(
        &shop.workshop,
        SaleId(1),
        "rung up twice",
    ));
    assert_eq!(shop.held(Place::Stall(LANE), 1), 7);
    assert_eq!(shop.sale(1).paid(), usd(0));
    let back = [Counted::of(FIG, 1)];
    let give = |shop: &Shop, refund| {
        decide::return_goods(
            &shop.workshop,
            SaleId(2),
            &back,
            usd(refund),
            ReturnTo::Rack,
            "dented",
        )
    };
    assert!(refused(give(&shop, 2101)).contains("21.00 USD is left"));
    for refund in [700, 700, 700] {
        let decided = give(&shop, refund);
        shop.note(decided);
    }
    // The tax of 1.24 goes back with the money, to the last cent.
    let tax: i64 = shop
        .sale(2)
        .returns
        .iter()
        .map(|back| back.tax.minor())
        .sum();
    assert_eq!(tax, shop.sale(2).tax.minor());
    assert!(refused(give(&shop, 0)).contains("has only 0"));
    assert!(shop.balances());
}

#[test]
fn goods_that_a_buyer_keeps_stay_sold_and_a_transfer_is_in_no_tin() {
    let mut shop = shop();
    take(&mut shop, 10, 0);
    shop.note(decide::sell(
        &shop.workshop,
        &tap("a", &[(FIG, 3)], Payment::Transfer),
        shop.day,
    ));
    let decided = decide::return_goods(
        &shop.workshop,
        SaleId(1),
        &[Counted::of(FIG, 1)],
        usd(200),
        ReturnTo::Kept,
        "dented",
    );
    shop.note(decided);
    let left: u32 = shop.sale(1).left().iter().map(|units| units.count).sum();
    assert_eq!(left, 3);
    let tin = usd(5_000);
    let decided = decide::count_till(&shop.workshop, LANE, tin, tin, None, None);
    shop.note(decided);
    let day = shop.workshop.trade().market_day(LANE).unwrap();
    let found = workshop::day_account(&shop.workshop, day).unwrap();
    assert_eq!((found.sold, found.takings), (3, usd(1_900)));
    assert_eq!(found.tin.unwrap().difference, usd(0));
}

#[test]
fn what_is_given_back_of_a_card_sale_is_no_business_of_the_tin() {
    let mut shop = shop();
    take(&mut shop, 10, 0);
    let sale = tap("a", &[(FIG, 3)], Payment::Card);
    shop.note(decide::sell(&shop.workshop, &sale, shop.day));
    let paid = shop.sale(1).paid();
    let back = [Counted::of(FIG, 1)];
    let (rack, why) = (ReturnTo::Rack, "not wanted");
    let decided = decide::return_goods(&shop.workshop, SaleId(1), &back, usd(200), rack, why);
    shop.note(decided);
    let tin = usd(5_000);
    for (cards, payments) in [(None, None), (Some(paid), Some(1))] {
        let decided = decide::count_till(&shop.workshop, LANE, tin, tin, cards, payments);
        shop.note(decided);
        let day = shop.workshop.trade().market_day(LANE).unwrap();
        let found = workshop::tin_of(&shop.workshop, day).unwrap();
        assert_eq!((found.expected, found.difference), (tin, usd(0)));
    }
}

#[test]
fn a_lot_taken_to_a_day_that_is_past_is_written_down_once() {
    let mut shop = shop();
    let wanted = [Counted {
        lot: Some(PourId(1)),
        ..Counted::of(FIG, 23)
    }];
    let after = date(2026, 6, 8);
    let decided = decide::take_goods(&shop.workshop, LANE, &wanted, after);
    shop.note(decided);
    // The rack had twenty of it, which has to be explained.
    assert_eq!(
        (shop.held(Place::Rack, 1), shop.held(Place::Stall(LANE), 1)),
        (-3, 23)
    );
    let again = decide::take_goods(&shop.workshop, LANE, &wanted, after);
    assert_eq!(again, Ok(vec![]));
    assert!(shop.balances());
}

#[test]
fn goods_set_aside_and_counted() {
    let mut shop = shop();
    let decided = decide::set_aside(
        &shop.workshop,
        Place::Rack,
        &[Counted::of(FIG, 2)],
        Lost::Given,
        "",
        shop.day,
    );
    shop.note(decided);
    assert_eq!(shop.held(Place::Rack, 1), 18);
    let decided = decide::set_aside(
        &shop.workshop,
        Place::Rack,
        &[Counted::of(FIG, 99)],
        Lost::Given,
        "",
        shop.day,
    );
    assert!(refused(decided).contains("there are only 38"));
    let counted = [Counted {
        lot: Some(PourId(1)),
        ..Counted::of(FIG, 15)
    }];
    let silent = decide::count_goods(&shop.workshop, Place::Rack, &counted, "");
    assert!(refused(silent).contains("note"));
    let decided = decide::count_goods(
        &shop.workshop,
        Place::Rack,
        &counted,
        "three given and not noted",
    );
    shop.note(decided);
    assert_eq!(shop.held(Place::Rack, 1), 15);
    let again = decide::count_goods(&shop.workshop, Place::Rack, &counted, "");
    assert_eq!(again, Ok(vec![]));
    let wrong_lot = [Counted {
        lot: Some(PourId(3)),
        ..Counted::of(FIG, 1)
    }];
    let decided = decide::count_goods(&shop.workshop, Place::Rack, &wrong_lot, "");
    assert!(refused(decided).contains("another good"));
}

#[test]
fn channels_have_names_of_their_own_and_shares_below_the_whole() {
    let shop = shop();
    let settle = |name: &str, terms| {
        decide::settle_channel(&shop.workshop, None, name, ChannelKind::Web, terms, false)
    };
    assert!(refused(settle("The Stall", ChannelTerms::default())).contains("of that name"));
    let terms = ChannelTerms {
        percent_fee: Some(percent("101 %")),
        fixed_fee: Some(Money::from_minor(20, Currency::GBP)),
        ..ChannelTerms::default()
    };
    let said = refused(settle("web shop", terms));
    assert!(
        said.contains("more than the whole") && said.contains("USD"),
        "{said}"
    );
    let other = decide::set_channel_price(&shop.workshop, STALL, FIG, Some(usd(-1)));
    assert!(refused(other).contains("less than nothing"));
    let dearer = Bundle {
        products: vec![FIG],
        count: 3,
        price: usd(2100),
    };
    let decided = decide::set_bundles(&shop.workshop, STALL, vec![dearer]);
    assert!(refused(decided).contains("no more one by one"));
}

#[test]
fn a_channel_has_its_own_price() {
    let mut shop = shop();
    let decided = decide::set_channel_price(&shop.workshop, STALL, FIG, Some(usd(650)));
    shop.note(decided);
    let stall = shop.workshop.trade().channel(STALL).unwrap();
    assert_eq!(price_in(&shop.workshop, stall, FIG), Some(usd(650)));
    assert_eq!(price_in(&shop.workshop, stall, MINT), Some(usd(500)));
    let found = bill(&shop.workshop, stall, &[(FIG, 2), (MINT, 1)]).unwrap();
    assert_eq!((found.total, found.tax), (usd(1800), usd(106)));
}

#[test]
fn tax_on_top_is_added_once_for_the_sale() {
    let mut shop = shop();
    let decided = decide::settle_books(
        &shop.workshop,
        BookSettings {
            tax: Some(SalesTax {
                name: "sales tax".to_owned(),
                rate: percent("8 %"),
                inside: false,
                number: String::new(),
            }),
            year_month: 4,
            year_day: 6,
            ..BookSettings::default()
        },
    );
    shop.note(decided);
    take(&mut shop, 5, 5);
    shop.note(decide::sell(
        &shop.workshop,
        &tap("a", &[(FIG, 1), (MINT, 1)], Payment::Cash),
        shop.day,
    ));
    // 12.00 and 8 % on it.
    assert_eq!(
        (shop.sale(1).paid(), shop.sale(1).tax),
        (usd(1296), usd(96))
    );
}

#[test]
fn tax_inside_is_rounded_half_even() {
    // 20 % inside is 20 ÷ 120, one sixth: HM Revenue & Customs, "Calculating VAT
    // for VAT-inclusive and VAT-exclusive prices". 481.50 at 7 % have 31.50 in
    // them: the worked example of takings. Both in docs/sources.md.
    let vat = Ratio::parse("20 %", Reading::PLAIN).unwrap();
    let gbp = |minor| Money::from_minor(minor, Currency::GBP);
    assert_eq!(tax_inside(gbp(12_000), vat), gbp(2_000));
    assert_eq!(tax_inside(usd(48_150), percent("7 %")), usd(3_150));
    // One sixth of 0.03 is half a penny, and of 0.09 one and a half.
    assert_eq!(tax_inside(gbp(3), vat), gbp(0));
    assert_eq!(tax_inside(gbp(9), vat), gbp(2));
    assert_eq!(tax_inside(usd(21_700), percent("6.25 %")), usd(1_276));
}

fn priced(product: u32, count: u32, cents: i64) -> Priced {
    Priced {
        product: ProductId(product),
        count,
        each: usd(cents),
    }
}

fn of(products: &[u32], count: u32, cents: i64) -> Bundle {
    Bundle {
        products: products.iter().copied().map(ProductId).collect(),
        count,
        price: usd(cents),
    }
}

#[test]
fn seven_with_three_for_eighteen_are_two_bundles_and_one() {
    let found = together(&[priced(1, 7, 700)], &[of(&[1], 3, 1800)]).unwrap();
    assert_eq!(
        (found.total(), found.used, found.saved),
        (usd(4300), vec![2], usd(600))
    );
}

#[test]
fn thousands_of_millions_are_added_up_without_laying_them_out() {
    let found = together(&[priced(1, u32::MAX, 700)], &[]).unwrap();
    assert_eq!(found.total(), usd(700 * i64::from(u32::MAX)));
}

#[test]
fn bundles_of_different_counts_are_mixed_the_cheapest_way() {
    // Six at 7.00 with 3 for 18.00 and 4 for 23.00: 36.00, not 23.00 + 14.00.
    let bundles = [of(&[1], 3, 1800), of(&[1], 4, 2300)];
    let found = together(&[priced(1, 6, 700)], &bundles).unwrap();
    assert_eq!((found.total(), found.used), (usd(3600), vec![2, 0]));
    // Seven: one of each.
    let found = together(&[priced(1, 7, 700)], &bundles).unwrap();
    assert_eq!((found.total(), found.used), (usd(4100), vec![1, 1]));
}

#[test]
fn overlapping_bundles_leave_goods_for_each_other() {
    // Four of any for 20.00 take the mint and three fig, so that three fig are
    // left for 18.00.
    let bundles = [of(&[1], 3, 1800), of(&[1, 2], 4, 2000)];
    let found = together(&[priced(1, 6, 700), priced(2, 1, 700)], &bundles).unwrap();
    assert_eq!(found.total(), usd(3800));
}

/// The least a buyer can pay, by trying every way to take out one bundle after
/// another.
fn least(counts: &mut Vec<u32>, lines: &[Priced], bundles: &[Bundle]) -> i64 {
    let alone = counts.iter().zip(lines);
    let mut best: i64 = alone
        .map(|(n, line)| i64::from(*n) * line.each.minor())
        .sum();
    for bundle in bundles {
        let fits = |nth: usize| bundle.products.contains(&lines[nth].product);
        let here: Vec<usize> = (0..lines.len()).filter(|nth| fits(*nth)).collect();
        for taken in shares(bundle.count, &here, counts) {
            for (nth, n) in here.iter().zip(&taken) {
                counts[*nth] -= n;
            }
            best = best.min(bundle.price.minor() + least(counts, lines, bundles));
            for (nth, n) in here.iter().zip(&taken) {
                counts[*nth] += n;
            }
        }
    }
    best
}

/// Every way to take so many units out of some lines.
fn shares(count: u32, lines: &[usize], there: &[u32]) -> Vec<Vec<u32>> {
    let Some((first, rest)) = lines.split_first() else {
        return if count == 0 { vec![vec![]] } else { vec![] };
    };
    (0..=count.min(there[*first]))
        .flat_map(|n| {
            shares(count - n, rest, there)
                .into_iter()
                .map(move |mut more| {
                    more.insert(0, n);
                    more
                })
        })
        .collect()
}

proptest! {
    #[test]
    fn bundles_for_the_same_goods_cost_the_buyer_least(
        counts in prop::collection::vec(0_u32..5, 2),
        cents in prop::collection::vec(1_i64..900, 2),
        bundles in prop::collection::vec((2_u32..5, 1_i64..2_000), 0..3),
    ) {
        let lines: Vec<Priced> = (1..).zip(counts.iter().zip(&cents)).map(|(id, (count, each))| priced(id, *count, *each)).collect();
        let bundles: Vec<Bundle> = bundles.into_iter().map(|(count, cents)| of(&[1, 2], count, cents)).collect();
        let found = together(&lines, &bundles).unwrap();
        prop_assert_eq!(found.total().minor(), least(&mut counts.clone(), &lines, &bundles));
        let used: i64 = found.used.iter().zip(&bundles).map(|(n, bundle)| i64::from(*n) * bundle.price.minor()).sum();
        prop_assert!(used <= found.total().minor());
    }

    #[test]
    fn any_bundles_never_cost_more_than_the_goods_alone(
        counts in prop::collection::vec(0_u32..30, 3),
        bundles in prop::collection::vec((1_u32..8, 0_u32..10, 1_i64..6_000), 0..7),
    ) {
        let lines: Vec<Priced> = (1..).zip(&counts).map(|(id, count)| priced(id, *count, 100 * i64::from(id))).collect();
        let bundles: Vec<Bundle> = bundles.into_iter().map(|(of_which, count, cents)| {
            let products: Vec<u32> = (1..=3).filter(|id| of_which & (1 << (id - 1)) != 0).collect();
            of(&products, count, cents)
        }).collect();
        let found = together(&lines, &bundles).unwrap();
        let alone: i64 = lines.iter().map(|line| i64::from(line.count) * line.each.minor()).sum();
        prop_assert_eq!(found.total().minor() + found.saved.minor(), alone);
        prop_assert!(found.saved.minor() >= 0);
        prop_assert!(found.lines.iter().all(|line| line.minor() >= 0));
    }
}

/// A wish as chance makes it.
type Wish = (u8, u32, u32, u32);

fn decided(shop: &Shop, (kind, a, b, c): Wish) -> Decision {
    let workshop = &shop.workshop;
    let product = ProductId(1 + a % 2);
    let n_sales = u32::try_from(workshop.trade().sales().len()).unwrap();
    let sale = SaleId(1 + b % n_sales.max(1));
    let lot = (c % 3 == 1).then_some(PourId(1 + b % 3));
    let one = Counted {
        product,
        lot,
        grade: if c % 7 == 6 {
            Grade::Second
        } else {
            Grade::Good
        },
        count: b % 14,
    };
    let place = [Place::Rack, Place::Stall(LANE)][c as usize % 2];
    match kind % 11 {
        0 => decide::take_goods(workshop, LANE, &[one], shop.day),
        1..=3 => {
            let mut wish = tap(
                &format!("t{c}"),
                &[(product, b % 9)],
                Payment::ALL[c as usize % 6],
            );
            wish.lines[0].units.lot = lot;
            wish.lines[0].paid = (c % 5 == 0).then(|| usd(i64::from(a)));
            decide::sell(workshop, &wish, shop.day)
        }
        4 => {
            let mut wish = tap("", &[(product, b % 9)], Payment::Transfer);
            (wish.market_day, wish.channel) = (None, Some(STALL));
            wish.from = SaleFrom::Written;
            decide::sell(workshop, &wish, shop.day)
        }
        5 => decide::void_sale(workshop, sale, "never was"),
        6 => {
            let to = [ReturnTo::Rack, ReturnTo::Spoilt, ReturnTo::Kept][c as usize % 3];
            decide::return_goods(workshop, sale, &[one], usd(i64::from(a)), to, "dented")
        }
        7 => decide::set_aside(
            workshop,
            place,
            &[one],
            Lost::ALL[a as usize % 4],
            "",
            shop.day,
        ),
        8 => decide::count_goods(workshop, place, &[one], "counted"),
        9 => {
            let wish = BackWish {
                back: vec![one],
                given: vec![Counted::of(product, a % 3)],
                spoilt: vec![],
                rest: [None, Some(WhatIsLeft::Sold), Some(WhatIsLeft::Missing)][c as usize % 3],
            };
            decide::count_back(workshop, LANE, &wish)
        }
        _ => {
            let wish = MarketDayWish {
                called_off: c % 2 == 1,
                ..lane()
            };
            decide::settle_market_day(workshop, Some(LANE), wish)
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn whatever_is_wished_the_goods_and_the_money_balance(
        wishes in prop::collection::vec((any::<u8>(), 0_u32..3_000, 0_u32..60, 0_u32..60), 0..30),
    ) {
        let mut shop = with_bundle(shop());
        let mut tokens = std::collections::BTreeSet::new();
        for wish in wishes {
            let Ok(facts) = decided(&shop, wish) else { continue };
            for fact in facts {
                if let Fact::Sold(sold) = &fact {
                    prop_assert!(sold.token.is_empty() || tokens.insert(sold.token.clone()));
                    let paid: i64 = sold.lines.iter().map(|line| line.paid.minor()).sum();
                    prop_assert!((0..=paid).contains(&sold.tax.minor()));
                }
                shop.tell(fact);
            }
            prop_assert!(shop.balances());
            // Once a day is counted, nothing of it is left at the stall but
            // what was sold beyond what was taken.
            let day = shop.workshop.trade().market_day(LANE).unwrap();
            for sale in shop.workshop.trade().sales() {
                let refunds: i64 = sale.returns.iter().map(|back| back.refund.minor()).sum();
                let taxes: i64 = sale.returns.iter().map(|back| back.tax.minor()).sum();
                if sale.voided.is_none() {
                    prop_assert!(refunds <= sale.paid().minor());
                }
                prop_assert!((0..=sale.tax.minor()).contains(&taxes));
            }
            prop_assert!(day.taken.iter().all(|units| units.count > 0));
        }
    }
}

/// The shop with bars whose materials cost 1.26892 each, 25,000 sets for
/// 31,723.00, and 2.4 min of hands-on time.
fn costed() -> Shop {
    let mut shop = shop();
    let decided = decide::define_supply(
        &shop.workshop,
        workshop::facts::SupplyKind::Wrap,
        "bar, ready to fill",
        None,
        None,
    );
    shop.note(decided);
    let supply = workshop::facts::SupplyId(1);
    let line = workshop::facts::ReceiptLine {
        volume: None,
        supply,
        supplier_lot: String::new(),
        amount: workshop::facts::Amount::Count(25_000),
        paid: usd(3_172_300),
    };
    let spread = workshop::facts::FreightSpread::ByValue;
    let decided = decide::receive(&shop.workshop, "", vec![line], None, spread);
    shop.note(decided);
    let packed = ProductId(3);
    shop.tell(ProductDefined {
        product: packed,
        name: "Peat & Plum bar".to_owned(),
        formula: FormulaId(1),
        mould: MouldId(1),
        packing: vec![(supply, 1)],
    });
    let [low, typical, high] = [600, 700, 800].map(usd);
    shop.tell(PriceSet {
        product: packed,
        low,
        typical,
        high,
    });
    shop.lot(4, packed, date(2026, 5, 2), 36);
    shop.tell(workshop::facts::LotCorrected {
        pour: PourId(4),
        count: PourCount {
            full: 36,
            part: workshop::facts::PartFill::None,
            left: None,
            topped_up: None,
        },
        good: 36,
        seconds: 0,
        rejects: 0,
        minutes: measure::Typed::parse_with("86.4 min", Reading::PLAIN).ok(),
        reason: "the time was not noted".to_owned(),
    });
    shop
}

#[test]
fn a_market_day_comes_out_to_the_cent() {
    let mut shop = costed();
    let plan = MarketDayWish {
        hours: measure::Typed::parse_with("9.5 h", Reading::PLAIN).ok(),
        ..lane()
    };
    let decided = decide::settle_market_day(&shop.workshop, Some(LANE), plan);
    shop.note(decided);
    let wanted = [Counted::of(ProductId(3), 36)];
    let decided = decide::take_goods(&shop.workshop, LANE, &wanted, shop.day);
    shop.note(decided);
    let back = BackWish {
        back: vec![Counted::of(ProductId(3), 5)],
        ..BackWish::default()
    };
    shop.note(decide::count_back(&shop.workshop, LANE, &back));
    let decided = decide::count_till(
        &shop.workshop,
        LANE,
        usd(5_000),
        usd(13_300),
        Some(usd(13_300)),
        Some(9),
    );
    shop.note(decided);
    let day = shop.workshop.trade().market_day(LANE).unwrap();
    let found = workshop::day_account(&shop.workshop, day).unwrap();
    assert_eq!(found.sold, 31);
    // 31 × 7.00; 217.00 × 0.0625 ÷ 1.0625 = 12.7647…
    assert_eq!(
        (found.takings, found.tax, found.net),
        (usd(21_700), usd(1_276), usd(20_424))
    );
    // 133.00 × 2.6 % + 9 × 0.10 = 4.358; 31 × 1.26892 = 39.33652.
    assert_eq!(
        (found.fees, found.materials, found.costs),
        (usd(436), usd(3_934), usd(8_100))
    );
    assert_eq!(found.left, usd(7_954));
    // 79.54 ÷ (9.5 h + 31 × 2.4 min).
    assert_eq!(found.per_hour.unwrap().rounded(), Some(usd(741)));
    // 50.00 + 217.00 − 133.00 should be in the tin.
    let tin = found.tin.unwrap();
    assert_eq!((tin.expected, tin.difference), (usd(13_400), usd(-100)));
    assert_eq!((found.no_cost, found.no_time), (0, 0));
    assert_eq!(
        found.sell_through().unwrap().round_dp(3).to_string(),
        "0.861"
    );
    assert!(found.working.steps().len() >= 8);
}

#[test]
fn a_day_says_what_it_does_not_know() {
    let mut shop = shop();
    take(&mut shop, 10, 0);
    shop.note(decide::sell(
        &shop.workshop,
        &tap("a", &[(FIG, 12)], Payment::Card),
        shop.day,
    ));
    let day = shop.workshop.trade().market_day(LANE).unwrap();
    let found = workshop::day_account(&shop.workshop, day).unwrap();
    assert_eq!(
        (found.no_cost, found.no_time, found.materials),
        (2, 12, usd(0))
    );
    // Two had no lot. 84.00 × 2.6 % + 0.10 = 2.284.
    assert_eq!(
        (found.cards, found.card_payments, found.fees),
        (usd(8_400), 1, usd(228))
    );
    assert!(!found.cards_reported);
    assert_eq!(found.per_hour, None);
    assert_eq!(found.goods.iter().map(|good| good.left).sum::<i64>(), -2);
}

#[test]
fn today_asks_for_what_a_market_day_needs() {
    let errands = |shop: &Shop, day| workshop::errands(&shop.workshop, day);
    let mut shop = shop();
    let pack = workshop::Errand::PackFor(LANE);
    let count = workshop::Errand::CountBack(LANE);
    assert!(!errands(&shop, date(2026, 6, 4)).contains(&pack));
    assert!(errands(&shop, date(2026, 6, 5)).contains(&pack));
    take(&mut shop, 3, 0);
    assert!(!errands(&shop, date(2026, 6, 5)).contains(&pack));
    assert!(!errands(&shop, date(2026, 6, 6)).contains(&count));
    assert!(errands(&shop, date(2026, 6, 7)).contains(&count));
    shop.note(decide::sell(
        &shop.workshop,
        &tap("a", &[(FIG, 5)], Payment::Cash),
        shop.day,
    ));
    // On the day itself selling comes before everything else.
    let sell = workshop::Errand::SellAt(LANE);
    assert!(!errands(&shop, date(2026, 6, 5)).contains(&sell));
    assert_eq!(errands(&shop, date(2026, 6, 6)).first(), Some(&sell));
    let gap = workshop::Errand::CountGoods(Place::Stall(LANE));
    assert!(errands(&shop, date(2026, 6, 6)).contains(&gap));
}

#[test]
fn a_day_says_what_one_alone_cost_and_whether_it_sold_out() {
    let mut shop = with_bundle(shop());
    take(&mut shop, 4, 5);
    for (token, count) in [("a", 1), ("b", 3)] {
        let wish = tap(token, &[(FIG, count)], Payment::Cash);
        shop.note(decide::sell(&shop.workshop, &wish, shop.day));
    }
    // A day that is not over tells nothing yet.
    assert!(days_sold(&shop.workshop).is_empty());
    let wish = BackWish {
        back: vec![Counted::of(FIG, 0), Counted::of(MINT, 5)],
        ..BackWish::default()
    };
    shop.note(decide::count_back(&shop.workshop, LANE, &wish));
    let days = days_sold(&shop.workshop);
    let [fig, mint] = &days[..] else {
        panic!("{days:?}")
    };
    assert_eq!((fig.product, fig.price), (FIG, usd(700)));
    assert_eq!((fig.sold, fig.for_less, fig.sold_out), (4, 3, true));
    // None was sold: it costs what it does now, and it was there to be had.
    assert_eq!((mint.product, mint.price), (MINT, usd(500)));
    assert_eq!((mint.sold, mint.sold_out), (0, false));
    // 0.0625 ÷ 1.0625 of tax and 2.6 % of card fee.
    let stall = shop.workshop.trade().channel(STALL).unwrap();
    let off = share_off(&shop.workshop, stall);
    assert_eq!(off.to_string(), "8.482353 %");
    assert_eq!(goods_alike(&shop.workshop, FIG), [FIG, MINT]);
}

#[test]
fn tax_on_top_of_a_price_is_no_part_of_it() {
    let mut shop = shop();
    let tax = SalesTax {
        name: "sales tax".to_owned(),
        rate: percent("8.25 %"),
        inside: false,
        number: String::new(),
    };
    let books = BookSettings {
        tax: Some(tax),
        year_month: 1,
        year_day: 1,
        ..BookSettings::default()
    };
    shop.note(decide::settle_books(&shop.workshop, books));
    let wish = tap("a", &[(FIG, 1), (MINT, 3)], Payment::Cash);
    shop.note(decide::sell(&shop.workshop, &wish, shop.day));
    // 22.00 and 1.815 of tax, shared over the lines.
    assert_eq!(shop.sale(1).paid(), usd(2382));
    let days = days_sold(&shop.workshop);
    let prices: Vec<_> = days.iter().map(|day| (day.product, day.price)).collect();
    assert_eq!(prices, [(FIG, usd(700)), (MINT, usd(500))]);
    // The fee is taken on what the buyer pays: 2.6 % × 1.0825.
    let stall = shop.workshop.trade().channel(STALL).unwrap();
    let off = share_off(&shop.workshop, stall);
    assert_eq!(off.to_string(), "2.8145 %");
}
