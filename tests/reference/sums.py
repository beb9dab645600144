"""Exact quantiles of batch totals, in rational arithmetic.

irwin_hall.csv: a symmetric triangular variable on (a, b) is a + (b-a)/2 (U1 + U2), so n of them are n a + (b-a)/2 IH(2n)
with IH the law of Irwin (1927) and Hall (1927). irwin_hall_cdf.csv: exact values of its distribution function.
asymmetric.csv: sums of skewed triangular variables (see common.sum_terms); the last rows use one draw for all pieces."""
from common import *
TENTHS = (F(1, 10), F(1, 2), F(9, 10))
def ih(n):
    return lambda x: sum((-1)**k * comb(n, k) * (F(x) - k)**n for k in range(n + 1) if k < x) / factorial(n)
rows = []
for n in (1, 2, 5, 12):
    q = [4 * n + 2 * bisect(ih(2 * n), p, 0, 2 * n) for p in TENTHS]
    rows.append([n] + [dec(x) for x in q] + [6 * n, dec(F(4 * n, 6))])
table("irwin_hall.csv", ["pieces_of_4_6_8_min", "p10", "p50", "p90", "mean", "variance"], rows)
rows = []
for n, x in [(1, F(1, 2)), (2, F(1)), (2, F(3, 2)), (5, F(4)), (5, F(11, 2)), (12, F(10)), (12, F(27, 2))]:
    rows.append([n, dec(4 * n + 2 * x), dec(ih(2 * n)(x), 14)])
table("irwin_hall_cdf.csv", ["pieces_of_4_6_8_min", "minutes", "share_at_or_under"], rows)
rows = []
for name, tris in [("three steps", [(2, 3, 7, 1), (1, 4, 5, 1), (10, 12, 20, 1)]),
                   ("5 pieces", [(4, 6, 14, 5)]), ("10 pieces", [(4, 6, 14, 10)]),
                   ("setup and 5 pieces", [(20, 30, 60, 1), (15, 20, 40, 5)])]:
    t = sum_terms(tris); lo = sum(a * c for a, m, b, c in tris); hi = sum(b * c for a, m, b, c in tris)
    mean = sum(F(a + m + b, 3) * c for a, m, b, c in tris)
    var = sum(F(a*a + m*m + b*b - a*m - a*b - m*b, 18) * c for a, m, b, c in tris)
    rows.append([name] + [dec(bisect(lambda x: cdf_exact(t, x), q, lo, hi)) for q in TENTHS] + [dec(mean, 10), dec(var, 10)])
one = sum_terms([(4, 6, 14, 1)])
rows.append(["10 pieces, one draw"] + [dec(10 * bisect(lambda x: cdf_exact(one, x), q, 4, 14), 10) for q in TENTHS] + ["80.0000000000", dec(F(1400, 3), 10)])
table("asymmetric.csv", ["case", "p10", "p50", "p90", "mean", "variance"], rows)
