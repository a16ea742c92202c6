//! One module a place; the address tells the file.

mod bench;
mod best_price;
mod books;
mod buyers;
mod channel;
mod count;
mod kept;
mod label;
mod ladder;
mod market;
mod moulds;
mod offers;
mod orders;
mod packing;
mod payouts;
mod pour;
mod print;
mod proof;
mod quick;
mod rack;
mod reading;
mod sell;
mod settings;
mod sheet;
mod shelf;
mod stall;
mod supply_lots;
mod today;
mod trace;
mod weight;
mod year;

use axum::Router;

use crate::site::Site;

pub(crate) use reading::Opened;

/// A filled form or a query: pairs of names and texts.
pub(crate) type Pairs = Vec<(String, String)>;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .merge(today::routes())
        .merge(quick::routes())
        .merge(shelf::routes())
        .merge(sheet::routes())
        .merge(bench::routes())
        .merge(moulds::routes())
        .merge(pour::routes())
        .merge(print::routes())
        .merge(rack::routes())
        .merge(weight::routes())
        .merge(supply_lots::routes())
        .merge(trace::routes())
        .merge(ladder::routes())
        .merge(label::routes())
        .merge(packing::routes())
        .merge(proof::routes())
        .merge(stall::routes())
        .merge(buyers::routes())
        .merge(orders::routes())
        .merge(best_price::routes())
        .merge(channel::routes())
        .merge(market::routes())
        .merge(sell::routes())
        .merge(count::routes())
        .merge(offers::routes())
        .merge(kept::routes())
        .merge(books::routes())
        .merge(year::routes())
        .merge(reading::routes())
        .merge(payouts::routes())
        .merge(settings::routes())
}
