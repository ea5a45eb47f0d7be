#!/usr/bin/python3
"""Writes tests/outside/theil_sen_values.txt: slopes and 95 % limits by scipy.stats.theilslopes.

Debian's python3-scipy; only needed to write the file anew: theil_sen_values.py > theil_sen_values.txt
Each case is four lines: its name, x, y, and slope, lower and upper limit.
"""
import random

import scipy
from scipy.stats import theilslopes

random.seed(6)
cases = {
    # SC-20 in tests/SOURCES.md, worked by hand in a published lecture note
    "mann-kendall by hand": (
        list(range(1, 15)),
        [12.9, 14.8, 13.2, 15.7, 13.8, 15.6, 12.9, 11.0, 17.3, 15.9, 19.0, 18.3, 20.1, 21.7]),
    "six years": (list(range(6)), [8.1, 8.0, 7.8, 7.9, 7.5, 7.3]),  # SC-25
    "four values": ([0, 1, 2, 3], [10.0, 15.0, 14.0, 20.0]),  # SC-24
    "two values": ([0.0, 30.0], [1000.0, 1300.0]),
    "ties in x": ([0, 0, 10, 10, 20, 25, 31], [0.0, 4.0, 90.0, 101.0, 230.0, 250.0, 300.0]),
    "ties in y": ([0, 30, 61, 91, 122, 152], [500.0, 500.0, 500.0, 640.0, 640.0, 910.0]),
}
days = sorted(random.sample(range(1096), 40))
km = [0.0]
for before, after in zip(days, days[1:]):
    km.append(round(km[-1] + (after - before) * random.uniform(2.0, 14.0), 0))
cases["forty odometer readings"] = (days, km)
km = list(km)
km[17] += 90000.0  # a slip of the pen
cases["forty readings, one of them wrong"] = (days, km)

print(f"# scipy {scipy.__version__} theilslopes(y, x, 0.95), written by theil_sen_values.py")
for name, (x, y) in cases.items():
    slope, _, low, high = theilslopes(y, x, 0.95)
    print(name)
    print(*x)
    print(*y)
    print(*(repr(float(v)) for v in (slope, low, high)))
