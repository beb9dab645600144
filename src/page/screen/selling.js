// What is put up for sale and what sold, noted as it happens: the log that `sold` reads. The library writes each line of it; what else
// stands in the file stays.

const selling = (() => {
  /** So many entries are laid out at once. */
  const SHOWN = 100;
  /** What a column is called here. */
  const CALLED = {
    listed: "Put up on",
    price: "Price of one",
    pieces: "Pieces",
    left: "Not sold",
    sold: "The last one sold on",
    until: "Taken down on",
    enquiries: "Buyers who asked about it",
    outlet: "Where",
    note: "Note",
  };
  const ON_A_DAY = { listed: "Day", pieces: "Pieces you took", sold: "Pieces you sold" };
  let box = null;
  /** What is being typed: { of, entry, day, cells, wrong, open }. `entry`: the one that is corrected. */
  let draft = null;

  const log = logOf("sale", "sales", () => tell());
  const isOpen = ({ open }) => open;
  const nameOf = ({ pieces, cells: { price, outlet } }) => `${counted(pieces, "piece")} at ${price}${outlet ? `, ${outlet}` : ""}`;
  const isDay = ({ cells: { listed }, ended }) => listed === ended;
  function fateOf({ pieces, sold, open, ended, cells }) {
    const some = pieces > 1 ? `${sold} of ${pieces} sold` : sold === 1 ? "sold" : "not sold";
    if (open) return `Put up on ${dayOf(cells.listed)}. ${pieces === 1 ? "Not sold yet" : `${some} so far`}.`;
    if (isDay({ cells, ended })) return `On ${dayOf(ended)}: ${some}.`;
    return sold === pieces ? `Put up on ${dayOf(cells.listed)}, ${pieces > 1 ? "all " : ""}sold by ${dayOf(ended)}.` : `Put up on ${dayOf(cells.listed)}, taken down on ${dayOf(ended)}: ${some}.`;
  }

  function show(into) {
    box = into;
    draft = null;
    tell();
  }

  /** Lays everything anew; a log that is not read yet is read first. */
  function tell() {
    if (!box?.isConnected) return;
    const { id } = page.product();
    if (!log.isRead()) {
      if (!log.known() || box.childElementCount === 0) box.replaceChildren(make("h1", { id: "sales-head", tabIndex: -1 }, "What you sell"), make("p", { className: "faint" }, "Reading …"));
      return;
    }
    if (draft?.of !== id) draft = fresh();
    const { entries, unread } = log.known();
    const [open, over] = [entries.filter(isOpen), entries.filter((one) => !isOpen(one)).reverse()];
    const folded = box.querySelector("#sales-over")?.open;
    relaid(box, () =>
      box.replaceChildren(
        make("h1", { id: "sales-head", tabIndex: -1 }, "What you sell"),
        entries.length === 0 && !unread ? make("p", { className: "help" }, "Note each piece that you put up for sale, and how each market or fair went. Afterwards you see what buyers pay, and how long a sale takes.") : "",
        unread ? make("div", { className: "wrong" }, make("p", { className: "opening lines" }, spoken(unread))) : "",
        open.length > 0 ? make("section", { "aria-labelledby": "sales-open" }, make("h2", { id: "sales-open" }, "For sale now"), list(open)) : "",
        unread ? "" : form(entries),
        over.length > 0 ? make("details", { id: "sales-over", open: folded ?? (open.length === 0 && over.length <= 5) }, make("summary", {}, `Sold or taken down (${over.length})`), list(over)) : "",
        book(entries, unread),
      ),
    );
  }

  /** Whether it is the same entry, in a log that may be another. */
  const same = ({ line, cells: { listed, price } }) => (one) => one.line === line && one.cells.listed === listed && one.cells.price === price;

  /** Something that one tap does to an entry. */
  async function tap(entry, words, typed) {
    const wrong = await log.change(words, (entries) => {
      const one = entries.find(same(entry));
      return one && { line: one.line, typed: typed?.(one) };
    });
    if (wrong?.length > 0) notice("sales", said(wrong).join(" "));
    if (wrong?.length !== 0) return;
    hush("sales");
    say(`${words[0].toUpperCase()}${words.slice(1)}. Undo takes it back.`);
    if (!box.contains(document.activeElement)) $("sales-head")?.focus();
  }

  /** One piece more is sold today; the last of them ends the offer. */
  function oneSold({ pieces, sold, cells }) {
    const left = pieces - sold - 1;
    return left > 0 ? { ...cells, left: String(left) } : { ...cells, left: "", sold: today(), until: "" };
  }

  const list = (entries) =>
    cardsOf(entries, SHOWN, (one) => {
      const name = nameOf(one);
      const called = (words) => ({ "aria-label": `${words}: ${name}, ${dayOf(one.cells.listed)}` });
      const many = one.pieces - one.sold > 1;
      const sold = many ? "One sold today" : "Sold today";
      return make(
        "li",
        { className: "card" },
        make("p", {}, make("b", {}, name)),
        make("p", {}, fateOf(one), one.cells.enquiries && ` ${counted(Number(one.cells.enquiries), "buyer")} asked.`),
        one.cells.note && make("p", { className: "faint" }, one.cells.note),
        make(
          "div",
          { className: "row" },
          one.open && button(sold, () => tap(one, `${name}: ${many ? "one sold today" : "sold today"}`, oneSold), { className: "main", ...called(sold) }),
          one.open && button("Taken down today", () => tap(one, `${name}: taken down today`, ({ cells }) => ({ ...cells, until: today() })), called("Taken down today")),
          button("Correct", () => correct(one), { className: "plain", ...called("Correct") }),
          button("Take out", () => tap(one, `${name}: taken out of the log`), { className: "plain", ...called("Take out") }),
        ),
      );
    });

  /** The price and the place of the last entry are likely those of the next. */
  function fresh(day = false) {
    const last = log.known()?.entries.findLast((one) => isDay(one) === day);
    const asked = (answers.known()?.form ?? []).find((group) => group.section === "sale")?.fields.find((one) => one.key === "price")?.written ?? "";
    const price = (last ?? log.known()?.entries.at(-1))?.cells.price ?? (/^[\d.]+$/.test(asked) ? asked : "");
    return { of: page.product().id, entry: null, day, wrong: [], open: false, cells: { listed: today(), price, pieces: "", left: "", sold: "", until: "", enquiries: "", outlet: last?.cells.outlet ?? "", note: "" } };
  }

  function correct(one) {
    const day = isDay(one);
    draft = { of: page.product().id, entry: one, day, wrong: [], open: true, cells: { ...one.cells, pieces: String(one.pieces), sold: day ? String(one.sold) : one.cells.sold } };
    tell();
    $("sales-listed").focus();
  }

  /** What was typed as the log has it, or what is wrong. */
  function typed() {
    const { cells, day } = draft;
    const price = numberOf(cells.price);
    const all = { ...cells, price: price === null ? cells.price : String(price) };
    if (!day) return { all };
    const [took, sold] = [cells.pieces, cells.sold].map((count) => (/^\s*\d+\s*$/.test(count) ? Number(count) : null));
    const wrong = [];
    if (!(took > 0)) wrong.push({ part: "pieces", why: "Write how many pieces you took, for example 12." });
    if (sold === null) wrong.push({ part: "sold", why: "Write how many pieces you sold, 0 if none." });
    else if (took > 0 && sold > took) wrong.push({ part: "sold", why: "You cannot have sold more pieces than you took." });
    const out = took > 0 && sold === took;
    return { wrong, all: { ...all, left: out ? "" : String(took - sold), sold: out ? cells.listed : "", until: out ? "" : cells.listed } };
  }

  /** What is wrong, by the names that columns have here. */
  const said = (wrong) => plainly(wrong, { ...CALLED, ...(draft?.day ? ON_A_DAY : {}) });

  async function take(event) {
    event.preventDefault();
    const mine = draft;
    const { all, wrong: own = [] } = typed();
    const { entry, day } = mine;
    const words = entry ? "a corrected entry" : day ? "a selling day" : "what you put up";
    const wrong = own.length > 0 ? own : await log.change(words, (entries) => (!entry || entries.some(same(entry))) && { line: entry?.line, typed: all });
    if (wrong === null || draft !== mine) return;
    if (wrong.length > 0) {
      draft.wrong = wrong;
      draft.open = true;
      tell();
      $("sales-wrong")?.focus();
      return;
    }
    draft = { ...fresh(day), open: !entry };
    hush("sales");
    say(entry ? "It is corrected. Undo takes it back." : "It is in the log. Undo takes it back.");
    tell();
    if (entry) $("sales-head").focus();
  }

  function form(entries) {
    const { cells, day } = draft;
    const { currency } = answers.known() ?? {};
    const called = { ...CALLED, ...(day ? ON_A_DAY : {}) };
    const { input, lay } = entryForm("sales", called, draft, take, () => {
      draft = fresh();
      tell();
      $("sales-head").focus();
    });
    const number = { inputMode: "numeric" };
    const date = { type: "date" };
    const outlets = [...new Set(entries.map((one) => one.cells.outlet).filter(Boolean))].slice(0, 50);
    const kind = choice([["", "Put up until it sells"], ["day", "A selling day, at a market or fair"]], day ? "day" : "", (now) => {
      const was = draft;
      draft = { ...fresh(now === "day"), entry: was.entry, open: true };
      // What was typed goes along; what stood there from an entry of the other kind does not.
      const stood = was.entry ? {} : fresh(was.day).cells;
      for (const key of ["listed", "price", "pieces", "enquiries", "outlet", "note"]) if (was.cells[key] !== (stood[key] ?? "")) draft.cells[key] = was.cells[key];
      tell();
    }, { id: "sales-kind" });
    const ended = !day && make(
      "details",
      { open: Boolean(cells.left || cells.sold || cells.until) },
      make("summary", {}, "It has sold already, or some of it"),
      make("div", { className: "pair" }, input("sold", date), input("until", date)),
      input("left", number),
      make("p", { className: "hint" }, "Say when the last one sold, or when it was taken down with how many not sold. Leave all three empty while it is for sale."),
    );
    return lay(
      "Note what you put up, or a selling day",
      draft.open || entries.length === 0,
      field("What is it?", kind),
      make("div", { className: "pair" }, input("listed", date), input("price", { inputMode: "decimal" }, currency ? `${called.price}, in ${currency}` : called.price)),
      make("div", { className: "pair" }, input("pieces", { ...number, placeholder: day ? "12" : "1" }), day ? input("sold", number) : input("outlet", { list: "sales-outlets" })),
      day && input("outlet", { list: "sales-outlets" }),
      make("datalist", { id: "sales-outlets" }, outlets.map((value) => make("option", { value }))),
      make("div", { className: "pair" }, input("enquiries", number), input("note")),
      ended,
      !day && make("p", { className: "hint" }, "When you change the price, take the old entry down and put up what is left at the new price: so you see what the price does."),
    );
  }

  /** The log as a file, and what comes of it. */
  function book(entries, unread) {
    const there = page.product().sales.trim() !== "";
    return make(
      "section",
      {},
      make("h2", {}, "The sales log"),
      make("p", {}, entries.length === 0 ? "Nothing is noted yet." : entries.length === 1 ? "One entry is in it." : `${entries.length} entries are in it.`),
      make(
        "div",
        { className: "row" },
        entries.length > 0 && button("What do buyers pay?", () => page.question("sold"), { className: "main", id: "sales-learn" }),
        there && button("Download the sales log (CSV)", log.download),
        button(there ? "Open another sales log" : "Open a sales log", () => log.open("sales log")),
      ),
      !there && make("p", { className: "hint" }, "A table that you kept elsewhere has a line for each piece or selling day, and the columns listed (the day), price, pieces, left (not sold), sold (the day of the last sale), until (the day it was taken down), enquiries, outlet, note. Save it as CSV and open it here."),
    );
  }

  return { show, tell };
})();
