//! Screens that call for a serum, or just do not, and what follows.

use super::super::dice::Dice;
use super::super::timeline::{Admission, H, Timeline, Written, either, some_value, umol};

/// A due screen, perhaps more of them, perhaps answered.
pub fn tell(dice: &mut Dice, baby: &mut Timeline) {
    let index = if dice.chance(12) {
        dice.near(24 * H)
    } else {
        dice.between(25 * H, 110 * H)
    };
    let value = calling_value(dice, baby, index);
    baby.screens.push((index, value));
    baby.marks.extend([index, index + 6 * H, index + 24 * H]);
    let mut edges = vec![index, index + 6 * H, index + 24 * H];

    if dice.chance(66) {
        let at = index + dice.around(&[-H, 0, 6 * H, 24 * H], -H, 25 * H);
        let value = some_value(dice, 80, 320);
        if dice.chance(12) {
            let resulted = dice.near(index + 24 * H);
            baby.draw_resulted_at(at, resulted, value);
            baby.marks.push(resulted);
        } else {
            baby.draw(dice, at, value);
        }
        baby.marks.push(at);
        edges.push(at);
    }
    if dice.chance(20) {
        let at = index + dice.around(&[-H, 24 * H], 0, 20 * H);
        baby.attempts.push(at);
    }
    if dice.chance(32) {
        another_screen(dice, baby, index);
    }
    if dice.chance(5) {
        // Two screens of one second are ordered by id.
        let value = some_value(dice, 255, 330);
        baby.screens.push((index, value));
    }
    if dice.chance(10) {
        let start = index - dice.between(30 * H, 50 * H);
        let stop = index - 24 * H;
        baby.episodes.push((start, Some(dice.near(stop))));
    }
    baby.stay_ending_near(dice, &edges, index + H, index + 90 * H);
}

/// A due screen without a serum, then gone within the window: noteworthy is only the moment from
/// which that is known.
pub fn leave(dice: &mut Dice, baby: &mut Timeline) {
    baby.gestation = dice.pick(&["38+3", "40"]);
    let index = dice.between(30 * H, 80 * H);
    baby.screens.push((index, some_value(dice, 260, 330)));
    let ends = dice.between(index + 1, index + 6 * H);
    let (disposition, known) = dice.pick(&[
        ("transfer", ends + 6 * H),
        ("transfer", ends + 6 * H),
        ("died", ends),
        ("", ends),
    ]);
    if dice.chance(30) {
        let start = dice.between(index + 1, ends + 1);
        baby.episodes.push((start, None));
    }
    let stay = Admission::new(0, Some(ends), "birth", disposition);
    baby.stays.push(stay);
    baby.marks = vec![known];
}

/// A further due screen about 24 h after the one before, with or without a serum between.
fn another_screen(dice: &mut Dice, baby: &mut Timeline, previous: i64) {
    let this = if dice.chance(50) {
        previous + dice.between(2 * H, 23 * H)
    } else {
        dice.near(previous + 24 * H)
    };
    let value = some_value(dice, 255, 340);
    baby.screens.push((this, value));
    baby.marks.push(this);
    if dice.chance(65) {
        let at = dice.around(&[previous - H, this - H], previous, this);
        let value = some_value(dice, 80, 320);
        baby.draw(dice, at, value);
    }
    if dice.chance(25) {
        another_screen(dice, baby, this);
    }
}

/// Mostly well above the limit; otherwise right at one of the clauses.
pub fn calling_value(dice: &mut Dice, baby: &Timeline, at: i64) -> Written {
    let write = |value: &str, unit: &str| (value.to_string(), unit.to_string());
    match dice.between(0, 32) {
        0 => write("250", "umol/L"),
        1 => write("250.000001", "umol/L"),
        2 => write("250.0000005", "umol/L"),
        3 => write("250.0000004", "umol/L"),
        4 => write("14.6198831", "mg/dL"),
        5 => write("14.6198830409", "mg/dL"),
        6 => write(">340", "umol/L"),
        7 => write(">100", "umol/L"),
        8 => write(">250", "umol/L"),
        9 => write("<260", "umol/L"),
        10 => write("<10", "umol/L"),
        11 => write(">19.9", "mg/dL"),
        12..15 => umol(dice.near(baby.line_micro(at))),
        15 => write("249.999999", "umol/L"),
        16 => write("<250.000001", "umol/L"),
        17 => write("15", "mg/dL"),
        18 => umol(dice.near(256_500_000)),
        19 => write("<15.0", "mg/dL"),
        20..23 => {
            let three_below = dice.near(baby.line_micro(at) - 51_300_000);
            either(dice, three_below)
        }
        _ => some_value(dice, 255, 345),
    }
}
