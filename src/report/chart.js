"use strict";
/* The value under the pointer, the finger or the arrow keys, below each chart that has values. */
(() => {
  const svgNames = "http://www.w3.org/2000/svg";
  for (const data of document.querySelectorAll("figure > .values")) {
    const figure = data.parentElement;
    const words = JSON.parse(data.textContent);
    const drawings = [...figure.querySelectorAll("svg.drawing")].map((svg) => {
      const places = svg.dataset.at.split(" ").map((place) => place.split(",").map(Number));
      const mark = document.createElementNS(svgNames, "g");
      mark.setAttribute("class", "probe-mark");
      mark.append(document.createElementNS(svgNames, "line"), document.createElementNS(svgNames, "circle"));
      mark.setAttribute("hidden", "");
      svg.append(mark);
      return { svg, places, mark };
    });
    const reader = document.createElement("div");
    reader.className = "probe";
    reader.tabIndex = 0;
    reader.setAttribute("role", "slider");
    reader.setAttribute("aria-label", `Values: ${figure.querySelector("h3").textContent}`);
    reader.setAttribute("aria-valuemin", 1);
    reader.setAttribute("aria-valuemax", words.length);
    reader.textContent = "Point at the chart, or use the arrow keys here, to read its values.";
    reader.setAttribute("aria-valuenow", 1);
    reader.setAttribute("aria-valuetext", words[0]);
    data.before(reader);
    let order = words.map((_, at) => at);
    order.sort((a, b) => drawings[0].places[a][0] - drawings[0].places[b][0]);
    let shown = -1;
    const show = (place) => {
      shown = Math.max(0, Math.min(order.length - 1, place));
      const at = order[shown];
      reader.textContent = words[at];
      reader.setAttribute("aria-valuenow", shown + 1);
      reader.setAttribute("aria-valuetext", words[at]);
      for (const { svg, places, mark } of drawings) {
        const [x, y] = places[at];
        const [line, dot] = mark.children;
        for (const end of ["x1", "x2"]) line.setAttribute(end, x);
        line.setAttribute("y1", 0);
        line.setAttribute("y2", svg.viewBox.baseVal.height);
        dot.setAttribute("cx", x);
        dot.setAttribute("cy", y);
        dot.setAttribute("r", y > 0 ? 8 : 0);
        mark.removeAttribute("hidden");
      }
    };
    const nearest = ({ svg, places }, event) => {
      const box = svg.getBoundingClientRect();
      const scale = svg.viewBox.baseVal.width / box.width;
      const [x, y] = [(event.clientX - box.left) * scale, (event.clientY - box.top) * scale];
      // Along the chart first; the height decides between values at the same place.
      const far = (at) => Math.abs(places[at][0] - x) + (places[at][1] > 0 ? 0.15 * Math.abs(places[at][1] - y) : 0);
      return order.reduce((best, at, place) => (far(at) < far(order[best]) ? place : best), 0);
    };
    for (const drawing of drawings) {
      for (const kind of ["pointermove", "pointerdown"]) {
        drawing.svg.addEventListener(kind, (event) => show(nearest(drawing, event)));
      }
    }
    const last = order.length - 1;
    const steps = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 10, PageDown: -10, Home: -last, End: last };
    reader.addEventListener("keydown", (event) => {
      const step = steps[event.key];
      if (step === undefined) return;
      event.preventDefault();
      show(shown < 0 ? 0 : shown + step);
    });
    reader.addEventListener("focus", () => { if (shown < 0) show(0); });
  }
})();
