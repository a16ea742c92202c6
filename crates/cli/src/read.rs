//! `read FILE`: sales, deliveries and payouts from another program's file.

use std::fs::File;
use std::io::Read as _;
use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::Arc;

use anyhow::{Context, Result};
use app::reading_in::table::LARGEST_FILE;
use app::reading_in::{self, DryRun, Fate, layout};
use app::{ActError, App, SystemClock};
use clap::Args;
use measure::Problem;
use workshop::Refusal;
use workshop::facts::RowKind;

use crate::commands::{existing_to_write, refuse, say, workshop_of};
use crate::config::Config;

/// Who reads files in from the command line.
const WHO: &str = "bench";

#[derive(Debug, Args)]
pub(crate) struct Read {
    /// The file, ending in .csv, .tsv, .txt or .xlsx
    file: PathBuf,
    /// How it is read [default: the one layout with the same headings]
    #[arg(long, value_name = "NAME")]
    layout: Option<String>,
    /// Which sheet of a workbook [default: the first]
    #[arg(long, value_name = "NAME")]
    sheet: Option<String>,
    /// Say what would become of every row, and write nothing down
    #[arg(long)]
    dry_run: bool,
}

impl Read {
    pub(crate) fn run(self, config: &Config) -> Result<ExitCode> {
        let told = || format!("could not read {}", self.file.display());
        let mut bytes = Vec::new();
        // One byte more than is taken, so that the reader says it is too large.
        let most = u64::try_from(LARGEST_FILE).unwrap_or(u64::MAX) + 1;
        let file = File::open(&self.file).with_context(told)?;
        file.take(most).read_to_end(&mut bytes).with_context(told)?;
        let name = self.file.to_string_lossy();
        let file = match reading_in::open(&name, &bytes) {
            Ok(file) => file,
            Err(problem) => return Ok(refuse(&problem.into(), false)),
        };
        let sheet = self.sheet.unwrap_or_default();
        let Some(table) = file.table(&sheet) else {
            let names: Vec<&str> = file.tables.iter().map(|it| it.sheet.as_str()).collect();
            let accepted = format!("write {}", names.join(", "));
            let problem = Problem::new("--sheet", sheet, "there is no such sheet", accepted);
            return Ok(refuse(&problem.into(), false));
        };
        let (store, path) = existing_to_write(config)?;
        let workshop = workshop_of(&store)?;
        let told = || format!("could not read {}", path.display());
        let app = App::open(Arc::new(store), Arc::new(SystemClock), workshop).with_context(told)?;
        let (same, like) = app
            .look(|workshop| layout::layouts_for(workshop, table))
            .with_context(told)?;
        let by = match (self.layout, same.as_slice()) {
            (Some(named), _) if same.contains(&named) || like.contains(&named) => named,
            (None, [only]) => only.clone(),
            (named, _) => {
                let known: Vec<&str> = same.iter().chain(&like).map(String::as_str).collect();
                let wrong = match (&named, same.len()) {
                    (Some(_), _) => "it has not the columns of that layout",
                    (None, 0) => "no layout has these headings",
                    (None, _) => "more than one layout has these headings",
                };
                let accepted = if known.is_empty() {
                    "say what its columns hold on the page \"What does this file say?\"".to_owned()
                } else {
                    format!("write {}", known.join(", "))
                };
                let problem = Problem::new("--layout", named.unwrap_or_default(), wrong, accepted);
                return Ok(refuse(&problem.into(), false));
            }
        };
        let today = app.today();
        let run = app
            .look(|workshop| reading_in::dry_run(workshop, today, &by, table))
            .with_context(told)?;
        let run = match run {
            Ok(run) => run,
            Err(refusal) => return refused(refusal),
        };
        for (row, fate) in &run.rows {
            let is_quiet = matches!(fate, Fate::Added | Fate::There);
            if self.dry_run || !is_quiet {
                let why = shown(&fate.why());
                let mark = if why.is_empty() { "" } else { ": " };
                say(&format!("row {}: {}{mark}{why}", row.nth, fate.word()))?;
            }
        }
        for note in &run.notes {
            say(&shown(note))?;
        }
        if self.dry_run {
            say(&summed("Would add", &run))?;
            return Ok(ExitCode::SUCCESS);
        }
        match reading_in::read_in(&app, WHO, &by, &file, &sheet) {
            Ok(_) => {
                say(&summed("Added", &run))?;
                Ok(ExitCode::SUCCESS)
            }
            Err(ActError::Refused(refusal)) => refused(refusal),
            Err(error) => Err(error).context("the file was not read in"),
        }
    }
}

/// What stands in a file, without what would make a terminal do anything.
fn shown(text: &str) -> String {
    let plain = |letter: char| if letter.is_control() { ' ' } else { letter };
    text.chars().map(plain).collect()
}

fn refused(refusal: Refusal) -> Result<ExitCode> {
    match refusal {
        Refusal::Input(problems) => Ok(refuse(&problems, false)),
        other => Err(other.into()),
    }
}

/// `Added 2 sales for 32.00 USD; 1 row waits, 2 already there.`
fn summed(verb: &str, run: &DryRun) -> String {
    let n = run.sums.things;
    let things = match (run.kind, n) {
        (RowKind::Sales, 1) => "sale",
        (RowKind::Sales, _) => "sales",
        (RowKind::Purchases, 1) => "delivery",
        (RowKind::Purchases, _) => "deliveries",
        (RowKind::Payouts, 1) => "payout",
        (RowKind::Payouts, _) => "payouts",
    };
    let worth = run
        .sums
        .paid
        .map_or_else(String::new, |paid| format!(" for {paid}"));
    let fates = [
        "will be added",
        "already there",
        "left out",
        "waits",
        "cannot be read",
    ];
    let rows: Vec<String> = fates
        .iter()
        .map(|word| (word.replace("will be added", "new"), run.n(word)))
        .filter(|(_, n)| *n > 0)
        .map(|(word, n)| format!("{n} {word}"))
        .collect();
    format!("{verb} {n} {things}{worth}. Rows: {}.", rows.join(", "))
}
