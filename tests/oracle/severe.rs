//! Severe jaundice: bands of serum, the exchange line, exchange transfusions, kernicterus codes.

use super::facts::{Born, Serum};
use super::figure::{Asked, Counted, Figure, Groups, Judged, no_data, per_thousand};
use super::moment::Zone;
use super::readmission::starts_with_any;
use super::rules::{Rules, hours};
use super::view::View;

/// One case of a kind, or why its baby is left out.
#[derive(Clone, Debug)]
pub struct Case {
    /// When, epoch seconds.
    pub at: i64,
    /// Why the baby is left out; `None` for a case.
    pub left_out: Option<&'static str>,
}

impl Case {
    fn at(at: i64) -> Self {
        Self { at, left_out: None }
    }

    fn left_out(at: i64, reason: &'static str) -> Self {
        Self {
            at,
            left_out: Some(reason),
        }
    }
}

/// The names of the bands, in the order in which the versions give them.
pub fn bands(rules: &Rules) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for band in rules.every().flat_map(|version| &version.bands) {
        if !names.contains(&band.name) {
            names.push(band.name.clone());
        }
    }
    names
}

fn is_in_band(serum: &Serum, name: &str, rules: &Rules) -> bool {
    let bands = &rules.at(serum.at).bands;
    let band = bands.iter().find(|band| band.name == name);
    match (band, serum.value) {
        (Some(band), Some(value)) => band.holds(value.compared_micro()),
        _ => false,
    }
}

/// "At age <= 28 d"; false at an unknown age.
fn is_young(view: &View, serum: &Serum, rules: &Rules) -> bool {
    let limit_s = hours(24 * rules.at(serum.at).severe_age_d);
    view.age_s(serum.at).is_some_and(|age_s| age_s <= limit_s)
}

/// "A baby's first valid serum in a band, at age <= 28 d"; of a baby known by date only the first of
/// each month that is in the band is left out.
pub fn in_band(view: &View, name: &str, rules: &Rules) -> Vec<Case> {
    let mut in_band = view.valid_serums.iter().filter(|serum| is_in_band(serum, name, rules));
    if matches!(view.birth.born, Born::On(_)) {
        return first_of_months(view, in_band.map(|serum| (serum.at, "birth_time_unknown")));
    }
    let first = in_band.find(|serum| is_young(view, serum, rules));
    first.map(|serum| Case::at(serum.at)).into_iter().collect()
}

/// "Once per baby and month."
fn first_of_months(view: &View, all: impl Iterator<Item = (i64, &'static str)>) -> Vec<Case> {
    let mut months: Vec<String> = Vec::new();
    let mut cases = Vec::new();
    for (at, reason) in all {
        let month = view.zone.month(at);
        if !months.contains(&month) {
            months.push(month);
            cases.push(Case::left_out(at, reason));
        }
    }
    cases
}

/// The valid serums that could be above or near the exchange line: at age <= 28 d, or of unknown age.
fn considered<'a>(view: &'a View, rules: &Rules) -> Vec<&'a Serum> {
    let is_considered = |serum: &&Serum| view.age_s(serum.at).is_none() || is_young(view, serum, rules);
    view.valid_serums.iter().filter(is_considered).collect()
}

fn is_above_exchange(view: &View, serum: &Serum) -> bool {
    serum
        .value
        .is_some_and(|value| view.is_above_exchange_line(value, serum.at))
}

/// Of a baby without a line the first considered serum of each month.
fn without_line(view: &View, rules: &Rules) -> Vec<Case> {
    let all = considered(view, rules).into_iter();
    first_of_months(
        view,
        all.filter_map(|serum| Some((serum.at, view.why_no_line(serum.at)?))),
    )
}

/// The first valid serum above the exchange line at age <= 28 d, and what is left out (choice 32).
pub fn above_exchange_line(view: &View, rules: &Rules) -> Vec<Case> {
    let mut cases = without_line(view, rules);
    let mut all = considered(view, rules).into_iter();
    cases.extend(
        all.find(|serum| is_above_exchange(view, serum))
            .map(|serum| Case::at(serum.at)),
    );
    cases
}

/// "A baby's first valid serum at age <= 28 d that is above the line, at or above the exchange line less
/// the margin (NICE manner: at age >= 72 h), and not above the exchange line, none having been above it
/// before."
pub fn near_exchange_line(view: &View, rules: &Rules) -> Vec<Case> {
    let mut cases = without_line(view, rules);
    let considered = considered(view, rules);
    let above = considered.iter().find(|serum| is_above_exchange(view, serum));
    let above_at = above.map(|serum| serum.at);
    let near = considered.iter().find(|serum| {
        let (version, lines) = (rules.at(serum.at), view.lines(serum.at));
        let (Some(value), Some(lines), Some(age_s)) = (serum.value, lines, view.age_s(serum.at)) else {
            return false;
        };
        age_s >= hours(version.near_exchange_from_h)
            && view.is_above_line(value, serum.at)
            && value.compared_micro() >= lines.exchange_micro - version.near_exchange_micro
            && !is_above_exchange(view, serum)
            && above_at.is_none_or(|above_at| serum.at <= above_at)
    });
    cases.extend(near.map(|serum| Case::at(serum.at)));
    cases
}

/// "Exchange: first per baby."
pub fn exchange_transfusion(view: &View) -> Vec<Case> {
    let first = view.exchanges.first();
    first.map(|exchange| Case::at(exchange.at)).into_iter().collect()
}

/// "P57: any code position, first such admission."
pub fn kernicterus_code(view: &View, rules: &Rules) -> Vec<Case> {
    let mut stays: Vec<_> = view.chains.iter().flat_map(|chain| &chain.stays).collect();
    stays.sort_by(|a, b| a.admitted.cmp(&b.admitted).then_with(|| a.id.cmp(&b.id)));
    let has_code = |codes: &[String], at: i64| {
        let wanted = &rules.at(at).kernicterus_codes;
        codes.iter().any(|code| starts_with_any(code, wanted))
    };
    let first = stays.iter().find(|stay| has_code(&stay.codes, stay.admitted));
    first.map(|stay| Case::at(stay.admitted)).into_iter().collect()
}

/// The rows of one kind: "counted in the month of that serum; unit of birth; denominator births
/// of that month with any birth date".
fn figures_of(
    name: &str,
    views: &[View],
    zone: &Zone,
    asked: &Asked,
    find: &dyn Fn(&View) -> Vec<Case>,
) -> Vec<Figure> {
    let measure = format!("severe_jaundice_{name}");
    if !asked.has_data {
        return vec![no_data(&measure, asked.month)];
    }
    let mut judged: Vec<Judged<Counted>> = Vec::new();
    for view in views {
        if view.birth_month() == asked.month {
            judged.push(Judged {
                groups: view.birth_groups(),
                verdict: Ok(Counted::Birth),
            });
        }
        for case in find(view).into_iter().filter(|case| zone.month(case.at) == asked.month) {
            let groups: Groups = view.groups(&view.birth.unit, Some(case.at));
            judged.push(Judged {
                groups,
                verdict: case.left_out.map_or(Ok(Counted::Case), Err),
            });
        }
    }
    per_thousand(&measure, &judged, asked)
}

/// The rows of the bands and of the exchange line.
pub fn serum_figures(views: &[View], rules: &Rules, zone: &Zone, asked: &Asked) -> Vec<Figure> {
    let mut figures = Vec::new();
    for name in bands(rules) {
        let find = |view: &View| in_band(view, &name, rules);
        figures.extend(figures_of(&name, views, zone, asked, &find));
    }
    let find = |view: &View| above_exchange_line(view, rules);
    figures.extend(figures_of("above_exchange_line", views, zone, asked, &find));
    let find = |view: &View| near_exchange_line(view, rules);
    figures.extend(figures_of("near_exchange_line", views, zone, asked, &find));
    figures
}

/// The rows `severe_jaundice_exchange_transfusion`.
pub fn exchange_figures(views: &[View], _rules: &Rules, zone: &Zone, asked: &Asked) -> Vec<Figure> {
    figures_of("exchange_transfusion", views, zone, asked, &exchange_transfusion)
}

/// The rows `severe_jaundice_kernicterus_code`.
pub fn code_figures(views: &[View], rules: &Rules, zone: &Zone, asked: &Asked) -> Vec<Figure> {
    let find = |view: &View| kernicterus_code(view, rules);
    figures_of("kernicterus_code", views, zone, asked, &find)
}
