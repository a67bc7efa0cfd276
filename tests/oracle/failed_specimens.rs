//! Failed specimens, and the delay to a valid one.

use super::facts::{Serum, Status};
use super::figure::{Asked, Figure, Groups, Judged, Proportion};
use super::moment::Zone;
use super::rules::{Rules, hours};
use super::stays::Exit;
use super::time_to_serum::{Ending, Shown, Wait, rows};
use super::view::View;

/// "Of total-bilirubin serum specimens (by id, last version, pending left out) collected in the
/// month: cancelled, or without a number. All preliminary results are left out as `pending`"
/// (choice 36).
fn came(specimen: &Serum) -> Result<&'static str, &'static str> {
    match specimen.status {
        Status::Preliminary => Err("pending"),
        _ if specimen.is_failed_attempt() => Ok("failed"),
        _ => Ok("valid"),
    }
}

/// "Time to the baby's next valid serum, at or after it: competing and censoring events as for time
/// to serum, horizon 24 h"; "a baby admitted again by the end of follow-up: neither `left` nor
/// `disposition_unknown` for that case" (choice 36).
fn wait(view: &View, failed: &Serum, rules: &Rules) -> Result<Wait, &'static str> {
    let from = failed.at;
    let horizon_s = hours(rules.at(from).redraw_follow_up_h);
    let mut ends = vec![(horizon_s, Ending::Censored), (view.data_end - from, Ending::DataEnd)];
    for serum in &view.valid_serums {
        if serum.at >= from && serum.id != failed.id {
            ends.push((serum.at - from, Ending::Serum));
        }
    }
    for exit in &view.exits {
        if exit.how == Exit::Died && exit.at >= from {
            ends.push((exit.at - from, Ending::Competing));
        }
    }
    let mut unknown_s = Vec::new();
    for (number, chain) in view.chains.iter().enumerate() {
        let Some(end) = chain.end_at(view.data_end, rules) else {
            continue;
        };
        // Known chains are in the order of admission: the next one is where the baby came back.
        let next = view.chains.get(number + 1);
        let is_back = next.is_some_and(|next| next.start() <= from + horizon_s);
        match chain.disposition() {
            "home" if chain.start() <= from && from < end => ends.push((end - from, Ending::Competing)),
            "transfer" if end >= from && !is_back => ends.push((end - from, Ending::Censored)),
            "" if end >= from && !is_back => unknown_s.push(end - from),
            _ => {}
        }
    }
    let (time_s, ending) = ends.into_iter().min().unwrap_or((0, Ending::DataEnd));
    if unknown_s.iter().any(|unknown_s| *unknown_s < time_s) {
        return Err("disposition_unknown");
    }
    Ok(Wait { time_s, ending })
}

/// The rows `failed_specimens` and `specimen_delay_median`.
pub fn figures(views: &[View], rules: &Rules, zone: &Zone, asked: &Asked) -> Vec<Figure> {
    let mut shares = Vec::new();
    let mut waits = Vec::new();
    for view in views {
        for specimen in &view.specimens {
            if zone.month(specimen.at) != asked.month {
                continue;
            }
            let verdict = came(specimen);
            let groups = Groups::unit_only(&specimen.unit);
            shares.push(Judged {
                groups: groups.clone(),
                verdict,
            });
            match verdict {
                Ok("failed") => waits.push(Judged {
                    groups,
                    verdict: wait(view, specimen, rules),
                }),
                Ok(_) => {}
                Err(reason) => waits.push(Judged {
                    groups,
                    verdict: Err(reason),
                }),
            }
        }
    }
    let proportion = Proportion {
        measure: "failed_specimens".to_string(),
        outcomes: &["failed", "valid"],
        numerator: &["failed"],
        denominator: &["failed", "valid"],
    };
    let mut figures = proportion.figures(&shares, asked);
    // "The median is not reached where half were never redrawn": to whatever hour it is looked for.
    figures.extend(rows(
        "specimen_delay_median",
        &waits,
        i64::MAX,
        Shown::MedianHours,
        asked,
    ));
    figures
}
