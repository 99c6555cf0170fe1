"""Learns a PCA monitor from a folder of two-column CSV files, as a practitioner would write it.

python3 learn.py numpy|pandas FOLDER MODEL: with numpy.loadtxt, scipy and an SVD, or with pandas and scikit-learn.
SNV, a first derivative per nm in a window of 15 nm, 6 components, limits by F and by Jackson and Mudholkar 1979, or
Imhof 1961 where that does not hold. Leaves the model in MODEL and prints the seconds, imports left out, and the limits.
"""
import json
import pathlib
import sys
import time

import numpy as np
from scipy import signal, stats

way, folder, model = sys.argv[1:4]
if way == "pandas":
    import pandas as pd
    from sklearn.decomposition import PCA
else:
    from scipy import linalg

wall, cpu = time.perf_counter(), time.process_time()
files = sorted(pathlib.Path(folder).rglob("*.csv"))
if way == "pandas":
    x = np.array([pd.read_csv(f, comment="#", header=None)[1].to_numpy() for f in files])
    at = pd.read_csv(files[0], comment="#", header=None)[0].to_numpy()
else:
    x = np.array([np.loadtxt(f, delimiter=",", comments="#")[:, 1] for f in files])
    at = np.loadtxt(files[0], delimiter=",", comments="#")[:, 0]
x = (x - x.mean(axis=1, keepdims=True)) / x.std(axis=1, ddof=1, keepdims=True)
spacing = (at[-1] - at[0]) / (len(at) - 1)
window = 2 * int(15 / 2 / spacing) + 1
x = signal.savgol_filter(x, window, 2, deriv=1, delta=spacing, axis=1)
n, k, alpha = len(x), 6, 0.01
if way == "pandas":
    fit = PCA(svd_solver="full").fit(x)
    mean, loadings, values = fit.mean_, fit.components_[:k], fit.explained_variance_
else:
    mean = x.mean(axis=0)
    _, s, vt = linalg.svd(x - mean, full_matrices=False)
    loadings, values = vt[:k], s**2 / (n - 1)
t2 = k * (n - 1) * (n + 1) / (n * (n - k)) * stats.f.isf(alpha, k, n - k)
th = [float((values[k:] ** i).sum()) for i in (1, 2, 3)]
h = 1 - 2 * th[0] * th[2] / (3 * th[1] ** 2)
if h > 0:
    q = th[0] * (stats.norm.isf(alpha) * np.sqrt(2 * th[1] * h**2) / th[0] + 1 + th[1] * h * (h - 1) / th[0] ** 2) ** (1 / h)
else:  # one large root and very many small ones, where that formula is far off: chi square with the same three moments
    nu = th[1] ** 3 / th[2] ** 2
    q = th[0] + np.sqrt(2 * th[1]) * (stats.chi2.isf(alpha, nu) - nu) / np.sqrt(2 * nu)
took = time.perf_counter() - wall, time.process_time() - cpu
np.savez(model, mean=mean, loadings=loadings, values=values[:k], t2=t2, q=q, window=window, spacing=spacing)
print(json.dumps({"Wall": took[0], "CPU": took[1], "T2": float(t2), "Q": float(q), "Note": f"{n} spectra"}))
