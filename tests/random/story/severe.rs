//! Values at the bands of severe jaundice and the exchange line, and what comes of them.

use super::super::dice::Dice;
use super::super::timeline::{Admission, H, Timeline, Written, either, umol};

const BANDS_MICRO: [i64; 3] = [340_000_000, 425_000_000, 510_000_000];

const CODES: [&str; 7] = [
    "P57.9",
    "P59.9;P57.0",
    "p578",
    "P07.3; p57",
    "P59.9;P55.1",
    ";P57.9",
    "P59.9",
];

/// One or more serums at a band or the exchange line, up to 28 days of age.
pub fn tell(dice: &mut Dice, baby: &mut Timeline) {
    let mut at = if dice.chance(35) {
        dice.near(672 * H)
    } else {
        dice.between(10 * H, 200 * H)
    };
    baby.stay_ending_near(dice, &[at, 48 * H], 24 * H, at.min(90 * H) + 30 * H);
    for _ in 0..dice.pick(&[1, 1, 2, 3]) {
        let value = value(dice, baby, at);
        baby.draw(dice, at, value);
        baby.marks.push(at);
        at += dice.between(H, 30 * H);
    }
    if dice.chance(40) {
        let first = dice.around(&[at], at - 30 * H, at + 20 * H).max(0);
        baby.exchanges.push(first);
        baby.marks.push(first);
        if dice.chance(30) {
            baby.exchanges.push(first + dice.pick(&[0, 10 * H]));
        }
    }
    if dice.chance(50) {
        let mut stay = Admission::new(at, Some(at + 50 * H), dice.pick(&["home", "", "transfer"]), "home");
        stay.diagnoses = dice.pick(&CODES);
        baby.stays.push(stay);
        baby.marks.push(at);
    }
    if dice.chance(10)
        && let Some(stay) = baby.stays.first_mut()
    {
        stay.diagnoses = dice.pick(&CODES);
    }
}

fn value(dice: &mut Dice, baby: &Timeline, at: i64) -> Written {
    if dice.chance(35) {
        let exchange = dice.near(baby.exchange_line_micro(at));
        return either(dice, exchange);
    }
    let limit = dice.pick(&BANDS_MICRO);
    let near = dice.near(limit);
    match dice.between(0, 10) {
        0 => (format!(">{}", umol(limit).0), "umol/L".to_string()),
        1 => (format!("<{}", umol(limit + 1).0), "umol/L".to_string()),
        2 => (format!(">{}", umol(limit - 1).0), "umol/L".to_string()),
        3..7 => umol(near),
        _ => {
            let more = limit + dice.between(-60, 60) * 1_000_000;
            either(dice, more)
        }
    }
}
