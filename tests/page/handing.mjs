// What is handed on: the sheet for a buyer, the report and the workbook, made in the page as the program makes them.
import assert from "node:assert/strict";
import { execFileSync, spawn } from "node:child_process";
import fs from "node:fs";
import path from "node:path";
import { pathToFileURL } from "node:url";
import { inflateRawSync } from "node:zlib";
import { ask, drop, folder, press, program, room, scenario, settled, test, text, whole } from "./browser.mjs";

/** What a press of this button gives to keep, as { name, bytes }. */
async function given(page, button) {
  const [file] = await Promise.all([page.waitForEvent("download", { timeout: 120_000 }), press(page, button)]);
  await settled(page);
  return { name: file.suggestedFilename(), bytes: fs.readFileSync(await file.path()) };
}

/** What the program writes as `given` of a scenario, whose file has this name. */
function written(given, name, shipped, ...more) {
  const file = path.join(folder, name);
  const out = path.join(folder, given);
  fs.writeFileSync(file, scenario(shipped));
  execFileSync(program, ["report", file, "--overwrite", "--out", out, ...more], { stdio: "ignore" });
  return fs.readFileSync(out);
}

/** What is in a ZIP archive, by name (APPNOTE.TXT of the format, 4.3: its directory is at the end). */
function unzipped(bytes) {
  const parts = {};
  let at = bytes.readUInt32LE(bytes.lastIndexOf("PK\x05\x06") + 16);
  while (bytes.readUInt32LE(at) === 0x02014b50) {
    const [packed, length, extra, comment, local] = [bytes.readUInt32LE(at + 20), ...[28, 30, 32].map((k) => bytes.readUInt16LE(at + k)), bytes.readUInt32LE(at + 42)];
    const from = local + 30 + bytes.readUInt16LE(local + 26) + bytes.readUInt16LE(local + 28);
    const part = bytes.subarray(from, from + packed);
    parts[bytes.toString("utf8", at + 46, at + 46 + length)] = (bytes.readUInt16LE(at + 10) === 0 ? part : inflateRawSync(part)).toString("utf8");
    at += 46 + length + extra + comment;
  }
  return parts;
}

const wrong = (page, hasText) => page.locator("#buyer-deed .wrong", { hasText });
const opened = async (page, shipped) => {
  await drop(page, shipped, scenario(shipped));
  await whole(page);
  await room(page, "Files");
};

await test("the sheet for a buyer and the report are the program's own files", async (page) => {
  await opened(page, "oak-peg-rail.toml");
  await page.getByText("From when, and when it is due").click();
  const day = await page.locator("#maker-more").getByLabel("I start on").inputValue();
  const sheet = await given(page, "Make the sheet for a buyer");
  assert.equal(sheet.name, "oak-peg-rail-five-pegs-offer.html");
  assert.ok(sheet.bytes.equals(written("given.html", "oak-peg-rail-five-pegs.toml", "oak-peg-rail.toml", "--date", day, "--for", "buyer")));
  await page.getByText("It is among your downloads: oak-peg-rail-five-pegs-offer.html.").waitFor();
  // What no buyer is told is said here.
  assert.match(await page.locator("#buyer-deed").textContent(), /For you alone\. An order counts as one parcel here/);
  await page.locator("#maker-more").getByLabel("It is due on").fill("2030-06-03");
  const report = await given(page, "Make the report");
  assert.equal(report.name, "oak-peg-rail-five-pegs-report.html");
  assert.ok(report.bytes.equals(written("given.html", "oak-peg-rail-five-pegs.toml", "oak-peg-rail.toml", "--date", day, "--due", "2030-06-03")));
  await page.getByText("It is among your downloads: oak-peg-rail-five-pegs-report.html.").waitFor();
});

await test("the workbook has every figure, sum and chart of the program's own; only its pictures are in the report alone", async (page) => {
  await opened(page, "plant-labels.toml");
  const day = await page.locator("#maker-more").getByLabel("I start on").inputValue();
  await page.locator("#maker-more summary").click();
  await page.locator("#maker-more").getByLabel("It is due on").fill("2030-06-03");
  const { name, bytes } = await given(page, "Make a workbook");
  assert.equal(name, "glazed-plant-labels-set-of-six-report.xlsx");
  await page.getByText(`It is among your downloads: ${name}. A spreadsheet program opens it.`).waitFor();
  const own = unzipped(written("given.xlsx", "glazed-plant-labels-set-of-six.toml", "plant-labels.toml", "--date", day, "--due", "2030-06-03"));
  const here = unzipped(bytes);
  // Where the program's sheet has a picture, and nothing else is drawn on it.
  const without = (part) => part.replace(/<drawing r:id="rId\d+"\/>/, "");
  const compared = Object.keys(own).filter((part) => /^xl\/(worksheets\/|charts\/|styles|sharedStrings|workbook)[^_]*\.xml$|^docProps/.test(part));
  assert.ok(compared.length > 14, String(compared));
  for (const part of compared) assert.equal(without(here[part]), without(own[part]), part);
  assert.deepEqual(Object.keys(here).filter((part) => !(part in own)), []);
  assert.ok(Object.keys(here).every((part) => !part.startsWith("xl/media/")));
  // It has a sheet of sums; where there can be none, the reason is said beside it.
  assert.equal(await page.locator("#maker-deed .rough").count(), 0);
  await page.locator("#text").fill('title = "Hook"\ncurrency = "EUR"\ntarget = 25\n[batch]\nsizes = "1..2"\n[sale]\nprice = 18\n[[step]]\nname = "forge"\neach = "12 min"\n[[step]]\nname = "oil"\neach = "3 min"\ndone_by = "helper"\n[helper]\nwage = 15\n');
  await settled(page);
  await press(page, "Make a workbook");
  await page.locator("#maker-deed .rough", { hasText: /^Hook has no sheet of sums: a helper does a part of the work\.$/ }).waitFor();
});

await test("a sheet for a buyer has the orders that were quoted and holds as long as is said; it says nothing of what stands behind it", async (page, context) => {
  await opened(page, "printed-tea-towels.toml");
  await room(page, "Answers");
  await ask(page, "What shall I quote for one order?");
  await page.getByLabel("Pieces in an order").fill("24, 1 and 6");
  await page.getByLabel("How it is sold").selectOption("shops by the dozen");
  await whole(page);
  await press(page, "Make a sheet for a buyer of it");
  assert.equal(await page.evaluate(() => document.activeElement.id), "buyer-make");
  await page.getByText("Which orders, and until when").click();
  assert.equal(await page.getByLabel("Pieces in an order").inputValue(), "24, 1 and 6");
  await page.getByLabel("It holds until").fill("2031-01-31");
  const { bytes } = await given(page, "Make the sheet for a buyer");
  const kept = path.join(folder, "offer.html");
  fs.writeFileSync(kept, bytes);
  const sheet = await context.newPage();
  await sheet.goto(pathToFileURL(kept).href);
  assert.deepEqual(await sheet.locator("tbody tr").evaluateAll((rows) => rows.map((row) => row.cells[0].textContent)), ["1", "6", "24"]);
  const words = await sheet.locator("main").innerText();
  assert.match(words, /valid until Friday 31 January 2031/);
  assert.doesNotMatch(words, /\b(costs?|hours?|margin|profit|earns?|target)\b/i);
  // A day that is over is refused, and so are orders of nothing.
  await page.getByLabel("It holds until").fill("2020-01-31");
  await press(page, "Make the sheet for a buyer");
  await wrong(page, "This day is over.").waitFor();
  await page.getByLabel("It holds until").fill("");
  await page.getByLabel("Pieces in an order").fill("many");
  await press(page, "Make the sheet for a buyer");
  await wrong(page, "Say how many pieces an order has, from 1 to 10,000.").waitFor();
});

await test("a sheet for a buyer asks who offers it where the file does not say so, and says it", async (page) => {
  await drop(page, "rail.toml", scenario("oak-peg-rail.toml"));
  await whole(page);
  const before = await text(page);
  await page.locator("#buyer-who > summary").click();
  const ask = page.locator("#buyer-who form");
  await ask.getByRole("button", { name: "Put it in" }).click();
  await ask.getByText("Write something in one of them.").waitFor();
  await ask.getByLabel("Maker").fill('Hill Lane "Woodwork"');
  await ask.getByLabel("Description").fill("Oak, oiled, five pegs.");
  await page.keyboard.press("Enter");
  await settled(page);
  assert.equal(await page.evaluate(() => document.activeElement.id), "buyer-make");
  assert.deepEqual(await ask.locator("label").allTextContents(), ["Contact"], "what is there is asked no more");
  const now = await page.locator("#text").inputValue();
  const added = now.split("\n").filter((line) => !before.split("\n").includes(line));
  assert.deepEqual(added.map((line) => line.replace(/ +/g, " ")), [`maker = 'Hill Lane "Woodwork"'`, 'description = "Oak, oiled, five pegs."']);
  const [sheet] = await Promise.all([page.waitForEvent("download"), press(page, "Make the sheet for a buyer")]);
  const html = fs.readFileSync(await sheet.path(), "utf8");
  assert.match(html, /<address>Offered by <bdi>Hill Lane &#34;Woodwork&#34;<\/bdi><\/address>\n<p dir="auto">Oak, oiled, five pegs\.<\/p>/);
  assert.equal(await page.locator("#buyer-deed .rough", { hasText: "who offers it" }).count(), 0);
  await press(page, "Undo");
  await settled(page);
  assert.equal(await page.locator("#text").inputValue(), before, "one step back");
  await ask.getByLabel("Maker").waitFor({ state: "attached" });
});

await test("what is being made can be stopped at the keys, and where it fails that is said", async (page) => {
  // No report is made before it is let through; later its worker dies.
  await page.addInitScript(() => {
    globalThis.way = "holds";
    globalThis.Worker = class extends Worker {
      postMessage(message) {
        if (message.question?.ask !== "paper" || globalThis.way === "lets") return super.postMessage(message);
        this.makes = true;
        if (globalThis.way === "dies") this.dispatchEvent(new ErrorEvent("error", { message: "Out of memory", cancelable: true }));
      }
      terminate() {
        if (this.makes) globalThis.ended = true;
        super.terminate();
      }
    };
  });
  await page.reload();
  await opened(page, "plant-labels.toml");
  let downloads = 0;
  page.on("download", () => (downloads += 1));
  const held = () => page.evaluate(() => document.activeElement.textContent);
  await page.getByRole("button", { name: "Make the report" }).focus();
  await page.keyboard.press("Enter");
  await page.locator("#maker-deed", { hasText: "It is being made." }).waitFor();
  assert.equal(await held(), "Stop");
  // It goes on while something else is looked at.
  await room(page, "Figures");
  await room(page, "Files");
  await page.getByRole("button", { name: "Stop" }).focus();
  await page.keyboard.press("Enter");
  await settled(page);
  assert.equal(await held(), "Make the report");
  assert.ok(await page.evaluate(() => globalThis.ended));
  await page.evaluate(() => (globalThis.way = "dies"));
  await page.keyboard.press("Enter");
  await page.locator("#maker-deed", { hasText: "It could not be made: Out of memory. Try it again." }).waitFor();
  assert.equal(downloads, 0);
  await page.evaluate(() => (globalThis.way = "lets"));
  assert.equal((await given(page, "Make the report")).name, "glazed-plant-labels-set-of-six-report.html");
  assert.equal(await page.getByText("It could not be made").count(), 0);
});

await test("while the report is made it says which question it answers and how many there are, and tells it aloud only at the button", async (page) => {
  await drop(page, "rail.toml", scenario("oak-peg-rail.toml"));
  await whole(page);
  const asked = await page.locator("#question option").allTextContents();
  await room(page, "Files");
  await page.evaluate(() => {
    Object.assign(globalThis, { read: [], heard: [] });
    const keep = (list, id, where) => new MutationObserver(() => {
      const words = document.getElementById(id)?.textContent;
      if (words && list.at(-1) !== words) list.push(words);
    }).observe(document.getElementById(where), { childList: true, subtree: true, characterData: true });
    keep(globalThis.read, "maker-now", "maker-deed");
    keep(globalThis.heard, "live", "live");
  });
  await given(page, "Make the report");
  const { read, heard } = await page.evaluate(() => ({ read: globalThis.read, heard: globalThis.heard }));
  const parts = read.map((words) => /^Now it answers question (\d+) of (\d+): (.+)$/.exec(words).slice(1));
  assert.ok(parts.length > 4, String(read));
  assert.deepEqual(parts.map(([number, all]) => [Number(number), Number(all)]), parts.map((_, k) => [k + 1, parts.length]));
  assert.ok(parts.every(([, , question]) => asked.includes(question)), String(read));
  assert.deepEqual(heard, ["It is being made.", "oak-peg-rail-five-pegs-report.html is among your downloads."]);
  // Whoever comes to the button hears how far it is.
  await page.getByRole("button", { name: "Make the report" }).focus();
  await page.keyboard.press("Enter");
  await page.locator("#maker-now", { hasText: "question 1 of" }).waitFor();
  assert.equal(await page.getByRole("button", { name: "Stop" }).getAttribute("aria-describedby"), "maker-now");
  await page.keyboard.press("Enter");
  await settled(page);
});

await test("what is wrong in the figures is to be mended first; bench hours that come or go bring the days or take them away", async (page) => {
  await opened(page, "oak-peg-rail.toml");
  await page.locator("#maker-more").waitFor();
  const kept = await text(page);
  await page.locator("#text").fill(kept.replace(/\[hours\][^[]*/, ""));
  await page.locator("#maker-more").waitFor({ state: "detached" });
  await page.locator("#text").fill(kept);
  await page.locator("#maker-more").waitFor();
  await page.locator("#text").fill(`${kept}\nnonsense`);
  await settled(page);
  await press(page, "Make the sheet for a buyer");
  await wrong(page, "Mend what is wrong in the figures first.").waitFor();
  // What was said of another text is gone.
  await page.locator("#text").fill(kept);
  await wrong(page, "").waitFor({ state: "detached" });
});

await test("for the file of the program the report is the program's own, with the file's name and without its folder", async (page) => {
  const file = path.join(folder, "hook & eye.toml");
  fs.writeFileSync(file, 'title = "Hook"\ncurrency = "EUR"\ntarget = 25\n\n[sale]\nprice = 18\n\n[[step]]\nname = "forge"\neach = "12 / 15 / 25 min"\n');
  const server = spawn(program, ["desk", file]);
  try {
    const told = await new Promise((give) => server.stdout.on("data", (data) => give(String(data))));
    await page.goto(/http:\S+/.exec(told)[0]);
    await whole(page);
    await room(page, "Files");
    const { bytes } = await given(page, "Make the report");
    const out = path.join(folder, "hook.html");
    const day = await page.evaluate(() => new Date().toLocaleDateString("sv"));
    execFileSync(program, ["report", file, "--date", day, "--out", out], { stdio: "ignore" });
    assert.ok(bytes.equals(fs.readFileSync(out)));
    assert.ok(bytes.includes("hook &#38; eye.toml") && !bytes.includes(folder));
  } finally {
    server.kill();
  }
}, { loopback: true });
