// The library in the page: the same bytes as the program, browsers without vectors, how long answers take.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import fs from "node:fs";
import path from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";
import { address, begin, bench, drop, executablePath, folder, hosted, house, press, program, room, said, sandbox, scenario, settled, test, whole } from "./browser.mjs";

/** The library that a page carries, unpacked by the page's own reader. */
async function carried(file) {
  const reader = fs.readFileSync(path.join(house, "src/page/screen/packed.js"), "utf8");
  const { decompress } = await import(pathToFileURL(path.join(house, "src/page/screen/fzstd/index.mjs")).href);
  const unpacked = new Function("decompress", `${reader}; return unpacked;`)(decompress);
  return Buffer.from(unpacked(/ id="engine"[^>]*>([^<]*)</.exec(fs.readFileSync(file, "utf8"))[1]));
}

/** Asks a library in a worker as the page does, all questions in turn. */
async function library(page, wasm, questions) {
  return page.evaluate(async ([wasm, questions]) => {
    const module = await WebAssembly.compile(Uint8Array.from(atob(wasm), (c) => c.charCodeAt(0)));
    const worker = new Worker(URL.createObjectURL(new Blob([document.getElementById("worker").textContent], { type: "text/javascript" })));
    // How far an answer is comes before it, and is no answer.
    const next = () => new Promise((give) => (worker.onmessage = ({ data }) => data.meanwhile || give(data)));
    const ready = next();
    worker.postMessage({ module });
    await ready;
    const replies = [];
    for (const question of questions) {
      const reply = next();
      worker.postMessage({ number: 1, question: { ask: "look", figures: true, ...question } });
      replies.push(await reply);
    }
    return replies;
  }, [wasm.toString("base64"), questions]);
}

/** The page for browsers without vectors, as the program writes it. */
function oldPage() {
  const old = path.join(folder, "old.html");
  if (!fs.existsSync(old)) execFileSync(program, ["page", "--for-old-browsers", "--out", old], { stdio: "ignore" });
  return old;
}

/** A small module with a vector instruction (WebAssembly core specification 2.0, 5.4.8 and 5.5). */
const VECTORS = [0, 97, 115, 109, 1, 0, 0, 0, 1, 5, 1, 96, 0, 1, 123, 3, 2, 1, 0, 10, 10, 1, 8, 0, 65, 0, 253, 15, 253, 98, 11];

await test("every shipped scenario and question: the same bytes of JSON as the program's, with vectors and without", async (page) => {
  const files = fs.readdirSync(path.join(house, "scenarios")).filter((name) => name.endsWith(".toml"));
  const asked = [];
  const run = (args) => {
    const since = performance.now();
    const json = execFileSync(program, [...args, "--format", "json", "--threads", "1"], { encoding: "utf8", cwd: path.join(house, "scenarios"), stdio: ["ignore", "pipe", "ignore"] });
    return { json, took: performance.now() - since };
  };
  for (const name of files) {
    for (const question of ["sweep", "floor", "stress", "drivers", "jig", "season", "steady", "calendar"]) {
      const start = question === "calendar" ? "2026-12-07" : null;
      let native;
      try {
        native = run([question, name, ...(start ? ["--start", start] : [])]);
      } catch {
        // The scenario lacks the section; the page must refuse it too.
        native = null;
      }
      asked.push({ name, native, question: { text: scenario(name), question, start } });
    }
  }
  const over = ["sale.price=20..80"];
  asked.push({ name: "oak-peg-rail.toml", native: run(["sweep", "oak-peg-rail.toml", "--over", over[0]]), question: { text: scenario("oak-peg-rail.toml"), question: "over", over } });
  const orders = [1, 6, 24];
  asked.push({ name: "oak-peg-rail.toml", native: run(["floor", "oak-peg-rail.toml", "--order", orders.join()]), question: { text: scenario("oak-peg-rail.toml"), question: "quote", orders } });
  const log = fs.readFileSync(path.join(house, "scenarios/oak-peg-rail-log.csv"), "utf8");
  const fit = execFileSync(program, ["fit", "oak-peg-rail.toml", "oak-peg-rail-log.csv", "--format", "json"], { encoding: "utf8", cwd: path.join(house, "scenarios"), stdio: ["ignore", "pipe", "ignore"] });
  asked.push({ name: "oak-peg-rail.toml", native: { json: fit, took: 0 }, question: { text: scenario("oak-peg-rail.toml"), question: "fit", log } });
  // A sales log is told by its name, which is this one in the page.
  const sales = fs.readFileSync(path.join(house, "scenarios/plant-labels-sales.csv"), "utf8");
  fs.writeFileSync(path.join(folder, "log.csv"), sales);
  const sold = execFileSync(program, ["sold", path.join(house, "scenarios/plant-labels.toml"), "log.csv", "--format", "json"], { encoding: "utf8", cwd: folder, stdio: ["ignore", "pipe", "ignore"] });
  asked.push({ name: "plant-labels.toml", native: { json: sold, took: 0 }, question: { text: scenario("plant-labels.toml"), question: "sold", log: sales } });
  // What is handed on is a file, and the same one.
  const papers = ["report", "buyer"].map((kind) => {
    const out = path.join(folder, `${kind}.html`);
    execFileSync(program, ["report", path.join(house, "scenarios/oak-peg-rail.toml"), "--for", kind === "buyer" ? "buyer" : "maker", "--date", "2026-12-07", "--out", out], { stdio: "ignore" });
    return { html: fs.readFileSync(out, "utf8"), question: { ask: "paper", kind, text: scenario("oak-peg-rail.toml"), file: "oak-peg-rail.toml", made: "2026-12-07" } };
  });
  for (const [kind, file] of [["with vectors", bench], ["without", oldPage()]]) {
    const wasm = await carried(file);
    const made = await library(page, wasm, papers.map(({ question }) => question));
    papers.forEach(({ html, question }, k) => assert.ok(JSON.parse(made[k].reply).html === html, `${kind}: the ${question.kind}`));
    const replies = await library(page, wasm, asked.map(({ question }) => question));
    let same = 0;
    for (const [k, { name, native, question }] of asked.entries()) {
      assert.ok(!replies[k].fault, `${kind}: ${name}, ${question.question}: ${replies[k].fault}`);
      const { answer, faults } = JSON.parse(replies[k].reply);
      assert.deepEqual(faults, [], name);
      if (native === null) {
        assert.equal(answer, null, `${kind}: ${name}, ${question.question}`);
        continue;
      }
      assert.equal(answer?.json, native.json, `${kind}: ${name}, ${question.question}`);
      same += 1;
    }
    assert.ok(same > 40, `${same} answers`);
    console.log(`        ${kind}: ${same} of ${same} answers are the same bytes`);
    const sweeps = asked.map((one, k) => ({ ...one, spent: replies[k].spent })).filter(({ question }) => question.question === "sweep");
    console.log(`        a sweep takes ${sweeps.map(({ spent }) => Math.round(spent)).join(", ")} ms here`);
  }
});

// A browser of its own that has no vectors: the engine leaves them out where the processor lacks SSE4.1.
const withoutVectors = async (act) => {
  const older = await chromium.launch({ executablePath, args: ["--js-flags=--no-enable-sse4-1", ...sandbox] });
  const context = await older.newContext({ viewport: { width: 390, height: 844 }, locale: "en-GB" });
  try {
    const page = await context.newPage();
    page.setDefaultTimeout(60_000);
    await page.goto(address);
    assert.equal(await page.evaluate((bytes) => WebAssembly.validate(new Uint8Array(bytes)), VECTORS), false);
    await act(page);
  } finally {
    await older.close();
  }
};

await test("a browser without vectors is told where its page is, and that one answers", () =>
  withoutVectors(async (page) => {
    await page.getByText("batchwright page --for-old-browsers --out bench.html").waitFor();
    await page.goto(pathToFileURL(oldPage()).href);
    await begin(page);
    assert.match(await said(page).textContent(), /^Make /);
    // A web host has both pages.
    await hosted(async (at) => {
      await page.goto(at);
      await page.waitForURL(`${at}old.html`);
      await begin(page);
    });
  }),
);

await test("answers while a hand drags", async (page) => {
  const times = { quick: [], full: [], whole: [] };
  const median = (list) => [...list].sort((a, b) => a - b)[Math.floor(list.length / 2)];
  for (const name of fs.readdirSync(path.join(house, "scenarios")).filter((name) => name.endsWith(".toml"))) {
    if (await page.getByRole("button", { name: "Shelf", exact: true }).isVisible()) await press(page, "Shelf");
    await drop(page, name, scenario(name));
    await whole(page);
    await room(page, "Figures");
    const handle = page.getByRole("slider", { name: "Sale: price" });
    await handle.focus();
    for (let k = 0; k < 12; k += 1) {
      await handle.press("ArrowRight");
      // As often as a hand that drags makes a page draw; it rests three times.
      await page.waitForTimeout(60);
      if (k % 4 === 3) await settled(page);
    }
    const took = await page.evaluate(() => performance.getEntriesByType("measure").map(({ name, duration }) => [name, duration]));
    const mine = { quick: [], full: [], whole: [] };
    for (const [kind, ms] of took) mine[kind.split(" ")[0]].push(ms);
    // The first of each look does not know yet how many batches it has time for.
    for (const kind of Object.keys(mine)) times[kind].push(...mine[kind].slice(1));
    const seen = Object.keys(mine).filter((kind) => mine[kind].length > 1);
    const made = seen.map((kind) => `${Math.round(median(mine[kind].slice(1)))} ms ${kind}`);
    console.log(`        ${name}: ${made.join(", ")}`);
    await page.evaluate(() => performance.clearMeasures());
  }
  console.log(`        medians: ${Object.entries(times).map(([kind, list]) => `${Math.round(median(list))} ms ${kind} (${list.length})`).join(", ")}`);
  assert.ok(times.quick.length > 0 && times.whole.length > 0);
});

await test("the first answer after opening", async (page) => {
  await begin(page);
  await page.reload();
  const since = await page.evaluate(() => performance.timeOrigin);
  await press(page, "Oak coat hook");
  await said(page).waitFor();
  console.log(`        ${Math.round((await page.evaluate(() => performance.timeOrigin + performance.now())) - since)} ms`);
});
