//! What a column heading or a property's name means: the field, the unit if it states one, and the clock if it names one.

use super::clock_word::{ClockWord, take_clock};
pub(in crate::exchange) use super::field::Field;
use super::tongues;
pub(in crate::exchange) use super::unit::{Quantity, Unit, in_brackets};
use super::unit::{is_of_a_datum, marked_unit, says_no_unit, stated_unit};

/// What a heading means.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::exchange) struct Meaning {
    pub(in crate::exchange) field: Field,
    /// The unit it states.
    pub(in crate::exchange) unit: Option<Unit>,
    /// The clock it names, of a field about time.
    pub(in crate::exchange) clock: Option<ClockWord>,
    /// Whether it is one of several of its sort: `ID1`, `ID2` are one reading's target IDs.
    pub(in crate::exchange) numbered: bool,
}

/// The field a heading names, with its unit and clock.
pub(in crate::exchange) fn meaning(text: &str) -> Option<Meaning> {
    let (rest, clock) = take_clock(text);
    if clock.is_some() {
        let field = if rest.is_empty() { Some(Field::Time) } else { plain(&rest).map(|m| m.field) };
        if let Some(field) = field.filter(|f| f.is_about_time()) {
            return Some(Meaning { field, unit: None, clock, numbered: false });
        }
    }
    plain(text).or_else(|| numbered(text))
}

/// A heading without a clock.
fn plain(text: &str) -> Option<Meaning> {
    let main = text.split(['(', '[']).next().unwrap_or_default();
    let bracket = in_brackets(text);
    // A coil in centimetres is told by its width.
    let told = |field, unit: Option<Unit>| match field {
        Field::Coil if unit.is_some_and(|u| u.of == Quantity::Length) => Field::CoilWidth,
        other => other,
    };
    let bare = |field, unit| Some(Meaning { field: told(field, unit), unit, clock: None, numbered: false });
    let first = bracket.first().and_then(|w| Unit::named(w));
    if matches!(main.trim(), "#" | "№" | "N°" | "Nº") {
        return bare(Field::Id, None);
    }
    if let Some(field) = pair_or_side(main) {
        return bare(field, None);
    }
    let words = words(main);
    if let Some(field) = minutes_and_seconds(&words) {
        return bare(field, None);
    }
    let known = |words: &[String]| field_named(&words.concat());
    if let Some(field) = known(&words) {
        let stated = if is_measure(field) { stated_unit(&bracket).or(marked_unit(main)) } else { first };
        return bare(field, stated);
    }
    let mut unit = stated_unit(&bracket);
    let (last, rest) = words.split_last()?;
    unit = unit.or_else(|| Unit::named(last));
    // "Weight in g", "profondeur en cm", "dybde i cm".
    let rest = match rest {
        [before @ .., link] if unit.is_some() && ["in", "en", "i"].contains(&link.as_str()) => before,
        rest => rest,
    };
    match (known(rest), unit) {
        (Some(field), Some(unit)) => bare(field, Some(unit)),
        (_, unit) => height_above(&words).map(|m| Meaning { unit: unit.or(m.unit), ..m }),
    }
}

/// Whether a field is a length or a mass, so that a number in it says nothing without a unit.
fn is_measure(field: Field) -> bool {
    use Field::{Coarsen, CoilWidth, Deepest, Depth, Hs, Level, Mass, Sigma, Size, Surge};
    matches!(field, Depth | CoilWidth | Deepest | Mass | Size | Level | Sigma | Hs | Surge | Coarsen)
}

/// What a heading of a measure has in brackets where that may be a unit and is none that is known, such as `spits`.
pub(in crate::exchange) fn unknown_unit(title: &str, field: Field) -> Option<String> {
    let inside = in_brackets(title);
    if !is_measure(field) || inside.iter().all(|w| says_no_unit(w)) || stated_unit(&inside).is_some() {
        return None;
    }
    let whole = inside.join(" ");
    field_named(&words(&whole).concat()).is_none().then_some(whole)
}

/// `ID1`, `vdi_2`: one of several target IDs.
fn numbered(text: &str) -> Option<Meaning> {
    let text = text.trim();
    let word = text.trim_end_matches(|c: char| c.is_ascii_digit());
    let digits = text.len() - word.len();
    let field = plain(word).map(|m| m.field).filter(|f| matches!(f, Field::Id | Field::TargetId))?;
    let short = (1..=2).contains(&digits) && !word.contains('#');
    (short && matches!(field, Field::Id | Field::TargetId)).then_some(Meaning {
        field: Field::TargetId,
        unit: None,
        clock: None,
        numbered: true,
    })
}

/// `Lat/Lon` in one column, or the letters `N/S` and `E/W` beside degrees.
fn pair_or_side(main: &str) -> Option<Field> {
    let plain: String =
        main.chars().filter(|c| !c.is_whitespace() && !matches!(c, '_' | '-' | '.')).flat_map(char::to_lowercase).collect();
    Some(match plain.as_str() {
        "n/s" | "ns" | "northsouth" | "north/south" | "latdir" | "latref" | "lathem" | "lathemisphere" | "latitudehemisphere"
        | "latituderef" | "latitudedirection" | "latdirection" | "gpslatituderef" | "latn/s" | "latns" | "latituden/s"
        | "latitudens" => Field::NorthSouth,
        "e/w"
        | "ew"
        | "eastwest"
        | "east/west"
        | "londir"
        | "lonref"
        | "lonhem"
        | "lonhemisphere"
        | "longitudehemisphere"
        | "longituderef"
        | "longitudedirection"
        | "londirection"
        | "gpslongituderef"
        | "lone/w"
        | "lonew"
        | "w/e"
        | "we"
        | "longe/w"
        | "longew"
        | "longitudee/w"
        | "longitudeew"
        | "longdir" => Field::EastWest,
        "lat/lon" | "lat,lon" | "latlon" | "latlong" | "lat/long" | "lat,long" | "latlng" | "lat/lng" | "lat,lng"
        | "latitude/longitude" | "latitude,longitude" | "coordinates" | "coordinate" | "coords" | "position" | "gps"
        | "gpsposition" | "gpscoordinates" | "location" | "lonlat" | "lon/lat" | "lon,lat" | "longlat" | "long/lat"
        | "longitude/latitude" | "longitude,latitude" | "geometry" | "wkt" | "point" => Field::Pair,
        _ => return None,
    })
}

/// Minutes and seconds of degrees in columns of their own.
fn minutes_and_seconds(words: &[String]) -> Option<Field> {
    let (last, axis) = words.split_last()?;
    let lat = match axis.concat().as_str() {
        "lat" | "latitude" => true,
        "lon" | "long" | "lng" | "longitude" => false,
        _ => return None,
    };
    Some(match (lat, last.as_str()) {
        (true, "min" | "mins" | "minute" | "minutes" | "mm") => Field::LatMinutes,
        (false, "min" | "mins" | "minute" | "minutes" | "mm") => Field::LonMinutes,
        (true, "s" | "sec" | "secs" | "second" | "seconds" | "ss") => Field::LatSeconds,
        (false, "s" | "sec" | "secs" | "second" | "seconds" | "ss") => Field::LonSeconds,
        (true, "d" | "dd") => Field::Lat,
        (false, "d" | "dd") => Field::Lon,
        _ => return None,
    })
}

/// Whether a heading of heights is one as a survey of the land has it, and not a receiver: it says level, or names what the
/// heights are above, by the short names of national height datums too (common practice, no published source).
pub(in crate::exchange) fn says_level(title: &str) -> bool {
    words(title).iter().any(|w| is_of_a_datum(w))
}

/// `Height AOD`, `level above datum`: a height whose heading says what it is above.
fn height_above(words: &[String]) -> Option<Meaning> {
    let filler = ["above", "over", "to", "the", "land", "chart", "ordnance", "in"];
    let said = words.iter().filter(|w| is_of_a_datum(w)).count();
    let rest: Vec<&String> = words.iter().filter(|w| !is_of_a_datum(w) && !filler.contains(&w.as_str())).collect();
    let unit = rest.iter().find_map(|w| Unit::named(w));
    let rest: String = rest.into_iter().filter(|w| Unit::named(w).is_none()).cloned().collect();
    let height = rest.is_empty() || field_named(&rest) == Some(Field::Level);
    (said > 0 && height).then_some(Meaning { field: Field::Level, unit, clock: None, numbered: false })
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
    english(plain).or_else(|| tongues::field_named(plain))
}

fn english(plain: &str) -> Option<Field> {
    Some(match plain {
        "lon" | "long" | "lng" | "longitude" | "gpslongitude" | "longitudewgs84" | "lon84" => Field::Lon,
        "lat" | "latitude" | "gpslatitude" | "latitudewgs84" | "lat84" => Field::Lat,
        "x" | "xcoord" | "coordx" | "pointx" => Field::X,
        "y" | "ycoord" | "coordy" | "pointy" => Field::Y,
        "e" | "east" | "easting" | "eastings" => Field::East,
        "n" | "north" | "northing" | "northings" => Field::North,
        "epsg" | "crs" | "srid" | "grid" | "coordinatesystem" => Field::Grid,
        "gridref"
        | "gridrefs"
        | "gridreference"
        | "ngr"
        | "osgr"
        | "osgridref"
        | "osgridreference"
        | "osref"
        | "osgb"
        | "osgridrefs"
        | "nationalgridreference"
        | "nationalgridref"
        | "nationalgrid"
        | "mgrs"
        | "usng"
        | "utm"
        | "utmcoordinates"
        | "irishgrid"
        | "irishgridref"
        | "irishgridreference"
        | "mapref"
        | "mapreference" => Field::GridRef,
        "utmzone" | "gridzone" | "zonenumber" | "utmz" => Field::UtmZone,
        "utme" | "utmeast" | "utmeasting" | "utmx" => Field::East,
        "utmn" | "utmnorth" | "utmnorthing" | "utmy" => Field::North,
        "time" | "datetime" | "timestamp" | "when" | "dateandtime" | "foundat" | "timefound" | "whenfound" | "recorded" => {
            Field::Time
        }
        "date" | "day" | "founddate" | "datefound" | "surveydate" | "dateofsurvey" | "datecreated" => Field::Date,
        "clock" | "timeofday" | "hour" | "hhmm" => Field::Clock,
        "times" | "coordtimes" => Field::Times,
        "timezone" | "tz" | "timezonename" | "tzname" | "utcoffset" | "gmtoffset" | "tzoffset" | "timezoneoffset"
        | "offsetfromutc" => Field::TimeZone,
        "what" | "find" | "item" | "object" | "found" | "thing" => Field::What,
        "description" | "desc" | "details" => Field::Description,
        "name" | "title" | "label" => Field::Name,
        "target" => Field::Target,
        "kind" | "category" | "class" | "type" | "findtype" => Field::Kind,
        "weightclass" | "heavyorlight" | "heaviness" => Field::Weight,
        "mass" | "weight" | "wt" => Field::Mass,
        "material" | "metal" | "madeof" | "composition" => Field::Material,
        "depth" | "dugdepth" | "finddepth" => Field::Depth,
        "targetid" | "targetids" | "tid" | "tids" | "vdi" | "vdis" | "conductivity" | "targetnumber" | "signal" => {
            Field::TargetId
        }
        "id" | "ids" | "no" | "nr" | "num" | "number" | "ref" | "reference" | "findno" | "findnumber" | "findid" | "itemno" => {
            Field::Id
        }
        "size" | "diameter" | "length" | "dia" | "largestdimension" => Field::Size,
        "state" | "condition" | "preservation" => Field::State,
        "photo" | "picture" | "image" | "photofile" => Field::Photo,
        "notes" | "note" | "comment" | "comments" | "remark" | "remarks" | "cmt" => Field::Notes,
        "level" | "elevation" | "height" | "z" | "elev" | "altitude" | "alt" | "ele" | "waterlevel" | "tideheight"
        | "heightod" => Field::Level,
        "sigma" | "stderr" | "standarderror" | "error" | "uncertainty" | "levelsigma" => Field::Sigma,
        "accuracy" | "hdop" | "gpsaccuracy" => Field::Accuracy,
        "survey" | "surveyname" => Field::Survey,
        "segment" | "seg" | "trackseg" | "segmentid" => Field::Segment,
        "role" => Field::Role,
        "use" | "usage" | "landuse" => Field::Use,
        "hs" | "significantwaveheight" | "waveheight" | "hm0" | "swh" | "hsig" => Field::Hs,
        "tp" | "peakperiod" | "waveperiod" | "period" => Field::Tp,
        "dir" | "direction" | "wavedirection" | "wavedir" | "dirp" => Field::Direction,
        "surge" | "residual" | "skewsurge" | "stormsurge" | "surgeheight" | "surgelevel" | "sealevelanomaly"
        | "waterlevelanomaly" | "nontidalresidual" => Field::Surge,
        "hl" | "turn" | "highlow" | "hwlw" | "tide" | "highorlow" | "tidetype" => Field::HighLow,
        "start" | "begin" | "started" | "starttime" | "began" => Field::Start,
        "end" | "finish" | "ended" | "endtime" | "stop" => Field::End,
        "setup" | "settings" | "program" => Field::Setup,
        "sand" | "sandnotes" | "sandnote" => Field::Sand,
        "steadiness" | "steady" | "stability" => Field::Steadiness,
        "gaugestep" | "gauge" | "depthgauge" | "depthstep" | "depthbars" => Field::GaugeStep,
        "holder" | "owner" | "landowner" | "grantedby" | "givenby" => Field::Holder,
        "from" | "validfrom" | "startdate" | "firstday" => Field::From,
        "to" | "until" | "validto" | "validuntil" | "enddate" | "expires" | "lastday" => Field::To,
        "hours" | "allowedhours" | "openinghours" => Field::Hours,
        "terms" | "conditions" => Field::Terms,
        "report" | "reporting" | "duties" => Field::Report,
        "exactpositions" | "exact" => Field::Exact,
        "coarsen" | "coarsening" | "positiongrid" => Field::Coarsen,
        "contact" | "holdercontact" => Field::Contact,
        "papers" | "paperwork" => Field::Papers,
        "deepest" | "greatestdepth" | "maxdepth" | "digdepthlimit" => Field::Deepest,
        "holdershare" | "shareofvalue" | "ownershare" => Field::HolderShare,
        "reportdue" | "reportwhen" => Field::Due,
        "olderthan" | "reportolderthan" => Field::OlderThan,
        "placesbykind" => Field::Places,
        "closure" | "closedfor" | "whyclosed" => Field::Closure,
        "closedseason" | "closedbetween" => Field::Season,
        "holesfilled" => Field::Holes,
        "litter" | "littertaken" | "littercollected" => Field::Litter,
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
        "ground" | "wet" | "wetdry" | "wetordry" | "dryorwet" | "wetground" | "wetsand" | "groundwet" | "sandwet"
        | "groundcondition" | "moisture" => Field::Ground,
        "lie" | "orientation" => Field::Lie,
        "dig" | "woulddig" => Field::Dig,
        "seaward" | "seawardside" | "sea" => Field::Seaward,
        "finder" | "foundby" | "findername" | "whofound" | "detectorist" => Field::Finder,
        "permission" | "permissionname" | "permissionref" | "permissionno" => Field::Permission,
        "value" | "worth" | "price" | "valuation" | "estimatedvalue" | "soldfor" => Field::Value,
        "age" | "era" | "dating" | "dated" | "century" | "ageorperiod" | "historicperiod" => Field::Age,
        "disposal" | "disposition" | "whereabouts" | "whatbecameofit" | "keptby" | "kept" | "givento" | "soldto"
        | "depositedat" => Field::Disposal,
        "reported" | "reportedto" | "reportedon" | "declared" | "declaredto" | "recordedwith" => Field::Reported,
        "uid" => Field::Uid,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn common_wordings_name_their_field_and_unit() {
        let of = |text: &str| meaning(text).map(|m| (m.field, m.unit.map(|u| u.word)));
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
            ("storm_surge_m", Field::Surge, Some("metres")),
            ("sea_level_anomaly_m", Field::Surge, Some("metres")),
            ("coil_width_cm", Field::CoilWidth, Some("centimetres")),
            ("Date / Time", Field::Time, None),
            ("found", Field::What, None),
            ("N/S", Field::NorthSouth, None),
            ("Lat min", Field::LatMinutes, None),
            ("Longitude (deg)", Field::Lon, Some("degrees")),
            ("Lat/Lon", Field::Pair, None),
            ("#", Field::Id, None),
            ("ID", Field::Id, None),
            ("ID3", Field::TargetId, None),
            ("Local time", Field::Time, None),
            ("UTC", Field::Time, None),
            ("UTC offset", Field::TimeZone, None),
            ("Time zone", Field::TimeZone, None),
            ("tz", Field::TimeZone, None),
            ("Tiefe (cm)", Field::Depth, Some("centimetres")),
            ("Weight in g", Field::Mass, Some("grams")),
            ("Gewicht in g", Field::Mass, Some("grams")),
            ("Profondeur en cm", Field::Depth, Some("centimetres")),
            ("Profundidad en cm", Field::Depth, Some("centimetres")),
            ("Dybde i cm", Field::Depth, Some("centimetres")),
            ("Profondità in cm", Field::Depth, Some("centimetres")),
            ("Depth (in cm)", Field::Depth, Some("centimetres")),
            ("Depth \"", Field::Depth, Some("inches")),
            ("Tiefe (Zoll)", Field::Depth, Some("inches")),
            ("Profondeur (pouces)", Field::Depth, Some("inches")),
            ("Profundidad (pulgadas)", Field::Depth, Some("inches")),
            ("Profondità (pollici)", Field::Depth, Some("inches")),
            ("Diepte (duim)", Field::Depth, Some("inches")),
            ("Dybde (tommer)", Field::Depth, Some("inches")),
            ("Höhe (Fuß)", Field::Level, Some("feet")),
            ("hauteur (pieds)", Field::Level, Some("feet")),
            ("hoogte (voet)", Field::Level, Some("feet")),
            ("hauteur (mètres)", Field::Level, Some("metres")),
            ("level (US survey feet)", Field::Level, Some("US survey feet")),
            ("level (mAOD)", Field::Level, Some("metres")),
            ("Weight (grains)", Field::Mass, Some("grains")),
            ("Weight (dwt)", Field::Mass, Some("pennyweights")),
            ("Gewicht (Unzen)", Field::Mass, Some("ounces")),
            ("Foto", Field::Photo, None),
            ("Matière", Field::Material, None),
            ("Kommentar", Field::Notes, None),
            ("Observations", Field::Notes, None),
            ("Trouvé par", Field::Finder, None),
            ("Gefunden von", Field::Finder, None),
            ("Fecha de hallazgo", Field::Date, None),
            ("Fecha del hallazgo", Field::Date, None),
            ("Giorno", Field::Date, None),
            ("Fundet den", Field::Date, None),
            ("Fundtag", Field::Date, None),
            ("Vinddatum", Field::Date, None),
            ("When found", Field::Time, None),
            ("Date Created", Field::Date, None),
        ] {
            assert_eq!(of(text), Some((field, unit)), "{text}");
        }
        assert_eq!(of("favourite colour"), None);
        assert_eq!(of("depth of feeling"), None);
        assert_eq!(of("photo1"), None);
        assert!(meaning("vdi_2").unwrap().numbered && !meaning("vdi").unwrap().numbered);
    }

    /// The factors of NIST Handbook 44, appendix C: 1200/3937 m, 64.79891 mg and 24 grains.
    #[test]
    fn units_of_surveyors_and_jewellers_are_what_the_handbook_says() {
        let factor = |word: &str| Unit::named(word).unwrap().factor;
        assert!((factor("US survey feet") - 0.304_800_609_601).abs() < 1e-12);
        assert!((factor("grains") - 0.064_798_91).abs() < 1e-12);
        assert!((factor("dwt") - 24.0 * factor("grains")).abs() < 1e-9);
        assert!((factor("troy ounces") - 480.0 * factor("grains")).abs() < 1e-9);
    }

    #[test]
    fn words_in_brackets_that_are_no_known_unit_are_told_from_other_words() {
        for (title, unknown) in [
            ("depth (spits)", Some("spits")),
            ("depth (cm or in)", Some("cm or in")),
            ("weight (g/oz)", Some("g/oz")),
            ("Höhe (Klafter)", Some("Klafter")),
            ("depth (approx.)", None),
            ("height (above datum)", None),
            ("depth (cm)", None),
            ("depth", None),
        ] {
            let field = meaning(title).unwrap().field;
            assert_eq!(unknown_unit(title, field).as_deref(), unknown, "{title}");
        }
        assert_eq!(unknown_unit("what (spits)", Field::What), None);
    }
}
