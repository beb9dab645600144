"""Logged values, each equally likely: mean, population variance, quantiles (numpy's "inverted_cdf", type 1 of Hyndman & Fan) and shares;
SciPy's discrete law of the same values must agree."""
import numpy as np
from scipy import stats
from common import table
DATA = ([11, 12.5, 14, 12, 19], [2.1, 3.4, 3.9, 4.4, 5.0, 5.2, 6.8, 7.7, 9.0, 12.5], [4, 3, 9, 4, 3, 5, 4],
        [7.5, 6, 6.25, 8, 7, 6.5, 6.5, 9, 14, 6, 7.25, 8.5, 6.75, 7, 11, 6.5, 7.5, 8, 6.25, 30, 7],
        [round(8 + 3 * float(x), 2) for x in stats.gamma.ppf((np.arange(60) + 0.5) / 60, 2)])
show = lambda d: " ".join(map(str, d))
moments, quantiles = [], []
for d in DATA:
    x, n = np.unique(np.array(d, dtype=float), return_counts=True)
    law = stats.rv_discrete(values=(x, n / len(d)))
    mean, variance = np.mean(d), np.var(d)
    assert abs(law.mean() - mean) < 1e-12 * mean and abs(law.var() - variance) < 1e-11 * variance
    moments.append([show(d), f"{mean:.12f}", f"{variance:.12f}"])
    for q in (0, .05, .1, .2, .25, .3, .5, .6, .7, .75, .8, .9, .95, 1):
        at = np.quantile(d, q, method="inverted_cdf")
        share = np.mean(np.array(d) <= at)
        assert abs(law.cdf(at) - share) < 1e-12 and share >= q
        quantiles.append([show(d), q, at, f"{share:.12f}"])
table("logged_moments.csv", ["data", "mean", "variance"], moments)
table("logged_quantiles.csv", ["data", "q", "type_1", "share_at_or_under"], quantiles)
