//! A small workshop to ask questions of.

use formula::FragranceLoad;
use jiff::civil::{Date, date};
use measure::{Currency, Decimal, DecimalMark, Mass, Ratio, Reading, System, Typed, Volume};
use workshop::facts::{
    BlendPart, Dated, Format, FormulaId, MouldId, PartFill, Portion, PourCount, PourId, Recipe,
    Settings, SupplyId, SupplyKind,
};
use workshop::{Fact, Refusal, Workshop, decide};

pub(crate) const WAX: SupplyId = SupplyId(1);
pub(crate) const MOULD: MouldId = MouldId(1);
const FORMULA: FormulaId = FormulaId(1);

pub(crate) fn mass(text: &str) -> Typed<Mass> {
    Typed::parse(text).unwrap()
}

pub(crate) fn percent(text: &str) -> Ratio {
    Ratio::parse(text, Reading::PLAIN).unwrap()
}

/// A workshop and the day it is at.
pub(crate) struct Book {
    pub(crate) workshop: Workshop,
    pub(crate) day: Date,
}

impl Book {
    /// A workshop with one wax, one formula of it, cured ten days, and one mould.
    pub(crate) fn new(system: System, scale: &str, loss: Option<&str>, mould: Mould) -> Self {
        let mut book = Self {
            workshop: Workshop::default(),
            day: date(2026, 9, 1),
        };
        let settings = Settings {
            name: "Quillfen Wax Works".to_owned(),
            system,
            currency: Currency::USD,
            decimal_mark: DecimalMark::Point,
            readability: mass(scale),
            expected_loss: loss.map(percent),
            melter: None,
            wage: None,
            overhead_per_hour: None,
        };
        book.fact(decide::set_up(&book.workshop, settings));
        book.fact(decide::define_supply(
            &book.workshop,
            SupplyKind::Wax,
            "soy container wax",
            None,
            None,
        ));
        let recipe = Recipe {
            blend: vec![BlendPart {
                supply: WAX,
                parts: Decimal::ONE,
            }],
            oil: None,
            load: FragranceLoad::OfWax(Ratio::ZERO),
            dye: None,
            add_at: None,
            pour_at: None,
            cure_days: 10,
            set_density: mould.set_density,
        };
        book.fact(decide::define_formula(
            &book.workshop,
            "Harbour Fig",
            recipe,
        ));
        book.fact(decide::define_mould(
            &book.workshop,
            "twelve bars",
            Format::SnapBar,
            mould.cavities,
            mould.line_volume,
            mould.nominal,
        ));
        book
    }

    #[track_caller]
    pub(crate) fn fact(&mut self, decided: Result<Vec<Fact>, Refusal>) {
        for fact in decided.unwrap() {
            let day = self.day;
            self.workshop.apply(&Dated { day, fact });
        }
    }

    /// Weighs out, pours and counts; the pour is not finished yet.
    #[track_caller]
    pub(crate) fn pour(&mut self, poured: &str, wanted: u32, count: PourCount) -> PourId {
        let pour = self.workshop.next_pour();
        let portion = Portion {
            supply: WAX,
            weight: mass(poured),
        };
        self.fact(decide::start_pour(
            &self.workshop,
            FORMULA,
            Some(MOULD),
            None,
            wanted,
            vec![portion],
            self.day,
        ));
        self.fact(decide::weigh(&self.workshop, pour, 0, mass(poured)));
        self.fact(decide::pour_out(&self.workshop, pour, None, None));
        self.fact(decide::count(&self.workshop, pour, count, None));
        pour
    }

    /// A pour in which the wax is weighed, and nothing more.
    #[track_caller]
    pub(crate) fn begun(&mut self, planned: &str, weighed: &str) -> PourId {
        let pour = self.workshop.next_pour();
        let portion = Portion {
            supply: WAX,
            weight: mass(planned),
        };
        let (mould, day) = (Some(MOULD), self.day);
        let portions = vec![portion];
        self.fact(decide::start_pour(
            &self.workshop,
            FORMULA,
            mould,
            None,
            10,
            portions,
            day,
        ));
        self.fact(decide::weigh(&self.workshop, pour, 0, mass(weighed)));
        pour
    }

    #[track_caller]
    pub(crate) fn weigh_units(&mut self, pour: PourId, weights: &[&str]) {
        let weights = weights.iter().map(|text| mass(text)).collect();
        self.fact(decide::weigh_units(&self.workshop, pour, weights));
    }

    #[track_caller]
    pub(crate) fn finish(&mut self, pour: PourId, good: u32) {
        self.fact(decide::finish(&self.workshop, pour, good, 0, 0, None));
    }

    /// Lets days go by.
    pub(crate) fn wait(&mut self, days: i32) {
        self.day = workshop::day_after(self.day, days);
    }
}

/// The mould of a small workshop.
pub(crate) struct Mould {
    pub(crate) cavities: u32,
    pub(crate) line_volume: Option<Typed<Volume>>,
    pub(crate) nominal: Option<Typed<Mass>>,
    pub(crate) set_density: Option<Decimal>,
}

impl Mould {
    /// So many cavities and nothing else known.
    pub(crate) const fn bare(cavities: u32) -> Self {
        Self {
            cavities,
            line_volume: None,
            nominal: None,
            set_density: None,
        }
    }
}

/// A count of full units; nobody looked for a part-filled one.
pub(crate) fn filled(full: u32, left: &str) -> PourCount {
    PourCount {
        full,
        part: PartFill::Unknown,
        left: Some(mass(left)),
        topped_up: None,
    }
}
