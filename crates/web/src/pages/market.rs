//! Market days, from their plan to what they left, and the sales made at them.

use app::App;
use app::forms::Filled;
use app::stall::{self, PAYMENTS, RETURNS};
use axum::Router;
use axum::extract::{Form, Query, State};
use axum::response::Response;
use axum::routing::{get, post};
use jiff::civil::Date;
use maud::{Markup, html};
use measure::Problems;
use workshop::facts::{
    ChannelKind, CostMethod, Fact, Grade, MarketDayId, Place as Spot, ProductId, SaleFrom, SaleId,
    Units,
};
use workshop::selling::{Picker, open_channels, sales_tax};
use workshop::{
    DayAccount, DayGood, Item, LotCosts, MarketDay, Sale, Workshop, day_account, day_account_by,
};

use crate::layout::{Page, Place};
use crate::once;
use crate::pages::{Pairs, count, kept};
use crate::parts::{self, Field, fig};
use crate::site::{At, Fault, Site, WHO};

/// Market days named on the front page of the stall.
const NAMED: usize = 3;
/// Market days on one page of the list.
const DAYS_A_PAGE: usize = 30;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/stall/days", get(days))
        .route("/stall/day/new", get(new).post(plan_new))
        .route("/stall/day/{id}", get(day))
        .route("/stall/day/{id}/plan", post(plan))
        .route("/stall/day/{id}/take", post(take))
        .route("/stall/day/{id}/sold", get(sold).post(write_sale))
        .route("/stall/day/{id}/back", post(back))
        .route("/stall/day/{id}/till", post(till))
        .route("/stall/day/{id}/note", post(note))
        .route("/stall/sale/{id}", get(sale))
        .route("/stall/sale/{id}/void", post(void))
        .route("/stall/sale/{id}/return", post(give_back))
}

/// The next market days and the last one's result, for the front page of the
/// stall; nothing where none was ever planned.
pub(crate) fn at_a_glance(workshop: &Workshop, today: Date) -> Markup {
    let (next, last) = next_and_last(workshop, today);
    let mut costs = LotCosts::of_all(workshop);
    html! {
        @if !next.is_empty() || last.is_some() {
            ul.rows {
                @for day in next.iter().take(NAMED) { (day_row(&mut costs, day, today)) }
                @if let Some(day) = last { (day_row(&mut costs, day, today)) }
            }
        }
    }
}

/// Market days that are not over, the next first, and the one held last.
pub(crate) fn next_and_last(
    workshop: &Workshop,
    today: Date,
) -> (Vec<&MarketDay>, Option<&MarketDay>) {
    let held = || {
        let days = workshop.trade().market_days();
        days.filter(|day| !day.called_off)
    };
    let mut next: Vec<_> = held()
        .filter(|day| day.counted.is_none() && (day.on >= today || !day.taken.is_empty()))
        .collect();
    next.sort_by_key(|day| (day.on, day.id));
    let last = held()
        .filter(|day| day.counted.is_some())
        .max_by_key(|day| (day.on, day.id));
    (next, last)
}

fn day_row(costs: &mut LotCosts<'_>, day: &MarketDay, today: Date) -> Markup {
    let left = day
        .counted
        .as_ref()
        .and_then(|_| day_account_by(costs, day));
    html! {
        li {
            span {
                a href={ "/stall/day/" (day.id) } { (day.market) ", " (weekday(day.on)) }
                br;
                span.soft.small {
                    @if let Some(account) = &left {
                        (account.sold) " sold for " (account.takings)
                    } @else if day.taken.is_empty() {
                        "nothing packed yet"
                    } @else {
                        (day.n_taken()) " packed"
                    }
                }
            }
            @if let Some(account) = &left {
                span { (fig(account.left.to_string())) span.soft { " left" } }
            } @else if day.called_off {
                span.soft { "called off" }
            } @else if day.on < today {
                (parts::verdict("unproven", "count it back"))
            } @else {
                span.soft { (when(day.on, today)) }
            }
        }
    }
}

fn weekday(day: Date) -> String {
    day.strftime("%a %-d %b %Y").to_string()
}

fn when(day: Date, today: Date) -> String {
    match workshop::days_from(today, day) {
        0 => "today".to_owned(),
        1 => "tomorrow".to_owned(),
        days => format!("in {days} days"),
    }
}

async fn days(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(|app| {
        let today = app.today();
        let skip: usize = Filled::new(pairs).get("skip").parse().unwrap_or(0);
        Ok(app.look(|workshop| {
            let mut costs = LotCosts::of_all(workshop);
            let mut all: Vec<&MarketDay> = workshop.trade().market_days().collect();
            all.sort_by_key(|day| std::cmp::Reverse((day.on, day.id)));
            Page {
                title: "Which market days are there?".to_owned(),
                place: Place::Stall,
                back: Some(("/stall".to_owned(), "Stall".to_owned())),
                body: html! {
                    (parts::question("Which market days are there?"))
                    @if all.is_empty() {
                        (parts::empty("A market day stands here from its plan to what it left: what to take, what was sold, what came home.", "/stall/day/new", "Plan a market day"))
                    } @else {
                        p.next { a.button.do href="/stall/day/new" { "Plan a market day" } }
                        @let older = all.len().saturating_sub(skip).saturating_sub(DAYS_A_PAGE);
                        ul.rows { @for day in all.into_iter().skip(skip).take(DAYS_A_PAGE) { (day_row(&mut costs, day, today)) } }
                        @if older > 0 { p.next { a.button.quiet href={ "/stall/days?skip=" (skip.saturating_add(DAYS_A_PAGE)) } { "Older days" } } }
                    }
                },
            }
        })?)
    })
    .await
}

async fn new(State(site): State<Site>, Query(pairs): Query<Pairs>) -> Response {
    site.run(|app| new_page(app, &Filled::new(pairs), &Problems::default()))
        .await
}

async fn plan_new(State(site): State<Site>, Form(pairs): Form<Pairs>) -> Response {
    site.post(
        pairs,
        |app, filled| stall::settle_market_day(app, WHO, None, filled),
        |_, done| {
            Ok(done
                .facts
                .iter()
                .find_map(|fact| match fact {
                    Fact::MarketDaySettled(fact) => Some(format!("/stall/day/{}", fact.market_day)),
                    _ => None,
                })
                .unwrap_or_else(|| "/stall/days".to_owned()))
        },
        new_page,
    )
    .await
}

fn new_page(app: &App, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    Ok(app.look(|workshop| {
        // The last day at a market says what the next one costs.
        let like = workshop.trade().market_days().next_back();
        let filled = like.map_or_else(|| filled.clone(), |like| with_plan(filled.clone(), like, false));
        Page {
            title: "Where do I sell next?".to_owned(),
            place: Place::Stall,
            back: Some(("/stall".to_owned(), "Stall".to_owned())),
            body: html! {
                (parts::question("Where do I sell next?"))
                @if open_channels(workshop, ChannelKind::Stall).next().is_none() {
                    (parts::empty("A market day is sold at a stall, and no stall is written down yet: what taking a card costs there, and what you ask.", "/stall/channel/new?kind=stall", "Open a stall"))
                } @else {
                    (parts::problems(problems))
                    form.sheet method="post" action="/stall/day/new" {
                        (once::field())
                        (plan_fields(workshop, &filled, problems))
                        p.next { button.do type="submit" { "Plan it" } }
                    }
                }
            },
        }
    })?)
}

/// The plan of a day as its form is filled.
fn with_plan(filled: Filled, day: &MarketDay, with_day: bool) -> Filled {
    let money = |money: Option<measure::Money>| money.map_or_else(String::new, |it| it.to_string());
    let mut filled = filled
        .or("channel", day.channel.to_string())
        .or("market", &*day.market)
        .or("pitch", money(day.costs.pitch))
        .or("travel", money(day.costs.travel))
        .or("other", money(day.costs.other));
    if let Some(hours) = &day.hours {
        filled = filled.or("hours", hours.to_string());
    }
    if with_day {
        filled = filled.or("on", day.on.to_string());
    }
    filled
}

fn plan_fields(workshop: &Workshop, filled: &Filled, problems: &Problems) -> Markup {
    let stalls: Vec<_> = open_channels(workshop, ChannelKind::Stall)
        .map(|channel| (channel.id.to_string(), channel.name.clone()))
        .collect();
    let own = |text: &str| app::forms::as_typed(workshop, text);
    html! {
        div.fields {
            (Field::text("market", "Market", filled.get("market")).hint("Quarry Lane").draw(problems))
            (parts::any_day("on", "Day", filled.get("on"), problems))
            (parts::select("channel", "Stall", filled.get("channel"), &stalls, "", problems))
        }
        div.fields {
            (Field::text("pitch", "Pitch", &own(filled.get("pitch"))).keys("decimal").draw(problems))
            (Field::text("travel", "Travel", &own(filled.get("travel"))).keys("decimal").draw(problems))
            (Field::text("other", "Other costs of the day", &own(filled.get("other"))).keys("decimal").hint("help, parking, food").draw(problems))
            (Field::text("hours", "Hours", &own(filled.get("hours"))).keys("decimal").hint("from leaving to being home; a bare number is hours").draw(problems))
        }
    }
}

async fn day(
    State(site): State<Site>,
    At(id): At<MarketDayId>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| day_page(app, id, &Filled::new(pairs), &Problems::default()))
        .await
}

/// Posts one of a day's forms, and comes back to the day.
macro_rules! day_form {
    ($name:ident, $act:path) => {
        async fn $name(
            State(site): State<Site>,
            At(id): At<MarketDayId>,
            Form(pairs): Form<Pairs>,
        ) -> Response {
            site.post(
                pairs,
                move |app, filled| $act(app, WHO, id, filled),
                move |_, _| Ok(format!("/stall/day/{id}")),
                move |app, filled, problems| day_page(app, id, filled, problems),
            )
            .await
        }
    };
}

day_form!(take, stall::take_goods);
day_form!(back, stall::count_back);
day_form!(till, stall::count_till);
day_form!(note, stall::note_market_day);

async fn plan(
    State(site): State<Site>,
    At(id): At<MarketDayId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| stall::settle_market_day(app, WHO, Some(id), filled),
        move |_, _| Ok(format!("/stall/day/{id}")),
        move |app, filled, problems| day_page(app, id, filled, problems),
    )
    .await
}

fn day_page(
    app: &App,
    id: MarketDayId,
    typed: &Filled,
    problems: &Problems,
) -> Result<Page, Fault> {
    let today = app.today();
    app.look(|workshop| {
        let day = workshop
            .trade()
            .market_day(id)
            .ok_or(Fault::Nothing("market day"))?;
        let account = day_account(workshop, day);
        let title = match &day.counted {
            Some(_) => format!("What did {} leave?", day.market),
            None if day.on > today => format!("What do I take to {}?", day.market),
            None => format!("How did {} go?", day.market),
        };
        Ok(Page {
            title: title.clone(),
            place: Place::Stall,
            back: Some(("/stall/days".to_owned(), "Market days".to_owned())),
            body: html! {
                (parts::question(&title))
                @if day.called_off {
                    (parts::answer_words("It is called off.", ""))
                } @else if let Some(account) = account.as_ref() {
                    @if day.counted.is_some() { (what_it_left(workshop, day, account)) }
                    @else if day.on > today { (what_is_packed(day, today)) }
                    @else { (so_far(day, account, today)) }
                } @else {
                    (parts::answer_words("Nobody can say yet.", "No currency is settled, so nothing can be reckoned."))
                }
                (parts::problems(problems))
                @if let Some(account) = account.as_ref().filter(|_| !day.called_off) {
                    @if day.counted.is_some() {
                        (money_table(workshop, day, account))
                        (till_form(workshop, day, account, typed, problems))
                        (note_form(day, typed, problems))
                        (goods_table(workshop, day, account))
                        (sales_list(workshop, day))
                        (parts::working("working", &account.working))
                        (back_form(workshop, day, account, typed, problems, "Count it again"))
                    } @else {
                        @let is_over = is_over(day, account, today);
                        @if is_over { (back_form(workshop, day, account, typed, problems, "Count it back")) }
                        (take_form(workshop, day, typed, problems, today))
                        @if day.on <= today {
                            (sales_list(workshop, day))
                            (till_form(workshop, day, account, typed, problems))
                            (note_form(day, typed, problems))
                            @if !is_over { (back_form(workshop, day, account, typed, problems, "Count it back")) }
                        }
                        (take_list(workshop, day))
                    }
                }
                (plan_form(workshop, day, typed, problems))
            },
        })
    })?
}

fn what_is_packed(day: &MarketDay, today: Date) -> Markup {
    let goods: std::collections::BTreeSet<ProductId> =
        day.taken.iter().map(|units| units.product).collect();
    let words = match day.n_taken() {
        0 => "Nothing is packed yet.".to_owned(),
        n => format!(
            "{} packed.",
            parts::counted(u32::try_from(n).unwrap_or(u32::MAX), "unit")
        ),
    };
    let doubt = format!(
        "{}, {}. {}",
        weekday(day.on),
        when(day.on, today),
        match goods.len() {
            0 => String::new(),
            1 => "Of one good.".to_owned(),
            n => format!("Of {n} goods."),
        }
    );
    html! {
        (parts::answer_words(&words, doubt.trim()))
        @if day.n_taken() > 0 {
            p.next.no-paper {
                a.button.quiet href={ "/stall/day/" (day.id) "/sell" } { "Sell" }
                a.button.quiet href={ "/stall/day/" (day.id) "/sold" } { "Write down a sale" }
            }
        }
    }
}

/// Whether a day that is not counted back has only its count before it: it is
/// past, or everything that was taken is sold.
fn is_over(day: &MarketDay, account: &DayAccount, today: Date) -> bool {
    let is_sold_out = day.n_taken() > 0 && account.goods.iter().all(|good| good.left <= 0);
    day.on < today || (day.on == today && is_sold_out)
}

fn so_far(day: &MarketDay, account: &DayAccount, today: Date) -> Markup {
    let is_over = is_over(day, account, today);
    let is_bare = day.taken.is_empty() && account.sold == 0;
    let left: i64 = account.goods.iter().map(|good| good.left).sum();
    let words = format!("{} sold so far.", account.sold);
    let doubt = format!(
        "{}. {} taken in {}; {left} of {} units are not sold yet.",
        weekday(day.on),
        account.takings,
        parts::counted(account.n_sales, "sale"),
        day.n_taken(),
    );
    html! {
        (parts::answer_words(&words, &doubt))
        p.next.no-paper {
            @if is_bare { a.button.do href="#take" { "Write down what you took" } }
            @else if is_over { a.button.do href="#count" { "Count it back" } }
            a.button.do[!is_over && !is_bare].quiet[is_over || is_bare] href={ "/stall/day/" (day.id) "/sell" } { "Sell" }
            a.button.quiet href={ "/stall/day/" (day.id) "/sold" } { "Write down a sale" }
            @if !is_over && !is_bare { a.button.quiet href="#count" { "Count it back" } }
        }
    }
}

fn what_it_left(workshop: &Workshop, day: &MarketDay, account: &DayAccount) -> Markup {
    let also = account.per_hour.map_or_else(String::new, |each| {
        let each = each
            .rounded()
            .map_or_else(|| each.to_string(), |it| it.to_string());
        format!("{each} an hour of selling and of making")
    });
    let mut doubts = vec![format!("{}.", weekday(day.on))];
    if account.no_cost > 0 {
        doubts.push(format!(
            "Of {} units sold the material cost is not known, so less was left than it says.",
            account.no_cost
        ));
    }
    if account.selling.is_none() {
        doubts.push(
            "The hours of the day are not noted, so what an hour paid is not known.".to_owned(),
        );
    } else if account.no_time > 0 {
        doubts.push(format!(
            "Of {} units the making time is not known; an hour paid less than that.",
            account.no_time
        ));
    }
    if !account.cards_reported && day.till.is_none() {
        doubts.push("The till is not counted yet, so card fees are those of the sales noted as paid by card.".to_owned());
    }
    if sales_tax(workshop).is_none() {
        doubts.push("No sales tax is settled, so none is taken off.".to_owned());
    }
    html! {
        (parts::answer(&account.left.to_string(), &also, &doubts.join(" ")))
        p.doubt {
            (account.sold) " sold"
            @if let Some(share) = account.sell_through_percent() {
                " of " (account.taken()) " taken, " (fig(share))
            }
            "."
        }
        @if sales_tax(workshop).is_none() { p.no-paper { a href=(kept::PATH) { "Settle the tax on sales" } } }
    }
}

fn money_table(workshop: &Workshop, day: &MarketDay, account: &DayAccount) -> Markup {
    let tax = sales_tax(workshop).map_or("Tax inside", |tax| tax.name.as_str());
    let row = |what: &str, amount: measure::Money, more: &str| {
        html! {
            tr {
                td { (what) @if !more.is_empty() { " " span.soft.small { (more) } } }
                td.n data-label=(what) { (fig(amount.to_string())) }
            }
        }
    };
    let cards = format!(
        "{} by card in {}",
        account.cards,
        parts::counted(account.card_payments, "payment")
    );
    html! {
        table.stack {
            thead { tr { th { "Where the takings went" } th.n { "Amount" } } }
            tbody {
                (row("Takings", account.takings, &format!("{} sold", account.sold)))
                (row(&parts::capital(tax), account.tax, "to set aside"))
                (row("Net", account.net, ""))
                (row("Fees", account.fees, &cards))
                (row("Materials", account.materials, ""))
                @if account.lost.minor() != 0 { (row("Given, spoilt or missing", account.lost, "their materials")) }
                (row("The day", account.costs, "pitch, travel, other"))
                (row("Left", account.left, ""))
            }
        }
        p.soft.small {
            "Materials are what each unit's own lot cost. The books take "
            @match workshop.trade().books().map(|books| books.method).unwrap_or_default() {
                CostMethod::Fifo => "the lots in the order they came",
                CostMethod::Average => "an average of the lots",
            }
            ", and may differ a little."
        }
        @if let Some(tin) = account.tin {
            p {
                "In the tin: " (fig(tin.counted.to_string())) " counted, " (fig(tin.expected.to_string())) " expected. "
                @match tin.difference.minor() {
                    0 => { (parts::verdict("yes", "it is right")) }
                    minor if minor < 0 => {
                        (parts::verdict("no", "short")) " by " (fig(measure::Money::from_minor(-minor, tin.difference.currency()).to_string()))
                        ". That is not taken off here; it stands in the year."
                    }
                    _ => {
                        (parts::verdict("unproven", "over")) " by " (fig(tin.difference.to_string()))
                        ". That is not added here; it stands in the year."
                    }
                }
            }
        }
        @if !day.weather.is_empty() || day.footfall.is_some() || !day.note.is_empty() {
            p.soft {
                @if !day.weather.is_empty() { (parts::capital(&day.weather)) ". " }
                @if let Some(n) = day.footfall { (n) " came by. " }
                (day.note)
            }
        }
    }
}

fn goods_table(workshop: &Workshop, day: &MarketDay, account: &DayAccount) -> Markup {
    let dash = |n: u64| {
        if n == 0 {
            "–".to_owned()
        } else {
            n.to_string()
        }
    };
    let unexplained: Vec<&DayGood> = account.goods.iter().filter(|good| good.left != 0).collect();
    html! {
        h2 { "The goods" }
        table.stack {
            thead { tr { th { "Good" } th.n { "Taken" } th.n { "Sold" } th.n { "Back" } th.n { "Given" } th.n { "Spoilt" } th.n { "Missing" } th.n { "Takings" } } }
            tbody {
                @for good in &account.goods {
                    tr {
                        td { a href={ "/stall/good/" (good.product) } { (name_of(workshop, good.product)) } }
                        td.n data-label="Taken" { (dash(good.taken)) }
                        td.n data-label="Sold" { (dash(good.sold)) }
                        td.n data-label="Back" { (dash(good.back)) }
                        td.n data-label="Given" { (dash(good.given)) }
                        td.n data-label="Spoilt" { (dash(good.spoilt)) }
                        td.n data-label="Missing" { (dash(good.missing)) }
                        td.n data-label="Takings" { (fig(good.takings.to_string())) }
                    }
                }
            }
        }
        @for good in unexplained {
            p.note {
                @if good.left < 0 { (-good.left) " more of " (name_of(workshop, good.product)) " were sold than were taken. " }
                @else { (good.left) " of " (name_of(workshop, good.product)) " are still written down as being at the stall. " }
                a.no-paper href=(count::path_of(Spot::Stall(day.id))) { "Count the stall" }
            }
        }
    }
}

pub(crate) fn name_of(workshop: &Workshop, product: ProductId) -> &str {
    workshop
        .product(product)
        .map_or("?", |product| product.name.as_str())
}

fn lot_of(workshop: &Workshop, units: Units) -> String {
    let lot = units.lot.and_then(|lot| workshop.pour(lot));
    let word = lot.map_or("lot unknown".to_owned(), |pour| pour.lot.clone());
    match units.grade {
        Grade::Good => word,
        Grade::Second => format!("{word}, seconds"),
    }
}

/// A box for each good that may go along, with what the rack has of it.
fn take_form(
    workshop: &Workshop,
    day: &MarketDay,
    typed: &Filled,
    problems: &Problems,
    today: Date,
) -> Markup {
    let mut picker = Picker::new(workshop, day.on.max(today));
    let rows: Vec<_> = workshop
        .products()
        .map(|product| {
            let of_it = day.taken.iter().filter(|units| units.product == product.id);
            let taken: u32 = of_it.map(|units| units.count).sum();
            (product, taken, picker.fit(Spot::Rack, product.id))
        })
        .filter(|(_, taken, ready)| *taken > 0 || *ready > 0)
        .collect();
    let is_past = day.on <= today;
    let is_wrong = problems
        .iter()
        .any(|problem| problem.field.starts_with("take"));
    let form = html! {
        form.sheet method="post" action={ "/stall/day/" (day.id) "/take" } {
            (once::field())
            div.fields.tight {
                @for (product, taken, ready) in &rows {
                    @let field = format!("take[{}]", product.id);
                    @let stands = if *taken > 0 { taken.to_string() } else { String::new() };
                    @let value = if typed.has(&field) { typed.get(&field).to_owned() } else { stands };
                    (Field::text(&field, &product.name, &value).keys("numeric").hint(&format!("{ready} more on the rack by then")).draw(problems))
                }
            }
            p.next { button.do[!is_past] type="submit" { "Pack these" } }
        }
    };
    html! {
        @if rows.is_empty() {
            p.empty id="take" { "Nothing on the rack will be ready to sell by then." }
        } @else if is_past {
            details.no-paper id="take" open[is_wrong || day.taken.is_empty()] {
                summary { "What was taken" }
                p.soft { "The earliest best-by goes first. Write how many of each you took." }
                (form)
            }
        } @else {
            div.no-paper {
                p.soft { "How many of each go along. They come from the rack, the earliest best-by first; a lot on hold or still curing stays." }
                (form)
            }
        }
    }
}

/// What goes along by lot, to be ticked off.
fn take_list(workshop: &Workshop, day: &MarketDay) -> Markup {
    let mut units = day.taken.clone();
    units.sort_by_key(|units| {
        let name = name_of(workshop, units.product).to_owned();
        let poured = units
            .lot
            .and_then(|lot| workshop.pour(lot))
            .and_then(|it| it.poured);
        (name, poured, units.lot, units.grade)
    });
    html! {
        @if !units.is_empty() {
            h2 { "The list" }
            table.stack {
                thead { tr { th { "Good" } th { "Lot" } th.n { "Take" } th.n { "Back" } } }
                tbody {
                    @for one in &units {
                        tr {
                            td { (name_of(workshop, one.product)) }
                            td data-label="Lot" {
                                @if let Some(lot) = one.lot { a href={ "/rack/" (lot) } { (lot_of(workshop, *one)) } } @else { (lot_of(workshop, *one)) }
                            }
                            td.n data-label="Take" { (one.count) }
                            td.n data-label="Back" { "____" }
                        }
                    }
                }
            }
            p.soft.no-paper { "Print this page for a list to tick off by hand." }
        }
    }
}

fn back_form(
    workshop: &Workshop,
    day: &MarketDay,
    account: &DayAccount,
    typed: &Filled,
    problems: &Problems,
    verb: &str,
) -> Markup {
    let rows: Vec<&DayGood> = account
        .goods
        .iter()
        .filter(|good| good.taken > 0 || good.left != 0)
        .collect();
    let is_tapped = account.sold > 0 && day.counted.is_none()
        || day.sales.iter().any(|id| {
            let sale = workshop.trade().sale(*id);
            sale.is_some_and(|sale| sale.voided.is_none() && sale.from != SaleFrom::CountedBack)
        });
    let stems = ["back", "given", "spoilt"];
    let is_wrong = problems
        .iter()
        .any(|problem| stems.iter().any(|stem| problem.field.starts_with(stem)));
    let before = |stem: &str, good: &DayGood| -> String {
        let n = match stem {
            "back" if day.counted.is_some() => return good.back.to_string(),
            "given" => good.given,
            "spoilt" => good.spoilt,
            _ => 0,
        };
        if n == 0 { String::new() } else { n.to_string() }
    };
    let form = html! {
        form.sheet method="post" action={ "/stall/day/" (day.id) "/back" } {
            (once::field())
            @for good in &rows {
                fieldset.run {
                    legend { (name_of(workshop, good.product)) " " span.soft.small { (good.taken) " taken" @if is_tapped { ", " (good.sold) " sold" } } }
                    div.fields.three {
                        @for (stem, label) in stems.iter().zip(["Came home", "Given away", "Spoilt"]) {
                            @let field = format!("{stem}[{}]", good.product);
                            @let value = if typed.has(&field) { typed.get(&field).to_owned() } else { before(stem, good) };
                            (Field::text(&field, label, &value).keys("numeric").draw(problems))
                        }
                    }
                }
            }
            @if is_tapped {
                (parts::select("rest", "What is neither home nor sold", typed.get("rest"), &[
                    ("missing".to_owned(), "is missing".to_owned()),
                    ("sold".to_owned(), "was sold without being noted".to_owned()),
                ], "", problems))
            } @else {
                p.soft { "What was taken and is neither home, given away nor spoilt was sold, at the price of the day." }
            }
            p.next { button.do[day.counted.is_none()] type="submit" { (verb) } }
        }
    };
    html! {
        section.no-paper id="count" {
            @if rows.is_empty() {
                @if day.counted.is_none() { p.empty { "Nothing is written down as taken. Write that first; then what came home tells what was sold." } }
            } @else if day.counted.is_some() {
                details open[is_wrong] { summary { (verb) } p.soft { "A new count stands in the place of the first one, its sale too." } (form) }
            } @else {
                h2 { "What came home?" }
                (form)
            }
        }
    }
}

fn till_form(
    workshop: &Workshop,
    day: &MarketDay,
    account: &DayAccount,
    typed: &Filled,
    problems: &Problems,
) -> Markup {
    let own = |text: String| app::forms::as_typed(workshop, text);
    let mut filled = typed.clone();
    if let Some(till) = day.till {
        filled = filled
            .or("float", own(till.float.to_string()))
            .or("counted", own(till.counted.to_string()))
            .or(
                "cards",
                till.cards
                    .map_or_else(String::new, |it| own(it.to_string())),
            )
            .or(
                "card_payments",
                till.card_payments
                    .map_or_else(String::new, |n| n.to_string()),
            );
    } else {
        if let Some(float) = day.float {
            filled = filled.or("float", own(float.to_string()));
        }
        // While the stall is open, the card report is not there yet.
        if account.cards.minor() > 0 && day.counted.is_some() {
            filled = filled
                .or("cards", own(account.cards.to_string()))
                .or("card_payments", account.card_payments.to_string());
        }
    }
    let fields = ["float", "counted", "cards", "card_payments"];
    let is_wrong = fields.iter().any(|field| problems.of(field).is_some());
    html! {
        details.no-paper open[is_wrong || (day.counted.is_some() && day.till.is_none())] {
            summary { "The till" }
            @if day.till.is_none() { p.soft { "The float alone can be kept in the morning; the rest once the tin is counted." } }
            form.sheet method="post" action={ "/stall/day/" (day.id) "/till" } {
                div.fields.tight {
                    (Field::text("float", "In the tin in the morning", filled.get("float")).keys("decimal").draw(problems))
                    (Field::text("counted", "In the tin in the evening", filled.get("counted")).keys("decimal").draw(problems))
                    (Field::text("cards", "Card report", filled.get("cards")).keys("decimal").hint("empty where you take none").draw(problems))
                    (Field::text("card_payments", "Payments on it", filled.get("card_payments")).keys("numeric").draw(problems))
                }
                p.next { button type="submit" { "Keep the till" } }
            }
        }
    }
}

fn note_form(day: &MarketDay, typed: &Filled, problems: &Problems) -> Markup {
    let footfall = day.footfall.map_or_else(String::new, |n| n.to_string());
    let filled = typed
        .clone()
        .or("weather", &*day.weather)
        .or("footfall", footfall)
        .or("note", &*day.note);
    let is_wrong = ["weather", "footfall", "note"]
        .iter()
        .any(|field| problems.of(field).is_some());
    html! {
        details.no-paper open[is_wrong] {
            summary { "Weather and footfall" }
            form.sheet method="post" action={ "/stall/day/" (day.id) "/note" } {
                div.fields {
                    (Field::text("weather", "Weather", filled.get("weather")).hint("bright, windy").draw(problems))
                    (Field::text("footfall", "How many came by", filled.get("footfall")).keys("numeric").hint("a guess will do").draw(problems))
                    (Field::text("note", "Anything else", filled.get("note")).draw(problems))
                }
                p.next { button type="submit" { "Keep it" } }
            }
        }
    }
}

fn plan_form(workshop: &Workshop, day: &MarketDay, typed: &Filled, problems: &Problems) -> Markup {
    let filled = with_plan(typed.clone(), day, true);
    let fields = [
        "market",
        "on",
        "channel",
        "pitch",
        "travel",
        "other",
        "hours",
        "called_off",
    ];
    let is_wrong = fields.iter().any(|field| problems.of(field).is_some());
    html! {
        details.no-paper open[is_wrong] {
            summary { "The plan" }
            form.sheet method="post" action={ "/stall/day/" (day.id) "/plan" } {
                (plan_fields(workshop, &filled, problems))
                label.choice for="f-called_off" {
                    input type="checkbox" id="f-called_off" name="called_off" value="yes" checked[day.called_off];
                    "It is called off; what was packed goes back on the rack"
                }
                @if let Some(problem) = problems.of("called_off") { p.problem { (parts::capital(&problem.wrong)) "; " (problem.accepted) "." } }
                p.next { button type="submit" { "Change the plan" } }
            }
        }
    }
}

fn sales_list(workshop: &Workshop, day: &MarketDay) -> Markup {
    let sales: Vec<&Sale> = day
        .sales
        .iter()
        .filter_map(|id| workshop.trade().sale(*id))
        .collect();
    let gone = sales.iter().filter(|sale| sale.voided.is_some()).count();
    let standing = u32::try_from(sales.len() - gone).unwrap_or(u32::MAX);
    html! {
        @if !sales.is_empty() {
            details.no-paper {
                summary {
                    (parts::counted(standing, "sale"))
                    @if gone > 0 { span.soft { ", and " (gone) " taken back" } }
                }
                ul.rows { @for sale in sales.iter().rev() { (sale_row(workshop, sale)) } }
            }
        }
    }
}

pub(crate) fn sale_row(workshop: &Workshop, sale: &Sale) -> Markup {
    html! {
        li {
            span {
                a href={ "/stall/sale/" (sale.id) } { "Sale " (sale.id) }
                br; span.soft.small { (what_of(workshop, sale)) }
            }
            @if sale.voided.is_some() { span.soft { "taken back" } }
            @else { span { (fig(sale.paid().to_string())) span.soft { " " (sale.payment.word()) } } }
        }
    }
}

/// What a sale was of: `2 Harbour Fig bar, 1 Tin Roof Mint bar`.
pub(crate) fn what_of(workshop: &Workshop, sale: &Sale) -> String {
    let lines = sale.lines.iter().filter_map(|line| {
        let product = line.units.first()?.product;
        let count: u32 = line.units.iter().map(|units| units.count).sum();
        Some(format!("{count} {}", name_of(workshop, product)))
    });
    lines.collect::<Vec<_>>().join(", ")
}

async fn sold(
    State(site): State<Site>,
    At(id): At<MarketDayId>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| sold_page(app, id, &Filled::new(pairs), &Problems::default()))
        .await
}

async fn write_sale(
    State(site): State<Site>,
    At(id): At<MarketDayId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| stall::sell(app, WHO, Some(id), filled),
        move |_, _| Ok(format!("/stall/day/{id}/sold")),
        move |app, filled, problems| sold_page(app, id, filled, problems),
    )
    .await
}

fn sold_page(
    app: &App,
    id: MarketDayId,
    typed: &Filled,
    problems: &Problems,
) -> Result<Page, Fault> {
    app.look(|workshop| {
        let day = workshop
            .trade()
            .market_day(id)
            .ok_or(Fault::Nothing("market day"))?;
        let account = day_account(workshop, day);
        let taken: Vec<DayGood> = account.map(|it| it.goods).unwrap_or_default();
        let title = format!("What was sold at {}?", day.market);
        let chosen = if typed.has("payment") { typed.get("payment") } else { "cash" };
        Ok(Page {
            title: title.clone(),
            place: Place::Stall,
            back: Some((format!("/stall/day/{id}"), day.market.clone())),
            body: html! {
                (parts::question(&title))
                (parts::problems(problems))
                @if day.counted.is_some() {
                    p.doubt { "The day is counted back: only what the count found missing can still be written down as sold." }
                }
                @if taken.is_empty() {
                    (parts::empty("Nothing is written down as taken to it.", &format!("/stall/day/{id}"), "Write down what you took"))
                } @else {
                    form.sheet method="post" action={ "/stall/day/" (id) "/sold" } {
                        (once::field())
                        div.fields.tight {
                            @for good in &taken {
                                @let field = format!("sold[{}]", good.product);
                                @let hint = match good.price { Some(price) => format!("{price}; {} left", good.left), None => format!("no price; {} left", good.left) };
                                (Field::text(&field, name_of(workshop, good.product), typed.get(&field)).keys("numeric").hint(&hint).draw(problems))
                            }
                        }
                        div.fields {
                            (parts::select("payment", "Paid", chosen, &PAYMENTS.iter().filter(|(word, _)| ["cash", "card", "transfer", "unknown"].contains(word)).map(|(word, payment)| ((*word).to_owned(), payment.word().to_owned())).collect::<Vec<_>>(), "", problems))
                            (Field::text("paid", "In all", typed.get("paid")).keys("decimal").hint("empty for what the prices and bundles say").draw(problems))
                        }
                        p.next { button.do type="submit" { "Write it down" } }
                    }
                }
                @let last = day.sales.iter().rev().take(8).filter_map(|id| workshop.trade().sale(*id)).collect::<Vec<_>>();
                @if !last.is_empty() {
                    h2 { "The last ones" }
                    ul.rows { @for sale in last { (sale_row(workshop, sale)) } }
                }
            },
        })
    })?
}

async fn sale(
    State(site): State<Site>,
    At(id): At<SaleId>,
    Query(pairs): Query<Pairs>,
) -> Response {
    site.run(move |app| sale_page(app, id, &Filled::new(pairs), &Problems::default()))
        .await
}

async fn void(State(site): State<Site>, At(id): At<SaleId>, Form(pairs): Form<Pairs>) -> Response {
    site.post(
        pairs,
        move |app, filled| stall::void_sale(app, WHO, id, filled),
        move |_, _| Ok(format!("/stall/sale/{id}")),
        move |app, filled, problems| sale_page(app, id, filled, problems),
    )
    .await
}

async fn give_back(
    State(site): State<Site>,
    At(id): At<SaleId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| stall::return_goods(app, WHO, id, filled),
        move |_, _| Ok(format!("/stall/sale/{id}")),
        move |app, filled, problems| sale_page(app, id, filled, problems),
    )
    .await
}

fn sale_page(app: &App, id: SaleId, typed: &Filled, problems: &Problems) -> Result<Page, Fault> {
    app.look(|workshop| {
        let sale = workshop.trade().sale(id).ok_or(Fault::Nothing("sale"))?;
        let day = sale.market_day.and_then(|id| workshop.trade().market_day(id));
        let back = day.map_or_else(
            || ("/stall".to_owned(), "Stall".to_owned()),
            |day| (format!("/stall/day/{}", day.id), day.market.clone()),
        );
        let fees = workshop::selling::fees_of(workshop, sale);
        let title = format!("What was sale {id}?");
        Ok(Page {
            title: title.clone(),
            place: Place::Stall,
            back: Some(back),
            body: html! {
                (parts::question(&title))
                @if let Some(reason) = &sale.voided {
                    (parts::answer_words("It never was.", &format!("Taken back: {reason}.")))
                } @else {
                    (parts::answer(&sale.paid().to_string(), sale.payment.word(), &format!("{}; {} of tax in it; fees {}.", parts::day(sale.day), sale.tax, fees)))
                }
                (parts::problems(problems))
                table.stack {
                    thead { tr { th { "Good" } th { "Lot" } th.n { "Units" } th.n { "Paid" } } }
                    tbody {
                        @for line in &sale.lines {
                            @for (nth, units) in line.units.iter().enumerate() {
                                tr {
                                    td { (name_of(workshop, units.product)) }
                                    td data-label="Lot" { @if let Some(lot) = units.lot { a href={ "/rack/" (lot) } { (lot_of(workshop, *units)) } } @else { span.soft { "unknown" } } }
                                    td.n data-label="Units" { (units.count) }
                                    td.n data-label="Paid" { @if nth == 0 { (fig(line.paid.to_string())) } @else { span.soft { "in the line above" } } }
                                }
                            }
                        }
                    }
                }
                @for came in &sale.returns {
                    p { (parts::day(came.day)) ": " (came.units.iter().map(|units| units.count).sum::<u32>()) " came back, " (fig(came.refund.to_string())) " given back. " span.soft { (came.reason) } }
                }
                @if sale.voided.is_none() {
                    @let is_return = ["refund", "to"].iter().any(|field| problems.of(field).is_some()) || problems.iter().any(|problem| problem.field.starts_with("units"));
                    details.no-paper open[problems.of("reason").is_some() && !typed.has("to")] {
                        summary { "It never was" }
                        form.sheet method="post" action={ "/stall/sale/" (id) "/void" } {
                            (Field::text("reason", "Why", if typed.has("to") { "" } else { typed.get("reason") }).hint("rung up twice").draw(problems))
                            p.next { button type="submit" { "Take it back" } }
                        }
                    }
                    details.no-paper open[is_return || typed.has("to")] {
                        summary { "Something came back" }
                        form.sheet method="post" action={ "/stall/sale/" (id) "/return" } {
                            (once::field())
                            div.fields.tight {
                                @for product in goods_in(sale) {
                                    @let field = format!("units[{product}]");
                                    (Field::text(&field, name_of(workshop, product), typed.get(&field)).keys("numeric").draw(problems))
                                }
                            }
                            div.fields {
                                (Field::text("refund", "Money given back", typed.get("refund")).keys("decimal").hint("empty for none").draw(problems))
                                (parts::select("to", "The goods went", typed.get("to"), &[
                                    (RETURNS[0].0.to_owned(), "back on the rack".to_owned()),
                                    (RETURNS[1].0.to_owned(), "in the bin".to_owned()),
                                    (RETURNS[2].0.to_owned(), "nowhere, the buyer kept them".to_owned()),
                                ], "", problems))
                                div.field.wrong[problems.of("reason").is_some()] {
                                    label for="f-return-reason" { "Why" }
                                    input type="text" id="f-return-reason" name="reason" autocomplete="off" value=(if typed.has("to") { typed.get("reason") } else { "" });
                                    span.hint { "dented, wrong scent" }
                                }
                            }
                            p.next { button type="submit" { "Write it down" } }
                        }
                    }
                }
            },
        })
    })?
}

fn goods_in(sale: &Sale) -> Vec<ProductId> {
    let mut goods: Vec<ProductId> = sale.left().iter().map(|units| units.product).collect();
    goods.dedup();
    goods
}

/// How a lot is named in a list of goods.
pub(crate) fn item_words(workshop: &Workshop, item: Item) -> String {
    match item {
        Item::Lot(lot, grade) => {
            let code = workshop.pour(lot).map_or("?", |pour| pour.lot.as_str());
            match grade {
                Grade::Good => format!("lot {code}"),
                Grade::Second => format!("lot {code}, seconds"),
            }
        }
        Item::Unknown(_) => "lot unknown".to_owned(),
    }
}
