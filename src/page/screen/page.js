// Which room is seen, and of which product. Everything starts here.

const page = (() => {
  const ROOMS = {
    answers: { words: "Answers", sign: "?", room: answers },
    figures: { words: "Figures", sign: "≡", room: figures },
    clock: { words: "Clock", sign: "◷", room: clock },
    selling: { words: "Sales", sign: "¤", room: selling },
    file: { words: "Files", sign: "¶", room: file },
  };
  /** So wide a window has room for figures and answers side by side. */
  const wide = matchMedia("(min-width: 68rem)");
  const hosted = meta("place") === "host";
  let id = null;
  /** What the answers were asked about last. */
  let asked = {};
  let room = "answers";
  /** Changes of texts, one after the other. */
  let altering = Promise.resolve();
  let alterations = 0;

  function product() {
    return id === null ? null : shelf.get(id);
  }

  function head() {
    const one = product();
    $("whose").textContent = one ? clean(titleOf(one.text)) : "Batchwright";
    document.title = one ? clean(`${titleOf(one.text)} · Batchwright`) : "Batchwright";
    $("to-shelf").hidden = !one && !document.body.classList.contains("beginning");
    const ways = one ? shelf.ways(id) : {};
    for (const [key, words] of [["undo", "Undo"], ["redo", "Redo"]]) {
      $(key).hidden = !one;
      $(key).disabled = ways[key] === undefined;
      $(key).title = ways[key] ? clean(`${words}: ${ways[key]}`) : "";
    }
    $("rooms").hidden = !one;
    $("save").hidden = id !== desk.id;
    $("save").disabled = !one || !desk.unsaved(one.text);
  }

  /** Whether figures and answers are seen side by side. */
  const both = () => wide.matches && (room === "answers" || room === "figures");

  function rooms() {
    const one = ([key, { words, sign }]) => {
      const joint = wide.matches && key === "answers";
      return button([make("span", { className: "sign", "aria-hidden": "true" }, sign), joint ? "Answers and figures" : words], () => enter(key), { "aria-current": key === room || (joint && both()) ? "page" : null });
    };
    // Side by side they are one room.
    const seen = Object.entries(ROOMS).filter(([key]) => !wide.matches || key !== "figures");
    $("rooms").replaceChildren(...seen.map(one));
  }

  function enter(next) {
    room = next;
    $("seen").replaceChildren();
    show();
    scrollTo(0, 0);
    $("room").focus({ preventScroll: true });
  }

  function show() {
    head();
    rooms();
    const main = $("room");
    document.body.classList.remove("beginning");
    main.className = both() ? "both" : "";
    if (both()) {
      const left = make("section", { className: "left", "aria-label": "Figures" });
      const right = make("section", { className: "right", "aria-label": "Answers" });
      main.replaceChildren(left, right);
      figures.show(left);
      answers.show(right);
    } else {
      const box = make("section", {});
      main.replaceChildren(box);
      ROOMS[room].room.show(box, true);
    }
  }

  function home() {
    id = null;
    head();
    document.body.classList.remove("beginning");
    const main = $("room");
    main.className = "";
    const list = shelf.list();
    const begun = begin.begun();
    const start = (again) => {
      document.body.classList.add("beginning");
      head();
      if (again) begin.again();
      else begin.show();
    };
    main.replaceChildren(
      make(
        "div",
        { className: "home" },
        make("h1", {}, list.length > 0 ? "On your shelf" : "What should you make, how many at a time, and for what price?"),
        list.length === 0 && make("p", { className: "help" }, "Tell it how long your steps take and what a buyer pays. It makes your batches thousands of times, with quick days and bad days, and says what your hour really earns."),
        make(
          "ul",
          { className: "cards shelf" },
          list.map((one) =>
            make(
              "li",
              { className: "card" },
              button(titleOf(one.text), () => open(one.id), { className: "plain open" }),
              button("Take off", () => takeOff(one), { className: "plain", "aria-label": `Take off: ${titleOf(one.text)}` }),
              one.jobs.some(({ since }) => since !== null) && make("p", { className: "hint" }, "The clock is running."),
            ),
          ),
        ),
        make("div", { className: "row" }, button(begun ? `Go on with ${begun}` : "Begin with a product", () => start(false), { className: "main" }), begun && button("Begin another", () => start(true)), button("Open a file", openFile)),
        make("details", {}, make("summary", {}, "Look at an example"), make("div", { id: "examples" }, make("p", { className: "faint" }, "Coming …"))),
        make("details", {}, make("summary", {}, list.length > 0 ? "Keep the shelf, or bring it back" : "Bring back a shelf that you kept"), list.length > 0 && make("p", {}, "The shelf is kept in this browser on this device only. In a private window it is gone when the window closes, and clearing the browser's data clears it. Download it now and then."), make("div", { className: "row" }, list.length > 0 && button("Download the whole shelf", () => shelf.takeAway()), button("Bring a shelf back", bringBack))),
      ),
    );
    examples();
  }

  async function examples() {
    let said;
    try {
      said = await engine.sure({ ask: "examples" });
    } catch {
      // That nothing can be reckoned is said above everything.
      return;
    }
    $("examples")?.replaceChildren(make("ul", { className: "plain-list" }, said.examples.map(({ title, text }) => make("li", {}, button(title, () => open(onShelf(text)))))));
  }

  function takeOff(one) {
    const back = shelf.drop(one.id);
    notice("shelf", `${titleOf(one.text)} is off the shelf.`, [
      button("Put it back", () => {
        back();
        hush("shelf");
        home();
      }),
    ]);
    home();
  }

  async function openFile() {
    take(await chooseFiles(".toml,.json,text/plain", true));
  }

  async function bringBack() {
    take(await chooseFiles(".json", false));
  }

  /** The product with this text; a new one where there is none. */
  const onShelf = (text) => shelf.list().find((one) => one.text === text)?.id ?? shelf.add(text);

  /** Takes in files: shelves are unpacked, tables are logs of the product that is seen, anything else is a product's text. */
  function take(read) {
    let first = null;
    for (const { name, text } of read) {
      if (/\.csv$/i.test(name)) takeLog(name, text);
      else if (/\.json$/i.test(name)) bringShelf(name, text);
      else {
        const one = onShelf(text);
        first ??= one;
      }
    }
    if (first) open(first);
    else if (id === null) home();
  }

  /** A log of the product that is seen; the library says which of the two it is. */
  function takeLog(name, text) {
    const mine = id;
    if (mine === null) {
      notice("file", `${name} is a log. Open the product that it belongs to first, then drop it again.`);
      return;
    }
    inTurn(async () => {
      const { sales } = await engine.sure({ ask: "kind", log: text });
      if (id === mine) page.question(sales ? "sold" : "fit");
      putLog(mine, sales ? "sales" : "log", sales ? "sales log" : "log", { name, text });
    });
  }

  function bringShelf(name, text) {
    const { back, there } = shelf.bringBack(text) ?? {};
    if (back === undefined) notice("file", `${name} is no shelf of ours. Choose a file that "Download the whole shelf" gave.`);
    else say(`${back === 1 ? "1 product is" : `${back} products are`} back on the shelf.${there > 0 ? ` ${there === 1 ? "1 was" : `${there} were`} there already.` : ""}`);
  }

  function open(one) {
    id = one;
    hush("shelf");
    shelf.opened(id);
    answers.forget();
    asked = { text: product().text, log: product().log, sales: product().sales };
    room = "answers";
    show();
    answers.ask();
    scrollTo(0, 0);
    $("room").focus({ preventScroll: true });
  }

  /** A product changed, perhaps in another window: what is seen follows. */
  function changed(which, elsewhere) {
    if (!product()) {
      // The shelf is seen, or what was seen is gone from it.
      if (id !== null || !document.body.classList.contains("beginning")) home();
      return;
    }
    if (which === null && !shelf.list().some((one) => one.id === id)) notice("window", "Another window took this off the shelf. It is kept here as long as this window is open; change something, and it is on the shelf again.");
    if (which !== id) return;
    head();
    if (id === desk.id) desk.tell(product().text);
    if (elsewhere) notice("window", "Another window changed this; Undo brings back what stood here.");
    if (room === "file") file.follow();
    if (room === "clock") clock.tell();
    if (room === "selling") selling.tell();
    const { text, log, sales } = product();
    if (text !== asked.text || log !== asked.log || sales !== asked.sales) answers.ask();
    asked = { text, log, sales };
  }

  addEventListener("dragover", (event) => event.preventDefault());
  addEventListener("drop", async (event) => {
    if (event.dataTransfer.files.length === 0) return;
    event.preventDefault();
    take(await readFiles(event.dataTransfer.files));
  });
  addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.altKey || id === null) return;
    const key = event.key.toLowerCase();
    if (key === "s" && id === desk.id) {
      event.preventDefault();
      page.save();
    }
    // Where a text is being typed, the browser takes back letters of it.
    if (event.target.matches?.("textarea, input[type=text]")) return;
    if (key === "z" || key === "y") {
      event.preventDefault();
      step(key === "y" || event.shiftKey ? "redo" : "undo");
    }
  });

  /** Behind the changes that are on their way: what was typed last is what is taken back. */
  function step(way) {
    const mine = id;
    inTurn(() => {
      const said = shelf[way](mine);
      if (said) seen(way === "undo" ? `Taken back: ${said}.` : `Again: ${said}.`);
    });
  }

  /** One change after the other. */
  function inTurn(act) {
    alterations += 1;
    busy.begin("change");
    altering = altering
      .then(act)
      .catch((error) => notice("engine", `This could not be changed: ${error.message}. Try it again.`))
      .then(() => {
        alterations -= 1;
        if (alterations === 0) busy.end("change");
      });
    return altering;
  }

  // Other rooms look the same in any width, and keep what is being typed.
  wide.addEventListener("change", () => {
    if (!product()) return;
    if (room === "answers" || room === "figures") show();
    else rooms();
  });

  return {
    product,
    /** What is being typed is taken first. */
    save() {
      if (document.activeElement?.matches("input, textarea")) document.activeElement.dispatchEvent(new Event("change"));
      return inTurn(async () => {
        const { text } = shelf.get(desk.id);
        if (desk.unsaved(text)) await desk.save(text);
        head();
      });
    },
    open,
    home,
    enter,
    inTurn,
    /** Another question about the same product. */
    question(which) {
      answers.choose(which);
      enter("answers");
      answers.ask();
    },
    /** Changes the text of the product that is seen, as `changes` say; `stroke` binds changes of one movement. */
    alter(said, changes, stroke) {
      const mine = id;
      return inTurn(async () => {
        const one = shelf.get(mine);
        if (!one) return;
        const reply = await engine.sure({ ask: "look", text: one.text, changes });
        if (reply.unchanged) notice("change", spoken(reply.unchanged));
        else hush("change");
        if (!shelf.change(mine, said, { text: reply.text }, { stroke, of: one })) notice("change", "Your figures were changed elsewhere meanwhile. Look at them, and do this again.");
      });
    },
    /** What the library said of the text. */
    told(said) {
      if (both() || room === "answers") answers.tell(said);
      if (both() || room === "figures") figures.tell(said);
      if (room === "file") file.tell(said);
      if (room === "clock") clock.told();
    },
    /** Faults as a list, each with its cure and the way to it. */
    faults(said) {
      const one = ({ what, cure, line, column, excerpt }) =>
        make(
          "li",
          {},
          spoken(what),
          make("span", { className: "cure" }, sentence(spoken(cure))),
          button(`Line ${line}`, () => {
            enter("file");
            const area = $("text");
            const lines = area.value.split("\n");
            const from = lines.slice(0, line - 1).reduce((sum, l) => sum + l.length + 1, 0) + [...(lines[line - 1] ?? "")].slice(0, column - 1).join("").length;
            area.focus();
            area.setSelectionRange(from, from + Math.max(excerpt.length, 1));
          }),
        );
      const many = said.faults.length;
      return make("div", { className: "wrong" }, make("p", {}, many === 1 ? "One thing must be mended before there is an answer." : `${many} things must be mended before there is an answer.`), make("ul", {}, said.faults.map(one)));
    },
    start() {
      // A web host has the page for older browsers beside this one.
      if (hosted && !engine.runs && !engine.plain) {
        location.replace("old.html");
        return;
      }
      $("to-shelf").addEventListener("click", home);
      $("undo").addEventListener("click", () => step("undo"));
      $("redo").addEventListener("click", () => step("redo"));
      shelf.begin(changed);
      engine.ready.catch((error) => {
        const cure = engine.plain ? "Open the page in a browser of 2021 or later." : "Open the page in a browser of 2023 or later. For this one, whoever has the program can write another page: batchwright page --for-old-browsers --out bench.html";
        notice("engine", `This browser cannot run what this page reckons with. ${error.message} ${cure}`);
      });
      $("save").addEventListener("click", () => this.save());
      home();
      // Whoever's clock runs is at that piece.
      const timed = shelf.list().find(({ jobs }) => jobs.some(({ since }) => since !== null));
      if (timed) {
        open(timed.id);
        enter("clock");
      }
      onHost();
      const given = $("given");
      if (given) open(JSON.parse(given.textContent).map((text) => shelf.add(text))[0]);
      if (desk.here) desk.begin().then((file) => file && open(file));
    },
  };

  /** From a web host it can be kept on the device, and works without a network afterwards. */
  function onHost() {
    if (!hosted) return;
    document.head.append(make("link", { rel: "manifest", href: "manifest.webmanifest" }));
    // The page for older browsers has an address that is passed on; only a browser that needs it keeps it.
    navigator.serviceWorker?.register(engine.plain && !engine.vectors ? "service.js?page=old.html" : "service.js").catch(() => {});
    navigator.storage?.persist?.().catch(() => {});
  }
})();

page.start();
