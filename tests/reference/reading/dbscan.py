"""Labels for tests/rooms/reading/dbscan.rs by scikit-learn. Run: python dbscan.py > dbscan.json"""

import json

import numpy as np
import sklearn
from sklearn.cluster import DBSCAN
from sklearn.datasets import make_blobs, make_moons

rng = np.random.default_rng(7)
blobs, _ = make_blobs(n_samples=900, centers=[[0, 0], [30, 5], [60, -4], [33, 20]], cluster_std=[3, 2, 6, 1.5], random_state=3)
noise = rng.uniform([-20, -30], [90, 40], (300, 2))
lattice = np.array([[x * 2.0, y * 2.0] for x in range(20) for y in range(15)])
moons, _ = make_moons(n_samples=600, noise=0.06, random_state=5)
bridge = np.concatenate([rng.normal([0, 0], 1, (60, 2)), rng.normal([9, 0], 1, (60, 2)), [[4.5, 0.0]]])
sets = {
    "blobs_and_noise": (np.concatenate([blobs, noise]), [(1.0, 4), (2.0, 5), (2.0, 12), (5.0, 20)]),
    "lattice_at_exactly_eps": (rng.permutation(lattice), [(2.0, 5), (2.0, 4), (1.999, 2)]),
    "moons": (moons * 10, [(1.0, 5), (1.5, 8)]),
    "border_between_two": (rng.permutation(bridge), [(3.2, 30), (3.2, 25), (2.8, 8)]),
    "repeats": (np.repeat(rng.uniform(0, 20, (40, 2)).round(1), 5, axis=0), [(1.0, 5), (1.0, 6), (2.5, 11)]),
}
out = {"made_with": f"scikit-learn {sklearn.__version__}, numpy {np.__version__}", "sets": []}
for name, (points, runs) in sets.items():
    points = rng.permutation(np.round(points, 3))
    out["sets"].append({
        "name": name,
        "points": points.tolist(),
        "runs": [
            {"eps": eps, "min_samples": m, "labels": DBSCAN(eps=eps, min_samples=m).fit(points).labels_.tolist()} for eps, m in runs
        ],
    })
print(json.dumps(out))
