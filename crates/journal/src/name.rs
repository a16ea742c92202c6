//! Which workshop a journal belongs to.

use std::fmt;
use std::str::FromStr;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

/// The longest workshop id, in bytes.
const MAX_ID: usize = 64;

/// The name a workshop goes by in its journal, such as `quillfen`.
///
/// 1 to 64 of the characters `a` to `z`, `0` to `9`, `-` and `_`, the first one a
/// letter or a digit. It is an identifier, not the name on the door: that may
/// change, and is a fact of the journal.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct WorkshopId(Arc<str>);

/// Why a text is not a workshop id.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "`{given}` is not a workshop id: use 1 to 64 small letters, digits, `-` or `_`, \
     the first one a letter or a digit"
)]
pub struct WorkshopIdError {
    /// What was given, cut short.
    pub given: String,
}

impl WorkshopId {
    /// Returns `text` as a workshop id.
    ///
    /// # Errors
    ///
    /// [`WorkshopIdError`] when it is empty, too long or holds another character.
    pub fn try_new(text: &str) -> Result<Self, WorkshopIdError> {
        let allowed = |byte: u8| byte.is_ascii_lowercase() || byte.is_ascii_digit();
        let starts_well = text.bytes().next().is_some_and(allowed);
        let goes_on_well = text
            .bytes()
            .all(|byte| allowed(byte) || matches!(byte, b'-' | b'_'));
        if starts_well && goes_on_well && text.len() <= MAX_ID {
            return Ok(Self(text.into()));
        }
        Err(WorkshopIdError {
            given: text.chars().take(MAX_ID).collect(),
        })
    }

    /// Returns the id as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for WorkshopId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

impl FromStr for WorkshopId {
    type Err = WorkshopIdError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        Self::try_new(text)
    }
}

impl TryFrom<String> for WorkshopId {
    type Error = WorkshopIdError;

    fn try_from(text: String) -> Result<Self, Self::Error> {
        Self::try_new(&text)
    }
}

impl From<WorkshopId> for String {
    fn from(id: WorkshopId) -> Self {
        id.as_str().to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_id_is_small_letters_digits_and_dashes() {
        for good in ["quillfen", "a", "7", "port-averin_2", &"x".repeat(64)] {
            assert_eq!(WorkshopId::try_new(good).unwrap().as_str(), good);
        }
        for bad in [
            "",
            "-a",
            "_a",
            "Quillfen",
            "a b",
            "a/b",
            "é",
            "a\0",
            &"x".repeat(65),
        ] {
            assert!(WorkshopId::try_new(bad).is_err(), "{bad:?}");
        }
    }
}
