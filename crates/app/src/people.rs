//! Who people are: read where it is kept apart from the journal, and forgotten
//! there for good.
//!
//! Nothing of it is kept in memory: what one program forgets, no other shows.

use std::collections::BTreeMap;

use journal::PeopleError;
use measure::{Problem, Problems};
use serde::{Deserialize, Serialize};
use workshop::facts::BuyerId;
use workshop::{Buyer, Workshop};

use crate::forms::Filled;
use crate::{App, OpenError};

/// The longest of each text about a person.
const LONGEST: usize = 200;
/// The most lines of an address.
const MOST_LINES: usize = 8;

/// Who a buyer is.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Person {
    /// The name of the shop or the person.
    pub name: String,
    /// Whom to ask for there; may be empty.
    pub contact: String,
    /// Where it is, line by line.
    pub address: Vec<String>,
    /// By post without paper; may be empty.
    pub email: String,
    /// By telephone; may be empty.
    pub phone: String,
    /// The number under which it pays tax; may be empty.
    pub tax_number: String,
    /// Anything else; may be empty.
    pub note: String,
}

impl Person {
    /// Reads `name`, `contact`, `address`, `email`, `phone`, `tax_number` and
    /// `about` of a form.
    ///
    /// # Errors
    ///
    /// A problem for a missing name and for every text that is too long or cannot
    /// be printed.
    pub fn read(filled: &Filled) -> Result<Self, Problems> {
        let mut problems = Problems::default();
        let mut line = |field: &str| {
            let text = filled.get(field);
            if let Err(problem) = checked(field, text) {
                problems.0.push(problem);
            }
            text.to_owned()
        };
        let person = Self {
            name: line("name"),
            contact: line("contact"),
            address: filled
                .get("address")
                .lines()
                .map(|line| line.trim().to_owned())
                .filter(|line| !line.is_empty())
                .collect(),
            email: line("email"),
            phone: line("phone"),
            tax_number: line("tax_number"),
            note: line("about"),
        };
        if person.name.is_empty() {
            problems.0.push(Problem::new(
                "name",
                "",
                "it is missing",
                "write what the shop or the person is called",
            ));
        }
        for line in &person.address {
            if let Err(problem) = checked("address", line) {
                problems.0.push(problem);
            }
        }
        if person.address.len() > MOST_LINES {
            problems.0.push(Problem::new(
                "address",
                person.address.len().to_string(),
                "that is too many lines",
                format!("write at most {MOST_LINES}"),
            ));
        }
        if problems.is_empty() {
            Ok(person)
        } else {
            Err(problems)
        }
    }

    /// Fills the fields of its form where nothing was typed.
    #[must_use]
    pub fn fill(&self, filled: Filled) -> Filled {
        filled
            .or("name", self.name.as_str())
            .or("contact", self.contact.as_str())
            .or("address", self.address.join("\n"))
            .or("email", self.email.as_str())
            .or("phone", self.phone.as_str())
            .or("tax_number", self.tax_number.as_str())
            .or("about", self.note.as_str())
    }

    /// The name and address as they stand on a parcel.
    pub fn lines(&self) -> Vec<String> {
        std::iter::once(&self.name)
            .chain(&self.address)
            .cloned()
            .collect()
    }
}

fn checked(field: &str, text: &str) -> Result<(), Problem> {
    if text.chars().count() > LONGEST {
        return Err(Problem::new(
            field,
            text.chars().take(30).collect::<String>() + "…",
            "it is too long",
            format!("use at most {LONGEST} letters"),
        ));
    }
    if text.chars().any(char::is_control) {
        return Err(Problem::new(
            field,
            text.replace(char::is_control, " "),
            "it has a line break or another control character in it",
            "write it on one line",
        ));
    }
    Ok(())
}

/// Everyone of whom something is known.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Everyone(BTreeMap<BuyerId, Person>);

impl Everyone {
    /// Who a buyer is.
    pub fn get(&self, buyer: BuyerId) -> Option<&Person> {
        self.0.get(&buyer)
    }

    /// What to call a buyer: its name, or its number where that is not known or
    /// was forgotten.
    pub fn name(&self, workshop: &Workshop, buyer: BuyerId) -> String {
        let forgotten = workshop.trade().buyer(buyer);
        match self.get(buyer) {
            Some(person) => person.name.clone(),
            None if forgotten.is_some_and(|buyer: &Buyer| buyer.forgotten) => {
                format!("buyer {buyer}, forgotten")
            }
            None => format!("buyer {buyer}"),
        }
    }
}

fn word(buyer: BuyerId) -> String {
    format!("buyer {buyer}")
}

fn buyer_of(word: &str) -> Option<BuyerId> {
    word.strip_prefix("buyer ")?.parse().ok()
}

/// What is kept of a person that this program does not read is shown by its
/// number alone; the next change writes it anew.
fn read(details: &str) -> Option<Person> {
    serde_json::from_str(details).ok()
}

impl App {
    /// Everyone of whom something is known.
    ///
    /// # Errors
    ///
    /// [`OpenError`] when it cannot be read.
    pub fn everyone(&self) -> Result<Everyone, OpenError> {
        let known = self.store.people(&self.id)?;
        let known = known
            .iter()
            .filter_map(|(word, details)| Some((buyer_of(word)?, read(details)?)));
        Ok(Everyone(known.collect()))
    }

    /// Who a buyer is; none where that is not known.
    ///
    /// # Errors
    ///
    /// [`OpenError`] when it cannot be read.
    pub fn person(&self, buyer: BuyerId) -> Result<Option<Person>, OpenError> {
        let details = self.store.person(&self.id, &word(buyer))?;
        Ok(details.as_deref().and_then(read))
    }

    pub(crate) fn put_person(&self, buyer: BuyerId, person: &Person) -> Result<(), PeopleError> {
        let details = serde_json::to_string(person)
            .expect("a struct of texts is written as JSON without fail");
        self.store.put(&self.id, &word(buyer), &details)
    }

    pub(crate) fn erase_person(&self, buyer: BuyerId) -> Result<bool, PeopleError> {
        self.store.forget(&self.id, &word(buyer))
    }

    /// Erases whoever was to be forgotten when the program stopped.
    pub(crate) fn finish_forgetting(&self) -> Result<(), OpenError> {
        let known = self.store.people(&self.id)?;
        if known.is_empty() {
            return Ok(());
        }
        let forgotten = self.look(|workshop| {
            let buyers = workshop.trade().buyers();
            let forgotten = buyers.filter(|buyer| buyer.forgotten);
            forgotten.map(|buyer| word(buyer.id)).collect::<Vec<_>>()
        })?;
        for (word, _) in known.iter().filter(|(word, _)| forgotten.contains(word)) {
            // A file open for reading only is left as it is; pages go by the fact.
            let _ = self.store.forget(&self.id, word);
        }
        Ok(())
    }
}
