// The workbench in a real browser: from nothing to an answer by mouse, by keyboard and by touch; changes from two sides; what
// tries to get in.

import assert from "node:assert/strict";
import { execFileSync, spawn, spawnSync } from "node:child_process";
import { cpSync, existsSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { request } from "node:http";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { assertAccessible, assertWithinWindow, launch, program, root } from "./browser.mjs";

let browser;
before(async () => { browser = await launch(); });
const benches = new Set();
after(async () => {
  // Also those of tests that failed.
  await Promise.all([...benches].map((bench) => bench.end()));
  await browser?.close();
});

/** Starts the program; gives its address and a way to end it. */
async function opened(...more) {
  const running = spawn(program, ["open", "--no-browser", ...more], { stdio: ["ignore", "pipe", "inherit"] });
  const address = await new Promise((done, failed) => {
    running.stdout.once("data", (text) => done(String(text).split("\n")[0]));
    running.once("exit", () => failed(new Error("the program ended")));
  });
  const { origin, searchParams } = new URL(address);
  const bench = { address, origin, token: searchParams.get("token") };
  bench.end = () => new Promise((done) => {
    benches.delete(bench);
    running.once("exit", done);
    running.kill("SIGKILL");
  });
  benches.add(bench);
  return bench;
}

const copyOfDemo = () => {
  const site = join(mkdtempSync(join(tmpdir(), "workbench-")), "site");
  cpSync(join(root, "sample-data/ferry-lane"), site, { recursive: true });
  return site;
};

/** A page that was let in; `said` are its faults. */
async function visitor(bench, options = {}) {
  const context = await browser.newContext(options);
  const page = await context.newPage();
  const said = [];
  page.on("console", (message) => said.push(message.text()));
  page.on("pageerror", (error) => said.push(String(error)));
  await page.goto(bench.address);
  return { page, context, said };
}

const machines = Array.from({ length: 20 }, (_, at) =>
  [`machine ${at + 1}`, "supply", ["L1", "L2", "L3"][at % 3], String(0.5 + (at % 5) / 2), "0.9", "0.5"].join("\t"));
const heads = ["Machine", "Circuit", "Connection", "Power (kW)", "Power factor", "Utilisation factor"].join("\t");

/** A day of quarter-hours at the supply. */
const log = ["Time,Current L1 (A),Current L2 (A),Current L3 (A),Active power L1 (kW),Active power L2 (kW),Active power L3 (kW)", ...Array.from({ length: 96 }, (_, at) => {
  const clock = `${String(Math.floor(at / 4)).padStart(2, "0")}:${String((at % 4) * 15).padStart(2, "0")}`;
  return `2026-03-09T${clock}:00Z,20,10,5,4.1,2.0,1.0`;
})].join("\n");

/** Pastes words into the cell that has the focus. */
const paste = (page, words) => page.evaluate((text) => {
  const data = new DataTransfer();
  data.setData("text", text);
  document.activeElement.dispatchEvent(new ClipboardEvent("paste", { clipboardData: data, bubbles: true, cancelable: true }));
}, words);

const ways = {
  mouse: { options: { viewport: { width: 1280, height: 800 } }, press: (page, target) => target.click() },
  keyboard: {
    options: { viewport: { width: 1280, height: 800 } },
    press: async (page, target) => {
      await target.focus();
      await page.keyboard.press("Enter");
    },
  },
  touch: {
    options: { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true },
    press: (page, target) => target.tap(),
  },
};

for (const [way, { options, press }] of Object.entries(ways)) {
  test(`from nothing to answers: ${way}`, { timeout: 180_000 }, async () => {
    const bench = await opened();
    const folder = join(mkdtempSync(join(tmpdir(), "workbench-")), "mill");
    const { page, context, said } = await visitor(bench, options);
    const go = (name) => press(page, page.getByRole("link", { name, exact: true }).first());
    const button = (name) => press(page, page.getByRole("button", { name, exact: true }));
    const arrived = (heading) => page.getByRole("heading", { level: 1, name: heading }).waitFor({ timeout: 60_000 });

    await page.getByLabel("Folder to make").fill(folder);
    await button("Make a starter site");
    await arrived("Overview");
    assert.ok(existsSync(join(folder, "site.toml")));

    await go("Machines");
    await arrived("Machines");
    for (const input of await page.locator("#grid input").all()) await input.fill("");
    await page.locator("[name=r0c0]").focus();
    await paste(page, `${heads}\n${machines.join("\n")}`);
    await button("Save");
    await page.getByText("Saved in machines.csv.").waitFor();
    assert.equal(readFileSync(join(folder, "machines.csv"), "utf8").trim().split("\n").length, 21);

    await go("Logs");
    await arrived("Logs");
    const file = join(mkdtempSync(join(tmpdir(), "workbench-")), "supply-march.csv");
    writeFileSync(file, log);
    await page.getByLabel("Of a logger").setInputFiles(file);
    await button("Add to the folder");
    await page.getByText("Now in the folder").waitFor();
    assert.equal(readFileSync(join(folder, "meters/supply-march.csv"), "utf8"), log);
    await button("How it is read");
    await page.locator("pre", { hasText: "active_power_l3_kw" }).waitFor({ timeout: 60_000 });
    await go("Logs");
    await button("Its kWh and maximum");
    await page.locator("pre", { hasText: "170.4" }).first().waitFor({ timeout: 60_000 });
    await go("Logs");
    await page.getByLabel("Meter", { exact: true }).fill("main");
    await button("Declare it");
    await page.getByText("is now the log of meter main").waitFor();

    await go("Readings");
    await arrived("Readings at the board");
    await page.getByLabel("When").fill("2026-03-10T09:30");
    const supply = page.getByRole("group", { name: /supply/ }).first();
    for (const [name, amps] of [["L1", "20,5"], ["L2", "10"], ["L3", "5.5"], ["N", "13"]]) {
      await supply.getByLabel(`${name} [A]`).fill(amps);
    }
    await button("Save the readings");
    await page.getByText("1 readings saved").waitFor();
    assert.match(readFileSync(join(folder, "readings.csv"), "utf8"), /2026-03-10 09:30,supply,20\.5,10,5\.5,13/);

    await go("Answers");
    await page.getByLabel("Name").fill("oven");
    await page.getByLabel("Power [kW]").fill("2");
    await page.getByLabel("Connection").fill("any");
    await button("Find a place");
    await page.locator("pre", { hasText: "oven" }).first().waitFor({ timeout: 60_000 });
    await go("Other questions");
    await button("The report");
    await page.waitForURL("**/report/index.html", { timeout: 90_000 });
    await page.locator("#trial:not([hidden])").waitFor();
    // The board of the report takes another allocation.
    assert.ok((await page.locator("#trial input[type=radio]").count()) >= 60);
    assert.deepEqual(said, []);

    // What the page has made is what the command line reads.
    const check = JSON.parse(execFileSync(program, ["check", folder, "--format", "json"], { maxBuffer: 1 << 26 }));
    assert.equal(check.meters[0].id, "main");
    await context.close();
    await bench.end();
  });
}

test("keys of the grid: up, down, across, back, and a fault at its cell as one types", async () => {
  const site = copyOfDemo();
  const bench = await opened(site);
  const [kept] = readdirSync(join(site, ".tapoff/opened"));
  assert.equal(readFileSync(join(site, ".tapoff/opened", kept, "machines.csv"), "utf8"), readFileSync(join(site, "machines.csv"), "utf8"));
  const { page, context } = await visitor(bench);
  await page.goto(`${bench.origin}/machines`);
  await page.locator("[name=r0c0]").focus();
  await page.keyboard.press("ArrowDown");
  await page.keyboard.press("ArrowRight");
  await page.keyboard.press("ArrowRight");
  assert.equal(await page.evaluate(() => document.activeElement.name), "r1c2");
  const was = await page.evaluate(() => document.activeElement.value);
  await page.keyboard.type("L9");
  const cell = page.locator("[name=r1c2][aria-invalid=true]");
  await cell.waitFor();
  // The very message of `check`.
  const text = readFileSync(join(site, "machines.csv"), "utf8").split("\n");
  const row = text[2].split(",");
  row[2] = "L9";
  writeFileSync(join(site, "machines.csv"), [text[0], text[1], row.join(","), ...text.slice(3)].join("\n"));
  const { stderr } = spawnSync(program, ["check", site, "--format", "json"], { encoding: "utf8" });
  const [message] = JSON.parse(stderr).errors ?? JSON.parse(stderr).messages;
  assert.ok((await cell.getAttribute("title")).startsWith(message.message), JSON.stringify(message));
  writeFileSync(join(site, "machines.csv"), text.join("\n"));
  await page.keyboard.press("Enter");
  await page.keyboard.press("ArrowUp");
  await page.keyboard.press("Control+z");
  assert.equal(await page.locator("[name=r1c2]").inputValue(), was);
  await page.locator("[name=r1c2][aria-invalid=true]").waitFor({ state: "detached" });
  await context.close();
  await bench.end();
});

test("two pages and an editor change one list: nothing is lost, and one cell changed twice is asked about", async () => {
  const site = copyOfDemo();
  const list = join(site, "machines.csv");
  const before = readFileSync(list, "utf8");
  const bench = await opened(site);
  const [first, second] = [await visitor(bench), await visitor(bench)];
  for (const { page } of [first, second]) await page.goto(`${bench.origin}/machines`);
  const column = before.split("\n")[0].split(",").indexOf("power_kw");
  await first.page.locator(`[name=r4c${column}]`).fill("8.5");
  await first.page.getByRole("button", { name: "Save", exact: true }).click();
  await first.page.getByText("Saved in machines.csv.").waitFor();
  // Outside, a machine more.
  writeFileSync(list, `${readFileSync(list, "utf8").trimEnd()}\nlathe,supply,L1${",".repeat(before.split("\n")[0].split(",").length - 3)}\n`
    .replace(/lathe,supply,L1,*/, (row) => {
      const cells = row.split(",");
      cells[column] = "2";
      return cells.join(",");
    }));
  await second.page.locator(`[name=r7c${column}]`).fill("3.5");
  await second.page.getByRole("button", { name: "Save", exact: true }).click();
  await second.page.getByText("Saved in machines.csv.").waitFor();
  const rows = readFileSync(list, "utf8").trim().split("\n").map((line) => line.split(","));
  assert.equal(rows[5][column], "8.5");
  assert.equal(rows[8][column], "3.5");
  assert.equal(rows.at(-1)[0], "lathe");
  assert.equal(rows.length, before.trim().split("\n").length + 1);
  // The first page still has what it saved: the same cell now differs in both.
  await first.page.goto(`${bench.origin}/machines`);
  await second.page.goto(`${bench.origin}/machines`);
  for (const [{ page }, words] of [[first, "9"], [second, "7"]]) {
    await page.locator(`[name=r4c${column}]`).fill(words);
    await page.getByRole("button", { name: "Save", exact: true }).click();
  }
  await second.page.getByText("Not saved: the file was changed elsewhere").waitFor();
  assert.equal(readFileSync(list, "utf8").trim().split("\n")[5].split(",")[column], "9");
  assert.equal(await second.page.locator(`[name=r4c${column}]`).inputValue(), "7");
  await first.context.close();
  await second.context.close();
  await bench.end();
});

/** A request as any program can make it. */
const ask = (bench, { path = "/", method = "GET", headers = {}, body = "" }) => new Promise((done, failed) => {
  const { port } = new URL(bench.address);
  const own = request({ agent: false, host: "127.0.0.1", port, path, method, headers: { host: `127.0.0.1:${port}`, ...headers } }, (answer) => {
    let text = "";
    answer.on("data", (more) => { text += more; });
    answer.on("error", failed);
    answer.on("end", () => done({ status: answer.statusCode, headers: answer.headers, text }));
  });
  own.on("error", failed);
  own.end(body);
});

test("who is not let in: another host, another page, no token, names that climb, a form that is too large", async () => {
  const site = copyOfDemo();
  const bench = await opened(site);
  const { port } = new URL(bench.address);
  const cookie = `tapoff-${port}=${bench.token}`;
  const status = async (request) => (await ask(bench, request)).status;
  assert.equal(await status({}), 403);
  assert.equal(await status({ headers: { cookie } }), 200);
  assert.equal(await status({ headers: { cookie: `tapoff-${port}=${"0".repeat(64)}` } }), 403);
  assert.equal(await status({ path: `/?token=${"0".repeat(64)}` }), 403);
  for (const host of ["evil.example", `evil.example:${port}`, "127.0.0.1", `127.0.0.1:${Number(port) + 1}`]) {
    assert.equal(await status({ headers: { cookie, host } }), 421, host);
  }
  const form = { cookie, "content-type": "application/x-www-form-urlencoded" };
  assert.equal(await status({ path: "/stop", method: "POST", headers: { ...form, origin: "http://evil.example" } }), 403);
  assert.equal(await status({ path: "/stop", method: "POST", headers: { ...form, "sec-fetch-site": "cross-site" } }), 403);
  assert.equal(await status({ path: "/stop", method: "POST", headers: { ...form, origin: "null" } }), 403);
  // No page changes anything by being read.
  for (const path of ["/stop", "/open", "/new", "/logs/add", "/logs/accept", "/answers/check", "/machines/check"]) {
    assert.equal(await status({ path, headers: { cookie } }), 405, path);
  }
  const policy = (await ask(bench, { headers: { cookie } })).headers["content-security-policy"];
  assert.ok(policy.startsWith("default-src 'none'"));
  const entry = await ask(bench, { path: `/?token=${bench.token}` });
  assert.equal(entry.status, 303);
  assert.match(entry.headers["set-cookie"][0], /HttpOnly; SameSite=Strict/);
  for (const path of ["/report/../site.toml", "/report/%2e%2e/site.toml", "/report/..%2fsite.toml", "/report/.hidden", "/report//etc/passwd"]) {
    assert.ok([400, 404].includes(await status({ path, headers: { cookie } })), path);
  }
  const upload = (name) => ask(bench, {
    path: "/logs/add", method: "POST", headers: { cookie, "content-type": "multipart/form-data; boundary=x" },
    body: `--x\r\nContent-Disposition: form-data; name="log"; filename="${name}"\r\n\r\nwords\r\n--x--\r\n`,
  });
  for (const name of ["../site.toml", "..\\site.toml", "/etc/x", ".hidden.csv", "a/b.csv", "con:x.csv", "main-2026-w11.csv"]) {
    assert.equal((await upload(name)).status, 422, name);
  }
  assert.equal((await upload("new.csv")).status, 200);
  assert.ok(!existsSync(join(site, "../site.toml")) && existsSync(join(site, "meters/new.csv")));
  const large = await ask(bench, { path: "/machines/check", method: "POST", headers: form, body: `r0c0=${"x".repeat(9 << 20)}` }).catch(() => ({ status: 413 }));
  assert.equal(large.status, 413);
  // A meter's name is words in the site file, whatever it holds.
  const accepted = await ask(bench, {
    path: "/logs/accept", method: "POST", headers: form,
    body: new URLSearchParams({ file: "meters/new.csv", id: `x"\n[[meter]]\nid = "y`, measures: "supply" }).toString(),
  });
  assert.ok(!/^id = "y"?$/m.test(readFileSync(join(site, "site.toml"), "utf8")), accepted.text);
  const placed = await ask(bench, {
    path: "/answers/place", method: "POST", headers: form, body: new URLSearchParams({ name: "--help", power_kw: "-o/tmp/x" }).toString(),
  });
  assert.equal(placed.status, 303);
  await bench.end();
});

test("readings saved at once are all kept, and another site shows no report and no answer of the one before", { timeout: 120_000 }, async () => {
  const [site, other] = [copyOfDemo(), copyOfDemo()];
  const bench = await opened(site);
  const { port } = new URL(bench.address);
  const headers = { cookie: `tapoff-${port}=${bench.token}`, "content-type": "application/x-www-form-urlencoded" };
  const post = (path, fields = {}) => ask(bench, { path, method: "POST", headers, body: new URLSearchParams(fields).toString() });
  const saved = await Promise.all(Array.from({ length: 20 }, (_, at) => post("/readings", { time: "2026-04-01T09:30", "l1-0": `${at + 1}` })));
  assert.ok(saved.every(({ status }) => status === 200));
  const rows = readFileSync(join(site, "readings.csv"), "utf8").trim().split("\n").slice(1).map((row) => Number(row.split(",")[2]));
  assert.deepEqual(rows.sort((a, b) => a - b), Array.from({ length: 20 }, (_, at) => at + 1));
  rmSync(join(site, "readings.csv"));
  const page = (await post("/answers/report")).headers.location;
  let answer = {};
  while (answer.status !== 303) {
    await new Promise((done) => { setTimeout(done, 300); });
    answer = await ask(bench, { path: page, headers });
    assert.ok(answer.status === 303 || answer.text.includes("Working for"), answer.text);
  }
  assert.equal((await ask(bench, { path: "/report/index.html", headers })).status, 200);
  assert.equal((await post("/open", { folder: other })).status, 303);
  assert.equal((await ask(bench, { path: "/report/index.html", headers })).status, 404);
  assert.equal((await ask(bench, { path: page, headers })).status, 404);
  await bench.end();
});

test("ended at any moment while saving, the list is the old or the new one", { timeout: 120_000 }, async () => {
  const site = copyOfDemo();
  const list = join(site, "machines.csv");
  const whole = readFileSync(list, "utf8");
  const saved = whole.replace("8.4", "8.6");
  for (let time = 0; time < 40; time += 1) {
    writeFileSync(list, whole);
    const bench = await opened(site);
    const { port } = new URL(bench.address);
    const headers = { cookie: `tapoff-${port}=${bench.token}`, "content-type": "application/x-www-form-urlencoded" };
    const { text } = await ask(bench, { path: "/machines", headers });
    const fields = new URLSearchParams([["base", text.match(/name="base" value="(\w+)"/)[1]]]);
    for (const [, name, value] of text.matchAll(/<input name="(r\d+c\d+)" value="([^"]*)"/g)) {
      const words = value.replaceAll("&#38;", "&").replaceAll("&#34;", '"').replaceAll("&#39;", "'").replaceAll("&#60;", "<").replaceAll("&#62;", ">");
      fields.append(name, words === "8.4" ? "8.6" : words);
    }
    const saving = ask(bench, { path: "/machines", method: "POST", headers, body: fields.toString() }).catch(() => null);
    await new Promise((done) => { setTimeout(done, time * 2); });
    await bench.end();
    await saving;
    const now = readFileSync(list, "utf8");
    assert.ok(now === whole || now === saved, `after ${time * 2} ms: ${now.length} of ${whole.length}`);
  }
  assert.deepEqual(readdirSync(site).filter((name) => name.endsWith(".tmp")), []);
});

test("every page is accessible in light and dark, and fits in 360 pixels", { timeout: 120_000 }, async () => {
  const bench = await opened(copyOfDemo());
  for (const colorScheme of ["light", "dark"]) {
    const { page, context } = await visitor(bench, { bypassCSP: true, colorScheme, viewport: { width: 360, height: 800 } });
    for (const path of ["/", "/site", "/machines", "/logs", "/readings", "/answers"]) {
      await page.goto(`${bench.origin}${path}`);
      await assertWithinWindow(page);
      await assertAccessible(page);
    }
    await context.close();
  }
  await bench.end();
});
