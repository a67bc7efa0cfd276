//! Serums above the line on the first day.

use super::super::dice::Dice;
use super::super::timeline::{H, Timeline, some_value, umol};

/// A serum at, above or just below the line under 24 h of age, and what follows.
pub fn tell(dice: &mut Dice, baby: &mut Timeline) {
    if dice.chance(12) {
        baby.gestation = dice.pick(&["22", "22+6", "23+0", "", "24+3"]);
    }
    let at = dice.around(&[24 * H, 12 * H, 6 * H], 2 * H, 24 * H);
    let line = baby.line_micro(at);
    let value = match dice.between(0, 9) {
        0 => umol(line),
        1 => umol(line + 1),
        2 => umol(line - 1),
        3 => (format!(">{}", umol(line).0), "umol/L".to_string()),
        4 => (format!("<{}", umol(line + 1).0), "umol/L".to_string()),
        _ => umol(line + dice.between(1, 60) * 1_000_000),
    };
    baby.draw(dice, at, value);
    for _ in 0..dice.between(0, 3) {
        let next = at + dice.around(&[H, 6 * H, 30 * H], 0, 32 * H);
        let value = some_value(dice, 60, 330);
        baby.draw(dice, next, value);
    }
    if dice.chance(40) {
        let start = at + dice.around(&[0, 6 * H], 0, 8 * H);
        let stop = start + dice.between(H, 30 * H);
        baby.episodes.push((start, Some(stop)));
    }
    baby.marks.extend([at, at + 6 * H, at + 30 * H, at + 30 * H]);
    baby.stay_ending_near(dice, &[at, at + 6 * H], at + 1, at + 60 * H);
}
