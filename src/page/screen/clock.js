// The clock for the bench. A job is a batch on its way: the clock says since when and how long before that, so that it goes on while
// the page sleeps, is locked or is opened anew. What is done with goes into the log as a line that `fit` reads, and the log says in turn how
// many pieces are still to come to a step.

const clock = (() => {
  /** Longer than this at a stretch is asked about: somebody may have gone home. */
  const LONG = 4 * 3600_000;
  const NO_PIECES = "Write how many pieces are in it, a whole number from 1.";
  const WHAT = [
    ["all", "Getting ready and pieces"],
    ["setup", "Getting ready only"],
    ["each", "Pieces only"],
    ["order", "Orders: packing, posting"],
    ["once", "What is done once for the design"],
  ];
  let box = null;
  let at = null;
  /** The batch that is about to be put on the bench, as far as it is typed: { of, name, pieces, open }. */
  let next = null;
  /** Whether the time and the pieces are being set by hand. */
  let setting = false;
  /** What was done last, until the next is begun: { of, words }. It stands where it hides nothing. */
  let told = null;
  /** The steps as they were laid out last. */
  let laid = "";

  const whole = (value) => Number.isSafeInteger(value) && value >= 0;
  /** Whether it is a job as it is kept here, and not something else that was in a file. */
  const sound = (job) =>
    typeof job?.id === "string" && typeof job.name === "string" && typeof job.step === "string" && WHAT.some(([what]) => what === job.what) && whole(job.pieces) && whole(job.counted) && whole(job.spoiled) && whole(job.redone) && Number.isFinite(job.spent) && (job.since === null || Number.isFinite(job.since));

  const fresh = (step) => ({ step, what: "all", counted: 0, spoiled: 0, redone: 0, spent: 0, since: null });
  const elapsed = (job, now = Date.now()) => Math.max(0, job.spent + (job.since === null ? 0 : now - job.since));

  function shown(ms) {
    const s = Math.floor(ms / 1000);
    const two = (n) => String(n).padStart(2, "0");
    return `${Math.floor(s / 3600)}:${two(Math.floor(s / 60) % 60)}:${two(s % 60)}`;
  }

  function put(said, job, others = (one) => one) {
    const product = page.product();
    at = job.id;
    shelf.change(product.id, said, { jobs: product.jobs.map((one) => (one.id === job.id ? job : others(one))) });
  }

  /** Whether it has run for so long that somebody may have gone home. */
  const ranLong = (job) => job.since !== null && Date.now() - job.since > LONG;
  const stopped = (job, now) => (job.since === null ? job : { ...job, spent: elapsed(job, now), since: null });
  function keysOf(name) {
    const step = stepsOf(answers.known()?.form ?? []).find((group) => group.name === name);
    return new Set(step?.fields.map(({ key }) => key).filter((key) => takes(step, key)));
  }
  /** Whether a step takes time per order alone, or only once. */
  const bare = (keys) => !keys.has("setup") && !keys.has("each") && (keys.has("per_order") || keys.has("once"));
  /** What is timed: where nothing is said, what the step takes its time for, as `fit` understands it. A log says nothing for `all`. */
  function timed({ step, what }) {
    const keys = keysOf(step);
    if ((what && what !== "all") || !bare(keys)) return what || "all";
    return keys.has("per_order") ? "order" : "once";
  }
  /** Whether pieces are counted, and may be spoiled; it may be orders, or nothing. */
  const ofPieces = (what) => what === "all" || what === "each";

  /** How many pieces of a batch were done at a step, by the log, and how many more are to come to it. A piece that is spoiled was worked on up
   * to the step that spoils it, and comes to none behind. One that is done again is no other piece. */
  function standing(job, step, entries) {
    const before = answers.steps().slice(0, Math.max(0, answers.steps().indexOf(step)));
    let [done, come] = [0, job.pieces];
    for (const { cells } of entries) {
      if (cells.job !== job.name || !ofPieces(timed(cells))) continue;
      if (before.includes(cells.step)) come -= Number(cells.spoiled);
      if (cells.step === step && Number(cells.redone) < Number(cells.pieces)) done += Number(cells.pieces);
    }
    return { done, due: Math.max(0, come - done) };
  }

  function show(into) {
    box = into;
    tell();
  }

  /** The job that is seen: what was at hand last, so that Undo brings it back before one's eyes; else one that runs. */
  function current() {
    const { jobs } = page.product();
    return jobs.find((one) => one.id === at) ?? jobs.find((one) => one.since !== null) ?? jobs[0];
  }

  /** Lays everything anew, the focus kept where it was. */
  function tell() {
    if (!box?.isConnected) return;
    const held = box.contains(document.activeElement) && document.activeElement.id;
    laid = answers.steps().join("\n");
    const { jobs } = page.product();
    const job = current();
    box.replaceChildren(
      make("h1", {}, job ? job.name : "The clock"),
      !job ? make("p", { className: "help" }, "Time your work as you do it. It goes on while the phone is locked, and afterwards you see what a piece really takes.") : "",
      job ? bench(job) : "",
      jobs.length > 1 ? others(jobs, job) : "",
      start(jobs),
      worklog.section(),
    );
    if (held !== false) ($(held) ?? (held.startsWith("log-") ? $("log-head") : null) ?? $("clock-run") ?? $("clock-yes") ?? $("clock-name"))?.focus();
  }

  function bench(job) {
    const list = answers.steps();
    const names = list.includes(job.step) ? list : [job.step, ...list];
    const runs = job.since !== null;
    const keys = keysOf(job.step);
    const what = timed(job);
    const ways = WHAT.filter(([way]) => way === job.what || (way === "order" ? keys.has("per_order") : way === "once" ? keys.has("once") : true));
    return make(
      "div",
      { className: "bench", id: "bench" },
      field("Step", choice(names.map((name) => [name, name]), job.step, (step) => moved(job, step), { id: "clock-step" })),
      told?.of === job.id && elapsed(job) === 0 && job.counted === 0 && make("p", { id: "clock-told", className: "hint" }, told.words),
      make("div", { className: "time", id: "time", role: "timer", "aria-label": "Time at this step", data: { job: job.id } }, shown(elapsed(job))),
      ranLong(job) ? gone(job) : button(runs ? "Stop" : elapsed(job) > 0 ? "Go on" : "Start", () => run(job), { className: "main huge", id: "clock-run" }),
      ofPieces(what) ? pieces(job) : what === "order" ? orders(job) : "",
      make("div", { className: "row" }, button("Done with this step", () => done(job), { className: "main", id: "clock-done" })),
      make("p", { className: "wrong", id: "clock-wrong", role: "alert", hidden: true }),
      !bare(keys) && field("What you are timing", choice(ways, job.what, (what) => put("what is timed", { ...job, what }), { id: "clock-what" })),
      byHand(job),
      make("div", { className: "row" }, button("Put this batch away", () => drop(job), { className: "plain", id: "clock-drop" })),
    );
  }

  /** The pieces at this step, counted as they are handled. A piece that is spoiled took its time too, so it is one of them. */
  function pieces(job) {
    const { counted, spoiled, redone } = job;
    const { done, due } = standing(job, job.step, worklog.entries());
    const open = counted < due;
    const also = [spoiled > 0 && `, ${spoiled} of them spoiled`, redone > 0 && `, ${redone} done again`].filter(Boolean);
    const spoils = () => put("one spoiled", { ...job, counted: counted + (open ? 1 : 0), spoiled: spoiled + 1 });
    return [
      make(
        "div",
        { className: "count" },
        make("p", { className: "counted" }, make("b", {}, String(counted)), `${due > 0 ? ` of ${due}` : ""} piece${(due || counted) === 1 ? "" : "s"}${also.join("")}`),
        done > 0 && make("p", { className: "hint" }, due > 0 ? `${done} more ${done === 1 ? "is" : "are"} in the log at this step already.` : `${done === 1 ? "It is" : `All ${done} are`} in the log at this step already. Press "One done again" for each that you do over.`),
        button("One piece more", () => put("one piece more", { ...job, counted: counted + 1 }), { className: "huge", id: "clock-piece" }),
        due > 1 && open && button(`All ${due}`, () => put("all pieces", { ...job, counted: due }), { id: "clock-all" }),
      ),
      make(
        "div",
        { className: "halves" },
        button(open ? "One more, but spoiled" : "One of them is spoiled", spoils, { id: "clock-spoiled", disabled: !open && spoiled >= counted }),
        button("One done again", () => put("one done again", { ...job, redone: redone + 1 }), { id: "clock-redone" }),
      ),
    ];
  }

  function orders(job) {
    const count = make("p", { className: "counted" }, make("b", {}, String(job.counted)), job.counted === 1 ? " order" : " orders");
    return make("div", { className: "count" }, count, button("One order more", () => put("one order more", { ...job, counted: job.counted + 1 }), { className: "huge", id: "clock-piece" }));
  }

  /** The clock goes along to another step: that one was meant, or the time is the other step's. */
  function moved(job, step) {
    put("the step", { ...job, step });
    if (elapsed(job) > 0 || job.counted > 0) seen(`This time and count go to ${step} now. If they belong to ${job.step}, press Undo, and then "Done with this step".`);
  }

  /** Starts or stops; one pair of hands does one thing, so another job that runs is stopped. One that was forgotten is asked about first. */
  function run(job) {
    if (job.since !== null) {
      put("stopping the clock", stopped(job));
      return;
    }
    const forgotten = page.product().jobs.find(ranLong);
    if (forgotten) {
      at = forgotten.id;
      tell();
      seen(`${forgotten.name} still runs. Say first how long you were at it.`);
      return;
    }
    const other = page.product().jobs.find((one) => one.since !== null);
    put("starting the clock", { ...job, since: Date.now() }, (one) => stopped(one));
    if (other) seen(`${other.name} is stopped meanwhile.`);
    for (const { id, text, jobs } of shelf.list()) {
      if (id === page.product().id || !jobs.some((one) => one.since !== null)) continue;
      notice("clock", `The clock of ${titleOf(text)} still runs.`, [button("Look at it", () => {
        hush("clock");
        page.open(id);
        page.enter("clock");
      })]);
    }
  }

  /** Who forgot to start or to stop, or put another number of pieces on the bench, says what is right. */
  function byHand(job) {
    const time = make("input", { type: "text", id: "clock-time", placeholder: "1 h 30", autocomplete: "off" });
    const count = make("input", { type: "number", id: "clock-pieces", min: 1, max: rules.most("log"), step: 1, value: job.pieces });
    const wrong = make("p", { className: "wrong", hidden: true, role: "alert" });
    const take = () => {
      const stays = time.value.trim() === "";
      const minutes = minutesOf(time.value);
      wrong.textContent = !stays && minutes === null ? "Write the time as a time, for example 1 h 30." : count.value === "" || !count.validity.valid ? NO_PIECES : "";
      wrong.hidden = wrong.textContent === "";
      if (!wrong.hidden) return;
      setting = false;
      put("the time and the pieces by hand", { ...job, ...(stays ? {} : { spent: minutes * 60_000, since: job.since === null ? null : Date.now() }), pieces: count.valueAsNumber });
      $("clock-run")?.focus();
    };
    return make(
      "details",
      { id: "clock-hand", open: setting, on: { toggle: (event) => (setting = event.target.open) } },
      make("summary", {}, "Set the time by hand"),
      make("div", { className: "pair" }, field("Time at this step so far", time, "Leave it empty if the clock is right."), field("Pieces in this batch", count)),
      wrong,
      button("Set it so", take, { id: "clock-set" }),
    );
  }

  /** It ran for long: did somebody go home? */
  function gone(job) {
    const since = new Date(job.since).toLocaleString("en-GB", { weekday: "short", hour: "2-digit", minute: "2-digit" });
    const input = make("input", { type: "text", id: "clock-worked", placeholder: "1 h 30", autocomplete: "off" });
    const wrong = make("p", { className: "wrong", hidden: true, role: "alert" }, "Write it as a time no longer than the clock ran, for example 1 h 30.");
    const take = () => {
      const minutes = minutesOf(input.value);
      wrong.hidden = minutes !== null && minutes * 60_000 <= Date.now() - job.since;
      if (wrong.hidden) put("how long it was", { ...job, spent: job.spent + minutes * 60_000, since: null });
    };
    return make(
      "div",
      { className: "rough" },
      make("p", {}, `The clock has run since ${since}. Were you at it all that time?`),
      make("div", { className: "row" }, button("Yes, all of it", () => put("stopping the clock", stopped(job)), { id: "clock-yes" })),
      field("No, since then I worked", input),
      wrong,
      button("Take that and stop", take, { id: "clock-no" }),
    );
  }

  /** The step's line goes into the log, and the next step is laid out. */
  async function done(job) {
    const product = page.product();
    const pressed = Date.now();
    const minutes = Math.round((elapsed(job, pressed) / 60_000) * 100) / 100;
    const what = timed(job);
    const list = answers.steps();
    if (ranLong(job)) return refuse("Say first, above, whether you were at it all that time.");
    if (minutes === 0) return refuse("The clock has not run at this step yet. Press Start first, choose the step that you are at, or set the time by hand, below.");
    // Where pieces are done again and no other is done, that goes on with what the log has of them.
    const again = ofPieces(what) && job.counted === 0 && job.redone > 0 && worklog.entries().findLast(({ cells }) => cells.job === job.name && cells.step === job.step && ofPieces(timed(cells)));
    if (!again && job.counted === 0 && (ofPieces(what) || what === "order")) return refuse(`Count first: how many ${what === "order" ? "orders" : "pieces"} did you handle?`);
    const typed = {
      date: today(),
      job: job.name,
      step: job.step,
      // What the step says itself needs no column of the log.
      what: again ? again.cells.what : job.what === "all" && what !== "once" ? "" : what,
      pieces: again ? "part" : job.counted > 0 ? String(job.counted) : "",
      minutes: String(minutes),
      spoiled: ofPieces(what) && job.spoiled ? String(job.spoiled) : "",
      redone: ofPieces(what) && job.redone ? String(job.redone) : "",
    };
    let said;
    try {
      said = await engine.sure({ ask: "log", text: product.text, log: product.log, typed });
    } catch (error) {
      said = { wrong: [{ why: `This could not be written into the log: ${error.message}. Nothing is lost; try it again.` }] };
    }
    // Whoever changed something meanwhile is not overruled.
    const now = page.product();
    if (now?.id !== product.id) return;
    if (now !== product) {
      const again = now.jobs.find((one) => one.id === job.id);
      if (again) await done(again);
      return;
    }
    if (said.unread) return refuse("The log below cannot be read, so nothing was written into it, and your time is still here. Mend the log, or open another.");
    if (said.wrong.length > 0) return refuse(spoken(said.wrong.map(({ why }) => why).join(" ")));
    const setup = job.what === "setup";
    // Behind the last step comes one at which some pieces are left.
    const left = (step) => {
      const { done, due } = standing(job, step, said.entries);
      return done > 0 && due > 0;
    };
    const after = setup ? job.step : (list[list.indexOf(job.step) + 1] ?? list.find(left) ?? null);
    const onward = after === null ? null : { ...job, ...fresh(after), what: setup ? "each" : "all" };
    const jobs = product.jobs.map((one) => (one.id === job.id ? onward : one)).filter(Boolean);
    setting = false;
    const words = `${job.step} is in the log. ${after === null ? "That was the last step." : `Next: ${after}${setup ? ", piece by piece" : ""}. Press Start when you begin.`}`;
    told = { of: job.id, words };
    worklog.know(said, product.id);
    // Undo brings the time back as it was told here: nobody knows what was done since.
    const jobsBack = product.jobs.map((one) => (one.id === job.id ? stopped(one, pressed) : one));
    shelf.change(product.id, `${job.step} in the log`, { log: said.log, jobs }, { brings: { jobs: jobsBack } });
    if (after === null) seen(words);
    else {
      say(words);
      // What was seen before is no news any more.
      $("seen").replaceChildren();
    }
    $("clock-run")?.focus();
  }

  function refuse(why) {
    const wrong = $("clock-wrong");
    wrong.hidden = false;
    wrong.textContent = clean(why);
  }

  function drop(job) {
    const product = page.product();
    shelf.change(product.id, `putting ${job.name} away`, { jobs: product.jobs.filter((one) => one.id !== job.id) });
    seen(`${job.name} is put away; Undo brings it back.`);
  }

  function others(jobs, shownJob) {
    const one = (job) =>
      make(
        "li",
        {},
        button([`${job.name}: ${job.step}, `, make("span", { data: { job: job.id } }, shown(elapsed(job))), job.since !== null && ", running"], () => {
          at = job.id;
          setting = false;
          tell();
        }),
      );
    return make("section", {}, make("h2", {}, "Also on the bench"), make("ul", { className: "plain-list" }, jobs.filter((job) => job !== shownJob).map(one)));
  }

  function start(jobs) {
    const list = answers.steps();
    const { id } = page.product();
    const day = new Date().toLocaleDateString("en-GB", { day: "numeric", month: "long" });
    if (next?.of !== id) next = { of: id, open: false };
    const mine = next;
    const keep = (key) => (event) => (mine[key] = event.target.value);
    const name = make("input", { type: "text", id: "clock-name", value: mine.name ?? `Batch of ${day}`, autocomplete: "off", on: { input: keep("name") } });
    const pieces = make("input", { type: "number", id: "clock-many", min: 1, max: rules.most("log"), step: 1, value: mine.pieces ?? answers.size() ?? "", on: { input: keep("pieces") } });
    const wrong = make("p", { className: "wrong", hidden: true, role: "alert" }, NO_PIECES);
    const go = (event) => {
      event.preventDefault();
      if (list.length === 0) {
        notice("clock", "There is no step to time yet. Say your steps under Figures first.");
        return;
      }
      wrong.hidden = pieces.value !== "" && pieces.validity.valid;
      if (!wrong.hidden) {
        pieces.focus();
        return;
      }
      const product = page.product();
      const entries = worklog.entries();
      // What the log calls so is another batch.
      const names = new Set([...product.jobs.map((job) => job.name), ...entries.map(({ cells }) => cells.job)]);
      // What is done once for the design comes first with the first batch alone.
      const first = list.find((step) => timed({ step }) !== "once" || entries.length === 0) ?? list[0];
      const wanted = name.value.trim() || `Batch of ${day}`;
      let called = wanted;
      for (let k = 2; names.has(called); k += 1) called = `${wanted} (${k})`;
      at = `${Date.now().toString(36)}`;
      next = null;
      setting = false;
      const job = { id: at, name: called, pieces: pieces.valueAsNumber, ...fresh(first) };
      shelf.change(product.id, `a job, ${called}`, { jobs: [...product.jobs, job] });
      $("clock-run")?.focus();
    };
    const form = make("form", { className: "offer", noValidate: true, on: { submit: go } }, field("What you call this batch", name), field("Pieces in it", pieces), wrong, make("button", { type: "submit", className: "main" }, "Put it on the bench"));
    return jobs.length === 0 ? form : make("details", { open: mine.open, on: { toggle: (event) => (mine.open = event.target.open) } }, make("summary", {}, "Put another batch on the bench"), form);
  }

  // One that is seen, running or not, as it stands.
  setInterval(() => {
    for (const time of document.querySelectorAll("[data-job]")) {
      const job = page.product()?.jobs.find((one) => one.id === time.dataset.job);
      if (job && job.since !== null) time.textContent = shown(elapsed(job));
    }
    const job = $("time") && current();
    if (job && ranLong(job) && !$("clock-yes")) tell();
  }, 500);

  return {
    show,
    sound,
    /** What can be timed, with its words. */
    ways: WHAT,
    timed,
    tell,
    /** The log was read: it is known how many pieces are left. */
    counted() {
      if ($("bench")) relaid($("bench"), () => $("bench").replaceChildren(...bench(current()).childNodes));
    },
    /** The text was read anew: what is shown changes only where its steps do, as somebody may be typing here. */
    told() {
      if (answers.steps().join("\n") !== laid) tell();
    },
  };
})();
