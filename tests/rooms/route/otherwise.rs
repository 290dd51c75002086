//! When things go otherwise: a worse case never prints a later time, and what falls out is told with it.

use jiff::Timestamp;
use rayon::prelude::*;
use scourline::route::{Params, Route, WhatIf};
use scourline::share::{route_card, route_document};

use super::common::{Beyond, Made, Seawards, at, beach, quick};
use super::property::random;

/// The cases of a route: late, the water 0.3 m higher, the sand 0.2 m lower.
fn cases(route: &Route) -> [&WhatIf; 3] {
    let [late, water, sand] = &route.what_if[..] else { panic!("three cases") };
    [late, water, sand]
}

/// Whether `worse` is no later than `less`; nothing is later than "no block is safe".
fn no_later(worse: Option<Timestamp>, less: Option<Timestamp>) -> bool {
    match (worse, less) {
        (None, _) => true,
        (Some(_), None) => false,
        (Some(worse), Some(less)) => worse <= less,
    }
}

#[test]
fn a_worse_case_never_prints_a_later_turn_back() {
    let tried: Vec<(usize, usize)> = (0..160_u64)
        .into_par_iter()
        .filter_map(|seed| {
            let case = random(seed);
            let route = case.made.plan_after(case.after, &case.params, &Seawards).ok()?;
            let [late, water, sand] = cases(&route);
            for w in [late, water, sand] {
                assert!(
                    no_later(w.turn_back, Some(route.turn_back)),
                    "seed {seed}: {} {:?} {}",
                    w.said,
                    w.turn_back,
                    route.turn_back
                );
                assert!(w.never_safe.iter().all(|n| w.lost.contains(n)), "seed {seed}: {w:?}");
                assert_eq!(w.turn_back.is_none(), w.never_safe.len() == route.visits.len(), "seed {seed}: {w:?}");
            }
            // 0.3 m of water is worse than 0.2 m of sand.
            assert!(no_later(water.turn_back, sand.turn_back), "seed {seed}: {:?} {:?}", water.turn_back, sand.turn_back);
            assert!(sand.never_safe.iter().all(|n| water.never_safe.contains(n)), "seed {seed}");
            assert!(late.never_safe.is_empty() && late.turn_back == Some(route.turn_back));
            let some_fall_out = !water.never_safe.is_empty() && water.turn_back.is_some();
            Some((usize::from(some_fall_out), 1))
        })
        .collect();
    let (fall_out, routes) = tried.iter().fold((0, 0), |(a, b), (x, y)| (a + x, b + y));
    // The case that once printed a later time must be among them.
    assert!(routes > 50 && fall_out > 5, "{fall_out} of {routes}");
}

/// Low flat sand that 0.3 m of water more never leaves dry, and high sand that stays.
fn two_steps() -> Made {
    let sand = |_: f64, across: f64| if across < 70.0 { 4.0 - 0.02 * across } else { 2.35 - 0.004 * (across - 70.0) };
    let mut made = beach(300.0, 110.0, 5.0, sand);
    made.tide(at(super::common::LOW), [5.8, 1.3, 5.6]);
    made.access("Steps", 60.0, 4.0);
    made
}

#[test]
fn blocks_that_are_never_dry_then_are_told_on_card_and_in_json() {
    let made = two_steps();
    let route = made.plan(&quick(), &Beyond(75.0)).unwrap();
    let [_, water, _] = cases(&route);
    assert!(!water.never_safe.is_empty() && water.never_safe.len() < route.visits.len(), "{water:?} of {}", route.visits.len());
    assert!(water.turn_back.unwrap() <= route.turn_back);
    let said = water.blocks_said();
    assert!(said.contains("never dry then") && said.contains("leave"), "{said}");
    let card = route_card(&route, &made.book, &made.setting(), &super::handed());
    assert!(card.contains(&said), "the card says: {said}");
    let document = route_document(&route, &made.setting(), &super::handed()).unwrap();
    let told: Vec<usize> =
        document["what_if"][1]["never_safe"].as_array().unwrap().iter().map(|n| n.as_u64().unwrap() as usize - 1).collect();
    assert_eq!(told, water.never_safe);
    assert_eq!(document["what_if"][1]["blocks"], said);
}

/// A plan asked anew for a slower pace printed a later time than the one before, and nothing said why.
#[test]
fn a_plan_for_a_slower_pace_says_why_it_has_other_blocks_and_ends_later() {
    let made = two_steps();
    let usual = made.plan(&quick(), &Beyond(75.0)).unwrap();
    let hour = |t: Timestamp| t.strftime("%H:%M").to_string();
    assert_eq!(usual.beside_usual(&usual, hour), None);
    let slow = Params { walk_out_m_s: 0.5, ..usual.params.clone() };
    let same = Route { params: slow.clone(), ..usual.clone() };
    assert_eq!(same.beside_usual(&usual, hour), None, "the same blocks, and no later");
    // The first block is left out, and the day is ten minutes longer.
    let minutes = |n: i64| jiff::SignedDuration::from_mins(n);
    let other = Route { visits: usual.visits[1..].to_vec(), back: usual.back + minutes(10), ..same.clone() };
    let said = other.beside_usual(&usual, hour).unwrap();
    let (n, ends) = (usual.visits.len(), [&usual, &other].map(|r| hour(r.off_sand_by())));
    assert!(n > 1 && said.starts_with("Other blocks than with your usual pace and weather"), "{said}");
    assert!(said.contains("planned for a slower pace:"), "{said}");
    assert!(said.contains(&format!(
        "has {n} blocks and is off the sand by {}, this one has {} and is off it by {}",
        ends[0],
        n - 1,
        ends[1]
    )));
    assert!(said.ends_with("it ends later for the blocks it has, and not for more time on any."), "{said}");
    // Kinder settings are nothing to be told of, whatever the blocks.
    assert_eq!(usual.beside_usual(&other, hour), None);
    // Where a block of both is to be left later, nothing is claimed of that.
    let mut longer = other.clone();
    longer.visits[0].leave_by += minutes(5);
    assert!(!longer.beside_usual(&usual, hour).unwrap().contains("No block of both"));
    let surge = scourline::tide::Surge { residual_m: slow.surge.residual_m + 0.4, ..slow.surge };
    let both = Route { params: Params { surge, ..slow }, back: usual.back + minutes(10), ..usual.clone() };
    let said = both.beside_usual(&usual, hour).unwrap();
    assert!(said.starts_with("Another way over the blocks") && said.contains("a slower pace and a higher surge"), "{said}");
}

#[test]
fn the_blocks_are_told_in_one_way() {
    let case = |lost: &[usize], never: &[usize]| WhatIf {
        said: String::new(),
        turn_back: None,
        lost: lost.to_vec(),
        never_safe: never.to_vec(),
    };
    assert_eq!(case(&[], &[]).blocks_said(), "the plan holds");
    assert_eq!(case(&[2], &[]).blocks_said(), "block 3 cannot be worked at its time");
    assert_eq!(case(&[0, 3], &[0, 3]).blocks_said(), "2 blocks are never dry then, with a dry way out (1 and 4): leave them out");
    assert_eq!(
        case(&[1, 4], &[1]).blocks_said(),
        "block 2 is never dry then, with a dry way out: leave it out; block 5 cannot be worked at its time"
    );
    let many: Vec<usize> = (0..9).collect();
    assert!(case(&many, &many).blocks_said().contains("(1, 2, 3, 4, 5, 6 and 3 more)"));
}
