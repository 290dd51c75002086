//! Readings: their statistics, their clusters, and whole ones of beaches whose truth is known.

mod chance;
mod dbscan;
mod demo;
mod effects;
mod forecasts;
mod planted;
mod whole;
