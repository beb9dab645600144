// The room of answers: one question, its answer in a sentence, the chart, the figures, the fine print folded. Few batches answer at
// once while something changes; when the hand rests, as many follow as are there before it moves on, then all that the command takes.

const answers = (() => {
  /** So long a hand rests before the full answer is asked for, in milliseconds. */
  const REST = 300;
  /** How long answers should take, in milliseconds, from when on they take fewer batches the next time, and with how many they begin. */
  const LOOKS = { quick: { should: 25, late: 45, first: 1000 }, full: { should: 280, late: 400, first: 10_000 } };
  const FEWEST = 100;
  /** After so many milliseconds of all batches it is said that they can be stopped. */
  const LONG = 1500;

  let question = "sweep";
  let size = null;
  /** The size that an answer spoke of last. */
  let spokenOf = null;
  let due = "";
  let start = "";
  /** What it is set against: pieces in a batch, or null for as many as are advised, by product. */
  let against = new Map();
  /** What is gone over: one figure or two, { key, from, to, unit } as text. */
  let along = [];
  /** Which orders are quoted (`orderFields`). */
  let quote = { orders: "", channel: "" };
  /** Steps that keep their own times. */
  let logged = new Set();
  /** What was said last: the reply, and how far it looked. */
  let last = null;
  let resting = 0;
  let asked = 0;
  /** Batches of a look, by question and product: { quick, full, whole }. */
  const batches = new Map();
  const batchesOf = (which) => {
    const of = `${which} ${page.product()?.id}`;
    if (!batches.has(of)) batches.set(of, { quick: LOOKS.quick.first, full: LOOKS.full.first, whole: Infinity });
    return batches.get(of);
  };

  /** `look`: quick, full, or whole, which is as the command answers. */
  function asking(look) {
    const quick = look === "quick";
    const product = page.product();
    const about = QUESTIONS[question];
    const beside = about.others ? [...against].filter(([id]) => shelf.get(id)) : [];
    return {
      ask: "look",
      text: product.text,
      before: shelf.before(product.id),
      was: wasOf(shelf.before(product.id)),
      question,
      size: sizeOf() || (quick && about.sized && last?.answer?.question === question && last.answer.size) || null,
      trials: look === "whole" ? null : batchesOf(question)[look],
      start: about.dated ? start || today() : null,
      due: about.dated && due ? due : null,
      wide: (drawnFor = Math.round(Math.min(1200, $("answer")?.clientWidth || drawnFor || 700))),
      log: about.log ? product.log : about.sales ? product.sales : "",
      today: today(),
      over: about.over ? along.map(valuesOf) : [],
      orders: about.orders && quote.orders.trim() ? piecesOf(quote.orders) : null,
      channel: (about.orders && quote.channel) || null,
      logged: about.log ? [...logged] : [],
      others: beside.map(([id]) => shelf.get(id).text),
      sizes: beside.map(([, pieces]) => pieces),
    };
  }

  /** The size that was chosen, where the question takes so many. */
  const sizeOf = () => (QUESTIONS[question].sized && !(size > rules.most(question)) ? size : null);

  /** What is known of the text before the changes, so that it is not simulated again with each of them. */
  let was = { text: null, found: [] };
  const wasOf = (text) => {
    if (was.text !== text) was = { text, found: [] };
    return was.found;
  };

  /** Asks anew: soon, and in full when nothing more comes. */
  function ask() {
    asked += 1;
    rowOf(null);
    clearTimeout(resting);
    engine.hold();
    busy.begin("answer");
    answer("quick", asked);
    resting = setTimeout(() => {
      const { full, whole } = batchesOf(question);
      answer(QUESTIONS[question].log || full >= whole ? "whole" : "full", asked);
    }, REST);
  }

  async function answer(look, mine) {
    const product = page.product();
    if (!product) {
      over(mine);
      return;
    }
    const what = question;
    const before = shelf.before(product.id);
    const since = performance.now();
    let said;
    try {
      const sent = asking(look);
      said = await (look === "quick" ? engine.soon : engine.full)(sent);
      // Where the command takes no more than that, this is all.
      if (look === "full" && !QUESTIONS[what].own && said.answer?.trials < sent.trials) look = "whole";
    } catch (error) {
      if (error instanceof engine.Ended) return;
      over(mine);
      // What a browser lacks is said already, with its cure.
      if (!engine.runs) return;
      notice("engine", `This could not be computed: ${error.message}. What is seen is from before. Ask again, or undo the last change.`, [button("Ask again", ask)]);
      return;
    }
    if (said.cannot && QUESTIONS[what].over && along.some(({ from, to }) => !(Math.abs(Number.parseFloat(from) - Number.parseFloat(to)) > 0))) {
      said.cannot = "Write from where to where the figure goes: two amounts as they stand at the figure itself, one below the other.";
    }
    // Nothing of what comes late is shown: neither about another product nor behind a newer or a fuller answer.
    if (page.product()?.id !== product.id || mine !== asked || what !== question) {
      if (look !== "quick") over(mine);
      return;
    }
    if (said.refused) {
      over(mine);
      notice("engine", `This could not be asked: ${said.refused}.`);
      return;
    }
    if (look !== "quick") hush("engine");
    // For whoever measures.
    performance.measure(`${look} answer`, { start: since, detail: what });
    if (said.was && before === was.text) was.found = [said.was, ...was.found].slice(0, 8);
    if (said.answer) {
      said.answer.question = what;
      spokenOf = said.answer.size ?? spokenOf;
      paceOf(look, said);
    }
    const unknown = QUESTIONS[question].over && along.length === 0;
    last = { ...said, look, id: product.id, question: what };
    if (unknown && $("details")) {
      details();
      ask();
      return;
    }
    page.told(last);
    if (look === "quick") return;
    if (said.answer) tellAloud([said.answer.opening.join(" "), ...changeSaid(said)].join(" "), mine);
    if (look === "full" && said.answer) {
      all(mine);
      return;
    }
    over(mine);
    tryOffers(mine);
  }

  /** Those who hear the page are told an answer once, and again where all batches say something else. */
  let told = {};
  function tellAloud(words, mine) {
    if (told.words !== words || told.mine !== mine) say(words);
    told = { words, mine };
  }

  /** Nothing follows this question any more. */
  function over(mine) {
    if (mine !== asked) return;
    rowOf(null);
    busy.end("answer");
  }

  /** How it stands with all batches, where they take long: null, going or stopped. */
  let allOfThem = null;
  let waiting = 0;

  /** All batches, behind an answer from fewer. */
  function all(mine) {
    rowOf(null);
    waiting = setTimeout(() => rowOf("going"), LONG);
    answer("whole", mine);
  }

  function rowOf(now) {
    clearTimeout(waiting);
    allOfThem = now;
    const held = document.activeElement?.id === "all-batches";
    $("under-way")?.remove();
    const made = $("answer")?.querySelector(".made");
    if (now === "stopped" && made) made.textContent = madeOf(last);
    if (now) made?.after(underWay());
    if (held) ($("all-batches") ?? $("answer-head"))?.focus({ preventScroll: true });
  }

  function underWay() {
    const stop = () => {
      engine.hold();
      rowOf("stopped");
      busy.end("answer");
    };
    const again = () => {
      busy.begin("answer");
      all(asked);
    };
    const going = allOfThem === "going";
    return make("div", { id: "under-way", className: "row" }, make("p", { className: "faint" }, going ? "All of them take a while." : "You stopped here. The figures are those of the batches so far."), going ? button("Stop here", stop, { id: "all-batches" }) : button("Reckon all of them", again, { id: "all-batches" }));
  }

  /** How many batches the next look has time for: a round number that a little more or less time does not move. */
  function paceOf(look, { spent: took, answer: { trials } }) {
    const known = batchesOf(question);
    if (look === "whole") {
      known.whole = trials;
      if (took <= LOOKS.full.late) return;
      // All at once took too long: the next time fewer come before them.
      look = "full";
    }
    if (trials === 0) return;
    const { should, late } = LOOKS[look];
    const fit = Math.max(FEWEST, Math.min(50_000, (trials * should) / Math.max(took, 0.5)));
    const digit = 10 ** Math.floor(Math.log10(fit));
    const round = Math.floor(fit / digit) * digit;
    if (took > late || round >= 2 * known[look]) known[look] = round;
  }

  // -------------------------------------------------------------------------------------------------------------------
  // What is seen

  /** A chart is drawn for its width: for another width it is drawn anew. */
  let drawnFor = 0;
  const watched = new ResizeObserver(([{ contentRect }]) => {
    // What has left the page has no width.
    if (drawnFor > 0 && contentRect.width > 0 && Math.abs(contentRect.width - drawnFor) > 16) ask();
  });

  function show(box) {
    box.replaceChildren(
      make("div", { className: "asking" }, field("I want to know", choice(Object.entries(QUESTIONS).map(([key, { asks }]) => [key, asks]), question, choose, { id: "question" })), make("div", { id: "details" })),
      make("div", { id: "against", className: "against" }),
      make("div", { id: "against-more" }),
      make("article", { id: "answer", "aria-labelledby": "answer-head" }),
      make("section", { id: "sharper", "aria-labelledby": "sharper-head" }),
    );
    watched.disconnect();
    watched.observe($("answer"));
    details();
    if (last?.id === page.product().id && last.question === question) tell(last);
    else $("answer").replaceChildren(make("p", { className: "faint" }, "Reckoning …"));
  }

  const rest = () => shelf.list().filter(({ id }) => id !== page.product().id);

  function choose(next) {
    question = next;
    // Where there is only one other, it is meant.
    if (QUESTIONS[next].others && against.size === 0 && rest().length === 1) against.set(rest()[0].id, null);
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
    /** How many pieces a batch has; null where nothing is written, or nothing that can be. */
    const pieces = (words, id, now, take) => {
      const wrong = make("p", { className: "wrong", hidden: true, role: "alert" });
      const read = ends((input) => {
        const most = rules.most(question);
        input.max = most ?? "";
        wrong.hidden = input.validity.valid;
        wrong.textContent = `Write a whole number of pieces, from 1${most ? ` to ${most.toLocaleString("en-GB")}` : ""}. Until then it is about as many as are advised.`;
        take(input.validity.valid && input.value ? input.valueAsNumber : null);
      });
      return make("div", {}, field(words, make("input", { type: "number", id, min: 1, step: 1, value: now ?? "", placeholder: "as advised", on: { input: read } })), wrong);
    };
    if (about.sized) parts.push(pieces(about.others ? `Pieces in a batch of ${titleOf(page.product().text)}` : "Pieces in the batch", "size", sizeOf(), (now) => (size = now)));
    if (about.dated) {
      parts.push(field("I start on", make("input", { type: "date", value: start || today(), on: { change: ends((input) => (start = input.value)) } })));
      parts.push(field("It is due on (if it is)", make("input", { type: "date", value: due, on: { change: ends((input) => (due = input.value)) } })));
    }
    if (about.others) {
      const toggle = (id) =>
        ends((input) => {
          if (input.checked) against.set(id, null);
          else against.delete(id);
          relaid($("details"), details);
        });
      parts.push(
        make(
          "fieldset",
          {},
          make("legend", {}, "Set it against"),
          rest().map(({ id, text }) => [
            make("label", { className: "tick" }, make("input", { type: "checkbox", id: `against-${id}`, checked: against.has(id), on: { change: toggle(id) } }), ` ${titleOf(text)}`),
            against.has(id) && pieces(`Pieces in a batch of ${titleOf(text)}`, `size-${id}`, against.get(id), (now) => against.set(id, now)),
          ]),
          rest().length === 0 && make("p", { className: "hint" }, "There is no other product on the shelf yet. Put one there first."),
        ),
      );
    }
    if (about.over) parts.push(...alongWhat(ends));
    if (about.orders) parts.push(...orderFields(quote, last?.form ?? [], ask));
    if (about.log) parts.push(...whichSteps(ends));
    $("details").replaceChildren(...parts);
  }

  /** Which steps keep the times that were logged, one by one. */
  function whichSteps(ends) {
    const { log } = page.product();
    const names = answers.steps().filter((name) => log.includes(name));
    logged = new Set([...logged].filter((name) => names.includes(name)));
    if (names.length === 0) return [];
    const toggle = (name) => ends((input) => (input.checked ? logged.add(name) : logged.delete(name)));
    return [
      make(
        "details",
        { className: "wide", open: logged.size > 0 },
        make("summary", {}, "Keep a step's own times, one by one"),
        make("p", { className: "hint" }, "Each time that you timed is then equally likely to come again. It takes five times at least; nineteen are better."),
        make("fieldset", {}, make("legend", {}, "Steps that keep their own times"), names.map((name) => make("label", { className: "tick" }, make("input", { type: "checkbox", checked: logged.has(name), on: { change: toggle(name) } }), ` ${name}`))),
      ),
    ];
  }

  /** Which figure is gone over, or which two, and from where to where. */
  function alongWhat(ends) {
    const form = last?.form ?? [];
    const choices = form.flatMap((group) =>
      group.fields
        .filter((one) => one.figures?.numbers.length === 1)
        .map((one) => {
          return { key: pathOf(group, one.key), words: `${partOf(group)}: ${wordOf(group.section, one.key)}`, one };
        }),
    );
    if (choices.length === 0) return [];
    const begun = ({ key, one }) => {
      const [number] = one.figures.numbers;
      const unit = number.hours_and_minutes ? " min" : one.figures.between.at(-1);
      const round = (x) => Number(x.toPrecision(2));
      return { key, from: `${round(number.value * 0.7)}${unit}`, to: `${round(number.value * 1.4) || 1}${unit}` };
    };
    along = along.filter(({ key }) => choices.some((one) => one.key === key));
    if (along.length === 0) along = [begun(choices.find(({ key }) => key === "sale.price") ?? choices[0])];
    const again = () => {
      details();
      ask();
    };
    const open = (k) => choices.filter(({ key }) => !along.some((one, j) => j !== k && one.key === key));
    const one = (now, k) => {
      const pick = (key) => {
        along[k] = begun(choices.find((one) => one.key === key));
        again();
      };
      const end = (which) => make("input", { type: "text", value: now[which], autocomplete: "off", on: { change: ends((input) => (now[which] = withPoint(input.value.trim()))) } });
      return [field(k === 0 ? "The figure" : "The second figure", choice(open(k).map(({ key, words }) => [key, words]), now.key, pick)), field("From", end("from")), field("To", end("to"))];
    };
    const second =
      along.length === 1
        ? open(1).length > 0 &&
          button("Go over a second figure too", () => {
            along.push(begun(open(1)[0]));
            again();
          })
        : button("Leave the second figure as it is", () => {
            along.pop();
            again();
          });
    return [...along.flatMap(one), second && make("div", { className: "row" }, second)].filter(Boolean);
  }

  /** The values of one figure as the library takes them; of two there are fewer each, as every pair is simulated. */
  function valuesOf({ key, from: one, to: other }) {
    const [from, to] = Number.parseFloat(one) > Number.parseFloat(other) ? [other, one] : [one, other];
    const span = (Number.parseFloat(to) - Number.parseFloat(from)) / 8;
    if (along.length < 2 || !(span > 0)) return `${key}=${from}..${to}`;
    const power = 10 ** Math.floor(Math.log10(span));
    const step = [1, 2, 5, 10].find((f) => span <= f * power * 1.000001) * power;
    const unit = /[^\d.\s].*$/.exec(to)?.[0] ?? "";
    return `${key}=${from}..${to} step ${Number(step.toPrecision(1))} ${unit}`.trim();
  }

  /** What is another figure than when the product was opened, and what that does; empty where nothing is. */
  function changeSaid({ changed, against }) {
    if (changed.length === 0) return [];
    const many = changed.length > 1;
    const [{ section, key, was, now }] = changed;
    const whose = partOf(changed[0]);
    const what = key && `${whose}, ${wordOf(section, key)}: `;
    const one = () => {
      if (!key) return now === null ? `${whose} is taken out.` : `${whose} is new.`;
      if (was === null) return `${what}${now} is new.`;
      return now === null ? `${what}${was} is taken out.` : `${what}${was} became ${now}.`;
    };
    return [many ? `Since you began, ${changed.length} figures changed.${against.length > 0 ? " What that does:" : ""}` : one(), ...against];
  }

  function tell(said) {
    const box = $("answer");
    if (!box) return;
    const [changed, hour, ...more] = changeSaid(said);
    $("against").replaceChildren(...[changed, hour].filter(Boolean).map((line) => make("p", {}, line)));
    $("against-more").replaceChildren(...more.map((line) => make("p", { className: "small" }, line)));
    sharper(said);
    const faults = said.faults.length;
    if (QUESTIONS[question].log && !page.product().log.trim()) {
      box.replaceChildren(head(), make("p", { className: "opening" }, "Nothing is timed yet."), make("p", {}, "Time a batch with the clock, or open a log that you kept elsewhere."), button("To the clock", () => page.enter("clock"), { className: "main" }));
      return;
    }
    if (QUESTIONS[question].sales && !page.product().sales.trim()) {
      box.replaceChildren(head(), make("p", { className: "opening" }, "Nothing is noted yet of what sold."), make("p", {}, "Note what you put up for sale and what sold, or open a log that you kept elsewhere."), button("To the sales", () => page.enter("selling"), { className: "main" }));
      return;
    }
    if (faults > 0 || said.cannot) {
      const offer = QUESTIONS[question].offer;
      const needs = said.cannot && offer && said.form && OFFERS[offer].lacks(said.form);
      box.replaceChildren(
        head(),
        faults > 0 ? page.faults(said) : make("p", { className: "opening lines" }, spoken(said.cannot)),
        needs ? offerForm(offer, said.form, putIn) : "",
        QUESTIONS[question].sales ? button("To the sales and their log", () => page.enter("selling"), { className: "main" }) : "",
        QUESTIONS[question].log ? button("To the clock and its log", () => page.enter("clock"), { className: "main" }) : "",
      );
      return;
    }
    if (!said.answer) return;
    const laid = sheet(said);
    const held = document.activeElement?.id === "all-batches";
    relaid(box, () => box.replaceChildren(...laid));
    if (held && !$("all-batches")) $("answer-head").focus({ preventScroll: true });
  }

  function sheet(said) {
    const { answer, look } = said;
    const [first, ...others] = answer.opening;
    const opened = new Set([...$("answer").querySelectorAll("details[open]")].map((one) => one.dataset.of));
    const fold = (of, words, ...inside) => make("details", { data: { of }, open: opened.has(of) }, make("summary", {}, words), inside);
    const drawn = answer.chart && picture(answer.chart);
    const doubted = (of, lines, where) =>
      lines.length > 0 && fold(of, `${lines.length === 1 ? "One thing" : `${lines.length} things`} in ${where} to look at again`, make("ul", {}, lines.map((line) => make("li", {}, sentence(spoken(line))))));
    return [
      head(),
      rough(said.form) && make("p", { className: "rough" }, make("b", {}, "Rough. "), "Every time stands as one number, so no bad day is in it yet. Under Figures, say what a quick day and a bad day take."),
      question === "season" && has(said.form ?? [], "steady") && make("p", { className: "hint" }, "Your figures name no season: it sells all year, and this is the answer for all year."),
      make("p", { className: "opening" }, first),
      others.map((line) => make("p", { className: "then" }, line)),
      answer.why.length > 0 && make("p", {}, answer.why.join(" ")),
      doubted("doubts", said.doubts, "your figures"),
      doubted("log-doubts", said.log_doubts, "the log"),
      drawn && readable(drawn, answer.readings),
      answer.tables.map(table),
      answer.whole.map(([k, whole]) => fold(`whole-${k}`, `${whole.name}: all ${whole.rows.length} rows`, table({ ...whole, notes: [] }))),
      answer.more.length > 0 && fold("more", "What else there is to know", answer.more.map((line) => make("p", {}, line))),
      answer.small.length > 0 && fold("small", "How to read the figures", answer.small.map((line) => make("p", { className: "small" }, line))),
      fold("take", "Take it along", make("div", { className: "row" }, button("Figures for a spreadsheet (CSV)", () => take("csv")), button("Every figure (JSON)", () => take("json")), answer.chart && button("The chart (SVG)", () => download(fileName(answer.about, `-${question}.svg`), answer.chart, "image/svg+xml")), button("A report, or a sheet for a buyer", () => page.enter("file")))),
      isIn() && putThere(),
      said.fitted && taken(said),
      QUESTIONS[question].orders && make("div", { className: "row" }, button("Make a sheet for a buyer of it", toOffer)),
      QUESTIONS[question].sales && make("div", { className: "row" }, button("To the sales and their log", () => page.enter("selling"))),
      answer.care && make("p", { className: "care" }, answer.care),
      answer.trials > 0 && make("p", { className: "faint made" }, madeOf(said)),
      look !== "whole" && allOfThem && underWay(),
    ].flat(9).filter(Boolean);
  }

  /** A sheet with the orders that are quoted here. */
  function toOffer() {
    paper.offer(quote.orders, quote.channel);
    page.enter("file");
    $("buyer-make").focus();
  }

  /** From how many batches an answer is, and whether more follow. */
  function madeOf({ look, answer: { trials } }) {
    const many = trials.toLocaleString("en-GB");
    if (look === "quick") return `A quick look at ${many} batches. More follow.`;
    return `From ${many} simulated batches.${look === "full" && allOfThem !== "stopped" ? " All of them follow." : ""}`;
  }

  const head = () => make("h1", { id: "answer-head", tabIndex: -1 }, QUESTIONS[question].asks);

  /** Puts in what was offered, and goes to what comes of it. */
  async function putIn(changes, words) {
    await page.alter(words, changes);
    $("answer-head")?.focus();
  }

  /** What a log changed in the figures last: { id, question, text, changes }. */
  let put = null;
  /** Whether that stands in the figures as they are. */
  const isIn = () => put?.id === page.product().id && put.question === question && put.text === page.product().text;

  const changesSaid = (changes, one) => make("ul", {}, changes.map((of) => make("li", {}, make("b", {}, partOf(of)), `, ${wordOf(of.section, of.key)}: `, one(of.was, of.now))));

  /** What the log would change, and the button that does it. */
  function taken({ text: of, fitted: { text, changes, doubt } }) {
    const { id } = page.product();
    const what = QUESTIONS[question].sales ? "what buyers did" : "what it really took";
    const tenths = changes.some((one) => one.tenths);
    let sure = !doubt;
    const take = () => {
      if (!sure) {
        sure = true;
        $("take-fit").textContent = "Put it in all the same";
        $("take-doubt").hidden = false;
        $("take-doubt").textContent = clean(`${spoken(doubt)} Are these times of this piece?`);
        return;
      }
      // Behind what was typed just before.
      page.inTurn(() => {
        if (!shelf.change(id, what, { text }, { of: { text: of } })) {
          notice("change", "Your figures changed after this was reckoned, so it was not put in. Look at what the log would change now, and put that in.");
          return;
        }
        hush("change");
        put = { id, question, text, changes };
        $("take-fit")?.closest("section").replaceWith(putThere());
        $("put-in")?.focus();
      });
    };
    return make(
      "section",
      { className: "rough" },
      make("h2", {}, isIn() ? "With that in your figures, the log would change this too" : `Put into your figures ${what}`),
      changesSaid(changes, (was, now) => (was ? `${was} becomes ${now}` : now)),
      tenths && make("p", { className: "small" }, "One time in ten it is less than the first number of a range, and one in ten more than the last."),
      make("p", { className: "wrong", id: "take-doubt", role: "alert", hidden: true }),
      button("Put it in", take, { className: "main", id: "take-fit" }),
    );
  }

  /** What the log changed, as long as it stands in the figures. */
  function putThere() {
    return make(
      "section",
      { className: "rough", "aria-labelledby": "put-in" },
      make("h2", { id: "put-in", tabIndex: -1 }, "This is in your figures now"),
      changesSaid(put.changes, (was, now) => (was ? `${now}; it was ${was}` : now)),
      make("p", {}, "Undo takes it out again."),
      button("What does that do to what I earn?", () => page.question("sweep")),
    );
  }

  function table({ name, head, rows, notes }) {
    const top = head.map((line) =>
      make("tr", {}, line.map((h) => (h.text ? make("th", { scope: h.columns > 1 ? "colgroup" : "col", colspan: h.columns, rowspan: h.rows, className: h.figures ? "figure" : "" }, h.text) : make("td", { rowspan: h.rows })))),
    );
    const body = rows.map((row) =>
      make("tr", { className: row.marked ? "marked" : "" }, row.cells.map((cell) => make(cell.heads ? "th" : "td", { scope: cell.heads ? "row" : null, className: cell.figures ? "figure" : "" }, cell.text))),
    );
    return [
      pushable(name, make("table", {}, make("caption", {}, make("span", {}, name)), make("thead", {}, top), make("tbody", {}, body))),
      notes.map((note) => make("p", { className: "small" }, note)),
    ];
  }

  /** Ends the file that is on its way. */
  let taking = new AbortController();

  /** The whole figures of what is seen, as a file; a newer one takes the place of one that is on its way. */
  async function take(kind) {
    const what = question;
    taking.abort();
    const mine = (taking = new AbortController());
    busy.begin(mine);
    hush("take");
    say("The file is on its way.");
    let said;
    try {
      said = await engine.alone({ ...asking("whole"), figures: true }, mine.signal);
    } catch (error) {
      if (!(error instanceof engine.Ended)) notice("take", `The file could not be made: ${error.message}. Try it again.`);
      return;
    } finally {
      busy.end(mine);
    }
    const { answer } = said;
    if (answer) download(fileName(answer.about, `-${what}.${kind}`), answer[kind], kind === "csv" ? "text/csv" : "application/json");
    else notice("take", `The file could not be made. ${spoken(said.cannot ?? said.refused ?? said.faults.map(({ what }) => what).join(" "))}`);
  }

  /** Whether no time has a spread: a range whose ends are the same has none. */
  const differs = ({ numbers }) => new Set(numbers.map((n) => n.value * n.worth)).size > 1;
  const rough = (form) => form && !stepsOf(form).some((group) => group.fields.some((one) => one.figures && differs(one.figures)));

  /** What could be told beyond. What changes nothing that matters in an ordinary case is not offered. */
  function sharper(said) {
    const box = $("sharper");
    if (!box || !said.form) return;
    const open = box.querySelector("details[open]")?.dataset.of;
    const lacking = Object.keys(OFFERS).filter((name) => OFFERS[name].lacks(said.form) && (!OFFERS[name].usual || name === open || tried.get(name)?.length > 0));
    const known = JSON.stringify([question, lacking, lacking.map((name) => tried.get(name)?.[0])]);
    if (box.dataset.known === known || box.contains(document.activeElement)) return;
    box.dataset.known = known;
    const one = (name) =>
      make(
        "details",
        { data: { of: name }, open: open === name },
        make("summary", {}, OFFERS[name].asks, tried.get(name)?.length > 0 && make("span", { className: "hint" }, tried.get(name).join(" "))),
        offerForm(name, said.form, putIn),
      );
    const [more, others] = [lacking.filter((name) => OFFERS[name].usual), lacking.filter((name) => !OFFERS[name].usual)];
    // They are tried with the batch that is advised there, whatever is asked here.
    const elsewhere = question === "sweep" ? [] : [make("p", { className: "hint" }, `The examples speak of what "${QUESTIONS.sweep.asks}" answers, with the batch that it advises.`)];
    box.replaceChildren(
      ...(more.length > 0 ? [make("h2", { id: "sharper-head" }, "What could change what you earn"), ...elsewhere, ...more.map(one)] : []),
      ...(others.length > 0 ? [make("h2", { id: more.length > 0 ? null : "sharper-head" }, "What you could ask too"), ...others.map(one)] : []),
    );
    box.hidden = lacking.length === 0;
  }

  /** What an ordinary case of each offer does to the answer, in sentences; none where it does nothing. */
  let tried = new Map();
  let triedOf = null;

  /** Tries each offer when nothing else is to be done. */
  async function tryOffers(mine) {
    const product = page.product();
    if (!product || !last?.form || last.faults.length > 0) return;
    if (triedOf !== product.text) tried = new Map();
    triedOf = product.text;
    const { form } = last;
    // As many batches as the whole answer has: no example contradicts it.
    const { whole } = batchesOf("sweep");
    const trials = Number.isFinite(whole) ? whole : null;
    const found = [];
    for (const [name, { lacks, usual }] of Object.entries(OFFERS)) {
      if (!usual || !lacks(form) || tried.has(name)) continue;
      const { words, changes } = usual(form, last.answer?.size ?? 10) ?? {};
      if (!changes) continue;
      let said;
      try {
        said = await engine.spare({ ask: "look", text: product.text, before: product.text, was: found, changes, question: "sweep", trials });
      } catch {
        // Something else is asked, and these come again after it.
        return;
      }
      if (mine !== asked) return;
      if (said.was) found.push(said.was);
      tried.set(name, said.moved.length > 0 ? [`For example, ${words}:`, ...said.moved.slice(0, 2)] : []);
    }
    if (last?.form) sharper(last);
  }

  return {
    show,
    ask,
    tell,
    /** Another product: what was said of the one before is forgotten. */
    forget() {
      last = null;
      size = null;
      spokenOf = null;
      against = new Map();
      due = start = "";
      along = [];
      quote = { orders: quote.orders, channel: "" };
      logged = new Set();
      if (!["sweep", "floor", "stress", "drivers"].includes(question)) question = "sweep";
    },
    /** Another question. */
    choose(next) {
      question = next;
    },
    /** What was read of the text last. */
    known: () => last,
    /** The names of its steps, in order. */
    steps: () => stepsOf(last?.form ?? []).map((group) => group.name).filter(Boolean),
    /** How many pieces an answer was about last; null where none was about so many. */
    size: () => spokenOf ?? size,
    /** The answer in a line or two: what a change does, or else the answer itself; empty where there is none. */
    inShort(said) {
      const change = changeSaid(said).slice(0, 2);
      return said.answer ? (change.length > 0 ? change : said.answer.opening.slice(0, 1)) : [];
    },
  };
})();
