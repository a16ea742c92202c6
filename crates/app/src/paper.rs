//! The papers of a workshop: every document by name, composed from what is
//! written down.
//!
//! What the workshop knows is filled in; what was given with the request stands
//! where the paper has room for it; everything else is left as a box or a ruled
//! line. Nothing is made up. Adding a paper takes a line in [`all`].

mod bench;
mod bill;
mod recall;
mod stall;
mod trace;
mod trade;

use hazard::Language;
use jiff::civil::Date;
use measure::{Currency, DecimalMark, Money, Problem, Problems, System};
use press::paper::document::{CardSize, Draw, Maker, On};
use press::paper::{Document, Fonts, Made, PageSize, PaperError};
use workshop::facts::{BuyerId, Format, Market};
use workshop::{Pour, Product, Supply, Workshop};

use crate::forms::Filled;
use crate::people::Everyone;
use crate::{App, OpenError};

/// A paper by its name.
pub struct Paper {
    /// Its name in addresses and on the command line.
    pub name: &'static str,
    /// What it is called.
    pub title: &'static str,
    /// What it is for.
    pub purpose: &'static str,
    /// What it is about.
    pub about: About,
    /// What else may be given, each by its name.
    pub takes: &'static [Given],
    /// What has to be known before it is handed out; may be empty.
    pub caution: &'static str,
    compose: fn(&Asked) -> Result<Box<dyn Draw>, NoPaper>,
}

/// What a paper is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum About {
    /// The workshop as it is.
    Workshop,
    /// One lot.
    Lot,
    /// One good.
    Good,
    /// One good, or every good where none is named.
    Goods,
    /// One lot, or one supply with every lot that holds it.
    LotOrSupply,
    /// One order.
    Order,
    /// One invoice or credit note.
    Invoice,
}

impl About {
    /// The fields that name it.
    pub const fn fields(self) -> &'static [&'static str] {
        match self {
            Self::Workshop => &[],
            Self::Lot => &["lot"],
            Self::Good | Self::Goods => &["product"],
            Self::LotOrSupply => &["lot", "supply"],
            Self::Order => &["order"],
            Self::Invoice => &["invoice"],
        }
    }

    /// What it wants, in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Workshop => "nothing",
            Self::Lot => "a lot",
            Self::Good => "a product",
            Self::Goods => "a product, or nothing for all",
            Self::LotOrSupply => "a lot or a supply",
            Self::Order => "an order",
            Self::Invoice => "an invoice",
        }
    }
}

/// Something a paper can be told that no journal holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Given {
    /// Its field.
    pub name: &'static str,
    /// What it is, beside the box.
    pub label: &'static str,
    /// An example.
    pub hint: &'static str,
    /// Whether it is written over several lines, each counting by itself.
    pub many: bool,
}

impl Given {
    const fn line(name: &'static str, label: &'static str, hint: &'static str) -> Self {
        Self {
            name,
            label,
            hint,
            many: false,
        }
    }

    const fn lines(name: &'static str, label: &'static str, hint: &'static str) -> Self {
        Self {
            name,
            label,
            hint,
            many: true,
        }
    }
}

const SIZE: Given = Given::line("size", "Size", "a5, a6 or a7: two, four or eight to a page");
const LANGUAGE: Given = Given::line("language", "Language", "en, de, fr or es");
/// What every paper takes.
const ANY: [&str; 1] = ["page"];

/// Why there is no paper.
#[derive(Debug, thiserror::Error)]
pub enum NoPaper {
    /// What was asked for is not clear, or a text cannot be printed.
    #[error("{0}")]
    Asked(Problems),
    /// The journal could not be read.
    #[error("the journal could not be read")]
    Unread(#[from] OpenError),
}

impl From<Problems> for NoPaper {
    fn from(problems: Problems) -> Self {
        Self::Asked(problems)
    }
}

impl From<Problem> for NoPaper {
    fn from(problem: Problem) -> Self {
        Self::Asked(problem.into())
    }
}

/// Every paper, in the order of the job.
pub fn all() -> &'static [Paper] {
    &PAPERS
}

static PAPERS: [Paper; 13] = [
    Paper {
        name: "pour-sheet",
        title: "Pour sheet",
        purpose: "What do I weigh, and what came out? To write on at the bench.",
        about: About::Lot,
        takes: &[],
        caution: "",
        compose: bench::pour_sheet,
    },
    Paper {
        name: "batch-record",
        title: "Batch record",
        purpose: "What was done with this lot, by whom, and what was put right?",
        about: About::Lot,
        takes: &[],
        caution: "",
        compose: bench::batch_record,
    },
    Paper {
        name: "care-card",
        title: "Care cards",
        purpose: "How does the buyer use it safely?",
        about: About::Good,
        takes: &[
            SIZE,
            LANGUAGE,
            Given::line("market", "Sold in", "eu, gb or us"),
            Given::line(
                "apart",
                "Distance between burning candles",
                "10 cm; a candle for Europe names it",
            ),
        ],
        caution: "Where a standard fixes the words, hold the card against it before printing.",
        compose: stall::care_cards,
    },
    Paper {
        name: "price-signs",
        title: "Price signs",
        purpose: "What does it cost? To stand before the goods.",
        about: About::Goods,
        takes: &[SIZE],
        caution: "",
        compose: stall::price_signs,
    },
    Paper {
        name: "scent-list",
        title: "Scent list",
        purpose: "What is there to smell? All goods on one page, for the table.",
        about: About::Workshop,
        takes: &[],
        caution: "",
        compose: stall::scent_list,
    },
    Paper {
        name: "price-list",
        title: "Price list",
        purpose: "What do you make, and what does it cost?",
        about: About::Workshop,
        takes: &[Given::lines("note", "Remarks", "prices include tax")],
        caution: "",
        compose: stall::price_list,
    },
    Paper {
        name: "line-sheet",
        title: "Line sheet for shops",
        purpose: "What can a shop order, and on what terms?",
        about: About::Workshop,
        takes: &[
            Given::lines(
                "trade",
                "Trade prices",
                "50 %, or Harbour Fig bar = 2.60, one a line",
            ),
            Given::line("minimum", "The least you send", "12 of a kind"),
            Given::line("terms", "Delivery and payment", "two weeks, 30 days net"),
            Given::lines("note", "Remarks", "testers free with a first order"),
        ],
        caution: "",
        compose: trade::line_sheet,
    },
    Paper {
        name: "packing-slip",
        title: "Packing slip",
        purpose: "What is in the parcel, and from which lots?",
        about: About::Workshop,
        takes: &[
            Given::lines("to", "To", "name and address, line by line"),
            Given::line(
                "order",
                "Order",
                "one of yours fills in the rest; or the buyer's own number",
            ),
            Given::lines(
                "line",
                "What is in it",
                "Harbour Fig bar = 12, or a lot's code = 12, one a line",
            ),
        ],
        caution: "",
        compose: trade::packing_slip,
    },
    Paper {
        name: "invoice",
        title: "Invoice",
        purpose: "What does a buyer pay, for what, and by when?",
        about: About::Invoice,
        takes: &[Given::lines(
            "note",
            "Remarks",
            "how to pay: an account, a name",
        )],
        caution: "What has to stand on an invoice is a matter of law where you are; hold one \
                  against it before the first goes out.",
        compose: bill::invoice,
    },
    Paper {
        name: "credit-note",
        title: "Credit note",
        purpose: "What of an invoice need not be paid, and why?",
        about: About::Invoice,
        takes: &[Given::lines("note", "Remarks", "")],
        caution: "",
        compose: bill::credit_note,
    },
    Paper {
        name: "consignment-note",
        title: "Consignment note",
        purpose: "What stands at a shop that pays for what it sells, and on what terms?",
        about: About::Order,
        takes: &[
            Given::line("next-count", "Next count", "the last Friday of each month"),
            Given::lines("note", "Remarks", "damaged pieces are the shop's"),
        ],
        caution: "",
        compose: bill::consignment_note,
    },
    Paper {
        name: "trace-sheet",
        title: "Who has this lot?",
        purpose: "Which accounts have it, how many each, and what went into it? To call down.",
        about: About::LotOrSupply,
        takes: &[
            Given::line(
                "supplier-lot",
                "Supplier lot",
                "with a supply: the number on the box",
            ),
            Given::line(
                "delivery",
                "Delivery",
                "with a supply that came more than once: its number and line, 3.0",
            ),
        ],
        caution: "",
        compose: trace::trace_sheet,
    },
    Paper {
        name: "recall-notice",
        title: "Recall notice",
        purpose: "Which lots come back, why, and what does a buyer do?",
        about: About::LotOrSupply,
        takes: &[
            Given::line(
                "supplier-lot",
                "Supplier lot",
                "with a supply: only lots poured since it came",
            ),
            Given::line("reason", "What is wrong", "the wick may flare"),
            Given::line(
                "sold",
                "Where and when it was sold",
                "at Quarry Lane in May",
            ),
            Given::line("remedy", "What you offer", "your money back, or another"),
            LANGUAGE,
        ],
        caution: "The heading and what a notice holds follow Article 36 of Regulation (EU) \
                      2023/988 from memory: hold them against its text, and tell the authority, \
                      before this goes out. It may not make the danger look small.",
        compose: recall::recall_notice,
    },
];

/// The paper of that name.
pub fn find(name: &str) -> Option<&'static Paper> {
    all().iter().find(|paper| paper.name == name)
}

/// The paper of that name, or what would have been one.
///
/// # Errors
///
/// A [`Problem`] that names every paper.
pub fn named(name: &str) -> Result<&'static Paper, Problem> {
    find(name).ok_or_else(|| {
        let on_sheets = crate::proof::DOCUMENTS.iter().map(|(name, ..)| *name);
        let names: Vec<_> = all()
            .iter()
            .map(|paper| paper.name)
            .chain(on_sheets)
            .collect();
        Problem::new(
            "document",
            name,
            "there is no such document",
            format!("ask for {}", or(&names)),
        )
    })
}

impl Paper {
    /// Composes and draws it from what is written down and what was given.
    ///
    /// # Errors
    ///
    /// [`NoPaper`], in words the maker can act on: something asked for is not
    /// there, or a text holds a character that no typeface here has.
    pub fn draw(&self, app: &App, filled: &Filled) -> Result<Document, NoPaper> {
        self.refuse_strangers(filled)?;
        let today = app.today();
        let workshop = app.look(Clone::clone)?;
        let asked = Asked {
            app,
            workshop: &workshop,
            today,
            filled,
        };
        let on = asked.on()?;
        let document = (self.compose)(&asked)?.draw(&Fonts::new(), &on);
        if document.pages.len() > MOST_PAGES {
            return Err(Problem::new(
                "document",
                self.name,
                format!("it would be {} pages", document.pages.len()),
                "ask for one good or one lot",
            )
            .into());
        }
        Ok(document)
    }

    /// Refuses what this paper takes no notice of, so that nobody believes it
    /// stands on it.
    fn refuse_strangers(&self, filled: &Filled) -> Result<(), NoPaper> {
        let known = || {
            let given = self.takes.iter().map(|given| given.name);
            given.chain(self.about.fields().iter().copied()).chain(ANY)
        };
        let strangers = filled
            .pairs()
            .iter()
            .filter(|(name, text)| !text.trim().is_empty() && known().all(|field| field != name));
        let mut problems = Problems::default();
        for (name, text) in strangers {
            let names: Vec<_> = known().collect();
            problems.0.push(Problem::new(
                name,
                text,
                format!("the document {} takes no such thing", self.name),
                format!("it takes {}", or(&names)),
            ));
        }
        if problems.is_empty() {
            Ok(())
        } else {
            Err(problems.into())
        }
    }
}

/// More than anyone prints at once.
const MOST_PAGES: usize = 200;

/// Turns a drawn paper into a PDF file.
///
/// # Errors
///
/// [`NoPaper::Asked`] naming the character and the text where no typeface has
/// it.
pub fn pdf(document: &Document) -> Result<Vec<u8>, NoPaper> {
    document.pdf().map_err(|error| unprintable(&error))
}

/// Turns one page of a drawn paper, counted from one, into an SVG picture.
///
/// # Errors
///
/// As [`pdf`]; and where there is no such page.
pub fn svg(document: &Document, page: usize) -> Result<String, NoPaper> {
    let idx = page.checked_sub(1).unwrap_or(usize::MAX);
    document.svg(idx).map_err(|error| match error {
        PaperError::NoPage => Problem::new(
            "number",
            page.to_string(),
            "there is no such page",
            format!("it has {}", document.pages.len()),
        )
        .into(),
        other => unprintable(&other),
    })
}

fn unprintable(error: &PaperError) -> NoPaper {
    let (given, accepted) = match error {
        PaperError::Missing { text, .. } => (
            text.clone(),
            "take it out, or write it in letters; Latin, Greek and Cyrillic scripts can be printed",
        ),
        _ => (String::new(), "ask for less, or for another page"),
    };
    Problem::new("text", &given, error.to_string(), accepted).into()
}

/// What was asked for, beside what is known.
struct Asked<'a> {
    app: &'a App,
    workshop: &'a Workshop,
    today: Date,
    filled: &'a Filled,
}

/// Names listed where a wrong one was given.
const LISTED: usize = 8;

impl<'a> Asked<'a> {
    /// The sheet: as asked, or the one that lies in the printer where the
    /// workshop is.
    fn on(&self) -> Result<On, Problem> {
        let usual = match self.workshop.system() {
            System::Us => PageSize::Letter,
            System::Metric | System::Imperial => PageSize::A4,
        };
        let size = match self.filled.get("page").to_lowercase().as_str() {
            "" => usual,
            "a4" => PageSize::A4,
            "letter" => PageSize::Letter,
            other => {
                return Err(Problem::new(
                    "page",
                    other,
                    "there is no such page size",
                    "ask for a4 or letter",
                ));
            }
        };
        Ok(On {
            size,
            made: made(self.today),
            day: long_day(self.today),
            from: self.maker().name,
        })
    }

    /// The maker as papers name them: the details settled for that, else those
    /// of the labels, else the workshop's name alone.
    fn maker(&self) -> Maker {
        let labels = self.workshop.label_settings();
        let phone = labels.map_or("", |settings| settings.phone.as_str());
        let mut maker = match (self.workshop.maker(), labels) {
            (Some(details), _) => Maker {
                name: details.name.clone(),
                lines: details.lines.clone(),
                contacts: vec![phone.to_owned(), details.contact.clone()],
            },
            (None, Some(settings)) => Maker {
                name: settings.name.clone(),
                lines: settings.address.lines().map(str::to_owned).collect(),
                contacts: vec![phone.to_owned()],
            },
            (None, None) => Maker::default(),
        };
        if maker.name.trim().is_empty() {
            let settings = self.workshop.settings();
            maker.name = settings.map_or_else(String::new, |settings| settings.name.clone());
        }
        for of in [&mut maker.lines, &mut maker.contacts] {
            of.retain(|line| !line.trim().is_empty());
        }
        maker
    }

    /// A buyer as a parcel names it: its name and address, or what it is called
    /// where these are not known.
    fn to(&self, buyer: BuyerId) -> Result<Vec<String>, OpenError> {
        Ok(match self.app.person(buyer)? {
            Some(person) => person.lines(),
            None => vec![Everyone::default().name(self.workshop, buyer)],
        })
    }

    fn lot(&self) -> Result<&'a Pour, Problem> {
        self.lot_called("lot", self.filled.get("lot"))
    }

    fn lot_called(&self, field: &str, text: &str) -> Result<&'a Pour, Problem> {
        let found = self
            .workshop
            .pours()
            .find(|pour| pour.lot == text)
            .or_else(|| self.workshop.pour(text.parse().ok()?));
        found.ok_or_else(|| {
            let latest: Vec<_> = self
                .workshop
                .pours()
                .rev()
                .take(LISTED)
                .map(|pour| pour.lot.as_str())
                .collect();
            let accepted = if latest.is_empty() {
                "nothing was poured yet; start a pour first".to_owned()
            } else {
                format!("the latest are {}", and(&latest))
            };
            Problem::new(field, text, missing_or_unknown(text, "lot"), accepted)
        })
    }

    fn good(&self) -> Result<&'a Product, Problem> {
        self.good_called("product", self.filled.get("product"))
    }

    /// A good by its number, or by its name, letter case apart.
    fn good_called(&self, field: &str, text: &str) -> Result<&'a Product, Problem> {
        if let Some(good) = text.parse().ok().and_then(|id| self.workshop.product(id)) {
            return Ok(good);
        }
        let goods = self.workshop.products();
        let known: Vec<_> = goods.map(|good| (good.id.0, good.name.as_str())).collect();
        let id = one_called(&known, field, text, "good", "add something you sell first")?;
        let good = self.workshop.product(workshop::facts::ProductId(id));
        good.ok_or_else(|| Problem::new(field, text, "there is no such good", ""))
    }

    /// The good that was asked for, or every good.
    fn goods(&self) -> Result<Vec<&'a Product>, Problem> {
        Ok(match self.filled.some("product") {
            Some(_) => vec![self.good()?],
            None => self.workshop.products().collect(),
        })
    }

    fn supply(&self) -> Result<&'a Supply, Problem> {
        let text = self.filled.get("supply");
        if let Some(supply) = text.parse().ok().and_then(|id| self.workshop.supply(id)) {
            return Ok(supply);
        }
        let supplies = self.workshop.supplies();
        let known: Vec<_> = supplies
            .map(|supply| (supply.id.0, supply.name.as_str()))
            .collect();
        let id = one_called(&known, "supply", text, "supply", "enter one first")?;
        let supply = self.workshop.supply(workshop::facts::SupplyId(id));
        supply.ok_or_else(|| Problem::new("supply", text, "there is no such supply", ""))
    }

    fn card_size(&self) -> Result<CardSize, Problem> {
        Ok(match self.filled.get("size").to_lowercase().as_str() {
            "a5" => CardSize::A5,
            "" | "a6" => CardSize::A6,
            "a7" => CardSize::A7,
            other => {
                return Err(Problem::new(
                    "size",
                    other,
                    "there is no such size",
                    "ask for a5, a6 or a7: two, four or eight to a page",
                ));
            }
        })
    }

    /// The languages of the workshop's labels, or the one asked for.
    fn languages(&self) -> Result<Vec<Language>, Problem> {
        let text = self.filled.get("language").to_lowercase();
        if text.is_empty() {
            let settled = self.workshop.label_settings();
            let mut languages = settled.map_or_else(Vec::new, |s| s.languages.clone());
            languages.dedup();
            if languages.is_empty() {
                languages.push(Language::En);
            }
            return Ok(languages);
        }
        let codes = Language::ALL.map(Language::code);
        let language = Language::of_code(&text).ok_or_else(|| {
            Problem::new(
                "language",
                &text,
                "these papers have no words for it",
                format!("ask for {}", or(&codes)),
            )
        })?;
        Ok(vec![language])
    }

    /// Where the good is sold, as far as cautions differ: as given, or the first
    /// market of the workshop's labels.
    fn market(&self) -> Result<label::caution::Market, Problem> {
        use label::caution::Market as Of;
        match self.filled.get("market").to_lowercase().as_str() {
            "" => {}
            "eu" => return Ok(Of::EuropeanUnion),
            "gb" => return Ok(Of::GreatBritain),
            "us" => return Ok(Of::UnitedStates),
            other => {
                return Err(Problem::new(
                    "market",
                    other,
                    "the cautions of no such market are known here",
                    "ask for eu, gb or us",
                ));
            }
        }
        let settled = self.workshop.label_settings();
        Ok(
            match settled.and_then(|settings| settings.markets.first()) {
                Some(Market::Eu) => Of::EuropeanUnion,
                Some(Market::Gb) => Of::GreatBritain,
                Some(Market::Us) => Of::UnitedStates,
                // Nobody said: where the workshop's own units are at home.
                None => match self.workshop.system() {
                    System::Us => Of::UnitedStates,
                    System::Imperial => Of::GreatBritain,
                    System::Metric => Of::EuropeanUnion,
                },
            },
        )
    }

    /// Every text given for a field, each of its lines by itself.
    fn lines(&self, field: &str) -> Vec<&'a str> {
        let pairs = self.filled.pairs().iter();
        pairs
            .filter(|(name, _)| name == field)
            .flat_map(|(_, text)| text.lines())
            .map(str::trim)
            .filter(|line| !line.is_empty())
            .collect()
    }

    /// What a good's label says it weighs, under whatever rules.
    fn declared(&self, good: &Product) -> String {
        let mut texts: Vec<String> = Vec::new();
        for weight in self.workshop.declared_weights(good.id) {
            let text = weight.declared.to_string();
            if !texts.contains(&text) {
                texts.push(text);
            }
        }
        texts.join(" · ")
    }

    fn format(&self, good: &Product) -> Option<Format> {
        self.workshop.mould(good.mould).map(|mould| mould.format)
    }

    fn format_word(&self, good: &Product) -> String {
        let word = self.format(good).map_or("", Format::word);
        word.to_owned()
    }

    /// An amount as it stands on a sign: `$6.50`, `6,50 €`.
    fn price(&self, money: Money) -> String {
        price_of(money, self.workshop.reading().decimal_mark)
    }
}

/// The one thing called so, letter case apart.
fn one_called(
    known: &[(u32, &str)],
    field: &str,
    text: &str,
    what: &str,
    when_none: &str,
) -> Result<u32, Problem> {
    let wanted = text.trim().to_lowercase();
    let called: Vec<_> = known
        .iter()
        .filter(|(_, name)| !wanted.is_empty() && name.to_lowercase() == wanted)
        .collect();
    if let [(id, _)] = called.as_slice() {
        return Ok(*id);
    }
    if called.len() > 1 {
        let numbers: Vec<_> = called.iter().map(|(id, _)| id.to_string()).collect();
        return Err(Problem::new(
            field,
            text,
            "more than one is called so",
            format!("name it by its number: {}", or(&numbers)),
        ));
    }
    // Names that hold what was typed come first: they are what was meant.
    let mut names: Vec<&str> = known.iter().map(|(_, name)| *name).collect();
    names.sort_by_key(|name| {
        let name = name.to_lowercase();
        wanted.is_empty() || !wanted.split_whitespace().any(|word| name.contains(word))
    });
    let more = names.len().saturating_sub(LISTED);
    names.truncate(LISTED);
    let accepted = match (names.is_empty(), more) {
        (true, _) => when_none.to_owned(),
        (false, 0) => format!("there are {}", and(&names)),
        (false, more) => format!("there are {}, and {more} more", names.join(", ")),
    };
    Err(Problem::new(
        field,
        text,
        missing_or_unknown(text, what),
        accepted,
    ))
}

fn missing_or_unknown(text: &str, what: &str) -> String {
    if text.trim().is_empty() {
        format!("which {what} is missing")
    } else {
        format!("there is no such {what}")
    }
}

/// An amount as signs and lists write it, in the marks of the workshop.
fn price_of(money: Money, mark: DecimalMark) -> String {
    if money.minor() < 0 {
        // The minus stands before the sign: -$6.50.
        let minor = money.minor().saturating_neg();
        return format!(
            "-{}",
            price_of(Money::from_minor(minor, money.currency()), mark)
        );
    }
    let major = money.major().to_string();
    let major = match mark {
        DecimalMark::Point => major,
        DecimalMark::Comma => major.replace('.', ","),
    };
    match money.currency() {
        Currency::USD => format!("${major}"),
        Currency::GBP => format!("£{major}"),
        Currency::EUR if mark == DecimalMark::Comma => format!("{major}\u{a0}€"),
        Currency::EUR => format!("€{major}"),
        other => format!("{major}\u{a0}{}", other.code()),
    }
}

fn made(day: Date) -> Made {
    Made {
        year: u16::try_from(day.year()).unwrap_or(0),
        month: u8::try_from(day.month()).unwrap_or(1),
        day: u8::try_from(day.day()).unwrap_or(1),
    }
}

fn long_day(day: Date) -> String {
    day.strftime("%-d %B %Y").to_string()
}

/// What was poured: the good it becomes, or the formula and its mould.
pub(crate) fn what_of(workshop: &Workshop, pour: &Pour) -> String {
    if let Some(product) = pour.product.and_then(|product| workshop.product(product)) {
        return product.name.clone();
    }
    let formula = workshop.formula(pour.formula);
    let formula = formula.map_or("a formula that is gone", |formula| formula.name.as_str());
    match pour.mould.and_then(|mould| workshop.mould(mould)) {
        Some(mould) => format!("{formula} in {}", mould.name),
        None => formula.to_owned(),
    }
}

fn and(names: &[impl AsRef<str>]) -> String {
    joined(names, "and")
}

fn or(names: &[impl AsRef<str>]) -> String {
    joined(names, "or")
}

fn joined(names: &[impl AsRef<str>], word: &str) -> String {
    let names: Vec<&str> = names.iter().map(AsRef::as_ref).collect();
    match names.as_slice() {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [before @ .., last] => format!("{} {word} {last}", before.join(", ")),
    }
}
