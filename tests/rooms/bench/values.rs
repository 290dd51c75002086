//! The bench against scikit-learn and scipy; versions in the file of values.

use scourline::bench::{Answer, DepthGauge, Evidence, Learned, MayBe, Mix, Reliability, Scatter, Sounded, growth};
use scourline::book::{Find, Kind, Uid};
use scourline::chance::{Common, Isotonic, Logistic, Share, Variance, median_interval, trigamma};
use scourline::earth::LonLat;
use serde_json::Value;

fn reference() -> Value {
    serde_json::from_str(include_str!("../../reference/bench/bench.json")).unwrap()
}

fn num(v: &Value) -> f64 {
    v.as_f64().unwrap()
}

fn list(v: &Value) -> Vec<f64> {
    v.as_array().unwrap().iter().map(num).collect()
}

fn table(v: &Value) -> Vec<Vec<f64>> {
    v.as_array().unwrap().iter().map(list).collect()
}

fn close(got: f64, want: f64, within: f64, what: &str) {
    assert!((got - want).abs() <= within * want.abs().max(1.0), "{what}: {got} instead of {want}");
}

/// `sklearn.isotonic.IsotonicRegression` with weights and ties, at, between and beyond the points.
#[test]
fn isotonic_regression_agrees_exactly() {
    for case in reference()["isotonic"].as_array().unwrap() {
        let points: Vec<_> = table(&case["points"]).iter().map(|p| (p[0], p[1], p[2])).collect();
        let line = Isotonic::fit(&points).unwrap();
        for (x, want) in list(&case["ask"]).iter().zip(list(&case["want"])) {
            close(line.at(*x), want, 1e-12, &format!("at {x}"));
        }
        assert!(line.knots().windows(2).all(|w| w[0].1 <= w[1].1), "never falls");
    }
}

/// The worked example of Robertson, Wright & Dykstra (1988), *Order restricted statistical inference*, on the size of the
/// pituitary fissure of eleven girls by age (Potthoff & Roy 1964): sizes that fall from 10 to 12 years are pooled with
/// those at 8. The eleven sizes from memory; the pool's mean is 200/9 by hand.
#[test]
fn the_textbook_s_example_of_isotonic_regression() {
    let sizes =
        [(8.0, [21.0, 23.5, 23.0].as_slice()), (10.0, &[24.0, 21.0, 25.0]), (12.0, &[21.5, 22.0, 19.0]), (14.0, &[23.5, 25.0])];
    let points: Vec<_> = sizes.iter().flat_map(|(age, sizes)| sizes.iter().map(|size| (*age, *size, 1.0))).collect();
    let line = Isotonic::fit(&points).unwrap();
    for (age, want) in [(8.0, 200.0 / 9.0), (10.0, 200.0 / 9.0), (12.0, 200.0 / 9.0), (14.0, 24.25)] {
        close(line.at(age), want, 1e-12, &format!("at {age} years"));
    }
}

/// The jackknife+ with each left-out fit by `IsotonicRegression`.
#[test]
fn gauge_depths_and_intervals_agree() {
    for case in reference()["gauge"].as_array().unwrap() {
        let steps = list(&case["steps"]);
        let pairs = steps.iter().map(|s| *s as i32).zip(list(&case["depths"])).collect();
        let gauge = DepthGauge::from_pairs(pairs).unwrap();
        for (n, step) in list(&case["ask"]).iter().enumerate() {
            let got = gauge.depth(*step as i32).unwrap();
            close(got.depth_m, list(&case["depth"])[n], 1e-12, "depth");
            let (low, high) = got.interval_m.unwrap();
            close(low, list(&case["low"])[n], 1e-12, "low");
            close(high, list(&case["high"])[n], 1e-12, "high");
        }
    }
}

/// The moment equations of Smyth (2004) solved by `scipy.optimize.brentq`; `scipy.special.polygamma`.
#[test]
fn moderated_variances_agree() {
    let r = reference();
    for t in r["trigamma"].as_array().unwrap() {
        close(trigamma(num(&t["x"])) / num(&t["want"]), 1.0, 1e-12, &t.to_string());
    }
    for case in r["moderated"].as_array().unwrap() {
        let groups: Vec<_> =
            list(&case["s2"]).into_iter().zip(list(&case["df"])).map(|(value, df)| Variance { value, df }).collect();
        let common = Common::learn(&groups).unwrap();
        close(common.value / num(&case["s0"]), 1.0, 1e-6, "s0²");
        match case["d0"].as_f64() {
            Some(d0) => close(common.df / d0, 1.0, 1e-6, "d0"),
            None => assert!(common.df.is_infinite()),
        }
    }
}

/// The whole likelihood, every sigma free, maximised by `scipy.optimize.minimize`.
#[test]
fn growth_of_spread_agrees() {
    let case = &reference()["growth"];
    let kinds: Vec<Vec<Scatter>> = case["kinds"]
        .as_array()
        .unwrap()
        .iter()
        .map(|k| table(k).iter().map(|r| Scatter { depth_m: r[0], variance: r[1], df: r[2] }).collect())
        .collect();
    close(growth(&kinds).common_per_m, num(&case["common_per_m"]), 1e-5, "b");
}

/// `sklearn.linear_model.LogisticRegression` with the ridge that a normal prior is, and without any.
#[test]
fn logistic_fits_agree() {
    for case in reference()["logistic"].as_array().unwrap() {
        let sd = num(&case["C"]).sqrt();
        let yes: Vec<bool> = case["yes"].as_array().unwrap().iter().map(|y| y.as_bool().unwrap()).collect();
        let fit = Logistic::fit(&table(&case["rows"]), &yes, &[f64::INFINITY, sd, sd]).unwrap();
        for (got, want) in fit.beta.iter().zip(list(&case["beta"])) {
            close(*got, want, 1e-7, "coefficient");
        }
        for (got, want) in fit.covariance.iter().flatten().zip(table(&case["covariance"]).into_iter().flatten()) {
            close(*got, want, 1e-6, "covariance");
        }
    }
}

/// `scipy.stats.binomtest`, exact; order statistics by `scipy.stats.binom`.
#[test]
fn shares_and_medians_agree() {
    let r = reference();
    for s in r["shares"].as_array().unwrap() {
        let got = Share::new(s["count"].as_u64().unwrap() as usize, s["of"].as_u64().unwrap() as usize);
        close(got.low, num(&s["low"]), 1e-9, &s.to_string());
        close(got.high, num(&s["high"]), 1e-9, &s.to_string());
    }
    for m in r["medians"].as_array().unwrap() {
        let (middle, low, high) = median_interval(&list(&m["values"])).unwrap();
        close(middle, num(&m["median"]), 1e-12, "median");
        close(low, num(&m["low"]), 1e-12, "low");
        close(high, num(&m["high"]), 1e-12, "high");
    }
}

/// `sklearn.naive_bayes.GaussianNB` where data abound and each signal has one number: the answers must
/// come to the same, but for half a find of prior each and the chance of something else.
#[test]
fn with_much_data_it_is_gaussian_bayes() {
    let case = &reference()["bayes"];
    let kinds = ["ring_pull", "coin", "lead", "silver_coin"].map(Kind::keyed);
    let labels = list(&case["labels"]);
    let at = LonLat::new(0.0, 0.0).unwrap();
    let beach = Uid::of_content("beach", []);
    let find = |label: f64| Find::new(beach, at, "invented", kinds[label as usize].clone());
    let finds: Vec<Find> = labels.iter().map(|l| find(*l)).collect();
    let evidence = Evidence::from_records([], finds.iter().zip(list(&case["numbers"])));
    let learned = Learned::from_evidence(evidence, "one".into(), DepthGauge::from_pairs(vec![(1, 0.1), (2, 0.2)])).unwrap();
    let mix = Mix::from_kinds(finds.iter().map(|f| f.kind.clone()));
    for (ask, want) in list(&case["ask"]).iter().zip(table(&case["want"])) {
        let ids = [*ask as i32];
        let told = learned.may_be(&Sounded { target_ids: &ids, ..Sounded::default() }, &mix).unwrap();
        let none = told.answers.iter().find(|a| a.kind.is_none()).unwrap().chance;
        for (kind, want) in kinds.iter().zip(want) {
            let got = told.answers.iter().find(|a| a.kind.as_ref() == Some(kind)).unwrap().chance / (1.0 - none);
            assert!((got - want).abs() < 0.01, "ID {ask}, {kind}: {got} instead of {want}");
        }
    }
}

/// `sklearn.calibration.calibration_curve` in ten even bins, and `sklearn.metrics.brier_score_loss` for several answers.
#[test]
fn what_was_said_and_so_agrees() {
    let case = &reference()["reliability"];
    let kinds = ["ring_pull", "coin", "lead", "silver_coin"].map(Kind::keyed);
    let mut r = Reliability::default();
    for (chances, truth) in table(&case["chances"]).iter().zip(list(&case["truths"])) {
        let answer = |(kind, chance): (&Kind, &f64)| Answer {
            kind: Some(kind.clone()),
            label: String::new(),
            chance: *chance,
            words: "",
            before: 0.25,
        };
        let told = MayBe {
            setup: String::new(),
            answers: kinds.iter().zip(chances).map(answer).collect(),
            classes: Vec::new(),
            heavy: 0.0,
            depth: None,
            ground: None,
            too_little: false,
            finds: 0,
            notes: Vec::new(),
        };
        r.take(&told, Some(&kinds[truth as usize]));
    }
    close(r.brier().unwrap(), num(&case["brier"]), 1e-12, "Brier's score");
    let tenths = r.tenths();
    assert_eq!(tenths.len(), list(&case["so"]).len());
    for (t, (so, said)) in tenths.iter().zip(list(&case["so"]).into_iter().zip(list(&case["said"]))) {
        close(t.so.share.unwrap(), so, 1e-12, "so");
        close(t.said, said, 1e-12, "said");
    }
}
