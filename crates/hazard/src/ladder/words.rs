//! A rung in a few plain words, for a heading. The label's own words are the
//! statements' and come from the tables.

use rust_decimal::Decimal;

use super::{Ladder, Load, Rung};
use crate::class::{Class, Route};
use crate::label::SignalWord;

/// Which base a load is written on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Base {
    /// Oil ÷ wax.
    Wax,
    /// Oil ÷ everything.
    Total,
}

impl Base {
    /// `of wax`, `of total`.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Wax => "of wax",
            Self::Total => "of total",
        }
    }

    /// The load on this base, percent.
    pub const fn of(self, load: Load) -> Decimal {
        match self {
            Self::Wax => load.of_wax,
            Self::Total => load.of_total,
        }
    }
}

impl Ladder {
    /// Over which loads a rung reaches: `up to 7.41 %`, and for the last one
    /// `above 7.41 %`.
    pub fn span(&self, rung: usize, base: Base) -> String {
        let Some(own) = self.rungs.get(rung) else {
            return String::new();
        };
        let below = rung.checked_sub(1).and_then(|below| self.rungs.get(below));
        let most = |rung: &Rung| base.of(rung.keeps.unwrap_or(rung.to));
        match below {
            _ if own.from == own.to => format!("at {} %", base.of(own.to)),
            None if self.rungs.len() == 1 => format!("at every load up to {} %", base.of(own.to)),
            Some(below) if rung + 1 == self.rungs.len() => {
                format!("above {} %", most(below).round_dp(2).normalize())
            }
            _ if own.keeps.is_none() => format!(
                "between {} and {} %",
                base.of(own.from).round_dp(4).normalize(),
                base.of(own.to).round_dp(4).normalize()
            ),
            _ => format!("up to {} %", most(own)),
        }
    }
}

impl Rung {
    /// What the label must carry, shortly: `Warning: skin allergy; names
    /// linalool`.
    pub fn title(&self, signal_word: Option<SignalWord>) -> String {
        const NAMES: usize = 2;
        let named = match self.named.as_slice() {
            [] => String::new(),
            names if names.len() <= NAMES => format!("names {}", names.join(" and ")),
            names => format!("names {} and {} more", names[0], names.len() - 1),
        };
        if self.hazards.is_empty() {
            return if named.is_empty() {
                "nothing for a hazard".to_owned()
            } else {
                format!("one line that {named}")
            };
        }
        let mut kinds: Vec<&str> = Vec::new();
        for hazard in &self.hazards {
            let kind = short(hazard.class);
            if !kinds.contains(&kind) {
                kinds.push(kind);
            }
        }
        let kinds = kinds.join(", ");
        let word = signal_word.map_or_else(|| "No signal word".to_owned(), |word| word.to_string());
        if named.is_empty() {
            format!("{word}: {kinds}")
        } else {
            format!("{word}: {kinds}; {named}")
        }
    }
}

/// The kind of a hazard in two or three words.
fn short(class: Class) -> &'static str {
    if let Some((route, category)) = class.acute() {
        return match (route, category) {
            (Route::Oral, 4) => "harmful if swallowed",
            (Route::Oral, _) => "poison if swallowed",
            (Route::Dermal, 4) => "harmful through the skin",
            (Route::Dermal, _) => "poison through the skin",
            (Route::Inhalation, 4) => "harmful if breathed in",
            (Route::Inhalation, _) => "poison if breathed in",
        };
    }
    match class {
        Class::FlamLiq1 | Class::FlamLiq2 | Class::FlamLiq3 => "flammable liquid",
        Class::SkinCorr1 | Class::SkinCorr1A | Class::SkinCorr1B | Class::SkinCorr1C => {
            "burns the skin"
        }
        Class::SkinIrrit2 => "irritates the skin",
        Class::EyeDam1 => "damages the eyes",
        Class::EyeIrrit2 => "irritates the eyes",
        Class::RespSens1 | Class::RespSens1A | Class::RespSens1B => "allergy of the airways",
        Class::SkinSens1 | Class::SkinSens1A | Class::SkinSens1B => "skin allergy",
        Class::Muta1A | Class::Muta1B | Class::Muta2 => "genetic defects",
        Class::Carc1A | Class::Carc1B | Class::Carc2 => "cancer",
        Class::Repr1A | Class::Repr1B | Class::Repr2 => "fertility or the unborn child",
        Class::Lact => "nursing",
        Class::StotSe1 | Class::StotSe2 | Class::StotRe1 | Class::StotRe2 => "damage to organs",
        Class::StotSe3Irritation => "irritates the airways",
        Class::StotSe3Narcosis => "makes drowsy",
        Class::AspTox1 => "dangerous in the airways if swallowed",
        Class::AquaticAcute1 | Class::AquaticChronic1 => "very toxic to water life",
        Class::AquaticChronic2 => "toxic to water life",
        Class::AquaticChronic3 | Class::AquaticChronic4 => "harmful to water life",
        Class::EdHh1 | Class::EdHh2 => "disrupts human hormones",
        Class::EdEnv1 | Class::EdEnv2 => "disrupts hormones of wildlife",
        Class::Pbt | Class::Vpvb => "stays and gathers in living things",
        Class::Pmt | Class::Vpvm => "stays and spreads in water",
        Class::Ozone1 => "harms the ozone layer",
        other => other.code(),
    }
}
