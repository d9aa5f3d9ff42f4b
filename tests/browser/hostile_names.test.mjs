// A site whose names are markup, quotes, right-to-left letters and pictures is shown as text.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readFileSync, readdirSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { assertWithinWindow, launch, open, program } from "./browser.mjs";

const names = [
  `<img src=x onerror=alert(1)>`,
  `</script><script>alert(2)</script>`,
  `"saw" & 'drill' <b>bold</b>`,
  `منشار الشريط`,
  `Kettle 🫖🔥`,
  `\u202Ereversed\u202C`,
  `Kiln\u200F \u0007bell`,
  `${"Feuerverzinkereiabwasserpumpe".repeat(6)}`,
];

/** Characters that are not seen are shown as marks. */
const shown = (name) => name.replace(/[\u0000-\u001F\u007F-\u009F\u061C\u200E\u200F\u202A-\u202E\u2066-\u2069]/g, "\uFFFD");

let browser;
let file;

before(async () => {
  const folder = mkdtempSync(join(tmpdir(), "hostile-"));
  const site = join(folder, "site");
  mkdirSync(site);
  writeFileSync(join(site, "site.toml"), [
    "[site]", `name = '<h1 onclick="alert(3)">Yard & Söhne'`,
    "[supply]", "line_voltage_v = 400", "phase_limit_a = 63",
    "[[board]]", `id = '<svg onload=alert(4)>'`, `fed_from = "supply"`, "phase_limit_a = 40", "",
  ].join("\n"));
  const quoted = (text) => `"${text.replaceAll('"', '""')}"`;
  writeFileSync(join(site, "machines.csv"), [
    "machine,circuit,connection,current_a",
    ...names.map((name, place) => [quoted(name), quoted("<svg onload=alert(4)>"), "L1", 3 + place].join(",")),
    "",
  ].join("\n"));
  execFileSync(program, ["report", site, "-o", join(folder, "report")]);
  file = join(folder, "report", "index.html");
  browser = await launch();
});

after(() => browser?.close());

test("every name is shown as it was written, or with marks, and nothing runs", async () => {
  const { page, said, context } = await open(browser, file);
  await page.waitForSelector("#trial:not([hidden])");
  await page.locator("#trial-best").click();
  const rows = await page.locator(".trial-board tbody th").allTextContents();
  for (const name of names) assert.ok(rows.includes(shown(name)), name);
  assert.equal(await page.locator("main img, main [onclick], main [onload], main [onerror]").count(), 0);
  // One script runs; the others are the data of charts and board.
  assert.equal(await page.locator("script:not([type=\"application/json\"])").count(), 1);
  assert.deepEqual(said, []);
  await context.close();
});

test("no hidden character is in any file for the reader, and the changed list keeps the names", async () => {
  const folder = join(file, "..");
  const hidden = /[\u0000-\u0008\u000B\u000C\u000E-\u001F\u007F-\u009F\u061C\u200E\u200F\u202A-\u202E\u2066-\u2069]/;
  const files = readdirSync(folder).filter((name) => /\.(html|svg)$/.test(name));
  assert.ok(files.length > 2, files.join(" "));
  for (const name of files) {
    const text = readFileSync(join(folder, name), "utf8");
    assert.ok(!hidden.test(text), `${name}: ${JSON.stringify(text.slice(text.search(hidden) - 60).slice(0, 80))}`);
  }
  const { page, context } = await open(browser, file);
  await page.waitForSelector("#trial:not([hidden])");
  const list = await page.evaluate(() => JSON.parse(document.getElementById("trial-data").textContent).list.rows.map((row) => row[0]));
  for (const name of names) assert.ok(list.includes(name), name);
  await context.close();
});

test("long words wrap on screen and paper", async () => {
  for (const [width, media] of [[1280, "screen"], [390, "screen"], [680, "print"]]) {
    for (const name of ["index.html", "circuit-chart.html"]) {
      const { page, context } = await open(browser, join(file, "..", name), { viewport: { width, height: 900 } });
      await page.emulateMedia({ media });
      await assertWithinWindow(page);
      const wide = await page.evaluate(() => [...document.querySelectorAll("main bdi")]
        .filter((text) => text.getBoundingClientRect().right > document.documentElement.clientWidth + 1 && !text.closest(".scroll"))
        .map((text) => text.textContent));
      assert.deepEqual(wide, [], `${name}, ${media} ${width}`);
      await context.close();
    }
  }
});
