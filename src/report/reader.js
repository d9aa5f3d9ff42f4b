"use strict";
/* Puts the sections in the order that one reader needs. Nothing is hidden. */
(() => {
  const pick = document.getElementById("reader");
  const main = document.querySelector("main");
  if (!pick || !main) return;
  const asWritten = [...main.children];
  const orders = {
    electrician: ["answer", "since", "findings", "moves", "trial", "currents", "data"],
    maintenance: ["answer", "since", "places", "trial", "moves", "findings", "currents"],
    manager: ["answer", "since", "energy", "money", "findings", "moves", "data"],
  };
  pick.addEventListener("change", (event) => {
    const order = orders[event.target.value] ?? [];
    const first = order.map((id) => asWritten.find((part) => part.id === id)).filter(Boolean);
    const focus = document.activeElement;
    main.append(...first, ...asWritten.filter((part) => !first.includes(part)));
    focus?.focus();
  });
  pick.hidden = false;
})();
