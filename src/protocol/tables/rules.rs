//! Clauses, windows, recheck rows, rates of rise and codes as tables.

use std::sync::Arc;

use arrow::array::{ArrayRef, BooleanArray, Int32Array, RecordBatch};
use arrow::error::ArrowError;

use super::{BEGINNING_S, END_S, batch, ints, maybe_ints, numbered, texts, whole_days};
use crate::protocol::file::FlaggedWhen;
use crate::protocol::{Concentration, Protocol, RecheckRule, gestation_days, seconds};

pub(super) fn clauses(protocol: &Protocol) -> Result<RecordBatch, ArrowError> {
    let rows: Vec<_> = numbered(protocol)
        .flat_map(|(n, v)| v.referral.clauses.iter().map(move |c| (n, c)))
        .collect();
    batch(vec![
        ("version", ints(rows.iter().map(|r| r.0)), false),
        ("clause", texts(rows.iter().map(|r| r.1.when.word())), false),
        (
            "limit_micro",
            maybe_ints(rows.iter().map(|r| r.1.limit().map(Concentration::micro))),
            true,
        ),
        ("source", texts(rows.iter().map(|r| r.1.source.as_str())), false),
    ])
}

/// Spans of age with a window, and hours or days that are reported: one row each.
/// `figure` is the suffix under which such an hour or day appears in the results.
pub(super) fn windows(protocol: &Protocol) -> Result<RecordBatch, ArrowError> {
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
        let reported = |purpose, figure, within_s| Row {
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
            rows.push(reported("time_to_serum", format!("{hour}h"), i64::from(*hour) * 3600));
        }
        for day in &v.readmission.within_days {
            rows.push(reported("readmission", format!("{day}d"), whole_days(f64::from(*day))));
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

pub(super) fn recheck(protocol: &Protocol) -> Result<RecordBatch, ArrowError> {
    let rows: Vec<(i64, &RecheckRule)> = numbered(protocol)
        .flat_map(|(n, v)| v.recheck.rules.iter().map(move |r| (n, r)))
        .collect();
    let word = |of: fn(&RecheckRule) -> &str| texts(rows.iter().map(|r| of(r.1)));
    let hours = |of: fn(&RecheckRule) -> f64| ints(rows.iter().map(|r| seconds(of(r.1))));
    let maybe_hours = |of: fn(&RecheckRule) -> Option<f64>| maybe_ints(rows.iter().map(|r| of(r.1).map(seconds)));
    let maybe_micro = |of: fn(&RecheckRule) -> Option<Concentration>| {
        maybe_ints(rows.iter().map(|r| of(r.1).map(Concentration::micro)))
    };
    let gestation: ArrayRef = Arc::new(Int32Array::from_iter(
        rows.iter()
            .map(|r| r.1.gestation_at_least.as_deref().and_then(gestation_days)),
    ));
    batch(vec![
        ("version", ints(rows.iter().map(|r| r.0)), false),
        ("rule", word(|r| &r.rule), false),
        ("trigger", word(|r| r.trigger.word()), false),
        ("risk", word(|r| r.risk.word()), false),
        ("gap_at_least_micro", maybe_micro(RecheckRule::gap_at_least), true),
        ("gap_at_most_micro", maybe_micro(RecheckRule::gap_at_most), true),
        ("gestation_days_at_least", gestation, true),
        ("age_above_s", maybe_hours(|r| r.age_above_h), true),
        ("age_at_least_s", maybe_hours(|r| r.age_at_least_h), true),
        ("age_below_s", maybe_hours(|r| r.age_below_h), true),
        ("into_course_s", maybe_hours(|r| r.into_course_h), true),
        ("earliest_s", hours(|r| r.earliest_h), false),
        ("latest_s", hours(|r| r.latest_h), false),
        ("accepts", word(|r| r.accepts.word()), false),
        ("screens_from_s", hours(|r| r.screens_from_h), false),
        ("excused_when", word(|r| r.excused_when.word()), false),
        ("excused_within_s", hours(|r| r.excused_within_h.unwrap_or(0.0)), false),
        ("source", word(|r| &r.source), false),
    ])
}

/// Rates of rise that are flagged, by age at the second test: above one age, to the next.
pub(super) fn rises(protocol: &Protocol) -> Result<RecordBatch, ArrowError> {
    struct Row {
        version: i64,
        apart_s: i64,
        apart_at_most_s: i64,
        young_s: i64,
        is_strict: bool,
        age_above_s: Option<i64>,
        age_at_most_s: Option<i64>,
        micro_per_h: i64,
    }
    let mut rows = Vec::new();
    for (version, v) in numbered(protocol) {
        let Some(rise) = &v.rise else { continue };
        let mut age_above_s = None;
        for rate in &rise.rates {
            let age_at_most_s = rate.age_at_most_h.map(seconds);
            rows.push(Row {
                version,
                apart_s: seconds(rise.apart_at_least_h),
                apart_at_most_s: seconds(rise.apart_at_most_h),
                young_s: whole_days(rise.age_at_most_d),
                is_strict: rise.flagged_when == FlaggedWhen::Above,
                age_above_s,
                age_at_most_s,
                micro_per_h: rate.per_hour().map_or(0, Concentration::micro),
            });
            age_above_s = age_at_most_s;
        }
    }
    batch(vec![
        ("version", ints(rows.iter().map(|r| r.version)), false),
        ("apart_s", ints(rows.iter().map(|r| r.apart_s)), false),
        ("apart_at_most_s", ints(rows.iter().map(|r| r.apart_at_most_s)), false),
        ("young_s", ints(rows.iter().map(|r| r.young_s)), false),
        (
            "is_strict",
            Arc::new(BooleanArray::from_iter(rows.iter().map(|r| Some(r.is_strict)))),
            false,
        ),
        ("age_above_s", maybe_ints(rows.iter().map(|r| r.age_above_s)), true),
        ("age_at_most_s", maybe_ints(rows.iter().map(|r| r.age_at_most_s)), true),
        ("micro_per_h", ints(rows.iter().map(|r| r.micro_per_h)), false),
    ])
}

/// Code lists by use. ICD-10 prefixes are upper case without the dot.
pub(super) fn codes(protocol: &Protocol) -> Result<RecordBatch, ArrowError> {
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
        add("line_risk_factor", &v.line.risk_factors, false);
        add("readmission", &v.readmission.codes, true);
        add("readmission_except", &v.readmission.except_codes, true);
        add("kernicterus", &v.severe.kernicterus_codes, true);
    }
    batch(vec![
        ("version", ints(rows.iter().map(|r| r.0)), false),
        ("purpose", texts(rows.iter().map(|r| r.1)), false),
        ("code", texts(rows.iter().map(|r| r.2.as_str())), false),
    ])
}
