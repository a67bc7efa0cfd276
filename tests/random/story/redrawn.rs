//! Specimens that fail, and what comes of them.

use super::super::dice::Dice;
use super::super::timeline::{Admission, H, Timeline, some_value};

/// A failed specimen or two, redrawn or not within 24 h, with the baby leaving meanwhile or not,
/// and perhaps back again.
pub fn tell(dice: &mut Dice, baby: &mut Timeline) {
    let failed = dice.between(10 * H, 200 * H);
    baby.attempts.push(failed);
    baby.marks.extend([failed, failed + 24 * H]);
    let mut edges = vec![failed, failed + 24 * H];
    if dice.chance(25) {
        baby.attempts.push(failed + dice.between(0, 4 * H));
    }
    if dice.chance(65) {
        let at = failed + dice.around(&[0, 24 * H], 0, 25 * H);
        let value = some_value(dice, 80, 260);
        baby.draw(dice, at, value);
        baby.marks.push(at);
        edges.push(at);
    }
    if dice.chance(70) {
        baby.stay_ending_near(dice, &edges, failed, failed + 30 * H);
        return;
    }
    // Gone soon, and back about 24 h after the specimen, in a chain of its own or not.
    let gone = failed + dice.between(0, 10 * H);
    let disposition = dice.pick(&["transfer", "transfer", "", "home"]);
    let back = dice.around(&[failed + 24 * H, gone + 6 * H], gone, failed + 25 * H);
    let source = dice.pick(&["home", "transfer", ""]);
    let ends = back + dice.between(0, 30 * H);
    let then = dice.pick(&["home", "home", "transfer", "", "died"]);
    baby.stays.push(Admission::new(0, Some(gone), "birth", disposition));
    baby.stays.push(Admission::new(back, Some(ends), source, then));
    baby.marks.extend([gone, gone + 6 * H, back, ends]);
}
