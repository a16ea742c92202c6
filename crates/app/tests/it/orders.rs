//! Buyers and their orders, as a form brings them, and who they are.

use std::sync::Arc;

use app::forms::{self, Filled};
use app::offers::{self, Asked};
use app::paper::{self, NoPaper};
use app::people::Person;
use app::{ActError, App, Done, FixedClock, orders};
use jiff::civil::{Date, date};
use journal::{MemoryStore, People, WorkshopId};
use measure::{Money, Ratio, Reading};
use workshop::facts::{
    BookSettings, BooksSettled, BuyerId, ChannelId, ChannelKind, ChannelSettled, ChannelTerms,
    Fact, FormulaId, InvoiceId, MouldId, OrderId, PourFinished, PourId, PourStarted, Poured,
    ProductId, SalesTax,
};
use workshop::{OrderStage, Refusal};

const TODAY: Date = date(2026, 11, 25);
const POURED: Date = date(2026, 10, 1);
const SHOP: BuyerId = BuyerId(1);
const ORDER: OrderId = OrderId(1);

fn id() -> WorkshopId {
    WorkshopId::try_new("orders").unwrap()
}

fn open(store: &Arc<MemoryStore>) -> App {
    App::open(store.clone(), Arc::new(FixedClock(TODAY)), id()).unwrap()
}

fn filled(given: &[(&str, &str)]) -> Filled {
    let owned = |(name, text): &(&str, &str)| ((*name).to_owned(), (*text).to_owned());
    Filled::new(given.iter().map(owned).collect())
}

#[expect(
    clippy::needless_pass_by_value,
    reason = "a list of facts is made where it is written"
)]
fn write(app: &App, facts: Vec<Fact>) {
    app.act_on(POURED, "test", |_, _| Ok(facts.clone()))
        .unwrap();
}

fn ratio(text: &str) -> Ratio {
    Ratio::parse(text, Reading::PLAIN).unwrap()
}

/// Two goods at 12.00, of the first two lots of 20 and 30, of the second 12.
/// Tax of 6.25 % comes on top.
fn shop(store: &Arc<MemoryStore>, comma: bool) -> App {
    let app = open(store);
    let mark = if comma { "comma" } else { "point" };
    let set = [
        ("name", "Quillfen Wax Works"),
        ("system", "metric"),
        ("currency", "EUR"),
        ("decimal_mark", mark),
        ("readability", "1 g"),
    ];
    forms::set_up(&app, "test", &filled(&set)).unwrap();
    let wax = [("kind", "wax"), ("name", "soy wax")];
    forms::define_supply(&app, "test", &filled(&wax)).unwrap();
    let mould = [("name", "bars"), ("format", "snap_bar"), ("cavities", "12")];
    forms::define_mould(&app, "test", &filled(&mould)).unwrap();
    let formula = [
        ("name", "Harbour Fig"),
        ("blend[0].supply", "1"),
        ("blend[0].parts", "100"),
        ("load", "0 % of wax"),
        ("cure_days", "3"),
    ];
    forms::define_formula(&app, "test", &filled(&formula)).unwrap();
    for (n, name) in [(1, "Harbour Fig bar"), (2, "Rainy Loft bar")] {
        let good = [("name", name), ("formula", "1"), ("mould", "1")];
        forms::define_product(&app, "test", &filled(&good)).unwrap();
        let prices = [("low", "11"), ("typical", "12"), ("high", "13")];
        forms::set_prices(&app, "test", ProductId(n), &filled(&prices)).unwrap();
    }
    for (n, product, good) in [(1, 1, 20), (2, 1, 30), (3, 2, 12)] {
        let pour = PourId(n);
        write(
            &app,
            vec![
                PourStarted {
                    pour,
                    lot: format!("L{n}"),
                    formula: FormulaId(1),
                    revision: 1,
                    mould: Some(MouldId(1)),
                    product: Some(ProductId(product)),
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
            ],
        );
    }
    let channel = |channel, name: &str, kind, terms| {
        let name = name.to_owned();
        let closed = false;
        ChannelSettled {
            channel,
            name,
            kind,
            terms,
            closed,
        }
        .into()
    };
    let trade = ChannelTerms {
        discount: Some(ratio("50 %")),
        days_to_pay: Some(30),
        ..ChannelTerms::default()
    };
    let lent = ChannelTerms {
        share: Some(ratio("65 %")),
        ..ChannelTerms::default()
    };
    let tax = SalesTax {
        name: "VAT".to_owned(),
        rate: ratio("6.25 %"),
        inside: false,
        number: "XX 123".to_owned(),
    };
    let settings = BookSettings {
        tax: Some(tax),
        year_month: 1,
        year_day: 1,
        ..BookSettings::default()
    };
    write(
        &app,
        vec![
            channel(ChannelId(1), "trade", ChannelKind::Wholesale, trade),
            channel(ChannelId(2), "on return", ChannelKind::SaleOrReturn, lent),
            BooksSettled { settings }.into(),
        ],
    );
    app
}

const TIDE: [(&str, &str); 6] = [
    ("name", "The Tide Shop"),
    ("channel", "1"),
    ("address", "3 Quay Street\r\nPort Averin"),
    ("email", "tide@example.org"),
    ("country", "gb"),
    ("resells", "yes"),
];

fn buyer(app: &App, given: &[(&str, &str)]) -> Result<Done, ActError> {
    orders::settle_buyer(app, "test", None, &filled(given))
}

#[track_caller]
fn refused(outcome: Result<Done, ActError>) -> String {
    match outcome {
        Err(ActError::Refused(Refusal::Input(problems))) => problems.to_string(),
        Err(ActError::Refused(other)) => other.to_string(),
        other => panic!("should be refused: {other:?}"),
    }
}

/// Everything in the journal, as text.
fn journal_of(store: &Arc<MemoryStore>) -> String {
    let mut bytes = Vec::new();
    journal::jsonl::export(&**store, &id(), &mut bytes).unwrap();
    String::from_utf8(bytes).unwrap()
}

#[test]
fn who_a_buyer_is_never_enters_the_journal_and_can_be_forgotten() {
    let store = Arc::new(MemoryStore::new());
    let app = shop(&store, false);
    buyer(&app, &TIDE).unwrap();
    let everyone = app.everyone().unwrap();
    let person = everyone.get(SHOP).unwrap();
    assert_eq!(person.address, ["3 Quay Street", "Port Averin"]);
    for secret in ["Tide", "Quay", "example.org"] {
        assert!(!journal_of(&store).contains(secret), "{secret}");
    }
    // Another program on the same journal knows it too.
    let other = open(&store);
    assert_eq!(other.person(SHOP).unwrap().as_ref(), Some(person));
    let moved = [("name", "The Tide Shop"), ("channel", "1"), ("address", "")];
    orders::settle_buyer(&app, "test", Some(SHOP), &filled(&moved)).unwrap();
    assert!(other.person(SHOP).unwrap().unwrap().address.is_empty());

    orders::forget_buyer(&other, "test", SHOP).unwrap();
    assert_eq!(app.person(SHOP).unwrap(), None);
    let name = |app: &App| {
        let everyone = app.everyone().unwrap();
        app.look(|workshop| everyone.name(workshop, SHOP)).unwrap()
    };
    assert_eq!(name(&app), "buyer 1, forgotten");
    let again = orders::settle_buyer(&app, "test", Some(SHOP), &filled(&TIDE));
    assert!(refused(again).contains("forgotten for good"));
    assert_eq!(app.person(SHOP).unwrap(), None, "nothing came back");

    // A program that stopped between the fact and the erasing.
    store
        .put(&id(), "buyer 1", r#"{"name":"left over"}"#)
        .unwrap();
    let app = open(&store);
    assert_eq!(store.person(&id(), "buyer 1").unwrap(), None);
    assert_eq!(name(&app), "buyer 1, forgotten");
}

#[test]
fn a_name_is_kept_only_with_a_buyer_and_every_problem_is_said() {
    let store = Arc::new(MemoryStore::new());
    let app = shop(&store, false);
    let long = "x".repeat(300);
    let bad = [
        ("name", ""),
        ("channel", "9"),
        ("country", "England"),
        ("discount", "half"),
        ("days_to_pay", "-3"),
        ("email", long.as_str()),
    ];
    let said = refused(buyer(&app, &bad));
    for wanted in [
        "name",
        "discount",
        "days_to_pay",
        "email",
        "channel",
        "country",
    ] {
        assert!(said.contains(wanted), "{wanted}: {said}");
    }
    assert_eq!(store.people(&id()).unwrap(), []);
    // Kept by a newer program in a way this one does not read.
    buyer(&app, &TIDE).unwrap();
    store.put(&id(), "buyer 1", "[1, 2]").unwrap();
    store.put(&id(), "someone else", "{}").unwrap();
    assert_eq!(app.person(SHOP).unwrap(), None);
    assert_eq!(app.everyone().unwrap().get(SHOP), None);
    store
        .put(&id(), "buyer 1", r#"{"name":"T","shoe":44}"#)
        .unwrap();
    let person = app.person(SHOP).unwrap().unwrap();
    assert_eq!(
        person,
        Person {
            name: "T".to_owned(),
            ..Person::default()
        }
    );
}

#[test]
fn an_order_goes_from_its_form_to_the_last_cent() {
    for comma in [false, true] {
        let store = Arc::new(MemoryStore::new());
        let app = shop(&store, comma);
        buyer(&app, &TIDE).unwrap();
        let each = if comma { "5,50" } else { "5.50" };
        let order = [
            ("buyer", "1"),
            ("count-1", "24"),
            ("each-1", ""),
            ("count-2", "10"),
            ("each-2", each),
            ("due", "2026-12-01"),
            ("note", "by the back door"),
        ];
        orders::take_order(&app, "test", None, &filled(&order)).unwrap();
        let wrong = [("buyer", "1"), ("count-1", "many"), ("due", "soon")];
        let said = refused(orders::take_order(&app, "test", None, &filled(&wrong)));
        assert!(said.contains("count-1") && said.contains("due"), "{said}");
        orders::confirm_order(&app, "test", ORDER).unwrap();
        let picks = [("lot-1", "20"), ("lot-2", "4"), ("lot-3", "10")];
        orders::pick_order(&app, "test", ORDER, &filled(&picks)).unwrap();
        let packed = [("parcels", "2"), ("weight", "3 kg")];
        orders::pack_order(&app, "test", ORDER, &filled(&packed)).unwrap();
        let charged = if comma { "4,50" } else { "4.50" };
        let sent = [
            ("on", "2026-11-24"),
            ("charged", charged),
            ("payment", "owed"),
        ];
        orders::send_order(&app, "test", ORDER, &filled(&sent)).unwrap();
        let write = [("on", "2026-11-24")];
        orders::write_invoice(&app, "test", SHOP, &filled(&write)).unwrap();
        let (total, tax, due) = app
            .look(|workshop| {
                let invoice = &workshop.trade().invoices()[0];
                (invoice.total, invoice.tax, invoice.due)
            })
            .unwrap();
        // 24 × 6.00 + 10 × 5.50 + 4.50 = 203.50; 6.25 % of it is 12.71875.
        assert_eq!((total.minor(), tax.minor()), (21_622, 1_272));
        assert_eq!(due, Some(date(2026, 12, 24)));
        let part = if comma { "100,00" } else { "100.00" };
        let paid = [("amount", part), ("payment", "transfer"), ("on", "")];
        orders::pay_invoice(&app, "test", InvoiceId(1), &filled(&paid)).unwrap();
        let late = [
            ("amount", part),
            ("payment", "transfer"),
            ("on", "2027-01-01"),
        ];
        let said = refused(orders::pay_invoice(
            &app,
            "test",
            InvoiceId(1),
            &filled(&late),
        ));
        assert!(said.contains("on:"), "{said}");
        let credit = [
            ("reason", "six cracked"),
            ("back-1-0", "6"),
            ("to", "spoilt"),
        ];
        orders::credit_invoice(&app, "test", InvoiceId(1), &filled(&credit)).unwrap();
        let owed = app
            .look(|workshop| workshop::owed_by(workshop.trade(), SHOP))
            .unwrap();
        // 24 cost 144.00 and 9.00 of the tax: six of them 38.25 of the 116.22 left.
        assert_eq!(owed.map(Money::minor), Some(7_797));
        let said = refused(orders::cancel_order(&app, "test", ORDER, &filled(&[])));
        assert!(said.contains("order 1 is sent"), "{said}");
    }
}

#[test]
fn picking_without_lots_takes_the_earliest_and_a_form_of_noughts_nothing() {
    let store = Arc::new(MemoryStore::new());
    let app = shop(&store, false);
    buyer(&app, &TIDE).unwrap();
    let order = [("buyer", "1"), ("count-1", "24")];
    orders::take_order(&app, "test", None, &filled(&order)).unwrap();
    let noughts = [("lot-1", "0"), ("lot-2", "")];
    let said = refused(orders::pick_order(&app, "test", ORDER, &filled(&noughts)));
    assert!(said.contains("nothing is picked"), "{said}");
    orders::pick_order(&app, "test", ORDER, &filled(&[])).unwrap();
    let picked = app
        .look(|workshop| workshop.trade().order(ORDER).unwrap().picked.clone())
        .unwrap();
    let picked: Vec<_> = picked
        .iter()
        .map(|units| (units.lot, units.count))
        .collect();
    assert_eq!(picked, [(Some(PourId(1)), 20), (Some(PourId(2)), 4)]);
}

/// A shop that keeps 35 % takes 24 and sells 17 of them.
fn lent(app: &App) {
    let lane = [("name", "Lane Gifts"), ("channel", "2")];
    buyer(app, &lane).unwrap();
    let order = [("buyer", "1"), ("count-1", "24"), ("on_return", "yes")];
    orders::take_order(app, "test", None, &filled(&order)).unwrap();
    orders::pick_order(app, "test", ORDER, &filled(&[])).unwrap();
    orders::pack_order(app, "test", ORDER, &filled(&[("parcels", "1")])).unwrap();
    orders::send_order(app, "test", ORDER, &filled(&[])).unwrap();
}

#[test]
fn a_shop_is_counted_from_what_is_still_there() {
    let store = Arc::new(MemoryStore::new());
    let app = shop(&store, false);
    lent(&app);
    let none = refused(orders::count_shop(&app, "test", SHOP, &filled(&[])));
    assert!(none.contains("nothing is counted"), "{none}");
    let found = [("there-1", "4"), ("back-1", "2"), ("spoilt-1", "1")];
    orders::count_shop(&app, "test", SHOP, &filled(&found)).unwrap();
    let (sold, paid, rate) = app
        .look(|workshop| {
            let sale = &workshop.trade().sales()[0];
            (sale.n_units(), sale.paid(), offers::sell_through(workshop))
        })
        .unwrap();
    // 17 × 7.80 = 132.60, and 8.29 of tax.
    assert_eq!((sold, paid.minor()), (17, 14_089));
    assert_eq!(rate, Some(ratio("85 %")));
}

#[test]
fn an_offer_is_filled_from_the_order() {
    let store = Arc::new(MemoryStore::new());
    let app = shop(&store, true);
    lent(&app);
    app.look(|workshop| {
        let order = workshop.trade().order(ORDER).unwrap();
        let first = offers::first_offer(workshop, order, Filled::default());
        for (name, text) in [
            ("units", "24"),
            ("retail", "12 EUR"),
            ("firm.price", "6 EUR"),
            ("sale_or_return.share", "65,0 %"),
            ("unit_cost", ""),
            ("sale_or_return.sold", ""),
        ] {
            assert_eq!(first.get(name), text, "{name}");
        }
        assert!(matches!(
            offers::offer(workshop, &first),
            Asked::StillEmpty(2..)
        ));
        // 24 × (6.00 - 4.45) - 4.50, and 16.8 × (7.80 - 4.45) - 9.00 - 4.45.
        let typed = first
            .with("unit_cost", "4,45")
            .with("firm.delivery", "4,50")
            .with("sale_or_return.delivery", "4,50")
            .with("sale_or_return.sold", "70 %")
            .with("sale_or_return.spoiled", "1");
        let Asked::Answer(output) = offers::offer(workshop, &typed) else {
            panic!("no answer: {:?}", offers::offer(workshop, &typed));
        };
        assert_eq!(output.firm.left, "32.70 EUR");
        assert_eq!(output.sale_or_return.left, "42.83 EUR");
        assert_eq!(output.equal_at, Some(14));
        let wrong = typed.with("unit_cost", "4,4,5");
        let Asked::Unclear(problems, 0) = offers::offer(workshop, &wrong) else {
            panic!("no problem");
        };
        assert_eq!(problems.of("unit_cost").unwrap().given, "4,4,5");
    })
    .unwrap();
}

#[test]
fn a_parcel_is_filled_from_the_order() {
    let store = Arc::new(MemoryStore::new());
    let app = shop(&store, false);
    buyer(&app, &TIDE).unwrap();
    let order = [("buyer", "1"), ("count-1", "12")];
    orders::take_order(&app, "test", None, &filled(&order)).unwrap();
    app.look(|workshop| {
        let order = workshop.trade().order(ORDER).unwrap();
        let first = offers::first_parcel(workshop, order, Filled::default());
        assert_eq!(first.get("items[0].count"), "12");
        assert!(matches!(
            offers::pack_in(workshop, order, &first),
            Asked::StillEmpty(_)
        ));
        // 12 × 56.5 + 95 = 773 g is over 750 g; with 62 g it is 740 g.
        let typed = first
            .with("items[0].each", "56.5 g")
            .with("packings[0].weight", "95 g")
            .with("packings[1].weight", "62 g")
            .with("bands[0].up_to", "750 g")
            .with("bands[0].price", "3.39")
            .with("bands[1].up_to", "1 kg")
            .with("bands[1].price", "4.69");
        let Asked::Answer(output) = offers::pack_in(workshop, order, &typed) else {
            panic!("{:?}", offers::pack_in(workshop, order, &typed));
        };
        assert_eq!(output.packing.as_deref(), Some("the mailer"));
        assert_eq!(output.saves.as_deref(), Some("1.30 EUR"));
    })
    .unwrap();
}

fn printed(app: &App, name: &str, given: &[(&str, &str)]) -> Result<String, String> {
    let drawn = paper::find(name).unwrap().draw(app, &filled(given));
    match drawn {
        Ok(document) => {
            paper::pdf(&document).unwrap();
            Ok(document.texts().join("\n"))
        }
        Err(NoPaper::Asked(problems)) => Err(problems.to_string()),
        Err(error) => panic!("{name}: {error}"),
    }
}

#[test]
fn the_papers_of_an_order_name_what_they_are_for() {
    let store = Arc::new(MemoryStore::new());
    let app = shop(&store, false);
    buyer(&app, &TIDE).unwrap();
    let order = [("buyer", "1"), ("count-1", "24"), ("count-2", "10")];
    orders::take_order(&app, "test", None, &filled(&order)).unwrap();
    let before = printed(&app, "packing-slip", &[("order", "1")]).unwrap();
    for text in [
        "The Tide Shop",
        "3 Quay Street",
        "Harbour Fig bar",
        "24",
        "34",
    ] {
        assert!(before.contains(text), "{text}: {before}");
    }
    assert!(!before.contains("L1"), "{before}");
    // What was typed beside the number is a buyer's own number again.
    let typed = [
        ("order", "1"),
        ("to", "Someone"),
        ("line", "Rainy Loft bar = 3"),
    ];
    assert!(
        !printed(&app, "packing-slip", &typed)
            .unwrap()
            .contains("Tide")
    );
    orders::pick_order(&app, "test", ORDER, &filled(&[])).unwrap();
    orders::pack_order(&app, "test", ORDER, &filled(&[("parcels", "1")])).unwrap();
    let slip = printed(&app, "packing-slip", &[("order", "1")]).unwrap();
    for text in ["L1", "L2", "L3", "20", "4", "10", "34"] {
        assert!(slip.contains(text), "{text}: {slip}");
    }
    let charged = [("charged", "4.50")];
    orders::send_order(&app, "test", ORDER, &filled(&charged)).unwrap();
    let slip = printed(&app, "packing-slip", &[("order", "1")]).unwrap();
    // At the head, and in the box for the day it was sent.
    let days = slip.matches("25 November 2026").count();
    assert!(days >= 2, "{slip}");
    let none = printed(&app, "invoice", &[("invoice", "1")]).unwrap_err();
    assert!(none.contains("write an invoice first"), "{none}");
    orders::write_invoice(&app, "test", SHOP, &filled(&[])).unwrap();
    let invoice = printed(&app, "invoice", &[("invoice", "1"), ("note", "Thank you")]).unwrap();
    // 24 × 6.00, 10 × 6.00, 4.50 and 6.25 % of 208.50, 13.03, on top.
    for text in [
        "Invoice 1",
        "€6.00",
        "€144.00",
        "€60.00",
        "Postage",
        "€4.50",
        "And VAT",
        "€13.03",
        "€221.53",
        "25 December 2026",
        "XX 123",
        "Thank you",
        "L1, L2",
    ] {
        assert!(invoice.contains(text), "{text}: {invoice}");
    }
    let credit = [("total", "21.53"), ("reason", "late")];
    orders::credit_invoice(&app, "test", InvoiceId(1), &filled(&credit)).unwrap();
    let note = printed(&app, "credit-note", &[("invoice", "2")]).unwrap();
    for text in ["Credit note 2", "Off invoice 1: late", "€21.53"] {
        assert!(note.contains(text), "{text}: {note}");
    }
    let settled = printed(&app, "invoice", &[("invoice", "1")]).unwrap();
    assert!(settled.contains("Credited\n-€21.53"), "{settled}");
    assert!(settled.contains("Left to pay\n€200.00"), "{settled}");
    let wrong = printed(&app, "invoice", &[("invoice", "2")]).unwrap_err();
    assert!(
        wrong.contains("it is a credit note for invoice 1"),
        "{wrong}"
    );
    let wrong = printed(&app, "credit-note", &[("invoice", "1")]).unwrap_err();
    assert!(wrong.contains("it is an invoice"), "{wrong}");
    let wrong = printed(&app, "consignment-note", &[("order", "1")]).unwrap_err();
    assert!(wrong.contains("it is sold outright"), "{wrong}");
    let paid = [("payment", "cash")];
    orders::pay_invoice(&app, "test", InvoiceId(1), &filled(&paid)).unwrap();
    orders::forget_buyer(&app, "test", SHOP).unwrap();
    let forgotten = printed(&app, "invoice", &[("invoice", "1")]).unwrap();
    assert!(forgotten.contains("buyer 1, forgotten"), "{forgotten}");
    assert!(!forgotten.contains("Tide"), "{forgotten}");
}

#[test]
fn a_consignment_note_says_whose_the_goods_are() {
    let store = Arc::new(MemoryStore::new());
    let app = shop(&store, false);
    lent(&app);
    let given = [("order", "1"), ("next-count", "the last Friday")];
    let note = printed(&app, "consignment-note", &given).unwrap();
    for text in [
        "Lane Gifts",
        "L1, L2",
        "€7.80",
        "€187.20",
        "the last Friday",
        "stay the maker's",
    ] {
        assert!(note.contains(text), "{text}: {note}");
    }
    // Sent on 25 November: a month later, where nothing else is said.
    let note = printed(&app, "consignment-note", &[("order", "1")]).unwrap();
    assert!(note.contains("25 December 2026"), "{note}");
    let stage = app
        .look(|workshop| workshop.trade().order(ORDER).unwrap().stage)
        .unwrap();
    assert_eq!(stage, OrderStage::Sent);
}
