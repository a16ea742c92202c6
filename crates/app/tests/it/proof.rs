//! A label from what is written down to the sheet it is printed on.

use std::process::{Command, Stdio};
use std::sync::Arc;

use app::forms::Filled;
use app::proof::{self, Job, Proof};
use app::{ActError, App, FixedClock};
use jiff::civil::{Date, date};
use journal::{MemoryStore, WorkshopId};
use label::check::Verdict;
use label::wording::Role;
use measure::Problems;
use workshop::facts::{DestinationId, HOME, ProductId};
use workshop::{Refusal, may_go};

const TODAY: Date = date(2026, 11, 25);

fn demo() -> App {
    let id = WorkshopId::try_new("demo").unwrap();
    let store = Arc::new(MemoryStore::new());
    app::demo::fill(store.clone(), id.clone(), TODAY).unwrap();
    App::open(store, Arc::new(FixedClock(TODAY)), id).unwrap()
}

fn good(app: &App, name: &str) -> ProductId {
    app.look(|workshop| {
        let mut goods = workshop.products();
        goods.find(|good| good.name == name).unwrap().id
    })
    .unwrap()
}

/// The latest finished lot of a good.
fn lot(app: &App, good: ProductId) -> String {
    app.look(|workshop| {
        let mut pours = workshop.pours().rev();
        let found = pours.find(|pour| pour.product == Some(good) && pour.finished.is_some());
        found.unwrap().lot.clone()
    })
    .unwrap()
}

fn plan(app: &App, fields: &[(&str, &str)]) -> Result<Proof, Problems> {
    let filled = Filled::new(
        fields
            .iter()
            .map(|(name, text)| ((*name).to_owned(), (*text).to_owned()))
            .collect(),
    );
    app.look(|workshop| proof::plan(workshop, &filled, TODAY))
        .unwrap()
        .map(proof::Plan::fit)
}

fn filled(fields: &[(&str, &str)]) -> Filled {
    let pairs = fields
        .iter()
        .map(|(name, text)| ((*name).to_owned(), (*text).to_owned()));
    Filled::new(pairs.collect())
}

fn job(app: &App, fields: &[(&str, &str)]) -> Result<Job, Problems> {
    let filled = filled(fields);
    app.look(|workshop| proof::job(workshop, &filled, TODAY))
        .unwrap()
        .map(proof::JobPlan::fit)
}

fn gaps(proof: &Proof) -> Vec<&str> {
    let gaps = proof.plan.composed.gaps.iter();
    gaps.map(|gap| gap.what.as_str()).collect()
}

const US: (&str, &str) = ("to", "By post to the United States");
const STRIPS: (&str, &str) = ("stock", "14 strips, letter");

#[test]
fn a_label_carries_what_is_written_down_and_is_ready_where_nothing_is_missing() {
    let app = demo();
    let bar = good(&app, "Harbour Fig bar");
    let code = lot(&app, bar);
    let proof = plan(
        &app,
        &[("product", "Harbour Fig bar"), US, ("lot", &code), STRIPS],
    )
    .unwrap();
    let wording = &proof.plan.composed.wording;
    assert_eq!(wording.name, "Harbour Fig bar");
    assert_eq!(wording.identity[0].text, "Scented wax melt");
    assert_eq!(
        wording.net_weight.as_ref().unwrap().text,
        "NET WT 1.4 OZ (39 g)"
    );
    assert_eq!(wording.lot.as_deref(), Some(code.as_str()));
    // Poured four days ago, kept twelve months.
    assert_eq!(wording.best_by.as_deref(), Some("21 Nov 2027"));
    assert_eq!(wording.gtin.as_deref(), Some("9520000000011"));
    // A number for demonstrations is told, and does not stop a demonstration.
    assert!(
        gaps(&proof)
            .join("\n")
            .contains("the trade item number 9520000000011: Numbers that begin so")
    );
    assert!(wording.address.contains(&"Made in Port Averin".to_owned()));
    assert!(wording.hazard.is_none() && !wording.allergens.is_empty());
    let failed: Vec<_> = proof
        .checks()
        .iter()
        .filter(|check| check.verdict == Verdict::Fail)
        .map(ToString::to_string)
        .collect();
    assert_eq!(proof.why_not(), Vec::<String>::new(), "{failed:?}");
    assert!(proof.is_ready());
    // 16 CFR 500.21(b): a panel of 110 by 40 mm is 6.8 square inches.
    let height = &wording.net_weight.as_ref().unwrap().heights[0];
    assert!((height.least_mm - 25.4 / 8.0).abs() < 1e-9, "{height:?}");
}

#[test]
fn a_label_whose_weight_the_units_do_not_hold_is_not_ready() {
    let app = demo();
    let bar = good(&app, "Harbour Fig bar");
    let code = lot(&app, bar);
    // The units weigh 1.53 oz on average and the heaviest 1.55 oz.
    let heavier = filled(&[("rule", "US"), ("declared", "1.55 oz")]);
    app::weights::declare(&app, "demo", bar, &heavier).unwrap();
    let proof = plan(
        &app,
        &[("product", "Harbour Fig bar"), US, ("lot", &code), STRIPS],
    )
    .unwrap();
    let why = proof.why_not().join("\n");
    let words = format!("the net weight declared, 1.55 oz, does not hold for lot {code}");
    assert!(why.contains(&words), "{why}");
}

#[test]
fn the_mark_of_the_average_system_stands_where_its_rules_do() {
    let app = demo();
    let marked = |to: (&'static str, &'static str)| {
        let fields = [
            ("product", "Harbour Fig bar"),
            to,
            STRIPS,
            ("e_mark", "yes"),
        ];
        plan(&app, &fields).unwrap()
    };
    let least = |proof: &Proof| {
        let net = proof.plan.composed.wording.net_weight.as_ref();
        net.and_then(|net| net.e_mark_mm)
    };
    // Directive 76/211/EEC, Annex I, 3.3: 3 mm.
    assert_eq!(least(&marked(("to", "0"))), Some(3.0));
    let states = marked(US);
    assert_eq!(least(&states), None);
    assert!(gaps(&states).join("\n").contains("the mark ℮ is not set"));
}

#[test]
fn what_is_missing_is_named_and_never_made_up() {
    let app = demo();
    let proof = plan(&app, &[("product", "Tin Roof Mint clamshell"), STRIPS]).unwrap();
    assert!(!proof.is_ready());
    let wording = &proof.plan.composed.wording;
    assert!(wording.net_weight.is_none() && wording.lot.is_none() && wording.hazard.is_none());
    let gaps = gaps(&proof).join("\n");
    for words in [
        "the net weight is not declared by the rules of the United States",
        "the net weight is not declared by the rules of the European Union",
        "no lot is chosen",
        "what the hazard label must carry is not known",
    ] {
        assert!(gaps.contains(words), "{words}: {gaps}");
    }
    // The Union asks for a lot code, so its want stops the label.
    let mut open = proof.plan.composed.gaps.iter();
    assert!(open.any(|gap| gap.stops && gap.what.contains("no lot is chosen")));
    // Where it goes to the Union too, a newer sheet stands in the way.
    let proof = plan(&app, &[("product", "Harbour Fig bar"), STRIPS]).unwrap();
    let why = proof.why_not().join("\n");
    assert!(
        why.contains("the warning label marked ready no longer fits"),
        "{why}"
    );
    // What it would carry is on it all the same, for the proof.
    assert!(proof.plan.composed.wording.has(Role::Hazard));
}

#[test]
fn a_candle_asks_for_the_distance_and_takes_it() {
    let app = demo();
    let fields = [
        ("product", "Peat & Plum candle"),
        ("stock", "typed"),
        ("width", "150 mm"),
        ("height", "100 mm"),
    ];
    let open = plan(&app, &fields).unwrap();
    assert!(
        gaps(&open)
            .join("\n")
            .contains("the distance to keep between burning candles")
    );
    // A bare figure is in centimetres, whatever the workshop measures in.
    for apart in ["10 cm", "10"] {
        let mut given = fields.to_vec();
        given.push(("apart", apart));
        let proof = plan(&app, &given).unwrap();
        let said = &proof.plan.composed.wording.cautions[0];
        let mut lines = said.lines.iter();
        assert!(
            lines.any(|line| line.text.contains("least 10 cm")),
            "{apart}"
        );
    }
    let mut given = fields.to_vec();
    given.push(("apart", "10 cm"));
    let proof = plan(&app, &given).unwrap();
    let said = &proof.plan.composed.wording.cautions[0];
    // The workshop sells on both sides: the American word, the European size.
    assert_eq!(
        (said.signal, said.least_sign_mm),
        (Some("WARNING"), Some(5))
    );
}

#[test]
fn what_does_not_fit_says_what_would() {
    let app = demo();
    let proof = plan(
        &app,
        &[
            ("product", "Harbour Fig bar"),
            ("shape", "round"),
            ("width", "25 mm"),
        ],
    )
    .unwrap();
    assert!(!proof.is_ready());
    let why = proof.why_not().join("\n");
    assert!(
        why.contains("would carry it") || why.contains("does not fit"),
        "{why}"
    );
}

#[test]
fn a_sheet_of_several_goods_goes_on_where_the_last_one_ended() {
    let app = demo();
    let bar = good(&app, "Harbour Fig bar");
    let code = lot(&app, bar);
    let fields = [
        STRIPS,
        ("start", "5"),
        ("run[0].product", "Harbour Fig bar"),
        ("run[0].lot", &code),
        ("run[0].to", "1"),
        ("run[0].count", "8"),
        ("run[1].product", "Rainy Loft bar"),
        ("run[1].to", "1"),
        ("run[1].count", "3"),
        ("run[2].product", ""),
        ("printer", "inkjet in the office"),
        ("cut", "yes"),
    ];
    let job = job(&app, &fields).unwrap();
    // Fourteen to a page: places 5 to 14, then one more.
    assert_eq!(
        (job.labels(), job.sheets(), job.next_place()),
        (11, 2, Some(2))
    );
    assert!(!job.is_ready());
    let document = job.document().unwrap();
    let texts = document.texts().join("\n").replace('\u{a0}', " ");
    assert_eq!(
        texts
            .matches("Proof only, not for sale: Rainy Loft bar")
            .count(),
        2
    );
    assert_eq!(texts.matches("NET WT 1.4 OZ (39 g)").count(), 8);
    let pdf = document.pdf().unwrap();
    assert!(pdf.starts_with(b"%PDF-"));
    if let Some(text) = pdftotext(&pdf) {
        assert_eq!(text.matches("NET WT 1.4 OZ (39 g)").count(), 8, "{text}");
        assert!(text.contains(&code), "{text}");
        assert!(text.contains("PROOF, NOT FOR SALE") || text.contains("Proof only, not for sale"));
    } else {
        eprintln!("pdftotext is not installed: the text of the file is left out");
    }
}

/// The text of a PDF, where the tool is there.
fn pdftotext(pdf: &[u8]) -> Option<String> {
    use std::io::Write as _;
    let mut child = Command::new("pdftotext")
        .args(["-", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .ok()?;
    let mut input = child.stdin.take()?;
    let bytes = pdf.to_vec();
    let writer = std::thread::spawn(move || input.write_all(&bytes));
    let output = child.wait_with_output().ok()?;
    writer.join().ok()?.ok()?;
    Some(String::from_utf8_lossy(&output.stdout).replace('\u{a0}', " "))
}

#[test]
fn labels_that_are_printed_are_counted_and_proofs_are_not() {
    let app = demo();
    let bar = good(&app, "Harbour Fig bar");
    let code = lot(&app, bar);
    let note = |to: &str, part: &str| {
        let form = filled(&[
            STRIPS,
            ("run[0].product", "Harbour Fig bar"),
            ("run[0].lot", &code),
            ("run[0].to", to),
            ("run[0].part", part),
            ("run[0].count", "14"),
        ]);
        proof::note_printed(&app, "test", &form)
    };
    let before = app.look(|workshop| workshop.printed(bar).len()).unwrap();
    assert!(matches!(
        note("0", "whole"),
        Err(ActError::Refused(Refusal::Input(_)))
    ));
    let of_lot = |wanted: u32, why: &str| {
        app.look(|workshop| {
            let pour = workshop.pours().find(|pour| pour.lot == code).unwrap();
            let passage = may_go(workshop, pour, DestinationId(1), date(2027, 6, 1));
            assert_eq!(passage.may_go, wanted, "{passage:?}");
            assert!(passage.why.join("\n").contains(why), "{passage:?}");
        })
        .unwrap();
    };
    // Eight whole ones stand in the demo. A back without a front is no label,
    // and a front alone says nothing of its lot.
    of_lot(8, "only 8 labels");
    assert_eq!(note("1", "back").unwrap().facts.len(), 1);
    of_lot(8, "14 backs without a front do not count");
    assert_eq!(note("1", "front").unwrap().facts.len(), 1);
    of_lot(12, "");
    assert_eq!(note("1", "whole").unwrap().facts.len(), 1);
    app.look(|workshop| {
        assert_eq!(workshop.printed(bar).len(), before + 3);
        let pour = workshop.pours().find(|pour| pour.lot == code).unwrap();
        let later = date(2027, 6, 1);
        let passage = may_go(workshop, pour, DestinationId(1), later);
        assert_eq!((passage.may_go, passage.why), (passage.units, vec![]));
        assert_eq!(may_go(workshop, pour, HOME, later).may_go, 0);
    })
    .unwrap();
}

#[test]
fn whatever_cannot_be_read_is_named_by_its_box() {
    let app = demo();
    let wrong = |fields: &[(&str, &str)]| {
        let problems = match plan(&app, fields) {
            Ok(proof) => panic!("read as {:?}", proof.plan.request),
            Err(problems) => problems,
        };
        problems
            .iter()
            .map(|problem| problem.field.clone())
            .collect::<Vec<_>>()
    };
    assert_eq!(wrong(&[("product", "Nobody's bar")]), ["product"]);
    let bar = ("product", "Harbour Fig bar");
    assert_eq!(
        wrong(&[
            bar,
            ("lot", "none"),
            ("to", "the moon"),
            ("part", "side"),
            ("layout", "web")
        ]),
        ["to", "lot", "part", "layout"]
    );
    assert_eq!(wrong(&[bar, ("stock", "none")]), ["stock"]);
    assert_eq!(
        wrong(&[bar, ("shape", "round"), ("width", "wide")]),
        ["width"]
    );
    let problems = job(&app, &[STRIPS, ("start", "15"), bar, ("count", "many")]).unwrap_err();
    let fields: Vec<_> = problems
        .iter()
        .map(|problem| problem.field.as_str())
        .collect();
    assert_eq!(fields, ["start", "count"]);
}
