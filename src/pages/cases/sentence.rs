//! A case in words: what was found, and a sentence with its numbers, in the past tense and of nobody's doing.

use crate::pages::words;
use crate::queries::review::{Baby, Case, Recheck, Referral, Stay, Test};

use super::wording::{Wording, allowed, counted, plain, span, value, window};

/// What was found; of a recheck also by which rule.
pub(super) fn title(case: &Case) -> String {
    let found = words::finding(&case.finding);
    match case.finding.as_str() {
        "missed_recheck" | "recheck_not_done" => {
            let rule = words::figure(&format!("recheck_adherence_{}", case.beside));
            format!("{found}: {}", in_sentence(&rule))
        }
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
        name if name.ends_with("_referral") => {
            let referral = baby
                .referrals
                .iter()
                .find(|referral| referral.screen_id == case.fact_id);
            match referral {
                Some(referral) => referred(referral, wording),
                None => undecided(case, wording),
            }
        }
        "missed_recheck" | "recheck_not_done" => baby
            .rechecks
            .iter()
            .find(|recheck| {
                recheck.rule == case.beside
                    && recheck.trigger_table == case.fact_table
                    && recheck.trigger_id == case.fact_id
            })
            .map(|recheck| not_rechecked(recheck, wording)),
        "never_treated"
        | "treated_late"
        | "treated_after_follow_up"
        | "treated_late_after_collection"
        | "untreated" => untreated(case, wording),
        "possibly_above_line" => possibly_above(case, wording),
        "dangerous_miss" => missed_by_meter(case, wording),
        "rapid_rise" => rose(case, wording),
        "home_at_risk" => Some(went_home(case, wording)),
        "died" => Some(format!(
            "The baby died {}. The other findings listed here are of this baby.",
            wording.at_days(case.at_s)
        )),
        "readmission" => baby
            .stays
            .iter()
            .find(|stay| stay.id == case.fact_id)
            .map(|stay| readmitted(stay, wording)),
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
        (None, None) => match referral.outcome.as_str() {
            "left" => "none was drawn before the baby was transferred out.".to_owned(),
            "disposition_unknown" => {
                "none was drawn before the stay ended; where the baby went is not recorded.".to_owned()
            }
            "recent_serum" => format!(
                "none was drawn within {}. A serum shortly before had been below the line, so no rate counts this.",
                allowed(referral.follow_up_s)
            ),
            "open" => "none is in the data so far.".to_owned(),
            _ => format!("none was drawn within {}.", allowed(referral.follow_up_s)),
        },
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

/// A screen of a baby of whom too little is known to say whether it called for a serum.
fn undecided(case: &Case, wording: &Wording<'_>) -> Option<String> {
    let screen = wording.baby.test("screens", &case.fact_id)?;
    Some(format!(
        "Screen of {} {}, with no serum after it: {}, so it is in no rate.",
        value(screen),
        wording.at(screen.at_s),
        words::outcome(&case.outcome)
    ))
}

fn untreated(case: &Case, wording: &Wording<'_>) -> Option<String> {
    let treatment = wording.baby.treatment(&case.fact_id)?;
    let serum = wording.baby.test("serum", &treatment.specimen_id)?;
    let after = match treatment.started_s {
        None => match treatment.outcome.as_str() {
            "left" => "the baby died or was transferred out, and none was recorded".to_owned(),
            "disposition_unknown" => "none was recorded, and where the baby went is not known".to_owned(),
            "stop_unknown" => "when the lamps before it went off is not recorded".to_owned(),
            "open" => "none is in the data so far".to_owned(),
            _ => "none was recorded".to_owned(),
        },
        Some(at_s) => {
            let late = span((at_s - treatment.result_s).max(0));
            match at_s - treatment.result_s > treatment.follow_up_s {
                _ if case.finding == "treated_late_after_collection" => {
                    format!("it started {} after collection", span(at_s - treatment.collected_s))
                }
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

fn possibly_above(case: &Case, wording: &Wording<'_>) -> Option<String> {
    let serum = wording.baby.test("serum", &case.fact_id)?;
    let side = Wording::against_line(serum, serum.line_micro);
    let why = match case.outcome.as_str() {
        "bound" => "the value itself is not known, so it may be above the line",
        "preliminary" => "only a preliminary result is recorded, so no rate counts it",
        "specimen" => "its specimen does not count as serum, so no rate counts it",
        "birth_time_unknown" => "the time of birth is not known, so no line can be read; at some age it would be above",
        "gestation_unknown" => "the gestation is not known, so no line can be read; at some it would be above",
        _ => "there is no line for this gestation",
    };
    Some(format!(
        "Serum of {} {}{side}: {why}.",
        value(serum),
        wording.at(serum.at_s)
    ))
}

fn rose(case: &Case, wording: &Wording<'_>) -> Option<String> {
    let test = wording.baby.test(&case.fact_table, &case.fact_id)?;
    let (rise, apart_s) = test.rise_micro.zip(test.apart_s)?;
    let kind = if test.table == "screens" { "Screen" } else { "Serum" };
    Some(format!(
        "{kind} of {} {}: a rise of {} umol/L in {}.",
        value(test),
        wording.at(test.at_s),
        plain(rise),
        span(apart_s)
    ))
}

fn went_home(case: &Case, wording: &Wording<'_>) -> String {
    let test = wording.baby.test(&case.fact_table, &case.fact_id);
    let with = match (case.outcome.as_str(), test) {
        ("referral_unanswered", Some(screen)) => format!(
            "the screen of {} {} had called for a serum, and none had been drawn",
            value(screen),
            wording.at(screen.at_s)
        ),
        (_, Some(test)) => format!(
            "the last test near the line was {} {}{}",
            value(test),
            wording.at(test.at_s),
            Wording::against_line(test, test.line_micro)
        ),
        (_, None) => "a test near the line came shortly before".to_owned(),
    };
    let after = match case.outcome.as_str() {
        "near_line" => " No test followed in the hours after.",
        _ => "",
    };
    format!("Went home {}: {with}.{after}", wording.at(case.at_s))
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

fn readmitted(stay: &Stay, wording: &Wording<'_>) -> String {
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
    let by_transfer = match stay.source.as_str() {
        "transfer" => ", by transfer from a hospital outside these records",
        _ => "",
    };
    format!(
        "Readmitted for jaundice {}{since}{by_transfer}{code}{phototherapy}.",
        wording.at_days(stay.admitted_s)
    )
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
    let due = format!(
        "{} {} was due {}, by {}",
        capital(&trigger(recheck, wording)),
        words::accepted(&recheck.accepts),
        window(recheck),
        wording.clock.short(due_s)
    );
    match recheck.outcome.as_str() {
        "early_only" => format!(
            "{due}; one was taken earlier, and none by then or in the {} after.",
            allowed(recheck.late_until_s)
        ),
        "left" => format!("{due}; none was taken before the baby died or was transferred out."),
        "disposition_unknown" => {
            format!("{due}; none was taken before the stay ended, and where the baby went is not recorded.")
        }
        "stop_unknown" => format!(
            "No stop of phototherapy is recorded. It is taken to have ended {}; when a recheck was due is not known.",
            wording.at(recheck.trigger_s)
        ),
        _ => format!(
            "{due}; none was taken by then or in the {} after.",
            allowed(recheck.late_until_s)
        ),
    }
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
