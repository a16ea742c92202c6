//! A copy of the file while it is in use.

use std::error::Error;
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::process;
use std::sync::atomic::{AtomicU64, Ordering};

use journal::StoreError;

use crate::check;
use crate::fault::{Fault, cause, classify, store_error};
use crate::open::{self, OpenOptions, sync_folder};
use crate::read::Readers;

/// Why there is no backup. Nothing is left at its place.
#[derive(Debug, thiserror::Error)]
pub enum BackupError {
    /// Something is there already.
    #[error(
        "there is already something at {path}; a backup never replaces it, choose another name"
    )]
    Exists {
        /// Where.
        path: PathBuf,
    },
    /// The folder is missing.
    #[error("the folder of {path} does not exist; create it first")]
    NoFolder {
        /// Where.
        path: PathBuf,
    },
    /// The path is not a usable file name.
    #[error("{path} cannot be the name of a backup")]
    Name {
        /// Where.
        path: PathBuf,
    },
    /// There is no room left.
    #[error("there is no room for a backup at {path}; free some space or choose another place")]
    Full {
        /// Where.
        path: PathBuf,
    },
    /// The copy cannot be written.
    #[error("the backup at {path} cannot be written")]
    Write {
        /// Where.
        path: PathBuf,
        /// What the system said.
        source: Box<dyn Error + Send + Sync>,
    },
    /// The copy is not sound.
    #[error("the copy is damaged, so it was not kept; check the journal and the disk: {found}")]
    Unsound {
        /// What the database found.
        found: String,
    },
    /// The journal cannot be read.
    #[error("the journal cannot be copied")]
    Store(#[source] StoreError),
}

/// Tells apart the copies that one program makes at the same time.
static NEXT: AtomicU64 = AtomicU64::new(0);

/// A file that goes away unless it gets its name.
struct Unfinished(PathBuf);

impl Drop for Unfinished {
    fn drop(&mut self) {
        // It may never have come to be, or have its name by now.
        let _ = fs::remove_file(&self.0);
    }
}

pub(crate) fn backup(readers: &Readers, path: &Path) -> Result<u64, BackupError> {
    let given = path;
    let path = std::path::absolute(given).map_err(|error| write_error(given, error))?;
    let name = path.file_name().and_then(|name| name.to_str());
    let (Some(name), Some(folder)) = (name, path.parent()) else {
        return Err(BackupError::Name { path });
    };
    if !folder.is_dir() {
        return Err(BackupError::NoFolder { path });
    }
    if fs::symlink_metadata(&path).is_ok() {
        return Err(BackupError::Exists { path });
    }
    let turn = NEXT.fetch_add(1, Ordering::Relaxed);
    let part = folder.join(format!(".{name}.{}-{turn}.part", process::id()));
    let Some(part_name) = part.to_str() else {
        return Err(BackupError::Name { path });
    };
    let part_name = part_name.to_owned();
    // What a program that was stopped left behind under this very name.
    let _ = fs::remove_file(&part);
    let part = Unfinished(part);

    copy(readers, &part_name, &path)?;
    let bytes = verify(&part.0, &path)?;
    name_it(&part.0, &path)?;
    drop(part);
    sync_folder(&path).map_err(|error| write_error(&path, error))?;
    Ok(bytes)
}

fn copy(readers: &Readers, part: &str, path: &Path) -> Result<(), BackupError> {
    let mut failed = None;
    let lent = readers.with(|conn| {
        if let Err(error) = conn.execute("VACUUM INTO ?1", [part]) {
            failed = Some(match classify(&error) {
                Fault::Full => BackupError::Full {
                    path: path.to_owned(),
                },
                Fault::Busy | Fault::Damaged => BackupError::Store(store_error(&error)),
                _ => BackupError::Write {
                    path: path.to_owned(),
                    source: cause(&error),
                },
            });
        }
        Ok(())
    });
    lent.map_err(BackupError::Store)?;
    failed.map_or(Ok(()), Err)
}

/// Checks the copy and makes it durable; returns its size.
fn verify(part: &Path, path: &Path) -> Result<u64, BackupError> {
    let options = OpenOptions {
        read_only: true,
        ..OpenOptions::default()
    };
    let found = open::connect(part, &options, false).and_then(|conn| check::integrity(&conn));
    let found = found.map_err(|error| BackupError::Unsound {
        found: error.to_string(),
    })?;
    if let Some(found) = found.into_iter().next() {
        return Err(BackupError::Unsound { found });
    }
    // Windows syncs only files that were opened for writing.
    let file = File::options().read(true).write(true).open(part);
    let size = file.and_then(|file| {
        file.sync_all()?;
        Ok(file.metadata()?.len())
    });
    size.map_err(|error| write_error(path, error))
}

/// Gives the copy its name, unless something has it.
fn name_it(part: &Path, path: &Path) -> Result<(), BackupError> {
    // A second name is refused where there is a file, unlike a new name by rename.
    let linked = fs::hard_link(part, path);
    let taken = |error: &io::Error| error.kind() == io::ErrorKind::AlreadyExists;
    match linked {
        Ok(()) => Ok(()),
        Err(error) if taken(&error) => Err(BackupError::Exists {
            path: path.to_owned(),
        }),
        // Memory sticks mostly know no second names: hold the place with an empty
        // file that only this call can have made, then put the copy over it.
        Err(_) => match File::create_new(path) {
            Ok(_) => fs::rename(part, path).map_err(|error| {
                let _ = fs::remove_file(path);
                write_error(path, error)
            }),
            Err(error) if taken(&error) => Err(BackupError::Exists {
                path: path.to_owned(),
            }),
            Err(error) => Err(write_error(path, error)),
        },
    }
}

fn write_error(path: &Path, error: io::Error) -> BackupError {
    match error.kind() {
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => BackupError::Full {
            path: path.to_owned(),
        },
        _ => BackupError::Write {
            path: path.to_owned(),
            source: error.into(),
        },
    }
}
