//! A workshop held in memory, and the way from a wish to a kept fact.

use std::collections::{HashMap, VecDeque};
use std::ops::ControlFlow;
use std::sync::{Arc, Mutex, PoisonError, RwLock};

use demand::{DemandAtPriceInput, DemandAtPriceOutput};
use jiff::Timestamp;
use jiff::civil::Date;
use journal::{
    AppendError, ChainError, Entry, EntryError, Hash, Head, PeopleError, ReadError, Store,
    StoreError, WorkshopId, read_verified,
};
use measure::Problems;
use workshop::books::Books;
use workshop::facts::{Dated, Fact, MouldId, UnreadableFact};
use workshop::{Advice, Refusal, Workshop};

use crate::clock::Clock;
use crate::forms::in_own_marks;

/// How often a wish is decided anew when others keep writing in between.
const TRIES: u32 = 8;
/// How much of the first record's hash tells one journal from another.
const MARK_DIGITS: usize = 12;
/// Answers about prices that are kept.
const KEPT_DEMAND: usize = 24;

/// One workshop, open.
pub struct App {
    pub(crate) store: Arc<dyn Store>,
    clock: Arc<dyn Clock>,
    pub(crate) id: WorkshopId,
    state: RwLock<Folded>,
    /// Held while deciding and appending, so that this process does not race itself.
    writing: Mutex<()>,
    advice: Mutex<HashMap<MouldId, (u64, Arc<Advice>)>>,
    books: Mutex<Option<(Head, Arc<Books>)>>,
    demand: Mutex<VecDeque<(DemandAtPriceInput, Arc<DemandAtPriceOutput>)>>,
}

/// The state and the record it has been folded up to: the head moves with each
/// record, so that a fold that ends early goes on where it ended.
#[derive(Default)]
struct Folded {
    workshop: Workshop,
    head: Head,
    /// The first record, which tells this journal from every other.
    first: Option<Hash>,
}

/// One fact as it stands in the journal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    /// The day it concerns.
    pub day: Date,
    /// When it was written down.
    pub at: Timestamp,
    /// Who wrote it.
    pub who: String,
    /// What happened.
    pub fact: Fact,
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
    /// It cannot stand in a journal: it is too long, or `who` is not a name.
    #[error("it cannot be written down")]
    Unfit(#[from] EntryError),
    /// The journal did not take it. Nothing was written down.
    #[error("it was not written down")]
    Append(#[source] AppendError),
    /// What others wrote could not be read.
    #[error("the journal could not be read")]
    Read(#[from] OpenError),
    /// Who someone is could not be written down or erased. What is agreed with
    /// them may be written down all the same.
    #[error("who it is was not written down")]
    People(#[from] PeopleError),
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
        let mut folded = Folded::default();
        fold_on(&*store, &id, &mut folded)?;
        let app = Self {
            store,
            clock,
            id,
            state: RwLock::new(folded),
            writing: Mutex::new(()),
            advice: Mutex::new(HashMap::new()),
            books: Mutex::new(None),
            demand: Mutex::new(VecDeque::new()),
        };
        app.finish_forgetting()?;
        Ok(app)
    }

    /// The day on the workshop's calendar.
    pub fn today(&self) -> Date {
        self.clock.today()
    }

    /// The instant.
    pub fn now(&self) -> Timestamp {
        self.clock.now()
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

    /// A short text that tells this journal from every other: the beginning of
    /// its first record's hash. Empty as long as nothing is written down.
    ///
    /// # Errors
    ///
    /// [`OpenError`] when what others wrote cannot be read.
    pub fn mark(&self) -> Result<String, OpenError> {
        self.catch_up()?;
        let folded = self.state.read().unwrap_or_else(PoisonError::into_inner);
        let digits = folded.first.map(|hash| hash.to_string());
        Ok(digits.map_or_else(String::new, |digits| {
            digits.chars().take(MARK_DIGITS).collect()
        }))
    }

    /// Reads the whole journal once more, and returns the facts that are
    /// `wanted`, oldest first, each with its day and who wrote it: the state
    /// keeps how things stand, the journal how they came to.
    ///
    /// # Errors
    ///
    /// [`OpenError`] when the journal cannot be read.
    pub fn written(&self, wanted: impl Fn(&Fact) -> bool) -> Result<Vec<Written>, OpenError> {
        let mut found = Vec::new();
        let mut unreadable = None;
        read_verified(
            &*self.store,
            &self.id,
            Head::EMPTY,
            |record| match Fact::read(&record.name, record.version, &record.payload) {
                Ok(fact) => {
                    if wanted(&fact) {
                        found.push(Written {
                            day: record.day,
                            at: record.recorded,
                            who: record.who.to_string(),
                            fact,
                        });
                    }
                    ControlFlow::Continue(())
                }
                Err(source) => {
                    unreadable = Some(OpenError::Fact {
                        position: record.position.0,
                        source,
                    });
                    ControlFlow::Break(())
                }
            },
        )?;
        unreadable.map_or(Ok(found), Err)
    }

    /// Decides on a wish, appends what it adds and folds it in.
    ///
    /// `decide` may run more than once: it decides on what is written down by
    /// everyone, and decides again when others wrote in between. A refusal
    /// stands only when nothing was.
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
        self.act_dated(who, |workshop| {
            let facts = decide(workshop, day)?;
            Ok(facts.into_iter().map(|fact| Dated { day, fact }).collect())
        })
    }

    /// As [`App::act`], for what happened on several days. All of it is
    /// appended at once: a program that ends in between has written all of it
    /// or nothing.
    ///
    /// # Errors
    ///
    /// As [`App::act`].
    pub fn act_dated(
        &self,
        who: &str,
        decide: impl Fn(&Workshop) -> Result<Vec<Dated>, Refusal>,
    ) -> Result<Done, ActError> {
        let _writing = self.writing.lock().unwrap_or_else(PoisonError::into_inner);
        // Decided on what is known here: whether others wrote, the append finds
        // out anyway, and a refusal looks before it stands.
        for _ in 0..TRIES {
            let (decided, head) = {
                let folded = self.state.read().unwrap_or_else(PoisonError::into_inner);
                (decide(&folded.workshop), folded.head)
            };
            let facts = match decided {
                Ok(facts) if !facts.is_empty() => facts,
                nothing_to_add => {
                    if self.catch_up()? {
                        continue;
                    }
                    return match nothing_to_add {
                        Ok(_) => Ok(Done { facts: Vec::new() }),
                        Err(Refusal::Input(problems)) => {
                            let folded = self.state.read().unwrap_or_else(PoisonError::into_inner);
                            let problems = in_own_marks(&folded.workshop, problems);
                            Err(Refusal::Input(problems).into())
                        }
                        Err(other) => Err(other.into()),
                    };
                }
            };
            let entries = facts
                .iter()
                .map(|dated| entry(dated.day, who, &dated.fact))
                .collect::<Result<Vec<_>, _>>()?;
            match self
                .store
                .append(&self.id, head, self.clock.now(), &entries)
            {
                Ok(reached) => {
                    self.fold_in(&facts, head, reached);
                    let facts = facts.into_iter().map(|dated| dated.fact).collect();
                    return Ok(Done { facts });
                }
                Err(AppendError::Stale { .. }) => {
                    self.catch_up()?;
                }
                Err(error) => return Err(ActError::Append(error)),
            }
        }
        Err(ActError::Crowded)
    }

    /// Folds in what was just appended after `before`, unless a reader has
    /// caught up with it already.
    fn fold_in(&self, facts: &[Dated], before: Head, reached: Head) {
        let mut folded = self.state.write().unwrap_or_else(PoisonError::into_inner);
        // The first record's hash is not known here; the next look reads it.
        if folded.head != before || before == Head::EMPTY {
            return;
        }
        for dated in facts {
            folded.workshop.apply(dated);
        }
        folded.head = reached;
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

    /// The books as they stand, reckoned once for each state of the journal,
    /// then kept; none in a workshop without a currency.
    ///
    /// # Errors
    ///
    /// [`OpenError`] when what others wrote cannot be read.
    pub fn books(&self) -> Result<Option<Arc<Books>>, OpenError> {
        self.catch_up()?;
        let folded = self.state.read().unwrap_or_else(PoisonError::into_inner);
        let mut kept = self.books.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((head, books)) = kept.as_ref()
            && *head == folded.head
        {
            return Ok(Some(Arc::clone(books)));
        }
        let books = Books::of(&folded.workshop).map(Arc::new);
        *kept = books.as_ref().map(|books| (folded.head, Arc::clone(books)));
        Ok(books)
    }

    /// How much sells at which price, learned once for the same sales and the
    /// same question, then kept.
    ///
    /// # Errors
    ///
    /// Every problem of the input together.
    pub fn demand_at_price(
        &self,
        input: &DemandAtPriceInput,
    ) -> Result<Arc<DemandAtPriceOutput>, Problems> {
        let kept = || self.demand.lock().unwrap_or_else(PoisonError::into_inner);
        let known = kept()
            .iter()
            .find(|(known, _)| known == input)
            .map(|(_, answer)| Arc::clone(answer));
        if let Some(known) = known {
            return Ok(known);
        }
        let learned = Arc::new(demand::demand_at_price(input)?);
        let mut kept = kept();
        kept.push_front((input.clone(), Arc::clone(&learned)));
        kept.truncate(KEPT_DEMAND);
        Ok(learned)
    }

    /// Folds in what other programs have appended since the last look, and says
    /// whether that was anything.
    ///
    /// A journal that does not go on from what was folded, because it was put
    /// back from a copy, is folded anew from its first record.
    fn catch_up(&self) -> Result<bool, OpenError> {
        let known = self
            .state
            .read()
            .unwrap_or_else(PoisonError::into_inner)
            .head;
        let head = self.store.head(&self.id).map_err(ReadError::Store)?;
        if head == known {
            return Ok(false);
        }
        let mut folded = self.state.write().unwrap_or_else(PoisonError::into_inner);
        if head.position > known.position {
            let next = folded.head.position.next();
            match fold_on(&*self.store, &self.id, &mut folded) {
                // The next record was written after another one than the last we know.
                Err(OpenError::Read(ReadError::Chain(ChainError::Previous { position })))
                    if position == next => {}
                folding => return folding.map(|()| true),
            }
        }
        let mut anew = Folded::default();
        fold_on(&*self.store, &self.id, &mut anew)?;
        *folded = anew;
        Ok(true)
    }
}

impl From<StoreError> for OpenError {
    fn from(error: StoreError) -> Self {
        Self::Read(ReadError::Store(error))
    }
}

/// The entry of a fact. One that could not be read again is refused: a journal
/// with it in would never open again.
fn entry(day: Date, who: &str, fact: &Fact) -> Result<Entry, EntryError> {
    let payload = fact.write();
    match Fact::read(fact.name(), fact.version(), &payload) {
        Ok(again) if again == *fact => {}
        Ok(_) => return Err(EntryError::Unreadable(payload)),
        Err(error) => return Err(EntryError::Unreadable(error.to_string())),
    }
    Entry::try_new(day, who, fact.name(), fact.version(), &payload)
}

fn fold_on(store: &dyn Store, id: &WorkshopId, folded: &mut Folded) -> Result<(), OpenError> {
    let mut unreadable = None;
    read_verified(store, id, folded.head, |record| {
        match Fact::read(&record.name, record.version, &record.payload) {
            Ok(fact) => {
                folded.workshop.apply(&Dated {
                    day: record.day,
                    fact,
                });
                folded.head = record.head();
                folded.first.get_or_insert(record.hash);
                ControlFlow::Continue(())
            }
            // The head stays before it, so that every later look stops here too.
            Err(source) => {
                unreadable = Some(OpenError::Fact {
                    position: record.position.0,
                    source,
                });
                ControlFlow::Break(())
            }
        }
    })?;
    unreadable.map_or(Ok(()), Err)
}
