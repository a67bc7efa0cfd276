//! Units against each other.

use siskin::statistics::comparison::exact_limits::{Level, limits};
use siskin::statistics::comparison::funnel::Funnel;
use siskin::statistics::comparison::indirect::{self as expected, Figure};

use super::Answers;

pub(super) fn funnel(to: &mut Answers<'_>) {
    let found = Funnel::of(&to.months("r", "n")).unwrap();
    let centre = found.centre;
    to.say("centre", centre);
    to.say("heterogeneity", found.heterogeneity.value);
    to.say("heterogeneity p", found.heterogeneity.p);
    for (i, unit) in found.units.iter().enumerate() {
        let unit = unit.unwrap();
        to.say(&format!("z[{i}]"), unit.z);
        to.say(&format!("as many[{i}]"), unit.as_many);
        to.say(&format!("as few[{i}]"), unit.as_few);
        to.between(&format!("95 %[{i}]"), Some(unit.warning));
        to.between(&format!("99.8 %[{i}]"), limits(centre, unit.cases, Level::Action));
        let side = |beyond: Option<_>| beyond.map_or("within".into(), |of| format!("{of:?}"));
        to.exactly(&format!("place[{i}]"), side(unit.beyond.map(|of| (of.level, of.side))));
    }
}

pub(super) fn indirect(to: &mut Answers<'_>) {
    let (events, standard_events) = (to.counts("events"), to.counts("standard_events"));
    let exposures = to.pairs("exposure", "standard_exposure");
    let stratum = |i: usize| expected::Stratum {
        events: events[i],
        exposure: exposures[i].0,
        standard_events: standard_events[i],
        standard_exposure: exposures[i].1,
    };
    let found = expected::standardise(&(0..events.len()).map(stratum).collect::<Vec<_>>()).unwrap();
    to.say("expected", found.expected);
    let mut figure = |what: &str, of: Figure| {
        to.say(what, of.value);
        to.between(what, Some(of.interval));
    };
    figure("ratio", found.ratio);
    figure("rate", found.rate);
}
