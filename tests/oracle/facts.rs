//! What one accepted row says.

use jiff::civil::Date;

use super::value::Value;

/// When a baby was born.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Born {
    /// At a known moment, epoch seconds.
    At(i64),
    /// On a known day only.
    On(Date),
}

/// A baby of the birth register.
#[derive(Clone, Debug)]
pub struct Birth {
    /// Moment or day of birth.
    pub born: Born,
    /// Gestation in days, when known; a bare `35` is 35+0.
    pub gestation_days: Option<i64>,
    /// Unit of birth.
    pub unit: String,
    /// Feeding; empty when unknown.
    pub feeding: String,
    /// Risk factors.
    pub risk_factors: Vec<String>,
    /// Skin tone; empty when unknown.
    pub skin_tone: String,
    /// Ethnicity, as written; empty when unknown.
    pub ethnicity: String,
}

impl Birth {
    /// "The word `none` means known to have none, empty is unknown."
    pub fn has_risk_factors_recorded(&self) -> bool {
        self.risk_factors.iter().any(|factor| !factor.is_empty())
    }
}

/// A reading of the skin meter.
#[derive(Clone, Debug)]
pub struct Screen {
    /// Its id.
    pub id: String,
    /// When, epoch seconds.
    pub at: i64,
    /// What it read.
    pub value: Value,
    /// `forehead`, `sternum` or empty.
    pub body_site: String,
    /// How many readings were averaged.
    pub readings: Option<i64>,
    /// Its meter; empty when unknown.
    pub meter_id: String,
    /// `scanned`, `typed` or empty.
    pub id_entry: String,
    /// `inpatient`, `outpatient`, `home` or empty.
    pub setting: String,
    /// Its unit.
    pub unit: String,
}

/// That a meter took a reading, whatever it read.
#[derive(Clone, Debug)]
pub struct Reading {
    /// Id of the screen.
    pub screen_id: String,
    /// Its meter; empty when unknown.
    pub meter_id: String,
    /// When, epoch seconds.
    pub at: i64,
    /// Its unit.
    pub unit: String,
}

/// A check of a meter.
#[derive(Clone, Debug)]
pub struct MeterCheck {
    /// Its id.
    pub id: String,
    /// Its meter.
    pub meter_id: String,
    /// When, epoch seconds.
    pub at: i64,
    /// Whether the meter passed.
    pub passed: bool,
}

/// An exchange transfusion.
#[derive(Clone, Debug)]
pub struct Exchange {
    /// Its id.
    pub id: String,
    /// When, epoch seconds.
    pub at: i64,
}

/// A final or corrected version of a serum.
#[derive(Clone, Debug)]
pub struct Told {
    /// When it was resulted.
    pub resulted_at: Option<i64>,
    /// What it said.
    pub value: Option<Value>,
}

/// Status of a serum, in the order in which versions are taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Status {
    /// Not yet final.
    Preliminary,
    /// Final.
    Final,
    /// Corrected.
    Corrected,
    /// Cancelled.
    Cancelled,
}

/// A serum specimen, as its latest version has it.
#[derive(Clone, Debug)]
pub struct Serum {
    /// Its id.
    pub id: String,
    /// When it was collected, epoch seconds.
    pub at: i64,
    /// In a row: when this version was resulted. In the register: the earliest result time of
    /// a final or corrected version.
    pub resulted_at: Option<i64>,
    /// Its value; `None` is an attempt.
    pub value: Option<Value>,
    /// Whether the analyte is total bilirubin and the specimen serum, plasma or unsaid.
    pub is_total_in_serum: bool,
    /// Its status.
    pub status: Status,
    /// In the register: all its final and corrected versions.
    pub told: Vec<Told>,
    /// Its unit.
    pub unit: String,
}

impl Serum {
    /// "Total bilirubin in serum or plasma, status final or corrected (latest version), with a
    /// value or a bound."
    pub fn is_valid(&self) -> bool {
        self.is_total_in_serum && matches!(self.status, Status::Final | Status::Corrected) && self.value.is_some()
    }

    /// "Serum ids whose current version is not preliminary and is cancelled or has no number"
    /// (choice 15).
    pub fn is_failed_attempt(&self) -> bool {
        self.is_total_in_serum
            && self.status != Status::Preliminary
            && (self.status == Status::Cancelled || self.value.is_none())
    }
}

/// An episode of phototherapy.
#[derive(Clone, Debug)]
pub struct Episode {
    /// Its id.
    pub id: String,
    /// Start, epoch seconds.
    pub start: i64,
    /// Recorded stop.
    pub stop: Option<i64>,
    /// Its unit.
    pub unit: String,
}

/// One admission.
#[derive(Clone, Debug)]
pub struct Stay {
    /// Its id.
    pub id: String,
    /// Admission, epoch seconds.
    pub admitted: i64,
    /// Discharge.
    pub discharged: Option<i64>,
    /// `birth`, `home`, `transfer` or empty.
    pub source: String,
    /// `home`, `transfer`, `died` or empty.
    pub disposition: String,
    /// The diagnosis codes as written; the first is the primary one, and may be empty.
    pub codes: Vec<String>,
}

/// What a row says.
#[derive(Clone, Debug)]
pub enum Fact {
    /// A row of `births`.
    Birth(Birth),
    /// A row of `screens`.
    Screen(Screen),
    /// A row of `serum`.
    Serum(Serum),
    /// A row of `phototherapy`.
    Episode(Episode),
    /// A row of `stays`.
    Stay(Stay),
    /// A row of `exchanges`.
    Exchange(Exchange),
    /// A row of `meter_checks`.
    MeterCheck(MeterCheck),
    /// A row that withdraws its id.
    Withdrawn,
}
