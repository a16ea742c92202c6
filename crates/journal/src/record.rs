//! One record of the journal, and the hash that ties it to the one before.

use std::fmt;
use std::str::FromStr;

use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use crate::entry::{self, Entry, EntryError};
use crate::name::WorkshopId;

/// Where a record stands in its journal: 1, 2, 3 and so on. 0 is before the first.
#[derive(
    Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct Position(pub u64);

impl Position {
    /// Before the first record.
    pub const START: Self = Self(0);

    /// Returns the position after this one.
    #[must_use]
    pub fn next(self) -> Self {
        Self(self.0.saturating_add(1))
    }
}

impl fmt::Display for Position {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(&self.0, f)
    }
}

/// A SHA-256 hash, printed as 64 small hexadecimal digits.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Hash([u8; 32]);

/// Why a text is not a hash.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a hash is 64 hexadecimal digits in small letters")]
pub struct HashError;

impl Hash {
    /// Returns the hash with these bytes.
    pub const fn from_bytes(bytes: [u8; 32]) -> Self {
        Self(bytes)
    }

    /// Returns the bytes of the hash.
    pub const fn as_bytes(&self) -> &[u8; 32] {
        &self.0
    }
}

impl fmt::Display for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl FromStr for Hash {
    type Err = HashError;

    /// Reads exactly what [`Display`](fmt::Display) prints, so that a hash has one spelling.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let digit = |byte: u8| match byte {
            b'0'..=b'9' => Ok(byte - b'0'),
            b'a'..=b'f' => Ok(byte - b'a' + 10),
            _ => Err(HashError),
        };
        let (pairs, rest) = text.as_bytes().as_chunks::<2>();
        if pairs.len() != 32 || !rest.is_empty() {
            return Err(HashError);
        }
        let mut bytes = [0; 32];
        for (byte, [high, low]) in bytes.iter_mut().zip(pairs) {
            *byte = digit(*high)? << 4 | digit(*low)?;
        }
        Ok(Self(bytes))
    }
}

impl TryFrom<String> for Hash {
    type Error = HashError;

    fn try_from(text: String) -> Result<Self, Self::Error> {
        text.parse()
    }
}

impl From<Hash> for String {
    fn from(hash: Hash) -> Self {
        hash.to_string()
    }
}

/// The last record of a journal: where it stands and its hash.
///
/// The hash is part of it so that a journal put back from a copy and written on
/// differently is not taken for the one a decision was made on.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Head {
    /// The position of the last record, 0 when there is none.
    pub position: Position,
    /// The hash of the last record, `None` when there is none.
    pub hash: Option<Hash>,
}

impl Head {
    /// The head of a journal without records.
    pub const EMPTY: Self = Self {
        position: Position::START,
        hash: None,
    };
}

/// Something that was written down, in its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Record {
    /// The workshop whose journal this is.
    pub workshop: WorkshopId,
    /// The place in the journal.
    pub position: Position,
    /// When it was written down (UTC), to the microsecond.
    pub recorded: Timestamp,
    /// The local day it is about.
    pub day: Date,
    /// Who wrote it down.
    pub who: Box<str>,
    /// The name of the fact.
    pub name: Box<str>,
    /// The version of the payload's form.
    pub version: u16,
    /// The fact itself, JSON text exactly as it was given.
    pub payload: Box<str>,
    /// The hash of the record before, `None` in the first.
    pub previous: Option<Hash>,
    /// The hash of this record.
    pub hash: Hash,
}

/// Opens every hashed text, so that no hash of something else is ever one of ours.
const DOMAIN: &[u8; 26] = b"pourwright journal record\x01";

impl Record {
    /// Returns `entry` as the record that follows `head`.
    ///
    /// `recorded` is cut to the whole microsecond before it, which is what a
    /// store keeps.
    pub fn seal(workshop: &WorkshopId, head: Head, recorded: Timestamp, entry: &Entry) -> Self {
        let nanos = recorded.as_nanosecond();
        // The earliest moment there is is a whole second, so the cut stays in range.
        let recorded = Timestamp::from_nanosecond(nanos - nanos.rem_euclid(1_000))
            .expect("cutting never leaves the range of a timestamp");
        let mut record = Self {
            workshop: workshop.clone(),
            position: head.position.next(),
            recorded,
            day: entry.day(),
            who: entry.who().into(),
            name: entry.name().into(),
            version: entry.version(),
            payload: entry.payload().into(),
            previous: head.hash,
            hash: Hash([0; 32]),
        };
        record.hash = record.compute_hash();
        record
    }

    /// Returns the head of a journal that ends with this record.
    pub fn head(&self) -> Head {
        Head {
            position: self.position,
            hash: Some(self.hash),
        }
    }

    /// Returns the hash that the other fields give.
    ///
    /// It is the SHA-256 (FIPS 180-4) of these bytes, one after the other, whole
    /// numbers with their highest byte first:
    ///
    /// | bytes | what |
    /// |---|---|
    /// | 26 | `pourwright journal record` in ASCII, then the byte 1, the version of this framing |
    /// | 1 | 0 in the first record, 1 where there is one before |
    /// | 0 or 32 | the hash of the record before |
    /// | 8 + n | the workshop id: its length in bytes, then its UTF-8 text |
    /// | 8 | the position |
    /// | 8 | when it was recorded, in microseconds after 1970-01-01T00:00:00Z, two's complement |
    /// | 2, 1, 1 | the day: year (two's complement), month, day of the month |
    /// | 8 + n | who: length, text |
    /// | 8 + n | the name of the fact: length, text |
    /// | 2 | the version of the fact |
    /// | 8 + n | the payload: length, text |
    ///
    /// Lengths stand before texts so that no two records give the same bytes.
    ///
    /// # Source
    ///
    /// NIST FIPS 180-4, Secure Hash Standard, August 2015.
    pub fn compute_hash(&self) -> Hash {
        let mut sha = Sha256::new();
        self.frame(|bytes| sha.update(bytes));
        Hash(sha.finalize().into())
    }

    /// Hands over, piece by piece, the bytes that are hashed.
    fn frame(&self, mut put: impl FnMut(&[u8])) {
        put(DOMAIN);
        match &self.previous {
            None => put(&[0]),
            Some(previous) => {
                put(&[1]);
                put(&previous.0);
            }
        }
        put(&len(self.workshop.as_str()));
        put(self.workshop.as_str().as_bytes());
        put(&self.position.0.to_be_bytes());
        put(&self.recorded.as_microsecond().to_be_bytes());
        put(&self.day.year().to_be_bytes());
        put(&self.day.month().to_be_bytes());
        put(&self.day.day().to_be_bytes());
        put(&len(&self.who));
        put(self.who.as_bytes());
        put(&len(&self.name));
        put(self.name.as_bytes());
        put(&self.version.to_be_bytes());
        put(&len(&self.payload));
        put(self.payload.as_bytes());
    }

    /// Checks that this record could have been an [`Entry`].
    ///
    /// # Errors
    ///
    /// [`EntryError`] when a part is too long or malformed.
    pub fn check_form(&self) -> Result<(), EntryError> {
        entry::check(&self.who, &self.name, &self.payload)
    }
}

fn len(text: &str) -> [u8; 8] {
    (text.len() as u64).to_be_bytes()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The one-block example of the standard's examples: SHA-256 of `abc`.
    ///
    /// Source: NIST, "Cryptographic Standards and Guidelines: Examples with
    /// Intermediate Values", SHA256.pdf, first example.
    #[test]
    fn the_hash_is_the_sha_256_of_the_standard() {
        let hash = Hash(Sha256::digest(b"abc").into());
        let expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(hash.to_string(), expected);
        assert_eq!(expected.parse(), Ok(hash));
    }

    #[test]
    fn a_hash_has_one_spelling() {
        let good = "0123456789abcdef".repeat(4);
        assert_eq!(good.parse::<Hash>().unwrap().to_string(), good);
        for bad in [
            "",
            &good[1..],
            &good.to_uppercase(),
            &format!("{good}0"),
            &"é".repeat(32),
        ] {
            assert_eq!(bad.parse::<Hash>(), Err(HashError), "{bad}");
        }
    }

    fn sample(head: Head) -> Record {
        let workshop = WorkshopId::try_new("quillfen").unwrap();
        let day = jiff::civil::date(2026, 6, 1);
        let entry = Entry::try_new(day, "Ines", "Poured", 1, r#"{"poured":"18.7 oz"}"#).unwrap();
        let recorded = "2026-06-01T09:30:00.1234567Z".parse().unwrap();
        Record::seal(&workshop, head, recorded, &entry)
    }

    /// The framing, written out by hand from the table of the documentation.
    #[test]
    fn the_framing_is_what_the_table_says() {
        let mut bytes = Vec::new();
        let first = sample(Head::EMPTY);
        first.frame(|piece| bytes.extend_from_slice(piece));
        let mut expected = b"pourwright journal record\x01\x00".to_vec();
        expected.extend(b"\0\0\0\0\0\0\0\x08quillfen");
        expected.extend(b"\0\0\0\0\0\0\0\x01");
        expected.extend(1_780_306_200_123_456_u64.to_be_bytes());
        expected.extend([0x07, 0xea, 6, 1]);
        expected.extend(b"\0\0\0\0\0\0\0\x04Ines");
        expected.extend(b"\0\0\0\0\0\0\0\x06Poured");
        expected.extend([0, 1]);
        expected.extend(b"\0\0\0\0\0\0\0\x14{\"poured\":\"18.7 oz\"}");
        assert_eq!(bytes, expected);

        let second = sample(first.head());
        bytes.clear();
        second.frame(|piece| bytes.extend_from_slice(piece));
        expected[26] = 1;
        expected.splice(27..27, *first.hash.as_bytes());
        expected[27 + 32 + 16 + 7] = 2;
        assert_eq!(bytes, expected);
    }

    #[test]
    fn the_time_is_cut_to_the_microsecond() {
        assert_eq!(
            sample(Head::EMPTY).recorded.to_string(),
            "2026-06-01T09:30:00.123456Z"
        );
        let workshop = WorkshopId::try_new("a").unwrap();
        let entry = Entry::try_new(Date::MIN, "", "A", 0, "0").unwrap();
        for (given, kept) in [
            (Timestamp::MIN, Timestamp::MIN),
            (
                Timestamp::MAX,
                "9999-12-30T22:00:00.999999Z".parse().unwrap(),
            ),
            (
                "1969-12-31T23:59:59.9999999Z".parse().unwrap(),
                "1969-12-31T23:59:59.999999Z".parse().unwrap(),
            ),
        ] {
            let record = Record::seal(&workshop, Head::EMPTY, given, &entry);
            assert_eq!(record.recorded, kept);
            assert_eq!(record.hash, record.compute_hash());
        }
    }
}
