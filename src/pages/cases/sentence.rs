//! A case in words: what was found, and a sentence with its numbers, in the past tense and of nobody's doing.

use crate::pages::words;
use crate::queries::review::{Baby, Case, Recheck, Referral, Stay, Test};

use super::wording::{Wording, allowed, counted, plain, span, value, window};

/// What was found; of a recheck also by which rule.
pub(super) fn title(case: &Case) -> String {
    let found = words::finding(&case.finding);
    match case.finding.as_str() {
        "missed_recheck" => {
            let rule = words::figure(&format!("recheck_adherence_{}", case.beside));
            format!("{found}: {}", in_sentence(&rule))
        }
        "readmission" if case.is_born_before => format!("{found}, born in an earlier month"),
        _ => found,
    }
}

/// The name of a figure within a sentence.
fn in_sentence(name: &str) -> String {
    let mut letters = name.chars();
    letters
        .next()
        .map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// The case in words.
pub(super) fn sentence(case: &Case, wording: &Wording<'_>) -> String {
    let baby = wording.baby;
    let sentence = match case.finding.as_str() {
        "missed_referral" | "late_referral" | "referral_before_death" => baby
            .referrals
            .iter()
            .find(|referral| referral.screen_id == case.fact_id)
            .and_then(|referral| referred(referral, wording)),
        "missed_recheck" => baby
            .rechecks
            .iter()
            .find(|recheck| {
                recheck.rule == case.beside
                    && recheck.trigger_table == case.fact_table
                    && recheck.trigger_id == case.fact_id
            })
            .map(|recheck| not_rechecked(recheck, wording)),
        "never_treated" | "treated_late" | "treated_after_follow_up" => untreated(wording),
        "dangerous_miss" => missed_by_meter(case, wording),
        "readmission" => baby
            .stays
            .iter()
            .find(|stay| stay.id == case.fact_id)
            .map(|stay| readmitted(case, stay, wording)),
        _ => severe(case, wording),
    };
    sentence.unwrap_or_else(|| format!("{} {}.", words::finding(&case.finding), wording.at(case.at_s)))
}

fn referred(referral: &Referral, wording: &Wording<'_>) -> Option<String> {
    let screen = wording.baby.test("screens", &referral.screen_id)?;
    let mut text = format!(
        "Screen of {} {}{}",
        value(screen),
        wording.at(screen.at_s),
        Wording::against_line(screen, screen.line_micro)
    );
    let comma = if screen.line_micro.is_some() { "," } else { "" };
    let within = referral
        .within_s
        .map_or_else(String::new, |s| format!(" within {}", allowed(s)));
    text.push_str(&format!("{comma} called for a serum{within}; "));
    let died = wording.baby.died_s().filter(|died_s| *died_s >= referral.at_s);
    text.push_str(&match (referral.answered_s, died) {
        (Some(at_s), _) => format!("the first was drawn after {}.", span((at_s - referral.at_s).max(0))),
        (None, Some(died_s)) if died_s < referral.at_s + referral.follow_up_s => {
            format!("none was drawn before the baby died {}.", wording.at(died_s))
        }
        (None, Some(died_s)) => format!(
            "none was drawn within {}. The baby died {}.",
            allowed(referral.follow_up_s),
            wording.at(died_s)
        ),
        (None, None) => format!("none was drawn within {}.", allowed(referral.follow_up_s)),
    });
    if referral.due_screens > 1 {
        text.push_str(&format!(
            " {} screens of this referral called for one.",
            referral.due_screens
        ));
    }
    if referral.failed_attempts > 0 {
        let specimens = counted(referral.failed_attempts, "specimen", "specimens");
        text.push_str(&format!(" {specimens} gave no number meanwhile."));
    }
    Some(text)
}

fn untreated(wording: &Wording<'_>) -> Option<String> {
    let treatment = wording.baby.treatment.as_ref()?;
    let serum = wording.baby.test("serum", &treatment.specimen_id)?;
    let after = match treatment.started_s {
        None => "none was recorded".to_owned(),
        Some(at_s) => {
            let late = span((at_s - treatment.result_s).max(0));
            match at_s - treatment.result_s > treatment.follow_up_s {
                true => format!(
                    "it started after {late}, later than the {} followed",
                    allowed(treatment.follow_up_s)
                ),
                false => format!("it started after {late}"),
            }
        }
    };
    let known = match treatment.result_s == treatment.collected_s {
        true => "no result time is recorded, so from its collection".to_owned(),
        false => format!("from its result {}", wording.at(treatment.result_s)),
    };
    Some(format!(
        "Serum of {} {}{}; {known} phototherapy was due within {}; {after}.",
        value(serum),
        wording.at(serum.at_s),
        Wording::against_line(serum, treatment.line_micro),
        allowed(treatment.in_time_s)
    ))
}

fn missed_by_meter(case: &Case, wording: &Wording<'_>) -> Option<String> {
    let screen = wording.baby.test("screens", &case.fact_id)?;
    let serum = wording.baby.test("serum", &case.beside)?;
    let minutes = (serum.at_s - screen.at_s) / 60;
    let when = match minutes {
        0 => "at the same time".to_owned(),
        m if m > 0 => format!("{m} min later"),
        m => format!("{} min before", -m),
    };
    Some(format!(
        "Screen of {} {}{} called for no serum; the serum of {} taken {when} was above the line of {}.",
        value(screen),
        wording.at(screen.at_s),
        match Wording::against_line(screen, screen.line_micro) {
            none if none.is_empty() => none,
            side => format!("{side},"),
        },
        value(serum),
        serum.line_micro.map_or_else(String::new, plain)
    ))
}

fn readmitted(case: &Case, stay: &Stay, wording: &Wording<'_>) -> String {
    let of_birth = wording.baby.stays.iter().filter(|s| s.is_of_birth);
    let home_s = of_birth
        .max_by_key(|s| s.discharged_s)
        .filter(|s| s.disposition == "home")
        .and_then(|s| s.discharged_s);
    let since = match home_s {
        Some(home_s) => format!(
            ", {:.1} days after going home",
            (stay.admitted_s - home_s) as f64 / 86_400.0
        ),
        None => "; when the baby went home is not recorded".to_owned(),
    };
    let code = match stay.code.is_empty() {
        true => String::new(),
        false => format!(", primary diagnosis {}", stay.code),
    };
    let treated = wording.baby.courses.iter().any(|course| {
        course.start_s >= stay.admitted_s && stay.discharged_s.is_none_or(|end_s| course.start_s <= end_s)
    });
    let phototherapy = if treated { "; phototherapy was given" } else { "" };
    let mut text = format!(
        "Readmitted for jaundice {}{since}{code}{phototherapy}.",
        wording.at_days(stay.admitted_s)
    );
    if case.is_born_before {
        text.push_str(" The baby was born in an earlier month; the figure goes by month of birth.");
    }
    text
}

fn severe(case: &Case, wording: &Wording<'_>) -> Option<String> {
    let what = words::finding(&case.finding);
    match case.fact_table.as_str() {
        "serum" => {
            let serum = wording.baby.test("serum", &case.fact_id)?;
            let band = what.strip_prefix("Serum ").unwrap_or(&what).to_owned();
            let lines = match (serum.line_micro, serum.exchange_line_micro) {
                (Some(line), Some(exchange)) => {
                    format!(" The line was {}, the exchange line {}.", plain(line), plain(exchange))
                }
                _ => String::new(),
            };
            Some(format!(
                "Serum of {} {} was the first {band}.{lines}",
                value(serum),
                wording.at(serum.at_s)
            ))
        }
        "stays" => Some(format!(
            "A stay from {} had a kernicterus code.",
            wording.clock.short(case.at_s)
        )),
        _ => Some(format!("{what} {}.", wording.at(case.at_s))),
    }
}

fn not_rechecked(recheck: &Recheck, wording: &Wording<'_>) -> String {
    let due_s = recheck.trigger_s + recheck.latest_s;
    format!(
        "{} {} was due {}, by {}; none was taken by then or in the {} after.",
        capital(&trigger(recheck, wording)),
        words::accepted(&recheck.accepts),
        window(recheck),
        wording.clock.short(due_s),
        allowed(recheck.late_until_s)
    )
}

/// What made a recheck due: `After a serum of 230 umol/L …`.
fn trigger(recheck: &Recheck, wording: &Wording<'_>) -> String {
    let baby: &Baby = wording.baby;
    let test = |test: &Test| {
        let kind = if test.table == "screens" { "screen" } else { "serum" };
        format!("a {kind} of {} {}", value(test), wording.at(test.at_s))
    };
    let tested = baby.test(&recheck.trigger_table, &recheck.trigger_id).map(test);
    let tested = tested.unwrap_or_else(|| format!("a test {}", wording.at(recheck.trigger_s)));
    let gap = recheck
        .gap_micro
        .map_or_else(String::new, |gap| format!(", {} umol/L below the line,", plain(gap)));
    match recheck.trigger_kind.as_str() {
        "course_start" => format!("after phototherapy started {}", wording.at(recheck.trigger_s)),
        "course_end" => format!("after phototherapy ended {}", wording.at(recheck.trigger_s)),
        "serum_in_course" => format!("after {tested} in phototherapy"),
        "serum_above_line" => format!("after {tested}, above the line,"),
        "going_home" => format!("after {tested}{gap} the last before going home,"),
        _ => format!("after {tested}{gap}"),
    }
}

/// With a capital first letter.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
