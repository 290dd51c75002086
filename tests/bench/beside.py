"""Our clusters beside those of Python's libraries, on the same points, in one run.

    cargo bench --bench beside --no-run     # says where the program is
    python beside.py PROGRAM [REPEATS]

Needs numpy, scikit-learn, dbscan and hdbscan. Prints the least and the middle of the seconds of each, and checks
that labels are the same: of DBSCAN number and all, of HDBSCAN* up to ties (see ../reference/reading).
Half of the points lie in clumps of 2 to 12 m spread, half are strewn evenly; the ground grows with their number.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from importlib.metadata import version

import numpy as np
from sklearn.cluster import DBSCAN, HDBSCAN

program, repeats = sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 3
EPS, LEAST = 2.0, 10
folder = tempfile.mkdtemp()


def points(count):
    rng = np.random.default_rng(11)
    scale = (count / 1e6) ** 0.5
    size = np.array([4000.0, 1000.0]) * scale
    clumps = max(1, round(200 * scale * scale))
    centres, spreads = rng.uniform([0, 0], size, (clumps, 2)), rng.uniform(2, 12, clumps)
    chosen = rng.integers(0, clumps, count // 2)
    near = centres[chosen] + rng.normal(size=(count // 2, 2)) * spreads[chosen, None]
    return rng.permutation(np.concatenate([near, rng.uniform([0, 0], size, (count - count // 2, 2))]))


def ours(method, xy, times):
    source, target = os.path.join(folder, "points"), os.path.join(folder, "labels")
    xy.astype("<f8").tofile(source)
    args = [program, method, source, target, str(LEAST), str(times), *([str(EPS)] if method == "dbscan" else [])]
    told = subprocess.run(args, check=True, capture_output=True, text=True).stdout
    return [float(s) for s in told.split()], np.fromfile(target, "<i4")


def timed(work, times):
    seconds = []
    for _ in range(times):
        start = time.perf_counter()
        labels = work()
        seconds.append(time.perf_counter() - start)
    return seconds, labels


def row(who, count, seconds, note=""):
    print(f"{who:34} {count:>9,} {min(seconds):9.3f} {statistics.median(seconds):9.3f}  {note}", flush=True)


def same(a, b):
    """Points on which two partitions agree, each cluster paired with the one it shares most with."""
    pairs, counts = np.unique(np.stack([a, b]), axis=1, return_counts=True)
    taken, agreed = (set(), set()), 0
    for (x, y), n in sorted(zip(map(tuple, pairs.T), counts), key=lambda p: -p[1]):
        if (x < 0) == (y < 0) and x not in taken[0] and y not in taken[1]:
            taken[0].add(x), taken[1].add(y)
            agreed += n
    return agreed


names = ["numpy", "scikit-learn", "dbscan", "hdbscan"]
print(f"{os.cpu_count()} cores; " + ", ".join(f"{n} {version(n)}" for n in names))
print(f"{'':34} {'points':>9} {'least s':>9} {'middle s':>9}")
for count in [10_000, 100_000, 1_000_000]:
    xy = points(count)
    mine, labels = ours("dbscan", xy, max(5, repeats))
    row("DBSCAN, ours", count, mine)
    theirs, reference = timed(lambda: DBSCAN(eps=EPS, min_samples=LEAST, n_jobs=-1).fit(xy).labels_, repeats)
    row("DBSCAN, scikit-learn, all cores", count, theirs, f"{min(theirs) / min(mine):.1f} times ours")
    assert np.array_equal(labels, reference), "labels are not those of scikit-learn"
    import dbscan

    theirs, (found, _) = timed(lambda: dbscan.DBSCAN(xy, eps=EPS, min_samples=LEAST), repeats)
    row("DBSCAN, dbscan, all cores", count, theirs, f"{min(theirs) / min(mine):.1f} times ours")
    print(f"  the same labels as scikit-learn, number and all; {same(labels, found):,} of {count:,} agree with dbscan")

import hdbscan

for count in [10_000, 100_000]:
    xy = points(count)
    mine, labels = ours("hdbscan", xy, max(5, repeats))
    row("HDBSCAN*, ours", count, mine)
    work = lambda: hdbscan.HDBSCAN(min_cluster_size=LEAST, min_samples=LEAST - 1, approx_min_span_tree=False, core_dist_n_jobs=-1).fit(xy).labels_
    theirs, found = timed(work, 1)
    row("HDBSCAN*, hdbscan", count, theirs, f"{min(theirs) / min(mine):.1f} times ours; {same(labels, found):,} of {count:,} agree")
    if count <= 10_000:
        theirs, found = timed(lambda: HDBSCAN(min_cluster_size=LEAST, min_samples=LEAST, copy=True).fit(xy).labels_, 1)
        row("HDBSCAN*, scikit-learn", count, theirs, f"{min(theirs) / min(mine):.1f} times ours; {same(labels, found):,} of {count:,} agree")
