//! The protocol as Arrow tables, the only way its numbers reach SQL.
//!
//! Times are seconds, values micro-umol/L, gestations days. `from_s` and `to_s`
//! bound the moments a version judges: [from, to).

use std::sync::Arc;

use arrow::array::{ArrayRef, BooleanArray, Int32Array, Int64Array, RecordBatch, StringArray};
use arrow::error::ArrowError;
use jiff::civil::Time;

use super::file::{AboveWhen, RecheckRule};
use super::{Protocol, Version, gestation_days, lines, micro, seconds};

/// A table name and its rows.
pub type NamedBatch = (&'static str, RecordBatch);

/// Column name, values, whether it may be null.
type Column = (&'static str, ArrayRef, bool);

/// Far before and far after any event; bounds of the first and last version.
const BEGINNING_S: i64 = -100_000_000_000;
const END_S: i64 = 1_000_000_000_000;

const DAY_S: i64 = 86_400;

impl Protocol {
    /// All protocol tables, with their fixed names and columns.
    ///
    /// # Errors
    /// Never in practice: only when Arrow refuses arrays of unequal length.
    pub fn tables(&self) -> Result<Vec<NamedBatch>, ArrowError> {
        Ok(vec![
            ("protocol_versions", versions(self)?),
            ("protocol_limits", limits(self)?),
            ("protocol_clauses", clauses(self)?),
            ("protocol_windows", windows(self)?),
            ("protocol_recheck", recheck(self)?),
            ("protocol_codes", codes(self)?),
            ("protocol_lines", line_pieces()?),
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
    let days = |of: fn(&Version) -> &str| -> ArrayRef {
        Arc::new(Int32Array::from_iter(all.iter().map(|v| gestation_days(of(v)))))
    };
    let before_birth_s = protocol.plausible().test_before_birth_min * 60;
    batch(vec![
        ("version", ints(numbered(protocol).map(|(n, _)| n)), false),
        ("from_s", ints(spans.iter().map(|s| s.0)), false),
        ("to_s", ints(spans.iter().map(|s| s.1)), false),
        ("test_before_birth_s", ints(all.iter().map(|_| before_birth_s)), false),
        ("transfer_within_s", hours(|v| v.stays.transfer_within_h), false),
        ("course_gap_s", hours(|v| v.stays.course_gap_h), false),
        (
            "referral_gestation_days",
            days(|v| &v.referral.gestation_at_least),
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
        ("referral_follow_up_s", hours(|v| v.referral.follow_up_h), false),
        (
            "recheck_tolerance_s",
            ints(all.iter().map(|v| v.recheck.tolerance_min * 60)),
            false,
        ),
        ("recheck_accept_after_s", hours(|v| v.recheck.accept_after_h), false),
        ("recheck_late_until_s", hours(|v| v.recheck.late_until_h), false),
        (
            "readmission_gestation_days",
            days(|v| &v.readmission.gestation_at_least),
            true,
        ),
        (
            "provisional_s",
            ints(all.iter().map(|v| i64::from(v.readmission.provisional_days) * DAY_S)),
            false,
        ),
    ])
}

fn clauses(protocol: &Protocol) -> Result<RecordBatch, ArrowError> {
    let rows: Vec<_> = numbered(protocol)
        .flat_map(|(n, v)| v.referral.clauses.iter().map(move |c| (n, c)))
        .collect();
    batch(vec![
        ("version", ints(rows.iter().map(|r| r.0)), false),
        ("clause", texts(rows.iter().map(|r| r.1.when.word())), false),
        (
            "limit_micro",
            maybe_ints(rows.iter().map(|r| r.1.umol_l.map(micro))),
            true,
        ),
        ("source", texts(rows.iter().map(|r| r.1.source.as_str())), false),
    ])
}

/// Spans of age with a window, and hours or days that are told: one row each.
/// `figure` is the suffix under which a told hour or day appears in the results.
fn windows(protocol: &Protocol) -> Result<RecordBatch, ArrowError> {
    struct Row {
        version: i64,
        purpose: &'static str,
        figure: String,
        age_from_s: i64,
        age_below_s: i64,
        within_s: i64,
    }
    let mut rows = Vec::new();
    for (version, v) in numbered(protocol) {
        let told = |purpose, figure, within_s| Row {
            version,
            purpose,
            figure,
            age_from_s: BEGINNING_S,
            age_below_s: END_S,
            within_s,
        };
        for window in &v.referral.windows {
            let first = window.age_from_h <= 0.0;
            rows.push(Row {
                version,
                purpose: "referral",
                figure: String::new(),
                age_from_s: if first { BEGINNING_S } else { seconds(window.age_from_h) },
                age_below_s: window.age_below_h.map_or(END_S, seconds),
                within_s: seconds(window.within_h),
            });
        }
        for hour in &v.time_to_serum.shares_at_h {
            rows.push(told("time_to_serum", format!("{hour}h"), i64::from(*hour) * 3600));
        }
        for day in &v.readmission.within_days {
            rows.push(told("readmission", format!("{day}d"), i64::from(*day) * DAY_S));
        }
    }
    batch(vec![
        ("version", ints(rows.iter().map(|r| r.version)), false),
        ("purpose", texts(rows.iter().map(|r| r.purpose)), false),
        ("figure", texts(rows.iter().map(|r| r.figure.as_str())), false),
        ("age_from_s", ints(rows.iter().map(|r| r.age_from_s)), false),
        ("age_below_s", ints(rows.iter().map(|r| r.age_below_s)), false),
        ("within_s", ints(rows.iter().map(|r| r.within_s)), false),
    ])
}

fn recheck(protocol: &Protocol) -> Result<RecordBatch, ArrowError> {
    let rows: Vec<(i64, &RecheckRule)> = numbered(protocol)
        .flat_map(|(n, v)| v.recheck.rules.iter().map(move |r| (n, r)))
        .collect();
    let word = |of: fn(&RecheckRule) -> &str| texts(rows.iter().map(|r| of(r.1)));
    let hours = |of: fn(&RecheckRule) -> f64| ints(rows.iter().map(|r| seconds(of(r.1))));
    let maybe_hours = |of: fn(&RecheckRule) -> Option<f64>| maybe_ints(rows.iter().map(|r| of(r.1).map(seconds)));
    let maybe_micro = |of: fn(&RecheckRule) -> Option<f64>| maybe_ints(rows.iter().map(|r| of(r.1).map(micro)));
    let gestation: ArrayRef = Arc::new(Int32Array::from_iter(
        rows.iter()
            .map(|r| r.1.gestation_at_least.as_deref().and_then(gestation_days)),
    ));
    batch(vec![
        ("version", ints(rows.iter().map(|r| r.0)), false),
        ("rule", word(|r| &r.rule), false),
        ("trigger", word(|r| r.trigger.word()), false),
        ("risk", word(|r| r.risk.word()), false),
        ("gap_at_least_micro", maybe_micro(|r| r.gap_at_least_umol_l), true),
        ("gap_at_most_micro", maybe_micro(|r| r.gap_at_most_umol_l), true),
        ("gestation_days_at_least", gestation, true),
        ("age_above_s", maybe_hours(|r| r.age_above_h), true),
        ("age_below_s", maybe_hours(|r| r.age_below_h), true),
        ("into_course_s", maybe_hours(|r| r.into_course_h), true),
        ("earliest_s", hours(|r| r.earliest_h), false),
        ("latest_s", hours(|r| r.latest_h), false),
        ("accepts", word(|r| r.accepts.word()), false),
        ("excused_when", word(|r| r.excused_when.word()), false),
        ("excused_within_s", hours(|r| r.excused_within_h), false),
        ("source", word(|r| &r.source), false),
    ])
}

/// Code lists by use. ICD-10 prefixes are upper case without the dot.
fn codes(protocol: &Protocol) -> Result<RecordBatch, ArrowError> {
    let mut rows: Vec<(i64, &'static str, String)> = Vec::new();
    for (n, v) in numbered(protocol) {
        let mut add = |purpose: &'static str, list: &[String], icd10: bool| {
            for code in list {
                let code = if icd10 {
                    code.to_uppercase().replace('.', "")
                } else {
                    code.clone()
                };
                rows.push((n, purpose, code));
            }
        };
        add("total_bilirubin", &v.serum.total_bilirubin, false);
        add("serum_specimen", &v.serum.specimens, false);
        add("recheck_risk_factor", &v.recheck.risk_factors, false);
        add("recheck_risk_feeding", &v.recheck.risk_feeding, false);
        add("readmission", &v.readmission.codes, true);
        add("readmission_except", &v.readmission.except_codes, true);
    }
    batch(vec![
        ("version", ints(rows.iter().map(|r| r.0)), false),
        ("purpose", texts(rows.iter().map(|r| r.1)), false),
        ("code", texts(rows.iter().map(|r| r.2.as_str())), false),
    ])
}

fn line_pieces() -> Result<RecordBatch, ArrowError> {
    let pieces = lines::built_in();
    let of = |field: fn(&lines::Piece) -> i64| ints(pieces.iter().map(field));
    batch(vec![
        ("standard", texts(pieces.iter().map(|p| p.standard.as_str())), false),
        ("gestation_weeks", of(|p| p.gestation_weeks), false),
        ("risk", texts(pieces.iter().map(|p| p.risk.as_str())), false),
        ("age_from_s", of(|p| p.age_from_s), false),
        ("age_to_s", of(|p| p.age_to_s.unwrap_or(END_S)), false),
        ("phototherapy_from_micro", of(|p| p.phototherapy_micro.0), false),
        ("phototherapy_to_micro", of(|p| p.phototherapy_micro.1), false),
        ("exchange_from_micro", of(|p| p.exchange_micro.0), false),
        ("exchange_to_micro", of(|p| p.exchange_micro.1), false),
    ])
}
