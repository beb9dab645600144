// The room of figures: what the file says, part by part, each value a field. Steps are put in order by hand; every change is a change
// of the file's text and nothing else.

const figures = (() => {
  /** So long a pen rests before what it wrote is taken, in milliseconds: half a value is not a fault. */
  const PEN = 350;
  const PARTS = [
    { words: "The product", sections: ["", "batch", "pace"] },
    { words: "Steps, in order", sections: ["step"], listed: "step", one: "step", start: [["name", "new step"], ["setup", "0 min"], ["each", "0 min"]] },
    { words: "What goes into it", sections: ["material"], listed: "material", one: "material", start: [["name", "new material"], ["per_piece", "1"], ["unit", "piece"], ["price", "0"]] },
    { words: "How it is sold", sections: ["sale", "channel", "selling_day", "seconds", "season", "steady"] },
    { words: "The workshop", sections: ["shop", "hours", "helper", "jig", "misfortune", "currencies"] },
  ];

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
    return $(base) ?? $(`${base}-2`) ?? $(`${base}-0-0`) ?? headAt(section, entry)();
  };
  const headAt = (section, entry) => () => box.querySelector(`[data-name='${CSS.escape(cardOf({ section, entry }))}']`)?.parentElement;

  /** Fields on the page, by address: each knows how to bring itself up to date. */
  let fields = new Map();

  rules.heard.then(() => {
    built = "";
    if (box?.isConnected && answers.known()) tell(answers.known());
  });
  const isTime = (section, key) => ["work", "clock"].includes(rules.at(section, key)?.takes.amount?.measure);
  /** Whether it is a quick, a usual and a bad day, each of which has a field. */
  const isRange = (section, { key, figures, written }) => isTime(section, key) && figures?.numbers.length === 3 && !written.startsWith("{");
  /** An example as a person types it: without its quotes. */
  const bare = (example) => example.replace(/^"(.*)"$/, "$1");
  /** The first sentence of it; all of it stands beside the value, once that is there. */
  const first = (words) => /^.*?[.?!](?= |$)/.exec(words)?.[0] ?? words;

  const idOf = (at) => JSON.stringify([at.section, at.entry, at.key ?? ""]);
  const cardOf = (group) => `${group.section}:${group.entry ?? ""}`;

  /** `alone`: the answers are not seen beside them. */
  function show(into, alone) {
    box = into;
    built = "";
    box.replaceChildren(
      make("h1", {}, "Your figures"),
      make("p", { className: "help" }, "Drag or type a value and see the answer change."),
      alone ? make("div", { id: "in-short", className: "against" }) : "",
      make("div", { id: "parts" }),
    );
    const known = answers.known();
    if (known?.id === page.product().id) tell(known);
  }

  /** Lays the fields anew where there are others than before; brings them up to date otherwise. */
  function tell(said) {
    const parts = $("parts");
    if (!parts) return;
    parts.inert = !said.form;
    const short = said.faults.length > 0 ? [`There is no answer before this is mended: ${spoken(said.faults[0].what)}.`] : answers.inShort(said);
    $("in-short")?.replaceChildren(...short.map((line) => make("p", {}, line)));
    if (!said.form) {
      parts.replaceChildren(page.faults(said));
      built = "";
      return;
    }
    const shape = JSON.stringify(said.form.map((g) => [g.section, g.entry, g.name, g.fields.map((f) => [f.key, (f.figures?.numbers.length ?? 0) > 1 && isTime(g.section, f.key), isRange(g.section, f), f.rows?.map((row) => row.map(([key]) => key))])]));
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

  /** Takes what is typed into some fields when the pen rests, and when it leaves them; `take` is told at which visit, as that is one step back.
   * What it gives ends the wait. */
  function pen(inputs, what, take) {
    let [waiting, visit] = [0, ""];
    const rest = () => {
      clearTimeout(waiting);
      busy.end(what);
    };
    for (const input of inputs) {
      input.addEventListener("focus", () => (visit = `pen ${Math.random()}`));
      input.addEventListener("input", () => {
        clearTimeout(waiting);
        busy.begin(what);
        waiting = setTimeout(() => {
          take(visit);
          busy.end(what);
        }, PEN);
      });
      input.addEventListener("change", () => {
        rest();
        take(visit);
      });
    }
    return rest;
  }

  /** A value as it is typed for a key, as the file has it. */
  function asTyped(section, key, typed) {
    const measure = rules.at(section, key)?.takes.amount?.measure;
    const text = typed.trim();
    if (isTime(section, key) && !/[/{[]/.test(text)) return timeOf(text, "", "", measure === "clock") ?? text;
    if (measure === "share" && numberOf(text) >= 1) return `${numberOf(text)} %`;
    return withPoint(text);
  }

  /** A key as a form asks for it: its example is said beside the field, and does not stand in it. */
  function asked(section, key, form) {
    const about = first(calledHere(section, key.about));
    const choices = key.takes.choice?.map(({ word, about }) => [word, `${word}: ${about}`]) ?? { step: stepsOf(form), channel: form.filter((group) => group.section === "channel") }[key.takes]?.map(({ name }) => [name, name]);
    return { key: key.name, words: sentence(wordOf(section, key.name)), choices, hint: choices ? about : `${about} For example ${bare(key.example)}` };
  }

  /** Figures that a misfortune may change, as the library calls them, and what they are now. */
  const figuresOf = (form) => form.filter(({ section }) => ["step", "material", "sale", "shop"].includes(section)).flatMap((group) => group.fields.filter((one) => one.figures).map((one) => [pathOf(group, one.key), `${partOf(group)}: ${wordOf(group.section, one.key)}, ${one.written}`]));

  /** Values that are lists: what an entry is called, what it is made of, and what was typed for it as pairs of name and value; `whole`: all of
   * them are put in at once. */
  const LISTS = {
    breaks: {
      word: "price break",
      cells: (form) => rules.of("breaks").keys.map((key) => asked("breaks", key, form)),
      typed: (put) => Object.entries(put).map(([key, value]) => [key, asTyped("breaks", key, value)]),
    },
    changes: {
      word: "change",
      // It is one text.
      whole: true,
      // Another figure begins with what it is, and not with an amount of the one before.
      chosen: (figure, form) => [1, form.flatMap((group) => group.fields.map((one) => [pathOf(group, one.key), one.written])).find(([path]) => path === figure)?.[1] ?? ""],
      cells: (form) => [
        { key: "figure", words: "Which figure is another one then", choices: figuresOf(form) },
        { key: "then", words: "What it is then", hint: "as the figure itself is written" },
      ],
      typed: ({ figure, then }) => [["figure", figure], ["then", asTyped(figure.split(".")[0], figure.split(".").at(-1), then)]],
    },
  };

  /** What was typed for these keys as pairs of key and value; a sentence where one is missing. */
  function pairsOf(section, keys, typed) {
    const lacks = keys.find((key) => !typed[key.name].trim());
    return lacks ? `Write ${wordOf(section, lacks.name)}, for example ${bare(lacks.example)}` : keys.map((key) => [key.name, asTyped(section, key.name, typed[key.name])]);
  }

  /** Sections that want more than the keys that they need: what is asked, and the changes it makes. */
  const ASKS = {
    seconds: {
      fields: (form) => [whichStep(form), { key: "share", words: "Of 100 pieces, so many become seconds there", number: true, hint: "for example 8" }, { key: "price", words: "Price of a second", number: true, hint: "for example 18" }],
      changes: (typed) => (rules.may("step", "second", typed.share) && rules.may("seconds", "price", typed.price) ? [{ do: "add", section: "seconds", listed: false, values: [["price", plain(typed.price)]] }, atStep(typed, "second", percent("step", "second", typed.share))] : "Write how many of 100 pieces, and a price."),
    },
    currencies: {
      fields: () => [{ key: "code", words: "The other currency, in three letters", hint: "for example USD" }, { key: "worth", words: "What one of it is worth in your own", number: true, hint: "for example 0.91" }],
      changes: ({ code, worth }) => (/^[a-z]{3}$/i.test(code.trim()) && rules.may("currencies", "USD", worth) ? [{ do: "add", section: "currencies", listed: false, values: [[code.trim().toUpperCase(), plain(worth)]] }] : "Write three letters and a number."),
    },
    misfortune: {
      fields: (form) => [
        { key: "name", words: "What may happen", hint: "for example the post gets dearer" },
        ...LISTS.changes.cells(form),
      ],
      changes: ({ name, ...change }) => (name.trim() && change.then.trim() ? [{ do: "add", section: "misfortune", listed: true, values: [["name", name.trim()], ["changes", JSON.stringify([LISTS.changes.typed(change).map(([, value]) => value).join(" = ")])]] }] : "Say what may happen, and what the figure is then."),
    },
    // Every piece goes somewhere: another way takes its share from the last.
    channel: {
      fields: () => [{ key: "name", words: "What you call it", hint: "for example market stall" }, { key: "share", words: "Of 100 pieces, so many go this way", number: true, hint: "they are taken from the way before" }],
      changes: ({ name, share }, form) => {
        const last = form.findLast((group) => group.section === "channel");
        const [mine, left] = [numberOf(share), Number.parseFloat(last.fields.find((one) => one.key === "share")?.written) - numberOf(share)].map((part) => percent("channel", "share", String(Number(part?.toFixed(4)))));
        if (!name.trim() || !mine || !left) return "Give it a name, and a share that leaves some for the way before.";
        return [{ do: "put", at: { section: "channel", entry: last.entry, key: "share" }, written: left }, { do: "add", section: "channel", listed: true, values: [["name", name.trim()], ["share", mine]] }];
      },
    },
  };
  /** What is put in at once, as it changes nothing until it is made to. */
  const NEUTRAL = { pace: [["factor", "1"]], channel: [["name", "market stall"], ["share", "100 %"]] };

  /** Sections that are not there yet, or of which there may be more. */
  function moreSections(form) {
    const there = new Set(form.map((group) => group.section));
    // One of the two at the most.
    const against = { season: "steady", steady: "season" };
    const open = rules.all().filter(({ word, written }) => !there.has(against[word]) && word && written !== "braces" && written !== "top" && !["step", "material"].includes(word) && (written === "each" || !there.has(word)));
    if (open.length === 0) return "";
    const put = (word, changes) => {
      const { section, values, listed } = changes.find((one) => one.do === "add");
      const entry = listed ? form.filter((g) => g.section === section).length : null;
      opened.add(cardOf({ section, entry }));
      wanted = fieldAt(section, entry, values[0][0]);
      page.alter(`adding ${sectionWord(word)}`, changes);
    };
    const asks = (word) => {
      const listed = rules.of(word).written === "each";
      if (word in NEUTRAL && !there.has(word)) return null;
      if (word in OFFERS && word !== "channel") return OFFERS[word];
      if (word in ASKS) return ASKS[word];
      const keys = rules.of(word).keys.filter((key) => key.needed);
      return {
        fields: () => keys.map((key) => asked(word, key, form)),
        changes: (typed) => {
          const values = pairsOf(word, keys, typed);
          return Array.isArray(values) ? [{ do: "add", section: word, listed, values }] : values;
        },
      };
    };
    const one = ({ word, about, written }) => {
      const place = make("div", {});
      const ask = asks(word);
      const press = () => {
        if (!ask) put(word, [{ do: "add", section: word, listed: written === "each", values: NEUTRAL[word] }]);
        else if (place.hasChildNodes()) place.replaceChildren();
        else {
          place.append(askForm(ask, form, (changes) => put(word, changes)));
          place.querySelector("input, select").focus();
        }
      };
      return make("li", {}, button(SECTIONS[word] ?? ONE_MORE[word] ?? `A ${word.replace(/_/g, " ")}`, press), make("p", { className: "hint" }, first(calledHere(word, about))), place);
    };
    return make("section", {}, make("h2", {}, "More that you can say"), make("ul", { className: "plain-list" }, open.map(one)));
  }

  /** Keys that a section may have and has not. One that is chosen is asked for, with those without which it says nothing. */
  function moreKeys(group) {
    const there = new Set(group.fields.map((one) => one.key));
    const form = answers.known()?.form ?? [];
    // A channel is named where there are some.
    const channels = form.some((g) => g.section === "channel");
    // First guesses come last: what a log puts in keeps them, and hardly anybody writes one by hand.
    const guess = (key) => Number(key.name.startsWith("guessed_"));
    const open = (rules.of(group.section)?.keys ?? []).filter((key) => !there.has(key.name) && (key.name !== "channel" || channels)).sort((a, b) => guess(a) - guess(b));
    if (open.length === 0) return "";
    const place = make("div", {});
    const pick = (name) => {
      const key = open.find((one) => one.name === name);
      if (!key) {
        place.replaceChildren();
        return;
      }
      const at = (key) => ({ section: group.section, entry: group.entry, key });
      // A step that was just added has two times of 0; one that takes its time otherwise needs neither.
      const idle = !["per_order", "once"].includes(name) || ["setup", "each"].some((key) => takes(group, key)) ? [] : ["setup", "each"].filter((key) => there.has(key));
      const list = LISTS[name];
      const keys = [key, ...key.with.filter((other) => !there.has(other)).map((other) => rules.at(group.section, other))];
      const changes = (typed) => {
        if (list) return list.cells(form).some(({ key }) => !typed[key].trim()) ? "Write something in each field." : [{ do: "row", at: at(name), row: 0, cells: list.typed(typed) }];
        const values = pairsOf(group.section, keys, typed);
        return Array.isArray(values) ? [...values.map(([key, written]) => ({ do: "put", at: at(key), written })), ...idle.map((key) => ({ do: "take", at: at(key) }))] : values;
      };
      const put = (made) => {
        wanted = fieldAt(group.section, group.entry, name);
        page.alter(`${partOf(group)}, ${wordOf(group.section, name)}`, made);
      };
      place.replaceChildren(askForm({ fields: () => list?.cells(form) ?? keys.map((one) => asked(group.section, one, form)), changes }, form, put));
      place.querySelector("input, select").focus();
    };
    const words = (key) => `${wordOf(group.section, key.name)}: ${first(calledHere(group.section, key.about)).replace(/\.$/, "")}`;
    const list = choice([["", "Say more here …"], ...open.map((key) => [key.name, words(key)])], "", pick, { "aria-label": `Say more about ${partOf(group)}` });
    return make("div", { className: "field more" }, list, place);
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
    const name = partOf(group);
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
      make("div", { className: "inside" }, rules.of(group.section)?.about && make("p", { className: "hint about" }, calledHere(group.section, rules.of(group.section).about)), inside, moreKeys(group), make("div", { className: "row" }, shift("Move up", group.entry - 1), shift("Move down", group.entry + 1), out)),
    );
    return ordered ? make("div", { className: "ordered" }, handle(name, move), fold) : fold;
  }

  const faultsSaid = (wrong) => wrong.map(({ what, cure }) => make("p", { className: "wrong" }, spoken(what), make("span", { className: "cure" }, sentence(spoken(cure)))));

  /** Words, comment and the like beside a value. */
  const besides = (about, next, more) => clean([more, about, next.comment && `In the file: ${sentence(next.comment)}`].filter(Boolean).join(" "));

  /** A list: a row for each entry, that is filled in, added and taken out. */
  function rowsOf(group, one) {
    const at = { section: group.section, entry: group.entry, key: one.key };
    const id = idOf(at);
    const base = baseOf(id);
    const { word: entry, cells, typed, whole, chosen } = LISTS[one.key];
    const word = wordOf(group.section, one.key);
    const said = `${partOf(group)}, ${word}`;
    const known = rules.at(group.section, one.key);
    const form = answers.known()?.form ?? [];
    let now = one;
    const rowAt = (k) => () => $(`${base}-${k}-0`) ?? headAt(group.section, group.entry)();
    const rows = one.rows.map((row, k) => {
      const written = new Map(row);
      // Whatever stands in it is seen, also what should not be there.
      const asked = [...cells(form), ...row.filter(([key]) => !cells(form).some((cell) => cell.key === key)).map(([key]) => ({ key, words: key }))];
      const name = `${sentence(entry)} ${k + 1}`;
      const faults = make("div", { className: "faults", id: `${base}-${k}-faults`, "aria-live": "polite" });
      const take = (stroke) => {
        const put = typed(Object.fromEntries(asked.map(({ key }, j) => [key, inputs[j].value])));
        const was = new Map(now.rows[k]);
        const others = put.filter(([key, value]) => value !== (was.get(key) ?? ""));
        if (others.length > 0) page.alter(said, [{ do: "row", at, row: k, cells: whole ? put : others }], stroke);
      };
      const inputs = asked.map(({ key, choices }, j) => {
        const about = { id: `${base}-${k}-${j}`, "aria-describedby": `${base}-${k}-faults` };
        const value = written.get(key) ?? "";
        const choose = (of) => {
          const [other, start] = chosen(of, answers.known()?.form ?? form);
          inputs[other].value = start;
          take();
        };
        if (choices) return choice(choices.some(([of]) => of === value) ? choices : [[value, value], ...choices], value, choose, about);
        return make("input", { type: "text", value, spellcheck: false, autocomplete: "off", ...about });
      });
      inputs.forEach((input, j) => input.matches("input") && pen([input], `${id} ${k} ${j}`, take));
      const strike = () => {
        wanted = () => $(`${base}-${k}-0`) ?? rowAt(k - 1)();
        page.alter(`taking ${said} ${k + 1} out`, [{ do: "strike", at, row: k }]);
      };
      // What must be there keeps one.
      const out = (one.rows.length > 1 || !known?.needed) && button("Take out", strike, { className: "plain small", "aria-label": `Take out: ${said}, ${name}` });
      const fields = asked.map(({ words }, j) => make("div", {}, make("label", { for: inputs[j].id }, words), inputs[j]));
      return { inputs, asked, faults, box: make("div", { role: "group", className: "entry", "aria-label": name }, make("div", { className: "pair" }, fields), out, faults) };
    });
    const hint = make("p", { className: "hint", id: `${base}-hint` });
    const faults = make("div", { className: "faults", id: `${base}-faults`, "aria-live": "polite" });
    const place = make("div", {});
    const ask = {
      fields: cells,
      changes: (put) => {
        const lacks = cells(form).find(({ key }) => !put[key].trim());
        return lacks ? `Write something at "${lacks.words}".` : [{ do: "row", at, row: now.rows.length, cells: typed(put) }];
      },
    };
    const add = () => {
      if (place.hasChildNodes()) return place.replaceChildren();
      place.append(
        askForm(ask, form, (changes) => {
          wanted = rowAt(now.rows.length);
          page.alter(said, changes);
        }),
      );
      place.querySelector("input, select").focus();
    };

    fields.set(id, (next, wrong) => {
      now = next;
      rows.forEach(({ inputs, asked, faults }, k) => {
        const written = new Map(next.rows[k]);
        const mine = wrong.filter(({ row }) => row === k);
        inputs.forEach((input, j) => {
          const value = written.get(asked[j].key) ?? "";
          if (input.matches("select") && ![...input.options].some((option) => option.value === value)) input.prepend(make("option", { value }, value));
          if (input !== document.activeElement || input.matches("select")) input.value = value;
          // A fault that names a cell is of that one, any other of the whole row.
          const names = ({ what }) => asked.find(({ key }) => what.startsWith(`\`${key}\``))?.key ?? asked[j].key;
          if (mine.some((fault) => names(fault) === asked[j].key)) input.setAttribute("aria-invalid", "true");
          else input.removeAttribute("aria-invalid");
        });
        faults.replaceChildren(...faultsSaid(mine));
      });
      // How one is written in the file is no matter here.
      const about = calledHere(group.section, known?.about);
      hint.textContent = besides(whole ? first(about) : about, next);
      faults.replaceChildren(...faultsSaid(wrong.filter(({ row }) => row === null)));
    });
    return make("div", { className: "field value", role: "group", "aria-label": `${partOf(group)}: ${word}` }, make("div", { className: "value-head" }, make("b", {}, word)), rows.map(({ box }) => box), hint, faults, button(`Add a ${entry}`, add), place);
  }

  /** One value: words, input, scale, and a way to take it out. */
  function value(group, one) {
    if (one.rows && one.key in LISTS) return rowsOf(group, one);
    const at = { section: group.section, entry: group.entry, key: one.key };
    const id = idOf(at);
    const word = wordOf(group.section, one.key);
    const label = `${partOf(group)}: ${word}`;
    const known = rules.at(group.section, one.key);
    const timed = isTime(group.section, one.key);
    const choices = known?.takes.choice;
    const days = known?.takes.amount?.measure === "clock";
    const ranged = isRange(group.section, one);
    const said = `${partOf(group)}, ${word}`;
    let now = one;
    const put = (written, stroke) => {
      rest();
      if (written !== now.written) page.alter(said, [one.key === "name" && group.entry !== null ? { do: "rename", section: group.section, entry: group.entry, name: written } : { do: "put", at, written }], stroke);
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
      return one.figures?.numbers.length === 1 ? withPoint(typed) : typed;
    };
    const rest = pen(choices ? [] : made, id, (visit) => take(read(), visit));
    /** Takes what was typed, or says why it cannot be. */
    let refused = false;
    const take = (written, visit) => {
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
      put(timeOf(usual, usual, usual, days) ?? `${usual} / ${usual} / ${usual}`);
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
      const ends = ranged && threeOf(next.written);
      const shown = ends ? [ends.quick, ends.usual, ends.bad].map((end) => timeOf(end, "", "", days) ?? end) : [next.written];
      made.forEach((input, k) => {
        if (input !== document.activeElement && shown[k] !== undefined) input.value = shown[k];
        input.toggleAttribute("aria-invalid", wrong.length > 0);
        if (wrong.length > 0) input.setAttribute("aria-invalid", "true");
      });
      // A range in braces is one that a log put in, as a rule.
      const inWords = next.said && `That is ${next.said}.${next.tenths ? " One time in ten it is less than the first number, and one time in ten more than the last." : ""}`;
      hint.textContent = besides(calledHere(group.section, known?.about), next, inWords);
      hint.hidden = !hint.textContent;
      faults.replaceChildren(...faultsSaid(wrong));
      // A scale that the hand is on stays as it is.
      const key = JSON.stringify(next.figures);
      if (key === scaled || scales.contains(document.activeElement)) return;
      scaled = key;
      scales.replaceChildren(...(next.figures ? [scale(label, next.figures, put)] : []));
    });

    const head = make("div", { className: "value-head" }, make("label", { for: ranged ? `${base}-1` : base }, word), make("span", {}, spread, out));
    const row = ranged ? make("div", { className: "three" }, made.map((input, k) => make("div", {}, make("span", { className: "hint", "aria-hidden": "true" }, inputs[k].words), input))) : made[0];
    return make("div", { className: "field value" }, head, row, scales, hint, faults);
  }

  return { show, tell };
})();
