//! What stands on the label of a good, composed from what is written down:
//! nothing is made up, and what is missing is named.

use hazard::label::Elements;
use jiff::civil::Date;
use label::caution::{self, Cautions, Kind};
use label::gtin::{self, Gtin};
use label::wording::{
    Care, Due, Hazard, HazardSizes, HazardText, HeightRule, Language, NetWeight, Placement, Reach,
    Role, Said, Wording,
};
use measure::{Decimal, LengthUnit, Mass, Typed};
use netweight::Rule;
use netweight::panel::{self, Panel};
use workshop::facts::{DestinationId, HOME, LabelSettings, Market, PourId, ProductId};
use workshop::label::{LabelCase, LabelState, label_case_for};
use workshop::{LotVerdict, Workshop, weighed_lots, weights_of_lot};

use crate::weights;

/// Whose label, for where, and what no journal holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// The good.
    pub product: ProductId,
    /// Where it goes.
    pub destination: DestinationId,
    /// The lot whose code it carries.
    pub lot: Option<PourId>,
    /// The distance to keep between burning candles, cm.
    pub apart_cm: Option<u16>,
    /// Whether the mark ℮ is to stand beside the net weight.
    pub e_mark: bool,
    /// What a square code holds; empty takes what the destination says.
    pub link: String,
}

/// Where to put right what is missing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PutRight {
    /// With the maker's details and label settings.
    Settings,
    /// With the destination.
    Destination(DestinationId),
    /// With the declared weight, by whose rules where that is known.
    Weight(Option<Rule>),
    /// With the good's own details.
    Good,
    /// With the good's shape.
    Shape,
    /// With the warning label.
    Label,
    /// Where the label is asked for.
    Here,
}

/// Something that belongs on the label and is not known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gap {
    /// What is missing, with what follows from it.
    pub what: String,
    /// Where to put it right.
    pub at: PutRight,
    /// Whether the label is not to be used without it.
    pub stops: bool,
}

impl Gap {
    fn stops(what: impl Into<String>, at: PutRight) -> Self {
        Self {
            what: what.into(),
            at,
            stops: true,
        }
    }

    fn notes(what: impl Into<String>, at: PutRight) -> Self {
        Self {
            stops: false,
            ..Self::stops(what, at)
        }
    }
}

/// A label's wording with what is known of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Composed {
    /// What stands on it.
    pub wording: Wording,
    /// What does not, and should.
    pub gaps: Vec<Gap>,
    /// How its warning label stands.
    pub state: LabelState,
    /// How many times that was marked ready for there.
    pub version: u32,
    /// The day it last was.
    pub since: Option<Date>,
}

/// Composes a label as it has to be on `day`; none for a good or a destination
/// that is not there. `panel` is what a buyer sees of the unit.
pub fn compose(workshop: &Workshop, asked: &Asked, panel: Panel, day: Date) -> Option<Composed> {
    let case = label_case_for(workshop, asked.product, asked.destination, day)?;
    let settings = workshop.settings_for(asked.destination);
    let mut made = Making {
        workshop,
        asked,
        settings,
        day,
        gaps: Vec::new(),
        wording: Wording {
            languages: languages_of(settings),
            name: case.product.name.clone(),
            ..Wording::default()
        },
    };
    made.identity(&case);
    made.maker();
    made.net_weight(panel);
    made.lot();
    made.cautions(&case);
    made.hazard(&case);
    made.codes();
    made.number();
    made.dues(&case);
    let Making {
        mut gaps, wording, ..
    } = made;
    for due in wording.missing() {
        // Named already: then it only has to stop the label too.
        let named = gaps
            .iter_mut()
            .find(|gap| gap.what.contains(due.role.name()));
        if let Some(gap) = named {
            gap.stops = true;
        } else {
            let at = place_of(due.role, asked.destination);
            gaps.push(Gap::stops(format!("{} is missing", due.role), at));
        }
    }
    Some(Composed {
        wording,
        gaps,
        state: case.state(),
        version: workshop.label_version(asked.product, asked.destination),
        since: case.label.map(|label| label.day),
    })
}

const fn place_of(role: Role, destination: DestinationId) -> PutRight {
    match role {
        Role::NetWeight => PutRight::Weight(None),
        Role::Lot => PutRight::Here,
        Role::Hazard | Role::FormulaIdentifier => PutRight::Label,
        _ if destination.0 == HOME.0 => PutRight::Settings,
        _ => PutRight::Destination(destination),
    }
}

fn languages_of(settings: Option<&LabelSettings>) -> Vec<Language> {
    let chosen = settings.map_or(&[][..], |settings| settings.languages.as_slice());
    let known: Vec<_> = chosen.iter().filter_map(|one| language(*one)).collect();
    if known.is_empty() {
        vec![Language::En]
    } else {
        known
    }
}

fn language(of: hazard::Language) -> Option<Language> {
    Language::parse(of.code())
}

/// What a melt and a candle are called, scented and not, in the order of the
/// languages.
const IDENTITIES: [[&str; 4]; 4] = [
    [
        "Wax melt",
        "Schmelzwachs",
        "Fondant de cire",
        "Cera para derretir",
    ],
    [
        "Scented wax melt",
        "Duftwachs",
        "Fondant parfumé",
        "Cera aromática",
    ],
    ["Candle", "Kerze", "Bougie", "Vela"],
    [
        "Scented candle",
        "Duftkerze",
        "Bougie parfumée",
        "Vela aromática",
    ],
];

struct Making<'a> {
    workshop: &'a Workshop,
    asked: &'a Asked,
    settings: Option<&'a LabelSettings>,
    day: Date,
    gaps: Vec<Gap>,
    wording: Wording,
}

impl Making<'_> {
    fn markets(&self) -> &[Market] {
        self.settings
            .map_or(&[][..], |settings| settings.markets.as_slice())
    }

    fn sells_to(&self, market: Market) -> bool {
        self.markets().contains(&market)
    }

    fn identity(&mut self, case: &LabelCase<'_>) {
        let mould = self.workshop.mould(case.product.mould);
        let has_wick = mould.is_some_and(|mould| mould.format.has_wick());
        let formula = self.workshop.formula(case.product.formula);
        let is_scented = formula.is_some_and(|formula| formula.current().oil.is_some());
        let row = usize::from(has_wick) * 2 + usize::from(is_scented);
        let texts = IDENTITIES.get(row).copied().unwrap_or_default();
        self.wording.identity = self
            .wording
            .languages
            .iter()
            .map(|one| Said {
                language: *one,
                text: Language::ALL
                    .iter()
                    .position(|known| known == one)
                    .and_then(|nth| texts.get(nth))
                    .map_or_else(String::new, |text| (*text).to_owned()),
            })
            .collect();
    }

    fn maker(&mut self) {
        let maker = self.workshop.maker();
        let own = self.settings.filter(|own| !own.name.trim().is_empty());
        // What a destination names goes before what the workshop uses elsewhere.
        let by_destination = own.filter(|_| self.asked.destination != HOME || maker.is_none());
        let wording = &mut self.wording;
        if let Some(own) = by_destination {
            wording.maker.clone_from(&own.name);
            wording.address.extend(lines_of(&own.address));
        } else if let Some(maker) = maker {
            wording.maker.clone_from(&maker.name);
            wording.address.clone_from(&maker.lines);
            if !maker.country.is_empty() {
                wording.address.push(maker.country.clone());
            }
        } else if let Some(settings) = self.workshop.settings() {
            wording.maker.clone_from(&settings.name);
        }
        let contact = maker.map(|maker| maker.contact.clone());
        let phone = self.settings.map(|own| own.phone.clone());
        let contacts = contact.into_iter().chain(phone);
        wording
            .contact
            .extend(contacts.filter(|text| !text.trim().is_empty()));
        if let Some(details) = self.workshop.destination(self.asked.destination) {
            for line in [&details.responsible, &details.emergency] {
                if !line.is_empty() {
                    wording.address.push(line.clone());
                }
            }
            wording.address.extend(details.marks.iter().cloned());
        }
        if wording.address.is_empty() {
            self.gaps.push(Gap::stops(
                "the address is not written down",
                PutRight::Settings,
            ));
        }
        if self.settings.is_none() {
            self.gaps.push(Gap::stops(
                "nobody has said where the goods are sold, so nothing is due by any market",
                PutRight::Settings,
            ));
        }
    }

    fn net_weight(&mut self, panel: Panel) {
        let mut rules = Vec::new();
        if self.sells_to(Market::Us) {
            rules.push(Rule::Us);
        }
        if self.sells_to(Market::Eu) {
            rules.push(Rule::Eu);
        }
        if self.sells_to(Market::Gb) {
            let every = self
                .workshop
                .declared_weight(self.asked.product, Rule::UkEvery);
            rules.push(if every.is_some() {
                Rule::UkEvery
            } else {
                Rule::Uk
            });
        }
        let mut net: Option<NetWeight> = None;
        let mut grams: Option<(Rule, String)> = None;
        for rule in rules {
            let Some(weight) = self.workshop.declared_weight(self.asked.product, rule) else {
                let what = format!("the net weight is not declared by {}", whose(rule));
                self.gaps
                    .push(Gap::stops(what, PutRight::Weight(Some(rule))));
                continue;
            };
            let statement = match netweight::statement::of(rule, &weight.declared) {
                Ok(statement) => statement,
                Err(error) => {
                    let what = format!("the net weight cannot be printed: {error}");
                    self.gaps
                        .push(Gap::stops(what, PutRight::Weight(Some(rule))));
                    continue;
                }
            };
            if !weight.reason.is_empty() {
                let what = format!(
                    "the net weight declared, {}, is more than any unit weighed; kept because: {}",
                    weight.declared, weight.reason
                );
                self.gaps
                    .push(Gap::stops(what, PutRight::Weight(Some(rule))));
            }
            self.hold_against_units(rule, &weight.declared);
            let metric = metric_of(&statement.text);
            if let Some((first, known)) = &grams {
                if *known != metric {
                    let what = format!(
                        "the net weight is {known} by {} and {metric} by {}; one label prints one \
                         weight: declare the same, or make a destination of its own",
                        whose(*first),
                        whose(rule)
                    );
                    self.gaps
                        .push(Gap::stops(what, PutRight::Weight(Some(rule))));
                }
            } else {
                grams = Some((rule, metric));
            }
            let found = net.get_or_insert_with(|| NetWeight {
                text: statement.text.clone(),
                heights: Vec::new(),
                placement: None,
                e_mark_mm: None,
            });
            heights(found, rule, panel, weight.declared.value());
            // It vouches for the average system, so only its rules carry it.
            if self.asked.e_mark
                && matches!(rule, Rule::Eu | Rule::Uk)
                && let Some(mark) = panel::e_mark(weight.declared.value())
            {
                found.e_mark_mm = Some(mark.least_height.to_f64(LengthUnit::Millimetre));
            }
        }
        let marked = net.as_ref().is_some_and(|net| net.e_mark_mm.is_some());
        if self.asked.e_mark && !marked {
            let what = "the mark ℮ is not set: it vouches for the average system, which is \
                        declared neither for the European Union nor for Great Britain here, or \
                        the weight is outside 5 g to 10 kg";
            self.gaps.push(Gap::notes(what, PutRight::Weight(None)));
        }
        self.wording.net_weight = net;
        if self.markets().is_empty() {
            let any = self.workshop.declared_weights(self.asked.product).next();
            self.wording.net_weight = any.and_then(|weight| {
                let statement = netweight::statement::of(weight.rule, &weight.declared).ok()?;
                let mut net = NetWeight {
                    text: statement.text,
                    heights: Vec::new(),
                    placement: None,
                    e_mark_mm: None,
                };
                heights(&mut net, weight.rule, panel, weight.declared.value());
                Some(net)
            });
        }
    }

    /// Holds a declared weight against the units of the label's own lot, or of
    /// the latest lot that was weighed.
    fn hold_against_units(&mut self, rule: Rule, declared: &Typed<Mass>) {
        let own = self.asked.lot.and_then(|lot| self.workshop.pour(lot));
        let latest = || {
            weighed_lots(self.workshop, self.asked.product)
                .into_iter()
                .next()
        };
        let weighed = own
            .and_then(|pour| weights_of_lot(self.workshop, pour))
            .or_else(latest);
        let Some(lot) = weighed else {
            let what = "no unit was weighed, so nobody knows whether the net weight is true";
            self.gaps
                .push(Gap::notes(what, PutRight::Weight(Some(rule))));
            return;
        };
        match weights::holds(self.workshop, &lot, rule, declared, self.day) {
            Ok(found) if found.pass => {}
            Ok(found) => {
                let why = found.reason.first().map_or("", String::as_str);
                let what = format!(
                    "the net weight declared, {declared}, does not hold for lot {} by {}: {why}",
                    lot.pour.lot,
                    whose(rule)
                );
                self.gaps
                    .push(Gap::stops(what, PutRight::Weight(Some(rule))));
            }
            Err(problems) => {
                let why = problems
                    .iter()
                    .next()
                    .map_or("", |problem| problem.wrong.as_str());
                let what = format!("the net weight could not be held against the units: {why}");
                self.gaps
                    .push(Gap::notes(what, PutRight::Weight(Some(rule))));
            }
        }
    }

    fn lot(&mut self) {
        let pour = self.asked.lot.and_then(|lot| self.workshop.pour(lot));
        let Some(pour) = pour else {
            let what =
                "no lot is chosen, so the lot code and the day its scent keeps to are not on it";
            self.gaps.push(Gap::notes(what, PutRight::Here));
            return;
        };
        self.wording.lot = Some(pour.lot.clone());
        match self.workshop.verdict(pour, self.day) {
            None => {
                let what = format!("lot {} is not finished yet", pour.lot);
                self.gaps.push(Gap::notes(what, PutRight::Here));
            }
            Some(LotVerdict::Hold(why)) => {
                let what = format!("lot {} is held: {why}", pour.lot);
                self.gaps.push(Gap::stops(what, PutRight::Here));
            }
            Some(LotVerdict::Curing(_) | LotVerdict::Ready(_)) => {}
        }
        if let Some(day) = self.workshop.best_scent_by(pour) {
            // A day in figures is read in every language.
            let english = self.wording.languages == [Language::En];
            let form = if english { "%-d %b %Y" } else { "%Y-%m-%d" };
            self.wording.best_by = Some(day.strftime(form).to_string());
        } else if self.workshop.shelf_life(self.asked.product).is_none() {
            let what = "how long the scent keeps is not settled, so no best-scent-by day is on it";
            self.gaps.push(Gap::notes(what, PutRight::Good));
        }
    }

    fn cautions(&mut self, case: &LabelCase<'_>) {
        let mould = self.workshop.mould(case.product.mould);
        let has_wick = mould.is_some_and(|mould| mould.format.has_wick());
        let kind = if has_wick {
            Kind::Candle {
                apart_cm: self.asked.apart_cm,
                floating: false,
            }
        } else {
            Kind::Melt
        };
        let mut markets: Vec<caution::Market> =
            self.markets().iter().map(|market| of(*market)).collect();
        if markets.is_empty() {
            markets.push(caution::Market::EuropeanUnion);
        }
        let mut all = Vec::new();
        for language in self.wording.languages.clone() {
            let mut said: Option<Cautions> = None;
            for market in &markets {
                let more = caution::cautions(*market, kind, language);
                match &mut said {
                    None => said = Some(more),
                    Some(said) => add(said, more),
                }
            }
            all.extend(said);
        }
        if let Some(missing) = all.iter().find_map(|said| said.missing) {
            let what =
                format!("{missing}, is not given, so its sentence is left out of the cautions");
            self.gaps.push(Gap::stops(what, PutRight::Here));
        }
        let mut care: Vec<Care> = Vec::new();
        for line in all.first().map_or(&[][..], |said| said.lines.as_slice()) {
            if !care.contains(&line.care) {
                care.push(line.care);
            }
        }
        self.wording.care = care;
        self.wording.cautions = all;
    }

    fn hazard(&mut self, case: &LabelCase<'_>) {
        if case.state() == LabelState::NotAsked {
            let names = case.outlook.as_ref().map(|outlook| &outlook.elements);
            self.wording.allergens = names.map(names_in).unwrap_or_default();
            return;
        }
        let Some(outlook) = case
            .outlook
            .as_ref()
            .filter(|outlook| outlook.contents.without_sheet.is_none())
        else {
            let what = "what the hazard label must carry is not known: a sheet is missing or cannot \
                        be reckoned with";
            self.gaps.push(Gap::stops(what, PutRight::Label));
            return;
        };
        let elements = &outlook.elements;
        match case.state() {
            LabelState::Renew => {
                let first = case.renewals.first();
                let why = first.map_or_else(String::new, |found| found.words(self.workshop));
                let what = format!("the warning label marked ready no longer fits: {why}");
                self.gaps.push(Gap::stops(what, PutRight::Label));
            }
            LabelState::NotReady => {
                let first = case.hindrances.first();
                let why = first.map_or_else(String::new, |found| found.words(self.workshop));
                let what = format!("the warning label cannot be marked ready: {why}");
                self.gaps.push(Gap::stops(what, PutRight::Label));
            }
            LabelState::Open => {
                let what = "the warning label is not marked ready";
                self.gaps.push(Gap::stops(what, PutRight::Label));
            }
            LabelState::Ready | LabelState::NotAsked => {}
        }
        if elements.due {
            if elements.sizes.is_none() {
                let what = "what the package holds is not known; the sizes of the hazard label are \
                            taken for a small one";
                self.gaps.push(Gap::notes(what, PutRight::Label));
            }
            self.wording.hazard = Some(hazard_of(elements, outlook.rules));
        }
        let is_current = case.state() == LabelState::Ready;
        let identifier = case.label.filter(|_| is_current);
        self.wording.formula_identifier = identifier
            .and_then(|label| label.identifier.as_ref())
            .map(|identifier| identifier.ufi.clone());
    }

    fn codes(&mut self) {
        self.wording.gtin = self.workshop.gtin(self.asked.product).map(str::to_owned);
        let own = self.workshop.destination(self.asked.destination);
        let link = if self.asked.link.trim().is_empty() {
            own.map_or("", |details| details.link.as_str())
        } else {
            self.asked.link.trim()
        };
        self.wording.qr = (!link.is_empty()).then(|| link.to_owned());
    }

    /// What is to be known of the trade item number before it is printed.
    fn number(&mut self) {
        let Some(digits) = &self.wording.gtin else {
            return;
        };
        let kind = gtin::Kind::ALL
            .into_iter()
            .find(|kind| kind.n_digits() == digits.len());
        if kind == Some(gtin::Kind::Gtin14) {
            let what = "the bar code cannot be drawn: fourteen digits number a case of equal units; \
                        give the unit a number of its own";
            self.gaps.push(Gap::stops(what, PutRight::Good));
        }
        let read = Gtin::parse(digits, kind).ok();
        if let Some(remark) = read.and_then(|read| read.gtin.prefix().remark()) {
            let remark = remark.trim_end_matches('.');
            let what = format!("the trade item number {digits}: {remark}");
            self.gaps.push(Gap::notes(what, PutRight::Good));
        }
    }

    /// Which parts the markets ask for.
    ///
    /// # Source
    ///
    /// United States: 16 CFR 500.4 to 500.7. European Union: Regulation (EU)
    /// 2023/988, Article 9(5) and (6), from memory; CLP Article 17. Great
    /// Britain: General Product Safety Regulations 2005, regulation 7, and
    /// SI 2006/659, from memory.
    fn dues(&mut self, case: &LabelCase<'_>) {
        let mut dues: Vec<Due> = Vec::new();
        let mut due = |roles: &[Role], why: &str| {
            for role in roles {
                if !dues.iter().any(|known| known.role == *role) {
                    dues.push(Due {
                        role: *role,
                        why: why.to_owned(),
                    });
                }
            }
        };
        let warned = case
            .outlook
            .as_ref()
            .filter(|_| case.state() != LabelState::NotAsked)
            .map(|outlook| &outlook.elements);
        if let Some(elements) = warned.filter(|elements| elements.due) {
            due(&[Role::Hazard], "CLP Article 17(1)");
            due(
                &[Role::Name, Role::Maker, Role::Address, Role::Contact],
                "CLP Article 17(1)(a) and (c)",
            );
            due(
                &[Role::NetWeight],
                "CLP Article 17(1)(b), unless it stands elsewhere on the package",
            );
            if elements.formula_identifier.due {
                let why = format!("CLP Annex VIII: {}", elements.formula_identifier.why);
                due(&[Role::FormulaIdentifier], &why);
            }
        }
        let mould = self.workshop.mould(case.product.mould);
        let has_wick = mould.is_some_and(|mould| mould.format.has_wick());
        for market in self.markets() {
            match market {
                Market::Us => {
                    due(&[Role::Identity], "16 CFR 500.4, from memory");
                    due(&[Role::NetWeight], "16 CFR 500.6 and 500.7");
                    due(&[Role::Maker, Role::Address], "16 CFR 500.5, from memory");
                    if has_wick {
                        due(&[Role::Cautions], "ASTM F2058, voluntary, second hand");
                    }
                }
                Market::Eu => {
                    due(
                        &[Role::Lot],
                        "Regulation (EU) 2023/988, Article 9(5), from memory",
                    );
                    due(
                        &[Role::Maker, Role::Address, Role::Contact],
                        "Regulation (EU) 2023/988, Article 9(6), from memory",
                    );
                    if has_wick {
                        due(&[Role::Cautions], "EN 15494:2019, voluntary, second hand");
                    }
                }
                Market::Gb => {
                    due(
                        &[Role::Maker, Role::Address, Role::Lot],
                        "General Product Safety Regulations 2005, regulation 7, from memory",
                    );
                    due(&[Role::NetWeight], "SI 2006/659, from memory");
                    if has_wick {
                        due(&[Role::Cautions], "EN 15494:2019, voluntary, second hand");
                    }
                }
            }
        }
        self.wording.due = dues;
    }
}

fn lines_of(address: &str) -> impl Iterator<Item = String> {
    address
        .split([',', '\n'])
        .map(str::trim)
        .filter(|line| !line.is_empty())
        .map(str::to_owned)
}

const fn of(market: Market) -> caution::Market {
    match market {
        Market::Eu => caution::Market::EuropeanUnion,
        Market::Gb => caution::Market::GreatBritain,
        Market::Us => caution::Market::UnitedStates,
    }
}

const fn whose(rule: Rule) -> &'static str {
    match rule {
        Rule::Us => "the rules of the United States",
        Rule::Eu => "the rules of the European Union",
        Rule::Uk | Rule::UkEvery => "the rules of Great Britain",
    }
}

/// What one market adds to the cautions of another.
fn add(said: &mut Cautions, more: Cautions) {
    said.signal = said.signal.or(more.signal);
    said.sign |= more.sign;
    said.least_sign_mm = said.least_sign_mm.max(more.least_sign_mm);
    said.least_x_height_hundredths = said
        .least_x_height_hundredths
        .max(more.least_x_height_hundredths);
    said.missing = said.missing.or(more.missing);
    for note in more.to_check {
        if !said.to_check.contains(&note) {
            said.to_check.push(note);
        }
    }
    // Whatever a standard names goes before advice.
    let advice = said
        .lines
        .iter()
        .position(|line| !line.named_by_standard)
        .unwrap_or(said.lines.len());
    let mut named = advice;
    for line in more.lines {
        if said.lines.iter().any(|known| known.care == line.care) {
            continue;
        }
        if line.named_by_standard {
            said.lines.insert(named, line);
            named += 1;
        } else {
            said.lines.push(line);
        }
    }
}

/// The grams of a statement: `NET WT 1.4 OZ (39 g)` says `39 g`.
fn metric_of(statement: &str) -> String {
    let inside = statement.split_once('(').and_then(|(before, rest)| {
        let inside = rest.split(')').next()?;
        before.starts_with("NET").then_some(inside)
    });
    let before = || statement.split('(').next().unwrap_or(statement);
    inside.unwrap_or_else(before).trim().to_owned()
}

/// How high the letters of the net weight have to be, and where it stands.
fn heights(net: &mut NetWeight, rule: Rule, panel: Panel, declared: Mass) {
    let mm = |length: measure::Length| length.to_f64(measure::LengthUnit::Millimetre);
    if rule == Rule::Us {
        net.heights.push(HeightRule {
            reach: Reach::Capital,
            least_mm: mm(panel::us_height(panel, false)),
            source: "16 CFR 500.21(b)".to_owned(),
        });
        net.heights.push(HeightRule {
            reach: Reach::SmallLetter,
            least_mm: 25.4 / 16.0,
            source: "16 CFR 500.21(b), symbols of SI units".to_owned(),
        });
        let place = panel::placement(panel);
        net.placement = Some(Placement {
            lowest_share: place.lowest_share,
            clear_heights: place.clear_heights,
            clear_n_widths: place.clear_n_widths,
            source: "16 CFR 500.6(b)".to_owned(),
        });
        return;
    }
    let least_mm = mm(panel::eu_height(declared));
    let known = |height: &HeightRule| height.reach == Reach::Digit && height.least_mm >= least_mm;
    if !net.heights.iter().any(known) {
        net.heights.push(HeightRule {
            reach: Reach::Digit,
            least_mm,
            source: if rule == Rule::Eu {
                "Directive 76/211/EEC, Annex I, 3.1, second hand".to_owned()
            } else {
                "SI 2006/659, as Directive 76/211/EEC, Annex I, 3.1, second hand".to_owned()
            },
        });
    }
}

/// Substances a label names because of what they do.
fn names_in(elements: &Elements) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    let below = elements
        .supplemental
        .iter()
        .filter(|extra| extra.code == "EUH208")
        .flat_map(|extra| &extra.substances);
    for name in elements.named.iter().chain(below) {
        if !names.contains(name) {
            names.push(name.clone());
        }
    }
    names
}

fn hazard_of(elements: &Elements, rules: hazard::Rules) -> Hazard {
    // Table 1.3 has no smaller class than that of half a litre.
    let sizes = elements
        .sizes
        .clone()
        .or_else(|| hazard::pack::Sizes::of(Decimal::ONE, &rules));
    let number = |figure: Decimal| figure.to_string().parse::<f64>().unwrap_or(0.0);
    let sizes = sizes.map_or(
        HazardSizes {
            x_height_mm: 1.2,
            format_is_law: false,
            pictogram_mm: 10.0,
            pictogram_wanted_mm: 16.0,
            leading: 1.2,
        },
        |sizes| HazardSizes {
            x_height_mm: number(sizes.x_height_mm),
            format_is_law: sizes.x_height_is_law,
            pictogram_mm: f64::from(sizes.pictogram_mm),
            pictogram_wanted_mm: f64::from(sizes.pictogram_wanted_mm),
            leading: number(sizes.leading),
        },
    );
    let texts = |lines: &[hazard::phrase::Line]| -> Vec<String> {
        lines.iter().map(|line| line.text.clone()).collect()
    };
    Hazard {
        pictograms: elements
            .pictograms
            .iter()
            .map(|pictogram| pictogram.code().to_owned())
            .collect(),
        texts: elements
            .wording
            .iter()
            .filter_map(|wording| {
                Some(HazardText {
                    language: language(wording.language)?,
                    substances: elements.named.clone(),
                    signal: wording.signal_word.clone(),
                    statements: texts(&wording.hazard),
                    precautions: texts(&wording.precautionary),
                    supplemental: texts(&wording.supplemental),
                })
            })
            .collect(),
        sizes,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_grams_of_a_statement_are_found() {
        assert_eq!(metric_of("NET WT 1.4 OZ (39 g)"), "39 g");
        assert_eq!(metric_of("NET WT 1 LB 2 OZ (510 g)"), "510 g");
        assert_eq!(metric_of("39 g"), "39 g");
        assert_eq!(metric_of("39 g (1.37 oz)"), "39 g");
    }

    #[test]
    fn a_candle_for_both_sides_of_the_sea_carries_what_both_name() {
        let kind = Kind::Candle {
            apart_cm: Some(10),
            floating: false,
        };
        let mut said = caution::cautions(caution::Market::EuropeanUnion, kind, Language::En);
        add(
            &mut said,
            caution::cautions(caution::Market::UnitedStates, kind, Language::En),
        );
        assert_eq!(said.signal, Some("WARNING"));
        assert_eq!(said.least_sign_mm, Some(5));
        // EN 15494 names four; the three of F2058 are among them.
        let named = said.lines.iter().filter(|line| line.named_by_standard);
        assert_eq!(named.count(), 4);
    }
}
