//! The offset between land datum and tide datum: whether it can be.
//!
//! Too large an offset lifts the sand above the water, and that drowns people; too small a one costs them ground. So
//! what errs to the high side blocks.

use super::place::is_turned;
use super::twice::Twice;
use super::{Doubt, Weight};
use crate::book::{Beach, TideChoice};
use crate::tide::{Catalogue, Datum, Levels, Station, Water};

/// A foot, metres.
const FOOT_M: f64 = 0.3048;
/// An offset this far from every one that the station's publisher ties its datum by is doubted, metres (a judgement:
/// datums differ by centimetres within the reach of a station).
const PUBLISHED_M: f64 = 0.3;
/// Read as feet an offset is one that is published where it comes this near to it, metres: it is typed to a tenth of a foot ...
const FEET_FIT_M: f64 = 0.1;
/// ... and read as it stands it is that of a surface known here within this, metres: then it is no slip of the unit.
const NAMED_FIT_M: f64 = 0.25;
/// The zero of national land levels lies about this near to mean sea level (common practice, no published source; so do
/// 84 in 100 of the 622 land datums that stations of the catalogue tie to it, 96 in 100 within a metre and a half).
const NEAR_MEAN_M: f64 = 1.0;
/// Farther from mean sea level than this it is not only asked but blocks, metres (a judgement).
const FAR_FROM_MEAN_M: f64 = 1.5;
/// Sand that reaches over less than this part of the way from mean low to mean high water is none between the tides.
const LEAST_BETWEEN: f64 = 0.05;
/// Sand so far under the lowest tide was levelled by nobody on foot, metres.
const UNDER_WATER_M: f64 = 1.0;
/// Levels so far under the lowest tide are of no beach, metres (a judgement: a lidar survey with the sea bed in it sees
/// some ten metres down in clear water, common practice).
const TOO_DEEP_M: f64 = 15.0;
/// Nor are those so far above mean high water, metres: cliffs are not levelled for a beach (a judgement).
const TOO_TALL_M: f64 = 30.0;
/// ... where they span more than so many times what the tide ranges.
const SPAN_TIMES: f64 = 3.0;
/// The back of a beach stands at most so far above mean high water, metres: storm ridges and dune feet reach some four
/// metres (common practice, no published source).
const BACK_M: f64 = 6.0;

/// Sand seaward of the baseline that tops out so far above high water of springs can be in feet, metres (a judgement: dune
/// fronts do too, and whoever levelled one confirms it), ...
const HIGH_SAND_M: f64 = 6.0;
/// ... if read as feet it tops out this near to it, metres (common practice, no published source: the back of a beach), ...
const NEAR_HIGH_M: f64 = 3.0;
/// ... and then falls seaward as beaches do, metres a metre (common practice, no published source: between sand flats and
/// coarse sand).
const BEACH_FALLS: std::ops::RangeInclusive<f64> = 0.003..=0.2;

/// Lowest and highest sand, metres above land datum.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SandSpan {
    /// Lowest.
    pub low_m: f64,
    /// Highest.
    pub high_m: f64,
    /// How far the levels fall seaward from the first to the last of them, along a straight line through them all;
    /// negative where they rise. `None` where too few were surveyed.
    pub fall_m: Option<f64>,
    /// The surveyed sand seaward of the baseline alone: a cliff behind it is no beach. `None` where there is too little.
    pub front: Option<SandFront>,
}

/// The surveyed sand seaward of the baseline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SandFront {
    /// The level that all but a few strays of it lie under, metres above land datum.
    pub top_m: f64,
    /// How steeply it falls seaward along a straight line through it, metres a metre; negative where it rises.
    pub falls: f64,
}

/// What is known of the tide's datum, to hold an offset against. Metres above that datum.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct OffsetFacts {
    /// [`TideChoice::key`](crate::book::TideChoice::key) of the source.
    pub key: String,
    /// What the source is called.
    pub name: String,
    /// What its heights count from, in words.
    pub datum: String,
    /// Mean sea level, or half-way between mean high and low water.
    pub mean_m: Option<f64>,
    /// High water of springs, or the mean of the higher or of all high waters.
    pub springs_m: Option<f64>,
    /// Mean high water.
    pub mhw_m: Option<f64>,
    /// Mean low water.
    pub mlw_m: Option<f64>,
    /// Lowest water.
    pub lowest_m: Option<f64>,
    /// Highest water.
    pub highest_m: Option<f64>,
    /// Surfaces whose height is known here, in words: what an offset would be if levels counted from them.
    pub surfaces: Vec<(String, f64)>,
    /// Land datums that the station's publisher ties to it, in words.
    pub published: Vec<(String, f64)>,
    /// The sand, where levels are known.
    pub sand: Option<SandSpan>,
}

impl OffsetFacts {
    /// What a beach's water says.
    pub fn of_water(beach: &Beach, water: &Water, sand: Option<SandSpan>) -> Self {
        let station = water.station();
        let published = station.map(|s| ties(s, water.datum())).unwrap_or_default();
        let surfaces = station.map(|s| surfaces(s, water.datum())).unwrap_or_default();
        let own = Self { published, sand, ..Self::of_levels(beach, water.levels()) };
        let own = if surfaces.is_empty() { own } else { Self { surfaces, ..own } };
        Self { name: water.name().to_owned(), datum: water.datum().words().to_owned(), ..own }
    }

    /// What a station publishes, where nothing was predicted yet.
    pub fn of_station(beach: &Beach, station: &Station, sand: Option<SandSpan>) -> Self {
        let cd = &station.chart_datum;
        let above = |datum: &Datum| if datum == cd { Some(0.0) } else { station.above_m(datum, cd) };
        Self {
            key: beach.tide.key(),
            name: station.name.clone(),
            datum: cd.words().to_owned(),
            mean_m: above(&Datum::Msl),
            springs_m: above(&Datum::Mhws).or_else(|| above(&Datum::Mhhw)).or_else(|| above(&Datum::Mhw)),
            mhw_m: above(&Datum::Mhw),
            mlw_m: above(&Datum::Mlw),
            lowest_m: above(&Datum::Lat),
            highest_m: above(&Datum::Hat),
            surfaces: surfaces(station, cd),
            published: ties(station, cd),
            sand,
        }
    }

    fn of_levels(beach: &Beach, levels: &Levels) -> Self {
        let m = |level: Option<crate::tide::Level>| level.map(|l| l.m);
        let half_m = m(levels.mhw).zip(m(levels.mlw)).map(|(high, low)| 0.5 * (high + low));
        Self {
            key: beach.tide.key(),
            mean_m: m(levels.msl).or(half_m),
            springs_m: m(levels.mhws).or(m(levels.mhhw)).or(m(levels.mhw)),
            mhw_m: m(levels.mhw),
            mlw_m: m(levels.mlw),
            lowest_m: m(levels.lat),
            highest_m: m(levels.hat),
            surfaces: m(levels.msl).map(|m| (Datum::Msl.words().to_owned(), m)).into_iter().collect(),
            ..Self::default()
        }
    }

    /// Whether an offset puts sand between mean low and mean high water; `None` where that is not known.
    fn is_between(&self, offset_m: f64) -> Option<bool> {
        let (sand, high_m, low_m) = (self.sand?, self.mhw_m?, self.mlw_m?);
        let shared_m = (sand.high_m + offset_m).min(high_m) - (sand.low_m + offset_m).max(low_m);
        Some(shared_m >= LEAST_BETWEEN * (high_m - low_m))
    }

    /// The span of the sand in feet, where its levels fit only so: lowest and highest, metres above land datum.
    pub(super) fn levels_in_feet(&self, offset_m: f64) -> Option<(f64, f64)> {
        let (sand, lowest_m, high_m) = (self.sand?, self.lowest_m?, self.mhw_m?);
        let deep = |low_m: f64| low_m + offset_m < lowest_m - UNDER_WATER_M;
        let tall = |top_m: f64| top_m + offset_m > high_m + BACK_M;
        let feet = SandSpan { low_m: sand.low_m * FOOT_M, high_m: sand.high_m * FOOT_M, ..sand };
        let in_feet = Self { sand: Some(feet), ..self.clone() };
        let fits = !deep(feet.low_m) && !tall(feet.high_m) && in_feet.is_between(offset_m) == Some(true);
        (deep(sand.low_m) && tall(sand.high_m) && fits).then_some((feet.low_m, feet.high_m))
    }

    /// How far the sand seaward of the baseline tops out above high water of springs, metres, and how far read as feet, where it
    /// is a beach only so. The sand need not reach down to where the tide says more.
    pub(super) fn front_in_feet(&self, offset_m: f64) -> Option<(f64, f64)> {
        let (sand, springs_m) = (self.sand?, self.springs_m?);
        let front = sand.front?;
        let above_m = |top_m: f64| top_m + offset_m - springs_m;
        let (as_is_m, in_feet_m) = (above_m(front.top_m), above_m(front.top_m * FOOT_M));
        let fits = in_feet_m.abs() <= NEAR_HIGH_M && BEACH_FALLS.contains(&(front.falls * FOOT_M));
        // Under a wrong offset the sand stands too high whatever it is in.
        let offset_fits = self.off(offset_m).is_none_or(|(off_m, may_m)| off_m <= may_m.max(FAR_FROM_MEAN_M));
        (as_is_m >= HIGH_SAND_M && fits && offset_fits).then_some((as_is_m, in_feet_m))
    }

    /// How many metres a unit of the levels is worth, where they fit only in that: centimetres or decimetres under a
    /// heading of metres; with their span in it, metres above land datum.
    pub(super) fn levels_in_parts(&self, offset_m: f64) -> Option<(f64, f64, f64)> {
        let (sand, lowest_m, high_m) = (self.sand?, self.lowest_m.or(self.mlw_m)?, self.mhw_m?);
        let fits = |low_m: f64, top_m: f64| low_m + offset_m >= lowest_m - UNDER_WATER_M && top_m + offset_m <= high_m + BACK_M;
        // A cliff in a survey is tall and not deep: both ends must be out of reach, one of them far.
        let (under_m, above_m) = (lowest_m - sand.low_m - offset_m, sand.high_m + offset_m - high_m);
        let too_much = under_m > UNDER_WATER_M && (under_m > TOO_DEEP_M || above_m > TOO_TALL_M);
        let wide = sand.high_m - sand.low_m > SPAN_TIMES * (high_m - lowest_m).max(1.0);
        let parts = [0.1, 0.01].into_iter().map(|unit_m| (unit_m, unit_m * sand.low_m, unit_m * sand.high_m));
        // The larger unit first: what is centimetres fits as decimetres only by chance.
        (too_much && wide).then(|| parts.into_iter().find(|(_, low_m, top_m)| fits(*low_m, *top_m))).flatten()
    }

    /// Whether an offset that fits by itself is counted twice: one that does not is doubted for itself.
    pub(super) fn counted_twice(&self, offset_m: f64) -> Option<Twice> {
        let (sand, lowest_m, springs_m) = (self.sand?, self.lowest_m?, self.springs_m?);
        let fits = self.off(offset_m).is_none_or(|(off_m, may_m)| off_m <= may_m);
        let top_m = sand.front.map_or(sand.high_m, |f| f.top_m);
        Twice::new((sand.low_m, top_m), (lowest_m, springs_m), offset_m).filter(|_| fits)
    }

    /// How far the sand reaches under the lowest tide, metres, and whether that is more than any levels of a beach do.
    pub(super) fn too_deep_m(&self, offset_m: f64) -> Option<f64> {
        let (sand, lowest_m) = (self.sand?, self.lowest_m.or(self.mlw_m)?);
        Some(lowest_m - (sand.low_m + offset_m)).filter(|m| *m > TOO_DEEP_M)
    }

    /// How far an offset lies from the nearest that is expected, and how far it may; `None` where none is.
    fn off(&self, offset_m: f64) -> Option<(f64, f64)> {
        let nearest = self.published.iter().map(|(_, m)| (offset_m - m).abs()).reduce(f64::min).map(|m| (m, PUBLISHED_M));
        nearest.or_else(|| Some(((offset_m - self.mean_m?).abs(), NEAR_MEAN_M)))
    }

    fn fits(&self, offset_m: f64) -> bool {
        self.off(offset_m).is_none_or(|(off_m, may_m)| off_m <= may_m) && self.is_between(offset_m) != Some(false)
    }

    /// How far an offset lies from the nearest that is published, metres; `None` where none is.
    fn off_published_m(&self, offset_m: f64) -> Option<f64> {
        self.published.iter().map(|(_, m)| (offset_m - m).abs()).reduce(f64::min)
    }

    /// The surfaces whose own offset this is, the likeliest first: what is published for land levels, then mean sea level, then
    /// the nearest.
    fn named(&self, offset_m: f64) -> Vec<&(String, f64)> {
        let is_published = |name: &str| self.published.iter().any(|(land, _)| land == name);
        let rank = |name: &str| if is_published(name) { 0 } else { 1 + u8::from(name != Datum::Msl.words()) };
        let mut fit: Vec<&(String, f64)> = self.surfaces.iter().filter(|(_, m)| (offset_m - m).abs() <= NAMED_FIT_M).collect();
        fit.sort_by(|a, b| rank(&a.0).cmp(&rank(&b.0)).then((offset_m - a.1).abs().total_cmp(&(offset_m - b.1).abs())));
        fit
    }

    /// The offset in metres, where it is unlikely as it stands and likely in feet: nothing that drowns anybody may be advised by a
    /// figure that only might be.
    fn likely_in_feet(&self, offset_m: f64) -> Option<f64> {
        let feet_m = offset_m * FOOT_M;
        if offset_m.abs() < 1.0 || self.fits(offset_m) || !self.fits(feet_m) || !self.named(offset_m).is_empty() {
            return None;
        }
        let likely = match self.off_published_m(feet_m) {
            Some(off_m) => off_m <= FEET_FIT_M,
            // Nobody publishes one: no land level counts from above the highest tide.
            None => self.highest_m.is_some_and(|m| offset_m > m),
        };
        likely.then_some(feet_m)
    }

    /// What levels take here that count from a surface whose height is known: the one that the offset fits, else all that
    /// levels usually count from. A figure that was typed is never told to be given up for another one.
    fn surfaces_said(&self, offset_m: f64) -> Option<String> {
        let zero = &self.datum;
        if let Some((name, m)) = self.named(offset_m).first() {
            return Some(format!(
                "About {offset_m:+.2} m is what levels above {name} take here ({m:+.2} m above {zero}): are your levels above that?"
            ));
        }
        let mut usual: Vec<&(String, f64)> = self.published.iter().collect();
        usual.extend(self.surfaces.iter().find(|(name, _)| name == Datum::Msl.words()));
        let takes: Vec<String> = usual.iter().map(|(name, m)| format!("{m:+.2} m for levels above {name}")).collect();
        let turned = self.named(-offset_m).into_iter().find(|n| usual.contains(n)).filter(|_| offset_m.abs() > NAMED_FIT_M);
        let sign = turned.map(|(name, _)| format!(" With the other sign it would be that of {name}: is its sign lost?"));
        (!takes.is_empty())
            .then(|| format!("An offset here is {}: from which do yours count?{}", takes.join(", "), sign.unwrap_or_default()))
    }
}

/// The surfaces that a station states, in words, above the datum of its heights. Nobody levels from half-way between the mean
/// higher high and the mean lower low water (DTL).
fn surfaces(station: &Station, datum: &Datum) -> Vec<(String, f64)> {
    let all = station.datums.iter().map(|(known, _)| known).filter(|known| known.code() != "DTL");
    all.filter_map(|known| Some((known.words().to_owned(), station.above_m(known, datum)?))).collect()
}

/// The land datums that a station ties to the datum of its heights.
fn ties(station: &Station, datum: &Datum) -> Vec<(String, f64)> {
    station.land_datums().filter_map(|land| Some((land.words().to_owned(), station.above_m(land, datum)?))).collect()
}

/// An offset is one that was published where it is as near to it as this, metres: they are typed to the centimetre.
const SAME_M: f64 = 0.005;

/// Where the figure of a beach's offset comes from: who published it, or that it was given by hand, with what is
/// published beside it. `None` where the beach has none.
pub fn offset_said(beach: &Beach) -> Option<String> {
    let offset_m = beach.datum_offset_m?;
    if beach.invented {
        return Some("invented, as all of this beach is".to_owned());
    }
    if beach.offset_from.is_some() {
        return Some("given by hand, for another tide source".to_owned());
    }
    let station = match &beach.tide {
        TideChoice::Station(id) => Catalogue::shipped().get(id),
        _ => None,
    };
    let Some(station) = station else { return Some("given by hand; nobody publishes one for this tide source".to_owned()) };
    let (publisher, zero) = (station.publisher.name(), station.chart_datum.words());
    let ties = ties(station, &station.chart_datum);
    if let Some((land, _)) = ties.iter().find(|(_, m)| (offset_m - m).abs() <= SAME_M) {
        return Some(format!("as {publisher} states it for {}, between {land} and {zero}", station.name));
    }
    let stated: Vec<String> = ties.iter().map(|(land, m)| format!("{m:+.2} m for {land}")).collect();
    let stated = if stated.is_empty() { "none".to_owned() } else { stated.join(", ") };
    Some(format!("given by hand; {publisher} states {stated} at {}", station.name))
}

/// What is to be said of a beach's offset: nothing where it has none, as nothing is drawn or planned then.
pub fn of_offset(beach: &Beach, facts: &OffsetFacts) -> Vec<Doubt> {
    let Some(offset_m) = beach.datum_offset_m else { return Vec::new() };
    let mut doubts = Vec::new();
    let mut tell = |kind: &str, weight: Weight, sentence: String, settle: String| {
        doubts.push(Doubt {
            key: format!("{kind}:{offset_m:.3}@{}", facts.key),
            sentence,
            weight,
            settle: vec![settle],
            spans: Vec::new(),
        });
    };
    if let Some(from) = &beach.offset_from {
        tell(
            &format!("offset-kept<{from}"),
            Weight::Blocks,
            format!(
                "The offset of {offset_m:+.2} m was given for another tide source; the heights of {} count from {}, which lies elsewhere.",
                facts.name, facts.datum
            ),
            "Give the offset for this source (`scourline beach --offset`, or Beach in the window).".to_owned(),
        );
    }
    let twice = facts.counted_twice(offset_m);
    if let Some(twice) = twice {
        tell("offset-twice", twice.weight(), twice.said(), Twice::settled(&facts.datum));
    }
    // The tide of the open sea says nothing of a beach whose position has a slip.
    if let Some(feet_m) = facts.likely_in_feet(offset_m).filter(|_| twice.is_none() && !is_turned(beach)) {
        tell(
            "offset-feet",
            Weight::Blocks,
            format!(
                "An offset of {offset_m:+.2} m does not fit this tide and this sand; read as feet it is {feet_m:+.2} m, which does."
            ),
            format!(
                "If its source states it in feet, give {feet_m:.3} m in its place; if not, look up what your levels count from."
            ),
        );
        return doubts;
    }
    let check = || {
        let look = "Look up what your levels count from, and how high that stands above the datum of the tide.";
        let surfaces = facts.surfaces_said(offset_m).filter(|_| !is_turned(beach));
        surfaces.map_or_else(|| look.to_owned(), |surfaces| format!("{surfaces} {look}"))
    };
    if let (Some(false), Some(sand), Some(high_m), Some(low_m)) =
        (facts.is_between(offset_m), facts.sand, facts.mhw_m, facts.mlw_m)
    {
        tell(
            "offset-sand",
            Weight::Blocks,
            format!(
                "With an offset of {offset_m:+.2} m no sand lies between the tides: the sand would stand {:.2} to {:.2} m above {}, mean low and mean high water {low_m:.2} and {high_m:.2} m.",
                sand.low_m + offset_m,
                sand.high_m + offset_m,
                facts.datum
            ),
            check(),
        );
    }
    if let Some((off_m, may_m)) = facts.off(offset_m).filter(|(off_m, may_m)| off_m > may_m) {
        let (weight, sentence) = if facts.published.is_empty() {
            let weight = if off_m > FAR_FROM_MEAN_M { Weight::Blocks } else { Weight::Question };
            let mean_m = facts.mean_m.unwrap_or_default();
            let sentence = format!(
                "An offset of {offset_m:+.2} m puts the zero of your levels {off_m:.2} m {} mean sea level, which stands {mean_m:.2} m above {} at {}; the zero of a country's levels lies within about {NEAR_MEAN_M:.0} m of it (common practice).",
                if offset_m > mean_m { "above" } else { "below" },
                facts.datum,
                facts.name
            );
            (weight, sentence)
        } else {
            let known: Vec<String> = facts.published.iter().map(|(name, m)| format!("{name} {m:+.2} m")).collect();
            let sentence = format!(
                "An offset of {offset_m:+.2} m is {off_m:.2} m from what is published for {} (above {}: {}), more than {may_m:.1} m.",
                facts.name,
                facts.datum,
                known.join(", ")
            );
            (Weight::Blocks, sentence)
        };
        tell("offset", weight, sentence, check());
    }
    if let (Some(sand), Some(lowest_m)) = (facts.sand, facts.lowest_m) {
        let under_m = lowest_m - (sand.low_m + offset_m);
        let told = facts.levels_in_feet(offset_m).is_some() || facts.front_in_feet(offset_m).is_some();
        if under_m > UNDER_WATER_M && facts.is_between(offset_m) != Some(false) && !told {
            tell(
                "offset-deep",
                Weight::Question,
                format!(
                    "With an offset of {offset_m:+.2} m the lowest sand lies {under_m:.1} m under the lowest tide, where nobody levels on foot."
                ),
                check(),
            );
        }
    }
    doubts
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::earth::LonLat;

    fn beach(offset_m: f64) -> Beach {
        let beach = Beach::new("Invented Bay", LonLat::new(-5.55, 50.08).unwrap());
        Beach { tide: TideChoice::Station("ticon/newlyn-new-gbr-bodc".into()), datum_offset_m: Some(offset_m), ..beach }
    }

    /// Newlyn: ordnance datum stands 3.05 m above chart datum, mean sea level about 3.2 m (Admiralty Tide Tables, from
    /// memory; the National Tidal and Sea Level Facility gives 3.05 m); sand as a beach between the tides is surveyed.
    fn facts(beach: &Beach) -> OffsetFacts {
        let station = Catalogue::shipped().get("ticon/newlyn-new-gbr-bodc").unwrap();
        let water = Water::of_station(station, station.chart_datum.clone()).unwrap();
        OffsetFacts::of_water(beach, &water, Some(SandSpan { low_m: -2.6, high_m: 5.0, fall_m: Some(7.0), front: None }))
    }

    fn told(beach: &Beach) -> Vec<(String, Weight)> {
        of_offset(beach, &facts(beach)).into_iter().map(|d| (d.key, d.weight)).collect()
    }

    /// NOAA CO-OPS publishes the levels of its stations above its datums, NAVD88 among them
    /// (tidesandcurrents.noaa.gov/datums.html); the figures are those of the shipped catalogue.
    #[test]
    fn where_an_offset_comes_from_is_told() {
        let published = |s: &&Station| s.publisher.name() == "NOAA CO-OPS" && s.land_datums().next().is_some();
        let station = Catalogue::shipped().stations().iter().find(published).unwrap();
        let (land, tie_m) = ties(station, &station.chart_datum).swap_remove(0);
        let at = |offset_m: f64| Beach {
            tide: TideChoice::Station(station.id.clone()),
            datum_offset_m: Some(offset_m),
            ..Beach::new("Invented Bay", station.at)
        };
        let said = |beach: &Beach| offset_said(beach).unwrap();
        let rounded = said(&at((tie_m * 100.0).round() / 100.0));
        assert!(rounded.starts_with("as NOAA CO-OPS states it for ") && rounded.contains(&land), "{rounded}");
        let other = said(&at(tie_m + 0.1));
        assert!(other.starts_with("given by hand; NOAA CO-OPS states ") && other.contains(&format!("{tie_m:+.2} m")), "{other}");
        let own = Beach { tide: TideChoice::Table(crate::book::Uid::of_content("tide table", [])), ..at(2.0) };
        assert!(said(&own).starts_with("given by hand; nobody publishes"));
        assert!(said(&Beach { offset_from: Some("station:a".into()), ..at(2.0) }).contains("another tide source"));
        assert!(said(&Beach { invented: true, ..at(2.0) }).starts_with("invented"));
        assert_eq!(offset_said(&Beach { datum_offset_m: None, ..at(2.0) }), None);
    }

    #[test]
    fn the_right_offset_draws_no_word_and_the_same_in_feet_is_told_as_such() {
        assert_eq!(told(&beach(3.05)), []);
        let doubts = of_offset(&beach(10.0), &facts(&beach(10.0)));
        assert_eq!(doubts.len(), 1, "{doubts:?}");
        assert_eq!(doubts[0].key, "offset-feet:10.000@station:ticon/newlyn-new-gbr-bodc");
        assert!(doubts[0].weight == Weight::Blocks && doubts[0].sentence.contains("+3.05 m"), "{doubts:?}");
    }

    /// At Newlyn the lowest tide stands at chart datum and springs at 5.6 m (Admiralty Tide Tables, from memory): sand from 0.3 to
    /// 6.2 m is one whose levels count from there.
    #[test]
    fn an_offset_that_the_levels_hold_already_blocks_and_one_of_a_survey_above_half_tide_is_asked_about() {
        let with = |low_m: f64, high_m: f64, offset_m: f64| {
            let sand = Some(SandSpan { low_m, high_m, fall_m: Some(high_m - low_m), front: None });
            of_offset(&beach(offset_m), &OffsetFacts { sand, ..facts(&beach(offset_m)) })
        };
        let twice = with(0.3, 6.2, 3.05);
        assert!(twice[0].key.starts_with("offset-twice:3.050@") && twice[0].weight == Weight::Blocks, "{twice:?}");
        assert!(twice[0].settle[0].contains("give an offset of 0"), "{twice:?}");
        assert_eq!(with(0.3, 6.2, 0.0).iter().filter(|d| d.key.starts_with("offset-twice")).count(), 0);
        // The upper half of a beach with a dune foot behind it, rightly above ordnance datum.
        let half = with(0.4, 5.4, 3.05);
        assert!(half.len() == 1 && half[0].weight == Weight::Question, "{half:?}");
        // Down to low water, or up to the back of the beach and no more, nothing is said.
        assert_eq!(with(-2.6, 5.0, 3.05), []);
        assert_eq!(with(0.3, 4.2, 3.05), []);
    }

    #[test]
    fn an_offset_that_leaves_no_sand_between_the_tides_blocks_and_one_that_drowns_it_is_asked_about() {
        let high = OffsetFacts {
            sand: Some(SandSpan { low_m: -0.5, high_m: 5.0, fall_m: Some(5.0), front: None }),
            ..facts(&beach(6.0))
        };
        let dry = of_offset(&beach(6.0), &high);
        assert!(dry.iter().any(|d| d.key.starts_with("offset-sand:6.000@") && d.weight == Weight::Blocks), "{dry:?}");
        let deep = told(&beach(1.0));
        assert!(deep.iter().any(|(key, w)| key.starts_with("offset-deep:") && *w == Weight::Question), "{deep:?}");
        // The figures of the old datum of another port: 1.9 m from mean sea level.
        assert!(told(&beach(5.1)).iter().any(|(key, w)| key.starts_with("offset:5.100@") && *w == Weight::Blocks));
        assert!(told(&beach(1.9)).iter().any(|(key, w)| key.starts_with("offset:1.900@") && *w == Weight::Question));
    }

    #[test]
    fn an_offset_is_held_against_what_is_published_for_the_datum_of_the_station() {
        // Seattle, NOAA station 9447130: NAVD88 stands 2.34 ft, 0.71 m, above MLLW (tidesandcurrents.noaa.gov, datums of
        // 9447130, from memory).
        let station = Catalogue::shipped().get("noaa/9447130").unwrap();
        let navd = station.above_m(&Datum::Other("NAVD88".into()), &station.chart_datum).unwrap();
        assert!((navd - 0.71).abs() < 0.02, "{navd}");
        let at = |offset_m: f64| Beach { tide: TideChoice::Station(station.id.clone()), ..beach(offset_m) };
        let told = |offset_m: f64| of_offset(&at(offset_m), &OffsetFacts::of_station(&at(offset_m), station, None));
        assert_eq!(told(navd), []);
        let wrong = told(1.2);
        assert!(wrong[0].weight == Weight::Blocks && wrong[0].sentence.contains("published for Seattle"), "{wrong:?}");
        let feet = told(2.34);
        assert!(feet[0].key.starts_with("offset-feet:"), "{feet:?}");
    }

    /// The levels of NOAA station 9447130 above its own zero are those of the shipped catalogue: mean sea level stands 2.02 m,
    /// NAVD88 0.71 m above mean lower low water.
    #[test]
    fn levels_above_another_surface_are_asked_about_by_its_name_and_not_as_feet() {
        let station = Catalogue::shipped().get("noaa/9447130").unwrap();
        let at = |offset_m: f64| Beach { tide: TideChoice::Station(station.id.clone()), ..beach(offset_m) };
        let told = |offset_m: f64| {
            let doubts = of_offset(&at(offset_m), &OffsetFacts::of_station(&at(offset_m), station, None));
            let [doubt] = &doubts[..] else { panic!("{doubts:?}") };
            (doubt.key.split(':').next().unwrap().to_owned(), doubt.settle.join(" "))
        };
        // In feet 1.87 is 0.57, which is near to what is published as well: obeyed, it would be 1.3 m wrong.
        for offset_m in [1.87, 2.0, 2.02, 2.2] {
            let (kind, settle) = told(offset_m);
            assert!(kind == "offset" && settle.contains("levels above mean sea level take here (+2.02 m above"), "{settle}");
            assert!(!settle.contains("feet") && !settle.contains("give"), "{settle}");
        }
        let (kind, settle) = told(0.05);
        assert!(kind == "offset" && settle.contains("above mean lower low water take here (+0.00 m"), "{settle}");
        // A metre too large: none fits, and what each takes is said.
        let (kind, settle) = told(1.715);
        assert!(
            kind == "offset" && settle.contains("+0.71 m for levels above NAVD88, +2.02 m for levels above mean sea level"),
            "{settle}"
        );
        let (kind, settle) = told(-0.715);
        assert!(kind == "offset" && settle.contains("With the other sign it would be that of NAVD88"), "{settle}");
    }

    #[test]
    fn nothing_is_advised_in_feet_by_the_tide_of_the_open_sea_or_where_metres_may_be_meant() {
        let kinds = |beach: &Beach, facts: &OffsetFacts| -> Vec<String> {
            of_offset(beach, facts).into_iter().map(|d| d.key.split(':').next().unwrap().to_owned()).collect()
        };
        // Heysham's offset on a beach whose longitude has lost its sign: the North Sea, mean sea level 1.4 m above lowest tide.
        let sea = OffsetFacts { mean_m: Some(1.4), highest_m: Some(2.8), lowest_m: Some(0.0), ..OffsetFacts::default() };
        let lost = Beach { origin: LonLat::new(2.906, 54.048).unwrap(), ..beach(5.03) };
        assert_eq!(kinds(&lost, &sea), ["offset"]);
        assert_eq!(kinds(&beach(5.03), &sea), ["offset-feet"]);
        // A gauge that stands 1.5 m low: the offset is below its highest water, and may well be in metres.
        let low = OffsetFacts { mean_m: Some(0.7), highest_m: Some(2.9), lowest_m: Some(-1.5), ..OffsetFacts::default() };
        assert_eq!(kinds(&beach(2.3), &low), ["offset"]);
    }

    #[test]
    fn an_offset_kept_from_another_source_blocks_until_it_is_given_again() {
        let gauge = Beach { tide: TideChoice::Gauge(crate::book::Uid::fresh()), ..beach(3.05) }.changed_from(&beach(3.05));
        let facts = OffsetFacts { key: gauge.tide.key(), name: "logger".into(), mean_m: Some(3.1), ..OffsetFacts::default() };
        let doubts = of_offset(&gauge, &facts);
        assert_eq!(doubts.len(), 1);
        assert!(
            doubts[0].weight == Weight::Blocks && doubts[0].key.starts_with("offset-kept<station:ticon/newlyn"),
            "{doubts:?}"
        );
        assert_eq!(of_offset(&gauge.with_offset(Some(3.05)), &facts), []);
    }

    #[test]
    fn published_land_datums_lie_near_mean_sea_level_nearly_everywhere() {
        let off: Vec<f64> = Catalogue::shipped()
            .stations()
            .iter()
            .flat_map(|s| s.land_datums().filter_map(|d| s.above_m(d, &Datum::Msl)).collect::<Vec<_>>())
            .collect();
        let within = |most: f64| off.iter().filter(|m| m.abs() <= most).count() as f64 / off.len() as f64;
        assert!(off.len() == 622 && within(NEAR_MEAN_M) > 0.84 && within(FAR_FROM_MEAN_M) > 0.96, "{}", off.len());
    }
}
