//! The recall notice.

use hazard::Language;
use jiff::civil::Date;
use measure::Problem;
use press::paper::document::{Draw, Notice, NoticePart, RecallNotice, Says};
use workshop::facts::SupplyId;
use workshop::{Pour, uses_of};

use super::{Asked, LISTED, NoPaper, and, what_of};

/// The words of a notice in one language.
///
/// # Source
///
/// Regulation (EU) 2023/988, Article 36(2), from memory: a heading in fixed
/// words, the product with its name and lot, the hazard without words that make
/// it look small, what to do with an instruction to stop using it, the remedy,
/// how to reach someone, and the wish that it be passed on. The headings in
/// German, French and Spanish are our own translation.
struct Words {
    title: &'static str,
    what: &'static str,
    head: [&'static str; 3],
    sold: &'static str,
    wrong: &'static str,
    act: &'static str,
    acts: [&'static str; 4],
    remedy: &'static str,
    reach: &'static str,
    page: fn(usize, usize) -> String,
    day: &'static str,
}

const EN: Words = Words {
    title: "Product safety recall",
    what: "What is called back",
    head: ["Good", "Lot", "Poured on"],
    sold: "Where and when it was sold",
    wrong: "What is wrong with it",
    act: "What you do now",
    acts: [
        "Stop using it at once, also if nothing has happened.",
        "Keep it away from children, and do not pass it on.",
        "Look for the lot’s code on the label, and tell it to us.",
        "Tell everyone to whom you gave or sold one.",
    ],
    remedy: "What we do for you",
    reach: "How to reach us",
    page: |page, pages| format!("page {page} of {pages}"),
    day: "%-d %b %Y",
};
const DE: Words = Words {
    title: "Produktsicherheitsrückruf",
    what: "Was zurückgerufen wird",
    head: ["Ware", "Los", "Gegossen am"],
    sold: "Wo und wann es verkauft wurde",
    wrong: "Was daran gefährlich ist",
    act: "Was Sie jetzt tun",
    acts: [
        "Sofort nicht mehr benutzen, auch wenn nichts geschehen ist.",
        "Von Kindern fernhalten und nicht weitergeben.",
        "Den Code des Loses auf dem Etikett suchen und uns nennen.",
        "Allen sagen, denen Sie eines geschenkt oder verkauft haben.",
    ],
    remedy: "Was wir für Sie tun",
    reach: "So erreichen Sie uns",
    page: |page, pages| format!("Seite {page} von {pages}"),
    day: "%d.%m.%Y",
};
const FR: Words = Words {
    title: "Rappel de produit pour des raisons de sécurité",
    what: "Ce qui est rappelé",
    head: ["Produit", "Lot", "Coulé le"],
    sold: "Où et quand il a été vendu",
    wrong: "Quel est le danger",
    act: "Ce que vous faites maintenant",
    acts: [
        "Cessez tout de suite de l’utiliser, même si rien ne s’est passé.",
        "Tenez-le loin des enfants et ne le donnez à personne.",
        "Cherchez le code du lot sur l’étiquette et indiquez-le-nous.",
        "Prévenez tous ceux à qui vous en avez donné ou vendu.",
    ],
    remedy: "Ce que nous faisons pour vous",
    reach: "Comment nous joindre",
    page: |page, pages| format!("page {page} sur {pages}"),
    day: "%d/%m/%Y",
};
const ES: Words = Words {
    title: "Recuperación de producto por motivos de seguridad",
    what: "Qué se retira",
    head: ["Producto", "Lote", "Vertido el"],
    sold: "Dónde y cuándo se vendió",
    wrong: "Cuál es el peligro",
    act: "Qué debe hacer ahora",
    acts: [
        "Deje de usarlo de inmediato, aunque no haya pasado nada.",
        "Manténgalo lejos de los niños y no lo dé a nadie.",
        "Busque el código del lote en la etiqueta y díganoslo.",
        "Avise a todos a quienes haya dado o vendido alguno.",
    ],
    remedy: "Qué hacemos por usted",
    reach: "Cómo ponerse en contacto con nosotros",
    page: |page, pages| format!("página {page} de {pages}"),
    day: "%d/%m/%Y",
};

const fn words(language: Language) -> &'static Words {
    match language {
        Language::En => &EN,
        Language::De => &DE,
        Language::Fr => &FR,
        Language::Es => &ES,
    }
}

pub(super) fn recall_notice(asked: &Asked) -> Result<Box<dyn Draw>, NoPaper> {
    let lots = lots(asked)?;
    let maker = asked.maker();
    let mut who = vec![maker.name];
    who.extend(maker.lines.iter().cloned());
    let who = who.join(", ");
    let reach = maker.contacts;
    let notices = asked
        .languages()?
        .into_iter()
        .map(|language| notice(asked, language, &lots, &who, &reach))
        .collect();
    Ok(Box::new(RecallNotice { notices }))
}

fn notice(
    asked: &Asked,
    language: Language,
    lots: &[&Pour],
    who: &str,
    reach: &[String],
) -> Notice {
    let words = words(language);
    let rows = lots
        .iter()
        .map(|pour| {
            let poured = pour.poured.map(|day| day.strftime(words.day).to_string());
            vec![
                what_of(asked.workshop, pour),
                pour.lot.clone(),
                poured.unwrap_or_default(),
            ]
        })
        .collect();
    let or_ruled = |field: &str, lines: usize| match asked.filled.some(field) {
        Some(text) => Says::Text(vec![text.to_owned()]),
        None => Says::Ruled(lines),
    };
    let part = |heading: &str, says| NoticePart {
        heading: heading.to_owned(),
        says,
    };
    Notice {
        language: language.code(),
        title: words.title.to_owned(),
        maker: who.to_owned(),
        parts: vec![
            part(
                words.what,
                Says::Rows(words.head.map(str::to_owned).into(), rows),
            ),
            part(words.sold, or_ruled("sold", 1)),
            part(words.wrong, or_ruled("reason", 2)),
            part(words.act, Says::Loud(words.acts.map(str::to_owned).into())),
            part(words.remedy, or_ruled("remedy", 1)),
            part(
                words.reach,
                if reach.is_empty() {
                    Says::Ruled(2)
                } else {
                    Says::Text(reach.to_vec())
                },
            ),
        ],
        page_of: Some(words.page),
    }
}

/// The lots that come back: the one named, or every poured one that holds the
/// supply.
fn lots<'a>(asked: &Asked<'a>) -> Result<Vec<&'a Pour>, NoPaper> {
    match (asked.filled.some("lot"), asked.filled.some("supply")) {
        (Some(_), Some(supply)) => Err(Problem::new(
            "supply",
            supply,
            "a lot is named already",
            "name the lot or the supply, not both",
        )
        .into()),
        (_, Some(_)) => lots_of_supply(asked),
        (lot, None) => {
            if let (Some(_), Some(code)) = (lot, asked.filled.some("supplier-lot")) {
                return Err(Problem::new(
                    "supplier-lot",
                    code,
                    "it narrows a supply, and a lot is named",
                    "name the supply with it",
                )
                .into());
            }
            let pour = asked.lot()?;
            if pour.poured.is_none() || pour.abandoned.is_some() {
                let wrong = format!("it is {}, so none of it was sold", pour.stage().word());
                let accepted = "name a lot that was poured";
                return Err(Problem::new("lot", &pour.lot, wrong, accepted).into());
            }
            Ok(vec![pour])
        }
    }
}

fn lots_of_supply<'a>(asked: &Asked<'a>) -> Result<Vec<&'a Pour>, NoPaper> {
    let supply = asked.supply()?;
    let since = match asked.filled.some("supplier-lot") {
        Some(code) => Some(came_on(asked, supply.id, code)?),
        None => None,
    };
    let mut lots: Vec<&Pour> = uses_of(asked.workshop, supply.id)
        .filter_map(|used| asked.workshop.pour(used.pour))
        .filter(|pour| {
            // What was given up was never sold.
            pour.abandoned.is_none()
                && pour
                    .poured
                    .is_some_and(|day| since.is_none_or(|since| day >= since))
        })
        .collect();
    lots.sort_by_key(|pour| (pour.poured, pour.id));
    if lots.is_empty() {
        return Err(Problem::new(
            "supply",
            &supply.name,
            "no poured lot holds it",
            "name another supply, or the lot itself",
        )
        .into());
    }
    Ok(lots)
}

/// The day a supplier's lot of a supply first came in.
fn came_on(asked: &Asked, supply: SupplyId, code: &str) -> Result<Date, Problem> {
    let mut known: Vec<&str> = Vec::new();
    // Deliveries may be written down out of order, so the earliest day is sought.
    let mut first: Option<Date> = None;
    for receipt in asked.workshop.receipts() {
        for line in receipt.lines.iter().filter(|line| line.supply == supply) {
            let own = line.supplier_lot.trim();
            if own.eq_ignore_ascii_case(code.trim()) {
                first = Some(first.map_or(receipt.day, |day| day.min(receipt.day)));
            } else if !own.is_empty() {
                known.push(own);
            }
        }
    }
    if let Some(day) = first {
        return Ok(day);
    }
    known.truncate(LISTED);
    let accepted = if known.is_empty() {
        "its deliveries carry no codes; leave it out, and every lot with that supply is named"
            .to_owned()
    } else {
        format!("it came as {}", and(&known))
    };
    Err(Problem::new(
        "supplier-lot",
        code,
        "no delivery of it carries that code",
        accepted,
    ))
}
