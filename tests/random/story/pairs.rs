//! Screens and serums about an hour apart.

use super::super::dice::Dice;
use super::super::timeline::{H, Timeline, either, some_value, umol};

const MINUTE: i64 = 60;

/// A few of each, nearest, tied or just too far apart; some where the screen missed what the serum
/// found.
pub fn tell(dice: &mut Dice, baby: &mut Timeline) {
    let at = if dice.chance(20) {
        dice.near(24 * H)
    } else {
        dice.between(20 * H, 100 * H)
    };
    for _ in 0..dice.pick(&[1, 1, 2]) {
        let screen_at = at + dice.pick(&[0, 0, 1, 30 * MINUTE, 60 * MINUTE]);
        let value = low_or_due(dice, baby, screen_at);
        baby.screens.push((screen_at, value));
        let apart = dice.around(&[60 * MINUTE, 30 * MINUTE], 0, 70 * MINUTE).max(0);
        match dice.between(0, 4) {
            0 => serum(dice, baby, screen_at - apart),
            1 => serum(dice, baby, screen_at + apart),
            2 => {
                // Tied: one as long before as the other after.
                serum(dice, baby, screen_at - apart);
                serum(dice, baby, screen_at + apart);
            }
            _ => {
                // Two of one second.
                serum(dice, baby, screen_at + apart);
                serum(dice, baby, screen_at + apart);
            }
        }
    }
    if dice.chance(20) {
        let stop = dice.near(at - 24 * H);
        baby.episodes.push((stop - 5 * H, Some(stop)));
    }
    if dice.chance(8) {
        baby.episodes.push((dice.near(at), Some(at + 9 * H)));
    }
    baby.marks.extend([at, at + 60 * MINUTE]);
    baby.stay_ending_near(dice, &[at], at + H, at + 40 * H);
}

/// Below what calls for a serum, at it, or with a bound.
fn low_or_due(dice: &mut Dice, baby: &Timeline, at: i64) -> (String, String) {
    let line = baby.line_micro(at);
    match dice.between(0, 12) {
        0 => (">200".to_string(), "umol/L".to_string()),
        1 => ("<200".to_string(), "umol/L".to_string()),
        2 => umol(dice.near(line)),
        3 => umol(dice.near(line - 51_300_000)),
        _ => {
            let below = line - dice.between(5, 80) * 1_000_000;
            either(dice, below)
        }
    }
}

fn serum(dice: &mut Dice, baby: &mut Timeline, at: i64) {
    let line = baby.line_micro(at);
    let value = match dice.between(0, 8) {
        0 => umol(dice.near(line)),
        1 => (format!(">{}", umol(line).0), "umol/L".to_string()),
        2..5 => some_value(dice, 80, 320),
        _ => {
            let above = line + dice.between(0, 50) * 1_000_000;
            either(dice, above)
        }
    };
    baby.draw(dice, at, value);
}
