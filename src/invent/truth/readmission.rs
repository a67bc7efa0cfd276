//! Coming back with jaundice by 7, 14 and 28 days, or whatever ages the rules name.

use super::seen::Seen;
use super::stays::Chain;
use super::tally::{Group, Measure, Tally};
use super::{Outcome, reasons};
use crate::invent::World;
use crate::invent::history::{Disposition, Source};

const DECIDED: [&str; 2] = ["readmitted", "not_readmitted"];

/// Counts one birth.
pub(super) fn count(seen: &Seen<'_>, world: &World, tally: &mut Tally) {
    let group = Group::at(world, seen.birth.born_s, seen.birth.unit);
    let rules = &world.rules.readmission;
    let fate = fate(seen, world);
    for (place, days) in rules.ages_d.iter().enumerate() {
        let outcome = match fate {
            Fate::LeftOut(reason) => Outcome::LeftOut(reason),
            Fate::StillIn => Outcome::Named("open"),
            Fate::Home { back_at_age_s } => {
                let by_s = i64::from(*days) * 86_400;
                if back_at_age_s.is_some_and(|age_s| age_s <= by_s) {
                    Outcome::Named("readmitted")
                } else {
                    Outcome::Named("not_readmitted")
                }
            }
        };
        let measure = Measure::Readmission(place);
        tally.outcome(measure, group, outcome, "readmitted", &DECIDED);
    }
}

/// What became of a birth.
#[derive(Debug, Clone, Copy)]
enum Fate {
    LeftOut(&'static str),
    StillIn,
    Home { back_at_age_s: Option<i64> },
}

fn fate(seen: &Seen<'_>, world: &World) -> Fate {
    let Some(born_s) = seen.born_s else {
        return Fate::LeftOut(reasons::BIRTH_TIME_UNKNOWN);
    };
    let Some(gestation_d) = seen.gestation_d else {
        return Fate::LeftOut(reasons::GESTATION_UNKNOWN);
    };
    if gestation_d < world.rules.readmission.gestation_at_least_d {
        return Fate::LeftOut(reasons::GESTATION_BELOW_LIMIT);
    }
    let Some(birth) = seen.stays.birth else {
        return Fate::LeftOut(reasons::NO_BIRTH_STAY);
    };
    let Some((home_s, disposition)) = seen.stays.chains[birth].end else {
        return Fate::StillIn;
    };
    match disposition {
        Disposition::Empty => return Fate::LeftOut(reasons::DISPOSITION_UNKNOWN),
        Disposition::Died | Disposition::Transfer => return Fate::LeftOut(reasons::LEFT),
        Disposition::Home => {}
    }
    let back = seen.stays.chains.iter().enumerate().filter(|(place, chain)| {
        *place != birth
            && chain.start_s >= home_s
            && chain.source != Source::Transfer
            && is_jaundice(seen, chain, world)
    });
    Fate::Home {
        back_at_age_s: back.map(|(_, chain)| chain.start_s - born_s).min(),
    }
}

fn is_jaundice(seen: &Seen<'_>, chain: &Chain<'_>, world: &World) -> bool {
    let rules = &world.rules.readmission;
    let until_s = chain.end.map_or(seen.data_end_s, |(end_s, _)| end_s);
    chain.primary.iter().any(|code| rules.is_jaundice(code)) || seen.course_starts_in(chain.start_s, until_s)
}
