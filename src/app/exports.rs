//! What the window writes for others: the files of a hand-over and of a route.

use std::path::Path;

use jiff::Timestamp;

use super::derived::Routed;
use crate::book::{Book, Uid};
use crate::reading::{self, Covered, Ground, Params};
use crate::shore::Setting;
use crate::{Progress, effort, share};

/// Writes the files of a hand-over into a folder, read by the same settings as Read but of every find, and says what was written.
///
/// # Errors
/// A sentence when something cannot be read, cut down or written; files written before it stay.
pub(crate) fn hand_over(
    book: &Book,
    beach: Uid,
    permission: Option<Uid>,
    folder: &Path,
    (effort, params): (&effort::Params, &Params),
    now: Timestamp,
    progress: &Progress,
) -> Result<String, String> {
    let write_error = |e: std::io::Error| format!("{} could not be written to: {e}", folder.display());
    // The folder first: no long work for a place that cannot be written to.
    std::fs::create_dir_all(folder).map_err(write_error)?;
    let (book, said) = match permission {
        None => (book.clone(), Vec::new()),
        Some(uid) => {
            let permission = book.permissions().get(&uid).ok_or("the permission is no longer in the book")?;
            let cut = share::cut_to(book, permission).map_err(|e| e.to_string())?;
            (cut.book, cut.said)
        }
    };
    let setting = Setting::from_book(&book, beach).ok_or("the beach is no longer in the book")?;
    let covered = Covered::from_tracks(&book, &setting, effort, progress).map_err(|e| e.to_string())?;
    let ground = Ground { book: &(&book).into(), setting: &setting, covered: covered.as_ref().map(|(c, _)| c), now: Some(now) };
    let reading = reading::read(&ground, params, progress).map_err(|e| e.to_string())?;
    let files = share::open_files(&book, &setting, &reading).map_err(|e| e.to_string())?;
    let mut report = share::report(&book, &setting, &reading, now);
    report.opening.extend(said);
    let pages = [("plan.svg", share::plan_picture(&book, &setting, &reading).svg()), ("report.html", report.html())];
    let mut names: Vec<String> = Vec::new();
    let all = files.into_iter().map(|(name, bytes)| (name.to_owned(), bytes));
    for (name, bytes) in all.chain(pages.into_iter().map(|(name, text)| (name.to_owned(), text.into_bytes()))) {
        progress.check().map_err(|e| e.to_string())?;
        std::fs::write(folder.join(&name), bytes).map_err(write_error)?;
        names.push(name);
    }
    Ok(format!("wrote {} into {}", names.join(", "), folder.display()))
}

/// Writes the card and the files of a route into a folder and says what was written.
///
/// # Errors
/// A sentence when something could not be written; files written before it stay.
pub(crate) fn write_route(book: &Book, setting: &Setting, routed: &Routed, folder: &Path) -> Result<String, String> {
    let wrong = |e: std::io::Error| format!("{} could not be written to: {e}", folder.display());
    std::fs::create_dir_all(folder).map_err(wrong)?;
    let route = &routed.route;
    let files = [
        ("route.gpx", share::route_gpx(route, setting).map_err(|e| e.to_string())?),
        ("route.geojson", share::route_geojson(route, setting).map_err(|e| e.to_string())?),
        ("card.html", share::route_card(route, book, setting).into_bytes()),
    ];
    for (name, bytes) in &files {
        std::fs::write(folder.join(name), bytes).map_err(wrong)?;
    }
    Ok(format!("wrote route.gpx, route.geojson, card.html into {}", folder.display()))
}
