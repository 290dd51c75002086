//! What is handed over: pictures, reports and open files, made from what was read, and the card and files of a route.

mod country;
mod cut;
mod emergency;
mod open;
mod overview;
mod pack;
mod picture;
mod printable;
mod report;
mod route_card;
mod route_files;
mod route_ground;
mod route_map;
mod route_told;

pub use country::{country_at, country_named, country_stated};
pub use cut::{Precision, USUAL_GRID_M};
pub use emergency::{EMERGENCY_SOURCE, Emergency, emergency, emergency_at, emergency_numbers};
pub use open::{OpenError, open_files};
pub use overview::{mark_of, plan_picture, report};
pub use pack::{Pack, PackAsk, PackError, PictureFolder, compose};
pub use picture::{MarkShape, MarkedSquare, PlanPicture};
pub use report::{Report, Table};
pub use route_card::route_card;
pub use route_files::{route_document, route_geojson, route_gpx};
pub use route_told::{About, HandedOut, Statement, said_about, sea_document, stands_on, tide_source_document};

/// Every file that a hand-over may write, but for pictures.
pub const HANDED_OVER: [&str; 11] = [
    "finds.geojson",
    "signals.geojson",
    "zones.geojson",
    "clusters.geojson",
    "bands.geojson",
    "plan.svg",
    "report.html",
    "outings.geojson",
    "finds.csv",
    "outings.csv",
    "manifest.json",
];

/// What the names of handed-over pictures begin and end with.
pub const PICTURE: (&str, &str) = ("picture-", ".jpg");

/// What is said where everything is written for oneself.
pub const EXACT_CAUTION: &str = "Exact positions of finds invite others. Hand this over to no one whose business it is not.";
