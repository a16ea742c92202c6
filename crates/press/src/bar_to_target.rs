//! How much of this ingredient is in the pot, and how much is still to go?

use crate::canvas::{Anchor, Canvas, Shape};
use crate::scale::share;
use crate::svg::El;
use crate::{Picture, Table, Write};

/// One portion on the scale.
#[derive(Clone, Copy)]
pub struct BarToTarget<'a> {
    /// What is to be weighed.
    pub target: f64,
    /// How far off is as good as on it, to either side.
    pub tolerance: f64,
    /// What the scale shows now.
    pub weighed: f64,
    /// Writes a weight.
    pub write: Write<'a>,
}

/// The track's length as a multiple of the target: there is room to see an
/// over-pour coming.
const FULL: f64 = 1.2;
/// The track in its own units, fine enough for a script to set.
const TRACK: f64 = 1000.0;

/// Draws a bar that fills to the target, with the tolerance marked.
///
/// A script may keep it current. The picture has the id `bar-to-target`, and as
/// data attributes the `target` and `tolerance` in the unit of the input, and
/// `full`, the length of the track in targets. Inside, `bar-track` has the
/// length 1000 and `bar-fill` the length that is filled. The state is a class of
/// the picture: `under`, `within` or `over`.
///
/// A target that is not a positive figure gives an empty track.
pub fn bar_to_target(input: &BarToTarget) -> Picture {
    let write = input.write;
    let positive = |figure: f64| {
        if figure.is_finite() {
            figure.max(0.0)
        } else {
            0.0
        }
    };
    let (target, tolerance) = (positive(input.target), positive(input.tolerance));
    let weighed = positive(input.weighed);
    let (low, high) = ((target - tolerance).max(0.0), target + tolerance);
    let (class, verdict) = if weighed < low {
        (
            "bar-to-target under",
            format!("{} to go", write(target - weighed)),
        )
    } else if weighed <= high {
        ("bar-to-target within", "on target".to_owned())
    } else {
        (
            "bar-to-target over",
            format!("{} over", write(weighed - target)),
        )
    };

    let title = format!("{} of {} in: {verdict}", write(weighed), write(target));
    let text = format!(
        "A bar that fills to {}. From {} to {} counts as on target. The scale shows {}.",
        write(target),
        write(low),
        write(high),
        write(weighed)
    );
    let mut table = Table::new(["what", "weight"]);
    for (what, weight) in [
        ("target", target),
        ("from", low),
        ("to", high),
        ("weighed", weighed),
    ] {
        table.row([what.to_owned(), write(weight)]);
    }

    let along = |weight: f64| share(weight, target * FULL);
    let mut canvas = Canvas::new(class, title, text, table);
    canvas.attr("id", "bar-to-target");
    canvas.attr("data-target", plain(target));
    canvas.attr("data-tolerance", plain(tolerance));
    canvas.attr("data-full", plain(FULL));
    let aim = along(target);
    canvas.text("word", Anchor::Middle, (aim, 0.95), write(target));
    canvas.shape("aim", Shape::Down, (aim, 1.95));
    // The track is stretched to the width, so that a length is a plain number.
    let block = |class: &str, from: f64, to: f64| {
        El::new("rect")
            .class(class)
            .attr("x", plain(libm::round(from * TRACK)))
            .attr("width", plain(libm::round((to - from).max(0.0) * TRACK)))
            .attr("height", "10")
    };
    // Too narrow a tolerance to be seen is still marked.
    let (from, to) = (
        along(low).min(aim - 0.004).max(0.0),
        along(high).max(aim + 0.004).min(1.0),
    );
    canvas.add(
        El::new("svg")
            .attr("y", "2em")
            .attr("width", "100%")
            .attr("height", "2.4em")
            .attr("viewBox", format!("0 0 {TRACK} 10"))
            .attr("preserveAspectRatio", "none")
            .holding(vec![
                block("bar-track", 0.0, 1.0),
                block("bar-fill", 0.0, along(weighed)),
                block("bar-within", from, to),
            ]),
    );
    canvas.line("bar-edge", (from, 1.9), (from, 4.5));
    canvas.line("bar-edge", (to, 1.9), (to, 4.5));
    canvas.finish(4.7)
}

/// A figure as a script reads it.
fn plain(figure: f64) -> String {
    format!("{figure}")
}
