//! A serum at the line, its result, and the treatment.

use super::super::dice::Dice;
use super::super::timeline::{Draw, H, Timeline, either, some_value, umol};

/// A serum above, at or just below the line; its versions; the course that follows, or none.
pub fn tell(dice: &mut Dice, baby: &mut Timeline) {
    let at = if dice.chance(20) {
        dice.near(336 * H)
    } else {
        dice.between(3 * H, 110 * H)
    };
    let line = baby.line_micro(at);
    let result = at + dice.pick(&[0, 20 * 60, H, H, 2 * H, 6 * H, 20 * H, -600]);
    let above = line + dice.between(1, 60) * 1_000_000;
    let below = line - dice.between(1, 40) * 1_000_000;
    let value = match dice.between(0, 12) {
        0 => umol(line),
        1 => umol(line + 1),
        2 => umol(line - 1),
        3 => (format!(">{}", umol(line).0), "umol/L".to_string()),
        4 => (format!("<{}", umol(line + 1).0), "umol/L".to_string()),
        5 => either(dice, below),
        _ => either(dice, above),
    };
    let earlier = match dice.between(0, 5) {
        0 => Some(either(dice, above)),
        1 => Some(either(dice, below)),
        2 => Some(umol(dice.near(line))),
        _ => None,
    };
    baby.draws.push(Draw {
        at,
        result_lag: (!dice.chance(6)).then_some(result - at),
        value,
        earlier,
    });
    if dice.chance(30) {
        let again = at + dice.around(&[0, H], -20 * H, 20 * H);
        let value = umol(dice.near(baby.line_micro(again)) + dice.pick(&[0, 0, 20_000_000]));
        baby.draw(dice, again, value);
    }
    if dice.chance(72) {
        let edges = [result + 6 * H, result + 24 * H, at, result, at + 12 * H];
        let start = dice.around(&edges, at - H, result + 30 * H);
        let stop = start + dice.between(H, 40 * H);
        let is_running = dice.chance(10);
        baby.episodes.push((start, (!is_running).then_some(stop)));
        baby.marks.push(start);
    }
    if dice.chance(15) {
        // A course before it, that ends or starts about then.
        let start = at - dice.pick(&[0, 1, 5 * H]);
        let stop = dice.around(&[at], at - 8 * H, at + 10 * H).max(start);
        baby.episodes.push((start, Some(stop)));
    }
    if dice.chance(20) {
        let value = some_value(dice, 120, 240);
        baby.screens.push((at - dice.between(0, 3 * H), value));
    }
    baby.marks.extend([at, result, result + 24 * H, result + 24 * H]);
    let edges = [result, result + 6 * H];
    baby.stay_ending_near(dice, &edges, at + 1, at + 90 * H);
}
