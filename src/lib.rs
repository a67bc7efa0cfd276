//! siskin: audit and outcomes analytics for newborn jaundice screening.
//!
//! Data flows one way: extracts are loaded into tables, tables are derived into
//! tables of screens, episodes and obligations, measures are SQL over those,
//! pages are rendered from the results. `DEVELOPERS.md` has the map.

pub mod charts;
pub mod cli;
pub mod commands;
pub mod engine;
pub mod error;
pub mod extracts;
pub mod intake;
pub mod invent;
pub mod month;
mod nearest;
pub mod notes;
pub mod pages;
pub mod privacy;
pub mod protocol;
pub mod queries;
pub mod reviews;
pub mod signals;
pub mod statistics;
pub mod warehouse;
mod words;
