//! Entries balance, and leave the program as they are.

use std::collections::BTreeMap;

use jiff::civil::{Date, date};
use ledger::entries::{Account, AccountError, Book, Entry, EntryError};
use measure::{Currency, Decimal, Money};
use proptest::prelude::*;

fn account(path: &str) -> Account {
    Account::try_new(path).unwrap()
}

fn dollars(cents: i64) -> Money {
    Money::from_minor(cents, Currency::USD)
}

fn sale() -> Entry {
    Entry::try_new(
        date(2026, 11, 25),
        "Quarry Lane; 31 sold",
        vec![
            (account("Assets:Cash"), dollars(8_400)),
            (account("Assets:Card"), dollars(13_300)),
            (account("Income:Sales:Stall"), dollars(-20_424)),
            (account("Liabilities:Sales-Tax"), dollars(-1_276)),
        ],
    )
    .unwrap()
}

#[test]
fn a_journal_in_plain_text() {
    let spent = Entry::try_new(
        date(2026, 11, 24),
        "=3 jars",
        vec![
            (
                account("Expenses:Materials"),
                Money::from_minor(1_200, Currency::JPY),
            ),
            (
                account("Assets:Cash"),
                Money::from_minor(-1_200, Currency::JPY),
            ),
        ],
    )
    .unwrap();
    let book = Book::new(vec![sale(), spent]);
    insta::assert_snapshot!(book.to_plain_text(), @r#"
    2026-11-24 - =3 jars
        Expenses:Materials          1200 JPY
        Assets:Cash                -1200 JPY

    2026-11-25 Quarry Lane, 31 sold
        Assets:Cash                   84.00 USD
        Assets:Card                  133.00 USD
        Income:Sales:Stall          -204.24 USD
        Liabilities:Sales-Tax        -12.76 USD
    "#);
    insta::assert_snapshot!(book.to_csv().replace("\r\n", "\n"), @r#"
    date,entry,text,account,debit,credit,currency
    2026-11-24,1,'=3 jars,Expenses:Materials,1200,,JPY
    2026-11-24,1,'=3 jars,Assets:Cash,,1200,JPY
    2026-11-25,2,Quarry Lane; 31 sold,Assets:Cash,84.00,,USD
    2026-11-25,2,Quarry Lane; 31 sold,Assets:Card,133.00,,USD
    2026-11-25,2,Quarry Lane; 31 sold,Income:Sales:Stall,,204.24,USD
    2026-11-25,2,Quarry Lane; 31 sold,Liabilities:Sales-Tax,,12.76,USD
    "#);
    let balances: Vec<String> = book
        .trial_balance()
        .iter()
        .map(ToString::to_string)
        .collect();
    insta::assert_snapshot!(balances.join("\n"), @r#"
    Assets:Card  133.00 USD
    Assets:Cash  -1200 JPY
    Assets:Cash  84.00 USD
    Expenses:Materials  1200 JPY
    Income:Sales:Stall  -204.24 USD
    Liabilities:Sales-Tax  -12.76 USD
    "#);
}

#[test]
fn what_does_not_balance_is_no_entry() {
    let day = date(2026, 1, 1);
    let one = |cents| (account("Assets:Cash"), dollars(cents));
    assert_eq!(
        Entry::try_new(day, "", vec![]),
        Err(EntryError::TooFewLines)
    );
    assert_eq!(
        Entry::try_new(day, "", vec![one(0)]),
        Err(EntryError::TooFewLines)
    );
    let off = Entry::try_new(day, "", vec![one(100), one(-99)]).unwrap_err();
    assert_eq!(off.to_string(), "the lines leave 0.01 USD over");
    // A euro does not balance a dollar.
    let euro = (
        account("Assets:Cash"),
        Money::from_minor(-100, Currency::EUR),
    );
    let off = Entry::try_new(day, "", vec![one(100), euro]).unwrap_err();
    assert_eq!(off.to_string(), "the lines leave -1.00 EUR over");
    assert!(Entry::try_new(day, "", vec![one(i64::MAX), one(i64::MAX)]).is_err());
}

#[test]
fn an_account_is_a_path_under_five_roots() {
    for good in [
        "Assets",
        "Assets:Stock:Goods",
        "Income:2026:Été",
        "Expenses:Card-Fees",
    ] {
        assert_eq!(account(good).to_string(), good);
    }
    for bad in [
        "",
        "Stock",
        "assets:Cash",
        " Assets",
        "Assets Cash",
        "Equityx",
    ] {
        assert_eq!(
            Account::try_new(bad),
            Err(AccountError::Root(bad.to_owned()))
        );
    }
    for (bad, part) in [
        ("Assets:", ""),
        ("Assets::Cash", ""),
        ("Assets:cash", "cash"),
        ("Assets:-Cash", "-Cash"),
        ("Assets:Petty Cash", "Petty Cash"),
        ("Assets:Cash\n", "Cash\n"),
        ("Assets:Cash;", "Cash;"),
    ] {
        assert_eq!(
            Account::try_new(bad),
            Err(AccountError::Part(part.to_owned()))
        );
    }
    let sales = account("Income:Sales");
    for (name, path) in [
        ("Peat & Plum", "Income:Sales:Peat-Plum"),
        ("  tin roof mint ", "Income:Sales:Tin-roof-mint"),
        ("85 g", "Income:Sales:85-g"),
        ("; :", "Income:Sales:Unnamed"),
        ("ß", "Income:Sales:0ß"),
    ] {
        assert_eq!(sales.under(name).as_str(), path);
    }
}

type Sums = BTreeMap<(String, String), Decimal>;

/// Reads a journal as any reader of plain text would: what is not indented
/// begins an entry, `;` begins a comment, two spaces end an account.
fn read_plain(journal: &str) -> (Vec<Date>, Sums) {
    let (mut days, mut sums) = (Vec::new(), Sums::new());
    for line in journal.lines().filter(|line| !line.trim().is_empty()) {
        let line = line.split(';').next().unwrap();
        match line.strip_prefix("    ") {
            None => {
                let (day, text) = line.split_once(' ').unwrap();
                assert!(
                    text.starts_with(|c: char| c.is_alphabetic() || c == '-'),
                    "{text}"
                );
                days.push(day.parse().unwrap());
            }
            Some(posting) => {
                let (account, amount) = posting.split_once("  ").unwrap();
                let (amount, code) = amount.trim().split_once(' ').unwrap();
                let amount: Decimal = amount.parse().unwrap();
                *sums
                    .entry((account.to_owned(), code.to_owned()))
                    .or_default() += amount;
            }
        }
    }
    (days, sums)
}

/// Reads one line of CSV.
fn cells(line: &str) -> Vec<String> {
    let mut cells = vec![String::new()];
    let (mut quoted, mut chars) = (false, line.chars().peekable());
    while let Some(c) = chars.next() {
        let cell = cells.last_mut().unwrap();
        match c {
            '"' if quoted && chars.peek() == Some(&'"') => {
                chars.next();
                cell.push('"');
            }
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(String::new()),
            _ => cell.push(c),
        }
    }
    assert!(!quoted, "{line}");
    cells
}

fn read_csv(csv: &str) -> (Vec<Vec<String>>, Sums) {
    let mut lines = csv.split_terminator("\r\n").map(cells);
    assert_eq!(
        lines.next().unwrap().join(","),
        "date,entry,text,account,debit,credit,currency"
    );
    let (rows, mut sums): (Vec<_>, _) = (lines.collect(), Sums::new());
    for row in &rows {
        let [_, _, _, account, debit, credit, code] = row.as_slice() else {
            panic!("{row:?}");
        };
        let figure = |text: &str| -> Decimal {
            if text.is_empty() {
                Decimal::ZERO
            } else {
                text.parse().unwrap()
            }
        };
        let amount = figure(debit) - figure(credit);
        *sums.entry((account.clone(), code.clone())).or_default() += amount;
    }
    (rows, sums)
}

fn any_line() -> impl Strategy<Value = (Account, i64, Currency)> {
    let accounts = [
        "Assets:Cash",
        "Assets:Stock:Goods",
        "Liabilities:Sales-Tax",
        "Equity:Opening",
        "Income:Sales:Été",
        "Expenses:Fees",
    ];
    let currencies = [Currency::USD, Currency::JPY, Currency::KWD];
    (
        prop::sample::select(accounts.to_vec()).prop_map(account),
        prop_oneof![-100_000_i64..100_000, -i64::MAX / 100..i64::MAX / 100],
        prop::sample::select(currencies.to_vec()),
    )
}

/// Lines closed with what balances them.
fn any_entry() -> impl Strategy<Value = Entry> {
    let text = prop_oneof!["[=+@;|*!(0-9\\-\\r\\n\t \",'A-Za-z]{0,20}", any::<String>(),];
    let lines = prop::collection::vec(any_line(), 1..6);
    (text, lines, -3_000_i64..3_000).prop_map(|(text, lines, days)| {
        let mut over: BTreeMap<&str, (Currency, i64)> = BTreeMap::new();
        let mut closed = Vec::new();
        for (account, minor, currency) in lines {
            over.entry(currency.code()).or_insert((currency, 0)).1 += minor;
            closed.push((account, Money::from_minor(minor, currency)));
        }
        for (currency, sum) in over.into_values() {
            let rest = Money::from_minor(-sum, currency);
            closed.push((account("Equity:Rest"), rest));
        }
        let day = date(2026, 1, 1) + jiff::Span::new().days(days);
        Entry::try_new(day, text, closed).unwrap()
    })
}

proptest! {
    #[test]
    fn what_is_exported_reads_back_to_the_same_sums(entries in prop::collection::vec(any_entry(), 0..6)) {
        let (count, lines) = (entries.len(), entries.iter().map(|entry| entry.lines().len()).sum::<usize>());
        let book = Book::new(entries);
        let mut zero: BTreeMap<&str, i128> = BTreeMap::new();
        let mut expected = Sums::new();
        for balance in book.trial_balance() {
            *zero.entry(balance.currency.code()).or_default() += balance.minor;
            let places = u32::from(balance.currency.exponent().unwrap());
            let amount = Decimal::from_i128_with_scale(balance.minor, places);
            expected.insert((balance.account.to_string(), balance.currency.code().to_owned()), amount);
        }
        prop_assert!(zero.values().all(|sum| *sum == 0));
        let plain = book.to_plain_text();
        let (days, sums) = read_plain(&plain);
        prop_assert_eq!(&sums, &expected);
        prop_assert_eq!(days.len(), count);
        prop_assert!(days.is_sorted());
        // Nothing but the line's own end breaks a line, for any reader.
        prop_assert_eq!(plain.split(['\n', '\r', '\u{b}', '\u{c}', '\u{85}', '\u{2028}', '\u{2029}'])
            .filter(|line| !line.is_empty()).count(), count + lines);
        let csv = book.to_csv();
        let (rows, sums) = read_csv(&csv);
        prop_assert_eq!(sums, expected);
        prop_assert_eq!(rows.len(), lines);
        for row in &rows {
            for cell in [&row[2], &row[3]] {
                prop_assert!(!cell.starts_with(['=', '+', '-', '@', '\t', '\r']), "{}", cell);
            }
            prop_assert!(!row[4].starts_with('-') && !row[5].starts_with('-'));
        }
    }
}
