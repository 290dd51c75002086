//! What the columns of a table are, where a heading alone does not say: by the values under it and the columns beside it.

use super::bench::{AtDepth, depths};
use super::dialect::Dialect;
use super::place::Places;
use crate::earth::{Grid, distance_m};
use crate::exchange::error::{Fault, Stop};
use crate::exchange::take_in::About;
use crate::exchange::take_in::taking::{NEAR_M, Taking};
use crate::exchange::tools::clock_word::clock_of_cell;
use crate::exchange::tools::degrees::{Axis, degrees};
use crate::exchange::tools::heading::{Field, Meaning, says_level, unknown_unit};
use crate::exchange::tools::value::{is_blank, number, target_id};
use crate::exchange::tools::when::{When, clock, date};
use crate::exchange::what::What;

/// The fields of a table, and how they give a position.
pub(super) struct Columns {
    pub(super) fields: Vec<Field>,
    pub(super) places: Places,
    /// Columns that stand for a depth each, of known targets.
    pub(super) depths: Vec<AtDepth>,
}

/// Times that follow each other this closely, in the middle, are a receiver's on a walk, seconds.
const WALKING_S: i64 = 120;

impl Columns {
    pub(super) fn from_dialect(dialect: &Dialect, grid: Option<Grid>) -> Result<Self, Stop> {
        let fields: Vec<Field> = dialect.columns.iter().filter_map(|c| c.field()).collect();
        let has = |f| fields.contains(&f);
        let places =
            match (has(Field::Lon) && has(Field::Lat), has(Field::East) && has(Field::North), has(Field::X) && has(Field::Y)) {
                (true, ..) => Places::LonLat(Field::Lon, Field::Lat),
                (_, true, _) if grid.is_some() || has(Field::Grid) => Places::Grid(Field::East, Field::North, grid.map(Box::new)),
                (_, true, _) if has(Field::UtmZone) => Places::Utm(Field::East, Field::North),
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
                _ => match dialect.columns.iter().find(|c| c.field() == Some(Field::Pair)) {
                    Some(column) => {
                        let title = column.title.to_lowercase();
                        Places::Pair(title.find("lon").or(title.find("lng")).zip(title.find("lat")).map(|(lon, lat)| lon < lat))
                    }
                    None if has(Field::GridRef) => Places::Reference(Field::GridRef),
                    None if has(Field::Grid) => Places::Reference(Field::Grid),
                    None => Places::None,
                },
            };
        Ok(Self { fields, places, depths: depths(dialect) })
    }

    pub(super) fn has(&self, field: Field) -> bool {
        self.fields.contains(&field)
    }

    /// What the rows are.
    pub(super) fn guess(&self) -> Result<What, Fault> {
        let has = |f| self.has(f);
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
            // Rows of a surge alone are refused one by one, with what to do.
            false if (has(Field::Hs) || (has(Field::Surge) && !has(Field::Level))) && timed => What::Storm,
            false if has(Field::Start) && has(Field::End) => What::Outings,
            false if has(Field::Depth) && has(Field::Setup) => What::Bench,
            false if named && !self.depths.is_empty() => What::Bench,
            // A find without its place has a day or a mass; a known target has neither.
            false if has(Field::Depth) && has(Field::TargetId) && named && !timed && !has(Field::Mass) => What::Bench,
            false if (has(Field::Name) || has(Field::Setup)) && settings.into_iter().any(has) => What::Setups,
            false if has(Field::Level) && timed => What::TideTable,
            false => {
                let why =
                    "its columns hold neither positions, waves, tides, outings, known targets nor set-ups; say what it holds, or what \
                     its columns mean, such as with --columns HEADING=lat,HEADING=lon"
                        .to_owned();
                return Err(Fault::Unknown { why });
            }
        })
    }

    /// Whether rows with heights are levels of the sand or the track of a receiver, whose heights are good to metres and
    /// make no sand: a survey states errors or its name; a receiver writes down times as one walks.
    pub(super) fn levels_or_track(&self, dialect: &Dialect, taking: &mut Taking<'_>) -> What {
        let timed = self.has(Field::Time) || self.has(Field::Clock);
        let receiver = is_a_receivers(dialect);
        let surveyed = self.has(Field::Sigma) || self.has(Field::Survey);
        if self.has(Field::Sigma) || (!(timed || receiver) && (surveyed || heads_level(dialect))) {
            return What::Levels;
        }
        let walked = timed && walks(dialect);
        if walked && !surveyed && !heads_level(dialect) {
            taking.understand(
                "heights",
                "a receiver's, kept with the track, as the times follow each other as on a walk; they are no levels of the sand \
                 unless the file is taken as levels",
            );
            return What::Tracks;
        }
        let question = || {
            let title = dialect.columns.iter().find(|c| c.field() == Some(Field::Level)).map_or("", |c| &c.title).to_owned();
            let beside = match (timed, receiver) {
                (true, _) => "stand beside times of day",
                (_, true) => "stand beside what receivers write down",
                _ => "do not say what they are above",
            };
            format!(
                "heights under \"{title}\" {beside}: are they surveyed levels of the sand, or a receiver's heights along a track?"
            )
        };
        match taking.settle(About::Heights, question, None) {
            Some("levels") => What::Levels,
            _ => What::Tracks,
        }
    }

    /// Whether heights taken as levels are a receiver's, so that they have a receiver's error.
    pub(super) fn receivers_heights(&self, dialect: &Dialect) -> bool {
        let timed = self.has(Field::Time) || self.has(Field::Clock);
        !self.has(Field::Sigma) && (is_a_receivers(dialect) || (timed && !self.has(Field::Survey) && !heads_level(dialect)))
    }
}

/// Refuses two tables side by side: what stands in the second would else be kept as words beside the records of the first,
/// or be taken for more of the same.
pub(super) fn refuse_two_tables(dialect: &Dialect) -> Result<(), Fault> {
    let placing = [Field::Lon, Field::Lat, Field::East, Field::North];
    let naming = [Field::X, Field::Y, Field::Pair, Field::GridRef, Field::Target, Field::Depth];
    let of = |wanted: &[Field], n: usize| dialect.columns.get(n).and_then(|c| c.field()).filter(|f| wanted.contains(f));
    let filled = |row: &csv::StringRecord, n: usize| row.get(n).filter(|cell| !is_blank(cell)).map(str::trim).map(str::to_owned);
    for (later, column) in dialect.columns.iter().enumerate() {
        let Some(field) = of(&placing, later).or_else(|| of(&naming, later)) else { continue };
        let title = column.title.trim();
        for (earlier, before) in dialect.columns.iter().enumerate().take(later).filter(|(n, _)| of(&[field], *n).is_some()) {
            let alike = before.title.trim().eq_ignore_ascii_case(title);
            let twice = alike && dialect.cells(later).any(|cell| !is_blank(cell));
            // Under another heading it may be the same position once more, but then it says the same.
            let other = placing.contains(&field)
                && dialect.sample.iter().any(|row| filled(row, later).is_some_and(|cell| filled(row, earlier) != Some(cell)));
            if twice || other {
                let both = if alike {
                    format!("the heading \"{title}\" twice")
                } else {
                    format!("\"{}\" and \"{title}\" for the same", before.title.trim())
                };
                return Err(Fault::Option(format!(
                    "has {both}, as if two tables stood side by side; give each a file or a sheet of its own, or take out the columns that \
                     are not to count"
                )));
            }
        }
    }
    Ok(())
}

/// Refuses numbers under a heading whose unit is not known: whatever else they were taken in would be wrong.
pub(super) fn refuse_unknown_units(dialect: &Dialect, taking: &Taking<'_>) -> Result<(), Fault> {
    for (n, column) in dialect.columns.iter().enumerate() {
        let Some(meaning) = column.meaning.as_ref().filter(|m| m.unit.is_none()) else { continue };
        let Some(word) = unknown_unit(&column.title, meaning.field) else { continue };
        let said_feet = meaning.field == Field::Level && taking.options.feet;
        let bare = dialect.cells(n).any(|cell| number(cell, column.comma).is_some_and(|(_, own)| own.is_none()));
        if said_feet || !bare {
            continue;
        }
        let (known, example) = match meaning.field {
            Field::Mass => ("g, mg, kg, oz, grains or dwt", "mass_g"),
            Field::Depth => ("cm, mm, m, inches or feet", "depth_cm"),
            Field::Size => ("mm, cm or inches", "size_mm"),
            Field::CoilWidth => ("cm or inches", "coil_width_cm"),
            Field::Level => ("m, cm, feet or US survey feet", "level_m"),
            Field::Sigma => ("m, cm or feet", "sigma_m"),
            Field::Surge => ("m, cm or feet", "surge_m"),
            Field::Hs => ("m, cm or feet", "hs_m"),
            Field::Deepest => ("cm, m or feet", "deepest_cm"),
            _ => ("m, cm or feet", "coarsen_m"),
        };
        let title = column.title.trim();
        return Err(Fault::Option(format!(
            "says \"{word}\" behind the heading \"{title}\", which is no unit that is known: which is it? Head the column with one of \
             {known}, or say what its numbers are, such as --columns \"{title}={example}\""
        )));
    }
    Ok(())
}

/// The grid of easting and northing where the file does not name it: as it was answered, else asked where the numbers
/// would lie by the beach on the British or the Irish grid.
pub(super) fn settle_grid(dialect: &Dialect, taking: &mut Taking<'_>) -> Option<Grid> {
    let column = |field| dialect.columns.iter().position(|c| c.field() == Some(field));
    let named = [Field::Grid, Field::UtmZone, Field::Lon].into_iter().any(|f| column(f).is_some());
    let (Some(east), Some(north), false) = (column(Field::East), column(Field::North), named) else { return None };
    let (code_of, both) = (|word: &str| if word == "irish" { "EPSG:29903" } else { "EPSG:27700" }, ["british", "irish"]);
    if let Some(answer) = taking.options.answers.get(&About::Grid) {
        return Grid::named(code_of(answer)).ok();
    }
    if taking.is_survey() {
        return None;
    }
    let cell = |row: &csv::StringRecord, n: usize| number(row.get(n)?, dialect.columns.get(n)?.comma).map(|(v, _)| v);
    let (x, y) = dialect.sample.iter().find_map(|row| Some((cell(row, east)?, cell(row, north)?)))?;
    let near = |word: &&str| {
        let at = Grid::named(code_of(word)).and_then(|g| g.to_lonlat(x, y));
        at.is_ok_and(|at| distance_m(taking.beach.origin, at) <= NEAR_M)
    };
    let likely = *both.iter().find(|word| near(word))?;
    let question = || {
        format!(
            "the easting {x} and northing {y} are on a grid that the file does not name; they lie by the beach on the {} one: which is it? \
             Any other can be named (--grid EPSG:...).",
            if likely == "irish" { "Irish" } else { "British" }
        )
    };
    let answer = taking.settle(About::Grid, question, None).unwrap_or(likely);
    Grid::named(code_of(answer)).ok()
}

/// Takes a column headed `zone` for the zone of UTM where easting and northing stand beside it and it holds such zones:
/// elsewhere it is somebody's word for a part of the beach.
pub(super) fn settle_zone(dialect: &mut Dialect) {
    let has = |field| dialect.columns.iter().any(|c| c.field() == Some(field));
    if !(has(Field::East) && has(Field::North)) || has(Field::Grid) || has(Field::UtmZone) {
        return;
    }
    let is_zone = |cell: &str| {
        let digits = cell.trim().trim_end_matches(|c: char| c.is_ascii_alphabetic());
        let letters = cell.trim().len() - digits.len();
        letters <= 1 && digits.parse::<u8>().is_ok_and(|z| (1..=60).contains(&z))
    };
    let Some(at) = dialect.columns.iter().position(|c| c.title.eq_ignore_ascii_case("zone")) else { return };
    let filled = || dialect.cells(at).filter(|c| !is_blank(c));
    let zones = filled().next().is_some() && filled().all(is_zone);
    if zones && let Some(column) = dialect.columns.get_mut(at) {
        column.meaning = Some(Meaning { field: Field::UtmZone, unit: None, clock: None, numbered: false });
    }
}

/// Takes a column headed `zone` for the clock of its rows where it holds nothing but clocks.
pub(super) fn settle_clock(dialect: &mut Dialect) {
    let is_zone = |title: &str| matches!(title.trim().to_lowercase().as_str(), "zone" | "offset");
    let Some(at) = dialect.columns.iter().position(|c| is_zone(&c.title) && c.meaning.is_none()) else { return };
    let filled = || dialect.cells(at).filter(|c| !is_blank(c));
    // Bare numbers under "zone" are a part of the beach, or of UTM.
    let clocks = filled().all(|c| clock_of_cell(c).is_ok() && c.trim().parse::<u8>().is_err());
    let times = dialect.columns.iter().any(|c| matches!(c.field(), Some(Field::Time | Field::Clock | Field::Date)));
    if times
        && clocks
        && filled().next().is_some()
        && let Some(column) = dialect.columns.get_mut(at)
    {
        column.meaning = Some(Meaning { field: Field::TimeZone, unit: None, clock: None, numbered: false });
    }
}

/// Whether the column of heights is headed as a survey heads it.
fn heads_level(dialect: &Dialect) -> bool {
    dialect.columns.iter().find(|c| c.field() == Some(Field::Level)).is_some_and(|c| says_level(&c.title))
}

/// Whether columns stand there that only a receiver fills: speed, course, satellites, dilution, its word for height.
fn is_a_receivers(dialect: &Dialect) -> bool {
    dialect.columns.iter().any(|c| {
        let plain: String = c.title.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect();
        let word = plain.trim_end_matches("kmh").trim_end_matches("ms");
        let heads = ["speed", "course", "satellites", "sats", "sat", "hdop", "vdop", "pdop", "bearing", "numsat", "fixtype"];
        let height = ["altitude", "alt", "ele", "gpsaltitude", "gpsheight", "altitudem", "gpselevation"];
        heads.contains(&word) || height.contains(&plain.as_str()) || height.contains(&word)
    })
}

/// Whether the times of the first rows follow each other as those of a receiver on a walk.
fn walks(dialect: &Dialect) -> bool {
    let day_first = dialect.dates.alone().unwrap_or(true);
    let column = |field: Field| dialect.columns.iter().position(|c| c.field() == Some(field));
    let (day, time) = (column(Field::Date), column(Field::Time).or(column(Field::Clock)));
    let Some(time) = time else { return false };
    let when = |row: &csv::StringRecord| {
        let text = row.get(time)?;
        let read = match day.and_then(|d| row.get(d)).filter(|d| !is_blank(d)) {
            Some(day) => When::read(text, day_first)
                .filter(|w| !matches!(w, When::Day(_)))
                .or_else(|| When::read_two(day, text, day_first))
                .or_else(|| When::read_two(day, text, !day_first)),
            None => When::read(text, day_first),
        };
        match read? {
            When::Instant(time) => Some(time.as_second()),
            When::Local(at) => jiff::tz::TimeZone::UTC.to_timestamp(at).ok().map(|t| t.as_second()),
            When::Day(_) => None,
        }
    };
    let times: Vec<i64> = dialect.sample.iter().filter_map(when).collect();
    let mut steps: Vec<i64> = times.windows(2).map(|w| (w[1] - w[0]).abs()).filter(|s| *s > 0).collect();
    steps.sort_unstable();
    steps.len() >= 2 && steps.get(steps.len() / 2).is_some_and(|s| *s <= WALKING_S)
}

/// Settles by their cells what columns about the sides of degrees hold: one headed `Latitude N/S` may hold the whole
/// latitude, and one behind the degrees under any heading, or none, only their letters.
pub(super) fn settle_sides(dialect: &mut Dialect) {
    let mut found: Vec<(usize, Field)> = Vec::new();
    let field = |n: usize| dialect.columns.get(n).and_then(|c| c.field());
    let cells = |n: usize| dialect.cells(n).filter(|c| !is_blank(c));
    let letters = |n: usize, axis: Axis| {
        cells(n).next().is_some() && cells(n).all(|c| c.trim().chars().count() == 1 && axis.side(c).is_ok())
    };
    for n in 0..dialect.columns.len() {
        let digits = || cells(n).any(|c| c.contains(|c: char| c.is_ascii_digit()));
        match field(n) {
            Some(Field::NorthSouth) if digits() => found.push((n, Field::Lat)),
            Some(Field::EastWest) if digits() => found.push((n, Field::Lon)),
            _ => {}
        }
        let is = |f: Field| field(n) == Some(f) || found.contains(&(n, f));
        let open = !matches!(field(n + 1), Some(Field::NorthSouth | Field::EastWest));
        if is(Field::Lat) && open && letters(n + 1, Axis::Lat) {
            found.push((n + 1, Field::NorthSouth));
        } else if is(Field::Lon) && open && letters(n + 1, Axis::Lon) {
            found.push((n + 1, Field::EastWest));
        }
    }
    for (n, field) in found {
        if let Some(column) = dialect.columns.get_mut(n) {
            column.meaning = Some(Meaning { field, unit: None, clock: None, numbered: false });
        }
    }
}

/// The columns of a date whose day, month and year each have their own, as those of a paper form do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct DateParts {
    day: usize,
    month: usize,
    year: usize,
}

const DAY: &[&str] = &["day", "tag", "jour", "dag", "d\u{ed}a", "dia", "giorno"];
const MONTH: &[&str] = &["month", "monat", "mois", "maand", "mes", "m\u{e5}ned", "maaned", "mese"];
const YEAR: &[&str] = &["year", "jahr", "ann\u{e9}e", "annee", "jaar", "a\u{f1}o", "ano", "\u{e5}r", "aar", "anno"];

/// What columns are whose headings mean several things, by what stands under them: days of the calendar under `Jour` or
/// `Dag`, which are also days of the week, and degrees under `Bredde` and `Længde`, which are also width and length.
pub(super) fn by_values(dialect: &Dialect, given: &[(String, Option<Meaning>)]) -> Vec<(String, Option<Meaning>)> {
    let has = |field| dialect.columns.iter().any(|c| c.field() == Some(field));
    let headed = |words: &[&str]| {
        let mut titles = dialect.columns.iter().map(|c| c.title.trim().to_lowercase()).enumerate();
        titles.find(|(_, title)| words.contains(&title.as_str()) && !given.iter().any(|(stated, _)| stated == title))
    };
    let all = |n: usize, is_so: &dyn Fn(&str) -> bool| {
        let mut filled = dialect.cells(n).filter(|c| !is_blank(c)).peekable();
        filled.peek().is_some() && filled.all(is_so)
    };
    let as_field = |title: String, field| (title, Some(Meaning { field, unit: None, clock: None, numbered: false }));
    let mut found = Vec::new();
    if !has(Field::Date)
        && let Some((n, title)) = headed(DAY)
        && all(n, &|cell| date(cell, true).or_else(|| date(cell, false)).is_some())
    {
        found.push(as_field(title, Field::Date));
    }
    let is_degrees = |cell: &str, axis: Axis, most: f64| {
        let fine = cell.split(['.', ',']).nth(1).is_some_and(|f| f.chars().take_while(char::is_ascii_digit).count() >= 3);
        fine && degrees(cell, true, axis).is_ok_and(|v| v.abs() <= most)
    };
    if !has(Field::Lon)
        && let Some((lat, lat_title)) = headed(&["bredde", "breedte"])
        && let Some((lon, lon_title)) = headed(&["l\u{e6}ngde", "laengde", "lengte"])
        && all(lat, &|cell| is_degrees(cell, Axis::Lat, 90.0))
        && all(lon, &|cell| is_degrees(cell, Axis::Lon, 180.0))
    {
        found.push(as_field(lat_title, Field::Lat));
        found.push(as_field(lon_title, Field::Lon));
    }
    found
}

impl DateParts {
    /// Finds them, and takes the column of days for that of dates.
    pub(super) fn settle(dialect: &mut Dialect) -> Option<Self> {
        let headed = |words: &[&str]| dialect.columns.iter().position(|c| words.contains(&c.title.to_lowercase().as_str()));
        let parts = Self { day: headed(DAY)?, month: headed(MONTH)?, year: headed(YEAR)? };
        let whole = |n: usize, from: u16, to: u16| {
            let mut filled = dialect.cells(n).filter(|c| !is_blank(c)).peekable();
            filled.peek().is_some() && filled.all(|c| c.trim().parse::<u16>().is_ok_and(|v| (from..=to).contains(&v)))
        };
        let other = dialect.columns.iter().enumerate().any(|(n, c)| n != parts.day && matches!(c.field(), Some(Field::Date)));
        if other || !whole(parts.day, 1, 31) || !whole(parts.year, 1900, 2100) {
            return None;
        }
        if let Some(column) = dialect.columns.get_mut(parts.day) {
            column.meaning = Some(Meaning { field: Field::Date, unit: None, clock: None, numbered: false });
        }
        for n in [parts.month, parts.year] {
            if let Some(column) = dialect.columns.get_mut(n) {
                column.meaning = None;
            }
        }
        Some(parts)
    }

    /// What stands in the cell of a row's date, where this is the column of days; nothing for the two others.
    pub(super) fn cell(self, n: usize, record: &csv::StringRecord) -> Option<String> {
        let cell = |n: usize| record.get(n).map(str::trim).filter(|c| !is_blank(c));
        if n == self.day { Some(format!("{}-{}-{}", cell(self.year)?, cell(self.month)?, cell(self.day)?)) } else { None }
    }

    /// Whether a column is one of them.
    pub(super) fn holds(self, n: usize) -> bool {
        [self.day, self.month, self.year].contains(&n)
    }
}

/// Settles whether a column headed `Tid` holds target IDs or, as that is Danish, Norwegian and Swedish for time, times of
/// day. What was said of it counts.
pub(super) fn settle_tid(dialect: &mut Dialect, given: &[(String, Option<Meaning>)]) -> Result<(), Fault> {
    let is_tid = |title: &str| title.trim().eq_ignore_ascii_case("tid");
    let Some(at) = dialect.columns.iter().position(|c| is_tid(&c.title) && c.field() == Some(Field::TargetId)) else {
        return Ok(());
    };
    let has = |field| dialect.columns.iter().any(|c| c.field() == Some(field));
    let cells: Vec<&str> = dialect.cells(at).filter(|c| !is_blank(c)).collect();
    if given.iter().any(|(heading, _)| is_tid(heading)) || has(Field::Time) || has(Field::Clock) || cells.is_empty() {
        return Ok(());
    }
    let colons = cells.iter().all(|c| c.contains(':'));
    if cells.iter().all(|c| clock(c).is_some()) && (colons || has(Field::Date)) {
        if let Some(column) = dialect.columns.get_mut(at) {
            column.meaning = Some(Meaning { field: Field::Time, unit: None, clock: None, numbered: false });
        }
        return Ok(());
    }
    // `915` is a quarter past nine as well as a number.
    let may_be = |cell: &str| clock(cell).is_some() || clock(&format!("0{cell}")).is_some_and(|_| cell.trim().len() == 3);
    if cells.iter().all(|c| may_be(c)) {
        return Err(Fault::Option(format!(
            "has \"{}\" under \"{}\", which may be times of day or target IDs: which are they? Say so with --columns Tid=time or \
             --columns Tid=target_id",
            cells.first().unwrap_or(&""),
            dialect.columns.get(at).map_or("Tid", |c| c.title.trim())
        )));
    }
    Ok(())
}

/// What numbers under `id`, `no` or `#` are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Numbers {
    /// They count up, repeat nothing or are no numbers: one's own numbering.
    Own,
    /// They repeat and go up and down, within what detectors show.
    TargetIds,
    /// Too few to tell.
    Open,
}

/// Settles what columns under `id`, `no` or `#` hold, and takes their meaning from those that hold no target ID.
pub(super) fn settle_ids(dialect: &mut Dialect, taking: &mut Taking<'_>) {
    let Some(at) = dialect.columns.iter().position(|c| c.field() == Some(Field::Id)) else { return };
    let named = dialect.columns.iter().find(|c| c.field() == Some(Field::TargetId)).map(|c| c.title.clone());
    let dug = [Field::What, Field::Kind, Field::Target, Field::Depth, Field::Steadiness, Field::GaugeStep, Field::Mass]
        .into_iter()
        .any(|f| dialect.columns.iter().any(|c| c.field() == Some(f)));
    let title = dialect.columns[at].title.clone();
    let is_id = title.to_lowercase().starts_with("id");
    let found = match judge(dialect.cells(at).filter(|c| !is_blank(c))) {
        // A heading that only numbers, or rows of nothing dug, have no target IDs.
        _ if !is_id || !dug => Numbers::Own,
        // Another column is named as the target ID, yet this one looks like it.
        Numbers::TargetIds if named.is_some() => Numbers::Open,
        found => found,
    };
    let target = match found {
        Numbers::Own => false,
        Numbers::TargetIds => true,
        Numbers::Open => {
            let first = dialect.cells(at).find(|c| !is_blank(c)).unwrap_or_default().to_owned();
            let beside = named.as_ref().map_or_else(String::new, |n| format!(" and stands beside \"{n}\""));
            let question =
                || format!("the column \"{title}\" begins with {first}{beside}: is it the target ID, or a number of your own?");
            taking.settle(About::Id, question, None) == Some("target")
        }
    };
    for column in &mut dialect.columns {
        let field = column.field();
        if field == Some(Field::TargetId) && target {
            // The column that was named as one is not, as the person said.
            column.meaning = None;
        }
        if field == Some(Field::Id) {
            match column.meaning.as_mut().filter(|_| target && column.title == title) {
                Some(meaning) => meaning.field = Field::TargetId,
                None => column.meaning = None,
            }
        }
    }
}

/// Steps of one in a row, over this share of the rows, are a numbering.
const COUNTING: f64 = 0.8;
/// Fewer values than this tell nothing by never repeating.
const FEW: usize = 5;

fn judge<'c>(cells: impl Iterator<Item = &'c str>) -> Numbers {
    let cells: Vec<&str> = cells.collect();
    let values: Vec<f64> = cells.iter().filter_map(|c| target_id(c, false)).collect();
    if values.len() < cells.len() || values.iter().any(|v| !(-99.0..=999.0).contains(v)) || values.is_empty() {
        return Numbers::Own;
    }
    let steps = || values.windows(2).map(|w| w[1] - w[0]);
    let count = values.len() - 1;
    let by_one = steps().filter(|s| *s == 1.0).count();
    if (count > 0 && by_one as f64 >= COUNTING * count as f64) || values == [1.0] || values == [0.0] {
        return Numbers::Own;
    }
    let rising = steps().all(|s| s > 0.0) || steps().all(|s| s < 0.0);
    if rising && values.len() >= FEW {
        return Numbers::Own;
    }
    let mut sorted = values.clone();
    sorted.sort_by(f64::total_cmp);
    let repeats = sorted.windows(2).any(|w| w[0] == w[1]);
    if repeats || (!rising && values.len() >= FEW) { Numbers::TargetIds } else { Numbers::Open }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_told_by_how_they_run() {
        let of = |cells: &[&str]| judge(cells.iter().copied());
        assert_eq!(of(&["1", "2", "3", "4"]), Numbers::Own);
        assert_eq!(of(&["101", "102", "103", "105", "106", "107"]), Numbers::Own);
        assert_eq!(of(&["3", "7", "12", "13", "40", "55"]), Numbers::Own, "it only rises");
        assert_eq!(of(&["F001", "F002"]), Numbers::Own);
        assert_eq!(of(&["10045", "10046"]), Numbers::Own);
        assert_eq!(of(&["1"]), Numbers::Own);
        assert_eq!(of(&[]), Numbers::Own);
        assert_eq!(of(&["12", "13", "12", "40"]), Numbers::TargetIds);
        assert_eq!(of(&["44", "-4", "71", "12", "13"]), Numbers::TargetIds);
        assert_eq!(of(&["44", "12"]), Numbers::Open);
        assert_eq!(of(&["44"]), Numbers::Open);
    }
}
