//! Papers of the stall: care cards, price signs, the scent list and the price
//! list.

use hazard::Language;
use label::caution::{self, Kind};
use label::wording::Care;
use measure::Problem;
use press::paper::document::{
    CareCard, CareCards, Draw, Mind, PriceList, PriceSign, PriceSigns, ScentGroup, ScentList, Ware,
};
use workshop::Product;
use workshop::facts::Format;

use super::{Asked, NoPaper, long_day};
use crate::forms::FORMATS;

/// How a good is used, beside what is to be minded. Common practice, no source;
/// English, German, French, Spanish.
const USE_OF_MELT: [&str; 4] = [
    "Put one piece into the dish of a warmer and let it melt: the scent fills the room.",
    "Ein Stück in die Schale einer Duftlampe legen und schmelzen lassen: Der Duft erfüllt den Raum.",
    "Mettre un morceau dans la coupelle d’un brûle-parfum et laisser fondre\u{202f}: le parfum emplit la pièce.",
    "Poner un trozo en el platillo de un quemador y dejar que se funda: el aroma llena la habitación.",
];
const USE_OF_CANDLE: [&str; 4] = [
    "The first time, let the wax melt to the edge before you put it out.",
    "Beim ersten Mal brennen lassen, bis das Wachs bis zum Rand geschmolzen ist.",
    "La première fois, laisser fondre la cire jusqu’au bord avant d’éteindre.",
    "La primera vez, dejar que la cera se funda hasta el borde antes de apagar.",
];
const HEADINGS: [[&str; 4]; 2] = [
    [
        "How to use your wax melt",
        "So wird das Duftwachs benutzt",
        "Comment utiliser votre fondant parfumé",
        "Cómo usar su cera aromática",
    ],
    [
        "How to burn your candle",
        "So brennt die Kerze gut und sicher",
        "Comment brûler votre bougie",
        "Cómo encender su vela",
    ],
];

/// In the sentence about the distance between candles: taken for the maker's
/// figure, and then left open.
const OPEN_DISTANCE: u16 = 1;

const fn nth(language: Language) -> usize {
    match language {
        Language::En => 0,
        Language::De => 1,
        Language::Fr => 2,
        Language::Es => 3,
    }
}

const fn spoken(language: Language) -> label::wording::Language {
    use label::wording::Language as Of;
    match language {
        Language::En => Of::En,
        Language::De => Of::De,
        Language::Fr => Of::Fr,
        Language::Es => Of::Es,
    }
}

pub(super) fn care_cards(asked: &Asked) -> Result<Box<dyn Draw>, NoPaper> {
    let good = asked.good()?;
    let size = asked.card_size()?;
    let language = asked.languages()?.first().copied().unwrap_or(Language::En);
    let has_wick = asked.format(good).is_some_and(Format::has_wick);
    let apart = distance(asked.filled.get("apart"))?;
    let kind = if has_wick {
        Kind::Candle {
            apart_cm: Some(apart.unwrap_or(OPEN_DISTANCE)),
            floating: false,
        }
    } else {
        Kind::Melt
    };
    let said = caution::cautions(asked.market()?, kind, spoken(language));
    let cautions = said
        .lines
        .iter()
        .map(|line| Mind {
            care: line.care,
            text: match (line.care, apart) {
                // Nobody gave the figure, and none is made up: it is written in.
                (Care::Apart, None) => line
                    .text
                    .replace(&format!("{OPEN_DISTANCE} cm"), "_____ cm"),
                _ => line.text.clone(),
            },
        })
        .collect();
    let heading = HEADINGS[usize::from(has_wick)][nth(language)];
    // A candle that stands free has no edge for its wax to reach.
    let how = match asked.format(good) {
        Some(Format::FilledCandle) => Some(USE_OF_CANDLE[nth(language)]),
        Some(Format::FreeStandingCandle) | None => None,
        Some(Format::SnapBar | Format::Clamshell | Format::Shapes) => {
            Some(USE_OF_MELT[nth(language)])
        }
    };
    let maker = asked.maker();
    let mut reached = vec![maker.name];
    reached.extend(maker.contacts);
    reached.retain(|part| !part.is_empty());
    Ok(Box::new(CareCards {
        card: CareCard {
            name: good.name.clone(),
            heading: heading.to_owned(),
            signal: said.signal.unwrap_or_default().to_owned(),
            uses: how.into_iter().map(str::to_owned).collect(),
            cautions,
            maker: vec![reached.join(" · ")],
        },
        size,
        language: language.code(),
    }))
}

/// A distance in centimetres: `10 cm`, `10`.
fn distance(text: &str) -> Result<Option<u16>, Problem> {
    if text.is_empty() {
        return Ok(None);
    }
    let figure = text.trim().trim_end_matches("cm").trim();
    match figure.parse() {
        Ok(cm) if (1..=200).contains(&cm) => Ok(Some(cm)),
        _ => Err(Problem::new(
            "apart",
            text,
            "it is not a distance between candles",
            "write whole centimetres, such as 10 cm",
        )),
    }
}

pub(super) fn price_signs(asked: &Asked) -> Result<Box<dyn Draw>, NoPaper> {
    let signs = asked
        .goods()?
        .into_iter()
        .map(|good| PriceSign {
            name: good.name.clone(),
            price: price(asked, good),
            below: below(asked, good),
        })
        .collect::<Vec<_>>();
    if signs.is_empty() {
        return Err(Problem::new(
            "product",
            "",
            "nothing that is sold is written down yet",
            "add something you sell first",
        )
        .into());
    }
    Ok(Box::new(PriceSigns {
        signs,
        maker: asked.maker().name,
        size: asked.card_size()?,
    }))
}

/// What a good usually costs; nothing where no price is set.
pub(super) fn price(asked: &Asked, good: &Product) -> String {
    let prices = good.prices;
    prices.map_or_else(String::new, |prices| asked.price(prices.typical))
}

/// What stands under a good's name: what it is, unless the name says so, and
/// its declared weight.
fn below(asked: &Asked, good: &Product) -> String {
    let word = asked.format_word(good);
    let name = good.name.to_lowercase();
    let said = word
        .rsplit(' ')
        .next()
        .is_some_and(|last| name.contains(last));
    let word = if said { String::new() } else { word };
    [word, asked.declared(good)]
        .into_iter()
        .filter(|text| !text.is_empty())
        .collect::<Vec<_>>()
        .join(" · ")
}

#[expect(
    clippy::unnecessary_wraps,
    reason = "every paper is composed by a function of this form"
)]
pub(super) fn scent_list(asked: &Asked) -> Result<Box<dyn Draw>, NoPaper> {
    let mut groups = Vec::new();
    for (_, format) in FORMATS {
        let goods: Vec<&Product> = asked
            .workshop
            .products()
            .filter(|good| asked.format(good) == Some(format))
            .collect();
        if goods.is_empty() {
            continue;
        }
        let prices: Vec<String> = goods.iter().map(|good| price(asked, good)).collect();
        let same = prices
            .first()
            .filter(|first| goods.len() > 1 && prices.iter().all(|price| price == *first))
            .cloned()
            .unwrap_or_default();
        let goods = goods
            .iter()
            .zip(prices)
            .map(|(good, price)| {
                let own = if same.is_empty() {
                    price
                } else {
                    String::new()
                };
                (good.name.clone(), own)
            })
            .collect();
        groups.push(ScentGroup {
            name: several(format).to_owned(),
            price: same,
            goods,
        });
    }
    if groups.is_empty() {
        groups.push(ScentGroup {
            name: "Nothing that is sold is written down yet.".to_owned(),
            ..ScentGroup::default()
        });
    }
    Ok(Box::new(ScentList {
        maker: asked.maker().name,
        below: String::new(),
        groups,
    }))
}

const fn several(format: Format) -> &'static str {
    match format {
        Format::SnapBar => "Snap bars",
        Format::Clamshell => "Clamshells",
        Format::Shapes => "Wax shapes",
        Format::FilledCandle => "Filled candles",
        Format::FreeStandingCandle => "Free-standing candles",
    }
}

#[expect(
    clippy::unnecessary_wraps,
    reason = "every paper is composed by a function of this form"
)]
pub(super) fn price_list(asked: &Asked) -> Result<Box<dyn Draw>, NoPaper> {
    let goods = asked
        .workshop
        .products()
        .map(|good| Ware {
            price: price(asked, good),
            ..ware(asked, good)
        })
        .collect();
    Ok(Box::new(PriceList {
        maker: asked.maker(),
        day: long_day(asked.today),
        goods,
        notes: asked.lines("note").into_iter().map(str::to_owned).collect(),
    }))
}

/// A good as lists name it, its prices left open.
pub(super) fn ware(asked: &Asked, good: &Product) -> Ware {
    Ware {
        name: good.name.clone(),
        format: asked.format_word(good),
        net_weight: asked.declared(good),
        ..Ware::default()
    }
}
