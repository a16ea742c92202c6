//! Other ways of using it: without script, and by the keyboard alone.

use serde_json::json;

use crate::bench;
use crate::driver::{Browser, ENTER, TAB};

#[test]
fn without_script_the_quick_pour_works_and_is_kept() {
    let Some(bench) = bench("serve") else {
        return;
    };
    let browser = &bench.browser;
    browser.devtools(
        "Emulation.setScriptExecutionDisabled",
        &json!({ "value": true }),
    );
    browser.open("/");
    browser.write("Fragrance load", "12 % of wax");
    browser.write("How much, or how many", "16.7 oz");
    // What proves that no script runs: nothing follows what is typed.
    std::thread::sleep(std::time::Duration::from_millis(600));
    assert!(
        browser.words_of(".answer").starts_with("16.0 oz"),
        "a script ran"
    );
    browser.press("Work it out");
    browser.sees_in(".answer", "16.7 oz + 2.0 oz");
    assert_eq!(browser.read("How much, or how many"), "16.7 oz");
    browser.press("Keep it and start weighing");
    browser.sees("Nothing was written down yet");
    browser.sees("currency");
    assert_eq!(
        browser.read("How much, or how many"),
        "16.7 oz",
        "what was typed stays"
    );
    browser.write("Your currency", "USD");
    browser.press("Keep it and start weighing");
    browser.sees_in(".bench .what", "soy wax");
    browser.write("The scale says this went in", "16.7");
    browser.press("It is in");
    browser.sees_in(".bench .what", "fragrance oil");
    browser.press("Exactly 2.0 oz");
    browser.sees("Everything is in. Pour.");
    assert!(
        !browser.words().contains("Start the clock"),
        "a clock needs script"
    );
    browser.press("It is in the mould");
    browser.sees_in("h1", "How many did it fill?");
}

#[test]
fn the_keyboard_alone_reaches_and_keeps_the_quick_pour() {
    let Some(bench) = bench("serve") else {
        return;
    };
    let browser = &bench.browser;
    browser.open("/");
    browser.sees_in(".answer", "16.0 oz");
    browser.keys(&TAB.to_string());
    assert_eq!(browser.focus(), "Skip to the page", "the first stop");
    browser.keys(&ENTER.to_string());
    tab_to(browser, "load");
    browser.keys("12 % of wax");
    tab_to(browser, "amount");
    browser.keys("16.7 oz");
    tab_to(browser, "currency");
    browser.keys("USD");
    tab_to(browser, "mould");
    browser.keys("12-bar mould");
    tab_to(browser, "cavities");
    browser.keys("12");
    tab_to(browser, "Keep it and start weighing");
    let outline = browser.script("return getComputedStyle(document.activeElement).outlineStyle");
    assert_ne!(outline, "none", "one sees where the keyboard is");
    browser.keys(&ENTER.to_string());
    browser.sees_in(".bench .target", "16.7 oz");
    // The box is where the keyboard is: type the weight and go on.
    assert_eq!(browser.focus(), "weight");
    browser.keys(&format!("16.7{ENTER}"));
    browser.sees_in(".bench .target", "2.0 oz");
    browser.keys(&format!("2.0{ENTER}"));
    browser.sees("Everything is in. Pour.");
}

#[track_caller]
fn tab_to(browser: &Browser, name: &str) {
    for _ in 0..40 {
        if browser.focus() == name {
            return;
        }
        browser.keys(&TAB.to_string());
    }
    panic!("forty stops and never at {name}");
}
