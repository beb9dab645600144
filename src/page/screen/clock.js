// The clock for the bench. A job is a batch on its way: the clock says since when and how long before that, so that it goes on while
// the page sleeps, is locked or is opened anew. What is done with goes into the log as a line that `fit` reads.

const clock = (() => {
  /** Longer than this at a stretch is asked about: somebody may have gone home. */
  const LONG = 4 * 3600_000;
  const WHAT = [
    ["all", "Getting ready and pieces"],
    ["setup", "Getting ready only"],
    ["each", "Pieces only"],
    ["order", "Orders: packing, posting"],
    ["once", "What is done once for the design"],
  ];
  let box = null;
  let at = null;
  /** The steps as they were laid out last. */
  let laid = "";

  const whole = (value) => Number.isInteger(value) && value >= 0 && value < 1e6;
  /** Whether it is a job as it is kept here, and not something else that was in a file. */
  const sound = (job) =>
    typeof job?.id === "string" && typeof job.name === "string" && typeof job.step === "string" && WHAT.some(([what]) => what === job.what) && whole(job.pieces) && whole(job.counted) && whole(job.spoiled) && whole(job.redone) && Number.isFinite(job.spent) && (job.since === null || Number.isFinite(job.since));

  const fresh = (step) => ({ step, what: "all", counted: 0, spoiled: 0, redone: 0, spent: 0, since: null });
  const elapsed = (job) => Math.max(0, job.spent + (job.since === null ? 0 : Date.now() - job.since));

  function shown(ms) {
    const s = Math.floor(ms / 1000);
    const two = (n) => String(n).padStart(2, "0");
    return `${Math.floor(s / 3600)}:${two(Math.floor(s / 60) % 60)}:${two(s % 60)}`;
  }

  function put(said, job, others = (one) => one) {
    const product = page.product();
    shelf.change(product.id, said, { jobs: product.jobs.map((one) => (one.id === job.id ? job : others(one))) });
  }

  /** Whether it has run for so long that somebody may have gone home. */
  const ranLong = (job) => job.since !== null && Date.now() - job.since > LONG;
  const stopped = (job) => (job.since === null ? job : { ...job, spent: elapsed(job), since: null });
  const keysOf = (name) => new Set(stepsOf(answers.known()?.form ?? []).find((group) => group.name === name)?.fields.map((one) => one.key));
  /** Whether a step takes time per order alone, or only once. */
  const bare = (keys) => !keys.has("setup") && !keys.has("each") && (keys.has("per_order") || keys.has("once"));
  /** What is timed: where nothing is said, what the step takes its time for, as `fit` understands it. */
  function timed(job) {
    const keys = keysOf(job.step);
    if (job.what !== "all" || !bare(keys)) return job.what;
    return keys.has("per_order") ? "order" : "once";
  }
  const steps = () => stepsOf(answers.known()?.form ?? []).map((group) => group.name).filter(Boolean);

  function show(into) {
    box = into;
    tell();
  }

  /** Lays everything anew, the focus kept where it was. */
  function tell() {
    if (!box?.isConnected) return;
    const held = box.contains(document.activeElement) && document.activeElement.id;
    laid = steps().join("\n");
    const { jobs } = page.product();
    const job = jobs.find((one) => one.id === at) ?? jobs.find((one) => one.since !== null) ?? jobs[0];
    at = job?.id ?? null;
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
    const list = steps();
    const names = list.includes(job.step) ? list : [job.step, ...list];
    const runs = job.since !== null;
    const count = (key, by, said) => () => put(said, { ...job, [key]: Math.max(0, job[key] + by) });
    const keys = keysOf(job.step);
    const what = timed(job);
    const word = what === "order" ? "order" : "piece";
    const of = what === "order" ? 0 : job.pieces;
    const ways = WHAT.filter(([way]) => way === job.what || (way === "order" ? keys.has("per_order") : way === "once" ? keys.has("once") : true));
    return make(
      "div",
      { className: "bench" },
      field("Step", choice(names.map((name) => [name, name]), job.step, (step) => put("the step", { ...job, step }), { id: "clock-step" })),
      make("div", { className: "time", id: "time", role: "timer", "aria-label": "Time at this step" }, shown(elapsed(job))),
      ranLong(job) ? gone(job) : button(runs ? "Stop" : elapsed(job) > 0 ? "Go on" : "Start", () => run(job), { className: "main huge", id: "clock-run" }),
      what !== "setup" &&
        what !== "once" &&
        make(
          "div",
          { className: "count" },
          make("p", { className: "counted" }, make("b", {}, String(job.counted)), `${of ? ` of ${of}` : ""} ${word}${(of || job.counted) === 1 ? "" : "s"}`),
          button(`One ${word} more`, count("counted", 1, `one ${word} more`), { className: "huge", id: "clock-piece" }),
          of > 1 && of > job.counted && button(`All ${of}`, () => put("all pieces", { ...job, counted: job.pieces }), { id: "clock-all" }),
        ),
      make(
        "div",
        { className: "row" },
        button(`One spoiled${job.spoiled ? ` (${job.spoiled})` : ""}`, count("spoiled", 1, "one spoiled"), { id: "clock-spoiled" }),
        button(`One done again${job.redone ? ` (${job.redone})` : ""}`, count("redone", 1, "one done again"), { id: "clock-redone" }),
      ),
      !bare(keys) && field("What you are timing", choice(ways, job.what, (what) => put("what is timed", { ...job, what }), { id: "clock-what" })),
      make("div", { className: "row" }, button("Done with this step", () => done(job), { className: "main", id: "clock-done" }), button("Put this job away", () => drop(job), { className: "plain", id: "clock-drop" })),
      make("p", { className: "wrong", id: "clock-wrong", role: "alert", hidden: true }),
    );
  }

  /** Starts or stops; one pair of hands does one thing, so another job that runs is stopped. */
  function run(job) {
    if (job.since !== null) put("stopping the clock", stopped(job));
    else put("starting the clock", { ...job, since: Date.now() }, stopped);
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
    const minutes = Math.round((elapsed(job) / 60_000) * 100) / 100;
    const what = timed(job);
    const counts = what !== "setup" && what !== "once";
    if (ranLong(job)) return refuse("Say first, above, whether you were at it all that time.");
    if (minutes === 0) return refuse("The clock has not run at this step yet. Press Start first, or choose the step that you are at.");
    if (counts && job.counted === 0) return refuse(`Count first: how many ${what === "order" ? "orders" : "pieces"} did you handle?`);
    const typed = {
      date: today(),
      job: job.name,
      step: job.step,
      // What the step says itself needs no column of the log.
      what: job.what === "all" && what !== "once" ? "" : what,
      pieces: counts ? String(job.counted) : "",
      minutes: String(minutes),
      spoiled: job.spoiled ? String(job.spoiled) : "",
      redone: job.redone ? String(job.redone) : "",
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
    if (said.wrong.length > 0) return refuse(spoken(said.wrong.map(({ why }) => why).join(" ")));
    const list = steps();
    const after = job.what === "setup" ? job.step : (list[list.indexOf(job.step) + 1] ?? null);
    // What is spoiled goes no further.
    const left = job.what === "setup" ? job.pieces : Math.max(0, job.pieces - job.spoiled);
    const next = after === null ? null : { ...job, ...fresh(after), pieces: left, what: job.what === "setup" ? "each" : "all" };
    const jobs = product.jobs.map((one) => (one.id === job.id ? next : one)).filter(Boolean);
    worklog.know(said, product.id);
    shelf.change(product.id, `${job.step} in the log`, { log: said.log, jobs });
    say(after === null ? `${job.step} is in the log. That was the last step.` : `${job.step} is in the log. Next: ${after}.`);
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
        button(`${job.name}: ${job.step}, ${shown(elapsed(job))}${job.since === null ? "" : ", running"}`, () => {
          at = job.id;
          tell();
        }),
      );
    return make("section", {}, make("h2", {}, "Also on the bench"), make("ul", { className: "plain-list" }, jobs.filter((job) => job !== shownJob).map(one)));
  }

  function start(jobs) {
    const list = steps();
    const day = new Date().toLocaleDateString("en-GB", { day: "numeric", month: "long" });
    const name = make("input", { type: "text", id: "clock-name", value: `Batch of ${day}`, autocomplete: "off" });
    const pieces = make("input", { type: "number", min: 1, max: 999999, step: 1, value: answers.size() ?? "" });
    const wrong = make("p", { className: "wrong", hidden: true, role: "alert" }, "Write how many pieces are in it, a whole number from 1.");
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
      const names = new Set(product.jobs.map((job) => job.name));
      let called = name.value.trim() || `Batch of ${day}`;
      for (let k = 2; names.has(called); k += 1) called = `${name.value.trim() || `Batch of ${day}`} (${k})`;
      at = `${Date.now().toString(36)}`;
      const job = { id: at, name: called, pieces: pieces.valueAsNumber, ...fresh(list[0]) };
      shelf.change(product.id, `a job, ${called}`, { jobs: [...product.jobs, job] });
      $("clock-run")?.focus();
    };
    const form = make("form", { className: "offer", noValidate: true, on: { submit: go } }, field("What you call this batch", name), field("Pieces in it", pieces), wrong, make("button", { type: "submit", className: "main" }, "Put it on the bench"));
    return jobs.length === 0 ? form : make("details", {}, make("summary", {}, "Put another batch on the bench"), form);
  }

  setInterval(() => {
    const time = $("time");
    const job = page.product()?.jobs.find((one) => one.id === at);
    if (!time || !job || job.since === null) return;
    time.textContent = shown(elapsed(job));
    if (Date.now() - job.since > LONG && !$("clock-yes")) tell();
  }, 500);

  return {
    show,
    sound,
    /** What can be timed, with its words. */
    ways: WHAT,
    timed,
    tell,
    /** The text was read anew: what is shown changes only where its steps do, as somebody may be typing here. */
    told() {
      if (steps().join("\n") !== laid) tell();
    },
  };
})();
