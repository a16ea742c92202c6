//! What a good costs lately, what its prices leave, and what it looks like
//! beside another made from the same wax.

use std::cmp::Reverse;

use measure::{Cost, Decimal, Mass, Quantity, TimeSpan, TimeUnit, Working, in_system};
use price::{
    Batch, CostLine, Earning, FormatInput, Layer, Overhead, PricesInput, UnitCost, fine, percent,
};

use crate::facts::ProductId;
use crate::money::lot_cost_as;
use crate::shelf::{small_cost, wax_in};
use crate::state::{Pour, Prices, Product, Workshop};

/// Lots of a good that its cost is averaged over: enough to even out a bad
/// day, few enough to follow a new price of wax. Common practice, no source.
const LOTS: usize = 6;

/// What a good has cost on average over its last few costed lots.
#[derive(Debug, Clone, PartialEq)]
pub struct Recent {
    /// The lots taken together as one batch.
    pub cost: UnitCost,
    /// How many lots.
    pub lots: u32,
    /// How many of them were trial lots: poured before there was a good, and
    /// costed as if packed like it.
    pub trials: u32,
    /// Hands-on time of all of them; none when one of them has none.
    pub time: Option<TimeSpan>,
    /// Wax and additives weighed into all of them.
    pub wax: Mass,
}

/// Whether a pour is of a good: poured as it, or a trial of its formula in its
/// mould from before there was a good.
fn is_of(pour: &Pour, good: &Product) -> bool {
    match pour.product {
        Some(product) => product == good.id,
        None => pour.formula == good.formula && pour.mould == Some(good.mould),
    }
}

/// Returns what a good has cost over its last costed lots, trial lots of the
/// same formula and mould among them; none before the first.
pub fn recent_cost(workshop: &Workshop, product: ProductId) -> Option<Recent> {
    let good = workshop.product(product)?;
    let lots: Vec<_> = workshop
        .pours()
        .rev()
        .filter(|pour| is_of(pour, good))
        .filter_map(|pour| Some((pour, lot_cost_as(workshop, pour, Some(product))?)))
        .filter_map(|(pour, lot)| Some((pour, lot.cost?, lot.minutes)))
        .take(LOTS)
        .collect();
    let currency = lots.first()?.1.currency();
    let mut lines: Vec<CostLine> = Vec::new();
    let (mut made, mut wax, mut time) = (0_u32, Mass::ZERO, Some(0_i64));
    for (pour, cost, minutes) in &lots {
        made = made.saturating_add(cost.good());
        wax = wax + wax_in(workshop, pour);
        time = time
            .zip(minutes.as_ref())
            .map(|(sum, minutes)| sum.saturating_add(minutes.value().smallest()));
        for line in cost.lines() {
            let same = |known: &&mut CostLine| known.layer == line.layer && known.name == line.name;
            match lines.iter_mut().find(same) {
                Some(known) => known.batch = known.batch.plus(line.batch).ok()?,
                None => lines.push(line.clone()),
            }
        }
    }
    let batch = Batch {
        currency,
        made,
        rejects: 0,
        materials: lines,
        labour: None,
        overhead: Overhead::default(),
    };
    Some(Recent {
        cost: batch.cost().ok().flatten()?,
        lots: u32::try_from(lots.len()).unwrap_or(u32::MAX),
        trials: u32::try_from(
            lots.iter()
                .filter(|(pour, ..)| pour.product.is_none())
                .count(),
        )
        .unwrap_or(u32::MAX),
        time: time.map(TimeSpan::from_smallest),
        wax,
    })
}

impl Recent {
    /// What one unit carries of each layer, in their order; layers of nothing
    /// are left out.
    pub fn layers(&self) -> Vec<(Layer, Cost)> {
        [Layer::Material, Layer::Wrap, Layer::Time, Layer::Overhead]
            .into_iter()
            .filter_map(|layer| Some((layer, layer_of(&self.cost, layer)?)))
            .collect()
    }

    /// The lots in words: `one costed lot`, `last 6 costed lots`.
    pub fn lots_word(&self) -> String {
        let lots = match self.lots {
            1 => "one costed lot".to_owned(),
            lots => format!("last {lots} costed lots"),
        };
        match self.trials {
            0 => lots,
            trials if trials == self.lots => format!("{lots}, a trial before there was a good"),
            trials => format!("{lots}, {trials} of them trials"),
        }
    }

    /// What a unit leaves at each price; none when the figures are in another
    /// currency or outgrow what can be reckoned.
    pub fn at(&self, prices: Prices) -> Option<price::Prices<Earning>> {
        let asked = price::Prices {
            low: Some(prices.low),
            typical: prices.typical,
            high: Some(prices.high),
        };
        asked
            .each(|price| {
                if price.currency() == self.cost.currency() {
                    Earning::at(price.cost(), &self.cost, self.time)
                } else {
                    Err(price::TooLarge)
                }
            })
            .ok()
    }
}

/// What one unit carries of a layer; none of a layer of nothing.
pub fn layer_of(cost: &UnitCost, layer: Layer) -> Option<Cost> {
    let lines = cost.lines().iter().filter(|line| line.layer == layer);
    let sum = lines
        .map(|line| line.batch)
        .reduce(|sum, line| sum.plus(line).unwrap_or(sum))?;
    (!sum.major().is_zero()).then(|| cost.on_a_unit(sum))
}

/// The word for a layer of the cost of a unit.
pub const fn layer_word(layer: Layer) -> &'static str {
    match layer {
        Layer::Material => "materials",
        Layer::Wrap => "packing",
        Layer::Time => "hands-on time",
        Layer::Overhead => "overhead",
    }
}

/// What a good is worth making: its recent cost, and what its prices leave.
#[derive(Debug, Clone, PartialEq)]
pub struct Worth<'a> {
    /// The good.
    pub product: &'a Product,
    /// What it cost lately; none before its first costed lot.
    pub recent: Option<Recent>,
    /// What its prices leave; none without prices or cost.
    pub earning: Option<price::Prices<Earning>>,
}

impl Worth<'_> {
    /// Whether it leaves something: `Some(true)` even at the low price,
    /// `Some(false)` not at the typical one, none in between or not known.
    pub fn leaves_something(&self) -> Option<bool> {
        let earning = self.earning?;
        if earning.typical.left.major() <= Decimal::ZERO {
            return Some(false);
        }
        (earning.least().left.major() > Decimal::ZERO).then_some(true)
    }
}

/// Returns what a good is worth making.
pub fn worth_of<'a>(workshop: &Workshop, product: &'a Product) -> Worth<'a> {
    let recent = recent_cost(workshop, product.id);
    let earning = recent
        .as_ref()
        .zip(product.prices)
        .and_then(|(recent, prices)| recent.at(prices));
    Worth {
        product,
        recent,
        earning,
    }
}

/// Returns every good, what pays an hour of work best first; goods of which
/// that is not known last, in the order they were defined.
pub fn worth_of_all(workshop: &Workshop) -> Vec<Worth<'_>> {
    let mut all: Vec<_> = workshop
        .products()
        .map(|product| worth_of(workshop, product))
        .collect();
    all.sort_by_key(|worth| {
        let typical = worth.earning.map(|earning| earning.typical);
        Reverse((
            typical.and_then(|at| at.pays_per_hour).map(Cost::major),
            typical.map(|at| at.left.major()),
        ))
    });
    all
}

/// Shows how what is left of the typical price was found.
pub fn worth_working(worth: &Worth) -> Working {
    let mut working = Working::new();
    let (Some(recent), Some(earning)) = (&worth.recent, worth.earning) else {
        return working;
    };
    let cost = &recent.cost;
    for (layer, unit) in recent.layers() {
        working.step(
            format!("A unit's {}", layer_word(layer)),
            "cost of the lots ÷ units that can be sold",
            format!("{} ÷ {}", cost_of_lots(cost, layer), cost.good()),
            fine(unit),
            "arithmetic; each lot's cost has its own working in the Books",
        );
    }
    working.step(
        "Full cost of a unit",
        "the sum of the lines above",
        "",
        fine(cost.full()),
        format!(
            "the last {} costed lots of it, all their units alike",
            recent.lots
        ),
    );
    let rungs = [
        ("low", earning.low),
        ("typical", Some(earning.typical)),
        ("high", earning.high),
    ];
    for (word, at) in rungs.into_iter().filter_map(|(word, at)| Some((word, at?))) {
        working.step(
            format!("Left at the {word} price"),
            "price - full cost",
            format!("{} - {}", at.price, fine(cost.full())),
            at.left.to_string(),
            "arithmetic",
        );
    }
    let at = earning.typical;
    if let Some(margin) = at.margin {
        working.step(
            "Margin at the typical price",
            "left ÷ price",
            format!("{} ÷ {}", at.left, at.price),
            percent(margin),
            "arithmetic",
        );
    }
    if let (Some(hourly), Some(time)) = (at.pays_per_hour, recent.time) {
        working.step(
            "What an hour pays at the typical price",
            "(left + hands-on time at its wage) × units ÷ hours",
            format!("{} units in {}", cost.good(), hours(time)),
            hourly.to_string(),
            "arithmetic",
        );
    }
    if let Ok(keystone) = price::keystone(cost.full()) {
        working.step(
            "Twice the cost",
            "2 × full cost",
            format!("2 × {}", fine(cost.full())),
            keystone.to_string(),
            "rule of thumb: common practice, no source",
        );
    }
    working
}

fn cost_of_lots(cost: &UnitCost, layer: Layer) -> Cost {
    cost.lines()
        .iter()
        .filter(|line| line.layer == layer)
        .fold(Cost::zero(cost.currency()), |sum, line| {
            sum.plus(line.batch).unwrap_or(sum)
        })
}

fn hours(time: TimeSpan) -> String {
    format!(
        "{} h",
        time.to_decimal(TimeUnit::Hour).round_dp(2).normalize()
    )
}

/// Wax and additives of the latest finished pour of a good.
pub fn latest_wax(workshop: &Workshop, product: ProductId) -> Option<Mass> {
    workshop
        .pours()
        .rev()
        .filter(|pour| {
            pour.finished.is_some()
                && workshop
                    .product(product)
                    .is_some_and(|good| is_of(pour, good))
        })
        .map(|pour| wax_in(workshop, pour))
        .find(|wax| !wax.is_zero())
}

/// A good as a format to compare: its prices, and what `wax` would make of it
/// by its last costed lots. Units are whole, time scales with the wax, and the
/// unit cost holds everything but the hands-on time, which the comparison
/// charges at the wage.
pub fn format_of(workshop: &Workshop, product: &Product, wax: Option<Mass>) -> FormatInput {
    let mut format = FormatInput {
        name: Some(product.name.clone()),
        ..FormatInput::default()
    };
    if let Some(prices) = product.prices {
        let text = |money: measure::Money| Some(money.to_string());
        format.price = PricesInput {
            low: text(prices.low),
            typical: text(prices.typical),
            high: text(prices.high),
        };
    }
    let Some(recent) = recent_cost(workshop, product.id) else {
        return format;
    };
    let time = layer_of(&recent.cost, Layer::Time).unwrap_or(Cost::zero(recent.cost.currency()));
    format.unit_cost = recent.cost.full().minus(time).ok().map(small_cost);
    let Some(wax) = wax.filter(|_| !recent.wax.is_zero()) else {
        return format;
    };
    let part = |whole: i64| {
        let whole = Decimal::from(whole).checked_mul(wax.smallest().into())?;
        whole.checked_div(recent.wax.smallest().into())
    };
    format.units = part(recent.cost.good().into())
        .and_then(|units| units.floor().try_into().ok())
        .map(|units: u32| units.into());
    format.minutes = recent
        .time
        .and_then(|time| part(time.smallest()))
        .and_then(|smallest| smallest.round().try_into().ok())
        .map(|smallest| {
            TimeSpan::from_smallest(smallest)
                .typed(TimeUnit::Minute, 0)
                .to_string()
        });
    format
}

/// Says on what a format taken from a good rests.
pub fn format_rests_on(workshop: &Workshop, product: &Product) -> String {
    match recent_cost(workshop, product.id) {
        None => format!(
            "{}: no costed lot yet, so its cost and units are for you to write.",
            product.name
        ),
        Some(recent) => format!(
            "{}: {} from {} of wax in its {}.",
            product.name,
            units_word(recent.cost.good()),
            in_system(recent.wax, workshop.system()),
            recent.lots_word(),
        ),
    }
}

fn units_word(n: u32) -> String {
    if n == 1 {
        "1 unit".to_owned()
    } else {
        format!("{n} units")
    }
}
