"""Figures of the program against those of the witness, as z-scores.

Both are estimates with errors of their own, so that the difference over the error of both is a standard normal number where they agree. With
so many comparisons the bound on |z| is Bonferroni's: two-sided chance `ALARM` over their number.
"""

import numpy as np
from scipy import special

ALARM = 0.01
# A mean whose every deviation comes from fewer trials than this is no normal number; it is left out and counted.
RARE = 60


class Figures:
    def __init__(self, scenario):
        self.scenario, self.question = scenario, ""
        self.rows, self.left_out, self.wrong, self.exact_count = [], 0, [], 0

    def add(self, name, program, witness, se):
        if program is None or not np.isfinite(program) or not np.isfinite(witness):
            if not (program is None or not np.isfinite(program)) or np.isfinite(witness):
                self.wrong.append((self.scenario, self.question, name, program, float(witness)))
            return
        slack = 1e-7 * max(abs(program), abs(witness), 1e-3)
        if abs(program - witness) <= slack:
            z = 0.0
        elif se <= 0:
            self.wrong.append((self.scenario, self.question, name, program, float(witness)))
            return
        else:
            z = (program - witness) / se
        self.rows.append((abs(z), z, self.scenario, self.question, name, float(program), float(witness), float(se)))

    def exact(self, name, program, witness, rel=1e-6):
        """What has a closed form, or is counted."""
        self.exact_count += 1
        if (program is None) != (witness is None) or (
            program is not None and not np.isclose(program, witness, rtol=rel, atol=rel * 1e-3)
        ):
            self.wrong.append((self.scenario, self.question, name, program, witness))

    def true(self, name, holds, said):
        self.exact_count += 1
        if not holds:
            self.wrong.append((self.scenario, self.question, name, said, "no"))

    def mean(self, name, program, trials, values, own=0.0):
        """A mean over independent trials; `own`: the program's error of it, which counts where its more trials hold what is rare and these do not."""
        values = np.asarray(values, dtype=float)
        if values.min() != values.max() and 0 < np.count_nonzero(values != np.median(values)) < RARE:
            self.left_out += 1
            return
        sd = values.std(ddof=1)
        self.add(name, program, values.mean(), np.hypot(max(sd / np.sqrt(trials), own), sd / np.sqrt(len(values))))

    def ratio(self, name, program, trials, over, under):
        """E[over] / E[under], with the error of the delta method."""
        r = over.mean() / under.mean()
        sd = (over - r * under).std(ddof=1) / abs(under.mean())
        self.add(name, program, r, sd * np.sqrt(1 / trials + 1 / len(over)))

    def share(self, name, program, trials, hits):
        """A share of trials, on the scale on which its variance does not depend on it (Anscombe 1948)."""
        self.shares(name, program, trials, np.count_nonzero(hits) / len(hits), len(hits))

    def shares(self, name, program, trials, witness, count):
        if abs(program - witness) < 1e-12:
            self.rows.append((0.0, 0.0, self.scenario, self.question, name, program, witness, 0.0))
            return
        angle = lambda p, n: np.arcsin(np.sqrt((p * n + 0.375) / (n + 0.75)))
        error = 0.5 * np.sqrt(1 / (trials + 0.5) + 1 / (count + 0.5))
        z = float((angle(program, trials) - angle(witness, count)) / error)
        self.rows.append((abs(z), z, self.scenario, self.question, name, float(program), float(witness), float(error)))

    def quantile(self, name, q, program, trials, values):
        """The share of the witness's trials at or under the program's quantile; anything between both sides of a tie will do."""
        values = np.asarray(values)
        if program is None:
            program = np.inf
        slack = 1e-9 * max(abs(program), 1) if np.isfinite(program) else 0
        under, upto = np.mean(values < program - slack), np.mean(values <= program + slack)
        near = min(max(q, under), upto)
        self.shares(name, near if near != q else q, trials, q, len(values))

    def bound(self, count):
        return float(-special.ndtri(ALARM / count / 2))
