//! Recheck adherence: the five rules of the NICE manner.

use super::facts::{Screen, Serum};
use super::figure::{Asked, Figure, Judged, Proportion};
use super::moment::Zone;
use super::referral::{is_due, why_not_eligible};
use super::rules::{Rules, hours, micro};
use super::value::{Bound, Value};
use super::view::{Gone, View};

const OUTCOMES: &[&str] = &["on_time", "late", "early_only", "none", "excused", "left", "open"];

/// "Each trigger makes an obligation with a window."
#[derive(Clone, Debug)]
pub struct Obligation {
    /// The trigger, epoch seconds.
    pub at: i64,
    /// "The triggering test's unit; for course triggers the course's unit" (choice 22).
    pub unit: String,
    /// Earliest recheck, seconds after the trigger.
    pub earliest_s: i64,
    /// Latest recheck, seconds after the trigger.
    pub latest_s: i64,
    /// Whether a screen will do as well.
    pub accepts_screens: bool,
    /// The rule's excuse holds.
    pub is_excused: bool,
}

/// Something a rule left out, for its month and unit (choice 21).
#[derive(Clone, Debug)]
pub struct LeftOut {
    /// When, epoch seconds.
    pub at: i64,
    /// Unit of the serum.
    pub unit: String,
    /// Why.
    pub reason: &'static str,
}

/// What a rule finds in one baby.
pub type Found = (Vec<Obligation>, Vec<LeftOut>);

/// Finds the obligations of one rule.
pub type Rule = fn(&View, &Rules) -> Found;

/// The rules with their names.
pub const RULES: [(&str, Rule); 5] = [
    ("near_line", near_line),
    ("treatment_first", treatment_first),
    ("treatment_next", treatment_next),
    ("rebound", rebound),
    ("first_day", first_day),
];

/// `near_line`: "trigger a valid serum, or an eligible screen that is not due and has no valid
/// serum within 1 h either side, with no bound, 0 <= line - value <= 50, age > 24 h, gestation
/// at least 38+0, not in [course start, course end + 24 h). Latest 18 h when a recheck risk
/// factor is present, else 24 h. Accepts serum or any screen. Excused when a course starts in
/// (trigger, latest]."
pub fn near_line(view: &View, rules: &Rules) -> Found {
    let mut obligations = Vec::new();
    let mut left_out = Vec::new();
    for serum in &view.valid_serums {
        if let Some(reason) = near_line_left_out(view, serum, rules) {
            left_out.push(serum_left_out(serum, reason));
        }
        if let Some(value) = serum.value
            && is_near_line(view, value, serum.at, rules)
        {
            obligations.push(near_line_obligation(view, serum.at, &serum.unit, rules));
        }
    }
    for screen in &view.screens {
        let may_trigger = why_not_eligible(view, screen, rules).is_none()
            && !is_due(view, screen, rules)
            && !has_serum_beside(view, screen, rules);
        if may_trigger && is_near_line(view, screen.value, screen.at, rules) {
            obligations.push(near_line_obligation(view, screen.at, &screen.unit, rules));
        }
    }
    (obligations, left_out)
}

/// "No valid serum within 1 h either side"; within includes its ends.
fn has_serum_beside(view: &View, screen: &Screen, rules: &Rules) -> bool {
    view.valid_serums
        .iter()
        .any(|serum| (serum.at - screen.at).abs() <= hours(rules.paired_draw_h))
}

/// "With no bound, 0 <= line - value <= 50, age > 24 h, gestation at least 38+0, not in [course
/// start, course end + 24 h)."
fn is_near_line(view: &View, value: Value, at: i64, rules: &Rules) -> bool {
    let (Some(age_s), Some(gestation_days), Some(line)) =
        (view.age_s(at), view.birth.gestation_days, view.line_micro(at))
    else {
        return false;
    };
    let gap = line - value.number_micro;
    value.bound == Bound::Exact
        && 0 <= gap
        && gap <= micro(rules.near_line_gap_umol_l)
        && age_s > hours(rules.near_line_age_above_h)
        && gestation_days >= rules.near_line_gestation_days
        && !view.is_under_phototherapy(at, rules)
}

/// "Latest 18 h when a recheck risk factor is present, else 24 h"; excused by a "course start in
/// (trigger, trigger + latest]" (choice 23).
fn near_line_obligation(view: &View, at: i64, unit: &str, rules: &Rules) -> Obligation {
    let latest_s = hours(if has_recheck_risk(view, rules) {
        rules.near_line_latest_at_risk_h
    } else {
        rules.near_line_latest_h
    });
    Obligation {
        at,
        unit: unit.to_string(),
        earliest_s: 0,
        latest_s,
        accepts_screens: true,
        is_excused: course_starts(view, |start| at < start && start <= at + latest_s),
    }
}

/// "A recheck risk factor (sibling_phototherapy, or feeding breast)."
fn has_recheck_risk(view: &View, rules: &Rules) -> bool {
    let birth = &view.birth;
    rules.recheck_feeding.contains(&birth.feeding)
        || birth
            .risk_factors
            .iter()
            .any(|factor| rules.recheck_risk_factors.contains(factor))
}

/// A valid serum without a bound, not in [course start, course end + 24 h), that lacks birth time,
/// gestation or a line, unless what is known of it already rules out a trigger (gestation below
/// 38+0, or age not above 24 h): left out by the first of the three that is missing.
fn near_line_left_out(view: &View, serum: &Serum, rules: &Rules) -> Option<&'static str> {
    let is_exact = serum.value.is_some_and(|value| value.bound == Bound::Exact);
    if !is_exact || view.is_under_phototherapy(serum.at, rules) {
        return None;
    }
    let (age_s, gestation_days) = (view.age_s(serum.at), view.birth.gestation_days);
    let is_young = age_s.is_some_and(|age_s| age_s <= hours(rules.near_line_age_above_h));
    let is_preterm = gestation_days.is_some_and(|days| days < rules.near_line_gestation_days);
    if is_young || is_preterm {
        return None;
    }
    match (age_s, gestation_days) {
        (None, _) => Some("birth_time_unknown"),
        (_, None) => Some("gestation_unknown"),
        _ => view.line_micro(serum.at).is_none().then_some("no_line"),
    }
}

/// `treatment_first`: "trigger a course start. Serum at 4 to 6 h. Excused when the course ends
/// before 4 h."
pub fn treatment_first(view: &View, rules: &Rules) -> Found {
    let (earliest_h, latest_h) = rules.treatment_first_h;
    let mut obligations = Vec::new();
    for course in &view.courses {
        let earliest = course.start + hours(earliest_h);
        obligations.push(Obligation {
            at: course.start,
            unit: course.unit.clone(),
            earliest_s: hours(earliest_h),
            latest_s: hours(latest_h),
            accepts_screens: false,
            is_excused: course.end.is_some_and(|end| end < earliest),
        });
    }
    (obligations, Vec::new())
}

/// `treatment_next`: "trigger each valid serum collected in a course at or after its start +
/// 4 h. Next serum within 12 h. Excused when the course ends within 12 h"; "course end in
/// (trigger, trigger + 12 h]" (choice 23).
pub fn treatment_next(view: &View, rules: &Rules) -> Found {
    let latest_s = hours(rules.treatment_next_h);
    let mut obligations = Vec::new();
    for course in &view.courses {
        let from = course.start + hours(rules.treatment_first_h.0);
        for serum in &view.valid_serums {
            if serum.at < from || !course.covers(serum.at) {
                continue;
            }
            let ends = course
                .end
                .is_some_and(|end| serum.at < end && end <= serum.at + latest_s);
            obligations.push(Obligation {
                at: serum.at,
                unit: serum.unit.clone(),
                earliest_s: 0,
                latest_s,
                accepts_screens: false,
                is_excused: ends,
            });
        }
    }
    (obligations, Vec::new())
}

/// `rebound`: "trigger a course end. Serum at 12 to 18 h. Excused when a new course starts by
/// 18 h"; an assumed end "triggers no rebound".
pub fn rebound(view: &View, rules: &Rules) -> Found {
    let (earliest_h, latest_h) = rules.rebound_h;
    let latest_s = hours(latest_h);
    let mut obligations = Vec::new();
    for course in &view.courses {
        let (Some(at), false) = (course.end, course.stop_assumed) else {
            continue;
        };
        obligations.push(Obligation {
            at,
            unit: course.unit.clone(),
            earliest_s: hours(earliest_h),
            latest_s,
            accepts_screens: false,
            is_excused: course_starts(view, |start| at < start && start <= at + latest_s),
        });
    }
    (obligations, Vec::new())
}

/// `first_day`: "trigger a valid serum above the line at age < 24 h. Next serum within 6 h.
/// Excused when a course starts in [trigger, trigger + 6 h]."
pub fn first_day(view: &View, rules: &Rules) -> Found {
    let latest_s = hours(rules.first_day_latest_h);
    let mut obligations = Vec::new();
    let mut left_out = Vec::new();
    for serum in &view.valid_serums {
        let at = serum.at;
        if let Some(reason) = first_day_left_out(view, serum, rules) {
            left_out.push(serum_left_out(serum, reason));
        }
        let is_above = serum.value.is_some_and(|value| view.is_above_line(value, at));
        if is_above && is_first_day(view, at, rules) {
            obligations.push(Obligation {
                at,
                unit: serum.unit.clone(),
                earliest_s: 0,
                latest_s,
                accepts_screens: false,
                is_excused: course_starts(view, |start| at <= start && start <= at + latest_s),
            });
        }
    }
    (obligations, left_out)
}

/// "At age < 24 h."
fn is_first_day(view: &View, at: i64, rules: &Rules) -> bool {
    view.age_s(at)
        .is_some_and(|age_s| age_s < hours(rules.first_day_age_below_h))
}

/// "first_day - valid serum with birth_time_unknown, else (age < 24 h) gestation_unknown, else
/// (age < 24 h) no_line" (choice 21).
fn first_day_left_out(view: &View, serum: &Serum, rules: &Rules) -> Option<&'static str> {
    if view.age_s(serum.at).is_none() {
        return Some("birth_time_unknown");
    }
    if !is_first_day(view, serum.at, rules) {
        return None;
    }
    if view.birth.gestation_days.is_none() {
        return Some("gestation_unknown");
    }
    view.line_micro(serum.at).is_none().then_some("no_line")
}

/// "Month and unit: the serum's" (choice 21).
fn serum_left_out(serum: &Serum, reason: &'static str) -> LeftOut {
    LeftOut {
        at: serum.at,
        unit: serum.unit.clone(),
        reason,
    }
}

/// Whether any course of the baby starts at a moment for which `within` holds.
fn course_starts(view: &View, within: impl Fn(i64) -> bool) -> bool {
    view.courses.iter().any(|course| within(course.start))
}

/// "Accepted tests are live, valid serum (bounded values too) or, where the rule accepts
/// screens, any live screen, at >= trigger + 1 h" (choice 20); seconds after the trigger.
fn accepted_tests_s(view: &View, obligation: &Obligation, rules: &Rules) -> Vec<i64> {
    let mut tests: Vec<i64> = view.valid_serums.iter().map(|serum| serum.at).collect();
    if obligation.accepts_screens {
        tests.extend(view.screens.iter().map(|screen| screen.at));
    }
    tests
        .into_iter()
        .map(|at| at - obligation.at)
        .filter(|after_s| *after_s >= hours(rules.same_assessment_h))
        .collect()
}

/// "Outcome, in this order: `on_time` a test inside [earliest, latest] (tolerance widens both
/// ends); `excused`; `left` died or transferred out in [trigger, latest); `late` a test after
/// latest, by latest + 24 h; `open` when data end < latest + 24 h; `early_only` a test before
/// earliest; `none`."
pub fn outcome(view: &View, obligation: &Obligation, rules: &Rules) -> Result<&'static str, &'static str> {
    let tolerance_s = rules.tolerance_min * 60;
    let earliest_s = obligation.earliest_s - tolerance_s;
    let latest_s = obligation.latest_s + tolerance_s;
    let late_by_s = obligation.latest_s + hours(rules.recheck_late_h);
    let tests = accepted_tests_s(view, obligation, rules);

    if tests.iter().any(|s| earliest_s <= *s && *s <= latest_s) {
        return Ok("on_time");
    }
    if obligation.is_excused {
        return Ok("excused");
    }
    let latest = obligation.at + obligation.latest_s;
    match view.gone(|at| obligation.at <= at && at < latest) {
        Gone::Left => return Ok("left"),
        Gone::Unknown => return Err("disposition_unknown"),
        Gone::No => {}
    }
    if tests.iter().any(|s| latest_s < *s && *s <= late_by_s) {
        return Ok("late");
    }
    if view.data_end < obligation.at + late_by_s {
        return Ok("open");
    }
    if tests.iter().any(|s| *s < earliest_s) {
        return Ok("early_only");
    }
    Ok("none")
}

/// The rows `recheck_adherence_*`: "adherence = on_time / (on_time + late + early_only +
/// none)".
pub fn figures(views: &[View], rules: &Rules, zone: &Zone, asked: &Asked) -> Vec<Figure> {
    let mut figures = Vec::new();
    for (name, rule) in RULES {
        let mut judged = Vec::new();
        for view in views {
            let (obligations, left_out) = rule(view, rules);
            for obligation in &obligations {
                if zone.month(obligation.at) == asked.month {
                    judged.push(Judged {
                        unit: obligation.unit.clone(),
                        verdict: outcome(view, obligation, rules),
                    });
                }
            }
            for one in &left_out {
                if zone.month(one.at) == asked.month {
                    judged.push(Judged {
                        unit: one.unit.clone(),
                        verdict: Err(one.reason),
                    });
                }
            }
        }
        let proportion = Proportion {
            measure: format!("recheck_adherence_{name}"),
            outcomes: OUTCOMES,
            numerator: &["on_time"],
            denominator: &["on_time", "late", "early_only", "none"],
        };
        figures.extend(proportion.figures(&judged, asked));
    }
    figures
}
