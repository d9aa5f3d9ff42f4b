// The charts in a real browser: no label is cut, overlaps another or is smaller than 12 pixels, at three widths; values are
// read by pointer and by keys; a day is looked at by itself.

import assert from "node:assert/strict";
import { existsSync, mkdtempSync } from "node:fs";
import { execFileSync } from "node:child_process";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { after, before, test } from "node:test";
import { assertAccessible, launch, open as openFile, program, root } from "./browser.mjs";

const shared = process.env.TAPOFF_SHARED ?? resolve(root, "../shared");
const sites = [
  join(root, "sample-data/ferry-lane"),
  ...["campus", "steel-works", "european-lv"].map((name) => join(shared, "data", name)).filter(existsSync),
];
if (process.env.TAPOFF_SHARED) assert.equal(sites.length, 4, "TAPOFF_SHARED is set, but not all of its sites are there");

const folder = mkdtempSync(join(tmpdir(), "charts-"));
const page = (site) => join(folder, site.split("/").at(-1), "index.html");
let browser;
before(async () => {
  for (const site of sites) {
    execFileSync(program, ["report", site, "-o", join(folder, site.split("/").at(-1))], { stdio: "ignore" });
  }
  browser = await launch();
});
after(() => browser.close());

/** Labels that are cut, overlap or are too small, in words. */
const faults = () => {
  const found = [];
  for (const svg of document.querySelectorAll("svg.drawing, svg.day")) {
    const box = svg.getBoundingClientRect();
    if (!box.width) continue;
    const scale = box.width / svg.viewBox.baseVal.width;
    const labels = [...svg.querySelectorAll("text")].map((label) => ({
      words: `${svg.closest("figure").id}: ${label.textContent}`,
      box: label.getBoundingClientRect(),
      px: parseFloat(getComputedStyle(label).fontSize) * scale,
    }));
    labels.forEach(({ words, box: own, px }, at) => {
      const isCut = own.left < box.left - 0.5 || own.right > box.right + 0.5 || own.top < box.top - 0.5 || own.bottom > box.bottom + 0.5;
      if (isCut) found.push(`cut: ${words}`);
      if (px < 11.95) found.push(`${px.toFixed(1)} px: ${words}`);
      for (const { words: others, box: other } of labels.slice(at + 1)) {
        const across = Math.min(own.right, other.right) - Math.max(own.left, other.left);
        const down = Math.min(own.bottom, other.bottom) - Math.max(own.top, other.top);
        // Boxes of lettering have some room above and below the letters.
        if (across > 1 && down > 3) found.push(`overlap: ${words} | ${others}`);
      }
    });
  }
  return { found, labels: document.querySelectorAll("svg.drawing text").length };
};

for (const site of sites) {
  for (const width of [1280, 768, 390]) {
    test(`labels of ${site.split("/").at(-1)} at ${width} pixels`, async () => {
      const { page: own, context } = await openFile(browser, page(site), { viewport: { width, height: 900 } });
      const { found, labels } = await own.evaluate(faults);
      assert.ok(labels > 20, `${labels} labels`);
      assert.deepEqual(found, []);
      // The table of spare currents keeps its words whole and stays in its box.
      const spare = await own.evaluate(() => [...document.querySelectorAll(".spare")].map((table) => ({
        over: table.getBoundingClientRect().right - table.parentElement.getBoundingClientRect().right,
        lines: Math.max(...[...table.querySelectorAll("tbody th bdi")].map((name) => name.getClientRects().length)),
      })));
      assert.ok(spare.every(({ over, lines }) => over <= 0 && lines <= 2), JSON.stringify(spare));
      await context.close();
    });
  }
}

test("of a chart one drawing is shown, by the width of its box", async () => {
  for (const width of [1280, 768, 390]) {
    const { page: own, context } = await openFile(browser, page(sites[0]), { viewport: { width, height: 900 } });
    const shown = await own.$$eval("main figure", (figures) => figures.map((figure) =>
      [...figure.querySelectorAll("svg.drawing")].filter((svg) => svg.getBoundingClientRect().width > 0).length));
    assert.ok(shown.length > 10 && shown.every((count) => count === 1), `${width}: ${shown}`);
    await context.close();
  }
});

test("values are read by pointer and by arrow keys", async () => {
  const { page: own, said, context } = await openFile(browser, page(sites[0]), { viewport: { width: 1280, height: 900 } });
  const figure = own.locator("#demand-by-day");
  const reader = figure.getByRole("slider");
  const drawing = figure.locator("svg.wide");
  await drawing.scrollIntoViewIfNeeded();
  const box = await drawing.boundingBox();
  await own.mouse.move(box.x + 60, box.y + 150);
  assert.match(await reader.textContent(), /^Mon 9 Mar 2026: [\d.]+ kVA/);
  await own.mouse.move(box.x + box.width - 12, box.y + 150);
  assert.match(await reader.textContent(), /^Sun 5 Apr 2026: /);
  await reader.focus();
  await own.keyboard.press("Home");
  assert.match(await reader.getAttribute("aria-valuetext"), /^Mon 9 Mar 2026: /);
  await own.keyboard.press("ArrowRight");
  assert.match(await reader.getAttribute("aria-valuetext"), /^Tue 10 Mar 2026: /);
  // What is read is what the table says.
  const words = await reader.textContent();
  const rows = await figure.locator("tbody tr").evaluateAll((all) => all.map((row) => row.innerText || row.textContent));
  const amount = Number(words.match(/: ([\d.]+) kVA/)[1]);
  const row = rows.find((text) => text.includes("Tue 10 Mar 2026"));
  assert.ok(row.match(/\d+\.\d+/g).some((figure) => Math.abs(Number(figure) - amount) <= 0.06), `${words} | ${row}`);
  assert.deepEqual(said, []);
  await context.close();
});

test("a day of the currents is looked at by itself", async () => {
  for (const width of [1280, 390]) {
    const { page: own, said, context } = await openFile(browser, page(sites[0]), { viewport: { width, height: 900 }, bypassCSP: true });
    const figure = own.locator("#phase-currents-now");
    await figure.locator("select").selectOption({ label: "Thu 12 Mar 2026" });
    assert.equal(await figure.locator("svg.day").isVisible(), true);
    assert.equal(await figure.locator("svg.drawing").first().isVisible(), false);
    const slider = figure.locator("input[type=range]");
    await slider.fill("41");
    // The peak of L1 in the log, at 10:16.
    assert.match(await slider.getAttribute("aria-valuetext"), /^10:15 to 10:30.*L1 now 126\.5/);
    assert.ok((await figure.locator("svg.day .f-over").count()) > 3);
    assert.deepEqual((await own.evaluate(faults)).found, []);
    await assertAccessible(own);
    await figure.getByRole("button", { name: "Day after" }).click();
    assert.equal(await figure.locator("select").evaluate((pick) => pick.selectedOptions[0].textContent), "Fri 13 Mar 2026");
    await figure.locator("select").selectOption({ label: "the whole time" });
    assert.equal(await figure.locator("svg.day").isVisible(), false);
    assert.deepEqual(said.filter((line) => !line.includes("axe")), []);
    await context.close();
  }
});

test("in forced colours lines and areas keep their own", async () => {
  const { page: own, context } = await openFile(browser, page(sites[0]), { viewport: { width: 1280, height: 900 }, forcedColors: "active" });
  const inks = await own.$eval("#phase-currents-now svg.wide", (svg) => {
    const style = (name, property) => getComputedStyle(svg.querySelector(name))[property];
    return { line: style(".s-l1", "stroke"), paper: getComputedStyle(document.body).backgroundColor, over: style(".f-over", "fill"), dash: style(".s-l2", "strokeDasharray") };
  });
  assert.notEqual(inks.line, inks.paper);
  assert.match(inks.over, /#over/);
  assert.notEqual(inks.dash, "none");
  await context.close();
});
