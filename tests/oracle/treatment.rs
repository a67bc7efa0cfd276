//! Time to treatment, and treatment below the line.

use super::courses::Course;
use super::facts::Serum;
use super::figure::{Asked, Figure, Judged, Proportion};
use super::moment::Zone;
use super::rules::{Rules, hours};
use super::view::{Gone, View};

/// A serum that opens the wait for phototherapy, and what came of it.
#[derive(Clone, Debug)]
pub struct AboveLine {
    /// The serum.
    pub serum: Serum,
    /// By 6 h, by 24 h, or not; or why it is left out.
    pub verdict: Result<&'static str, &'static str>,
    /// Whether any phototherapy followed.
    pub is_treated: bool,
    /// Drawn beside lamps that were already on.
    pub is_beside_lamps: bool,
    /// Start of the course that closed it.
    pub closed_by: Option<i64>,
}

/// What happens to a baby, in the order in which things of one second are taken: serum above the
/// line, course start, serum not above it (choice 30).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Event {
    Above(usize),
    Start(usize),
    NotAbove,
}

/// "Index: a valid serum above the line at age <= 28 d, not strictly inside a course, with no open
/// index of that baby. An index is closed by a course start and by a later valid serum that is not
/// above the line. Also an index: the first valid serum above the line inside a course by 2 h after
/// its start, when that baby had no open index at the start." With them the serums left out.
pub fn above_line(view: &View, rules: &Rules) -> Vec<AboveLine> {
    let limit_s = |at: i64| hours(24 * rules.at(at).treatment_age_d);
    let is_young = |at: i64| view.age_s(at).is_none_or(|age_s| age_s <= limit_s(at));
    let is_above = |serum: &Serum| serum.value.is_some_and(|value| view.is_above_line(value, serum.at));

    let mut events: Vec<(i64, Event)> = Vec::new();
    for (number, serum) in view.valid_serums.iter().enumerate() {
        if !is_young(serum.at) || view.is_inside_course(serum.at) || view.line_micro(serum.at).is_none() {
            continue;
        }
        let event = if is_above(serum) {
            Event::Above(number)
        } else {
            Event::NotAbove
        };
        events.push((serum.at, event));
    }
    for (number, course) in view.courses.iter().enumerate() {
        events.push((course.start, Event::Start(number)));
    }
    events.sort();

    let mut found = Vec::new();
    let mut open: Option<&Serum> = None;
    for (_, event) in events {
        match event {
            Event::Above(number) => open = open.or(Some(&view.valid_serums[number])),
            Event::NotAbove => {
                if let Some(serum) = open.take() {
                    found.push(judged(view, serum, None, rules));
                }
            }
            Event::Start(number) => {
                let course = &view.courses[number];
                if let Some(serum) = open.take() {
                    let closed = judged(view, serum, None, rules);
                    found.push(AboveLine {
                        closed_by: Some(course.start),
                        ..closed
                    });
                } else if let Some(serum) = beside_lamps(view, course, rules).filter(|serum| is_young(serum.at)) {
                    found.push(judged(view, serum, Some(course.start), rules));
                }
            }
        }
    }
    found.extend(open.map(|serum| judged(view, serum, None, rules)));
    found.extend(left_out(view, rules).into_iter().filter(|one| is_young(one.serum.at)));
    found
}

/// "The first valid serum above the line inside a course by 2 h after its start."
fn beside_lamps<'a>(view: &'a View, course: &Course, rules: &Rules) -> Option<&'a Serum> {
    view.valid_serums.iter().find(|serum| {
        let is_early = serum.at <= course.start + hours(rules.at(serum.at).beside_lamps_h);
        let is_inside = course.start < serum.at && course.covers(serum.at);
        is_inside && is_early && serum.value.is_some_and(|value| view.is_above_line(value, serum.at))
    })
}

/// "A valid serum above the line more than 2 h into a course whose stop is assumed is left out as
/// `stop_unknown`"; of a baby without a line "the first event that could have been a case, once per
/// baby and month".
fn left_out(view: &View, rules: &Rules) -> Vec<AboveLine> {
    let mut found = Vec::new();
    let mut months: Vec<String> = Vec::new();
    for serum in &view.valid_serums {
        let course = view
            .courses
            .iter()
            .find(|course| course.start < serum.at && course.covers(serum.at));
        let is_above = serum.value.is_some_and(|value| view.is_above_line(value, serum.at));
        let reason = match course {
            Some(course) => {
                let is_late = serum.at > course.start + hours(rules.at(serum.at).beside_lamps_h);
                (is_above && is_late && course.stop_assumed).then_some("stop_unknown")
            }
            None => {
                let month = view.zone.month(serum.at);
                let reason = view.why_no_line(serum.at).filter(|_| !months.contains(&month));
                if reason.is_some() {
                    months.push(month);
                }
                reason
            }
        };
        if let Some(reason) = reason {
            found.push(AboveLine {
                serum: serum.clone(),
                verdict: Err(reason),
                is_treated: false,
                is_beside_lamps: false,
                closed_by: None,
            });
        }
    }
    found
}

/// "From the earliest result time of a final or corrected version of the index that was itself above
/// the line (else `collected_at`) to the first course start at or after collection; a start before the
/// result counts 0. `in_time` <= 6 h, `late` <= 24 h, `left` (died or transferred out in [collected,
/// result + 6 h)), `none`; `open`, before all others, when data end < result + 24 h."
fn judged(view: &View, serum: &Serum, lamps_on: Option<i64>, rules: &Rules) -> AboveLine {
    let version = rules.at(serum.at);
    let result = resulted_above(view, serum).unwrap_or(serum.at);
    let starts = view.courses.iter().map(|course| course.start);
    let started = lamps_on.or(starts.filter(|start| *start >= serum.at).min());
    let after_s = started.map(|started| (started - result).max(0));

    let followed_to = result + hours(version.treatment_late_h);
    let in_time_s = hours(version.treatment_in_time_h);
    let gone = view.gone(followed_to, |at| serum.at <= at && at < result + in_time_s);
    let verdict = if view.data_end < followed_to {
        Ok("open")
    } else if after_s.is_some_and(|after_s| after_s <= in_time_s) {
        Ok("in_time")
    } else if after_s.is_some_and(|after_s| after_s <= hours(version.treatment_late_h)) {
        Ok("late")
    } else {
        match gone {
            Gone::Left => Ok("left"),
            Gone::Unknown => Err("disposition_unknown"),
            Gone::No => Ok("none"),
        }
    };
    AboveLine {
        serum: serum.clone(),
        verdict,
        is_treated: started.is_some(),
        is_beside_lamps: lamps_on.is_some(),
        closed_by: None,
    }
}

/// The earliest result time of the final or corrected versions "whose own value calls for it",
/// each compared with the line at the specimen's moment.
fn resulted_above(view: &View, serum: &Serum) -> Option<i64> {
    let versions = serum
        .told
        .iter()
        .filter(|version| version.value.is_some_and(|value| view.is_above_line(value, serum.at)));
    versions.filter_map(|version| version.resulted_at).min()
}

/// The rows `time_to_treatment`, `untreated_6h`, `untreated_24h`, `never_treated` and `treated_first`.
pub fn figures(views: &[View], rules: &Rules, zone: &Zone, asked: &Asked) -> Vec<Figure> {
    let (mut in_time, mut ever, mut first) = (Vec::new(), Vec::new(), Vec::new());
    for view in views {
        for found in above_line(view, rules) {
            let serum = &found.serum;
            if zone.month(serum.at) != asked.month {
                continue;
            }
            let groups = view.groups(&serum.unit, Some(serum.at));
            let is_decided = matches!(found.verdict, Ok("in_time" | "late" | "none"));
            let told = |yes: bool, words: [&'static str; 2]| match is_decided {
                true => Ok(if yes { words[0] } else { words[1] }),
                false => found.verdict,
            };
            let push = |to: &mut Vec<Judged<&'static str>>, verdict| {
                to.push(Judged {
                    groups: groups.clone(),
                    verdict,
                });
            };
            push(&mut in_time, found.verdict);
            push(&mut ever, told(found.is_treated, ["treated", "never"]));
            push(&mut first, told(found.is_beside_lamps, ["lamps_first", "serum_first"]));
        }
    }
    let mut figures = Vec::new();
    for (measure, numerator) in [
        ("time_to_treatment", &["in_time"][..]),
        ("untreated_6h", &["late", "none"]),
        ("untreated_24h", &["none"]),
    ] {
        let proportion = Proportion {
            measure: measure.to_string(),
            outcomes: &["in_time", "late", "none", "left", "open"],
            numerator,
            denominator: &["in_time", "late", "none"],
        };
        figures.extend(proportion.figures(&in_time, asked));
    }
    let never = Proportion {
        measure: "never_treated".to_string(),
        outcomes: &["treated", "never", "left", "open"],
        numerator: &["never"],
        denominator: &["treated", "never"],
    };
    figures.extend(never.figures(&ever, asked));
    let lamps_first = Proportion {
        measure: "treated_first".to_string(),
        outcomes: &["lamps_first", "serum_first", "left", "open"],
        numerator: &["lamps_first"],
        denominator: &["lamps_first", "serum_first"],
    };
    figures.extend(lamps_first.figures(&first, asked));
    figures
}

/// "A course counts as `above` when it closes an open index, or a valid serum collected in [start -
/// 12 h, start + 2 h] was above the line at its own age. Else by the highest such serum: `near_below`
/// (by at most 34.2 umol/L), `below`, or `no_serum`."
fn below_line(view: &View, course: &Course, closed: &[i64], rules: &Rules) -> Result<&'static str, &'static str> {
    let version = rules.at(course.start);
    let to = course.start + hours(version.beside_lamps_h);
    if view.data_end < to {
        return Ok("open");
    }
    if let Some(reason) = view.why_no_line(course.start) {
        return Err(reason);
    }
    let from = course.start - hours(version.below_line_within_h);
    let drawn = view
        .valid_serums
        .iter()
        .filter(|serum| from <= serum.at && serum.at <= to);
    let mut highest: Option<(i64, i64)> = None;
    let mut is_above = closed.contains(&course.start);
    for serum in drawn {
        let Some(value) = serum.value else { continue };
        is_above = is_above || view.is_above_line(value, serum.at);
        let compared = value.compared_micro();
        if let Some(line) = view.line_micro(serum.at)
            && highest.is_none_or(|(most, _)| compared > most)
        {
            highest = Some((compared, line - compared));
        }
    }
    Ok(match highest {
        _ if is_above => "above",
        None => "no_serum",
        Some((_, gap)) if gap <= version.near_below_micro => "near_below",
        Some(_) => "below",
    })
}

/// The rows `treatment_below_line`; a baby without a line counts once in a month (choice 31).
pub fn below_line_figures(views: &[View], rules: &Rules, zone: &Zone, asked: &Asked) -> Vec<Figure> {
    let mut judged = Vec::new();
    for view in views {
        let closed: Vec<i64> = above_line(view, rules).iter().filter_map(|one| one.closed_by).collect();
        let mut is_left_out = false;
        for course in &view.courses {
            let start = course.start;
            if zone.month(start) != asked.month {
                continue;
            }
            let verdict = below_line(view, course, &closed, rules);
            if verdict.is_err() && std::mem::replace(&mut is_left_out, true) {
                continue;
            }
            judged.push(Judged {
                groups: view.groups(&course.unit, Some(start)),
                verdict,
            });
        }
    }
    let proportion = Proportion {
        measure: "treatment_below_line".to_string(),
        outcomes: &["above", "near_below", "below", "no_serum", "open"],
        numerator: &["near_below", "below", "no_serum"],
        denominator: &["above", "near_below", "below", "no_serum"],
    };
    proportion.figures(&judged, asked)
}
