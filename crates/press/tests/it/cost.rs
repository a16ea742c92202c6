//! Pictures of money: the price ladder and the parts of a price.

use press::{
    ChannelLadder, ChannelRung, CostPart, CostParts, EqualAt, LadderFormat, Picture, PriceCurve,
    PriceLadder, PricePoint, channel_ladder, cost_parts, price_curve, price_ladder,
};

use crate::{shown, usd};

pub(crate) const BAR: LadderFormat = LadderFormat {
    name: "bar",
    low: 4.0,
    typical: 5.0,
    high: 6.0,
    cost: Some(1.1),
};
pub(crate) const CLAMSHELL: LadderFormat = LadderFormat {
    name: "clamshell",
    low: 5.0,
    typical: 6.0,
    high: 8.0,
    cost: Some(1.4),
};

pub(crate) fn ladder(formats: &[LadderFormat], equal: Option<EqualAt>) -> Option<Picture> {
    price_ladder(&PriceLadder {
        formats,
        equal,
        cost_word: "cost of one",
        write: &usd,
    })
}

pub(crate) const EQUAL: EqualAt = EqualAt {
    format: 0,
    other: 1,
    price: 3.84,
};

pub(crate) const PARTS: [CostPart; 4] = [
    CostPart {
        name: "materials",
        amount: 0.78,
    },
    CostPart {
        name: "wrap and label",
        amount: 0.21,
    },
    CostPart {
        name: "labour",
        amount: 1.25,
    },
    CostPart {
        name: "overhead",
        amount: 0.3,
    },
];

pub(crate) fn parts(parts: &[CostPart], price: Option<f64>) -> Option<Picture> {
    cost_parts(&CostParts {
        name: "bar",
        price,
        parts,
        left_word: "profit",
        write: &usd,
    })
}

pub(crate) fn curve() -> Option<Picture> {
    let points = [(2.5, 165.0), (3.0, 173.0), (3.5, 165.0)].map(|(price, leaves)| PricePoint {
        price,
        leaves,
        low: leaves - 15.0,
        high: leaves + 20.0,
    });
    price_curve(&PriceCurve {
        title: "A day at 3.00 USD leaves about 173.00 USD",
        curve: &points,
        prices: &points,
        days: &[(2.5, 120.0), (3.0, 190.0)],
        best: Some((3.0, 173.0)),
        alike: Some(((2.69, 3.31), "within 2 % of the most")),
        write: &usd,
        write_left: &usd,
    })
}

pub(crate) fn channels() -> Option<Picture> {
    let rungs = [("the stall", 5.0, 7.0), ("shops", 8.5, 3.5)];
    let rungs = rungs.map(|(name, needs, asks)| ChannelRung {
        name,
        needs: Some(needs),
        asks: Some(asks),
    });
    channel_ladder(&ChannelLadder {
        wanted: "to lose nothing",
        rungs: &rungs,
        write: &usd,
    })
}

#[test]
fn formats_stand_side_by_side() {
    insta::assert_snapshot!(shown(&ladder(&[BAR, CLAMSHELL], Some(EQUAL)).unwrap()));
}

#[test]
fn the_title_is_the_price_that_earns_the_same() {
    let picture = ladder(&[BAR, CLAMSHELL], Some(EQUAL)).unwrap();
    assert_eq!(
        picture.title,
        "At 3.84 USD a bar earns what a clamshell does"
    );
    let picture = ladder(&[BAR, CLAMSHELL], None).unwrap();
    assert_eq!(
        picture.title,
        "Typical price: bar 5.00 USD and clamshell 6.00 USD"
    );
    // A price that speaks of a format that is not there is left out.
    let lost = EqualAt { other: 9, ..EQUAL };
    assert_eq!(ladder(&[BAR, CLAMSHELL], Some(lost)).unwrap(), picture);
}

#[test]
fn a_format_keeps_its_number_when_one_before_it_has_no_price() {
    let unpriced = LadderFormat {
        typical: f64::NAN,
        ..BAR
    };
    let equal = EqualAt {
        format: 2,
        other: 1,
        price: 5.0,
    };
    let picture = ladder(
        &[
            unpriced,
            CLAMSHELL,
            LadderFormat {
                name: "candle",
                ..BAR
            },
        ],
        Some(equal),
    )
    .unwrap();
    assert_eq!(
        picture.title,
        "At 5.00 USD a candle earns what a clamshell does"
    );
    assert_eq!(picture.table.rows.len(), 2);
}

#[test]
fn a_price_is_stacked_from_its_parts() {
    insta::assert_snapshot!(shown(&parts(&PARTS, Some(5.0)).unwrap()));
}

#[test]
fn a_price_below_cost_says_what_is_short() {
    let picture = parts(&PARTS, Some(2.0)).unwrap();
    assert_eq!(
        picture.title,
        "At 2.00 USD a bar sells for 0.54 USD less than it costs"
    );
    assert!(
        picture.svg.contains("mark first"),
        "the price is a line across the stack"
    );
    assert_eq!(parts(&PARTS, None).unwrap().title, "A bar costs 2.54 USD");
}

#[test]
fn no_price_and_no_cost_is_no_picture() {
    assert_eq!(ladder(&[], None), None);
    assert_eq!(parts(&[], Some(5.0)), None);
    assert_eq!(
        parts(
            &[CostPart {
                name: "labour",
                amount: 0.0
            }],
            Some(5.0)
        ),
        None
    );
}

/// With three names too long for one row, the row of the lowest prices stands
/// lower, and once left a higher break-even price no room.
#[test]
fn a_break_even_price_above_all_others_stays_in_the_picture() {
    let name = "six-cell clamshell, large";
    let low = LadderFormat {
        name,
        low: 1.0,
        typical: 2.0,
        high: 3.0,
        cost: None,
    };
    let picture = ladder(
        &[low, low, low],
        Some(EqualAt {
            price: 60.0,
            ..EQUAL
        }),
    )
    .unwrap();
    assert!(
        !picture.svg.contains("=\"-"),
        "nothing stands above the upper edge"
    );
    assert!(picture.svg.contains(">60.00 USD<"));
}

#[test]
fn a_long_name_is_broken_below_its_ladder_and_not_cut() {
    let long = LadderFormat {
        name: "Harbour Fig snap bar",
        ..BAR
    };
    let picture = ladder(&[long, CLAMSHELL], None).unwrap();
    assert!(picture.svg.contains(">Harbour Fig<"), "{}", picture.svg);
    assert!(picture.svg.contains(">snap bar<"), "{}", picture.svg);
}
