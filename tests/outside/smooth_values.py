#!/usr/bin/python3
"""Writes tests/outside/smooth_values.txt: the Whittaker smoother by scipy.sparse.linalg.spsolve.

(W + D' L D) z = W y with D the second differences, as in Eilers 2003, equation 5, but with a penalty
for each difference. Debian's python3-scipy; only needed to write the file anew:
smooth_values.py > smooth_values.txt
Each case is five lines: its name, values, weights, penalties (one a point; the first and last are not
used), and the smooth curve.
"""
import numpy as np
import scipy
from scipy.sparse import csc_matrix, diags
from scipy.sparse.linalg import spsolve


def smooth(y, w, penalty):
    n = len(y)
    d = diags([np.ones(n - 2), -2 * np.ones(n - 2), np.ones(n - 2)], [0, 1, 2], shape=(n - 2, n))
    return spsolve(csc_matrix(diags(w) + d.T @ diags(penalty[1:-1]) @ d), w * y)


rng = np.random.default_rng(22)
noise = np.round(20 - 0.25 * np.arange(40) + rng.normal(0, 0.4, 40), 3)
gap = np.ones(40)
gap[12:23] = 0.0
rough = np.round(rng.uniform(0.05, 3.0, 40), 3)
# Asymmetric weights as an upper edge has them: points below count next to nothing.
edge = np.where(noise > 20 - 0.25 * np.arange(40), 1.0, 0.01)
loose = np.full(40, 900.0)
loose[15:25] = 0.5
cases = {
    "three points": (np.array([1.0, 5.0, 2.0]), np.ones(3), np.full(3, 2.0)),
    "four points": (np.array([1.0, 5.0, 2.0, 7.0]), np.array([1.0, 0.5, 2.0, 1.0]), np.full(4, 10.0)),
    "a noisy slope": (noise, np.ones(40), np.full(40, 30.0)),
    "a gap": (noise, gap, np.full(40, 30.0)),
    "uneven weights": (noise, rough, np.full(40, 4.0)),
    "an edge": (noise, edge, np.full(40, 400.0)),
    "a penalty that gives way": (noise, np.ones(40), loose),
}
print(f"# scipy {scipy.__version__} sparse.linalg.spsolve, written by smooth_values.py")
for name, (y, w, penalty) in cases.items():
    print(name)
    for row in (y, w, penalty, smooth(y, w, penalty)):
        print(*(repr(float(v)) for v in row))
