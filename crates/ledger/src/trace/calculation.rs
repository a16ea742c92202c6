//! The calculation `trace`: where goods went, where they came from, and
//! whether everything made is found again.

use std::collections::{BTreeMap, BTreeSet};

use measure::{Checker, Mass, Problem, Problems, Reading, Typed, Unclear, Working};
use rust_decimal::prelude::ToPrimitive;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Number;

use super::{Balance, Direction, Index, Link, Trace};
use crate::units::{in_units, narrow, parse_units, units};

/// The name of the calculation.
pub const TRACE: &str = "trace";

/// Ways longer than this are not written out; `by` still leads back.
const LONGEST_WAY: usize = 20;
/// Names that a sentence lists before it says how many more there are.
const MOST_NAMES: usize = 10;

const ARITHMETIC: &str = "arithmetic";

/// What went from where to where.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// Where to start: `wax lot 7`, as it is named in the links.
    #[serde(default)]
    pub start: Option<String>,
    /// `forward` to where it went, `back` to where it came from, or `both`,
    /// which is meant when it is left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub direction: Option<String>,
    /// What went from one to another. Equal names are one and the same thing.
    #[serde(default)]
    pub links: Vec<LinkInput>,
    /// Units made, by name: `{"lot A": 120}`. Without it what left a maker is
    /// taken to be what was made.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub made: BTreeMap<String, MadeInput>,
}

/// A number of units, as a number or as text.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum MadeInput {
    /// As a number: `120`.
    Number(#[schemars(with = "u32")] Number),
    /// As text: `"120"`.
    Text(String),
}

impl MadeInput {
    fn text(&self) -> String {
        match self {
            Self::Number(number) => number.to_string(),
            Self::Text(text) => text.clone(),
        }
    }
}

/// Something went from one to another.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LinkInput {
    /// Where it was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<String>,
    /// Where it went.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<String>,
    /// Units, where it was counted: `12`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub units: Option<String>,
    /// What it weighed, where it was weighed: `1.2 kg`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weight: Option<String>,
    /// Whether the one it went to sells on, so that what is behind is not
    /// known here.
    #[serde(default)]
    pub resells: bool,
}

/// What was found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// Where the trace starts.
    pub start: String,
    /// Where it went; none when only the way back was asked for.
    pub forward: Option<SideOutput>,
    /// Where it came from; none when only the way forward was asked for.
    pub back: Option<SideOutput>,
    /// What it comes to, in words.
    pub verdict: String,
    /// What is not known, in words.
    pub unknown: Vec<String>,
    /// How the figures were found.
    pub working: Working,
}

/// One direction of a trace.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SideOutput {
    /// Everything reached, the start left out: nearest first, then by units.
    pub reached: Vec<ReachedOutput>,
    /// Where the trace stops, by units.
    pub ends: Vec<EndOutput>,
    /// Units at the ends; none where nothing was counted.
    pub units_at_ends: Option<String>,
    /// Units at the ends, as a number.
    pub units_at_ends_number: Option<f64>,
    /// Units made; none going back, and where nothing was counted.
    pub units_made: Option<String>,
    /// Units made, as a number.
    pub units_made_number: Option<f64>,
    /// Units of other goods that came to places on the way and cannot be told
    /// apart there, so that they are followed too; none where there are none.
    pub units_joined: Option<String>,
    /// The same as a number.
    pub units_joined_number: Option<f64>,
    /// Whether everything made, and what joined it, stands at an end; none where it cannot be
    /// said.
    pub adds_up: Option<bool>,
    /// Where on the way more came than went on, or less.
    pub unplaced: Vec<UnplacedOutput>,
}

/// Something reached.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ReachedOutput {
    /// Its name.
    pub name: String,
    /// How many steps from the start.
    pub depth: usize,
    /// The one before it on the shortest way.
    pub by: String,
    /// The shortest way from the start; empty when it is very long.
    pub way: Vec<String>,
    /// Units of the trace that came to it (going back: that it gave); none
    /// where nobody counted.
    pub units: Option<String>,
    /// The same as a number.
    pub units_number: Option<f64>,
    /// What came to it (going back: what it gave) by weight; none where
    /// nobody weighed.
    pub weight: Option<String>,
    /// The same in grams.
    pub weight_grams: Option<f64>,
}

/// Where a trace stops.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct EndOutput {
    /// Its name.
    pub name: String,
    /// Units there; none where nobody counted.
    pub units: Option<String>,
    /// Units there, as a number.
    pub units_number: Option<f64>,
    /// Whether it sells on.
    pub resells: bool,
}

/// Where on the way units are not accounted for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct UnplacedOutput {
    /// Its name.
    pub name: String,
    /// Units that came and did not go on; below zero when more went on than
    /// came.
    pub units: String,
    /// The same as a number.
    pub units_number: f64,
}

/// Answers `trace`.
///
/// # Errors
///
/// Every problem of the input, with its field.
pub fn calculate(input: &Input) -> Result<Output, Problems> {
    calculate_with(input, Reading::PLAIN)
}

/// Answers `trace` for an input typed by a workshop's own habits.
///
/// # Errors
///
/// As [`calculate`].
pub fn calculate_with(input: &Input, reading: Reading) -> Result<Output, Problems> {
    let read = read(input, reading)?;
    let index = Index::new(&read.links);
    let mut working = Working::new();
    let mut unknown = Vec::new();
    let mut said = Vec::new();
    let mut side = |direction| {
        let trace = match direction {
            Direction::Forward => index.forward(read.start),
            Direction::Back => index.back(read.start),
        };
        read.side(&trace, &mut said, &mut unknown, &mut working)
    };
    let forward = read.forward.then(|| side(Direction::Forward));
    let back = read.back.then(|| side(Direction::Back));
    Ok(Output {
        start: read.name(read.start).to_owned(),
        forward,
        back,
        verdict: said.join(" "),
        unknown,
        working,
    })
}

struct Read<'a> {
    /// Names, sorted; a key is a place here.
    names: Vec<&'a str>,
    start: usize,
    forward: bool,
    back: bool,
    links: Vec<Link<usize>>,
    /// Micrograms, beside `links`.
    weights: Vec<Option<Mass>>,
    resells: BTreeSet<usize>,
    made: BTreeMap<usize, i64>,
}

struct LinkRead<'a> {
    from: &'a str,
    to: &'a str,
    units: Option<i64>,
    weight: Option<Mass>,
    resells: bool,
}

fn name<'a>(check: &mut Checker, field: &str, text: Option<&'a str>) -> Option<&'a str> {
    let trimmed = text.unwrap_or_default().trim();
    if trimmed.is_empty() {
        check.refuse(Problem::new(
            field,
            "",
            "a name is missing",
            "write what it is called, such as wax lot 7",
        ));
        return None;
    }
    Some(trimmed)
}

fn read(input: &Input, reading: Reading) -> Result<Read<'_>, Problems> {
    let mut check = Checker::default();
    let start = name(&mut check, "start", input.start.as_deref());
    let direction = check.optional("direction", input.direction.as_deref(), |text| {
        match text.to_lowercase().as_str() {
            "forward" => Ok((true, false)),
            "back" => Ok((false, true)),
            "both" => Ok((true, true)),
            _ => Err(Unclear::new(
                text,
                "it is not a direction",
                "write forward, back or both",
            )),
        }
    });
    if input.links.is_empty() {
        check.refuse(Problem::new(
            "links",
            "",
            "nothing went from anywhere to anywhere",
            "give at least one link with from and to",
        ));
    }
    let mut links = Vec::with_capacity(input.links.len());
    for (idx, given) in input.links.iter().enumerate() {
        let at = |field: &str| format!("links[{idx}].{field}");
        let from = name(&mut check, &at("from"), given.from.as_deref());
        let to = name(&mut check, &at("to"), given.to.as_deref());
        let units = check.optional(&at("units"), given.units.as_deref(), |text| {
            parse_units(text, reading)
        });
        let weight = check.optional(&at("weight"), given.weight.as_deref(), |text| {
            let weight = Typed::<Mass>::parse_with(text, reading)?;
            Ok(weight.value())
        });
        if let (Some(from), Some(to)) = (from, to) {
            links.push(LinkRead {
                from,
                to,
                units,
                weight,
                resells: given.resells,
            });
        }
    }
    let mut made_by_name = Vec::new();
    for (maker, given) in &input.made {
        let field = format!("made.{maker}");
        // A number of JSON has a point, whatever is typed elsewhere.
        let reading = match given {
            MadeInput::Number(_) => Reading::PLAIN,
            MadeInput::Text(_) => reading,
        };
        let text = given.text();
        let units = check.required(&field, Some(&text), |text| parse_units(text, reading));
        made_by_name.extend(units.map(|units| (maker.trim(), field, units)));
    }
    let mut names: Vec<&str> = links.iter().flat_map(|link| [link.from, link.to]).collect();
    names.sort_unstable();
    names.dedup();
    let place = |name: &str| names.binary_search(&name).ok();
    let clean = check.is_clean();
    let mut made = BTreeMap::new();
    for (maker, field, units) in made_by_name {
        match place(maker) {
            Some(place) => {
                made.insert(place, units);
            }
            None if clean => check.refuse(Problem::new(
                field,
                maker,
                "no link names it",
                "write it as it is named in the links",
            )),
            None => {}
        }
    }
    let found = start.and_then(place);
    if let (Some(start), None, true) = (start, found, clean) {
        check.refuse(Problem::new(
            "start",
            start,
            "no link names it",
            "write it as it is named in the links",
        ));
    }
    check.finish()?;
    let start = found.expect("a clean check found the start");
    let (forward, back) = direction.unwrap_or((true, true));
    let resells = links.iter().filter(|link| link.resells);
    let resells = resells.filter_map(|link| place(link.to)).collect();
    let weights = links.iter().map(|link| link.weight).collect();
    let links = links
        .iter()
        .filter_map(|link| {
            Some(Link {
                from: place(link.from)?,
                to: place(link.to)?,
                quantity: link.units,
            })
        })
        .collect();
    Ok(Read {
        names,
        start,
        forward,
        back,
        links,
        weights,
        resells,
        made,
    })
}

fn number(millionths: i64) -> f64 {
    units(millionths).to_f64().unwrap_or(f64::MAX)
}

fn many(count: usize, one: &str, more: &str) -> String {
    if count == 1 {
        format!("1 {one}")
    } else {
        format!("{count} {more}")
    }
}

impl Read<'_> {
    fn name(&self, place: usize) -> &str {
        self.names.get(place).copied().unwrap_or_default()
    }

    /// Names in a sentence, not more than can be read.
    fn list(&self, places: impl IntoIterator<Item = usize>) -> String {
        let names: Vec<&str> = places.into_iter().map(|place| self.name(place)).collect();
        match names.get(..MOST_NAMES) {
            Some(first) if names.len() > MOST_NAMES => {
                let rest = names.len() - MOST_NAMES;
                format!("{} and {rest} more", first.join(", "))
            }
            _ => names.join(", "),
        }
    }

    fn side(
        &self,
        trace: &Trace<usize>,
        said: &mut Vec<String>,
        unknown: &mut Vec<String>,
        working: &mut Working,
    ) -> SideOutput {
        let weights = self.weights_of(trace);
        let reached: Vec<ReachedOutput> = trace
            .reached
            .iter()
            .filter(|each| each.depth > 0)
            .map(|each| {
                let weight = weights.get(&each.node).copied();
                ReachedOutput {
                    name: self.name(each.node).to_owned(),
                    depth: each.depth,
                    by: each
                        .by
                        .map(|by| self.name(by).to_owned())
                        .unwrap_or_default(),
                    way: self.way(each.node, each.depth, trace),
                    units: each.quantity.map(|all| units(all).to_string()),
                    units_number: each.quantity.map(number),
                    weight: weight.map(|weight| {
                        measure::in_system(weight, measure::System::Metric).to_string()
                    }),
                    weight_grams: weight.map(Mass::grams),
                }
            })
            .collect();
        let ends: Vec<EndOutput> = trace
            .ends()
            .into_iter()
            .map(|end| {
                let there = end.quantity.map(|_| end.stays());
                EndOutput {
                    name: self.name(end.node).to_owned(),
                    units: there.map(|all| units(all).to_string()),
                    units_number: there.map(number),
                    resells: self.resells.contains(&end.node),
                }
            })
            .collect();
        match trace.direction {
            Direction::Forward => self.forward_side(trace, reached, ends, said, unknown, working),
            Direction::Back => {
                let start = self.name(self.start);
                said.push(if reached.is_empty() {
                    format!("Nothing is written down about what {start} came from.")
                } else {
                    format!(
                        "{start} goes back to {}, which end in {}.",
                        many(reached.len(), "thing", "things"),
                        many(ends.len(), "beginning", "beginnings")
                    )
                });
                working.step(
                    "Back",
                    "every link to what is reached is followed to where it came from, nearest first",
                    format!("from {start} over {}", many(self.links.len(), "link", "links")),
                    format!("{} reached", reached.len()),
                    ARITHMETIC,
                );
                SideOutput {
                    reached,
                    ends,
                    units_at_ends: None,
                    units_at_ends_number: None,
                    units_made: None,
                    units_made_number: None,
                    units_joined: None,
                    units_joined_number: None,
                    adds_up: None,
                    unplaced: Vec::new(),
                }
            }
        }
    }

    /// The weight of the links to each node of the trace.
    fn weights_of(&self, trace: &Trace<usize>) -> BTreeMap<usize, Mass> {
        let mut weights: BTreeMap<usize, Mass> = BTreeMap::new();
        for (link, weight) in self.links.iter().zip(&self.weights) {
            let (Some(weight), true, true) = (
                *weight,
                trace.find(link.from).is_some(),
                trace.find(link.to).is_some(),
            ) else {
                continue;
            };
            let to = match trace.direction {
                Direction::Forward => link.to,
                Direction::Back => link.from,
            };
            let sum = weights.entry(to).or_insert(Mass::ZERO);
            *sum = sum.saturating_add(weight);
        }
        weights
    }

    fn way(&self, node: usize, depth: usize, trace: &Trace<usize>) -> Vec<String> {
        if depth > LONGEST_WAY {
            return Vec::new();
        }
        let way = trace.way(node).into_iter();
        way.map(|node| self.name(node).to_owned()).collect()
    }

    fn forward_side(
        &self,
        trace: &Trace<usize>,
        reached: Vec<ReachedOutput>,
        ends: Vec<EndOutput>,
        said: &mut Vec<String>,
        unknown: &mut Vec<String>,
        working: &mut Working,
    ) -> SideOutput {
        let start = self.name(self.start);
        let balance = trace.balance(&self.made);
        let counted = balance.made != 0 || balance.at_ends != 0;
        let joined = Some(balance.joined).filter(|joined| *joined != 0);
        working.step(
            "Forward",
            "every link from what is reached is followed to where it went, nearest first",
            format!(
                "from {start} over {}",
                many(self.links.len(), "link", "links")
            ),
            format!("{} reached, {} of them ends", reached.len(), ends.len()),
            ARITHMETIC,
        );
        if counted {
            let shown: Vec<&str> = ends
                .iter()
                .filter_map(|end| end.units.as_deref())
                .take(MOST_NAMES)
                .collect();
            let more = ends.iter().filter(|end| end.units.is_some()).count() - shown.len();
            let mut numbers = shown.join(" + ");
            if more > 0 {
                numbers = format!("{numbers} + … ({more} more)");
            }
            working.step(
                "Units at the ends",
                "sum over the ends",
                numbers,
                in_units(balance.at_ends),
                ARITHMETIC,
            );
            working.step(
                "Not found again",
                "made + joined on the way − at the ends",
                format!(
                    "{} + {} − {}",
                    units(balance.made),
                    units(balance.joined),
                    units(balance.at_ends)
                ),
                in_units(balance.difference()),
                ARITHMETIC,
            );
        }
        if reached.is_empty() {
            said.push(format!("Nothing is written down about where {start} went."));
        } else {
            self.say_forward(&balance, counted, &ends, reached.len(), said);
        }
        self.say_unknown(&balance, &ends, unknown);
        SideOutput {
            reached,
            ends,
            units_at_ends: counted.then(|| units(balance.at_ends).to_string()),
            units_at_ends_number: counted.then(|| number(balance.at_ends)),
            units_made: counted.then(|| units(balance.made).to_string()),
            units_made_number: counted.then(|| number(balance.made)),
            units_joined: joined.map(|all| units(all).to_string()),
            units_joined_number: joined.map(number),
            adds_up: counted.then(|| balance.adds_up()),
            unplaced: balance
                .unplaced
                .iter()
                .map(|(node, stays)| UnplacedOutput {
                    name: self.name(*node).to_owned(),
                    units: units(*stays).to_string(),
                    units_number: number(*stays),
                })
                .collect(),
        }
    }

    fn say_forward(
        &self,
        balance: &Balance<usize>,
        counted: bool,
        ends: &[EndOutput],
        reached: usize,
        said: &mut Vec<String>,
    ) {
        let start = self.name(self.start);
        let places = many(ends.len(), "end", "ends");
        let things = many(reached, "thing", "things");
        if !counted {
            said.push(format!(
                "{start} went into {things}, {places} among them. Units were not counted."
            ));
            return;
        }
        said.push(format!(
            "{start} went into {things}; {} stand at {places}.",
            in_units(balance.at_ends)
        ));
        let difference = balance.difference();
        let all = match balance.joined {
            0 => format!("{} made", in_units(balance.made)),
            joined => format!(
                "{} made and {} mixed in",
                in_units(balance.made),
                units(joined)
            ),
        };
        said.push(match difference {
            0 if balance.adds_up() => format!("That is all of {all}."),
            0 => format!("The total is that of {all}, but not every step agrees."),
            1.. => format!("Of {all}, {} are not found again.", units(difference)),
            ..0 => format!(
                "That is {} more than {all}.",
                units(difference.saturating_neg())
            ),
        });
    }

    fn say_unknown(&self, balance: &Balance<usize>, ends: &[EndOutput], unknown: &mut Vec<String>) {
        for (node, stays) in balance.unplaced.iter().take(MOST_NAMES) {
            let name = self.name(*node);
            unknown.push(if *stays > 0 {
                format!(
                    "{} came to {name} and it is not known where they are.",
                    in_units(*stays)
                )
            } else {
                format!(
                    "{} more went on from {name} than came to it.",
                    in_units(stays.saturating_neg())
                )
            });
        }
        if balance.unplaced.len() > MOST_NAMES {
            let rest = balance.unplaced.len() - MOST_NAMES;
            let sum: i128 = balance
                .unplaced
                .iter()
                .skip(MOST_NAMES)
                .map(|(_, stays)| i128::from(*stays))
                .sum();
            unknown.push(format!(
                "The same holds at {rest} more, {} together.",
                in_units(narrow(sum))
            ));
        }
        for (node, made, came) in balance.disagree.iter().take(MOST_NAMES) {
            unknown.push(format!(
                "{} says that {} were made, but {} came to it.",
                self.name(*node),
                units(*made),
                units(*came)
            ));
        }
        if !balance.uncounted.is_empty() {
            unknown.push(format!(
                "How many units went to {} was not written down.",
                self.list(balance.uncounted.iter().copied())
            ));
        }
        if !balance.mixed.is_empty() {
            let names = self.list(balance.mixed.iter().copied());
            unknown.push(format!(
                "Other goods came to {names} too; they cannot be told apart there, so all that went on is followed."
            ));
        }
        let sells_on: Vec<&str> = ends
            .iter()
            .filter(|end| end.resells)
            .map(|end| end.name.as_str())
            .collect();
        if !sells_on.is_empty() {
            let all: i128 = ends
                .iter()
                .filter(|end| end.resells)
                .filter_map(|end| end.units.as_deref()?.parse::<measure::Decimal>().ok())
                .filter_map(|units| (units * measure::Decimal::from(1_000_000)).to_i128())
                .sum();
            let (first, rest) = sells_on.split_at(sells_on.len().min(MOST_NAMES));
            let mut names = first.join(", ");
            if !rest.is_empty() {
                names = format!("{names} and {} more", rest.len());
            }
            unknown.push(format!(
                "{names} {} on: of {}, which were sold, and to whom, is not known here.",
                if sells_on.len() == 1 { "sells" } else { "sell" },
                in_units(narrow(all))
            ));
        }
    }
}
