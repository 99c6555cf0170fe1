"""Writes iris.csv and wine.csv, two tables that scikit-learn comes with, into a folder:

    python3 tables-sklearn.py FOLDER
"""

import os
import sys

from sklearn.datasets import load_iris, load_wine

for name, load in (("iris", load_iris), ("wine", load_wine)):
    d = load()
    heads = [h.removesuffix(" (cm)").replace(" ", "_").replace("/", "_") for h in d.feature_names]
    with open(os.path.join(sys.argv[1], name + ".csv"), "w", encoding="utf-8", newline="\n") as f:
        print("label", *heads, sep=",", file=f)
        for row, label in zip(d.data, d.target):
            print(d.target_names[label], *(f"{v:.12g}" for v in row), sep=",", file=f)
