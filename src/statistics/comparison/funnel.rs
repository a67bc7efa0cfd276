//! A funnel: each unit's proportion against that of the network, with limits that narrow as cases
//! grow. Units are not ranked; it only tells which of them chance does not explain.
//!
//! The centre is all events over all cases, the unit's own among them. A unit of x events in n
//! cases is beyond a limit when as many events or more (or as few or fewer) are rarer than that
//! limit's tail, 0.025 or 0.001, with the chance of the centre. This is exact. The drawn limits
//! interpolate between whole counts ([`super::exact_limits`]); a unit beyond is outside of them,
//! and one that is outside of the upper by less than one event may still be within. Where the two
//! differ we follow the exact chance, since with few cases or rare events the drawn upper limit
//! alone would call several times too many.
//!
//! Source: Spiegelhalter DJ (2005) Stat Med 24:1185-1202. With I units the 95 % limits leave about
//! I/20 outside by chance; it is the 99.8 % ones that call for a look. Where units differ by more
//! than chance the limits call many.
//!
//! Degenerate cases: a unit without cases has no place ([`Funnel::units`] holds `None`) and is in
//! no sum. Fewer than three units with cases, or more events than cases, give no funnel: one of
//! two is compared mostly with itself. With no events at all, or all, every unit lies on the
//! centre and nothing is beyond.

use super::super::{Interval, binomial};
use super::chi_square;
use super::exact_limits::{self, Level};

/// Fewer units with cases give no funnel.
pub const FEWEST_UNITS: usize = 3;

/// A side of the centre.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Above it.
    Above,
    /// Below it.
    Below,
}

/// Which limit a unit is beyond: the outermost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Beyond {
    /// The pair of limits.
    pub level: Level,
    /// On which side.
    pub side: Side,
}

/// A unit in the funnel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// Events over cases.
    pub value: f64,
    /// Beyond which limit.
    pub beyond: Option<Beyond>,
}

/// Units against their network.
#[derive(Clone, Debug, PartialEq)]
pub struct Funnel {
    /// The proportion of the network.
    pub centre: f64,
    /// The units, in the order given.
    pub units: Vec<Option<Unit>>,
    /// How often chance alone makes the units differ so much: the tail of chi-square beyond Σz², z
    /// the distance from the centre in standard errors, on one degree less than units.
    pub heterogeneity_p: f64,
}

impl Funnel {
    /// Of units of (events, cases).
    ///
    /// ```
    /// use siskin::statistics::comparison::{exact_limits::Level, funnel::{Beyond, Funnel, Side}};
    /// let funnel = Funnel::of(&[(30, 100), (9, 100), (8, 90), (11, 120), (0, 0)]).unwrap();
    /// let beyond = |unit: usize| funnel.units[unit].and_then(|unit| unit.beyond);
    /// assert_eq!(beyond(0), Some(Beyond { level: Level::Action, side: Side::Above }));
    /// assert_eq!(beyond(1), None);
    /// assert_eq!(funnel.units[4], None);
    /// assert_eq!(Funnel::of(&[(1, 10), (2, 10)]), None);
    /// ```
    pub fn of(units: &[(u64, u64)]) -> Option<Self> {
        let with_cases: Vec<(u64, u64)> = units.iter().filter(|unit| unit.1 > 0).copied().collect();
        if with_cases.len() < FEWEST_UNITS || units.iter().any(|(events, cases)| events > cases) {
            return None;
        }
        let total = |of: fn(&(u64, u64)) -> u64| with_cases.iter().map(|unit| of(unit) as f64).sum::<f64>();
        let centre = total(|unit| unit.0) / total(|unit| unit.1);
        let z = |(events, cases): &(u64, u64)| {
            let apart = *events as f64 / *cases as f64 - centre;
            let error = (centre * (1.0 - centre) / *cases as f64).sqrt();
            if error > 0.0 { apart / error } else { 0.0 }
        };
        let squares = with_cases.iter().map(|unit| z(unit).powi(2)).sum();
        let place = |unit: &(u64, u64)| (unit.1 > 0).then(|| Unit::of(*unit, centre));
        Some(Self {
            centre,
            units: units.iter().map(|unit| place(unit).flatten()).collect(),
            heterogeneity_p: chi_square::p_value(squares, with_cases.len() as u64 - 1)?,
        })
    }

    /// The exact limits over a range of cases, to draw.
    pub fn curve(&self, level: Level, cases: &[u64]) -> Vec<(u64, Interval)> {
        exact_limits::curve(self.centre, level, cases)
    }
}

impl Unit {
    fn of((events, cases): (u64, u64), centre: f64) -> Option<Self> {
        // So many events or more are so few others or fewer: nothing is lost in a difference from 1.
        let (as_many, as_few) = (
            binomial::cdf(cases - events, cases, 1.0 - centre)?,
            binomial::cdf(events, cases, centre)?,
        );
        let beyond = |level: Level| {
            let side = match (as_many < level.tail(), as_few < level.tail()) {
                (true, _) => Side::Above,
                (_, true) => Side::Below,
                _ => return None,
            };
            Some(Beyond { level, side })
        };
        Some(Self {
            value: events as f64 / cases as f64,
            beyond: beyond(Level::Action).or(beyond(Level::Warning)),
        })
    }
}
