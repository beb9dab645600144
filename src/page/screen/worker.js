// One instance of the library, in a thread of its own. It gets the compiled module first, then questions; each reply goes back with
// its number and with what it took; how far an answer is that takes a while is told before it.
let library = null;
let asked = null;
/** The reply that holds this worker's own parcel until it is asked for its share. */
let kept = 0;

self.onmessage = ({ data }) => {
  if (data.module) {
    // A workbook is dated by what is asked, yet its library looks at the clock first. Nothing else that the library asks of a browser is ever
    // used; a call of it would be a fault of the program.
    const stubs = {};
    for (const { module, name } of WebAssembly.Module.imports(data.module)) {
      const missing = () => {
        throw new Error(`${name} is not there`);
      };
      (stubs[module] ??= {})[name] = name.startsWith("__wbg_now_") ? Date.now : missing;
    }
    stubs.page = { told: (at, length) => self.postMessage({ number: asked, meanwhile: words(at, length) }) };
    // At once: a question that follows the module must find the library.
    library = new WebAssembly.Instance(data.module, stubs).exports;
    self.postMessage({ ready: true });
    return;
  }
  asked = data.number;
  try {
    const since = performance.now();
    const question = new TextEncoder().encode(JSON.stringify(data.question));
    const parcels = data.parcels ?? [];
    const bytes = parcels.reduce((sum, parcel) => sum + parcel.byteLength, question.length);
    const room = library.room(bytes);
    const whole = new Uint8Array(library.memory.buffer, room, bytes);
    whole.set(question);
    parcels.reduce((at, parcel) => (whole.set(new Uint8Array(parcel), at), at + parcel.byteLength), question.length);
    const said = library.answer(room, bytes, question.length, kept);
    drop();
    // Where its JSON is, how long it is, and the same of its parcels.
    let [json, length, at, all] = new Uint32Array(library.memory.buffer, said, 4);
    const reply = words(json, length);
    kept = said;
    let made = [];
    if (all > 0) {
      // Its own parcel stays, and is read where it is.
      const [own] = data.question.part;
      made = JSON.parse(reply).parcels.map((bytes, k) => library.memory.buffer.slice(at, (at += bytes) - (k === own ? bytes : 0)));
    } else drop();
    self.postMessage({ number: data.number, reply, parcels: made, spent: performance.now() - since, bytes: library.memory.buffer.byteLength }, made);
  } catch (error) {
    self.postMessage({ number: data.number, fault: String(error), full: full() });
  }
};

function drop() {
  if (kept) library.drop_reply(kept);
  kept = 0;
}

const words = (at, length) => new TextDecoder().decode(new Uint8Array(library.memory.buffer, at, length));

/** Whether no 16 MB more are to be had. */
function full() {
  try {
    library.memory.grow(256);
    return false;
  } catch {
    return true;
  }
}
