//! Severe jaundice: bands of serum, the exchange line, exchange transfusions, kernicterus codes.

use std::collections::BTreeMap;

use super::facts::Serum;
use super::figure::{Asked, Figure, Groups, Judged, groups, left_out, no_data};
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

/// "A baby's first valid serum in a band, at age <= 28 d"; a baby known by date only is left out,
/// once, at the first of its serums in the band.
pub fn in_band(view: &View, name: &str, rules: &Rules) -> Option<Case> {
    let mut in_band = view.valid_serums.iter().filter(|serum| is_in_band(serum, name, rules));
    if in_band.clone().any(|serum| view.age_s(serum.at).is_none()) {
        let first = in_band.next()?;
        return Some(Case::left_out(first.at, "birth_time_unknown"));
    }
    let first = in_band.find(|serum| is_young(view, serum, rules))?;
    Some(Case::at(first.at))
}

/// The first valid serum above the exchange line at age <= 28 d; a baby without an exchange line
/// at any of its serums is left out, once, at the first of them (choice 32).
pub fn above_exchange_line(view: &View, rules: &Rules) -> Option<Case> {
    let considered: Vec<&Serum> = view
        .valid_serums
        .iter()
        .filter(|serum| view.age_s(serum.at).is_none() || is_young(view, serum, rules))
        .collect();
    let is_above = |serum: &&&Serum| {
        serum
            .value
            .is_some_and(|value| view.is_above_exchange_line(value, serum.at))
    };
    if let Some(serum) = considered.iter().find(is_above) {
        return Some(Case::at(serum.at));
    }
    let first = considered.first()?;
    if considered.iter().any(|serum| view.lines(serum.at).is_some()) {
        return None;
    }
    view.why_no_line(first.at)
        .map(|reason| Case::left_out(first.at, reason))
}

/// "Exchange: first per baby."
pub fn exchange_transfusion(view: &View) -> Option<Case> {
    view.exchanges.first().map(|exchange| Case::at(exchange.at))
}

/// "P57: any code position, first such admission."
pub fn kernicterus_code(view: &View, rules: &Rules) -> Option<Case> {
    let mut stays: Vec<_> = view.chains.iter().flat_map(|chain| &chain.stays).collect();
    stays.sort_by(|a, b| a.admitted.cmp(&b.admitted).then_with(|| a.id.cmp(&b.id)));
    let has_code = |codes: &[String], at: i64| {
        let wanted = &rules.at(at).kernicterus_codes;
        codes.iter().any(|code| starts_with_any(code, wanted))
    };
    let first = stays.iter().find(|stay| has_code(&stay.codes, stay.admitted))?;
    Some(Case::at(first.admitted))
}

/// What a row counts: a case, or a birth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Counted {
    Case,
    Birth,
}

/// The rows of one kind: "counted in the month of that serum; unit of birth; denominator births
/// of that month with any birth date".
fn figures_of(
    name: &str,
    views: &[View],
    zone: &Zone,
    asked: &Asked,
    find: &dyn Fn(&View) -> Option<Case>,
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
        if let Some(case) = find(view)
            && zone.month(case.at) == asked.month
        {
            let groups: Groups = view.groups(&view.birth.unit, Some(case.at));
            judged.push(Judged {
                groups,
                verdict: case.left_out.map_or(Ok(Counted::Case), Err),
            });
        }
    }
    let mut figures = Vec::new();
    for (split, group, things) in groups(&judged) {
        let count = |wanted: Counted| {
            let of_kind = things.iter().filter(|one| one.verdict == Ok(wanted));
            of_kind.count() as u64
        };
        let (cases, births) = (count(Counted::Case), count(Counted::Birth));
        figures.push(Figure {
            split,
            group,
            numerator: Some(cases),
            denominator: Some(births),
            value: (births > 0).then(|| 1000.0 * cases as f64 / births as f64),
            outcomes: BTreeMap::from([("cases".to_string(), cases), ("births".to_string(), births)]),
            left_out: left_out(&things),
            ..no_data(&measure, asked.month)
        });
    }
    figures
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
