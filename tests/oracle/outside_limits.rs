//! Screens outside limits.

use super::facts::Screen;
use super::figure::{Asked, Figure, Groups, Judged, Proportion};
use super::moment::Zone;
use super::rules::{Rules, hours};
use super::view::View;

/// What decides a flag: raised or not, or why that is not known.
type Flag = fn(&View, &Screen, &Rules) -> Result<bool, &'static str>;

/// The flags: "a flag is left out as `not_recorded` where the empty cell decides it (two columns:
/// only when the filled one does not settle it)" (choice 35).
pub const FLAGS: [(&str, Flag); 7] = [
    ("gestation_below_limit", |view, screen, rules| {
        let limit = rules.at(screen.at).meter_gestation_days;
        let days = view.birth.gestation_days.ok_or("gestation_unknown")?;
        Ok(days < limit)
    }),
    ("age_below_limit", |view, screen, rules| {
        let limit_s = hours(rules.at(screen.at).meter_age_above_h);
        let age_s = view.age_s(screen.at).ok_or("birth_time_unknown")?;
        Ok(age_s <= limit_s)
    }),
    ("outpatient_14_days", |view, screen, rules| {
        let limit_s = hours(24 * rules.at(screen.at).outpatient_age_d);
        let is_old = view.age_s(screen.at).map(|age_s| age_s >= limit_s);
        both(is_outpatient(screen), is_old)
    }),
    ("outpatient_not_sternum", |_, screen, rules| {
        let site = &rules.at(screen.at).outpatient_body_site;
        let is_elsewhere = Some(screen.body_site != *site).filter(|_| !screen.body_site.is_empty());
        both(is_outpatient(screen), is_elsewhere)
    }),
    ("few_readings", |_, screen, rules| {
        let limit = rules.at(screen.at).readings_at_least;
        let readings = screen.readings.ok_or("not_recorded")?;
        Ok(readings < limit)
    }),
    ("typed_identity", |_, screen, _| match screen.id_entry.as_str() {
        "" => Err("not_recorded"),
        word => Ok(word == "typed"),
    }),
    ("after_phototherapy", |view, screen, rules| {
        Ok(view.is_under_phototherapy(screen.at, rules))
    }),
];

fn is_outpatient(screen: &Screen) -> Option<bool> {
    match screen.setting.as_str() {
        "" => None,
        word => Some(word == "outpatient"),
    }
}

/// Of two that must both hold, one that does not settles it.
fn both(one: Option<bool>, other: Option<bool>) -> Result<bool, &'static str> {
    match (one, other) {
        (Some(false), _) | (_, Some(false)) => Ok(false),
        (Some(true), Some(true)) => Ok(true),
        _ => Err("not_recorded"),
    }
}

/// Whether any flag is known to be raised: "the figure of any flag takes all screens".
pub fn is_outside(view: &View, screen: &Screen, rules: &Rules) -> bool {
    FLAGS.iter().any(|(_, flag)| flag(view, screen, rules) == Ok(true))
}

/// The rows `screens_outside_limits` and one for each flag: "denominator: kept screens of the
/// month".
pub fn figures(views: &[View], rules: &Rules, zone: &Zone, asked: &Asked) -> Vec<Figure> {
    let any: Flag = |view, screen, rules| Ok(is_outside(view, screen, rules));
    let mut figures = rows("screens_outside_limits", any, views, rules, zone, asked);
    for (name, flag) in FLAGS {
        let measure = format!("screens_outside_limits_{name}");
        figures.extend(rows(&measure, flag, views, rules, zone, asked));
    }
    figures
}

fn rows(measure: &str, flag: Flag, views: &[View], rules: &Rules, zone: &Zone, asked: &Asked) -> Vec<Figure> {
    let mut judged = Vec::new();
    for view in views {
        for screen in &view.screens {
            if zone.month(screen.at) != asked.month {
                continue;
            }
            let verdict = flag(view, screen, rules);
            judged.push(Judged {
                groups: Groups::unit_only(&screen.unit),
                verdict: verdict.map(|is_raised| if is_raised { "flagged" } else { "not_flagged" }),
            });
        }
    }
    let proportion = Proportion {
        measure: measure.to_string(),
        outcomes: &["flagged", "not_flagged"],
        numerator: &["flagged"],
        denominator: &["flagged", "not_flagged"],
    };
    proportion.figures(&judged, asked)
}
