//! Comma-separated values as they come: any of four delimiters, any of the
//! usual encodings, quoted cells, rows of unequal length.
//!
//! # Source
//!
//! RFC 4180 for the quoting; what spreadsheets write besides is common
//! practice, no source.

use measure::Problem;

use super::table::{Gatherer, LONGEST_CELL, Row, no_table};

/// What parts cells, likeliest first.
const DELIMITERS: [char; 4] = [',', ';', '\t', '|'];
/// Rows by which the delimiter is told.
const LOOKED_AT: usize = 60;

/// The rows of a file, with the row's number in the file.
pub(super) fn rows(bytes: &[u8]) -> Result<Vec<Row>, Problem> {
    let text = text(bytes)?;
    let (text, told, first) = match told_delimiter(&text) {
        Some((delimiter, rest)) => (rest, Some(delimiter), 2),
        None => (text.as_str(), None, 1),
    };
    let delimiter = told.unwrap_or_else(|| delimiter_of(text));
    let mut gathered = Gatherer::default();
    for (row, nth) in Rows::of(text, delimiter).zip(first..) {
        gathered.push(nth, row?)?;
    }
    Ok(gathered.take_rows())
}

/// The bytes as text: UTF-8 or UTF-16 by their mark or by how they look, else
/// Windows-1252, of which Latin-1 is a part.
fn text(bytes: &[u8]) -> Result<String, Problem> {
    let decoded = if let Some(rest) = bytes.strip_prefix(&[0xEF, 0xBB, 0xBF]) {
        String::from_utf8_lossy(rest).into_owned()
    } else if let Some(rest) = bytes.strip_prefix(&[0xFF, 0xFE]) {
        utf_16(rest, u16::from_le_bytes)
    } else if let Some(rest) = bytes.strip_prefix(&[0xFE, 0xFF]) {
        utf_16(rest, u16::from_be_bytes)
    } else {
        let look = &bytes[..bytes.len().min(4_000)];
        let nothing = |parity: usize| {
            let every_other = look.iter().skip(parity).step_by(2);
            every_other.filter(|byte| **byte == 0).count()
        };
        // Letters of most scripts have an empty half in UTF-16.
        let many = look.len() / 5;
        match (nothing(0), nothing(1)) {
            (high, low) if low > many.max(1) && high == 0 => utf_16(bytes, u16::from_le_bytes),
            (high, low) if high > many.max(1) && low == 0 => utf_16(bytes, u16::from_be_bytes),
            _ => match std::str::from_utf8(bytes) {
                Ok(text) => text.to_owned(),
                Err(_) => bytes.iter().map(|byte| windows_1252(*byte)).collect(),
            },
        }
    };
    if decoded.contains('\0') {
        return Err(no_table(
            "there are bytes in it that no text has",
            "choose a CSV or an XLSX file",
        ));
    }
    Ok(decoded)
}

fn utf_16(bytes: &[u8], unit: fn([u8; 2]) -> u16) -> String {
    let units = bytes.chunks_exact(2).map(|pair| unit([pair[0], pair[1]]));
    char::decode_utf16(units)
        .map(|letter| letter.unwrap_or(char::REPLACEMENT_CHARACTER))
        .collect()
}

/// A byte in Windows-1252 (WHATWG Encoding Standard, index windows-1252).
fn windows_1252(byte: u8) -> char {
    const UPPER: [char; 32] = [
        '€', '\u{81}', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', '\u{8d}', 'Ž',
        '\u{8f}', '\u{90}', '‘', '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', '\u{9d}',
        'ž', 'Ÿ',
    ];
    match byte {
        0x80..=0x9F => UPPER[usize::from(byte - 0x80)],
        other => char::from(other),
    }
}

/// The delimiter that a spreadsheet wrote into a line of its own above the
/// rest: `sep=;`.
fn told_delimiter(text: &str) -> Option<(char, &str)> {
    let told = text.strip_prefix("sep=")?;
    let delimiter = told.chars().next()?;
    let rest = &told[delimiter.len_utf8()..];
    let rest = rest
        .strip_prefix("\r\n")
        .or_else(|| rest.strip_prefix('\n'))?;
    (!delimiter.is_alphanumeric() && delimiter != '"').then_some((delimiter, rest))
}

/// The delimiter by which most rows have the same number of cells, and more
/// than one; of equals the one that makes more of them.
fn delimiter_of(text: &str) -> char {
    let like = |delimiter: char| {
        let widths: Vec<usize> = Rows::of(text, delimiter)
            .take(LOOKED_AT)
            .map_while(Result::ok)
            .map(|row| row.len())
            .filter(|width| *width > 1)
            .collect();
        let alike = |width: usize| widths.iter().filter(|other| **other == width).count();
        widths
            .iter()
            .map(|width| (alike(*width), *width))
            .max()
            .unwrap_or((0, 0))
    };
    let mut best = (DELIMITERS[0], (0, 0));
    for delimiter in DELIMITERS {
        let found = like(delimiter);
        if found > best.1 {
            best = (delimiter, found);
        }
    }
    best.0
}

/// The rows of a text, one after another.
struct Rows<'a> {
    rest: std::iter::Peekable<std::str::Chars<'a>>,
    delimiter: char,
    nth: u32,
    ended: bool,
}

impl<'a> Rows<'a> {
    fn of(text: &'a str, delimiter: char) -> Self {
        Self {
            rest: text.chars().peekable(),
            delimiter,
            nth: 0,
            ended: false,
        }
    }

    fn cell_is_too_long(&self) -> Problem {
        no_table(
            &format!(
                "a cell in row {} is longer than {LONGEST_CELL} letters: a quotation mark may be missing there",
                self.nth
            ),
            "put the row right, or save the file again",
        )
    }

    fn row(&mut self) -> Result<Vec<String>, Problem> {
        let mut cells = Vec::new();
        let mut cell = String::new();
        let mut n_letters = 0;
        let mut quoted = false;
        loop {
            let Some(letter) = self.rest.next() else {
                self.ended = true;
                if quoted {
                    return Err(no_table(
                        &format!("a quotation mark in row {} is never closed", self.nth),
                        "put the row right, or save the file again",
                    ));
                }
                break;
            };
            n_letters += 1;
            if n_letters > LONGEST_CELL {
                return Err(self.cell_is_too_long());
            }
            match letter {
                '"' if quoted => {
                    // Two of them stand for one.
                    if self.rest.next_if_eq(&'"').is_some() {
                        cell.push('"');
                    } else {
                        quoted = false;
                    }
                }
                letter if quoted => cell.push(letter),
                '"' if cell.trim().is_empty() => {
                    cell.clear();
                    quoted = true;
                }
                '\r' => {
                    self.rest.next_if_eq(&'\n');
                    break;
                }
                '\n' => break,
                letter if letter == self.delimiter => {
                    cells.push(std::mem::take(&mut cell));
                    n_letters = 0;
                    // A row no one can read is not kept whole in memory first.
                    if cells.len() > 20 * super::table::MOST_COLUMNS {
                        return Err(super::table::too_much(&format!(
                            "row {} has thousands of columns",
                            self.nth
                        )));
                    }
                }
                letter => cell.push(letter),
            }
        }
        cells.push(cell);
        Ok(cells)
    }
}

impl Iterator for Rows<'_> {
    type Item = Result<Vec<String>, Problem>;

    fn next(&mut self) -> Option<Self::Item> {
        if self.ended || self.rest.peek().is_none() {
            return None;
        }
        self.nth = self.nth.saturating_add(1);
        let row = self.row();
        if row.is_err() {
            self.ended = true;
        }
        Some(row)
    }
}
