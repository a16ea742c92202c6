//! What no input may do: leave its text, draw what is no figure, or panic.

use press::{
    BarToTarget, ChannelLadder, ChannelRung, ControlChart, ControlLot, CostPart, CostParts,
    CountChance, CountChances, CureLot, CureRack, CureState, EarlierPour, EqualAt, FillRange,
    LabelLadder, LabelRung, LadderFormat, Limited, MarkedLoad, Nominal, Noun, Pictogram, Picture,
    PriceCurve, PriceLadder, PricePoint, UnitWeights, bar_to_target, channel_ladder, control_chart,
    cost_parts, count_chances, cure_rack, fill_range, label_ladder, price_curve, price_ladder,
    unit_weights,
};
use proptest::prelude::*;

use crate::{bench, cost, label, oz, pours, rack};

/// One of each.
pub(crate) fn all() -> Vec<Picture> {
    [
        pours::weighed(&pours::LOT),
        rack::chart(&rack::LOTS),
        pours::advised(&pours::POURS),
        pours::chances(&pours::SPREAD),
        cost::ladder(&[cost::BAR, cost::CLAMSHELL], Some(cost::EQUAL)),
        cost::parts(&cost::PARTS, Some(5.0)),
        rack::rack(&rack::lots(), 17),
        label::ladder(&label::RUNGS, Some((8.0, 2))),
        Some(bench::bar(2.0, 0.05, 1.25)),
        cost::curve(),
        cost::channels(),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// Every picture drawn with this text wherever a maker's text goes, and these
/// figures wherever a figure goes.
#[expect(
    clippy::many_single_char_names,
    clippy::cast_possible_truncation,
    reason = "six figures of no meaning, and any count or day will do"
)]
fn drawn(text: &str, [a, b, c, d, e, f]: [f64; 6]) -> Vec<Picture> {
    let noun = Noun {
        one: text,
        many: text,
    };
    let write = |figure: f64| format!("{}{text}", oz(figure));
    let n = |figure: f64| figure.to_bits() as usize;
    let day = |figure: f64| figure.to_bits() as i32;
    let format = |low, typical, high| LadderFormat {
        name: text,
        low,
        typical,
        high,
        cost: Some(d),
    };
    let limited = |value, low, high| Limited { value, low, high };
    let point = |price, leaves, low, high| PricePoint {
        price,
        leaves,
        low,
        high,
    };
    let codes = [text, text];
    let lots: Vec<CureLot> = [
        (a, b, CureState::Curing),
        (c, d, CureState::Ready),
        (e, f, CureState::Held),
    ]
    .map(|(poured, ready, state)| CureLot {
        name: text,
        poured: day(poured),
        ready: day(ready),
        state,
    })
    .into();
    [
        unit_weights(&UnitWeights {
            noun,
            weights: &[a, b, c, a, a],
            nominal: Some(Nominal {
                word: text,
                weight: d,
            }),
            next: Some((e, f)),
            write: &write,
        }),
        control_chart(&ControlChart {
            noun,
            lots: &[limited(a, b, c), limited(d, e, f), limited(f, a, e)].map(|figure| {
                ControlLot {
                    name: text,
                    units: n(figure.value),
                    average: figure,
                    spread: figure,
                    in_a_run: figure.value > 1.0,
                }
            }),
            centre: a,
            usual: Some((b.min(c), b.max(c))),
            spread_word: text,
            write: &write,
        }),
        fill_range(&FillRange {
            noun,
            want: n(a),
            middle: b,
            advised: b,
            low: b.min(c),
            high: b.max(c),
            pours: &[
                EarlierPour {
                    melted: d,
                    full: n(e),
                    of: n(f),
                },
                EarlierPour {
                    melted: e,
                    full: n(f),
                    of: n(e),
                },
            ],
            write: &write,
        }),
        count_chances(&CountChances {
            noun,
            amount: text,
            chances: &[a, b, c, d].map(|figure| CountChance {
                count: n(figure),
                chance: figure,
            }),
        }),
        price_ladder(&PriceLadder {
            formats: &[format(a, b, c), format(c, d, e), format(d, e, f)],
            equal: Some(EqualAt {
                format: 0,
                other: 1,
                price: f,
            }),
            cost_word: text,
            write: &write,
        }),
        cost_parts(&CostParts {
            name: text,
            price: Some(a),
            parts: &[b, c, d, e, f, a, b].map(|amount| CostPart { name: text, amount }),
            left_word: text,
            write: &write,
        }),
        cure_rack(&CureRack {
            lots: &lots,
            today: day(a),
            write_day: &|day| format!("{day}{text}"),
        }),
        label_ladder(&LabelLadder {
            rungs: &[(a, b), (b, c), (d, e)].map(|(from, to)| LabelRung {
                from,
                to,
                span: text,
                title: text,
                signal: Some(text),
                pictograms: &Pictogram::ALL,
                codes: &codes,
            }),
            limit: Some(MarkedLoad { load: e, text }),
            now: Some(MarkedLoad { load: f, text }),
            at: Some(n(a) % 4),
            of: text,
        }),
        price_curve(&PriceCurve {
            title: text,
            curve: &[(a, b), (c, d), (e, f)].map(|(price, leaves)| point(price, leaves, c, d)),
            prices: &[(a, b), (c, d)].map(|(price, leaves)| point(price, leaves, e, f)),
            days: &[(a, b), (e, f)],
            best: Some((c, d)),
            alike: Some(((a, f), text)),
            write: &write,
            write_left: &write,
        }),
        channel_ladder(&ChannelLadder {
            wanted: text,
            rungs: &[(a, b), (c, d), (e, f)].map(|(needs, asks)| ChannelRung {
                name: text,
                needs: Some(needs),
                asks: Some(asks),
            }),
            write: &write,
        }),
        Some(bar_to_target(&BarToTarget {
            target: a,
            tolerance: b,
            weighed: c,
            write: &write,
        })),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// Reads the markup as far as to know that it is whole: every element closed in
/// turn, every attribute quoted. Returns what stands between the elements.
#[track_caller]
fn read(svg: &str) -> Vec<&str> {
    let (mut open, mut texts) = (Vec::new(), Vec::new());
    let mut rest = svg;
    while let Some(at) = rest.find('<') {
        let (text, tag) = rest.split_at(at);
        texts.push(text);
        let end = tag.find('>').expect("an element ends");
        let inside = &tag[1..end];
        assert_eq!(
            inside.matches('"').count() % 2,
            0,
            "quotes pair up: {inside}"
        );
        assert!(!inside.contains('<'));
        if let Some(name) = inside.strip_prefix('/') {
            assert_eq!(open.pop(), Some(name));
        } else if !inside.ends_with('/') {
            open.push(inside.split(' ').next().unwrap_or_default());
        }
        rest = &tag[end + 1..];
    }
    assert!(open.is_empty() && rest.is_empty());
    texts
}

#[track_caller]
fn check(picture: &Picture) {
    for text in read(&picture.svg) {
        assert!(!text.contains('>') && !text.contains('"'), "{text}");
    }
    // Places and lengths are figures within or near the picture.
    for key in [" x=\"", " x1=\"", " x2=\"", " cx=\"", " width=\""] {
        for value in picture
            .svg
            .split(key)
            .skip(1)
            .filter_map(|rest| rest.split('"').next())
        {
            if let Some(percent) = value.strip_suffix('%') {
                let percent: f64 = percent.parse().expect("a figure");
                assert!((-0.01..=100.01).contains(&percent), "{key}{value}");
            }
        }
    }
    for key in [" y=\"", " y1=\"", " y2=\"", " cy=\"", " height=\""] {
        for value in picture
            .svg
            .split(key)
            .skip(1)
            .filter_map(|rest| rest.split('"').next())
        {
            if let Some(em) = value.strip_suffix("em") {
                let em: f64 = em.parse().expect("a figure");
                assert!((0.0..=150.0).contains(&em), "{key}{value}");
            }
        }
    }
    let columns = picture.table.headers.len();
    assert!(picture.table.rows.iter().all(|row| row.len() == columns));
}

#[test]
fn the_ordinary_pictures_are_whole() {
    let all = all();
    assert_eq!(all.len(), 11);
    for picture in &all {
        check(picture);
        assert!(!picture.svg.contains("NaN") && !picture.svg.contains("inf"));
        assert!(picture.svg.contains("role=\"img\"") && picture.svg.contains("<title id="));
    }
}

#[test]
fn what_a_maker_types_stays_text() {
    let typed = "</title><script>alert(1)</script>\" onload='x' & url(#p) \u{202e}\u{0}";
    let pictures = drawn(typed, [1.0, 2.0, 3.0, 4.0, 5.0, 6.0]);
    assert_eq!(pictures.len(), 11);
    for picture in &pictures {
        check(picture);
        assert!(!picture.svg.contains("<script") && !picture.svg.contains("\" onload"));
        assert!(picture.svg.contains("&lt;/title&gt;&lt;script&gt;"));
        assert!(!picture.svg.contains('\u{0}'));
        assert!(
            picture.title.contains("<script>") || picture.text.contains("<script>"),
            "plain text outside the drawing"
        );
    }
}

#[test]
fn figures_at_the_ends_of_a_float_are_drawn_or_left_out() {
    let odd = [
        0.0,
        -0.0,
        f64::NAN,
        f64::INFINITY,
        f64::NEG_INFINITY,
        f64::MAX,
        f64::MIN,
        f64::MIN_POSITIVE,
        5e-324,
        1.0,
    ];
    for (n, first) in odd.into_iter().enumerate() {
        for second in odd {
            let third = odd[(n * 3 + 1) % odd.len()];
            for picture in drawn("x", [first, second, third, second, first, third]) {
                check(&picture);
                assert!(
                    !picture.svg.contains("NaNem")
                        && !picture.svg.contains("NaN%")
                        && !picture.svg.contains("\"NaN")
                );
            }
        }
    }
}

#[test]
fn the_same_picture_has_the_same_name_and_another_has_another() {
    let names = |picture: &Picture| {
        picture
            .svg
            .split("aria-labelledby=\"")
            .nth(1)
            .map(|rest| rest[..9].to_owned())
    };
    let of = |weights: &[f64]| names(&pours::weighed(weights).unwrap());
    assert_eq!(of(&[1.5, 1.6]), of(&[1.6, 1.5]));
    assert_ne!(of(&[1.5, 1.6]), of(&[1.5, 1.7]));
}

proptest! {
    #[test]
    fn any_input_gives_whole_markup(text in "\\PC{0,40}", figures in prop::array::uniform6(any::<f64>())) {
        for picture in drawn(&text, figures) {
            check(&picture);
        }
    }

    #[test]
    fn everyday_figures_give_whole_markup(text in "[A-Za-z &<>]{0,60}", figures in prop::array::uniform6(0.0..100.0)) {
        for picture in drawn(&text, figures) {
            check(&picture);
        }
    }
}
