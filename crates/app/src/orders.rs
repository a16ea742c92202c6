//! Buyers, orders, shops and invoices: from the texts of a form to what is
//! written down.

use jiff::civil::Date;
use measure::{Checker, Mass, Money, Problem, Ratio, Typed, Unclear, parse_in};
use workshop::decide::{self, CreditWish, OrderWish, PickWish, SendWish, ShopWish};
use workshop::facts::{
    BuyerId, BuyerTerms, ChannelId, Fact, InvoiceId, OrderId, Payment, ProductId, ReturnTo, SaleId,
    Units,
};
use workshop::{Refusal, Sale, Workshop};

use crate::forms::{Filled, one_of, past_day, whole};
use crate::people::Person;
use crate::{ActError, App, Done};

/// The words of a form for how money came.
pub const PAYMENTS: [(&str, Payment); 6] = [
    ("owed", Payment::Owed),
    ("transfer", Payment::Transfer),
    ("card", Payment::Card),
    ("cash", Payment::Cash),
    ("payout", Payment::Payout),
    ("unknown", Payment::Unknown),
];

/// The words of a form for where goods go that came back.
pub const RETURNS: [(&str, ReturnTo); 3] = [
    ("rack", ReturnTo::Rack),
    ("spoilt", ReturnTo::Spoilt),
    ("kept", ReturnTo::Kept),
];

fn count_of(text: &str) -> Result<u32, Unclear> {
    if text.is_empty() { Ok(0) } else { whole(text) }
}

fn money(workshop: &Workshop) -> impl Fn(&str) -> Result<Money, Unclear> + use<> {
    let (own, reading) = (workshop.currency(), workshop.reading());
    crate::forms::money(own, reading)
}

fn id<T: std::str::FromStr>(what: &'static str) -> impl Fn(&str) -> Result<T, Unclear> {
    move |text| {
        let unclear = |_| {
            let wrong = format!("that is not {what}");
            Unclear::new(text, wrong, format!("choose {what} from the list"))
        };
        text.parse().map_err(unclear)
    }
}

/// The day a form says something happened, `on`; today where it says none.
fn on_day(app: &App, filled: &Filled) -> Result<Date, Unclear> {
    past_day(filled.some("on"), app.today())
}

/// Does something on the day a form names.
fn act_on(
    app: &App,
    who: &str,
    filled: &Filled,
    decide: impl Fn(&Workshop, Date, Checker) -> decide::Decision,
) -> Result<Done, ActError> {
    let on = on_day(app, filled);
    let day = on.as_ref().copied().unwrap_or_else(|_| app.today());
    app.act_on(day, who, |workshop, day| {
        let mut check = Checker::default();
        check.required("on", Some(filled.get("on")), |_| on.clone());
        decide(workshop, day, check)
    })
}

/// Enters a buyer, or changes one: what is agreed goes into the journal, who it
/// is beside it.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn settle_buyer(
    app: &App,
    who: &str,
    buyer: Option<BuyerId>,
    filled: &Filled,
) -> Result<Done, ActError> {
    let person = Person::read(filled);
    let done = app.act(who, |workshop, _| {
        let mut check = Checker::default();
        let reading = workshop.reading();
        let channel = check.required(
            "channel",
            Some(filled.get("channel")),
            id::<ChannelId>("a channel"),
        );
        let discount = check.optional("discount", filled.some("discount"), |text| {
            Ratio::parse(text, reading)
        });
        let days_to_pay = check.optional("days_to_pay", filled.some("days_to_pay"), |text| {
            whole(text).map(|days| u16::try_from(days).unwrap_or(u16::MAX))
        });
        let mut problems = person.as_ref().err().cloned().unwrap_or_default();
        problems.0.extend(check.into_problems().0);
        let Some(channel) = channel else {
            return Err(problems.into());
        };
        let terms = BuyerTerms {
            channel,
            resells: filled.some("resells").is_some(),
            country: filled.get("country").to_owned(),
            discount,
            days_to_pay,
            untaxed: filled.some("untaxed").is_some(),
        };
        match decide::settle_buyer(workshop, buyer, terms) {
            Err(Refusal::Input(more)) => {
                problems.0.extend(more.0);
                Err(problems.into())
            }
            Ok(_) if !problems.is_empty() => Err(problems.into()),
            other => other,
        }
    })?;
    let settled = done.facts.iter().find_map(|fact| match fact {
        Fact::BuyerSettled(fact) => Some(fact.buyer),
        _ => None,
    });
    // The fact first: a number that another program gave away meanwhile would
    // otherwise get this one's name.
    if let (Some(buyer), Ok(person)) = (settled.or(buyer), &person) {
        app.put_person(buyer, person)?;
    }
    Ok(done)
}

/// Forgets who a buyer is, for good.
///
/// # Errors
///
/// [`ActError`]; where the name is still needed, saying for what.
pub fn forget_buyer(app: &App, who: &str, buyer: BuyerId) -> Result<Done, ActError> {
    app.look(|workshop| decide::forget_buyer(workshop, buyer))??;
    // Erased first: a program that stops in between has forgotten and not yet said
    // so, which can be said again.
    app.erase_person(buyer)?;
    app.act(who, |workshop, _| decide::forget_buyer(workshop, buyer))
}

/// Takes an order, or changes one: `buyer`, `count-GOOD`, `each-GOOD`, `due`,
/// `on_return`, `note`.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn take_order(
    app: &App,
    who: &str,
    order: Option<OrderId>,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, day| {
        let mut check = Checker::default();
        let buyer = check.required("buyer", Some(filled.get("buyer")), id::<BuyerId>("a buyer"));
        let mut lines = Vec::new();
        for product in workshop.products().map(|product| product.id) {
            let field = |part: &str| format!("{part}-{product}");
            let counted = check.optional(&field("count"), filled.some(&field("count")), count_of);
            let each = check.optional(&field("each"), filled.some(&field("each")), money(workshop));
            if let Some(count) = counted.filter(|count| *count > 0) {
                lines.push((product, count, each));
            }
        }
        let due = check.optional("due", filled.some("due"), day_of);
        let (true, Some(buyer)) = (check.is_clean(), buyer) else {
            return Err(check.into_problems().into());
        };
        let wish = OrderWish {
            buyer,
            lines,
            due,
            on_return: filled.some("on_return").is_some(),
            note: filled.get("note").to_owned(),
        };
        decide::take_order(workshop, day, order, wish)
    })
}

fn day_of(text: &str) -> Result<Date, Unclear> {
    text.parse().map_err(|_| {
        Unclear::new(
            text,
            "it is not a day",
            "write it as year-month-day: 2026-10-04",
        )
    })
}

/// Notes that an order was confirmed to the buyer.
///
/// # Errors
///
/// [`ActError`].
pub fn confirm_order(app: &App, who: &str, order: OrderId) -> Result<Done, ActError> {
    app.act(who, |workshop, _| decide::confirm_order(workshop, order))
}

/// Picks for an order: `lot-LOT` says how many of each lot; without any, the
/// earliest best-by first.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn pick_order(app: &App, who: &str, order: OrderId, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, day| {
        let mut check = Checker::default();
        let mut asked = Vec::new();
        for (name, _) in filled.pairs() {
            let Some(lot) = name.strip_prefix("lot-").and_then(|lot| lot.parse().ok()) else {
                continue;
            };
            let count = check.required(name, Some(filled.get(name)), count_of);
            let product = product_of_lot(workshop, order, lot);
            let (Some(count), Some(product)) = (count, product) else {
                continue;
            };
            let twice = |ask: &PickWish| ask.lot == Some(lot);
            if count > 0 && !asked.iter().any(twice) {
                asked.push(PickWish {
                    product,
                    lot: Some(lot),
                    count,
                });
            }
        }
        if !check.is_clean() {
            return Err(check.into_problems().into());
        }
        let has_lots = filled
            .pairs()
            .iter()
            .any(|(name, _)| name.starts_with("lot-"));
        if has_lots && asked.is_empty() {
            let none = Problem::new("lots", "", "nothing is picked", "write how many of a lot");
            return Err(none.into());
        }
        decide::pick_order(workshop, day, order, &asked)
    })
}

/// As which of an order's goods a lot is picked.
fn product_of_lot(
    workshop: &Workshop,
    order: OrderId,
    lot: workshop::facts::PourId,
) -> Option<ProductId> {
    let pour = workshop.pour(lot)?;
    let order = workshop.trade().order(order)?;
    let goods = order
        .lines
        .iter()
        .filter_map(|line| workshop.product(line.product));
    let mut of = goods.filter(|good| workshop::is_of(pour, good));
    let good = of.next().or_else(|| workshop::good_of(workshop, pour))?;
    Some(good.id)
}

/// Notes that an order was packed: `parcels`, `weight`.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn pack_order(app: &App, who: &str, order: OrderId, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut check = Checker::default();
        let parcels = check.required("parcels", Some(filled.get("parcels")), whole);
        let weight: Option<Typed<Mass>> = check.optional("weight", filled.some("weight"), |text| {
            parse_in(text, workshop.system().mass_unit(), workshop.reading())
        });
        let (true, Some(parcels)) = (check.is_clean(), parcels) else {
            return Err(check.into_problems().into());
        };
        decide::pack_order(workshop, order, parcels, weight)
    })
}

/// Sends an order: `on`, `postage`, `charged`, `payment`.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn send_order(app: &App, who: &str, order: OrderId, filled: &Filled) -> Result<Done, ActError> {
    act_on(app, who, filled, |workshop, _, mut check| {
        let postage = check.optional("postage", filled.some("postage"), money(workshop));
        let charged = check.optional("charged", filled.some("charged"), money(workshop));
        let payment = check.optional("payment", filled.some("payment"), one_of(&PAYMENTS));
        if !check.is_clean() {
            return Err(check.into_problems().into());
        }
        let wish = SendWish {
            postage,
            charged,
            payment: payment.unwrap_or(Payment::Owed),
        };
        decide::send_order(workshop, order, wish)
    })
}

/// Calls an order off: `reason`.
///
/// # Errors
///
/// [`ActError`], with a problem where there is no reason.
pub fn cancel_order(
    app: &App,
    who: &str,
    order: OrderId,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        decide::cancel_order(workshop, order, filled.get("reason"))
    })
}

/// Puts back what was picked for an order, and takes it anew under the next
/// number.
///
/// # Errors
///
/// [`ActError`], where nothing is picked or it is sent.
pub fn pick_anew(app: &App, who: &str, order: OrderId) -> Result<Done, ActError> {
    app.act(who, |workshop, _| decide::pick_anew(workshop, order))
}

/// Counts a shop: `on`, and of each good `there-GOOD`, `sold-GOOD`, `back-GOOD`,
/// `spoilt-GOOD`, `missing-GOOD`, `each-GOOD`. A good of which nothing is said
/// is left as it is.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn count_shop(app: &App, who: &str, buyer: BuyerId, filled: &Filled) -> Result<Done, ActError> {
    act_on(app, who, filled, |workshop, _, mut check| {
        let mut found = Vec::new();
        for product in workshop.products().map(|product| product.id) {
            let field = |part: &str| format!("{part}-{product}");
            let parts = ["there", "sold", "back", "spoilt", "missing"];
            if parts.iter().all(|part| filled.some(&field(part)).is_none()) {
                continue;
            }
            let [there, sold, back, spoilt, missing] = parts.map(|part| {
                let field = field(part);
                check.optional(&field, filled.some(&field), count_of)
            });
            let each = check.optional(&field("each"), filled.some(&field("each")), money(workshop));
            found.push(ShopWish {
                product,
                there,
                sold,
                back: back.unwrap_or(0),
                spoilt: spoilt.unwrap_or(0),
                missing: missing.unwrap_or(0),
                each,
            });
        }
        if !check.is_clean() {
            return Err(check.into_problems().into());
        }
        if found.is_empty() {
            let none = Problem::new(
                "lines",
                "",
                "nothing is counted",
                "write what is still there of at least one good",
            );
            return Err(none.into());
        }
        decide::count_shop(workshop, buyer, &found)
    })
}

/// Writes an invoice for everything a buyer owes that stands on none: `on`, and
/// `sale` as often as sales are chosen; without any, all of them.
///
/// # Errors
///
/// [`ActError`], where there is nothing to invoice.
pub fn write_invoice(
    app: &App,
    who: &str,
    buyer: BuyerId,
    filled: &Filled,
) -> Result<Done, ActError> {
    act_on(app, who, filled, |workshop, day, mut check| {
        let chosen = filled.pairs().iter().filter(|(name, _)| name == "sale");
        let sales: Vec<SaleId> = chosen
            .filter_map(|(_, text)| check.required("sale", Some(text), id("a sale")))
            .collect();
        if !check.is_clean() {
            return Err(check.into_problems().into());
        }
        decide::write_invoice(workshop, day, buyer, &sales)
    })
}

/// The field that says how many of the nth units of a sale came back.
pub fn back_field(sale: &Sale, nth: usize) -> String {
    format!("back-{}-{nth}", sale.id)
}

/// Writes a credit note: `on`, `total`, `reason`, `to`, `given_back`, and how
/// many came back of what is left of each sale. Without a `total` it takes off
/// what these cost.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn credit_invoice(
    app: &App,
    who: &str,
    invoice: InvoiceId,
    filled: &Filled,
) -> Result<Done, ActError> {
    act_on(app, who, filled, |workshop, _, mut check| {
        let trade = workshop.trade();
        let total = check.optional("total", filled.some("total"), money(workshop));
        let to = check.optional("to", filled.some("to"), one_of(&RETURNS));
        let how = filled.some("given_back");
        let given_back = check.optional("given_back", how, one_of(&PAYMENTS));
        let mut goods = Vec::new();
        let on_it = trade.invoice(invoice);
        let sales = on_it.map_or(&[][..], |invoice| invoice.sales.as_slice());
        for sale in sales.iter().filter_map(|id| trade.sale(*id)) {
            let mut back = Vec::new();
            for (nth, units) in sale.left().into_iter().enumerate() {
                let field = back_field(sale, nth);
                let count = check.optional(&field, filled.some(&field), count_of);
                if let Some(count) = count.filter(|count| *count > 0) {
                    back.push(Units { count, ..units });
                }
            }
            if !back.is_empty() {
                goods.push((sale.id, back));
            }
        }
        if !check.is_clean() {
            return Err(check.into_problems().into());
        }
        let wish = CreditWish {
            total,
            goods,
            to: to.unwrap_or(ReturnTo::Rack),
            given_back,
            reason: filled.get("reason").to_owned(),
        };
        decide::credit_invoice(workshop, invoice, &wish)
    })
}

/// Writes down money that came in: `on`, `amount`, `payment`; everything that is
/// owed where no amount is said.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn pay_invoice(
    app: &App,
    who: &str,
    invoice: InvoiceId,
    filled: &Filled,
) -> Result<Done, ActError> {
    act_on(app, who, filled, |workshop, _, mut check| {
        let amount = check.optional("amount", filled.some("amount"), money(workshop));
        let payment = check.optional("payment", filled.some("payment"), one_of(&PAYMENTS));
        if !check.is_clean() {
            return Err(check.into_problems().into());
        }
        let payment = payment.unwrap_or(Payment::Transfer);
        decide::pay_invoice(workshop, invoice, amount, payment)
    })
}

/// Fills the form of an order with how it stands, where nothing was typed.
pub fn first_order(workshop: &Workshop, order: Option<OrderId>, filled: Filled) -> Filled {
    let Some(order) = order.and_then(|id| workshop.trade().order(id)) else {
        return filled;
    };
    let mut filled = filled
        .or("buyer", order.buyer.to_string())
        .or(
            "due",
            order.due.map_or_else(String::new, |due| due.to_string()),
        )
        .or("note", order.note.as_str());
    if order.on_return {
        filled = filled.or("on_return", "yes");
    }
    for line in &order.lines {
        filled = filled
            .or(&format!("count-{}", line.product), line.count.to_string())
            .or(
                &format!("each-{}", line.product),
                crate::forms::as_typed(workshop, line.each),
            );
    }
    filled
}
