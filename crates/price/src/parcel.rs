//! What an order weighs in its box, and what it then costs to post: the
//! calculation `parcel`.

use measure::{Cost, Decimal, Mass, MassUnit, Problem, Problems, Quantity, Typed, Working};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Number;

use crate::arithmetic::{TooLarge, less, total};
use crate::reader::Reader;

/// The name of the calculation.
pub const PARCEL: &str = "parcel";

const ARITHMETIC: &str = "arithmetic";

/// What goes into a parcel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Contents {
    /// Units in the order.
    pub units: u32,
    /// What they weigh together.
    pub weight: Mass,
}

/// A box, mailer or bag.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Packing {
    /// What it is called.
    pub name: String,
    /// What it weighs, with what closes it.
    pub weight: Mass,
    /// The most units it holds; any number without it.
    pub holds: Option<u32>,
    /// What it costs.
    pub price: Cost,
}

/// A step of the post's price list: up to and with this weight, this price.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Band {
    /// The heaviest it is for.
    pub up_to: Mass,
    /// What it costs.
    pub price: Cost,
}

/// An order in one packing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Packed {
    /// What it weighs.
    pub weight: Mass,
    /// Whether the packing holds it.
    pub fits: bool,
    /// The cheapest band it may go in; none when it is heavier than all.
    pub band: Option<Band>,
    /// The next lighter band than the cheapest, which it is over.
    pub over: Option<Band>,
    /// Postage and packing together.
    pub cost: Option<Cost>,
}

impl Packing {
    /// Puts an order into this packing. A parcel of exactly the weight of a
    /// band is in it.
    ///
    /// # Errors
    ///
    /// [`TooLarge`] when a sum cannot be held.
    pub fn pack(&self, contents: Contents, bands: &[Band]) -> Result<Packed, TooLarge> {
        let weight = contents
            .weight
            .smallest()
            .checked_add(self.weight.smallest())
            .map(Mass::from_smallest)
            .ok_or(TooLarge)?;
        let fits = self.holds.is_none_or(|holds| contents.units <= holds);
        // Of equal prices the heavier band, which leaves more room.
        let band = bands
            .iter()
            .filter(|band| weight <= band.up_to)
            .min_by_key(|band| (band.price.major(), std::cmp::Reverse(band.up_to)))
            .copied();
        let over = bands
            .iter()
            .filter(|band| weight > band.up_to)
            .max_by_key(|band| band.up_to)
            .copied();
        let cost = match band {
            Some(band) if fits => Some(total([band.price, self.price], band.price.currency())?),
            _ => None,
        };
        Ok(Packed {
            weight,
            fits,
            band,
            over,
            cost,
        })
    }
}

/// The place of the packing that costs least in all, and of those the
/// lightest; none when none can go.
pub fn cheapest(packed: &[Packed]) -> Option<usize> {
    let costs = packed.iter().enumerate();
    costs
        .filter_map(|(at, packed)| {
            let cost = packed.cost?;
            Some((cost.major(), packed.weight, at))
        })
        .min()
        .map(|(_, _, at)| at)
}

/// An order to be posted.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ParcelInput {
    /// The currency of amounts written without a code: `GBP`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub currency: Option<String>,
    /// What is in the order.
    #[serde(default)]
    pub items: Vec<ItemInput>,
    /// What else goes in, whatever the packing: paper, card: `12 g`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub extra: Option<String>,
    /// What it may be packed in, the usual one first.
    #[serde(default)]
    pub packings: Vec<PackingInput>,
    /// The post's price list.
    #[serde(default)]
    pub bands: Vec<BandInput>,
}

/// A line of the order.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ItemInput {
    /// What it is: `bar`. May be left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// How many.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<u32>")]
    pub count: Option<Number>,
    /// What one weighs, wrapped: `56.5 g`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub each: Option<String>,
}

/// A box, mailer or bag, as typed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PackingInput {
    /// What it is called: `box`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// What it weighs, with what closes it: `95 g`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weight: Option<String>,
    /// The most units it holds; any number unless it is given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<u32>")]
    pub holds: Option<Number>,
    /// What it costs: `0.42 GBP`; nothing unless it is given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<String>,
}

/// A step of the price list, as typed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BandInput {
    /// The heaviest it is for: `750 g`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub up_to: Option<String>,
    /// What it costs: `3.39 GBP`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<String>,
}

/// What to pack it in, and what it costs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ParcelOutput {
    /// The ISO 4217 code of the currency every amount is in.
    pub currency: String,
    /// The packing to use; none when none can go.
    pub packing: Option<String>,
    /// What the parcel then weighs.
    pub weight: Option<String>,
    /// The same in grams.
    pub weight_g: Option<f64>,
    /// The postage.
    pub postage: Option<String>,
    /// Postage and packing together.
    pub cost: Option<String>,
    /// The same, in the currency.
    pub cost_in_currency: Option<f64>,
    /// By how much it stays under the weight of its band.
    pub under: Option<String>,
    /// The same in grams.
    pub under_g: Option<f64>,
    /// What it saves against the first packing that can go.
    pub saves: Option<String>,
    /// The same, in the currency.
    pub saves_in_currency: Option<f64>,
    /// Every packing, in the order given.
    pub options: Vec<PackedOutput>,
    /// The answer in a sentence or two.
    pub verdict: String,
    /// How the figures were found.
    pub working: Working,
}

/// The order in one packing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PackedOutput {
    /// What it is called.
    pub name: String,
    /// What the parcel weighs.
    pub weight: String,
    /// The same in grams.
    pub weight_g: f64,
    /// Whether the packing holds the units.
    pub fits: bool,
    /// The heaviest its band is for; none when it is heavier than all.
    pub band: Option<String>,
    /// The postage.
    pub postage: Option<String>,
    /// Postage and packing together; none when it cannot go.
    pub cost: Option<String>,
    /// The same, in the currency.
    pub cost_in_currency: Option<f64>,
    /// By how much it stays under the weight of its band, in grams.
    pub under_g: Option<f64>,
    /// By how much it is over the next lighter band, in grams.
    pub over_g: Option<f64>,
}

struct Read {
    contents: Contents,
    items: Vec<(u32, Typed<Mass>)>,
    extra: Option<Typed<Mass>>,
    packings: Vec<(Packing, Typed<Mass>)>,
    bands: Vec<(Band, Typed<Mass>)>,
    /// The unit the answer is in.
    unit: MassUnit,
}

/// More lines, packings or bands than anyone has.
const MOST: usize = 500;

fn read(input: &ParcelInput) -> Result<Read, Problems> {
    let mut reader = Reader::default();
    reader.own_currency("currency", input.currency.as_deref());
    for (field, given) in [
        ("items", input.items.len()),
        ("packings", input.packings.len()),
        ("bands", input.bands.len()),
    ] {
        if given == 0 || given > MOST {
            reader.check.refuse(Problem::new(
                field,
                given.to_string(),
                if given == 0 {
                    "there are none"
                } else {
                    "there are too many"
                },
                format!("give from 1 to {MOST}"),
            ));
        }
    }
    if input
        .items
        .len()
        .max(input.packings.len())
        .max(input.bands.len())
        > MOST
    {
        return Err(reader.check.into_problems());
    }
    let mut items = Vec::new();
    for (i, item) in input.items.iter().enumerate() {
        let count = reader.count(&format!("items[{i}].count"), item.count.as_ref(), 1);
        let each = mass(
            &mut reader,
            &format!("items[{i}].each"),
            item.each.as_deref(),
        );
        items.extend(count.zip(each));
    }
    let extra = reader
        .check
        .optional("extra", input.extra.as_deref(), Typed::<Mass>::parse);
    let mut packings = Vec::new();
    for (i, packing) in input.packings.iter().enumerate() {
        let at = |field: &str| format!("packings[{i}].{field}");
        let name = reader.name(&at("name"), packing.name.as_deref());
        let weight = mass(&mut reader, &at("weight"), packing.weight.as_deref());
        let holds = reader.optional_count(&at("holds"), packing.holds.as_ref(), 0);
        let price = reader.optional_cost(&at("price"), packing.price.as_deref());
        if let (Some(name), Some(weight)) = (name, weight) {
            packings.push((name, weight, holds, price));
        }
    }
    let mut bands: Vec<(Band, Typed<Mass>)> = Vec::new();
    for (i, band) in input.bands.iter().enumerate() {
        let field = format!("bands[{i}].up_to");
        let up_to = mass(&mut reader, &field, band.up_to.as_deref());
        let price = reader.cost(&format!("bands[{i}].price"), band.price.as_deref());
        let (Some(up_to), Some(price)) = (up_to, price) else {
            continue;
        };
        if bands.iter().any(|(band, _)| band.up_to == up_to.value()) {
            reader.check.refuse(Problem::new(
                field,
                up_to.to_string(),
                "there are two prices for this weight",
                "give each weight once",
            ));
        }
        let band = Band {
            up_to: up_to.value(),
            price,
        };
        bands.push((band, up_to));
    }
    let currency = reader.currency();
    reader.check.finish()?;
    let currency = currency.ok_or(TooLarge)?;
    let packings = packings
        .into_iter()
        .map(|(name, weight, holds, price)| {
            let packing = Packing {
                name,
                weight: weight.value(),
                holds,
                price: price.unwrap_or(Cost::zero(currency)),
            };
            (packing, weight)
        })
        .collect();
    Ok(Read {
        contents: contents(&items, extra.as_ref())?,
        unit: items
            .first()
            .map_or(MassUnit::Gram, |(_, each)| each.unit()),
        items,
        extra,
        packings,
        bands,
    })
}

fn mass(reader: &mut Reader, field: &str, text: Option<&str>) -> Option<Typed<Mass>> {
    reader.check.required(field, text, Typed::<Mass>::parse)
}

fn contents(
    items: &[(u32, Typed<Mass>)],
    extra: Option<&Typed<Mass>>,
) -> Result<Contents, TooLarge> {
    let mut units = 0_u32;
    let mut weight = extra.map_or(0, |extra| extra.value().smallest());
    for (count, each) in items {
        let line = each.value().smallest().checked_mul(i64::from(*count));
        weight = line
            .and_then(|line| weight.checked_add(line))
            .ok_or(TooLarge)?;
        units = units.checked_add(*count).ok_or(TooLarge)?;
    }
    Ok(Contents {
        units,
        weight: Mass::from_smallest(weight),
    })
}

/// Finds the cheapest packing an order can go in.
///
/// # Errors
///
/// Every problem of the input together.
pub fn parcel(input: &ParcelInput) -> Result<ParcelOutput, Problems> {
    let read = read(input)?;
    let bands: Vec<Band> = read.bands.iter().map(|(band, _)| *band).collect();
    let packed = read
        .packings
        .iter()
        .map(|(packing, _)| packing.pack(read.contents, &bands))
        .collect::<Result<Vec<_>, _>>()?;
    let mut working = Working::new();
    explain(&read, &packed, &mut working);
    let chosen = cheapest(&packed);
    let first = packed.iter().position(|packed| packed.cost.is_some());
    let best = chosen.and_then(|at| Some((at, packed.get(at)?, packed.get(at)?.cost?)));
    let saves = match (best, first.and_then(|at| packed.get(at)?.cost)) {
        (Some((_, _, cost)), Some(usual)) => Some(less(usual, cost)?),
        _ => None,
    };
    if let (Some((at, _, cost)), Some(saves), Some(usual)) = (best, saves, first)
        && at != usual
    {
        working.step(
            "Saved",
            "the usual packing - the cheapest",
            format!(
                "{} - {cost}",
                show_cost(packed.get(usual).and_then(|packed| packed.cost))
            ),
            saves.to_string(),
            ARITHMETIC,
        );
    }
    let under = best.and_then(|(_, packed, _)| room(packed));
    let currency = bands.first().map(|band| band.price.currency());
    Ok(ParcelOutput {
        currency: currency.ok_or(TooLarge)?.code().to_owned(),
        packing: best.and_then(|(at, ..)| Some(read.packings.get(at)?.0.name.clone())),
        weight: best.map(|(_, packed, _)| read.show(packed.weight)),
        weight_g: best.map(|(_, packed, _)| packed.weight.grams()),
        postage: best.and_then(|(_, packed, _)| Some(packed.band?.price.to_string())),
        cost: best.map(|(_, _, cost)| cost.to_string()),
        cost_in_currency: best.map(|(_, _, cost)| cost.to_f64()),
        under: under.map(|under| read.show(under)),
        under_g: under.map(Mass::grams),
        saves: saves.map(|saves| saves.to_string()),
        saves_in_currency: saves.map(Cost::to_f64),
        options: read.options(&packed),
        verdict: verdict(&read, &packed, chosen, first, saves),
        working,
    })
}

/// By how much a parcel stays under its band.
fn room(packed: &Packed) -> Option<Mass> {
    let band = packed.band?;
    let room = band.up_to.smallest() - packed.weight.smallest();
    Some(Mass::from_smallest(room))
}

/// By how much it is over the next lighter band.
fn excess(packed: &Packed) -> Option<Mass> {
    let over = packed.over?;
    let excess = packed.weight.smallest() - over.up_to.smallest();
    Some(Mass::from_smallest(excess))
}

fn show_cost(cost: Option<Cost>) -> String {
    cost.map_or_else(|| "cannot go".to_owned(), |cost| cost.to_string())
}

impl Read {
    /// A weight in the unit of the order, without zeros that say nothing.
    fn show(&self, weight: Mass) -> String {
        let figure = weight.to_decimal(self.unit).round_dp(3).normalize();
        format!("{figure} {}", self.unit.symbol())
    }

    fn band_as_typed(&self, band: Band) -> String {
        let typed = self.bands.iter().find(|(of, _)| *of == band);
        typed.map_or_else(|| self.show(band.up_to), |(_, typed)| typed.to_string())
    }

    fn options(&self, packed: &[Packed]) -> Vec<PackedOutput> {
        self.packings
            .iter()
            .zip(packed)
            .map(|((packing, _), packed)| PackedOutput {
                name: packing.name.clone(),
                weight: self.show(packed.weight),
                weight_g: packed.weight.grams(),
                fits: packed.fits,
                band: packed.band.map(|band| self.band_as_typed(band)),
                postage: packed.band.map(|band| band.price.to_string()),
                cost: packed.cost.map(|cost| cost.to_string()),
                cost_in_currency: packed.cost.map(Cost::to_f64),
                under_g: room(packed).map(Mass::grams),
                over_g: excess(packed).map(Mass::grams),
            })
            .collect()
    }
}

fn explain(read: &Read, packed: &[Packed], working: &mut Working) {
    let mut lines: Vec<String> = read
        .items
        .iter()
        .map(|(count, each)| format!("{count} × {each}"))
        .collect();
    lines.extend(read.extra.as_ref().map(ToString::to_string));
    let has_extra = read.extra.is_some();
    working.step(
        "What goes in",
        if has_extra {
            "sum of count × weight + what else goes in"
        } else {
            "sum of count × weight"
        },
        lines.join(" + "),
        read.show(read.contents.weight),
        ARITHMETIC,
    );
    for ((packing, typed), packed) in read.packings.iter().zip(packed) {
        working.step(
            format!("Weight in {}", packing.name),
            "what goes in + packing",
            format!("{} + {typed}", read.show(read.contents.weight)),
            read.show(packed.weight),
            ARITHMETIC,
        );
        let numbers = match packed.band {
            Some(band) => format!(
                "up to {}: {} + {}",
                read.band_as_typed(band),
                band.price,
                packing.price
            ),
            None => "heavier than every band".to_owned(),
        };
        working.step(
            format!("Cost in {}", packing.name),
            "cheapest band it may go in + price of the packing",
            numbers,
            if packed.fits {
                show_cost(packed.cost)
            } else {
                format!("cannot go: it holds {}", packing.holds.unwrap_or(0))
            },
            "your own price list",
        );
    }
}

fn verdict(
    read: &Read,
    packed: &[Packed],
    chosen: Option<usize>,
    first: Option<usize>,
    saves: Option<Cost>,
) -> String {
    let named = |at: usize| {
        let packing = read.packings.get(at)?;
        Some((&packing.0.name, packed.get(at)?))
    };
    let Some((name, best)) = chosen.and_then(named) else {
        let held = packed.iter().any(|packed| packed.fits);
        return if held {
            "It is heavier than every band of the price list: send it in two parcels.".to_owned()
        } else {
            "No packing holds it: send it in two parcels.".to_owned()
        };
    };
    let (Some(band), Some(cost)) = (best.band, best.cost) else {
        return String::new();
    };
    let room = room(best).map_or_else(String::new, |room| {
        format!(
            ", {} under the {} band",
            read.show(room),
            read.band_as_typed(band)
        )
    });
    let mut said = vec![format!(
        "Use {name}: {}{room}, {cost}.",
        read.show(best.weight)
    )];
    if let (Some((usual, heavy)), Some(saves)) = (first.and_then(named), saves)
        && saves.major() > Decimal::ZERO
    {
        let over = match (excess(heavy), heavy.over) {
            (Some(excess), Some(over)) => format!(
                ", which is {} over the {} band",
                read.show(excess),
                read.band_as_typed(over)
            ),
            _ => String::new(),
        };
        said.push(format!("That saves {saves} against {usual}{over}."));
    }
    said.join(" ")
}
