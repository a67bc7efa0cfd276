//! Units against each other, over twelve months.
//!
//! Each unit's share against the network's in a funnel: what lies outside the limits has less than
//! 1 chance in 20, or in 500, of coming from the network's own share. Beside it the share that the
//! unit would have with the network's mix of gestations (indirect standardisation): a unit is not
//! to look worse for the babies it serves. With few units the network's share is largely that of
//! the largest one, which therefore hardly stands out.

use std::collections::BTreeMap;

use crate::queries::figure_kinds::{FigureKind, kind_of};
use crate::queries::figures::Figure;
use crate::statistics::Interval;
use crate::statistics::comparison::exact_limits::{Level, spaced};
use crate::statistics::comparison::funnel::{Beyond, Funnel};
use crate::statistics::comparison::indirect::{self, Stratum};

/// Points of a limit's curve.
const CURVE_POINTS: u64 = 60;

/// The funnel of one figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Units {
    /// Name of the figure.
    pub measure: String,
    /// Share of all units together.
    pub centre: f64,
    /// The units with any case, by name.
    pub units: Vec<Unit>,
    /// Cases, 95 % limits and 99.8 % limits along the curve.
    pub limits: Vec<(u64, Interval, Interval)>,
    /// Probability of differences so large, did all units share one figure.
    pub heterogeneity_p: f64,
}

/// One unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Unit {
    /// Its name.
    pub name: String,
    /// Counted.
    pub events: u64,
    /// Out of.
    pub cases: u64,
    /// The share.
    pub value: f64,
    /// The limit it lies beyond.
    pub beyond: Option<Beyond>,
    /// Its share with the network's mix of gestations, and the interval; `None` where nothing is
    /// expected.
    pub standardised: Option<(f64, Interval)>,
}

/// Units by the name of the figure, of each share of the network with at least three units.
pub type AllUnits = BTreeMap<String, Units>;

/// Counts by unit, then by gestation.
type Counts<'a> = BTreeMap<&'a str, BTreeMap<&'a str, (u64, u64)>>;

/// The funnels of figures of gestations in units, months added up.
pub fn units(figures: &[Figure]) -> AllUnits {
    let mut by_measure: BTreeMap<&str, Counts<'_>> = BTreeMap::new();
    for figure in figures.iter().filter(|f| f.split == "unit_and_gestation") {
        let is_share = kind_of(&figure.measure).is_some_and(FigureKind::is_plain_share);
        let (Some((unit, band)), true) = (figure.group.rsplit_once(": "), is_share) else {
            continue;
        };
        let of_band = by_measure.entry(&figure.measure).or_default().entry(unit).or_default();
        let sum = of_band.entry(band).or_default();
        sum.0 += figure.numerator.unwrap_or(0);
        sum.1 += figure.denominator.unwrap_or(0);
    }
    let found = by_measure.into_iter();
    found
        .filter_map(|(measure, counts)| Some((measure.to_owned(), funnel(measure, &counts)?)))
        .collect()
}

fn funnel(measure: &str, counts: &Counts<'_>) -> Option<Units> {
    let total = |bands: &BTreeMap<&str, (u64, u64)>| bands.values().fold((0, 0), |sum, n| (sum.0 + n.0, sum.1 + n.1));
    let of_units: Vec<(&str, (u64, u64))> = counts.iter().map(|(name, bands)| (*name, total(bands))).collect();
    let of_units: Vec<(&str, (u64, u64))> = of_units.into_iter().filter(|(_, n)| n.1 > 0).collect();
    let found = Funnel::of(&of_units.iter().map(|(_, n)| *n).collect::<Vec<_>>())?;
    let mut network: BTreeMap<&str, (u64, u64)> = BTreeMap::new();
    for (band, n) in counts.values().flatten() {
        let sum = network.entry(band).or_default();
        *sum = (sum.0 + n.0, sum.1 + n.1);
    }
    // The interval is that of a count of rare events: of a high share, of those it is not true of.
    let is_high = found.centre > 0.5;
    let rare = |n: (u64, u64)| if is_high { n.1 - n.0.min(n.1) } else { n.0 };
    let units = of_units
        .iter()
        .zip(&found.units)
        .filter_map(|((name, (events, cases)), unit)| {
            let strata: Vec<Stratum> = counts[name]
                .iter()
                .filter(|(_, n)| n.1 > 0)
                .map(|(band, n)| Stratum {
                    events: rare(*n),
                    exposure: n.1 as f64,
                    standard_events: rare(network[band]),
                    standard_exposure: network[band].1 as f64,
                })
                .collect();
            let unit = unit.as_ref()?;
            Some(Unit {
                name: (*name).to_owned(),
                events: *events,
                cases: *cases,
                value: unit.value,
                beyond: unit.beyond,
                standardised: indirect::standardise(&strata).map(|found| share(&found, is_high)),
            })
        })
        .collect();
    let largest = of_units.iter().map(|(_, n)| n.1).max().unwrap_or(0);
    let places = spaced(largest + largest / 10 + 1, CURVE_POINTS);
    let inner = found.curve(Level::Warning, &places);
    let outer = found.curve(Level::Action, &places);
    let limits = inner.iter().zip(&outer).map(|(i, o)| (i.0, i.1, o.1)).collect();
    Some(Units {
        measure: measure.to_owned(),
        centre: found.centre,
        units,
        limits,
        heterogeneity_p: found.heterogeneity_p,
    })
}

/// The standardised share and its interval, turned round for a high one, between 0 and 1.
fn share(found: &indirect::Figure, is_high: bool) -> (f64, Interval) {
    let (value, of) = (found.value, found.interval);
    let (value, lower, upper) = match is_high {
        true => (1.0 - value, 1.0 - of.upper, 1.0 - of.lower),
        false => (value, of.lower, of.upper),
    };
    let within = |share: f64| share.clamp(0.0, 1.0);
    let interval = Interval {
        lower: within(lower),
        upper: within(upper),
    };
    (within(value), interval)
}
