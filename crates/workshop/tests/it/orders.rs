//! Buyers, orders, shops and invoices: what may be done when, and that no unit
//! and no cent gets lost on the way.

use std::collections::BTreeMap;

use jiff::civil::date;
use measure::{Currency, Money, System};
use proptest::prelude::*;
use workshop::decide::{self, CreditWish, Decision, OrderWish, PickWish, SendWish, ShopWish};
use workshop::facts::{
    BookSettings, BooksSettled, BuyerId, BuyerTerms, ChannelId, ChannelKind, ChannelSettled,
    ChannelTerms, Dated, FormulaId, Grade, InvoiceId, LotHeld, LotReleased, MouldId, OrderId,
    Payment, Place, PourFinished, PourId, PourStarted, Poured, PriceSet, ProductDefined, ProductId,
    ReturnTo, SalesTax, ShelfLifeSet, Units,
};
use workshop::{
    Errand, Item, OrderStage, Refusal, Spot, Workshop, accounts, at_shop, buyers_to_invoice,
    for_sale, owed_by, pick_for, stock_state, to_invoice, with_tax,
};

use crate::book::{Book, Mould, percent};

const FIG: ProductId = ProductId(1);
const LOFT: ProductId = ProductId(2);
const TRADE: ChannelId = ChannelId(1);
const ON_RETURN: ChannelId = ChannelId(2);
const QUAY: BuyerId = BuyerId(1);
const LANE: BuyerId = BuyerId(2);

fn usd(minor: i64) -> Money {
    Money::from_minor(minor, Currency::USD)
}

fn tax(rate: &str, inside: bool) -> SalesTax {
    SalesTax {
        name: "sales tax".to_owned(),
        rate: percent(rate),
        inside,
        number: String::new(),
    }
}

fn terms(channel: ChannelId) -> BuyerTerms {
    BuyerTerms {
        channel,
        resells: true,
        country: "US".to_owned(),
        discount: None,
        days_to_pay: None,
        untaxed: false,
    }
}

/// Two goods at 12.00, a shop that buys at half of that and pays in 30 days,
/// and one that keeps 35 % of what it sells.
fn shop_book(tax: Option<SalesTax>) -> Book {
    let mut book = Book::new(System::Us, "0.1 oz", None, Mould::bare(12));
    for (product, name) in [(FIG, "Harbour Fig"), (LOFT, "Rainy Loft")] {
        book.fact(Ok(vec![
            ProductDefined {
                product,
                name: name.to_owned(),
                formula: FormulaId(1),
                mould: MouldId(1),
                packing: vec![],
            }
            .into(),
            PriceSet {
                product,
                low: usd(1100),
                typical: usd(1200),
                high: usd(1300),
            }
            .into(),
        ]));
    }
    let channel = |channel, name: &str, kind, terms| ChannelSettled {
        channel,
        name: name.to_owned(),
        kind,
        terms,
        closed: false,
    };
    let trade = ChannelTerms {
        discount: Some(percent("50 %")),
        days_to_pay: Some(30),
        ..ChannelTerms::default()
    };
    let shared = ChannelTerms {
        share: Some(percent("65 %")),
        ..ChannelTerms::default()
    };
    book.fact(Ok(vec![
        channel(TRADE, "trade", ChannelKind::Wholesale, trade).into(),
        channel(ON_RETURN, "on return", ChannelKind::SaleOrReturn, shared).into(),
        BooksSettled {
            settings: BookSettings {
                tax,
                year_month: 1,
                year_day: 1,
                ..BookSettings::default()
            },
        }
        .into(),
    ]));
    book.fact(decide::settle_buyer(&book.workshop, None, terms(TRADE)));
    book.fact(decide::settle_buyer(&book.workshop, None, terms(ON_RETURN)));
    book
}

/// A finished lot of a good, poured on the book's day; it cures ten days.
fn lot(book: &mut Book, product: ProductId, good: u32) -> PourId {
    let pour = book.workshop.next_pour();
    book.fact(Ok(vec![
        PourStarted {
            pour,
            lot: format!("L{pour}"),
            formula: FormulaId(1),
            revision: 1,
            mould: Some(MouldId(1)),
            product: Some(product),
            wanted: good,
            portions: vec![],
        }
        .into(),
        Poured {
            pour,
            wax_at: None,
            room_at: None,
        }
        .into(),
        PourFinished {
            pour,
            good,
            seconds: 0,
            rejects: 0,
            minutes: None,
        }
        .into(),
    ]));
    pour
}

fn wish(buyer: BuyerId, lines: &[(ProductId, u32)], on_return: bool) -> OrderWish {
    OrderWish {
        buyer,
        lines: lines
            .iter()
            .map(|(product, count)| (*product, *count, None))
            .collect(),
        due: None,
        on_return,
        note: String::new(),
    }
}

fn take(book: &mut Book, wish: OrderWish) -> OrderId {
    let order = book.workshop.trade().next_order();
    book.fact(decide::take_order(&book.workshop, book.day, None, wish));
    order
}

fn pick(book: &mut Book, order: OrderId, asked: &[PickWish]) {
    book.fact(decide::pick_order(&book.workshop, book.day, order, asked));
}

const SEND: SendWish = SendWish {
    postage: None,
    charged: None,
    payment: Payment::Owed,
};

fn deliver(book: &mut Book, order: OrderId) {
    pick(book, order, &[]);
    book.fact(decide::pack_order(&book.workshop, order, 1, None));
    book.fact(decide::send_order(&book.workshop, order, SEND));
}

#[track_caller]
fn refused(decision: Decision) -> String {
    match decision {
        Err(refusal) => refusal.to_string(),
        Ok(facts) => panic!("should be refused: {facts:?}"),
    }
}

fn of(lot: PourId, product: ProductId, count: u32) -> Units {
    Units {
        product,
        lot: Some(lot),
        grade: Grade::Good,
        count,
    }
}

#[test]
fn the_earliest_best_by_goes_first_and_held_and_curing_lots_stay() {
    let mut book = shop_book(None);
    let shelf_life = ShelfLifeSet {
        product: FIG,
        months: Some(12),
    };
    book.fact(Ok(vec![shelf_life.into()]));
    let old = lot(&mut book, FIG, 10);
    book.wait(1);
    let held = lot(&mut book, FIG, 50);
    let reason = "frosted".to_owned();
    book.fact(Ok(vec![LotHeld { pour: held, reason }.into()]));
    book.wait(1);
    let newer = lot(&mut book, FIG, 10);
    book.wait(10);
    let curing = lot(&mut book, FIG, 30);
    let lots = for_sale(&book.workshop, FIG, book.day);
    let found: Vec<_> = lots.iter().map(|lot| (lot.lot, lot.count)).collect();
    assert_eq!(found, [(old, 10), (newer, 10)]);
    assert_eq!(lots[0].best_by, Some(date(2027, 9, 1)));

    let order = take(&mut book, wish(QUAY, &[(FIG, 24)], false));
    let short = decide::pick_order(&book.workshop, book.day, order, &[]);
    assert_eq!(
        refused(short),
        "count-1: \"24\": 20 of Harbour Fig may be sold now; \
         pick the 20 there are, or wait for more"
    );
    let known = book.workshop.trade().order(order).unwrap();
    let proposed = pick_for(&book.workshop, known, book.day);
    assert_eq!(proposed.units, [of(old, FIG, 10), of(newer, FIG, 10)]);
    assert_eq!(proposed.short, [(FIG, 24, 20)]);
    let ask = |lot, count| PickWish {
        product: FIG,
        lot,
        count,
    };
    for (asked, said) in [
        (ask(Some(held), 1), "lot L2 is held"),
        (ask(Some(curing), 1), "lot L4 still cures"),
        (ask(Some(old), 11), "10 of lot L1 are on the rack"),
        (ask(Some(PourId(99)), 1), "there is no lot 99"),
        (ask(None, 25), "24 more of Harbour Fig are wanted"),
    ] {
        let why = refused(decide::pick_order(
            &book.workshop,
            book.day,
            order,
            &[asked],
        ));
        assert!(why.contains(said), "{why}");
    }
    pick(&mut book, order, &[ask(None, 14)]);
    let packed = Place::Packed(order);
    let held_there = |lot| {
        book.workshop
            .goods()
            .held(packed, Item::Lot(lot, Grade::Good))
    };
    assert_eq!((held_there(old), held_there(newer)), (10, 4));
    let state = stock_state(&book.workshop, FIG, book.day).unwrap();
    assert_eq!((state.have, state.ready), (100, 20));
    assert_eq!((state.promised, state.free), (24, -4));
}

#[test]
fn an_order_goes_through_its_life_in_turn() {
    let mut book = shop_book(None);
    lot(&mut book, FIG, 30);
    book.wait(10);
    let order = take(&mut book, wish(QUAY, &[(FIG, 24)], false));
    let w = |book: &Book| book.workshop.clone();
    assert_eq!(
        refused(decide::pack_order(&w(&book), order, 1, None)),
        "order 1 is taken; pick it first"
    );
    assert_eq!(
        refused(decide::send_order(&w(&book), order, SEND)),
        "order 1 is taken; pick it first"
    );
    book.fact(decide::confirm_order(&book.workshop, order));
    assert_eq!(decide::confirm_order(&book.workshop, order), Ok(vec![]));
    pick(&mut book, order, &[]);
    assert!(refused(decide::pick_order(&w(&book), book.day, order, &[])).contains("pack it"));
    let change = wish(QUAY, &[(FIG, 12)], false);
    assert_eq!(
        refused(decide::take_order(&w(&book), book.day, Some(order), change)),
        "order 1 is picked; call it off and write a new one"
    );
    book.fact(decide::pack_order(&book.workshop, order, 2, None));
    book.fact(decide::send_order(&book.workshop, order, SEND));
    let trade = book.workshop.trade();
    assert_eq!(trade.order(order).unwrap().stage, OrderStage::Sent);
    let sale = &trade.sales()[0];
    // 24 at half of 12.00.
    assert_eq!((sale.paid(), sale.n_units()), (usd(14_400), 24));
    assert_eq!(
        refused(decide::cancel_order(&w(&book), order, "late")),
        "order 1 is sent; write a credit note, or count the shop"
    );
    let state = stock_state(&book.workshop, FIG, book.day).unwrap();
    assert_eq!((state.have, state.promised, state.free), (6, 0, 6));

    let called_off = take(&mut book, wish(QUAY, &[(FIG, 6)], false));
    pick(&mut book, called_off, &[]);
    assert!(refused(decide::cancel_order(&w(&book), called_off, " ")).contains("reason"));
    book.fact(decide::cancel_order(
        &book.workshop,
        called_off,
        "shop closed",
    ));
    let state = stock_state(&book.workshop, FIG, book.day).unwrap();
    assert_eq!((state.have, state.promised, state.free), (6, 0, 6));
}

#[test]
fn today_names_orders_to_send_invoices_overdue_and_shops_to_count() {
    let mut book = shop_book(None);
    lot(&mut book, FIG, 30);
    book.wait(10);
    let is_named =
        |book: &Book, errand: &Errand| workshop::errands(&book.workshop, book.day).contains(errand);
    let wanted = OrderWish {
        due: Some(workshop::day_after(book.day, 2)),
        ..wish(QUAY, &[(FIG, 6)], false)
    };
    let order = take(&mut book, wanted);
    let send = Errand::Send(order);
    book.wait(1);
    assert!(!is_named(&book, &send));
    book.wait(1);
    assert!(is_named(&book, &send));
    deliver(&mut book, order);
    assert!(!is_named(&book, &send));

    book.fact(decide::write_invoice(&book.workshop, book.day, QUAY, &[]));
    let lent = take(&mut book, wish(LANE, &[(FIG, 6)], true));
    deliver(&mut book, lent);
    // Six at half of 12.00, to be paid in 30 days.
    let overdue = Errand::Overdue(InvoiceId(1), usd(3_600));
    let count = Errand::CountShop(LANE, book.day);
    book.wait(30);
    assert!(!is_named(&book, &overdue));
    book.wait(1);
    assert!(is_named(&book, &overdue));
    book.wait(13);
    assert!(!is_named(&book, &count));
    book.wait(1);
    assert!(is_named(&book, &count));
    let paid = decide::pay_invoice(&book.workshop, InvoiceId(1), None, Payment::Transfer);
    book.fact(paid);
    assert!(!is_named(&book, &overdue));
}

#[test]
fn the_tax_is_reckoned_once_and_shared_over_lines_and_postage() {
    for (inside, paid, tax_in, first, postage) in [
        // On top: 7 × 6.00 + 5 × 6.00 + 4.50 = 76.50; 6.25 % is 4.78125, so 4.78,
        // of which the first line bears 2.62, the second 1.88, the postage 0.28.
        (false, 8_128, 478, 4_462, 478),
        // Inside: 76.50 × 0.0625 ÷ 1.0625 = 4.50.
        (true, 7_650, 450, 4_200, 450),
    ] {
        let mut book = shop_book(Some(tax("6.25 %", inside)));
        lot(&mut book, FIG, 7);
        lot(&mut book, LOFT, 5);
        book.wait(10);
        let order = take(&mut book, wish(QUAY, &[(FIG, 7), (LOFT, 5)], false));
        pick(&mut book, order, &[]);
        book.fact(decide::pack_order(&book.workshop, order, 1, None));
        let send = SendWish {
            charged: Some(usd(450)),
            ..SEND
        };
        book.fact(decide::send_order(&book.workshop, order, send));
        let sale = &book.workshop.trade().sales()[0];
        assert_eq!((sale.paid(), sale.tax), (usd(paid), usd(tax_in)));
        assert_eq!(sale.lines[0].paid, usd(first));
        assert_eq!(sale.postage, Some(usd(postage)));
    }
}

/// 31 at 7.00 with 6.25 % inside is 12.76 of tax; 217.00 × 0.0625 ÷ 1.0625 =
/// 12.7647.
#[test]
fn tax_inside_and_on_top_are_half_even() {
    let check = |minor, rate: &str, inside, paid, tax_in| {
        let found = with_tax(usd(minor), Some(&tax(rate, inside)));
        assert_eq!(found, (usd(paid), usd(tax_in)));
    };
    check(21_700, "6.25 %", true, 21_700, 1_276);
    // 2.00 × 6.25 % = 0.125, and 6.00 × 6.25 % = 0.375.
    check(200, "6.25 %", false, 212, 12);
    check(600, "6.25 %", false, 638, 38);
    // 1.20 × 0.2 ÷ 1.2 = 0.20 exactly, where 0.2 ÷ 1.2 alone never ends.
    check(120, "20 %", true, 120, 20);
    assert_eq!(with_tax(usd(500), None), (usd(500), usd(0)));
}

#[test]
fn a_buyer_that_is_not_taxed_pays_none() {
    let mut book = shop_book(Some(tax("6.25 %", false)));
    let free = BuyerTerms {
        untaxed: true,
        ..terms(TRADE)
    };
    book.fact(decide::settle_buyer(&book.workshop, Some(QUAY), free));
    lot(&mut book, FIG, 24);
    book.wait(10);
    let order = take(&mut book, wish(QUAY, &[(FIG, 24)], false));
    deliver(&mut book, order);
    let sale = &book.workshop.trade().sales()[0];
    assert_eq!((sale.paid(), sale.tax), (usd(14_400), usd(0)));
}

#[test]
fn goods_on_return_are_the_makers_until_the_shop_has_sold_them() {
    let mut book = shop_book(None);
    let first = lot(&mut book, FIG, 10);
    book.wait(1);
    let second = lot(&mut book, FIG, 14);
    book.wait(10);
    let order = take(&mut book, wish(LANE, &[(FIG, 24)], true));
    deliver(&mut book, order);
    assert!(book.workshop.trade().sales().is_empty());
    let there = at_shop(&book.workshop, LANE);
    assert_eq!(there.len(), 1);
    // 65 % of 12.00 is kept.
    assert_eq!((there[0].count, there[0].each), (24, Some(usd(780))));
    assert_eq!(there[0].since, Some(book.day));
    let found = |there, sold, back, spoilt| ShopWish {
        product: FIG,
        there,
        sold,
        back,
        spoilt,
        missing: 0,
        each: None,
    };
    for (wrong, said) in [
        (found(Some(20), None, 4, 1), "that makes 25"),
        (found(Some(4), Some(17), 1, 1), "so 18 are gone"),
        (found(None, None, 20, 5), "24 of Harbour Fig stood there"),
    ] {
        let why = refused(decide::count_shop(&book.workshop, LANE, &[wrong]));
        assert!(why.contains(said), "{why}");
    }
    let count = found(Some(4), None, 2, 1);
    book.fact(decide::count_shop(&book.workshop, LANE, &[count]));
    let sale = &book.workshop.trade().sales()[0];
    assert_eq!((sale.n_units(), sale.paid()), (17, usd(17 * 780)));
    assert_eq!(
        sale.lines[0].units,
        [of(first, FIG, 10), of(second, FIG, 7)]
    );
    assert_eq!(at_shop(&book.workshop, LANE)[0].count, 4);
    assert_eq!(
        refused(decide::forget_buyer(&book.workshop, LANE)),
        "buyer: \"2\": goods stand there; count them first\n\
         buyer: \"2\": something is sold and not invoiced; \
         write the invoice first"
    );
    // More sold than stood there has happened: the rest is of no known lot.
    let more = found(None, Some(6), 0, 0);
    book.fact(decide::count_shop(&book.workshop, LANE, &[more]));
    let goods = book.workshop.goods();
    assert_eq!(goods.held(Place::Shop(LANE), Item::Unknown(FIG)), -2);
    let (made, held, out) = goods.totals();
    assert_eq!(made, held + out);
}

#[test]
fn invoices_are_numbered_with_credit_notes_and_end_at_nothing_owed() {
    let mut book = shop_book(Some(tax("6.25 %", false)));
    lot(&mut book, FIG, 48);
    book.wait(10);
    for _ in 0..2 {
        let order = take(&mut book, wish(QUAY, &[(FIG, 24)], false));
        deliver(&mut book, order);
    }
    let trade = book.workshop.trade();
    assert_eq!(to_invoice(trade, QUAY).len(), 2);
    // Twice 144.00 and 9.00 of tax.
    assert_eq!(buyers_to_invoice(trade)[&QUAY], usd(30_600));
    book.fact(decide::write_invoice(&book.workshop, book.day, QUAY, &[]));
    let invoice = book.workshop.trade().invoices()[0].clone();
    assert_eq!((invoice.total, invoice.tax), (usd(30_600), usd(1_800)));
    assert_eq!(invoice.due, Some(workshop::day_after(book.day, 30)));
    let again = decide::write_invoice(&book.workshop, book.day, QUAY, &[]);
    assert!(refused(again).contains("there is nothing to invoice"));

    let order = take(&mut book, wish(QUAY, &[(FIG, 1)], false));
    let sale = book.workshop.trade().sales()[0].clone();
    let credit = CreditWish {
        total: Some(usd(5_100)),
        goods: vec![(sale.id, vec![of(PourId(1), FIG, 8)])],
        to: ReturnTo::Rack,
        given_back: None,
        reason: "eight dented".to_owned(),
    };
    book.fact(decide::credit_invoice(&book.workshop, invoice.id, &credit));
    let note = book.workshop.trade().invoices()[1].clone();
    assert_eq!((note.id, note.tax), (InvoiceId(2), usd(300)));
    deliver(&mut book, order);
    book.fact(decide::write_invoice(&book.workshop, book.day, QUAY, &[]));
    let third = book.workshop.trade().invoices()[2].clone();
    // 6.00 and 0.375 of tax, half-even.
    assert_eq!((third.id, third.total), (InvoiceId(3), usd(638)));

    let pay = |book: &Book, amount| {
        let amount = Some(usd(amount));
        decide::pay_invoice(&book.workshop, invoice.id, amount, Payment::Transfer)
    };
    assert!(refused(pay(&book, 25_501)).contains("255.00 USD is owed"));
    assert!(refused(pay(&book, 0)).contains("nothing came in"));
    book.fact(pay(&book, 20_000));
    assert_eq!(owed_by(book.workshop.trade(), QUAY), Some(usd(6_138)));
    let rest = CreditWish {
        total: None,
        goods: vec![],
        to: ReturnTo::Kept,
        given_back: None,
        reason: "goodwill".to_owned(),
    };
    book.fact(decide::credit_invoice(&book.workshop, invoice.id, &rest));
    let all = accounts(book.workshop.trade());
    assert_eq!(all[&invoice.id].owed, usd(0));
    assert!(refused(pay(&book, 1)).contains("it is paid"));
    // What was paid already is given back, and what is left of it no further.
    let paid = |total, given_back| CreditWish {
        total: Some(usd(total)),
        goods: vec![],
        to: ReturnTo::Kept,
        given_back,
        reason: "cracked in the post".to_owned(),
    };
    let credit = |book: &Book, wish| decide::credit_invoice(&book.workshop, invoice.id, &wish);
    assert!(refused(credit(&book, paid(1_000, None))).contains("10.00 USD of it was paid already"));
    let too_much = paid(20_001, Some(Payment::Transfer));
    assert!(refused(credit(&book, too_much)).contains("at most 200.00 USD"));
    book.fact(credit(&book, paid(1_000, Some(Payment::Transfer))));
    let account = accounts(book.workshop.trade())[&invoice.id];
    assert_eq!((account.paid, account.owed), (usd(19_000), usd(0)));
    let note = book.workshop.trade().invoices().last().unwrap();
    assert_eq!(note.given_back, Some((usd(1_000), Payment::Transfer)));
    assert_eq!(account.credited, usd(11_600));
    let on_note = decide::credit_invoice(&book.workshop, InvoiceId(2), &rest);
    assert!(refused(on_note).contains("credit note itself"));
}

#[test]
fn a_credit_note_takes_off_what_came_back_cost() {
    let mut book = shop_book(Some(tax("6.25 %", false)));
    lot(&mut book, FIG, 48);
    book.wait(10);
    let order = take(&mut book, wish(QUAY, &[(FIG, 24)], false));
    deliver(&mut book, order);
    book.fact(decide::write_invoice(&book.workshop, book.day, QUAY, &[]));
    let invoice = book.workshop.trade().invoices()[0].clone();
    let sale = invoice.sales[0];
    let back = |count| CreditWish {
        total: None,
        goods: vec![(sale, vec![of(PourId(1), FIG, count)])],
        to: ReturnTo::Spoilt,
        given_back: Some(Payment::Transfer),
        reason: "cracked".to_owned(),
    };
    let credit = |book: &Book, wish| decide::credit_invoice(&book.workshop, invoice.id, &wish);
    // 144.00 and 9.00 of tax: 6.375 each, half-even, and 0.375 of tax in it.
    book.fact(credit(&book, back(1)));
    let note = book.workshop.trade().invoices()[1].clone();
    assert_eq!((note.total, note.tax), (usd(638), usd(38)));
    let with = workshop::came_back_with(book.workshop.trade(), &note);
    assert_eq!(with.len(), 1);
    assert_eq!((with[0].to, with[0].units[0].count), (ReturnTo::Spoilt, 1));
    // Nothing was paid, so nothing is given back for it.
    let account = accounts(book.workshop.trade())[&invoice.id];
    assert_eq!((account.paid, account.owed), (usd(0), usd(14_662)));
    // Never more than is left: of the last 23 at 146.625, 146.62.
    book.fact(credit(&book, back(23)));
    let account = accounts(book.workshop.trade())[&invoice.id];
    assert_eq!((account.owed, account.credited_tax), (usd(0), usd(900)));
}

#[test]
fn what_a_channel_asks_has_its_discount_off_already() {
    let mut book = shop_book(None);
    let price = Some(usd(550));
    book.fact(decide::set_channel_price(&book.workshop, TRADE, FIG, price));
    let buyer = book.workshop.trade().buyer(QUAY).unwrap();
    let for_quay = |product| workshop::price_for(&book.workshop, buyer, product);
    // Half of 12.00 for what the channel has no price of its own for.
    assert_eq!((for_quay(FIG), for_quay(LOFT)), (price, Some(usd(600))));
}

#[test]
fn a_sale_that_left_with_an_order_is_not_taken_back() {
    let mut book = shop_book(None);
    lot(&mut book, FIG, 24);
    book.wait(10);
    let order = take(&mut book, wish(QUAY, &[(FIG, 24)], false));
    deliver(&mut book, order);
    let sale = book.workshop.trade().sales()[0].id;
    let why = refused(decide::void_sale(&book.workshop, sale, "never was"));
    assert!(why.contains("it left with order 1"), "{why}");
    // What stands on an invoice is given back by a credit note, and so once.
    let give = |book: &Book| {
        let money = usd(100);
        decide::return_goods(&book.workshop, sale, &[], money, ReturnTo::Kept, "dented")
    };
    book.fact(decide::write_invoice(&book.workshop, book.day, QUAY, &[]));
    let why = refused(give(&book));
    assert!(why.contains("it stands on invoice 1"), "{why}");
    let paid = decide::pay_invoice(&book.workshop, InvoiceId(1), None, Payment::Transfer);
    book.fact(paid);
    let why = refused(give(&book));
    assert!(why.contains("it stands on invoice 1"), "{why}");
}

#[test]
fn who_a_buyer_is_can_be_forgotten_once_nothing_is_open() {
    let mut book = shop_book(None);
    lot(&mut book, FIG, 24);
    book.wait(10);
    let order = take(&mut book, wish(QUAY, &[(FIG, 24)], false));
    assert!(refused(decide::forget_buyer(&book.workshop, QUAY)).contains("order 1 is open"));
    deliver(&mut book, order);
    book.fact(decide::write_invoice(&book.workshop, book.day, QUAY, &[]));
    assert!(refused(decide::forget_buyer(&book.workshop, QUAY)).contains("invoice 1 is not paid"));
    let all = decide::pay_invoice(&book.workshop, InvoiceId(1), None, Payment::Transfer);
    book.fact(all);
    book.fact(decide::forget_buyer(&book.workshop, QUAY));
    assert_eq!(decide::forget_buyer(&book.workshop, QUAY), Ok(vec![]));
    let again = wish(QUAY, &[(FIG, 1)], false);
    let again = decide::take_order(&book.workshop, book.day, None, again);
    assert!(refused(again).contains("forgotten for good"));
    let terms = decide::settle_buyer(&book.workshop, Some(QUAY), terms(ON_RETURN));
    assert!(refused(terms).contains("forgotten for good"));
    assert_eq!(book.workshop.trade().sales()[0].buyer, Some(QUAY));
}

#[test]
fn every_problem_of_a_wish_is_said_together() {
    let book = shop_book(None);
    let bad = BuyerTerms {
        channel: ChannelId(9),
        resells: false,
        country: "Atlantis".to_owned(),
        discount: None,
        days_to_pay: Some(900),
        untaxed: false,
    };
    let why = refused(decide::settle_buyer(&book.workshop, None, bad));
    for said in ["no such channel", "two letters", "more than a year"] {
        assert!(why.contains(said), "{why}");
    }
    let euros = Money::from_minor(100, Currency::EUR);
    let order = OrderWish {
        buyer: QUAY,
        lines: vec![
            (FIG, 0, Some(euros)),
            (FIG, 3, Some(usd(-5))),
            (ProductId(9), 1, None),
        ],
        due: Some(date(2020, 1, 1)),
        on_return: false,
        note: "a\u{7}b".to_owned(),
    };
    let why = refused(decide::take_order(&book.workshop, book.day, None, order));
    for said in [
        "nobody orders that many",
        "another currency",
        "stands twice",
        "below nothing",
        "no such good",
        "that day is over",
        "control character",
    ] {
        assert!(why.contains(said), "{said}: {why}");
    }
    let unknown = decide::confirm_order(&book.workshop, OrderId(1));
    assert!(matches!(
        unknown,
        Err(Refusal::Unknown { what: "order", .. })
    ));
}

type Wish = (u8, u32, u32, u32);

/// Does what a wish says, if it may be; the decision has seen the same state.
fn try_wish(book: &mut Book, (kind, a, b, c): Wish) {
    let w = &book.workshop;
    let product = ProductId(1 + a % 2);
    let buyer = BuyerId(1 + b % 3);
    let n_orders = u32::try_from(w.trade().orders().count()).unwrap();
    let order = OrderId(1 + a % (n_orders + 1));
    let n_invoices = u32::try_from(w.trade().invoices().len()).unwrap();
    let invoice = InvoiceId(1 + a % (n_invoices + 1));
    let decided: Decision = match kind % 15 {
        0 | 1 => {
            lot(book, product, 1 + c % 30);
            return;
        }
        2 => {
            book.wait(i32::try_from(c % 12).unwrap());
            return;
        }
        3 => {
            let held = PourId(1 + a % (w.next_pour().0));
            let reason = String::from("smell");
            Ok(vec![if c % 2 == 0 {
                LotHeld { pour: held, reason }.into()
            } else {
                LotReleased { pour: held, reason }.into()
            }])
        }
        4 | 5 => {
            let mut lines = vec![(product, c % 40, None)];
            if c % 3 == 0 {
                lines.push((
                    ProductId(3 - product.0),
                    1 + c % 7,
                    Some(usd(i64::from(b % 900))),
                ));
            }
            let wish = OrderWish {
                buyer,
                lines,
                due: None,
                on_return: buyer == LANE && c % 5 > 0,
                note: String::new(),
            };
            let which = (b % 4 == 0).then_some(order);
            decide::take_order(w, book.day, which, wish)
        }
        6 => decide::confirm_order(w, order),
        7 => decide::pick_order(w, book.day, order, &[]),
        8 => {
            let ask = |lot: Option<PourId>, count| PickWish {
                product,
                lot,
                count,
            };
            let one = ask((c % 2 == 0).then_some(PourId(1 + b % 9)), 1 + c % 9);
            let asked = [one, ask(None, b % 5), one];
            decide::pick_order(w, book.day, order, &asked[..=((b % 3) as usize)])
        }
        9 => decide::pack_order(w, order, 1 + c % 3, None),
        10 => {
            let wish = SendWish {
                postage: Some(usd(i64::from(c % 500))),
                charged: (b % 3 == 0).then(|| usd(i64::from(c % 700))),
                payment: if c % 7 == 0 {
                    Payment::Card
                } else {
                    Payment::Owed
                },
            };
            decide::send_order(w, order, wish)
        }
        11 => decide::cancel_order(w, order, "no"),
        12 => {
            let wish = ShopWish {
                product,
                there: (b % 2 == 0).then_some(c % 20),
                sold: (b % 3 == 0).then_some(c % 11),
                back: c % 3,
                spoilt: b % 2,
                missing: c % 2,
                each: None,
            };
            decide::count_shop(w, buyer, &[wish])
        }
        13 => {
            if c % 3 == 0 {
                decide::write_invoice(w, book.day, buyer, &[])
            } else {
                let amount = (c % 2 == 0).then(|| usd(i64::from(b % 20_000)));
                decide::pay_invoice(w, invoice, amount, Payment::Transfer)
            }
        }
        _ => {
            let on_it = w.trade().invoice(invoice);
            let sale = on_it.and_then(|invoice| w.trade().sale(*invoice.sales.first()?));
            let goods = sale.filter(|_| c % 2 == 0).map(|sale| {
                let mut units = sale.left();
                units.truncate(1);
                (sale.id, units)
            });
            let to = [ReturnTo::Rack, ReturnTo::Spoilt, ReturnTo::Kept];
            let wish = CreditWish {
                total: (b % 4 > 0).then(|| usd(i64::from(b % 9_000))),
                goods: goods.into_iter().collect(),
                to: to[(b % 3) as usize],
                given_back: (c % 3 > 0).then_some(Payment::Transfer),
                reason: "dented".to_owned(),
            };
            decide::credit_invoice(w, invoice, &wish)
        }
    };
    if let Ok(facts) = decided {
        let day = book.day;
        for fact in facts {
            book.workshop.apply(&Dated { day, fact });
        }
    }
}

/// What has to hold whatever was wished for.
fn check(workshop: &Workshop) {
    let (made, held, out) = workshop.goods().totals();
    assert_eq!(made, held + out);
    let moved: i64 = workshop
        .goods()
        .movements()
        .iter()
        .filter(|movement| movement.from == Spot::Made)
        .map(|movement| i64::from(movement.count))
        .sum();
    assert_eq!(moved, made);
    let trade = workshop.trade();
    for (place, item, count) in workshop.goods().everywhere() {
        // Only what a shop says it sold may be more than was known there.
        let may_lack = matches!((place, item), (Place::Shop(_), Item::Unknown(_)));
        assert!(count > 0 || may_lack, "{count} of {item:?} at {place:?}");
    }
    let numbers: Vec<u32> = trade.invoices().iter().map(|it| it.id.0).collect();
    let expected: Vec<u32> = (1..).take(numbers.len()).collect();
    assert_eq!(numbers, expected);
    let mut sums: BTreeMap<InvoiceId, (i64, i64)> = BTreeMap::new();
    for (id, account) in accounts(trade) {
        let paid = account.credited.minor() + account.paid.minor();
        let owed = account.invoiced.minor() - paid;
        assert_eq!(account.owed.minor(), owed);
        assert!(owed >= 0);
        sums.insert(id, (account.invoiced.minor(), account.credited_tax.minor()));
    }
    for invoice in trade.invoices().iter().filter(|it| it.credits.is_none()) {
        let sales = invoice.sales.iter().map(|id| trade.sale(*id).unwrap());
        let (total, tax) = sales.fold((0, 0), |(total, tax), sale| {
            assert_eq!(sale.invoice, Some(invoice.id));
            (total + sale.paid().minor(), tax + sale.tax.minor())
        });
        assert_eq!((total, tax), (invoice.total.minor(), invoice.tax.minor()));
        let (_, credited_tax) = sums[&invoice.id];
        assert!((0..=tax).contains(&credited_tax));
    }
    // What is sent and sold is what was ordered, and no more.
    for order in trade.orders() {
        for line in &order.lines {
            let picked = order.picked.iter().filter(|it| it.product == line.product);
            assert!(picked.map(|it| it.count).sum::<u32>() <= line.count);
        }
    }
    let on_invoices: usize = trade.invoices().iter().map(|it| it.sales.len()).sum();
    let invoiced = trade.sales().iter().filter(|it| it.invoice.is_some());
    assert_eq!(on_invoices, invoiced.count());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3_000))]

    #[test]
    fn whatever_is_ordered_goods_and_money_add_up(
        wishes in prop::collection::vec((any::<u8>(), any::<u32>(), any::<u32>(), any::<u32>()), 0..60),
        inside in any::<bool>(),
    ) {
        let mut book = shop_book(Some(tax("6.25 %", inside)));
        lot(&mut book, FIG, 40);
        book.wait(10);
        for wish in wishes {
            try_wish(&mut book, wish);
            check(&book.workshop);
        }
        // Folded anew the same facts say the same; nothing depends on the way.
        let state = stock_state(&book.workshop, FIG, book.day).unwrap();
        prop_assert_eq!(state.free, state.ready - state.promised);
    }
}

#[test]
fn random_wishes_reach_the_ends_of_the_road() {
    // A law about invoices says nothing where none is ever written.
    let mut book = shop_book(None);
    let mut seed = 1_u64;
    let mut next = || {
        seed = seed
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        u32::try_from(seed >> 33).unwrap()
    };
    for _ in 0..4_000 {
        let kind = u8::try_from(next() % 251).unwrap();
        let wish = (kind, next(), next(), next());
        try_wish(&mut book, wish);
    }
    check(&book.workshop);
    let trade = book.workshop.trade();
    let credits = trade.invoices().iter().filter(|it| it.credits.is_some());
    let counts = [
        trade
            .orders()
            .filter(|it| it.stage == OrderStage::Sent)
            .count(),
        trade.sales().len(),
        trade.invoices().len(),
        credits.count(),
    ];
    assert!(counts.iter().all(|count| *count > 10), "{counts:?}");
    let facts: u64 = book.workshop.facts();
    assert!(facts > 500, "{facts}");
}
