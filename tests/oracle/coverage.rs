//! Screening coverage.

use super::facts::Born;
use super::figure::{Asked, Figure, Judged, Proportion};
use super::moment::Zone;
use super::rules::{Rules, hours};
use super::stays::birth_stay;
use super::view::View;

/// What became of a birth: "home before 48 h of age: a TcB or valid serum from the protocol's earliest
/// age to discharge counts. Otherwise one at age in [24 h, 48 h]. `too_early` (home before 48 h, tested
/// only before that age), `after_discharge` (home before 48 h, first tested after it, by 48 h),
/// `not_tested`"; `open` comes first (choice 29). `None` when the protocol
/// at birth measures no coverage.
pub fn outcome(view: &View, rules: &Rules) -> Option<Result<&'static str, &'static str>> {
    let coverage = view.version_at_birth().coverage.as_ref()?;
    let Born::At(born) = view.birth.born else {
        return Some(Err("birth_time_unknown"));
    };
    if view.data_end < born + hours(coverage.to_h) {
        return Some(Ok("open"));
    }
    let Some(gestation_days) = view.birth.gestation_days else {
        return Some(Err("gestation_unknown"));
    };
    if gestation_days < coverage.gestation_days {
        return Some(Err("gestation_below_limit"));
    }
    // A test up to 15 min before birth counts as at birth.
    let mut tests: Vec<i64> = view.screens.iter().map(|screen| screen.at.max(born)).collect();
    tests.extend(view.valid_serums.iter().map(|serum| serum.at.max(born)));

    let (from, to) = (born + hours(coverage.from_h), born + hours(coverage.to_h));
    let stay = birth_stay(&view.chains, view.birth.born);
    let ended = stay.and_then(|stay| stay.end_at(view.data_end, rules));
    let disposition = match (stay, ended) {
        (Some(stay), Some(_)) => stay.disposition(),
        _ => "still in",
    };
    let home_at = ended.filter(|_| disposition == "home");

    let until = home_at.map_or(to, |home_at| home_at.min(to));
    if is_treated_before_any_test(view, born, until) {
        return Some(Err("phototherapy"));
    }
    if stay.is_none() {
        return Some(Err("no_birth_stay"));
    }
    let first = tests.iter().min();
    if let Some(home_at) = home_at.filter(|home_at| *home_at < to) {
        let earliest = born + hours(coverage.earliest_h);
        return Some(Ok(match first {
            _ if tests.iter().any(|at| earliest <= *at && *at <= home_at) => "tested",
            Some(first) if *first <= home_at => "too_early",
            Some(first) if *first <= to => "after_discharge",
            _ => "not_tested",
        }));
    }
    let in_window = |until: i64| tests.iter().any(|at| from <= *at && *at <= until);
    let ended_before = ended.filter(|ended| *ended < to);
    Some(match (ended_before, disposition) {
        (Some(ended), "") if in_window(ended) => Ok("tested"),
        (Some(_), "") => Err("disposition_unknown"),
        _ if in_window(to) => Ok("tested"),
        (Some(_), _) => Err("left"),
        (None, _) => Ok("not_tested"),
    })
}

/// "A course started, from birth up to going home or 48 h whichever is first, before the first
/// test of any kind."
fn is_treated_before_any_test(view: &View, born: i64, until: i64) -> bool {
    let screens = view.screens.iter().map(|screen| screen.at);
    let first_test = screens.chain(view.valid_serums.iter().map(|serum| serum.at)).min();
    view.courses.iter().any(|course| {
        let is_in_time = born <= course.start && course.start <= until;
        is_in_time && first_test.is_none_or(|first| first > course.start)
    })
}

/// The rows `screening_coverage`: month and unit are those of the birth.
pub fn figures(views: &[View], rules: &Rules, _zone: &Zone, asked: &Asked) -> Vec<Figure> {
    let of_month = views.iter().filter(|view| view.birth_month() == asked.month);
    let judged: Vec<Judged<&'static str>> = of_month
        .filter_map(|view| {
            let verdict = outcome(view, rules)?;
            let groups = view.birth_groups();
            Some(Judged { groups, verdict })
        })
        .collect();
    let proportion = Proportion {
        measure: "screening_coverage".to_string(),
        outcomes: &["tested", "too_early", "after_discharge", "not_tested", "open"],
        numerator: &["tested"],
        denominator: &["tested", "too_early", "after_discharge", "not_tested"],
    };
    proportion.figures(&judged, asked)
}
