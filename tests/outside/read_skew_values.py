#!/usr/bin/env python3
"""Windows of two wheels and what scipy makes of them; writes read_skew_values.txt beside itself.

Least squares by scipy.linalg.lstsq, the jackknife by leaving out an eighth of the windows in turn
(B. Efron, The jackknife, the bootstrap and other resampling plans, 1982, chapter 3: from memory),
limits by scipy.stats.t. Invented data.
"""
import pathlib

import numpy
from scipy import linalg, stats

random = numpy.random.default_rng(1)
lines = []
for case in range(3):
    n = 16 + 13 * case
    v = random.uniform(3, 15, n)
    a = random.uniform(-2, 3, n)
    d = 0.003 * v + (0.01 + 0.02 * case) * a + random.normal(0, 0.03, n)
    x = numpy.column_stack([v, a])
    slope = linalg.lstsq(x, d)[0][1]
    edges = [b * n // 8 for b in range(9)]
    left = []
    for b in range(8):
        keep = numpy.r_[0 : edges[b], edges[b + 1] : n]
        left.append(linalg.lstsq(x[keep], d[keep])[0][1])
    se = numpy.sqrt(7 / 8 * numpy.sum((left - numpy.mean(left)) ** 2))
    lines.append(f"{n} {slope:.15g} {se:.15g} {stats.t.ppf(0.975, 7):.15g}")
    lines += [f"{p:.15g} {q:.15g} {r:.15g}" for p, q, r in zip(v, a, d)]
pathlib.Path(__file__).with_suffix(".txt").write_text("\n".join(lines) + "\n")
