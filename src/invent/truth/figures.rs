//! The figures as they are written: `truth.json`.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::fs;
use std::path::Path;

use serde::Serialize;

use super::Count;
use super::planted::{self, Planted};
use super::tally::{Cell, Measure, Tally};
use crate::invent::rules::Rules;
use crate::invent::{InventError, Options, World};

const REFERRAL: [&str; 5] = ["in_time", "late", "missed", "left", "open"];
const RECHECK: [&str; 7] = ["on_time", "late", "early_only", "none", "excused", "left", "open"];
const READMISSION: [&str; 3] = ["readmitted", "not_readmitted", "open"];

/// What was invented, and what a correct audit of it finds.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Truth {
    /// All parameters of the simulation.
    pub scenario: serde_json::Value,
    /// The seed.
    pub seed: u64,
    /// What was asked for.
    pub options: TruthOptions,
    /// Data end of every table, in local time with offset.
    pub data_end: String,
    /// The same in seconds since 1970 in UTC.
    pub data_end_s: i64,
    /// What the simulation puts in besides chance.
    pub planted: Vec<Planted>,
    /// All figures, by measure, month, split and group.
    pub figures: Vec<Figure>,
    /// The figures that were others when the month's own extract was the newest: what later
    /// extracts decided or corrected since. Whatever is not here was the same.
    pub first_told: Vec<Figure>,
}

/// The options that shaped the invention, without the folder it went to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TruthOptions {
    /// Births in each month.
    pub births_per_month: u32,
    /// How many months.
    pub months: u32,
    /// The first month, as `2026-04`.
    pub first: String,
    /// The last month.
    pub last: String,
    /// The time zone.
    pub zone: String,
}

/// One figure.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Figure {
    /// The measure's name.
    pub measure: String,
    /// The month, as `2026-09`.
    pub month: String,
    /// `all` or `unit`.
    pub split: String,
    /// `all` or the unit's name.
    pub group: String,
    /// None in a month without data.
    pub numerator: Option<u64>,
    /// None in a month without data.
    pub denominator: Option<u64>,
    /// Every outcome of the measure, zeros too; empty where a measure has none.
    pub outcomes: BTreeMap<String, u64>,
    /// Reasons that occurred.
    pub left_out: BTreeMap<String, u64>,
    /// Not decidable at data end.
    pub open: u64,
}

impl Truth {
    /// The figures of a finished count.
    pub(crate) fn new(world: &World, options: &Options, count: Count<'_>) -> Result<Truth, InventError> {
        let scenario = serde_json::to_value(&world.scenario);
        let scenario = scenario.map_err(|error| InventError::Scenario {
            reason: error.to_string(),
        })?;
        let months = world.calendar.months();
        let figures = figures(&count.tally, world, Units::Counted);
        let mut first_told = self::figures(&count.first, world, Units::All);
        let now: BTreeMap<_, &Figure> = figures.iter().map(|figure| (figure.key(), figure)).collect();
        first_told.retain(|first| match now.get(&first.key()) {
            Some(now) => *now != first,
            None => !first.is_empty(),
        });
        Ok(Truth {
            scenario,
            seed: options.seed,
            options: TruthOptions {
                births_per_month: options.births_per_month,
                months: options.months,
                first: world.calendar.name(0).to_owned(),
                last: world.calendar.name(months - 1).to_owned(),
                zone: world.rules.zone.clone(),
            },
            data_end: world.calendar.with_offset(world.calendar.data_end_s()),
            data_end_s: world.calendar.data_end_s(),
            planted: planted::planted(world),
            figures,
            first_told,
        })
    }

    /// Writes the file, one figure a line.
    pub(crate) fn write(&self, path: &Path) -> Result<(), InventError> {
        let json = |result: Result<String, serde_json::Error>| {
            result.map_err(|source| InventError::Json {
                path: path.to_path_buf(),
                source,
            })
        };
        let mut text = String::from("{\n");
        for (name, value) in [
            ("scenario", json(serde_json::to_string(&self.scenario))?),
            ("seed", json(serde_json::to_string(&self.seed))?),
            ("options", json(serde_json::to_string(&self.options))?),
            ("data_end", json(serde_json::to_string(&self.data_end))?),
            ("data_end_s", json(serde_json::to_string(&self.data_end_s))?),
        ] {
            let _ = writeln!(text, "\"{name}\": {value},");
        }
        let planted: Result<Vec<String>, _> = self.planted.iter().map(serde_json::to_string).collect();
        let lines = |figures: &[Figure]| figures.iter().map(serde_json::to_string).collect();
        let (figures, first_told): (Result<Vec<String>, _>, Result<Vec<String>, _>) =
            (lines(&self.figures), lines(&self.first_told));
        let lists = [("planted", planted), ("figures", figures), ("first_told", first_told)];
        let mut lists = lists.into_iter().peekable();
        while let Some((name, rows)) = lists.next() {
            let rows = rows.map_err(|source| InventError::Json {
                path: path.to_path_buf(),
                source,
            })?;
            let comma = if lists.peek().is_some() { "," } else { "" };
            let _ = writeln!(text, "\"{name}\": [\n{}\n]{comma}", rows.join(",\n"));
        }
        text.push_str("}\n");
        fs::write(path, text).map_err(InventError::io("write", path))
    }
}

/// Which units have a figure.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Units {
    /// Those with anything counted.
    Counted,
    /// All.
    All,
}

fn figures(tally: &Tally, world: &World, units: Units) -> Vec<Figure> {
    let mut figures = Vec::new();
    for (place, measure) in tally.measures().iter().enumerate() {
        for month in 0..world.calendar.months() {
            let row = |split: &str, group: &str, cell: Option<&Cell>| {
                let name = name(*measure, &world.rules);
                let month = world.calendar.name(month).to_owned();
                figure(*measure, name, month, (split, group), cell)
            };
            if !tally.has_data(*measure, month) {
                figures.push(row("all", "all", None));
                continue;
            }
            let cells = tally.cells(place, month);
            let mut all = Cell::default();
            for cell in cells {
                all.add(cell);
            }
            figures.push(row("all", "all", Some(&all)));
            for (unit, cell) in world.scenario.units.iter().zip(cells) {
                if units == Units::All || !cell.is_empty() {
                    figures.push(row("unit", &unit.name, Some(cell)));
                }
            }
        }
    }
    figures
}

impl Figure {
    /// Whether nothing was counted.
    fn is_empty(&self) -> bool {
        let counted = self.outcomes.values().chain(self.left_out.values()).sum::<u64>();
        counted + self.denominator.unwrap_or(0) == 0
    }

    /// What it is a figure of.
    fn key(&self) -> [&str; 4] {
        [&self.measure, &self.month, &self.split, &self.group]
    }
}

fn figure(measure: Measure, name: String, month: String, (split, group): (&str, &str), cell: Option<&Cell>) -> Figure {
    let mut outcomes = BTreeMap::new();
    let mut left_out = BTreeMap::new();
    if let Some(cell) = cell {
        for outcome in outcome_names(measure) {
            let n = cell.outcomes.get(outcome).copied().unwrap_or(0);
            outcomes.insert((*outcome).to_owned(), n);
        }
        for (reason, n) in &cell.left_out {
            left_out.insert((*reason).to_owned(), *n);
        }
    }
    Figure {
        measure: name,
        month,
        split: split.to_owned(),
        group: group.to_owned(),
        numerator: cell.map(|cell| cell.numerator),
        denominator: cell.map(|cell| cell.denominator),
        outcomes,
        left_out,
        open: cell.map_or(0, |cell| cell.open),
    }
}

fn outcome_names(measure: Measure) -> &'static [&'static str] {
    match measure {
        Measure::MissedReferral | Measure::ReferralInTime => &REFERRAL,
        Measure::FailedAttempts | Measure::TimeToSerum(_) => &[],
        Measure::NearLine | Measure::TreatmentFirst | Measure::TreatmentNext | Measure::Rebound | Measure::FirstDay => {
            &RECHECK
        }
        Measure::Readmission(_) => &READMISSION,
    }
}

fn name(measure: Measure, rules: &Rules) -> String {
    match measure {
        Measure::MissedReferral => "missed_referral".into(),
        Measure::ReferralInTime => "referral_in_time".into(),
        Measure::FailedAttempts => "referral_failed_attempts".into(),
        Measure::NearLine => "recheck_adherence_near_line".into(),
        Measure::TreatmentFirst => "recheck_adherence_treatment_first".into(),
        Measure::TreatmentNext => "recheck_adherence_treatment_next".into(),
        Measure::Rebound => "recheck_adherence_rebound".into(),
        Measure::FirstDay => "recheck_adherence_first_day".into(),
        Measure::TimeToSerum(place) => {
            format!("time_to_serum_{}h", rules.referral.time_to_serum_h[place])
        }
        Measure::Readmission(place) => {
            format!("jaundice_readmission_{}d", rules.readmission.ages_d[place])
        }
    }
}
