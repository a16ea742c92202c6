//! The calculation `sds-read`: a sheet's text in, proposals out.

use measure::{Problem, Problems, Working};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Proposal, SourceLine, read};
use crate::given::{Figure, Limit, Line};
use crate::ingredient::{Band, EstimateKind};

/// The text of a safety data sheet, of its section 3, or of the table in it.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// The text as pasted, or a CSV with headings.
    #[serde(default)]
    pub text: Option<String>,
}

/// What the sheet seems to say; nothing of it counts before it is confirmed.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct Output {
    /// The trade name the sheet is for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub product: Option<String>,
    /// Who wrote it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub supplier: Option<String>,
    /// The day on it, as year-month-day.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dated: Option<String>,
    /// Its version.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub version: Option<String>,
    /// One a substance, in the sheet's order.
    pub proposals: Vec<Proposed>,
    /// Lines taken for headings of the table.
    pub headings: Vec<Place>,
    /// What stands in the section and was not understood.
    pub not_understood: Vec<Place>,
    /// What is doubtful about the sheet as a whole, and what to do next.
    pub notes: Vec<String>,
    /// How it was read.
    pub working: Working,
}

/// A substance proposed.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct Proposed {
    /// In the shape a mixture to classify takes.
    pub ingredient: Line,
    /// The EC number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ec: Option<String>,
    /// The index number of CLP Annex VI.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub index: Option<String>,
    /// The REACH registration number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reach: Option<String>,
    /// The lines it came from.
    pub lines: Vec<Place>,
    /// What is doubtful, by field of the ingredient.
    pub doubts: Vec<Problem>,
}

/// A line of the text.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Place {
    /// Its number, from 1.
    pub line: usize,
    /// Its words.
    pub text: String,
}

impl From<&SourceLine> for Place {
    fn from(line: &SourceLine) -> Self {
        Self {
            line: line.number,
            text: line.text.clone(),
        }
    }
}

impl From<&Proposal> for Proposed {
    fn from(proposal: &Proposal) -> Self {
        let estimate = |kind: EstimateKind| {
            proposal
                .estimates
                .iter()
                .find(|estimate| estimate.kind == kind)
                .map(|estimate| {
                    let above = if estimate.above { "> " } else { "" };
                    let unit = match kind {
                        EstimateKind::Oral | EstimateKind::Dermal => "mg/kg",
                        EstimateKind::Vapour | EstimateKind::Mist => "mg/l",
                        EstimateKind::Gas => "ppm",
                    };
                    format!("{above}{} {unit}", estimate.value)
                })
        };
        Self {
            ingredient: Line {
                name: proposal.name.clone(),
                cas: proposal.cas.map(|cas| cas.to_string()),
                share: proposal
                    .share
                    .map(|share| share.to_string())
                    .unwrap_or_default(),
                classification: proposal
                    .hazards
                    .as_ref()
                    .map(|hazards| hazards.iter().map(ToString::to_string).collect()),
                m_acute: proposal.m_acute.map(Figure::from),
                m_chronic: proposal.m_chronic.map(Figure::from),
                ate_oral: estimate(EstimateKind::Oral),
                ate_dermal: estimate(EstimateKind::Dermal),
                ate_inhal_vapour: estimate(EstimateKind::Vapour),
                ate_inhal_mist: estimate(EstimateKind::Mist),
                ate_inhal_gas: estimate(EstimateKind::Gas),
                scl: proposal.bands.iter().map(limit_of).collect(),
            },
            ec: proposal.ec.clone(),
            index: proposal.index.clone(),
            reach: proposal.reach.clone(),
            lines: proposal.lines.iter().map(Place::from).collect(),
            doubts: proposal.doubts.clone(),
        }
    }
}

fn limit_of(band: &Band) -> Limit {
    // A class that could be several is told apart by its statement.
    let code = band.class.code();
    let namesakes = crate::Class::ALL
        .iter()
        .filter(|class| class.code() == code)
        .count();
    Limit {
        class: if namesakes == 1 {
            code.to_owned()
        } else {
            crate::Hazard::from(band.class).to_string()
        },
        limit: match band.below {
            Some(below) => format!(">= {} % < {below} %", band.from),
            None => format!(">= {} %", band.from),
        },
    }
}

/// Answers `sds-read`.
///
/// # Errors
///
/// A problem with `text` when there is none, or far too much.
pub fn calculate(input: &Input) -> Result<Output, Problems> {
    let sheet = read(input.text.as_deref().unwrap_or_default())?;
    let mut notes = Vec::new();
    notes.push(
        "These are proposals. Compare each line with the supplier's sheet before it is used."
            .to_owned(),
    );
    if sheet.proposals.is_empty() {
        notes.push(
            "No substance was found: no line has a CAS number or a share. Paste the table of \
             section 3, or type the lines."
                .to_owned(),
        );
    }
    if !sheet.has_heading {
        notes.push(
            "No heading of section 3 was found, so the whole text was read as its table."
                .to_owned(),
        );
    }
    if !sheet.not_understood.is_empty() {
        notes.push(format!(
            "{} in the section not understood; look whether one of them matters.",
            match sheet.not_understood.len() {
                1 => "One place was".to_owned(),
                count => format!("{count} places were"),
            }
        ));
    }
    if sheet.head.supplier.is_none() || sheet.head.dated.is_none() {
        notes.push(
            "Add the supplier and the date of the sheet: a newer one asks for a new look."
                .to_owned(),
        );
    }
    notes.extend(
        sheet
            .head
            .doubts
            .iter()
            .map(|doubt| format!("\"{}\": {}; {}.", doubt.given, doubt.wrong, doubt.accepted)),
    );
    let mut working = Working::new();
    for proposal in &sheet.proposals {
        let numbers: Vec<String> = proposal
            .lines
            .iter()
            .map(|line| line.number.to_string())
            .collect();
        let label = if proposal.name.is_empty() {
            proposal
                .cas
                .map_or_else(|| "a line".to_owned(), |cas| cas.to_string())
        } else {
            proposal.name.clone()
        };
        working.step(
            label,
            "read from the text",
            format!("line {}", numbers.join(", ")),
            match proposal.doubts.len() {
                0 => "read, to be confirmed".to_owned(),
                1 => "read with one doubt, to be confirmed".to_owned(),
                count => format!("read with {count} doubts, to be confirmed"),
            },
            "the text given",
        );
    }
    Ok(Output {
        product: sheet.head.product,
        supplier: sheet.head.supplier,
        dated: sheet.head.dated.map(|date| date.to_string()),
        version: sheet.head.version,
        proposals: sheet.proposals.iter().map(Proposed::from).collect(),
        headings: sheet.headings.iter().map(Place::from).collect(),
        not_understood: sheet.not_understood.iter().map(Place::from).collect(),
        notes,
        working,
    })
}
