// Keeps the page live, and says so when it no longer is. The page needs none of this.
"use strict";
(() => {
  const heard = new Map(); // when each house was last heard of, by this device's own clock
  const houses = () => document.querySelectorAll("article[data-age]");
  for (const h of houses()) heard.set(h.id, Date.now());

  const words = (ms) => {
    const s = Math.round(ms / 1000);
    if (s < 60) return s + " s";
    if (s < 3600) return Math.floor(s / 60) + " min";
    return Math.floor(s / 3600) + " h " + Math.floor(s % 3600 / 60) + " min";
  };

  // Ages are counted from what the board said its own were, so that no two clocks are compared.
  const look = () => {
    const lost = [];
    for (const h of houses()) {
      const age = Number(h.dataset.age) + Date.now() - heard.get(h.id);
      const old = age > Number(h.dataset.late);
      h.querySelector(".age").textContent = words(age);
      h.querySelector(".gone").hidden = !old;
      h.classList.toggle("old", old);
      if (old) lost.push(h.querySelector("h2").textContent + ": no contact since " + h.dataset.clock + ".");
    }
    const text = lost.join(" ");
    const contact = document.getElementById("contact");
    if (contact.textContent !== text) contact.textContent = text;
  };

  const take = (html) => {
    const t = document.createElement("template");
    t.innerHTML = html;
    const fresh = t.content.firstElementChild;
    const shown = fresh && document.getElementById(fresh.id);
    if (!shown) return;
    for (const d of shown.querySelectorAll("details[open]")) {
      const same = fresh.querySelector("#" + d.id);
      if (same) same.open = true;
    }
    const at = document.activeElement;
    const again = at && shown.contains(at)
      ? [...shown.querySelectorAll("a,summary,[tabindex]")].indexOf(at) : -1;
    shown.replaceWith(fresh);
    if (again >= 0) fresh.querySelectorAll("a,summary,[tabindex]")[again]?.focus({ preventScroll: true });
    heard.set(fresh.id, Date.now());
  };

  const events = new EventSource(document.body.dataset.live);
  events.addEventListener("house", (e) => { take(e.data); look(); });
  setInterval(look, 2000);
  addEventListener("pageshow", look);
  document.addEventListener("visibilitychange", look);
})();
