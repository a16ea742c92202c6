//! What does a day leave at each price, and where is it best?

use crate::canvas::{Anchor, Canvas, NARROW, Shape};
use crate::scale::{Scale, ticks};
use crate::svg::El;
use crate::words::{fit, width};
use crate::{Picture, Table, Write};

/// What a day leaves at one price.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PricePoint {
    /// The price.
    pub price: f64,
    /// What a day is expected to leave.
    pub leaves: f64,
    /// The average of many days lies between `low` and `high` nine times in
    /// ten.
    pub low: f64,
    /// See `low`.
    pub high: f64,
}

/// What a day leaves over a range of prices.
#[derive(Clone, Copy)]
pub struct PriceCurve<'a> {
    /// The answer the picture gives.
    pub title: &'a str,
    /// The curve, the lowest price first.
    pub curve: &'a [PricePoint],
    /// The prices to read off, which stand in the table.
    pub prices: &'a [PricePoint],
    /// Days that were: the price and what was left.
    pub days: &'a [(f64, f64)],
    /// The best price and what a day leaves there.
    pub best: Option<(f64, f64)>,
    /// The prices between which it makes little difference, and the words for
    /// it: `within 2 %`.
    pub alike: Option<((f64, f64), &'a str)>,
    /// Writes a price.
    pub write: Write<'a>,
    /// Writes what a day leaves.
    pub write_left: Write<'a>,
}

const TOP: f64 = 2.4;
const HIGH: f64 = 12.0;
/// What stands free to the left of the curve, as a share of its width.
const ROOM: f64 = 0.25;
/// Units of the drawing that is stretched over the width.
const FINE: f64 = 1000.0;

/// Draws what a day leaves against its price as a line in its band, days that
/// were as dots, from nothing up.
///
/// `None` for fewer than two prices, or a figure that is none.
pub fn price_curve(input: &PriceCurve) -> Option<Picture> {
    let (write, left) = (input.write, input.write_left);
    let finite = |at: &PricePoint| {
        [at.price, at.leaves, at.low, at.high]
            .iter()
            .all(|figure| figure.is_finite())
    };
    if input.curve.len() < 2 || !input.curve.iter().all(finite) {
        return None;
    }
    let prices: Vec<&PricePoint> = input.prices.iter().filter(|at| finite(at)).collect();
    let days = || {
        let known = input.days.iter();
        known.filter(|(price, left)| price.is_finite() && left.is_finite())
    };
    let best = input
        .best
        .filter(|(price, leaves)| price.is_finite() && leaves.is_finite());
    let tried = Scale::around(
        input
            .curve
            .iter()
            .map(|at| at.price)
            .chain(days().map(|(price, _)| *price))
            .chain(best.map(|(price, _)| price)),
    )?;
    // Room to the left for what the heights stand for.
    let across = Scale {
        low: tried.low - ROOM * (tried.high - tried.low),
        ..tried
    };
    let up = Scale::around(
        input
            .curve
            .iter()
            .flat_map(|at| [at.low, at.high])
            .chain(days().map(|(_, left)| *left))
            .chain([0.0]),
    )?;
    let y = |leaves: f64| TOP + HIGH * (1.0 - up.at(leaves));

    let mut said: Vec<String> = prices
        .iter()
        .map(|at| {
            format!(
                "At {} a day leaves about {}, on average between {} and {}.",
                write(at.price),
                left(at.leaves),
                left(at.low),
                left(at.high)
            )
        })
        .collect();
    if let Some(((low, high), word)) = input.alike {
        said.push(format!("{word}: from {} to {}.", write(low), write(high)));
    }
    said.push(match days().count() {
        1 => "One day that was is a dot.".to_owned(),
        n => format!("{n} days that were are dots."),
    });
    let mut table = Table::new(["price", "a day leaves", "from", "to"]);
    for at in &prices {
        table.row([
            write(at.price),
            left(at.leaves),
            left(at.low),
            left(at.high),
        ]);
    }
    let mut canvas = Canvas::new("price-curve", input.title.to_owned(), said.join(" "), table);
    let floor = TOP + HIGH + 0.4;
    canvas.text("tick", Anchor::Start, (0.0, 0.9), "what a day leaves");
    for tick in ticks(up.low, up.high, 4) {
        canvas.line("rule", (0.0, y(tick)), (1.0, y(tick)));
        canvas.text("tick", Anchor::Start, (0.0, y(tick) - 0.25), left(tick));
    }
    if let Some(((low, high), word)) = input
        .alike
        .filter(|((low, high), _)| low.is_finite() && high.is_finite() && low <= high)
    {
        let (from, to) = (across.at(low), across.at(high));
        canvas.area("band strong", (from, floor - 0.5), (to, floor));
        let words = fit(word, NARROW);
        canvas.label("tick", (f64::midpoint(from, to), floor - 0.8), words);
    }
    stretched(&mut canvas, input.curve, across, up);
    for (price, kept) in days() {
        canvas.dot("dot", (across.at(*price), y(*kept)), 0.28);
    }
    if let Some((price, leaves)) = best {
        let at = (across.at(price), y(leaves));
        canvas.line("now", at, (at.0, floor));
        canvas.shape("first", Shape::Diamond, at);
        let words = format!("{}: about {}", write(price), left(leaves));
        let words = if width(&words) > NARROW {
            write(price)
        } else {
            words
        };
        canvas.label("word first over", (at.0, at.1 - 0.9), words);
    }
    canvas.axis(across, floor, write);
    canvas.text(
        "tick",
        Anchor::Start,
        (0.0, floor + 3.1),
        "price; band: the average of many days,",
    );
    canvas.text(
        "tick",
        Anchor::Start,
        (0.0, floor + 4.4),
        "nine times in ten; dots: days that were",
    );
    Some(canvas.finish(floor + 4.9))
}

/// The band and the line: paths in a box of their own that is stretched over
/// the width, since a path knows no percent.
fn stretched(canvas: &mut Canvas, curve: &[PricePoint], across: Scale, up: Scale) {
    let at = |price: f64, leaves: f64| {
        format!(
            "{:.1} {:.1}",
            FINE * across.at(price),
            FINE * (1.0 - up.at(leaves))
        )
    };
    let over: Vec<String> = curve.iter().map(|on| at(on.price, on.high)).collect();
    let under: Vec<String> = curve.iter().rev().map(|on| at(on.price, on.low)).collect();
    let line: Vec<String> = curve.iter().map(|on| at(on.price, on.leaves)).collect();
    let path = |class: &str, d: String| El::new("path").class(class).attr("d", d);
    canvas.add(
        El::new("svg")
            .attr("x", "0")
            .attr("y", format!("{TOP}em"))
            .attr("width", "100%")
            .attr("height", format!("{HIGH}em"))
            .attr("viewBox", "0 0 1000 1000")
            .attr("preserveAspectRatio", "none")
            .holding(vec![
                path("band", format!("M{}L{}Z", over.join("L"), under.join("L"))),
                path("curve", format!("M{}", line.join("L"))),
            ]),
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    fn usd(money: f64) -> String {
        format!("{money:.2} USD")
    }

    fn point(price: f64, leaves: f64) -> PricePoint {
        PricePoint {
            price,
            leaves,
            low: leaves - 10.0,
            high: leaves + 12.0,
        }
    }

    #[test]
    fn a_curve_says_its_prices_and_stays_in_its_box() {
        let curve = [point(2.5, 165.0), point(3.0, 173.0), point(3.5, 165.0)];
        let mut input = PriceCurve {
            title: "3.00 USD leaves most",
            curve: &curve,
            prices: &curve,
            days: &[(2.5, 150.0), (f64::NAN, 1.0)],
            best: Some((3.0, 173.0)),
            alike: Some(((2.69, 3.31), "within 2 %")),
            write: &usd,
            write_left: &usd,
        };
        let picture = price_curve(&input).unwrap();
        assert_eq!(picture.table.rows.len(), 3);
        assert_eq!(picture.table.rows[1][1], "173.00 USD");
        assert!(
            picture
                .text
                .contains("within 2 %: from 2.69 USD to 3.31 USD")
        );
        assert!(picture.text.contains("One day that was is a dot."));
        assert!(!picture.svg.contains("NaN"));
        input.curve = &curve[..1];
        assert!(price_curve(&input).is_none());
        let broken = [point(2.5, 165.0), point(3.0, f64::INFINITY)];
        input.curve = &broken;
        assert!(price_curve(&input).is_none());
    }
}
