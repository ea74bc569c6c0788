// At the water: what is entered is kept on this phone first, sent oldest first, and kept until the shop has it.
// Only forms that bring people out or write down what happened carry data-outbox; nobody goes in from here.
"use strict";
(() => {
  const AGAIN_MS = 15 * 1000;
  const SLOWEST_MS = 60 * 1000;
  const ANSWER_MS = 20 * 1000;
  // Somebody still looks at what was just tapped: the shop's own answer is shown to them as it is.
  const FRESH_MS = 25 * 1000;
  const panel = document.getElementById("outbox");
  if (!panel || !window.indexedDB) return;
  const one = (selector) => panel.querySelector(selector);
  const home = location.pathname;
  let store = null;
  let sending = false;
  let wait = AGAIN_MS;
  let timer = 0;
  let confirmedAt = 0;
  let hold = "";

  const opened = indexedDB.open("daybuoy-outbox", 1);
  opened.onupgradeneeded = () => {
    opened.result.createObjectStore("entries", { keyPath: "number", autoIncrement: true })
      .createIndex("key", "key", { unique: true });
  };
  opened.onsuccess = () => { store = opened.result; show().then(send); };
  const asked = (mode, act) => new Promise((done, wrong) => {
    const turn = store.transaction("entries", mode);
    const request = act(turn.objectStore("entries"));
    turn.oncomplete = () => done(request.result);
    turn.onabort = turn.onerror = () => wrong(turn.error);
  });
  const all = () => asked("readonly", (entries) => entries.getAll());
  const keep = (entry) => asked("readwrite", (entries) => entries.put(entry));
  const drop = (number) => asked("readwrite", (entries) => entries.delete(number));

  const newKey = () => [...crypto.getRandomValues(new Uint8Array(16))]
    .map((byte) => byte.toString(16).padStart(2, "0")).join("");
  const clock = (moment) => new Date(moment).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hour12: false });
  const read = (text) => new DOMParser().parseFromString(text, "text/html");

  // What stands on this phone: the one word, each entry, and the rows of people who are marked here.
  const line = (entry) => {
    const item = document.createElement("li");
    const words = [`${clock(entry.at)} ${entry.says}`];
    if (entry.refused) words.push(`The shop said: ${entry.refused}`);
    else if (entry.person !== panel.dataset.who) words.push(`Made by ${entry.name}.`);
    item.textContent = words.join(". ");
    const button = document.createElement("button");
    button.type = "button";
    button.className = "button plain";
    if (entry.refused) {
      button.textContent = "I have read this";
      button.onclick = () => drop(entry.number).then(show);
      item.append(button);
    } else if (entry.person !== panel.dataset.who) {
      button.textContent = "Send it in my name";
      button.onclick = () => keep({ ...entry, person: panel.dataset.who, name: panel.dataset.name, token: "" })
        .then(show).then(send);
      item.append(button);
    }
    return item;
  };
  const show = async () => {
    const entries = await all();
    const waiting = entries.filter((entry) => !entry.refused);
    panel.hidden = !entries.length && !confirmedAt;
    panel.dataset.waiting = waiting.length;
    const word = sending && waiting.length ? "Sending" : waiting.length ? "On this phone" : "At the shop";
    const since = waiting.length ? waiting[0].at : confirmedAt;
    const many = waiting.length > 1 ? `, ${waiting.length} entries` : "";
    one("[data-word]").textContent = entries.length || confirmedAt ? `${word} ${since ? clock(since) : ""}${many}` : "";
    one("[data-why]").textContent = waiting.length ? hold : "";
    one("ul").replaceChildren(...entries.filter((entry) => entry.refused || entry.home !== home || !entry.row
      || entry.person !== panel.dataset.who).map(line));
    document.querySelectorAll("[data-marked]").forEach((mark) => mark.remove());
    for (const entry of waiting) {
      const row = entry.row && document.getElementById(entry.row);
      if (!row) continue;
      const mark = document.createElement("p");
      mark.dataset.marked = "";
      mark.textContent = `Marked ${clock(entry.at)}, on this phone`;
      row.append(mark);
    }
  };

  // The page as the shop has it now; nothing that somebody is typing is thrown away.
  const typing = () => [...document.querySelectorAll("#main input:not([type=hidden]), #main textarea")]
    .some((box) => (box.type === "radio" || box.type === "checkbox") ? box.checked !== box.defaultChecked
      : box.value !== box.defaultValue);
  const swap = (page) => {
    const fresh = page.getElementById("main");
    if (!fresh || page.querySelector("form[data-action='sign_in']")) return;
    document.dispatchEvent(new Event("htmx:before:request"));
    const shown = document.importNode(fresh, true);
    document.getElementById("main").replaceWith(shown);
    const strip = page.querySelector(".in-water");
    const old = document.querySelector(".in-water");
    if (old && strip) old.replaceWith(document.importNode(strip, true));
    else if (old) old.remove();
    window.htmx?.process?.(shown);
    document.dispatchEvent(new Event("htmx:after:swap"));
  };
  const refresh = async () => {
    if (typing()) return;
    const answer = await fetch(home, { signal: AbortSignal.timeout(ANSWER_MS) });
    if (answer.ok && !typing()) swap(read(await answer.text()));
  };

  const said = (page, status) => {
    const parts = page.querySelectorAll("#problem li, #problem p, h1, [data-say]");
    const words = [...parts].map((part) => part.textContent.trim()).filter(Boolean).slice(0, 4).join(" ");
    return words || `answer ${status}`;
  };
  // A later sign-in on this phone has another token; the phone's own page tells it, and who that is.
  const signedInAgain = async () => {
    const answer = await fetch(home, { signal: AbortSignal.timeout(ANSWER_MS) });
    const page = read(await answer.text());
    const now = page.getElementById("outbox");
    const token = page.querySelector("input[name='token']");
    if (!answer.ok || !now || !token) return null;
    panel.dataset.who = now.dataset.who;
    panel.dataset.name = now.dataset.name;
    return token.value;
  };
  const post = (entry) => fetch(entry.url, {
    method: "POST",
    body: new URLSearchParams([...entry.fields, ["key", entry.key], ["token", entry.token], ["device_at", entry.device]]),
    signal: AbortSignal.timeout(ANSWER_MS),
  });

  // One after the other, oldest first. True: go on with the next.
  const sendOne = async (entry) => {
    let answer = entry.token ? await post(entry) : null;
    if (!answer || answer.status === 403) {
      const token = await signedInAgain();
      if (token === null) {
        hold = "Nobody is signed in here. Sign in, then it is sent.";
        return false;
      }
      if (entry.person !== panel.dataset.who) return true;
      entry.token = token;
      await keep(entry);
      answer = await post(entry);
    }
    if (answer.status === 429 || answer.status >= 500) {
      hold = "The shop computer has no time for it yet. It is sent again.";
      return false;
    }
    const page = read(await answer.text());
    if (answer.ok) {
      await drop(entry.number);
      confirmedAt = Date.now();
    } else await keep({ ...entry, refused: said(page, answer.status) });
    wait = AGAIN_MS;
    hold = "";
    const last = (await all()).every((other) => other.refused || other.person !== panel.dataset.who);
    if (last && entry.home === home) {
      if (Date.now() - entry.at < FRESH_MS && answer.status !== 409 && page.getElementById("outbox")) {
        if (!answer.ok) await drop(entry.number);
        swap(page);
      } else await refresh();
    }
    return true;
  };
  const send = async () => {
    if (!store || sending) return;
    sending = true;
    clearTimeout(timer);
    try {
      const tried = new Set();
      for (;;) {
        const next = (await all()).find((entry) => !entry.refused && !tried.has(entry.number)
          && entry.person === panel.dataset.who);
        if (!next) break;
        tried.add(next.number);
        await show();
        if (!(await sendOne(next))) break;
      }
    } catch {
      hold = "The shop computer is not answering. It is sent as soon as there is signal.";
    }
    sending = false;
    await show();
    if ((await all()).some((entry) => !entry.refused)) {
      timer = setTimeout(send, wait);
      wait = Math.min(wait * 2, SLOWEST_MS);
    }
  };
  const now = () => { wait = AGAIN_MS; send(); };

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!store || !form.matches("form[data-outbox]") || event.defaultPrevented) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    const fields = [...new FormData(form, event.submitter)].filter(([name]) => !["key", "token", "device_at"].includes(name));
    const box = form.querySelector("[name=key]");
    const at = Date.now();
    const row = form.closest("[data-person]");
    const typed = [...form.querySelectorAll("input:not([type=hidden])")].map((input) => input.value.trim()).filter(Boolean);
    const entry = {
      key: box.value, url: form.getAttribute("action"), home, fields, at, token: form.querySelector("[name=token]").value,
      device: new Date(at).toISOString(), person: panel.dataset.who, name: panel.dataset.name,
      row: form.dataset.action === "mark_back" && row ? row.id : "",
      says: [event.submitter?.getAttribute("aria-label") || event.submitter?.textContent.trim(), ...typed].join(", "),
    };
    // The next tap on this form is another entry.
    box.value = newKey();
    panel.dataset.waiting = Number(panel.dataset.waiting || 0) + 1;
    keep(entry).then(() => {
      // What is kept is not typed any more.
      form.reset();
      form.querySelectorAll("input").forEach((input) => input.dispatchEvent(new Event("input", { bubbles: true })));
      return show();
    }).then(now, () => form.submit());
  }, true);

  addEventListener("online", now);
  addEventListener("pageshow", () => { if (store) now(); });
  document.addEventListener("visibilitychange", () => { if (!document.hidden) { now(); awake(); } });
  document.addEventListener("htmx:after:swap", () => { if (store) show(); });

  // With https the screen stays on while this page is open, and the page can be opened without signal.
  const awake = () => { navigator.wakeLock?.request("screen").catch(() => {}); };
  awake();
  if (location.protocol === "https:") navigator.serviceWorker?.register("/static/water-worker.js", { scope: "/water/" }).catch(() => {});
})();
