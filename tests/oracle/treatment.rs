//! Time to treatment, and treatment below the line.

use super::facts::Serum;
use super::figure::{Asked, Figure, Judged, Proportion};
use super::moment::Zone;
use super::rules::{Rules, hours};
use super::view::{Gone, View};

/// A serum of a baby, and what came of it.
#[derive(Clone, Debug)]
pub struct AboveLine {
    /// The serum.
    pub serum: Serum,
    /// By 6 h, by 24 h, or not.
    pub in_time: Result<&'static str, &'static str>,
    /// Ever, or not.
    pub ever: Result<&'static str, &'static str>,
}

/// "Per baby, the first valid serum above the line at age <= 14 d at a moment that is not inside
/// a course (start < t < end)", and what came of it; without one, why the baby is left out.
pub fn above_line(view: &View, rules: &Rules) -> Option<AboveLine> {
    let is_considered = |serum: &&Serum| {
        let limit_s = hours(24 * rules.at(serum.at).treatment_age_d);
        let is_young = view.age_s(serum.at).is_none_or(|age_s| age_s <= limit_s);
        is_young && !view.is_inside_course(serum.at)
    };
    let considered: Vec<&Serum> = view.valid_serums.iter().filter(is_considered).collect();
    let is_above = |serum: &&&Serum| serum.value.is_some_and(|value| view.is_above_line(value, serum.at));
    if let Some(serum) = considered.iter().find(is_above) {
        return Some(judged(view, serum, rules));
    }
    let first = considered.first()?;
    if considered.iter().any(|serum| view.line_micro(serum.at).is_some()) {
        return None;
    }
    let reason = view.why_no_line(first.at)?;
    Some(AboveLine {
        serum: (*first).clone(),
        in_time: Err(reason),
        ever: Err(reason),
    })
}

/// "From the earliest result time of a final or corrected version that was itself above the line
/// (else `collected_at`) to the first course start at or after collection; a start before the
/// result counts 0. `in_time` <= 6 h, `late` <= 24 h, `none`, `left`, `open` as above, counted
/// from the result."
fn judged(view: &View, serum: &Serum, rules: &Rules) -> AboveLine {
    let version = rules.at(serum.at);
    let result = resulted_above(view, serum).unwrap_or(serum.at);
    let starts = view.courses.iter().map(|course| course.start);
    let started = starts.filter(|start| *start >= serum.at).min();
    let after_s = started.map(|started| (started - result).max(0));

    let late_s = hours(version.treatment_late_h);
    let in_time_s = hours(version.treatment_in_time_h);
    let undecided = || match view.gone(|at| result <= at && at < result + in_time_s) {
        Gone::Left => Some(Ok("left")),
        Gone::Unknown => Some(Err("disposition_unknown")),
        Gone::No if view.data_end < result + late_s => Some(Ok("open")),
        Gone::No => None,
    };
    let (in_time, ever) = match after_s {
        Some(after_s) if after_s <= in_time_s => (Ok("in_time"), Ok("treated")),
        Some(after_s) if after_s <= late_s => (Ok("late"), Ok("treated")),
        _ => match undecided() {
            Some(verdict) => (verdict, verdict),
            None if started.is_some() => (Ok("none"), Ok("treated")),
            None => (Ok("none"), Ok("never")),
        },
    };
    AboveLine {
        serum: serum.clone(),
        in_time,
        ever,
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

/// The rows `time_to_treatment`, `untreated_6h`, `untreated_24h` and `never_treated`.
pub fn figures(views: &[View], rules: &Rules, zone: &Zone, asked: &Asked) -> Vec<Figure> {
    let (mut in_time, mut ever) = (Vec::new(), Vec::new());
    for view in views {
        let Some(found) = above_line(view, rules) else {
            continue;
        };
        let serum = &found.serum;
        if zone.month(serum.at) != asked.month {
            continue;
        }
        let groups = view.groups(&serum.unit, Some(serum.at));
        in_time.push(Judged {
            groups: groups.clone(),
            verdict: found.in_time,
        });
        ever.push(Judged {
            groups,
            verdict: found.ever,
        });
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
    figures
}

/// The rows `treatment_below_line`: "a course counts as above when a valid serum collected in
/// [start - 12 h, start] was above the line at its own age" (choice 31).
pub fn below_line_figures(views: &[View], rules: &Rules, zone: &Zone, asked: &Asked) -> Vec<Figure> {
    let mut judged = Vec::new();
    for view in views {
        for course in &view.courses {
            let start = course.start;
            if zone.month(start) != asked.month {
                continue;
            }
            let from = start - hours(rules.at(start).below_line_within_h);
            let is_above = view.valid_serums.iter().any(|serum| {
                let is_near = from <= serum.at && serum.at <= start;
                is_near && serum.value.is_some_and(|value| view.is_above_line(value, serum.at))
            });
            let verdict = match view.why_no_line(start) {
                Some(reason) => Err(reason),
                None if is_above => Ok("above"),
                None => Ok("below"),
            };
            judged.push(Judged {
                groups: view.groups(&course.unit, Some(start)),
                verdict,
            });
        }
    }
    let proportion = Proportion {
        measure: "treatment_below_line".to_string(),
        outcomes: &["below", "above"],
        numerator: &["below"],
        denominator: &["below", "above"],
    };
    proportion.figures(&judged, asked)
}
