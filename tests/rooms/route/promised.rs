//! What a route promises: that which the beach gave, by the model of the reading, with its whole spread.

use super::common::{Made, at, quick};
use super::open_beach;
use jiff::{SignedDuration, Timestamp};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use scourline::Progress;
use scourline::book::{Beach, Find, Kind, Outing, TideChoice, Uid};
use scourline::earth::Local;
use scourline::reading::{Covered, CoveredCell, Ground, KnownGround, Params, Reading, Visit, count};
use scourline::route::{Asked, ByBand, Expected, Place, Worth, on_nine_days_in_ten, plan};
use scourline::shore::Setting;
use scourline::tide::Catalogue;

const SQUARE_M: f64 = 5.0;

/// Searches a stretch from `from` to `to` along and across, every square of it, and finds one thing on 100 m².
fn search(
    made: &mut Made,
    covered: &mut Covered,
    start: Timestamp,
    (along, across): ((u32, u32), (u32, u32)),
    rng: &mut ChaCha8Rng,
) {
    let outing = Outing::new(made.beach.uid, start, start + SignedDuration::from_hours(3));
    made.put(outing.clone());
    for (i, j) in (along.0..along.1).flat_map(|i| (across.0..across.1).map(move |j| (i, j))) {
        let (along_m, across_m) = ((f64::from(i) + 0.5) * SQUARE_M, (f64::from(j) + 0.5) * SQUARE_M);
        let known = covered.cells.iter().position(|c| c.along_m == along_m && c.across_m == across_m);
        let swept_m2 = SQUARE_M * SQUARE_M;
        let cell = known.unwrap_or_else(|| {
            covered.cells.push(CoveredCell { along_m, across_m, swept_m2, passes: 1.0 });
            covered.cells.len() - 1
        });
        let fresh_m2 = if known.is_some() { 0.0 } else { swept_m2 };
        covered.visits.push(Visit { cell, outing: Some(outing.uid), swept_m2, fresh_m2 });
    }
    for n in 0..(along.1 - along.0) * (across.1 - across.0) / 4 {
        let within = |(from, to): (u32, u32), rng: &mut ChaCha8Rng| SQUARE_M * rng.random_range(f64::from(from)..f64::from(to));
        let place = made.place(within(along, rng), within(across, rng));
        let find = Find::new(made.beach.uid, place, "coin", Kind::keyed("coin"));
        let uid = Uid::of_content("find", [start.to_string().as_bytes(), &n.to_le_bytes()[..]]);
        made.put(Find { uid, outing: Some(outing.uid), ..find });
    }
}

fn rates(made: &Made, setting: &Setting, covered: &Covered, now: Timestamp) -> Reading {
    let ground = Ground { book: &(&made.book).into(), setting, covered: Some(covered), now: Some(now) };
    // Counts and rates alone are wanted.
    let (params, progress) = (Params::default(), Progress::new());
    let known = KnownGround::new(setting, &ground.book.into(), covered, params.scan_cell_m);
    let counted = count(&ground, Some(&known), &params, &progress).unwrap();
    counted.reading
}

/// Finds of all visits were once divided by ground swept at least once: five outings to the same ground made its rate
/// five times the truth, and a route on it promised as much.
#[test]
fn ground_searched_five_times_promises_what_one_visit_gives() {
    let mut made = open_beach();
    let station = Catalogue::shipped().nearest(made.beach.origin, 1)[0].0.id.clone();
    made.put(Beach { tide: TideChoice::Station(station), ..made.beach.clone() });
    let (mut covered, mut rng) =
        (Covered { cell_m: SQUARE_M, cells: vec![], visits: vec![], searched: vec![] }, ChaCha8Rng::seed_from_u64(11));
    let (first, week) = (at("2026-05-10T10:00:00Z"), SignedDuration::from_hours(7 * 24));
    for n in 0..5 {
        search(&mut made, &mut covered, first + week * n, ((10, 60), (4, 10)), &mut rng);
    }
    search(&mut made, &mut covered, first + week * 5, ((10, 60), (16, 21)), &mut rng);
    let (setting, after) = (made.setting(), first + week * 6);
    let reading = rates(&made, &setting, &covered, after);
    let rated: Vec<_> = reading.bands.iter().filter(|b| !b.gave.too_little).collect();
    assert!(rated.len() >= 2, "{:?}", reading.bands);
    for band in rated {
        let rate = band.gave.rate.unwrap();
        assert!(rate.low <= 1.0 && rate.high >= 1.0, "{}: {rate:?}", band.name);
    }
    let params = quick();
    let worth = ByBand::new(&setting, Some(&reading), Some(&covered), params.prior_per_100m2, params.detection);
    let asked = Asked {
        book: &(&made.book).into(),
        setting: &setting,
        worth: &worth,
        after,
        hours: None,
        low: None,
        doubts: &[],
        params: &params,
    };
    let route = plan(&asked, &Progress::new()).unwrap();
    let truth = route.swept_m2 / 100.0;
    let (low, high) = on_nine_days_in_ten(route.finds, route.finds_sd);
    assert!((low..=high).contains(&truth), "{} ({low} to {high}) promised, {truth} there", route.finds);
    // A range as wide as the beach would hold anything.
    assert!((0.6..=1.5).contains(&(route.finds / truth)) && high < 4.0 * truth, "{} of {truth}, up to {high}", route.finds);
}

/// One find on 100 m², not known by so much: of all ground alike, of each place alone, and of the day.
struct Unsure {
    shared_sd: f64,
    own_sd: f64,
    day_variance: f64,
}

impl Worth for Unsure {
    fn expected(&self, _at: Local, _when: Timestamp) -> Expected {
        Expected { per_100m2: 1.0, sd_per_100m2: self.shared_sd, own_sd_per_100m2: self.own_sd }
    }
    fn place(&self, at: Local) -> Place {
        ((at.east_m / 10.0).floor() as i64, (at.north_m / 10.0).floor() as i64)
    }
    fn day_variance(&self) -> f64 {
        self.day_variance
    }
    fn said(&self) -> String {
        "Invented: one everywhere.".to_owned()
    }
}

#[test]
fn what_is_shared_by_all_blocks_adds_up_and_what_is_a_places_own_averages_out() {
    let made = open_beach();
    let beyond_luck = |shared_sd, own_sd, day_variance| {
        let route = made.plan(&quick(), &Unsure { shared_sd, own_sd, day_variance }).unwrap();
        assert!(route.visits.len() > 5);
        let beyond = |finds: f64, sd: f64| (sd * sd - finds).max(0.0).sqrt() / finds;
        (beyond(route.finds, route.finds_sd), beyond(route.visits[0].finds, route.visits[0].finds_sd), route.visits.len() as f64)
    };
    let (luck, _, _) = beyond_luck(0.0, 0.0, 0.0);
    assert!(luck < 1e-6, "{luck}");
    for (shared_sd, day_variance) in [(0.5, 0.0), (0.0, 0.25)] {
        let (all, one, _) = beyond_luck(shared_sd, 0.0, day_variance);
        assert!((all - 0.5).abs() < 1e-6 && (one - 0.5).abs() < 1e-6, "{all} {one}");
    }
    // Two places of 10 m make a block of 20 m by 10 m.
    let (all, one, blocks) = beyond_luck(0.0, 0.5, 0.0);
    assert!((one - 0.5 / 2_f64.sqrt()).abs() < 1e-6 && (all - one / blocks.sqrt()).abs() < 0.02 * one, "{all} {one} of {blocks}");
}
