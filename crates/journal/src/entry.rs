//! What is to be written down, before it has its place.

use jiff::civil::Date;
use serde::de::IgnoredAny;

/// The longest fact name, in bytes.
pub const MAX_NAME: usize = 64;

/// The longest `who`, in bytes.
pub const MAX_WHO: usize = 256;

/// The longest payload, in bytes: 16 MiB. A picture belongs in a file beside the journal.
pub const MAX_PAYLOAD: usize = 16 * 1024 * 1024;

/// Something to write down: a record that still wants its place.
///
/// An entry is sound by construction, so every store accepts the same ones.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    day: Date,
    who: Box<str>,
    name: Box<str>,
    version: u16,
    payload: Box<str>,
}

/// Why something cannot be written down.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum EntryError {
    /// The fact name is not 1 to [`MAX_NAME`] ASCII letters, digits, `_`, `-` or `.`.
    #[error("`{0}` is not a fact name: use 1 to 64 ASCII letters, digits, `_`, `-` or `.`")]
    Name(String),
    /// `who` is longer than [`MAX_WHO`] bytes or holds a control character.
    #[error("`who` must be at most 256 bytes of text without control characters")]
    Who,
    /// The payload is longer than [`MAX_PAYLOAD`].
    #[error("the payload is {0} bytes long; a record takes at most 16 MiB")]
    TooLong(usize),
    /// The payload is not one JSON value.
    #[error("the payload is not JSON: {0}")]
    NotJson(String),
    /// The payload could not be read again.
    #[error("what would be written down could not be read again: {0}")]
    Unreadable(String),
    /// The payload has a line break in it or blank space around it.
    #[error("the payload must be JSON on one line, with no space before or after it")]
    NotOneLine,
}

impl Entry {
    /// Returns an entry about what happened on `day`, written down by `who`.
    ///
    /// `name` and `version` say how `payload` is to be read. The payload is one
    /// JSON value (RFC 8259) on one line; it is kept as it is given.
    ///
    /// # Errors
    ///
    /// [`EntryError`] when a part is too long or malformed.
    pub fn try_new(
        day: Date,
        who: &str,
        name: &str,
        version: u16,
        payload: &str,
    ) -> Result<Self, EntryError> {
        check(who, name, payload)?;
        Ok(Self {
            day,
            who: who.into(),
            name: name.into(),
            version,
            payload: payload.into(),
        })
    }

    /// Returns the local day this is about.
    pub fn day(&self) -> Date {
        self.day
    }

    /// Returns who wrote it down.
    pub fn who(&self) -> &str {
        &self.who
    }

    /// Returns the name of the fact.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Returns the version of the payload's form.
    pub fn version(&self) -> u16 {
        self.version
    }

    /// Returns the payload, JSON text.
    pub fn payload(&self) -> &str {
        &self.payload
    }
}

/// Checks the parts of an entry, which are also parts of a record that comes from outside.
pub(crate) fn check(who: &str, name: &str, payload: &str) -> Result<(), EntryError> {
    let allowed = |byte: u8| byte.is_ascii_alphanumeric() || matches!(byte, b'_' | b'-' | b'.');
    if name.is_empty() || name.len() > MAX_NAME || !name.bytes().all(allowed) {
        return Err(EntryError::Name(name.chars().take(MAX_NAME).collect()));
    }
    if who.len() > MAX_WHO || who.chars().any(char::is_control) {
        return Err(EntryError::Who);
    }
    if payload.len() > MAX_PAYLOAD {
        return Err(EntryError::TooLong(payload.len()));
    }
    serde_json::from_str::<IgnoredAny>(payload)
        .map_err(|error| EntryError::NotJson(error.to_string()))?;
    // Inside a JSON string a line break is always escaped, so a raw one is layout.
    let laid_out = |byte: u8| matches!(byte, b' ' | b'\t' | b'\n' | b'\r');
    let edges = [payload.bytes().next(), payload.bytes().next_back()];
    if edges.into_iter().flatten().any(laid_out) || payload.contains(['\n', '\r']) {
        return Err(EntryError::NotOneLine);
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refusal(who: &str, name: &str, payload: &str) -> String {
        let day = jiff::civil::date(2026, 6, 1);
        Entry::try_new(day, who, name, 1, payload)
            .unwrap_err()
            .to_string()
    }

    #[test]
    fn an_entry_is_one_json_value_on_one_line() {
        for bad in [
            "",
            "{",
            "{} {}",
            "nul",
            "{\"a\":1,}",
            "NaN",
            "\"\u{1}\"",
            "'a'",
        ] {
            assert!(
                refusal("Ines", "Poured", bad).starts_with("the payload is not JSON"),
                "{bad}"
            );
        }
        for bad in [" {}", "{} ", "{}\n", "{\n}", "[1,\r2]"] {
            assert!(
                refusal("Ines", "Poured", bad).contains("on one line"),
                "{bad}"
            );
        }
        assert!(refusal("Ines", "Poured", &"[".repeat(200_000)).contains("not JSON"));
    }

    #[test]
    fn names_are_identifiers_and_who_is_one_line() {
        assert!(refusal("Ines", "", "{}").contains("not a fact name"));
        assert!(refusal("Ines", "Poured twice", "{}").contains("`Poured twice`"));
        assert!(refusal("Ines", &"x".repeat(65), "{}").contains("not a fact name"));
        assert!(refusal("Ines\n", "Poured", "{}").contains("control characters"));
        assert!(refusal(&"x".repeat(257), "Poured", "{}").contains("256 bytes"));
    }
}
