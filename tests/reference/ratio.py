"""E[profit]/E[hours] against the mean of ratios, and the delta method's error, from small exact distributions
(renewal-reward theorem and ratio estimator: textbook results, from memory)."""
from fractions import Fraction as F
from math import sqrt
from common import table
cases = {"A": [(60, 2, F(1, 2)), (40, 8, F(1, 2))], "B": [(90, 3, F(6, 10)), (50, 5, F(3, 10)), (-20, 4, F(1, 10))],
         "C": [(80, 4, F(1, 2)), (40, 4, F(1, 2))]}
rows = []
for name, out in cases.items():
    ep = sum(w * p for p, h, w in out); eh = sum(w * h for p, h, w in out); r = ep / eh
    rows.append([name, f"{float(r):.10f}", f"{float(sum(w * F(p) / h for p, h, w in out)):.10f}",
                 f"{sqrt(sum(w * (p - r * h)**2 for p, h, w in out)) / eh:.10f}"])
P = [52, 61, -8, 47, 70, 33, 58, 64, 12, 41]; H = [3, 3.5, 4, 3, 4.5, 2.5, 3.5, 4, 5, 3]; n = 10
r = sum(P) / sum(H); se = sqrt(sum((p - r * h)**2 for p, h in zip(P, H)) / (n - 1) / n) / (sum(H) / n)
rows.append(["sample of 10 (error itself)", f"{r:.10f}", f"{sum(p / h for p, h in zip(P, H)) / n:.10f}", f"{se:.10f}"])
table("ratio.csv", ["case", "long_run", "mean_of_ratios", "delta_error_of_one"], rows)
