// A list that is put in order by hand: each item has a handle that is dragged, or moved by the arrow keys while it has the focus.

/** The handle of an item named `name`; `move(from, to)` is told where it went. */
function handle(name, move) {
  const grip = make("button", { type: "button", className: "grip plain", "aria-label": `Move ${name}: drag, or press the arrow keys` }, "⠿");
  const item = () => grip.closest("li");
  const place = (li) => [...li.parentElement.children].indexOf(li);
  grip.addEventListener("keydown", (event) => {
    const by = { ArrowUp: -1, ArrowDown: 1 }[event.key];
    if (!by) return;
    event.preventDefault();
    const from = place(item());
    const to = from + by;
    if (to >= 0 && to < item().parentElement.children.length) move(from, to);
  });
  grip.addEventListener("pointerdown", (event) => {
    event.preventDefault();
    grip.focus();
    const li = item();
    const from = place(li);
    li.classList.add("dragged");
    grip.setPointerCapture(event.pointerId);
    const over = (moved) => {
      // At the edge of the window the list goes on.
      const edge = moved.clientY < 80 ? -1 : moved.clientY > innerHeight - 120 ? 1 : 0;
      if (edge !== 0) scrollBy(0, 16 * edge);
      const others = [...li.parentElement.children].filter((one) => one !== li);
      const before = others.find((one) => {
        const box = one.getBoundingClientRect();
        return moved.clientY < box.top + box.height / 2;
      });
      putBefore(li, before ?? null);
    };
    const done = () => {
      grip.removeEventListener("pointermove", over);
      li.classList.remove("dragged");
      const to = place(li);
      if (to !== from) move(from, to);
    };
    grip.addEventListener("pointermove", over);
    grip.addEventListener("pointerup", done, { once: true });
    grip.addEventListener("pointercancel", done, { once: true });
  });
  return grip;
}

/** Puts an item before another, or last, by moving the others: what is under a finger must stay where it is in the document, or the browser
 * takes the finger for gone. */
function putBefore(item, before) {
  const list = item.parentElement;
  const down = before === null || (item.compareDocumentPosition(before) & Node.DOCUMENT_POSITION_FOLLOWING) !== 0;
  while (item.nextElementSibling !== before) {
    if (down) list.insertBefore(item.nextElementSibling, item);
    else list.insertBefore(item.previousElementSibling, item.nextElementSibling);
  }
}
