//! From a recipe of the workshop to what to weigh, and back on course after a
//! slip of the hand.

use formula::dye::{Dye, DyeAmount};
use formula::weigh_out::{Contents, PlanError};
use formula::{Bench, Blend, Formula, Part, PartKind, Plan, Rescale, Role, Target};
use measure::{Decimal, Mass, MassUnit, Problem, Readability, Typed};

use crate::Refusal;
use crate::facts::{DyeDose, Portion, Recipe, SupplyId, SupplyKind};
use crate::state::{Pour, Workshop};

/// A pour planned from a recipe: what to weigh and from which supply.
#[derive(Debug, Clone, PartialEq)]
pub struct Planned {
    /// The plan with its notes and working.
    pub plan: Plan,
    /// What to weigh, in the plan's order.
    pub portions: Vec<Portion>,
}

impl Planned {
    /// Everything together, in the unit and the step of the scale.
    pub fn total(&self) -> Typed<Mass> {
        let total = self.plan.weighed.total();
        match self.portions.first() {
            Some(first) => total.typed(first.weight.unit(), first.weight.places().unwrap_or(1)),
            None => total.typed(MassUnit::Gram, 0),
        }
    }
}

/// Plans a pour of `recipe` for `target`.
///
/// # Errors
///
/// [`Refusal::Input`] when there is nothing to melt, nothing the scale can
/// show, or a wax of the recipe is not on the shelf's list.
pub fn plan_pour(workshop: &Workshop, recipe: &Recipe, target: Target) -> Result<Planned, Refusal> {
    let formula = formula_of(workshop, recipe)?;
    let bench = bench_of(workshop, recipe);
    let mut plan = formula::plan(&formula, target, &bench).map_err(refused)?;
    let supplies = supplies_of(recipe, &plan);
    for (portion, supply) in plan.portions.iter_mut().zip(&supplies) {
        // The plan calls every oil "fragrance oil"; here it has its own name.
        if let Some(supply) = workshop.supply(*supply) {
            let was = std::mem::replace(&mut portion.name, supply.name.clone());
            for note in &mut plan.notes {
                if let Some(rest) = note.text.strip_prefix(&was)
                    && rest.starts_with(' ')
                {
                    note.text = format!("{}{rest}", supply.name);
                }
            }
        }
    }
    let portions = plan
        .portions
        .iter()
        .zip(supplies)
        .map(|(portion, supply)| Portion {
            supply,
            weight: portion.weight.clone(),
        })
        .collect();
    Ok(Planned { plan, portions })
}

/// The scale, the melter and the cautions of the workshop for this recipe.
pub fn bench_of(workshop: &Workshop, recipe: &Recipe) -> Bench {
    let settings = workshop.settings();
    let readability = settings
        .and_then(|settings| Readability::try_new(&settings.readability).ok())
        .unwrap_or_else(|| default_readability(workshop));
    Bench {
        melter: settings
            .and_then(|settings| settings.melter.as_ref())
            .map(Typed::value),
        flash_point: recipe
            .oil
            .and_then(|oil| workshop.supply(oil))
            .and_then(|oil| oil.flash_point.clone()),
        add_at: recipe.add_at.clone(),
        ..Bench::new(readability)
    }
}

/// The step of a common kitchen scale in the workshop's units: 1 g or 0.1 oz.
pub fn default_readability(workshop: &Workshop) -> Readability {
    Readability::usual(workshop.system().mass_unit())
}

/// The recipe in the terms of the formula crate.
///
/// # Errors
///
/// [`Refusal::Input`] when its parts do not make a blend.
pub fn formula_of(workshop: &Workshop, recipe: &Recipe) -> Result<Formula, Refusal> {
    let parts = recipe
        .blend
        .iter()
        .map(|part| {
            let supply = workshop.supply(part.supply);
            let is_additive = supply.is_some_and(|supply| supply.kind == SupplyKind::Additive);
            Part {
                name: supply.map_or_else(|| format!("supply {}", part.supply), |s| s.name.clone()),
                parts: part.parts,
                max_load: supply.and_then(|supply| supply.max_load),
                kind: if is_additive {
                    PartKind::Additive
                } else {
                    PartKind::Wax
                },
            }
        })
        .collect();
    let blend = Blend::try_new(parts).map_err(|error| {
        Problem::new(
            "blend",
            "",
            error.to_string(),
            "enter at least one wax with its parts",
        )
    })?;
    let pound = Typed::<Mass>::from_decimal(Decimal::ONE, MassUnit::Pound)
        .expect("a pound is a mass")
        .value();
    let dyes = recipe
        .dye
        .iter()
        .map(|(supply, dose)| Dye {
            name: workshop
                .supply(*supply)
                .map_or_else(String::new, |supply| supply.name.clone()),
            amount: match dose {
                DyeDose::OfWax(share) => DyeAmount::OfWax(*share),
                DyeDose::DropsPerPound(drops) => DyeAmount::DropsPer(Decimal::from(*drops), pound),
            },
            drop_weight: None,
        })
        .collect();
    // A recipe without an oil carries no load, whatever was typed.
    let load = if recipe.oil.is_some() {
        recipe.load
    } else {
        formula::FragranceLoad::OfWax(measure::Ratio::ZERO)
    };
    Ok(Formula { blend, load, dyes })
}

/// Which supply each portion of the plan comes from.
fn supplies_of(recipe: &Recipe, plan: &Plan) -> Vec<SupplyId> {
    let mut blend = recipe.blend.iter().map(|part| part.supply);
    let mut dye = recipe.dye.iter().map(|(supply, _)| *supply);
    plan.portions
        .iter()
        .filter_map(|portion| match portion.role {
            Role::Wax | Role::Additive => blend.next(),
            Role::Dye => dye.next(),
            Role::Fragrance => recipe.oil,
        })
        .collect()
}

/// Both ways on for a pour in which something went in beyond its target; none
/// while everything is on target to a scale's step.
pub fn ways_on(workshop: &Workshop, pour: &Pour) -> Option<Rescale> {
    let (plan, bench) = plan_of(workshop, pour)?;
    let half_step = bench.readability.mass().micrograms() / 2;
    let slipped = pour
        .weighed
        .iter()
        .zip(&pour.targets)
        .any(|(weighed, target)| {
            weighed.as_ref().is_some_and(|weighed| {
                weighed.value().micrograms() - target.value().micrograms() > half_step
            })
        });
    if !slipped {
        return None;
    }
    let in_pot: Vec<_> = pour
        .weighed
        .iter()
        .map(|weighed| weighed.as_ref().map(Typed::value))
        .collect();
    // What is in the pot came from this plan, so it cannot be too much of it.
    formula::rescale(&plan, &in_pot, &bench).ok()
}

/// The plan a pour stands at now: its recipe at its own size, with the targets
/// aimed at after any re-scaling.
pub fn plan_of(workshop: &Workshop, pour: &Pour) -> Option<(Plan, Bench)> {
    let recipe = workshop.recipe_of(pour)?;
    let bench = bench_of(workshop, recipe);
    let total: Mass = pour.targets.iter().map(Typed::value).sum();
    let mut plan = plan_pour(workshop, recipe, Target::Total(total)).ok()?.plan;
    if plan.portions.len() != pour.targets.len() {
        return None;
    }
    let mut weighed = Contents::default();
    let mut running = Mass::ZERO;
    for (portion, target) in plan.portions.iter_mut().zip(&pour.targets) {
        weighed.add(portion.role, target.value());
        running = running + target.value();
        portion.weight = target.clone();
        portion.running = bench.readability.nearest(running);
        portion.reading = portion.running.clone();
    }
    plan.weighed = weighed;
    plan.units = (pour.wanted > 0).then(|| u64::from(pour.wanted));
    Some((plan, bench))
}

fn refused(error: PlanError) -> Refusal {
    Problem::new("target", "", error.to_string(), "ask for another amount").into()
}
