// What every test of the page stands on: a browser, and one test in it; acts.mjs has what a person does there. Arguments and settings: run.mjs.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import fs from "node:fs";
import http from "node:http";
import os from "node:os";
import path from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";
import { press, said } from "./acts.mjs";

export * from "./acts.mjs";

export const [bench, program, executablePath, house] = process.argv.slice(2);
export const address = pathToFileURL(path.resolve(bench)).href;
export const folder = fs.mkdtempSync(path.join(os.tmpdir(), "batchwright-page-"));
const only = process.env.ONLY;

export const sandbox = process.getuid?.() === 0 ? ["--no-sandbox"] : [];
export const browser = await chromium.launch({ executablePath, args: sandbox });
console.log(`${executablePath}, version ${browser.version()}`);
let failed = 0;

/** One test in a browser of its own; whatever the page complains of fails it, and so does anything it asks of a network. */
export async function test(name, act, { expected, loopback, ...options } = {}) {
  if (only && !name.includes(only)) return;
  const context = await browser.newContext({ viewport: { width: 390, height: 844 }, locale: "en-GB", ...options });
  const complaints = [];
  context.on("page", (page) => {
    page.on("console", (message) => message.type() === "error" && complaints.push(message.text()));
    page.on("pageerror", (error) => complaints.push(error.message));
    page.on("request", (request) => /^(file|blob|data):/.test(request.url()) || (loopback && /^http:\/\/(localhost|127\.0\.0\.1):/.test(request.url())) || complaints.push(`asked for ${request.url()}`));
  });
  const since = performance.now();
  try {
    const page = await context.newPage();
    page.setDefaultTimeout(30_000);
    await page.goto(address);
    await act(page, context);
    assert.deepEqual(complaints.filter((said) => !expected?.test(said)), []);
    console.log(`ok      ${name} (${Math.round(performance.now() - since)} ms)`);
  } catch (error) {
    failed += 1;
    console.log(`FAILED  ${name}\n${error.stack}\n${complaints.join("\n")}`);
  } finally {
    await context.close();
  }
}

/** From nothing to a verdict; gives how many fields were typed into. */
export async function begin(page) {
  let typed = 0;
  const type = async (label, value, nth = 0) => {
    typed += 1;
    await page.getByLabel(label).nth(nth).fill(value);
  };
  await press(page, "Begin with a product");
  await type("Its name", "Oak coat hook");
  await press(page, "Next");
  await type("What you do", "saw and plane");
  await type("Getting ready, once", "25");
  await type("Then, for each piece", "9 min");
  await press(page, "Add another step");
  await type("What you do", "sand and oil", 1);
  await type("Getting ready, once", "10 min", 1);
  await type("Then, for each piece", "0:14", 1);
  await press(page, "Next");
  await type("What it is", "oak");
  await type("For one piece", "2,40");
  await press(page, "Next");
  await type("Price of one", "28");
  await press(page, "Next");
  await type("An hour, in", "30");
  await press(page, "Show me what it earns");
  await said(page).waitFor();
  return typed;
}

export const scenario = (name) => fs.readFileSync(path.join(house, "scenarios", name), "utf8");

/** The folder for a web host on a host of its own; `act` gets its address, and what takes it off the network. */
export async function hosted(act) {
  const place = path.join(folder, "host");
  execFileSync(program, ["page", "--overwrite", "--out", `${place}/`], { stdio: "ignore" });
  const kinds = { html: "text/html", js: "text/javascript", webmanifest: "application/manifest+json", svg: "image/svg+xml" };
  const server = http.createServer((request, response) => {
    const name = request.url === "/" ? "index.html" : request.url.slice(1).split("?")[0];
    response.setHeader("Content-Type", kinds[name.split(".").pop()] ?? "text/plain");
    try {
      response.end(fs.readFileSync(path.join(place, path.basename(name))));
    } catch {
      response.writeHead(404).end();
    }
  });
  await new Promise((done) => server.listen(0, "127.0.0.1", done));
  const stop = async () => {
    server.closeAllConnections();
    await new Promise((done) => server.close(done));
  };
  try {
    await act(`http://localhost:${server.address().port}/`, stop);
  } finally {
    if (server.listening) await stop();
  }
}

/** Closes what was opened; how many tests failed. */
export async function closed() {
  await browser.close();
  fs.rmSync(folder, { recursive: true });
  return failed;
}
