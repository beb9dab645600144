// The library behind the page, on two lines: `hand` answers while something is being changed, one question after the other; `rest`
// answers in full, and a newer question ends the older one. Where the device has cores to spare, other lines take a share of a full answer. All
// run the module that was compiled once.

const engine = (() => {
  /** A question that waits so long behind another ends it, in milliseconds. */
  const PATIENCE = 600;
  /** An instance never gives memory back: above so many bytes it is ended and begun anew. */
  const LARGE = 160 * 1024 * 1024;
  /** Workers that share a question out, at the most. */
  const SHARERS = 4;

  const source = URL.createObjectURL(new Blob([$("worker").textContent], { type: "text/javascript" }));
  /** A vector instruction in the smallest module that has one (WebAssembly core specification 2.0, 5.4.8 and 5.5). */
  const VECTORS = new Uint8Array([0, 97, 115, 109, 1, 0, 0, 0, 1, 5, 1, 96, 0, 1, 123, 3, 2, 1, 0, 10, 10, 1, 8, 0, 65, 0, 253, 15, 253, 98, 11]);
  /** Whether the page carries the library for browsers without vectors, and whether this browser can run what it carries. */
  const plain = $("engine").dataset.for === "any";
  const vectors = typeof WebAssembly === "object" && WebAssembly.validate(VECTORS);
  const runs = typeof WebAssembly === "object" && (plain || vectors);
  const compiled = (async () => {
    if (!runs) throw new Error("It is too old.");
    return WebAssembly.compile(unpacked($("engine").textContent));
  })();

  let number = 0;

  class Line {
    worker = null;
    going = null;
    waiting = null;

    /** Asks; an older question that waits is dropped, one that goes on too long is ended. `hear` is told how far a long one is; `parcels` go over with it. */
    ask(question, patience, hear, parcels = []) {
      this.waiting?.refuse(new Ended());
      number += 1;
      return new Promise((give, refuse) => {
        this.waiting = { number, question, give, refuse, hear, parcels };
        if (this.going && performance.now() - this.going.since >= patience) this.end(new Ended());
        compiled.then((module) => this.next(module), refuse);
      });
    }

    next(module) {
      if (this.going || !this.waiting) return;
      this.going = this.waiting;
      this.waiting = null;
      this.worker ??= this.begin(module);
      this.going.since = performance.now();
      const { number, question, parcels } = this.going;
      this.worker.postMessage({ number, question, parcels }, parcels);
    }

    begin(module) {
      const worker = new Worker(source);
      const mine = (told) => (event) => worker === this.worker && told(event);
      worker.onmessage = mine(({ data }) => this.going && data.number === this.going.number && this.told(data, module));
      // It may die without a word, where memory is short.
      worker.onmessageerror = worker.onerror = mine((event) => {
        event.preventDefault();
        this.end(new Error(event.message || "What reckons here has ended"));
        this.next(module);
      });
      worker.postMessage({ module });
      return worker;
    }

    told({ meanwhile, fault, full, reply, parcels, spent, bytes }, module) {
      if (meanwhile) return this.going.hear?.(JSON.parse(meanwhile));
      const { give } = this.going;
      if (fault) this.end(new Error(full ? "The memory of this browser is full" : fault));
      else {
        this.going = null;
        if (bytes > LARGE) this.end();
        give({ ...JSON.parse(reply), spent, parcels });
      }
      this.next(module);
    }

    /** Ends the worker, and with it the question that goes on. */
    end(why) {
      this.worker?.terminate();
      this.worker = null;
      this.going?.refuse(why);
      this.going = null;
    }

    /** Nothing goes on any more, and nothing waits. */
    hold() {
      this.waiting?.refuse(new Ended());
      this.waiting = null;
      if (this.going) this.end(new Ended());
    }
  }

  /** A question that a newer one took the place of. */
  class Ended extends Error {}

  const hand = new Line();
  const rest = new Line();
  /** Those that share full answers out with it; none any more after one of them has died, as memory may be short. One core is left to whatever
   * else runs: where none is free, all shares together take longer than one worker. */
  const workers = Math.min((navigator.hardwareConcurrency || 1) - 1, SHARERS);
  let others = Array.from({ length: Math.max(workers - 1, 0) }, () => new Line());
  /** Which question was asked in full last, by number. */
  let latest = 0;

  /** Nothing goes on in full any more. */
  function hold() {
    latest += 1;
    for (const line of [rest, ...others]) line.hold();
  }

  /** In full; ends what went before. */
  async function full(question) {
    hold();
    if (question.question !== "sweep" || others.length === 0) return rest.ask(question, 0);
    const mine = latest;
    const lines = [rest, ...others];
    const all = (ask) => Promise.all(lines.map((line, k) => ask(line, [k, lines.length], k)));
    let parts, shares;
    try {
      parts = await all((line, part) => line.ask({ ...question, part }, 0));
      if (mine !== latest) throw new Ended();
      // The library may find that one does it as soon.
      if (parts[0].parcels.length === 0) return parts[0];
      shares = await all((line, share, k) => line.ask({ ...question, share }, 0, undefined, parts.filter((part, from) => from !== k).map(({ parcels }) => parcels[k])));
    } catch (error) {
      if (error instanceof Ended || mine !== latest) throw new Ended();
      hold();
      others = [];
      return rest.ask(question, 0);
    }
    if (mine !== latest) throw new Ended();
    const said = await rest.ask({ ...question, shares: shares.map(({ share }) => share ?? "") }, 0);
    const longest = (of) => Math.max(...of.map(({ spent }) => spent));
    return { ...said, spent: longest(parts) + longest(shares) + said.spent };
  }

  return {
    ready: compiled,
    plain,
    vectors,
    runs,
    Ended,
    /** Soon, with few batches. */
    soon: (question) => hand.ask(question, PATIENCE),
    full,
    /** On the line of full answers, when nothing is asked there. */
    spare: (question) => rest.ask(question, Infinity),
    /** In a worker that ends with it, or when `signal` says so: what takes a while and was asked for by itself. `hear` is told how far it is. */
    alone(question, signal, hear) {
      const line = new Line();
      signal.addEventListener("abort", () => line.hold());
      return line.ask(question, Infinity, hear).finally(() => line.end());
    },
    /** One after the other, for what must not be dropped and is short: every change waits behind it. What takes a while is asked `alone`. */
    sure: (() => {
      const line = new Line();
      let before = Promise.resolve();
      return (question) => {
        const mine = before.catch(() => {}).then(() => line.ask(question, Infinity));
        before = mine;
        return mine;
      };
    })(),
    hold,
  };
})();
