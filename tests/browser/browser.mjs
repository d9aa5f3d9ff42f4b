// Shared by the browser tests: the program, a browser, a page that records its console messages and requests.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

export const root = resolve(import.meta.dirname, "../..");
export const program = resolve(root, "target/debug/tapoff");

export const launch = () => chromium.launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  args: [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
  ],
});

/** Opens a file in its own context. */
export async function open(browser, file, options = {}) {
  const context = await browser.newContext(options);
  const page = await context.newPage();
  const said = [];
  const asked = [];
  page.on("console", (message) => said.push(message.text()));
  page.on("pageerror", (error) => said.push(String(error)));
  page.on("request", (request) => asked.push(request.url()));
  page.on("dialog", (dialog) => {
    said.push(`dialog: ${dialog.message()}`);
    void dialog.dismiss();
  });
  await page.goto(pathToFileURL(file).href);
  return { page, said, asked, context };
}

/**
 * Seconds of the processor that a page takes until it can be used: `ready` is a selector that is there then. Other
 * programs on the machine do not add to it as they do to the time by the clock.
 */
export async function processorSeconds(browser, file, ready, options = {}) {
  const context = await browser.newContext(options);
  const page = await context.newPage();
  const session = await context.newCDPSession(page);
  await session.send("Performance.enable", { timeDomain: "threadTicks" });
  await page.goto(pathToFileURL(file).href);
  await page.waitForSelector(ready);
  const { metrics } = await session.send("Performance.getMetrics");
  const { value } = metrics.find(({ name }) => name === "TaskDuration");
  assert.ok(value > 0, "the browser measured no work");
  await context.close();
  return value;
}

const axe = readFileSync(join(import.meta.dirname, "node_modules/axe-core/axe.min.js"), "utf8");

/** No accessibility fault. The page must be opened with `bypassCSP`: its own policy would refuse the checker's script. */
export async function assertAccessible(page) {
  await page.evaluate(axe);
  const { violations, passes } = await page.evaluate(() => globalThis.axe.run());
  assert.ok(passes.length > 10);
  const faults = violations.map(({ id, nodes }) => `${id}: ${nodes.map((node) => node.html).slice(0, 3).join(" | ")}`);
  assert.deepEqual(faults, []);
}

/** Nothing is wider than the window. */
export async function assertWithinWindow(page) {
  const { content, window } = await page.evaluate(() => ({
    content: document.documentElement.scrollWidth,
    window: document.documentElement.clientWidth,
  }));
  assert.ok(content <= window, `${content} in ${window}`);
}
