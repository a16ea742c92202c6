//! Mixtures for the other modules, and an answer as one line of text.

use hazard::{
    AcuteEstimate, Band, Classification, EstimateKind, Form, Hazard, Ingredient, Jurisdiction,
    Mixture, Part, Rules, Share, Unlisted, classify,
};
use measure::{Decimal, Reading};

/// A substance at a share: `3.2`, `5-10`, `< 1` percent.
pub(crate) fn some(name: &str, share: &str, classes: &[&str]) -> Ingredient {
    Ingredient {
        name: name.to_owned(),
        cas: None,
        share: Share::parse_figures(share, Reading::PLAIN).unwrap(),
        hazards: Some(
            classes
                .iter()
                .map(|class| Hazard::parse(class).unwrap())
                .collect(),
        ),
        m_acute: None,
        m_chronic: None,
        estimates: Vec::new(),
        bands: Vec::new(),
    }
}

/// More about a substance.
pub(crate) trait More: Sized {
    fn factors(self, acute: u32, chronic: u32) -> Self;
    fn estimate(self, kind: EstimateKind, value: &str) -> Self;
    fn limit(self, class: &str, limit: &str) -> Self;
    fn unknown(self) -> Self;
}

impl More for Ingredient {
    fn factors(mut self, acute: u32, chronic: u32) -> Self {
        self.m_acute = Some(acute);
        self.m_chronic = Some(chronic);
        self
    }

    fn estimate(mut self, kind: EstimateKind, value: &str) -> Self {
        self.estimates
            .push(AcuteEstimate::parse(kind, value, Reading::PLAIN).unwrap());
        self
    }

    fn limit(mut self, class: &str, limit: &str) -> Self {
        let (from, below) = Band::parse_limit(limit, Reading::PLAIN).unwrap();
        let class = Hazard::parse(class).unwrap().class;
        self.bands.push(Band { class, from, below });
        self
    }

    fn unknown(mut self) -> Self {
        self.hazards = None;
        self
    }
}

/// A material by weight; what its shares leave open does not classify.
pub(crate) fn part(weight: &str, ingredients: Vec<Ingredient>) -> Part {
    Part {
        name: String::new(),
        weight: weight.parse().unwrap(),
        ingredients,
        unlisted: Unlisted::NotHazardous,
    }
}

pub(crate) fn whole(ingredients: Vec<Ingredient>) -> Mixture {
    Mixture::of(&[part("100", ingredients)]).unwrap()
}

/// The law late in 2026.
pub(crate) fn law(jurisdiction: Jurisdiction) -> Rules {
    Rules::of(jurisdiction, jiff::civil::date(2026, 12, 1))
}

pub(crate) fn liquid(viscosity_mm2_s: &str) -> Form {
    Form::Liquid {
        flash_point_c: None,
        boiling_point_c: None,
        viscosity_mm2_s: Some(viscosity_mm2_s.parse::<Decimal>().unwrap()),
    }
}

/// `Skin Irrit. 2 H315, Skin Sens. 1B H317 (also names b)`, or `none (EUH208
/// a)`.
pub(crate) fn told(mixture: &Mixture, answer: &Classification) -> String {
    let mut text = answer
        .hazards()
        .map(|hazard| hazard.to_string())
        .collect::<Vec<_>>()
        .join(", ");
    if text.is_empty() {
        "none".clone_into(&mut text);
    }
    if !answer.contains.is_empty() {
        let names: Vec<&str> = answer
            .contains
            .iter()
            .map(|place| mixture.name(*place))
            .collect();
        let lead = if answer.is_sensitising() {
            "also names"
        } else {
            "EUH208"
        };
        text = format!("{text} ({lead} {})", names.join(", "));
    }
    text
}

pub(crate) fn answer_by(jurisdiction: Jurisdiction, form: &Form, lines: Vec<Ingredient>) -> String {
    let mixture = whole(lines);
    told(&mixture, &classify(&mixture, &law(jurisdiction), form))
}

/// The answer of EU law for something solid.
pub(crate) fn answer(lines: Vec<Ingredient>) -> String {
    answer_by(Jurisdiction::Eu, &Form::Solid, lines)
}
