//! Files read in: what stands in a cell, every way a table is written, what is
//! refused, and that a file read twice adds nothing.

use std::collections::BTreeMap;
use std::io::Write as _;
use std::sync::Arc;

use app::books::{Cell, KINDS};
use app::forms::Filled;
use app::reading_in::{self, Fate, ReadFile, cells, dry_run, layout, open, payouts, read_in};
use app::{App, FixedClock, forms};
use jiff::civil::{Date, date};
use journal::{MemoryStore, WorkshopId};
use measure::{Currency, DecimalMark, Money};
use proptest::prelude::*;
use workshop::books::{By, Days, earned_by};
use workshop::facts::{
    BookSettings, ChannelId, ChannelKind, ChannelSettled, ChannelTerms, DayCosts, DayOrder, Fact,
    FormulaId, MarketDayCounted, MarketDayId, MarketDaySettled, Meant, MouldId, Payment, PayoutId,
    PourFinished, PourId, PourStarted, Poured, ProductId, SaleFrom, SalesTax,
};
use workshop::payouts::guess_payout;

const TODAY: Date = date(2026, 11, 25);

#[track_caller]
fn is_day(text: &str, order: DayOrder, expected: &str) {
    let read = cells::day(text, order).map_or_else(
        |unclear| unclear.wrong.to_string(),
        |(day, rest)| format!("{day} {rest}"),
    );
    assert_eq!(read.trim(), expected, "{text}");
}

#[test]
fn days_are_read_in_the_order_of_the_file() {
    use DayOrder::{DayMonthYear as D, MonthDayYear as M, YearMonthDay as Y};
    is_day("2026-06-20", D, "2026-06-20");
    is_day("2026-06-20T14:33:05Z", Y, "2026-06-20 14:33:05Z");
    is_day("03/04/2026", D, "2026-04-03");
    is_day("03/04/2026", M, "2026-03-04");
    is_day("3.4.26 9:15", D, "2026-04-03 9:15");
    is_day("Sat, Jun 20, 2026", D, "2026-06-20");
    is_day("20 June 2026", M, "2026-06-20");
    is_day("June 2nd, 2026", D, "2026-06-02");
    is_day("20-Jun-26", M, "2026-06-20");
    is_day("31/06/2026", D, "there is no such day");
    is_day("06/20/2026", D, "there is no such day");
    is_day("20260620", Y, "it is not a day");
    is_day("soon", Y, "it is not a day");
    is_day("45000", Y, "it is not a day");
    is_day("", Y, "the day is missing");
}

#[track_caller]
fn is_money(text: &str, mark: DecimalMark, expected: &str) {
    let read = cells::money(text, mark, Currency::USD).map_or_else(
        |unclear| unclear.wrong.to_string(),
        |money| money.to_string(),
    );
    assert_eq!(read, expected, "{text}");
}

#[test]
fn money_is_read_by_the_decimal_mark_of_the_file() {
    use DecimalMark::{Comma, Point};
    is_money("7", Point, "7.00 USD");
    is_money("$1,234.50", Point, "1234.50 USD");
    is_money("1.234,50", Comma, "1234.50 USD");
    is_money("1 234,50", Comma, "1234.50 USD");
    is_money("US$ 3.10", Point, "3.10 USD");
    is_money("3.10 USD", Point, "3.10 USD");
    is_money("(3.10)", Point, "-3.10 USD");
    is_money("3.10-", Point, "-3.10 USD");
    is_money("-$3.10", Point, "-3.10 USD");
    is_money(".5", Point, "0.50 USD");
    is_money("0.4123", Point, "0.41 USD");
    is_money(
        "7,00",
        Point,
        "its decimal mark is not the one of this file",
    );
    is_money(
        "€ 7.00",
        Point,
        "it is in EUR, and the books are kept in USD",
    );
    is_money(
        "7.00 GBP",
        Point,
        "it is in GBP, and the books are kept in USD",
    );
    is_money("seven", Point, "it is not an amount");
    is_money("", Point, "a figure is missing");
    is_money("1.2.3", Point, "it is not a figure");
    is_money(&"9".repeat(40), Point, "it is too long");
}

fn rows_of(bytes: &[u8]) -> Vec<Vec<String>> {
    let file = open("x.csv", bytes).unwrap();
    let table = &file.tables[0];
    let rows = table.rows.iter().map(|row| row.cells.clone());
    std::iter::once(table.headings.clone())
        .chain(rows)
        .collect()
}

#[track_caller]
fn refused(bytes: &[u8], expected: &str) {
    let problem = open("x.csv", bytes).unwrap_err();
    assert!(problem.wrong.contains(expected), "{problem:?}");
    assert!(!problem.accepted.is_empty());
}

#[test]
fn one_table_is_the_same_however_it_is_written() {
    let plain =
        "Date,Item,Paid\n2026-06-20,Crème fig,7.00\n2026-06-21,\"Mint, \"\"tin\"\"\",8.50\n";
    let told = rows_of(plain.as_bytes());
    assert_eq!(told[0], ["Date", "Item", "Paid"]);
    assert_eq!(told[1], ["2026-06-20", "Crème fig", "7.00"]);
    assert_eq!(told[2], ["2026-06-21", "Mint, \"tin\"", "8.50"]);
    let marked = [&[0xEF, 0xBB, 0xBF], plain.as_bytes()].concat();
    assert_eq!(rows_of(&marked), told);
    let wide =
        |unit: fn(u16) -> [u8; 2]| -> Vec<u8> { plain.encode_utf16().flat_map(unit).collect() };
    assert_eq!(rows_of(&wide(u16::to_le_bytes)), told);
    assert_eq!(rows_of(&wide(u16::to_be_bytes)), told);
    assert_eq!(
        rows_of(&[&[0xFF, 0xFE][..], &wide(u16::to_le_bytes)].concat()),
        told
    );
    let latin: Vec<u8> = plain
        .chars()
        .map(|c| u8::try_from(u32::from(c)).unwrap())
        .collect();
    assert_eq!(rows_of(&latin), told);
    let windows = plain.replace('\n', "\r\n");
    assert_eq!(rows_of(windows.as_bytes()), told);
    for delimiter in [";", "\t", "|"] {
        let other = plain
            .replace("\"Mint, \"\"tin\"\"\"", "MINT")
            .replace(',', delimiter)
            .replace("MINT", "\"Mint, \"\"tin\"\"\"");
        assert_eq!(rows_of(other.as_bytes()), told, "{delimiter}");
        assert_eq!(
            rows_of(format!("sep={delimiter}\r\n{other}").as_bytes()),
            told
        );
    }
}

#[test]
fn what_stands_above_a_table_and_rows_of_unequal_length_are_read() {
    let file = "My shop\nfrom June\n\nDate,Item,,Item\n2026-06-20,fig\n2026-06-21,mint,x,y,z\n";
    let told = rows_of(file.as_bytes());
    assert_eq!(
        told[0],
        ["Date", "Item", "column 3", "Item (2)", "column 5"]
    );
    assert_eq!(told[1], ["2026-06-20", "fig"]);
    assert_eq!(told[2], ["2026-06-21", "mint", "x", "y", "z"]);
    assert_eq!(
        open("x.csv", file.as_bytes()).unwrap().tables[0].rows[0].nth,
        5
    );
}

#[test]
fn what_is_no_table_is_refused_in_words() {
    refused(b"", "empty");
    refused(b"%PDF-1.7", "PDF");
    refused(&[0xD0, 0xCF, 0x11, 0xE0, 1, 2], "older kind");
    refused(b"PK\x03\x04 and then nothing", "cannot be opened");
    refused(
        b"Date,Item\n2026-06-20,\"fig\n2026-06-21,mint\n",
        "never closed",
    );
    refused(
        b"Date,Item\n2026-06-20,fig\0\n",
        "bytes in it that no text has",
    );
    refused(b"Date,Item\n", "nothing below");
    refused(b"1,2\n3,4\n", "no row of it reads like headings");
    refused(
        &[b"Date,Item\n".as_slice(), &b",".repeat(1_000_000)].concat(),
        "thousands of columns",
    );
    refused(
        &[b"Date,Item\n".as_slice(), &b"x,".repeat(300), b"x"].concat(),
        "301 columns",
    );
    refused(
        &[b"Date,Item\n".as_slice(), &b"1,2\n".repeat(60_000)].concat(),
        "50000 rows",
    );
    refused(
        &[b"Date,\"".as_slice(), &b"x".repeat(10_000)].concat(),
        "longer than",
    );
    refused(&vec![b'x'; 21 * 1024 * 1024], "20 MB");
}

/// A workbook of a single sheet whose XML is given.
fn workbook(sheet: &str) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    let options = zip::write::SimpleFileOptions::default()
        .compression_method(zip::CompressionMethod::Deflated);
    let office = "http://schemas.openxmlformats.org";
    let parts = [
        (
            "[Content_Types].xml",
            format!("<Types xmlns=\"{office}/package/2006/content-types\"/>"),
        ),
        (
            "_rels/.rels",
            format!(
                "<Relationships xmlns=\"{office}/package/2006/relationships\"><Relationship Id=\"r1\" Type=\"{office}/officeDocument/2006/relationships/officeDocument\" Target=\"xl/workbook.xml\"/></Relationships>"
            ),
        ),
        (
            "xl/workbook.xml",
            format!(
                "<workbook xmlns=\"{office}/spreadsheetml/2006/main\" xmlns:r=\"{office}/officeDocument/2006/relationships\"><sheets><sheet name=\"S\" sheetId=\"1\" r:id=\"r1\"/></sheets></workbook>"
            ),
        ),
        (
            "xl/_rels/workbook.xml.rels",
            format!(
                "<Relationships xmlns=\"{office}/package/2006/relationships\"><Relationship Id=\"r1\" Type=\"{office}/officeDocument/2006/relationships/worksheet\" Target=\"worksheets/sheet1.xml\"/></Relationships>"
            ),
        ),
        (
            "xl/worksheets/sheet1.xml",
            format!(
                "<worksheet xmlns=\"{office}/spreadsheetml/2006/main\"><sheetData>{sheet}</sheetData></worksheet>"
            ),
        ),
    ];
    for (name, text) in parts {
        zip.start_file(name, options).unwrap();
        zip.write_all(text.as_bytes()).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

#[test]
fn a_workbook_is_read_and_a_hostile_one_is_not() {
    let text = |at: &str, words: &str| {
        format!("<c r=\"{at}\" t=\"inlineStr\"><is><t>{words}</t></is></c>")
    };
    let head = format!(
        "<row r=\"1\">{}{}</row>",
        text("A1", "Day"),
        text("B1", "Paid")
    );
    let row = "<row r=\"2\"><c r=\"A2\"><v>46000</v></c><c r=\"B2\"><f>SUM(1,2)</f><v>12.299999999999999</v></c></row>";
    let told = rows_of(&workbook(&format!("{head}{row}")));
    assert_eq!(told, [["Day", "Paid"], ["46000", "12.3"]]);
    // A cell in the last corner of the sheet.
    let corner = "<row r=\"1048576\"><c r=\"XFD1048576\"><v>1</v></c></row>";
    refused(
        &workbook(&format!("{head}{corner}")),
        "more than 200 columns",
    );
    // A cell past every number there is for a column, or for a row.
    for beyond in ["ZZZZZZZZZZZZ1", "A99999999999"] {
        let row = format!("<row r=\"2\"><c r=\"{beyond}\"><v>1</v></c></row>");
        refused(&workbook(&format!("{head}{row}")), "cannot be read as one");
    }
    // Seventy million letters in less than a hundredth of it.
    let bomb = workbook(&format!("{head}{}", " ".repeat(70_000_000)));
    assert!(bomb.len() < 700_000, "{}", bomb.len());
    refused(&bomb, "larger than 64 MB");
}

fn demo() -> App {
    let id = WorkshopId::try_new("demo").unwrap();
    let store = Arc::new(MemoryStore::new());
    app::demo::fill(store.clone(), id.clone(), TODAY).unwrap();
    App::open(store, Arc::new(FixedClock(TODAY)), id).unwrap()
}

#[test]
fn every_table_that_is_taken_away_is_read_back_as_it_was() {
    let app = demo();
    let mut n_read = 0;
    for kind in KINDS {
        let table = kind.table(&app, Days::ALL).unwrap();
        if table.rows.is_empty() {
            continue;
        }
        let bytes = table.to_xlsx(kind.name).unwrap();
        let read = &open("x.xlsx", &bytes).unwrap().tables[0];
        assert_eq!(read.sheet, kind.name);
        assert_eq!(read.headings, table.headings);
        assert_eq!(read.rows.len(), table.rows.len());
        for (read, row) in read.rows.iter().zip(&table.rows) {
            for (nth, cell) in row.iter().enumerate() {
                let found = read.cell(nth);
                match cell {
                    Cell::Text(text) => assert_eq!(found, text.trim(), "{}", kind.name),
                    Cell::Day(day) => assert_eq!(found, day.to_string(), "{}", kind.name),
                    Cell::Empty => assert_eq!(found, "", "{}", kind.name),
                    Cell::Figure(figure) => {
                        let figures = [found, figure.as_str()]
                            .map(|it| cells::figure(it, DecimalMark::Point));
                        assert_eq!(figures[0], figures[1], "{}", kind.name);
                    }
                }
                n_read += 1;
            }
        }
    }
    assert!(n_read > 500, "{n_read} cells");
}

fn filled(given: &[(&str, &str)]) -> Filled {
    let owned = |(name, text): &(&str, &str)| ((*name).to_owned(), (*text).to_owned());
    Filled::new(given.iter().map(owned).collect())
}

/// A web shop that keeps 6.5 % and 0.20 a sale, and two goods; of the first
/// 20 units stand on the rack since 1 June.
fn shop() -> App {
    let id = WorkshopId::try_new("reading").unwrap();
    let store = Arc::new(MemoryStore::new());
    let app = App::open(store, Arc::new(FixedClock(TODAY)), id).unwrap();
    let set = [
        ("name", "Quillfen Wax Works"),
        ("system", "us"),
        ("currency", "USD"),
        ("decimal_mark", "point"),
        ("readability", "0.1 oz"),
    ];
    forms::set_up(&app, "test", &filled(&set)).unwrap();
    for (kind, name) in [
        ("wax", "soy wax"),
        ("fragrance_oil", "fig oil"),
        ("wrap", "bag"),
    ] {
        forms::define_supply(&app, "test", &filled(&[("kind", kind), ("name", name)])).unwrap();
    }
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
    for name in ["Harbour Fig bar", "Rainy Loft bar"] {
        let good = [("name", name), ("formula", "1"), ("mould", "1")];
        forms::define_product(&app, "test", &filled(&good)).unwrap();
    }
    let pour = PourId(1);
    let ratio = |text: &str| measure::Ratio::parse(text, measure::Reading::PLAIN).unwrap();
    let facts: Vec<Fact> = vec![
        PourStarted {
            pour,
            lot: "20260601-1".to_owned(),
            formula: FormulaId(1),
            revision: 1,
            mould: Some(MouldId(1)),
            product: Some(ProductId(1)),
            wanted: 20,
            portions: Vec::new(),
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
            good: 20,
            seconds: 0,
            rejects: 0,
            minutes: None,
        }
        .into(),
        ChannelSettled {
            channel: ChannelId(1),
            name: "Web shop".to_owned(),
            kind: ChannelKind::Web,
            terms: ChannelTerms {
                percent_fee: Some(ratio("6.5 %")),
                fixed_fee: Some(Money::from_minor(20, Currency::USD)),
                ..ChannelTerms::default()
            },
            closed: false,
        }
        .into(),
    ];
    app.act_on(date(2026, 6, 1), "test", |_, _| Ok(facts.clone()))
        .unwrap();
    app
}

const FILE: &str = "Date,Order,Item,Qty,Total,Shipping\n\
    20/06/2026,A-1,Harbour Fig bar,2,14.00,4.00\n\
    20/06/2026,A-1,Rainy loft 3-pack,1,18.00,4.00\n\
    21/06/2026,A-2,Harbour Fig bar,1,7.00,\n\
    21/06/2026,A-3,Gift card,1,20.00,\n\
    22/06/2026,A-4,Harbour Fig bar,soon,7.00,\n\
    23/06/2026,A-5,Harbour Fig bar,-1,-7.00,\n\
    24/12/2026,A-6,Harbour Fig bar,1,7.00,\n";

/// The same without the row of a name that is not known yet, for which its
/// order would wait.
fn of_known_names() -> ReadFile {
    let rows = FILE.replace("20/06/2026,A-1,Rainy loft 3-pack,1,18.00,4.00\n", "");
    assert!(rows.len() < FILE.len());
    open("orders.csv", rows.as_bytes()).unwrap()
}

/// Keeps the layout that is proposed for a file.
fn keep(app: &App, file: &ReadFile, name: &str) -> Filled {
    let table = &file.tables[0];
    let proposed = app
        .look(|workshop| layout::propose(workshop, table, None))
        .unwrap();
    let form = proposed.with("name", name);
    layout::keep(app, "test", table, &form).unwrap();
    form
}

fn fates(app: &App, file: &ReadFile, name: &str) -> Vec<String> {
    let run = app
        .look(|workshop| dry_run(workshop, TODAY, name, &file.tables[0]))
        .unwrap()
        .unwrap();
    let words = run
        .rows
        .iter()
        .map(|(_, fate)| format!("{} {}", fate.word(), fate.why()));
    words.map(|words| words.trim().to_owned()).collect()
}

#[test]
fn every_row_of_a_file_has_its_fate_and_twice_adds_nothing() {
    let app = shop();
    let file = open("orders.csv", FILE.as_bytes()).unwrap();
    let form = keep(&app, &file, "orders");
    let chosen: Vec<&str> = (0..6)
        .map(|nth| form.get(&format!("column[{nth}]")))
        .collect();
    assert_eq!(
        chosen,
        ["day", "reference", "name", "amount", "paid", "postage"]
    );
    assert_eq!(
        (form.get("days"), form.get("kind"), form.get("channel")),
        ("dmy", "sales", "1")
    );
    let known = app
        .look(|workshop| layout::layouts_for(workshop, &file.tables[0]))
        .unwrap();
    assert_eq!(known.0, ["orders"]);
    let run = app
        .look(|workshop| dry_run(workshop, TODAY, "orders", &file.tables[0]).unwrap())
        .unwrap();
    let names: Vec<&str> = run.open.iter().map(|open| open.name.as_str()).collect();
    assert_eq!(names, ["Gift card", "Rainy loft 3-pack"]);
    let answers = [
        ("name[0]", "Gift card"),
        ("meant[0]", "nothing"),
        ("name[1]", "Rainy loft 3-pack"),
        ("meant[1]", "product:2"),
        ("each[1]", "3"),
    ];
    reading_in::match_names(&app, "test", "orders", &filled(&answers)).unwrap();
    assert_eq!(
        fates(&app, &file, "orders"),
        [
            "will be added",
            "will be added",
            "will be added",
            "left out \"Gift card\" is nothing of yours",
            "cannot be read Qty \"soon\": it is not a figure; write a figure such as 1234.50",
            "left out it goes the other way; write down what came back at its sale",
            "left out its day is still to come",
        ]
    );
    let done = read_in(&app, "test", "orders", &file, "").unwrap();
    // Two sales, the other row of the first, and the file.
    assert_eq!(done.facts.len(), 4);
    app.look(|workshop| {
        let sales = workshop.trade().sales();
        assert_eq!(sales.len(), 2);
        let first = &sales[0];
        assert_eq!((first.day, first.from), (date(2026, 6, 20), SaleFrom::File));
        assert_eq!(first.payment, Payment::Payout);
        // 14.00 and 18.00, and the postage of the whole once.
        assert_eq!(first.paid().to_string(), "36.00 USD");
        let units: Vec<_> = first.lines.iter().flat_map(|line| &line.units).collect();
        assert_eq!((units[0].lot, units[0].count), (Some(PourId(1)), 2));
        assert_eq!((units[1].lot, units[1].count), (None, 3));
        // 36.00 × 6.5 % + 0.20 = 2.54.
        assert_eq!(
            workshop::selling::fees_of(workshop, first).to_string(),
            "2.54 USD"
        );
        assert_eq!(workshop.trade().files()[0].added, 3);
    })
    .unwrap();
    let again = read_in(&app, "test", "orders", &file, "").unwrap();
    assert_eq!(again.facts, []);
    // A longer export, in another form, with the rows in another order.
    let mut rows: Vec<&str> = FILE.lines().collect();
    rows[5] = "22/06/2026,A-4,Harbour Fig bar,2,14.00,";
    rows[1..].reverse();
    let longer = rows
        .join("\r\n")
        .replace(",14.00,4.00", ",14.0,$4.00")
        .replace(',', ";");
    let longer = open("longer.csv", longer.as_bytes()).unwrap();
    let done = read_in(&app, "test", "orders", &longer, "").unwrap();
    assert_eq!(done.facts.len(), 2, "{:?}", done.facts);
    assert!(matches!(&done.facts[0], Fact::Sold(sold) if sold.lines[0].paid.minor() == 1_400));
}

#[test]
fn another_layout_of_the_channel_does_not_add_it_again() {
    let app = shop();
    let file = of_known_names();
    let form = keep(&app, &file, "orders");
    read_in(&app, "test", "orders", &file, "").unwrap();
    let table = &file.tables[0];
    // What is read besides may change.
    layout::keep(&app, "test", table, &form.clone().with("column[5]", "")).unwrap();
    assert_eq!(
        read_in(&app, "test", "orders", &file, "").unwrap().facts,
        []
    );
    // What tells rows apart may not, once rows were read by it.
    let other = form.with("column[3]", "");
    let refused = layout::keep(&app, "test", table, &other).unwrap_err();
    assert!(
        refused
            .to_string()
            .contains("rows were read in under that name"),
        "{refused}"
    );
    layout::keep(&app, "test", table, &other.with("name", "again")).unwrap();
    let fates = fates(&app, &file, "again");
    let why = "left out its number was read in as \"orders\", from other columns";
    assert_eq!((fates[0].as_str(), fates[1].as_str()), (why, why));
    // The row that could not be read under the first layout can be now.
    assert_eq!(fates[3], "will be added");
}

#[test]
fn a_file_of_the_stall_is_sold_at_its_market_day_or_left_to_its_count() {
    let app = shop();
    let day = date(2026, 6, 20);
    let facts: Vec<Fact> = vec![
        ChannelSettled {
            channel: ChannelId(2),
            name: "Stall".to_owned(),
            kind: ChannelKind::Stall,
            terms: ChannelTerms::default(),
            closed: false,
        }
        .into(),
        MarketDaySettled {
            market_day: MarketDayId(1),
            channel: ChannelId(2),
            market: "Quarry Lane".to_owned(),
            on: day,
            costs: DayCosts::default(),
            hours: None,
            called_off: false,
        }
        .into(),
    ];
    app.act_on(day, "test", |_, _| Ok(facts.clone())).unwrap();
    let rows = "Date,Item,Paid\n2026-06-20,Harbour Fig bar,7.00\n2026-06-21,Harbour Fig bar,7.00\n";
    let file = open("till.csv", rows.as_bytes()).unwrap();
    let table = &file.tables[0];
    let form = app
        .look(|workshop| layout::propose(workshop, table, None))
        .unwrap();
    let form = form.with("name", "till").with("channel", "2");
    layout::keep(&app, "test", table, &form).unwrap();
    read_in(&app, "test", "till", &file, "").unwrap();
    let days = app
        .look(|workshop| {
            let sales = workshop.trade().sales();
            sales.iter().map(|sale| sale.market_day).collect::<Vec<_>>()
        })
        .unwrap();
    assert_eq!(days, [Some(MarketDayId(1)), None]);
    let counted = MarketDayCounted {
        market_day: MarketDayId(1),
        back: vec![],
        given: vec![],
        spoilt: vec![],
        missing: vec![],
    };
    app.act_on(day, "test", |_, _| Ok(vec![counted.clone().into()]))
        .unwrap();
    let longer = open(
        "till.csv",
        format!("{rows}2026-06-20,Rainy Loft bar,8.00\n").as_bytes(),
    )
    .unwrap();
    let fates = fates(&app, &longer, "till");
    assert_eq!(fates[..2], ["already there", "already there"]);
    assert!(
        fates[2].contains("the market day at Quarry Lane was counted back"),
        "{fates:?}"
    );
}

#[test]
fn a_day_that_could_be_two_is_asked_about() {
    let app = shop();
    let file = open(
        "x.csv",
        b"Date,Item,Paid\n03/04/2026,Harbour Fig bar,7.00\n",
    )
    .unwrap();
    let table = &file.tables[0];
    let form = app
        .look(|workshop| layout::propose(workshop, table, None))
        .unwrap();
    let form = form.with("name", "till");
    assert_eq!(form.get("days"), "");
    let refused = layout::keep(&app, "test", table, &form)
        .unwrap_err()
        .to_string();
    assert!(refused.contains("can be read in two ways"), "{refused}");
    layout::keep(&app, "test", table, &form.with("days", "mdy")).unwrap();
    read_in(&app, "test", "till", &file, "").unwrap();
    let day = app
        .look(|workshop| workshop.trade().sales()[0].day)
        .unwrap();
    assert_eq!(day, date(2026, 3, 4));
}

#[test]
fn a_last_row_that_holds_no_day_hinders_no_other() {
    let app = shop();
    let rows = "Date,Item,Qty,Total\n\
        20.11.2026,Harbour Fig bar,2,14.00\n\
        21.11.2026,Harbour Fig bar,1,7.00\n\
        Total,,3,21.00\n";
    let file = open("x.csv", rows.as_bytes()).unwrap();
    let form = keep(&app, &file, "orders");
    assert_eq!((form.get("column[0]"), form.get("days")), ("day", "dmy"));
    let total = "cannot be read Date \"Total\": it is not a day; \
        write day, month, year, such as 31/12/2026";
    assert_eq!(
        fates(&app, &file, "orders"),
        ["will be added", "will be added", total]
    );
    // Two of four are too many for a column of days.
    let other = "When,Item,Paid\n\
        20.11.2026,Harbour Fig bar,7.00\nsoon,Harbour Fig bar,7.00\n\
        21.11.2026,Harbour Fig bar,7.00\nlater,Harbour Fig bar,7.00\n";
    let file = open("y.csv", other.as_bytes()).unwrap();
    let table = &file.tables[0];
    let form = app
        .look(|workshop| layout::propose(workshop, table, None))
        .unwrap();
    let form = form.with("name", "other").with("column[0]", "day");
    let refused = layout::keep(&app, "test", table, &form)
        .unwrap_err()
        .to_string();
    assert!(refused.contains("holds something else"), "{refused}");
}

#[test]
fn equal_rows_of_one_file_are_two_sales_and_stay_two() {
    let app = shop();
    let rows = "Date,Item,Paid\n2026-06-20,Harbour Fig bar,7.00\n2026-06-20,Harbour Fig bar,7.00\n";
    let file = open("x.csv", rows.as_bytes()).unwrap();
    keep(&app, &file, "till");
    read_in(&app, "test", "till", &file, "").unwrap();
    let longer =
        format!("{rows}2026-06-20,Harbour Fig bar,7.00\n2026-06-21,Harbour Fig bar,7.00\n");
    let longer = open("x.csv", longer.as_bytes()).unwrap();
    assert_eq!(
        fates(&app, &longer, "till"),
        [
            "already there",
            "already there",
            "will be added",
            "will be added"
        ]
    );
    read_in(&app, "test", "till", &longer, "").unwrap();
    assert_eq!(
        app.look(|workshop| workshop.trade().sales().len()).unwrap(),
        4
    );
}

#[test]
fn a_row_is_known_again_with_its_time_as_a_workbook_writes_it() {
    let app = shop();
    let row = |time: &str| format!("Date,Item,Paid\n2026-06-20 {time},Harbour Fig bar,7.00\n");
    let file = open("x.csv", row("10:15:00").as_bytes()).unwrap();
    keep(&app, &file, "till");
    read_in(&app, "test", "till", &file, "").unwrap();
    for (time, fate) in [("10:15", "already there"), ("10:16", "will be added")] {
        let file = open("x.csv", row(time).as_bytes()).unwrap();
        assert_eq!(fates(&app, &file, "till"), [fate]);
    }
}

#[test]
fn an_order_waits_as_a_whole() {
    let app = shop();
    let rows = "Date,Order,Item,Qty,Total\n\
        20/06/2026,A-1,Harbour Fig bar,2,14.00\n\
        20/06/2026,A-1,Rainy loft 3-pack,1,18.00\n\
        21/06/2026,A-2,Harbour Fig bar,1,7.00\n";
    let file = open("x.csv", rows.as_bytes()).unwrap();
    keep(&app, &file, "orders");
    let waits = "waits say what \"Rainy loft 3-pack\" is";
    assert_eq!(
        fates(&app, &file, "orders"),
        [waits, waits, "will be added"]
    );
    read_in(&app, "test", "orders", &file, "").unwrap();
    let answer = [
        ("name[0]", "Rainy loft 3-pack"),
        ("meant[0]", "product:2"),
        ("each[0]", "3"),
    ];
    reading_in::match_names(&app, "test", "orders", &filled(&answer)).unwrap();
    read_in(&app, "test", "orders", &file, "").unwrap();
    let paid = app.look(|workshop| {
        let sales = workshop.trade().sales().iter();
        let paid = sales.map(|sale| sale.paid().minor());
        paid.collect::<Vec<_>>()
    });
    assert_eq!(paid.unwrap(), [700, 3_200]);
}

#[track_caller]
fn is_pack(name: &str, expected: Option<u32>) {
    assert_eq!(cells::in_pack(name), expected, "{name}");
}

#[test]
fn a_name_tells_how_many_are_in_one() {
    is_pack("Fig melts 3-pack", Some(3));
    is_pack("Bags x50", Some(50));
    is_pack("6 × fig bar", Some(6));
    is_pack("Mint tin (set of 4)", Some(4));
    is_pack("Wicks 100pcs", Some(100));
    is_pack("Bag 10 x 20 cm", None);
    is_pack("Fig oil x 16 oz", None);
    is_pack("Fig oil 16oz", None);
    is_pack("Fig bar", None);
    is_pack("1-pack", None);
    is_pack("99999999999-pack", None);
    is_pack("", None);
}

#[test]
fn a_kept_name_can_be_said_anew_for_rows_to_come() {
    let app = shop();
    let head = "Date,Item,Qty,Total\n";
    let row = |day: u32| format!("{day}/06/2026,Rainy loft 3-pack,1,18.00\n");
    let plain = "20/06/2026,Rainy loft tin,1,6.00\n";
    let file = open("x.csv", format!("{head}{}{plain}", row(20)).as_bytes()).unwrap();
    keep(&app, &file, "orders");
    let open_names = app
        .look(|workshop| dry_run(workshop, TODAY, "orders", &file.tables[0]).unwrap())
        .unwrap()
        .open;
    let proposed: Vec<_> = open_names
        .iter()
        .map(|open| (open.name.as_str(), open.maybe, open.in_one))
        .collect();
    // A pack may be of anything that is called so; its figure is proposed.
    let expected = [
        ("Rainy loft 3-pack", None, Some(3)),
        ("Rainy loft tin", Some(Meant::Product(ProductId(2))), None),
    ];
    assert_eq!(proposed, expected);
    let said = |each: &str| {
        let answer = [
            ("name[0]", "Rainy loft 3-pack"),
            ("meant[0]", "product:2"),
            ("each[0]", each),
        ];
        reading_in::match_names(&app, "test", "orders", &filled(&answer)).unwrap();
        app.look(|workshop| {
            let names = workshop.trade().names("orders");
            let names = names.map(|(name, meant, one)| {
                let one = one.map_or_else(String::new, ToString::to_string);
                (name.to_owned(), meant, one)
            });
            names.collect::<Vec<_>>()
        })
        .unwrap()
    };
    let is = |one: &str| {
        let meant = Meant::Product(ProductId(2));
        vec![("Rainy loft 3-pack".to_owned(), meant, one.to_owned())]
    };
    assert_eq!(said(""), is(""));
    read_in(&app, "test", "orders", &file, "").unwrap();
    assert_eq!(said("3"), is("3"));
    let longer = format!("{head}{}{}", row(20), row(21));
    let longer = open("longer.csv", longer.as_bytes()).unwrap();
    assert_eq!(
        fates(&app, &longer, "orders"),
        ["already there", "will be added"]
    );
    read_in(&app, "test", "orders", &longer, "").unwrap();
    let units = |day: i8| sold(&app)[&(date(2026, 6, day), 2)].0;
    assert_eq!((units(20), units(21)), (1, 3));
}

#[test]
fn figures_of_a_workbook_have_no_decimal_mark_to_be_told() {
    let app = shop();
    let file = "Day;Item;Paid\n2026-06-20;Harbour Fig bar;7,50\n";
    let file = open("tills.csv", file.as_bytes()).unwrap();
    assert_eq!(keep(&app, &file, "tills").get("mark"), "comma");
    let text = |at: &str, words: &str| {
        format!("<c r=\"{at}\" t=\"inlineStr\"><is><t>{words}</t></is></c>")
    };
    let (day, item, paid) = (text("A1", "Day"), text("B1", "Item"), text("C1", "Paid"));
    let head = format!("<row r=\"1\">{day}{item}{paid}</row>");
    let (day, item) = (text("A2", "2026-06-21"), text("B2", "Harbour Fig bar"));
    let row = format!("<row r=\"2\">{day}{item}<c r=\"C2\"><v>8.125</v></c></row>");
    let file = open("tills.xlsx", &workbook(&format!("{head}{row}"))).unwrap();
    read_in(&app, "test", "tills", &file, "").unwrap();
    app.look(|workshop| {
        let paid = workshop.trade().sales()[0].paid();
        assert_eq!(paid.to_string(), "8.12 USD");
    })
    .unwrap();
}

#[test]
fn the_tax_of_an_order_in_each_of_its_rows_is_taken_once() {
    let app = shop();
    let books = BookSettings {
        tax: Some(SalesTax {
            name: "sales tax".to_owned(),
            rate: measure::Ratio::parse("6.25 %", measure::Reading::PLAIN).unwrap(),
            inside: true,
            number: String::new(),
        }),
        year_month: 1,
        year_day: 1,
        ..BookSettings::default()
    };
    app.act("test", |workshop, _| {
        workshop::decide::settle_books(workshop, books.clone())
    })
    .unwrap();
    let rows = "Date,Order,Item,Qty,Total,Tax\n\
        20/06/2026,A-1,Harbour Fig bar,2,14.00,1.29\n\
        20/06/2026,A-1,Rainy Loft bar,1,8.00,1.29\n\
        21/06/2026,A-2,Harbour Fig bar,1,7.00,0.41\n\
        21/06/2026,A-2,Rainy Loft bar,1,7.00,0.41\n";
    let file = open("x.csv", rows.as_bytes()).unwrap();
    keep(&app, &file, "orders");
    read_in(&app, "test", "orders", &file, "").unwrap();
    let taxes = app.look(|workshop| {
        let sales = workshop.trade().sales().iter();
        let taxes = sales.map(|sale| sale.tax.minor());
        taxes.collect::<Vec<_>>()
    });
    // 22.00 × 0.0625 ÷ 1.0625 is 1.29, that of the whole; 14.00 give 0.82, that
    // of two rows.
    assert_eq!(taxes.unwrap(), [129, 82]);
}

#[test]
fn fees_of_one_order_in_two_files_add_up() {
    let app = shop();
    let head = "Date,Order,Item,Qty,Total,Fee\n";
    let rows = [
        "20/06/2026,A-1,Harbour Fig bar,2,14.00,0.90\n",
        "20/06/2026,A-1,Rainy Loft bar,1,8.00,0.50\n",
    ];
    let files = rows.map(|row| open("x.csv", format!("{head}{row}").as_bytes()).unwrap());
    keep(&app, &files[0], "orders");
    for file in &files {
        read_in(&app, "test", "orders", file, "").unwrap();
    }
    app.look(|workshop| {
        let sales = workshop.trade().sales().iter();
        let fees: Vec<i64> = sales.map(|sale| sale.fees.unwrap().minor()).collect();
        assert_eq!(fees, [90, 50]);
    })
    .unwrap();
}

#[test]
fn deliveries_say_what_one_weighs_once() {
    let app = shop();
    let rows = "Date,Invoice,Supplier,Item,Qty,Unit price,Freight,Lot\n\
        2026-05-02,S-9,Saltmarsh Scents,Fig fragrance 16oz,2,24.50,6.00,L7\n\
        2026-05-02,S-9,Saltmarsh Scents,soy wax,10 lb,31.00,6.00,W3\n\
        2026-05-02,S-9,Saltmarsh Scents,Bags x50,3,4.00,6.00,\n";
    let file = open("bought.csv", rows.as_bytes()).unwrap();
    let form = keep(&app, &file, "bought");
    assert_eq!(
        (form.get("kind"), form.get("column[7]")),
        ("purchases", "supplier_lot")
    );
    let run = app
        .look(|workshop| dry_run(workshop, TODAY, "bought", &file.tables[0]).unwrap())
        .unwrap();
    assert_eq!(run.open.len(), 2);
    let refused = reading_in::match_names(
        &app,
        "test",
        "bought",
        &filled(&[
            ("name[0]", "Fig fragrance 16oz"),
            ("meant[0]", "supply:2"),
            ("bare[0]", "yes"),
        ]),
    );
    assert!(refused.unwrap_err().to_string().contains("what one weighs"));
    let answers = [
        ("name[0]", "Fig fragrance 16oz"),
        ("meant[0]", "supply:2"),
        ("each[0]", "16 oz"),
        ("bare[0]", "yes"),
        ("name[1]", "Bags x50"),
        ("meant[1]", "supply:3"),
        ("each[1]", "50"),
    ];
    reading_in::match_names(&app, "test", "bought", &filled(&answers)).unwrap();
    read_in(&app, "test", "bought", &file, "").unwrap();
    app.look(|workshop| {
        let [receipt] = workshop.receipts().collect::<Vec<_>>()[..] else {
            panic!("one delivery came");
        };
        assert_eq!(receipt.freight.unwrap().to_string(), "6.00 USD");
        let lines: Vec<String> = receipt
            .lines
            .iter()
            .map(|line| format!("{} {} {}", line.amount, line.paid, line.supplier_lot))
            .collect();
        assert_eq!(
            lines,
            ["32 oz 49.00 USD L7", "10 lb 31.00 USD W3", "150 12.00 USD "]
        );
    })
    .unwrap();
    assert_eq!(
        read_in(&app, "test", "bought", &file, "").unwrap().facts,
        []
    );
}

/// What was paid for each delivery and its freight, in coins.
fn delivered(app: &App) -> Vec<(i64, i64)> {
    app.look(|workshop| {
        let receipts = workshop.receipts();
        let of = receipts.map(|receipt| {
            let paid = receipt.lines.iter().map(|line| line.paid.minor());
            let paid = paid.sum::<i64>();
            (paid, receipt.freight.map_or(0, Money::minor))
        });
        of.collect::<Vec<_>>()
    })
    .unwrap()
}

#[test]
fn a_delivery_waits_as_a_whole_and_bears_its_freight_once() {
    let app = shop();
    let rows = "Date,Supplier,Item,Qty,Cost,Freight\n\
        2026-05-02,Saltmarsh Scents,soy wax,10 lb,31.00,8.50\n\
        2026-05-02,Saltmarsh Scents,Wick bags,50,4.00,8.50\n\
        2026-05-02,Tide Wax,soy wax,5 lb,16.00,2.00\n";
    let file = open("bought.csv", rows.as_bytes()).unwrap();
    keep(&app, &file, "bought");
    let waits = "waits say what \"Wick bags\" is";
    // What another sent that day came by itself.
    assert_eq!(
        fates(&app, &file, "bought"),
        [waits, waits, "will be added"]
    );
    read_in(&app, "test", "bought", &file, "").unwrap();
    assert_eq!(delivered(&app), [(1_600, 200)]);
    let answer = [("name[0]", "Wick bags"), ("meant[0]", "supply:3")];
    reading_in::match_names(&app, "test", "bought", &filled(&answer)).unwrap();
    read_in(&app, "test", "bought", &file, "").unwrap();
    assert_eq!(delivered(&app), [(1_600, 200), (3_500, 850)]);
    // A row that a later file has besides came with those, and so did its
    // freight.
    let longer = format!("{rows}2026-05-02,Saltmarsh Scents,fig oil,1 lb,24.00,8.50\n");
    let longer = open("longer.csv", longer.as_bytes()).unwrap();
    read_in(&app, "test", "bought", &longer, "").unwrap();
    assert_eq!(delivered(&app), [(1_600, 200), (3_500, 850), (2_400, 0)]);
}

#[test]
fn a_row_that_goes_the_other_way_asks_for_no_name() {
    let app = shop();
    let rows = "Date,Invoice,Supplier,Item,Qty,Cost\n\
        2026-05-02,S-9,Saltmarsh Scents,Fig fragrance,100 g,4.50\n\
        2026-05-02,S-9,Saltmarsh Scents,fig oil,100 g,4.50\n\
        2026-05-03,S-10,Saltmarsh Scents,fig oil,-100 g,-4.50\n\
        2026-05-03,S-10,Saltmarsh Scents,Fig fragrance,-100 g,-4.50\n\
        2026-05-03,S-10,Saltmarsh Scents,Thank you,1,-1.00\n";
    let file = open("bought.csv", rows.as_bytes()).unwrap();
    keep(&app, &file, "bought");
    let waits = "waits say what \"Fig fragrance\" is";
    let went = "left out it goes the other way; put the delivery right that it came with";
    let fates_of = fates(&app, &file, "bought");
    assert_eq!(fates_of[0], waits);
    assert_eq!(fates_of[2..], [went, went, went]);
    let rows = "Date,Item,Qty,Total\n20/06/2026,Rainy loft 3-pack,-1,-18.00\n";
    let file = open("x.csv", rows.as_bytes()).unwrap();
    keep(&app, &file, "orders");
    assert_eq!(
        fates(&app, &file, "orders"),
        ["left out it goes the other way; write down what came back at its sale"]
    );
}

#[test]
fn a_payout_is_matched_to_the_sales_it_pays_for() {
    let app = shop();
    let file = of_known_names();
    keep(&app, &file, "orders");
    read_in(&app, "test", "orders", &file, "").unwrap();
    // 14.00 + 4.00, and A-2: 7.00. Kept of them
    // 18.00 × 6.5 % + 0.20 = 1.37 and 7.00 × 6.5 % + 0.20 = 0.655, so 0.66.
    let bank = open(
        "bank.csv",
        b"Paid on,Reference,Amount\n2026-06-25,P-1,22.97\n2026-06-25,P-2,-3.00\n",
    )
    .unwrap();
    let form = keep(&app, &bank, "bank");
    assert_eq!(form.get("kind"), "payouts");
    assert_eq!(
        fates(&app, &bank, "bank"),
        ["will be added", "left out no money came in"]
    );
    read_in(&app, "test", "bank", &bank, "").unwrap();
    assert_eq!(read_in(&app, "test", "bank", &bank, "").unwrap().facts, []);
    app.look(|workshop| {
        let payout = workshop.trade().payout(PayoutId(1)).unwrap();
        let guess = guess_payout(workshop, payout);
        assert_eq!(guess.sales.len(), 2);
        assert_eq!((guess.net.minor(), guess.difference.minor()), (2_297, 0));
    })
    .unwrap();
    let short = payouts::settle(&app, "test", PayoutId(1), &filled(&[("sale", "1")])).unwrap_err();
    assert!(
        short.to_string().contains("6.34 USD more than these sales"),
        "{short}"
    );
    let kept = |app: &App| {
        let kept = app.look(|workshop| {
            let payout = workshop.trade().payout(PayoutId(1)).unwrap();
            workshop::payouts::kept_beyond_terms(workshop, payout)
        });
        kept.unwrap().map(Money::minor)
    };
    let fees = |app: &App| -> i64 {
        let books = app.books().unwrap().unwrap();
        let rows = app.look(|workshop| earned_by(workshop, &books, By::Month, Days::ALL));
        rows.unwrap().values().map(|row| row.fees).sum()
    };
    let by_terms = fees(&app);
    assert_eq!(kept(&app), None);
    let ahead = filled(&[("sale", "1"), ("note", "the next one ahead")]);
    payouts::settle(&app, "test", PayoutId(1), &ahead).unwrap();
    assert_eq!((kept(&app), fees(&app)), (Some(-634), by_terms - 634));
    payouts::settle(
        &app,
        "test",
        PayoutId(1),
        &filled(&[("sale", "1"), ("sale", "2")]),
    )
    .unwrap();
    assert_eq!((kept(&app), fees(&app)), (Some(0), by_terms));
    let paid = app
        .look(|workshop| workshop.trade().sales()[1].payout)
        .unwrap();
    assert_eq!(paid, Some(PayoutId(1)));
    // What one payout pays for is no other's.
    let note = [
        ("channel", "1"),
        ("amount", "5.00"),
        ("came_on", "2026-07-01"),
    ];
    payouts::note(&app, "test", &filled(&note)).unwrap();
    let twice = payouts::settle(&app, "test", PayoutId(2), &filled(&[("sale", "1")])).unwrap_err();
    assert!(
        twice
            .to_string()
            .contains("another payout pays for that sale"),
        "{twice}"
    );
}

/// What was sold on each day of each reference: units and money by good.
fn sold(app: &App) -> BTreeMap<(Date, u32), (u64, i64)> {
    app.look(|workshop| {
        let mut sold: BTreeMap<(Date, u32), (u64, i64)> = BTreeMap::new();
        for sale in workshop.trade().sales() {
            for line in &sale.lines {
                for units in &line.units {
                    sold.entry((sale.day, units.product.0)).or_default().0 +=
                        u64::from(units.count);
                }
                sold.entry((sale.day, line.units[0].product.0))
                    .or_default()
                    .1 += line.paid.minor();
            }
            sold.entry((sale.day, 0)).or_default().1 += sale.postage.map_or(0, Money::minor);
        }
        sold
    })
    .unwrap()
}

const HEAD: &str = "Date,Order,Item,Qty,Total,Shipping\n";

fn read_rows(app: &App, rows: &[String]) -> usize {
    if rows.is_empty() {
        return 0;
    }
    let file = open("x.csv", format!("{HEAD}{}", rows.concat()).as_bytes()).unwrap();
    read_in(app, "test", "orders", &file, "")
        .unwrap()
        .facts
        .len()
}

fn shop_that_reads() -> App {
    let app = shop();
    let row = "20/06/2026,A-0,Harbour Fig bar,2,14.00,4.00\n";
    let file = open("x.csv", format!("{HEAD}{row}").as_bytes()).unwrap();
    keep(&app, &file, "orders");
    app
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// However an export is cut into files that overlap, and however often and
    /// in which order they come, what was sold is what the whole says.
    #[test]
    fn files_that_overlap_come_to_the_whole(
        orders in prop::collection::vec((1_i8..=28, prop::collection::vec((1_u32..3, 1_u32..40, 100_i64..3_000), 1..4), 0_i64..3, any::<bool>()), 1..14),
        cuts in prop::collection::vec((0_usize..60, 0_usize..60), 0..5),
    ) {
        let mut rows: Vec<String> = Vec::new();
        for (nth, (day, lines, postage, named)) in orders.iter().enumerate() {
            let order = if *named { format!("A-{nth}") } else { String::new() };
            for (line, (product, count, paid)) in lines.iter().enumerate() {
                let item = ["Harbour Fig bar", "Rainy Loft bar"][*product as usize - 1];
                // The postage of the order stands in each of its rows; rows
                // without a number differ by what they cost.
                let postage = if *named { 300 * postage } else { 0 };
                let paid = if *named { paid + i64::try_from(line).unwrap() * 5_000 } else { i64::try_from(nth * 4 + line).unwrap() * 10_000 + paid };
                let money = |minor: i64| format!("{}.{:02}", minor / 100, minor % 100);
                rows.push(format!("{day:02}/06/2026,{order},{item},{count},{},{}\n", money(paid), money(postage)));
            }
        }
        let whole = shop_that_reads();
        read_rows(&whole, &rows);
        prop_assert_eq!(read_rows(&whole, &rows), 0, "twice is once");
        let parts = shop_that_reads();
        for (one, other) in &cuts {
            let (from, to) = (one.min(other) % (rows.len() + 1), one.max(other) % (rows.len() + 1));
            read_rows(&parts, rows.get(from.min(to)..from.max(to)).unwrap_or_default());
        }
        read_rows(&parts, &rows);
        prop_assert_eq!(sold(&parts), sold(&whole));
    }

    /// Whatever bytes come, there is a table or a word of refusal.
    #[test]
    fn no_bytes_do_any_harm(bytes in prop::collection::vec(any::<u8>(), 0..600)) {
        let _ = open("x", &bytes);
        let _ = open("x", &[b"PK\x03\x04".as_slice(), &bytes].concat());
        let text = String::from_utf8_lossy(&bytes).into_owned();
        for order in [DayOrder::YearMonthDay, DayOrder::DayMonthYear, DayOrder::MonthDayYear] {
            let _ = cells::day(&text, order);
        }
        for mark in [DecimalMark::Point, DecimalMark::Comma] {
            let _ = cells::money(&text, mark, Currency::USD);
        }
    }

    #[test]
    fn no_text_in_a_table_does_any_harm(rows in prop::collection::vec("[-0-9a-zA-Z,;\" ./€$|\t]{0,40}", 1..30)) {
        let app = shop_that_reads();
        let file = format!("{HEAD}{}\n", rows.join("\n"));
        if let Ok(file) = open("x.csv", file.as_bytes()) {
            let table = &file.tables[0];
            let form = app.look(|workshop| layout::propose(workshop, table, None)).unwrap();
            let _ = layout::keep(&app, "test", table, &form.with("name", "other"));
            for layout in ["orders", "other"] {
                let run = app.look(|workshop| dry_run(workshop, TODAY, layout, table)).unwrap();
                if let Ok(run) = run {
                    let added = run.n(Fate::Added.word());
                    prop_assert_eq!(run.rows.len(), table.rows.len());
                    prop_assert!(added == 0 || run.sums.things > 0);
                }
            }
        }
    }

    /// A workbook with bytes changed is read, or refused in words.
    #[test]
    fn no_broken_workbook_does_any_harm(changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..12)) {
        let text = "<row r=\"1\"><c r=\"A1\" t=\"inlineStr\"><is><t>Day</t></is></c></row><row r=\"2\"><c r=\"A2\"><v>46000</v></c></row>";
        let mut bytes = workbook(text);
        for (at, byte) in changes {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        let _ = open("x.xlsx", &bytes);
    }
}
