//! How grave a case is: the one order in which cases are reviewed.

/// Gravest first; the order of the variants is the order of review.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Grade {
    /// A stay with a kernicterus code.
    Kernicterus,
    /// An exchange transfusion.
    Exchange,
    /// A serum above the exchange line.
    AboveExchangeLine,
    /// A serum in another band of the protocol.
    Severe,
    /// A referral without an answer of a baby who died.
    ReferralBeforeDeath,
    /// A referral without a serum while it was followed.
    MissedReferral,
    /// A serum above the line, and no phototherapy at all.
    NeverTreated,
    /// A serum above the line, and phototherapy later than in time.
    TreatedLate,
    /// A serum above the line although the paired screen had called for none.
    DangerousMiss,
    /// A readmission for jaundice.
    Readmission,
    /// A recheck without any test.
    MissedRecheck,
    /// A referral whose serum was late.
    LateReferral,
}

impl Grade {
    /// That of a finding of `review_cases.sql`. A missed referral of a baby who died is as grave
    /// as any other referral without an answer of such a baby.
    pub fn of(finding: &str, is_before_death: bool) -> Self {
        match finding {
            "severe_jaundice_kernicterus_code" => Self::Kernicterus,
            "severe_jaundice_exchange_transfusion" => Self::Exchange,
            "severe_jaundice_above_exchange_line" => Self::AboveExchangeLine,
            _ if is_before_death => Self::ReferralBeforeDeath,
            "missed_referral" => Self::MissedReferral,
            "never_treated" => Self::NeverTreated,
            "treated_after_follow_up" | "treated_late" => Self::TreatedLate,
            "dangerous_miss" => Self::DangerousMiss,
            "readmission" => Self::Readmission,
            "missed_recheck" => Self::MissedRecheck,
            "late_referral" => Self::LateReferral,
            // What is left are the bands that the protocol names.
            _ => Self::Severe,
        }
    }

    /// Its place in the order, counted from 1.
    pub fn number(self) -> u8 {
        self as u8 + 1
    }
}
