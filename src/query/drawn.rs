//! What the views draw of the book, laid on the ground.

use super::drawing::{
    GroundPicture, GroundWanted, Land, MarkTables, Marks, OutlineTables, Outlines, ReadDrawing, RouteDrawing, TraceTables, Traces,
};
use super::{Given, GroundCovered, Planned, Question, ReadBeach, Refusal, RouteQuestion, Work};
use crate::reading::{CellRates, Filter, Ground, KnownGround, Params, ReadingTables};
use crate::shore::Setting;

/// The land of a beach, ready to draw.
#[derive(Clone, PartialEq)]
pub(crate) struct LandQuestion {
    pub(crate) setting: Given<Setting>,
}

impl Question for LandQuestion {
    type Answer = Land;
    const NAME: &'static str = "the drawing of the beach";

    fn work_out(&self, work: &Work<Land>) -> Result<Land, Refusal> {
        Land::drawn(self.setting.clone(), work.progress()).map_err(Refusal::from)
    }
}

/// The marks of finds and signals.
#[derive(Clone, PartialEq)]
pub(crate) struct MarksQuestion {
    pub(crate) land: Given<Land>,
    pub(crate) tables: MarkTables,
}

impl Question for MarksQuestion {
    type Answer = Marks;
    const NAME: &'static str = "the marks of finds";

    fn work_out(&self, work: &Work<Marks>) -> Result<Marks, Refusal> {
        Marks::placed(&self.tables, self.land.setting.beach.uid, &self.land.placing, work.progress()).map_err(Refusal::from)
    }
}

/// The outlines of zones, permissions and barriers, and the ways on and off.
#[derive(Clone, PartialEq)]
pub(crate) struct OutlinesQuestion {
    pub(crate) land: Given<Land>,
    pub(crate) tables: OutlineTables,
}

impl Question for OutlinesQuestion {
    type Answer = Outlines;
    const NAME: &'static str = "the outlines of zones";

    fn work_out(&self, _work: &Work<Outlines>) -> Result<Outlines, Refusal> {
        Ok(Outlines::placed(&self.tables, self.land.setting.beach.uid, &self.land.placing))
    }
}

/// The lines of tracks.
#[derive(Clone, PartialEq)]
pub(crate) struct TracesQuestion {
    pub(crate) land: Given<Land>,
    pub(crate) tables: TraceTables,
}

impl Question for TracesQuestion {
    type Answer = Traces;
    const NAME: &'static str = "the lines of tracks";

    fn work_out(&self, work: &Work<Traces>) -> Result<Traces, Refusal> {
        Traces::placed(&self.tables, self.land.setting.beach.uid, &self.land.placing, work.progress()).map_err(Refusal::from)
    }
}

/// What was read, drawn.
#[derive(Clone, PartialEq)]
pub(crate) struct ReadDrawingQuestion {
    pub(crate) land: Given<Land>,
    pub(crate) read: Given<ReadBeach>,
}

impl Question for ReadDrawingQuestion {
    type Answer = ReadDrawing;
    const NAME: &'static str = "the drawing of what was read";

    fn work_out(&self, _work: &Work<ReadDrawing>) -> Result<ReadDrawing, Refusal> {
        Ok(ReadDrawing::drawn(self.read.clone(), &self.land))
    }
}

/// A route, drawn.
#[derive(Clone, PartialEq)]
pub(crate) struct RouteDrawingQuestion {
    pub(crate) land: Given<Land>,
    pub(crate) planned: Given<Planned>,
    /// What the route answers: while a better one is sought, the best so far answers it too.
    pub(crate) of: RouteQuestion,
}

impl Question for RouteDrawingQuestion {
    type Answer = RouteDrawing;
    const NAME: &'static str = "the drawing of the route";
    /// Routes of several lows stand side by side.
    const KEPT: usize = 24;

    fn work_out(&self, _work: &Work<RouteDrawing>) -> Result<RouteDrawing, Refusal> {
        Ok(RouteDrawing::drawn(self.planned.clone(), &self.land))
    }
}

/// A picture of the ground: how often it was covered, what it gave, how sure that is.
#[derive(Clone, PartialEq)]
pub(crate) struct GroundPictureQuestion {
    pub(crate) land: Given<Land>,
    pub(crate) covered: Given<GroundCovered>,
    pub(crate) known: Given<Option<KnownGround>>,
    pub(crate) tables: ReadingTables,
    pub(crate) filter: Filter,
    pub(crate) params: Params,
    pub(crate) wanted: GroundWanted,
}

impl Question for GroundPictureQuestion {
    type Answer = GroundPicture;
    const NAME: &'static str = "the picture of the ground";

    fn work_out(&self, work: &Work<GroundPicture>) -> Result<GroundPicture, Refusal> {
        let beach = &self.land.setting.beach;
        let cut = self.filter.cut(&self.tables, beach)?;
        let covered = self.covered.covered.as_ref();
        let rates = |cell_m| {
            let ground = Ground { book: &cut.book, setting: &self.land.setting, covered, now: None };
            let Some(known) = self.known.as_ref() else { return Ok(None) };
            CellRates::read(&ground, known, self.wanted.of, cell_m, &self.params, work.progress()).map_err(|e| e.to_string())
        };
        GroundPicture::painted(&self.wanted, rates, &self.land, covered, work.progress()).map_err(Refusal::from)
    }
}
