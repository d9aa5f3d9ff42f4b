// The page of a large site: a year of minutes, sixty machines. Its weight, and the time until it can be used.
//
// The logs are invented here: a working day with a noon break, machines that switch by their schedules.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { createWriteStream, mkdtempSync, statSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { finished } from "node:stream/promises";
import { test } from "node:test";
import { assertWithinWindow, launch, open, processorSeconds, program } from "./browser.mjs";

const MACHINES = 60;
const MINUTES = 365 * 24 * 60;

/** Writes the site's folder. */
async function largeSite() {
  const folder = mkdtempSync(join(tmpdir(), "large-"));
  const circuits = Array.from({ length: 20 }, (_, at) =>
    `[[circuit]]\nid = "C${at}"\nboard = "DB${at % 3}"\nprotective_device = "C 32"\n`);
  const boards = Array.from({ length: 3 }, (_, at) =>
    `[[board]]\nid = "DB${at}"\nfed_from = "supply"\nphase_limit_a = 160\n`);
  writeFileSync(join(folder, "site.toml"), `[site]
name = "Large works"
timezone = "Europe/London"
[supply]
line_voltage_v = 400
phase_limit_a = 250
[[schedule]]
name = "day"
days = "Mon-Fri"
from = "07:00"
to = "16:00"
${boards.join("")}${circuits.join("")}[[meter]]
id = "main"
measures = "supply"
files = "main.csv"
time = { column = "time", format = "%Y-%m-%dT%H:%MZ" }
[meter.columns]
current_l1_a = "I1"
current_l2_a = "I2"
current_l3_a = "I3"
active_power_l1_kw = "P1"
active_power_l2_kw = "P2"
active_power_l3_kw = "P3"
`);
  const rows = Array.from({ length: MACHINES }, (_, at) =>
    `machine ${at},C${at % 20},L${1 + (at % 5) % 3},${1 + (at % 7) / 2},0.9,0.4,day`);
  writeFileSync(join(folder, "machines.csv"),
    `machine,circuit,connection,power_kw,power_factor,utilisation_factor,schedule\n${rows.join("\n")}\n`);
  const log = createWriteStream(join(folder, "main.csv"));
  log.write("time,I1,I2,I3,P1,P2,P3\n");
  const start = Date.UTC(2025, 0, 1);
  let state = 7;
  const dice = () => {
    state = (Math.imul(state, 1103515245) + 12345) >>> 0;
    return state / 2 ** 32;
  };
  for (let day = 0; day < 365; day += 1) {
    const lines = [];
    for (let minute = 0; minute < 1440; minute += 1) {
      const at = new Date(start + (day * 1440 + minute) * 60000);
      const works = at.getUTCDay() % 6 !== 0 && minute >= 420 && minute < 960 && (minute < 720 || minute >= 750);
      const amps = [1, 0.8, 0.6].map((share) => share * (works ? 60 + 60 * dice() : 8 + 4 * dice()));
      const powers = amps.map((current) => (current * 0.2309 * 0.9).toFixed(3));
      lines.push(`${at.toISOString().slice(0, 16)}Z,${amps.map((current) => current.toFixed(2)).join(",")},${powers.join(",")}`);
    }
    log.write(`${lines.join("\n")}\n`);
  }
  log.end();
  await finished(log);
  return folder;
}

test(`the page of a year of minutes and ${MACHINES} machines is light and soon of use`, async () => {
  const folder = await largeSite();
  const report = join(folder, "report");
  const begun = performance.now();
  execFileSync(program, ["report", folder, "--no-curve", "-o", report], { stdio: "pipe" });
  const made = (performance.now() - begun) / 1000;
  const file = join(report, "index.html");
  const bytes = statSync(file).size;
  assert.ok(bytes < 4_000_000, `${bytes} bytes`);
  const browser = await launch();
  try {
    const phone = { viewport: { width: 390, height: 844 } };
    const { page, context } = await open(browser, file, phone);
    await page.waitForSelector("#trial:not([hidden])");
    await assertWithinWindow(page);
    await context.close();
    const seconds = await processorSeconds(browser, file, "#trial:not([hidden])", phone);
    console.log(`${MINUTES} minutes: made in ${made.toFixed(0)} s, ${(bytes / 1e6).toFixed(2)} MB, of use after ${seconds.toFixed(2)} s of the processor`);
    assert.ok(seconds < 2, `${seconds} s`);
  } finally {
    await browser.close();
  }
});
