//! Reading files in: sales, deliveries and payouts from whatever another
//! program exported.
//!
//! A file becomes tables of text ([`open`]). A [`layout`] says once which
//! column holds what; files with the same headings are read by it at once. A
//! [`dry_run`] shows what would become of every row before anything is written
//! down; [`read_in`] then appends all of it at once. What a row was read as is
//! kept with its key, so the same file twice adds nothing.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use jiff::civil::Date;
use measure::{
    Checker, Currency, Decimal, DecimalMark, Mass, Money, Problem, Problems, Reading, Typed,
};
use sha2::{Digest, Sha256};
use workshop::decide::{self, FileReading, FileRow, RowFate, RowSays};
use workshop::facts::{
    Amount, Column, Dated, Fact, FileLayout, Meant, Payment, ProductId, RowKey, RowKind, SupplyId,
};
use workshop::{Refusal, Workshop};

pub use table::{Row, Table};

use crate::forms::{Filled, amount as read_amount, whole};
use crate::{ActError, App, Done};

pub mod cells;
mod csv;
pub mod layout;
pub mod payouts;
pub mod table;
mod workbook;

/// A file, opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadFile {
    /// Its name.
    pub name: String,
    /// Its SHA-256 in hexadecimal.
    pub digest: String,
    /// Its tables; at least one, each with rows.
    pub tables: Vec<Table>,
}

impl ReadFile {
    /// The table of a sheet; the first where it names none.
    pub fn table(&self, sheet: &str) -> Option<&Table> {
        match sheet {
            "" => self.tables.first(),
            named => self.tables.iter().find(|table| table.sheet == named),
        }
    }
}

/// Opens a file that another program wrote.
///
/// # Errors
///
/// [`Problem`] in the maker's words for what is no table or too much of one.
pub fn open(name: &str, bytes: &[u8]) -> Result<ReadFile, Problem> {
    let tables = table::tables(bytes)?;
    let name: String = name
        .rsplit(['/', '\\'])
        .next()
        .unwrap_or_default()
        .to_owned();
    Ok(ReadFile {
        name: name.chars().filter(|c| !c.is_control()).take(120).collect(),
        digest: hex(&Sha256::digest(bytes), 32),
        tables,
    })
}

fn hex(bytes: &[u8], n: usize) -> String {
    bytes.iter().take(n).fold(String::new(), |mut text, byte| {
        // Writing to a text cannot fail.
        let _ = write!(text, "{byte:02x}");
        text
    })
}

/// What would become of one row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fate {
    /// It is added.
    Added,
    /// It was read in before.
    There,
    /// It adds nothing, and why.
    LeftOut(String),
    /// It waits until it is said what a name stands for.
    Waits(String),
    /// It cannot be read: the column, what stands there, what is wrong with it
    /// and what would be right.
    Unread(Problem),
}

impl Fate {
    /// The word for it.
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Added => "will be added",
            Self::There => "already there",
            Self::LeftOut(_) => "left out",
            Self::Waits(_) => "waits",
            Self::Unread(_) => "cannot be read",
        }
    }

    /// Why, in words; empty where there is nothing to say.
    pub fn why(&self) -> String {
        match self {
            Self::Added | Self::There => String::new(),
            Self::LeftOut(why) => why.clone(),
            Self::Waits(name) => format!("say what \"{name}\" is"),
            Self::Unread(problem) => {
                let given = if problem.given.is_empty() {
                    String::new()
                } else {
                    format!(" \"{}\"", problem.given)
                };
                let Problem {
                    field,
                    wrong,
                    accepted,
                    ..
                } = problem;
                format!("{field}{given}: {wrong}; {accepted}")
            }
        }
    }
}

/// A name that nobody has said anything of yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenName {
    /// As the file gives it.
    pub name: String,
    /// In how many rows.
    pub rows: usize,
    /// What it may be, by its name; none for a name with a figure of its own,
    /// which may stand for several.
    pub maybe: Option<Meant>,
    /// How many are in one, as its name tells.
    pub in_one: Option<u32>,
    /// Whether the rows say how much in figures alone, so that what one weighs
    /// has to be said where it is a supply that goes by weight.
    pub bare: bool,
}

/// What reading a file would come to.
#[derive(Debug, Clone, PartialEq)]
pub struct DryRun {
    /// What the rows are.
    pub kind: RowKind,
    /// Each row with what becomes of it, in the order of the file.
    pub rows: Vec<(Row, Fate)>,
    /// Names that wait for an answer, by how many rows wait.
    pub open: Vec<OpenName>,
    /// What was made of figures that could be taken in two ways.
    pub notes: Vec<String>,
    /// What it would add.
    pub sums: Sums,
    facts: Vec<Dated>,
}

impl DryRun {
    /// How many rows have a fate of a word.
    pub fn n(&self, word: &str) -> usize {
        self.rows
            .iter()
            .filter(|(_, fate)| fate.word() == word)
            .count()
    }
}

/// What a file would add, summed up.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Sums {
    /// Sales, deliveries or payouts.
    pub things: usize,
    /// What was paid for the goods or supplies, or paid out.
    pub paid: Option<Money>,
    /// Postage or freight.
    pub postage: Option<Money>,
    /// Tax in it.
    pub tax: Option<Money>,
    /// What channels kept, where the file says so.
    pub fees: Option<Money>,
    /// Units of each good.
    pub goods: BTreeMap<ProductId, u64>,
    /// Of these, units whose lot nobody knows.
    pub without_lot: u64,
    /// The first and the last day.
    pub days: Option<(Date, Date)>,
}

/// How a file of a layout is read.
struct Reader<'a> {
    workshop: &'a Workshop,
    name: &'a str,
    layout: &'a FileLayout,
    columns: BTreeMap<Column, usize>,
    mark: DecimalMark,
    is_of_workbook: bool,
    own: Currency,
}

/// What stands in a row, before its name is known.
struct Understood {
    print: String,
    reference: String,
    day: Date,
    says: Result<RowSays, Fate>,
}

/// What reading a table by a layout would come to. Nothing is written down.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a layout that is not there, [`Refusal::Input`] for
/// a table without its columns and for a workshop without a currency.
pub fn dry_run(
    workshop: &Workshop,
    today: Date,
    layout: &str,
    table: &Table,
) -> Result<DryRun, Refusal> {
    let reader = Reader::of(workshop, layout, table)?;
    let mut alike: BTreeMap<(String, String), u32> = BTreeMap::new();
    let mut fates: Vec<Option<Fate>> = vec![None; table.rows.len()];
    let mut known = Vec::new();
    let mut open: BTreeMap<String, OpenName> = BTreeMap::new();
    let mut waits: BTreeMap<Whole, String> = BTreeMap::new();
    for (row, fate) in table.rows.iter().zip(&mut fates) {
        let understood = match reader.understand(row) {
            Ok(understood) => understood,
            Err(why) => {
                *fate = Some(why);
                continue;
            }
        };
        let Understood {
            print,
            reference,
            day,
            says,
        } = understood;
        let nth = alike.entry((reference.clone(), print.clone())).or_default();
        *nth += 1;
        match says {
            Ok(says) => known.push(FileRow {
                nth: row.nth,
                key: decide::row_key(&reference, &print, *nth),
                reference,
                day,
                says,
            }),
            Err(Fate::Waits(name)) => {
                let bare = reader.is_bare(row);
                let asked = open.entry(name.clone());
                let asked = asked.or_insert_with(|| reader.asks(&name));
                asked.rows += 1;
                asked.bare |= bare;
                let supplier = reader.cell(row, Column::Supplier);
                if let Some(whole) = reader.whole_of(day, &reference, supplier) {
                    waits.entry(whole).or_insert_with(|| name.clone());
                }
                *fate = Some(Fate::Waits(name));
            }
            Err(why) => *fate = Some(why),
        }
    }
    let held = hold_back(&reader, &mut known, &waits);
    let mut open: Vec<OpenName> = open.into_values().collect();
    // Of equals by their names, as they come.
    open.sort_by_key(|open| std::cmp::Reverse(open.rows));
    let FileReading {
        fates: decided,
        notes,
        facts,
    } = decide::read_rows(workshop, today, layout, &known)?;
    let rows = table.rows.iter().zip(fates).map(|(row, fate)| {
        let fate = fate.or_else(|| held.get(&row.nth).cloned());
        let fate = fate.unwrap_or_else(|| match decided.get(&row.nth) {
            Some(RowFate::Added) => Fate::Added,
            Some(RowFate::There) | None => Fate::There,
            Some(RowFate::LeftOut(why)) => Fate::LeftOut(why.clone()),
            Some(RowFate::Refused(problem)) => Fate::Unread(problem.clone()),
        });
        (row.clone(), fate)
    });
    Ok(DryRun {
        kind: reader.layout.kind,
        rows: rows.collect(),
        open,
        notes,
        sums: sums_of(&facts),
        facts,
    })
}

/// What rows that belong together have in common: the day, the reference and,
/// for a delivery, who sent it.
type Whole = (Date, String, String);

/// Takes out the rows whose sale or delivery has another row that waits: it goes
/// in as a whole, since what a channel takes and what postage or freight costs
/// is reckoned once for all of it. What was read in before stands.
fn hold_back(
    reader: &Reader<'_>,
    known: &mut Vec<FileRow>,
    waits: &BTreeMap<Whole, String>,
) -> BTreeMap<u32, Fate> {
    let mut held = BTreeMap::new();
    known.retain(|row| {
        let key = RowKey {
            layout: reader.name.to_owned(),
            key: row.key.clone(),
        };
        let supplier = match &row.says {
            RowSays::Purchase { supplier, .. } => supplier.as_str(),
            RowSays::Sale { .. } | RowSays::Payout { .. } => "",
        };
        let whole = reader.whole_of(row.day, &row.reference, supplier);
        let name = whole.and_then(|whole| waits.get(&whole));
        let name = name.filter(|_| !reader.workshop.trade().has_row(&key));
        if let Some(name) = name {
            held.insert(row.nth, Fate::Waits(name.clone()));
        }
        name.is_none()
    });
    held
}

fn sums_of(facts: &[Dated]) -> Sums {
    let mut sums = Sums::default();
    let add = |sum: &mut Option<Money>, money: Money| {
        let before = sum.map_or(0, Money::minor);
        let minor = before.saturating_add(money.minor());
        *sum = Some(Money::from_minor(minor, money.currency()));
    };
    for dated in facts {
        let (first, last) = sums.days.unwrap_or((dated.day, dated.day));
        match &dated.fact {
            Fact::Sold(sold) => {
                for line in &sold.lines {
                    add(&mut sums.paid, line.paid);
                    for units in &line.units {
                        let count = u64::from(units.count);
                        *sums.goods.entry(units.product).or_default() += count;
                        if units.lot.is_none() {
                            sums.without_lot += count;
                        }
                    }
                }
                add(&mut sums.tax, sold.tax);
                for (sum, money) in [
                    (&mut sums.postage, sold.postage),
                    (&mut sums.fees, sold.fees),
                ] {
                    if let Some(money) = money {
                        add(sum, money);
                    }
                }
            }
            Fact::SupplyReceived(received) => {
                for line in &received.lines {
                    add(&mut sums.paid, line.paid);
                }
                if let Some(freight) = received.freight {
                    add(&mut sums.postage, freight);
                }
            }
            Fact::PaidOut(paid_out) => add(&mut sums.paid, paid_out.amount),
            _ => continue,
        }
        sums.things += 1;
        sums.days = Some((first.min(dated.day), last.max(dated.day)));
    }
    sums
}

impl<'a> Reader<'a> {
    fn of(workshop: &'a Workshop, name: &'a str, table: &Table) -> Result<Self, Refusal> {
        let layout = workshop
            .trade()
            .layout(name)
            .ok_or_else(|| Refusal::Unknown {
                what: "layout",
                id: name.to_owned(),
            })?;
        let Some(own) = workshop.money_kept_in().or_else(|| workshop.currency()) else {
            let wrong = "the workshop has no currency yet";
            return Err(Problem::new("", "", wrong, "choose one in the settings first").into());
        };
        let mut columns = BTreeMap::new();
        let mut missing = Vec::new();
        for (column, heading) in &layout.columns {
            match table.column(heading) {
                Some(at) => {
                    columns.insert(*column, at);
                }
                None => missing.push(Problem::new(
                    "file",
                    heading.clone(),
                    format!(
                        "files of \"{name}\" have a column \"{heading}\", and this one has none"
                    ),
                    "choose another layout, or say anew what its columns hold",
                )),
            }
        }
        if !missing.is_empty() {
            return Err(Problems(missing).into());
        }
        let mark = if layout.comma {
            DecimalMark::Comma
        } else {
            DecimalMark::Point
        };
        Ok(Self {
            workshop,
            name,
            layout,
            columns,
            mark,
            is_of_workbook: !table.sheet.is_empty(),
            own,
        })
    }

    /// The decimal mark of a cell. A workbook keeps figures without one, and
    /// they come with a point; what it keeps as words may have a comma.
    fn mark_of(&self, cell: &str) -> DecimalMark {
        if self.is_of_workbook && !cell.contains(',') {
            DecimalMark::Point
        } else {
            self.mark
        }
    }

    fn cell<'r>(&self, row: &'r Row, column: Column) -> &'r str {
        self.columns.get(&column).map_or("", |at| row.cell(*at))
    }

    /// What a row calls its good or supply, on one line: a form that asks about
    /// the name sends line breaks back otherwise than they came.
    fn called(&self, row: &Row) -> String {
        let words = self.cell(row, Column::Name).split_whitespace();
        words.collect::<Vec<_>>().join(" ")
    }

    /// What a row belongs to together with others; none for one that is a sale of
    /// its own, for want of a reference. What came on one day from one supplier
    /// came together even without.
    fn whole_of(&self, day: Date, reference: &str, supplier: &str) -> Option<Whole> {
        let sender = match self.layout.kind {
            RowKind::Purchases => supplier.to_lowercase(),
            RowKind::Sales if reference.is_empty() => return None,
            RowKind::Sales | RowKind::Payouts => String::new(),
        };
        Some((day, reference.to_owned(), sender))
    }

    fn unread(&self, column: Column, unclear: measure::Unclear) -> Fate {
        let heading = self.layout.heading(column).unwrap_or_default();
        Fate::Unread(Problem::at(heading, unclear))
    }

    fn money(&self, row: &Row, column: Column) -> Result<Option<Money>, Fate> {
        let cell = self.cell(row, column);
        if cell.is_empty() {
            return Ok(None);
        }
        let read = cells::money(cell, self.mark_of(cell), self.own);
        read.map(Some)
            .map_err(|unclear| self.unread(column, unclear))
    }

    /// What a row says; the error is what becomes of one that says nothing.
    fn understand(&self, row: &Row) -> Result<Understood, Fate> {
        let day_cell = self.cell(row, Column::Day);
        if day_cell.is_empty()
            && self.cell(row, Column::Paid).is_empty()
            && self.cell(row, Column::Amount).is_empty()
        {
            return Err(Fate::LeftOut(
                "it says neither a day nor an amount".to_owned(),
            ));
        }
        let (day, time) = cells::day(day_cell, self.layout.days)
            .map_err(|unclear| self.unread(Column::Day, unclear))?;
        let reference = self.cell(row, Column::Reference).to_owned();
        let figures = |column: Column| {
            let cell = self.cell(row, column);
            let read = cells::cost(cell, self.mark_of(cell), self.own).map(measure::Cost::major);
            read.map_or_else(|_| cell.to_owned(), |major| major.normalize().to_string())
        };
        let mut print = Sha256::new();
        print.update(format!("{day}\u{1f}{}", plain_time(&time)));
        for column in self.columns.keys().filter(|column| decide::tells(**column)) {
            let says = match column {
                Column::Day | Column::Reference => continue,
                Column::Name => self.cell(row, *column).to_owned(),
                _ => figures(*column),
            };
            print.update(format!("\u{1f}{says}"));
        }
        let says = match self.layout.kind {
            RowKind::Sales => self.sale(row),
            RowKind::Purchases => self.purchase(row),
            RowKind::Payouts => self.payout(row),
        };
        Ok(Understood {
            print: hex(&print.finalize(), 12),
            reference,
            day,
            says,
        })
    }

    /// How many, as a figure of the file; one where it has no such column.
    fn count(&self, row: &Row) -> Result<Decimal, Fate> {
        let cell = self.cell(row, Column::Amount);
        if cell.is_empty()
            && (!self.columns.contains_key(&Column::Amount)
                || !self.cell(row, Column::Paid).is_empty())
        {
            return Ok(Decimal::ONE);
        }
        let figure = cells::figure(cell, self.mark_of(cell));
        figure.map_err(|unclear| self.unread(Column::Amount, unclear))
    }

    /// Whether a row says less than nothing: it tells of what went the other way.
    fn is_minus(&self, row: &Row) -> bool {
        [Column::Amount, Column::Paid].into_iter().any(|column| {
            let cell = self.cell(row, column);
            let mark = self.mark_of(cell);
            let figure = if column == Column::Paid {
                cells::cost(cell, mark, self.own).map(measure::Cost::major)
            } else {
                cells::figure(cell, mark)
            };
            // A weight has its unit behind it, and is no figure.
            let behind = cell.strip_prefix(['-', '−', '\u{2010}', '\u{2011}']);
            let is_below = behind.is_some_and(|rest| {
                let rest = rest.trim_start().trim_start_matches(['.', ',']);
                rest.starts_with(|c: char| c.is_ascii_digit())
            });
            figure.map_or(is_below, |figure| figure < Decimal::ZERO)
        })
    }

    /// What was paid for the row: as it says, or the price of one so many times.
    fn paid(&self, row: &Row, count: Decimal) -> Result<Money, Fate> {
        if let Some(paid) = self.money(row, Column::Paid)? {
            return Ok(paid);
        }
        let column = if self.columns.contains_key(&Column::Each) {
            Column::Each
        } else {
            Column::Paid
        };
        let cell = self.cell(row, column);
        let each = cells::cost(cell, self.mark_of(cell), self.own);
        let each = each.map_err(|unclear| self.unread(column, unclear))?;
        each.times(count).rounded().ok_or_else(|| {
            let too_large =
                measure::Unclear::new(cell, "the amount is too large", "look at the figures");
            self.unread(column, too_large)
        })
    }

    fn sale(&self, row: &Row) -> Result<RowSays, Fate> {
        let called = &self.called(row);
        let meant = match self.meant(called) {
            // Nobody need say what a row is that adds nothing.
            Err(Fate::Waits(_)) if self.is_minus(row) => return Err(came_back()),
            meant => meant?,
        };
        let count = self.count(row)?;
        let paid = self.paid(row, count)?;
        if count.is_zero() {
            return Err(Fate::LeftOut("nothing was sold".to_owned()));
        }
        if count.is_sign_negative() || paid.minor() < 0 {
            return Err(came_back());
        }
        let in_one = match self.workshop.trade().one_of_name(self.name, called) {
            Some(Amount::Count(count)) => *count,
            _ => 1,
        };
        let units = u32::try_from(count.normalize())
            .ok()
            .filter(|_| count.is_integer())
            .and_then(|count| count.checked_mul(in_one));
        let Some(count) = units else {
            let wrong = measure::Unclear::new(
                self.cell(row, Column::Amount),
                "that is no number of units",
                "write a whole number such as 2",
            );
            return Err(self.unread(Column::Amount, wrong));
        };
        let Meant::Product(product) = meant else {
            return Err(Fate::LeftOut("it is a supply and not a good".to_owned()));
        };
        let positive = |column: Column| {
            self.money(row, column).map(|money| {
                money.map(|money| {
                    // Fees are often written as what they take away.
                    Money::from_minor(money.minor().saturating_abs(), money.currency())
                })
            })
        };
        Ok(RowSays::Sale {
            product,
            count,
            paid,
            tax: positive(Column::Tax)?,
            postage: positive(Column::Postage)?,
            fees: positive(Column::Fees)?,
            payment: payment_of(self.cell(row, Column::Payment)),
        })
    }

    fn purchase(&self, row: &Row) -> Result<RowSays, Fate> {
        let called = &self.called(row);
        let meant = match self.meant(called) {
            Err(Fate::Waits(_)) | Ok(Meant::Supply(_)) if self.is_minus(row) => {
                return Err(went_back());
            }
            meant => meant?,
        };
        let Meant::Supply(id) = meant else {
            return Err(Fate::LeftOut("it is a good and not a supply".to_owned()));
        };
        let Some(supply) = self.workshop.supply(id) else {
            return Err(Fate::Waits(called.clone()));
        };
        let cell = self.cell(row, Column::Amount);
        let reading = Reading {
            decimal_mark: self.mark_of(cell),
            customary: self.workshop.reading().customary,
        };
        let weighed = supply.kind.is_weighed();
        let as_weight = Typed::<Mass>::parse_with(cell, reading)
            .ok()
            .filter(|_| weighed);
        let one = self.workshop.trade().one_of_name(self.name, called);
        let (amount, times) = match (as_weight, one) {
            // Of so many of some weight each, a price of one is that of one.
            (Some(weight), _) => (Amount::Weight(weight), Decimal::ONE),
            (None, Some(Amount::Weight(each))) if weighed => {
                let count = self.count(row)?;
                // To the places it was typed with: a unit is no whole number of
                // the smallest ones.
                let places = each.places().unwrap_or(4);
                let one = each.value().to_decimal(each.unit()).round_dp(places);
                let figure = one.checked_mul(count);
                let weight =
                    figure.and_then(|figure| Typed::from_decimal(figure.normalize(), each.unit()));
                (Amount::Weight(self.whole_amount(row, weight)?), count)
            }
            (None, _) if weighed => return Err(Fate::Waits(called.clone())),
            (_, one) => {
                let count = self.count(row)?;
                if count.is_sign_negative() {
                    return Err(went_back());
                }
                let in_one = match one {
                    Some(Amount::Count(in_one)) => *in_one,
                    _ => 1,
                };
                let pieces = u32::try_from(count.normalize())
                    .ok()
                    .filter(|_| count.is_integer())
                    .and_then(|count| count.checked_mul(in_one));
                (Amount::Count(self.whole_amount(row, pieces)?), count)
            }
        };
        let paid = self.paid(row, times)?;
        if paid.minor() < 0 || amount.smallest() < 0 || times.is_sign_negative() {
            return Err(went_back());
        }
        Ok(RowSays::Purchase {
            supply: id,
            amount,
            paid,
            supplier: self.cell(row, Column::Supplier).to_owned(),
            supplier_lot: self.cell(row, Column::SupplierLot).to_owned(),
            freight: self
                .money(row, Column::Postage)?
                .filter(|money| money.minor() >= 0),
        })
    }

    fn whole_amount<T>(&self, row: &Row, amount: Option<T>) -> Result<T, Fate> {
        amount.ok_or_else(|| {
            let cell = self.cell(row, Column::Amount);
            let wrong =
                measure::Unclear::new(cell, "that is no amount of it", "write a number such as 2");
            self.unread(Column::Amount, wrong)
        })
    }

    fn payout(&self, row: &Row) -> Result<RowSays, Fate> {
        let called = self.cell(row, Column::Name).to_lowercase();
        let channel = self
            .layout
            .channel
            .and_then(|id| self.workshop.trade().channel(id));
        if let Some(channel) = channel
            && self.columns.contains_key(&Column::Name)
            && !called.contains(&channel.name.to_lowercase())
        {
            return Err(Fate::LeftOut(format!("it does not name {}", channel.name)));
        }
        let amount = self.paid(row, Decimal::ONE)?;
        if amount.minor() <= 0 {
            return Err(Fate::LeftOut("no money came in".to_owned()));
        }
        Ok(RowSays::Payout { amount })
    }

    fn meant(&self, called: &str) -> Result<Meant, Fate> {
        if called.is_empty() {
            let missing = measure::Unclear::new("", "it does not say what", "write its name");
            return Err(self.unread(Column::Name, missing));
        }
        let told = self.workshop.trade().meant(self.name, called);
        match told.or_else(|| self.named_alike(called)) {
            Some(Meant::Nothing) => Err(Fate::LeftOut(format!("\"{called}\" is nothing of yours"))),
            Some(meant) => Ok(meant),
            None => Err(Fate::Waits(called.to_owned())),
        }
    }

    /// The one good or supply that goes by that very name, letter case apart.
    fn named_alike(&self, called: &str) -> Option<Meant> {
        let wanted = called.trim().to_lowercase();
        let is_it = |name: &str| name.to_lowercase() == wanted;
        let found: Vec<Meant> = match self.layout.kind {
            RowKind::Sales => {
                let goods = self.workshop.products().filter(|good| is_it(&good.name));
                goods.map(|good| Meant::Product(good.id)).collect()
            }
            RowKind::Purchases => {
                let supplies = self
                    .workshop
                    .supplies()
                    .filter(|supply| is_it(&supply.name));
                supplies.map(|supply| Meant::Supply(supply.id)).collect()
            }
            RowKind::Payouts => Vec::new(),
        };
        match found.as_slice() {
            [only] => Some(*only),
            _ => None,
        }
    }

    /// The question what a name stands for, with what may be proposed for it.
    fn asks(&self, name: &str) -> OpenName {
        let told = self.workshop.trade().meant(self.name, name);
        let like = self.named_like(name);
        let is_weighed = match like {
            Some(Meant::Supply(id)) => {
                let supply = self.workshop.supply(id);
                supply.is_some_and(|supply| supply.kind.is_weighed())
            }
            _ => false,
        };
        // The figure of what is weighed is its weight, which has its own box.
        let is_plain =
            |meant: &Meant| is_weighed || told.is_some() || !self.has_own_figure(name, *meant);
        OpenName {
            name: name.to_owned(),
            rows: 0,
            maybe: like.filter(is_plain),
            in_one: cells::in_pack(name).filter(|_| !is_weighed),
            bare: false,
        }
    }

    /// Whether a name has a figure that what it may be has not.
    fn has_own_figure(&self, called: &str, meant: Meant) -> bool {
        fn figures(name: &str) -> impl Iterator<Item = &str> {
            let parts = name.split(|c: char| !c.is_ascii_digit());
            parts.filter(|part| !part.is_empty())
        }
        let name = match meant {
            Meant::Product(id) => self.workshop.product(id).map(|good| good.name.as_str()),
            Meant::Supply(id) => self.workshop.supply(id).map(|supply| supply.name.as_str()),
            Meant::Nothing => None,
        };
        let known: Vec<&str> = figures(name.unwrap_or_default()).collect();
        figures(called).any(|figure| !known.contains(&figure))
    }

    /// The one good or supply whose name shares the most words with it.
    fn named_like(&self, called: &str) -> Option<Meant> {
        if let told @ Some(_) = self.workshop.trade().meant(self.name, called) {
            return told;
        }
        let words = |text: &str| -> Vec<String> {
            let text = text.to_lowercase();
            let parts = text.split(|c: char| !c.is_alphanumeric());
            parts
                .filter(|word| word.chars().count() > 2)
                .map(str::to_owned)
                .collect()
        };
        let wanted = words(called);
        let shared = |name: &str| {
            words(name)
                .iter()
                .filter(|word| wanted.contains(word))
                .count()
        };
        let mut best: Vec<(usize, Meant)> = match self.layout.kind {
            RowKind::Sales => {
                let goods = self.workshop.products();
                goods
                    .map(|good| (shared(&good.name), Meant::Product(good.id)))
                    .collect()
            }
            RowKind::Purchases => {
                let supplies = self.workshop.supplies();
                supplies
                    .map(|supply| (shared(&supply.name), Meant::Supply(supply.id)))
                    .collect()
            }
            RowKind::Payouts => Vec::new(),
        };
        best.sort_by_key(|(shared, _)| std::cmp::Reverse(*shared));
        match best.as_slice() {
            [(0, _), ..] | [] => None,
            [(first, meant), rest @ ..] => {
                let is_alone = rest.first().is_none_or(|(second, _)| second < first);
                is_alone.then_some(*meant)
            }
        }
    }

    /// Whether a row says how much by a figure alone.
    fn is_bare(&self, row: &Row) -> bool {
        let cell = self.cell(row, Column::Amount);
        self.layout.kind == RowKind::Purchases
            && (cell.is_empty() || cells::figure(cell, self.mark_of(cell)).is_ok())
    }
}

/// A time as a workbook's cell gives it: without seconds that are none, and
/// nothing at midnight, so that a row of a CSV is known again in a workbook.
fn plain_time(time: &str) -> &str {
    let minutes = time.strip_suffix(":00");
    let minutes = minutes.filter(|rest| rest.contains(':')).unwrap_or(time);
    if minutes == "00:00" { "" } else { minutes }
}

fn came_back() -> Fate {
    Fate::LeftOut("it goes the other way; write down what came back at its sale".to_owned())
}

fn went_back() -> Fate {
    Fate::LeftOut("it goes the other way; put the delivery right that it came with".to_owned())
}

/// How a sale of a file was paid: through the channel, unless it says
/// something else. Common practice, no source.
///
/// A file names no buyer who could owe it or be sent an invoice, so what was
/// sold on account counts as paid into the account.
fn payment_of(text: &str) -> Payment {
    let text = text.to_lowercase();
    let says = |words: &[&str]| words.iter().any(|word| text.contains(word));
    if says(&["cash", "coins", "notes"]) {
        Payment::Cash
    } else if says(&["transfer", "bank", "invoice", "owed", "account"]) {
        Payment::Transfer
    } else {
        Payment::Payout
    }
}

/// Settles what open names stand for: `name[0]` with `meant[0]`, which is
/// `product:3`, `supply:2` or `nothing`, and `each[0]`, how much one of it is.
///
/// # Errors
///
/// [`ActError`], with a problem for every answer that cannot be read.
pub fn match_names(app: &App, who: &str, layout: &str, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut check = Checker::default();
        let mut names = Vec::new();
        for nth in 0..filled.lines("name") {
            let field = |part: &str| format!("{part}[{nth}]");
            let Some(word) = filled.some(&field("meant")) else {
                continue;
            };
            let called = filled.get(&field("name")).to_owned();
            let id = |rest: &str| rest.parse::<u32>().ok();
            let meant = match word.split_once(':') {
                Some(("product", rest)) => id(rest).map(|id| Meant::Product(ProductId(id))),
                Some(("supply", rest)) => id(rest).map(|id| Meant::Supply(SupplyId(id))),
                _ if word == "nothing" => Some(Meant::Nothing),
                _ => None,
            };
            let Some(meant) = meant else {
                let wrong = "it is not on the list";
                check.refuse(Problem::new(
                    field("meant"),
                    word,
                    wrong,
                    "choose one of the list",
                ));
                continue;
            };
            let typed = filled.some(&field("each"));
            let each = match meant {
                Meant::Nothing => None,
                Meant::Product(_) => {
                    check.optional(&field("each"), typed, |text| whole(text).map(Amount::Count))
                }
                Meant::Supply(id) => {
                    let kind = workshop.supply(id).map(|supply| supply.kind);
                    let needs = filled.get(&field("bare")) == "yes"
                        && kind.is_some_and(workshop::facts::SupplyKind::is_weighed);
                    if typed.is_none() && needs {
                        let wrong = "the file says how many, and not what one weighs";
                        check.refuse(Problem::new(
                            field("each"),
                            "",
                            wrong,
                            "write it, such as 16 oz",
                        ));
                    }
                    kind.and_then(|kind| {
                        check.optional(&field("each"), typed, |text| {
                            read_amount(text, kind, workshop.reading(), workshop.system())
                        })
                    })
                }
            };
            let one = Amount::Count(1);
            names.push((called, meant, each.filter(|each| *each != one)));
        }
        check.finish()?;
        decide::match_names(workshop, layout, &names)
    })
}

/// Reads a table in: appends everything the dry run says, at once.
///
/// # Errors
///
/// As [`dry_run`]; in every case nothing was written down.
pub fn read_in(
    app: &App,
    who: &str,
    layout: &str,
    file: &ReadFile,
    sheet: &str,
) -> Result<Done, ActError> {
    let today = app.today();
    app.act_dated(who, |workshop| {
        let table = file.table(sheet).ok_or_else(|| Refusal::Unknown {
            what: "sheet",
            id: sheet.to_owned(),
        })?;
        let run = dry_run(workshop, today, layout, table)?;
        let added = run.n(Fate::Added.word());
        let mut facts = run.facts;
        if !facts.is_empty() {
            let name = if sheet.is_empty() {
                file.name.clone()
            } else {
                format!("{}, {sheet}", file.name)
            };
            let read = decide::file_read(layout, &name, &file.digest, table.rows.len(), added);
            facts.push(Dated {
                day: today,
                fact: read,
            });
        }
        Ok(facts)
    })
}
