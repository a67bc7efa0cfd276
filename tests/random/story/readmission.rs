//! Going home and coming back.

use super::super::dice::Dice;
use super::super::timeline::{Admission, H, Timeline, some_value};

const CODES: [&str; 11] = [
    "P59.9",
    "P59.9;P07.3",
    "p599",
    "P59.1",
    "P59.20",
    "P55.1",
    "P58.2",
    "P57.9",
    "P07.3;P59.9",
    "P07.3",
    "",
];

/// A plain birth stay, home, and back.
pub fn tell(dice: &mut Dice, baby: &mut Timeline) {
    if dice.chance(80) {
        let home = dice.between(24 * H, 90 * H);
        let stay = Admission::new(0, Some(home), dice.pick(&["birth", "birth", ""]), "home");
        baby.stays.push(stay);
        baby.marks.push(home);
    } else {
        baby.stay_ending_near(dice, &[48 * H], 24 * H, 90 * H);
    }
    come_back(dice, baby);
}

/// A later stay, at the edges of 7, 14 and 28 days.
pub fn come_back(dice: &mut Dice, baby: &mut Timeline) {
    let after = baby.stays.iter().filter_map(|stay| stay.to).max();
    let after = after.unwrap_or(48 * H);
    let edges = [168 * H, 336 * H, 672 * H, after];
    let admitted = dice.around(&edges, after, after + 300 * H).max(after);
    let is_open = dice.chance(12);
    let ends = admitted + dice.between(2 * H, 60 * H);
    let mut stay = Admission::new(
        admitted,
        (!is_open).then_some(ends),
        dice.weighted(&[(7, "home"), (2, ""), (2, "transfer")]),
        if is_open {
            ""
        } else {
            dice.weighted(&[(8, "home"), (2, "transfer"), (1, "died"), (1, "")])
        },
    );
    stay.diagnoses = dice.pick(&CODES);
    let goes_on = stay.disposition == "transfer" && dice.chance(70);
    baby.stays.push(stay);
    baby.marks.extend([admitted, ends]);
    if goes_on {
        let next = ends + dice.around(&[6 * H], H, 7 * H);
        let mut stay = Admission::new(next, Some(next + 20 * H), "transfer", "home");
        stay.diagnoses = dice.pick(&CODES);
        baby.stays.push(stay);
    }
    if dice.chance(40) {
        let start = dice.around(&[admitted, ends], admitted, ends);
        let stop = start + dice.between(H, 30 * H);
        let is_running = dice.chance(15);
        baby.episodes.push((start, (!is_running).then_some(stop)));
        let value = some_value(dice, 250, 400);
        baby.draw(dice, start, value);
    }
}
