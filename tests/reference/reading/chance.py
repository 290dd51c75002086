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

ratios = []
for x1, a1, x2, a2 in ((3, 500.0, 12, 700.0), (0, 100.0, 5, 90.0), (5, 90.0, 0, 100.0), (40, 1200.0, 38, 3000.0), (300, 5e3, 250, 4e3), (1, 10.0, 1, 10.0)):
    test = stats.binomtest(x1, x1 + x2, a1 / (a1 + a2))
    ci = test.proportion_ci(0.95, method="exact")
    odds = lambda p: None if p >= 1 else p / (1 - p) * a2 / a1  # noqa: E731
    ratios.append({"finds": [x1, x2], "swept": [a1, a2], "low": odds(ci.low), "high": odds(ci.high), "p": test.pvalue})

# Several pairs with one ratio: the distribution of the sum of first counts by convolution of
# scipy.stats.binom, its tails solved with scipy.optimize.brentq.
from scipy.optimize import brentq  # noqa: E402


def total(pairs, ln_ratio):
    out = np.ones(1)
    for (x1, x2), (a1, a2) in pairs:
        n = x1 + x2
        odds = np.exp(ln_ratio) * a1 / a2
        out = np.convolve(out, stats.binom.pmf(np.arange(n + 1), n, odds / (1 + odds)))
    return out


strata = []
for pairs in (
    [([9, 4], [800.0, 1000.0])],
    [([9, 4], [800.0, 1000.0]), ([3, 5], [400.0, 900.0]), ([12, 2], [700.0, 300.0])],
    [([0, 4], [800.0, 1000.0]), ([0, 2], [300.0, 900.0])],
    [([5, 0], [800.0, 1000.0]), ([2, 0], [300.0, 900.0])],
    [([40, 25], [2000.0, 1500.0]), ([31, 44], [900.0, 1700.0]), ([7, 9], [500.0, 650.0]), ([1, 0], [50.0, 80.0])],
):
    seen = sum(f[0] for f, _ in pairs)
    n = sum(sum(f) for f, _ in pairs)
    solve = lambda f: float(np.exp(brentq(f, -25, 25, xtol=1e-14, rtol=1e-14)))  # noqa: E731
    even = total(pairs, 0.0)
    strata.append({
        "pairs": [{"finds": f, "swept": a} for f, a in pairs],
        "ratio": None if seen == n else 0.0 if seen == 0 else solve(lambda l: float(np.arange(n + 1) @ total(pairs, l)) - seen),
        "low": 0.0 if seen == 0 else solve(lambda l: total(pairs, l)[seen:].sum() - 0.025),
        "high": None if seen == n else solve(lambda l: 0.025 - total(pairs, l)[: seen + 1].sum()),
        "p": float(even[even <= even[seen] * (1 + 1e-7)].sum()),
    })

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
    "gamma": gamma, "garwood": garwood, "ratios": ratios, "strata": strata, "fisher": tables, "benjamini_hochberg": bh, "empirical_bayes": eb, "getis_ord": gi,
}))
