// The clock for the bench and its log: jobs, counts, what is forgotten, what is corrected.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import fs from "node:fs";
import path from "node:path";
import { ask, begin, drop, focus, folder, press, program, room, said, scenario, settled, test, text, whole } from "./browser.mjs";

/** Says by hand how long the step took so far. */
async function took(page, time) {
  const more = page.locator("#clock-hand");
  if (!(await more.evaluate((one) => one.open))) await more.locator("summary").click();
  await page.getByLabel("Time at this step so far").fill(time);
  await press(page, "Set it so");
}
const bench = async (page, name, pieces) => {
  const form = page.locator("details", { hasText: "Put another batch on the bench" }).locator("summary");
  if (await form.count()) await form.click();
  await page.getByLabel("What you call this batch").fill(name);
  await page.getByLabel("Pieces in it").fill(String(pieces));
  await press(page, "Put it on the bench");
  await page.getByRole("heading", { name, exact: true }).waitFor();
};
/** The lines of the work log that is kept, without their day. */
const logOf = (page) =>
  page.evaluate(() => {
    const key = Object.keys(localStorage).find((key) => key.startsWith("batchwright.product."));
    return JSON.parse(localStorage[key]).log.trim().split("\n").slice(1).map((line) => line.replace(/^[^,]*,/, ""));
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
      // Whoever opens it while the clock runs is back at it.
      await page.reload();
      await page.getByRole("heading", { name: /^Batch of / }).waitFor();
      assert.notEqual(await page.getByRole("timer").textContent(), "0:00:00");
    }
    await press(page, "Stop");
    await press(page, "One piece more");
    await press(page, "One piece more");
    await page.locator(".counted", { hasText: "2 of 4" }).waitFor();
    await press(page, "Undo");
    await page.locator(".counted", { hasText: "1 of 4" }).waitFor();
    await press(page, "All 4");
    if (k === 1) await press(page, "One of them is spoiled");
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
  await page.getByText("Were you at it all that time?").waitFor();
  await page.locator("#to-shelf").click();
  await page.getByText("The clock is running.").waitFor();
  await press(page, "Oak coat hook");
  await said(page).waitFor();
  await room(page, "Clock");
  await page.getByText("Were you at it all that time?").waitFor();
  await press(page, "One piece more");
  await press(page, "Done with this step");
  await page.getByText("Say first, above, whether you were at it all that time.").waitFor();
  await page.getByLabel("No, since then I worked").fill("1 h 30");
  await press(page, "Take that and stop");
  assert.match(await page.getByRole("timer").textContent(), /1:30:0/);
});

await test("at a step that takes time per order the clock counts orders; what is missing is said in words", async (page) => {
  await drop(page, "box.toml", 'title = "Box to order"\ncurrency = "EUR"\ntarget = 25\n[sale]\nprice = 180\n[[step]]\nname = "draw"\nonce = "3 h"\n[[step]]\nname = "measure"\nper_order = "1 h"\n[[step]]\nname = "join"\neach = "90 min"\n');
  await whole(page);
  await room(page, "Clock");
  await page.getByLabel("Pieces in it").fill("4");
  await press(page, "Put it on the bench");
  await press(page, "Done with this step");
  await page.getByText("The clock has not run at this step yet.").waitFor();
  const run = async () => {
    await press(page, "Start");
    await page.getByRole("timer").filter({ hasNotText: "0:00:00" }).waitFor();
  };
  // What is done once for the design has nothing to count.
  assert.equal(await page.locator(".counted").count(), 0);
  await run();
  await press(page, "Done with this step");
  await page.getByText("One step is timed.").waitFor();
  await run();
  await press(page, "Done with this step");
  await page.getByText("how many orders did you handle?").waitFor();
  await press(page, "One order more");
  await press(page, "One order more");
  await page.locator(".counted", { hasText: "2 orders" }).waitFor();
  await press(page, "Done with this step");
  await page.getByText("2 steps are timed.").waitFor();
  await page.getByRole("button", { name: "One piece more" }).waitFor();
  // The design is drawn: the next batch begins behind that.
  await bench(page, "another", 3);
  assert.equal(await page.locator("#clock-step").inputValue(), "measure");
  const [file] = await Promise.all([page.waitForEvent("download"), press(page, "Download the log (CSV)")]);
  const log = fs.readFileSync(await file.path(), "utf8");
  assert.match(log, /draw,once,/);
  assert.match(log, /measure,,2,/);
});

await test("what was timed is read, corrected, taken out and put in by hand; what is spoiled goes no further", async (page) => {
  await begin(page);
  await room(page, "Clock");
  const kept = () =>
    page.evaluate(() => {
      const key = Object.keys(localStorage).find((key) => key.startsWith("batchwright.product."));
      return JSON.parse(localStorage[key]).log.split("\n").slice(1);
    });
  await page.getByLabel("What you call this batch").fill("first");
  await page.getByLabel("Pieces in it").fill("6");
  await press(page, "Put it on the bench");
  await press(page, "Start");
  await page.getByRole("timer").filter({ hasNotText: "0:00:00" }).waitFor();
  await press(page, "Stop");
  await press(page, "All 6");
  await press(page, "One of them is spoiled");
  await press(page, "Done with this step");
  await page.locator(".counted", { hasText: "0 of 5 pieces" }).waitFor();
  await page.getByRole("button", { name: "All 5", exact: true }).waitFor();
  // The entry of some seconds is read, and mended.
  await page.getByText("Look at what was timed, and correct it").click();
  await page.locator(".card", { hasText: /saw and plane: 6 pieces in \d+(\.\d+)? s, 1 spoiled\./ }).waitFor();
  await page.getByRole("button", { name: /^Correct: saw and plane, first/ }).click();
  assert.equal(await focus(page), "Time");
  await page.getByLabel("Time", { exact: true }).fill("soon");
  await press(page, "Put in the corrected entry");
  await page.locator("#log-wrong", { hasText: /^Time: / }).waitFor();
  await page.getByLabel("Time", { exact: true }).fill("1 h 10");
  await press(page, "Put in the corrected entry");
  await page.locator(".card", { hasText: "saw and plane: 6 pieces in 1 h 10 min, 1 spoiled." }).waitFor();
  const [first] = await kept();
  assert.match(first, /^\d{4}-\d\d-\d\d,first,saw and plane,,6,,70,1,,$/);
  // The log keeps what it has; nobody is told hundredths of a minute.
  await page.getByRole("button", { name: /^Correct: saw and plane, first/ }).click();
  await page.getByLabel("Time", { exact: true }).fill("157,01");
  await press(page, "Put in the corrected entry");
  await page.locator(".card", { hasText: "saw and plane: 6 pieces in 2 h 37 min, 1 spoiled." }).waitFor();
  assert.match((await kept())[0], /,157\.01,1,,$/);
  await press(page, "Undo");
  await page.locator(".card", { hasText: "6 pieces in 1 h 10 min" }).waitFor();
  // A clock that was forgotten.
  await page.getByText("Put in a time by hand").click();
  await page.getByLabel("Day").fill("2026-11-20");
  await page.locator("#log-step").selectOption("sand and oil");
  await page.getByLabel("Pieces, or orders").fill("5");
  await page.getByLabel("Time", { exact: true }).fill("95");
  await press(page, "Put it into the log");
  await page.getByText("2 steps are timed.").waitFor();
  await page.locator("#seen", { hasText: "It is in the log. Undo takes it back." }).waitFor();
  assert.deepEqual((await kept()).slice(0, 2), [first, "2026-11-20,first,sand and oil,,5,,95,,,"]);
  await page.getByRole("button", { name: /^Take out: saw and plane/ }).click();
  await page.getByText("One step is timed.").waitFor();
  assert.equal((await kept())[0], "2026-11-20,first,sand and oil,,5,,95,,,");
  await press(page, "Undo");
  await page.getByText("2 steps are timed.").waitFor();
  assert.equal((await kept())[0], first);
  // Seconds stay what they are.
  await page.getByLabel("Pieces, or orders").fill("1");
  await page.getByLabel("Time", { exact: true }).fill("4 s");
  await press(page, "Put it into the log");
  await page.locator(".card", { hasText: "1 piece in 4 s." }).waitFor();
});

await test("the clock begins with the pieces that were asked about last, and asks where none were", async (page) => {
  await drop(page, "rail.toml", scenario("oak-peg-rail.toml"));
  await whole(page);
  const advised = /\d+/.exec(await said(page).textContent())[0];
  // This one speaks of no size of its own.
  await ask(page, "What shall I charge?");
  await whole(page);
  await room(page, "Clock");
  assert.equal(await page.getByLabel("Pieces in it").inputValue(), advised);
  await press(page, "Shelf");
  await drop(page, "none.toml", scenario("oak-peg-rail.toml").replace("= 62 ", "= -62 "));
  await page.locator(".wrong:visible").first().waitFor();
  await room(page, "Clock");
  const pieces = page.getByLabel("Pieces in it");
  assert.equal(await pieces.inputValue(), "");
  for (const typed of ["", "0", "1.5"]) {
    await pieces.fill(typed);
    await press(page, "Put it on the bench");
    await page.getByText("Write how many pieces are in it, a whole number from 1.").waitFor();
    assert.equal(await page.locator("#time").count(), 0);
  }
  await pieces.fill("6");
  await pieces.press("Enter");
  await page.locator("#clock-step").selectOption("mill blanks");
  await page.getByText("0 of 6 pieces").waitFor();
});

await test("the log says on how many pieces each step was done; a spoiled one is among them and comes to no later step, and the steps before keep theirs", async (page) => {
  await begin(page);
  await room(page, "Clock");
  const counted = (words) => page.locator(".counted", { hasText: words }).waitFor();
  const more = async (times, words = "One piece more") => {
    for (let k = 0; k < times; k += 1) await press(page, words);
  };
  await bench(page, "first", 6);
  // The clock was forgotten at four of six.
  await press(page, "Done with this step");
  await page.getByText("The clock has not run at this step yet.").waitFor();
  await took(page, "36");
  await page.getByRole("timer").filter({ hasText: "0:36:00" }).waitFor();
  await more(4);
  await press(page, "Done with this step");
  await page.locator("#clock-told", { hasText: "saw and plane is in the log. Next: sand and oil. Press Start when you begin." }).waitFor();
  // Three are done, and a fourth is spoiled as it is worked on.
  await counted("0 of 6 pieces");
  await more(3);
  await press(page, "One more, but spoiled");
  await counted("4 of 6 pieces, 1 of them spoiled");
  await took(page, "1 h");
  await press(page, "Done with this step");
  // Two have not been sawn yet, although one is lost behind that step.
  await page.getByText("4 more are in the log at this step already.").waitFor();
  assert.equal(await page.locator("#clock-step").inputValue(), "saw and plane");
  await counted("0 of 2 pieces");
  await press(page, "Undo");
  await counted("4 of 6 pieces, 1 of them spoiled");
  assert.deepEqual(await logOf(page), ["first,saw and plane,,4,,36,,,"]);
  await press(page, "Redo");
  await counted("0 of 2 pieces");
  await press(page, "All 2");
  await took(page, "18");
  await press(page, "Done with this step");
  await counted("0 of 2 pieces");
  await press(page, "All 2");
  await took(page, "30");
  await press(page, "Done with this step");
  await page.locator("#seen", { hasText: "That was the last step." }).waitFor();
  assert.deepEqual(await logOf(page), ["first,saw and plane,,4,,36,,,", "first,sand and oil,,4,,60,1,,", "first,saw and plane,,2,,18,,,", "first,sand and oil,,2,,30,,,"]);
  // Of the next one three are spoiled at the first step. One is sanded over again, later, which is no fourth piece.
  await bench(page, "second", 6);
  await press(page, "All 6");
  await more(3, "One of them is spoiled");
  await counted("6 of 6 pieces, 3 of them spoiled");
  await took(page, "50");
  await press(page, "Done with this step");
  await counted("0 of 3 pieces");
  await press(page, "All 3");
  await took(page, "42");
  // Nothing is left at any step: it goes off the bench, and comes back by Undo for what is done over.
  await press(page, "Done with this step");
  await page.locator("#seen", { hasText: "That was the last step." }).waitFor();
  await bench(page, "third", 2);
  await press(page, "All 2");
  await took(page, "20");
  await press(page, "Done with this step");
  await counted("0 of 2 pieces");
  await page.locator("#clock-step").selectOption("saw and plane");
  await page.getByText("All 2 are in the log at this step already.").waitFor();
  assert.equal(await page.getByRole("button", { name: "One of them is spoiled" }).isDisabled(), true);
  await press(page, "One done again");
  await took(page, "9");
  await press(page, "Done with this step");
  await counted("0 of 2 pieces");
  assert.deepEqual((await logOf(page)).slice(4), ["second,saw and plane,,6,,50,3,,", "second,sand and oil,,3,,42,,,", "third,saw and plane,,2,,20,,,", "third,saw and plane,,part,,9,,1,"]);
  // What the log is told later counts too.
  await page.reload();
  await press(page, "Oak coat hook");
  await said(page).waitFor();
  await room(page, "Clock");
  await page.getByText("Look at what was timed, and correct it").click();
  await page.getByRole("button", { name: /^Take out: saw and plane, third, .*part of a piece/ }).click();
  await page.getByText("7 steps are timed.").waitFor();
  await page.getByRole("button", { name: /^Correct: saw and plane, third/ }).click();
  await page.getByLabel("Pieces spoiled").fill("1");
  await press(page, "Put in the corrected entry");
  await counted("0 of 1 piece");
});

for (const [width, height] of [[390, 844], [360, 740], [768, 1024], [1280, 800]])
  await test(`what is said of a step that is done stands among the controls and hides none, ${width} by ${height}`, async (page) => {
    const note = page.locator("#clock-told", { hasText: "saw and plane is in the log. Next: sand and oil. Press Start when you begin." });
    await begin(page);
    await room(page, "Clock");
    await bench(page, "first", 2);
    await press(page, "All 2");
    await took(page, "20");
    await press(page, "Done with this step");
    await note.waitFor();
    await page.locator("#live", { hasText: "saw and plane is in the log." }).waitFor({ state: "attached" });
    assert.equal(await page.locator("#seen").textContent(), "");
    // It is seen without scrolling, clear of the head.
    const { y, height: high } = await note.boundingBox();
    assert.ok(y > 60 && y + high < height, `${y}`);
    await press(page, "Start");
    await page.getByRole("timer").filter({ hasNotText: "0:00:00" }).waitFor();
    await press(page, "Stop");
    await note.waitFor({ state: "detached" });
    // What Undo says comes and goes, and where there is room between the controls it lies there.
    if (width < 768) return;
    await press(page, "Undo");
    await page.locator("#seen", { hasText: "Taken back: stopping the clock." }).waitFor();
    const under = await page.evaluate(() => {
      const own = document.getElementById("seen").getBoundingClientRect();
      const lies = (box) => box.height > 0 && box.bottom > own.top && box.top < own.bottom && box.right > own.left && box.left < own.right;
      return [...document.querySelectorAll("button, a[href], input, select, textarea, summary")].filter((one) => lies(one.getBoundingClientRect())).map((one) => one.textContent || one.id);
    });
    assert.deepEqual(under, []);
  }, { viewport: { width, height } });

await test("a log that cannot be read takes no time of the clock with it", async (page) => {
  await begin(page);
  await drop(page, "log.csv", "job,step,pieces,minutes\na,saw and plane,some,12\n");
  await settled(page);
  await room(page, "Clock");
  await bench(page, "first", 2);
  await press(page, "All 2");
  await took(page, "20");
  await press(page, "Done with this step");
  await page.locator("#clock-wrong", { hasText: "The log below cannot be read, so nothing was written into it" }).waitFor();
  await page.getByRole("timer").filter({ hasText: "0:20:00" }).waitFor();
  await page.locator(".counted", { hasText: "2 of 2 pieces" }).waitFor();
});

await test("one clock runs: another that was forgotten is asked about first, also one of another product", async (page) => {
  await page.clock.install();
  await begin(page);
  await room(page, "Clock");
  await bench(page, "first", 2);
  await press(page, "Start");
  await page.clock.fastForward("01:00:00");
  await bench(page, "second", 3);
  await press(page, "Start");
  await page.locator("#seen", { hasText: "first is stopped meanwhile." }).waitFor();
  await page.getByRole("button", { name: /^first: saw and plane, 1:00:0\d$/ }).waitFor();
  await page.clock.fastForward("14:00:00");
  await page.getByText("Were you at it all that time?").waitFor();
  await page.getByRole("button", { name: /^first: / }).click();
  await press(page, "Go on");
  await page.locator("#seen", { hasText: "second still runs. Say first how long you were at it." }).waitFor();
  await page.getByRole("heading", { name: "second", exact: true }).waitFor();
  await page.getByLabel("No, since then I worked").fill("2 h");
  await press(page, "Take that and stop");
  // What is timed goes to another step by mistake, which is said.
  await page.locator("#clock-step").selectOption("sand and oil");
  await page.locator("#seen", { hasText: "go to sand and oil now" }).waitFor();
  await press(page, "Undo");
  assert.equal(await page.locator("#clock-step").inputValue(), "saw and plane");
  // What is put away and taken back is seen again.
  await press(page, "Put this batch away");
  await page.getByRole("heading", { name: "first", exact: true }).waitFor();
  await press(page, "Undo");
  await page.getByRole("heading", { name: "second", exact: true }).waitFor();
  await press(page, "Go on");
  await page.clock.fastForward("00:10:00");
  await page.getByRole("timer").filter({ hasText: /^2:10:/ }).waitFor();
  await press(page, "Shelf");
  await drop(page, "rail.toml", scenario("oak-peg-rail.toml"));
  await settled(page);
  await room(page, "Clock");
  await page.getByLabel("Pieces in it").fill("4");
  await press(page, "Put it on the bench");
  await press(page, "Start");
  await page.getByText("The clock of Oak coat hook still runs.").waitFor();
  await press(page, "Look at it");
  await page.getByRole("timer").filter({ hasText: /^2:10:/ }).waitFor();
});

await test("Undo of a step that is done brings its time back as it was then, and stopped", async (page) => {
  await page.clock.install();
  await begin(page);
  await room(page, "Clock");
  await bench(page, "first", 2);
  await press(page, "Start");
  await page.clock.fastForward("00:52:00");
  await press(page, "All 2");
  await press(page, "Done with this step");
  await page.getByText("One step is timed.").waitFor();
  await page.clock.fastForward("01:00:00");
  await press(page, "Undo");
  await page.getByText("Nothing is timed yet.").waitFor();
  assert.match(await page.getByRole("timer").textContent(), /^0:52:0\d$/);
  await page.clock.fastForward("00:10:00");
  await press(page, "Go on");
  await page.clock.fastForward("00:03:00");
  await page.getByRole("timer").filter({ hasText: /^0:55:/ }).waitFor();
  await press(page, "Done with this step");
  await page.getByText("One step is timed.").waitFor();
  assert.match((await logOf(page))[0], /^first,saw and plane,,2,,55(\.\d+)?,/);
});

await test("a step that was added and takes time only for an order counts orders, though its other times stand at 0", async (page) => {
  await begin(page);
  await room(page, "Figures");
  await press(page, "Add a step");
  await page.getByLabel("Say more about new step").selectOption("per_order");
  await page.locator(".more form input").fill("9");
  await page.locator(".more form").getByRole("button", { name: "Put it in" }).click();
  await settled(page);
  const after = await text(page);
  assert.match(after, /name\s*= "new step"\nper_order\s*= "9 min"/);
  await page.locator("#text").fill(after.replace(/(per_order\s*= "9 min")/, 'setup = "0 min"\neach = "0 min"\n$1'));
  await settled(page);
  await room(page, "Clock");
  await bench(page, "first", 8);
  await page.locator("#clock-step").selectOption("new step");
  await page.locator(".counted", { hasText: "0 orders" }).waitFor();
  await took(page, "20");
  await press(page, "One order more");
  await press(page, "Done with this step");
  await page.getByText("One step is timed.").waitFor();
  await page.getByText("Look at what was timed, and correct it").click();
  await page.locator(".card", { hasText: "new step: 1 order in 20 min." }).waitFor();
  await press(page, "What did it really take?");
  await settled(page);
  await page.locator("tbody tr", { hasText: "new step" }).filter({ hasText: "per order" }).waitFor();
});
