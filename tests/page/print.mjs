// Reports on paper: node print.mjs PROGRAM CHROMIUM HOUSE prints the report of every shipped scenario, and one of three, as a browser does,
// counts the pages, and looks at each: none but the last is less than a third full, and none ends with a heading that stands alone.
// SHOTS names a folder that keeps the PDFs.
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
try {
  execFileSync("pdftoppm", ["-v"], { stdio: "ignore" });
  execFileSync("pdftotext", ["-v"], { stdio: "ignore" });
} catch {
  console.log("no pdftoppm and pdftotext here (Debian: poppler-utils): pages are not looked at");
  process.exit(0);
}
const fonts = ':root { font-family: "DejaVu Sans" } pre, code { font-family: "DejaVu Sans Mono" }';
const browser = await chromium.launch({ executablePath, args: process.getuid?.() === 0 ? ["--no-sandbox"] : [] });

/** Dots an inch at which pages are looked at, and how high the foot with the page's number is, in points: the margin. */
const DPI = 36, FOOT = 27;

/** Pages as grey dots, from what pdftoppm writes: one PGM after the other. */
function drawn(pdf) {
  const bytes = execFileSync("pdftoppm", ["-gray", "-r", String(DPI), "-"], { input: pdf, maxBuffer: 1 << 30 });
  const pages = [];
  for (let at = 0; at < bytes.length; ) {
    const head = bytes.toString("latin1", at, at + 40).match(/^P5\s+(\d+)\s+(\d+)\s+255\s/);
    const [wide, tall] = [Number(head[1]), Number(head[2])];
    const dots = bytes.subarray(at + head[0].length, at + head[0].length + wide * tall);
    pages.push({ wide, tall, dots });
    at += head[0].length + wide * tall;
  }
  return pages;
}

/** As pdftotext writes words. */
const escaped = (text) => text.replace(/&/g, "&amp;").replace(/</g, "&lt;").replace(/>/g, "&gt;");

/** Whether anything is drawn in a box of points. */
function inked({ wide, dots }, [x0, y0, x1, y1]) {
  const [left, top, right, low] = [x0, y0, x1, y1].map((points) => Math.round((points * DPI) / 72));
  for (let y = top; y < low; y += 1) {
    if (dots.subarray(y * wide + left, y * wide + Math.min(right, wide)).some((dot) => dot < 200)) return true;
  }
  return false;
}

/** What is wrong with the pages of a PDF whose document has these headings. */
function faults(pdf, headings) {
  const lines = execFileSync("pdftotext", ["-bbox-layout", "-", "-"], { input: pdf, encoding: "utf8", maxBuffer: 1 << 28 });
  const text = lines.split("<page ").slice(1);
  const found = [];
  for (const [k, page] of drawn(pdf).entries()) {
    const [across, down] = [page.wide, page.tall].map((dots) => (dots * 72) / DPI);
    const foot = down - FOOT;
    if (k + 1 < text.length && !inked(page, [0, down / 3, across, foot])) found.push(`page ${k + 1} is less than a third full`);
    for (const [, box, words] of text[k].matchAll(/<line ([^>]*)>(.*?)<\/line>/gs)) {
      const [x0, , x1, y1] = ["xMin", "yMin", "xMax", "yMax"].map((name) => Number(box.match(`${name}="([^"]*)"`)[1]));
      const said = [...words.matchAll(/<word [^>]*>([^<]*)<\/word>/g)].map((word) => word[1]).join(" ");
      if (headings.has(said) && !inked(page, [x0, y1 + 1, x1, foot])) found.push(`'${said}' ends page ${k + 1}`);
    }
  }
  return found;
}

/** Pages of the report of some scenarios, the size of the first in points, and what is wrong with any. */
async function printed(names, ...more) {
  const out = path.join(folder, "report.html");
  const files = names.map((name) => path.join(scenarios, name));
  execFileSync(program, ["report", ...files, "--date", "2026-12-01", "--out", out, ...more]);
  const page = await browser.newPage();
  await page.goto(pathToFileURL(out).href);
  await page.addStyleTag({ content: fonts });
  const pdf = await page.pdf({ preferCSSPageSize: true });
  const heads = await page.locator("h1, h2, h3, h4, caption, summary").allTextContents();
  const headings = new Set(heads.map((head) => head.replace(/\s+/g, " ").trim()).filter(Boolean));
  await page.close();
  if (process.env.SHOTS) fs.writeFileSync(path.join(process.env.SHOTS, `${names.join("+")}${more.join("")}.pdf`), pdf);
  const text = pdf.toString("latin1");
  const box = text.match(/\/MediaBox\s*\[\s*0\s+0\s+([\d.]+)\s+([\d.]+)/);
  const wrong = faults(pdf, new Set([...headings].map(escaped)));
  assert.deepEqual(wrong, [], `${names.join(", ")}: ${wrong.join("; ")}`);
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
