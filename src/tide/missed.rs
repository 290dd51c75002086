/// Ground between two tide levels that a low water does not lay bare once the margin is kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Missed {
    /// Its name, upper level first: "MLWN to MLWS"; "the sand above MSL" of the highest level asked about.
    pub band: String,
    /// Whether nothing of it is laid bare, rather than a part.
    pub wholly: bool,
    /// By how much the water with its margin stands too high for the first of it to be bare, or where a part is bare
    /// for the last of it, metres.
    pub by_m: f64,
}

impl Missed {
    /// What a low water misses, from the highest level down. `levels` are names and heights from the highest down and
    /// `water_m` is the low water with the margin to be kept, all above the same datum, metres. A level is bare
    /// while the water stands below it.
    pub fn at_low(levels: &[(String, f64)], water_m: f64) -> Vec<Self> {
        let above = |n: usize| n.checked_sub(1).and_then(|n| levels.get(n));
        let missed = |(n, (name, low_m)): (usize, &(String, f64))| {
            let band = above(n).map_or_else(|| format!("the sand above {name}"), |(upper, _)| format!("{upper} to {name}"));
            let upper_m = above(n).map(|(_, m)| *m).filter(|m| *m <= water_m);
            (*low_m <= water_m).then(|| Self { band, wholly: upper_m.is_some(), by_m: water_m - upper_m.unwrap_or(*low_m) })
        };
        levels.iter().enumerate().filter_map(missed).collect()
    }

    /// "nothing of MLWN to MLWS is laid bare: the water stays 0.42 m too high".
    pub fn said(&self) -> String {
        let (band, by_m) = (&self.band, super::rounded(self.by_m, 2));
        if self.wholly {
            format!("nothing of {band} is laid bare: the water stays {by_m:.2} m too high")
        } else {
            format!("not all of {band} is laid bare: the water stays {by_m:.2} m too high for its lower edge")
        }
    }

    /// All that is missed in one sentence without its end; `None` when nothing is.
    pub fn all_said(missed: &[Self]) -> Option<String> {
        (!missed.is_empty()).then(|| missed.iter().map(Self::said).collect::<Vec<_>>().join("; "))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_neap_low_tells_each_band_it_misses_and_by_how_much() {
        let levels: Vec<(String, f64)> = [("MSL", 3.0), ("MLWN", 2.0), ("MLWS", 0.8)].map(|(n, m)| (n.to_owned(), m)).into();
        assert_eq!(Missed::at_low(&levels, 0.79), []);
        assert_eq!(Missed::all_said(&[]), None);
        // A neap low at 1.6 m with 0.7 m of margin.
        let neap = Missed::at_low(&levels, 2.3);
        let said = Missed::all_said(&neap).unwrap();
        assert_eq!(
            said,
            "not all of MSL to MLWN is laid bare: the water stays 0.30 m too high for its lower edge; nothing of MLWN to MLWS is laid bare: the water stays 0.30 m too high"
        );
        assert!(neap[1].wholly && (neap[1].by_m - 0.3).abs() < 1e-9);
        // Not even mean sea level.
        let worst = Missed::at_low(&levels, 3.1);
        assert_eq!(worst.len(), 3);
        assert!(worst[0].said().starts_with("not all of the sand above MSL is laid bare"));
        assert!((worst[1].by_m - 0.1).abs() < 1e-9 && (worst[2].by_m - 1.1).abs() < 1e-9);
    }
}
