use crate::Cancelled;
use crate::shore::{ACROSS_MOST_M, ALONG_MOST_M, ShoreError};

/// Why there is no route.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RouteError {
    /// A setting that cannot be.
    #[error("the setting \"{what}\" cannot be used: {why}")]
    Parameter {
        /// The setting.
        what: &'static str,
        /// What is wrong with it.
        why: String,
    },
    /// Something it would stand on must not be believed as it stands.
    #[error("no route is planned on \"{beach}\" until this is settled: {said}")]
    Unsettled {
        /// The beach.
        beach: String,
        /// What is doubted, and what settles it.
        said: String,
    },
    /// What the water about the low is read from must not be believed as it stands.
    #[error("no route is planned at the low water of {low} on \"{beach}\" until this is settled: {said}")]
    LowUnsettled {
        /// The beach.
        beach: String,
        /// When the low is, on the beach's clock.
        low: String,
        /// What is doubted, and what settles it.
        said: String,
    },
    /// The beach has no tide source.
    #[error("no route can be planned on \"{beach}\": it has no tide source; choose a station near it or import a tide table")]
    NoTide {
        /// The beach.
        beach: String,
    },
    /// The tide source does not reach so far.
    #[error("no route can be planned on \"{beach}\": its tide table does not reach to the time asked for; import a later one")]
    TideEnds {
        /// The beach.
        beach: String,
    },
    /// Sand and water cannot be joined, or there is no shape at all.
    #[error("no route can be planned: {0}")]
    Shore(#[from] ShoreError),
    /// Nobody surveyed the sand, or not closely enough.
    #[error("no route can be planned on \"{beach}\": {why}")]
    NotSurveyed {
        /// The beach.
        beach: String,
        /// What is missing, and what survey would mend it.
        why: String,
    },
    /// Nobody knows how one comes onto the beach.
    #[error("no route can be planned on \"{beach}\": it has no access; mark where people come onto the sand")]
    NoAccess {
        /// The beach.
        beach: String,
    },
    /// The accesses lie apart from the ground whose level is known.
    #[error(
        "no route can be planned on \"{beach}\": no access lies within {link_m:.0} m of sand whose level is known with nothing in between; survey the sand there or move the access"
    )]
    AccessApart {
        /// The beach.
        beach: String,
        /// How far an access may lie, metres.
        link_m: f64,
    },
    /// Every access is under water at the low.
    #[error(
        "no route can be planned on \"{beach}\": every access is under water even at low water, with {margin_m:.2} m of margin and the sand taken as low as its survey leaves open; check the levels, the datum offset and the sea you expect"
    )]
    AccessUnderWater {
        /// The beach.
        beach: String,
        /// Margin between sand and water, metres.
        margin_m: f64,
    },
    /// The access that was chosen cannot be used at this low.
    #[error(
        "no route can be planned on \"{beach}\" by the access \"{access}\": at this low it is not joined to dry sand; choose another"
    )]
    AccessShut {
        /// The beach.
        beach: String,
        /// The access.
        access: String,
    },
    /// The spot to set out from is not on the walking ground.
    #[error(
        "no route on \"{beach}\" can set out from the spot chosen: it is not on open sand whose level is known; choose another or an access"
    )]
    StartOff {
        /// The beach.
        beach: String,
    },
    /// The spot to set out from is not safe.
    #[error(
        "no route on \"{beach}\" can set out from the spot chosen at {time}: no way out from there stays dry long enough then; do not be there"
    )]
    StartUnsafe {
        /// The beach.
        beach: String,
        /// When, on the beach's clock.
        time: String,
    },
    /// There is no low water to plan for.
    #[error("there is no low water at \"{beach}\" within two days of the time asked for")]
    NoLow {
        /// The beach.
        beach: String,
    },
    /// The spot to set out from is not on this beach at all.
    #[error("no route on \"{beach}\" can set out from the spot chosen: it lies {away} from the beach{swapped}")]
    StartFar {
        /// The beach.
        beach: String,
        /// How far, in words.
        away: String,
        /// That longitude and latitude are swapped, where they are.
        swapped: &'static str,
    },
    /// It is dark where and when one would set out.
    #[error(
        "no route on \"{beach}\" can set out from the spot chosen at {time}: it is dark then; carry a head-torch or choose an hour of light"
    )]
    StartDark {
        /// The beach.
        beach: String,
        /// When, on the beach's clock.
        time: String,
    },
    /// While an access is dry, it is dark.
    #[error(
        "no route can be planned on \"{beach}\" at this low: whenever an access is dry it is dark; carry a head-torch or choose another low"
    )]
    DarkAccess {
        /// The beach.
        beach: String,
    },
    /// The low is in the dark.
    #[error("the low water at \"{beach}\" on {low} is in the dark; carry a head-torch or choose another low")]
    Dark {
        /// The beach.
        beach: String,
        /// When the low is, on the beach's clock.
        low: String,
    },
    /// The light of the low is over by the time asked for.
    #[error(
        "the light about the low water at \"{beach}\" on {low} is over at the time asked for, {after}; carry a head-torch, set out earlier or choose another low"
    )]
    TooLate {
        /// The beach.
        beach: String,
        /// When the low is, on the beach's clock.
        low: String,
        /// From when on one would set out, on the beach's clock.
        after: String,
    },
    /// Nothing falls dry.
    #[error("nothing of \"{beach}\" falls dry at the low water on {low} with {margin_m:.2} m of margin and a dry way out")]
    NeverDry {
        /// The beach.
        beach: String,
        /// When the low is, on the beach's clock.
        low: String,
        /// Margin for run-up and weather, metres.
        margin_m: f64,
    },
    /// No permission holds there and then.
    #[error(
        "no permission for \"{beach}\" covers the ground, day and hours of the low water on {day}; check its area, dates and hours"
    )]
    OutsidePermission {
        /// The beach.
        beach: String,
        /// The low, on the beach's clock.
        day: String,
    },
    /// No ground remains to be searched.
    #[error("no ground of \"{beach}\" can be searched at this low: {why}")]
    NoGround {
        /// The beach.
        beach: String,
        /// What takes it away.
        why: String,
    },
    /// Ground could be searched, and nothing is expected of it.
    #[error(
        "nothing is expected of the ground of \"{beach}\" that can be searched at this low, as your outings there found nothing: give what learning of unsure ground is worth to you (`--explore 1`), keep a block in by hand, or log the finds that were made"
    )]
    NothingWorth {
        /// The beach.
        beach: String,
    },
    /// The check found fault with every route that was tried.
    #[error("no route on \"{beach}\" passed the safety check, so none is shown: {said}")]
    NotSafe {
        /// The beach.
        beach: String,
        /// What the check found.
        said: String,
    },
    /// The work was called off.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}

impl RouteError {
    /// Why a low is passed over, beside doubts that say the rest.
    pub(super) fn why_passed_over(&self) -> String {
        match self {
            Self::LowUnsettled { .. } => "what its water is read from is doubted, and not settled".to_owned(),
            other => other.to_string(),
        }
    }

    /// The level of the sand is only an even slope.
    pub(super) fn only_slope(beach: &str) -> Self {
        let why = format!(
            "the level of its sand is only an even slope, which shows no runnel and no channel; survey levels on lines across the shore at most {ALONG_MOST_M:.0} m apart, one at least every {ACROSS_MOST_M:.0} m from the access down to the low water's edge, and through every runnel"
        );
        Self::NotSurveyed { beach: beach.to_owned(), why }
    }
}
