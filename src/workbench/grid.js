// The grid of machines: keys as in a spreadsheet, paste of a block, taking back, and the check while one types.
"use strict";
const form = document.getElementById("grid-form");
const body = document.getElementById("grid").tBodies[0];
const fault = document.getElementById("cell-fault");
const more = document.getElementById("more-rows");
const width = body.rows[0].cells.length - 1;
const undone = [];

const cell = (row, column) => body.rows[row]?.cells[column + 1]?.firstElementChild;
const place = (input) => [input.closest("tr").sectionRowIndex, input.closest("td").cellIndex - 1];

function addRows(count) {
  for (let added = 0; added < count; added += 1) {
    const at = body.rows.length;
    const row = body.rows[at - 1].cloneNode(true);
    row.cells[0].textContent = at + 1;
    for (let column = 0; column < width; column += 1) {
      const input = row.cells[column + 1].firstElementChild;
      input.name = `r${at}c${column}`;
      input.value = "";
      input.defaultValue = "";
      input.removeAttribute("aria-invalid");
      input.removeAttribute("title");
      input.setAttribute("aria-label", input.getAttribute("aria-label").replace(/\d+$/, at + 1));
    }
    body.append(row);
  }
}

/** Puts words into cells, as one step that can be taken back. */
function put(changes) {
  undone.push(changes.map(([input]) => [input, input.dataset.was ?? input.value]));
  for (const [input, words] of changes) {
    input.value = words;
    input.dataset.was = words;
  }
  check();
}

body.addEventListener("focusin", ({ target }) => {
  target.dataset.was = target.value;
  fault.textContent = target.title;
});

body.addEventListener("change", ({ target }) => {
  undone.push([[target, target.dataset.was ?? ""]]);
  target.dataset.was = target.value;
});

body.addEventListener("keydown", (event) => {
  const input = event.target;
  const [row, column] = place(input);
  const all = input.selectionStart === 0 && input.selectionEnd === input.value.length;
  const step = {
    ArrowUp: [-1, 0],
    ArrowDown: [1, 0],
    Enter: [event.shiftKey ? -1 : 1, 0],
    ArrowLeft: all || input.selectionEnd === 0 ? [0, -1] : null,
    ArrowRight: all || input.selectionStart === input.value.length ? [0, 1] : null,
  }[event.key];
  if (event.key === "z" && (event.ctrlKey || event.metaKey) && input.value === (input.dataset.was ?? input.value)) {
    for (const [own, words] of undone.pop() ?? []) {
      own.value = words;
      own.dataset.was = words;
    }
    event.preventDefault();
    check();
    return;
  }
  if (!step || event.altKey) return;
  if (row + step[0] >= body.rows.length) addRows(1);
  const next = cell(row + step[0], column + step[1]);
  if (next) {
    next.focus();
    next.select();
  }
  event.preventDefault();
});

body.addEventListener("paste", (event) => {
  const text = event.clipboardData.getData("text");
  if (!/[\t\n]/.test(text.trimEnd())) return;
  event.preventDefault();
  const [row, column] = place(event.target);
  let rows = text.replace(/\r/g, "").replace(/\n+$/, "").split("\n").map((line) => line.split("\t"));
  // A first row of headings says which columns the others are for.
  const names = [...document.querySelectorAll("#grid thead th bdi")].map((name) => plain(name.textContent));
  const headings = rows[0].map((word) => names.indexOf(plain(word)));
  const named = headings.filter((at) => at >= 0).length;
  const columns = named >= 2 ? headings : rows[0].map((_, at) => column + at);
  if (named >= 2) rows = rows.slice(1);
  if (row + rows.length > body.rows.length) addRows(row + rows.length - body.rows.length);
  const changes = [];
  rows.forEach((words, down) => words.forEach((word, across) => {
    const own = columns[across] >= 0 && cell(row + down, columns[across]);
    if (own) changes.push([own, word.trim()]);
  }));
  put(changes);
  const lost = named >= 2 ? text.split("\n")[0].split("\t").filter((word, at) => word.trim() && headings[at] < 0) : [];
  if (lost.length) fault.textContent = `There is no column for: ${lost.join(", ")}`;
});

/** A heading without its unit and signs. */
const plain = (words) => words.toLowerCase().replace(/[([].*$/, "").replace(/[^\p{L}\p{N}]+/gu, " ").trim()
  .replace(/ (kw|kva|a|v|pct)$/, "");

let waiting = 0;
function check() {
  clearTimeout(waiting);
  waiting = setTimeout(async () => {
    const answer = await fetch("/machines/check", { method: "POST", body: new URLSearchParams(new FormData(form)) }).catch(() => null);
    if (!answer) {
      fault.textContent = "The program has ended: what is typed here is not checked or saved.";
      return;
    }
    if (!answer.ok) return;
    const faults = await answer.json();
    for (const input of body.querySelectorAll("[aria-invalid]")) {
      input.removeAttribute("aria-invalid");
      input.removeAttribute("title");
    }
    // Rows without words are not counted by the program.
    const rows = [...body.rows].filter((row) => [...row.querySelectorAll("input")].some((input) => input.value.trim()));
    for (const { row, column, text } of faults) {
      const input = rows[row]?.cells[column + 1]?.firstElementChild;
      if (!input) continue;
      input.setAttribute("aria-invalid", "true");
      input.title = text;
    }
    fault.textContent = document.activeElement?.title || (faults.length ? `${faults.length} cells are marked` : "");
  }, 250);
}

body.addEventListener("input", check);
more.hidden = false;
more.addEventListener("click", () => addRows(10));
addEventListener("beforeunload", (event) => {
  const isChanged = [...body.querySelectorAll("input")].some((input) => input.value !== input.defaultValue);
  if (isChanged && !form.dataset.leaves) event.preventDefault();
});
form.addEventListener("submit", () => { form.dataset.leaves = "yes"; });
