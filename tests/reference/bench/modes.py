"""Simulated benches for tests/rooms/bench/modes.rs, and how scikit-learn answers new signals on the same readings.

Six benches, drawn wide: iron that falses high, numbers that wrap at the end of the scale, targets that bounce
between places. Everything is invented. That iron does so is common practice, no published source.
Run: python modes.py > modes.json; with --seed N --benches M other benches, for tuning.
"""

import argparse
import json

import numpy as np
import sklearn
from sklearn.mixture import GaussianMixture
from sklearn.model_selection import GridSearchCV, LeaveOneGroupOut
from sklearn.neighbors import KernelDensity

SCALES = [(-10, 99), (0, 40), (0, 99), (-64, 64), (0, 199)]
DEPTHS = np.array([0.05, 0.10, 0.15, 0.20, 0.25, 0.30])


class Kind:
    """How one kind of thing sounds: place, how its targets differ, how its passes scatter."""

    def __init__(self, rng, sort, low, high):
        span = high - low
        self.sort, self.low, self.high = sort, low, high
        self.between = span * rng.uniform(0.01, 0.05)
        self.passes = span * rng.uniform(0.004, 0.025)
        self.growth = rng.uniform(0, 7)
        self.centre = rng.uniform(low + 0.1 * span, high - 0.1 * span)
        if sort == "iron":
            self.centre = low + span * rng.uniform(0.02, 0.2)
            self.falses = rng.uniform(0.15, 0.6)
            self.top, self.top_sd = high - span * rng.uniform(0.02, 0.3), span * rng.uniform(0.02, 0.1)
        elif sort == "wrap":
            self.centre = (low if rng.uniform() < 0.5 else high) + span * rng.uniform(-0.015, 0.015)
        elif sort == "bounce":
            places = rng.integers(2, 4)
            self.places = rng.uniform(low + 0.05 * span, high - 0.05 * span, places)
            self.mix = rng.dirichlet(np.ones(places) * 2)

    def target(self, rng):
        target = {"place": rng.normal(self.centre, self.between), "shift": rng.normal(0, self.between)}
        if self.sort == "iron":
            target["falses"] = rng.beta(4 * self.falses, 4 * (1 - self.falses))
        if self.sort == "bounce":
            target["mix"] = rng.dirichlet(6 * self.mix + 0.05)
        return target

    def read(self, target, depth_m, count, rng):
        sd = self.passes * np.exp(self.growth * (depth_m - 0.1))
        numbers = []
        for _ in range(count):
            if self.sort == "iron" and rng.uniform() < min(1, target["falses"] * (1 + 2 * (depth_m - 0.1))):
                number = rng.normal(self.top + target["shift"], self.top_sd)
            elif self.sort == "bounce":
                number = rng.normal(self.places[rng.choice(len(self.places), p=target["mix"])] + target["shift"], sd)
            else:
                number = rng.normal(target["place"], sd)
            if self.sort == "wrap":
                number = self.low + (number - self.low) % (self.high - self.low)
            numbers.append(int(np.clip(round(number), self.low, self.high)))
        return numbers


def bench(rng, signals=30):
    low, high = SCALES[rng.integers(len(SCALES))]
    count = rng.integers(5, 9)
    more = ["plain", "plain", "plain", "plain", "bounce", "wrap", "iron"]
    sorts = ["iron", str(rng.choice(["wrap", "bounce"])), *[str(rng.choice(more)) for _ in range(count - 2)]]
    kinds = [Kind(rng, sort, low, high) for sort in sorts]
    readings = []
    for k, kind in enumerate(kinds):
        for t in range(rng.integers(2, 7)):
            target = kind.target(rng)
            for depth_m in sorted(rng.choice(DEPTHS, rng.integers(2, 5), replace=False)):
                readings.append((k, t, float(depth_m), kind.read(target, depth_m, rng.integers(3, 7), rng)))
    heard = []
    for _ in range(signals):
        # A new target, at a depth of its own: no reading of the bench is of it.
        k, depth_m = int(rng.integers(count)), float(rng.choice(DEPTHS))
        heard.append((k, depth_m, kinds[k].read(kinds[k].target(rng), depth_m, rng.integers(2, 7), rng)))
    return {"sorts": sorts, "readings": readings, "signals": heard}


def by_kind(bench, kind):
    of = [r for r in bench["readings"] if r[0] == kind]
    numbers = np.array([n for r in of for n in r[3]], float)[:, None]
    return numbers, np.array([r[1] for r in of for _ in r[3]])


def kernel(numbers, targets):
    """Its width by cross-validation that leaves targets out."""
    widths = {"bandwidth": np.geomspace(0.5, 30, 15)}
    return GridSearchCV(KernelDensity(), widths, cv=LeaveOneGroupOut()).fit(numbers, groups=targets).best_estimator_


def mixture(numbers, _targets):
    """The number of its parts by BIC."""
    room = min(4, len(np.unique(numbers)), len(numbers) // 4)
    tried = [GaussianMixture(n, random_state=0, reg_covar=0.1).fit(numbers) for n in range(1, max(1, room) + 1)]
    return min(tried, key=lambda m: m.bic(numbers))


def ln_scores(bench, fit, even=0.05, counts=1.0):
    """ln of the chance given to what each signal was, every kind as likely before. `even` is a share of each
    number's density spread evenly over the scale, without which one odd number alone costs thousands; `counts` is
    what each number counts for: numbers of one target hang together, so the whole of them says less than they would
    apart. Both only help scikit-learn."""
    models = [fit(*by_kind(bench, k)) for k in range(len(bench["sorts"]))]
    everything = [n for r in bench["readings"] for n in r[3]]
    flat = 1.0 / (max(everything) - min(everything) + 10.0)
    scores = []
    for kind, _, ids in bench["signals"]:
        numbers = np.array(ids, float)[:, None]
        each = [np.exp(m.score_samples(numbers)) * (1 - even) + even * flat for m in models]
        ln = counts * np.array([np.log(e).sum() for e in each])
        scores.append(float(ln[kind] - ln.max() - np.log(np.exp(ln - ln.max()).sum())))
    return scores


if __name__ == "__main__":
    ask = argparse.ArgumentParser()
    ask.add_argument("--seed", type=int, default=15)
    ask.add_argument("--benches", type=int, default=6)
    asked = ask.parse_args()
    benches = [bench(np.random.default_rng(asked.seed + n)) for n in range(asked.benches)]
    for b in benches:
        b["kernel"], b["mixture"] = ln_scores(b, kernel), ln_scores(b, mixture)
        b["kernel_less"], b["mixture_less"] = ln_scores(b, kernel, counts=0.35), ln_scores(b, mixture, counts=0.35)
    rounded = json.loads(json.dumps({"made_with": f"scikit-learn {sklearn.__version__}, numpy {np.__version__}", "seed": asked.seed, "benches": benches}), parse_float=lambda f: round(float(f), 4))
    print(json.dumps(rounded, separators=(",", ":")))
