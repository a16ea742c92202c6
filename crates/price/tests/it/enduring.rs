//! Whatever the figures, a calculation answers or says what is wrong.

use proptest::prelude::*;
use serde_json::{Value, json};

fn any_amount() -> impl Strategy<Value = &'static str> {
    prop::sample::select(vec![
        "0 USD",
        "0.0000000000000000000000001 USD",
        "0.01 USD",
        "3.33 USD",
        "999999999999.99 USD",
        "1000000000000 USD",
        "0.3333333333333333333333333333 USD",
    ])
}

fn any_percentage() -> impl Strategy<Value = &'static str> {
    prop::sample::select(vec![
        "0 %",
        "0.00000000000000000000000001 %",
        "33.33333333333333333333333333 %",
        "99.99999999999999999999999999 %",
        "100 %",
    ])
}

fn any_count() -> impl Strategy<Value = u32> {
    prop::sample::select(vec![0, 1, 2, 24, 9_999_999, 10_000_000])
}

fn any_time() -> impl Strategy<Value = &'static str> {
    prop::sample::select(vec![
        "0 min",
        "0.001 s",
        "7 h",
        "1000000 d",
        "100000000000 d",
    ])
}

/// Answers, in which every number is finite, or names at least one problem.
#[track_caller]
fn check<I: serde::de::DeserializeOwned, O: serde::Serialize>(
    calculate: impl Fn(&I) -> Result<O, measure::Problems>,
    input: Value,
) {
    match calculate(&measure::parse_input(input).unwrap()) {
        Ok(output) => {
            let output = serde_json::to_value(output).unwrap();
            assert!(!output["working"].as_array().unwrap().is_empty());
        }
        Err(problems) => assert!(!problems.is_empty()),
    }
}

proptest! {
    #[test]
    fn channels_of_any_figures(
        amounts in prop::array::uniform10(any_amount()), shares in prop::array::uniform6(any_percentage()),
        counts in prop::array::uniform3(any_count()), times in prop::array::uniform2(any_time()),
        inside in any::<bool>(), target in 0..5_u8, ending in prop::sample::select(vec!["0.05", "0.99", "1000000", "none"]),
    ) {
        let [unit_cost, fixed_fee, payment_fixed, paid, charged, pitch, wanted, bundle, low, high] = amounts;
        let [fee, payment, discount, share, rate, margin] = shares;
        let mut input = json!({
            "unit_cost": unit_cost,
            "channel": {"percent_fee": fee, "fixed_fee": fixed_fee, "payment_percent": payment,
                "payment_fixed": payment_fixed, "postage_paid": paid, "postage_charged": charged,
                "units_per_order": counts[0], "discount": discount, "share": share, "pitch_fee": pitch},
            "tax": {"rate": rate, "inside": inside, "on_postage": inside},
            "ending": ending, "hours": times[0], "minutes_per_unit": times[1], "units_a_day": counts[1],
            "bundle": {"count": counts[2], "price": bundle, "average": wanted},
            "range": {"unit_cost": {"low": low, "high": high}, "fixed_costs": {"low": low, "high": high}},
        });
        match target {
            0 => input["target"] = json!({"margin": margin}),
            1 => input["target"] = json!({"markup": margin}),
            2 => input["target"] = json!({"profit": wanted}),
            3 => input["target"] = json!({"per_hour": wanted}),
            _ => input["price"] = json!(wanted),
        }
        check(price::channel_price, input);
    }

    #[test]
    fn days_of_any_figures(
        amounts in prop::array::uniform6(any_amount()), shares in prop::array::uniform2(any_percentage()),
        counts in prop::array::uniform6(any_count()), times in prop::array::uniform2(any_time()), inside in any::<bool>(),
    ) {
        let [price, unit_cost, card, card_fixed, pitch, float] = amounts;
        check(price::market_day, json!({
            "lines": [
                {"name": "bar", "price": price, "unit_cost": unit_cost, "sold": counts[0]},
                {"name": "shell", "price": price, "unit_cost": unit_cost, "taken": counts[1],
                    "back": counts[2], "given": counts[3], "spoilt": counts[4]},
            ],
            "card_takings": card, "cards": counts[5], "card_percent": shares[0], "card_fixed": card_fixed,
            "tax": {"rate": shares[1], "inside": inside}, "pitch_fee": pitch, "float": float,
            "cash_counted": float, "hours": times[0], "minutes_per_unit": times[1],
        }));
    }

    #[test]
    fn offers_of_any_figures(
        amounts in prop::array::uniform5(any_amount()), shares in prop::array::uniform4(any_percentage()),
        counts in prop::array::uniform4(any_count()), times in prop::array::uniform4(any_time()),
    ) {
        let [retail, unit_cost, price, delivery, other] = amounts;
        check(price::sale_or_return, json!({
            "retail": retail, "unit_cost": unit_cost, "units": counts[0],
            "firm": {"price": price, "deliveries": counts[1], "delivery": delivery, "paid_after": times[0]},
            "sale_or_return": {"share": shares[0], "deliveries": counts[2], "delivery": other,
                "sold": shares[1], "sold_low": shares[2], "sold_high": shares[3], "spoiled": counts[3],
                "days": times[1], "count_every": times[2], "paid_after": times[3]},
        }));
    }

    #[test]
    fn parcels_of_any_figures(
        amounts in prop::array::uniform3(any_amount()), counts in prop::array::uniform2(any_count()),
        weights in prop::array::uniform4(prop::sample::select(vec!["0 g", "0.000001 g", "56.5 g", "9000000000 kg"])),
    ) {
        check(price::parcel, json!({
            "items": [{"count": counts[0], "each": weights[0]}],
            "packings": [{"name": "box", "weight": weights[1], "holds": counts[1], "price": amounts[0]},
                {"name": "bag", "weight": weights[2]}],
            "bands": [{"up_to": weights[3], "price": amounts[1]}, {"up_to": "1 kg", "price": amounts[2]}],
        }));
    }
}
