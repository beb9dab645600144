// What is seen is made here: elements from plain values. Text is always text; nothing is ever read as markup.

const $ = (id) => document.getElementById(id);
/** What is said of the place that the page stands in; nothing where nothing is. */
const meta = (name) => document.querySelector(`meta[name=${name}]`)?.content;

/** What steers instead of being seen: controls, marks of direction, what has no width (as the library's clean.rs has them). */
const STEERS = /[\0-\x08\x0b-\x1f\x7f-\x9f\xad\u061c\u180e\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb\ufffe\uffff\u{e0000}-\u{e007f}]/gu;

/** A text of somebody else, as it is shown. */
const clean = (text) => (typeof text === "string" ? text.replace(STEERS, "\ufffd") : text);

/** What is written between the marks of code, between quotes, where it has none of its own. */
const spoken = (words) => words?.replace(/`([^`]*)`/g, (_, code) => (code.includes('"') ? code : `"${code}"`));

const sentence = (words) => words && words.charAt(0).toUpperCase() + words.slice(1);

/** An element with properties and children. `on` holds listeners; what has a hyphen, and the names below, are attributes. */
function make(tag, properties = {}, ...children) {
  const element = document.createElement(tag);
  for (const [key, value] of Object.entries(properties)) {
    if (value === undefined || value === null) continue;
    if (key === "on") for (const [event, listener] of Object.entries(value)) element.addEventListener(event, listener);
    else if (key === "data") Object.assign(element.dataset, value);
    else if (key.includes("-") || ["for", "role", "scope", "list", "rowspan", "colspan"].includes(key)) element.setAttribute(key, clean(value));
    else element[key] = value;
  }
  element.append(...children.flat(9).filter((child) => child !== null && child !== undefined && child !== false).map(clean));
  return element;
}

/** A button that says what it does. */
function button(words, click, properties = {}) {
  return make("button", { type: "button", ...properties, on: { click } }, words);
}

let labels = 0;

/** A labelled field: the words above, the input, what it is for below. */
function field(words, input, hint) {
  labels += 1;
  input.id ||= `field-${labels}`;
  const parts = [make("label", { for: input.id }, words), input];
  if (hint) {
    parts.push(make("p", { className: "hint", id: `${input.id}-hint` }, hint));
    input.setAttribute("aria-describedby", `${input.id}-hint`);
  }
  return make("div", { className: "field" }, parts);
}

/** A choice among words. `choices`: pairs of value and words. */
function choice(choices, chosen, change, properties = {}) {
  const list = choices.map(([value, words]) => make("option", { value, selected: value === chosen }, words));
  return make("select", { ...properties, on: { change: (event) => change(event.target.value) } }, list);
}

/** Says something to those who hear the page. */
function say(words) {
  $("live").textContent = clean(words);
}

/** Says something that is seen for a while too: what a press far from it did. */
function seen(words) {
  say(words);
  // Laid anew, so that its time begins anew.
  $("seen").replaceWith(make("p", { id: "seen", "aria-hidden": "true" }, words));
  clearOfControls();
}

/** Moves what is seen for a while up from the foot of the window to the first place where it lies over no control, if there is one. */
function clearOfControls() {
  const note = $("seen");
  if (!note.firstChild) return;
  note.style.top = note.style.bottom = "";
  const { top: foot, left, right, height } = note.getBoundingClientRect();
  const boxes = [...document.querySelectorAll("button, a[href], input, select, textarea, summary")].map((one) => one.getBoundingClientRect());
  const controls = boxes.filter((box) => box.height > 0 && box.right > left && box.left < right);
  const isFree = (top) => top >= 0 && controls.every((box) => box.bottom <= top || box.top >= top + height);
  const top = [foot, ...controls.map((box) => box.top - height)].filter((top) => top <= foot && isFree(top)).sort((a, b) => b - a)[0];
  if (top !== undefined && top !== foot) Object.assign(note.style, { top: `${top}px`, bottom: "auto" });
}
for (const event of ["scroll", "resize"]) addEventListener(event, clearOfControls, { passive: true });
new ResizeObserver(clearOfControls).observe($("room"));

/** Lays `box` anew; what had the focus has it again, and what was pushed along stays where it was. */
function relaid(box, lay) {
  const key = (one) => one.id || `${one.tagName} ${one.getAttribute("aria-label") ?? one.textContent}`;
  const held = box.contains(document.activeElement) && key(document.activeElement);
  const pushed = new Map([...box.querySelectorAll(".scroll, .chart")].map((one) => [key(one), one.scrollLeft]));
  lay();
  for (const one of box.querySelectorAll(".scroll, .chart")) one.scrollLeft = pushed.get(key(one)) ?? 0;
  if (held && !box.contains(document.activeElement)) {
    const again = [...box.querySelectorAll("button, summary, input, select, textarea, [tabindex]")].find((one) => key(one) === held);
    again?.focus({ preventScroll: true });
  }
}

/** A table that may be wider than there is room: that there is more of it is said above it, as long as there is. */
function pushable(name, ...inside) {
  const more = make("p", { className: "hint", hidden: true }, "There is more to the right: push the table along.");
  const box = make("div", { className: "scroll", role: "group", tabIndex: 0, "aria-label": name }, inside);
  new ResizeObserver(() => {
    const hides = box.scrollWidth > box.clientWidth + 1;
    more.hidden = !hides;
    box.classList.toggle("hides", hides);
  }).observe(box);
  return [more, box];
}

/** What is on its way. As long as anything is, `data-busy` stands at the page, for whoever waits until nothing changes any more. */
const busy = (() => {
  const going = new Set();
  const tell = () => document.body.toggleAttribute("data-busy", going.size > 0);
  return {
    begin(what) {
      going.add(what);
      tell();
    },
    end(what) {
      going.delete(what);
      tell();
    },
  };
})();

/** A notice above everything, until it is put away; one of a kind at a time. */
function notice(kind, words, deeds = []) {
  hush(kind);
  const away = button("Put away", () => hush(kind), { className: "plain" });
  $("notices").append(make("div", { className: "notice", role: "alert", data: { kind } }, make("p", {}, words), [...deeds, away]));
}

// What gets the focus is scrolled clear of the notices that stay above; two versions of a file are scrolled along with the rest.
new ResizeObserver(([{ target, contentRect }]) => {
  const { position, top } = getComputedStyle(target);
  const covered = position === "sticky" ? contentRect.height : 0;
  document.documentElement.style.scrollPaddingTop = covered > 0 ? `${Number.parseFloat(top) + covered + 16}px` : "";
}).observe($("notices"));

function hush(kind) {
  for (const one of $("notices").querySelectorAll(`[data-kind="${kind}"]`)) one.remove();
}

/** A picture that the library drew, taken in as a picture and nothing else. */
function picture(svg) {
  const read = new DOMParser().parseFromString(svg, "image/svg+xml").documentElement;
  return read.nodeName === "svg" ? document.importNode(read, true) : null;
}

/** Gives a file to keep. */
function download(name, content, kind = "text/plain") {
  const address = URL.createObjectURL(new Blob([content], { type: typeof content === "string" ? `${kind};charset=utf-8` : kind }));
  make("a", { href: address, download: name }).click();
  setTimeout(() => URL.revokeObjectURL(address), 10_000);
}

/** Texts that are chosen from this device: [{ name, text }]. */
function chooseFiles(accept, several) {
  return new Promise((give) => {
    const input = make("input", { type: "file", accept, multiple: several });
    input.addEventListener("change", async () => give(await readFiles(input.files)));
    input.addEventListener("cancel", () => give([]));
    input.click();
  });
}

const LONGEST = 16 * 1024 * 1024;

async function readFiles(files) {
  const read = [];
  busy.begin(read);
  for (const file of files) {
    if (file.size > LONGEST) {
      notice("file", `${file.name} is longer than 16 MB, so it is none of ours.`);
      continue;
    }
    try {
      read.push({ name: file.name, text: new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(await file.arrayBuffer()) });
    } catch {
      notice("file", `${file.name} is not UTF-8 text, so it cannot be read. Save it as UTF-8 and open it again.`);
    }
  }
  busy.end(read);
  return read;
}

/** A name that any system takes for a file. */
function fileName(title, ending) {
  const plain = title.normalize("NFKD").toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-+|-+$/g, "").slice(0, 60);
  return `${plain || "product"}${ending}`;
}

/** The day where this is looked at. */
function today() {
  const now = new Date();
  return `${now.getFullYear()}-${String(now.getMonth() + 1).padStart(2, "0")}-${String(now.getDate()).padStart(2, "0")}`;
}
