//! Intervals and tests against scipy and esda; versions in the file of values.

use scourline::chance::{
    Pair, Shrinkage, common_rate_ratio, false_discovery, fisher_exact, gamma_quantile, getis_ord, poisson_interval, rate_ratio,
};
use scourline::reading::Rate;
use serde_json::Value;

fn reference() -> Value {
    serde_json::from_str(include_str!("../../reference/reading/chance.json")).unwrap()
}

fn num(v: &Value) -> f64 {
    v.as_f64().unwrap()
}

fn list(v: &Value) -> Vec<f64> {
    v.as_array().unwrap().iter().map(num).collect()
}

fn close(got: f64, want: f64, what: &str) {
    assert!((got - want).abs() <= 1e-8 * want.abs().max(1e-30), "{what}: {got} instead of {want}");
}

/// `scipy.stats.gamma.ppf`, `chi2.ppf`.
#[test]
fn poisson_intervals_agree() {
    let r = reference();
    for g in r["gamma"].as_array().unwrap() {
        close(gamma_quantile(num(&g["shape"]), num(&g["p"])), num(&g["x"]), &g.to_string());
    }
    for g in r["garwood"].as_array().unwrap() {
        let (low, high) = poisson_interval(num(&g["count"]), 0.95);
        close(low, num(&g["low"]), &g.to_string());
        close(high, num(&g["high"]), &g.to_string());
    }
}

/// `scipy.stats.binomtest`, its exact interval turned into a ratio.
#[test]
fn rate_ratios_agree() {
    for r in reference()["ratios"].as_array().unwrap() {
        let (finds, swept) = (list(&r["finds"]), list(&r["swept"]));
        let got = rate_ratio([finds[0] as u64, finds[1] as u64], [swept[0], swept[1]]).unwrap();
        close(got.low, num(&r["low"]), &r.to_string());
        assert_eq!(got.high.is_some(), r["high"].is_number(), "{r}");
        if let Some(high) = got.high {
            close(high, num(&r["high"]), &r.to_string());
        }
        close(got.p, num(&r["p"]), &r.to_string());
    }
    assert!(rate_ratio([0, 0], [10.0, 10.0]).is_none() && rate_ratio([1, 1], [0.0, 10.0]).is_none());
}

/// `scipy.stats.binom` convolved, its tails solved with `scipy.optimize.brentq`.
#[test]
fn ratios_over_several_pairs_agree() {
    for r in reference()["strata"].as_array().unwrap() {
        let pair = |p: &Value| {
            let (finds, swept) = (list(&p["finds"]), list(&p["swept"]));
            Pair { counts: [finds[0] as u64, finds[1] as u64], exposures: [swept[0], swept[1]] }
        };
        let pairs: Vec<Pair> = r["pairs"].as_array().unwrap().iter().map(pair).collect();
        let got = common_rate_ratio(&pairs).unwrap();
        let close = |got: f64, want: &Value| assert!((got - num(want)).abs() <= 1e-6 * num(want).max(1e-9), "{got}: {r}");
        close(got.low, &r["low"]);
        close(got.p, &r["p"]);
        assert_eq!((got.high.is_some(), got.ratio.is_some()), (r["high"].is_number(), r["ratio"].is_number()), "{r}");
        got.high.into_iter().for_each(|high| close(high, &r["high"]));
        got.ratio.into_iter().for_each(|ratio| close(ratio, &r["ratio"]));
        if let [one] = pairs[..] {
            let alone = rate_ratio(one.counts, one.exposures).unwrap();
            assert!((alone.low - got.low).abs() < 1e-8 && (alone.p - got.p).abs() < 1e-8, "{alone:?} {got:?}");
        }
    }
    let none = Pair { counts: [0, 0], exposures: [10.0, 10.0] };
    let no_exposure = Pair { counts: [3, 1], exposures: [0.0, 10.0] };
    assert!(common_rate_ratio(&[none, no_exposure]).is_none() && common_rate_ratio(&[]).is_none());
    // Large counts take their shortcut and still agree with the ratio of one pair.
    let large = Pair { counts: [40_000, 30_000], exposures: [1e5, 1e5] };
    let (one, many) = (rate_ratio(large.counts, large.exposures).unwrap(), common_rate_ratio(&[large]).unwrap());
    assert!((one.low / many.low - 1.0).abs() < 1e-6 && (one.high.unwrap() / many.high.unwrap() - 1.0).abs() < 1e-6);
}

/// `scipy.stats.fisher_exact`.
#[test]
fn fisher_s_test_agrees() {
    for r in reference()["fisher"].as_array().unwrap() {
        let t: Vec<u64> = list(&r["table"]).iter().map(|v| *v as u64).collect();
        let got = fisher_exact([[t[0], t[1]], [t[2], t[3]]]);
        close(got.two_sided, num(&r["two_sided"]), &r.to_string());
        close(got.greater, num(&r["greater"]), &r.to_string());
    }
}

/// `scipy.stats.false_discovery_control`.
#[test]
fn false_discoveries_agree() {
    let r = reference();
    let q = list(&r["benjamini_hochberg"]["q"]);
    for (got, want) in false_discovery(&list(&r["benjamini_hochberg"]["p"])).iter().zip(q) {
        close(*got, want, "q");
    }
    assert!(false_discovery(&[]).is_empty());
}

/// `esda.smoothing.Empirical_Bayes`.
#[test]
fn drawn_in_rates_agree() {
    let r = &reference()["empirical_bayes"];
    let (events, base) = (list(&r["events"]), list(&r["base"]));
    let shrinkage = Shrinkage::from_counts(&events, &base).unwrap();
    for ((n, a), want) in events.iter().zip(&base).zip(list(&r["smoothed"])) {
        close(shrinkage.rate(*n, *a), want, "rate");
        let (low, high) = shrinkage.interval(*n, *a);
        assert!(low < want && want < high);
    }
    // Even ground: no spread beyond counting, so all places get the mean.
    let even = Shrinkage::from_counts(&[1.0, 1.0, 1.0], &[10.0, 10.0, 10.0]).unwrap();
    assert_eq!(even.rate(1.0, 10.0), 0.1);
}

/// `esda.getisord.G_Local` with `star=True` and binary weights on an 8 by 8 lattice.
#[test]
fn getis_ord_scores_agree() {
    let r = &reference()["getis_ord"];
    let near: Vec<Vec<usize>> =
        r["neighbours"].as_array().unwrap().iter().map(|l| list(l).iter().map(|v| *v as usize).collect()).collect();
    for (got, want) in getis_ord(&list(&r["values"]), &near).iter().zip(list(&r["z"])) {
        close(*got, want, "Gi*");
    }
    assert_eq!(getis_ord(&[1.0, 1.0], &[vec![1], vec![0]]), [0.0, 0.0]);
}

#[test]
fn nothing_searched_has_no_rate() {
    assert!(Rate::counted(3.0, 0.0).is_none() && Rate::counted(3.0, f64::NAN).is_none());
    let none_found = Rate::counted(0.0, 100.0).unwrap();
    assert_eq!((none_found.low, none_found.per_100m2), (0.0, 0.0));
    // The rule of three: -ln(0.025) = 3.69 finds at most.
    close(none_found.high, 3.688_879_454_113_936, "no find");
    // Four times the ground halves a large count's interval.
    let rate = Rate::counted(10_000.0, 1.0).unwrap();
    assert!((rate.to_halve_m2 - 3.0).abs() < 0.05, "{}", rate.to_halve_m2);
}
