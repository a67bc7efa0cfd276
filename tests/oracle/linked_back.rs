//! Link back: what was missed in the birth stay of babies who came back or became severe.

use std::collections::BTreeMap;

use super::facts::Born;
use super::outside_limits::is_outside;
use super::readmission::{Followed, follow};
use super::recheck;
use super::referral::{self, Kind};
use super::rules::{Rules, hours};
use super::severe;
use super::stays::birth_stay;
use super::treatment::above_line;
use super::value::{Bound, Value};
use super::view::View;

/// The views of all babies that the parts of a link need, each at its own data end, by baby.
pub struct Views<'a> {
    /// At that of referrals and rechecks.
    pub five: BTreeMap<String, View<'a>>,
    /// At that of readmissions; it has the birth stay as well.
    pub readmission: BTreeMap<String, View<'a>>,
    /// At that of time to treatment.
    pub treatment: BTreeMap<String, View<'a>>,
    /// At that of screens outside limits.
    pub screens: BTreeMap<String, View<'a>>,
    /// At that of severe serums.
    pub serum: BTreeMap<String, View<'a>>,
    /// At that of exchange transfusions.
    pub exchanges: BTreeMap<String, View<'a>>,
    /// At that of kernicterus codes.
    pub codes: BTreeMap<String, View<'a>>,
}

/// One case with what came before it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct LinkRow {
    /// `readmission`, a band, `above_exchange_line`, `exchange_transfusion`, `kernicterus_code`.
    pub case_kind: String,
    /// The baby.
    pub infant_id: String,
    /// When, epoch seconds.
    pub case_s: i64,
    /// Referrals never answered.
    pub missed_referrals: u64,
    /// Referrals answered late.
    pub late_referrals: u64,
    /// Rechecks near the line, after treatment or after going home that came late or never.
    pub missed_rechecks: u64,
    /// Serums above the line untreated by 6 h.
    pub untreated: u64,
    /// Screens outside limits.
    pub screens_outside_limits: u64,
    /// Went home with a referral unanswered.
    pub home_unanswered: bool,
    /// Went home within 24 h after a test within 50 umol/L below the line.
    pub home_near_line: bool,
    /// "A baby without a birth stay is told as that."
    pub has_birth_stay: bool,
}

/// One row per case: "each jaundice readmission and each severe case" (choice 40).
pub fn linked_back(views: &Views, rules: &Rules) -> Vec<LinkRow> {
    let mut rows = Vec::new();
    for (kind, infant_id, at) in cases(views, rules) {
        rows.push(link(views, kind, infant_id, at, rules));
    }
    rows
}

/// Every case: its kind, its baby, its moment.
fn cases(views: &Views, rules: &Rules) -> Vec<(String, String, i64)> {
    let mut cases = Vec::new();
    for (id, view) in &views.readmission {
        cases.extend(readmitted_at(view, rules).map(|at| ("readmission".to_string(), id.clone(), at)));
    }
    let mut add = |kind: &str, of: &BTreeMap<String, View>, find: &dyn Fn(&View) -> Vec<severe::Case>| {
        for (id, view) in of {
            for case in find(view).into_iter().filter(|case| case.left_out.is_none()) {
                cases.push((kind.to_string(), id.clone(), case.at));
            }
        }
    };
    for name in severe::bands(rules) {
        add(&name, &views.serum, &|view| severe::in_band(view, &name, rules));
    }
    add("above_exchange_line", &views.serum, &|view| {
        severe::above_exchange_line(view, rules)
    });
    add("near_exchange_line", &views.serum, &|view| {
        severe::near_exchange_line(view, rules)
    });
    add("exchange_transfusion", &views.exchanges, &severe::exchange_transfusion);
    add("kernicterus_code", &views.codes, &|view| {
        severe::kernicterus_code(view, rules)
    });
    cases
}

/// The first jaundice readmission within 28 d: "each baby counts once".
fn readmitted_at(view: &View, rules: &Rules) -> Option<i64> {
    let Ok(Followed::Home { ages_s, .. }) = follow(view, rules) else {
        return None;
    };
    let first_s = ages_s.into_iter().filter(|age_s| *age_s <= hours(672)).min()?;
    match view.birth.born {
        Born::At(born) => Some(born + first_s),
        Born::On(_) => None,
    }
}

/// "Counted before the case's moment and inside the birth stay [start, end] (to the case when it
/// has not ended)."
fn link(views: &Views, case_kind: String, infant_id: String, case_s: i64, rules: &Rules) -> LinkRow {
    let stay = views.readmission.get(&infant_id).and_then(|view| {
        let stay = birth_stay(&view.chains, view.birth.born)?;
        Some((
            stay.start(),
            stay.end_at(view.data_end, rules),
            stay.disposition().to_string(),
        ))
    });
    let went_home = stay.as_ref().filter(|(_, _, disposition)| disposition == "home");
    let home = went_home.and_then(|(_, end, _)| *end).filter(|home| *home < case_s);
    let stay = stay.map(|(start, end, _)| (start, end));
    let counts =
        |at: i64| at < case_s && stay.is_some_and(|(start, end)| start <= at && end.is_none_or(|end| at <= end));
    let mut row = LinkRow {
        case_kind,
        infant_id,
        case_s,
        missed_referrals: 0,
        late_referrals: 0,
        missed_rechecks: 0,
        untreated: 0,
        screens_outside_limits: 0,
        home_unanswered: false,
        home_near_line: false,
        has_birth_stay: stay.is_some(),
    };
    if let Some(view) = views.five.get(&row.infant_id) {
        let kinds = [Kind::Due, Kind::OffLimit];
        for referral in kinds.iter().flat_map(|kind| referral::referrals(view, *kind, rules)) {
            let at = referral.index.at;
            let answered_at = referral::answering_serum(view, at, rules).map(|serum| serum.at);
            if home.is_some_and(|home| at <= home && answered_at.is_none_or(|answered| answered > home)) {
                row.home_unanswered = true;
            }
            match referral::outcome(view, &referral, rules) {
                Ok("missed") if counts(at) => row.missed_referrals += 1,
                Ok("late") if counts(at) => row.late_referrals += 1,
                _ => {}
            }
        }
        for (name, rule, _) in recheck::RULES {
            if !matches!(name, "near_line" | "rebound" | "discharge_gap") {
                continue;
            }
            for obligation in rule(view, rules).0 {
                let is_missed = matches!(recheck::outcome(view, &obligation, rules), Ok("none" | "late"));
                if is_missed && counts(obligation.at) {
                    row.missed_rechecks += 1;
                }
            }
        }
    }
    if let Some(view) = views.treatment.get(&row.infant_id) {
        let untreated = above_line(view, rules).into_iter().filter(|found| {
            let is_untreated = matches!(found.verdict, Ok("late" | "none"));
            is_untreated && counts(found.serum.at)
        });
        row.untreated = untreated.count() as u64;
    }
    if let (Some(view), Some(home)) = (views.five.get(&row.infant_id), home) {
        let tests = view.screens.iter().map(|screen| (screen.at, screen.value));
        let serums = view
            .valid_serums
            .iter()
            .filter_map(|serum| Some((serum.at, serum.value?)));
        let is_near = |at: i64, value: Value| {
            let gap = view.line_micro(at).map(|line| line - value.number_micro);
            value.bound == Bound::Exact && gap.is_some_and(|gap| (0..=50_000_000).contains(&gap))
        };
        let mut late = tests
            .chain(serums)
            .filter(|(at, _)| home - hours(24) <= *at && *at <= home);
        row.home_near_line = late.any(|(at, value)| is_near(at, value));
    }
    if let Some(view) = views.screens.get(&row.infant_id) {
        let outside = view
            .screens
            .iter()
            .filter(|screen| counts(screen.at) && is_outside(view, screen, rules));
        row.screens_outside_limits = outside.count() as u64;
    }
    row
}
