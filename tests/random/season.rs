//! The two months of an extract, their clock change and where the data ends.

use jiff::Timestamp;
use jiff::civil::date;
use jiff::tz::TimeZone;

use super::dice::Dice;

const DAY_S: i64 = 86_400;

/// What a clock does in the season.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Change {
    /// An hour is missing after this instant.
    Spring(i64),
    /// The hour before this instant is repeated after it.
    Autumn(i64),
    /// None.
    Quiet,
}

/// When everything happens.
pub struct Season {
    /// The zone.
    pub zone: TimeZone,
    /// Local beginnings of the first month, of the second, and of the one after.
    pub month_starts: [i64; 3],
    /// The clock change.
    pub change: Change,
    /// The intended data end.
    pub data_end: i64,
    /// When set, the last birth of the first month; data end is 28 days after it, or a second
    /// off.
    pub last_birth: Option<i64>,
}

/// The first month a seed stands for: March, October or July.
pub fn first_month(seed: u64) -> (i16, i8) {
    match seed % 3 {
        0 => (2026, 3),
        1 => (2026, 10),
        _ => (2026, 7),
    }
}

/// The season of a seed.
pub fn season(seed: u64, dice: &mut Dice) -> Season {
    let zone = TimeZone::get("Europe/London").expect("a bundled time zone");
    let (year, month) = first_month(seed);
    let start = |month: i8| {
        let midnight = date(year, month, 1).at(0, 0, 0, 0);
        let zoned = zone.to_timestamp(midnight);
        zoned.expect("midnights exist here").as_second()
    };
    let month_starts = [start(month), start(month + 1), start(month + 2)];
    let change = match seed % 3 {
        0 => Change::Spring(1_774_746_000),
        1 => Change::Autumn(1_792_890_000),
        _ => Change::Quiet,
    };
    let mut last_birth = None;
    let mut data_end = dice.between(month_starts[1] + 12 * DAY_S, month_starts[2] + 6 * DAY_S);
    if dice.chance(35) {
        let born = dice.between(month_starts[1] - 3 * DAY_S, month_starts[1] - 3600);
        last_birth = Some(born);
        let edge = born + 28 * DAY_S;
        data_end = dice.pick(&[edge, edge, edge - 1, edge + 1]);
    }
    Season {
        zone,
        month_starts,
        change,
        data_end,
        last_birth,
    }
}

impl Season {
    /// A birth for a baby whose story has these noteworthy ages: often so that one of them
    /// falls on data end, on the clock change or on a month's beginning, to the second.
    pub fn birth(&self, dice: &mut Dice, marks: &[i64]) -> i64 {
        let mark = dice.pick(marks);
        let (start, end) = (self.month_starts[0] - 3 * DAY_S, self.data_end);
        let born = match dice.weighted(&[(26, 0), (25, 1), (15, 2), (9, 3), (17, 4), (8, 5)]) {
            1 => dice.near(end) - mark,
            2 => match self.change {
                Change::Spring(at) | Change::Autumn(at) => {
                    dice.around(&[at, at - 3600, at + 3600], at - 5400, at + 5400) - mark
                }
                Change::Quiet => dice.between(start, end),
            },
            3 => {
                let month = dice.pick(&self.month_starts[..2]);
                dice.near(month) - mark
            }
            5 => {
                let edge = self.local_edge(dice);
                dice.near(edge) - mark
            }
            4 => dice.between(end - 6 * DAY_S, end + DAY_S),
            _ => dice.between(start, end - DAY_S),
        };
        match self.last_birth {
            Some(last) if born > last && born < self.month_starts[1] => born + 4 * DAY_S,
            _ => born,
        }
    }

    /// A local midnight of the season, or the moment at which a local day or night begins.
    fn local_edge(&self, dice: &mut Dice) -> i64 {
        let (start, end) = (self.month_starts[0], self.data_end);
        let instant = Timestamp::from_second(dice.between(start, end)).expect("an instant of this century");
        let hour = dice.pick(&[0, 8, 20]);
        let local = self.zone.to_datetime(instant).date().at(hour, 0, 0, 0);
        let at = self.zone.to_timestamp(local);
        at.expect("these hours exist here").as_second()
    }
}
