//! A pour from the wish to the rack: what to weigh, what the scale should
//! show, and what to do after a slip of the hand.

use formula::Target;
use formula::rescale::KeepFormula;
use measure::{
    Checker, Decimal, Mass, MassUnit, Problem, Problems, Ratio, Typed, Unclear, in_system,
    parse_in, percent,
};
use workshop::facts::{AfterSlip, Fact, FormulaId, MouldId, PartFill, PourId, ProductId};
use workshop::{Formula, Lot, Planned, Pour, Refusal, Workshop, decide};

use crate::forms::{Filled, as_typed, ask_about, scale_weight};
use crate::melting::{sure_enough, units_wanted};
use crate::steps::Steps;
use crate::{ActError, App, Done, OpenError};

/// A wish for a pour, with what it would weigh.
#[derive(Debug, Clone)]
pub struct Ask {
    /// The form with its defaults filled in.
    pub filled: Filled,
    /// What to weigh, or what is unclear about the wish; none where nothing
    /// says yet how much these units take.
    pub planned: Result<Option<Planned>, Problems>,
    /// What the amount rests on, in a sentence; empty when it was asked for.
    pub rests_on: String,
}

/// What a wish names.
struct Wish {
    formula: FormulaId,
    mould: Option<MouldId>,
    product: Option<ProductId>,
    wanted: u32,
    chance: Ratio,
    melt: Option<Mass>,
}

/// Works out a wish: `product`, or `formula` and `mould`; `wanted` units with
/// a `chance`, or exactly this much `melt`.
///
/// # Errors
///
/// [`OpenError`] when what others wrote cannot be read.
pub fn ask(app: &App, filled: &Filled) -> Result<Ask, OpenError> {
    let filled = app.look(|workshop| with_defaults(workshop, filled))?;
    let wish = match app.look(|workshop| wish(workshop, &filled))? {
        Ok(wish) => wish,
        Err(problems) => {
            return Ok(Ask {
                filled,
                planned: Err(problems),
                rests_on: String::new(),
            });
        }
    };
    let (total, rests_on) = amount(app, &wish)?;
    let planned = match total {
        Some(total) => app.look(|workshop| planned(workshop, &wish, total).map(Some))?,
        None => Ok(None),
    };
    Ok(Ask {
        filled,
        planned,
        rests_on,
    })
}

/// Begins a pour as [`ask`] works it out.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn start(app: &App, who: &str, filled: &Filled) -> Result<Done, ActError> {
    let filled = app.look(|workshop| with_defaults(workshop, filled))?;
    let wish = app
        .look(|workshop| wish(workshop, &filled))?
        .map_err(Refusal::from)?;
    let (total, _) = amount(app, &wish)?;
    app.act(who, |workshop, day| {
        let total = total.ok_or_else(|| {
            Refusal::from(Problem::new(
                "melt",
                "",
                "nothing says yet how much these units take",
                "write how much to melt; after the first pour the mould knows",
            ))
        })?;
        let planned = planned(workshop, &wish, total)?;
        decide::start_pour(
            workshop,
            wish.formula,
            wish.mould,
            wish.product,
            wish.wanted,
            planned.portions,
            day,
        )
    })
}

fn with_defaults(workshop: &Workshop, filled: &Filled) -> Filled {
    let mut filled = filled.clone().or("chance", "90 %");
    if let Some(formula) = workshop.formulas().next() {
        filled = filled.or("formula", formula.id.to_string());
    }
    if product(workshop, &filled).is_none() {
        // Where there is one mould, it is the one meant.
        let mut moulds = workshop.moulds();
        if let (Some(only), None) = (moulds.next(), moulds.next()) {
            filled = filled.or("mould", only.id.to_string());
        }
    }
    let mould = product(workshop, &filled)
        .map(|product| product.mould)
        .or_else(|| filled.get("mould").parse().ok())
        .and_then(|mould| workshop.mould(mould));
    if let Some(mould) = mould
        && filled.some("wanted").is_none()
    {
        filled = filled.with("wanted", mould.cavities.to_string());
    }
    filled
}

fn product<'a>(workshop: &'a Workshop, filled: &Filled) -> Option<&'a workshop::Product> {
    workshop.product(filled.get("product").parse().ok()?)
}

fn wish(workshop: &Workshop, filled: &Filled) -> Result<Wish, Problems> {
    let mut check = Checker::default();
    let product = product(workshop, filled);
    let formula = match product {
        Some(product) => Some(product.formula),
        None => check.required("formula", Some(filled.get("formula")), |text| {
            text.parse()
                .ok()
                .and_then(|id| workshop.formula(id))
                .map(|formula| formula.id)
                .ok_or_else(|| Unclear::new(text, "it is not on the list", "choose a formula"))
        }),
    };
    let mould = match product {
        Some(product) => Some(product.mould),
        None => check.optional("mould", filled.some("mould"), |text| {
            text.parse()
                .ok()
                .and_then(|id| workshop.mould(id))
                .map(|mould| mould.id)
                .ok_or_else(|| Unclear::new(text, "it is not on the list", "choose a mould"))
        }),
    };
    let wanted = check.optional("wanted", filled.some("wanted"), units_wanted);
    let chance = check.required("chance", filled.some("chance"), |text| {
        sure_enough(text, workshop.reading())
    });
    let melt = check.optional("melt", filled.some("melt"), |text| {
        parse_in::<Mass>(text, workshop.system().mass_unit(), workshop.reading())
    });
    let (true, Some(formula), Some(chance)) = (check.is_clean(), formula, chance) else {
        return Err(check.into_problems());
    };
    Ok(Wish {
        formula,
        mould,
        product: product.map(|product| product.id),
        wanted: wanted.unwrap_or(0),
        chance,
        melt: melt.map(|melt| melt.value()),
    })
}

/// How much to melt for a wish, and what that rests on.
fn amount(app: &App, wish: &Wish) -> Result<(Option<Mass>, String), OpenError> {
    let Some(mould) = wish.mould.filter(|_| wish.wanted > 0) else {
        return Ok((wish.melt, String::new()));
    };
    let advised = app
        .advice(mould)?
        .and_then(|advice| advice.melt_for(wish.wanted, wish.chance));
    // A melt of the maker's own rests on nothing, unless it is the advised one.
    let followed = advised.filter(|need| wish.melt.is_none_or(|melt| melt == need.melt.value()));
    let Some(need) = followed else {
        return Ok((wish.melt, String::new()));
    };
    let times = measure::percent(wish.chance, 0);
    let rests = format!(
        "Enough for {} with a chance of {times}. {}",
        wish.wanted, need.doubt
    );
    Ok((Some(need.melt.value()), rests))
}

fn planned(workshop: &Workshop, wish: &Wish, total: Mass) -> Result<Planned, Problems> {
    let formula: &Formula = workshop.formula(wish.formula).ok_or_else(|| {
        Problems::from(Problem::new(
            "formula",
            wish.formula.to_string(),
            "it is gone",
            "choose another",
        ))
    })?;
    workshop::plan_pour(workshop, formula.current(), Target::Total(total)).map_err(|refusal| {
        match refusal {
            Refusal::Input(problems) => problems,
            other => Problem::new("", "", other.to_string(), "ask for something else").into(),
        }
    })
}

/// What a pour was planned to weigh in all, in the workshop's everyday unit.
pub fn planned_weight(workshop: &Workshop, pour: &Pour) -> String {
    let planned: Mass = pour.targets.iter().map(Typed::value).sum();
    in_system(planned, workshop.system()).to_string()
}

/// One ingredient of the guided weigh-out.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// What to weigh.
    pub name: String,
    /// How much, in the scale's unit.
    pub target: String,
    /// The same in the other system.
    pub also: String,
    /// What the scale reads before: what is in the pot, and the pot itself
    /// where it was not tared away.
    pub before: String,
    /// What it reads after.
    pub after: String,
    /// Whether nothing else is on the scale.
    pub is_alone: bool,
    /// What the empty pot weighs, where it stays on the scale.
    pub pot: Option<String>,
    /// The unit a bare figure is taken in.
    pub unit: &'static str,
    /// The target and the scale's step in that unit, for the bar.
    pub bar: Bar,
}

/// The figures of the bar that fills to the target.
#[derive(Debug, Clone, PartialEq)]
pub struct Bar {
    /// The target.
    pub target: f64,
    /// Half the scale's step, either side.
    pub tolerance: f64,
    /// The decimal places the target is written with.
    pub places: u32,
}

/// What the guided weigh-out shows for portion `at`.
pub fn step(workshop: &Workshop, pour: &Pour, at: usize) -> Step {
    let unit = scale_unit(workshop);
    let places = places(workshop, pour);
    let target = pour.targets.get(at).map_or(Mass::ZERO, Typed::value);
    let tare = pour
        .tare
        .as_ref()
        .map(Typed::value)
        .filter(|tare| !tare.is_zero());
    let before = pour.put_in() + tare.unwrap_or_default();
    let typed = |mass: Mass| mass.typed(unit, places).to_string();
    let step = workshop
        .settings()
        .map_or(0.0, |settings| settings.readability.value().to_f64(unit));
    Step {
        name: name_of(workshop, pour, at),
        target: pour
            .targets
            .get(at)
            .map_or_else(String::new, ToString::to_string),
        also: in_system(target, workshop.system().other()).to_string(),
        before: typed(before),
        after: typed(before + target),
        is_alone: before.is_zero(),
        pot: tare.map(typed),
        unit: unit.symbol(),
        bar: Bar {
            target: target.to_f64(unit),
            tolerance: step / 2.0,
            places,
        },
    }
}

/// What a reading of the whole pot says of one ingredient.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Meant {
    /// The ingredient.
    pub name: String,
    /// What went in of it, if the figure was the pot's.
    pub weight: String,
    /// What is in the box, as the pot's reading.
    pub reading: String,
}

impl Meant {
    /// Asks whether the figure was the pot's.
    pub(crate) fn question(&self, typed: &Typed<Mass>) -> Problem {
        let Self { name, weight, .. } = self;
        Problem::new(
            "sure_weight",
            typed.to_string(),
            format!("that looks like what the whole pot reads, with {weight} of {name} in it"),
            format!("take the {weight}, or tick the box if {typed} of {name} alone went in"),
        )
    }
}

/// What was meant where a weight looks like the reading of the whole pot: far
/// from the target, while what the pot gained is near it.
///
/// Near is from half to twice the target, far is half as much again: common
/// practice, no source.
pub fn meant(workshop: &Workshop, pour: &Pour, at: usize, typed: &Typed<Mass>) -> Option<Meant> {
    let tare = pour.tare.as_ref().map(Typed::value).unwrap_or_default();
    let before = pour.put_in() + tare;
    let target = pour.targets.get(at)?.value();
    let half = target.share(Decimal::ONE, Decimal::TWO)?;
    let gained = typed.value() - before;
    let is_near = typed.value() > before && gained >= half && gained <= target + target;
    if before.is_zero() || !is_near || typed.value() < target + half {
        return None;
    }
    let (unit, places) = (scale_unit(workshop), places(workshop, pour));
    Some(Meant {
        name: name_of(workshop, pour, at),
        weight: finely(gained, unit, places).to_string(),
        reading: typed.to_string(),
    })
}

fn scale_unit(workshop: &Workshop) -> MassUnit {
    workshop
        .settings()
        .map_or(workshop.system().mass_unit(), |settings| {
            settings.readability.unit()
        })
}

/// The decimal places that are shown: the scale's own, or more where the pour
/// was planned on a finer one.
fn places(workshop: &Workshop, pour: &Pour) -> u32 {
    let unit = scale_unit(workshop);
    let own = workshop
        .settings()
        .and_then(|settings| settings.readability.places())
        .unwrap_or(1);
    pour.targets
        .iter()
        .filter(|target| target.unit() == unit)
        .filter_map(Typed::places)
        .fold(own, u32::max)
}

pub(crate) fn name_of(workshop: &Workshop, pour: &Pour, at: usize) -> String {
    pour.portions
        .get(at)
        .and_then(|portion| workshop.supply(portion.supply))
        .map_or_else(String::new, |supply| supply.name.clone())
}

/// More of an ingredient that is already in the pot, to keep the formula.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Addition {
    /// Which portion.
    pub portion: usize,
    /// What to add.
    pub name: String,
    /// How much to add.
    pub add: String,
    /// What of it is in the pot.
    pub in_pot: String,
    /// What it is to be in all.
    pub target: String,
}

/// The next ingredient to add more of, after a slip was met by scaling the rest.
pub fn next_addition(workshop: &Workshop, pour: &Pour) -> Option<Addition> {
    if pour.slips.last() != Some(&AfterSlip::ScaleTheRest) {
        return None;
    }
    let half = workshop
        .settings()
        .map_or(0, |settings| settings.readability.value().micrograms() / 2);
    let (unit, places) = (scale_unit(workshop), places(workshop, pour));
    let (at, in_pot, target) = pour
        .weighed
        .iter()
        .zip(&pour.targets)
        .enumerate()
        .filter_map(|(i, (weighed, target))| Some((i, weighed.as_ref()?.value(), target.value())))
        .find(|(_, in_pot, target)| (*target - *in_pot).micrograms() > half)?;
    Some(Addition {
        portion: at,
        name: name_of(workshop, pour, at),
        add: (target - in_pot).typed(unit, places).to_string(),
        in_pot: in_pot.typed(unit, places).to_string(),
        target: target.typed(unit, places).to_string(),
    })
}

/// Notes that more of a portion went in: `portion`, and `weight` that was added;
/// `sure_weight` says it again where it is far more than was still to come.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn add(app: &App, who: &str, pour: PourId, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| added(workshop, pour, filled))
}

/// Notes that more of a portion went in, as [`add`] does, and that there is no
/// more: what is in the pot is the target from here on.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn add_the_last(app: &App, who: &str, pour: PourId, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, day| {
        let mut steps = Steps::new(workshop, day);
        steps.fold(added(workshop, pour, filled)?);
        let met = slip_met(&steps.workshop, pour, AfterSlip::KeepGoing)?;
        steps.fold(met);
        Ok(steps.facts)
    })
}

fn added(workshop: &Workshop, pour: PourId, filled: &Filled) -> Result<Vec<Fact>, Refusal> {
    let added = scale_weight(workshop, filled)?;
    let at = filled.get("portion").parse().unwrap_or(u32::MAX);
    let decided = decide::add_to_portion(workshop, pour, at, added.clone())?;
    ask_about(filled, "weight", || {
        let found = workshop.pour(pour)?;
        let in_pot = found.weighed.get(at as usize)?.as_ref()?.value();
        let target = found.targets.get(at as usize)?.value();
        let wanted = (target - in_pot).typed(scale_unit(workshop), places(workshop, found));
        decide::doubt_of_weight(workshop, &added, &wanted)
    })?;
    Ok(decided)
}

/// Says what slipped: `0.3 oz too much soy wax`.
pub fn slip_words(workshop: &Workshop, pour: &Pour, ways: &formula::Rescale) -> String {
    let (unit, places) = (scale_unit(workshop), places(workshop, pour));
    let slips: Vec<_> = ways
        .over
        .iter()
        .filter_map(|at| {
            let weighed = pour.weighed.get(*at)?.as_ref()?.value();
            let target = pour.targets.get(*at)?.value();
            Some(format!(
                "{} too much {}",
                finely(weighed - target, unit, places),
                name_of(workshop, pour, *at)
            ))
        })
        .collect();
    format!("{} went in.", slips.join(" and "))
}

/// A portion of the larger plan, in the scale's unit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ScaledRow {
    /// What it is to be in all.
    pub target: String,
    /// What is still to add.
    pub add: String,
}

/// How many steps of its scale a slip may be off and still be a small one.
/// Common practice, no source.
const SMALL_SLIP: i64 = 2;

/// Whether a slip is so small that it needs no loud word.
pub fn is_small_slip(workshop: &Workshop, pour: &Pour, ways: &formula::Rescale) -> bool {
    let step = workshop
        .settings()
        .map_or(0, |settings| settings.readability.value().micrograms());
    ways.over.iter().all(|at| {
        let weighed = pour.weighed.get(*at).and_then(Option::as_ref);
        weighed
            .zip(pour.targets.get(*at))
            .is_some_and(|(weighed, target)| {
                (weighed.value() - target.value()).micrograms() <= SMALL_SLIP.saturating_mul(step)
            })
    })
}

/// What went in too much of, as it is named: `soy wax and Harbour Fig oil`.
pub fn slipped_names(workshop: &Workshop, pour: &Pour, ways: &formula::Rescale) -> String {
    let names: Vec<_> = ways
        .over
        .iter()
        .map(|at| name_of(workshop, pour, *at))
        .collect();
    names.join(" and ")
}

/// The portions of the larger plan, in the scale's unit.
pub fn scaled_rows(workshop: &Workshop, pour: &Pour, keep: &KeepFormula) -> Vec<ScaledRow> {
    let (unit, places) = (scale_unit(workshop), places(workshop, pour));
    keep.portions
        .iter()
        .map(|scaled| ScaledRow {
            target: scaled.target.typed(unit, places).to_string(),
            add: scaled.add.typed(unit, places).to_string(),
        })
        .collect()
}

/// Meets a slip of the hand by one of the two ways on. Choosing to keep going
/// when nothing slipped, as one does when there is no more to add, makes what
/// is in the pot the target.
///
/// # Errors
///
/// [`ActError`] when there is no such pour, it is poured already, or the
/// formula cannot be kept.
pub fn meet_slip(app: &App, who: &str, pour: PourId, choice: AfterSlip) -> Result<Done, ActError> {
    app.act(who, |workshop, _| slip_met(workshop, pour, choice))
}

fn slip_met(workshop: &Workshop, pour: PourId, choice: AfterSlip) -> Result<Vec<Fact>, Refusal> {
    let found = workshop.pour(pour).ok_or_else(|| Refusal::Unknown {
        what: "pour",
        id: pour.to_string(),
    })?;
    let (unit, places) = (scale_unit(workshop), places(workshop, found));
    let targets = match choice {
        AfterSlip::KeepGoing => found
            .weighed
            .iter()
            .zip(&found.targets)
            .map(|(weighed, target)| weighed.as_ref().unwrap_or(target).clone())
            .collect(),
        AfterSlip::ScaleTheRest => {
            let keep = workshop::ways_on(workshop, found).and_then(|ways| ways.keep_formula);
            let keep = keep.ok_or_else(|| {
                Refusal::from(Problem::new(
                    "choice",
                    "",
                    "there is nothing to scale any more",
                    "look at how the pour stands now",
                ))
            })?;
            keep.portions
                .iter()
                .zip(&found.weighed)
                .map(|(scaled, weighed)| match weighed {
                    Some(weighed) if weighed.value() == scaled.target => weighed.clone(),
                    _ => scaled.target.typed(unit, places),
                })
                .collect()
        }
    };
    decide::rescale(workshop, pour, choice, targets)
}

/// A finished lot as its form would be filled in; what was typed stays.
pub fn as_counted(workshop: &Workshop, pour: &Pour, lot: &Lot, typed: &Filled) -> Filled {
    let own = |text: String| as_typed(workshop, &text);
    let mut filled = typed.clone();
    if let Some(count) = &pour.count {
        let weight = |weight: &Option<Typed<Mass>>| weight.as_ref().map(ToString::to_string);
        let part = match &count.part {
            PartFill::Weighed(weight) => weight.to_string(),
            PartFill::Share(share) => share.to_string(),
            PartFill::Unknown => String::new(),
            PartFill::None => "none".to_owned(),
        };
        filled = filled
            .or("full", count.full.to_string())
            .or("part", own(part))
            .or("left", own(weight(&count.left).unwrap_or_default()))
            .or(
                "topped_up",
                own(weight(&count.topped_up).unwrap_or_default()),
            );
    }
    let minutes = lot.minutes.as_ref().map(ToString::to_string);
    filled
        .or("good", lot.good.to_string())
        .or("seconds", lot.seconds.to_string())
        .or("rejects", lot.rejects.to_string())
        .or("minutes", own(minutes.unwrap_or_default()))
}

/// The load that was really weighed, on both bases; none before oil is in.
pub fn load_words(workshop: &Workshop, pour: &Pour) -> Option<String> {
    let recipe = workshop.recipe_of(pour)?;
    let oil_supply = recipe.oil?;
    let weighed = |is_wanted: &dyn Fn(usize) -> bool| -> Mass {
        pour.weighed
            .iter()
            .enumerate()
            .filter(|(i, _)| is_wanted(*i))
            .filter_map(|(_, weighed)| weighed.as_ref().map(Typed::value))
            .sum()
    };
    let is = |i: usize, supply| {
        pour.portions
            .get(i)
            .is_some_and(|portion| portion.supply == supply)
    };
    let in_blend = |i: usize| recipe.blend.iter().any(|part| is(i, part.supply));
    let oil = weighed(&|i| is(i, oil_supply));
    let wax = weighed(&in_blend);
    if oil.is_zero() {
        return None;
    }
    let ratio = |over: Mass, under: Mass| {
        let decimal = Decimal::from(over.micrograms()).checked_div(under.micrograms().into())?;
        Ratio::from_decimal(decimal)
    };
    Some(format!(
        "{} of wax ({} of the melt) as weighed; the formula says {}.",
        percent(ratio(oil, wax)?, 1),
        percent(ratio(oil, pour.put_in())?, 1),
        recipe.load
    ))
}

/// The temperatures written down, in words.
pub fn temperatures(pour: &Pour) -> String {
    let wax = pour.wax_at.as_ref().map(|at| format!("wax at {at}"));
    let room = pour.room_at.as_ref().map(|at| format!("room at {at}"));
    wax.into_iter().chain(room).collect::<Vec<_>>().join(", ")
}

/// What a pour sheet says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sheet {
    /// The load on both bases.
    pub load: String,
    /// What to weigh.
    pub rows: Vec<SheetRow>,
    /// Cautions and remarks of the plan.
    pub notes: Vec<String>,
    /// When the oil goes in.
    pub add_at: String,
    /// When it is poured.
    pub pour_at: String,
    /// When the lot is fit for sale, in words.
    pub ready: String,
}

/// One ingredient of a pour sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetRow {
    /// What to weigh.
    pub name: String,
    /// How much the plan said before anything was weighed.
    pub plan: String,
    /// How much was aimed at when it went in, or is aimed at now.
    pub target: String,
    /// What the pot then reads: what went in, and what is still to come.
    pub running: String,
    /// What was really weighed, where it was.
    pub weighed: String,
    /// How far that is from the target, with its sign.
    pub difference: String,
}

/// How far a weight is from its target, `+1.0 oz`: as finely as both were
/// written, so that what is off is never shown as nothing.
fn difference(weighed: &Typed<Mass>, target: &Typed<Mass>, unit: MassUnit, places: u32) -> String {
    let (over, short) = (
        weighed.value() - target.value(),
        target.value() - weighed.value(),
    );
    let sign = match weighed.value().cmp(&target.value()) {
        std::cmp::Ordering::Greater => "+",
        std::cmp::Ordering::Less => "−",
        std::cmp::Ordering::Equal => "",
    };
    let off = over.max(short);
    format!("{sign}{}", finely(off, unit, places))
}

/// A weight with as many more places as it takes to be seen.
fn finely(mass: Mass, unit: MassUnit, places: u32) -> Typed<Mass> {
    (places..places + 4)
        .map(|places| mass.typed(unit, places))
        .find(|typed| mass.is_zero() || !typed.value().is_zero())
        .unwrap_or_else(|| mass.typed(unit, places))
}

/// Everything a pour sheet says about a pour.
pub fn sheet(workshop: &Workshop, pour: &Pour) -> Sheet {
    let recipe = workshop.recipe_of(pour);
    let (unit, places) = (scale_unit(workshop), places(workshop, pour));
    let mut running = Mass::ZERO;
    let rows = pour
        .targets
        .iter()
        .zip(&pour.aimed)
        .zip(&pour.weighed)
        .enumerate()
        .map(|(i, ((now, aimed), weighed))| {
            let target = aimed.as_ref().unwrap_or(now);
            running = running + weighed.as_ref().unwrap_or(now).value();
            let off = weighed
                .as_ref()
                .map(|weighed| difference(weighed, target, unit, places));
            SheetRow {
                name: name_of(workshop, pour, i),
                plan: pour
                    .portions
                    .get(i)
                    .map_or_else(String::new, |portion| portion.weight.to_string()),
                target: target.to_string(),
                running: running.typed(unit, places).to_string(),
                weighed: weighed
                    .as_ref()
                    .map_or_else(String::new, ToString::to_string),
                difference: off.unwrap_or_default(),
            }
        })
        .collect();
    // What went in by mistake and was kept is no plan: the remarks are those of
    // what was meant.
    let mut meant = pour.clone();
    if pour.slips.last() == Some(&AfterSlip::KeepGoing) {
        meant.targets = pour
            .portions
            .iter()
            .map(|portion| portion.weight.clone())
            .collect();
    }
    let plan = workshop::plan_of(workshop, &meant);
    let text = |value: Option<String>| value.unwrap_or_default();
    let cure = recipe.map_or(0, |recipe| recipe.cure_days);
    Sheet {
        load: recipe.map_or_else(String::new, |recipe| match recipe.oil {
            Some(_) => recipe.load.both(Ratio::ZERO),
            None => "unscented".to_owned(),
        }),
        rows,
        notes: plan.map_or_else(Vec::new, |(plan, _)| {
            plan.notes.into_iter().map(|note| note.text).collect()
        }),
        add_at: text(
            recipe
                .and_then(|recipe| recipe.add_at.as_ref())
                .map(ToString::to_string),
        ),
        pour_at: text(
            recipe
                .and_then(|recipe| recipe.pour_at.as_ref())
                .map(ToString::to_string),
        ),
        ready: match workshop.ready_on(pour) {
            Some(ready) => ready.strftime("%-d %B %Y").to_string(),
            None if cure == 0 => "when it has set".to_owned(),
            None => format!("{cure} days after pouring: ____________"),
        },
    }
}

/// One sticker for each unit counted, or hoped for before the count.
pub fn n_stickers(pour: &Pour) -> u32 {
    let n = pour.count.as_ref().map_or(pour.wanted, |count| count.full);
    n.clamp(1, 500)
}
