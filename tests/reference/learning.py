"""Crawford's unit model: unit n takes n^b of the first, b = log2(rate); totals are sums of units."""
import math
from common import table
C = lambda n, r: math.fsum(k ** math.log2(r) for k in range(1, n + 1))
rows = [[int(r * 100), n, f"{n ** math.log2(r):.8f}", f"{C(n, r):.8f}"]
        for r in (.8, .85, .9) for n in (1, 2, 3, 4, 5, 10, 20, 50, 100)]
table("learning.csv", ["rate_percent", "n", "unit", "total"], rows)
table("learning_minutes.csv", ["case", "minutes"], [
    ["85 %, first unit 30 min, units 11-20", f"{30 * (C(20, .85) - C(10, .85)):.9f}"],
    ["90 %, first unit 12 min, units 1-10", f"{12 * C(10, .9):.9f}"]])
