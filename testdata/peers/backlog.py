"""Judges a folder of two-column CSV files by the model that learn.py left, into a SQLite file.

python3 backlog.py FOLDER MODEL: one file after another, as they would arrive; a transaction for every 2,000. Prints the seconds, imports
left out.
"""
import json
import pathlib
import sqlite3
import sys
import tempfile
import time

import numpy as np
from scipy import signal

folder, model = sys.argv[1:3]
m = np.load(model)
mean, loadings, values, t2_limit, q_limit = (m[k] for k in ("mean", "loadings", "values", "t2", "q"))
window, spacing = int(m["window"]), float(m["spacing"])

with tempfile.TemporaryDirectory() as d:
    wall, cpu = time.perf_counter(), time.process_time()
    db = sqlite3.connect(d + "/history")
    db.execute("PRAGMA journal_mode=WAL")
    db.execute("CREATE TABLE spectra (file TEXT PRIMARY KEY, t2 REAL, q REAL, inside INTEGER, scores BLOB)")
    rows = []
    files = sorted(pathlib.Path(folder).rglob("*.csv"))
    for f in files:
        x = np.loadtxt(f, delimiter=",", comments="#")[:, 1]
        x = signal.savgol_filter((x - x.mean()) / x.std(ddof=1), window, 2, deriv=1, delta=spacing) - mean
        t = loadings @ x
        e = x - loadings.T @ t
        t2, q = float((t**2 / values).sum()), float(e @ e)
        rows.append((str(f), t2, q, int(t2 <= t2_limit and q <= q_limit), t.tobytes()))
        if len(rows) == 2000 or f is files[-1]:
            with db:
                db.executemany("INSERT INTO spectra VALUES (?, ?, ?, ?, ?)", rows)
            rows = []
    db.close()
    print(json.dumps({"Wall": time.perf_counter() - wall, "CPU": time.process_time() - cpu}))
