//! What does each channel need, beside what is asked there now?

use crate::canvas::{Anchor, Canvas, NARROW, Shape};
use crate::scale::share;
use crate::words::{fit, list, width};
use crate::{Picture, Table, Write};

/// One channel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChannelRung<'a> {
    /// What it is called.
    pub name: &'a str,
    /// The price that reaches what is wanted; none where no price does.
    pub needs: Option<f64>,
    /// The price asked there now; none where there is none.
    pub asks: Option<f64>,
}

/// Prices of one good, channel by channel.
#[derive(Clone, Copy)]
pub struct ChannelLadder<'a> {
    /// What is wanted: `to lose nothing`, `for 60 % of price`.
    pub wanted: &'a str,
    /// The channels, in the order they are drawn.
    pub rungs: &'a [ChannelRung<'a>],
    /// Writes an amount of money.
    pub write: Write<'a>,
}

const ROW: f64 = 3.2;

/// Draws a row a channel: the price it needs as a bar from zero, the price
/// asked as a mark over it.
///
/// `None` when no channel has both.
pub fn channel_ladder(input: &ChannelLadder) -> Option<Picture> {
    let write = input.write;
    let figure = |price: Option<f64>| price.filter(|price| price.is_finite() && *price >= 0.0);
    let rungs: Vec<ChannelRung> = input
        .rungs
        .iter()
        .map(|rung| ChannelRung {
            needs: figure(rung.needs),
            asks: figure(rung.asks),
            ..*rung
        })
        .collect();
    let top = rungs
        .iter()
        .flat_map(|rung| [rung.needs, rung.asks])
        .flatten()
        .fold(0.0, f64::max);
    let both = |rung: &&ChannelRung| rung.needs.is_some() && rung.asks.is_some();
    if top <= 0.0 || !rungs.iter().any(|rung| both(&rung)) {
        return None;
    }
    let is_short = |rung: &ChannelRung| {
        rung.needs
            .zip(rung.asks)
            .is_some_and(|(needs, asks)| asks < needs)
    };
    let short: Vec<String> = rungs
        .iter()
        .filter(|rung| is_short(rung))
        .map(|rung| rung.name.to_owned())
        .collect();
    let title = match short.len() {
        0 => format!("Every price asked is enough {}", input.wanted),
        1..=3 => format!("Too little {} is asked at {}", input.wanted, list(&short)),
        n => format!("Too little {} is asked in {n} channels", input.wanted),
    };
    let word = |price: Option<f64>, none: &str| price.map_or_else(|| none.to_owned(), write);
    let mut table = Table::new(["channel", "needs", "asks"]);
    let mut said = Vec::new();
    for rung in &rungs {
        let (needs, asks) = (
            word(rung.needs, "no price reaches it"),
            word(rung.asks, "no price"),
        );
        said.push(format!("{}: needs {needs}, asks {asks}.", rung.name));
        table.row([rung.name.to_owned(), needs, asks]);
    }
    let mut canvas = Canvas::new("channel-ladder", title, said.join(" "), table);
    // The mark of the greatest price stays inside.
    let at = |price: f64| 0.97 * share(price, top);
    let mut y = 0.4;
    for rung in &rungs {
        let words = match (rung.needs, rung.asks) {
            (Some(needs), Some(asks)) => format!("asks {}, needs {}", write(asks), write(needs)),
            (Some(needs), None) => format!("needs {}", write(needs)),
            (None, _) => "no price reaches it".to_owned(),
        };
        canvas.text(
            "word",
            Anchor::Start,
            (0.0, y + 1.0),
            fit(rung.name, NARROW),
        );
        // A long name has a line of its own.
        if width(rung.name) + width(&words) + 1.0 > NARROW {
            y += 1.3;
        }
        canvas.text("word strong", Anchor::End, (1.0, y + 1.0), words);
        if let Some(needs) = rung.needs {
            let fill = if is_short(rung) { 5 } else { 1 };
            canvas.filled(fill, (0.0, y + 1.5), (at(needs), y + 2.4));
        }
        if let Some(asks) = rung.asks {
            canvas.line("mark first", (at(asks), y + 1.3), (at(asks), y + 2.6));
            canvas.shape("first", Shape::Diamond, (at(asks), y + 1.95));
        }
        y += ROW;
    }
    canvas.line("axis", (0.0, 1.2), (0.0, y - 0.4));
    canvas.shape("first", Shape::Diamond, (0.025, y + 0.55));
    let key = "asked now; bar: needed, upright where asked is less";
    let mut line = y + 0.9;
    for words in crate::words::wrap(key, NARROW - 1.5) {
        canvas.text("tick", Anchor::Start, (0.065, line), words);
        line += 1.3;
    }
    Some(canvas.finish(line - 0.7))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn usd(money: f64) -> String {
        format!("{money:.2} USD")
    }

    #[test]
    fn channels_that_ask_too_little_are_named() {
        let rung = |name, needs, asks| ChannelRung { name, needs, asks };
        let rungs = [
            rung("the stall", Some(5.0), Some(7.0)),
            rung("<shops>", Some(8.5), Some(3.5)),
            rung("on return", None, Some(7.0)),
        ];
        let mut input = ChannelLadder {
            wanted: "for 60 %",
            rungs: &rungs,
            write: &usd,
        };
        let picture = channel_ladder(&input).unwrap();
        assert_eq!(picture.title, "Too little for 60 % is asked at <shops>");
        assert!(picture.svg.contains("&lt;shops&gt;") && !picture.svg.contains("<shops>"));
        assert_eq!(picture.table.rows[2][1], "no price reaches it");
        input.rungs = &rungs[..1];
        let picture = channel_ladder(&input).unwrap();
        assert_eq!(picture.title, "Every price asked is enough for 60 %");
        input.rungs = &rungs[2..];
        assert!(channel_ladder(&input).is_none());
    }
}
