//! The trial: faults of every size planted on beaches of many sorts, and sound beaches beside them.

use rayon::prelude::*;
use scourline::witness::Finding;

use super::planted::{Fault, Planted};
use super::walk::Habit;

/// Prints one line a case, for whoever works at the figures:
/// `cargo test --release --test rooms witness:: -- --ignored --nocapture`; `WITNESS_SEEDS=from,count`.
#[test]
#[ignore = "walks hundreds of beaches; for the figures, not for every day"]
fn lines() {
    let seeds = std::env::var("WITNESS_SEEDS").unwrap_or("1,40".into());
    let (from, count) = seeds.split_once(',').unwrap();
    let (from, count): (u64, u64) = (from.parse().unwrap(), count.parse().unwrap());
    (from..from + count).into_par_iter().for_each(|seed| {
        let outside = seed % 5 == 4;
        let n = (seed / 5) as usize;
        let (habit, stormy) = match (outside, seed % 5) {
            (true, _) if n % 4 == 3 => (Habit::Edge, true),
            (true, _) => (Habit::OUTSIDE[n % 4], false),
            (false, k) => (Habit::USUAL[(n + k as usize) % 5], false),
        };
        let surveyed = seed % 7 != 0;
        let planted = Planted::new(seed, habit, stormy, surveyed, 10);
        let mut faults = vec![Fault::None, Fault::Feet];
        let sign = |k: u64| if (seed / 3 + k) % 2 == 0 { 1.0 } else { -1.0 };
        for (k, m) in [0.1, 0.2, 0.3, 0.5, 0.75, 1.0, 1.5, 2.0].into_iter().enumerate() {
            faults.push(Fault::Offset(m * sign(k as u64)));
        }
        for (k, m) in [15.0, 30.0, 45.0, 60.0, 90.0, 120.0].into_iter().enumerate() {
            faults.push(Fault::Earlier(m * sign(k as u64 + 1)));
        }
        faults.push(Fault::Range(if sign(0) > 0.0 { 1.4 } else { 0.7 }));
        faults.push(if surveyed { Fault::Levels(0.5 * sign(1)) } else { Fault::Slope(if sign(1) > 0.0 { 1.4 } else { 0.7 }) });
        for fault in faults {
            let h = planted.heard(fault);
            let most = h.testimonies.iter().filter(|t| t.wet.is_some()).map(|t| t.against_nats).fold(0.0, f64::max);
            let dry = h.testimonies.iter().filter(|t| t.dry.is_some()).count();
            let shift = h.shift.map_or((f64::NAN, f64::NAN), |s| (s.higher_m, s.earlier_min));
            if std::env::var("WITNESS_EACH").is_ok() {
                for t in &h.testimonies {
                    println!("EACH {seed} {fault:?} against={:.1} wet={:?} dry={:?}", t.against_nats, t.wet.map(|w| w.shift), t.dry.map(|d| d.under_m));
                }
            }
            println!(
                "CASE {seed} {habit:?} stormy={stormy} surveyed={surveyed} range={:.1} fault={fault:?} found={:?} all={:.2} one={most:.2} agree={} dry={dry} wet={} higher={:.2} earlier={:.0} best={:?}",
                planted.range_m, h.finding, h.against_nats, h.agree, h.wet_witnesses, shift.0, shift.1, h.changes.first().map(|c| &c.change)
            );
        }
    });
    let _ = Finding::Ask;
}
