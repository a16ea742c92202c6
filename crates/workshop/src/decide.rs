//! The decisions: what a wish adds to the journal, or why it adds nothing.
//!
//! Each takes the state as it is and values already read, and returns the
//! facts to append. None changes anything.

use formula::FragranceLoad;
use jiff::civil::Date;
use measure::{Decimal, Mass, Money, Problem, Problems, Temperature, TimeSpan, Typed, Volume};

use crate::Refusal;
use crate::facts::{
    AfterSlip, Amount, CountCorrected, Demoulded, DyeDose, Fact, Format, FormulaDefined, FormulaId,
    FormulaRevised, FreightSpread, IngredientAdded, IngredientCorrected, IngredientWeighed,
    LotCorrected, LotHeld, LotReleased, MouldDefined, MouldId, PartFill, Portion, PotWeighed,
    PourAbandoned, PourCount, PourFinished, PourId, PourRescaled, PourStarted, Poured, PriceSet,
    ProductDefined, ProductId, ReceiptCorrected, ReceiptId, ReceiptLine, Recipe, Settings,
    SupplyAmended, SupplyDefined, SupplyId, SupplyKind, SupplyReceived, UnitWeighed,
    UnitWeightKept, UnitWeightStruck, UnitsCounted, WorkshopSetUp,
};
use crate::money::Charges;
use crate::state::{Pour, Stage, Workshop};

pub use labels::{
    mark_label_ready, mark_label_ready_for, note_printed, settle_destination, settle_labels,
};
pub use sheets::{Filing, MOST_SHEET_LINES, confirm_sheet_line, file_certificate, file_sheet};

pub use expenses::pay_expense;
pub use orders::{
    CreditWish, OrderWish, PickWish, SendWish, ShopWish, cancel_order, confirm_order, count_shop,
    credit_invoice, forget_buyer, pack_order, pay_invoice, pick_anew, pick_order, send_order,
    settle_buyer, take_order, write_invoice,
};
pub use pack::{add_stock, measure_printer, retire_stock, set_pack};
pub use reading::{
    FileReading, FileRow, RowFate, RowSays, file_read, keep_layout, match_names, match_payout,
    note_payout, read_rows, row_key, tells,
};
pub use recall::{Answer, answer_recall, begin_recall, end_recall, list_recall};
pub(crate) use selling::sales_of;
pub use selling::{
    BackWish, Counted, LineWish, MarketDayWish, SaleWish, WhatIsLeft, count_back, count_goods,
    count_till, keep_float, note_market_day, return_goods, sell, set_aside, set_bundles,
    set_channel_price, settle_books, settle_channel, settle_market_day, take_goods, void_sale,
};
pub use shelf::{count_supply, draw_from, note_supply_date, open_supply, waste_supply};
pub use weights::{
    assign_gtin, declare_weight, set_shelf_life, settle_maker, weigh_tares, weigh_wrapped,
    withdraw_weight,
};

mod expenses;
mod labels;
mod orders;
mod pack;
mod reading;
mod recall;
mod selling;
mod sheets;
mod shelf;
mod weights;

/// What a decision returns.
pub type Decision = Result<Vec<Fact>, Refusal>;

/// The longest name that fits a label, a list and a page.
const LONGEST_NAME: usize = 80;
/// The longest note.
const LONGEST_NOTE: usize = 400;
/// The heaviest weight anyone writes down: ten tonnes. Sums of a few hundred
/// thousand such weights can still be held.
const HEAVIEST: Mass = Mass::from_micrograms(10_000_000_000_000);
/// The most money in one amount, in whole units of the currency: a thousand
/// million. A delivery in a currency without small change runs to tens of
/// millions; sums of a hundred thousand such amounts can still be held.
const DEAREST: i64 = 1_000_000_000;
/// The most pieces of anything.
const MOST_PIECES: u32 = 10_000_000;
/// The most units one pour is for.
const MOST_UNITS: u32 = 10_000;
/// The most unit weights written down for one lot.
const MOST_WEIGHTS: usize = 1_000;
/// The most lines of one delivery, parts of one blend, things in one pack.
const MOST_LINES: usize = 100;

fn fact(fact: impl Into<Fact>) -> Vec<Fact> {
    vec![fact.into()]
}

/// Trims a name and refuses what cannot be printed on one line.
fn name(field: &str, text: &str) -> Result<String, Problem> {
    line(field, text, LONGEST_NAME)
}

fn note(field: &str, text: &str) -> Result<String, Problem> {
    line(field, text, LONGEST_NOTE)
}

fn line(field: &str, text: &str, longest: usize) -> Result<String, Problem> {
    let text = text.trim();
    let problem = |wrong: &str| Problem::new(field, text, wrong, "write it on one line");
    if text.is_empty() {
        return Err(Problem::new(
            field,
            "",
            "it is missing",
            "write a word or two",
        ));
    }
    if text.chars().count() > longest {
        return Err(Problem::new(
            field,
            text.chars().take(30).collect::<String>() + "…",
            "it is too long",
            format!("use at most {longest} letters"),
        ));
    }
    if text.chars().any(char::is_control) {
        return Err(problem(
            "it has a line break or another control character in it",
        ));
    }
    Ok(text.to_owned())
}

/// Refuses a weight that no workshop handles.
fn not_too_heavy(field: &str, weight: &Typed<Mass>) -> Result<(), Problem> {
    if weight.value() <= HEAVIEST {
        return Ok(());
    }
    let wrong = "that is more than ten tonnes";
    Err(Problem::new(
        field,
        weight.to_string(),
        wrong,
        "look at the figure and its unit",
    ))
}

/// Refuses an amount that no workshop pays or asks.
fn not_too_dear(field: &str, money: Money) -> Result<(), Problem> {
    if money.major().abs() <= Decimal::from(DEAREST) {
        return Ok(());
    }
    Err(Problem::new(
        field,
        money.to_string(),
        "that is more than a thousand million",
        "look at the figure and where its decimal mark stands",
    ))
}

/// Refuses a list that no one typed by hand.
fn not_too_many(field: &str, n: usize, most: usize) -> Result<(), Problem> {
    if n <= most {
        return Ok(());
    }
    Err(Problem::new(
        field,
        n.to_string(),
        "that is too many at once",
        format!("write at most {most}"),
    ))
}

/// Sets the workshop's units, currency and habits.
///
/// # Errors
///
/// [`Refusal::Input`] for a name that cannot be printed, a wage or overhead in
/// another currency, or a change of currency once money is written down: old
/// amounts would not turn into the new one.
pub fn set_up(workshop: &Workshop, mut settings: Settings) -> Decision {
    settings.name = name("name", &settings.name)?;
    let kept = workshop.money_kept_in().filter(|_| workshop.has_money());
    if let Some(kept) = kept.filter(|kept| *kept != settings.currency) {
        return Err(Problem::new(
            "currency",
            settings.currency.code(),
            format!("money is already written down in {}", kept.code()),
            "keep the currency, or begin a journal of its own for another one",
        )
        .into());
    }
    not_too_heavy("readability", &settings.readability)?;
    if let Some(melter) = &settings.melter {
        not_too_heavy("melter", melter)?;
    }
    for (field, money) in [
        ("wage", settings.wage),
        ("overhead_per_hour", settings.overhead_per_hour),
    ] {
        if let Some(money) = money.filter(|money| money.currency() != settings.currency) {
            return Err(Problem::new(
                field,
                money.to_string(),
                "it is in another currency",
                format!("write it in {}", settings.currency.code()),
            )
            .into());
        }
        if let Some(money) = money {
            not_too_dear(field, money)?;
        }
    }
    Ok(fact(WorkshopSetUp { settings }))
}

fn name_taken(what: &str, called: &str) -> Problem {
    let wrong = format!("there is a {what} of that name");
    Problem::new(
        "name",
        called,
        wrong,
        "choose another name, or use the one there is",
    )
}

/// Enters a supply.
///
/// # Errors
///
/// [`Refusal::Input`] for a missing name or one already taken by a supply of
/// that kind.
pub fn define_supply(
    workshop: &Workshop,
    kind: SupplyKind,
    called: &str,
    max_load: Option<FragranceLoad>,
    flash_point: Option<Typed<Temperature>>,
) -> Decision {
    let called = name("name", called)?;
    if workshop.supply_named(kind, &called).is_some() {
        return Err(name_taken(kind.word(), &called).into());
    }
    Ok(fact(SupplyDefined {
        supply: workshop.next_supply(),
        kind,
        name: called,
        max_load,
        flash_point,
    }))
}

/// Puts right or completes what the sheet says of a supply.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a supply that is not there, [`Refusal::Input`]
/// for a missing name.
pub fn amend_supply(
    workshop: &Workshop,
    supply: SupplyId,
    called: &str,
    max_load: Option<FragranceLoad>,
    flash_point: Option<Typed<Temperature>>,
) -> Decision {
    let kind = known_supply(workshop, supply)?.kind;
    let called = name("name", called)?;
    if let Some(other) = workshop
        .supply_named(kind, &called)
        .filter(|other| other.id != supply)
    {
        return Err(name_taken(kind.word(), &other.name).into());
    }
    Ok(fact(SupplyAmended {
        supply,
        name: called,
        max_load,
        flash_point,
    }))
}

/// Takes in a delivery without duty.
///
/// # Errors
///
/// As for [`take_in`].
pub fn receive(
    workshop: &Workshop,
    supplier: &str,
    lines: Vec<ReceiptLine>,
    freight: Option<Money>,
    spread: FreightSpread,
) -> Decision {
    let charges = Charges {
        freight,
        spread,
        duty: None,
    };
    take_in(workshop, supplier, lines, charges)
}

/// Takes in a delivery.
///
/// # Errors
///
/// [`Refusal::Input`] for a delivery without lines, a weighed supply that was
/// counted or the reverse, an amount of nothing, mixed currencies, and freight
/// by volume where a line has none.
pub fn take_in(
    workshop: &Workshop,
    supplier: &str,
    lines: Vec<ReceiptLine>,
    charges: Charges,
) -> Decision {
    let Charges {
        freight,
        duty,
        spread,
    } = charges;
    let mut problems = Vec::new();
    if lines.is_empty() {
        problems.push(Problem::new(
            "lines",
            "",
            "nothing came",
            "enter at least one line",
        ));
    }
    problems.extend(not_too_many("lines", lines.len(), MOST_LINES).err());
    for (i, line) in lines.iter().enumerate() {
        check_line(workshop, &format!("lines[{i}]"), line, &mut problems);
    }
    let supplier = if supplier.trim().is_empty() {
        String::new()
    } else {
        name("supplier", supplier).unwrap_or_else(|problem| {
            problems.push(problem);
            String::new()
        })
    };
    let currencies = lines
        .iter()
        .map(|line| line.paid)
        .chain(freight)
        .chain(duty)
        .map(Money::currency);
    one_currency(workshop, currencies, "paid", &mut problems);
    for (field, charge) in [("freight", freight), ("duty", duty)] {
        problems.extend(charge.and_then(|charge| not_too_dear(field, charge).err()));
    }
    if freight.is_some() && spread == FreightSpread::ByVolume {
        for (i, line) in lines.iter().enumerate() {
            if line.volume.as_ref().is_none_or(|it| it.value().is_zero()) {
                problems.push(Problem::new(
                    format!("lines[{i}].volume"),
                    "",
                    "freight by volume needs the room of every line",
                    "write it such as 20 l, or share the freight in another way",
                ));
            }
        }
    }
    refuse_if_any(problems)?;
    Ok(fact(SupplyReceived {
        receipt: workshop.next_receipt(),
        supplier,
        lines,
        freight,
        spread,
        duty,
    }))
}

fn check_line(workshop: &Workshop, at: &str, line: &ReceiptLine, problems: &mut Vec<Problem>) {
    let Some(supply) = workshop.supply(line.supply) else {
        problems.push(Problem::new(
            format!("{at}.supply"),
            line.supply.to_string(),
            "there is no such supply",
            "choose one from the shelf",
        ));
        return;
    };
    problems.extend(not_too_dear(&format!("{at}.paid"), line.paid).err());
    let field = format!("{at}.amount");
    match (&line.amount, supply.kind.is_weighed()) {
        (Amount::Weight(weight), true) if weight.value().is_zero() => problems.push(Problem::new(
            field,
            weight.to_string(),
            "that is nothing",
            "write how much came",
        )),
        (Amount::Count(0), false) => {
            problems.push(Problem::new(
                field,
                "0",
                "that is nothing",
                "write how many came",
            ));
        }
        (Amount::Weight(weight), true) => {
            problems.extend(not_too_heavy(&field, weight).err());
        }
        (Amount::Count(count), false) if *count > MOST_PIECES => problems.push(Problem::new(
            field,
            count.to_string(),
            "that is more than ten million",
            "look at the figure",
        )),
        (Amount::Count(_), false) => {}
        (given, true) => problems.push(Problem::new(
            field,
            given.to_string(),
            format!("{} goes by weight", supply.name),
            "write a weight such as 10 lb or 5 kg",
        )),
        (given, false) => problems.push(Problem::new(
            field,
            given.to_string(),
            format!("{} goes by count", supply.name),
            "write a whole number",
        )),
    }
}

fn one_currency(
    workshop: &Workshop,
    currencies: impl Iterator<Item = measure::Currency>,
    field: &str,
    problems: &mut Vec<Problem>,
) {
    let mut own = workshop.money_kept_in();
    for currency in currencies {
        match own {
            None => own = Some(currency),
            Some(own) if own != currency => {
                problems.push(Problem::new(
                    field,
                    currency.code(),
                    format!("this workshop keeps its books in {}", own.code()),
                    "write the amount in the workshop's currency, as the bank charged it",
                ));
                return;
            }
            Some(_) => {}
        }
    }
}

/// Puts right a line of a delivery.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a delivery or line that is not there,
/// [`Refusal::Input`] as for [`receive`] and for a missing reason.
pub fn correct_receipt(
    workshop: &Workshop,
    receipt: ReceiptId,
    line: u32,
    amount: Amount,
    paid: Money,
    reason: &str,
) -> Decision {
    let known = workshop
        .receipt(receipt)
        .and_then(|found| found.lines.get(line as usize))
        .ok_or_else(|| Refusal::Unknown {
            what: "delivery line",
            id: format!("{receipt}/{line}"),
        })?;
    let corrected = ReceiptLine {
        amount: amount.clone(),
        paid,
        ..known.clone()
    };
    let mut problems = Vec::new();
    check_line(workshop, "line", &corrected, &mut problems);
    // The one line has a form of its own, without a number at its boxes.
    for problem in &mut problems {
        problem.field = problem.field.replace("line.", "");
    }
    one_currency(
        workshop,
        std::iter::once(paid.currency()),
        "paid",
        &mut problems,
    );
    refuse_if_any(problems)?;
    let reason = note("reason", reason)?;
    Ok(fact(ReceiptCorrected {
        receipt,
        line,
        amount,
        paid,
        reason,
    }))
}

/// Enters a mould or vessel.
///
/// # Errors
///
/// [`Refusal::Input`] for a missing name, no cavities, or more than anyone
/// pours at once.
pub fn define_mould(
    workshop: &Workshop,
    called: &str,
    format: Format,
    cavities: u32,
    line_volume: Option<Typed<Volume>>,
    nominal: Option<Typed<Mass>>,
) -> Decision {
    let called = name("name", called)?;
    let lower = called.to_lowercase();
    if workshop
        .moulds()
        .any(|mould| mould.name.to_lowercase() == lower)
    {
        return Err(name_taken("mould", &called).into());
    }
    if let Some(nominal) = &nominal {
        not_too_heavy("nominal", nominal)?;
    }
    if !(1..=10_000).contains(&cavities) {
        return Err(Problem::new(
            "cavities",
            cavities.to_string(),
            "a mould has at least one cavity and at most 10,000",
            "count the units that come out of one fill",
        )
        .into());
    }
    let mould = workshop.next_mould();
    Ok(fact(MouldDefined {
        mould,
        name: called,
        format,
        cavities,
        line_volume,
        nominal,
    }))
}

/// Writes down a formula.
///
/// # Errors
///
/// [`Refusal::Input`] for a missing name or a recipe that cannot be weighed.
pub fn define_formula(workshop: &Workshop, called: &str, recipe: Recipe) -> Decision {
    let called = name("name", called)?;
    check_recipe(workshop, &recipe)?;
    Ok(fact(FormulaDefined {
        formula: workshop.next_formula(),
        name: called,
        recipe,
    }))
}

/// Changes a formula; pours already made keep the revision they used.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a formula that is not there, [`Refusal::Input`]
/// for a recipe that cannot be weighed or one that changes nothing.
pub fn revise_formula(
    workshop: &Workshop,
    id: FormulaId,
    recipe: Recipe,
    reason: &str,
) -> Decision {
    let formula = workshop.formula(id).ok_or_else(|| Refusal::Unknown {
        what: "formula",
        id: id.to_string(),
    })?;
    check_recipe(workshop, &recipe)?;
    if *formula.current() == recipe {
        return Err(Problem::new("", "", "nothing has changed", "change something first").into());
    }
    let reason = note("reason", reason)?;
    let revision = formula.revision().saturating_add(1);
    Ok(fact(FormulaRevised {
        formula: id,
        revision,
        recipe,
        reason,
    }))
}

fn check_recipe(workshop: &Workshop, recipe: &Recipe) -> Result<(), Refusal> {
    let mut problems = Vec::new();
    let mut kind = |field: String, id: SupplyId, wanted: &[SupplyKind]| {
        let given = workshop.supply(id);
        if !given.is_some_and(|supply| wanted.contains(&supply.kind)) {
            let words: Vec<_> = wanted.iter().map(|kind| kind.word()).collect();
            problems.push(Problem::new(
                field,
                given.map_or_else(|| id.to_string(), |supply| supply.name.clone()),
                format!("it is not a {}", words.join(" or ")),
                "choose one from the shelf",
            ));
        }
    };
    for (i, part) in recipe.blend.iter().enumerate() {
        let wanted = [SupplyKind::Wax, SupplyKind::Additive];
        kind(format!("blend[{i}].supply"), part.supply, &wanted);
    }
    if let Some(oil) = recipe.oil {
        kind("oil".to_owned(), oil, &[SupplyKind::FragranceOil]);
    }
    if let Some((dye, _)) = &recipe.dye {
        kind("dye".to_owned(), *dye, &[SupplyKind::Dye]);
    }
    if let Some((_, DyeDose::OfWax(ratio))) = &recipe.dye
        && *ratio > measure::Ratio::ONE
    {
        problems.push(Problem::new(
            "dye_dose",
            ratio.to_string(),
            "that is more dye than wax",
            "write a share such as 0.1 %",
        ));
    }
    problems.extend(not_too_many("blend", recipe.blend.len(), MOST_LINES).err());
    if recipe.blend.is_empty() || recipe.blend.iter().all(|part| part.parts.is_zero()) {
        problems.push(Problem::new(
            "blend",
            "",
            "there is no wax in it",
            "enter at least one wax with its parts",
        ));
    }
    for (i, part) in recipe.blend.iter().enumerate() {
        if part.parts.is_sign_negative() && !part.parts.is_zero() {
            problems.push(Problem::new(
                format!("blend[{i}].parts"),
                part.parts.to_string(),
                "parts cannot be negative",
                "write a number such as 90",
            ));
        }
    }
    refuse_if_any(problems)
}

/// Defines a good: a formula in a mould, packed one way.
///
/// # Errors
///
/// [`Refusal::Input`] for a missing name, [`Refusal::Unknown`] for a formula,
/// mould or packing supply that is not there.
pub fn define_product(
    workshop: &Workshop,
    called: &str,
    formula: FormulaId,
    mould: MouldId,
    packing: Vec<(SupplyId, u32)>,
) -> Decision {
    let called = name("name", called)?;
    if workshop.formula(formula).is_none() {
        return Err(Refusal::Unknown {
            what: "formula",
            id: formula.to_string(),
        });
    }
    if workshop.mould(mould).is_none() {
        return Err(Refusal::Unknown {
            what: "mould",
            id: mould.to_string(),
        });
    }
    not_too_many("packing", packing.len(), MOST_LINES)?;
    for (supply, each) in &packing {
        let supply = known_supply(workshop, *supply)?;
        if *each > 1_000 {
            return Err(Problem::new(
                "packing",
                each.to_string(),
                format!("that is a great many of {} on one unit", supply.name),
                "write how many go on one unit",
            )
            .into());
        }
        if supply.kind.is_weighed() {
            return Err(Problem::new(
                "packing",
                supply.name.clone(),
                "it goes by weight and belongs in the formula",
                "choose a wick, vessel, wrap or label",
            )
            .into());
        }
    }
    let product = workshop.next_product();
    Ok(fact(ProductDefined {
        product,
        name: called,
        formula,
        mould,
        packing,
    }))
}

/// Sets the prices of a good.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a good that is not there, [`Refusal::Input`] when
/// the prices do not rise from low to high or are in another currency.
pub fn set_prices(
    workshop: &Workshop,
    product: ProductId,
    low: Money,
    typical: Money,
    high: Money,
) -> Decision {
    if workshop.product(product).is_none() {
        return Err(Refusal::Unknown {
            what: "good",
            id: product.to_string(),
        });
    }
    let mut problems = Vec::new();
    one_currency(
        workshop,
        [low, typical, high].map(Money::currency).into_iter(),
        "typical",
        &mut problems,
    );
    for (field, money) in [("low", low), ("typical", typical), ("high", high)] {
        problems.extend(not_too_dear(field, money).err());
    }
    if problems.is_empty() && !(low.minor() <= typical.minor() && typical.minor() <= high.minor()) {
        problems.push(Problem::new(
            "typical",
            typical.to_string(),
            "the prices do not rise from low to high",
            "write the lowest first and the highest last",
        ));
    }
    refuse_if_any(problems)?;
    Ok(fact(PriceSet {
        product,
        low,
        typical,
        high,
    }))
}

/// Begins a pour with what to weigh for it.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a formula, mould or good that is not there,
/// [`Refusal::Input`] when there is nothing to weigh.
pub fn start_pour(
    workshop: &Workshop,
    formula: FormulaId,
    mould: Option<MouldId>,
    product: Option<ProductId>,
    wanted: u32,
    portions: Vec<Portion>,
    day: Date,
) -> Decision {
    let found = workshop.formula(formula).ok_or_else(|| Refusal::Unknown {
        what: "formula",
        id: formula.to_string(),
    })?;
    if let Some(mould) = mould.filter(|mould| workshop.mould(*mould).is_none()) {
        return Err(Refusal::Unknown {
            what: "mould",
            id: mould.to_string(),
        });
    }
    if let Some(product) = product.filter(|product| workshop.product(*product).is_none()) {
        return Err(Refusal::Unknown {
            what: "good",
            id: product.to_string(),
        });
    }
    if portions.is_empty()
        || portions
            .iter()
            .all(|portion| portion.weight.value().is_zero())
    {
        return Err(
            Problem::new("portions", "", "there is nothing to weigh", "ask for more").into(),
        );
    }
    for portion in &portions {
        known_supply(workshop, portion.supply)?;
        not_too_heavy("melt", &portion.weight)?;
    }
    if wanted > MOST_UNITS {
        return Err(Problem::new(
            "wanted",
            wanted.to_string(),
            "that is more units than one pour is for",
            format!("ask for at most {MOST_UNITS}"),
        )
        .into());
    }
    Ok(fact(PourStarted {
        pour: workshop.next_pour(),
        lot: workshop.next_lot_code(day),
        formula,
        revision: found.revision(),
        mould,
        product,
        wanted,
        portions,
    }))
}

/// Notes what the empty pot weighs; it then stays on the scale untared. A
/// weight of nothing says that it is tared away after all.
///
/// # Errors
///
/// [`Refusal::WrongStage`] once everything is weighed.
pub fn weigh_pot(workshop: &Workshop, pour: PourId, weight: Typed<Mass>) -> Decision {
    let found = known_pour(workshop, pour)?;
    at_stage(
        found,
        &[Stage::Weighing],
        "the pot is weighed before it is filled",
    )?;
    Ok(fact(PotWeighed { pour, weight }))
}

/// Notes what went into the pot.
///
/// # Errors
///
/// [`Refusal::WrongStage`] once everything is weighed or poured,
/// [`Refusal::Unknown`] for a portion that is not in the pour or is already in.
pub fn weigh(workshop: &Workshop, pour: PourId, portion: u32, weight: Typed<Mass>) -> Decision {
    let found = known_pour(workshop, pour)?;
    at_stage(found, &[Stage::Weighing], "correct a weight instead")?;
    not_too_heavy("weight", &weight)?;
    match found.weighed.get(portion as usize) {
        Some(None) => Ok(fact(IngredientWeighed {
            pour,
            portion,
            weight,
        })),
        Some(Some(before)) => Err(Problem::new(
            "weight",
            weight.to_string(),
            format!("this ingredient is already in the pot with {before}"),
            "correct that weight if it was wrong",
        )
        .into()),
        None => Err(Refusal::Unknown {
            what: "portion",
            id: portion.to_string(),
        }),
    }
}

/// Puts right a weight.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a portion not weighed yet, [`Refusal::Input`] for
/// a missing reason.
pub fn correct_weight(
    workshop: &Workshop,
    pour: PourId,
    portion: u32,
    weight: Typed<Mass>,
    reason: &str,
) -> Decision {
    let found = known_pour(workshop, pour)?;
    if !matches!(found.weighed.get(portion as usize), Some(Some(_))) {
        return Err(Refusal::Unknown {
            what: "weighed portion",
            id: portion.to_string(),
        });
    }
    not_too_heavy("weight", &weight)?;
    let reason = note("reason", reason)?;
    Ok(fact(IngredientCorrected {
        pour,
        portion,
        weight,
        reason,
    }))
}

/// Meets a slip of the hand with new portions to aim at.
///
/// # Errors
///
/// [`Refusal::WrongStage`] when nothing is being weighed any more,
/// [`Refusal::Input`] when the targets are not one for each portion.
pub fn rescale(
    workshop: &Workshop,
    pour: PourId,
    choice: AfterSlip,
    targets: Vec<Typed<Mass>>,
) -> Decision {
    let found = known_pour(workshop, pour)?;
    at_stage(
        found,
        &[Stage::Weighing, Stage::Ready],
        "what is poured cannot be scaled",
    )?;
    if targets.len() != found.portions.len() {
        return Err(Problem::new(
            "targets",
            targets.len().to_string(),
            "there is not one target for each portion",
            format!("give {} weights", found.portions.len()),
        )
        .into());
    }
    Ok(fact(PourRescaled {
        pour,
        choice,
        targets,
    }))
}

/// Notes that `added` more of an ingredient went in, to keep the formula after
/// a slip.
///
/// # Errors
///
/// [`Refusal::WrongStage`] after the melt was poured, [`Refusal::Unknown`]
/// when the portion had not been weighed, [`Refusal::Input`] for nothing at all.
pub fn add_to_portion(
    workshop: &Workshop,
    pour: PourId,
    portion: u32,
    added: Typed<Mass>,
) -> Decision {
    let found = known_pour(workshop, pour)?;
    at_stage(
        found,
        &[Stage::Weighing, Stage::Ready],
        "what is poured cannot be added to",
    )?;
    if !matches!(found.weighed.get(portion as usize), Some(Some(_))) {
        return Err(Refusal::Unknown {
            what: "weighed portion",
            id: portion.to_string(),
        });
    }
    not_too_heavy("weight", &added)?;
    if added.value().is_zero() {
        return Err(Problem::new(
            "weight",
            added.to_string(),
            "that adds nothing",
            "write how much more went in",
        )
        .into());
    }
    Ok(fact(IngredientAdded {
        pour,
        portion,
        added,
    }))
}

/// Gives a pour up; what went into the pot stays used.
///
/// # Errors
///
/// [`Refusal::WrongStage`] once it is finished or given up, [`Refusal::Input`]
/// for a missing reason.
pub fn abandon(workshop: &Workshop, pour: PourId, reason: &str) -> Decision {
    let found = known_pour(workshop, pour)?;
    if matches!(found.stage(), Stage::Finished | Stage::Abandoned) {
        return Err(wrong_stage(found, "hold the lot instead if it is finished"));
    }
    Ok(fact(PourAbandoned {
        pour,
        reason: note("why", reason)?,
    }))
}

/// Notes that the melt went into the mould.
///
/// # Errors
///
/// [`Refusal::WrongStage`] before everything is weighed, or a second time.
pub fn pour_out(
    workshop: &Workshop,
    pour: PourId,
    wax_at: Option<Typed<Temperature>>,
    room_at: Option<Typed<Temperature>>,
) -> Decision {
    let found = known_pour(workshop, pour)?;
    at_stage(
        found,
        &[Stage::Ready],
        "weigh everything first; it is poured once",
    )?;
    Ok(fact(Poured {
        pour,
        wax_at,
        room_at,
    }))
}

/// Notes what came out of the pour, or puts an earlier count right.
///
/// # Errors
///
/// [`Refusal::WrongStage`] before it is poured and once the lot is finished,
/// [`Refusal::Input`] when more is left over than was put in, or an earlier
/// count is put right without a reason.
pub fn count(
    workshop: &Workshop,
    pour: PourId,
    count: PourCount,
    reason: Option<&str>,
) -> Decision {
    let found = known_pour(workshop, pour)?;
    if found.poured.is_none() {
        return Err(wrong_stage(found, "pour first, then count"));
    }
    if !matches!(found.stage(), Stage::Setting | Stage::Demoulded) {
        return Err(wrong_stage(
            found,
            "put the lot right, and its count goes with it",
        ));
    }
    check_count(found, &count)?;
    match (&found.count, reason) {
        (None, _) => Ok(fact(UnitsCounted { pour, count })),
        (Some(before), _) if *before == count => Ok(Vec::new()),
        (Some(_), reason) => {
            let reason = note("reason", reason.unwrap_or_default())?;
            Ok(fact(CountCorrected {
                pour,
                count,
                reason,
            }))
        }
    }
}

/// What to ask before a count is taken: more full units than the mould has
/// cavities, where the pour was not meant for more than one fill. It may have
/// been, so the answer is the maker's.
pub fn doubt_of_count(workshop: &Workshop, pour: &Pour, count: &PourCount) -> Option<Problem> {
    let mould = workshop.mould(pour.mould?)?;
    (count.full > mould.cavities.max(pour.wanted)).then(|| {
        Problem::new(
            "sure_full",
            count.full.to_string(),
            format!(
                "one fill of {} gives {}, and {} were counted",
                mould.name, mould.cavities, count.full
            ),
            "tick the box if the melt filled it more than once, or put the count right",
        )
    })
}

/// What to ask before a weight off the scale is taken: more than twice what
/// was to go in, by more than the scale's last step or two.
pub fn doubt_of_weight(
    workshop: &Workshop,
    weight: &Typed<Mass>,
    wanted: &Typed<Mass>,
) -> Option<Problem> {
    let step = workshop
        .settings()
        .map_or(Mass::ZERO, |settings| settings.readability.value());
    let twice = wanted.value() + wanted.value();
    (weight.value() > twice + step + step).then(|| {
        Problem::new(
            "sure_weight",
            weight.to_string(),
            format!("that is more than twice the {wanted} that were to go in"),
            "tick the box if it is so, or put the weight right",
        )
    })
}

/// Refuses a count that the pour cannot have given.
fn check_count(pour: &Pour, count: &PourCount) -> Result<(), Refusal> {
    let mut problems = Vec::new();
    let topped_up = count.topped_up.as_ref().map_or(Mass::ZERO, Typed::value);
    let melted = pour.put_in() + topped_up;
    if let Some(topped_up) = &count.topped_up {
        problems.extend(not_too_heavy("topped_up", topped_up).err());
    }
    if let Some(left) = count.left.as_ref().filter(|left| left.value() > melted) {
        problems.push(Problem::new(
            "left",
            left.to_string(),
            "more is left over than was put in",
            "write what the pitcher still holds, without its own weight",
        ));
    }
    if count.full > MOST_UNITS {
        problems.push(Problem::new(
            "full",
            count.full.to_string(),
            "that is more units than one pour can fill",
            "count the full units of this pour",
        ));
    }
    if let PartFill::Share(share) = &count.part
        && *share >= measure::Ratio::ONE
    {
        problems.push(Problem::new(
            "part",
            share.to_string(),
            "a full unit is not a part-filled one",
            "count it with the full ones",
        ));
    }
    if let PartFill::Weighed(weight) = &count.part
        && weight.value() > melted
    {
        problems.push(Problem::new(
            "part",
            weight.to_string(),
            "it weighs more than the whole pour",
            "write the bare weight of the part-filled unit",
        ));
    }
    refuse_if_any(problems)
}

/// Notes that the units are out of the mould.
///
/// # Errors
///
/// [`Refusal::WrongStage`] when they are not in it.
pub fn demould(workshop: &Workshop, pour: PourId) -> Decision {
    let found = known_pour(workshop, pour)?;
    at_stage(
        found,
        &[Stage::Setting],
        "pour first; it leaves the mould once",
    )?;
    Ok(fact(Demoulded { pour }))
}

/// Notes the weights of single units.
///
/// # Errors
///
/// [`Refusal::WrongStage`] before it is poured, [`Refusal::Input`] for a unit
/// of nothing, one heavier than all that was put in, or one that does not fit
/// what went in and is given no reason.
pub fn weigh_units(workshop: &Workshop, pour: PourId, weights: Vec<Typed<Mass>>) -> Decision {
    weigh_units_because(workshop, pour, weights, "")
}

/// Notes the weights of single units, with why those that do not fit what
/// went in are right all the same. The reason is kept with the weights it is
/// about, and with none when all of them fit.
///
/// # Errors
///
/// As [`weigh_units`].
pub fn weigh_units_because(
    workshop: &Workshop,
    pour: PourId,
    weights: Vec<Typed<Mass>>,
    reason: &str,
) -> Decision {
    let found = known_pour(workshop, pour)?;
    if found.poured.is_none() || found.abandoned.is_some() {
        return Err(wrong_stage(found, "pour first, then weigh units"));
    }
    let topped_up = found
        .count
        .as_ref()
        .and_then(|count| count.topped_up.as_ref());
    let put_in = found.put_in() + topped_up.map_or(Mass::ZERO, Typed::value);
    // The part-filled unit may be weighed with the others.
    let most = found.count.as_ref().map_or(MOST_WEIGHTS, |count| {
        MOST_WEIGHTS.min(usize::try_from(count.full).unwrap_or(MOST_WEIGHTS) + 1)
    });
    let n = found.weights().count() + weights.len();
    if n > most {
        return Err(Problem::new(
            "weights",
            weights.len().to_string(),
            format!("that makes {n} weights, and this lot has fewer units"),
            "write each unit once, or strike a weight that was wrong",
        )
        .into());
    }
    let mut problems = Vec::new();
    for weight in &weights {
        let wrong = if weight.value().is_zero() {
            "a unit cannot weigh nothing"
        } else if weight.value() > put_in {
            "it weighs more than the whole pour"
        } else {
            continue;
        };
        problems.push(Problem::new(
            "weights",
            weight.to_string(),
            wrong,
            "write the bare weight of one finished unit",
        ));
    }
    if weights.is_empty() {
        problems.push(Problem::new(
            "weights",
            "",
            "no weight was given",
            "write one or more",
        ));
    }
    refuse_if_any(problems)?;
    let odd = crate::odd::odd_among(workshop, found, &weights);
    if let Some(first) = odd.first()
        && reason.trim().is_empty()
    {
        return Err(Problem::new(
            "weights_reason",
            "",
            first.words.clone(),
            "write the weight again, or say here why it is right",
        )
        .into());
    }
    let before = found.unit_weights.len();
    let mut kept = Vec::new();
    for nth in odd.iter().flat_map(|odd| &odd.which) {
        let nth = u32::try_from(before.saturating_add(*nth)).unwrap_or(u32::MAX);
        let reason = note("weights_reason", reason)?;
        kept.push(UnitWeightKept { pour, nth, reason }.into());
    }
    let weighed = weights
        .into_iter()
        .map(|weight| UnitWeighed { pour, weight }.into());
    Ok(weighed.chain(kept).collect())
}

/// Strikes a unit weight that was wrong.
///
/// # Errors
///
/// [`Refusal::Unknown`] for a weight that is not there or struck already,
/// [`Refusal::Input`] for a missing reason.
pub fn strike_unit_weight(workshop: &Workshop, pour: PourId, nth: u32, reason: &str) -> Decision {
    let found = known_pour(workshop, pour)?;
    match found.unit_weights.get(nth as usize) {
        Some((_, false)) => {
            let reason = note("reason", reason)?;
            Ok(fact(UnitWeightStruck { pour, nth, reason }))
        }
        _ => Err(Refusal::Unknown {
            what: "unit weight",
            id: nth.to_string(),
        }),
    }
}

/// Finishes a pour: its goods go on the rack.
///
/// # Errors
///
/// [`Refusal::WrongStage`] before the units are out of the mould and counted,
/// or a second time; [`Refusal::Input`] when more units are named than were
/// counted full.
pub fn finish(
    workshop: &Workshop,
    pour: PourId,
    good: u32,
    seconds: u32,
    rejects: u32,
    minutes: Option<Typed<TimeSpan>>,
) -> Decision {
    let found = known_pour(workshop, pour)?;
    if matches!(found.stage(), Stage::Finished | Stage::Abandoned) {
        return Err(wrong_stage(found, "it is finished once"));
    }
    let Some(count) = &found.count else {
        return Err(wrong_stage(found, "count the units first"));
    };
    check_lot(count, good, seconds, rejects, minutes.as_ref())?;
    let mut facts = Vec::new();
    if !found.demoulded {
        facts.push(Demoulded { pour }.into());
    }
    facts.push(
        PourFinished {
            pour,
            good,
            seconds,
            rejects,
            minutes,
        }
        .into(),
    );
    Ok(facts)
}

/// Puts right what was written of a finished lot, count and all.
///
/// # Errors
///
/// [`Refusal::WrongStage`] before it is finished, [`Refusal::Input`] as for
/// [`count()`] and [`finish`], and for a missing reason.
pub fn correct_lot(
    workshop: &Workshop,
    pour: PourId,
    count: PourCount,
    (good, seconds, rejects): (u32, u32, u32),
    minutes: Option<Typed<TimeSpan>>,
    reason: &str,
) -> Decision {
    let found = known_pour(workshop, pour)?;
    at_stage(found, &[Stage::Finished], "finish the lot first")?;
    check_count(found, &count)?;
    check_lot(&count, good, seconds, rejects, minutes.as_ref())?;
    Ok(fact(LotCorrected {
        pour,
        count,
        good,
        seconds,
        rejects,
        minutes,
        reason: note("reason", reason)?,
    }))
}

/// Refuses a lot whose units are not those counted, or a week without sleep.
fn check_lot(
    count: &PourCount,
    good: u32,
    seconds: u32,
    rejects: u32,
    minutes: Option<&Typed<TimeSpan>>,
) -> Result<(), Refusal> {
    let mut problems = Vec::new();
    let named = u64::from(good) + u64::from(seconds) + u64::from(rejects);
    if named != u64::from(count.full) {
        problems.push(Problem::new(
            "good",
            named.to_string(),
            format!(
                "good, seconds and rejects are {named} together; {} were counted full",
                count.full
            ),
            "make them add up, or put the count right",
        ));
    }
    if let Some(minutes) = minutes.filter(|minutes| minutes.value().minutes() > 10_080.0) {
        problems.push(Problem::new(
            "minutes",
            minutes.to_string(),
            "that is more than a week of work",
            "write the hands-on time of this lot",
        ));
    }
    refuse_if_any(problems)
}

/// Stops a lot from sale.
///
/// # Errors
///
/// [`Refusal::WrongStage`] before it is finished or while it is held,
/// [`Refusal::Input`] for a missing reason.
pub fn hold(workshop: &Workshop, pour: PourId, reason: &str) -> Decision {
    let found = known_pour(workshop, pour)?;
    if found.finished.is_none() {
        return Err(wrong_stage(found, "only a finished lot can be held"));
    }
    if found.held.is_some() {
        return Err(wrong_stage(found, "it is held already"));
    }
    Ok(fact(LotHeld {
        pour,
        reason: note("reason", reason)?,
    }))
}

/// Frees a held lot.
///
/// # Errors
///
/// [`Refusal::WrongStage`] when it is not held, [`Refusal::Input`] for a
/// missing reason.
pub fn release(workshop: &Workshop, pour: PourId, reason: &str) -> Decision {
    let found = known_pour(workshop, pour)?;
    if found.held.is_none() {
        return Err(wrong_stage(found, "it is not held"));
    }
    Ok(fact(LotReleased {
        pour,
        reason: note("reason", reason)?,
    }))
}

fn known_pour(workshop: &Workshop, id: PourId) -> Result<&Pour, Refusal> {
    workshop.pour(id).ok_or_else(|| Refusal::Unknown {
        what: "pour",
        id: id.to_string(),
    })
}

fn known_supply(workshop: &Workshop, id: SupplyId) -> Result<&crate::Supply, Refusal> {
    workshop.supply(id).ok_or_else(|| Refusal::Unknown {
        what: "supply",
        id: id.to_string(),
    })
}

fn at_stage(pour: &Pour, stages: &[Stage], instead: &'static str) -> Result<(), Refusal> {
    if stages.contains(&pour.stage()) {
        Ok(())
    } else {
        Err(wrong_stage(pour, instead))
    }
}

fn wrong_stage(pour: &Pour, instead: &'static str) -> Refusal {
    Refusal::WrongStage {
        lot: pour.lot.clone(),
        stage: pour.stage().word(),
        instead,
    }
}

fn refuse_if_any(problems: Vec<Problem>) -> Result<(), Refusal> {
    if problems.is_empty() {
        Ok(())
    } else {
        Err(Refusal::Input(Problems(problems)))
    }
}
