//! From the lines of one record to a proposal.

use measure::Problem;

use super::layout::{Line, Role, Table, is_name};
use super::scan::{Estimate, Kind, Lexicon, Limit, Named, Scrap, Spotted, Token, Water};
use super::{Proposal, SourceLine};
use crate::class::{Class, Hazard};
use crate::ingredient::{AcuteEstimate, Band};

/// Text of one cell with its wraps.
#[derive(Debug)]
struct Piece {
    column: Option<usize>,
    role: Option<Role>,
    /// Whether a label stood before it.
    labelled: bool,
    text: String,
    /// The lines it stands in, each with the place of its first sign.
    lines: Vec<(usize, usize)>,
}

impl Piece {
    fn line_at(&self, place: usize) -> usize {
        self.lines
            .iter()
            .rfind(|(from, _)| *from <= place)
            .map_or(0, |(_, line)| *line)
    }
}

/// What was not understood in a piece, with its place.
#[derive(Debug)]
struct Rest<'a> {
    piece: &'a Piece,
    runs: Vec<(usize, String)>,
}

/// A class as mentioned.
#[derive(Debug)]
struct Mention {
    named: Named,
    /// Its place among the tokens of the record.
    order: usize,
    /// Whether a limit follows it.
    limited: bool,
    /// Whether it stands in the column of limits.
    aside: bool,
}

#[derive(Debug)]
struct Code {
    text: String,
    order: usize,
    used: bool,
    aside: bool,
}

/// Everything gathered from the pieces.
#[derive(Debug, Default)]
struct Gathered {
    mentions: Vec<Mention>,
    codes: Vec<Code>,
    not_classified: bool,
    /// A limit with the class and the statement nearest to it.
    limits: Vec<(Limit, Option<usize>, Option<usize>)>,
    /// A factor, and the aquatic class before it.
    factors: Vec<(u64, Option<Water>, Option<Water>)>,
    estimates: Vec<Estimate>,
    shares: Vec<Spotted>,
}

/// Reads one record. None when nothing in it is a substance; then every line
/// is left over.
pub(super) fn proposal(
    lines: &[Line],
    table: &Table,
    lexicon: &Lexicon,
) -> (Option<Proposal>, Vec<SourceLine>) {
    let pieces = pieces_of(lines, lexicon, table);
    let mut proposal = Proposal {
        name: String::new(),
        cas: None,
        ec: None,
        index: None,
        reach: None,
        share: None,
        hazards: None,
        m_acute: None,
        m_chronic: None,
        estimates: Vec::new(),
        bands: Vec::new(),
        lines: lines.iter().map(SourceLine::from).collect(),
        doubts: Vec::new(),
    };
    let mut gathered = Gathered::default();
    let mut rests: Vec<Rest> = Vec::new();
    let mut any_id = false;
    for piece in &pieces {
        let mut scrap = Scrap::new(&piece.text);
        let tokens = scrap.tokens(lexicon, table.shares(piece.role));
        any_id |= proposal.take_ids(&tokens);
        gathered.take(tokens, &scrap, piece.role);
        rests.push(Rest {
            piece,
            runs: scrap.runs(),
        });
    }
    if !any_id && gathered.shares.is_empty() {
        return (None, proposal.lines);
    }
    let mut left = proposal.take_name(&rests);
    proposal.take_share(&gathered, table);
    proposal.take_hazards(&mut gathered, &mut left);
    proposal.take_bands(&gathered);
    proposal.take_factors(&gathered);
    proposal.take_estimates(&gathered);
    if proposal.cas.is_none() && !proposal.doubts.iter().any(|doubt| doubt.field == "cas") {
        proposal.doubt(
            "cas",
            "",
            "there is no CAS number",
            "add it, if the sheet has one",
        );
    }
    (Some(proposal), left)
}

/// Joins what was wrapped: cells of one column, and classes broken in two.
fn pieces_of(lines: &[Line], lexicon: &Lexicon, table: &Table) -> Vec<Piece> {
    let mut pieces: Vec<Piece> = Vec::new();
    for (row, line) in lines.iter().enumerate() {
        for cell in &line.cells {
            let column = cell.column;
            let open = if row == 0 || cell.label.is_some() {
                None
            } else if column.is_some() {
                pieces.iter_mut().rfind(|piece| piece.column == column)
            } else {
                pieces.last_mut().filter(|piece| {
                    lexicon.ends_open(&piece.text) || piece.column.is_some() || piece.labelled
                })
            };
            match open {
                Some(piece) => {
                    // A name broken at a hyphen goes on without a space.
                    if !piece.text.ends_with('-') || piece.role == Some(Role::Class) {
                        piece.text.push('\n');
                    }
                    piece.lines.push((piece.text.chars().count(), line.number));
                    piece.text.push_str(&cell.text);
                }
                None => pieces.push(Piece {
                    column,
                    role: cell.label.or_else(|| table.role(column)),
                    labelled: cell.label.is_some(),
                    text: cell.text.clone(),
                    lines: vec![(0, line.number)],
                }),
            }
        }
    }
    pieces
}

impl Gathered {
    fn take(&mut self, tokens: Vec<Token>, scrap: &Scrap, role: Option<Role>) {
        let aside = role == Some(Role::Limits);
        let mut class_before: Option<usize> = None;
        let mut code_before: Option<usize> = None;
        let mut water: Option<Water> = None;
        // A limit that stands before its class waits for it.
        let mut waiting: Option<usize> = None;
        for token in tokens {
            let order = self.mentions.len() + self.codes.len();
            match token.kind {
                Kind::Class(named) => {
                    water = match named.code {
                        "Aquatic Acute 1" => Some(Water::Acute),
                        "Aquatic Chronic 1" => Some(Water::Chronic),
                        _ => None,
                    };
                    let at = self.mentions.len();
                    self.mentions.push(Mention {
                        named,
                        order,
                        limited: waiting.is_some(),
                        aside,
                    });
                    match waiting.take().and_then(|limit| self.limits.get_mut(limit)) {
                        Some((_, class, _)) => *class = Some(at),
                        None => class_before = Some(at),
                    }
                    code_before = None;
                }
                Kind::Statement(text) => {
                    water = match text.as_str() {
                        "H400" => Some(Water::Acute),
                        "H410" => Some(Water::Chronic),
                        _ => water,
                    };
                    code_before = Some(self.codes.len());
                    self.codes.push(Code {
                        text,
                        order,
                        used: false,
                        aside,
                    });
                }
                Kind::NotClassified => self.not_classified = true,
                Kind::Limit(limit) => {
                    let after: String = scrap.text(token.to, token.to + 3);
                    let announces = after.trim_start().starts_with([':', '=']);
                    if announces || (class_before.is_none() && code_before.is_none()) {
                        waiting = Some(self.limits.len());
                        self.limits.push((limit, None, None));
                    } else {
                        if let Some(mention) = class_before.and_then(|at| self.mentions.get_mut(at))
                        {
                            mention.limited = true;
                        }
                        self.limits.push((limit, class_before, code_before));
                    }
                }
                Kind::Factor { value, water: own } => self.factors.push((value, own, water)),
                Kind::Estimate(estimate) => self.estimates.push(estimate),
                Kind::Share(spotted) => self.shares.push(spotted),
                Kind::Cas(_) | Kind::Ec { .. } | Kind::Index(_) | Kind::Reach(_) => {}
            }
        }
    }
}

impl Proposal {
    fn doubt(
        &mut self,
        field: &str,
        given: impl Into<String>,
        wrong: impl Into<String>,
        accepted: &str,
    ) {
        self.doubts
            .push(Problem::new(field, given, wrong, accepted));
    }

    /// Takes the numbers; whether there was one that makes a record.
    fn take_ids(&mut self, tokens: &[Token]) -> bool {
        let mut any = false;
        for token in tokens {
            match &token.kind {
                Kind::Cas(Ok(cas)) => {
                    any = true;
                    match self.cas {
                        None => self.cas = Some(*cas),
                        Some(first) if first != *cas => self.doubt(
                            "cas",
                            cas.to_string(),
                            format!("there is a second CAS number beside {first}"),
                            "a line may stand for two substances; enter the other by hand",
                        ),
                        Some(_) => {}
                    }
                }
                Kind::Cas(Err(unclear)) => {
                    any = true;
                    self.doubts.push(Problem::at("cas", unclear.clone()));
                }
                Kind::Ec { text, right } => {
                    any = true;
                    if !right {
                        self.doubt(
                            "ec",
                            text.clone(),
                            "the last digit of that EC number does not fit the others",
                            "compare it with the sheet",
                        );
                    }
                    self.ec.get_or_insert_with(|| text.clone());
                }
                Kind::Index(text) => {
                    any = true;
                    self.index.get_or_insert_with(|| text.clone());
                }
                Kind::Reach(text) => {
                    any = true;
                    self.reach.get_or_insert_with(|| text.clone());
                }
                _ => {}
            }
        }
        any
    }

    /// Takes the name from what nothing else was read from; the rest is left.
    fn take_name(&mut self, rests: &[Rest]) -> Vec<SourceLine> {
        let has_column = rests.iter().any(|rest| {
            rest.piece.role == Some(Role::Name) && rest.runs.iter().any(|(_, run)| is_name(run))
        });
        let mut left = Vec::new();
        let mut name: Vec<&str> = Vec::new();
        let mut ended = false;
        for rest in rests {
            let may_name = if has_column {
                rest.piece.role == Some(Role::Name)
            } else {
                matches!(rest.piece.role, None | Some(Role::Ids | Role::Other))
            };
            let mut took = false;
            for (at, (place, run)) in rest.runs.iter().enumerate() {
                let goes_on = !ended && (at == 0 || name.is_empty());
                // A name's first line may be none by itself: 2-(4-tert-
                let begins = is_name(run)
                    || (has_column && name.is_empty())
                    || (!name.is_empty() && at == 0);
                if may_name && goes_on && begins {
                    name.push(run);
                    took = true;
                    continue;
                }
                let mut from = *place;
                for words in run.split('\n') {
                    if words.chars().any(char::is_alphanumeric) {
                        left.push(SourceLine {
                            number: rest.piece.line_at(from),
                            text: words.split_whitespace().collect::<Vec<_>>().join(" "),
                        });
                    }
                    from += words.chars().count() + 1;
                }
            }
            ended |= !name.is_empty() && !took;
        }
        self.name = tidy_name(&name.join(" "));
        if self.name.is_empty() {
            self.doubt("name", "", "there is no name", "write it as the sheet does");
        }
        left
    }

    fn take_share(&mut self, gathered: &Gathered, table: &Table) {
        let mut found = gathered.shares.iter();
        let Some(first) = found.next() else {
            self.doubt(
                "share",
                "",
                "there is no share",
                "add it, or leave the line out if the sheet gives none",
            );
            return;
        };
        self.share = first.share;
        if first.share.is_none() {
            self.doubt(
                "share",
                first.text.clone(),
                "that is not a share that can be",
                "write a share such as 3.2 %, 5-10 % or < 1 %",
            );
        }
        if !first.percent && !table.says_percent {
            self.doubt(
                "share",
                first.text.clone(),
                "no percent sign stands anywhere; taken as percent by weight",
                "compare it with the sheet",
            );
        }
        if first.about {
            self.doubt(
                "share",
                first.text.clone(),
                "the sheet says about; taken as exactly that",
                "ask the supplier for a range, or write one",
            );
        }
        let others: Vec<String> = found
            .filter(|other| other.share != first.share)
            .map(|other| other.text.clone())
            .collect();
        if !others.is_empty() {
            self.doubt(
                "share",
                others.join("; "),
                "there is more than one share",
                "compare them with the sheet; the first was taken",
            );
        }
    }

    fn take_hazards(&mut self, gathered: &mut Gathered, left: &mut Vec<SourceLine>) {
        let mut hazards: Vec<Hazard> = Vec::new();
        let has_plain = gathered
            .mentions
            .iter()
            .any(|mention| !mention.aside && !mention.limited)
            || gathered.codes.iter().any(|code| !code.aside);
        let plain_codes = gathered.codes.iter().any(|code| !code.aside);
        for mention in &gathered.mentions {
            // Beside a limit a class is named again; it counts by itself only
            // where the sheet names it nowhere else.
            if mention.aside && (has_plain || plain_codes) {
                if let Some(code) = nearest(&mut gathered.codes, mention, true) {
                    code.used = true;
                }
                continue;
            }
            if mention.limited && belongs_to_a_plain_one(&gathered.mentions, mention) {
                if let Some(code) = nearest(&mut gathered.codes, mention, false) {
                    code.used = true;
                }
                continue;
            }
            let star = if mention.named.minimum { " *" } else { "" };
            let code = nearest(&mut gathered.codes, mention, mention.aside);
            let given = match &code {
                Some(code) => format!("{}{star} {}", mention.named.code, code.text),
                None => match mention.named.route {
                    Some(route) => format!("{}{star} ({route})", mention.named.code),
                    None => format!("{}{star}", mention.named.code),
                },
            };
            match Hazard::parse(&given) {
                Ok(hazard) => {
                    if let Some(code) = code {
                        code.used = true;
                    }
                    if !hazards.contains(&hazard) {
                        hazards.push(hazard);
                    }
                }
                Err(unclear) => {
                    let known = hazards
                        .iter()
                        .any(|hazard| hazard.class.code() == mention.named.code);
                    if !known {
                        self.doubts.push(Problem::at("classification", unclear));
                    }
                }
            }
            if let Some(words) = &mention.named.other_words {
                self.doubt(
                    "classification",
                    words.clone(),
                    format!("taken for {}", mention.named.code),
                    "compare it with the sheet",
                );
            }
        }
        let limited_only = !hazards.is_empty()
            && gathered
                .mentions
                .iter()
                .all(|mention| mention.limited || mention.aside);
        if limited_only && !plain_codes {
            self.doubt(
                "classification",
                "",
                "its classes stand beside their limits only",
                "compare them with the sheet",
            );
        }
        let codes: Vec<&Code> = gathered
            .codes
            .iter()
            .filter(|code| !code.used && (!code.aside || !has_plain))
            .collect();
        for code in codes {
            self.take_code(&code.text, &mut hazards, left);
        }
        self.hazards = if !hazards.is_empty() {
            if gathered.not_classified {
                self.doubt(
                    "classification",
                    "",
                    "the line says both classes and that there are none",
                    "compare it with the sheet",
                );
            }
            Some(hazards)
        } else if gathered.not_classified {
            Some(Vec::new())
        } else {
            self.doubt(
                "classification",
                "",
                "there is no class that could be read",
                "add the classes, or say that the sheet calls it not classified",
            );
            None
        };
    }

    /// A statement without a class of its own.
    fn take_code(&mut self, code: &str, hazards: &mut Vec<Hazard>, left: &mut Vec<SourceLine>) {
        let head: String = code
            .chars()
            .take(if code.starts_with("EUH") { 6 } else { 4 })
            .collect();
        let known = hazards.iter().any(|hazard| {
            hazard
                .h_code()
                .is_some_and(|own| own == code || own.starts_with(&head))
        });
        if known {
            return;
        }
        // Acute Tox. 4 H302 + H312: one class, several statements.
        let shared = hazards
            .iter()
            .find_map(|hazard| Hazard::parse(&format!("{} {code}", hazard.class.code())).ok());
        if let Some(hazard) = shared {
            hazards.push(hazard);
            return;
        }
        let classes: Vec<Class> = Class::ALL
            .iter()
            .copied()
            .filter(|class| class.h_codes().contains(&head.as_str()))
            .collect();
        let general = [Class::SkinCorr1, Class::SkinSens1, Class::RespSens1];
        let meant = match classes.as_slice() {
            [] => {
                left.push(SourceLine {
                    number: self.lines.first().map_or(0, |line| line.number),
                    text: code.to_owned(),
                });
                return;
            }
            [only] => Some(*only),
            several => several
                .iter()
                .copied()
                .find(|class| general.contains(class)),
        };
        let read = meant.and_then(|class| Hazard::parse(&format!("{} {code}", class.code())).ok());
        match read {
            Some(hazard) => {
                self.doubt(
                    "classification",
                    code,
                    format!("only the statement was read; taken for {hazard}"),
                    "compare the class and its category with the sheet",
                );
                hazards.push(hazard);
            }
            None => self.doubt(
                "classification",
                code,
                "that statement could belong to several classes, or to none; it was not taken",
                "add the class with its category",
            ),
        }
    }

    fn take_bands(&mut self, gathered: &Gathered) {
        for (limit, class, code) in &gathered.limits {
            let named = class.and_then(|at| gathered.mentions.get(at));
            let code = code.and_then(|at| gathered.codes.get(at)).or_else(|| {
                let mention = named?;
                // The statement may follow the class that follows the limit.
                gathered
                    .codes
                    .iter()
                    .find(|code| code.order == mention.order + 1)
            });
            let text = match (named, code) {
                (Some(named), Some(code)) => format!("{} {}", named.named.code, code.text),
                (Some(named), None) => match named.named.route {
                    Some(route) => format!("{} ({route})", named.named.code),
                    None => named.named.code.to_owned(),
                },
                (None, Some(code)) => self
                    .hazards
                    .iter()
                    .flatten()
                    .find(|hazard| hazard.h_code().as_deref() == Some(code.text.as_str()))
                    .map_or_else(|| code.text.clone(), ToString::to_string),
                (None, None) => String::new(),
            };
            let read = Hazard::parse(&text).or_else(|unclear| {
                named
                    .and_then(|named| Hazard::parse(named.named.code).ok())
                    .ok_or(unclear)
            });
            match read {
                Ok(hazard) => {
                    let band = Band {
                        class: hazard.class,
                        from: limit.from.normalize(),
                        below: limit.below.map(|below| below.normalize()),
                    };
                    if band.below.is_some_and(|below| below <= band.from) {
                        self.doubt(
                            "scl",
                            limit.text.clone(),
                            "the ends of that limit are the wrong way round",
                            "compare it with the sheet",
                        );
                    } else if !self.bands.contains(&band) {
                        self.bands.push(band);
                        if limit.doubtful {
                            self.doubt(
                                "scl",
                                limit.text.clone(),
                                "the law's limits begin at their lower end and stop short of their upper one; this is written otherwise",
                                "compare it with the sheet",
                            );
                        }
                    }
                }
                Err(_) => self.doubt(
                    "scl",
                    limit.text.clone(),
                    "no class could be read for that limit; it was not taken",
                    "add the limit with its class",
                ),
            }
        }
    }

    fn take_factors(&mut self, gathered: &Gathered) {
        let has = |class| {
            self.hazards
                .iter()
                .flatten()
                .any(|hazard| hazard.class == class)
        };
        let (acute, chronic) = (has(Class::AquaticAcute1), has(Class::AquaticChronic1));
        for (at, (value, own, before)) in gathered.factors.iter().enumerate() {
            let factor = u32::try_from(*value).ok().filter(|value| {
                let mut rest = *value;
                while rest >= 10 && rest % 10 == 0 {
                    rest /= 10;
                }
                rest == 1
            });
            let Some(factor) = factor else {
                self.doubt(
                    "m_acute",
                    value.to_string(),
                    "an M-factor is 1, 10, 100 and so on; it was not taken",
                    "compare it with the sheet",
                );
                continue;
            };
            let other = gathered
                .factors
                .iter()
                .enumerate()
                .find_map(|(place, (_, own, _))| own.filter(|_| place != at));
            let both = own.is_none() && acute && chronic && gathered.factors.len() == 1;
            let water = own.or(*before).or(match (acute, chronic) {
                (true, false) => Some(Water::Acute),
                (false, true) => Some(Water::Chronic),
                _ => other.map(|other| match other {
                    Water::Acute => Water::Chronic,
                    Water::Chronic => Water::Acute,
                }),
            });
            let same = own.is_none()
                && gathered
                    .factors
                    .iter()
                    .filter(|other| other.1.is_none() && other.2 == *before)
                    .count()
                    > 1;
            if both || same || water.is_none() {
                self.doubt(
                    "m_acute",
                    factor.to_string(),
                    "the sheet does not say whether that M-factor is acute or chronic",
                    "compare it with the sheet",
                );
            }
            if both {
                self.m_acute.get_or_insert(factor);
                self.m_chronic.get_or_insert(factor);
                continue;
            }
            // Two after one another: the acute one first.
            let water = if same {
                Some(if at == 0 {
                    Water::Acute
                } else {
                    Water::Chronic
                })
            } else {
                water
            };
            let slot = match water {
                Some(Water::Acute) => &mut self.m_acute,
                Some(Water::Chronic) => &mut self.m_chronic,
                None => continue,
            };
            if slot.is_some_and(|known| known != factor) {
                self.doubt(
                    "m_acute",
                    factor.to_string(),
                    "there are two M-factors for the same class",
                    "compare them with the sheet; the first was taken",
                );
            } else {
                *slot = Some(factor);
            }
        }
    }

    fn take_estimates(&mut self, gathered: &Gathered) {
        for found in &gathered.estimates {
            let text = found.text.split_whitespace().collect::<Vec<_>>().join(" ");
            let value = found.value.filter(|value| !value.is_zero());
            let (Some(kind), Some(value)) = (found.kind, value) else {
                self.doubt(
                    "ate",
                    text,
                    "it is not clear by which way or in which form that estimate is; it was not taken",
                    "add it where it belongs: swallowed, skin, vapour or mist",
                );
                continue;
            };
            if found.thousands {
                self.doubt(
                    "ate",
                    text.clone(),
                    format!("taken for {value}, its mark as one of thousands"),
                    "compare it with the sheet",
                );
            }
            let estimate = AcuteEstimate {
                kind,
                value: value.normalize(),
                above: found.above,
            };
            match self.estimates.iter().find(|known| known.kind == kind) {
                None => self.estimates.push(estimate),
                Some(known) if *known == estimate => {}
                Some(_) => self.doubt(
                    "ate",
                    text,
                    "there is a second estimate for the same way",
                    "compare them with the sheet; the first was taken",
                ),
            }
        }
    }
}

/// Whether a class beside a limit belongs to one that is named plainly: the same
/// class at another category, or a lesser harm to skin and eye of a corrosive.
fn belongs_to_a_plain_one(mentions: &[Mention], mention: &Mention) -> bool {
    let family = |code: &'static str| code.rsplit_once(' ').map_or(code, |(family, _)| family);
    let own = family(mention.named.code);
    mentions
        .iter()
        .filter(|other| !other.limited && !other.aside)
        .map(|other| family(other.named.code))
        .any(|plain| {
            plain == own
                || (plain == "Skin Corr."
                    && matches!(own, "Skin Irrit." | "Eye Dam." | "Eye Irrit." | "STOT SE"))
                || (plain == "Eye Dam." && own == "Eye Irrit.")
        })
}

/// The unused statement of the class that stands nearest, the one behind first.
fn nearest<'a>(codes: &'a mut [Code], mention: &Mention, aside: bool) -> Option<&'a mut Code> {
    codes
        .iter_mut()
        .filter(|code| !code.used && code.aside == aside)
        .filter(|code| Hazard::parse(&format!("{} {}", mention.named.code, code.text)).is_ok())
        .min_by_key(|code| {
            let distance = code.order.abs_diff(mention.order);
            distance * 2 + usize::from(code.order < mention.order)
        })
}

/// Takes off what stands around a name and is none of it.
fn tidy_name(text: &str) -> String {
    let mut name = text.split_whitespace().collect::<Vec<_>>().join(" ");
    loop {
        let before = name.len();
        name = name
            .trim_matches(|sign: char| {
                sign.is_whitespace()
                    || matches!(
                        sign,
                        ';' | ':' | ',' | '*' | '|' | '\u{2022}' | '=' | '\u{b7}' | '/'
                    )
            })
            .trim_start_matches("- ")
            .trim_end_matches(" -")
            .to_owned();
        for (open, close) in [('(', ')'), ('[', ']')] {
            let (opened, closed) = (name.matches(open).count(), name.matches(close).count());
            if opened > closed && name.ends_with(open) {
                name.pop();
            }
            if closed > opened && name.ends_with(close) {
                name.pop();
            }
            if closed > opened && name.starts_with(close) {
                name.remove(0);
            }
        }
        for label in [
            "Name:",
            "Chemical name:",
            "Substance:",
            "Stoff:",
            "Stoffname:",
            "Bezeichnung:",
            "Nom:",
            "Nombre:",
            "Sustancia:",
            "Component:",
        ] {
            if let Some(rest) = name
                .get(..label.len())
                .filter(|head| head.eq_ignore_ascii_case(label))
                .and(name.get(label.len()..))
            {
                name = rest.to_owned();
            }
        }
        if name.len() == before {
            return name;
        }
    }
}
