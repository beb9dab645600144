"""A reference for each question: what the program answers, simulated once more and compared."""

import copy

import numpy as np

import scenario as files
import simulate
from scenario import certain
from simulate import batch, channels_of, day_hours, helper_hours, holding_factor, hours, leftover_worth, order_hours, outcome, piece_value, whole

WORK = 4_000_000  # pieces x steps x trials of one simulation


def trials_for(s, n, most):
    return int(min(most, max(2000, WORK // (n * len(s.steps)))))


def some_sizes(s):
    """The smallest size, one in the middle and a large one."""
    fit = [n for n in s.sizes if n * len(s.steps) <= 600] or s.sizes[:1]
    return sorted({fit[0], fit[len(fit) // 2], fit[-1]})


def size_figures(f, at, a, trials, b):
    """Everything a sweep says about one size. `at` names it."""
    s, o, m = b.s, outcome(b), None
    m = o.money
    mean = lambda key, program, values: f.mean(f"{at} {key}", program, trials, values)
    mean("good", a["good"]["mean"], b.good)
    mean("sold", a["sold"]["mean"], b.sold)
    f.true(f"{at} seconds told", ("seconds" in a) == (b.of_seconds is not None), "seconds" in a)
    if b.of_seconds is not None:
        mean("seconds", a["seconds"], b.seconds)
    mean("hours", a["hours"]["mean"], o.hours)
    mean("profit", a["profit"]["mean"], o.profit)
    rate = o.profit / o.hours
    mean("rate", a["rate"]["mean"], rate)
    for q, key in ((0.1, "p10"), (0.5, "p50"), (0.9, "p90")):
        f.quantile(f"{at} hours {key}", q, a["hours"][key], trials, o.hours)
        f.quantile(f"{at} profit {key}", q, a["profit"][key], trials, o.profit)
        f.quantile(f"{at} rate {key}", q, a["rate"][key], trials, rate)
    f.ratio(f"{at} long run", a["rate"]["long_run"], trials, o.profit, o.hours)
    paid = outcome(b, paid=True)
    f.ratio(f"{at} long run paid", a["rate"]["long_run_paid"], trials, paid.profit, paid.hours)
    f.share(f"{at} reach", a["reach"]["share"], trials, o.floor <= o.price)
    for x in [*a["floor"], a["floor_asked"]]:
        f.quantile(f"{at} floor {x['confidence']}", x["confidence"], x["price"], trials, o.floor)
    if a["floor_long_run"] is not None and a["floor_long_run"] > 0:
        f.ratio(f"{at} long-run floor", a["floor_long_run"] - o.price, trials, -o.surplus, o.brings)
    f.share(f"{at} sold out", a["sold_out"]["share"], trials, b.sold_out)
    unit = b.pace / 60 / b.n
    own = lambda of: sum((of[j] for j, x in enumerate(s.steps) if not x.helped), np.zeros(b.trials)) * unit
    parts = {"once": b.once / s.runs * unit, "setup": own(b.setup), "each": own(b.each), "redo": own(b.redo),
             "per_order": sum(order_hours(b, w) for w in b.sales) / b.n}
    if s.days:
        parts["selling_days"] = day_hours(b) / b.n
    for key, values in parts.items():
        mean(f"hours of {key}", a["hours_parts"][key], values)
    f.ratio(f"{at} setup share", a["setup_share"], trials, parts["setup"] * b.n, o.hours)
    sums = {"income": m.income, "materials": m.materials, "materials_paid": paid.money.materials, "fees": m.fees, "post": m.post,
            "shop": s.overhead * o.hours, "clearance": m.clearance, "holding": m.holding}
    if s.days:
        sums["selling_days"] = m.days
    f.true(f"{at} selling days told", len(a.get("selling_days", [])) == len(b.days), len(a.get("selling_days", [])))
    for x, day in zip(a.get("selling_days", []), b.days):
        name, of = f"{at} {day.of.name}", day.of
        f.true(f"{name} is named", x["name"] == of.name, x["name"])
        # The program says these in closed form.
        f.mean(f"{name} sold", x["sold"], np.inf, day.sold)
        f.mean(f"{name} kept", x["kept"], np.inf, day.sold * of.price * (1 / (1 + of.tax) - of.fee))
        f.exact(f"{name} cost", x["cost"], of.cost.mean())
        f.exact(f"{name} hours", x["hours"], (of.there.mean() + of.travel.mean()) / 60)
    if any(x.helped for x in s.steps):
        mean("helper's hours", a["helper_hours"], helper_hours(b))
        mean("wages", a["money"].get("wages", 0), s.wage * helper_hours(b))
    for key, values in sums.items():
        mean(key, a["money"][key], np.broadcast_to(values, b.trials))
    # Seconds are made along with the rest, so their orders are shared out as making is.
    making = o.hours - sum(order_hours(b, w) for w in b.ways) - day_hours(b)
    on_days = sum((day.sold for day in b.days), np.zeros(b.trials))
    for c, w in zip(a["channels"], b.ways):
        mean(f"channel {w.name} sold", c["sold"], w.pieces + w.singly)
        if w.on_return is not None:
            mean(f"channel {w.name} unsold", c["unsold"], w.placed - w.pieces)
        mean(f"channel {w.name} orders", c["orders"], w.orders)
        placed = sum(other.placed + other.singly for other in b.ways) + on_days
        if placed.mean() == 0:
            continue
        share = (w.placed + w.singly).mean() / placed.mean()
        # The share is a ratio of means as well, so its error is added to the mean's by the delta method.
        shift = (w.placed + w.singly - share * placed) / placed.mean()
        mean(f"channel {w.name} hours", c["hours"], making * share + order_hours(b, w) + making.mean() * shift)


def sweep(f, s, ask):
    trials = 20_000
    a = ask("sweep", "--trials", trials)
    for n in some_sizes(s):
        b = batch(s, n, trials_for(s, n, 20_000))
        size_figures(f, f"size {n}", next(x for x in a["sizes"] if x["size"] == n), trials, b)
    pays = [x["size"] for x in a["sizes"] if x["reach"]["share"] >= s.confidence]
    f.exact("first paying size", a["first_paying_size"], pays[0] if pays else None)
    slowest = (a["ceiling"] + s.overhead) * s.pace.mean() / float(s.pace.quantile(s.confidence)) - s.overhead
    # The hours of a selling day do not go with the pace.
    if a["ceiling"] > 0 and not s.wage and not s.days:
        f.exact("slow ceiling", a["slow_ceiling"], slowest, 1e-4)


def one_order(s, n):
    """One certain order of n pieces as [sale] says: filled whatever is spoiled, in no season, channel or stock. A second is no piece of it:
    it is given up at its step and made again.
    """
    o = copy.deepcopy(s)
    o.channels, o.days, o.season, o.steady, o.seconds, o.remake = [], [], None, None, None, True
    for x in o.steps:
        x.spoil, x.second = 1 - (1 - x.spoil) * (1 - x.second), 0.0
    o.sale.order_of, o.sale.set_of, o.sale.single = certain(n), 1, None
    return o


def floors(f, at, a, trials, b):
    o = outcome(b)
    for x in [*a["floor"], a["floor_asked"]]:
        f.quantile(f"{at} floor {x['confidence']}", x["confidence"], x["price"], trials, o.floor)
    if a["long_run"]["price"] is not None and a["long_run"]["price"] > 0:
        f.ratio(f"{at} long run", a["long_run"]["price"] - o.price, trials, -o.surplus, o.brings)
    f.share(f"{at} reach", a["reach"]["share"], trials, o.floor <= o.price)


def floor(f, s, ask):
    sizes = some_sizes(s)
    a = ask("floor", "--sizes", ",".join(map(str, sizes)), "--trials", 20_000, "--seed", 2)
    for x in a["sizes"]:
        floors(f, f"size {x['size']}", x, 20_000, batch(s, x["size"], trials_for(s, x["size"], 20_000), seed=2))


def spare_worth(s, n):
    if s.season:
        return min(leftover_worth(s, n), piece_value(s, n))
    return piece_value(s, n) if s.steady else 0.0


def order(f, s, ask):
    counts = [1, 5]
    a = ask("floor", "--order", "1,5", "--trials", 20_000)
    for n in counts:
        o, x = one_order(s, n), next(x for x in a["sizes"] if x["size"] == n)
        o.spares, o.spare_worth = x.get("spares", 0), spare_worth(s, n)
        floors(f, f"order of {n}", x, 20_000, batch(o, n + o.spares, 10_000, seed=3))
    found = a.get("spares")
    if not found:
        return
    n = found["order"]
    f.exact("worth of a spare", found["worth"], spare_worth(s, n))
    for x in found["choices"]:
        o = one_order(s, n)
        o.spares, o.spare_worth = x["spares"], found["worth"]
        b = batch(o, n + x["spares"], 10_000, seed=4)
        h, at = outcome(b), f"order of {n} with {x['spares']} spares"
        floor_asked = x["floor_asked"]
        f.quantile(f"{at} floor", floor_asked["confidence"], floor_asked["price"], 20_000, h.floor)
        f.mean(f"{at} hours", x["hours"]["mean"], 20_000, h.hours)
        # Both follow from the chance that a piece comes through.
        f.share(f"{at} made again", x["made_again"], 1e12, b.made_again)
        f.mean(f"{at} left over", x["left_over"], 1e12, b.good - n)


def sales_of(s):
    """Everything that is said about a sale: in [sale], in the channels and in [seconds]."""
    return [s.sale, *(c.sale for c in s.channels), *([s.seconds.sale] if s.seconds else [])]


# ---- stress ------------------------------------------------------------------------------------------------------------------------------


def worse(s, kind, name, x):
    """The scenario in which something has gone wrong with strength x."""
    o, up = copy.deepcopy(s), 1 + x
    if kind == "own":
        found = next(m for m in s.misfortunes if m["name"] == name)
        return files.misfortune(s, found)
    every = kind == "all_at_once"
    for j in o.steps:
        for part in ("once", "setup", "each", "per_order"):
            if every or kind == "build" or (kind == "setups" and part == "setup") or (kind == "step" and j.name == name):
                setattr(j, part, getattr(j, part).times(up))
        # What is above the cap already stays as it is.
        if every or kind == "spoil":
            j.spoil = min(j.spoil * up, max(0.95, j.spoil))
        if every or kind == "seconds":
            j.second = min(j.second * up, max(0.95, j.second))
        if every or kind == "redo":
            j.redo = min(j.redo * up, max(0.95, j.redo))
    if o.seconds and o.seconds.per_order is not None and (every or kind == "build"):
        o.seconds.per_order = o.seconds.per_order.times(up)
    for c in o.channels:
        if c.per_order is not None and (every or kind == "build" or (kind == "channel" and c.name == name)):
            c.per_order = c.per_order.times(up)
        if c.on_return is not None and (every or kind == "comes_back"):
            most = c.on_return.unsold.quantile(1.0)
            if most > 0:
                c.on_return.unsold = c.on_return.unsold.times(float(min(most * up, max(0.95, most)) / most))
    if every or kind == "helper":
        o.wage *= up
    for day in o.days:
        if every or kind == "fees":
            day.fee, day.cost = day.fee * up, day.cost.times(up)
        if kind == "days":
            day.sells = day.sells.times(1 - x)
    if every or kind == "stock":
        for m in o.materials:
            m.price, m.breaks = m.price.times(up), [(start, tier.times(up)) for start, tier in m.breaks]
    for sale in sales_of(o):
        if every or kind == "build":
            sale.quote, sale.enquiry = sale.quote.times(up), sale.enquiry.times(up)
        if every or kind == "lost":
            for won in ("quote_won", "enquiry_bought"):
                lost = 1 - getattr(sale, won)
                setattr(sale, won, 1 - min(lost * up, max(0.95, lost)))
        if every or kind == "post":
            sale.post = sale.post.times(up)
        if every or kind == "fees":
            sale.fee, sale.fee_per_order = sale.fee * up, sale.fee_per_order * up
    return o


def stressed(s, kind, name, x, n, trials, seed):
    if kind == "unsold":
        o = copy.deepcopy(s)
        if o.season is not None:
            o.season.buyers = o.season.buyers.times(1 - x)
            return outcome(batch(o, n, trials, seed))
        # What finds a buyer and makes no full set counts what it does as planned, and what finds none nothing.
        odd, sold = simulate.leftover_worth(s, n), round(n * (1 - x))
        o.season = simulate.Bag(buyers=certain(sold), elasticity=0, asked_at=s.sale.price, clearance=odd, carry=False, hold=0, weeks=0)
        b = batch(o, n, trials, seed)
        return outcome(b, lost=odd * np.maximum(b.good - sold, 0))
    return outcome(batch(worse(s, kind, name, x), n, trials, seed))


def outcome_figures(f, at, a, trials, o):
    f.ratio(f"{at} rate", a["rate"]["mean"], trials, o.profit, o.hours)
    f.quantile(f"{at} median rate", 0.5, a["rate_median"], trials, o.profit / o.hours)
    f.share(f"{at} reach", a["reach"]["share"], trials, o.floor <= o.price)
    f.mean(f"{at} profit", a["profit"]["mean"], trials, o.profit)


def stress(f, s, ask):
    n = some_sizes(s)[1] if len(some_sizes(s)) > 1 else some_sizes(s)[0]
    trials = 4000
    a = ask("stress", "--size", n, "--trials", trials, "--seed", 4)
    count = trials_for(s, n, 6000)
    b = batch(s, n, count, seed=4)
    o = outcome(b)
    outcome_figures(f, "as planned", a["as_planned"], trials, o)
    slow = a["slow_tenth"]
    f.quantile("slow tenth from", 0.9, slow["from"], trials, o.hours)
    for k, m in enumerate(a["misfortunes"]):
        at = f"{m['kind']} {m['name'] or ''}".strip()
        # Steps are many and alike: two of them.
        if m["kind"] == "step" and m["name"] not in (s.steps[0].name, s.steps[-1].name):
            continue
        if m["strengths"]:
            x = m["strengths"][k % len(m["strengths"])]
            got = stressed(s, m["kind"], m["name"], x["strength"], n, count, 4)
            outcome_figures(f, f"{at} {x['strength']}", x["outcome"], trials, got)
        for key, found in (("target lost", m["target_lost"]), ("nothing earned", m["nothing_earned"])):
            where = found["at"]
            if found["found"] != "breaks" or where is None or where > 30 or m["kind"] in ("own", "unsold"):
                continue
            got = stressed(s, m["kind"], m["name"], where, n, count, 4)
            if key == "target lost":
                f.quantile(f"{at} {key}", s.confidence, got.price, trials, got.floor)
            elif m["kind"] not in ("spoil", "redo", "seconds", "lost", "comes_back", "days"):
                f.mean(f"{at} {key}", 0.0, trials, got.profit)


# ---- drivers ------------------------------------------------------------------------------------------------------------------------------


def gain_of(f, name, program, trials, o, hours_then, profit_then):
    """A difference of two long-run rates on the same days."""
    if program is None:
        return
    h, p = o.hours, o.profit
    before, after = p.mean() / h.mean(), profit_then.mean() / hours_then.mean()
    d = (profit_then - after * hours_then) / hours_then.mean() - (p - before * h) / h.mean()
    se = d.std(ddof=1) / np.sqrt(len(d))
    f.add(name, program["mean"], after - before, np.hypot(se, max(program["se"], se * np.sqrt(len(d) / trials))))


DAY = {"there": "there", "travel": "travel", "day_cost": "cost", "day_sells": "sells"}
PART = {"once": "once", "setup": "setup", "each": "each", "per_order": "per_order"}


def with_law(s, kind, of, law):
    """The scenario with one of its ranges exchanged: `law` makes the new one of the old."""
    o = copy.deepcopy(s)
    if kind in PART:
        for x in o.steps:
            if x.name == of:
                # The range is the file's, of which this design bears its share.
                own = x.own if kind == "setup" else 1
                setattr(x, kind, law(getattr(x, kind).times(1 / own)).times(own))
                return o
        for c in o.channels:
            if c.name == of and kind == "per_order" and c.per_order is not None:
                c.per_order = law(c.per_order)
                return o
        if of == "orders of seconds" and o.seconds.per_order is not None:
            o.seconds.per_order = law(o.seconds.per_order)
            return o
        return None
    if kind == "pace":
        o.pace = law(o.pace)
    elif kind in ("price", "waste"):
        m = next(m for m in o.materials if m.name == of)
        if kind == "price" and m.breaks:
            return None
        setattr(m, kind, law(getattr(m, kind)))
    elif kind == "buyers" and o.season is not None:
        o.season.buyers = law(o.season.buyers)
    elif kind in ("quote", "enquiry"):
        sale = next((c.sale for c in o.channels if c.name == of), o.sale)
        setattr(sale, kind, law(getattr(sale, kind)))
    elif kind == "postage" and not o.channels and not o.seconds:
        o.sale.post = law(o.sale.post)
    elif kind == "tips" and not o.channels and not o.seconds:
        o.sale.tip = law(o.sale.tip)
    elif kind == "unsold":
        found = next(c.on_return for c in o.channels if c.name == of)
        found.unsold = law(found.unsold)
    elif kind in DAY:
        day = next(day for day in o.days if day.name == of)
        setattr(day, DAY[kind], law(getattr(day, DAY[kind])))
    elif kind == "exchange" and of in o.rates:
        o.rates[of] = law(o.rates[of])
    else:
        return None
    return o


def tenth_less(s, kind, of):
    """The scenario with a tenth less of something; None where this is more than one thing."""
    o = with_law(s, kind, of, lambda law: law.times(0.9)) if kind != "price" else copy.deepcopy(s)
    if kind == "price":
        m = next(m for m in o.materials if m.name == of)
        m.price, m.breaks = m.price.times(0.9), [(start, tier.times(0.9)) for start, tier in m.breaks]
        return o
    if o is not None:
        return o
    o = copy.deepcopy(s)
    if kind == "wage":
        o.wage *= 0.9
        return o
    sales = sales_of(o)
    if of is None and kind in ("fee", "fee_per_order", "returns", "postage"):
        for sale in sales:
            if kind == "postage":
                sale.post = sale.post.times(0.9)
            else:
                key = {"returns": "returned"}.get(kind, kind)
                setattr(sale, key, getattr(sale, key) * 0.9)
        return o
    step = next((x for x in o.steps if x.name == of), None)
    if step is not None and kind in ("spoil", "redo", "second"):
        setattr(step, kind, getattr(step, kind) * 0.9)
        return o
    return None


def salt_of(s, i):
    """The streams of an input."""
    kind, of = i["kind"], i["of"]
    if kind == "pace":
        return {("pace",)}
    if kind == "chance":
        return {(of, "spoil"), (of, "redo")}
    if kind == "per_order" and of in ("orders of seconds", *(c.name for c in s.channels)):
        return {(of, "orders")}
    if kind in ("quote", "enquiry", "won"):
        return {(of or "", kind)}
    if kind in ("returns", "postage", "tips", "buyers", "seconds"):
        return {(kind,)}
    if kind == "order_size":
        return {("order_of",)}
    if kind == "exchange":
        return {(of, "rate")}
    if kind == "where_sold":
        return {(c.name, "begins") for c in s.channels}
    return {(of, kind)} if of else None


def everything(s):
    found = {("pace",), ("returns",), ("postage",), ("tips",), ("buyers",), ("order_of",), ("seconds",), ("orders of seconds", "orders")}
    found |= {(w.name, kind) for w in channels_of(s) for kind in ("quote", "enquiry", "won")}
    for x in s.steps:
        found |= {(x.name, part) for part in ("once", "setup", "each", "per_order", "spoil", "redo")}
    found |= {(c.name, which) for c in s.channels for which in ("orders", "unsold", "begins")} | {(code, "rate") for code in s.rates}
    found |= {(day.name, part) for day in s.days for part in DAY}
    return found | {(m.name, part) for m in s.materials for part in ("price", "waste")}


def blocks_error(values, statistic, count=40):
    """A statistic of several columns and its standard error by the delete-a-block jackknife."""
    whole_one = statistic(*values)
    edges = np.array_split(np.arange(len(values[0])), count)
    left = [statistic(*(np.delete(v, e) for v in values)) for e in edges]
    return whole_one, np.sqrt((count - 1) / count * np.sum((np.array(left) - np.mean(left)) ** 2))


def drivers(f, s, ask):
    n = min(some_sizes(s)[min(1, len(some_sizes(s)) - 1)], 20)
    trials = 4096
    a = ask("drivers", "--size", n, "--trials", trials, "--seed", 5)
    count = trials_for(s, n, 6000)
    b = batch(s, n, count, seed=5)
    o = outcome(b)
    f.ratio("long run", a["long_run"]["mean"], trials, o.profit, o.hours)
    rate = o.profit / o.hours
    f.mean("mean of rates", a["rate_mean"], 2 * trials, rate)
    spread, error = blocks_error([rate], lambda r: r.std(ddof=1))
    f.add("sd of rates", a["rate_sd"], spread, error * np.sqrt(1 + count / (2 * trials)))
    for x in a["levers"]:
        then = tenth_less(s, x["kind"], x["of"])
        if then is None or x["tenth"] is None:
            f.left_out += 1
            continue
        t = outcome(batch(then, n, count, seed=5))
        gain_of(f, f"a tenth less: {x['name']}", x["tenth"], trials, o, t.hours, t.profit)
    for x in a["steps"]:
        index = next((j for j, y in enumerate(s.steps) if y.name == x["name"]), None)
        mine = sum(w.minutes.get(x["name"], 0) for w in b.sales)
        if index is not None:
            mine = mine + b.setup[index] + b.each[index] + b.redo[index]
        mine = mine + sum(w.asked for w in b.ways if x["name"] in {
            f"{w.name}: {asked}".removeprefix(": ") for asked in ("quotes", "enquiries", "quotes and enquiries")})
        mine = mine * b.pace / 60
        mine = mine + sum(day.minutes for day in b.days if x["name"] == day.of.name) / 60
        if index is None or s.steps[index].once.nothing():
            f.mean(f"hours of {x['name']}", x["hours"], trials, mine)
    inputs = sorted((i for i in a["inputs"] if i["shares"]), key=lambda i: -i["shares"]["total"]["share"])
    for i in a["inputs"]:
        if i["swing"] is None or i["kind"] in ("order_size", "postage") and s.channels:
            continue
        for end, q in (("low", 0.1), ("high", 0.9)):
            value = i["swing"][end]["value"]
            then = with_law(s, i["kind"], i["of"], lambda law: certain(value))
            if then is None:
                continue
            ranges = [None]
            with_law(s, i["kind"], i["of"], lambda law: ranges.append(law) or law)
            f.exact(f"{end} end of {i['name']}", value, float(ranges[-1].quantile(q)), 1e-5) if ranges[-1].shape != "logged" else None
            if i in inputs[:4]:
                t = outcome(batch(then, n, count, seed=5))
                gain_of(f, f"swing {end}: {i['name']}", i["swing"][end]["change"], trials, o, t.hours, t.profit)
    for i in inputs[:2]:
        own = salt_of(s, i)
        if own is None:
            continue
        other = outcome(batch(s, n, count, seed=5, salt=own))
        alone = outcome(batch(s, n, count, seed=5, salt=everything(s) - own))
        columns = [rate, other.profit / other.hours, alone.profit / alone.hours]
        total, error = blocks_error(columns, lambda x, y, _: np.mean((x - y) ** 2) / (x.var() + y.var()))
        f.add(f"total share of {i['name']}", i["shares"]["total"]["share"], total, np.hypot(error, i["shares"]["total"]["se"]))
        first, error = blocks_error(columns, lambda x, _, y: 1 - np.mean((x - y) ** 2) / (x.var() + y.var()))
        f.add(f"first share of {i['name']}", i["shares"]["first"]["share"], first, np.hypot(error, i["shares"]["first"]["se"]))


# ---- jig ------------------------------------------------------------------------------------------------------------------------------------


def with_jigs(s, chosen):
    o = copy.deepcopy(s)
    for j in chosen:
        x = o.steps[s.jigs[j].step]
        for part in ("setup", "each"):
            factor, minutes = getattr(s.jigs[j], part)
            setattr(x, part, getattr(x, part).times(factor).plus(minutes * (x.own if part == "setup" else 1)))
        if s.jigs[j].room:
            x.room = s.jigs[j].room
    return o


def jig(f, s, ask):
    if not s.jigs:
        return
    n = some_sizes(s)[min(1, len(some_sizes(s)) - 1)]
    trials, sequences = 8000, None
    a = ask("jig", "--size", n, "--trials", trials, "--seed", 6)
    count, sequences = trials_for(s, n, 8000), a["sequences"]
    o = outcome(batch(s, n, count, seed=6))
    f.ratio("rate without", a["rate"]["mean"], trials, o.profit, o.hours)
    f.mean("hours without", a["hours"]["mean"], trials, o.hours)
    generator = np.random.default_rng([6, n])
    for x in a["sets"][:3]:
        names = " and ".join(s.jigs[j].name for j in x["jigs"])
        t = outcome(batch(with_jigs(s, x["jigs"]), n, count, seed=6))
        saved = t.surplus - o.surplus
        f.mean(f"{names}: saving", x["saving"]["mean"], trials, saved)
        f.mean(f"{names}: hours saved", x["hours_saved"]["mean"], trials, o.hours - t.hours)
        lives = [s.jigs[j].lasts for j in x["jigs"] if s.jigs[j].lasts]
        f.exact(f"{names}: life", x["life_pieces"], min(lives) if lives else None)
        build = [s.jigs[j].build.draw(generator, 20_000) / 60 for j in x["jigs"]]
        outlay = sum(s.jigs[j].cost + h * (s.target + s.overhead) for j, h in zip(x["jigs"], build))
        f.mean(f"{names}: outlay", x["outlay"]["mean"], sequences, outlay)
        f.quantile(f"{names}: outlay p50", 0.5, x["outlay"]["p50"], sequences, outlay)
        # Of the plan no more than it lasts.
        made = min([s.runs * n, *lives])
        f.exact(f"{names}: ahead after the plan", x["ahead_after_plan"]["mean"], made / n * x["saving"]["mean"] - x["outlay"]["mean"])
        # Its own hours and money spread over its life, or over the planned runs.
        h, p = t.hours.copy(), t.profit.copy()
        for j in x["jigs"]:
            g = s.jigs[j]
            part = n / g.lasts if g.lasts else 1 / s.runs
            if g.lasts and part > 1:
                part = 1.0 * part
            drawn = g.build.draw(generator, count) / 60
            h += drawn * part
            p -= (g.cost + drawn * s.overhead) * part
        gain_of(f, f"{names}: adds to the hour", x["adds_to_hour"], trials, o, h, p)
        f.ratio(f"{names}: rate", x["rate"]["mean"], trials, p, h)
        payback(f, names, x["payback"], trials, sequences, saved, outlay, n, generator)


def payback(f, names, a, trials, sequences, saved, outlay, n, generator):
    """Batches drawn with replacement until they have paid; by blocks of trials, so that the error of the savings is in it."""
    if saved.mean() <= 0 or outlay.mean() / saved.mean() > 300 or a["pieces"][1] is None:
        return
    blocks, paths = 40, 200
    most = int(outlay.max() / saved.mean() * 4) + 20
    found = {0.5: [], 0.9: []}
    for block in np.array_split(generator.permutation(saved), blocks):
        runs = np.cumsum(generator.choice(block, (most, paths)), axis=0)
        cost = generator.choice(outlay, paths)
        over = runs >= cost
        paid, k = over.any(axis=0), over.argmax(axis=0)
        before = np.where(k > 0, np.take_along_axis(runs, np.maximum(k - 1, 0)[None], 0)[0], 0.0)
        step = np.take_along_axis(runs, k[None], 0)[0] - before
        pieces = np.where(paid, n * (k + (cost - before) / np.where(step == 0, 1, step)), np.inf)
        for q, key in ((0.5, 1), (0.9, 2)):
            if a["pieces"][key] is not None:
                found[q].append(np.mean(pieces <= a["pieces"][key]))
    for q, shares in found.items():
        if len(shares) == blocks:
            mean, sd = np.mean(shares), np.std(shares, ddof=1)
            # The blocks' scatter holds the sequences' and the savings' own; the program has so many of each.
            own = sd * np.sqrt(len(saved) / blocks / trials) if trials else 0
            f.add(f"{names}: pieces until {q} have paid", q, mean, np.sqrt(sd**2 / blocks + own**2 + q * (1 - q) / sequences))


# ---- season, steady, compare, over -------------------------------------------------------------------------------------------------------


def season(f, s, ask):
    if s.season is None:
        return
    trials = 8000
    a = ask("season", "--trials", trials, "--seed", 7)
    times = (s.sale.price / s.season.asked_at) ** -s.season.elasticity
    f.mean("buyers", a["buyers"]["mean"], 1e12, times * s.season.buyers.draw(np.random.default_rng(7), 200_000))
    best = outcome(batch(s, a["best_by_surplus"], trials_for(s, a["best_by_surplus"], 8000), seed=7)).surplus
    for n in sorted({*some_sizes(s), a["best_by_surplus"]}):
        b = batch(s, n, trials_for(s, n, 8000), seed=7)
        o, x = outcome(b), next(x for x in a["sizes"] if x["size"] == n)
        f.mean(f"size {n} sold", x["sold"]["mean"], trials, b.sold)
        f.mean(f"size {n} left over", x["leftover"], trials, b.good - b.sold - b.worn)
        f.true(f"size {n} worn told", ("worn" in x) == any(c.on_return and c.on_return.worn > 0 for c in s.channels), "worn" in x)
        if "worn" in x:
            f.mean(f"size {n} worn", x["worn"], trials, b.worn)
        f.share(f"size {n} sold out", x["sold_out"]["share"], trials, b.sold_out)
        f.mean(f"size {n} surplus", x["surplus"]["mean"], trials, o.surplus)
        f.quantile(f"size {n} surplus p10", 0.1, x["surplus_p10"], trials, o.surplus)
        f.quantile(f"size {n} surplus p90", 0.9, x["surplus_p90"], trials, o.surplus)
        f.ratio(f"size {n} rate", x["rate"]["mean"], trials, o.profit, o.hours)
        f.share(f"size {n} reach", x["reach"]["share"], trials, o.floor <= o.price)
        if len(best) == len(o.surplus):
            f.mean(f"size {n} against best", x["against_best"]["mean"], trials, o.surplus - best)
    if a["leftover_worth"]:
        f.exact("leftover worth", a["leftover_worth"], leftover_worth(s, a["best_by_surplus"]), 1e-6)
    if a["fractile"]:
        x = a["fractile"]
        f.exact("fractile", x["fractile"], x["under"] / (x["under"] + x["over"]))
    if a["prices"]:
        points = a["prices"]["curve"]
        for x in [points[0], points[len(points) // 2], points[-1], *(p for p in (a["prices"]["best"],) if p)]:
            n = x["size"]
            b = batch(s, n, trials_for(s, n, 8000), seed=7, demand_at=x["price"])
            o = outcome(b, price=x["price"])
            at, tried = f"price {x['price']:.2f}", a["prices"]["curve_trials"]
            f.mean(f"{at} surplus", x["surplus"]["mean"], tried, o.surplus)
            f.ratio(f"{at} rate", x["rate"], tried, o.profit, o.hours)
            f.mean(f"{at} left over", x["leftover"], tried, b.good - b.sold - b.worn)
            f.share(f"{at} reach", x["reach"], tried, o.floor <= o.price)


def steady(f, s, ask):
    if s.steady is None:
        return
    trials, d = 8000, s.steady.per_week
    a = ask("steady", "--trials", trials, "--seed", 8)
    o = copy.deepcopy(s)
    for x in o.steps:
        x.once = certain(0)
    f.exact("piece value", a["piece_value"], piece_value(s))
    f.exact("once hours", a["once_hours"], sum(x.once.mean() for x in s.steps) * s.pace.mean() / 60)
    a_share = simulate.stock_share(s)
    for n in some_sizes(s):
        b = batch(o, n, trials_for(s, n, 8000), seed=8)
        t, x = outcome(b), next(x for x in a["sizes"] if x["size"] == n)
        weeks = b.good / d
        f.mean(f"size {n} weeks", x["weeks"], trials, weeks)
        f.ratio(f"size {n} hours a week", x["hours_a_week"], trials, t.hours, weeks)
        f.ratio(f"size {n} surplus a year", x["surplus_a_year"]["mean"], trials, t.surplus * 52, weeks)
        f.ratio(f"size {n} rate", x["rate"]["mean"], trials, t.profit, t.hours)
        f.share(f"size {n} reach", x["reach"]["share"], trials, t.floor <= t.price)
        f.ratio(f"size {n} holding a year", x["holding_a_year"], trials, t.money.holding * 52, weeks)
        f.ratio(f"size {n} stock", x["stock"], trials, b.good.astype(float) ** 2 / 2 * a_share, b.good.astype(float))
        if a["week_hours"] is not None:
            f.true(f"size {n} fits", x["fits"] == (x["hours_a_week"] <= a["week_hours"]), x["fits"])
    t = a["textbook"]
    if t:
        f.exact("textbook batch", t["batch"], np.sqrt(2 * t["demand"] * t["setup_cost"] / (t["holding_cost"] * t["stock_share"])))
        f.exact("textbook holding", t["holding_cost"], s.steady.hold * piece_value(s))
        f.exact("textbook demand", t["demand"], d * 52)
        f.exact("textbook stock share", t["stock_share"], a_share)
    best = max((x for x in a["sizes"] if x["fits"] or not a["keeps_up"]), key=lambda x: x["surplus_a_year"]["mean"])
    f.exact("best", a["best"], best["size"])


def week_of(s, o, b):
    bench = sum(s.bench.days) if s.bench else s.hours_per_month * 12 / 52 if s.hours_per_month else None
    if bench is None or s.season is not None:
        return None
    # Selling days take none of the bench hours.
    runs = bench / (o.hours - day_hours(b)).mean()
    limit = s.steady.per_week / b.sold.mean() if s.steady else np.inf
    return runs, limit


def compare(f, pair, ask):
    """Two scenarios at a size each: differences trial by trial, on days that both share."""
    trials = 20_000
    same = pair[0].source == pair[1].source
    sizes = [some_sizes(s)[-1 if same and k else min(1, len(some_sizes(s)) - 1)] for k, s in enumerate(pair)]
    a = ask("compare", "--sizes", ",".join(map(str, sizes)), "--trials", trials, "--seed", 9)
    count = min(trials_for(s, n, 20_000) for s, n in zip(pair, sizes))
    b = [batch(s, n, count, seed=9) for s, n in zip(pair, sizes)]
    o = [outcome(x) for x in b]
    x = a["pairs"][0]
    gain = {"mean": x["difference"]["mean"], "se": x["difference"]["se"]}
    gain_of(f, "difference", gain, trials, o[1], o[0].hours, o[0].profit)
    first, second = (t.profit / t.hours for t in o)
    # What days have in common is told for the pace and parts of one name; how like two laws go together is not, so equal ones only.
    if x["ties"] == 0 and (same or pair[0].pace.values == pair[1].pace.values):
        f.share("first wins", x["first_wins"]["share"], trials, first > second)
    for k in (0, 1):
        size_figures(f, f"entry {k}", a["entries"][k]["run"], trials, b[k])
        week, made = week_of(pair[k], o[k], b[k]), a["entries"][k]["week"]
        if week is None:
            f.exact(f"entry {k} week", made["money"], None)
        elif week[0] < week[1]:
            at_bench = o[k].hours - day_hours(b[k])
            f.ratio(f"entry {k} money a week", made["money"]["mean"], trials, o[k].profit * week[0] * at_bench.mean(), at_bench)
        else:
            f.ratio(f"entry {k} money a week", made["money"]["mean"], trials, o[k].profit * pair[k].steady.per_week, b[k].sold.astype(float))


def over(f, s, ask):
    n, trials = some_sizes(s)[min(1, len(some_sizes(s)) - 1)], 8000
    low, high = round(s.sale.price * 0.7, 2), round(s.sale.price * 1.5, 2)
    keys = [(f"target={s.target * 0.5:g}..{s.target * 1.5:g} step {s.target / 2:g}", "target")]
    if s.season is None or s.season.elasticity == 0:
        keys.append((f"sale.price={low:g}..{high:g} step {(high - low) / 4:g}", "price"))
    for key, what in keys:
        a = ask("sweep", "--size", n, "--trials", trials, "--seed", 10, "--over", key)
        b = batch(s, n, trials_for(s, n, 8000), seed=10)
        for x in a["points"][::2]:
            o = copy.copy(b)
            o.s = copy.copy(s)
            o.s.target = x["target"]
            t = outcome(o, price=x["price"])
            at = f"{what} {x[what]:g}"
            f.ratio(f"{at} long run", x["rate"]["long_run"], trials, t.profit, t.hours)
            f.share(f"{at} reach", x["reach"]["share"], trials, t.floor <= x["price"])
            f.quantile(f"{at} floor", s.confidence, x["floor"]["price"], trials, t.floor)
        for x in a["crossings"]:
            if what == "price" and all(p["floor"]["price"] is not None for p in a["points"]):
                f.quantile("crossing", s.confidence, x["value"], trials, outcome(b).floor)


QUESTIONS = {"sweep": sweep, "floor": floor, "order": order, "stress": stress, "drivers": drivers, "jig": jig, "season": season,
             "steady": steady, "over": over}
