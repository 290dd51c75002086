//! The tide source and weather of a beach, from the command line and as `--json` tells them.

use serde_json::{Value, json};

use super::Failure;
use super::args::BeachArgs;
use super::said::rounded;
use super::settings;
use crate::book::{Beach, Book, FreeHours, PortDifferences, SecondaryChoice, StandardPort, TideChoice, Weather};
use crate::sea::RunUp;
use crate::share;
use crate::shore::Setting;
use crate::tide::{Analysis, Catalogue, Station, Surge};

/// The source that the options name, if they name one.
pub(super) fn chosen(args: &BeachArgs, book: &Book, beach: &Beach) -> Result<Option<TideChoice>, Failure> {
    let station = match &args.station {
        Some(id) => Some(served(id)?.id.clone()),
        None => None,
    };
    let table = match &args.tide_table {
        Some(name) => {
            let tables = book.tide_tables().values().filter(|t| t.beach == beach.uid).map(|t| {
                let from = t.turns.first().map_or_else(String::new, |t| t.time.to_string());
                (t.name.as_str(), t.uid, format!("{} turns from {from}", t.turns.len()))
            });
            Some(named("tide table", name, tables)?)
        }
        None => None,
    };
    if let (Some(name), Some(differences)) = (&args.secondary, &args.differences) {
        let standard = match (station, table) {
            (Some(id), _) => StandardPort::Station(id),
            (None, Some(uid)) => StandardPort::Table(uid),
            (None, None) => {
                return Err(Failure::usage("name the standard port of the differences with --station or --tide-table"));
            }
        };
        let differences = PortDifferences::from_typed(differences).map_err(Failure::usage)?;
        let standard_levels_m = args.standard_levels.as_deref().map(four_levels).transpose()?;
        let port = SecondaryChoice { name: name.trim().to_owned(), standard, differences, standard_levels_m };
        return Ok(Some(TideChoice::Secondary(port)));
    }
    if let Some(name) = &args.gauge {
        let gauges = book.gauges().values().filter(|g| g.beach == beach.uid).map(|g| {
            let from = g.readings.first().map_or_else(String::new, |r| r.0.to_string());
            (g.name.as_str(), g.uid, format!("{} readings from {from}", g.readings.len()))
        });
        return named("gauge record", name, gauges).map(|uid| Some(TideChoice::Gauge(uid)));
    }
    Ok(station.map(TideChoice::Station).or(table.map(TideChoice::Table)))
}

/// The one record of this name, whatever the case. Of several of one name each is chosen by its number after the name, as
/// the refusal lists them.
fn named<'b, T>(what: &str, name: &str, records: impl Iterator<Item = (&'b str, T, String)>) -> Result<T, Failure> {
    let wanted = name.trim().to_lowercase();
    let (mut found, mut others) = (Vec::new(), Vec::new());
    for (known, record, holds) in records {
        if known.trim().to_lowercase() == wanted {
            found.push((record, holds));
        } else {
            others.push((known, record));
        }
    }
    if found.is_empty() {
        let all: Vec<&str> = others.iter().map(|o| o.0).collect();
        let said = match all.is_empty() {
            true => format!("the beach has no {what} yet; import one with `scourline import`"),
            false => format!("the beach has no {what} \"{name}\"; it has {}", all.join(", ")),
        };
        let (bare, number) = numbered(&wanted).ok_or_else(|| Failure::input(&said))?;
        let mut of_it = others.into_iter().filter(|(known, _)| known.trim().to_lowercase() == bare);
        return of_it.nth(number - 1).map(|(_, record)| record).ok_or_else(|| Failure::input(said));
    }
    if found.len() > 1 {
        let each = (1..).zip(&found).map(|(n, (_, holds))| format!("\"{} ({n})\" {holds}", name.trim()));
        let each = each.collect::<Vec<_>>().join("; ");
        return Err(Failure::input(format!("the beach has more than one {what} \"{name}\"; choose one by its number: {each}")));
    }
    found.pop().map(|f| f.0).ok_or_else(|| Failure::input("nothing of this name"))
}

/// A name with the number that stands in brackets after it, from 1.
fn numbered(name: &str) -> Option<(&str, usize)> {
    let (bare, number) = name.strip_suffix(')')?.rsplit_once('(')?;
    Some((bare.trim_end(), number.trim().parse().ok().filter(|n| *n > 0)?))
}

fn four_levels(text: &str) -> Result<[f64; 4], Failure> {
    let wrong = || Failure::usage(format!("\"{text}\" are not MHWS, MHWN, MLWN and MLWS in metres, such as 5.6,4.4,2.0,0.8"));
    let levels: Result<Vec<f64>, _> = text.split([',', ';']).map(|t| t.trim().parse::<f64>()).collect();
    levels.map_err(|_| wrong())?.try_into().map_err(|_| wrong())
}

/// The beach's weather with what the options change in it.
pub(super) fn weather(args: &BeachArgs, known: Weather) -> Result<Weather, Failure> {
    let read = |what: &str, text: &Option<String>, known: Option<f64>| settings::kept(what, text.as_ref(), known, "a number");
    Ok(Weather {
        surge_m: read("--surge", &args.surge, known.surge_m)?,
        surge_sd_m: read("--surge-sd", &args.surge_sd, known.surge_sd_m)?,
        pressure_hpa: read("--pressure", &args.pressure, known.pressure_hpa)?,
        run_up_m: read("--run-up", &args.run_up, known.run_up_m)?,
    })
}

/// Free hours as the options give them; the word `always` stands for no rule.
pub(super) fn free_hours(text: &str) -> Result<FreeHours, Failure> {
    if text.trim().eq_ignore_ascii_case("always") { Ok(FreeHours::default()) } else { text.parse().map_err(Failure::usage) }
}

/// What weather and waves add, and what they make dry windows keep clear of.
pub(super) fn surge(setting: &Setting) -> Value {
    let Weather { surge_m, pressure_hpa, .. } = setting.beach.weather;
    let mut told = margin(setting.surge, &setting.run_up, setting.source_margin_m());
    if let Some(object) = told.as_object_mut() {
        object.insert("pressure_hpa".to_owned(), json!(pressure_hpa));
        object.insert("known".to_owned(), json!(surge_m.is_some() || pressure_hpa.is_some()));
        object.insert("run_up_known".to_owned(), json!(setting.beach.weather.run_up_m.is_some()));
    }
    told
}

/// The parts of the margin that weather and waves make, and their sum.
pub(super) fn margin(surge: Surge, run_up: &RunUp, source_m: f64) -> Value {
    let run_up_m = run_up.m;
    json!({
        "residual_m": rounded(surge.residual_m, 3),
        "sd_m": rounded(surge.sd_m, 3),
        "surge_margin_m": rounded(surge.margin_m(), 3),
        "run_up_m": rounded(run_up_m, 3),
        "source_margin_m": rounded(source_m, 3),
        "margin_m": rounded(run_up_m + surge.margin_m() + source_m, 3),
        "sea": share::sea_document(run_up),
    })
}

/// What was found in a gauge record, with the errors of each constituent.
pub(super) fn analysis(found: &Analysis) -> Value {
    let fitted: Vec<Value> = found
        .fitted
        .iter()
        .map(|f| {
            json!({
                "name": f.name,
                "amplitude_m": rounded(f.amplitude_m, 4),
                "amplitude_sd_m": rounded(f.amplitude_sd_m, 4),
                "phase_deg": rounded(f.phase_deg, 2),
                "phase_sd_deg": rounded(f.phase_sd_deg, 2),
            })
        })
        .collect();
    json!({
        "samples": found.samples,
        "mean_m": rounded(found.mean_m, 4),
        "residual_m": rounded(found.residual_m, 4),
        "constituents": fitted,
        "unresolved": found.unresolved,
    })
}

/// The station of this id, if one may plan by it.
pub(super) fn served(id: &str) -> Result<&'static Station, Failure> {
    match Catalogue::shipped().refused(id) {
        Some(why) => Err(Failure::input(why)),
        None => Catalogue::shipped().get(id).ok_or_else(|| no_station(id)),
    }
}

fn no_station(id: &str) -> Failure {
    let like: Vec<&str> = Catalogue::shipped().search(id).into_iter().take(5).map(|s| s.id.as_str()).collect();
    let hint = if like.is_empty() {
        "look for one with `scourline tides --near LON,LAT`".to_owned()
    } else {
        format!("did you mean {}", like.join(" or "))
    };
    Failure::input(format!("there is no tide station \"{id}\" in the catalogue; {hint}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_of_one_name_are_listed_and_chosen_by_number() {
        let tables =
            || [("bst", 1, "2 turns".to_owned()), ("Other (2)", 2, String::new()), ("BST", 3, "4 turns".to_owned())].into_iter();
        let chosen = |name: &str| named("tide table", name, tables());
        assert_eq!(chosen("Bst (1)").ok(), Some(1));
        assert_eq!(chosen("bst (2)").ok(), Some(3));
        assert_eq!(chosen("other (2)").ok(), Some(2), "a name that ends so is itself");
        let several = chosen("bst").err().map(|e| e.to_string()).unwrap_or_default();
        assert!(several.contains("\"bst (1)\" 2 turns; \"bst (2)\" 4 turns"), "{several}");
        assert!(chosen("bst (3)").is_err() && chosen("bst (0)").is_err() && chosen("none").is_err());
    }
}
