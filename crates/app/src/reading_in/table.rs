//! A file as headings and rows of text, whatever wrote it.
//!
//! Nothing in here knows what a column means. What is no table, or more of
//! one than a workshop writes, is refused in words.

use measure::Problem;

use super::{csv, workbook};

/// The largest file, in bytes.
pub const LARGEST_FILE: usize = 20 * 1024 * 1024;
/// The most rows of one table.
pub const MOST_ROWS: usize = 50_000;
/// The most columns.
pub const MOST_COLUMNS: usize = 200;
/// The most cells of all tables of a file, empty ones between others counted.
pub const MOST_CELLS: usize = 2_000_000;
/// The most text of all tables of a file, in bytes. A workbook may name one
/// long text in each of its cells, and so hold more than it unpacks to.
pub const MOST_TEXT: usize = 64 * 1024 * 1024;
/// The longest text of one cell, in letters.
pub const LONGEST_CELL: usize = 4_000;
/// Rows in which the headings are looked for: what stands above a table is
/// seldom more.
const ABOVE: usize = 30;

/// One table of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// The sheet of the workbook; empty for a file that is one table.
    pub sheet: String,
    /// The headings, each named once.
    pub headings: Vec<String>,
    /// The rows below them that are not empty.
    pub rows: Vec<Row>,
}

/// One row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// Where it stands in the file, as a spreadsheet counts.
    pub nth: u32,
    /// What stands in it; short of trailing empty cells.
    pub cells: Vec<String>,
}

impl Row {
    /// The text of a cell without blanks around it; empty past the last.
    pub fn cell(&self, column: usize) -> &str {
        self.cells.get(column).map_or("", |cell| cell.trim())
    }
}

impl Table {
    /// The column under a heading.
    pub fn column(&self, heading: &str) -> Option<usize> {
        self.headings.iter().position(|known| known == heading)
    }

    /// The cells of a column that say something.
    pub fn said(&self, column: usize) -> impl Iterator<Item = &str> {
        self.rows
            .iter()
            .map(move |row| row.cell(column))
            .filter(|cell| !cell.is_empty())
    }

    /// Takes rows as they were found and tells the headings from them: the
    /// first row that is about as wide as the table and holds words.
    pub(super) fn of(sheet: &str, rows: Vec<Row>) -> Option<Self> {
        let filled = |row: &Row| {
            row.cells
                .iter()
                .filter(|cell| !cell.trim().is_empty())
                .count()
        };
        let mut rows: Vec<Row> = rows.into_iter().filter(|row| filled(row) > 0).collect();
        let widest = rows.iter().take(ABOVE).map(filled).max()?;
        let is_head = |row: &Row| {
            let words = row.cells.iter().filter(|cell| is_words(cell)).count();
            2 * filled(row) >= widest && 2 * words > filled(row)
        };
        let at = rows.iter().take(ABOVE).position(is_head)?;
        let below = rows.split_off(at + 1);
        let head = rows.pop()?;
        let width = below.iter().map(|row| row.cells.len()).max().unwrap_or(0);
        let width = width.max(head.cells.len());
        Some(Self {
            sheet: sheet.to_owned(),
            headings: named_once(&head, width),
            rows: below,
        })
    }
}

/// Whether a cell is words, and neither empty nor a figure.
fn is_words(cell: &str) -> bool {
    cell.trim().chars().next().is_some_and(char::is_alphabetic)
}

fn named_once(head: &Row, width: usize) -> Vec<String> {
    let mut names: Vec<String> = Vec::with_capacity(width);
    for column in 0..width {
        let said = head.cell(column).split_whitespace().collect::<Vec<_>>();
        let said = said.join(" ").chars().take(80).collect::<String>();
        let name = if said.is_empty() {
            format!("column {}", column + 1)
        } else {
            said
        };
        let mut unlike = name.clone();
        let mut times = 1;
        while names.contains(&unlike) {
            times += 1;
            unlike = format!("{name} ({times})");
        }
        names.push(unlike);
    }
    names
}

/// Collects the rows of a file, one table after another, and refuses what is too
/// much of them.
#[derive(Default)]
pub(super) struct Gatherer {
    /// Of the table at hand.
    rows: Vec<Row>,
    /// Of every table so far.
    cells: usize,
    /// Of every table so far, in bytes.
    text: usize,
}

impl Gatherer {
    /// Takes one more row; trailing empty cells are dropped.
    pub(super) fn push(&mut self, nth: u32, mut cells: Vec<String>) -> Result<(), Problem> {
        while cells.last().is_some_and(|cell| cell.trim().is_empty()) {
            cells.pop();
        }
        if cells.is_empty() {
            return Ok(());
        }
        if cells.len() > MOST_COLUMNS {
            return Err(too_much(&format!(
                "row {nth} has {} columns, and at most {MOST_COLUMNS} are read",
                cells.len()
            )));
        }
        self.cells += cells.len();
        self.text += cells.iter().map(String::len).sum::<usize>();
        if self.rows.len() > MOST_ROWS {
            return Err(too_much(&format!("it has more than {MOST_ROWS} rows")));
        }
        if self.cells > MOST_CELLS {
            return Err(too_much(&format!("it has more than {MOST_CELLS} cells")));
        }
        if self.text > MOST_TEXT {
            return Err(too_much("there is more than 64 MB of text in it"));
        }
        self.rows.push(Row { nth, cells });
        Ok(())
    }

    /// Hands out the rows of the table at hand; the next one begins.
    pub(super) fn take_rows(&mut self) -> Vec<Row> {
        std::mem::take(&mut self.rows)
    }
}

pub(super) fn too_much(wrong: &str) -> Problem {
    Problem::new(
        "file",
        "",
        wrong,
        "save a shorter stretch of days, without the columns nobody needs",
    )
}

pub(super) fn no_table(wrong: &str, accepted: &str) -> Problem {
    Problem::new("file", "", wrong, accepted)
}

/// Reads every table of a file: one of a CSV, one a sheet of a workbook.
///
/// # Errors
///
/// [`Problem`] in the maker's words for a file that is no table, is broken or
/// is larger than the limits above.
pub fn tables(bytes: &[u8]) -> Result<Vec<Table>, Problem> {
    const EITHER: &str = "choose a CSV or an XLSX file";
    if bytes.is_empty() {
        return Err(no_table("the file is empty", EITHER));
    }
    if bytes.len() > LARGEST_FILE {
        return Err(too_much("it is larger than 20 MB"));
    }
    let tables = if bytes.starts_with(b"PK") {
        workbook::tables(bytes)?
    } else if bytes.starts_with(&[0xD0, 0xCF, 0x11, 0xE0]) {
        return Err(no_table(
            "that is a workbook of the older kind, or one behind a password",
            "open it in your spreadsheet and save it as XLSX or CSV",
        ));
    } else if bytes.starts_with(b"%PDF") {
        return Err(no_table("that is a PDF", EITHER));
    } else {
        Table::of("", csv::rows(bytes)?).into_iter().collect()
    };
    if tables.is_empty() {
        return Err(no_table(
            "no row of it reads like headings over columns",
            "choose a file whose columns have headings",
        ));
    }
    if tables.iter().all(|table| table.rows.is_empty()) {
        return Err(no_table(
            "there are headings and nothing below them",
            "choose a file with rows in it",
        ));
    }
    Ok(tables
        .into_iter()
        .filter(|table| !table.rows.is_empty())
        .collect())
}
