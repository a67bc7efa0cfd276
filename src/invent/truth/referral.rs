//! Referral episodes: missed, in time, failed attempts, and the share drawn by hours.

use super::seen::{Seen, SeenScreen};
use super::stays::{Exit, Leaving};
use super::tally::{Group, Measure, Tally};
use super::{Outcome, reasons};
use crate::invent::World;
use crate::invent::history::Disposition;
use crate::invent::rules::Rules;

/// Counts the screens and episodes of one baby.
pub(super) fn count(seen: &Seen<'_>, world: &World, tally: &mut Tally) {
    let rules = &world.rules;
    let mut due: Vec<SeenScreen> = Vec::new();
    for screen in &seen.screens {
        match ineligible(seen, screen, rules) {
            Some(reason) => {
                if rules.referral.is_due(screen.micro_umol_l, screen.above_range, None) {
                    let group = Group::at(world, screen.at_s, screen.unit);
                    for measure in [Measure::MissedReferral, Measure::ReferralInTime] {
                        tally.leave_out(measure, group, reason);
                    }
                }
            }
            None => {
                let line = seen.line_at(screen.at_s, rules);
                if rules.referral.is_due(screen.micro_umol_l, screen.above_range, line) {
                    due.push(*screen);
                }
            }
        }
    }
    for index in indices(seen, &due, rules) {
        if matches!(count_outcome(seen, &index, world, tally), Outcome::Named(_)) {
            count_attempts(seen, &index, world, tally);
        }
        count_time(seen, &index, world, tally);
    }
}

/// Why a screen is not eligible, by the first reason that holds; none when it is.
pub(super) fn ineligible(seen: &Seen<'_>, screen: &SeenScreen, rules: &Rules) -> Option<&'static str> {
    let Some(age_s) = seen.age_s(screen.at_s) else {
        return Some(reasons::BIRTH_TIME_UNKNOWN);
    };
    let Some(gestation_d) = seen.gestation_d else {
        return Some(reasons::GESTATION_UNKNOWN);
    };
    let too_young = age_s <= rules.referral.age_above_s;
    let in_shadow = seen.in_course_shadow(screen.at_s, rules);
    if gestation_d < rules.referral.gestation_at_least_d {
        Some(reasons::GESTATION_BELOW_LIMIT)
    } else if !too_young && !in_shadow {
        None
    } else if rules.line.at(gestation_d, age_s).is_none() {
        Some(reasons::NO_LINE)
    } else if too_young {
        Some(reasons::AGE_BELOW_LIMIT)
    } else {
        Some(reasons::PHOTOTHERAPY)
    }
}

/// The first screen of each episode.
fn indices(seen: &Seen<'_>, due: &[SeenScreen], rules: &Rules) -> Vec<SeenScreen> {
    let referral = &rules.referral;
    let mut indices = Vec::new();
    let mut before: Option<&SeenScreen> = None;
    for screen in due {
        let joins = before.is_some_and(|before| {
            let paired_s = referral.paired_before_s;
            let answered = before.at_s - paired_s..screen.at_s - paired_s;
            screen.at_s < before.at_s + referral.episode_gap_s
                && !seen.serum.iter().any(|serum| answered.contains(&serum.at_s))
        });
        if !joins {
            indices.push(*screen);
        }
        before = Some(screen);
    }
    indices
}

/// When the serum was drawn that answers an index.
fn answer_s(seen: &Seen<'_>, index: &SeenScreen, rules: &Rules) -> Option<i64> {
    let interval = interval(index, rules);
    let mut drawn = seen.serum.iter().map(|serum| serum.at_s);
    drawn.find(|at_s| interval.contains(at_s))
}

fn interval(index: &SeenScreen, rules: &Rules) -> std::ops::RangeInclusive<i64> {
    let referral = &rules.referral;
    index.at_s - referral.paired_before_s..=index.at_s + referral.missed_after_s
}

fn count_outcome(seen: &Seen<'_>, index: &SeenScreen, world: &World, tally: &mut Tally) -> Outcome {
    let rules = &world.rules;
    let group = Group::at(world, index.at_s, index.unit);
    let window_s = rules.referral.window_s(seen.age_s(index.at_s).unwrap_or_default());
    let closes_s = index.at_s + window_s;
    let decided_s = index.at_s + rules.referral.missed_after_s;
    let outcome = match answer_s(seen, index, rules) {
        Some(at_s) if at_s <= closes_s => Outcome::Named("in_time"),
        Some(_) => Outcome::Named("late"),
        None => match seen.stays.leaving(index.at_s, closes_s) {
            Leaving::Left => Outcome::Named("left"),
            Leaving::Unknown => Outcome::LeftOut(reasons::DISPOSITION_UNKNOWN),
            Leaving::Stayed if seen.data_end_s < decided_s => Outcome::Named("open"),
            Leaving::Stayed => Outcome::Named("missed"),
        },
    };
    for (measure, wanted) in [
        (Measure::MissedReferral, "missed"),
        (Measure::ReferralInTime, "in_time"),
    ] {
        tally.outcome(measure, group, outcome, wanted, &["in_time", "late", "missed"]);
    }
    outcome
}

fn count_attempts(seen: &Seen<'_>, index: &SeenScreen, world: &World, tally: &mut Tally) {
    let interval = interval(index, &world.rules);
    let cell = tally.cell(Measure::FailedAttempts, Group::at(world, index.at_s, index.unit));
    cell.denominator += 1;
    if seen.failed_s.iter().any(|at_s| interval.contains(at_s)) {
        cell.numerator += 1;
    }
}

/// What ended the wait for a serum, in the order in which ties are decided.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Ended {
    Serum,
    Competing,
    TransferredOut,
    DataEnd,
    Cut,
    Unknown,
}

fn count_time(seen: &Seen<'_>, index: &SeenScreen, world: &World, tally: &mut Tally) {
    let rules = &world.rules;
    let after = |at_s: i64| (at_s - index.at_s).max(0);
    let mut ends = vec![
        (after(seen.data_end_s), Ended::DataEnd),
        (rules.referral.missed_after_s, Ended::Cut),
    ];
    if let Some(at_s) = answer_s(seen, index, rules) {
        ends.push((after(at_s), Ended::Serum));
    }
    match seen.stays.containing(index.at_s).and_then(|chain| chain.end) {
        Some((at_s, Disposition::Home)) => ends.push((after(at_s), Ended::Competing)),
        Some((at_s, Disposition::Empty)) => ends.push((after(at_s), Ended::Unknown)),
        _ => {}
    }
    if let Some(at_s) = seen.stays.first_exit(Exit::Died, index.at_s) {
        ends.push((after(at_s), Ended::Competing));
    }
    if let Some(at_s) = seen.stays.first_exit(Exit::TransferredOut, index.at_s) {
        ends.push((after(at_s), Ended::TransferredOut));
    }
    ends.sort_unstable();
    let (time_s, end) = ends[0];
    if end == Ended::Unknown {
        return;
    }
    let group = Group::at(world, index.at_s, index.unit);
    for (place, hours) in rules.referral.time_to_serum_h.iter().enumerate() {
        let limit_s = i64::from(*hours) * 3600;
        let cell = tally.cell(Measure::TimeToSerum(place), group);
        cell.denominator += 1;
        if end == Ended::Serum && time_s <= limit_s {
            cell.numerator += 1;
        }
        if end == Ended::DataEnd && time_s < limit_s {
            cell.open += 1;
        }
    }
}
