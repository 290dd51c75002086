//! Readings of beaches made by the generator, held against what it planted: the small version of the
//! check over hundreds of beaches, which is the ignored test at the end.

#![allow(clippy::unwrap_used, reason = "a test may stop at once, in its helpers too")]

use rayon::prelude::*;
use scourline::Progress;
use scourline::demo::{Made, Planting};
use scourline::effort;
use scourline::reading::{Covered, Ground, Params, Reading, read};
use scourline::shore::Setting;

#[derive(Debug, Default)]
struct Score {
    lines_planted: usize,
    lines_found: usize,
    lines_told: usize,
    lines_right: usize,
    zones_planted: usize,
    zones_found: usize,
    zones_told: usize,
    zones_right: usize,
}

fn searched(planting: &Planting, replicates: usize) -> (Made, Reading) {
    let made = planting.make().unwrap();
    let book = made.book().unwrap();
    let setting = Setting::of(&book, made.beach.uid).unwrap();
    let covered = Covered::of(&book, &setting, &effort::Params::default(), &Progress::new()).unwrap();
    let ground = Ground { book: &book, setting: &setting, covered: covered.as_ref().map(|(c, _)| c), now: None };
    let reading = read(&ground, &Params { replicates, ..Params::default() }, &Progress::new()).unwrap();
    (made, reading)
}

fn score(made: &Made, reading: &Reading) -> Score {
    let truth = &made.truth;
    let of = |p| made.along_across_m(p).unwrap();
    let zone_fits = |spot: usize, z: &scourline::demo::DropZone| {
        let spot = reading.hot_spots.iter().find(|h| h.of == scourline::reading::Of::All && h.number == spot).unwrap();
        let (along, across) = of(spot.centre);
        (along - z.along_m).hypot(across - z.across_m) < 5.0 + 0.5 * z.half_across_m
    };
    let line_fits = |l: &scourline::reading::ScourLine, t: &scourline::demo::ScourLine| {
        let ends: Vec<f64> = l.line.iter().map(|p| of(*p).0).collect();
        let (from, to) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
        let overlap_m = to.min(t.along_m.1) - from.max(t.along_m.0);
        (l.level.median_m - t.level_m).abs() < 0.1 && overlap_m > 0.5 * (to - from)
    };
    Score {
        lines_planted: truth.scour_lines.len(),
        lines_found: truth.scour_lines.iter().filter(|t| reading.scour_lines.iter().any(|l| line_fits(l, t))).count(),
        lines_told: reading.scour_lines.len(),
        lines_right: reading.scour_lines.iter().filter(|l| truth.scour_lines.iter().any(|t| line_fits(l, t))).count(),
        zones_planted: truth.drop_zones.len(),
        zones_found: truth.drop_zones.iter().filter(|z| reading.drop_zones.iter().any(|d| zone_fits(d.hot_spot, z))).count(),
        zones_told: reading.drop_zones.len(),
        zones_right: reading.drop_zones.iter().filter(|d| truth.drop_zones.iter().any(|z| zone_fits(d.hot_spot, z))).count(),
    }
}

fn sum(scores: Vec<Score>) -> Score {
    scores.into_iter().fold(Score::default(), |a, b| Score {
        lines_planted: a.lines_planted + b.lines_planted,
        lines_found: a.lines_found + b.lines_found,
        lines_told: a.lines_told + b.lines_told,
        lines_right: a.lines_right + b.lines_right,
        zones_planted: a.zones_planted + b.zones_planted,
        zones_found: a.zones_found + b.zones_found,
        zones_told: a.zones_told + b.zones_told,
        zones_right: a.zones_right + b.zones_right,
    })
}

fn patterned(seeds: std::ops::Range<u64>, replicates: usize) -> Score {
    let one = |seed| {
        let (made, reading) = searched(&Planting::patterned(seed), replicates);
        let score = score(&made, &reading);
        for l in &reading.scour_lines {
            println!(
                "{seed}: told {:.0}-{:.0} level {:.2} share {:.2} q {:.3}",
                l.from_along_m, l.to_along_m, l.level.median_m, l.heavy_share, l.q
            );
        }
        for t in &made.truth.scour_lines {
            println!("{seed}: true {:?} level {:.2}", t.along_m, t.level_m);
        }
        for h in reading.hot_spots.iter().filter(|h| h.of == scourline::reading::Of::All) {
            let at = made.along_across_m(h.centre).unwrap();
            println!(
                "{seed}: spot {at:.0?} half {:.0} {:.0} seen {} of {:.1}",
                h.half_along_m, h.half_across_m, h.seen, h.expected
            );
        }
        for z in &made.truth.drop_zones {
            println!("{seed}: zone {:.0} {:.0}", z.along_m, z.across_m);
        }
        for cause in
            [scourline::demo::Cause::Scattered, scourline::demo::Cause::DropZone(0), scourline::demo::Cause::ScourLine(0)]
        {
            let of: Vec<_> = made.finds.iter().filter(|f| made.truth.cause_of[&f.uid] == cause).collect();
            let heavy = of.iter().filter(|f| f.weight_class() == scourline::book::Weight::Heavy).count();
            println!("{seed}: cause {cause:?} heavy {heavy} of {}", of.len());
        }
        for d in &reading.drop_zones {
            println!("{seed}: drop zone at spot {} {:?} {:?}", d.hot_spot, d.heavy_share, d.heavy_share_elsewhere);
        }
        println!("{seed}: {score:?} {:?}", reading.renewal);
        score
    };
    sum(seeds.into_par_iter().map(one).collect())
}

fn alarms(plantings: Vec<Planting>, replicates: usize) -> usize {
    let alarmed = |p: &Planting| {
        let (_, reading) = searched(p, replicates);
        println!("{} {:?}", p.seed, reading.renewal);
        let told = !reading.hot_spots.is_empty() || !reading.scour_lines.is_empty();
        if told {
            println!("{p:?}: {:?}", reading.hot_spots.iter().map(|h| (h.of, h.seen, h.expected, h.q)).collect::<Vec<_>>());
        }
        told
    };
    plantings.into_par_iter().filter(alarmed).count()
}

#[test]
fn the_demo_s_patterns_come_back() {
    let score = patterned(1..4, 99);
    println!("{score:?}");
}

#[test]
fn plain_and_biased_searches_raise_no_more_alarms_than_stated() {
    println!("plain {}", alarms((1..13).map(Planting::plain).collect(), 99));
    println!("biased {}", alarms((1..13).map(Planting::biased).collect(), 99));
}
