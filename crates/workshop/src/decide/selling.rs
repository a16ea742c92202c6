//! Decisions about channels, market days and what is sold at them.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use measure::{Money, Problem, Ratio, TimeSpan, Typed};

use super::{
    Decision, LONGEST_NAME, MOST_LINES, MOST_PIECES, MOST_UNITS, fact, line, name, not_too_dear,
    not_too_many, note, one_currency, refuse_if_any,
};
use crate::Refusal;
use crate::facts::{
    BookSettings, BooksSettled, Bundle, BundlesSet, BuyerId, ChannelId, ChannelKind,
    ChannelPriceSet, ChannelSettled, ChannelTerms, DayCosts, GoodsCounted, GoodsReturned,
    GoodsSetAside, GoodsTaken, Grade, Lost, MarketDayCounted, MarketDayId, MarketDayNoted,
    MarketDaySettled, Payment, Place, PourId, ProductId, ReturnTo, RowKey, SaleFrom, SaleId,
    SaleLine, SaleVoided, Sold, TillCounted, Units,
};
use crate::goods::Item;
use crate::selling::{
    Picker, Standing, bill, bill_with, channel_named, price_in, sales_tax, standing_at, tax_inside,
    units_of,
};
use crate::state::Workshop;
use crate::trade::{Channel, MarketDay, Sale};
use crate::worth::good_of;

/// The most bundles of one channel.
const MOST_BUNDLES: usize = 50;
/// The longest word a device makes up for a sale.
const LONGEST_TOKEN: usize = 80;
/// The most hours of one market day: two days and nights.
const MOST_HOURS: f64 = 48.0;

fn unknown<T>(what: &'static str, id: impl std::fmt::Display) -> Result<T, Refusal> {
    Err(Refusal::Unknown {
        what,
        id: id.to_string(),
    })
}

pub(super) fn known_channel(workshop: &Workshop, id: ChannelId) -> Result<&Channel, Refusal> {
    let found = workshop.trade().channel(id);
    found.map_or_else(|| unknown("channel", id), Ok)
}

fn known_day(workshop: &Workshop, id: MarketDayId) -> Result<&MarketDay, Refusal> {
    let found = workshop.trade().market_day(id);
    found.map_or_else(|| unknown("market day", id), Ok)
}

fn known_sale(workshop: &Workshop, id: SaleId) -> Result<&Sale, Refusal> {
    workshop
        .trade()
        .sale(id)
        .map_or_else(|| unknown("sale", id), Ok)
}

fn known_good(workshop: &Workshop, id: ProductId) -> Result<(), Refusal> {
    workshop
        .product(id)
        .map_or_else(|| unknown("good", id), |_| Ok(()))
}

fn good_name(workshop: &Workshop, id: ProductId) -> String {
    let found = workshop.product(id);
    found.map_or_else(|| format!("good {id}"), |good| good.name.clone())
}

/// A note that may be empty.
fn words(field: &str, text: &str) -> Result<String, Problem> {
    if text.trim().is_empty() {
        Ok(String::new())
    } else {
        note(field, text)
    }
}

pub(super) fn cannot(field: &str, given: impl Into<String>, wrong: &str, instead: &str) -> Problem {
    Problem::new(field, given, wrong, instead)
}

/// Refuses money below nothing, too dear, or in another currency.
pub(super) fn check_money(
    workshop: &Workshop,
    amounts: &[(&str, Option<Money>)],
    problems: &mut Vec<Problem>,
) {
    for (field, money) in amounts {
        let Some(money) = *money else { continue };
        one_currency(workshop, std::iter::once(money.currency()), field, problems);
        problems.extend(not_too_dear(field, money).err());
        if money.minor() < 0 {
            problems.push(cannot(
                field,
                money.to_string(),
                "that is less than nothing",
                "write an amount, or leave it empty",
            ));
        }
    }
}

/// Opens a way of selling, or changes one.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a channel to change that is not there,
/// [`Refusal::Input`] for a name that is taken or cannot be printed, a share
/// above the whole, money in another currency, and a kind that does not fit the
/// market days there are.
pub fn settle_channel(
    workshop: &Workshop,
    channel: Option<ChannelId>,
    called: &str,
    kind: ChannelKind,
    terms: ChannelTerms,
    closed: bool,
) -> Decision {
    if let Some(id) = channel {
        known_channel(workshop, id)?;
    }
    let mut problems = Vec::new();
    let called = name("name", called).unwrap_or_else(|problem| {
        problems.push(problem);
        String::new()
    });
    if channel_named(workshop, &called).is_some_and(|other| Some(other) != channel) {
        problems.push(super::name_taken("channel", &called));
    }
    for (field, ratio) in [
        ("percent_fee", terms.percent_fee),
        ("payment_percent", terms.payment_percent),
        ("discount", terms.discount),
        ("share", terms.share),
    ] {
        if let Some(ratio) = ratio.filter(|ratio| *ratio > Ratio::ONE) {
            problems.push(cannot(
                field,
                ratio.to_string(),
                "that is more than the whole",
                "write a share of at most 100 %",
            ));
        }
    }
    check_money(
        workshop,
        &[
            ("fixed_fee", terms.fixed_fee),
            ("payment_fixed", terms.payment_fixed),
            ("postage_paid", terms.postage_paid),
            ("postage_charged", terms.postage_charged),
            ("minimum", terms.minimum),
        ],
        &mut problems,
    );
    let mut days = workshop.trade().market_days();
    if kind != ChannelKind::Stall && days.any(|day| Some(day.channel) == channel) {
        problems.push(cannot(
            "kind",
            kind.word(),
            "market days are written down for it",
            "leave it a stall, or open another channel",
        ));
    }
    refuse_if_any(problems)?;
    let known = channel.and_then(|id| workshop.trade().channel(id));
    let is_same = known.is_some_and(|known| {
        (known.name.as_str(), known.kind, known.closed) == (called.as_str(), kind, closed)
            && known.terms == terms
    });
    if is_same {
        return Ok(Vec::new());
    }
    Ok(fact(ChannelSettled {
        channel: channel.unwrap_or_else(|| workshop.trade().next_channel()),
        name: called,
        kind,
        terms,
        closed,
    }))
}

/// Sets what a good costs through a channel; none where the usual price is to
/// hold.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a channel or good that is not there,
/// [`Refusal::Input`] for a price below nothing or in another currency.
pub fn set_channel_price(
    workshop: &Workshop,
    channel: ChannelId,
    product: ProductId,
    price: Option<Money>,
) -> Decision {
    let known = known_channel(workshop, channel)?;
    known_good(workshop, product)?;
    let mut problems = Vec::new();
    let field = format!("price[{product}]");
    check_money(workshop, &[(&field, price)], &mut problems);
    refuse_if_any(problems)?;
    if known.prices.get(&product).copied() == price {
        return Ok(Vec::new());
    }
    Ok(fact(ChannelPriceSet {
        channel,
        product,
        price,
    }))
}

/// Sets what several cost together through a channel.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a channel that is not there, [`Refusal::Input`] for
/// a bundle without goods, of one, for nothing, in another currency, or dearer
/// than its goods alone.
pub fn set_bundles(workshop: &Workshop, channel: ChannelId, bundles: Vec<Bundle>) -> Decision {
    let known = known_channel(workshop, channel)?;
    let mut problems = Vec::new();
    problems.extend(not_too_many("bundles", bundles.len(), MOST_BUNDLES).err());
    for (i, bundle) in bundles.iter().enumerate() {
        let at = |part: &str| format!("bundles[{i}].{part}");
        if bundle.products.is_empty() {
            problems.push(cannot(
                &at("products"),
                "",
                "it holds for nothing",
                "choose the goods it holds for",
            ));
        }
        for product in &bundle.products {
            known_good(workshop, *product)?;
        }
        if !(2..=MOST_UNITS).contains(&bundle.count) {
            problems.push(cannot(
                &at("count"),
                bundle.count.to_string(),
                "that is no number to sell together",
                "write how many, two or more",
            ));
        }
        check_money(
            workshop,
            &[(&at("price"), Some(bundle.price))],
            &mut problems,
        );
        let alone = bundle.products.iter();
        let dearest = alone
            .filter_map(|product| price_in(workshop, known, *product))
            .max_by_key(|price| price.minor());
        let is_dearer = dearest.is_some_and(|each| {
            let alone = i128::from(each.minor()) * i128::from(bundle.count);
            each.currency() == bundle.price.currency() && i128::from(bundle.price.minor()) >= alone
        });
        if bundle.price.minor() <= 0 || is_dearer {
            problems.push(cannot(
                &at("price"),
                bundle.price.to_string(),
                if is_dearer {
                    "they cost no more one by one"
                } else {
                    "that is nothing"
                },
                "write what that many cost together",
            ));
        }
    }
    refuse_if_any(problems)?;
    if known.bundles == bundles {
        return Ok(Vec::new());
    }
    Ok(fact(BundlesSet { channel, bundles }))
}

/// A market day as it is planned.
#[derive(Debug, Clone, PartialEq)]
pub struct MarketDayWish {
    /// The channel; a stall.
    pub channel: ChannelId,
    /// The market.
    pub market: String,
    /// The day.
    pub on: Date,
    /// What it costs, whatever is sold.
    pub costs: DayCosts,
    /// Hours from leaving to being home.
    pub hours: Option<Typed<TimeSpan>>,
    /// Whether it is called off.
    pub called_off: bool,
}

/// Plans a market day, or changes its plan. What was packed for a day that is
/// called off goes back on the rack.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a day to change or a channel that is not there,
/// [`Refusal::Input`] for a channel that is no stall, a missing market, costs
/// below nothing, more hours than two days have, and for calling off a day at
/// which something was sold.
pub fn settle_market_day(
    workshop: &Workshop,
    market_day: Option<MarketDayId>,
    wish: MarketDayWish,
) -> Decision {
    let known = market_day.map(|id| known_day(workshop, id)).transpose()?;
    let channel = known_channel(workshop, wish.channel)?;
    let mut problems = Vec::new();
    if channel.kind != ChannelKind::Stall {
        problems.push(cannot(
            "channel",
            &channel.name,
            "it is no stall",
            "choose a channel that is a stall",
        ));
    }
    let market = name("market", &wish.market).unwrap_or_else(|problem| {
        problems.push(problem);
        String::new()
    });
    check_money(
        workshop,
        &[
            ("pitch", wish.costs.pitch),
            ("travel", wish.costs.travel),
            ("other", wish.costs.other),
        ],
        &mut problems,
    );
    if let Some(hours) = &wish.hours
        && hours.value().minutes() > MOST_HOURS * 60.0
    {
        problems.push(cannot(
            "hours",
            hours.to_string(),
            "that is more than two days",
            "write the hours from leaving to being home",
        ));
    }
    let sold = known.is_some_and(|day| sales_of(workshop, day).next().is_some());
    let counted = known.is_some_and(|day| day.counted.is_some());
    if wish.called_off && (sold || counted) {
        problems.push(cannot(
            "called_off",
            "",
            "the day was held: something was sold or counted",
            "take the sales back first, or leave it as it is",
        ));
    }
    refuse_if_any(problems)?;
    let id = market_day.unwrap_or_else(|| workshop.trade().next_market_day());
    let mut facts = Vec::new();
    let is_same = known.is_some_and(|day| {
        (day.channel, day.market.as_str(), day.on, day.called_off)
            == (wish.channel, market.as_str(), wish.on, wish.called_off)
            && day.costs == wish.costs
            && day.hours == wish.hours
    });
    if !is_same {
        facts.extend(fact(MarketDaySettled {
            market_day: id,
            channel: wish.channel,
            market,
            on: wish.on,
            costs: wish.costs,
            hours: wish.hours,
            called_off: wish.called_off,
        }));
    }
    let packed = at_stall(workshop, id);
    if wish.called_off && !packed.is_empty() {
        facts.extend(fact(GoodsTaken {
            market_day: id,
            units: Vec::new(),
            back: packed,
        }));
    }
    Ok(facts)
}

/// What stands at a stall, units of which there are some.
fn at_stall(workshop: &Workshop, id: MarketDayId) -> Vec<Units> {
    let standing = standing_at(workshop, Place::Stall(id), Date::MAX);
    standing
        .into_iter()
        .flat_map(|(product, list)| {
            list.into_iter().filter_map(move |one| {
                let count = u32::try_from(one.count).ok().filter(|count| *count > 0)?;
                Some(units_of(product, one.item, count))
            })
        })
        .collect()
}

/// The sales of a market day that were.
pub(crate) fn sales_of<'a>(
    workshop: &'a Workshop,
    day: &'a MarketDay,
) -> impl Iterator<Item = &'a Sale> {
    day.sales
        .iter()
        .filter_map(|id| workshop.trade().sale(*id))
        .filter(|sale| sale.voided.is_none())
}

/// So many units of a good, of a lot where the maker names it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Counted {
    /// Which good.
    pub product: ProductId,
    /// Which lot; none where the units that leave first are meant.
    pub lot: Option<PourId>,
    /// How good they are.
    pub grade: Grade,
    /// How many.
    pub count: u32,
}

impl Counted {
    /// So many good units of a good, whichever lot they are of.
    pub const fn of(product: ProductId, count: u32) -> Self {
        Self {
            product,
            lot: None,
            grade: Grade::Good,
            count,
        }
    }
}

/// The lots named are of their goods, and the counts are counts.
fn check_counted(
    workshop: &Workshop,
    stem: &str,
    counted: &[Counted],
    problems: &mut Vec<Problem>,
) -> Result<(), Refusal> {
    problems.extend(not_too_many(stem, counted.len(), MOST_LINES * 20).err());
    let mut seen = BTreeSet::new();
    for one in counted {
        known_good(workshop, one.product)?;
        let field = field_of(stem, one);
        if one.count > MOST_PIECES {
            problems.push(cannot(
                &field,
                one.count.to_string(),
                "that is more than ten million",
                "look at the figure",
            ));
        }
        if let Some(lot) = one.lot {
            check_lot_of(workshop, &field, one.product, lot, problems)?;
        }
        if !seen.insert((one.product, one.lot, one.grade)) {
            problems.push(cannot(
                &field,
                one.count.to_string(),
                "it is counted twice",
                "count each lot once",
            ));
        }
    }
    Ok(())
}

fn check_lot_of(
    workshop: &Workshop,
    field: &str,
    product: ProductId,
    lot: PourId,
    problems: &mut Vec<Problem>,
) -> Result<(), Refusal> {
    let pour = super::known_pour(workshop, lot)?;
    if good_of(workshop, pour).is_none_or(|good| good.id != product) {
        problems.push(cannot(
            field,
            &pour.lot,
            "that lot is of another good",
            "choose a lot of this good",
        ));
    }
    Ok(())
}

/// The box a count stands in: `back[3]`, or `back[3].7` for lot 7 of good 3.
fn field_of(stem: &str, one: &Counted) -> String {
    match one.lot {
        Some(lot) if one.grade == Grade::Second => format!("{stem}[{}].{lot}.second", one.product),
        Some(lot) => format!("{stem}[{}].{lot}", one.product),
        None => format!("{stem}[{}]", one.product),
    }
}

/// Settles what is packed for a market day: so many of each good named, of a
/// lot where one is named; goods that are not named stay as they are. What is
/// missing comes from the rack, the earliest best-by first, none that is held
/// or will still be curing; what is too much goes back.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a day, good or lot that is not there,
/// [`Refusal::Input`] for a day that is over or called off, for a lot of
/// another good, and, before the day is past, for more than there is: it says
/// how many there are.
pub fn take_goods(
    workshop: &Workshop,
    market_day: MarketDayId,
    wanted: &[Counted],
    today: Date,
) -> Decision {
    let day = known_day(workshop, market_day)?;
    let mut problems = Vec::new();
    still_open(day, &mut problems);
    check_counted(workshop, "take", wanted, &mut problems)?;
    refuse_if_any(problems)?;
    let mut problems = Vec::new();
    let has_happened = day.on < today;
    let place = Place::Stall(market_day);
    let mut picker = Picker::new(workshop, day.on.max(today));
    let (mut units, mut back) = (Vec::new(), Vec::new());
    for one in wanted {
        let is_it = |units: &&Units| {
            units.product == one.product
                && one
                    .lot
                    .is_none_or(|lot| (units.lot, units.grade) == (Some(lot), one.grade))
        };
        let there = day
            .taken
            .iter()
            .filter(is_it)
            .map(|units| units.count)
            .sum();
        if one.count < there {
            let too_many = there - one.count;
            let units = match one.lot {
                Some(lot) => picker.take_of(place, one.product, lot, one.grade, too_many),
                None => put_back(&mut picker, place, one.product, too_many),
            };
            let found: u32 = units.iter().map(|units| units.count).sum();
            if found < too_many {
                problems.push(Problem::new(
                    field_of("take", one),
                    one.count.to_string(),
                    format!("only {found} of those taken are still there to put back"),
                    "write how many you took",
                ));
            }
            back.extend(units);
            continue;
        }
        let more = one.count - there;
        let taken = match one.lot {
            Some(lot) => picker.take_of(Place::Rack, one.product, lot, one.grade, more),
            None => picker.take(Place::Rack, one.product, more),
        };
        let found: u32 = taken.iter().map(|units| units.count).sum();
        units.extend(taken);
        if found == more {
            continue;
        }
        if has_happened {
            let rest = more - found;
            match one.lot {
                // The maker says which lot it was, whether or not it is there.
                Some(lot) => units.push(units_of(one.product, Item::Lot(lot, one.grade), rest)),
                None => units.extend(picker.take_as_happened(Place::Rack, one.product, rest)),
            }
        } else {
            problems.push(not_so_many(
                workshop,
                &field_of("take", one),
                one,
                there + found,
            ));
        }
    }
    refuse_if_any(problems)?;
    if units.is_empty() && back.is_empty() {
        return Ok(Vec::new());
    }
    Ok(fact(GoodsTaken {
        market_day,
        units,
        back,
    }))
}

/// The units that were packed last go back first: the latest best-by.
fn put_back(picker: &mut Picker, place: Place, product: ProductId, count: u32) -> Vec<Units> {
    let mut left = count;
    let latest: Vec<Standing> = picker
        .standing(place, product)
        .iter()
        .rev()
        .copied()
        .collect();
    let mut back = Vec::new();
    for one in latest.into_iter().filter(|one| one.count > 0) {
        let some = u32::try_from(one.count).unwrap_or(u32::MAX).min(left);
        if some == 0 {
            break;
        }
        left -= some;
        back.push(units_of(product, one.item, some));
    }
    back
}

fn not_so_many(workshop: &Workshop, field: &str, one: &Counted, there: u32) -> Problem {
    let called = good_name(workshop, one.product);
    let of_lot = match one.lot.and_then(|lot| workshop.pour(lot)) {
        Some(pour) => format!(" of lot {}", pour.lot),
        None => String::new(),
    };
    let wrong = match there {
        0 => format!("there is none of {called}{of_lot} that may be sold by then"),
        1 => format!("there is only 1 of {called}{of_lot} that may be sold by then"),
        n => format!("there are only {n} of {called}{of_lot} that may be sold by then"),
    };
    Problem::new(
        field,
        one.count.to_string(),
        wrong,
        "take fewer, or count the rack if there are more",
    )
}

/// Refuses a day that is counted back or called off.
fn still_open(day: &MarketDay, problems: &mut Vec<Problem>) {
    if let Some(counted) = &day.counted {
        problems.push(cannot(
            "",
            "",
            &format!("the day was counted back on {}", counted.day),
            "count it again if that is wrong",
        ));
    }
    if day.called_off {
        problems.push(cannot(
            "",
            "",
            "the day is called off",
            "put it on again first",
        ));
    }
}

/// One good of a sale as the seller says it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LineWish {
    /// How many of which good, of a lot where one is named.
    pub units: Counted,
    /// What was paid for them together, tax in it; none where the channel's
    /// price and bundles say it.
    pub paid: Option<Money>,
}

/// A sale as the seller says it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SaleWish {
    /// The word the seller's device made up for it; empty where none did.
    pub token: String,
    /// How it comes to be written down.
    pub from: SaleFrom,
    /// The channel; that of the market day where one is named.
    pub channel: Option<ChannelId>,
    /// The market day, for a sale at a stall.
    pub market_day: Option<MarketDayId>,
    /// The buyer, where it has a name.
    pub buyer: Option<BuyerId>,
    /// What was sold.
    pub lines: Vec<LineWish>,
    /// What the buyer paid for postage, tax in it.
    pub postage: Option<Money>,
    /// What the channel and the payment cost; none where the terms say it.
    pub fees: Option<Money>,
    /// How it was paid.
    pub payment: Payment,
    /// The row of a file it was read from.
    pub row: Option<RowKey>,
}

impl SaleWish {
    /// A sale at a market day, tapped as it was made.
    pub const fn tapped(
        token: String,
        market_day: MarketDayId,
        lines: Vec<LineWish>,
        payment: Payment,
    ) -> Self {
        Self {
            token,
            from: SaleFrom::Tapped,
            channel: None,
            market_day: Some(market_day),
            buyer: None,
            lines,
            postage: None,
            fees: None,
            payment,
            row: None,
        }
    }
}

/// Writes down one sale, made on `day`. Its units are those that stand at the
/// stall, or on the rack for a sale elsewhere, the earliest best-by first; what
/// is more than there is has no lot, and is asked about until it is explained.
///
/// A token or a row that is written down already adds nothing.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a market day, channel, good or lot that is not
/// there, [`Refusal::Input`] for a sale of nothing, a good without a price, an
/// amount below nothing or in another currency, a day that is called off, and
/// one that was counted back unless the count has as many missing.
pub fn sell(workshop: &Workshop, wish: &SaleWish, day: Date) -> Decision {
    let trade = workshop.trade();
    if !wish.token.is_empty() && trade.has_token(&wish.token) {
        return Ok(Vec::new());
    }
    if wish.row.as_ref().is_some_and(|row| trade.has_row(row)) {
        return Ok(Vec::new());
    }
    let mut problems = Vec::new();
    if !wish.token.is_empty() {
        problems.extend(line("token", &wish.token, LONGEST_TOKEN).err());
    }
    let at_market = wish
        .market_day
        .map(|id| known_day(workshop, id))
        .transpose()?;
    let channel = match (at_market, wish.channel) {
        (Some(at_market), _) => at_market.channel,
        (None, Some(channel)) => channel,
        (None, None) => {
            problems.push(cannot(
                "channel",
                "",
                "it does not say how it was sold",
                "choose a channel",
            ));
            return refuse_if_any(problems).map(|()| Vec::new());
        }
    };
    let channel = known_channel(workshop, channel)?;
    check_sale(workshop, wish, &mut problems)?;
    let missing = match at_market {
        Some(at_market) => late(workshop, at_market, wish, &mut problems),
        None => None,
    };
    refuse_if_any(problems)?;
    let (paid, tax) = paid_for(workshop, channel, wish)?;
    let mut facts = Vec::new();
    let lines = if let Some((lots, recount)) = missing {
        facts.extend(fact(recount));
        lots
    } else {
        picked_for(workshop, wish, day)
    };
    let lines = lines
        .into_iter()
        .zip(paid)
        .map(|(units, paid)| SaleLine { units, paid });
    facts.extend(fact(Sold {
        sale: trade.next_sale(),
        token: wish.token.trim().to_owned(),
        from: wish.from,
        channel: channel.id,
        market_day: wish.market_day,
        buyer: wish.buyer,
        order: None,
        lines: lines.collect(),
        postage: wish.postage,
        tax,
        fees: wish.fees,
        payment: wish.payment,
        row: wish.row.clone(),
    }));
    Ok(facts)
}

fn check_sale(
    workshop: &Workshop,
    wish: &SaleWish,
    problems: &mut Vec<Problem>,
) -> Result<(), Refusal> {
    problems.extend(not_too_many("lines", wish.lines.len(), MOST_LINES).err());
    if wish.lines.iter().all(|line| line.units.count == 0) {
        problems.push(cannot(
            "lines",
            "",
            "nothing was sold",
            "write how many of what",
        ));
    }
    let units: u64 = wish.lines.iter().map(|it| u64::from(it.units.count)).sum();
    if units > u64::from(MOST_UNITS) {
        problems.push(cannot(
            "lines",
            units.to_string(),
            "that is more than ten thousand units at once",
            "look at the figures",
        ));
    }
    for (i, one) in wish.lines.iter().enumerate() {
        let at = |part: &str| format!("lines[{i}].{part}");
        if workshop.product(one.units.product).is_none() {
            let id = one.units.product.to_string();
            let wrong = "there is no such good";
            problems.push(cannot(&at("product"), id, wrong, "choose one you sell"));
            continue;
        }
        if let Some(lot) = one.units.lot {
            check_lot_of(workshop, &at("lot"), one.units.product, lot, problems)?;
        }
        check_money(workshop, &[(&at("paid"), one.paid)], problems);
    }
    let others = [("postage", wish.postage), ("fees", wish.fees)];
    check_money(workshop, &others, problems);
    if let Some(buyer) = wish
        .buyer
        .filter(|id| workshop.trade().buyer(*id).is_none())
    {
        return unknown("buyer", buyer);
    }
    Ok(())
}

/// The lots of each line of a sale that came in after its day was counted, out
/// of what the count found missing, with the count that has them missing no
/// more. None for a day that is not counted yet.
fn late(
    workshop: &Workshop,
    day: &MarketDay,
    wish: &SaleWish,
    problems: &mut Vec<Problem>,
) -> Option<(Vec<Vec<Units>>, MarketDayCounted)> {
    let Some(counted) = day.counted.as_ref().filter(|_| !day.called_off) else {
        still_open(day, problems);
        return None;
    };
    let mut missing = counted.missing.clone();
    let mut lines = Vec::new();
    for one in wish.lines.iter().map(|line| line.units) {
        let mut left = one.count;
        let mut units = Vec::new();
        for found in missing.iter_mut().filter(|found| {
            found.product == one.product && one.lot.is_none_or(|lot| found.lot == Some(lot))
        }) {
            let count = found.count.min(left);
            if count > 0 {
                units.push(Units { count, ..*found });
                found.count -= count;
                left -= count;
            }
        }
        if left > 0 {
            let called = good_name(workshop, one.product);
            problems.push(Problem::new(
                "market_day",
                day.id.to_string(),
                format!(
                    "the day was counted back on {}, and {} of these {called} were not missing then, so the count has them sold or brought back",
                    counted.day, left
                ),
                "leave the sale out, or count the day again",
            ));
            return None;
        }
        lines.push(units);
    }
    missing.retain(|units| units.count > 0);
    let recount = MarketDayCounted {
        market_day: day.id,
        back: counted.back.clone(),
        given: counted.given.clone(),
        spoilt: counted.spoilt.clone(),
        missing,
    };
    Some((lines, recount))
}

/// What was paid for each line and the tax in the whole sale.
fn paid_for(
    workshop: &Workshop,
    channel: &Channel,
    wish: &SaleWish,
) -> Result<(Vec<Money>, Money), Refusal> {
    let asked: Vec<_> = wish
        .lines
        .iter()
        .filter(|line| line.paid.is_none())
        .map(|line| (line.units.product, line.units.count))
        .collect();
    let buyer = wish.buyer.and_then(|id| workshop.trade().buyer(id));
    let is_untaxed = buyer.is_some_and(|buyer| buyer.terms.untaxed);
    let taken = sales_tax(workshop).filter(|_| !is_untaxed);
    let bill = bill_with(workshop, channel, &asked, taken).map_err(|product| {
        let nth = wish
            .lines
            .iter()
            .position(|line| line.units.product == product);
        Problem::new(
            format!("lines[{}].product", nth.unwrap_or(0)),
            good_name(workshop, product),
            "it has no price",
            "give it a price, or write what was paid",
        )
    })?;
    let mut by_price = bill.lines.iter();
    let paid: Vec<Money> = wish
        .lines
        .iter()
        .filter_map(|line| line.paid.or_else(|| by_price.next().copied()))
        .collect();
    let currency = paid
        .first()
        .map_or(bill.total.currency(), |paid| paid.currency());
    let sum = |amounts: &mut dyn Iterator<Item = Money>| {
        Money::from_minor(amounts.map(Money::minor).sum(), currency)
    };
    let own = sum(&mut wish
        .lines
        .iter()
        .filter_map(|line| line.paid)
        .chain(wish.postage));
    let Some(tax) = taken else {
        return Ok((paid, Money::from_minor(0, currency)));
    };
    let tax = if tax.inside {
        let all = own.minor().saturating_add(bill.total.minor());
        tax_inside(Money::from_minor(all, currency), tax.rate)
    } else {
        // What was really paid has the tax in it, whoever added it.
        let more = tax_inside(own, tax.rate).minor();
        Money::from_minor(bill.tax.minor().saturating_add(more), currency)
    };
    Ok((paid, tax))
}

fn picked_for(workshop: &Workshop, wish: &SaleWish, day: Date) -> Vec<Vec<Units>> {
    let place = wish.market_day.map_or(Place::Rack, Place::Stall);
    let mut picker = Picker::new(workshop, day);
    wish.lines
        .iter()
        .map(|line| {
            let Counted {
                product,
                lot,
                grade,
                count,
            } = line.units;
            let Some(lot) = lot else {
                return picker.take_as_happened(place, product, count);
            };
            // The maker says which lot it was, whether or not it is there.
            let mut units = picker.take_of(place, product, lot, grade, count);
            let found: u32 = units.iter().map(|units| units.count).sum();
            let more = units_of(product, Item::Lot(lot, grade), count - found);
            units.extend(Some(more).filter(|more| more.count > 0));
            units
        })
        .collect()
}

/// Takes back a sale that never was.
///
/// # Errors
///
/// [`Refusal::Unknown`] for one that is not there, [`Refusal::Input`] for a
/// missing reason, for a sale of which something came back, that stands on an
/// invoice, left with an order or was paid out, and for one at a market day that
/// is counted back.
pub fn void_sale(workshop: &Workshop, sale: SaleId, reason: &str) -> Decision {
    let known = known_sale(workshop, sale)?;
    if known.voided.is_some() {
        return Ok(Vec::new());
    }
    let mut problems = Vec::new();
    let reason = note("reason", reason).unwrap_or_else(|problem| {
        problems.push(problem);
        String::new()
    });
    if let Some(invoice) = known.invoice {
        problems.push(cannot(
            "",
            "",
            &format!("it stands on invoice {invoice}"),
            "write a credit note for it",
        ));
    }
    // What left with an order cannot be packed for it again.
    if let Some(order) = known.order {
        problems.push(cannot(
            "",
            "",
            &format!("it left with order {order}"),
            "write down what came back",
        ));
    }
    if let Some(payout) = known.payout {
        problems.push(cannot(
            "",
            "",
            &format!("payout {payout} paid for it"),
            "write down what came back",
        ));
    }
    if !known.returns.is_empty() {
        problems.push(cannot(
            "",
            "",
            "something of it came back already",
            "take the rest back as a return",
        ));
    }
    let day = known
        .market_day
        .and_then(|id| workshop.trade().market_day(id));
    if day.is_some_and(|day| day.counted.is_some()) {
        problems.push(cannot(
            "",
            "",
            "the day is counted back, and the count has it sold",
            "count the day again, or write down a return",
        ));
    }
    refuse_if_any(problems)?;
    Ok(fact(SaleVoided { sale, reason }))
}

/// Writes down that a buyer gave goods back or was given money back. Which lots
/// they are of the sale knows; of several the one that left first.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a sale that is not there, [`Refusal::Input`] for
/// one that never was, for more units or money than the buyer still has of it,
/// for money of one that stands on an invoice, for nothing at all, and for a
/// missing reason.
pub fn return_goods(
    workshop: &Workshop,
    sale: SaleId,
    counted: &[Counted],
    refund: Money,
    to: ReturnTo,
    reason: &str,
) -> Decision {
    let known = known_sale(workshop, sale)?;
    let mut problems = Vec::new();
    if known.voided.is_some() {
        problems.push(cannot("", "", "that sale never was", "choose another one"));
    }
    check_counted(workshop, "units", counted, &mut problems)?;
    check_money(workshop, &[("refund", Some(refund))], &mut problems);
    let mut left = known.left();
    let mut units = Vec::new();
    for one in counted.iter().filter(|one| one.count > 0) {
        let mut wanted = one.count;
        let of_it = left.iter_mut().filter(|there| {
            there.product == one.product && one.lot.is_none_or(|lot| there.lot == Some(lot))
        });
        for there in of_it {
            let count = there.count.min(wanted);
            if count > 0 {
                there.count -= count;
                wanted -= count;
                units.push(Units { count, ..*there });
            }
        }
        if wanted > 0 {
            problems.push(Problem::new(
                field_of("units", one),
                one.count.to_string(),
                format!("the buyer has only {} of them", one.count - wanted),
                "write how many came back",
            ));
        }
    }
    let refunded: i64 = known.returns.iter().map(|back| back.refund.minor()).sum();
    let paid = known.paid();
    if refund.currency() != paid.currency() || refund.minor() > paid.minor() - refunded {
        let left = Money::from_minor(paid.minor() - refunded, paid.currency());
        problems.push(Problem::new(
            "refund",
            refund.to_string(),
            format!("of what was paid {left} is left"),
            "write at most that",
        ));
    }
    // Paid or not: a credit note could give the same money back once more.
    if let Some(invoice) = known.invoice.filter(|_| refund.minor() > 0) {
        problems.push(cannot(
            "refund",
            refund.to_string(),
            &format!("it stands on invoice {invoice}"),
            "write a credit note for it",
        ));
    }
    if units.is_empty() && refund.minor() == 0 && problems.is_empty() {
        problems.push(cannot(
            "units",
            "",
            "nothing came back",
            "write how many units, or how much money",
        ));
    }
    let reason = note("reason", reason).unwrap_or_else(|problem| {
        problems.push(problem);
        String::new()
    });
    refuse_if_any(problems)?;
    Ok(fact(GoodsReturned {
        sale,
        units,
        refund,
        tax: tax_given_back(known, refund),
        to,
        reason,
    }))
}

/// The part of a sale's tax that goes back with a refund: in proportion, and
/// with the last of the money the last of the tax.
fn tax_given_back(sale: &Sale, refund: Money) -> Money {
    let paid = sale.paid();
    let before: i64 = sale.returns.iter().map(|back| back.refund.minor()).sum();
    let tax_of = |part: i64| {
        let weights = [part, paid.minor() - part].map(|part| u64::try_from(part).unwrap_or(0));
        let shares = price::spread(sale.tax, &weights);
        shares.map_or(0, |shares| shares.first().map_or(0, |share| share.minor()))
    };
    let minor = tax_of(before.saturating_add(refund.minor())) - tax_of(before);
    Money::from_minor(minor, paid.currency())
}

/// What became of goods that were taken and neither brought back nor given
/// away nor spoilt, beyond what was tapped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WhatIsLeft {
    /// They were sold.
    Sold,
    /// Nobody knows.
    Missing,
}

/// What came home from a market day as the maker counts it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct BackWish {
    /// Brought back; a good that was taken and is not named is none.
    pub back: Vec<Counted>,
    /// Given away or put out to smell.
    pub given: Vec<Counted>,
    /// Damaged.
    pub spoilt: Vec<Counted>,
    /// What became of the rest; none where it is sold if no sale was written
    /// down at the stall, and missing if some were.
    pub rest: Option<WhatIsLeft>,
}

/// What is at a stall of one good, before it is counted back.
struct AtStall {
    /// Oldest first.
    lots: Vec<(Item, i64)>,
}

impl AtStall {
    /// Units there, less those that were sold beyond what was taken.
    fn total(&self) -> i64 {
        self.lots.iter().map(|(_, count)| count).sum()
    }

    /// Takes units of a lot; the latest where none is named.
    fn take_latest(&mut self, one: &Counted) -> (Vec<Units>, u32) {
        let fits = |item: Item| match one.lot {
            Some(lot) => item == Item::Lot(lot, one.grade),
            None => true,
        };
        let lots = self.lots.iter_mut().rev().filter(|(item, _)| fits(*item));
        take(one.product, lots, one.count)
    }

    fn take_earliest(&mut self, product: ProductId, count: u32) -> Vec<Units> {
        take(product, self.lots.iter_mut(), count).0
    }
}

/// Takes so many of some lots, and says how many there were not.
fn take<'a>(
    product: ProductId,
    lots: impl Iterator<Item = &'a mut (Item, i64)>,
    count: u32,
) -> (Vec<Units>, u32) {
    let mut left = count;
    let mut units = Vec::new();
    for (item, there) in lots {
        let some = u32::try_from(*there).unwrap_or(0).min(left);
        if some > 0 {
            *there -= i64::from(some);
            left -= some;
            units.push(units_of(product, *item, some));
        }
    }
    (units, left)
}

/// Counts a market day back: what was taken and did not come home was sold,
/// given away, spoilt or is missing. Where no sale was written down at the
/// stall, the rest was sold, in one sale at the channel's prices one by one;
/// where some were, the rest is missing, unless the maker says it was sold. A
/// day may be counted again; the earlier count and its sale then never were.
///
/// Units that were sold without a lot, because more was sold than was known to
/// be there, are explained by what would otherwise be left over.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a day, good or lot that is not there,
/// [`Refusal::Input`] for a day called off or one at which nothing was taken or
/// sold, for more home than was taken, for a good that was sold and has no
/// price, and for more takings than anyone has.
pub fn count_back(workshop: &Workshop, market_day: MarketDayId, wish: &BackWish) -> Decision {
    let day = known_day(workshop, market_day)?;
    let mut problems = Vec::new();
    if day.called_off {
        still_open(day, &mut problems);
    }
    for (stem, counted) in [
        ("back", &wish.back),
        ("given", &wish.given),
        ("spoilt", &wish.spoilt),
    ] {
        check_counted(workshop, stem, counted, &mut problems)?;
    }
    let (mut stall, voided) = before_count(workshop, day, &mut problems);
    let is_tapped = sales_of(workshop, day).any(|sale| Some(sale.id) != voided);
    if stall.is_empty() && !is_tapped {
        problems.push(cannot(
            "",
            "",
            "nothing was taken to it",
            "write down what you took first",
        ));
    }
    refuse_if_any(problems)?;
    let rest = wish.rest.unwrap_or(if is_tapped {
        WhatIsLeft::Missing
    } else {
        WhatIsLeft::Sold
    });
    let mut problems = Vec::new();
    let mut lists: [Vec<Units>; 3] = Default::default();
    let (mut left_over, mut sold, mut missing) = (Vec::new(), Vec::new(), Vec::new());
    let mut named: BTreeSet<ProductId> = stall.keys().copied().collect();
    let all = [&wish.back, &wish.given, &wish.spoilt];
    named.extend(
        all.iter()
            .flat_map(|list| list.iter())
            .map(|one| one.product),
    );
    for product in named {
        let mut here = stall
            .remove(&product)
            .unwrap_or(AtStall { lots: Vec::new() });
        let there = u32::try_from(here.total().max(0)).unwrap_or(u32::MAX);
        let of_it = |list: &[Counted]| -> Vec<Counted> {
            let of_it = list.iter().filter(|one| one.product == product);
            of_it.copied().collect()
        };
        let asked: u64 = all
            .iter()
            .flat_map(|list| of_it(list))
            .map(|one| u64::from(one.count))
            .sum();
        if asked > u64::from(there) {
            problems.push(too_many_home(workshop, product, asked, there, is_tapped));
            continue;
        }
        // A lot that is named comes out of that lot; the rest of the count, and
        // what came home before what was given away, of the latest.
        for names_lot in [true, false] {
            for ((list, stem), into) in all.iter().zip(["back", "given", "spoilt"]).zip(&mut lists)
            {
                for one in of_it(list)
                    .iter()
                    .filter(|one| one.lot.is_some() == names_lot)
                {
                    let (units, short) = here.take_latest(one);
                    into.extend(units);
                    if short > 0 {
                        problems.push(not_along(workshop, &field_of(stem, one), one, short));
                    }
                }
            }
        }
        let gone = u32::try_from(u64::from(there) - asked).unwrap_or(u32::MAX);
        let units = here.take_earliest(product, gone);
        match rest {
            WhatIsLeft::Sold if gone > 0 => sold.push((product, gone, units)),
            WhatIsLeft::Sold => {}
            WhatIsLeft::Missing => missing.extend(units),
        }
        if here.total() == 0 && here.lots.iter().any(|(_, count)| *count != 0) {
            let lots = here.lots.iter().filter(|(_, count)| *count != 0);
            left_over.extend(lots.map(|(item, _)| units_of(product, *item, 0)));
        }
    }
    refuse_if_any(problems)?;
    let [back, given, spoilt] = lists;
    let mut facts = Vec::new();
    if let Some(sale) = voided {
        let reason = "the day was counted again".to_owned();
        facts.extend(fact(SaleVoided { sale, reason }));
    }
    facts.extend(fact(MarketDayCounted {
        market_day,
        back,
        given,
        spoilt,
        missing,
    }));
    if !sold.is_empty() {
        facts.extend(fact(sold_by_count(workshop, day, sold)?));
    }
    if !left_over.is_empty() {
        facts.extend(fact(GoodsCounted {
            place: Place::Stall(market_day),
            units: left_over,
            note: "sold before it was known which lot".to_owned(),
        }));
    }
    Ok(facts)
}

/// What is at the stall of each good as if it had never been counted back, and
/// the sale that an earlier count wrote down.
fn before_count(
    workshop: &Workshop,
    day: &MarketDay,
    problems: &mut Vec<Problem>,
) -> (BTreeMap<ProductId, AtStall>, Option<SaleId>) {
    let standing = standing_at(workshop, Place::Stall(day.id), day.on);
    let mut stall: BTreeMap<ProductId, AtStall> = standing
        .into_iter()
        .map(|(product, list)| {
            let lots = list.into_iter().map(|one| (one.item, one.count)).collect();
            (product, AtStall { lots })
        })
        .collect();
    let Some(counted) = &day.counted else {
        return (stall, None);
    };
    let earlier = sales_of(workshop, day).find(|sale| sale.from == SaleFrom::CountedBack);
    if earlier.is_some_and(|sale| !sale.returns.is_empty() || sale.invoice.is_some()) {
        problems.push(cannot(
            "",
            "",
            "something of what the first count has sold came back since",
            "leave the count, and put the rack right by counting it",
        ));
    }
    let lists = [
        &counted.back,
        &counted.given,
        &counted.spoilt,
        &counted.missing,
    ];
    let again = lists.into_iter().flatten().copied();
    for units in again.chain(earlier.iter().flat_map(|sale| sale.left())) {
        let here = stall
            .entry(units.product)
            .or_insert(AtStall { lots: Vec::new() });
        let item = Item::from(units);
        match here.lots.iter_mut().find(|(known, _)| *known == item) {
            Some((_, count)) => *count += i64::from(units.count),
            None => here.lots.push((item, i64::from(units.count))),
        }
        here.lots
            .sort_by_key(|(item, _)| leaves_first(workshop, *item));
    }
    (stall, earlier.map(|sale| sale.id))
}

/// The order in which units leave: the earliest best-by, then the oldest poured.
fn leaves_first(workshop: &Workshop, item: Item) -> (Date, Date, Item) {
    let pour = item.lot().and_then(|lot| workshop.pour(lot));
    let best_by = pour.and_then(|pour| workshop.best_scent_by(pour));
    let poured = pour.and_then(|pour| pour.poured);
    match item {
        Item::Unknown(_) => (Date::MIN, Date::MIN, item),
        Item::Lot(..) => (
            best_by.unwrap_or(Date::MAX),
            poured.unwrap_or(Date::MAX),
            item,
        ),
    }
}

fn too_many_home(
    workshop: &Workshop,
    product: ProductId,
    asked: u64,
    there: u32,
    is_tapped: bool,
) -> Problem {
    let called = good_name(workshop, product);
    let (wrong, instead) = if is_tapped {
        (
            format!(
                "of {called} only {there} can have come home: the others are written down as sold"
            ),
            "count again, take back a sale that was none, or write down what else you took",
        )
    } else {
        (
            format!("of {called} only {there} were taken"),
            "count again, or write down what else you took",
        )
    };
    Problem::new(
        format!("back[{product}]"),
        asked.to_string(),
        wrong,
        instead,
    )
}

fn not_along(workshop: &Workshop, field: &str, one: &Counted, short: u32) -> Problem {
    let lot = one.lot.and_then(|lot| workshop.pour(lot));
    let lot = lot.map_or_else(String::new, |pour| pour.lot.clone());
    Problem::new(
        field,
        one.count.to_string(),
        format!("of lot {lot} there are {short} fewer"),
        "look at the code on the units",
    )
}

/// What a count has sold: one sale, each unit at its price alone.
fn sold_by_count(
    workshop: &Workshop,
    day: &MarketDay,
    sold: Vec<(ProductId, u32, Vec<Units>)>,
) -> Result<Sold, Refusal> {
    let channel = known_channel(workshop, day.channel)?;
    let alone = Channel {
        bundles: Vec::new(),
        ..channel.clone()
    };
    let wanted: Vec<_> = sold.iter().map(|(id, count, _)| (*id, *count)).collect();
    let bill = bill(workshop, &alone, &wanted).map_err(|product| {
        Problem::new(
            format!("back[{product}]"),
            good_name(workshop, product),
            "some were sold, and it has no price",
            "give it a price first",
        )
    })?;
    not_too_dear("back", bill.total)?;
    let lines = sold.into_iter().zip(&bill.lines);
    Ok(Sold {
        sale: workshop.trade().next_sale(),
        token: String::new(),
        from: SaleFrom::CountedBack,
        channel: channel.id,
        market_day: Some(day.id),
        buyer: None,
        order: None,
        lines: lines
            .map(|((_, _, units), paid)| SaleLine { units, paid: *paid })
            .collect(),
        postage: None,
        tax: bill.tax,
        fees: None,
        payment: Payment::Unknown,
        row: None,
    })
}

/// Writes down what was in the cash tin of a market day.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a day that is not there, [`Refusal::Input`] for
/// money below nothing or in another currency, for card payments without a
/// number of them, and for a day called off.
pub fn count_till(
    workshop: &Workshop,
    market_day: MarketDayId,
    float: Money,
    counted: Money,
    cards: Option<Money>,
    card_payments: Option<u32>,
) -> Decision {
    let day = known_day(workshop, market_day)?;
    let mut problems = Vec::new();
    if day.called_off {
        still_open(day, &mut problems);
    }
    check_money(
        workshop,
        &[
            ("float", Some(float)),
            ("counted", Some(counted)),
            ("cards", cards),
        ],
        &mut problems,
    );
    if cards.is_none() && card_payments.is_some_and(|n| n > 0) {
        problems.push(cannot(
            "cards",
            "",
            "it is missing",
            "write what the card report comes to",
        ));
    }
    if cards.is_some_and(|cards| cards.minor() > 0) && card_payments.is_none_or(|n| n == 0) {
        problems.push(cannot(
            "card_payments",
            "",
            "it is missing",
            "write how many payments the card report lists: each has its fee",
        ));
    }
    if let Some(n) = card_payments.filter(|n| *n > MOST_UNITS) {
        problems.push(cannot(
            "card_payments",
            n.to_string(),
            "that is more than ten thousand",
            "look at the figure",
        ));
    }
    refuse_if_any(problems)?;
    let is_same = day.till.is_some_and(|till| {
        (till.float, till.counted) == (float, counted)
            && (till.cards, till.card_payments) == (cards, card_payments)
    });
    if is_same {
        return Ok(Vec::new());
    }
    Ok(fact(TillCounted {
        market_day,
        float,
        counted,
        cards,
        card_payments,
    }))
}

/// Writes down what was put into the cash tin of a market day in the morning.
/// Once the tin is counted, its float stands in the count.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a day that is not there; [`Refusal::Input`] for one
/// that is called off, and for money that cannot be.
pub fn keep_float(workshop: &Workshop, market_day: MarketDayId, float: Money) -> Decision {
    let day = known_day(workshop, market_day)?;
    let mut problems = Vec::new();
    if day.called_off {
        still_open(day, &mut problems);
    }
    check_money(workshop, &[("float", Some(float))], &mut problems);
    refuse_if_any(problems)?;
    if day.float == Some(float) {
        return Ok(Vec::new());
    }
    Ok(fact(MarketDayNoted {
        market_day,
        weather: day.weather.clone(),
        footfall: day.footfall,
        note: day.note.clone(),
        float: Some(float),
    }))
}

/// Writes down what a market day was like.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a day that is not there, [`Refusal::Input`] for
/// words that do not fit a line.
pub fn note_market_day(
    workshop: &Workshop,
    market_day: MarketDayId,
    weather: &str,
    footfall: Option<u32>,
    remark: &str,
) -> Decision {
    let day = known_day(workshop, market_day)?;
    let mut problems = Vec::new();
    let weather = match weather.trim() {
        "" => String::new(),
        weather => line("weather", weather, LONGEST_NAME).unwrap_or_else(|problem| {
            problems.push(problem);
            String::new()
        }),
    };
    let remark = words("note", remark).unwrap_or_else(|problem| {
        problems.push(problem);
        String::new()
    });
    if let Some(n) = footfall.filter(|n| *n > MOST_PIECES) {
        problems.push(cannot(
            "footfall",
            n.to_string(),
            "that is more than ten million",
            "look at the figure",
        ));
    }
    refuse_if_any(problems)?;
    if (&day.weather, day.footfall, &day.note) == (&weather, footfall, &remark) {
        return Ok(Vec::new());
    }
    Ok(fact(MarketDayNoted {
        market_day,
        weather,
        footfall,
        note: remark,
        float: day.float,
    }))
}

fn check_place(workshop: &Workshop, place: Place) -> Result<(), Refusal> {
    let trade = workshop.trade();
    match place {
        Place::Stall(id) => known_day(workshop, id).map(|_| ()),
        Place::Packed(id) if trade.order(id).is_none() => unknown("order", id),
        Place::Shop(id) if trade.buyer(id).is_none() => unknown("buyer", id),
        Place::Rack | Place::Packed(_) | Place::Shop(_) => Ok(()),
    }
}

/// Writes down that goods left a place without being sold: given away, tested,
/// spoilt or gone. Where no lot is named, those that leave first.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a place, good or lot that is not there,
/// [`Refusal::Input`] for nothing, and for more than there is: it says how many
/// there are.
pub fn set_aside(
    workshop: &Workshop,
    place: Place,
    counted: &[Counted],
    how: Lost,
    remark: &str,
    day: Date,
) -> Decision {
    check_place(workshop, place)?;
    let mut problems = Vec::new();
    check_counted(workshop, "units", counted, &mut problems)?;
    refuse_if_any(problems)?;
    let mut problems = Vec::new();
    let remark = words("note", remark).unwrap_or_else(|problem| {
        problems.push(problem);
        String::new()
    });
    let mut picker = Picker::new(workshop, day);
    let mut units = Vec::new();
    for one in counted.iter().filter(|one| one.count > 0) {
        let there: i64 = picker
            .standing(place, one.product)
            .iter()
            .filter(|standing| {
                let fits = one.lot.map(|lot| Item::Lot(lot, one.grade));
                standing.count > 0 && fits.is_none_or(|item| standing.item == item)
            })
            .map(|standing| standing.count)
            .sum();
        if i64::from(one.count) > there {
            problems.push(Problem::new(
                field_of("units", one),
                one.count.to_string(),
                format!(
                    "of {} there are only {there}",
                    good_name(workshop, one.product)
                ),
                "write how many went, or count the place first",
            ));
            continue;
        }
        units.extend(match one.lot {
            Some(lot) => picker.take_of(place, one.product, lot, one.grade, one.count),
            None => picker.take_as_happened(place, one.product, one.count),
        });
    }
    if units.is_empty() && problems.is_empty() {
        problems.push(cannot(
            "units",
            "",
            "that is nothing",
            "write how many went",
        ));
    }
    refuse_if_any(problems)?;
    Ok(fact(GoodsSetAside {
        place,
        units,
        how,
        note: remark,
    }))
}

/// Counts goods at a place: of each lot named there are so many. Counting a
/// good also explains its units whose lot nobody knew.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a place, good or lot that is not there,
/// [`Refusal::Input`] for no count at all, for the same lot twice, and for a
/// difference without a word of explanation.
pub fn count_goods(
    workshop: &Workshop,
    place: Place,
    counted: &[Counted],
    remark: &str,
) -> Decision {
    check_place(workshop, place)?;
    let mut problems = Vec::new();
    check_counted(workshop, "count", counted, &mut problems)?;
    if counted.is_empty() {
        problems.push(cannot(
            "count",
            "",
            "nothing was counted",
            "write how many there are",
        ));
    }
    refuse_if_any(problems)?;
    let units: Vec<Units> = counted
        .iter()
        .map(|one| Units {
            product: one.product,
            lot: one.lot,
            grade: one.grade,
            count: one.count,
        })
        .collect();
    let goods = workshop.goods();
    let differs = units
        .iter()
        .any(|units| goods.held(place, (*units).into()) != i64::from(units.count))
        || counted.iter().any(|one| {
            let named = counted
                .iter()
                .find(|it| it.product == one.product && it.lot.is_none());
            let thought = goods.held(place, Item::Unknown(one.product));
            thought != named.map_or(0, |named| i64::from(named.count))
        });
    if !differs {
        return Ok(Vec::new());
    }
    let remark = note("note", remark)?;
    Ok(fact(GoodsCounted {
        place,
        units,
        note: remark,
    }))
}

/// Settles how the books are kept: how stock is valued, the tax on sales, and
/// where the year begins.
///
/// # Errors
///
/// [`Refusal::Input`] for a tax without a name or above the whole, and for a
/// day no year can begin on.
pub fn settle_books(workshop: &Workshop, mut settings: BookSettings) -> Decision {
    let mut problems = Vec::new();
    if let Some(tax) = &mut settings.tax {
        match name("tax_name", &tax.name) {
            Ok(called) => tax.name = called,
            Err(problem) => problems.push(problem),
        }
        if tax.rate > Ratio::ONE {
            problems.push(cannot(
                "tax_rate",
                tax.rate.to_string(),
                "that is more than the whole",
                "write a rate such as 20 %",
            ));
        }
        tax.number = match tax.number.trim() {
            "" => String::new(),
            number => line("tax_number", number, LONGEST_NAME).unwrap_or_else(|problem| {
                problems.push(problem);
                String::new()
            }),
        };
    }
    // The same day every year: 29 February is none.
    let months = i8::try_from(settings.year_month);
    let days = i8::try_from(settings.year_day);
    let begins = months
        .ok()
        .zip(days.ok())
        .and_then(|(month, day)| Date::new(2001, month, day).ok());
    if begins.is_none() {
        problems.push(cannot(
            "year_day",
            format!("{}.{}", settings.year_day, settings.year_month),
            "no year begins on that day",
            "write a day such as 1 and a month such as 1",
        ));
    }
    refuse_if_any(problems)?;
    if workshop.trade().books() == Some(&settings) {
        return Ok(Vec::new());
    }
    Ok(fact(BooksSettled { settings }))
}
