//! Why a wish was not granted.

use measure::Problems;

/// Why a decision added nothing to the journal. Speaks to the maker.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// There is no such thing.
    #[error("there is no {what} {id}")]
    Unknown {
        /// The kind of thing.
        what: &'static str,
        /// The identifier asked for.
        id: String,
    },
    /// The pour is not at the point where this makes sense.
    #[error("pour {lot} is {stage}; {instead}")]
    WrongStage {
        /// The lot code.
        lot: String,
        /// Where it stands.
        stage: &'static str,
        /// What can be done instead.
        instead: &'static str,
    },
    /// Something is not at the point where this makes sense.
    #[error("{what} is {stage}; {instead}")]
    OutOfTurn {
        /// Which thing, in words: `order 3`.
        what: String,
        /// Where it stands.
        stage: &'static str,
        /// What can be done instead.
        instead: &'static str,
    },
    /// What was entered cannot be right.
    #[error("{0}")]
    Input(Problems),
}

impl From<Problems> for Refusal {
    fn from(problems: Problems) -> Self {
        Self::Input(problems)
    }
}

impl From<measure::Problem> for Refusal {
    fn from(problem: measure::Problem) -> Self {
        Self::Input(problem.into())
    }
}
