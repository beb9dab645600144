"""Scenarios out of a generator with a fixed seed: every key of the file, in combinations that nobody would think of."""

import numpy as np


def scenario(k, root=20260):
    """As long as there are keys: numbers are drawn in this order, so that a new key leaves the others as they were."""
    g = np.random.default_rng([root, k])
    last = np.random.default_rng([root, k, 2])  # keys that came after those
    newest = np.random.default_rng([root, k, 3])  # and after those
    youngest = np.random.default_rng([root, k, 4])  # and after those
    youngster = np.random.default_rng([root, k, 5])  # and after those
    later = np.random.default_rng([root, k, 1])  # keys that came later, so that the earlier ones stay as they were
    flip = lambda p=0.5: g.random() < p
    also = lambda p: later.random() < p
    pick = lambda *of: of[int(g.integers(len(of)))]

    def span(middle, unit="", g=g):
        """A range about a middle, in one of the ways to write it."""
        low, high = middle * g.uniform(0.6, 0.95), middle * g.uniform(1.05, 1.9)
        r = lambda x: f"{x:.4g}"
        how = g.integers(8)
        tail = f" {unit}".rstrip()
        if how == 0:
            return f'"{r(middle)}{tail}"' if unit else r(middle)
        if how == 1:
            return f'"{r(low)} / {r(high)}{tail}"'
        if how in (2, 3):
            return f'"{r(low)} / {r(middle)} / {r(high)}{tail}"'
        named = f', unit = "{unit}"' if unit else ""
        if how == 4:
            return f'{{ low = {r(low)}, likely = {r(middle)}, high = {r(high)}{named}, shape = "pert" }}'
        if how == 5:
            return f'{{ low = {r(low)}, high = {r(high)}{named}, ends = "tenths", shape = "lognormal" }}'
        if how == 6:
            likely = low + (high - low) * g.uniform(0.3, 0.6)
            return f'{{ low = {r(middle)}, likely = {r(middle * 1.15)}, high = {r(middle * 1.5)}{named}, ends = "tenths" }}' if likely else ""
        values = ", ".join(r(middle * g.uniform(0.7, 1.5)) for _ in range(int(g.integers(5, 9))))
        return f'{{ shape = "logged", values = [{values}]{named} }}'

    share = lambda low, high, g=g: f'"{g.uniform(low, high):.3g} %"'

    def asked():
        """Quotes or enquiries, or both, with or without their chances."""
        kinds = [("quote", "quote_won", 15), ("enquiry", "enquiry_bought", 5)]
        for time, won, middle in kinds[int(later.integers(2)) :] if also(0.7) else kinds[:1]:
            yield f"{time} = {span(later.uniform(0.5, 2) * middle, 'min', later)}"
            if also(0.85):
                yield f"{won} = {share(15, 95, later)}"

    out = [f'title = "random {k}"', 'currency = "EUR"', f"target = {g.uniform(15, 45):.3g}", f"confidence = {share(55, 92)}", "[batch]"]
    top = int(g.integers(6, 30))
    out.append(f'sizes = "{int(g.integers(1, 4))}..{top}"')
    spoiled = pick("short", "remake")
    out.append(f'spoiled = "{spoiled}"')
    seconds = helper = False
    steadily = True  # whether it may sell so many a week
    if flip():
        out.append(f"runs = {int(g.integers(1, 9))}")
    if flip(0.8):
        out += ["[pace]", f"factor = {span(1.0)}"]
    steps = int(g.integers(2, 6))
    kept = flip(0.3)
    for j in range(steps):
        out += ["[[step]]", f'name = "work {j}"']
        if flip(0.2):
            out.append(f"once = {span(g.uniform(60, 300), 'min')}")
        if j > 0 and last.random() < 0.12:
            out.append('done_by = "helper"')
            helper = True
        if last.random() < 0.15:
            out.append(f"others = {share(10, 70, last)}")
        if flip(0.75):
            out.append(f"setup = {span(g.uniform(3, 40), 'min')}")
        out.append(f"each = {span(g.uniform(2, 25), 'min')}")
        if flip(0.35):
            out.append(f"room = {int(g.integers(1, 9))}")
            if kept:
                out.append('kept_in = "kiln"')
        if flip(0.4):
            out.append(f"wait = {span(g.uniform(1, 30), 'h')}")
        if flip(0.25):
            out.append('varies = "batch"')
            if youngster.random() < 0.4:
                out.append(f"opposite = {share(20, 100, youngster)}")
        if flip(0.35):
            before = int(g.integers(0, 20))
            out += [f"learning = {share(82, 99)}", f"made_before = {before}"]
            if flip():
                out.append(f"learned_by = {before + int(g.integers(2, 60))}")
        if flip(0.3):
            out.append(f"redo = {share(1, 15)}")
        if flip(0.3):
            out.append(f"spoil = {share(1, 12)}")
        if spoiled == "short" and also(0.25):
            seconds = True
            out.append(f"second = {share(1, 20, later)}")
    if flip(0.9):
        out += ["[[step]]", 'name = "pack"', f"per_order = {span(g.uniform(4, 20), 'min')}"]
    dollars = flip(0.3)
    for j in range(int(g.integers(1, 4))):
        out += ["[[material]]", f'name = "stuff {j}"', f"per_piece = {g.uniform(0.2, 3):.3g}"]
        if flip(0.2):
            out.append(f"per_batch = {g.uniform(0.2, 2):.3g}")
        if flip(0.2):
            out.append(f"per_round = {g.uniform(0.2, 2):.3g}")
        if flip(0.2):
            out.append(f"per_order = {g.uniform(0.2, 1):.3g}")
        out.append('unit = "unit"')
        price = g.uniform(0.5, 6)
        written = span(price)
        if dollars and flip(0.4) and "{" not in written:
            written = f'"{written.strip(chr(34))} USD"'
        elif flip(0.3) and "USD" not in written:
            out.append(f"breaks = [{{ from = {g.uniform(5, 20):.3g}, price = {price * 0.55:.3g} }}]")
        out.append(f"price = {written}")
        if flip(0.5):
            out.append(f"waste = {span(g.uniform(5, 40), '%')}")
        if flip(0.35):
            out += [f"pack = {g.uniform(0.5, 9):.2g}", f'leftover = "{pick("keep", "lost")}"']
        if flip(0.2):
            out.append(f"paid = {g.uniform(0.1, 4):.3g}")
        out.append(f'at = "work {int(g.integers(steps))}"')
    price = g.uniform(25, 90)
    out += ["[sale]", f"price = {price:.4g}", f"fee = {share(0, 12)}"]
    if flip(0.4):
        out.append(f"tax = {share(5, 22)}")
    if flip(0.5):
        out.append(f"fee_per_order = {g.uniform(0.1, 1):.3g}")
    if flip(0.6):
        out += [f"post = {span(g.uniform(2, 9))}", f"post_charged = {g.uniform(0, 8):.3g}"]
    if flip(0.5):
        out.append(f"returned = {share(0.5, 8)}")
        if also(0.4):
            out.append(f"as_new = {share(20, 100, later)}")
    out.append(f"order_of = {pick('1', '3', chr(34) + '1 / 1 / 4' + chr(34), chr(34) + '1 / 5' + chr(34))}")
    if also(0.3):
        out.append(f"tip = {span(later.uniform(0.3, 3), g=later)}")
    asks = also(0.4)
    if asks:
        out += asked()

    def sets():
        """Sold in sets, with or without a price for what makes none."""
        if last.random() < 0.25:
            yield f"set_of = {int(last.integers(2, 5))}"
            if last.random() < 0.6:
                yield f"single_price = {price * last.uniform(0.5, 1.1):.4g}"

    out += sets()
    channels = flip(0.35)
    if channels:
        first = int(g.integers(30, 70))
        out += ["[[channel]]", 'name = "own"', f'share = "{first} %"', "[[channel]]", 'name = "shop"', f'share = "{100 - first} %"',
                f"discount = {share(10, 45)}", f"order_of = {int(g.integers(2, 8))}", f"fee = {share(0, 3)}"]
        if flip():
            out.append(f"per_order = {span(g.uniform(10, 30), 'min')}")
        if also(0.5):
            out += asked()
        on_return = also(0.4)
        steadily = not on_return
        if on_return:
            low = later.uniform(3, 40)
            out.append(f'unsold = "{low:.3g} / {low * later.uniform(1.1, 2):.3g} %"')
            if also(0.6):
                out += [f"worn = {share(5, 60, later)}", f"worn_price = {later.uniform(1, 15):.3g}"]
            if also(0.5):
                out += [f"weeks = {int(later.integers(2, 40))}", f"hold = {share(5, 60, later)}"]
        else:
            out += sets()
        if also(0.6):
            out += ["[[material]]", 'name = "carton"', f"per_order = {later.uniform(0.5, 2):.3g}", f"price = {span(later.uniform(0.5, 3), g=later)}",
                    f'channel = "{("own", "shop")[int(later.integers(2))]}"']
            if also(0.4):
                out += [f"pack = {later.uniform(1, 5):.2g}", f'leftover = "{("keep", "lost")[int(later.integers(2))]}"']
    if seconds and also(0.8):
        out += ["[seconds]", f"price = {price * later.uniform(0.3, 0.7):.4g}"]
        for written in (f"per_order = {span(later.uniform(2, 9), 'min', later)}", f"fee = {share(0, 12, later)}", f"tax = {share(0, 20, later)}",
                        f"order_of = {int(later.integers(1, 4))}", f"post = {span(later.uniform(1, 4), g=later)}",
                        f"returned = {share(0, 5, later)}", f"fee_per_order = {later.uniform(0.1, 1):.3g}"):
            if also(0.35):
                out.append(written)
    if dollars:
        out += ["[currencies]", f"USD = {span(0.85)}"]
    out += ["[shop]", f"per_hour = {g.uniform(0, 4):.3g}"]
    if flip(0.4):
        out += [f"per_month = {g.uniform(50, 250):.3g}", f"hours_per_month = {g.uniform(30, 90):.3g}"]
    if helper:
        out += ["[helper]", f"wage = {last.uniform(8, 30):.3g}"]
    kind = pick("none", "none", "season", "steady")
    if kind == "season":
        out += ["[season]", f"buyers = {span(g.uniform(5, top))}"]
        if flip(0.6):
            out.append(f"clearance = {price * g.uniform(0, 0.5):.3g}")
        else:
            out += ['leftover = "carry"', f"hold = {share(5, 40)}", f"weeks = {int(g.integers(8, 52))}"]
        if flip():
            out.append(f"elasticity = {g.uniform(0.5, 3):.2g}")
            if youngest.random() < 0.5:
                out.append(f"buyers_at = {price * youngest.uniform(0.7, 1.4):.4g}")
    if kind == "steady":
        steady = ["[steady]", f"per_week = {g.uniform(0.3, 4):.2g}", f"hold = {share(5, 40)}"]
        out += steady if steadily else []
    if not (kind == "steady" and steadily) and newest.random() < 0.3:
        for j in range(int(newest.integers(1, 3))):
            out += ["[[selling_day]]", f'name = "fair {j}"', f"sells = {span(newest.uniform(0.1, 0.6) * top, g=newest)}"]
            for written in (f"there = {span(newest.uniform(3, 9), 'h', newest)}", f"travel = {span(newest.uniform(20, 120), 'min', newest)}",
                            f"cost = {span(newest.uniform(10, 80), g=newest)}", f"price = {price * newest.uniform(0.7, 1.3):.4g}",
                            f"tax = {share(0, 20, newest)}", f"fee = {share(0, 6, newest)}"):
                if newest.random() < 0.6:
                    out.append(written)
    if flip(0.6):
        out += ["[hours]", f"mon = {g.uniform(0.5, 4):.2g}", f"thu = {g.uniform(1, 5):.2g}", f"sat = {g.uniform(2, 8):.2g}"]
        if flip(0.3):
            out.append('off = ["2027-01-20..2027-01-27"]')
    if flip(0.6):
        out += ["[[jig]]", 'name = "stop"', f'step = "work {int(g.integers(steps))}"', f"build = {span(g.uniform(20, 120), 'min')}",
                f"cost = {g.uniform(2, 60):.3g}", f'each = "x {g.uniform(0.5, 0.9):.2g}"']
        if flip(0.7):
            out.append(f"lasts = {int(g.integers(50, 900))}")
    return "\n".join(out) + "\n"
