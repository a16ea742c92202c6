//! Laws over histories nobody wrote: of wishes the decisions allowed, and of
//! facts that no decision would have.

use std::collections::BTreeSet;

use ::label::ruler::Ruler;
use ::label::sheet::{Calibration, SheetInput};
use ::label::unit::Shape;
use ::label::wrap::Cover;
use formula::FragranceLoad;
use hazard::Language;
use jiff::civil::{Date, date};
use measure::{Currency, Decimal, DecimalMark, Mass, Money, Ratio, System, Temperature, Typed};
use netweight::Rule;
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::{Config, TestRunner};
use workshop::decide::{self, Decision, Filing};
use workshop::facts::{
    AfterSlip, Amount, BlendPart, CertificateFiled, CountCorrected, Dated, Demoulded, Destination,
    DestinationId, DestinationLabelMarkedReady, DestinationSettled, DyeDose, Format,
    FormulaDefined, FormulaId, FormulaRevised, FreightSpread, GtinAssigned, Identifier,
    IngredientAdded, IngredientCorrected, IngredientWeighed, LabelElements, LabelGround,
    LabelMarkedReady, LabelPart, LabelSettings, LabelSettled, LabelsPrinted, LineBasis,
    LotCorrected, LotHeld, LotReleased, MakerDetails, MakerDetailsSettled, Market, MouldDefined,
    MouldId, PartFill, Portion, PotWeighed, PourAbandoned, PourCount, PourFinished, PourId,
    PourRescaled, PourStarted, Poured, PriceSet, ProductDefined, ProductId, ReceiptCorrected,
    ReceiptId, ReceiptLine, Recipe, Rest, Settings, SheetFiled, SheetLine, SheetLineConfirmed,
    ShelfLifeSet, StockId, SupplyAmended, SupplyDefined, SupplyId, SupplyKind, SupplyReceived,
    TareOf, TareWeighed, UnitWeighed, UnitWeightKept, UnitWeightStruck, UnitsCounted,
    WeightDeclared, WeightGround, WeightWithdrawn, WorkshopSetUp, WrapChoice, WrappedUnitsWeighed,
};
use workshop::label::{Reader, label_case, ladder_of};
use workshop::{
    Fact, Stage, Workshop, advice_for, cost_of_melt, delivery_cost, errands, freight_working,
    ground_of_weight, history_of, lot_balance, lot_cost, lot_weights, lot_working, lots_beside,
    made_in_a_year, may_go, rack_on, receipts_of, recent_cost, shelf_working, size_of_lot, tare_of,
    uses_of, ways_on, weights_of_lot, worth_of_all, worth_of_shelf, worth_on_hand, worth_working,
};

use crate::book::{mass, percent};

/// A wish as chance makes it: of which kind, and figures for it to read as it likes.
type Wish = (u8, u32, u32, u32);

fn any_wishes() -> impl Strategy<Value = Vec<Wish>> {
    let figure = || prop_oneof![4 => 0_u32..40, 1 => any::<u32>()];
    prop::collection::vec((any::<u8>(), figure(), figure(), figure()), 0..160)
}

/// One of those there are, or now and then the next one, which is not there.
fn one_of(n: usize, which: u32) -> u32 {
    let n = u32::try_from(n).unwrap();
    1 + which % (n + u32::from(which.is_multiple_of(13)) + u32::from(n == 0))
}

fn weight(hundredths: u32) -> Typed<Mass> {
    let ounces = Decimal::new(i64::from(hundredths), 2);
    Typed::from_decimal(ounces, measure::MassUnit::Ounce).unwrap()
}

fn usd(cents: u32) -> Money {
    Money::from_minor(i64::from(cents), Currency::USD)
}

fn settings(a: u32) -> Settings {
    Settings {
        name: "Quillfen Wax Works".to_owned(),
        system: System::Us,
        currency: Currency::USD,
        decimal_mark: DecimalMark::Point,
        readability: mass("0.01 oz"),
        expected_loss: a.is_multiple_of(2).then(|| percent("3 %")),
        melter: None,
        wage: Some(usd(a)),
        overhead_per_hour: None,
    }
}

fn recipe(workshop: &Workshop, a: u32, b: u32) -> Recipe {
    let n = workshop.supplies().count();
    let named = |kind| workshop.supplies().find(|supply| supply.kind == kind);
    Recipe {
        blend: vec![BlendPart {
            supply: named(SupplyKind::Wax).map_or(SupplyId(one_of(n, a)), |wax| wax.id),
            parts: Decimal::from(b),
        }],
        oil: named(SupplyKind::FragranceOil).map(|oil| oil.id),
        load: FragranceLoad::OfWax(percent("8 %")),
        dye: None,
        add_at: None,
        pour_at: None,
        cure_days: u16::try_from(b % 30).unwrap(),
        set_density: None,
    }
}

/// What a wish of chance decides on the workshop as it is.
fn decided(workshop: &Workshop, day: Date, (kind, a, b, c): Wish) -> Decision {
    let supply = |which| SupplyId(one_of(workshop.supplies().count(), which));
    let product = ProductId(one_of(workshop.products().count(), a));
    let formula = FormulaId(one_of(workshop.formulas().count(), a));
    let mould = MouldId(one_of(workshop.moulds().count(), b));
    let amount = |supply, figure| match workshop.supply(supply) {
        Some(known) if known.kind.is_weighed() => Amount::Weight(weight(figure)),
        _ => Amount::Count(figure),
    };
    match kind % 30 {
        0 => decide::set_up(workshop, settings(a)),
        1 => {
            let kind = SupplyKind::ALL[a as usize % SupplyKind::ALL.len()];
            decide::define_supply(workshop, kind, &format!("supply {b}"), None, None)
        }
        2 => decide::amend_supply(workshop, supply(a), &format!("supply {b}"), None, None),
        3 => {
            let line = |which: u32| ReceiptLine {
                volume: None,
                supply: supply(which),
                supplier_lot: String::new(),
                amount: amount(supply(which), b),
                paid: usd(which.wrapping_add(c)),
            };
            let lines = (0..=c % 3).map(|i| line(a.wrapping_add(i))).collect();
            let freight = c.is_multiple_of(2).then(|| usd(c));
            let spread = if b.is_multiple_of(2) {
                FreightSpread::ByValue
            } else {
                FreightSpread::ByWeight
            };
            decide::receive(workshop, "Averin Chandlery", lines, freight, spread)
        }
        4 => {
            let receipt = ReceiptId(one_of(workshop.receipts().count(), a));
            let known = workshop.receipt(receipt);
            let line = known.and_then(|known| known.lines.get(b as usize % 3));
            let amount = amount(line.map_or(SupplyId(1), |line| line.supply), c);
            decide::correct_receipt(workshop, receipt, b % 3, amount, usd(c), "misread")
        }
        5 => {
            let called = format!("mould {a}");
            decide::define_mould(workshop, &called, Format::SnapBar, b, None, None)
        }
        6 => decide::define_formula(workshop, "Rainy Loft", recipe(workshop, a, b)),
        7 => decide::revise_formula(workshop, formula, recipe(workshop, b, c), "too soft"),
        8 => {
            let packing = vec![(supply(c), b % 4)];
            decide::define_product(workshop, "bar", formula, mould, packing)
        }
        9 => decide::set_prices(workshop, product, usd(a), usd(b), usd(c)),
        10 => {
            let known = workshop.product(product);
            let portion = |which, weight| Portion {
                supply: supply(which),
                weight,
            };
            decide::start_pour(
                workshop,
                known.map_or(formula, |known| known.formula),
                known.map_or(Some(mould), |known| Some(known.mould)),
                known.map(|known| known.id),
                b % 60,
                vec![portion(a, weight(b)), portion(c, weight(c))],
                day,
            )
        }
        11 => packed(workshop, product, day, b, c),
        24..=28 => told_of_hazards(workshop, day, (kind % 30, a, b, c)),
        29 => told_of_weights(workshop, a, b, c),
        // Most of a workshop's life is pours going on.
        _ => go_on(workshop, a, b, c),
    }
}

/// Shapes, wraps, label sheets, printers, and where goods go.
fn packed(workshop: &Workshop, product: ProductId, day: Date, b: u32, c: u32) -> Decision {
    let side = |mm: u32| ::label::ruler::typed_mm(f64::from(mm % 300)).unwrap();
    let some = |text: String| Some(text);
    match b % 7 {
        0 => {
            let shape = Shape::Jar {
                diameter: side(c),
                height: side(b),
            };
            let wrap = WrapChoice {
                cover: Cover::Full,
                overlap: c.is_multiple_of(2).then(|| side(b)),
                tuck: None,
                band: None,
                stock_width: None,
                stock_length: None,
            };
            decide::set_pack(workshop, product, shape, Some(wrap))
        }
        1 => {
            let input = SheetInput {
                page: some("A4".to_owned()),
                label_width: some(format!("{} mm", 20 + c % 60)),
                label_height: some("30 mm".to_owned()),
                columns: some("2".to_owned()),
                rows: some("6".to_owned()),
                ..SheetInput::default()
            };
            let (geometry, _) = input.read(Ruler::PLAIN).unwrap();
            decide::add_stock(workshop, &format!("sheet {c}"), geometry)
        }
        2 => {
            let stock = StockId(one_of(workshop.label_stocks().count(), c));
            decide::retire_stock(workshop, stock)
        }
        4 => {
            let next = workshop.next_destination().0;
            let details = Destination {
                name: format!("destination {c}"),
                settings: label_settings(),
                responsible: String::new(),
                emergency: String::new(),
                marks: vec![],
                link: String::new(),
            };
            decide::settle_destination(workshop, DestinationId(1 + c % next), details)
        }
        5 => {
            let to = DestinationId(one_of(workshop.destinations().count(), c));
            decide::mark_label_ready_for(workshop, product, to, None, day)
        }
        6 => {
            let lot = PourId(one_of(workshop.n_pours(), c));
            let lot = c.is_multiple_of(2).then_some(lot);
            let to = DestinationId(c % 3);
            decide::note_printed(workshop, product, lot, to, part_of(c), c)
        }
        _ => {
            let measured = Calibration {
                page_width: side(210),
                page_height: side(297),
                left: side(18 + c % 5),
                right: side(190),
                top: side(20),
                bottom: side(277),
            };
            decide::measure_printer(workshop, "the office one", measured)
        }
    }
}

/// Sheets, certificates and labels.
fn told_of_hazards(workshop: &Workshop, day: Date, (kind, a, b, c): Wish) -> Decision {
    let oil = workshop
        .supplies()
        .find(|supply| supply.kind == SupplyKind::FragranceOil)
        .map_or(SupplyId(one_of(3, a)), |oil| oil.id);
    match kind {
        24 => {
            let filing = Filing {
                supplier: "Saltmarsh Scents".to_owned(),
                dated: Some(day),
                version: c.to_string(),
                lines: (0..b % 4).map(sheet_line).collect(),
                rest: Rest::NotHazardous,
                older_is_meant: false,
            };
            decide::file_sheet(workshop, oil, filing, day)
        }
        25 => {
            let number = workshop.sheet(oil).map_or(1, |sheet| sheet.number);
            decide::confirm_sheet_line(workshop, oil, number, b % 4)
        }
        26 => decide::file_certificate(workshop, oil, "12", percent("35 %"), None, day),
        27 => decide::settle_labels(workshop, label_settings()),
        _ => {
            let product = ProductId(one_of(workshop.products().count(), a));
            let number = c.is_multiple_of(2).then_some(c);
            decide::mark_label_ready(workshop, product, number, day)
        }
    }
}

/// Declared weights, wrappings, the maker, dates and numbers.
fn told_of_weights(workshop: &Workshop, a: u32, b: u32, c: u32) -> Decision {
    let product = ProductId(one_of(workshop.products().count(), a));
    let rule = Rule::ALL[c as usize % Rule::ALL.len()];
    let stands = workshop.products().find_map(|good| {
        let declared = workshop.declared_weights(good.id).next()?;
        Some((good.id, declared.rule))
    });
    if let Some((product, rule)) = stands.filter(|_| c.is_multiple_of(3)) {
        return decide::withdraw_weight(workshop, product, rule, "used up");
    }
    match b % 7 {
        0 | 1 => decide::declare_weight(workshop, product, rule, weight(c), "printed already"),
        2 if c.is_multiple_of(2) => decide::weigh_tares(
            workshop,
            TareOf::Product(product),
            vec![weight(c), weight(1)],
        ),
        2 => {
            let supply = SupplyId(one_of(workshop.supplies().count(), a));
            decide::weigh_tares(workshop, TareOf::Supply(supply), vec![weight(c)])
        }
        3 => {
            let pour = PourId(one_of(workshop.n_pours(), a));
            decide::weigh_wrapped(workshop, pour, vec![weight(c), weight(c / 2)])
        }
        4 => decide::settle_maker(workshop, maker(c)),
        5 => {
            let months = u16::try_from(c % 200).unwrap();
            decide::set_shelf_life(workshop, product, (months > 0).then_some(months))
        }
        // The check digit of one in ten fits.
        _ => decide::assign_gtin(workshop, product, &format!("200000{:02}", c % 100)),
    }
}

fn maker(n: u32) -> MakerDetails {
    MakerDetails {
        name: "Quillfen Wax Works".to_owned(),
        lines: vec![format!("{n} Quarry Lane"), "Port Averin".to_owned()],
        contact: String::new(),
        country: "IE".to_owned(),
    }
}

fn sheet_line(n: u32) -> SheetLine {
    SheetLine {
        name: format!("substance {n}"),
        cas: None,
        share: hazard::Share::exactly(Decimal::from(n)).unwrap(),
        classes: (n != 1).then(|| vec![hazard::Class::SkinSens1B.into()]),
        m_acute: None,
        m_chronic: Some(10),
        estimates: vec![],
        limits: vec![],
        basis: LineBasis::OwnSheet,
        confirmed: n.is_multiple_of(2),
    }
}

fn label_settings() -> LabelSettings {
    LabelSettings {
        markets: vec![Market::Eu],
        languages: vec![Language::En],
        name: "Quillfen Wax Works".to_owned(),
        address: "3 Quarry Lane, Port Averin".to_owned(),
        phone: "01 555 0147".to_owned(),
        vat: String::new(),
    }
}

/// The next step of a pour, and now and then one out of turn.
fn go_on(workshop: &Workshop, a: u32, b: u32, c: u32) -> Decision {
    let any = PourId(one_of(workshop.n_pours(), a));
    let open = workshop
        .open_pours()
        .last()
        .filter(|_| !a.is_multiple_of(3));
    let pour = open.map_or(any, |open| open.id);
    let count = |full: u32| PourCount {
        full,
        part: PartFill::None,
        left: c.is_multiple_of(2).then(|| weight(b % 5)),
        topped_up: b.is_multiple_of(3).then(|| weight(b % 50)),
    };
    let minutes = Typed::parse("40 min").ok();
    let found = workshop.pour(pour);
    let full = found
        .and_then(|found| found.count.as_ref())
        .map_or(1, |count| count.full);
    let rejects = c % (full.min(3) + 1);
    match (found.map(workshop::Pour::stage), b % 5) {
        (Some(Stage::Weighing), 0) => decide::weigh_pot(workshop, pour, weight(c)),
        (Some(Stage::Weighing | Stage::Ready), 1) => {
            let targets = vec![weight(b), weight(c)];
            decide::rescale(workshop, pour, AfterSlip::ScaleTheRest, targets)
        }
        (Some(Stage::Weighing | Stage::Ready), 2) => {
            decide::add_to_portion(workshop, pour, c % 2, weight(b))
        }
        (Some(_), 3) => decide::correct_weight(workshop, pour, c % 2, weight(b), "misread"),
        (Some(Stage::Weighing), _) => decide::weigh(workshop, pour, c % 3, weight(b)),
        (Some(Stage::Ready), _) => decide::pour_out(workshop, pour, None, None),
        (Some(Stage::Setting), 0) if c.is_multiple_of(2) => decide::demould(workshop, pour),
        (Some(Stage::Setting | Stage::Demoulded), 1 | 2) => {
            decide::count(workshop, pour, count(b % 30), Some("miscounted"))
        }
        (Some(Stage::Demoulded), 0) if c.is_multiple_of(4) => {
            decide::abandon(workshop, pour, "spilt")
        }
        (Some(Stage::Setting | Stage::Demoulded), 0) => {
            decide::weigh_units_because(workshop, pour, vec![weight(c % 3)], "weighed twice")
        }
        (Some(Stage::Setting | Stage::Demoulded), _) => {
            let (good, minutes) = (full - rejects, minutes);
            decide::finish(workshop, pour, good, 0, rejects, minutes)
        }
        (Some(Stage::Finished), 0) => {
            let units = (full - rejects, rejects, 0);
            let reason = "miscounted";
            decide::correct_lot(workshop, pour, count(full), units, minutes, reason)
        }
        (Some(Stage::Finished), 1) => match found.and_then(|found| found.held.as_ref()) {
            Some(_) => decide::release(workshop, pour, "it was condensation"),
            None => decide::hold(workshop, pour, "sweating"),
        },
        (Some(Stage::Finished), 2) => decide::strike_unit_weight(workshop, pour, c % 2, "misread"),
        (Some(Stage::Finished | Stage::Abandoned) | None, _) => {
            decide::weigh_units_because(workshop, pour, vec![weight(c % 3)], "weighed twice")
        }
    }
}

/// A workshop with a wax, an oil, a wrap, a mould and a formula, and then what
/// the wishes make of it.
fn history(wishes: &[Wish]) -> (Workshop, Vec<Dated>) {
    let (mut workshop, mut facts) = (Workshop::default(), Vec::new());
    let mut day = date(2026, 2, 27);
    let first: [Wish; 6] = [
        (0, 1800, 0, 0),
        (1, 0, 1, 0),
        (1, 2, 2, 0),
        (1, 6, 3, 0),
        (5, 0, 12, 0),
        (6, 0, 1, 0),
    ];
    for (nth, wish) in first.iter().chain(wishes).enumerate() {
        if nth.is_multiple_of(7) {
            day = workshop::day_after(day, 1);
        }
        for fact in decided(&workshop, day, *wish).unwrap_or_default() {
            let dated = Dated { day, fact };
            workshop.apply(&dated);
            facts.push(dated);
        }
    }
    (workshop, facts)
}

fn folded<'a>(facts: impl IntoIterator<Item = &'a Dated>) -> Workshop {
    let mut workshop = Workshop::default();
    for dated in facts {
        workshop.apply(dated);
    }
    workshop
}

/// What went in and out of a supply, summed from the deliveries and the pours.
fn summed(workshop: &Workshop, id: SupplyId) -> (i64, i64) {
    let received = workshop
        .receipts()
        .flat_map(|receipt| &receipt.lines)
        .filter(|line| line.supply == id)
        .map(|line| line.amount.smallest())
        .sum();
    let mut used = 0;
    for pour in workshop.pours() {
        for (portion, weighed) in pour.portions.iter().zip(&pour.weighed) {
            if let (true, Some(weighed)) = (portion.supply == id, weighed) {
                used += weighed.value().micrograms();
            }
        }
        let product = pour.product.and_then(|product| workshop.product(product));
        if let (Some(product), Some(lot)) = (product, &pour.finished) {
            let each = product.packing.iter().filter(|(supply, _)| *supply == id);
            let each: i64 = each.map(|(_, each)| i64::from(*each)).sum();
            used += each * (i64::from(lot.good) + i64::from(lot.seconds));
        }
    }
    (received, used)
}

proptest! {
    #![proptest_config(Config::with_cases(128))]

    #[test]
    fn folding_whole_or_in_two_pieces_agrees(wishes in any_wishes(), at in any::<prop::sample::Index>()) {
        let (workshop, facts) = history(&wishes);
        let (first, rest) = facts.split_at(at.index(facts.len() + 1));
        let mut pieces = folded(first);
        for dated in rest {
            pieces.apply(dated);
        }
        prop_assert_eq!(&pieces, &workshop);
        prop_assert_eq!(&folded(&facts), &workshop);
    }

    #[test]
    fn what_was_written_is_what_is_read(wishes in any_wishes()) {
        for Dated { fact, .. } in history(&wishes).1 {
            let stored = fact.write();
            prop_assert_eq!(Fact::read(fact.name(), fact.version(), &stored).unwrap(), fact);
        }
    }

    #[test]
    fn stock_is_what_came_less_what_went_to_the_microgram(wishes in any_wishes()) {
        let (workshop, _) = history(&wishes);
        for supply in workshop.supplies() {
            let stock = &supply.stock;
            prop_assert_eq!((stock.received, stock.used), summed(&workshop, supply.id));
        }
    }

    #[test]
    fn what_was_paid_is_what_it_cost_landed(wishes in any_wishes()) {
        let (workshop, _) = history(&wishes);
        let (mut paid, mut landed) = (0, 0);
        for receipt in workshop.receipts() {
            let lines: i64 = receipt.lines.iter().map(|line| line.paid.minor()).sum();
            let freight = receipt.freight.map_or(0, Money::minor);
            let shared: i64 = receipt.landed.iter().map(|landed| landed.minor()).sum();
            prop_assert_eq!(shared, lines + freight);
            paid += shared;
        }
        for supply in workshop.supplies() {
            landed += supply.stock.landed.map_or(0, |cost| cost.rounded().unwrap().minor());
        }
        prop_assert_eq!(paid, landed);
    }

    #[test]
    fn a_lot_code_is_given_once(wishes in any_wishes()) {
        let (workshop, _) = history(&wishes);
        let codes: BTreeSet<_> = workshop.pours().map(|pour| &pour.lot).collect();
        prop_assert_eq!(codes.len(), workshop.n_pours());
    }

    #[test]
    fn an_open_pour_is_one_neither_finished_nor_given_up(wishes in any_wishes()) {
        let (workshop, _) = history(&wishes);
        let open: Vec<_> = workshop.open_pours().map(|pour| pour.id).collect();
        let expected: Vec<_> = workshop
            .pours()
            .filter(|pour| !matches!(pour.stage(), Stage::Finished | Stage::Abandoned))
            .map(|pour| pour.id)
            .collect();
        prop_assert_eq!(open, expected);
    }

    #[test]
    fn a_lot_costs_what_its_lines_add_up_to(wishes in any_wishes()) {
        let (workshop, _) = history(&wishes);
        for cost in workshop.pours().filter_map(|pour| lot_cost(&workshop, pour)?.cost) {
            let lines: Decimal = cost.lines().iter().map(|line| line.batch.major()).sum();
            prop_assert_eq!(lines, cost.full_of_batch().major());
        }
    }

    #[test]
    fn facts_that_no_decision_allowed_fold_and_can_be_looked_at(wishes in any_wishes()) {
        let wild: Vec<_> = wishes.iter().copied().map(wild).collect();
        let workshop = folded(&wild);
        prop_assert_eq!(workshop.facts(), wild.len() as u64);
        look_everywhere(&workshop, date(2026, 11, 25));
        for Dated { fact, .. } in wild {
            let stored = fact.write();
            let read = Fact::read(fact.name(), fact.version(), &stored).unwrap();
            prop_assert_eq!(read.write(), stored);
        }
    }
}

proptest! {
    #![proptest_config(Config::with_cases(12))]

    #[test]
    fn what_wild_pours_teach_never_stops_the_program(wishes in any_wishes()) {
        let wild: Vec<_> = wishes.iter().copied().map(wild).collect();
        let workshop = folded(&wild);
        for mould in workshop.moulds() {
            let advice = advice_for(&history_of(&workshop, mould.id).unwrap());
            advice.melt_for(12, Ratio::parse("90 %", measure::Reading::PLAIN).unwrap());
            advice.count_chances(mass("20 oz").value(), 12);
        }
    }
}

/// Facts of selling, of supply lots and of recalls, which have histories of
/// their own; a decision that comes to stand here takes its fact out.
const OF_SELLING: std::ops::RangeInclusive<&str> = "SupplyOpened"..="RecallEnded";

#[test]
fn such_histories_hold_every_kind_of_fact() {
    let mut runner = TestRunner::deterministic();
    let mut seen = BTreeSet::new();
    for _ in 0..400 {
        let wishes = any_wishes().new_tree(&mut runner).unwrap().current();
        seen.extend(history(&wishes).1.iter().map(|dated| dated.fact.name()));
    }
    let names: Vec<_> = Fact::NAMES.iter().map(|(name, _)| *name).collect();
    let at = |name: &str| names.iter().position(|one| *one == name).unwrap();
    let selling = at(OF_SELLING.start())..=at(OF_SELLING.end());
    let rest = names
        .iter()
        .enumerate()
        .filter(|(nth, _)| !selling.contains(nth));
    let all: BTreeSet<_> = rest.map(|(_, name)| *name).collect();
    assert_eq!(seen, all);
}

/// Asks all that a page asks.
fn look_everywhere(workshop: &Workshop, day: Date) {
    errands(workshop, day);
    rack_on(workshop, day, None);
    worth_of_shelf(workshop);
    for worth in worth_of_all(workshop) {
        worth_working(&worth);
    }
    for supply in workshop.supplies() {
        worth_on_hand(supply);
        shelf_working(workshop, supply);
        receipts_of(workshop, supply.id).count();
        uses_of(workshop, supply.id).count();
    }
    for receipt in workshop.receipts() {
        delivery_cost(receipt);
        freight_working(workshop, receipt);
    }
    for pour in workshop.pours() {
        for to in (0..3).map(DestinationId) {
            may_go(workshop, pour, to, day);
        }
    }
    for formula in workshop.formulas() {
        let reader = Reader::of(workshop, day);
        ladder_of(workshop, formula.current(), &reader.rules).ok();
    }
    for product in workshop.products() {
        label_case(workshop, product.id, day).map(|case| case.state());
        tare_of(workshop, product.id);
        ground_of_weight(workshop, product.id);
        made_in_a_year(workshop, product.id, day);
        recent_cost(workshop, product.id);
    }
    for mould in workshop.moulds() {
        history_of(workshop, mould.id).unwrap().rows();
    }
    for pour in workshop.pours() {
        ways_on(workshop, pour);
        lot_cost(workshop, pour);
        lot_working(workshop, pour);
        lot_weights(workshop, pour);
        lot_balance(workshop, pour);
        workshop.verdict(pour, day);
        workshop.best_scent_by(pour);
        cost_of_melt(workshop, pour);
        size_of_lot(pour);
        if let Some(lot) = weights_of_lot(workshop, pour) {
            lots_beside(workshop, &lot);
        }
    }
    workshop.next_lot_code(day);
}

/// A fact as a torn or foreign journal might hold it: any identifier, any size.
fn wild((kind, a, b, c): Wish) -> Dated {
    let day = match c % 5 {
        0 => Date::MIN,
        1 => Date::MAX,
        _ => date(2026, 11, 1),
    };
    let id = |figure: u32| {
        if figure.is_multiple_of(11) {
            u32::MAX
        } else {
            figure % 3
        }
    };
    let pour = PourId(id(a));
    let heavy = |figure: u32| match figure % 6 {
        0 => mass("9200000000 kg"),
        1 => mass("0 g"),
        2 => mass("0.000001 g"),
        _ => weight(figure),
    };
    let money = |figure: u32| match figure % 5 {
        0 => Money::from_minor(i64::MAX, Currency::USD),
        1 => Money::from_minor(i64::from(figure), Currency::EUR),
        2 => Money::from_minor(i64::from(figure), Currency::JPY),
        _ => usd(figure),
    };
    let hot: Option<Typed<Temperature>> = Typed::parse("155 F").ok();
    let kind_of = |figure: u32| SupplyKind::ALL[figure as usize % SupplyKind::ALL.len()];
    let amount = match a % 2 {
        0 => Amount::Weight(heavy(b)),
        _ => Amount::Count(b),
    };
    let wild_recipe = Recipe {
        blend: (0..b % 4)
            .map(|n| BlendPart {
                supply: SupplyId(id(n)),
                parts: if c.is_multiple_of(3) {
                    Decimal::MAX
                } else {
                    Decimal::from(c)
                },
            })
            .collect(),
        oil: b.is_multiple_of(2).then_some(SupplyId(id(c))),
        load: FragranceLoad::OfTotal(percent("30 %")),
        dye: c
            .is_multiple_of(2)
            .then_some((SupplyId(id(b)), DyeDose::DropsPerPound(c))),
        add_at: hot.clone(),
        pour_at: None,
        cure_days: u16::try_from(c % 65_536).unwrap(),
        set_density: Some(Decimal::MAX),
    };
    let count = PourCount {
        full: b,
        part: match c % 4 {
            0 => PartFill::Weighed(heavy(b)),
            1 => PartFill::Share(Ratio::ONE),
            2 => PartFill::Unknown,
            _ => PartFill::None,
        },
        left: Some(heavy(c)),
        topped_up: Some(heavy(a)),
    };
    let hours = Typed::parse("900000 h").ok();
    let reason = String::new();
    let name = "🕯 <b>\"%".to_owned();
    let fact: Fact = match kind % 43 {
        0 => WorkshopSetUp {
            settings: Settings {
                readability: heavy(b),
                wage: Some(money(b)),
                overhead_per_hour: Some(money(c)),
                ..settings(a)
            },
        }
        .into(),
        1 => SupplyDefined {
            supply: SupplyId(id(a)),
            kind: kind_of(b),
            name,
            max_load: Some(FragranceLoad::OfWax(percent("100 %"))),
            flash_point: hot,
        }
        .into(),
        2 => SupplyAmended {
            supply: SupplyId(id(a)),
            name,
            max_load: None,
            flash_point: None,
        }
        .into(),
        3 => SupplyReceived {
            duty: None,
            receipt: ReceiptId(id(a)),
            supplier: name,
            lines: (0..c % 3)
                .map(|n| ReceiptLine {
                    volume: None,
                    supply: SupplyId(id(b.wrapping_add(n))),
                    supplier_lot: String::new(),
                    amount: amount.clone(),
                    paid: money(c),
                })
                .collect(),
            freight: Some(money(b)),
            spread: FreightSpread::ByWeight,
        }
        .into(),
        4 => ReceiptCorrected {
            receipt: ReceiptId(id(a)),
            line: b % 4,
            amount,
            paid: money(c),
            reason,
        }
        .into(),
        5 => MouldDefined {
            mould: MouldId(id(a)),
            name,
            format: Format::Clamshell,
            cavities: if c.is_multiple_of(2) { b } else { b % 30 },
            line_volume: Typed::parse("84 ml").ok(),
            nominal: Some(heavy(c)),
        }
        .into(),
        6 => FormulaDefined {
            formula: FormulaId(id(a)),
            name,
            recipe: wild_recipe,
        }
        .into(),
        7 => FormulaRevised {
            formula: FormulaId(id(a)),
            revision: b,
            recipe: wild_recipe,
            reason,
        }
        .into(),
        8 => ProductDefined {
            product: ProductId(id(a)),
            name,
            formula: FormulaId(id(b)),
            mould: MouldId(id(c)),
            packing: vec![(SupplyId(id(b)), c), (SupplyId(id(c)), u32::MAX)],
        }
        .into(),
        9 => PriceSet {
            product: ProductId(id(a)),
            low: money(a),
            typical: money(b),
            high: money(c),
        }
        .into(),
        10 | 11 => PourStarted {
            pour,
            lot: name,
            formula: FormulaId(id(b)),
            revision: c % 3,
            mould: Some(MouldId(id(c))),
            product: Some(ProductId(id(b))),
            wanted: c,
            portions: (0..b % 4)
                .map(|n| Portion {
                    supply: SupplyId(id(n)),
                    weight: heavy(c.wrapping_add(n)),
                })
                .collect(),
        }
        .into(),
        28 => SheetFiled {
            supply: SupplyId(id(a)),
            supplier: name,
            dated: Some(day),
            version: reason,
            lines: (0..b % 5)
                .map(|n| SheetLine {
                    m_acute: Some(c),
                    m_chronic: Some(0),
                    ..sheet_line(n * 25)
                })
                .collect(),
            rest: if c.is_multiple_of(2) {
                Rest::Unknown
            } else {
                Rest::NotHazardous
            },
        }
        .into(),
        29 => SheetLineConfirmed {
            supply: SupplyId(id(a)),
            sheet: b % 3,
            line: c,
        }
        .into(),
        30 => CertificateFiled {
            supply: SupplyId(id(a)),
            category: name,
            maximum: Ratio::ZERO,
            dated: Some(day),
        }
        .into(),
        31 => LabelSettled {
            settings: LabelSettings {
                languages: if b.is_multiple_of(2) {
                    vec![]
                } else {
                    vec![Language::Fr]
                },
                vat: name,
                ..label_settings()
            },
        }
        .into(),
        32 => LabelMarkedReady {
            product: ProductId(id(a)),
            ground: LabelGround {
                revision: b,
                load: FragranceLoad::OfWax(Ratio::ZERO),
                sheets: vec![(SupplyId(id(b)), c)],
                jurisdiction: hazard::Jurisdiction::Gb,
                read_on: day,
            },
            elements: LabelElements::default(),
            identifier: Some(Identifier {
                number: u32::MAX,
                ufi: name,
            }),
        }
        .into(),
        33 => WeightDeclared {
            product: ProductId(id(a)),
            rule: Rule::ALL[c as usize % Rule::ALL.len()],
            declared: heavy(b),
            ground: WeightGround {
                lots: vec![pour],
                weighed: b,
                average: Some(heavy(c)),
                spread: None,
            },
            reason,
        }
        .into(),
        34 => WeightWithdrawn {
            product: ProductId(id(a)),
            rule: Rule::Us,
            reason,
        }
        .into(),
        35 => TareWeighed {
            of: if b.is_multiple_of(2) {
                TareOf::Product(ProductId(id(a)))
            } else {
                TareOf::Supply(SupplyId(id(a)))
            },
            weights: (0..c % 3).map(heavy).collect(),
        }
        .into(),
        36 => WrappedUnitsWeighed {
            pour,
            weights: (0..c % 4).map(|n| heavy(b.wrapping_add(n))).collect(),
        }
        .into(),
        37 => MakerDetailsSettled { maker: maker(a) }.into(),
        38 => ShelfLifeSet {
            product: ProductId(id(a)),
            months: Some(u16::MAX),
        }
        .into(),
        40 => DestinationSettled {
            destination: DestinationId(id(a)),
            details: Destination {
                name: name.clone(),
                settings: label_settings(),
                responsible: name.clone(),
                emergency: String::new(),
                marks: vec![name.clone()],
                link: name,
            },
        }
        .into(),
        41 => DestinationLabelMarkedReady {
            product: ProductId(id(a)),
            destination: DestinationId(id(b)),
            ground: LabelGround {
                revision: b,
                load: FragranceLoad::OfWax(Ratio::ONE),
                sheets: vec![(SupplyId(id(c)), c)],
                jurisdiction: hazard::Jurisdiction::Gb,
                read_on: day,
            },
            elements: LabelElements::default(),
            identifier: None,
        }
        .into(),
        42 => LabelsPrinted {
            product: ProductId(id(a)),
            lot: b.is_multiple_of(2).then_some(pour),
            destination: DestinationId(id(b)),
            version: c,
            part: part_of(c),
            count: c,
        }
        .into(),
        39 => GtinAssigned {
            product: ProductId(id(a)),
            gtin: Some(name),
        }
        .into(),
        12 => PotWeighed {
            pour,
            weight: heavy(b),
        }
        .into(),
        13 | 14 => IngredientWeighed {
            pour,
            portion: b % 4,
            weight: heavy(c),
        }
        .into(),
        15 => IngredientAdded {
            pour,
            portion: b % 4,
            added: heavy(c),
        }
        .into(),
        16 => IngredientCorrected {
            pour,
            portion: b,
            weight: heavy(c),
            reason,
        }
        .into(),
        17 => PourRescaled {
            pour,
            choice: AfterSlip::ScaleTheRest,
            targets: (0..b % 4).map(heavy).collect(),
        }
        .into(),
        18 => Poured {
            pour,
            wax_at: hot,
            room_at: None,
        }
        .into(),
        19 => UnitsCounted { pour, count }.into(),
        20 => CountCorrected {
            pour,
            count,
            reason,
        }
        .into(),
        21 => Demoulded { pour }.into(),
        22 => UnitWeighed {
            pour,
            weight: heavy(b),
        }
        .into(),
        23 => UnitWeightStruck {
            pour,
            nth: b,
            reason,
        }
        .into(),
        24 if c.is_multiple_of(3) => UnitWeightKept {
            pour,
            nth: b,
            reason,
        }
        .into(),
        24 => PourFinished {
            pour,
            good: b,
            seconds: c,
            rejects: a,
            minutes: hours,
        }
        .into(),
        25 => LotCorrected {
            pour,
            count,
            good: c,
            seconds: a,
            rejects: b,
            minutes: hours,
            reason,
        }
        .into(),
        26 => PourAbandoned { pour, reason }.into(),
        _ if b.is_multiple_of(2) => LotHeld { pour, reason }.into(),
        _ => LotReleased { pour, reason }.into(),
    };
    Dated { day, fact }
}

fn part_of(c: u32) -> LabelPart {
    match c % 3 {
        0 => LabelPart::Whole,
        1 => LabelPart::Front,
        _ => LabelPart::Back,
    }
}
