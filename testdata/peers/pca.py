"""Six components of a matrix of 64-bit numbers: python3 pca.py held|streamed FILE CHANNELS.

held reads it whole for scikit-learn's randomized PCA; streamed maps it for IncrementalPCA, 2,000 spectra at a time. Prints the
seconds, imports left out.
"""
import json
import sys
import time

import numpy as np
from sklearn.decomposition import PCA, IncrementalPCA

way, file, p = sys.argv[1], sys.argv[2], int(sys.argv[3])
wall, cpu = time.perf_counter(), time.process_time()
if way == "held":
    x = np.fromfile(file, dtype="<f8").reshape(-1, p)
    fit = PCA(6, svd_solver="randomized", random_state=0).fit(x)
else:
    x = np.memmap(file, dtype="<f8", mode="r").reshape(-1, p)
    fit = IncrementalPCA(6)
    for i in range(0, len(x), 2000):
        fit.partial_fit(x[i : i + 2000])
v = fit.explained_variance_
print(json.dumps({"Wall": time.perf_counter() - wall, "CPU": time.process_time() - cpu, "Note": f"l1 {v[0]:.5g}, l6 {v[5]:.5g}"}))
