//! Failed specimens, and the delay to a valid one.

use super::facts::{Serum, Status};
use super::figure::{Asked, Figure, Groups, Judged, Proportion, groups, left_out, no_data};
use super::moment::Zone;
use super::rules::Rules;
use super::view::View;

/// A specimen of the month: failed with the delay in seconds, if a valid serum came, or valid.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Came {
    Valid,
    Failed(Option<i64>),
}

/// "Of total-bilirubin serum specimens (by id, last version, pending left out) collected in the
/// month: cancelled, or without a number. Delay: to the baby's next valid serum" (choice 36).
fn came(view: &View, specimen: &Serum) -> Result<Came, &'static str> {
    if specimen.status == Status::Preliminary {
        return Err("pending");
    }
    if !specimen.is_failed_attempt() {
        return Ok(Came::Valid);
    }
    let mut valid = view.valid_serums.iter();
    let next = valid.find(|serum| serum.at >= specimen.at && serum.id != specimen.id);
    Ok(Came::Failed(next.map(|serum| serum.at - specimen.at)))
}

/// The rows `failed_specimens` and `specimen_delay_median`.
pub fn figures(views: &[View], _rules: &Rules, zone: &Zone, asked: &Asked) -> Vec<Figure> {
    let mut judged = Vec::new();
    for view in views {
        for specimen in &view.specimens {
            if zone.month(specimen.at) == asked.month {
                judged.push(Judged {
                    groups: Groups::unit_only(&specimen.unit),
                    verdict: came(view, specimen),
                });
            }
        }
    }
    let mut shares = Vec::new();
    for one in &judged {
        shares.push(Judged {
            groups: one.groups.clone(),
            verdict: one.verdict.map(|came| match came {
                Came::Valid => "valid",
                Came::Failed(_) => "failed",
            }),
        });
    }
    let proportion = Proportion {
        measure: "failed_specimens".to_string(),
        outcomes: &["failed", "valid"],
        numerator: &["failed"],
        denominator: &["failed", "valid"],
    };
    let mut figures = proportion.figures(&shares, asked);
    figures.extend(delays(&judged, asked));
    figures
}

/// Numerator: failed specimens with a later valid serum; denominator: failed specimens; value:
/// the median delay in hours.
fn delays(judged: &[Judged<Came>], asked: &Asked) -> Vec<Figure> {
    let measure = "specimen_delay_median";
    if !asked.has_data {
        return vec![no_data(measure, asked.month)];
    }
    let mut figures = Vec::new();
    for (split, group, things) in groups(judged) {
        let mut failed = 0;
        let mut delays_s = Vec::new();
        for one in &things {
            if let Ok(Came::Failed(delay_s)) = one.verdict {
                failed += 1;
                delays_s.extend(delay_s);
            }
        }
        figures.push(Figure {
            split,
            group,
            numerator: Some(delays_s.len() as u64),
            denominator: Some(failed),
            value: median_h(delays_s),
            left_out: left_out(&things),
            ..no_data(measure, asked.month)
        });
    }
    figures
}

/// "The mean of the two middle ones" of an even number.
fn median_h(mut delays_s: Vec<i64>) -> Option<f64> {
    delays_s.sort_unstable();
    let middle = delays_s.len() / 2;
    let upper = *delays_s.get(middle)?;
    let lower = if delays_s.len().is_multiple_of(2) {
        delays_s[middle - 1]
    } else {
        upper
    };
    Some((lower + upper) as f64 / 2.0 / 3600.0)
}

#[cfg(test)]
mod tests {
    use super::median_h;

    #[test]
    fn medians_of_none_odd_and_even() {
        assert_eq!(median_h(vec![]), None);
        assert_eq!(median_h(vec![7200, 0, 3600]), Some(1.0));
        assert_eq!(median_h(vec![7200, 3600]), Some(1.5));
    }
}
