//! What is known of a baby under review. Instants are epoch seconds, spans seconds,
//! concentrations millionths of umol/L; empty text is what the records do not state.
//!
//! Each is read from the row of a listing, by the names of its columns.

use serde::Deserialize;

use crate::engine::rows::or_none;

/// A baby and all that the records hold of its bilirubin.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
pub struct Baby {
    /// Its id.
    pub infant_id: String,
    /// Unit of birth.
    #[serde(deserialize_with = "or_none")]
    pub unit: String,
    /// Birth; `None` when only the day is known: then there are no ages.
    pub born_s: Option<i64>,
    /// First moment of the local day of birth.
    pub born_day_s: Option<i64>,
    /// Gestation in days.
    pub gestation_days: Option<i64>,
    /// `weeks` where it was written in whole weeks.
    #[serde(deserialize_with = "or_none")]
    pub gestation_precision: String,
    /// Birth weight in grams.
    #[serde(rename = "birth_weight_g")]
    pub weight_g: Option<i64>,
    /// `breast`, `mixed` or `formula`.
    #[serde(deserialize_with = "or_none")]
    pub feeding: String,
    /// Risk factors, separated by semicolons.
    #[serde(deserialize_with = "or_none")]
    pub risk_factors: String,
    /// Screens and serum, by time.
    #[serde(skip)]
    pub tests: Vec<Test>,
    /// Courses of phototherapy, by time.
    #[serde(skip)]
    pub courses: Vec<Course>,
    /// Stays, by time.
    #[serde(skip)]
    pub stays: Vec<Stay>,
    /// Exchange transfusions, by time.
    #[serde(skip)]
    pub exchanges: Vec<Exchange>,
    /// Referrals, by time.
    #[serde(skip)]
    pub referrals: Vec<Referral>,
    /// Recheck obligations, by time of their trigger.
    #[serde(skip)]
    pub rechecks: Vec<Recheck>,
    /// Serum above the line without phototherapy, and what followed.
    #[serde(skip)]
    pub treatments: Vec<Treatment>,
    /// Pieces of its lines, by age.
    #[serde(skip)]
    pub pieces: Vec<LinePiece>,
}

/// What became of a test.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum TestState {
    /// A screen.
    Screen,
    /// A serum that counts.
    Valid,
    /// An attempt without a number.
    Failed,
    /// A preliminary result.
    Pending,
    /// No total bilirubin in serum or plasma.
    Other,
}

/// A screen or specimen.
#[derive(Clone, Debug, PartialEq, Deserialize)]
pub struct Test {
    /// The baby.
    pub infant_id: String,
    /// `screens` or `serum`.
    #[serde(rename = "test_table")]
    pub table: String,
    /// Its id.
    #[serde(rename = "test_id")]
    pub id: String,
    /// Unit.
    #[serde(deserialize_with = "or_none")]
    pub unit: String,
    /// When it was taken.
    pub at_s: i64,
    /// Its value; of a bound the number.
    pub value_micro: Option<i64>,
    /// `>`, `<` or empty.
    #[serde(deserialize_with = "or_none")]
    pub bound: String,
    /// The value as written.
    #[serde(rename = "value_text", deserialize_with = "or_none")]
    pub written: String,
    /// What became of it.
    pub state: TestState,
    /// Status of a specimen's last version.
    #[serde(deserialize_with = "or_none")]
    pub status: String,
    /// When its first final result was there.
    pub resulted_s: Option<i64>,
    /// Treatment line at its age.
    pub line_micro: Option<i64>,
    /// Exchange line at its age; of serum only.
    pub exchange_line_micro: Option<i64>,
    /// A screen that called for a serum.
    #[serde(deserialize_with = "or_none")]
    pub is_due: bool,
    /// A serum above the line.
    #[serde(deserialize_with = "or_none")]
    pub is_above_line: bool,
    /// Why a screen could not call for a serum.
    #[serde(deserialize_with = "or_none")]
    pub left_out: String,
    /// A fast rise since the test of its kind before: by how much.
    pub rise_micro: Option<i64>,
    /// In what time.
    pub apart_s: Option<i64>,
}

/// A course of phototherapy.
#[derive(Clone, Debug, PartialEq, Deserialize)]
pub struct Course {
    /// The baby.
    pub infant_id: String,
    /// Its number among the baby's.
    #[serde(rename = "course_no")]
    pub no: i64,
    /// Unit of its first episode.
    #[serde(deserialize_with = "or_none")]
    pub unit: String,
    /// Start.
    pub start_s: i64,
    /// End; `None` while none is known.
    pub end_s: Option<i64>,
    /// No stop was charted: the end is that of the stay, or the protocol's hours after the start.
    #[serde(rename = "stop_assumed")]
    pub is_stop_assumed: bool,
    /// Episodes in it.
    pub episodes: i64,
}

/// A stay in hospital.
#[derive(Clone, Debug, PartialEq, Deserialize)]
pub struct Stay {
    /// The baby.
    pub infant_id: String,
    /// Its id.
    #[serde(rename = "stay_id")]
    pub id: String,
    /// Unit.
    #[serde(deserialize_with = "or_none")]
    pub unit: String,
    /// Admission.
    pub admitted_s: i64,
    /// Discharge; `None` while none is known.
    pub discharged_s: Option<i64>,
    /// `birth`, `home` or `transfer`.
    #[serde(deserialize_with = "or_none")]
    pub source: String,
    /// `home`, `transfer` or `died`.
    #[serde(deserialize_with = "or_none")]
    pub disposition: String,
    /// The first diagnosis code.
    #[serde(rename = "primary_code", deserialize_with = "or_none")]
    pub code: String,
    /// It is of the birth stay.
    #[serde(rename = "is_birth_stay")]
    pub is_of_birth: bool,
}

/// An exchange transfusion.
#[derive(Clone, Debug, PartialEq, Deserialize)]
pub struct Exchange {
    /// The baby.
    pub infant_id: String,
    /// Its id.
    #[serde(rename = "exchange_id")]
    pub id: String,
    /// Unit.
    #[serde(deserialize_with = "or_none")]
    pub unit: String,
    /// When it was done.
    #[serde(rename = "performed_s")]
    pub at_s: i64,
}

/// A referral, and what answered it.
#[derive(Clone, Debug, PartialEq, Deserialize)]
pub struct Referral {
    /// The baby.
    pub infant_id: String,
    /// The screen that opened it.
    #[serde(rename = "index_screen_id")]
    pub screen_id: String,
    /// Unit.
    #[serde(deserialize_with = "or_none")]
    pub unit: String,
    /// When.
    #[serde(rename = "index_s")]
    pub at_s: i64,
    /// Time allowed for the serum.
    pub within_s: Option<i64>,
    /// How long it was followed.
    pub follow_up_s: i64,
    /// Screens that called for a serum within it.
    pub due_screens: i64,
    /// When the answering serum was collected.
    #[serde(rename = "answer_collected_s")]
    pub answered_s: Option<i64>,
    /// Specimens without a number meanwhile.
    pub failed_attempts: i64,
    /// How it ended.
    pub outcome: String,
}

/// A recheck that a rule called for.
#[derive(Clone, Debug, PartialEq, Deserialize)]
pub struct Recheck {
    /// The baby.
    pub infant_id: String,
    /// The rule.
    pub rule: String,
    /// What kind of trigger made it.
    pub trigger_kind: String,
    /// Table of the trigger.
    pub trigger_table: String,
    /// Id of the trigger.
    pub trigger_id: String,
    /// Unit.
    #[serde(deserialize_with = "or_none")]
    pub unit: String,
    /// When the trigger was.
    pub trigger_s: i64,
    /// Line minus value at the trigger.
    pub gap_micro: Option<i64>,
    /// Earliest span after the trigger.
    pub earliest_s: i64,
    /// Latest span after the trigger.
    pub latest_s: i64,
    /// How long after the latest it was still followed.
    pub late_until_s: i64,
    /// `serum` or `serum_or_screen`.
    pub accepts: String,
    /// How it ended; why it was left out.
    #[serde(deserialize_with = "or_none")]
    pub outcome: String,
    /// When the test was taken that ended it.
    pub tested_s: Option<i64>,
}

/// A serum above the line without phototherapy, and what followed.
#[derive(Clone, Debug, PartialEq, Deserialize)]
pub struct Treatment {
    /// The baby.
    pub infant_id: String,
    /// The serum.
    pub specimen_id: String,
    /// Unit.
    #[serde(deserialize_with = "or_none")]
    pub unit: String,
    /// When it was collected.
    pub collected_s: i64,
    /// Its line.
    pub line_micro: Option<i64>,
    /// From when treatment was counted.
    pub result_s: i64,
    /// First start of phototherapy after it.
    pub started_s: Option<i64>,
    /// Time allowed.
    pub in_time_s: i64,
    /// How long it was followed.
    pub follow_up_s: i64,
    /// How it ended, or why it is in no rate.
    #[serde(deserialize_with = "or_none")]
    pub outcome: String,
}

/// A straight piece of the lines, in seconds of age, as far as one version judges.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
pub struct LinePiece {
    /// The baby.
    pub infant_id: String,
    /// First age that the version judges.
    pub from_s: i64,
    /// Last age that it judges.
    pub to_s: i64,
    /// Age at which the piece begins.
    pub age_from_s: i64,
    /// Age at which it ends.
    pub age_to_s: i64,
    /// Treatment line where it begins.
    pub phototherapy_from_micro: i64,
    /// Where it ends.
    pub phototherapy_to_micro: i64,
    /// Exchange line where it begins.
    pub exchange_from_micro: i64,
    /// Where it ends.
    pub exchange_to_micro: i64,
}

impl Baby {
    /// A test by table and id.
    pub fn test(&self, table: &str, id: &str) -> Option<&Test> {
        self.tests.iter().find(|test| test.table == table && test.id == id)
    }

    /// The wait for phototherapy that a serum opened.
    pub fn treatment(&self, specimen_id: &str) -> Option<&Treatment> {
        self.treatments.iter().find(|one| one.specimen_id == specimen_id)
    }

    /// When it died, where a stay says so.
    pub fn died_s(&self) -> Option<i64> {
        let died = self.stays.iter().filter(|stay| stay.disposition == "died");
        died.filter_map(|stay| stay.discharged_s).max()
    }
}
