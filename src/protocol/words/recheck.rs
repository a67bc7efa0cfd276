//! The recheck rules.

use super::phrases::{hours, list, minutes, source};
use crate::protocol::file::{Accepts, Excuse, Recheck, RecheckRule, Risk, Trigger, UnknownRisk};

/// What all rules share, then a sentence for each row.
pub(super) fn sentences(recheck: &Recheck) -> Vec<String> {
    let from = source(&recheck.source);
    let mut all = vec![
        format!(
            "Recheck: a test less than {} after the trigger belongs to the same assessment and is no recheck{from}",
            hours(recheck.accept_after_h)
        ),
        format!(
            "Recheck: a test after the window, but no more than {} after its end, is late; with none by then the recheck was not done, or only too early when there was a test before the window{from}",
            hours(recheck.late_until_h)
        ),
    ];
    if recheck.tolerance_min > 0 {
        all.push(format!(
            "Recheck: a window is widened by {} at both ends{from}",
            minutes(recheck.tolerance_min)
        ));
    }
    if let Some(step) = recheck.gap_rounded_to() {
        all.push(format!(
            "Recheck: the gap, line minus value, is rounded to {step}, half away from zero{from}"
        ));
    }
    let mut risks = Vec::new();
    if !recheck.risk_factors.is_empty() {
        risks.push(format!("has {}", list(&recheck.risk_factors, "or")));
    }
    if !recheck.risk_feeding.is_empty() {
        risks.push(format!("is fed by {}", list(&recheck.risk_feeding, "or")));
    }
    if !risks.is_empty() {
        all.push(format!(
            "Recheck: a baby is at risk when it {}{from}",
            list(&risks, "or")
        ));
    }
    all.extend(not_recorded(recheck).map(|sentence| format!("{sentence}{from}")));
    all.extend(recheck.rules.iter().map(rule));
    all
}

/// How a baby is judged whose feeding or risk factors are not recorded.
fn not_recorded(recheck: &Recheck) -> impl Iterator<Item = String> {
    let feeding = "Recheck: a baby whose feeding is not recorded counts as at risk".to_owned();
    let judged = match recheck.unknown_risk {
        UnknownRisk::Absent => "counts as not at risk",
        UnknownRisk::Present => "counts as at risk",
        UnknownRisk::LeftOut => "is left out where it matters",
    };
    let unless = match recheck.risk_feeding.is_empty() {
        true => "",
        false => ", unless its feeding puts it at risk",
    };
    let factors = format!("Recheck: a baby whose risk factors are not recorded {judged}{unless}");
    let feeding = Some(feeding).filter(|_| !recheck.risk_feeding.is_empty());
    let factors = Some(factors).filter(|_| !recheck.risk_factors.is_empty());
    feeding.into_iter().chain(factors)
}

fn rule(rule: &RecheckRule) -> String {
    format!(
        "Recheck {}: after {}{}, a {} is due {}{}{}",
        rule.rule,
        trigger(rule),
        conditions(rule),
        test(rule),
        window(rule),
        excuse(rule),
        source(&rule.source)
    )
}

fn trigger(rule: &RecheckRule) -> String {
    let gap = match (rule.gap_at_least(), rule.gap_at_most()) {
        (Some(least), Some(most)) if least.has_unit_of(most) => format!("{} to {most} below the line", least.number()),
        (Some(least), Some(most)) => format!("{least} to {most} below the line"),
        _ => "below the line".to_owned(),
    };
    match rule.trigger {
        Trigger::NearLine => format!("a serum, or a screen that could call for a serum and did not, {gap}"),
        Trigger::GoingHome => {
            format!("the last test before a baby without phototherapy goes home from the birth stay, {gap}")
        }
        Trigger::CourseStart => "the start of phototherapy".to_owned(),
        Trigger::SerumInCourse => format!(
            "each serum during phototherapy from {} after its start on",
            hours(rule.into_course_h.unwrap_or(0.0))
        ),
        Trigger::CourseEnd => "the end of phototherapy".to_owned(),
        Trigger::SerumAboveLine => "a serum above the line".to_owned(),
    }
}

fn conditions(rule: &RecheckRule) -> String {
    let mut all = Vec::new();
    match rule.risk {
        Risk::Any => {}
        Risk::Present => all.push("of a baby at risk".to_owned()),
        Risk::Absent => all.push("of a baby not at risk".to_owned()),
    }
    all.extend(
        rule.gestation_at_least
            .iter()
            .map(|weeks| format!("from {weeks} weeks of gestation")),
    );
    all.extend(
        rule.age_above_h
            .map(|above| format!("at an age above {}", hours(above))),
    );
    all.extend(
        rule.age_at_least_h
            .map(|least| format!("at {} of age or more", hours(least))),
    );
    all.extend(
        rule.age_below_h
            .map(|below| format!("at an age under {}", hours(below))),
    );
    match all.is_empty() {
        true => String::new(),
        false => format!(", {}", all.join(", ")),
    }
}

fn test(rule: &RecheckRule) -> String {
    match rule.accepts {
        Accepts::Serum => "serum".to_owned(),
        Accepts::SerumOrScreen if rule.screens_from_h > 0.0 => {
            let event = match rule.trigger {
                Trigger::CourseStart => "start",
                Trigger::CourseEnd => "end",
                _ => "test",
            };
            format!(
                "serum (or a screen, from {} after that {event} on)",
                hours(rule.screens_from_h)
            )
        }
        Accepts::SerumOrScreen => "serum or a screen".to_owned(),
    }
}

fn window(rule: &RecheckRule) -> String {
    match rule.earliest_h {
        0.0 => format!("within {}", hours(rule.latest_h)),
        earliest => format!("at {earliest} to {}", hours(rule.latest_h)),
    }
}

fn excuse(rule: &RecheckRule) -> String {
    let within = hours(rule.excused_within_h.unwrap_or(0.0));
    match rule.excused_when {
        Excuse::Never => ", without excuse".to_owned(),
        Excuse::CourseStartsAfterTrigger => format!(", unless phototherapy starts within {within} after it"),
        Excuse::CourseStartsFromTrigger => format!(", unless phototherapy starts with it or within {within} after it"),
        Excuse::CourseEndsBefore => format!(", unless phototherapy ends sooner than {within} after it"),
        Excuse::CourseEndsBy => format!(", unless phototherapy ends within {within} after it"),
    }
}
