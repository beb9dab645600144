// Amounts as people type them, brought into the file's way of writing. The library checks them; here they are only made tidy.

const UNITS = [
  [/^(s|sec|secs|seconds?)$/, "s"],
  [/^(m|min|mins|minutes?)$/, "min"],
  [/^(h|hr|hrs|hours?)$/, "h"],
  [/^(d|days?)$/, "d"],
];

const FRACTIONS = { "¼": 0.25, "½": 0.5, "¾": 0.75 };

/** Minutes of a time as typed ("90", "1 h 30", "1:30", "2 hours", "1½ h"), or null. A bare number is minutes. `days`: whether there may be
 * some; a day of work has not 24 hours. */
function minutesOf(typed, days = false) {
  const text = typed
    .trim()
    .toLowerCase()
    .replaceAll(",", ".")
    .replace(/\band\b/g, " ")
    .replace(/(\d*)\s*([¼½¾])/g, (_, whole, part) => String(Number(whole) + FRACTIONS[part]));
  const clockwise = /^(\d+):([0-5]\d)$/.exec(text);
  if (clockwise) return Number(clockwise[1]) * 60 + Number(clockwise[2]);
  const parts = [...text.matchAll(/(\d+(?:\.\d+)?)\s*([a-z]*)/g)];
  if (parts.length === 0 || text.replace(/(\d+(?:\.\d+)?)\s*([a-z]*)/g, "").trim() !== "") return null;
  let minutes = 0;
  let last = null;
  for (const [, number, word] of parts) {
    // Behind hours a bare number is minutes: "1 h 30".
    const unit = word === "" ? "min" : UNITS.find(([known]) => known.test(word))?.[1];
    if (!unit || (unit === "d" && !days) || (word === "" && parts.length > 1 && last !== "h")) return null;
    minutes += Number(number) * { s: 1 / 60, min: 1, h: 60, d: 1440 }[unit];
    last = unit;
  }
  return minutes;
}

/** With four digits behind the point, and whether that is all of it. */
const rounded = (value) => Math.round(value * 1e4) / 1e4;
const isRound = (value) => Math.abs(value - rounded(value)) < 1e-9;

/** So many minutes as the file says it: what is no round number of them in seconds and hundredths, so that nobody's time becomes another. */
function written(minutes) {
  // A log has four digits of a minute: 0.0667 are 4 s.
  if ((minutes < 1 && minutes > 0) || !isRound(minutes)) return `${Math.round(minutes * 6000) / 100} s`;
  const all = rounded(minutes);
  const [h, min] = [Math.floor(all / 60), all % 60];
  if (all >= 60 && min === 0) return `${h} h`;
  if (all > 60 && Number.isInteger(min)) return `${h} h ${min} min`;
  return `${all} min`;
}

/** What is typed as a range ("4 / 5 / 7 min"), each with its unit; null where it is none. */
function threeOf(typed) {
  const ends = typed.split("/").map((end) => end.trim());
  if (ends.length !== 3) return null;
  const unit = /[a-z]+$/i.exec(ends[2])?.[0] ?? "";
  const [quick, usual, bad] = ends.map((end) => (/^[\d.,]+$/.test(end) ? `${end} ${unit}` : end));
  return { quick, usual, bad };
}

/** A time, or a range of quick, usual and bad day, as the file says it; null where it is none. Empty ends mean: always the usual. */
function timeOf(usual, quick = "", bad = "", days = false) {
  const three = !quick.trim() && !bad.trim() && threeOf(usual);
  if (three) return timeOf(three.usual, three.quick, three.bad, days);
  const middle = minutesOf(usual, days);
  if (middle === null) return null;
  if (!quick.trim() && !bad.trim()) return written(middle);
  const low = quick.trim() ? minutesOf(quick, days) : middle;
  const high = bad.trim() ? minutesOf(bad, days) : middle;
  if (low === null || high === null || low > middle || high < middle) return null;
  const all = [low, middle, high];
  const seconds = (middle < 1 && middle > 0) || !all.every(isRound);
  const hours = all.every((m) => m >= 60 && rounded(m) % 15 === 0);
  const [unit, times] = seconds ? ["s", 60] : hours ? ["h", 1 / 60] : ["min", 1];
  return `${all.map((m) => rounded(m * times)).join(" / ")} ${unit}`;
}

/** A number as typed, with a comma or a point, and a sign of money before or behind it; null where it is none. */
function numberOf(typed) {
  const text = typed.replace(/\s/g, "").replace(/^\p{Sc}|\p{Sc}$/u, "").replace(/^(\d*),(\d{1,2})$/, "$1.$2");
  return /^(\d+|\d*\.\d+)$/.test(text) ? Number(text) : null;
}

/** One number that begins with a decimal comma, with a point; anything else as it is. */
const withPoint = (typed) => typed.replace(/^(\s*\d+),(\d{1,2}\s*%?\s*|\d+\s*[a-z]+\s*)$/i, "$1.$2");

/** Hours of one day as the file has them: a number (of hours, or a time with its unit), or from when to when; null where it is neither. */
function dayHours(typed) {
  const minutes = /[a-z]/i.test(typed) ? minutesOf(typed) : null;
  const hours = minutes === null ? numberOf(typed) : Math.round(minutes / 0.6) / 100;
  if (hours !== null) return hours <= 24 ? String(hours) : null;
  const ends = /^(\d{1,2})(?::([0-5]\d))?\s*(?:\.\.|[-–]|to)\s*(\d{1,2})(?::([0-5]\d))?$/.exec(typed.trim());
  if (!ends) return null;
  const [from, to] = [ends.slice(1, 3), ends.slice(3)].map(([hour, minute = "00"]) => ({ at: hour * 60 + Number(minute), written: `${hour}:${minute}` }));
  return from.at < to.at && to.at <= 24 * 60 ? `${from.written}..${to.written}` : null;
}

/** A text as TOML has it between quotes. */
function quoted(text) {
  return JSON.stringify(text.replace(/[\uD800-\uDFFF]/gu, "\uFFFD")).replace(/\u007f/g, "\\u007f");
}

/** Whole numbers of pieces as typed; none where one of them is not whole, or too many. */
function piecesOf(typed) {
  const all = (typed.match(/[\d.]+/g) ?? []).map(Number);
  return all.every((pieces) => Number.isInteger(pieces) && !(pieces > rules.most("quote"))) ? all : [];
}
