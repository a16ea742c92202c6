//! Every page of the demo on a phone, a tablet and a laptop, in both themes.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use crate::bench;
use crate::driver::Browser;

/// Pages of one kind that are looked at: lot 3 and lot 12 are alike.
const ALIKE: usize = 2;

/// Pages that pictures are kept of.
const PICTURED: [(&str, &str); 20] = [
    ("today", "/"),
    ("quick", "/quick"),
    ("shelf", "/shelf"),
    ("receive", "/shelf/receive"),
    ("bench", "/bench"),
    ("formula", "/bench/formula/1"),
    ("mould", "/bench/mould/1"),
    ("pour", "/pour"),
    ("rack", "/rack"),
    ("lot", "/rack/1"),
    ("label", "/label"),
    ("label-good", "/label/good/3"),
    ("label-settings", "/label/settings"),
    ("label-ladder", "/bench/formula/3/label"),
    ("substances", "/shelf/supply/3/sheet"),
    ("sheet-new", "/shelf/supply/3/sheet/new"),
    ("stall", "/stall"),
    ("good", "/stall/good/1"),
    ("books", "/books"),
    ("compare", "/books/compare?a=1&b=2"),
];

#[test]
fn every_page_of_the_demo_fits_and_reads() {
    let Some(bench) = bench("demo") else {
        return;
    };
    let browser = &bench.browser;
    let pages = every_page(browser);
    assert!(pages.len() > 25, "the demo has many pages: {pages:?}");
    let mut wrong = Vec::new();
    for page in &pages {
        browser.open(page);
        // A phone; a tablet's width at 200 %; and, as WCAG 2.2 asks in 1.4.10
        // "Reflow", the width that a screen of 1280 px has left at 400 %.
        for (width, zoom) in [(360, 1), (410, 2), (320, 1)] {
            browser.screen(width, 740, zoom);
            wrong.extend(too_wide(browser).map(|what| format!("{page} at {width} px: {what}")));
        }
        browser.screen(1280, 900, 1);
        wrong.extend(amiss(browser).map(|what| format!("{page}: {what}")));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert_eq!(browser.complaints(), [""; 0], "the browser complains");
}

#[test]
fn pictures_of_the_demo_in_both_themes() {
    let Some(bench) = bench("demo") else {
        return;
    };
    let browser = &bench.browser;
    let weigh = open_pour(browser);
    let sheet = format!("{weigh}/sheet");
    let pictured = PICTURED
        .into_iter()
        .chain([("weigh", weigh.as_str()), ("sheet", sheet.as_str())]);
    let mut faint = Vec::new();
    for (name, page) in pictured {
        browser.open(page);
        browser.pictures_and(name, |picture| {
            faint.extend(too_faint(browser).map(|what| format!("{picture}: {what}")));
        });
    }
    assert!(faint.is_empty(), "too faint:\n{}", faint.join("\n"));
}

#[test]
fn a_pour_sheet_is_one_page_of_paper() {
    let Some(bench) = bench("demo") else {
        return;
    };
    let browser = &bench.browser;
    browser.open(&format!("{}/sheet", open_pour(browser)));
    // ISO 216 A4 and ANSI/ASME Y14.1 size A, in inches.
    for (paper, width, height) in [("A4", 210.0 / 25.4, 297.0 / 25.4), ("letter", 8.5, 11.0)] {
        assert_eq!(browser.pages_on(width, height), 1, "on {paper}");
    }
}

fn open_pour(browser: &Browser) -> String {
    browser.open("/");
    let path = browser.script(
        "return document.querySelector('.errands a[href^=\"/pour/\"]').getAttribute('href')",
    );
    path.as_str().unwrap().to_owned()
}

/// Follows every link from the front page, a few of each kind; what a link says
/// is no page, such as a PDF, is left alone.
fn every_page(browser: &Browser) -> BTreeSet<String> {
    let mut seen = BTreeSet::from(["/".to_owned()]);
    let mut alike: BTreeMap<String, usize> = BTreeMap::new();
    let mut waiting = VecDeque::from(["/".to_owned()]);
    while let Some(page) = waiting.pop_front() {
        browser.open(&page);
        let links = browser.script(
            "return [...document.querySelectorAll('a[href^=\"/\"]:not([href^=\"/api/v\"]):not([type])')].map(a => a.getAttribute('href').split('#')[0])",
        );
        for link in links.as_array().into_iter().flatten() {
            let link = link.as_str().unwrap_or_default();
            let kind: String = link
                .chars()
                .map(|c| if c.is_ascii_digit() { '#' } else { c })
                .collect();
            let kind = kind.replace("##", "#").replace("##", "#");
            let so_far = alike.entry(kind).or_default();
            if *so_far < ALIKE && seen.insert(link.to_owned()) {
                *so_far += 1;
                waiting.push_back(link.to_owned());
            }
        }
    }
    seen
}

/// What makes the page wider than the screen.
fn too_wide(browser: &Browser) -> Option<String> {
    said(&browser.script(
        "const page = document.documentElement;
         if (page.scrollWidth <= page.clientWidth) return '';
         return [...document.querySelectorAll('main *, header *, footer *')]
           .filter(it => it.getBoundingClientRect().right > page.clientWidth + 1 && !it.closest('.scroll'))
           .slice(-3).map(it => it.outerHTML.slice(0, 200)).join('\\n') || 'something';",
    ))
}

fn said(words: &serde_json::Value) -> Option<String> {
    words
        .as_str()
        .filter(|words| !words.is_empty())
        .map(str::to_owned)
}

/// What keeps a page from being whole: it has one question for a heading, a
/// label to every box, words to every picture, and no slip of the program.
fn amiss(browser: &Browser) -> Option<String> {
    said(&browser.script(
        "const wrong = [];
         const heads = document.querySelectorAll('h1').length;
         if (heads !== 1) wrong.push(heads + ' h1');
         for (const box of document.querySelectorAll('input:not([type=hidden]), select, textarea'))
           if (!box.labels.length) wrong.push('no label: ' + box.name);
         const ids = [...document.querySelectorAll('[id]')].map(it => it.id);
         for (const id of ids) if (ids.indexOf(id) !== ids.lastIndexOf(id)) wrong.push('twice: ' + id);
         for (const button of document.querySelectorAll('a, button'))
           if (!button.textContent.trim()) wrong.push('says nothing: ' + button.outerHTML.slice(0, 120));
         for (const svg of document.querySelectorAll('figure > svg'))
           if (svg.getAttribute('role') !== 'img' || !svg.querySelector('title')) wrong.push('a picture without words: ' + svg.outerHTML.slice(0, 160));
         const words = document.body.cloneNode(true);
         for (const it of words.querySelectorAll('pre, code, textarea')) it.remove();
         if (/\\bNaN\\b|undefined|\\bnull\\b|\\bNone\\b|Some\\(/.test(words.textContent)) wrong.push('a slip of the program');
         if (/^There is no such/.test(document.querySelector('h1')?.innerText)) wrong.push('it is not there');
         return wrong.join('; ');",
    ))
}

/// Which texts do not stand out from what it is written on, by WCAG 2.2, 1.4.3
/// "Contrast (Minimum)": 4.5 to 1, or 3 to 1 where it is large. The ratio is
/// the one its glossary defines under "contrast ratio".
fn too_faint(browser: &Browser) -> Option<String> {
    said(&browser.script(
        "const parts = colour => { const n = colour.match(/[\\d.]+/g).map(Number); return n.length > 3 ? n : [...n, 1]; };
         const light = ([r, g, b]) => [r, g, b].map(c => c / 255).map(c => c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4)
           .reduce((sum, c, i) => sum + c * [0.2126, 0.7152, 0.0722][i], 0);
         const under = it => { for (; it; it = it.parentElement) { const c = parts(getComputedStyle(it).backgroundColor); if (c[3] > 0.99) return c; } return [255, 255, 255, 1]; };
         const faint = [];
         const words = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
         while (words.nextNode()) {
           const it = words.currentNode.parentElement, text = words.currentNode.textContent.trim();
           if (!text || it.closest('svg') || !it.checkVisibility() || ['SCRIPT', 'STYLE', 'OPTION'].includes(it.tagName)) continue;
           const style = getComputedStyle(it), size = parseFloat(style.fontSize);
           const [a, b] = [light(parts(style.color)), light(under(it))].sort((x, y) => y - x);
           const ratio = (a + 0.05) / (b + 0.05), large = size >= 24 || (size >= 18.66 && Number(style.fontWeight) >= 700);
           if (ratio < (large ? 3 : 4.5)) faint.push(text.slice(0, 40) + ' ' + ratio.toFixed(2));
         }
         return [...new Set(faint)].join('; ');",
    ))
}
