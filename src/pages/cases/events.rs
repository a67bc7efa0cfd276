//! What happened to a baby, in order of time, with what was due and how that ended.

use serde::Serialize;

use crate::pages::{numbers, words};
use crate::queries::review::{Case, Recheck, Referral, Test, TestState, Treatment};

use super::wording::{Wording, allowed, counted, in_hours, plain, span, value, window};

/// Place among events of one second: what opens before what was measured before what closes.
const OPENS: u8 = 0;
const MEASURED: u8 = 1;
const CLOSES: u8 = 2;

/// A row of the table of events.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(super) struct EventRow {
    /// Hours of age to one decimal; empty without a birth time.
    pub(super) age: String,
    /// Local time.
    pub(super) at: String,
    /// What happened.
    pub(super) event: String,
    /// Value of a test.
    pub(super) value: String,
    /// Treatment line at its age.
    pub(super) line: String,
    /// What was due and how it ended.
    pub(super) due: Vec<String>,
    /// A case is about it.
    pub(super) is_of_case: bool,
}

/// The rows of a baby by time.
pub(super) fn events(wording: &Wording<'_>, cases: &[&Case]) -> Vec<EventRow> {
    let mut all = Vec::new();
    hospital(wording, cases, &mut all);
    for test in &wording.baby.tests {
        all.push((test.at_s, MEASURED, tested(test, wording, cases)));
    }
    treated(wording, &mut all);
    all.sort_by_key(|(at_s, place, _)| (*at_s, *place));
    all.into_iter().map(|(_, _, row)| row).collect()
}

type Placed = (i64, u8, EventRow);

fn row(at_s: i64, event: String, wording: &Wording<'_>) -> EventRow {
    EventRow {
        age: wording.age_h(at_s).map_or_else(String::new, numbers::one_decimal),
        at: wording.clock.long(at_s),
        event,
        value: String::new(),
        line: String::new(),
        due: Vec::new(),
        is_of_case: false,
    }
}

fn hospital(wording: &Wording<'_>, cases: &[&Case], all: &mut Vec<Placed>) {
    let baby = wording.baby;
    if let Some(born_s) = baby.born_s {
        all.push((born_s, OPENS, row(born_s, format!("Born, {}", baby.unit), wording)));
    }
    for stay in &baby.stays {
        let from = match stay.source.as_str() {
            "birth" => "Birth stay began",
            "transfer" => "Admitted by transfer",
            _ => "Admitted",
        };
        let code = match stay.code.is_empty() {
            true => String::new(),
            false => format!(", primary diagnosis {}", stay.code),
        };
        let mut admitted = row(stay.admitted_s, format!("{from}, {}{code}", stay.unit), wording);
        admitted.is_of_case = is_of_case(cases, "stays", &stay.id);
        all.push((stay.admitted_s, OPENS, admitted));
        if let Some(at_s) = stay.discharged_s {
            let went = match stay.disposition.as_str() {
                "home" => "Went home".to_owned(),
                "transfer" => "Transferred".to_owned(),
                "died" => "Died".to_owned(),
                _ => "Discharged, where to is unknown".to_owned(),
            };
            all.push((at_s, CLOSES, row(at_s, format!("{went}, {}", stay.unit), wording)));
        }
    }
    for exchange in &baby.exchanges {
        let mut done = row(
            exchange.at_s,
            format!("Exchange transfusion, {}", exchange.unit),
            wording,
        );
        done.is_of_case = is_of_case(cases, "exchanges", &exchange.id);
        all.push((exchange.at_s, MEASURED, done));
    }
}

fn treated(wording: &Wording<'_>, all: &mut Vec<Placed>) {
    let baby = wording.baby;
    for course in &baby.courses {
        let trigger = format!("{} course {}", baby.infant_id, course.no);
        let due = |kind: &str| {
            let own = baby.rechecks.iter();
            let own = own.filter(|r| r.trigger_table == "courses" && r.trigger_id == trigger && r.trigger_kind == kind);
            own.map(|recheck| rechecked(recheck, wording)).collect::<Vec<_>>()
        };
        let episodes = match course.episodes {
            1 => String::new(),
            n => format!(", {n} episodes"),
        };
        let mut started = row(
            course.start_s,
            format!("Phototherapy started, {}{episodes}", course.unit),
            wording,
        );
        started.due = due("course_start");
        all.push((course.start_s, OPENS, started));
        if let Some(end_s) = course.end_s {
            let assumed = if course.is_stop_assumed {
                " with the stay, no stop charted"
            } else {
                ""
            };
            let mut ended = row(end_s, format!("Phototherapy ended{assumed}"), wording);
            ended.due = due("course_end");
            all.push((end_s, CLOSES, ended));
        }
    }
}

fn tested(test: &Test, wording: &Wording<'_>, cases: &[&Case]) -> EventRow {
    let baby = wording.baby;
    let what = match test.state {
        TestState::Screen => "Screen",
        TestState::Valid if test.status == "corrected" => "Serum, corrected",
        TestState::Valid => "Serum",
        TestState::Failed => "Serum attempt",
        TestState::Pending => "Serum, preliminary",
        TestState::Other => "Other specimen, not counted",
    };
    let resulted = test.resulted_s.filter(|_| test.state == TestState::Valid);
    let resulted = resulted.map_or_else(String::new, |at_s| {
        format!(", result after {}", span((at_s - test.at_s).max(0)))
    });
    let mut row = row(test.at_s, format!("{what}, {}{resulted}", test.unit), wording);
    row.value = value(test);
    row.line = test.line_micro.map_or_else(String::new, plain);
    row.is_of_case = is_of_case(cases, &test.table, &test.id)
        || cases
            .iter()
            .any(|case| test.table == "serum" && case.finding == "dangerous_miss" && case.beside == test.id);
    let referral = baby
        .referrals
        .iter()
        .find(|r| test.table == "screens" && r.screen_id == test.id);
    row.due.extend(referral.map(|referral| referred(referral, wording)));
    if test.is_due && referral.is_none() {
        row.due.push("called for a serum, within the referral above".to_owned());
    }
    if !test.left_out.is_empty() {
        row.due.push(format!(
            "could not call for a serum: {}",
            words::outcome(&test.left_out)
        ));
    }
    if test.is_above_line {
        row.due.push("above the line".to_owned());
    }
    let treatment = baby.treatment(&test.id).filter(|_| test.table == "serum");
    row.due.extend(treatment.map(treated_after));
    let rechecks = baby.rechecks.iter();
    let own = rechecks.filter(|r| r.trigger_table == test.table && r.trigger_id == test.id);
    row.due.extend(own.map(|recheck| rechecked(recheck, wording)));
    row.due
        .extend(test.rise_micro.zip(test.apart_s).map(|(micro, apart_s)| {
            let hourly = micro as f64 / 1e6 / in_hours(apart_s.max(1));
            format!(
                "fast rise, {} umol/L an hour in {}",
                numbers::one_decimal(hourly),
                span(apart_s)
            )
        }));
    row
}

fn is_of_case(cases: &[&Case], table: &str, id: &str) -> bool {
    cases.iter().any(|case| case.fact_table == table && case.fact_id == id)
}

fn referred(referral: &Referral, wording: &Wording<'_>) -> String {
    let due = referral.within_s.map_or_else(String::new, |within_s| {
        format!(
            " within {}, by {}",
            allowed(within_s),
            wording.clock.short(referral.at_s + within_s)
        )
    });
    let after = referral.answered_s.map_or_else(String::new, |at_s| {
        format!(", drawn after {}", span((at_s - referral.at_s).max(0)))
    });
    let failed = match referral.failed_attempts {
        0 => String::new(),
        n => format!(", {}", counted(n, "failed attempt", "failed attempts")),
    };
    format!(
        "called for a serum{due}: {}{after}{failed}",
        words::outcome(&referral.outcome)
    )
}

fn treated_after(treatment: &Treatment) -> String {
    let after = treatment.started_s.map_or_else(
        || ", none recorded".to_owned(),
        |at_s| {
            format!(
                ", started {} after the result",
                span((at_s - treatment.result_s).max(0))
            )
        },
    );
    format!(
        "phototherapy due within {}: {}{after}",
        allowed(treatment.in_time_s),
        words::outcome(&treatment.outcome)
    )
}

fn rechecked(recheck: &Recheck, wording: &Wording<'_>) -> String {
    let after = recheck.tested_s.map_or_else(String::new, |at_s| {
        format!(", taken after {}", span((at_s - recheck.trigger_s).max(0)))
    });
    format!(
        "recheck by {} due {}, by {}: {}{after}",
        words::accepted(&recheck.accepts),
        window(recheck),
        wording.clock.short(recheck.trigger_s + recheck.latest_s),
        words::outcome(&recheck.outcome)
    )
}
