//! What the program is told before it starts: defaults, then the file, then
//! the environment, then the flags.

use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};
use clap::Args;
use serde::{Deserialize, Serialize};

/// The port the pages are served on unless told otherwise.
const PORT: u16 = 7364;

/// What stands on the command line, for every command.
#[derive(Debug, Default, Args)]
pub(crate) struct Given {
    /// The journal file [default: journal.sqlite in the platform's data directory]
    #[arg(long, global = true, value_name = "FILE")]
    journal: Option<PathBuf>,
    /// The port to serve pages on, on this machine only [default: 7364]
    #[arg(long, global = true, value_name = "PORT")]
    port: Option<u16>,
    /// A configuration file in JSON, with the fields `journal` and `port`
    #[arg(long, global = true, value_name = "FILE")]
    config: Option<PathBuf>,
}

/// The configuration file.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct ConfigFile {
    journal: Option<PathBuf>,
    port: Option<u16>,
}

/// What is in force.
#[derive(Debug, Serialize)]
pub(crate) struct Config {
    /// The journal, where one was named.
    pub(crate) journal: Option<PathBuf>,
    /// The port.
    pub(crate) port: u16,
    /// Whether the port was named; then no other is tried.
    #[serde(skip)]
    pub(crate) port_was_named: bool,
}

impl Config {
    /// Puts together what is in force.
    pub(crate) fn read(given: Given) -> Result<Self> {
        let file = match given
            .config
            .or_else(|| std::env::var_os("POURWRIGHT_CONFIG").map(PathBuf::from))
        {
            Some(path) => read_file(&path)?,
            None => ConfigFile::default(),
        };
        let from_environment = match std::env::var("POURWRIGHT_PORT") {
            Ok(text) => Some(text.parse().with_context(|| {
                format!("POURWRIGHT_PORT is \"{text}\", which is not a port from 1 to 65535")
            })?),
            Err(_) => None,
        };
        let journal = given
            .journal
            .or_else(|| std::env::var_os("POURWRIGHT_JOURNAL").map(PathBuf::from))
            .or(file.journal);
        let port = given.port.or(from_environment).or(file.port);
        Ok(Self {
            journal,
            port: port.unwrap_or(PORT),
            port_was_named: port.is_some(),
        })
    }

    /// Where the journal is or will be: the one named, or `name` in the data
    /// directory. Looking makes nothing.
    pub(crate) fn journal_or(&self, name: &str) -> Result<PathBuf> {
        if let Some(path) = &self.journal {
            return Ok(path.clone());
        }
        let Some(directories) = directories::ProjectDirs::from("", "", "pourwright") else {
            bail!("there is no home directory to keep a journal in; name one with --journal FILE");
        };
        Ok(directories.data_local_dir().join(name))
    }

    /// The same, for who may make the journal: the data directory is made when
    /// it is missing. The folder of a journal that was named is its maker's.
    pub(crate) fn journal_to_make(&self, name: &str) -> Result<PathBuf> {
        let path = self.journal_or(name)?;
        if let (None, Some(folder)) = (&self.journal, path.parent()) {
            std::fs::create_dir_all(folder).with_context(|| {
                format!(
                    "could not make {}; name another place with --journal FILE",
                    folder.display()
                )
            })?;
        }
        Ok(path)
    }
}

fn read_file(path: &Path) -> Result<ConfigFile> {
    let text = std::fs::read_to_string(path)
        .with_context(|| format!("could not read {}", path.display()))?;
    serde_json::from_str(&text).with_context(|| format!("could not understand {}", path.display()))
}
