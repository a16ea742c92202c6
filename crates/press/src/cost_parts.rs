//! Where does the price of one unit go?

use crate::canvas::{Anchor, Canvas, NARROW, spread};
use crate::scale::share;
use crate::words::{fit, list, width};
use crate::{Picture, Table, Write};

/// One part of the cost.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CostPart<'a> {
    /// What it is called: `materials`, `wrap`, `labour`.
    pub name: &'a str,
    /// How much of it one unit carries.
    pub amount: f64,
}

/// What one unit costs and sells for.
#[derive(Clone, Copy)]
pub struct CostParts<'a> {
    /// What it is, one of them: `bar`.
    pub name: &'a str,
    /// The price of one; without it, only the cost is shown.
    pub price: Option<f64>,
    /// The parts of the cost, in the order they are drawn from below.
    pub parts: &'a [CostPart<'a>],
    /// What is left of the price is called: `profit`, `contribution`.
    pub left_word: &'a str,
    /// Writes an amount of money.
    pub write: Write<'a>,
}

const TOP: f64 = 0.8;
/// Where the stack stands across, and its words begin.
const STACK: (f64, f64) = (0.02, 0.2);
const WORDS: f64 = 0.265;

/// Draws one bar of the parts of a price, stacked from zero, each named beside
/// it; what is left of the price on top.
///
/// `None` when no part is a positive figure.
pub fn cost_parts(input: &CostParts) -> Option<Picture> {
    let write = input.write;
    let parts: Vec<CostPart> = input
        .parts
        .iter()
        .copied()
        .filter(|part| part.amount.is_finite() && part.amount > 0.0)
        .collect();
    let cost: f64 = parts.iter().map(|part| part.amount).sum();
    if cost <= 0.0 || !cost.is_finite() {
        return None;
    }
    let price = input
        .price
        .filter(|price| price.is_finite() && *price > 0.0);
    let left = price.map(|price| price - cost);
    let top = price.unwrap_or(cost).max(cost);
    let of = if price.is_some() {
        "of price"
    } else {
        "of cost"
    };
    let whole = price.unwrap_or(cost);

    let title = match (price, left) {
        (Some(price), Some(left)) if left >= 0.0 => {
            format!(
                "Of {} for a {}, {} is {}",
                write(price),
                input.name,
                write(left),
                input.left_word
            )
        }
        (Some(price), Some(left)) => {
            format!(
                "At {} a {} sells for {} less than it costs",
                write(price),
                input.name,
                write(-left)
            )
        }
        _ => format!("A {} costs {}", input.name, write(cost)),
    };
    let each: Vec<String> = parts
        .iter()
        .map(|part| format!("{} {}", part.name, write(part.amount)))
        .collect();
    let mut said = vec![format!(
        "Cost of one {}: {}, together {}.",
        input.name,
        list(&each),
        write(cost)
    )];
    if let (Some(price), Some(left)) = (price, left) {
        let (word, amount) = if left < 0.0 {
            ("Short by", -left)
        } else {
            ("Left of it", left)
        };
        said.push(format!(
            "Price {}. {word}: {}.",
            write(price),
            write(amount)
        ));
    }
    let mut table = Table::new(["part", "amount", of]);
    let percent = |amount: f64| format!("{:.0} %", amount / whole * 100.0);
    for part in &parts {
        table.row([
            part.name.to_owned(),
            write(part.amount),
            percent(part.amount),
        ]);
    }
    table.row(["cost".to_owned(), write(cost), percent(cost)]);
    if let (Some(price), Some(left)) = (price, left) {
        table.row([input.left_word.to_owned(), write(left), percent(left)]);
        table.row(["price".to_owned(), write(price), percent(price)]);
    }

    // What is drawn: the parts from below, then what is left.
    let mut drawn: Vec<(f64, usize, CostPart)> = Vec::new();
    let mut under = 0.0;
    for (n, part) in parts.iter().enumerate() {
        drawn.push((under, n + 1, *part));
        under += part.amount;
    }
    if let Some(left) = left.filter(|left| *left > 0.0) {
        drawn.push((
            under,
            0,
            CostPart {
                name: input.left_word,
                amount: left,
            },
        ));
    }
    let short = price.filter(|price| *price < cost);
    let n_words = drawn.len() + usize::from(short.is_some());
    let floor = TOP + (1.5 * n_words as f64).max(11.0);
    let height = |money: f64| floor - (floor - TOP) * share(money, top);

    let mut canvas = Canvas::new("cost-parts", title, said.join(" "), table);
    let mut words: Vec<(f64, &str, String, String)> = Vec::new();
    for (below, fill, part) in drawn.iter().rev() {
        let (upper, lower) = (height(below + part.amount), height(*below));
        // Only what is left has the first fill; parts go round the others.
        let fill = if *fill == 0 { 0 } else { 1 + (fill - 1) % 5 };
        canvas.filled(fill, (STACK.0, upper), (STACK.1, lower));
        let class = if fill == 0 { "word first" } else { "word" };
        words.push((
            f64::midpoint(upper, lower),
            class,
            part.name.to_owned(),
            write(part.amount),
        ));
    }
    if let Some(price) = short {
        let y = height(price);
        canvas.line("mark first", (0.0, y), (STACK.1 + 0.03, y));
        words.push((y, "word first", "price".to_owned(), write(price)));
    }
    words.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut places: Vec<f64> = words.iter().map(|(y, ..)| y + 0.35).collect();
    spread(&mut places, 1.4, TOP + 0.35, floor);
    for ((y, class, name, amount), place) in words.iter().zip(places) {
        canvas.line("lead", (STACK.1 + 0.005, *y), (WORDS - 0.01, place - 0.35));
        let room = (1.0 - WORDS) * NARROW - width(amount) - 0.8;
        canvas.text(
            class,
            Anchor::Start,
            (WORDS, place),
            format!("{}  {amount}", fit(name, room)),
        );
    }
    canvas.line("axis", (0.0, floor), (STACK.1 + 0.03, floor));
    Some(canvas.finish(floor + 0.8))
}
