//! How much to melt in a mould, asked the way a page asks.

pub(crate) use fill::fill_advice::sure_enough;
use measure::{Checker, Mass, Problems, Ratio, Typed, Unclear, parse_in};
use workshop::facts::MouldId;
use workshop::{Advice, Workshop};

use crate::forms::Filled;

/// The most units that one pour is asked for.
const MOST_WANTED: u32 = 10_000;

/// What is asked of a mould.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// Units wanted.
    pub wanted: u32,
    /// The chance that the melt is enough.
    pub chance: Ratio,
    /// A melt of the maker's own, to see what it fills.
    pub melt: Option<Typed<Mass>>,
}

/// Fills in what was left open: as many units as the last pour was for, or a
/// whole mould, nine times in ten.
pub fn with_usual(workshop: &Workshop, mould: MouldId, filled: &Filled) -> Filled {
    let last = workshop
        .pours_of_mould(mould)
        .next_back()
        .map(|pour| pour.wanted)
        .filter(|wanted| *wanted > 0);
    let whole = workshop.mould(mould).map(|mould| mould.cavities);
    filled
        .clone()
        .or("wanted", last.or(whole).unwrap_or(1).to_string())
        .or("chance", "90 %")
}

/// Reads `wanted`, `chance` and `melt`.
///
/// # Errors
///
/// A problem for every field that cannot be read.
pub fn read(workshop: &Workshop, filled: &Filled) -> Result<Asked, Problems> {
    let (reading, system) = (workshop.reading(), workshop.system());
    let mut check = Checker::default();
    let wanted = check.required("wanted", Some(filled.get("wanted")), units_wanted);
    let chance = check.required("chance", Some(filled.get("chance")), |text| {
        sure_enough(text, reading)
    });
    let melt = check.optional("melt", filled.some("melt"), |text| {
        let melt: Typed<Mass> = parse_in(text, system.mass_unit(), reading)?;
        if melt.value().is_zero() {
            return Err(Unclear::new(
                text,
                "nothing fills nothing",
                "write a weight above zero, or leave it empty",
            ));
        }
        Ok(melt)
    });
    let (true, Some(wanted), Some(chance)) = (check.is_clean(), wanted, chance) else {
        return Err(check.into_problems());
    };
    Ok(Asked {
        wanted,
        chance,
        melt,
    })
}

pub(crate) fn units_wanted(text: &str) -> Result<u32, Unclear> {
    text.trim()
        .parse()
        .ok()
        .filter(|wanted| (1..=MOST_WANTED).contains(wanted))
        .ok_or_else(|| {
            Unclear::new(
                text,
                "it is not a number of units",
                "write a whole number from 1 to 10,000",
            )
        })
}

/// What one amount of melt fills.
#[derive(Debug, Clone, PartialEq)]
pub struct Fills {
    /// The amount.
    pub melt: Typed<Mass>,
    /// The chance of each number of full units, none first.
    pub chances: Vec<f64>,
    /// How sure it is that all wanted units are filled, in words.
    pub enough: String,
}

/// What the maker's own melt fills, or else the advised one.
pub fn fills(advice: &Advice, asked: &Asked) -> Option<Fills> {
    let melt = match &asked.melt {
        Some(melt) => melt.clone(),
        None => advice.melt_for(asked.wanted, asked.chance)?.melt,
    };
    Some(Fills {
        chances: advice.count_chances(melt.value(), advice.room_for(asked.wanted)),
        enough: advice.chance_in_words(melt.value(), asked.wanted)?,
        melt,
    })
}
