//! What sets a row aside, and what it says otherwise.

use super::facts::{Birth, Born, Episode, Exchange, Fact, MeterCheck, Reading, Screen, Serum, Status, Stay};
use super::moment::{When, Zone};
use super::read::Cells;
use super::value::{self, read as read_value};

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
        "exchanges" => exchange(cells, zone).map(Fact::Exchange),
        "meter_checks" => meter_check(cells, zone).map(Fact::MeterCheck),
        _ => None,
    }
}

/// "A reading set aside for its unit was still taken": the reading of a row of `screens` whose
/// value has no unit, an unknown one, or lies outside the bounds, and of which all else up to the
/// value can be read (choice 34).
pub fn reading_without_value(cells: &Cells, zone: &Zone) -> Option<Reading> {
    let names_all = !cells.get("screen_id").is_empty() && !cells.get("infant_id").is_empty();
    if !names_all || is_withdrawn("screens", cells) {
        return None;
    }
    optional_moment(cells.get("recorded_at"), zone)?;
    let at = moment(cells.get("measured_at"), zone)?;
    if read_value(cells.get("value"), cells.get("unit_of_measure")) != value::Reading::Refused {
        return None;
    }
    Some(Reading {
        screen_id: cells.get("screen_id").to_string(),
        meter_id: cells.get("meter_id").to_string(),
        at,
        unit: unit(cells),
    })
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
        feeding: word(cells, "feeding"),
        risk_factors: word(cells, "risk_factors")
            .split(';')
            .map(|factor| factor.trim().to_string())
            .collect(),
        skin_tone: word(cells, "skin_tone"),
        ethnicity: cells.get("ethnicity").to_string(),
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
    let value::Reading::Value(value) = read_value(cells.get("value"), cells.get("unit_of_measure")) else {
        return None;
    };
    Some(Screen {
        id: cells.get("screen_id").to_string(),
        at: moment(cells.get("measured_at"), zone)?,
        value,
        body_site: word(cells, "body_site"),
        readings: count(cells.get("readings"))?,
        meter_id: cells.get("meter_id").to_string(),
        id_entry: word(cells, "id_entry"),
        setting: word(cells, "setting"),
        unit: unit(cells),
    })
}

/// "A serum row without a number (empty or words) is an attempt and needs no unit."
fn serum(cells: &Cells, zone: &Zone) -> Option<Serum> {
    let value = match read_value(cells.get("value"), cells.get("unit_of_measure")) {
        value::Reading::NoNumber => None,
        value::Reading::Refused => return None,
        value::Reading::Value(value) => Some(value),
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
        told: Vec::new(),
        unit: unit(cells),
    })
}

/// "A LOINC code like 14631-6" (choice 11): digits, a dash, one digit.
pub fn is_loinc(text: &str) -> bool {
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
    let codes = cells.get("diagnoses").split(';');
    Some(Stay {
        id: cells.get("stay_id").to_string(),
        admitted,
        discharged,
        source: source.to_string(),
        disposition: disposition.to_string(),
        codes: codes.map(|code| code.trim().to_string()).collect(),
    })
}

fn exchange(cells: &Cells, zone: &Zone) -> Option<Exchange> {
    Some(Exchange {
        id: cells.get("exchange_id").to_string(),
        at: moment(cells.get("performed_at"), zone)?,
    })
}

/// "`outcome` pass|fail."
fn meter_check(cells: &Cells, zone: &Zone) -> Option<MeterCheck> {
    Some(MeterCheck {
        id: cells.get("check_id").to_string(),
        meter_id: cells.get("meter_id").to_string(),
        at: moment(cells.get("checked_at"), zone)?,
        passed: match cells.get("outcome") {
            "pass" => true,
            "fail" => false,
            _ => return None,
        },
    })
}

/// A descriptive word, in lower case.
fn word(cells: &Cells, column: &str) -> String {
    cells.get(column).to_lowercase()
}

/// A whole number that may be missing; the outer `None` is a cell that cannot be read.
fn count(text: &str) -> Option<Option<i64>> {
    if text.is_empty() {
        return Some(None);
    }
    let plain = text.bytes().all(|byte| byte.is_ascii_digit());
    text.parse().ok().filter(|_| plain).map(Some)
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
