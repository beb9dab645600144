// Where `batchwright desk FILE` gave the page out: the file is a product on the shelf, and saving goes to the file. What somebody else
// wrote into it meanwhile is never lost: both versions are shown.

const desk = (() => {
  const here = meta("place") === "desk";
  /** The file's product among the others. */
  const id = `desk ${meta("file")}`;
  /** What the file holds as far as is known. */
  let saved = null;

  const GONE = "The program behind this page does not answer: it has ended. Start it again with the same file; what is here stays here as long as this window is open.";

  async function ask(path, content) {
    const sent = fetch(path, { method: "POST", headers: { "Content-Type": "application/json", "Batchwright-Secret": meta("secret") }, body: JSON.stringify(content) });
    const response = await sent.catch(() => {
      throw new Error(GONE);
    });
    const plain = (response.headers.get("Content-Type") ?? "").startsWith("application/json");
    return { good: response.ok, said: plain ? await response.json() : { said: (await response.text()).trim() } };
  }

  async function load() {
    const { good, said } = await ask("/file", {});
    if (!good) throw new Error(said.said);
    return said.text;
  }

  return {
    here,
    id,
    /** What the file is called in its folder. */
    name: meta("file")?.replace(/^.*[/\\]/, ""),
    unsaved: (text) => text !== saved,
    /** Puts the file on the shelf and gives its product's name. */
    async begin() {
      try {
        saved = await load();
      } catch (error) {
        notice("desk", error.message);
        return null;
      }
      shelf.file(id, saved);
      return id;
    },
    async save(text) {
      try {
        const { good, said } = await ask("/save", { text, saved });
        if (good) {
          saved = said.text;
          hush("desk");
          say(`Saved in ${meta("file")}.`);
        } else if (said.changed) both(await load());
        else notice("desk", said.said);
      } catch (error) {
        notice("desk", error.message);
      }
    },
    /** What is here became another text while both versions are seen. */
    tell(text) {
      const shown = $("version-here");
      if (shown) shown.textContent = clean(text);
    },
  };

  /** Somebody else wrote into the file: both versions, side by side. */
  function both(theirs) {
    hush("desk");
    const shown = (words, text, id) => make("div", {}, make("h2", {}, words), make("pre", { id, tabIndex: 0, "aria-label": words }, text));
    const settle = (deed) => () => {
      saved = theirs;
      hush("desk");
      deed?.();
      page.save();
    };
    const take = () => shelf.change(id, "another version of the file", { text: theirs });
    $("notices").append(
      make(
        "section",
        { className: "versions", role: "alert", data: { kind: "desk" } },
        make("p", {}, `Something else changed ${meta("file")} since it was read here. Nothing was saved. Which version shall it be?`),
        make("div", { className: "pair" }, shown("Yours, here", shelf.get(id).text, "version-here"), shown("In the file", theirs, "version-there")),
        make("div", { className: "row" }, button("Save yours over it", settle()), button("Take the file's", settle(take))),
      ),
    );
    scrollTo(0, 0);
  }
})();
