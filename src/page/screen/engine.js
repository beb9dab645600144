// The library behind the page, on two lines: `hand` answers while something is being changed, one question after the other; `rest`
// answers in full, and a newer question ends the older one. Both run the module that was compiled once.

const engine = (() => {
  /** A question that waits so long behind another ends it, in milliseconds. */
  const PATIENCE = 600;
  /** An instance never gives memory back: above so many bytes it is ended and begun anew. */
  const LARGE = 256 * 1024 * 1024;

  const source = URL.createObjectURL(new Blob([$("worker").textContent], { type: "text/javascript" }));
  /** A vector instruction in the smallest module that has one (WebAssembly core specification 2.0, 5.4.8 and 5.5). */
  const VECTORS = new Uint8Array([0, 97, 115, 109, 1, 0, 0, 0, 1, 5, 1, 96, 0, 1, 123, 3, 2, 1, 0, 10, 10, 1, 8, 0, 65, 0, 253, 15, 253, 98, 11]);
  /** Whether the page carries the library for browsers without vectors, and whether this browser can run what it carries. */
  const plain = $("engine").dataset.for === "any";
  const runs = typeof WebAssembly === "object" && (plain || WebAssembly.validate(VECTORS));
  const compiled = (async () => {
    if (!runs) throw new Error("It is too old.");
    return WebAssembly.compile(await unpacked($("engine").textContent));
  })();

  let number = 0;

  class Line {
    worker = null;
    going = null;
    waiting = null;

    async begin() {
      const module = await compiled;
      const worker = new Worker(source);
      worker.postMessage({ module });
      worker.onmessage = ({ data }) => this.told(worker, data);
      this.worker = worker;
    }

    end() {
      this.worker?.terminate();
      this.worker = null;
      this.going?.refuse(new Ended());
      this.going = null;
    }

    /** Asks; an older question that waits is dropped, one that goes on too long is ended. */
    ask(question, patience) {
      this.waiting?.refuse(new Ended());
      number += 1;
      return new Promise((give, refuse) => {
        this.waiting = { number, question, give, refuse };
        if (this.going && performance.now() - this.going.since >= patience) this.end();
        this.next();
      });
    }

    async next() {
      if (this.going || !this.waiting) return;
      this.going = this.waiting;
      this.waiting = null;
      const mine = this.going;
      try {
        if (!this.worker) await this.begin();
      } catch (error) {
        mine.refuse(error);
        this.going = null;
        return;
      }
      if (this.going !== mine) return;
      mine.since = performance.now();
      this.worker.postMessage({ number: mine.number, question: mine.question });
    }

    told(worker, data) {
      if (worker !== this.worker || data.ready || data.number !== this.going?.number) return;
      const { give, refuse } = this.going;
      this.going = null;
      if (data.fault) {
        this.end();
        refuse(new Error(data.fault));
      } else {
        if (data.bytes > LARGE) this.end();
        give({ ...JSON.parse(data.reply), spent: data.spent });
      }
      this.next();
    }
  }

  /** A question that a newer one took the place of. */
  class Ended extends Error {}

  const hand = new Line();
  const rest = new Line();
  return {
    ready: compiled,
    plain,
    runs,
    Ended,
    /** Soon, with few batches. */
    soon: (question) => hand.ask(question, PATIENCE),
    /** In full; ends what went before. */
    full: (question) => rest.ask(question, 0),
    /** On the line of full answers, when nothing is asked there. */
    spare: (question) => rest.ask(question, Infinity),
    /** One after the other, for what must not be dropped: on a line of its own. */
    sure: (() => {
      const line = new Line();
      let before = Promise.resolve();
      return (question) => {
        const mine = before.catch(() => {}).then(() => line.ask(question, Infinity));
        before = mine;
        return mine;
      };
    })(),
    /** Nothing goes on in full any more. */
    hold: () => rest.going && rest.end(),
  };
})();
