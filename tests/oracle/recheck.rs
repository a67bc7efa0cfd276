//! Recheck adherence: the five rules of the NICE manner, and the three of the AAP manner.
//!
//! A rule is that of the version in force at its trigger; `going_home.rs` has `discharge_gap`.

use super::facts::{Screen, Serum};
use super::figure::{Asked, Figure, Judged, Proportion};
use super::going_home::discharge_gap;
use super::moment::Zone;
use super::referral::{is_due, why_not_eligible};
use super::rules::{NearLine, Rules, UnknownRisk, Version, hours};
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
    /// A screen will do as well from so many seconds after the trigger; `None`: no screen will.
    pub screens_from_s: Option<i64>,
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

/// A rule with its name, and whether a version has it.
pub type Named = (&'static str, Rule, fn(&Version) -> bool);

/// The rules.
pub const RULES: [Named; 6] = [
    ("near_line", near_line, |version| version.near_line.is_some()),
    ("treatment_first", treatment_first, |version| {
        version.treatment_first.is_some()
    }),
    ("treatment_next", treatment_next, |version| {
        version.treatment_next_h.is_some()
    }),
    ("rebound", rebound, |version| version.rebound.is_some()),
    ("first_day", first_day, |version| version.first_day_h.is_some()),
    ("discharge_gap", discharge_gap, |version| {
        version.discharge_gap.is_some()
    }),
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
        let Some(rule) = &rules.at(serum.at).near_line else {
            continue;
        };
        if let Some(reason) = near_line_left_out(view, serum, rule, rules) {
            left_out.push(serum_left_out(serum, reason));
        }
        if let Some(value) = serum.value
            && is_near_line(view, value, serum.at, rule, rules)
        {
            match near_line_latest_s(view, rule) {
                Some(latest_s) => obligations.push(near_line_obligation(view, serum.at, &serum.unit, latest_s)),
                None => left_out.push(serum_left_out(serum, "not_recorded")),
            }
        }
    }
    for screen in &view.screens {
        let Some(rule) = &rules.at(screen.at).near_line else {
            continue;
        };
        let may_trigger = why_not_eligible(view, screen, rules).is_none()
            && !is_due(view, screen, rules)
            && !has_serum_beside(view, screen, rules);
        if may_trigger && is_near_line(view, screen.value, screen.at, rule, rules) {
            match near_line_latest_s(view, rule) {
                Some(latest_s) => obligations.push(near_line_obligation(view, screen.at, &screen.unit, latest_s)),
                None => left_out.push(LeftOut {
                    at: screen.at,
                    unit: screen.unit.clone(),
                    reason: "not_recorded",
                }),
            }
        }
    }
    (obligations, left_out)
}

/// "No valid serum within 1 h either side"; within includes its ends.
fn has_serum_beside(view: &View, screen: &Screen, rules: &Rules) -> bool {
    view.valid_serums
        .iter()
        .any(|serum| (serum.at - screen.at).abs() <= hours(rules.at(screen.at).paired_draw_h))
}

/// "With no bound, 0 <= line - value <= 50, age > 24 h, gestation at least 38+0, not in [course
/// start, course end + 24 h)."
fn is_near_line(view: &View, value: Value, at: i64, rule: &NearLine, rules: &Rules) -> bool {
    let (Some(age_s), Some(gestation_days), Some(line)) =
        (view.age_s(at), view.birth.gestation_days, view.line_micro(at))
    else {
        return false;
    };
    let gap = line - value.number_micro;
    value.bound == Bound::Exact
        && 0 <= gap
        && gap <= rule.gap_micro
        && age_s > hours(rule.age_above_h)
        && gestation_days >= rule.gestation_days
        && !view.is_under_phototherapy(at, rules)
}

/// Excused by a "course start in (trigger, trigger + latest]" (choice 23).
fn near_line_obligation(view: &View, at: i64, unit: &str, latest_s: i64) -> Obligation {
    Obligation {
        at,
        unit: unit.to_string(),
        earliest_s: 0,
        latest_s,
        screens_from_s: Some(0),
        is_excused: course_starts(view, |start| at < start && start <= at + latest_s),
    }
}

/// "Latest 18 h when a recheck risk factor (sibling_phototherapy, or feeding breast) is present,
/// else 24 h"; "unknown feeding counts as the earlier recheck (18 h)"; empty risk factors are judged
/// as the protocol says, and `None` is left out.
fn near_line_latest_s(view: &View, rule: &NearLine) -> Option<i64> {
    let birth = &view.birth;
    let has_factor = birth
        .risk_factors
        .iter()
        .any(|factor| rule.risk_factors.contains(factor));
    let is_fed_at_risk = birth.feeding.is_empty() || rule.feeding.contains(&birth.feeding);
    if has_factor || is_fed_at_risk {
        return Some(hours(rule.latest_at_risk_h));
    }
    if birth.has_risk_factors_recorded() {
        return Some(hours(rule.latest_h));
    }
    match rule.unknown_risk {
        UnknownRisk::Absent => Some(hours(rule.latest_h)),
        UnknownRisk::Present => Some(hours(rule.latest_at_risk_h)),
        UnknownRisk::LeftOut => None,
    }
}

/// A valid serum without a bound, not in [course start, course end + 24 h), that lacks birth time,
/// gestation or a line, unless what is known of it already rules out a trigger (gestation below
/// 38+0, or age not above 24 h): left out by the first of the three that is missing.
fn near_line_left_out(view: &View, serum: &Serum, rule: &NearLine, rules: &Rules) -> Option<&'static str> {
    let is_exact = serum.value.is_some_and(|value| value.bound == Bound::Exact);
    if !is_exact || view.is_under_phototherapy(serum.at, rules) {
        return None;
    }
    let (age_s, gestation_days) = (view.age_s(serum.at), view.birth.gestation_days);
    let is_young = age_s.is_some_and(|age_s| age_s <= hours(rule.age_above_h));
    let is_preterm = gestation_days.is_some_and(|days| days < rule.gestation_days);
    if is_young || is_preterm {
        return None;
    }
    view.why_no_line(serum.at)
}

/// `treatment_first`: "trigger a course start. Serum at 4 to 6 h. Excused when the course ends
/// before 4 h" (NICE manner); "serum within 12 h", never excused (AAP manner, choice 38).
pub fn treatment_first(view: &View, rules: &Rules) -> Found {
    let mut obligations = Vec::new();
    for course in &view.courses {
        let Some(rule) = &rules.at(course.start).treatment_first else {
            continue;
        };
        let ends_before = |h: i64| course.end.is_some_and(|end| end < course.start + hours(h));
        obligations.push(Obligation {
            at: course.start,
            unit: course.unit.clone(),
            earliest_s: hours(rule.earliest_h),
            latest_s: hours(rule.latest_h),
            screens_from_s: None,
            is_excused: rule.excused_before_h.is_some_and(ends_before),
        });
    }
    (obligations, Vec::new())
}

/// `treatment_next`: "trigger each valid serum collected in a course at or after its start +
/// 4 h. Next serum within 12 h. Excused when the course ends within 12 h"; "course end in
/// (trigger, trigger + 12 h]" (choice 23).
pub fn treatment_next(view: &View, rules: &Rules) -> Found {
    let mut obligations = Vec::new();
    for course in &view.courses {
        for serum in &view.valid_serums {
            let Some((into_course_h, latest_h)) = rules.at(serum.at).treatment_next_h else {
                continue;
            };
            let latest_s = hours(latest_h);
            if serum.at < course.start + hours(into_course_h) || !course.covers(serum.at) {
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
                screens_from_s: None,
                is_excused: ends,
            });
        }
    }
    (obligations, Vec::new())
}

/// `rebound`: "trigger a course end. Serum at 12 to 18 h. Excused when a new course starts by
/// 18 h" (NICE manner); "serum or (24 h after the end or later) screen at 12 to 36 h" (AAP
/// manner). An assumed end's "rebound is left out as `stop_unknown`, whatever else holds".
pub fn rebound(view: &View, rules: &Rules) -> Found {
    let mut obligations = Vec::new();
    let mut left_out = Vec::new();
    for course in &view.courses {
        let Some(at) = course.end else {
            continue;
        };
        let Some(rule) = &rules.at(at).rebound else {
            continue;
        };
        if course.stop_assumed {
            left_out.push(LeftOut {
                at,
                unit: course.unit.clone(),
                reason: "stop_unknown",
            });
            continue;
        }
        let latest_s = hours(rule.latest_h);
        obligations.push(Obligation {
            at,
            unit: course.unit.clone(),
            earliest_s: hours(rule.earliest_h),
            latest_s,
            screens_from_s: rule.screens_from_h.map(hours),
            is_excused: course_starts(view, |start| at < start && start <= at + latest_s),
        });
    }
    (obligations, left_out)
}

/// `first_day`: "trigger a valid serum above the line at age < 24 h. Next serum within 6 h.
/// Excused when a course starts in [trigger, trigger + 6 h]."
pub fn first_day(view: &View, rules: &Rules) -> Found {
    let mut obligations = Vec::new();
    let mut left_out = Vec::new();
    for serum in &view.valid_serums {
        let at = serum.at;
        let Some((age_below_h, latest_h)) = rules.at(at).first_day_h else {
            continue;
        };
        if let Some(reason) = first_day_left_out(view, serum, age_below_h) {
            left_out.push(serum_left_out(serum, reason));
        }
        let latest_s = hours(latest_h);
        let is_above = serum.value.is_some_and(|value| view.is_above_line(value, at));
        if is_above && is_first_day(view, at, age_below_h) {
            obligations.push(Obligation {
                at,
                unit: serum.unit.clone(),
                earliest_s: 0,
                latest_s,
                screens_from_s: None,
                is_excused: course_starts(view, |start| at <= start && start <= at + latest_s),
            });
        }
    }
    (obligations, left_out)
}

/// "At age < 24 h."
fn is_first_day(view: &View, at: i64, age_below_h: i64) -> bool {
    view.age_s(at).is_some_and(|age_s| age_s < hours(age_below_h))
}

/// "first_day - valid serum with birth_time_unknown, else (age < 24 h) gestation_unknown, else
/// (age < 24 h) no_line" (choice 21).
fn first_day_left_out(view: &View, serum: &Serum, age_below_h: i64) -> Option<&'static str> {
    if view.age_s(serum.at).is_some() && !is_first_day(view, serum.at, age_below_h) {
        return None;
    }
    view.why_no_line(serum.at)
}

/// "Month and unit: the serum's" (choice 21).
pub fn serum_left_out(serum: &Serum, reason: &'static str) -> LeftOut {
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
/// screens, any live screen, at >= trigger + 1 h" (choice 20); screens of some rules only from
/// some hours after the trigger. Seconds after the trigger.
fn accepted_tests_s(view: &View, obligation: &Obligation, rules: &Rules) -> Vec<i64> {
    let since = |at: i64| at - obligation.at;
    let mut tests: Vec<i64> = view.valid_serums.iter().map(|serum| since(serum.at)).collect();
    if let Some(screens_from_s) = obligation.screens_from_s {
        let screens = view.screens.iter().map(|screen| since(screen.at));
        tests.extend(screens.filter(|after_s| *after_s >= screens_from_s));
    }
    tests.retain(|after_s| *after_s >= hours(rules.at(obligation.at).same_assessment_h));
    tests
}

/// "Outcome, in this order: `open` when data end < latest + 24 h; `on_time` a test inside [earliest,
/// latest] (tolerance widens both ends); `excused`; `left` died or transferred out in [trigger,
/// latest); `late` a test after latest, by latest + 24 h; `early_only` a test before earliest;
/// `none`." "With an unknown disposition in [trigger, latest): before `late`."
pub fn outcome(view: &View, obligation: &Obligation, rules: &Rules) -> Result<&'static str, &'static str> {
    let version = rules.at(obligation.at);
    let tolerance_s = version.tolerance_min * 60;
    let earliest_s = obligation.earliest_s - tolerance_s;
    let latest_s = obligation.latest_s + tolerance_s;
    let late_by_s = obligation.latest_s + hours(version.recheck_late_h);
    let tests = accepted_tests_s(view, obligation, rules);

    if view.data_end < obligation.at + late_by_s {
        return Ok("open");
    }
    if tests.iter().any(|s| earliest_s <= *s && *s <= latest_s) {
        return Ok("on_time");
    }
    if obligation.is_excused {
        return Ok("excused");
    }
    let latest = obligation.at + obligation.latest_s;
    match view.gone(obligation.at + late_by_s, |at| obligation.at <= at && at < latest) {
        Gone::Left => return Ok("left"),
        Gone::Unknown => return Err("disposition_unknown"),
        Gone::No => {}
    }
    if tests.iter().any(|s| latest_s < *s && *s <= late_by_s) {
        return Ok("late");
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
    for (name, rule, is_in) in RULES {
        if !rules.every().any(is_in) {
            continue;
        }
        let mut judged = Vec::new();
        for view in views {
            let (obligations, left_out) = rule(view, rules);
            for obligation in &obligations {
                if zone.month(obligation.at) == asked.month {
                    judged.push(Judged {
                        groups: view.groups(&obligation.unit, Some(obligation.at)),
                        verdict: outcome(view, obligation, rules),
                    });
                }
            }
            for one in &left_out {
                if zone.month(one.at) == asked.month {
                    judged.push(Judged {
                        groups: view.groups(&one.unit, Some(one.at)),
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
