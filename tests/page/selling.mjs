// What is put up for sale and what sold: noted with taps, corrected, taken back, kept, and read by the program.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import fs from "node:fs";
import path from "node:path";
import { begin, drop, folder, press, program, room, said, scenario, settled, test, whole } from "./browser.mjs";

const HEAD = "listed,price,pieces,left,sold,until,enquiries,outlet,note\n";
const fill = (page, label, value) => page.getByLabel(label, { exact: true }).fill(value);
const live = (page, words) => page.locator("#live", { hasText: words }).waitFor({ state: "attached" });
/** The log as it is kept. */
const kept = (page) =>
  page.evaluate(() => {
    const key = Object.keys(localStorage).find((key) => key.startsWith("batchwright.product."));
    return JSON.parse(localStorage[key]).sales;
  });
const today = (page) =>
  page.evaluate(() => {
    const now = new Date();
    return [now.getFullYear(), String(now.getMonth() + 1).padStart(2, "0"), String(now.getDate()).padStart(2, "0")].join("-");
  });
const entry = (page, words) => page.locator(".card", { hasText: words });

await test("what is put up and what sells is noted with taps, and the program reads the same log", async (page) => {
  await begin(page);
  const day = await today(page);
  await room(page, "Sales");
  await page.getByText("Nothing is noted yet.").waitFor();
  // The price is the one that the figures have.
  assert.equal(await page.locator("#sales-price").inputValue(), "28");
  await page.locator("#sales-price").fill("28,50");
  await fill(page, "Pieces", "3");
  await fill(page, "Where", "own page");
  await fill(page, "Buyers who asked about it", "4");
  await fill(page, "Note", '=1+1, "oak"');
  await press(page, "Put it into the log");
  await entry(page, "3 pieces at 28.5, own page").waitFor();
  await live(page, "It is in the log. Undo takes it back.");
  let due = `${HEAD}${day},28.5,3,,,,4,own page,"'=1+1, ""oak"""\n`;
  assert.equal(await kept(page), due);
  // Three taps without a pause are three pieces; the last one ends it.
  const one = page.getByRole("button", { name: /^(One sold|Sold) today/ });
  await one.evaluate((button) => [1, 2].forEach(() => button.click()));
  await entry(page, "2 of 3 sold so far").waitFor();
  await settled(page);
  await one.click();
  await live(page, "sold today. Undo takes it back.");
  due = due.replace("3,,,,4", `3,,${day},,4`);
  assert.equal(await kept(page), due);
  await press(page, "Undo");
  await entry(page, "2 of 3 sold so far").waitFor();
  await press(page, "Redo");
  await settled(page);
  // A fair: so many taken, so many sold.
  await page.getByLabel("What is it?").selectOption({ label: "A selling day, at a market or fair" });
  await fill(page, "Day", "2026-05-09");
  await fill(page, "Pieces you took", "12");
  await fill(page, "Pieces you sold", "15");
  await fill(page, "Where", "spring fair");
  await fill(page, "Note", "rain");
  await press(page, "Put it into the log");
  await page.getByText("You cannot have sold more pieces than you took.").waitFor();
  assert.equal(await page.evaluate(() => document.activeElement.id), "sales-wrong");
  assert.equal(await page.locator("#sales-sold").getAttribute("aria-invalid"), "true");
  await fill(page, "Pieces you sold", "5");
  await press(page, "Put it into the log");
  due += "2026-05-09,28.5,12,7,,2026-05-09,,spring fair,rain\n";
  await page.getByText("2 entries are in it.").waitFor();
  assert.equal(await kept(page), due);
  // One that is still for sale is taken down.
  await page.getByLabel("What is it?").selectOption({ label: "Put up until it sells" });
  await fill(page, "Put up on", "2026-05-20");
  await page.locator("#sales-price").fill("31");
  await fill(page, "Where", "own page");
  await press(page, "Put it into the log");
  await page.getByRole("button", { name: /^Taken down today: 1 piece at 31/ }).click();
  await page.getByText("3 entries are in it.").waitFor();
  await settled(page);
  due += `2026-05-20,31,,,,${day},,own page,\n`;
  assert.equal(await kept(page), due);
  // A correction moves nothing but what it corrects.
  if (!(await entry(page, "spring fair").isVisible())) await page.locator("#sales-over > summary").click();
  await page.getByRole("button", { name: /^Correct: 12 pieces at 28.5, spring fair/ }).click();
  assert.equal(await page.evaluate(() => document.activeElement.id), "sales-listed");
  await fill(page, "Pieces you sold", "12");
  await press(page, "Put in the corrected entry");
  due = due.replace("12,7,,2026-05-09", "12,,2026-05-09,");
  await live(page, "It is corrected. Undo takes it back.");
  assert.equal(await kept(page), due);
  // One is taken out, and comes back.
  const out = page.getByRole("button", { name: /^Take out: 1 piece at 31/ });
  await out.click();
  await page.getByText("2 entries are in it.").waitFor();
  await press(page, "Undo");
  await page.getByText("3 entries are in it.").waitFor();
  await settled(page);
  // It survives a reload, and is given out as it is.
  await page.reload();
  await press(page, "Oak coat hook");
  await said(page).waitFor();
  await room(page, "Sales");
  await page.getByText("3 entries are in it.").waitFor();
  const [file] = await Promise.all([page.waitForEvent("download"), press(page, "Download the sales log (CSV)")]);
  const log = path.join(folder, "own-sales.csv");
  await file.saveAs(log);
  assert.equal(fs.readFileSync(log, "utf8"), due);
  const counted = JSON.parse(execFileSync(program, ["log", log, "--sale", "--format", "json"], { encoding: "utf8" }));
  assert.deepEqual([counted.offers, counted.pieces, counted.sold], [3, 16, 15]);
  // One tap further on stands what it teaches.
  await press(page, "What do buyers pay?");
  await page.getByRole("heading", { name: "What do buyers pay?" }).waitFor();
  await settled(page);
  assert.ok((await said(page).textContent()).length > 20);
  // And back again: a log of somebody's own, opened as a file.
  await press(page, "To the sales and their log");
  const [chooser] = await Promise.all([page.waitForEvent("filechooser"), press(page, "Open another sales log")]);
  await chooser.setFiles(log);
  await page.getByText("3 entries are in it.").waitFor();
});

await test("what looks unintended in a sales log is said with its answer", async (page) => {
  await begin(page);
  const day = await today(page);
  await drop(page, "sales.csv", `${HEAD}${day},28,1,,,${day},,own page,\n${day},29,1,,,${day},,Own page,\n2099-01-02,28,1,,,,,own page,\n`);
  await page.getByText("things in the log to look at again").click();
  await page.getByText('Line 3: outlet "Own page" is "own page" in line 2, and they count as two; write them alike').waitFor();
  await page.getByText(`2099-01-02 is still to come, as today is ${day}`).waitFor();
});

await test("a sales log is kept by keyboard alone, and the focus is never lost", async (page) => {
  await begin(page);
  const day = await today(page);
  await room(page, "Sales");
  await page.locator("#sales-pieces").focus();
  await page.keyboard.type("2");
  await page.keyboard.press("Enter");
  await entry(page, "2 pieces at 28").waitFor();
  await settled(page);
  assert.equal(await page.evaluate(() => document.activeElement.id), "sales-pieces");
  for (const left of ["1", ""]) {
    await page.getByRole("button", { name: /^(One sold|Sold) today/ }).focus();
    await page.keyboard.press("Enter");
    await page.waitForFunction((left) => Object.values(localStorage).some((kept) => (left ? kept.includes(`28,2,${left},`) : /28,2,,\d{4}-/.test(kept))), left);
    await settled(page);
    assert.notEqual(await page.evaluate(() => document.activeElement.tagName), "BODY");
  }
  assert.equal(await kept(page), `${HEAD}${day},28,2,,${day},,,,\n`);
  const summary = page.locator("#sales-over > summary");
  if (!(await page.getByRole("button", { name: /^Take out/ }).isVisible())) {
    await summary.focus();
    await page.keyboard.press("Enter");
  }
  await page.getByRole("button", { name: /^Take out/ }).focus();
  await page.keyboard.press("Space");
  await page.getByText("Nothing is noted yet.").waitFor();
  await settled(page);
  assert.notEqual(await page.evaluate(() => document.activeElement.tagName), "BODY");
});

await test("what is being typed stays where the window is made wider or the page is printed", async (page) => {
  await begin(page);
  await room(page, "Sales");
  await fill(page, "Pieces", "3");
  await fill(page, "Where", "own page");
  await page.setViewportSize({ width: 1280, height: 900 });
  await page.evaluate(() => new Promise(requestAnimationFrame));
  await page.setViewportSize({ width: 390, height: 844 });
  await page.evaluate(() => new Promise(requestAnimationFrame));
  await page.pdf({ width: "12in" });
  assert.equal(await page.getByLabel("Where", { exact: true }).inputValue(), "own page");
  await press(page, "Put it into the log");
  await entry(page, "3 pieces at 28, own page").waitFor();
});

await test("a sales log of somebody's own keeps its columns and its bytes; what cannot be read is said with the way out", async (page) => {
  await begin(page);
  const evil = `<img src=x onerror="window.caught=1">`;
  const own = `wood;listed;price;pieces;left;sold;until;outlet\r\noak;2026-01-05;28.00;2;0;2026-01-09;;fair\r\n"ash";2026-01-06;30;;;;;"${evil.replaceAll('"', '""')}\u202e"\r\n`;
  await drop(page, "own.csv", own);
  await settled(page);
  await room(page, "Sales");
  await page.getByText("2 entries are in it.").waitFor();
  await page.getByRole("button", { name: /^Sold today: 1 piece at 30/ }).click();
  const day = await today(page);
  await page.waitForFunction((day) => Object.values(localStorage).some((kept) => kept.includes(`30;;;${day};`)), day);
  await settled(page);
  assert.equal(await kept(page), own.replace('"ash";2026-01-06;30;;;;', `ash;2026-01-06;30;;;${day};`));
  assert.deepEqual(await page.evaluate(() => [window.caught, document.querySelectorAll("main img").length]), [undefined, 0]);
  assert.doesNotMatch(await page.locator("body").innerText(), /\u202e/);
  await drop(page, "wrong.csv", "listed,price,sold\n2026-01-05,free,\n");
  await settled(page);
  await press(page, "To the sales and their log");
  await page.getByText('"free" is not a price').waitFor();
  assert.equal(await page.locator("#sales-form").count(), 0);
  await press(page, "Undo");
  await page.getByText("2 entries are in it.").waitFor();
});

await test("what a log teaches is said plainly once it is put in, and can be taken out again", async (page) => {
  await drop(page, "rail.toml", scenario("oak-peg-rail.toml"));
  await whole(page);
  await drop(page, "log.csv", scenario("oak-peg-rail-log.csv"));
  await page.locator("#take-fit").waitFor();
  await settled(page);
  const lines = (await page.locator("section.rough", { has: page.locator("#take-fit") }).locator("li").allTextContents()).sort();
  await page.locator("#take-fit").click();
  await page.getByRole("heading", { name: "This is in your figures now" }).waitFor();
  assert.equal(await page.evaluate(() => document.activeElement.id), "put-in");
  await settled(page);
  const there = page.locator("section.rough", { has: page.locator("#put-in") });
  // Each change that was offered is said as done, with what stood there before.
  for (const line of lines) {
    const [what, was, now] = /^(.*?): (?:(.*) becomes )?(.*)$/.exec(line).slice(1);
    await there.getByText(was ? `${what}: ${now}; it was ${was}` : `${what}: ${now}`, { exact: true }).waitFor();
  }
  assert.equal(await there.locator("li").count(), lines.length);
  await press(page, "What does that do to what I earn?");
  await whole(page);
  assert.ok((await page.locator("#against p").count()) > 0);
  await press(page, "Undo");
  await settled(page);
  await page.getByLabel("I want to know").selectOption({ label: "What did it really take?" });
  await page.locator("#take-fit").waitFor();
  assert.equal(await page.locator("#put-in").count(), 0);
});
