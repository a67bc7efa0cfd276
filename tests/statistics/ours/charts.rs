//! Charts over months: limits, rules, and what a whole chart makes of a series.

use siskin::statistics::control::chart::{Chart, Scale, Series, Signal};
use siskin::statistics::control::cusum::Cusum;
use siskin::statistics::control::dispersion::Dispersion;
use siskin::statistics::control::individuals::Individuals;
use siskin::statistics::control::largest_of_chain::largest_of_chain;
use siskin::statistics::control::run_chart::{Allowed, RunChart, allowed};
use siskin::statistics::control::{Side, change_point, g, laney, p, t, u};

use super::Answers;

/// Centre, limits and findings of a whole chart.
fn chart(to: &mut Answers<'_>, series: Series<'_>) {
    let chart = Chart::of(series, &[], &[]);
    let phase = &chart.phases[0];
    let kind = format!("{:?}", phase.kind);
    to.exactly("chart kind", kind.split(['(', '{']).next().unwrap().trim().to_string());
    to.exactly("chart baseline", phase.baseline.len());
    to.say("chart centre", phase.centre);
    for (i, month) in chart.months.iter().enumerate() {
        to.between(&format!("chart limits[{i}]"), month.limits);
    }
    let found = |signal: &Signal| format!("{:?} {} to {}", signal.rule, signal.first, signal.last);
    let found: Vec<String> = chart.signals.iter().map(found).collect();
    to.exactly("chart signals", found.join(", "));
}

fn spread(to: &mut Answers<'_>, of: Option<Dispersion>) {
    to.say("dispersion", of.map(|of| of.chi_square));
}

fn change(to: &mut Answers<'_>, of: Option<change_point::Change>) {
    to.exactly("change at", of.map(|of| of.first_after));
    to.say("level before", of.map(|of| of.before));
    to.say("level after", of.map(|of| of.after));
    to.say("change p", of.map(|of| of.p_value));
}

pub(super) fn proportions(to: &mut Answers<'_>) {
    let events = if to.input("count").is_array() { "count" } else { "r" };
    let months = to.months(events, "n");
    let centre = p::centre(&months).unwrap();
    to.say("centre", centre);
    let z = laney::standardised_proportions(&months, centre);
    let sigma_z = z.as_deref().and_then(laney::sigma_z);
    to.say("sigma z", sigma_z);
    for (i, (_, n)) in months.iter().enumerate() {
        to.between(&format!("three sigma[{i}]"), p::three_sigma(centre, *n));
        to.between(&format!("exact[{i}]"), p::exact(centre, *n));
        let wide = sigma_z.and_then(|of| laney::proportion_limits(centre, *n, of));
        to.between(&format!("Laney[{i}]"), wide);
    }
    spread(to, Dispersion::of_proportions(&months));
    change(to, change_point::proportions(&months, 1.0));
    let months: Vec<Option<(u64, u64)>> = months.into_iter().map(Some).collect();
    chart(to, Series::Proportions(&months));
}

pub(super) fn rates(to: &mut Answers<'_>) {
    let (events, sizes) = match to.input("r").is_array() {
        true => ("r", "n"),
        false => ("count", "size"),
    };
    let whole = to.months(events, sizes);
    let months: Vec<(u64, f64)> = whole.iter().map(|(events, size)| (*events, *size as f64)).collect();
    let centre = u::centre(&months).unwrap();
    to.say("centre", centre);
    let z = laney::standardised_rates(&months, centre);
    let sigma_z = z.as_deref().and_then(laney::sigma_z);
    to.say("sigma z", sigma_z);
    for (i, (_, size)) in months.iter().enumerate() {
        to.between(&format!("three sigma[{i}]"), u::three_sigma(centre, *size));
        to.between(&format!("exact[{i}]"), u::exact(centre, *size));
        let wide = sigma_z.and_then(|of| laney::rate_limits(centre, *size, of));
        to.between(&format!("Laney[{i}]"), wide);
    }
    spread(to, Dispersion::of_rates(&months));
    change(to, change_point::rates(&months, 1.0));
    let months: Vec<Option<(u64, u64)>> = whole.into_iter().map(Some).collect();
    let series = Series::Rates {
        months: &months,
        per: 1.0,
    };
    chart(to, series);
}

pub(super) fn individuals(to: &mut Answers<'_>) {
    let values = to.numbers("x");
    let found = Individuals::of(&values).unwrap();
    to.say("centre", found.centre);
    to.say("mean range", found.mean_range);
    to.between("limits", Some(found.limits()));
    change(to, change_point::values(&values));
    let months: Vec<Option<f64>> = values.into_iter().map(Some).collect();
    for scale in [Scale::Plain, Scale::LongTail] {
        let is_plain = scale == Scale::Plain;
        let series = Series::Values { months: &months, scale };
        if is_plain {
            chart(to, series);
        } else {
            let centre = Chart::of(series, &[], &[]).phases[0].centre;
            to.say("centre of a long tail", centre);
        }
    }
}

pub(super) fn cases_between(to: &mut Answers<'_>) {
    let between = to.counts("cases_between");
    let mean = between.iter().map(|count| *count as f64).sum::<f64>() / between.len() as f64;
    to.between("exact", g::exact(mean));
    chart(to, Series::CasesBetween(&between));
}

pub(super) fn long_tail(to: &mut Answers<'_>) {
    let values = to.numbers("hours");
    let found = t::individuals(&values).unwrap();
    to.say("transformed centre", found.centre);
    to.say("transformed mean range", found.mean_range);
    to.say("centre", t::raised_back(found.centre));
    to.between("limits", Some(t::limits(&found)));
    let months: Vec<Option<f64>> = values.into_iter().map(Some).collect();
    let series = Series::Values {
        months: &months,
        scale: Scale::LongTail,
    };
    chart(to, series);
}

fn two_rules(to: &mut Answers<'_>, what: &str, of: Option<Allowed>) {
    to.exactly(&format!("longest run allowed{what}"), of.map(|of| of.longest));
    to.exactly(&format!("fewest crossings allowed{what}"), of.map(|of| of.crossings));
}

pub(super) fn runs(to: &mut Answers<'_>) {
    let values: Vec<Option<f64>> = to.numbers("y").into_iter().map(Some).collect();
    let found = RunChart::of(&values).unwrap();
    to.say("median", found.median);
    to.exactly("useful", found.useful);
    let longest = found.runs.iter().map(|run| run.useful).max();
    to.exactly("longest run", longest.unwrap_or(0));
    to.exactly("crossings", found.crossings);
    two_rules(to, "", found.allowed);
}

pub(super) fn run_limits(to: &mut Answers<'_>) {
    for useful in to.counts("n_useful") {
        two_rules(to, &format!(", {useful} useful"), allowed(useful as usize));
    }
}

pub(super) fn cusum(to: &mut Answers<'_>) {
    let of = Cusum {
        target: to.number("target"),
        allowance: to.number("k"),
        limit: to.number("h"),
    };
    let sums = of.sums(&to.numbers("x")).unwrap();
    to.each("above", sums.iter().map(|sums| sums.above));
    to.each("below", sums.iter().map(|sums| sums.below));
    for side in [Side::Above, Side::Below] {
        let those = sums.iter().enumerate().filter(|(_, sums)| sums.signal == Some(side));
        let at: Vec<usize> = those.map(|(i, _)| i).collect();
        to.exactly(&format!("signals {side:?}"), at);
    }
}

pub(super) fn chain(to: &mut Answers<'_>) {
    let correlations = to.numbers("correlations");
    for c in to.numbers("c") {
        to.say(&format!("P(largest beyond {c})"), largest_of_chain(&correlations, c));
    }
}
