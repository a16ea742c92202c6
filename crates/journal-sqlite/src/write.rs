//! Writing: one thread, which commits together whatever is waiting.

use std::collections::BTreeMap;
use std::sync::mpsc::{self, Receiver, Sender, SyncSender};
use std::thread::{self, JoinHandle};

use jiff::Timestamp;
use journal::{
    AppendError, Chain, Entry, Head, Interrupted, Record, RestoreError, StoreError, Verifier,
    WorkshopId,
};
use rusqlite::{Connection, TransactionBehavior, params};

use crate::fault::{Fault, append_error, classify, restore_error};
use crate::read;

/// The most appends that are committed together.
const MAX_GROUP: usize = 256;

type Outcome = Result<Head, AppendError>;

/// One append that waits for the writer.
struct Job {
    workshop: WorkshopId,
    expected: Head,
    recorded: Timestamp,
    entries: Vec<Entry>,
    reply: SyncSender<Outcome>,
}

/// The thread that writes.
pub(crate) struct Writer {
    jobs: Option<Sender<Job>>,
    thread: Option<JoinHandle<()>>,
}

impl Writer {
    /// Starts the thread; `conn` is its own.
    pub(crate) fn start(conn: Connection) -> std::io::Result<Self> {
        let (jobs, waiting) = mpsc::channel();
        let thread = thread::Builder::new()
            .name("journal writer".to_owned())
            .spawn(move || write_all(&conn, &waiting))?;
        Ok(Self {
            jobs: Some(jobs),
            thread: Some(thread),
        })
    }

    /// Appends, and returns when that is durable or refused.
    pub(crate) fn append(
        &self,
        workshop: &WorkshopId,
        expected: Head,
        recorded: Timestamp,
        entries: &[Entry],
    ) -> Outcome {
        let (reply, outcome) = mpsc::sync_channel(1);
        let job = Job {
            workshop: workshop.clone(),
            expected,
            recorded,
            entries: entries.to_vec(),
            reply,
        };
        let stopped = || AppendError::Store(StoreError::Stopped);
        let jobs = self.jobs.as_ref().ok_or_else(stopped)?;
        jobs.send(job).map_err(|_| stopped())?;
        outcome.recv().map_err(|_| stopped())?
    }
}

impl Drop for Writer {
    fn drop(&mut self) {
        // Without a sender the thread ends once it has written what is waiting.
        self.jobs = None;
        if let Some(thread) = self.thread.take() {
            // A panic there has been told to whoever was waiting.
            let _ = thread.join();
        }
    }
}

fn write_all(conn: &Connection, waiting: &Receiver<Job>) {
    let mut stopped = false;
    while let Ok(first) = waiting.recv() {
        let mut group = vec![first];
        group.extend(waiting.try_iter().take(MAX_GROUP - 1));
        let outcomes = if stopped {
            group
                .iter()
                .map(|_| Err(AppendError::Store(StoreError::Stopped)))
                .collect()
        } else {
            write_group(conn, &group, &mut stopped)
        };
        for (job, outcome) in group.iter().zip(outcomes) {
            // A caller that is gone does not need to know.
            let _ = job.reply.send(outcome);
        }
    }
}

/// Commits a group, or each append alone where one of them spoils the group.
fn write_group(conn: &Connection, group: &[Job], stopped: &mut bool) -> Vec<Outcome> {
    match commit(conn, group, stopped) {
        Ok(outcomes) => outcomes,
        // One may be too large for the room that is left while the others are not.
        Err(_) if group.len() > 1 && !*stopped => group
            .iter()
            .flat_map(|job| write_group(conn, std::slice::from_ref(job), stopped))
            .collect(),
        Err(error) => group.iter().map(|_| Err(append_error(&error))).collect(),
    }
}

/// Commits a group in one transaction. On an error nothing of it was kept, unless
/// `stopped` is set: then that is not known.
fn commit(conn: &Connection, group: &[Job], stopped: &mut bool) -> rusqlite::Result<Vec<Outcome>> {
    if *stopped {
        return Ok(group
            .iter()
            .map(|_| Err(AppendError::Store(StoreError::Stopped)))
            .collect());
    }
    let outcome = try_commit(conn, group);
    if let Err(error) = &outcome {
        // After a failed write or sync the operating system may report the next one
        // as done although the data is lost, so nothing more is acknowledged.
        *stopped = matches!(classify(error), Fault::Device | Fault::Damaged);
        let is_open = !conn.is_autocommit();
        if is_open && conn.execute_batch("ROLLBACK").is_err() {
            *stopped = true;
        }
    }
    outcome
}

fn try_commit(conn: &Connection, group: &[Job]) -> rusqlite::Result<Vec<Outcome>> {
    // Immediate: the heads read next are those the records will follow, whoever
    // else has the file open.
    conn.prepare_cached("BEGIN IMMEDIATE")?.execute([])?;
    let mut heads: BTreeMap<&WorkshopId, Head> = BTreeMap::new();
    let mut outcomes = Vec::with_capacity(group.len());
    for job in group {
        let found = match heads.get(&job.workshop) {
            Some(head) => *head,
            None => read::head(conn, &job.workshop)?,
        };
        if found != job.expected {
            outcomes.push(Err(AppendError::Stale {
                expected: job.expected,
                found,
            }));
            continue;
        }
        let mut chain = Chain::new(job.workshop.clone(), found);
        for entry in &job.entries {
            insert(conn, &chain.seal(job.recorded, entry))?;
        }
        heads.insert(&job.workshop, chain.head());
        outcomes.push(Ok(chain.head()));
    }
    conn.prepare_cached("COMMIT")?.execute([])?;
    Ok(outcomes)
}

fn insert(conn: &Connection, record: &Record) -> rusqlite::Result<()> {
    let sql = "INSERT INTO record \
               (workshop, position, recorded, day, who, name, version, payload, previous, hash) \
               VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)";
    conn.prepare_cached(sql)?.execute(params![
        record.workshop.as_str(),
        // More than the table can count to never fits the file either.
        i64::try_from(record.position.0).unwrap_or(i64::MAX),
        record.recorded.as_microsecond(),
        record.day.to_string(),
        &*record.who,
        &*record.name,
        record.version,
        &*record.payload,
        record
            .previous
            .as_ref()
            .map(|hash| hash.as_bytes().as_slice()),
        record.hash.as_bytes().as_slice(),
    ])?;
    Ok(())
}

/// Takes in a whole journal in one transaction.
pub(crate) fn restore(
    conn: &mut Connection,
    workshop: &WorkshopId,
    next: &mut dyn FnMut() -> Result<Option<Record>, Interrupted>,
) -> Result<Head, RestoreError> {
    let said = |error| restore_error(&error);
    // Dropped on any way out but the last, which takes everything back.
    let transaction = conn
        .transaction_with_behavior(TransactionBehavior::Immediate)
        .map_err(said)?;
    let records = read::head(&transaction, workshop).map_err(said)?.position;
    if records > journal::Position::START {
        return Err(RestoreError::NotEmpty {
            workshop: workshop.clone(),
            records,
        });
    }
    let mut verifier = Verifier::new(workshop.clone(), Head::EMPTY);
    while let Some(record) = next()? {
        verifier.check(&record).map_err(RestoreError::Chain)?;
        let position = record.position;
        record
            .check_form()
            .map_err(|source| RestoreError::Form { position, source })?;
        insert(&transaction, &record).map_err(said)?;
    }
    transaction.commit().map_err(said)?;
    Ok(verifier.head())
}
