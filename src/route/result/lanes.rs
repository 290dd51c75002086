use crate::earth::Local;
use crate::route::ground::block::Candidate;
use crate::route::params::Params;
use crate::shore::{Shore, ShorePoint};

/// Kept between a lane's end and the edge of its block, metres.
const INSET_M: f64 = 0.5;

/// The lanes of a block: straight passes along the shore, one swing apart, so that each overlaps its
/// neighbour. On the ebb they follow the water down, on the flood they are driven up before it.
///
/// `from` is where the person comes from: the first lane begins at the nearer end.
pub(in crate::route) fn lanes(block: &Candidate, shore: &Shore, params: &Params, ebb: bool, from: Local) -> Vec<[Local; 2]> {
    let width_m = block.across_m.1 - block.across_m.0;
    let count = (width_m / params.lane_m()).ceil().clamp(1.0, 10_000.0) as u32;
    let (a, b) = (block.along_m.0 + INSET_M, block.along_m.1 - INSET_M);
    let across = |n: u32| {
        let n = if ebb { n } else { count - 1 - n };
        block.across_m.0 + (f64::from(n) + 0.5) * width_m / f64::from(count)
    };
    let at = |along_m, n| shore.to_local(ShorePoint::new(along_m, across(n)));
    let begin_at_b = from.distance_m(at(b, 0)) < from.distance_m(at(a, 0));
    (0..count).map(|n| if (n % 2 == 1) == begin_at_b { [at(a, n), at(b, n)] } else { [at(b, n), at(a, n)] }).collect()
}
