"""Values for tests/rooms/bench/values.rs by scikit-learn and scipy. Run: python bench.py > bench.json"""

import json

import numpy as np
import scipy
import sklearn
from scipy import optimize, special, stats
from sklearn.calibration import calibration_curve
from sklearn.isotonic import IsotonicRegression
from sklearn.linear_model import LogisticRegression
from sklearn.metrics import brier_score_loss
from sklearn.naive_bayes import GaussianNB

rng = np.random.default_rng(60)

# Isotonic regression: ties in x, weights, falling runs; asked at the points, between and beyond them.
isotonic = []
for n, ties in ((5, False), (24, True), (60, True), (200, False)):
    x = rng.integers(0, 8, n).astype(float) if ties else rng.uniform(0, 10, n)
    y = 0.05 * x + rng.normal(0, 0.08, n)
    w = rng.uniform(0.2, 3.0, n)
    ask = np.linspace(x.min() - 1, x.max() + 1, 41)
    fit = IsotonicRegression(out_of_bounds="clip").fit(x, y, sample_weight=w)
    isotonic.append({"points": np.c_[x, y, w].tolist(), "ask": ask.tolist(), "want": fit.predict(ask).tolist()})


# The gauge: isotonic regression of depth on step and its jackknife+ interval at alpha = 0.1
# (Barber, Candes, Ramdas & Tibshirani 2021), each left-out fit by scikit-learn.
def jackknife_plus(steps, depths, ask, alpha=0.1):
    n = len(steps)
    fits, errors = [], []
    for i in range(n):
        keep = np.arange(n) != i
        f = IsotonicRegression(out_of_bounds="clip").fit(steps[keep], depths[keep])
        fits.append(f)
        errors.append(abs(depths[i] - f.predict([steps[i]])[0]))
    at = np.array([f.predict(ask) for f in fits])
    errors = np.array(errors)[:, None]
    low = np.sort(at - errors, axis=0)[int(np.floor(alpha * (n + 1) + 1e-9)) - 1]
    high = np.sort(at + errors, axis=0)[int(np.ceil((1 - alpha) * (n + 1) - 1e-9)) - 1]
    # Never narrower than half-way to the next depth that was read.
    read = np.unique(depths)
    mids = (read[1:] + read[:-1]) / 2
    edges = np.r_[read[0] / 2, mids, 2 * read[-1] - mids[-1]]
    cell = np.searchsorted(mids, IsotonicRegression(out_of_bounds="clip").fit(steps, depths).predict(ask), side="right")
    return np.maximum(np.minimum(low, edges[cell]), 0), np.maximum(high, edges[cell + 1])


gauge = []
for n, grain in ((9, 0.001), (24, 0.05), (40, 0.001), (60, 0.1)):
    steps = np.sort(rng.integers(1, 7, n)).astype(float)
    depths = np.round(np.clip(0.045 * steps + rng.normal(0, 0.02, n), 0, 1) / grain) * grain
    ask = np.unique(steps)
    low, high = jackknife_plus(steps, depths, ask)
    fit = IsotonicRegression().fit(steps, depths)
    gauge.append({"steps": steps.tolist(), "depths": depths.tolist(), "ask": ask.tolist(), "depth": fit.predict(ask).tolist(), "low": low.tolist(), "high": high.tolist()})

# Moderated variances: the two equations of Smyth (2004), section 6.2, solved by scipy.
moderated = []
for d0, n in ((4.0, 12), (15.0, 30), (1e9, 8)):
    df = rng.integers(2, 12, n).astype(float)
    true = 3.0 * d0 / rng.chisquare(d0, n)
    s2 = true * rng.chisquare(df) / df
    e = np.log(s2) - special.digamma(df / 2) + np.log(df / 2)
    excess = np.var(e, ddof=1) - np.mean(special.polygamma(1, df / 2))
    if excess > 0:
        d = 2 * optimize.brentq(lambda x: special.polygamma(1, x) - excess, 1e-8, 1e12, xtol=1e-14, rtol=1e-14)
        s0 = float(np.exp(np.mean(e) + special.digamma(d / 2) - np.log(d / 2)))
    else:
        d, s0 = None, float(np.sum(s2 * df) / np.sum(df))
    moderated.append({"s2": s2.tolist(), "df": df.tolist(), "d0": d, "s0": s0})
trigamma = [{"x": x, "want": float(special.polygamma(1, x))} for x in (1e-3, 0.2, 1.0, 3.7, 19.5, 500.0, 1e6)]

# Growth of spread with depth: the full likelihood in every sigma and b, by scipy.
kinds = []
for sigma in (1.0, 2.5, 0.7):
    kinds.append([[float(d), float((sigma * np.exp(5.0 * d)) ** 2 * rng.chisquare(5) / 5), 5.0] for d in (0.05, 0.15, 0.25, 0.15)])


def minus_log_likelihood(p):
    b, total = p[0], 0.5 * (p[0] / 5.0) ** 2
    for k, readings in enumerate(kinds):
        for depth, variance, df in readings:
            v = np.exp(2 * (p[1 + k] + b * depth))
            total += 0.5 * df * (np.log(v) + variance / v)
    return total


fit = optimize.minimize(minus_log_likelihood, np.zeros(4), method="BFGS", options={"gtol": 1e-10})
growth = {"kinds": kinds, "common_per_m": float(fit.x[0])}

# Logistic regression with a ridge: scikit-learn penalises the slopes and not the level; C is the prior's
# variance. C = 1e12 is none at all; its covariance is the inverse of the information.
logistic = []
for C in (6.25, 1e12):
    x = rng.normal(0, 1, 60)
    g = rng.integers(0, 2, 60).astype(float)
    y = rng.uniform(size=60) < special.expit(0.6 - 1.4 * x + 0.5 * g)
    X = np.c_[x, g]
    m = LogisticRegression(C=C, solver="newton-cholesky", tol=1e-12, max_iter=1000).fit(X, y)
    beta = np.r_[m.intercept_, m.coef_[0]]
    A = np.c_[np.ones(60), X]
    mu = special.expit(A @ beta)
    H = A.T @ (A * (mu * (1 - mu))[:, None]) + np.diag([0, 1 / C, 1 / C])
    logistic.append({"C": C, "rows": A.tolist(), "yes": y.tolist(), "beta": beta.tolist(), "covariance": np.linalg.inv(H).tolist()})

shares = []
for k, n in ((0, 10), (3, 20), (10, 10), (77, 240), (1, 1)):
    ci = stats.binomtest(k, n).proportion_ci(0.95, method="exact")
    shares.append({"count": k, "of": n, "low": ci.low, "high": ci.high})

medians = []
for n in (6, 9, 30, 101):
    v = rng.gamma(2.0, 1.0, n)
    # The rank of the lower end: the greatest k with P(Bin(n, 1/2) < k) <= 0.025.
    k = max(j for j in range(n // 2 + 1) if stats.binom.cdf(j - 1, n, 0.5) <= 0.025)
    s = np.sort(v)
    medians.append({"values": v.tolist(), "median": float(np.median(v)), "low": float(s[k - 1]), "high": float(s[n - k])})

# Gaussian Bayes in the limit of much data: one number a signal, thousands of finds a kind.
centres, spreads, sizes = (20.0, 48.0, 55.0, 80.0), (4.0, 6.0, 5.0, 3.0), (3000, 2000, 4000, 1000)
numbers = np.concatenate([np.round(rng.normal(c, s, n)) for c, s, n in zip(centres, spreads, sizes)])
labels = np.repeat(np.arange(4), sizes)
nb = GaussianNB(var_smoothing=0).fit(numbers[:, None], labels)
ask = np.arange(10, 90, 2.0)
bayes = {"numbers": numbers.astype(int).tolist(), "labels": labels.tolist(), "ask": ask.astype(int).tolist(), "want": nb.predict_proba(ask[:, None]).tolist()}

# What was said against what was so: calibration_curve in ten even bins over every chance of every answer, and
# Brier's score for several answers.
chances = rng.dirichlet(np.ones(4) * 0.6, 300)
truths = np.array([rng.choice(4, p=0.7 * p + 0.3 * np.ones(4) / 4) for p in chances])
so = np.eye(4)[truths]
true, said = calibration_curve(so.ravel(), chances.ravel(), n_bins=10, strategy="uniform")
reliability = {"chances": chances.tolist(), "truths": truths.tolist(), "so": true.tolist(), "said": said.tolist(), "brier": float(brier_score_loss(truths, chances, labels=range(4)))}

print(json.dumps({
    "made_with": f"scikit-learn {sklearn.__version__}, scipy {scipy.__version__}, numpy {np.__version__}",
    "isotonic": isotonic, "gauge": gauge, "moderated": moderated, "trigamma": trigamma, "growth": growth,
    "logistic": logistic, "shares": shares, "medians": medians, "bayes": bayes, "reliability": reliability,
}))
