//! Readmission for jaundice.

use super::facts::Born;
use super::figure::{Asked, Figure, Judged, Proportion};
use super::moment::Zone;
use super::rules::{Rules, Version, hours};
use super::stays::{Chain, Exit, birth_stay};
use super::view::View;

/// What became of a birth: open, or home and then the age in seconds at its jaundice
/// readmissions.
#[derive(Clone, Debug)]
pub enum Followed {
    /// Still in the birth stay.
    Open,
    /// Went home.
    Home {
        /// At this age.
        home_s: i64,
        /// Ages at the jaundice readmissions.
        ages_s: Vec<i64>,
        /// Age at a death in a stay after going home.
        died_s: Option<i64>,
    },
}

/// "Order of left-outs: birth_time_unknown, gestation_unknown, gestation_below_limit,
/// no_birth_stay, disposition_unknown (birth stay ended, empty disposition), left (died or
/// transferred out). Still in: open" (choice 24).
pub fn follow(view: &View, rules: &Rules) -> Result<Followed, &'static str> {
    let Born::At(born_at) = view.birth.born else {
        return Err("birth_time_unknown");
    };
    let Some(gestation_days) = view.birth.gestation_days else {
        return Err("gestation_unknown");
    };
    if gestation_days < view.version_at_birth().readmission_gestation_days {
        return Err("gestation_below_limit");
    }
    let Some(birth_chain) = birth_stay(&view.chains, view.birth.born) else {
        return Err("no_birth_stay");
    };
    let Some(home_at) = birth_chain.end_at(view.data_end, rules) else {
        return Ok(Followed::Open);
    };
    match birth_chain.disposition() {
        "" => return Err("disposition_unknown"),
        "died" | "transfer" => return Err("left"),
        _ => {}
    }
    let mut ages_s = Vec::new();
    for chain in &view.chains {
        let is_birth_chain = chain.first().id == birth_chain.first().id;
        if !is_birth_chain && is_readmission(view, chain, home_at, rules) {
            ages_s.push(chain.start() - born_at);
        }
    }
    let deaths = view
        .exits
        .iter()
        .filter(|exit| exit.how == Exit::Died && exit.at >= home_at);
    Ok(Followed::Home {
        home_s: home_at - born_at,
        ages_s,
        died_s: deaths.map(|exit| exit.at - born_at).min(),
    })
}

/// "Age at its first admission <= 168 h, 336 h, 672 h." "Home after the horizon: left out as
/// `home_after_horizon`. Died by the horizon after going home, without such a stay: left out as `died`. A
/// baby younger than the horizon at data end is `open`, readmitted or not"; `open` precedes `died`.
fn outcome(view: &View, within_s: i64, rules: &Rules) -> Result<&'static str, &'static str> {
    let followed = follow(view, rules)?;
    let followed_s = view.age_s(view.data_end).unwrap_or(0);
    match followed {
        // Still in at that age: it did not go home by it.
        Followed::Open if followed_s >= within_s => Err("home_after_horizon"),
        Followed::Open => Ok("open"),
        Followed::Home { home_s, .. } if home_s > within_s => Err("home_after_horizon"),
        Followed::Home { .. } if followed_s < within_s => Ok("open"),
        Followed::Home { ages_s, .. } if ages_s.iter().any(|s| *s <= within_s) => Ok("readmitted"),
        Followed::Home { died_s, .. } if died_s.is_some_and(|s| s <= within_s) => Err("died"),
        Followed::Home { .. } => Ok("not_readmitted"),
    }
}

/// "Later chains; one whose first stay has source transfer counts too", with a jaundice code or a course.
fn is_readmission(view: &View, chain: &Chain, home_at: i64, rules: &Rules) -> bool {
    chain.start() >= home_at && (has_jaundice_code(chain, view.version_at_birth()) || has_course(view, chain, rules))
}

/// "Primary diagnosis = first code of any stay in the chain."
fn has_jaundice_code(chain: &Chain, version: &Version) -> bool {
    let mut stays = chain.stays.iter();
    stays.any(|stay| stay.codes.first().is_some_and(|code| is_jaundice(code, version)))
}

/// "P55, P57, P58 or P59 (not P59.1, P59.2)"; "codes compare upper-case without dots, by
/// prefix" (choice 25).
fn is_jaundice(code: &str, version: &Version) -> bool {
    starts_with_any(code, &version.jaundice_codes) && !starts_with_any(code, &version.not_jaundice_codes)
}

/// Whether a code starts with any of these, in upper case and without dots.
pub fn starts_with_any(code: &str, prefixes: &[String]) -> bool {
    let plain = |code: &str| code.to_uppercase().replace('.', "");
    prefixes.iter().any(|prefix| plain(code).starts_with(&plain(prefix)))
}

/// "Course start in [chain start, chain end] (to D when still in)" (choice 25).
fn has_course(view: &View, chain: &Chain, rules: &Rules) -> bool {
    let until = chain.end_at(view.data_end, rules).unwrap_or(view.data_end);
    view.courses
        .iter()
        .any(|course| chain.start() <= course.start && course.start <= until)
}

/// "Provisional while data end < last birth of the month + horizon."
fn is_provisional(views: &[View], zone: &Zone, month: &str, within_s: i64) -> bool {
    let mut latest = None;
    let mut data_end = i64::MAX;
    for view in views {
        data_end = view.data_end;
        if let Born::At(at) = view.birth.born
            && zone.month(at) == month
        {
            latest = latest.max(Some(at));
        }
    }
    latest.is_some_and(|latest| data_end < latest + within_s)
}

/// The rows `jaundice_readmission_7d`, `_14d`, `_28d`: age at the first admission "<= 168 h,
/// 336 h, 672 h"; "births of the local month".
pub fn figures(views: &[View], rules: &Rules, zone: &Zone, asked: &Asked) -> Vec<Figure> {
    let mut figures = Vec::new();
    for (name, within_h) in [("7d", 168), ("14d", 336), ("28d", 672)] {
        let provisional = is_provisional(views, zone, asked.month, hours(within_h));
        let mut judged = Vec::new();
        for view in views {
            if view.birth_month() != asked.month {
                continue;
            }
            judged.push(Judged {
                groups: view.birth_groups(),
                verdict: outcome(view, hours(within_h), rules),
            });
        }
        let proportion = Proportion {
            measure: format!("jaundice_readmission_{name}"),
            outcomes: &["readmitted", "not_readmitted", "open"],
            numerator: &["readmitted"],
            denominator: &["readmitted", "not_readmitted"],
        };
        for mut figure in proportion.figures(&judged, asked) {
            figure.provisional = provisional && asked.has_data;
            figures.push(figure);
        }
    }
    figures
}
