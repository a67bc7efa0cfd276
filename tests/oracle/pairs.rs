//! Pairs of a screen and a serum, and the dangerous miss.

use super::facts::{Screen, Serum};
use super::figure::{Asked, Figure, Judged, Proportion, groups, left_out, no_data};
use super::moment::Zone;
use super::referral::{is_due, why_not_eligible};
use super::rules::Rules;
use super::value::{Bound, Value};
use super::view::View;

/// A screen and a serum of one baby.
#[derive(Clone, Debug)]
pub struct Pair {
    /// The screen.
    pub screen: Screen,
    /// The serum.
    pub serum: Serum,
    /// TcB - TSB, micro-umol/L.
    pub difference_micro: i64,
    /// "Headline: a baby's earliest pair."
    pub is_first_of_baby: bool,
}

/// Something that may be one of a pair: when, and its id.
type End<'a> = (i64, &'a str);

/// "A pair is kept when each is the other's nearest within 60 min (ties: the earlier, then the
/// smaller id)", "both moments outside [course start, course end + 24 h)", neither with a bound.
pub fn pairs(view: &View, rules: &Rules) -> Vec<Pair> {
    let is_exact = |value: Option<Value>| value.is_some_and(|value| value.bound == Bound::Exact);
    let screens: Vec<&Screen> = view
        .screens
        .iter()
        .filter(|screen| is_exact(Some(screen.value)) && !view.is_under_phototherapy(screen.at, rules))
        .collect();
    let serums: Vec<&Serum> = view
        .valid_serums
        .iter()
        .filter(|serum| is_exact(serum.value) && !view.is_under_phototherapy(serum.at, rules))
        .collect();

    let screen_ends: Vec<End> = screens.iter().map(|screen| (screen.at, screen.id.as_str())).collect();
    let serum_ends: Vec<End> = serums.iter().map(|serum| (serum.at, serum.id.as_str())).collect();
    let mut pairs: Vec<Pair> = Vec::new();
    for (screen_place, screen) in screens.iter().enumerate() {
        let within_s = 60 * rules.at(screen.at).pair_within_min;
        let Some(serum_place) = nearest(screen.at, &serum_ends, within_s) else {
            continue;
        };
        let serum = serums[serum_place];
        if nearest(serum.at, &screen_ends, within_s) != Some(screen_place) {
            continue;
        }
        let Some(tsb) = serum.value else {
            continue;
        };
        // Screens come in the order of (time, id).
        pairs.push(Pair {
            screen: (*screen).clone(),
            serum: serum.clone(),
            difference_micro: screen.value.number_micro - tsb.number_micro,
            is_first_of_baby: pairs.is_empty(),
        });
    }
    pairs
}

/// The place of the nearest within so many seconds: "ties: the earlier, then the smaller id".
fn nearest(at: i64, others: &[End], within_s: i64) -> Option<usize> {
    let near = others
        .iter()
        .enumerate()
        .filter(|(_, (other, _))| (other - at).abs() <= within_s);
    let nearest = near.min_by_key(|(_, (other, id))| ((other - at).abs(), *other, *id));
    nearest.map(|(place, _)| place)
}

/// "Dangerous miss: serum above the line while the paired screen was eligible and not due, of all
/// pairs whose screen was eligible and not due."
fn miss(view: &View, pair: &Pair, rules: &Rules) -> Result<&'static str, &'static str> {
    let (screen, serum) = (&pair.screen, &pair.serum);
    if let Some(reason) = why_not_eligible(view, screen, rules) {
        return Err(reason);
    }
    if is_due(view, screen, rules) {
        return Ok("due");
    }
    if let Some(reason) = view.why_no_line(serum.at) {
        return Err(reason);
    }
    let is_above = serum.value.is_some_and(|value| view.is_above_line(value, serum.at));
    Ok(if is_above { "above_line" } else { "not_above_line" })
}

/// The rows `dangerous_miss`: month and unit are the screen's.
pub fn figures(views: &[View], rules: &Rules, zone: &Zone, asked: &Asked) -> Vec<Figure> {
    let mut judged = Vec::new();
    for view in views {
        for pair in pairs(view, rules) {
            let screen = &pair.screen;
            if zone.month(screen.at) == asked.month {
                judged.push(Judged {
                    groups: view.groups(&screen.unit, Some(screen.at)),
                    verdict: miss(view, &pair, rules),
                });
            }
        }
    }
    let proportion = Proportion {
        measure: "dangerous_miss".to_string(),
        outcomes: &["above_line", "not_above_line", "due"],
        numerator: &["above_line"],
        denominator: &["above_line", "not_above_line"],
    };
    proportion.figures(&judged, asked)
}

/// The rows `meter_bias` and its limits: "Difference = TcB - TSB; SD with n - 1; limits 1.96 SD.
/// Headline: a baby's earliest pair. Month and unit: the screen's."
pub fn bias_figures(views: &[View], rules: &Rules, zone: &Zone, asked: &Asked) -> Vec<Figure> {
    let mut judged = Vec::new();
    for view in views {
        for pair in pairs(view, rules) {
            let screen = &pair.screen;
            if pair.is_first_of_baby && zone.month(screen.at) == asked.month {
                judged.push(Judged {
                    groups: view.groups(&screen.unit, Some(screen.at)),
                    verdict: Ok(pair.difference_micro),
                });
            }
        }
    }
    let mut figures = Vec::new();
    for (measure, sds) in [
        ("meter_bias", 0.0),
        ("meter_bias_lower_limit", -1.96),
        ("meter_bias_upper_limit", 1.96),
    ] {
        if !asked.has_data {
            figures.push(no_data(measure, asked.month));
            continue;
        }
        for (split, group, things) in groups(&judged) {
            let differences: Vec<i64> = things.iter().filter_map(|one| one.verdict.ok()).collect();
            let n = differences.len() as u64;
            figures.push(Figure {
                split,
                group,
                numerator: Some(n),
                denominator: Some(n),
                value: bias_plus(&differences, sds),
                outcomes: [("pair".to_string(), n)].into(),
                left_out: left_out(&things),
                ..no_data(measure, asked.month)
            });
        }
    }
    figures
}

/// Mean plus so many standard deviations, umol/L; a mean needs one difference, a limit two.
fn bias_plus(differences_micro: &[i64], sds: f64) -> Option<f64> {
    let n = differences_micro.len();
    if n == 0 || (n == 1 && sds != 0.0) {
        return None;
    }
    let mean = differences_micro.iter().sum::<i64>() as f64 / n as f64;
    let squares: f64 = differences_micro.iter().map(|d| (*d as f64 - mean).powi(2)).sum();
    let sd = if n == 1 { 0.0 } else { (squares / (n - 1) as f64).sqrt() };
    Some((mean + sds * sd) / 1e6)
}
