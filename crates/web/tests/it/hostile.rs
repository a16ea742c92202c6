//! Every page reached by its links, every form on it filled with what nobody
//! should type.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use axum::body::Body;
use axum::http::{Request, header};

use crate::made;
use crate::site::{Shown, Site, query};

/// What one box is filled with while the others keep what stands in them.
const TEXTS: [&str; 20] = [
    "<script>alert(1)</script>",
    "\"><script>alert(1)</script>",
    "'/**/OR 1=1;--",
    "🕯️ Peat & Plum 🕯️",
    "１２３",
    "%",
    "%zz%",
    "\0",
    "\u{202e}gnop\u{2028}",
    "-1",
    "0",
    "4294967295",
    "99999999999999999999999999999",
    "1e400",
    "NaN",
    "9200000000 kg",
    "0.0000000000000000000000000001 g",
    "90000000000000000.00",
    "1,234,567.8.9",
    " ",
];

/// A form as a browser would send it.
#[derive(Debug, Clone)]
struct Form {
    action: String,
    is_post: bool,
    fields: Vec<(String, String)>,
}

/// Every page that a link leads to, by its address.
async fn every_page(site: &Site) -> BTreeMap<String, String> {
    let mut pages = BTreeMap::new();
    let mut waiting = VecDeque::from(["/".to_owned(), "/quick".to_owned()]);
    while let Some(path) = waiting.pop_front() {
        if pages.contains_key(&path) || path.starts_with("/assets/") {
            continue;
        }
        let shown = site.get(&path).await;
        // A paper refuses a character that cannot be printed, and says which.
        let is_unprintable =
            path.starts_with("/print/") && shown.text().contains("no typeface here has it");
        assert!(
            shown.status.is_success() || is_unprintable,
            "{path}: {}",
            shown.text()
        );
        let links = shown.html.split("href=\"").skip(1);
        let links = links.filter_map(|rest| rest.split('"').next());
        waiting.extend(links.filter(|link| link.starts_with('/')).map(unescaped));
        pages.insert(path, shown.html);
    }
    pages
}

fn unescaped(text: &str) -> String {
    let text = text.replace("&quot;", "\"").replace("&lt;", "<");
    text.replace("&gt;", ">").replace("&amp;", "&")
}

fn attribute(tag: &str, name: &str) -> Option<String> {
    let rest = tag.split(&format!(" {name}=\"")).nth(1)?;
    rest.split('"').next().map(unescaped)
}

/// The tags of that name in a piece of a page, without what they enclose.
fn tags<'a>(html: &'a str, name: &str) -> Vec<&'a str> {
    let begin = format!("<{name} ");
    let at = html.match_indices(&begin).map(|(at, _)| at);
    at.filter_map(|at| html[at..].split('>').next()).collect()
}

fn forms(html: &str) -> Vec<Form> {
    let mut forms = Vec::new();
    for piece in html.split("<form").skip(1) {
        let inside = piece.split("</form>").next().unwrap();
        let tag = inside.split('>').next().unwrap();
        let mut fields = Vec::new();
        for tag in tags(inside, "input")
            .into_iter()
            .chain(tags(inside, "button"))
        {
            let named = attribute(tag, "name").filter(|name| name != "once");
            fields.extend(named.map(|name| (name, attribute(tag, "value").unwrap_or_default())));
        }
        for piece in inside.split("<select").skip(1) {
            let select = piece.split("</select>").next().unwrap();
            let name = attribute(select.split('>').next().unwrap(), "name").unwrap();
            let options = tags(select, "option");
            let chosen = options.iter().find(|tag| tag.contains(" selected"));
            let chosen = chosen.or(options.first()).copied().unwrap_or_default();
            fields.push((name, attribute(chosen, "value").unwrap_or_default()));
        }
        let form = |action, is_post| Form {
            action,
            is_post,
            fields: fields.clone(),
        };
        let is_post = attribute(tag, "method").is_some_and(|method| method == "post");
        forms.push(form(attribute(tag, "action").unwrap(), is_post));
        for button in tags(inside, "button") {
            forms.extend(attribute(button, "formaction").map(|action| form(action, true)));
        }
    }
    forms
}

async fn send(site: &Site, form: &Form, fields: &[(String, String)]) -> Shown {
    let fields: Vec<_> = fields
        .iter()
        .map(|(name, text)| (name.as_str(), text.as_str()))
        .collect();
    if form.is_post {
        site.post(&form.action, &fields).await
    } else {
        let asked = query(&fields);
        site.get(&format!("{}?{asked}", form.action)).await
    }
}

#[track_caller]
fn bears(shown: &Shown, form: &Form, field: &str, text: &str) {
    let at = || {
        let text: String = text.chars().take(40).collect();
        format!("{} with {field} = {text:?}", form.action)
    };
    let (status, said) = (shown.status, shown.text());
    assert!(!status.is_server_error(), "{}: {status} {said}", at());
    let is_pdf = shown.html.starts_with("%PDF-");
    assert!(is_pdf || !shown.html.contains("<script>alert"), "{}", at());
}

/// A workshop with a lot on the rack, one being weighed and one that waits to
/// be counted, so that every form there is stands on some page.
async fn workshop() -> Site {
    let site = made::bars(true).await;
    for (path, fields) in [
        ("/rack/1/units", vec![("weights", "1.5, 1.6")]),
        ("/pour/new", vec![("product", "1"), ("melt", "18 oz")]),
        ("/pour/new", vec![("product", "1"), ("melt", "18 oz")]),
        ("/pour/3/weigh", vec![("portion", "0"), ("weight", "16 oz")]),
        ("/pour/3/weigh", vec![("portion", "1"), ("weight", "2 oz")]),
        ("/pour/3/slip", vec![("choice", "keep_going")]),
        ("/pour/3/poured", vec![]),
    ] {
        let done = site.post(path, &fields).await;
        assert!(done.status.is_redirection(), "{path}: {}", done.text());
    }
    site
}

#[tokio::test]
async fn no_text_in_any_box_breaks_a_page_or_becomes_part_of_it() {
    let site = workshop().await;
    let long = "é".repeat(10_000);
    let texts: Vec<&str> = TEXTS.iter().copied().chain([long.as_str()]).collect();
    let mut seen = BTreeSet::new();
    for html in every_page(&site).await.into_values() {
        for form in forms(&html) {
            for (nth, (name, _)) in form.fields.iter().enumerate() {
                let path = form.action.split('?').next().unwrap_or_default();
                if !seen.insert((path.to_owned(), name.clone())) {
                    continue;
                }
                // A paper takes words and draws each; figures say nothing new there.
                let is_paper = path.starts_with("/print/");
                for text in texts.iter().filter(|text| !is_paper || !is_figure(text)) {
                    let mut fields = form.fields.clone();
                    fields[nth].1 = (*text).to_owned();
                    let shown = send(&site, &form, &fields).await;
                    bears(&shown, &form, name, text);
                }
            }
        }
    }
    assert!(seen.len() > 90, "{} boxes were found", seen.len());
    // Much of it was taken, and stands on the pages as what it is.
    for (path, html) in every_page(&site).await {
        // A PDF or a table is no page: text is data there, and nothing in it runs.
        let is_file = html.starts_with("%PDF-") || path.starts_with("/books/take/");
        assert!(is_file || !html.contains("<script>alert"), "{path}");
    }
}

fn is_figure(text: &str) -> bool {
    text.starts_with(|c: char| c == '-' || c.is_ascii_digit()) || text == "NaN"
}

#[tokio::test]
async fn a_body_that_is_no_form_is_refused_calmly() {
    let site = workshop().await;
    let actions: BTreeSet<_> = every_page(&site)
        .await
        .values()
        .flat_map(|html| forms(html))
        .filter(|form| form.is_post)
        .map(|form| form.action)
        .collect();
    assert!(actions.len() > 15, "{actions:?}");
    for action in actions {
        for body in [
            "",
            "%",
            "=&=&&&",
            "%FF%FE=%ZZ",
            "weight",
            "lines[4294967295].supply=1&blend[99999999999].parts=1&packing[-1].each=1",
            "portion=0&portion=1&weight=1&weight=2",
            "once=%00&once=x",
        ] {
            let request = Request::post(&action)
                .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
                .body(Body::from(body))
                .unwrap();
            let shown = site.ask(request).await;
            let said = shown.text();
            assert!(!shown.status.is_server_error(), "{action} {body:?}: {said}");
        }
        let shown = site.work(&action, "{}").await;
        assert!(shown.status.is_client_error(), "{action}: {}", shown.status);
        // Loaded again, it leads to the page the form stands on.
        let again = site.get(&action).await;
        if again.status.is_redirection() {
            let page = site.get(&again.to).await;
            assert!(page.status.is_success(), "{action}: {}", page.status);
        }
    }
    for asked in ["%", "a=%", "wax=%FF", "load=8+%+of+wax", "&&==&", "by[]=1"] {
        for path in [
            "/",
            "/quick",
            "/pour/new",
            "/bench/formula/1",
            "/books/compare",
        ] {
            let shown = site.get(&format!("{path}?{asked}")).await;
            assert!(!shown.status.is_server_error(), "{path}?{asked}");
        }
    }
}

#[tokio::test]
async fn no_two_things_on_a_page_have_the_same_id() {
    let site = workshop().await;
    let mut pages = every_page(&site).await;
    let count = [("full", "11"), ("left", "0")];
    site.post("/pour/3/count", &count).await.went("/pour/3");
    let counted = every_page(&site).await;
    pages.extend(
        counted
            .into_iter()
            .map(|(path, html)| (format!("{path} counted"), html)),
    );
    // And pages as they are after a refusal.
    for html in pages.clone().into_values() {
        for form in forms(&html).into_iter().filter(|form| form.is_post) {
            let empty: Vec<_> = form
                .fields
                .iter()
                .map(|(name, _)| (name.clone(), String::new()))
                .collect();
            let refused = send(&site, &form, &empty).await;
            if refused.status.is_client_error() {
                pages.insert(format!("{} refused", form.action), refused.html);
            }
        }
    }
    let mut twice = Vec::new();
    for (path, html) in &pages {
        let mut seen = BTreeSet::new();
        for rest in html.split(" id=\"").skip(1) {
            let id = rest.split('"').next().unwrap();
            if !seen.insert(id) {
                twice.push(format!("{path}: {id}"));
            }
        }
    }
    assert_eq!(twice, Vec::<String>::new());
}
