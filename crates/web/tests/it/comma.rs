//! A workshop that writes a comma between whole and tenths: what a page puts
//! into a box or a link can be sent back as it stands.

use axum::http::StatusCode;

use crate::site::{Shown, Site};

/// A form of a page as a browser would send it untouched.
struct Form {
    action: String,
    posts: bool,
    fields: Vec<(String, String)>,
}

/// The value of an attribute, as a browser reads it.
fn attribute(tag: &str, name: &str) -> Option<String> {
    let text = tag
        .split(&format!(" {name}=\""))
        .nth(1)?
        .split('"')
        .next()?;
    let marks = [
        ("&quot;", "\""),
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&amp;", "&"),
    ];
    Some(marks.iter().fold(text.to_owned(), |text, (mark, letter)| {
        text.replace(mark, letter)
    }))
}

/// Every opening tag of this name, with what stands between it and its end.
fn tags<'a>(html: &'a str, name: &str) -> Vec<(&'a str, &'a str)> {
    let (open, end) = (format!("<{name}"), format!("</{name}>"));
    html.match_indices(&open)
        .map(|(at, _)| {
            let (tag, rest) = html[at..].split_once('>').unwrap();
            (tag, rest.split(&end).next().unwrap())
        })
        .filter(|(tag, _)| {
            tag[open.len()..]
                .chars()
                .next()
                .is_none_or(char::is_whitespace)
        })
        .collect()
}

/// The forms of a page, one for each button that sends it.
fn forms(html: &str) -> Vec<Form> {
    let mut forms = Vec::new();
    for (tag, inside) in tags(html, "form") {
        let mut fields: Vec<_> = tags(inside, "input")
            .iter()
            .filter_map(|(input, _)| {
                Some((
                    attribute(input, "name")?,
                    attribute(input, "value").unwrap_or_default(),
                ))
            })
            .collect();
        for (select, options) in tags(inside, "select") {
            let options = tags(options, "option");
            let chosen = options
                .iter()
                .find(|(option, _)| option.contains(" selected"));
            let value = chosen
                .or(options.first())
                .and_then(|(option, _)| attribute(option, "value"));
            fields.extend(attribute(select, "name").zip(value));
        }
        for (button, _) in tags(inside, "button") {
            let of = |name: &str| attribute(button, name);
            let method = of("formmethod").or(attribute(tag, "method"));
            let mut fields = fields.clone();
            fields.extend(of("name").zip(of("value")));
            forms.push(Form {
                action: of("formaction").or(attribute(tag, "action")).unwrap(),
                posts: method.as_deref() == Some("post"),
                fields,
            });
        }
    }
    forms
}

fn pairs(fields: &[(String, String)]) -> Vec<(&str, &str)> {
    fields
        .iter()
        .map(|(name, text)| (name.as_str(), text.as_str()))
        .collect()
}

async fn send(site: &Site, form: &Form) -> Shown {
    let fields = pairs(&form.fields);
    if form.posts {
        site.post(&form.action, &fields).await
    } else {
        site.get(&format!("{}?{}", form.action, crate::site::query(&fields)))
            .await
    }
}

/// Whether a text has a point between digits, as a figure of another workshop would.
fn has_a_point(text: &str) -> bool {
    text.as_bytes()
        .windows(3)
        .any(|three| three[0].is_ascii_digit() && three[1] == b'.' && three[2].is_ascii_digit())
}

#[track_caller]
fn gone(shown: &Shown) {
    assert!(
        shown.status.is_redirection(),
        "{} {}",
        shown.status,
        shown.text()
    );
}

/// A workshop in grams and euros with a pour at each of its stages.
async fn workshop() -> Site {
    let site = Site::empty();
    let settings = [
        ("name", "Quillfen Wax Works"),
        ("system", "metric"),
        ("currency", "EUR"),
        ("decimal_mark", "comma"),
        ("readability", "0,1 g"),
        ("expected_loss", "1,5 %"),
        ("melter", "2,7 kg"),
        ("wage", "18,50"),
        ("overhead_per_hour", "3,25"),
    ];
    gone(&site.post("/settings", &settings).await);
    for supply in [
        [
            ("kind", "wax"),
            ("name", "soy wax"),
            ("max_load", "10,5 % of wax"),
            ("flash_point", ""),
        ],
        [
            ("kind", "fragrance_oil"),
            ("name", "Harbour Fig oil"),
            ("max_load", ""),
            ("flash_point", "93,5 C"),
        ],
        [
            ("kind", "wrap"),
            ("name", "film bag"),
            ("max_load", ""),
            ("flash_point", ""),
        ],
        [
            ("kind", "additive"),
            ("name", "stearic acid"),
            ("max_load", ""),
            ("flash_point", ""),
        ],
        [
            ("kind", "dye"),
            ("name", "plum dye"),
            ("max_load", ""),
            ("flash_point", ""),
        ],
    ] {
        gone(&site.post("/shelf/new", &supply).await);
    }
    let delivery = [
        ("lines[0].supply", "1"),
        ("lines[0].amount", "4,5 kg"),
        ("lines[0].paid", "26,40"),
        ("lines[1].supply", "2"),
        ("lines[1].amount", "0,5 kg"),
        ("lines[1].paid", "24,10"),
        ("lines[2].supply", "3"),
        ("lines[2].amount", "100"),
        ("lines[2].paid", "9,90"),
        ("freight", "6,75"),
        ("spread", "by_weight"),
    ];
    gone(&site.post("/shelf/receive", &delivery).await);
    let formula = [
        ("name", "Harbour Fig"),
        ("blend[0].supply", "1"),
        ("blend[0].parts", "97,5"),
        ("blend[1].supply", "4"),
        ("blend[1].parts", "2,5"),
        ("oil", "2"),
        ("load", "7,5 % of wax"),
        ("dye", "5"),
        ("dye_dose", "0,25 %"),
        ("add_at", "75,5 C"),
        ("pour_at", "62,5 C"),
        ("cure_days", "3"),
        ("set_density", "0,9"),
    ];
    gone(&site.post("/bench/formula/new", &formula).await);
    let mould = [
        ("name", "12-bar mould"),
        ("format", "snap_bar"),
        ("cavities", "12"),
        ("line_volume", "47,5 ml"),
        ("nominal", "42,5 g"),
    ];
    gone(&site.post("/bench/mould/new", &mould).await);
    let good = [
        ("name", "Harbour Fig bar"),
        ("formula", "1"),
        ("mould", "1"),
        ("packing[0].supply", "3"),
        ("packing[0].each", "1"),
    ];
    gone(&site.post("/stall/new", &good).await);
    let prices = [("low", "4,50"), ("typical", "5,25"), ("high", "6,75")];
    gone(&site.post("/stall/good/1", &prices).await);
    for stage in 1..=6 {
        begun(&site, stage).await;
    }
    site
}

/// Begins a pour and takes it to where the next one is still further on:
/// weighing, slipped, adding, ready, in the mould, counted.
async fn begun(site: &Site, stage: usize) {
    let pour = [("product", "1"), ("wanted", "12"), ("melt", "510,5 g")];
    gone(&site.post("/pour/new", &pour).await);
    let path = |step: &str| format!("/pour/{stage}/{step}");
    if stage == 1 {
        return;
    }
    // Each portion is sent as the page's own button "exactly" sends it.
    let mut portions = 0;
    loop {
        let html = site.get(&format!("/pour/{stage}")).await.html;
        let exactly = |form: &Form| form.fields.iter().any(|(name, _)| name == "as_planned");
        let Some(form) = forms(&html).into_iter().find(exactly) else {
            break;
        };
        if portions == 1 && stage <= 3 {
            let over = [("portion", "1"), ("weight", "14,3")];
            gone(&site.post(&path("weigh"), &over).await);
            if stage == 3 {
                gone(
                    &site
                        .post(&path("slip"), &[("choice", "scale_the_rest")])
                        .await,
                );
            }
            return;
        }
        gone(&send(site, &form).await);
        portions += 1;
    }
    assert_eq!(portions, 4);
    if stage == 4 {
        return;
    }
    gone(
        &site
            .post(
                &path("poured"),
                &[("wax_at", "62,5 C"), ("room_at", "19,5 C")],
            )
            .await,
    );
    if stage == 5 {
        return;
    }
    let count = [
        ("full", "11"),
        ("part", "20,5 g"),
        ("left", "4,5 g"),
        ("topped_up", "2,5"),
    ];
    gone(&site.post(&path("count"), &count).await);
    gone(
        &site
            .post(&path("units"), &[("weights", "42,5; 43,1; 42,9")])
            .await,
    );
    let lot = [("good", "11"), ("minutes", "37,5 min")];
    gone(&site.post(&path("finish"), &lot).await);
}

const PAGES: [&str; 36] = [
    "/",
    "/quick",
    "/quick?wax=soy+wax&amount=468,5+g&unit_weight=42,5+g&loss=1,5+%25",
    "/settings",
    "/shelf",
    "/shelf/new",
    "/shelf/receive",
    "/shelf/supply/1",
    "/shelf/supply/2",
    "/shelf/delivery/1",
    "/shelf/delivery/1/line/0",
    "/shelf/delivery/1/line/2",
    "/bench",
    "/bench/formula/new",
    "/bench/formula/1",
    "/bench/formula/1/revise",
    "/bench/moulds",
    "/bench/mould/new",
    "/bench/mould/1",
    "/bench/mould/1?wanted=12&chance=92,5+%25&melt=510,5+g",
    "/pour",
    "/pour/new?product=1",
    "/pour/1",
    "/pour/2",
    "/pour/2/correct",
    "/pour/3",
    "/pour/4",
    "/pour/4/sheet",
    "/pour/5",
    "/pour/6",
    "/rack",
    "/rack/6",
    "/stall/good/1",
    "/stall/new",
    "/books/lot/6",
    "/books/compare?a=1",
];

#[tokio::test]
async fn no_box_and_no_link_carries_a_point() {
    let site = workshop().await;
    for path in PAGES {
        let shown = site.get(path).await;
        shown.is(StatusCode::OK);
        assert!(
            !shown.html.contains("role=\"alert\""),
            "{path} opens on an error: {}",
            shown.text()
        );
        let main = shown.html.split("<main").nth(1).unwrap();
        for form in forms(main) {
            for (name, text) in &form.fields {
                assert!(!has_a_point(text), "{path}: {name} holds {text}");
            }
        }
        for (link, _) in tags(main, "a") {
            let to = attribute(link, "href").unwrap();
            assert!(!has_a_point(&to), "{path}: leads to {to}");
        }
    }
}

#[tokio::test]
async fn no_hint_shows_an_example_with_a_point() {
    let site = workshop().await;
    let mut n_hints = 0;
    for path in PAGES {
        let shown = site.get(path).await;
        for (span, hint) in tags(&shown.html, "span") {
            if attribute(span, "class").as_deref() == Some("hint") {
                n_hints += 1;
                assert!(!has_a_point(hint), "{path}: {hint}");
            }
        }
    }
    assert!(n_hints >= 50, "only {n_hints} hints were seen");
    site.get("/bench/formula/new")
        .await
        .says("say of what: 8 % of wax, 7,4 % of total, 1 oz per lb");
    // What a problem says would be accepted can be typed as well.
    let refused = [
        ("name", "Quillfen Wax Works"),
        ("system", "metric"),
        ("currency", "EUR"),
        ("decimal_mark", "comma"),
        ("readability", "a hair"),
    ];
    site.post("/settings", &refused)
        .await
        .says("write a weight such as 453,6 g, 16 oz, 1 lb 2,5 oz or 1/2 lb");
    site.get("/bench/formula/1?total=lots&load=8+%25+of+wax")
        .await
        .says("453,6 g")
        .does_not_say("Nothing was written down");
}

#[tokio::test]
async fn every_form_takes_back_what_stands_in_it() {
    let site = workshop().await;
    let mut n_filled = 0;
    for path in PAGES {
        for n in 0..forms(&site.get(path).await.html).len() {
            // Each is sent in a workshop of its own, as what it does changes the page.
            let site = workshop().await;
            let form = forms(&site.get(path).await.html).remove(n);
            let shown = send(&site, &form).await;
            assert!(!shown.status.is_server_error(), "{path}: {}", shown.text());
            let filled = |name: &String| {
                let mut fields = form.fields.iter();
                fields.any(|(known, text)| known == name && !text.is_empty())
            };
            let wrong: Vec<_> = shown.wrong_boxes().into_iter().filter(filled).collect();
            assert!(
                wrong.is_empty(),
                "{path}, {}: {wrong:?} in {}",
                form.action,
                shown.text()
            );
            n_filled += usize::from(
                form.fields
                    .iter()
                    .any(|(name, text)| name != "once" && !text.is_empty()),
            );
        }
    }
    assert!(
        n_filled >= 30,
        "only {n_filled} forms have anything in them"
    );
}
