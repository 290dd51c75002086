//! Scourline reads a beach for people who search it with a metal detector.
//!
//! A person's files go through [`exchange`] into the [`book`], which [`store`] keeps on disk as one
//! OGC GeoPackage. [`tide`] and [`shore`] say where the water stands on the sand, [`reading`] says
//! what the finds have in common. Nothing here knows of a screen; the window lives in [`app`].

pub mod earth;
