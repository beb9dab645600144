// What is done while something else is on its way: neither overrules the other in silence.
import assert from "node:assert/strict";
import { begin, drop, press, room, scenario, settled, test, text, whole } from "./browser.mjs";

/** From now on questions for which `holds` says so wait until `letGo` is called. */
async function holding(page, holds) {
  await page.addInitScript((holds) => {
    const waiting = [];
    globalThis.holds = new Function("question", `return ${holds};`);
    globalThis.letGo = () => {
      globalThis.holds = () => false;
      for (const send of waiting.splice(0)) send();
    };
    globalThis.Worker = class extends Worker {
      postMessage(message) {
        const send = () => super.postMessage(message);
        if (message.question && globalThis.holds(message.question)) waiting.push(send);
        else send();
      }
    };
  }, holds);
  await page.reload();
}
const letGo = (page) => page.evaluate(() => globalThis.letGo());
/** The product's text as it is kept. */
const kept = (page) =>
  page.evaluate(() => {
    const key = Object.keys(localStorage).find((key) => key.startsWith("batchwright.product."));
    return JSON.parse(localStorage[key]).text;
  });
const price = (page) => page.locator("details", { has: page.locator("summary", { hasText: /^Sale$/ }) }).getByLabel("price", { exact: true });

await test("a change that comes late does not overrule what was typed meanwhile, and says so", async (page) => {
  await holding(page, "question.changes?.[0]?.do === 'put'");
  await begin(page);
  await whole(page);
  const before = await text(page);
  await room(page, "Figures");
  await price(page).fill("31");
  await price(page).press("Tab");
  await room(page, "File");
  await page.locator("#text").fill(before.replace("Oak coat hook", "Ash coat hook"));
  await page.waitForFunction(() => document.querySelector("#whose").textContent === "Ash coat hook");
  await letGo(page);
  await page.locator(".notice", { hasText: "Your figures were changed elsewhere meanwhile." }).waitFor();
  await settled(page);
  assert.equal(await kept(page), before.replace("Oak coat hook", "Ash coat hook"));
});

await test("whoever types in the text goes on from a change that came late", async (page) => {
  await holding(page, "question.changes?.[0]?.do === 'put'");
  await begin(page);
  await whole(page);
  await room(page, "Figures");
  await price(page).fill("31");
  await price(page).press("Tab");
  await room(page, "File");
  await page.locator("#text").press("Control+Home");
  await letGo(page);
  await page.waitForFunction(() => document.querySelector("#text").value.includes("price = 31"));
  await page.keyboard.type("# mine");
  await page.keyboard.press("Enter");
  await settled(page);
  assert.match(await kept(page), /^# mine\n[^]*price = 31\n/);
});

await test("what a log teaches is not put over figures that were typed after it was reckoned", async (page) => {
  await holding(page, "false");
  await drop(page, "rail.toml", scenario("oak-peg-rail.toml"));
  await whole(page);
  await drop(page, "log.csv", scenario("oak-peg-rail-log.csv"));
  await page.locator("#take-fit").waitFor();
  await settled(page);
  // The new answer does not come before the button is pressed.
  await page.evaluate(() => (globalThis.holds = ({ question }) => question === "fit"));
  const typed = (await kept(page)).replace(/^(price +=) 62 /m, "$1 66 ");
  await price(page).fill("66");
  await price(page).press("Tab");
  await page.waitForFunction((typed) => Object.values(localStorage).some((one) => one.includes(JSON.stringify(typed))), typed);
  await press(page, "Put it in");
  await page.locator(".notice", { hasText: "it was not put in" }).waitFor();
  assert.equal(await kept(page), typed);
  await letGo(page);
  await settled(page);
  // What the log would change now can be put in.
  await press(page, "Put it in");
  await page.getByRole("heading", { name: "This is in your figures now" }).waitFor();
  assert.match(await kept(page), /^price += 66 /m);
  assert.equal(await page.locator(".notice").count(), 0);
}, { viewport: { width: 1300, height: 900 } });

await test("while a file is made the figures can be changed; where it cannot be made that is said", async (page) => {
  await holding(page, "question.figures");
  await begin(page);
  await whole(page);
  await page.getByText("Take it along").click();
  await press(page, "Every figure (JSON)");
  await room(page, "Figures");
  await price(page).fill("31");
  await page.waitForFunction(() => Object.values(localStorage).some((one) => one.includes("price = 31")));
  await room(page, "Answers");
  const [file] = await Promise.all([page.waitForEvent("download"), letGo(page)]);
  assert.equal(file.suggestedFilename(), "oak-coat-hook-sweep.json");
  await settled(page);
  await page.getByText("Take it along").click();
  // All batches may be more than the page takes on, where fewer were not.
  await page.evaluate(() => (globalThis.holds = (question) => question.figures && ((question.size = 0), false)));
  await press(page, "Every figure (JSON)");
  await page.locator(".notice", { hasText: "The file could not be made. " }).waitFor();
  await settled(page);
  await press(page, "Put away");
});
