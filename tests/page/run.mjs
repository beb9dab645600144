// The built page in a real browser: node run.mjs PAGE PROGRAM CHROMIUM HOUSE, with PAGE the file that src/page/build.sh names, PROGRAM
// batchwright as cargo builds it and HOUSE this project's folder; run.sh does it all. Everything is done as a person does it, by what is
// read and heard; the page is opened from disk. ONLY names a part of the names of the tests to run, SHOTS a folder for pictures of
// every screen.
import { closed } from "./browser.mjs";

for (const part of ["making", "clock", "answers", "keeping", "meanwhile", "selling", "handing", "library", "sharing", "looks"]) await import(`./${part}.mjs`);
const failed = await closed();
if (failed > 0) {
  console.log(`${failed} failed`);
  process.exit(1);
}
