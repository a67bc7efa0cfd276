//! What a measure sees of one baby at its data end.

use super::courses::{Course, courses};
use super::facts::{Birth, Born, Exchange, Screen, Serum};
use super::figure::Groups;
use super::line::Lines;
use super::moment::{Zone, month_of_day};
use super::rules::{Rules, UnknownRisk, Version};
use super::stays::{self, Chain, Exit};
use super::value::Value;
use super::versions::{Baby, Register};

/// One baby, with nothing later than data end.
#[derive(Clone)]
pub struct View<'a> {
    /// Id of the baby.
    pub infant_id: String,
    /// The protocol.
    pub rules: &'a Rules,
    /// The zone.
    pub zone: &'a Zone,
    /// The measure's data end, epoch seconds.
    pub data_end: i64,
    /// The birth.
    pub birth: Birth,
    /// Screens in the order of (time, id).
    pub screens: Vec<Screen>,
    /// All specimens of total bilirubin in serum in the order of (time, id).
    pub specimens: Vec<Serum>,
    /// Valid serums in the order of (time, id).
    pub valid_serums: Vec<Serum>,
    /// Failed attempts.
    pub failed_attempts: Vec<Serum>,
    /// Courses.
    pub courses: Vec<Course>,
    /// Chains of the stays admitted by data end; their ends are read with `end_at`.
    pub chains: Vec<Chain>,
    /// Exits by data end.
    pub exits: Vec<stays::Gone>,
    /// Exchange transfusions in the order of (time, id).
    pub exchanges: Vec<Exchange>,
}

/// How a baby left within an interval, if it did.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gone {
    /// No.
    No,
    /// Died or transferred out.
    Left,
    /// Neither, but there is a discharge without disposition.
    Unknown,
}

/// Every baby born by data end.
pub fn views<'a>(register: &Register, data_end: i64, rules: &'a Rules, zone: &'a Zone) -> Vec<View<'a>> {
    register
        .babies
        .iter()
        .filter(|(_, baby)| exists(&baby.birth, data_end, zone))
        .map(|(infant_id, baby)| view(infant_id, baby, data_end, rules, zone))
        .collect()
}

/// "A birth later than D does not exist" (choice 3); a birth known by date only is taken at the
/// beginning of its day.
fn exists(birth: &Birth, data_end: i64, zone: &Zone) -> bool {
    match birth.born {
        Born::At(at) => at <= data_end,
        Born::On(day) => zone.day_start(day) <= data_end,
    }
}

/// "Per measure, an event later than D is ignored ... courses and stays are built once,
/// untrimmed, and trimmed at D where a measure reads them" (choice 3).
fn view<'a>(infant_id: &str, baby: &Baby, data_end: i64, rules: &'a Rules, zone: &'a Zone) -> View<'a> {
    let mut screens = baby.screens.clone();
    screens.retain(|screen| screen.at <= data_end);
    screens.sort_by(|a, b| a.at.cmp(&b.at).then_with(|| a.id.cmp(&b.id)));

    let mut serums = baby.serums.clone();
    serums.retain(|serum| serum.at <= data_end);
    serums.sort_by(|a, b| a.at.cmp(&b.at).then_with(|| a.id.cmp(&b.id)));

    let mut exchanges = baby.exchanges.clone();
    exchanges.retain(|exchange| exchange.at <= data_end);
    exchanges.sort_by(|a, b| a.at.cmp(&b.at).then_with(|| a.id.cmp(&b.id)));

    let all_chains = stays::chains(&baby.stays, rules);
    let all_courses = courses(&baby.episodes, &all_chains, rules);
    View {
        infant_id: infant_id.to_string(),
        rules,
        zone,
        data_end,
        birth: baby.birth.clone(),
        screens,
        specimens: serums.iter().filter(|s| s.is_total_in_serum).cloned().collect(),
        exchanges,
        valid_serums: serums.iter().filter(|s| s.is_valid()).cloned().collect(),
        failed_attempts: serums.iter().filter(|s| s.is_failed_attempt()).cloned().collect(),
        courses: all_courses.iter().filter_map(|c| c.at(data_end)).collect(),
        exits: stays::exits(&all_chains, data_end, rules),
        chains: known_chains(all_chains, data_end),
    }
}

/// "An admission later than D does not exist", and "a chain that starts after D is dropped"
/// (choice 3). Without its later stays a chain still counts as still in: its last known stay
/// was left by transfer under 6 h before D, or is not yet left.
fn known_chains(mut chains: Vec<Chain>, data_end: i64) -> Vec<Chain> {
    for chain in &mut chains {
        chain.stays.retain(|stay| stay.admitted <= data_end);
    }
    chains.retain(|chain| !chain.stays.is_empty());
    chains
}

impl View<'_> {
    /// "Ages are elapsed hours"; here in seconds, `None` for a birth known by date only.
    pub fn age_s(&self, at: i64) -> Option<i64> {
        match self.birth.born {
            Born::At(born) => Some(at - born),
            Born::On(_) => None,
        }
    }

    /// The lines at a moment, when birth, gestation and lines are known: those of the version in
    /// force then, with the risk of a baby that has any of its risk factors; empty risk factors are
    /// judged as the version says (choice 28).
    pub fn lines(&self, at: i64) -> Option<Lines> {
        let version = self.rules.at(at);
        let gestation_weeks = self.birth.gestation_days? / 7;
        let age_s = self.age_s(at)?;
        let with = |has_risk| version.standard.lines(gestation_weeks, has_risk, age_s);
        let factors = &version.line_risk_factors;
        if self.birth.risk_factors.iter().any(|factor| factors.contains(factor)) {
            return with(true);
        }
        if self.birth.has_risk_factors_recorded() {
            return with(false);
        }
        match version.unknown_line_risk {
            UnknownRisk::Absent => with(false),
            UnknownRisk::Present => with(true),
            // Left out where it matters: a line that is the same for all is none the less known.
            UnknownRisk::LeftOut => with(false).filter(|_| !version.standard.depends_on_risk()),
        }
    }

    /// The line for phototherapy at a moment.
    pub fn line_micro(&self, at: i64) -> Option<i64> {
        self.lines(at).map(|lines| lines.phototherapy_micro)
    }

    /// Why there is no line at a moment; `None` when there is one.
    pub fn why_no_line(&self, at: i64) -> Option<&'static str> {
        if self.age_s(at).is_none() {
            return Some("birth_time_unknown");
        }
        if self.birth.gestation_days.is_none() {
            return Some("gestation_unknown");
        }
        self.lines(at).is_none().then_some("no_line")
    }

    /// The local month of birth.
    pub fn birth_month(&self) -> String {
        match self.birth.born {
            Born::At(at) => self.zone.month(at),
            Born::On(day) => month_of_day(day),
        }
    }

    /// The version in force at birth; for a birth known by date only, at the beginning of its day.
    pub fn version_at_birth(&self) -> &Version {
        self.rules.at(match self.birth.born {
            Born::At(at) => at,
            Born::On(day) => self.zone.day_start(day),
        })
    }

    /// The groups of something of this baby: its unit, the moment it is counted by, where that is
    /// known, and what its birth row says.
    pub fn groups(&self, unit: &str, at: Option<i64>) -> Groups {
        let word = |word: &str| if word.is_empty() { "unknown" } else { word }.to_string();
        let by_clock = |holds: fn(&Zone, i64) -> bool, yes: &str, no: &str| {
            let Some(at) = at else {
                return "unknown".to_string();
            };
            if holds(self.zone, at) { yes } else { no }.to_string()
        };
        Groups {
            unit: unit.to_string(),
            others: vec![
                ("gestation", gestation_band(self.birth.gestation_days)),
                ("skin_tone", word(&self.birth.skin_tone)),
                ("ethnicity", word(&self.birth.ethnicity)),
                ("feeding", word(&self.birth.feeding)),
                ("weekend", by_clock(Zone::is_weekend, "weekend", "weekday")),
                ("night", by_clock(Zone::is_night, "night", "day")),
            ],
        }
    }

    /// The groups of the birth.
    pub fn birth_groups(&self) -> Groups {
        let at = match self.birth.born {
            Born::At(at) => Some(at),
            Born::On(_) => None,
        };
        self.groups(&self.birth.unit, at)
    }

    /// Whether a moment lies strictly inside a course: "start < t < end" (choice 30).
    pub fn is_inside_course(&self, at: i64) -> bool {
        let mut courses = self.courses.iter();
        courses.any(|course| course.start < at && course.end.is_none_or(|end| at < end))
    }

    /// "During phototherapy or within 24 h after it": in [course start, course end + 24 h).
    pub fn is_under_phototherapy(&self, at: i64, rules: &Rules) -> bool {
        self.courses.iter().any(|course| course.covers_or_is_recent(at, rules))
    }

    /// "A value is above the line when value > line (NICE manner) or value >= line (AAP manner)."
    pub fn is_above_line(&self, value: Value, at: i64) -> bool {
        self.line_micro(at).is_some_and(|line| self.is_above(value, line, at))
    }

    /// The same of the exchange line.
    pub fn is_above_exchange_line(&self, value: Value, at: i64) -> bool {
        self.lines(at)
            .is_some_and(|lines| self.is_above(value, lines.exchange_micro, at))
    }

    fn is_above(&self, value: Value, line_micro: i64, at: i64) -> bool {
        let compared = value.compared_micro();
        compared > line_micro || (self.rules.at(at).above_is_at_least && compared == line_micro)
    }

    /// The exits that count for a case followed to a moment: "a baby admitted again in the network by
    /// the end of a case's follow-up has not left that case".
    pub fn exits_of_case(&self, followed_to: i64) -> impl Iterator<Item = &stays::Gone> {
        let is_for_good = move |exit: &&stays::Gone| exit.back.is_none_or(|back| back > followed_to);
        self.exits.iter().filter(is_for_good)
    }

    /// Whether the baby left at a moment for which `within` holds, for a case followed to a moment.
    /// "When there is no died/transferred-out exit in the interval but an unknown one, the episode or
    /// obligation is left out" (choice 8).
    pub fn gone(&self, followed_to: i64, within: impl Fn(i64) -> bool) -> Gone {
        let mut gone = Gone::No;
        for exit in self.exits_of_case(followed_to) {
            match exit.how {
                Exit::Died | Exit::TransferredOut if within(exit.at) => return Gone::Left,
                Exit::Unknown if within(exit.at) => gone = Gone::Unknown,
                _ => {}
            }
        }
        gone
    }

    /// The chain that contains a moment, as known at data end; of several the earliest.
    pub fn chain_containing(&self, at: i64, rules: &Rules) -> Option<&Chain> {
        stays::earliest(self.chains.iter().filter(|chain| {
            let end = chain.end_at(self.data_end, rules);
            stays::covers(chain.start(), end, at)
        }))
    }
}

/// "Gestation bands: < 35, 35, 36, 37, 38, 39, >= 40 completed weeks, unknown."
fn gestation_band(gestation_days: Option<i64>) -> String {
    match gestation_days.map(|days| days / 7) {
        None => "unknown".to_string(),
        Some(weeks) if weeks < 35 => "under 35".to_string(),
        Some(weeks) if weeks >= 40 => "40 or more".to_string(),
        Some(weeks) => weeks.to_string(),
    }
}
