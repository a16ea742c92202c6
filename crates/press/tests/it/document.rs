//! The papers of a workshop, drawn from plain texts: from nothing at all, and
//! from names longer than any paper is wide.

use label::wording::Care;
use press::paper::document::{
    BatchRecord, Bill, BillLine, Blank, CardSize, CareCard, CareCards, Draw, LineSheet, Maker,
    Mind, Notice, NoticePart, On, PackingSlip, PourSheet, PriceList, PriceSign, PriceSigns,
    RecallNotice, Says, ScentGroup, ScentList, SlipLine, ToWeigh, Told, UnitWeights, Used, Ware,
    Weighed,
};
use press::paper::{Fonts, PageSize};

use super::paper::MADE;

/// Every paper with the same text wherever a text may stand.
fn papers(text: &str) -> Vec<(&'static str, Box<dyn Draw>)> {
    let of = || text.to_owned();
    let list = || vec![of(), of()];
    let blanks = || vec![Blank::new(text, text), Blank::new(text, "")];
    let maker = || Maker {
        name: of(),
        lines: list(),
        contacts: list(),
    };
    let wares = || {
        vec![
            Ware {
                name: of(),
                format: of(),
                net_weight: of(),
                price: of(),
                suggested: of(),
            };
            2
        ]
    };
    let weigh = ToWeigh {
        name: of(),
        plan: String::new(),
        target: of(),
        running: of(),
        weighed: of(),
    };
    let weighed = Weighed {
        name: of(),
        plan: of(),
        target: of(),
        weighed: of(),
        difference: of(),
    };
    let card = CareCard {
        name: of(),
        heading: of(),
        signal: of(),
        uses: vec![of()],
        cautions: vec![Mind {
            care: Care::HotWax,
            text: of(),
        }],
        maker: vec![of()],
    };
    let sign = PriceSign {
        name: of(),
        price: of(),
        below: of(),
    };
    let part = |says| NoticePart {
        heading: of(),
        says,
    };
    let pour = PourSheet {
        what: of(),
        lot: of(),
        about: list(),
        weigh: vec![weigh],
        notes: list(),
        at_the_pot: blanks(),
        came_out: blanks(),
        units: blanks(),
        ready: of(),
        cautions: vec![of()],
    };
    let record = BatchRecord {
        what: of(),
        lot: of(),
        verdict: of(),
        about: blanks(),
        weighed: vec![weighed],
        total: of(),
        supplies: vec![Used {
            name: of(),
            amount: of(),
            came_as: of(),
        }],
        supplies_note: of(),
        came_out: blanks(),
        units: Some(UnitWeights {
            weights: list(),
            words: list(),
        }),
        corrections: list(),
        told: vec![Told {
            day: of(),
            who: of(),
            what: of(),
        }],
    };
    let slip = PackingSlip {
        maker: maker(),
        day: of(),
        to: list(),
        order: of(),
        sent: of(),
        parcels: of(),
        lines: vec![SlipLine {
            good: of(),
            lot: of(),
            quantity: of(),
        }],
        total: of(),
    };
    let bill = Bill {
        title: format!("Invoice {text}"),
        maker: maker(),
        day: of(),
        to: list(),
        facts: blanks(),
        lines: vec![BillLine {
            what: of(),
            lots: of(),
            quantity: "24".to_owned(),
            each: "€6.00".to_owned(),
            amount: "€144.00".to_owned(),
        }],
        sums: vec![Blank::new(text, "€144.00"); 2],
        notes: list(),
        signed: list(),
    };
    let notice = Notice {
        language: "en",
        title: of(),
        maker: of(),
        parts: vec![
            part(Says::Text(list())),
            part(Says::Loud(list())),
            part(Says::Rows(list(), vec![list(), list()])),
            part(Says::Ruled(2)),
        ],
        page_of: None,
    };
    vec![
        ("pour sheet", Box::new(pour)),
        ("batch record", Box::new(record)),
        (
            "care cards",
            Box::new(CareCards {
                card,
                size: CardSize::A5,
                language: "en",
            }),
        ),
        (
            "price signs",
            Box::new(PriceSigns {
                signs: vec![sign; 9],
                maker: of(),
                size: CardSize::A7,
            }),
        ),
        (
            "scent list",
            Box::new(ScentList {
                maker: of(),
                below: of(),
                groups: vec![ScentGroup {
                    name: of(),
                    price: String::new(),
                    goods: vec![(of(), String::new())],
                }],
            }),
        ),
        (
            "price list",
            Box::new(PriceList {
                maker: maker(),
                day: of(),
                goods: wares(),
                notes: list(),
            }),
        ),
        (
            "line sheet",
            Box::new(LineSheet {
                maker: maker(),
                day: of(),
                goods: wares(),
                minimum: of(),
                terms: of(),
                notes: list(),
            }),
        ),
        ("packing slip", Box::new(slip)),
        ("bill", Box::new(bill)),
        (
            "recall",
            Box::new(RecallNotice {
                notices: vec![notice],
            }),
        ),
    ]
}

#[test]
fn any_text_stays_on_its_page() {
    let fonts = Fonts::new();
    let long = "Peat & Plum with a name that never ends ".repeat(5);
    let unbroken = "Lavendelblütenhonigwachsschmelze".repeat(7);
    for text in ["", "<b>&\"x\"</b>", long.trim(), &unbroken] {
        for size in [PageSize::A4, PageSize::Letter] {
            let on = On {
                size,
                made: MADE,
                day: "25 November 2026".to_owned(),
                from: text.to_owned(),
            };
            for (name, paper) in papers(text) {
                let document = paper.draw(&fonts, &on);
                assert!(!document.pages.is_empty(), "{name}");
                for page in &document.pages {
                    for (said, ink) in page.text_boxes() {
                        assert!(
                            ink.x0 > 0.0 && ink.x1 < page.width_mm && ink.y1 < page.height_mm,
                            "{name}: {said:?} at {ink:?}"
                        );
                    }
                }
                let pdf = document.pdf();
                assert!(pdf.is_ok(), "{name} of {text:?}: {pdf:?}");
            }
        }
    }
}

/// A card is a whole part of its page: on A4 the sizes of ISO 216.
#[test]
fn cards_are_equal_parts_of_a_page() {
    for (size, width, height) in [
        (CardSize::A5, 210.0, 148.5),
        (CardSize::A6, 105.0, 148.5),
        (CardSize::A7, 105.0, 74.25),
    ] {
        assert_eq!(size.size_mm((210.0, 297.0)), (width, height));
    }
}
