// What is read: charts under a pointer, a finger and at the keys, and what the questions are told.
import assert from "node:assert/strict";
import path from "node:path";
import { ask, begin, drop, house, press, room, said, scenario, settled, test, whole } from "./browser.mjs";

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

await test("asked for a season, what sells all year is said to have none", async (page) => {
  await drop(page, "labels.toml", scenario("plant-labels.toml"));
  await whole(page);
  const none = page.getByText("Your figures name no season");
  assert.equal(await none.count(), 0);
  await ask(page, "How many before the season ends?");
  await none.waitFor();
  await settled(page);
  await ask(page, "How many at a time, all year?");
  await none.waitFor({ state: "detached" });
});

await test("what may be a slip is told beneath the answer", async (page) => {
  await drop(page, "rail.toml", scenario("oak-peg-rail.toml"));
  await whole(page);
  const again = page.getByText("in your figures to look at again");
  assert.equal(await again.count(), 0);
  await press(page, "Shelf");
  await drop(page, "peg.toml", 'target = 20\ncurrency = "EUR"\n[[step]]\nname = "turn"\neach = "20 min"\n[sale]\nprice = 30\n');
  await whole(page);
  await again.click();
  assert.match(await page.locator("#answer details[open] li").first().textContent(), /^No step takes time per order/);
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
        await press(page, "To the sales");
        await opened("Open a sales log", "plant-labels-sales.csv");
        await press(page, "What do buyers pay?");
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
  await page.getByLabel("Pieces in an order").fill("none");
  await page.getByText("Say how many pieces an order has").waitFor();
  await ask(page, "What if one figure were another?");
  await whole(page);
  // Whichever end is written first, and with whichever mark.
  const end = (label) => page.getByLabel(label, { exact: true });
  await end("From").fill("40,5");
  await end("To").fill("30");
  await end("To").blur();
  await whole(page);
  assert.equal(await page.locator("tbody th").first().textContent().then((value) => Number.parseFloat(value.replace(/^\D+/, ""))), 30);
  await end("From").fill("many");
  await end("From").blur();
  await page.getByText("Write from where to where the figure goes").waitFor();
  await end("From").fill("20");
  await end("From").blur();
  await whole(page);
  await press(page, "Go over a second figure too");
  await page.getByLabel("The second figure").waitFor();
  await whole(page);
  await page.locator("figure.chart svg").waitFor();
  await press(page, "Leave the second figure as it is");
  await page.getByLabel("The second figure").waitFor({ state: "detached" });
  await whole(page);
});

await test("what reckons may die: it is said, and the next question is answered", async (page) => {
  // From the third on, which is to answer in full, workers are lost as soon as they are asked.
  await page.addInitScript(() => {
    let made = 0;
    globalThis.lost = true;
    globalThis.Worker = class extends Worker {
      constructor(...args) {
        super(...args);
        made += 1;
        this.late = made >= 3;
      }
      postMessage(message) {
        if (!this.late || !globalThis.lost || message.module) return super.postMessage(message);
        this.terminate();
        this.dispatchEvent(new ErrorEvent("error", { message: "Out of memory", cancelable: true }));
      }
    };
  });
  await page.reload();
  await begin(page);
  await page.getByText("This could not be computed: Out of memory.").waitFor();
  await page.evaluate(() => (globalThis.lost = false));
  await press(page, "Ask again");
  await whole(page);
  await page.getByText("This could not be computed").waitFor({ state: "detached" });
});

await test("two hundred changes leave three workers at the most and those that share with one of them, also where they come before the library is there", async (page) => {
  await begin(page);
  await page.reload();
  await press(page, "Oak coat hook");
  await room(page, "Figures");
  const handle = page.getByRole("slider", { name: "Sale: price" });
  await handle.focus();
  for (let k = 0; k < 200; k += 1) await handle.press(k % 2 === 0 ? "ArrowRight" : "ArrowLeft");
  await settled(page);
  const most = 2 + (await page.evaluate(() => Math.max(1, Math.min(navigator.hardwareConcurrency - 1, 4))));
  assert.ok(page.workers().length <= most, `${page.workers().length} workers`);
});

await test("a chart that is looked at keeps the focus while fuller answers come", async (page) => {
  await drop(page, "towels.toml", scenario("printed-tea-towels.toml"));
  await whole(page);
  await ask(page, "What is worth working on?");
  await page.locator(".made", { hasText: "A quick look" }).waitFor();
  const chart = page.locator("figure.chart");
  await chart.focus();
  await whole(page);
  assert.ok(await chart.evaluate((chart) => chart === document.activeElement));
});

await test("a table that is wider than the screen says so, and one that is not does not", async (page) => {
  await drop(page, "rail.toml", scenario("oak-peg-rail.toml"));
  const said = [];
  for (const [question, width] of [["How many shall I make at a time?", 390], ["How much bad luck can it take?", 1280]]) {
    await page.setViewportSize({ width, height: 900 });
    await ask(page, question);
    await whole(page);
    const [wide, told] = await page.locator("#answer .scroll").first().evaluate((box) => [box.scrollWidth > box.clientWidth + 1, box.previousElementSibling.checkVisibility()]);
    assert.equal(told, wide, question);
    said.push(told);
  }
  assert.deepEqual(said, [true, false]);
});

await test("on paper stands the answer and nothing to press", async (page) => {
  await drop(page, "rail.toml", scenario("oak-peg-rail.toml"));
  await whole(page);
  await page.emulateMedia({ media: "print", colorScheme: "dark" });
  assert.equal(await page.locator("button:visible").count(), 0);
  assert.ok(await page.locator("#question").isHidden());
  assert.ok(await said(page).isVisible());
  assert.ok(await page.locator("#whose").isVisible());
  // Ink on white, whatever the screen has.
  assert.equal(await page.evaluate(() => getComputedStyle(document.documentElement).getPropertyValue("--ink").trim()), "#1f262b");
}, { viewport: { width: 1280, height: 900 } });

await test("what a log teaches is said as a person writes it, without a command", async (page) => {
  await drop(page, "rail.toml", scenario("oak-peg-rail.toml"));
  await whole(page);
  await drop(page, "log.csv", scenario("oak-peg-rail-log.csv"));
  await page.locator("#take-fit").waitFor();
  await settled(page);
  const seen = await page.locator("#answer").innerText();
  assert.doesNotMatch(seen, /--\w|\blikely = |`/);
  assert.match(seen, /drill, getting ready: 8 \/ 12 \/ 20 min becomes [\d.]+ \/ [\d.]+ \/ [\d.]+ min/);
  // So it is in the figures, once it is put in.
  await press(page, "Put it in");
  await settled(page);
  await room(page, "Figures");
  const drill = page.locator("details", { has: page.locator("summary", { hasText: /^drill$/ }) });
  await drill.locator("summary").click();
  await drill.getByText(/^That is [\d.]+ \/ [\d.]+ \/ [\d.]+ min\. One time in ten it is less than the first number/).first().waitFor();
  await room(page, "Answers");
  // A table that is no log: each fault on a line of its own, and the way to another log.
  await drop(page, "log.csv", "date,step\n2026-01-01,drill\n");
  await page.getByText('names no column "minutes"').waitFor();
  await press(page, "To the clock and its log");
  await page.getByRole("button", { name: "Open another log" }).waitFor();
});

await test("what takes long says so, can be stopped, and can be had all the same", async (page) => {
  // All batches never come, until they are let through.
  await page.addInitScript(() => {
    globalThis.holds = true;
    globalThis.Worker = class extends Worker {
      postMessage(message) {
        if (!globalThis.holds || message.question?.question === undefined || message.question.trials !== null) super.postMessage(message);
      }
    };
  });
  await page.reload();
  await drop(page, "rail.toml", scenario("oak-peg-rail.toml"));
  const made = page.locator(".made");
  await page.getByText("All of them take a while.").waitFor();
  assert.match(await made.textContent(), /^From [\d,]+ simulated batches\. All of them follow\.$/);
  await page.getByRole("button", { name: "Stop here" }).focus();
  await page.keyboard.press("Enter");
  await settled(page);
  assert.match(await made.textContent(), /^From [\d,]+ simulated batches\.$/);
  assert.equal(await page.evaluate(() => document.activeElement.textContent), "Reckon all of them");
  await page.evaluate(() => (globalThis.holds = false));
  await page.keyboard.press("Enter");
  await settled(page);
  assert.equal(await made.textContent(), "From 50,000 simulated batches.");
  assert.equal(await page.locator("#under-way").count(), 0);
  assert.equal(await page.evaluate(() => document.activeElement.id), "answer-head");
});

await test("each product that stands beside another has a size of its own, or as many pieces as are advised", async (page) => {
  await drop(page, "tops.toml", scenario("spinning-tops.toml"));
  await whole(page);
  await drop(page, "rail.toml", scenario("oak-peg-rail.toml"));
  await whole(page);
  await ask(page, "Which of my products shall I make?");
  // The only other is meant; who takes it away has none.
  const other = page.getByRole("checkbox");
  assert.ok(await other.isChecked());
  await whole(page);
  await other.uncheck();
  await page.getByText("Set it against another of your products.").waitFor();
  await other.check();
  await settled(page);
  assert.ok(await other.evaluate((box) => box === document.activeElement), "the focus stays");
  // Behind the letter, the name and what it earns on average.
  const sizes = () => page.locator("#answer tbody").first().locator("tr").evaluateAll((rows) => rows.map((row) => row.cells[3].textContent));
  const [rail, tops] = await sizes();
  const field = page.getByLabel(/^Pieces in a batch of (?!Oak)/);
  assert.equal(await field.getAttribute("placeholder"), "as advised");
  await field.fill("37");
  await settled(page);
  assert.deepEqual(await sizes(), [rail, "37"]);
  await page.getByLabel(/^Pieces in a batch of Oak/).fill("14");
  await settled(page);
  assert.deepEqual(await sizes(), ["14", "37"]);
  await field.fill("0");
  await page.getByText("Until then it is about as many as are advised.").last().waitFor();
  await settled(page);
  assert.deepEqual(await sizes(), ["14", tops]);
});

await test("a price and bad luck can be asked about of as many pieces as the commands take, the others of fewer", async (page) => {
  await begin(page);
  await whole(page);
  await ask(page, "What shall I charge?");
  const pieces = page.getByLabel("Pieces in the batch");
  await pieces.fill("12000");
  await settled(page);
  assert.match(await page.locator("#answer").innerText(), /12,000/);
  assert.equal(await page.locator(".wrong:visible").count(), 0);
  await pieces.fill("100001");
  await page.getByText("from 1 to 100,000. Until then it is about as many as are advised.").waitFor();
  await pieces.fill("12000");
  await ask(page, "What is worth working on?");
  await settled(page);
  assert.equal(await pieces.inputValue(), "");
  assert.doesNotMatch(await page.locator("#answer").innerText(), /12,000/);
});

for (const width of [1280, 1100, 390]) await test(`at ${width} px the sizes' table shows what an hour earns on average and which price pays, without being pushed along, and its heads break no word`, async (page) => {
  await drop(page, "rail.toml", scenario("oak-peg-rail.toml"));
  await whole(page);
  const { edge, seen, broken } = await page.locator("#answer .scroll").first().evaluate((box) => {
    const heads = [...box.querySelectorAll("thead th")];
    const pen = document.createElement("canvas").getContext("2d");
    const room = (head) => head.clientWidth - 2 * Number.parseFloat(getComputedStyle(head).paddingLeft);
    const wide = (head, word) => {
      const { fontWeight, fontSize, fontFamily } = getComputedStyle(head);
      pen.font = `${fontWeight} ${fontSize} ${fontFamily}`;
      return pen.measureText(word).width;
    };
    return {
      edge: box.getBoundingClientRect().right,
      seen: [/^on average$/, /^price that pays/].map((words) => heads.find((head) => words.test(head.textContent)).getBoundingClientRect().right),
      broken: heads.flatMap((head) => head.textContent.split(/\s/).filter((word) => wide(head, word) > room(head) + 0.5)),
    };
  });
  assert.ok(Math.max(...seen) <= edge, `${seen} ${edge}`);
  assert.deepEqual(broken, []);
}, { viewport: { width, height: 900 } });

await test("a table's name stays within the window, however wide the table is", async (page) => {
  await drop(page, "rail.toml", scenario("oak-peg-rail.toml"));
  await whole(page);
  await ask(page, "When will it be done?");
  await settled(page);
  const outside = await page.locator("#answer .scroll").evaluateAll((boxes) => {
    for (const box of boxes) box.scrollLeft = 80;
    return boxes.map((box) => [box.querySelector("caption span").getBoundingClientRect(), box.getBoundingClientRect(), box.scrollWidth]).filter(([name, box]) => name.left < box.left - 1 || name.right > box.right + 1);
  });
  assert.deepEqual(outside, []);
  assert.ok(await page.locator("#answer .scroll.hides").count() > 0);
});

await test("beside another question it is said of which batch the examples speak", async (page) => {
  await drop(page, "rail.toml", scenario("oak-peg-rail.toml"));
  await whole(page);
  const said = page.getByText("The examples speak of what", { exact: false });
  await page.locator("#sharper .hint").first().waitFor();
  assert.equal(await said.count(), 0);
  await ask(page, "What shall I charge?");
  await said.waitFor();
});
