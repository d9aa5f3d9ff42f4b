// New machines in a real browser: the circuit chart of the board that changes, and their section in the report.
//
// Needs `target/debug/tapoff` and Chromium; `.ci/run` provides both.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { pathToFileURL } from "node:url";
import { assertAccessible, assertWithinWindow, launch, open, program, root } from "./browser.mjs";

const demo = join(root, "sample-data/ferry-lane");
const newMachines = join(root, "sample-data/new-machines.csv");
const folder = mkdtempSync(join(tmpdir(), "new-machines-"));
const chart = join(folder, "chart.html");
const plate = ["--name", "Edge <b>bander</b>", "--power-kw", "2.2", "--power-factor", "0.8"];

let browser;
let best;

const run = (...more) => execFileSync(program, more, { maxBuffer: 1 << 28 }).toString();

before(async () => {
  best = JSON.parse(run("place", demo, ...plate, "--format", "json")).places[0];
  run("place", demo, ...plate, "--circuit-chart", chart);
  run("report", demo, "--new-machines", newMachines, "-o", join(folder, "report"));
  browser = await launch();
});

after(() => browser?.close());

const pages = { "the circuit chart": chart, "the report": join(folder, "report/index.html") };

test("the chart marks the new machine on its circuit and phase, as text", async () => {
  const { page, said, asked, context } = await open(browser, chart);
  assert.deepEqual(said, []);
  assert.deepEqual(asked, [pathToFileURL(chart).href]);
  assert.equal(await page.locator("article.sheet").count(), 1, "only the board that changes");
  const marked = page.locator("tr.marked");
  assert.equal(await marked.count(), 1);
  const text = await marked.innerText();
  assert.ok(text.includes("Edge <b>bander</b>"), text);
  assert.ok(text.includes(best.connection), text);
  // A place is a circuit, whose row is marked, or a board, whose sheet this is.
  const sheet = await page.locator("article.sheet h1").innerText();
  assert.ok(text.includes(best.circuit) || sheet.includes(best.circuit), `${sheet}: ${text}`);
  await context.close();
});

test("every circuit of the board and every machine on it is in the chart", async () => {
  const site = readFileSync(join(demo, "site.toml"), "utf8");
  const boardOf = Object.fromEntries([...site.matchAll(/\[\[circuit\]\]\s+id = "([^"]+)"\s+board = "([^"]+)"/g)]
    .map(([, circuit, board]) => [circuit, board]));
  const board = boardOf[best.circuit] ?? best.circuit;
  const rows = readFileSync(join(demo, "machines.csv"), "utf8").trim().split("\n").map((line) => line.split(","));
  const there = rows.filter(([, circuit]) => (boardOf[circuit] ?? circuit) === board).map(([machine]) => machine);
  assert.ok(there.length > 3, `${there.length} machines on ${board}`);
  const { page, context } = await open(browser, chart);
  const text = await page.locator("article.sheet").innerText();
  for (const machine of there) assert.ok(text.includes(machine), machine);
  await context.close();
});

test("printed, the chart has its rows, its cautions and nothing cut off", async () => {
  const { page, context } = await open(browser, chart);
  const pdf = join(folder, "chart.pdf");
  await page.pdf({ path: pdf, format: "A4", printBackground: true, preferCSSPageSize: true });
  const text = execFileSync("pdftotext", ["-layout", pdf, "-"]).toString();
  const circuits = await page.locator("tbody th bdi").allTextContents();
  assert.ok(circuits.length > 3);
  // A name may be broken over two lines of its cell.
  for (const word of circuits.join(" ").split(" ")) assert.ok(text.includes(word), word);
  assert.match(text, /Before work begins/);
  assert.match(text, /prove dead/);
  await context.close();
});

test("the report shows the connection points, the checks and the running cost of the new machines", async () => {
  const together = JSON.parse(run("place", demo, "--new-machines", newMachines, "--format", "json"));
  const { page, context } = await open(browser, pages["the report"]);
  const text = await page.locator("#places").innerText();
  for (const placed of together.machines) {
    assert.ok(text.includes(placed.machine), placed.machine);
    assert.ok(text.includes(placed.circuit), placed.circuit);
  }
  const digits = text.replace(/(?<=\d)\s(?=\d)/gu, "");
  assert.ok(digits.includes(`to ${together.running_cost.bill.after}`), "the bill with all of them");
  await context.close();
});

for (const [name, file] of Object.entries(pages)) {
  for (const colorScheme of ["light", "dark"]) {
    test(`no accessibility fault is found in ${name}, ${colorScheme}`, async () => {
      const { page, context } = await open(browser, file, { colorScheme, bypassCSP: true });
      await assertAccessible(page);
      await context.close();
    });
  }
  for (const width of [360, 768, 1440]) {
    test(`${name} fits in ${width} pixels`, async () => {
      const { page, context } = await open(browser, file, { viewport: { width, height: 900 } });
      await assertWithinWindow(page);
      await context.close();
    });
  }
}
