//! Reading files in: what each row of a file would add, and everything that
//! the whole of it adds at once.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use measure::{Money, Problem};

use super::selling::{cannot, known_channel};
use super::{
    Decision, MOST_LINES, MOST_UNITS, check_line, fact, line, name, not_too_dear, note,
    refuse_if_any,
};
use crate::facts::{
    Amount, ChannelKind, Column, Dated, DeliveryRead, Fact, FileLayout, FileLayoutKept, FileRead,
    FreightSpread, Grade, MarketDayId, Meant, NameMatched, PaidOut, Payment, PayoutId, Place,
    ProductId, ReceiptId, ReceiptLine, RowKey, RowKind, SaleFrom, SaleId, SaleLine, SaleRead, Sold,
    SupplyId, SupplyReceived, Units,
};
use crate::selling::{Standing, sales_tax, standing_at, tax_inside, units_of};
use crate::state::Workshop;
use crate::trade::{MarketDay, RowOf};
use crate::{Item, Refusal};

/// The longest heading, name in a file, and key of a row.
const LONGEST: usize = 200;

/// What a row says, read and understood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum RowSays {
    /// Units of a good were sold.
    Sale {
        /// Which good.
        product: ProductId,
        /// How many.
        count: u32,
        /// What was paid for them, tax in it.
        paid: Money,
        /// The tax in it, where the file says it.
        tax: Option<Money>,
        /// What the buyer paid for postage.
        postage: Option<Money>,
        /// What the channel kept.
        fees: Option<Money>,
        /// How it was paid.
        payment: Payment,
    },
    /// A supply came.
    Purchase {
        /// What came.
        supply: SupplyId,
        /// How much.
        amount: Amount,
        /// What was paid for it.
        paid: Money,
        /// Who sent it; may be empty.
        supplier: String,
        /// The number on it; may be empty.
        supplier_lot: String,
        /// What carriage cost.
        freight: Option<Money>,
    },
    /// Money came in.
    Payout {
        /// How much.
        amount: Money,
    },
}

/// One row of a file, read and understood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileRow {
    /// Where it stands in the file.
    pub nth: u32,
    /// What tells it from every other row of such files, by [`row_key`].
    pub key: String,
    /// The number of its sale, delivery or payout; may be empty.
    pub reference: String,
    /// Its day.
    pub day: Date,
    /// What it says.
    pub says: RowSays,
}

/// The key of a row: its reference, what stands in its cells in short, and the
/// how-manieth of rows alike in both it is. Two rows alike in one file are two
/// things that happened, and stay two in every later file that has both.
pub fn row_key(reference: &str, print: &str, nth_alike: u32) -> String {
    format!("{}|{print}|{nth_alike}", kept_reference(reference))
}

fn kept_reference(reference: &str) -> String {
    let plain = reference.trim().replace('|', "/");
    plain.chars().take(80).collect()
}

/// What becomes of a row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum RowFate {
    /// It is added.
    Added,
    /// It was read in before.
    There,
    /// It adds nothing, and why.
    LeftOut(String),
    /// It cannot be right.
    Refused(Problem),
}

/// What reading a file comes to.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FileReading {
    /// What becomes of each row, by where it stands.
    pub fates: BTreeMap<u32, RowFate>,
    /// What was made of figures that could be taken in two ways.
    pub notes: Vec<String>,
    /// Everything it adds, each with its day.
    pub facts: Vec<Dated>,
}

impl FileReading {
    fn add(&mut self, day: Date, fact: impl Into<Fact>) {
        let fact = fact.into();
        self.facts.push(Dated { day, fact });
    }

    fn set<'a>(&mut self, rows: impl IntoIterator<Item = &'a FileRow>, fate: &RowFate) {
        for row in rows {
            self.fates.insert(row.nth, fate.clone());
        }
    }

    /// How many rows it adds.
    pub fn n_added(&self) -> usize {
        let added = |fate: &&RowFate| **fate == RowFate::Added;
        self.fates.values().filter(added).count()
    }
}

/// Settles how a kind of file is read.
///
/// # Errors
///
/// [`Refusal::Input`] for a missing name, a column that is read twice or is
/// needed and missing, and sales or payouts without a channel.
pub fn keep_layout(workshop: &Workshop, called: &str, layout: FileLayout) -> Decision {
    let mut problems = Vec::new();
    let called = if called.trim().is_empty() {
        problems.push(cannot(
            "name",
            "",
            "it does not say what to call such files",
            "write a word or two, such as web shop orders",
        ));
        String::new()
    } else {
        name("name", called).unwrap_or_else(|problem| {
            problems.push(problem);
            String::new()
        })
    };
    let taken = workshop.trade().layout(&called);
    if taken.is_some_and(|known| known.kind != layout.kind) {
        problems.push(cannot(
            "name",
            called.clone(),
            "files of another kind are read under that name",
            "choose another name",
        ));
    }
    if taken.is_some_and(|known| {
        tells_rows(known) != tells_rows(&layout)
            && workshop
                .trade()
                .rows_beginning(&called, "")
                .next()
                .is_some()
    }) {
        problems.push(cannot(
            "name",
            called.clone(),
            "rows were read in under that name, by other columns or another way to write days and figures",
            "keep those columns, or choose another name",
        ));
    }
    let mut seen = BTreeSet::new();
    for (column, heading) in &layout.columns {
        problems.extend(line("columns", heading, LONGEST).err());
        if !seen.insert(*column) {
            problems.push(cannot(
                "columns",
                heading.clone(),
                "two columns are taken for the same",
                "choose one of them",
            ));
        }
    }
    let needs = |column: Column| !seen.contains(&column);
    let mut missing = Vec::new();
    if needs(Column::Day) {
        missing.push("the day");
    }
    if needs(Column::Name) && layout.kind != RowKind::Payouts {
        missing.push(if layout.kind == RowKind::Sales {
            "which good"
        } else {
            "which supply"
        });
    }
    if needs(Column::Paid) && (needs(Column::Each) || layout.kind == RowKind::Payouts) {
        missing.push("what was paid");
    }
    for what in missing {
        problems.push(cannot(
            "columns",
            "",
            &format!("no column says {what}"),
            "choose the one that does",
        ));
    }
    match layout.channel {
        Some(channel) => {
            known_channel(workshop, channel)?;
        }
        None if layout.kind != RowKind::Purchases => problems.push(cannot(
            "channel",
            "",
            "it does not say through which channel",
            "choose one, or open it first",
        )),
        None => {}
    }
    refuse_if_any(problems)?;
    if taken == Some(&layout) {
        return Ok(Vec::new());
    }
    Ok(fact(FileLayoutKept {
        name: called,
        layout,
    }))
}

/// Settles what names in the files of a layout stand for.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a layout, good or supply that is not there,
/// [`Refusal::Input`] for one of them that is how much it cannot be.
pub fn match_names(
    workshop: &Workshop,
    layout: &str,
    names: &[(String, Meant, Option<Amount>)],
) -> Decision {
    known_layout(workshop, layout)?;
    let mut facts = Vec::new();
    let mut problems = Vec::new();
    for (nth, (called, meant, each)) in names.iter().enumerate() {
        let unknown = |what: &'static str, id: u32| Refusal::Unknown {
            what,
            id: id.to_string(),
        };
        let weighed = match meant {
            Meant::Product(id) => {
                let known = workshop.product(*id);
                known.ok_or_else(|| unknown("good", id.0)).map(|_| false)?
            }
            Meant::Supply(id) => {
                let known = workshop.supply(*id);
                known
                    .ok_or_else(|| unknown("supply", id.0))?
                    .kind
                    .is_weighed()
            }
            Meant::Nothing => false,
        };
        let fits = match each {
            None => true,
            Some(Amount::Count(count)) => !weighed && (1..=MOST_UNITS).contains(count),
            Some(Amount::Weight(weight)) => weighed && !weight.value().is_zero(),
        };
        if !fits {
            problems.push(cannot(
                &format!("each[{nth}]"),
                each.as_ref().map_or_else(String::new, ToString::to_string),
                "one of it cannot be that much",
                if weighed {
                    "write what one weighs, such as 16 oz"
                } else {
                    "write a whole number such as 3"
                },
            ));
        }
        if called.chars().count() > 4 * LONGEST {
            problems.push(cannot(
                &format!("name[{nth}]"),
                called.chars().take(30).collect::<String>(),
                "the name is too long to be kept",
                "shorten it in the file",
            ));
        }
        let trade = workshop.trade();
        let stands = trade.meant(layout, called) == Some(*meant)
            && trade.one_of_name(layout, called) == each.as_ref();
        if !stands {
            facts.extend(fact(NameMatched {
                layout: layout.to_owned(),
                name: called.clone(),
                meant: *meant,
                each: each.clone(),
            }));
        }
    }
    refuse_if_any(problems)?;
    Ok(facts)
}

/// What of a layout tells one row from another: were it changed, rows that were
/// read in would no longer be known.
fn tells_rows(layout: &FileLayout) -> (Vec<&(Column, String)>, crate::facts::DayOrder, bool) {
    let columns = layout.columns.iter().filter(|(column, _)| tells(*column));
    let mut columns: Vec<&(Column, String)> = columns.collect();
    columns.sort();
    (columns, layout.days, layout.comma)
}

fn tells_rows_differ(one: Option<&FileLayout>, other: &FileLayout) -> bool {
    let columns = |layout: &FileLayout| -> BTreeSet<Column> {
        let read = layout.columns.iter().map(|(column, _)| *column);
        read.filter(|column| tells(*column)).collect()
    };
    one.is_some_and(|one| columns(one) != columns(other))
}

/// Whether what stands in a column tells one row from another. What a maker may
/// begin to read later, such as fees, does not.
pub const fn tells(column: Column) -> bool {
    matches!(
        column,
        Column::Day
            | Column::Reference
            | Column::Name
            | Column::Amount
            | Column::Each
            | Column::Paid
    )
}

fn known_layout<'a>(workshop: &'a Workshop, called: &str) -> Result<&'a FileLayout, Refusal> {
    let found = workshop.trade().layout(called);
    found.ok_or_else(|| Refusal::Unknown {
        what: "layout",
        id: called.to_owned(),
    })
}

/// Decides on every row of a file, and everything they add together.
///
/// Rows that were read in before add nothing, wherever they stand in the file:
/// the same file twice adds nothing, and a longer one what is new in it. Rows
/// of one reference and day are one sale or one delivery. Goods leave the stall
/// where the channel was at a market that day, else the rack, the earliest
/// best-by first of what was poured by then; for more than is there the lot
/// stays unknown.
///
/// Postage, fees and freight that stand alike in every row of one reference are
/// those of the whole and counted once, which is noted.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a layout or a channel that is not there.
pub fn read_rows(
    workshop: &Workshop,
    today: Date,
    layout: &str,
    rows: &[FileRow],
) -> Result<FileReading, Refusal> {
    let known = known_layout(workshop, layout)?;
    if let Some(channel) = known.channel {
        known_channel(workshop, channel)?;
    }
    let mut reading = FileReading::default();
    let mut seen = BTreeSet::new();
    let mut groups: BTreeMap<(Date, String, String), Vec<&FileRow>> = BTreeMap::new();
    for row in rows {
        if row.day > today {
            let why = "its day is still to come".to_owned();
            reading.set([row], &RowFate::LeftOut(why));
            continue;
        }
        if let Err(problem) = check_row(workshop, known, row) {
            reading.set([row], &RowFate::Refused(problem));
            continue;
        }
        if !seen.insert(row.key.as_str()) {
            reading.set([row], &RowFate::There);
            continue;
        }
        // Without a reference each sale is one of its own; what came on one day
        // from one supplier came together.
        let (reference, sender) = match &row.says {
            RowSays::Sale { .. } if row.reference.is_empty() => (format!("|{:09}", row.nth), ""),
            RowSays::Purchase { supplier, .. } => (row.reference.clone(), supplier.as_str()),
            RowSays::Sale { .. } | RowSays::Payout { .. } => (row.reference.clone(), ""),
        };
        let key = (row.day, reference, sender.to_lowercase());
        groups.entry(key).or_default().push(row);
    }
    let mut sellers = Sellers::new(workshop, layout, known);
    for ((day, ..), rows) in groups {
        match known.kind {
            RowKind::Sales => sellers.sale(&mut reading, day, &rows),
            RowKind::Purchases => sellers.delivery(&mut reading, day, &rows),
            RowKind::Payouts => sellers.payouts(&mut reading, day, &rows),
        }
    }
    Ok(reading)
}

/// The fact that goes with what a file added: which file it was.
pub fn file_read(layout: &str, file: &str, digest: &str, rows: usize, added: usize) -> Fact {
    let count = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
    let file: String = file
        .chars()
        .filter(|c| !c.is_control())
        .take(LONGEST)
        .collect();
    FileRead {
        layout: layout.to_owned(),
        file,
        digest: digest.to_owned(),
        rows: count(rows),
        added: count(added),
    }
    .into()
}

/// Refuses what no row of that kind can say.
fn check_row(workshop: &Workshop, layout: &FileLayout, row: &FileRow) -> Result<(), Problem> {
    let heading = |column: Column| layout.heading(column).unwrap_or_default().to_owned();
    let dear = |column: Column, money: Option<Money>| match money {
        Some(money) => not_too_dear(&heading(column), money),
        None => Ok(()),
    };
    match &row.says {
        RowSays::Sale {
            product,
            count,
            paid,
            tax,
            postage,
            fees,
            ..
        } => {
            if workshop.product(*product).is_none() {
                let id = product.to_string();
                return Err(cannot(
                    &heading(Column::Name),
                    id,
                    "there is no such good",
                    "say again what it is",
                ));
            }
            if *count > MOST_UNITS {
                return Err(cannot(
                    &heading(Column::Amount),
                    count.to_string(),
                    "that is more than ten thousand units at once",
                    "look at the figure",
                ));
            }
            dear(Column::Paid, Some(*paid))?;
            dear(Column::Postage, *postage)?;
            dear(Column::Fees, *fees)?;
            if tax.is_some_and(|tax| tax.minor() > paid.minor()) {
                return Err(cannot(
                    &heading(Column::Tax),
                    tax.map_or_else(String::new, |tax| tax.to_string()),
                    "the tax is more than what was paid with it",
                    "take the column of what was paid with tax in it",
                ));
            }
            Ok(())
        }
        RowSays::Purchase {
            supply,
            amount,
            paid,
            freight,
            ..
        } => {
            let line = ReceiptLine {
                volume: None,
                supply: *supply,
                supplier_lot: String::new(),
                amount: amount.clone(),
                paid: *paid,
            };
            let mut problems = Vec::new();
            check_line(workshop, "line", &line, &mut problems);
            if let Some(problem) = problems.into_iter().next() {
                let column = match problem.field.as_str() {
                    "line.amount" => Column::Amount,
                    "line.paid" => Column::Paid,
                    _ => Column::Name,
                };
                return Err(Problem {
                    field: heading(column),
                    ..problem
                });
            }
            dear(Column::Postage, *freight)
        }
        RowSays::Payout { amount } => dear(Column::Paid, Some(*amount)),
    }
}

/// What was sold, came or was paid out, one after another, with what is left
/// of the goods in between.
struct Sellers<'a> {
    workshop: &'a Workshop,
    name: &'a str,
    layout: &'a FileLayout,
    /// Every layout of the same kind and channel, this one first.
    alike: Vec<&'a str>,
    sale: u32,
    receipt: u32,
    payout: u32,
    /// What stood where at the start, as it left on the day looked at last.
    standing: Option<(Date, Place, BTreeMap<ProductId, Vec<Standing>>)>,
    /// What the rows before have taken of it.
    taken: BTreeMap<(Place, Item), i64>,
}

impl<'a> Sellers<'a> {
    fn new(workshop: &'a Workshop, name: &'a str, layout: &'a FileLayout) -> Self {
        let trade = workshop.trade();
        let others = trade.layouts().filter(|(other, of)| {
            *other != name && (of.kind, of.channel) == (layout.kind, layout.channel)
        });
        let mut alike = vec![name];
        alike.extend(others.map(|(other, _)| other));
        Self {
            workshop,
            name,
            layout,
            alike,
            sale: trade.next_sale().0,
            receipt: workshop.next_receipt().0,
            payout: trade.next_payout().0,
            standing: None,
            taken: BTreeMap::new(),
        }
    }

    fn row_key(&self, row: &FileRow) -> RowKey {
        RowKey {
            layout: self.name.to_owned(),
            key: row.key.clone(),
        }
    }

    /// Parts what was read before, by this layout or another of the channel, from
    /// what is new.
    fn only_new<'r>(&self, reading: &mut FileReading, rows: &[&'r FileRow]) -> Vec<&'r FileRow> {
        let trade = self.workshop.trade();
        let is_there = |row: &&FileRow| {
            self.alike.iter().any(|layout| {
                trade.has_row(&RowKey {
                    layout: (*layout).to_owned(),
                    key: row.key.clone(),
                })
            })
        };
        let (there, mut new): (Vec<&FileRow>, Vec<&FileRow>) =
            rows.iter().copied().partition(is_there);
        reading.set(there, &RowFate::There);
        if let Some(other) = new.first().and_then(|row| self.read_elsewhere(row)) {
            let why = format!("its number was read in as \"{other}\", from other columns");
            reading.set(new.drain(..), &RowFate::LeftOut(why));
        }
        new
    }

    /// The other layout of the channel by which a sale or payout of that number
    /// and day was read in.
    fn read_elsewhere(&self, row: &FileRow) -> Option<&'a str> {
        if row.reference.is_empty() {
            return None;
        }
        let trade = self.workshop.trade();
        let beginning = format!("{}|", kept_reference(&row.reference));
        let is_it = |of: RowOf| match of {
            RowOf::Sale(id) => trade.sale(id).is_some_and(|sale| sale.day == row.day),
            RowOf::Payout(id) => trade.payout(id).is_some_and(|paid| paid.day == row.day),
            // Two suppliers may give the same number.
            RowOf::Delivery(_) => false,
        };
        let others = self.alike.iter().skip(1).copied();
        others
            .filter(|other| tells_rows_differ(trade.layout(other), self.layout))
            .find(|other| trade.rows_beginning(other, &beginning).any(is_it))
    }

    /// What rows before this file were read as under a reference.
    fn read_under(&self, reference: &str) -> Vec<RowOf> {
        if reference.is_empty() {
            return Vec::new();
        }
        let beginning = format!("{}|", kept_reference(reference));
        let mut found: Vec<RowOf> = Vec::new();
        for of in self.workshop.trade().rows_beginning(self.name, &beginning) {
            if !found.contains(&of) {
                found.push(of);
            }
        }
        found
    }

    /// What rows were read as before this file.
    fn read_as(&self, rows: &[&FileRow]) -> Vec<RowOf> {
        let trade = self.workshop.trade();
        let mut found: Vec<RowOf> = Vec::new();
        for row in rows {
            let row = self.row_key(row);
            if !trade.has_row(&row) {
                continue;
            }
            // Keys that begin as this one are longer, and come after it.
            let of = trade.rows_beginning(&row.layout, &row.key).next();
            found.extend(of.filter(|of| !found.contains(of)));
        }
        found
    }

    fn sale(&mut self, reading: &mut FileReading, day: Date, rows: &[&FileRow]) {
        let new = self.only_new(reading, rows);
        let (Some(first), Some(channel)) = (new.first(), self.layout.channel) else {
            return;
        };
        let market_day = match self.market_day(day) {
            Ok(market_day) => market_day,
            Err(why) => return reading.set(new, &RowFate::LeftOut(why)),
        };
        let before: Vec<_> = self
            .read_under(&first.reference)
            .into_iter()
            .filter_map(|of| match of {
                RowOf::Sale(id) => self.workshop.trade().sale(id),
                RowOf::Delivery(_) | RowOf::Payout(_) => None,
            })
            .filter(|sale| sale.day == day)
            .collect();
        let said = |of: fn(&RowSays) -> Option<Money>| -> Vec<Option<Money>> {
            rows.iter().map(|row| of(&row.says)).collect()
        };
        let postages = said(|says| match says {
            RowSays::Sale { postage, .. } => *postage,
            _ => None,
        });
        let fees = said(|says| match says {
            RowSays::Sale { fees, .. } => *fees,
            _ => None,
        });
        let postage_before: Vec<Money> = before.iter().filter_map(|sale| sale.postage).collect();
        let fees_before: Vec<Money> = before.iter().filter_map(|sale| sale.fees).collect();
        let both = (rows, new.as_slice());
        let postage = of_the_whole(reading, both, "postage", &postages, &postage_before);
        let mut postage = postage.filter(|money| money.minor() != 0);
        let mut fees = of_the_whole(reading, both, "fee", &fees, &fees_before);
        let place = market_day.map_or(Place::Rack, Place::Stall);
        for part in new.chunks(MOST_LINES) {
            let lines: Vec<SaleLine> = part
                .iter()
                .filter_map(|row| match row.says {
                    RowSays::Sale {
                        product,
                        count,
                        paid,
                        ..
                    } => Some(SaleLine {
                        units: self.take(day, place, product, count),
                        paid,
                    }),
                    _ => None,
                })
                .collect();
            let sale = SaleId(self.sale);
            self.sale = self.sale.saturating_add(1);
            let postage = postage.take();
            let sold = Sold {
                sale,
                token: String::new(),
                from: SaleFrom::File,
                channel,
                market_day,
                buyer: None,
                order: None,
                tax: self.tax(reading, part, &lines, postage),
                lines,
                postage,
                fees: fees.take(),
                payment: payment_of(part),
                row: part.first().map(|row| self.row_key(row)),
            };
            reading.add(day, sold);
            let others: Vec<RowKey> = part.iter().skip(1).map(|row| self.row_key(row)).collect();
            if !others.is_empty() {
                reading.add(day, SaleRead { sale, rows: others });
            }
        }
        reading.set(new, &RowFate::Added);
    }

    /// The tax in a sale: what the file says, or else what the workshop takes.
    /// The same tax in every row is that of the whole where that comes nearer to
    /// what the workshop would take.
    fn tax(
        &self,
        reading: &mut FileReading,
        rows: &[&FileRow],
        lines: &[SaleLine],
        postage: Option<Money>,
    ) -> Money {
        let paid = lines.iter().map(|line| line.paid).chain(postage);
        let currency = lines.first().map(|line| line.paid.currency());
        let currency = currency
            .or_else(|| self.workshop.money_kept_in())
            .unwrap_or(measure::Currency::USD);
        let sum = |amounts: &mut dyn Iterator<Item = Money>| {
            let minor = amounts.fold(0_i64, |sum, money| sum.saturating_add(money.minor()));
            Money::from_minor(minor, currency)
        };
        let told: Vec<Money> = rows
            .iter()
            .filter_map(|row| match row.says {
                RowSays::Sale { tax, .. } => tax,
                _ => None,
            })
            .collect();
        let own = sales_tax(self.workshop);
        let own = own.map(|tax| tax_inside(sum(&mut { paid }), tax.rate));
        if told.is_empty() && self.layout.heading(Column::Tax).is_none() {
            return own.unwrap_or(Money::from_minor(0, currency));
        }
        let whole = sum(&mut told.iter().copied());
        if let (Some(first), [one, rest @ ..], Some(own)) = (rows.first(), told.as_slice(), own) {
            let is_in_each = told.len() == rows.len() && rest.iter().all(|tax| tax == one);
            let off = |tax: Money| tax.minor().abs_diff(own.minor());
            if is_in_each && off(*one) < off(whole) {
                reading
                    .notes
                    .push(said_in_each(first, "tax", *one, told.len()));
                return *one;
            }
        }
        whole
    }

    /// The market day that a sale of that day was made at; none where it was
    /// made elsewhere.
    fn market_day(&self, day: Date) -> Result<Option<MarketDayId>, String> {
        let trade = self.workshop.trade();
        let channel = self.layout.channel.and_then(|id| trade.channel(id));
        let Some(channel) = channel.filter(|channel| channel.kind == ChannelKind::Stall) else {
            return Ok(None);
        };
        let mut held = trade
            .market_days()
            .filter(|known| known.channel == channel.id && known.on == day && !known.called_off)
            .peekable();
        let Some(first) = held.peek().copied() else {
            return Ok(None);
        };
        let is_told = |known: &&MarketDay| {
            known.counted.is_some()
                || known.sales.iter().any(|id| {
                    let sale = trade.sale(*id).filter(|sale| sale.voided.is_none());
                    sale.is_some_and(|sale| sale.from != SaleFrom::File)
                })
        };
        match held.find(|known| !is_told(known)) {
            Some(open) => Ok(Some(open.id)),
            None if first.counted.is_some() => Err(format!(
                "the market day at {} was counted back, which settled what was sold",
                first.market
            )),
            None => Err(format!(
                "the sales at {} are written down already, as they were made",
                first.market
            )),
        }
    }

    /// Units as they must have left: of what was poured by then, those fit for
    /// sale first, and for the rest units whose lot nobody knows.
    fn take(&mut self, day: Date, place: Place, product: ProductId, count: u32) -> Vec<Units> {
        let stands = |known: &(Date, Place, _)| (known.0, known.1) == (day, place);
        if !self.standing.as_ref().is_some_and(stands) {
            self.standing = Some((day, place, standing_at(self.workshop, place, day)));
        }
        let none = Vec::new();
        let there = self
            .standing
            .as_ref()
            .map_or(&none, |(_, _, goods)| goods.get(&product).unwrap_or(&none));
        let mut left = count;
        let mut units = Vec::new();
        let is_second = |one: &Standing| matches!(one.item, Item::Lot(_, Grade::Second));
        let wanted: [&dyn Fn(&Standing) -> bool; 3] = [
            &|one| one.fit && !is_second(one),
            &|one| one.fit && is_second(one),
            &|one| !one.fit,
        ];
        for wanted in wanted {
            for one in there.iter().filter(|one| wanted(one)) {
                let Item::Lot(lot, _) = one.item else {
                    continue;
                };
                let poured = self.workshop.pour(lot).and_then(|pour| pour.poured);
                let taken = self.taken.entry((place, one.item)).or_default();
                let still = u32::try_from(one.count - *taken).unwrap_or(0).min(left);
                if still == 0 || poured.is_none_or(|poured| poured > day) {
                    continue;
                }
                *taken += i64::from(still);
                left -= still;
                units.push(units_of(product, one.item, still));
            }
        }
        if left > 0 {
            units.push(units_of(product, Item::Unknown(product), left));
        }
        units
    }

    fn delivery(&mut self, reading: &mut FileReading, day: Date, rows: &[&FileRow]) {
        let new = self.only_new(reading, rows);
        let Some(first) = new.first() else { return };
        let freight_of = |row: &&FileRow| match row.says {
            RowSays::Purchase { freight, .. } => freight,
            _ => None,
        };
        let told: Vec<Option<Money>> = rows.iter().map(freight_of).collect();
        // Without a reference only the rows themselves say which came before.
        let known = if first.reference.is_empty() {
            self.read_as(rows)
        } else {
            self.read_under(&first.reference)
        };
        let before: Vec<Money> = known
            .into_iter()
            .filter_map(|of| match of {
                RowOf::Delivery(id) => self.workshop.receipt(id),
                RowOf::Sale(_) | RowOf::Payout(_) => None,
            })
            .filter(|receipt| receipt.day == day)
            .filter_map(|receipt| receipt.freight)
            .collect();
        let both = (rows, new.as_slice());
        let freight = of_the_whole(reading, both, "freight", &told, &before);
        let mut freight = freight.filter(|money| money.minor() != 0);
        for part in new.chunks(MOST_LINES) {
            let mut from = String::new();
            let lines: Vec<ReceiptLine> = part
                .iter()
                .filter_map(|row| match &row.says {
                    RowSays::Purchase {
                        supply,
                        amount,
                        paid,
                        supplier,
                        supplier_lot,
                        ..
                    } => {
                        from.clone_from(supplier);
                        Some(ReceiptLine {
                            volume: None,
                            supply: *supply,
                            supplier_lot: on_one_line(supplier_lot, 40),
                            amount: amount.clone(),
                            paid: *paid,
                        })
                    }
                    _ => None,
                })
                .collect();
            let receipt = ReceiptId(self.receipt);
            self.receipt = self.receipt.saturating_add(1);
            let received = SupplyReceived {
                duty: None,
                receipt,
                supplier: on_one_line(&from, 80),
                lines,
                freight: freight.take(),
                spread: FreightSpread::default(),
            };
            reading.add(day, received);
            for row in part {
                let row = self.row_key(row);
                reading.add(day, DeliveryRead { receipt, row });
            }
        }
        reading.set(new, &RowFate::Added);
    }

    fn payouts(&mut self, reading: &mut FileReading, day: Date, rows: &[&FileRow]) {
        let Some(channel) = self.layout.channel else {
            return;
        };
        for row in self.only_new(reading, rows) {
            let RowSays::Payout { amount } = row.says else {
                continue;
            };
            let payout = PayoutId(self.payout);
            self.payout = self.payout.saturating_add(1);
            let paid_out = PaidOut {
                payout,
                channel,
                amount,
                reference: on_one_line(&row.reference, 80),
                row: Some(self.row_key(row)),
            };
            reading.add(day, paid_out);
            reading.set([row], &RowFate::Added);
        }
    }
}

fn on_one_line(text: &str, longest: usize) -> String {
    let words = text.split(|c: char| c.is_whitespace() || c.is_control());
    let text = words
        .filter(|word| !word.is_empty())
        .collect::<Vec<_>>()
        .join(" ");
    text.chars().take(longest).collect()
}

fn payment_of(rows: &[&FileRow]) -> Payment {
    let found = rows.iter().find_map(|row| match row.says {
        RowSays::Sale { payment, .. } => Some(payment),
        _ => None,
    });
    found.unwrap_or(Payment::Unknown)
}

/// What the rows of one reference say of the whole of it, less what rows read
/// before have of it already: the same in every row is said of the whole.
///
/// Where none of all the rows was read before, what others under the reference
/// have is not in what these say, unless they say the same of the whole.
fn of_the_whole(
    reading: &mut FileReading,
    (all, new): (&[&FileRow], &[&FileRow]),
    what: &str,
    said: &[Option<Money>],
    before: &[Money],
) -> Option<Money> {
    let first = new.first()?;
    let known: Vec<Money> = said.iter().copied().flatten().collect();
    let one = *known.first()?;
    let is_repeated = said.len() > 1
        && known.len() == said.len()
        && one.minor() != 0
        && known.iter().all(|money| *money == one);
    let sum = |amounts: &mut dyn Iterator<Item = Money>| {
        amounts.fold(0_i64, |sum, money| sum.saturating_add(money.minor()))
    };
    let whole = if is_repeated {
        reading
            .notes
            .push(said_in_each(first, what, one, said.len()));
        one.minor()
    } else {
        sum(&mut known.iter().copied())
    };
    let has = sum(&mut before.iter().copied());
    let is_the_same = known.iter().all(|money| money.minor() == has);
    let has = if all.len() == new.len() && !is_the_same {
        0
    } else {
        has
    };
    Some(Money::from_minor(
        whole.saturating_sub(has).max(0),
        one.currency(),
    ))
}

fn said_in_each(first: &FileRow, what: &str, one: Money, n_rows: usize) -> String {
    let of = if first.reference.is_empty() {
        format!("row {}", first.nth)
    } else {
        first.reference.clone()
    };
    format!(
        "{of}: the same {what}, {one}, stands in each of its {n_rows} rows, and is counted once"
    )
}

/// Writes down by hand that a channel paid out.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a channel that is not there, [`Refusal::Input`]
/// for an amount of nothing or in another currency.
pub fn note_payout(
    workshop: &Workshop,
    channel: crate::facts::ChannelId,
    amount: Money,
    reference: &str,
) -> Decision {
    known_channel(workshop, channel)?;
    let mut problems = Vec::new();
    super::selling::check_money(workshop, &[("amount", Some(amount))], &mut problems);
    if amount.minor() == 0 {
        problems.push(cannot(
            "amount",
            amount.to_string(),
            "that is nothing",
            "write what came in",
        ));
    }
    let reference = if reference.trim().is_empty() {
        String::new()
    } else {
        name("reference", reference).unwrap_or_else(|problem| {
            problems.push(problem);
            String::new()
        })
    };
    refuse_if_any(problems)?;
    Ok(fact(PaidOut {
        payout: workshop.trade().next_payout(),
        channel,
        amount,
        reference,
        row: None,
    }))
}

/// Settles which sales a payout pays for.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a payout or sale that is not there,
/// [`Refusal::Input`] for a sale of another channel, that never was or that
/// another payout pays for, and for a difference that no word explains.
pub fn match_payout(
    workshop: &Workshop,
    payout: PayoutId,
    sales: &[SaleId],
    said: &str,
) -> Decision {
    let trade = workshop.trade();
    let known = trade.payout(payout).ok_or_else(|| Refusal::Unknown {
        what: "payout",
        id: payout.to_string(),
    })?;
    let mut problems = Vec::new();
    let mut chosen: Vec<SaleId> = Vec::new();
    let mut comes_to = 0_i64;
    for id in sales {
        let sale = trade.sale(*id).ok_or_else(|| Refusal::Unknown {
            what: "sale",
            id: id.to_string(),
        })?;
        let wrong = if sale.voided.is_some() {
            Some("that sale never was")
        } else if sale.channel != known.channel {
            Some("that sale was made through another channel")
        } else if sale.payout.is_some_and(|other| other != payout) {
            Some("another payout pays for that sale")
        } else {
            None
        };
        if let Some(wrong) = wrong {
            problems.push(cannot("sales", id.to_string(), wrong, "leave it out"));
        }
        if !chosen.contains(id) {
            chosen.push(*id);
            comes_to = comes_to.saturating_add(crate::payouts::net_of(workshop, sale).minor());
        }
    }
    let said = if said.trim().is_empty() {
        String::new()
    } else {
        note("note", said).unwrap_or_else(|problem| {
            problems.push(problem);
            String::new()
        })
    };
    let difference = known.amount.minor().saturating_sub(comes_to);
    if problems.is_empty() && said.is_empty() && difference != 0 {
        let by = Money::from_minor(difference.saturating_abs(), known.amount.currency());
        let than = if difference < 0 { "less" } else { "more" };
        problems.push(cannot(
            "note",
            "",
            &format!("the payout is {by} {than} than these sales come to"),
            "choose others, or write what explains it",
        ));
    }
    refuse_if_any(problems)?;
    chosen.sort_unstable();
    if known.matched.as_ref() == Some(&(chosen.clone(), said.clone())) {
        return Ok(Vec::new());
    }
    Ok(fact(crate::facts::PayoutMatched {
        payout,
        sales: chosen,
        note: said,
    }))
}
