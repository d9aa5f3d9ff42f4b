"use strict";
/* One day of a chart of currents, drawn for the width that there is; quarter-hour by quarter-hour with a slider. */
(() => {
  const names = "http://www.w3.org/2000/svg";
  const put = (parent, tag, attributes, text) => {
    const element = document.createElementNS(names, tag);
    for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
    if (text !== undefined) element.textContent = text;
    parent.append(element);
    return element;
  };
  const clock = (part) => `${String(Math.floor(part / 4) % 24).padStart(2, "0")}:${String(15 * (part % 4)).padStart(2, "0")}`;
  const amps = (tenths) => (tenths === null ? "–" : `${(tenths / 10).toFixed(1)}\u00a0A`);
  const html = (tag, properties) => Object.assign(document.createElement(tag), properties);
  for (const data of document.querySelectorAll("figure > .days")) {
    const { series, days } = JSON.parse(data.textContent);
    const figure = data.parentElement;
    const all = days.flatMap(([, curves]) => curves.flat()).concat(series.map(([, , limit]) => 10 * (limit ?? 0)));
    const top = 1.08 * Math.max(10, ...all);
    const low = Math.min(0, ...all);
    const tools = html("div", { className: "trial-tools day-tools" });
    const pick = html("select", {});
    pick.append(html("option", { value: "", textContent: "the whole time" }));
    days.forEach(([name], at) => pick.append(html("option", { value: at, textContent: name })));
    const label = html("label", { className: "pick", textContent: "Look at " });
    label.append(pick);
    const [back, on] = ["Day before", "Day after"].map((textContent) => html("button", { type: "button", textContent, hidden: true }));
    tools.append(label, back, on);
    const box = html("div", { className: "day-box", hidden: true });
    const slider = html("input", { type: "range", min: 0, max: 95, value: 40 });
    slider.setAttribute("aria-label", "Quarter-hour of the day");
    const reading = html("p", { className: "probe" });
    const svg = document.createElementNS(names, "svg");
    svg.setAttribute("class", "day");
    svg.setAttribute("role", "img");
    box.append(svg, slider, reading);
    data.before(tools, box);
    const [left, right, head, high, foot] = [52, 10, 26, 110, 24];
    let mark;
    let across = (part) => part;
    const read = () => {
      const [, curves] = days[pick.value];
      const part = Number(slider.value);
      const words = series.map(([name], at) => `${name} ${amps(curves[at][part])}`).join("; ");
      reading.textContent = `${clock(part)} to ${clock(part + 1)}, maximum: ${words}`;
      slider.setAttribute("aria-valuetext", reading.textContent);
      for (const end of ["x1", "x2"]) mark?.setAttribute(end, across(part + 0.5));
    };
    const draw = () => {
      if (pick.value === "" || !box.clientWidth) return;
      const width = box.clientWidth;
      const height = series.length * (head + high) + foot;
      const [name, curves] = days[pick.value];
      svg.replaceChildren();
      svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
      svg.setAttribute("width", width);
      svg.setAttribute("height", height);
      svg.setAttribute("aria-label", `${figure.querySelector("h3").textContent}, ${name}: maximum of each quarter-hour`);
      across = (part) => left + (part / 96) * (width - left - right);
      slider.style.marginLeft = `${left - 4}px`;
      slider.style.width = `${width - left - right + 8}px`;
      const step = 10 * [10, 20, 25, 50, 100, 200, 250, 500, 1000].find((step) => top / (10 * step) <= 3.2);
      series.forEach(([title, ink, limit], at) => {
        const ground = at * (head + high) + head + high;
        const up = (tenths) => ground - ((tenths - low) / (top - low)) * high;
        put(svg, "text", { x: left, y: ground - high - 8, class: `day-name f-${ink}` }, title);
        for (let tick = Math.ceil(low / step) * step; tick <= top; tick += step) {
          put(svg, "line", { x1: left, x2: width - right, y1: up(tick), y2: up(tick), class: "s-rule" });
          const unit = tick + step > top ? "\u00a0A" : "";
          put(svg, "text", { x: left - 6, y: up(tick) + 4, "text-anchor": "end", class: "f-quiet" }, `${tick / 10}${unit}`);
        }
        const every = width < 500 ? 6 : 3;
        for (let hour = 0; hour <= 24; hour += every) {
          put(svg, "line", { x1: across(4 * hour), x2: across(4 * hour), y1: ground - high, y2: ground, class: "s-rule" });
          if (at + 1 < series.length) continue;
          const anchor = hour === 24 ? "end" : "middle";
          put(svg, "text", { x: across(4 * hour) + (hour === 24 ? right - 1 : 0), y: ground + 17, "text-anchor": anchor, class: "f-quiet" }, `${String(hour).padStart(2, "0")}:00`);
        }
        const path = curves[at].map((value, part) => {
          if (value === null) return "";
          const start = part === 0 || curves[at][part - 1] === null ? "M" : "L";
          return `${start}${across(part).toFixed(1)} ${up(value).toFixed(1)}H${across(part + 1).toFixed(1)}`;
        }).join("");
        if (limit !== null) {
          curves[at].forEach((value, part) => {
            if (value === null || value <= 10 * limit) return;
            put(svg, "rect", { x: across(part), width: across(part + 1) - across(part), y: up(value), height: up(10 * limit) - up(value), class: "f-over" });
          });
          put(svg, "line", { x1: left, x2: width - right, y1: up(10 * limit), y2: up(10 * limit), class: "s-limit" });
          put(svg, "text", { x: width - right, y: ground - high - 8, "text-anchor": "end", class: "f-limit" }, `limit ${limit}\u00a0A`);
        }
        put(svg, "path", { d: path, fill: "none", "stroke-width": 1.75, class: `day-line s-${ink}` });
      });
      mark = put(svg, "line", { y1: 0, y2: height, class: "s-text" });
      read();
    };
    const choose = () => {
      const whole = pick.value === "";
      for (const other of figure.querySelectorAll("svg.drawing, .probe[role=slider]")) other.hidden = !whole;
      figure.classList.toggle("one-day", !whole);
      box.hidden = whole;
      back.hidden = on.hidden = whole;
      back.disabled = Number(pick.value) === 0;
      on.disabled = Number(pick.value) === days.length - 1;
      draw();
    };
    const move = (by) => { pick.value = Number(pick.value) + by; choose(); };
    back.addEventListener("click", () => move(-1));
    on.addEventListener("click", () => move(1));
    pick.addEventListener("change", choose);
    slider.addEventListener("input", read);
    for (const kind of ["pointermove", "pointerdown"]) {
      svg.addEventListener(kind, (event) => {
        const at = event.clientX - svg.getBoundingClientRect().left;
        slider.value = Math.floor((96 * (at - left)) / (svg.clientWidth - left - right));
        read();
      });
    }
    // A click on the whole time looks at that day.
    for (const drawing of figure.querySelectorAll("svg.drawing")) {
      drawing.addEventListener("click", () => {
        const words = figure.querySelector(".probe[role=slider]")?.textContent ?? "";
        const at = days.findIndex(([name]) => words.startsWith(name));
        if (at < 0) return;
        pick.value = at;
        choose();
        pick.focus();
      });
    }
    new ResizeObserver(draw).observe(box);
  }
})();
