//! The facts of a workshop, the state folded from them, and the decisions
//! that allow a new fact.
//!
//! A [`Fact`] is something that happened. [`Workshop::apply`] folds facts into
//! state and cannot fail: what the journal holds has happened. The decisions
//! in [`decide`] look at the state and say which facts a wish adds, or refuse
//! ([`Refusal`]) in words the maker can act on. Queries are ordinary functions
//! over state.
//!
//! This crate refuses to know the time, the disk and the page. Days and
//! identifiers come in as values; the journal that keeps the facts is someone
//! else's.
//!
//! Start with [`facts`], then [`Workshop`].

pub mod books;
pub mod decide;
pub mod facts;
mod goods;
pub mod label;
mod learn;
pub mod lots;
mod market;
mod money;
mod odd;
mod orders;
mod passage;
pub mod payouts;
mod plan;
mod rack;
mod refusal;
pub mod selling;
mod shelf;
mod state;
mod today;
pub mod trace;
mod trade;
pub mod tried;
mod weight;
mod worth;

pub use facts::Fact;
pub use goods::{Gap, Goods, Item, Movement, Spot};
pub use learn::{
    Advice, History, LearnedWords, LeftOut, Nominal, OddPour, PAST_POURS, PastPour, PastRow,
    advice_for, history_of,
};
pub use market::{DayAccount, DayGood, LotCosts, TinAccount, day_account, day_account_by, tin_of};
pub use money::{Charges, LotCost, SharedBy, lot_cost, lot_working};
pub use odd::{OddWeight, odd_weights};
pub use orders::{
    Account, AtShop, COUNTED_EVERY, ForSale, Pick, StockState, accounts, at_shop,
    buyers_to_invoice, came_back_with, charged_for, for_sale, if_all_sells, is_overdue, owed_by,
    owed_by_all, owed_in_all, pick_for, price_for, sale_of, stock_state, stock_states,
    take_earliest, tax_for, to_invoice, to_invoice_in_all, total_of, total_working, with_tax,
};
pub use passage::{Passage, destination_name, may_go};
pub use plan::{Planned, bench_of, default_readability, formula_of, plan_of, plan_pour, ways_on};
pub use rack::{
    LOTS_A_PAGE, LeftOfLot, LotBalance, LotWeights, NoRange, OnRack, RECENT_DAYS, Rack, Standing,
    balance_mass, day_after, days_from, left_of, lot_balance, lot_weights, rack_on, standing,
};
pub use refusal::Refusal;
pub use shelf::{
    DeliveryCost, Rate, ShelfWorth, Use, amount_of, delivery_cost, freight_working, is_unpriced,
    landed_rate, plain_amount_of, receipts_of, shelf_working, small_cost, uses_of, worth_of_shelf,
    worth_on_hand,
};
pub use state::{
    Certificate, DeclaredWeight, Formula, Hourly, Known, Label, LabelStock, Lot, LotVerdict, Mould,
    Pour, Prices, Printed, PrinterMeasured, Product, Receipt, Sheet, ShelfChange, ShelfEvent,
    Stage, Stock, Supply, WeighedTares, Workshop,
};
pub use today::{Errand, errands};
pub use trade::{
    Buyer, Channel, CountedBack, FileKept, Invoice, MarketDay, Order, OrderStage, Payout, Recall,
    Returned, RowOf, Sale, Till, Trade,
};
pub use weight::{
    Weighed, cost_of_melt, ground_of_weight, lots_beside, made_in_a_year, size_of_lot, tare_of,
    weighed_lots, weights_of_lot,
};
pub use worth::{
    Recent, TimeInCost, Worth, column_of_costs, format_of, format_of_lot, format_rests_on, good_of,
    is_of, latest_wax, layer_of, layer_word, lot_rests_on, recent_cost, time_in_cost, without_time,
    worth_of, worth_of_all, worth_working,
};
