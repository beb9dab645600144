"""Survival laws on a library's own open data sets, for src/sales/survival.rs.

leukemia.csv, waltons.csv: the data as the library lifelines ships them (leukemia: Freireich et al. 1963; Walton's fruit flies).
survival.csv: log-likelihood, coefficients of log hazard, and k. Weibull's law by lifelines (WeibullAFTFitter: log time = mu + sigma error, so
that k = 1 / sigma and each coefficient of log hazard is -k times that of log time); the exponential law as Poisson regression with the logarithm of time
as offset (statsmodels; the likelihoods differ by the sum of log time over the events). Profile likelihoods of lifelines' law, the largest by scipy, give the ends
of 95 % intervals with the bound that survival.rs states. counts: negative binomial regression of statsmodels on counts typed here."""
import warnings; warnings.filterwarnings("ignore")
from common import *
import numpy as np
import statsmodels.api as sm
from lifelines import WeibullAFTFitter
from lifelines.datasets import load_leukemia, load_waltons
from scipy.optimize import brentq, minimize
from scipy.stats import t as student

sets = {}
d = load_leukemia(); sets["leukemia"] = (d["t"].to_numpy(float), d["status"].to_numpy(float), {"rx": d["Rx"].to_numpy(float), "log_wbc": d["logWBC"].to_numpy(float)})
d = load_waltons(); sets["waltons"] = (d["T"].to_numpy(float), d["E"].to_numpy(float), {"mir137": (d["group"] == "miR-137").to_numpy(float)})
rows = []
put = lambda *row: rows.append(list(row[:-1]) + [f"{row[-1]:.5f}"])
for name, (t, e, x) in sets.items():
    table(f"{name}.csv", ["days", "event"] + list(x), [[f"{t[i]:g}", f"{e[i]:g}"] + [f"{v[i]:g}" for v in x.values()] for i in range(len(t))])
    import pandas as pd
    frame = pd.DataFrame({"t": t, "e": e, **x})
    aft = WeibullAFTFitter().fit(frame, "t", "e")
    k = np.exp(aft.params_[("rho_", "Intercept")])
    put(name, "ageing", "log_likelihood", aft.log_likelihood_)
    put(name, "ageing", "k", k)
    for column in x:
        put(name, "ageing", column, -k * aft.params_[("lambda_", column)])
    design = np.column_stack([np.ones(len(t))] + list(x.values()))
    poisson = sm.GLM(e, design, family=sm.families.Poisson(), offset=np.log(t)).fit(tol=1e-12)
    put(name, "even", "log_likelihood", poisson.llf - (e * np.log(t)).sum())
    for i, column in enumerate(x):
        put(name, "even", column, poisson.params[i + 1])
    # log-likelihood of Weibull's law, concave in coefficients and log k
    def loss(theta, held=None):
        b, k = (theta[:-1], np.exp(theta[-1])) if held is None else (np.insert(theta[:-1], 1, held), np.exp(theta[-1]))
        z = design @ b + k * np.log(t / t.mean())
        return -(e * (z + np.log(k) - np.log(t)) - np.exp(z)).sum()
    start = np.zeros(design.shape[1] + 1); options = dict(method="BFGS", options=dict(gtol=1e-9))
    best = minimize(loss, start, **options)
    assert abs(-best.fun - aft.log_likelihood_) < 1e-4
    n, freedom = e.sum(), e.sum() - design.shape[1]
    allowed = n / 2 * np.log1p(student.ppf(0.975, freedom) ** 2 / freedom)
    profile = lambda value: minimize(loss, np.delete(best.x, 1), args=(value,), **options).fun - best.fun - allowed
    put(name, "ageing", "low_" + list(x)[0], brentq(profile, best.x[1] - 4, best.x[1]))
    put(name, "ageing", "high_" + list(x)[0], brentq(profile, best.x[1], best.x[1] + 4))
counts = np.array([0, 3, 7, 2, 12, 5, 1, 9, 4, 0, 6, 2]); dear = np.array([0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 1.0])
design = np.column_stack([np.ones(12), dear])
nb = sm.NegativeBinomial(counts, design).fit(disp=0, gtol=1e-9, maxiter=500)
put("counts", "uneven", "log_likelihood", nb.llf); put("counts", "uneven", "dear", nb.params[1]); put("counts", "uneven", "v", nb.params[2])
table("survival.csv", ["set", "law", "figure", "value"], rows)
