//! The demo workshop: Quillfen Wax Works of Port Averin, invented from end to
//! end, five months of it up to the day it is opened.
//!
//! Every fact goes through the same decisions as a maker's own. What varies
//! from pour to pour comes from a fixed stream of numbers, so that the same
//! day always brings the same demo.

use std::sync::Arc;

use formula::{FragranceLoad, Target};
use hazard::{Class, Language};
use jiff::civil::{Date, Weekday};
use jiff::tz::TimeZone;
use jiff::{Span, Timestamp};
use journal::{AppendError, Entry, Head, PeopleError, Store, StoreError, WorkshopId};
use label::ruler::Ruler;
use label::sheet::{Calibration, SheetInput};
use label::unit::Shape;
use measure::{
    Currency, Decimal, DecimalMark, Mass, MassUnit, Money, Ratio, System, Typed, Unclear,
};
use netweight::Rule;
use workshop::decide::{BackWish, Counted, CreditWish, Filing, MarketDayWish, OrderWish, SendWish};
use workshop::facts::{
    AfterSlip, Amount, BlendPart, BookSettings, Bundle, BuyerId, BuyerTerms, ChannelId,
    ChannelKind, ChannelTerms, Dated, DayCosts, Destination, DestinationId, DyeDose, Fact, Format,
    FormulaId, FreightSpread, InvoiceId, LabelPart, LabelSettings, LineBasis, MakerDetails, Market,
    MarketDayId, MouldId, PartFill, Payment, Place, PourCount, PourId, ProductId, ReceiptLine,
    Recipe, Rest, ReturnTo, SalesTax, Settings, SheetLine, SupplyId, SupplyKind, TareOf,
};
use workshop::selling::Picker;
use workshop::{Refusal, Workshop, decide, take_earliest};

use crate::people::Person;

/// Days before the opening day on which the workshop set up.
const AGO: i64 = 152;
/// Who the demo's buyers are, by number: name and address.
const SHOPS: [(u32, &str, [&str; 2]); 2] = [
    (1, "The Tide Shop", ["3 Quay Street", "Port Averin"]),
    (2, "Lane End Gifts", ["Quarry Lane", "Port Averin"]),
];

/// Why the demo could not be written.
#[derive(Debug, thiserror::Error)]
pub enum DemoError {
    /// The journal did not take it.
    #[error("the journal did not take the demo")]
    Append(#[from] AppendError),
    /// The journal could not be read.
    #[error("the journal could not be read")]
    Store(#[from] StoreError),
    /// Who the shops are was not taken.
    #[error("the journal did not take who the demo's shops are")]
    People(#[from] PeopleError),
    /// The workshop's rules refused one of the demo's own facts.
    #[error("the demo breaks the workshop's rules")]
    Refused(#[from] Refusal),
    /// A figure of the demo cannot be read.
    #[error("a figure of the demo cannot be read")]
    Unclear(#[from] Unclear),
}

/// Writes the demo into an empty journal; a journal with anything in it is
/// left alone.
///
/// # Errors
///
/// [`DemoError`] when the journal cannot be read or written.
#[expect(
    clippy::needless_pass_by_value,
    reason = "taken as App::open takes them"
)]
pub fn fill(store: Arc<dyn Store>, id: WorkshopId, today: Date) -> Result<(), DemoError> {
    if store.head(&id)? != Head::EMPTY {
        return Ok(());
    }
    let mut book = Book {
        workshop: Workshop::default(),
        pending: Vec::new(),
        today,
        day: today,
        dice: Dice(0x5DEE_CE66_D1CE_B00C),
    };
    book.write()?;
    // One append: either the whole demo is there, or none of it.
    let entries: Vec<_> = book
        .pending
        .iter()
        .map(|(day, fact)| {
            Entry::try_new(*day, "demo", fact.name(), fact.version(), &fact.write())
                .expect("a fact's name and its JSON are sound")
        })
        .collect();
    store.append(&id, Head::EMPTY, evening(today), &entries)?;
    // Who the shops are is no part of the journal.
    for (n, name, address) in SHOPS {
        let person = Person {
            name: name.to_owned(),
            address: address.iter().map(|line| (*line).to_owned()).collect(),
            ..Person::default()
        };
        let details = serde_json::to_string(&person).unwrap_or_default();
        store.put(&id, &format!("buyer {n}"), &details)?;
    }
    Ok(())
}

fn evening(day: Date) -> Timestamp {
    day.at(18, 0, 0, 0)
        .to_zoned_datetime(TimeZone::UTC)
        .map_or(Timestamp::UNIX_EPOCH, |evening| evening.timestamp())
}

/// A fixed stream of numbers: an xorshift, for looks only.
struct Dice(u64);

impl Dice {
    fn unit(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// About normal, mean 0 and standard deviation 1: the sum of twelve.
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.unit()).sum::<f64>() - 6.0
    }
}

/// The demo as it is being written.
struct Book {
    workshop: Workshop,
    pending: Vec<(Date, Fact)>,
    today: Date,
    day: Date,
    dice: Dice,
}

/// What the demo pours, and how it behaves.
struct Good {
    product: ProductId,
    formula: FormulaId,
    mould: MouldId,
    /// What a unit weighs on average, in ounces.
    ounces: f64,
    /// What filling the mould takes, in ounces.
    melt: f64,
    minutes: u32,
}

type Told = Result<(), DemoError>;

impl Book {
    fn at(&mut self, days_ago: i64) {
        self.day = self
            .today
            .checked_sub(Span::new().days(days_ago))
            .unwrap_or(self.today);
    }

    /// Takes down what a decision adds.
    fn note(&mut self, decided: Result<Vec<Fact>, Refusal>) -> Told {
        for fact in decided? {
            self.workshop.apply(&Dated {
                day: self.day,
                fact: fact.clone(),
            });
            self.pending.push((self.day, fact));
        }
        Ok(())
    }

    fn supply(
        &mut self,
        kind: SupplyKind,
        name: &str,
        load: &str,
        flash: &str,
    ) -> Result<SupplyId, DemoError> {
        let id = self.workshop.next_supply();
        let load = (!load.is_empty())
            .then(|| load.parse::<FragranceLoad>())
            .transpose()?;
        let flash = (!flash.is_empty())
            .then(|| Typed::parse(flash))
            .transpose()?;
        let decided = decide::define_supply(&self.workshop, kind, name, load, flash);
        self.note(decided)?;
        Ok(id)
    }

    fn receive(
        &mut self,
        supplier: &str,
        freight: &str,
        lines: &[(SupplyId, &str, &str, &str)],
    ) -> Told {
        let lines = lines
            .iter()
            .map(|(supply, lot, amount, paid)| {
                Ok(ReceiptLine {
                    volume: None,
                    supply: *supply,
                    supplier_lot: (*lot).to_owned(),
                    amount: match amount.parse::<u32>() {
                        Ok(count) => Amount::Count(count),
                        Err(_) => Amount::Weight(Typed::parse(amount)?),
                    },
                    paid: dollars(paid)?,
                })
            })
            .collect::<Result<Vec<_>, DemoError>>()?;
        let freight = Some(dollars(freight)?);
        let decided = decide::receive(
            &self.workshop,
            supplier,
            lines,
            freight,
            FreightSpread::ByWeight,
        );
        self.note(decided)
    }

    fn recipe(&mut self, name: &str, recipe: Recipe) -> Result<FormulaId, DemoError> {
        let id = self.workshop.next_formula();
        let decided = decide::define_formula(&self.workshop, name, recipe);
        self.note(decided)?;
        Ok(id)
    }

    fn good(
        &mut self,
        name: &str,
        formula: FormulaId,
        mould: MouldId,
        packing: &[(SupplyId, u32)],
        prices: [&str; 3],
    ) -> Result<ProductId, DemoError> {
        let id = self.workshop.next_product();
        let decided =
            decide::define_product(&self.workshop, name, formula, mould, packing.to_vec());
        self.note(decided)?;
        self.price(id, prices)?;
        Ok(id)
    }

    fn price(&mut self, product: ProductId, prices: [&str; 3]) -> Told {
        let [low, typical, high] = prices;
        let decided = decide::set_prices(
            &self.workshop,
            product,
            dollars(low)?,
            dollars(typical)?,
            dollars(high)?,
        );
        self.note(decided)
    }

    /// Begins a pour of this many ounces in all.
    fn start(&mut self, good: &Good, ounces: f64) -> Result<PourId, DemoError> {
        let id = self.workshop.next_pour();
        let recipe = self
            .workshop
            .formula(good.formula)
            .map(|formula| formula.current().clone())
            .ok_or_else(|| Refusal::Unknown {
                what: "formula",
                id: good.formula.to_string(),
            })?;
        let planned = workshop::plan_pour(
            &self.workshop,
            &recipe,
            Target::Total(typed(ounces).value()),
        )?;
        let wanted = self
            .workshop
            .mould(good.mould)
            .map_or(0, |mould| mould.cavities);
        let decided = decide::start_pour(
            &self.workshop,
            good.formula,
            Some(good.mould),
            Some(good.product),
            wanted,
            planned.portions,
            self.day,
        );
        self.note(decided)?;
        Ok(id)
    }

    /// Weighs everything, now and then a step off the target.
    fn weigh_all(&mut self, pour: PourId) -> Told {
        while let Some((at, target)) = self.next(pour) {
            let slip = if self.dice.unit() < 0.2 { 0.05 } else { 0.0 };
            let weight = typed(ounces(&target) + slip);
            let decided = decide::weigh(&self.workshop, pour, at, weight);
            self.note(decided)?;
        }
        Ok(())
    }

    fn next(&self, pour: PourId) -> Option<(u32, Typed<Mass>)> {
        let pour = self.workshop.pour(pour)?;
        let at = pour.next_portion()?;
        Some((u32::try_from(at).ok()?, pour.targets.get(at)?.clone()))
    }

    fn pour_out(&mut self, pour: PourId, wax: &str, room: &str) -> Told {
        let decided = decide::pour_out(
            &self.workshop,
            pour,
            Some(Typed::parse(wax)?),
            Some(Typed::parse(room)?),
        );
        self.note(decided)
    }

    fn count(&mut self, pour: PourId, full: u32, part: PartFill, left: f64) -> Told {
        let left = Some(typed(left));
        let counted = PourCount {
            full,
            part,
            left,
            topped_up: None,
        };
        let decided = decide::count(&self.workshop, pour, counted, None);
        self.note(decided)
    }

    fn weigh_units(&mut self, pour: PourId, weights: &[f64]) -> Told {
        let weights = weights.iter().map(|weight| typed(*weight)).collect();
        let decided = decide::weigh_units(&self.workshop, pour, weights);
        self.note(decided)
    }

    fn finish(
        &mut self,
        pour: PourId,
        good: u32,
        seconds: u32,
        rejects: u32,
        minutes: u32,
    ) -> Told {
        let minutes = Typed::from_decimal(minutes.into(), measure::TimeUnit::Minute);
        let decided = decide::finish(&self.workshop, pour, good, seconds, rejects, minutes);
        self.note(decided)
    }

    fn declare(&mut self, product: ProductId, rule: Rule, weight: &str, reason: &str) -> Told {
        let declared = Typed::parse(weight)?;
        let decided = decide::declare_weight(&self.workshop, product, rule, declared, reason);
        self.note(decided)
    }

    /// The rest of the latest lot goes on the letter scale, and foil and labels
    /// with it; then the bar gets its weight, its date and its number.
    fn weigh_for_the_label(&mut self, bar: &Good, packing: &[SupplyId]) -> Told {
        let lot = self
            .workshop
            .pours_of_mould(bar.mould)
            .rfind(|pour| pour.product == Some(bar.product));
        if let Some((pour, mean)) = lot.and_then(|pour| {
            let weighed = pour.weights().count();
            let sum: Mass = pour.weights().map(Typed::value).sum();
            let mean = sum.share(Decimal::ONE, Decimal::from(weighed))?;
            Some((pour.id, mean.to_f64(MassUnit::Ounce)))
        }) {
            let off = [0.0, 0.02, -0.01, 0.01, -0.02, 0.01, -0.01];
            let fine = |off| Mass::from_grams((mean + off) * 28.349_523_125);
            let weights = off
                .into_iter()
                .filter_map(fine)
                .map(|mass| mass.typed(MassUnit::Ounce, 2))
                .collect();
            let decided = decide::weigh_units(&self.workshop, pour, weights);
            self.note(decided)?;
        }
        for (supply, texts) in packing.iter().zip([
            ["0.9 g", "1.0 g", "0.9 g", "0.9 g", "1.0 g"],
            ["0.3 g", "0.3 g", "0.3 g", "0.4 g", "0.3 g"],
        ]) {
            let weights = texts
                .iter()
                .map(|text| Typed::parse(text))
                .collect::<Result<_, _>>()?;
            let decided = decide::weigh_tares(&self.workshop, TareOf::Supply(*supply), weights);
            self.note(decided)?;
        }
        self.declare(bar.product, Rule::Us, "1.4 oz", "")?;
        self.declare(bar.product, Rule::Eu, "39 g", "")?;
        let decided = decide::set_shelf_life(&self.workshop, bar.product, Some(12));
        self.note(decided)?;
        // A number for demonstrations: it begins with 952.
        let decided = decide::assign_gtin(&self.workshop, bar.product, "9520000000011");
        self.note(decided)
    }

    /// The sheets of labels in the drawer, what the printer does to them, and
    /// where the bars go beside home.
    fn label_drawer(&mut self, bar: &Good) -> Told {
        let text = |text: &str| Some(text.to_owned());
        let strips = SheetInput {
            page: text("letter"),
            label_width: text("4 in"),
            label_height: text("1.33 in"),
            pitch_x: text("4.19 in"),
            columns: text("2"),
            rows: text("7"),
            corner: text("0.09 in"),
            ..SheetInput::default()
        };
        let rounds = SheetInput {
            page: text("letter"),
            label_width: text("2 in"),
            outline: text("round"),
            pitch_x: text("2.1 in"),
            pitch_y: text("2.1 in"),
            columns: text("3"),
            rows: text("4"),
            ..SheetInput::default()
        };
        for (name, input) in [("14 strips, letter", strips), ("12 rounds, letter", rounds)] {
            let (geometry, _) = input.read(Ruler::PLAIN).map_err(Refusal::Input)?;
            let decided = decide::add_stock(&self.workshop, name, geometry);
            self.note(decided)?;
        }
        let measured = Calibration {
            page_width: Typed::parse("215.9 mm")?,
            page_height: Typed::parse("279.4 mm")?,
            left: Typed::parse("20.4 mm")?,
            right: Typed::parse("196.3 mm")?,
            top: Typed::parse("19.2 mm")?,
            bottom: Typed::parse("258.7 mm")?,
        };
        let decided = decide::measure_printer(&self.workshop, "inkjet in the office", measured);
        self.note(decided)?;
        let shape = Shape::TaperedBar {
            bottom_length: Typed::parse("112 mm")?,
            bottom_width: Typed::parse("42 mm")?,
            top_length: Typed::parse("108 mm")?,
            top_width: Typed::parse("38 mm")?,
            height: Typed::parse("11 mm")?,
        };
        let decided = decide::set_pack(&self.workshop, bar.product, shape, None);
        self.note(decided)?;
        for (name, market, address, phone) in [
            (
                "By post to the United States",
                Market::Us,
                "3 Quarry Lane, Port Averin",
                "",
            ),
            (
                "Hollin Abbey shop",
                Market::Gb,
                "3 Quarry Lane, Port Averin",
                "01 555 0147",
            ),
        ] {
            let details = Destination {
                name: name.to_owned(),
                settings: LabelSettings {
                    markets: vec![market],
                    languages: vec![Language::En],
                    name: "Quillfen Wax Works".to_owned(),
                    address: address.to_owned(),
                    phone: phone.to_owned(),
                    vat: String::new(),
                },
                responsible: String::new(),
                emergency: String::new(),
                marks: vec!["Made in Port Averin".to_owned()],
                link: String::new(),
            };
            let id = self.workshop.next_destination();
            let decided = decide::settle_destination(&self.workshop, id, details);
            self.note(decided)?;
        }
        let lot = self
            .workshop
            .pours_of_mould(bar.mould)
            .rfind(|pour| pour.product == Some(bar.product) && pour.finished.is_some())
            .map(|pour| pour.id);
        let decided = decide::note_printed(
            &self.workshop,
            bar.product,
            lot,
            DestinationId(1),
            LabelPart::Whole,
            8,
        );
        self.note(decided)
    }

    fn settle_labels(&mut self) -> Told {
        let settings = LabelSettings {
            markets: vec![Market::Eu, Market::Us],
            languages: vec![Language::En],
            name: "Quillfen Wax Works".to_owned(),
            address: "3 Quarry Lane, Port Averin".to_owned(),
            phone: "01 555 0147".to_owned(),
            // The example of the identifier's manual, not a company's number.
            vat: "IE9Z54321Y".to_owned(),
        };
        let decided = decide::settle_labels(&self.workshop, settings);
        self.note(decided)
    }

    /// The sheet of an oil that nobody sells: real substances, invented shares.
    fn fig_sheet(&mut self, oil: SupplyId, version: &str, citral: &str, compared: bool) -> Told {
        let shares = [
            ("78-70-6", "14 %"),
            ("104-67-6", "12 %"),
            ("101-86-0", "6 %"),
            ("5989-27-5", "2.5 - < 5 %"),
            ("91-64-5", "1 %"),
            ("5392-40-5", citral),
        ];
        let mut lines = Vec::new();
        for (cas, text) in shares {
            let share = text.parse()?;
            let row = hazard::table::substance(cas.parse()?);
            let Some(filled) = row.map(|row| row.ingredient(share).ingredient) else {
                continue;
            };
            let is_acute = filled
                .hazards
                .iter()
                .flatten()
                .any(|h| h.class == Class::AquaticAcute1);
            lines.push(SheetLine {
                m_acute: is_acute.then_some(1),
                confirmed: compared || text != citral,
                ..SheetLine::of(&filled, LineBasis::OwnSheet)
            });
        }
        let filing = Filing {
            supplier: "Saltmarsh Scents".to_owned(),
            dated: self.day.checked_sub(Span::new().days(2)).ok(),
            version: version.to_owned(),
            lines,
            rest: Rest::NotHazardous,
            older_is_meant: false,
        };
        let decided = decide::file_sheet(&self.workshop, oil, filing, self.day);
        self.note(decided)
    }

    /// A whole pour as it usually goes.
    fn usual(&mut self, days_ago: i64, good: &Good) -> Result<PourId, DemoError> {
        self.at(days_ago);
        let pour = self.start(good, good.melt)?;
        self.weigh_all(pour)?;
        let wax = format!("{} F", (150.0 + self.dice.unit() * 12.0).floor());
        let room = format!("{} F", (66.0 + self.dice.unit() * 8.0).floor());
        self.pour_out(pour, &wax, &room)?;
        let cavities = self
            .workshop
            .mould(good.mould)
            .map_or(1, |mould| mould.cavities);
        let each = good.ounces * (1.0 + 0.012 * self.dice.normal());
        let charged = self
            .workshop
            .pour(pour)
            .map_or(0.0, |pour| pour.put_in().to_f64(MassUnit::Ounce));
        let kept = charged * (1.0 - 0.030 * (1.0 + 0.25 * self.dice.normal()));
        let full = (1..=cavities)
            .take_while(|full| f64::from(*full) * each <= kept)
            .last()
            .unwrap_or(0);
        let rest = kept - f64::from(full) * each;
        let (part, left) = if full == cavities {
            (PartFill::None, rest)
        } else {
            (PartFill::Weighed(typed(rest)), 0.0)
        };
        self.count(pour, full, part, left.max(0.0))?;
        let decided = decide::demould(&self.workshop, pour);
        self.note(decided)?;
        let weights: Vec<_> = (0..5)
            .map(|_| each * (1.0 + 0.022 * self.dice.normal()))
            .collect();
        self.weigh_units(pour, &weights)?;
        let seconds = u32::from(self.dice.unit() < 0.3);
        let rejects = u32::from(self.dice.unit() < 0.15);
        self.finish(
            pour,
            full - seconds - rejects,
            seconds,
            rejects,
            good.minutes,
        )?;
        Ok(pour)
    }

    /// A shop that buys, with an order sent and invoiced and one to be picked, and
    /// one that has some goods on return.
    fn shops(&mut self, goods: &[ProductId; 3]) -> Told {
        let trade = ChannelTerms {
            discount: Some("50 %".parse()?),
            minimum: Some(dollars("60")?),
            days_to_pay: Some(30),
            postage_paid: Some(dollars("6.40")?),
            ..ChannelTerms::default()
        };
        let lent = ChannelTerms {
            share: Some("65 %".parse()?),
            ..ChannelTerms::default()
        };
        let buys = self.workshop.trade().next_channel();
        let (name, kind) = ("shops that buy", ChannelKind::Wholesale);
        let decided = decide::settle_channel(&self.workshop, None, name, kind, trade, false);
        self.note(decided)?;
        let keeps = self.workshop.trade().next_channel();
        let (name, kind) = ("shops on return", ChannelKind::SaleOrReturn);
        let decided = decide::settle_channel(&self.workshop, None, name, kind, lent, false);
        self.note(decided)?;
        for channel in [buys, keeps] {
            let terms = BuyerTerms {
                channel,
                resells: true,
                country: "US".to_owned(),
                discount: None,
                days_to_pay: None,
                untaxed: true,
            };
            let decided = decide::settle_buyer(&self.workshop, None, terms);
            self.note(decided)?;
        }
        let [bar, loft, shell] = *goods;
        self.order(BuyerId(1), bar, 6, true)?;
        self.order(BuyerId(2), loft, 4, true)?;
        let decided = decide::write_invoice(&self.workshop, self.day, BuyerId(1), &[]);
        self.note(decided)?;
        let credit = CreditWish {
            total: Some(dollars("1.50")?),
            goods: Vec::new(),
            to: ReturnTo::Kept,
            given_back: None,
            reason: "one corner chipped".to_owned(),
        };
        let decided = decide::credit_invoice(&self.workshop, InvoiceId(1), &credit);
        self.note(decided)?;
        self.order(BuyerId(1), shell, 12, false)
    }

    /// An order of as many as are ready, at most `count`, and sent where that is
    /// asked; nothing where none is ready.
    fn order(&mut self, buyer: BuyerId, product: ProductId, count: u32, sent: bool) -> Told {
        let (_, ready) = take_earliest(&self.workshop, product, count, self.day);
        let count = if sent { count.min(ready) } else { count };
        if count == 0 {
            return Ok(());
        }
        let order = self.workshop.trade().next_order();
        let wish = OrderWish {
            buyer,
            lines: vec![(product, count, None)],
            due: self.today.checked_add(Span::new().days(9)).ok(),
            on_return: buyer == BuyerId(2),
            note: String::new(),
        };
        let decided = decide::take_order(&self.workshop, self.day, None, wish);
        self.note(decided)?;
        let decided = decide::confirm_order(&self.workshop, order);
        self.note(decided)?;
        if !sent {
            return Ok(());
        }
        let decided = decide::pick_order(&self.workshop, self.day, order, &[]);
        self.note(decided)?;
        let decided = decide::pack_order(&self.workshop, order, 1, None);
        self.note(decided)?;
        let wish = SendWish {
            postage: Some(dollars("6.40")?),
            charged: None,
            payment: Payment::Owed,
        };
        let decided = decide::send_order(&self.workshop, order, wish);
        self.note(decided)
    }

    /// A stall with its prices, a Saturday at Quarry Lane that is over, and one
    /// at Hollin Abbey that is to come. Of each good:
    /// how many went along and how many came home.
    fn market(&mut self, goods: &[(ProductId, u32, u32)]) -> Told {
        let since = i64::from(self.today.weekday().since(Weekday::Saturday));
        let saturday = |weeks: i64| {
            let days = Span::new().days(7 * weeks - since);
            self.today.checked_add(days).unwrap_or(self.today)
        };
        let (lane, abbey) = (saturday(-1), saturday(1));
        self.at(since + 9);
        let terms = ChannelTerms {
            payment_percent: Some("2.6 %".parse()?),
            payment_fixed: Some(dollars("0.10")?),
            ..ChannelTerms::default()
        };
        let kind = ChannelKind::Stall;
        let decided = decide::settle_channel(&self.workshop, None, "the stall", kind, terms, false);
        self.note(decided)?;
        let stall = ChannelId(1);
        let tax = SalesTax {
            name: "sales tax".to_owned(),
            rate: "6.25 %".parse()?,
            inside: true,
            number: String::new(),
        };
        let books = BookSettings {
            tax: Some(tax),
            year_month: 1,
            year_day: 1,
            ..BookSettings::default()
        };
        let decided = decide::settle_books(&self.workshop, books);
        self.note(decided)?;
        let bundle = Bundle {
            products: goods.iter().take(1).map(|(id, ..)| *id).collect(),
            count: 3,
            price: dollars("18")?,
        };
        let decided = decide::set_bundles(&self.workshop, stall, vec![bundle]);
        self.note(decided)?;
        let plan = |market: &str, on, pitch, hours| -> Result<MarketDayWish, DemoError> {
            Ok(MarketDayWish {
                channel: stall,
                market: market.to_owned(),
                on,
                costs: DayCosts {
                    pitch: Some(dollars(pitch)?),
                    travel: Some(dollars("14")?),
                    other: None,
                },
                hours: Some(Typed::parse(hours)?),
                called_off: false,
            })
        };
        let decided = decide::settle_market_day(
            &self.workshop,
            None,
            plan("Quarry Lane", lane, "40", "8.5 h")?,
        );
        self.note(decided)?;
        let day = MarketDayId(1);
        self.at(since + 8);
        let ready = |workshop: &Workshop, product, wanted: u32| {
            let mut picker = Picker::new(workshop, lane);
            picker.fit(Place::Rack, product).min(wanted)
        };
        let wanted: Vec<Counted> = goods
            .iter()
            .map(|(id, out, _)| Counted::of(*id, ready(&self.workshop, *id, *out)))
            .collect();
        let decided = decide::take_goods(&self.workshop, day, &wanted, self.day);
        self.note(decided)?;
        self.at(since + 7);
        let back = goods.iter().zip(&wanted);
        let back = back.map(|((id, out, home), taken)| {
            let home = if taken.count == *out { *home } else { 0 };
            Counted::of(*id, home)
        });
        let given = wanted.iter().filter(|one| one.count > 4).take(1);
        let wish = BackWish {
            back: back.collect(),
            given: given.map(|one| Counted::of(one.product, 1)).collect(),
            ..BackWish::default()
        };
        let decided = decide::count_back(&self.workshop, day, &wish);
        self.note(decided)?;
        let [float, counted, cards] = ["50", "120", "118"].map(dollars);
        let decided =
            decide::count_till(&self.workshop, day, float?, counted?, Some(cards?), Some(7));
        self.note(decided)?;
        let (weather, remark) = ("bright, windy", "the Abbey school was there");
        let decided = decide::note_market_day(&self.workshop, day, weather, Some(420), remark);
        self.note(decided)?;
        let decided = decide::settle_market_day(
            &self.workshop,
            None,
            plan("Hollin Abbey", abbey, "65", "10 h")?,
        );
        self.note(decided)?;
        let wanted = goods.iter().skip(1).take(1);
        let wanted: Vec<Counted> = wanted
            .map(|(id, out, _)| Counted::of(*id, ready(&self.workshop, *id, *out)))
            .collect();
        let decided = decide::take_goods(&self.workshop, MarketDayId(2), &wanted, self.day);
        self.note(decided)
    }

    /// Four Saturdays before that, written down late: one good at a lower and
    /// at a higher price, turn about, to see which earns more.
    fn dearer_and_cheaper(&mut self, product: ProductId) -> Told {
        let since = i64::from(self.today.weekday().since(Weekday::Saturday));
        let stall = ChannelId(1);
        for (weeks, price, sold) in [(5, "4", 10), (4, "6", 7), (3, "4", 9), (2, "6", 5)] {
            self.at(since + 7 * weeks);
            let price = Some(dollars(price)?);
            let decided = decide::set_channel_price(&self.workshop, stall, product, price);
            self.note(decided)?;
            let day = self.workshop.trade().next_market_day();
            let wish = MarketDayWish {
                channel: stall,
                market: "Quarry Lane".to_owned(),
                on: self.day,
                costs: DayCosts {
                    pitch: Some(dollars("40")?),
                    travel: Some(dollars("14")?),
                    other: None,
                },
                hours: Some(Typed::parse("8.5 h")?),
                called_off: false,
            };
            let decided = decide::settle_market_day(&self.workshop, None, wish);
            self.note(decided)?;
            let ready = Picker::new(&self.workshop, self.day).fit(Place::Rack, product);
            let taken = Counted::of(product, ready.min(11));
            let decided = decide::take_goods(&self.workshop, day, &[taken], self.day);
            self.note(decided)?;
            let home = taken.count.saturating_sub(sold);
            let wish = BackWish {
                back: vec![Counted::of(product, home)],
                ..BackWish::default()
            };
            let decided = decide::count_back(&self.workshop, day, &wish);
            self.note(decided)?;
        }
        let decided = decide::set_channel_price(&self.workshop, stall, product, None);
        self.note(decided)
    }

    fn write(&mut self) -> Told {
        self.at(AGO);
        let settings = Settings {
            name: "Quillfen Wax Works".to_owned(),
            system: System::Us,
            currency: Currency::USD,
            decimal_mark: DecimalMark::Point,
            readability: Typed::parse("0.05 oz")?,
            expected_loss: Some("3 %".parse::<Ratio>()?),
            melter: Some(Typed::parse("6 lb")?),
            wage: Some(dollars("18")?),
            overhead_per_hour: Some(dollars("3.50")?),
        };
        let decided = decide::set_up(&self.workshop, settings);
        self.note(decided)?;

        let soy = self.supply(SupplyKind::Wax, "soy container wax", "10 % of wax", "")?;
        let paraffin = self.supply(SupplyKind::Wax, "paraffin melt wax", "12 % of wax", "")?;
        let fig = self.supply(SupplyKind::FragranceOil, "Harbour Fig oil", "", "201 F")?;
        let loft = self.supply(SupplyKind::FragranceOil, "Rainy Loft oil", "", "194 F")?;
        let plum = self.supply(SupplyKind::FragranceOil, "Peat & Plum oil", "", "212 F")?;
        let mint = self.supply(SupplyKind::FragranceOil, "Tin Roof Mint oil", "", "142 F")?;
        let dye = self.supply(SupplyKind::Dye, "plum dye", "", "")?;
        let wick = self.supply(SupplyKind::Wick, "cotton wick, 3 in", "", "")?;
        let shell = self.supply(SupplyKind::Vessel, "six-cell clamshell, 84 ml", "", "")?;
        let tumbler = self.supply(SupplyKind::Vessel, "tumbler, 8 US fl oz", "", "")?;
        let foil = self.supply(SupplyKind::Wrap, "foil, 6 x 4 in", "", "")?;
        let label = self.supply(SupplyKind::Label, "label, 2 x 1 in", "", "")?;

        self.receive(
            "Averin Chandlery",
            "38.40",
            &[
                (soy, "S-118", "50 lb", "112.50"),
                (paraffin, "P-07", "20 lb", "41.00"),
                (wick, "", "100", "14.00"),
            ],
        )?;
        self.receive(
            "Saltmarsh Scents",
            "9.80",
            &[
                (fig, "HF-2211", "16 oz", "27.20"),
                (loft, "RL-0932", "16 oz", "25.60"),
                (plum, "PP-1400", "8 oz", "15.90"),
            ],
        )?;
        self.receive(
            "Hollin Packaging",
            "12.00",
            &[
                (shell, "", "200", "62.00"),
                (tumbler, "", "48", "74.40"),
                (foil, "", "500", "21.00"),
                (label, "", "500", "34.00"),
            ],
        )?;

        let mould = |book: &mut Self,
                     name: &str,
                     format,
                     cavities,
                     volume: &str|
         -> Result<MouldId, DemoError> {
            let id = book.workshop.next_mould();
            let volume = (!volume.is_empty())
                .then(|| Typed::parse(volume))
                .transpose()?;
            let decided =
                decide::define_mould(&book.workshop, name, format, cavities, volume, None);
            book.note(decided)?;
            Ok(id)
        };
        let bars = mould(self, "12-bar mould", Format::SnapBar, 12, "")?;
        let shells = mould(
            self,
            "tray of 24 clamshells",
            Format::Clamshell,
            24,
            "84 ml",
        )?;
        let jars = mould(self, "six tumblers", Format::FilledCandle, 6, "200 ml")?;

        let blend = |soy_parts: i64, paraffin_parts: i64| -> Vec<BlendPart> {
            [(soy, soy_parts), (paraffin, paraffin_parts)]
                .into_iter()
                .filter(|(_, parts)| *parts > 0)
                .map(|(supply, parts)| BlendPart {
                    supply,
                    parts: parts.into(),
                })
                .collect()
        };
        let plain =
            |blend: Vec<BlendPart>, oil, load: &str, cure_days| -> Result<Recipe, DemoError> {
                Ok(Recipe {
                    blend,
                    oil: Some(oil),
                    load: load.parse()?,
                    dye: None,
                    add_at: Some(Typed::parse("170 F")?),
                    pour_at: Some(Typed::parse("155 F")?),
                    cure_days,
                    set_density: Some(Decimal::new(90, 2)),
                })
            };
        let fig_melt = self.recipe("Harbour Fig", plain(blend(90, 10), fig, "8 % of wax", 7)?)?;
        let loft_melt = self.recipe("Rainy Loft", plain(blend(90, 10), loft, "8 % of wax", 7)?)?;
        let bar_packing = [(foil, 1), (label, 1)];
        let shell_packing = [(shell, 1), (label, 1)];
        let candle_packing = [(tumbler, 1), (wick, 1), (label, 1)];
        let fig_shell = self.good(
            "Harbour Fig clamshell",
            fig_melt,
            shells,
            &shell_packing,
            ["5", "6.50", "8"],
        )?;
        let loft_shell = self.good(
            "Rainy Loft clamshell",
            loft_melt,
            shells,
            &shell_packing,
            ["5", "6.50", "8"],
        )?;
        let fig_shell = Good {
            product: fig_shell,
            formula: fig_melt,
            mould: shells,
            ounces: 2.67,
            melt: 66.0,
            minutes: 64,
        };
        let loft_shell = Good {
            product: loft_shell,
            formula: loft_melt,
            mould: shells,
            ounces: 2.67,
            melt: 66.0,
            minutes: 61,
        };

        self.usual(146, &fig_shell)?;
        self.usual(139, &loft_shell)?;
        self.usual(132, &fig_shell)?;

        // A new format: the first bar pour falls one short, the second fits.
        self.at(126);
        let mut trial = plain(blend(90, 10), fig, "12 % of wax", 7)?;
        trial.set_density = None;
        let bar_trial = self.recipe("Harbour Fig, bar trial", trial.clone())?;
        let fig_bar = self.good(
            "Harbour Fig bar",
            bar_trial,
            bars,
            &bar_packing,
            ["4", "5", "6"],
        )?;
        let mut fig_bar = Good {
            product: fig_bar,
            formula: bar_trial,
            mould: bars,
            ounces: 1.55,
            melt: 19.55,
            minutes: 40,
        };
        let first = self.start(&fig_bar, 18.7)?;
        self.weigh_all(first)?;
        self.pour_out(first, "158 F", "70 F")?;
        self.count(first, 11, PartFill::Unknown, 0.0)?;
        self.weigh_units(first, &[1.5, 1.6])?;
        self.finish(first, 11, 0, 0, 46)?;
        self.at(124);
        let second = self.start(&fig_bar, 19.5)?;
        self.weigh_all(second)?;
        self.pour_out(second, "156 F", "71 F")?;
        self.count(second, 12, PartFill::None, 0.0)?;
        self.weigh_units(second, &[1.55, 1.6, 1.5, 1.55])?;
        self.finish(second, 12, 0, 0, 42)?;

        // The sheets allow about 10 %: the formula comes down.
        self.at(120);
        let decided = decide::revise_formula(
            &self.workshop,
            bar_trial,
            Recipe {
                load: "9 % of wax".parse()?,
                ..trial
            },
            "12 % of wax was over what the sheets allow, and one bar sweated",
        );
        self.note(decided)?;
        fig_bar.melt = 19.6;
        self.usual(117, &fig_bar)?;
        self.usual(110, &fig_shell)?;

        self.at(104);
        self.receive(
            "Saltmarsh Scents",
            "8.20",
            &[
                (mint, "TR-0077", "16 oz", "24.80"),
                (plum, "PP-1422", "16 oz", "30.40"),
                (dye, "", "2 oz", "6.20"),
            ],
        )?;
        self.at(103);
        self.settle_labels()?;
        let decided = decide::settle_maker(
            &self.workshop,
            MakerDetails {
                name: "Quillfen Wax Works".to_owned(),
                lines: vec!["3 Quarry Lane".to_owned(), "Port Averin".to_owned()],
                contact: "hello@quillfen.example".to_owned(),
                country: "IE".to_owned(),
            },
        );
        self.note(decided)?;
        self.fig_sheet(fig, "1.0", "0.8 %", true)?;
        let maximum = "31.5 %".parse::<Ratio>()?;
        let decided =
            decide::file_certificate(&self.workshop, fig, "12", maximum, Some(self.day), self.day);
        self.note(decided)?;
        let loft_bar_formula = self.recipe(
            "Rainy Loft, bar",
            plain(blend(90, 10), loft, "9 % of wax", 7)?,
        )?;
        let mut plum_recipe = plain(blend(100, 0), plum, "7.5 % of wax", 14)?;
        plum_recipe.dye = Some((dye, DyeDose::OfWax("0.3 %".parse::<Ratio>()?)));
        let plum_formula = self.recipe("Peat & Plum", plum_recipe)?;
        let mint_formula = self.recipe(
            "Tin Roof Mint",
            plain(blend(80, 20), mint, "6 % of wax", 7)?,
        )?;
        let loft_bar = self.good(
            "Rainy Loft bar",
            loft_bar_formula,
            bars,
            &bar_packing,
            ["4", "5", "6"],
        )?;
        let plum_candle = self.good(
            "Peat & Plum candle",
            plum_formula,
            jars,
            &candle_packing,
            ["16", "18", "22"],
        )?;
        let mint_shell = self.good(
            "Tin Roof Mint clamshell",
            mint_formula,
            shells,
            &shell_packing,
            ["5", "6", "7.50"],
        )?;
        let loft_bar = Good {
            product: loft_bar,
            formula: loft_bar_formula,
            mould: bars,
            ounces: 1.55,
            melt: 19.55,
            minutes: 38,
        };
        let plum_candle = Good {
            product: plum_candle,
            formula: plum_formula,
            mould: jars,
            ounces: 6.35,
            melt: 39.4,
            minutes: 70,
        };
        let mint_shell = Good {
            product: mint_shell,
            formula: mint_formula,
            mould: shells,
            ounces: 2.67,
            melt: 66.0,
            minutes: 60,
        };

        self.usual(101, &plum_candle)?;
        self.usual(96, &loft_bar)?;
        // Printed by guess before a bar was on the scale: about double the truth.
        self.at(95);
        self.declare(
            loft_bar.product,
            Rule::Us,
            "3 oz",
            "labels printed before any was weighed",
        )?;
        self.usual(90, &mint_shell)?;

        // A hand that slipped: everything else was scaled up.
        self.at(84);
        let slipped = self.start(&fig_bar, 19.6)?;
        if let Some((at, target)) = self.next(slipped) {
            let decided = decide::weigh(&self.workshop, slipped, at, typed(ounces(&target) + 0.6));
            self.note(decided)?;
        }
        let ways = self
            .workshop
            .pour(slipped)
            .and_then(|pour| workshop::ways_on(&self.workshop, pour));
        if let Some(keep) = ways.and_then(|ways| ways.keep_formula) {
            let targets = keep
                .portions
                .iter()
                .map(|scaled| typed(scaled.target.to_f64(MassUnit::Ounce)))
                .collect();
            let decided =
                decide::rescale(&self.workshop, slipped, AfterSlip::ScaleTheRest, targets);
            self.note(decided)?;
        }
        self.weigh_all(slipped)?;
        self.pour_out(slipped, "157 F", "72 F")?;
        self.count(slipped, 12, PartFill::None, 0.85)?;
        self.weigh_units(slipped, &[1.55, 1.55, 1.6, 1.5, 1.55])?;
        self.finish(slipped, 12, 0, 0, 44)?;

        self.usual(78, &plum_candle)?;
        self.at(76);
        self.price(plum_candle.product, ["17", "19", "22"])?;
        self.at(75);
        self.receive(
            "Averin Chandlery",
            "31.60",
            &[
                (soy, "S-131", "50 lb", "118.00"),
                (paraffin, "P-09", "10 lb", "22.50"),
            ],
        )?;
        self.receive(
            "Hollin Packaging",
            "14.50",
            &[
                (shell, "", "200", "64.00"),
                (tumbler, "", "24", "39.60"),
                (label, "", "500", "34.00"),
            ],
        )?;
        self.usual(71, &fig_shell)?;
        self.usual(65, &loft_bar)?;
        self.usual(60, &fig_bar)?;
        self.at(58);
        for good in [&fig_shell, &fig_bar] {
            let decided = decide::mark_label_ready(&self.workshop, good.product, None, self.day);
            self.note(decided)?;
        }
        self.usual(54, &loft_shell)?;

        // A receipt that had been misread.
        self.at(52);
        let receipt = self.workshop.next_receipt();
        self.receive(
            "Saltmarsh Scents",
            "8.90",
            &[
                (fig, "HF-2304", "61 oz", "49.60"),
                (loft, "RL-0981", "16 oz", "26.10"),
            ],
        )?;
        self.at(51);
        let decided = decide::correct_receipt(
            &self.workshop,
            receipt,
            0,
            Amount::Weight(Typed::parse("32 oz")?),
            dollars("49.60")?,
            "two bottles of 16 oz, not 61 oz",
        );
        self.note(decided)?;

        self.usual(46, &plum_candle)?;
        self.usual(40, &fig_shell)?;
        self.usual(34, &mint_shell)?;
        self.usual(30, &loft_shell)?;
        self.usual(27, &fig_bar)?;
        self.usual(20, &loft_bar)?;
        // Frosted in a cold room: held.
        let frosted = self.usual(16, &plum_candle)?;
        self.at(14);
        let decided = decide::hold(
            &self.workshop,
            frosted,
            "frosted over; the room was cold the night it set",
        );
        self.note(decided)?;
        let taken = [
            (&fig_shell, 16, 4),
            (&fig_bar, 12, 3),
            (&loft_bar, 10, 4),
            (&mint_shell, 8, 1),
        ];
        self.market(&taken.map(|(good, out, home)| (good.product, out, home)))?;
        self.dearer_and_cheaper(fig_bar.product)?;
        self.usual(12, &mint_shell)?;
        self.usual(9, &fig_shell)?;
        self.usual(4, &fig_bar)?;
        // The oil house sent a newer sheet: twice as much of one allergen.
        self.at(3);
        self.fig_sheet(fig, "1.1", "1.6 %", false)?;
        self.shops(&[fig_bar.product, loft_bar.product, fig_shell.product])?;
        self.usual(2, &plum_candle)?;

        self.at(1);
        self.weigh_for_the_label(&fig_bar, &[foil, label])?;
        self.label_drawer(&fig_bar)?;

        // On the bench this morning: the waxes are in, the oil is not.
        self.at(0);
        let open = self.start(&loft_bar, 19.55)?;
        for _ in 0..2 {
            if let Some((at, target)) = self.next(open) {
                let decided = decide::weigh(&self.workshop, open, at, target);
                self.note(decided)?;
            }
        }
        Ok(())
    }
}

fn dollars(text: &str) -> Result<Money, Unclear> {
    Money::parse(text, Some(Currency::USD), measure::Reading::PLAIN)
}

/// Ounces on a scale that reads to 0.05 oz.
fn typed(ounces: f64) -> Typed<Mass> {
    let steps = (ounces * 20.0).round() / 20.0;
    let figure = measure::decimal_from_f64(steps, 2).unwrap_or_default();
    Typed::from_decimal(figure, MassUnit::Ounce).expect("the demo weighs a few pounds at most")
}

fn ounces(weight: &Typed<Mass>) -> f64 {
    weight.value().to_f64(MassUnit::Ounce)
}
