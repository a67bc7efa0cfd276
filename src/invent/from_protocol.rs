//! The rules an invention keeps to, taken from a protocol.

use crate::protocol::{
    self, AboveWhen, Concentration, Protocol, RecheckRule, Risk, Trigger, UMOL_L_PER_MG_DL, gestation_days, micro,
    seconds,
};

use super::error::InventError;
use super::rules::{Line, NearLine, ReferralRules, Rules};

impl Rules {
    /// The rules of the newest version of a protocol.
    ///
    /// # Errors
    /// When the protocol has no recheck rule for values near the line, or its lines depend on
    /// risk.
    pub fn of(protocol: &Protocol) -> Result<Self, InventError> {
        let version = protocol.newest();
        let referral = &version.referral;
        let plausible = protocol.plausible();
        Ok(Self {
            zone: protocol.zone().iana_name().unwrap_or("UTC").to_owned(),
            micro_umol_l_per_mg_dl: micro(UMOL_L_PER_MG_DL),
            plausible_micro_umol_l: (micro(plausible.umol_l_at_least), micro(plausible.umol_l_at_most)),
            course_shadow_s: seconds(referral.not_after_phototherapy_h),
            line: line(protocol, version)?,
            referral: ReferralRules {
                gestation_at_least_d: days(&referral.gestation_at_least),
                age_above_s: seconds(referral.age_above_h),
                clauses: referral
                    .clauses
                    .iter()
                    .map(|c| (c.when, c.limit().map_or(0, Concentration::micro)))
                    .collect(),
                windows: referral.windows.clone(),
                missed_after_s: seconds(referral.follow_up_h),
            },
            near_line: near_line(version)?,
        })
    }
}

fn days(gestation: &str) -> i64 {
    gestation_days(gestation).map_or(0, i64::from)
}

fn line(protocol: &Protocol, version: &protocol::Version) -> Result<Line, InventError> {
    let standard = &version.line.standard;
    let mut pieces = protocol.line_pieces();
    pieces.retain(|p| p.standard == *standard && p.risk == Risk::Any.word());
    if pieces.is_empty() {
        return Err(InventError::Lines {
            standard: standard.clone(),
        });
    }
    Ok(Line {
        segments: pieces,
        strictly_above: version.line.above_when == AboveWhen::Greater,
    })
}

fn near_line(version: &protocol::Version) -> Result<NearLine, InventError> {
    let recheck = &version.recheck;
    let find = |risks: [Risk; 2]| -> Result<&RecheckRule, InventError> {
        let mut rules = recheck.rules.iter();
        rules
            .find(|r| r.trigger == Trigger::NearLine && risks.contains(&r.risk))
            .ok_or_else(|| InventError::Protocol {
                trigger: Trigger::NearLine.word(),
            })
    };
    let near = find([Risk::Any, Risk::Absent])?;
    let at_risk = find([Risk::Present, Risk::Any])?;
    Ok(NearLine {
        latest_s: seconds(near.latest_h),
        risk_latest_s: seconds(at_risk.latest_h),
        risk_factors: recheck.risk_factors.clone(),
        risk_feeding: recheck.risk_feeding.clone(),
        gap_micro_umol_l: near.gap_at_most().map_or(0, Concentration::micro),
        gestation_at_least_d: near.gestation_at_least.as_deref().map_or(0, days),
        age_above_s: seconds(near.age_above_h.unwrap_or(0.0)),
    })
}
