// A site whose names are markup, quotes, right-to-left letters and pictures is shown as text.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdirSync, mkdtempSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { launch, open, program } from "./browser.mjs";

const names = [
  `<img src=x onerror=alert(1)>`,
  `</script><script>alert(2)</script>`,
  `"saw" & 'drill' <b>bold</b>`,
  `منشار الشريط`,
  `Kettle 🫖🔥`,
  `\u202Ereversed\u202C`,
];

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

test("every name is shown as it was written and nothing runs", async () => {
  const { page, said, context } = await open(browser, file);
  await page.waitForSelector("#trial:not([hidden])");
  await page.locator("#trial-best").click();
  const rows = await page.locator(".trial-board tbody th").allTextContents();
  for (const name of names) assert.ok(rows.includes(name), name);
  assert.equal(await page.locator("main img, main [onclick], main [onload], main [onerror]").count(), 0);
  // One script runs; the others are the data of charts and board.
  assert.equal(await page.locator("script:not([type=\"application/json\"])").count(), 1);
  assert.deepEqual(said, []);
  await context.close();
});
