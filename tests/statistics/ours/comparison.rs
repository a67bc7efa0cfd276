//! Units against each other.

use siskin::statistics::comparison::exact_limits::{Level, limits};
use siskin::statistics::comparison::funnel::Funnel;
use siskin::statistics::comparison::indirect as expected;

use super::Answers;

pub(super) fn funnel(to: &mut Answers<'_>) {
    let units = to.months("r", "n");
    let found = Funnel::of(&units).unwrap();
    let centre = found.centre;
    to.say("centre", centre);
    to.say("heterogeneity p", found.heterogeneity_p);
    for (i, (unit, (_, cases))) in found.units.iter().zip(units).enumerate() {
        let unit = unit.unwrap();
        to.between(&format!("95 %[{i}]"), limits(centre, cases, Level::Warning));
        to.between(&format!("99.8 %[{i}]"), limits(centre, cases, Level::Action));
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
    to.say("rate", found.value);
    to.between("rate", Some(found.interval));
}
