//! What the law asks of a good's warning label, from the sheets on file, and
//! whether the label that was marked ready still fits.

use std::fmt;

use formula::FragranceLoad;
use hazard::ladder::{Ladder, Pot, Rung, ladder};
use hazard::ufi::Owner;
use hazard::{
    Class, Classification, Declared, Elements, Form, Ingredient, Jurisdiction, Language, Mixture,
    Part, Rules, Setting, Share, Ufi, Unlisted,
};
use jiff::civil::Date;
use measure::{Decimal, MassUnit, Problem, Problems, Ratio};

use crate::facts::{
    DestinationId, DyeDose, FormulaId, HOME, LabelElements, LabelGround, LabelSettings, LabelText,
    Market, ProductId, Recipe, Rest, SheetLine, Supplemental, SupplyId,
};
use crate::plan::formula_of;
use crate::state::{Label, Product, Sheet, Workshop};

/// What a recipe is made of, as far as the sheets on file say.
#[derive(Debug, Clone, PartialEq)]
pub struct Contents {
    /// Wax, additives and dye by weight.
    pub base: Vec<Part>,
    /// The weight of the wax among them.
    pub wax: Decimal,
    /// The oil, its weight that of the load; none in an unscented recipe.
    pub oil: Option<Part>,
    /// The sheets used: the supply, and the number of its sheet.
    pub sheets: Vec<(SupplyId, u32)>,
    /// Waxes, additives and dyes without a sheet, taken as not hazardous on
    /// trust.
    pub trusted: Vec<SupplyId>,
    /// The oil, when it has no sheet.
    pub without_sheet: Option<SupplyId>,
    /// Lines not compared with the supplier's sheet: the supply, and how many.
    pub unconfirmed: Vec<(SupplyId, usize)>,
    /// Substances whose classes their sheet leaves open, and whose sheet it is.
    pub unclassed: Vec<(SupplyId, String)>,
    /// A dye that is counted in drops, so that nobody knows its weight.
    pub unweighed: Option<SupplyId>,
}

/// Gathers what a recipe at a load is made of.
///
/// Weights are exact: a load of total is taken by making everything else
/// smaller, never by dividing.
///
/// # Errors
///
/// [`Problems`] when the parts do not make a blend.
pub fn contents_of(
    workshop: &Workshop,
    recipe: &Recipe,
    load: FragranceLoad,
) -> Result<Contents, Problems> {
    let blend = parts_of(recipe)?;
    let dye_share = match &recipe.dye {
        Some((_, DyeDose::OfWax(share))) => share.decimal(),
        _ => Decimal::ZERO,
    };
    if dye_share > Decimal::ONE {
        let wrong = "that is more dye than wax";
        return Err(Problem::new("dye_dose", "", wrong, "write a share such as 0.1 %").into());
    }
    let beside_oil = blend * (Decimal::ONE + dye_share);
    let (shrink, oil) = match load {
        FragranceLoad::OfWax(ratio) => (Decimal::ONE, ratio.decimal() * blend),
        FragranceLoad::OfTotal(ratio) => {
            let total = ratio.decimal();
            (Decimal::ONE - total, total * beside_oil)
        }
    };
    let mut contents = Contents {
        base: Vec::new(),
        wax: blend * shrink,
        oil: None,
        sheets: Vec::new(),
        trusted: Vec::new(),
        without_sheet: None,
        unconfirmed: Vec::new(),
        unclassed: Vec::new(),
        unweighed: None,
    };
    for part in &recipe.blend {
        let part = contents.part(workshop, part.supply, part.parts * shrink, true);
        contents.base.push(part);
    }
    match &recipe.dye {
        Some((dye, DyeDose::OfWax(share))) => {
            let weight = share.decimal() * blend * shrink;
            let part = contents.part(workshop, *dye, weight, true);
            contents.base.push(part);
        }
        Some((dye, DyeDose::DropsPerPound(_))) => contents.unweighed = Some(*dye),
        None => {}
    }
    if let Some(supply) = recipe.oil {
        let part = contents.part(workshop, supply, oil, false);
        contents.oil = Some(part);
    }
    Ok(contents)
}

/// The parts of the blend together: few enough that everything reckoned with
/// them stays within reach.
fn parts_of(recipe: &Recipe) -> Result<Decimal, Problems> {
    let most = Decimal::from(1_000_000_000_u32);
    let mut sum = Decimal::ZERO;
    for part in &recipe.blend {
        let parts = part.parts;
        if parts < Decimal::ZERO || parts > most || sum > most {
            let wrong = "the parts are out of reach";
            return Err(Problem::new("blend", "", wrong, "write parts such as 90 and 10").into());
        }
        sum += parts;
    }
    if sum.is_zero() {
        let wrong = "there is no wax in it";
        return Err(Problem::new("blend", "", wrong, "enter a wax with its parts").into());
    }
    Ok(sum)
}

impl Contents {
    fn part(&mut self, workshop: &Workshop, id: SupplyId, weight: Decimal, trusted: bool) -> Part {
        let name = workshop
            .supply(id)
            .map_or_else(|| format!("supply {id}"), |supply| supply.name.clone());
        let Some(sheet) = workshop.sheet(id) else {
            if trusted {
                if !self.trusted.contains(&id) {
                    self.trusted.push(id);
                }
            } else {
                self.without_sheet = Some(id);
            }
            let unlisted = if trusted {
                Unlisted::NotHazardous
            } else {
                Unlisted::Unknown
            };
            return Part {
                name,
                weight,
                ingredients: Vec::new(),
                unlisted,
            };
        };
        if !self.sheets.iter().any(|(known, _)| *known == id) {
            self.sheets.push((id, sheet.number));
            let open = sheet.unconfirmed().count();
            if open > 0 {
                self.unconfirmed.push((id, open));
            }
            let unclassed = sheet.lines.iter().filter(|line| line.classes.is_none());
            self.unclassed
                .extend(unclassed.map(|line| (id, line.name.clone())));
        }
        Part {
            name,
            weight,
            ingredients: sheet.lines.iter().map(SheetLine::ingredient).collect(),
            unlisted: match sheet.rest {
                Rest::NotHazardous => Unlisted::NotHazardous,
                Rest::Unknown => Unlisted::Unknown,
            },
        }
    }

    /// All parts, the oil last.
    pub fn parts(&self) -> Vec<Part> {
        self.base.iter().chain(&self.oil).cloned().collect()
    }

    /// Whether no sheet lists anything and nothing is unknown.
    pub fn is_bare(&self) -> bool {
        self.base
            .iter()
            .chain(&self.oil)
            .all(|part| part.ingredients.is_empty() && part.unlisted == Unlisted::NotHazardous)
    }

    fn lists_nothing(&self) -> bool {
        let mut parts = self.base.iter().chain(&self.oil);
        parts.all(|part| part.ingredients.is_empty())
    }

    /// The oil as a share of everything.
    pub fn oil_of_total(&self) -> Ratio {
        let oil = self.oil.as_ref().map_or(Decimal::ZERO, |oil| oil.weight);
        let all: Decimal = self.base.iter().map(|part| part.weight).sum::<Decimal>() + oil;
        oil.checked_div(all)
            .and_then(Ratio::from_decimal)
            .unwrap_or(Ratio::ZERO)
    }
}

/// A recipe at a load, classified, with what its label must carry.
#[derive(Debug, Clone)]
pub struct Outlook {
    /// The load.
    pub load: FragranceLoad,
    /// What it is made of.
    pub contents: Contents,
    /// Everything as one list of substances; none where no sheet lists any.
    pub mixture: Option<Mixture>,
    /// What the law says of it; none likewise.
    pub classification: Option<Classification>,
    /// What its label must carry.
    pub elements: Elements,
    /// The law and the day it is read on.
    pub rules: Rules,
}

/// Where and to whom a recipe's label speaks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reader {
    /// The law and the day it is read on.
    pub rules: Rules,
    /// The languages.
    pub languages: Vec<Language>,
    /// What the package holds when full, in millilitres, where it is known.
    pub capacity_ml: Option<Decimal>,
    /// Names on the pack, looked through for words that must not be there.
    pub names: Vec<String>,
}

impl Reader {
    /// The reader by the workshop's settings; where nothing is set, by the
    /// rules of the European Union, which ask for most, and in English.
    pub fn of(workshop: &Workshop, day: Date) -> Self {
        Self::by(workshop.label_settings(), day)
    }

    /// The reader by these settings.
    pub fn by(settings: Option<&LabelSettings>, day: Date) -> Self {
        Self {
            rules: Rules::of(jurisdiction_of(settings), day),
            languages: settings
                .map_or_else(|| vec![Language::En], |settings| settings.languages.clone()),
            capacity_ml: None,
            names: Vec::new(),
        }
    }
}

fn jurisdiction_of(settings: Option<&LabelSettings>) -> Jurisdiction {
    settings
        .and_then(LabelSettings::jurisdiction)
        .unwrap_or(Jurisdiction::Eu)
}

/// Classifies a recipe at a load and finds what its label must carry.
///
/// # Errors
///
/// [`Problems`] when the parts do not make a blend or a sheet's lines cannot
/// be taken together.
pub fn outlook_of(
    workshop: &Workshop,
    recipe: &Recipe,
    load: FragranceLoad,
    reader: &Reader,
) -> Result<Outlook, Problems> {
    let contents = contents_of(workshop, recipe, load)?;
    let mixture = if contents.is_bare() || contents.without_sheet.is_some() {
        None
    } else if contents.lists_nothing() {
        return Err(Problem::new(
            "",
            "",
            "nothing is known of what is in it",
            "write down what the sheets list in section 3",
        )
        .into());
    } else {
        Some(Mixture::of(&contents.parts())?)
    };
    let classification = mixture
        .as_ref()
        .map(|mixture| hazard::classify(mixture, &reader.rules, &Form::Solid));
    let declared = match (&mixture, &classification) {
        (Some(mixture), Some(classification)) => classification.declared(mixture),
        _ => Declared::default(),
    };
    let setting = Setting {
        capacity_ml: reader.capacity_ml,
        claims: reader.names.clone(),
        ..Setting::melt(reader.rules, &reader.languages)
    };
    let elements = hazard::label::elements(&declared, &setting);
    Ok(Outlook {
        load,
        contents,
        mixture,
        classification,
        elements,
        rules: reader.rules,
    })
}

/// The highest load a label ladder looks at when no wax names one.
const USUAL_MOST: Decimal = Decimal::from_parts(12, 0, 0, false, 2);

/// The load a recipe's wax carries at most, as a share of wax; none where no
/// sheet of a wax names one.
pub fn wax_limit_of(workshop: &Workshop, recipe: &Recipe) -> Option<Ratio> {
    formula_of(workshop, recipe).ok()?.blend.limit().of_wax
}

/// How a recipe's label changes as the load goes from nothing to what its wax
/// carries, or to 12 % of wax or the recipe's own load where that is more and
/// no limit is known. None for a recipe without an oil, or with an oil without
/// a sheet.
///
/// # Errors
///
/// As [`outlook_of`].
pub fn ladder_of(
    workshop: &Workshop,
    recipe: &Recipe,
    rules: &Rules,
) -> Result<Option<(Ladder, Ratio)>, Problems> {
    let own = recipe.load.as_of_wax(dye_of_wax(recipe));
    let usual = Ratio::from_decimal(USUAL_MOST).unwrap_or(Ratio::ONE);
    let limit = wax_limit_of(workshop, recipe);
    let most = limit.unwrap_or(usual).max(own).min(Ratio::ONE);
    let contents = contents_of(workshop, recipe, FragranceLoad::OfWax(most))?;
    if contents.without_sheet.is_some() || contents.lists_nothing() || most == Ratio::ZERO {
        return Ok(None);
    }
    let Some(oil) = &contents.oil else {
        return Ok(None);
    };
    let pot = Pot {
        base: &contents.base,
        wax: contents.wax,
        oil,
    };
    ladder(&pot, rules, &Form::Solid).map(|ladder| Some((ladder, most)))
}

/// The dye as a share of wax, where it is weighed.
pub fn dye_of_wax(recipe: &Recipe) -> Ratio {
    match &recipe.dye {
        Some((_, DyeDose::OfWax(share))) => *share,
        _ => Ratio::ZERO,
    }
}

/// Why a label cannot be marked ready.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Hindrance {
    /// Nobody has said where the goods are sold and who stands on the label.
    NoSettings,
    /// Nothing is sold where such a label is asked for.
    NoLawHere,
    /// An oil has no sheet on file.
    NoSheet(SupplyId),
    /// Lines of a sheet were not compared with the supplier's: how many.
    Unconfirmed(SupplyId, usize),
    /// A substance of a sheet has no classes written down, not even that it has
    /// none.
    NoClasses(SupplyId, String),
    /// A substance's M-factor is missing, and one that it may well have would
    /// change the label: the substance, the factor and the class.
    NoFactor(String, u32, Class),
    /// A dye goes in by drops, and its sheet lists something or leaves something
    /// open.
    Unweighed(SupplyId),
    /// A statement has no confirmed text in a chosen language, and why.
    MissingText {
        /// The statement.
        code: String,
        /// The language.
        language: Language,
        /// What is the matter.
        why: String,
    },
    /// The load is more than the oil's certificate allows: the share of total,
    /// the most, and the category.
    OverCertificate(Ratio, Ratio, String),
    /// The load is more than the wax carries: the load and the most, of wax.
    OverWaxLimit(Ratio, Ratio),
    /// The law forbids its sale, or words on it, as it is.
    Blocked(String),
    /// A unique formula identifier is due, and cannot be made.
    NoIdentifier(String),
    /// It cannot be reckoned out.
    Unclear(String),
}

impl Hindrance {
    /// In plain words, with what to do.
    pub fn words(&self, workshop: &Workshop) -> String {
        let name = |id: &SupplyId| {
            workshop
                .supply(*id)
                .map_or_else(|| format!("supply {id}"), |supply| supply.name.clone())
        };
        match self {
            Self::NoSettings => {
                "nobody has said where the goods are sold and who stands on the label; set it first"
                    .to_owned()
            }
            Self::NoLawHere => {
                "the goods are sold only where no label of this kind is asked for".to_owned()
            }
            Self::NoSheet(id) => format!(
                "no safety data sheet of {} is on file; write down what its section 3 lists",
                name(id)
            ),
            Self::Unconfirmed(id, 1) => format!(
                "a line of the sheet of {} was not compared with the supplier's own; compare it",
                name(id)
            ),
            Self::Unconfirmed(id, lines) => format!(
                "{lines} lines of the sheet of {} were not compared with the supplier's own; compare them",
                name(id)
            ),
            Self::NoClasses(id, substance) => format!(
                "the sheet of {} says nothing of the classes of {substance}; write them down, or that it is not classified",
                name(id)
            ),
            Self::NoFactor(substance, factor, class) => format!(
                "{substance} has no M-factor on file, and from {factor} on the whole would be {class}; ask the supplier for it"
            ),
            Self::Unweighed(id) => format!(
                "{} goes in by drops, so nobody knows how much of it is in; give its dose as a share of wax",
                name(id)
            ),
            Self::MissingText {
                code,
                language,
                why,
            } => format!("{code} has no confirmed text in {language}: {why}"),
            Self::OverCertificate(share, most, category) => format!(
                "the oil makes up {} of it, and its certificate allows {most} in category {category}; lower the load",
                plain(*share)
            ),
            Self::OverWaxLimit(load, most) => format!(
                "the load is {} of wax, and the wax carries {}; lower the load",
                plain(*load),
                plain(*most)
            ),
            Self::Blocked(why) | Self::Unclear(why) => why.clone(),
            Self::NoIdentifier(why) => format!("a unique formula identifier is due: {why}"),
        }
    }
}

/// A percentage without trailing zeros, so fine that a load just above a limit
/// does not look like the limit.
fn plain(ratio: Ratio) -> String {
    format!("{} %", ratio.percent().round_dp(4).normalize())
}

/// Why a label that was marked ready no longer fits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Renewal {
    /// The load changed: then and now.
    Load(FragranceLoad, FragranceLoad),
    /// The formula changed in another way: the revision now.
    Formula(u32),
    /// A newer sheet of a supply is on file.
    Sheet(SupplyId),
    /// Another law decides: then and now.
    Law(Jurisdiction, Jurisdiction),
    /// The languages or the supplier on the label changed.
    Settings,
    /// The law as it is read today asks for something else.
    Elements,
}

impl Renewal {
    /// In plain words.
    pub fn words(&self, workshop: &Workshop) -> String {
        match self {
            Self::Load(then, now) => format!("it rests on {then}, and the load is now {now}"),
            Self::Formula(revision) => {
                format!("the formula changed: it is at revision {revision} now")
            }
            Self::Sheet(id) => {
                let name = workshop
                    .supply(*id)
                    .map_or_else(|| format!("supply {id}"), |supply| supply.name.clone());
                let dated = workshop
                    .sheet(*id)
                    .and_then(|sheet| sheet.dated)
                    .map_or_else(String::new, |dated| {
                        dated.strftime(", dated %-d %b %Y").to_string()
                    });
                format!("another sheet of {name} is on file{dated}")
            }
            Self::Law(then, now) => format!("it was made by {then}, and {now} decides now"),
            Self::Settings => "the languages or the supplier on the label changed".to_owned(),
            Self::Elements => "the law as read today asks for something else".to_owned(),
        }
    }
}

/// How a good's label stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LabelState {
    /// It was marked ready and still fits.
    Ready,
    /// It was marked ready and no longer fits.
    Renew,
    /// Nothing hinders marking it ready.
    Open,
    /// Something hinders it.
    NotReady,
    /// No label of this kind is asked for where it is sold.
    NotAsked,
}

/// Everything about a good's label on a day.
#[derive(Debug, Clone)]
pub struct LabelCase<'a> {
    /// The good.
    pub product: &'a Product,
    /// What its label must carry; none where it cannot be reckoned out.
    pub outlook: Option<Outlook>,
    /// What hinders marking it ready.
    pub hindrances: Vec<Hindrance>,
    /// Why the label that was marked ready no longer fits.
    pub renewals: Vec<Renewal>,
    /// The label that was marked ready last.
    pub label: Option<&'a Label>,
    /// The formulation number of its identifier, had or to be had.
    pub number: u32,
}

impl LabelCase<'_> {
    /// How it stands.
    pub fn state(&self) -> LabelState {
        if self.hindrances.contains(&Hindrance::NoLawHere) {
            LabelState::NotAsked
        } else if self.label.is_some() && !self.renewals.is_empty() {
            LabelState::Renew
        } else if self.label.is_some() && self.hindrances.is_empty() {
            LabelState::Ready
        } else if self.hindrances.is_empty() {
            LabelState::Open
        } else {
            LabelState::NotReady
        }
    }

    /// Whether a unique formula identifier is due.
    pub fn needs_identifier(&self) -> bool {
        self.outlook
            .as_ref()
            .is_some_and(|outlook| outlook.elements.formula_identifier.due)
    }
}

/// Looks at a good's label on `day`, for where the label settings say; none for
/// a good that is not there.
pub fn label_case(workshop: &Workshop, product: ProductId, day: Date) -> Option<LabelCase<'_>> {
    label_case_for(workshop, product, HOME, day)
}

/// Looks at a good's label for a destination on `day`; none for a good or a
/// destination that is not there.
pub fn label_case_for(
    workshop: &Workshop,
    product: ProductId,
    destination: DestinationId,
    day: Date,
) -> Option<LabelCase<'_>> {
    let product = workshop.product(product)?;
    let formula = workshop.formula(product.formula)?;
    let recipe = formula.current();
    let settings = workshop.settings_for(destination);
    if destination != HOME && settings.is_none() {
        return None;
    }
    let label = workshop.label_for(product.id, destination);
    let mut reader = Reader::by(settings, day);
    reader.capacity_ml = capacity_of(workshop, product, recipe);
    reader.names = vec![product.name.clone(), formula.name.clone()];
    let mut hindrances = Vec::new();
    match settings {
        None => hindrances.push(Hindrance::NoSettings),
        Some(settings) if settings.jurisdiction().is_none() => {
            hindrances.push(Hindrance::NoLawHere);
        }
        Some(_) => {}
    }
    let outlook = match outlook_of(workshop, recipe, recipe.load, &reader) {
        Ok(outlook) => {
            hinder(workshop, recipe, &outlook, &mut hindrances);
            Some(outlook)
        }
        Err(problems) => {
            hindrances.push(Hindrance::Unclear(problems.to_string()));
            None
        }
    };
    let number = number_for(workshop, product.formula, formula.revision());
    if let Some(outlook) = outlook
        .as_ref()
        .filter(|outlook| outlook.elements.formula_identifier.due)
        && let Err(why) = identifier_by(settings, number)
    {
        let because = &outlook.elements.formula_identifier.why;
        hindrances.push(Hindrance::NoIdentifier(format!("{because}; {why}")));
    }
    let renewals = label.map_or_else(Vec::new, |label| {
        renewals_of(workshop, product, label, settings, outlook.as_ref())
    });
    Some(LabelCase {
        product,
        outlook,
        hindrances,
        renewals,
        label,
        number,
    })
}

fn hinder(
    workshop: &Workshop,
    recipe: &Recipe,
    outlook: &Outlook,
    hindrances: &mut Vec<Hindrance>,
) {
    let contents = &outlook.contents;
    hindrances.extend(contents.without_sheet.map(Hindrance::NoSheet));
    for (supply, lines) in &contents.unconfirmed {
        hindrances.push(Hindrance::Unconfirmed(*supply, *lines));
    }
    hindrances.extend(
        contents
            .unclassed
            .iter()
            .map(|(supply, name)| Hindrance::NoClasses(*supply, name.clone())),
    );
    if let Some((classification, mixture)) = outlook
        .classification
        .as_ref()
        .zip(outlook.mixture.as_ref())
    {
        for open in &classification.provisional {
            let substance = mixture.substances.get(open.substance);
            if let Some(((factor, class), substance)) = open.changes.zip(substance) {
                hindrances.push(Hindrance::NoFactor(substance.name.clone(), factor, class));
            }
        }
    }
    let lists_something = |dye: &SupplyId| {
        workshop
            .sheet(*dye)
            .is_some_and(|sheet| !sheet.lines.is_empty() || sheet.rest == Rest::Unknown)
    };
    hindrances.extend(
        contents
            .unweighed
            .filter(lists_something)
            .map(Hindrance::Unweighed),
    );
    for wording in &outlook.elements.wording {
        for missing in &wording.missing {
            hindrances.push(Hindrance::MissingText {
                code: missing.code.clone(),
                language: missing.language,
                why: missing.why.clone(),
            });
        }
    }
    let share = contents.oil_of_total();
    let certificate = recipe.oil.and_then(|oil| workshop.certificate(oil));
    if let Some(certificate) = certificate.filter(|certificate| share > certificate.maximum) {
        hindrances.push(Hindrance::OverCertificate(
            share,
            certificate.maximum,
            certificate.category.clone(),
        ));
    }
    if let Some(limit) = wax_limit_of(workshop, recipe).filter(|_| recipe.oil.is_some()) {
        let load = outlook.load.as_of_wax(dye_of_wax(recipe));
        if load > limit {
            hindrances.push(Hindrance::OverWaxLimit(load, limit));
        }
    }
    let blocked = outlook.elements.blocked.iter().cloned();
    hindrances.extend(blocked.map(Hindrance::Blocked));
}

fn renewals_of(
    workshop: &Workshop,
    product: &Product,
    label: &Label,
    settings: Option<&LabelSettings>,
    outlook: Option<&Outlook>,
) -> Vec<Renewal> {
    let mut renewals = Vec::new();
    let Some(formula) = workshop.formula(product.formula) else {
        return renewals;
    };
    let (ground, recipe) = (&label.ground, formula.current());
    if ground.load != recipe.load {
        renewals.push(Renewal::Load(ground.load, recipe.load));
    }
    let same_contents = formula.at(ground.revision).is_some_and(|then| {
        then.blend == recipe.blend && then.oil == recipe.oil && then.dye == recipe.dye
    });
    if !same_contents {
        renewals.push(Renewal::Formula(formula.revision()));
    }
    let now = outlook.map_or(&[][..], |outlook| outlook.contents.sheets.as_slice());
    for (supply, number) in now {
        let used = ground.sheets.iter().find(|(known, _)| known == supply);
        // A supply that came in with the formula's change is named there.
        let is_newer = used.map_or(same_contents, |(_, used)| used != number);
        if is_newer {
            renewals.push(Renewal::Sheet(*supply));
        }
    }
    let law = jurisdiction_of(settings);
    if law != ground.jurisdiction {
        renewals.push(Renewal::Law(ground.jurisdiction, law));
    } else if printed(label.settings.as_ref()) != printed(settings) {
        renewals.push(Renewal::Settings);
    }
    if renewals.is_empty() && outlook.is_some_and(|now| elements_of(now) != label.elements) {
        renewals.push(Renewal::Elements);
    }
    renewals
}

/// What of the settings stands on the label.
fn printed(settings: Option<&LabelSettings>) -> Option<(&[Language], [&str; 3])> {
    settings.map(|settings| {
        let LabelSettings {
            languages,
            name,
            address,
            phone,
            ..
        } = settings;
        (
            languages.as_slice(),
            [name, address, phone].map(String::as_str),
        )
    })
}

/// What one unit's package holds: the line volume of its mould, or else the
/// weight it is sold as over its density.
fn capacity_of(workshop: &Workshop, product: &Product, recipe: &Recipe) -> Option<Decimal> {
    let mould = workshop.mould(product.mould)?;
    let volume = mould.line_volume.as_ref().map(|volume| {
        measure::decimal_from_f64(volume.value().to_f64(measure::VolumeUnit::Millilitre), 3)
    });
    if let Some(volume) = volume {
        return volume;
    }
    let grams = mould.nominal.as_ref()?.value().to_f64(MassUnit::Gram);
    measure::decimal_from_f64(grams, 3)?.checked_div(recipe.set_density?)
}

/// What a label says, as it is kept.
pub fn elements_of(outlook: &Outlook) -> LabelElements {
    let elements = &outlook.elements;
    LabelElements {
        pictograms: elements
            .pictograms
            .iter()
            .map(|pictogram| pictogram.code().to_owned())
            .collect(),
        signal_word: elements.signal_word.map(|word| word.to_string()),
        statements: elements.hazard_statements.clone(),
        precautions: elements
            .precaution_codes()
            .into_iter()
            .map(str::to_owned)
            .collect(),
        supplemental: elements
            .supplemental
            .iter()
            .map(|extra| Supplemental {
                code: extra.code.clone(),
                names: extra.substances.clone(),
            })
            .collect(),
        names: elements.named.clone(),
        texts: elements
            .wording
            .iter()
            .map(|wording| LabelText {
                language: wording.language,
                lines: wording
                    .signal_word
                    .iter()
                    .cloned()
                    .chain(
                        wording
                            .hazard
                            .iter()
                            .chain(&wording.precautionary)
                            .chain(&wording.supplemental)
                            .map(|line| line.text.clone()),
                    )
                    .collect(),
            })
            .collect(),
    }
}

/// What a label of this outlook rests on.
pub fn ground_of(outlook: &Outlook, revision: u32) -> LabelGround {
    LabelGround {
        revision,
        load: outlook.load,
        sheets: outlook.contents.sheets.clone(),
        jurisdiction: outlook.rules.jurisdiction,
        read_on: outlook.rules.on,
    }
}

/// The formulation number for a revision of a formula: the one it has on a
/// label, or the next that no label has. One number never covers two formulas.
fn number_for(workshop: &Workshop, formula: FormulaId, revision: u32) -> u32 {
    let mut highest = 0;
    for (product, label) in workshop.labels() {
        let Some(identifier) = &label.identifier else {
            continue;
        };
        let is_same = label.ground.revision == revision
            && workshop
                .product(product)
                .is_some_and(|product| product.formula == formula);
        if is_same {
            return identifier.number;
        }
        highest = highest.max(identifier.number);
    }
    highest.saturating_add(1)
}

/// Who has a formulation number on a label for something else than this
/// revision of this formula.
pub(crate) fn number_is_taken(
    workshop: &Workshop,
    number: u32,
    formula: FormulaId,
    revision: u32,
) -> Option<&Product> {
    workshop.labels().find_map(|(product, label)| {
        let identifier = label.identifier.as_ref()?;
        let product = workshop.product(product)?;
        let is_other = product.formula != formula || label.ground.revision != revision;
        (identifier.number == number && is_other).then_some(product)
    })
}

/// The unique formula identifier of a formulation number, from the workshop's
/// VAT number or company key.
///
/// # Errors
///
/// What is missing or wrong, in words.
pub fn identifier_of(workshop: &Workshop, number: u32) -> Result<Ufi, String> {
    identifier_by(workshop.label_settings(), number)
}

/// The same from the VAT number or company key of these settings.
///
/// # Errors
///
/// As [`identifier_of`].
pub fn identifier_by(settings: Option<&LabelSettings>, number: u32) -> Result<Ufi, String> {
    let vat = settings.map_or("", |settings| settings.vat.as_str());
    if vat.is_empty() {
        return Err("set your VAT number or company key first".to_owned());
    }
    let owner = owner_of(vat).map_err(|unclear| unclear.to_string())?;
    Ufi::of(owner, number).map_err(|unclear| unclear.to_string())
}

/// Reads a VAT number with its country, or a company key of figures alone.
///
/// # Errors
///
/// [`measure::Unclear`] when it is neither.
pub fn owner_of(text: &str) -> Result<Owner, measure::Unclear> {
    if text
        .chars()
        .all(|sign| sign.is_ascii_digit() || sign == ' ')
    {
        Owner::key(text)
    } else {
        Owner::vat(text, None)
    }
}

/// Whether goods also go where this kind of label means nothing.
pub fn sells_to_the_united_states(workshop: &Workshop) -> bool {
    workshop
        .label_settings()
        .is_some_and(|settings| settings.markets.contains(&Market::Us))
}

impl fmt::Display for LabelState {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Ready => "ready",
            Self::Renew => "to be renewed",
            Self::Open => "can be marked ready",
            Self::NotReady => "not ready",
            Self::NotAsked => "not asked for",
        })
    }
}

/// What the label must carry on a rung of the ladder.
pub fn elements_of_rung(rung: &Rung, reader: &Reader) -> Elements {
    let names = || rung.named.clone();
    let declared = Declared {
        hazards: rung.hazards.clone(),
        named: if rung.is_euh208() {
            Vec::new()
        } else {
            names()
        },
        sensitisers_below: if rung.is_euh208() {
            names()
        } else {
            Vec::new()
        },
        ..Declared::default()
    };
    hazard::label::elements(&declared, &Setting::melt(reader.rules, &reader.languages))
}

/// The heart of a label in a few words: `No label for hazards`, `Warning`,
/// `Names citral and linalool`.
pub fn gist_of(elements: &Elements) -> String {
    let names = elements
        .supplemental
        .iter()
        .find(|extra| extra.code == "EUH208")
        .map_or(&elements.named, |extra| &extra.substances);
    let named = match names.as_slice() {
        [] => String::new(),
        [one] => format!("names {one}"),
        [one, other] => format!("names {one} and {other}"),
        [one, others @ ..] => format!("names {one} and {} more", others.len()),
    };
    let head = match elements.signal_word {
        Some(word) => word.to_string(),
        None if !elements.hazard_statements.is_empty() => {
            "Statements without a signal word".to_owned()
        }
        None if named.is_empty() => return "No label for hazards".to_owned(),
        None => {
            let mut letters = named.chars();
            let first = letters.next().map(|first| first.to_ascii_uppercase());
            return first.into_iter().chain(letters).collect();
        }
    };
    if named.is_empty() {
        head
    } else {
        format!("{head}, {named}")
    }
}

/// A line in which two sheets of a supply differ.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LineChange {
    /// The substance.
    pub name: String,
    /// Its share of the supply by the older sheet; none where it is new.
    pub then: Option<Share>,
    /// Its share by the newer one; none where it is gone.
    pub now: Option<Share>,
    /// Whether its classes, factors, limits or estimates differ.
    pub is_otherwise: bool,
}

/// In which lines two sheets differ, those of the newer one first.
pub fn changes_between(then: &Sheet, now: &Sheet) -> Vec<LineChange> {
    let same = |one: &SheetLine, other: &SheetLine| match (one.cas, other.cas) {
        (Some(one), Some(other)) => one == other,
        _ => one.name == other.name,
    };
    let mut changes = Vec::new();
    for line in &now.lines {
        let before = then.lines.iter().find(|before| same(before, line));
        let is_otherwise = before.is_some_and(|before| {
            let rest = |line: &SheetLine| Ingredient {
                name: String::new(),
                share: Share::NOTHING,
                ..line.ingredient()
            };
            rest(before) != rest(line)
        });
        let then = before.map(|before| before.share);
        if then != Some(line.share) || is_otherwise {
            changes.push(LineChange {
                name: line.name.clone(),
                then,
                now: Some(line.share),
                is_otherwise,
            });
        }
    }
    for line in &then.lines {
        if !now.lines.iter().any(|after| same(line, after)) {
            changes.push(LineChange {
                name: line.name.clone(),
                then: Some(line.share),
                now: None,
                is_otherwise: false,
            });
        }
    }
    changes
}

/// The most a substance makes up of the whole, percent, when its share of the
/// oil is `share` and the oil's of the whole `oil`.
pub fn most_of_whole(share: Share, oil: Ratio) -> Decimal {
    share.high().unwrap_or(Decimal::ONE_HUNDRED) * oil.decimal()
}
