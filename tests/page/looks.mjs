// Every screen in every look and width, for an accessibility checker and for pictures.
import assert from "node:assert/strict";
import fs from "node:fs";
import path from "node:path";
import { chromium } from "playwright-core";
import { address, ask, drop, executablePath, folder, press, room, sandbox, scenario, settled, test, whole } from "./browser.mjs";

const axe = fs.readFileSync(new URL(import.meta.resolve("axe-core/axe.min.js")), "utf8");
/** What is smaller than 24 px, nearer to another than 8 px, or written smaller than 12 px. */
function cramped() {
  const found = new Set();
  const called = (one) => `${one.tagName} ${one.id} ${(one.getAttribute("aria-label") ?? one.textContent ?? "").slice(0, 40)}`;
  const floats = (one) => ["fixed", "sticky"].includes(getComputedStyle(one).position) || (one.parentElement !== null && floats(one.parentElement));
  // A tick is pressed with its words, and a scale's handles pass each other.
  const targets = [...document.querySelectorAll("button, select, input, textarea, summary, label.tick")]
    .filter((one) => one.checkVisibility() && !one.matches("[type=range], [type=checkbox]"))
    .map((one) => ({ one, box: one.getBoundingClientRect(), floating: floats(one) }));
  for (const { one, box } of targets) if (box.width < 24 || box.height < 24) found.add(`small: ${called(one)}`);
  targets.forEach(({ one, box, floating }, k) => {
    for (const other of targets.slice(k + 1)) {
      if (floating !== other.floating) continue;
      const gap = Math.max(other.box.left - box.right, box.left - other.box.right, other.box.top - box.bottom, box.top - other.box.bottom);
      if (gap < 7.5) found.add(`near: ${called(one)}, ${called(other.one)}`);
    }
  });
  for (const one of document.querySelectorAll("body *")) {
    if (!one.checkVisibility() || one.closest(".unseen") || ![...one.childNodes].some((node) => node.nodeType === 3 && node.data.trim())) continue;
    const svg = one.closest("svg");
    const scale = svg ? svg.getBoundingClientRect().width / svg.viewBox.baseVal.width : 1;
    if (Number.parseFloat(getComputedStyle(one).fontSize) * scale < 11.95) found.add(`small type: ${called(one)}`);
  }
  return [...found];
}

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
          assert.deepEqual(await page.evaluate(cramped), [], where);
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
        await page.locator("summary", { hasText: /^drill$/ }).click();
        await page.locator("details", { has: page.locator("summary", { hasText: /^drill$/ }) }).getByLabel("Say more about drill").selectOption("wait");
        await page.getByRole("button", { name: "Costs of the workshop" }).or(page.getByRole("button", { name: "A selling day" })).first().click();
        await check("figures-asked");
        await page.locator("#parts details").evaluateAll((folds) => folds.forEach((fold) => (fold.open = true)));
        await settled(page);
        await check("figures-open");
        await room(page, "Clock");
        await press(page, "Put it on the bench");
        await press(page, "Start");
        await check("clock");
        await drop(page, "log.csv", scenario("oak-peg-rail-log.csv"));
        await settled(page);
        await room(page, "Clock");
        await page.getByText("Look at what was timed, and correct it").click();
        await page.getByRole("button", { name: /^Correct/ }).first().click();
        await page.getByLabel("Time", { exact: true }).fill("soon");
        await press(page, "Put in the corrected entry");
        await page.locator("#log-wrong").waitFor();
        await check("clock-log");
        await drop(page, "sales.csv", scenario("plant-labels-sales.csv"));
        await settled(page);
        await room(page, "Sales");
        await page.getByText("entries are in it.").waitFor();
        await page.locator("#sales-over > summary").click();
        await check("sales");
        await page.getByRole("button", { name: /^Correct/ }).last().click();
        await press(page, "Put in the corrected entry");
        await settled(page);
        await page.getByRole("button", { name: /^Correct/ }).last().click();
        await page.locator("#sales-price").fill("free");
        await press(page, "Put in the corrected entry");
        await page.locator("#sales-wrong", { hasText: "without a currency" }).waitFor();
        await check("sales-wrong");
        await room(page, "File");
        await page.locator("#buyer-more > summary").click();
        await page.locator("#buyer-who > summary").click();
        await check("file");
        await press(page, "Make the sheet for a buyer");
        await page.getByText("It is among your downloads").waitFor();
        await check("file-made");
        await page.getByLabel("Pieces in an order").fill("none");
        await press(page, "Make the sheet for a buyer");
        await page.locator("#buyer-deed .wrong").waitFor();
        await check("file-wrong");
      },
      { viewport: { width, height }, colorScheme, forcedColors, bypassCSP: true },
    );
  }
}

// Letters twice as large as is usual, as a browser is told by its own settings, which the page's widths in rem follow.
await test("with letters twice as large everything still fits a phone, and every room can be reached", async () => {
  const profile = path.join(folder, "large-letters");
  fs.mkdirSync(path.join(profile, "Default"), { recursive: true });
  fs.writeFileSync(path.join(profile, "Default", "Preferences"), JSON.stringify({ webkit: { webprefs: { default_font_size: 32 } } }));
  const context = await chromium.launchPersistentContext(profile, { executablePath, args: sandbox, viewport: { width: 390, height: 844 }, locale: "en-GB" });
  try {
    const page = await context.newPage();
    await page.goto(address);
    assert.equal(await page.evaluate(() => getComputedStyle(document.documentElement).fontSize), "32px");
    const fits = async (where) => {
      await settled(page);
      await page.locator("main details").evaluateAll((folds) => folds.forEach((fold) => (fold.open = true)));
      await settled(page);
      const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      assert.ok(wide <= 0, `${where}: wider than the window by ${wide}`);
      if (process.env.SHOTS) await page.screenshot({ path: path.join(process.env.SHOTS, `large-${where}.png`), fullPage: true });
    };
    await fits("home");
    await press(page, "Begin with a product");
    await page.getByLabel("Its name").fill("Hook");
    await press(page, "Next");
    await press(page, "Add another step");
    await fits("begin");
    await press(page, "Shelf");
    await drop(page, "baskets.toml", scenario("willow-baskets.toml"));
    await ask(page, "When will it be done?");
    await fits("answers");
    for (const name of ["Figures", "Clock", "Sales", "File"]) {
      await room(page, name);
      await fits(name);
    }
  } finally {
    await context.close();
  }
});
