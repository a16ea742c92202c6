//! The sheets of an XLSX workbook as text: figures as a person would write
//! them, days as 2026-12-31.

use std::io::{Cursor, Read};

use calamine::{Cell, DataRef, Reader as _, Xlsx, XlsxError};
use measure::Problem;
use zip::ZipArchive;

use super::table::{
    Gatherer, LONGEST_CELL, MOST_COLUMNS, MOST_ROWS, Row, Table, no_table, too_much,
};

/// The most bytes of a workbook when unpacked.
const LARGEST_UNPACKED: u64 = 64 * 1024 * 1024;
/// The most parts of one.
const MOST_PARTS: usize = 2_000;
/// The most sheets that are looked at.
const MOST_SHEETS: usize = 20;
/// A spreadsheet keeps so many digits of a figure; what a float has beyond
/// them is how it is stored, not what was meant.
const DIGITS: usize = 15;

/// Every sheet with a table in it.
pub(super) fn tables(bytes: &[u8]) -> Result<Vec<Table>, Problem> {
    // The library counts columns and rows without a look at where its numbers
    // end, and panics at a cell named past that.
    std::panic::catch_unwind(|| sheets(bytes)).unwrap_or_else(|_| Err(unreadable()))
}

fn sheets(bytes: &[u8]) -> Result<Vec<Table>, Problem> {
    unpacks_to_little(bytes)?;
    let mut book: Xlsx<_> = calamine::open_workbook_from_rs(Cursor::new(bytes)).map_err(broken)?;
    let sheets = book.sheet_names();
    let mut tables = Vec::new();
    let mut gathered = Gatherer::default();
    for sheet in sheets.iter().take(MOST_SHEETS) {
        match rows(&mut book, sheet, &mut gathered) {
            Ok(rows) => tables.extend(Table::of(sheet, rows)),
            // A chart has a sheet of its own and no cells.
            Err(Stopped::NoCells) => {}
            Err(Stopped::Told(problem)) => return Err(problem),
        }
    }
    Ok(tables)
}

/// Unpacks the parts to nowhere, as far as the limit. What the file says of its
/// own size is not believed.
fn unpacks_to_little(bytes: &[u8]) -> Result<(), Problem> {
    let no_workbook = || {
        no_table(
            "it begins like a workbook and cannot be opened as one",
            "save it again as XLSX, or as CSV",
        )
    };
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(|_| no_workbook())?;
    if archive.len() > MOST_PARTS {
        return Err(too_much("it is made of thousands of parts"));
    }
    let mut left = LARGEST_UNPACKED;
    for nth in 0..archive.len() {
        let part = archive.by_index(nth).map_err(|_| no_workbook())?;
        let unpacked = std::io::copy(&mut part.take(left), &mut std::io::sink());
        left = left.saturating_sub(unpacked.map_err(|_| no_workbook())?);
        if left == 0 {
            return Err(too_much("unpacked it is larger than 64 MB"));
        }
    }
    Ok(())
}

enum Stopped {
    NoCells,
    Told(Problem),
}

impl From<Problem> for Stopped {
    fn from(problem: Problem) -> Self {
        Self::Told(problem)
    }
}

#[expect(clippy::needless_pass_by_value, reason = "the shape map_err asks for")]
fn broken(error: XlsxError) -> Problem {
    match error {
        XlsxError::Password => no_table(
            "the workbook is behind a password",
            "save it without one, or as CSV",
        ),
        _ => unreadable(),
    }
}

fn unreadable() -> Problem {
    no_table(
        "it begins like a workbook and cannot be read as one",
        "save it again as XLSX, or as CSV",
    )
}

/// The rows of a sheet, cell by cell, so that a cell in the last corner does
/// not make a table of everything before it.
fn rows(
    book: &mut Xlsx<Cursor<&[u8]>>,
    sheet: &str,
    gathered: &mut Gatherer,
) -> Result<Vec<Row>, Stopped> {
    let mut cells = book
        .worksheet_cells_reader(sheet)
        .map_err(|_| Stopped::NoCells)?;
    let mut row: Option<(u32, Vec<String>)> = None;
    while let Some(cell) = cells.next_cell().map_err(broken)? {
        let (nth, column) = cell.get_position();
        let Some(text) = text_of(&cell)? else {
            continue;
        };
        let column = usize::try_from(column).unwrap_or(usize::MAX);
        let nth = nth.saturating_add(1);
        if column >= MOST_COLUMNS {
            let wrong = format!("row {nth} has more than {MOST_COLUMNS} columns");
            return Err(too_much(&wrong).into());
        }
        if row.as_ref().is_none_or(|(at, _)| *at != nth) {
            if let Some((at, done)) = row.take() {
                if nth < at {
                    let wrong = "its rows are not in order";
                    return Err(no_table(wrong, "save it again as XLSX, or as CSV").into());
                }
                gathered.push(at, done)?;
            }
            row = Some((nth, Vec::new()));
        }
        if let Some((_, texts)) = &mut row {
            if texts.len() <= column {
                texts.resize(column + 1, String::new());
            }
            texts[column] = text;
        }
        if usize::try_from(nth).unwrap_or(usize::MAX) > 4 * MOST_ROWS {
            return Err(too_much(&format!("it goes on to row {nth}")).into());
        }
    }
    if let Some((at, done)) = row {
        gathered.push(at, done)?;
    }
    Ok(gathered.take_rows())
}

fn text_of(cell: &Cell<DataRef>) -> Result<Option<String>, Problem> {
    let text = match cell.get_value() {
        DataRef::Empty => return Ok(None),
        DataRef::Int(whole) => whole.to_string(),
        DataRef::Float(figure) => plain(*figure),
        DataRef::String(text) | DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => {
            text.clone()
        }
        DataRef::SharedString(text) => (*text).to_owned(),
        DataRef::Bool(true) => "yes".to_owned(),
        DataRef::Bool(false) => "no".to_owned(),
        DataRef::DateTime(at) if at.is_datetime() => day_text(*at),
        DataRef::DateTime(at) => plain(at.as_f64()),
        DataRef::Error(error) => error.to_string(),
    };
    if text.chars().nth(LONGEST_CELL).is_some() {
        let row = cell.get_position().0.saturating_add(1);
        let wrong = format!("a cell in row {row} is longer than {LONGEST_CELL} letters");
        return Err(no_table(&wrong, "shorten it, or leave the column out"));
    }
    Ok(Some(text))
}

/// A moment as a workbook counts it: the day, and the time where it has one.
fn day_text(at: calamine::ExcelDateTime) -> String {
    // Past the last day of a calendar of four digits.
    if !(0.0..2_958_466.0).contains(&at.as_f64()) {
        return plain(at.as_f64());
    }
    let (year, month, day, hour, minute, second, _) = at.to_ymd_hms_milli();
    let time = match (hour, minute, second) {
        (0, 0, 0) => String::new(),
        (hour, minute, 0) => format!(" {hour:02}:{minute:02}"),
        (hour, minute, second) => format!(" {hour:02}:{minute:02}:{second:02}"),
    };
    format!("{year:04}-{month:02}-{day:02}{time}")
}

/// A figure to the digits that a spreadsheet keeps, without zeros behind:
/// 12.299999999999999 is 12.3.
pub(super) fn plain(figure: f64) -> String {
    let rounded = format!("{figure:.*e}", DIGITS - 1).parse::<f64>();
    rounded.unwrap_or(figure).to_string()
}
