// What is handed on: the sheet for a buyer, the report, and the report as a workbook. The library makes each as the program does, in a worker
// of its own that can be stopped; it is kept as a file.

const paper = (() => {
  const PAGE = { type: "text/html", opens: "Any browser opens it, and prints it too." };
  const READERS = {
    buyer: {
      words: "A sheet for a buyer",
      holds: "It says what you offer, what an order of each size costs, when it is ready and until when that holds. No cost, no hour and no margin of yours is in it.",
      files: { buyer: { ...PAGE, asks: "Make the sheet for a buyer", ending: "-offer.html" } },
    },
    maker: {
      words: "A report for yourself",
      holds: "It has every answer with its chart and its figures, what was assumed, and the file as you wrote it. A workbook has the same figures to reckon with, and on its sheet of sums you change a price or a time and see what an hour earns; charts that do not follow its figures are in the report alone. Both say what you earn, so they are not for a buyer.",
      files: {
        report: { ...PAGE, asks: "Make the report", ending: "-report.html" },
        workbook: { type: "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", opens: "A spreadsheet program opens it.", asks: "Make a workbook", ending: "-report.xlsx" },
      },
    },
  };
  /** What is said about each, of which product. */
  let asked = {};
  /** What is on its way or was made last, by reader: { of, kind, stop, words } or { of, kind, text, name, remarks, cannot }. */
  const made = {};
  /** What of it is about the product that is seen, as it is. */
  const now = (reader) => {
    const { id, text } = page.product();
    return made[reader]?.of === id && (made[reader].stop || made[reader].text === text) ? made[reader] : {};
  };

  const current = () => {
    const { id } = page.product();
    if (asked.of !== id) asked = { of: id, buyer: { orders: "", channel: "", start: "", until: "" }, maker: { start: "", due: "" } };
    return asked;
  };

  const form = () => answers.known()?.form ?? [];
  /** What a sheet for a buyer could say besides, and the file does not. */
  const lacks = () => ["maker", "contact", "description"].filter((key) => has(form(), "") && !has(form(), "", key));
  /** Of the product's form, what the fields here hang on. */
  const hangs = () => JSON.stringify([lacks(), has(form(), "hours"), form().filter(({ section }) => section === "channel").map(({ name }) => name)]);

  const section = () => make("div", { className: "cards", id: "paper", data: { hangs: hangs() } }, cards());

  function cards() {
    return Object.entries(READERS).map(([reader, { words, holds }]) => make("section", { className: "card", "aria-labelledby": `${reader}-head` }, make("h2", { id: `${reader}-head` }, words), make("p", { id: `${reader}-holds` }, holds), reader === "buyer" && who(), details(reader), make("div", { id: `${reader}-deed` }, deed(reader))));
  }

  /** What may be said about it; nothing must be. */
  function details(reader) {
    const said = current()[reader];
    const day = (key, words, hint) => field(words, make("input", { type: "date", value: said[key] || (key === "start" ? today() : ""), min: today(), on: { change: (event) => (said[key] = event.target.value) } }), hint);
    const bench = has(form(), "hours");
    const begins = bench && day("start", "I start on");
    const inside = reader === "buyer" ? [orderFields(said, form(), () => {}), begins, day("until", "It holds until", "Otherwise it holds for 30 days.")] : bench ? [begins, day("due", "It is due on (if it is)")] : [];
    return inside.length > 0 && make("details", { id: `${reader}-more`, open: $(`${reader}-more`)?.open }, make("summary", {}, reader === "buyer" ? "Which orders, and until when" : "From when, and when it is due"), make("div", { className: "pair inside" }, inside));
  }

  /** Who offers it and what it is, asked for where the file does not say it. */
  function who() {
    const keys = lacks();
    const fields = () => keys.map((key) => ({ key, words: sentence(wordOf("", key)), hint: rules.at("", key)?.about }));
    const changes = (typed) => {
      const put = keys.filter((key) => typed[key].trim()).map((key) => ({ do: "put", at: { section: "", entry: null, key }, written: typed[key].trim() }));
      return put.length > 0 ? put : "Write something in one of them.";
    };
    const done = async (put) => {
      await page.alter("who offers it", put);
      $("buyer-make")?.focus();
    };
    return keys.length > 0 && make("details", { id: "buyer-who", open: $("buyer-who")?.open }, make("summary", {}, "Who offers it, and what it is"), make("div", { className: "inside" }, askForm({ fields, changes }, form(), done)));
  }

  /** The buttons, what is on its way, or what came of it. */
  function deed(reader) {
    const { files } = READERS[reader];
    const { stop, kind, words, cannot, name, remarks } = now(reader);
    // Who hears the page is told how far it is at the button, and not each time that it changes.
    if (stop) return [make("p", { className: "faint" }, "It is being made. Every batch is simulated for it, which takes a while."), make("p", { id: `${reader}-now` }, words), make("div", { className: "row" }, button("Stop", () => stop.abort(), { id: `${kind}-make`, "aria-describedby": `${reader}-now` }))];
    return [
      make("div", { className: "row" }, Object.entries(files).map(([kind, { asks }], k) => button(asks, () => start(reader, kind), { className: k === 0 ? "main" : "", id: `${kind}-make`, "aria-describedby": `${reader}-holds` }))),
      cannot && make("p", { className: "wrong" }, spoken(cannot)),
      name && make("p", {}, `It is among your downloads: ${name}. ${files[kind].opens}`),
      remarks?.map((remark) => make("p", { className: "rough" }, reader === "buyer" && make("b", {}, "For you alone. "), spoken(remark))),
    ];
  }

  function tell(reader) {
    const box = $(`${reader}-deed`);
    if (box) relaid(box, () => box.replaceChildren(...deed(reader).flat().filter(Boolean)));
  }

  async function start(reader, kind) {
    const { id, text } = page.product();
    const { orders, channel, ...days } = current()[reader];
    const { ending, type } = READERS[reader].files[kind];
    const title = titleOf(text);
    const stop = new AbortController();
    const mine = (made[reader] = { of: id, kind, stop, words: "" });
    const hear = ({ question, before, all }) => {
      mine.words = `Now it answers question ${before + 1} of ${all}: ${QUESTIONS[question].asks}`;
      if (now(reader) === mine && $(`${reader}-now`)) $(`${reader}-now`).textContent = mine.words;
    };
    busy.begin(stop);
    say("It is being made.");
    tell(reader);
    const ends = (came, words) => {
      busy.end(stop);
      say(words);
      // Meanwhile it may be made of another product.
      if (made[reader] !== mine) return;
      made[reader] = { of: id, kind, text, ...came };
      if (page.product()) tell(reader);
    };
    let said;
    try {
      said = await engine.alone(
        { ask: "paper", kind, text, file: id === desk.id ? desk.name : fileName(title, ".toml"), made: today(), start: days.start || null, due: days.due || null, until: days.until || null, orders: orders?.trim() ? piecesOf(orders) : null, channel: channel || null },
        stop.signal,
        hear,
      );
    } catch (error) {
      if (error instanceof engine.Ended) return ends({}, "Stopped.");
      return ends({ cannot: `It could not be made: ${error.message}. Try it again.` }, "It could not be made.");
    }
    const cannot = said.cannot ?? said.refused;
    if (cannot) return ends({ cannot }, cannot);
    const name = fileName(title, ending);
    download(name, said.html ?? new Uint8Array(said.workbook), type);
    ends({ name, remarks: said.remarks }, [`${name} is among your downloads.`, ...said.remarks].join(" "));
  }

  return {
    section,
    /** The text was read anew: what may be said follows. */
    told() {
      const box = $("paper");
      if (!box) return;
      // What was made of another text is no longer spoken of.
      for (const reader of Object.keys(READERS)) if (!now(reader).stop && $(`${reader}-deed`).childElementCount > 1) tell(reader);
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
