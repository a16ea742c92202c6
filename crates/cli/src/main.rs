//! The binary `pourwright`: command line, configuration, start-up.
//!
//! Nothing is computed or decided here. The library crates receive values and
//! never read the environment; this one does, once, in [`config`].

mod commands;
mod config;
mod print;
mod read;
mod take;

use std::process::ExitCode;

use clap::Parser;

use crate::commands::Command;

/// The working companion of someone who pours scented wax for a living.
#[derive(Debug, Parser)]
#[command(name = "pourwright", version, about, arg_required_else_help = true)]
struct Arguments {
    #[command(flatten)]
    given: config::Given,
    #[command(subcommand)]
    command: Command,
}

fn main() -> ExitCode {
    let Arguments { given, command } = Arguments::parse();
    tracing_subscriber::fmt()
        .with_writer(std::io::stderr)
        .with_max_level(tracing::Level::INFO)
        .with_target(false)
        .init();
    let outcome = config::Config::read(given).and_then(|config| command.run(&config));
    match outcome {
        Ok(code) => code,
        // As a shell reports a program that a closed pipe ended: 128 + SIGPIPE.
        Err(error) if nobody_reads(&error) => ExitCode::from(141),
        Err(error) => {
            // One line for people: what was tried, then what stood in the way.
            eprintln!("pourwright: {error:#}");
            ExitCode::from(1)
        }
    }
}

/// Whether it failed only because whoever read the output had seen enough.
fn nobody_reads(error: &anyhow::Error) -> bool {
    error.chain().any(|cause| {
        cause
            .downcast_ref::<std::io::Error>()
            .is_some_and(|error| error.kind() == std::io::ErrorKind::BrokenPipe)
    })
}
