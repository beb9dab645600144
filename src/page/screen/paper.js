// What is handed on: the sheet for a buyer, and the report. The library makes each as the program does, in a worker of its own that can be
// stopped; it is kept as a file.

const paper = (() => {
  const KINDS = {
    buyer: {
      words: "A sheet for a buyer",
      holds: "It says what you offer, what an order of each size costs, when it is ready and until when that holds. No cost, no hour and no margin of yours is in it.",
      make: "Make the sheet for a buyer",
      ending: "-offer.html",
    },
    maker: {
      words: "A report for yourself",
      holds: "It has every answer with its chart and its figures, what was assumed, and the file as you wrote it. It says what you earn, so it is not for a buyer.",
      make: "Make the report",
      ending: "-report.html",
    },
  };
  /** What is said about each, of which product. */
  let asked = {};
  /** What is on its way or was made last, by kind: { of, stop, words } or { of, text, name, remarks, cannot }. */
  const made = {};
  /** What of it is about the product that is seen, as it is. */
  const now = (kind) => {
    const { id, text } = page.product();
    return made[kind]?.of === id && (made[kind].stop || made[kind].text === text) ? made[kind] : {};
  };

  const current = () => {
    const { id } = page.product();
    if (asked.of !== id) asked = { of: id, buyer: { orders: "", channel: "", start: "", until: "" }, maker: { start: "", due: "" } };
    return asked;
  };

  const form = () => answers.known()?.form ?? [];
  /** Of the product's form, what the fields here hang on. */
  const hangs = () => JSON.stringify([has(form(), "hours"), form().filter(({ section }) => section === "channel").map(({ name }) => name)]);

  const section = () => make("div", { className: "cards", id: "paper", data: { hangs: hangs() } }, cards());

  function cards() {
    return Object.keys(KINDS).map((kind) => make("section", { className: "card", "aria-labelledby": `${kind}-head` }, make("h2", { id: `${kind}-head` }, KINDS[kind].words), make("p", { id: `${kind}-holds` }, KINDS[kind].holds), details(kind), make("div", { id: `${kind}-deed` }, deed(kind))));
  }

  /** What may be said about it; nothing must be. */
  function details(kind) {
    const said = current()[kind];
    const day = (key, words, hint) => field(words, make("input", { type: "date", value: said[key] || (key === "start" ? today() : ""), min: today(), on: { change: (event) => (said[key] = event.target.value) } }), hint);
    const bench = has(form(), "hours");
    const begins = bench && day("start", "I start on");
    const inside = kind === "buyer" ? [orderFields(said, form(), () => {}), begins, day("until", "It holds until", "Otherwise it holds for 30 days.")] : bench ? [begins, day("due", "It is due on (if it is)")] : [];
    return inside.length > 0 && make("details", { id: `${kind}-more`, open: $(`${kind}-more`)?.open }, make("summary", {}, kind === "buyer" ? "Which orders, and until when" : "From when, and when it is due"), make("div", { className: "pair inside" }, inside));
  }

  /** The button, what is on its way, or what came of it. */
  function deed(kind) {
    const { stop, words, cannot, name, remarks } = now(kind);
    // Who hears the page is told how far it is at the button, and not each time that it changes.
    if (stop) return [make("p", { className: "faint" }, "It is being made. Every batch is simulated for it, which takes a while."), make("p", { id: `${kind}-now` }, words), make("div", { className: "row" }, button("Stop", () => stop.abort(), { id: `${kind}-make`, "aria-describedby": `${kind}-now` }))];
    return [
      make("div", { className: "row" }, button(KINDS[kind].make, () => start(kind), { className: "main", id: `${kind}-make`, "aria-describedby": `${kind}-holds` })),
      cannot && make("p", { className: "wrong" }, spoken(cannot)),
      name && make("p", {}, `It is among your downloads: ${name}. Any browser opens it, and prints it too.`),
      remarks?.map((remark) => make("p", { className: "rough" }, make("b", {}, "For you alone. "), spoken(remark))),
    ];
  }

  function tell(kind) {
    const box = $(`${kind}-deed`);
    if (box) relaid(box, () => box.replaceChildren(...deed(kind).flat().filter(Boolean)));
  }

  async function start(kind) {
    const { id, text } = page.product();
    const { orders, channel, ...days } = current()[kind];
    const title = titleOf(text);
    const stop = new AbortController();
    const mine = (made[kind] = { of: id, stop, words: "" });
    const hear = ({ question, before, all }) => {
      mine.words = `Now it answers question ${before + 1} of ${all}: ${QUESTIONS[question].asks}`;
      if (now(kind) === mine && $(`${kind}-now`)) $(`${kind}-now`).textContent = mine.words;
    };
    busy.begin(stop);
    say("It is being made.");
    tell(kind);
    const ends = (came, words) => {
      busy.end(stop);
      say(words);
      // Meanwhile it may be made of another product.
      if (made[kind] !== mine) return;
      made[kind] = { of: id, text, ...came };
      if (page.product()) tell(kind);
    };
    let said;
    try {
      said = await engine.alone(
        { ask: "paper", reader: kind, text, file: id === desk.id ? desk.name : fileName(title, ".toml"), made: today(), start: days.start || null, due: days.due || null, until: days.until || null, orders: orders?.trim() ? piecesOf(orders) : null, channel: channel || null },
        stop.signal,
        hear,
      );
    } catch (error) {
      if (error instanceof engine.Ended) return ends({}, "Stopped.");
      return ends({ cannot: `It could not be made: ${error.message}. Try it again.` }, "It could not be made.");
    }
    const cannot = said.cannot ?? said.refused;
    if (cannot) return ends({ cannot }, cannot);
    const name = fileName(title, KINDS[kind].ending);
    download(name, said.html, "text/html");
    ends({ name, remarks: said.remarks }, [`${name} is among your downloads.`, ...said.remarks].join(" "));
  }

  return {
    section,
    /** The text was read anew: what may be said follows. */
    told() {
      const box = $("paper");
      if (!box) return;
      // What was made of another text is no longer spoken of.
      for (const kind of Object.keys(KINDS)) if (!now(kind).stop && $(`${kind}-deed`).childElementCount > 1) tell(kind);
      if (box.dataset.hangs === hangs()) return;
      box.dataset.hangs = hangs();
      relaid(box, () => box.replaceChildren(...cards()));
    },
    /** A sheet of these orders, sold this way. */
    offer(orders, channel) {
      Object.assign(current().buyer, { orders, channel });
    },
  };
})();
