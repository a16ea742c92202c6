//! A form that arrives twice is taken once.
//!
//! A page puts a word of its own into each form that adds something. When the
//! same form with the same word arrives again, because a button was pressed
//! twice, a page was reloaded or an answer got lost on the way, it is led to
//! where the first one went, and nothing is written down again.

use std::collections::VecDeque;
use std::collections::hash_map::RandomState;
use std::hash::BuildHasher;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, LazyLock, Mutex, MutexGuard, PoisonError};

use maud::{Markup, html};

/// The name of the hidden field.
const FIELD: &str = "once";
/// Forms that are remembered; an older one counts as new again.
const REMEMBERED: usize = 1_000;

/// Seeded anew with each start of the program, so that a word of an earlier run
/// does not come up again.
static SEED: LazyLock<RandomState> = LazyLock::new(RandomState::new);
static NEXT: AtomicU64 = AtomicU64::new(0);

/// The hidden field with a word that no other form has.
pub(crate) fn field() -> Markup {
    let word = SEED.hash_one(NEXT.fetch_add(1, Ordering::Relaxed));
    html! { input type="hidden" name=(FIELD) value=(format!("{word:016x}")); }
}

/// Where a form led; none as long as it led nowhere.
type Led = Arc<Mutex<Option<String>>>;

/// The forms that were sent lately.
#[derive(Default)]
pub(crate) struct Sent {
    forms: Mutex<VecDeque<(u64, Led)>>,
}

impl Sent {
    /// What is known of a form with these fields; none for a form without a
    /// word, which may be sent as often as one likes.
    ///
    /// The whole form counts: a page one came back to, filled in differently,
    /// is another form.
    pub(crate) fn of(&self, pairs: &[(String, String)]) -> Option<Led> {
        pairs
            .iter()
            .find(|(name, word)| name == FIELD && !word.is_empty())?;
        let print = SEED.hash_one(pairs);
        let mut forms = self.forms.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, led)) = forms.iter().find(|(known, _)| *known == print) {
            return Some(Arc::clone(led));
        }
        if forms.len() == REMEMBERED {
            forms.pop_front();
        }
        let led = Led::default();
        forms.push_back((print, Arc::clone(&led)));
        Some(led)
    }
}

/// Waits until no other request is at this form.
///
/// One that ended in a panic led nowhere, and leaves nothing half done here.
pub(crate) fn wait(led: &Led) -> MutexGuard<'_, Option<String>> {
    led.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn form(word: &str, paid: &str) -> Vec<(String, String)> {
        [("once", word), ("paid", paid)]
            .map(|(name, text)| (name.to_owned(), text.to_owned()))
            .into()
    }

    #[test]
    fn the_same_form_is_known_and_another_is_not() {
        let sent = Sent::default();
        let first = sent.of(&form("a", "26")).expect("it has a word");
        *wait(&first) = Some("/shelf/delivery/1".to_owned());
        let led = |word, paid| wait(&sent.of(&form(word, paid)).expect("it has a word")).clone();
        assert_eq!(led("a", "26").as_deref(), Some("/shelf/delivery/1"));
        assert_eq!(led("b", "26"), None);
        assert_eq!(led("a", "27"), None);
        assert!(sent.of(&form("", "26")).is_none());
        assert!(sent.of(&[]).is_none());
    }

    #[test]
    fn the_oldest_forms_are_forgotten_first() {
        let sent = Sent::default();
        for n in 0..=REMEMBERED {
            let led = sent.of(&form(&n.to_string(), "26")).expect("it has a word");
            *wait(&led) = Some(format!("/{n}"));
        }
        let led = |word: &str| wait(&sent.of(&form(word, "26")).expect("it has a word")).clone();
        assert_eq!(led("1").as_deref(), Some("/1"));
        assert_eq!(led("0"), None);
    }

    #[test]
    fn no_two_fields_have_the_same_word() {
        assert_ne!(field().into_string(), field().into_string());
    }
}
