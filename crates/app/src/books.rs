//! The books: stretches of days, expenses, and everything to take away.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use jiff::ToSpan as _;
use jiff::civil::Date;
use ledger::Value;
use ledger::entries::{Account, Book, Entry, Line};
use measure::{Checker, Currency, Money, Problem, Problems, TimeUnit, Unclear};
pub use workshop::books::Days;
use workshop::books::{Books, Flow, Good, Pocket, credits, postage_by_terms};
use workshop::facts::{
    Amount, ChannelId, CostMethod, ExpenseKind, Grade, InvoiceId, Payment, Place, ReturnTo, SaleId,
};
use workshop::payouts::kept_beyond_terms;
use workshop::{Item, MarketDay, Spot, Stage, Workshop, decide, tin_of};

use crate::forms::{Filled, money, one_of, past_day};
use crate::{ActError, App, Done, OpenError};

/// The words a form uses for the kinds of expense.
pub const EXPENSES: [(&str, ExpenseKind); 7] = [
    ("running", ExpenseKind::Running),
    ("equipment", ExpenseKind::Equipment),
    ("postage", ExpenseKind::Postage),
    ("fees", ExpenseKind::Fees),
    ("wages", ExpenseKind::Wages),
    ("showing", ExpenseKind::Showing),
    ("other", ExpenseKind::Other),
];

/// Writes down what was paid for something other than supplies.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn pay_expense(app: &App, who: &str, filled: &Filled) -> Result<Done, ActError> {
    let paid_on = past_day(filled.some("paid_on"), app.today());
    let day = paid_on.as_ref().copied().unwrap_or_else(|_| app.today());
    app.act_on(day, who, |workshop, _| {
        let mut check = Checker::default();
        check.required("paid_on", Some(filled.get("paid_on")), |_| paid_on.clone());
        let kind = check.required("kind", Some(filled.get("kind")), one_of(&EXPENSES));
        let read = money(workshop.currency(), workshop.reading());
        let amount = check.required("amount", Some(filled.get("amount")), read);
        let (Some(kind), Some(amount)) = (kind, amount) else {
            return Err(check.into_problems().into());
        };
        check.finish()?;
        let back = filled.some("back").is_some();
        decide::pay_expense(workshop, kind, amount, filled.get("note"), back)
    })
}

/// The year of the books that a day is in: the calendar year, unless the maker
/// settled that it begins on another day.
pub fn year_of(workshop: &Workshop, day: Date) -> (Date, Date) {
    let books = workshop.trade().books();
    // None before the first year there is and after the last.
    let begins = |year: i16| {
        let (month, first) = books.map_or((1, 1), |books| {
            let part = |part: u8| i8::try_from(part).unwrap_or(1).max(1);
            (part(books.year_month), part(books.year_day))
        });
        // A day that the month does not have is its last.
        let last = Date::new(year, month.min(12), 1).map_or(28, Date::days_in_month);
        Date::new(year, month.min(12), first.min(last)).ok()
    };
    let this = begins(day.year()).filter(|begins| *begins <= day);
    let from = this
        .or_else(|| begins(day.year().saturating_sub(1)))
        .unwrap_or(Date::MIN);
    let next = begins(from.year().saturating_add(1));
    let last = next.and_then(|next| next.yesterday().ok());
    (from, last.unwrap_or(Date::MAX))
}

/// The days a form asks for, `from` to `to`; where it says nothing, the year
/// of the books that `today` is in.
///
/// # Errors
///
/// [`Problems`] for what is no day, and for an end before the beginning.
pub fn days_asked(
    workshop: &Workshop,
    filled: &Filled,
    today: Date,
) -> Result<(Date, Date), Problems> {
    let mut check = Checker::default();
    let from = check.optional("from", filled.some("from"), a_day);
    let to = check.optional("to", filled.some("to"), a_day);
    check.finish()?;
    let (first, last) = match (from, to) {
        (Some(from), Some(to)) => (from, to),
        (Some(from), None) => (
            from,
            from.saturating_add(1.year()).yesterday().unwrap_or(from),
        ),
        (None, Some(to)) => (year_of(workshop, to).0, to),
        (None, None) => year_of(workshop, today),
    };
    if last < first {
        let wrong = "it is before the first day";
        return Err(Problem::new("to", last.to_string(), wrong, "choose a later day").into());
    }
    Ok((first, last))
}

/// Reads a day as forms and the command line write it.
///
/// # Errors
///
/// [`Unclear`] for anything but a year, a month and a day.
pub fn a_day(text: &str) -> Result<Date, Unclear> {
    text.trim()
        .parse()
        .map_err(|_| Unclear::new(text, "it is not a day", "write it as 2026-12-31"))
}

/// One cell of a table that is taken away.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Words.
    Text(String),
    /// A figure, as plain digits with a point.
    Figure(String),
    /// A day.
    Day(Date),
    /// Nothing.
    Empty,
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

impl From<Date> for Cell {
    fn from(day: Date) -> Self {
        Self::Day(day)
    }
}

impl From<Option<Date>> for Cell {
    fn from(day: Option<Date>) -> Self {
        day.map_or(Self::Empty, Self::Day)
    }
}

impl From<Money> for Cell {
    fn from(money: Money) -> Self {
        Self::Figure(money.major().to_string())
    }
}

impl From<Option<Money>> for Cell {
    fn from(money: Option<Money>) -> Self {
        money.map_or(Self::Empty, Self::from)
    }
}

macro_rules! figures {
    ($($number:ty),*) => { $(
        impl From<$number> for Cell {
            fn from(number: $number) -> Self {
                Self::Figure(number.to_string())
            }
        }
    )* };
}

figures!(u32, i64, u64);

/// A table that is taken away.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// The headings, one a column.
    pub headings: Vec<&'static str>,
    /// The rows.
    pub rows: Vec<Vec<Cell>>,
}

impl Table {
    fn new(headings: &[&'static str]) -> Self {
        Self {
            headings: headings.to_vec(),
            rows: Vec::new(),
        }
    }

    /// The table as CSV (RFC 4180) in UTF-8. A text that a spreadsheet would
    /// take for a formula is put behind an apostrophe.
    pub fn to_csv(&self) -> String {
        let mut csv = String::new();
        csv.push_str(&self.headings.join(","));
        csv.push_str("\r\n");
        for row in &self.rows {
            for (nth, cell) in row.iter().enumerate() {
                if nth > 0 {
                    csv.push(',');
                }
                match cell {
                    Cell::Text(text) => csv.push_str(&safe(text)),
                    Cell::Figure(figure) => csv.push_str(figure),
                    Cell::Day(day) => {
                        // Writing to a text cannot fail.
                        let _ = write!(csv, "{day}");
                    }
                    Cell::Empty => {}
                }
            }
            csv.push_str("\r\n");
        }
        csv
    }
}

/// A text that is no formula, in quotes where it needs them.
fn safe(text: &str) -> String {
    let mut cell = text.to_owned();
    // What begins with blanks before the mark is taken for a formula too.
    let begins = cell.trim_start().chars().next();
    if begins.is_some_and(|c| "=+-@＝＋－＠".contains(c)) || cell.starts_with(['\t', '\r']) {
        cell.insert(0, '\'');
    }
    if cell.contains(['"', ',', '\n', '\r']) {
        cell = format!("\"{}\"", cell.replace('"', "\"\""));
    }
    cell
}

/// A kind of thing to take away.
#[derive(Debug, Clone, Copy)]
pub struct Kind {
    /// Its name, in addresses and on the command line.
    pub name: &'static str,
    /// What it is, in words.
    pub what: &'static str,
    /// Whether it can be taken for a stretch of days only.
    pub by_days: bool,
    make: fn(&Workshop, &Books, Days) -> Table,
}

/// Everything that can be taken away as a table.
pub const KINDS: [Kind; 11] = [
    Kind {
        name: "supplies",
        what: "supplies on hand with their value",
        by_days: false,
        make: supplies,
    },
    Kind {
        name: "deliveries",
        what: "deliveries, line by line",
        by_days: true,
        make: deliveries,
    },
    Kind {
        name: "lots",
        what: "lots with what they gave and cost",
        by_days: true,
        make: lots,
    },
    Kind {
        name: "movements",
        what: "every movement of goods",
        by_days: true,
        make: movements,
    },
    Kind {
        name: "sales",
        what: "sales, line by line",
        by_days: true,
        make: sales,
    },
    Kind {
        name: "returns",
        what: "what buyers gave back",
        by_days: true,
        make: returns,
    },
    Kind {
        name: "orders",
        what: "orders, line by line",
        by_days: true,
        make: orders,
    },
    Kind {
        name: "invoices",
        what: "invoices and credit notes",
        by_days: true,
        make: invoices,
    },
    Kind {
        name: "market-days",
        what: "market days with what they cost",
        by_days: true,
        make: market_days,
    },
    Kind {
        name: "payouts",
        what: "money that channels paid out",
        by_days: true,
        make: payouts,
    },
    Kind {
        name: "expenses",
        what: "what was paid for other things",
        by_days: true,
        make: expenses,
    },
];

/// What the double entry is called among the kinds.
pub const ENTRIES: &str = "entries";

/// A kind by its name.
pub fn kind_named(name: &str) -> Option<&'static Kind> {
    KINDS.iter().find(|kind| kind.name == name)
}

impl Kind {
    /// The table of a stretch of days. In a workshop without a currency it has
    /// no rows.
    ///
    /// # Errors
    ///
    /// [`OpenError`] when what others wrote cannot be read.
    pub fn table(&self, app: &App, days: Days) -> Result<Table, OpenError> {
        let books = app.books()?;
        app.look(|workshop| match &books {
            Some(books) => (self.make)(workshop, books, days),
            None => Table::new(&[]),
        })
    }
}

/// A value to the hundredth of a minor unit, in major units.
fn fine(value: Value, currency: Currency) -> Cell {
    let places = u32::from(currency.exponent().unwrap_or(0)) + 2;
    value.to_cost(currency).map_or(Cell::Empty, |cost| {
        Cell::Figure(cost.major().round_dp(places).to_string())
    })
}

/// An amount in grams or in pieces.
fn amount(smallest: i64, weighed: bool) -> [Cell; 2] {
    if weighed {
        let grams = measure::Mass::from_micrograms(smallest).to_decimal(measure::MassUnit::Gram);
        [Cell::Figure(grams.normalize().to_string()), Cell::from("g")]
    } else {
        [Cell::from(smallest), Cell::from("pieces")]
    }
}

fn supplies(workshop: &Workshop, books: &Books, _: Days) -> Table {
    let mut table = Table::new(&[
        "supply",
        "kind",
        "on_hand",
        "unit",
        "value_first_in_first_out",
        "value_moving_average",
        "value_at_last_price",
        "currency",
    ]);
    let currency = books.currency();
    for supply in workshop.supplies() {
        let [on_hand, unit] = amount(supply.stock.on_hand(), supply.kind.is_weighed());
        let value = |method| {
            let stock = books.by(method).supply(supply.id);
            fine(
                stock.map(ledger::Stock::value).unwrap_or_default(),
                currency,
            )
        };
        let anew = books.supply_anew(supply.id);
        table.rows.push(vec![
            supply.name.as_str().into(),
            supply.kind.word().into(),
            on_hand,
            unit,
            value(CostMethod::Fifo),
            value(CostMethod::Average),
            anew.map_or(Cell::Empty, |value| fine(value, currency)),
            currency.code().into(),
        ]);
    }
    table
}

fn deliveries(workshop: &Workshop, _: &Books, days: Days) -> Table {
    let mut table = Table::new(&[
        "delivery",
        "day",
        "supplier",
        "supply",
        "supplier_lot",
        "amount",
        "unit",
        "paid",
        "paid_with_freight",
        "currency",
    ]);
    for receipt in workshop.receipts().filter(|it| days.hold(it.day)) {
        for (line, landed) in receipt.lines.iter().zip(&receipt.landed) {
            let supply = workshop.supply(line.supply);
            let weighed = matches!(line.amount, Amount::Weight(_));
            let [amount, unit] = amount(line.amount.smallest(), weighed);
            table.rows.push(vec![
                receipt.id.0.into(),
                receipt.day.into(),
                receipt.supplier.as_str().into(),
                supply.map_or("", |supply| supply.name.as_str()).into(),
                line.supplier_lot.as_str().into(),
                amount,
                unit,
                line.paid.into(),
                (*landed).into(),
                landed.currency().code().into(),
            ]);
        }
    }
    table
}

/// What a good is called.
pub fn good_name(workshop: &Workshop, good: Good) -> String {
    match good {
        Good::Product(product) => workshop
            .product(product)
            .map_or_else(|| format!("good {product}"), |good| good.name.clone()),
        Good::Trial(pour) => workshop.pour(pour).map_or_else(
            || format!("pour {pour}"),
            |pour| format!("trial lot {}", pour.lot),
        ),
    }
}

fn lots(workshop: &Workshop, books: &Books, days: Days) -> Table {
    let mut table = Table::new(&[
        "lot",
        "product",
        "scent",
        "poured_on",
        "packed_on",
        "ready_on",
        "best_before",
        "good",
        "seconds",
        "rejects",
        "minutes",
        "material_cost",
        "work_cost",
        "currency",
        "method",
    ]);
    for pour in workshop.pours() {
        let Some(lot) = pour.finished.as_ref().filter(|lot| days.hold(lot.day)) else {
            continue;
        };
        let costs = books.own().lot(pour.id).unwrap_or_default();
        let good = books.good_of(pour.id).unwrap_or(Good::Trial(pour.id));
        let minutes = lot.minutes.as_ref().map(|time| {
            let minutes = time.value().to_decimal(TimeUnit::Minute);
            Cell::Figure(minutes.round_dp(1).normalize().to_string())
        });
        let scent = workshop.formula(pour.formula);
        table.rows.push(vec![
            pour.lot.as_str().into(),
            good_name(workshop, good).into(),
            scent.map_or("", |scent| scent.name.as_str()).into(),
            pour.poured.into(),
            lot.day.into(),
            workshop.ready_on(pour).into(),
            workshop.best_scent_by(pour).into(),
            lot.good.into(),
            lot.seconds.into(),
            lot.rejects.into(),
            minutes.unwrap_or(Cell::Empty),
            fine(costs.materials, books.currency()),
            fine(costs.work, books.currency()),
            books.currency().code().into(),
            books.chosen().words().into(),
        ]);
    }
    table
}

fn place_words(workshop: &Workshop, place: Place) -> String {
    match place {
        Place::Rack => "rack".to_owned(),
        Place::Stall(day) => workshop.trade().market_day(day).map_or_else(
            || format!("market day {day}"),
            |day| format!("market day {} {}", day.market, day.on),
        ),
        Place::Packed(order) => format!("packed for order {order}"),
        Place::Shop(buyer) => format!("shop, buyer {buyer}"),
    }
}

fn movements(workshop: &Workshop, _: &Books, days: Days) -> Table {
    let mut table = Table::new(&["day", "lot", "product", "grade", "count", "from", "to"]);
    let spot = |spot: Spot| match spot {
        Spot::Made => "made".to_owned(),
        Spot::At(place) => place_words(workshop, place),
        Spot::Sold(sale) => format!("sale {sale}"),
        Spot::Gone(how) => how.word().to_owned(),
    };
    let all = workshop.goods().movements().iter();
    for movement in all.filter(|movement| days.hold(movement.day)) {
        let (lot, product, grade) = match movement.item {
            Item::Lot(lot, grade) => {
                let pour = workshop.pour(lot);
                let product = pour.and_then(|pour| pour.product);
                (pour.map_or("", |pour| &pour.lot), product, grade)
            }
            Item::Unknown(product) => ("", Some(product), Grade::Good),
        };
        let product = product.map(|product| good_name(workshop, Good::Product(product)));
        let grade = match grade {
            Grade::Good => "good",
            Grade::Second => "second",
        };
        table.rows.push(vec![
            movement.day.into(),
            lot.into(),
            product.unwrap_or_default().into(),
            grade.into(),
            movement.count.into(),
            spot(movement.from).into(),
            spot(movement.to).into(),
        ]);
    }
    table
}

fn channel_name(workshop: &Workshop, channel: workshop::facts::ChannelId) -> String {
    workshop.trade().channel(channel).map_or_else(
        || format!("channel {channel}"),
        |channel| channel.name.clone(),
    )
}

fn sales(workshop: &Workshop, books: &Books, days: Days) -> Table {
    // What belongs to a whole sale stands in its first row only, so that every
    // column can be added up.
    let mut table = Table::new(&[
        "sale",
        "day",
        "channel",
        "market",
        "buyer",
        "order",
        "product",
        "lots",
        "units",
        "paid",
        "sale_postage",
        "sale_tax",
        "sale_fees",
        "currency",
        "payment",
        "voided",
    ]);
    let trade = workshop.trade();
    for (sale, fee) in trade.sales().iter().zip(books.fees().iter().copied()) {
        if !days.hold(sale.day) {
            continue;
        }
        let market = sale.market_day.and_then(|day| trade.market_day(day));
        let currency = sale.tax.currency();
        for (nth, line) in sale.lines.iter().enumerate() {
            let lots: Vec<&str> = line
                .units
                .iter()
                .filter_map(|units| Some(workshop.pour(units.lot?)?.lot.as_str()))
                .collect();
            let units: u64 = line.units.iter().map(|units| u64::from(units.count)).sum();
            let product = line
                .units
                .first()
                .map(|units| good_name(workshop, Good::Product(units.product)));
            let first = |money: Option<Money>| {
                money
                    .filter(|_| nth == 0)
                    .unwrap_or(Money::from_minor(0, currency))
            };
            table.rows.push(vec![
                sale.id.0.into(),
                sale.day.into(),
                channel_name(workshop, sale.channel).into(),
                market.map_or("", |day| day.market.as_str()).into(),
                sale.buyer.map_or(Cell::Empty, |buyer| buyer.0.into()),
                sale.order.map_or(Cell::Empty, |order| order.0.into()),
                product.unwrap_or_default().into(),
                lots.join(" ").into(),
                units.into(),
                line.paid.into(),
                first(sale.postage).into(),
                first(Some(sale.tax)).into(),
                first(Some(Money::from_minor(fee, currency))).into(),
                currency.code().into(),
                sale.payment.word().into(),
                sale.voided.as_deref().unwrap_or("").into(),
            ]);
        }
    }
    table
}

fn returns(workshop: &Workshop, _: &Books, days: Days) -> Table {
    let mut table = Table::new(&[
        "sale",
        "day",
        "units",
        "refund",
        "tax",
        "currency",
        "goods_went",
        "reason",
    ]);
    for sale in workshop.trade().sales() {
        for back in sale.returns.iter().filter(|back| days.hold(back.day)) {
            let units: u64 = back.units.iter().map(|units| u64::from(units.count)).sum();
            let to = match back.to {
                ReturnTo::Rack => "back to the rack",
                ReturnTo::Spoilt => "spoilt",
                ReturnTo::Kept => "kept by the buyer",
            };
            table.rows.push(vec![
                sale.id.0.into(),
                back.day.into(),
                units.into(),
                back.refund.into(),
                back.tax.into(),
                back.refund.currency().code().into(),
                to.into(),
                back.reason.as_str().into(),
            ]);
        }
    }
    // A credit note by the sales of its invoice, so that sales less returns are
    // what was taken.
    let mut notes: BTreeMap<(Date, InvoiceId, SaleId), (Money, Money)> = BTreeMap::new();
    for part in credits(workshop, days) {
        let own = |minor: i64| Money::from_minor(minor, part.sale.tax.currency());
        let note = (part.day, part.note, part.sale.id);
        let (total, tax) = notes.entry(note).or_insert((own(0), own(0)));
        *total = own(total.minor() + part.total);
        *tax = own(tax.minor() + part.tax);
    }
    for ((day, note, sale), (total, tax)) in notes {
        table.rows.push(vec![
            sale.0.into(),
            day.into(),
            Cell::Empty,
            total.into(),
            tax.into(),
            total.currency().code().into(),
            Cell::Empty,
            format!("credit note {note}").into(),
        ]);
    }
    table
}

fn orders(workshop: &Workshop, _: &Books, days: Days) -> Table {
    let mut table = Table::new(&[
        "order",
        "day",
        "buyer",
        "channel",
        "product",
        "count",
        "each",
        "currency",
        "due",
        "stage",
        "sent_on",
        "postage",
        "on_return",
    ]);
    for order in workshop.trade().orders().filter(|it| days.hold(it.day)) {
        for (nth, line) in order.lines.iter().enumerate() {
            table.rows.push(vec![
                order.id.0.into(),
                order.day.into(),
                order.buyer.0.into(),
                channel_name(workshop, order.channel).into(),
                good_name(workshop, Good::Product(line.product)).into(),
                line.count.into(),
                line.each.into(),
                line.each.currency().code().into(),
                order.due.into(),
                order.stage.word().into(),
                order.sent.into(),
                order.postage.filter(|_| nth == 0).into(),
                if order.on_return { "yes" } else { "no" }.into(),
            ]);
        }
    }
    table
}

fn invoices(workshop: &Workshop, _: &Books, days: Days) -> Table {
    let mut table = Table::new(&[
        "number",
        "day",
        "buyer",
        "takes_from",
        "total",
        "tax",
        "currency",
        "due",
        "paid",
        "reason",
    ]);
    let all = workshop.trade().invoices().iter();
    for invoice in all.filter(|invoice| days.hold(invoice.day)) {
        let paid: i64 = invoice.paid.iter().map(|(_, paid, _)| paid.minor()).sum();
        let currency = invoice.total.currency();
        let credits = invoice.credits.as_ref();
        table.rows.push(vec![
            invoice.id.0.into(),
            invoice.day.into(),
            invoice.buyer.0.into(),
            credits.map_or(Cell::Empty, |(of, _)| of.0.into()),
            invoice.total.into(),
            invoice.tax.into(),
            currency.code().into(),
            invoice.due.into(),
            Money::from_minor(paid, currency).into(),
            credits.map_or("", |(_, why)| why.as_str()).into(),
        ]);
    }
    table
}

fn market_days(workshop: &Workshop, _: &Books, days: Days) -> Table {
    let mut table = Table::new(&[
        "day",
        "market",
        "channel",
        "pitch",
        "travel",
        "other",
        "hours",
        "weather",
        "footfall",
        "sales",
        "called_off",
        "note",
    ]);
    for day in workshop
        .trade()
        .market_days()
        .filter(|day| days.hold(day.on))
    {
        let hours = day.hours.as_ref().map(|hours| {
            let hours = hours.value().to_decimal(TimeUnit::Hour);
            Cell::Figure(hours.round_dp(2).normalize().to_string())
        });
        let sales = day
            .sales
            .iter()
            .filter_map(|id| workshop.trade().sale(*id))
            .filter(|sale| sale.voided.is_none())
            .count();
        let sales = u64::try_from(sales).unwrap_or(u64::MAX);
        table.rows.push(vec![
            day.on.into(),
            day.market.as_str().into(),
            channel_name(workshop, day.channel).into(),
            day.costs.pitch.into(),
            day.costs.travel.into(),
            day.costs.other.into(),
            hours.unwrap_or(Cell::Empty),
            day.weather.as_str().into(),
            day.footfall.map_or(Cell::Empty, Cell::from),
            sales.into(),
            if day.called_off { "yes" } else { "no" }.into(),
            day.note.as_str().into(),
        ]);
    }
    table
}

fn payouts(workshop: &Workshop, _: &Books, days: Days) -> Table {
    let mut table = Table::new(&["day", "channel", "amount", "currency", "reference", "note"]);
    for payout in workshop.trade().payouts().filter(|it| days.hold(it.day)) {
        let note = payout
            .matched
            .as_ref()
            .map_or("", |(_, note)| note.as_str());
        table.rows.push(vec![
            payout.day.into(),
            channel_name(workshop, payout.channel).into(),
            payout.amount.into(),
            payout.amount.currency().code().into(),
            payout.reference.as_str().into(),
            note.into(),
        ]);
    }
    table
}

fn expenses(workshop: &Workshop, _: &Books, days: Days) -> Table {
    let mut table = Table::new(&["day", "kind", "amount", "currency", "note"]);
    for (day, paid) in workshop.trade().expenses() {
        if days.hold(*day) {
            table.rows.push(vec![
                (*day).into(),
                paid.kind.words().into(),
                paid.cost().into(),
                paid.amount.currency().code().into(),
                paid.note.as_str().into(),
            ]);
        }
    }
    table
}

fn account(path: &str) -> Account {
    Account::try_new(path).expect("the accounts written here begin with a root")
}

/// The account of a kind of expense.
fn expense_account(kind: ExpenseKind) -> Account {
    account(match kind {
        ExpenseKind::Running => "Expenses:Running",
        ExpenseKind::Equipment => "Expenses:Equipment",
        ExpenseKind::Postage => "Expenses:Postage",
        ExpenseKind::Fees => "Expenses:Fees",
        ExpenseKind::Wages => "Expenses:Wages",
        ExpenseKind::Showing => "Expenses:Showing",
        ExpenseKind::Other => "Expenses:Other",
    })
}

/// The account that a value stands on; the maker's own time is not in the
/// accounts, as nobody was paid for it.
fn stock_account(pocket: Pocket) -> Option<Account> {
    Some(account(match pocket {
        Pocket::Paid(_) => "Assets:Bank",
        Pocket::Worked => return None,
        Pocket::Supply(_) => "Assets:Stock:Supplies",
        Pocket::Pot(_) => "Assets:Stock:Work-In-Progress",
        Pocket::Goods(_) => "Assets:Stock:Goods",
        Pocket::Sold(_) | Pocket::Difference => "Expenses:Cost-Of-Goods",
        Pocket::Lost(_) => "Expenses:Stock-Lost",
    }))
}

/// The double entry of a stretch of days, by the chosen method. What crosses
/// between two accounts on a day is one entry, rounded so that no account is
/// ever further than half a minor unit for each other account from its value.
/// What a market day that is still to come will cost is not in it.
pub fn entries(workshop: &Workshop, books: &Books, days: Days, today: Date) -> Book {
    let mut entries = Vec::new();
    let mut add = |day: Date, text: String, lines: Vec<Line>| {
        let lines: Vec<Line> = lines
            .into_iter()
            .filter(|(_, money)| money.minor() != 0)
            .collect();
        if days.hold(day)
            && let Ok(entry) = Entry::try_new(day, text, lines)
        {
            entries.push(entry);
        }
    };
    stock_entries(books, &mut add);
    sale_entries(workshop, books, &mut add);
    let bank = || account("Assets:Bank");
    let trade = workshop.trade();
    for (day, paid) in trade.expenses() {
        let to = expense_account(paid.kind);
        add(
            *day,
            paid.note.clone(),
            vec![(to, paid.cost()), (bank(), minus(paid.cost()))],
        );
    }
    let held = |day: &&MarketDay| !day.called_off && day.on <= today;
    for day in trade.market_days().filter(held) {
        for (what, cost) in [
            ("pitch", day.costs.pitch),
            ("travel", day.costs.travel),
            ("other", day.costs.other),
        ] {
            if let Some(cost) = cost {
                let to = account("Expenses:Market-Days");
                let text = format!("{}, {what}", day.market);
                add(day.on, text, vec![(to, cost), (bank(), minus(cost))]);
            }
        }
        if let Some(tin) = tin_of(workshop, day) {
            let to = account("Expenses:Missing-From-Tins");
            let text = format!("{}, tin counted", day.market);
            let more = tin.difference;
            let cash = account("Assets:Cash");
            add(day.on, text, vec![(cash, more), (to, minus(more))]);
        }
    }
    // What sending costs by the terms of a channel, where no order says it.
    for sale in trade.sales().iter().filter(|sale| sale.voided.is_none()) {
        let channel = trade.channel(sale.channel);
        let minor = postage_by_terms(sale, channel.map(|channel| &channel.terms));
        let cost = Money::from_minor(minor, books.currency());
        let to = account("Expenses:Postage");
        let text = format!("Postage of sale {}", sale.id);
        add(sale.day, text, vec![(to, cost), (bank(), minus(cost))]);
    }
    for order in trade.orders() {
        if let (Some(sent), Some(cost)) = (order.sent, order.postage) {
            let to = account("Expenses:Postage");
            let text = format!("Postage of order {}", order.id);
            add(sent, text, vec![(to, cost), (bank(), minus(cost))]);
        }
    }
    credit_entries(workshop, books.currency(), &mut add);
    for invoice in trade.invoices() {
        let sale = invoice.sales.first().and_then(|sale| trade.sale(*sale));
        let channel = sale.map(|sale| channel_name(workshop, sale.channel));
        for (day, paid, how) in &invoice.paid {
            let from = account("Assets:Owed-By-Buyers");
            let to = match (how, &channel) {
                (Payment::Cash, _) => account("Assets:Cash"),
                (Payment::Card | Payment::Payout, Some(channel)) => {
                    account("Assets:Channels").under(channel)
                }
                _ => bank(),
            };
            let given_back = if paid.minor() < 0 {
                ", given back"
            } else {
                " paid"
            };
            let text = format!("Invoice {}{given_back}", invoice.id);
            add(*day, text, vec![(to, *paid), (from, minus(*paid))]);
        }
    }
    for payout in trade.payouts() {
        let from = account("Assets:Channels").under(&channel_name(workshop, payout.channel));
        let text = format!("Paid out {}", payout.reference);
        add(
            payout.day,
            text,
            vec![
                (bank(), payout.amount),
                (from.clone(), minus(payout.amount)),
            ],
        );
        if let Some(kept) = kept_beyond_terms(workshop, payout) {
            let text = format!("Kept beyond its terms, {}", payout.reference);
            let to = account("Expenses:Fees");
            add(payout.day, text, vec![(to, kept), (from, minus(kept))]);
        }
    }
    Book::new(entries)
}

/// A credit note takes from what buyers owe, from the income of the channels
/// its invoice is of, and from the tax.
fn credit_entries(
    workshop: &Workshop,
    currency: Currency,
    add: &mut impl FnMut(Date, String, Vec<Line>),
) {
    let money = |minor: i64| Money::from_minor(minor, currency);
    let mut notes: BTreeMap<(Date, InvoiceId, ChannelId), (i64, i64)> = BTreeMap::new();
    for part in credits(workshop, Days::ALL) {
        let note = (part.day, part.note, part.sale.channel);
        let sums = notes.entry(note).or_default();
        *sums = (sums.0 + part.total, sums.1 + part.tax);
    }
    for ((day, note, channel), (total, tax)) in notes {
        let income = account("Income:Sales").under(&channel_name(workshop, channel));
        add(
            day,
            format!("Credit note {note}"),
            vec![
                (income, money(total - tax)),
                (account("Liabilities:Sales-Tax"), money(tax)),
                (account("Assets:Owed-By-Buyers"), money(-total)),
            ],
        );
    }
}

fn minus(money: Money) -> Money {
    Money::from_minor(money.minor().saturating_neg(), money.currency())
}

fn stock_entries(books: &Books, add: &mut impl FnMut(Date, String, Vec<Line>)) {
    let mut days: BTreeMap<(Date, Account, Account), Value> = BTreeMap::new();
    for Flow {
        day,
        from,
        to,
        costs,
        ..
    } in books.own().flows()
    {
        if let (Some(from), Some(to)) = (stock_account(*from), stock_account(*to))
            && from != to
        {
            *days.entry((*day, from, to)).or_default() += costs.materials;
        }
    }
    // Rounded on the running sum of each pair, so that roundings do not add up.
    let mut sums: BTreeMap<(Account, Account), (Value, i64)> = BTreeMap::new();
    for ((day, from, to), value) in days {
        let (sum, written) = sums.entry((from.clone(), to.clone())).or_default();
        *sum += value;
        let now = books.money(*sum).minor();
        let money = Money::from_minor(now - *written, books.currency());
        *written = now;
        let text = match to.as_str() {
            "Assets:Stock:Supplies" => "Deliveries",
            "Assets:Stock:Work-In-Progress" => "Weighed into pots",
            "Assets:Stock:Goods" => "Goods finished or returned",
            "Expenses:Stock-Lost" => "Lost or found",
            _ => "Cost of goods",
        };
        add(
            day,
            text.to_owned(),
            vec![(to, money), (from, minus(money))],
        );
    }
}

fn sale_entries(workshop: &Workshop, books: &Books, add: &mut impl FnMut(Date, String, Vec<Line>)) {
    let currency = books.currency();
    let money = |minor: i64| Money::from_minor(minor, currency);
    for (sale, fee) in workshop
        .trade()
        .sales()
        .iter()
        .zip(books.fees().iter().copied())
    {
        if sale.voided.is_some() || sale.tax.currency() != currency {
            continue;
        }
        let channel = channel_name(workshop, sale.channel);
        let clearing = account("Assets:Channels").under(&channel);
        let asset = match sale.payment {
            Payment::Cash | Payment::Unknown => account("Assets:Cash"),
            Payment::Card | Payment::Payout => clearing.clone(),
            Payment::Transfer => account("Assets:Bank"),
            Payment::Owed => account("Assets:Owed-By-Buyers"),
        };
        let income = account("Income:Sales").under(&channel);
        let tax = account("Liabilities:Sales-Tax");
        let lines = |paid: i64, of_tax: i64| {
            vec![
                (asset.clone(), money(paid)),
                (income.clone(), money(of_tax - paid)),
                (tax.clone(), money(-of_tax)),
            ]
        };
        let paid = sale.paid().minor();
        let text = format!("Sale {}, {channel}", sale.id);
        add(sale.day, text, lines(paid, sale.tax.minor()));
        let text = format!("Fees of sale {}", sale.id);
        let to = account("Expenses:Fees");
        add(
            sale.day,
            text,
            vec![(to, money(fee)), (clearing, money(-fee))],
        );
        for back in &sale.returns {
            let text = format!("Given back of sale {}", sale.id);
            add(
                back.day,
                text,
                lines(-back.refund.minor(), -back.tax.minor()),
            );
        }
    }
}

/// How many pours are under way, whose worth stands in pots.
pub fn pots_under_way(workshop: &Workshop) -> usize {
    workshop
        .open_pours()
        .filter(|pour| pour.stage() < Stage::Finished)
        .count()
}

impl Table {
    /// The table as a workbook of one sheet, its figures as numbers and its
    /// days as days.
    ///
    /// # Errors
    ///
    /// [`TooLong`] where a workbook cannot hold it.
    pub fn to_xlsx(&self, name: &str) -> Result<Vec<u8>, TooLong> {
        workbook(self, name).map_err(|_| TooLong)
    }
}

/// A table that a workbook cannot hold: it has more than 1,048,576 rows, or a
/// text of more than 32,767 letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a workbook cannot hold that many rows or letters; take it as CSV")]
pub struct TooLong;

fn workbook(table: &Table, name: &str) -> Result<Vec<u8>, rust_xlsxwriter::XlsxError> {
    use rust_xlsxwriter::{ExcelDateTime, Format, Workbook};
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    sheet.set_name(name.chars().take(31).collect::<String>())?;
    let bold = Format::new().set_bold();
    let as_day = Format::new().set_num_format("yyyy-mm-dd");
    for (column, heading) in (0..).zip(&table.headings) {
        sheet.write_string_with_format(0, column, *heading, &bold)?;
    }
    for (at, row) in (1..).zip(&table.rows) {
        for (column, cell) in (0..).zip(row) {
            match cell {
                Cell::Text(text) if text.is_empty() => {}
                // Written as a string, a text is never taken for a formula.
                Cell::Text(text) => {
                    sheet.write_string(at, column, text)?;
                }
                Cell::Figure(figure) => match figure.parse::<f64>() {
                    Ok(number) => {
                        sheet.write_number(at, column, number)?;
                    }
                    Err(_) => {
                        sheet.write_string(at, column, figure)?;
                    }
                },
                Cell::Day(day) => {
                    let date = ExcelDateTime::from_ymd(
                        u16::try_from(day.year()).unwrap_or(1900),
                        u8::try_from(day.month()).unwrap_or(1),
                        u8::try_from(day.day()).unwrap_or(1),
                    );
                    match date {
                        Ok(date) => sheet.write_datetime_with_format(at, column, &date, &as_day)?,
                        Err(_) => sheet.write_string(at, column, day.to_string())?,
                    };
                }
                Cell::Empty => {}
            }
        }
    }
    sheet.set_freeze_panes(1, 0)?;
    book.save_to_buffer()
}
