//! The quick pour: what is shown is what is kept.

use std::sync::Arc;

use app::forms::{self, Filled};
use app::{App, FixedClock, quick};
use formula::weigh_out::Output;
use jiff::civil::date;
use journal::{MemoryStore, WorkshopId};
use workshop::Workshop;
use workshop::facts::SupplyKind;

/// A workshop in grams whose scale reads to a gram, with one wax on the shelf.
fn set_up() -> App {
    let id = WorkshopId::try_new("test").unwrap();
    let clock = Arc::new(FixedClock(date(2026, 10, 4)));
    let app = App::open(Arc::new(MemoryStore::new()), clock, id).unwrap();
    let settings = Filled::of([
        ("name", "Quillfen Wax Works"),
        ("system", "metric"),
        ("currency", "EUR"),
        ("decimal_mark", "comma"),
        ("readability", "1 g"),
    ]);
    forms::set_up(&app, "test", &settings).unwrap();
    let wax = Filled::of([
        ("kind", "wax"),
        ("name", "soy wax"),
        ("max_load", "6,5 % of wax"),
    ]);
    forms::define_supply(&app, "test", &wax).unwrap();
    app
}

/// 468 g of soy wax at 8 %, and what else is typed.
fn typed(more: &[(&str, &str)]) -> Filled {
    let usual = [
        ("wax", "soy wax"),
        ("oil", "Harbour Fig oil"),
        ("load", "8 % of wax"),
        ("by", "wax"),
        ("amount", "468 g"),
        ("readability", "1 g"),
    ];
    let filled = Filled::of(usual);
    more.iter()
        .fold(filled, |filled, (name, text)| filled.with(name, *text))
}

fn shown(app: &App, filled: &Filled) -> Output {
    app.look(|workshop| quick::weigh_out(workshop, filled))
        .unwrap()
        .unwrap()
}

/// What the last pour is to weigh, ingredient by ingredient.
fn kept(workshop: &Workshop) -> Vec<String> {
    let pour = workshop.pours().next_back().unwrap();
    pour.targets.iter().map(ToString::to_string).collect()
}

fn formulas(app: &App) -> Vec<String> {
    app.look(|workshop| {
        let names = workshop.formulas().map(|formula| formula.name.clone());
        names.collect()
    })
    .unwrap()
}

fn max_load(app: &App) -> String {
    app.look(|workshop| {
        let wax = workshop.supply_named(SupplyKind::Wax, "soy wax").unwrap();
        wax.max_load.unwrap().to_string()
    })
    .unwrap()
}

#[test]
fn what_is_weighed_is_what_was_shown() {
    for (step, expected, empty) in [
        ("1 g", ["468 g", "37 g"], "0 g"),
        ("0,1 g", ["468.0 g", "37.4 g"], "0.0 g"),
        ("0,01 g", ["468.00 g", "37.44 g"], "0.00 g"),
    ] {
        let app = set_up();
        let filled = typed(&[("readability", step)]);
        let shown: Vec<_> = shown(&app, &filled)
            .portions
            .into_iter()
            .map(|portion| portion.weight)
            .collect();
        assert_eq!(shown, expected);
        quick::keep(&app, "test", &filled).unwrap();
        app.look(|workshop| {
            assert_eq!(kept(workshop), expected);
            let step = workshop.settings().unwrap().readability.to_string();
            assert_eq!(step, "1 g", "the workshop's own scale stays");
            let pour = workshop.pours().next_back().unwrap();
            let step = app::pouring::step(workshop, pour, 0);
            assert_eq!(
                (step.before.as_str(), step.after.as_str()),
                (empty, expected[0])
            );
        })
        .unwrap();
    }
}

#[test]
fn what_the_shelf_knows_a_wax_carries_counts() {
    let app = set_up();
    let known = shown(&app, &typed(&[]));
    assert_eq!(known.cautions, 1, "{:?}", known.notes);
    let unknown = shown(&app, &typed(&[("wax", "rapeseed wax")]));
    assert_eq!(unknown.cautions, 0, "{:?}", unknown.notes);
    let typed = shown(&app, &typed(&[("max_load", "10 % of wax")]));
    assert_eq!(typed.cautions, 0, "{:?}", typed.notes);
}

#[test]
fn what_is_typed_of_a_known_wax_is_kept() {
    let app = set_up();
    quick::keep(&app, "test", &typed(&[])).unwrap();
    assert_eq!(max_load(&app), "6.5 % of wax", "nothing was typed");
    quick::keep(&app, "test", &typed(&[("max_load", "10,5 % of wax")])).unwrap();
    assert_eq!(max_load(&app), "10.5 % of wax");
    let facts = |app: &App| app.look(Workshop::facts).unwrap();
    let before = facts(&app);
    quick::keep(&app, "test", &typed(&[("max_load", "10,5 % of wax")])).unwrap();
    assert_eq!(facts(&app), before + 1, "only the pour is new");
}

#[test]
fn a_load_that_cannot_be_read_is_said_of_its_own_box() {
    let app = set_up();
    let blend = [
        ("parts", "90"),
        ("wax2", "soy wax"),
        ("parts2", "10"),
        ("max_load2", "plenty"),
    ];
    let refused = quick::keep(&app, "test", &typed(&blend)).unwrap_err();
    let app::ActError::Refused(workshop::Refusal::Input(problems)) = refused else {
        panic!("{refused}");
    };
    let fields: Vec<_> = problems.0.iter().map(|p| p.field.as_str()).collect();
    assert_eq!(fields, ["max_load2"]);
}

#[test]
fn a_new_name_makes_a_formula_of_its_own() {
    let app = set_up();
    for (name, expected) in [
        ("", vec!["Harbour Fig oil"]),
        ("Rainy Loft", vec!["Harbour Fig oil", "Rainy Loft"]),
        // Known by name and recipe, however it is spelled.
        ("rainy loft", vec!["Harbour Fig oil", "Rainy Loft"]),
        // Nameless, the same recipe is the one there is.
        ("", vec!["Harbour Fig oil", "Rainy Loft"]),
    ] {
        quick::keep(&app, "test", &typed(&[("name", name)])).unwrap();
        assert_eq!(formulas(&app), expected);
    }
    // The same name with another load is another formula.
    let stronger = typed(&[("name", "Rainy Loft"), ("load", "10 % of wax")]);
    quick::keep(&app, "test", &stronger).unwrap();
    assert_eq!(
        formulas(&app),
        ["Harbour Fig oil", "Rainy Loft", "Rainy Loft"]
    );
}

#[test]
fn the_first_boxes_of_a_comma_workshop_can_be_read() {
    let app = set_up();
    let settings = Filled::of([
        ("name", "Quillfen Wax Works"),
        ("system", "metric"),
        ("currency", "EUR"),
        ("decimal_mark", "comma"),
        ("readability", "0,1 g"),
    ]);
    forms::set_up(&app, "test", &settings).unwrap();
    app.look(|workshop| {
        let filled = quick::first_fill(workshop, Filled::default());
        assert_eq!(filled.get("readability"), "0,1 g");
        assert!(quick::weigh_out(workshop, &filled).is_ok());
    })
    .unwrap();
}

#[test]
fn a_bare_temperature_is_in_the_workshops_unit_and_kept_with_it() {
    for (system, expected) in [("metric", "68 °C"), ("us", "68 °F"), ("imperial", "68 °F")] {
        let app = set_up();
        let settings = Filled::of([
            ("name", "Quillfen Wax Works"),
            ("system", system),
            ("currency", "EUR"),
            ("decimal_mark", "comma"),
            ("readability", "1 g"),
        ]);
        forms::set_up(&app, "test", &settings).unwrap();
        let oil = Filled::of([
            ("kind", "fragrance_oil"),
            ("name", "Peat & Plum oil"),
            ("flash_point", "68"),
        ]);
        forms::define_supply(&app, "test", &oil).unwrap();
        app.look(|workshop| {
            let oil = workshop
                .supply_named(SupplyKind::FragranceOil, "Peat & Plum oil")
                .unwrap();
            assert_eq!(oil.flash_point.as_ref().unwrap().to_string(), expected);
            let hint = forms::temperature_hint(workshop, 75);
            assert!(hint.contains("75 C") && hint.contains("167 F"), "{hint}");
        })
        .unwrap();
    }
}

#[test]
fn examples_are_written_as_the_workshop_types() {
    let app = set_up();
    app.look(|workshop| {
        let own = |sentence: &str| forms::example(workshop, sentence);
        assert_eq!(
            own("several: 1.5, 1.6, 1.55; in g."),
            "several: 1,5; 1,6; 1,55; in g."
        );
        assert_eq!(
            own("8 % of wax, 7.4 % of total"),
            "8 % of wax, 7,4 % of total"
        );
    })
    .unwrap();
}
