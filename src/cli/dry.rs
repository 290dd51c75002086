//! When a level or a place of the beach is dry.

use jiff::Timestamp;
use jiff::tz::TimeZone;
use serde_json::{Value, json};

use super::Failure;
use super::args::TidesArgs;
use super::said::{clock, lonlat, rfc3339, rounded};
use super::water_at_place::WaterAtPlace;
use crate::earth::LonLat;
use crate::sea::RunUp;
use crate::share;
use crate::shore::DryPlace;
use crate::tide::Window;

/// The dry windows asked for, with the margin they keep.
pub(super) struct Dry {
    place: Option<LonLat>,
    /// Above the tide's datum, metres.
    level_m: f64,
    /// Whether nobody surveyed the sand of that place.
    guessed: bool,
    surge_m: f64,
    /// The highest of the span.
    run_up: RunUp,
    source_m: f64,
    /// Two standard errors of the sand's level, metres; none for a level that is given.
    sand_m: f64,
    datum: String,
    windows: Vec<Window>,
}

/// The dry windows of the span; `None` when none are asked for.
pub(super) fn windows(args: &TidesArgs, here: &WaterAtPlace, from: Timestamp, to: Timestamp) -> Result<Option<Dry>, Failure> {
    let datum = here.water.datum().words().to_owned();
    if let Some(text) = &args.dry_at {
        let place = lonlat(text)?;
        let setting = here.setting().ok_or_else(|| Failure::usage("a place can only be asked of a beach: name its book"))?;
        let dry = setting.dry_at(place, from, to).map_err(Failure::input)?;
        return Ok(Some(Dry {
            place: Some(place),
            guessed: dry.is_guess(),
            level_m: dry.tide_m,
            surge_m: dry.surge_m,
            run_up: dry.run_up,
            source_m: dry.source_m,
            sand_m: dry.sand_m,
            datum,
            windows: dry.windows,
        }));
    }
    let Some(level_m) = args.dry else { return Ok(None) };
    let (windows, run_up) = here.dry(level_m, from, to);
    let (surge_m, source_m) = (here.surge.margin_m(), here.source_m());
    Ok(Some(Dry { place: None, guessed: false, level_m, surge_m, run_up, source_m, sand_m: 0.0, datum, windows }))
}

impl Dry {
    fn margin_m(&self) -> f64 {
        self.surge_m + self.run_up.m + self.source_m + self.sand_m
    }

    /// As `--json` tells them.
    pub(super) fn document(&self) -> Value {
        let one =
            |w: &Window| json!({ "from": rfc3339(w.from), "to": rfc3339(w.to), "minutes": rounded(w.length_s() / 60.0, 1) });
        json!({
            "at": self.place,
            "level_m": rounded(self.level_m, 3),
            "guessed": self.guessed,
            "margin_m": rounded(self.margin_m(), 3),
            "surge_margin_m": rounded(self.surge_m, 3),
            "run_up_m": rounded(self.run_up.m, 3),
            "source_margin_m": rounded(self.source_m, 3),
            "sea": share::sea_document(&self.run_up),
            "sand_margin_m": rounded(self.sand_m, 3),
            "windows": self.windows.iter().map(one).collect::<Vec<_>>(),
        })
    }

    /// For a person, a line each.
    pub(super) fn text(&self, zone: &TimeZone) -> String {
        let place = self.place.map_or_else(String::new, |at| format!("the sand at {at}, "));
        let sand = if self.place.is_some() { format!(", error of the sand {:.2} m", self.sand_m) } else { String::new() };
        let source = if self.source_m > 0.0 { format!(", tide source {:.2} m", self.source_m) } else { String::new() };
        let mut out = format!(
            "  dry: {place}{:.2} m above {}, keeping {:.2} m above the prediction (surge {:.2} m with twice its uncertainty, \
             run-up {:.2} m{source}{sand}):\n",
            rounded(self.level_m, 2),
            self.datum,
            self.margin_m(),
            self.surge_m,
            self.run_up.m
        );
        for w in &self.windows {
            out += &format!("  {} to {}, {:.0} min\n", clock(w.from, zone), clock(w.to, zone), (w.length_s() / 60.0).floor());
        }
        out += &format!("  {}\n", self.run_up.said());
        out += &self.run_up.caution().map_or_else(String::new, |c| format!("  caution: {c}\n"));
        if self.guessed {
            out += &format!("  note: {}\n", DryPlace::GUESS);
        }
        if self.windows.is_empty() {
            out += "  never within this time\n";
        }
        out
    }
}
