// From nothing to a first verdict: five screens, one thing each. What is typed makes a scenario's text; nothing else is kept of it.

const begin = (() => {
  const DRAFT = "batchwright.draft";
  const CURRENCIES = ["EUR", "GBP", "USD", "CHF", "SEK", "NOK", "DKK", "PLN", "CZK", "HUF", "CAD", "AUD", "NZD", "JPY", "INR", "ZAR", "BRL", "MXN"];
  const AT_HOME = { GB: "GBP", US: "USD", CH: "CHF", SE: "SEK", NO: "NOK", DK: "DKK", PL: "PLN", CZ: "CZK", HU: "HUF", CA: "CAD", AU: "AUD", NZ: "NZD", JP: "JPY", IN: "INR", ZA: "ZAR", BR: "BRL", MX: "MXN" };

  const step = () => ({ name: "", setup: "", each: "", quick: "", bad: "" });
  const thing = () => ({ name: "", cost: "" });
  /** What the last product is reckoned in, or else what is usual where the browser is. */
  const currency = () => {
    const last = shelf.list().at(-1)?.text ?? "";
    return CURRENCIES.find((code) => code === /^\s*currency\s*=\s*["']([A-Z]{3})["']/m.exec(last)?.[1]) ?? AT_HOME[(navigator.language ?? "").split("-")[1]] ?? "EUR";
  };
  const fresh = () => ({ at: 0, title: "", currency: currency(), steps: [step()], things: [thing()], price: "", fee: "", post: "", order: "", target: "" });
  let draft = null;
  let wrong = [];

  function keep() {
    try {
      localStorage.setItem(DRAFT, JSON.stringify(draft));
    } catch {
      // Without storage the draft lives as long as the window.
    }
  }

  function forget() {
    draft = null;
    try {
      localStorage.removeItem(DRAFT);
    } catch {
      // As above.
    }
  }

  function load() {
    try {
      const kept = JSON.parse(localStorage.getItem(DRAFT) ?? "null");
      return kept && Array.isArray(kept.steps) && Array.isArray(kept.things) ? { ...fresh(), ...kept } : null;
    } catch {
      return null;
    }
  }

  /** An input that is held to a part of the draft. */
  function input(of, key, properties = {}) {
    return make("input", {
      type: "text",
      value: of[key],
      autocomplete: "off",
      ...properties,
      on: {
        input: (event) => {
          of[key] = event.target.value;
          keep();
        },
      },
    });
  }

  /** A time says in its field how it was understood. */
  const time = (of, key, example = "12 min") => {
    const field = input(of, key, { placeholder: example });
    field.addEventListener("change", () => {
      const minutes = minutesOf(field.value);
      if (minutes === null) return;
      field.value = of[key] = written(minutes);
      keep();
    });
    return field;
  };
  const money = (of, key) => input(of, key, { inputMode: "decimal" });

  // Each screen: its question, a word of help, its fields, and what is wrong with them.
  const screens = [
    {
      asks: "What do you make?",
      help: "One product is enough to begin with. You can put more on the shelf later.",
      fields: () => [
        field("Its name", input(draft, "title", { placeholder: "Oak coat hook" })),
        field(
          "The money you reckon in",
          choice(CURRENCIES.map((code) => [code, code]), draft.currency, (code) => {
            draft.currency = code;
            keep();
          }),
        ),
      ],
      wrong: () => (draft.title.trim() ? [] : ["Give it a name."]),
    },
    {
      asks: "Which steps does it take?",
      help: "Write hands-on time only. Where glue dries or a kiln cools, you say so later, when you ask for a date. Getting ready is done once, however many pieces follow.",
      fields: () => [list("steps", step, "step", stepFields)],
      wrong: () =>
        draft.steps.flatMap((one, k) => {
          const name = one.name.trim() || `step ${k + 1}`;
          const said = [];
          if (!one.name.trim()) said.push(`Give step ${k + 1} a name.`);
          if (draft.steps.some((other, j) => j < k && other.name.trim() && other.name.trim() === one.name.trim())) said.push(`Two steps are called ${name}; call one of them otherwise.`);
          if (!one.setup.trim() && !one.each.trim()) said.push(`Say how long ${name} takes.`);
          if (one.setup.trim() && timeOf(one.setup) === null) said.push(`${name}: write getting ready as a time, for example 12 min or 1 h 30, or as a quick, a usual and a bad day: 4 / 5 / 7 min.`);
          if (one.each.trim() && timeOf(one.each) === null) said.push(`${name}: write the time for a piece as a time, for example 12 min or 1 h 30, or as a quick, a usual and a bad day: 4 / 5 / 7 min.`);
          else if (one.each.trim() && timeOf(one.each, one.quick, one.bad) === null) said.push(`${name}: it says ${one.quick || one.each} on a quick day, ${one.each} usually and ${one.bad || one.each} on a bad day. Write the shortest time for the quick day and the longest for the bad one, each with its unit, for example 4 h.`);
          return said;
        }),
    },
    {
      asks: "What goes into one?",
      help: "What the material for one piece costs, offcuts included. Leave it empty if it costs nothing.",
      fields: () => [list("things", thing, "material", thingFields)],
      wrong: () =>
        draft.things.flatMap((one) => {
          if (!one.name.trim() && !one.cost.trim()) return [];
          if (!one.name.trim()) return ["Name what it is that costs that."];
          return !rules.may("material", "price", one.cost) ? [`Write what ${one.name.trim()} costs as a number, for example 4.50.`] : [];
        }),
    },
    {
      asks: "How do you sell it?",
      help: "What a buyer pays for one, tax included.",
      fields: () => [
        field(`Price of one, in ${draft.currency}`, money(draft, "price")),
        make(
          "details",
          { open: Boolean(draft.fee || draft.post || draft.order) },
          make("summary", {}, "A market takes a fee, or you pay the postage"),
          field("Fee, in percent of what the buyer pays", money(draft, "fee")),
          field(`Postage that you pay for an order, in ${draft.currency}`, money(draft, "post")),
          field("Pieces in a usual order", money(draft, "order"), "One, if you leave it empty."),
        ),
      ],
      wrong: () => [
        ...(rules.may("sale", "price", draft.price) ? [] : ["Write the price as a number, for example 58, and a large one without a comma: 2400."]),
        ...(draft.fee.trim() && !rules.may("sale", "fee", draft.fee) ? ["Write the fee in percent, for example 8."] : []),
        ...(draft.post.trim() && !rules.may("sale", "post", draft.post) ? ["Write the postage as a number, for example 6.80."] : []),
        ...(draft.order.trim() && !rules.may("sale", "order_of", draft.order) ? ["Write how many pieces an order has, for example 4."] : []),
      ],
    },
    {
      asks: "What should an hour at the bench earn?",
      help: "Before income tax. Everything is set against this figure.",
      fields: () => [field(`An hour, in ${draft.currency}`, money(draft, "target"))],
      wrong: () => (rules.may("", "target", draft.target) ? [] : ["Write what an hour should earn as a number, for example 25."]),
    },
  ];

  /** A list in order, with a way to add and to take out. */
  function list(key, fresh, word, fields) {
    const all = draft[key];
    const again = (focus) => {
      keep();
      show();
      focus?.();
    };
    const move = (from, to) => {
      all.splice(to, 0, ...all.splice(from, 1));
      again(() => $("room").querySelectorAll(".grip")[to]?.focus());
    };
    const items = all.map((one, k) => {
      const name = one.name.trim() || `${word} ${k + 1}`;
      const out = button("Take out", () => {
        all.splice(k, 1);
        again();
      }, { className: "plain", "aria-label": `Take out: ${name}` });
      return make("li", { className: "card" }, make("div", { className: "card-head" }, all.length > 1 && handle(name, move), make("b", {}, `${word[0].toUpperCase()}${word.slice(1)} ${k + 1}`), all.length > 1 && out), fields(one));
    });
    const add = button(`Add another ${word}`, () => {
      all.push(fresh());
      again(() => $("room").querySelector("li:last-child input")?.focus());
    });
    return [make("ol", { className: "cards" }, items), add];
  }

  function stepFields(one) {
    return [
      field("What you do", input(one, "name", { placeholder: "glue and clamp" })),
      make("div", { className: "pair" }, field("Getting ready, once", time(one, "setup")), field("Then, for each piece", time(one, "each"))),
      make(
        "details",
        { open: Boolean(one.quick || one.bad) },
        make("summary", {}, "Some days it goes quicker or slower"),
        make("div", { className: "pair" }, field("A piece on a quick day", time(one, "quick", "9 min")), field("A piece on a bad day", time(one, "bad", "25 min"))),
      ),
    ];
  }

  function thingFields(one) {
    return make("div", { className: "pair" }, field("What it is", input(one, "name", { placeholder: "oak, sawn" })), field(`For one piece, in ${draft.currency}`, money(one, "cost")));
  }

  /** The scenario that the answers make. */
  function text() {
    const lines = [`title    = ${quoted(draft.title.trim())}`, `currency = ${quoted(draft.currency)}`, `target   = ${numberOf(draft.target)}`, ""];
    const minutes = draft.steps.reduce((sum, one) => sum + (minutesOf(threeOf(one.each)?.usual ?? one.each) ?? 0), 0);
    // A look at as many as a week or two of work makes.
    const most = minutes > 480 ? 6 : minutes > 120 ? 12 : 40;
    lines.push("[batch]", `sizes = "1..${most}"`, "");
    for (const one of draft.steps) {
      lines.push("[[step]]", `name  = ${quoted(one.name.trim())}`);
      if (one.setup.trim()) lines.push(`setup = ${quoted(timeOf(one.setup))}`);
      if (one.each.trim()) lines.push(`each  = ${quoted(timeOf(one.each, one.quick, one.bad))}`);
      lines.push("");
    }
    for (const one of draft.things.filter((one) => one.name.trim())) {
      lines.push("[[material]]", `name      = ${quoted(one.name.trim())}`, "per_piece = 1", 'unit      = "piece\'s worth"', `price     = ${numberOf(one.cost)}`, "");
    }
    lines.push("[sale]", `price = ${numberOf(draft.price)}`);
    if (draft.fee.trim()) lines.push(`fee   = "${numberOf(draft.fee)} %"`);
    if (draft.post.trim()) lines.push(`post  = ${numberOf(draft.post)}`);
    if (draft.order.trim()) lines.push(`order_of = ${numberOf(draft.order)}`);
    return `${lines.join("\n")}\n`;
  }

  function show() {
    draft ??= load() ?? fresh();
    const screen = screens[draft.at];
    const last = draft.at === screens.length - 1;
    const next = (event) => {
      event.preventDefault();
      wrong = screen.wrong();
      if (wrong.length > 0) {
        show();
        $("room").querySelector(".wrong")?.focus();
        return;
      }
      if (!last) {
        draft.at += 1;
        keep();
        show();
        first();
        return;
      }
      const made = text();
      forget();
      page.open(shelf.add(made));
    };
    const backward = () => {
      wrong = [];
      if (draft.at === 0) {
        page.home();
        return;
      }
      draft.at -= 1;
      keep();
      show();
      first();
    };
    const faults = wrong.length > 0 && make("div", { className: "wrong", tabIndex: -1, role: "alert" }, wrong.map((one) => make("p", {}, one)));
    wrong = [];
    const steps = screens.map((_, k) => make("li", { "aria-current": k === draft.at ? "step" : null, className: k <= draft.at ? "done" : "" }));
    $("room").replaceChildren(
      make(
        "form",
        { className: "begin", noValidate: true, on: { submit: next } },
        make("ol", { className: "way", "aria-hidden": "true" }, steps),
        make("p", { className: "faint" }, `${draft.at + 1} of ${screens.length}`),
        make("h1", {}, screen.asks),
        make("p", { className: "help" }, screen.help),
        faults,
        screen.fields(),
        make("div", { className: "onward" }, button("Back", backward), make("button", { type: "submit", className: "main" }, last ? "Show me what it earns" : "Next")),
      ),
    );
  }

  function first() {
    scrollTo(0, 0);
    const heading = $("room").querySelector("h1");
    heading.tabIndex = -1;
    heading.focus({ preventScroll: true });
  }

  return {
    show() {
      show();
      first();
    },
    /** Whether something was begun and not ended. */
    begun: () => (draft ?? load())?.title,
    again() {
      forget();
      this.show();
    },
  };
})();
