"""Values for tests/rooms/reading/chance.rs by scipy and esda. Run: python chance.py > chance.json"""

import json
import warnings

import numpy as np
import scipy
from scipy import stats

warnings.filterwarnings("ignore")
import esda  # noqa: E402
from esda.smoothing import Empirical_Bayes  # noqa: E402

rng = np.random.default_rng(41)

gamma = [
    {"shape": a, "p": p, "x": stats.gamma.ppf(p, a)}
    for a in (0.05, 0.5, 1.0, 1.7, 3.0, 10.0, 57.3, 400.0, 12345.0, 1e6)
    for p in (1e-6, 0.025, 0.3, 0.5, 0.9, 0.975, 1 - 1e-6)
]
garwood = [
    {"count": n, "low": stats.chi2.ppf(0.025, 2 * n) / 2 if n else 0.0, "high": stats.chi2.ppf(0.975, 2 * n + 2) / 2}
    for n in (0, 1, 2, 3, 7, 20, 100, 1500, 100000)
]

tables = []
for t in ([3, 10, 40, 200], [0, 5, 8, 3], [12, 1, 30, 40], [50, 60, 55, 48], [1, 0, 0, 1], [200, 300, 900, 2500], [0, 0, 5, 5]):
    m = [[t[0], t[1]], [t[2], t[3]]]
    tables.append({
        "table": t,
        "two_sided": stats.fisher_exact(m).pvalue,
        "greater": stats.fisher_exact(m, alternative="greater").pvalue,
    })

p = np.concatenate([rng.uniform(0, 1, 30), rng.uniform(0, 0.01, 10), [0.5, 0.5, 0.0, 1.0]])
bh = {"p": p.tolist(), "q": stats.false_discovery_control(p).tolist()}

base = rng.uniform(5, 400, 60)
events = rng.poisson(base * rng.gamma(2.0, 0.02, 60)).astype(float)
eb = {"events": events.tolist(), "base": base.tolist(), "smoothed": np.asarray(Empirical_Bayes(events, base).r).ravel().tolist()}

from esda.getisord import G_Local  # noqa: E402
from libpysal.weights import lat2W  # noqa: E402

side = 8
w = lat2W(side, side, rook=False)
w.transform = "B"
values = rng.gamma(2.0, 1.5, side * side)
values[[27, 28, 35, 36]] += 6.0
gi = {
    "values": values.tolist(),
    "neighbours": [[int(m) for m in w.neighbors[n]] for n in range(side * side)],
    "z": np.asarray(G_Local(values, w, transform="B", star=True, permutations=0).Zs).tolist(),
}

print(json.dumps({
    "made_with": f"scipy {scipy.__version__}, esda {esda.__version__}, numpy {np.__version__}",
    "gamma": gamma, "garwood": garwood, "fisher": tables, "benjamini_hochberg": bh, "empirical_bayes": eb, "getis_ord": gi,
}))
