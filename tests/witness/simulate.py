"""Batches as arrays: one column a trial, one row a piece, a round or an order.

Every part of the work draws from a generator of its own, named by the part, so that two settings differ by the change and not by luck, and
parts can be drawn anew by their names (`salt`).
"""

import zlib
from types import SimpleNamespace as Bag

import numpy as np

WEEKS = 52.0


class Draws:
    """Generators by name."""

    def __init__(self, seed, trials, salt=()):
        self.seed, self.trials, self.salt = seed, trials, frozenset(salt)

    def of(self, part, *which):
        key = "/".join([*part, *map(str, which)])
        return np.random.Generator(np.random.SFC64([self.seed, zlib.crc32(key.encode()), int(part in self.salt)]))

    def law(self, law, rows, part, *which):
        """Draws of a law: rows x trials, or one a trial where rows is None."""
        shape = self.trials if rows is None else (rows, self.trials)
        if law.certain:
            return np.broadcast_to(law.values[0], shape)
        return law.draw(self.of(part, *which), shape)


def learning(step, number):
    """Crawford's unit model for the pieces of this number, counted from 1."""
    seen = step.before + number
    if step.learned_by is not None:
        seen = np.minimum(seen, step.learned_by)
    return (seen / (step.before + 1.0)) ** np.log2(step.learning)


def rounds_of(handled, room):
    return np.where(handled > 0, 1, 0) if room is None else -(-handled // room)


def whole(draws):
    """Whole pieces of an order: half a piece counts as one."""
    return np.floor(draws + 0.5)


def asked(law, draws, chance):
    """Whole pieces asked for: buyers drawn from a range are rounded; of known numbers of buyers chance decides the fraction."""
    return np.floor(draws + (chance if law.shape in ("certain", "logged") else 0.5)).astype(int)


def channels_of(s):
    """The ways of selling a first: name, share, what a buyer pays for a piece as a share of the list price, own order time, sale."""
    if not s.channels:
        return [Bag(name="", share=1.0, ratio=1.0, per_order=None, sale=s.sale, on_return=None)]
    found = []
    for c in s.channels:
        ratio = c.sale.price * (1 - c.discount) / s.sale.price if s.sale.price else 1 - c.discount
        found.append(Bag(name=c.name, share=c.share, ratio=ratio, per_order=c.per_order, sale=c.sale, on_return=c.on_return))
    return found


def of_seconds(s):
    """How seconds are sold, at a price that the list price does not move."""
    return Bag(name="orders of seconds", ratio=0.0, per_order=s.seconds.per_order, sale=s.seconds.sale, on_return=None)


def split(ways, sold, begins):
    """By channel, how many of the pieces sold go there: it takes its share of what those before it leave, from somewhere between two pieces
    on (`begins`, uniform on 0 to 1 from batch to batch)."""
    found, left = [], sold
    for k, w in enumerate(ways):
        part = w.share / sum(other.share for other in ways[k:])
        here = np.floor(np.round(left * part, 9) + begins(w)).astype(int) if k + 1 < len(ways) else left
        found.append(here)
        left = left - here
    return found


def opposed(x):
    """Whether a step's setups may lie opposite to the one time that its pieces have in a batch."""
    return x.opposite > 0 and not (x.setup.certain or x.each.certain)


def make(s, n, d):
    """Starts n pieces: minutes by step at the estimated pace, pieces and rounds counted. Spares among them are not made again."""
    steps, t = s.steps, d.trials
    due = n - getattr(s, "spares", 0)
    zero = lambda: [np.zeros(t) for _ in steps]
    work = Bag(setup=zero(), each=zero(), redo=zero(), handled=[np.zeros(t, dtype=int) for _ in steps],
               rounds=[np.zeros(t, dtype=int) for _ in steps], once=np.zeros(t), good=np.zeros(t, dtype=int),
               seconds=np.zeros(t, dtype=int))
    for x in steps:
        work.once = work.once + d.law(x.once, None, (x.name, "once"))
    missing, wave = np.full(t, n), 0
    while missing.max() > 0:
        rows = int(missing.max())
        alive = np.arange(rows)[:, None] < missing[None, :]
        for j, x in enumerate(steps):
            here = alive.sum(axis=0)
            rounds = rounds_of(here, x.room)
            if not x.setup.nothing() and rounds.max() > 0:
                most = int(rounds.max())
                drawn = d.law(x.setup, most, (x.name, "setup"), wave)
                if opposed(x):
                    coin = d.of((x.name, "setup"), "opposite")
                    goes = coin.random(t) < x.opposite
                    drawn = np.where(goes, x.setup.quantile(1 - x.each.rank(d.law(x.each, None, (x.name, "each")), coin)), drawn)
                work.setup[j] += np.where(np.arange(most)[:, None] < rounds, drawn, 0).sum(axis=0)
            if not x.each.nothing():
                if x.batch:
                    time = np.broadcast_to(d.law(x.each, None, (x.name, "each")), (rows, t))
                else:
                    time = d.law(x.each, rows, (x.name, "each"), wave)
                factor = 1.0
                if x.learning != 1:
                    factor = learning(x, work.handled[j] + np.cumsum(alive, axis=0))
                work.each[j] += np.where(alive, time * factor, 0).sum(axis=0)
                if x.redo > 0:
                    generator = d.of((x.name, "redo"), wave)
                    todo, turn = alive & (generator.random((rows, t)) < x.redo), 0
                    while todo.any():
                        again = time if x.batch else d.law(x.each, rows, (x.name, "each"), wave, "again", turn)
                        work.redo[j] += np.where(todo, again * factor, 0).sum(axis=0)
                        todo, turn = todo & (generator.random((rows, t)) < x.redo), turn + 1
            work.handled[j] += here
            work.rounds[j] += rounds
            if x.spoil > 0:
                alive = alive & (d.of((x.name, "spoil"), wave).random((rows, t)) >= x.spoil)
        if second_share(s) > 0:
            second = alive & (d.of(("seconds",), wave).random((rows, t)) < second_share(s))
            work.seconds += second.sum(axis=0)
            alive = alive & ~second
        good = alive.sum(axis=0)
        work.good += good
        missing = np.maximum(due - work.good, 0) if s.remake else np.zeros(t, dtype=int)
        if wave == 0:
            work.made_again = missing > 0
        wave += 1
    return work


def purchase(m, need, price_of):
    """Units bought and price paid a unit for a need, waste included; buying up to a break where that costs less in all."""
    pack = lambda units: units if not m.pack else np.ceil(units / m.pack - 1e-9) * m.pack
    bought = pack(need)
    price = np.broadcast_to(price_of[0], need.shape).copy()
    for (start, _), tier in zip(m.breaks, price_of[1:]):
        price = np.where(bought >= start - 1e-9, tier, price)
    best = bought * price
    for (start, _), tier in zip(m.breaks, price_of[1:]):
        more = np.maximum(pack(np.full(need.shape, start)), bought)
        cheaper = (bought < start - 1e-9) & (more * tier < best - 1e-12)
        best = np.where(cheaper, more * tier, best)
        bought = np.where(cheaper, more, bought)
        price = np.where(cheaper, tier, price)
    return bought, price


def tries(d, there, name, time, key, won, which):
    """Minutes of all quotes (or enquiries) until one becomes an order, for each order that is there."""
    if time.nothing():
        return np.zeros(there.shape[1])
    number = np.ones(there.shape, dtype=int)
    if won < 1:
        number = d.of((name, "won"), which).geometric(won, there.shape)
    number = np.where(there, number, 0)
    if time.certain:
        return number.sum(axis=0) * time.values[0]
    minutes = np.zeros(there.shape[1])
    for turn in range(int(number.max())):
        minutes += np.where(number > turn, d.law(time, len(there), (name, key), turn), 0).sum(axis=0)
    return minutes


def sell(s, d, w, pieces, rate):
    """Pieces into orders of one way of selling, with their minutes, postage and returns."""
    # With sets an order is for so many of them; what makes no full set is sold singly, or left over.
    set_of = w.sale.set_of
    sets, beside = pieces // set_of, pieces % set_of
    least = int(max(1, whole(w.sale.order_of.quantile(0.0) if w.sale.order_of.shape != "lognormal" else np.array(0.0))))
    rows = max(-(-int(sets.max()) // least), 1)
    size = np.maximum(whole(d.law(w.sale.order_of, rows, ("order_of",), w.name)), 1)
    upto = np.minimum(np.cumsum(size, axis=0), sets)
    inside = np.diff(upto, axis=0, prepend=0) * set_of
    there = inside > 0
    kept, again = there, np.zeros(there.shape, dtype=bool)
    if w.sale.returned > 0:
        fate = d.of(("returns",), w.name).random((rows, d.trials))
        kept = there & (fate >= w.sale.returned)
        again = there & (fate < w.sale.returned * w.sale.as_new)
    bought, worn, worn_money, waits = inside, 0, 0.0, 0.0
    if w.on_return is not None:
        g, law = d.of((w.name, "unsold"), "pieces"), d.law(w.on_return.unsold, None, (w.name, "unsold"))
        # Each piece that is placed has its own draws, whatever becomes of others.
        rows_of_pieces = max(int(pieces.max()), 1)
        fate, wear = g.random((rows_of_pieces, 2, d.trials)).transpose(1, 0, 2)
        back = (fate < law) & (np.arange(rows_of_pieces)[:, None] < pieces)
        so_far = np.concatenate([np.zeros((1, d.trials), dtype=int), np.cumsum(back, axis=0)])
        bought = inside - np.diff(np.take_along_axis(so_far, upto.astype(int), axis=0), axis=0, prepend=0)
        worn = (back & (wear < w.on_return.worn)).sum(axis=0)
        worn_money, waits = worn * w.on_return.worn_price, pieces * w.on_return.waits
    if w.per_order is not None:
        minutes = {w.name: np.where(there, d.law(w.per_order, rows, (w.name, "orders")), 0).sum(axis=0)}
    else:
        minutes = {x.name: np.where(there, d.law(x.per_order, rows, (x.name, "per_order"), w.name), 0).sum(axis=0)
                   for x in s.steps if not x.per_order.nothing()}
    asked = {key: tries(d, there, w.name, getattr(w.sale, key), key, getattr(w.sale, won), won)
             for key, won in (("quote", "quote_won"), ("enquiry", "enquiry_bought"))}
    post = np.where(there, d.law(w.sale.post, rows, ("postage",), w.name), 0).sum(axis=0)
    tips = np.where(kept, d.law(w.sale.tip, rows, ("tips",), w.name), 0).sum(axis=0)
    return Bag(
        name=w.name, ratio=w.ratio, sale=w.sale, on_return=w.on_return, placed=sets * set_of, singly=beside if w.sale.single is not None else 0 * beside, pieces=bought.sum(axis=0), worn=worn, worn_money=worn_money,
        waits=waits, again=np.where(again, bought, 0).sum(axis=0), orders=there.sum(axis=0), own_time=w.per_order is not None,
        kept=np.where(kept, bought, 0).sum(axis=0), kept_orders=kept.sum(axis=0), minutes=minutes, asked=asked["quote"] + asked["enquiry"],
        post=post * rate(w.sale.post_in), tips=tips * rate(w.sale.tip_in), price_rate=rate(w.sale.price_in), charged=w.sale.post_charged * rate(w.sale.charged_in),
        fee_per_order=w.sale.fee_per_order * rate(w.sale.fee_in),
    )


def batch(s, n, trials, seed=1, salt=(), demand_at=None):
    """Simulates `trials` batches of n pieces. Hours by part; money in parts that do not yet hang on price or overhead."""
    d = Draws(seed, trials, salt)
    b = make(s, n, d)
    b.s, b.n, b.trials = s, n, trials
    b.pace = d.law(s.pace, None, ("pace",))
    rates = {code: d.law(law, None, (code, "rate")) for code, law in s.rates.items()}
    rate = lambda code: rates[code] if code else 1.0
    # Selling days come first, one after the other; what nobody buys there comes home.
    b.days, home = [], b.good
    times = 1.0 if s.season is None else ((demand_at or s.sale.price) / s.season.asked_at) ** -s.season.elasticity
    for x in s.days:
        part = (x.name, "day_sells")
        found = asked(x.sells, d.law(x.sells, None, part) * times, d.of(part, "fraction").random(trials))
        there, travel = (d.law(getattr(x, part), None, (x.name, part)) for part in ("there", "travel"))
        day = Bag(of=x, sold=np.minimum(home, found), minutes=there + travel, cost=d.law(x.cost, None, (x.name, "day_cost")))
        b.days.append(day)
        home = home - day.sold
    spares = getattr(s, "spares", 0)
    b.sold = np.minimum(home, n - spares) if spares else home
    if s.season is not None:
        law, part = s.season.buyers, ("buyers",)
        b.asked = asked(law, d.law(law, None, part) * times, d.of(part, "fraction").random(trials))
        b.sold = np.minimum(home, b.asked)
    ways = channels_of(s)
    counts = split(ways, b.sold, lambda w: d.of((w.name, "begins")).random(trials))
    b.ways = [sell(s, d, w, here, rate) for w, here in zip(ways, counts)]
    # What makes no full set and has no price of its own is left over.
    b.sold = sum(w.pieces + w.singly for w in b.ways) + b.good - home
    b.worn = sum((w.worn for w in b.ways), np.zeros(trials))
    b.of_seconds = sell(s, d, of_seconds(s), b.seconds, rate) if s.seconds else None
    b.sales = b.ways + ([b.of_seconds] if s.seconds else [])
    all_orders = sum(w.orders for w in b.sales)
    b.stock, b.stock_paid, b.packing = [], [], []
    for m in s.materials:
        # An order that goes past all channels uses nothing that is for one of them.
        orders = all_orders if m.channel is None else b.ways[m.channel].orders if s.channels else 0
        used = (m.per_piece * b.handled[m.at] + m.per_round * s.steps[m.at].own * b.rounds[m.at] + m.per_order * orders + m.per_batch).astype(float)
        need = used * (1 + d.law(m.waste, None, (m.name, "waste")))
        laws = [m.price] + [tier for _, tier in m.breaks]
        if all(law.certain for law in laws):
            tiers = [np.broadcast_to(law.values[0], trials) for law in laws]
        else:
            # A dear day is dear at every tier: one quantile for all.
            u = d.of((m.name, "price")).random(trials)
            tiers = [law.quantile(u) for law in laws]
        bought, price = purchase(m, need, tiers)
        units = bought if m.lost else need
        b.stock.append(units * price * rate(m.currency))
        b.stock_paid.append(units * m.paid * rate(m.currency) if m.paid is not None else b.stock[-1])
        b.packing.append(m.per_order > 0)
    b.sold_out = (b.sold == b.good) & (b.good > 0)
    return b


def helper_hours(b):
    """Hours of the helper in each trial, which are none of the maker's."""
    helped = [j for j, x in enumerate(b.s.steps) if x.helped]
    return sum((b.setup[j] + b.each[j] + b.redo[j] for j in helped), np.zeros(b.trials)) * b.pace / 60


def hours(b, less=None):
    """Hands-on hours of each trial; `less` takes so much off parts: {(step, part): share}."""
    less = less or {}
    keep = lambda *key: 1 - less.get(key, 0)
    minutes = b.once / b.s.runs * keep("once")
    for j, x in enumerate(b.s.steps):
        if x.helped:
            continue
        minutes = minutes + b.setup[j] * keep(x.name, "setup") + (b.each[j] + b.redo[j]) * keep(x.name, "each")
    for w in b.sales:
        minutes = minutes + w.asked
        for name, m in w.minutes.items():
            minutes = minutes + m * keep(name, "per_order")
    return minutes * b.pace / 60 * keep("pace") + day_hours(b)


def day_hours(b):
    """Hours of selling days, which no pace lengthens."""
    return sum((day.minutes for day in b.days), np.zeros(b.trials)) / 60


def order_hours(b, w):
    return sum(w.minutes.values(), w.asked) * b.pace / 60


def money(b, price=None, paid=False):
    """Money of each trial by what it goes into, at a list price."""
    s = b.s
    price = s.sale.price if price is None else price
    out = Bag(income=0.0, fees=0.0, post=0.0, brings=0.0)
    for w in b.sales:
        piece = (w.sale.price if w is b.of_seconds else price * w.ratio) * w.price_rate
        out.income = out.income + (w.kept * piece + w.kept_orders * w.charged) / (1 + w.sale.tax) + w.tips + w.worn_money
        out.fees = out.fees + w.sale.fee * (w.pieces * piece + w.orders * w.charged) + w.orders * w.fee_per_order
        out.post = out.post + w.post
        if w.sale.single is not None:
            single = w.sale.single / s.sale.price
            out.income = out.income + w.singly * price * single / (1 + w.sale.tax)
            out.fees = out.fees + w.singly * price * single * w.sale.fee
            out.brings = out.brings + w.singly * single * (1 / (1 + w.sale.tax) - w.sale.fee)
        out.brings = out.brings + w.ratio * w.price_rate * (w.kept / (1 + w.sale.tax) - w.sale.fee * w.pieces)
    for day in b.days:
        # A list price that moves moves the day's with it.
        piece, kept = day.of.price / s.sale.price, 1 / (1 + day.of.tax)
        out.income = out.income + day.sold * price * piece * kept
        out.fees = out.fees + day.sold * price * piece * day.of.fee
        out.brings = out.brings + day.sold * piece * (kept - day.of.fee)
    out.days = sum((day.cost for day in b.days), np.zeros(b.trials))
    out.materials = sum(b.stock_paid if paid else b.stock, np.zeros(b.trials))
    worth = leftover_worth(s, b.n)
    left = s.spare_worth if getattr(s, "spares", 0) else worth
    out.clearance = (b.good - b.sold) * left + sum(w.again - w.worn for w in b.ways) * worth
    out.holding = holding_factor(s) * b.sold.astype(float) ** 2 + sum(w.waits for w in b.ways) * piece_value(s)
    return out


def outcome(b, price=None, paid=False, h=None, lost=0.0):
    """Hours, profit, what a price of 1 brings, and each trial's own floor; `lost` is taken off the profit."""
    s = b.s
    price = s.sale.price if price is None else price
    m = money(b, price, paid)
    h = hours(b) if h is None else h
    profit = m.income + m.clearance - m.fees - m.post - m.materials - m.holding - m.days - s.overhead * h - s.wage * helper_hours(b) - lost
    surplus = profit - s.target * h
    with np.errstate(divide="ignore", invalid="ignore"):
        floor = np.where(m.brings > 1e-12, price - surplus / m.brings, np.where(surplus >= -1e-9, 0.0, np.inf))
    return Bag(hours=h, profit=profit, surplus=surplus, brings=m.brings, floor=np.maximum(floor, 0.0), money=m, price=price)


# ---- Expected values that the documents give in closed form -------------------------------------------------------------------------


def reaches(s):
    """Chance that a started piece reaches each step, and at the end that it comes through."""
    found = [1.0]
    for x in s.steps:
        found.append(found[-1] * (1 - x.spoil))
    return found


def second_share(s):
    """Chance that a piece that comes through all steps is a second."""
    return 1 - float(np.prod([1 - x.second for x in s.steps]))


def firsts(s):
    """Chance that a started piece comes out good: through all steps, and no second."""
    return reaches(s)[-1] * (1 - second_share(s))


def second_brings(s):
    """What a second brings on average, its share of an order and of that one's time taken off."""
    if s.seconds is None:
        return 0.0
    sale, rate = s.seconds.sale, lambda code: mean_rate(s, code)
    k = 1.0
    pieces = 1.0  # of an order, on average
    while (chance := sale.order_of.over(k + 0.5)) > 1e-15:
        pieces, k = pieces + chance, k + 1
    minutes = s.seconds.per_order.mean() if s.seconds.per_order is not None else sum(x.per_order.mean() for x in s.steps)
    paid = sale.price * rate(sale.price_in) + sale.post_charged * rate(sale.charged_in) / pieces
    order = sale.fee_per_order * rate(sale.fee_in) + sale.post.mean() * rate(sale.post_in)
    order -= sale.tip.mean() * rate(sale.tip_in) * (1 - sale.returned)
    order += minutes * s.pace.mean() / 60 * (s.target + s.overhead)
    order += sum(m.per_order * (1 + m.waste.mean()) * m.price.mean() * rate(m.currency) for m in s.materials if m.channel is None)
    return paid * ((1 - sale.returned) / (1 + sale.tax) - sale.fee) - order / pieces


def mean_rate(s, code):
    return s.rates[code].mean() if code else 1.0


def piece_value(s, n=1):
    """What is tied up in the last good piece of a batch of n: stock used a piece, and its hours at the target with what was learned by then,
    less what the seconds made along with it bring.

    Prices are the plain one for a batch of one, else the tier at which so much is bought; whole packs are left out. Where spoiled pieces are
    made again, so many are started that n are good.
    """
    a, good = reaches(s), firsts(s)
    started = n / good if s.remake else n
    each = [a[j] / good * x.each.mean() * float(learning(x, np.float64(n))) / (1 - x.redo) for j, x in enumerate(s.steps)]
    an_hour = [s.wage if x.helped else s.target + s.overhead for x in s.steps]
    value = sum(minutes * worth for minutes, worth in zip(each, an_hour)) * s.pace.mean() / 60
    for m in s.materials:
        price = m.price.mean()
        if n > 1:
            need = (m.per_piece * started * a[m.at] + m.per_batch) * (1 + m.waste.mean())
            tiers = [(need * price, price)] + [(max(need, start) * tier.mean(), tier.mean()) for start, tier in m.breaks]
            price = min(tiers)[1]
        value += a[m.at] / good * m.per_piece * (1 + m.waste.mean()) * price * mean_rate(s, m.currency)
    return value - a[-1] * second_share(s) / good * second_brings(s)


def leftover_worth(s, n):
    if s.season is None:
        # What comes back as new, or waits for a later set, saves making another.
        back = any(w.sale.returned * w.sale.as_new > 0 or (w.on_return is not None and w.on_return.worn < 1)
                   or (w.sale.set_of > 1 and w.sale.single is None) for w in channels_of(s))
        return piece_value(s, n) if back else 0.0
    if not s.season.carry:
        return s.season.clearance
    return piece_value(s, n) * max(1 - s.season.hold * s.season.weeks / WEEKS, 0.0)


def stock_share(s):
    """Of half a batch, the share that is in stock on average."""
    if not s.steady.singly:
        return 1.0
    a, good = reaches(s), firsts(s)
    # Of two at the bench the slower keeps the pace.
    minutes = max(sum(a[j] / good * x.each.mean() / (1 - x.redo) for j, x in enumerate(s.steps) if x.helped == helped)
                  for helped in (False, True))
    made = sum(s.bench.days) * 60 / (minutes * s.pace.mean())
    return 1 - s.steady.per_week / made


def holding_factor(s):
    if s.steady is None:
        return 0.0
    return s.steady.hold * piece_value(s) * stock_share(s) / (2 * WEEKS * s.steady.per_week)
