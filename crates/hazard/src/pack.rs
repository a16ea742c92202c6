//! The package: smallest label, pictogram and type, relief for small packages,
//! closures, and whether a formula identifier is due.

use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::class::{Class, Hazard};
use crate::label::Audience;
use crate::regime::{Jurisdiction, Rules};

/// Millimetres in a point of 1/72 inch.
const MM_PER_POINT: f64 = 25.4 / 72.0;

/// Whether something is due, with the reason either way.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Due {
    /// Whether it is.
    pub due: bool,
    /// Why, or why not, with the paragraph.
    pub why: String,
}

impl Due {
    fn yes(why: impl Into<String>) -> Self {
        Self {
            due: true,
            why: why.into(),
        }
    }

    fn no(why: impl Into<String>) -> Self {
        Self {
            due: false,
            why: why.into(),
        }
    }
}

/// The smallest label, pictogram and type for a capacity.
///
/// # Source
///
/// CLP Annex I, 1.2.1 and Table 1.3; the heights of the type by Regulation
/// (EU) 2024/2865, postponed to 1 January 2028 by Regulation (EU) 2025/2439.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sizes {
    /// Width and height of the label, mm.
    pub label_mm: (u16, u16),
    /// Whether the law asks for that label only where it is possible.
    pub label_if_possible: bool,
    /// Side of a pictogram's red frame, mm; never less.
    pub pictogram_mm: u16,
    /// The side wanted where it is possible, mm.
    pub pictogram_wanted_mm: u16,
    /// Height of a lower-case x, mm.
    pub x_height_mm: Decimal,
    /// Whether that height is law on the day, or the limit of what is still
    /// easily read.
    pub x_height_is_law: bool,
    /// Distance of two lines in sizes of the type, baseline to baseline.
    pub leading: Decimal,
}

impl Sizes {
    /// The smallest sizes for a package that holds so much; none under the UN
    /// rules, which leave sizes to each country.
    pub fn of(capacity_ml: Decimal, rules: &Rules) -> Option<Self> {
        if rules.jurisdiction == Jurisdiction::Un {
            return None;
        }
        let litres = |litres: i64| Decimal::from(litres * 1000);
        let (label_mm, pictogram_mm, pictogram_wanted_mm, tenths) =
            if capacity_ml <= Decimal::from(500) {
                ((52, 74), 10, 16, 12)
            } else if capacity_ml <= litres(3) {
                ((52, 74), 10, 16, 14)
            } else if capacity_ml <= litres(50) {
                ((74, 105), 23, 23, 18)
            } else if capacity_ml <= litres(500) {
                ((105, 148), 32, 32, 20)
            } else {
                ((148, 210), 46, 46, 20)
            };
        Some(Self {
            label_mm,
            label_if_possible: capacity_ml <= litres(3),
            pictogram_mm,
            pictogram_wanted_mm,
            x_height_mm: Decimal::new(tenths, 1),
            x_height_is_law: rules.label_format,
            // Regulation (EU) 2024/2865 says 120 %; read of the type size, the
            // stricter of the two readings.
            leading: Decimal::new(12, 1),
        })
    }
}

/// The side of a pictogram that covers a fifteenth of a label, and at least a
/// square centimetre, mm.
///
/// # Source
///
/// CLP Annex I, 1.2.1.4.
pub fn pictogram_side_mm(label_width_mm: f64, label_height_mm: f64) -> f64 {
    (label_width_mm * label_height_mm / 15.0).max(100.0).sqrt()
}

/// The size of type whose lower-case x is so high, in points. `ratio` is the
/// font's x-height in units of its size, as the font file gives it.
pub fn type_size_pt(x_height_mm: f64, ratio: f64) -> f64 {
    x_height_mm / (ratio * MM_PER_POINT)
}

/// What a package of 125 ml or less may leave out.
///
/// Never by default: only where the whole label fits neither on a fold-out,
/// nor on a tag, nor on an outer packaging.
///
/// # Source
///
/// CLP Article 29(2) and Annex I, 1.5.2.1, read in a consolidation before
/// Regulation (EU) 2024/2865.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Relief {
    /// Classes whose hazard and precautionary statements may go; pictogram and
    /// signal word stay.
    pub statements: Vec<String>,
    /// Classes whose precautionary statements may go.
    pub precautions: Vec<String>,
    /// Classes of which everything may go.
    pub everything: Vec<String>,
    /// Classes of which nothing may go.
    pub nothing: Vec<String>,
    /// Whether it was made use of.
    pub used: bool,
    /// The condition, in words.
    pub condition: String,
}

/// How far one class is relieved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Relieved {
    Statements,
    Precautions,
    Everything,
    Nothing,
}

/// Annex I, 1.5.2.1.1 to 1.5.2.1.3.
pub(crate) fn relieved(class: Class, audience: Audience) -> Relieved {
    use Class as C;
    match class {
        C::OxGas1
        | C::PressGasCompressed
        | C::PressGasLiquefied
        | C::PressGasRefrigerated
        | C::PressGasDissolved
        | C::FlamLiq2
        | C::FlamLiq3
        | C::FlamSol1
        | C::FlamSol2
        | C::SelfReactCD
        | C::SelfReactEF
        | C::SelfHeat2
        | C::WaterReact1
        | C::WaterReact2
        | C::WaterReact3
        | C::OxLiq2
        | C::OxLiq3
        | C::OxSol2
        | C::OxSol3
        | C::OrgPeroxCD
        | C::OrgPeroxEF
        | C::SkinIrrit2
        | C::EyeIrrit2
        | C::AquaticAcute1
        | C::AquaticChronic1
        | C::AquaticChronic2 => Relieved::Statements,
        C::AcuteOral4
        | C::AcuteDermal4
        | C::AcuteInhalation4
        | C::StotSe2
        | C::StotSe3Irritation
        | C::StotSe3Narcosis
        | C::StotRe2
            if audience == Audience::Professional =>
        {
            Relieved::Statements
        }
        C::AquaticChronic3 | C::AquaticChronic4 | C::Lact | C::FlamGas2 => Relieved::Precautions,
        C::MetCorr1 => Relieved::Everything,
        _ => Relieved::Nothing,
    }
}

impl Relief {
    /// What the package may leave out; none above 125 ml, without classes, or
    /// under the UN rules.
    pub fn of(
        hazards: &[Hazard],
        audience: Audience,
        capacity_ml: Decimal,
        rules: &Rules,
        used: bool,
    ) -> Option<Self> {
        if capacity_ml > Decimal::from(125)
            || hazards.is_empty()
            || rules.jurisdiction == Jurisdiction::Un
        {
            return None;
        }
        let of = |kind: Relieved| -> Vec<String> {
            hazards
                .iter()
                .filter(|hazard| relieved(hazard.class, audience) == kind)
                .map(ToString::to_string)
                .collect()
        };
        Some(Self {
            statements: of(Relieved::Statements),
            precautions: of(Relieved::Precautions),
            everything: of(Relieved::Everything),
            nothing: of(Relieved::Nothing),
            used,
            condition: "Only if the whole label fits neither on a fold-out label, nor on a tie-on \
                        tag, nor on an outer packaging (CLP Article 29(2), Annex I 1.5.2.1; the \
                        list as it stood before Regulation (EU) 2024/2865)."
                .to_owned(),
        })
    }
}

/// Marks of the package itself.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Closures {
    /// A closure children cannot open.
    pub child_resistant: Due,
    /// A mark that warns the fingers.
    pub tactile: Due,
}

impl Closures {
    /// Which are due.
    ///
    /// # Source
    ///
    /// CLP Article 35 and Annex II, 3.1 and 3.2; the lists as the Belgian
    /// Federal Public Service Health gives them.
    pub fn of(hazards: &[Hazard], audience: Audience, rules: &Rules) -> Self {
        if rules.jurisdiction == Jurisdiction::Un {
            let why = "the UN rules leave closures to each country";
            return Self {
                child_resistant: Due::no(why),
                tactile: Due::no(why),
            };
        }
        if audience == Audience::Professional {
            let why = "only what is sold to the public needs it (CLP Annex II, Part 3)";
            return Self {
                child_resistant: Due::no(why),
                tactile: Due::no(why),
            };
        }
        let due = |law: &str, leads: fn(Class) -> bool| {
            let leading: Vec<String> = hazards
                .iter()
                .filter(|hazard| leads(hazard.class))
                .map(ToString::to_string)
                .collect();
            if leading.is_empty() {
                Due::no(format!("none of its classes asks for it ({law})"))
            } else {
                Due::yes(format!("{} ({law})", leading.join(", ")))
            }
        };
        Self {
            child_resistant: due("CLP Annex II, 3.1.1", asks_for_closure),
            tactile: due("CLP Annex II, 3.2.1", asks_for_tactile_mark),
        }
    }
}

fn asks_for_closure(class: Class) -> bool {
    use Class as C;
    matches!(class.acute(), Some((_, 1..=3)))
        || matches!(
            class,
            C::StotSe1
                | C::StotRe1
                | C::SkinCorr1
                | C::SkinCorr1A
                | C::SkinCorr1B
                | C::SkinCorr1C
                | C::AspTox1
        )
}

fn asks_for_tactile_mark(class: Class) -> bool {
    use Class as C;
    class.acute().is_some()
        || asks_for_closure(class)
        || matches!(
            class,
            C::Muta2
                | C::Carc2
                | C::Repr2
                | C::RespSens1
                | C::RespSens1A
                | C::RespSens1B
                | C::StotSe2
                | C::StotRe2
                | C::FlamGas1A
                | C::PyrophoricGas
                | C::UnstableGasA
                | C::UnstableGasB
                | C::FlamGas1B
                | C::FlamGas2
                | C::FlamLiq1
                | C::FlamLiq2
                | C::FlamSol1
                | C::FlamSol2
        )
}

/// Whether the unique formula identifier and the notice to the poison centres
/// are due.
///
/// # Source
///
/// CLP Article 45 and Annex VIII. Great Britain: Annex VIII was not retained
/// (HSE; gov.uk, "Submitting chemicals information to the National Poisons
/// Information Service").
pub fn formula_identifier(hazards: &[Hazard], rules: &Rules) -> Due {
    match rules.jurisdiction {
        Jurisdiction::Gb => Due::no(
            "Great Britain asks for none (HSE: Annex VIII was not retained); sending the sheet to \
             the poisons service is voluntary",
        ),
        Jurisdiction::Un => Due::no("the UN rules know none"),
        Jurisdiction::Eu => {
            let leading: Vec<String> = hazards
                .iter()
                .filter(|hazard| !hazard.class.is_environmental())
                .map(ToString::to_string)
                .collect();
            if leading.is_empty() {
                let why = if hazards.is_empty() {
                    "the mixture has no class; EUH208 alone asks for none (CLP Article 45, Annex VIII)"
                } else {
                    "it is classified for the environment only (CLP Article 45, Annex VIII)"
                };
                Due::no(why)
            } else {
                Due::yes(format!(
                    "{} (CLP Article 45 and Annex VIII; the notice comes before the sale)",
                    leading.join(", ")
                ))
            }
        }
    }
}
