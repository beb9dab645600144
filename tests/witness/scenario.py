"""A scenario file as the documents describe it: TOML text into plain objects, read without the program's reader.

Times are in minutes, shares fractions, money in the scenario's currency or in one of its `[currencies]`. Only files that `batchwright check`
takes are read, so nothing is checked here; a key that this reader does not know ends it, so that a new key cannot be passed over.
"""

import copy
import re
import tomllib
from types import SimpleNamespace as Bag

import numpy as np
from scipy import optimize, special, stats

MINUTES = {"s": 1 / 60, "sec": 1 / 60, "min": 1, "h": 60, "d": 1440}
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
NUMBER = r"[-+]?[0-9]*\.?[0-9]+(?:[eE][-+]?[0-9]+)?"


class Unknown(Exception):
    """A key that the witness does not know."""


class Law:
    """One uncertain amount."""

    def __init__(self, shape, *values):
        self.shape, self.values = shape, tuple(float(v) for v in values)

    @staticmethod
    def of(shape, low, likely, high):
        """A range; one without width is certain."""
        if low == high:
            return Law("certain", low)
        if shape == "uniform":
            return Law("uniform", low, high)
        return Law(shape, low, likely, high)

    @property
    def certain(self):
        return self.shape == "certain"

    def nothing(self):
        return self.certain and self.values[0] == 0

    def quantile(self, u):
        """The value that a share u of draws stays under."""
        u = np.asarray(u, dtype=float)
        v = self.values
        if self.shape == "certain":
            return np.full(u.shape, v[0])
        if self.shape == "uniform":
            return v[0] + (v[1] - v[0]) * u
        if self.shape == "triangular":
            low, likely, high = v
            width = high - low
            left = low + np.sqrt(u * width * (likely - low))
            right = high - np.sqrt((1 - u) * width * (high - likely))
            return np.where(u * width < likely - low, left, right)
        if self.shape == "pert":
            low, likely, high = v
            a = 1 + 4 * (likely - low) / (high - low)
            return low + (high - low) * special.betaincinv(a, 6 - a, u)
        if self.shape == "lognormal":
            return np.exp(v[0] + v[1] * special.ndtri(u))
        ordered = np.sort(np.asarray(v))  # logged: each value equally likely
        return ordered[np.minimum((u * len(ordered)).astype(int), len(ordered) - 1)]

    def over(self, x):
        """The share of draws that are x or more."""
        v = self.values
        if self.certain:
            return float(v[0] >= x)
        if self.shape == "logged":
            return float(np.mean(np.asarray(v) >= x))
        if self.shape == "lognormal":
            return float(special.ndtr((v[0] - np.log(x)) / v[1]))
        at = (x - v[0]) / (v[-1] - v[0])
        if not 0 < at < 1:
            return float(at <= 0)
        if self.shape == "uniform":
            return 1 - at
        if self.shape == "triangular":
            peak = (v[1] - v[0]) / (v[2] - v[0])
            return 1 - at**2 / peak if at < peak else (1 - at) ** 2 / (1 - peak)
        a = 1 + 4 * (v[1] - v[0]) / (v[2] - v[0])
        return float(1 - special.betainc(a, 6 - a, at))

    def rank(self, x, generator):
        """The quantile at which draws stand; of logged values anywhere among those that are the same."""
        v = self.values
        if self.shape == "logged":
            ordered = np.sort(np.asarray(v))
            low, high = (np.searchsorted(ordered, x, side) / len(ordered) for side in ("left", "right"))
            return low + generator.random(np.shape(x)) * (high - low)
        if self.shape == "lognormal":
            return special.ndtr((np.log(x) - v[0]) / v[1])
        at = (x - v[0]) / (v[-1] - v[0])
        if self.shape == "uniform":
            return at
        peak = (v[1] - v[0]) / (v[-1] - v[0])
        if self.shape == "triangular":
            return np.where(at < peak, at**2 / max(peak, 1e-300), 1 - (1 - at) ** 2 / max(1 - peak, 1e-300))
        return special.betainc(1 + 4 * peak, 5 - 4 * peak, at)

    def draw(self, generator, shape):
        v = self.values
        if self.shape == "certain":
            return np.full(shape, v[0])
        if self.shape == "triangular":
            return generator.triangular(*v, size=shape)
        if self.shape == "pert":
            a = 1 + 4 * (v[1] - v[0]) / (v[2] - v[0])
            return v[0] + (v[2] - v[0]) * generator.beta(a, 6 - a, size=shape)
        if self.shape == "lognormal":
            return generator.lognormal(v[0], v[1], size=shape)
        return self.quantile(generator.random(shape))

    def mean(self):
        v = self.values
        if self.shape == "certain":
            return v[0]
        if self.shape == "uniform":
            return (v[0] + v[1]) / 2
        if self.shape == "triangular":
            return sum(v) / 3
        if self.shape == "pert":
            return (v[0] + 4 * v[1] + v[2]) / 6
        if self.shape == "lognormal":
            return float(np.exp(v[0] + v[1] ** 2 / 2))
        return float(np.mean(v))

    def times(self, factor):
        """Every draw times a factor."""
        if factor == 0:
            return Law("certain", 0)
        if self.shape == "lognormal":
            return Law("lognormal", self.values[0] + np.log(factor), self.values[1])
        return Law(self.shape, *(v * factor for v in self.values))

    def plus(self, amount):
        """Every draw and an amount; in proportion where some would fall below nothing, or a lognormal one would be moved."""
        if amount and (self.shape == "lognormal" or min(self.values) + amount < 0):
            return self.times(1 + amount / self.mean())
        return Law(self.shape, *(v + amount for v in self.values)) if amount else self


def certain(value):
    return Law("certain", value)


def limits(shape, low, likely, high):
    """The range whose tenths are `low` and `high`, the likely value as given."""
    if low == high:
        return Law("certain", low)
    if shape == "uniform":
        tenth = (high - low) / 8
        return Law("uniform", low - tenth, high + tenth)
    if shape == "lognormal":
        z = special.ndtri(0.9)
        middle, half = (np.log(low) + np.log(high)) / 2, (np.log(high) - np.log(low)) / 2
        return Law("lognormal", middle, half / z)
    width = high - low

    def law(x):
        return Law(shape, min(likely, low) - np.exp(x[0]) * width, likely, max(likely, high) + np.exp(x[1]) * width)

    def off(x):
        made = law(x)
        return [float(made.quantile(0.1) - low) / width, float(made.quantile(0.9) - high) / width]

    found = optimize.root(off, [-1.0, -1.0], tol=1e-13)
    if max(abs(np.asarray(off(found.x)))) < 1e-9:
        return law(found.x)

    # A limit that falls on the likely value: the search in logarithms does not end there.
    def plain(x):
        made = Law(shape, likely - abs(x[0]) * width, likely, likely + abs(x[1]) * width)
        return [float(made.quantile(0.1) - low) / width, float(made.quantile(0.9) - high) / width]

    found = optimize.root(plain, [0.7, 1.5], tol=1e-13)
    assert max(abs(np.asarray(plain(found.x)))) < 1e-8, (shape, low, likely, high)
    return Law(shape, likely - abs(found.x[0]) * width, likely, likely + abs(found.x[1]) * width)


def parts(text):
    """The parts between slashes: each a list of (number, unit); a unit at the end stands for all, and a bare number behind hours is minutes."""
    split = [re.findall(rf"({NUMBER})\s*([A-Za-z%]*)", part) for part in text.split("/")]
    split = [[(n, "min" if not u and k and part[k - 1][1] == "h" else u) for k, (n, u) in enumerate(part)] for part in split]
    unit = split[-1][-1][1]
    return [[(float(n), u or unit) for n, u in part] for part in split]


def amount(value, kind):
    """A law (and the currency it is written in) from any way of writing it; kind: time, share, money or number."""
    worth = (lambda u: MINUTES[u]) if kind == "time" else (lambda u: 0.01 if u == "%" else 1.0)
    currency = None
    if isinstance(value, (int, float)):
        return certain(value), None
    if isinstance(value, str):
        figures = parts(value)
        words = {u for part in figures for _, u in part} - {"", "%"}
        if kind == "money" and words:
            currency = words.pop()
        numbers = [sum(n * worth(u) for n, u in part) for part in figures]
        if len(numbers) == 1:
            return certain(numbers[0]), currency
        if len(numbers) == 2:
            return Law.of("uniform", numbers[0], None, numbers[1]), currency
        return Law.of("triangular", *numbers), currency
    unit = value.get("unit", "")
    shape = value.get("shape")

    def one(x):
        nonlocal currency
        law, own = amount(f"{x} {unit}".strip() if isinstance(x, (int, float)) else x, kind)
        currency = own or currency
        return law.values[0]

    if shape == "logged":
        return Law("logged", *(one(x) for x in value["values"])), currency
    low, high = one(value["low"]), one(value["high"])
    likely = one(value["likely"]) if "likely" in value else None
    shape = shape or ("triangular" if likely is not None else "uniform")
    if value.get("ends") == "tenths" or shape == "lognormal":
        return limits(shape, low, likely, high), currency
    return Law.of(shape, low, likely, high), currency


def take(table, known, where):
    """A table whose keys are all known."""
    for key in table:
        if key not in known:
            raise Unknown(f"[{where}] {key}: the witness does not know this key")
    return table


def law(table, key, kind, default=0):
    return amount(table.get(key, default), kind)[0]


def share(table, key, default="0 %"):
    return law(table, key, "share", default).values[0]


def sizes(value):
    if isinstance(value, list):
        return sorted(int(v) for v in value)
    found = re.fullmatch(r"\s*(\d+)(?:\s*\.\.\s*(\d+)(?:\s*step\s*(\d+))?)?\s*", str(value))
    low, high, step = int(found[1]), int(found[2] or found[1]), int(found[3] or 1)
    return list(range(low, high + 1, step))


SETS = {"set_of": 1, "single_price": None}
SALE = {"price": 0, "tax": "0 %", "order_of": 1, "fee": "0 %", "fee_per_order": 0, "post": 0, "post_charged": 0, "tip": 0, "returned": "0 %",
        "as_new": "0 %"}
# What it takes to win an order; seconds find a buyer without.
TRIES = {"quote": 0, "quote_won": "100 %", "enquiry": 0, "enquiry_bought": "100 %"}


def sale(table):
    table = {**SALE, **TRIES, **SETS, **table}
    price, price_in = amount(table["price"], "money")
    fee_per_order, fee_in = amount(table["fee_per_order"], "money")
    post, post_in = amount(table["post"], "money")
    charged, charged_in = amount(table["post_charged"], "money")
    tip, tip_in = amount(table["tip"], "money")
    return Bag(
        price=price.values[0], price_in=price_in, tax=share(table, "tax"), order_of=law(table, "order_of", "number"),
        fee=share(table, "fee"), fee_per_order=fee_per_order.values[0], fee_in=fee_in, post=post, post_in=post_in, tip=tip, tip_in=tip_in,
        post_charged=charged.values[0], charged_in=charged_in, returned=share(table, "returned"),
        as_new=share(table, "as_new"),
        quote=law(table, "quote", "time"), quote_won=share(table, "quote_won"), enquiry=law(table, "enquiry", "time"),
        enquiry_bought=share(table, "enquiry_bought"), set_of=table["set_of"],
        single=None if table["single_price"] is None else amount(table["single_price"], "money")[0].values[0],
    )


def selling_day(table, whole):
    """A day at a stall or fair, once with every batch; price and tax are those of `[sale]` where it says none."""
    take(table, {"name", "sells", "there", "travel", "cost", "price", "tax", "fee"}, "selling_day")
    price = amount(table["price"], "money")[0].values[0] if "price" in table else whole.price
    return Bag(name=table["name"], sells=law(table, "sells", "number"), there=law(table, "there", "time"), travel=law(table, "travel", "time"),
               cost=law(table, "cost", "money"), price=price, tax=share(table, "tax") if "tax" in table else whole.tax, fee=share(table, "fee"))


ON_RETURN = {"unsold", "worn", "worn_price", "weeks", "hold"}


def on_return(table):
    """Sale or return: what comes back, how much of it is worn, what a worn one fetches, and the share of its worth that waiting costs."""
    if "unsold" not in table:
        return None
    return Bag(unsold=law(table, "unsold", "share"), worn=share(table, "worn"), worn_price=table.get("worn_price", 0),
               waits=share(table, "hold") * table.get("weeks", 0) / 52)


def step(table):
    take(table, {"name", "once", "setup", "each", "per_order", "room", "wait", "varies", "opposite", "learning", "made_before", "learned_by", "redo",
                 "spoil", "second", "kept_in", "others", "done_by"}, "step")
    # Of a round this design bears its own share; `setup` is that.
    own = 1 - share(table, "others")
    return Bag(
        name=table["name"], once=law(table, "once", "time"), setup=law(table, "setup", "time").times(own), own=own, each=law(table, "each", "time"),
        per_order=law(table, "per_order", "time"), room=table.get("room"), wait=law(table, "wait", "time"),
        batch=table.get("varies", "piece") == "batch", opposite=share(table, "opposite"), learning=share(table, "learning", "100 %"), before=table.get("made_before", 0),
        learned_by=table.get("learned_by"), redo=share(table, "redo"), spoil=share(table, "spoil"), second=share(table, "second"), kept_in=table.get("kept_in"),
        helped=table.get("done_by") == "helper",
    )


def material(table, steps, channels):
    take(table, {"name", "unit", "per_piece", "per_batch", "per_round", "per_order", "price", "waste", "pack", "leftover", "breaks", "paid",
                 "at", "channel"}, "material")
    price, currency = amount(table["price"], "money")
    breaks = [(float(b["from"]), amount(b["price"], "money")[0]) for b in table.get("breaks", [])]
    names = [s.name for s in steps]
    paid = amount(table["paid"], "money")[0].values[0] if "paid" in table else None
    return Bag(
        name=table["name"], per_piece=table.get("per_piece", 0), per_batch=table.get("per_batch", 0), per_round=table.get("per_round", 0),
        per_order=table.get("per_order", 0), price=price, currency=currency, waste=law(table, "waste", "share", "0 %"),
        pack=table.get("pack"), lost=table.get("leftover", "keep") == "lost", breaks=breaks, paid=paid,
        at=names.index(table["at"]) if "at" in table else 0, channel=channels.index(table["channel"]) if "channel" in table else None,
    )


def change(text):
    """What a jig does to a time: (factor, minutes)."""
    if text is None:
        return 1.0, 0.0
    text = text.strip()
    if text.startswith("x"):
        return float(text[1:]), 0.0
    minutes = amount(text[1:].strip(), "time")[0].values[0]
    return 1.0, -minutes if text[0] in "-−" else minutes


def read(source):
    """The scenario in a file's text."""
    t = tomllib.loads(source)
    take(t, {"title", "description", "maker", "contact", "currency", "target", "confidence", "batch", "pace", "step", "material", "sale", "channel", "selling_day", "seconds", "currencies",
             "shop", "season", "steady", "hours", "helper", "jig", "misfortune"}, "file")
    batch = take(t.get("batch", {}), {"sizes", "spoiled", "runs"}, "batch")
    s = Bag(source=t, currency=t["currency"], target=float(t["target"]), confidence=share(t, "confidence", "80 %"),
            sizes=sizes(batch.get("sizes", "1..50")), remake=batch.get("spoiled", "short") == "remake", runs=batch.get("runs", 1))
    s.pace = law(take(t.get("pace", {}), {"factor"}, "pace"), "factor", "number", 1)
    s.steps = [step(x) for x in t["step"]]
    s.materials = [material(x, s.steps, [c["name"] for c in t.get("channel", [])]) for x in t.get("material", [])]
    s.rates = {code: amount(v, "number")[0] for code, v in t.get("currencies", {}).items()}
    take(t["sale"], {*SALE, *TRIES, *SETS}, "sale")
    s.sale = sale(t["sale"])
    s.channels = []
    for c in t.get("channel", []):
        take(c, {*SALE, *TRIES, *SETS, *ON_RETURN, "name", "share", "discount", "per_order"}, "channel")
        own = {k: v for k, v in c.items() if k in {*SALE, *TRIES, *SETS}}
        per_order = law(c, "per_order", "time") if "per_order" in c else None
        # What may come back unsold does so piece by piece, and is in no sets.
        whole = {k: v for k, v in t["sale"].items() if not ("unsold" in c and k in SETS)}
        s.channels.append(Bag(name=c["name"], share=share(c, "share"), discount=share(c, "discount"), per_order=per_order,
                              sale=sale({**whole, **own}), on_return=on_return(c)))
    s.days = [selling_day(x, s.sale) for x in t.get("selling_day", [])]
    s.seconds = None
    if "seconds" in t:
        own = take(t["seconds"], {*SALE, "per_order"}, "seconds")
        inherited = {k: v for k, v in t["sale"].items() if k in SALE}
        s.seconds = Bag(per_order=law(own, "per_order", "time") if "per_order" in own else None, sale=sale({**inherited, **own}))
    shop = take(t.get("shop", {}), {"per_hour", "per_month", "hours_per_month"}, "shop")
    s.hours_per_month = shop.get("hours_per_month")
    s.overhead = shop.get("per_hour", 0) + (shop["per_month"] / shop["hours_per_month"] if shop.get("per_month") else 0)
    s.wage = take(t.get("helper", {}), {"wage"}, "helper").get("wage", 0)
    s.season = None
    if "season" in t:
        se = take(t["season"], {"buyers", "clearance", "leftover", "hold", "weeks", "elasticity", "buyers_at"}, "season")
        buyers = Law("logged", *se["buyers"]) if isinstance(se["buyers"], list) else amount(se["buyers"], "number")[0]
        s.season = Bag(buyers=buyers, elasticity=se.get("elasticity", 0), asked_at=se.get("buyers_at", s.sale.price), clearance=se.get("clearance", 0),
                       carry=se.get("leftover") == "carry", hold=share(se, "hold"), weeks=se.get("weeks", 52))
    s.steady = None
    if "steady" in t:
        st = take(t["steady"], {"per_week", "hold", "finished"}, "steady")
        s.steady = Bag(per_week=st["per_week"], hold=share(st, "hold"), singly=st.get("finished") == "singly")
    s.bench = None
    if "hours" in t:
        h = take(t["hours"], {*DAYS, "off"}, "hours")
        # "18:00..20:30", or only how long.
        clock = lambda text: int(text.split(":")[0]) * 60 + int(text.split(":")[1])
        spans = [[clock(end) for end in h[d].split("..")] if isinstance(h.get(d), str) else None for d in DAYS]
        s.bench = Bag(days=[(span[1] - span[0]) / 60 if span else float(h.get(d, 0)) for d, span in zip(DAYS, spans)],
                      opens=[span and span[0] for span in spans], off=[o.split("..") for o in h.get("off", [])])
    s.jigs = []
    for j in t.get("jig", []):
        take(j, {"name", "step", "build", "cost", "setup", "each", "room", "lasts"}, "jig")
        index = [x.name for x in s.steps].index(j["step"])
        room = j.get("room")
        if isinstance(room, str):
            room = (s.steps[index].room or 0) + int(room.replace("+", ""))
        s.jigs.append(Bag(name=j["name"], step=index, build=law(j, "build", "time"), cost=j.get("cost", 0), setup=change(j.get("setup")),
                          each=change(j.get("each")), room=room, lasts=j.get("lasts")))
    s.misfortunes = t.get("misfortune", [])
    return s


def changed(source, settings):
    """The text's scenario with values exchanged as `--set` does it: [(key, value)]."""
    t = copy.deepcopy(tomllib.loads(source))
    for key, value in settings:
        words = [a or b for a, b in re.findall(r'"([^"]*)"|([^.]+)', key)]
        place = t
        lists = {"step", "material", "channel", "selling_day", "jig"}
        if words[0] in lists:
            place = next(x for x in t[words[0]] if x["name"] == words[1])
            words = words[2:]
        for word in words[:-1]:
            place = place.setdefault(word, {})
        try:
            place[words[-1]] = tomllib.loads(f"x = {value}")["x"]
        except tomllib.TOMLDecodeError:
            place[words[-1]] = value
    return read(dump(t))


def misfortune(s, m):
    """The scenario with one of its own misfortunes."""
    return changed(dump(s.source), [tuple(p.strip() for p in c.split("=", 1)) for c in m["changes"]])


def dump(t):
    """TOML of what was read: tables, lists of tables, and inline values."""
    import json

    def inline(v):
        if isinstance(v, dict):
            return "{ " + ", ".join(f"{k} = {inline(x)}" for k, x in v.items()) + " }"
        if isinstance(v, list):
            return "[" + ", ".join(inline(x) for x in v) + "]"
        return json.dumps(v, ensure_ascii=False)

    top = [f"{k} = {inline(v)}" for k, v in t.items() if not isinstance(v, dict) and not (isinstance(v, list) and v and isinstance(v[0], dict))]
    for key, v in t.items():
        tables = [v] if isinstance(v, dict) else v if isinstance(v, list) and v and isinstance(v[0], dict) else []
        for table in tables:
            top.append(f"\n[{key}]" if isinstance(v, dict) else f"\n[[{key}]]")
            top += [f"{k} = {inline(x)}" for k, x in table.items()]
    return "\n".join(top) + "\n"
