//! Several decisions taken from one form, all of them or none.

use jiff::civil::Date;
use measure::{Problem, Problems};
use workshop::facts::{Dated, Fact};
use workshop::{Refusal, Workshop};

/// Decisions folded one on the other: each rests on those before it, so they
/// are folded into a copy of the workshop.
pub(crate) struct Steps {
    /// How the workshop stands after what was decided so far.
    pub workshop: Workshop,
    /// What was decided so far.
    pub facts: Vec<Fact>,
    day: Date,
}

impl Steps {
    /// Begins with the workshop as it stands on a day.
    pub(crate) fn new(workshop: &Workshop, day: Date) -> Self {
        Self {
            workshop: workshop.clone(),
            facts: Vec::new(),
            day,
        }
    }

    /// The day it is decided on.
    pub(crate) const fn day(&self) -> Date {
        self.day
    }

    /// Folds what was decided.
    pub(crate) fn fold(&mut self, facts: Vec<Fact>) {
        for fact in facts {
            self.workshop.apply(&Dated {
                day: self.day,
                fact: fact.clone(),
            });
            self.facts.push(fact);
        }
    }
}

/// What is wrong with a form so far, one problem a box.
#[derive(Default)]
pub(crate) struct Wrong(pub Vec<Problem>);

impl Wrong {
    /// Notes the problems of one part of the form; only a refusal of another
    /// kind ends the reading.
    pub(crate) fn gather<T>(&mut self, read: Result<T, Refusal>) -> Result<Option<T>, Refusal> {
        match read {
            Ok(value) => Ok(Some(value)),
            Err(Refusal::Input(problems)) => {
                for problem in problems.0 {
                    if self.0.iter().all(|known| known.field != problem.field) {
                        self.0.push(problem);
                    }
                }
                Ok(None)
            }
            Err(other) => Err(other),
        }
    }

    /// Refuses the form where anything was wrong.
    pub(crate) fn finish(self) -> Result<(), Problems> {
        if self.0.is_empty() {
            Ok(())
        } else {
            Err(Problems(self.0))
        }
    }
}
