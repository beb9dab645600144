// A sweep shared out among several workers: the same as from one, and nobody goes on with what is stopped or overtaken.
import assert from "node:assert/strict";
import fs from "node:fs";
import path from "node:path";
import { drop, house, press, room, scenario, settled, test, whole } from "./browser.mjs";

/** The page on a device with room for so many workers that share. It counts the parts and shares that workers are asked for, those that are still
 * out, and those that ended with their worker. One worker may die over its part of the trials, or over its share of the sizes. `holds`: parts of all
 * batches get to no worker. */
async function workers(page, count, holds = false) {
  await page.addInitScript(
    ([count, holds]) => {
      Object.defineProperty(Navigator.prototype, "hardwareConcurrency", { get: () => count + 1 });
      globalThis.holds = holds;
      globalThis.shares = [];
      globalThis.out = new Set();
      globalThis.ended = 0;
      globalThis.Worker = class extends Worker {
        constructor(...args) {
          super(...args);
          this.addEventListener("message", ({ data }) => data.ready || globalThis.out.delete(this));
        }
        postMessage(message, transferred) {
          const { part, share, trials } = message.question ?? {};
          const work = part ?? share;
          if (work) {
            globalThis.shares.push([work[1], trials]);
            globalThis.out.add(this);
            if (globalThis.dying === work[0] && globalThis.over === (part ? "part" : "share")) {
              this.terminate();
              this.dispatchEvent(new ErrorEvent("error", { message: "Out of memory", cancelable: true }));
              return;
            }
            if (globalThis.holds && trials === null) return;
          }
          super.postMessage(message, transferred);
        }
        terminate() {
          globalThis.ended += globalThis.out.delete(this);
          super.terminate();
        }
      };
    },
    [count, holds],
  );
  await page.reload();
}
const out = (page) => page.evaluate(() => globalThis.out.size);
const shares = (page) => page.evaluate(() => globalThis.shares);
const toShelf = async (page) => {
  if (await page.getByRole("button", { name: "Shelf", exact: true }).isVisible()) await press(page, "Shelf");
};

await test("every shipped scenario: the same words, tables and charts from one worker as from several", async (page) => {
  const files = fs.readdirSync(path.join(house, "scenarios")).filter((name) => name.endsWith(".toml"));
  const answers = {};
  for (const count of [1, 2, 3]) {
    await workers(page, count);
    for (const name of files) {
      await toShelf(page);
      await drop(page, name, scenario(name));
      await whole(page);
      const said = await page.locator("#answer").innerHTML();
      assert.match(said, /From 50,000 simulated batches/);
      answers[name] ??= said;
      assert.equal(said, answers[name], `${name} with ${count}`);
    }
    const asked = await shares(page);
    assert.ok(count === 1 ? asked.length === 0 : asked.length >= count * files.length && asked.every(([of]) => of === count), `${count}: ${asked.length}`);
  }
});

await test("what is stopped or overtaken ends every worker that has a share of it", async (page) => {
  await workers(page, 3, true);
  const allOut = () => page.waitForFunction(() => globalThis.out.size === 3);
  await drop(page, "rail.toml", scenario("oak-peg-rail.toml"));
  await allOut();
  await press(page, "Stop here");
  assert.equal(await out(page), 0);
  await settled(page);
  await press(page, "Reckon all of them");
  await allOut();
  await room(page, "Figures");
  assert.equal(await page.evaluate(() => globalThis.ended), 3);
  await page.getByRole("slider", { name: "Sale: price" }).press("ArrowRight");
  await page.waitForFunction(() => globalThis.ended === 6);
  // The newer question is shared out again, and answered when it gets through.
  await allOut();
  await page.evaluate(() => (globalThis.holds = false));
  await page.getByRole("slider", { name: "Sale: price" }).press("ArrowRight");
  await room(page, "Answers");
  await whole(page);
  assert.equal(await page.locator(".made").textContent(), "From 50,000 simulated batches.");
  assert.equal(await out(page), 0);
});

for (const [over, asked] of [["part", 3], ["share", 6]]) {
  await test(`where a worker dies over its ${over}, one answers alone from then on`, async (page) => {
    await workers(page, 3);
    await page.evaluate((over) => Object.assign(globalThis, { dying: 2, over }), over);
    await drop(page, "rail.toml", scenario("oak-peg-rail.toml"));
    await whole(page);
    assert.equal((await shares(page)).length, asked);
    assert.equal(await page.getByText("This could not be computed").count(), 0);
    assert.equal(await page.locator(".made").textContent(), "From 50,000 simulated batches.");
  });
}
