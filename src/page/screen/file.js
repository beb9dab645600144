// The room of files: what is handed on, and the text behind it all, readable and whole.

const file = (() => {
  /** Whether something is typed that is not taken yet. */
  let typing = false;

  function show(box) {
    const { id, text } = page.product();
    const area = make("textarea", { id: "text", value: text, spellcheck: false, "aria-describedby": "text-hint" });
    let waiting = 0;
    let stroke = "";
    typing = false;
    const take = () => {
      clearTimeout(waiting);
      typing = false;
      shelf.change(id, "the text", { text: area.value }, { stroke });
      busy.end("pen");
    };
    // What is written at one visit is one step back.
    area.addEventListener("focus", () => (stroke = `text ${Math.random()}`));
    area.addEventListener("change", take);
    area.addEventListener("input", () => {
      clearTimeout(waiting);
      typing = true;
      busy.begin("pen");
      waiting = setTimeout(take, 300);
    });
    box.replaceChildren(
      make("h1", {}, "Keep, print or send"),
      paper.section(),
      make("h2", {}, "The file behind it"),
      make("p", { className: "help", id: "text-hint" }, "This is all there is: plain TOML that you can read, keep and send. Change it here and the answers follow."),
      make("div", { className: "row" }, button("Download", () => download(fileName(titleOf(area.value), ".toml"), area.value, "application/toml")), button("Copy", () => copy(area)), button("Paste over it", () => paste(id)), button("Open another file here", () => open(id))),
      make("div", { id: "text-faults" }),
      make("label", { className: "unseen", for: "text" }, "The file's text"),
      area,
    );
    tell(answers.known());
  }

  async function copy(area) {
    try {
      await navigator.clipboard.writeText(area.value);
      say("Copied.");
    } catch {
      // Where the browser forbids it, the text is marked, so that the keys of the system copy it.
      area.focus();
      area.select();
    }
  }

  async function paste(id) {
    try {
      const text = await navigator.clipboard.readText();
      if (text.trim()) shelf.change(id, "pasting a text", { text });
    } catch {
      notice("paste", "This browser lets no page read what was copied. Put the cursor into the text, mark all of it and paste.");
    }
  }

  async function open(id) {
    const [read] = await chooseFiles(".toml,text/plain", false);
    if (read) shelf.change(id, `opening ${read.name}`, { text: read.text });
  }

  function tell(said) {
    paper.told();
    const box = $("text-faults");
    if (box && said) box.replaceChildren(...(said.faults.length > 0 ? [page.faults(said)] : []));
  }

  /** The text was changed, perhaps elsewhere: it is seen at once, so that whoever types on goes on from it. */
  function follow() {
    const area = $("text");
    const { text } = page.product();
    if (!area || typing || area.value === text) return;
    const [from, to] = [area.selectionStart, area.selectionEnd];
    area.value = text;
    if (area === document.activeElement) area.setSelectionRange(from, to);
  }

  return { show, tell, follow };
})();
