// What the library says of the file's keys and of how many pieces may be asked about: no bound of its own is written down in this page.

const rules = (() => {
  /** Sections of the file by their words, each with its keys. */
  let sections = new Map();
  /** Pieces at the most, by question; `log`: in a line of a log. */
  let most = {};
  const heard = engine.sure({ ask: "keys" }).then(
    (said) => {
      sections = new Map(said.keys.map((section) => [section.word, section]));
      most = said.most;
    },
    () => {},
  );
  const at = (section, key) => sections.get(section)?.keys.find((one) => one.name === key);
  const holds = (value, { to, short }, sign) => (to === undefined ? sign * value > sign * short : sign * value >= sign * to);

  return {
    heard,
    all: () => [...sections.values()],
    of: (section) => sections.get(section),
    at,
    most: (what) => most[what],
    /** Whether the number that is typed may stand at a key; a share is typed in per cent. */
    may(section, key, typed) {
      const { count, amount } = at(section, key)?.takes ?? {};
      const value = numberOf(typed);
      if (value === null || (!amount && count === undefined)) return value !== null;
      if (!amount) return Number.isInteger(value) && value >= count;
      const now = amount.measure === "share" ? value / 100 : value;
      return holds(now, amount.low, 1) && holds(now, amount.high, -1);
    },
  };
})();
