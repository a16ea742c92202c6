//! What to weigh for a pour, in which order, and what the scale will show.

mod calculation;

use measure::{Decimal, Mass, Ratio, Readability, Temperature, Typed, Working, percent};

use crate::blend::{Blend, Limit, PartKind};
use crate::dye::{Dye, DyeAmount};
use crate::load::FragranceLoad;

pub(crate) use calculation::percent_figure;
pub use calculation::{
    BlendPart, DropsOut, DyeInput, Input, KeepFormulaOut, KeepGoingOut, Output, PortionOut,
    RescaleOut, ScaledOut, TargetInput, calculate, calculate_with,
};

const DEFINITIONS: &str = "the definitions: of wax = oil ÷ wax, of total = oil ÷ everything";
const ARITHMETIC: &str = "arithmetic";

/// What goes into a pour, for any size of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Formula {
    /// The waxes and additives; together they are the wax.
    pub blend: Blend,
    /// How much fragrance.
    pub load: FragranceLoad,
    /// Colour.
    pub dyes: Vec<Dye>,
}

/// How much is to be made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Target {
    /// This much wax is on hand; everything else follows.
    Wax(Mass),
    /// Everything in the pot together.
    Total(Mass),
    /// So many units, and what is lost on the way.
    Units {
        /// How many.
        count: u64,
        /// What one weighs.
        each: Mass,
        /// What stays in the pot and the pitcher.
        loss: Loss,
    },
}

/// What is melted but does not end in goods.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Loss {
    /// A weight a pour.
    Weight(Mass),
    /// A share of what is melted, so melted = goods ÷ (1 - loss).
    OfMelted(Ratio),
}

impl Loss {
    /// None at all.
    pub const NONE: Self = Self::Weight(Mass::ZERO);
}

/// The bench the pour is weighed on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bench {
    /// The step of the scale.
    pub readability: Readability,
    /// What the empty pot weighs, when it is not tared away.
    pub tare: Option<Mass>,
    /// What the melter holds.
    pub melter: Option<Mass>,
    /// Flash point of the fragrance oil, from its safety data sheet.
    pub flash_point: Option<Typed<Temperature>>,
    /// Temperature at which the oil goes in.
    pub add_at: Option<Typed<Temperature>>,
}

impl Bench {
    /// A scale of this step, and nothing else known.
    pub const fn new(readability: Readability) -> Self {
        Self {
            readability,
            tare: None,
            melter: None,
            flash_point: None,
            add_at: None,
        }
    }

    /// A mass with one more digit than a coarse scale shows, for sentences; a
    /// scale that shows hundredths needs none.
    pub(crate) fn tell(&self, mass: Mass) -> Typed<Mass> {
        let shown = self.readability.nearest(Mass::ZERO).places().unwrap_or(0);
        self.finer(mass, u32::from(shown < 2))
    }

    /// A mass with two more digits than the scale shows, for the working.
    pub(crate) fn fine(&self, mass: Mass) -> Typed<Mass> {
        self.finer(mass, 2)
    }

    fn finer(&self, mass: Mass, more: u32) -> Typed<Mass> {
        let places = self.readability.nearest(Mass::ZERO).places().unwrap_or(0);
        mass.typed(self.readability.unit(), (places + more).min(6))
    }
}

/// What an ingredient is in a pour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Role {
    /// A wax of the blend.
    Wax,
    /// An additive of the blend.
    Additive,
    /// Colour.
    Dye,
    /// Fragrance oil.
    Fragrance,
}

impl Role {
    /// Whether it counts as wax when a load is of wax.
    pub const fn is_in_blend(self) -> bool {
        matches!(self, Self::Wax | Self::Additive)
    }

    /// The role in one word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Wax => "wax",
            Self::Additive => "additive",
            Self::Dye => "dye",
            Self::Fragrance => "fragrance",
        }
    }
}

/// One ingredient to weigh.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Portion {
    /// What the maker calls it.
    pub name: String,
    /// What it is.
    pub role: Role,
    /// By the formula, before rounding to the scale.
    pub exact: Mass,
    /// What to weigh: rounded half-even to the scale's step.
    pub weight: Typed<Mass>,
    /// What the scale shows after it, everything in one pot, the pot not
    /// counted.
    pub running: Typed<Mass>,
    /// What the scale shows after it with the pot counted.
    pub reading: Typed<Mass>,
}

/// Dye that is counted and not weighed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DropCount {
    /// What the maker calls it.
    pub name: String,
    /// How many drops.
    pub drops: Decimal,
}

/// Wax, fragrance and everything else in a pot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Contents {
    /// The blend.
    pub wax: Mass,
    /// The fragrance oil.
    pub oil: Mass,
    /// Dye, where it is weighed.
    pub dye: Mass,
}

impl Contents {
    /// Wax and oil with dye as a share of the wax; none beyond measure.
    pub fn with_dye(wax: Mass, oil: Mass, dye: Ratio) -> Option<Self> {
        let dye = wax.share(dye.decimal(), Decimal::ONE)?;
        (wax <= MOST && oil <= MOST && dye <= MOST).then_some(Self { wax, oil, dye })
    }

    /// Adds an ingredient.
    pub fn add(&mut self, role: Role, mass: Mass) {
        let into = match role {
            Role::Wax | Role::Additive => &mut self.wax,
            Role::Dye => &mut self.dye,
            Role::Fragrance => &mut self.oil,
        };
        *into = *into + mass;
    }

    /// All of it.
    pub fn total(&self) -> Mass {
        self.wax + self.oil + self.dye
    }

    /// Oil ÷ wax; none without wax.
    pub fn of_wax(&self) -> Option<Ratio> {
        quotient(self.oil, self.wax)
    }

    /// Oil ÷ everything; none when there is nothing.
    pub fn of_total(&self) -> Option<Ratio> {
        quotient(self.oil, self.total())
    }
}

pub(crate) fn quotient(over: Mass, under: Mass) -> Option<Ratio> {
    Decimal::from(over.micrograms())
        .checked_div(Decimal::from(under.micrograms()))
        .and_then(Ratio::from_decimal)
}

/// What a note is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum NoteKind {
    /// More oil than the waxes' sheets allow.
    OverLimit,
    /// A wax states no limit.
    LimitUnknown,
    /// The oil goes in at or above its flash point.
    FlashPoint,
    /// The melter does not hold it.
    MelterTooSmall,
    /// The scale is too coarse for an ingredient.
    Coarse,
    /// What the same percentage would be on the other base.
    OtherBase,
    /// The melter holds it.
    MelterHolds,
    /// Dye counted in drops.
    Drops,
    /// What follows from a way on after an over-pour.
    Consequence,
}

/// A sentence that belongs beside the figures.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    /// What it is about.
    pub kind: NoteKind,
    /// The sentence.
    pub text: String,
}

impl Note {
    pub(crate) fn new(kind: NoteKind, text: impl Into<String>) -> Self {
        Self {
            kind,
            text: text.into(),
        }
    }

    /// Whether the maker should stop and look before pouring.
    pub const fn is_caution(&self) -> bool {
        matches!(
            self.kind,
            NoteKind::OverLimit
                | NoteKind::FlashPoint
                | NoteKind::MelterTooSmall
                | NoteKind::Coarse
        )
    }
}

/// A pour, ready to weigh.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    /// The load asked for.
    pub load: FragranceLoad,
    /// What to weigh, in the order to weigh it: blend, dye, fragrance.
    pub portions: Vec<Portion>,
    /// Dye to count in drops.
    pub drops: Vec<DropCount>,
    /// By the formula, before rounding; adds up to the target exactly.
    pub exact: Contents,
    /// As it will be weighed.
    pub weighed: Contents,
    /// What ends in goods, when units were asked for.
    pub goods: Option<Mass>,
    /// The units asked for.
    pub units: Option<u64>,
    /// What the blend may carry.
    pub limit: Limit,
    /// Dye weighed, as a share of the wax.
    pub dye_share: Ratio,
    /// What belongs beside the figures; cautions first.
    pub notes: Vec<Note>,
    /// How the figures were found.
    pub working: Working,
}

impl Plan {
    /// The load as weighed, of wax.
    pub fn of_wax(&self) -> Ratio {
        self.weighed
            .of_wax()
            .expect("a plan without wax is refused")
    }

    /// The load as weighed, of everything in the pot.
    pub fn of_total(&self) -> Ratio {
        self.weighed
            .of_total()
            .expect("a plan without wax is refused")
    }

    /// How much oil is weighed above what the sheets allow, if it is.
    pub fn over_limit(&self) -> Option<Mass> {
        over(self.weighed.oil, self.limit.oil(self.weighed.wax)?)
    }
}

/// How much more `oil` is than `limit`, when it is.
pub(crate) fn over(oil: Mass, limit: Mass) -> Option<Mass> {
    (oil > limit).then(|| oil - limit)
}

/// Why a pour cannot be planned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum PlanError {
    /// The target is no weight at all.
    #[error("there is nothing to melt")]
    Nothing,
    /// More than a thousand tonnes, or figures beyond all measure.
    #[error("that is more than this can reckon with")]
    TooLarge,
    /// The loss is everything.
    #[error("everything melted would be lost")]
    AllLost,
    /// Dye and fragrance leave no room for wax.
    #[error("dye and fragrance leave no room for wax")]
    NoWax,
    /// The scale's step is larger than the wax.
    #[error("the scale is too coarse: the wax rounds to nothing")]
    TooCoarse,
}

/// A thousand tonnes. Sums of a few such masses stay exact.
pub(crate) const MOST: Mass = Mass::from_micrograms(1_000_000_000_000_000);

/// Plans a pour.
///
/// Everything is reckoned exactly to the microgram and the largest wax takes
/// what remains, so that portions add up to the target; only then is each
/// portion rounded to the scale, half-even, and the load that results from the
/// rounding is part of the plan.
///
/// # Errors
///
/// [`PlanError`] when the target is nothing, beyond measure, or leaves no wax
/// that the scale can show.
///
/// # Source
///
/// The definitions of both loads. With W wax, F oil, a dye per wax, m dye of
/// fixed weight, T everything: T = W + F + aW + m, and F = l W or F = c T.
pub fn plan(formula: &Formula, target: Target, bench: &Bench) -> Result<Plan, PlanError> {
    let mut working = Working::new();
    let dyes = Colour::of(formula)?;
    let goods = goods(target)?;
    let Split { exact, colours } = match target {
        Target::Wax(wax) => from_wax(formula, &dyes, wax, bench, &mut working)?,
        Target::Total(total) => from_total(formula, &dyes, total, bench, &mut working)?,
        Target::Units { .. } => {
            let total = melted(target, bench, &mut working)?;
            from_total(formula, &dyes, total, bench, &mut working)?
        }
    };
    let wax = exact.wax;
    let dye_share = quotient(exact.dye, wax).ok_or(PlanError::NoWax)?;

    let mut poured = Pot {
        bench,
        portions: Vec::with_capacity(formula.blend.parts().len() + formula.dyes.len() + 1),
        running: Mass::ZERO,
        weighed: Contents::default(),
    };
    for ((part, _), portion) in formula.blend.shares().zip(formula.blend.split(wax)) {
        let role = match part.kind {
            PartKind::Wax => Role::Wax,
            PartKind::Additive => Role::Additive,
        };
        let weight = poured.pour(&part.name, role, portion);
        working.step(
            format!("Weigh {}", part.name),
            "its parts ÷ all parts × wax, rounded to the scale",
            format!(
                "{} ÷ {} × {} = {}",
                part.parts.normalize(),
                formula.blend.sum().normalize(),
                bench.fine(wax),
                bench.fine(portion)
            ),
            weight.to_string(),
            ARITHMETIC,
        );
    }
    let mut drops = Vec::new();
    for (dye, portion) in formula.dyes.iter().zip(&colours) {
        if let Some(count) = dye.drops(wax) {
            drops.push(DropCount {
                name: dye.name.clone(),
                drops: count,
            });
        }
        if let Some(portion) = portion {
            let weight = poured.pour(&dye.name, Role::Dye, *portion);
            working.step(
                format!("Weigh {}", dye.name),
                "its share of the wax, rounded to the scale",
                match dye.amount {
                    DyeAmount::OfWax(share) => {
                        format!("{share} × {} = {}", bench.fine(wax), bench.fine(*portion))
                    }
                    DyeAmount::Drops(_) | DyeAmount::DropsPer(..) => {
                        format!(
                            "{} drops = {}",
                            dye.drops(wax).unwrap_or_default(),
                            bench.fine(*portion)
                        )
                    }
                },
                weight.to_string(),
                "what one drop weighs is the maker's own figure",
            );
        }
    }
    if !formula.load.ratio().decimal().is_zero() {
        let weight = poured.pour("fragrance oil", Role::Fragrance, exact.oil);
        working.step(
            "Weigh fragrance oil",
            match formula.load {
                FragranceLoad::OfWax(_) => "load × wax, rounded to the scale",
                FragranceLoad::OfTotal(_) => "load × total, rounded to the scale",
            },
            match formula.load {
                FragranceLoad::OfWax(load) => {
                    format!("{load} × {} = {}", bench.fine(wax), bench.fine(exact.oil))
                }
                FragranceLoad::OfTotal(load) => format!(
                    "{load} × {} = {}",
                    bench.fine(exact.total()),
                    bench.fine(exact.oil)
                ),
            },
            weight.to_string(),
            DEFINITIONS,
        );
    }
    let Pot {
        portions, weighed, ..
    } = poured;
    let (of_wax, of_total) = weighed
        .of_wax()
        .zip(weighed.of_total())
        .ok_or(PlanError::TooCoarse)?;
    let shown = |mass: Mass| bench.readability.nearest(mass);
    working.step(
        "Load as weighed, of wax",
        "oil ÷ wax",
        format!("{} ÷ {}", shown(weighed.oil), shown(weighed.wax)),
        percent(of_wax, 2),
        DEFINITIONS,
    );
    working.step(
        "Load as weighed, of total",
        "oil ÷ everything in the pot",
        format!("{} ÷ {}", shown(weighed.oil), shown(weighed.total())),
        percent(of_total, 2),
        DEFINITIONS,
    );

    let mut plan = Plan {
        load: formula.load,
        portions,
        drops,
        exact,
        weighed,
        goods,
        units: match target {
            Target::Units { count, .. } => Some(count),
            Target::Wax(_) | Target::Total(_) => None,
        },
        limit: formula.blend.limit(),
        dye_share,
        notes: Vec::new(),
        working,
    };
    limit_steps(&mut plan, formula, bench);
    plan.notes = notes(&plan, formula, target, bench);
    Ok(plan)
}

/// Fills one pot, ingredient by ingredient.
struct Pot<'a> {
    bench: &'a Bench,
    portions: Vec<Portion>,
    running: Mass,
    weighed: Contents,
}

impl Pot<'_> {
    fn pour(&mut self, name: &str, role: Role, exact: Mass) -> Typed<Mass> {
        let scale = &self.bench.readability;
        let weight = scale.nearest(exact);
        self.running = self.running + weight.value();
        self.weighed.add(role, weight.value());
        self.portions.push(Portion {
            name: name.to_owned(),
            role,
            exact,
            weight: weight.clone(),
            running: scale.nearest(self.running),
            reading: scale.nearest(self.running + self.bench.tare.unwrap_or_default()),
        });
        weight
    }
}

/// A pour split up, and what each dye of the formula weighs in it; none for
/// dye that is only counted.
struct Split {
    exact: Contents,
    colours: Vec<Option<Mass>>,
}

/// The dyes of a formula, summed by how they grow.
struct Colour<'a> {
    dyes: &'a [Dye],
    of_wax: Decimal,
    fixed: Mass,
}

impl<'a> Colour<'a> {
    fn of(formula: &'a Formula) -> Result<Self, PlanError> {
        let mut of_wax = Decimal::ZERO;
        let mut fixed = Mass::ZERO;
        for dye in &formula.dyes {
            of_wax = of_wax
                .checked_add(dye.share_of_wax().unwrap_or_default())
                .ok_or(PlanError::TooLarge)?;
            fixed = fixed + dye.fixed().unwrap_or_default();
        }
        if of_wax > Decimal::ONE {
            return Err(PlanError::NoWax);
        }
        if fixed > MOST {
            return Err(PlanError::TooLarge);
        }
        Ok(Self {
            dyes: &formula.dyes,
            of_wax,
            fixed,
        })
    }

    /// What each dye weighs with this wax; none for dye that is only counted.
    fn portions(&self, wax: Mass) -> Result<Vec<Option<Mass>>, PlanError> {
        self.dyes
            .iter()
            .map(|dye| match dye.share_of_wax() {
                Some(share) => wax
                    .share(share, Decimal::ONE)
                    .map(Some)
                    .ok_or(PlanError::TooLarge),
                None => Ok(dye.fixed()),
            })
            .collect()
    }

    /// `+ 0.2 % + 0.1 g` for a sum in the working.
    fn term(&self) -> String {
        if self.of_wax.is_zero() {
            String::new()
        } else {
            format!(" + {}", self.of_wax.round_dp(6).normalize())
        }
    }

    fn less(&self, bench: &Bench) -> String {
        if self.fixed.is_zero() {
            String::new()
        } else {
            format!(" − {}", bench.fine(self.fixed))
        }
    }
}

fn within(mass: Mass) -> Result<Mass, PlanError> {
    if mass <= Mass::ZERO {
        Err(PlanError::Nothing)
    } else if mass > MOST {
        Err(PlanError::TooLarge)
    } else {
        Ok(mass)
    }
}

fn goods(target: Target) -> Result<Option<Mass>, PlanError> {
    match target {
        Target::Wax(_) | Target::Total(_) => Ok(None),
        Target::Units { count, each, .. } => within(
            each.share(Decimal::from(count), Decimal::ONE)
                .ok_or(PlanError::TooLarge)?,
        )
        .map(Some),
    }
}

/// What to melt for the units wanted.
fn melted(target: Target, bench: &Bench, working: &mut Working) -> Result<Mass, PlanError> {
    let Target::Units { count, each, loss } = target else {
        return Err(PlanError::Nothing);
    };
    let goods = goods(target)?.ok_or(PlanError::Nothing)?;
    working.step(
        "Goods",
        "units × what one weighs",
        format!("{count} × {}", bench.fine(each)),
        bench.fine(goods).to_string(),
        ARITHMETIC,
    );
    let total = match loss {
        Loss::Weight(lost) => {
            let total = within(goods + lost)?;
            working.step(
                "To melt",
                "goods + loss",
                format!("{} + {}", bench.fine(goods), bench.fine(lost)),
                bench.fine(total).to_string(),
                "mass balance of a pour",
            );
            total
        }
        Loss::OfMelted(lost) => {
            if lost >= Ratio::ONE {
                return Err(PlanError::AllLost);
            }
            let total = within(
                goods
                    .share(Decimal::ONE, Decimal::ONE - lost.decimal())
                    .ok_or(PlanError::TooLarge)?,
            )?;
            working.step(
                "To melt",
                "goods ÷ (1 − loss)",
                format!(
                    "{} ÷ (1 − {})",
                    bench.fine(goods),
                    lost.decimal().normalize()
                ),
                bench.fine(total).to_string(),
                "mass balance of a pour",
            );
            total
        }
    };
    Ok(total)
}

fn from_wax(
    formula: &Formula,
    dyes: &Colour,
    wax: Mass,
    bench: &Bench,
    working: &mut Working,
) -> Result<Split, PlanError> {
    let wax = within(wax)?;
    let colours = dyes.portions(wax)?;
    let dye = colours.iter().flatten().copied().sum();
    let oil = oil_for_wax(formula.load, wax, dye).ok_or(PlanError::TooLarge)?;
    let exact = Contents { wax, oil, dye };
    if let FragranceLoad::OfTotal(load) = formula.load {
        let others = if dye.is_zero() { "" } else { " and dye" };
        working.step(
            "Everything in the pot",
            format!("wax{others} ÷ (1 − load)"),
            format!(
                "{} ÷ (1 − {})",
                bench.fine(wax + dye),
                load.decimal().normalize()
            ),
            bench.fine(exact.total()).to_string(),
            DEFINITIONS,
        );
    }
    Ok(Split { exact, colours })
}

fn oil_for_wax(load: FragranceLoad, wax: Mass, dye: Mass) -> Option<Mass> {
    match load {
        FragranceLoad::OfWax(load) => wax.share(load.decimal(), Decimal::ONE),
        FragranceLoad::OfTotal(load) => {
            (wax + dye).share(load.decimal(), Decimal::ONE - load.decimal())
        }
    }
}

fn from_total(
    formula: &Formula,
    dyes: &Colour,
    total: Mass,
    bench: &Bench,
    working: &mut Working,
) -> Result<Split, PlanError> {
    let total = within(total)?;
    let split = split(formula.load, dyes, total)?;
    let grow = Decimal::ONE + dyes.of_wax;
    match formula.load {
        FragranceLoad::OfWax(load) => working.step(
            "Wax",
            if formula.dyes.is_empty() {
                "total ÷ (1 + load)"
            } else {
                "(total − dye of fixed weight) ÷ (1 + load + dye)"
            },
            format!(
                "{}{} ÷ (1 + {}{})",
                bench.fine(total),
                dyes.less(bench),
                load.decimal().normalize(),
                dyes.term()
            ),
            bench.fine(split.exact.wax).to_string(),
            DEFINITIONS,
        ),
        FragranceLoad::OfTotal(load) => working.step(
            "Wax",
            if formula.dyes.is_empty() {
                "total × (1 − load)"
            } else {
                "(total × (1 − load) − dye of fixed weight) ÷ (1 + dye)"
            },
            format!(
                "({} × (1 − {}){}) ÷ {}",
                bench.fine(total),
                load.decimal().normalize(),
                dyes.less(bench),
                grow.round_dp(6).normalize()
            ),
            bench.fine(split.exact.wax).to_string(),
            DEFINITIONS,
        ),
    }
    Ok(split)
}

/// Splits everything into wax, oil and dye; the wax takes what remains.
fn split(load: FragranceLoad, dyes: &Colour, total: Mass) -> Result<Split, PlanError> {
    let free = total - dyes.fixed;
    if free <= Mass::ZERO {
        return Err(PlanError::NoWax);
    }
    let grow = Decimal::ONE + dyes.of_wax;
    let (oil, about) = match load {
        FragranceLoad::OfWax(load) => {
            let whole = grow + load.decimal();
            (
                free.share(load.decimal(), whole),
                free.share(Decimal::ONE, whole),
            )
        }
        FragranceLoad::OfTotal(load) => {
            let oil = total
                .share(load.decimal(), Decimal::ONE)
                .ok_or(PlanError::TooLarge)?;
            (Some(oil), (free - oil).share(Decimal::ONE, grow))
        }
    };
    let (oil, about) = oil.zip(about).ok_or(PlanError::TooLarge)?;
    if about <= Mass::ZERO {
        return Err(PlanError::NoWax);
    }
    let colours = dyes.portions(about)?;
    let dye = colours.iter().flatten().copied().sum();
    let wax = total - oil - dye;
    if wax <= Mass::ZERO {
        return Err(PlanError::NoWax);
    }
    Ok(Split {
        exact: Contents { wax, oil, dye },
        colours,
    })
}

fn limit_steps(plan: &mut Plan, formula: &Formula, bench: &Bench) {
    let Some(of_wax) = plan.limit.of_wax else {
        return;
    };
    let terms: Vec<String> = formula
        .blend
        .shares()
        .filter_map(|(part, share)| {
            Some(format!(
                "{} × {}",
                percent(share, 1),
                percent(part.max_load?.as_of_wax(Ratio::ZERO), 2)
            ))
        })
        .collect();
    plan.working.step(
        "Most oil the sheets allow",
        "each wax's share × its own limit, added up",
        terms.join(" + "),
        format!("{} of wax", percent(of_wax, 2)),
        "each wax's sheet; that limits add up by share is common practice, no source",
    );
    if let Some(oil) = plan.limit.oil(plan.weighed.wax) {
        plan.working.step(
            "That limit in oil",
            "limit × wax",
            format!(
                "{} × {}",
                percent(of_wax, 2),
                bench.readability.nearest(plan.weighed.wax)
            ),
            bench.tell(oil).to_string(),
            ARITHMETIC,
        );
    }
}

fn notes(plan: &Plan, formula: &Formula, target: Target, bench: &Bench) -> Vec<Note> {
    let mut notes = Vec::new();
    notes.extend(limit_note(
        plan.load,
        &plan.limit,
        plan.weighed.wax,
        plan.weighed.oil,
        bench,
    ));
    notes.extend(flash_note(bench));
    notes.extend(melter_note(plan.weighed.total(), bench));
    // A twentieth is our own line between a rounding and a mistake.
    let twentieth = Decimal::new(5, 2);
    for portion in &plan.portions {
        let (exact, weight) = (portion.exact, portion.weight.value());
        let off = if exact > weight {
            exact - weight
        } else {
            weight - exact
        };
        if exact
            .share(twentieth, Decimal::ONE)
            .is_some_and(|most| off > most)
        {
            notes.push(Note::new(
                NoteKind::Coarse,
                format!(
                    "{} should be {} and the scale shows {}: use a finer scale for it.",
                    portion.name,
                    bench.fine(exact),
                    portion.weight
                ),
            ));
        }
    }
    notes.extend(other_base(plan, formula, target, bench));
    for dye in &formula.dyes {
        if let Some(drops) = dye.drops(plan.exact.wax) {
            let drops = drops.normalize();
            notes.push(Note::new(
                NoteKind::Drops,
                match dye.drop_weight {
                    Some(_) => format!("{}: {drops} drops, weighed as dye.", dye.name),
                    None => format!(
                        "{}: {drops} drops, counted and not weighed; they are left out of the total.",
                        dye.name
                    ),
                },
            ));
        }
    }
    // Cautions first, each kind in the order found.
    notes.sort_by_key(|note| !note.is_caution());
    notes
}

/// What the sheets of the waxes say to this much oil.
pub(crate) fn limit_note(
    load: FragranceLoad,
    limit: &Limit,
    wax: Mass,
    oil: Mass,
    bench: &Bench,
) -> Option<Note> {
    if load.ratio().decimal().is_zero() && oil.is_zero() {
        return None;
    }
    let unknown = match limit.unknown.as_slice() {
        [] => String::new(),
        [one] => format!(" No limit is known for {one}, which counts as carrying none."),
        [first, rest @ ..] => format!(
            " No limit is known for {first} and {} more, which count as carrying none.",
            rest.len()
        ),
    };
    let Some((of_wax, most)) = limit.of_wax.zip(limit.oil(wax)) else {
        return Some(Note::new(
            NoteKind::LimitUnknown,
            "No limit is known for any wax in this blend, so the load is not checked.",
        ));
    };
    let limit = format!("{} of wax, {} of oil", percent(of_wax, 2), bench.tell(most));
    // A load that is the limit itself must not be called over for the
    // scale's rounding: half a step of oil is not a finding.
    let asked_over = load.as_of_wax(Ratio::ZERO) > of_wax;
    match over(oil, most) {
        Some(by) if asked_over || by > bench.readability.mass() => Some(Note::new(
            NoteKind::OverLimit,
            format!(
                "Over the blend's stated maximum by {} of oil: the maximum is {limit}.{unknown}",
                bench.tell(by)
            ),
        )),
        _ if unknown.is_empty() => None,
        _ => Some(Note::new(
            NoteKind::LimitUnknown,
            format!("Within the stated maximum of {limit}.{unknown}"),
        )),
    }
}

fn flash_note(bench: &Bench) -> Option<Note> {
    let (flash, add) = (bench.flash_point.as_ref()?, bench.add_at.as_ref()?);
    (add.value() >= flash.value()).then(|| {
        Note::new(
            NoteKind::FlashPoint,
            format!(
                "The oil goes in at {add}, not below its flash point of {flash}: keep flames and sparks away, or let the wax cool first."
            ),
        )
    })
}

pub(crate) fn melter_note(total: Mass, bench: &Bench) -> Option<Note> {
    let melter = bench.melter?;
    let (holds, needs) = (
        bench.readability.nearest(melter),
        bench.readability.nearest(total),
    );
    Some(if total <= melter {
        Note::new(
            NoteKind::MelterHolds,
            format!("{needs} fits the melter ({holds})."),
        )
    } else {
        Note::new(
            NoteKind::MelterTooSmall,
            format!(
                "{needs} does not fit the melter ({holds}): {} too much for one melt.",
                bench.readability.nearest(total - melter)
            ),
        )
    })
}

fn other_base(plan: &Plan, formula: &Formula, target: Target, bench: &Bench) -> Option<Note> {
    let ratio = plan.load.ratio();
    if ratio.decimal().is_zero() {
        return None;
    }
    let other = match plan.load {
        FragranceLoad::OfWax(_) => FragranceLoad::of_total(ratio)?,
        FragranceLoad::OfTotal(_) => FragranceLoad::of_wax(ratio)?,
    };
    let dyes = Colour::of(formula).ok()?;
    let oil = match target {
        Target::Wax(wax) => oil_for_wax(other, wax, plan.exact.dye)?,
        Target::Total(_) | Target::Units { .. } => {
            split(other, &dyes, plan.exact.total()).ok()?.exact.oil
        }
    };
    let shown = |mass: Mass| bench.readability.nearest(mass);
    let (more, by) = if oil > plan.exact.oil {
        ("more", oil - plan.exact.oil)
    } else {
        ("less", plan.exact.oil - oil)
    };
    let (this, that) = match plan.load {
        FragranceLoad::OfWax(_) => ("wax", "the melt"),
        FragranceLoad::OfTotal(_) => ("the melt", "wax"),
    };
    Some(Note::new(
        NoteKind::OtherBase,
        format!(
            "{ratio} of {this} is {} of oil here; {ratio} of {that} would be {}, {} {more}.",
            shown(plan.exact.oil),
            shown(oil),
            bench.tell(by)
        ),
    ))
}
