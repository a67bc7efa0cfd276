//! A baby's hours as a picture: tests, lines, phototherapy and stays, and what was due.

use crate::charts::Format;
use crate::charts::timeline::{Bar, Bound, Curve, Kind, Row, Span, Test as Mark, Timeline};
use crate::pages::{PageError, words};
use crate::queries::review::{Case, Test, TestState, corners};

use super::wording::{Wording, in_hours};

const MICRO: f64 = 1e6;
/// Everything up to this age is drawn: two weeks.
const ALWAYS_H: f64 = 336.0;
/// Nothing later than this is drawn: four weeks and a little, the longest age of a readmission.
const LAST_H: f64 = 700.0;
/// The shortest axis.
const SHORTEST_H: f64 = 48.0;
/// Obligations that are drawn at most; the table holds all.
const MOST_SPANS: usize = 8;

/// The picture, and how many events lie beyond it. `None` without a birth time.
pub(super) fn picture(wording: &Wording<'_>, cases: &[&Case], id: &str) -> Result<Option<(String, usize)>, PageError> {
    let baby = wording.baby;
    let Some(born_s) = baby.born_s else {
        return Ok(None);
    };
    let age_h = |at_s: i64| in_hours(at_s - born_s);
    let (from_h, to_h) = hours(wording, cases, &age_h);
    let tests: Vec<&Test> = baby.tests.iter().filter(|test| is_drawn(test)).collect();
    let marks: Vec<Mark> = tests.iter().map(|test| mark(test, cases, &age_h)).collect();
    let (treatment, exchange) = corners(&baby.pieces, born_to(from_h), born_to(to_h));
    let points = |of: Vec<(i64, i64)>| -> Vec<(f64, f64)> {
        of.into_iter()
            .map(|(age_s, micro)| (in_hours(age_s), micro as f64 / MICRO))
            .collect()
    };
    let (treatment, exchange) = (points(treatment), points(exchange));
    let mut curves = Vec::new();
    for (points, label, is_strong) in [(&treatment, "line", true), (&exchange, "exchange line", false)] {
        if !points.is_empty() {
            curves.push(Curve {
                points,
                label,
                is_strong,
            });
        }
    }
    let courses: Vec<Bar> = baby
        .courses
        .iter()
        .map(|course| Bar {
            from_h: age_h(course.start_s),
            to_h: course.end_s.map(age_h),
            label: String::new(),
        })
        .collect();
    let stays: Vec<Bar> = baby
        .stays
        .iter()
        .map(|stay| Bar {
            from_h: age_h(stay.admitted_s),
            to_h: stay.discharged_s.map(age_h),
            label: stay.unit.clone(),
        })
        .collect();
    let exchanges: Vec<Bar> = baby
        .exchanges
        .iter()
        .map(|exchange| Bar {
            from_h: age_h(exchange.at_s),
            to_h: Some(age_h(exchange.at_s) + 1.0),
            label: String::new(),
        })
        .collect();
    let mut rows = Vec::new();
    for (name, bars) in [("phototherapy", &courses), ("exchange", &exchanges), ("stays", &stays)] {
        if !bars.is_empty() {
            rows.push(Row { name, bars });
        }
    }
    let spans = spans(wording, cases, &age_h);
    let beyond = beyond(wording, &age_h, to_h);
    let title = format!(
        "{}, by hours of age",
        cases
            .first()
            .map_or_else(|| "Tests".to_owned(), |case| words::finding(&case.finding))
    );
    let svg = Timeline {
        id,
        title: &title,
        description: "Screens as circles, serum as squares and attempts without a number as crosses, against the \
                      treatment and exchange line; phototherapy, stays and what was due below. The table tells the same.",
        from_h,
        to_h,
        across: "hours of age, days marked",
        up: "bilirubin, umol/L",
        tests: &marks,
        curves: &curves,
        rows: &rows,
        spans: &spans,
        format: Format::Wide,
    }
    .svg()?;
    Ok(Some((svg, beyond)))
}

fn born_to(age_h: f64) -> i64 {
    (age_h * 3600.0).round() as i64
}

/// A specimen that is no total bilirubin in serum has no place on the axis of values.
fn is_drawn(test: &Test) -> bool {
    match test.state {
        TestState::Other | TestState::Pending => false,
        TestState::Failed => true,
        TestState::Screen | TestState::Valid => test.value_micro.is_some(),
    }
}

fn mark(test: &Test, cases: &[&Case], age_h: &impl Fn(i64) -> f64) -> Mark {
    let value = test.value_micro.map_or(0.0, |micro| micro as f64 / MICRO);
    let (kind, letter) = match test.state {
        TestState::Screen => (Kind::Round, "T"),
        TestState::Valid => (Kind::Square, "S"),
        _ => (Kind::Cross, ""),
    };
    let is_of = |case: &&Case| {
        (case.fact_table == test.table && case.fact_id == test.id)
            || (case.finding == "dangerous_miss" && test.table == "serum" && case.beside == test.id)
    };
    Mark {
        at_h: age_h(test.at_s),
        value,
        kind,
        label: match kind {
            Kind::Cross => String::new(),
            _ => format!("{letter} {}{value:.0}", test.bound),
        },
        bound: match test.bound.as_str() {
            ">" => Bound::Above,
            "<" => Bound::Below,
            _ => Bound::None,
        },
        is_marked: cases.iter().any(is_of),
    }
}

/// From birth, or the earliest test, to a little after the last event that belongs here: all of
/// the first weeks, and later what a case is about.
fn hours(wording: &Wording<'_>, cases: &[&Case], age_h: &impl Fn(i64) -> f64) -> (f64, f64) {
    let baby = wording.baby;
    let mut ends: Vec<f64> = cases.iter().map(|case| age_h(case.at_s)).collect();
    let first_weeks = |at_s: &i64| age_h(*at_s) <= ALWAYS_H;
    let tests = baby.tests.iter().map(|test| test.at_s);
    let courses = baby.courses.iter().flat_map(|c| [Some(c.start_s), c.end_s]).flatten();
    let stays = baby
        .stays
        .iter()
        .flat_map(|s| [Some(s.admitted_s), s.discharged_s])
        .flatten();
    ends.extend(tests.chain(courses).chain(stays).filter(first_weeks).map(age_h));
    for case in cases.iter().filter(|case| case.finding == "readmission") {
        let stay = baby.stays.iter().find(|stay| stay.id == case.fact_id);
        ends.extend(stay.and_then(|stay| stay.discharged_s).map(age_h));
    }
    let follow_ups = baby
        .referrals
        .iter()
        .map(|r| r.answered_s.unwrap_or(r.at_s + r.follow_up_s));
    ends.extend(follow_ups.map(age_h).filter(|h| *h <= ALWAYS_H));
    let last = ends.into_iter().filter(|h| *h <= LAST_H).fold(SHORTEST_H, f64::max);
    let first = baby.tests.iter().map(|test| age_h(test.at_s)).fold(0.0, f64::min);
    (first, (last * 1.03).min(LAST_H).ceil())
}

/// What was due, first what a case is about, then by time.
fn spans(wording: &Wording<'_>, cases: &[&Case], age_h: &impl Fn(i64) -> f64) -> Vec<Span> {
    let baby = wording.baby;
    let mut all: Vec<(bool, i64, Span)> = Vec::new();
    let is_case = |table: &str, id: &str, rule: &str| {
        cases
            .iter()
            .any(|case| case.fact_table == table && case.fact_id == id && case.beside == rule)
    };
    for referral in &baby.referrals {
        let due_s = referral.at_s + referral.within_s.unwrap_or(referral.follow_up_s);
        let span = Span {
            from_h: age_h(referral.at_s),
            due_h: age_h(due_s),
            ended_h: referral.answered_s.map(|at_s| age_h(at_s.max(referral.at_s))),
            label: format!("serum: {}", words::outcome(&referral.outcome)),
            is_kept: referral.outcome == "in_time",
        };
        all.push((is_case("screens", &referral.screen_id, ""), referral.at_s, span));
    }
    for treatment in &baby.treatments {
        let span = Span {
            from_h: age_h(treatment.result_s),
            due_h: age_h(treatment.result_s + treatment.in_time_s),
            ended_h: treatment.started_s.map(|at_s| age_h(at_s.max(treatment.result_s))),
            label: format!("phototherapy: {}", words::outcome(&treatment.outcome)),
            is_kept: treatment.outcome == "in_time",
        };
        all.push((is_case("serum", &treatment.specimen_id, ""), treatment.result_s, span));
    }
    for recheck in baby.rechecks.iter().filter(|recheck| recheck.outcome != "excused") {
        let span = Span {
            from_h: age_h(recheck.trigger_s),
            due_h: age_h(recheck.trigger_s + recheck.latest_s),
            ended_h: recheck.tested_s.map(age_h),
            label: format!("{}: {}", rule(&recheck.rule), words::outcome(&recheck.outcome)),
            is_kept: recheck.outcome == "on_time",
        };
        let is_of_case = is_case(&recheck.trigger_table, &recheck.trigger_id, &recheck.rule);
        all.push((is_of_case, recheck.trigger_s, span));
    }
    // What a case is about stays when there are too many.
    all.sort_by_key(|(is_of_case, at_s, _)| (!is_of_case, *at_s));
    all.truncate(MOST_SPANS);
    all.sort_by_key(|(_, at_s, _)| *at_s);
    all.into_iter().map(|(_, _, span)| span).collect()
}

/// A recheck rule in words.
fn rule(name: &str) -> String {
    words::figure(&format!("recheck_adherence_{name}")).to_lowercase()
}

/// Tests, courses, stays and exchanges that begin after the picture ends.
fn beyond(wording: &Wording<'_>, age_h: &impl Fn(i64) -> f64, to_h: f64) -> usize {
    let baby = wording.baby;
    let tests = baby.tests.iter().map(|test| test.at_s);
    let courses = baby.courses.iter().map(|course| course.start_s);
    let stays = baby.stays.iter().map(|stay| stay.admitted_s);
    let exchanges = baby.exchanges.iter().map(|exchange| exchange.at_s);
    let all = tests.chain(courses).chain(stays).chain(exchanges);
    all.filter(|at_s| age_h(*at_s) > to_h).count()
}
