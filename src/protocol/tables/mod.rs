//! The protocol as Arrow tables, the only way its numbers reach SQL.
//!
//! Times are seconds, values micro-umol/L, gestations days. `from_s` and `to_s`
//! bound the moments a version judges: [from, to).

mod lines;
mod offsets;
mod rules;
mod severe;

use std::sync::Arc;

use arrow::array::{ArrayRef, BooleanArray, Int32Array, Int64Array, RecordBatch, StringArray};
use arrow::error::ArrowError;
use jiff::civil::Time;

use super::file::AboveWhen;
use super::{Concentration, Protocol, Version, gestation_days, seconds};

/// A table name and its rows.
pub type NamedBatch = (&'static str, RecordBatch);

/// Column name, values, whether it may be null.
type Column = (&'static str, ArrayRef, bool);

/// Far before and far after any event; bounds of the first and last version.
const BEGINNING_S: i64 = -100_000_000_000;
const END_S: i64 = 1_000_000_000_000;

const DAY_S: f64 = 86_400.0;

impl Protocol {
    /// All protocol tables, with their fixed names and columns.
    ///
    /// # Errors
    /// Never in practice: only when Arrow refuses arrays of unequal length.
    pub fn tables(&self) -> Result<Vec<NamedBatch>, ArrowError> {
        Ok(vec![
            ("protocol_versions", versions(self)?),
            ("protocol_limits", limits(self)?),
            ("protocol_clauses", rules::clauses(self)?),
            ("protocol_windows", rules::windows(self)?),
            ("protocol_recheck", rules::recheck(self)?),
            ("protocol_rises", rules::rises(self)?),
            ("protocol_bands", severe::bands(self)?),
            ("protocol_codes", rules::codes(self)?),
            ("protocol_lines", lines::pieces(self)?),
            ("local_offsets", offsets::offsets(self.zone())?),
            ("quality_limits", super::records::row(&self.file.records)?),
        ])
    }

    /// The moments version `index` judges: [from, to) in epoch seconds.
    fn span(&self, index: usize) -> (i64, i64) {
        let starts = |version: &Version| {
            self.zone
                .to_timestamp(version.in_force_from.to_datetime(Time::midnight()))
                .map_or(BEGINNING_S, |at| at.as_second())
        };
        let from = if index == 0 {
            BEGINNING_S
        } else {
            starts(&self.versions()[index])
        };
        let to = self.versions().get(index + 1).map_or(END_S, starts);
        (from, to)
    }
}

/// Gives each version its number, counted from 1.
fn numbered(protocol: &Protocol) -> impl Iterator<Item = (i64, &Version)> {
    (1..).zip(protocol.versions())
}

fn ints(values: impl IntoIterator<Item = i64>) -> ArrayRef {
    Arc::new(Int64Array::from_iter_values(values))
}

fn maybe_ints(values: impl IntoIterator<Item = Option<i64>>) -> ArrayRef {
    Arc::new(Int64Array::from_iter(values))
}

fn texts<'a>(values: impl IntoIterator<Item = &'a str>) -> ArrayRef {
    Arc::new(StringArray::from_iter_values(values))
}

/// Days of 24 hours to whole seconds.
fn whole_days(days: f64) -> i64 {
    (days * DAY_S).round() as i64
}

fn batch(columns: Vec<Column>) -> Result<RecordBatch, ArrowError> {
    RecordBatch::try_from_iter_with_nullable(columns)
}

fn versions(protocol: &Protocol) -> Result<RecordBatch, ArrowError> {
    let all = protocol.versions();
    let spans: Vec<_> = (0..all.len()).map(|i| protocol.span(i)).collect();
    let strict: BooleanArray = all
        .iter()
        .map(|v| Some(v.line.above_when == AboveWhen::Greater))
        .collect();
    batch(vec![
        ("version", ints(numbered(protocol).map(|(n, _)| n)), false),
        ("name", texts(all.iter().map(|v| v.name.as_str())), false),
        ("from_s", ints(spans.iter().map(|s| s.0)), false),
        ("to_s", ints(spans.iter().map(|s| s.1)), false),
        ("standard", texts(all.iter().map(|v| v.line.standard.as_str())), false),
        ("above_is_strict", Arc::new(strict), false),
    ])
}

fn limits(protocol: &Protocol) -> Result<RecordBatch, ArrowError> {
    let all = protocol.versions();
    let spans: Vec<_> = (0..all.len()).map(|i| protocol.span(i)).collect();
    let hours = |of: fn(&Version) -> f64| ints(all.iter().map(|v| seconds(of(v))));
    let maybe_hours = |of: fn(&Version) -> Option<f64>| maybe_ints(all.iter().map(|v| of(v).map(seconds)));
    let margins =
        |of: fn(&Version) -> Option<Concentration>| ints(all.iter().map(|v| of(v).map_or(0, Concentration::micro)));
    let ages = |of: fn(&Version) -> f64| ints(all.iter().map(|v| whole_days(of(v))));
    let days = |of: fn(&Version) -> Option<&str>| -> ArrayRef {
        Arc::new(Int32Array::from_iter(
            all.iter().map(|v| of(v).and_then(gestation_days)),
        ))
    };
    let before_birth_s = protocol.plausible().test_before_birth_min * 60;
    batch(vec![
        ("version", ints(numbered(protocol).map(|(n, _)| n)), false),
        ("from_s", ints(spans.iter().map(|s| s.0)), false),
        ("to_s", ints(spans.iter().map(|s| s.1)), false),
        ("test_before_birth_s", ints(all.iter().map(|_| before_birth_s)), false),
        ("transfer_within_s", hours(|v| v.stays.transfer_within_h), false),
        ("course_gap_s", hours(|v| v.stays.course_gap_h), false),
        ("assumed_stop_s", hours(|v| v.stays.assumed_stop_h), false),
        (
            "referral_gestation_days",
            days(|v| Some(&v.referral.gestation_at_least)),
            true,
        ),
        ("referral_age_above_s", hours(|v| v.referral.age_above_h), false),
        (
            "after_phototherapy_s",
            hours(|v| v.referral.not_after_phototherapy_h),
            false,
        ),
        ("paired_before_s", hours(|v| v.referral.paired_before_h), false),
        (
            "same_referral_under_s",
            hours(|v| v.referral.same_referral_under_h),
            false,
        ),
        ("recent_serum_s", hours(|v| v.referral.recent_serum_h), false),
        (
            "off_limit_first_day_s",
            hours(|v| v.referral.off_limit.first_day_h),
            false,
        ),
        (
            "off_limit_first_day_within_s",
            hours(|v| v.referral.off_limit.first_day_within_h),
            false,
        ),
        ("off_limit_within_s", hours(|v| v.referral.off_limit.within_h), false),
        ("referral_follow_up_s", hours(|v| v.referral.follow_up_h), false),
        ("redraw_follow_up_s", hours(|v| v.serum.redraw_follow_up_h), false),
        (
            "recheck_tolerance_s",
            ints(all.iter().map(|v| v.recheck.tolerance_min * 60)),
            false,
        ),
        (
            "unknown_line_risk",
            texts(all.iter().map(|v| v.line.unknown_risk.word())),
            false,
        ),
        (
            "unknown_recheck_risk",
            texts(all.iter().map(|v| v.recheck.unknown_risk.word())),
            false,
        ),
        ("recheck_accept_after_s", hours(|v| v.recheck.accept_after_h), false),
        ("recheck_late_until_s", hours(|v| v.recheck.late_until_h), false),
        (
            "readmission_gestation_days",
            days(|v| Some(&v.readmission.gestation_at_least)),
            true,
        ),
        ("home_at_risk_s", hours(|v| v.readmission.home_at_risk_within_h), false),
        (
            "home_at_risk_micro",
            margins(|v| v.readmission.home_at_risk_gap()),
            false,
        ),
        ("near_exchange_micro", margins(|v| v.near_exchange.margin()), false),
        ("near_exchange_from_s", hours(|v| v.near_exchange.age_at_least_h), false),
        (
            "coverage_gestation_days",
            days(|v| v.coverage.as_ref().map(|c| c.gestation_at_least.as_str())),
            true,
        ),
        (
            "coverage_from_s",
            maybe_hours(|v| v.coverage.as_ref().map(|c| c.from_age_h)),
            true,
        ),
        (
            "coverage_to_s",
            maybe_hours(|v| v.coverage.as_ref().map(|c| c.to_age_h)),
            true,
        ),
        (
            "coverage_earliest_s",
            maybe_hours(|v| v.coverage.as_ref().map(|c| c.earliest_age_h)),
            true,
        ),
        ("treatment_age_at_most_s", ages(|v| v.treatment.age_at_most_d), false),
        ("treatment_in_time_s", hours(|v| v.treatment.in_time_h), false),
        ("treatment_follow_up_s", hours(|v| v.treatment.follow_up_h), false),
        ("beside_lamps_s", hours(|v| v.treatment.beside_lamps_h), false),
        ("below_line_within_s", hours(|v| v.treatment.below_line_within_h), false),
        ("below_line_after_s", hours(|v| v.treatment.below_line_after_h), false),
        ("near_below_micro", margins(|v| v.treatment.near_below()), false),
        ("severe_age_at_most_s", ages(|v| v.severe.age_at_most_d), false),
        (
            "meter_readings_at_least",
            ints(all.iter().map(|v| i64::from(v.meter.readings_at_least))),
            false,
        ),
        ("check_holds_s", maybe_hours(|v| v.meter.check_holds_h), true),
        (
            "outpatient_age_at_least_s",
            ages(|v| v.meter.outpatient_age_at_least_d),
            false,
        ),
        (
            "outpatient_body_site",
            texts(all.iter().map(|v| v.meter.outpatient_body_site.as_str())),
            false,
        ),
        (
            "pair_within_s",
            ints(all.iter().map(|v| v.meter.paired_within_min * 60)),
            false,
        ),
        (
            "gap_rounded_to_micro",
            ints(
                all.iter()
                    .map(|v| v.recheck.gap_rounded_to().map_or(1, Concentration::micro)),
            ),
            false,
        ),
    ])
}
