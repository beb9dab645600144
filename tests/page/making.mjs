// A maker at work: from nothing to a verdict, changes and the way back, steps and keys.
import assert from "node:assert/strict";
import fs from "node:fs";
import path from "node:path";
import { ask, begin, drop, focus, house, press, room, said, scenario, settled, test, text, whole } from "./browser.mjs";

await test("from nothing to a verdict that is marked rough, in 12 inputs at most", async (page) => {
  const typed = await begin(page);
  assert.ok(typed <= 12, `${typed} inputs`);
  assert.match(await said(page).textContent(), /^Make /);
  await page.getByText("Rough.").waitFor();
  const file = await text(page);
  assert.match(file, /each\s+= "14 min"/);
  assert.match(file, /price\s+= 2\.4\n/);
  // A bad day in it, and it is rough no more; a range of three that are the same has none.
  await room(page, "Figures");
  await page.locator("summary", { hasText: "saw and plane" }).click();
  // On a phone no name of a value is squeezed beside its buttons.
  const squeezed = await page.locator(".value-head label:visible").evaluateAll((labels) => labels.filter((label) => label.clientHeight > 1.6 * Number.parseFloat(getComputedStyle(label).lineHeight)).map((label) => label.textContent));
  assert.deepEqual(squeezed, []);
  await page.getByRole("button", { name: "Some days differ" }).last().click();
  await page.getByLabel("saw and plane: each piece, A bad day").waitFor();
  await room(page, "Answers");
  await whole(page);
  await page.getByText("Rough.").waitFor();
  await room(page, "Figures");
  await page.getByLabel("saw and plane: each piece, A bad day").fill("40 min");
  await room(page, "Answers");
  await whole(page);
  await page.getByText("Rough.").waitFor({ state: "detached" });
});

await test("how many a buyer takes at once is asked beside the postage, and offered where it was not said", async (page) => {
  await begin(page);
  await whole(page);
  await room(page, "Figures");
  await page.getByLabel("Say more about Sale").selectOption("post");
  await page.locator(".more form input").fill("5");
  await page.locator(".more form input").press("Enter");
  await settled(page);
  await room(page, "Answers");
  const offer = page.locator("#sharper details", { has: page.locator("summary", { hasText: "Does a buyer take several at once?" }) });
  await offer.locator("summary", { hasText: /For example, if buyers take four at a time: With a batch of \d+ you earn .*; without that you earn / }).click();
  await offer.getByLabel("Pieces in a usual order").fill("0");
  await offer.getByRole("button", { name: "Put it in" }).click();
  await offer.getByRole("alert").filter({ hasText: "Write how many pieces, for example 4." }).waitFor();
  await offer.getByLabel("Pieces in a usual order").fill("3");
  await offer.getByRole("button", { name: "Put it in" }).click();
  await offer.waitFor({ state: "detached" });
  assert.match(await text(page), /order_of\s*= 3\n/);
  // From the beginning.
  await press(page, "Shelf");
  await press(page, "Begin with a product");
  await page.getByLabel("Its name").fill("Knob");
  await press(page, "Next");
  await page.getByLabel("What you do").fill("turn");
  await page.getByLabel("Then, for each piece").fill("7");
  await press(page, "Next");
  await press(page, "Next");
  await page.getByLabel("Price of one").fill("8.50");
  await page.locator("summary", { hasText: "you pay the postage" }).click();
  await page.getByLabel("Postage that you pay").fill("5.20");
  await page.getByLabel("Pieces in a usual order").fill("some");
  await press(page, "Next");
  assert.match(await page.getByRole("alert").textContent(), /Write how many pieces an order has/);
  await page.getByLabel("Pieces in a usual order").fill("6");
  await press(page, "Next");
  await page.getByLabel("An hour, in").fill("26");
  await press(page, "Show me what it earns");
  await whole(page);
  assert.match(await text(page), /post  = 5\.2\norder_of = 6\n/);
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
  assert.match(await offer.textContent(), /For example, if 3 of 100 pieces are spoiled at .*without that/);
});

await test("a form takes what the library takes, and says so before anything is put in", async (page) => {
  await drop(page, "rail.toml", scenario("oak-peg-rail.toml"));
  await whole(page);
  const offer = page.locator("#sharper details", { has: page.locator("summary", { hasText: "Do you get quicker with practice?" }) });
  await offer.locator("summary").click();
  await offer.getByLabel("When you have made twice as many").fill("95");
  // Pieces are whole, and a share has its end.
  for (const [share, made] of [["95", "2.5"], ["95", "some"], ["0", "2"], ["101", "2"]]) {
    await offer.getByLabel("When you have made twice as many").fill(share);
    await offer.getByLabel("Pieces made before").fill(made);
    await offer.getByRole("button", { name: "Put it in" }).click();
    await offer.getByRole("alert").filter({ hasText: "Write the percent, for example 95, and a number of pieces." }).waitFor();
  }
  await offer.getByLabel("When you have made twice as many").fill("95");
  await offer.getByLabel("Pieces made before").fill("2");
  await offer.getByRole("button", { name: "Put it in" }).click();
  await offer.waitFor({ state: "detached" });
  assert.match(await text(page), /learning\s*= "95 %"\nmade_before\s*= 2\n/);
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
  const before = await text(page);
  await room(page, "Figures");
  // What a log keeps of a first guess comes last.
  const offered = await page.getByLabel(/^Say more about .*draw and proof/).first().locator("option").evaluateAll((list) => list.map((one) => one.value));
  const guesses = offered.filter((key) => key.startsWith("guessed_"));
  assert.equal(guesses.length, 5, offered);
  assert.deepEqual(offered.slice(-5), guesses);
  const more = page.getByLabel("Say more about Sale");
  await more.selectOption("tip");
  const ask = page.locator(".more form");
  await ask.getByText("For example 0 / 1 / 5").waitFor();
  assert.equal(await ask.locator("input").inputValue(), "", "nothing is written for the maker");
  await ask.getByRole("button", { name: "Put it in" }).click();
  await ask.getByText("Write tip, for example 0 / 1 / 5").waitFor();
  assert.equal(await text(page), before);
  await room(page, "Figures");
  await more.selectOption("tip");
  await ask.locator("input").fill("1");
  await ask.locator("input").press("Enter");
  await settled(page);
  assert.equal(await focus(page), "tip");
  assert.notEqual(await text(page), before);
  await press(page, "Undo");
  assert.equal(await text(page), before);
  await room(page, "Figures");
  const spoiled = page.locator("details", { has: page.locator("summary", { hasText: "Batches" }) });
  await spoiled.locator("summary").first().click();
  assert.match(await spoiled.textContent(), /pieces/);
});

await test("times are taken as people write them, and nonsense is not", async () => {
  const reader = fs.readFileSync(path.join(house, "src/page/screen/amounts.js"), "utf8");
  const { timeOf, numberOf, dayHours } = new Function(`${reader}; return { timeOf, numberOf, dayHours };`)();
  for (const [typed, written] of [
    ["90", "1 h 30 min"],
    ["1 h 30", "1 h 30 min"],
    ["1:30", "1 h 30 min"],
    ["1,5 h", "1 h 30 min"],
    ["1½ h", "1 h 30 min"],
    ["1 h 35 min", "1 h 35 min"],
    ["½ h", "30 min"],
    ["2 hours and 20 minutes", "2 h 20 min"],
    ["1,5 h 2,5 min", "92.5 min"],
    ["40 s", "40 s"],
    ["0", "0 min"],
    ["soon", null],
    ["-5", null],
    ["1 h 30 30", null],
    ["4 / 5 / 7 min", "4 / 5 / 7 min"],
    ["1/1,5/2 h", "1 / 1.5 / 2 h"],
    ["50 min / 1 h / 90", "50 / 60 / 90 min"],
    ["1 / 2 / 3 s", "1 / 2 / 3 s"],
    ["0.1 / 0.2 / 0.25 s", "0.1 / 0.2 / 0.25 s"],
    ["20 s / 2 min / 10 min", "20 / 120 / 600 s"],
    ["30 s / 2 min / 10 min", "0.5 / 2 / 10 min"],
    ["70 s", "70 s"],
    ["12.345", "12.345 min"],
    ["5 / 4 / 7 min", null],
    ["4 / 7 min", null],
    // A day of work has not 24 hours.
    ["1 day", null],
    ["", null],
  ]) assert.equal(timeOf(typed), written, typed);
  assert.equal(timeOf("2 days", "", "", true), "48 h");
  assert.equal(timeOf("12", "8", "30 min"), "8 / 12 / 30 min");
  assert.equal(timeOf("12", "15", "30"), null);
  assert.deepEqual(["2,40", "1 200", "12.5", "-3", "two", ""].map(numberOf), [2.4, 1200, 12.5, null, null, null]);
  assert.deepEqual([".4", ",5", "€1.50", "2,10 €", "£ 28", "€"].map(numberOf), [0.4, 0.5, 1.5, 2.1, 28, null]);
  assert.deepEqual(["2", "2,5", "18:00..20:30", "9 – 13:15", "18 to 20"].map(dayHours), ["2", "2.5", "18:00..20:30", "9:00..13:15", "18:00..20:00"]);
  assert.deepEqual(["3 h", "2 h 30", "90 min"].map(dayHours), ["3", "2.5", "1.5"]);
  assert.deepEqual(["25", "25 h", "20:30..18:00", "18:70..20:00", "18:00", "20:00..24:30", "evenings"].map(dayHours), [null, null, null, null, null, null, null]);
});

await test("steps are put in order, added and taken out by keyboard alone, and the focus goes along", async (page) => {
  await drop(page, "mugs.toml", scenario("stoneware-mugs.toml"));
  await whole(page);
  await room(page, "Figures");
  const names = () => page.locator(".ordered summary").allTextContents();
  const before = (await names()).filter((_, k) => k < 3);
  const grip = `Move ${before[2]}: drag, or press the arrow keys`;
  await page.getByRole("button", { name: grip }).focus();
  for (const order of [[0, 2, 1], [2, 0, 1]]) {
    await page.keyboard.press("ArrowUp");
    await settled(page);
    assert.deepEqual((await names()).slice(0, 3), order.map((k) => before[k]));
    assert.equal(await focus(page), grip);
  }
  // With one press, too: down and up again, opened cards going along.
  for (const [way, order] of [["Move down", [0, 2, 1]], ["Move up", [2, 0, 1]]]) {
    const card = page.locator(".ordered details", { has: page.locator("summary", { hasText: before[2] }) });
    if (way === "Move down") await card.locator("summary").click();
    await page.getByRole("button", { name: `${way}: ${before[2]}` }).click();
    await settled(page);
    assert.deepEqual((await names()).slice(0, 3), order.map((k) => before[k]), way);
  }
  await page.getByRole("button", { name: "Add a step" }).press("Enter");
  await page.locator("summary", { hasText: "new step" }).waitFor();
  await settled(page);
  assert.equal(await focus(page), "name");
  await page.keyboard.press("Control+A");
  await page.keyboard.type("cool");
  await page.locator("summary", { hasText: /^cool$/ }).waitFor();
  await settled(page);
  assert.equal(await page.evaluate(() => document.activeElement.value), "cool");
  await page.getByRole("button", { name: "Take this out: cool" }).press("Enter");
  await page.locator("summary", { hasText: /^cool$/ }).waitFor({ state: "detached" });
  await settled(page);
  assert.notEqual(await page.evaluate(() => document.activeElement.tagName), "BODY");
});

await test("each visit of a field is one step back, and what was just typed is what Undo takes back", async (page) => {
  await begin(page);
  await whole(page);
  await room(page, "Figures");
  const price = page.locator("details", { has: page.locator("summary", { hasText: /^Sale$/ }) }).getByLabel("price", { exact: true });
  for (const value of ["30", "31"]) {
    await price.fill(value);
    await settled(page);
    await page.locator("h1").first().click();
  }
  // Typed, and Undo pressed before the page has taken it.
  await price.fill("3,50");
  await press(page, "Undo");
  await settled(page);
  assert.match(await text(page), /price = 31\n/);
  await press(page, "Redo");
  assert.match(await text(page), /price = 3\.50\n/);
  for (const value of ["31", "30", "28"]) {
    await press(page, "Undo");
    assert.match(await text(page), new RegExp(`price = ${value}\\n`));
  }
});

await test("a range that cannot be is said at its field; what stands in a field is what becomes a range", async (page) => {
  await begin(page);
  await whole(page);
  await room(page, "Figures");
  await page.locator("summary", { hasText: "sand and oil" }).click();
  const step = page.locator("details", { has: page.locator("summary", { hasText: "sand and oil" }) });
  await step.getByLabel("each piece", { exact: true }).fill("16");
  await step.getByRole("button", { name: "Some days differ" }).last().click();
  const bad = page.getByLabel("sand and oil: each piece, A bad day");
  await bad.waitFor();
  assert.equal(await bad.inputValue(), "16 min");
  await bad.fill("soon");
  await step.getByText("This is not taken yet.").waitFor();
  await bad.fill("12");
  await step.getByText("The quick day takes the usual time at most").waitFor();
  await bad.fill("25");
  await step.getByText("This is not taken yet.").waitFor({ state: "detached" });
  assert.match(await text(page), /each\s+= "16 \/ 16 \/ 25 min"/);
});

await test("a range in seconds stays one, and where one of its times is changed the others stay", async (page) => {
  await drop(page, "stamps.toml", `title = "Stamp"\ncurrency = "EUR"\ntarget = 25\n[sale]\nprice = 3\n[[step]]\nname = "press"\nsetup = "5 s"\neach = "4 / 5 / 7 s"\n`);
  await whole(page);
  await room(page, "Figures");
  const step = page.locator("details", { has: page.locator("summary", { hasText: "press" }) });
  await step.locator("summary").click();
  await page.getByLabel("press: each piece, Usually").fill("6 s");
  await settled(page);
  await step.getByRole("button", { name: "Some days differ" }).first().click();
  assert.match(await text(page), /setup = "5 \/ 5 \/ 5 s"\neach = "4 \/ 6 \/ 7 s"/);
});

await test("what is offered and put in is gone from the offers, and the answer that follows has the focus", async (page) => {
  await begin(page);
  await whole(page);
  const offer = page.locator("details", { has: page.locator("summary", { hasText: "Could a jig or more room save time?" }) });
  await offer.locator("summary").click();
  await offer.getByLabel("Time to build it").fill("1½ h");
  await offer.getByLabel("What it costs beside that").fill("12,5");
  await offer.getByLabel("A piece then takes so many percent").fill("80");
  await offer.getByLabel("Batches of it you will ever make").fill("8");
  await offer.getByRole("button", { name: "Put it in" }).click();
  await offer.waitFor({ state: "detached" });
  await whole(page);
  assert.equal(await page.evaluate(() => document.activeElement.id), "answer-head");
  assert.match(await text(page), /build = "1 h 30 min"\ncost  = 12\.5\n/);
  assert.match(await text(page), /^runs\s+= 8$/m);
});

await test("who says when the bench is open is asked what has to dry", async (page) => {
  await begin(page);
  await whole(page);
  const offered = (asks) => page.locator("details", { has: page.locator("summary", { hasText: asks }) });
  const dries = offered("Does something dry, cure or cool before you go on?");
  assert.equal(await dries.count(), 0);
  const hours = offered("When are you at the bench?");
  await hours.locator("summary").click();
  await hours.getByLabel("Hours on a Monday").fill("2");
  await hours.getByRole("button", { name: "Put it in" }).click();
  await dries.locator("summary").click();
  await dries.getByLabel("How long it waits then").fill("1 day");
  await dries.getByRole("button", { name: "Put it in" }).click();
  await dries.waitFor({ state: "detached" });
  assert.match(await text(page), /^wait\s+= "24 h"$/m);
});

await test("nothing that is added changes the answer before the maker typed it; what is put in has the focus and can be taken back", async (page) => {
  await begin(page);
  await whole(page);
  const before = await text(page);
  /** What is answered, whatever else is said. */
  const answer = async () => {
    await room(page, "Answers");
    await whole(page);
    return [...(await page.locator("#answer .opening, #answer .then").allTextContents()), await page.locator("#answer tbody").first().textContent()].join("\n");
  };
  const first = await answer();
  await room(page, "Figures");
  const offered = await page.locator(".plain-list button").allTextContents();
  assert.ok(offered.length > 9, offered.join());
  // What a maker may type for each, by what is asked.
  const typed = [[/three letters/, "USD"], [/worth in your own/, "0.91"], [/price|cost|power|fetches|wage/i, "2"], [/then takes so many percent/, "80"], [/Of 100 pieces/, "5"], [/^Time to build/, "2 h"], [/Hours on a/, "2"], [/bad season/, "6"], [/usual season/, "14"], [/good season/, "30"], [/in a week/, "3"], [/so many percent of its money/, "20"], [/What it is then/, "9"], [/sells/i, "6"]];
  let asked = 0;
  for (const name of ["Add a step", "Add a material", ...offered]) {
    await press(page, name);
    const form = page.locator(".plain-list form");
    if (await form.count()) {
      asked += 1;
      assert.equal(await form.locator("input, select").first().evaluate((one) => one === document.activeElement), true, name);
      assert.equal(await text(page), before, `${name}: asked for, and not there yet`);
      await room(page, "Figures");
      await press(page, name);
      for (const input of await form.locator("input").all()) {
        const label = await input.evaluate((one) => one.labels[0].textContent);
        if ((await input.inputValue()) === "" || /percent/.test(label)) await input.fill(typed.find(([words]) => words.test(label))?.[1] ?? "something");
      }
      await form.getByRole("button", { name: "Put it in" }).click();
      await form.waitFor({ state: "detached" });
    }
    await settled(page);
    assert.equal(await page.evaluate(() => document.activeElement.closest("#parts details") !== null), true, name);
    assert.notEqual(await text(page), before, name);
    await room(page, "Figures");
    assert.deepEqual(await page.locator("#parts .faults .wrong").allTextContents(), [], name);
    await room(page, "Answers");
    assert.equal(await page.locator("#answer .wrong").count(), 0, name);
    if (["Add a step", "Add a material", "All times together", "A way of selling"].includes(name)) assert.equal(await answer(), first, name);
    await press(page, "Undo");
    assert.equal(await text(page), before, name);
    await room(page, "Figures");
  }
  assert.ok(asked > 6, String(asked));
  // Ways of selling share the pieces among them.
  for (const share of ["", "50", "25"]) {
    await press(page, "A way of selling");
    if (share) {
      await page.getByLabel("What you call it").fill(`stall ${share}`);
      await page.getByLabel("Of 100 pieces, so many go this way").fill(share);
      await press(page, "Put it in");
    }
    await settled(page);
  }
  assert.deepEqual([...(await text(page)).matchAll(/share = "([^"]*)"/g)].map(([, share]) => share), ["50 %", "25 %", "25 %"]);
});

await test("a step is dragged by a finger, and taken back", async (page, context) => {
  await drop(page, "mugs.toml", scenario("stoneware-mugs.toml"));
  await whole(page);
  const before = await text(page);
  await room(page, "Figures");
  const names = () => page.locator(".ordered summary").allTextContents();
  const first = (await names()).slice(0, 3);
  const grips = page.locator(".ordered .grip");
  await grips.nth(0).scrollIntoViewIfNeeded();
  const [from, to] = [await grips.nth(0).boundingBox(), await grips.nth(2).boundingBox()];
  const finger = await context.newCDPSession(page);
  const touch = (type, y) => finger.send("Input.dispatchTouchEvent", { type, touchPoints: y === undefined ? [] : [{ x: from.x + 20, y }] });
  await touch("touchStart", from.y + 20);
  for (let k = 1; k <= 8; k += 1) await touch("touchMove", from.y + 20 + ((to.y - from.y + 30) * k) / 8);
  await touch("touchEnd");
  await page.waitForFunction(() => !document.querySelector("#undo").disabled);
  await settled(page);
  assert.deepEqual((await names()).slice(0, 3), [first[1], first[2], first[0]]);
  assert.notEqual(await text(page), before);
  await press(page, "Undo");
  assert.equal(await text(page), before);
}, { hasTouch: true });

await test("three figures that are the same are three handles, and the bad day's moves alone", async (page) => {
  await begin(page);
  await whole(page);
  await room(page, "Figures");
  await page.locator("summary", { hasText: "sand and oil" }).click();
  const step = page.locator("details", { has: page.locator("summary", { hasText: "sand and oil" }) });
  await step.getByRole("button", { name: "Some days differ" }).last().click();
  const inputs = ["A quick day", "Usually", "A bad day"].map((words) => page.getByLabel(`sand and oil: each piece, ${words}`));
  await inputs[2].waitFor();
  await settled(page);
  // No box cuts its own text, and they stand in a line.
  for (const input of inputs) assert.ok(await input.evaluate((one) => one.scrollWidth <= one.clientWidth));
  const lefts = await Promise.all(inputs.map(async (input) => (await input.boundingBox()).x));
  assert.ok(lefts.every((x) => Math.abs(x - lefts[0]) < 1), lefts.join());
  const high = page.getByRole("slider", { name: "sand and oil: each piece, slow or high" });
  await high.scrollIntoViewIfNeeded();
  const box = await high.boundingBox();
  const at = Number(await high.inputValue()) / Number(await high.getAttribute("max"));
  const [x, y] = [box.x + 14 + at * (box.width - 28), box.y + box.height / 2];
  await page.mouse.move(x, y);
  await page.mouse.down();
  for (let k = 1; k <= 6; k += 1) await page.mouse.move(x + 6 * k, y);
  await page.mouse.up();
  await settled(page);
  const [, low, usual, bad] = /each\s+= "([\d.]+) \/ ([\d.]+) \/ ([\d.]+) min"/.exec((await text(page)).split("sand and oil")[1]);
  assert.deepEqual([low, usual], ["14", "14"]);
  assert.ok(Number(bad) > 14, bad);
});

await test("a change says from what to what, on a phone beside the figures too; Undo says what it took back and stays where it was pressed", async (page) => {
  await begin(page);
  await whole(page);
  await room(page, "Figures");
  const short = page.locator("#in-short");
  assert.match(await short.textContent(), /^Make /);
  const price = page.locator("details", { has: page.locator("summary", { hasText: /^Sale$/ }) }).getByLabel("price", { exact: true });
  await price.fill("34");
  await settled(page);
  await page.locator("h1").first().click();
  assert.match(await short.textContent(), /^Sale, price: 28 became 34\.With .*; without that you /);
  const { height } = await short.boundingBox();
  assert.ok(height <= 120, `${height} px of the screen`);
  // The answer seen with it speaks of the same size and the same hour.
  await room(page, "Answers");
  await whole(page);
  const told = await page.locator("#against").textContent();
  const size = /a batch of ([\d,]+)|a single piece/.exec(told);
  const row = await page.locator("#answer tbody tr.marked").first().locator("th, td").first().textContent();
  assert.equal(row.replace(/\D/g, ""), size[1] ?? "1", `${told} ${row}`);
  await room(page, "Figures");
  await page.locator("summary", { hasText: "sand and oil" }).click();
  const ready = page.locator("details", { has: page.locator("summary", { hasText: "sand and oil" }) }).getByLabel("getting ready", { exact: true });
  await ready.fill("20");
  await settled(page);
  assert.match(await short.textContent(), /^Since you began, 2 figures changed\..*without that /);
  await ready.blur();
  const { y } = await ready.boundingBox();
  assert.ok((await page.evaluate(() => scrollY)) > 100);
  await press(page, "Undo");
  await page.locator("#seen", { hasText: "Taken back: sand and oil, getting ready." }).waitFor();
  await settled(page);
  // A line of the answer above may be more or less.
  assert.ok(Math.abs((await ready.boundingBox()).y - y) < 30);
});

for (const width of [768, 1280]) {
  await test(`wherever somebody reads, Undo is in sight and what it took back is too, ${width} px`, async (page) => {
    await begin(page);
    await whole(page);
    if (width < 1000) await room(page, "Figures");
    const price = page.locator("details", { has: page.locator("summary", { hasText: /^Sale$/ }) }).getByLabel("price", { exact: true });
    await price.fill("34");
    await price.blur();
    await settled(page);
    await page.evaluate(() => scrollTo(0, document.documentElement.scrollHeight));
    assert.ok((await page.evaluate(() => scrollY)) > 100);
    await press(page, "Undo");
    const seen = page.locator("#seen", { hasText: "Taken back: Sale, price." });
    await seen.waitFor();
    for (const what of ["#undo", "#seen"]) {
      const box = await page.locator(what).boundingBox();
      assert.ok(box.y >= 0 && box.y + box.height <= 900, `${what}: ${JSON.stringify(box)}`);
    }
    assert.ok((await page.evaluate(() => scrollY)) > 100);
  }, { viewport: { width, height: 900 } });
}

await test("times that are likely another piece's are asked about before they are put in", async (page) => {
  await begin(page);
  await whole(page);
  const before = await text(page);
  await drop(page, "log.csv", `job,step,pieces,minutes\n${["a", "b", "c"].map((job) => `${job},saw and plane,6,0.1\n${job},sand and oil,6,0.1\n`).join("")}`);
  await settled(page);
  await page.locator("#take-fit").click();
  await page.locator("#take-doubt", { hasText: "Check that the log is of this piece" }).waitFor();
  assert.equal(await text(page), before);
  await room(page, "Answers");
  await page.locator("#take-fit").click();
  await press(page, "Put it in all the same");
  await page.locator("#put-in").waitFor();
  assert.notEqual(await text(page), before);
});

await test("the next product begins in the money of the last; a day that the last was due on is none of its own", async (page) => {
  await drop(page, "tops.toml", scenario("spinning-tops.toml").replace('currency   = "EUR"', 'currency   = "SEK"'));
  await whole(page);
  await ask(page, "When will it be done?");
  await page.getByLabel("It is due on (if it is)").fill("2030-06-03");
  await settled(page);
  await press(page, "Shelf");
  await press(page, "Begin with a product");
  assert.equal(await page.getByLabel("The money you reckon in").inputValue(), "SEK");
  await drop(page, "rail.toml", scenario("oak-peg-rail.toml"));
  await whole(page);
  await ask(page, "When will it be done?");
  assert.equal(await page.getByLabel("It is due on (if it is)").inputValue(), "");
});

/** A price break of ten bars, one of twenty with a comment, and a misfortune of one change. */
const LISTS = `title = "Hook"
target = 25
[[step]]
name = "forge"
each = "12 min"
[[material]]
name = "bar"
per_piece = 1
price = 7
breaks = [
  { from = 10, price = 6 }, # by the bundle
  { from = 20, price = 5 } # from the mill
]
[sale]
price = 28
[[misfortune]]
name = "a dear year"
changes = ["material.bar.price = 9"] # as last winter
`;

await test("price breaks and changes are rows that are filled in, added and taken out by keyboard; every other byte stays", async (page) => {
  await drop(page, "hook.toml", LISTS);
  await whole(page);
  await room(page, "Figures");
  const figures = async (act) => {
    await room(page, "Figures");
    await act();
    await settled(page);
    return text(page);
  };
  const open = async (name) => {
    const fold = page.locator("details.card", { has: page.locator("summary", { hasText: name }) });
    if (!(await fold.evaluate((one) => one.open))) {
      await fold.locator("summary").focus();
      await page.keyboard.press("Enter");
    }
    return fold;
  };
  const bar = await open("bar");
  const row = (fold, name) => fold.getByRole("group", { name, exact: true });
  assert.equal(await bar.getByRole("group", { name: /^Price break/ }).count(), 2);
  assert.equal(await row(bar, "Price break 2").getByLabel("From how many").inputValue(), "20");
  // What is typed stands where the old one stood, and is one step back.
  const typed = await figures(async () => {
    await row(bar, "Price break 2").getByLabel("Price of each then").focus();
    await page.keyboard.press("ControlOrMeta+a");
    await page.keyboard.type("4,80");
    await page.keyboard.press("Tab");
  });
  assert.equal(typed, LISTS.replace("price = 5 }", "price = 4.80 }"));
  // A fault stands at its row, and its words are those of the field.
  await figures(async () => {
    await row(bar, "Price break 2").getByLabel("From how many").fill("8");
  });
  await room(page, "Figures");
  await row(bar, "Price break 2").locator(".wrong", { hasText: "8 is not more than the 10 before it" }).waitFor();
  assert.equal(await bar.locator(".wrong").count(), 1);
  assert.equal(await bar.locator("[aria-invalid]").count(), 1, "the cell that the fault names");
  const back = await figures(() => press(page, "Undo"));
  assert.equal(back, typed);
  assert.equal(await figures(() => press(page, "Undo")), LISTS);
  // Nothing is there before it is put in; then it has the focus.
  const more = await figures(async () => {
    await bar.getByRole("button", { name: "Add a price break" }).focus();
    await page.keyboard.press("Enter");
    await page.keyboard.type("50");
    await page.keyboard.press("Enter");
    await bar.getByRole("alert").filter({ hasText: "Price of each then" }).waitFor();
    await page.keyboard.press("Tab");
    await page.keyboard.type("4");
    await page.keyboard.press("Enter");
    await row(bar, "Price break 3").waitFor();
    assert.equal(await focus(page), "From how many");
    assert.equal(await page.evaluate(() => document.activeElement.value), "50");
  });
  assert.equal(more, LISTS.replace("price = 5 } # from the mill\n", "price = 5 }, # from the mill\n  { from = 50, price = 4 }\n"));
  const fewer = await figures(async () => {
    await row(bar, "Price break 1").getByRole("button", { name: /^Take out/ }).focus();
    await page.keyboard.press("Enter");
    await row(bar, "Price break 3").waitFor({ state: "detached" });
    assert.equal(await page.evaluate(() => document.activeElement.value), "20", "what stands in its place has the focus");
  });
  assert.equal(fewer, more.replace("{ from = 10, price = 6 }, # by the bundle\n  ", ""));
  const none = await figures(async () => {
    for (let left = 2; left > 0; left -= 1) {
      await row(bar, "Price break 1").getByRole("button", { name: /^Take out/ }).press("Enter");
      await bar.getByRole("group", { name: /^Price break/ }).nth(left - 1).waitFor({ state: "detached" });
    }
  });
  assert.equal(none, LISTS.replace(/breaks = \[.*?\n\]\n/s, ""));
  // A material without any is asked for the first.
  const first = await figures(async () => {
    await bar.getByLabel("Say more about bar").selectOption("breaks");
    await bar.locator(".more").getByLabel("From how many").fill("12");
    await bar.locator(".more").getByLabel("Price of each then").fill("6.50");
    await page.keyboard.press("Enter");
    await row(bar, "Price break 1").waitFor();
    assert.equal(await focus(page), "From how many");
  });
  assert.equal(first, none.replace("price = 7\n", "price = 7\nbreaks = [{ from = 12, price = 6.50 }]\n"));
  for (let steps = 5; steps > 0; steps -= 1) await figures(() => press(page, "Undo"));
  assert.equal(await text(page), LISTS, "every step is taken back");
  // A misfortune's change: another value of the same figure, another figure, one more; the last stays.
  await room(page, "Figures");
  const year = await open("a dear year");
  assert.equal(await year.getByRole("button", { name: /^Take out: a dear year/ }).count(), 0);
  assert.equal(await figures(() => row(year, "Change 1").getByLabel("What it is then").fill("9,50")), LISTS.replace("price = 9\"", "price = 9.50\""));
  const slower = await figures(() => row(year, "Change 1").getByLabel("Which figure is another one then").selectOption({ label: "forge: each piece, 12 min" }));
  assert.match(slower, /changes = \["step\.forge\.each = 12 min"\] # as last winter/, "an hour's money is no time");
  const both = await figures(async () => {
    await row(year, "Change 1").getByLabel("What it is then").fill("20");
    await year.getByRole("button", { name: "Add a change" }).click();
    await year.locator("form").getByLabel("Which figure is another one then").selectOption({ label: "Sale: price, 28" });
    await year.locator("form").getByLabel("What it is then").fill("26");
    await page.keyboard.press("Enter");
    await row(year, "Change 2").waitFor();
  });
  assert.equal(both, LISTS.replace('["material.bar.price = 9"]', '["step.forge.each = 20 min", "sale.price = 26"]'));
  // A second change of the same figure is a fault of its row.
  await figures(() => row(year, "Change 2").getByLabel("Which figure is another one then").selectOption({ label: "forge: each piece, 12 min" }));
  await room(page, "Figures");
  await row(year, "Change 2").locator(".wrong", { hasText: "changed twice" }).waitFor();
  // A list that has no rows is seen as it is written.
  await drop(page, "odd.toml", LISTS.replace(/breaks = \[.*?\n\]/s, "breaks = [7]"));
  await room(page, "Figures");
  const raw = page.getByRole("textbox", { name: "lower prices for more", includeHidden: true });
  await raw.waitFor({ state: "attached" });
  assert.equal(await raw.inputValue(), "[7]");
});

/** Forty buyers at 24, whom an elasticity of 1 makes twenty at twice the price: buyers times price stay the same. */
const WHIRLIGIG = `title = "Whirligig"
target = 20
[batch]
sizes = "5..60 step 5"
[[step]]
name = "turn"
setup = "1 h"
each = "15 min"
[sale]
price = 24
[season]
buyers = 40
clearance = 0
elasticity = 1
`;

await test("a dearer price on the page loses buyers, and the price that they were counted at stays; Undo takes both back", async (page) => {
  await drop(page, "whirligig.toml", WHIRLIGIG);
  await whole(page);
  await ask(page, "How many before the season ends?");
  const makes = async (pieces) => {
    await room(page, "Answers");
    await said(page).getByText(`Make ${pieces} for this season.`).waitFor();
  };
  await makes(40);
  const price = async (typed) => {
    await room(page, "Figures");
    await page.getByLabel("price", { exact: true }).fill(typed);
    await settled(page);
  };
  await price("48");
  await makes(20);
  const dearer = `${WHIRLIGIG.replace("price = 24", "price = 48")}buyers_at = 24\n`;
  assert.equal(await text(page), dearer);
  // Another price is of the buyers at 24, not of those at 48.
  await price("32");
  await makes(30);
  assert.equal(await text(page), dearer.replace("48", "32"));
  await press(page, "Undo");
  await makes(20);
  await press(page, "Undo");
  await makes(40);
  assert.equal(await text(page), WHIRLIGIG);
});
