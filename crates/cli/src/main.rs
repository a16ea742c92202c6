//! The binary `pourwright`: command line, configuration, start-up.
//!
//! Nothing is computed or decided here. The library crates receive values and
//! never read the environment; this one does, once, in [`config`].

mod commands;
mod config;

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
        Err(error) => {
            // One line for people: what was tried, then what stood in the way.
            eprintln!("pourwright: {error:#}");
            ExitCode::from(1)
        }
    }
}
