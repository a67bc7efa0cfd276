//! Moments as the files write them.

use jiff::Timestamp;
use jiff::tz::Offset;

use super::dice::Dice;
use super::season::{Change, Season};

/// A moment in one of the spellings: mostly local time without an offset, to the second.
pub fn moment(dice: &mut Dice, season: &Season, at: i64) -> String {
    let instant = Timestamp::from_second(at).expect("an instant of this century");
    let local = season.zone.to_datetime(instant);
    let clock = |separator: char| {
        format!(
            "{:04}-{:02}-{:02}{separator}{:02}:{:02}:{:02}",
            local.year(),
            local.month(),
            local.day(),
            local.hour(),
            local.minute(),
            local.second()
        )
    };
    let minutes = season.zone.to_offset(instant).seconds() / 60;
    let with_offset = |colon: &str| {
        let offset = format!("+{:02}{colon}{:02}", minutes / 60, minutes % 60);
        format!("{}{offset}", clock('T'))
    };
    match season.change {
        // Half of the moments in the two repeated hours say which of them they mean.
        Change::Autumn(change) if (at - change).abs() <= 3600 && dice.chance(50) => {
            return with_offset(":");
        }
        // A clock nobody has put forward shows times in the missing hour.
        Change::Spring(change) if (0..3600).contains(&(at - change)) && dice.chance(60) => {
            return unchanged_clock(instant);
        }
        _ => {}
    }
    match dice.between(0, 40) {
        0 => with_offset(":"),
        1 => with_offset(""),
        2 => {
            let utc = Offset::UTC.to_datetime(instant);
            format!("{utc}Z")
        }
        3 => format!("{}.999", clock('T')),
        4..7 => clock(' '),
        7..20 if local.second() == 0 => clock('T')[..16].to_string(),
        _ => clock('T'),
    }
}

fn unchanged_clock(instant: Timestamp) -> String {
    let utc = Offset::UTC.to_datetime(instant);
    utc.strftime("%Y-%m-%dT%H:%M:%S").to_string()
}

/// The local date alone.
pub fn day(season: &Season, at: i64) -> String {
    let instant = Timestamp::from_second(at).expect("an instant of this century");
    season.zone.to_datetime(instant).date().to_string()
}
