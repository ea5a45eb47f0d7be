#!/usr/bin/python3
"""Writes tests/outside/catch_values.txt: the chance to catch pulses, by throwing them.

Nothing is shared with the program: pulses of random length are thrown into a window of whole sample
intervals, a sample clock of random phase runs over it, and the pulses that hold a sample are
counted. Debian's python3-numpy; only needed to write the file anew: catch_values.py > catch_values.txt
Each line: median length s, its spread and doubt (ln), rate Hz and its doubt (ln), interval s, active
s, pulses needed, share of the tries that caught them, standard error of that share.
"""
import numpy as np

TRIES = 400_000
rng = np.random.default_rng(30)


def share(median, spread, doubt, rate, rate_doubt, interval, active, needed):
    lengths = median * np.exp(doubt * rng.standard_normal(TRIES))
    expected = active * rate * np.exp(rate_doubt * rng.standard_normal(TRIES))
    count = np.floor(expected) + (rng.random(TRIES) < expected - np.floor(expected))
    phase = interval * rng.random(TRIES)
    caught = np.zeros(TRIES, dtype=int)
    for pulse in range(int(count.max())):
        start = active * rng.random(TRIES)
        wait = (phase - start) % interval  # until the next sample
        length = lengths * np.exp(spread * rng.standard_normal(TRIES))
        caught += (pulse < count) & (wait < length)
    return np.mean(caught >= needed)


print("# numpy", np.__version__, f"{TRIES} tries each, written by catch_values.py")
for case in [
        (0.040, 0.0, 0.0, 7.0, 0.0, 0.2, 1.0, 1),
        (0.040, 0.6, 0.0, 7.0, 0.0, 0.2, 1.0, 1),
        (0.030, 0.6, 0.0, 3.0, 0.5, 0.1, 2.0, 1),
        (0.030, 0.4, 0.45, 3.0, 0.5, 0.1175, 2.35, 1),
        (0.110, 0.4, 0.45, 3.0, 0.5, 0.25, 1.5, 2),
        (0.030, 0.6, 0.3, 5.0, 0.4, 0.025, 0.5, 3),
        (0.015, 0.5, 0.3, 2.0, 0.3, 1.0, 4.0, 1)]:
    p = share(*case)
    print(*case, f"{p:.6f}", f"{np.sqrt(p * (1 - p) / TRIES):.6f}")
