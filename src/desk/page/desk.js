// The local page. It holds the text as it was saved, the text it starts from, and what was typed into its fields since; the
// server puts them together, says what is wrong and answers. Nothing is kept between requests but here.

const SECRET = document.querySelector("meta[name=secret]").content;
/** So long a hand must rest before the full number of runs is asked for, in milliseconds. */
const REST = 350;
/** And so long a pen, before anything is: half a value is not a fault. */
const PEN = 280;

const $ = (id) => document.getElementById(id);
const fields = $("fields");
const whole = $("text");

/** The file as far as it is known. */
let saved = "";
/** What the fields were made of, without what was typed into them since. */
let base = "";
/** What was typed: address as text -> { at, written }. */
let typed = new Map();
/** What the fields say in the file as saved, by address. */
let asSaved = new Map();
/** Fields on the page, by address. */
let shown = new Map();
/** Which fields there are, as one text: the form is built anew only when it changes. */
let built = "";
/** Number of the last request; answers to earlier ones come too late. */
let number = 0;
/** The request on its way: { quick, stop }. */
let going = null;
/** Something changed while a quick answer was on its way. */
let again = false;
let resting = 0;
/** The address whose handle is being moved. */
let dragged = null;
/** The size of the last full answer: a quick one is about the same, so that it moves by the change alone. */
let held = null;
let question = "sweep";
/** Runs of a quick answer, by question. They change only while the hand rests: what moves is then the change, not luck. */
const runs = new Map();
/** What the last quick answer took, and how many runs it proposes. */
let pace = null;
/** The opening's height while the hand moves. */
let openingHeight = 0;

const ABOUT = {
  sweep: "What an hour earns and which price pays, by batch size",
  floor: "The price that pays, at several confidences",
  stress: "What bad luck does, and how far it may go before the price stops paying",
  drivers: "Which uncertain value moves the hour, and what a minute less is worth",
  jig: "Whether a jig pays for itself, and after how many pieces",
  season: "How many to make for a season, and what is left over",
  steady: "How many at a time, and how often, for a steady seller",
  calendar: "When a batch is done, from today on, and what limits it",
};

const name = (at) => JSON.stringify([at.section, at.entry, at.key]);

/** An element with properties and children; text is always text. */
function make(tag, properties = {}, ...children) {
  const element = document.createElement(tag);
  for (const [key, value] of Object.entries(properties)) {
    if (key.startsWith("aria-") || key === "for") element.setAttribute(key, value);
    else element[key] = value;
  }
  element.append(...children);
  return element;
}

async function ask(path, content, signal) {
  const response = await fetch(path, {
    method: "POST",
    signal,
    headers: { "Content-Type": "application/json", "Batchwright-Secret": SECRET },
    body: JSON.stringify(content),
  });
  const plain = (response.headers.get("Content-Type") ?? "").startsWith("application/json");
  const said = plain ? await response.json() : { said: (await response.text()).trim() };
  return { good: response.ok, said };
}

// ---------------------------------------------------------------------------------------------------------------------
// Asking

function draft() {
  return { text: base, typed: [...typed.values()] };
}

/** Something changed: a quick answer now, the full one when the hand rests. */
function changed(pause = 0) {
  tellState();
  clearTimeout(resting);
  if (pause > 0) {
    resting = setTimeout(() => changed(), pause);
    return;
  }
  resting = setTimeout(() => answer(false), REST);
  // While a quick answer is on its way the next one waits for it: sixty a second would each be called off by the next.
  if (going?.quick) again = true;
  else answer(true);
}

async function answer(quick) {
  going?.stop.abort();
  const mine = { quick, stop: new AbortController() };
  going = mine;
  again = false;
  number += 1;
  const asked = number;
  const chosen = wantedSize();
  const size = chosen ?? (quick ? held : null);
  let got;
  try {
    got = await ask("/answer", { number: asked, ...draft(), saved, question, size, quick, runs: runs.get(question) ?? null }, mine.stop.signal);
  } catch (error) {
    if (error.name === "AbortError") return;
    gone();
    return;
  } finally {
    if (going === mine) going = null;
  }
  if (asked !== number) return;
  if (!got.good) notice(got.said.said);
  else if (got.said.number === asked) show(got.said, quick);
  if (again && quick) answer(true);
}

function gone() {
  notice(
    "The program behind this page does not answer: it has ended. Start it again with the same file, at the same --port, or open the new address; what was typed here is here as long as this page is open.",
  );
}

/** The size that was typed, if it is one. */
function wantedSize() {
  const size = $("size").valueAsNumber;
  return Number.isInteger(size) && size >= 1 && size <= 10000 ? size : null;
}

// ---------------------------------------------------------------------------------------------------------------------
// Showing

function show(said, quick) {
  if (said.form && said.as_saved && typed.size === 0) {
    asSaved = new Map(said.form.flatMap((group) => group.fields.map((one) => [name({ ...group, key: one.key }), one.written])));
  }
  if (said.form) layFields(said.form);
  // Nothing can be put into a text that is not understood.
  fields.inert = !said.form;
  // A value that is being dragged is whole at every moment; a fault then waits with its words until the hand rests.
  layFaults(said.faults);
  if (said.faults.length === 0 && $("notice").dataset.until === "mended") hush();
  layQuestions(said.questions);
  layAnswer(said, quick);
  tellState();
}

function layAnswer(said, quick) {
  const panel = $("answer");
  const made = $("made");
  const before = said.faults.length > 0 || Boolean(said.cannot);
  panel.classList.toggle("before", before && panel.childElementCount > 0);
  made.classList.toggle("before", before);
  if (before) {
    made.textContent = said.cannot
      ? said.cannot + (panel.childElementCount ? " Below is the answer from before." : "")
      : panel.childElementCount
        ? "Below is the answer from before the fault."
        : "There is an answer once the faults are mended.";
    $("against").replaceChildren();
    $("against").classList.remove("moved");
    if (!quick) say($("live"), made.textContent);
    return;
  }
  const { html, opening, trials, size } = said.answer;
  // The page keeps its height while the hand moves, and what was opened or scrolled stays so.
  panel.style.minHeight = quick ? `${panel.offsetHeight}px` : "";
  const opened = [...panel.querySelectorAll("details")].map((d) => d.open);
  const scrolled = [...panel.querySelectorAll(".scroll")].map((d) => d.scrollLeft);
  const places = "summary, [tabindex]";
  const focused = [...panel.querySelectorAll(places)].indexOf(document.activeElement);
  openingHeight = quick ? Math.max(openingHeight, panel.querySelector(".opening")?.offsetHeight ?? 0) : 0;
  panel.innerHTML = html;
  panel.querySelectorAll("details").forEach((d, k) => (d.open = opened[k] ?? false));
  panel.querySelectorAll(".scroll").forEach((d, k) => (d.scrollLeft = scrolled[k] ?? 0));
  if (focused >= 0) panel.querySelectorAll(places)[focused]?.focus({ preventScroll: true });
  const sentence = panel.querySelector(".opening");
  if (sentence) sentence.style.minHeight = openingHeight > 0 ? `${openingHeight}px` : "";
  const many = trials.toLocaleString("en-GB");
  made.textContent = quick
    ? `Quick answer from ${many} batches; the full one follows when your hand rests.`
    : `From ${many} batches, seed 1.`;
  setPace(said.answer, quick);
  if (!quick) held = size;
  $("size").placeholder = size ?? "";
  $("size-said").textContent = wantedSize() ? "" : size ? "as the command chooses" : "all of the scenario's sizes";
  layAgainst(said);
  if (!quick) say($("live"), [opening, ...said.against, ...said.doubts].join(" "));
}

/** How many runs the next quick answers have: by what the last took, and at first by what the full one took. */
function setPace({ quick_runs, spent, trials }, quick) {
  if (quick) {
    pace = { quick_runs, spent, trials };
    return;
  }
  const now = runs.get(question);
  if (now === undefined) runs.set(question, quick_runs);
  else if (pace && (pace.spent > 45 || pace.quick_runs >= 2 * now)) runs.set(question, pace.quick_runs);
  pace = null;
}

function layAgainst(said) {
  const box = $("against");
  box.classList.toggle("moved", said.against.length > 0);
  const lines = said.against.length > 0 ? said.against : [said.as_saved ? "As saved. Move or type a value, and this says what it does." : "Changed, with the same figures as saved."];
  box.replaceChildren(...lines.map((line) => make("p", {}, line)));
  box.append(...said.doubts.map((doubt) => make("p", { className: "faint" }, `Doubtful: ${doubt}.`)));
}

function layQuestions(questions) {
  if (questions.length === 0) return;
  const box = $("questions");
  const now = [...box.querySelectorAll("input")].map((input) => input.value);
  const wanted = questions.includes(question) ? questions : [...questions, question];
  if (now.join() === wanted.join()) return;
  const hadFocus = box.contains(document.activeElement);
  box.querySelectorAll("label").forEach((label) => label.remove());
  for (const value of wanted) {
    const input = make("input", { type: "radio", name: "question", value, checked: value === question });
    box.append(make("label", { title: ABOUT[value] ?? "" }, input, make("span", {}, value)));
    if (hadFocus && value === question) input.focus();
  }
}

function layFaults(faults) {
  const general = $("faults");
  document.querySelectorAll(".group").forEach((group) => group.classList.remove("wrong"));
  const text = inText();
  const others = [];
  const at = new Map();
  for (const fault of faults) {
    const id = fault.at && fault.at.key ? name(fault.at) : null;
    if (!text && id && shown.has(id)) at.set(id, [...(at.get(id) ?? []), fault]);
    else others.push(fault);
  }
  for (const [id, field] of shown) {
    const list = at.get(id) ?? [];
    setFault(field, list);
    if (list.length === 0) continue;
    field.group.classList.add("wrong");
    field.group.open = true;
  }
  tellMarks();
  const lines = others.map((fault) => {
    const there = make("button", { type: "button", title: "Show it in the text" }, `line ${fault.line}, column ${fault.column}`);
    there.addEventListener("click", () => goTo(fault));
    const section = fault.at && !fault.at.key && fault.at.section ? ` In [${fault.at.section}]` : "";
    return make("p", { className: "fault" }, there, `${section} ${fault.what}`, make("span", { className: "cure" }, capital(fault.cure)));
  });
  if (faults.length > 0) {
    const one = faults.length === 1;
    const where = at.size > 0 ? `, shown where ${one ? "it stands" : "they stand"}` : "";
    const count = one ? `1 fault${where}` : `${faults.length} faults${where}`;
    lines.unshift(make("p", { className: "faint" }, `${count}. Nothing is saved until ${one ? "it is" : "they are"} mended.`));
  }
  general.replaceChildren(...lines);
  general.hidden = lines.length === 0;
}

function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

function setFault(field, list) {
  const told = JSON.stringify(list);
  if (field.told === told) return;
  field.told = told;
  field.box.classList.toggle("wrong", list.length > 0);
  const said = list.map((fault) => make("p", { className: "fault" }, fault.what, make("span", { className: "cure" }, capital(fault.cure))));
  field.faults.replaceChildren(...said);
  if (list.length > 0) field.input.setAttribute("aria-invalid", "true");
  else field.input.removeAttribute("aria-invalid");
}

/** Goes to a fault in the whole text. */
function goTo(fault) {
  setView("text").then(() => {
    const lines = whole.value.split("\n");
    const line = Math.min(fault.line, lines.length) - 1;
    const from = lines.slice(0, line).reduce((sum, l) => sum + l.length + 1, 0);
    const column = [...lines[line]].slice(0, fault.column - 1).join("").length;
    whole.focus();
    whole.setSelectionRange(from + column, from + Math.min(lines[line].length, column + Math.max(fault.excerpt.length, 1)));
    whole.scrollTop = Math.max(0, (whole.scrollHeight * (line - 3)) / lines.length);
  });
}

// ---------------------------------------------------------------------------------------------------------------------
// Fields

function layFields(groups) {
  const names = JSON.stringify(groups.map((g) => [g.section, g.entry, g.fields.map((f) => [f.key, f.comment, f.written.includes("\n")])]));
  const focused = document.activeElement?.dataset?.id;
  if (names !== built && !dragged) {
    const open = new Map([...fields.querySelectorAll("details")].map((d) => [d.dataset.id, d.open]));
    const place = fields.parentElement.scrollTop;
    const role = document.activeElement?.dataset?.role;
    shown = new Map();
    fields.replaceChildren(...groups.map((group) => laySection(group, open)));
    built = names;
    fields.parentElement.scrollTop = place;
    if (focused) fields.querySelector(`[data-id='${CSS.escape(focused)}'][data-role='${role}']`)?.focus();
  }
  for (const group of groups) {
    for (const one of group.fields) {
      const id = name({ section: group.section, entry: group.entry, key: one.key });
      const field = shown.get(id);
      if (field) refresh(field, one, id);
    }
    const heading = fields.querySelector(`details[data-id='${CSS.escape(name({ ...group, key: "" }))}'] .name`);
    if (heading && group.name !== null) heading.textContent = group.name;
  }
  tellMarks();
}

/** Brings a field up to date, unless the hand or the pen is on it. */
function refresh(field, one, id) {
  field.written = one.written;
  if (!typed.has(id) && field.input !== document.activeElement) field.input.value = one.written;
  // An answer to what was typed before says nothing of where the handles are by now.
  const current = (typed.get(id)?.written ?? one.written) === one.written;
  if (dragged !== id && current) {
    // The scale stays as long as the value is on it, so that a handle does not jump away from the hand.
    const fits = field.figures && one.figures && one.figures.numbers.every((n) => n.value * n.worth < field.figures.top);
    const [top, step] = fits && field.figures.numbers.length === one.figures.numbers.length ? [field.figures.top, field.figures.step] : [one.figures?.top, one.figures?.step];
    field.figures = one.figures ? { ...one.figures, top, step } : null;
    // Digits as in the file: a handle that came by a tenth leaves none behind.
    if (!typed.has(id) || !field.decimals) field.decimals = one.figures?.numbers.map((n) => n.decimals);
    field.figures?.numbers.forEach((n, k) => (n.least = field.decimals?.[k] ?? n.decimals));
    layScale(field);
  }
  const was = asSaved.get(id);
  const moved = was !== undefined && was !== one.written;
  field.box.classList.toggle("changed", moved);
  if (moved) {
    field.was.textContent = `saved: ${was}`;
    field.was.title = `Back to ${was}`;
    field.was.setAttribute("aria-label", `${field.label}: back to ${was}, as saved`);
  }
  field.was.disabled = !moved;
}

function laySection(group, open) {
  const id = name({ ...group, key: "" });
  const title = group.section === "" ? "The piece" : (group.name ?? group.section);
  const kind = group.section !== "" && group.name !== null ? group.section : "";
  const inside = make("div", { className: "in" });
  const narrow = window.matchMedia("(max-width: 56rem)").matches;
  const first = ["", "sale"].includes(group.section);
  const details = make(
    "details",
    { className: "group", open: open.get(id) ?? (!narrow || first) },
    make("summary", {}, make("span", { className: "marks" }), make("span", { className: "name" }, title), " ", make("span", { className: "kind" }, kind)),
    inside,
  );
  details.dataset.id = id;
  for (const one of group.fields) inside.append(layField(group, one, details, title));
  return details;
}

let ids = 0;

function layField(group, one, details, title) {
  const at = { section: group.section, entry: group.entry, key: one.key };
  const id = name(at);
  ids += 1;
  const many = one.written.includes("\n");
  const input = make(many ? "textarea" : "input", { id: `f${ids}`, spellcheck: false, value: one.written });
  if (!many) input.type = "text";
  input.dataset.id = id;
  input.dataset.role = "input";
  const hint = make("p", { className: "hint", id: `h${ids}` }, one.comment ?? "");
  const faults = make("div", { className: "faults", id: `w${ids}`, "aria-live": "polite" });
  input.setAttribute("aria-describedby", `h${ids} w${ids}`);
  const was = make("button", { type: "button", className: "was", disabled: true });
  const label = make("label", { for: input.id }, one.key);
  const box = make("div", { className: "field" }, make("div", { className: "head" }, label, was), input);
  const field = { at, box, input, was, faults, group: details, figures: null, handles: [], written: one.written, label: `${title}, ${one.key}` };
  shown.set(id, field);
  if (one.figures) {
    field.band = make("div", { className: "band" });
    field.scale = make("div", { className: "scale" }, field.band);
    box.append(field.scale);
  } else box.classList.add("alone");
  if (one.comment) box.append(hint);
  box.append(faults);
  input.addEventListener("input", () => {
    put(field, input.value);
    changed(PEN);
  });
  input.addEventListener("change", () => {
    if (input.value !== (typed.get(id)?.written ?? field.written)) put(field, input.value);
    changed();
  });
  was.addEventListener("click", () => {
    put(field, asSaved.get(id));
    input.value = asSaved.get(id);
    input.focus();
    changed();
  });
  return box;
}

/** What a field says from now on. */
function put(field, written) {
  typed.set(name(field.at), { at: field.at, written });
}

const HANDLES = { 1: ["value"], 2: ["low", "high"], 3: ["low", "likely", "high"] };

function layScale(field) {
  if (!field.scale) return;
  const figures = field.figures;
  field.scale.hidden = !figures;
  if (!figures) return;
  const roles = HANDLES[figures.numbers.length];
  if (field.handles.length !== roles.length) {
    field.handles.forEach((handle) => handle.remove());
    field.handles = roles.map((role, k) => {
      const handle = make("input", { type: "range", className: role });
      handle.setAttribute("aria-label", role === "value" ? field.label : `${field.label}, ${role}`);
      handle.dataset.id = name(field.at);
      handle.dataset.role = role;
      handle.addEventListener("input", () => drag(field, k));
      handle.addEventListener("change", () => {
        dragged = null;
        changed();
      });
      return handle;
    });
    field.scale.append(...field.handles);
  }
  figures.numbers.forEach((n, k) => {
    const handle = field.handles[k];
    handle.min = 0;
    handle.max = figures.top;
    handle.step = figures.step;
    handle.value = n.value * n.worth;
    handle.setAttribute("aria-valuetext", digits(n, n.value));
  });
  layBand(field);
}

function layBand(field) {
  const at = field.figures.numbers.map((n) => Math.min(1, (n.value * n.worth) / field.figures.top));
  const [low, high] = at.length > 1 ? [at[0], at[at.length - 1]] : [0, at[0]];
  // Handles reach from half their width to half their width before the end.
  field.band.style.left = `calc(${low} * (100% - 1rem) + .5rem)`;
  field.band.style.width = `calc(${high - low} * (100% - 1rem))`;
}

/** A handle was moved: its number is written where it stood, and its neighbours are pushed along where they would be passed. */
function drag(field, k) {
  dragged = name(field.at);
  const { numbers, between, step } = field.figures;
  const to = field.handles[k].valueAsNumber;
  numbers.forEach((n, j) => {
    const place = n.value * n.worth;
    if (j === k || (j < k && place > to) || (j > k && place < to)) {
      n.value = to / n.worth;
      n.moved = true;
      if (j !== k) field.handles[j].value = to;
    }
  });
  const finest = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  const written = between.reduce((text, part, j) => text + digits(numbers[j - 1], numbers[j - 1].value, finest) + part);
  numbers.forEach((n, j) => field.handles[j].setAttribute("aria-valuetext", digits(n, n.value, finest)));
  field.input.value = written;
  put(field, written);
  layBand(field);
  changed();
}

/** A number as it was written, with as many digits as its step needs. */
function digits(n, value, finest = 0) {
  if (n.hours_and_minutes) {
    const minutes = Math.round(value);
    return `${Math.floor(minutes / 60)} h ${minutes % 60} min`;
  }
  // In another unit than the scale's a step needs two digits more.
  const most = Math.max(n.least, finest + (n.worth === 1 ? 0 : 2));
  if (!n.moved) return value.toFixed(n.decimals);
  const text = value.toFixed(most);
  if (!text.includes(".")) return text;
  let end = text.length;
  const least = text.indexOf(".") + 1 + n.least;
  while (end > least && text[end - 1] === "0") end -= 1;
  return text[end - 1] === "." ? text.slice(0, end - 1) : text.slice(0, end);
}

function tellMarks() {
  for (const details of fields.querySelectorAll("details")) {
    const changedHere = details.querySelectorAll(".field.changed").length;
    const wrongHere = details.querySelectorAll(".field.wrong").length;
    const marks = [changedHere > 0 ? `${changedHere} changed` : "", wrongHere > 0 ? `${wrongHere} wrong` : ""];
    details.querySelector(".marks").textContent = marks.filter(Boolean).join(", ");
  }
}

// ---------------------------------------------------------------------------------------------------------------------
// The whole text

const inText = () => document.querySelector("input[name=view]:checked").value === "text";

async function setView(view) {
  document.querySelector(`input[name=view][value=${view}]`).checked = true;
  if (view === "text") {
    await settle();
    whole.value = base.replace(/^\ufeff/, "");
  }
  fields.hidden = view === "text";
  $("whole").hidden = view !== "text";
  document.querySelector("main").classList.toggle("of-text", view === "text");
  changed();
}

/** Puts what was typed into the text the page starts from, as the server writes it. */
async function settle() {
  if (typed.size === 0) return;
  const sent = [...typed];
  number += 1;
  try {
    const got = await ask("/answer", { number, ...draft(), saved, question, size: wantedSize() ?? held, quick: true });
    if (!got.good) return notice(got.said.said);
    base = got.said.text;
    for (const [id, value] of sent) if (typed.get(id)?.written === value.written) typed.delete(id);
  } catch {
    gone();
  }
}

/** A text as lines with what ends each; the last ends in nothing. */
function lines(text) {
  const parts = text.split(/(\r\n|\r|\n)/);
  return parts.filter((_, i) => i % 2 === 0).map((line, i) => ({ line, end: parts[2 * i + 1] ?? "" }));
}

/** A text from the text area with the line ends and the byte order mark that the text had before: a browser knows only one kind. */
function withEnds(before, after) {
  const mark = before.startsWith("\ufeff") ? "\ufeff" : "";
  const old = lines(before.slice(mark.length));
  const fresh = lines(after);
  const same = (a, b) => a.line === b.line && (a.end === "") === (b.end === "");
  const most = Math.min(old.length, fresh.length);
  let head = 0;
  while (head < most && same(old[head], fresh[head])) head += 1;
  let tail = 0;
  while (tail < most - head && same(old.at(-1 - tail), fresh.at(-1 - tail))) tail += 1;
  const end = old.filter((line) => line.end === "\r\n").length * 2 > old.length - 1 ? "\r\n" : "\n";
  const middle = fresh.slice(head, fresh.length - tail).map(({ line, end: any }) => ({ line, end: any && end }));
  const all = [...old.slice(0, head), ...middle, ...old.slice(old.length - tail)];
  return mark + all.map(({ line, end: any }) => line + any).join("");
}

whole.addEventListener("input", () => {
  base = withEnds(base, whole.value);
  typed = new Map();
  changed(PEN);
});

// ---------------------------------------------------------------------------------------------------------------------
// Saving

const unsaved = () => base !== saved || [...typed].some(([id, value]) => asSaved.get(id) !== value.written);

/** Says something new; the same again would be read out again. */
function say(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

function tellState(same = !unsaved()) {
  const state = $("state");
  state.classList.toggle("unsaved", !same);
  say(state, same ? "as saved" : "changed, not saved");
  $("save").disabled = same;
  $("back").disabled = same;
  document.title = `${same ? "" : "* "}${$("file").textContent} – batchwright`;
}

function notice(text, ...deeds) {
  const box = $("notice");
  box.classList.toggle("calm", deeds.calm === true);
  const close = make("button", { type: "button" }, "Close");
  close.addEventListener("click", () => hush());
  delete box.dataset.until;
  box.replaceChildren(make("span", {}, text), ...deeds, close);
  box.hidden = false;
}

function hush() {
  $("notice").hidden = true;
}

async function save() {
  if ($("save").disabled) return;
  const sent = [...typed];
  let got;
  try {
    got = await ask("/save", { ...draft(), saved });
  } catch {
    return gone();
  }
  if (got.good) {
    saved = got.said.text;
    base = saved;
    // What was typed while it was being saved is still to be saved.
    for (const [id, value] of sent) if (typed.get(id)?.written === value.written) typed.delete(id);
    for (const [id, value] of sent) asSaved.set(id, value.written);
    hush();
    clearTimeout(resting);
    await answer(false);
    return;
  }
  if (got.said.changed) {
    const load = make("button", { type: "button" }, "Load the file again; what is typed here is lost");
    load.addEventListener("click", () => start());
    notice(got.said.said, load);
    return;
  }
  notice(got.said.said);
  if (got.said.faults?.length) {
    layFaults(got.said.faults);
    $("notice").dataset.until = "mended";
  }
}

/** Everything as it was saved; it can be taken back. */
function back() {
  const [oldBase, oldTyped] = [base, typed];
  base = saved;
  typed = new Map();
  const again = make("button", { type: "button" }, "Take the changes up again");
  again.addEventListener("click", () => {
    base = oldBase;
    typed = oldTyped;
    for (const [id, value] of typed) if (shown.has(id)) shown.get(id).input.value = value.written;
    if (inText()) whole.value = base.replace(/^\ufeff/, "");
    hush();
    changed();
  });
  notice("Everything is as it was saved.", again);
  if (inText()) whole.value = base.replace(/^\ufeff/, "");
  document.activeElement?.blur();
  changed();
}

async function start() {
  let got;
  try {
    got = await ask("/file", {});
  } catch {
    return gone();
  }
  if (!got.good) return notice(got.said.said);
  hush();
  saved = got.said.text;
  base = saved;
  typed = new Map();
  asSaved = new Map();
  held = null;
  if (inText()) whole.value = base.replace(/^\ufeff/, "");
  await answer(false);
}

$("save").addEventListener("click", save);
$("back").addEventListener("click", back);
fields.addEventListener("submit", (event) => event.preventDefault());
$("size").addEventListener("input", () => changed(PEN));
$("questions").addEventListener("change", (event) => {
  question = event.target.value;
  held = null;
  pace = null;
  changed();
});
document.querySelectorAll("input[name=view]").forEach((input) => input.addEventListener("change", () => setView(input.value)));
window.addEventListener("keydown", (event) => {
  if ((event.ctrlKey || event.metaKey) && !event.altKey && event.key.toLowerCase() === "s") {
    event.preventDefault();
    save();
  }
});
window.addEventListener("beforeunload", (event) => {
  if (unsaved()) event.preventDefault();
});
start();
