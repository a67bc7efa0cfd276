//! Times until an event.

use siskin::statistics::survival::{End, aalen_johansen, kaplan_meier as km, log_rank as test};

use super::Answers;

type FollowUps = Vec<(f64, End)>;

/// 0 is cut short, 1 the event, 2 the competing one.
fn follow_ups(to: &Answers<'_>, time: &str, status: &str) -> FollowUps {
    let end = |status: f64| match status as u8 {
        0 => End::Censored,
        1 => End::Event,
        _ => End::Competing,
    };
    to.pairs(time, status).into_iter().map(|(t, s)| (t, end(s))).collect()
}

pub(super) fn kaplan_meier(to: &mut Answers<'_>) {
    let steps = km::survival(&follow_ups(to, "time", "event"));
    to.exactly("steps", steps.len());
    for step in &steps {
        to.say(&format!("S({})", step.time), step.survival);
    }
}

pub(super) fn log_rank(to: &mut Answers<'_>) {
    let (first, second) = (follow_ups(to, "time_A", "event_A"), follow_ups(to, "time_B", "event_B"));
    to.say("p", test::log_rank(&first, &second));
}

pub(super) fn incidence(to: &mut Answers<'_>) {
    let first = follow_ups(to, "time", "status");
    let exchanged: FollowUps = first
        .iter()
        .map(|(time, end)| {
            let other = match end {
                End::Event => End::Competing,
                End::Competing => End::Event,
                End::Censored => End::Censored,
            };
            (*time, other)
        })
        .collect();
    let mut times = match to.input("eval_t").is_array() {
        true => to.numbers("eval_t"),
        false => to.numbers("time"),
    };
    times.dedup();
    for (cause, ends) in [(1, first), (2, exchanged)] {
        let steps = aalen_johansen::incidence(&ends);
        for t in &times {
            to.say(&format!("F{cause}({t})"), aalen_johansen::by(&steps, *t));
            let step = steps.iter().rfind(|step| step.time <= *t);
            to.say(&format!("F{cause}({t}) variance"), step.map_or(0.0, |of| of.variance));
            to.between(&format!("F{cause}({t})"), aalen_johansen::interval_by(&ends, *t));
        }
        to.say(&format!("median of {cause}"), aalen_johansen::median(&steps));
        let limits = aalen_johansen::median_interval(&steps);
        to.say(&format!("median of {cause}.lower"), limits.lower);
        to.say(&format!("median of {cause}.upper"), limits.upper);
    }
}
