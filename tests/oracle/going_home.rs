//! `discharge_gap`: the recheck of who went home not far below the line (AAP manner).

use super::facts::{Screen, Serum};
use super::recheck::{Found, LeftOut, Obligation};
use super::rules::{DischargeGap, GapBand, Rules, hours};
use super::stays::birth_stay;
use super::value::{Bound, Value};
use super::view::View;

/// The last test before going home.
struct LastTest {
    at: i64,
    value: Value,
    unit: String,
}

/// "Trigger the last TcB or valid serum at age >= 12 h before going home from a birth stay
/// without a course; gap = (line - value) / 17.1 rounded to 0.1 mg/dL" (choice 37).
pub fn discharge_gap(view: &View, rules: &Rules) -> Found {
    let Some(test) = went_home_at(view, rules).and_then(|home_at| last_test(view, home_at)) else {
        return (Vec::new(), Vec::new());
    };
    let Some(rule) = &rules.at(test.at).discharge_gap else {
        return (Vec::new(), Vec::new());
    };
    let is_young = view
        .age_s(test.at)
        .is_some_and(|age_s| age_s < hours(rule.age_at_least_h));
    if is_young || test.value.bound != Bound::Exact {
        return (Vec::new(), Vec::new());
    }
    if let Some(reason) = view.why_no_line(test.at) {
        let left_out = LeftOut {
            at: test.at,
            unit: test.unit,
            reason,
        };
        return (Vec::new(), vec![left_out]);
    }
    let band = view
        .line_micro(test.at)
        .and_then(|line| band_of(rule, line - test.value.number_micro));
    let obligation = band.map(|band| Obligation {
        at: test.at,
        unit: test.unit,
        earliest_s: 0,
        latest_s: hours(band.latest_h),
        screens_from_s: band.accepts_screens.then_some(0),
        is_excused: false,
    });
    (obligation.into_iter().collect(), Vec::new())
}

/// When the baby went home from its birth stay, if it did and no course had started by then.
fn went_home_at(view: &View, rules: &Rules) -> Option<i64> {
    let stay = birth_stay(&view.chains, view.birth.born)?;
    let home_at = stay.end_at(view.data_end, rules)?;
    let has_course = view.courses.iter().any(|course| course.start <= home_at);
    (stay.disposition() == "home" && !has_course).then_some(home_at)
}

/// The last screen or valid serum at or before going home; of one second serum before screen,
/// then the larger id.
fn last_test(view: &View, home_at: i64) -> Option<LastTest> {
    let by_then = |at: &i64| *at <= home_at;
    let serum: Option<&Serum> = view.valid_serums.iter().rfind(|serum| by_then(&serum.at));
    let screen: Option<&Screen> = view.screens.iter().rfind(|screen| by_then(&screen.at));
    let of_serum = serum.and_then(|serum| {
        Some(LastTest {
            at: serum.at,
            value: serum.value?,
            unit: serum.unit.clone(),
        })
    });
    let of_screen = screen.map(|screen| LastTest {
        at: screen.at,
        value: screen.value,
        unit: screen.unit.clone(),
    });
    match (of_serum, of_screen) {
        (Some(serum), Some(screen)) if screen.at > serum.at => Some(screen),
        (Some(serum), _) => Some(serum),
        (None, screen) => screen,
    }
}

/// The band of a gap: "rounded to 0.1 mg/dL", half away from zero.
fn band_of(rule: &DischargeGap, gap_micro: i64) -> Option<&GapBand> {
    let step = rule.rounded_to_micro;
    let steps = (2 * gap_micro.abs() + step) / (2 * step) * gap_micro.signum();
    let mut bands = rule.bands.iter();
    bands.find(|band| band.at_least_steps <= steps && steps <= band.at_most_steps)
}
