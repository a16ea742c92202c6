//! The papers of a workshop, composed and drawn as a page or a command asks.

use std::sync::Arc;

use app::forms::{self, Filled};
use app::paper::{self, About, NoPaper};
use app::{App, FixedClock};
use jiff::civil::{Date, date};
use journal::{MemoryStore, WorkshopId};
use press::paper::Document;
use workshop::Pour;

const TODAY: Date = date(2026, 11, 25);

fn opened(fill: bool) -> App {
    let id = WorkshopId::try_new("paper").unwrap();
    let store = Arc::new(MemoryStore::new());
    if fill {
        app::demo::fill(store.clone(), id.clone(), TODAY).unwrap();
    }
    App::open(store, Arc::new(FixedClock(TODAY)), id).unwrap()
}

#[track_caller]
fn drawn(app: &App, name: &str, given: &[(&str, &str)]) -> Document {
    match paper::find(name).unwrap().draw(app, &filled(given)) {
        Ok(document) => document,
        Err(error) => panic!("{name}: {error}"),
    }
}

#[track_caller]
fn refused(app: &App, name: &str, given: &[(&str, &str)]) -> String {
    let drawn = paper::find(name).unwrap().draw(app, &filled(given));
    let printed = drawn.and_then(|document| paper::pdf(&document).map(|_| document));
    match printed {
        Ok(document) => panic!("{name} was printed: {:?}", document.texts()),
        Err(NoPaper::Asked(problems)) => problems.to_string(),
        Err(error) => panic!("{name}: {error}"),
    }
}

fn filled(given: &[(&str, &str)]) -> Filled {
    let owned = |(name, text): &(&str, &str)| ((*name).to_owned(), (*text).to_owned());
    Filled::new(given.iter().map(owned).collect())
}

/// The code of a lot for which something holds, the latest one.
fn lot(app: &App, wanted: impl Fn(&Pour) -> bool) -> String {
    let found = app.look(|workshop| {
        let mut pours = workshop.pours().rev();
        pours.find(|pour| wanted(pour)).map(|pour| pour.lot.clone())
    });
    found.unwrap().unwrap()
}

#[track_caller]
fn holds(document: &Document, texts: &[&str]) {
    let all = document.texts().join("\n");
    let mut rest = all.as_str();
    for text in texts {
        match rest.find(text) {
            Some(at) => rest = &rest[at + text.len()..],
            None => panic!("{text:?} does not follow in\n{all}"),
        }
    }
}

/// Every paper once, with what it wants.
fn each(app: &App) -> Vec<(&'static str, Vec<(&'static str, String)>)> {
    let finished = lot(app, |pour| pour.finished.is_some());
    paper::all()
        .iter()
        .map(|paper| {
            let given = match paper.about {
                About::Workshop | About::Goods => Vec::new(),
                About::Lot | About::LotOrSupply => vec![("lot", finished.clone())],
                About::Good => vec![("product", "Peat & Plum candle".to_owned())],
                About::Order => vec![("order", "2".to_owned())],
                // The demo's invoice, and the credit note for it.
                About::Invoice => {
                    let number = if paper.name == "invoice" { "1" } else { "2" };
                    vec![("invoice", number.to_owned())]
                }
            };
            (paper.name, given)
        })
        .collect()
}

#[test]
fn every_paper_of_the_demo_is_drawn_on_both_pages_and_keeps_to_the_standards() {
    let app = opened(true);
    for (name, given) in each(&app) {
        for (page, width_mm) in [("a4", 210.0), ("letter", 215.9)] {
            let mut given: Vec<(&str, &str)> = given
                .iter()
                .map(|(field, text)| (*field, text.as_str()))
                .collect();
            given.push(("page", page));
            let document = drawn(&app, name, &given);
            for drawing in &document.pages {
                assert!((drawing.width_mm - width_mm).abs() < 1e-9, "{name}");
                for (text, ink) in drawing.text_boxes() {
                    let inside = ink.x0 > 3.0
                        && ink.y0 > 3.0
                        && ink.x1 < drawing.width_mm - 3.0
                        && ink.y1 < drawing.height_mm - 3.0;
                    assert!(inside, "{name} on {page}: {text:?} at {ink:?}");
                }
            }
            let pdf = paper::pdf(&document).unwrap();
            assert!(pdf.starts_with(b"%PDF-"), "{name}");
            assert!(paper::svg(&document, 1).unwrap().contains("<svg"), "{name}");
        }
    }
}

#[test]
fn what_has_to_be_one_page_is_one_page() {
    let app = opened(true);
    for (name, given) in each(&app) {
        if ["batch-record", "price-signs"].contains(&name) {
            continue;
        }
        for page in ["a4", "letter"] {
            let mut given: Vec<(&str, &str)> = given
                .iter()
                .map(|(field, text)| (*field, text.as_str()))
                .collect();
            given.push(("page", page));
            let pages = drawn(&app, name, &given).pages.len();
            assert_eq!(pages, 1, "{name} on {page}");
        }
    }
    let four = [
        ("supply", "Harbour Fig oil"),
        ("supplier-lot", "HF-2304"),
        ("page", "letter"),
    ];
    assert_eq!(drawn(&app, "recall-notice", &four).pages.len(), 1);
}

#[test]
fn a_pour_sheet_has_the_target_then_a_box_and_the_cautions() {
    let app = opened(true);
    let open = lot(&app, |pour| pour.finished.is_none());
    let document = drawn(&app, "pour-sheet", &[("lot", &open)]);
    holds(
        &document,
        &[
            "Rainy Loft bar",
            &open,
            "12 units hoped for",
            "Weigh, in this order",
            "soy container wax",
            "16.15 oz",
            "Rainy Loft oil",
            "1.60 oz",
            "Oil in at, plan 170 °F",
            "Filled to the line, of 12",
            "Unit weights, bare",
            "Ready 7 days after pouring",
            "never put water on burning wax",
        ],
    );
}

#[test]
fn a_batch_record_tells_weights_spread_slips_and_who_wrote_it() {
    let app = opened(true);
    let slipped = lot(&app, |pour| !pour.slips.is_empty());
    let document = drawn(&app, "batch-record", &[("lot", &slipped)]);
    holds(
        &document,
        &[
            "Harbour Fig bar",
            &slipped,
            "Ready since",
            "Written down by",
            "demo",
            "What went in",
            "+0.60 oz",
            "Supplies used",
            "S-118",
            "foil, 6 x 4 in",
            "12",
            "Hands-on time",
            "44 min",
            "mean 1.55 oz, standard deviation 0.04 oz",
            "Slips and corrections",
            "everything else was raised",
            "As it was written down",
            "5 units weigh 1.55 oz, 1.55 oz, 1.6 oz, 1.5 oz, 1.55 oz.",
        ],
    );
}

/// A figure nobody gave is not made up: the sentence is printed with a gap.
#[test]
fn a_care_card_leaves_a_gap_for_the_distance_nobody_gave() {
    let app = opened(true);
    let candle = ("product", "peat & plum CANDLE");
    let open = drawn(&app, "care-card", &[candle]);
    holds(&open, &["Peat & Plum candle", "at least _____ cm between"]);
    let given = drawn(
        &app,
        "care-card",
        &[candle, ("apart", "10 cm"), ("language", "de")],
    );
    holds(&given, &["mindestens 10 cm Abstand"]);
    // A quarter of a page each.
    assert_eq!(
        given
            .texts()
            .iter()
            .filter(|text| *text == "Peat & Plum candle")
            .count(),
        4
    );
    let american = drawn(&app, "care-card", &[candle, ("market", "us")]);
    holds(&american, &["WARNING", "Burn within sight."]);
    assert!(refused(&app, "care-card", &[candle, ("market", "moon")]).contains("eu, gb or us"));
    let melt = drawn(&app, "care-card", &[("product", "Harbour Fig bar")]);
    holds(&melt, &["it has no wick", "Do not eat."]);
    assert!(
        refused(&app, "care-card", &[candle, ("apart", "far")])
            .contains("write whole centimetres, such as 10 cm")
    );
}

#[test]
fn signs_and_lists_name_every_good_with_its_price() {
    let app = opened(true);
    let names: Vec<String> = app
        .look(|workshop| workshop.products().map(|good| good.name.clone()).collect())
        .unwrap();
    for name in ["price-signs", "price-list", "scent-list", "line-sheet"] {
        let texts = drawn(&app, name, &[]).texts();
        for good in &names {
            assert!(texts.contains(good), "{good} is not on {name}");
        }
        assert!(texts.iter().any(|text| text == "$19.00"), "{name}");
    }
}

/// 50 % of 6.50 is 3.25, by hand.
#[test]
fn a_line_sheet_takes_a_share_or_an_amount_and_leaves_the_rest_open() {
    let app = opened(true);
    let open = drawn(&app, "line-sheet", &[]).texts().join("\n");
    assert!(!open.contains("$3.25"), "{open}");
    let given = [
        ("trade", "50 %"),
        ("trade", "Peat & Plum candle = 9.40"),
        ("minimum", "12 of a kind"),
    ];
    let texts = drawn(&app, "line-sheet", &given).texts().join("\n");
    for text in ["$3.25", "$9.40", "$2.50", "12 of a kind"] {
        assert!(texts.contains(text), "{text} is not in {texts}");
    }
    let said = refused(&app, "line-sheet", &[("trade", "9.40")]);
    assert!(said.contains("which good that is for is missing"), "{said}");
}

#[test]
fn a_packing_slip_takes_goods_and_lots_and_adds_them_up() {
    let app = opened(true);
    let bar = lot(&app, |pour| pour.finished.is_some() && pour.wanted == 12);
    let lines = format!("Harbour Fig bar = 12\n{bar}=6");
    let given = [("to", "The Tide Shop\nHollin Abbey"), ("line", &lines)];
    holds(
        &drawn(&app, "packing-slip", &given),
        &[
            "The Tide Shop\nHollin Abbey",
            "Harbour Fig bar",
            "12",
            &bar,
            "6",
            "Together",
            "18",
        ],
    );
    let said = refused(&app, "packing-slip", &[("line", "Harbour Fig = 12")]);
    assert!(said.contains("there is no such good"), "{said}");
    assert!(said.contains("Harbour Fig bar"), "{said}");
    let said = refused(&app, "packing-slip", &[("line", "Harbour Fig bar = a few")]);
    assert!(said.contains("not a whole number"), "{said}");
    let wrong = format!("Peat & Plum candle, {bar} = 1");
    let said = refused(&app, "packing-slip", &[("line", &wrong)]);
    assert!(said.contains(&format!("lot {bar} is ")), "{said}");
}

#[test]
fn a_recall_names_every_lot_that_holds_a_supply_and_no_other() {
    let app = opened(true);
    let (holding, since): (Vec<String>, Vec<String>) = app
        .look(|workshop| {
            let oil = workshop
                .supplies()
                .find(|supply| supply.name == "Harbour Fig oil");
            let oil = oil.unwrap().id;
            let came = workshop.receipts().find(|receipt| {
                receipt
                    .lines
                    .iter()
                    .any(|line| line.supplier_lot == "HF-2304")
            });
            let came = came.unwrap().day;
            let weighed_in = |pour: &&Pour| {
                pour.portions.iter().any(|portion| portion.supply == oil) && pour.poured.is_some()
            };
            let codes = |pours: Vec<&Pour>| pours.iter().map(|pour| pour.lot.clone()).collect();
            let all: Vec<&Pour> = workshop.pours().filter(weighed_in).collect();
            let late = all.iter().filter(|pour| pour.poured >= Some(came)).copied();
            (codes(all.clone()), codes(late.collect()))
        })
        .unwrap();
    assert!(since.len() < holding.len());
    let supply = ("supply", "Harbour Fig oil");
    let named = |given: &[(&str, &str)]| -> Vec<String> {
        let texts = drawn(&app, "recall-notice", given).texts();
        let is_lot = |text: &&String| {
            text.contains('-') && text.chars().all(|c| c == '-' || c.is_ascii_digit())
        };
        texts.iter().filter(is_lot).cloned().collect()
    };
    assert_eq!(named(&[supply]), holding);
    assert_eq!(named(&[supply, ("supplier-lot", "hf-2304")]), since);
    let said = refused(&app, "recall-notice", &[supply, ("supplier-lot", "X-1")]);
    assert!(said.contains("it came as HF-2211 and HF-2304"), "{said}");
}

/// What was given up in the mould was never sold, and nobody is asked for it.
#[test]
fn a_recall_leaves_out_what_was_given_up() {
    let app = called("Fig");
    let start = filled(&[("formula", "1"), ("mould", "1"), ("melt", "100 g")]);
    app::pouring::start(&app, "test", &start).unwrap();
    let pour = workshop::facts::PourId(1);
    let weighed = filled(&[("portion", "0"), ("weight", "100 g")]);
    forms::weigh(&app, "test", pour, &weighed).unwrap();
    let supply = [("supply", "soy wax")];
    assert!(refused(&app, "recall-notice", &supply).contains("no poured lot holds it"));
    forms::pour_out(&app, "test", pour, &Filled::default()).unwrap();
    holds(
        &drawn(&app, "recall-notice", &supply),
        &["Fig in Fig", "-1"],
    );
    forms::abandon(&app, "test", pour, &filled(&[("why", "dropped")])).unwrap();
    assert!(refused(&app, "recall-notice", &supply).contains("no poured lot holds it"));
    let said = refused(&app, "recall-notice", &[("lot", "1")]);
    assert!(said.contains("none of it was sold"), "{said}");
}

#[test]
fn a_recall_speaks_the_languages_of_the_labels() {
    let app = opened(true);
    let bar = lot(&app, |pour| pour.finished.is_some());
    let english = drawn(
        &app,
        "recall-notice",
        &[("lot", &bar), ("reason", "The wick may flare.")],
    );
    holds(
        &english,
        &[
            "Product safety recall",
            &bar,
            "The wick may flare.",
            "Stop using it at once",
            "01 555 0147",
        ],
    );
    let german = drawn(&app, "recall-notice", &[("lot", &bar), ("language", "de")]);
    holds(
        &german,
        &["Produktsicherheitsrückruf", "Sofort nicht mehr benutzen"],
    );
    let both = filled(&[
        ("market", "EU"),
        ("language", "en"),
        ("language", "de"),
        ("supplier_name", "Quillfen Wax Works"),
        ("address", "3 Quarry Lane, Port Averin"),
        ("phone", "01 555 0147"),
    ]);
    app::labels::settle(&app, "test", &both).unwrap();
    let both = drawn(&app, "recall-notice", &[("lot", &bar)]);
    assert_eq!(both.pages.len(), 2);
    holds(
        &both,
        &[
            "Product safety recall",
            "Produktsicherheitsrückruf",
            "Los",
            &bar,
        ],
    );
    let open = lot(&app, |pour| pour.poured.is_none());
    let said = refused(&app, "recall-notice", &[("lot", &open)]);
    assert!(said.contains("none of it was sold"), "{said}");
}

#[test]
fn a_wrong_name_is_answered_with_what_would_be_right() {
    let app = opened(true);
    let said = paper::named("poursheet").err().unwrap().to_string();
    assert!(said.contains("ask for pour-sheet, batch-record"), "{said}");
    let latest = lot(&app, |_| true);
    for (name, given, wanted) in [
        ("pour-sheet", vec![], "which lot is missing"),
        ("pour-sheet", vec![("lot", "999999-9")], latest.as_str()),
        (
            "pour-sheet",
            vec![("lot", latest.as_str()), ("product", "x")],
            "it takes lot or page",
        ),
        (
            "care-card",
            vec![("product", "fig candle")],
            "Harbour Fig bar",
        ),
        ("price-signs", vec![("size", "a9")], "a5, a6 or a7"),
        ("scent-list", vec![("page", "a3")], "ask for a4 or letter"),
        (
            "recall-notice",
            vec![("supply", "gold")],
            "soy container wax",
        ),
        (
            "care-card",
            vec![("product", "1"), ("language", "xx")],
            "en, de, fr or es",
        ),
    ] {
        let said = refused(&app, name, &given);
        assert!(said.contains(wanted), "{name}: {said}");
    }
}

#[test]
fn an_empty_workshop_prints_lists_to_write_on_and_says_what_is_missing() {
    let app = opened(false);
    for name in ["scent-list", "price-list", "line-sheet", "packing-slip"] {
        let document = drawn(&app, name, &[]);
        assert_eq!(document.pages.len(), 1, "{name}");
        paper::pdf(&document).unwrap();
    }
    assert!(refused(&app, "pour-sheet", &[]).contains("nothing was poured yet"));
    assert!(refused(&app, "care-card", &[]).contains("add something you sell first"));
    assert!(refused(&app, "price-signs", &[]).contains("nothing that is sold"));
}

/// A workshop of one good with a name of somebody's choosing.
fn called(name: &str) -> App {
    let app = opened(false);
    let of = |pairs: &[(&str, &str)]| filled(pairs);
    let set = of(&[
        ("name", name),
        ("system", "metric"),
        ("currency", "EUR"),
        ("decimal_mark", "comma"),
        ("readability", "1 g"),
    ]);
    forms::set_up(&app, "test", &set).unwrap();
    let wax = of(&[("kind", "wax"), ("name", "soy wax")]);
    forms::define_supply(&app, "test", &wax).unwrap();
    let mould = of(&[("name", name), ("format", "snap_bar"), ("cavities", "12")]);
    forms::define_mould(&app, "test", &mould).unwrap();
    let formula = of(&[
        ("name", name),
        ("blend[0].supply", "1"),
        ("blend[0].parts", "100"),
        ("load", "0 % of wax"),
        ("cure_days", "0"),
    ]);
    forms::define_formula(&app, "test", &formula).unwrap();
    let good = of(&[("name", name), ("formula", "1"), ("mould", "1")]);
    forms::define_product(&app, "test", &good).unwrap();
    app
}

/// Papers that a good's name stands on, with what is asked.
const NAMED: [(&str, &[(&str, &str)]); 6] = [
    ("care-card", &[("product", "1"), ("size", "a7")]),
    ("price-signs", &[("size", "a7")]),
    ("scent-list", &[]),
    ("price-list", &[]),
    ("line-sheet", &[]),
    ("packing-slip", &[("line", "1=3")]),
];

#[test]
fn what_was_typed_prints_as_itself_whatever_it_is() {
    let long = "Very long name of a scent that goes on ".repeat(2);
    let unbroken = "Lavendelblütenhonigwachsschmelze".repeat(2);
    for name in [
        r#"<b>&"Fig"</b> &amp; <script>alert(1)</script>"#,
        long.trim(),
        unbroken.as_str(),
        "%!PS (unbalanced \\ ( and ) ] >> endobj",
        "Φίγκι & Сирень",
    ] {
        let app = called(name);
        for (paper, given) in NAMED {
            let document = drawn(&app, paper, given);
            let texts = document.texts().join("\n");
            assert!(texts.contains(name), "{paper} of {name:?}: {texts}");
            for drawing in &document.pages {
                for (text, ink) in drawing.text_boxes() {
                    assert!(
                        ink.x0 > 0.0 && ink.x1 < drawing.width_mm && ink.y1 < drawing.height_mm,
                        "{paper}: {text:?} at {ink:?}"
                    );
                }
            }
            paper::pdf(&document).unwrap();
            let svg = paper::svg(&document, 1).unwrap();
            assert!(!svg.contains("<script") && !svg.contains("<b>"), "{paper}");
        }
    }
}

/// Two hundred letters and more in whatever may be given with the request.
#[test]
fn long_texts_that_are_given_stay_on_the_page() {
    let app = opened(true);
    let bar = lot(&app, |pour| pour.finished.is_some());
    let long = "Very long words of somebody that go on ".repeat(6);
    let unbroken = "https://example.example/".to_owned() + &"donaudampfschiff".repeat(15);
    for text in [long.trim(), unbroken.as_str()] {
        for (name, given) in [
            ("packing-slip", vec![("to", text), ("order", text)]),
            (
                "line-sheet",
                vec![("minimum", text), ("terms", text), ("note", text)],
            ),
            ("price-list", vec![("note", text)]),
            (
                "recall-notice",
                vec![
                    ("lot", bar.as_str()),
                    ("reason", text),
                    ("sold", text),
                    ("remedy", text),
                ],
            ),
        ] {
            let document = drawn(&app, name, &given);
            assert!(document.texts().iter().any(|set| set == text), "{name}");
            for drawing in &document.pages {
                for (text, ink) in drawing.text_boxes() {
                    assert!(
                        ink.x0 > 0.0 && ink.x1 < drawing.width_mm && ink.y1 < drawing.height_mm,
                        "{name}: {text:?} at {ink:?}"
                    );
                }
            }
            paper::pdf(&document).unwrap();
        }
    }
}

#[test]
fn a_character_no_typeface_has_is_refused_by_name() {
    for (name, character) in [("Fig 🕯", '🕯'), ("שלום", 'ש'), ("無花果", '無')] {
        let app = called(name);
        for (paper, given) in NAMED {
            let said = refused(&app, paper, given);
            let code = format!("U+{:04X}", u32::from(character));
            assert!(said.contains(&code), "{paper} of {name}: {said}");
            assert!(said.contains("take it out"), "{said}");
        }
    }
}

/// A dozen goods are one page of any list. A hundred still are one page of the
/// scent list; four hundred go on over more.
#[test]
fn a_list_fits_its_goods() {
    let app = called("Fig");
    let mut pages = Vec::new();
    for upto in [12, 100, 400] {
        let known = app.look(|workshop| workshop.products().count()).unwrap();
        for nth in known..upto {
            let name = format!("Scent number {nth}");
            let good = filled(&[("name", &name), ("formula", "1"), ("mould", "1")]);
            forms::define_product(&app, "test", &good).unwrap();
        }
        let document = drawn(&app, "scent-list", &[]);
        let texts = document.texts();
        assert!(texts.contains(&format!("Scent number {}", upto - 1)));
        pages.push(document.pages.len());
        for list in ["price-list", "line-sheet"].iter().filter(|_| upto == 12) {
            for page in ["a4", "letter"] {
                assert_eq!(
                    drawn(&app, list, &[("page", page)]).pages.len(),
                    1,
                    "{list}"
                );
            }
        }
    }
    assert_eq!(pages[..2], [1, 1]);
    assert!(pages[2] > 1, "{pages:?}");
}

#[test]
fn a_price_is_written_as_the_workshop_writes_it() {
    let app = called("Fig");
    let prices = filled(&[("low", "4"), ("typical", "4,50"), ("high", "6")]);
    let fig = workshop::facts::ProductId(1);
    forms::set_prices(&app, "test", fig, &prices).unwrap();
    let texts = drawn(&app, "price-signs", &[]).texts();
    assert!(texts.contains(&"4,50\u{a0}€".to_owned()), "{texts:?}");
}

#[test]
fn the_same_day_gives_the_same_bytes() {
    let (one, other) = (opened(true), opened(true));
    for (name, given) in each(&one) {
        let given: Vec<(&str, &str)> = given
            .iter()
            .map(|(field, text)| (*field, text.as_str()))
            .collect();
        let bytes = |app: &App| paper::pdf(&drawn(app, name, &given)).unwrap();
        assert_eq!(bytes(&one), bytes(&other), "{name}");
    }
}
