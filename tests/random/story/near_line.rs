//! Values just below the line, and the recheck.

use super::super::dice::Dice;
use super::super::timeline::{H, Timeline, some_value, umol};

const GAP_MICRO: i64 = 50_000_000;

/// A serum or a screen near the line, with rechecks, courses and departures at the edges.
pub fn tell(dice: &mut Dice, baby: &mut Timeline) {
    if dice.chance(60) {
        baby.gestation = dice.pick(&["38+0", "39+1", "40", "41+2"]);
    }
    let at = if dice.chance(12) {
        dice.near(24 * H)
    } else {
        dice.between(25 * H, 110 * H)
    };
    let gap = dice.around(&[0, GAP_MICRO], 0, GAP_MICRO);
    let mut value = umol(baby.line_micro(at) - gap);
    if dice.chance(6) {
        value.0.insert(0, dice.pick(&['<', '>']));
    }
    if dice.chance(60) {
        baby.draw(dice, at, value);
    } else {
        baby.screens.push((at, value));
        if dice.chance(30) {
            let beside = at + dice.around(&[-H, H], -H, H);
            let value = some_value(dice, 60, 150);
            baby.draw(dice, beside, value);
        }
    }
    let latest = if baby.feeding == "breast" || baby.risk_factors.contains("sibling") {
        18 * H
    } else {
        24 * H
    };
    for _ in 0..dice.between(0, 3) {
        let recheck = at + dice.around(&[H, H, latest, latest, latest + 24 * H], 0, 30 * H);
        let value = some_value(dice, 60, 330);
        if dice.chance(50) {
            baby.draw(dice, recheck, value);
        } else {
            baby.screens.push((recheck, value));
        }
    }
    if dice.chance(30) {
        let start = at + dice.around(&[0, latest, latest], 1, 25 * H);
        baby.episodes.push((start, Some(start + dice.between(H, 20 * H))));
    }
    if dice.chance(12) {
        let stop = dice.near(at - 24 * H);
        baby.episodes.push((stop - 5 * H, Some(stop)));
    }
    baby.marks.extend([at, at + latest + 24 * H, at + latest + 24 * H]);
    let edges = [at, at + latest];
    baby.stay_ending_near(dice, &edges, at + H, at + 90 * H);
}
