//! What sets a row aside, and what it says otherwise.

use super::facts::{Birth, Born, Episode, Fact, Screen, Serum, Status, Stay};
use super::moment::{When, Zone};
use super::read::Cells;
use super::value::{Reading, read as read_value};

/// The row's fact, or `None` when it has to be set aside: "unreadable or missing time, a date
/// without a time where a moment is needed", a missing id, an unknown word, an implausible
/// value or unknown unit, stop before start, discharge before admission.
///
/// A test before birth is not seen here: that needs the birth register.
pub fn judge(table: &str, id_column: &str, cells: &Cells, zone: &Zone) -> Option<Fact> {
    if cells.get(id_column).is_empty() {
        return None;
    }
    if is_withdrawn(table, cells) {
        return Some(Fact::Withdrawn);
    }
    if table != "meter_checks" && cells.get("infant_id").is_empty() {
        return None;
    }
    optional_moment(cells.get("recorded_at"), zone)?;
    match table {
        "births" => birth(cells, zone).map(Fact::Birth),
        "screens" => screen(cells, zone).map(Fact::Screen),
        "serum" => serum(cells, zone).map(Fact::Serum),
        "phototherapy" => episode(cells, zone).map(Fact::Episode),
        "stays" => stay(cells, zone).map(Fact::Stay),
        "exchanges" => moment(cells.get("performed_at"), zone).map(|_| Fact::Other),
        "meter_checks" if cells.get("meter_id").is_empty() => None,
        "meter_checks" => moment(cells.get("checked_at"), zone).map(|_| Fact::Other),
        _ => None,
    }
}

/// "`record_status` withdrawn, or serum status withdrawn" (choice 12); such a row needs only
/// its id.
fn is_withdrawn(table: &str, cells: &Cells) -> bool {
    cells.get("record_status") == "withdrawn" || (table == "serum" && cells.get("status") == "withdrawn")
}

/// "A birth known by date only": the one time that may lack its time of day.
fn birth(cells: &Cells, zone: &Zone) -> Option<Birth> {
    Some(Birth {
        born: match zone.read(cells.get("born_at"))? {
            When::Moment(at) => Born::At(at),
            When::Day(day) => Born::On(day),
        },
        gestation_days: gestation_days(cells.get("gestation"))?,
        unit: unit(cells),
        feeding: cells.get("feeding").to_string(),
        risk_factors: cells
            .get("risk_factors")
            .split(';')
            .map(|factor| factor.trim().to_string())
            .collect(),
    })
}

/// "`38+4` (weeks+days; a bare `38` is completed weeks)"; weeks 20 to 45, days 0 to 6. The
/// outer `None` is unreadable, the inner one unknown.
fn gestation_days(text: &str) -> Option<Option<i64>> {
    if text.is_empty() {
        return Some(None);
    }
    let (weeks, days) = text.split_once('+').unwrap_or((text, "0"));
    let plain = |digits: &str, most_digits: usize| -> Option<i64> {
        let all_digits = digits.bytes().all(|byte| byte.is_ascii_digit());
        if !all_digits || digits.len() > most_digits {
            return None;
        }
        digits.parse().ok()
    };
    let (weeks, days) = (plain(weeks, 2)?, plain(days, 1)?);
    if !(20..=45).contains(&weeks) || days > 6 {
        return None;
    }
    Some(Some(weeks * 7 + days))
}

/// "A screen without a number is set aside."
fn screen(cells: &Cells, zone: &Zone) -> Option<Screen> {
    let Reading::Value(value) = read_value(cells.get("value"), cells.get("unit_of_measure")) else {
        return None;
    };
    Some(Screen {
        id: cells.get("screen_id").to_string(),
        at: moment(cells.get("measured_at"), zone)?,
        value,
        unit: unit(cells),
    })
}

/// "A serum row without a number (empty or words) is an attempt and needs no unit."
fn serum(cells: &Cells, zone: &Zone) -> Option<Serum> {
    let value = match read_value(cells.get("value"), cells.get("unit_of_measure")) {
        Reading::NoNumber => None,
        Reading::Refused => return None,
        Reading::Value(value) => Some(value),
    };
    let is_total = match cells.get("analyte") {
        "total" | "1975-2" | "14631-6" | "77137-8" => true,
        "direct" => false,
        other if is_loinc(other) => false,
        _ => return None,
    };
    let specimen = cells.get("specimen");
    Some(Serum {
        id: cells.get("specimen_id").to_string(),
        at: moment(cells.get("collected_at"), zone)?,
        resulted_at: optional_moment(cells.get("resulted_at"), zone)?,
        value,
        is_total_in_serum: is_total && matches!(specimen, "" | "serum" | "plasma"),
        status: match cells.get("status") {
            "preliminary" => Status::Preliminary,
            "final" => Status::Final,
            "corrected" => Status::Corrected,
            "cancelled" => Status::Cancelled,
            _ => return None,
        },
        unit: unit(cells),
    })
}

/// "A LOINC code like 14631-6" (choice 11): digits, a dash, one digit.
fn is_loinc(text: &str) -> bool {
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    text.split_once('-')
        .is_some_and(|(number, check)| digits(number) && digits(check) && check.len() == 1)
}

/// "Set aside: stop before start."
fn episode(cells: &Cells, zone: &Zone) -> Option<Episode> {
    let start = moment(cells.get("started_at"), zone)?;
    let stop = optional_moment(cells.get("stopped_at"), zone)?;
    if stop.is_some_and(|stop| stop < start) {
        return None;
    }
    Some(Episode {
        id: cells.get("episode_id").to_string(),
        start,
        stop,
        unit: unit(cells),
    })
}

/// "Set aside: discharge before admission", and unknown words of source or disposition.
fn stay(cells: &Cells, zone: &Zone) -> Option<Stay> {
    let admitted = moment(cells.get("admitted_at"), zone)?;
    let discharged = optional_moment(cells.get("discharged_at"), zone)?;
    if discharged.is_some_and(|discharged| discharged < admitted) {
        return None;
    }
    let source = cells.get("source");
    let disposition = cells.get("disposition");
    if !matches!(source, "" | "birth" | "home" | "transfer")
        || !matches!(disposition, "" | "home" | "transfer" | "died")
    {
        return None;
    }
    let first_code = cells.get("diagnoses").split(';').next().unwrap_or("");
    Some(Stay {
        id: cells.get("stay_id").to_string(),
        admitted,
        discharged,
        source: source.to_string(),
        disposition: disposition.to_string(),
        first_code: first_code.trim().to_string(),
    })
}

/// "Missing unit = `unknown`" (choice 27).
fn unit(cells: &Cells) -> String {
    match cells.get("unit") {
        "" => "unknown".to_string(),
        unit => unit.to_string(),
    }
}

/// A moment that has to be there.
fn moment(text: &str, zone: &Zone) -> Option<i64> {
    match zone.read(text)? {
        When::Moment(at) => Some(at),
        When::Day(_) => None,
    }
}

/// A moment that may be missing; the outer `None` is a cell that says something unreadable.
fn optional_moment(text: &str, zone: &Zone) -> Option<Option<i64>> {
    if text.is_empty() {
        return Some(None);
    }
    moment(text, zone).map(Some)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gestation_words() {
        assert_eq!(gestation_days("38+4"), Some(Some(270)));
        assert_eq!(gestation_days("35"), Some(Some(245)));
        assert_eq!(gestation_days(""), Some(None));
        for wrong in ["19+6", "46", "38+7", "term", "38+", "+3"] {
            assert_eq!(gestation_days(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn loinc_codes() {
        assert!(is_loinc("14631-6"));
        for wrong in ["", "total-1", "14631", "14631-66", "-6"] {
            assert!(!is_loinc(wrong), "{wrong}");
        }
    }
}
