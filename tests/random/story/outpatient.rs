//! Screens of older babies, and at the limits of the meter.

use super::super::dice::Dice;
use super::super::timeline::{H, Timeline, some_value};

/// A screen at 14 days, at 24 hours, or from birth on, a second to either side.
pub fn tell(dice: &mut Dice, baby: &mut Timeline) {
    for _ in 0..dice.pick(&[1, 1, 2]) {
        let at = dice.around(&[336 * H, 336 * H, 24 * H, 0], 0, 500 * H);
        let value = some_value(dice, 40, 280);
        baby.screens.push((at, value));
        baby.marks.push(at);
    }
    if dice.chance(25) {
        let at = dice.between(30 * H, 400 * H);
        baby.attempts.push(at);
        if dice.chance(70) {
            let next = at + dice.pick(&[0, H, 5 * H, 40 * H]);
            let value = some_value(dice, 80, 260);
            baby.draw(dice, next, value);
        }
    }
    baby.stay_ending_near(dice, &[48 * H], 24 * H, 90 * H);
}
