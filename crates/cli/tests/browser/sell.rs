//! Selling where the signal comes and goes: nothing doubled, nothing lost.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

use measure::{Currency, Money};
use serde_json::{Value, json};
use workshop::facts::{Bundle, ProductId};
use workshop::selling::{Priced, together};

use crate::driver::{Browser, Installed};
use crate::server::{Server, pourwright};

/// The market day of the demo that is still to come.
const DAY: u32 = 2;
const SELL: &str = "/stall/day/2/sell";

/// A stall before a browser, and the workshop that can be taken away.
struct Stall {
    browser: Browser,
    workshop: Option<Server>,
    port: String,
    journal: PathBuf,
    _folder: tempfile::TempDir,
}

impl Stall {
    /// The demo's workshop with something of every good packed for its market.
    fn set_up() -> Option<Self> {
        let installed = Installed::find()?;
        let folder = tempfile::tempdir().unwrap();
        let journal = folder.path().join("workshop.sqlite");
        let workshop = Server::start("demo", &journal);
        let browser = Browser::start(&installed, &workshop.home);
        let port = workshop.home.rsplit(':').next().unwrap().to_owned();
        let stall = Self {
            browser,
            workshop: Some(workshop),
            port,
            journal,
            _folder: folder,
        };
        stall.pack();
        Some(stall)
    }

    fn pack(&self) {
        let browser = &self.browser;
        browser.open(&format!("/stall/day/{DAY}"));
        browser.script(
            "for (const box of document.querySelectorAll('input[name^=\"take[\"]')) \
               if (!box.value && /^[1-9]/.test(box.closest('.field').querySelector('.hint').textContent)) box.value = '1'",
        );
        browser.press("Pack these");
        browser.sees_in(".answer", "packed.");
    }

    /// Kills the program as a power cut does.
    fn cut_off(&mut self) {
        drop(self.workshop.take());
    }

    /// Starts it again over the same journal at the same port.
    fn back(&mut self) {
        let mut command = pourwright();
        command
            .args(["serve", "--port", &self.port, "--journal"])
            .arg(&self.journal);
        self.workshop = Some(Server::from(command));
    }

    /// The sales of the market day that the journal holds, from its own export.
    fn sales(&self) -> Vec<Value> {
        exported(&self.journal)
            .into_iter()
            .filter(|record| record["name"] == "Sold" && record["payload"]["market_day"] == DAY)
            .collect()
    }

    /// Waits until so many sales are written down and the page says that all
    /// are sent.
    #[track_caller]
    fn has_sold(&self, count: usize) {
        let until = Instant::now() + Duration::from_secs(30);
        loop {
            let said = self.browser.words_of("[data-state]");
            if said.starts_with("All sent ") && self.sales().len() == count {
                break;
            }
            assert!(
                Instant::now() < until,
                "{} of {count} sales; the page says: {said}",
                self.sales().len()
            );
            std::thread::sleep(Duration::from_millis(100));
        }
        let sales = self.sales();
        let tokens: BTreeSet<_> = sales
            .iter()
            .map(|sale| sale["payload"]["token"].as_str().unwrap().to_owned())
            .collect();
        assert_eq!(tokens.len(), count, "each of them once");
    }
}

fn exported(journal: &Path) -> Vec<Value> {
    let mut command: Command = pourwright();
    let told = command
        .args(["export", "--journal"])
        .arg(journal)
        .output()
        .unwrap();
    assert!(
        told.status.success(),
        "{}",
        String::from_utf8_lossy(&told.stderr)
    );
    let lines = String::from_utf8(told.stdout).unwrap();
    lines
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect()
}

/// Taps the nth tile so often, as fast as a finger can.
#[track_caller]
fn tap(browser: &Browser, nth: usize, times: usize) {
    browser.script(&format!(
        "for (let i = 0; i < {times}; i++) document.querySelectorAll('[data-add]:not([disabled])')[{nth}].click()"
    ));
}

/// Sells one of the first good for cash.
#[track_caller]
fn sell_one(browser: &Browser) {
    tap(browser, 0, 1);
    browser.press("Cash");
    browser.sees_in("[data-change]", "cash");
    browser.sees_in("[data-sum]", "0");
}

#[test]
fn six_sales_through_a_power_cut_are_written_down_once_each() {
    let Some(mut stall) = Stall::set_up() else {
        return;
    };
    stall.browser.open(SELL);
    stall.browser.sees("This page opens without a signal too.");
    sell_one(&stall.browser);
    sell_one(&stall.browser);
    stall.has_sold(2);
    stall.cut_off();
    for _ in 0..3 {
        sell_one(&stall.browser);
    }
    stall
        .browser
        .sees_in("[data-state]", "3 sales wait to be sent.");
    stall
        .browser
        .sees_in("[data-why]", "The workshop does not answer.");
    stall.browser.pictures("sell-waiting");
    stall.browser.reload();
    stall.browser.sees_in("h1", "What goes over the table?");
    stall
        .browser
        .sees_in("[data-state]", "3 sales wait to be sent.");
    // What is in hand survives a reload as well.
    tap(&stall.browser, 0, 1);
    let sum = stall.browser.words_of("[data-sum]");
    stall.browser.reload();
    stall.browser.sees_in("[data-sum]", &sum);
    stall.browser.press("Card");
    stall
        .browser
        .sees_in("[data-state]", "4 sales wait to be sent.");
    // A second window sees the same queue, and sends it too.
    let first = stall.browser.window();
    stall.browser.another_window();
    stall.browser.open(SELL);
    stall
        .browser
        .sees_in("[data-state]", "4 sales wait to be sent.");
    stall.back();
    stall.has_sold(6);
    stall.browser.to_window(&first);
    stall.has_sold(6);
    let paid_by: Vec<_> = stall
        .sales()
        .iter()
        .map(|sale| sale["payload"]["payment"].clone())
        .collect();
    assert_eq!(
        paid_by.iter().filter(|payment| **payment == "card").count(),
        1
    );

    // The answer to one is lost: the device does not know, and sends it again.
    let token = stall.sales()[5]["payload"]["token"]
        .as_str()
        .unwrap()
        .to_owned();
    let again = stall.browser.script(&format!(
        "const open = indexedDB.open('pourwright-sales'); \
         return new Promise(done => open.onsuccess = () => {{ \
           const deal = open.result.transaction('sales', 'readwrite'), all = deal.objectStore('sales'); \
           all.getAll().onsuccess = (event) => {{ for (const sale of event.target.result) if (sale.token === '{token}') all.put({{ ...sale, state: 'waiting', sentAt: 0 }}); }}; \
           deal.oncomplete = () => done('waits'); }})",
    ));
    assert_eq!(again, "waits");
    stall.browser.reload();
    stall.has_sold(6);
}

#[test]
fn a_refused_sale_stays_in_sight_and_one_is_taken_back() {
    let Some(mut stall) = Stall::set_up() else {
        return;
    };
    let browser = &stall.browser;
    browser.open(SELL);
    browser.sees("This page opens without a signal too.");
    // Too small a note, then one that is enough.
    tap(browser, 0, 1);
    browser.write("Given", "1");
    browser.sees_in("[data-change]", "short");
    browser.write("Given", "50");
    browser.sees_in("[data-change]", "Give back");
    browser.pictures("sell");
    browser.press("Cash");
    browser.sees_in("[data-state]", "All sent");
    browser.press("Take back");
    browser.accept();
    browser.sees_in("[data-last]", "taken back");
    stall.has_sold(1);
    let taken_back = exported(&stall.journal);
    let taken_back = taken_back
        .iter()
        .filter(|record| record["name"] == "SaleVoided");
    assert_eq!(taken_back.count(), 1);

    // The day is counted back while a sale waits: the workshop will not have it.
    stall.cut_off();
    sell_one(&stall.browser);
    stall
        .browser
        .sees_in("[data-state]", "1 sale waits to be sent.");
    stall.browser.script("location.href = 'about:blank'");
    stall.back();
    count_everything_back(&stall.browser);
    let browser = &stall.browser;
    for _ in 0..2 {
        browser.open(SELL);
        browser.sees("Not taken by the workshop");
        browser.sees_in("[data-refused]", "the day was counted back on");
        browser.sees_in("[data-refused]", "Leave it out");
    }
    browser.pictures("sell-refused");
    browser.press("Send it again");
    browser.sees_in("[data-refused]", "the day was counted back on");
    browser.press("Leave it out");
    browser.accept();
    stall.has_sold(1);
}

/// Writes down that everything came home that stood on the table.
fn count_everything_back(browser: &Browser) {
    browser.open("/stall/days");
    let sent = browser.script(&format!(
        "const page = new XMLHttpRequest(); page.open('GET', '{SELL}', false); page.send(); \
         const told = JSON.parse(new DOMParser().parseFromString(page.responseText, 'text/html').querySelector('[data-sell]').dataset.sell); \
         const form = new URLSearchParams(); for (const good of told.goods) form.append(`back[${{good.id}}]`, good.left); \
         const ask = new XMLHttpRequest(); ask.open('POST', '/stall/day/{DAY}/back', false); \
         ask.setRequestHeader('content-type', 'application/x-www-form-urlencoded'); ask.send(form.toString()); return ask.status"
    ));
    assert_eq!(sent, 200);
}

#[test]
fn the_page_asks_what_the_workshop_would() {
    let Some(stall) = Stall::set_up() else {
        return;
    };
    let browser = &stall.browser;
    offer_bundles(browser);
    browser.open(SELL);
    browser.sees_in("[data-state]", "Nothing waits to be sent.");
    let told =
        browser.script("return JSON.parse(document.querySelector('[data-sell]').dataset.sell)");
    let usd = |minor: &Value| Money::from_minor(minor.as_i64().unwrap(), Currency::USD);
    let id = |id: &Value| ProductId(u32::try_from(id.as_u64().unwrap()).unwrap());
    let list = |of: &Value| of.as_array().unwrap().clone();
    let bundles: Vec<Bundle> = list(&told["bundles"])
        .iter()
        .map(|bundle| Bundle {
            products: list(&bundle["goods"]).iter().map(id).collect(),
            count: u32::try_from(bundle["count"].as_u64().unwrap()).unwrap(),
            price: usd(&bundle["price"]),
        })
        .collect();
    assert_eq!(bundles.len(), 3, "{told}");
    let goods = list(&told["goods"]);
    assert!(goods.len() >= 3, "{told}");
    let mut dice: u32 = 2026;
    let mut bundled = 0;
    for _ in 0..60 {
        let basket: Vec<Priced> = goods
            .iter()
            .map(|good| {
                dice = dice.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                Priced {
                    product: id(&good["id"]),
                    count: dice >> 24 & 7,
                    each: usd(&good["price"]),
                }
            })
            .filter(|line| line.count > 0)
            .collect();
        let Some(asked) = together(&basket, &bundles) else {
            continue;
        };
        bundled += usize::from(asked.saved.minor() > 0);
        let taps: Vec<_> = basket
            .iter()
            .map(|line| json!([line.product, line.count]))
            .collect();
        let shown = browser.script(&format!(
            "for (const less of document.querySelectorAll('[data-less]')) while (!less.hidden) less.click(); \
             for (const [id, n] of {}) for (let i = 0; i < n; i++) document.querySelector(`[data-good=\"${{id}}\"] [data-add]`).click(); \
             return document.querySelector('[data-sum]').textContent",
            Value::Array(taps)
        ));
        let total = asked.total().to_string();
        assert_eq!(
            shown.as_str().map(|sum| format!("{sum} USD")),
            Some(total),
            "{basket:?}"
        );
    }
    assert!(bundled > 20, "bundles were used {bundled} times");
    assert_eq!(browser.complaints(), [""; 0], "the browser complains");
}

/// Three bundles that overlap: any three of all goods, two of the first two,
/// five of all but the first.
fn offer_bundles(browser: &Browser) {
    browser.open("/stall/channel/1");
    let sent = browser.script(&format!(
        "const page = new XMLHttpRequest(); page.open('GET', '{SELL}', false); page.send(); \
         const told = JSON.parse(new DOMParser().parseFromString(page.responseText, 'text/html').querySelector('[data-sell]').dataset.sell); \
         const goods = told.goods.filter(good => good.price), least = Math.min(...goods.map(good => good.price)) / 100, form = new URLSearchParams(); \
         const offer = (n, count, price, of) => {{ form.append(`bundles[${{n}}].count`, count); form.append(`bundles[${{n}}].price`, price.toFixed(2)); \
           for (const good of of) form.append(`bundles[${{n}}].goods`, good.id); }}; \
         offer(0, 3, 3 * least - 1.01, goods); offer(1, 2, 2 * least - 0.5, goods.slice(0, 2)); offer(2, 5, 5 * least - 2.5, goods.slice(1)); \
         const ask = new XMLHttpRequest(); ask.open('POST', '/stall/channel/1/bundles', false); \
         ask.setRequestHeader('content-type', 'application/x-www-form-urlencoded'); ask.send(form.toString()); return ask.status"
    ));
    assert_eq!(sent, 200);
}

#[test]
fn without_a_worker_or_a_store_the_open_page_still_queues() {
    let Some(mut stall) = Stall::set_up() else {
        return;
    };
    stall.browser.devtools(
        "Page.addScriptToEvaluateOnNewDocument",
        &json!({ "source": "delete Navigator.prototype.serviceWorker; Object.defineProperty(window, 'indexedDB', { value: undefined });" }),
    );
    stall.browser.open(SELL);
    stall
        .browser
        .sees("This browser cannot open the page again without a signal: leave it open");
    stall.cut_off();
    sell_one(&stall.browser);
    sell_one(&stall.browser);
    stall
        .browser
        .sees_in("[data-state]", "2 sales wait to be sent.");
    stall.browser.sees_in(
        "[data-why]",
        "This browser keeps nothing: leave the page open until all is sent.",
    );
    stall.back();
    stall.has_sold(2);
}
