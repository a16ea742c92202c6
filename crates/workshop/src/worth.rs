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
    /// Whether the maker's own time is in the cost of every one of them.
    pub has_time: bool,
}

/// Whether a pour is of a good: poured as it, or a trial of its formula in its
/// mould from before there was a good.
pub fn is_of(pour: &Pour, good: &Product) -> bool {
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
        .filter_map(|(pour, lot)| Some((pour, lot.cost?, lot.minutes, lot.has_time)))
        .take(LOTS)
        .collect();
    let currency = lots.first()?.1.currency();
    let mut lines: Vec<CostLine> = Vec::new();
    let (mut made, mut wax, mut time) = (0_u32, Mass::ZERO, Some(0_i64));
    for (pour, cost, minutes, _) in &lots {
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
        has_time: lots.iter().all(|(.., has_time)| *has_time),
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
            1 if self.lots == 1 => format!("{lots}, poured as a trial"),
            trials if trials == self.lots => format!("{lots}, all poured as trials"),
            trials => format!("{lots}, {trials} of them poured as trials"),
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
        format.price = prices_typed(prices);
    }
    let Some(recent) = recent_cost(workshop, product.id) else {
        return format;
    };
    format.unit_cost = without_time(&recent.cost).map(small_cost);
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

fn prices_typed(prices: Prices) -> PricesInput {
    let text = |money: measure::Money| Some(money.to_string());
    PricesInput {
        low: text(prices.low),
        typical: text(prices.typical),
        high: text(prices.high),
    }
}

/// What a unit carries without the maker's own time.
pub fn without_time(cost: &UnitCost) -> Option<Cost> {
    let time = layer_of(cost, Layer::Time).unwrap_or(Cost::zero(cost.currency()));
    cost.full().minus(time).ok()
}

/// The good that a pour is of; of a trial, the first that is made as it was.
pub fn good_of<'a>(workshop: &'a Workshop, pour: &Pour) -> Option<&'a Product> {
    workshop.products().find(|good| is_of(pour, good))
}

/// A finished lot as a format to compare: the units it really gave, its wax,
/// its hands-on time, and what a unit cost without that time, which the
/// comparison charges at the wage. Prices are those of its good, if any.
pub fn format_of_lot(workshop: &Workshop, pour: &Pour) -> Option<(FormatInput, Mass)> {
    let found = lot_cost_as(workshop, pour, pour.product)?;
    let cost = found.cost?;
    let good = good_of(workshop, pour);
    let shape = pour.mould.and_then(|mould| workshop.mould(mould));
    let name = shape.map_or_else(
        || good.map_or_else(|| "unit".to_owned(), |good| good.name.clone()),
        |mould| mould.format.word().to_owned(),
    );
    let format = FormatInput {
        name: Some(name),
        units: Some(cost.good().into()),
        price: good
            .and_then(|good| good.prices)
            .map(prices_typed)
            .unwrap_or_default(),
        unit_cost: without_time(&cost).map(small_cost),
        minutes: found.minutes.map(|minutes| {
            let time = minutes.value();
            time.typed(TimeUnit::Minute, 0).to_string()
        }),
    };
    Some((format, wax_in(workshop, pour)))
}

/// Says on what a format taken from a lot rests.
pub fn lot_rests_on(workshop: &Workshop, pour: &Pour) -> Option<String> {
    let (format, wax) = format_of_lot(workshop, pour)?;
    let units = lot_cost_as(workshop, pour, pour.product)?.cost?.good();
    let time = match format.minutes {
        Some(minutes) => format!("{minutes} of your time"),
        None => "no hands-on time written down".to_owned(),
    };
    Some(format!(
        "Lot {}: {} from {} of wax, {time}.",
        pour.lot,
        units_word(units),
        in_system(wax, workshop.system()),
    ))
}

/// A cost in which the maker's own time stands, as it may be taken for one
/// without.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TimeInCost {
    /// Of what: `lot 261004-1`, or the name of a good.
    pub of: String,
    /// With the time in it.
    pub with: Cost,
    /// Without it.
    pub without: Cost,
}

/// Lots that are looked through for a cost; enough for what a maker has in
/// front of them.
const LOOKED_AT: usize = 60;

/// Finds the lot or the good whose full cost, the maker's time in it, is
/// `cost` to the minor unit.
pub fn time_in_cost(workshop: &Workshop, cost: Cost) -> Option<TimeInCost> {
    let same = |of: String, found: &UnitCost| {
        let without = without_time(found)?;
        let (asked, full) = (cost.rounded()?, found.full().rounded()?);
        let counts_time = without.rounded()? != full;
        (asked == full && counts_time).then_some(TimeInCost {
            of,
            with: found.full(),
            without,
        })
    };
    let mut lots = workshop
        .pours()
        .rev()
        .filter(|pour| pour.finished.is_some())
        .take(LOOKED_AT);
    lots.find_map(|pour| {
        let found = lot_cost_as(workshop, pour, pour.product)?;
        same(format!("lot {}", pour.lot), &found.cost?)
    })
    .or_else(|| {
        workshop.products().find_map(|good| {
            let recent = recent_cost(workshop, good.id)?;
            same(good.name.clone(), &recent.cost)
        })
    })
}

/// Amounts of one column, all to the same number of decimals: to the minor
/// unit, or finer where the smallest would lose its second figure, by two
/// places at most.
pub fn column_of_costs(costs: &[Cost]) -> Vec<String> {
    let most = |cost: &Cost| u32::from(cost.currency().exponent().unwrap_or(0));
    let coins = costs.iter().map(most).max().unwrap_or(0);
    let smallest = costs
        .iter()
        .map(|cost| cost.major().abs())
        .filter(|major| !major.is_zero())
        .min();
    let tenth = Decimal::new(1, coins.saturating_sub(1));
    let places = match smallest.filter(|smallest| *smallest < tenth) {
        Some(smallest) => {
            let two_figures = smallest.round_sf(2).unwrap_or(smallest).normalize();
            two_figures.scale().clamp(coins, coins.saturating_add(2))
        }
        None => coins,
    };
    costs
        .iter()
        .map(|cost| {
            let mut shown = cost.major().round_dp(places);
            shown.rescale(places);
            format!("{shown} {}", cost.currency().code())
        })
        .collect()
}

/// Says on what a format taken from a good rests.
pub fn format_rests_on(workshop: &Workshop, product: &Product) -> String {
    match recent_cost(workshop, product.id) {
        None => format!(
            "{}: no lot of it has a known cost yet, so its cost and units are for you to write.",
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
