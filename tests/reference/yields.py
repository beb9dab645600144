"""starts.csv: pieces started one after another until n are good, n + NegBin(n, y). good.csv: at least n good of m started.
wilson.csv: Wilson's 95 % interval. places.csv: order statistics around a quantile and their exact coverage. intervals.csv: the same for the median, in fractions."""
from fractions import Fraction as F
from math import comb
import scipy.stats as st, statsmodels.stats.proportion as sp
from common import table
rows = []
for n, y in [(1, .9), (2, .9), (5, .9), (10, .9), (10, .855), (12, .8), (20, .95)]:
    d = st.nbinom(n, y)
    rows.append([n, y, f"{n/y:.10f}", f"{n*(1-y)/y**2:.10f}"] + [int(n + d.ppf(q)) for q in (.5, .8, .9, .95)] + [f"{y**n:.12f}"])
table("starts.csv", ["good", "yield", "mean", "variance", "p50", "p80", "p90", "p95", "none_lost"], rows)
rows = []
for m, n, y in [(1, 1, F(9, 10)), (2, 2, F(9, 10)), (6, 5, F(9, 10)), (11, 10, F(9, 10)), (12, 10, F(9, 10)), (13, 10, F(9, 10)),
                (12, 12, F(8, 10)), (15, 12, F(8, 10)), (10, 8, F(855, 1000))]:
    p = sum(comb(m, k) * y**k * (1 - y)**(m - k) for k in range(n, m + 1))
    assert abs(float(p) - st.binom.sf(n - 1, m, float(y))) < 1e-13
    rows.append([m, n, float(y), f"{float(p):.14f}"])
table("good.csv", ["started", "at_least", "yield", "chance"], rows)
rows = []
for k, n in [(81, 263), (15, 148), (0, 20), (1, 29), (9, 10), (10, 10), (7, 50)]:
    lo, hi = sp.proportion_confint(k, n, .05, "wilson"); rows.append([k, n, f"{lo:.12f}", f"{hi:.12f}"])
table("wilson.csv", ["successes", "n", "low", "high"], rows)
rows = []
for n, q in [(100, .9), (1000, .1), (1000, .5), (1000, .9), (10000, .8), (10000, .9)]:
    l = int(st.binom.ppf(.025, n, q)); u = int(st.binom.ppf(.975, n, q)) + 1
    rows.append([n, q, l, u, f"{st.binom.cdf(u-1, n, q) - st.binom.cdf(l-1, n, q):.10f}"])
table("places.csv", ["n", "q", "low_from_1", "high_from_1", "coverage"], rows)
rows = []
for n in (5, 6, 9, 10, 12, 15, 20):
    below = lambda k: F(sum(comb(n, i) for i in range(k)), 2**n)  # P(fewer than k of n)
    l = max(max(k for k in range(n) if below(k) < F(1, 40)), 1); u = n + 1 - l
    rows.append([n, l, u, f"{float(below(u) - below(l)):.16f}"])
table("intervals.csv", ["n", "low_from_1", "high_from_1", "coverage"], rows)
