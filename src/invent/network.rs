//! The invented network at the size asked for: units, their meters and nurses.

use super::dice::Dice;
use super::scenario::Scenario;

/// Numbers of meters and operators run through the whole network.
#[derive(Debug)]
pub(crate) struct Network {
    shares: Vec<f64>,
    meters: Vec<std::ops::Range<usize>>,
    operators: Vec<std::ops::Range<usize>>,
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
        Network {
            meters: staff(scenario.meters.births_per_meter, 1),
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

    /// A meter of a unit.
    pub(crate) fn meter(&self, unit: usize, dice: &mut Dice) -> usize {
        let range = &self.meters[unit];
        range.start + dice.index(range.len())
    }

    /// A nurse of a unit.
    pub(crate) fn operator(&self, unit: usize, dice: &mut Dice) -> usize {
        let range = &self.operators[unit];
        range.start + dice.index(range.len())
    }

    /// Every meter with its unit.
    pub(crate) fn all_meters(&self) -> impl Iterator<Item = (usize, usize)> + '_ {
        let units = self.meters.iter().enumerate();
        units.flat_map(|(unit, range)| range.clone().map(move |meter| (meter, unit)))
    }

    /// How many meters there are.
    pub(crate) fn meter_count(&self) -> usize {
        self.meters.last().map_or(0, |range| range.end)
    }
}
