//! Decisions about safety data sheets and certificates.

use jiff::civil::Date;
use measure::{Decimal, Problem, Ratio};

use super::{Decision, fact, known_supply, name, not_too_many, refuse_if_any};
use crate::Refusal;
use crate::facts::{
    CertificateFiled, Rest, SheetFiled, SheetLine, SheetLineConfirmed, SupplyId, SupplyKind,
};
use crate::state::Workshop;

/// The most lines of one composition.
pub const MOST_SHEET_LINES: usize = 150;
/// The longest name of a substance.
const LONGEST_SUBSTANCE: usize = 200;

/// A sheet as it is about to be filed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Filing {
    /// Who wrote the sheet.
    pub supplier: String,
    /// The date on it.
    pub dated: Option<Date>,
    /// The version on it; may be empty.
    pub version: String,
    /// What its section 3 lists.
    pub lines: Vec<SheetLine>,
    /// What the lines leave open.
    pub rest: Rest,
    /// Whether the maker means it, though a sheet with a later date is on file.
    pub older_is_meant: bool,
}

/// Files a supplier's sheet; it stands in for any filed before.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a supply that is not there, [`Refusal::Input`] for
/// a supply that is counted, a missing supplier, a date still to come or before
/// that of the sheet on file, and lines that cannot be right.
pub fn file_sheet(workshop: &Workshop, supply: SupplyId, filing: Filing, day: Date) -> Decision {
    let found = known_supply(workshop, supply)?;
    let mut problems = Vec::new();
    if !found.kind.is_weighed() {
        problems.push(Problem::new(
            "",
            found.name.clone(),
            "it goes by count and is no part of the melt",
            "file sheets of waxes, additives, oils and dyes",
        ));
    }
    let supplier = name("sheet_supplier", &filing.supplier);
    problems.extend(supplier.as_ref().err().cloned());
    let version = filing.version.trim().to_owned();
    if !version.is_empty() {
        problems.extend(name("version", &version).err());
    }
    problems.extend(not_to_come("dated", filing.dated, day).err());
    let before = workshop.sheet(supply).and_then(|sheet| sheet.dated);
    if let (Some(before), Some(dated)) = (before, filing.dated)
        && dated < before
        && !filing.older_is_meant
    {
        problems.push(Problem::new(
            "dated",
            dated.to_string(),
            format!("the sheet on file is newer, of {before}"),
            "look at the date, or say that the older sheet is the one that counts",
        ));
    }
    check_lines(&filing.lines, &mut problems);
    refuse_if_any(problems)?;
    Ok(fact(SheetFiled {
        supply,
        supplier: supplier?,
        dated: filing.dated,
        version,
        lines: filing.lines,
        rest: filing.rest,
    }))
}

fn check_lines(lines: &[SheetLine], problems: &mut Vec<Problem>) {
    problems.extend(not_too_many("lines", lines.len(), MOST_SHEET_LINES).err());
    for (i, line) in lines.iter().enumerate() {
        let at = |part: &str| format!("lines[{i}].{part}");
        problems.extend(super::line(&at("name"), &line.name, LONGEST_SUBSTANCE).err());
        for (part, factor) in [("m_acute", line.m_acute), ("m_chronic", line.m_chronic)] {
            if let Some(factor) = factor.filter(|factor| !is_power_of_ten(*factor)) {
                problems.push(Problem::new(
                    at(part),
                    factor.to_string(),
                    "a multiplying factor is 1, 10, 100 and so on",
                    "look at the sheet again",
                ));
            }
        }
        let twin = lines[..i]
            .iter()
            .position(|other| line.cas.is_some() && other.cas == line.cas);
        if let (Some(twin), Some(cas)) = (twin, line.cas) {
            problems.push(Problem::new(
                at("cas"),
                cas.to_string(),
                format!("line {} has the same CAS number", twin + 1),
                "write one line for each substance",
            ));
        }
    }
    let least: Decimal = lines.iter().map(|line| line.share.low()).sum();
    if least > Decimal::ONE_HUNDRED {
        problems.push(Problem::new(
            "lines",
            format!("{} %", least.normalize()),
            "the lines together are more than the whole",
            "look at the shares; for a range its lower end counts here",
        ));
    }
}

/// A factor of nothing is none.
const fn is_power_of_ten(mut factor: u32) -> bool {
    while factor > 1 && factor.is_multiple_of(10) {
        factor /= 10;
    }
    factor == 1
}

fn not_to_come(field: &str, dated: Option<Date>, day: Date) -> Result<(), Problem> {
    match dated.filter(|dated| *dated > day) {
        Some(dated) => Err(Problem::new(
            field,
            dated.to_string(),
            "that day is still to come",
            "write the date that stands on the paper",
        )),
        None => Ok(()),
    }
}

/// Notes that a line of the sheet in force was compared with the supplier's
/// own sheet and agrees; nothing when that was noted before.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a supply or a line that is not there, and
/// [`Refusal::Input`] for a sheet that is not in force any more.
pub fn confirm_sheet_line(
    workshop: &Workshop,
    supply: SupplyId,
    sheet: u32,
    line: u32,
) -> Decision {
    known_supply(workshop, supply)?;
    let in_force = workshop.sheet(supply).ok_or_else(|| Refusal::Unknown {
        what: "sheet",
        id: sheet.to_string(),
    })?;
    if in_force.number != sheet {
        return Err(Problem::new(
            "sheet",
            sheet.to_string(),
            "a newer sheet was filed meanwhile",
            "look at the newer one",
        )
        .into());
    }
    let found = in_force
        .lines
        .get(line as usize)
        .ok_or_else(|| Refusal::Unknown {
            what: "line",
            id: (u64::from(line) + 1).to_string(),
        })?;
    Ok(if found.confirmed {
        Vec::new()
    } else {
        fact(SheetLineConfirmed {
            supply,
            sheet,
            line,
        })
    })
}

/// Files a certificate that limits an oil in a kind of article.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a supply that is not there, [`Refusal::Input`] for
/// one that is no oil, a missing category, a share above the whole, or a date
/// still to come.
pub fn file_certificate(
    workshop: &Workshop,
    supply: SupplyId,
    category: &str,
    maximum: Ratio,
    dated: Option<Date>,
    day: Date,
) -> Decision {
    let found = known_supply(workshop, supply)?;
    let mut problems = Vec::new();
    if found.kind != SupplyKind::FragranceOil {
        problems.push(Problem::new(
            "",
            found.name.clone(),
            "it is not a fragrance oil",
            "file certificates of fragrance oils",
        ));
    }
    let category = name("category", category);
    problems.extend(category.as_ref().err().cloned());
    if maximum > Ratio::ONE {
        problems.push(Problem::new(
            "maximum",
            maximum.to_string(),
            "that is more than the whole article",
            "write a share such as 25 %",
        ));
    }
    problems.extend(not_to_come("certificate_dated", dated, day).err());
    refuse_if_any(problems)?;
    Ok(fact(CertificateFiled {
        supply,
        category: category?,
        maximum,
        dated,
    }))
}
