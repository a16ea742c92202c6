//! When a label may be marked ready, and what makes it due anew.

use formula::FragranceLoad;
use hazard::{Cas, Class, Hazard, Language, Share};
use jiff::civil::date;
use measure::{Decimal, Mass, Ratio, System, Typed};
use workshop::decide::{self, Filing};
use workshop::facts::{
    BlendPart, Destination, DestinationId, DyeDose, Fact, FormulaId, HOME, LabelPart,
    LabelSettings, LineBasis, Market, PourId, ProductId, Recipe, Rest, SheetLine, SupplyId,
    SupplyKind,
};
use workshop::label::{
    Hindrance, LabelState, Reader, Renewal, changes_between, label_case, label_case_for, ladder_of,
    most_of_whole, outlook_of, wax_limit_of,
};
use workshop::{Refusal, may_go};

use crate::book::{Book, Mould, WAX, filled, percent};

const OIL: SupplyId = SupplyId(2);
const FORMULA: FormulaId = FormulaId(2);
const GOOD: ProductId = ProductId(1);

fn load(text: &str) -> FragranceLoad {
    text.parse().unwrap()
}

fn recipe(at: &str) -> Recipe {
    Recipe {
        blend: vec![BlendPart {
            supply: WAX,
            parts: Decimal::from(100),
        }],
        oil: Some(OIL),
        load: load(at),
        dye: None,
        add_at: None,
        pour_at: None,
        cure_days: 3,
        set_density: None,
    }
}

fn line(name: &str, cas: &str, share: &str, classes: &[Class]) -> SheetLine {
    SheetLine {
        name: name.to_owned(),
        cas: Some(Cas::parse(cas).unwrap()),
        share: share.parse::<Share>().unwrap(),
        classes: Some(classes.iter().copied().map(Hazard::from).collect()),
        m_acute: None,
        m_chronic: None,
        estimates: vec![],
        limits: vec![],
        basis: LineBasis::OwnSheet,
        confirmed: true,
    }
}

fn sensitiser(share: &str) -> SheetLine {
    line("citral", "5392-40-5", share, &[Class::SkinSens1])
}

fn settings(markets: &[Market], languages: &[Language]) -> LabelSettings {
    LabelSettings {
        markets: markets.to_vec(),
        languages: languages.to_vec(),
        name: "Quillfen Wax Works".to_owned(),
        address: "3 Quarry Lane, Port Averin".to_owned(),
        phone: "01 555 0147".to_owned(),
        vat: "IE9Z54321Y".to_owned(),
    }
}

fn file(book: &mut Book, lines: Vec<SheetLine>) {
    let filing = Filing {
        supplier: "Saltmarsh Scents".to_owned(),
        dated: Some(book.day),
        version: String::new(),
        lines,
        rest: Rest::NotHazardous,
        older_is_meant: false,
    };
    book.fact(decide::file_sheet(&book.workshop, OIL, filing, book.day));
}

fn settle(book: &mut Book, markets: &[Market], languages: &[Language]) {
    let settings = settings(markets, languages);
    book.fact(decide::settle_labels(&book.workshop, settings));
}

fn mark(book: &mut Book) {
    let decided = decide::mark_label_ready(&book.workshop, GOOD, None, book.day);
    book.fact(decided);
}

fn revise(book: &mut Book, recipe: Recipe) {
    let decided = decide::revise_formula(&book.workshop, FORMULA, recipe, "stronger");
    book.fact(decided);
}

/// A good at this load, sold in the European Union, nothing of its oil known.
fn workshop(at: &str) -> Book {
    let mut book = Book::new(System::Metric, "1 g", None, Mould::bare(12));
    let limit = Some(load("12 % of wax"));
    let name = "soy container wax";
    book.fact(decide::amend_supply(&book.workshop, WAX, name, limit, None));
    let (kind, name) = (SupplyKind::FragranceOil, "Harbour Fig oil");
    book.fact(decide::define_supply(
        &book.workshop,
        kind,
        name,
        None,
        None,
    ));
    let recipe = recipe(at);
    book.fact(decide::define_formula(
        &book.workshop,
        "Harbour Fig scented",
        recipe,
    ));
    let mould = book.workshop.moulds().next().unwrap().id;
    let decided = decide::define_product(&book.workshop, "Harbour Fig bar", FORMULA, mould, vec![]);
    book.fact(decided);
    settle(&mut book, &[Market::Eu], &[Language::En]);
    book
}

fn state(book: &Book) -> LabelState {
    label_case(&book.workshop, GOOD, book.day).unwrap().state()
}

fn hindrances(book: &Book) -> Vec<Hindrance> {
    label_case(&book.workshop, GOOD, book.day)
        .unwrap()
        .hindrances
}

fn renewals(book: &Book) -> Vec<Renewal> {
    label_case(&book.workshop, GOOD, book.day).unwrap().renewals
}

#[track_caller]
fn refused(book: &Book, words: &[&str]) {
    match decide::mark_label_ready(&book.workshop, GOOD, None, book.day) {
        Err(Refusal::Input(problems)) => {
            let said: Vec<_> = problems
                .iter()
                .map(|problem| format!("{}; {}", problem.wrong, problem.accepted))
                .collect();
            assert_eq!(said, words);
        }
        other => panic!("not refused: {other:?}"),
    }
}

/// What the sensitiser makes up of the whole, as the engine sees it.
fn share_of_the_bar(book: &Book) -> f64 {
    let case = label_case(&book.workshop, GOOD, book.day).unwrap();
    let mixture = case.outlook.unwrap().mixture.unwrap();
    mixture.substances[0].concentration.most()
}

// CLP Annex I, Table 3.4.6: a sensitiser of category 1 is named from 0.1 %.
// 0.8 and 1.6 % of 10 parts in 110 are 0.0727 and 0.1455 %.
#[test]
fn a_newer_sheet_makes_the_label_due_anew_and_a_name_is_due() {
    let mut book = workshop("10 % of wax");
    file(&mut book, vec![sensitiser("0.8 %")]);
    assert!((share_of_the_bar(&book) - 0.8 / 11.0).abs() < 1e-12);
    assert_eq!(state(&book), LabelState::Open);
    mark(&mut book);
    assert_eq!(state(&book), LabelState::Ready);
    let label = book.workshop.label(GOOD).unwrap();
    assert!(label.elements.supplemental.is_empty() && label.identifier.is_none());

    book.day = date(2026, 10, 1);
    file(
        &mut book,
        vec![SheetLine {
            confirmed: false,
            ..sensitiser("1.6 %")
        }],
    );
    assert!((share_of_the_bar(&book) - 1.6 / 11.0).abs() < 1e-12);
    assert_eq!(state(&book), LabelState::Renew);
    let [renewal] = renewals(&book).try_into().unwrap();
    assert_eq!(renewal, Renewal::Sheet(OIL));
    assert_eq!(
        renewal.words(&book.workshop),
        "another sheet of Harbour Fig oil is on file, dated 1 Oct 2026"
    );
    let sheets = book.workshop.sheets(OIL);
    let changes = changes_between(&sheets[0], &sheets[1]);
    assert_eq!(changes.len(), 1);
    let oil = label_case(&book.workshop, GOOD, book.day)
        .unwrap()
        .outlook
        .unwrap();
    let oil = oil.contents.oil_of_total();
    let figures = [changes[0].then, changes[0].now]
        .map(|share| most_of_whole(share.unwrap(), oil).round_dp(3).to_string());
    assert_eq!(figures, ["0.073", "0.145"]);
    refused(
        &book,
        &[
            "a line of the sheet of Harbour Fig oil was not compared with the supplier's own; compare it",
        ],
    );
    book.fact(decide::confirm_sheet_line(&book.workshop, OIL, 2, 0));
    mark(&mut book);
    assert_eq!(state(&book), LabelState::Ready);
    let elements = &book.workshop.label(GOOD).unwrap().elements;
    assert_eq!(elements.supplemental.len(), 1);
    assert_eq!(elements.supplemental[0].code, "EUH208");
    assert_eq!(elements.supplemental[0].names, ["citral"]);
    assert_eq!(elements.pictograms, Vec::<String>::new());
}

#[test]
fn a_good_without_a_sheet_or_settings_is_not_ready_and_says_why() {
    let mut book = workshop("10 % of wax");
    refused(
        &book,
        &[
            "no safety data sheet of Harbour Fig oil is on file; write down what its section 3 lists",
        ],
    );
    settle(&mut book, &[Market::Us], &[Language::En]);
    assert_eq!(state(&book), LabelState::NotAsked);
    assert!(decide::mark_label_ready(&book.workshop, GOOD, None, book.day).is_err());
    assert_eq!(
        decide::mark_label_ready(&book.workshop, ProductId(9), None, book.day),
        Err(Refusal::Unknown {
            what: "good",
            id: "9".to_owned()
        })
    );
}

#[test]
fn what_the_sheet_leaves_open_hinders() {
    let mut book = workshop("10 % of wax");
    let open = SheetLine {
        classes: None,
        ..line("linalool", "78-70-6", "1 %", &[])
    };
    file(&mut book, vec![sensitiser("0.8 %"), open]);
    assert_eq!(
        hindrances(&book),
        [Hindrance::NoClasses(OIL, "linalool".to_owned())]
    );

    // 3 % of the oil is 0.27 % of the whole: Chronic 3 with a factor of 1
    // (100 x 0.27 is over 25), Chronic 2 with 10 (CLP Annex I, Table 4.1.2).
    let mut book = workshop("10 % of wax");
    let toxic = line("myrcene", "123-35-3", "3 %", &[Class::AquaticChronic1]);
    file(&mut book, vec![toxic.clone()]);
    assert_eq!(
        hindrances(&book),
        [Hindrance::NoFactor(
            "myrcene".to_owned(),
            10,
            Class::AquaticChronic2
        )]
    );
    let told = SheetLine {
        m_chronic: Some(1),
        ..toxic
    };
    let mut book = workshop("10 % of wax");
    file(&mut book, vec![told]);
    assert_eq!(hindrances(&book), []);
}

#[test]
fn every_line_has_to_be_confirmed() {
    let mut book = workshop("10 % of wax");
    let lines = [("citral", "5392-40-5"), ("linalool", "78-70-6")].map(|(name, cas)| SheetLine {
        confirmed: false,
        ..line(name, cas, "1 %", &[Class::SkinSens1B])
    });
    file(&mut book, lines.into());
    assert_eq!(hindrances(&book), [Hindrance::Unconfirmed(OIL, 2)]);
    book.fact(decide::confirm_sheet_line(&book.workshop, OIL, 1, 0));
    assert_eq!(hindrances(&book), [Hindrance::Unconfirmed(OIL, 1)]);
    book.fact(decide::confirm_sheet_line(&book.workshop, OIL, 1, 1));
    assert_eq!(hindrances(&book), []);
}

#[test]
fn a_load_above_the_wax_or_the_certificate_is_refused() {
    let mut book = workshop("13 % of wax");
    file(&mut book, vec![sensitiser("0.8 %")]);
    let day = book.day;
    let certificate = |book: &Book, most: &str| {
        decide::file_certificate(&book.workshop, OIL, "12", percent(most), None, day)
    };
    book.fact(certificate(&book, "5 %"));
    refused(
        &book,
        &[
            "the oil makes up 11.5044 % of it, and its certificate allows 5 % in category 12; lower the load",
            "the load is 13 % of wax, and the wax carries 12 %; lower the load",
        ],
    );
    // At the figure itself both are kept: 12 of 112 is 10.71 %.
    revise(&mut book, recipe("12 % of wax"));
    book.fact(certificate(&book, "10.72 %"));
    assert_eq!(hindrances(&book), []);
    assert_eq!(
        wax_limit_of(&book.workshop, &recipe("1 % of wax")).map(Ratio::percent),
        Some(Decimal::from(12))
    );
}

// REACH Annex XVII, entries 28 to 30: not for the public.
#[test]
fn what_may_not_be_sold_to_the_public_is_not_marked_ready() {
    let mut book = workshop("10 % of wax");
    file(
        &mut book,
        vec![line("benzene", "71-43-2", "2 %", &[Class::Carc1A])],
    );
    assert!(
        hindrances(&book)
            .iter()
            .any(|hindrance| matches!(hindrance, Hindrance::Blocked(_)))
    );
    assert!(decide::mark_label_ready(&book.workshop, GOOD, None, book.day).is_err());
}

#[test]
fn a_statement_without_a_confirmed_text_stops_that_language() {
    let mut book = workshop("10 % of wax");
    file(
        &mut book,
        vec![line("citral", "5392-40-5", "20 %", &[Class::SkinSens1])],
    );
    let stopped = |book: &Book, wanted: Language| {
        hindrances(book).iter().any(|hindrance| {
            matches!(hindrance, Hindrance::MissingText { language, .. } if *language == wanted)
        })
    };
    let complete: Vec<_> = Language::ALL
        .into_iter()
        .filter(|language| {
            settle(&mut book, &[Market::Eu], &[*language]);
            !stopped(&book, *language)
        })
        .collect();
    // Whatever the tables hold, the decision follows them language by language.
    assert!(complete.contains(&Language::En), "{complete:?}");
    for language in Language::ALL {
        settle(&mut book, &[Market::Eu], &[Language::En, language]);
        let decided = decide::mark_label_ready(&book.workshop, GOOD, None, book.day);
        assert_eq!(decided.is_ok(), complete.contains(&language), "{language}");
    }
}

#[test]
fn load_formula_law_and_settings_each_make_it_due_anew() {
    let mut book = workshop("8 % of wax");
    file(&mut book, vec![sensitiser("20 %")]);
    mark(&mut book);
    assert_eq!(renewals(&book), []);
    // A change that the label does not rest on.
    revise(
        &mut book,
        Recipe {
            cure_days: 10,
            ..recipe("8 % of wax")
        },
    );
    assert_eq!(renewals(&book), []);
    revise(&mut book, recipe("9 % of wax"));
    assert_eq!(
        renewals(&book),
        [Renewal::Load(load("8 % of wax"), load("9 % of wax"))]
    );
    assert_eq!(
        renewals(&book)[0].words(&book.workshop),
        "it rests on 8 % of wax, and the load is now 9 % of wax"
    );
    let mut more_wax = recipe("8 % of wax");
    more_wax.blend[0].parts = Decimal::from(50);
    revise(&mut book, more_wax);
    assert_eq!(renewals(&book), [Renewal::Formula(4)]);
    revise(&mut book, recipe("8 % of wax"));
    assert_eq!(renewals(&book), []);
    settle(&mut book, &[Market::Gb], &[Language::En]);
    assert_eq!(
        renewals(&book),
        [Renewal::Law(
            hazard::Jurisdiction::Eu,
            hazard::Jurisdiction::Gb
        )]
    );
    settle(
        &mut book,
        &[Market::Eu, Market::Gb],
        &[Language::En, Language::De],
    );
    assert_eq!(renewals(&book), [Renewal::Settings]);
    settle(&mut book, &[Market::Eu, Market::Gb], &[Language::En]);
    assert_eq!(renewals(&book), []);
    assert_eq!(state(&book), LabelState::Ready);
}

#[test]
fn one_identifier_never_covers_two_formulas() {
    let mut book = workshop("10 % of wax");
    file(&mut book, vec![sensitiser("20 %")]);
    mark(&mut book);
    let first = book
        .workshop
        .label(GOOD)
        .unwrap()
        .identifier
        .clone()
        .unwrap();
    assert_eq!(first.number, 1);
    assert_eq!(first.ufi.parse::<hazard::Ufi>().unwrap().formulation(), 1);
    // The same formula in another good keeps it, another revision gets the next.
    let mould = book.workshop.moulds().next().unwrap().id;
    let twin = decide::define_product(&book.workshop, "Harbour Fig cubes", FORMULA, mould, vec![]);
    book.fact(twin);
    let twin = decide::mark_label_ready(&book.workshop, ProductId(2), None, book.day).unwrap();
    let Fact::LabelMarkedReady(twin) = &twin[0] else {
        panic!("{twin:?}")
    };
    assert_eq!(twin.identifier.as_ref(), Some(&first));
    revise(&mut book, recipe("11 % of wax"));
    match decide::mark_label_ready(&book.workshop, GOOD, Some(1), book.day) {
        Err(Refusal::Input(problems)) => assert_eq!(
            problems.of("number").unwrap().wrong,
            "that number stands on a label of Harbour Fig bar for another formula"
        ),
        other => panic!("{other:?}"),
    }
    mark(&mut book);
    let second = book
        .workshop
        .label(GOOD)
        .unwrap()
        .identifier
        .clone()
        .unwrap();
    assert_eq!(second.number, 2);
}

#[test]
fn a_load_of_total_and_its_twin_of_wax_are_the_same_mixture() {
    let mut book = workshop("10 % of wax");
    file(&mut book, vec![sensitiser("11 %")]);
    let reader = Reader::of(&book.workshop, book.day);
    let found = |at: &str| {
        let recipe = recipe(at);
        let outlook = outlook_of(&book.workshop, &recipe, recipe.load, &reader).unwrap();
        outlook.classification.unwrap().hazards().count()
    };
    // 11 % of 10 in 110, and of 10 in 100 less what is not oil: exactly 1 % and
    // 1.1 %; CLP Annex I, Table 3.4.5: category 1 from 1 %.
    assert_eq!(found("10 % of wax"), 1);
    assert_eq!(found("9.99 % of wax"), 0);
    assert_eq!(found("9.090909 % of total"), 0);
    assert_eq!(found("9.090910 % of total"), 1);
}

#[test]
fn the_ladder_goes_up_to_what_the_wax_carries() {
    let mut book = workshop("10 % of wax");
    file(&mut book, vec![sensitiser("11 %")]);
    let rules = Reader::of(&book.workshop, book.day).rules;
    let (ladder, most) = ladder_of(&book.workshop, &recipe("10 % of wax"), &rules)
        .unwrap()
        .unwrap();
    assert_eq!(most.percent(), Decimal::from(12));
    // Named from 0.1 %, 11 l ÷ (100 + l) = 0.1: l = 0.917; classified from 1 %,
    // which is 10 % of wax, where H317 stands.
    let tops: Vec<_> = ladder
        .rungs
        .iter()
        .map(|rung| rung.to.of_wax.round_dp(3).normalize().to_string())
        .collect();
    assert_eq!(tops, ["0.917", "10", "12"]);
    assert!(ladder.rungs[1].is_euh208() && ladder.rungs[0].is_bare());
    // Nothing to draw without an oil or its sheet.
    let bare = Recipe {
        oil: None,
        ..recipe("10 % of wax")
    };
    assert!(ladder_of(&book.workshop, &bare, &rules).unwrap().is_none());
}

#[test]
fn a_wax_without_a_sheet_is_taken_on_trust_and_that_is_said() {
    let mut book = workshop("10 % of wax");
    file(&mut book, vec![sensitiser("11 %")]);
    let case = label_case(&book.workshop, GOOD, book.day).unwrap();
    let contents = case.outlook.unwrap().contents;
    assert_eq!(contents.trusted, [WAX]);
    assert_eq!(contents.sheets, [(OIL, 1)]);
    // The capacity comes from the mould, where its line volume is known.
    let mould = decide::define_mould(
        &book.workshop,
        "cups",
        workshop::facts::Format::Shapes,
        6,
        Typed::parse("84 ml").ok(),
        None,
    );
    book.fact(mould);
    let cups = book.workshop.moulds().last().unwrap().id;
    let decided = decide::define_product(&book.workshop, "cup", FORMULA, cups, vec![]);
    book.fact(decided);
    let case = label_case(&book.workshop, ProductId(2), book.day).unwrap();
    let sizes = case.outlook.unwrap().elements.sizes.unwrap();
    assert_eq!(sizes.label_mm, (52, 74));
}

#[test]
fn a_dye_by_drops_whose_sheet_leaves_the_rest_open_hinders() {
    let mut book = workshop("10 % of wax");
    file(&mut book, vec![sensitiser("11 %")]);
    let decided = decide::define_supply(&book.workshop, SupplyKind::Dye, "red dye", None, None);
    book.fact(decided);
    let dye = SupplyId(3);
    let dyed = Recipe {
        dye: Some((dye, DyeDose::DropsPerPound(4))),
        ..recipe("10 % of wax")
    };
    revise(&mut book, dyed);
    for (rest, expected) in [
        (Rest::NotHazardous, vec![]),
        (Rest::Unknown, vec![Hindrance::Unweighed(dye)]),
    ] {
        let filing = Filing {
            supplier: "Saltmarsh Scents".to_owned(),
            dated: None,
            version: String::new(),
            lines: Vec::new(),
            rest,
            older_is_meant: false,
        };
        book.fact(decide::file_sheet(&book.workshop, dye, filing, book.day));
        assert_eq!(hindrances(&book), expected);
    }
}

fn destination(name: &str, markets: &[Market], languages: &[Language]) -> Destination {
    Destination {
        name: name.to_owned(),
        settings: settings(markets, languages),
        responsible: "Abbey Goods, 1 Cloister Yard, Hollin".to_owned(),
        emergency: String::new(),
        marks: vec![String::new(), " Made in Port Averin ".to_owned()],
        link: String::new(),
    }
}

// Three labels of one formula: each is marked ready by itself, and one that
// changes leaves the others as they are.
#[test]
fn each_destination_has_a_label_of_its_own() {
    let mut book = workshop("10 % of wax");
    file(&mut book, vec![sensitiser("1.6 %")]);
    let abbey = destination("Hollin Abbey", &[Market::Gb], &[Language::En]);
    let decided = decide::settle_destination(&book.workshop, DestinationId(1), abbey.clone());
    book.fact(decided);
    let kept = book.workshop.destination(DestinationId(1)).unwrap();
    assert_eq!(kept.marks, ["Made in Port Averin"]);
    let north = destination("Over the water", &[Market::Us], &[Language::En]);
    let decided = decide::settle_destination(&book.workshop, DestinationId(2), north);
    book.fact(decided);
    let same = decide::settle_destination(&book.workshop, DestinationId(3), abbey);
    assert!(
        matches!(same, Err(Refusal::Input(problems)) if problems.0[0].field == "destination_name")
    );
    let states = |book: &Book| {
        [HOME, DestinationId(1), DestinationId(2)].map(|to| {
            let case = label_case_for(&book.workshop, GOOD, to, book.day);
            case.unwrap().state()
        })
    };
    assert_eq!(
        states(&book),
        [LabelState::Open, LabelState::Open, LabelState::NotAsked]
    );
    let decided =
        decide::mark_label_ready_for(&book.workshop, GOOD, DestinationId(1), None, book.day);
    book.fact(decided);
    assert_eq!(
        states(&book),
        [LabelState::Open, LabelState::Ready, LabelState::NotAsked]
    );
    mark(&mut book);
    let abbey = destination("Hollin Abbey", &[Market::Gb], &[Language::En, Language::Fr]);
    let decided = decide::settle_destination(&book.workshop, DestinationId(1), abbey);
    book.fact(decided);
    assert_eq!(
        states(&book),
        [LabelState::Ready, LabelState::Renew, LabelState::NotAsked]
    );
    assert_eq!(book.workshop.label_version(GOOD, DestinationId(1)), 1);
    let nowhere = decide::note_printed(
        &book.workshop,
        GOOD,
        None,
        DestinationId(7),
        LabelPart::Whole,
        3,
    );
    assert!(matches!(nowhere, Err(Refusal::Unknown { .. })));
    let none = decide::note_printed(&book.workshop, GOOD, None, HOME, LabelPart::Whole, 0);
    assert!(matches!(none, Err(Refusal::Input(_))));
}

#[test]
fn a_lot_goes_where_its_labels_were_printed_for() {
    let mut book = workshop("10 % of wax");
    file(&mut book, vec![sensitiser("1.6 %")]);
    let abbey = destination("Hollin Abbey", &[Market::Gb], &[Language::En]);
    let decided = decide::settle_destination(&book.workshop, DestinationId(1), abbey);
    book.fact(decided);
    mark(&mut book);
    let lot = finished_lot(&mut book);
    let look = |book: &Book, to: DestinationId, day| {
        let pour = book.workshop.pour(lot).unwrap();
        let passage = may_go(&book.workshop, pour, to, day);
        (passage.may_go, passage.why.join("; "))
    };
    let ready = date(2030, 1, 1);
    assert_eq!(
        look(&book, HOME, ready),
        (
            0,
            "no label for there was printed with the lot's code".to_owned()
        )
    );
    let decided = decide::note_printed(&book.workshop, GOOD, Some(lot), HOME, LabelPart::Whole, 4);
    book.fact(decided);
    // Four labels let four units go.
    assert_eq!(look(&book, HOME, ready).0, 4);
    let decided = decide::note_printed(&book.workshop, GOOD, Some(lot), HOME, LabelPart::Whole, 20);
    book.fact(decided);
    assert_eq!(look(&book, HOME, ready), (10, String::new()));
    // It cures until then.
    let early = look(&book, HOME, book.day);
    assert!(
        early.0 == 0 && early.1.starts_with("it cures until"),
        "{early:?}"
    );
    let (n, why) = look(&book, DestinationId(1), ready);
    assert_eq!(n, 0);
    assert_eq!(
        why,
        "its label is not marked ready; no label for there was printed with the lot's code; 24 \
         printed for elsewhere do not count"
    );
    revise(&mut book, recipe("9 % of wax"));
    mark(&mut book);
    let (n, why) = look(&book, HOME, ready);
    assert_eq!(n, 0);
    assert!(why.contains("poured by revision 1"), "{why}");
    assert!(why.contains("24 of an older version do not count"), "{why}");
}

/// Ten units of the good, poured by its formula as it stands.
fn finished_lot(book: &mut Book) -> PourId {
    let pour = book.workshop.next_pour();
    let formula = book.workshop.formula(FORMULA).unwrap().current().clone();
    let target = formula::Target::Total(Mass::from_micrograms(450_000_000));
    let planned = workshop::plan_pour(&book.workshop, &formula, target).unwrap();
    let portions = planned.portions;
    let mould = book.workshop.moulds().next().map(|mould| mould.id);
    let day = book.day;
    let weights: Vec<_> = portions.iter().map(|one| one.weight.clone()).collect();
    let decided = decide::start_pour(
        &book.workshop,
        FORMULA,
        mould,
        Some(GOOD),
        10,
        portions,
        day,
    );
    book.fact(decided);
    for (nth, weight) in weights.into_iter().enumerate() {
        let nth = u32::try_from(nth).unwrap();
        book.fact(decide::weigh(&book.workshop, pour, nth, weight));
    }
    book.fact(decide::pour_out(&book.workshop, pour, None, None));
    book.fact(decide::count(&book.workshop, pour, filled(10, "5 g"), None));
    book.fact(decide::demould(&book.workshop, pour));
    book.finish(pour, 10);
    pour
}
