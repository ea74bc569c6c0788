// What pages gain when scripts are on. Nothing here is needed for any job: forms and links do the work.
"use strict";
(() => {
  const REPEAT_MS = 350;
  const HERE_MS = 20 * 1000;
  const SHRUNK_PX = 3000;
  const byId = (id) => document.getElementById(id);

  // A wet or nervous finger taps twice: the second tap on the same control is not a second wish.
  const taps = new WeakMap();
  document.addEventListener("click", (event) => {
    const control = event.target.closest?.("a, button, summary");
    if (!control) return;
    const before = taps.get(control);
    if (before !== undefined && event.timeStamp - before < REPEAT_MS) {
      event.preventDefault();
      event.stopImmediatePropagation();
      return;
    }
    taps.set(control, event.timeStamp);
  }, true);

  // A line of the summary leads into its field, not only to it.
  document.addEventListener("click", (event) => {
    const link = event.target.closest?.("#problem a[href^='#wrong-']");
    const field = link && byId(link.hash.slice(1))?.querySelector("input:not([type=hidden]), select, textarea");
    if (!field) return;
    event.preventDefault();
    field.focus();
  });

  // Pressure: the step buttons appear once a figure is typed; a suggestion counts only after a tap.
  const figure = (text) => {
    const found = /\d+(?:[.,]\d+)?/.exec(text);
    return found ? Math.round(Number(found[0].replace(",", "."))) : null;
  };
  const show = (input) => {
    const field = input.closest(".pressure");
    const empty = figure(input.value) === null;
    field.querySelector("[data-steps-for]").hidden = empty;
    field.querySelectorAll("[data-fill], [data-unread]").forEach((part) => { part.hidden = !empty; });
  };
  document.addEventListener("input", (event) => {
    if (event.target.closest(".pressure")) show(event.target);
  });
  document.addEventListener("click", (event) => {
    const button = event.target.closest?.("[data-step], [data-fill]");
    if (!button) return;
    const input = byId(button.dataset.fill || button.parentElement.dataset.stepsFor);
    if (button.dataset.fill) input.value = button.dataset.value;
    else input.value = Math.max(0, (figure(input.value) ?? 0) + Number(button.dataset.step));
    input.dispatchEvent(new Event("input", { bubbles: true }));
    if (button.dataset.fill) input.focus();
  });

  // The look: Auto, Bright or Dark, remembered on this device; never on a guest's page.
  const look = (choice) => {
    if (choice) document.documentElement.dataset.theme = choice;
    else delete document.documentElement.dataset.theme;
  };
  const remembered = () => {
    try { return localStorage.getItem("look") || ""; } catch { return ""; }
  };
  if (!("guest" in document.body.dataset)) look(remembered());
  document.addEventListener("change", (event) => {
    if (event.target.id !== "look") return;
    look(event.target.value);
    try { localStorage.setItem("look", event.target.value); } catch { /* the choice then lasts for this page */ }
  });

  // What was kept to open without signal goes with who signs out.
  document.addEventListener("submit", (event) => {
    if (event.target.dataset.action === "sign-out") window.caches?.delete("daybuoy-water-pages");
  }, true);

  // A photo larger than the shop keeps is made smaller here, before it is sent.
  const shrink = async (input) => {
    const file = input.files[0];
    if (!file || file.size <= Number(input.dataset.shrink)) return;
    try {
      const picture = await createImageBitmap(file);
      const scale = Math.min(1, SHRUNK_PX / Math.max(picture.width, picture.height));
      const sheet = document.createElement("canvas");
      sheet.width = Math.round(picture.width * scale);
      sheet.height = Math.round(picture.height * scale);
      sheet.getContext("2d").drawImage(picture, 0, 0, sheet.width, sheet.height);
      const smaller = await new Promise((done) => sheet.toBlob(done, "image/jpeg", 0.85));
      if (!smaller || input.files[0] !== file) return;
      const chosen = new DataTransfer();
      chosen.items.add(new File([smaller], "photo.jpg", { type: "image/jpeg" }));
      input.files = chosen.files;
    } catch { /* no picture: the shop's computer says so */ }
  };
  document.addEventListener("change", (event) => {
    if ("shrink" in event.target.dataset) shrink(event.target);
  });

  // After every page and every swap: wake the parts, say what was saved, put the focus where it belongs.
  const settle = (focusId) => {
    document.querySelectorAll(".pressure input").forEach(show);
    const chooser = document.querySelector("[data-look]");
    if (chooser) {
      chooser.hidden = false;
      byId("look").value = remembered();
    }
    const saved = document.querySelector("#saved p, #problem:has(~ * [data-scan])");
    const live = byId("live");
    if (live) setTimeout(() => { live.textContent = saved ? saved.textContent : ""; }, 100);
    if (focusId === undefined) return; // a whole page: its autofocus does this
    // A scanner types on: its box keeps the focus, and what is wrong is said aloud instead.
    const box = byId(focusId)?.closest("form")?.querySelector("[data-scan]");
    const place = box || byId("problem") || byId(focusId) || byId("main");
    if (place) place.focus({ preventScroll: place.id !== "problem" });
    if (box) box.select();
  };
  settle();

  // Pages with people on them are not shown again from the browser's memory.
  addEventListener("pageshow", (event) => {
    if (event.persisted && "noBack" in document.body.dataset) location.reload();
  });

  // A guest's page that nobody touches empties itself and ends the visit. The clock is asked, because a sleeping
  // tablet stops timers. Whoever reads or draws for long is said to be there, so that the shop counts the same.
  const away = document.body.dataset.idleTo;
  if (away) {
    const idleMs = Number(document.body.dataset.idleMinutes) * 60 * 1000;
    let touched = Date.now();
    let told = touched;
    let over = false;
    const look = () => {
      if (over || Date.now() - touched < idleMs) return;
      over = true;
      const end = document.querySelector("form[data-action='hand_back']");
      document.body.replaceChildren(...(end ? [end] : []));
      if (!end) return location.replace(away);
      end.hidden = true;
      end.submit();
    };
    const touch = () => {
      look();
      if (over) return;
      touched = Date.now();
      if (touched - told < HERE_MS) return;
      told = touched;
      fetch("/guest/here").then((answer) => { if (answer.redirected) location.replace(away); }, () => {});
    };
    ["pointerdown", "keydown", "input", "scroll"].forEach((kind) => addEventListener(kind, touch, { passive: true }));
    document.addEventListener("visibilitychange", look);
    setInterval(look, 5000);
  }

  // htmx, when it is there: an answer that is not a page with the form on it leaves what was typed alone.
  const lost = (sentence) => {
    const strip = byId("lost");
    if (!strip) return;
    strip.textContent = sentence;
    strip.hidden = !sentence;
  };
  let focusId = "";
  document.addEventListener("htmx:before:request", () => {
    focusId = document.activeElement?.id || "";
    lost("");
  });
  document.addEventListener("htmx:before:swap", (event) => {
    const { response, text } = event.detail.ctx;
    if (response.status < 400 || text.includes('id="problem"')) return;
    event.preventDefault();
    const answer = new DOMParser().parseFromString(text, "text/html");
    const said = [...answer.querySelectorAll("h1, [data-say]")].map((part) => part.textContent.trim().replace(/\.?$/, "."));
    lost([...said, "What you typed is still here."].join(" "));
  });
  document.addEventListener("htmx:before:history:update", (event) => {
    if (event.detail.response?.status >= 400) event.preventDefault();
  });
  document.addEventListener("htmx:error", () => {
    lost("The shop computer is not answering. What you typed is still here. Send it again in a moment.");
  });
  document.addEventListener("htmx:after:swap", () => settle(focusId));
})();
