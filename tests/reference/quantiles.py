"""Type 7 of Hyndman & Fan (numpy's "linear"); mean, sd (n - 1) and standard error."""
import math
import numpy as np
from common import table
x = [15, 20, 35, 40, 50]; y = [2.1, 3.4, 3.9, 4.4, 5.0, 5.2, 6.8, 7.7, 9.0, 12.5]; z = [31, 34, 30, 38, 33, 29]
show = lambda d: " ".join(map(str, d))
table("quantiles.csv", ["data", "q", "type_7"], [[show(d), q, f"{np.quantile(d, q, method='linear'):.10f}"]
      for d in (x, y, [7], [1, 2]) for q in (0, .1, .25, .4, .5, .8, .9, 1)])
table("summaries.csv", ["data", "mean", "sd", "se"], [[show(d), f"{np.mean(d):.10f}", f"{np.std(d, ddof=1):.12f}",
      f"{np.std(d, ddof=1) / math.sqrt(len(d)):.12f}"] for d in (x, y, z)])
