//! From one baby's story to rows in loads.

use super::dice::Dice;
use super::extract::{Extract, Line};
use super::season::Season;
use super::specimen;
use super::text::{day, moment};
use super::timeline::{Timeline, UNITS};

/// Where a baby's rows go.
pub struct Writer<'a> {
    /// Chance.
    pub dice: &'a mut Dice,
    /// The season.
    pub season: &'a Season,
    /// The rows so far.
    pub extract: &'a mut Extract,
    /// Id of the baby.
    pub infant_id: String,
    /// Birth, epoch seconds.
    pub born: i64,
}

impl Writer<'_> {
    /// A moment at an age, as text.
    pub fn at(&mut self, age_s: i64) -> String {
        moment(self.dice, self.season, self.born + age_s)
    }

    /// The load that brings something of this age; some things come late, and of those after
    /// the last cut a few come all the same.
    pub fn load_of(&mut self, age_s: i64) -> Option<usize> {
        match self.extract.load_of(self.born + age_s) {
            Some(load) if load < self.extract.last() && self.dice.chance(8) => Some(load + 1),
            Some(load) => Some(load),
            None => self.dice.chance(20).then_some(self.extract.last()),
        }
    }

    /// The load of a later version: this one or a later one.
    pub fn this_or_later(&mut self, load: usize) -> usize {
        self.dice.between(load as i64, self.extract.cuts.len() as i64) as usize
    }

    /// A unit; some rows have none.
    pub fn unit(&mut self) -> &'static str {
        self.dice
            .weighted(&[(46, UNITS[0]), (28, UNITS[1]), (20, UNITS[2]), (6, UNITS[3])])
    }

    /// The meter of a screen at an age; some screens name none.
    pub fn meter(&mut self, age_s: i64) -> &'static str {
        let meter = self.dice.weighted(&[(50, "M1"), (30, "M2"), (12, "M3"), (8, "")]);
        self.extract.readings.push((meter, self.born + age_s));
        meter
    }

    /// A row of this baby.
    pub fn line(&self, table: &'static str) -> Line {
        Line::new(table).with("infant_id", self.infant_id.clone())
    }

    /// Adds a row.
    pub fn push(&mut self, load: usize, line: Line) {
        self.extract.push(self.dice, load, line);
    }
}

/// Writes all rows of a baby.
pub fn write(writer: &mut Writer, story: &Timeline) {
    let unit = writer.unit();
    write_birth(writer, story, unit);
    for (number, (age_s, value)) in story.screens.iter().enumerate() {
        let id = format!("{}-t{number}", writer.infant_id);
        specimen::write_screen(writer, &id, *age_s, value);
    }
    for (number, draw) in story.draws.iter().enumerate() {
        let id = format!("{}-s{number}", writer.infant_id);
        specimen::write_serum(writer, &id, draw);
    }
    for (number, age_s) in story.attempts.iter().enumerate() {
        let id = format!("{}-f{number}", writer.infant_id);
        specimen::write_attempt(writer, &id, *age_s);
    }
    write_episodes(writer, story);
    write_stays(writer, story);
    for (number, age_s) in story.exchanges.iter().enumerate() {
        write_exchange(writer, &format!("{}-x{number}", writer.infant_id), *age_s, unit);
    }
}

/// An exchange transfusion; now and then its time is mended later, or it is withdrawn.
fn write_exchange(writer: &mut Writer, id: &str, age_s: i64, unit: &str) {
    let Some(load) = writer.load_of(age_s) else {
        return;
    };
    let line = writer
        .line("exchanges")
        .with("exchange_id", id)
        .with("performed_at", writer.at(age_s))
        .with("unit", unit);
    let later = writer.this_or_later(load);
    match writer.dice.between(0, 12) {
        0 => {
            let first = line.clone().with("performed_at", writer.at(age_s - 3600));
            writer.push(load, first);
            writer.push(later, line);
        }
        1 => {
            writer.push(load, line.clone());
            writer.push(later, line.with("record_status", "withdrawn"));
        }
        _ => writer.push(load, line),
    }
}

/// The birth row: now and then missing, late, known by date only, corrected or withdrawn.
fn write_birth(writer: &mut Writer, story: &Timeline, unit: &str) {
    if writer.dice.chance(2) {
        return;
    }
    let Some(mut load) = writer.extract.load_of(writer.born) else {
        return;
    };
    if load < writer.extract.last() && writer.dice.chance(6) {
        load += 1;
    }
    let born_at = if writer.dice.chance(4) {
        day(writer.season, writer.born)
    } else {
        writer.at(0)
    };
    let line = writer
        .line("births")
        .with("born_at", born_at)
        .with("gestation", story.gestation)
        .with("unit", unit)
        .with("feeding", story.feeding)
        .with("risk_factors", story.risk_factors)
        .with("sex", writer.dice.pick(&["f", "m", ""]))
        .with(
            "skin_tone",
            writer.dice.pick(&["light", "Medium", "medium", "dark", ""]),
        )
        .with("ethnicity", writer.dice.pick(&["north", "south", "South", "east", ""]));
    let is_corrected = writer.dice.chance(5);
    if is_corrected {
        let first = line.clone().with("gestation", "36+6").with("unit", "hill");
        writer.push(load, first);
        load = writer.this_or_later(load);
    }
    writer.push(load, line.clone());
    if writer.dice.chance(2) {
        let load = writer.this_or_later(load);
        writer.push(load, line.with("record_status", "withdrawn"));
    }
}

/// Episodes: in the load of their start still running when they ended after its cut, and again
/// when they have ended.
fn write_episodes(writer: &mut Writer, story: &Timeline) {
    for (number, (start, stop)) in story.episodes.iter().enumerate() {
        let Some(load) = writer.load_of(*start) else {
            continue;
        };
        let line = writer
            .line("phototherapy")
            .with("episode_id", format!("{}-p{number}", writer.infant_id))
            .with("started_at", writer.at(*start))
            .with("kind", writer.dice.pick(&["single", "multiple"]))
            .with("unit", writer.unit());
        let stopped = stop.map(|stop| (stop, writer.at(stop)));
        write_running(writer, load, line, stopped, |line, text| line.with("stopped_at", text));
    }
}

fn write_stays(writer: &mut Writer, story: &Timeline) {
    for (number, stay) in story.stays.iter().enumerate() {
        let Some(load) = writer.load_of(stay.from) else {
            continue;
        };
        let line = writer
            .line("stays")
            .with("stay_id", format!("{}-a{number}", writer.infant_id))
            .with("admitted_at", writer.at(stay.from))
            .with("source", stay.source)
            .with("diagnoses", stay.diagnoses)
            .with("unit", writer.unit());
        let discharged = stay.to.map(|to| (to, writer.at(to)));
        let disposition = stay.disposition;
        write_running(writer, load, line, discharged, |line, text| {
            line.with("discharged_at", text).with("disposition", disposition)
        });
    }
}

/// A row that may still lack its end in the load that brings it.
fn write_running(
    writer: &mut Writer,
    load: usize,
    line: Line,
    end: Option<(i64, String)>,
    finish: impl Fn(Line, String) -> Line,
) {
    if writer.dice.chance(1) {
        let load = writer.this_or_later(load);
        writer.push(load, line.clone().with("record_status", "withdrawn"));
    }
    let Some((age_s, text)) = end else {
        writer.push(load, line);
        return;
    };
    let ended_in = writer.extract.load_of(writer.born + age_s);
    let is_running = ended_in.is_none_or(|ended_in| ended_in > load);
    if is_running || writer.dice.chance(6) {
        writer.push(load, line.clone());
    }
    if let Some(ended_in) = ended_in {
        writer.push(ended_in.max(load), finish(line, text));
    }
}
