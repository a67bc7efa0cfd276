//! What a case can come from. The list is closed, so that reviews of months add up; it speaks of
//! the programme, never of a person.

use crate::words::words;

words! {
    /// What a case came from, as its review says.
    pub Category {
        /// The serum was asked for late, drawn late or not drawn.
        SerumDelayedOrNotTaken = "serum_delayed_or_not_taken",
        /// The laboratory could not give the result in time.
        ResultDelayed = "result_delayed",
        /// No recheck was arranged, or it was not carried out.
        RecheckNotArranged = "recheck_not_arranged",
        /// Phototherapy could not be started when it was due.
        TreatmentDelayed = "treatment_delayed",
        /// It was lost between units, shifts or home and hospital.
        HandoverBetweenUnits = "handover_between_units",
        /// A meter, lamp or other device.
        Equipment = "equipment",
        /// The family declined, or could not be reached.
        FamilyDeclinedOrUnreachable = "family_declined_or_unreachable",
        /// A clinician decided otherwise, and the notes say why.
        ClinicalDecisionDocumented = "clinical_decision_documented",
        /// It was done, and the records siskin reads do not hold it, or hold it wrong.
        RecordIncomplete = "record_incomplete",
        /// The notes show no gap in care.
        NoGapFound = "no_gap_found",
        /// None of these: the note says what.
        Other = "other",
    }
}

impl Category {
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
