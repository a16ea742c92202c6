// Pages work without this. With it: answers follow what is typed, what is
// half-typed survives a reload, the screen stays on at the bench, timers run.
"use strict";

// What is kept belongs to one journal: another may be opened at this address.
const journal = document.body.dataset.journal || "";

// A page whose address carries what was typed can be come back to: the last
// such address is kept, and a link that waits for it leads there.
const remember = () => {
  const page = document.querySelector("[data-remember]");
  if (!page || !location.search) return;
  try { localStorage.setItem("last:" + journal + ":" + page.dataset.remember, location.search); } catch { /* a full store loses a convenience, nothing else */ }
};
remember();
for (const link of document.querySelectorAll("a[data-again]")) {
  const last = localStorage.getItem("last:" + journal + ":" + link.dataset.again);
  if (last) { link.search = last; link.hidden = false; }
}

// Live forms: ask the server again as the inputs change, and swap the parts
// marked data-part for the new ones. The server does all the arithmetic.
for (const form of document.querySelectorAll("form[data-live]")) {
  let waiting, asked = 0;
  const ask = async () => {
    const mine = ++asked;
    const query = new URLSearchParams(new FormData(form));
    query.delete("once");
    const url = (form.dataset.live || form.action).split("?")[0] + "?" + query;
    try {
      const reply = await fetch(url, { headers: { accept: "text/html" } });
      if (mine !== asked || reply.status >= 500) return;
      const page = new DOMParser().parseFromString(await reply.text(), "text/html");
      for (const part of document.querySelectorAll("[data-part]")) {
        const fresh = page.querySelector(`[data-part="${part.dataset.part}"]`);
        if (!fresh) continue;
        for (const was of part.querySelectorAll("details[id][open]")) {
          const now = fresh.querySelector("#" + was.id);
          if (now) now.open = true;
        }
        part.replaceWith(fresh);
      }
      if (form.method === "get") { history.replaceState(null, "", url); remember(); }
    } catch { /* no connection: the last answer stands, the button still works */ }
  };
  form.addEventListener("input", () => { clearTimeout(waiting); waiting = setTimeout(ask, 180); });
}

// Half-typed boxes survive a reload and a dead battery.
for (const form of document.querySelectorAll("form[data-keep]")) {
  const key = "kept:" + journal + ":" + form.dataset.keep;
  let kept = {};
  try { kept = JSON.parse(localStorage.getItem(key)) || {}; } catch { kept = {}; }
  for (const box of form.elements) {
    if (box.name && box.type !== "hidden" && box.type !== "checkbox" && kept[box.name] !== undefined && !box.dataset.said) box.value = kept[box.name];
  }
  form.addEventListener("input", (event) => {
    if (event.target.type === "checkbox") return;
    kept[event.target.name] = event.target.value;
    try { localStorage.setItem(key, JSON.stringify(kept)); } catch { /* a full store loses a convenience, nothing else */ }
  });
  form.addEventListener("submit", (event) => {
    if (!navigator.onLine && location.hostname !== "localhost" && location.hostname !== "127.0.0.1") {
      event.preventDefault();
      alert("No connection. What you typed is kept; try again when it is back.");
      return;
    }
    localStorage.removeItem(key);
  });
}

// The bar that fills to the target while a weight is typed.
for (const box of document.querySelectorAll("input[data-bar]")) {
  const bar = document.getElementById(box.dataset.bar);
  if (!bar) continue;
  const full = Number(bar.dataset.full), target = Number(bar.dataset.target);
  box.addEventListener("input", () => {
    const figure = parseFloat(box.value.replace(",", "."));
    const share = Number.isFinite(figure) && target > 0 ? Math.min(figure / target, full) : 0;
    const fill = bar.querySelector(".bar-fill");
    const room = Number(bar.querySelector(".bar-track").getAttribute("width"));
    if (fill) fill.setAttribute("width", String(room * share / full));
    const off = Number.isFinite(figure) ? figure - target : -target, tolerance = Number(bar.dataset.tolerance);
    bar.classList.remove("under", "within", "over");
    bar.classList.add(off < -tolerance ? "under" : off > tolerance ? "over" : "within");
  });
}

// Buttons that put a figure into a box: targets instead of a keyboard.
for (const button of document.querySelectorAll("button[data-put]")) {
  button.addEventListener("click", () => {
    const box = document.getElementById(button.dataset.into);
    box.value = button.dataset.put;
    box.dispatchEvent(new Event("input", { bubbles: true }));
    box.focus();
  });
}

// A clock that counts from the moment it is started, and survives a reload.
for (const clock of document.querySelectorAll("[data-timer]")) {
  const key = "timer:" + journal + ":" + clock.dataset.timer, face = clock.querySelector(".timer"), button = clock.querySelector("button");
  clock.hidden = false;
  const show = () => {
    const since = Number(localStorage.getItem(key));
    if (!since) { face.textContent = "0:00"; button.textContent = "Start the clock"; return; }
    const s = Math.floor((Date.now() - since) / 1000);
    const parts = [Math.floor(s / 3600), Math.floor(s / 60) % 60, s % 60];
    face.textContent = (parts[0] ? parts[0] + ":" + String(parts[1]).padStart(2, "0") : parts[1]) + ":" + String(parts[2]).padStart(2, "0");
    button.textContent = "Start again from nothing";
  };
  button.addEventListener("click", () => { localStorage.setItem(key, String(Date.now())); show(); });
  show();
  setInterval(show, 1000);
}

// Keep the screen on while something is being weighed.
if (document.querySelector("[data-awake]") && "wakeLock" in navigator) {
  const hold = () => navigator.wakeLock.request("screen").catch(() => {});
  hold();
  document.addEventListener("visibilitychange", () => { if (document.visibilityState === "visible") hold(); });
}

for (const button of document.querySelectorAll("[data-print]")) {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}
