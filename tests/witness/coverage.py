"""How often each kind of printed interval holds what it should: 400 seeds against one long simulation.

    python coverage.py PROGRAM [--seeds 400] [--trials 1000] [--jobs 2]

Prints the table of tests/MEASURED.md. Every seed is a call of the program with few trials, in which intervals are hardest to get right; the
truth is one call with 200 times as many under a seed of its own, or several. An interval said to hold 95 % should hold it in 380 of 400 seeds; chance
alone leaves it between 362 and 394 but for one kind in a thousand (binomial).
"""

import argparse
import collections
import concurrent.futures
import datetime
import json
import pathlib
import subprocess

HERE = pathlib.Path(__file__).resolve().parents[2] / "scenarios"
Z = 1.959963984540054
LONG = 200


def scenario(name):
    return str(HERE / f"{name}.toml")


def about(mean):
    """An estimate with a standard error."""
    return mean["mean"], mean["mean"] - Z * mean["se"], mean["mean"] + Z * mean["se"]


def between(x, key):
    return x[key], x["low"], x["high"]


def sweep(a):
    for x in a["sizes"]:
        n, rate = x["size"], x["rate"]
        yield "long-run rate", n, about({"mean": rate["long_run"], "se": rate["long_run_se"]})
        yield "mean of hours or profit", n, about(x["hours"])
        yield "mean of hours or profit", f"{n} profit", about(x["profit"])
        yield "chance of reaching the target", n, between(x["reach"], "share")
        for f in x["floor"]:
            yield f"floor at {f['confidence']:.0%}", n, between(f, "price")
        for c in x["channels"]:
            yield "a channel's rate", f"{n} {c['name']}", about(c["rate"])


def floor(a):
    for x in a["sizes"]:
        yield "long-run floor", x["size"], between(x["long_run"], "price")
        yield "below the asked price", x["size"], between(x["off_price"], "share")
        if x["off_one"] and x["size"] > 1:
            yield "below the price of one", x["size"], between(x["off_one"], "share")


# What is not linear in its strength is looked for.
SEARCHED = ("spoil", "seconds", "redo", "lost", "comes_back", "days", "unsold", "all_at_once", "own")


def stress(a):
    yield "median rate", "", (a["as_planned"]["rate_median"], *a["as_planned"]["rate_median_interval"])
    yield "mean of the slowest tenth", "", about(a["slow_tenth"]["hours"])
    for m in a["misfortunes"]:
        name = f"{m['kind']} {m['name'] or ''}"
        linear = "searched" if m["kind"] in SEARCHED else "linear"
        for x in m["strengths"]:
            yield "what a misfortune takes off the rate", f"{name} {x['strength']}", about(x["rate_change"])
            if m["kind"] == "helper":
                yield "what a dearer helper takes off the rate", x["strength"], about(x["rate_change"])
        for key, what in (("target_lost", "until the target is lost"), ("nothing_earned", "until nothing is earned")):
            if m[key]["at"] is not None and m[key]["low"] is not None and m[key]["high"] is not None:
                yield f"strength {what}, {linear}", name, between(m[key], "at")
                if m["kind"] == "helper":
                    yield f"dearer helper {what}", "", between(m[key], "at")


def unsold(a):
    """Of a large batch the interval is many pieces wide; other searched kinds would hide it."""
    for m in a["misfortunes"]:
        if m["kind"] == "unsold":
            for key, what in (("target_lost", "until the target is lost"), ("nothing_earned", "until nothing is earned")):
                if m[key]["at"] is not None:
                    yield f"pieces unsold of a large batch {what}", "", between(m[key], "at")


def drivers(a):
    for i in a["inputs"]:
        if i["shares"]:
            yield "driver's share alone", i["name"], between(i["shares"]["first"], "share")
            yield "driver's share in all", i["name"], between(i["shares"]["total"], "share")
        if i["swing"]:
            yield "swing of a range", i["name"], about(i["swing"]["high"]["change"])
    for x in a["levers"]:
        if x["tenth"]:
            yield "what 10 % less is worth", x["name"], about(x["tenth"])
        if x["kind"] == "wage":
            yield "what 10 % less of the wage is worth", "", about(x["tenth"])
            yield "what a unit less of the wage is worth", "", about(x["gain"])
    for w in a["ways"]:
        yield "what another split is worth", f"{w['from']} {w['to']}", about(w["gain"])


def jig(a):
    for x in a["sets"]:
        name = " ".join(map(str, x["jigs"]))
        yield "what a jig adds to the hour", name, (x["adds_to_hour"]["mean"], x["low"], x["high"])
        yield "what a jig saves a batch", name, about(x["saving"])
        yield "how far a jig is ahead after the plan", name, about(x["ahead_after_plan"])
        if x["payback"]["mean_runs"]:
            yield "mean batches until a jig has paid", name, about(x["payback"]["mean_runs"])
        yield "chance that a jig pays as planned", name, between(x["payback"]["within_plan"], "share")


def season(a):
    for x in a["sizes"]:
        yield "surplus of a season or a year", x["size"], about(x["surplus"])
        yield "surplus against the best size", x["size"], about(x["against_best"])
        yield "chance of selling out", x["size"], between(x["sold_out"], "share")


def steady(a):
    for x in a["sizes"]:
        yield "surplus of a season or a year", x["size"], about(x["surplus_a_year"])


def compare(a):
    for p in a["pairs"]:
        yield "difference of two pieces' rates", "", (p["difference"]["mean"], p["low"], p["high"])
        yield "chance that one beats the other", "", between(p["first_wins"], "share")
    for k, e in enumerate(a["entries"]):
        yield "money a week", k, about(e["week"]["money"])


def calendar(a):
    day = lambda text: datetime.date.fromisoformat(text).toordinal()
    for x in a["sizes"]:
        for key in ("finish_median", "finish_kept"):
            yield "date", f"{x['size']} {key}", (day(x[key]["date"]), day(x[key]["low"]), day(x[key]["high"]))
        yield "share of hands, room, waits", x["size"], about(x["limits"]["hands"])
    for x in a["by_date"]:
        yield "done by a date", x["date"], between(x["done"], "share")
    for x in a["levers"]:
        yield "days earlier with more room or hours", f"{x['more']} {x['step']}", about(x["days_earlier"])


def over(a):
    for x in a["points"]:
        yield "floor over a value", x["at"][0], between(x["floor"], "price")
    for k, x in enumerate(a["crossings"]):
        ends = (-float("inf") if x["low"] is None else x["low"], float("inf") if x["high"] is None else x["high"])
        yield "where the target begins to be reached", k, (x["value"], *ends)


RAIL, MUGS, TOPS, TOWELS, CANDLES = (
    scenario(x) for x in ("oak-peg-rail", "stoneware-mugs", "spinning-tops", "printed-tea-towels", "poured-candles")
)
CALLS = {
    "sweep": (sweep, ["sweep", RAIL, "--set", "batch.sizes=[1, 9]"]),
    "channels": (sweep, ["sweep", TOWELS, "--set", "batch.sizes=[24]"]),
    "floor": (floor, ["floor", RAIL, "--sizes", "1,9"]),
    "order": (floor, ["floor", RAIL, "--order", "1,6"]),
    "stress": (stress, ["stress", RAIL, "--size", "9"]),
    "stress of mugs": (stress, ["stress", MUGS, "--size", "24"]),
    "stress of candles": (stress, ["stress", CANDLES, "--size", "24"]),
    "400 pieces unsold": (unsold, ["stress", RAIL, "--size", "400"]),
    "2,000 pieces unsold": (unsold, ["stress", RAIL, "--size", "2000"]),
    "drivers of candles": (drivers, ["drivers", CANDLES, "--size", "24"]),
    "drivers": (drivers, ["drivers", RAIL, "--size", "9"]),
    "drivers of towels": (drivers, ["drivers", TOWELS, "--size", "24"]),
    "jig": (jig, ["jig", RAIL, "--size", "9"]),
    "season": (season, ["season", TOPS, "--set", "batch.sizes=[10, 20, 25, 32]", "--set", "season.elasticity=0"]),
    "steady": (steady, ["steady", scenario("plant-labels"), "--set", "batch.sizes=[20, 60]"]),
    "compare": (compare, ["compare", RAIL, scenario("oak-coat-stand"), "--sizes", "9,1"]),
    "calendar": (calendar, ["calendar", RAIL, "--size", "9", "--start", "2027-01-11"]),
    "over": (over, ["sweep", RAIL, "--size", "6", "--over", "sale.price=50..80 step 10"]),
    "over a time": (over, ["sweep", RAIL, "--size", "6", "--price", "72", "--over", "step.drill.each=2..26 min step 4"]),
}
# Figures printed without an interval: how often a seed gives the long simulation's.
POINTS = {
    "first size that pays": (["sweep", RAIL], lambda a: a["first_paying_size"]),
    "level size": (["sweep", RAIL], lambda a: a["level_size"]),
    "best size of a season": (["season", TOPS, "--set", "season.elasticity=0"], lambda a: a["best_by_surplus"]),
    "best size of a steady sale": (["steady", scenario("plant-labels")], lambda a: a["best"]),
    "first lever": (["drivers", RAIL, "--size", "9"], lambda a: a["steps"][0]["name"]),
    "what limits": (["calendar", RAIL, "--size", "9", "--start", "2027-01-11"], lambda a: a["sizes"][0]["limits"]["by"]),
}


def ask(job):
    program, arguments, seed, trials = job
    call = [program, *arguments, "--seed", str(seed), "--trials", str(trials), "--format", "json", "--threads", "1"]
    return json.loads(subprocess.run(call, capture_output=True, text=True, check=True).stdout)


def held_by(job):
    """Of one seed, which intervals hold the truth: {(kind, which): held}."""
    program, name, seed, trials, truth = job
    read, arguments = CALLS[name]
    answers = read(ask((program, arguments, seed, trials)))
    found = {}
    for kind, which, (_, low, high) in answers:
        true = truth.get((kind, str(which)))
        if true is not None:
            low, high = (float("inf") if x is None else x for x in (low, high))
            slack = 1e-9 * max(abs(true), 1)
            found[kind, str(which)] = low - slack <= true <= high + slack
    return found


def truth_of(program, name, trials, pool):
    """What a long simulation says. Sequences of batches are as many whatever the trials, so that for jigs many calls are put together."""
    read, call = CALLS[name]
    if name == "jig":
        jobs = [(program, call, 10**6 + k, trials * 20) for k in range(40)]
    else:
        jobs = [(program, call, 10**6, trials * (20 if name == "calendar" else LONG))]
    found = collections.defaultdict(list)
    for answer in pool.map(ask, jobs):
        for kind, which, (value, _, _) in read(answer):
            found[kind, str(which)].append(value)
    full = {of: values for of, values in found.items() if len(values) == len(jobs) and None not in values}
    return {of: sum(values) / len(values) for of, values in full.items()}


def point_of(job):
    program, name, seed, trials = job
    arguments, read = POINTS[name]
    return read(ask((program, arguments, seed, trials)))


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("program")
    parser.add_argument("--seeds", type=int, default=400)
    parser.add_argument("--trials", type=int, default=1000)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--only", action="append", help="names of calls, as in CALLS; may be repeated")
    arguments = parser.parse_args()
    program, trials = str(pathlib.Path(arguments.program).resolve()), arguments.trials
    kinds = collections.defaultdict(lambda: collections.defaultdict(lambda: [0, 0]))
    with concurrent.futures.ProcessPoolExecutor(arguments.jobs) as pool:
        for name in CALLS:
            if arguments.only and name not in arguments.only:
                continue
            truth = truth_of(program, name, trials, pool)
            jobs = [(program, name, seed, trials, truth) for seed in range(1, arguments.seeds + 1)]
            for found in pool.map(held_by, jobs, chunksize=8):
                for (kind, which), held in found.items():
                    counts = kinds[kind][f"{name} {which}"]
                    counts[0] += held
                    counts[1] += 1
        print(f"{'kind of interval':45} {'intervals':>9} {'held':>7} {'worst':>7}  which")
        for kind, which in kinds.items():
            full = {k: c for k, c in which.items() if c[1] >= arguments.seeds / 2}
            if not full:
                continue
            share = sum(c[0] for c in full.values()) / sum(c[1] for c in full.values())
            name, worst = min(full.items(), key=lambda x: x[1][0] / x[1][1])
            print(f"{kind:45} {len(full):9} {share:7.1%} {worst[0] / worst[1]:7.1%}  {name}")
        if arguments.only:
            return
        print(f"\n{'figure without an interval':45} {'the same in':>12}")
        for name in POINTS:
            true = point_of((program, name, 10**6, 100_000))
            jobs = [(program, name, seed, None or 4000) for seed in range(1, min(arguments.seeds, 60) + 1)]
            same = [p == true for p in pool.map(point_of, jobs)]
            print(f"{name:45} {sum(same) / len(same):12.0%}  ({true}, 4,000 trials, {len(same)} seeds)")


if __name__ == "__main__":
    main()
