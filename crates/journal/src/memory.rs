//! A store that lasts as long as the program, for tests and trying things out.

use std::collections::BTreeMap;
use std::ops::ControlFlow;
use std::sync::{Mutex, MutexGuard, PoisonError};

use jiff::Timestamp;

use crate::chain::{Chain, Verifier};
use crate::entry::Entry;
use crate::name::WorkshopId;
use crate::people::{People, PeopleError, check_person};
use crate::record::{Head, Position, Record};
use crate::store::{AppendError, Interrupted, RestoreError, Store, StoreError};

/// Keeps journals in memory.
#[derive(Debug, Default)]
pub struct MemoryStore {
    journals: Mutex<BTreeMap<WorkshopId, Vec<Record>>>,
    people: Mutex<BTreeMap<WorkshopId, BTreeMap<String, String>>>,
}

impl MemoryStore {
    /// Returns a store without records.
    pub fn new() -> Self {
        Self::default()
    }

    /// Records are only added when whole, so a panic elsewhere leaves nothing half done.
    fn journals(&self) -> MutexGuard<'_, BTreeMap<WorkshopId, Vec<Record>>> {
        self.journals.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn everyone(&self) -> MutexGuard<'_, BTreeMap<WorkshopId, BTreeMap<String, String>>> {
        self.people.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

fn head_of(records: &[Record]) -> Head {
    records.last().map_or(Head::EMPTY, Record::head)
}

impl Store for MemoryStore {
    fn workshops(&self) -> Result<Vec<WorkshopId>, StoreError> {
        Ok(self.journals().keys().cloned().collect())
    }

    fn head(&self, workshop: &WorkshopId) -> Result<Head, StoreError> {
        Ok(self
            .journals()
            .get(workshop)
            .map_or(Head::EMPTY, |records| head_of(records)))
    }

    fn append(
        &self,
        workshop: &WorkshopId,
        expected: Head,
        recorded: Timestamp,
        entries: &[Entry],
    ) -> Result<Head, AppendError> {
        let mut journals = self.journals();
        let found = journals
            .get(workshop)
            .map_or(Head::EMPTY, |records| head_of(records));
        if found != expected {
            return Err(AppendError::Stale { expected, found });
        }
        if entries.is_empty() {
            return Ok(found);
        }
        let mut chain = Chain::new(workshop.clone(), found);
        let records = journals.entry(workshop.clone()).or_default();
        records.extend(entries.iter().map(|entry| chain.seal(recorded, entry)));
        Ok(chain.head())
    }

    fn read(
        &self,
        workshop: &WorkshopId,
        after: Position,
        visit: &mut dyn FnMut(Record) -> ControlFlow<()>,
    ) -> Result<(), StoreError> {
        let end = self.head(workshop)?.position;
        let mut position = after;
        while position < end {
            // One at a time, so that `visit` may use the store.
            let record = usize::try_from(position.0)
                .ok()
                .and_then(|idx| self.journals().get(workshop)?.get(idx).cloned());
            let Some(record) = record else { break };
            position = position.next();
            if visit(record).is_break() {
                break;
            }
        }
        Ok(())
    }

    fn restore(
        &self,
        workshop: &WorkshopId,
        next: &mut dyn FnMut() -> Result<Option<Record>, Interrupted>,
    ) -> Result<Head, RestoreError> {
        let mut verifier = Verifier::new(workshop.clone(), Head::EMPTY);
        let mut restored = Vec::new();
        while let Some(record) = next()? {
            verifier.check(&record).map_err(RestoreError::Chain)?;
            let position = record.position;
            record
                .check_form()
                .map_err(|source| RestoreError::Form { position, source })?;
            restored.push(record);
        }
        let mut journals = self.journals();
        if let Some(records) = journals.get(workshop) {
            let records = head_of(records).position;
            return Err(RestoreError::NotEmpty {
                workshop: workshop.clone(),
                records,
            });
        }
        if !restored.is_empty() {
            journals.insert(workshop.clone(), restored);
        }
        Ok(verifier.head())
    }
}

impl People for MemoryStore {
    fn put(&self, workshop: &WorkshopId, person: &str, details: &str) -> Result<(), PeopleError> {
        check_person(person, details)?;
        self.everyone()
            .entry(workshop.clone())
            .or_default()
            .insert(person.to_owned(), details.to_owned());
        Ok(())
    }

    fn person(&self, workshop: &WorkshopId, person: &str) -> Result<Option<String>, StoreError> {
        let everyone = self.everyone();
        let known = everyone.get(workshop).and_then(|known| known.get(person));
        Ok(known.cloned())
    }

    fn people(&self, workshop: &WorkshopId) -> Result<Vec<(String, String)>, StoreError> {
        let everyone = self.everyone();
        let known = everyone.get(workshop).into_iter().flatten();
        Ok(known
            .map(|(person, details)| (person.clone(), details.clone()))
            .collect())
    }

    fn forget(&self, workshop: &WorkshopId, person: &str) -> Result<bool, PeopleError> {
        let mut everyone = self.everyone();
        let known = everyone.get_mut(workshop);
        Ok(known.is_some_and(|known| known.remove(person).is_some()))
    }
}

#[cfg(test)]
mod tests {
    crate::suite_tests!(super::MemoryStore::new);
}
