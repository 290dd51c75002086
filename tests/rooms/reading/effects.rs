//! Counts in groups that differ, against statsmodels, against numerical integration by scipy, and against a published
//! scan; how often intervals hold the truth, by simulation.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Gamma, Poisson};
use scourline::chance::{Group, Parted, Shapes, group_rate, group_ratio, likeliest_rate, likelihood_ratio};
use scourline::earth::{LonLat, distance_m};
use serde::Deserialize;

#[derive(Deserialize)]
struct Effects {
    likeliest: Vec<Fit>,
    ratio: Vec<Ratio>,
}

#[derive(Deserialize)]
struct Sides {
    n_in: f64,
    n_out: f64,
    e_in: f64,
    e_out: f64,
}

#[derive(Deserialize)]
struct Fit {
    phi: f64,
    groups: Vec<Sides>,
    rate: f64,
}

#[derive(Deserialize)]
struct Ratio {
    phi: f64,
    groups: Vec<Sides>,
    ratio: f64,
    ln_ratio_against_1: f64,
    ln_ratio_against_1_15: f64,
}

fn parted(groups: &[Sides]) -> Vec<Parted> {
    let side = |g: &Sides| Parted { inside: Group::new(g.n_in, g.e_in), outside: Group::new(g.n_out, g.e_out) };
    groups.iter().map(side).collect()
}

/// `tests/reference/reading/group_effects.py`: statsmodels fits the rate, scipy integrates and maximises the rest.
#[test]
fn the_mixed_model_agrees_with_outside_fits() {
    let reference: Effects = serde_json::from_str(include_str!("../../reference/reading/group_effects.json")).unwrap();
    for fit in &reference.likeliest {
        let groups: Vec<Group> = fit.groups.iter().map(|g| Group::new(g.n_in + g.n_out, g.e_in + g.e_out)).collect();
        let rate = likeliest_rate(&groups, fit.phi).unwrap();
        assert!((rate / fit.rate - 1.0).abs() < 1e-5, "{rate} instead of {}", fit.rate);
    }
    for r in &reference.ratio {
        let groups = parted(&r.groups);
        let told = group_ratio(&groups, &Shapes::known(r.phi)).unwrap();
        assert!((told.ratio.unwrap() / r.ratio - 1.0).abs() < 1e-3, "{told:?} instead of {}", r.ratio);
        for (margin, want) in [(1.0, r.ln_ratio_against_1), (1.15, r.ln_ratio_against_1_15)] {
            let got = likelihood_ratio(&groups, r.phi, margin);
            assert!((got - want).abs() < 1e-3 * want.max(1.0), "{got} instead of {want} beyond {margin}");
        }
    }
}

#[derive(Deserialize)]
struct Sids {
    counties: Vec<County>,
}

#[derive(Deserialize)]
struct County {
    name: String,
    births: f64,
    deaths: f64,
    lon: f64,
    lat: f64,
}

/// Infant deaths in North Carolina, 1974-78 (`sids2` of libpysal): circles round the counties' centroids of at most 11
/// counties. The clusters and their rates stand in table 1 of *International Journal of Health Geographics* 2021,
/// doi 10.1186/s12942-021-00298-6.
#[test]
fn the_scan_finds_the_published_clusters_of_infant_deaths() {
    let data: Sids = serde_json::from_str(include_str!("../../reference/reading/sids2.json")).unwrap();
    let at: Vec<LonLat> = data.counties.iter().map(|c| LonLat::new(c.lon, c.lat).unwrap()).collect();
    let (births, deaths) = data.counties.iter().fold((0.0, 0.0), |(b, d), c| (b + c.births, d + c.deaths));
    assert_eq!((births, deaths), (329_962.0, 667.0));
    let mut told: Vec<(f64, Vec<&str>, f64)> = Vec::new();
    for middle in &at {
        let mut order: Vec<usize> = (0..at.len()).collect();
        order.sort_by(|a, b| distance_m(*middle, at[*a]).total_cmp(&distance_m(*middle, at[*b])));
        let mut inside = Group::default();
        for (n, county) in order.iter().take(11).enumerate() {
            let c = &data.counties[*county];
            inside = Group::new(inside.count + c.deaths, inside.exposure + c.births);
            let outside = Group::new(deaths - inside.count, births - inside.exposure);
            // One group: nothing is known of others, so the ratio is Kulldorff's whatever the shape.
            let ratio = likelihood_ratio(&[Parted { inside, outside }], 7.0, 1.0);
            let mut names: Vec<&str> = order[..=n].iter().map(|k| data.counties[*k].name.as_str()).collect();
            names.sort_unstable();
            told.push((ratio, names, 1000.0 * inside.count / inside.exposure));
        }
    }
    told.sort_by(|a, b| b.0.total_cmp(&a.0));
    let (first, second) = (&told[0], told.iter().find(|t| t.1.iter().all(|n| !told[0].1.contains(n))).unwrap());
    assert_eq!(first.1, ["Bertie", "Halifax", "Hertford", "Northampton"]);
    assert_eq!(format!("{:.2}", first.2), "5.12");
    assert_eq!((second.1.len(), format!("{:.2}", second.2).as_str()), (6, "3.76"));
}

/// So many outings of uneven length with days that differ by `cv`.
fn drawn(rng: &mut ChaCha8Rng, outings: usize, cv: f64, rate: f64) -> Vec<Group> {
    (0..outings)
        .map(|_| {
            let exposure = rng.random_range(200.0..2500.0);
            let day = if cv > 0.0 { Gamma::new(1.0 / (cv * cv), cv * cv).unwrap().sample(rng) } else { 1.0 };
            Group::new(Poisson::new(rate * exposure * day).unwrap().sample(rng), exposure)
        })
        .collect()
}

/// At least 93 of 100 intervals hold the truth and, from twenty outings on, at most 98; wider ones would say nothing. With
/// eight outings nobody can tell days that are all alike from days that differ a little, so there they hold it more often.
#[test]
fn intervals_by_outing_hold_the_truth_as_often_as_they_say() {
    let worlds = 600;
    for (outings, cv) in [(8, 0.0), (8, 0.3), (8, 0.6), (20, 0.0), (20, 0.3), (20, 0.6), (4, 0.3)] {
        let mut rng = ChaCha8Rng::seed_from_u64(41);
        let (mut rates, mut ratios) = (0, 0);
        for _ in 0..worlds {
            let rate = rng.random_range(0.004..0.02);
            let groups = drawn(&mut rng, outings, cv, rate);
            let told = group_rate(&groups, &Shapes::from_groups(&groups)).unwrap();
            rates += usize::from(told.low <= rate && rate <= told.high);
            // The second half of the outings came after a storm that changed nothing.
            let side = |(n, g): (usize, &Group)| {
                let (inside, outside) = if n % 2 == 0 { (*g, Group::default()) } else { (Group::default(), *g) };
                Parted { inside, outside }
            };
            let sides: Vec<Parted> = groups.iter().enumerate().map(side).collect();
            let told = group_ratio(&sides, &Shapes::from_groups(&groups)).unwrap();
            ratios += usize::from(told.low <= 1.0 && told.high.is_none_or(|h| h >= 1.0));
        }
        let share = |n: usize| n as f64 / worlds as f64;
        println!("{outings} outings, days differ by {cv}: rates {:.3}, ratios {:.3}", share(rates), share(ratios));
        // The bounds with what 600 worlds may be out by, two standard errors.
        let (low, high) = (0.93 - 0.021, if outings >= 20 { 0.98 + 0.012 } else { 1.0 });
        for held in [share(rates), share(ratios)] {
            assert!((low..=high).contains(&held), "{outings} outings, days differ by {cv}: {held}");
        }
    }
}

#[test]
fn little_or_nothing_gives_wide_intervals_and_never_a_panic() {
    let shapes = Shapes::default();
    assert!(group_rate(&[], &shapes).is_none() && group_rate(&[Group::new(3.0, 0.0)], &shapes).is_none());
    let none = group_rate(&[Group::new(0.0, 100.0)], &shapes).unwrap();
    assert!(none.low == 0.0 && none.high > 0.01, "{none:?}");
    for groups in
        [vec![Group::new(1.0, 1e-300)], vec![Group::new(1e6, 1.0); 3], vec![Group::new(f64::NAN, 1.0), Group::new(2.0, 9.0)]]
    {
        let told = group_rate(&groups, &Shapes::from_groups(&groups)).unwrap();
        assert!(told.low <= told.rate && told.rate <= told.high && told.rate.is_finite(), "{told:?}");
    }
    // Three finds on one outing are known to no better than a factor of two or three, as nobody knows what day it was.
    let one = group_rate(&[Group::new(30.0, 1000.0)], &shapes).unwrap();
    assert!(one.high / one.low > 3.0, "{one:?}");
    let side = |n_in, n_out| Parted { inside: Group::new(n_in, 10.0), outside: Group::new(n_out, 10.0) };
    assert!(group_ratio(&[side(0.0, 0.0)], &shapes).is_none());
    assert!(group_ratio(&[side(3.0, 0.0)], &shapes).unwrap().high.is_none());
    assert_eq!(group_ratio(&[side(0.0, 3.0)], &shapes).unwrap().low, 0.0);
}
