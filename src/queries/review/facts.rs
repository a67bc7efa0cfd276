//! What is known of a baby under review. Instants are epoch seconds, spans seconds,
//! concentrations millionths of umol/L; empty text is what the records do not tell.

/// A baby and all that the records hold of its bilirubin.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Baby {
    /// Its id.
    pub infant_id: String,
    /// Unit of birth.
    pub unit: String,
    /// Birth; `None` when only the day is known: then there are no ages.
    pub born_s: Option<i64>,
    /// First moment of the local day of birth.
    pub born_day_s: Option<i64>,
    /// Gestation in days.
    pub gestation_days: Option<i64>,
    /// Whether it was written in whole weeks.
    pub is_gestation_in_weeks: bool,
    /// Birth weight in grams.
    pub weight_g: Option<i64>,
    /// `breast`, `mixed` or `formula`.
    pub feeding: String,
    /// Risk factors, separated by semicolons.
    pub risk_factors: String,
    /// Screens and serum, by time.
    pub tests: Vec<Test>,
    /// Courses of phototherapy, by time.
    pub courses: Vec<Course>,
    /// Stays, by time.
    pub stays: Vec<Stay>,
    /// Exchange transfusions, by time.
    pub exchanges: Vec<Exchange>,
    /// Referrals, by time.
    pub referrals: Vec<Referral>,
    /// Recheck obligations, by time of their trigger.
    pub rechecks: Vec<Recheck>,
    /// The first serum above the line, and what followed.
    pub treatment: Option<Treatment>,
    /// Pieces of its lines, by age.
    pub pieces: Vec<LinePiece>,
}

/// What became of a test.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
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
#[derive(Clone, Debug, PartialEq)]
pub struct Test {
    /// `screens` or `serum`.
    pub table: String,
    /// Its id.
    pub id: String,
    /// Unit.
    pub unit: String,
    /// When it was taken.
    pub at_s: i64,
    /// Its value; of a bound the number.
    pub value_micro: Option<i64>,
    /// `>`, `<` or empty.
    pub bound: String,
    /// The value as written.
    pub written: String,
    /// What became of it.
    pub state: TestState,
    /// Status of a specimen's last version.
    pub status: String,
    /// When its first final result was there.
    pub resulted_s: Option<i64>,
    /// Treatment line at its age.
    pub line_micro: Option<i64>,
    /// Exchange line at its age; of serum only.
    pub exchange_line_micro: Option<i64>,
    /// A screen that called for a serum.
    pub is_due: bool,
    /// A serum above the line.
    pub is_above_line: bool,
    /// Why a screen could not call for a serum.
    pub left_out: String,
    /// A fast rise since the test of its kind before: by how much, in what time.
    pub rise: Option<(i64, i64)>,
}

/// A course of phototherapy.
#[derive(Clone, Debug, PartialEq)]
pub struct Course {
    /// Its number among the baby's.
    pub no: i64,
    /// Unit of its first episode.
    pub unit: String,
    /// Start.
    pub start_s: i64,
    /// End; `None` while none is known.
    pub end_s: Option<i64>,
    /// The end is that of the stay, as no stop was charted.
    pub is_stop_assumed: bool,
    /// Episodes in it.
    pub episodes: i64,
}

/// A stay in hospital.
#[derive(Clone, Debug, PartialEq)]
pub struct Stay {
    /// Its id.
    pub id: String,
    /// Unit.
    pub unit: String,
    /// Admission.
    pub admitted_s: i64,
    /// Discharge; `None` while none is known.
    pub discharged_s: Option<i64>,
    /// `birth`, `home` or `transfer`.
    pub source: String,
    /// `home`, `transfer` or `died`.
    pub disposition: String,
    /// The first diagnosis code.
    pub code: String,
    /// It is of the birth stay.
    pub is_of_birth: bool,
}

/// An exchange transfusion.
#[derive(Clone, Debug, PartialEq)]
pub struct Exchange {
    /// Its id.
    pub id: String,
    /// Unit.
    pub unit: String,
    /// When it was done.
    pub at_s: i64,
}

/// A referral, and what answered it.
#[derive(Clone, Debug, PartialEq)]
pub struct Referral {
    /// The screen that opened it.
    pub screen_id: String,
    /// Unit.
    pub unit: String,
    /// When.
    pub at_s: i64,
    /// Time allowed for the serum.
    pub within_s: Option<i64>,
    /// How long it was followed.
    pub follow_up_s: i64,
    /// Screens that called for a serum within it.
    pub due_screens: i64,
    /// When the answering serum was collected.
    pub answered_s: Option<i64>,
    /// Specimens without a number meanwhile.
    pub failed_attempts: i64,
    /// How it ended.
    pub outcome: String,
}

/// A recheck that a rule called for.
#[derive(Clone, Debug, PartialEq)]
pub struct Recheck {
    /// The rule.
    pub rule: String,
    /// What kind of trigger made it.
    pub trigger_kind: String,
    /// Table of the trigger.
    pub trigger_table: String,
    /// Id of the trigger.
    pub trigger_id: String,
    /// Unit.
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
    pub outcome: String,
    /// When the test was taken that ended it.
    pub tested_s: Option<i64>,
}

/// The first serum above the line, and phototherapy after it.
#[derive(Clone, Debug, PartialEq)]
pub struct Treatment {
    /// The serum.
    pub specimen_id: String,
    /// Unit.
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
    /// How it ended.
    pub outcome: String,
}

/// A straight piece of the lines, in seconds of age, as far as one version judges.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LinePiece {
    /// Ages that the version judges.
    pub judged: (i64, i64),
    /// Ages of the piece.
    pub ages: (i64, i64),
    /// Treatment line at both.
    pub treatment: (i64, i64),
    /// Exchange line at both.
    pub exchange: (i64, i64),
}

impl Baby {
    /// A test by table and id.
    pub fn test(&self, table: &str, id: &str) -> Option<&Test> {
        self.tests.iter().find(|test| test.table == table && test.id == id)
    }

    /// When it died, where a stay says so.
    pub fn died_s(&self) -> Option<i64> {
        let died = self.stays.iter().filter(|stay| stay.disposition == "died");
        died.filter_map(|stay| stay.discharged_s).max()
    }
}
