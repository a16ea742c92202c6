//! What was really weighed, and the likeliest slip when it is not what was
//! meant.

use measure::{Decimal, Mass, MassUnit, Ratio, Typed, Working, percent};

use crate::load::FragranceLoad;
use crate::weigh_out::{Contents, over, quotient};

/// How near, as a share of the oil, a weighing must come to what a slip would
/// have given before the slip is named. Our own choice: at 10 % the two bases
/// lie a tenth apart, ten times this.
const NEAR: Decimal = Decimal::from_parts(1, 0, 0, false, 2);

/// What a pot holds, held against what was meant and allowed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Diagnosis {
    /// What is in the pot.
    pub contents: Contents,
    /// Oil ÷ wax.
    pub of_wax: Ratio,
    /// Oil ÷ everything.
    pub of_total: Ratio,
    /// Oil beyond the limit, when it is over.
    pub over_limit: Option<Mass>,
    /// The load that seems to have been weighed instead of the one meant.
    pub mistaken_for: Option<FragranceLoad>,
    /// The findings in sentences, the weightiest first.
    pub findings: Vec<String>,
    /// How they were found.
    pub working: Working,
}

/// Looks at what is in a pot.
///
/// `meant` is the load the formula asks for and `limit` the most its wax
/// allows; without `meant`, the limit itself is taken for what was meant.
/// Sentences are in `unit`, to a tenth of a gram or a hundredth of an ounce.
/// None when there is no wax.
///
/// # Source
///
/// The definitions of both loads.
pub fn diagnose(
    contents: Contents,
    meant: Option<FragranceLoad>,
    limit: Option<FragranceLoad>,
    unit: MassUnit,
) -> Option<Diagnosis> {
    let (of_wax, of_total) = (contents.of_wax()?, contents.of_total()?);
    let others = quotient(contents.dye, contents.wax)?;
    let most = match limit {
        Some(limit) => Some(
            contents
                .wax
                .share(limit.as_of_wax(others).decimal(), Decimal::ONE)?,
        ),
        None => None,
    };
    let over_limit = most.and_then(|most| over(contents.oil, most));
    let mistaken_for = meant
        .or(limit)
        .and_then(|meant| mistake(&contents, meant, others));

    let tell = |mass: Mass| tell(mass, unit);
    let mut working = Working::new();
    working.step(
        "Load of wax",
        "oil ÷ wax",
        format!("{} ÷ {}", tell(contents.oil), tell(contents.wax)),
        percent(of_wax, 2),
        "the definition",
    );
    working.step(
        "Load of total",
        "oil ÷ everything",
        format!("{} ÷ {}", tell(contents.oil), tell(contents.total())),
        percent(of_total, 2),
        "the definition",
    );
    if let Some((limit, most)) = limit.zip(most) {
        working.step(
            "Most oil this wax may take",
            "limit as a share of wax × wax",
            format!(
                "{} × {}",
                percent(limit.as_of_wax(others), 2),
                tell(contents.wax)
            ),
            tell(most).to_string(),
            "the limit is the one given",
        );
    }

    let mut findings = Vec::new();
    let found = format!(
        "{} of oil on {} of wax is {} of wax ({} of the melt)",
        tell(contents.oil),
        tell(contents.wax),
        percent(of_wax, 1),
        percent(of_total, 2)
    );
    findings.push(match (limit, over_limit) {
        (Some(limit), Some(by)) => {
            format!("{found}, over the limit of {limit} by {} of oil.", tell(by))
        }
        (Some(limit), None) => format!("{found}, within the limit of {limit}."),
        (None, _) => format!("{found}."),
    });
    if let Some(slip) = mistaken_for {
        let (did, meant) = match slip {
            FragranceLoad::OfTotal(_) => ("the melt", "wax"),
            FragranceLoad::OfWax(_) => ("wax", "the melt"),
        };
        findings.push(format!(
            "It matches {} of {did}: {} of {did} was weighed by mistake for {} of {meant}.",
            slip.ratio(),
            slip.ratio(),
            slip.ratio()
        ));
    } else if let Some(meant) = meant {
        let wanted = contents
            .wax
            .share(meant.as_of_wax(others).decimal(), Decimal::ONE)?;
        if let Some(by) = over(contents.oil, wanted).filter(|_| !near(contents.oil, wanted)) {
            findings.push(format!("That is {} more oil than {meant}.", tell(by)));
        } else if let Some(by) = over(wanted, contents.oil).filter(|_| !near(contents.oil, wanted))
        {
            findings.push(format!("That is {} less oil than {meant}.", tell(by)));
        }
    }
    Some(Diagnosis {
        contents,
        of_wax,
        of_total,
        over_limit,
        mistaken_for,
        findings,
        working,
    })
}

/// The same percentage on the other base, when that fits and what was meant
/// does not.
fn mistake(contents: &Contents, meant: FragranceLoad, others: Ratio) -> Option<FragranceLoad> {
    let ratio = meant.ratio();
    let other = match meant {
        FragranceLoad::OfWax(_) => FragranceLoad::of_total(ratio),
        FragranceLoad::OfTotal(_) => FragranceLoad::of_wax(ratio),
    }?;
    let oil = |load: FragranceLoad| {
        contents
            .wax
            .share(load.as_of_wax(others).decimal(), Decimal::ONE)
    };
    (near(contents.oil, oil(other)?) && !near(contents.oil, oil(meant)?)).then_some(other)
}

fn near(oil: Mass, expected: Mass) -> bool {
    let off = if oil > expected {
        oil - expected
    } else {
        expected - oil
    };
    expected
        .share(NEAR, Decimal::ONE)
        .is_some_and(|most| off <= most)
}

/// Grams to a tenth, ounces to a hundredth, without empty decimals.
pub(crate) fn tell(mass: Mass, unit: MassUnit) -> Typed<Mass> {
    let places = match unit {
        MassUnit::Milligram => 0,
        MassUnit::Gram => 1,
        MassUnit::Ounce => 2,
        MassUnit::Pound => 3,
        MassUnit::Kilogram => 4,
    };
    let shown = mass.to_decimal(unit).round_dp(places).normalize();
    Typed::from_decimal(shown, unit).unwrap_or_else(|| mass.typed(unit, places))
}
