//! The pieces pages are made of. They arrange finished text; none computes.

use maud::{Markup, PreEscaped, html};
use measure::{Problem, Problems, Working};

/// A figure with its unit smaller and never separated from it: `18.7 oz`.
/// Several terms, `1 lb 2.5 oz`, stay together too.
pub(crate) fn fig(text: impl AsRef<str>) -> Markup {
    let text = text.as_ref();
    html! {
        span.fig {
            @for (i, word) in text.split(' ').enumerate() {
                @let number = word.starts_with(|c: char| c.is_ascii_digit() || c == '-' || c == '−' || c == '(');
                @if number {
                    @if i > 0 { " " }
                    (word)
                } @else if i == 0 {
                    (word)
                } @else {
                    span.u { "\u{a0}" (word) }
                }
            }
        }
    }
}

/// The heading: the question the page answers.
pub(crate) fn question(text: &str) -> Markup {
    html! { h1 { (text) } }
}

/// The answer, largest thing on the page, with the other system beside it and
/// the doubt below.
pub(crate) fn answer(figure: &str, also: &str, doubt: &str) -> Markup {
    html! {
        p.answer {
            (fig(figure))
            @if !also.is_empty() { " " span.also { (also) } }
        }
        @if !doubt.is_empty() { p.doubt { (doubt) } }
    }
}

/// An answer in words.
pub(crate) fn answer_words(words: &str, doubt: &str) -> Markup {
    html! {
        p.answer.words { (words) }
        @if !doubt.is_empty() { p.doubt { (doubt) } }
    }
}

/// A verdict: a word, a shape and a colour.
pub(crate) fn verdict(class: &'static str, word: &str) -> Markup {
    html! { span class={ "verdict " (class) } { (word) } }
}

/// The working, closed by default, as ruled notebook lines.
pub(crate) fn working(id: &str, working: &Working) -> Markup {
    html! {
        details.working id=(id) {
            summary { "Working" }
            ol {
                @for step in working.steps() {
                    li {
                        span.what { (step.label) }
                        span.result { (step.result) }
                        span.how {
                            (step.formula)
                            @if !step.numbers.is_empty() { " = " (step.numbers) }
                        }
                        @if !step.source.is_empty() { span.source { (step.source) } }
                    }
                }
            }
        }
    }
}

/// A box to write in, with its label, hint and what is wrong with it.
pub(crate) struct Field<'a> {
    /// The form's name for it; also the `id`, prefixed by the form's.
    pub name: &'a str,
    /// The label.
    pub label: &'a str,
    /// What stands in it.
    pub value: &'a str,
    /// A word of help below; may be empty.
    pub hint: &'a str,
    /// The keyboard a phone brings: `text`, `decimal`, `numeric`.
    pub keys: &'static str,
    /// Whether a missing value is refused; refused by the server all the same.
    pub required: bool,
    /// Whether the answer waits for it: the label says so, and nothing stops a
    /// form that is only half filled.
    pub needed: bool,
}

impl<'a> Field<'a> {
    /// A plain text box.
    pub(crate) const fn text(name: &'a str, label: &'a str, value: &'a str) -> Self {
        Self {
            name,
            label,
            value,
            hint: "",
            keys: "text",
            required: false,
            needed: false,
        }
    }

    /// The answer waits for this one.
    pub(crate) const fn needed(mut self) -> Self {
        self.needed = true;
        self
    }

    /// A help line below.
    pub(crate) const fn hint(mut self, hint: &'a str) -> Self {
        self.hint = hint;
        self
    }

    /// The keyboard of a phone.
    pub(crate) const fn keys(mut self, keys: &'static str) -> Self {
        self.keys = keys;
        self
    }

    /// Draws it, with the problem that `problems` holds for it.
    pub(crate) fn draw(&self, problems: &Problems) -> Markup {
        let problem = problems.of(self.name);
        let id = id_of(self.name);
        html! {
            div.field.wrong[problem.is_some()] {
                label.needed[self.needed] for=(id) { (self.label) }
                input type="text" id=(id) name=(self.name) value=(self.value) inputmode=(self.keys)
                    autocomplete="off" required[self.required] aria-required=[self.needed.then_some("true")]
                    aria-invalid=[problem.map(|_| "true")]
                    aria-describedby=[(problem.is_some() || !self.hint.is_empty()).then(|| format!("{id}-more"))];
                (beneath(&id, self.hint, problem))
            }
        }
    }
}

/// A box of several lines, with its label, hint and what is wrong with it.
pub(crate) fn text_area(
    name: &str,
    label: &str,
    value: &str,
    hint: &str,
    problems: &Problems,
) -> Markup {
    let problem = problems.of(name);
    let id = id_of(name);
    html! {
        div.field.wrong[problem.is_some()] {
            label for=(id) { (label) }
            textarea id=(id) name=(name) rows="3" aria-invalid=[problem.map(|_| "true")]
                aria-describedby=[(problem.is_some() || !hint.is_empty()).then(|| format!("{id}-more"))] {
                // A browser drops the first line break of a text area.
                @if value.starts_with('\n') { "\n" }
                (value)
            }
            (beneath(&id, hint, problem))
        }
    }
}

/// A box to tick where what was typed in `field` is doubtful; there only once
/// the question was asked. It carries the very text it says yes to.
pub(crate) fn sure(field: &str, text: &str, yes: &str, problems: &Problems) -> Markup {
    let name = format!("sure_{field}");
    let id = id_of(&name);
    html! {
        @if let Some(problem) = problems.of(&name) {
            div.field.wrong {
                label.choice for=(id) {
                    input type="checkbox" id=(id) name=(name) value=(text)
                        aria-invalid="true" aria-describedby={ (id) "-more" };
                    (yes)
                }
                (beneath(&id, "", Some(problem)))
            }
        }
    }
}

/// A box for a day up to `today`, which stands in it until another is chosen.
pub(crate) fn past_day(
    name: &str,
    label: &str,
    value: &str,
    today: jiff::civil::Date,
    problems: &Problems,
) -> Markup {
    let problem = problems.of(name);
    let id = id_of(name);
    let today = today.to_string();
    let value = if value.is_empty() { &today } else { value };
    html! {
        div.field.wrong[problem.is_some()] {
            label for=(id) { (label) }
            input type="date" id=(id) name=(name) value=(value) max=(today)
                aria-invalid=[problem.map(|_| "true")]
                aria-describedby=[problem.map(|_| format!("{id}-more"))];
            (beneath(&id, "", problem))
        }
    }
}

/// A box for a day, past or to come.
pub(crate) fn any_day(name: &str, label: &str, value: &str, problems: &Problems) -> Markup {
    let problem = problems.of(name);
    let id = id_of(name);
    html! {
        div.field.wrong[problem.is_some()] {
            label for=(id) { (label) }
            input type="date" id=(id) name=(name) value=(value)
                aria-invalid=[problem.map(|_| "true")]
                aria-describedby=[problem.map(|_| format!("{id}-more"))];
            (beneath(&id, "", problem))
        }
    }
}

/// A choice among a few; `options` are (value, words).
pub(crate) fn select(
    name: &str,
    label: &str,
    chosen: &str,
    options: &[(String, String)],
    hint: &str,
    problems: &Problems,
) -> Markup {
    let problem = problems.of(name);
    let id = id_of(name);
    html! {
        div.field.wrong[problem.is_some()] {
            label for=(id) { (label) }
            select id=(id) name=(name) aria-describedby=[(problem.is_some() || !hint.is_empty()).then(|| format!("{id}-more"))] {
                @for (value, words) in options {
                    option value=(value) selected[value == chosen] { (words) }
                }
            }
            (beneath(&id, hint, problem))
        }
    }
}

pub(crate) fn beneath(id: &str, hint: &str, problem: Option<&Problem>) -> Markup {
    html! {
        @if let Some(problem) = problem {
            p.problem id={ (id) "-more" } { (said(problem)) }
        } @else if !hint.is_empty() {
            span.hint id={ (id) "-more" } { (hint) }
        }
    }
}

fn said(problem: &Problem) -> String {
    format!("{}; {}.", capital(&problem.wrong), problem.accepted)
}

/// What was typed in the boxes named, as the end of an address; empty where
/// nothing was.
pub(crate) fn carried(pairs: &[(String, String)], names: &[&str]) -> String {
    let escaped = |text: &str| -> String {
        text.bytes()
            .map(|byte| match byte {
                b'0'..=b'9' | b'A'..=b'Z' | b'a'..=b'z' | b'-' | b'_' | b'.' => {
                    char::from(byte).to_string()
                }
                byte => format!("%{byte:02X}"),
            })
            .collect()
    };
    let typed: Vec<_> = pairs
        .iter()
        .filter(|(name, text)| names.contains(&name.as_str()) && !text.trim().is_empty())
        .map(|(name, text)| format!("{}={}", escaped(name), escaped(text)))
        .collect();
    if typed.is_empty() {
        String::new()
    } else {
        format!("?{}", typed.join("&"))
    }
}

/// Words as a sentence begins.
pub(crate) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().chain(letters).collect())
        .unwrap_or_default()
}

/// A form field's `id`: its name without the characters CSS trips over.
pub(crate) fn id_of(name: &str) -> String {
    format!("f-{}", name.replace(['[', ']', '.'], "-"))
}

/// What is wrong with a form, above it, each line leading to its box.
pub(crate) fn problems(problems: &Problems) -> Markup {
    html! {
        @if !problems.is_empty() {
            div.problems role="alert" {
                h2 { "Nothing was written down yet" }
                (problem_list(problems))
            }
        }
    }
}

/// What is still open before figures can be worked out, each line leading to
/// its box. Nothing was asked to be kept, so nothing is refused.
pub(crate) fn still_open(problems: &Problems) -> Markup {
    html! {
        @if !problems.is_empty() {
            div.open-questions role="status" {
                p { "The figures follow as soon as this can be read:" }
                (problem_list(problems))
            }
        }
    }
}

/// The heading of a column of weights in the other system of units.
pub(crate) const fn in_words(system: measure::System) -> &'static str {
    match system {
        measure::System::Metric => "In grams",
        measure::System::Us | measure::System::Imperial => "In ounces",
    }
}

/// The problems alone, each line leading to its box.
pub(crate) fn problem_list(problems: &Problems) -> Markup {
    html! {
        ul {
            @for problem in problems {
                li {
                    @if problem.field.is_empty() {
                        (said(problem))
                    } @else {
                        a href={ "#" (id_of(&problem.field)) } { (said(problem)) }
                    }
                    @if !problem.given.is_empty() { " You wrote \"" (problem.given) "\"." }
                }
            }
        }
    }
}

/// A picture drawn on the server, with its title, its text alternative and its
/// data as a table.
pub(crate) fn picture(picture: &press::Picture) -> Markup {
    html! {
        figure {
            figcaption { (picture.title) }
            (PreEscaped(&picture.svg))
            details {
                summary { "The same in words and figures" }
                p { (picture.text) }
                (data_table(&picture.table))
            }
        }
    }
}

fn data_table(table: &press::Table) -> Markup {
    html! {
        div.scroll {
            table {
                thead { tr { @for head in &table.headers { th { (head) } } } }
                tbody { @for row in &table.rows { tr { @for cell in row { td { (cell) } } } } }
            }
        }
    }
}

/// A line for a place where nothing is yet: what belongs there, and the first verb.
pub(crate) fn empty(what: &str, path: &str, verb: &str) -> Markup {
    html! {
        p.empty { (what) }
        p.next { a.button.do href=(path) { (verb) } }
    }
}

/// A day as people write it: `4 Oct 2026`.
pub(crate) fn day(day: jiff::civil::Date) -> String {
    day.strftime("%-d %b %Y").to_string()
}

/// Pairs as they stand in an address.
pub(crate) fn query<N: AsRef<str>, T: AsRef<str>>(pairs: &[(N, T)]) -> String {
    let escaped = |text: &str| {
        let byte = |byte: u8| match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'_' => {
                char::from(byte).to_string()
            }
            byte => format!("%{byte:02X}"),
        };
        text.bytes().map(byte).collect::<String>()
    };
    let pairs: Vec<_> = pairs
        .iter()
        .map(|(name, text)| format!("{}={}", escaped(name.as_ref()), escaped(text.as_ref())))
        .collect();
    pairs.join("&")
}

/// A count with its noun: `1 bar`, `11 bars`.
pub(crate) fn counted(n: u32, noun: &str) -> String {
    if n == 1 {
        format!("1 {noun}")
    } else {
        format!("{n} {noun}s")
    }
}

/// Writes amounts of a currency for a picture, to its minor unit.
pub(crate) fn money_writer(currency: measure::Currency) -> impl Fn(f64) -> String {
    let places = u32::from(currency.exponent().unwrap_or(0));
    move |amount| format!("{} {}", measure::figure(amount, places), currency.code())
}

/// What stands on every page and sheet with a hazard's result.
pub(crate) fn hazard_caution() -> Markup {
    html! {
        p.note.caution {
            "This informs; it does not certify, and it is not legal advice. The supplier's current safety data sheet comes first. "
            "Where the result rests on unknown or unconfirmed lines it says so, and nothing here means that a thing is safe. "
            "Only the official text of the law binds; in doubt ask the authority or a person licensed for it."
        }
    }
}
