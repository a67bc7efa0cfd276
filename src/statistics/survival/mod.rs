//! Times until an event, some of them cut short.
//!
//! A follow-up is a time and how it ended. Every method here reads the same list of follow-ups:
//! [`kaplan_meier`] for the share without the event, [`aalen_johansen`] for the share with it
//! where a competing event can come first, and [`log_rank`] to compare two groups. Events at a
//! time come before censorings at that time. Degenerate case: a time that is not a finite number
//! is left out.

pub mod aalen_johansen;
pub mod kaplan_meier;
pub mod log_rank;

/// A length of follow-up: whole seconds or days, or decimal years.
pub trait Time: Copy + PartialOrd {
    /// The same time as a decimal number.
    fn number(self) -> f64;
}

impl Time for i64 {
    fn number(self) -> f64 {
        self as f64
    }
}

impl Time for f64 {
    fn number(self) -> f64 {
        self
    }
}

/// How one follow-up ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// With the event of interest.
    Event,
    /// With the competing event.
    Competing,
    /// It was cut short.
    Censored,
}

/// The limits of a time, each `None` where the follow-ups never reach it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits<T> {
    /// Lower limit.
    pub lower: Option<T>,
    /// Upper limit.
    pub upper: Option<T>,
}

/// A time at which follow-ups ended.
struct Moment<T> {
    time: T,
    at_risk: u64,
    events: u64,
    competing: u64,
}

/// The times at which follow-ups ended, in order.
fn moments<T: Time>(follow_ups: &[(T, End)]) -> Vec<Moment<T>> {
    let is_time = |follow_up: &&(T, End)| follow_up.0.number().is_finite();
    let mut sorted: Vec<(T, End)> = follow_ups.iter().filter(is_time).copied().collect();
    sorted.sort_by(|a, b| a.0.partial_cmp(&b.0).unwrap_or(std::cmp::Ordering::Equal));
    let mut at_risk = sorted.len() as u64;
    let mut moments = Vec::new();
    for same_time in sorted.chunk_by(|a, b| a.0 == b.0) {
        let count = |end: End| same_time.iter().filter(|(_, e)| *e == end).count() as u64;
        moments.push(Moment {
            time: same_time[0].0,
            at_risk,
            events: count(End::Event),
            competing: count(End::Competing),
        });
        at_risk -= same_time.len() as u64;
    }
    moments
}
