//! Two tests of one kind a few hours apart, and how fast they rise.

use super::super::dice::Dice;
use super::super::timeline::{H, Timeline, either};

/// A rise of 0.2 or 0.3 mg/dL an hour, a little more or less, at least three hours apart or not.
pub fn tell(dice: &mut Dice, baby: &mut Timeline) {
    let mut at = dice.around(&[21 * H, 20 * H], 4 * H, 70 * H);
    let mut micro = dice.between(30, 120) * 1_000_000;
    let is_serum = dice.chance(50);
    for _ in 0..dice.pick(&[2, 2, 3, 4]) {
        let mut value = either(dice, micro);
        if dice.chance(5) {
            value.0.insert(0, '>');
        }
        if is_serum {
            baby.draw(dice, at, value);
        } else {
            baby.screens.push((at, value));
        }
        baby.marks.push(at);
        let apart = dice.around(&[3 * H, 24 * H - at], 2 * H, 9 * H).max(0);
        // 0.1 mg/dL is 1.71 umol/L.
        let per_h = dice.pick(&[3, 3, 2, 2, 1, 4]) * 1_710_000;
        let rise = per_h * apart / H;
        micro += dice.near(rise);
        at += apart;
    }
    baby.stay_ending_near(dice, &[48 * H], 24 * H, 90 * H);
}
