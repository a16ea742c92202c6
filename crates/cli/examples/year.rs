//! Writes the made-up year of a busy workshop into a new journal file, to look
//! at it: `cargo xtask year FILE`, then `pourwright --journal FILE serve`.

use std::path::PathBuf;
use std::time::Instant;

use anyhow::Context as _;

#[path = "../year/mod.rs"]
mod year;

fn main() -> anyhow::Result<()> {
    let path = std::env::args_os().nth(1).map(PathBuf::from);
    let path = path.context("name the file to write")?;
    let started = Instant::now();
    let made = year::make(year::Size::FULL, year::SEED);
    year::write(&path, &made)?;
    println!(
        "{}: {} facts up to {}, seed {:#x}, in {:.1} s",
        path.display(),
        made.facts.len(),
        year::LAST,
        year::SEED,
        started.elapsed().as_secs_f64()
    );
    Ok(())
}
