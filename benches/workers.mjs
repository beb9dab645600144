// How long the page takes over all batches of a sweep with one worker and with several, in turn in one run: node benches/workers.mjs PAGE
// CHROMIUM FOLDER [TURNS] [WORKERS], with PAGE the file that src/page/build.sh names and FOLDER where tests/page/run.sh put playwright-core
// (target/page-tests). Prints the median milliseconds from the question to the answer as the page has it.
import fs from "node:fs";
import { createRequire } from "node:module";
import path from "node:path";
import { pathToFileURL } from "node:url";
import { drop, room, settled, whole } from "../tests/page/acts.mjs";

const [file, executablePath, folder, turns = "9", workers = "2"] = process.argv.slice(2);
const { chromium } = createRequire(path.resolve(folder, "here"))("playwright-core");
const browser = await chromium.launch({ executablePath, args: process.getuid?.() === 0 ? ["--no-sandbox"] : [] });
const median = (list) => [...list].sort((a, b) => a - b)[Math.floor(list.length / 2)];

/** The page on a device with room for so many workers, which leave one core to whatever else runs. */
async function opened(workers, name, content) {
  const context = await browser.newContext({ viewport: { width: 390, height: 844 }, locale: "en-GB" });
  const page = await context.newPage();
  await page.addInitScript((workers) => Object.defineProperty(Navigator.prototype, "hardwareConcurrency", { get: () => workers + 1 }), workers);
  await page.goto(pathToFileURL(path.resolve(file)).href);
  await drop(page, name, content);
  await whole(page);
  await room(page, "Figures");
  return page;
}

/** What all batches take after a change. */
async function took(page, key) {
  await settled(page);
  await page.evaluate(() => performance.clearMeasures());
  await page.getByRole("slider", { name: "Sale: price" }).press(key);
  await settled(page);
  return page.evaluate(() => performance.getEntriesByName("whole answer").at(-1).duration);
}

const scenarios = new URL("../scenarios/", import.meta.url);
console.log(`scenario                     one worker  ${workers} workers  ratio`);
for (const name of fs.readdirSync(scenarios).filter((name) => name.endsWith(".toml"))) {
  const text = fs.readFileSync(new URL(name, scenarios), "utf8");
  const pages = [await opened(1, name, text), await opened(Number(workers), name, text)];
  const times = [[], []];
  // The first two begin workers and learn how many batches there is time for.
  for (let k = 0; k < Number(turns) + 2; k += 1) {
    for (const [which, page] of pages.entries()) {
      const time = await took(page, k % 2 === 0 ? "ArrowRight" : "ArrowLeft");
      if (k > 1) times[which].push(time);
    }
  }
  const [one, several] = times.map(median);
  console.log(`${name.padEnd(27)} ${one.toFixed(0).padStart(8)} ms ${several.toFixed(0).padStart(7)} ms ${(several / one).toFixed(2).padStart(6)}`);
  for (const page of pages) await page.context().close();
}
await browser.close();
