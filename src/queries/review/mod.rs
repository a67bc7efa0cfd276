//! Case review: which babies to look at, gravest first, and what is known of each.
//!
//! `cases.rs` asks for the cases of a span of months and puts them in order, `babies.rs` asks once
//! for all their babies and gives each its facts (`facts.rs`), `lines.rs` makes corners of their
//! lines. Which cases there are, and how grave, stands in `queries/derive/review_list.sql`.

mod babies;
mod cases;
mod facts;
mod lines;

pub use babies::review;
pub use cases::{Case, cases};
pub use facts::{Baby, Course, Exchange, LinePiece, Recheck, Referral, Stay, Test, TestState, Treatment};
pub use lines::{Corners, corners};

/// The rows of `review_cases.sql`, as the other listings of a review read them.
pub const CASES: &str = "cases_to_review";
