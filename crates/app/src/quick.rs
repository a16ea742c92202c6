//! The quick pour: a weigh-out before anything is set up, and keeping it.

use formula::Given;
use formula::weigh_out::{self, BlendPart, Input, Output, TargetInput};
use measure::{Checker, Currency, Mass, Problem, Problems, Readability, System, Typed, Unclear};
use workshop::facts::{
    BlendPart as Part, Dated, Fact, Format, FormulaId, MouldId, Recipe, Settings, SupplyId,
    SupplyKind, WorkshopSetUp,
};
use workshop::{Refusal, Workshop, decide};

use crate::forms::{FORMATS, Filled, as_typed, cure_days, currency, in_own_marks};
use crate::steps::{Steps, Wrong};
use crate::{ActError, App, Done};

/// How many waxes the quick pour takes.
pub const WAXES: usize = 2;

/// Fills what a first visit finds in the boxes: about a pound of one wax.
pub fn first_fill(workshop: &Workshop, filled: Filled) -> Filled {
    let ounces = workshop
        .settings()
        .is_none_or(|settings| settings.system != System::Metric);
    let (amount, step) = if ounces {
        ("16 oz", "0.1 oz")
    } else {
        ("500 g", "1 g")
    };
    let step = workshop.settings().map_or_else(
        || step.to_owned(),
        |settings| as_typed(workshop, &settings.readability),
    );
    filled
        .or("wax", "soy wax")
        .or("oil", "fragrance oil")
        .or("load", "8 % of wax")
        .or("by", "wax")
        .or("amount", amount)
        .or("readability", step)
}

/// Works out what to weigh, by the calculation `weigh-out`.
///
/// # Errors
///
/// A problem for every field that cannot be read, under the form's names.
pub fn weigh_out(workshop: &Workshop, filled: &Filled) -> Result<Output, Problems> {
    let input = input_of(workshop, filled)?;
    let mut output = weigh_out::calculate_with(&input, workshop.reading())
        .map_err(|problems| in_own_marks(workshop, as_form_names(problems)))?;
    if let Some(oil) = filled.some("oil") {
        for portion in &mut output.portions {
            if portion.kind == formula::Role::Fragrance.word() {
                oil.clone_into(&mut portion.name);
            }
        }
    }
    Ok(output)
}

/// What was asked for, as it was understood: `16 oz of wax, with oil at 8 % of
/// wax`. The other base is said once, of what the scale can weigh.
pub fn understood(workshop: &Workshop, filled: &Filled, output: &Output) -> String {
    let weight = |name: &str| {
        let text = filled.get(name);
        Typed::<Mass>::parse_with(text, workshop.reading())
            .map_or_else(|_| text.to_owned(), |typed| as_typed(workshop, typed))
    };
    let amount = match (filled.get("by"), output.units) {
        ("wax", _) => format!("{} of wax", weight("amount")),
        (_, Some(1)) => format!("1 unit of {}", weight("unit_weight")),
        (_, Some(units)) => format!("{units} units of {}", weight("unit_weight")),
        _ => format!("{} in all", weight("amount")),
    };
    let asked = output
        .load
        .split_once(" (")
        .map_or(output.load.as_str(), |(asked, _)| asked);
    format!("{amount}, with oil at {asked}")
}

/// An answer in the other system of units, portion by portion.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Also {
    /// The system it is in.
    pub system: System,
    /// Each portion, in the order of the answer's.
    pub portions: Vec<String>,
    /// Everything together.
    pub total: String,
}

/// The same answer for a scale that counts in the other system.
pub fn also(output: &Output) -> Option<Also> {
    let read = |text: &str| Typed::<Mass>::parse(text).ok();
    let total = read(&output.total)?;
    let system = match total.unit() {
        measure::MassUnit::Ounce | measure::MassUnit::Pound => System::Metric,
        _ => System::Us,
    };
    let shown = |weight: &Typed<Mass>| measure::in_system(weight.value(), system).to_string();
    Some(Also {
        system,
        portions: output
            .portions
            .iter()
            .map(|portion| read(&portion.weight).map(|weight| shown(&weight)))
            .collect::<Option<_>>()?,
        total: shown(&total),
    })
}

fn input_of(workshop: &Workshop, filled: &Filled) -> Result<Input, Problems> {
    let text = |name: &str| filled.some(name).map(str::to_owned);
    // What the shelf knows of a wax counts, unless something else is typed.
    let max_load = |field: &str, wax: &str| {
        text(field).or_else(|| {
            let known = workshop.supply_named(SupplyKind::Wax, wax)?;
            Some(as_typed(workshop, known.max_load?))
        })
    };
    let first = filled.some("wax").unwrap_or("wax");
    let mut blend = vec![BlendPart {
        name: Some(first.to_owned()),
        parts: Some(Given(filled.some("parts").unwrap_or("100").to_owned())),
        max_load: max_load("max_load", first),
        kind: None,
    }];
    if let Some(second) = text("wax2") {
        blend.push(BlendPart {
            parts: Some(Given(filled.get("parts2").to_owned())),
            max_load: max_load("max_load2", &second),
            name: Some(second),
            kind: None,
        });
    }
    // An empty amount is given as such: it is then asked for by its own name.
    let amount = filled.get("amount").to_owned();
    let mut target = TargetInput::default();
    match filled.get("by") {
        "wax" => target.wax = Some(amount),
        "total" => target.total = Some(amount),
        "units" => {
            let count = amount.trim_end_matches("units").trim_end().to_owned();
            target.units = Some(Given(count));
            target.unit_weight = text("unit_weight");
            target.loss = text("loss");
        }
        other => {
            return Err(Problem::new(
                "by",
                other,
                "it is not one of the choices",
                "choose wax, everything or units",
            )
            .into());
        }
    }
    Ok(Input {
        blend,
        load: text("load"),
        target: Some(target),
        readability: text("readability"),
        ..Input::default()
    })
}

/// Gives a problem the name that its box has in the form.
fn as_form_names(problems: Problems) -> Problems {
    let name = |field: &str| match field {
        "target.wax" | "target.total" | "target.units" | "target" => "amount",
        "target.unit_weight" => "unit_weight",
        "target.loss" => "loss",
        "blend[0].name" | "blend" => "wax",
        "blend[0].parts" => "parts",
        "blend[0].max_load" => "max_load",
        "blend[1].name" => "wax2",
        "blend[1].parts" => "parts2",
        "blend[1].max_load" => "max_load2",
        _ => "",
    };
    Problems(
        problems
            .0
            .into_iter()
            .map(|problem| {
                let named = name(&problem.field);
                if named.is_empty() {
                    problem
                } else {
                    Problem {
                        field: named.to_owned(),
                        ..problem
                    }
                }
            })
            .collect(),
    )
}

/// Keeps a quick pour: the workshop's habits where it has none yet, the
/// supplies, the formula and the mould where they are new, and the pour, begun.
/// All of it is written down, or nothing.
///
/// # Errors
///
/// [`ActError`], with a problem for every field that cannot be read.
pub fn keep(app: &App, who: &str, filled: &Filled) -> Result<Done, ActError> {
    app.act(who, |workshop, day| {
        // Each of these decisions rests on the one before, so they are folded
        // into a copy; keeping a quick pour is rare enough to afford it.
        let mut kept = Steps::new(workshop, day);
        // Everything is read before anything is refused, so that the maker
        // hears of it all at once.
        let mut wrong = Wrong::default();
        wrong.gather(kept.settings(filled))?;
        let output = wrong.gather(weigh_out(&kept.workshop, filled).map_err(Refusal::from))?;
        let recipe = wrong.gather(kept.recipe(filled))?;
        let formula = match &recipe {
            Some(recipe) => wrong.gather(kept.formula(filled, recipe))?,
            None => None,
        };
        let mould = wrong.gather(kept.mould(filled))?.flatten();
        let (Some(output), Some(recipe), Some(formula), true) =
            (output, recipe, formula, wrong.0.is_empty())
        else {
            return Err(Problems(wrong.0).into());
        };
        let target = target_of(&kept.workshop, filled, &output)?;
        let planned = workshop::plan_pour(&kept.on_the_scale(filled)?, &recipe, target)?;
        let wanted = match target {
            formula::Target::Units { count, .. } => u32::try_from(count).unwrap_or(u32::MAX),
            _ => mould
                .and_then(|mould| kept.workshop.mould(mould))
                .map_or(0, |mould| mould.cavities),
        };
        let start = decide::start_pour(
            &kept.workshop,
            formula,
            mould,
            None,
            wanted,
            planned.portions,
            day,
        )?;
        kept.fold(start);
        Ok(kept.facts)
    })
}

/// Gives the problems of a decision the names that their boxes have here.
fn renamed(refusal: Refusal, names: &[(&str, &str)]) -> Refusal {
    let Refusal::Input(Problems(mut problems)) = refusal else {
        return refusal;
    };
    for problem in &mut problems {
        if let Some((_, to)) = names.iter().find(|(from, _)| *from == problem.field) {
            (*to).clone_into(&mut problem.field);
        }
    }
    Problems(problems).into()
}

impl Steps {
    /// The workshop with the scale that was typed, so that what is kept is what
    /// was shown; the workshop's own scale stays what it is.
    fn on_the_scale(&self, filled: &Filled) -> Result<Workshop, Refusal> {
        let reading = self.workshop.reading();
        let mut workshop = self.workshop.clone();
        let mut check = Checker::default();
        let typed = check.optional("readability", filled.some("readability"), |text| {
            let step = Typed::<Mass>::parse_with(text, reading)?;
            Readability::try_new(&step).map(|_| step)
        });
        check.finish()?;
        if let (Some(readability), Some(settings)) = (typed, self.workshop.settings()) {
            let settings = Settings {
                readability,
                ..settings.clone()
            };
            workshop.apply(&Dated {
                day: self.day(),
                fact: Fact::WorkshopSetUp(WorkshopSetUp { settings }),
            });
        }
        Ok(workshop)
    }

    /// A first pour settles the workshop's units and currency.
    fn settings(&mut self, filled: &Filled) -> Result<(), Refusal> {
        if self.workshop.settings().is_some() {
            return Ok(());
        }
        let reading = self.workshop.reading();
        let mut check = Checker::default();
        let step = check.required("readability", filled.some("readability"), |text| {
            let step = Typed::<Mass>::parse_with(text, reading)?;
            Readability::try_new(&step).map(|_| step)
        });
        let currency = check.required("currency", filled.some("currency"), currency);
        let (Some(readability), Some(currency)) = (step, currency) else {
            return Err(check.into_problems().into());
        };
        let ounces = matches!(
            readability.unit(),
            measure::MassUnit::Ounce | measure::MassUnit::Pound
        );
        let system = match (ounces, currency) {
            (false, _) => System::Metric,
            (true, Currency::GBP) => System::Imperial,
            (true, _) => System::Us,
        };
        let settings = Settings {
            name: filled.some("workshop").unwrap_or("My workshop").to_owned(),
            system,
            currency,
            decimal_mark: measure::DecimalMark::Point,
            readability,
            expected_loss: None,
            melter: None,
            wage: None,
            overhead_per_hour: None,
        };
        let facts = decide::set_up(&self.workshop, settings)?;
        self.fold(facts);
        Ok(())
    }

    fn supply(
        &mut self,
        kind: SupplyKind,
        (field, name): (&str, &str),
        max_load: Option<(&str, &str)>,
    ) -> Result<SupplyId, Refusal> {
        let names = [("name", field)];
        let reading = self.workshop.reading();
        let max_load = max_load
            .map(|(field, text)| {
                formula::FragranceLoad::parse(text, reading)
                    .map_err(|unclear| Refusal::from(Problem::at(field, unclear)))
            })
            .transpose()?;
        if let Some(known) = self.workshop.supply_named(kind, name) {
            let (id, name) = (known.id, known.name.clone());
            if max_load.is_some() && max_load != known.max_load {
                let flash_point = known.flash_point.clone();
                let facts = decide::amend_supply(&self.workshop, id, &name, max_load, flash_point)
                    .map_err(|refusal| renamed(refusal, &names))?;
                self.fold(facts);
            }
            return Ok(id);
        }
        let id = self.workshop.next_supply();
        let facts = decide::define_supply(&self.workshop, kind, name, max_load, None)
            .map_err(|refusal| renamed(refusal, &names))?;
        self.fold(facts);
        Ok(id)
    }

    fn recipe(&mut self, filled: &Filled) -> Result<Recipe, Refusal> {
        let reading = self.workshop.reading();
        let mut wrong = Wrong::default();
        let mut check = Checker::default();
        let load = check.required("load", Some(filled.get("load")), |text| {
            formula::FragranceLoad::parse(text, reading)
        });
        let cure = check.optional("cure_days", filled.some("cure_days"), cure_days);
        let mut parts = |field: &str, default: &str| {
            let text = filled.some(field).unwrap_or(default);
            check.required(field, Some(text), |text| {
                measure::parse_decimal(text.trim_end_matches('%'), reading)
            })
        };
        let mut waxes = vec![(
            ("wax", filled.some("wax").unwrap_or("wax")),
            "max_load",
            parts("parts", "100"),
        )];
        if let Some(second) = filled.some("wax2") {
            waxes.push((("wax2", second), "max_load2", parts("parts2", "0")));
        }
        wrong.gather(check.finish().map_err(Refusal::from))?;
        let mut blend = Vec::new();
        for (name, carries, parts) in waxes {
            let carries = filled.some(carries).map(|text| (carries, text));
            let supply = wrong.gather(self.supply(SupplyKind::Wax, name, carries))?;
            blend.extend(
                supply
                    .zip(parts)
                    .map(|(supply, parts)| Part { supply, parts }),
            );
        }
        let oil = if load.is_some_and(|load| load.ratio().decimal().is_zero()) {
            None
        } else {
            let name = ("oil", filled.some("oil").unwrap_or("fragrance oil"));
            wrong.gather(self.supply(SupplyKind::FragranceOil, name, None))?
        };
        let (Some(load), true) = (load, wrong.0.is_empty()) else {
            return Err(Problems(wrong.0).into());
        };
        Ok(Recipe {
            blend,
            oil,
            load,
            dye: None,
            add_at: None,
            pour_at: None,
            cure_days: cure.unwrap_or(0),
            set_density: None,
        })
    }

    fn formula(&mut self, filled: &Filled, recipe: &Recipe) -> Result<FormulaId, Refusal> {
        // Without a name of its own, it is whatever the same recipe is called.
        let is_called_so = |formula: &workshop::Formula| {
            filled
                .some("name")
                .is_none_or(|name| formula.name.to_lowercase() == name.to_lowercase())
        };
        // Without days of its own to cure, it cures as long as the same recipe does.
        let is_the_same = |known: &Recipe| {
            let cure_days = match filled.some("cure_days") {
                Some(_) => recipe.cure_days,
                None => known.cure_days,
            };
            *known
                == Recipe {
                    cure_days,
                    ..recipe.clone()
                }
        };
        let known = self
            .workshop
            .formulas()
            .find(|formula| is_called_so(formula) && is_the_same(formula.current()));
        if let Some(known) = known {
            return Ok(known.id);
        }
        let name = filled
            .some("name")
            .or(filled.some("oil"))
            .unwrap_or("Trial")
            .to_owned();
        let id = self.workshop.next_formula();
        let facts = decide::define_formula(&self.workshop, &name, recipe.clone())?;
        self.fold(facts);
        Ok(id)
    }

    fn mould(&mut self, filled: &Filled) -> Result<Option<MouldId>, Refusal> {
        let Some(name) = filled.some("mould") else {
            return Ok(None);
        };
        let lower = name.to_lowercase();
        if let Some(known) = self
            .workshop
            .moulds()
            .find(|mould| mould.name.to_lowercase() == lower)
        {
            return Ok(Some(known.id));
        }
        let reading = self.workshop.reading();
        let mut check = Checker::default();
        let cavities = check.required("cavities", Some(filled.get("cavities")), |text| {
            text.trim().parse::<u32>().map_err(|_| {
                let wrong = if text.trim().is_empty() {
                    "the number of cavities is missing"
                } else {
                    "the number of cavities is not a whole number"
                };
                Unclear::new(
                    text,
                    wrong,
                    "write how many bars or cups come out of one fill, such as 12",
                )
            })
        });
        let nominal = check.optional("unit_weight", filled.some("unit_weight"), |text| {
            Typed::<Mass>::parse_with(text, reading)
        });
        let format = FORMATS
            .iter()
            .find(|(word, _)| *word == filled.get("format"))
            .map_or(Format::SnapBar, |(_, format)| *format);
        let (true, Some(cavities)) = (check.is_clean(), cavities) else {
            return Err(check.into_problems().into());
        };
        let id = self.workshop.next_mould();
        let facts = decide::define_mould(&self.workshop, name, format, cavities, None, nominal)
            .map_err(|refusal| {
                renamed(refusal, &[("name", "mould"), ("nominal", "unit_weight")])
            })?;
        self.fold(facts);
        Ok(Some(id))
    }
}

fn target_of(
    workshop: &Workshop,
    filled: &Filled,
    output: &Output,
) -> Result<formula::Target, Problems> {
    let reading = workshop.reading();
    let mut check = Checker::default();
    let amount = filled.get("amount");
    let mass = |text: &str| Typed::<Mass>::parse_with(text, reading).map(|typed| typed.value());
    let target = match filled.get("by") {
        "wax" => check
            .required("amount", Some(amount), mass)
            .map(formula::Target::Wax),
        "total" => check
            .required("amount", Some(amount), mass)
            .map(formula::Target::Total),
        _ => {
            let each = check.required("unit_weight", filled.some("unit_weight"), mass);
            let loss = check.optional("loss", filled.some("loss"), |text| {
                if text.ends_with('%') {
                    measure::Ratio::parse(text, reading).map(formula::Loss::OfMelted)
                } else {
                    mass(text).map(formula::Loss::Weight)
                }
            });
            each.zip(output.units)
                .map(|(each, count)| formula::Target::Units {
                    count,
                    each,
                    loss: loss.unwrap_or(formula::Loss::NONE),
                })
        }
    };
    match target {
        Some(target) if check.is_clean() => Ok(target),
        _ => Err(check.into_problems()),
    }
}
