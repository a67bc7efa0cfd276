//! Times until an event.

use siskin::statistics::survival::{
    End, aalen_johansen, kaplan_meier as km, log_rank as test, restricted_mean as rmst,
};

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
        let at = step.time;
        to.exactly(&format!("at risk at {at}"), step.at_risk);
        to.exactly(&format!("events at {at}"), step.events);
        to.say(&format!("S({at})"), step.survival);
        to.say(&format!("S({at}) error"), step.standard_error);
        to.between(&format!("S({at})"), step.interval);
    }
    let limits = km::median_interval(&steps);
    to.say("median", km::median(&steps));
    to.say("median.lower", limits.lower);
    to.say("median.upper", limits.upper);
}

pub(super) fn log_rank(to: &mut Answers<'_>) {
    let (first, second) = (follow_ups(to, "time_A", "event_A"), follow_ups(to, "time_B", "event_B"));
    let found = test::log_rank(&first, &second).unwrap();
    for (i, group) in ["A", "B"].iter().enumerate() {
        to.exactly(&format!("observed {group}"), found.observed[i]);
        to.say(&format!("expected {group}"), found.expected[i]);
    }
    to.say("variance", found.variance);
    to.say("chi-square", found.chi_square);
    to.say("p", found.p);
}

fn mean(to: &mut Answers<'_>, what: &str, of: rmst::Mean) {
    to.say(what, of.value);
    to.say(&format!("{what} error"), of.standard_error);
    to.between(what, of.interval);
}

pub(super) fn restricted_mean(to: &mut Answers<'_>) {
    let found = rmst::restricted_mean(&follow_ups(to, "time", "event"), to.number("tau"));
    mean(to, "mean", found.unwrap());
}

/// Two arms, in years.
pub(super) fn restricted_means(to: &mut Answers<'_>) {
    let (year, tau) = (to.number("days_per_year"), to.number("tau"));
    let arms = to.numbers("arm");
    let all = follow_ups(to, "time_days", "event_death");
    let arm = |of: f64| -> FollowUps {
        let those = all.iter().zip(&arms).filter(|(_, arm)| **arm == of);
        those.map(|((days, end), _)| (days / year, *end)).collect()
    };
    let (without, with) = (arm(0.0), arm(1.0));
    mean(to, "mean of arm 0", rmst::restricted_mean(&without, tau).unwrap());
    mean(to, "mean of arm 1", rmst::restricted_mean(&with, tau).unwrap());
    mean(to, "difference", rmst::difference(&with, &without, tau).unwrap());
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
