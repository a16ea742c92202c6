//! The calculation `channel-price` and what stands behind it.

use measure::{Cost, Currency, Decimal, Problems, Ratio};
use price::{ChannelPriceOutput, Ending, FeeBase, Kept, NoPrice, Target, Tax, Terms};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::dollars;

#[track_caller]
fn priced(input: Value) -> ChannelPriceOutput {
    price::channel_price(&measure::parse_input(input).unwrap()).unwrap()
}

#[track_caller]
fn unpriced(input: Value) -> Problems {
    price::channel_price(&measure::parse_input(input).unwrap()).unwrap_err()
}

fn percent(text: &str) -> Ratio {
    format!("{text} %").parse().unwrap()
}

fn taxed(rate: &str, inside: bool) -> Tax {
    Tax {
        rate: percent(rate),
        inside,
        on_postage: true,
    }
}

fn free() -> Terms {
    Terms::free(Currency::USD)
}

#[track_caller]
fn judge(terms: &Terms, price: &str, unit_cost: &str) -> Kept {
    terms.judge(dollars(price), dollars(unit_cost)).unwrap()
}

fn web_shop() -> Value {
    json!({
        "unit_cost": "1.34 USD",
        "channel": {"percent_fee": "6.5 %", "fixed_fee": "0.20 USD", "payment_percent": "3 %",
            "payment_fixed": "0.25 USD", "postage_paid": "0 USD"},
        "target": {"margin": "60 %"},
        "tax": {"rate": "8 %", "inside": false},
        "ending": "0.05",
    })
}

/// By hand: of the net price the fees take 9.5 % × 1.08 = 10.26 %, and 60 %
/// is to stay, so (1.34 + 0.45) ÷ 0.2974 = 6.01883 has to be asked. At 6.05
/// the buyer pays 6.534; fees 0.62073 + 0.45; 3.63927 stay, 60.15 % of 6.05.
#[test]
fn a_margin_through_a_web_shop() {
    let out = priced(web_shop());
    assert_eq!(out.price, "6.05 USD");
    assert_eq!(out.exact.as_deref(), Some("6.0188298588 USD"));
    assert_eq!(out.fees, "1.07 USD");
    assert_eq!(out.profit, "3.64 USD");
    assert_eq!(out.margin.as_deref(), Some("60.2 % of net price"));
    assert!((out.profit_in_currency - 3.639_27).abs() < 1e-12);
    assert!((out.margin_percent.unwrap() - 60.153_223).abs() < 1e-6);
    insta::assert_snapshot!(out.verdict, @"Ask 6.05 USD: it leaves 3.64 USD a unit after 1.07 USD of fees, 60.2 % of net price.");
}

#[test]
fn every_figure_of_a_channel() {
    let mut input = web_shop();
    input["channel"]["name"] = json!("web shop");
    input["channel"]["postage_paid"] = json!("3.39 USD");
    input["channel"]["postage_charged"] = json!("2.50 USD");
    input["channel"]["units_per_order"] = json!(4);
    input["channel"]["pitch_fee"] = json!("45 USD");
    input["hours"] = json!("7 h");
    input["minutes_per_unit"] = json!("2.4 min");
    input["units_a_day"] = json!(30);
    input["fixed_costs"] = json!("16 USD");
    input["bundle"] = json!({"count": 3, "price": "15 USD", "average": "5.50 USD"});
    input["range"] = json!({
        "unit_cost": {"low": "1.20 USD", "high": "1.60 USD"},
        "percent_fee": {"low": "6 %", "high": "7 %"},
        "margin": {"low": "55 %", "high": "62 %"},
    });
    insta::assert_snapshot!(serde_json::to_string_pretty(&priced(input)).unwrap());
}

/// HM Revenue & Customs: 100 before tax at 20 % is 120 with 20 of tax in it,
/// at 5 % it is 105 with 5 of tax in it; on top and taken out again.
/// http://www.hmrc.gov.uk/vat/forms-rates/rates/calculating.htm
/// Earlier rates, from a table made of the same: 15 % and 17.5 % of 100.
/// https://accountingservicesforbusiness.co.uk/resources/information-articles/vat-rates-and-fractions
#[test]
fn tax_on_top_and_inside_as_the_authority_reckons_it() {
    for (rate, tax, with_tax) in [
        ("20", "20", "120"),
        ("5", "5", "105"),
        ("15", "15", "115"),
        ("17.5", "17.5", "117.5"),
    ] {
        let on_top = Terms {
            tax: Some(taxed(rate, false)),
            ..free()
        };
        let kept = judge(&on_top, "100", "0");
        assert_eq!(
            (kept.tax, kept.buyer_pays),
            (dollars(tax), dollars(with_tax))
        );
        let inside = Terms {
            tax: Some(taxed(rate, true)),
            ..free()
        };
        let kept = judge(&inside, with_tax, "0");
        assert_eq!((kept.tax, kept.net), (dollars(tax), dollars("100")));
        // And the price that leaves 100 has the tax in it.
        let needed = inside.price_for(Target::Profit(dollars("100")), dollars("0"));
        assert_eq!(needed.unwrap(), dollars(with_tax));
    }
}

/// Trade discounts worked in the student's manual to Jerome and Worswick,
/// Business Mathematics in Canada, 9th edition, exercise 4.1, problems 5, 9
/// and 15; and the list price of one solved for, part i.
/// https://ja.scribd.com/document/373685770/JeromeWorswick9e-SSM-CH04-1-1-docx
#[test]
fn a_trade_discount_as_in_a_textbook() {
    for (list, off, net) in [
        ("1750", "35", "1137.50"),
        ("3256", "12.5", "2849"),
        ("135", "38", "83.70"),
        ("240", "50", "120"),
    ] {
        let shop = Terms {
            discount: percent(off),
            ..free()
        };
        assert_eq!(judge(&shop, list, "0").sold_at, dollars(net));
        let needed = shop.price_for(Target::Profit(dollars(net)), dollars("0"));
        assert_eq!(needed.unwrap(), dollars(list));
    }
}

/// By hand: 24 × (12.00 × 50 % - 4.45) - 4.50 = 32.70, as a firm order is
/// reckoned.
#[test]
fn the_least_order_of_a_shop() {
    let out = priced(json!({
        "currency": "GBP", "unit_cost": "4.45", "price": "12.00",
        "channel": {"discount": "50 %", "postage_paid": "4.50", "units_per_order": 24},
    }));
    assert_eq!(out.sold_at, "6.00 GBP");
    assert_eq!(out.order_profit.as_deref(), Some("32.70 GBP"));
    // 1.3625 of 6.00.
    assert_eq!(out.margin.as_deref(), Some("22.7 % of what you are paid"));
}

/// A retailing exercise: a bag costs 19.50 less 40 %; overhead is 33 1/3 % of
/// the price and 10 % is to stay: 20.65.
/// http://www.jiskha.com/display.cgi?id=1249962309
#[test]
fn expenses_and_profit_that_are_shares_of_the_price() {
    let shop = Terms {
        percent_fee: percent("33.333333333333"),
        ..free()
    };
    let price = shop
        .price_for(Target::Margin(percent("10")), dollars("11.70"))
        .unwrap();
    assert_eq!(price.to_string(), "20.65 USD");
}

/// Business Mathematics, chapter 8 "Mathematics of Selling", worked answers
/// to section 8-2, pp. 297 and 299, the price solved for.
/// https://questionai.com/amp/textbooksolution-120064/423945-book-Business-Mathematics-Chapter-8-Mathematics-of-Selling
#[test]
fn margin_and_markup_solved_for_the_price_as_in_a_textbook() {
    let price = |target, cost: &str| free().price_for(target, dollars(cost)).unwrap();
    assert_eq!(price(Target::Margin(percent("25")), "21.00"), dollars("28"));
    assert_eq!(price(Target::Margin(percent("40")), "18.60"), dollars("31"));
    let price = price(Target::Markup(percent("60")), "9.97");
    assert_eq!(price.to_string(), "15.95 USD");
}

/// An introductory text on break-even analysis: fixed costs 20,000, price
/// 400, variable cost 250: 133.3, so 134 units.
/// https://psu.pb.unizin.org/acctg211/chapter/breakeven-analysis
#[test]
fn units_that_pay_for_a_day_as_in_a_textbook() {
    let out = priced(json!({
        "unit_cost": "250 USD", "price": "400 USD", "fixed_costs": "20000 USD",
    }));
    assert_eq!(out.break_even_units.as_deref(), Some("134"));
    assert_eq!(out.notes, Vec::<String>::new());
    insta::assert_snapshot!(out.verdict, @"At 400.00 USD it leaves 150.00 USD a unit, 37.5 % of price. 134 units pay for the 20000.00 USD of the day.");
}

/// Common practice, no source: bars at 3.00 or four for 10.00, average 2.68.
/// By hand: 3 + 7 s = 2.68 × (1 + 3 s), so s = 0.32 ÷ 1.04 = 30.8 % of the
/// buyers, who take 64 % of the bars.
#[test]
fn four_for_ten_bring_the_average_down() {
    let out = priced(json!({
        "unit_cost": "0.74 GBP", "price": "3.00 GBP",
        "channel": {"percent_fee": "1.75 %"},
        "bundle": {"count": 4, "price": "10 GBP", "average": "2.68 GBP"},
    }));
    let bundle = out.bundle.unwrap();
    assert_eq!(bundle.average_at.as_deref(), Some("30.8 %"));
    // 10 × 0.9825 - 4 × 0.74, and 3 × 0.9825 - 0.74 alone.
    assert_eq!(bundle.profit, "6.86 GBP");
    assert_eq!(out.profit, "2.21 GBP");
    assert_eq!(bundle.holds_up_to, None);
    let half = &bundle.averages[2];
    assert_eq!((half.buyers_percent, half.price.as_str()), (50, "2.60 GBP"));
    assert!((half.units_percent - 80.0).abs() < 1e-9);
    insta::assert_snapshot!(bundle.sentence, @"4 for 10.00 GBP leave 6.86 GBP together, 68.6 % of price, where one alone leaves 2.21 GBP.");
}

/// By hand: alone 4.00 leaves 3.00, 0.60 above a margin of 60 %; three for 6.00
/// leave 3.00, 0.60 below it: as many of each.
#[test]
fn a_bundle_holds_the_target_up_to_a_share_of_the_buyers() {
    let out = priced(json!({
        "unit_cost": "1 USD", "target": {"margin": "60 %"}, "ending": "4",
        "bundle": {"count": 3, "price": "6 USD"},
    }));
    assert_eq!(out.price, "4.00 USD");
    let bundle = out.bundle.unwrap();
    assert_eq!(bundle.holds_up_to.as_deref(), Some("50.0 %"));
    let half = &bundle.averages[2];
    assert!((half.margin_percent.unwrap() - 60.0).abs() < 1e-9);
}

/// By hand: 18 an hour for 8 hours of selling and 30 × 4 minutes of making is
/// 180; with 60 for the day, 240 ÷ 30 = 8 a unit.
#[test]
fn an_hour_that_is_to_earn_so_much() {
    let input = json!({
        "unit_cost": "2 USD", "target": {"per_hour": "18 USD"},
        "channel": {"pitch_fee": "45 USD", "travel": "15 USD"},
        "hours": "8 h", "minutes_per_unit": "4 min", "units_a_day": 30,
    });
    let out = priced(input.clone());
    assert_eq!(out.price, "10.00 USD");
    assert_eq!(out.per_hour.as_deref(), Some("18.00 USD"));
    assert_eq!(out.day_left.as_deref(), Some("180.00 USD"));
    assert_eq!(out.break_even_units.as_deref(), Some("8"));
    let mut unknown = input;
    unknown["units_a_day"] = json!(null);
    insta::assert_snapshot!(unpriced(unknown).to_string(), @"target.per_hour: what an hour earns cannot be reckoned without its time; give minutes_per_unit, and for a day at a stall also hours and units_a_day of at least 1");
    // Posted from home: an hour of making alone.
    let out = priced(json!({
        "unit_cost": "2 USD", "target": {"per_hour": "18 USD"}, "minutes_per_unit": "4 min",
    }));
    assert_eq!(out.price, "3.20 USD");
}

#[test]
fn a_fee_is_a_share_of_what_is_said() {
    let fee = |on| {
        let terms = Terms {
            percent_fee: percent("10"),
            fees_on: on,
            postage_charged: dollars("2"),
            tax: Some(taxed("20", false)),
            ..free()
        };
        judge(&terms, "10", "0").channel_fee
    };
    // 12.00 of goods with their tax, 2.40 of postage with its tax.
    assert_eq!(fee(FeeBase::BuyerPays), dollars("1.44"));
    assert_eq!(fee(FeeBase::WithoutPostage), dollars("1.2"));
    assert_eq!(fee(FeeBase::BeforeTax), dollars("1.2"));
}

#[track_caller]
fn ends(ending: &str, price: &str, tidy: &str) {
    let ending = Ending::parse(ending, Currency::USD).unwrap();
    assert_eq!(
        ending.up(dollars(price)).unwrap().to_string(),
        format!("{tidy} USD")
    );
}

#[test]
fn a_price_is_moved_up_to_its_ending() {
    ends("0.05", "6.0188", "6.05");
    ends("0.05", "6.05", "6.05");
    ends("0.05", "6.0500001", "6.10");
    ends("0.99", "6.0188", "6.99");
    ends("0.99", "6.99", "6.99");
    ends("0.99", "6.991", "7.99");
    ends("0.95", "0", "0.95");
    ends("1", "6.0188", "7.00");
    ends("5", "11", "15.00");
    ends("4.99", "5", "14.99");
    ends("none", "6.0188", "6.02");
    ends("", "6.02", "6.02");
    // Past the fifteenth decimal it is the last digit of a division.
    ends("0.05", "6.0000000000000000000000000001", "6.00");
}

#[test]
fn an_ending_that_is_none_is_refused() {
    let refuse = |ending: &str, currency| Ending::parse(ending, currency).unwrap_err().to_string();
    let all = [
        refuse("0", Currency::USD),
        refuse("-0.05", Currency::USD),
        refuse("0.005", Currency::USD),
        refuse("five", Currency::USD),
        refuse("0.5", Currency::JPY),
        refuse("1000001", Currency::USD),
    ];
    insta::assert_snapshot!(all.join("\n"), @r#"
    "0": an ending is more than nothing; write 0.05 for multiples of it, 0.99 for prices that end so, 1 for whole ones, or none
    "-0.05": an ending is more than nothing; write 0.05 for multiples of it, 0.99 for prices that end so, 1 for whole ones, or none
    "0.005": USD has 2 decimal places; write 0.05 for multiples of it, 0.99 for prices that end so, 1 for whole ones, or none
    "five": there is no number at the start; write 0.05 for multiples of it, 0.99 for prices that end so, 1 for whole ones, or none
    "0.5": JPY has 0 decimal places; write 0.05 for multiples of it, 0.99 for prices that end so, 1 for whole ones, or none
    "1000001": the ending is too large; write 0.05 for multiples of it, 0.99 for prices that end so, 1 for whole ones, or none
    "#);
    let yen = Ending::parse("100", Currency::JPY).unwrap();
    let price = Cost::new(Decimal::from(601), Currency::JPY);
    assert_eq!(yen.up(price).unwrap().to_string(), "700 JPY");
}

#[test]
fn what_no_price_reaches_says_what_would_be_reached() {
    let mut input = web_shop();
    input["target"] = json!({"margin": "90 %"});
    insta::assert_snapshot!(unpriced(input.clone()).to_string(), @"target.margin: no price reaches this margin: the fees in percent take 10.3 % of the net price; write a margin of at most 89.7 %");
    input["target"] = json!({"margin": "89.74 %"});
    assert!(unpriced(input.clone()).of("target.margin").is_some());
    input["target"] = json!({"margin": "89.73 %"});
    assert_eq!(priced(input.clone()).price, "17900.00 USD");
    // 9.48 % × 1.08 leave 89.7616 %: what is written down is within it.
    input["channel"]["percent_fee"] = json!("6.48 %");
    input["target"] = json!({"margin": "89.8 %"});
    let problems = unpriced(input.clone());
    let said = &problems.of("target.margin").unwrap().accepted;
    assert_eq!(said, "write a margin of at most 89.7 %");
    input["target"] = json!({"margin": "89.7 %"});
    assert!(priced(input.clone()).margin_percent.unwrap() >= 89.7);
    // Of 10 % fees exactly 90 % would be left, and never is.
    let problems = unpriced(json!({
        "unit_cost": "1 USD", "channel": {"percent_fee": "10 %"}, "target": {"margin": "90 %"},
    }));
    let said = &problems.of("target.margin").unwrap().accepted;
    assert_eq!(said, "write a margin of at most 89.9 %");
    input["channel"]["percent_fee"] = json!("95 %");
    insta::assert_snapshot!(unpriced(input.clone()).to_string(), @"channel.percent_fee: the fees in percent come to 105.8 % of the net price and leave nothing at any price; write fees that together take less than 100 % of the net price");
    input["channel"]["percent_fee"] = json!("5 %");
    input["channel"]["share"] = json!("0 %");
    insta::assert_snapshot!(unpriced(input).to_string(), @"channel: discount and share leave you nothing of any price; write a discount below 100 % and a share above 0 %");
}

#[test]
fn every_problem_of_a_channel_at_once() {
    let problems = unpriced(json!({
        "unit_cost": "1.34", "price": "6 USD", "target": {"margin": "60", "profit": "1 EUR"},
        "channel": {"percent_fee": "101 %", "fixed_fee": "-1 USD", "units_per_order": 0, "discount": "half"},
        "tax": {"inside": true}, "ending": "0.001", "hours": "all day", "units_a_day": 2.5,
        "bundle": {"count": 1},
        "range": {
            "unit_cost": {"low": "2 USD", "high": "1 USD"}, "wages": {"low": "1", "high": "2"},
            "markup": {"low": "1 %", "high": "2 %"}, "units_a_day": {"low": "some", "high": "3"},
            "discount": {"low": "10 %"},
        },
    }));
    insta::assert_snapshot!(problems.to_string(), @r#"
    unit_cost: "1.34": the amount has no currency; write an amount with its currency, such as 4.50 USD
    channel.percent_fee: "101 %": this is more than 100 %; write a percentage up to 100 %
    channel.fixed_fee: "-1 USD": the amount cannot be negative; write an amount with its currency, such as 4.50 USD
    channel.units_per_order: "0": there must be at least 1; write a whole number such as 24
    channel.discount: "half": there is no percent sign; write a percentage such as 8 %
    target.margin: "60": there is no percent sign; write a percentage such as 8 %
    target.profit: "1 EUR": this is in EUR, but price is in USD; write every amount in one currency, such as USD
    target: more than one thing is wanted; write one of margin, markup, profit or per_hour
    price: "6 USD": a price and a target are both given; write either a target, such as a margin of 60 %, or a price to judge
    tax.rate: the rate is missing; write a percentage such as 8 %, or leave the tax out
    hours: "all day": there is no number at the start; write a time such as 40 min, 2 h or 1 h 20 min
    units_a_day: "2.5": this is not a whole number of units; write a whole number such as 24
    bundle.count: "1": there must be at least 2; write a whole number such as 24
    bundle.price: an amount is missing; write an amount with its currency, such as 4.50 USD
    range.discount.high: one end is missing; write the lowest and the highest it may be
    range.markup: the target is not this; write one of unit_cost, percent_fee, fixed_fee, payment_percent, payment_fixed, postage_paid, postage_charged, discount, share, tax_rate, the field of the target, hours, minutes_per_unit, units_a_day, fixed_costs
    range.unit_cost.low: "2 USD": the low end is above the high one; write the lowest it may be here and the highest in high
    range.units_a_day.low: "some": this is not a whole number of units; write a whole number such as 24
    range.wages: there is no such input; write one of unit_cost, percent_fee, fixed_fee, payment_percent, payment_fixed, postage_paid, postage_charged, discount, share, tax_rate, the field of the target, hours, minutes_per_unit, units_a_day, fixed_costs
    ending: "0.001": USD has 2 decimal places; write 0.05 for multiples of it, 0.99 for prices that end so, 1 for whole ones, or none
    "#);
    insta::assert_snapshot!(unpriced(json!({})).to_string(), @r#"
    unit_cost: an amount is missing; write an amount with its currency, such as 4.50 USD
    target: there is nothing to find; write either a target, such as a margin of 60 %, or a price to judge
    "#);
    insta::assert_snapshot!(unpriced(json!({"unit_cost": "1 USD", "target": {}})).to_string(), @"target: nothing is wanted; write one of margin, markup, profit or per_hour");
}

#[test]
fn what_the_price_hangs_on_most_comes_first() {
    let mut input = web_shop();
    input["range"] = json!({
        "payment_percent": {"low": "2.5 %", "high": "3.5 %"},
        "unit_cost": {"low": "1.20 USD", "high": "1.60 USD"},
        "margin": {"low": "60 %", "high": "60 %"},
        "fixed_fee": {"low": "0.20 USD", "high": "0.30 USD"},
    });
    let range = priced(input.clone()).range.unwrap();
    let named: Vec<_> = range
        .inputs
        .iter()
        .map(|input| input.input.as_str())
        .collect();
    assert_eq!(
        named,
        ["unit_cost", "fixed_fee", "payment_percent", "margin"]
    );
    // (1.20 + 0.45) ÷ 0.2974 and (1.60 + 0.45) ÷ 0.2974.
    assert!((range.inputs[0].at_low_in_currency - 5.548_083).abs() < 1e-6);
    assert!((range.inputs[0].at_high_in_currency - 6.893_073).abs() < 1e-6);
    // (1.20 + 0.45) ÷ (0.4 - 0.09 × 1.08), (1.60 + 0.55) ÷ (0.4 - 0.1 × 1.08).
    assert!((range.low_in_currency - 5.449_141).abs() < 1e-6);
    assert!((range.high_in_currency - 7.363_014).abs() < 1e-6);
    insta::assert_snapshot!(range.sentence, @"The price needed hangs between 5.45 USD and 7.40 USD, mostly on the unit cost.");
    input["range"]["margin"]["high"] = json!("95 %");
    insta::assert_snapshot!(unpriced(input).to_string(), @"range.margin.high: no price reaches this margin: the fees in percent take 10.3 % of the net price; write a margin of at most 89.7 %");
}

#[test]
fn huge_figures_are_refused_or_answered_without_a_panic() {
    let out = price::channel_price(
        &measure::parse_input(json!({
            "unit_cost": "1000000000000 USD",
            "target": {"markup": "10000 %"},
            "tax": {"rate": "10000 %", "inside": true},
            "channel": {"percent_fee": "99.99999999999 %", "fees_on": "before_tax", "discount": "99.9999999999 %"},
        }))
        .unwrap(),
    );
    assert!(out.is_err());
}

fn cents(range: std::ops::Range<i64>) -> impl Strategy<Value = Cost> {
    range.prop_map(|minor| Cost::new(Decimal::new(minor, 2), Currency::USD))
}

fn tenths(range: std::ops::Range<i64>) -> impl Strategy<Value = Ratio> {
    range.prop_map(|tenths| Ratio::from_percent(Decimal::new(tenths, 1)).unwrap())
}

fn any_base() -> impl Strategy<Value = FeeBase> {
    prop_oneof![
        Just(FeeBase::BuyerPays),
        Just(FeeBase::WithoutPostage),
        Just(FeeBase::BeforeTax),
    ]
}

fn any_tax() -> impl Strategy<Value = Option<Tax>> {
    let tax =
        (tenths(0..300), any::<bool>(), any::<bool>()).prop_map(|(rate, inside, on_postage)| Tax {
            rate,
            inside,
            on_postage,
        });
    proptest::option::of(tax)
}

prop_compose! {
    fn any_terms()(
        percent_fee in tenths(0..250),
        fees_on in any_base(),
        fixed_fee in cents(0..200),
        payment_percent in tenths(0..80),
        payment_on in any_base(),
        payment_fixed in cents(0..100),
        postage_paid in cents(0..900),
        postage_charged in cents(0..900),
        units_per_order in 1..6_u32,
        discount in tenths(0..700),
        share in tenths(300..1001),
        tax in any_tax(),
    ) -> Terms {
        Terms {
            percent_fee, fees_on, fixed_fee, payment_percent, payment_on, payment_fixed,
            postage_paid, postage_charged, units_per_order, discount, share, tax,
        }
    }
}

fn any_target() -> impl Strategy<Value = Target> {
    prop_oneof![
        tenths(0..500).prop_map(Target::Margin),
        tenths(0..3000).prop_map(Target::Markup),
        cents(0..2000).prop_map(Target::Profit),
    ]
}

/// By how much a price is over its target, in the target's own measure.
fn over(kept: &Kept, target: Target) -> Decimal {
    let hundredth = |percent: Option<Decimal>| percent.unwrap_or_default() / Decimal::ONE_HUNDRED;
    match target {
        Target::Margin(margin) => hundredth(kept.margin) - margin.decimal(),
        Target::Markup(markup) => hundredth(kept.markup) - markup.decimal(),
        Target::Profit(profit) => kept.profit.major() - profit.major(),
    }
}

proptest! {
    #[test]
    fn the_price_of_a_target_reaches_it(
        terms in any_terms(), target in any_target(), unit_cost in cents(1..5000),
    ) {
        let price = match terms.price_for(target, unit_cost) {
            Ok(price) => price,
            Err(NoPrice::MarginOutOfReach { below, .. }) => {
                // It says what would be reached: a hair below it is.
                let Target::Margin(margin) = target else {
                    return Err(TestCaseError::fail("only a margin is out of reach"));
                };
                prop_assert!(margin.decimal() >= below);
                let possible = Ratio::from_decimal(below - Decimal::new(1, 3)).unwrap();
                prop_assert!(terms.price_for(Target::Margin(possible), unit_cost).is_ok());
                return Ok(());
            }
            Err(other) => return Err(TestCaseError::fail(other.to_string())),
        };
        let kept = terms.judge(price, unit_cost).unwrap();
        let off = over(&kept, target);
        if price.major().is_zero() {
            prop_assert!(kept.profit.major() >= Decimal::ZERO || off > -Decimal::new(1, 15));
        } else {
            prop_assert!(off.abs() < Decimal::new(1, 15), "off by {off}");
        }
    }

    #[test]
    fn a_tidy_price_is_never_below_and_never_far_above(
        price in 0..10_000_000_u64, ending in prop_oneof![
            Just("0.05"), Just("0.99"), Just("0.95"), Just("0.49"), Just("1"), Just("5"),
            Just("4.99"), Just("0.25"), Just("none"),
        ],
    ) {
        let exact = Decimal::new(i64::try_from(price).unwrap(), 4);
        let parsed = Ending::parse(ending, Currency::USD).unwrap();
        let tidy = parsed.up(Cost::new(exact, Currency::USD)).unwrap();
        prop_assert!(tidy.major() >= exact);
        let every = match parsed {
            Ending::Multiple(every) | Ending::Tail { every, .. } => every,
        };
        prop_assert!(tidy.major() - exact < every);
        prop_assert_eq!(parsed.up(tidy).unwrap(), tidy);
    }

    #[test]
    fn a_higher_price_is_never_charged_less(
        terms in any_terms(), price in cents(0..20_000), more in cents(1..5000),
    ) {
        let nothing = dollars("0");
        let low = terms.judge(price, nothing).unwrap();
        let high = terms.judge(price.plus(more).unwrap(), nothing).unwrap();
        prop_assert!(high.fees.major() >= low.fees.major());
        prop_assert!(high.tax.major() >= low.tax.major());
        prop_assert!(high.buyer_pays.major() >= low.buyer_pays.major());
    }

    #[test]
    fn higher_fees_never_leave_more(
        terms in any_terms(), price in cents(0..20_000), more in tenths(1..100),
    ) {
        let dearer = Terms {
            percent_fee: Ratio::from_decimal(terms.percent_fee.decimal() + more.decimal()).unwrap(),
            ..terms
        };
        let cost = dollars("1");
        let kept = |terms: &Terms| terms.judge(price, cost).unwrap().kept.major();
        prop_assert!(kept(&dearer) <= kept(&terms));
        let needed = |terms: &Terms| terms.price_for(Target::Profit(cost), cost).unwrap().major();
        prop_assert!(needed(&dearer) >= needed(&terms));
    }

    /// Exactly, in coins; and every part is its exact amount but for a coin.
    #[test]
    fn every_coin_the_buyer_pays_is_somewhere(
        terms in any_terms(), price in cents(0..20_000), unit_cost in cents(0..9000),
    ) {
        let kept = terms.judge(price, unit_cost).unwrap();
        let coins = kept.in_coins().unwrap();
        let parts = [
            (coins.tax, kept.tax), (coins.channel_fee, kept.channel_fee),
            (coins.payment_fee, kept.payment_fee), (coins.postage_paid, kept.postage_paid),
            (coins.unit_cost, kept.unit_cost), (coins.profit, kept.profit),
        ];
        let sum: i64 = parts.iter().map(|(coins, _)| coins.minor()).sum();
        prop_assert_eq!(sum, coins.buyer_pays.minor());
        for (coins, exact) in parts {
            prop_assert!((coins.major() - exact.major()).abs() < Decimal::new(1, 2));
        }
        prop_assert_eq!(kept.buyer_pays.rounded().unwrap(), coins.buyer_pays);
    }
}
