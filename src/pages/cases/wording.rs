//! How moments, ages and values of one baby are put in words.

use jiff::tz::TimeZone;

use crate::pages::local_time::LocalTime;
use crate::pages::numbers;
use crate::queries::review::{Baby, Recheck, Test};

const HOUR_S: f64 = 3600.0;
const DAY_S: f64 = 86_400.0;
const MICRO: f64 = 1e6;

/// A baby and its clock, with which its sentences are written.
pub(super) struct Wording<'a> {
    /// The baby.
    pub(super) baby: &'a Baby,
    /// Writes local times.
    pub(super) clock: LocalTime<'a>,
}

impl<'a> Wording<'a> {
    /// For a baby in a zone.
    pub(super) fn of(baby: &'a Baby, zone: &'a TimeZone) -> Self {
        Self {
            baby,
            clock: LocalTime::for_moments(zone, moments(baby)),
        }
    }

    /// Hours of age; `None` without a birth time.
    pub(super) fn age_h(&self, at_s: i64) -> Option<f64> {
        self.baby.born_s.map(|born_s| in_hours(at_s - born_s))
    }

    /// `at 51.3 h (12 Sep, 11:20)`; without a birth time `on 12 Sep, 11:20`.
    pub(super) fn at(&self, at_s: i64) -> String {
        let local = self.clock.short(at_s);
        match self.age_h(at_s) {
            Some(age_h) => format!("at {} ({local})", numbers::hours(age_h)),
            None => format!("on {local}"),
        }
    }

    /// `at 9.2 days (21 Sep, 11:20)`, for what happens long after birth.
    pub(super) fn at_days(&self, at_s: i64) -> String {
        let local = self.clock.short(at_s);
        match self.baby.born_s {
            Some(born_s) => format!("at {:.1} days ({local})", (at_s - born_s) as f64 / DAY_S),
            None => format!("on {local}"),
        }
    }

    /// `, above the line of 250,`; empty without a line.
    pub(super) fn against_line(test: &Test, line_micro: Option<i64>) -> String {
        let Some((value, line)) = test.value_micro.zip(line_micro) else {
            return String::new();
        };
        let is_above = value > line || (value == line && test.bound == ">");
        let side = match (is_above, value == line) {
            (true, _) => "above",
            (false, true) => "at",
            (false, false) => "below",
        };
        format!(", {side} the line of {}", plain(line))
    }
}

/// `262 umol/L`, `> 340 umol/L`; what was written where there is no number.
pub(super) fn value(test: &Test) -> String {
    match test.value_micro {
        Some(micro) if test.bound.is_empty() => numbers::concentration(micro as f64 / MICRO),
        Some(micro) => format!("{} {}", test.bound, numbers::concentration(micro as f64 / MICRO)),
        None if test.written.is_empty() => "no number".to_owned(),
        None => test.written.clone(),
    }
}

/// A concentration without its unit; one decimal where it is not whole.
pub(super) fn plain(micro: i64) -> String {
    let text = format!("{:.1}", micro as f64 / MICRO);
    text.strip_suffix(".0").map(str::to_owned).unwrap_or(text)
}

/// A span in hours.
pub(super) fn span(seconds: i64) -> String {
    numbers::hours(in_hours(seconds))
}

/// A span that a rule names: `6 h`, `2.5 h`.
pub(super) fn allowed(seconds: i64) -> String {
    let text = format!("{:.1}", in_hours(seconds));
    format!("{} h", text.strip_suffix(".0").unwrap_or(&text))
}

/// When a recheck is due after its trigger: `within 18 h`, `4 to 6 h later`.
pub(super) fn window(recheck: &Recheck) -> String {
    let latest = allowed(recheck.latest_s);
    match recheck.earliest_s {
        0 => format!("within {latest}"),
        earliest_s => format!("{} to {latest} later", allowed(earliest_s).trim_end_matches(" h")),
    }
}

/// Seconds in hours.
pub(super) fn in_hours(seconds: i64) -> f64 {
    seconds as f64 / HOUR_S
}

/// `n thing` or `n things`.
pub(super) fn counted(n: i64, one: &str, more: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { more })
}

/// Every moment that is shown of a baby.
fn moments(baby: &Baby) -> Vec<i64> {
    let mut all: Vec<i64> = baby.born_s.into_iter().collect();
    all.extend(baby.tests.iter().map(|test| test.at_s));
    all.extend(baby.courses.iter().flat_map(|c| [Some(c.start_s), c.end_s]).flatten());
    all.extend(
        baby.stays
            .iter()
            .flat_map(|s| [Some(s.admitted_s), s.discharged_s])
            .flatten(),
    );
    all.extend(baby.exchanges.iter().map(|exchange| exchange.at_s));
    all
}
