//! Running counts by measure, month and unit: all that is kept while babies pass by.

use std::collections::BTreeMap;

use super::Outcome;
use crate::invent::World;

/// A figure that is counted. Places are those of the hours or ages in the rules.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Measure {
    MissedReferral,
    ReferralInTime,
    FailedAttempts,
    NearLine,
    TreatmentFirst,
    TreatmentNext,
    Rebound,
    FirstDay,
    TimeToSerum(usize),
    Readmission(usize),
}

/// The month and unit something is counted in.
#[derive(Debug, Clone, Copy)]
pub(super) struct Group {
    month: Option<usize>,
    unit: usize,
}

impl Group {
    /// The group of an event.
    pub(super) fn at(world: &World, at_s: i64, unit: usize) -> Group {
        Group {
            month: world.calendar.month_of(at_s),
            unit,
        }
    }
}

/// The counts of one measure in one month and unit.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Cell {
    pub(super) numerator: u64,
    pub(super) denominator: u64,
    pub(super) open: u64,
    pub(super) outcomes: BTreeMap<&'static str, u64>,
    pub(super) left_out: BTreeMap<&'static str, u64>,
}

impl Cell {
    /// Whether nothing was counted.
    pub(super) fn is_empty(&self) -> bool {
        *self == Cell::default()
    }

    /// Adds another cell's counts.
    pub(super) fn add(&mut self, other: &Cell) {
        self.numerator += other.numerator;
        self.denominator += other.denominator;
        self.open += other.open;
        for (name, n) in &other.outcomes {
            *self.outcomes.entry(name).or_default() += n;
        }
        for (name, n) in &other.left_out {
            *self.left_out.entry(name).or_default() += n;
        }
    }
}

/// A table whose emptiness makes a month "no data".
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Source {
    Births,
    Screens,
    Serum,
    Phototherapy,
    Stays,
}

/// All counts.
#[derive(Debug)]
pub(super) struct Tally {
    measures: Vec<Measure>,
    units: usize,
    months: usize,
    cells: Vec<Cell>,
    rows: Vec<[u64; 5]>,
    only: Option<usize>,
}

impl Tally {
    /// Nothing counted yet.
    pub(super) fn new(world: &World) -> Tally {
        let hours = world.rules.referral.time_to_serum_h.len();
        let ages = world.rules.readmission.ages_d.len();
        let mut measures = vec![
            Measure::MissedReferral,
            Measure::ReferralInTime,
            Measure::FailedAttempts,
        ];
        measures.extend((0..hours).map(Measure::TimeToSerum));
        measures.extend([
            Measure::NearLine,
            Measure::TreatmentFirst,
            Measure::TreatmentNext,
            Measure::Rebound,
            Measure::FirstDay,
        ]);
        measures.extend((0..ages).map(Measure::Readmission));
        let months = world.calendar.months();
        let units = world.scenario.units.len();
        Tally {
            cells: vec![Cell::default(); (measures.len() * months + 1) * units],
            rows: vec![[0; 5]; months],
            measures,
            units,
            months,
            only: None,
        }
    }

    /// From now on counts one month alone: what is counted for others goes nowhere.
    pub(super) fn count_only(&mut self, month: usize) {
        self.only = Some(month);
    }

    fn counts(&self, month: usize) -> bool {
        self.only.is_none_or(|only| only == month)
    }

    /// The measures, in the order they are reported.
    pub(super) fn measures(&self) -> &[Measure] {
        &self.measures
    }

    /// Notes that a table has a live row at a moment.
    pub(super) fn note_row(&mut self, source: Source, world: &World, at_s: i64) {
        if let Some(month) = world.calendar.month_of(at_s).filter(|month| self.counts(*month)) {
            self.rows[month][source as usize] += 1;
        }
    }

    /// Whether a measure has every table it reads in a month.
    pub(super) fn has_data(&self, measure: Measure, month: usize) -> bool {
        let births_only = [Source::Births, Source::Phototherapy, Source::Stays];
        let all = [
            Source::Births,
            Source::Screens,
            Source::Serum,
            Source::Phototherapy,
            Source::Stays,
        ];
        let reads: &[Source] = match measure {
            Measure::Readmission(_) => &births_only,
            _ => &all,
        };
        reads.iter().all(|source| self.rows[month][*source as usize] > 0)
    }

    /// The counts of a measure in a group.
    pub(super) fn cell(&mut self, measure: Measure, group: Group) -> &mut Cell {
        let measures = self.measures.len();
        let place = self.measures.iter().position(|m| *m == measure);
        // What is not counted goes into a row nobody reads.
        let row = match (place, group.month.filter(|month| self.counts(*month))) {
            (Some(place), Some(month)) => place * self.months + month,
            _ => measures * self.months,
        };
        &mut self.cells[row * self.units + group.unit]
    }

    /// The counts of a measure in a month, unit by unit.
    pub(super) fn cells(&self, place: usize, month: usize) -> &[Cell] {
        let first = (place * self.months + month) * self.units;
        &self.cells[first..first + self.units]
    }

    /// Counts something as left out.
    pub(super) fn leave_out(&mut self, measure: Measure, group: Group, reason: &'static str) {
        *self.cell(measure, group).left_out.entry(reason).or_default() += 1;
    }

    /// Counts an outcome: `wanted` makes the numerator, `decided` the denominator.
    pub(super) fn outcome(&mut self, measure: Measure, group: Group, outcome: Outcome, wanted: &str, decided: &[&str]) {
        let name = match outcome {
            Outcome::LeftOut(reason) => return self.leave_out(measure, group, reason),
            Outcome::Named(name) => name,
        };
        let cell = self.cell(measure, group);
        *cell.outcomes.entry(name).or_default() += 1;
        cell.numerator += u64::from(name == wanted);
        cell.denominator += u64::from(decided.contains(&name));
        cell.open += u64::from(name == "open");
    }
}
