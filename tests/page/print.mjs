// Reports on paper: node print.mjs PROGRAM CHROMIUM HOUSE prints the report of every shipped scenario, and one of three, as a browser does,
// and counts the pages. SHOTS names a folder that keeps the PDFs.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import fs from "node:fs";
import os from "node:os";
import path from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const [program, executablePath, house] = process.argv.slice(2);
const folder = fs.mkdtempSync(path.join(os.tmpdir(), "batchwright-print-"));
const scenarios = path.join(house, "scenarios");
const shipped = fs.readdirSync(scenarios).filter((name) => name.endsWith(".toml"));
const three = ["oak-peg-rail.toml", "oak-coat-stand.toml", "stoneware-mugs.toml"];
// Lines are as long as the font makes them: it is named, so that pages are as many on any machine that has it.
if (!fs.existsSync("/usr/share/fonts/truetype/dejavu/DejaVuSansCondensed.ttf")) {
  console.log("no DejaVu Sans Condensed here (Debian: fonts-dejavu-core, fonts-dejavu-extra): pages are not counted");
  process.exit(0);
}
const fonts = ':root { font-family: "DejaVu Sans" } pre, code { font-family: "DejaVu Sans Mono" }';
const browser = await chromium.launch({ executablePath, args: process.getuid?.() === 0 ? ["--no-sandbox"] : [] });

/** Pages of the report of some scenarios, and the size of the first in points. */
async function printed(names, ...more) {
  const out = path.join(folder, "report.html");
  const files = names.map((name) => path.join(scenarios, name));
  execFileSync(program, ["report", ...files, "--date", "2026-12-01", "--out", out, ...more]);
  const page = await browser.newPage();
  await page.goto(pathToFileURL(out).href);
  await page.addStyleTag({ content: fonts });
  const pdf = await page.pdf({ preferCSSPageSize: true });
  await page.close();
  if (process.env.SHOTS) fs.writeFileSync(path.join(process.env.SHOTS, `${names.join("+")}${more.join("")}.pdf`), pdf);
  const text = pdf.toString("latin1");
  const box = text.match(/\/MediaBox\s*\[\s*0\s+0\s+([\d.]+)\s+([\d.]+)/);
  return { pages: text.match(/\/Type\s*\/Page\b/g).length, size: box.slice(1).map((side) => Math.round(Number(side))) };
}

try {
  // ISO 216: A4 is 210 by 297 mm, 595 by 842 pt; US Letter is 612 by 792 pt.
  for (const [paper, sides] of [["a4", [595, 842]], ["letter", [612, 792]]]) {
    for (const name of shipped) {
      const { pages } = await printed([name], "--paper", paper);
      console.log(`${name}, ${paper}: ${pages} pages`);
      assert(pages >= 4 && pages <= 6, `${name} prints on ${pages} pages of ${paper}; 4 to 6 are wanted`);
    }
    const { pages, size } = await printed(three, "--paper", paper);
    assert.deepEqual(size, sides);
    console.log(`three scenarios, ${paper}: ${pages} pages`);
    assert(pages >= 10 && pages <= 14, `three scenarios print on ${pages} pages of ${paper}; 10 to 14 are wanted`);
  }
} finally {
  await browser.close();
  fs.rmSync(folder, { recursive: true });
}
