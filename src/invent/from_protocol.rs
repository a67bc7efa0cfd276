//! The rules an invention keeps to, taken from a protocol.

use crate::protocol::{
    self, AboveWhen, Accepts, ClauseKind, Concentration, Protocol, RecheckRule, Risk, Trigger, UMOL_L_PER_MG_DL,
    gestation_days, micro, seconds,
};

use super::InventError;
use super::rules::{
    Clause, FirstDay, Line, LineSegment, NearLine, ReadmissionRules, RecheckRules, RecheckWindow, ReferralRules, Rules,
    TreatmentNext, Window,
};

impl Rules {
    /// The rules of the newest version of a protocol.
    ///
    /// # Errors
    /// When the protocol lacks one of the recheck triggers that the simulated
    /// nurses know, or its lines depend on risk.
    pub fn of(protocol: &Protocol) -> Result<Self, InventError> {
        let version = protocol.newest();
        let referral = &version.referral;
        let plausible = protocol.plausible();
        Ok(Self {
            zone: protocol.zone().iana_name().unwrap_or("UTC").to_owned(),
            micro_umol_l_per_mg_dl: micro(UMOL_L_PER_MG_DL),
            plausible_micro_umol_l: (micro(plausible.umol_l_at_least), micro(plausible.umol_l_at_most)),
            total_analytes: version.serum.total_bilirubin.clone(),
            serum_specimens: version.serum.specimens.clone(),
            stay_chain_s: seconds(version.stays.transfer_within_h),
            course_join_s: seconds(version.stays.course_gap_h),
            course_shadow_s: seconds(referral.not_after_phototherapy_h),
            line: line(protocol, version)?,
            referral: ReferralRules {
                gestation_at_least_d: days(&referral.gestation_at_least),
                age_above_s: seconds(referral.age_above_h),
                clauses: referral.clauses.iter().map(clause).collect(),
                windows: referral.windows.iter().map(window).collect(),
                paired_before_s: seconds(referral.paired_before_h),
                episode_gap_s: seconds(referral.same_referral_under_h),
                missed_after_s: seconds(referral.follow_up_h),
                time_to_serum_h: version.time_to_serum.shares_at_h.clone(),
            },
            recheck: recheck(version)?,
            readmission: ReadmissionRules {
                gestation_at_least_d: days(&version.readmission.gestation_at_least),
                ages_d: version.readmission.within_days.clone(),
                codes: plain(&version.readmission.codes),
                codes_excluded: plain(&version.readmission.except_codes),
            },
        })
    }
}

fn days(gestation: &str) -> i64 {
    gestation_days(gestation).map_or(0, i64::from)
}

fn plain(codes: &[String]) -> Vec<String> {
    codes.iter().map(|code| code.to_uppercase().replace('.', "")).collect()
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

fn recheck(version: &protocol::Version) -> Result<RecheckRules, InventError> {
    let recheck = &version.recheck;
    let find = |trigger: Trigger, risks: &[Risk]| -> Result<&RecheckRule, InventError> {
        let mut rules = recheck.rules.iter();
        rules
            .find(|r| r.trigger == trigger && risks.contains(&r.risk))
            .ok_or_else(|| InventError::Protocol {
                trigger: trigger.word(),
            })
    };
    let window = |rule: &RecheckRule| RecheckWindow {
        earliest_s: seconds(rule.earliest_h),
        latest_s: seconds(rule.latest_h),
        tolerance_s: recheck.tolerance_min * 60,
        accepts_screens: rule.accepts == Accepts::SerumOrScreen,
    };
    let any = [Risk::Any, Risk::Absent];
    let near = find(Trigger::NearLine, &any)?;
    let near_at_risk = find(Trigger::NearLine, &[Risk::Present, Risk::Any])?;
    let next = find(Trigger::SerumInCourse, &any)?;
    let first_day = find(Trigger::SerumAboveLine, &any)?;
    Ok(RecheckRules {
        accepted_from_s: seconds(recheck.accept_after_h),
        late_for_s: seconds(recheck.late_until_h),
        near_line: NearLine {
            window: window(near),
            risk_latest_s: seconds(near_at_risk.latest_h),
            risk_factors: recheck.risk_factors.clone(),
            risk_feeding: recheck.risk_feeding.clone(),
            gap_micro_umol_l: near.gap_at_most().map_or(0, Concentration::micro),
            gestation_at_least_d: near.gestation_at_least.as_deref().map_or(0, days),
            age_above_s: seconds(near.age_above_h.unwrap_or(0.0)),
            serum_within_s: seconds(version.referral.paired_before_h),
        },
        treatment_first: window(find(Trigger::CourseStart, &any)?),
        treatment_next: TreatmentNext {
            window: window(next),
            from_course_start_s: seconds(next.into_course_h.unwrap_or(0.0)),
        },
        rebound: window(find(Trigger::CourseEnd, &any)?),
        first_day: FirstDay {
            window: window(first_day),
            age_below_s: seconds(first_day.age_below_h.unwrap_or(0.0)),
        },
    })
}
