//! On surveys of every honest sort: how often a runnel or channel that was left out slips through, and how much
//! honest ground is lost.

use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use scourline::earth::Local;
use scourline::shore::Shore;

use super::common::{spot, surveyed};

/// A beach for the figures: how it is surveyed, and what was left out of that.
struct Laid {
    length_m: f64,
    width_m: f64,
    sand: Box<dyn Fn(f64, f64) -> f64 + Sync>,
    spots: Vec<(f64, f64)>,
    how: &'static str,
}

fn laid(seed: u64) -> Laid {
    let mut r = ChaCha8Rng::seed_from_u64(seed);
    let (length_m, width_m): (f64, f64) = (r.random_range(200.0..500.0), r.random_range(110.0..230.0));
    let (top, foot): (f64, f64) = (r.random_range(4.0..7.0), r.random_range(-1.5..0.5));
    let bars: Vec<(f64, f64, f64)> = (0..r.random_range(0..3))
        .map(|_| (r.random_range(0.3..0.9) * width_m, r.random_range(10.0..22.0), r.random_range(-0.8..0.8)))
        .collect();
    let (wave, turn) = (r.random_range(0.0..0.25), r.random_range(15.0..80.0));
    let sand = move |along: f64, across: f64| {
        let bumps: f64 = bars.iter().map(|(at, half, high)| high * (-((across - at) / half).powi(2)).exp()).sum();
        top + (foot - top) * across / width_m + bumps + wave * (along / turn).sin()
    };
    let gauss = |r: &mut ChaCha8Rng, sd: f64| sd * ((0..12).map(|_| r.random::<f64>()).sum::<f64>() - 6.0);
    let mut spots = Vec::new();
    let how = match seed % 4 {
        0 | 1 => {
            let (apart, every) = (r.random_range(10.0..30.0), r.random_range(5.0..14.0));
            let count = (length_m / apart).round() as u32;
            for line in 0..=count {
                let along = length_m * f64::from(line) / f64::from(count);
                let mut across = -2.0;
                while across < width_m {
                    spots.push((along + gauss(&mut r, 1.0), across + gauss(&mut r, 0.7)));
                    across += every;
                }
            }
            "lines across the shore"
        }
        2 => {
            let step = r.random_range(4.0..12.0);
            let (nx, ny) = ((length_m / step) as u32, (width_m / step) as u32);
            for (x, y) in (0..=nx).flat_map(|x| (0..=ny).map(move |y| (x, y))) {
                spots.push((f64::from(x) * step + gauss(&mut r, 0.4), f64::from(y) * step + gauss(&mut r, 0.4)));
            }
            "a grid"
        }
        _ => {
            let (mut along, apart) = (0.0, r.random_range(6.0..14.0));
            let mut down = true;
            while along < length_m {
                let mut across = 0.0;
                while across < width_m {
                    let x = if down { across } else { width_m - across };
                    spots.push((along + apart * across / width_m + gauss(&mut r, 0.5), x + gauss(&mut r, 0.5)));
                    across += 5.0;
                }
                (along, down) = (along + apart, !down);
            }
            "a zigzag"
        }
    };
    Laid { length_m, width_m, sand: Box::new(sand), spots, how }
}

impl Laid {
    fn shore(&self, left_out: impl Fn(f64, f64) -> bool) -> std::sync::Arc<Shore> {
        let spots: Vec<_> = self.spots.iter().copied().filter(|(a, x)| !left_out(*a, *x)).collect();
        surveyed(self.length_m, &spots, &self.sand).setting().shore.unwrap()
    }

    /// Share of places between the survey's outermost levels that are not known.
    fn lost(&self, shore: &Shore) -> f64 {
        let (mut unknown, mut all) = (0, 0);
        let (a, x) = (self.length_m - 8.0, self.width_m - 16.0);
        for n in 0..(a / 4.0) as i32 {
            for m in 0..(x / 4.0) as i32 {
                all += 1;
                unknown += i32::from(!shore.is_known(spot(4.0 + f64::from(n) * 4.0, 4.0 + f64::from(m) * 4.0)));
            }
        }
        f64::from(unknown) / f64::from(all)
    }
}

#[derive(Default, Clone, Copy)]
struct Tally {
    beaches: u32,
    lost: f64,
    most_lost: f64,
    /// By width of what was left out, 10 to 15, to 20, to 30 and to 40 m: planted, crossed somewhere, share of its length crossed.
    runnels: [(u32, u32, f64); 4],
    channels: [(u32, u32, f64); 4],
}

fn class(wide_m: f64) -> usize {
    [15.0, 20.0, 30.0].iter().filter(|w| wide_m >= **w).count()
}

/// Whether, and over which share of its length, a strip can be crossed on known sand by someone 2 m wide.
fn crossed(shore: &Shore, length_m: f64, wide: (f64, f64), place: impl Fn(f64, f64) -> Local) -> (bool, f64) {
    let steps = (length_m / 2.0) as u32;
    let known = |n: u32| {
        let parts = (wide.1 - wide.0).ceil() as u32;
        (0..=parts).all(|m| {
            let over = wide.0 + (wide.1 - wide.0) * f64::from(m) / f64::from(parts);
            shore.is_known(place(f64::from(n) * 2.0, over))
        })
    };
    let open = (2..steps.saturating_sub(2)).filter(|n| known(*n)).count();
    (open > 0, open as f64 / f64::from(steps.max(1)))
}

fn figures(seed: u64) -> (&'static str, Tally) {
    let laid = laid(seed);
    let mut r = ChaCha8Rng::seed_from_u64(seed ^ 0x5EED);
    let mut tally = Tally { beaches: 1, ..Tally::default() };
    tally.lost = laid.lost(&laid.shore(|_, _| false));
    tally.most_lost = tally.lost;
    if tally.lost > 0.1 {
        println!(
            "  seed {seed}, {}: {:.1} % lost, {} levels on {:.0} m by {:.0} m",
            laid.how,
            100.0 * tally.lost,
            laid.spots.len(),
            laid.length_m,
            laid.width_m
        );
    }
    let wide = r.random_range(10.0..40.0);
    let at = r.random_range(25.0..laid.width_m - 25.0 - wide);
    let shore = laid.shore(|_, x| (at..at + wide).contains(&x));
    let (any, share) = crossed(&shore, laid.length_m, (at, at + wide), spot);
    tally.runnels[class(wide)] = (1, u32::from(any), share);
    let at = r.random_range(30.0..laid.length_m - 30.0 - wide);
    let shore = laid.shore(|a, _| (at..at + wide).contains(&a));
    let (any, share) = crossed(&shore, laid.width_m, (at, at + wide), |x, a| spot(a, x));
    tally.channels[class(wide)] = (1, u32::from(any), share);
    (laid.how, tally)
}

fn add(a: &mut Tally, b: Tally) {
    a.beaches += b.beaches;
    a.lost += b.lost;
    a.most_lost = a.most_lost.max(b.most_lost);
    for (x, y) in a.runnels.iter_mut().zip(b.runnels).chain(a.channels.iter_mut().zip(b.channels)) {
        *x = (x.0 + y.0, x.1 + y.1, x.2 + y.2);
    }
}

fn trial(seeds: std::ops::Range<u64>) -> std::collections::BTreeMap<&'static str, Tally> {
    let all: Vec<_> = seeds.into_par_iter().map(figures).collect();
    let mut by = std::collections::BTreeMap::<_, Tally>::new();
    for (how, tally) in all {
        add(by.entry(how).or_default(), tally);
        add(by.entry("all together").or_default(), tally);
    }
    for (how, t) in &by {
        println!(
            "{how}: {} beaches, honest ground lost {:.1} % (most {:.1} %)",
            t.beaches,
            100.0 * t.lost / f64::from(t.beaches),
            100.0 * t.most_lost
        );
        for (what, rows) in [("runnel along", t.runnels), ("channel through", t.channels)] {
            for (wide, (planted, crossed, share)) in ["10 to 15", "15 to 20", "20 to 30", "30 to 40"].iter().zip(rows) {
                let n = f64::from(planted.max(1));
                println!(
                    "  {what}, {wide} m wide, left out: {planted}; can be crossed somewhere {:.1} %, over {:.1} % of its length",
                    100.0 * f64::from(crossed) / n,
                    100.0 * share / n
                );
            }
        }
    }
    by
}

/// Every day a few; all of them with [`two_thousand_surveys`].
#[test]
fn few_strips_that_were_left_out_are_crossed_and_little_honest_ground_is_lost() {
    let t = trial(0..80)["all together"];
    assert!(t.lost / f64::from(t.beaches) < 0.05, "{}", t.lost);
    for rows in [t.runnels, t.channels] {
        let wide = rows[2].0 + rows[3].0;
        assert!(wide > 20 && (rows[2].2 + rows[3].2) / f64::from(wide) < 0.02, "{rows:?}");
    }
}

/// `cargo test --release --test rooms two_thousand_surveys -- --ignored --nocapture`, with `SCOURLINE_SURVEYS=first,count`
/// for other seeds than 0 to 1,999.
#[test]
#[ignore = "takes minutes; its command stands above"]
fn two_thousand_surveys() {
    let seeds = std::env::var("SCOURLINE_SURVEYS").unwrap_or("0,2000".into());
    let (first, count) = seeds.split_once(',').unwrap();
    let (first, count): (u64, u64) = (first.parse().unwrap(), count.parse().unwrap());
    trial(first..first + count);
}
