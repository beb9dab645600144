// What is kept and given out: the shelf, windows, storage, hostile files, the file of the program, a web host, a report.
import assert from "node:assert/strict";
import { execFileSync, spawn } from "node:child_process";
import fs from "node:fs";
import path from "node:path";
import { pathToFileURL } from "node:url";
import { address, ask, begin, drop, folder, hosted, house, press, program, room, said, scenario, settled, test, text, whole } from "./browser.mjs";

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
  // What a maker calls a window is none of these.
  await press(page, "Put away");
  await room(page, "Clock");
  await page.getByLabel("What you call this batch").fill("window box");
  await page.getByLabel("Pieces in it").fill("3");
  await press(page, "Put it on the bench");
  await page.getByRole("heading", { name: "window box" }).waitFor();
  assert.equal(await page.locator(".notice").count(), 0);
  await text(page);
  // What another window takes off the shelf is not lost here.
  await press(other, "Shelf");
  await other.getByRole("button", { name: "Take off: Oak coat hook" }).click();
  await page.getByText("Another window took this off the shelf.").waitFor();
  await page.locator("#text").fill(before.replace("28", "33"));
  await other.getByRole("button", { name: "Oak coat hook", exact: true }).waitFor();
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
  // With nothing on the shelf there is nothing to keep.
  await page.getByText("Bring back a shelf that you kept").waitFor();
  assert.equal(await page.getByText("Keep the shelf").count(), 0);
  // What is said of one product does not stay with another.
  await drop(page, "shelf.json", fs.readFileSync(kept, "utf8"));
  await press(page, "Oak coat hook");
  await said(page).waitFor();
  assert.equal(await page.getByText("is off the shelf").count(), 0);
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
  await page.locator(".wrong:visible").first().waitFor();
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

await test("what Undo needs makes room in a full storage, and is shortened where a product is long", async (page) => {
  await begin(page);
  await whole(page);
  await text(page);
  // Histories of other products, until nothing more goes in.
  const fillUp = () =>
    page.evaluate(() => {
      for (let length = 300_000; length > 0; length = Math.floor(length / 2)) {
        for (let k = 0; ; k += 1) {
          try {
            localStorage.setItem(`batchwright.history.${length} ${k}`, "x".repeat(length));
          } catch {
            break;
          }
        }
      }
    });
  await fillUp();
  await drop(page, "log.csv", `job,step,pieces,minutes,note\n${`a,saw and plane,6,50,${"x".repeat(500)}\n`.repeat(190)}`);
  await text(page);
  assert.equal(await page.getByText("storage for this page is full").count(), 0);
  const kept = (what) => page.evaluate((what) => Object.keys(localStorage).filter((key) => key.startsWith(`batchwright.${what}.`)).map((key) => localStorage[key]), what);
  assert.ok((await kept("product"))[0].length > 95_000);
  // With nothing else there: of twenty changes, eighteen of them taken back, the last each way are kept.
  await page.evaluate(() => {
    for (const key of Object.keys(localStorage)) if (/ \d+$/.test(key)) localStorage.removeItem(key);
  });
  await page.locator("#text").evaluate((area) => {
    for (let k = 1; k <= 20; k += 1) {
      area.dispatchEvent(new Event("focus"));
      area.value = area.value.replace(/price = \d+/, `price = ${100 + k}`);
      area.dispatchEvent(new Event("change"));
    }
    for (let k = 1; k <= 18; k += 1) document.getElementById("undo").click();
  });
  await settled(page);
  assert.match(await text(page), /price = 102\n/);
  const [history] = await kept("history");
  assert.ok(history.length > 180_000 && history.length < 310_000, `${history.length} characters`);
  await page.reload();
  await press(page, "Oak coat hook");
  await press(page, "Redo");
  assert.match(await text(page), /price = 103\n/);
  await press(page, "Undo");
  await press(page, "Undo");
  assert.match(await text(page), /price = 101\n/);
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
    // What is just being typed is saved with the rest.
    await page.locator("#text").fill(first.replace("18", "19"));
    await page.keyboard.press("Control+s");
    await settled(page);
    assert.equal(fs.readFileSync(file, "utf8"), first.replace("18", "19"));
    // Somebody else writes into it.
    fs.writeFileSync(file, first.replace("18", "30"));
    await page.locator("#text").fill(first.replace("18", "22"));
    await press(page, "Save");
    await page.getByText("Which version shall it be?").waitFor();
    assert.equal(fs.readFileSync(file, "utf8"), first.replace("18", "30"));
    // What is typed since then is yours, too.
    await page.locator("#text").fill(first.replace("18", "23"));
    await page.getByLabel("Yours, here").getByText("price = 23").waitFor();
    await press(page, "Save yours over it");
    await page.getByText("Which version shall it be?").waitFor({ state: "detached" });
    await page.waitForFunction(() => document.querySelector("#save").disabled);
    assert.equal(fs.readFileSync(file, "utf8"), first.replace("18", "23"));
    // Where the other version cannot be read, it is said why.
    fs.writeFileSync(file, first.replace("18", "31"));
    await page.route("**/file", (route) => route.fulfill({ status: 409, json: { said: "hook & eye.toml is not UTF-8 text" } }));
    await page.locator("#text").fill(first.replace("18", "24"));
    await press(page, "Save");
    await page.locator(".notice", { hasText: "hook & eye.toml is not UTF-8 text" }).waitFor();
    server.kill();
    await press(page, "Save");
    await page.locator(".notice", { hasText: "The program behind this page does not answer" }).waitFor();
  } finally {
    server.kill();
  }
}, { loopback: true, expected: /409|ERR_CONNECTION_REFUSED/ });

await test("the folder for a web host works without a network once it was opened", (page) =>
  hosted(async (at, stop) => {
    await page.goto(at);
    await page.evaluate(() => navigator.serviceWorker.ready);
    await page.waitForFunction(() => navigator.serviceWorker.controller !== null);
    await stop();
    await page.goto(at);
    await begin(page);
  }), { loopback: true });

await test("a browser that needs no older page keeps none, also where it opened that one", (page) =>
  hosted(async (at) => {
    await page.goto(`${at}old.html`);
    await page.evaluate(() => navigator.serviceWorker.ready);
    await page.waitForFunction(() => navigator.serviceWorker.controller !== null);
    for (const place of [at, `${at}old.html`]) {
      await page.goto(place);
      assert.equal(await page.locator("#engine").getAttribute("data-for"), "vectors", place);
    }
  }), { loopback: true });

await test("a table that is dropped is a log of the product that is seen", async (page) => {
  const log = fs.readFileSync(path.join(house, "scenarios/oak-peg-rail-log.csv"), "utf8");
  await drop(page, "log.csv", log);
  await page.getByText("Open the product that it belongs to first").waitFor();
  await press(page, "Put away");
  await drop(page, "rail.toml", scenario("oak-peg-rail.toml"));
  await whole(page);
  await drop(page, "log.csv", log);
  await page.getByRole("heading", { name: "What did it really take?" }).waitFor();
  await said(page).waitFor();
  await drop(page, "sales.csv", fs.readFileSync(path.join(house, "scenarios/plant-labels-sales.csv"), "utf8"));
  await page.getByRole("heading", { name: "What do buyers pay?" }).waitFor();
  // Another log takes the place of the one before: it is said how to get that back.
  await drop(page, "newer.csv", log.replace(/[^\n]+\n$/, ""));
  await page.locator("#seen", { hasText: "newer.csv is the log now, in place of the one before. Undo brings that back." }).waitFor({ state: "attached" });
  await page.getByRole("heading", { name: "What did it really take?" }).waitFor();
  await press(page, "Shelf");
  assert.equal(await page.locator(".shelf .card").count(), 1);
  // The same file once more is the same product.
  await drop(page, "rail.toml", scenario("oak-peg-rail.toml"));
  await press(page, "Shelf");
  assert.equal(await page.locator(".shelf .card").count(), 1);
});

await test("names that turn a line around or hide are seen as what they are not", async (page) => {
  const hidden = "\u202e\u200b\u0007";
  const title = `Hook${hidden}kooH`;
  await drop(page, "turned.toml", `title = "Hook\\u202e\\u200b\\u0007kooH"\ncurrency = "EUR"\ntarget = 25\n[sale]\nprice = 18\n[[step]]\nname = "forge\\u202e"\neach = "12 min"\n`);
  await settled(page);
  for (const place of ["Answers", "Figures", "Clock", "File"]) {
    await room(page, place);
    const seen = await page.evaluate(() => document.title + document.body.innerText + [...document.querySelectorAll("[aria-label]")].map((one) => one.getAttribute("aria-label")).join(""));
    assert.doesNotMatch(seen, /[\u202e\u200b\u0007]/, place);
  }
  assert.equal(await page.locator("#whose").textContent(), title.replace(/[^A-Za-z]/g, "\ufffd"));
});
