//! Double entry: what is written on one side is written on another, so that
//! every entry, and with them the books, balance to zero.

use std::collections::BTreeMap;
use std::fmt::{self, Write as _};
use std::str::FromStr;

use jiff::civil::Date;
use measure::{Currency, Decimal, Money};

use crate::value::minor_places;

/// The five roots of the accounts.
const ROOTS: [&str; 5] = ["Assets", "Liabilities", "Equity", "Income", "Expenses"];

/// An account, as a path under one of the five roots: `Assets:Stock:Goods`.
///
/// Each part begins with a capital or a digit and goes on with letters,
/// digits and hyphens, so that it can be read wherever journals are kept as
/// plain text.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Account(String);

/// Why a text is not an account.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum AccountError {
    /// It does not begin with one of the five roots.
    #[error("\"{0}\" does not begin with Assets, Liabilities, Equity, Income or Expenses")]
    Root(String),
    /// A part is empty, begins with a small letter or a hyphen, or has a
    /// character in it that is none of letter, digit and hyphen.
    #[error("\"{0}\" is not a name of letters, digits and hyphens that begins with a capital")]
    Part(String),
}

fn begins_well(first: char) -> bool {
    first.is_alphanumeric() && !first.is_lowercase()
}

impl Account {
    /// Reads an account.
    ///
    /// # Errors
    ///
    /// [`AccountError`] for another root or a part that journals cannot hold.
    pub fn try_new(path: &str) -> Result<Self, AccountError> {
        let mut parts = path.split(':');
        if !parts.next().is_some_and(|root| ROOTS.contains(&root)) {
            return Err(AccountError::Root(path.to_owned()));
        }
        for part in parts {
            let good = part.starts_with(begins_well)
                && part.chars().all(|c| c.is_alphanumeric() || c == '-');
            if !good {
                return Err(AccountError::Part(part.to_owned()));
            }
        }
        Ok(Self(path.to_owned()))
    }

    /// The account for a name below this one, whatever the name is made of:
    /// `Peat & Plum` becomes `Peat-Plum`. Two names can become the same.
    #[must_use]
    pub fn under(&self, name: &str) -> Self {
        let mut part = String::new();
        for c in name.chars() {
            if c.is_alphanumeric() {
                if part.is_empty() {
                    let mut first = c.to_uppercase();
                    match (first.next(), first.next()) {
                        (Some(capital), None) => part.push(capital),
                        _ => part.push(c),
                    }
                } else {
                    part.push(c);
                }
            } else if !part.is_empty() && !part.ends_with('-') {
                part.push('-');
            }
        }
        let part = part.trim_end_matches('-');
        if part.starts_with(begins_well) {
            Self(format!("{}:{part}", self.0))
        } else if part.is_empty() {
            Self(format!("{}:Unnamed", self.0))
        } else {
            // A small letter that has no capital.
            Self(format!("{}:0{part}", self.0))
        }
    }

    /// The path.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Account {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl FromStr for Account {
    type Err = AccountError;
    fn from_str(path: &str) -> Result<Self, AccountError> {
        Self::try_new(path)
    }
}

/// One line of an entry: above zero is debit, below zero credit.
pub type Line = (Account, Money);

/// Something that moved money between accounts, balanced.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    day: Date,
    text: String,
    lines: Vec<Line>,
}

/// Why lines are not an entry.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum EntryError {
    /// There are fewer than two lines.
    #[error("an entry needs two lines or more")]
    TooFewLines,
    /// The lines of a currency do not add up to zero.
    #[error("the lines leave {} {} over", decimal(*.over, *.currency), .currency.code())]
    Unbalanced {
        /// What is left over, in minor units.
        over: i128,
        /// The currency it is left in.
        currency: Currency,
    },
}

impl Entry {
    /// Makes an entry of lines that balance.
    ///
    /// # Errors
    ///
    /// [`EntryError`] for fewer than two lines, or when the lines of a
    /// currency do not add up to zero; the first currency by its code is named.
    pub fn try_new(
        day: Date,
        text: impl Into<String>,
        lines: Vec<Line>,
    ) -> Result<Self, EntryError> {
        if lines.len() < 2 {
            return Err(EntryError::TooFewLines);
        }
        let mut sums: BTreeMap<&str, (Currency, i128)> = BTreeMap::new();
        for (_, money) in &lines {
            let currency = money.currency();
            let (_, sum) = sums.entry(currency.code()).or_insert((currency, 0));
            *sum += i128::from(money.minor());
        }
        if let Some((currency, over)) = sums.into_values().find(|(_, sum)| *sum != 0) {
            return Err(EntryError::Unbalanced { over, currency });
        }
        Ok(Self {
            day,
            text: text.into(),
            lines,
        })
    }

    /// The day it concerns.
    pub const fn day(&self) -> Date {
        self.day
    }

    /// What it was for, as it was given.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Its lines, in the order given.
    pub fn lines(&self) -> &[Line] {
        &self.lines
    }
}

/// What stands on one account in one currency.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Balance {
    /// The account.
    pub account: Account,
    /// Debits less credits, in minor units.
    pub minor: i128,
    /// The currency.
    pub currency: Currency,
}

impl fmt::Display for Balance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let amount = decimal(self.minor, self.currency);
        write!(f, "{}  {amount} {}", self.account, self.currency.code())
    }
}

/// Entries of a business.
#[derive(Debug, Clone, Default)]
pub struct Book {
    entries: Vec<Entry>,
}

impl Book {
    /// Makes a book of entries, put in the order of their days; those of one
    /// day stay as they were given.
    pub fn new(mut entries: Vec<Entry>) -> Self {
        entries.sort_by_key(Entry::day);
        Self { entries }
    }

    /// The entries by day.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// What stands on every account, by account and currency. For each
    /// currency it adds up to zero.
    pub fn trial_balance(&self) -> Vec<Balance> {
        let mut sums: BTreeMap<(&Account, &str), (Currency, i128)> = BTreeMap::new();
        for (account, money) in self.entries.iter().flat_map(Entry::lines) {
            let currency = money.currency();
            let place = (account, currency.code());
            sums.entry(place).or_insert((currency, 0)).1 += i128::from(money.minor());
        }
        sums.into_iter()
            .map(|((account, _), (currency, minor))| Balance {
                account: account.clone(),
                minor,
                currency,
            })
            .collect()
    }

    /// Writes the book as a plain-text journal: a paragraph an entry, its
    /// first line the day and the text, then a line an account, indented, with
    /// its amount two spaces off.
    ///
    /// The text is kept to one line and to what cannot be taken for a mark:
    /// breaks become spaces, `;` and `|` become `,` and `/`, and a text that
    /// does not begin with a letter is put behind a dash.
    pub fn to_plain_text(&self) -> String {
        let mut journal = String::new();
        for entry in &self.entries {
            let lines = entry.lines.iter();
            let widest = lines.clone().map(|(account, _)| account.0.chars().count());
            let width = widest.max().unwrap_or(0);
            if !journal.is_empty() {
                journal.push('\n');
            }
            // Writing to a text cannot fail.
            let _ = writeln!(journal, "{} {}", entry.day, plain(&entry.text));
            for (account, money) in lines {
                let amount = decimal(i128::from(money.minor()), money.currency());
                let code = money.currency().code();
                let _ = writeln!(journal, "    {:<width$}  {amount:>12} {code}", account.0);
            }
        }
        journal
    }

    /// Writes the book as CSV (RFC 4180): a line of headings, then a line for
    /// each line of an entry, entries numbered from 1.
    ///
    /// A text that a spreadsheet would take for a formula is put behind an
    /// apostrophe; amounts are plain figures, never below zero.
    pub fn to_csv(&self) -> String {
        let mut csv = String::from("date,entry,text,account,debit,credit,currency\r\n");
        for (number, entry) in (1_usize..).zip(&self.entries) {
            let text = cell(&entry.text);
            for (account, money) in &entry.lines {
                let amount = decimal(i128::from(money.minor()).abs(), money.currency());
                let (debit, credit) = match money.minor() {
                    ..0 => ("", amount.as_str()),
                    0.. => (amount.as_str(), ""),
                };
                let _ = write!(
                    csv,
                    "{},{number},{text},{},{debit},{credit},{}\r\n",
                    entry.day,
                    cell(account.as_str()),
                    money.currency().code()
                );
            }
        }
        csv
    }
}

/// Minor units as a plain figure in major units, without a sign of plus and
/// with the currency's decimal places.
fn decimal(minor: i128, currency: Currency) -> String {
    let places = minor_places(currency);
    match Decimal::try_from_i128_with_scale(minor, places) {
        Ok(major) => major.to_string(),
        // More than 28 digits.
        Err(_) => format!("{minor}e-{places}"),
    }
}

/// On one line: breaks and other controls become spaces, and spaces one.
fn one_line(text: &str) -> String {
    let breaks =
        |c: char| c.is_whitespace() || c.is_control() || matches!(c, '\u{2028}' | '\u{2029}');
    let words = text.split(breaks).filter(|word| !word.is_empty());
    words.collect::<Vec<_>>().join(" ")
}

fn plain(text: &str) -> String {
    let mut line = one_line(text).replace(';', ",").replace('|', "/");
    if line.is_empty() {
        return "no text".to_owned();
    }
    if !line.starts_with(char::is_alphabetic) {
        line.insert_str(0, "- ");
    }
    line
}

fn cell(text: &str) -> String {
    let mut cell = one_line(text);
    if cell.starts_with([
        '=', '+', '-', '@', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}',
    ]) {
        cell.insert(0, '\'');
    }
    if cell.contains(['"', ',']) {
        cell = format!("\"{}\"", cell.replace('"', "\"\""));
    }
    cell
}
