//! Whether a lot may go somewhere under the labels printed for it.

use jiff::civil::Date;

use crate::facts::{DestinationId, HOME, LabelPart};
use crate::label::{LabelState, label_case_for};
use crate::state::{LotVerdict, Pour, Workshop};

/// How many units of a lot may go to a destination, and why not more.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Passage {
    /// Units fit for sale, the cheaper ones among them.
    pub units: u32,
    /// As many may go.
    pub may_go: u32,
    /// Why not all of them, each in plain words.
    pub why: Vec<String>,
}

/// What a destination is called.
pub fn destination_name(workshop: &Workshop, id: DestinationId) -> String {
    if let Some(details) = workshop.destination(id) {
        return details.name.clone();
    }
    let markets: Vec<_> = workshop
        .label_settings()
        .map(|settings| {
            settings
                .markets
                .iter()
                .map(|market| market.word())
                .collect()
        })
        .unwrap_or_default();
    if id == HOME && !markets.is_empty() {
        markets.join(", ")
    } else {
        "where the goods are sold".to_owned()
    }
}

/// Looks whether a lot may go to a destination on `day`: it is fit for sale,
/// the label was marked ready for there and still fits, rests on what the lot
/// was poured by, and as many labels of that version were printed with the
/// lot's code. Whether they are on the goods, nobody here can see.
pub fn may_go(workshop: &Workshop, pour: &Pour, destination: DestinationId, day: Date) -> Passage {
    let units = pour
        .finished
        .as_ref()
        .map_or(0, |lot| lot.good.saturating_add(lot.seconds));
    let mut why = Vec::new();
    match workshop.verdict(pour, day) {
        None => why.push("the pour is not finished".to_owned()),
        Some(LotVerdict::Hold(reason)) => why.push(format!("it is held: {reason}")),
        Some(LotVerdict::Curing(ready)) => {
            why.push(format!("it cures until {}", ready.strftime("%-d %b %Y")));
        }
        Some(LotVerdict::Ready(_)) => {}
    }
    let Some(product) = pour.product else {
        why.push("it is no good yet, so it has no label".to_owned());
        return Passage {
            units,
            may_go: 0,
            why,
        };
    };
    let case = label_case_for(workshop, product, destination, day);
    match case.as_ref().map(crate::label::LabelCase::state) {
        Some(LabelState::Ready | LabelState::NotAsked) => {}
        Some(LabelState::Renew) => {
            let renewals = case.as_ref().and_then(|case| case.renewals.first());
            let because = renewals.map_or_else(String::new, |found| found.words(workshop));
            why.push(format!("its label no longer fits: {because}"));
        }
        Some(LabelState::Open | LabelState::NotReady) => {
            why.push("its label is not marked ready".to_owned());
        }
        None => why.push("there is no such destination".to_owned()),
    }
    let rests_on = case.as_ref().and_then(|case| case.label);
    if let Some(label) = rests_on.filter(|label| label.ground.revision != pour.revision) {
        why.push(format!(
            "it was poured by revision {} of its formula, and the label rests on revision {}",
            pour.revision, label.ground.revision
        ));
    }
    let version = workshop.label_version(product, destination);
    let count = |wanted: &dyn Fn(&crate::state::Printed) -> bool| {
        let printed = workshop.printed(product).iter();
        printed
            .filter(|printed| wanted(printed))
            .map(|printed| printed.count)
            .fold(0, u32::saturating_add)
    };
    let coded =
        |one: &crate::state::Printed| one.lot == Some(pour.id) && one.part != LabelPart::Front;
    let fits =
        |one: &crate::state::Printed| one.destination == destination && one.version == version;
    let whole = count(&|one| coded(one) && fits(one) && one.part == LabelPart::Whole);
    let backs = count(&|one| coded(one) && fits(one) && one.part == LabelPart::Back);
    // A front carries no lot code, so it is anybody's.
    let fronts = count(&|one| fits(one) && one.part == LabelPart::Front);
    let now = whole.saturating_add(backs.min(fronts));
    let older =
        count(&|one| coded(one) && one.destination == destination && one.version != version);
    let elsewhere = count(&|one| coded(one) && one.destination != destination);
    if now < units {
        let mut words = match now {
            0 => "no label for there was printed with the lot's code".to_owned(),
            1 => "only 1 label for there was printed with the lot's code".to_owned(),
            n => format!("only {n} labels for there were printed with the lot's code"),
        };
        for (n, what) in [
            (backs.saturating_sub(fronts), "backs without a front"),
            (older, "of an older version"),
            (elsewhere, "printed for elsewhere"),
        ] {
            if n > 0 {
                words = format!("{words}; {n} {what} do not count");
            }
        }
        why.push(words);
    }
    // Too few labels let as many go as there are; everything else stops all.
    let stops = why.len() > usize::from(now < units);
    Passage {
        units,
        may_go: if stops { 0 } else { now.min(units) },
        why,
    }
}
