//! The stall: channels, market days and sales, from texts as typed.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use measure::{
    Checker, Decimal, Money, Problem, Problems, Ratio, Reading, TimeSpan, TimeUnit, Unclear,
    parse_in,
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use workshop::decide::{BackWish, Counted, LineWish, MarketDayWish, SaleWish, WhatIsLeft};
use workshop::facts::{
    BookSettings, Bundle, ChannelId, ChannelKind, ChannelTerms, CostMethod, DayCosts, Grade, Lost,
    MarketDayId, Payment, Place, PourId, ProductId, ReturnTo, SaleFrom, SaleId, SalesTax,
};
use workshop::selling::price_in;
use workshop::{Channel, Refusal, Workshop, decide};

use crate::forms::{Filled, money, one_of, whole};
use crate::{ActError, App, Done};

/// The words a form uses for the kinds of channel.
pub const CHANNEL_KINDS: [(&str, ChannelKind); 4] = [
    ("stall", ChannelKind::Stall),
    ("web", ChannelKind::Web),
    ("wholesale", ChannelKind::Wholesale),
    ("sale_or_return", ChannelKind::SaleOrReturn),
];

/// The words a form uses for the ways to pay.
pub const PAYMENTS: [(&str, Payment); 6] = [
    ("cash", Payment::Cash),
    ("card", Payment::Card),
    ("transfer", Payment::Transfer),
    ("payout", Payment::Payout),
    ("owed", Payment::Owed),
    ("unknown", Payment::Unknown),
];

/// The words a form uses for where returned goods go.
pub const RETURNS: [(&str, ReturnTo); 3] = [
    ("rack", ReturnTo::Rack),
    ("spoilt", ReturnTo::Spoilt),
    ("kept", ReturnTo::Kept),
];

/// The words a form uses for goods that leave without being sold.
pub const LOSSES: [(&str, Lost); 4] = [
    ("given", Lost::Given),
    ("tested", Lost::Tested),
    ("spoilt", Lost::Spoilt),
    ("missing", Lost::Missing),
];

/// Bundles that a form offers boxes for at most.
const MOST_BUNDLE_LINES: usize = 20;

/// Reads the boxes of a form by the workshop's habits.
struct Reader<'a> {
    workshop: &'a Workshop,
    filled: &'a Filled,
    check: Checker,
}

impl<'a> Reader<'a> {
    fn new(workshop: &'a Workshop, filled: &'a Filled) -> Self {
        Self {
            workshop,
            filled,
            check: Checker::default(),
        }
    }

    fn money(&mut self, field: &str) -> Option<Money> {
        let read = money(self.workshop.currency(), self.workshop.reading());
        self.check.optional(field, self.filled.some(field), read)
    }

    fn needed_money(&mut self, field: &str) -> Option<Money> {
        let read = money(self.workshop.currency(), self.workshop.reading());
        self.check
            .required(field, Some(self.filled.get(field)), read)
    }

    /// A share of something, with its percent sign.
    fn share(&mut self, field: &str) -> Option<Ratio> {
        let reading = self.workshop.reading();
        self.check.optional(field, self.filled.some(field), |text| {
            Ratio::parse(text, reading)
        })
    }

    fn whole(&mut self, field: &str) -> Option<u32> {
        self.check.optional(field, self.filled.some(field), whole)
    }

    fn choice<T: Copy>(&mut self, field: &str, options: &[(&'static str, T)]) -> Option<T> {
        self.check
            .required(field, Some(self.filled.get(field)), one_of(options))
    }

    fn ticked(&self, field: &str) -> bool {
        self.filled.some(field).is_some()
    }

    fn done(self) -> Result<(), Refusal> {
        if self.check.is_clean() {
            Ok(())
        } else {
            Err(self.check.into_problems().into())
        }
    }
}

/// The number in `stem[12]`, with what follows it: `stem[12].3` gives 12 and `3`.
fn numbered<'a>(name: &'a str, stem: &str) -> Option<(u32, &'a str)> {
    let (number, rest) = name
        .strip_prefix(stem)?
        .strip_prefix('[')?
        .split_once(']')?;
    Some((number.parse().ok()?, rest.strip_prefix('.').unwrap_or(rest)))
}

/// Every count `stem[good]` or `stem[good].lot` of a form; boxes left empty are
/// none.
fn counts(reader: &mut Reader, stem: &str) -> Vec<Counted> {
    let names: BTreeSet<&str> = reader
        .filled
        .pairs()
        .iter()
        .map(|(name, _)| name.as_str())
        .collect();
    let mut counted = Vec::new();
    for name in names {
        let Some((product, rest)) = numbered(name, stem) else {
            continue;
        };
        let (lot, grade) = match rest.split_once('.') {
            Some((lot, "second")) => (lot, Grade::Second),
            _ => (rest, Grade::Good),
        };
        let lot: Option<PourId> = match lot {
            "" => None,
            lot => match lot.parse() {
                Ok(lot) => Some(lot),
                Err(_) => continue,
            },
        };
        if let Some(count) = reader.whole(name) {
            counted.push(Counted {
                product: ProductId(product),
                lot,
                grade,
                count,
            });
        }
    }
    counted
}

/// Opens a channel, or changes one.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn settle_channel(
    app: &App,
    who: &str,
    channel: Option<ChannelId>,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut read = Reader::new(workshop, filled);
        let kind = read.choice("kind", &CHANNEL_KINDS);
        let reading = workshop.reading();
        let terms = ChannelTerms {
            percent_fee: read.share("percent_fee"),
            fixed_fee: read.money("fixed_fee"),
            payment_percent: read.share("payment_percent"),
            payment_fixed: read.money("payment_fixed"),
            postage_paid: read.money("postage_paid"),
            postage_charged: read.money("postage_charged"),
            discount: read.share("discount"),
            share: read.share("share"),
            minimum: read.money("minimum"),
            days_to_pay: read
                .check
                .optional("days_to_pay", filled.some("days_to_pay"), |text| {
                    whole(text).and_then(|days| {
                        u16::try_from(days).map_err(|_| {
                            Unclear::new(
                                text,
                                "that is longer than a life",
                                "write days, such as 30",
                            )
                        })
                    })
                }),
            time_a_sale: read
                .check
                .optional("time_a_sale", filled.some("time_a_sale"), |text| {
                    parse_in::<TimeSpan>(text, TimeUnit::Minute, reading)
                }),
        };
        let closed = read.ticked("closed");
        read.done()?;
        let kind = kind.unwrap_or(ChannelKind::Stall);
        decide::settle_channel(workshop, channel, filled.get("name"), kind, terms, closed)
    })
}

/// Sets the prices of a channel: `price[good]`, empty where the usual price
/// holds. A good whose box is not in the form keeps its price.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn set_channel_prices(
    app: &App,
    who: &str,
    channel: ChannelId,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut read = Reader::new(workshop, filled);
        let mut prices = Vec::new();
        for (name, _) in filled.pairs() {
            if let Some((product, "")) = numbered(name, "price") {
                prices.push((ProductId(product), read.money(name)));
            }
        }
        read.done()?;
        let mut facts = Vec::new();
        for (product, price) in prices {
            facts.extend(decide::set_channel_price(
                workshop, channel, product, price,
            )?);
        }
        Ok(facts)
    })
}

/// Sets the bundles of a channel: `bundles[i].count`, `bundles[i].price` and
/// the goods ticked in `bundles[i].goods`. A line without count and price is
/// none.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn set_bundles(
    app: &App,
    who: &str,
    channel: ChannelId,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut read = Reader::new(workshop, filled);
        let mut bundles = Vec::new();
        for i in 0..filled.lines("bundles").min(MOST_BUNDLE_LINES) {
            let at = |part: &str| format!("bundles[{i}].{part}");
            if filled.some(&at("count")).is_none() && filled.some(&at("price")).is_none() {
                continue;
            }
            let count = read
                .check
                .required(&at("count"), Some(filled.get(&at("count"))), whole);
            let price = read.needed_money(&at("price"));
            let goods = at("goods");
            let products = filled
                .pairs()
                .iter()
                .filter(|(name, _)| *name == goods)
                .filter_map(|(_, id)| id.parse().ok())
                .collect();
            if let (Some(count), Some(price)) = (count, price) {
                bundles.push(Bundle {
                    products,
                    count,
                    price,
                });
            }
        }
        read.done()?;
        decide::set_bundles(workshop, channel, bundles)
    })
}

fn day(text: &str) -> Result<Date, Unclear> {
    let accepted = "choose a day, such as 2026-06-20";
    text.parse()
        .map_err(|_| Unclear::new(text, "it is not a day", accepted))
}

/// Plans a market day, or changes its plan.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn settle_market_day(
    app: &App,
    who: &str,
    market_day: Option<MarketDayId>,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, today| {
        let mut read = Reader::new(workshop, filled);
        let channel = read
            .check
            .required("channel", Some(filled.get("channel")), |text| {
                text.parse::<ChannelId>()
                    .map_err(|_| Unclear::new(text, "it is missing", "choose a stall"))
            });
        let on = read.check.required("on", Some(filled.get("on")), day);
        let reading = workshop.reading();
        let hours = read.check.optional("hours", filled.some("hours"), |text| {
            parse_in::<TimeSpan>(text, TimeUnit::Hour, reading)
        });
        let wish = MarketDayWish {
            channel: channel.unwrap_or(ChannelId(0)),
            market: filled.get("market").to_owned(),
            on: on.unwrap_or(today),
            costs: DayCosts {
                pitch: read.money("pitch"),
                travel: read.money("travel"),
                other: read.money("other"),
            },
            hours,
            called_off: read.ticked("called_off"),
        };
        read.done()?;
        decide::settle_market_day(workshop, market_day, wish)
    })
}

/// Settles what is packed for a market day: `take[good]`, or `take[good].lot`.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn take_goods(
    app: &App,
    who: &str,
    market_day: MarketDayId,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, today| {
        let mut read = Reader::new(workshop, filled);
        let wanted = counts(&mut read, "take");
        read.done()?;
        decide::take_goods(workshop, market_day, &wanted, today)
    })
}

/// Counts a market day back: `back[good]`, `given[good]`, `spoilt[good]`, and
/// `rest`, `sold` or `missing`, for what is neither. It is written down for the
/// market day, whenever it is counted: what was sold was sold then.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand, and for a
/// good that was taken and not counted.
pub fn count_back(
    app: &App,
    who: &str,
    market_day: MarketDayId,
    filled: &Filled,
) -> Result<Done, ActError> {
    let on = day_of_sale(app, Some(market_day), None)?;
    app.act_on(on, who, |workshop, _| {
        let mut read = Reader::new(workshop, filled);
        for (name, text) in filled.pairs() {
            if numbered(name, "back").is_some() && text.trim().is_empty() {
                let wrong = "it is not counted";
                let instead = "write how many came home, 0 where none did";
                read.check.refuse(Problem::new(name, "", wrong, instead));
            }
        }
        let rest = match filled.get("rest") {
            "sold" => Some(WhatIsLeft::Sold),
            "missing" => Some(WhatIsLeft::Missing),
            _ => None,
        };
        let wish = BackWish {
            back: counts(&mut read, "back"),
            given: counts(&mut read, "given"),
            spoilt: counts(&mut read, "spoilt"),
            rest,
        };
        read.done()?;
        decide::count_back(workshop, market_day, &wish)
    })
}

/// Counts the cash tin of a market day: `float`, `counted`, and `cards` and
/// `card_payments` of the card report. The float alone is kept until the tin is
/// counted.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn count_till(
    app: &App,
    who: &str,
    market_day: MarketDayId,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut read = Reader::new(workshop, filled);
        let float = read.needed_money("float");
        let in_the_evening = ["counted", "cards", "card_payments"];
        let day = workshop.trade().market_day(market_day);
        let is_counted = day.is_some_and(|day| day.till.is_some());
        if !is_counted && in_the_evening.iter().all(|of| filled.some(of).is_none()) {
            let Some(float) = float else {
                return Err(read.check.into_problems().into());
            };
            return decide::keep_float(workshop, market_day, float);
        }
        let counted = read.needed_money("counted");
        let (cards, payments) = (read.money("cards"), read.whole("card_payments"));
        let (Some(float), Some(counted), true) = (float, counted, read.check.is_clean()) else {
            return Err(read.check.into_problems().into());
        };
        decide::count_till(workshop, market_day, float, counted, cards, payments)
    })
}

/// Notes what a market day was like.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn note_market_day(
    app: &App,
    who: &str,
    market_day: MarketDayId,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut read = Reader::new(workshop, filled);
        let footfall = read.whole("footfall");
        read.done()?;
        let (weather, note) = (filled.get("weather"), filled.get("note"));
        decide::note_market_day(workshop, market_day, weather, footfall, note)
    })
}

/// Writes down one sale from a form without script: `sold[good]`, `payment`,
/// what was paid in all in `paid` where it is not what the prices say, and for
/// a sale away from a stall `channel` and `on`.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn sell(
    app: &App,
    who: &str,
    market_day: Option<MarketDayId>,
    filled: &Filled,
) -> Result<Done, ActError> {
    let at = filled.some("on").map(str::to_owned);
    let on = day_of_sale(app, market_day, at.as_deref())?;
    app.act_on(on, who, |workshop, _| {
        let mut read = Reader::new(workshop, filled);
        let payment = read.choice("payment", &PAYMENTS);
        let counted = counts(&mut read, "sold");
        let channel = filled.get("channel").parse().ok();
        let paid = read.money("paid");
        read.done()?;
        let lines: Vec<_> = counted.into_iter().filter(|one| one.count > 0).collect();
        let mut wish = SaleWish {
            token: filled.get("token").to_owned(),
            from: SaleFrom::Written,
            channel,
            market_day,
            buyer: None,
            lines: lines
                .iter()
                .map(|units| LineWish {
                    units: *units,
                    paid: None,
                })
                .collect(),
            postage: None,
            fees: None,
            payment: payment.unwrap_or(Payment::Unknown),
            row: None,
        };
        if let Some(paid) = paid {
            share_paid(workshop, &mut wish, paid);
        }
        decide::sell(workshop, &wish, on)
    })
}

/// Shares what was paid in all over the lines, by what their units cost alone;
/// by their number where a good has no price.
fn share_paid(workshop: &Workshop, wish: &mut SaleWish, paid: Money) {
    let id = wish
        .market_day
        .and_then(|id| workshop.trade().market_day(id))
        .map(|day| day.channel)
        .or(wish.channel);
    let channel = id.and_then(|id| workshop.trade().channel(id));
    let price = |line: &LineWish| {
        let each = workshop::selling::price_in(workshop, channel?, line.units.product)?;
        u64::try_from(each.minor()).ok().filter(|each| *each > 0)
    };
    let prices: Option<Vec<u64>> = wish.lines.iter().map(price).collect();
    let weights: Vec<u64> = wish
        .lines
        .iter()
        .enumerate()
        .map(|(i, line)| {
            let each = prices.as_ref().and_then(|prices| prices.get(i)).copied();
            each.unwrap_or(1)
                .saturating_mul(u64::from(line.units.count))
        })
        .collect();
    let shares = price::spread(paid, &weights).unwrap_or_default();
    for (line, share) in wish.lines.iter_mut().zip(shares) {
        line.paid = Some(share);
    }
}

/// The day a sale was made: the one that was said, or else that of its market
/// day, but never one to come.
fn day_of_sale(
    app: &App,
    market_day: Option<MarketDayId>,
    at: Option<&str>,
) -> Result<Date, ActError> {
    let today = app.today();
    let on = app.look(|workshop| {
        let found = market_day.and_then(|id| workshop.trade().market_day(id));
        found.map(|day| day.on)
    })?;
    // A time of a device begins with its day.
    let said = at
        .and_then(|text| text.get(..10))
        .and_then(|text| text.parse::<Date>().ok())
        .filter(|said| *said <= today)
        .filter(|said| on.is_none_or(|on| *said >= on));
    Ok(said.or(on).map_or(today, |day| day.min(today)))
}

/// One good of a sale as a device sends it.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SoldLineInput {
    /// The good's number.
    pub product: u32,
    /// How many.
    pub count: u32,
    /// What was paid for them together, such as `18.00 USD`; what the channel's
    /// prices and bundles say where it is left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub paid: Option<String>,
    /// The number of their lot, where the seller looked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lot: Option<u32>,
    /// Whether they are seconds.
    #[serde(default)]
    pub seconds: bool,
}

/// One sale as a device sends it. Sent again with the same token it counts
/// once.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SaleInput {
    /// A word that the device makes up for the sale, no two alike.
    pub token: String,
    /// The number of the market day.
    pub market_day: u32,
    /// What was sold.
    pub lines: Vec<SoldLineInput>,
    /// `cash`, `card`, `transfer` or `unknown`.
    pub payment: String,
    /// When, as `2026-06-20` with or without a time; the market day where it is
    /// left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
}

/// What was written down of a sale.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct SaleOutput {
    /// Its number.
    pub sale: u32,
    /// Whether it was written down before.
    pub already: bool,
    /// Whether it was taken back since.
    pub voided: bool,
    /// What the buyer paid, tax in it.
    pub paid: String,
    /// The tax in it.
    pub tax: String,
    /// What is left at the stall of each good of the day, by its number; below
    /// zero where more was sold than was taken.
    pub left: BTreeMap<u32, i64>,
}

/// Writes down a sale that a device sends; one sent before adds nothing.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn sell_tapped(app: &App, who: &str, input: &SaleInput) -> Result<SaleOutput, ActError> {
    let market_day = MarketDayId(input.market_day);
    let on = day_of_sale(app, Some(market_day), input.at.as_deref())?;
    let done = app.act_on(on, who, |workshop, _| {
        let wish = wish_of(workshop, input)?;
        decide::sell(workshop, &wish, on)
    })?;
    let already = done.facts.is_empty();
    told_of(app, &input.token, already)
}

fn wish_of(workshop: &Workshop, input: &SaleInput) -> Result<SaleWish, Problems> {
    let mut check = Checker::default();
    if input.token.trim().is_empty() {
        let instead = "make up a word for each sale, no two alike";
        check.refuse(Problem::new("token", "", "it is missing", instead));
    }
    let payment = check.required("payment", Some(&input.payment), one_of(&PAYMENTS));
    let mut lines = Vec::new();
    for (i, line) in input.lines.iter().enumerate() {
        let read = money(workshop.currency(), workshop.reading());
        let paid = check.optional(&format!("lines[{i}].paid"), line.paid.as_deref(), read);
        let units = Counted {
            product: ProductId(line.product),
            lot: line.lot.map(PourId),
            grade: if line.seconds {
                Grade::Second
            } else {
                Grade::Good
            },
            count: line.count,
        };
        lines.push(LineWish { units, paid });
    }
    check.finish()?;
    let token = input.token.trim().to_owned();
    let market_day = MarketDayId(input.market_day);
    let payment = payment.unwrap_or(Payment::Unknown);
    Ok(SaleWish::tapped(token, market_day, lines, payment))
}

/// What stands of the sale of a token.
fn told_of(app: &App, token: &str, already: bool) -> Result<SaleOutput, ActError> {
    let told = app.look(|workshop| {
        let sale = workshop.trade().sale_of_token(token.trim())?;
        Some(SaleOutput {
            sale: sale.id.0,
            already,
            voided: sale.voided.is_some(),
            paid: sale.paid().to_string(),
            tax: sale.tax.to_string(),
            left: sale
                .market_day
                .map(|id| left_at(workshop, id))
                .unwrap_or_default(),
        })
    })?;
    told.ok_or_else(|| {
        let id = token.trim().to_owned();
        ActError::Refused(Refusal::Unknown { what: "sale", id })
    })
}

/// What is left at a stall of each good that was taken there or sold.
pub fn left_at(workshop: &Workshop, market_day: MarketDayId) -> BTreeMap<u32, i64> {
    let Some(day) = workshop.trade().market_day(market_day) else {
        return BTreeMap::new();
    };
    let taken = day.taken.iter().map(|units| (units.product.0, 0));
    let mut left: BTreeMap<u32, i64> = taken.collect();
    let standing = workshop::selling::standing_at(workshop, Place::Stall(market_day), day.on);
    for (product, list) in standing {
        let count: i64 = list.iter().map(|one| one.count).sum();
        left.insert(product.0, count);
    }
    left
}

/// A sale that a device takes back.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TakeBackInput {
    /// The word the device made up for the sale.
    pub token: String,
    /// Why; that it was tapped wrongly where it is left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
}

/// Takes back the sale of a token; one taken back before adds nothing.
///
/// # Errors
///
/// [`ActError`], with [`Refusal::Unknown`] for a token never seen.
pub fn take_back(app: &App, who: &str, input: &TakeBackInput) -> Result<SaleOutput, ActError> {
    let done = app.act(who, |workshop, _| {
        let token = input.token.trim();
        let sale = workshop.trade().sale_of_token(token);
        let sale = sale.ok_or_else(|| Refusal::Unknown {
            what: "sale",
            id: token.to_owned(),
        })?;
        let reason = input.reason.as_deref().map(str::trim);
        let reason = reason.filter(|reason| !reason.is_empty());
        decide::void_sale(workshop, sale.id, reason.unwrap_or("tapped wrongly"))
    })?;
    told_of(app, &input.token, done.facts.is_empty())
}

/// Takes back a sale that never was.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn void_sale(app: &App, who: &str, sale: SaleId, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        decide::void_sale(workshop, sale, filled.get("reason"))
    })
}

/// Writes down a return: `units[good]`, `refund`, `to`, `reason`.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn return_goods(app: &App, who: &str, sale: SaleId, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut read = Reader::new(workshop, filled);
        let units = counts(&mut read, "units");
        let to = read.choice("to", &RETURNS);
        let refund = read.money("refund");
        read.done()?;
        let nothing = workshop.currency().map(|own| Money::from_minor(0, own));
        let Some(refund) = refund.or(nothing) else {
            return Err(Problem::new("refund", "", "it is missing", "write an amount").into());
        };
        let to = to.unwrap_or(ReturnTo::Rack);
        decide::return_goods(workshop, sale, &units, refund, to, filled.get("reason"))
    })
}

/// The place that a form names: `rack`, `stall 3` or `shop 2`.
pub fn place_named(text: &str) -> Option<Place> {
    match text.trim().split_once(' ') {
        None if text.trim() == "rack" => Some(Place::Rack),
        Some(("stall", id)) => id.parse().ok().map(Place::Stall),
        Some(("packed", id)) => id.parse().ok().map(Place::Packed),
        Some(("shop", id)) => id.parse().ok().map(Place::Shop),
        _ => None,
    }
}

/// How a form names a place.
pub fn place_word(place: Place) -> String {
    match place {
        Place::Rack => "rack".to_owned(),
        Place::Stall(id) => format!("stall {id}"),
        Place::Packed(id) => format!("packed {id}"),
        Place::Shop(id) => format!("shop {id}"),
    }
}

fn place_of(filled: &Filled) -> Result<Place, Problem> {
    place_named(filled.get("place")).ok_or_else(|| {
        let given = filled.get("place");
        Problem::new(
            "place",
            given,
            "there is no such place",
            "choose one from the list",
        )
    })
}

/// Counts goods at the place named in `place`: `count[good].lot`, or
/// `count[good]` for units whose lot nobody knows.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn count_goods(app: &App, who: &str, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut read = Reader::new(workshop, filled);
        let counted = counts(&mut read, "count");
        read.done()?;
        let place = place_of(filled)?;
        decide::count_goods(workshop, place, &counted, filled.get("note"))
    })
}

/// Writes down that goods left the place named in `place` without being sold:
/// `units[good]` or `units[good].lot`, `how` and `note`.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn set_aside(app: &App, who: &str, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, today| {
        let mut read = Reader::new(workshop, filled);
        let units = counts(&mut read, "units");
        let how = read.choice("how", &LOSSES);
        read.done()?;
        let place = place_of(filled)?;
        let how = how.unwrap_or(Lost::Missing);
        decide::set_aside(workshop, place, &units, how, filled.get("note"), today)
    })
}

/// Settles how the books are kept: `method`, the tax in `tax_name`, `tax_rate`,
/// `tax_inside` (`inside` or `on_top`) and `tax_number`, none where the rate is
/// empty, and the day the year begins in `year_day` and `year_month`.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn settle_books(app: &App, who: &str, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut read = Reader::new(workshop, filled);
        let methods = [("fifo", CostMethod::Fifo), ("average", CostMethod::Average)];
        let ways = [("inside", true), ("on_top", false)];
        let method = read.choice("method", &methods);
        let tax = read.share("tax_rate").map(|rate| SalesTax {
            name: filled.get("tax_name").to_owned(),
            rate,
            inside: read.choice("tax_inside", &ways).unwrap_or(true),
            number: filled.get("tax_number").to_owned(),
        });
        let mut small = |field: &str| {
            let read_small = |text: &str| {
                whole(text).and_then(|n| {
                    let wrong = "no month has that many";
                    u8::try_from(n)
                        .map_err(|_| Unclear::new(text, wrong, "write a number such as 1"))
                })
            };
            let text = filled.some(field).unwrap_or("1");
            read.check.required(field, Some(text), read_small)
        };
        let (year_day, year_month) = (small("year_day"), small("year_month"));
        read.done()?;
        decide::settle_books(
            workshop,
            BookSettings {
                method: method.unwrap_or_default(),
                tax,
                year_month: year_month.unwrap_or(1),
                year_day: year_day.unwrap_or(1),
            },
        )
    })
}

/// What a channel leaves of a price, or the price it needs: for a good, its
/// price there, or what was typed in `price`; or what `margin`, `markup`,
/// `profit` or `hour` asks for, made tidy by `ending`. A price that is typed or
/// asked for is the one the last buyer sees: a shop that buys pays it less its
/// discount. As if every buyer paid by card where the channel has a card fee.
///
/// # Errors
///
/// Every field that cannot be read, and a target out of reach.
pub fn channel_price(
    workshop: &Workshop,
    channel: ChannelId,
    product: ProductId,
    filled: &Filled,
) -> Result<price::ChannelPriceOutput, Problems> {
    let mut read = Reader::new(workshop, filled);
    let text = |money: Option<Money>| money.map(|money| money.to_string());
    let ratio = |ratio: Option<Ratio>| ratio.map(|ratio| ratio.to_string());
    let target = price::TargetInput {
        margin: ratio(read.share("margin")),
        markup: ratio(read.share("markup")),
        profit: text(read.money("profit")),
        per_hour: text(read.money("hour")),
    };
    let typed = read.money("price");
    let ending = filled.some("ending").map(str::to_owned);
    read.check.finish()?;
    let known = workshop.trade().channel(channel);
    let mut input = price_input(workshop, known, product, target, typed.is_some());
    if input.target.is_none() {
        let usual = known.and_then(|channel| price_in(workshop, channel, product));
        input.price = text(typed.or(usual));
    }
    input.ending = ending;
    price::channel_price(&input)
}

/// What is known of a good in a channel, and what is wanted of it; `is_typed`
/// where a price on the shelf is asked about.
fn price_input(
    workshop: &Workshop,
    known: Option<&Channel>,
    product: ProductId,
    target: price::TargetInput,
    is_typed: bool,
) -> price::ChannelPriceInput {
    let target = Some(target).filter(|target| *target != price::TargetInput::default());
    let hourly = target
        .as_ref()
        .is_some_and(|target| target.per_hour.is_some());
    let text = |money: Option<Money>| money.map(|money| money.to_string());
    let ratio = |ratio: Option<Ratio>| ratio.map(|ratio| ratio.to_string());
    let terms = known
        .map(|channel| channel.terms.clone())
        .unwrap_or_default();
    let kind = known.map(|channel| channel.kind);
    let least = known.and_then(|channel| units_of_least_order(workshop, channel, product));
    let input = price::ChannelPriceInput {
        currency: workshop.currency().map(|own| own.code().to_owned()),
        unit_cost: Some(unit_cost(workshop, product, hourly)),
        channel: price::ChannelInput {
            name: known.map(|channel| channel.name.clone()),
            percent_fee: ratio(terms.percent_fee),
            fixed_fee: text(terms.fixed_fee),
            payment_percent: ratio(terms.payment_percent),
            payment_fixed: text(terms.payment_fixed),
            postage_paid: text(terms.postage_paid),
            postage_charged: text(terms.postage_charged),
            // The channel's own price for a shop that buys has its discount
            // off already.
            discount: ratio(terms.discount)
                .filter(|_| kind == Some(ChannelKind::Wholesale) && (is_typed || target.is_some())),
            share: ratio(terms.share).filter(|_| kind == Some(ChannelKind::SaleOrReturn)),
            units_per_order: least.map(Into::into),
            ..price::ChannelInput::default()
        },
        target,
        tax: workshop::selling::sales_tax(workshop).map(|tax| price::TaxInput {
            rate: Some(tax.rate.to_string()),
            inside: tax.inside,
            on_postage: true,
        }),
        ..price::ChannelPriceInput::default()
    };
    match known.filter(|_| hourly) {
        Some(channel) => with_hours(workshop, channel, product, input),
        None => input,
    }
}

/// Units of the least order of a shop that buys, at what it pays now: its
/// postage is shared over them.
fn units_of_least_order(workshop: &Workshop, channel: &Channel, product: ProductId) -> Option<u32> {
    let least = channel
        .terms
        .minimum
        .filter(|_| channel.kind == ChannelKind::Wholesale)?;
    let price = price_in(workshop, channel, product)?;
    let units = least.major().checked_div(price.major())?.ceil();
    u32::try_from(units).ok().filter(|units| *units > 0)
}

/// Adds the time that an hourly wish is spread over: making, and at a stall the
/// last day that was counted there, or else what a sale takes.
fn with_hours(
    workshop: &Workshop,
    channel: &Channel,
    product: ProductId,
    mut input: price::ChannelPriceInput,
) -> price::ChannelPriceInput {
    let making = workshop::recent_cost(workshop, product).and_then(|recent| {
        let minutes = recent.time?.to_decimal(TimeUnit::Minute);
        minutes.checked_div(recent.cost.good().into())
    });
    let span = |minutes: Decimal| format!("{} min", minutes.round_dp(6).normalize());
    if channel.kind == ChannelKind::Stall {
        input.minutes_per_unit = making.map(span);
        let last = workshop
            .trade()
            .market_days()
            .filter(|day| day.channel == channel.id && day.counted.is_some() && !day.called_off)
            .max_by_key(|day| (day.on, day.id));
        let account = last.and_then(|day| workshop::day_account(workshop, day));
        if let Some(account) = account {
            input.units_a_day = Some(account.sold.into());
            input.hours = account
                .selling
                .map(|time| span(time.to_decimal(TimeUnit::Minute)));
            input.fixed_costs = Some(account.costs.to_string());
        }
    } else {
        let a_sale = channel.terms.time_a_sale.as_ref();
        let a_sale = a_sale.map(|time| time.value().to_decimal(TimeUnit::Minute));
        input.minutes_per_unit = making.map(|making| span(making + a_sale.unwrap_or_default()));
    }
    input
}

/// What a unit of a good costs to sell: its full cost over its last lots,
/// without the maker's time where an hour of it is to be paid otherwise; nothing
/// where it is not known yet, which [`knows_cost`] tells.
fn unit_cost(workshop: &Workshop, product: ProductId, without_time: bool) -> String {
    let cost = workshop::recent_cost(workshop, product).and_then(|recent| {
        if without_time {
            workshop::without_time(&recent.cost)
        } else {
            Some(recent.cost.full())
        }
    });
    cost.map_or_else(
        || "0".to_owned(),
        |cost| format!("{} {}", cost.major(), cost.currency().code()),
    )
}

/// What a channel needs for a good, beside what is asked there now.
#[derive(Debug, Clone, PartialEq)]
pub struct Rung {
    /// The channel.
    pub channel: ChannelId,
    /// What it is called.
    pub name: String,
    /// What is to be asked there; of a shop that buys, what it pays.
    pub needs: Option<Money>,
    /// Why no price is found, where none is.
    pub why_not: String,
    /// What is asked now.
    pub asks: Option<Money>,
}

impl Rung {
    /// Whether what is asked is enough; none where either is not known.
    pub fn is_enough(&self) -> Option<bool> {
        let (needs, asks) = (self.needs?, self.asks?);
        Some(asks.minor() >= needs.minor())
    }
}

/// What every channel needs for what is wanted of a good: a margin in
/// `want_margin`, or so much an hour in `want_hour`; without either that nothing
/// is lost. With it the words for what is wanted.
///
/// # Errors
///
/// Every field that cannot be read.
pub fn price_ladder(
    workshop: &Workshop,
    product: ProductId,
    filled: &Filled,
) -> Result<(String, Vec<Rung>), Problems> {
    let mut read = Reader::new(workshop, filled);
    let (margin, hour) = (read.share("want_margin"), read.money("want_hour"));
    read.check.finish()?;
    let (words, target) = match (margin, hour) {
        (Some(margin), _) => (
            format!("for a margin of {margin}"),
            price::TargetInput {
                margin: Some(margin.to_string()),
                ..price::TargetInput::default()
            },
        ),
        (None, Some(hour)) => (
            format!("for {hour} an hour"),
            price::TargetInput {
                per_hour: Some(hour.to_string()),
                ..price::TargetInput::default()
            },
        ),
        (None, None) => (
            "to lose nothing".to_owned(),
            price::TargetInput {
                profit: Some("0".to_owned()),
                ..price::TargetInput::default()
            },
        ),
    };
    let rungs = workshop
        .trade()
        .channels()
        .filter(|channel| !channel.closed)
        .map(|channel| {
            let input = price_input(workshop, Some(channel), product, target.clone(), false);
            let found = price::channel_price(&input);
            let wrong = found.as_ref().err().and_then(|wrong| wrong.iter().next());
            let why_not = wrong.map_or_else(String::new, |problem| problem.wrong.clone());
            let needs = found.ok().and_then(|found| {
                let of_shop = channel.kind == ChannelKind::Wholesale;
                let text = if of_shop { found.sold_at } else { found.price };
                Money::parse(&text, workshop.currency(), Reading::PLAIN).ok()
            });
            Rung {
                channel: channel.id,
                name: channel.name.clone(),
                needs,
                why_not,
                asks: price_in(workshop, channel, product),
            }
        })
        .collect();
    Ok((words, rungs))
}

/// What a buyer pays for one, and what of it goes elsewhere than to the maker,
/// both in the currency.
pub fn parts_of_price(answer: &price::ChannelPriceOutput) -> (f64, Vec<(&str, f64)>) {
    let parts = answer.goes_to.iter();
    let pays = parts.clone().map(|part| part.amount_in_currency).sum();
    let elsewhere = parts
        .filter(|part| part.name != "profit" && part.amount_in_currency > 0.0)
        .map(|part| (part.name.as_str(), part.amount_in_currency));
    (pays, elsewhere.collect())
}

/// Whether anything is known of what a good costs.
pub fn knows_cost(workshop: &Workshop, product: ProductId) -> bool {
    workshop::recent_cost(workshop, product).is_some()
}
