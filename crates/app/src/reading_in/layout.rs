//! Which column holds what: proposed from the headings and from what stands
//! below them, settled by the maker once, known again by the headings.

use jiff::civil::Date;
use measure::{Checker, DecimalMark, Problem, Unclear};
use workshop::facts::{ChannelId, Column, DayOrder, FileLayout, RowKind};
use workshop::{Workshop, decide};

use super::cells;
use super::table::Table;
use crate::forms::{Filled, one_of};
use crate::{ActError, App, Done};

/// The words a form uses for the columns, with what they are called.
pub const COLUMNS: [(&str, Column, &str); 12] = [
    ("day", Column::Day, "the day"),
    ("reference", Column::Reference, "its number"),
    ("name", Column::Name, "which good or supply"),
    ("amount", Column::Amount, "how many or much"),
    ("each", Column::Each, "price of one"),
    ("paid", Column::Paid, "paid for the row"),
    ("tax", Column::Tax, "tax in that"),
    ("postage", Column::Postage, "postage or freight"),
    ("fees", Column::Fees, "fees kept"),
    ("payment", Column::Payment, "how it was paid"),
    ("supplier", Column::Supplier, "supplier"),
    ("supplier_lot", Column::SupplierLot, "supplier's lot number"),
];

/// The words a form uses for the kinds of rows.
pub const KINDS: [(&str, RowKind); 3] = [
    ("sales", RowKind::Sales),
    ("purchases", RowKind::Purchases),
    ("payouts", RowKind::Payouts),
];

/// The words a form uses for how days are written.
pub const DAY_ORDERS: [(&str, DayOrder); 3] = [
    ("ymd", DayOrder::YearMonthDay),
    ("dmy", DayOrder::DayMonthYear),
    ("mdy", DayOrder::MonthDayYear),
];

const MARKS: [(&str, bool); 2] = [("point", false), ("comma", true)];

/// Words of headings that speak for a column, the surest first. Common
/// practice, no source.
const WORDS: [(Column, &[&str]); 12] = [
    (
        Column::Day,
        &[
            "date", "day", "datum", "fecha", "sold on", "ordered", "created", "time", "paid on",
            "when",
        ],
    ),
    (
        Column::Reference,
        &[
            "order",
            "receipt",
            "invoice",
            "transaction",
            "reference",
            "ref",
            "payout id",
            "number",
            "no",
            "id",
            "bestellung",
            "rechnung",
        ],
    ),
    (
        Column::Name,
        &[
            "item",
            "product",
            "article",
            "listing",
            "title",
            "good",
            "description",
            "name",
            "artikel",
            "supply",
            "what",
        ],
    ),
    (
        Column::Amount,
        &[
            "quantity", "qty", "units", "count", "menge", "anzahl", "pieces", "weight", "amount",
        ],
    ),
    (
        Column::Each,
        &[
            "unit price",
            "item price",
            "price each",
            "each",
            "price",
            "preis",
        ],
    ),
    (
        Column::Paid,
        &[
            "line total",
            "item total",
            "total",
            "gross",
            "paid",
            "net payout",
            "deposit",
            "credit",
            "amount",
            "sum",
            "betrag",
            "cost",
            "value",
        ],
    ),
    (Column::Tax, &["tax", "vat", "gst", "mwst"]),
    (
        Column::Postage,
        &[
            "postage", "shipping", "freight", "delivery", "carriage", "versand",
        ],
    ),
    (
        Column::Fees,
        &["fee", "fees", "commission", "charges", "gebühr"],
    ),
    (
        Column::Payment,
        &[
            "payment method",
            "payment type",
            "tender",
            "paid by",
            "method",
            "payment",
        ],
    ),
    (
        Column::Supplier,
        &[
            "supplier",
            "vendor",
            "seller",
            "bought from",
            "from",
            "lieferant",
        ],
    ),
    (
        Column::SupplierLot,
        &["supplier lot", "lot", "batch", "charge"],
    ),
];

/// Which orders the days of a column can be read in; none where it holds
/// something else.
///
/// A last row that says "total" is no reason against the rest: one cell in ten
/// may hold no day, and one of fewer than ten.
pub fn day_orders(table: &Table, column: usize) -> Vec<DayOrder> {
    let read: Vec<[Option<Date>; 3]> = table.said(column).map(in_each_order).collect();
    let held: Vec<&[Option<Date>; 3]> = read.iter().filter(|days| is_some_day(days)).collect();
    let n_other = read.len() - held.len();
    if held.is_empty() || n_other > (read.len() / 10).max(1) {
        return Vec::new();
    }
    let good = |nth: usize| held.iter().filter(|days| days[nth].is_some()).count();
    let most = (0..DAY_ORDERS.len()).map(good).max().unwrap_or(0);
    if 10 * most < 9 * held.len() {
        return Vec::new();
    }
    let mut orders: Vec<usize> = (0..DAY_ORDERS.len())
        .filter(|nth| good(*nth) == most)
        .collect();
    // Where the year stands in front or the month in letters, all three agree.
    if let Some(first) = orders.first().copied()
        && held
            .iter()
            .all(|days| orders.iter().all(|nth| days[*nth] == days[first]))
    {
        orders.truncate(1);
    }
    orders.into_iter().map(|nth| DAY_ORDERS[nth].1).collect()
}

/// The day that stands in a cell, in each order there is.
fn in_each_order(cell: &str) -> [Option<Date>; 3] {
    DAY_ORDERS.map(|(_, order)| cells::day(cell, order).ok().map(|(day, _)| day))
}

fn is_some_day(days: &[Option<Date>; 3]) -> bool {
    days.iter().any(Option::is_some)
}

/// The decimal mark that the figures of a table can only have; none where
/// both are possible.
pub fn decimal_mark(table: &Table) -> Option<DecimalMark> {
    let (mut point, mut comma) = (0, 0);
    for column in 0..table.headings.len() {
        for cell in table.said(column).take(500) {
            let reads = |mark| cells::figure(&bare(cell), mark).is_ok();
            match (reads(DecimalMark::Point), reads(DecimalMark::Comma)) {
                (true, false) => point += 1,
                (false, true) => comma += 1,
                _ => {}
            }
        }
    }
    match (point > 0, comma > 0) {
        (true, false) => Some(DecimalMark::Point),
        (false, true) => Some(DecimalMark::Comma),
        _ => None,
    }
}

/// A figure without a sign of money or letters around it.
fn bare(cell: &str) -> String {
    let kept = |c: &char| !c.is_alphabetic() && !"$€£¥₹".contains(*c);
    cell.chars().filter(kept).collect()
}

/// How the cells of a column look.
#[derive(Debug, Clone, Copy, Default)]
struct Look {
    days: f64,
    money: f64,
    whole: f64,
    words: f64,
}

fn look(table: &Table, column: usize) -> Look {
    let (mut look, mut all) = (Look::default(), 0.0);
    for cell in table.said(column).take(300) {
        all += 1.0;
        // A unit or a currency stands beside a figure; more letters are words.
        let is_words = cell.chars().filter(|c| c.is_alphabetic()).count() > 3;
        let figure = [DecimalMark::Point, DecimalMark::Comma]
            .iter()
            .filter(|_| !is_words)
            .find_map(|mark| cells::figure(&bare(cell), *mark).ok());
        let is_day = DAY_ORDERS
            .iter()
            .any(|(_, order)| cells::day(cell, *order).is_ok());
        if is_day {
            look.days += 1.0;
        } else if let Some(figure) = figure {
            let is_whole = figure.is_integer() && figure.abs() < measure::Decimal::from(1_000);
            look.whole += f64::from(u8::from(
                is_whole && !cell.contains(['.', ',', '$', '€', '£']),
            ));
            look.money += 1.0;
        } else {
            look.words += 1.0;
        }
    }
    if all > 0.0 {
        for share in [
            &mut look.days,
            &mut look.money,
            &mut look.whole,
            &mut look.words,
        ] {
            *share /= all;
        }
    }
    look
}

/// How well a heading and what stands below it speak for a column, of ten.
fn score(column: Column, heading: &str, look: Look) -> f64 {
    let words: Vec<String> = heading
        .to_lowercase()
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_owned)
        .collect();
    let said = words.join(" ");
    let known = WORDS
        .iter()
        .find(|(of, _)| *of == column)
        .map_or(&[][..], |(_, known)| known);
    let by_word = known.iter().enumerate().find_map(|(nth, known)| {
        let whole = said == *known;
        let within = format!(" {said} ").contains(&format!(" {known} "));
        let surest = 1.0 - 0.04 * f64::from(u32::try_from(nth).unwrap_or(20));
        if whole {
            Some(6.0 * surest)
        } else if within {
            Some(4.0 * surest)
        } else {
            None
        }
    });
    let Some(by_word) = by_word else { return 0.0 };
    let fits = match column {
        Column::Day => look.days,
        Column::Amount => look.whole,
        Column::Each | Column::Paid | Column::Tax | Column::Postage | Column::Fees => look.money,
        Column::Name | Column::Payment | Column::Supplier => look.words,
        Column::Reference | Column::SupplierLot => 1.0 - look.days,
    };
    if fits < 0.5 {
        return 0.0;
    }
    by_word + 4.0 * fits
}

/// The layouts whose files have these very headings, and those whose columns
/// are all there.
pub fn layouts_for(workshop: &Workshop, table: &Table) -> (Vec<String>, Vec<String>) {
    let (mut same, mut like) = (Vec::new(), Vec::new());
    for (name, layout) in workshop.trade().layouts() {
        let has = |heading: &String| table.headings.contains(heading);
        let exactly =
            layout.headings.len() == table.headings.len() && layout.headings.iter().all(has);
        if exactly {
            same.push(name.to_owned());
        } else if layout.columns.iter().all(|(_, heading)| has(heading)) {
            like.push(name.to_owned());
        }
    }
    (same, like)
}

/// The boxes of the form as they would be filled in: from a layout that is
/// kept, or else proposed from the file.
pub fn propose(workshop: &Workshop, table: &Table, kept: Option<&str>) -> Filled {
    let kept = kept.and_then(|name| workshop.trade().layout(name).map(|layout| (name, layout)));
    let mut filled = Filled::default();
    let taken: Vec<(Column, usize)> = match kept {
        Some((name, layout)) => {
            filled = filled.with("name", name);
            let columns = layout.columns.iter();
            columns
                .filter_map(|(column, heading)| Some((*column, table.column(heading)?)))
                .collect()
        }
        None => guess(table),
    };
    for (nth, _) in table.headings.iter().enumerate() {
        let column = taken
            .iter()
            .find(|(_, at)| *at == nth)
            .map(|(column, _)| *column);
        filled = filled.with(&format!("column[{nth}]"), column.map_or("", word_of_column));
    }
    let has = |column: Column| taken.iter().any(|(known, _)| *known == column);
    let kind = kept.map_or_else(
        || match (
            has(Column::Name),
            has(Column::Supplier) || has(Column::SupplierLot),
        ) {
            (true, true) => RowKind::Purchases,
            (true, false) => RowKind::Sales,
            (false, _) => RowKind::Payouts,
        },
        |(_, layout)| layout.kind,
    );
    let day = taken.iter().find(|(column, _)| *column == Column::Day);
    let orders = day
        .map(|(_, at)| day_orders(table, *at))
        .unwrap_or_default();
    let order = match (kept, orders.as_slice()) {
        (_, [only]) => Some(*only),
        (Some((_, layout)), _) => Some(layout.days),
        (None, _) => None,
    };
    let comma = match (decimal_mark(table), kept) {
        (Some(mark), _) => mark == DecimalMark::Comma,
        (None, Some((_, layout))) => layout.comma,
        (None, None) => workshop.reading().decimal_mark == DecimalMark::Comma,
    };
    let mut open = workshop
        .trade()
        .channels()
        .filter(|channel| !channel.closed);
    let only = match (open.next(), open.next()) {
        (Some(only), None) => Some(only.id),
        _ => None,
    };
    let channel = kept.map_or(only, |(_, layout)| layout.channel);
    let word = |found: Option<&'static str>| found.unwrap_or_default();
    filled
        .with(
            "kind",
            word(
                KINDS
                    .iter()
                    .find(|(_, known)| *known == kind)
                    .map(|(word, _)| *word),
            ),
        )
        .with(
            "days",
            word(
                DAY_ORDERS
                    .iter()
                    .find(|(_, known)| Some(*known) == order)
                    .map(|(word, _)| *word),
            ),
        )
        .with("mark", if comma { "comma" } else { "point" })
        .with(
            "channel",
            channel.map_or_else(String::new, |id| id.to_string()),
        )
}

fn word_of_column(column: Column) -> &'static str {
    let found = COLUMNS.iter().find(|(_, known, _)| *known == column);
    found.map_or("", |(word, ..)| word)
}

/// The best-spoken-for column first, each heading and each column once.
fn guess(table: &Table) -> Vec<(Column, usize)> {
    let looks: Vec<Look> = (0..table.headings.len())
        .map(|nth| look(table, nth))
        .collect();
    let mut scores: Vec<(f64, Column, usize)> = Vec::new();
    for (_, column, _) in COLUMNS {
        for (nth, heading) in table.headings.iter().enumerate() {
            let score = score(column, heading, looks[nth]);
            if score > 0.0 {
                scores.push((score, column, nth));
            }
        }
    }
    // Of equals the one further left.
    scores.sort_by(|one, other| other.0.total_cmp(&one.0).then(one.2.cmp(&other.2)));
    let mut taken: Vec<(Column, usize)> = Vec::new();
    for (_, column, nth) in scores {
        if taken
            .iter()
            .all(|(known, at)| *known != column && *at != nth)
        {
            taken.push((column, nth));
        }
    }
    // A day by its look, where no heading says so.
    if taken.iter().all(|(column, _)| *column != Column::Day) {
        let free = |nth: &usize| taken.iter().all(|(_, at)| at != nth);
        let found = (0..looks.len())
            .filter(free)
            .find(|nth| looks[*nth].days > 0.9);
        taken.extend(found.map(|nth| (Column::Day, nth)));
    }
    taken
}

/// Reads the form of a layout.
///
/// # Errors
///
/// [`measure::Problems`] for what is not chosen, or cannot be right.
fn layout_of(table: &Table, filled: &Filled) -> Result<FileLayout, measure::Problems> {
    let mut check = Checker::default();
    let kind = check.required("kind", Some(filled.get("kind")), one_of(&KINDS));
    let mark = check.required("mark", Some(filled.get("mark")), one_of(&MARKS));
    let channel = check.optional("channel", filled.some("channel"), |text| {
        text.parse::<ChannelId>()
            .map_err(|_| Unclear::new(text, "it is not on the list", "choose a channel"))
    });
    let mut columns = Vec::new();
    for (nth, heading) in table.headings.iter().enumerate() {
        let field = format!("column[{nth}]");
        let Some(word) = filled.some(&field) else {
            continue;
        };
        match COLUMNS.iter().find(|(known, ..)| *known == word) {
            None => check.refuse(Problem::new(
                field,
                word,
                "it is not one of the choices",
                "choose one of the list",
            )),
            Some((_, column, called)) => {
                if columns.iter().any(|(known, _)| known == column) {
                    let wrong = format!("two columns are taken for {called}");
                    check.refuse(Problem::new(field, heading, wrong, "choose one of them"));
                } else {
                    columns.push((*column, heading.clone()));
                }
            }
        }
    }
    let at = |wanted: Column| {
        let found = columns.iter().find(|(known, _)| *known == wanted)?;
        table.column(&found.1)
    };
    let days = match (filled.some("days"), at(Column::Day)) {
        (Some(word), _) => check.required("days", Some(word), one_of(&DAY_ORDERS)),
        (None, Some(at)) => match day_orders(table, at).as_slice() {
            [only] => Some(*only),
            [] => {
                let holds_none = |cell: &&str| !is_some_day(&in_each_order(cell));
                let given = table.said(at).find(holds_none);
                let given = given.or_else(|| table.said(at).next());
                let given = given.unwrap_or_default();
                let wrong = "the column taken for the day holds something else";
                check.refuse(Problem::new(
                    format!("column[{at}]"),
                    given,
                    wrong,
                    "choose the one that holds days",
                ));
                None
            }
            [..] => {
                let holds_one = |cell: &&str| is_some_day(&in_each_order(cell));
                let given = table.said(at).find(holds_one).unwrap_or_default();
                let wrong = "the days of the file can be read in two ways";
                check.refuse(Problem::new(
                    "days",
                    given,
                    wrong,
                    "choose whether the day or the month stands first",
                ));
                None
            }
        },
        (None, None) => None,
    };
    if at(Column::Day).is_none() {
        check.refuse(Problem::new(
            "columns",
            "",
            "no column says the day",
            "choose the one that does",
        ));
    }
    let (Some(kind), Some(mark), Some(days)) = (kind, mark, days) else {
        return Err(check.into_problems());
    };
    check.finish()?;
    Ok(FileLayout {
        kind,
        columns,
        days,
        comma: mark,
        channel: channel.filter(|_| kind != RowKind::Purchases),
        headings: table.headings.clone(),
    })
}

/// Keeps how such files are read, as the form says.
///
/// # Errors
///
/// [`ActError`], with a problem for every choice that cannot be right.
pub fn keep(app: &App, who: &str, table: &Table, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let layout = layout_of(table, filled)?;
        decide::keep_layout(workshop, filled.get("name"), layout)
    })
}
