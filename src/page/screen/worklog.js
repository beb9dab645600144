// The log of what was timed, below the clock: its entries, which can be corrected and taken out, and one more put in by hand.

const worklog = (() => {
  /** So many entries are laid out at once. */
  const SHOWN = 50;
  /** What a column is called here. */
  const CALLED = { date: "Day", job: "Batch", step: "Step", what: "What was timed", pieces: "Pieces, or orders", rounds: "Rounds", minutes: "Time", spoiled: "Pieces spoiled", redone: "Pieces done again", note: "Note" };
  const EMPTY = { date: "", job: "", step: "", what: "", pieces: "", rounds: "", minutes: "", spoiled: "", redone: "", note: "" };
  const log = logOf("log", "log", () => {
    clock.counted();
    lay();
  });
  /** What is being typed: { of, entry, cells, wrong, open }. `entry`: the one that is corrected. */
  let draft = null;
  let listOpen = false;

  const nameOf = ({ cells: { date, job, step } }) => [step, job, date && dayOf(date)].filter(Boolean).join(", ");
  const same = (entry) => (one) => one.line === entry.line && JSON.stringify(one.cells) === JSON.stringify(entry.cells);

  /** As one says it: from 10 min on nobody tells parts of a minute. */
  const lasted = (minutes) => written(minutes < 10 ? minutes : Math.round(minutes));

  function took({ step, what: said, pieces, minutes, spoiled, redone }) {
    const what = clock.timed({ step, what: said });
    const one = what === "order" ? "order" : "piece";
    const many = pieces === "part" ? `part of ${one === "order" ? "an order" : "a piece"}` : pieces ? counted(Number(pieces), one) : what === "once" ? "once for the design" : "getting ready";
    const also = [spoiled > 0 && `${spoiled} spoiled`, redone > 0 && `${redone} done again`, what === "each" && "without getting ready"].filter(Boolean);
    return `${many} in ${lasted(Number(minutes))}${also.map((words) => `, ${words}`).join("")}`;
  }

  /** Lays the log anew, and leaves the clock above it alone: somebody may be pressing there. */
  function lay() {
    const old = $("log-section");
    const held = old?.contains(document.activeElement) && document.activeElement.id;
    old?.replaceWith(section());
    if (held) ($(held) ?? $("log-head")).focus({ preventScroll: true });
  }

  /** The part of the room that is about the log. */
  function section() {
    const product = page.product();
    if (!log.isRead() && log.known()?.of !== product.id) return make("section", { id: "log-section" }, make("h2", { id: "log-head", tabIndex: -1 }, "The log"), make("p", { className: "faint" }, "Reading …"));
    if (draft?.of !== product.id) draft = fresh();
    const { entries, unread } = log.known();
    const there = product.log.trim() !== "";
    return make(
      "section",
      { id: "log-section" },
      make("h2", { id: "log-head", tabIndex: -1 }, "The log"),
      unread ? make("div", { className: "wrong" }, make("p", { className: "opening lines" }, spoken(unread))) : make("p", {}, entries.length === 0 ? "Nothing is timed yet." : entries.length === 1 ? "One step is timed." : `${entries.length} steps are timed.`),
      entries.length > 0 && make("details", { id: "log-list", open: listOpen, on: { toggle: (event) => (listOpen = event.target.open) } }, make("summary", {}, "Look at what was timed, and correct it"), list(entries)),
      !unread && form(),
      make(
        "div",
        { className: "row" },
        entries.length > 0 && button("What did it really take?", () => page.question("fit"), { className: "main", id: "clock-fit" }),
        there && button("Download the log (CSV)", log.download),
        button(there ? "Open another log" : "Open a log", () => log.open("log")),
      ),
    );
  }

  const list = (entries) =>
    cardsOf([...entries].reverse(), SHOWN, (one) => {
      const { line, cells } = one;
      const called = (words) => ({ className: "plain", "aria-label": `${words}: ${nameOf(one)}, ${took(cells)}` });
      return make(
        "li",
        { className: "card" },
        make("p", {}, make("b", {}, cells.step), `: ${took(cells)}.`),
        make("p", { className: "faint" }, [cells.job, cells.date && dayOf(cells.date), cells.note].filter(Boolean).join(", ")),
        make("div", { className: "row" }, button("Correct", () => correct(one), { id: `log-correct-${line}`, ...called("Correct") }), button("Take out", () => takeOut(one), { id: `log-out-${line}`, ...called("Take out") })),
      );
    });

  const fresh = () => ({ of: page.product().id, entry: null, wrong: [], open: false, cells: { ...EMPTY, date: today(), job: log.known()?.entries?.at(-1)?.cells.job ?? "", step: answers.steps()[0] ?? "" } });

  function correct(entry) {
    const { minutes, what } = entry.cells;
    draft = { of: page.product().id, entry, wrong: [], open: true, cells: { ...entry.cells, minutes: written(Number(minutes)), what: what || "all" } };
    lay();
    $("log-minutes").focus();
    $("log-form").scrollIntoView({ block: "nearest" });
  }

  async function takeOut(entry) {
    const wrong = await log.change(`${entry.cells.step} out of the log`, (entries) => entries.some(same(entry)) && { line: entry.line });
    if (wrong?.length > 0) notice("log", plainly(wrong, CALLED).join(" "));
    if (wrong?.length !== 0) return;
    hush("log");
    if (draft?.entry) draft = fresh();
    lay();
    seen(`${nameOf(entry)}: taken out of the log. Undo brings it back.`);
    $("log-head")?.focus();
  }

  async function take(event) {
    event.preventDefault();
    const mine = draft;
    const { entry, cells } = mine;
    const minutes = minutesOf(cells.minutes);
    // A time that stays as it was typed is the library's to refuse; one that was not touched keeps all its digits.
    const time = entry && cells.minutes === written(Number(entry.cells.minutes)) ? entry.cells.minutes : minutes === null ? cells.minutes : String(rounded(minutes));
    const typed = { ...cells, minutes: time, what: cells.what === "all" ? "" : cells.what };
    const wrong = await log.change(entry ? "a corrected entry of the log" : `${cells.step} in the log`, (entries) => (!entry || entries.some(same(entry))) && { line: entry?.line, typed });
    if (wrong === null || draft !== mine) return;
    if (wrong.length > 0) {
      draft.wrong = wrong;
      draft.open = true;
      lay();
      $("log-wrong")?.focus();
      return;
    }
    draft = { ...fresh(), open: !entry };
    hush("log");
    lay();
    seen(entry ? "It is corrected. Undo takes it back." : "It is in the log. Undo takes it back.");
    $("log-head")?.focus();
  }

  function form() {
    const { cells } = draft;
    const keep = (key) => (value) => (cells[key] = value);
    const { input, lay: laid } = entryForm("log", CALLED, draft, take, () => {
      draft = fresh();
      lay();
      $("log-head").focus();
    });
    const number = { inputMode: "numeric" };
    const names = answers.steps().includes(cells.step) || !cells.step ? answers.steps() : [cells.step, ...answers.steps()];
    cells.step ||= names[0] ?? "";
    return laid(
      "Put in a time by hand",
      draft.open,
      make("div", { className: "pair" }, input("date", { type: "date" }), input("job")),
      field(CALLED.step, choice(names.map((name) => [name, name]), cells.step, keep("step"), { id: "log-step" })),
      field(CALLED.what, choice(clock.ways, cells.what || "all", keep("what"), { id: "log-what" })),
      make("div", { className: "pair" }, input("pieces", number), input("minutes", { placeholder: "1 h 30" })),
      make("div", { className: "pair" }, input("spoiled", number), input("redone", number)),
      input("note"),
    );
  }

  return {
    section,
    know: log.know,
    /** What is in the log, as far as it is read. */
    entries: () => (log.isRead() ? log.known().entries : []),
  };
})();
