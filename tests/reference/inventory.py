"""Lot sizes and one-season orders worked out by their textbook formulas.

Lots: Q* = sqrt(2 D S / h), cost sqrt(2 D S h) a year (Harris 1913); made singly at a rate above demand, h is multiplied by the share
of the made that goes into stock, and stock is at most Q* times that share (any text on the economic production quantity).
Seasons: the least Q with P(demand <= Q) >= (price - cost) / (price - clearance); expected sales by the partial expectation of the
law, in exact fractions where demand takes few values. Sources of the inputs stand in tests/all/steady.rs and tests/all/season.rs."""
from fractions import Fraction as F
from math import exp, log, sqrt
import scipy.stats as st
from common import dec, table

LOTS = [("Harris", 12000, 2, .01, 0), ("EOQ-1", 8000, 12000, .3, 0), ("EOQ-2", 1000, 500, 35, 0),
        ("EPQ-1", 9360, 45, .12, 35 / 100), ("EPQ-2", 4160, 65, 14, 12 / 100), ("EPQ-3", 62400, 48, 22, 290 / 310)]

def lot(name, demand, setup, hold, share):
    into_stock = 1 - share
    batch = sqrt(2 * demand * setup / (hold * into_stock))
    return name, demand, setup, repr(hold), repr(share), f"{batch:.6f}", f"{batch * into_stock:.6f}", \
        f"{sqrt(2 * demand * setup * hold * into_stock):.6f}"

def whole(size, demand=1000, setup=500, hold=35):
    return "EOQ-2", size, f"{demand * setup / size + hold * size / 2:.6f}"

table("lots.csv", ["case", "yearly", "setup", "hold", "share_sold_while_made", "batch", "most_stock", "yearly_cost"],
      [lot(*case) for case in LOTS])
table("whole_lots.csv", ["case", "size", "yearly_cost"], [whole(size) for size in (168, 169, 170)])

def discrete(name, counts, price, cost, clearance, sizes):
    weight = sum(counts.values())
    fractile = F(price - cost) / F(price - clearance)
    best = min(d for d in counts if F(sum(w for x, w in counts.items() if x <= d), weight) >= fractile)
    for size in sizes:
        sold = F(sum(w * min(size, d) for d, w in counts.items()), weight)
        yield name, price, cost, clearance, dec(fractile), best, size, dec(sold), \
            dec(price * sold + clearance * (size - sold) - cost * size, 6)

SEASONS = [("D1", {10: 1, 12: 1, 14: 2, 16: 1, 20: 1}, 13, 6, F(5, 2), (12, 14, 15, 16, 20)),
           ("D2", {15: 4, 16: 2, 17: 3, 18: 1}, F(5, 2), F(3, 2), F(1, 2), (15, 16, 17, 18)),
           ("D3", {0: 1, 1: 3, 2: 4, 3: 4, 4: 3, 6: 3, 8: 2}, 34, 15, 5, (2, 3, 4, 6, 8))]

table("seasons.csv", ["case", "price", "cost", "clearance", "fractile", "best", "size", "sold", "left"],
      [[float(v) if isinstance(v, F) else v for v in row] for case in SEASONS for row in discrete(*case)])

def normal(mean, sd):
    return st.norm(mean, sd), lambda q: mean - sd * (st.norm.pdf((q - mean) / sd) - (q - mean) / sd * st.norm.sf((q - mean) / sd))

def uniform(low, high):
    return st.uniform(low, high - low), lambda q: (low + high) / 2 - (high - q)**2 / (2 * (high - low))

def lognormal(mu, sigma):
    mean = exp(mu + sigma**2 / 2)
    return st.lognorm(s=sigma, scale=exp(mu)), \
        lambda q: mean * st.norm.cdf((log(q) - mu - sigma**2) / sigma) + q * st.norm.sf((log(q) - mu) / sigma)

LAWS = [("U1", uniform(200, 800), 10, 8, 5, None), ("U1", uniform(200, 800), 10, 8, 5, 710), ("U2", uniform(90, 170), 24, 15, 6, None),
        ("N1", normal(180, 50), 450, 110, 70, None), ("N2", normal(900, 160), 130, 95, 80, None),
        ("N3", normal(125, 18), 22, 15, 6, None), ("L1", lognormal(log(20), .5), 40, 15, 5, None),
        ("L2", lognormal(log(1200) / 2, log(3) / (2 * st.norm.ppf(.9))), 28, 12, 4, None)]

def law(name, demand, price, cost, clearance, size):
    distribution, sales = demand
    size = distribution.ppf((price - cost) / (price - clearance)) if size is None else size
    sold = sales(size)
    return name, price, cost, clearance, f"{size:.8f}", f"{sold:.8f}", \
        f"{price * sold + clearance * (size - sold) - cost * size:.6f}"

table("season_laws.csv", ["case", "price", "cost", "clearance", "size", "sold", "left"], [law(*case) for case in LAWS])
