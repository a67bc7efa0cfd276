//! Small counts are not given back, by examples worked by hand and by trying all small tables.
//! `linear_programs/` attacks large ones; it is a crate of its own, as its solver would have the
//! engine compiled twice.

mod chance; // random counts, by seed
mod enumerated; // small tables: every table that a reader cannot rule out, one by one
mod families; // random figures over months, and the order in which their sums are handed over
mod groups; // one table of groups
mod series; // months and sums of months
mod words; // bands, and the sign for what is hidden
