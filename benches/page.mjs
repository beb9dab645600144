// The library as a browser runs it beside the program, one thread each, in turn in one run: node benches/page.mjs PAGE PROGRAM [TURNS], with
// PAGE the file that src/page/build.sh names and PROGRAM batchwright as released. Prints the processor's milliseconds of a whole sweep (the
// median of the turns), of which a sweep of 100 batches a size takes so much: reading, words, JSON, and in the browser tables and the chart. The
// ratio is that of the rest, which is the simulation; last the median of the ratios.
import { spawnSync } from "node:child_process";
import fs from "node:fs";
import { decompress } from "../src/page/screen/fzstd/index.mjs";

const [page, program, turns = "9"] = process.argv.slice(2);
const reader = fs.readFileSync(new URL("../src/page/screen/packed.js", import.meta.url), "utf8");
const unpacked = new Function("decompress", `${reader}; return unpacked;`)(decompress);
const packed = / id="engine"[^>]*>([^<]*)</.exec(fs.readFileSync(page, "utf8"))[1];
const module = new WebAssembly.Module(unpacked(packed));
const nothing = {};
for (const { module: from, name } of WebAssembly.Module.imports(module)) (nothing[from] ??= {})[name] = () => {};
const library = new WebAssembly.Instance(module, nothing).exports;

function ask(question) {
  const bytes = new TextEncoder().encode(JSON.stringify(question));
  const room = library.room(bytes.length);
  new Uint8Array(library.memory.buffer, room, bytes.length).set(bytes);
  const at = library.answer(room, bytes.length, bytes.length, 0);
  const [json, length] = new Uint32Array(library.memory.buffer, at, 2);
  const reply = new TextDecoder().decode(new Uint8Array(library.memory.buffer, json, length));
  library.drop_reply(at);
  return JSON.parse(reply);
}

const FEW = 100;
const inBrowser = (text, trials) => {
  const before = process.cpuUsage();
  ask({ ask: "look", text, question: "sweep", figures: true, trials });
  const { user, system } = process.cpuUsage(before);
  return (user + system) / 1000;
};
/** The shell knows what a program it ran took of the processor. */
const inProgram = (...args) => {
  const timed = 'TIMEFORMAT="%U %S"; time "$@" >/dev/null 2>&1';
  const { stderr } = spawnSync("bash", ["-c", timed, "bash", program, ...args, "--threads", "1", "--format", "json"], { encoding: "utf8" });
  return stderr.trim().split(" ").reduce((sum, seconds) => sum + 1000 * Number(seconds), 0);
};
const median = (list) => [...list].sort((a, b) => a - b)[Math.floor(list.length / 2)];

const scenarios = new URL("../scenarios/", import.meta.url);
const ratios = [];
console.log("scenario                     browser of which  program of which    ratio");
for (const name of fs.readdirSync(scenarios).filter((name) => name.endsWith(".toml"))) {
  const file = new URL(name, scenarios).pathname;
  const text = fs.readFileSync(file, "utf8");
  const times = { browser: [], browserFew: [], program: [], programFew: [] };
  // What a browser compiles at its first use.
  inBrowser(text, 1000);
  for (let k = 0; k < Number(turns); k += 1) {
    times.browser.push(inBrowser(text));
    times.browserFew.push(inBrowser(text, FEW));
    times.program.push(inProgram("sweep", file));
    times.programFew.push(inProgram("sweep", file, "--trials", String(FEW)));
  }
  const [browser, browserFew, program, programFew] = Object.values(times).map(median);
  const ratio = (browser - browserFew) / (program - programFew);
  ratios.push(ratio);
  const all = [browser, browserFew, program, programFew].map((time) => `${time.toFixed(0).padStart(5)} ms`);
  console.log(`${name.padEnd(27)} ${all.join(" ")} ${ratio.toFixed(2).padStart(8)}`);
}
console.log(`the median of the ratios: ${median(ratios).toFixed(2)}`);
