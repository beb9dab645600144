// A chart that says its figures: under a pointer or a finger, or place by place at the arrow keys. What is said is the row of the table that
// the place stands for.

function readable(svg, readings) {
  const mark = document.createElementNS("http://www.w3.org/2000/svg", "rect");
  mark.setAttribute("class", "spot");
  svg.append(mark);
  const words = make("dl", { className: "reading", hidden: true, "aria-hidden": "true" });
  const chart = make("figure", { className: "chart", role: "group", tabIndex: 0, "aria-label": readings.length > 0 ? "Chart. The arrow keys say its figures, and the table below says them too" : "Chart; the table below says the same" }, svg, words);
  // Places are told in pixels of the picture, whose own units are finer.
  const [wide, tall] = ["width", "height"].map((name) => Number.parseFloat(svg.getAttribute(name)));
  const unit = svg.viewBox.baseVal.width / wide;
  let at = -1;

  function show(k) {
    at = k;
    const reading = readings[k];
    mark.toggleAttribute("hidden", !reading);
    words.hidden = !reading;
    if (!reading) return;
    const [x0, y0, x1, y1] = reading.area;
    for (const [name, value] of Object.entries({ x: x0, y: y0, width: x1 - x0, height: y1 - y0 })) mark.setAttribute(name, value * unit);
    words.replaceChildren(...reading.said.flatMap(([name, value]) => [make("dt", {}, name), make("dd", {}, value)]));
    // On the other side of the place, within the picture; where there is no room beside, below the panel or above it.
    const scale = svg.getBoundingClientRect().width / wide;
    const left = (x0 + x1) / 2 > wide / 2 && x1 - x0 < wide / 2;
    words.style.insetInlineStart = left ? "0" : "auto";
    words.style.insetInlineEnd = left ? "auto" : "0";
    words.classList.toggle("across", wide < 560);
    if (wide < 560) {
      const below = y1 * scale + 28;
      words.style.top = `${below + words.offsetHeight <= tall * scale ? below : Math.max(0, y0 * scale - words.offsetHeight)}px`;
      return;
    }
    const top = (x1 - x0 < wide / 2 ? y0 : y1) * scale;
    words.style.top = `${Math.max(0, Math.min(top, tall * scale - words.offsetHeight))}px`;
  }

  function under({ clientX, clientY }) {
    const box = svg.getBoundingClientRect();
    const scale = wide / box.width;
    const [x, y] = [(clientX - box.left) * scale, (clientY - box.top) * scale];
    return readings.findIndex(({ area: [x0, y0, x1, y1] }) => x >= x0 && x <= x1 && y >= y0 && y <= y1);
  }

  svg.addEventListener("pointermove", (event) => show(under(event)));
  svg.addEventListener("pointerdown", (event) => show(under(event)));
  chart.addEventListener("pointerleave", (event) => event.pointerType === "mouse" && show(-1));
  chart.addEventListener("blur", () => show(-1));
  chart.addEventListener("keydown", (event) => {
    const to = { ArrowRight: at + 1, ArrowDown: at + 1, ArrowLeft: at - 1, ArrowUp: at - 1, Home: 0, End: readings.length - 1, Escape: -1 }[event.key];
    if (to === undefined || readings.length === 0 || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    show(Math.min(Math.max(to, event.key === "Escape" ? -1 : 0), readings.length - 1));
    if (at >= 0) say(readings[at].said.map(([name, value]) => `${name}: ${value}`).join("; "));
  });
  return chart;
}
