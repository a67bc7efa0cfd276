//! Charts over months, against handbooks, reference libraries and simulated steady series.
//! Figures of R are of version 4 of its base distribution.

mod chance;
mod charts;
mod parts;
mod since_when;
