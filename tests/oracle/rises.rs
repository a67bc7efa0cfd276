//! Rate of rise between two tests of one kind.

use super::figure::{Asked, Counted, Figure, Judged, no_data, per_thousand};
use super::moment::Zone;
use super::rules::{Rise, Rules, hours};
use super::value::{Bound, Value};
use super::view::View;

/// A rise that is flagged.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct RiseRow {
    /// The baby.
    pub infant_id: String,
    /// `screens` or `serum`.
    pub test_table: String,
    /// The first of the two.
    pub first_id: String,
    /// The second.
    pub second_id: String,
}

/// One test: when, its id, its value.
type Test<'a> = (i64, &'a str, Value);

/// A rise, flagged or left out, with the moment of its second test.
struct Found {
    at: i64,
    row: RiseRow,
    left_out: Option<&'static str>,
}

/// "Each test against the latest earlier one of the same kind at least 3 h before (so that frequent
/// testing hides nothing) and at most 24 h; no course starting or ending strictly between, no bounds,
/// age <= 28 d; screens not in a course or within 24 h after."
fn found(view: &View, rules: &Rules) -> Vec<Found> {
    let outside = view
        .screens
        .iter()
        .filter(|screen| !view.is_under_phototherapy(screen.at, rules));
    let screens = outside.map(|screen| (screen.at, screen.id.as_str(), screen.value));
    let serums = view
        .valid_serums
        .iter()
        .filter_map(|serum| Some((serum.at, serum.id.as_str(), serum.value?)));
    let mut all = Vec::new();
    for (test_table, tests) in [
        ("screens", screens.collect::<Vec<Test>>()),
        ("serum", serums.collect::<Vec<Test>>()),
    ] {
        // "Screens in or after lamps and bounds are removed before pairing."
        let exact: Vec<Test> = tests.into_iter().filter(|test| test.2.bound == Bound::Exact).collect();
        for second in &exact {
            let Some(rise) = &rules.at(second.0).rise else { continue };
            let mut before = exact.iter().filter(|first| {
                let apart_s = second.0 - first.0;
                hours(rise.apart_h) <= apart_s && apart_s <= hours(rise.apart_at_most_h)
            });
            let Some(first) = before.next_back() else { continue };
            let is_between = |at: i64| first.0 < at && at < second.0;
            let mut courses = view.courses.iter();
            if courses.any(|course| is_between(course.start) || course.end.is_some_and(is_between)) {
                continue;
            }
            let lowest = rise.early_micro_per_h.min(rise.later_micro_per_h);
            let (limit, left_out) = match view.age_s(second.0) {
                None => (lowest, Some("birth_time_unknown")),
                Some(age_s) if age_s > hours(24 * 28) => continue,
                Some(age_s) if age_s <= hours(rise.early_age_h) => (rise.early_micro_per_h, None),
                Some(_) => (rise.later_micro_per_h, None),
            };
            if is_fast(first, second, rise, limit, left_out.is_some()) {
                all.push(Found {
                    at: second.0,
                    row: RiseRow {
                        infant_id: view.infant_id.clone(),
                        test_table: test_table.to_string(),
                        first_id: first.1.to_string(),
                        second_id: second.1.to_string(),
                    },
                    left_out,
                });
            }
        }
    }
    all
}

/// "Rate at or above the AAP limits, above the NICE one."
fn is_fast(first: &Test, second: &Test, rise: &Rise, micro_per_h: i64, or_equal: bool) -> bool {
    let rose = i128::from(second.2.number_micro - first.2.number_micro) * 3600;
    let limit = i128::from(micro_per_h) * i128::from(second.0 - first.0);
    rose > limit || (rose == limit && (or_equal || !rise.is_above_only))
}

/// The rises that are flagged.
pub fn rises(view: &View, rules: &Rules) -> Vec<RiseRow> {
    let flagged = found(view, rules).into_iter().filter(|one| one.left_out.is_none());
    flagged.map(|one| one.row).collect()
}

/// The rows `rapid_rise`: "one count per baby, month of the second test", for each thousand births; the
/// first of several is by time, then screens before serum, then id.
pub fn figures(views: &[View], rules: &Rules, zone: &Zone, asked: &Asked) -> Vec<Figure> {
    if !asked.has_data {
        return vec![no_data("rapid_rise", asked.month)];
    }
    let mut judged: Vec<Judged<Counted>> = Vec::new();
    for view in views {
        if view.birth_month() == asked.month {
            judged.push(Judged {
                groups: view.birth_groups(),
                verdict: Ok(Counted::Birth),
            });
        }
        let mut all = found(view, rules);
        all.sort_by(|a, b| (a.at, &a.row).cmp(&(b.at, &b.row)));
        let first = all.iter().find(|one| one.left_out.is_none());
        let first = first.filter(|one| zone.month(one.at) == asked.month);
        let mut without = all.iter().filter(|one| one.left_out.is_some());
        let without = without.find(|one| zone.month(one.at) == asked.month);
        for one in first.into_iter().chain(without) {
            judged.push(Judged {
                groups: view.groups(&view.birth.unit, Some(one.at)),
                verdict: one.left_out.map_or(Ok(Counted::Case), Err),
            });
        }
    }
    per_thousand("rapid_rise", &judged, asked)
}
