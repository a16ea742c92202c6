//! What the pictures show, and what no input may do to them.

mod bench;
mod cost;
mod document;
mod fitting;
mod flow;
mod label;
mod outside;
mod paper;
mod pours;
mod rack;
mod style;
mod torn;
mod torture;

use press::Picture;

pub(crate) fn oz(weight: f64) -> String {
    format!("{weight:.2} oz")
}

pub(crate) fn usd(money: f64) -> String {
    format!("{money:.2} USD")
}

/// A picture as a snapshot: what it says, its data, then the drawing.
pub(crate) fn shown(picture: &Picture) -> String {
    let Picture {
        svg,
        title,
        text,
        table,
    } = picture;
    let rows: Vec<String> = table.rows.iter().map(|row| row.join(" | ")).collect();
    format!(
        "{title}\n{text}\n\n{}\n{}\n\n{svg}\n",
        table.headers.join(" | "),
        rows.join("\n")
    )
}
