//! What a column heading or a property's name means: the field, and the unit if it states one.

/// A field that records of some kind have.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(in crate::exchange) enum Field {
    Accuracy,
    Clock,
    Coarsen,
    Coil,
    CoilWidth,
    Date,
    Depth,
    Description,
    Dig,
    Direction,
    Discrimination,
    East,
    End,
    Exact,
    From,
    GaugeStep,
    Grid,
    Ground,
    GroundBalance,
    HighLow,
    Holder,
    Hours,
    Hs,
    IronAudio,
    Kind,
    Lat,
    Level,
    Lie,
    Lon,
    Machine,
    Mass,
    Material,
    Mode,
    Name,
    North,
    Notes,
    Photo,
    Report,
    Role,
    Sand,
    Scraped,
    Seaward,
    Sensitivity,
    Setup,
    Sigma,
    Size,
    Start,
    State,
    Steadiness,
    Surge,
    Survey,
    Target,
    TargetId,
    Terms,
    Time,
    Times,
    To,
    Tone,
    Tp,
    Uid,
    Use,
    Volume,
    Weight,
    What,
    X,
    Y,
}

/// A unit as a heading or a value states it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::exchange) struct Unit {
    /// How messages call it.
    pub(in crate::exchange) word: &'static str,
    /// What it is a unit of.
    pub(in crate::exchange) of: Quantity,
    /// How many metres, grams, seconds or degrees it is.
    pub(in crate::exchange) factor: f64,
}

/// What a unit measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::exchange) enum Quantity {
    Length,
    Mass,
    Time,
    Angle,
}

impl Unit {
    pub(in crate::exchange) const METRE: Self = Self { word: "metres", of: Quantity::Length, factor: 1.0 };
    pub(in crate::exchange) const CENTIMETRE: Self = Self { word: "centimetres", of: Quantity::Length, factor: 0.01 };
    pub(in crate::exchange) const MILLIMETRE: Self = Self { word: "millimetres", of: Quantity::Length, factor: 0.001 };
    pub(in crate::exchange) const FOOT: Self = Self { word: "feet", of: Quantity::Length, factor: 0.3048 };
    pub(in crate::exchange) const GRAM: Self = Self { word: "grams", of: Quantity::Mass, factor: 1.0 };

    /// The unit a word means. The inch, foot, ounce and pound are the international ones
    /// (NIST Handbook 44, appendix C); an ounce is avoirdupois.
    pub(in crate::exchange) fn named(word: &str) -> Option<Self> {
        let inch = Self { word: "inches", of: Quantity::Length, factor: 0.0254 };
        Some(match word.trim().trim_end_matches('.').to_lowercase().as_str() {
            "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => Self::MILLIMETRE,
            "cm" | "cms" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => Self::CENTIMETRE,
            "m" | "metre" | "metres" | "meter" | "meters" => Self::METRE,
            "in" | "ins" | "inch" | "inches" | "\"" | "″" => inch,
            "ft" | "foot" | "feet" => Self::FOOT,
            "mg" | "milligrams" => Self { word: "milligrams", factor: 0.001, ..Self::GRAM },
            "g" | "gm" | "gms" | "gram" | "grams" | "gramme" | "grammes" => Self::GRAM,
            "kg" | "kilogram" | "kilograms" => Self { word: "kilograms", factor: 1000.0, ..Self::GRAM },
            "oz" | "ounce" | "ounces" => Self { word: "ounces", factor: 28.349_523_125, ..Self::GRAM },
            "lb" | "lbs" | "pound" | "pounds" => Self { word: "pounds", factor: 453.592_37, ..Self::GRAM },
            "s" | "sec" | "secs" | "seconds" => Self { word: "seconds", of: Quantity::Time, factor: 1.0 },
            "deg" | "degrees" | "°" => Self { word: "degrees", of: Quantity::Angle, factor: 1.0 },
            _ => return None,
        })
    }
}

/// The field a heading names, and its unit if it states one.
pub(in crate::exchange) fn heading(text: &str) -> Option<(Field, Option<Unit>)> {
    let (main, bracket) = match text.split_once(['(', '[']) {
        Some((main, rest)) => (main, rest.split([')', ']']).next().unwrap_or_default()),
        None => (text, ""),
    };
    let mut unit = bracket.split([' ', ',']).next().and_then(Unit::named);
    let words = words(main);
    let known = |words: &[String]| field_named(&words.concat());
    if let Some(field) = known(&words) {
        return Some((field, unit));
    }
    let (last, rest) = words.split_last()?;
    let field = known(rest)?;
    unit = unit.or_else(|| Unit::named(last));
    unit.map(|u| (field, Some(u)))
}

/// Lower-case words, parted at anything but letters and digits and where a capital follows a small letter.
fn words(text: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut small_before = false;
    for c in text.chars() {
        if !c.is_alphanumeric() {
            words.push(String::new());
        } else {
            if c.is_uppercase() && small_before {
                words.push(String::new());
            }
            if let Some(word) = words.last_mut() {
                word.extend(c.to_lowercase());
            }
        }
        small_before = c.is_lowercase();
    }
    words.retain(|w| !w.is_empty());
    words
}

/// Every wording known, run together in lower case.
fn field_named(plain: &str) -> Option<Field> {
    Some(match plain {
        "lon" | "long" | "lng" | "longitude" | "gpslongitude" | "longitudewgs84" | "lon84" => Field::Lon,
        "lat" | "latitude" | "gpslatitude" | "latitudewgs84" | "lat84" => Field::Lat,
        "x" | "xcoord" | "coordx" | "pointx" => Field::X,
        "y" | "ycoord" | "coordy" | "pointy" => Field::Y,
        "e" | "east" | "easting" | "eastings" => Field::East,
        "n" | "north" | "northing" | "northings" => Field::North,
        "epsg" | "crs" | "srid" | "grid" | "coordinatesystem" => Field::Grid,
        "time" | "datetime" | "timestamp" | "when" | "dateandtime" | "datetimeutc" | "timeutc" | "utc" | "foundat"
        | "recorded" => Field::Time,
        "date" | "day" | "founddate" | "datefound" | "surveydate" | "dateofsurvey" => Field::Date,
        "clock" | "timeofday" | "hour" | "localtime" | "hhmm" => Field::Clock,
        "times" | "coordtimes" => Field::Times,
        "what" | "find" | "item" | "object" | "found" | "thing" => Field::What,
        "description" | "desc" | "details" => Field::Description,
        "name" | "title" | "label" => Field::Name,
        "target" => Field::Target,
        "kind" | "category" | "class" | "type" | "findtype" => Field::Kind,
        "weightclass" | "heavyorlight" | "heaviness" => Field::Weight,
        "mass" | "weight" | "wt" => Field::Mass,
        "material" | "metal" | "madeof" | "composition" => Field::Material,
        "depth" | "dugdepth" | "finddepth" => Field::Depth,
        "targetid" | "targetids" | "tid" | "vdi" | "id" | "ids" | "conductivity" | "targetnumber" | "signal" => Field::TargetId,
        "size" | "diameter" | "length" | "dia" | "largestdimension" => Field::Size,
        "state" | "condition" | "preservation" => Field::State,
        "photo" | "picture" | "image" | "photofile" => Field::Photo,
        "notes" | "note" | "comment" | "comments" | "remark" | "remarks" | "cmt" => Field::Notes,
        "level" | "elevation" | "height" | "z" | "elev" | "altitude" | "alt" | "ele" | "waterlevel" | "tideheight"
        | "heightod" => Field::Level,
        "sigma" | "stderr" | "standarderror" | "error" | "uncertainty" | "levelsigma" => Field::Sigma,
        "accuracy" | "hdop" | "gpsaccuracy" => Field::Accuracy,
        "survey" | "surveyname" => Field::Survey,
        "role" => Field::Role,
        "use" | "usage" | "landuse" => Field::Use,
        "hs" | "significantwaveheight" | "waveheight" | "hm0" | "swh" | "hsig" => Field::Hs,
        "tp" | "peakperiod" | "waveperiod" | "period" => Field::Tp,
        "dir" | "direction" | "wavedirection" | "wavedir" | "dirp" => Field::Direction,
        "surge" | "residual" | "skewsurge" => Field::Surge,
        "hl" | "highlow" | "hwlw" | "tide" | "highorlow" | "tidetype" => Field::HighLow,
        "start" | "begin" | "started" | "starttime" | "began" => Field::Start,
        "end" | "finish" | "ended" | "endtime" | "stop" => Field::End,
        "setup" | "settings" | "program" => Field::Setup,
        "sand" | "sandnotes" | "sandnote" => Field::Sand,
        "steadiness" | "steady" | "stability" => Field::Steadiness,
        "gaugestep" | "gauge" | "depthgauge" | "depthstep" | "depthbars" => Field::GaugeStep,
        "holder" | "owner" | "landowner" | "grantedby" | "givenby" => Field::Holder,
        "from" | "validfrom" | "startdate" => Field::From,
        "to" | "until" | "validto" | "validuntil" | "enddate" | "expires" => Field::To,
        "hours" | "allowedhours" | "openinghours" => Field::Hours,
        "terms" | "conditions" => Field::Terms,
        "report" | "reporting" | "duties" => Field::Report,
        "exactpositions" | "exact" => Field::Exact,
        "coarsen" | "coarsening" | "positiongrid" => Field::Coarsen,
        "machine" | "detector" => Field::Machine,
        "mode" | "searchmode" => Field::Mode,
        "sensitivity" | "sens" | "gain" => Field::Sensitivity,
        "groundbalance" | "gb" => Field::GroundBalance,
        "discrimination" | "disc" => Field::Discrimination,
        "ironaudio" => Field::IronAudio,
        "tone" => Field::Tone,
        "tones" => Field::Tone,
        "volume" => Field::Volume,
        "coil" => Field::Coil,
        "coilwidth" | "coilsize" => Field::CoilWidth,
        "scraped" | "scrapedoff" => Field::Scraped,
        "ground" => Field::Ground,
        "lie" | "orientation" => Field::Lie,
        "dig" | "woulddig" => Field::Dig,
        "seaward" | "seawardside" | "sea" => Field::Seaward,
        "uid" => Field::Uid,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn common_wordings_name_their_field_and_unit() {
        let of = |text: &str| heading(text).map(|(f, u)| (f, u.map(|u| u.word)));
        for (text, field, unit) in [
            ("Latitude", Field::Lat, None),
            ("  lng ", Field::Lon, None),
            ("Weight (g)", Field::Mass, Some("grams")),
            ("mass_g", Field::Mass, Some("grams")),
            ("Depth in", Field::Depth, Some("inches")),
            ("depth_cm", Field::Depth, Some("centimetres")),
            ("DepthCm", Field::Depth, Some("centimetres")),
            ("Depth [inches]", Field::Depth, Some("inches")),
            ("TargetID", Field::TargetId, None),
            ("Target ID", Field::TargetId, None),
            ("VDI", Field::TargetId, None),
            ("hs_m", Field::Hs, Some("metres")),
            ("Height (ft above datum)", Field::Level, Some("feet")),
            ("coil_width_cm", Field::CoilWidth, Some("centimetres")),
            ("Date / Time", Field::Time, None),
            ("found", Field::What, None),
        ] {
            assert_eq!(of(text), Some((field, unit)), "{text}");
        }
        assert_eq!(of("favourite colour"), None);
        assert_eq!(of("depth of feeling"), None);
    }
}
