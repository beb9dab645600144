// The room of figures: what the file says, part by part, each value a field. Steps are put in order by hand; every change is a change
// of the file's text and nothing else.

const figures = (() => {
  /** So long a pen rests before what it wrote is taken, in milliseconds: half a value is not a fault. */
  const PEN = 350;
  const PARTS = [
    { words: "The product", sections: ["", "batch", "pace"] },
    { words: "Steps, in order", sections: ["step"], listed: "step", one: "step", start: [["name", "new step"], ["each", "10 min"]] },
    { words: "What goes into it", sections: ["material"], listed: "material", one: "material", start: [["name", "new material"], ["per_piece", "1"], ["unit", "piece"], ["price", "1"]] },
    { words: "How it is sold", sections: ["sale", "channel", "season", "steady"] },
    { words: "The workshop", sections: ["shop", "hours", "jig", "misfortune", "currencies"] },
  ];
  const TIMES = ["setup", "each", "per_order", "once", "wait", "build"];

  let opened = new Set([":", "sale:"]);
  let box = null;
  let built = "";
  /** Fields on the page, by address: each knows how to bring itself up to date. */
  let fields = new Map();

  const idOf = (at) => JSON.stringify([at.section, at.entry, at.key ?? ""]);
  const cardOf = (group) => `${group.section}:${group.entry ?? ""}`;
  const nameOf = (group) => group.name ?? SECTIONS[group.section] ?? group.section;

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
    const shape = JSON.stringify(said.form.map((g) => [g.section, g.entry, g.fields.map((f) => [f.key, (f.figures?.numbers.length ?? 0) > 1 && TIMES.includes(f.key)])]));
    if (shape !== built) lay(parts, said.form);
    built = shape;
    const at = new Map();
    for (const fault of said.faults) {
      if (!fault.at) continue;
      const id = idOf(fault.at);
      at.set(id, [...(at.get(id) ?? []), fault]);
    }
    for (const group of said.form) for (const one of group.fields) fields.get(idOf({ ...group, key: one.key }))?.(one, at.get(idOf({ ...group, key: one.key })) ?? []);
    for (const group of said.form) for (const name of parts.querySelectorAll(`[data-name='${CSS.escape(cardOf(group))}']`)) name.textContent = nameOf(group);
  }

  function lay(parts, form) {
    const focused = document.activeElement?.id;
    fields = new Map();
    parts.replaceChildren(
      ...PARTS.map(({ words, sections, listed, one, start }) => {
        const groups = form.filter((group) => sections.includes(group.section));
        if (groups.length === 0 && !listed) return "";
        const cards = groups.map((group) => card(group, listed && groups.length > 1));
        const add = listed && button(`Add a ${one}`, () => addOne(listed, one, start, form));
        return make("section", {}, make("h2", {}, words), listed ? make("ol", { className: "cards" }, cards.map((c) => make("li", {}, c))) : cards, add);
      }),
    );
    if (focused) $(focused)?.focus();
  }

  function addOne(section, one, start, form) {
    const names = new Set(form.filter((g) => g.section === section).map((g) => g.name));
    let name = start[0][1];
    for (let k = 2; names.has(name); k += 1) name = `${start[0][1]} ${k}`;
    opened.add(`${section}:${names.size}`);
    page.alter(`a new ${one}`, [{ do: "add", section, listed: true, values: [["name", name], ...start.slice(1)] }]);
  }

  function card(group, ordered) {
    const id = cardOf(group);
    const name = nameOf(group);
    const move = (from, to) => page.alter(`moving ${name}`, [{ do: "move", section: group.section, entry: from, to }]);
    const inside = group.fields.map((one) => value(group, one));
    const many = group.entry !== null;
    const out = many && button("Take this out", () => page.alter(`taking ${name} out`, [{ do: "drop", section: group.section, entry: group.entry }]), { className: "plain", "aria-label": `Take ${name} out` });
    const fold = make(
      "details",
      { className: "card", open: opened.has(id), on: { toggle: (event) => (event.target.open ? opened.add(id) : opened.delete(id)) } },
      make("summary", {}, make("span", { data: { name: id } }, name)),
      make("div", { className: "inside" }, inside, out),
    );
    return ordered ? make("div", { className: "ordered" }, handle(name, move), fold) : fold;
  }

  /** One value: words, input, scale, and a way to take it out. */
  function value(group, one) {
    const at = { section: group.section, entry: group.entry, key: one.key };
    const id = idOf(at);
    const label = `${nameOf(group)}: ${one.key}`;
    const ranged = TIMES.includes(one.key) && one.figures?.numbers.length === 3 && !one.written.startsWith("{");
    const said = `${one.key.replace(/_/g, " ")} of ${nameOf(group)}`;
    let now = one;
    let waiting = 0;
    const put = (written, stroke) => {
      clearTimeout(waiting);
      if (written !== now.written) page.alter(said, [one.key === "name" && group.entry !== null ? { do: "rename", section: group.section, entry: group.entry, name: written } : { do: "put", at, written }], stroke);
    };
    const later = (read) => () => {
      clearTimeout(waiting);
      waiting = setTimeout(() => {
        const written = read();
        if (written !== null) put(written, `pen ${id}`);
      }, PEN);
    };
    labels += 1;
    const base = `value-${labels}`;
    const faults = make("div", { className: "faults", id: `${base}-faults`, "aria-live": "polite" });
    const inputs = ranged ? ["A quick day", "Usually", "A bad day"].map((words, k) => ({ words, k })) : [{ words: null, k: null }];
    const made = inputs.map(({ words, k }) => {
      const input = make("input", { type: "text", id: k === null ? base : `${base}-${k}`, spellcheck: false, autocomplete: "off", "aria-describedby": `${base}-hint ${base}-faults` });
      if (words) input.setAttribute("aria-label", `${label}, ${words}`);
      return input;
    });
    const read = () => {
      if (ranged) return timeOf(made[1].value, made[0].value, made[2].value);
      const typed = made[0].value;
      return TIMES.includes(one.key) && !/[/{[]/.test(typed) ? (timeOf(typed) ?? typed) : typed;
    };
    for (const input of made) {
      input.addEventListener("input", later(read));
      input.addEventListener("change", () => {
        const written = read();
        if (written !== null) put(written, `pen ${id}`);
      });
    }
    const scales = make("div", {});
    let scaled = "";
    const hint = make("p", { className: "hint", id: `${base}-hint` });
    const spread = TIMES.includes(one.key) && !ranged && one.figures?.numbers.length === 1 && button("Some days differ", () => put(`${one.written} / ${one.written} / ${one.written}`), { className: "plain small" });
    const out = button("Take out", () => page.alter(`taking ${said} out`, [{ do: "take", at }]), { className: "plain small", "aria-label": `Take ${said} out` });

    fields.set(id, (next, wrong) => {
      now = next;
      const shown = ranged && next.figures ? next.figures.numbers.map((n) => timeShown(n, next)) : [next.written];
      made.forEach((input, k) => {
        if (input !== document.activeElement && shown[k] !== undefined) input.value = shown[k];
        input.toggleAttribute("aria-invalid", wrong.length > 0);
        if (wrong.length > 0) input.setAttribute("aria-invalid", "true");
      });
      hint.textContent = next.comment ?? "";
      hint.hidden = !next.comment;
      faults.replaceChildren(...wrong.map(({ what, cure }) => make("p", { className: "wrong" }, what, make("span", { className: "cure" }, cure.charAt(0).toUpperCase() + cure.slice(1)))));
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
