//! The calculation `unit-cost`: what a unit costs, layer by layer, and what a
//! price leaves.

use measure::{
    Basis, Cost, Currency, Decimal, Mass, Money, Problem, Problems, Quantity, Ratio, TimeSpan,
    Working,
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Number;

use crate::arithmetic::{TooLarge, less, percent_of, scaled_cost};
use crate::compare_formats::minutes_of;
use crate::range::{Earning, Prices, keystone};
use crate::reader::{Reader, filled, refuse_nothing};
use crate::shown::{PricesInput, fine, float, percent};
use crate::spread::{FreightBy, FreightError, ReceiptLine, spread_freight};
use crate::unit::{Batch, CostLine, Labour, Layer, Overhead, Stuff, UnitCost, cost_used, put_in};

/// The name of the calculation.
pub const UNIT_COST: &str = "unit-cost";

const ARITHMETIC: &str = "arithmetic";

/// A batch to be costed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct UnitCostInput {
    /// The currency of amounts written without a code: `USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub currency: Option<String>,
    /// Units made, rejects among them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<u32>")]
    pub units: Option<Number>,
    /// Units made that will not be sold; their cost falls on the good ones.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<u32>")]
    pub rejects: Option<Number>,
    /// Share of what is put in that stays in the pot and the jug: `1.5 %`.
    /// Falls on materials given per unit; what is given per batch holds it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub loss: Option<String>,
    /// What goes into the units.
    #[serde(default)]
    pub materials: Vec<MaterialInput>,
    /// Freight of one receipt that holds all the materials, spread over them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub freight: Option<FreightInput>,
    /// What goes around the units: wraps, labels.
    #[serde(default)]
    pub wrap: Vec<WrapInput>,
    /// Hands-on time for the batch: `58 min`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minutes: Option<String>,
    /// Wage per hands-on hour: `18 USD`. Without it time is not charged.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wage: Option<String>,
    /// The share of rent, insurance and the like; the parts given add up.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub overhead: Option<OverheadInput>,
    /// What a unit may sell for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<PricesInput>,
}

/// One material: what was paid for how much, and how much of it is used.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MaterialInput {
    /// What it is: `soy wax`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// How much was bought: `10 lb`, `250 ml`, `100` pieces.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bought: Option<String>,
    /// What was paid for it: `26.00 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub paid: Option<String>,
    /// Freight paid for this material alone: `4.20 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub freight: Option<String>,
    /// How much is in one unit: `68.0 g`. Either this or `per_batch`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub per_unit: Option<String>,
    /// How much went into the whole batch: `1658 g` weighed in. Either this
    /// or `per_unit`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub per_batch: Option<String>,
}

/// Freight of a receipt.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FreightInput {
    /// What was paid for it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub paid: Option<String>,
    /// What it is spread by.
    #[serde(default)]
    pub by: FreightBy,
}

/// Something put around a unit. Its price is given as `each`, or as `bought`
/// pieces for what was `paid`.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WrapInput {
    /// What it is: `label`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// What one piece costs: `0.31 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub each: Option<String>,
    /// How many pieces were bought: `100`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bought: Option<String>,
    /// What was paid for them, freight and all: `12.50 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub paid: Option<String>,
    /// Pieces on one unit; 1 when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<u32>")]
    pub per_unit: Option<Number>,
    /// Whether rejects use it up too.
    #[serde(default)]
    pub on: WrapOn,
}

/// Which units use up a wrap.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum WrapOn {
    /// Every unit made: a clamshell, which is mould and pack in one.
    #[default]
    Made,
    /// Only the good units: a label put on after sorting.
    Good,
}

/// The overhead share. At least one part; the parts add up.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OverheadInput {
    /// An amount on every unit made: `0.20 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub per_unit: Option<String>,
    /// An amount on the batch: `4 USD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub per_batch: Option<String>,
    /// A percentage of what the hands-on time is worth: `30 %`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub of_labour: Option<String>,
}

/// What a unit costs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct UnitCostOutput {
    /// The ISO 4217 code of the currency every amount is in.
    pub currency: String,
    /// Units made, rejects among them.
    pub units: u32,
    /// Units good for sale; they bear the whole cost.
    pub good_units: u32,
    /// Cost of a good unit, layer by layer.
    pub unit: LayersOutput,
    /// Cost of the batch, layer by layer.
    pub batch: LayersOutput,
    /// The lines of the cost. They add up to the full cost.
    pub lines: Vec<LineOutput>,
    /// Hands-on time for a good unit.
    pub time_per_unit: Option<String>,
    /// Hands-on time for a good unit, in minutes.
    pub time_per_unit_minutes: Option<f64>,
    /// What each price leaves; none when no price was given.
    pub prices: Option<PricesOutput>,
    /// The price an old rule of thumb asks for.
    pub keystone: KeystoneOutput,
    /// What it comes to, in words.
    pub verdict: String,
    /// What to keep in mind.
    pub notes: Vec<String>,
    /// How the figures were found.
    pub working: Working,
}

/// The three layers of a cost, each holding the one before.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LayersOutput {
    /// What goes in and around.
    pub material_cost: String,
    /// What goes in and around, in the currency.
    pub material_cost_in_currency: f64,
    /// With the hands-on time at the wage.
    pub making_cost: String,
    /// With the hands-on time, in the currency.
    pub making_cost_in_currency: f64,
    /// With the overhead share.
    pub full_cost: String,
    /// With the overhead share, in the currency.
    pub full_cost_in_currency: f64,
}

/// One line of the cost.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LineOutput {
    /// What it is.
    pub name: String,
    /// The layer it belongs to.
    pub layer: Layer,
    /// How much the batch uses of it, where it is a material.
    pub used: Option<String>,
    /// How much the batch uses, in grams, where it is weighed.
    pub used_grams: Option<f64>,
    /// Its price with freight: `0.0057 USD per g`.
    pub rate: Option<String>,
    /// Its share of the receipt's freight.
    pub freight: Option<String>,
    /// What it comes to for the batch.
    pub batch: String,
    /// What it comes to for the batch, in the currency.
    pub batch_in_currency: f64,
    /// What it comes to for a good unit.
    pub unit: String,
    /// What it comes to for a good unit, in the currency.
    pub unit_in_currency: f64,
    /// Its part of the full cost, in percent; none of a cost of nothing.
    pub share_percent: Option<f64>,
}

/// What each price leaves.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PricesOutput {
    /// At the low price.
    pub low: Option<PriceOutput>,
    /// At the typical price.
    pub typical: PriceOutput,
    /// At the high price.
    pub high: Option<PriceOutput>,
}

/// What one price leaves.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PriceOutput {
    /// The price.
    pub price: String,
    /// The price, in the currency.
    pub price_in_currency: f64,
    /// What is left of it after the full cost; below zero for a loss.
    pub left: String,
    /// What is left, in the currency.
    pub left_in_currency: f64,
    /// What is left, in percent of the price.
    pub margin: Option<String>,
    /// What is left, in percent of the price, as a number.
    pub margin_percent: Option<f64>,
    /// What is left, in percent of the full cost.
    pub markup: Option<String>,
    /// What is left, in percent of the full cost, as a number.
    pub markup_percent: Option<f64>,
    /// What is left for each hands-on hour.
    pub left_per_hour: Option<String>,
    /// What is left for each hands-on hour, in the currency.
    pub left_per_hour_in_currency: Option<f64>,
    /// What a hands-on hour pays: what is left and the wage together.
    pub pays_per_hour: Option<String>,
    /// What a hands-on hour pays, in the currency.
    pub pays_per_hour_in_currency: Option<f64>,
}

/// Twice the full cost.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct KeystoneOutput {
    /// The price.
    pub price: String,
    /// The price, in the currency.
    pub price_in_currency: f64,
    /// What it rests on: a rule of thumb.
    pub basis: Basis,
    /// Where the rule comes from.
    pub source: String,
}

/// Finds what a unit costs.
///
/// # Errors
///
/// Every problem of the input together.
pub fn unit_cost(input: &UnitCostInput) -> Result<UnitCostOutput, Problems> {
    let read = read(input)?;
    let mut working = Working::new();
    let (materials, notes) = read.lines(&mut working)?;
    let labour = match (read.time, read.wage) {
        (Some(time), Some(wage)) => Some(Labour { time, wage }),
        _ => None,
    };
    let batch = Batch {
        currency: read.currency,
        made: read.made,
        rejects: read.rejects,
        materials: materials.iter().map(|used| used.line.clone()).collect(),
        labour,
        overhead: read.overhead,
    };
    let cost = batch.cost()?.expect("the reader asked for a good unit");
    explain(&read, labour, &cost, &mut working)?;
    let prices = match read.prices {
        Some(prices) => Some(prices.each(|price| Earning::at(price, &cost, read.time))?),
        None => None,
    };
    if let Some(prices) = prices {
        explain_price(&prices.typical, &cost, &mut working);
    }
    let keystone = keystone(cost.full())?;
    working.step(
        "Keystone",
        "2 × full cost",
        format!("2 × {}", fine(cost.full())),
        keystone.to_string(),
        "common practice, no source",
    );
    let time_per_unit = read
        .time
        .map(|time| Decimal::from(time.smallest()) / Decimal::from(60_000))
        .map(|minutes| minutes / Decimal::from(cost.good()));
    let verdict = verdict(&cost, prices.as_ref())?;
    Ok(UnitCostOutput {
        currency: read.currency.code().to_owned(),
        units: read.made,
        good_units: cost.good(),
        unit: layers([cost.material(), cost.making(), cost.full()]),
        batch: layers([
            cost.material_of_batch(),
            cost.making_of_batch(),
            cost.full_of_batch(),
        ]),
        lines: show_lines(&cost, &materials)?,
        time_per_unit: time_per_unit
            .map(|minutes| format!("{} min", minutes.round_dp(2).normalize())),
        time_per_unit_minutes: time_per_unit.map(float),
        prices: prices.map(|prices| PricesOutput {
            low: prices.low.as_ref().map(show_price),
            typical: show_price(&prices.typical),
            high: prices.high.as_ref().map(show_price),
        }),
        keystone: KeystoneOutput {
            price: keystone.to_string(),
            price_in_currency: keystone.to_f64(),
            basis: Basis::RuleOfThumb,
            source: "common practice, no source".to_owned(),
        },
        verdict,
        notes,
        working,
    })
}

/// How the price of something bought was given.
enum Bought {
    Each(Cost),
    Lot { bought: Stuff, paid: Money },
}

enum Used {
    PerUnit(Stuff),
    PerBatch(Stuff),
}

struct Material {
    name: String,
    bought: Stuff,
    paid: Money,
    freight: Option<Money>,
    used: Used,
}

struct Wrap {
    name: String,
    bought: Bought,
    per_unit: u32,
    on: WrapOn,
}

/// The input, read.
struct Read {
    currency: Currency,
    made: u32,
    rejects: u32,
    loss: Ratio,
    materials: Vec<Material>,
    wraps: Vec<Wrap>,
    time: Option<TimeSpan>,
    wage: Option<Cost>,
    overhead: Overhead,
    prices: Option<Prices<Cost>>,
}

/// A line with what it shows beside its cost.
struct UsedLine {
    line: CostLine,
    used: String,
    used_grams: Option<f64>,
    rate: Option<String>,
    freight: Option<Money>,
}

fn read(input: &UnitCostInput) -> Result<Read, Problems> {
    let mut reader = Reader::default();
    reader.own_currency("currency", input.currency.as_deref());
    let made = reader.count("units", input.units.as_ref(), 1);
    let rejects = match &input.rejects {
        Some(rejects) => reader.count("rejects", Some(rejects), 0),
        None => Some(0),
    };
    if let (Some(made), Some(rejects)) = (made, rejects)
        && rejects >= made
    {
        reader.check.refuse(Problem::new(
            "rejects",
            rejects.to_string(),
            "no good unit is left to bear the cost",
            format!("write fewer rejects than the {made} units made"),
        ));
    }
    let loss = reader.ratio("loss", input.loss.as_deref());
    if let (Some(loss), Some(text)) = (loss, &input.loss)
        && loss >= Ratio::ONE
    {
        reader.check.refuse(Problem::new(
            "loss",
            text.trim(),
            "nothing is left in the units",
            "write the share of what is put in that stays behind, such as 1.5 %",
        ));
    }
    let mut materials = Vec::with_capacity(input.materials.len());
    for (i, material) in input.materials.iter().enumerate() {
        materials.extend(read_material(&mut reader, i, material));
    }
    let whole = materials.len() == input.materials.len();
    if let Some(freight) = &input.freight {
        read_freight(&mut reader, freight, &mut materials, whole);
    }
    let mut wraps = Vec::with_capacity(input.wrap.len());
    for (i, wrap) in input.wrap.iter().enumerate() {
        wraps.extend(read_wrap(&mut reader, i, wrap));
    }
    let time = reader.time("minutes", input.minutes.as_deref());
    let wage = reader.optional_cost("wage", input.wage.as_deref());
    if wage.is_some() && filled(input.minutes.as_deref()).is_none() {
        reader.check.refuse(Problem::new(
            "minutes",
            "",
            "there is a wage but no time to pay it for",
            "write the hands-on time for the batch, such as 58 min",
        ));
    }
    let overhead = match &input.overhead {
        Some(overhead) => read_overhead(&mut reader, overhead, input),
        None => Overhead::default(),
    };
    let prices = match &input.price {
        Some(price) => price.read("price", &mut reader),
        None => None,
    };
    if input.materials.is_empty() && input.wrap.is_empty() {
        reader.check.refuse(Problem::new(
            "materials",
            "",
            "there is nothing to cost",
            "give at least one material or wrap",
        ));
    }
    let currency = reader.currency();
    reader.check.finish()?;
    Ok(Read {
        currency: currency.expect("a material or wrap that was read has an amount"),
        made: made.expect("a clean check has read the units"),
        rejects: rejects.unwrap_or(0),
        loss: loss.unwrap_or(Ratio::ZERO),
        materials,
        wraps,
        time: time.map(|time| time.value()),
        wage,
        overhead,
        prices,
    })
}

fn read_material(reader: &mut Reader, i: usize, input: &MaterialInput) -> Option<Material> {
    let at = |field: &str| format!("materials[{i}].{field}");
    let name = reader.name(&at("name"), input.name.as_deref());
    let bought = reader.stuff(&at("bought"), input.bought.as_deref());
    let bought = bought.filter(|bought| {
        if bought.smallest().is_zero() {
            refuse_nothing(reader, &at("bought"), input.bought.as_deref());
        }
        !bought.smallest().is_zero()
    });
    let paid = reader.money(&at("paid"), input.paid.as_deref());
    let freight = reader.optional_money(&at("freight"), input.freight.as_deref());
    let per_unit = filled(input.per_unit.as_deref());
    let per_batch = filled(input.per_batch.as_deref());
    let (field, used) = match (per_unit, per_batch) {
        (Some(text), None) => ("per_unit", reader.stuff(&at("per_unit"), Some(text))),
        (None, Some(text)) => ("per_batch", reader.stuff(&at("per_batch"), Some(text))),
        (both, _) => {
            reader.check.refuse(Problem::new(
                at("per_unit"),
                both.unwrap_or_default(),
                if both.is_some() {
                    "the amount is given both per unit and per batch"
                } else {
                    "how much of it is used is missing"
                },
                "write either per_unit or per_batch, such as 68 g",
            ));
            ("per_unit", None)
        }
    };
    let (bought, used) = (bought?, used?);
    if !bought.is_like(&used) {
        reader.check.refuse(Problem::new(
            at(field),
            used.to_string(),
            format!(
                "this is {}, but it was bought as {}",
                used.kind(),
                bought.kind()
            ),
            "write both as weights, both as volumes or both as counts",
        ));
        return None;
    }
    Some(Material {
        name: name?,
        bought,
        paid: paid?,
        freight,
        used: if field == "per_unit" {
            Used::PerUnit(used)
        } else {
            Used::PerBatch(used)
        },
    })
}

/// Reads a receipt's freight and adds each material's share to it.
fn read_freight(
    reader: &mut Reader,
    input: &FreightInput,
    materials: &mut [Material],
    whole: bool,
) {
    let Some(paid) = reader.money("freight.paid", input.paid.as_deref()) else {
        return;
    };
    if !whole {
        // A material is missing from the list: its own problem is said already.
        return;
    }
    let lines: Vec<ReceiptLine> = materials
        .iter()
        .map(|material| ReceiptLine {
            paid: material.paid,
            weight: weight_of(&material.bought),
        })
        .collect();
    match spread_freight(paid, &lines, input.by) {
        Ok(shares) => {
            for (material, share) in materials.iter_mut().zip(shares) {
                let own = material.freight.map_or(0, Money::minor);
                let both = own.saturating_add(share.minor());
                material.freight = Some(Money::from_minor(both, share.currency()));
            }
        }
        Err(FreightError::NoWeight(idx)) => {
            let bought = materials
                .get(idx)
                .map(|material| material.bought.to_string());
            reader.check.refuse(Problem::new(
                format!("materials[{idx}].bought"),
                bought.unwrap_or_default(),
                "this has no weight to spread the freight by",
                "write a weight, or spread the freight by value",
            ));
        }
        // Reported already, where the second currency was read.
        Err(FreightError::Currency(_)) => {}
        Err(FreightError::NothingToGoBy) => reader.check.refuse(Problem::new(
            "freight",
            paid.to_string(),
            FreightError::NothingToGoBy.to_string(),
            "spread it by value over materials that cost something, or leave it out",
        )),
    }
}

fn weight_of(stuff: &Stuff) -> Option<Mass> {
    match stuff {
        Stuff::Weighed(mass) => Some(mass.value()),
        Stuff::Measured(_) | Stuff::Counted(_) => None,
    }
}

fn read_wrap(reader: &mut Reader, i: usize, input: &WrapInput) -> Option<Wrap> {
    let at = |field: &str| format!("wrap[{i}].{field}");
    let name = reader.name(&at("name"), input.name.as_deref());
    let each = filled(input.each.as_deref());
    let lot = filled(input.bought.as_deref()).or(filled(input.paid.as_deref()));
    let bought = match (each, lot) {
        (Some(_), Some(_)) => {
            reader.check.refuse(Problem::new(
                at("each"),
                each.unwrap_or_default(),
                "the price is given both each and for a quantity bought",
                "write either each, or bought and paid",
            ));
            None
        }
        (None, Some(_)) => {
            let bought = reader.stuff(&at("bought"), input.bought.as_deref());
            let paid = reader.money(&at("paid"), input.paid.as_deref());
            match bought {
                Some(Stuff::Counted(count)) if count.is_zero() => {
                    refuse_nothing(reader, &at("bought"), input.bought.as_deref());
                    None
                }
                Some(bought @ Stuff::Counted(_)) => paid.map(|paid| Bought::Lot { bought, paid }),
                Some(other) => {
                    reader.check.refuse(Problem::new(
                        at("bought"),
                        other.to_string(),
                        format!("this is {}, but wraps are counted", other.kind()),
                        "write a number of pieces, such as 100",
                    ));
                    None
                }
                None => None,
            }
        }
        (each, None) => reader.cost(&at("each"), each).map(Bought::Each),
    };
    let per_unit = match &input.per_unit {
        Some(given) => reader.count(&at("per_unit"), Some(given), 0),
        None => Some(1),
    };
    Some(Wrap {
        name: name?,
        bought: bought?,
        per_unit: per_unit?,
        on: input.on,
    })
}

fn read_overhead(reader: &mut Reader, overhead: &OverheadInput, input: &UnitCostInput) -> Overhead {
    let per_unit = filled(overhead.per_unit.as_deref());
    let per_batch = filled(overhead.per_batch.as_deref());
    let of_labour = filled(overhead.of_labour.as_deref());
    if per_unit.or(per_batch).or(of_labour).is_none() {
        reader.check.refuse(Problem::new(
            "overhead",
            "",
            "the overhead share is empty",
            "write per_unit, per_batch or of_labour, or leave overhead out",
        ));
    }
    if of_labour.is_some() && filled(input.wage.as_deref()).is_none() {
        reader.check.refuse(Problem::new(
            "overhead.of_labour",
            of_labour.unwrap_or_default(),
            "there is no wage for this to be a share of",
            "write a wage, or the overhead as per_unit or per_batch",
        ));
    }
    Overhead {
        per_unit: reader.optional_cost("overhead.per_unit", per_unit),
        per_batch: reader.optional_cost("overhead.per_batch", per_batch),
        of_labour: reader.ratio("overhead.of_labour", of_labour),
    }
}

impl Read {
    /// Costs materials and wraps, line by line, with the notes they call for.
    fn lines(&self, working: &mut Working) -> Result<(Vec<UsedLine>, Vec<String>), Problems> {
        let mut lines = Vec::with_capacity(self.materials.len() + self.wraps.len());
        for material in &self.materials {
            lines.push(self.material_line(material, working)?);
        }
        for wrap in &self.wraps {
            lines.push(self.wrap_line(wrap, working)?);
        }
        let mut notes = Vec::new();
        if self.wage.is_none() {
            notes.push(
                "No wage was given, so the making cost does not hold your own time.".to_owned(),
            );
        }
        if self.overhead == Overhead::default() {
            notes.push(
                "No overhead was given, so the full cost holds no share of rent, insurance or gear."
                    .to_owned(),
            );
        }
        if self.loss == Ratio::ZERO
            && self
                .materials
                .iter()
                .any(|material| matches!(material.used, Used::PerUnit(_)))
        {
            notes.push("No loss in pot and jug was given; it costs material too.".to_owned());
        }
        Ok((lines, notes))
    }

    fn material_line(
        &self,
        material: &Material,
        working: &mut Working,
    ) -> Result<UsedLine, Problems> {
        let Material { name, bought, .. } = material;
        let used = match &material.used {
            Used::PerUnit(used) => {
                let total = put_in(used.smallest(), self.made, self.loss)?;
                let (formula, numbers) = if self.loss == Ratio::ZERO {
                    ("per unit × units", format!("{used} × {}", self.made))
                } else {
                    (
                        "per unit × units ÷ (1 - loss)",
                        format!("{used} × {} ÷ (1 - {})", self.made, self.loss),
                    )
                };
                working.step(
                    format!("Put in: {name}"),
                    formula,
                    numbers,
                    used.show(total),
                    ARITHMETIC,
                );
                (used, total)
            }
            Used::PerBatch(used) => (used, used.smallest()),
        };
        let (stuff, smallest) = used;
        let landed = match material.freight {
            Some(freight) => material.paid.cost().plus(freight.cost()),
            None => Ok(material.paid.cost()),
        }
        .map_err(|_| TooLarge)?;
        let batch = cost_used(landed, bought.smallest(), smallest)?;
        let (formula, paid) = match material.freight {
            Some(freight) => (
                "(paid + freight) ÷ bought × put in",
                format!("({} + {freight})", material.paid),
            ),
            None => ("paid ÷ bought × put in", material.paid.to_string()),
        };
        working.step(
            format!("Cost in the batch: {name}"),
            formula,
            format!("{paid} ÷ {bought} × {}", bought.show(smallest)),
            batch.to_string(),
            if bought.in_own_unit().1 == stuff.in_own_unit().1 {
                ARITHMETIC
            } else {
                "units converted by NIST SP 811 (2008), Appendix B"
            },
        );
        let (figure, symbol) = bought.in_own_unit();
        let rate = landed
            .over(figure)
            .map(|rate| format!("{} per {symbol}", fine(rate)));
        Ok(UsedLine {
            line: CostLine {
                name: name.clone(),
                layer: Layer::Material,
                batch,
            },
            used: stuff.show(smallest),
            used_grams: stuff.grams(smallest),
            rate,
            freight: material.freight,
        })
    }

    fn wrap_line(&self, wrap: &Wrap, working: &mut Working) -> Result<UsedLine, Problems> {
        let units = match wrap.on {
            WrapOn::Made => self.made,
            WrapOn::Good => self.made - self.rejects,
        };
        let pieces = u64::from(units) * u64::from(wrap.per_unit);
        let (batch, numbers, rate) = match &wrap.bought {
            Bought::Each(each) => (
                scaled_cost(*each, pieces.into(), Decimal::ONE)?,
                format!("{} × {pieces}", fine(*each)),
                Some(*each),
            ),
            Bought::Lot { bought, paid } => (
                cost_used(paid.cost(), bought.smallest(), pieces.into())?,
                format!("{paid} ÷ {bought} × {pieces}"),
                paid.cost().over(bought.smallest()),
            ),
        };
        working.step(
            format!("Cost in the batch: {}", wrap.name),
            "price of one × pieces",
            numbers,
            batch.to_string(),
            ARITHMETIC,
        );
        Ok(UsedLine {
            line: CostLine {
                name: wrap.name.clone(),
                layer: Layer::Wrap,
                batch,
            },
            used: pieces.to_string(),
            used_grams: None,
            rate: rate.map(|rate| format!("{} per piece", fine(rate))),
            freight: None,
        })
    }
}

fn explain(
    read: &Read,
    labour: Option<Labour>,
    cost: &UnitCost,
    working: &mut Working,
) -> Result<(), Problems> {
    let good = cost.good();
    let bearing = if read.rejects == 0 {
        format!("{good}")
    } else {
        format!("({} - {})", read.made, read.rejects)
    };
    working.step(
        "Material cost of a unit",
        "sum of materials and wraps ÷ good units",
        format!("{} ÷ {bearing}", cost.material_of_batch()),
        cost.material().to_string(),
        "rejects borne by the good units, as normal spoilage is in cost accounting",
    );
    if let Some(labour) = labour {
        let worth = labour.cost()?;
        let each = cost.on_a_unit(worth);
        working.step(
            "Hands-on time of a unit",
            "minutes × wage ÷ 60 ÷ good units",
            format!(
                "{} × {} ÷ 60 ÷ {bearing}",
                minutes_of(labour.time),
                labour.wage
            ),
            each.to_string(),
            ARITHMETIC,
        );
        working.step(
            "Making cost of a unit",
            "material cost + hands-on time",
            format!("{} + {}", fine(cost.material()), fine(each)),
            cost.making().to_string(),
            ARITHMETIC,
        );
    }
    if let Some(line) = cost
        .lines()
        .iter()
        .find(|line| line.layer == Layer::Overhead)
    {
        let Overhead {
            per_unit,
            per_batch,
            of_labour,
        } = read.overhead;
        let parts = [
            per_unit.map(|each| format!("{} × {}", fine(each), read.made)),
            per_batch.map(|batch| batch.to_string()),
            of_labour.map(|share| format!("{share} of hands-on time")),
        ];
        let parts: Vec<String> = parts.into_iter().flatten().collect();
        let each = cost.on_a_unit(line.batch);
        working.step(
            "Overhead share of a unit",
            "overhead share of the batch ÷ good units",
            format!("({}) ÷ {bearing}", parts.join(" + ")),
            each.to_string(),
            ARITHMETIC,
        );
        working.step(
            "Full cost of a unit",
            "making cost + overhead share",
            format!("{} + {}", fine(cost.making()), fine(each)),
            cost.full().to_string(),
            ARITHMETIC,
        );
    }
    Ok(())
}

fn explain_price(at: &Earning, cost: &UnitCost, working: &mut Working) {
    let full = cost.full();
    let left = at.left;
    working.step(
        "Left at the typical price",
        "price - full cost",
        format!("{} - {}", fine(at.price), fine(full)),
        left.to_string(),
        ARITHMETIC,
    );
    if let Some(margin) = at.margin {
        working.step(
            "Margin",
            "left ÷ price",
            format!("{} ÷ {}", fine(left), fine(at.price)),
            format!("{} of price", percent(margin)),
            "definition: margin is a share of the price",
        );
    }
    if let Some(markup) = at.markup {
        working.step(
            "Markup",
            "left ÷ full cost",
            format!("{} ÷ {}", fine(left), fine(full)),
            format!("{} of cost", percent(markup)),
            "definition: markup is a share of the cost",
        );
    }
}

fn layers([material, making, full]: [Cost; 3]) -> LayersOutput {
    LayersOutput {
        material_cost: material.to_string(),
        material_cost_in_currency: material.to_f64(),
        making_cost: making.to_string(),
        making_cost_in_currency: making.to_f64(),
        full_cost: full.to_string(),
        full_cost_in_currency: full.to_f64(),
    }
}

fn show_lines(cost: &UnitCost, materials: &[UsedLine]) -> Result<Vec<LineOutput>, Problems> {
    let mut shown = Vec::with_capacity(cost.lines().len());
    for (i, line) in cost.lines().iter().enumerate() {
        // The lines of materials and wraps come first, in the order given.
        let used = materials.get(i);
        let unit = cost.on_a_unit(line.batch);
        shown.push(LineOutput {
            name: line.name.clone(),
            layer: line.layer,
            used: used.map(|used| used.used.clone()),
            used_grams: used.and_then(|used| used.used_grams),
            rate: used.and_then(|used| used.rate.clone()),
            freight: used
                .and_then(|used| used.freight)
                .map(|freight| freight.to_string()),
            batch: line.batch.to_string(),
            batch_in_currency: line.batch.to_f64(),
            unit: unit.to_string(),
            unit_in_currency: unit.to_f64(),
            share_percent: percent_of(line.batch, cost.full_of_batch())?.map(float),
        });
    }
    Ok(shown)
}

fn show_price(at: &Earning) -> PriceOutput {
    PriceOutput {
        price: at.price.to_string(),
        price_in_currency: at.price.to_f64(),
        left: at.left.to_string(),
        left_in_currency: at.left.to_f64(),
        margin: at
            .margin
            .map(|margin| format!("{} of price", percent(margin))),
        margin_percent: at.margin.map(float),
        markup: at
            .markup
            .map(|markup| format!("{} of cost", percent(markup))),
        markup_percent: at.markup.map(float),
        left_per_hour: at.left_per_hour.map(|left| left.to_string()),
        left_per_hour_in_currency: at.left_per_hour.map(Cost::to_f64),
        pays_per_hour: at.pays_per_hour.map(|pays| pays.to_string()),
        pays_per_hour_in_currency: at.pays_per_hour.map(Cost::to_f64),
    }
}

fn verdict(cost: &UnitCost, prices: Option<&Prices<Earning>>) -> Result<String, TooLarge> {
    let full = cost.full();
    let mut said = Vec::new();
    let largest = cost.lines().iter().reduce(|most, line| {
        if line.batch.major() > most.batch.major() {
            line
        } else {
            most
        }
    });
    let share = match largest {
        Some(line) => percent_of(line.batch, cost.full_of_batch())?.map(|share| (line, share)),
        None => None,
    };
    said.push(match share {
        Some((line, share)) => format!(
            "A good unit costs {full} in full; the largest part is {}, {} of it.",
            line.name,
            percent(share)
        ),
        None => format!("A good unit costs {full} in full."),
    });
    if let Some(prices) = prices {
        let Earning { price, left, .. } = prices.typical;
        if left.major() < Decimal::ZERO {
            let short = less(full, price)?;
            said.push(format!("At {price} it loses {short} a unit."));
        } else {
            said.push(format!("At {price} it leaves {left} a unit."));
            if let Some(low) = prices.low.filter(|low| low.left.major() < Decimal::ZERO) {
                said.push(format!("At {} it loses money.", low.price));
            }
        }
    }
    Ok(said.join(" "))
}
