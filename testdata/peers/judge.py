"""Judges spectra in memory one after another with numpy and scipy: python3 judge.py CHANNELS prints the seconds of one."""
import json
import sys
import time

import numpy as np
from scipy import signal

p, k = int(sys.argv[1]), 6
rng = np.random.default_rng(1)
at = np.linspace(0, 1, p)
spacing = 800 / (p - 1)  # nm: a line's axis from 900 to 1,700
window = 2 * int(15 / 2 / spacing) + 1
bands = np.array([np.exp(-(((at - (i + 0.5) / 10) / 0.05) ** 2) / 2) * 0.5**i for i in range(10)])


def make(n):
    return 0.5 + 0.1 * at + 0.1 * rng.standard_normal((n, 10)) @ bands + 1e-4 * rng.standard_normal((n, p))


def pretreat(x):
    x = (x - x.mean(axis=-1, keepdims=True)) / x.std(axis=-1, ddof=1, keepdims=True)
    return signal.savgol_filter(x, window, 2, deriv=1, delta=spacing, axis=-1)


good = pretreat(make(600))
mean = good.mean(axis=0)
_, s, vt = np.linalg.svd(good - mean, full_matrices=False)
loadings, values = vt[:k], s[:k] ** 2 / 599
new = make(200)
times = 10
wall, cpu = time.perf_counter(), time.process_time()
for _ in range(times):
    for raw in new:
        x = pretreat(raw) - mean
        t = loadings @ x
        e = x - loadings.T @ t
        t2, q = (t**2 / values).sum(), e @ e
n = times * len(new)
print(json.dumps({"Wall": (time.perf_counter() - wall) / n, "CPU": (time.process_time() - cpu) / n}))
