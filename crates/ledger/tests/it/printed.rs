//! Worked examples printed in textbooks, each with its source.

use serde_json::{Value, json};

use crate::valued;

enum Row {
    In(&'static str, &'static str, &'static str),
    Out(&'static str, &'static str),
}
use Row::{In, Out};

struct Printed<'a> {
    /// Cost of each movement out.
    out: &'a [&'a str],
    cost_of_goods: &'a str,
    closing_units: &'a str,
    closing_value: &'a str,
}

fn input(method: &str, rows: &[Row]) -> Value {
    let movements: Vec<Value> = rows
        .iter()
        .map(|row| match row {
            In(day, units, cost) => json!({"day": day, "in": units, "cost": format!("{cost} USD")}),
            Out(day, units) => json!({"day": day, "out": units}),
        })
        .collect();
    json!({ "method": method, "movements": movements })
}

#[track_caller]
fn check(method: &str, rows: &[Row], printed: &Printed<'_>) {
    let found = valued(input(method, rows));
    let out: Vec<String> = found
        .movements
        .iter()
        .filter(|movement| movement.way == ledger::inventory_value::Way::Out)
        .map(|movement| movement.value.replace(" USD", ""))
        .collect();
    assert_eq!(out, printed.out);
    assert_eq!(
        found.cost_of_goods,
        format!("{} USD", printed.cost_of_goods)
    );
    assert_eq!(found.closing_units, printed.closing_units);
    assert_eq!(
        found.closing_value,
        format!("{} USD", printed.closing_value)
    );
    assert!(found.discrepancies.is_empty() && found.notes.is_empty());
}

/// A textbook chapter on perpetual FIFO, as quoted at
/// <https://www.coursehero.com/file/p3asc8l/The-table-starts-with-beginning-inventory-consisting-of-10-units-at-91-each-On/>
/// (second hand, 2026-11-25): 1,970 and 2,600 go out, 12 units at 1,420 stay.
#[test]
fn first_in_first_out_with_two_sales() {
    check(
        "fifo",
        &[
            In("2026-08-01", "10", "91"),
            In("2026-08-03", "15", "106"),
            Out("2026-08-14", "20"),
            In("2026-08-17", "20", "115"),
            In("2026-08-28", "10", "119"),
            Out("2026-08-31", "23"),
        ],
        &Printed {
            out: &["1970.00", "2600.00"],
            cost_of_goods: "4570.00",
            closing_units: "12",
            closing_value: "1420.00",
        },
    );
}

/// A solved textbook problem, 6-1A, at <https://www.coursehero.com/file/13294507/6-1A/>
/// (second hand, 2026-11-25).
const PROBLEM_6_1A: &[Row] = &[
    In("2026-03-01", "100", "50"),
    In("2026-03-05", "400", "55"),
    Out("2026-03-09", "420"),
    In("2026-03-18", "120", "60"),
    In("2026-03-25", "200", "62"),
    Out("2026-03-29", "160"),
];

#[test]
fn first_in_first_out_over_four_receipts() {
    check(
        "fifo",
        PROBLEM_6_1A,
        &Printed {
            out: &["22600.00", "9200.00"],
            cost_of_goods: "31800.00",
            closing_units: "240",
            closing_value: "14800.00",
        },
    );
}

/// The same problem: the average is 54.00 after the second receipt, and 420
/// units go out at 22,680. What the copy prints ends there.
#[test]
fn moving_average_of_the_same_problem() {
    let found = valued(input("average", &PROBLEM_6_1A[..3]));
    assert_eq!(found.movements[2].unit_cost, "54.00 USD");
    assert_eq!(found.movements[2].value, "22680.00 USD");
    assert_eq!(found.other_method.cost_of_goods, "22600.00 USD");
}

/// A stores ledger worked at <https://www.scribd.com/doc/96605529/Example>
/// (second hand, 2026-11-25), with every issue and balance printed.
#[test]
fn first_in_first_out_of_a_stores_ledger() {
    let rows = [
        In("2026-01-01", "1000", "10"),
        In("2026-01-10", "260", "10.50"),
        Out("2026-01-20", "700"),
        In("2026-02-04", "400", "11.50"),
        In("2026-02-21", "300", "12.50"),
        Out("2026-03-16", "620"),
        Out("2026-04-12", "240"),
        In("2026-05-10", "500", "11"),
        Out("2026-05-25", "380"),
    ];
    check(
        "fifo",
        &rows,
        &Printed {
            out: &["7000.00", "6420.00", "2760.00", "4650.00"],
            cost_of_goods: "20830.00",
            closing_units: "520",
            closing_value: "5750.00",
        },
    );
    let found = valued(input("fifo", &rows));
    let balances: Vec<String> = found
        .movements
        .iter()
        .map(|each| format!("{} {}", each.units_after, each.value_after))
        .collect();
    let printed = [
        "1000 10000",
        "1260 12730",
        "560 5730",
        "960 10330",
        "1260 14080",
        "640 7660",
        "400 4900",
        "900 10400",
        "520 5750",
    ];
    assert_eq!(balances, printed.map(|line| format!("{line}.00 USD")));
    let layers: Vec<String> = found
        .layers
        .iter()
        .map(|layer| format!("{} of {} at {}", layer.units, layer.day, layer.unit_cost))
        .collect();
    assert_eq!(
        layers,
        [
            "20 of 2026-02-21 at 12.50 USD",
            "500 of 2026-05-10 at 11.00 USD"
        ]
    );
}

/// Slides to a textbook's chapter on stock valuation,
/// <https://slideplayer.com/slide/8013265/> (second hand, 2026-11-25): the
/// average goes 10.00, 12.40, 12.40, 14.07; 700 units stay at 9,850.
#[test]
fn moving_average_of_four_half_years() {
    let rows = [
        In("2026-01-31", "200", "10"),
        In("2026-02-28", "300", "14"),
        Out("2026-04-30", "250"),
        In("2026-06-30", "450", "15"),
    ];
    check(
        "average",
        &rows,
        &Printed {
            out: &["3100.00"],
            cost_of_goods: "3100.00",
            closing_units: "700",
            closing_value: "9850.00",
        },
    );
    let found = valued(input("average", &rows));
    let average = found.average_unit_cost_in_currency.unwrap();
    assert!((average - 14.07).abs() < 0.005, "{average}");
    assert_eq!(found.movements[1].value_after, "6200.00 USD");
}

/// Accounting Principles: A Business Perspective, the chapter on inventories.
/// The totals are as quoted at
/// <https://tutorsglobe.com/question/q-weighted-average-under-perpetual-inventory-5311930.aspx>
/// (second hand, 2026-11-25): goods for 690.00, of which 20 units stay at
/// 8.929 each, 178.58, and 511.42 went out. Receipts and sales are from memory;
/// they give those totals. First in, first out, from memory: 511 and 179.
#[test]
fn moving_average_of_six_receipts_and_four_sales() {
    let rows = [
        In("2026-01-01", "10", "8.00"),
        In("2026-03-02", "10", "8.50"),
        Out("2026-03-10", "10"),
        In("2026-05-28", "20", "8.40"),
        Out("2026-07-14", "20"),
        In("2026-08-12", "10", "9.00"),
        Out("2026-09-07", "10"),
        In("2026-10-12", "20", "8.80"),
        Out("2026-11-22", "20"),
        In("2026-12-21", "10", "9.10"),
    ];
    check(
        "average",
        &rows,
        &Printed {
            out: &["82.50", "167.00", "86.75", "175.17"],
            cost_of_goods: "511.42",
            closing_units: "20",
            closing_value: "178.58",
        },
    );
    let found = valued(input("average", &rows));
    assert_eq!(found.received_value, "690.00 USD");
    assert!((found.average_unit_cost_in_currency.unwrap() - 8.929).abs() < 0.0005);
    assert_eq!(found.other_method.cost_of_goods, "511.00 USD");
    assert_eq!(found.other_method.closing_value, "179.00 USD");
}

/// OpenStax, Principles of Accounting, Volume 1: Financial Accounting (2019),
/// sections 10.2 and 10.3, from memory: 7,200 and 8,955 by first in, first
/// out; 7,253 and 8,902, in whole dollars, by the moving average.
#[test]
fn both_methods_of_an_open_textbook() {
    let rows = [
        In("2026-07-01", "150", "21"),
        Out("2026-07-05", "120"),
        In("2026-07-10", "225", "27"),
        Out("2026-07-15", "180"),
        In("2026-07-25", "210", "33"),
    ];
    let found = valued(input("fifo", &rows));
    assert_eq!(found.cost_of_goods, "7200.00 USD");
    assert_eq!(found.closing_value, "8955.00 USD");
    assert!((found.other_method.cost_of_goods_in_currency - 7_253.0).abs() < 0.5);
    assert!((found.other_method.closing_value_in_currency - 8_902.0).abs() < 0.5);
}

/// The example of a general package of financial functions with its printed
/// output, <https://rdrr.io/cran/FinCal/man/cogs.html> (read 2026-11-25).
#[test]
fn both_methods_as_a_general_package_has_them() {
    let rows = [
        In("2026-01-01", "2", "2"),
        In("2026-01-02", "3", "3"),
        In("2026-01-03", "5", "5"),
        Out("2026-01-04", "7"),
    ];
    for (method, sold, left) in [("fifo", "23.00", "15.00"), ("average", "26.60", "11.40")] {
        check(
            method,
            &rows,
            &Printed {
                out: &[sold],
                cost_of_goods: sold,
                closing_units: "3",
                closing_value: left,
            },
        );
    }
}
