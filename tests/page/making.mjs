// A maker at work: from nothing to a verdict, changes and the way back, steps and keys, the clock.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import fs from "node:fs";
import path from "node:path";
import { begin, drop, folder, press, program, room, said, scenario, settled, test, text, whole } from "./browser.mjs";

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

await test("what could change the answer is offered with what it does", async (page) => {
  await begin(page);
  await whole(page);
  const offer = page.locator("details", { has: page.locator("summary", { hasText: "Are pieces spoiled now and then?" }) });
  await offer.waitFor();
  await offer.locator("summary").click();
  assert.match(await offer.textContent(), /For example, if 3 of 100 pieces are spoiled at .*without the change/);
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
