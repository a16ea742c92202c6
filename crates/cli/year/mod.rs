//! The made-up year of a busy workshop, in a journal file. Taken in by the
//! example that writes one, the bench and a test.

use std::path::Path;

use app::people::Person;
use journal::{Entry, Head, People as _, Store as _, WorkshopId};
use journal_sqlite::{OpenOptions, SqliteStore};

#[path = "../../workshop/fixtures/year.rs"]
#[expect(
    dead_code,
    unreachable_pub,
    reason = "taken in by others too, which use the rest of it"
)]
mod fixture;

pub(crate) use fixture::{LAST, SEED, Size, Year, make};

/// Facts in one append while the journal is made.
const AT_ONCE: usize = 2_000;

/// The name a workshop goes by in its file.
pub(crate) fn id() -> WorkshopId {
    WorkshopId::try_new("workshop").expect("small letters")
}

/// Writes the year into a journal file that is not there yet, with who its
/// buyers are beside it.
pub(crate) fn write(path: &Path, year: &Year) -> anyhow::Result<()> {
    let options = OpenOptions {
        create: true,
        ..OpenOptions::default()
    };
    let store = SqliteStore::open(path, &options)?;
    let id = id();
    anyhow::ensure!(
        store.head(&id)? == Head::EMPTY,
        "{} has a journal in it already",
        path.display()
    );
    let mut head = Head::EMPTY;
    for chunk in year.facts.chunks(AT_ONCE) {
        let entries = chunk
            .iter()
            .map(|(day, fact)| {
                Entry::try_new(*day, "year", fact.name(), fact.version(), &fact.write())
            })
            .collect::<Result<Vec<_>, _>>()?;
        head = store.append(&id, head, jiff::Timestamp::UNIX_EPOCH, &entries)?;
    }
    for buyer in year.workshop.trade().buyers() {
        let nth = buyer.id.0;
        let person = Person {
            name: fixture::shop_name(nth),
            address: vec![format!("{nth} Quay Street"), "Port Averin".to_owned()],
            ..Person::default()
        };
        let details = serde_json::to_string(&person)?;
        store.put(&id, &format!("buyer {nth}"), &details)?;
    }
    Ok(())
}
