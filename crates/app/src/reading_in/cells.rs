//! What stands in a cell: a day, money, a figure. Which day and which decimal
//! mark is meant, the layout says; nothing is guessed here.

use jiff::civil::Date;
use measure::{Cost, Currency, Decimal, DecimalMark, Money, Unclear};
use workshop::facts::DayOrder;

/// Signs of money, with the currency each is usually the sign of; a dollar may
/// be of many countries and says nothing.
const SIGNS: [(char, Option<&str>); 5] = [
    ('$', None),
    ('€', Some("EUR")),
    ('£', Some("GBP")),
    ('¥', Some("JPY")),
    ('₹', Some("INR")),
];

/// How a day is written, for a person.
pub const fn day_words(order: DayOrder) -> &'static str {
    match order {
        DayOrder::YearMonthDay => "year, month, day, such as 2026-12-31",
        DayOrder::DayMonthYear => "day, month, year, such as 31/12/2026",
        DayOrder::MonthDayYear => "month, day, year, such as 12/31/2026",
    }
}

/// The last day of a year as it is written so.
pub const fn day_example(order: DayOrder) -> &'static str {
    match order {
        DayOrder::YearMonthDay => "2026-12-31",
        DayOrder::DayMonthYear => "31/12/2026",
        DayOrder::MonthDayYear => "12/31/2026",
    }
}

/// Reads a day, and what follows it in the cell: mostly the time.
///
/// A month in letters and a year in front are read in any order, since they
/// can mean one day only.
///
/// # Errors
///
/// [`Unclear`] for what is no day of the calendar in that order.
pub fn day(text: &str, order: DayOrder) -> Result<(Date, String), Unclear> {
    let accepted = || format!("write {}", day_words(order));
    let wrong = |wrong: &'static str| Unclear::new(text, wrong, accepted());
    let text = text.trim();
    if text.is_empty() {
        return Err(wrong("the day is missing"));
    }
    let (parts, rest) = day_parts(text).ok_or_else(|| wrong("it is not a day"))?;
    let number = |nth: usize| match parts[nth] {
        Part::Number(number, _) => Some(number),
        Part::Month(_) => None,
    };
    let places = match (&parts[0], &parts[1]) {
        (Part::Month(month), _) => (number(2), Some(*month), number(1)),
        (_, Part::Month(month)) if is_year(&parts[0]) => (number(0), Some(*month), number(2)),
        (_, Part::Month(month)) => (number(2), Some(*month), number(0)),
        _ if is_year(&parts[0]) => (number(0), number(1), number(2)),
        _ => match order {
            DayOrder::YearMonthDay => (number(0), number(1), number(2)),
            DayOrder::DayMonthYear => (number(2), number(1), number(0)),
            DayOrder::MonthDayYear => (number(2), number(0), number(1)),
        },
    };
    let (Some(year), Some(month), Some(day)) = places else {
        return Err(wrong("it is not a day"));
    };
    // Two digits are a year of this century.
    let year = if year < 100 { year + 2000 } else { year };
    let date = i16::try_from(year)
        .ok()
        .zip(i8::try_from(month).ok().zip(i8::try_from(day).ok()))
        .and_then(|(year, (month, day))| Date::new(year, month, day).ok())
        .filter(|date| (1990..2200).contains(&date.year()));
    date.map(|date| (date, rest))
        .ok_or_else(|| wrong("there is no such day"))
}

enum Part {
    /// A number, and how many digits it has.
    Number(u32, usize),
    /// A month by its name.
    Month(u32),
}

const fn is_year(part: &Part) -> bool {
    matches!(part, Part::Number(_, 4))
}

/// The three parts of a day at the front of a text, and the rest.
fn day_parts(text: &str) -> Option<([Part; 3], String)> {
    let mut rest = text;
    let mut parts = Vec::with_capacity(3);
    while parts.len() < 3 {
        rest = rest.trim_start_matches([' ', '-', '/', '.', ',', '\u{a0}']);
        let digits = rest
            .find(|c: char| !c.is_ascii_digit())
            .unwrap_or(rest.len());
        if digits > 0 {
            if digits > 4 {
                return None;
            }
            parts.push(Part::Number(rest[..digits].parse().ok()?, digits));
            rest = &rest[digits..];
            // 1st, 2nd, 3rd, 4th.
            for ending in ["st", "nd", "rd", "th"] {
                if let Some(after) = rest.strip_prefix(ending)
                    && !after.starts_with(char::is_alphabetic)
                {
                    rest = after;
                }
            }
            continue;
        }
        let letters = rest
            .find(|c: char| !c.is_alphabetic())
            .unwrap_or(rest.len());
        let word = rest[..letters].to_lowercase();
        rest = &rest[letters..];
        if letters == 0 {
            return None;
        }
        match month_of(&word) {
            Some(month) => parts.push(Part::Month(month)),
            // A day of the week may stand before.
            None if parts.is_empty() && is_weekday(&word) => {}
            None => return None,
        }
    }
    let rest = rest
        .trim_start_matches(['T', 't', ' ', ',', '\u{a0}'])
        .trim();
    let is_more_of_a_number = rest.starts_with(['/', '-', '.']);
    let parts = parts.try_into().ok()?;
    (!is_more_of_a_number).then(|| (parts, rest.to_owned()))
}

/// The English names of months, in full or by their first three letters.
fn month_of(word: &str) -> Option<u32> {
    const MONTHS: [&str; 12] = [
        "january",
        "february",
        "march",
        "april",
        "may",
        "june",
        "july",
        "august",
        "september",
        "october",
        "november",
        "december",
    ];
    let short = |name: &str| {
        word.len() >= 3 && name.starts_with(word) || word == "sept" && name.starts_with("sep")
    };
    let nth = MONTHS.iter().position(|name| short(name))?;
    u32::try_from(nth + 1).ok()
}

fn is_weekday(word: &str) -> bool {
    const DAYS: [&str; 7] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];
    DAYS.iter().any(|day| word.starts_with(day))
}

/// Reads a figure that may have its thousands parted, a sign before or behind,
/// or stand in brackets for less than nothing.
///
/// # Errors
///
/// [`Unclear`] for what is no figure with that decimal mark.
pub fn figure(text: &str, mark: DecimalMark) -> Result<Decimal, Unclear> {
    let accepted = match mark {
        DecimalMark::Point => "write a figure such as 1234.50",
        DecimalMark::Comma => "write a figure such as 1234,50",
    };
    let wrong = |wrong: &'static str| Unclear::new(text.trim(), wrong, accepted);
    let mut digits = text.trim();
    if digits.is_empty() {
        return Err(wrong("a figure is missing"));
    }
    let mut negative = false;
    if let Some(inside) = digits.strip_prefix('(').and_then(|it| it.strip_suffix(')')) {
        negative = true;
        digits = inside.trim();
    }
    for sign in ['-', '−', '\u{2010}', '\u{2011}'] {
        if let Some(rest) = digits
            .strip_prefix(sign)
            .or_else(|| digits.strip_suffix(sign))
        {
            negative = !negative;
            digits = rest.trim();
            break;
        }
    }
    digits = digits.strip_prefix('+').unwrap_or(digits);
    let (mark, other) = match mark {
        DecimalMark::Point => ('.', ','),
        DecimalMark::Comma => (',', '.'),
    };
    let (whole, tenths) = digits
        .split_once(mark)
        .map_or((digits, None), |(whole, tenths)| (whole, Some(tenths)));
    let groups: Vec<&str> = whole
        .split([other, ' ', '\u{a0}', '\u{202f}', '\'', '’'])
        .collect();
    let all_digits = |text: &str| text.chars().all(|c| c.is_ascii_digit());
    let grouped_well = groups.len() == 1
        || (1..=3).contains(&groups[0].len()) && groups[1..].iter().all(|group| group.len() == 3);
    let is_figure = groups.iter().all(|group| all_digits(group))
        && tenths.is_none_or(|tenths| !tenths.is_empty() && all_digits(tenths))
        && !(groups.concat().is_empty() && tenths.is_none());
    if !is_figure {
        return Err(wrong("it is not a figure"));
    }
    if !grouped_well {
        return Err(wrong("its decimal mark is not the one of this file"));
    }
    let whole = groups.concat();
    let whole = if whole.is_empty() { "0" } else { &whole };
    let plain = tenths.map_or_else(|| whole.to_owned(), |tenths| format!("{whole}.{tenths}"));
    let value = Decimal::from_str_exact(&plain).map_err(|_| wrong("it is too long"))?;
    Ok(if negative { -value } else { value })
}

/// Reads an amount of money, before it is rounded to coins; below nothing for
/// money that went the other way.
///
/// # Errors
///
/// [`Unclear`] for what is no amount, and for another currency than `own`.
pub fn cost(text: &str, mark: DecimalMark, own: Currency) -> Result<Cost, Unclear> {
    let trimmed = text.trim();
    let foreign = |code: &str| {
        Unclear::new(
            trimmed,
            format!("it is in {code}, and the books are kept in {}", own.code()),
            "write what came into the account",
        )
    };
    let mut bare = String::with_capacity(trimmed.len());
    let mut code = String::new();
    for letter in trimmed.chars() {
        if let Some((_, of)) = SIGNS.iter().find(|(sign, _)| *sign == letter) {
            if let Some(of) = of.filter(|of| *of != own.code()) {
                return Err(foreign(of));
            }
        } else if letter.is_alphabetic() {
            code.extend(letter.to_uppercase());
        } else {
            bare.push(letter);
        }
    }
    // A dollar of one country beside its sign: US$, AU$.
    if !code.is_empty()
        && code != own.code()
        && !(trimmed.contains('$') && own.code().starts_with(&code))
    {
        return Err(match Currency::from_code(&code) {
            Some(_) => foreign(&code),
            None => Unclear::new(
                trimmed,
                "it is not an amount",
                "write an amount such as 12.50",
            ),
        });
    }
    figure(&bare, mark).map(|major| Cost::new(major, own))
}

/// Reads an amount of money, rounded half-even to coins.
///
/// # Errors
///
/// As [`cost`].
pub fn money(text: &str, mark: DecimalMark, own: Currency) -> Result<Money, Unclear> {
    let cost = cost(text, mark, own)?;
    cost.rounded()
        .ok_or_else(|| Unclear::new(text.trim(), "the amount is too large", "look at the figure"))
}

/// The figure in a name that says how many are in one: a 3-pack, x50, a set of
/// 4. Common practice, no source.
pub fn in_pack(name: &str) -> Option<u32> {
    const PACKS: [&str; 11] = [
        "pack", "packs", "pk", "set", "box", "bag", "piece", "pieces", "pcs", "ct", "count",
    ];
    const UNITS: [&str; 8] = ["oz", "g", "kg", "lb", "lbs", "ml", "cm", "mm"];
    let parts = figures_and_words(name);
    let at = |nth: Option<usize>| {
        nth.and_then(|nth| parts.get(nth))
            .map_or("", String::as_str)
    };
    parts.iter().enumerate().find_map(|(nth, part)| {
        let before = |back: usize| at(nth.checked_sub(back));
        let after = |on: usize| at(nth.checked_add(on));
        let is_of_pack = before(1) == "of" && PACKS.contains(&before(2));
        // A figure on both sides tells a size.
        let is_times = after(1) == "x" && !is_figures(after(2));
        let is_by = before(1) == "x" && !is_figures(before(2)) && !UNITS.contains(&after(1));
        let is_it = PACKS.contains(&after(1)) || is_of_pack || is_times || is_by;
        let figure = part.parse::<u32>().ok();
        figure.filter(|figure| is_it && (2..=10_000).contains(figure))
    })
}

fn is_figures(part: &str) -> bool {
    part.starts_with(|c: char| c.is_ascii_digit())
}

/// The figures and the words of a name, parted from each other.
fn figures_and_words(name: &str) -> Vec<String> {
    let mut parts: Vec<String> = Vec::new();
    let mut before = None;
    for letter in name.to_lowercase().chars() {
        let letter = if letter == '×' { 'x' } else { letter };
        let is_digit = letter.is_ascii_digit();
        let is = (is_digit || letter.is_alphabetic()).then_some(is_digit);
        match parts.last_mut() {
            Some(part) if is.is_some() && is == before => part.push(letter),
            _ if is.is_some() => parts.push(letter.to_string()),
            _ => {}
        }
        before = is;
    }
    parts
}
