//! What is wrong with an input, in words a maker can act on.

use std::borrow::Cow;
use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A text that could not be read, without yet knowing which field it stood in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unclear {
    /// The text as it was given.
    pub given: String,
    /// What is wrong with it.
    pub wrong: Cow<'static, str>,
    /// What would be accepted instead.
    pub accepted: Cow<'static, str>,
}

impl Unclear {
    /// Says that `given` is `wrong` and that `accepted` would be right.
    pub fn new(
        given: &str,
        wrong: impl Into<Cow<'static, str>>,
        accepted: impl Into<Cow<'static, str>>,
    ) -> Self {
        // A pasted page must not come back whole in the message.
        let given = match given.char_indices().nth(60) {
            Some((end, _)) => format!("{}…", &given[..end]),
            None => given.to_owned(),
        };
        Self {
            given,
            wrong: wrong.into(),
            accepted: accepted.into(),
        }
    }
}

impl fmt::Display for Unclear {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.given.is_empty() {
            write!(f, "{}; {}", self.wrong, self.accepted)
        } else {
            write!(f, "\"{}\": {}; {}", self.given, self.wrong, self.accepted)
        }
    }
}

impl std::error::Error for Unclear {}

/// One thing wrong with an input: where, what, and what would be right.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Problem {
    /// The field, as a path into the input: `blend[1].parts`.
    pub field: String,
    /// The text as it was given; empty when the field was missing.
    pub given: String,
    /// What is wrong with it.
    pub wrong: String,
    /// What would be accepted instead.
    pub accepted: String,
}

impl Problem {
    /// Says what is wrong with the value of `field`.
    pub fn new(
        field: impl Into<String>,
        given: impl Into<String>,
        wrong: impl Into<String>,
        accepted: impl Into<String>,
    ) -> Self {
        Self {
            field: field.into(),
            given: given.into(),
            wrong: wrong.into(),
            accepted: accepted.into(),
        }
    }

    /// Places an unclear text in the field it came from.
    pub fn at(field: impl Into<String>, unclear: Unclear) -> Self {
        Self {
            field: field.into(),
            given: unclear.given,
            wrong: unclear.wrong.into_owned(),
            accepted: unclear.accepted.into_owned(),
        }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.field.is_empty() {
            f.write_str("the input: ")?;
        } else {
            write!(f, "{}: ", self.field)?;
        }
        if self.given.is_empty() {
            write!(f, "{}; {}", self.wrong, self.accepted)
        } else {
            write!(f, "\"{}\": {}; {}", self.given, self.wrong, self.accepted)
        }
    }
}

/// Everything wrong with one input, in the order of its fields.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct Problems(pub Vec<Problem>);

impl Problems {
    /// Whether nothing is wrong.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The problems, one after another.
    pub fn iter(&self) -> std::slice::Iter<'_, Problem> {
        self.0.iter()
    }

    /// The first problem with `field` exactly.
    pub fn of(&self, field: &str) -> Option<&Problem> {
        self.0.iter().find(|problem| problem.field == field)
    }
}

impl<'a> IntoIterator for &'a Problems {
    type Item = &'a Problem;
    type IntoIter = std::slice::Iter<'a, Problem>;

    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

impl From<Problem> for Problems {
    fn from(problem: Problem) -> Self {
        Self(vec![problem])
    }
}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, problem) in self.0.iter().enumerate() {
            if i > 0 {
                writeln!(f)?;
            }
            write!(f, "{problem}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Problems {}
