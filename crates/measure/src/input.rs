//! Checking a whole input and reporting everything wrong with it at once.

use serde::de::DeserializeOwned;

use crate::problem::{Problem, Problems, Unclear};

/// Gathers the problems of an input while its fields are read one by one.
///
/// # Example
///
/// ```
/// use measure::{Checker, Mass, Typed};
///
/// let mut check = Checker::default();
/// let wax = check.required("wax", Some("16.7 oz"), Typed::<Mass>::parse);
/// let oil = check.required("oil", Some("2 parsecs"), Typed::<Mass>::parse);
/// assert!(wax.is_some() && oil.is_none());
/// let problems = check.finish().unwrap_err();
/// assert_eq!(problems.of("oil").unwrap().wrong, "\"parsecs\" is not a unit of weight");
/// ```
#[derive(Debug, Default)]
pub struct Checker {
    problems: Vec<Problem>,
}

impl Checker {
    /// Reads a field that must be there.
    pub fn required<T>(
        &mut self,
        field: &str,
        text: Option<&str>,
        read: impl FnOnce(&str) -> Result<T, Unclear>,
    ) -> Option<T> {
        // An empty text goes to the reader too, whose message says what is wanted.
        self.keep(field, read(text.unwrap_or_default()))
    }

    /// Reads a field that may be missing or empty.
    pub fn optional<T>(
        &mut self,
        field: &str,
        text: Option<&str>,
        read: impl FnOnce(&str) -> Result<T, Unclear>,
    ) -> Option<T> {
        let text = text.map(str::trim).filter(|text| !text.is_empty())?;
        self.keep(field, read(text))
    }

    /// Keeps a value read elsewhere, or the problem with it.
    pub fn keep<T>(&mut self, field: &str, read: Result<T, Unclear>) -> Option<T> {
        match read {
            Ok(value) => Some(value),
            Err(unclear) => {
                self.problems.push(Problem::at(field, unclear));
                None
            }
        }
    }

    /// Notes a problem found by looking at several fields together.
    pub fn refuse(&mut self, problem: Problem) {
        self.problems.push(problem);
    }

    /// Whether nothing has been found wrong so far.
    pub fn is_clean(&self) -> bool {
        self.problems.is_empty()
    }

    /// The problems found so far, ending the check.
    pub fn into_problems(self) -> Problems {
        Problems(self.problems)
    }

    /// Ends the check.
    ///
    /// # Errors
    ///
    /// Every problem found, when there was one.
    pub fn finish(self) -> Result<(), Problems> {
        if self.problems.is_empty() {
            Ok(())
        } else {
            Err(Problems(self.problems))
        }
    }
}

/// Reads the JSON of an input into its type.
///
/// # Errors
///
/// One [`Problem`] naming what does not fit, when the JSON is not of the
/// input's shape. What the fields say is checked afterwards, all together.
pub fn parse_input<T: DeserializeOwned>(value: serde_json::Value) -> Result<T, Problems> {
    serde_json::from_value(value).map_err(|error| {
        Problem::new(
            "",
            "",
            error.to_string(),
            "see the schema of this calculation for its fields",
        )
        .into()
    })
}
