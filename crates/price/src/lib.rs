//! Cost of a unit, price ranges, the comparison of formats, and what the
//! places a unit is sold at take of its price.
//!
//! Cost comes in three layers, always named: *material cost* (what goes into
//! and around the unit, freight and losses included), *making cost* (with the
//! hands-on time at a wage) and *full cost* (with a share of the overhead).
//! Amounts are exact decimals in one currency ([`measure::Cost`]) and are
//! rounded, half-even, only where they are shown; money that was really paid
//! is split in whole minor units, so that the shares add up to it ([`spread()`]).
//!
//! This crate refuses to know where a price list, a supply or a batch is
//! kept, what day it is, and what a buyer will pay.
//!
//! Start with the calculations, data in and data out, and the arithmetic
//! behind each: [`unit_cost()`] with [`Batch`] and [`Earning`],
//! [`compare_formats()`] with [`Format`], [`channel_price()`] with [`Terms`]
//! and [`Ending`], [`market_day()`] with [`MarketDay`], [`sale_or_return()`]
//! with [`Firm`] and [`SaleOrReturn`], [`parcel()`] with [`Packing`].

mod arithmetic;
mod channel;
mod channel_bundle;
mod channel_ending;
mod channel_price;
mod channel_range;
mod compare;
mod compare_formats;
mod consign;
mod day;
mod parcel;
mod range;
mod reader;
mod shown;
mod spread;
mod unit;
mod unit_cost;

pub use arithmetic::TooLarge;
pub use channel::{FeeBase, InCoins, Kept, NoPrice, PitchDay, Target, Tax, Terms};
pub use channel_bundle::{AverageOutput, BundleInput, BundleOutput};
pub use channel_ending::Ending;
pub use channel_price::{
    CHANNEL_PRICE, ChannelInput, ChannelPriceInput, ChannelPriceOutput, PartOutput, TargetInput,
    TaxInput, channel_price,
};
pub use channel_range::{EndsInput, MovedOutput, RangeOutput};
pub use compare::{Earnings, EarnsMore, Format};
pub use compare_formats::{
    COMPARE_FORMATS, CompareFormatsInput, CompareFormatsOutput, EqualAt, FormatInput, FormatOutput,
    compare_formats,
};
pub use consign::{
    Firm, FirmInput, OfferOutput, ReturnInput, SALE_OR_RETURN, SaleOrReturn, SaleOrReturnInput,
    SaleOrReturnOutput, days_to_money, sale_or_return,
};
pub use day::{
    CashOutput, DayLeft, MARKET_DAY, MarketDay, MarketDayInput, MarketDayOutput, StallLine,
    StallLineInput, StallLineOutput, market_day,
};
pub use parcel::{
    Band, BandInput, Contents, ItemInput, PARCEL, Packed, PackedOutput, Packing, PackingInput,
    ParcelInput, ParcelOutput, cheapest, parcel,
};
pub use range::{Earning, Prices, keystone};
pub use shown::{Amounts, PricesInput, fine, percent};
pub use spread::{FreightBy, FreightError, ReceiptLine, spread, spread_freight};
pub use unit::{Batch, CostLine, Labour, Layer, Overhead, Stuff, UnitCost, cost_used};
pub use unit_cost::{
    FreightInput, KeystoneOutput, LayersOutput, LineOutput, MaterialInput, OverheadInput,
    PriceOutput, PricesOutput, UNIT_COST, UnitCostInput, UnitCostOutput, WrapInput, WrapOn,
    unit_cost,
};
