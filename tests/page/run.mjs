// The built page in a real browser: node run.mjs PAGE PROGRAM CHROMIUM HOUSE, with PAGE the file that src/page/build.sh names, PROGRAM
// batchwright as cargo builds it and HOUSE this project's folder; run.sh does it all. Everything is done as a person does it, by what is
// read and heard; the page is opened from disk. ONLY names a part of the names of the tests to run, SHOTS a folder for pictures of
// every screen.
import assert from "node:assert/strict";
import { execFileSync, spawn } from "node:child_process";
import fs from "node:fs";
import http from "node:http";
import os from "node:os";
import path from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const [bench, program, executablePath, house] = process.argv.slice(2);
const address = pathToFileURL(path.resolve(bench)).href;
const axe = fs.readFileSync(new URL(import.meta.resolve("axe-core/axe.min.js")), "utf8");
const folder = fs.mkdtempSync(path.join(os.tmpdir(), "batchwright-page-"));
const only = process.env.ONLY;

const sandbox = process.getuid?.() === 0 ? ["--no-sandbox"] : [];
const browser = await chromium.launch({ executablePath, args: sandbox });
console.log(`${executablePath}, version ${browser.version()}`);
let failed = 0;

/** One test in a browser of its own; whatever the page complains of fails it, and so does anything it asks of a network. */
async function test(name, act, { expected, loopback, ...options } = {}) {
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

const press = (page, name) => page.getByRole("button", { name, exact: true }).click();
const room = (page, name) => page.getByRole("navigation").getByRole("button", { name }).click();
const said = (page) => page.locator(".opening").first();
/** Nothing is on its way any more: no change, no answer. */
const settled = (page) => page.locator("body:not([data-busy])").waitFor();
const whole = async (page) => {
  await settled(page);
  await page.locator(".made", { hasText: "simulated batches" }).waitFor();
};
const ask = (page, question) => page.getByLabel("I want to know").selectOption({ label: question });
const text = async (page) => {
  await settled(page);
  await room(page, "File");
  return page.locator("#text").inputValue();
};

/** From nothing to a verdict; gives how many fields were typed into. */
async function begin(page) {
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

/** Opens a text as a file that is dropped on the page. */
async function drop(page, name, content) {
  await page.evaluate(
    ([name, content]) => {
      const data = new DataTransfer();
      data.items.add(new File([content], name));
      document.body.dispatchEvent(new DragEvent("drop", { dataTransfer: data, bubbles: true, cancelable: true }));
    },
    [name, content],
  );
}

const scenario = (name) => fs.readFileSync(path.join(house, "scenarios", name), "utf8");

await test("from nothing to a verdict that is marked rough, in 12 inputs at most", async (page) => {
  const typed = await begin(page);
  assert.ok(typed <= 12, `${typed} inputs`);
  assert.match(await said(page).textContent(), /^Make /);
  await page.getByText("Rough.").waitFor();
  const file = await text(page);
  assert.match(file, /each\s+= "14 min"/);
  assert.match(file, /price\s+= 2\.4\n/);
  // A bad day in it, and it is rough no more.
  await room(page, "Figures");
  await page.locator("summary", { hasText: "saw and plane" }).click();
  await page.getByRole("button", { name: "Some days differ" }).last().click();
  await page.getByLabel("saw and plane: each, A bad day").fill("40 min");
  await room(page, "Answers");
  await whole(page);
  await page.getByText("Rough.").waitFor({ state: "detached" });
});

await test("what is wrong is said in words, and nothing goes on until it is right", async (page) => {
  await press(page, "Begin with a product");
  await press(page, "Next");
  assert.match(await page.getByRole("alert").textContent(), /Give it a name/);
  await page.getByLabel("Its name").fill("Hook");
  await press(page, "Next");
  await page.getByLabel("What you do").fill("forge");
  await page.getByLabel("Then, for each piece").fill("soon");
  await press(page, "Next");
  assert.match(await page.getByRole("alert").textContent(), /write the time for a piece as a time/);
  // The draft is there after a reload.
  await page.reload();
  await press(page, "Go on with Hook");
  assert.equal(await page.getByLabel("What you do").inputValue(), "forge");
});

await test("changes are undone and made again, drags as one, and survive a reload", async (page) => {
  await drop(page, "rail.toml", scenario("oak-peg-rail.toml"));
  await whole(page);
  const before = await text(page);
  await room(page, "Figures");
  const handle = page.getByRole("slider", { name: "Sale: price" });
  await handle.scrollIntoViewIfNeeded();
  const box = await handle.boundingBox();
  const at = Number(await handle.inputValue()) / Number(await handle.getAttribute("max"));
  const x = box.x + 14 + at * (box.width - 28);
  await page.mouse.move(x, box.y + box.height / 2);
  await page.mouse.down();
  for (let k = 1; k <= 12; k += 1) await page.mouse.move(x + 4 * k, box.y + box.height / 2);
  await page.mouse.up();
  await page.waitForFunction(() => !document.querySelector("#undo").disabled);
  const after = await text(page);
  const price = (file) => Number(/^price\s*=\s*([\d.]+)/m.exec(file.slice(file.indexOf("[sale]")))[1]);
  assert.ok(price(after) > price(before), `${price(before)} to ${price(after)}`);
  await press(page, "Undo");
  assert.equal(await text(page), before, "one stroke is one step back");
  await press(page, "Redo");
  assert.equal(await text(page), after);
  await page.reload();
  await press(page, "Oak peg rail, five pegs");
  assert.equal(await text(page), after);
  // What was done before it can still be taken back.
  await press(page, "Undo");
  assert.equal(await text(page), before);
  await press(page, "Redo");
  assert.equal(await text(page), after);
});

await test("a chart says its figures under a pointer and at the arrow keys", async (page) => {
  await drop(page, "rail.toml", scenario("oak-peg-rail.toml"));
  await whole(page);
  const chart = page.locator("figure.chart");
  await chart.focus();
  await chart.press("ArrowRight");
  const reading = page.locator(".reading");
  const first = await reading.textContent();
  assert.match(await page.locator("#live").textContent(), /^pieces a batch: 1;/);
  await chart.press("ArrowRight");
  assert.notEqual(await reading.textContent(), first);
  // The same figures as the table's row.
  const row = await page.locator("table tbody tr").first().locator("th, td").allTextContents();
  for (const cell of row) assert.ok(first.includes(cell), `${cell} in ${first}`);
  await chart.press("Escape");
  await reading.waitFor({ state: "hidden" });
  const { height } = await chart.locator("svg").boundingBox();
  await chart.locator("svg").hover({ position: { x: 200, y: Math.round(height / 4) } });
  await reading.waitFor();
});

await test("every chart of every question says its figures under a pointer, a finger and at the arrow keys", async (page) => {
  const charted = new Set();
  const opened = async (button, file) => {
    const [chooser] = await Promise.all([page.waitForEvent("filechooser"), press(page, button)]);
    await chooser.setFiles(path.join(house, "scenarios", file));
  };
  for (const name of ["plant-labels", "spinning-tops", "oak-peg-rail"]) {
    if (await page.getByRole("button", { name: "Shelf", exact: true }).isVisible()) await press(page, "Shelf");
    await drop(page, `${name}.toml`, scenario(`${name}.toml`));
    await whole(page);
    if (name === "oak-peg-rail") {
      await room(page, "Clock");
      await opened("Open a log", "oak-peg-rail-log.csv");
      await room(page, "Answers");
    }
    for (const question of await page.locator("#question option").allTextContents()) {
      await ask(page, question);
      await settled(page);
      if (name === "plant-labels" && question === "What do buyers pay?") {
        await opened("Open a sales log", "plant-labels-sales.csv");
        await page.locator("figure.chart").waitFor();
        await settled(page);
      }
      if (question.startsWith("Which of my products") && (await page.locator("#details input[type=checkbox]").count()) > 0) {
        await page.locator("#details input[type=checkbox]").first().check();
        await settled(page);
      }
      const chart = page.locator("figure.chart");
      if ((await chart.count()) === 0) continue;
      charted.add(question);
      const where = `${name}: ${question}`;
      const reading = page.locator(".reading");
      const spot = chart.locator(".spot");
      const { height } = await chart.locator("svg").boundingBox();
      // At the keys: from the first place to the last, each with figures; together they lie over most of the picture.
      await chart.focus();
      await chart.press("End");
      const last = await reading.textContent();
      await chart.press("Home");
      const first = await reading.textContent();
      const at = await spot.evaluate((spot) => {
        spot.scrollIntoView({ block: "center" });
        const own = spot.getBoundingClientRect();
        return { x: own.x + own.width / 2, y: own.y + own.height / 2 };
      });
      // The keys themselves are pressed above; there are hundreds of places, so the rest of the way goes without asking the browser each time.
      const walked = await chart.evaluate((chart) => {
        const [spot, svg, words] = [chart.querySelector(".spot"), chart.querySelector("svg"), chart.querySelector(".reading")];
        const grounds = [];
        for (let before = ""; ; ) {
          const [own, whole] = [spot, svg].map((one) => one.getBoundingClientRect());
          const here = [own.x, own.y, own.width].join();
          if (here === before) return { grounds, ended: words.textContent };
          before = here;
          grounds.push({ top: own.top - whole.top, foot: own.bottom - whole.top, figures: words.querySelectorAll("dd").length, said: words.textContent });
          chart.dispatchEvent(new KeyboardEvent("keydown", { key: "ArrowRight", bubbles: true, cancelable: true }));
        }
      });
      assert.equal(walked.ended, last, where);
      for (const { figures, said: words } of walked.grounds) assert.ok(figures > 0 && words.length > 3, `${where}: ${words}`);
      // Under a pointer, and under a finger.
      await chart.press("Escape");
      await reading.waitFor({ state: "hidden" });
      await page.mouse.move(at.x, at.y);
      assert.equal(await reading.textContent(), first, where);
      await page.mouse.move(1, 1);
      await reading.waitFor({ state: "hidden" });
      await page.touchscreen.tap(at.x, at.y);
      assert.equal(await reading.textContent(), first, where);
      const grounds = walked.grounds.map(({ top, foot }) => [top, foot]);
      let [covered, end] = [0, 0];
      for (const [y0, y1] of grounds.sort((a, b) => a[0] - b[0])) {
        covered += Math.max(0, y1 - Math.max(y0, end));
        end = Math.max(end, y1);
      }
      assert.ok(covered > height / 2, `${where}: ${Math.round(covered)} of ${Math.round(height)} px say figures`);
      await chart.press("Escape");
    }
  }
  assert.deepEqual([...charted].sort(), (await page.locator("#question option").allTextContents()).sort(), "each question has a chart in one of them");
}, { hasTouch: true });

await test("orders are quoted, and two figures are gone over at once", async (page) => {
  await drop(page, "towels.toml", scenario("printed-tea-towels.toml"));
  await whole(page);
  await ask(page, "What shall I quote for one order?");
  await whole(page);
  const straight = await said(page).textContent();
  await page.getByLabel("How it is sold").selectOption("shops by the dozen");
  await whole(page);
  assert.notEqual(await said(page).textContent(), straight);
  await page.getByLabel("Pieces in the order").fill("none");
  await page.getByText("Say how many pieces an order has").waitFor();
  await ask(page, "What if one figure were another?");
  await whole(page);
  await press(page, "Go over a second figure too");
  await page.getByLabel("The second figure").waitFor();
  await whole(page);
  await page.locator("figure.chart svg").waitFor();
  await press(page, "Leave the second figure as it is");
  await page.getByLabel("The second figure").waitFor({ state: "detached" });
  await whole(page);
});

await test("what could change the answer is offered with what it does", async (page) => {
  await begin(page);
  await whole(page);
  const offer = page.locator("details", { has: page.locator("summary", { hasText: "Are pieces spoiled now and then?" }) });
  await offer.waitFor();
  await offer.locator("summary").click();
  assert.match(await offer.textContent(), /For example, if 3 of 100 pieces are spoiled at .*without the change/);
});

await test("a report carries the page, which keeps nothing and reaches nothing of the report", async (page) => {
  const report = path.join(folder, "report.html");
  execFileSync(program, ["report", path.join(house, "scenarios", "oak-peg-rail.toml"), "--only", "sweep", "--trials", "1000", "--live", "--out", report], { stdio: "ignore" });
  await page.goto(pathToFileURL(report).href);
  await page.getByText("Open it", { exact: true }).click();
  const frame = page.frameLocator("iframe");
  await frame.locator(".opening").first().waitFor();
  await frame.getByRole("navigation").getByRole("button", { name: "File" }).click();
  assert.equal(await frame.locator("#text").inputValue(), scenario("oak-peg-rail.toml"));
});

await test("steps are put in order, added and taken out; every other byte stays", async (page) => {
  await drop(page, "mugs.toml", scenario("stoneware-mugs.toml"));
  await whole(page);
  const before = await text(page);
  await room(page, "Figures");
  const names = () => page.locator(".ordered summary").allTextContents();
  const first = await names();
  await page.getByRole("button", { name: `Move ${first[1]}`, exact: false }).press("ArrowUp");
  await page.waitForFunction((name) => document.querySelector(".ordered summary").textContent === name, first[1]);
  assert.deepEqual((await names()).slice(0, 2), [first[1], first[0]]);
  await press(page, "Undo");
  assert.equal(await text(page), before);
  await room(page, "Figures");
  await press(page, "Add a step");
  await page.locator("summary", { hasText: "new step" }).waitFor();
  await page.getByRole("button", { name: "Take this out: new step" }).click();
  await page.locator("summary", { hasText: "new step" }).waitFor({ state: "detached" });
  assert.equal((await text(page)).trimEnd(), before.trimEnd());
});

await test("keys are offered, explained, added and taken out", async (page) => {
  await drop(page, "cards.toml", scenario("letterpress-cards.toml"));
  await whole(page);
  await room(page, "Figures");
  const more = page.getByLabel("Say more about Sale");
  await more.selectOption({ index: 1 });
  await page.waitForFunction(() => !document.querySelector("#undo").disabled);
  await press(page, "Undo");
  const spoiled = page.locator("details", { has: page.locator("summary", { hasText: "Batches" }) });
  await spoiled.locator("summary").first().click();
  assert.match(await spoiled.textContent(), /pieces/);
});

await test("the clock writes the log, a reload does not stop it, and the log says what it really took", async (page) => {
  await begin(page);
  await room(page, "Clock");
  await page.getByLabel("Pieces in it").fill("4");
  await press(page, "Put it on the bench");
  for (let k = 0; k < 2; k += 1) {
    await press(page, "Start");
    await page.getByRole("timer").filter({ hasNotText: "0:00:00" }).waitFor();
    if (k === 0) {
      await page.reload();
      await press(page, "Oak coat hook");
      await said(page).waitFor();
      await room(page, "Clock");
      assert.notEqual(await page.getByRole("timer").textContent(), "0:00:00");
    }
    await press(page, "Stop");
    await press(page, "One piece more");
    await press(page, "One piece more");
    await page.locator(".counted", { hasText: "2 of 4" }).waitFor();
    await press(page, "Undo");
    await page.locator(".counted", { hasText: "1 of 4" }).waitFor();
    await press(page, "All 4");
    if (k === 1) await press(page, "One spoiled");
    await press(page, "Done with this step");
    await page.getByText(k === 0 ? "One step is timed." : "2 steps are timed.").waitFor();
  }
  const [file] = await Promise.all([page.waitForEvent("download"), press(page, "Download the log (CSV)")]);
  const log = path.join(folder, "log.csv");
  await file.saveAs(log);
  const toml = path.join(folder, "hook.toml");
  fs.writeFileSync(toml, await text(page));
  // The program reads the same log and says the same.
  const told = JSON.parse(execFileSync(program, ["fit", toml, log, "--format", "json"], { encoding: "utf8" }));
  assert.equal(told.entries ?? 2, 2);
  await room(page, "Clock");
  await press(page, "What did it really take?");
  await said(page).waitFor();
  if (await page.locator("#take-fit").count()) await page.locator("#take-fit").click();
});

await test("a clock that ran over night asks, and takes what was worked", async (page) => {
  await begin(page);
  await room(page, "Clock");
  await press(page, "Put it on the bench");
  await press(page, "Start");
  await page.evaluate(() => {
    const key = Object.keys(localStorage).find((key) => key.startsWith("batchwright.product."));
    const product = JSON.parse(localStorage[key]);
    product.jobs[0].since -= 15 * 3600_000;
    localStorage[key] = JSON.stringify(product);
  });
  await page.reload();
  await press(page, "Oak coat hook");
  await said(page).waitFor();
  await room(page, "Clock");
  await page.getByText("Were you at it all that time?").waitFor();
  await page.getByLabel("No, since then I worked").fill("1 h 30");
  await press(page, "Take that and stop");
  assert.match(await page.getByRole("timer").textContent(), /1:30:0/);
});

await test("another window's change is taken over, and Undo brings back what stood here", async (page, context) => {
  await begin(page);
  const before = await text(page);
  const other = await context.newPage();
  await other.goto(address);
  await press(other, "Oak coat hook");
  await said(other).waitFor();
  await text(other);
  await other.locator("#text").fill(before.replace("28", "31"));
  await page.getByText("Another window changed this").waitFor();
  await page.waitForFunction(() => document.querySelector("#text").value.includes("31"));
  await press(page, "Undo");
  await page.waitForFunction(() => document.querySelector("#text").value.includes("28"));
});

await test("a shelf is downloaded and brought back; what is taken off can be put back", async (page) => {
  await begin(page);
  await press(page, "Shelf");
  await page.getByText("Keep the shelf, or bring it back").click();
  const [file] = await Promise.all([page.waitForEvent("download"), press(page, "Download the whole shelf")]);
  const kept = path.join(folder, "shelf.json");
  await file.saveAs(kept);
  await page.getByRole("button", { name: "Take off: Oak coat hook" }).click();
  await press(page, "Put it back");
  await page.getByRole("button", { name: "Take off: Oak coat hook" }).click();
  await page.getByRole("button", { name: "Put away" }).click();
  await drop(page, "shelf.json", fs.readFileSync(kept, "utf8"));
  await press(page, "Oak coat hook");
  await said(page).waitFor();
});

await test("a hostile file is text and nothing else", async (page) => {
  const evil = `<img src=x onerror="window.caught=1"><script>window.caught=2</script><style>body{display:none}</style>`;
  const name = JSON.stringify(evil);
  await drop(page, "evil.toml", `title = ${name}\ncurrency = "EUR"\ntarget = 25\n[sale]\nprice = 18\n[[step]]\nname = ${name}\nsetup = "10 / 12 / 20 min"\neach = "12 min" # ${evil}\n[[material]]\nname = ${name}\nper_piece = 1\nunit = ${name}\nprice = 2\n`);
  await whole(page);
  for (const question of ["What shall I charge?", "How much bad luck can it take?", "What is worth working on?"]) {
    await ask(page, question);
    await whole(page);
  }
  for (const place of ["Figures", "Clock", "File"]) await room(page, place);
  await press(page, "Shelf");
  // Neither does a wrong one.
  await drop(page, "worse.toml", `${evil}\n[[step]\n"${evil}" = 1`);
  await page.locator(".wrong").first().waitFor();
  const found = await page.evaluate(() => ({ caught: window.caught, inside: document.querySelectorAll("main img, main script, main style, header img, header script").length, seen: getComputedStyle(document.body).display }));
  assert.deepEqual(found, { caught: undefined, inside: 0, seen: "block" });
  // The page's own policy stops a script that would get in all the same.
  const stopped = await page.evaluate(
    () =>
      new Promise((give) => {
        addEventListener("securitypolicyviolation", (event) => give(event.violatedDirective), { once: true });
        const script = document.createElement("script");
        script.textContent = "window.caught = 3";
        document.body.append(script);
        setTimeout(() => give("nothing stopped it"), 1000);
      }),
  );
  assert.match(stopped, /script-src/);
}, { expected: /^Executing inline script violates/ });

await test("a full or forbidden storage is said, and what is there can be downloaded", async (page) => {
  await page.evaluate(() => {
    Storage.prototype.setItem = () => {
      throw new DOMException("full", "QuotaExceededError");
    };
  });
  await begin(page);
  await page.getByText("storage for this page is full").waitFor();
  await page.getByRole("button", { name: "Download the whole shelf" }).first().waitFor();
});

await test("the program gives out the very same page, and saving goes to the file; both versions are kept apart", async (page, context) => {
  const file = path.join(folder, "hook & eye.toml");
  const first = 'title = "Hook"\ncurrency = "EUR"\ntarget = 25\n\n[sale]\nprice = 18 # by hand\n\n[[step]]\nname = "forge"\neach = "12 / 15 / 25 min"\n';
  fs.writeFileSync(file, first);
  const server = spawn(program, ["desk", file]);
  try {
    const told = await new Promise((give) => server.stdout.on("data", (data) => give(String(data))));
    const at = /http:\S+/.exec(told)[0];
    await page.goto(at);
    await whole(page);
    await text(page);
    await page.locator("#text").fill(first.replace("18", "21"));
    await press(page, "Save");
    await page.waitForFunction(() => document.querySelector("#save").disabled);
    assert.equal(fs.readFileSync(file, "utf8"), first.replace("18", "21"));
    // Somebody else writes into it.
    fs.writeFileSync(file, first.replace("18", "30"));
    await page.locator("#text").fill(first.replace("18", "22"));
    await press(page, "Save");
    await page.getByText("Which version shall it be?").waitFor();
    assert.equal(fs.readFileSync(file, "utf8"), first.replace("18", "30"));
    await press(page, "Save yours over it");
    await page.getByText("Which version shall it be?").waitFor({ state: "detached" });
    await page.waitForFunction(() => document.querySelector("#save").disabled);
    assert.equal(fs.readFileSync(file, "utf8"), first.replace("18", "22"));
  } finally {
    server.kill();
  }
}, { loopback: true, expected: /409/ });

/** The folder for a web host on a host of its own; `act` gets its address, and what takes it off the network. */
async function hosted(act) {
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

await test("the folder for a web host works without a network once it was opened", (page) =>
  hosted(async (at, stop) => {
    await page.goto(at);
    await page.evaluate(() => navigator.serviceWorker.ready);
    await page.waitForFunction(() => navigator.serviceWorker.controller !== null);
    await stop();
    await page.goto(at);
    await begin(page);
  }), { loopback: true });

/** The library that a page carries, unpacked by the page's own reader. */
async function carried(file) {
  const reader = fs.readFileSync(path.join(house, "src/page/screen/packed.js"), "utf8");
  const { unpacked } = new Function(`${reader}; return { unpacked };`)();
  return Buffer.from(await unpacked(/ id="engine"[^>]*>([^<]*)</.exec(fs.readFileSync(file, "utf8"))[1]));
}

/** Asks a library in a worker as the page does, all questions in turn. */
async function library(page, wasm, questions) {
  return page.evaluate(async ([wasm, questions]) => {
    const module = await WebAssembly.compile(Uint8Array.from(atob(wasm), (c) => c.charCodeAt(0)));
    const worker = new Worker(URL.createObjectURL(new Blob([document.getElementById("worker").textContent], { type: "text/javascript" })));
    const next = () => new Promise((give) => (worker.onmessage = ({ data }) => give(data)));
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
  for (const [kind, file] of [["with vectors", bench], ["without", oldPage()]]) {
    const wasm = await carried(file);
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
    // Neither can it unpack gzip.
    await context.addInitScript(() => delete globalThis.DecompressionStream);
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
    const made = Object.keys(mine).map((kind) => `${Math.round(median(mine[kind].slice(1)))} ms ${kind}`);
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

// 640 and 320 pixels are 1280 at twice and four times the size. Every question is looked at in each colour and each width once.
const SOME = ["How many shall I make at a time?", "What is worth working on?", "What did it really take?"];
for (const [colorScheme, forcedColors, sizes] of [
  ["light", "none", [[1280, 900, true], [768, 1024], [390, 844, true], [640, 450], [320, 256]]],
  ["dark", "none", [[1280, 900], [768, 1024, true], [390, 844]]],
  ["dark", "active", [[1280, 900], [768, 1024], [390, 844]]],
]) {
  for (const [width, height, every] of sizes) {
    const look = forcedColors === "active" ? "forced colours" : colorScheme;
    await test(
      `nothing for an accessibility checker to find, ${look}, ${width} px`,
      async (page) => {
        const check = async (where) => {
          await page.evaluate(axe);
          const { violations } = await page.evaluate(() => window.axe.run(document, { resultTypes: ["violations"] }));
          const found = violations.map(({ id, nodes }) => `${where}: ${id}: ${nodes.slice(0, 3).map(({ html, failureSummary }) => `${html} ${failureSummary}`).join("; ")}`);
          assert.deepEqual(found, []);
          assert.doesNotMatch(await page.locator("body").innerText(), /\b(undefined|null|NaN|object Object)\b/, where);
          const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
          assert.ok(wide <= 0, `${where}: wider than the window by ${wide}`);
          if (process.env.SHOTS) await page.screenshot({ path: path.join(process.env.SHOTS, `${where}-${look.replace(" ", "-")}-${width}.png`), fullPage: true });
        };
        await check("home");
        await press(page, "Begin with a product");
        await check("begin-1");
        await page.getByLabel("Its name").fill("Hook");
        await press(page, "Next");
        await press(page, "Next");
        await check("begin-2");
        await press(page, "Shelf");
        await drop(page, "rail.toml", scenario("oak-peg-rail.toml"));
        await whole(page);
        for (const question of every ? await page.locator("#question option").allTextContents() : SOME) {
          await ask(page, question);
          await settled(page);
          await check(`answers-${question.replace(/\W+/g, "-").toLowerCase()}`);
        }
        await room(page, "Figures");
        await check("figures");
        await room(page, "Clock");
        await press(page, "Put it on the bench");
        await press(page, "Start");
        await check("clock");
        await room(page, "File");
        await check("file");
      },
      { viewport: { width, height }, colorScheme, forcedColors, bypassCSP: true },
    );
  }
}

await browser.close();
fs.rmSync(folder, { recursive: true });
if (failed > 0) {
  console.log(`${failed} failed`);
  process.exit(1);
}
