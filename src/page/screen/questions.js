// What a maker asks, in words, and what each question needs to be told.

/** `sized`: it is about one number of pieces, which can be chosen. `dated`: it counts from a day. `orders`: it is about single orders.
 * `own`: the larger the piece of work, the fewer batches it takes. */
const QUESTIONS = {
  sweep: { asks: "How many shall I make at a time?" },
  floor: { asks: "What shall I charge?", sized: true },
  quote: { asks: "What shall I quote for one order?", orders: true },
  stress: { asks: "How much bad luck can it take?", sized: true, own: true },
  drivers: { asks: "What is worth working on?", sized: true, own: true },
  calendar: { asks: "When will it be done?", sized: true, dated: true, offer: "hours" },
  season: { asks: "How many before the season ends?", offer: "season" },
  steady: { asks: "How many at a time, all year?", offer: "steady" },
  jig: { asks: "Does a jig or more room pay?", sized: true, offer: "jig" },
  compare: { asks: "Which of my products shall I make?", sized: true, others: true },
  over: { asks: "What if one figure were another?", sized: true, over: true },
  fit: { asks: "What did it really take?", log: true },
  sold: { asks: "What do buyers pay?", sales: true },
};

/** Which orders are meant: { orders: their pieces as typed, nothing being those that fit the product, channel: the way they are sold }. `changed` is told of
 * each change. */
function orderFields(now, form, changed) {
  const ways = form.filter((group) => group.section === "channel" && group.name).map((group) => group.name);
  if (!ways.includes(now.channel)) now.channel = "";
  const keep = (key) => (value) => {
    now[key] = value;
    changed();
  };
  const input = make("input", { type: "text", value: now.orders, placeholder: "1 up to a full batch", inputMode: "numeric", autocomplete: "off", on: { input: (event) => keep("orders")(event.target.value) } });
  return [
    field("Pieces in an order", input, "All of them are made and sent together. Write several numbers to see several prices."),
    ways.length > 0 && field("How it is sold", choice([["", "Straight to the buyer, as Sale says"], ...ways.map((name) => [name, name])], now.channel, keep("channel"))),
  ].filter(Boolean);
}

/** What a section is called where it has no name of its own. */
const SECTIONS = { "": "What it is", batch: "Batches", pace: "All times together", sale: "Sale", season: "Season", steady: "All year", shop: "Costs of the workshop", hours: "Hours at the bench", currencies: "Other currencies", seconds: "Seconds", helper: "A helper" };

/** What one more of a section is called that there may be several of. */
const ONE_MORE = { channel: "A way of selling", selling_day: "A selling day", jig: "A jig, or more room", misfortune: "A misfortune" };

/** What a key is called where its own word is none that a maker says; by section where one word has two meanings. */
const KEY_WORDS = {
  setup: "getting ready", each: "each piece", per_order: "each order", once: "once for the design", done_by: "who does it", others: "share that other designs fill", kept_in: "what holds it while it waits",
  varies: "differs by", opposite: "long setup with quick pieces", made_before: "pieces made before", learned_by: "learned after so many pieces", redo: "done again", spoil: "spoiled", second: "becomes a second", runs: "batches of it in all", factor: "times as long",
  target: "an hour should earn", confidence: "how sure", per_piece: "each piece uses", per_batch: "each batch uses", per_round: "each round uses", "material.per_order": "each order uses", paid: "what you really paid",
  at: "goes in at the step", breaks: "lower prices for more", "breaks.from": "from how many", "breaks.price": "price of each then", post: "postage you pay", post_charged: "postage the buyer pays", order_of: "pieces in an order", fee_per_order: "fee for each order", as_new: "as good as new",
  set_of: "pieces in a set", single_price: "price of a single piece", quote: "time for a quote", quote_won: "quotes that win an order", enquiry: "time for an enquiry", enquiry_bought: "enquiries that buy", unsold: "comes back unsold",
  worn_price: "price of a worn piece", there: "hours there", per_hour: "for each hour", per_month: "for a month", hours_per_month: "hours at the bench in a month", per_week: "buyers a week", hold: "keeping it costs a year",
  elasticity: "how much buyers mind the price", buyers_at: "price these buyers were counted at", build: "time to build it", lasts: "lasts for so many pieces", mon: "Monday", tue: "Tuesday", wed: "Wednesday", thu: "Thursday", fri: "Friday", sat: "Saturday", sun: "Sunday", off: "days off",
};
const wordOf = (section, key) => (key.startsWith("guessed_") ? `first guess of "${wordOf(section, key.slice(8))}"` : (KEY_WORDS[`${section}.${key}`] ?? KEY_WORDS[key] ?? key.replace(/_/g, " ")));
const sectionWord = (section) => SECTIONS[section] ?? ONE_MORE[section] ?? section.replace(/_/g, " ");
/** What a part of the form is called, and what the library calls a value of it: `step.glue pegs.each`. */
const partOf = ({ name, section }) => name ?? sectionWord(section);
const pathOf = ({ section, entry, name }, key) => [section, entry === null ? null : name, key].filter(Boolean).join(".");
/** What the library says of the file's keys and sections, by what they are called here. */
const calledHere = (section, words) =>
  spoken(words?.replace(/`(\w+) = "([^"]*)"`/g, (_, key, value) => `\`${wordOf(section, key)}: ${value}\``).replace(/`(\w+)`/g, (_, key) => `\`${wordOf(section, key)}\``).replace(/\[\[?(\w+)\]\]?/g, (_, of) => `"${sectionWord(of)}"`));

const DAYS = [
  ["mon", "Monday"],
  ["tue", "Tuesday"],
  ["wed", "Wednesday"],
  ["thu", "Thursday"],
  ["fri", "Friday"],
  ["sat", "Saturday"],
  ["sun", "Sunday"],
];

// What can be told beyond the first five answers. Each is offered where the file does not say it yet: `lacks` looks at the form,
// `fields` are asked, `changes` are made of what was typed, or a sentence says what is wrong with it. `usual` is an ordinary case, which is
// tried first: what does not change the answer is not offered.
const has = (form, section, key) => form.some((group) => group.section === section && (!key || group.fields.some((one) => one.key === key)));
/** Whether it says more than 0 there: a step that was just added has no time yet. */
const takes = (group, key) => group.fields.some((one) => one.key === key && !(one.figures?.numbers.every(({ value }) => value === 0)));
const stepsOf = (form) => form.filter((group) => group.section === "step");
const whichStep = (form) => ({ key: "step", words: "Which step?", choices: stepsOf(form).map((group) => [String(group.entry), group.name ?? `step ${group.entry + 1}`]) });
const named = (step) => step.name ?? `step ${step.entry + 1}`;
const atStep = (typed, key, written) => ({ do: "put", at: { section: "step", entry: Number(typed.step), key }, written });
const ordersOf = (pieces) => ({ do: "put", at: { section: "sale", entry: null, key: "order_of" }, written: pieces });
/** A number as the file has it, with a point. */
const plain = (typed) => String(numberOf(typed));
/** A share as the file has it, where it may stand at this key. */
const percent = (section, key, typed) => (rules.may(section, key, typed) ? `${numberOf(typed)} %` : null);
/** What an order through a channel is posted for: a channel that says nothing of it has the postage of the sale. */
const posted = (post) => [["post", post], ["post_charged", "0"]];

const OFFERS = {
  room: {
    asks: "Does a step hold only so many pieces at once?",
    why: "Clamps, kiln shelves and trays fill up; then you get ready again.",
    lacks: (form) => !has(form, "step", "room"),
    fields: (form) => [whichStep(form), { key: "room", words: "Pieces it holds", number: true }],
    usual: (form) => {
      const step = stepsOf(form).find((group) => takes(group, "setup"));
      return step && { words: `if six pieces fit in at once at ${named(step)}`, changes: [atStep({ step: step.entry }, "room", "6")] };
    },
    changes: (typed) => (rules.may("step", "room", typed.room) ? [atStep(typed, "room", plain(typed.room))] : "Write how many pieces it holds, for example 6."),
  },
  packing: {
    asks: "Do you pack, post or deliver?",
    why: "Time for an order does not shrink when you make more.",
    lacks: (form) => !has(form, "step", "per_order"),
    fields: () => [{ key: "name", words: "What you call it", start: "pack and post" }, { key: "time", words: "Time for an order", hint: "for example 15 min" }],
    usual: () => ({ words: "if an order takes 15 minutes to pack and post", changes: [{ do: "add", section: "step", listed: true, values: [["name", "pack and post it"], ["per_order", "15 min"]] }] }),
    changes: (typed) =>
      timeOf(typed.time)
        ? [{ do: "add", section: "step", listed: true, values: [["name", typed.name.trim() || "pack and post"], ["per_order", timeOf(typed.time)]] }]
        : "Write the time as a time, for example 15 min.",
  },
  several: {
    asks: "Does a buyer take several at once?",
    why: "Postage and packing are paid once for an order.",
    lacks: (form) => !has(form, "sale", "order_of") && !has(form, "channel"),
    fields: () => [{ key: "pieces", words: "Pieces in a usual order", number: true, hint: "for example 4" }],
    usual: () => ({ words: "if buyers take four at a time", changes: [ordersOf("4")] }),
    changes: (typed) => (rules.may("sale", "order_of", typed.pieces) ? [ordersOf(plain(typed.pieces))] : "Write how many pieces, for example 4."),
  },
  spoil: {
    asks: "Are pieces spoiled now and then?",
    why: "One ruined piece in ten ruins a one-off, but not a batch.",
    lacks: (form) => !has(form, "step", "spoil"),
    fields: (form) => [whichStep(form), { key: "share", words: "Of 100 pieces, so many are spoiled", number: true }],
    usual: (form) => {
      const step = stepsOf(form).findLast((group) => takes(group, "each"));
      return step && { words: `if 3 of 100 pieces are spoiled at ${named(step)}`, changes: [atStep({ step: step.entry }, "spoil", "3 %")] };
    },
    changes: (typed) => (rules.may("step", "spoil", typed.share) ? [atStep(typed, "spoil", percent("step", "spoil", typed.share))] : "Write how many of 100 pieces, for example 3."),
  },
  learning: {
    asks: "Do you get quicker with practice?",
    why: "Where the twentieth goes quicker than the first, larger batches gain.",
    lacks: (form) => !has(form, "step", "learning"),
    fields: (form) => [
      whichStep(form),
      { key: "share", words: "When you have made twice as many, a piece takes so many percent of the time", number: true, hint: "for example 95" },
      { key: "made", words: "Pieces made before the times were taken", number: true, start: "0" },
    ],
    usual: (form) => {
      const step = stepsOf(form).find((group) => takes(group, "each"));
      return step && { words: `if a piece takes 95 % of the time at ${named(step)} whenever you have made twice as many`, changes: [atStep({ step: step.entry }, "learning", "95 %"), atStep({ step: step.entry }, "made_before", "0")] };
    },
    changes: (typed) =>
      rules.may("step", "learning", typed.share) && rules.may("step", "made_before", typed.made)
        ? [atStep(typed, "learning", percent("step", "learning", typed.share)), atStep(typed, "made_before", plain(typed.made))]
        : "Write the percent, for example 95, and a number of pieces.",
  },
  once: {
    asks: "Was there a drawing or a prototype?",
    why: "Its hours are shared by all the batches you will ever make.",
    lacks: (form) => !has(form, "step", "once"),
    fields: () => [
      { key: "name", words: "What you call it", start: "draw and try out" },
      { key: "time", words: "Time, once for the design", hint: "for example 3 h" },
      { key: "runs", words: "Batches of it you will ever make", number: true, start: "1" },
    ],
    usual: () => ({ words: "if a prototype took 3 hours and you make four batches of it", changes: [{ do: "add", section: "step", listed: true, values: [["name", "draw it and try it out"], ["once", "3 h"]] }, { do: "put", at: { section: "batch", entry: null, key: "runs" }, written: "4" }] }),
    changes: (typed) =>
      timeOf(typed.time) && rules.may("batch", "runs", typed.runs)
        ? [
            { do: "add", section: "step", listed: true, values: [["name", typed.name.trim() || "draw and try out"], ["once", timeOf(typed.time)]] },
            { do: "put", at: { section: "batch", entry: null, key: "runs" }, written: plain(typed.runs) },
          ]
        : "Write the time, for example 3 h, and a number of batches.",
  },
  shop: {
    asks: "What does the workshop cost?",
    why: "Power, blades, rent and insurance come off every hour.",
    lacks: (form) => !has(form, "shop"),
    fields: () => [
      { key: "hour", words: "Power, blades and wear for an hour at the bench", number: true, start: "0" },
      { key: "month", words: "Rent and insurance a month", number: true, start: "0" },
      { key: "hours", words: "Hours at the bench in a usual month", number: true, hint: "only with rent or insurance" },
    ],
    usual: () => ({ words: "if an hour at the bench costs 2 in power and wear", changes: [{ do: "add", section: "shop", listed: false, values: [["per_hour", "2"]] }] }),
    changes: (typed) =>
      rules.may("shop", "per_hour", typed.hour) && rules.may("shop", "per_month", typed.month) && (numberOf(typed.month) === 0 || rules.may("shop", "hours_per_month", typed.hours))
        ? [{ do: "add", section: "shop", listed: false, values: [["per_hour", plain(typed.hour)], ...(numberOf(typed.month) > 0 ? [["per_month", plain(typed.month)], ["hours_per_month", plain(typed.hours)]] : [])] }]
        : "Write three numbers, for example 60 for the hours in a month.",
  },
  channel: {
    asks: "Do you sell in more than one way?",
    why: "A shop takes half and many at once; your own stall takes neither.",
    lacks: (form) => !has(form, "channel"),
    fields: () => [
      { key: "one", words: "The first way, sold as now", start: "as now" },
      { key: "two", words: "The second way", start: "shops" },
      { key: "share", words: "Of 100 pieces, so many go the second way", number: true, hint: "for example 40" },
      { key: "discount", words: "There the price is lower by so many percent", number: true, hint: "for example 50" },
      { key: "order", words: "Pieces in an order there", number: true, start: "1" },
      { key: "post", words: "Postage of an order there; 0 where nothing is posted", number: true, start: "0" },
    ],
    usual: () => ({
      words: "if shops take 40 of 100 pieces, six at a time, at half the price and without postage",
      changes: [
        { do: "add", section: "channel", listed: true, values: [["name", "as now"], ["share", "60 %"]] },
        { do: "add", section: "channel", listed: true, values: [["name", "shops"], ["share", "40 %"], ["discount", "50 %"], ["order_of", "6"], ...posted("0")] },
      ],
    }),
    changes: (typed) => {
      const [share, rest] = [percent("channel", "share", typed.share), percent("channel", "share", String(100 - numberOf(typed.share)))];
      const discount = percent("channel", "discount", typed.discount);
      if (!share || !rest || !discount || !rules.may("channel", "order_of", typed.order) || !rules.may("channel", "post", typed.post)) return "Write a share that leaves some for the first way, a percent, a number of pieces and the postage.";
      if (!typed.one.trim() || !typed.two.trim() || typed.one.trim() === typed.two.trim()) return "Give the two ways two names.";
      return [
        { do: "add", section: "channel", listed: true, values: [["name", typed.one.trim()], ["share", rest]] },
        { do: "add", section: "channel", listed: true, values: [["name", typed.two.trim()], ["share", share], ["discount", discount], ["order_of", plain(typed.order)], ...posted(plain(typed.post))] },
      ];
    },
  },
  hours: {
    asks: "When are you at the bench?",
    why: "With that there is a day when a batch is done.",
    lacks: (form) => !has(form, "hours"),
    fields: () => DAYS.map(([key, words], k) => ({ key, words: `Hours on a ${words}`, start: "", hint: k === 0 ? "for example 2, or from when to when: 18:00..20:30" : "" })),
    changes: (typed) => {
      const typedHours = DAYS.map(([key, words]) => [key, typed[key].trim(), words]).filter(([, hours]) => hours !== "" && hours !== "0");
      if (typedHours.length === 0) return "Write the hours of one day at least.";
      const values = typedHours.map(([key, hours]) => [key, dayHours(hours)]);
      const [, , wrong] = typedHours.find((_, k) => values[k][1] === null) ?? [];
      if (wrong) return `${wrong}: write the hours as a number, 24 at the most, or from when to when, for example 18:00..20:30.`;
      return [{ do: "add", section: "hours", listed: false, values }];
    },
  },
  wait: {
    asks: "Does something dry, cure or cool before you go on?",
    why: "Your hours stay the same, and the day when it is done comes later.",
    lacks: (form) => has(form, "hours") && !has(form, "step", "wait"),
    fields: (form) => [{ ...whichStep(form), words: "After which step?" }, { key: "time", words: "How long it waits then", hint: "for example 24 h" }],
    changes: (typed) => {
      const wait = timeOf(typed.time, "", "", true);
      return wait ? [atStep(typed, "wait", wait)] : "Write the time, for example 24 h or 3 days.";
    },
  },
  season: {
    asks: "Does it sell only until a season ends?",
    why: "Then what is left over costs you the hours that are in it.",
    lacks: (form) => !has(form, "season") && !has(form, "steady"),
    fields: () => [
      { key: "low", words: "Buyers in a bad season", number: true },
      { key: "usual", words: "Buyers in a usual season", number: true },
      { key: "high", words: "Buyers in a good season", number: true },
      { key: "clearance", words: "What a piece fetches that is left over", number: true },
    ],
    usual: (form, size) => ({ words: `if buyers want ${size} in a usual season, half as many in a bad one and twice as many in a good one`, changes: [{ do: "add", section: "season", listed: false, values: [["buyers", `${Math.max(1, Math.round(size / 2))} / ${size} / ${2 * size}`], ["clearance", "0"]] }] }),
    changes: (typed) => {
      const [low, usual, high] = [typed.low, typed.usual, typed.high].map(numberOf);
      if (low === null || usual === null || high === null || !(low <= usual && usual <= high && high > 0)) return "Write three numbers of pieces, from few to many.";
      if (!rules.may("season", "clearance", typed.clearance)) return "Write what a piece fetches then; 0 where it fetches nothing.";
      return [{ do: "add", section: "season", listed: false, values: [["buyers", `${low} / ${usual} / ${high}`], ["clearance", plain(typed.clearance)]] }];
    },
  },
  steady: {
    asks: "Does it sell all year round?",
    why: "Then finished pieces wait on the shelf, and their money with them.",
    lacks: (form) => !has(form, "season") && !has(form, "steady"),
    fields: () => [
      { key: "week", words: "Pieces that buyers want in a week", number: true },
      { key: "hold", words: "Keeping a piece costs so many percent of its money a year", number: true, hint: "for example 20" },
    ],
    changes: (typed) =>
      rules.may("steady", "per_week", typed.week) && rules.may("steady", "hold", typed.hold)
        ? [{ do: "add", section: "steady", listed: false, values: [["per_week", plain(typed.week)], ["hold", percent("steady", "hold", typed.hold)]] }]
        : "Write how many a week, for example 3, and a percent, for example 20.",
  },
  jig: {
    asks: "Could a jig or more room save time?",
    why: "It pays for itself after so many pieces, or never.",
    lacks: (form) => !has(form, "jig"),
    fields: (form) => [
      { key: "name", words: "What it is", start: "jig" },
      whichStep(form),
      { key: "build", words: "Time to build it", hint: "for example 3 h" },
      { key: "cost", words: "What it costs beside that", number: true, start: "0" },
      { key: "setup", words: "Getting ready then takes so many percent of the time", number: true, start: "100" },
      { key: "each", words: "A piece then takes so many percent of the time", number: true, start: "100" },
      ...(has(form, "batch", "runs") ? [] : [{ key: "runs", words: "Batches of it you will ever make", number: true, start: "1" }]),
    ],
    changes: (typed, form) => {
      const step = stepsOf(form).find((group) => String(group.entry) === typed.step);
      const [setup, each] = [numberOf(typed.setup), numberOf(typed.each)];
      if (!timeOf(typed.build)) return "Write the time to build it, for example 3 h.";
      if (!rules.may("jig", "cost", typed.cost) || setup === null || each === null) return "Write the cost and the two percents as numbers.";
      if (typed.runs !== undefined && !rules.may("batch", "runs", typed.runs)) return "Write how many batches you will make, for example 4.";
      const values = [["name", typed.name.trim() || "jig"], ["step", step?.name ?? ""], ["build", timeOf(typed.build)], ["cost", plain(typed.cost)]];
      if (setup !== 100) values.push(["setup", `x ${setup / 100}`]);
      if (each !== 100) values.push(["each", `x ${each / 100}`]);
      if (setup === 100 && each === 100) return "Say which of the two it makes shorter.";
      const runs = typed.runs === undefined ? [] : [{ do: "put", at: { section: "batch", entry: null, key: "runs" }, written: plain(typed.runs) }];
      return [...runs, { do: "add", section: "jig", listed: true, values }];
    },
  },
};

/** One offer as a form; `done` gets the changes. */
const offerForm = (name, form, done) => askForm(OFFERS[name], form, (changes) => done(changes, OFFERS[name].asks));

/** What is asked, as a form: nothing of it is in the file before it is typed and put in. `done` gets the changes. */
function askForm({ why, fields, changes: made }, form, done) {
  const typed = {};
  const faults = make("p", { className: "wrong", hidden: true, role: "alert" });
  const laid = fields(form).map(({ key, words, choices, start = "", number, hint }) => {
    typed[key] = choices ? (choices[0]?.[0] ?? "") : start;
    const keep = (value) => (typed[key] = value);
    if (choices) return field(words, choice(choices, typed[key], keep), hint);
    return field(words, make("input", { type: "text", value: start, inputMode: number ? "decimal" : "text", autocomplete: "off", on: { input: (event) => keep(event.target.value) } }), hint);
  });
  const send = (event) => {
    event.preventDefault();
    const changes = made(typed, form);
    faults.hidden = Array.isArray(changes);
    if (Array.isArray(changes)) done(changes);
    else faults.textContent = changes;
  };
  return make("form", { className: "offer", noValidate: true, on: { submit: send } }, why && make("p", { className: "help" }, why), laid, faults, make("button", { type: "submit", className: "main" }, "Put it in"));
}
