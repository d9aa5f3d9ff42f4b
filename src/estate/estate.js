"use strict";
/* The first sites of each ranked table, or those whose names hold what is typed; without this script all are shown. */
(() => {
  const FIRST = 25;
  const filter = document.getElementById("site-filter");
  const count = document.getElementById("site-count");
  const all = document.getElementById("site-all");
  const bodies = [...document.querySelectorAll(".ranked tbody")].map((body) => [...body.rows]);
  if (!filter || !count || !all || !bodies.length) return;
  let isWhole = bodies[0].length <= FIRST;
  const show = () => {
    const wanted = filter.value.trim().toLowerCase();
    let found = 0;
    for (const rows of bodies) {
      found = 0;
      for (const row of rows) {
        const fits = row.cells[0].textContent.toLowerCase().includes(wanted);
        found += fits;
        row.hidden = !fits || (!wanted && !isWhole && found > FIRST);
      }
    }
    count.textContent = wanted ? `${found} of ${bodies[0].length} sites` : "";
    all.parentElement.hidden = isWhole || wanted !== "";
  };
  filter.addEventListener("input", show);
  all.addEventListener("click", () => {
    isWhole = true;
    show();
  });
  filter.closest("p").hidden = bodies[0].length <= FIRST;
  show();
})();
