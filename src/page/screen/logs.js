// A log of the product that is seen, as the library reads it, and changes of it line by line. The library writes each line; what else stands
// in the file stays.

/** `ask`: what the library calls it. `part`: where the product keeps it. `tell` lays what is seen of it anew. */
function logOf(ask, part, tell) {
  /** What the library read, of which log and of which product. */
  let known = null;
  const asking = (product, more) => engine.sure({ ask, text: product.text, log: product[part], ...more });

  return {
    known: () => known,
    /** What was said of a log that is about to be the product's. */
    know(said, of) {
      known = { ...said, of };
    },
    /** Whether it is read; if not, it is read in turn, and then laid. */
    isRead() {
      const { id, [part]: log } = page.product();
      if (!log.trim()) known = { log, of: id, entries: [], unread: null };
      if (known?.log === log) return true;
      page.inTurn(async () => {
        const product = page.product();
        if (product?.id !== id || known?.log === product[part]) return;
        const said = await asking(product, {});
        known = { ...said, log: product[part], of: id };
        if (page.product()?.id === id) tell();
      });
      return false;
    },
    /** Another file as the log, and the log as a file; `words`: what it is called. */
    async open(words) {
      const { id } = page.product();
      const [file] = await chooseFiles(".csv,text/csv,text/plain", false);
      if (file) putLog(id, part, words, file);
    },
    download() {
      const { text, [part]: log } = page.product();
      download(fileName(titleOf(text), `-${part}.csv`), log, "text/csv");
    },
    /** The log with one entry more, another or fewer. `deed` says what to do, as the log is when its turn comes. Gives what is wrong; nothing
     * at all where it failed, which is said already. */
    async change(words, deed) {
      const elsewhere = [{ part: "", why: "The log was changed elsewhere meanwhile. Look at it, and do this again." }];
      let wrong = null;
      await page.inTurn(async () => {
        const product = page.product();
        const wanted = product && known?.log === product[part] && deed(known.entries);
        if (!wanted) {
          wrong = elsewhere;
          return;
        }
        const said = await asking(product, wanted);
        wrong = said.wrong;
        if (wrong.length > 0) return;
        known = { ...said, of: product.id };
        if (!shelf.change(product.id, words, { [part]: said.log }, { of: product })) wrong = elsewhere;
      });
      return wrong;
    },
  };
}

/** A file as a log of a product; where another stood, how to get that back. */
function putLog(id, part, words, { name, text }) {
  const stood = shelf.get(id)[part];
  shelf.change(id, `the ${words} ${name}`, { [part]: text });
  if (stood.trim() && stood !== text) seen(`${name} is the ${words} now, in place of the one before. Undo brings that back.`);
}

const counted = (count, one) => `${count.toLocaleString("en-GB")} ${one}${count === 1 ? "" : "s"}`;

/** The form of one entry, new or corrected. `id` begins the names of its parts, `called` names its columns, `draft` is what is being typed. */
function entryForm(id, called, draft, take, leave) {
  const { cells, entry, wrong } = draft;
  const bad = (key) => wrong.some(({ part }) => part === key);
  const faults = wrong.length > 0 && make("div", { className: "wrong", id: `${id}-wrong`, tabIndex: -1, role: "alert" }, plainly(wrong, called).map((one) => make("p", {}, one)));
  return {
    input: (key, properties = {}, words = called[key]) =>
      field(words, make("input", { type: "text", id: `${id}-${key}`, value: cells[key], autocomplete: "off", "aria-invalid": bad(key) ? "true" : null, "aria-describedby": bad(key) ? `${id}-wrong` : null, ...properties, on: { input: (event) => (cells[key] = event.target.value) } })),
    lay: (words, open, ...inside) =>
      make(
        "details",
        { id: `${id}-form`, open: open || Boolean(entry), on: { toggle: (event) => (draft.open = event.target.open) } },
        make("summary", {}, entry ? "Correct an entry" : words),
        make("form", { noValidate: true, on: { submit: take } }, faults, inside, make("div", { className: "row" }, make("button", { type: "submit", className: "main", id: `${id}-note` }, entry ? "Put in the corrected entry" : "Put it into the log"), entry && button("Leave it as it was", leave))),
      ),
  };
}

/** The first of the entries as cards, and how many there are where these are not all. */
function cardsOf(entries, shown, one) {
  return [make("ul", { className: "cards" }, entries.slice(0, shown).map(one)), entries.length > shown && make("p", { className: "hint" }, `These are ${shown} of ${entries.length}. All of them are in the log, which you can download.`)];
}

/** A day as it is read. */
function dayOf(written) {
  const day = new Date(`${written}T12:00`);
  return Number.isNaN(day.valueOf()) ? written : day.toLocaleDateString("en-GB", { day: "numeric", month: "long", year: "numeric" });
}

/** What is wrong, each with its column by the name that it has here. */
function plainly(wrong, called) {
  return [...new Set(wrong.map(({ part, why }) => `${called[part] ? `${called[part]}: ` : ""}${spoken(why.replace(/`(\w+)`/g, (whole, column) => (called[column] ? `"${called[column]}"` : whole)))}`))];
}
