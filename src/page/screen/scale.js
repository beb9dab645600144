// One line with one to three handles for the numbers of a value; a number that is dragged is written where it stood.

const HANDLES = { 1: ["value"], 2: ["low", "high"], 3: ["low", "likely", "high"] };
const CALLED = { value: "", low: "quick or low", likely: "usual", high: "slow or high" };

/** A scale for `figures`; `moved(written, stroke)` is told at every step of a movement. */
function scale(label, figures, moved) {
  const band = make("div", { className: "band" });
  const { numbers, between, step, top } = { ...figures, numbers: figures.numbers.map((n) => ({ ...n, least: n.decimals })) };
  let stroke = null;
  const handles = HANDLES[numbers.length].map((role, k) =>
    make("input", {
      type: "range",
      className: role,
      min: 0,
      max: top,
      step,
      "aria-label": CALLED[role] ? `${label}, ${CALLED[role]}` : label,
      on: {
        input: () => drag(k),
        change: () => {
          stroke = null;
        },
      },
    }),
  );
  const finest = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));

  function lay() {
    numbers.forEach((n, k) => {
      handles[k].value = n.value * n.worth;
      handles[k].setAttribute("aria-valuetext", digits(n, finest));
    });
    const at = numbers.map((n) => Math.min(1, (n.value * n.worth) / top));
    const [low, high] = at.length > 1 ? [at[0], at.at(-1)] : [0, at[0]];
    // Handles reach from half their width to half their width before the end. The ends of a range have theirs outside of it, so that none
    // lies over another, whatever the figures are.
    const [room, ends] = at.length > 1 ? ["5.25rem", "1.75rem"] : ["1.75rem", ".875rem"];
    band.style.left = `calc(${low} * (100% - ${room}) + ${ends})`;
    band.style.width = `calc(${high - low} * (100% - ${room}) + ${at.length > 1 ? "1.75rem" : "0px"})`;
  }

  /** Its number moves, and its neighbours are pushed along where they would be passed. */
  function drag(k) {
    stroke ??= `drag ${Math.random()}`;
    const to = handles[k].valueAsNumber;
    numbers.forEach((n, j) => {
      const place = n.value * n.worth;
      if (j === k || (j < k && place > to) || (j > k && place < to)) {
        n.value = to / n.worth;
        n.moved = true;
      }
    });
    lay();
    moved(between.reduce((text, part, j) => text + digits(numbers[j - 1], finest) + part), stroke);
  }

  lay();
  return make("div", { className: numbers.length > 1 ? "scale range" : "scale" }, band, handles);
}

/** A number as it was written, with as many digits as its step needs. */
function digits(n, finest) {
  if (n.hours_and_minutes) {
    const minutes = Math.round(n.value);
    return `${Math.floor(minutes / 60)} h ${minutes % 60} min`;
  }
  if (!n.moved) return n.value.toFixed(n.decimals);
  // In another unit than the scale's a step needs two digits more.
  const text = n.value.toFixed(Math.max(n.least, finest + (n.worth === 1 ? 0 : 2)));
  const [whole, parts = ""] = text.split(".");
  const kept = parts.slice(0, n.least) + parts.slice(n.least).replace(/0+$/, "");
  return kept ? `${whole}.${kept}` : whole;
}
