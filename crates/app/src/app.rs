//! A workshop held in memory, and the way from a wish to a kept fact.

use std::collections::HashMap;
use std::ops::ControlFlow;
use std::sync::{Arc, Mutex, PoisonError, RwLock};

use jiff::civil::Date;
use journal::{AppendError, Entry, Head, ReadError, Store, StoreError, WorkshopId, read_verified};
use workshop::facts::{Dated, Fact, MouldId, UnreadableFact};
use workshop::{Advice, Refusal, Workshop};

use crate::clock::Clock;

/// How often a wish is decided anew when others keep writing in between.
const TRIES: u32 = 8;

/// One workshop, open.
pub struct App {
    store: Arc<dyn Store>,
    clock: Arc<dyn Clock>,
    id: WorkshopId,
    state: RwLock<Folded>,
    /// Held while deciding and appending, so that this process does not race itself.
    writing: Mutex<()>,
    advice: Mutex<HashMap<MouldId, (u64, Arc<Advice>)>>,
}

/// The state and the record it has been folded up to.
struct Folded {
    workshop: Workshop,
    head: Head,
}

/// What came of a wish.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Done {
    /// The facts that were added; none when nothing had to change.
    pub facts: Vec<Fact>,
}

/// Why a journal could not be opened as a workshop.
#[derive(Debug, thiserror::Error)]
pub enum OpenError {
    /// The journal cannot be read, or is not as it was written.
    #[error("could not replay the journal")]
    Read(#[from] ReadError),
    /// A record holds a fact that this program cannot read.
    #[error("record {position} of the journal cannot be understood")]
    Fact {
        /// The record.
        position: u64,
        /// What is wrong.
        source: UnreadableFact,
    },
}

/// Why a wish came to nothing.
#[derive(Debug, thiserror::Error)]
pub enum ActError {
    /// The workshop's own rules say no; the maker can act on it.
    #[error(transparent)]
    Refused(#[from] Refusal),
    /// Others kept writing.
    #[error("others are writing at the same time; look at what changed and try again")]
    Crowded,
    /// The journal did not take it. Nothing was written down.
    #[error("it was not written down")]
    Append(#[source] AppendError),
    /// What others wrote could not be read.
    #[error("the journal could not be read")]
    Read(#[from] OpenError),
}

impl App {
    /// Opens a workshop: replays its journal and checks every link of the chain.
    ///
    /// # Errors
    ///
    /// [`OpenError`] with the place at which the journal cannot be read.
    pub fn open(
        store: Arc<dyn Store>,
        clock: Arc<dyn Clock>,
        id: WorkshopId,
    ) -> Result<Self, OpenError> {
        let mut folded = Folded {
            workshop: Workshop::default(),
            head: Head::EMPTY,
        };
        fold_on(&*store, &id, &mut folded)?;
        Ok(Self {
            store,
            clock,
            id,
            state: RwLock::new(folded),
            writing: Mutex::new(()),
            advice: Mutex::new(HashMap::new()),
        })
    }

    /// The day on the workshop's calendar.
    pub fn today(&self) -> Date {
        self.clock.today()
    }

    /// Looks at the state as it is now, with what other programs have written.
    ///
    /// # Errors
    ///
    /// [`OpenError`] when what others wrote cannot be read.
    pub fn look<T>(&self, at: impl FnOnce(&Workshop) -> T) -> Result<T, OpenError> {
        self.catch_up()?;
        Ok(at(&self
            .state
            .read()
            .unwrap_or_else(PoisonError::into_inner)
            .workshop))
    }

    /// Decides on a wish, appends what it adds and folds it in.
    ///
    /// `decide` may run more than once: whenever others wrote in between, it
    /// decides again on the new state.
    ///
    /// # Errors
    ///
    /// [`ActError`]; in every case nothing was written down.
    pub fn act(
        &self,
        who: &str,
        decide: impl Fn(&Workshop, Date) -> Result<Vec<Fact>, Refusal>,
    ) -> Result<Done, ActError> {
        self.act_on(self.clock.today(), who, decide)
    }

    /// As [`App::act`], for something that happened on another day.
    ///
    /// # Errors
    ///
    /// As [`App::act`].
    pub fn act_on(
        &self,
        day: Date,
        who: &str,
        decide: impl Fn(&Workshop, Date) -> Result<Vec<Fact>, Refusal>,
    ) -> Result<Done, ActError> {
        let _writing = self.writing.lock().unwrap_or_else(PoisonError::into_inner);
        for _ in 0..TRIES {
            let (facts, head) = {
                let folded = self.state.read().unwrap_or_else(PoisonError::into_inner);
                (decide(&folded.workshop, day)?, folded.head)
            };
            if facts.is_empty() {
                return Ok(Done { facts });
            }
            let entries: Vec<_> = facts.iter().map(|fact| entry(day, who, fact)).collect();
            match self
                .store
                .append(&self.id, head, self.clock.now(), &entries)
            {
                Ok(head) => {
                    let mut folded = self.state.write().unwrap_or_else(PoisonError::into_inner);
                    // A reader may have caught up with this very append already.
                    if folded.head.position < head.position {
                        for fact in &facts {
                            folded.workshop.apply(&Dated {
                                day,
                                fact: fact.clone(),
                            });
                        }
                        folded.head = head;
                    }
                    return Ok(Done { facts });
                }
                Err(AppendError::Stale { .. }) => self.catch_up()?,
                Err(error) => return Err(ActError::Append(error)),
            }
        }
        Err(ActError::Crowded)
    }

    /// What the pours into a mould say about the next one; learned once for
    /// each state of its pours, then kept.
    ///
    /// # Errors
    ///
    /// [`OpenError`] when what others wrote cannot be read. The inner value is
    /// none for a mould that is not there.
    pub fn advice(&self, mould: MouldId) -> Result<Option<Arc<Advice>>, OpenError> {
        let Some(history) = self.look(|workshop| workshop::history_of(workshop, mould))? else {
            return Ok(None);
        };
        let print = history.fingerprint();
        let kept = {
            let advice = self.advice.lock().unwrap_or_else(PoisonError::into_inner);
            advice
                .get(&mould)
                .filter(|(of, _)| *of == print)
                .map(|(_, advice)| Arc::clone(advice))
        };
        if kept.is_some() {
            return Ok(kept);
        }
        let learned = Arc::new(workshop::advice_for(&history));
        self.advice
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .insert(mould, (print, Arc::clone(&learned)));
        Ok(Some(learned))
    }

    /// Folds in what other programs have appended since the last look.
    fn catch_up(&self) -> Result<(), OpenError> {
        let known = self
            .state
            .read()
            .unwrap_or_else(PoisonError::into_inner)
            .head;
        let head = self.store.head(&self.id).map_err(ReadError::Store)?;
        if head.position <= known.position {
            return Ok(());
        }
        let mut folded = self.state.write().unwrap_or_else(PoisonError::into_inner);
        fold_on(&*self.store, &self.id, &mut folded)
    }
}

impl From<StoreError> for OpenError {
    fn from(error: StoreError) -> Self {
        Self::Read(ReadError::Store(error))
    }
}

fn entry(day: Date, who: &str, fact: &Fact) -> Entry {
    Entry::try_new(day, who, fact.name(), fact.version(), &fact.write())
        .expect("a fact's name and its JSON are sound, and `who` is checked at sign-in")
}

fn fold_on(store: &dyn Store, id: &WorkshopId, folded: &mut Folded) -> Result<(), OpenError> {
    let mut unreadable = None;
    let Folded { workshop, head } = folded;
    let reached = read_verified(store, id, *head, |record| {
        match Fact::read(&record.name, record.version, &record.payload) {
            Ok(fact) => {
                workshop.apply(&Dated {
                    day: record.day,
                    fact,
                });
                ControlFlow::Continue(())
            }
            Err(source) => {
                unreadable = Some(OpenError::Fact {
                    position: record.position.0,
                    source,
                });
                ControlFlow::Break(())
            }
        }
    })?;
    *head = reached;
    unreadable.map_or(Ok(()), Err)
}
