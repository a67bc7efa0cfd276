//! Missed referral.

use super::facts::{Screen, Serum};
use super::figure::{Asked, Figure, Groups, Judged, Proportion, share};
use super::moment::Zone;
use super::rules::{Clause, Rules, hours};
use super::value::Bound;
use super::view::{Gone, View};

const OUTCOMES: &[&str] = &["in_time", "late", "missed", "left", "open"];
const DECIDED: &[&str] = &["in_time", "late", "missed"];

/// The first reason why a screen is not eligible: "gestation and age at or above the meter's
/// limits (NICE: >= 35+0 and > 24 h), not in [course start, course end + 24 h)"; the order is
/// that of choice 14.
pub fn why_not_eligible(view: &View, screen: &Screen, rules: &Rules) -> Option<&'static str> {
    let Some(age_s) = view.age_s(screen.at) else {
        return Some("birth_time_unknown");
    };
    let Some(gestation_days) = view.birth.gestation_days else {
        return Some("gestation_unknown");
    };
    let version = rules.at(screen.at);
    if gestation_days < version.meter_gestation_days {
        return Some("gestation_below_limit");
    }
    if view.line_micro(screen.at).is_none() {
        return Some("no_line");
    }
    if age_s <= hours(version.meter_age_above_h) {
        return Some("age_below_limit");
    }
    if view.is_under_phototherapy(screen.at, rules) {
        return Some("phototherapy");
    }
    None
}

/// The clauses that need no line: "value > 250 umol/L" (NICE manner), "value >= 256.5 umol/L (15
/// mg/dL)" (AAP manner), "reported above the meter's range".
fn calls_without_line(screen: &Screen, rules: &Rules) -> bool {
    let (value, compared) = (screen.value, screen.value.compared_micro());
    rules.at(screen.at).clauses.iter().any(|clause| match clause {
        Clause::ValueAbove(limit) => compared > *limit,
        Clause::ValueAtLeast(limit) => compared >= *limit,
        Clause::AboveRange => value.bound == Bound::Above,
        Clause::LineMinus(_) => false,
    })
}

/// "Value >= line" (NICE manner), "value >= line - 51.3 umol/L (3 mg/dL)" (AAP manner).
fn calls_by_line(view: &View, screen: &Screen, rules: &Rules) -> bool {
    let Some(line) = view.line_micro(screen.at) else {
        return false;
    };
    rules.at(screen.at).clauses.iter().any(|clause| match clause {
        Clause::LineMinus(below) => screen.value.compared_micro() >= line - below,
        _ => false,
    })
}

/// "Due if any clause of the protocol holds"; only an eligible screen is due.
pub fn is_due(view: &View, screen: &Screen, rules: &Rules) -> bool {
    why_not_eligible(view, screen, rules).is_none()
        && (calls_without_line(screen, rules) || calls_by_line(view, screen, rules))
}

/// "Screens not eligible only for age or gestation, or because taken in [course end, course end + 24
/// h), >= the line (both manners) or meeting a clause that needs no line."
pub fn is_off_limit(view: &View, screen: &Screen, rules: &Rules) -> bool {
    let reason = why_not_eligible(view, screen, rules);
    let is_at_line = view
        .line_micro(screen.at)
        .is_some_and(|line| screen.value.compared_micro() >= line);
    matches!(
        reason,
        Some("gestation_below_limit" | "age_below_limit" | "phototherapy")
    ) && (is_at_line || calls_without_line(screen, rules))
}

/// "A screen inside a course is left out as `phototherapy` in off-limit."
fn is_in_course(view: &View, screen: &Screen) -> bool {
    view.courses.iter().any(|course| course.covers(screen.at))
}

/// Which screens make an episode.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Due ones.
    Due,
    /// Off-limit ones.
    OffLimit,
}

/// One referral: its first screen.
pub struct Referral {
    /// The index screen.
    pub index: Screen,
    /// Of which screens it is.
    pub kind: Kind,
}

/// "A due screen joins the episode of the baby's previous due screen when it is < 24 h after
/// that one and no valid serum was collected in [previous - 1 h, this - 1 h); otherwise it
/// opens a new one. Screens of one second: by id." Off-limit: "episodes ... as for referrals".
pub fn referrals(view: &View, kind: Kind, rules: &Rules) -> Vec<Referral> {
    let mut referrals = Vec::new();
    let mut previous: Option<&Screen> = None;
    for screen in &view.screens {
        let is_of_kind = match kind {
            Kind::Due => is_due(view, screen, rules),
            Kind::OffLimit => is_off_limit(view, screen, rules) && !is_in_course(view, screen),
        };
        if !is_of_kind {
            continue;
        }
        let joins = previous.is_some_and(|previous| {
            let version = rules.at(screen.at);
            let from = previous.at - hours(version.paired_draw_h);
            let to = screen.at - hours(version.paired_draw_h);
            let drawn_between = view.valid_serums.iter().any(|serum| from <= serum.at && serum.at < to);
            screen.at - previous.at < hours(version.episode_gap_h) && !drawn_between
        });
        if !joins {
            referrals.push(Referral {
                index: screen.clone(),
                kind,
            });
        }
        previous = Some(screen);
    }
    referrals
}

/// "The first valid serum collected in [index - 1 h, index + 24 h]"; of one second, by id.
pub fn answering_serum<'a>(view: &'a View, index_at: i64, rules: &Rules) -> Option<&'a Serum> {
    let mut valid = view.valid_serums.iter();
    valid.find(|serum| is_about(serum, index_at, rules))
}

/// "Collected in [index - 1 h, index + 24 h]."
fn is_about(serum: &Serum, index_at: i64, rules: &Rules) -> bool {
    let version = rules.at(index_at);
    index_at - hours(version.paired_draw_h) <= serum.at && serum.at <= index_at + hours(version.referral_late_h)
}

/// "6 h; 2 h under 24 h of age, in protocols whose age limit lets such a screen in."
fn window_s(view: &View, referral: &Referral, rules: &Rules) -> i64 {
    let index_at = referral.index.at;
    let version = rules.at(index_at);
    if referral.kind == Kind::OffLimit {
        // "Window (2 h at age <= 24 h, else 6 h)."
        let limit_s = hours(version.off_limit_first_day_h);
        return match view.age_s(index_at) {
            Some(age_s) if age_s <= limit_s => hours(version.off_limit_first_day_within_h),
            _ => hours(version.off_limit_within_h),
        };
    }
    let is_first_day = view.age_s(index_at).is_some_and(|age_s| age_s < hours(24));
    match version.referral_window_first_day_h {
        Some(first_day_h) if is_first_day => hours(first_day_h),
        _ => hours(version.referral_window_h),
    }
}

/// "`open`, before all other outcomes, when data end < index + 24 h. `in_time` when collected <=
/// index + window. Otherwise `late`. None: `left` when the baby died or was transferred out in [index,
/// index + window); else `missed`." `recent_serum` stands in place of `missed` only.
pub fn outcome(view: &View, referral: &Referral, rules: &Rules) -> Result<&'static str, &'static str> {
    let index_at = referral.index.at;
    let version = rules.at(index_at);
    let closes = index_at + window_s(view, referral, rules);
    let followed_to = index_at + hours(version.referral_late_h);
    if view.data_end < followed_to {
        return Ok("open");
    }
    if let Some(serum) = answering_serum(view, index_at, rules) {
        return Ok(if serum.at <= closes { "in_time" } else { "late" });
    }
    match view.gone(followed_to, |at| index_at <= at && at < closes) {
        Gone::Left => Ok("left"),
        Gone::Unknown => Err("disposition_unknown"),
        Gone::No if has_recent_serum(view, index_at, rules) => Err("recent_serum"),
        Gone::No => Ok("missed"),
    }
}

/// "A valid serum below the line in [index - 6 h, index - 1 h)."
fn has_recent_serum(view: &View, index_at: i64, rules: &Rules) -> bool {
    let version = rules.at(index_at);
    let (from, to) = (
        index_at - hours(version.recent_serum_h),
        index_at - hours(version.paired_draw_h),
    );
    view.valid_serums.iter().any(|serum| {
        let (line, value) = (view.line_micro(serum.at), serum.value);
        let is_below = line
            .zip(value)
            .is_some_and(|(line, value)| value.compared_micro() < line);
        from <= serum.at && serum.at < to && is_below
    })
}

/// "Left out: live screens of the month, not eligible, whose value meets a clause that needs no
/// line" (choice 14).
fn screen_left_out(view: &View, screen: &Screen, rules: &Rules) -> Option<&'static str> {
    if !calls_without_line(screen, rules) {
        return None;
    }
    why_not_eligible(view, screen, rules)
}

/// "Attempts in the same interval are counted beside" (choice 15).
fn has_failed_attempt(view: &View, index_at: i64, rules: &Rules) -> bool {
    view.failed_attempts
        .iter()
        .any(|attempt| is_about(attempt, index_at, rules))
}

/// The rows `missed_referral`, `referral_in_time` (choice 16) and `referral_failed_attempts`.
pub fn figures(views: &[View], rules: &Rules, zone: &Zone, asked: &Asked) -> Vec<Figure> {
    let mut judged = Vec::new();
    let mut attempted = Vec::new();
    for view in views {
        for referral in referrals(view, Kind::Due, rules) {
            let index = &referral.index;
            if zone.month(index.at) != asked.month {
                continue;
            }
            let verdict = outcome(view, &referral, rules);
            let groups = view.groups(&index.unit, Some(index.at));
            if verdict.is_ok() && has_failed_attempt(view, index.at, rules) {
                attempted.push(groups.clone());
            }
            judged.push(Judged { groups, verdict });
        }
        for screen in &view.screens {
            if zone.month(screen.at) != asked.month {
                continue;
            }
            if let Some(reason) = screen_left_out(view, screen, rules) {
                judged.push(Judged {
                    groups: view.groups(&screen.unit, Some(screen.at)),
                    verdict: Err(reason),
                });
            }
        }
    }

    let mut figures = Vec::new();
    for (measure, numerator) in [("missed_referral", &["missed"][..]), ("referral_in_time", &["in_time"])] {
        let proportion = Proportion {
            measure: measure.to_string(),
            outcomes: OUTCOMES,
            numerator,
            denominator: DECIDED,
        };
        figures.extend(proportion.figures(&judged, asked));
    }
    figures.extend(failed_attempts(&judged, &attempted, asked));
    figures
}

/// "Numerator = episodes of the month with at least one, denominator = all episodes of the
/// month (every outcome)" (choice 15).
fn failed_attempts(judged: &[Judged<&'static str>], attempted: &[Groups], asked: &Asked) -> Vec<Figure> {
    let every_outcome = Proportion {
        measure: "referral_failed_attempts".to_string(),
        outcomes: OUTCOMES,
        numerator: &[],
        denominator: OUTCOMES,
    };
    let mut figures = every_outcome.figures(judged, asked);
    for figure in &mut figures {
        let Some(denominator) = figure.denominator else {
            continue;
        };
        let row = (figure.split.clone(), figure.group.clone());
        let of_group = attempted.iter().filter(|groups| groups.rows().contains(&row));
        let numerator = of_group.count() as u64;
        figure.numerator = Some(numerator);
        figure.value = share(numerator, denominator);
    }
    figures
}

/// Why a screen that might be an off-limit call makes none.
fn off_limit_left_out(view: &View, screen: &Screen, rules: &Rules) -> Option<&'static str> {
    if is_off_limit(view, screen, rules) {
        return is_in_course(view, screen).then_some("phototherapy");
    }
    let reason = screen_left_out(view, screen, rules)?;
    matches!(reason, "birth_time_unknown" | "gestation_unknown" | "no_line").then_some(reason)
}

/// The rows `off_limit_referral_missed` and `off_limit_referral_in_time`.
pub fn off_limit_figures(views: &[View], rules: &Rules, zone: &Zone, asked: &Asked) -> Vec<Figure> {
    let mut judged = Vec::new();
    for view in views {
        for referral in referrals(view, Kind::OffLimit, rules) {
            if zone.month(referral.index.at) == asked.month {
                judged.push(Judged {
                    groups: view.groups(&referral.index.unit, Some(referral.index.at)),
                    verdict: outcome(view, &referral, rules),
                });
            }
        }
        for screen in &view.screens {
            let reason = off_limit_left_out(view, screen, rules);
            if let Some(reason) = reason.filter(|_| zone.month(screen.at) == asked.month) {
                judged.push(Judged {
                    groups: view.groups(&screen.unit, Some(screen.at)),
                    verdict: Err(reason),
                });
            }
        }
    }
    let mut figures = Vec::new();
    for (name, numerator) in [("missed", &["missed"][..]), ("in_time", &["in_time"])] {
        let proportion = Proportion {
            measure: format!("off_limit_referral_{name}"),
            outcomes: OUTCOMES,
            numerator,
            denominator: DECIDED,
        };
        figures.extend(proportion.figures(&judged, asked));
    }
    figures
}
