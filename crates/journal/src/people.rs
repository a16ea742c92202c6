//! Who people are, kept beside the journal and not in it.
//!
//! A record is never removed, so nothing that a person may ask to have removed
//! stands in one: names, addresses and contacts stand here, under a word that
//! the journal's facts go by. What is forgotten here is gone for good, and the
//! chain stays whole.

use std::sync::Arc;

use crate::name::WorkshopId;
use crate::store::StoreError;

/// The longest word a person goes by, in bytes.
pub const MAX_PERSON: usize = 80;
/// The most that is kept of one person, in bytes.
pub const MAX_DETAILS: usize = 64 * 1024;

/// Keeps who people are. What was put is durable when the call returns.
pub trait People: Send + Sync {
    /// Writes down who someone is, in place of what was known before.
    ///
    /// `details` is JSON text.
    ///
    /// # Errors
    ///
    /// [`PeopleError`]; nothing was changed then.
    fn put(&self, workshop: &WorkshopId, person: &str, details: &str) -> Result<(), PeopleError>;

    /// Returns who someone is; none where nothing is known, or no more.
    ///
    /// # Errors
    ///
    /// [`StoreError`] when it cannot be read.
    fn person(&self, workshop: &WorkshopId, person: &str) -> Result<Option<String>, StoreError>;

    /// Returns everyone a workshop knows, by the words they go by, in order.
    ///
    /// # Errors
    ///
    /// [`StoreError`] when it cannot be read.
    fn people(&self, workshop: &WorkshopId) -> Result<Vec<(String, String)>, StoreError>;

    /// Erases who someone is for good, and returns whether anything was known.
    ///
    /// # Errors
    ///
    /// [`PeopleError`]; it may then still be there.
    fn forget(&self, workshop: &WorkshopId, person: &str) -> Result<bool, PeopleError>;
}

/// Why what is known of a person was not changed.
#[derive(Debug, thiserror::Error)]
pub enum PeopleError {
    /// The word the person goes by is none.
    #[error("a person goes by 1 to {MAX_PERSON} bytes without control characters")]
    Word,
    /// The details are not JSON.
    #[error("what is known of a person is not JSON: {0}")]
    NotJson(String),
    /// There is too much of them.
    #[error("{len} bytes about one person; at most {MAX_DETAILS} are kept")]
    TooLong {
        /// How much there is, in bytes.
        len: usize,
    },
    /// The file may only be read.
    #[error("the journal is open for reading only")]
    ReadOnly,
    /// There is no room left.
    #[error("there is no room left for the journal; free some space and try again")]
    Full,
    /// The store failed.
    #[error("what is known of people could not be changed")]
    Store(#[source] StoreError),
}

impl From<StoreError> for PeopleError {
    fn from(error: StoreError) -> Self {
        Self::Store(error)
    }
}

/// Checks what is to be put; every store calls it first.
///
/// # Errors
///
/// [`PeopleError::Word`], [`PeopleError::NotJson`] or [`PeopleError::TooLong`].
pub fn check_person(person: &str, details: &str) -> Result<(), PeopleError> {
    let is_word = (1..=MAX_PERSON).contains(&person.len()) && !person.chars().any(char::is_control);
    if !is_word {
        return Err(PeopleError::Word);
    }
    if details.len() > MAX_DETAILS {
        return Err(PeopleError::TooLong { len: details.len() });
    }
    match serde_json::from_str::<serde::de::IgnoredAny>(details) {
        Ok(_) => Ok(()),
        Err(error) => Err(PeopleError::NotJson(error.to_string())),
    }
}

impl<P: People + ?Sized> People for Arc<P> {
    fn put(&self, workshop: &WorkshopId, person: &str, details: &str) -> Result<(), PeopleError> {
        (**self).put(workshop, person, details)
    }

    fn person(&self, workshop: &WorkshopId, person: &str) -> Result<Option<String>, StoreError> {
        (**self).person(workshop, person)
    }

    fn people(&self, workshop: &WorkshopId) -> Result<Vec<(String, String)>, StoreError> {
        (**self).people(workshop)
    }

    fn forget(&self, workshop: &WorkshopId, person: &str) -> Result<bool, PeopleError> {
        (**self).forget(workshop, person)
    }
}
