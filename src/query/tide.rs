//! The water of a beach over time.

use jiff::Timestamp;

use super::drawing::{Curve, Lows, LowsAsk, Span};
use super::{Given, Question, Refusal, Work};
use crate::earth::LonLat;
use crate::sea::{RunUp, Waves};
use crate::shore::{DryPlace, SectionPoint, Setting};
use crate::tide::Window;

/// The water and the daylight over a span.
#[derive(Clone, PartialEq)]
pub(crate) struct CurveQuestion {
    pub(crate) setting: Given<Setting>,
    pub(crate) span: Span,
}

impl Question for CurveQuestion {
    type Answer = Curve;
    const NAME: &'static str = "the tide curve";

    fn work_out(&self, work: &Work<Curve>) -> Result<Curve, Refusal> {
        Curve::between(self.setting.water.as_ref(), self.setting.beach.origin, self.span, work.progress()).map_err(Refusal::from)
    }
}

/// The coming low waters and what they lay dry.
#[derive(Clone, PartialEq)]
pub(crate) struct LowsQuestion {
    pub(crate) setting: Given<Setting>,
    pub(crate) ask: LowsAsk,
}

impl Question for LowsQuestion {
    type Answer = Lows;
    const NAME: &'static str = "the list of low waters";

    fn work_out(&self, work: &Work<Lows>) -> Result<Lows, Refusal> {
        let zone = self.setting.beach.zone().map_err(Refusal::missing)?;
        Lows::coming(&self.setting, &zone, &self.ask, work.progress()).map_err(Refusal::from)
    }
}

/// When one place of the beach is dry.
#[derive(Clone, PartialEq)]
pub(crate) struct DryPlaceQuestion {
    pub(crate) setting: Given<Setting>,
    pub(crate) at: LonLat,
    /// The waves that the person expects.
    pub(crate) sea: Option<Waves>,
    pub(crate) from: Timestamp,
    pub(crate) to: Timestamp,
}

impl Question for DryPlaceQuestion {
    type Answer = DryPlace;
    const NAME: &'static str = "when the place is dry";

    fn work_out(&self, _work: &Work<DryPlace>) -> Result<DryPlace, Refusal> {
        let setting = Setting::clone(&self.setting).with_waves(self.sea);
        setting.dry_at(self.at, self.from, self.to).map_err(Refusal::missing)
    }
}

/// When sand is dry down to each of some levels above the tide's datum, metres.
#[derive(Clone, PartialEq)]
pub(crate) struct DryBandQuestion {
    pub(crate) setting: Given<Setting>,
    pub(crate) levels_m: Vec<f64>,
    /// The waves that the person expects.
    pub(crate) sea: Option<Waves>,
    pub(crate) from: Timestamp,
    pub(crate) to: Timestamp,
}

/// When sand is dry down to some levels, and the run-up that was kept where nothing covers the hours.
pub(crate) struct DryBand {
    pub(crate) windows: Vec<Vec<Window>>,
    pub(crate) run_up: RunUp,
    /// All that is kept above the predicted water, metres.
    pub(crate) margin_m: f64,
}

impl Question for DryBandQuestion {
    type Answer = DryBand;
    const NAME: &'static str = "when the band is dry";

    fn work_out(&self, _work: &Work<Self::Answer>) -> Result<Self::Answer, Refusal> {
        let setting = Setting::clone(&self.setting).with_waves(self.sea);
        let dry = |level_m: &f64| setting.dry_down_to(*level_m, self.from, self.to).map_err(Refusal::missing);
        let windows = self.levels_m.iter().map(dry).collect::<Result<_, _>>()?;
        Ok(DryBand { windows, run_up: setting.run_up, margin_m: setting.water_margin_m() })
    }
}

/// The sand across the shore at a place along it.
#[derive(Clone, PartialEq)]
pub(crate) struct ProfileQuestion {
    pub(crate) setting: Given<Setting>,
    /// The place along, in steps of [`SAME_SECTION_M`].
    pub(crate) step: i64,
}

/// Where two sections this near to each other are the same one, metres.
const SAME_SECTION_M: f64 = 0.5;
/// Steps of a section across the shore, metres.
const SECTION_STEP_M: f64 = 0.5;

impl ProfileQuestion {
    /// The section nearest to a place along, metres.
    pub(crate) fn at(setting: Given<Setting>, along_m: f64) -> Self {
        Self { setting, step: (along_m / SAME_SECTION_M).round() as i64 }
    }
}

impl Question for ProfileQuestion {
    type Answer = Vec<SectionPoint>;
    const NAME: &'static str = "the section of the sand";
    /// Going to and fro along the shore meets the same sections again.
    const KEPT: usize = 16;

    fn work_out(&self, _work: &Work<Self::Answer>) -> Result<Self::Answer, Refusal> {
        let shore = self.setting.shore.as_ref().map_err(Refusal::missing)?;
        Ok(shore.section(self.step as f64 * SAME_SECTION_M, SECTION_STEP_M))
    }
}
