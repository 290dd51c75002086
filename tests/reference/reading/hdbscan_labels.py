"""Clusters for tests/rooms/reading/dbscan.rs by scikit-learn's HDBSCAN. Run: python hdbscan_labels.py > hdbscan_labels.json

`labels` and `probabilities` are scikit-learn's from a spanning tree whose edges of equal weight are in the
order of their plain distance; scikit-learn itself leaves that order to chance. `by_chance` are the labels of
`HDBSCAN.fit` as it comes, which differ from these at such ties only; `hdbscan_agrees` says whether those
of the package of that name, with its exact spanning tree, are the same."""

import json

import hdbscan as package
import numpy as np
import sklearn
from importlib.metadata import version
from scipy.spatial.distance import cdist
from sklearn.cluster import HDBSCAN
from sklearn.cluster._hdbscan._linkage import MST_edge_dtype, make_single_linkage
from sklearn.cluster._hdbscan._tree import tree_to_labels
from sklearn.datasets import make_blobs, make_moons


def spanning_tree(points, min_samples):
    """Prim's tree of mutual reachability, by weight and then by distance."""
    gap = cdist(points, points)
    reach = np.sort(gap, axis=1)[:, min_samples - 1]
    weight = np.maximum(gap, np.maximum(reach[:, None], reach[None, :]))
    n = len(points)
    best, best_gap, source, outside = np.full(n, np.inf), np.full(n, np.inf), np.zeros(n, int), np.ones(n, bool)
    now, edges = 0, []
    for _ in range(n - 1):
        outside[now] = False
        better = outside & ((weight[now] < best) | ((weight[now] == best) & (gap[now] < best_gap)))
        best[better], best_gap[better], source[better] = weight[now][better], gap[now][better], now
        left = np.flatnonzero(outside)
        now = left[np.lexsort((best_gap[left], best[left]))[0]]
        edges.append((source[now], now, best[now], best_gap[now]))
    edges.sort(key=lambda e: (e[2], e[3]))
    return edges


def clusters(points, least, min_samples):
    edges = spanning_tree(points, min_samples)
    tree = np.empty(len(edges), dtype=MST_edge_dtype)
    for n, (a, b, w, _) in enumerate(edges):
        tree[n] = (a, b, w)
    labels, probabilities = tree_to_labels(make_single_linkage(tree), min_cluster_size=least)
    own = HDBSCAN(min_cluster_size=least, min_samples=min_samples, algorithm="kd_tree", copy=True).fit(points).labels_
    # The package does not count the point itself.
    theirs = package.HDBSCAN(
        min_cluster_size=least, min_samples=min_samples - 1, algorithm="prims_kdtree", approx_min_span_tree=False
    ).fit(points).labels_ if min_samples > 1 else own
    return labels, probabilities, own, theirs


rng = np.random.default_rng(19)
blobs, _ = make_blobs(n_samples=700, centers=[[0, 0], [30, 5], [60, -4], [33, 20]], cluster_std=[3, 2, 6, 1.5], random_state=3)
noise = rng.uniform([-20, -30], [90, 40], (300, 2))
moons, _ = make_moons(n_samples=500, noise=0.06, random_state=5)
strand = np.column_stack([rng.uniform(0, 400, 250), 60 + rng.normal(0, 1.2, 250)])
beach = np.concatenate([strand, rng.normal([120, 20], 3, (90, 2)), rng.normal([300, 25], 6, (120, 2)), rng.uniform([0, 0], [400, 100], (400, 2))])
sets = {
    "blobs_and_noise": (np.concatenate([blobs, noise]), [(5, 5), (15, 5), (25, 10)]),
    "moons": (moons * 10, [(5, 5), (20, 8)]),
    "a_strandline_two_heaps_and_strays": (beach, [(6, 6), (15, 15), (20, 4)]),
    "nothing_but_chance": (rng.uniform(0, 100, (500, 2)), [(5, 5), (12, 3)]),
}
made = f"scikit-learn {sklearn.__version__}, hdbscan {version('hdbscan')}, numpy {np.__version__}"
out = {"made_with": made, "sets": []}
for name, (points, runs) in sets.items():
    points = rng.permutation(np.round(points, 4))
    told = []
    for least, min_samples in runs:
        labels, probabilities, own, theirs = clusters(points, least, min_samples)
        told.append({
            "min_cluster_size": least,
            "min_samples": min_samples,
            "labels": labels.tolist(),
            "probabilities": [round(p, 7) for p in probabilities.tolist()],
            "by_chance": own.tolist(),
            "hdbscan_agrees": theirs.tolist() == own.tolist(),
        })
    out["sets"].append({"name": name, "points": points.tolist(), "runs": told})
print(json.dumps(out))
