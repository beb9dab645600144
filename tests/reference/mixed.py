"""Work logs whose jobs differ in pace, fitted by the mixed models of statsmodels (restricted likelihood).

The model of the program: minutes y of an entry with r setups and d pieces of a job have mean m = S r + t d and variance h^2 m^2 + a^2 S^2 r + e^2 t^2 d,
and entries of one job the covariance h^2 m m'. With the means in the variance given, rows over sqrt(d) make it a linear mixed model with a
residual of one size: random by job with the regressor m / sqrt(d), random by entry with sqrt(r / d). The means are those of the round before, until
they settle. Two families: pieces alone in several entries a job (h, e), and whole entries with setups timed alone beside them (h, a, e together,
a and e in one: setups and pieces vary in one proportion here, so that the residual is one of known weights r S^2 + d t^2).
"""

import sys
import warnings

import numpy as np
import statsmodels.api as sm

warnings.filterwarnings("ignore")


def reml(y, x, z, group):
    found = sm.MixedLM(y, x, groups=group, exog_re=z).fit(reml=True, method=["powell", "lbfgs"], maxiter=2000)
    # Once more from there: the first may stop early.
    return found


def drawn(draws, mean, sd):
    """A time that is never below nothing: the gamma law of this mean and standard deviation."""
    return draws.gamma((mean / sd) ** 2, sd * sd / mean)


def pieces_alone(seed, jobs, entries, t, h, e):
    draws = np.random.default_rng(seed)
    rows = []
    for job in range(jobs):
        pace = 1 + h * draws.standard_normal()
        for _ in range(entries):
            d = int(draws.integers(1, 13))
            minutes = pace * drawn(draws, t * d, e * t * np.sqrt(d))
            rows.append((job, 0, d, round(float(minutes), 2)))
    return rows


def whole(seed, jobs, s, t, h, c):
    draws = np.random.default_rng(seed)
    rows = []
    for job in range(jobs):
        pace = 1 + h * draws.standard_normal()
        for r, d in ((1, 0), (0, int(draws.integers(1, 13))), (1, int(draws.integers(1, 21)))):
            minutes = pace * drawn(draws, s * r + t * d, c * np.sqrt(r * s * s + d * t * t))
            rows.append((job, r, d, round(float(minutes), 2)))
    return rows


def fit(rows):
    job, r, d, y = (np.array(column, float) for column in zip(*rows))
    setups = bool(r.any())
    times = np.array([20.0, 6.0]) if setups else np.array([0.0, 6.0])
    for _ in range(60):
        mean = times[0] * r + times[1] * d
        root = np.sqrt(r * times[0] ** 2 + d * times[1] ** 2)
        x = np.column_stack([r, d]) if setups else d[:, None]
        found = reml(y / root, x / root[:, None], (mean / root)[:, None], job)
        new = np.concatenate([[0.0], found.fe_params]) if not setups else np.array(found.fe_params)
        if np.allclose(new, times, rtol=1e-9):
            break
        times = new
    h = float(np.sqrt(np.asarray(found.cov_re)[0, 0]))
    return times[0], times[1], h, float(np.sqrt(found.scale))


def main(folder):
    with open(f"{folder}/mixed.csv", "w", newline="\n") as table, open(f"{folder}/mixed_logs.csv", "w", newline="\n") as logs:
        table.write("log,setup,each,pace,rest\n")
        logs.write("log,job,rounds,pieces,minutes\n")
        for name, rows in (
            ("pieces 20", pieces_alone(1, 20, 4, 6.0, 0.15, 0.25)),
            ("pieces 60", pieces_alone(2, 60, 3, 6.0, 0.10, 0.30)),
            ("whole 20", whole(3, 20, 20.0, 6.0, 0.15, 0.25)),
            ("whole 60", whole(4, 60, 20.0, 6.0, 0.10, 0.20)),
        ):
            for row in rows:
                logs.write(",".join([name, *(str(v) for v in row)]) + "\n")
            table.write(name + "," + ",".join(f"{v:.5g}" for v in fit(rows)) + "\n")


main(sys.argv[1])
