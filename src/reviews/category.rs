//! What a case can come from. The list is closed, so that reviews of months add up; it speaks of
//! the programme, never of a person.

/// What a case came from, as its review says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Category {
    /// The serum was asked for late, drawn late or not drawn.
    SerumDelayedOrNotTaken,
    /// The laboratory could not give the result in time.
    ResultDelayed,
    /// No recheck was arranged, or it was not carried out.
    RecheckNotArranged,
    /// Phototherapy could not be started when it was due.
    TreatmentDelayed,
    /// It was lost between units, shifts or home and hospital.
    HandoverBetweenUnits,
    /// A meter, lamp or other device.
    Equipment,
    /// The family declined, or could not be reached.
    FamilyDeclinedOrUnreachable,
    /// A clinician decided otherwise, and the notes say why.
    ClinicalDecisionDocumented,
    /// It was done, and the records siskin reads do not hold it, or hold it wrong.
    RecordIncomplete,
    /// The notes show no gap in care.
    NoGapFound,
    /// None of these: the note says what.
    Other,
}

impl Category {
    /// All, in the order in which they are listed.
    pub const ALL: [Self; 11] = [
        Self::SerumDelayedOrNotTaken,
        Self::ResultDelayed,
        Self::RecheckNotArranged,
        Self::TreatmentDelayed,
        Self::HandoverBetweenUnits,
        Self::Equipment,
        Self::FamilyDeclinedOrUnreachable,
        Self::ClinicalDecisionDocumented,
        Self::RecordIncomplete,
        Self::NoGapFound,
        Self::Other,
    ];

    /// As `reviews.csv` writes it.
    pub fn word(self) -> &'static str {
        match self {
            Self::SerumDelayedOrNotTaken => "serum_delayed_or_not_taken",
            Self::ResultDelayed => "result_delayed",
            Self::RecheckNotArranged => "recheck_not_arranged",
            Self::TreatmentDelayed => "treatment_delayed",
            Self::HandoverBetweenUnits => "handover_between_units",
            Self::Equipment => "equipment",
            Self::FamilyDeclinedOrUnreachable => "family_declined_or_unreachable",
            Self::ClinicalDecisionDocumented => "clinical_decision_documented",
            Self::RecordIncomplete => "record_incomplete",
            Self::NoGapFound => "no_gap_found",
            Self::Other => "other",
        }
    }

    /// What it means, for pages.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::SerumDelayedOrNotTaken => "the serum was asked for late, drawn late or not drawn",
            Self::ResultDelayed => "the result was not there in time",
            Self::RecheckNotArranged => "no recheck was arranged, or it was not carried out",
            Self::TreatmentDelayed => "phototherapy was not started when it was due",
            Self::HandoverBetweenUnits => "it was lost between units, shifts, or home and hospital",
            Self::Equipment => "a meter, lamp or other device",
            Self::FamilyDeclinedOrUnreachable => "the family declined or could not be reached",
            Self::ClinicalDecisionDocumented => "a clinician decided otherwise, and the notes say why",
            Self::RecordIncomplete => "it was done, but the records loaded here do not hold it, or hold it wrong",
            Self::NoGapFound => "the notes show no gap in care",
            Self::Other => "none of these; the note says what",
        }
    }
}
