//! From a pasted table to the ladder, and from a newer sheet to a new label.
//!
//! The shares are invented. One allergen goes from 0.8 % to 1.6 % of an oil
//! used at 10 % of wax: of the whole it goes from 0.073 % to 0.145 %, past the
//! 0.1 % from which CLP Annex I, Table 3.4.6 has it named.

use crate::bench;
use crate::driver::Browser;

const TABLE: &str = "\
3.2 Mixtures
Name | CAS No | % | Classification
Linalool | 78-70-6 | 4 | Skin Irrit. 2, H315; Eye Irrit. 2, H319; Skin Sens. 1B, H317
Citral | 5392-40-5 | 0.8 | Skin Irrit. 2, H315; Skin Sens. 1, H317
gamma-Undecalactone | 104-67-6 | 10 - 15 | Aquatic Chronic 3, H412
The quay cat is not listed here";

const SHEET: &str = "/shelf/supply/4/sheet";

#[test]
fn from_a_pasted_table_to_a_label_that_asks_to_be_renewed() {
    let Some(bench) = bench("demo") else {
        return;
    };
    let browser = &bench.browser;
    paste_and_confirm(browser);
    let formula = see_the_ladder(browser);
    mark_the_label_ready(browser);
    a_newer_sheet_arrives(browser);
    change_the_load(browser, &formula);
    see_the_label_and_print_it(browser);
    assert_eq!(browser.complaints(), [""; 0], "the browser complains");
}

fn paste_and_confirm(browser: &Browser) {
    browser.open(SHEET);
    browser.sees_in("h1", "Rainy Loft oil: what is in this oil?");
    browser.press("Write down its sheet");
    browser.write("Section 3 as text", TABLE);
    browser.press("Read it into lines");
    browser.sees("The quay cat is not listed here");
    browser.sees("the table says otherwise");
    assert_eq!(
        browser.script("return document.querySelector('[name=\"lines[1].cas\"]').value"),
        "5392-40-5"
    );
    assert_eq!(
        browser.script("return document.querySelectorAll('input[type=checkbox]:checked').length"),
        0,
        "nothing is confirmed by itself"
    );
    browser.pictures("sheet-read");
    browser.write("Whose sheet", "Saltmarsh Scents");
    browser.write("Its date", "2026-01-12");
    browser.choose("What the lines leave open is", "not hazardous");
    browser.press("File this sheet");
    confirm_all(browser);
}

fn confirm_all(browser: &Browser) {
    browser.sees("3 lines were not compared with your sheet yet.");
    browser.script("document.querySelectorAll('input[name=line]').forEach(box => box.click())");
    browser.press("I have compared the ticked lines with my sheet");
    browser.sees("Every line was compared with your sheet.");
}

/// Finds the ladder of the bar's formula, and returns its address.
fn see_the_ladder(browser: &Browser) -> String {
    browser.press("Rainy Loft, bar: at which load does the label change?");
    browser.sees_in("h1", "at which load does it change?");
    browser.sees_in(".answer", "Names Linalool.");
    // 4 % of the oil is 0.1 % of the whole at 2.564 % of wax.
    browser.sees_in(".rungs", "Up to 2.56 % of wax: No label for hazards");
    let path = browser.path();
    let formula = path.trim_end_matches("/label").to_owned();
    browser.pictures("ladder");
    // Nothing was pressed: the answer follows what is typed.
    browser.write("At a load of", "2 % of wax");
    browser.sees_in(".answer", "No label for hazards.");
    browser.write("At a load of", "10 % of wax");
    browser.sees_in(".answer", "Names Linalool.");
    browser.press("Take this load into the formula");
    assert_eq!(browser.read("Load"), "10 % of wax");
    browser.write("Why", "as strong as its label allows");
    browser.press("Write it down");
    browser.sees("Revision 2: as strong as its label allows");
    formula
}

fn mark_the_label_ready(browser: &Browser) {
    browser.open("/label");
    browser.pictures("labels");
    browser.press("Rainy Loft bar");
    browser.sees_in(".answer", "Names Linalool.");
    browser.sees("Contains Linalool. May produce an allergic reaction.");
    browser.press("I have looked it over: mark it ready");
    browser.sees("Marked ready on");
    browser.press("Print it");
    browser.sees_in(".printed", "Contains Linalool.");
    browser.pictures("label-print");
    assert_eq!(browser.pages_on(210.0 / 25.4, 297.0 / 25.4), 1, "on A4");
}

fn a_newer_sheet_arrives(browser: &Browser) {
    browser.open(SHEET);
    browser.press("File a newer sheet, or put this one right");
    browser.write("Its date", "2026-02-20");
    browser.write_nth("Share, %", 2, "1.6");
    browser.press("File this sheet");
    confirm_all(browser);
    browser.open("/");
    browser.sees("Renew the label of Rainy Loft bar");
    browser.press("Renew the label of Rainy Loft bar");
    browser.sees("to be renewed");
    browser.sees_in("table", "Citral 0.8 % 1.6 % 0.073 % 0.145 %");
    browser.sees("Contains Linalool, Citral. May produce an allergic reaction.");
    browser.pictures("label-renew");
    browser.press("I have looked it over: mark it ready");
    browser.sees("Marked ready on");
}

fn change_the_load(browser: &Browser, formula: &str) {
    browser.open(&format!("{formula}/label"));
    // 1.6 % of the oil is 0.1 % of the whole at 6.666 % of wax.
    browser.press("Take 6.66 % of wax into the formula");
    browser.write("Why", "one name less on the label");
    browser.press("Write it down");
    browser.sees("Revision 3: one name less on the label");
    browser.open("/");
    browser.press("Renew the label of Rainy Loft bar");
    browser.sees("It rests on 10 % of wax, and the load is now 6.66 % of wax.");
    browser.sees("Contains Linalool. May produce an allergic reaction.");
}

/// The whole label beside its checklist, then a sheet of it as a file.
fn see_the_label_and_print_it(browser: &Browser) {
    browser.open("/label");
    browser.press("Harbour Fig bar");
    browser.press("See the label and its checklist");
    // A strip has no room for a whole European label.
    browser.sees_in(".answer", "It does not fit.");
    browser.open("/label/good/3/proof?stock=typed&width=4+in&height=3+in");
    browser.sees_in(".answer", "Not yet");
    browser.sees_in(".checklist", "Net weight: height of");
    browser.pictures("proof");
    // Where no warning label is asked for nothing stands in its way.
    browser.press("By post to the United States");
    browser.sees_in(".doubt", "Goes to: By post to the United States");
    browser.choose("Layout", "plate");
    browser.press("Look again");
    browser.sees_in(".layouts [aria-current]", "Plate");
    browser.press("Print a sheet");
    browser.write_in("Label 1", "How many", "6");
    browser.write("First place to print on", "3");
    browser.sees_in(".answer", "6 labels on 1 sheet.");
    browser.sees_in(".doubt", "places from 9 on stay free");
    browser.pictures("label-sheet");
    // Fetched as the link would be, and looked at by its first letters.
    let head = browser.script(
        "const link = document.querySelector('a[href^=\"/label/sheet/pdf\"]'); \
         const ask = new XMLHttpRequest(); \
         ask.overrideMimeType('text/plain; charset=x-user-defined'); \
         ask.open('GET', link.getAttribute('href'), false); \
         ask.send(); \
         return ask.status + ' ' + ask.getResponseHeader('content-type') + ' ' + ask.responseText.slice(0, 5)",
    );
    assert_eq!(head, "200 application/pdf %PDF-");
    browser.open("/label/where");
    browser.sees_in("h1", "Where may this lot go?");
    browser.pictures("where");
    browser.open("/label/destinations");
    browser.pictures("destinations");
}
