//! The kinds of story a baby can have.

mod above_line;
mod coverage;
mod first_day;
mod going_home;
mod near_line;
mod outpatient;
mod pairs;
mod readmission;
mod redrawn;
mod referral;
mod rising;
mod severe;
mod treatment;

use super::dice::Dice;
use super::timeline::{H, Timeline, some_value};

/// One baby's story of a random kind; some have two.
pub fn story(dice: &mut Dice) -> Timeline {
    let mut baby = Timeline::new(dice);
    let kinds = [
        (22, 0),
        (17, 1),
        (16, 2),
        (10, 3),
        (10, 4),
        (3, 5),
        (6, 6),
        (3, 7),
        (9, 8),
        (14, 9),
        (9, 10),
        (10, 11),
        (14, 12),
        (6, 13),
        (5, 14),
        (8, 15),
    ];
    match dice.weighted(&kinds) {
        0 => referral::tell(dice, &mut baby),
        1 => treatment::tell(dice, &mut baby),
        2 => near_line::tell(dice, &mut baby),
        3 => first_day::tell(dice, &mut baby),
        4 => readmission::tell(dice, &mut baby),
        6 => referral::leave(dice, &mut baby),
        7 => treatment::in_two_stays(dice, &mut baby),
        8 => coverage::tell(dice, &mut baby),
        9 => above_line::tell(dice, &mut baby),
        10 => {
            match dice.between(0, 4) {
                0 => referral::tell(dice, &mut baby),
                1 => above_line::tell(dice, &mut baby),
                _ => {}
            }
            severe::tell(dice, &mut baby);
        }
        11 => pairs::tell(dice, &mut baby),
        12 => going_home::tell(dice, &mut baby),
        13 => rising::tell(dice, &mut baby),
        14 => outpatient::tell(dice, &mut baby),
        15 => redrawn::tell(dice, &mut baby),
        _ => quiet(dice, &mut baby),
    }
    if dice.chance(20) {
        readmission::come_back(dice, &mut baby);
    }
    if dice.chance(5) {
        before_birth(dice, &mut baby);
    }
    baby
}

fn quiet(dice: &mut Dice, baby: &mut Timeline) {
    let at = dice.between(25 * H, 60 * H);
    let value = some_value(dice, 20, 150);
    baby.screens.push((at, value));
    baby.stay_ending_near(dice, &[48 * H], 24 * H, 90 * H);
}

/// Tests at 15 min before birth and a second to either side.
fn before_birth(dice: &mut Dice, baby: &mut Timeline) {
    let at = dice.near(-900);
    let value = some_value(dice, 30, 90);
    baby.screens.push((at, value.clone()));
    let at = dice.near(-900);
    baby.draw(dice, at, value);
}
