//! Where goods went and where they came from.

use std::collections::{BTreeMap, BTreeSet};

use ledger::trace::{Index, Link, Output, calculate};
use serde_json::{Value, json};

use crate::Chance;

#[track_caller]
fn traced(input: Value) -> Output {
    calculate(&measure::parse_input(input).unwrap()).unwrap()
}

#[track_caller]
fn untraced(input: Value) -> String {
    let input = measure::parse_input(input).unwrap();
    calculate(&input).unwrap_err().to_string()
}

/// One lot of wax in 23 pours that made 1,914 units: 1,602 went to 31
/// accounts, 188 to web customers, 124 are on hand. Own arithmetic.
fn drill() -> Vec<Value> {
    // Account n takes 20 + 2n units, but the last takes what makes 1,602.
    let mut takers: Vec<(String, i64)> = (1..=30)
        .map(|n| (format!("account {n:02}"), 20 + 2 * n))
        .collect();
    let so_far: i64 = takers.iter().map(|(_, units)| units).sum();
    takers.push(("account 31".to_owned(), 1_602 - so_far));
    takers.extend((1..=94).map(|n| (format!("web customer {n:02}"), 2)));
    takers.push(("on hand".to_owned(), 124));
    let mut links = Vec::new();
    let mut taker = takers.into_iter();
    let mut open = taker.next();
    for pour in 1..=23_i64 {
        // 23 lots of 83 make 1,909; five of them are one larger.
        let made = 83 + i64::from(pour <= 5);
        links.push(json!({"from": "wax lot 7", "to": format!("pour {pour}"), "weight": "6.5 kg"}));
        links.push(
            json!({"from": "fragrance lot 2", "to": format!("pour {pour}"), "weight": "0.5 kg"}),
        );
        links.push(json!({"from": format!("pour {pour}"), "to": format!("lot {pour}"), "units": made.to_string()}));
        let mut left = made;
        while let (1.., Some((name, wanted))) = (left, open.as_mut()) {
            let given = left.min(*wanted);
            links.push(json!({
                "from": format!("lot {pour}"), "to": name.as_str(), "units": given.to_string(),
                "resells": name.starts_with("account"),
            }));
            left -= given;
            *wanted -= given;
            if *wanted == 0 {
                open = taker.next();
            }
        }
        assert_eq!(left, 0);
    }
    assert!(open.is_none());
    links
}

#[test]
fn a_lot_of_wax_is_followed_to_every_unit() {
    let found = traced(json!({"start": "wax lot 7", "direction": "both", "links": drill()}));
    let forward = found.forward.unwrap();
    assert_eq!(
        forward
            .reached
            .iter()
            .filter(|each| each.depth == 1)
            .count(),
        23
    );
    let of = |start: &str| -> (usize, f64) {
        let ends = forward
            .ends
            .iter()
            .filter(|end| end.name.starts_with(start));
        (
            ends.clone().count(),
            ends.filter_map(|end| end.units_number).sum(),
        )
    };
    assert_eq!(of("account"), (31, 1_602.0));
    assert_eq!(of("web customer"), (94, 188.0));
    assert_eq!(of("on hand"), (1, 124.0));
    assert_eq!(forward.units_at_ends.as_deref(), Some("1914"));
    assert_eq!(forward.units_made.as_deref(), Some("1914"));
    assert_eq!(forward.adds_up, Some(true));
    assert!(forward.unplaced.is_empty());
    let units: Vec<f64> = forward
        .ends
        .iter()
        .filter_map(|end| end.units_number)
        .collect();
    assert!(units.is_sorted_by(|one, next| one >= next));
    assert_eq!(forward.ends[0].name, "on hand");
    assert_eq!(forward.ends[1].name, "account 30");
    assert_eq!(forward.reached[0].weight.as_deref(), Some("6500 g"));
    assert_eq!(found.back.unwrap().reached, []);
    assert_eq!(
        found.verdict,
        "wax lot 7 went into 172 things; 1914 units stand at 126 ends. \
         That is all of 1914 units made. \
         Nothing is written down about what wax lot 7 came from."
    );
    assert_eq!(found.unknown.len(), 1);
    assert!(
        found.unknown[0].ends_with(
            "and 21 more sell on: of 1602 units, which were sold, and to whom, is not known here."
        ),
        "{}",
        found.unknown[0]
    );
}

#[test]
fn a_customer_is_followed_back_to_every_supply() {
    let found = traced(json!({"start": "account 01", "direction": "back", "links": drill()}));
    let back = found.back.unwrap();
    let ways: Vec<String> = back
        .reached
        .iter()
        .map(|each| each.way.join(" < "))
        .collect();
    assert_eq!(
        ways,
        [
            "account 01 < lot 1",
            "account 01 < lot 1 < pour 1",
            "account 01 < lot 1 < pour 1 < fragrance lot 2",
            "account 01 < lot 1 < pour 1 < wax lot 7",
        ]
    );
    let ends: Vec<&str> = back.ends.iter().map(|end| end.name.as_str()).collect();
    assert_eq!(ends, ["fragrance lot 2", "wax lot 7"]);
    assert!(found.forward.is_none());
}

#[test]
fn what_is_missing_is_said_plainly() {
    let found = traced(json!({
        "start": "lot A", "direction": "forward", "made": {"lot A": 120},
        "links": [
            {"from": "pour 1", "to": "lot A", "units": "120"},
            {"from": "lot A", "to": "Hollin Abbey", "units": "40"},
            {"from": "Hollin Abbey", "to": "stall buyers", "units": "31"},
            {"from": "Hollin Abbey", "to": "lot A", "units": "7"},
            {"from": "lot A", "to": "a gift shop", "units": "60", "resells": true},
            {"from": "a gift shop", "to": "lot A", "units": "4"},
            {"from": "lot A", "to": "a tea room"},
            {"from": "lot B", "to": "Hollin Abbey", "units": "10"},
            {"from": "lot A", "to": "on hand", "units": "25"},
        ],
    }));
    let forward = found.forward.unwrap();
    // 120 made and 11 back again, 125 went on: 6 are not placed; of the 40 and
    // 10 others at the market 12 are not. At the ends 31 + 56 + 25.
    assert_eq!(forward.units_at_ends.as_deref(), Some("112"));
    assert_eq!(forward.adds_up, Some(false));
    let unplaced: Vec<_> = forward
        .unplaced
        .iter()
        .map(|each| format!("{} {}", each.name, each.units))
        .collect();
    assert_eq!(unplaced, ["lot A 6", "Hollin Abbey 12"]);
    assert_eq!(forward.units_joined.as_deref(), Some("10"));
    insta::assert_snapshot!(found.unknown.join("\n"), @r#"
    6 units came to lot A and it is not known where they are.
    12 units came to Hollin Abbey and it is not known where they are.
    How many units went to a tea room was not written down.
    Other goods came to Hollin Abbey too; they cannot be told apart there, so all that went on is followed.
    a gift shop sells on: of 56 units, which were sold, and to whom, is not known here.
    "#);
    insta::assert_snapshot!(found.verdict, @r#"lot A went into 5 things; 112 units stand at 4 ends. Of 120 units made and 10 mixed in, 18 are not found again."#);
}

#[test]
fn what_is_made_and_what_came_may_disagree() {
    let found = traced(json!({
        "start": "pour 1", "direction": "forward", "made": {"lot A": "12"},
        "links": [
            {"from": "pour 1", "to": "lot A", "units": "11"},
            {"from": "lot A", "to": "on hand", "units": "12"},
        ],
    }));
    let forward = found.forward.unwrap();
    assert_eq!(forward.units_made.as_deref(), Some("12"));
    assert_eq!(forward.adds_up, Some(false));
    assert_eq!(
        found.unknown,
        ["lot A says that 12 were made, but 11 came to it."]
    );
}

#[test]
fn every_problem_of_a_trace_at_once() {
    insta::assert_snapshot!(untraced(json!({})), @r#"
    start: a name is missing; write what it is called, such as wax lot 7
    links: nothing went from anywhere to anywhere; give at least one link with from and to
    "#);
    insta::assert_snapshot!(untraced(json!({
        "start": "wax lot 7", "direction": "sideways",
        "links": [{"from": " ", "units": "-1"}, {"from": "a", "to": "b", "units": "x", "weight": "2 parsecs"}],
        "made": {"a": -3},
    })), @r#"
    direction: "sideways": it is not a direction; write forward, back or both
    links[0].from: a name is missing; write what it is called, such as wax lot 7
    links[0].to: a name is missing; write what it is called, such as wax lot 7
    links[0].units: "-1": a number of units cannot be negative; write a number of units such as 60
    links[1].units: "x": there is no number at the start; write a number of units such as 60
    links[1].weight: "2 parsecs": "parsecs" is not a unit of weight; write a weight such as 453.6 g, 16 oz, 1 lb 2.5 oz or 1/2 lb
    made.a: "-3": a number of units cannot be negative; write a number of units such as 60
    "#);
    insta::assert_snapshot!(untraced(json!({
        "start": "wax lot 8", "links": [{"from": "a", "to": "b"}], "made": {"c": 3},
    })), @r#"
    made.c: "c": no link names it; write it as it is named in the links
    start: "wax lot 8": no link names it; write it as it is named in the links
    "#);
}

/// The steps to every node, found by going over all links until nothing
/// changes.
fn slowly(start: u32, links: &[Link<u32>]) -> BTreeMap<u32, usize> {
    let mut far = BTreeMap::from([(start, 0)]);
    loop {
        let mut changed = false;
        for link in links {
            if let Some(next) = far.get(&link.from).map(|from| from + 1)
                && far.get(&link.to).is_none_or(|to| *to > next)
            {
                far.insert(link.to, next);
                changed = true;
            }
        }
        if !changed {
            return far;
        }
    }
}

#[test]
fn everything_is_reached_by_the_shortest_way_rings_and_all() {
    for seed in 0..2_000 {
        let mut chance = Chance(seed);
        let nodes = chance.between(1, 12);
        let mut node = || u32::try_from(chance.between(1, nodes)).unwrap();
        let pairs: Vec<(u32, u32)> = (0..20).map(|_| (node(), node())).collect();
        let start = node();
        let links: Vec<Link<u32>> = pairs
            .iter()
            .map(|(from, to)| Link {
                from: *from,
                to: *to,
                quantity: Some(1),
            })
            .collect();
        let turned: Vec<Link<u32>> = links
            .iter()
            .map(|link| Link {
                from: link.to,
                to: link.from,
                quantity: link.quantity,
            })
            .collect();
        let index = Index::new(&links);
        for (trace, links) in [(index.forward(start), &links), (index.back(start), &turned)] {
            let expected = slowly(start, links);
            let found: BTreeMap<u32, usize> = trace
                .reached
                .iter()
                .map(|each| (each.node, each.depth))
                .collect();
            assert_eq!(found, expected, "graph {seed}");
            assert_eq!(found.len(), trace.reached.len(), "each node once");
            let steps: BTreeSet<(u32, u32)> =
                links.iter().map(|link| (link.from, link.to)).collect();
            for (node, depth) in expected {
                let way = trace.way(node);
                assert_eq!(way.len(), depth + 1);
                assert!(
                    way.windows(2)
                        .all(|step| steps.contains(&(step[0], step[1])))
                );
            }
            assert!(trace.way(99).is_empty());
        }
    }
}

/// Goods handed down from layer to layer, nothing lost.
fn flow(seed: u64) -> (Vec<Link<u32>>, i64) {
    let mut chance = Chance(seed);
    let mut links = Vec::new();
    let mut made = 0;
    let mut held: BTreeMap<u32, i64> = BTreeMap::new();
    for pour in 1..=3 {
        links.push(Link {
            from: 0,
            to: pour,
            quantity: None,
        });
        let units = chance.between(1, 90);
        made += units;
        held.insert(pour, units);
    }
    for layer in 1..=3 {
        let mut next: BTreeMap<u32, i64> = BTreeMap::new();
        for (node, mut left) in held {
            while left > 0 {
                let units = chance.between(1, left);
                let to = layer * 100 + u32::try_from(chance.between(0, 4)).unwrap();
                links.push(Link {
                    from: node,
                    to,
                    quantity: Some(units),
                });
                *next.entry(to).or_default() += units;
                left -= units;
            }
        }
        held = next;
    }
    (links, made)
}

#[test]
fn what_was_made_is_what_stands_at_the_ends() {
    for seed in 0..2_000 {
        let (mut links, made) = flow(seed);
        let balance = Index::new(&links).forward(0).balance(&BTreeMap::new());
        assert!(balance.adds_up(), "graph {seed}: {balance:?}");
        assert_eq!((balance.made, balance.at_ends), (made, made));
        // One link that nobody counted, and it no longer does.
        let at = links.len() - 1;
        links[at].quantity = None;
        let balance = Index::new(&links).forward(0).balance(&BTreeMap::new());
        assert!(!balance.adds_up(), "graph {seed}");
        assert_eq!(balance.uncounted, [links[at].to]);
    }
}
