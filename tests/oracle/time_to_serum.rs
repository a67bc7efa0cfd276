//! Time from a referral to its serum, and to the result.

use super::figure::{Asked, Figure, Judged, groups, left_out, no_data};
use super::moment::Zone;
use super::referral::{Kind, Referral, answering_serum, outcome, referrals};
use super::rules::{Rules, hours};
use super::stays::Exit;
use super::view::View;

/// What ended the wait; "ties serum before competing before censoring".
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Ending {
    /// The event: serum collected, or resulted.
    Serum,
    /// Going home, or dying, without serum.
    Competing,
    /// Transferred out, 24 h, or no result time: not seen further.
    Censored,
    /// Not seen further because the data ends.
    DataEnd,
}

/// A wait of this length that ended so.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Wait {
    /// Seconds from the index.
    pub time_s: i64,
    /// Why it ended.
    pub ending: Ending,
}

/// "Ends, earliest wins: serum; competing = end (disposition home) of the chain containing the
/// index, or death (any stay), at or after index; censored = transferred out at or after index,
/// D, 24 h. The chain containing the index ending with unknown disposition before everything
/// else: left out" (choice 17).
pub fn wait_for_draw(view: &View, referral: &Referral, rules: &Rules) -> Result<Wait, &'static str> {
    let index_at = referral.index.at;
    // "An episode without an answer ... is left out as `recent_serum`", and "leaves time to serum too".
    if outcome(view, referral, rules) == Err("recent_serum") {
        return Err("recent_serum");
    }
    let mut ends: Vec<(i64, Ending)> = Vec::new();
    if let Some(serum) = answering_serum(view, index_at, rules) {
        ends.push(((serum.at - index_at).max(0), Ending::Serum));
    }
    let followed_to = index_at + hours(rules.at(index_at).referral_late_h);
    for exit in view.exits_of_case(followed_to).filter(|exit| exit.at >= index_at) {
        match exit.how {
            Exit::Died => ends.push((exit.at - index_at, Ending::Competing)),
            Exit::TransferredOut => ends.push((exit.at - index_at, Ending::Censored)),
            Exit::Unknown => {}
        }
    }
    // At the same second the follow-up is complete: 24 h before data end.
    ends.push((hours(rules.at(index_at).referral_late_h), Ending::Censored));
    ends.push((view.data_end - index_at, Ending::DataEnd));

    let mut unknown_s = None;
    if let Some(chain) = view.chain_containing(index_at, rules)
        && let Some(end) = chain.end_at(view.data_end, rules)
    {
        match chain.disposition() {
            "home" => ends.push((end - index_at, Ending::Competing)),
            "" => {
                let mut exits = view.exits_of_case(followed_to);
                let is_for_good = exits.any(|exit| exit.how == Exit::Unknown && exit.at == end);
                unknown_s = is_for_good.then_some(end - index_at);
            }
            _ => {}
        }
    }
    let (time_s, ending) = ends.into_iter().min().unwrap_or((0, Ending::DataEnd));
    if unknown_s.is_some_and(|unknown_s| unknown_s < time_s) {
        return Err("disposition_unknown");
    }
    Ok(Wait { time_s, ending })
}

/// "If serum is what happened first, t = max(0, resulted - index), cut (censored) at 24 h or at
/// D; no result time: censored at the draw. Otherwise as time to serum" (choice 18).
fn wait_for_result(view: &View, referral: &Referral, rules: &Rules) -> Result<Wait, &'static str> {
    let index_at = referral.index.at;
    let draw = wait_for_draw(view, referral, rules)?;
    if draw.ending != Ending::Serum {
        return Ok(draw);
    }
    let resulted_at = answering_serum(view, index_at, rules).and_then(|serum| serum.resulted_at);
    let Some(resulted_at) = resulted_at else {
        return Ok(Wait {
            time_s: draw.time_s,
            ending: Ending::Censored,
        });
    };
    let ends = [
        ((resulted_at - index_at).max(0), Ending::Serum),
        (hours(rules.at(index_at).referral_late_h), Ending::Censored),
        (view.data_end - index_at, Ending::DataEnd),
    ];
    let (time_s, ending) = ends.into_iter().min().unwrap_or(ends[0]);
    Ok(Wait { time_s, ending })
}

/// The Aalen-Johansen share of serums: at each time that something happens, the share still
/// waiting just before it, times the share of those at risk who are drawn at it.
///
/// Gives (time, share by that time), in order of time, at every time with a serum.
fn aalen_johansen(waits: &[Wait]) -> Vec<(i64, f64)> {
    let mut times: Vec<i64> = waits.iter().map(|wait| wait.time_s).collect();
    times.sort_unstable();
    times.dedup();
    let mut steps = Vec::new();
    let mut still_waiting = 1.0;
    let mut share = 0.0;
    for time_s in times {
        // Censored at this very time are still at risk: events come before censoring.
        let at_risk = waits.iter().filter(|wait| wait.time_s >= time_s).count() as f64;
        let ended = |ending: Ending| {
            let here = waits
                .iter()
                .filter(|wait| wait.time_s == time_s && wait.ending == ending);
            here.count() as f64
        };
        let (drawn, gone) = (ended(Ending::Serum), ended(Ending::Competing));
        share += still_waiting * drawn / at_risk;
        still_waiting *= 1.0 - (drawn + gone) / at_risk;
        if drawn > 0.0 {
            steps.push((time_s, share));
        }
    }
    steps
}

/// "Drawn at 2, 4, 6, 12, 24 h" and the two medians (choices 17 to 19).
pub fn figures(views: &[View], rules: &Rules, zone: &Zone, asked: &Asked) -> Vec<Figure> {
    let mut draws = Vec::new();
    let mut results = Vec::new();
    for view in views {
        for referral in referrals(view, Kind::Due, rules) {
            let index = &referral.index;
            if zone.month(index.at) != asked.month {
                continue;
            }
            draws.push(Judged {
                groups: view.groups(&index.unit, Some(index.at)),
                verdict: wait_for_draw(view, &referral, rules),
            });
            results.push(Judged {
                groups: view.groups(&index.unit, Some(index.at)),
                verdict: wait_for_result(view, &referral, rules),
            });
        }
    }

    let mut figures = Vec::new();
    for by_h in [2, 4, 6, 12, 24] {
        let name = format!("time_to_serum_{by_h}h");
        figures.extend(rows(&name, &draws, hours(by_h), Shown::Share, asked));
    }
    let end_s = hours(24);
    for (name, waits) in [("time_to_serum_median", &draws), ("time_to_result_median", &results)] {
        figures.extend(rows(name, waits, end_s, Shown::MedianHours, asked));
    }
    figures
}

/// What the value of a row is.
#[derive(Clone, Copy)]
pub enum Shown {
    /// The share by a time.
    Share,
    /// The time by which half are drawn.
    MedianHours,
}

/// "Numerator = episodes with serum by h; denominator = all episodes of the month that are not
/// left out; open = episodes censored by D at a time < h" (choices 17 and 19).
pub fn rows(measure: &str, judged: &[Judged<Wait>], by_s: i64, shown: Shown, asked: &Asked) -> Vec<Figure> {
    if !asked.has_data {
        return vec![no_data(measure, asked.month)];
    }
    let mut figures = Vec::new();
    for (split, group, things) in groups(judged) {
        let waits: Vec<Wait> = things.iter().filter_map(|one| one.verdict.ok()).collect();
        let count = |holds: &dyn Fn(&Wait) -> bool| waits.iter().filter(|wait| holds(wait)).count() as u64;
        let is_drawn = |wait: &Wait| wait.ending == Ending::Serum && wait.time_s <= by_s;
        let is_open = |wait: &Wait| wait.ending == Ending::DataEnd && wait.time_s < by_s;
        let steps = aalen_johansen(&waits);
        let value = match shown {
            Shown::Share if waits.is_empty() => None,
            Shown::Share => Some(share_by(&steps, by_s)),
            Shown::MedianHours => median_h(&steps),
        };
        figures.push(Figure {
            split,
            group,
            numerator: Some(count(&is_drawn)),
            denominator: Some(waits.len() as u64),
            value,
            left_out: left_out(&things),
            open: count(&is_open),
            ..no_data(measure, asked.month)
        });
    }
    figures
}

/// "Aalen-Johansen value by t <= h" (choice 19).
fn share_by(steps: &[(i64, f64)], by_s: i64) -> f64 {
    let mut share = 0.0;
    for (time_s, share_then) in steps {
        if *time_s <= by_s {
            share = *share_then;
        }
    }
    share
}

/// "The smallest event time, in hours, at which the Aalen-Johansen share is >= 0.5 (minus
/// 1e-12), else null" (choice 19).
fn median_h(steps: &[(i64, f64)]) -> Option<f64> {
    let reached = steps.iter().find(|(_, share)| *share >= 0.5 - 1e-12);
    reached.map(|(time_s, _)| *time_s as f64 / 3600.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn going_home_competes_and_censoring_does_not() {
        // Four waits: serum at 1 h; home at 2 h; censored at 3 h; serum at 4 h.
        // By hand: 1/4; then 3/4 * 2/3 = 1/2 still waiting, one at risk: 1/4 + 1/2 * 1/1.
        let wait = |h, ending| Wait {
            time_s: hours(h),
            ending,
        };
        let waits = [
            wait(1, Ending::Serum),
            wait(2, Ending::Competing),
            wait(3, Ending::Censored),
            wait(4, Ending::Serum),
        ];
        let steps = aalen_johansen(&waits);
        assert!((share_by(&steps, hours(2)) - 0.25).abs() < 1e-12);
        assert!((share_by(&steps, hours(4)) - 0.75).abs() < 1e-12);
        assert_eq!(median_h(&steps), Some(4.0));
    }
}
