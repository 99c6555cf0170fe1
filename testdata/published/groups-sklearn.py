"""Clusters of labelled tables by scikit-learn, with purity and adjusted Rand index, as JSON:

    python3 groups-sklearn.py > groups-sklearn.json

Each label in turn is usual; the rows of all others are what a watch would find uncharted. They are clustered in the space
of signatures: k scores of a PCA of usual, then the residual averaged over bands of columns, each over its standard
deviation in usual.
"""

import json
import os

import numpy as np
import scipy.stats
import sklearn
from sklearn.cluster import DBSCAN, KMeans
from sklearn.decomposition import PCA
from sklearn.metrics import adjusted_rand_score
from sklearn.metrics.cluster import contingency_matrix
from sklearn.mixture import GaussianMixture

here = os.path.dirname(os.path.abspath(__file__))
ENOUGH = 8  # rows make a place
BANDS = 24


def table(name):
    """Labels and values of a table, of which the first columns are names."""
    with open(os.path.join(here, name), encoding="utf-8") as f:
        rows = [line.rstrip("\n").split(",") for line in f if not line.startswith("#")]
    at = rows[0].index("label")
    return np.array([r[at] for r in rows[1:]]), np.array([[float(v) for v in r[at + 1:]] for r in rows[1:]])


def snv(x):
    return (x - x.mean(axis=1, keepdims=True)) / x.std(axis=1, ddof=1, keepdims=True)


def signatures(x, usual, k):
    fit = PCA(n_components=k, svd_solver="full").fit(x[usual])
    sign = np.sign([v[np.argmax(np.abs(v))] for v in fit.components_])
    t = fit.transform(x)
    e = x - fit.inverse_transform(t)
    p = x.shape[1]
    b = min(BANDS, p)
    edges = [i * p // b for i in range(b + 1)]
    y = np.hstack([t * sign] + [e[:, i:j].mean(axis=1, keepdims=True) for i, j in zip(edges, edges[1:])])
    sd = np.sqrt((y[usual] ** 2).sum(axis=0) / (usual.sum() - 1))
    return y / np.maximum(sd, 1e-9 * sd.max())


def purity(labels, found):
    m = contingency_matrix(labels, found)
    return m.max(axis=0).sum() / m.sum()


def methods(y, count):
    """DBSCAN is told how far a place reaches, the other two how many there are."""
    reach = np.sqrt(scipy.stats.chi2.ppf(0.999, y.shape[1])) + 0.2 * np.median(np.linalg.norm(y, axis=1))
    yield "DBSCAN", DBSCAN(eps=reach, min_samples=ENOUGH).fit_predict(y)
    yield "KMeans", KMeans(n_clusters=count, n_init=20, random_state=0).fit_predict(y)
    yield "GaussianMixture", GaussianMixture(count, covariance_type="diag", n_init=5, random_state=0, reg_covar=1e-3).fit_predict(y)


def digits(v, n=10):
    return float(f"{v:.{n}g}")


out = []
for name, k, kind in (("iris.csv", 2, "scale"), ("wine.csv", 4, "scale"), ("mayonnaise.csv", 4, "snv")):
    labels, x = table(name)
    for usual in sorted(set(labels)):
        at = labels == usual
        pretreated = snv(x) if kind == "snv" else (x - x[at].mean(axis=0)) / x[at].std(axis=0, ddof=1)
        y = signatures(pretreated, at, k)[~at]
        rest = labels[~at]
        out.append({
            "table": name, "usual": usual, "pretreat": kind, "k": k,
            "signatures": [[digits(v) for v in row] for row in y] if usual == sorted(set(labels))[0] else None,
            "methods": [{
                "name": m, "found": [int(v) for v in found], "purity": digits(purity(rest, found)),
                "rand": digits(adjusted_rand_score(rest, found)),
            } for m, found in methods(y, len(set(rest)))],
        })
print(json.dumps({"by": "scikit-learn " + sklearn.__version__, "cases": out}))
