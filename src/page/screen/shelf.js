// What is kept: products on a shelf in the browser's own storage. A product is { id, text, log, jobs }: the scenario's text, its work
// log as CSV, and the jobs on the bench. Every change goes through `change`, which remembers what was there before.

const shelf = (() => {
  const KEPT = "batchwright.product.";
  const ORDER = "batchwright.shelf";
  const HISTORY = "batchwright.history.";
  /** So many steps back are remembered, and so many of them kept through a reload, in so many characters at the most. */
  const FAR_BACK = 200;
  const KEPT_BACK = 30;
  const KEPT_LENGTH = 300_000;

  /** Products by id; the texts are the only truth, whatever else is shown of them is read anew. */
  const products = new Map();
  let order = [];
  /** What was there before and after, by product: [{ said, was }]. */
  const back = new Map();
  const forth = new Map();
  /** The texts as they were when they were opened. */
  const found = new Map();
  /** Says that a product is another than before. */
  let changed = () => {};
  let keeps = true;
  /** In a report the page is to try things in, and keeps nothing. */
  const trying = meta("place") === "report";

  function store(key, value) {
    if (trying) return true;
    try {
      if (value === null) localStorage.removeItem(key);
      else force(key, value);
      if (!keeps) hush("storage");
      keeps = true;
      return true;
    } catch (error) {
      keeps = false;
      const full = error.name === "QuotaExceededError" && localStorageThere();
      notice(
        "storage",
        full
          ? "The browser's storage for this page is full: the last change is here only as long as this window is open. Download what you want to keep, then take something off the shelf."
          : "This browser keeps nothing for this page: what you do here is gone when the window closes. Download what you want to keep.",
        [button("Download the whole shelf", () => shelf.takeAway())],
      );
      return false;
    }
  }

  /** Puts it into the storage. Where that is full, what Undo needs makes room: first that of other products, as it is a help and no product. */
  function force(key, value) {
    try {
      localStorage.setItem(key, value);
    } catch (error) {
      const histories = keys().filter((one) => one.startsWith(HISTORY) && one !== key);
      const first = histories.find((one) => one !== key.replace(KEPT, HISTORY)) ?? histories[0];
      if (first === undefined) throw error;
      localStorage.removeItem(first);
      force(key, value);
    }
  }

  const keys = () => Array.from({ length: localStorage.length }, (_, k) => localStorage.key(k));

  function localStorageThere() {
    if (trying) return false;
    try {
      return typeof localStorage.length === "number";
    } catch {
      return false;
    }
  }

  function stored(key) {
    try {
      return localStorage.getItem(key);
    } catch {
      return null;
    }
  }

  const written = ({ id, text, log, sales, jobs }) => JSON.stringify({ id, text, log, sales, jobs });

  /** The order that was kept; empty where it cannot be read. */
  function listed(json) {
    try {
      const ids = JSON.parse(json ?? "[]");
      return Array.isArray(ids) ? ids.filter((id) => typeof id === "string") : [];
    } catch {
      return [];
    }
  }

  /** A product as it is kept here; null where it is something else. */
  function sound(one) {
    const { id, text, log, sales, jobs } = one ?? {};
    if (typeof id !== "string" || typeof text !== "string") return null;
    return { id, text, log: typeof log === "string" ? log : "", sales: typeof sales === "string" ? sales : "", jobs: Array.isArray(jobs) ? jobs.filter(clock.sound) : [] };
  }

  function read(json) {
    try {
      return sound(JSON.parse(json));
    } catch {
      return null;
    }
  }

  function keep(product) {
    products.set(product.id, product);
    if (!found.has(product.id)) found.set(product.id, product.text);
    store(KEPT + product.id, written(product));
    if (!order.includes(product.id)) {
      order.push(product.id);
      store(ORDER, JSON.stringify(order));
    }
  }

  /** Keeps what Undo and Redo need, as far as there is room. */
  function remember(id) {
    if (trying) return;
    const last = (list) => {
      let room = KEPT_LENGTH / 2;
      const kept = [];
      for (const { said, was } of (list.get(id) ?? []).slice(-KEPT_BACK).reverse()) {
        room -= written(was).length;
        if (room < 0) break;
        kept.unshift({ said, was });
      }
      return kept;
    };
    try {
      force(HISTORY + id, JSON.stringify({ back: last(back), forth: last(forth) }));
    } catch {
      forgetKept(id);
    }
  }

  function forgetKept(id) {
    try {
      localStorage.removeItem(HISTORY + id);
    } catch {
      // Nothing was kept.
    }
  }

  /** What Undo and Redo had before the page was opened anew. */
  function recall(id) {
    try {
      const kept = JSON.parse(stored(HISTORY + id) ?? "null");
      const steps = (list) => (Array.isArray(list) ? list : []).map(({ said, was }) => ({ said: String(said), was: read(JSON.stringify(was)) })).filter(({ was }) => was?.id === id);
      back.set(id, steps(kept?.back));
      forth.set(id, steps(kept?.forth));
    } catch {
      // Without it there is nothing to take back.
    }
  }

  /** Puts a state in the place of another, with the way back. */
  function put(id, next, said, from, into, was = products.get(id)) {
    into.set(id, [...(into.get(id) ?? []).slice(-FAR_BACK), { said, was }]);
    from?.set(id, from.get(id).slice(0, -1));
    keep(next);
    remember(id);
    changed(id);
  }

  addEventListener("storage", ({ key, newValue }) => {
    if (key === ORDER) {
      order = listed(newValue);
      changed(null);
    }
    if (!key?.startsWith(KEPT)) return;
    const next = newValue && read(newValue);
    const was = next && products.get(next.id);
    if (!next || (was && written(was) === newValue)) return;
    // What stood here stays one step back, so that neither window's work is lost.
    if (was) back.set(next.id, [...(back.get(next.id) ?? []), { said: "changed in another window", was }]);
    forth.delete(next.id);
    products.set(next.id, next);
    changed(next.id, Boolean(was));
  });

  return {
    begin(tell) {
      changed = tell;
      const ids = (localStorageThere() ? keys() : []).filter((key) => key.startsWith(KEPT)).map((key) => key.slice(KEPT.length));
      for (const id of new Set([...listed(stored(ORDER)), ...ids])) {
        const product = read(stored(KEPT + id) ?? "");
        if (!product) continue;
        products.set(id, product);
        found.set(id, product.text);
        recall(id);
        order.push(id);
      }
      store(`${ORDER}.try`, "1") && store(`${ORDER}.try`, null);
    },
    list: () => order.map((id) => products.get(id)).filter(Boolean),
    get: (id) => products.get(id),
    /** A new product; its id. */
    add(text, log = "", jobs = [], sales = "") {
      const id = `${Date.now().toString(36)}-${Math.random().toString(36).slice(2, 8)}`;
      keep({ id, text, log, sales, jobs });
      changed(id);
      return id;
    },
    /** Changes a product; `said` in words, for those who take it back. Changes with the same `stroke` are one. What was made of parts as they
     * were a while ago brings these along as `of`, and waits its turn with `page.inTurn`: where one of them is another by now, nothing
     * changes, and this is false. Without `of` it overrules whatever stands there. `brings`: parts that Undo brings back other than they are. */
    change(id, said, parts, { stroke, of, brings } = {}) {
      const was = products.get(id);
      const next = { ...was, ...parts };
      if (of && Object.keys(parts).some((part) => was?.[part] !== of[part])) return false;
      if (!was || written(was) === written(next)) return true;
      const last = (back.get(id) ?? []).at(-1);
      forth.delete(id);
      if (stroke && last?.stroke === stroke) {
        keep(next);
        changed(id);
        return true;
      }
      put(id, next, said, null, back, { ...was, ...brings });
      if (stroke) back.get(id).at(-1).stroke = stroke;
      return true;
    },
    /** A file of `desk`: its text is the file's; what stood here of it is one step back. */
    file(id, text) {
      const was = products.get(id);
      if (was && was.text !== text) back.set(id, [...(back.get(id) ?? []), { said: "reading the file", was }]);
      found.set(id, text);
      keep({ log: "", sales: "", jobs: [], ...was, id, text });
    },
    /** Away with it; gives what brings it back. */
    drop(id) {
      const product = products.get(id);
      const at = order.indexOf(id);
      products.delete(id);
      order = order.filter((one) => one !== id);
      store(KEPT + id, null);
      forgetKept(id);
      store(ORDER, JSON.stringify(order));
      changed(null);
      return () => {
        order.splice(at, 0, id);
        store(ORDER, JSON.stringify(order));
        keep(product);
        changed(null);
      };
    },
    undo(id) {
      const last = (back.get(id) ?? []).at(-1);
      if (last) put(id, last.was, last.said, back, forth);
      return last?.said;
    },
    redo(id) {
      const last = (forth.get(id) ?? []).at(-1);
      if (last) put(id, last.was, last.said, forth, back);
      return last?.said;
    },
    /** What Undo and Redo would take back or bring again. */
    ways: (id) => ({ undo: (back.get(id) ?? []).at(-1)?.said, redo: (forth.get(id) ?? []).at(-1)?.said }),
    /** Somebody looks at it: changes are told from here on. */
    opened(id) {
      found.set(id, products.get(id).text);
    },
    /** The text before all changes since it was opened, to tell what they do. */
    before: (id) => found.get(id),
    takeAway() {
      const all = order.map((id) => products.get(id)).filter(Boolean);
      download("batchwright-shelf.json", JSON.stringify({ batchwright: "shelf", products: all.map(({ text, log, sales, jobs }) => ({ text, log, sales, jobs })) }, null, 1), "application/json");
    },
    /** Brings back what `takeAway` gave: how many, and how many are there already; null where it is none of ours. */
    bringBack(json) {
      let read;
      try {
        read = JSON.parse(json);
      } catch {
        return null;
      }
      if (read?.batchwright !== "shelf" || !Array.isArray(read.products)) return null;
      let [back, there] = [0, 0];
      for (const one of read.products) {
        const product = sound({ id: "", ...one });
        if (!product) continue;
        const same = ({ text, log, sales, jobs }) => JSON.stringify([text, log, sales, jobs]);
        if (this.list().some((other) => same(other) === same(product))) there += 1;
        else {
          this.add(product.text, product.log, product.jobs, product.sales);
          back += 1;
        }
      }
      return { back, there };
    },
  };
})();

/** Characters that TOML writes as one letter behind a backslash. */
const ESCAPED = { b: "\b", t: "\t", n: "\n", f: "\f", r: "\r" };
const characterOf = (hexadecimal) => {
  const code = Number.parseInt(hexadecimal, 16);
  return code <= 0x10ffff ? String.fromCodePoint(code) : "\ufffd";
};

/** A product's title, as far as it can be seen without reading the whole text. */
function titleOf(text) {
  const line = /^\s*title\s*=\s*(?:"((?:[^"\\\n]|\\.)*)"|'([^'\n]*)')/m.exec(text);
  const title = line ? (line[2] ?? line[1].replace(/\\(?:u([\da-fA-F]{4})|U([\da-fA-F]{8})|(.))/g, (_, short, long, one) => (one ? (ESCAPED[one] ?? one) : characterOf(short ?? long)))) : "";
  return title.trim() || "A product without a name";
}
