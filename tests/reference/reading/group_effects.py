"""Values for tests/rooms/reading/chance.rs by scipy and statsmodels. Run: python group_effects.py > group_effects.json

Counts in groups with a gamma effect each are negative binomial (Lawless 1987, *Negative binomial and mixed Poisson
regression*). `likeliest` fits rate and dispersion by statsmodels; `ratio` maximises the marginal likelihood by scipy, the
likelihood itself by numerical integration over the effect of each group, not by the closed form.
"""

import json
import warnings

import numpy as np
import scipy
import statsmodels
import statsmodels.api as sm
from scipy import integrate, optimize, stats

warnings.filterwarnings("ignore")
rng = np.random.default_rng(20)


def drawn(groups, phi, rate, ratio, share):
    exposure = rng.uniform(200, 3000, groups)
    inside = exposure * rng.uniform(0, share, groups)
    effect = rng.gamma(phi, 1 / phi, groups)
    n_in = rng.poisson(effect * rate * ratio * inside)
    n_out = rng.poisson(effect * rate * (exposure - inside))
    return [
        {"n_in": int(a), "n_out": int(b), "e_in": float(i), "e_out": float(e - i)}
        for a, b, i, e in zip(n_in, n_out, inside, exposure)
    ]


def fitted(sets):
    """Rate at known dispersion, by statsmodels' generalised linear model with a negative binomial family."""
    for phi, groups in sets:
        n = np.array([g["n_in"] + g["n_out"] for g in groups], float)
        e = np.array([g["e_in"] + g["e_out"] for g in groups])
        fit = sm.GLM(n, np.ones((len(n), 1)), sm.families.NegativeBinomial(alpha=1 / phi), exposure=e).fit()
        yield {"phi": phi, "groups": groups, "rate": float(np.exp(fit.params[0]))}


def ln_likelihood(groups, b, r, phi):
    total = 0.0
    for g in groups:
        mean = b * (g["e_out"] + r * g["e_in"])
        n = g["n_in"] + g["n_out"]

        def at(a):
            return np.exp(stats.poisson.logpmf(n, a * mean) + stats.gamma.logpdf(a, phi, scale=1 / phi))

        peak = (n + phi) / (mean + phi)
        total += np.log(integrate.quad(at, 0, 12 * peak + 3, points=[peak / 2, peak, 2 * peak], limit=200)[0])
        # Given their sum, those inside are binomial.
        share = r * g["e_in"] / (g["e_out"] + r * g["e_in"])
        total += stats.binom.logpmf(g["n_in"], n, share)
    return total


def ratios(sets):
    for phi, groups in sets:
        n = sum(g["n_in"] + g["n_out"] for g in groups)
        b0 = n / sum(g["e_in"] + g["e_out"] for g in groups)

        def profile(r):
            best = optimize.minimize_scalar(lambda lb: -ln_likelihood(groups, np.exp(lb), r, phi), bounds=(np.log(b0) - 2, np.log(b0) + 2), method="bounded", options={"xatol": 1e-7})
            return -best.fun

        best = optimize.minimize_scalar(lambda lr: -profile(np.exp(lr)), bounds=(-2, 3), method="bounded", options={"xatol": 1e-5})
        r = float(np.exp(best.x))
        yield {
            "phi": phi,
            "groups": groups,
            "ratio": r,
            "ln_ratio_against_1": float(-best.fun - profile(1.0)) if r > 1 else 0.0,
            "ln_ratio_against_1_15": float(-best.fun - profile(1.15)) if r > 1.15 else 0.0,
        }


sets = [(phi, drawn(groups, phi, 0.004, ratio, share)) for phi, groups, ratio, share in ((0.5, 6, 3.0, 0.3), (2.0, 12, 2.5, 0.2), (8.0, 20, 1.0, 0.4), (50.0, 9, 4.0, 0.1), (10_000.0, 15, 1.6, 0.5))]
print(json.dumps({"made_by": f"scipy {scipy.__version__}, statsmodels {statsmodels.__version__}", "likeliest": list(fitted(sets)), "ratio": list(ratios(sets))}, indent=1))
