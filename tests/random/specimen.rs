//! Versions of screens and serums, within and across loads.

use super::baby::Writer;
use super::dice::Dice;
use super::extract::Line;
use super::timeline::{Draw, Written, some_value};

/// A screen: now and then overtaken by a later row, ordered by recorded time, or withdrawn.
pub fn write_screen(writer: &mut Writer, id: &str, age_s: i64, value: &Written) {
    let Some(load) = writer.load_of(age_s) else {
        return;
    };
    let line = writer
        .line("screens")
        .with("screen_id", id)
        .with("measured_at", writer.at(age_s))
        .with("value", value.0.clone())
        .with("unit_of_measure", value.1.clone())
        .with(
            "body_site",
            writer
                .dice
                .weighted(&[(4, "forehead"), (5, "sternum"), (1, "Sternum"), (2, "")]),
        )
        .with(
            "readings",
            writer.dice.weighted(&[(6, "3"), (3, "2"), (2, "1"), (1, "0"), (2, "")]),
        )
        .with("meter_id", writer.meter(age_s))
        .with(
            "id_entry",
            writer
                .dice
                .weighted(&[(8, "scanned"), (1, "typed"), (1, "Typed"), (2, "")]),
        )
        .with("setting", setting(writer.dice, age_s))
        .with("unit", writer.unit());
    let other = some_value(writer.dice, 100, 330);
    let other = line.clone().with("value", other.0).with("unit_of_measure", other.1);
    match writer.dice.between(0, 50) {
        0 => {
            let later = writer.this_or_later(load);
            writer.push(load, other);
            writer.push(later, line);
        }
        1 => {
            // The row that comes first was recorded last.
            let (early, late) = (writer.at(age_s + 60), writer.at(age_s + 3600));
            writer.push(load, line.with("recorded_at", late));
            let later = writer.this_or_later(load);
            writer.push(later, other.with("recorded_at", early));
        }
        2 => {
            writer.push(load, line.clone());
            let later = writer.this_or_later(load);
            // A withdrawal needs only the id.
            let bare = Line::new("screens").with("screen_id", id);
            let withdrawal = writer.dice.pick(&[line, bare]);
            writer.push(later, withdrawal.with("record_status", "withdrawn"));
        }
        _ => writer.push(load, line),
    }
}

/// Where a screen was taken; mostly at an outpatient clinic when the baby is older.
fn setting(dice: &mut Dice, age_s: i64) -> &'static str {
    if age_s > 5 * 86_400 {
        return dice.weighted(&[
            (6, "outpatient"),
            (1, "Outpatient"),
            (1, "home"),
            (1, "inpatient"),
            (2, ""),
        ]);
    }
    dice.weighted(&[(16, "inpatient"), (2, "outpatient"), (1, "home"), (2, "")])
}

/// A serum in one of the lives a result can have.
pub fn write_serum(writer: &mut Writer, id: &str, draw: &Draw) {
    let Some(load) = writer.load_of(draw.at) else {
        return;
    };
    let resulted_s = draw.result_lag.map(|lag| draw.at + lag);
    let resulted = resulted_s.map(|at| writer.at(at)).unwrap_or_default();
    let other = match &draw.earlier {
        Some(earlier) => earlier.clone(),
        None => some_value(writer.dice, 60, 330),
    };
    let base = writer
        .line("serum")
        .with("specimen_id", id)
        .with("collected_at", writer.at(draw.at))
        .with("resulted_at", resulted)
        .with("value", draw.value.0.clone())
        .with("unit_of_measure", draw.value.1.clone())
        .with(
            "analyte",
            writer.dice.weighted(&[
                (80, "total"),
                (6, "14631-6"),
                (4, "1975-2"),
                (3, "77137-8"),
                (3, "direct"),
                (2, "1968-7"),
            ]),
        )
        .with(
            "specimen",
            writer
                .dice
                .weighted(&[(60, "serum"), (15, "plasma"), (20, ""), (2, "urine"), (2, "cord")]),
        )
        .with("unit", writer.unit());
    let with_status = |status: &str| base.clone().with("status", status);
    let changed = |status: &str| {
        with_status(status)
            .with("value", other.0.clone())
            .with("unit_of_measure", other.1.clone())
    };
    let later = writer.this_or_later(load);
    let some_time_s = draw.at + writer.dice.pick(&[-600, 0, 1200, 6 * 3600, 30 * 3600]);
    let some_time = writer.at(some_time_s);
    let lives = if draw.earlier.is_some() { 17 } else { 60 };
    match writer.dice.between(0, lives) {
        0..4 => {
            let first = changed("preliminary").with("resulted_at", "");
            writer.push(load, first);
            writer.push(later, with_status("final"));
        }
        4..8 => {
            writer.push(load, changed("final"));
            writer.push(later, with_status("corrected").with("resulted_at", some_time));
        }
        8 => {
            // A corrected version that comes before the final one it corrects.
            writer.push(load, with_status("corrected"));
            writer.push(later, changed("final").with("resulted_at", some_time));
        }
        9 => {
            writer.push(load, with_status("final"));
            writer.push(later, with_status("cancelled").with("resulted_at", some_time));
        }
        10 => {
            writer.push(load, with_status("final"));
            writer.push(later, with_status("withdrawn"));
        }
        11 => {
            writer.push(load, with_status("final"));
            let bare = writer.line("serum").with("specimen_id", id);
            writer.push(later, bare.with("record_status", "withdrawn"));
        }
        12 => {
            // Set aside: the earlier version stands.
            writer.push(load, with_status("final"));
            writer.push(later, with_status("corrected").with("value", "900"));
        }
        13 => {
            let (early, late) = (writer.at(draw.at + 60), writer.at(draw.at + 7200));
            writer.push(load, with_status("final").with("recorded_at", late));
            writer.push(later, changed("final").with("recorded_at", early));
        }
        14 => writer.push(load, with_status("preliminary")),
        15 => {
            let numberless = with_status("corrected").with("value", "haemolysed");
            writer.push(load, with_status("final"));
            writer.push(later, numberless);
        }
        16 => {
            writer.push(load, changed("final").with("resulted_at", some_time));
            writer.push(later, with_status("final"));
        }
        _ => writer.push(load, with_status("final")),
    }
    if writer.dice.chance(40) {
        write_beside(writer, load, &base);
    }
}

/// Further rows under the number of a specimen: mostly a direct bilirubin, before or after the
/// total; the total once more by another of its codes; a result of another code; rows that do not
/// say what was measured.
fn write_beside(writer: &mut Writer, load: usize, base: &Line) {
    let low = some_value(writer.dice, 5, 60);
    let any = some_value(writer.dice, 60, 330);
    let result = |analyte: &str, status: &str, value: &Written| {
        base.clone()
            .with("analyte", analyte)
            .with("status", status)
            .with("value", value.0.clone())
            .with("unit_of_measure", value.1.clone())
    };
    let direct = writer.dice.pick(&["direct", "direct", "1968-7", "14629-0", "15152-2"]);
    let total = writer.dice.pick(&["total", "14631-6", "1975-2", "77137-8"]);
    let other = writer.dice.pick(&["42719-5", "1971-1"]);
    let status = writer
        .dice
        .weighted(&[(6, "final"), (2, "corrected"), (1, "preliminary"), (1, "cancelled")]);
    let later = writer.this_or_later(load);
    let last = writer.this_or_later(later);
    let nowhere = (String::from("900"), String::from("umol/L"));
    match writer.dice.between(0, 24) {
        0..9 => writer.push(later, result(direct, status, &low)),
        9 | 10 => {
            writer.push(later, result(direct, "final", &low));
            writer.push(last, result("direct", "corrected", &any));
        }
        11 => {
            writer.push(later, result(direct, "final", &low));
            writer.push(last, result("direct", "withdrawn", &low));
        }
        12 => {
            // Which of the two is withdrawn is not said, or said before the other comes.
            writer.push(last, result(direct, status, &low));
            writer.push(later, result("", "withdrawn", &any));
        }
        13 => {
            let bare = writer.line("serum").with("specimen_id", base.cell("specimen_id"));
            writer.push(later, bare.with("record_status", "withdrawn"));
            writer.push(last, result(direct, status, &low));
        }
        14 => {
            // A direct that cannot be used makes it unclear all the same.
            writer.push(load, result(direct, "final", &nowhere));
            writer.push(last, result("", "withdrawn", &any));
        }
        15 | 16 => writer.push(later, result("", "final", &any)),
        17 => {
            writer.push(later, result("", "corrected", &any));
            writer.push(last, result(direct, "final", &low));
        }
        18 => writer.push(later, result("bilirubin", "corrected", &any)),
        19 | 20 => writer.push(later, result(total, "corrected", &any)),
        21 => {
            writer.push(load, result(other, "final", &any));
            writer.push(later, result(direct, status, &low));
        }
        22 => writer.push(later, result(other, status, &any)),
        _ => writer.push(later, result(total, "withdrawn", &any)),
    }
}

/// A specimen that gave no result: cancelled, without a number, or still pending.
pub fn write_attempt(writer: &mut Writer, id: &str, age_s: i64) {
    let Some(load) = writer.load_of(age_s) else {
        return;
    };
    let (status, value, unit) = writer.dice.pick(&[
        ("cancelled", "", ""),
        ("cancelled", "210", "umol/L"),
        ("final", "haemolysed", ""),
        ("final", "", ""),
        ("corrected", "insufficient", "umol/L"),
        ("preliminary", "", ""),
    ]);
    let line = writer
        .line("serum")
        .with("specimen_id", id)
        .with("collected_at", writer.at(age_s))
        .with("value", value)
        .with("unit_of_measure", unit)
        .with("analyte", writer.dice.pick(&["total", "total", "total", "direct"]))
        .with("specimen", writer.dice.pick(&["serum", "", "plasma"]))
        .with("status", status)
        .with("unit", writer.unit());
    writer.push(load, line);
}
