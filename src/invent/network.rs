//! The invented network at the size asked for: units, their meters and nurses.

use super::dice::Dice;
use super::scenario::Scenario;

/// Numbers of meters and operators run through the whole network.
#[derive(Debug)]
pub(crate) struct Network {
    shares: Vec<f64>,
    meters: Vec<std::ops::Range<usize>>,
    operators: Vec<std::ops::Range<usize>>,
    replaced: Replaced,
}

/// A meter that another takes the place of, from a month on.
#[derive(Debug, Clone, Copy)]
struct Replaced {
    meter: usize,
    from_month: usize,
    by: usize,
}

impl Network {
    /// A network for so many births a month.
    pub(crate) fn new(scenario: &Scenario, births_per_month: u32) -> Network {
        let shares: Vec<f64> = scenario.units.iter().map(|unit| unit.share).collect();
        let staff = |births_each: f64, at_least: usize| {
            let mut next = 0;
            let ranges = shares.iter().map(|share| {
                let wanted = share * f64::from(births_per_month) / births_each;
                let first = next;
                next += (wanted.round() as usize).max(at_least);
                first..next
            });
            ranges.collect()
        };
        let meters: Vec<std::ops::Range<usize>> = staff(scenario.meters.births_per_meter, 1);
        Network {
            replaced: Replaced {
                meter: meters[scenario.drift.unit].start,
                from_month: scenario.drift.replaced_in_month,
                by: meters.last().map_or(0, |range| range.end),
            },
            meters,
            operators: staff(scenario.meters.births_per_operator, 3),
            shares,
        }
    }

    /// A unit to be born in.
    pub(crate) fn birth_unit(&self, dice: &mut Dice) -> usize {
        let units: Vec<usize> = (0..self.shares.len()).collect();
        *dice.pick(&units, |unit| self.shares[*unit])
    }

    /// The unit a baby is moved to: the largest, or the next when it is there already.
    pub(crate) fn other_unit(&self, from: usize) -> usize {
        usize::from(from == 0)
    }

    /// The first meter of a unit.
    pub(crate) fn first_meter(&self, unit: usize) -> usize {
        self.meters[unit].start
    }

    /// A meter of a unit, in a month.
    pub(crate) fn meter(&self, unit: usize, month: usize, dice: &mut Dice) -> usize {
        let range = &self.meters[unit];
        self.in_use(range.start + dice.index(range.len()), month)
    }

    /// The meter in the place of another in a month: mostly itself.
    pub(crate) fn in_use(&self, meter: usize, month: usize) -> usize {
        if meter == self.replaced.meter && month >= self.replaced.from_month {
            self.replaced.by
        } else {
            meter
        }
    }

    /// The last of the first `place` meters of a unit, counted from 1; of fewer, the last.
    pub(crate) fn nth_meter(&self, unit: usize, place: usize) -> usize {
        let range = &self.meters[unit];
        (range.start + place - 1).min(range.end - 1)
    }

    /// A nurse of a unit.
    pub(crate) fn operator(&self, unit: usize, dice: &mut Dice) -> usize {
        let range = &self.operators[unit];
        range.start + dice.index(range.len())
    }

    /// Every meter with its unit, without the one that replaces another.
    pub(crate) fn all_meters(&self) -> impl Iterator<Item = (usize, usize)> + '_ {
        let units = self.meters.iter().enumerate();
        units.flat_map(|(unit, range)| range.clone().map(move |meter| (meter, unit)))
    }

    /// How many meters there are, the one that replaces another included.
    pub(crate) fn meter_count(&self) -> usize {
        self.replaced.by + 1
    }
}
