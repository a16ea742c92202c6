//! Everything to take away from the invented workshop.

use std::io::Read;
use std::sync::Arc;

use app::books::{KINDS, days_asked, entries, pay_expense, year_of};
use app::forms::Filled;
use app::{App, FixedClock};
use jiff::civil::{Date, date};
use journal::{MemoryStore, WorkshopId};
use measure::{Currency, Money};
use workshop::books::{By, Days, Earned, earned_by};
use workshop::facts::{CostMethod, InvoiceId, InvoicePaid, Payment};
use workshop::{accounts, buyers_to_invoice};

const TODAY: Date = date(2026, 11, 25);

fn demo() -> App {
    let id = WorkshopId::try_new("demo").unwrap();
    let store = Arc::new(MemoryStore::new());
    app::demo::fill(store.clone(), id.clone(), TODAY).unwrap();
    App::open(store, Arc::new(FixedClock(TODAY)), id).unwrap()
}

fn paid(app: &App, note: &str) {
    let filled = Filled::of([("kind", "running"), ("amount", "120.00"), ("note", note)]);
    pay_expense(app, "test", &filled).unwrap();
}

#[test]
fn the_double_entry_balances_and_agrees_with_the_books() {
    let app = demo();
    paid(&app, "rent");
    let books = app.books().unwrap().unwrap();
    app.look(|workshop| {
        let book = entries(workshop, &books, Days::ALL, TODAY);
        let balance = book.trial_balance();
        let sum: i128 = balance.iter().map(|balance| balance.minor).sum();
        assert_eq!(sum, 0);
        let stands = |path: &str| -> i128 {
            let under = balance
                .iter()
                .filter(|it| it.account.as_str().starts_with(path));
            under.map(|it| it.minor).sum()
        };
        let period = books.own().period(Days::ALL);
        // Each pair of accounts is rounded by itself, by half a cent at most.
        for (path, value) in [
            ("Assets:Stock:Supplies", period.closing.supplies),
            ("Assets:Stock:Goods", period.closing.goods),
            ("Assets:Stock:Work-In-Progress", period.closing.pots),
        ] {
            let exact = i128::from(books.money(value.materials).minor());
            assert!((stands(path) - exact).abs() <= 3, "{path}");
        }
        let mut earned = Earned::default();
        for row in earned_by(workshop, &books, By::Month, Days::ALL).values() {
            earned.add(row);
        }
        assert_eq!(stands("Income:Sales"), -i128::from(earned.net()));
        assert_eq!(stands("Liabilities:Sales-Tax"), -i128::from(earned.tax));
        assert_eq!(stands("Expenses:Fees"), i128::from(earned.fees));
        assert_eq!(stands("Expenses:Postage"), i128::from(earned.postage));
        assert_eq!(
            stands("Expenses:Missing-From-Tins"),
            i128::from(earned.tins)
        );
        assert_ne!(earned.tins, 0);
        assert_eq!(stands("Expenses:Running"), 12_000);
        // What buyers owe, invoiced and not, credit notes taken off.
        let trade = workshop.trade();
        let invoiced = accounts(trade);
        let owed = invoiced.values().map(|it| it.owed.minor());
        let to_invoice = buyers_to_invoice(trade);
        let owed: i64 = owed.sum::<i64>() + to_invoice.values().map(|it| it.minor()).sum::<i64>();
        assert!(invoiced.values().any(|it| it.credited.minor() > 0));
        assert_eq!(stands("Assets:Owed-By-Buyers"), i128::from(owed));
        assert!(book.to_plain_text().contains("rent"));
        // Two halves of the time hold what the whole holds.
        let half = date(2026, 10, 15);
        let first = Days {
            from: None,
            to: Some(half),
        };
        let rest = Days {
            from: Some(half.tomorrow().unwrap()),
            to: None,
        };
        let n = |days| entries(workshop, &books, days, TODAY).entries().len();
        assert_eq!(n(first) + n(rest), book.entries().len());
    })
    .unwrap();
}

#[test]
fn no_cell_is_taken_for_a_formula() {
    let app = demo();
    paid(&app, "=HYPERLINK(\"x\",\"y\")");
    paid(&app, " +1, +2");
    paid(&app, "@x");
    let kind = KINDS.iter().find(|kind| kind.name == "expenses").unwrap();
    let csv = kind.table(&app, Days::ALL).unwrap().to_csv();
    let rows: Vec<&str> = csv.split("\r\n").collect();
    assert_eq!(rows[0], "day,kind,amount,currency,note");
    let own: Vec<&str> = rows
        .iter()
        .copied()
        .filter(|row| row.contains("120.00"))
        .collect();
    assert!(own[0].ends_with(r#","'=HYPERLINK(""x"",""y"")""#), "{csv}");
    assert!(own[1].ends_with(r#","'+1, +2""#), "{csv}");
    assert!(own[2].ends_with(",'@x"), "{csv}");
}

#[test]
fn every_table_is_square_and_a_workbook_is_a_zip() {
    let app = demo();
    for kind in KINDS {
        let table = kind.table(&app, Days::ALL).unwrap();
        for row in &table.rows {
            assert_eq!(row.len(), table.headings.len(), "{}", kind.name);
        }
        let bytes = table.to_xlsx(kind.name).unwrap();
        let mut head = [0; 4];
        bytes.as_slice().read_exact(&mut head).unwrap();
        assert_eq!(&head, b"PK\x03\x04", "{}", kind.name);
    }
    let lots = KINDS.iter().find(|kind| kind.name == "lots").unwrap();
    assert!(!lots.table(&app, Days::ALL).unwrap().rows.is_empty());
}

#[test]
fn the_books_are_reckoned_once_until_something_is_written() {
    let app = demo();
    let (first, second) = (app.books().unwrap().unwrap(), app.books().unwrap().unwrap());
    assert!(Arc::ptr_eq(&first, &second));
    paid(&app, "rent");
    assert!(!Arc::ptr_eq(&first, &app.books().unwrap().unwrap()));
    assert_eq!(first.chosen(), CostMethod::default());
}

#[test]
fn days_asked_default_to_the_year() {
    let app = demo();
    app.look(|workshop| {
        let (from, to) = year_of(workshop, TODAY);
        assert_eq!(
            days_asked(workshop, &Filled::default(), TODAY).unwrap(),
            (from, to)
        );
        let asked = Filled::of([("from", "2026-01-05")]);
        let until = date(2027, 1, 4);
        assert_eq!(
            days_asked(workshop, &asked, TODAY).unwrap(),
            (date(2026, 1, 5), until)
        );
        let asked = Filled::of([("from", "2026-02-05"), ("to", "2026-01-05")]);
        assert!(days_asked(workshop, &asked, TODAY).is_err());
        // The first year and the last there are have no neighbours.
        assert_eq!(year_of(workshop, Date::MIN).0, Date::MIN);
        let last = (date(9999, 1, 1), Date::MAX);
        assert_eq!(year_of(workshop, Date::MAX), last);
    })
    .unwrap();
}

#[test]
fn money_that_came_back_is_an_expense_below_nothing_and_is_read_again() {
    let id = WorkshopId::try_new("demo").unwrap();
    let store = Arc::new(MemoryStore::new());
    app::demo::fill(store.clone(), id.clone(), TODAY).unwrap();
    let open = || App::open(store.clone(), Arc::new(FixedClock(TODAY)), id.clone()).unwrap();
    let app = open();
    let before = app.look(|workshop| workshop.trade().expenses().len());
    let filled = Filled::of([
        ("kind", "running"),
        ("amount", "20.00"),
        ("note", "rent given back"),
        ("back", "yes"),
    ]);
    pay_expense(&app, "test", &filled).unwrap();
    let again = open();
    let last = again.look(|workshop| workshop.trade().expenses().last().cloned());
    let (_, paid) = last.unwrap().unwrap();
    assert_eq!(paid.cost().minor(), -2_000);
    let after = again.look(|workshop| workshop.trade().expenses().len());
    assert_eq!(after.unwrap(), before.unwrap() + 1);
}

#[test]
fn what_could_not_be_read_again_is_never_written_down() {
    let app = demo();
    let facts = || app.look(workshop::Workshop::facts).unwrap();
    let before = facts();
    let amount = Money::from_minor(-275, Currency::USD);
    let below_nothing = InvoicePaid {
        invoice: InvoiceId(1),
        amount,
        payment: Payment::Transfer,
    };
    let refused = app.act("test", |_, _| Ok(vec![below_nothing.clone().into()]));
    let refused = refused.unwrap_err();
    let why = std::error::Error::source(&refused).unwrap().to_string();
    assert!(why.contains("could not be read again"), "{why}");
    assert_eq!(facts(), before);
}
