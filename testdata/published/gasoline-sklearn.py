"""PCA of gasoline.csv by scikit-learn, with T² and Q, as JSON:

    python3 gasoline-sklearn.py > gasoline-sklearn.json
"""

import json
import os

import numpy as np
import sklearn
from sklearn.decomposition import PCA

table = os.path.join(os.path.dirname(os.path.abspath(__file__)), "gasoline.csv")
with open(table, encoding="utf-8") as f:
    rows = [line.rstrip("\n").split(",") for line in f if not line.startswith("#")]
x = np.array([[float(v) for v in row[1:]] for row in rows[1:]])


def digits(v):
    return [float(f"{u:.12g}") for u in v]


models = []
for k in range(1, 5):
    fit = PCA(n_components=k, svd_solver="full").fit(x)
    t = fit.transform(x)
    residual = x - fit.inverse_transform(t)
    models.append({
        "k": k,
        "t2": digits((t**2 / fit.explained_variance_).sum(axis=1)),
        "q": digits((residual**2).sum(axis=1)),
    })

# Signs by rule: the loading of largest magnitude is positive.
sign = np.sign([v[np.argmax(np.abs(v))] for v in fit.components_])
print(json.dumps({
    "by": "scikit-learn " + sklearn.__version__,
    "mean": digits(fit.mean_),
    "eigenvalues": digits(fit.explained_variance_),
    "scores": [digits(row) for row in t * sign],
    "models": models,
}))
