//! Courses of phototherapy and the serums around them.

use super::super::dice::Dice;
use super::super::timeline::{Admission, H, Timeline, some_value};
use super::referral::calling_value;

/// A course, its checks, perhaps a second episode, and screens during and after it.
pub fn tell(dice: &mut Dice, baby: &mut Timeline) {
    let start = dice.between(20 * H, 100 * H);
    let length = dice.around(&[4 * H, 16 * H, 24 * H], H, 60 * H);
    let stop = if dice.chance(2) { start } else { start + length };
    let is_open = dice.chance(24);
    baby.episodes.push((start, (!is_open).then_some(stop)));
    checks_in_course(dice, baby, start);
    checks_after(dice, baby, stop);
    if dice.chance(40) {
        another_episode(dice, baby, start, stop);
    }
    for _ in 0..dice.between(0, 3) {
        let at = dice.around(&[start, stop, stop + 24 * H], start - 20 * H, stop + 30 * H);
        let value = calling_value(dice, baby, at);
        baby.screens.push((at, value));
    }
    baby.marks.extend([start, stop]);
    baby.marks
        .extend([start + 30 * H, stop + 18 * H, stop + 42 * H, stop + 60 * H]);
    let mut edges = vec![start, start + 6 * H, start + 12 * H, stop, stop + 18 * H, stop + 36 * H];
    if let Some(last) = baby.draws.last().map(|draw| draw.at) {
        edges.extend([last, last + 12 * H]);
        baby.marks.push(last + 36 * H);
    }
    baby.stay_ending_near(dice, &edges, start + H, stop + 60 * H);
    if dice.chance(8) {
        // An assumed stop and a recorded one at the same second.
        let end = baby.stays.first().and_then(|stay| stay.to);
        if let Some(end) = end.filter(|end| *end > start) {
            baby.episodes.push((start.max(end - 2 * H), Some(end)));
            baby.episodes.push((start, None));
        }
    }
}

/// A course without a stop, and a screen that calls for serum, inside two stays at once.
pub fn in_two_stays(dice: &mut Dice, baby: &mut Timeline) {
    let start = dice.between(40 * H, 90 * H);
    let begins = start - dice.between(H, 30 * H);
    let ends = [start + dice.between(H, 9 * H), start + dice.between(H, 40 * H)];
    for (from, to) in [(0, ends[0]), (begins, ends[1])] {
        let disposition = dice.pick(&["home", "home", "", "died"]);
        let source = if from == 0 { "birth" } else { "" };
        let stay = Admission::new(from, Some(to), source, disposition);
        baby.stays.push(stay);
    }
    let index = start - dice.between(0, H);
    baby.screens.push((index, some_value(dice, 260, 330)));
    baby.episodes.push((start, None));
    checks_in_course(dice, baby, start);
    baby.marks.extend([start, ends[0], ends[1]]);
}

fn checks_in_course(dice: &mut Dice, baby: &mut Timeline, start: i64) {
    let mut at = start + dice.around(&[H, 4 * H, 6 * H, 12 * H, 30 * H, 36 * H], 0, 20 * H);
    for _ in 0..dice.pick(&[0, 1, 1, 2, 3, 4]) {
        let value = some_value(dice, 120, 360);
        baby.draw(dice, at, value);
        baby.marks.push(at + 36 * H);
        at += dice.around(&[H, 12 * H, 36 * H], 2 * H, 20 * H);
    }
}

fn checks_after(dice: &mut Dice, baby: &mut Timeline, stop: i64) {
    for _ in 0..dice.between(0, 3) {
        let edges = [0, H, 12 * H, 18 * H, 24 * H, 36 * H, 42 * H, 60 * H, -12 * H];
        let at = stop + dice.around(&edges, 0, 62 * H);
        let value = some_value(dice, 80, 300);
        if dice.chance(25) {
            baby.screens.push((at, value));
        } else {
            baby.draw(dice, at, value);
        }
    }
}

/// Overlapping, within six hours, just outside, or a new course at an edge of the rebound.
fn another_episode(dice: &mut Dice, baby: &mut Timeline, start: i64, stop: i64) {
    let again = dice
        .around(
            &[stop + 6 * H, stop + 18 * H, stop + 36 * H, stop],
            start,
            stop + 38 * H,
        )
        .max(start);
    let ends = again + dice.between(H, 30 * H);
    let is_open = dice.chance(20);
    baby.episodes.push((again, (!is_open).then_some(ends)));
    baby.marks.extend([again, ends]);
    if dice.chance(40) {
        checks_after(dice, baby, ends);
    }
}
