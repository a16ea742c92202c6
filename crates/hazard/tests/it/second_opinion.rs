//! A second opinion: the tables written down again, as text read by a small
//! interpreter with exact fractions, and asked of a hundred thousand random
//! mixtures.
//!
//! Nothing of the crate's rules is used. An ingredient's own limit stands here
//! as the regulation has it, as a quotient of shares and limits that reaches 1;
//! an upper end that is left out is a number a hair smaller than itself.

use std::cmp::Ordering;
use std::collections::BTreeMap;

use hazard::{
    AcuteEstimate, Band, Class, EstimateKind, Form, Hazard, Ingredient, Jurisdiction, Mixture,
    Part, Rules, Share, Unlisted, classify,
};
use measure::Decimal;

use crate::mixing::told;

/// A family of classes on each line: the class that results, the sum (class ×
/// generic limit, added up where there is more than one ingredient or `alone`
/// for each by itself), and from which share on an ingredient counts.
///
/// `A|B / 5` reads "shares of A and B, over 5 %".
const SUMS: &str = "
Skin Corr. 1  : SkinC / 5                     : from 1
Skin Irrit. 2 : SkinC / 1 + SkinI / 10        : from 1
Eye Dam. 1    : SkinC / 3 + EyeD / 3          : from 1
Eye Irrit. 2  : SkinC / 1 + EyeD / 1 + EyeI / 10 : from 1
H335          : H335 / 20                     : from 1
H336          : H336 / 20                     : from 1
";

/// `class of the ingredient | its limit in EU and GB | in the UN's stricter
/// option | class of the mixture | elicitation limit`; a dash for none.
const ALONE: &str = "
Resp. Sens. 1  | 1   | 0.1 | same | 0.1
Resp. Sens. 1A | 0.1 | 0.1 | same | 0.01
Resp. Sens. 1B | 1   | 1   | same | 0.1
Skin Sens. 1   | 1   | 0.1 | same | 0.1
Skin Sens. 1A  | 0.1 | 0.1 | same | 0.01
Skin Sens. 1B  | 1   | 1   | same | 0.1
Muta. 1A  | 0.1 | 0.1 | same | -
Muta. 1B  | 0.1 | 0.1 | same | -
Muta. 2   | 1   | 1   | same | -
Carc. 1A  | 0.1 | 0.1 | same | -
Carc. 1B  | 0.1 | 0.1 | same | -
Carc. 2   | 1   | 0.1 | same | -
Repr. 1A  | 0.3 | 0.1 | same | -
Repr. 1B  | 0.3 | 0.1 | same | -
Repr. 2   | 3   | 0.1 | same | -
Lact.     | 0.3 | 0.1 | same | -
STOT SE 1 | 10  | 1   | same | -
STOT SE 1 | 1   | 1   | STOT SE 2 | -
STOT SE 2 | 10  | 1   | same | -
STOT RE 1 | 10  | 1   | same | -
STOT RE 1 | 1   | 1   | STOT RE 2 | -
STOT RE 2 | 10  | 1   | same | -
ED HH 1   | 0.1 | -   | same | -
ED HH 2   | 1   | -   | same | -
ED ENV 1  | 0.1 | -   | same | -
ED ENV 2  | 1   | -   | same | -
PBT       | 0.1 | -   | same | -
vPvB      | 0.1 | -   | same | -
PMT       | 0.1 | -   | same | -
vPvM      | 0.1 | -   | same | -
Ozone 1   | 0.1 | 0.1 | same | -
";

/// Bounds of the categories and the estimates that stand for them.
const ACUTE: &str = "
oral   | 5 50 300 2000     | 0.5 5 100 500
dermal | 50 200 1000 2000  | 5 50 300 1100
vapour | 0.5 2 10 20       | 0.05 0.5 3 11
";

/// A fraction, in lowest terms.
#[derive(Clone, Copy, Debug)]
struct Exact(i128, i128);

fn gcd(a: i128, b: i128) -> i128 {
    if b == 0 { a } else { gcd(b, a % b) }
}

impl Exact {
    fn new(over: i128, under: i128) -> Self {
        let by = gcd(over, under).max(1);
        Self(over / by, under / by)
    }
    fn read(text: &str) -> Self {
        let decimal: Decimal = text.trim().parse().unwrap();
        Self::of(decimal)
    }
    fn of(decimal: Decimal) -> Self {
        Self::new(decimal.mantissa(), 10_i128.pow(decimal.scale()))
    }
    fn add(self, other: Self) -> Self {
        let by = gcd(self.1, other.1);
        let under = self.1 / by * other.1;
        Self::new(self.0 * (other.1 / by) + other.0 * (self.1 / by), under)
    }
    fn times(self, other: Self) -> Self {
        let (a, b) = (gcd(self.0, other.1).max(1), gcd(other.0, self.1).max(1));
        Self::new((self.0 / a) * (other.0 / b), (self.1 / b) * (other.1 / a))
    }
    fn over(self, other: Self) -> Self {
        self.times(Self(other.1, other.0))
    }
    fn cmp(self, other: Self) -> Ordering {
        (self.0 * other.1).cmp(&(other.0 * self.1))
    }
    fn least(self, other: Self) -> Self {
        if self.cmp(other).is_le() { self } else { other }
    }
}

/// A number, or one a hair smaller.
#[derive(Clone, Copy, Debug)]
struct Upper(Exact, bool);

impl Upper {
    const ZERO: Self = Self(Exact(0, 1), false);
    fn add(self, other: Self) -> Self {
        Self(self.0.add(other.0), self.1 || other.1)
    }
    fn times(self, by: Exact) -> Self {
        Self(self.0.times(by), self.1)
    }
    fn reaches(self, limit: Exact) -> bool {
        match self.0.cmp(limit) {
            Ordering::Greater => true,
            Ordering::Equal => !self.1,
            Ordering::Less => false,
        }
    }
    fn exceeds(self, limit: Exact) -> bool {
        self.0.cmp(limit).is_gt()
    }
}

/// An ingredient as the interpreter sees it.
struct Seen {
    name: String,
    share: Upper,
    /// Codes as printed, acute ones and STOT SE 3 with their statement.
    codes: Option<Vec<String>>,
    own: Vec<(String, Exact)>,
    m: [i128; 2],
    estimates: Vec<(&'static str, Exact, bool)>,
}

impl Seen {
    fn is(&self, code: &str) -> bool {
        self.codes.iter().flatten().any(|own| own == code)
    }
    fn any(&self, start: &str) -> bool {
        self.codes
            .iter()
            .flatten()
            .any(|own| own.starts_with(start))
    }
    fn own(&self, start: &str) -> Option<Exact> {
        self.own
            .iter()
            .filter(|(code, _)| code.starts_with(start))
            .map(|(_, limit)| *limit)
            .reduce(Exact::least)
    }
    fn in_group(&self, group: &str) -> bool {
        match group {
            "SkinC" => self.any("Skin Corr."),
            "SkinI" => self.is("Skin Irrit. 2") && !self.any("Skin Corr."),
            "EyeD" => self.is("Eye Dam. 1") && !self.any("Skin Corr."),
            "EyeI" => self.is("Eye Irrit. 2") && !self.is("Eye Dam. 1") && !self.any("Skin Corr."),
            other => self.is(other),
        }
    }
    /// Its limit for a result: its own, else the generic; what is corrosive
    /// below the milder limit is not harmless there.
    fn limit(&self, result: &str, generic: Exact) -> Exact {
        let own = match result {
            "Skin Corr. 1" => self.own("Skin Corr."),
            result => self.own(result),
        };
        own.unwrap_or_else(|| {
            let severer = match result {
                "Skin Irrit. 2" | "Eye Dam. 1" => self.own("Skin Corr."),
                "Eye Irrit. 2" => self.own("Eye Dam. 1").or(self.own("Skin Corr.")),
                "STOT SE 2" => self.own("STOT SE 1"),
                "STOT RE 2" => self.own("STOT RE 1"),
                _ => None,
            };
            severer.map_or(generic, |severer| severer.least(generic))
        })
    }
}

fn rows(text: &str, sign: char) -> Vec<Vec<String>> {
    text.lines()
        .filter(|line| !line.trim().is_empty())
        .map(|line| {
            line.split(sign)
                .map(|cell| cell.trim().to_owned())
                .collect()
        })
        .collect()
}

struct Tables {
    sums: Vec<Vec<String>>,
    alone: Vec<Vec<String>>,
    acute: Vec<Vec<String>>,
    /// What each code of an answer is.
    hazards: BTreeMap<String, Hazard>,
}

/// Every class found, and the names due for elicitation.
fn interpret(
    tables: &Tables,
    seen: &[Seen],
    place: Jurisdiction,
    new_classes: bool,
    thin: bool,
) -> String {
    let mut found: Vec<String> = Vec::new();
    let one = Exact(1, 1);
    for row in &tables.sums {
        let (result, sum) = (row[0].as_str(), &row[1]);
        let from = Exact::read(row[2].trim_start_matches("from"));
        let mut quotient = Upper::ZERO;
        let mut counted: Vec<&Seen> = Vec::new();
        for group in sum.split('+') {
            let (group, generic) = group.split_once('/').unwrap();
            for one in seen.iter().filter(|one| one.in_group(group.trim())) {
                let limit = one.limit(result, Exact::read(generic));
                if one.share.0.0 > 0 && one.share.reaches(limit.least(from)) {
                    quotient = quotient.add(one.share.times(Exact(1, 1).over(limit)));
                    counted.push(one);
                }
            }
        }
        if quotient.reaches(one) {
            found.push(if result == "Skin Corr. 1" {
                cascade(&counted)
            } else {
                result.to_owned()
            });
        }
    }
    let mut named: Vec<&str> = Vec::new();
    let mut allergy: [Vec<(String, &str)>; 2] = [Vec::new(), Vec::new()];
    for one in seen {
        for row in &tables.alone {
            let [class, eu, un, result, elicits] = row.as_slice() else {
                unreachable!("five cells")
            };
            let generic = if place == Jurisdiction::Un { un } else { eu };
            let of_2023 = ["ED ", "PBT", "vPv", "PMT"];
            let is_new = of_2023.iter().any(|start| class.starts_with(start));
            if !one.is(class) || generic == "-" || (is_new && !new_classes) {
                continue;
            }
            let result = if result == "same" { class } else { result };
            let sensitiser = class.contains("Sens.");
            // Of a sensitiser whatever sub-category its own limit is for.
            let own = sensitiser.then(|| one.own(&class[..10])).flatten();
            let limit = own.unwrap_or_else(|| one.limit(result, Exact::read(generic)));
            if one.share.0.0 > 0 && one.share.reaches(limit) {
                if sensitiser {
                    allergy[usize::from(class.starts_with("Skin"))]
                        .push((class.clone(), one.name.as_str()));
                } else {
                    found.push(result.clone());
                }
            }
            if elicits != "-" && place != Jurisdiction::Un {
                let due = own.map_or(Exact::read(elicits), |own| own.over(Exact(10, 1)));
                if one.share.0.0 > 0 && one.share.reaches(due) {
                    named.push(&one.name);
                }
            }
        }
    }
    let mut is_sensitising = false;
    for (triggers, plain) in allergy.iter().zip(["Resp. Sens. 1", "Skin Sens. 1"]) {
        if let Some((first, _)) = triggers.first() {
            is_sensitising = true;
            let same = triggers.iter().all(|(class, _)| class == first);
            found.push(if same {
                first.clone()
            } else {
                plain.to_owned()
            });
            named.retain(|name| !triggers.iter().any(|(_, trigger)| trigger == name));
        }
    }
    aspiration(seen, thin, &mut found);
    water(seen, &mut found);
    for row in &tables.acute {
        acute(seen, row, place, &mut found);
    }
    tell(tables, &found, named, is_sensitising)
}

fn cascade(counted: &[&Seen]) -> String {
    let plain = |one: &&Seen| {
        one.is("Skin Corr. 1")
            && !["1A", "1B", "1C"]
                .iter()
                .any(|sub| one.is(&format!("Skin Corr. {sub}")))
    };
    if counted.iter().any(plain) {
        return "Skin Corr. 1".to_owned();
    }
    let subs = ["1A", "1B", "1C"];
    for nth in 0..3 {
        let mut quotient = Upper::ZERO;
        for one in counted {
            if subs[..=nth]
                .iter()
                .any(|sub| one.is(&format!("Skin Corr. {sub}")))
            {
                let limit = one.own("Skin Corr.").unwrap_or(Exact(5, 1));
                quotient = quotient.add(one.share.times(Exact(1, 1).over(limit)));
            }
        }
        if quotient.reaches(Exact(1, 1)) {
            return format!("Skin Corr. {}", subs[nth]);
        }
    }
    unreachable!("all of them together reach it")
}

fn aspiration(seen: &[Seen], thin: bool, found: &mut Vec<String>) {
    let sum = seen
        .iter()
        .filter(|one| one.is("Asp. Tox. 1") && one.share.reaches(Exact(1, 1)))
        .fold(Upper::ZERO, |sum, one| sum.add(one.share));
    if thin && sum.reaches(Exact(10, 1)) {
        found.push("Asp. Tox. 1".to_owned());
    }
}

fn water(seen: &[Seen], found: &mut Vec<String>) {
    let quarter = Exact(25, 1);
    let counts =
        |one: &Seen, m: i128| one.share.0.0 > 0 && one.share.reaches(Exact::new(1, 10 * m));
    let acute = seen
        .iter()
        .filter(|one| one.is("Aquatic Acute 1") && counts(one, one.m[0]))
        .fold(Upper::ZERO, |sum, one| {
            sum.add(one.share.times(Exact(one.m[0], 1)))
        });
    if acute.reaches(quarter) {
        found.push("Aquatic Acute 1".to_owned());
    }
    // The sums of the four categories, the first with and without M.
    let mut sums = [Upper::ZERO; 4];
    let mut plain_first = Upper::ZERO;
    for one in seen {
        let Some(category) = (1..=4).find(|n| one.is(&format!("Aquatic Chronic {n}"))) else {
            continue;
        };
        if category == 1 && counts(one, one.m[1]) {
            sums[0] = sums[0].add(one.share.times(Exact(one.m[1], 1)));
            plain_first = plain_first.add(one.share);
        }
        if category > 1 && one.share.reaches(Exact(1, 1)) {
            sums[category - 1] = sums[category - 1].add(one.share);
        }
    }
    let by = |sum: Upper, by: i128| sum.times(Exact(by, 1));
    let [first, second, third, fourth] = sums;
    let steps = [
        first,
        by(first, 10).add(second),
        by(first, 100).add(by(second, 10)).add(third),
        plain_first.add(second).add(third).add(fourth),
    ];
    if let Some(step) = steps.iter().position(|sum| sum.reaches(quarter)) {
        found.push(format!("Aquatic Chronic {}", step + 1));
    }
}

/// 100/ATE = Σ C/ATE, or (100 − U)/ATE = Σ C/ATE with more than 10 % unknown.
fn acute(seen: &[Seen], row: &[String], place: Jurisdiction, found: &mut Vec<String>) {
    let scale = row[0].as_str();
    let figures = |cell: &str| -> Vec<Exact> { cell.split_whitespace().map(Exact::read).collect() };
    let (bounds, converted) = (figures(&row[1]), figures(&row[2]));
    let statements: [&str; 4] = match scale {
        "oral" => ["H300", "H300", "H301", "H302"],
        "dermal" => ["H310", "H310", "H311", "H312"],
        _ => ["H330", "H330", "H331", "H332"],
    };
    let class = |nth: usize| format!("Acute Tox. {} {}", nth + 1, statements[nth]);
    let mut sum = Upper::ZERO;
    let mut unknown = Upper::ZERO;
    for one in seen {
        let told: Vec<_> = one.estimates.iter().filter(|e| e.0 == scale).collect();
        let value = if told.is_empty() {
            match &one.codes {
                None => {
                    if one.share.reaches(Exact(1, 1)) {
                        unknown = unknown.add(one.share);
                    }
                    continue;
                }
                Some(_) => (0..4)
                    .find(|nth| one.is(&class(*nth)))
                    .map(|nth| converted[nth]),
            }
        } else {
            let top = if place == Jurisdiction::Un && matches!(scale, "oral" | "dermal") {
                Exact(5000, 1)
            } else {
                bounds[3]
            };
            told.iter()
                .filter(|(_, value, above)| {
                    if *above {
                        value.cmp(bounds[3]).is_lt()
                    } else {
                        value.cmp(top).is_le()
                    }
                })
                .map(|(_, value, _)| *value)
                .reduce(Exact::least)
        };
        let Some(value) = value else { continue };
        let from = if value.cmp(bounds[2]).is_le() {
            Exact(1, 10)
        } else {
            Exact(1, 1)
        };
        if one.share.reaches(from) {
            sum = sum.add(one.share.times(Exact(1, 1).over(value)));
        }
    }
    if sum.0.0 == 0 {
        return;
    }
    for (nth, bound) in bounds.iter().enumerate() {
        // ATE ≤ bound, turned over: Σ C/ATE × bound ≥ 100 or 100 − U.
        let scaled = sum.times(*bound);
        let plain = scaled.reaches(Exact(100, 1));
        let corrected = unknown.exceeds(Exact(10, 1)) && scaled.add(unknown).reaches(Exact(100, 1));
        if plain || corrected {
            found.push(class(nth));
            return;
        }
    }
}

/// The strictest of each kind, in the crate's order and words.
fn tell(tables: &Tables, found: &[String], mut named: Vec<&str>, is_sensitising: bool) -> String {
    let stem = |code: &str| {
        let hazard = tables.hazards[code];
        match hazard.class.acute() {
            Some((route, _)) => route.to_string(),
            None => match code {
                _ if code.starts_with("Skin Corr") || code.starts_with("Skin Irrit") => "skin",
                _ if code.starts_with("Eye") => "eye",
                "H335" | "H336" => code,
                _ if code.starts_with("ED") || code.starts_with("Carc") => &code[..4],
                _ if code.starts_with("Aquatic C") || code.starts_with("Skin S") => &code[..9],
                _ if code.starts_with("STOT") => &code[..7],
                _ => code.split(' ').next().unwrap(),
            }
            .to_owned(),
        }
    };
    let mut kept: Vec<(String, Hazard)> = Vec::new();
    let mut all: Vec<Hazard> = found.iter().map(|code| tables.hazards[code]).collect();
    let mut order: Vec<usize> = (0..all.len()).collect();
    order.sort_by_key(|nth| all[*nth].class);
    for nth in order {
        let stem = stem(&found[nth]);
        if !kept.iter().any(|(own, _)| *own == stem) {
            kept.push((stem, all[nth]));
        }
    }
    all = kept.into_iter().map(|(_, hazard)| hazard).collect();
    let mut text = all
        .iter()
        .map(Hazard::to_string)
        .collect::<Vec<_>>()
        .join(", ");
    if text.is_empty() {
        "none".clone_into(&mut text);
    }
    named.sort_unstable();
    named.dedup();
    if !named.is_empty() {
        let lead = if is_sensitising {
            "also names"
        } else {
            "EUH208"
        };
        text = format!("{text} ({lead} {})", named.join(", "));
    }
    text
}

/// A small generator of its own, so that every run asks the same.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: usize) -> usize {
        // Marsaglia, "Xorshift RNGs" (2003), 64 bits, triple 13, 7, 17.
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from((self.0 >> 11) % sides as u64).unwrap()
    }
    fn one<'a, T>(&mut self, of: &'a [T]) -> &'a T {
        &of[self.roll(of.len())]
    }
}

/// Shares at which something happens, in millionths of a percent.
const EVENTFUL: &[i64] = &[
    1_000, 9_000, 10_000, 25_000, 50_000, 100_000, 250_000, 300_000, 500_000, 1_000_000, 1_250_000,
    2_000_000, 2_500_000, 3_000_000, 4_000_000, 5_000_000, 8_000_000, 10_000_000, 11_000_000,
    12_500_000, 20_000_000, 25_000_000,
];

const ESTIMATES: &[(EstimateKind, &str, &[&str])] = &[
    (
        EstimateKind::Oral,
        "oral",
        &[
            "2.5", "5", "40", "50", "100", "300", "500", "1600", "2000", "3200", "5000", "6000",
        ],
    ),
    (
        EstimateKind::Dermal,
        "dermal",
        &[
            "25", "50", "200", "300", "1000", "1100", "2000", "4000", "8000",
        ],
    ),
    (
        EstimateKind::Vapour,
        "vapour",
        &["0.1", "0.5", "2", "3", "10", "11", "20", "40"],
    ),
];

fn random(dice: &mut Dice, classes: &[Class]) -> (Mixture, Vec<Seen>) {
    let count = 1 + dice.roll(10);
    let (wax, oil): (i64, i64) = *dice.one(&[(0, 1), (100, 10), (100, 8), (92, 8), (3, 1)]);
    let mut room: i64 = 100_000_000;
    let mut ingredients = Vec::new();
    let mut seen = Vec::new();
    let mut least_of_all: i64 = 0;
    for nth in 0..count {
        let mut share = *dice.one(EVENTFUL);
        if dice.roll(2) == 0 {
            // So that it is eventful in the whole.
            share = share * (wax + oil) / oil;
        }
        share += [0, 0, -1, 1][dice.roll(4)];
        let share = share.clamp(1, 60_000_000);
        let low = match dice.roll(3) {
            0 => share,
            _ => share / 2,
        };
        if low > room {
            break;
        }
        room -= low;
        least_of_all += low;
        let open = low < share && dice.roll(3) == 0;
        let percent = |millionths: i64| Decimal::new(millionths, 6);
        let name = format!("x{nth:02}");
        let mut line = Ingredient {
            name: name.clone(),
            cas: None,
            share: Share::within(percent(low), Some(percent(share)), false, open).unwrap(),
            hazards: None,
            m_acute: None,
            m_chronic: None,
            estimates: Vec::new(),
            bands: Vec::new(),
        };
        let upper = Exact::new(
            i128::from(share) * i128::from(oil),
            1_000_000 * i128::from(wax + oil),
        );
        let mut one = Seen {
            name,
            share: Upper(upper, open),
            codes: None,
            own: Vec::new(),
            m: [1, 1],
            estimates: Vec::new(),
        };
        if dice.roll(12) != 0 {
            let mut hazards: Vec<Hazard> = Vec::new();
            for _ in 0..dice.roll(4) {
                let class = *dice.one(classes);
                // A sheet gives a substance one sub-category.
                let again = (class.code().contains("Sens.") || class.code().contains("Corr."))
                    && hazards
                        .iter()
                        .any(|own| own.class.code().get(..8) == class.code().get(..8));
                if !again {
                    hazards.push(class.into());
                }
            }
            let codes: Vec<String> = hazards.iter().map(|hazard| code(*hazard)).collect();
            for hazard in &hazards {
                let class = hazard.class;
                let can = !class.is_environmental()
                    && class.acute().is_none()
                    && class != Class::AspTox1
                    && one
                        .own
                        .iter()
                        .all(|(own, _)| own.get(..9) != class.code().get(..9));
                if can && dice.roll(5) == 0 {
                    let from = *dice.one(&["0.01", "0.1", "0.5", "2", "5", "15", "25"]);
                    line.bands.push(Band {
                        class,
                        from: from.parse().unwrap(),
                        below: None,
                    });
                    one.own.push((code(*hazard), Exact::read(from)));
                }
            }
            let factor = |dice: &mut Dice| *dice.one(&[1_u32, 1, 1, 10, 100, 1000]);
            let (acute, chronic) = (factor(dice), factor(dice));
            (line.m_acute, line.m_chronic) = (Some(acute), Some(chronic));
            one.m = [i128::from(acute), i128::from(chronic)];
            line.hazards = Some(hazards);
            one.codes = Some(codes);
        }
        while dice.roll(3) == 0 {
            let (kind, scale, values) = *dice.one(ESTIMATES);
            let value = *dice.one(values);
            let above = dice.roll(4) == 0;
            line.estimates.push(AcuteEstimate {
                kind,
                value: value.parse().unwrap(),
                above,
            });
            one.estimates.push((scale, Exact::read(value), above));
        }
        ingredients.push(line);
        seen.push(one);
    }
    let unlisted = *dice.one(&[Unlisted::NotHazardous, Unlisted::Unknown]);
    if unlisted == Unlisted::Unknown && room > 0 {
        seen.push(Seen {
            name: "rest".to_owned(),
            share: Upper(
                Exact::new(
                    i128::from(100_000_000 - least_of_all) * i128::from(oil),
                    1_000_000 * i128::from(wax + oil),
                ),
                false,
            ),
            codes: None,
            own: Vec::new(),
            m: [1, 1],
            estimates: Vec::new(),
        });
    }
    let parts = [
        Part {
            name: "wax".to_owned(),
            weight: wax.into(),
            ingredients: Vec::new(),
            unlisted: Unlisted::NotHazardous,
        },
        Part {
            name: "oil".to_owned(),
            weight: oil.into(),
            ingredients,
            unlisted,
        },
    ];
    (Mixture::of(&parts).unwrap(), seen)
}

fn code(hazard: Hazard) -> String {
    match hazard.class {
        Class::StotSe3Irritation => "H335".to_owned(),
        Class::StotSe3Narcosis => "H336".to_owned(),
        class if class.acute().is_some() => hazard.to_string(),
        class => class.code().to_owned(),
    }
}

#[test]
fn agrees_on_a_hundred_thousand_mixtures() {
    let tables = Tables {
        sums: rows(SUMS, ':'),
        alone: rows(ALONE, '|'),
        acute: rows(ACUTE, '|'),
        hazards: Class::ALL
            .iter()
            .map(|class| (code((*class).into()), (*class).into()))
            .collect(),
    };
    let classes: Vec<Class> = Class::ALL
        .iter()
        .copied()
        .filter(|class| !class.is_physical())
        .collect();
    let mut dice = Dice(0x2545_F491_4F6C_DD1D);
    let mut classified = 0;
    for nth in 0..100_000 {
        let (mixture, seen) = random(&mut dice, &classes);
        let place = *dice.one(&[Jurisdiction::Eu, Jurisdiction::Gb, Jurisdiction::Un]);
        let rules = Rules::of(place, jiff::civil::date(2026, 12, 1));
        let thin = dice.roll(2) == 0;
        let form = if thin {
            Form::MoltenAt40C {
                viscosity_mm2_s: None,
            }
        } else {
            Form::Solid
        };
        let own = told(&mixture, &classify(&mixture, &rules, &form));
        let other = interpret(&tables, &seen, place, place == Jurisdiction::Eu, thin);
        assert_eq!(own, other, "mixture {nth} by {place}: {mixture:#?}");
        classified += usize::from(own != "none");
    }
    // The mixtures are worth asking about.
    assert!((60_000..99_000).contains(&classified), "{classified}");
}
