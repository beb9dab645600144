// The room of figures: what the file says, part by part, each value a field. Steps are put in order by hand; every change is a change
// of the file's text and nothing else.

const figures = (() => {
  /** So long a pen rests before what it wrote is taken, in milliseconds: half a value is not a fault. */
  const PEN = 350;
  const PARTS = [
    { words: "The product", sections: ["", "batch", "pace"] },
    { words: "Steps, in order", sections: ["step"], listed: "step", one: "step", start: [["name", "new step"], ["each", "10 min"]] },
    { words: "What goes into it", sections: ["material"], listed: "material", one: "material", start: [["name", "new material"], ["per_piece", "1"], ["unit", "piece"], ["price", "1"]] },
    { words: "How it is sold", sections: ["sale", "channel", "selling_day", "seconds", "season", "steady"] },
    { words: "The workshop", sections: ["shop", "hours", "helper", "jig", "misfortune", "currencies"] },
  ];
  const TIMES = ["setup", "each", "per_order", "once", "wait", "build"];

  let opened = new Set([":", "sale:"]);
  let box = null;
  let built = "";
  /** What gets the focus when the fields are laid anew: what was just put in, or what stands where something was taken out. */
  let wanted = null;
  /** Names of the fields for the page's own use, by address: the same as long as it is open. */
  const bases = new Map();
  const baseOf = (id) => {
    if (!bases.has(id)) bases.set(id, `value-${bases.size + 1}`);
    return bases.get(id);
  };
  /** The first field of a value, or the head of its part. */
  const fieldAt = (section, entry, key) => () => {
    const base = baseOf(idOf({ section, entry, key }));
    return $(base) ?? $(`${base}-2`) ?? headAt(section, entry)();
  };
  const headAt = (section, entry) => () => box.querySelector(`[data-name='${CSS.escape(cardOf({ section, entry }))}']`)?.parentElement;

  /** Fields on the page, by address: each knows how to bring itself up to date. */
  let fields = new Map();

  /** The table of keys, by section; it comes from the library. */
  let table = new Map();
  engine.sure({ ask: "keys" }).then(
    ({ keys }) => {
      table = new Map((keys ?? []).map((section) => [section.word, section]));
      built = "";
      if (box?.isConnected && answers.known()) tell(answers.known());
    },
    () => {},
  );
  const keyOf = (section, key) => table.get(section)?.keys.find((one) => one.name === key);
  const isTime = (section, key) => {
    const measure = keyOf(section, key)?.takes.amount?.measure;
    return measure ? measure === "work" || measure === "clock" : TIMES.includes(key);
  };
  /** An example as a person types it: without its quotes. */
  const bare = (example) => example.replace(/^"(.*)"$/, "$1");
  /** The first sentence of it; all of it stands beside the value, once that is there. */
  const first = (words) => /^.*?[.?!](?= |$)/.exec(spoken(words))?.[0] ?? spoken(words);
  const sentence = (words) => words && words.charAt(0).toUpperCase() + words.slice(1);

  const idOf = (at) => JSON.stringify([at.section, at.entry, at.key ?? ""]);
  const cardOf = (group) => `${group.section}:${group.entry ?? ""}`;
  const nameOf = (group) => group.name ?? SECTIONS[group.section] ?? group.section.replace(/_/g, " ");

  function show(into) {
    box = into;
    built = "";
    box.replaceChildren(make("h1", {}, "Your figures"), make("p", { className: "help" }, "Drag or type a value and see the answer change."), make("div", { id: "parts" }));
    const known = answers.known();
    if (known?.id === page.product().id) tell(known);
  }

  /** Lays the fields anew where there are others than before; brings them up to date otherwise. */
  function tell(said) {
    const parts = $("parts");
    if (!parts) return;
    parts.inert = !said.form;
    if (!said.form) {
      parts.replaceChildren(page.faults(said));
      built = "";
      return;
    }
    const shape = JSON.stringify(said.form.map((g) => [g.section, g.entry, g.name, g.fields.map((f) => [f.key, (f.figures?.numbers.length ?? 0) > 1 && isTime(g.section, f.key)])]));
    const held = parts.contains(document.activeElement) && document.activeElement;
    const [from, to] = held ? [held.selectionStart, held.selectionEnd] : [];
    const anew = shape !== built;
    if (anew) lay(parts, said.form);
    built = shape;
    const at = new Map();
    for (const fault of said.faults) {
      if (!fault.at) continue;
      const id = idOf(fault.at);
      at.set(id, [...(at.get(id) ?? []), fault]);
    }
    for (const group of said.form) for (const one of group.fields) fields.get(idOf({ ...group, key: one.key }))?.(one, at.get(idOf({ ...group, key: one.key })) ?? []);
    if (anew && held) focusAgain(held, from, to);
  }

  /** Gives the focus to what was just put in, or back to what had it, with what was typed there. */
  function focusAgain(held, from, to) {
    const chosen = wanted?.();
    const again = chosen ?? $(held.id);
    wanted = null;
    again?.focus();
    if (chosen || again?.type !== "text") return;
    again.value = held.value;
    again.setSelectionRange(from, to);
  }

  function lay(parts, form) {
    fields = new Map();
    parts.replaceChildren(
      ...PARTS.map(({ words, sections, listed, one, start }) => {
        const groups = form.filter((group) => sections.includes(group.section));
        if (groups.length === 0 && !listed) return "";
        const cards = groups.map((group) => card(group, listed && groups.length > 1));
        const add = listed && button(`Add a ${one}`, () => addOne(listed, one, start, form));
        return make("section", {}, make("h2", {}, words), listed ? make("ol", { className: "cards" }, cards.map((c) => make("li", {}, c))) : make("div", { className: "cards" }, cards), add);
      }),
      rest(form),
      moreSections(form),
    );
  }

  /** What stands in the file and belongs to none of the parts: nothing of it is hidden. */
  function rest(form) {
    const groups = form.filter((group) => !PARTS.some(({ sections }) => sections.includes(group.section)));
    return groups.length > 0 ? make("section", {}, make("h2", {}, "Also in the file"), make("div", { className: "cards" }, groups.map((group) => card(group, false)))) : "";
  }

  function addOne(section, one, start, form) {
    const names = new Set(form.filter((g) => g.section === section).map((g) => g.name));
    let name = start[0][1];
    for (let k = 2; names.has(name); k += 1) name = `${start[0][1]} ${k}`;
    const entry = form.filter((g) => g.section === section).length;
    opened.add(cardOf({ section, entry }));
    wanted = fieldAt(section, entry, "name");
    page.alter(`a new ${one}`, [{ do: "add", section, listed: true, values: [["name", name], ...start.slice(1)] }]);
  }

  /** What comes along where one key more would leave a section with a fault: by section, of the form and what the table says it takes. */
  const ALONG = {
    season: () => [[["buyers", "6 / 14 / 30"], ["clearance", "0"]], []],
    jig: (_, values) => [[...values, ["build", "3 h"], ["each", "x 0.8"]], []],
    misfortune: () => [[["name", "the post gets dearer"], ["changes", '["sale.post = 9 / 11 / 14"]']], []],
    seconds: (form, values) => {
      const step = stepsOf(form).findLast((group) => group.fields.some((one) => one.key === "each"));
      return [values, step ? [{ do: "put", at: { section: "step", entry: step.entry, key: "second" }, written: "8 %" }] : []];
    },
    // Every piece goes somewhere: the first way takes all, another one half of what the last one took.
    channel: (form, [name]) => {
      const last = form.findLast((group) => group.section === "channel");
      const share = Number.parseFloat(last?.fields.find((one) => one.key === "share")?.written);
      if (!(share > 0)) return [[name, ["share", "100 %"]], []];
      const half = `${share / 2} %`;
      return [[name, ["share", half]], [{ do: "put", at: { section: "channel", entry: last.entry, key: "share" }, written: half }]];
    },
  };

  /** Sections that are not there yet, or of which there may be more. */
  function moreSections(form) {
    const there = new Set(form.map((group) => group.section));
    // One of the two at the most.
    const against = { season: "steady", steady: "season" };
    const open = [...table.values()].filter(({ word, written }) => !there.has(against[word]) && word && written !== "braces" && written !== "top" && !["step", "material"].includes(word) && (written === "each" || !there.has(word)));
    if (open.length === 0) return "";
    const add = (word) => {
      const section = table.get(word);
      const needed = section.keys.filter((key) => key.needed);
      const asked = needed.length > 0 ? needed : section.keys.slice(0, 1);
      const names = new Set(form.filter((g) => g.section === word).map((g) => g.name));
      const values = asked.map((key) => {
        if (key.takes === "step") return [key.name, stepsOf(form)[0]?.name ?? ""];
        let value = bare(key.example);
        for (let k = 2; key.name === "name" && names.has(value); k += 1) value = `${bare(key.example)} ${k}`;
        return [key.name, value];
      });
      const listed = section.written === "each";
      const entry = listed ? form.filter((g) => g.section === word).length : null;
      opened.add(cardOf({ section: word, entry }));
      const [all, along] = ALONG[word]?.(form, values) ?? [values, []];
      wanted = fieldAt(word, entry, all[0]?.[0] ?? "");
      page.alter(`adding ${SECTIONS[word] ?? word.replace(/_/g, " ")}`, [{ do: "add", section: word, listed, values: all }, ...along]);
    };
    const one = ({ word, about }) => make("li", {}, button(SECTIONS[word] ?? ONE_MORE[word] ?? `A ${word.replace(/_/g, " ")}`, () => add(word)), make("p", { className: "hint" }, first(about)));
    return make("section", {}, make("h2", {}, "More that you can say"), make("ul", { className: "plain-list" }, open.map(one)));
  }

  /** Keys that a section may have and has not. */
  function moreKeys(group) {
    const there = new Set(group.fields.map((one) => one.key));
    // A channel is named where there are some.
    const channels = answers.known()?.form?.some((g) => g.section === "channel");
    const open = (table.get(group.section)?.keys ?? []).filter((key) => !there.has(key.name) && (key.name !== "channel" || channels));
    if (open.length === 0) return "";
    const about = make("p", { className: "hint" });
    const add = (name) => {
      const key = open.find((one) => one.name === name);
      if (!key) return;
      const step = answers.known()?.form?.find((g) => g.section === "step")?.name ?? "";
      const written = key.takes === "step" ? step : bare(key.example);
      const put = (name, value) => ({ do: "put", at: { section: group.section, entry: group.entry, key: name }, written: value });
      // Keys without which it says nothing come along.
      const along = key.with.filter((other) => !there.has(other)).map((other) => put(other, bare(keyOf(group.section, other).example)));
      wanted = fieldAt(group.section, group.entry, name);
      page.alter(`${name.replace(/_/g, " ")} of ${nameOf(group)}`, [put(name, written), ...along]);
    };
    const words = (key) => `${key.name.replace(/_/g, " ")}: ${first(key.about).replace(/\.$/, "")}`;
    const list = choice([["", "Say more here …"], ...open.map((key) => [key.name, words(key)])], "", add, { "aria-label": `Say more about ${nameOf(group)}` });
    return make("div", { className: "field more" }, list, about);
  }

  /** Cards stay open or closed when they are in another order; `put` changes a list of which are open. */
  function keepOpen(section, put) {
    const cards = answers.known().form.filter((g) => g.section === section).map(cardOf);
    const list = cards.map((id) => opened.has(id));
    put(list);
    cards.forEach((id, k) => (list[k] ? opened.add(id) : opened.delete(id)));
  }

  function card(group, ordered) {
    const id = cardOf(group);
    const name = nameOf(group);
    const move = (from, to, onward = () => headAt(group.section, to)()?.closest(".ordered")?.querySelector(".grip")) => {
      wanted = onward;
      keepOpen(group.section, (list) => list.splice(to, 0, ...list.splice(from, 1)));
      page.alter(`moving ${name}`, [{ do: "move", section: group.section, entry: from, to }]);
    };
    const inside = group.fields.map((one) => value(group, one));
    const many = group.entry !== null;
    const drop = () => {
      wanted = () => headAt(group.section, group.entry)() ?? headAt(group.section, group.entry - 1)() ?? box.querySelector("h1");
      keepOpen(group.section, (list) => list.splice(group.entry, 1));
      page.alter(`taking ${name} out`, [{ do: "drop", section: group.section, entry: group.entry }]);
    };
    const out = many && button("Take this out", drop, { className: "plain", "aria-label": `Take this out: ${name}` });
    // What can be dragged can be moved with one press, too.
    const last = answers.known().form.filter((g) => g.section === group.section).length - 1;
    const shift = (words, to) => ordered && to >= 0 && to <= last && button(words, () => move(group.entry, to, headAt(group.section, to)), { className: "plain", "aria-label": `${words}: ${name}` });
    const fold = make(
      "details",
      { className: "card", open: opened.has(id), on: { toggle: (event) => (event.target.open ? opened.add(id) : opened.delete(id)) } },
      make("summary", {}, make("span", { data: { name: id } }, name)),
      make("div", { className: "inside" }, table.get(group.section)?.about && make("p", { className: "hint about" }, spoken(table.get(group.section).about)), inside, moreKeys(group), make("div", { className: "row" }, shift("Move up", group.entry - 1), shift("Move down", group.entry + 1), out)),
    );
    return ordered ? make("div", { className: "ordered" }, handle(name, move), fold) : fold;
  }

  /** One value: words, input, scale, and a way to take it out. */
  function value(group, one) {
    const at = { section: group.section, entry: group.entry, key: one.key };
    const id = idOf(at);
    const label = `${nameOf(group)}: ${one.key}`;
    const known = keyOf(group.section, one.key);
    const timed = isTime(group.section, one.key);
    const choices = known?.takes.choice;
    const days = known?.takes.amount?.measure === "clock";
    const ranged = timed && one.figures?.numbers.length === 3 && !one.written.startsWith("{");
    const said = `${one.key.replace(/_/g, " ")} of ${nameOf(group)}`;
    let now = one;
    let waiting = 0;
    // What is typed at one visit of a field is one step back.
    let visit = "";
    const put = (written, stroke) => {
      clearTimeout(waiting);
      busy.end(id);
      if (written !== now.written) page.alter(said, [one.key === "name" && group.entry !== null ? { do: "rename", section: group.section, entry: group.entry, name: written } : { do: "put", at, written }], stroke);
    };
    const later = (read) => () => {
      clearTimeout(waiting);
      busy.begin(id);
      waiting = setTimeout(() => {
        const written = read();
        take(written);
        busy.end(id);
      }, PEN);
    };
    const base = baseOf(id);
    const faults = make("div", { className: "faults", id: `${base}-faults`, "aria-live": "polite" });
    const inputs = ranged ? ["A quick day", "Usually", "A bad day"].map((words, k) => ({ words, k })) : [{ words: null, k: null }];
    const made = inputs.map(({ words, k }) => {
      if (choices) {
        const list = choices.map(({ word, about }) => [word, `${word}: ${about}`]);
        return choice(list.some(([word]) => word === one.written) ? list : [[one.written, one.written], ...list], one.written, (word) => put(word), { id: base, "aria-describedby": `${base}-hint ${base}-faults` });
      }
      const input = make("input", { type: "text", id: k === null ? base : `${base}-${k}`, spellcheck: false, autocomplete: "off", "aria-describedby": `${base}-hint ${base}-faults` });
      if (words) input.setAttribute("aria-label", `${label}, ${words}`);
      return input;
    });
    const read = () => {
      if (ranged) return timeOf(made[1].value, made[0].value, made[2].value, days);
      const typed = made[0].value;
      if (timed && !/[/{[]/.test(typed)) return timeOf(typed, "", "", days) ?? typed;
      // A decimal comma, where there is one number.
      return one.figures?.numbers.length === 1 ? typed.replace(/^(\s*\d+),(\d{1,2}\s*%?\s*)$/, "$1.$2") : typed;
    };
    for (const input of choices ? [] : made) {
      input.addEventListener("focus", () => (visit = `pen ${Math.random()}`));
      input.addEventListener("input", later(read));
      input.addEventListener("change", () => {
        clearTimeout(waiting);
        busy.end(id);
        take(read());
      });
    }
    /** Takes what was typed, or says why it cannot be. */
    let refused = false;
    const take = (written) => {
      if (refused) faults.replaceChildren();
      refused = written === null;
      for (const input of made) input.toggleAttribute("aria-invalid", refused);
      if (!refused) {
        put(written, visit);
        return;
      }
      for (const input of made) input.setAttribute("aria-invalid", "true");
      faults.replaceChildren(make("p", { className: "wrong" }, "This is not taken yet.", make("span", { className: "cure" }, "Write three times, for example 8 min, 12 min and 30 min. The quick day takes the usual time at most, and the bad day at least that.")));
    };
    const scales = make("div", {});
    let scaled = "";
    const hint = make("p", { className: "hint", id: `${base}-hint` });
    const differ = () => {
      wanted = () => $(`${base}-2`);
      const usual = read();
      put(`${usual} / ${usual} / ${usual}`);
    };
    const spread = timed && !known?.takes.amount?.certain && !ranged && one.figures?.numbers.length === 1 && button("Some days differ", differ, { className: "plain small" });
    const takeOut = () => {
      wanted = headAt(group.section, group.entry);
      page.alter(`taking ${said} out`, [{ do: "take", at }]);
    };
    const out = !known?.needed && one.key !== "name" && button("Take out", takeOut, { className: "plain small", "aria-label": `Take out: ${said}` });

    fields.set(id, (next, wrong) => {
      now = next;
      // What cannot be taken yet stays as it is while somebody is at it.
      if (refused && made.includes(document.activeElement)) return;
      refused = false;
      const shown = ranged && next.figures ? next.figures.numbers.map((n) => timeShown(n, next)) : [next.written];
      made.forEach((input, k) => {
        if (input !== document.activeElement && shown[k] !== undefined) input.value = shown[k];
        input.toggleAttribute("aria-invalid", wrong.length > 0);
        if (wrong.length > 0) input.setAttribute("aria-invalid", "true");
      });
      const said = [spoken(known?.about), next.comment && `In the file: ${sentence(next.comment)}`].filter(Boolean).join(" ");
      hint.textContent = clean(said);
      hint.hidden = !said;
      faults.replaceChildren(...wrong.map(({ what, cure }) => make("p", { className: "wrong" }, spoken(what), make("span", { className: "cure" }, sentence(spoken(cure))))));
      // A scale that the hand is on stays as it is.
      const key = JSON.stringify(next.figures);
      if (key === scaled || scales.contains(document.activeElement)) return;
      scaled = key;
      scales.replaceChildren(...(next.figures ? [scale(label, next.figures, put)] : []));
    });

    const head = make("div", { className: "value-head" }, make("label", { for: ranged ? `${base}-1` : base }, one.key.replace(/_/g, " ")), make("span", {}, spread, out));
    const row = ranged ? make("div", { className: "three" }, made.map((input, k) => make("div", {}, make("span", { className: "hint", "aria-hidden": "true" }, inputs[k].words), input))) : made[0];
    return make("div", { className: "field value" }, head, row, scales, hint, faults);
  }

  /** One number of a range of times, with its unit. */
  function timeShown(n, { figures, written: text }) {
    const word = /([a-z]+)\s*$/.exec(text)?.[1] ?? "min";
    const minutes = n.hours_and_minutes ? n.value : n.value * ({ s: 1 / 60, min: 1, h: 60, d: 1440 }[figures.numbers.every((one) => one.worth === 1) ? word : "min"] ?? 1) * (n.worth === 1 ? 1 : n.worth);
    return written(minutes);
  }

  return { show, tell };
})();
