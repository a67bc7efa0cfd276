//! What is remembered of the resources that others refer to, and its form as small JSON.

use serde::{Deserialize, Serialize};

use super::pointing::Key;

/// A patient's tests within so many days of the birth make it a newborn.
const NEWBORN_DAYS: i32 = 28;

/// A gestation or a birth in hospital recorded within so many days of the birth is the
/// patient's own, not that of a child.
const OWN_BIRTH_DAYS: i32 = 366;

/// What is known of a patient. Much of it may be known before the patient itself comes.
#[derive(Clone, Debug, Default, PartialEq, Deserialize, Serialize)]
#[serde(default)]
pub(super) struct PatientFacts {
    /// The id in the tables; none until the Patient comes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) infant_id: Option<Box<str>>,
    /// Day of birth, in days since 1970.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) born_day: Option<i32>,
    /// Moment of birth, in seconds since 1970.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) born_s: Option<i64>,
    /// The first day on which a gestation or a birth in hospital was recorded of it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) birth_told_day: Option<i32>,
    /// The first day on which it was tested, treated or in a stay.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) seen_day: Option<i32>,
    /// A mother was named.
    #[serde(skip_serializing_if = "is_false")]
    pub(super) has_mother: bool,
    /// Its birth time is given, though perhaps unreadable.
    #[serde(skip_serializing_if = "is_false")]
    pub(super) has_birth_time: bool,
    /// The patient that replaces it now.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) replaced_by: Option<Key>,
    /// Another patient replaced it at some time.
    #[serde(skip_serializing_if = "is_false")]
    pub(super) was_replaced: bool,
    /// When the version that states this was written, in milliseconds since 1970.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) updated_ms: Option<i64>,
    #[serde(skip)]
    pub(super) is_new: bool,
}

fn is_false(flag: &bool) -> bool {
    !flag
}

impl PatientFacts {
    /// Whether the Patient itself has come.
    pub(super) fn has_come(&self) -> bool {
        self.infant_id.is_some()
    }

    /// Whether it is a newborn by itself: its birth time is given; or a mother; or a gestation or a
    /// birth in hospital near its own birth; or a test within 28 days of the birth.
    pub(super) fn is_newborn(&self) -> bool {
        let within = |day: Option<i32>, days: i32| match (day, self.born_day) {
            (Some(day), Some(born)) => Some(day <= born.saturating_add(days)),
            _ => None,
        };
        let has_own_birth = within(self.birth_told_day, OWN_BIRTH_DAYS).unwrap_or(self.birth_told_day.is_some());
        let seen_as_newborn = within(self.seen_day, NEWBORN_DAYS).unwrap_or(false);
        let seen_grown = within(self.seen_day, OWN_BIRTH_DAYS) == Some(false);
        self.has_birth_time || has_own_birth || seen_as_newborn || (self.has_mother && !seen_grown)
    }
}

/// What is known of an encounter.
#[derive(Clone, Debug, Default, PartialEq, Deserialize, Serialize)]
#[serde(default)]
pub(super) struct EncounterFacts {
    /// The id in the tables; none until the Encounter comes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) stay_id: Option<Box<str>>,
    /// The unit; empty when it is not given.
    pub(super) unit: Box<str>,
    /// It is a stay, not a visit.
    pub(super) is_stay: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) patient: Option<Key>,
    /// Conditions it lists, in order of rank, then those that name it.
    pub(super) listed: Vec<Key>,
    pub(super) named_by: Vec<Key>,
    #[serde(skip)]
    pub(super) is_new: bool,
}

/// What is known of a condition.
#[derive(Clone, Debug, Default, PartialEq, Deserialize, Serialize)]
#[serde(default)]
pub(super) struct ConditionFacts {
    /// Its code; empty until the Condition comes, or when it does not hold any more.
    pub(super) code: Box<str>,
    /// The encounter that it names or that lists it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) encounter: Option<Key>,
    #[serde(skip)]
    pub(super) is_new: bool,
}

/// What is known of a specimen.
#[derive(Clone, Debug, Default, PartialEq, Deserialize, Serialize)]
pub(super) struct SpecimenFacts {
    /// What it is of; empty when that is not given.
    pub(super) word: Box<str>,
    /// When it was taken, as written; empty when that is not given.
    pub(super) collected_at: Box<str>,
    #[serde(skip)]
    pub(super) is_new: bool,
}

/// What is known of a device.
#[derive(Clone, Debug, Default, PartialEq, Deserialize, Serialize)]
#[serde(default)]
pub(super) struct DeviceFacts {
    /// Serial number, else identifier, else id.
    pub(super) meter_id: Box<str>,
    #[serde(skip)]
    pub(super) is_new: bool,
}
