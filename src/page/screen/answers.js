// The room of answers: one question, its answer in a sentence, the chart, the figures, the fine print folded. Few batches answer at
// once while something changes; all of them follow when the hand rests.

const answers = (() => {
  /** So long a hand rests before the full answer is asked for, in milliseconds. */
  const REST = 300;
  /** A quick answer should take so long at the most. */
  const BLINK = 25;
  const FEWEST = 100;
  const FIRST = 1000;

  let question = "sweep";
  let size = null;
  let due = "";
  let start = "";
  let against = new Set();
  /** What is gone over: { key, from, to } as text. */
  let along = null;
  /** What was said last: the reply, and whether from all batches. */
  let last = null;
  let resting = 0;
  let asked = 0;
  /** Batches of a quick answer, by question. */
  const few = new Map();

  function asking(quick) {
    const product = page.product();
    const about = QUESTIONS[question];
    return {
      ask: "look",
      text: product.text,
      before: shelf.before(product.id),
      question,
      size: (about.sized && size) || (quick && about.sized && last?.answer?.question === question && last.answer.size) || null,
      trials: quick ? (few.get(question) ?? FIRST) : null,
      start: about.dated ? start || today() : null,
      due: about.dated && due ? due : null,
      wide: (drawnFor = Math.round(Math.min(1200, $("answer")?.clientWidth || drawnFor || 700))),
      log: about.log ? product.log : "",
      over: about.over && along ? [`${along.key}=${along.from}..${along.to}`] : [],
      others: about.others ? [...against].map((id) => shelf.get(id)?.text).filter(Boolean) : [],
    };
  }

  /** Asks anew: soon, and in full when nothing more comes. */
  function ask() {
    asked += 1;
    clearTimeout(resting);
    engine.hold();
    answer(true, asked);
    resting = setTimeout(() => answer(false, asked), REST);
  }

  async function answer(quick, mine) {
    const product = page.product();
    if (!product) return;
    const what = question;
    const since = performance.now();
    let said;
    try {
      said = await (quick ? engine.soon : engine.full)(asking(quick));
    } catch (error) {
      if (error instanceof engine.Ended) return;
      notice("engine", `This could not be computed: ${error.message}. Undo the last change, or open the page anew.`);
      return;
    }
    // Nothing of what comes late is shown: neither about another product nor behind a newer or a fuller answer.
    if (page.product() !== product || mine !== asked || what !== question) return;
    if (said.refused) {
      notice("engine", `This could not be asked: ${said.refused}`);
      return;
    }
    hush("engine");
    // For whoever measures.
    performance.measure(`${quick ? "quick" : "full"} answer`, { start: since, detail: what });
    if (said.answer) {
      said.answer.question = question;
      if (quick) paceOf(said);
    }
    const unknown = QUESTIONS[question].over && !along;
    last = { ...said, quick, id: product.id };
    if (unknown && $("details")) {
      details();
      ask();
      return;
    }
    page.told(last);
    if (!quick && said.answer) say([said.answer.opening.join(" "), ...said.against].join(" "));
  }

  /** How many batches the next quick answer has time for: a round number that a little more or less time does not move. */
  function paceOf({ spent: took, answer: { trials } }) {
    const now = few.get(question) ?? FIRST;
    const fit = Math.max(FEWEST, Math.min(50_000, (trials * BLINK) / Math.max(took, 0.5)));
    const digit = 10 ** Math.floor(Math.log10(fit));
    const round = Math.floor(fit / digit) * digit;
    if (took > 45 || round >= 2 * now) few.set(question, round);
  }

  // -------------------------------------------------------------------------------------------------------------------
  // What is seen

  /** A chart is drawn for its width: for another width it is drawn anew. */
  let drawnFor = 0;
  const watched = new ResizeObserver(([{ contentRect }]) => {
    if (drawnFor > 0 && Math.abs(contentRect.width - drawnFor) > 16) ask();
  });

  function show(box) {
    box.replaceChildren(
      make("div", { className: "asking" }, field("I want to know", choice(Object.entries(QUESTIONS).map(([key, { asks }]) => [key, asks]), question, choose, { id: "question" })), make("div", { id: "details" })),
      make("div", { id: "against", className: "against" }),
      make("article", { id: "answer", "aria-labelledby": "answer-head" }),
      make("section", { id: "sharper", "aria-labelledby": "sharper-head" }),
    );
    watched.disconnect();
    watched.observe($("answer"));
    details();
    if (last?.id === page.product().id && last.answer?.question === question) tell(last);
    else $("answer").replaceChildren(make("p", { className: "faint" }, "Reckoning …"));
  }

  function choose(next) {
    question = next;
    details();
    ask();
  }

  /** What else this question is told. */
  function details() {
    const about = QUESTIONS[question];
    const parts = [];
    const ends = (change) => (event) => {
      change(event.target);
      ask();
    };
    if (about.sized) {
      const take = ends((input) => (size = input.valueAsNumber >= 1 && Number.isInteger(input.valueAsNumber) ? input.valueAsNumber : null));
      parts.push(field("Pieces in the batch", make("input", { type: "number", id: "size", min: 1, max: 10000, step: 1, value: size ?? "", placeholder: "as many as pay", on: { input: take } })));
    }
    if (about.dated) {
      parts.push(field("I start on", make("input", { type: "date", value: start || today(), on: { change: ends((input) => (start = input.value)) } })));
      parts.push(field("It is due on (if it is)", make("input", { type: "date", value: due, on: { change: ends((input) => (due = input.value)) } })));
    }
    if (about.others) {
      const rest = shelf.list().filter(({ id }) => id !== page.product().id);
      const toggle = (id) => ends((input) => (input.checked ? against.add(id) : against.delete(id)));
      parts.push(
        make(
          "fieldset",
          {},
          make("legend", {}, "Set it against"),
          rest.map(({ id, text }) => make("label", { className: "tick" }, make("input", { type: "checkbox", checked: against.has(id), on: { change: toggle(id) } }), ` ${titleOf(text)}`)),
          rest.length === 0 && make("p", { className: "hint" }, "There is no other product on the shelf yet. Put one there first."),
        ),
      );
    }
    if (about.over) parts.push(...alongWhat(ends));
    $("details").replaceChildren(...parts);
  }

  /** Which figure is gone over, and from where to where. */
  function alongWhat(ends) {
    const form = last?.form ?? [];
    const choices = form.flatMap((group) =>
      group.fields
        .filter((one) => one.figures?.numbers.length === 1)
        .map((one) => {
          const key = [group.section, group.entry === null ? null : group.name, one.key].filter(Boolean).join(".");
          return { key, words: `${group.name ?? SECTIONS[group.section] ?? group.section}: ${one.key.replace(/_/g, " ")}`, one };
        }),
    );
    if (choices.length === 0) return [];
    const begin = ({ key, one }) => {
      const { value } = one.figures.numbers[0];
      const unit = one.figures.numbers[0].hours_and_minutes ? " min" : one.figures.between.at(-1);
      const round = (x) => Number(x.toPrecision(2));
      along = { key, from: `${round(value * 0.7)}${unit}`, to: `${round(value * 1.4) || 1}${unit}` };
    };
    if (!choices.some(({ key }) => key === along?.key)) begin(choices.find(({ key }) => key === "sale.price") ?? choices[0]);
    const pick = (key) => {
      begin(choices.find((one) => one.key === key));
      details();
      ask();
    };
    const end = (which) => make("input", { type: "text", value: along[which], autocomplete: "off", on: { change: ends((input) => (along[which] = input.value.trim())) } });
    return [field("The figure", choice(choices.map(({ key, words }) => [key, words]), along.key, pick)), field("From", end("from")), field("To", end("to"))];
  }

  function tell(said) {
    const box = $("answer");
    if (!box) return;
    $("against").replaceChildren(...said.against.map((line) => make("p", {}, line)));
    sharper(said);
    const faults = said.faults.length;
    if (QUESTIONS[question].log && !page.product().log.trim()) {
      box.replaceChildren(make("h1", { id: "answer-head" }, QUESTIONS[question].asks), make("p", { className: "opening" }, "Nothing is timed yet."), make("p", {}, "Time a batch with the clock, or open a log that you kept elsewhere."), button("To the clock", () => page.enter("clock"), { className: "main" }));
      return;
    }
    if (faults > 0 || said.cannot) {
      const offer = QUESTIONS[question].offer;
      const needs = said.cannot && offer && said.form && OFFERS[offer].lacks(said.form);
      box.replaceChildren(
        make("h1", { id: "answer-head" }, QUESTIONS[question].asks),
        faults > 0 ? page.faults(said) : make("p", { className: "opening" }, said.cannot),
        needs ? offerForm(offer, said.form, (changes, words) => page.alter(words, changes)) : "",
      );
      return;
    }
    if (!said.answer) return;
    box.replaceChildren(...sheet(said));
  }

  function sheet(said) {
    const { answer, quick } = said;
    const [first, ...others] = answer.opening;
    const opened = new Set([...$("answer").querySelectorAll("details[open]")].map((one) => one.dataset.of));
    const fold = (of, words, ...inside) => make("details", { data: { of }, open: opened.has(of) }, make("summary", {}, words), inside);
    const drawn = answer.chart && picture(answer.chart);
    const many = answer.trials.toLocaleString("en-GB");
    return [
      make("h1", { id: "answer-head" }, QUESTIONS[question].asks),
      rough(said.form) && make("p", { className: "rough" }, make("b", {}, "Rough. "), "Every time stands as one number, so no bad day is in it yet. Under Figures, say what a quick day and a bad day take."),
      make("p", { className: "opening" }, first),
      others.map((line) => make("p", { className: "then" }, line)),
      answer.why.length > 0 && make("p", {}, answer.why.join(" ")),
      drawn && make("figure", { className: "chart", role: "group", tabIndex: 0, "aria-label": "Chart; the table below says the same" }, drawn),
      answer.tables.map(table),
      answer.whole.map(([k, whole]) => fold(`whole-${k}`, `${whole.name}: all ${whole.rows.length} rows`, table({ ...whole, notes: [] }))),
      answer.more.length > 0 && fold("more", "What else there is to know", answer.more.map((line) => make("p", {}, line))),
      answer.small.length > 0 && fold("small", "How to read the figures", answer.small.map((line) => make("p", { className: "small" }, line))),
      fold("take", "Take it along", make("div", { className: "row" }, button("Figures for a spreadsheet (CSV)", () => take("csv")), button("Every figure (JSON)", () => take("json")), answer.chart && button("The chart (SVG)", () => download(fileName(answer.about, `-${question}.svg`), answer.chart, "image/svg+xml")))),
      said.fitted && taken(said.fitted),
      answer.care && make("p", { className: "care" }, answer.care),
      answer.trials > 0 && make("p", { className: "faint made" }, quick ? `A quick look at ${many} batches; the full answer follows.` : `From ${many} simulated batches.`),
    ].flat(9).filter((part) => part !== false && part !== null && part !== "");
  }

  /** What the log would change, and the button that does it. */
  function taken({ text, changes }) {
    const one = ([owner, key, was, now]) => make("li", {}, make("b", {}, owner || "All times together"), `, ${key.replace(/_/g, " ")}: `, was ? `${was.replace(/^"|"$/g, "")} becomes ` : "", now.replace(/^"|"$/g, ""));
    return make("section", { className: "rough" }, make("h2", {}, "Put into your figures what it really took"), make("ul", {}, changes.map(one)), button("Put it in", () => shelf.change(page.product().id, "what it really took", { text }), { className: "main", id: "take-fit" }));
  }

  function table({ name, head, rows, notes }) {
    const top = head.map((line) =>
      make("tr", {}, line.map((h) => (h.text ? make("th", { scope: h.columns > 1 ? "colgroup" : "col", colspan: h.columns, rowspan: h.rows, className: h.figures ? "figure" : "" }, h.text) : make("td", { rowspan: h.rows })))),
    );
    const body = rows.map((row) =>
      make("tr", { className: row.marked ? "marked" : "" }, row.cells.map((cell) => make(cell.heads ? "th" : "td", { scope: cell.heads ? "row" : null, className: cell.figures ? "figure" : "" }, cell.text))),
    );
    return [
      make("div", { className: "scroll", role: "group", tabIndex: 0, "aria-label": name }, make("table", {}, make("caption", {}, name), make("thead", {}, top), make("tbody", {}, body))),
      notes.map((note) => make("p", { className: "small" }, note)),
    ];
  }

  /** The whole figures of what is seen, as a file. */
  async function take(kind) {
    const said = await engine.sure({ ...asking(false), figures: true });
    if (said.answer) download(fileName(said.answer.about, `-${question}.${kind}`), said.answer[kind], kind === "csv" ? "text/csv" : "application/json");
  }

  /** Whether no time has a spread. */
  const rough = (form) => form && !stepsOf(form).some((group) => group.fields.some((one) => (one.figures?.numbers.length ?? 1) > 1));

  /** What could be told beyond, and might change the answer. */
  function sharper(said) {
    const box = $("sharper");
    if (!said.form) return;
    const open = box.querySelector("details[open]")?.dataset.of;
    const lacking = Object.keys(OFFERS).filter((name) => OFFERS[name].lacks(said.form));
    const known = lacking.join();
    if (box.dataset.known === known) return;
    box.dataset.known = known;
    box.replaceChildren(
      make("h2", { id: "sharper-head" }, "What could change this answer"),
      ...lacking.map((name) =>
        make("details", { data: { of: name }, open: open === name }, make("summary", {}, OFFERS[name].asks), offerForm(name, said.form, (changes, words) => page.alter(words, changes))),
      ),
    );
    box.hidden = lacking.length === 0;
  }

  return {
    show,
    ask,
    tell,
    /** Another product: what was said of the one before is forgotten. */
    forget() {
      last = null;
      size = null;
      against = new Set();
      along = null;
      if (!["sweep", "floor", "stress", "drivers"].includes(question)) question = "sweep";
    },
    /** Another question. */
    choose(next) {
      question = next;
    },
    /** What was read of the text last. */
    known: () => last,
  };
})();
