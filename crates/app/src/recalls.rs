//! Who has a lot, in words; and recalls and drills.

use measure::{Checker, Problem, Problems, Unclear, figure};
use workshop::facts::{
    BuyerId, ChannelId, ChannelKind, Fact, Lost, MarketDayId, OrderId, Place, PourId, RecallId,
    ReceiptId, SupplyLot, Suspect, Told,
};
use workshop::trace::{Called, Holder, Loose, Trace, called, parts_of, receipt_of, trace};
use workshop::{Recall, Refusal, Workshop, decide};

use crate::forms::Filled;
use crate::people::Everyone;
use crate::{ActError, App, Done, OpenError};

fn market_day_name(workshop: &Workshop, id: MarketDayId) -> String {
    match workshop.trade().market_day(id) {
        Some(day) => format!("{}, {}", day.market, short(day.on)),
        None => format!("market day {id}"),
    }
}

fn channel_name(workshop: &Workshop, id: ChannelId) -> String {
    let channel = workshop.trade().channel(id);
    channel.map_or_else(
        || format!("channel {id}"),
        |channel| match channel.kind {
            ChannelKind::Web => format!("Customers of {}", channel.name),
            _ => format!("Without a name, through {}", channel.name),
        },
    )
}

fn order_name(people: &Everyone, workshop: &Workshop, id: OrderId) -> String {
    let buyer = workshop.trade().order(id).map(|order| order.buyer);
    match buyer {
        Some(buyer) => format!("Packed for order {id}, {}", people.name(workshop, buyer)),
        None => format!("Packed for order {id}"),
    }
}

fn short(day: jiff::civil::Date) -> String {
    day.strftime("%-d %b %Y").to_string()
}

/// Who or what has units, in words.
pub fn holder_name(people: &Everyone, workshop: &Workshop, holder: Holder) -> String {
    match holder {
        Holder::Here(Place::Rack) => "On the rack".to_owned(),
        Holder::Here(Place::Stall(day)) => {
            format!("Taken to {}", market_day_name(workshop, day))
        }
        Holder::Here(Place::Packed(order)) => order_name(people, workshop, order),
        Holder::Here(Place::Shop(buyer)) | Holder::Shop(buyer) => {
            format!("{}, not yet sold", people.name(workshop, buyer))
        }
        Holder::Buyer(buyer) => people.name(workshop, buyer),
        Holder::MarketDay(day) => format!("Sold at {}", market_day_name(workshop, day)),
        Holder::Channel(channel) => channel_name(workshop, channel),
        Holder::Gone(Lost::Given) => "Given away".to_owned(),
        Holder::Gone(Lost::Tested) => "Used up in a test".to_owned(),
        Holder::Gone(Lost::Spoilt) => "Spoilt and thrown away".to_owned(),
        Holder::Gone(Lost::Missing) => "Missing when counted".to_owned(),
    }
}

/// Whom a recall speaks to, in words.
pub fn told_name(people: &Everyone, workshop: &Workshop, told: Told) -> String {
    match told {
        Told::Buyer(buyer) => people.name(workshop, buyer),
        Told::MarketDay(day) => format!("Buyers at {}", market_day_name(workshop, day)),
        Told::Channel(channel) => channel_name(workshop, channel),
    }
}

/// What a recall is about, in words: a lot with its good, or a supply with its
/// delivery.
pub fn suspect_name(workshop: &Workshop, suspect: Suspect) -> String {
    match suspect {
        Suspect::Lot(id) => match workshop.pour(id) {
            Some(pour) => format!("lot {} of {}", pour.lot, good_of(workshop, pour)),
            None => format!("lot {id}"),
        },
        Suspect::SupplyLot(lot) => supply_lot_name(workshop, lot),
    }
}

fn good_of(workshop: &Workshop, pour: &workshop::Pour) -> String {
    crate::paper::what_of(workshop, pour)
}

/// A supply lot in words: what, of which delivery, and the supplier's number.
pub fn supply_lot_name(workshop: &Workshop, lot: SupplyLot) -> String {
    let Some((receipt, line)) = receipt_of(workshop, lot) else {
        return format!("line {} of delivery {}", lot.line, lot.receipt);
    };
    let supply = workshop.supply(line.supply);
    let supply = supply.map_or("a supply", |supply| supply.name.as_str());
    let number = match line.supplier_lot.as_str() {
        "" => String::new(),
        number => format!(", supplier lot {number}"),
    };
    format!("{supply} of {}{number}", short(receipt.day))
}

/// A share in words, to a tenth of a percent; nothing of nothing is all of it.
pub fn share(part: i64, whole: i64) -> String {
    if whole <= 0 {
        return "100 %".to_owned();
    }
    format!("{} %", figure(part as f64 * 100.0 / whole as f64, 1))
}

/// A time in words: `48 s`, `3 min 5 s`, `2 h 4 min`.
pub fn took(seconds: u32) -> String {
    match (seconds / 3_600, seconds / 60 % 60, seconds % 60) {
        (0, 0, s) => format!("{s} s"),
        (0, min, s) => format!("{min} min {s} s"),
        (h, min, _) => format!("{h} h {min} min"),
    }
}

/// How far a recall has come; for one that was ended, how far it had come then.
#[derive(Debug, Clone, PartialEq)]
pub struct Progress {
    /// Who has it now, or had it as it was ended.
    pub traced: Trace,
    /// Units found again with those who were told.
    pub back: i64,
    /// Units that were out when it was begun, or went out since; those of no
    /// known lot where they were found.
    pub out: i64,
    /// Whom it speaks to, those with the most first.
    pub calls: Vec<Called>,
    /// How many were told.
    pub told: usize,
    /// How many there are to tell.
    pub to_tell: usize,
}

/// How far a recall has come; none where its lot is not there.
pub fn progress(workshop: &Workshop, recall: &Recall) -> Option<Progress> {
    let (traced, calls) = if let Some(end) = &recall.at_end {
        (end.traced.clone(), end.calls.clone())
    } else {
        let traced = trace(workshop, recall.suspect)?;
        let calls = called(workshop, recall, &traced);
        (traced, calls)
    };
    let back = recall.answers.values().map(|(_, back, _)| i64::from(*back));
    let told = calls
        .iter()
        .filter(|one| recall.answers.contains_key(&one.call.told));
    let out = calls.iter().map(|one| {
        let answer = recall.answers.get(&one.call.told);
        one.out
            .max(answer.map_or(0, |(_, back, _)| i64::from(*back)))
    });
    Some(Progress {
        back: back.sum(),
        out: out.sum(),
        told: told.count(),
        to_tell: calls.len(),
        calls,
        traced,
    })
}

/// The lot or the supply lot that a form names: `lot` with its number, or
/// `delivery` and `line`.
///
/// # Errors
///
/// A problem where it names neither.
pub fn suspect_of(filled: &Filled) -> Result<Suspect, Problems> {
    let mut check = Checker::default();
    let number = |text: &str| {
        text.parse::<u32>().map_err(|_| {
            Unclear::new(
                text,
                "it is not a number",
                "open it from the rack or the shelf",
            )
        })
    };
    let suspect = if let Some(lot) = filled.some("lot") {
        let lot = check.required("lot", Some(lot), number);
        lot.map(|lot| Suspect::Lot(PourId(lot)))
    } else {
        let receipt = check.required("delivery", filled.some("delivery"), number);
        let line = check.required("line", filled.some("line"), number);
        receipt.zip(line).map(|(receipt, line)| {
            Suspect::SupplyLot(SupplyLot {
                receipt: ReceiptId(receipt),
                line,
            })
        })
    };
    suspect.ok_or_else(|| check.into_problems())
}

/// The pairs by which a form or an address names a suspect.
pub fn suspect_pairs(suspect: Suspect) -> Vec<(&'static str, String)> {
    match suspect {
        Suspect::Lot(lot) => vec![("lot", lot.to_string())],
        Suspect::SupplyLot(lot) => vec![
            ("delivery", lot.receipt.to_string()),
            ("line", lot.line.to_string()),
        ],
    }
}

/// Begins a recall or a drill; the clock runs from here.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn begin(app: &App, who: &str, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let suspect = suspect_of(filled)?;
        let drill = match filled.get("kind") {
            "drill" => true,
            "recall" => false,
            other => {
                return Err(Problem::new(
                    "kind",
                    other,
                    "whether it is a drill is missing",
                    "choose a drill or a recall in earnest",
                )
                .into());
            }
        };
        decide::begin_recall(workshop, suspect, drill, filled.get("reason"))
    })
}

/// Seconds since a recall was begun, by the journal; none where there is no
/// such recall.
///
/// # Errors
///
/// [`OpenError`] when the journal cannot be read.
pub fn running(app: &App, id: RecallId) -> Result<Option<u32>, OpenError> {
    // The instant comes first: reading the journal is not part of what is timed.
    let now = app.now();
    let begun =
        app.written(|fact| matches!(fact, Fact::RecallBegun(begun) if begun.recall == id))?;
    Ok(begun.first().map(|begun| {
        let seconds = now.duration_since(begun.at).as_secs();
        u32::try_from(seconds.max(0)).unwrap_or(u32::MAX)
    }))
}

/// Stops the clock: every holder is known.
///
/// # Errors
///
/// [`ActError`] where there is no such recall, or it was ended.
pub fn list(app: &App, who: &str, id: RecallId) -> Result<Done, ActError> {
    let seconds = running(app, id)?.unwrap_or(0);
    app.act(who, |workshop, _| {
        decide::list_recall(workshop, id, seconds)
    })
}

/// How a form names whom a recall speaks to.
pub fn told_key(told: Told) -> String {
    match told {
        Told::Buyer(id) => format!("buyer-{id}"),
        Told::MarketDay(id) => format!("day-{id}"),
        Told::Channel(id) => format!("channel-{id}"),
    }
}

fn told_of(key: &str) -> Option<Told> {
    let (kind, id) = key.split_once('-')?;
    let id = id.parse().ok()?;
    match kind {
        "buyer" => Some(Told::Buyer(BuyerId(id))),
        "day" => Some(Told::MarketDay(MarketDayId(id))),
        "channel" => Some(Told::Channel(ChannelId(id))),
        _ => None,
    }
}

/// Whom a field says to have been told: the tick says it, and so does anything
/// typed into the boxes beside it.
fn told_in<'a>(name: &'a str, value: &str) -> Option<&'a str> {
    let (field, key) = name.strip_suffix(']')?.split_once('[')?;
    match field {
        "told" => Some(key),
        "back" | "note" if !value.trim().is_empty() => Some(key),
        _ => None,
    }
}

/// Writes down who was told: `told[KEY]` is ticked, `back[KEY]` says how many
/// units were found there (none where it is empty), `note[KEY]` anything else.
/// Where one of these is typed and the tick is missing, they were told.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot stand.
pub fn answer(app: &App, who: &str, id: RecallId, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut check = Checker::default();
        let mut answers = Vec::new();
        let mut keys = Vec::new();
        for (name, value) in filled.pairs() {
            let Some((key, told)) = told_in(name, value).and_then(|key| Some((key, told_of(key)?)))
            else {
                continue;
            };
            if keys.contains(&key) {
                continue;
            }
            let field = format!("back[{key}]");
            let back = check.optional(&field, filled.some(&field), |text| {
                text.parse::<u32>().map_err(|_| {
                    Unclear::new(
                        text,
                        "it is not a whole number",
                        "write how many were found there, or leave it empty",
                    )
                })
            });
            keys.push(key);
            answers.push(decide::Answer {
                told,
                back: back.unwrap_or(0),
                note: filled.get(&format!("note[{key}]")),
            });
        }
        check.finish()?;
        if answers.is_empty() {
            return Err(Problem::new(
                "",
                "",
                "nobody is ticked",
                "tick those who were told, and write down again",
            )
            .into());
        }
        decide::answer_recall(workshop, id, &answers).map_err(|refusal| match refusal {
            Refusal::Input(mut problems) => {
                // The decision numbers the answers; the form names them.
                for problem in &mut problems.0 {
                    for (nth, key) in keys.iter().enumerate() {
                        let number = format!("[{nth}]");
                        if let Some(stem) = problem.field.strip_suffix(&number) {
                            problem.field = format!("{stem}[{key}]");
                            break;
                        }
                    }
                }
                Refusal::Input(problems)
            }
            other => other,
        })
    })
}

/// Ends a recall or a drill, and writes down what the trace finds now.
///
/// # Errors
///
/// [`ActError`] where there is no such recall, or it was ended.
pub fn end(app: &App, who: &str, id: RecallId, filled: &Filled) -> Result<Done, ActError> {
    let seconds = running(app, id)?.unwrap_or(0);
    app.act(who, |workshop, _| {
        decide::end_recall(workshop, id, seconds, filled.get("note"))
    })
}

/// Where the units are, in one sentence.
pub fn sum_words(workshop: &Workshop, traced: &Trace) -> String {
    let sums = &traced.sums;
    let accounts = traced.n_accounts(workshop);
    let parts: Vec<String> = parts_of(sums)
        .into_iter()
        .map(|(words, units)| {
            if units == sums.accounts && words == "with accounts" && accounts > 0 {
                let noun = if accounts == 1 { "account" } else { "accounts" };
                format!("{units} with {accounts} {noun}")
            } else {
                format!("{units} {words}")
            }
        })
        .collect();
    match (sums.made, parts.as_slice()) {
        (0, []) => "Nothing was made of it yet.".to_owned(),
        (made, _) => format!("Of {made} made: {}.", parts.join(", ")),
    }
}

/// What nobody knows about it, a sentence each.
pub fn unknown_words(workshop: &Workshop, traced: &Trace) -> Vec<String> {
    let mut words = Vec::new();
    let resold: i64 = traced
        .holdings
        .iter()
        .filter(|holding| holding.resells && holding.units > 0)
        .map(|holding| holding.units)
        .sum();
    if resold > 0 {
        words.push(format!(
            "{resold} are with buyers that sell on: which of these were sold on, and to whom, is not known."
        ));
    }
    words.extend(
        traced
            .loose
            .iter()
            .map(|loose| loose_words(workshop, loose)),
    );
    if traced.sums.missing > 0 {
        let among: i64 = traced.loose.iter().map(|loose| loose.missing).sum();
        let known = match among.min(traced.sums.missing) {
            0 => "nobody knows where they went".to_owned(),
            n => format!(
                "up to {n} of them may be among those whose lot is not known, and nobody knows where the others went"
            ),
        };
        words.push(format!(
            "{} were not there when counted; {known}.",
            traced.sums.missing
        ));
    }
    if traced.sums.missing < 0 {
        words.push(format!(
            "{} more were counted than were made; a count or a lot is wrong.",
            -traced.sums.missing
        ));
    }
    let below: i64 = traced
        .holdings
        .iter()
        .filter(|holding| matches!(holding.holder, Holder::Here(_) | Holder::Shop(_)))
        .map(|holding| holding.units.min(0))
        .sum();
    if below < 0 {
        words.push(format!(
            "{} more left a place than came to it: count it, and the sum is put right.",
            -below
        ));
    }
    let lots = |pours: &[PourId]| -> String {
        let codes: Vec<&str> = pours
            .iter()
            .filter_map(|pour| workshop.pour(*pour))
            .map(|pour| pour.lot.as_str())
            .collect();
        codes.join(", ")
    };
    if !traced.unsure.is_empty() {
        words.push(format!(
            "More of the supply was used than any delivery brought: it may be in {} too.",
            lots(&traced.unsure)
        ));
    }
    if !traced.on_bench.is_empty() {
        words.push(format!(
            "It is also in what stands on the bench: {}.",
            lots(&traced.on_bench)
        ));
    }
    words
}

/// What went out of a good with its lot unknown, in words.
fn loose_words(workshop: &Workshop, loose: &Loose) -> String {
    let good = workshop.product(loose.product);
    let good = good.map_or("the good", |good| good.name.as_str());
    let since = short(loose.since);
    let were = |n: i64| if n == 1 { "was" } else { "were" };
    let mut parts = Vec::new();
    if loose.units > 0 {
        let n = loose.units;
        let (its, they) = if n == 1 {
            ("its", "it")
        } else {
            ("their", "they")
        };
        let when = if loose.before > 0 {
            String::new()
        } else {
            format!(" since {since}")
        };
        parts.push(format!(
            "Of {good}, {n} {} handed out with {its} lot unknown{when}: {they} may be of it.",
            were(n)
        ));
    }
    if loose.before > 0 {
        let (n, were) = (loose.before, were(loose.before));
        parts.push(format!(
            "{n} of them {were} sold before {since}, when none of it was written down as made."
        ));
    }
    if loose.here > 0 {
        parts.push(format!(
            "Of what is counted as on hand, up to {} may be among them; count what is there, and it is known.",
            loose.here
        ));
    }
    if loose.lost > 0 {
        let (n, were) = (loose.lost, were(loose.lost));
        parts.push(format!(
            "Of {good}, {n} of no known lot {were} missing when counted."
        ));
    }
    parts.join(" ")
}

/// Where and when it was sold, as a notice says it, and where what may be of it
/// was. Shops are named, people who bought for themselves are not.
pub fn sold_words(people: &Everyone, workshop: &Workshop, traced: &Trace) -> String {
    const NAMED: usize = 12;
    let mut places: Vec<String> = Vec::new();
    let loose = traced.loose.iter().flat_map(|loose| &loose.holdings);
    let all = traced.holdings.iter().chain(loose);
    for holding in all.filter(|one| one.units > 0) {
        let Some((first, last)) = holding.days else {
            continue;
        };
        let when = if first == last {
            short(first)
        } else {
            format!("{} to {}", short(first), short(last))
        };
        let place = match holding.holder {
            Holder::MarketDay(day) => market_day_name(workshop, day),
            Holder::Shop(buyer) | Holder::Buyer(buyer) if holding.resells => {
                format!("{}, from {when}", people.name(workshop, buyer))
            }
            Holder::Channel(channel) => match workshop.trade().channel(channel) {
                Some(channel) => format!("{}, {when}", channel.name),
                None => continue,
            },
            Holder::Buyer(_) => format!("by order, {when}"),
            Holder::Shop(_) | Holder::Here(_) | Holder::Gone(_) => continue,
        };
        if !places.contains(&place) && places.len() < NAMED {
            places.push(place);
        }
    }
    places.join("; ")
}

/// Words as a sentence begins.
pub fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().chain(letters).collect())
        .unwrap_or_default()
}
