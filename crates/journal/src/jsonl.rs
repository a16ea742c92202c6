//! A whole journal as a file of text, one JSON value a line (JSON Lines).
//!
//! The first line says what the file is, each further line is a record with
//! every field and its hash, and the last line says how many records there are
//! and which hash they end with, so that a file that was cut short is noticed:
//!
//! ```text
//! {"format":"pourwright-journal","format_version":1,"workshop":"quillfen"}
//! {"position":1,"recorded":"2026-06-01T09:30:00Z","day":"2026-06-01","who":"Ines","name":"Poured","version":1,"payload":{"poured":"18.7 oz"},"previous":null,"hash":"…"}
//! {"end":true,"records":1,"hash":"…"}
//! ```
//!
//! [`Record::compute_hash`] says how a record's hash is computed, so the file can
//! be checked without this program. Lines end with a line feed; the payload
//! stands in its line byte for byte as it is in the journal.

use std::borrow::Cow;
use std::io::{self, BufRead, Read, Write};
use std::ops::ControlFlow;

use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;

use crate::chain::{ChainError, Verifier};
use crate::entry::{EntryError, MAX_PAYLOAD};
use crate::name::WorkshopId;
use crate::record::{Hash, Head, Position, Record};
use crate::store::{Interrupted, ReadError, RestoreError, Store, read_verified};

/// The name of the format, in the first line of every file.
pub const FORMAT: &str = "pourwright-journal";

/// The newest version of the format, which is also the one written.
pub const FORMAT_VERSION: u32 = 1;

/// The longest line that is read: the longest payload, and room for the rest.
const MAX_LINE: u64 = MAX_PAYLOAD as u64 + 64 * 1024;

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct HeaderLine<'a> {
    #[serde(borrow)]
    format: Cow<'a, str>,
    format_version: u32,
    workshop: WorkshopId,
}

/// What a later version's header must still have in common with this one's.
#[derive(Deserialize)]
struct AnyHeaderLine<'a> {
    #[serde(borrow)]
    format: Cow<'a, str>,
    format_version: u32,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct RecordLine<'a> {
    position: Position,
    recorded: Timestamp,
    day: Date,
    #[serde(borrow)]
    who: Cow<'a, str>,
    #[serde(borrow)]
    name: Cow<'a, str>,
    version: u16,
    #[serde(borrow)]
    payload: &'a RawValue,
    previous: Option<Hash>,
    hash: Hash,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct EndLine {
    end: bool,
    records: Position,
    hash: Option<Hash>,
}

/// Tells an end line from a record, before either is read in full.
#[derive(Deserialize)]
struct IsEnd {
    #[serde(default)]
    end: bool,
}

/// Why a journal was not written out.
#[derive(Debug, thiserror::Error)]
pub enum ExportError {
    /// The journal cannot be read, or is not as it was written.
    #[error("the journal cannot be exported")]
    Read(#[source] ReadError),
    /// The file cannot be written.
    #[error("the export cannot be written")]
    Write(#[source] io::Error),
}

/// Why a journal was not taken in. Nothing of it was.
#[derive(Debug, thiserror::Error)]
pub enum ImportError {
    /// The file is not a whole and sound journal.
    #[error(transparent)]
    File(#[from] FileError),
    /// The store did not take it.
    #[error("the journal was not imported")]
    Restore(#[source] RestoreError),
}

/// What is wrong with a file, and in which line.
#[derive(Debug, thiserror::Error)]
#[error("line {line}: {fault}")]
pub struct FileError {
    /// The line, counted from 1.
    pub line: u64,
    /// What is wrong there.
    pub fault: Fault,
}

/// What is wrong with a line.
#[derive(Debug, thiserror::Error)]
pub enum Fault {
    /// The file cannot be read.
    #[error("the file cannot be read: {0}")]
    Io(io::Error),
    /// The first line is not the header of a journal.
    #[error("this is not an exported journal: the first line should name the format `{FORMAT}`")]
    NotAJournal,
    /// The header is malformed.
    #[error("the header is malformed: {0}")]
    Header(String),
    /// The file was written by a newer program.
    #[error(
        "the file has format version {found}, and this program reads up to {FORMAT_VERSION}; \
         use a newer program"
    )]
    Newer {
        /// The version of the file.
        found: u32,
    },
    /// The file ends before its last line.
    #[error("the file breaks off here: the line that closes a journal is missing")]
    Truncated,
    /// The line is longer than any record.
    #[error("the line is longer than any record can be")]
    TooLong,
    /// The line is not a record.
    #[error("this is not a record: {0}")]
    NotARecord(String),
    /// The record is malformed.
    #[error("the record is malformed: {0}")]
    Form(EntryError),
    /// The time is given more finely than a journal keeps it.
    #[error("`recorded` is given more finely than to the microsecond")]
    Time,
    /// The chain is broken.
    #[error("the chain is broken: {0}")]
    Chain(ChainError),
    /// The closing line does not fit the records before it.
    #[error("the closing line does not fit: it should say {expected} records and their last hash")]
    End {
        /// How many records stand before it.
        expected: Position,
    },
    /// Something stands after the closing line.
    #[error("nothing may stand after the line that closes the journal")]
    AfterEnd,
}

/// Writes the whole journal of `workshop` to `out`, verifying it on the way, and returns its head.
///
/// `out` wants buffering, and is flushed at the end.
///
/// # Errors
///
/// [`ExportError`]; what was written until then has no closing line, so that it
/// is not taken for a journal.
pub fn export<S: Store + ?Sized>(
    store: &S,
    workshop: &WorkshopId,
    out: &mut impl Write,
) -> Result<Head, ExportError> {
    let header = HeaderLine {
        format: FORMAT.into(),
        format_version: FORMAT_VERSION,
        workshop: workshop.clone(),
    };
    write_line(out, &header).map_err(ExportError::Write)?;
    let mut failed = None;
    let head = read_verified(store, workshop, Head::EMPTY, |record| {
        match write_record(out, &record) {
            Ok(()) => ControlFlow::Continue(()),
            Err(error) => {
                failed = Some(error);
                ControlFlow::Break(())
            }
        }
    })
    .map_err(ExportError::Read)?;
    if let Some(error) = failed {
        return Err(ExportError::Write(error));
    }
    let end = EndLine {
        end: true,
        records: head.position,
        hash: head.hash,
    };
    write_line(out, &end)
        .and_then(|()| out.flush())
        .map_err(ExportError::Write)?;
    Ok(head)
}

fn write_record(out: &mut impl Write, record: &Record) -> io::Result<()> {
    let line = RecordLine {
        position: record.position,
        recorded: record.recorded,
        day: record.day,
        who: (&*record.who).into(),
        name: (&*record.name).into(),
        version: record.version,
        payload: serde_json::from_str(&record.payload)?,
        previous: record.previous,
        hash: record.hash,
    };
    write_line(out, &line)
}

fn write_line(out: &mut impl Write, line: &impl Serialize) -> io::Result<()> {
    serde_json::to_writer(&mut *out, line)?;
    out.write_all(b"\n")
}

/// Takes in the journal in `input`, and returns its workshop and head.
///
/// Every record is verified before the store gets it, and the store keeps
/// nothing unless the file is sound to its last line.
///
/// # Errors
///
/// [`ImportError::File`] names the line and what is wrong with it;
/// [`ImportError::Restore`] says why the store did not take the journal, above
/// all when the workshop already has one.
pub fn import<S: Store + ?Sized>(
    store: &S,
    input: &mut impl BufRead,
) -> Result<(WorkshopId, Head), ImportError> {
    let mut reader = Reader::open(input)?;
    let workshop = reader.workshop().clone();
    let mut broken = None;
    let restored = store.restore(&workshop, &mut || {
        reader.next_record().map_err(|error| {
            broken = Some(error);
            Interrupted
        })
    });
    match (broken, restored) {
        (Some(error), _) => Err(ImportError::File(error)),
        (None, Ok(head)) => Ok((workshop, head)),
        (None, Err(error)) => Err(ImportError::Restore(error)),
    }
}

/// Reads an exported journal record by record, verifying each.
pub struct Reader<R> {
    input: R,
    /// The line in `buffer`, counted from 1.
    line: u64,
    buffer: Vec<u8>,
    verifier: Verifier,
    workshop: WorkshopId,
    ended: bool,
}

impl<R: BufRead> Reader<R> {
    /// Reads the header of an exported journal.
    ///
    /// # Errors
    ///
    /// [`FileError`] when it is not one, or one of a newer program.
    pub fn open(mut input: R) -> Result<Self, FileError> {
        let mut buffer = Vec::new();
        let workshop = read_line(&mut input, &mut buffer)
            .and_then(|()| read_header(&buffer))
            .map_err(|fault| FileError { line: 1, fault })?;
        let verifier = Verifier::new(workshop.clone(), Head::EMPTY);
        Ok(Self {
            input,
            line: 1,
            buffer,
            verifier,
            workshop,
            ended: false,
        })
    }

    /// Returns the workshop whose journal this is.
    pub fn workshop(&self) -> &WorkshopId {
        &self.workshop
    }

    /// Returns the last record read so far.
    pub fn head(&self) -> Head {
        self.verifier.head()
    }

    /// Returns the next record, or `None` once the file has ended as it should.
    ///
    /// # Errors
    ///
    /// [`FileError`], naming the line and what is wrong with it.
    pub fn next_record(&mut self) -> Result<Option<Record>, FileError> {
        if self.ended {
            return Ok(None);
        }
        self.line += 1;
        let record = self.read_record();
        record.map_err(|fault| FileError {
            line: self.line,
            fault,
        })
    }

    fn read_record(&mut self) -> Result<Option<Record>, Fault> {
        read_line(&mut self.input, &mut self.buffer)?;
        if self.buffer.is_empty() {
            return Err(Fault::Truncated);
        }
        let IsEnd { end } = parse(&self.buffer)?;
        if end {
            let end: EndLine = parse(&self.buffer)?;
            let head = self.verifier.head();
            if end.records != head.position || end.hash != head.hash {
                return Err(Fault::End {
                    expected: head.position,
                });
            }
            self.line += 1;
            read_line(&mut self.input, &mut self.buffer)?;
            if !self.buffer.is_empty() {
                return Err(Fault::AfterEnd);
            }
            self.ended = true;
            return Ok(None);
        }
        let line: RecordLine<'_> = parse(&self.buffer)?;
        if line.recorded.as_nanosecond() % 1_000 != 0 {
            return Err(Fault::Time);
        }
        let record = Record {
            workshop: self.workshop.clone(),
            position: line.position,
            recorded: line.recorded,
            day: line.day,
            who: line.who.into(),
            name: line.name.into(),
            version: line.version,
            payload: line.payload.get().into(),
            previous: line.previous,
            hash: line.hash,
        };
        record.check_form().map_err(Fault::Form)?;
        self.verifier.check(&record).map_err(Fault::Chain)?;
        Ok(Some(record))
    }
}

fn read_header(line: &[u8]) -> Result<WorkshopId, Fault> {
    let Ok(any) = serde_json::from_slice::<AnyHeaderLine<'_>>(line) else {
        return Err(Fault::NotAJournal);
    };
    if any.format != FORMAT {
        return Err(Fault::NotAJournal);
    }
    if any.format_version > FORMAT_VERSION {
        return Err(Fault::Newer {
            found: any.format_version,
        });
    }
    if any.format_version == 0 {
        return Err(Fault::Header("format versions start at 1".to_owned()));
    }
    serde_json::from_slice::<HeaderLine<'_>>(line)
        .map(|header| header.workshop)
        .map_err(|error| Fault::Header(error.to_string()))
}

/// Reads one line with its line feed; nothing at the end of the input.
fn read_line(input: &mut impl BufRead, buffer: &mut Vec<u8>) -> Result<(), Fault> {
    buffer.clear();
    let n_read = input
        .take(MAX_LINE)
        .read_until(b'\n', buffer)
        .map_err(Fault::Io)?;
    if n_read as u64 == MAX_LINE && buffer.last() != Some(&b'\n') {
        return Err(Fault::TooLong);
    }
    Ok(())
}

fn parse<'a, T: Deserialize<'a>>(line: &'a [u8]) -> Result<T, Fault> {
    serde_json::from_slice(line).map_err(|error| {
        // Every line is written with its line feed, so one without was cut.
        if line.last() != Some(&b'\n') {
            return Fault::Truncated;
        }
        // The place in the line is worth keeping, the line number is ours to give.
        let text = error.to_string();
        let text = text.replace(&format!("at line {} column", error.line()), "at column");
        Fault::NotARecord(text)
    })
}
