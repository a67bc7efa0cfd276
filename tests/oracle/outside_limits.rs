//! Screens outside limits.

use super::facts::Screen;
use super::figure::{Asked, Figure, Groups, Judged, Proportion};
use super::moment::Zone;
use super::rules::{Rules, hours};
use super::view::View;

/// The flags with what raises each: "blank raises no flag" (choice 35).
pub const FLAGS: [(&str, Flag); 6] = [
    ("gestation_below_limit", |view, screen, rules| {
        let limit = rules.at(screen.at).meter_gestation_days;
        view.birth.gestation_days.is_some_and(|days| days < limit)
    }),
    ("age_below_limit", |view, screen, rules| {
        let limit_s = hours(rules.at(screen.at).meter_age_above_h);
        view.age_s(screen.at).is_some_and(|age_s| age_s <= limit_s)
    }),
    ("outpatient_14_days", |view, screen, rules| {
        let limit_s = hours(24 * rules.at(screen.at).outpatient_age_d);
        screen.setting == "outpatient" && view.age_s(screen.at).is_some_and(|age_s| age_s >= limit_s)
    }),
    ("outpatient_not_sternum", |_, screen, rules| {
        let site = &rules.at(screen.at).outpatient_body_site;
        screen.setting == "outpatient" && !screen.body_site.is_empty() && screen.body_site != *site
    }),
    ("few_readings", |_, screen, rules| {
        let limit = rules.at(screen.at).readings_at_least;
        screen.readings.is_some_and(|readings| readings < limit)
    }),
    ("typed_identity", |_, screen, _| screen.id_entry == "typed"),
];

type Flag = fn(&View, &Screen, &Rules) -> bool;

/// Whether any flag is raised.
pub fn is_outside(view: &View, screen: &Screen, rules: &Rules) -> bool {
    FLAGS.iter().any(|(_, raises)| raises(view, screen, rules))
}

/// The rows `screens_outside_limits` and one for each flag: "denominator: kept screens of the
/// month".
pub fn figures(views: &[View], rules: &Rules, zone: &Zone, asked: &Asked) -> Vec<Figure> {
    let mut figures = rows("screens_outside_limits", is_outside, views, rules, zone, asked);
    for (name, raises) in FLAGS {
        let measure = format!("screens_outside_limits_{name}");
        figures.extend(rows(&measure, raises, views, rules, zone, asked));
    }
    figures
}

fn rows(measure: &str, raises: Flag, views: &[View], rules: &Rules, zone: &Zone, asked: &Asked) -> Vec<Figure> {
    let mut judged = Vec::new();
    for view in views {
        for screen in &view.screens {
            if zone.month(screen.at) != asked.month {
                continue;
            }
            let flagged = raises(view, screen, rules);
            judged.push(Judged {
                groups: Groups::unit_only(&screen.unit),
                verdict: Ok(if flagged { "flagged" } else { "not_flagged" }),
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
