// The demo's report in a real browser: opened from disk, read, operated, printed.
//
// Needs `target/debug/tapoff` and Chromium; `.ci/run` provides both.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { after, before, test } from "node:test";
import { pathToFileURL } from "node:url";
import { assertAccessible, assertWithinWindow, launch, open as openFile, processorSeconds, program, root } from "./browser.mjs";

const demo = join(root, "sample-data/ferry-lane");
// The joint of the demo holds L2 back; once it is repaired every machine can be tried on every phase.
const repaired = ["--ignore", "high-resistance-joint"];

let browser;
let report;

before(async () => {
  report = join(mkdtempSync(join(tmpdir(), "report-")), "index.html");
  execFileSync(program, ["report", demo, ...repaired, "-o", resolve(report, "..")]);
  browser = await launch();
});

after(() => browser?.close());

const open = (options) => openFile(browser, report, options);

const balance = (...more) =>
  JSON.parse(execFileSync(program, ["balance", demo, ...repaired, "--format", "json", ...more], { maxBuffer: 1 << 28 }));

const units = (page) =>
  page.evaluate(() => JSON.parse(document.getElementById("trial-data").textContent).units);

/** Figures of the panel, as exact as the page has them: rms and maximum of the trial. */
const trial = (page) => page.evaluate(() =>
  [...document.getElementById("trial-figures").rows].map((row) => ({
    rms: Number(row.cells[2].dataset.amps),
    most: Number(row.cells[4].dataset.amps),
  })));

test("the page is small, writes nothing to the console and requests nothing but itself", async () => {
  assert.ok(statSync(report).size < 3_000_000, `${statSync(report).size} bytes`);
  const { page, said, asked, context } = await open();
  await page.waitForSelector("#trial:not([hidden])");
  assert.deepEqual(said, []);
  assert.deepEqual(asked, [pathToFileURL(report).href]);
  await context.close();
});

test("the board can be operated within a second of the processor", async () => {
  const seconds = await processorSeconds(browser, report, "#trial:not([hidden])");
  assert.ok(seconds < 1, `${seconds} s`);
});

test("without script everything but the board can be read", async () => {
  const { page, context } = await open({ javaScriptEnabled: false });
  assert.equal(await page.locator("#trial").isVisible(), false);
  assert.equal(await page.locator("#moves").isVisible(), true);
  assert.equal(await page.locator("#method").isVisible(), true);
  await context.close();
});

test("by keyboard: a machine takes another phase, is undone, and the plans can be picked", async () => {
  const { page, context } = await open();
  const all = await units(page);
  const index = all.findIndex((unit) => unit.choices.length === 3 && unit.now === 0 && unit.circuit === null);
  const row = page.locator(`tr[data-unit="${index}"]`);
  const before = await trial(page);
  await row.locator("input:checked").focus();
  await page.keyboard.press("ArrowRight");
  assert.equal(await row.locator("input:checked").inputValue(), "1");
  assert.notDeepEqual(await trial(page), before);
  assert.match(await page.locator("#trial-says").textContent(), /^1 move\. /);
  assert.equal(await row.locator(".trial-change").textContent(), "from L1");
  await page.locator("#trial-undo").focus();
  await page.keyboard.press("Enter");
  assert.deepEqual(await trial(page), before);
  await page.locator("#trial-best").focus();
  await page.keyboard.press("Space");
  const plan = balance();
  const [, , , neutral] = await trial(page);
  assert.ok(Math.abs(neutral.rms - plan.after.neutral_rms_a) < 1e-6 * neutral.rms);
  await page.locator("#trial-moves").selectOption("3");
  const three = (await trial(page))[3].rms;
  const expected = plan.moves_curve.find((point) => point.moves === 3).neutral_rms_a;
  assert.ok(Math.abs(three - expected) < 1e-6 * expected, `${three} is not ${expected}`);
  await context.close();
});

test("the order of the page follows its reader and nothing is lost", async () => {
  const { page, context } = await open();
  const sections = () => page.locator("main > section").evaluateAll((parts) => parts.map((part) => part.id));
  const asWritten = await sections();
  await page.locator("#reader input:checked").focus();
  for (let press = 0; press < 3; press += 1) await page.keyboard.press("ArrowRight");
  assert.equal(await page.locator("#reader input:checked").inputValue(), "manager");
  const ordered = await sections();
  assert.deepEqual(ordered.slice(0, 2), ["first", "energy"]);
  assert.equal(await page.locator(".readers > .chosen").getAttribute("data-reader"), "manager");
  assert.match(page.url(), /\?reader=manager$/);
  assert.deepEqual([...ordered].sort(), [...asWritten].sort());
  for (let press = 0; press < 3; press += 1) await page.keyboard.press("ArrowLeft");
  assert.deepEqual(await sections(), asWritten);
  assert.doesNotMatch(page.url(), /reader/);
  await context.close();
});

test("a link opens the page for its reader, with the allocation that was tried", async () => {
  const { page, context } = await open();
  await page.locator('#reader input[value="maintenance"]').check();
  await page.locator("#trial-moves").selectOption("2");
  const [said, sent] = [await page.locator("#trial-says").textContent(), page.url()];
  await page.goto("about:blank");
  await page.goto(sent);
  assert.equal(await page.locator("#trial-says").textContent(), said);
  assert.equal(await page.locator(".readers > :first-child").getAttribute("data-reader"), "maintenance");
  await page.goto(sent.replace(/board=\d+/, "board=012"));
  assert.match(await page.locator("#trial-says").textContent(), /^0 moves\. /);
  assert.match(await page.locator("#trial-done").textContent(), /another board/);
  await context.close();
});

for (const [width, height] of [[1280, 800], [390, 844]]) {
  test(`headline and the three answers are seen at once in ${width} × ${height}`, async () => {
    const { page, context } = await open({ viewport: { width, height } });
    const bottoms = await page.evaluate(() => [...document.querySelectorAll("#headline, .for")]
      .map((part) => part.getBoundingClientRect().bottom));
    assert.equal(bottoms.length, 4);
    for (const bottom of bottoms) assert.ok(bottom <= height, `${bottoms}`);
    await context.close();
  });
}

test("on a phone the result and Undo stay in view while a machine is tried, and the contents open and close", async () => {
  const { page, context } = await open({ viewport: { width: 390, height: 844 } });
  const rows = page.locator("tr[data-unit]");
  for (const place of [0, await rows.count() - 1]) {
    await rows.nth(place).locator("input").last().focus();
    const seen = await page.evaluate(() => {
      const box = (id) => document.getElementById(id).getBoundingClientRect();
      const focus = document.activeElement.getBoundingClientRect();
      const status = document.querySelector(".trial-status").getBoundingClientRect();
      return {
        says: box("trial-says").top >= 0 && box("trial-says").bottom <= innerHeight,
        undo: box("trial-undo").top >= 0 && box("trial-undo").bottom <= innerHeight,
        uncovered: focus.top >= status.bottom && focus.bottom <= innerHeight,
      };
    });
    assert.deepEqual(seen, { says: true, undo: true, uncovered: true });
  }
  const list = page.locator("#contents-list");
  assert.equal(await list.isVisible(), false);
  await page.locator("#contents-open").click();
  assert.equal(await list.isVisible(), true);
  await page.keyboard.press("Escape");
  assert.equal(await list.isVisible(), false);
  await context.close();
});

test("every entry of the contents leads to a section, and every section has one", async () => {
  const { page, context } = await open();
  const { entries, sections } = await page.evaluate(() => ({
    entries: [...document.querySelectorAll("#contents-list a")].map((link) => link.hash.slice(1)),
    sections: [...document.querySelectorAll("main > section")].map((section) => section.id),
  }));
  assert.deepEqual(entries, sections);
  await context.close();
});

test("by keyboard alone the whole page is walked, in order, and the focus is always seen", async () => {
  for (const width of [1280, 390]) {
    const { page, context } = await open({ viewport: { width, height: 844 } });
    await page.waitForSelector("#trial:not([hidden])");
    // Whatever can be operated, of a group of choices the one that is chosen.
    const expected = await page.evaluate(() => {
      const all = [...document.querySelectorAll("a[href],button,input,select,summary,[tabindex='0']")].filter((own) =>
        own.checkVisibility({ visibilityProperty: true, contentVisibilityAuto: true }) && !own.disabled && own.tabIndex >= 0 &&
        (own.type !== "radio" || own.checked || !own.form && !document.querySelector(`input[name="${CSS.escape(own.name)}"]:checked`)));
      all.forEach((own, at) => { own.dataset.walk = at; });
      return all.length;
    });
    assert.ok(expected > 60, `${expected}`);
    const walked = [];
    const unseen = [];
    for (let step = 0; step < expected + 40; step += 1) {
      await page.keyboard.press("Tab");
      const here = await page.evaluate(() => {
        const own = document.activeElement;
        if (!own || own === document.body) return null;
        // A choice is hidden behind its label, which shows the focus.
        const shown = own.type === "radio" || own.type === "checkbox" ? own.closest("label") ?? own : own;
        const box = shown.getBoundingClientRect();
        const within = box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth;
        const marks = [own, shown, ...shown.children].some((part) => {
          const { outlineStyle, outlineWidth } = getComputedStyle(part);
          return outlineStyle !== "none" && parseFloat(outlineWidth) >= 1;
        });
        return { at: own.dataset.walk, what: `${own.tagName} ${own.id} ${shown.textContent.trim().slice(0, 40)}`, within, marks };
      });
      if (!here) break;
      walked.push(here.at === undefined ? here.what : Number(here.at));
      if (!here.within || !here.marks) unseen.push(`${here.what}: ${here.within ? "" : "out of view "}${here.marks ? "" : "no outline"}`);
    }
    assert.deepEqual(unseen, []);
    const missed = Array.from({ length: expected }, (_, at) => at).filter((at) => !walked.includes(at));
    const names = await page.evaluate((missed) => missed.map((at) => document.querySelector(`[data-walk="${at}"]`).outerHTML.slice(0, 120)), missed);
    assert.deepEqual(names, []);
    assert.deepEqual(walked, [...walked].sort((a, b) => a - b), "the order of the page");
    await context.close();
  }
});

test("what was tried prints as a work order with boxes to tick, and nothing else", async () => {
  const { page, context } = await open();
  await page.evaluate(() => { window.print = () => {}; });
  assert.equal(await page.locator("#trial-print").isDisabled(), true);
  await page.locator("#trial-moves").selectOption("2");
  await page.locator("#trial-print").click();
  await page.emulateMedia({ media: "print" });
  assert.equal(await page.locator("#moves").isVisible(), false);
  assert.equal(await page.locator("#trial-order").isVisible(), true);
  const rows = await page.locator("#trial-order tbody tr").allTextContents();
  assert.equal(rows.length, balance("--max-moves", "2").moves.length);
  assert.equal(await page.locator("#trial-order .tick").count(), 2 * rows.length);
  assert.match(await page.locator("#trial-order").textContent(), /Initials[^]*Prove every conductor dead/);
  await page.evaluate(() => dispatchEvent(new Event("afterprint")));
  assert.equal(await page.locator("#moves").isVisible(), true);
  await context.close();
});

test("by pointer: random allocations have the figures that the program gives for them", async () => {
  const { page, context } = await open();
  const all = await units(page);
  const names = await page.evaluate(() => JSON.parse(document.getElementById("trial-data").textContent).list.rows);
  let state = 12345;
  for (let round = 0; round < 4; round += 1) {
    const fixes = [];
    for (const [index, unit] of all.entries()) {
      state = (Math.imul(state, 1103515245) + 12345) >>> 0;
      const option = unit.choices[(state >>> 16) % unit.choices.length];
      if (unit.choices.length > 1) {
        await page.locator(`tr[data-unit="${index}"] input[value="${option.turn}"]`).click();
      }
      unit.machines.forEach((machine, place) =>
        fixes.push("--fix", `${names[machine + 1][0]}=${option.connections[place]}`));
    }
    const full = balance(...fixes).after;
    const page4 = await trial(page);
    const exact = [...full.phase_rms_a, full.neutral_rms_a];
    page4.forEach(({ rms }, place) =>
      assert.ok(Math.abs(rms - exact[place]) <= 1e-6 * exact[place], `${rms} is not ${exact[place]}`));
    const largest = [...full.phase_max_a, full.neutral_max_a];
    // Chosen intervals in 16-bit steps: slightly more or less than the maximum of the whole log.
    page4.forEach(({ most }, place) =>
      assert.ok(most <= largest[place] * 1.001 && most >= largest[place] * 0.9, `${most} is not ${largest[place]}`));
  }
  await context.close();
});

test("until the repair the board offers no machine the phase of the joint, and says so", async () => {
  const folder = mkdtempSync(join(tmpdir(), "report-"));
  execFileSync(program, ["report", demo, "--no-curve", "-o", folder]);
  const { page, context } = await openFile(browser, join(folder, "index.html"), {});
  const all = await units(page);
  assert.ok(all.length > 0);
  for (const unit of all.filter((unit) => unit.choices.length > 1)) {
    for (const { turn, connections } of unit.choices) {
      assert.ok(turn === unit.now || !connections.some((words) => words.includes("L2")), unit.names.join());
    }
  }
  assert.match(await page.locator("#trial").textContent(), /must be repaired first: until then nothing can be put there/);
  assert.match(await page.locator("#moves").textContent(), /repair first/);
  await context.close();
});

test("the changed machine list is downloaded and has the moves of the plan", async () => {
  const { page, context } = await open();
  await page.locator("#trial-moves").selectOption("2");
  const [download] = await Promise.all([page.waitForEvent("download"), page.locator("#trial-save").click()]);
  const text = readFileSync(await download.path(), "utf8");
  const original = readFileSync(join(demo, "machines.csv"), "utf8");
  const changed = text.trim().split("\n").filter((line, place) => line !== original.trim().split("\n")[place]);
  const moves = balance("--max-moves", "2").moves;
  assert.equal(changed.length, moves.length);
  for (const move of moves) {
    assert.ok(changed.some((line) => line.startsWith(`${move.machine},`) && line.includes(`,${move.to},`)), move.machine);
  }
  await context.close();
});

for (const [scheme, colours] of [["light", {}], ["dark", { colorScheme: "dark" }], ["forced colours", { forcedColors: "active" }]]) {
  test(`no accessibility fault is found, ${scheme}`, async () => {
    const { page, context } = await open({ ...colours, bypassCSP: true });
    await page.waitForSelector("#trial:not([hidden])");
    await assertAccessible(page);
    await context.close();
  });
}

for (const width of [360, 768, 1440]) {
  test(`the page fits in ${width} pixels`, async () => {
    const { page, context } = await open({ viewport: { width, height: 900 } });
    await page.waitForSelector("#trial:not([hidden])");
    await assertWithinWindow(page);
    await context.close();
  });
}

for (const format of ["A4", "Letter"]) {
  test(`printed on ${format} it has every section but the board, and no chart is clipped`, async () => {
    const { page, context } = await open();
    await page.emulateMedia({ media: "print" });
    // The sheet without its margins of 15 mm either side, at 96 pixels to the inch.
    const across = format === "A4" ? 180 : 185.9;
    await page.setViewportSize({ width: Math.floor((across / 25.4) * 96), height: 1000 });
    const clipped = await page.evaluate(() => [...document.querySelectorAll("svg")]
      .filter((svg) => svg.getBoundingClientRect().width > 0)
      .filter((svg) => svg.getBoundingClientRect().right > document.documentElement.clientWidth + 1)
      .map((svg) => svg.getAttribute("class")));
    assert.deepEqual(clipped, []);
    assert.equal(await page.locator("#trial").isVisible(), false);
    const headings = await page.locator("main h2:visible").allTextContents();
    const pdf = join(resolve(report, ".."), `${format}.pdf`);
    await page.pdf({ path: pdf, format, preferCSSPageSize: false, printBackground: true });
    const text = execFileSync("pdftotext", ["-layout", pdf, "-"], { maxBuffer: 1 << 26 }).toString();
    assert.ok(headings.length >= 5);
    const words = text.replace(/\s+/g, " ");
    for (const heading of headings) assert.ok(words.includes(heading.replace(/\s+/g, " ").trim()), heading);
    await context.close();
  });
}
