// Selling by taps. A sale is kept in this browser before it is sent, is sent in
// order under a word of its own, and leaves the queue only once the workshop
// says that it has it. Sent twice it counts once; refused it stays in sight.
"use strict";

(() => {
const page = document.querySelector("[data-sell]");
if (!page) return;
const told = JSON.parse(page.dataset.sell);
// Sales belong to one journal: another may be opened at this address.
const journal = document.body.dataset.journal || "";
const at = (name) => page.querySelector(`[data-${name}]`);

// Amounts are whole minor units; they are written and read in major ones.
const coins = 10 ** told.places;
const plain = (minor) => (minor / coins).toFixed(told.places);
const amount = (minor) => (minor < 0 ? "−" : "") + plain(Math.abs(minor)).replace(".", told.mark);
const typed = (text) => {
  const figure = Number(text.trim().replace(told.mark, "."));
  return Number.isFinite(figure) && figure > 0 ? Math.round(figure * coins) : 0;
};
const many = (n, one, more) => n + " " + (n === 1 ? one : more);
const clock = (ms) => { const day = new Date(ms); return day.getHours() + ":" + String(day.getMinutes()).padStart(2, "0"); };
const word = () => [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
const el = (name, words, more) => Object.assign(document.createElement(name), { textContent: words }, more);

// What goods cost together. The sum has to stand there without a signal, so
// the workshop's own rule, `workshop::selling`, is said here once more; a test
// holds the one against the other.

// Shares by the largest remainder, in whole minor units.
const spread = (total, weights) => {
  const big = weights.map(BigInt), sum = big.reduce((a, b) => a + b, 0n);
  if (sum === 0n) return weights.map(() => 0);
  const parts = big.map((weight) => BigInt(total) * weight);
  const shares = parts.map((part) => Number(part / sum));
  const first = weights.map((_, nth) => nth).sort((a, b) => { const by = parts[b] % sum - parts[a] % sum; return by > 0n ? 1 : by < 0n ? -1 : a - b; });
  let left = total - shares.reduce((a, b) => a + b, 0);
  for (const nth of first) { if (left-- <= 0) break; shares[nth] += 1; }
  return shares;
};

const offersFor = (lines) => {
  const offers = [];
  for (const bundle of told.bundles) {
    const held = lines.map((_, nth) => nth).filter((nth) => lines[nth].count > 0 && bundle.goods.includes(lines[nth].id));
    const units = held.reduce((sum, nth) => sum + lines[nth].count, 0);
    if (bundle.count < 2 || bundle.price <= 0 || units < bundle.count) continue;
    const known = offers.find((offer) => offer.held.join() === held.join());
    if (known) known.bundles.push(bundle); else offers.push({ held, bundles: [bundle] });
  }
  return offers;
};

const orders = (n) => {
  let all = [[]];
  for (let next = 0; next < n; next++) all = all.flatMap((order) => [...Array(order.length + 1).keys()].map((place) => [...order.slice(0, place), next, ...order.slice(place)]));
  return all;
};

// How many units, dearest first, to put into bundles, and what those cost.
const best = (units, bundles) => {
  const cost = [0];
  for (let n = 1; n <= units.length; n++) cost[n] = Math.min(...bundles.map((bundle) => n >= bundle.count ? cost[n - bundle.count] + bundle.price : Infinity));
  let alone = units.reduce((sum, unit) => sum + unit.each, 0), found = [alone, 0];
  units.forEach((unit, nth) => {
    alone -= unit.each;
    if (cost[nth + 1] + alone < found[0]) found = [cost[nth + 1] + alone, nth + 1];
  });
  return [found[1], cost[found[1]]];
};

const inOrder = (lines, offers, order) => {
  const wanted = lines.map((_, nth) => offers.filter((offer) => offer.held.includes(nth)).length);
  const byWorth = (a, b) => b.each - a.each || wanted[a.line] - wanted[b.line] || a.line - b.line;
  let free = lines.flatMap((line, nth) => Array.from({ length: line.count }, () => ({ line: nth, each: line.each }))).sort(byWorth);
  const sums = lines.map(() => 0);
  for (const offer of order.map((nth) => offers[nth])) {
    const units = free.filter((unit) => offer.held.includes(unit.line));
    const [n, price] = best(units, offer.bundles);
    if (n === 0) continue;
    const weights = lines.map(() => 0);
    for (const unit of units.slice(0, n)) weights[unit.line] += unit.each;
    spread(price, weights).forEach((share, nth) => { sums[nth] += share; });
    free = [...free.filter((unit) => !offer.held.includes(unit.line)), ...units.slice(n)].sort(byWorth);
  }
  for (const unit of free) sums[unit.line] += unit.each;
  return sums;
};

const total = (sums) => sums.reduce((a, b) => a + b, 0);

// What is paid for each line, tax in it.
const bill = (lines) => {
  const offers = offersFor(lines);
  const tried = offers.length <= 4 ? orders(offers.length)
    : [offers.map((_, nth) => nth).sort((a, b) => offers[a].held.length - offers[b].held.length)];
  let sums = null;
  for (const order of tried) {
    const found = inOrder(lines, offers, order);
    if (!sums || total(found) < total(sums)) sums = found;
  }
  const saved = lines.reduce((sum, line) => sum + line.count * line.each, 0) - total(sums);
  if (told.tax) {
    // On top, rounded half-even once for the whole sale.
    const part = BigInt(total(sums)) * BigInt(told.tax.part), whole = BigInt(told.tax.of);
    let tax = part / whole;
    const rest = part % whole * 2n;
    if (rest > whole || (rest === whole && tax % 2n === 1n)) tax += 1n;
    const shares = spread(Number(tax), sums);
    sums = sums.map((sum, nth) => sum + shares[nth]);
  }
  return { sums, sum: total(sums), saved };
};

// The store: every sale of this browser, in the order they were made. What the
// browser will not keep waits in the page as long as it stays open.
const loose = [];
let looseNth = 0, base = null;
const open = () => base ??= new Promise((done, fail) => {
  const ask = indexedDB.open("pourwright-sales", 1);
  ask.onupgradeneeded = () => ask.result.createObjectStore("sales", { keyPath: "nth", autoIncrement: true });
  ask.onsuccess = () => {
    const gone = () => { base = null; };
    ask.result.onclose = gone;
    ask.result.onversionchange = () => { ask.result.close(); gone(); };
    done(ask.result);
  };
  ask.onerror = () => fail(ask.error);
}).catch((problem) => { base = null; throw problem; });
// One deal with the store; done only once it is on the disk.
const deal = async (mode, work) => {
  const store = await open();
  return new Promise((done, fail) => {
    const the = store.transaction("sales", mode, { durability: "strict" });
    let result;
    the.oncomplete = () => done(result);
    the.onabort = () => fail(the.error);
    work(the.objectStore("sales"), (value) => { result = value; });
  });
};
const everything = async () => {
  let kept = [];
  try {
    kept = await deal("readonly", (sales, give) => { const ask = sales.getAll(); ask.onsuccess = () => give(ask.result); });
  } catch { /* nothing is kept here; what is loose is all there is */ }
  return [...kept, ...loose];
};
const add = async (entry) => {
  try { await deal("readwrite", (sales) => { sales.add(entry); }); }
  catch { loose.push({ ...entry, nth: "loose" + looseNth++ }); }
  tellOthers();
};
// Changes an entry as it stands now, whatever another tab did to it: `change`
// returns what it becomes, null to drop it, nothing to leave it. Says whether
// it was changed.
const change = async (nth, how) => {
  const was = loose.findIndex((entry) => entry.nth === nth);
  let changed = false;
  if (was >= 0) {
    const now = how(loose[was]);
    if (now === null) loose.splice(was, 1); else if (now) loose[was] = now;
    changed = now !== undefined;
  } else {
    changed = await deal("readwrite", (sales, give) => {
      const ask = sales.get(nth);
      ask.onsuccess = () => {
        const now = ask.result && how(ask.result);
        give(now !== undefined);
        if (now === null) sales.delete(nth); else if (now) sales.put(now);
      };
    });
  }
  tellOthers();
  return changed;
};
const others = "BroadcastChannel" in window ? new BroadcastChannel("pourwright-sales") : null;
const tellOthers = () => { if (others) others.postMessage("changed"); };

// What is in hand, and survives a reload of this tab.
const handAt = "hand:" + journal + ":" + told.day;
let hand = { word: word(), goods: {} }, note = 0, after = "";
try { hand = JSON.parse(sessionStorage.getItem(handAt)) || hand; } catch { /* an empty hand */ }
let saving = 0;
const keepHand = () => { if (saving === 0) try { sessionStorage.setItem(handAt, JSON.stringify(hand)); } catch { /* a reload empties the hand */ } };
const dropHand = () => { hand = { word: word(), goods: {} }; note = 0; keepHand(); };
const held = () => told.goods.filter((good) => hand.goods[good.id] > 0 && good.price !== null)
  .map((good) => ({ id: good.id, name: good.name, each: good.price, count: hand.goods[good.id] }));

// What the workshop last said is left; a kept page may be older than that.
const leftAt = "left:" + journal + ":" + told.day;
let left = Object.fromEntries(told.goods.map((good) => [good.id, good.left]));
try {
  const heard = JSON.parse(localStorage.getItem(leftAt));
  if (heard && heard.sale > told.sale) left = { ...left, ...heard.left };
} catch { /* the page's own figures stand */ }
const hear = (answer) => {
  left = { ...left, ...answer.left };
  let sale = Math.max(answer.sale, told.sale);
  try {
    const heard = JSON.parse(localStorage.getItem(leftAt));
    if (heard) sale = Math.max(sale, heard.sale);
    localStorage.setItem(leftAt, JSON.stringify({ sale, left }));
  } catch { /* figures of the page, no more */ }
};

// Sending.
const SOON = 2000, LATEST = 20000, PATIENCE = 10000, REMEMBERED = 2 * 24 * 3600 * 1000;
let sending = false, failed = 0, elsewhere = false, waiting = 0, timer = 0;

// "sent", or "refused" with the reason, once the workshop decided; nothing
// where it did not say.
const send = async (entry) => {
  const body = entry.kind === "back" ? { token: entry.token }
    : { token: entry.token, market_day: entry.day, payment: entry.payment, at: entry.at, lines: entry.lines.map(({ product, count, paid }) => ({ product, count, paid })) };
  const path = entry.kind === "back" ? "/api/v1/sale/take-back" : "/api/v1/sale";
  const stop = new AbortController(), late = setTimeout(() => stop.abort(), PATIENCE);
  try {
    const reply = await fetch(path + "?journal=" + encodeURIComponent(journal), { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body), signal: stop.signal });
    elsewhere = reply.status === 421;
    if (elsewhere) return null;
    const answer = await reply.json();
    if (reply.ok && Number.isInteger(answer.sale)) return { state: "sent", answer };
    if (reply.status >= 400 && reply.status < 500 && Array.isArray(answer.problems)) return { state: "refused", why: answer.problems.map((problem) => problem.wrong + "; " + problem.accepted).join(". ") };
  } catch { /* no answer: it may have arrived all the same, and is sent again */ }
  finally { clearTimeout(late); }
  return null;
};

const sendAll = async () => {
  for (;;) {
    const next = (await everything()).find((entry) => entry.journal === journal && entry.state === "waiting");
    if (!next) { failed = 0; return; }
    // Noted before it leaves: from now on the workshop may know of it.
    if (!await change(next.nth, (entry) => entry.state === "waiting" ? { ...entry, tried: true } : undefined)) continue;
    const done = await send(next);
    if (!done) { failed += 1; return; }
    failed = 0;
    if (done.state === "refused") {
      await change(next.nth, (entry) => ({ ...entry, state: "refused", why: done.why }));
    } else {
      hear(done.answer);
      if (next.kind === "back") {
        for (const entry of await everything()) {
          if (entry.token === next.token && entry.kind === "sale") await change(entry.nth, (sale) => ({ ...sale, voided: true }));
        }
        await change(next.nth, () => null);
      } else {
        await change(next.nth, (entry) => ({ ...entry, state: "sent", sale: done.answer.sale, voided: done.answer.voided, sentAt: Date.now() }));
      }
    }
    await show();
  }
};
const drain = async () => {
  clearTimeout(timer);
  if (sending) return;
  sending = true;
  try {
    // Two tabs take turns where the browser can; else both send, and the
    // workshop counts once.
    if (navigator.locks) await navigator.locks.request("pourwright-sales", { ifAvailable: true }, (lock) => lock ? sendAll() : undefined);
    else await sendAll();
  } catch { failed += 1; }
  finally { sending = false; }
  await show();
  if (waiting > 0) timer = setTimeout(drain, Math.min(SOON * 2 ** Math.min(failed, 8), LATEST));
};

// Drawing.
const showHand = () => {
  const lines = held();
  const found = lines.length ? bill(lines) : { sum: 0, saved: 0 };
  for (const tile of page.querySelectorAll("[data-good]")) {
    const n = hand.goods[tile.dataset.good] || 0;
    tile.classList.toggle("held", n > 0);
    tile.querySelector("[data-held]").textContent = n > 0 ? "× " + n : "";
    tile.querySelector("[data-less]").hidden = n === 0;
  }
  at("sum").textContent = amount(found.sum);
  at("saved").textContent = found.saved > 0 ? amount(found.saved) + " less" : lines.length ? many(lines.reduce((sum, line) => sum + line.count, 0), "piece", "pieces") : "";
  for (const button of page.querySelectorAll("[data-pay]")) button.disabled = lines.length === 0;
  const notes = at("notes");
  notes.replaceChildren();
  for (const worth of found.sum > 0 ? notesFor(found.sum) : []) {
    const button = el("button", amount(worth).replace(/[.,]0+$/, ""), { type: "button" });
    button.setAttribute("aria-pressed", String(note === worth));
    button.setAttribute("aria-label", "Given " + amount(worth) + " " + told.currency);
    button.addEventListener("click", () => { note = note === worth ? 0 : worth; at("given").value = ""; showHand(); });
    notes.append(button);
  }
  at("change").textContent = found.sum > 0
    ? note === 0 ? "" : note >= found.sum ? "Give back " + amount(note - found.sum) : amount(found.sum - note) + " short"
    : after;
  return found;
};
// The next notes above a sum: 5, 10, 20, 50 and 100, a thousandfold where there
// are no smaller coins.
const notesFor = (sum) => {
  const thousand = told.places === 0 ? 1000 : 1;
  const above = [5, 10, 20, 50, 100].map((worth) => worth * coins * thousand).filter((worth) => worth >= sum);
  return (above.length ? above : [Math.ceil(sum / (100 * coins * thousand)) * 100 * coins * thousand]).slice(0, 3);
};

const whatOf = (entry) => entry.lines.map((line) => line.count + " " + line.name).join(", ");
const show = async () => {
  const all = await everything();
  const mine = all.filter((entry) => entry.journal === journal);
  const wait = mine.filter((entry) => entry.state === "waiting"), refused = mine.filter((entry) => entry.state === "refused");
  const strangers = all.filter((entry) => entry.journal !== journal && entry.state !== "sent").length;
  waiting = wait.length;
  const sentAt = Math.max(0, ...mine.map((entry) => entry.sentAt || 0));
  const words = [];
  let said = "";
  if (waiting > 0) {
    said = many(waiting, "sale waits to be sent.", "sales wait to be sent.");
    if (elsewhere) words.push("Another workshop is open at this address; they wait for their own.");
    else if (failed > 0) words.push("The workshop does not answer." + (loose.length ? "" : " They are kept here until it does."));
  } else if (refused.length === 0) {
    said = sentAt ? "All sent " + clock(sentAt) + "." : "Nothing waits to be sent.";
  }
  if (loose.some((entry) => entry.state === "waiting")) words.push("This browser keeps nothing: leave the page open until all is sent.");
  if (strangers > 0) words.push(many(strangers, "sale of another workshop waits", "sales of another workshop wait") + " in this browser.");
  const state = at("state");
  at("why").textContent = words.join(" ");
  if (state.textContent !== said) state.textContent = said;
  state.className = waiting > 0 ? "verdict unproven" : "verdict yes";
  state.hidden = said === "";

  // What is left: as the workshop said, less what it does not know of yet.
  const today = mine.filter((entry) => entry.day === told.day && entry.kind === "sale");
  for (const good of told.goods) {
    const away = wait.filter((entry) => entry.kind === "sale" && entry.day === told.day).flatMap((entry) => entry.lines)
      .reduce((sum, line) => line.product === good.id ? sum + line.count : sum, 0);
    const n = left[good.id] - away, place = page.querySelector(`[data-good="${good.id}"] [data-left]`);
    place.textContent = n < 0 ? "sold " + -n + " more than taken" : n + " left";
  }

  const last = at("last");
  last.replaceChildren();
  for (const entry of today.filter((it) => it.state !== "refused").slice(-8).reverse()) {
    const row = el("li", ""), words = el("span", "");
    words.append(el("span", amount(entry.sum) + " " + entry.payment), el("br", ""), el("span", clock(entry.made) + ", " + whatOf(entry), { className: "soft small" }));
    const goingBack = wait.some((it) => it.kind === "back" && it.token === entry.token);
    if (entry.voided || goingBack) row.append(words, el("span", "taken back", { className: "soft" }));
    else {
      const button = el("button", "Take back", { type: "button", className: "quiet" });
      button.setAttribute("aria-label", "Take back " + whatOf(entry));
      button.addEventListener("click", () => takeBack(entry));
      row.append(words, button);
    }
    last.append(row);
  }
  at("lately").hidden = last.children.length === 0;

  const list = at("refused");
  list.replaceChildren();
  for (const entry of refused) {
    const row = el("li", ""), words = el("span", "");
    const what = entry.kind === "back" ? "Taking back " + amount(entry.sum) : amount(entry.sum) + " " + entry.payment + ", " + clock(entry.made) + ": " + whatOf(entry);
    words.append(el("span", what), el("br", ""), el("span", entry.why + ".", { className: "soft" }));
    const again = el("button", "Send it again", { type: "button" }), drop = el("button", "Leave it out", { type: "button", className: "quiet" });
    again.addEventListener("click", async () => { await change(entry.nth, (now) => ({ ...now, state: "waiting" })); drain(); });
    drop.addEventListener("click", async () => {
      if (!confirm("Leave it out for good? Nothing of it will be written down.")) return;
      await change(entry.nth, () => null);
      await show();
    });
    const ways = el("span", "", { className: "ways" });
    ways.append(again, drop);
    row.append(words, ways);
    list.append(row);
  }
  at("trouble").hidden = refused.length === 0;
};

// Acting.
page.addEventListener("click", (event) => {
  const tile = event.target.closest("[data-good]");
  if (!tile) return;
  const id = tile.dataset.good, n = hand.goods[id] || 0;
  if (event.target.closest("[data-add]")) hand.goods[id] = Math.min(n + 1, 999);
  else if (event.target.closest("[data-less]")) hand.goods[id] = Math.max(n - 1, 0);
  else return;
  after = "";
  keepHand();
  showHand();
});
at("given").addEventListener("input", (event) => { note = typed(event.target.value); showHand(); });

const pay = async (payment) => {
  const lines = held();
  if (lines.length === 0) return;
  const { sums, sum } = bill(lines), now = new Date(), from = hand.word;
  const two = (n) => String(n).padStart(2, "0");
  after = payment === "cash" && note > sum ? "Give back " + amount(note - sum) : amount(sum) + " " + payment;
  at("given").value = "";
  // The next buyer's taps count from here. What this tab keeps of the hand goes
  // only once the sale is in the store.
  saving += 1;
  dropHand();
  showHand();
  await add({
    kind: "sale", state: "waiting", journal, day: told.day, token: word(), hand: from, payment, sum, made: now.getTime(),
    at: now.getFullYear() + "-" + two(now.getMonth() + 1) + "-" + two(now.getDate()) + "T" + two(now.getHours()) + ":" + two(now.getMinutes()),
    lines: lines.map((line, nth) => ({ product: line.id, name: line.name, count: line.count, paid: plain(sums[nth]).replace(".", told.mark) + " " + told.currency })),
  });
  saving -= 1;
  keepHand();
  await show();
  if (navigator.storage && navigator.storage.persist) navigator.storage.persist().catch(() => {});
  drain();
};
for (const button of page.querySelectorAll("[data-pay]")) button.addEventListener("click", () => pay(button.dataset.pay));

// A sale that never left is dropped here; one the workshop may know of is taken
// back there, after it.
const takeBack = async (sale) => {
  if (!confirm("Take back " + whatOf(sale) + "?")) return;
  const here = await change(sale.nth, (entry) => entry.state === "waiting" && !entry.tried ? null : undefined);
  if (!here) await add({ kind: "back", state: "waiting", journal, day: sale.day, token: sale.token, sum: sale.sum, payment: sale.payment, made: Date.now(), lines: sale.lines });
  await show();
  drain();
};

// What was sent long ago is forgotten.
const tidy = async () => {
  for (const entry of await everything()) {
    if (entry.state === "sent" && entry.sentAt < Date.now() - REMEMBERED) await change(entry.nth, () => null);
  }
};

const keepPage = async () => {
  if (!("serviceWorker" in navigator)) return false;
  try {
    await navigator.serviceWorker.register("/assets/sell-worker.js", { scope: "/stall/day/" });
    const ready = await navigator.serviceWorker.ready;
    const files = [location.pathname, ...[...document.querySelectorAll("link[rel=stylesheet], link[rel=icon], script[src]")].map((it) => { const url = new URL(it.href || it.src); return url.pathname + url.search; })];
    const line = new MessageChannel();
    const answer = new Promise((done) => { line.port1.onmessage = (event) => done(event.data); setTimeout(() => done(false), PATIENCE); });
    ready.active.postMessage({ keep: files }, [line.port2]);
    return await answer;
  } catch { return false; }
};

if (others) others.onmessage = () => show();
addEventListener("online", () => { failed = 0; drain(); });
addEventListener("pageshow", () => drain());
document.addEventListener("visibilitychange", () => { if (document.visibilityState === "visible") { failed = 0; drain(); } });
addEventListener("beforeunload", (event) => { if (loose.some((entry) => entry.state !== "sent")) event.preventDefault(); });

page.hidden = false;
for (const without of document.querySelectorAll("[data-without-script]")) without.hidden = true;
(async () => {
  // The battery may have gone between keeping a sale and emptying the hand.
  if ((await everything()).some((entry) => entry.hand === hand.word)) dropHand();
  showHand();
  await show();
  drain();
  tidy();
  at("offline").textContent = await keepPage()
    ? "This page opens without a signal too."
    : "This browser cannot open the page again without a signal: leave it open while you sell. Sales are sent when the workshop answers.";
})();
})();
