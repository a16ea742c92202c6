//! Safety data sheets and certificates: from texts as typed.

use hazard::table::Substance;
use hazard::{AcuteEstimate, Band, Cas, EstimateKind, Hazard, Ingredient, Share};
use jiff::civil::Date;
use measure::{Checker, Decimal, DecimalMark, Ratio, Reading, Unclear, parse_decimal};
use workshop::decide::{self, Filing};
use workshop::facts::{LineBasis, Rest, SheetLine, SupplyId};
use workshop::{Sheet, Workshop};

use crate::forms::{Filled, as_typed};
use crate::{ActError, App, Done};

/// What a form writes for a substance that the sheet says is not classified.
pub const NOT_CLASSIFIED: &str = "not classified";
/// What a ticked box sends.
pub const TICKED: &str = "yes";

const DAY_ACCEPTED: &str = "write the day as 2026-03-14 or 14 Mar 2026";
const CLASSES_ACCEPTED: &str =
    "write classes as the sheet does, such as Skin Sens. 1B H317; or: not classified";
const LIMITS_ACCEPTED: &str =
    "write a class and from which share on, such as Skin Sens. 1: >= 0.1 %";
const ESTIMATES_ACCEPTED: &str =
    "write the way and the figure, such as oral 500 mg/kg or vapour 11 mg/l";

/// The parts of a line in a form.
const PARTS: [&str; 9] = [
    "name",
    "cas",
    "share",
    "classes",
    "m_acute",
    "m_chronic",
    "ate",
    "limits",
    "confirmed",
];

/// Files a sheet of `lines[0]`, `lines[1]` ...; lines left empty are passed over.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn file_sheet(
    app: &App,
    who: &str,
    supply: SupplyId,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, day| {
        let mut check = Checker::default();
        let lines = read_lines(filled, workshop.reading(), &mut check);
        let dated = check.optional("dated", filled.some("dated"), read_day);
        let rest = check.required("rest", Some(filled.get("rest")), |text| match text {
            "not_hazardous" => Ok(Rest::NotHazardous),
            "unknown" => Ok(Rest::Unknown),
            _ => Err(Unclear::new(
                text,
                "the rest of the oil is left open",
                "choose under \"The rest\": not hazardous, or unknown",
            )),
        });
        let places: Vec<usize> = lines.iter().map(|(at, _)| *at).collect();
        let filing = Filing {
            supplier: filled.get("sheet_supplier").to_owned(),
            dated,
            version: filled.get("version").to_owned(),
            lines: lines.into_iter().map(|(_, line)| line).collect(),
            rest: rest.unwrap_or(Rest::Unknown),
            older_is_meant: filled.get("older_is_meant") == TICKED,
        };
        // What the decision finds is said together with what cannot be read.
        let unread = check.into_problems();
        match decide::file_sheet(workshop, supply, filing, day) {
            Ok(facts) if unread.is_empty() => Ok(facts),
            Ok(_) => Err(unread.into()),
            Err(workshop::Refusal::Input(found)) => {
                let found = found.0.into_iter().map(|problem| measure::Problem {
                    field: at_typed_line(&problem.field, &places),
                    ..problem
                });
                let mut all = unread.0;
                for problem in found {
                    if !all.iter().any(|known| known.field == problem.field) {
                        all.push(problem);
                    }
                }
                Err(measure::Problems(all).into())
            }
            Err(other) => Err(other),
        }
    })
}

/// A field of the decision's line as the form numbers it, where empty lines
/// were passed over.
fn at_typed_line(field: &str, places: &[usize]) -> String {
    let moved = || {
        let (nth, part) = field.strip_prefix("lines[")?.split_once(']')?;
        let place = places.get(nth.parse::<usize>().ok()?)?;
        Some(format!("lines[{place}]{part}"))
    };
    moved().unwrap_or_else(|| field.to_owned())
}

/// Reads the lines of a form that have anything in them, each with its number.
fn read_lines(filled: &Filled, reading: Reading, check: &mut Checker) -> Vec<(usize, SheetLine)> {
    let mut lines = Vec::new();
    for i in 0..filled.lines("lines") {
        let field = |part: &str| format!("lines[{i}].{part}");
        if is_empty_line(filled, i) {
            continue;
        }
        let text = |part: &str| filled.get(&field(part));
        let some = |part: &str| Some(text(part)).filter(|text| !text.is_empty());
        let cas = check.optional(&field("cas"), some("cas"), Cas::parse);
        let share = check.required(&field("share"), Some(text("share")), |text| {
            read_share(text, reading)
        });
        let classes = check.optional(&field("classes"), some("classes"), read_classes);
        let m_acute = check.optional(&field("m_acute"), some("m_acute"), read_factor);
        let m_chronic = check.optional(&field("m_chronic"), some("m_chronic"), read_factor);
        let estimates = check.optional(&field("ate"), some("ate"), |text| {
            read_estimates(text, reading)
        });
        let bands = check.optional(&field("limits"), some("limits"), |text| {
            read_limits(text, reading)
        });
        let basis = match text("basis") {
            "table" => LineBasis::Table,
            _ => LineBasis::OwnSheet,
        };
        let ingredient = Ingredient {
            name: text("name").to_owned(),
            cas,
            share: share.unwrap_or(Share::NOTHING),
            hazards: classes,
            m_acute,
            m_chronic,
            estimates: estimates.unwrap_or_default(),
            bands: bands.unwrap_or_default(),
        };
        let line = SheetLine {
            confirmed: text("confirmed") == TICKED,
            ..SheetLine::of(&ingredient, basis)
        };
        lines.push((i, line));
    }
    lines
}

/// Whether nothing stands in a line of the form.
pub fn is_empty_line(filled: &Filled, i: usize) -> bool {
    PARTS
        .iter()
        .filter(|part| **part != "confirmed")
        .all(|part| filled.some(&format!("lines[{i}].{part}")).is_none())
}

/// The ingredient that stands in a line of the form, as far as it can be read:
/// to hold it against the table.
pub fn tried_line(workshop: &Workshop, filled: &Filled, i: usize) -> Option<Ingredient> {
    if is_empty_line(filled, i) {
        return None;
    }
    let mut only = Filled::default();
    for part in PARTS {
        let field = format!("lines[{i}].{part}");
        only = only.or(&format!("lines[0].{part}"), filled.get(&field));
    }
    let mut check = Checker::default();
    let lines = read_lines(&only, workshop.reading(), &mut check);
    lines.first().map(|(_, line)| line.ingredient())
}

/// Notes each line ticked in `line` as compared with the supplier's own sheet.
///
/// # Errors
///
/// [`ActError`] for a line that is not there or a sheet no longer in force.
pub fn confirm_lines(
    app: &App,
    who: &str,
    supply: SupplyId,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, _| {
        let mut check = Checker::default();
        let number = |text: &str| {
            text.parse::<u32>()
                .map_err(|_| Unclear::new(text, "it is not a number", "go by the page's own boxes"))
        };
        let sheet = check.required("sheet", Some(filled.get("sheet")), number);
        let ticked: Vec<_> = filled
            .pairs()
            .iter()
            .filter(|(name, _)| name == "line")
            .filter_map(|(_, text)| check.keep("line", number(text)))
            .collect();
        let (true, Some(sheet)) = (check.is_clean(), sheet) else {
            return Err(check.into_problems().into());
        };
        if ticked.is_empty() {
            return Err(measure::Problem::new(
                "line",
                "",
                "no line is ticked",
                "tick the lines that you have compared with the sheet",
            )
            .into());
        }
        let mut facts = Vec::new();
        for line in ticked {
            facts.extend(decide::confirm_sheet_line(workshop, supply, sheet, line)?);
        }
        Ok(facts)
    })
}

/// Files a certificate of an oil.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn file_certificate(
    app: &App,
    who: &str,
    supply: SupplyId,
    filled: &Filled,
) -> Result<Done, ActError> {
    app.act(who, |workshop, day| {
        let mut check = Checker::default();
        let maximum = check.required("maximum", Some(filled.get("maximum")), |text| {
            let text = if text.is_empty() || text.ends_with('%') {
                text.to_owned()
            } else {
                format!("{text} %")
            };
            Ratio::parse(&text, workshop.reading())
        });
        let dated = check.optional(
            "certificate_dated",
            filled.some("certificate_dated"),
            read_day,
        );
        let (true, Some(maximum)) = (check.is_clean(), maximum) else {
            return Err(check.into_problems().into());
        };
        decide::file_certificate(
            workshop,
            supply,
            filled.get("category"),
            maximum,
            dated,
            day,
        )
    })
}

/// Fills a form with a sheet on file, so that it can be put right or brought up
/// to a newer one. Nothing in it is taken over as confirmed.
pub fn of_sheet(workshop: &Workshop, sheet: &Sheet, filled: Filled) -> Filled {
    let mut filled = filled
        .or("sheet_supplier", sheet.supplier.as_str())
        .or(
            "dated",
            sheet.dated.map_or_else(String::new, |day| day.to_string()),
        )
        .or("version", sheet.version.as_str())
        .or(
            "rest",
            match sheet.rest {
                Rest::NotHazardous => "not_hazardous",
                Rest::Unknown => "unknown",
            },
        );
    for line in &sheet.lines {
        filled = with_line(workshop, filled, &line.ingredient(), line.basis);
    }
    filled
}

/// Puts an ingredient into the first empty line of a form, not confirmed.
#[must_use]
pub fn with_line(
    workshop: &Workshop,
    filled: Filled,
    ingredient: &Ingredient,
    basis: LineBasis,
) -> Filled {
    let from = Proposed {
        share: Some(ingredient.share),
        basis,
        source: String::new(),
        doubts: String::new(),
    };
    with_proposed(workshop, filled, ingredient, &from)
}

/// What a line of a form is proposed from.
struct Proposed {
    share: Option<Share>,
    basis: LineBasis,
    /// The lines of the sheet it was read from.
    source: String,
    /// What is doubtful about it, a line each.
    doubts: String,
}

fn with_proposed(
    workshop: &Workshop,
    mut filled: Filled,
    ingredient: &Ingredient,
    from: &Proposed,
) -> Filled {
    let n = filled.lines("lines");
    let i = (0..n).find(|i| is_empty_line(&filled, *i)).unwrap_or(n);
    let share = from
        .share
        .map_or_else(String::new, |share| share.to_string());
    let text = |number: Option<u32>| number.map_or_else(String::new, |n| n.to_string());
    for (part, text) in [
        ("name", ingredient.name.clone()),
        (
            "cas",
            ingredient
                .cas
                .map_or_else(String::new, |cas| cas.to_string()),
        ),
        ("share", as_typed(workshop, share)),
        ("classes", classes_text(ingredient.hazards.as_deref())),
        ("m_acute", text(ingredient.m_acute)),
        ("m_chronic", text(ingredient.m_chronic)),
        ("ate", estimates_text(workshop, &ingredient.estimates)),
        ("limits", limits_text(workshop, &ingredient.bands)),
        (
            "basis",
            match from.basis {
                LineBasis::OwnSheet => "own_sheet".to_owned(),
                LineBasis::Table => "table".to_owned(),
            },
        ),
        ("confirmed", String::new()),
        ("source", from.source.clone()),
        ("doubts", from.doubts.clone()),
    ] {
        filled = filled.with(&format!("lines[{i}].{part}"), text);
    }
    filled
}

/// Whether a line of the form has that substance already.
fn is_in(filled: &Filled, ingredient: &Ingredient) -> bool {
    (0..filled.lines("lines")).any(|i| {
        let has = |part: &str, text: &str| filled.get(&format!("lines[{i}].{part}")) == text;
        match ingredient.cas {
            Some(cas) => has("cas", &cas.to_string()),
            None => !ingredient.name.is_empty() && has("name", &ingredient.name),
        }
    })
}

/// Puts what was read from a sheet's text into a form: its head where the boxes
/// are empty, and a line for each substance that is not there yet. Nothing of
/// it is confirmed.
#[must_use]
pub fn with_read(workshop: &Workshop, mut filled: Filled, read: &hazard::sheet::Sheet) -> Filled {
    let head = &read.head;
    let dated = head.dated.map(|dated| dated.to_string());
    for (field, found) in [
        ("sheet_supplier", &head.supplier),
        ("dated", &dated),
        ("version", &head.version),
    ] {
        if let Some(found) = found.as_ref().filter(|_| filled.some(field).is_none()) {
            filled = filled.with(field, found.as_str());
        }
    }
    // Two lines of one sheet stay two, so that the maker sees both.
    let before = filled.clone();
    for proposal in &read.proposals {
        let ingredient = Ingredient {
            name: proposal.name.clone(),
            cas: proposal.cas,
            share: proposal.share.unwrap_or(Share::NOTHING),
            hazards: proposal.hazards.clone(),
            m_acute: proposal.m_acute,
            m_chronic: proposal.m_chronic,
            estimates: proposal.estimates.clone(),
            bands: proposal.bands.clone(),
        };
        if is_in(&before, &ingredient) {
            continue;
        }
        let doubts: Vec<_> = proposal
            .doubts
            .iter()
            .map(|doubt| format!("{}: {}; {}", doubt.field, doubt.wrong, doubt.accepted))
            .collect();
        let source: Vec<_> = proposal.lines.iter().map(|line| line.text.trim()).collect();
        let from = Proposed {
            share: proposal.share,
            basis: LineBasis::OwnSheet,
            source: source.join(" / "),
            doubts: doubts.join("\n"),
        };
        filled = with_proposed(workshop, filled, &ingredient, &from);
    }
    filled
}

/// Puts a substance of the table into a form as a first fill, without a share
/// and not confirmed; the form as it was when it is there already.
#[must_use]
pub fn with_first_fill(workshop: &Workshop, filled: Filled, row: &Substance) -> Filled {
    let fill = row.ingredient(Share::NOTHING);
    if is_in(&filled, &fill.ingredient) {
        return filled;
    }
    let from = Proposed {
        share: None,
        basis: LineBasis::Table,
        source: String::new(),
        doubts: fill.questions.join("\n"),
    };
    with_proposed(workshop, filled, &fill.ingredient, &from)
}

/// Classes as a form takes them.
pub fn classes_text(hazards: Option<&[Hazard]>) -> String {
    match hazards {
        None => String::new(),
        Some([]) => NOT_CLASSIFIED.to_owned(),
        Some(hazards) => {
            let texts: Vec<_> = hazards
                .iter()
                .map(|hazard| {
                    if hazard.minimum {
                        format!("{hazard} *")
                    } else {
                        hazard.to_string()
                    }
                })
                .collect();
            texts.join("; ")
        }
    }
}

/// Estimates as a form takes them.
pub fn estimates_text(workshop: &Workshop, estimates: &[AcuteEstimate]) -> String {
    let texts: Vec<_> = estimates
        .iter()
        .map(|estimate| {
            let (way, unit) = way(estimate.kind);
            let above = if estimate.above { "> " } else { "" };
            let figure = as_typed(workshop, estimate.value.normalize());
            format!("{way} {above}{figure} {unit}")
        })
        .collect();
    texts.join("; ")
}

const fn way(kind: EstimateKind) -> (&'static str, &'static str) {
    match kind {
        EstimateKind::Oral => ("oral", "mg/kg"),
        EstimateKind::Dermal => ("dermal", "mg/kg"),
        EstimateKind::Gas => ("gas", "ppm"),
        EstimateKind::Vapour => ("vapour", "mg/l"),
        EstimateKind::Mist => ("mist", "mg/l"),
    }
}

/// Specific limits as a form takes them.
pub fn limits_text(workshop: &Workshop, bands: &[Band]) -> String {
    let figure = |figure: Decimal| as_typed(workshop, figure.normalize());
    let texts: Vec<_> = bands
        .iter()
        .map(|band| {
            let below = band
                .below
                .map_or_else(String::new, |below| format!(" < {} %", figure(below)));
            format!(
                "{}: >= {} %{below}",
                Hazard::from(band.class),
                figure(band.from)
            )
        })
        .collect();
    texts.join("; ")
}

fn read_share(text: &str, reading: Reading) -> Result<Share, Unclear> {
    if text.trim().is_empty() {
        return Share::parse(text, reading);
    }
    Share::parse_figures(text.trim().trim_end_matches('%'), reading)
}

fn read_factor(text: &str) -> Result<u32, Unclear> {
    let figure = text.trim().trim_start_matches(['M', 'm', '=', ' ']);
    figure.parse().map_err(|_| {
        Unclear::new(
            text,
            "that is not a multiplying factor",
            "write 1, 10, 100 and so on",
        )
    })
}

/// Reads a day as papers write it.
///
/// # Errors
///
/// [`Unclear`] for anything but `2026-03-14` and `14 Mar 2026`.
pub fn read_day(text: &str) -> Result<Date, Unclear> {
    let text = text.trim();
    text.parse()
        .or_else(|_| Date::strptime("%d %b %Y", text))
        .or_else(|_| Date::strptime("%d %B %Y", text))
        .map_err(|_| Unclear::new(text, "that is not a day", DAY_ACCEPTED))
}

/// Reads classes one after another: `Skin Sens. 1B H317, Aquatic Chronic 3
/// H412`, `Skin Irrit. 2, H315`, or `not classified`.
fn read_classes(text: &str) -> Result<Vec<Hazard>, Unclear> {
    let whole = text.trim();
    if whole.eq_ignore_ascii_case(NOT_CLASSIFIED) || whole == "-" || whole == "–" {
        return Ok(Vec::new());
    }
    let mut classes: Vec<String> = Vec::new();
    let mut open = String::new();
    for piece in whole.split([',', ';', '\n', '/']) {
        for word in piece.split_whitespace() {
            if is_statement(word) && open.is_empty() {
                // A statement behind a comma still belongs to the class before.
                match classes.last_mut().filter(|class| !has_statement(class)) {
                    Some(class) => {
                        class.push(' ');
                        class.push_str(word);
                    }
                    None => word.clone_into(&mut open),
                }
                continue;
            }
            let is_new = has_statement(&open) && word.starts_with(char::is_alphabetic);
            if is_new {
                classes.push(std::mem::take(&mut open));
            }
            if !open.is_empty() {
                open.push(' ');
            }
            open.push_str(word);
        }
        if !open.is_empty() {
            classes.push(std::mem::take(&mut open));
        }
    }
    classes
        .iter()
        .map(|class| {
            Hazard::parse(class)
                .map_err(|unclear| Unclear::new(class, unclear.wrong, CLASSES_ACCEPTED))
        })
        .collect()
}

fn is_statement(word: &str) -> bool {
    let word = word.trim_matches(|sign: char| !sign.is_ascii_alphanumeric());
    let figures = word
        .strip_prefix("EUH")
        .or_else(|| word.strip_prefix(['H', 'h']));
    figures
        .is_some_and(|rest| rest.len() >= 3 && rest.as_bytes()[..3].iter().all(u8::is_ascii_digit))
}

fn has_statement(text: &str) -> bool {
    text.split_whitespace().any(is_statement)
}

fn read_estimates(text: &str, reading: Reading) -> Result<Vec<AcuteEstimate>, Unclear> {
    pieces(text, reading)
        .map(|piece| {
            let wrong = |what: &'static str| Unclear::new(piece, what, ESTIMATES_ACCEPTED);
            let lower = piece.to_lowercase();
            let kind = [
                ("oral", EstimateKind::Oral),
                ("dermal", EstimateKind::Dermal),
                ("gas", EstimateKind::Gas),
                ("vapour", EstimateKind::Vapour),
                ("vapor", EstimateKind::Vapour),
                ("dust", EstimateKind::Mist),
                ("mist", EstimateKind::Mist),
            ]
            .into_iter()
            .find_map(|(word, kind)| lower.contains(word).then_some(kind))
            .ok_or_else(|| wrong("it does not say which way: oral, dermal, gas, vapour or mist"))?;
            let above = piece.contains('>');
            let figure: String = piece
                .chars()
                .skip_while(|sign| !sign.is_ascii_digit())
                .take_while(|sign| sign.is_ascii_digit() || matches!(sign, '.' | ','))
                .collect();
            let value =
                parse_decimal(&figure, reading).map_err(|_| wrong("there is no figure in it"))?;
            if value <= Decimal::ZERO {
                return Err(wrong("the figure must be above zero"));
            }
            Ok(AcuteEstimate { kind, value, above })
        })
        .collect()
}

fn read_limits(text: &str, reading: Reading) -> Result<Vec<Band>, Unclear> {
    pieces(text, reading)
        .map(|piece| {
            let wrong = |what: &'static str| Unclear::new(piece, what, LIMITS_ACCEPTED);
            let plain = piece.replace(['≥', '⩾'], ">=").replace(['≤', '⩽'], "<=");
            let at = plain
                .find(['>', '<'])
                .ok_or_else(|| wrong("it does not say from which share on"))?;
            let (class, limits) = plain.split_at(at);
            let class = class
                .trim()
                .trim_end_matches(['C', 'c'])
                .trim()
                .trim_end_matches(':');
            let class = Hazard::parse(class)
                .map_err(|unclear| Unclear::new(piece, unclear.wrong, LIMITS_ACCEPTED))?
                .class;
            let figure = |text: &str| {
                parse_decimal(text.trim().trim_end_matches('%').trim(), reading)
                    .map_err(|_| wrong("a share in it is not a number"))
            };
            let limits = limits
                .strip_prefix(">=")
                .ok_or_else(|| wrong("it must begin with a lower limit"))?;
            let (from, below) = match limits.split_once('<') {
                Some((from, below)) => (from, Some(figure(below)?)),
                None => (limits, None),
            };
            let from = from.trim().trim_end_matches(['-', '–', 'C', 'c', ' ']);
            Ok(Band {
                class,
                from: figure(from)?,
                below,
            })
        })
        .collect()
}

/// The entries of a box, a semicolon or a line each; a comma parts them too
/// where it is no decimal mark.
fn pieces(text: &str, reading: Reading) -> impl Iterator<Item = &str> {
    let parts = move |sign: char| match sign {
        ';' | '\n' => true,
        ',' => reading.decimal_mark == DecimalMark::Point,
        _ => false,
    };
    text.split(parts)
        .map(str::trim)
        .filter(|piece| !piece.is_empty())
}

#[cfg(test)]
mod tests {
    use measure::Reading;

    use super::{
        classes_text, is_empty_line, read_classes, read_day, read_estimates, read_limits, with_read,
    };
    use crate::forms::Filled;

    fn classes(text: &str) -> String {
        read_classes(text).map_or_else(
            |unclear| unclear.to_string(),
            |hazards| classes_text(Some(&hazards)),
        )
    }

    #[test]
    fn nothing_read_or_typed_is_dropped() {
        let text = "SECTION 3: Composition\n78-70-6  Linalool  5 - 10 %  Skin Sens. 1B H317\n\
                    78-70-6  Linalool extra  1 - 2 %  Eye Irrit. 2 H319\n";
        let read = hazard::sheet::read(text).unwrap();
        let once = with_read(&workshop::Workshop::default(), Filled::default(), &read);
        assert_eq!(once.lines("lines"), 2);
        // Pasted a second time it adds nothing.
        let twice = with_read(&workshop::Workshop::default(), once, &read);
        assert_eq!(twice.lines("lines"), 2);
        // A figure alone is a line too, and its name is asked for.
        let limit = Filled::default().with("lines[0].limits", "Skin Sens. 1: >= 0.1 %");
        assert!(!is_empty_line(&limit, 0));
    }

    #[test]
    fn classes_are_read_as_sheets_write_them() {
        for (text, meant) in [
            ("Skin Sens. 1B H317", "Skin Sens. 1B H317"),
            (
                "Flam. Liq. 3 H226, Skin Irrit. 2, H315; Aquatic Chronic 3 (H412)",
                "Flam. Liq. 3 H226; Skin Irrit. 2 H315; Aquatic Chronic 3 H412",
            ),
            (
                "Skin Irrit. 2 H315 Skin Sens. 1 H317",
                "Skin Irrit. 2 H315; Skin Sens. 1 H317",
            ),
            (
                "Acute Tox. 4 * H302\nSkin Sens. 1A",
                "Acute Tox. 4 H302 *; Skin Sens. 1A H317",
            ),
            ("not classified", "not classified"),
            ("Not Classified", "not classified"),
        ] {
            assert_eq!(classes(text), meant, "{text}");
            assert_eq!(classes(meant), meant);
        }
        for wrong in ["harmless", "H317", "Skin Sens. 1B H317, perhaps"] {
            assert!(read_classes(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn limits_and_estimates_are_read_by_the_workshops_mark() {
        let limits = read_limits(
            "Skin Sens. 1: >= 0.1 %; Skin Irrit. 2 H315: C ≥ 5 % < 10 %, Eye Irrit. 2: >= 2%",
            Reading::PLAIN,
        )
        .unwrap();
        let shown: Vec<_> = limits
            .iter()
            .map(|band| (band.class.code(), band.from.to_string(), band.below))
            .collect();
        assert_eq!(shown[0], ("Skin Sens. 1", "0.1".to_owned(), None));
        assert_eq!((shown[1].0, shown[1].2), ("Skin Irrit. 2", Some(10.into())));
        assert_eq!(shown[2].1, "2");
        let comma = read_limits("Skin Sens. 1: >= 0,1 %", hazard::share::COMMA).unwrap();
        assert_eq!(comma[0].from.to_string(), "0.1");
        let estimates = read_estimates("oral 500 mg/kg; vapour > 20 mg/l", Reading::PLAIN).unwrap();
        assert_eq!(estimates.len(), 2);
        assert!(estimates[1].above);
        for wrong in ["500 mg/kg", "oral much", "oral 0 mg/kg"] {
            assert!(read_estimates(wrong, Reading::PLAIN).is_err(), "{wrong}");
        }
        for wrong in [
            "Skin Sens. 1",
            "Skin Sens. 1: < 5 %",
            "Skin Sens. 1: >= five %",
        ] {
            assert!(read_limits(wrong, Reading::PLAIN).is_err(), "{wrong}");
        }
    }

    #[test]
    fn days_are_read_as_papers_write_them() {
        for text in ["2026-03-14", "14 Mar 2026", "14 March 2026"] {
            assert_eq!(read_day(text).unwrap().to_string(), "2026-03-14");
        }
        for wrong in ["03/14/2026", "14.3.", "soon"] {
            assert!(read_day(wrong).is_err(), "{wrong}");
        }
    }
}
