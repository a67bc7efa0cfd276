//! The steady process a phase is held against: fitted to its baseline, asked for limits.

use super::super::super::ratio::ratio;
use super::super::dispersion::Dispersion;
use super::super::individuals::Individuals;
use super::super::{Limits, g, laney, p, t, u};
use super::parts::{Kind, Scale, Series};

/// One month with data. Events and denominator are 0 where the series has none.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cell {
    pub(super) value: f64,
    pub(super) events: u64,
    /// Trials, or exposure as it was counted.
    pub(super) of: u64,
    /// Exposure that a rate is given per; 1 of a proportion.
    pub(super) per: f64,
}

impl Cell {
    fn of_value(value: f64) -> Option<Cell> {
        value.is_finite().then_some(Cell {
            value,
            events: 0,
            of: 0,
            per: 1.0,
        })
    }

    fn of_proportion((events, trials): (u64, u64)) -> Option<Cell> {
        Cell::of_rate((events, trials), 1.0).filter(|_| events <= trials)
    }

    fn of_rate((events, of): (u64, u64), per: f64) -> Option<Cell> {
        let value = ratio(events, of, per)?;
        let cell = Cell { value, events, of, per };
        (cell.exposure() > 0.0 && cell.exposure().is_finite()).then_some(cell)
    }

    /// The denominator in what a rate is given per.
    fn exposure(&self) -> f64 {
        self.of as f64 / self.per
    }

    /// The rate of so many events in the exposure of this month, as the value of a month with as
    /// many is: that month lies on it, to the last bit.
    fn rate_of(&self, events: u64) -> Option<f64> {
        ratio(events, self.of, self.per)
    }
}

/// The months of a series; `None` where there is no usable figure.
pub(super) fn cells(series: Series<'_>) -> Vec<Option<Cell>> {
    match series {
        Series::Proportions(months) => months.iter().map(|month| Cell::of_proportion((*month)?)).collect(),
        Series::Rates { months, per } => months.iter().map(|month| Cell::of_rate((*month)?, per)).collect(),
        Series::Values { months, scale } => {
            let is_possible = |cell: &Cell| scale == Scale::Plain || cell.value >= 0.0;
            let value = |value: &Option<f64>| Cell::of_value((*value)?).filter(is_possible);
            months.iter().map(value).collect()
        }
        Series::CasesBetween(counts) => counts.iter().map(|count| Cell::of_value(*count as f64)).collect(),
    }
}

fn proportions(cells: &[Cell]) -> Vec<(u64, u64)> {
    cells.iter().map(|cell| (cell.events, cell.of)).collect()
}

fn rates(cells: &[Cell]) -> Vec<(u64, f64)> {
    cells.iter().map(|cell| (cell.events, cell.exposure())).collect()
}

/// Spread of the baseline of proportions or rates.
pub(super) fn dispersion(series: Series<'_>, baseline: &[Cell]) -> Option<Dispersion> {
    match series {
        Series::Proportions(_) => Dispersion::of_proportions(&proportions(baseline)),
        Series::Rates { .. } => Dispersion::of_rates(&rates(baseline)),
        _ => None,
    }
}

/// How much more neighbouring months differ than by chance within a month, where that is defined.
pub(super) fn sigma_z(series: Series<'_>, baseline: &[Cell]) -> Option<f64> {
    match series {
        Series::Proportions(_) => {
            let months = proportions(baseline);
            laney::sigma_z(&laney::standardised_proportions(&months, p::centre(&months)?)?)
        }
        Series::Rates { .. } => {
            let months = rates(baseline);
            laney::sigma_z(&laney::standardised_rates(&months, u::centre(&months)?)?)
        }
        _ => None,
    }
}

/// A steady process.
#[derive(Clone, Copy, Debug)]
pub(super) enum Model {
    /// `chance` sets the limits: the centre, unless that is 0 or 1.
    Proportion {
        centre: f64,
        chance: f64,
        sigma_z: Option<f64>,
    },
    /// `rate` sets the limits: the centre, unless that is 0.
    Rate {
        centre: f64,
        rate: f64,
        sigma_z: Option<f64>,
    },
    Value {
        of: Individuals,
        scale: Scale,
    },
    Cases {
        mean: f64,
    },
}

impl Model {
    /// That of a whole baseline; `None` when its values have no spread.
    pub(super) fn of(series: Series<'_>, baseline: &[Cell], is_wide: bool) -> Option<Model> {
        let values: Vec<f64> = baseline.iter().map(|cell| cell.value).collect();
        let has_spread = |of: &Individuals| of.mean_range > 0.0;
        // Limits narrower than chance within a month would call chance a signal.
        let sigma_z = sigma_z(series, baseline)
            .filter(|_| is_wide)
            .map(|factor| factor.max(1.0));
        match series {
            Series::Proportions(_) => {
                let months = proportions(baseline);
                let centre = p::centre(&months)?;
                let one = 1.0 / months.iter().map(|month| month.1 as f64).sum::<f64>();
                let chance = centre.clamp(one, (1.0 - one).max(one));
                Some(Model::Proportion {
                    centre,
                    chance,
                    sigma_z,
                })
            }
            Series::Rates { .. } => {
                let months = rates(baseline);
                let centre = u::centre(&months)?;
                let one = 1.0 / months.iter().map(|month| month.1).sum::<f64>();
                let rate = centre.max(one);
                Some(Model::Rate { centre, rate, sigma_z })
            }
            Series::Values { scale, .. } => {
                let of = match scale {
                    Scale::Plain => Individuals::of(&values),
                    Scale::LongTail => t::individuals(&values),
                };
                of.filter(has_spread).map(|of| Model::Value { of, scale })
            }
            Series::CasesBetween(_) => {
                let mean = values.iter().sum::<f64>() / values.len() as f64;
                g::exact(mean).filter(|_| mean > 0.0).map(|_| Model::Cases { mean })
            }
        }
    }

    pub(super) fn kind(&self, is_any_exact: bool) -> Kind {
        match self {
            Model::Proportion { sigma_z: Some(_), .. } => Kind::LaneyP,
            Model::Proportion { .. } if is_any_exact => Kind::PExact,
            Model::Proportion { .. } => Kind::P,
            Model::Rate { sigma_z: Some(_), .. } => Kind::LaneyU,
            Model::Rate { .. } if is_any_exact => Kind::UExact,
            Model::Rate { .. } => Kind::U,
            Model::Value { .. } => Kind::Individuals,
            Model::Cases { .. } => Kind::G,
        }
    }

    pub(super) fn centre(&self) -> f64 {
        match self {
            Model::Proportion { centre, .. } | Model::Rate { centre, .. } => *centre,
            Model::Cases { mean } => *mean,
            Model::Value {
                of,
                scale: Scale::Plain,
            } => of.centre,
            Model::Value { of, .. } => t::raised_back(of.centre),
        }
    }

    pub(super) fn sigma_z(&self) -> Option<f64> {
        match self {
            Model::Proportion { sigma_z, .. } | Model::Rate { sigma_z, .. } => *sigma_z,
            _ => None,
        }
    }

    /// Limits of a month, and whether they are exact ones of a count.
    pub(super) fn limits(&self, cell: Option<Cell>) -> Option<(Limits, bool)> {
        match self {
            Model::Proportion { chance, sigma_z, .. } => {
                let trials = cell?.of;
                let is_exact = p::needs_exact(*chance, trials);
                let plain = p::limits(*chance, trials)?;
                let wide = sigma_z.and_then(|factor| laney::proportion_limits(*chance, trials, factor));
                Some(wider(plain, wide, is_exact))
            }
            Model::Rate { rate, sigma_z, .. } => {
                let cell = cell?;
                let exposure = cell.exposure();
                let is_exact = u::needs_exact(*rate, exposure);
                let plain = if is_exact {
                    let (fewest, most) = u::exact_counts(*rate, exposure)?;
                    Limits {
                        lower: cell.rate_of(fewest)?,
                        upper: cell.rate_of(most)?,
                    }
                } else {
                    u::three_sigma(*rate, exposure)?
                };
                let wide = sigma_z.and_then(|factor| laney::rate_limits(*rate, exposure, factor));
                Some(wider(plain, wide, is_exact))
            }
            Model::Cases { mean } => g::exact(*mean).map(|limits| (limits, true)),
            Model::Value {
                of,
                scale: Scale::Plain,
            } => Some((of.limits(), false)),
            Model::Value { of, .. } => Some((t::limits(of), false)),
        }
    }
}

/// Plain limits, or with Laney's the wider on either side; and whether exact ones set any.
fn wider(plain: Limits, wide: Option<Limits>, is_exact: bool) -> (Limits, bool) {
    let Some(wide) = wide else {
        return (plain, is_exact);
    };
    if !is_exact {
        return (wide, false);
    }
    let limits = Limits {
        lower: plain.lower.min(wide.lower),
        upper: plain.upper.max(wide.upper),
    };
    (limits, limits != wide)
}
