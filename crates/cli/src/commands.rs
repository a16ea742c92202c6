//! The commands.

use std::fs::File;
use std::io::{BufReader, BufWriter, Read, Write};
use std::net::{Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;

use anyhow::{Context, Result, bail};
use app::{App, SystemClock, registry};
use clap::Subcommand;
use journal::WorkshopId;
use journal_sqlite::{OpenOptions, SqliteStore};
use measure::{Problem, Problems};
use serde_json::{Value, json};

use crate::config::Config;

/// The name the one workshop of a file goes by.
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
    /// Check that a journal is whole and as it was written
    Check,
    /// Write the whole journal as JSON Lines
    Export {
        /// The file to write [default: standard output]
        #[arg(short, long, value_name = "FILE")]
        output: Option<PathBuf>,
    },
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
                let path = config.journal_or("journal.sqlite")?;
                let store = open(
                    &path,
                    &OpenOptions {
                        create: true,
                        ..OpenOptions::default()
                    },
                )?;
                serve(config, store, &path)
            }
            Self::Work {
                name,
                list,
                schema,
                json,
            } => work(name.as_deref(), list, schema, json),
            Self::Check => check(config),
            Self::Export { output } => export(config, output.as_deref()),
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

fn open(path: &Path, options: &OpenOptions) -> Result<SqliteStore> {
    SqliteStore::open(path, options).with_context(|| format!("could not open {}", path.display()))
}

fn existing(config: &Config, read_only: bool) -> Result<(SqliteStore, PathBuf)> {
    let path = config.journal_or("journal.sqlite")?;
    let options = OpenOptions {
        create: false,
        read_only,
        ..OpenOptions::default()
    };
    Ok((open(&path, &options)?, path))
}

fn demo(config: &Config, fresh: bool) -> Result<ExitCode> {
    let path = config.journal_or("demo.sqlite")?;
    if fresh {
        if config.journal.is_some() {
            bail!("--fresh only clears the demo's own journal; leave out --journal");
        }
        for end in ["", "-wal", "-shm"] {
            let mut file = path.clone().into_os_string();
            file.push(end);
            match std::fs::remove_file(&file) {
                Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
                    return Err(error)
                        .with_context(|| format!("could not remove {}", path.display()));
                }
                _ => {}
            }
        }
    }
    let store = open(
        &path,
        &OpenOptions {
            create: true,
            ..OpenOptions::default()
        },
    )?;
    let store: Arc<SqliteStore> = Arc::new(store);
    app::demo::fill(
        Arc::clone(&store) as _,
        workshop(),
        jiff::ZonedDateTime::now().date(),
    )
    .context("could not write the demo workshop")?;
    run_server(config, store, &path)
}

fn serve(config: &Config, store: SqliteStore, path: &Path) -> Result<ExitCode> {
    run_server(config, Arc::new(store), path)
}

fn run_server(config: &Config, store: Arc<SqliteStore>, path: &Path) -> Result<ExitCode> {
    let app = App::open(store, Arc::new(SystemClock), workshop())
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
fn say(line: &str) -> std::io::Result<()> {
    let mut out = std::io::stdout().lock();
    writeln!(out, "{line}")?;
    out.flush()
}

/// Prints every problem to standard error; bad input ends with 2.
fn refuse(problems: &Problems, as_json: bool) -> ExitCode {
    if as_json {
        eprintln!("{}", json!({ "problems": problems }));
    } else {
        eprintln!("{problems}");
    }
    ExitCode::from(2)
}

fn check(config: &Config) -> Result<ExitCode> {
    let (store, path) = existing(config, true)?;
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
    App::open(Arc::new(store), Arc::new(SystemClock), workshop())
        .with_context(|| format!("could not understand {}", path.display()))?;
    Ok(ExitCode::SUCCESS)
}

fn export(config: &Config, output: Option<&Path>) -> Result<ExitCode> {
    let (store, path) = existing(config, true)?;
    let head = match output {
        Some(output) => {
            let file = File::create_new(output)
                .with_context(|| format!("could not make {}", output.display()))?;
            let mut out = BufWriter::new(file);
            let head = journal::jsonl::export(&store, &workshop(), &mut out)
                .with_context(|| format!("could not export {}", path.display()))?;
            out.into_inner()
                .context("could not write the export")?
                .sync_all()?;
            head
        }
        None => journal::jsonl::export(
            &store,
            &workshop(),
            &mut BufWriter::new(std::io::stdout().lock()),
        )
        .with_context(|| format!("could not export {}", path.display()))?,
    };
    eprintln!("Exported {} records.", head.position);
    Ok(ExitCode::SUCCESS)
}

fn import(config: &Config, file: &Path) -> Result<ExitCode> {
    let path = config.journal_or("journal.sqlite")?;
    let input: Box<dyn Read> = if file == Path::new("-") {
        Box::new(std::io::stdin().lock())
    } else {
        Box::new(File::open(file).with_context(|| format!("could not read {}", file.display()))?)
    };
    let store = open(
        &path,
        &OpenOptions {
            create: true,
            ..OpenOptions::default()
        },
    )?;
    let (workshop, head) = journal::jsonl::import(&store, &mut BufReader::new(input))
        .with_context(|| format!("could not import {}", file.display()))?;
    eprintln!(
        "Imported {} records of \"{workshop}\" into {}.",
        head.position,
        path.display()
    );
    Ok(ExitCode::SUCCESS)
}

fn backup(config: &Config, file: &Path) -> Result<ExitCode> {
    let (store, path) = existing(config, false)?;
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
