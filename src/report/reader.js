"use strict";
/* Who reads: puts that answer first and large, and the sections in the order that this reader needs; nothing is hidden.
   The choice is kept in the address, so that a link opens the page as it was. */
const address = (() => {
  const read = () => new URLSearchParams(location.search);
  return {
    get: (name) => read().get(name),
    set: (name, value) => {
      const all = read();
      if (value) all.set(name, value);
      else all.delete(name);
      const text = all.toString();
      history.replaceState(null, "", location.pathname + (text ? "?" + text : "") + location.hash);
    },
  };
})();
(() => {
  const pick = document.getElementById("reader");
  const main = document.querySelector("main");
  const readers = document.querySelector(".readers");
  const list = document.getElementById("contents-list");
  if (!pick || !main || !readers || !list) return;
  const asWritten = [...main.children];
  const cards = [...readers.children];
  const entries = [...list.children];
  const orders = {
    electrician: ["first", "since", "findings", "moves", "trial", "currents", "data"],
    maintenance: ["first", "since", "places", "trial", "answer", "moves", "findings", "currents"],
    manager: ["first", "since", "energy", "money", "findings", "moves", "data"],
  };
  const targetOf = (entry) => entry.firstElementChild.hash.slice(1);
  const arrange = (reader) => {
    const order = orders[reader] ?? [];
    const focus = document.activeElement;
    const first = order.map((id) => asWritten.find((part) => part.id === id)).filter(Boolean);
    main.append(...first, ...asWritten.filter((part) => !first.includes(part)));
    const places = [...main.children].map((part) => part.id);
    list.append(...entries.toSorted((a, b) => places.indexOf(targetOf(a)) - places.indexOf(targetOf(b))));
    for (const card of cards) card.classList.toggle("chosen", card.dataset.reader === reader);
    readers.append(...cards.filter((card) => card.dataset.reader === reader), ...cards.filter((card) => card.dataset.reader !== reader));
    focus?.focus({ preventScroll: true });
  };
  const wanted = address.get("reader");
  const radio = [...pick.querySelectorAll("input")].find((input) => input.value === wanted);
  if (radio) {
    radio.checked = true;
    arrange(wanted);
  }
  pick.addEventListener("change", (event) => {
    const reader = event.target.value;
    arrange(reader);
    address.set("reader", reader === "all" ? "" : reader);
  });
  pick.hidden = false;
})();
/* The contents: a button opens them where the page is narrow; the section in view is marked. */
(() => {
  const open = document.getElementById("contents-open");
  const list = document.getElementById("contents-list");
  if (!open || !list) return;
  const links = [...list.querySelectorAll("a")];
  const close = () => open.setAttribute("aria-expanded", "false");
  open.hidden = false;
  open.addEventListener("click", () => {
    open.setAttribute("aria-expanded", String(open.getAttribute("aria-expanded") !== "true"));
  });
  list.addEventListener("click", close);
  addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || open.getAttribute("aria-expanded") !== "true") return;
    close();
    open.focus();
  });
  const seen = new Set();
  const mark = new IntersectionObserver((changes) => {
    for (const { target, isIntersecting } of changes) {
      if (isIntersecting) seen.add(target.id);
      else seen.delete(target.id);
    }
    const here = links.find((link) => seen.has(link.hash.slice(1)));
    for (const link of links) {
      if (link === here) link.setAttribute("aria-current", "true");
      else link.removeAttribute("aria-current");
    }
  }, { rootMargin: "0px 0px -60% 0px" });
  for (const link of links) {
    const section = document.getElementById(link.hash.slice(1));
    if (section) mark.observe(section);
  }
})();
