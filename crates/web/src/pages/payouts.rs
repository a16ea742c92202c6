//! Payouts: what a channel paid out, and the sales it paid for.

use std::collections::BTreeSet;

use app::App;
use app::forms::{Filled, example};
use app::reading_in::payouts;
use axum::Router;
use axum::extract::{Form, State};
use axum::response::Response;
use axum::routing::get;
use maud::{Markup, html};
use measure::{Money, Problems};
use workshop::facts::{PayoutId, SaleId};
use workshop::payouts::{PayoutGuess, guess_payout, net_of};
use workshop::selling::fees_of;
use workshop::{Payout, Workshop};

use crate::layout::{Page, Place};
use crate::once;
use crate::pages::{Pairs, reading};
use crate::parts::{self, Field, fig};
use crate::site::{At, Fault, Site, WHO};

const PATH: &str = "/books/payouts";
/// Payouts on the page, latest first.
const LISTED: usize = 100;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route(PATH, get(all).post(note))
        .route("/books/payouts/{id}", get(one).post(settle))
}

async fn all(State(site): State<Site>) -> Response {
    site.run(|app| all_page(app, &Filled::default(), &Problems::default()))
        .await
}

async fn note(State(site): State<Site>, Form(pairs): Form<Pairs>) -> Response {
    site.post(
        pairs,
        |app, filled| payouts::note(app, WHO, filled),
        |app, _| {
            let last =
                app.look(|workshop| workshop.trade().payouts().next_back().map(|it| it.id))?;
            Ok(last.map_or_else(|| PATH.to_owned(), |id| format!("{PATH}/{id}")))
        },
        all_page,
    )
    .await
}

fn channel_name(workshop: &Workshop, payout: &Payout) -> String {
    let channel = workshop.trade().channel(payout.channel);
    channel.map_or_else(String::new, |channel| channel.name.clone())
}

fn all_page(app: &App, filled: &Filled, problems: &Problems) -> Result<Page, Fault> {
    let today = app.today();
    Ok(app.look(|workshop| {
        let title = "Which sales did a payout pay for?";
        let trade = workshop.trade();
        let open: Vec<&Payout> = trade
            .payouts()
            .filter(|payout| payout.matched.is_none())
            .collect();
        let channels: Vec<(String, String)> = trade
            .channels()
            .filter(|channel| !channel.closed)
            .map(|channel| (channel.id.to_string(), channel.name.clone()))
            .collect();
        Page {
            title: title.to_owned(),
            place: Place::Books,
            back: Some(("/books".to_owned(), "Books".to_owned())),
            body: html! {
                (parts::question(title))
                @match (trade.payouts().next(), open.as_slice()) {
                    (None, _) => { p.empty { "What a channel or a bank paid out for sales belongs here, beside the sales it paid for. Nothing was paid out yet." } }
                    (Some(_), []) => { (parts::answer_words("Every payout is matched.", "")) }
                    (Some(_), open) => {
                        (parts::answer_words(&match open.len() {
                            1 => "1 payout waits to be matched.".to_owned(),
                            n => format!("{n} payouts wait to be matched."),
                        }, ""))
                        p.next { a.button.do href={ (PATH) "/" (open[0].id) } { "Match " (open[0].amount) " of " (parts::day(open[0].day)) } }
                    }
                }
                (parts::problems(problems))
                @if channels.is_empty() {
                    p.next { a.button.quiet href="/stall/channel/new" { "Open a channel" } }
                } @else {
                    h2 { "Write one down" }
                    form.sheet method="post" action=(PATH) {
                        (once::field())
                        div.fields {
                            (parts::past_day("came_on", "Came in on", filled.get("came_on"), today, problems))
                            (parts::select("channel", "From", filled.get("channel"), &channels, "", problems))
                            (Field::text("amount", "Came in", filled.get("amount")).keys("decimal").hint(&example(workshop, "such as 118.40")).needed().draw(problems))
                            (Field::text("reference", "Its number", filled.get("reference")).hint("as the statement gives it; may be empty").draw(problems))
                        }
                        p.next {
                            button.quiet type="submit" { "Write it down" }
                            a.button.quiet href=(reading::PATH) { "Read a statement in" }
                        }
                    }
                }
                (list(workshop))
            },
        }
    })?)
}

fn list(workshop: &Workshop) -> Markup {
    let mut all: Vec<&Payout> = workshop.trade().payouts().collect();
    all.sort_by_key(|payout| std::cmp::Reverse((payout.day, payout.id)));
    html! {
        @if !all.is_empty() {
            h2 { "All of them" }
            table.stack {
                thead { tr { th { "Day" } th { "From" } th { "Number" } th.n { "Came in" } th { "Pays for" } } }
                tbody {
                    @for payout in all.iter().take(LISTED) {
                        tr {
                            td { a href={ (PATH) "/" (payout.id) } { (parts::day(payout.day)) } }
                            td data-label="From" { (channel_name(workshop, payout)) }
                            td data-label="Number" { (payout.reference) }
                            td.n data-label="Came in" { (fig(payout.amount.to_string())) }
                            td data-label="Pays for" {
                                @match &payout.matched {
                                    None => (parts::verdict("unproven", "not matched")),
                                    Some((sales, _)) => (sales_words(sales.len())),
                                }
                            }
                        }
                    }
                }
            }
            @if all.len() > LISTED { p.soft { "And " (all.len() - LISTED) " older ones." } }
        }
    }
}

fn sales_words(n: usize) -> String {
    match n {
        1 => "1 sale".to_owned(),
        n => format!("{n} sales"),
    }
}

async fn one(State(site): State<Site>, At(id): At<PayoutId>) -> Response {
    site.run(move |app| one_page(app, id, None, &Problems::default()))
        .await
}

async fn settle(
    State(site): State<Site>,
    At(id): At<PayoutId>,
    Form(pairs): Form<Pairs>,
) -> Response {
    site.post(
        pairs,
        move |app, filled| payouts::settle(app, WHO, id, filled),
        move |_, _| Ok(format!("{PATH}/{id}")),
        move |app, filled, problems| one_page(app, id, Some(filled), problems),
    )
    .await
}

fn one_page(
    app: &App,
    id: PayoutId,
    filled: Option<&Filled>,
    problems: &Problems,
) -> Result<Page, Fault> {
    app.look(|workshop| {
        let payout = workshop
            .trade()
            .payout(id)
            .ok_or(Fault::Nothing("payout"))?;
        let guess = guess_payout(workshop, payout);
        let title = format!(
            "{} from {}: for which sales?",
            payout.amount,
            channel_name(workshop, payout)
        );
        Ok(Page {
            title: title.clone(),
            place: Place::Books,
            back: Some((PATH.to_owned(), "Payouts".to_owned())),
            body: html! {
                (parts::question(&title))
                (answer(payout, &guess))
                (parts::problems(problems))
                (choice(workshop, payout, &guess, filled, problems))
            },
        })
    })?
}

fn answer(payout: &Payout, guess: &PayoutGuess) -> Markup {
    let came = format!(
        "It came in on {}{}.",
        parts::day(payout.day),
        if payout.reference.is_empty() {
            String::new()
        } else {
            format!(", number {}", payout.reference)
        }
    );
    let by = Money::from_minor(
        guess.difference.minor().saturating_abs(),
        guess.difference.currency(),
    );
    let words = match (guess.sales.len(), guess.difference.minor()) {
        (0, _) if payout.matched.is_some() => "It pays for no sale.".to_owned(),
        (0, _) => "No sale stands open that it could pay for.".to_owned(),
        (n, 0) => format!("Exactly {}.", sales_words(n)),
        (1, less) if less < 0 => format!("1 sale comes to {by} more than it."),
        (n, less) if less < 0 => format!("{} come to {by} more than it.", sales_words(n)),
        (1, _) => format!("1 sale comes to {by} less than it."),
        (n, _) => format!("{} come to {by} less than it.", sales_words(n)),
    };
    let matched = match &payout.matched {
        Some((_, note)) if note.is_empty() => " You said so.".to_owned(),
        Some((_, note)) => format!(" You said so: {note}."),
        None => String::new(),
    };
    let many = if guess.is_one_of_many {
        " Other sales come to the same, so look at them."
    } else {
        ""
    };
    html! { (parts::answer_words(&words, &format!("{came}{matched}{many}"))) }
}

fn choice(
    workshop: &Workshop,
    payout: &Payout,
    guess: &PayoutGuess,
    filled: Option<&Filled>,
    problems: &Problems,
) -> Markup {
    let trade = workshop.trade();
    let ticked: BTreeSet<SaleId> = match filled {
        Some(filled) => filled
            .pairs()
            .iter()
            .filter(|(name, _)| name == "sale")
            .filter_map(|(_, text)| text.parse().ok())
            .collect(),
        None => guess.sales.iter().copied().collect(),
    };
    let said = payout
        .matched
        .as_ref()
        .map_or("", |(_, note)| note.as_str());
    let note = filled.map_or(said, |filled| filled.get("note"));
    html! {
        @if !guess.sales.is_empty() {
            dl.facts {
                dt { "Buyers paid" } dd { (fig(guess.paid.to_string())) }
                dt { "The channel kept" } dd { (fig(guess.fees.to_string())) }
                dt { "Leaves" } dd { (fig(guess.net.to_string())) }
                dt { "The payout less that" } dd { (fig(guess.difference.to_string())) }
            }
        }
        form.sheet method="post" action={ (PATH) "/" (payout.id) } {
            @if guess.could.is_empty() {
                p.empty { "Sales through this channel up to that day, paid through it or by card, belong here. There is none that no other payout pays for." }
            } @else {
                fieldset id="f-sales" {
                    legend { "It pays for" }
                    @if let Some(problem) = problems.of("sales") { p.problem { (parts::capital(&problem.wrong)) "; " (problem.accepted) "." } }
                    @for sale in guess.could.iter().filter_map(|id| trade.sale(*id)) {
                        label.choice for={ "f-sale-" (sale.id) } {
                            input type="checkbox" id={ "f-sale-" (sale.id) } name="sale" value=(sale.id) checked[ticked.contains(&sale.id)];
                            span {
                                (parts::day(sale.day)) ": " (fig(sale.paid().to_string())) " less " (fig(fees_of(workshop, sale).to_string()))
                                " leaves " (fig(net_of(workshop, sale).to_string()))
                            }
                        }
                    }
                }
            }
            (Field::text("note", "What explains a difference", note).hint("such as: the monthly fee was taken off; it counts as a fee of the channel; empty where there is none").draw(problems))
            p.next { button.do type="submit" { "It pays for these" } }
        }
    }
}
