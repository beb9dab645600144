"""The calendar as a discrete-event simulation: one pair of hands, or two with a helper, limited room, waits on the wall clock, bench hours of
the week.

The rules are those of the program's documents. Of what can be begun the earliest step goes first, then what has been ready longest; a task
is left half done only for the night; what must be done again and waits for nothing is done again at once; a round keeps its room until its wait is over, and waits again for what must be done again. A helper
does the helper's tasks and nothing else, beside the maker.
"""

import datetime as dt
import heapq
import math
from types import SimpleNamespace as Bag

import numpy as np

from simulate import asked, channels_of, learning, of_seconds, opposed, second_share, split, whole

DAY = 1440.0
SMALL = 1e-7


class Bench:
    """Open minutes from midnight of a day on."""

    def __init__(self, s, first, opens=9 * 60, more=0.0, days=4000):
        week = sum(s.bench.days)
        off = [tuple(dt.date.fromisoformat(x.strip()) for x in o) for o in s.bench.off]
        off = [(o[0], o[-1]) for o in off]
        self.stretches = []
        for k in range(days):
            day = first + dt.timedelta(days=k)
            minutes = min(s.bench.days[day.weekday()] * 60 * (1 + more / week), DAY)
            if minutes <= 0 or any(a <= day <= b for a, b in off):
                continue
            said = s.bench.opens[day.weekday()]
            begin = min(opens if said is None else said, DAY - minutes)
            self.stretches.append((k * DAY + begin, k * DAY + begin + minutes))
        self.starts = np.array([a for a, _ in self.stretches])
        self.ends = np.array([b for _, b in self.stretches])
        self.before = np.concatenate([[0], np.cumsum(self.ends - self.starts)])

    def at(self, time):
        """The first open moment from a time on, and its stretch."""
        k = int(np.searchsorted(self.ends, time + SMALL, side="right"))
        return max(time, self.starts[k]), k

    def after(self, time, minutes):
        """When so many minutes of work begun then are done."""
        begin, k = self.at(time)
        while minutes > self.ends[k] - begin + SMALL:
            minutes -= self.ends[k] - begin
            k += 1
            begin = self.starts[k]
        return begin + minutes

    def open_until(self, time):
        k = int(np.searchsorted(self.ends, time, side="left"))
        return self.before[k] + (min(max(time - self.starts[k], 0), self.ends[k] - self.starts[k]) if k < len(self.starts) else 0)


class Trial:
    """All that is drawn for one batch."""

    def __init__(self, s, n, g):
        one = lambda law: float(law.draw(g, ()))
        self.pace = one(s.pace)
        self.batch = [one(x.each) for x in s.steps]
        self.waves, missing = [], n
        handled = [0] * len(s.steps)
        while missing:
            here, wave = list(range(missing)), []
            for j, x in enumerate(s.steps):
                work = []
                for _ in here:
                    handled[j] += 1
                    factor = float(learning(x, handled[j])) if x.learning != 1 else 1.0
                    times = [(self.batch[j] if x.batch else one(x.each)) * factor]
                    while x.redo and g.random() < x.redo:
                        times.append((self.batch[j] if x.batch else one(x.each)) * factor)
                    work.append(times)
                wave.append((here, work))
                here = [p for p in here if not (x.spoil and g.random() < x.spoil)]
            self.waves.append((missing, wave, here))
            missing = missing - len(here) if s.remake else 0
        # Any piece that comes through may turn out to be a second; which it is shows when it is sold.
        self.is_second = [bool(second_share(s)) and g.random() < second_share(s) for _, _, h in self.waves for _ in h]
        good = self.is_second.count(False)
        # What selling days take is packed for nobody.
        wanted = lambda law: int(asked(law, np.array(one(law)), g.random()))
        sold = max(good - sum(wanted(day.sells) for day in s.days), 0)
        if s.season is not None:
            sold = min(sold, wanted(s.season.buyers))
        # Enough setups and waits for every round, in whatever rooms.
        rounds = 2 * n + 40
        self.setups = [x.setup.draw(g, rounds) / x.own for x in s.steps]
        for j, x in enumerate(s.steps):
            if opposed(x) and g.random() < x.opposite:
                self.setups[j] = np.full(rounds, float(x.setup.quantile(1 - x.each.rank(self.batch[j], g)))) / x.own
        self.waits = [x.wait.draw(g, rounds) for x in s.steps]
        # Where one batch is all that will be made, it begins with what is done once for the design.
        self.once = [(j, one(x.once)) for j, x in enumerate(s.steps) if not x.once.nothing()] if s.runs == 1 else []
        ways = channels_of(s)
        places = {w.name: g.random() for w in ways}
        counts = np.array(split(ways, np.arange(sold + 1), lambda w: places[w.name]))
        goes_to = [int(np.argmax(counts[:, k] - counts[:, k - 1])) for k in range(1, sold + 1)]
        if s.seconds:
            ways.append(of_seconds(s))
            goes_to += [len(ways) - 1] * self.is_second.count(True)
        self.orders, open_orders, gone = [], [None] * len(ways), [0] * len(ways)
        for k, c in enumerate(goes_to):
            w, o = ways[c], open_orders[c]
            # Only a full set goes into an order.
            gone[c] += 1
            if gone[c] < w.sale.set_of:
                continue
            gone[c] = 0
            if o is None or o.number == o.size:
                if w.per_order is not None:
                    times = [(len(s.steps) + c, one(w.per_order))]
                else:
                    times = [(j, one(x.per_order)) for j, x in enumerate(s.steps) if not x.per_order.nothing()]
                size = max(int(whole(np.array(one(w.sale.order_of)))), 1) * w.sale.set_of
                o = open_orders[c] = Bag(size=size, number=0, times=times,
                                         seconds=k >= sold)
                self.orders.append(o)
            o.number += w.sale.set_of
        # Any good piece will do for any order, and any second for one of seconds: orders take them in the order in which they are opened.
        there = {kind: [p for p, second in enumerate(self.is_second) if second == kind] for kind in (False, True)}
        for o in self.orders:
            o.pieces, there[o.seconds] = there[o.seconds][: o.number], there[o.seconds][o.number :]


class Work:
    def __init__(self):
        self.hands, self.wait, self.rank, self.takes, self.gives, self.after, self.helper = [], [], [], [], [], [], []

    def add(self, hands, wait, rank, after, takes=None, gives=None, helper=False):
        for to, x in ((self.hands, hands), (self.wait, wait), (self.rank, rank), (self.takes, takes), (self.gives, gives),
                      (self.after, list(after)), (self.helper, helper)):
            to.append(x)
        return len(self.hands) - 1


def places_of(s, doubled=None):
    """What rounds are kept in: by step, the room it takes and the pieces of a round; and how many rounds each room holds."""
    room_of, names, capacity = [], {}, []
    for x in s.steps:
        if x.kept_in is None and x.room is None:
            room_of.append(None)
            continue
        name = ("kept", x.kept_in) if x.kept_in else ("step", x.name)
        if name not in names:
            names[name] = len(capacity)
            capacity.append(2 if x.kept_in and x.kept_in == doubled else 1)
        room_of.append(names[name])
    return room_of, capacity


def at_once(times, wait):
    """Where nothing waits, a piece is done again at once, before any other is taken up."""
    return times if wait > 0 else [[sum(spans)] for spans in times]


def tasks(s, trial, rooms, doubled=None):
    """The work of a trial; `rooms` gives the pieces of a round by step."""
    work, pace = Work(), trial.pace
    room_of, capacity = places_of(s, doubled)
    taken = [0] * len(s.steps)
    done, through = [], []
    for j, minutes in trial.once:
        through = [work.add(minutes * pace, 0.0, j, through)]
    for started, wave, good in trial.waves:
        last = {p: list(through) for p in range(started)}
        ends = {p: [] for p in range(started)}
        for j, x in enumerate(s.steps):
            here, times = wave[j]
            if not here:
                continue
            if room_of[j] is None:
                setup = trial.setups[j][taken[j]] * pace
                wait = float(trial.waits[j][taken[j]])
                taken[j] += 1
                ready = work.add(setup, 0.0, j, last[here[0]], helper=x.helped) if setup > 0 else None
                for p, spans in zip(here, at_once(times, wait)):
                    after = last[p] + ([ready] if ready is not None else [])
                    if sum(spans) > 0:
                        for span in spans:
                            after = [work.add(span * pace, wait, j, after, helper=x.helped)]
                    elif wait > 0:
                        for _ in spans:
                            after = [work.add(None, wait, j, after)]
                    last[p] = after
                continue
            size = rooms[j] or len(here)
            for k in range(0, len(here), size):
                group, spans = here[k : k + size], times[k : k + size]
                setup, wait = trial.setups[j][taken[j]] * pace, float(trial.waits[j][taken[j]])
                taken[j] += 1
                spans = at_once(spans, wait)
                after = sorted({t for p in group for t in last[p]})
                hands = [(p, w) for p, w in zip(group, spans) if sum(w) > 0]
                # Somebody puts a round in: without a setup that takes no time.
                begin = work.add(setup, 0.0, j, after, takes=room_of[j], helper=x.helped)
                turns = max(len(w) for w in spans)
                point, left = [begin], []
                for turn in range(turns):
                    works = [work.add(w[turn] * pace, 0.0, j, point, helper=x.helped) for p, w in hands if len(w) > turn]
                    end = turn == turns - 1
                    point = [work.add(None, wait, j, works or point, gives=room_of[j] if end else None)]
                    left.append(point)
                # What need not be done again goes on; only the others are there for the next turn.
                for p, w in zip(group, spans):
                    last[p] = left[max(len(w), 1) - 1]
        for p in range(started):
            ends[p] = last[p]
        done += [last[p] for p in good]
        through = sorted({t for p in range(started) for t in last[p]})
    makes = [j for j, x in enumerate(s.steps) if not (x.setup.nothing() and x.each.nothing() and x.wait.nothing())]
    first_made = min(makes) if makes else 0
    for o in trial.orders:
        pieces = sorted({t for p in o.pieces for t in done[p]})
        before = []
        for j, minutes in o.times:
            if minutes <= 0:
                continue
            early = j < first_made
            before = [work.add(minutes * pace, 0.0, j, before if early else sorted({*before, *pieces}))]
    return work, capacity


def followers(work):
    """By job, those that wait for it."""
    follows = [[] for _ in work.hands]
    for job, after in enumerate(work.after):
        for earlier in after:
            follows[earlier].append(job)
    return follows


def run_one(work, capacity, bench, begin):
    """Does all the work: the finish, hands-on minutes, and the open minutes idle for room and for waiting."""
    n = len(work.hands)
    left = [len(a) for a in work.after]
    follows = followers(work)
    free = list(capacity)
    ready, blocked, over = [], {r: [] for r in range(len(free))}, []
    state = Bag(finish=begin)

    def offer(t, time):
        key = (work.rank[t], time, t)
        if work.takes[t] is not None and free[work.takes[t]] == 0:
            heapq.heappush(blocked[work.takes[t]], key)
        elif work.hands[t] is None:
            heapq.heappush(over, (time + work.wait[t], t))
        else:
            heapq.heappush(ready, key)

    def end(t, time):
        state.finish = max(state.finish, time)
        r = work.gives[t]
        if r is not None:
            free[r] += 1
            if blocked[r]:
                heapq.heappush(ready, heapq.heappop(blocked[r]))
        for f in follows[t]:
            left[f] -= 1
            if left[f] == 0:
                offer(f, time)

    for t in range(n):
        if left[t] == 0:
            offer(t, begin)
    time, hands, idle_room, idle_wait, count = begin, 0.0, 0.0, 0.0, 0
    while True:
        time_open, _ = bench.at(time) if ready else (time, 0)
        while over and over[0][0] <= (time_open if ready else time) + SMALL:
            end_time, t = heapq.heappop(over)
            end(t, end_time)
            if ready:
                time_open, _ = bench.at(max(time, end_time) if time < end_time else time)
        chosen = None
        while ready:
            key = heapq.heappop(ready)
            t = key[2]
            r = work.takes[t]
            if r is not None and free[r] == 0:
                heapq.heappush(blocked[r], key)
                continue
            chosen = t
            break
        if chosen is not None:
            if work.takes[chosen] is not None:
                free[work.takes[chosen]] -= 1
            begin_work, _ = bench.at(time)
            until = bench.after(begin_work, work.hands[chosen])
            hands += work.hands[chosen]
            # What ends while the hands are busy is over before the next choice.
            time = until
            heapq.heappush(over, (until + work.wait[chosen], chosen))
            continue
        if not over:
            break
        next_time = over[0][0]
        idle = bench.open_until(next_time) - bench.open_until(time)
        if any(blocked.values()):
            idle_room += idle
        else:
            idle_wait += idle
        time = max(time, next_time)
    return Bag(finish=state.finish, hands=hands, idle_room=idle_room, idle_wait=idle_wait)


def run_two(work, capacity, bench, begin):
    """[run_one] of two at the bench; hands and idle minutes are the maker's."""
    n = len(work.hands)
    left = [len(a) for a in work.after]
    follows = followers(work)
    free, blocked = list(capacity), [[] for _ in capacity]
    ready, busy, over = ([], []), [None, None], []
    finish, hands, idle_room, idle_wait, done, now = begin, 0.0, 0.0, 0.0, 0, begin

    def offer(t, time):
        if work.hands[t] is None:
            heapq.heappush(over, (time + work.wait[t], t))
        else:
            heapq.heappush(ready[work.helper[t]], (work.rank[t], time, t))

    def take(whose):
        while ready[whose]:
            key = heapq.heappop(ready[whose])
            room = work.takes[key[2]]
            if room is None:
                return key[2]
            if free[room] > 0:
                free[room] -= 1
                return key[2]
            heapq.heappush(blocked[room], key)
        return None

    for t in range(n):
        if left[t] == 0:
            offer(t, begin)
    while True:
        for who in (0, 1):
            if busy[who] is not None and busy[who][0] <= now + SMALL:
                until, t = busy[who]
                heapq.heappush(over, (until + work.wait[t], t))
                busy[who] = None
        while over and over[0][0] <= now + SMALL:
            at, t = heapq.heappop(over)
            finish, done = max(finish, at), done + 1
            if work.gives[t] is not None:
                room = work.gives[t]
                free[room] += 1
                # The place is for whoever stood there first, whoever's hands that takes.
                if blocked[room]:
                    key = heapq.heappop(blocked[room])
                    heapq.heappush(ready[work.helper[key[2]]], key)
            for f in follows[t]:
                left[f] -= 1
                if left[f] == 0:
                    offer(f, at)
        if done == n:
            return Bag(finish=finish, hands=hands, idle_room=idle_room, idle_wait=idle_wait)
        opens, _ = bench.at(now)
        if opens <= now:
            for who in (0, 1):
                t = take(who) if busy[who] is None else None
                if t is not None:
                    busy[who] = (bench.after(now, work.hands[t]), t)
                    hands += work.hands[t] if who == 0 else 0.0
        could = any(busy[who] is None and ready[who] for who in (0, 1))
        times = [x[0] for x in busy if x is not None] + ([over[0][0]] if over else []) + ([opens] if could else [])
        then = max(min(times), now)
        if busy[0] is None:
            idle = bench.open_until(then) - bench.open_until(now)
            if any(blocked):
                idle_room += idle
            else:
                idle_wait += idle
        now = then


def first_open(s, day):
    off = [tuple(dt.date.fromisoformat(x.strip()) for x in o) for o in s.bench.off]
    while s.bench.days[day.weekday()] <= 0 or any(o[0] <= day <= o[-1] for o in off):
        day += dt.timedelta(days=1)
    return day


def day_of(first, minute):
    return first + dt.timedelta(days=max(math.ceil(minute / DAY - SMALL / DAY) - 1, 0))


def calendar(f, s, ask):
    """Dates, what limits, and what more room or hours would bring."""
    if s.bench is None:
        return
    helped = any(x.helped for x in s.steps)
    run = run_two if helped else run_one
    n = next((x for x in s.sizes if x >= 8), s.sizes[-1])
    n = min(n, 24) if n in s.sizes else n
    trials, count = 1000, 300
    start = dt.date(2027, 1, 11)
    due = start + dt.timedelta(days=30)
    a = ask("calendar", "--size", n, "--start", start.isoformat(), "--due", due.isoformat(), "--trials", trials, "--seed", 11)
    first = first_open(s, start)
    f.exact("start", (dt.date.fromisoformat(a["start"]) - start).days, (first - start).days)
    x = a["sizes"][0]
    rooms = [j.room for j in s.steps]
    plain = Bench(s, first)
    begin = plain.at(0.0)[0]
    # What would bring it forward is told for the day on which to start for the date that is due.
    latest = x["due"] and x["due"]["latest_start"]
    latest = latest and dt.date.fromisoformat(latest)
    advised = latest if latest and latest > first else first
    as_it_is, longer = Bench(s, advised), Bench(s, advised, more=1.0)
    unchanged = []
    got, helpers, variants = [], [], {k: [] for k in range(len(a["levers"]))}
    for k in range(count):
        trial = Trial(s, n, np.random.Generator(np.random.SFC64([11, k])))
        work, capacity = tasks(s, trial, rooms)
        got.append(run(work, capacity, plain, begin))
        helpers.append(sum(m for m, whose in zip(work.hands, work.helper) if whose and m is not None))
        unchanged.append(run(work, capacity, as_it_is, as_it_is.at(0.0)[0]).finish)
        for v, lever in enumerate(a["levers"]):
            changed = list(rooms)
            if lever["more"] in ("place", "twice_the_room"):
                changed[[j.name for j in s.steps].index(lever["step"])] = lever["room"]
            bench = longer if lever["more"] not in ("place", "twice_the_room", "second") else as_it_is
            work, capacity = tasks(s, trial, changed, lever["kept_in"] if lever["more"] == "second" else None)
            variants[v].append(run(work, capacity, bench, bench.at(0.0)[0]).finish)
    finish = np.array([g.finish for g in got])
    hands = np.array([g.hands for g in got])
    f.mean("clock days", x["clock_days"]["mean"], trials, (finish - begin) / DAY)
    f.mean("hands hours", x["hands_hours"]["mean"], trials, hands / 60)
    f.true("the helper is told", a.get("helper", False) == helped == ("helper_hours" in x), a.get("helper", False))
    if helped:
        f.mean("helper's hours", x["helper_hours"]["mean"], trials, np.array(helpers) / 60)
    opened = np.array([plain.open_until(t) - plain.open_until(begin) for t in finish])
    f.mean("bench hours", x["limits"]["bench_hours"]["mean"], trials, opened / 60)
    f.ratio("share of hands", x["limits"]["hands"]["mean"], trials, hands, opened)
    f.ratio("share of room", x["limits"]["room"]["mean"], trials, np.array([g.idle_room for g in got]), opened)
    f.ratio("share of waits", x["limits"]["wait"]["mean"], trials, np.array([g.idle_wait for g in got]), opened)
    dates = np.array([day_of(first, t).toordinal() for t in finish])
    for y in a["by_date"][:: max(len(a["by_date"]) // 4, 1)]:
        f.share(f"done by {y['date']}", y["done"]["share"], trials, dates <= dt.date.fromisoformat(y["date"]).toordinal())
    for q, key in ((0.5, "finish_median"), (s.confidence, "finish_kept")):
        f.quantile(key, q, float(dt.date.fromisoformat(x[key]["date"]).toordinal()), trials, dates.astype(float))
    if x["due"]:
        f.share("kept", x["due"]["kept"]["share"], trials, dates <= due.toordinal())
        if latest:
            bench = Bench(s, latest)
            kept = []
            for k in range(count):
                work, capacity = tasks(s, Trial(s, n, np.random.Generator(np.random.SFC64([11, k]))), rooms)
                kept.append(day_of(latest, run(work, capacity, bench, bench.at(0.0)[0]).finish) <= due)
            f.share("kept from the latest start", x["due"]["kept_then"]["share"], trials, np.array(kept))
    for v, lever in enumerate(a["levers"]):
        name = f"{lever['more']} {lever['step'] or lever['kept_in'] or ''}".strip()
        # A batch that is done a bench day earlier may be rare.
        earlier = (np.array(unchanged) - np.array(variants[v])) / DAY
        f.mean(f"{name}: days earlier", lever["days_earlier"]["mean"], trials, earlier, lever["days_earlier"]["se"])
