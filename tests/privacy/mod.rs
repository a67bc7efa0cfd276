//! Small counts are not given back, neither by one table nor by all that were handed over.
//!
//! The attacker shares no code with what is attacked: it knows what was told as equations and
//! asks a solver of linear programs for the least and the largest number each count may be.

pub mod attack; // the reader with pencil and paper, and the published example it solves
mod chance; // random counts, by seed
mod enumerated; // small tables: every table that a reader cannot rule out, one by one
mod families; // random figures over months, and the order in which their sums are handed over
mod groups; // one table of groups, and two of the same cases
mod series; // months and sums of months
mod words; // bands, and the sign for what is hidden
