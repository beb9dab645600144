# /// script
# requires-python = ">=3.11"
# dependencies = ["numpy==2.4.6"]
# ///
"""The plain sweep of the benches as array code: ten steps, setup and each triangular, sizes 1 to 100, 20,000 trials.

The whole computation with quantiles: hours, rate at 10, 50 and 90 %, floor at 50, 80 and 90 %, for every size. Prints one
line of JSON with the seconds of each repetition. Usage: python benches/array_sweep.py [repetitions]
"""

import json
import platform
import sys
import time

import numpy as np

SIZE, STEPS, TRIALS = 100, 10, 20_000
PRICE, TARGET, FEE = 60.0, 30.0, 0.065


def sweep(rng):
    # Sizes by trials, so that the running totals add whole rows and the quantiles read what lies side by side.
    minutes = np.zeros((SIZE, TRIALS))
    for k in range(STEPS):
        times = rng.triangular(2 + k / 2, 3 + k / 2, 7 + k / 2, (SIZE, TRIALS))
        times[0] += rng.triangular(5 + k, 10 + k, 25 + k, TRIALS)
        np.cumsum(times, axis=0, out=times)
        minutes += times
    hours = minutes / 60
    per_price = np.arange(1, SIZE + 1)[:, None] * (1 - FEE)
    rate = np.quantile(per_price * PRICE / hours, [0.1, 0.5, 0.9], axis=1)
    floor = np.quantile(TARGET * hours / per_price, [0.5, 0.8, 0.9], axis=1)
    return rate, floor


def main():
    repetitions = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    rng = np.random.default_rng(1)
    sweep(rng)  # pages touched, caches warm
    seconds, cpu_seconds = [], []
    for _ in range(repetitions):
        begin, cpu_begin = time.perf_counter(), time.process_time()
        rate, floor = sweep(rng)
        seconds.append(time.perf_counter() - begin)
        cpu_seconds.append(time.process_time() - cpu_begin)
    print(
        json.dumps(
            {
                "python": platform.python_version(),
                "numpy": np.__version__,
                "seconds": seconds,
                "cpu_seconds": cpu_seconds,
                "rate_at_12": rate[:, 11].tolist(),
                "floor_at_12": floor[:, 11].tolist(),
            }
        )
    )


if __name__ == "__main__":
    main()
