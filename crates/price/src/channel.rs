//! What a channel takes of a price, and the price a target needs.
//!
//! The way of the money: the price asked, less a trade discount or times a
//! consignment share, is what the goods are *sold at*; tax lies inside that
//! or goes on top; what the buyer pays is the goods, the tax and any postage
//! charged. Fees are a share of that amount (see [`FeeBase`]) and fixed sums.
//! What is left after tax, fees and postage is *kept*, and less the unit cost
//! it is the profit of the unit.
//!
//! Everything is linear in the price, so the price for a target is found in
//! closed form and not by trying.

use measure::{Cost, Currency, Decimal, Money, Quantity, Ratio, TimeSpan};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::arithmetic::{TooLarge, add, less, mul, percent_of, scaled, sub, total};

/// Milliseconds in an hour.
const HOUR_MS: Decimal = Decimal::from_parts(3_600_000, 0, 0, false, 0);

/// What a fee in percent is a share of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum FeeBase {
    /// Everything the buyer pays: goods, tax and charged postage.
    #[default]
    BuyerPays,
    /// Goods and their tax, without the postage.
    WithoutPostage,
    /// Goods and charged postage, without the tax.
    BeforeTax,
}

impl FeeBase {
    /// What it is called in a sentence.
    pub const fn words(self) -> &'static str {
        match self {
            Self::BuyerPays => "what the buyer pays, tax and charged postage in it",
            Self::WithoutPostage => "the goods with their tax, without postage",
            Self::BeforeTax => "the goods and charged postage, before tax",
        }
    }
}

/// A tax on what is sold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Tax {
    /// The rate, of the amount before tax.
    pub rate: Ratio,
    /// Whether the price asked has the tax in it.
    pub inside: bool,
    /// Whether charged postage is taxed alike.
    pub on_postage: bool,
}

impl Tax {
    /// The tax on an amount asked: inside it, or on top of it.
    ///
    /// # Errors
    ///
    /// [`TooLarge`] when it cannot be held.
    ///
    /// # Source
    ///
    /// The tax inside an amount is rate ÷ (1 + rate) of it: HM Revenue &
    /// Customs, "Calculating VAT for VAT-inclusive and VAT-exclusive prices".
    pub fn of(&self, asked: Cost) -> Result<Cost, TooLarge> {
        let rate = self.rate.decimal();
        let under = if self.inside {
            add(Decimal::ONE, rate)?
        } else {
            Decimal::ONE
        };
        Ok(Cost::new(
            scaled(asked.major(), rate, under)?,
            asked.currency(),
        ))
    }
}

/// What a channel takes. All amounts are in one currency.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Terms {
    /// The channel's own fee.
    pub percent_fee: Ratio,
    /// What that is a share of.
    pub fees_on: FeeBase,
    /// A fixed fee for each unit sold.
    pub fixed_fee: Cost,
    /// The fee for taking the payment.
    pub payment_percent: Ratio,
    /// What that is a share of.
    pub payment_on: FeeBase,
    /// A fixed sum for each payment: one an order.
    pub payment_fixed: Cost,
    /// Postage paid by the maker for an order.
    pub postage_paid: Cost,
    /// Postage asked of the buyer for an order.
    pub postage_charged: Cost,
    /// Units in an order, over which payment and postage are shared; not zero.
    pub units_per_order: u32,
    /// Trade discount off the price; at most the whole.
    pub discount: Ratio,
    /// What the maker gets of a consigned sale; at most the whole.
    pub share: Ratio,
    /// The tax, where there is one.
    pub tax: Option<Tax>,
}

impl Terms {
    /// A channel that takes nothing.
    pub const fn free(currency: Currency) -> Self {
        let nothing = Cost::zero(currency);
        Self {
            percent_fee: Ratio::ZERO,
            fees_on: FeeBase::BuyerPays,
            fixed_fee: nothing,
            payment_percent: Ratio::ZERO,
            payment_on: FeeBase::BuyerPays,
            payment_fixed: nothing,
            postage_paid: nothing,
            postage_charged: nothing,
            units_per_order: 1,
            discount: Ratio::ZERO,
            share: Ratio::ONE,
            tax: None,
        }
    }

    /// The same terms for orders of at least `units`.
    #[must_use]
    pub fn for_orders_of(self, units: u32) -> Self {
        Self {
            units_per_order: self.units_per_order.max(units),
            ..self
        }
    }

    /// The part of the price the goods are sold at: after discount and share.
    fn sold_part(&self) -> Result<Decimal, TooLarge> {
        mul(
            sub(Decimal::ONE, self.discount.decimal())?,
            self.share.decimal(),
        )
    }

    fn on_a_unit(&self, of_an_order: Cost) -> Result<Cost, TooLarge> {
        let units = Decimal::from(self.units_per_order.max(1));
        of_an_order.over(units).ok_or(TooLarge)
    }

    /// Follows a price of one unit down the page.
    ///
    /// # Errors
    ///
    /// [`TooLarge`] when the figures outgrow 28 digits.
    pub fn judge(&self, price: Cost, unit_cost: Cost) -> Result<Kept, TooLarge> {
        let currency = price.currency();
        let cost = |major: Decimal| Cost::new(major, currency);
        let sold_at = cost(mul(price.major(), self.sold_part()?)?);
        let (net, goods_tax) = taxed(self.tax, sold_at)?;
        let charged = self.on_a_unit(self.postage_charged)?;
        let on_postage = self.tax.filter(|tax| tax.on_postage);
        let (postage_charged, postage_tax) = taxed(on_postage, charged)?;
        let buyer_pays = total([net, goods_tax, postage_charged, postage_tax], currency)?;
        let fee = |rate: Ratio, on: FeeBase, fixed: Cost| -> Result<Cost, TooLarge> {
            let base = match on {
                FeeBase::BuyerPays => buyer_pays,
                FeeBase::WithoutPostage => total([net, goods_tax], currency)?,
                FeeBase::BeforeTax => total([net, postage_charged], currency)?,
            };
            total([cost(mul(base.major(), rate.decimal())?), fixed], currency)
        };
        let channel_fee = fee(self.percent_fee, self.fees_on, self.fixed_fee)?;
        let payment_fixed = self.on_a_unit(self.payment_fixed)?;
        let payment_fee = fee(self.payment_percent, self.payment_on, payment_fixed)?;
        let fees = total([channel_fee, payment_fee], currency)?;
        let postage_paid = self.on_a_unit(self.postage_paid)?;
        let after_tax = total([net, postage_charged], currency)?;
        let kept = less(less(after_tax, fees)?, postage_paid)?;
        let profit = less(kept, unit_cost)?;
        Ok(Kept {
            price,
            sold_at,
            buyer_pays,
            tax: total([goods_tax, postage_tax], currency)?,
            net,
            postage_charged,
            channel_fee,
            payment_fee,
            fees,
            postage_paid,
            kept,
            unit_cost,
            profit,
            margin: percent_of(profit, net)?,
            markup: percent_of(profit, unit_cost)?,
        })
    }

    /// The fees in percent, as a part of the net price: what they take of each
    /// further unit of net price.
    ///
    /// # Errors
    ///
    /// [`TooLarge`] when it cannot be held.
    pub fn fees_of_net(&self) -> Result<Decimal, TooLarge> {
        let rate = self.tax.map_or(Decimal::ZERO, |tax| tax.rate.decimal());
        let with_tax = add(Decimal::ONE, rate)?;
        let part = |fee: Ratio, on: FeeBase| match on {
            FeeBase::BeforeTax => Ok(fee.decimal()),
            FeeBase::BuyerPays | FeeBase::WithoutPostage => mul(fee.decimal(), with_tax),
        };
        add(
            part(self.percent_fee, self.fees_on)?,
            part(self.payment_percent, self.payment_on)?,
        )
    }

    /// The price at which a unit reaches `target`, exact to 28 digits; nothing
    /// where even a price of nothing reaches it.
    ///
    /// Of each unit of net price the fees take a part φ ([`Terms::fees_of_net`]),
    /// so that profit = net × (1 - φ) + what is kept of a price of nothing
    /// (below zero: the fixed fees and the postage) - unit cost. That is set to
    /// the target and solved for the net price.
    ///
    /// # Errors
    ///
    /// [`NoPrice`] when no price reaches it, or when the figures outgrow 28
    /// digits.
    pub fn price_for(&self, target: Target, unit_cost: Cost) -> Result<Cost, NoPrice> {
        let sold_part = self.sold_part()?;
        if sold_part.is_zero() {
            return Err(NoPrice::NothingPaid);
        }
        let fees = self.fees_of_net()?;
        let left = sub(Decimal::ONE, fees)?;
        if left <= Decimal::ZERO {
            return Err(NoPrice::FeesTakeAll { fees });
        }
        let nothing = Cost::zero(unit_cost.currency());
        let before = self.judge(nothing, nothing)?.kept.major();
        let cost = unit_cost.major();
        let (wanted, part) = match target {
            Target::Margin(margin) => {
                let part = sub(left, margin.decimal())?;
                if part <= Decimal::ZERO {
                    return Err(NoPrice::MarginOutOfReach { fees, below: left });
                }
                (cost, part)
            }
            Target::Markup(markup) => (mul(cost, add(Decimal::ONE, markup.decimal())?)?, left),
            Target::Profit(profit) => (add(cost, profit.major())?, left),
        };
        let inside = self.tax.filter(|tax| tax.inside);
        let over = match inside {
            Some(tax) => add(Decimal::ONE, tax.rate.decimal())?,
            None => Decimal::ONE,
        };
        let wanted = sub(wanted, before)?.max(Decimal::ZERO);
        let price = scaled(wanted, over, mul(part, sold_part)?)?;
        Ok(Cost::new(price, unit_cost.currency()))
    }
}

/// The amount before tax and the tax of what is asked.
fn taxed(tax: Option<Tax>, asked: Cost) -> Result<(Cost, Cost), TooLarge> {
    let Some(tax) = tax else {
        return Ok((asked, Cost::zero(asked.currency())));
    };
    let amount = tax.of(asked)?;
    let net = if tax.inside {
        less(asked, amount)?
    } else {
        asked
    };
    Ok((net, amount))
}

/// What a unit is to reach.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Target {
    /// Profit as a share of the net price.
    Margin(Ratio),
    /// Profit as a share of the unit cost.
    Markup(Ratio),
    /// Profit of a unit.
    Profit(Cost),
}

/// Why no price reaches a target.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoPrice {
    /// The fees in percent take the whole of any price.
    #[error("the fees take all of any price")]
    FeesTakeAll {
        /// The fees, as a part of the net price.
        fees: Decimal,
    },
    /// Fees and margin together are the whole of any price, or more.
    #[error("fees and margin together take all of any price")]
    MarginOutOfReach {
        /// The fees, as a part of the net price.
        fees: Decimal,
        /// Every margin below this can be reached.
        below: Decimal,
    },
    /// Discount or share leave the maker nothing of any price.
    #[error("nothing of the price comes to the maker")]
    NothingPaid,
    /// The figures outgrow 28 digits.
    #[error(transparent)]
    TooLarge(#[from] TooLarge),
}

/// Where the price of one unit goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Kept {
    /// The price asked.
    pub price: Cost,
    /// What the goods are sold at: after discount and share.
    pub sold_at: Cost,
    /// What the buyer pays: goods, tax, charged postage.
    pub buyer_pays: Cost,
    /// The tax in that.
    pub tax: Cost,
    /// What the goods bring after tax.
    pub net: Cost,
    /// The postage charged, after tax.
    pub postage_charged: Cost,
    /// The channel's fee.
    pub channel_fee: Cost,
    /// The fee for taking the payment.
    pub payment_fee: Cost,
    /// Both together.
    pub fees: Cost,
    /// The postage paid.
    pub postage_paid: Cost,
    /// What is left after tax, fees and postage.
    pub kept: Cost,
    /// What the unit cost.
    pub unit_cost: Cost,
    /// Kept less the unit cost; below zero for a loss.
    pub profit: Cost,
    /// Profit in percent of the net price; none of nothing.
    pub margin: Option<Decimal>,
    /// Profit in percent of the unit cost; none of nothing.
    pub markup: Option<Decimal>,
}

impl Kept {
    /// What the buyer pays, in whole coins, and where it goes. Each part is
    /// its exact amount rounded up or down, so that the parts add up.
    ///
    /// # Errors
    ///
    /// [`TooLarge`] when an amount cannot be held.
    pub fn in_coins(&self) -> Result<InCoins, TooLarge> {
        let buyer_pays = self.buyer_pays.rounded().ok_or(TooLarge)?;
        let parts = [
            self.tax,
            self.channel_fee,
            self.payment_fee,
            self.postage_paid,
            self.unit_cost,
            self.profit,
        ];
        let [
            tax,
            channel_fee,
            payment_fee,
            postage_paid,
            unit_cost,
            profit,
        ] = whole_coins(buyer_pays, parts)?;
        Ok(InCoins {
            buyer_pays,
            tax,
            channel_fee,
            payment_fee,
            postage_paid,
            unit_cost,
            profit,
        })
    }
}

/// Where what the buyer pays goes, in whole coins. Tax, fees, postage, unit
/// cost and profit add up to what is paid.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct InCoins {
    /// What the buyer pays.
    pub buyer_pays: Money,
    /// Tax.
    pub tax: Money,
    /// The channel's fee.
    pub channel_fee: Money,
    /// The fee for taking the payment.
    pub payment_fee: Money,
    /// The postage paid.
    pub postage_paid: Money,
    /// What the unit cost.
    pub unit_cost: Money,
    /// What is left; below zero for a loss.
    pub profit: Money,
}

/// Rounds parts of `whole` down to coins and gives the coins that are missing
/// to those that lost most, the earlier first.
fn whole_coins<const N: usize>(whole: Money, parts: [Cost; N]) -> Result<[Money; N], TooLarge> {
    use rust_decimal::prelude::ToPrimitive;
    let coin = Money::from_minor(1, whole.currency()).major();
    let mut minors = [0_i64; N];
    let mut lost: Vec<(Decimal, usize)> = Vec::with_capacity(N);
    let mut missing = whole.minor();
    for (at, part) in parts.into_iter().enumerate() {
        let exact = part.major().checked_div(coin).ok_or(TooLarge)?;
        // What is a whole number of coins but for the 28th digit is one.
        let exact = exact.round_dp(12);
        let down = exact.floor();
        minors[at] = down.to_i64().ok_or(TooLarge)?;
        missing = missing.checked_sub(minors[at]).ok_or(TooLarge)?;
        lost.push((sub(exact, down)?, at));
    }
    // A stable sort: of equal ones the earlier stays first.
    lost.sort_by_key(|lost| std::cmp::Reverse(lost.0));
    // Fewer coins are missing than there are parts that lost some of one.
    let missing = usize::try_from(missing).unwrap_or(0);
    for (_, at) in lost.into_iter().take(missing) {
        minors[at] += 1;
    }
    Ok(minors.map(|minor| Money::from_minor(minor, whole.currency())))
}

/// A day at a stall, or anything else that is paid for by the day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PitchDay {
    /// What the day costs: pitch, travel and the like.
    pub costs: Cost,
    /// Hours of selling.
    pub hours: TimeSpan,
    /// Units sold in a day, where a guess is made.
    pub units: Option<u32>,
    /// Hands-on time of making one unit.
    pub making: TimeSpan,
}

impl PitchDay {
    fn is_free(&self) -> bool {
        self.costs.major().is_zero() && self.hours.is_zero()
    }

    /// Units that pay for the day, when each leaves `profit`; none when no
    /// number does.
    ///
    /// # Errors
    ///
    /// [`TooLarge`] when it cannot be held.
    pub fn break_even(&self, profit: Cost) -> Result<Option<Decimal>, TooLarge> {
        // A profit in the twelfth decimal is the last digit of a division.
        if profit.major().round_dp(12) <= Decimal::ZERO {
            return Ok(None);
        }
        let units = scaled(self.costs.major(), Decimal::ONE, profit.major())?;
        Ok(Some(units.round_dp(12).ceil()))
    }

    /// Time of selling and making, in milliseconds.
    fn time(&self, units: Decimal) -> Result<Decimal, TooLarge> {
        add(
            Decimal::from(self.hours.smallest()),
            mul(units, Decimal::from(self.making.smallest()))?,
        )
    }

    /// What the day leaves when each unit leaves `profit`; none when it is not
    /// known how many are sold.
    ///
    /// # Errors
    ///
    /// [`TooLarge`] when it cannot be held.
    pub fn left(&self, profit: Cost) -> Result<Option<Cost>, TooLarge> {
        let Some(units) = self.units else {
            return Ok(None);
        };
        let sold = Cost::new(
            mul(profit.major(), Decimal::from(units))?,
            profit.currency(),
        );
        less(sold, self.costs).map(Some)
    }

    /// What an hour of selling and making earns; none when the time or the
    /// number sold is not known. Where nothing is paid by the day and nobody
    /// stands at a stall, it is the hour of making alone.
    ///
    /// # Errors
    ///
    /// [`TooLarge`] when it cannot be held.
    pub fn per_hour(&self, profit: Cost) -> Result<Option<Cost>, TooLarge> {
        let (left, time) = match self.left(profit)? {
            Some(left) => (left, self.time(self.units.unwrap_or(0).into())?),
            None if self.is_free() => (profit, self.time(Decimal::ONE)?),
            None => return Ok(None),
        };
        if time.is_zero() {
            return Ok(None);
        }
        let major = scaled(left.major(), HOUR_MS, time)?;
        Ok(Some(Cost::new(major, profit.currency())))
    }

    /// What each unit has to leave for an hour to earn `hourly`; none when the
    /// time or the number sold is not known.
    ///
    /// # Errors
    ///
    /// [`TooLarge`] when it cannot be held.
    pub fn profit_for(&self, hourly: Cost) -> Result<Option<Cost>, TooLarge> {
        let (units, costs) = match self.units {
            Some(0) => return Ok(None),
            Some(units) => (Decimal::from(units), self.costs.major()),
            None if self.is_free() => (Decimal::ONE, Decimal::ZERO),
            None => return Ok(None),
        };
        let time = self.time(units)?;
        if time.is_zero() {
            return Ok(None);
        }
        let wanted = add(costs, scaled(hourly.major(), time, HOUR_MS)?)?;
        let major = scaled(wanted, Decimal::ONE, units)?;
        Ok(Some(Cost::new(major, hourly.currency())))
    }
}
