//! Tests and departures around 24 h and 48 h of age.

use super::super::dice::Dice;
use super::super::timeline::{H, Timeline, some_value};

/// A baby tested, treated or gone at an edge of coverage.
pub fn tell(dice: &mut Dice, baby: &mut Timeline) {
    if dice.chance(50) {
        baby.gestation = dice.pick(&["35+0", "35", "34+6", "39+3"]);
    }
    baby.stay_ending_near(dice, &[48 * H, 24 * H], 10 * H, 80 * H);
    let ends = baby.stays.last().and_then(|stay| stay.to).unwrap_or(48 * H);
    for _ in 0..dice.pick(&[0, 1, 1, 2]) {
        let at = dice.around(&[24 * H, 48 * H, ends], 0, 60 * H);
        let value = some_value(dice, 20, 140);
        if dice.chance(60) {
            baby.screens.push((at, value));
        } else {
            baby.draw(dice, at, value);
        }
    }
    if dice.chance(25) {
        let first = baby.screens.first().map_or(24 * H, |(at, _)| *at);
        let start = dice.around(&[0, first, 48 * H, ends], 0, 50 * H);
        let stop = start + dice.between(H, 20 * H);
        baby.episodes.push((start, Some(stop)));
        baby.marks.push(start);
    }
    baby.marks.extend([24 * H, 48 * H, 48 * H]);
}
