//! Cumulative incidence with a competing event: the Aalen-Johansen estimator.
//!
//! At each time t with d1 events of interest and d2 competing ones among n still
//! at risk, the incidence grows by S(t-)·d1/n, and S falls by the factor
//! 1 - (d1+d2)/n. Events at a time come before censorings at that time.
//! Source: Aalen OO, Johansen S (1978) Scand J Stat 5:141-150; hand-checkable
//! example in the tests. Degenerate cases: nobody at all gives an empty curve;
//! all censored gives a curve at 0; nobody censored gives the plain proportion.

/// How one follow-up ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// With the event of interest.
    Event,
    /// With the competing event.
    Competing,
    /// It was cut short.
    Censored,
}

/// A step of the curve: from this time on, the incidence is this.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// Time, in the unit of the follow-ups.
    pub time: i64,
    /// Cumulative incidence of the event of interest, 0 to 1.
    pub incidence: f64,
}

/// The cumulative incidence of the event of interest, one step per time at which it happened.
pub fn incidence(follow_ups: &[(i64, End)]) -> Vec<Step> {
    let mut sorted = follow_ups.to_vec();
    sorted.sort_by_key(|(time, _)| *time);
    let mut steps = Vec::new();
    let mut at_risk = sorted.len();
    let (mut surviving, mut incidence) = (1.0, 0.0);
    for same_time in sorted.chunk_by(|a, b| a.0 == b.0) {
        let count = |end: End| same_time.iter().filter(|(_, e)| *e == end).count();
        let (events, competing) = (count(End::Event), count(End::Competing));
        let n = at_risk as f64;
        if events > 0 {
            incidence += surviving * events as f64 / n;
            steps.push(Step {
                time: same_time[0].0,
                incidence,
            });
        }
        surviving *= 1.0 - (events + competing) as f64 / n;
        at_risk -= same_time.len();
    }
    steps
}

/// The incidence by `time`, that time included; 0 before the first step.
pub fn by(steps: &[Step], time: i64) -> f64 {
    let until = steps.iter().take_while(|step| step.time <= time);
    until.last().map_or(0.0, |step| step.incidence)
}

/// The first time at which the incidence reaches one half; `None` when it never does.
pub fn median(steps: &[Step]) -> Option<i64> {
    // Sums of fractions such as 0.1 fall a little short of one half.
    let half = 0.5 - 1e-12;
    steps.iter().find(|step| step.incidence >= half).map(|step| step.time)
}
