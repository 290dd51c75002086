use csv::StringRecord;

use super::dialect::{Dialect, fault};
use super::series::Series;
use crate::Progress;
use crate::earth::{Grid, LonLat};
use crate::exchange::error::{Fault, Stop};
use crate::exchange::records::row::Row;
use crate::exchange::records::shape::{self, Role, Shape};
use crate::exchange::records::things;
use crate::exchange::take_in::taking::{Mark, Taking};
use crate::exchange::tools::heading::Field;
use crate::exchange::tools::source::Source;
use crate::exchange::tools::value::coordinate;
use crate::exchange::what::What;

/// Reads a table: once for how it is written, once for what it holds.
pub(in crate::exchange) fn read(source: &Source, taking: &mut Taking<'_>, progress: &Progress) -> Result<String, Stop> {
    let dialect = Dialect::sniff(source, progress)?;
    let columns = Columns::from_dialect(&dialect, taking.options.grid()?)?;
    let what = match taking.options.what {
        Some(what) => what,
        None => columns.guess()?,
    };
    tell(taking, &dialect, &columns);
    let (mut reader, line) = dialect.reader(source, progress)?;
    let day_first = taking.options.day_first.or(dialect.day_first).unwrap_or(true);
    let mut table = Table { columns, what, series: Series::default() };
    let mut record = StringRecord::new();
    let mut rows = 0;
    while reader.read_record(&mut record).map_err(|e| fault(&e, line.get()))? {
        if record.iter().all(str::is_empty) {
            continue;
        }
        rows += 1;
        let at = record.position().map_or(0, csv::Position::line) + dialect.lines_before();
        let mut row = Row::new(Mark { line: at, noun: "row", number: rows }, dialect.comma, day_first);
        for (cell, column) in record.iter().zip(&dialect.columns) {
            if let Some((field, unit)) = column {
                row.add(*field, cell, *unit);
            }
        }
        table.row(taking, &mut row)?;
    }
    if rows == 0 {
        taking.warn("the table holds headings and no rows");
    }
    table.series.finish(taking, what)?;
    Ok(format!("a table of {rows} row(s), taken as {what}"))
}

/// What the headings of a table suggest, if anything.
pub(in crate::exchange) fn guess(source: &Source) -> Option<What> {
    let dialect = Dialect::sniff(source, &Progress::new()).ok()?;
    Columns::from_dialect(&dialect, None).and_then(|c| c.guess().map_err(Stop::from)).ok()
}

/// What of a position the columns give.
enum Places {
    None,
    LonLat(Field, Field),
    Grid(Field, Field, Option<Box<Grid>>),
}

struct Columns {
    fields: Vec<Field>,
    places: Places,
}

impl Columns {
    fn from_dialect(dialect: &Dialect, grid: Option<Grid>) -> Result<Self, Stop> {
        let fields: Vec<Field> = dialect.columns.iter().flatten().map(|(f, _)| *f).collect();
        let has = |f| fields.contains(&f);
        let places =
            match (has(Field::Lon) && has(Field::Lat), has(Field::East) && has(Field::North), has(Field::X) && has(Field::Y)) {
                (true, ..) => Places::LonLat(Field::Lon, Field::Lat),
                (_, true, _) if grid.is_some() || has(Field::Grid) => Places::Grid(Field::East, Field::North, grid.map(Box::new)),
                (_, true, _) => {
                    let why =
                        "gives easting and northing without their grid; state it, such as EPSG:27700, or add a column \"epsg\"";
                    return Err(Fault::Option(why.to_owned()).into());
                }
                (.., true) if grid.is_some() || has(Field::Grid) => Places::Grid(Field::X, Field::Y, grid.map(Box::new)),
                (.., true) => Places::LonLat(Field::X, Field::Y),
                // One pair of headings may mix wordings: "lat" with "x".
                _ if (has(Field::Lat) || has(Field::Y)) && (has(Field::Lon) || has(Field::X)) => {
                    let lon = if has(Field::Lon) { Field::Lon } else { Field::X };
                    Places::LonLat(lon, if has(Field::Lat) { Field::Lat } else { Field::Y })
                }
                _ => Places::None,
            };
        Ok(Self { fields, places })
    }

    fn guess(&self) -> Result<What, Fault> {
        let has = |f| self.fields.contains(&f);
        let timed = has(Field::Time) || has(Field::Date);
        let placed = !matches!(self.places, Places::None);
        let named = [Field::What, Field::Kind, Field::Target, Field::Description].into_iter().any(has);
        let settings = [Field::Machine, Field::Mode, Field::Sensitivity, Field::GroundBalance, Field::CoilWidth, Field::Coil];
        Ok(match placed {
            true if has(Field::Role) => What::Finds,
            true if has(Field::Level) && !named && !has(Field::TargetId) => What::Levels,
            true if !named && !has(Field::Depth) && (has(Field::Steadiness) || has(Field::GaugeStep) || has(Field::TargetId)) => {
                What::Signals
            }
            true if timed && !named && !has(Field::Name) && !has(Field::Depth) && !has(Field::Mass) => What::Tracks,
            true => What::Finds,
            false if has(Field::Hs) && timed => What::Storm,
            false if has(Field::Start) && has(Field::End) => What::Outings,
            false if has(Field::Depth) && has(Field::Setup) => What::Bench,
            false if (has(Field::Name) || has(Field::Setup)) && settings.into_iter().any(has) => What::Setups,
            false if has(Field::Level) && timed => What::TideTable,
            false => {
                let why = "its columns hold neither positions, waves, tides, outings nor set-ups; say what it holds".to_owned();
                return Err(Fault::Unknown { why });
            }
        })
    }
}

fn tell(taking: &mut Taking<'_>, dialect: &Dialect, columns: &Columns) {
    let delimiter = match dialect.delimiter {
        b'\t' => "tab".to_owned(),
        other => format!("\"{}\"", char::from(other)),
    };
    taking.understand("encoding", dialect.encoding.name());
    taking.understand("delimiter", delimiter);
    taking.understand("decimal sign", if dialect.comma { "comma" } else { "point" });
    match &columns.places {
        Places::None => {}
        Places::LonLat(..) => taking.understand("positions", "longitude and latitude, WGS 84"),
        Places::Grid(_, _, Some(grid)) => taking.understand("positions", format!("easting and northing on {}", grid.name())),
        Places::Grid(_, _, None) => taking.understand("positions", "easting and northing on the grid each row names"),
    }
    let dates = match (taking.options.day_first, dialect.day_first) {
        (Some(true), _) => "day first, as asked",
        (Some(false), _) => "month first, as asked",
        (None, Some(true)) => "day first, as a date in the file can only be that",
        (None, Some(false)) => "month first, as a date in the file can only be that",
        (None, None) => "day first, as no date in the file says otherwise",
    };
    if dialect.day_first.is_some() || dialect.open_dates {
        taking.understand("dates", dates);
        if dialect.mixed_dates {
            taking.warn(
                "dates with the day first and with the month first both stand in the file; those that do not fit are refused",
            );
        }
    }
    let is_time = |f: &Field| matches!(f, Field::Time | Field::Date | Field::Start | Field::End);
    if columns.fields.iter().any(is_time) {
        let clock = taking.options.zone.clone().unwrap_or_else(|| taking.beach.time_zone.clone());
        taking.understand("times", format!("the clock of {clock} unless an offset or Z is given"));
    }
    let mut unused = Vec::new();
    for (title, column) in dialect.headings.iter().zip(&dialect.columns) {
        match column {
            Some((field, unit)) => {
                let unit = unit
                    .map(|u| u.word)
                    .or(usual_unit(*field, taking.options.feet))
                    .map(|u| format!(", {u}"))
                    .unwrap_or_default();
                taking.understand(format!("column \"{title}\""), format!("{}{unit}", field_words(*field)));
            }
            None => unused.push(title.as_str()),
        }
    }
    if !unused.is_empty() {
        taking.understand("columns not used", unused.join(", "));
    }
}

/// The unit a heading that states none is read in.
fn usual_unit(field: Field, feet: bool) -> Option<&'static str> {
    match field {
        Field::Level if feet => Some("no unit stated, feet as asked"),
        Field::Depth | Field::CoilWidth => Some("no unit stated, centimetres assumed"),
        Field::Mass => Some("no unit stated, grams assumed"),
        Field::Size => Some("no unit stated, millimetres assumed"),
        Field::Level | Field::Sigma | Field::Hs | Field::Surge | Field::Coarsen => Some("no unit stated, metres assumed"),
        _ => None,
    }
}

/// The field in words: `TargetId` is `target id`.
fn field_words(field: Field) -> String {
    let mut words = String::new();
    for c in format!("{field:?}").chars() {
        if c.is_uppercase() && !words.is_empty() {
            words.push(' ');
        }
        words.extend(c.to_lowercase());
    }
    words
}

struct Table {
    columns: Columns,
    what: What,
    series: Series,
}

impl Table {
    fn row(&mut self, taking: &mut Taking<'_>, row: &mut Row) -> Result<(), Stop> {
        let role = if taking.options.what.is_none() { Role::named(row.text(Field::Role)) } else { None };
        let what = match role {
            Some(Role::What(what)) => what,
            _ => self.what,
        };
        let done = match what {
            What::Outings => {
                let made = things::outing(taking, row);
                return things::settle(taking, row, made);
            }
            What::Setups => {
                let made = things::setup(taking, row);
                return things::settle(taking, row, made);
            }
            What::Bench => {
                let made = things::bench(taking, row);
                return things::settle(taking, row, made);
            }
            What::Storm => self.series.add_sea(taking, row),
            What::TideTable | What::Gauge => self.series.add_water(taking, row),
            What::Tracks | What::Baseline => match self.place(row) {
                Ok(at) => self.series.add_place(taking, row, at),
                Err(why) => Err(why),
            },
            What::Zones | What::Permissions | What::Barriers => {
                Err(format!("a table holds points, which cannot be taken as {what}; give them as GeoJSON"))
            }
            What::Finds | What::Signals | What::Levels | What::Accesses => match self.place(row) {
                Ok(at) => return self.point(taking, row, what, at),
                Err(why) => Err(why),
            },
        };
        if let Err(why) = done {
            taking.refuse(row.mark, why);
        }
        Ok(())
    }

    fn point(&self, taking: &mut Taking<'_>, row: &mut Row, what: What, at: LonLat) -> Result<(), Stop> {
        shape::take_as(taking, row, Role::What(what), Shape::Points(vec![(at, None)]))
    }

    fn place(&self, row: &Row) -> Result<LonLat, String> {
        let number = |field: Field, name: &str| {
            let text = row.text(field);
            if text.is_empty() {
                return Err(format!("has no {name}"));
            }
            coordinate(text, row.comma).ok_or_else(|| format!("its {name} \"{text}\" is not a number"))
        };
        match &self.columns.places {
            Places::None => Err("the table has no columns for a position".to_owned()),
            Places::LonLat(lon, lat) => {
                LonLat::new(number(*lon, "longitude")?, number(*lat, "latitude")?).map_err(|e| e.to_string())
            }
            Places::Grid(east, north, stated) => {
                let (x, y) = (number(*east, "easting")?, number(*north, "northing")?);
                match stated {
                    Some(grid) => grid.to_lonlat(x, y),
                    None => Grid::named(row.text(Field::Grid)).and_then(|g| g.to_lonlat(x, y)),
                }
                .map_err(|e| e.to_string())
            }
        }
    }
}
