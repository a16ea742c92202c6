//! `export KIND`: tables of a workshop as files.

use std::fs::File;
use std::io::Write;
use std::path::Path;
use std::process::ExitCode;
use std::sync::Arc;

use anyhow::{Context, Result};
use app::books::{Days, ENTRIES, KINDS, a_day, entries, kind_named};
use app::{App, SystemClock};
use measure::{Checker, Problem};

use crate::commands::{existing, refuse, workshop_of};
use crate::config::Config;

/// Writes one table, in the form that the ending of the file asks for.
pub(crate) fn table(
    config: &Config,
    kind: &str,
    [from, to]: [Option<String>; 2],
    output: Option<&Path>,
) -> Result<ExitCode> {
    let mut check = Checker::default();
    let days = Days {
        from: check.optional("--from", from.as_deref(), a_day),
        to: check.optional("--to", to.as_deref(), a_day),
    };
    if let Err(problems) = check.finish() {
        return Ok(refuse(&problems, false));
    }
    if days.from.zip(days.to).is_some_and(|(from, to)| to < from) {
        let given = to.unwrap_or_default();
        let wrong = "it is before the first day";
        let problem = Problem::new("--to", given, wrong, "write a later day");
        return Ok(refuse(&problem.into(), false));
    }
    let table = kind_named(kind);
    if table.is_none() && kind != ENTRIES {
        let names: Vec<&str> = KINDS.iter().map(|kind| kind.name).collect();
        let accepted = format!("write {} or {ENTRIES}", names.join(", "));
        let problem = Problem::new("kind", kind, "there is no such table", accepted);
        return Ok(refuse(&problem.into(), false));
    }
    let ending = output
        .and_then(Path::extension)
        .map(|ending| ending.to_string_lossy().to_lowercase());
    let form = match (table, ending.as_deref()) {
        (Some(_), None) | (_, Some("csv")) => "csv",
        (Some(_), Some("xlsx")) => "xlsx",
        (None, None | Some("txt" | "journal")) => "txt",
        (table, Some(other)) => {
            let accepted = if table.is_some() {
                "end it in .csv or .xlsx"
            } else {
                "end it in .txt or .csv"
            };
            let wrong = "it cannot be written in that form";
            let problem = Problem::new("--output", other, wrong, accepted);
            return Ok(refuse(&problem.into(), false));
        }
    };
    let (store, path) = existing(config)?;
    let workshop = workshop_of(&store)?;
    let told = || format!("could not read {}", path.display());
    let app = App::open(Arc::new(store), Arc::new(SystemClock), workshop).with_context(told)?;
    let bytes = if let Some(kind) = table {
        let table = kind.table(&app, days).with_context(told)?;
        eprintln!("Exported {} rows.", table.rows.len());
        match form {
            "xlsx" => table.to_xlsx(kind.name)?,
            _ => table.to_csv().into_bytes(),
        }
    } else {
        let Some(books) = app.books().with_context(told)? else {
            let wrong = "the workshop has no currency yet";
            let problem = Problem::new("kind", kind, wrong, "choose one in the settings");
            return Ok(refuse(&problem.into(), false));
        };
        let book = app
            .look(|workshop| entries(workshop, &books, days, app.today()))
            .with_context(told)?;
        eprintln!("Exported {} entries.", book.entries().len());
        match form {
            "csv" => book.to_csv().into_bytes(),
            _ => book.to_plain_text().into_bytes(),
        }
    };
    match output {
        Some(output) => {
            let mut file = File::create_new(output)
                .with_context(|| format!("could not make {}", output.display()))?;
            file.write_all(&bytes)
                .and_then(|()| file.sync_all())
                .context("could not write the export")?;
        }
        None => std::io::stdout().lock().write_all(&bytes)?,
    }
    Ok(ExitCode::SUCCESS)
}
