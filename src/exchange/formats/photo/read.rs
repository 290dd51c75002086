use jiff::Timestamp;

use super::along::along;
use super::clock::{Clocks, moment};
use super::shot::Shot;
use crate::Progress;
use crate::book::{Find, Kinds, Signal, Uid};
use crate::earth::{LonLat, distance_m};
use crate::exchange::error::Stop;
use crate::exchange::take_in::taking::{Mark, Taking};
use crate::exchange::tools::source::Source;
use crate::exchange::what::What;

/// Cameras write positions to about 1e-6 degrees; nearer than this they are the same, metres.
const SAME_PLACE_M: f64 = 0.2;

/// What a TIFF is that says how it lies on the ground, and what to bring in its stead.
const ON_GROUND: &str = "is a GeoTIFF, a grid of heights or a picture laid on the ground, and no photograph of a find: height models and \
     maps are not read; bring the levels of the beach as a table (lon, lat, level_m, or easting and northing with their grid) or as \
     points in a GeoJSON";

/// Where something is and how that is known, as its notes say it.
struct Place {
    at: LonLat,
    said: String,
}

/// Reads a photograph: a find where and when it was taken, with the photograph's name.
pub(in crate::exchange) fn read(
    source: &Source,
    clocks: &Clocks,
    taking: &mut Taking<'_>,
    progress: &Progress,
) -> Result<String, Stop> {
    let shot = Shot::read(source, progress)?;
    let mark = Mark { line: 0, noun: "photograph", number: 1 };
    if shot.laid_on_ground && shot.at.is_none() {
        taking.refuse(Mark { noun: "GeoTIFF", ..mark }, ON_GROUND);
        return Ok("a GeoTIFF, of which nothing is read".to_owned());
    }
    let time = moment(&shot, clocks, taking);
    if let Some((_, how)) = &time {
        taking.understand("time", *how);
    }
    let time = time.map(|(time, _)| time);
    let name = source.name();
    let photo = std::path::Path::new(&name).file_name().map_or_else(|| name.clone(), |n| n.to_string_lossy().into_owned());
    match place(&shot, time, taking) {
        Err(why) => taking.refuse(mark, why),
        Ok(place) => {
            tell_twin(&photo, time, place.at, taking);
            take(mark, &shot, time, place, &photo, taking)?
        }
    }
    Ok("a photograph, taken as a find where it was made".to_owned())
}

/// Tells that a find has a photograph of another name of the very same second and place: as a rule the same one, copied.
fn tell_twin(photo: &str, time: Option<Timestamp>, at: LonLat, taking: &mut Taking<'_>) {
    if time.is_none() {
        return;
    }
    let (book, beach) = (taking.book, taking.beach.uid);
    let is_twin = |f: &&Find| !f.photo.is_empty() && f.photo != photo && f.time == time && distance_m(f.at, at) < SAME_PLACE_M;
    if let Some(twin) = book.finds_of(beach).find(is_twin) {
        taking.warn(format!(
            "it is of the same time and place as {}, the photograph of \"{}\": perhaps the same one twice; leave one out, or merge the two \
             finds",
            twin.photo, twin.what
        ));
    }
}

/// Where it was taken: as it says, else where one was at its time by a track.
fn place(shot: &Shot, time: Option<Timestamp>, taking: &mut Taking<'_>) -> Result<Place, String> {
    match &shot.at {
        Some(Ok(at)) if at.lon_deg() == 0.0 && at.lat_deg() == 0.0 => {
            taking.warn("its position 0, 0 is what a camera without one writes; it was not believed");
        }
        Some(Ok(at)) => {
            let said = shot.error_m.map(|m| format!("the camera puts its position right to {m:.0} m")).unwrap_or_default();
            taking.understand("position", "as the camera wrote it, WGS 84");
            return Ok(Place { at: *at, said });
        }
        Some(Err(why)) => taking.warn(format!("{why}; its position was not believed")),
        None => {}
    }
    let Some(time) = time else {
        return Err(if shot.by_camera.is_some() {
            "has no position to be believed, and a track can only place it once its clock is known".to_owned()
        } else {
            "has neither a position nor a time to be placed by; put the find on the map by hand".to_owned()
        });
    };
    let clock = taking.zone.to_datetime(time).strftime("%Y-%m-%d %H:%M").to_string();
    match along(taking.book, taking.beach.uid, time) {
        Ok(found) => {
            let track = if found.track.is_empty() { "a track".to_owned() } else { format!("the track \"{}\"", found.track) };
            taking.understand("position", format!("where {track} was at its time, {clock}"));
            Ok(Place { at: found.at, said: format!("placed by its time on {track}") })
        }
        Err(nearest) => {
            let nearest = match nearest {
                Some(off_s) => format!("the nearest track is {} min off", (off_s + 30) / 60),
                None => "there is no track with times".to_owned(),
            };
            Err(format!(
                "has no position, and at its time, {clock}, no track says where one was ({nearest}); take the track in as well, or say how \
                 far the camera's clock was ahead of UTC"
            ))
        }
    }
}

fn take(
    mark: Mark,
    shot: &Shot,
    time: Option<Timestamp>,
    place: Place,
    photo: &str,
    taking: &mut Taking<'_>,
) -> Result<(), Stop> {
    let beach = taking.beach.uid;
    let what = taking.stem.clone();
    let notes: Vec<&str> = [shot.description.as_str(), &place.said].into_iter().filter(|t| !t.is_empty()).collect();
    let notes = notes.join("; ");
    let own = uid(beach, shot, &what);
    match taking.options.what {
        None | Some(What::Finds) => {
            let kind = Kinds::shipped().recognise(&what);
            let find = Find { time, photo: photo.to_owned(), notes, ..Find::new(beach, place.at, what, kind) };
            taking.take_known(mark, find, own)
        }
        Some(What::Signals) => {
            let notes = format!("photograph {photo}{}{notes}", if notes.is_empty() { "" } else { "; " });
            taking.take_known(mark, Signal { time, notes, ..Signal::new(beach, place.at) }, own)
        }
        Some(other) => {
            taking.refuse(mark, format!("is a photograph, which cannot be taken as {other}"));
            Ok(())
        }
    }
}

/// The uid of what a photograph shows: from what stands in the photograph, so that it is known again on another clock.
fn uid(beach: Uid, shot: &Shot, name: &str) -> Uid {
    let at = shot.at.as_ref().and_then(|at| at.as_ref().ok()).map(ToString::to_string).unwrap_or_default();
    let camera = shot.by_camera.map(|t| t.to_string()).unwrap_or_default();
    let satellite = shot.by_satellite.map(|t| t.to_string()).unwrap_or_default();
    let parts = [beach.to_string(), name.to_lowercase(), camera, satellite, at, shot.camera.clone()];
    Uid::of_content("photograph", parts.iter().map(String::as_bytes).collect::<Vec<_>>())
}
