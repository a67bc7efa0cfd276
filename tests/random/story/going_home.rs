//! The last test before going home, and the recheck after it.

use super::super::dice::Dice;
use super::super::timeline::{Admission, H, Timeline, either, some_value};
use oracle::Rules;

/// The gaps at which a band begins or ends, and between, in hundredths of a mg/dL.
const EDGES_CENTI_MG_DL: [i64; 10] = [5, 10, 190, 195, 200, 340, 345, 350, 540, 545];

/// A hundredth of a mg/dL in micro-umol/L.
const CENTI_MG_DL: i64 = 171_000;

/// A last test at an edge of the gap or of age, perhaps another of the same second, and rechecks.
pub fn tell(dice: &mut Dice, baby: &mut Timeline) {
    if dice.chance(80) {
        baby.gestation = dice.pick(&["35+0", "36+5", "38", "40+1", "41", "34+6", ""]);
        baby.rules = Rules::aap();
    }
    let home = dice.between(13 * H, 90 * H);
    let at = if dice.chance(15) {
        dice.near(12 * H)
    } else {
        dice.around(&[home, home - H], 6 * H, home)
    };
    let gap = dice.pick(&EDGES_CENTI_MG_DL) * CENTI_MG_DL;
    let gap = match dice.between(0, 3) {
        0 => dice.near(gap),
        1 => dice.near(gap) + dice.pick(&[-CENTI_MG_DL, CENTI_MG_DL]),
        _ => dice.between(0, 600) * CENTI_MG_DL,
    };
    let mut value = either(dice, baby.line_micro(at) - gap);
    if dice.chance(6) {
        value.0.insert(0, dice.pick(&['<', '>']));
    }
    let is_serum = dice.chance(45);
    if is_serum {
        baby.draw(dice, at, value);
    } else {
        baby.screens.push((at, value));
    }
    if dice.chance(20) {
        // Another of the same second, or one earlier.
        let other = at - dice.pick(&[0, 0, 1, 5 * H]);
        let below = baby.line_micro(other) - dice.between(0, 600) * CENTI_MG_DL;
        let value = either(dice, below);
        if dice.chance(50) {
            baby.draw(dice, other, value);
        } else {
            baby.screens.push((other, value));
        }
    }
    for _ in 0..dice.pick(&[0, 1, 1, 2]) {
        let recheck = at + dice.around(&[H, 24 * H, 24 * H, 48 * H, 72 * H], 0, 75 * H);
        let value = some_value(dice, 60, 300);
        if dice.chance(50) {
            baby.draw(dice, recheck, value);
        } else {
            baby.screens.push((recheck, value));
        }
    }
    if dice.chance(12) {
        let start = dice.around(&[home, 0], 0, home + 3 * H);
        baby.episodes.push((start, Some(start + 6 * H)));
    }
    baby.marks.extend([at, home, at + 48 * H, at + 72 * H]);
    if dice.chance(85) {
        baby.stays.push(Admission::new(
            0,
            Some(home),
            dice.pick(&["birth", "birth", ""]),
            "home",
        ));
    } else {
        baby.stay_ending_near(dice, &[at, home], H, home + 20 * H);
    }
}
