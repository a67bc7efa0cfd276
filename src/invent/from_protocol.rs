//! The rules an invention keeps to, taken from a protocol.

use crate::protocol::{
    self, AboveWhen, ClauseKind, Concentration, Protocol, RecheckRule, Risk, Trigger, UMOL_L_PER_MG_DL, gestation_days,
    micro, seconds,
};

use super::error::InventError;
use super::rules::{Clause, Line, LineSegment, NearLine, ReferralRules, Rules, Window};

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
                clauses: referral.clauses.iter().map(clause).collect(),
                windows: referral.windows.iter().map(window).collect(),
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
    let segments = pieces.into_iter().map(|p| LineSegment {
        gestation_weeks: (p.gestation_weeks, p.gestation_weeks),
        from_age_s: p.age_from_s,
        to_age_s: p.age_to_s,
        from_micro_umol_l: p.phototherapy_micro.0,
        to_micro_umol_l: p.phototherapy_micro.1,
    });
    Ok(Line {
        segments: segments.collect(),
        strictly_above: version.line.above_when == AboveWhen::Greater,
    })
}

fn clause(clause: &protocol::Clause) -> Clause {
    let limit = clause.limit().map_or(0, Concentration::micro);
    match clause.when {
        ClauseKind::ValueAbove => Clause::ValueAbove(limit),
        ClauseKind::ValueAtLeast => Clause::ValueAtLeast(limit),
        ClauseKind::LineMinus => Clause::LineAtLeastLess(limit),
        ClauseKind::AboveRange => Clause::AboveRange,
    }
}

fn window(window: &protocol::ReferralWindow) -> Window {
    Window {
        age_below_s: window.age_below_h.map(seconds),
        window_s: seconds(window.within_h),
    }
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
