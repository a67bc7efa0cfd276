//! Who is born: one baby's own facts and its row of the birth register.
//!
//! What twins share is drawn from the stream of their pregnancy, the rest from the baby's own.

use super::bilirubin::{Level, Shape};
use super::clock::minute;
use super::dice::{Dice, Stream};
use super::history::{Birth, ChartedGestation};
use super::scenario::Weighted;
use super::world::World;

/// A baby as it is, beside what the register says.
#[derive(Debug)]
pub(crate) struct Baby {
    pub(crate) birth: Birth,
    pub(crate) gestation_d: i64,
    pub(crate) fast_riser: bool,
    pub(crate) level: Level,
}

/// The place of a birth: its month, its turn in the month, its running number.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Turn {
    pub(crate) month: usize,
    pub(crate) index: u64,
    pub(crate) number: u64,
}

/// What the babies of one pregnancy share.
struct Pregnancy {
    first: Turn,
    twins: bool,
    born_s: i64,
    gestation_d: i64,
    unit: usize,
    feeding: String,
    skin_tone: String,
    ethnicity: String,
}

impl Pregnancy {
    fn of(turn: Turn, world: &World) -> Pregnancy {
        let births = &world.scenario.births;
        let even = turn.index - turn.index % 2;
        let even_number = turn.number - turn.index % 2;
        let pair_fits = even + 1 < world.births_per_month;
        let twins = pair_fits && Dice::new(world.seed, Stream::Twins, even_number).chance(births.twin_pairs);
        let first = if twins {
            Turn {
                index: even,
                number: even_number,
                ..turn
            }
        } else {
            turn
        };
        let mut dice = Dice::new(world.seed, Stream::Pregnancy, first.number);
        let (week, _) = *dice.pick(&births.gestation_weeks, |(_, share)| *share);
        let mut gestation_d = week * 7 + dice.index(7) as i64;
        if twins {
            let earliest = births.gestation_weeks[0].0 * 7;
            gestation_d -= dice.between(births.twins_earlier_d) as i64;
            gestation_d = gestation_d.max(earliest);
        }
        let start_s = world.calendar.start_s(turn.month);
        let length_s = (world.calendar.start_s(turn.month + 1) - start_s) as f64;
        let part = (first.index as f64 + dice.share()) / world.births_per_month as f64;
        Pregnancy {
            first,
            twins,
            born_s: minute(start_s + (part * length_s) as i64),
            gestation_d,
            unit: world.network.birth_unit(&mut dice),
            feeding: word(&births.feeding, &mut dice),
            skin_tone: word(&births.skin_tone, &mut dice),
            ethnicity: word(&births.ethnicity, &mut dice),
        }
    }
}

fn word(mix: &[Weighted], dice: &mut Dice) -> String {
    dice.pick(mix, |item| item.share).word.clone()
}

impl Baby {
    /// Draws a baby.
    pub(crate) fn draw(turn: Turn, world: &World, dice: &mut Dice) -> Baby {
        let births = &world.scenario.births;
        let pregnancy = Pregnancy::of(turn, world);
        let birth_order = 1 + (turn.number - pregnancy.first.number) as u32;
        let mut born_s = pregnancy.born_s;
        if birth_order > 1 {
            let last_minute = world.calendar.start_s(turn.month + 1) - 60;
            born_s = (born_s + 60 * dice.between(births.twins_apart_min) as i64).min(last_minute);
        }
        let mut risk_peak = 1.0;
        let mut risk_factors = Vec::new();
        for factor in &births.risk_factors {
            if dice.chance(factor.share) {
                risk_peak *= factor.peak;
                risk_factors.push(factor.word.clone());
            }
        }
        let fast_riser = dice.chance(world.scenario.bilirubin.fast_riser_chance);
        let shape = Shape {
            born_s,
            gestation_d: pregnancy.gestation_d,
            breast_fed: pregnancy.feeding == "breast",
            risk_peak,
            fast_riser,
        };
        let level = Level::draw(shape, &world.scenario.bilirubin, dice);
        let birth = Birth {
            number: turn.number,
            mother: pregnancy.first.number,
            born_s,
            day_only: dice.chance(births.day_only),
            gestation: charted_gestation(pregnancy.gestation_d, world, dice),
            weight_g: weight_g(pregnancy.gestation_d, world, dice),
            boy: dice.chance(births.boys),
            plurality: 1 + u32::from(pregnancy.twins),
            birth_order,
            unit: pregnancy.unit,
            feeding: pregnancy.feeding,
            risk_factors,
            skin_tone: pregnancy.skin_tone,
            ethnicity: pregnancy.ethnicity,
        };
        Baby {
            birth,
            gestation_d: pregnancy.gestation_d,
            fast_riser,
            level,
        }
    }
}

fn charted_gestation(gestation_d: i64, world: &World, dice: &mut Dice) -> ChartedGestation {
    let births = &world.scenario.births;
    if dice.chance(births.gestation_missing) {
        ChartedGestation::Missing
    } else if dice.chance(births.gestation_in_weeks_only) {
        ChartedGestation::Weeks(gestation_d.div_euclid(7))
    } else {
        ChartedGestation::Days(gestation_d)
    }
}

fn weight_g(gestation_d: i64, world: &World, dice: &mut Dice) -> i64 {
    let births = &world.scenario.births;
    let weeks = gestation_d as f64 / 7.0;
    let mean = births.weight_at_40_weeks_g + (weeks - 40.0) * births.weight_per_week_g;
    let spread = births.weight_spread_g * (mean / births.weight_at_40_weeks_g);
    let weight = (mean + spread * dice.normal()).max(births.lowest_weight_g);
    (weight / 5.0).round() as i64 * 5
}
