//! Recheck rules: each row sound, and no two of one rule for the same event.

use super::limits::at_most_one;
use super::refusal::Refusal;
use crate::protocol::file::{Accepts, Excuse, Recheck, RecheckRule, Risk, Trigger};

pub(super) fn check(recheck: &Recheck) -> Result<(), Refusal> {
    let keys = ["gap_rounded_to_umol_l", "gap_rounded_to_mg_dl"];
    at_most_one(
        "recheck",
        keys,
        recheck.gap_rounded_to_umol_l,
        recheck.gap_rounded_to_mg_dl,
    )?;
    if recheck.gap_rounded_to().is_some_and(|step| step.micro() < 1) {
        return Err("recheck: gaps cannot be rounded to 0".into());
    }
    for (i, rule) in recheck.rules.iter().enumerate() {
        row(rule, &recheck.rules[..i]).map_err(|why| Refusal::from(why).at_row("[[version.recheck.rules]]", i))?;
    }
    Ok(())
}

/// Checks a row against itself and those before it.
fn row(rule: &RecheckRule, before: &[RecheckRule]) -> Result<(), String> {
    let what = format!("recheck rule {} ({})", rule.rule, rule.trigger.word());
    window(rule)
        .and_then(|()| excuse(rule))
        .and_then(|()| conditions(rule))
        .map_err(|why| format!("{what}: {why}"))?;
    for other in before.iter().filter(|other| other.rule == rule.rule) {
        if other.trigger != rule.trigger {
            return Err(format!(
                "recheck rule {}: its rows have the triggers {} and {}; give each trigger a rule of its own",
                rule.rule,
                other.trigger.word(),
                rule.trigger.word()
            ));
        }
        if overlap(other, rule) {
            return Err(format!(
                "{what}: two rows hold for the same event: their gaps, ages and risk overlap"
            ));
        }
    }
    Ok(())
}

fn window(rule: &RecheckRule) -> Result<(), String> {
    if rule.latest_h < rule.earliest_h {
        return Err("it closes before it opens".into());
    }
    if rule.screens_from_h > 0.0 && rule.accepts != Accepts::SerumOrScreen {
        return Err("screens_from_h goes with accepts = \"serum_or_screen\"".into());
    }
    if rule.screens_from_h > rule.latest_h {
        return Err("screens_from_h is after the window has closed".into());
    }
    Ok(())
}

/// An excuse needs its hours, and a course that can still end.
fn excuse(rule: &RecheckRule) -> Result<(), String> {
    if (rule.excused_when == Excuse::Never) == rule.excused_within_h.is_some() {
        return Err(if rule.excused_within_h.is_some() {
            "excused_when = \"never\" takes no excused_within_h".into()
        } else {
            "it needs excused_within_h; without an excuse say excused_when = \"never\"".into()
        });
    }
    let ends = [Excuse::CourseEndsBefore, Excuse::CourseEndsBy].contains(&rule.excused_when);
    let in_course = [Trigger::CourseStart, Trigger::SerumInCourse].contains(&rule.trigger);
    match ends && !in_course {
        true => Err(format!(
            "excused_when = \"{}\" goes with the triggers course_start and serum_in_course",
            rule.excused_when.word()
        )),
        false => Ok(()),
    }
}

fn conditions(rule: &RecheckRule) -> Result<(), String> {
    if (rule.trigger == Trigger::SerumInCourse) != rule.into_course_h.is_some() {
        return Err("into_course_h goes with the trigger serum_in_course".into());
    }
    let lowest = ["gap_at_least_umol_l", "gap_at_least_mg_dl"];
    at_most_one("it", lowest, rule.gap_at_least_umol_l, rule.gap_at_least_mg_dl)?;
    let highest = ["gap_at_most_umol_l", "gap_at_most_mg_dl"];
    at_most_one("it", highest, rule.gap_at_most_umol_l, rule.gap_at_most_mg_dl)?;
    let gaps = [rule.gap_at_least(), rule.gap_at_most()];
    match (rule.trigger, gaps) {
        (Trigger::NearLine | Trigger::GoingHome, [Some(least), Some(most)]) => {
            if least.micro() > most.micro() {
                return Err(format!("its gap is at least {least} and at most {most}"));
            }
        }
        (Trigger::NearLine | Trigger::GoingHome, _) => {
            return Err(
                "it needs both a lowest and a highest gap, such as gap_at_least_umol_l and gap_at_most_umol_l".into(),
            );
        }
        (_, [None, None]) => {}
        _ => return Err("gaps go with the triggers near_line and going_home".into()),
    }
    let has_ages = [rule.age_above_h, rule.age_at_least_h, rule.age_below_h]
        .iter()
        .any(Option::is_some);
    let is_of_course = [Trigger::CourseStart, Trigger::CourseEnd].contains(&rule.trigger);
    if is_of_course && (has_ages || rule.gestation_at_least.is_some()) {
        return Err("ages and gestation do not go with the triggers course_start and course_end".into());
    }
    if rule.age_above_h.is_some() && rule.age_at_least_h.is_some() {
        return Err("it has both age_above_h and age_at_least_h; give one of them".into());
    }
    let (from_s, to_s) = rule.ages_s();
    match from_s > to_s {
        true => Err("no age is both above its lowest and below age_below_h".into()),
        false => Ok(()),
    }
}

/// Whether one event can fall under both rows. Gestations and hours into a course have a lower
/// end only, so they part no two rows.
fn overlap(one: &RecheckRule, other: &RecheckRule) -> bool {
    let meet = |a: (i64, i64), b: (i64, i64)| a.0 <= b.1 && b.0 <= a.1;
    let risks = one.risk == Risk::Any || other.risk == Risk::Any || one.risk == other.risk;
    risks && meet(one.gaps_micro(), other.gaps_micro()) && meet(one.ages_s(), other.ages_s())
}
