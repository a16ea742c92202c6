//! The commands.

use std::fs::File;
use std::io::{BufRead, BufReader, BufWriter, Read, Write};
use std::net::{Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;

use anyhow::{Context, Result, bail};
use app::{App, Clock, SystemClock, registry};
use clap::Subcommand;
use journal::{Head, Store, WorkshopId};
use journal_sqlite::{OpenError, OpenOptions, SqliteStore};
use measure::{Problem, Problems};
use serde_json::{Value, json};

use crate::config::Config;

/// The name the one workshop of a new file goes by.
const WORKSHOP: &str = "workshop";
/// Ports tried after the usual one, when nothing was said about the port.
const MORE_PORTS: u16 = 20;

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Open the demo workshop, on a journal of its own
    Demo {
        /// Throw the demo journal away and begin it anew
        #[arg(long)]
        fresh: bool,
    },
    /// Open your own workshop
    Serve,
    /// Work something out: JSON from standard input, JSON to standard output
    Work {
        /// Which calculation
        #[arg(required_unless_present = "list")]
        name: Option<String>,
        /// Name them all
        #[arg(long)]
        list: bool,
        /// Print the schemas of its input and output instead
        #[arg(long)]
        schema: bool,
        /// Print problems as JSON instead of text
        #[arg(long)]
        json: bool,
    },
    /// Print a paper of the workshop: pour sheets, care cards, price signs and more
    Print(Box<crate::print::Print>),
    /// Check that a journal is whole and as it was written
    Check,
    /// Write the whole journal as JSON Lines, or a table of what is in it
    Export {
        /// A table: supplies, deliveries, lots, movements, sales, returns, orders,
        /// invoices, market-days, payouts, expenses or entries [default: the journal]
        kind: Option<String>,
        /// The first day of a table, such as 2026-01-01 [default: all days]
        #[arg(long, value_name = "DAY", requires = "kind")]
        from: Option<String>,
        /// The last day of a table
        #[arg(long, value_name = "DAY", requires = "kind")]
        to: Option<String>,
        /// The file to write, a table ending in .csv or .xlsx, entries in .csv or
        /// .txt [default: standard output]
        #[arg(short, long, value_name = "FILE")]
        output: Option<PathBuf>,
    },
    /// Read in sales, deliveries or payouts from a CSV or XLSX file that another
    /// program wrote
    ///
    /// What its columns hold is said once on the page "What does this file say?"
    /// and kept as a layout; files with the same headings are then read at once.
    /// A row that was read in before adds nothing: the same file twice adds
    /// nothing, and a longer one what is new in it. All of it is written down at
    /// once, or none of it. Rows that cannot be read, that wait until a name is
    /// explained on that page, or that are no sale, delivery or payout are listed
    /// with the reason, and can be added later from the same file.
    Read(Box<crate::read::Read>),
    /// Take in a journal written by `export`, into a new journal file
    Import {
        /// The file to read; `-` is standard input
        file: PathBuf,
    },
    /// Copy the journal to another file while it is in use
    Backup {
        /// The file to write; it must not be there yet
        file: PathBuf,
    },
    /// Print what the program was told, from defaults, file, environment and flags
    Config,
}

impl Command {
    pub(crate) fn run(self, config: &Config) -> Result<ExitCode> {
        match self {
            Self::Demo { fresh } => demo(config, fresh),
            Self::Serve => {
                let path = config.journal_to_make("journal.sqlite")?;
                let store = open_or_make(&path)?;
                run_server(config, Arc::new(store), &path)
            }
            Self::Work {
                name,
                list,
                schema,
                json,
            } => work(name.as_deref(), list, schema, json),
            Self::Print(print) => print.run(config),
            Self::Check => check(config),
            Self::Export {
                kind: Some(kind),
                from,
                to,
                output,
            } => crate::take::table(config, &kind, [from, to], output.as_deref()),
            Self::Export { output, .. } => export(config, output.as_deref()),
            Self::Read(read) => read.run(config),
            Self::Import { file } => import(config, &file),
            Self::Backup { file } => backup(config, &file),
            Self::Config => {
                say(&serde_json::to_string_pretty(config)?)?;
                Ok(ExitCode::SUCCESS)
            }
        }
    }
}

fn workshop() -> WorkshopId {
    WorkshopId::try_new(WORKSHOP).expect("the name is small letters")
}

/// The workshop of a file: the one it holds, whatever it is called, or the
/// usual name for a file that holds none yet.
pub(crate) fn workshop_of(store: &SqliteStore) -> Result<WorkshopId> {
    let path = store.path().display();
    let mut found = store
        .workshops()
        .with_context(|| format!("could not read {path}"))?
        .into_iter();
    match (found.next(), found.next()) {
        (None, _) => Ok(workshop()),
        (Some(only), None) => Ok(only),
        (Some(one), Some(other)) => bail!(
            "{path} holds the journals of \"{one}\" and \"{other}\", and a file is opened for one"
        ),
    }
}

fn open(path: &Path, options: &OpenOptions) -> Result<SqliteStore> {
    SqliteStore::open(path, options).with_context(|| format!("could not open {}", path.display()))
}

fn open_or_make(path: &Path) -> Result<SqliteStore> {
    let options = OpenOptions {
        create: true,
        ..OpenOptions::default()
    };
    open(path, &options)
}

/// The journal that is there, to be read only.
pub(crate) fn existing(config: &Config) -> Result<(SqliteStore, PathBuf)> {
    let path = config.journal_or("journal.sqlite")?;
    let options = OpenOptions {
        create: false,
        read_only: true,
        ..OpenOptions::default()
    };
    Ok((open(&path, &options)?, path))
}

/// The journal that is there, to be written to.
pub(crate) fn existing_to_write(config: &Config) -> Result<(SqliteStore, PathBuf)> {
    let path = config.journal_or("journal.sqlite")?;
    let options = OpenOptions {
        create: false,
        ..OpenOptions::default()
    };
    Ok((open(&path, &options)?, path))
}

fn demo(config: &Config, fresh: bool) -> Result<ExitCode> {
    let path = config.journal_to_make("demo.sqlite")?;
    if fresh {
        if config.journal.is_some() {
            bail!("--fresh only clears the demo's own journal; leave out --journal");
        }
        clear(&path)?;
    }
    let store: Arc<SqliteStore> = Arc::new(open_or_make(&path)?);
    let workshop = workshop_of(&store)?;
    app::demo::fill(Arc::clone(&store) as _, workshop, SystemClock.today())
        .context("could not write the demo workshop")?;
    run_server(config, store, &path)
}

/// The file, and what stands beside it while somebody has it open.
fn files_of(path: &Path) -> [PathBuf; 3] {
    ["", "-wal", "-shm"].map(|end| {
        let mut file = path.to_owned().into_os_string();
        file.push(end);
        PathBuf::from(file)
    })
}

/// Throws a journal away, unless another program has it open.
fn clear(path: &Path) -> Result<()> {
    // The last one out takes the files beside the journal away. What stands
    // there after we came and went belongs to somebody who is still in.
    let opened = SqliteStore::open(path, &OpenOptions::default());
    let is_busy = matches!(&opened, Err(OpenError::Busy { .. }));
    let was_opened = opened.is_ok();
    drop(opened);
    let [file, beside @ ..] = files_of(path);
    if is_busy || (was_opened && beside.iter().any(|file| file.exists())) {
        bail!(
            "another program has {} open; stop it first, or begin another demo with --journal FILE",
            path.display()
        );
    }
    for file in beside.iter().chain([&file]) {
        match std::fs::remove_file(file) {
            Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
                return Err(error).with_context(|| format!("could not remove {}", file.display()));
            }
            _ => {}
        }
    }
    Ok(())
}

fn run_server(config: &Config, store: Arc<SqliteStore>, path: &Path) -> Result<ExitCode> {
    let workshop = workshop_of(&store)?;
    let app = App::open(store, Arc::new(SystemClock), workshop)
        .with_context(|| format!("could not open the workshop in {}", path.display()))?;
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .context("could not start")?;
    runtime.block_on(async {
        let listener = listen(config).await?;
        let port = listener
            .local_addr()
            .context("could not tell the port")?
            .port();
        say(&format!(
            "The journal is {}\nOpen http://localhost:{port} in a browser. Press Ctrl-C to stop.",
            path.display()
        ))?;
        let router = web::router(Arc::new(app), web::Doors::loopback(port));
        axum::serve(listener, router)
            .with_graceful_shutdown(async {
                // Without a signal to wait for, the program runs until it is killed.
                if tokio::signal::ctrl_c().await.is_err() {
                    std::future::pending::<()>().await;
                }
            })
            .await
            .context("the server stopped")
    })?;
    Ok(ExitCode::SUCCESS)
}

async fn listen(config: &Config) -> Result<tokio::net::TcpListener> {
    let last = if config.port_was_named {
        config.port
    } else {
        config.port.saturating_add(MORE_PORTS)
    };
    let mut refusal = None;
    for port in config.port..=last {
        match tokio::net::TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, port))).await {
            Ok(listener) => return Ok(listener),
            Err(error) => refusal = Some((port, error)),
        }
    }
    match refusal {
        Some((port, error)) => Err(error)
            .with_context(|| format!("could not listen on port {port}; name another with --port")),
        None => bail!("there is no port to listen on"),
    }
}

fn work(name: Option<&str>, list: bool, schema: bool, as_json: bool) -> Result<ExitCode> {
    if list {
        for calculation in registry::all() {
            say(&format!(
                "{:<16} {}",
                calculation.name, calculation.question
            ))?;
        }
        return Ok(ExitCode::SUCCESS);
    }
    let name = name.unwrap_or_default();
    let Some(calculation) = registry::find(name) else {
        let accepted = "see pourwright work --list";
        let problem = Problem::new("name", name, "there is no such calculation", accepted);
        return Ok(refuse(&problem.into(), as_json));
    };
    if schema {
        let schemas = json!({
            "input": calculation.input_schema(),
            "output": calculation.output_schema(),
        });
        say(&serde_json::to_string_pretty(&schemas)?)?;
        return Ok(ExitCode::SUCCESS);
    }
    let mut text = Vec::new();
    std::io::stdin()
        .read_to_end(&mut text)
        .context("could not read standard input")?;
    let input: Value = match serde_json::from_slice(&text) {
        Ok(input) => input,
        Err(error) => {
            let wrong = format!("it is not JSON: {error}");
            let problem = Problem::new("", "", wrong, "give one JSON object on standard input");
            return Ok(refuse(&problem.into(), as_json));
        }
    };
    match calculation.run(input) {
        Ok(output) => {
            say(&serde_json::to_string_pretty(&output)?)?;
            Ok(ExitCode::SUCCESS)
        }
        Err(problems) => Ok(refuse(&problems, as_json)),
    }
}

/// Writes a line to standard output. Whoever reads it may have gone away, which
/// `println!` would answer with a panic.
pub(crate) fn say(line: &str) -> std::io::Result<()> {
    let mut out = std::io::stdout().lock();
    writeln!(out, "{line}")?;
    out.flush()
}

/// Prints every problem to standard error; bad input ends with 2.
pub(crate) fn refuse(problems: &Problems, as_json: bool) -> ExitCode {
    if as_json {
        eprintln!("{}", json!({ "problems": problems }));
    } else {
        eprintln!("{problems}");
    }
    ExitCode::from(2)
}

fn check(config: &Config) -> Result<ExitCode> {
    let (store, path) = existing(config)?;
    let report = store
        .check()
        .with_context(|| format!("could not check {}", path.display()))?;
    for line in report.file.iter().chain(&report.altered) {
        say(line)?;
    }
    for journal in &report.journals {
        let (records, workshop) = (journal.records, &journal.workshop);
        say(&match (&journal.broken, &journal.unreadable) {
            (Some(error), _) => {
                format!(
                    "{workshop}: {error}; sound up to {}",
                    journal.sound_to.position
                )
            }
            (None, Some(error)) => {
                format!(
                    "{workshop}: {error}; sound up to {}",
                    journal.sound_to.position
                )
            }
            (None, None) => format!("{workshop}: {records} records, every one as it was written"),
        })?;
    }
    if !report.is_sound() {
        return Ok(ExitCode::from(1));
    }
    // Sound as a chain; now whether every record is a fact this program knows.
    let workshop = workshop_of(&store)?;
    App::open(Arc::new(store), Arc::new(SystemClock), workshop)
        .with_context(|| format!("could not understand {}", path.display()))?;
    Ok(ExitCode::SUCCESS)
}

fn export(config: &Config, output: Option<&Path>) -> Result<ExitCode> {
    let (store, path) = existing(config)?;
    let workshop = workshop_of(&store)?;
    let head = match output {
        Some(output) => {
            let file = File::create_new(output)
                .with_context(|| format!("could not make {}", output.display()))?;
            let mut out = BufWriter::new(file);
            let head = journal::jsonl::export(&store, &workshop, &mut out)
                .with_context(|| format!("could not export {}", path.display()))?;
            out.into_inner()
                .context("could not write the export")?
                .sync_all()?;
            head
        }
        None => journal::jsonl::export(
            &store,
            &workshop,
            &mut BufWriter::new(std::io::stdout().lock()),
        )
        .with_context(|| format!("could not export {}", path.display()))?,
    };
    eprintln!(
        "Exported {} records. Names and addresses of buyers are not among them; a backup holds them too.",
        head.position
    );
    Ok(ExitCode::SUCCESS)
}

fn import(config: &Config, file: &Path) -> Result<ExitCode> {
    let told = || format!("could not import {}", file.display());
    let (path, workshop, head) = if file == Path::new("-") {
        // It is read twice, and what was piped in comes once.
        let mut text = Vec::new();
        std::io::stdin()
            .read_to_end(&mut text)
            .context("could not read standard input")?;
        take_in(config, || Ok(text.as_slice())).with_context(told)?
    } else {
        take_in(config, || Ok(BufReader::new(File::open(file)?))).with_context(told)?
    };
    eprintln!(
        "Imported {} records of \"{workshop}\" into {}.",
        head.position,
        path.display()
    );
    Ok(ExitCode::SUCCESS)
}

/// Takes in a journal that can be read from its start more than once: the whole
/// of it is checked before a file is made for it.
fn take_in<R: BufRead>(
    config: &Config,
    read: impl Fn() -> Result<R>,
) -> Result<(PathBuf, WorkshopId, Head)> {
    let mut whole = journal::jsonl::Reader::open(read()?)?;
    while whole.next_record()?.is_some() {}
    let told = whole.workshop();
    let path = config.journal_to_make("journal.sqlite")?;
    let store = open_or_make(&path)?;
    if let Some(other) = store.workshops()?.iter().find(|found| *found != told) {
        bail!(
            "{} holds the journal of \"{other}\" already, and this is the one of \"{told}\"; \
             name another file with --journal FILE",
            path.display()
        );
    }
    let (workshop, head) = journal::jsonl::import(&store, &mut read()?)?;
    Ok((path, workshop, head))
}

fn backup(config: &Config, file: &Path) -> Result<ExitCode> {
    let (store, path) = existing(config)?;
    let bytes = store
        .backup_to(file)
        .with_context(|| format!("could not copy {} to {}", path.display(), file.display()))?;
    eprintln!(
        "Copied {} to {} ({bytes} bytes), checked.",
        path.display(),
        file.display()
    );
    Ok(ExitCode::SUCCESS)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn config(journal: &Path) -> Config {
        Config {
            journal: Some(journal.to_owned()),
            port: 0,
            port_was_named: true,
        }
    }

    /// A folder, and the export of a demo journal under another name.
    fn exported(name: &str) -> (tempfile::TempDir, PathBuf) {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let from = folder.path().join("from.sqlite");
        let store = Arc::new(open_or_make(&from).expect("a new journal"));
        let id = WorkshopId::try_new(name).expect("small letters");
        app::demo::fill(Arc::clone(&store) as _, id.clone(), SystemClock.today())
            .expect("the demo is written");
        let file = folder.path().join("journal.jsonl");
        let mut out = File::create(&file).expect("a new file");
        journal::jsonl::export(&*store, &id, &mut out).expect("the journal is sound");
        (folder, file)
    }

    #[test]
    fn a_refused_import_makes_no_journal() {
        let (folder, file) = exported("workshop");
        let whole = std::fs::read_to_string(&file).expect("the export");
        let cut = whole.rsplit_once("\n{").expect("several lines").0;
        std::fs::write(&file, cut).expect("room on the disk");
        let path = folder.path().join("new.sqlite");
        let refused = import(&config(&path), &file).expect_err("it was cut short");
        assert!(format!("{refused:#}").contains("line "), "{refused:#}");
        for file in files_of(&path) {
            assert!(!file.exists(), "{}", file.display());
        }
        std::fs::write(&file, whole).expect("room on the disk");
        import(&config(&path), &file).expect("the whole one is taken in");
    }

    #[test]
    fn a_workshop_of_another_name_is_the_one_that_is_opened() {
        let (folder, file) = exported("quillfen");
        let path = folder.path().join("new.sqlite");
        import(&config(&path), &file).expect("it is sound");
        let again = folder.path().join("again.jsonl");
        export(&config(&path), Some(&again)).expect("it is there");
        let read = |file: &Path| std::fs::read_to_string(file).expect("a file");
        assert!(read(&again) == read(&file), "the export is what went in");
        check(&config(&path)).expect("it is understood");

        let (_other, file) = exported("workshop");
        let refused = import(&config(&path), &file).expect_err("one workshop a file");
        assert!(
            format!("{refused:#}").contains("holds the journal of \"quillfen\" already"),
            "{refused:#}"
        );
        let store = open_or_make(&path).expect("it is there");
        assert_eq!(store.workshops().expect("it is read").len(), 1);
    }

    #[test]
    fn a_journal_that_somebody_has_open_is_not_thrown_away() {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let path = folder.path().join("demo.sqlite");
        clear(&path).expect("nothing is there");
        let store = open_or_make(&path).expect("a new journal");
        let refused = clear(&path).expect_err("it is open");
        assert!(
            refused.to_string().starts_with("another program has "),
            "{refused}"
        );
        assert!(path.exists());
        drop(store);
        clear(&path).expect("nobody has it open");
        std::fs::write(&path, "no journal at all").expect("room on the disk");
        clear(&path).expect("a broken one is cleared too");
        assert!(!path.exists());
    }
}
