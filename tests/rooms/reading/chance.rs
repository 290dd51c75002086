//! Intervals and tests against scipy and esda; versions in the file of values.

use scourline::chance::{Shrinkage, false_discovery, fisher_exact, gamma_quantile, getis_ord, poisson_interval};
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
