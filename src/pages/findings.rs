//! What the month shows, in at most five sentences, gravest first.
//!
//! First what a chart says of a figure: a level that became worse, a month unusually bad. Then a
//! meter that drifts or reads otherwise on a skin tone, a unit outside the funnel's outer limits, the
//! targets that twelve months miss, the figures that a reader asks for in any month (missed
//! referrals, serum in time, readmissions), what changed for the better. Figures that say the same since the same
//! month are one sentence. The last line counts what was not named.

use serde::Serialize;

use crate::queries::figure_kinds::{FigureKind, is_given_by, kind_of};
use crate::queries::figures::{Figure, Quantity};
use crate::signals::agreement::Group;
use crate::signals::drift::{Drift, FEWEST_PAIRS};
use crate::statistics::comparison::exact_limits::Level;

use super::attention::Attention;
use super::dashboard::data::DashboardData;
use super::figure_row::row;
use super::series::Series;
use super::{numbers, units_view, verdict, words};

/// One finding.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Finding {
    /// The fact with its number.
    pub fact: String,
    /// Its comparison and its sureness.
    pub beside: String,
    /// Where the page says more.
    pub anchor: String,
}

/// More would not be read.
const MOST: usize = 5;

/// How far up a finding stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Place {
    Figure(Attention),
    Meter,
    Group,
    Unit,
    Target,
    Asked,
    Rest(Attention),
}

/// The findings of a month, and a line about all other figures.
pub(super) fn findings(data: &DashboardData<'_>, series: &[Series<'_>]) -> (Vec<Finding>, String) {
    let mut found: Vec<(Place, Finding)> = Vec::new();
    let mut covered: Vec<&str> = Vec::new();
    for one in series {
        let attention = one.attention();
        if attention > Attention::Better || covered.contains(&one.measure) {
            continue;
        }
        let alike: Vec<&Series<'_>> = series
            .iter()
            .filter(|other| other.measure != one.measure && !covered.contains(&other.measure))
            .filter(|other| other.attention() == attention && says_the_same(one, other))
            .collect();
        covered.push(one.measure);
        covered.extend(alike.iter().map(|other| other.measure));
        let place = match attention {
            Attention::Worse | Attention::UnusuallyBad => Place::Figure(attention),
            Attention::TargetMissed => Place::Target,
            other => Place::Rest(other),
        };
        found.extend(finding(one, data, &alike).map(|finding| (place, finding)));
    }
    found.extend(meters(data).into_iter().map(|finding| (Place::Meter, finding)));
    found.extend(skin_tone(data).map(|finding| (Place::Group, finding)));
    found.extend(units(data).into_iter().map(|finding| (Place::Unit, finding)));
    let asked = ["missed_referral", "referral_in_time", "jaundice_readmission_"];
    for stem in asked {
        let of_stem = series.iter().rfind(|one| words::is_named(one.measure, stem));
        let Some(one) = of_stem.filter(|one| !covered.contains(&one.measure)) else {
            continue;
        };
        if let Some(finding) = finding(one, data, &[]) {
            covered.push(one.measure);
            found.push((Place::Asked, finding));
        }
    }
    found.sort_by_key(|(place, _)| *place);
    let further: Vec<String> = found
        .split_off(MOST.min(found.len()))
        .into_iter()
        .map(|(_, finding)| format!("{}. {}", finding.fact, finding.beside))
        .collect();
    let findings = found.into_iter().map(|(_, finding)| finding).collect();
    (findings, rest(series, &covered, &further))
}

/// Two charts that say the same: a shift since the same month, or the month alone. All targets
/// that are missed are one finding.
fn says_the_same(one: &Series<'_>, other: &Series<'_>) -> bool {
    if one.attention() == Attention::TargetMissed {
        return true;
    }
    let short = |series: &Series<'_>| series.signalled.map(verdict::short);
    short(one).is_some() && short(one) == short(other)
}

/// `Nothing else changed: ...`.
fn rest(series: &[Series<'_>], covered: &[&str], further: &[String]) -> String {
    let others = || series.iter().filter(|one| !covered.contains(&one.measure));
    let count = |wanted: Attention| others().filter(|one| one.attention() == wanted).count();
    let mut parts = vec![format!("{} without a signal", count(Attention::Quiet))];
    let undecided = count(Attention::Undecided);
    if undecided > 0 {
        parts.push(format!("{undecided} provisional or with too few months"));
    }
    let no_data = count(Attention::NoData);
    if no_data > 0 {
        parts.push(format!("{no_data} without data"));
    }
    let begun = match further.is_empty() {
        true => "Nothing else changed".to_owned(),
        false => format!("Further: {} Nothing else changed", further.join(" ")),
    };
    format!("{begun}: {} of the other figures.", parts.join(", "))
}

fn finding(series: &Series<'_>, data: &DashboardData<'_>, alike: &[&Series<'_>]) -> Option<Finding> {
    let now = series.now()?;
    let fact = fact(series, now, data)?;
    let mut beside = beside(now, series);
    if !alike.is_empty() {
        let also: Vec<String> = alike
            .iter()
            .filter_map(|other| {
                let name = lower(&words::figure(other.measure));
                let is_of_year = series.attention() == Attention::TargetMissed;
                let figure = if is_of_year { other.of_year() } else { other.now() };
                let bound = other
                    .target
                    .filter(|_| is_of_year)
                    .map(|target| target.bound_in_words());
                let bound = bound.map_or_else(String::new, |bound| format!(" ({bound})"));
                Some(format!("{name} {}{bound}", row(figure?, "", false).value))
            })
            .collect();
        let likewise = match series.attention() {
            Attention::TargetMissed => "Targets missed as well",
            _ => "Likewise",
        };
        beside.push_str(&format!(" {likewise}: {}.", also.join(", ")));
    }
    Some(Finding {
        fact,
        beside,
        anchor: series.measure.to_owned(),
    })
}

/// The fact with its counts; `None` without any case.
fn fact(series: &Series<'_>, now: &Figure, data: &DashboardData<'_>) -> Option<String> {
    let (n, of) = (now.numerator?, now.denominator?);
    if of == 0 {
        return None;
    }
    let measure = series.measure;
    let name = words::figure(measure);
    Some(match measure {
        "missed_referral" => format!(
            "{} had no serum within {}",
            n_of(n, of, "referral"),
            data.about.follow_up
        ),
        "referral_in_time" => format!("{} had a serum in time{}", n_of(n, of, "referral"), half_by(data)),
        _ if is_given_by(measure, "jaundice_readmission") => {
            let was = if n == 1 { "was readmitted" } else { "were readmitted" };
            let how = name.to_lowercase().replacen("readmitted", was, 1);
            format!("{} {how}", n_of(n, of, "baby sent home"))
        }
        _ if is_given_by(measure, "recheck_adherence") => format!("{name}: {} on time", n_of(n, of, "")),
        _ => {
            let row = row(now, "", false);
            match Quantity::of(measure) {
                Quantity::Hours | Quantity::Concentration => format!("{name}: {}", row.value),
                Quantity::Share | Quantity::PerThousandBirths => format!("{name}: {}", row.count),
            }
        }
    })
}

/// `; half were drawn by 2.1 h`: the median beside the share in time.
fn half_by(data: &DashboardData<'_>) -> String {
    let month = data.month.to_string();
    let mut all = data.figures.iter();
    let median = all.find(|f| f.measure == "time_to_serum_median" && f.split == "all" && f.month == month);
    let value = median.and_then(|f| f.value);
    value.map_or_else(String::new, |h| format!("; half were drawn by {}", numbers::hours(h)))
}

/// Its interval, what it was before, what the chart and the target say.
fn beside(now: &Figure, series: &Series<'_>) -> String {
    let current = row(now, "", false);
    let mut text = String::new();
    if now.value.is_some() {
        text.push_str(&match (current.interval.is_empty(), Quantity::of(series.measure)) {
            (true, _) => current.value.clone(),
            (false, Quantity::Share) => format!("{}, {}", current.value, current.interval),
            (false, _) => format!("95 % interval {}", current.interval),
        });
        // A figure that can still rise is no match for months that are complete.
        if let Some((n, of)) = series
            .pooled_before()
            .filter(|_| !now.provisional && kind_of(series.measure).is_some_and(FigureKind::is_plain_share))
        {
            let months = match series.counted_before().len() {
                1 => "month".to_owned(),
                n => format!("{n} months"),
            };
            let share = numbers::percent(n as f64 / of as f64, of);
            text.push_str(&format!("; the {months} before: {share}"));
        }
        text.push('.');
    }
    if now.provisional {
        text.push_str(" Provisional: some babies are younger than that, and in no rate yet.");
    } else if let Some(signalled) = series.signalled {
        text.push_str(&format!(" {}.", verdict::begun(&verdict::short(signalled))));
    }
    if let Some((target, year)) = series.target.zip(series.of_year())
        && target.is_kept(year.value) == Some(false)
    {
        let year = row(year, "", false);
        text.push_str(&format!(
            " Target {}, over twelve months {} ({}).",
            target.bound_in_words(),
            year.value,
            year.count
        ));
    }
    if now.open > 0 {
        text.push_str(&format!(" {} not yet decidable.", numbers::count(now.open)));
    }
    text
}

/// Meters that drifted and are in use: with a pair in the month or the one before.
fn meters(data: &DashboardData<'_>) -> Vec<Finding> {
    let is_in_use = |drift: &&Drift| drift.last >= data.month.plus(-1);
    let recent = data.agreed.drifts.found.iter().filter(is_in_use);
    let findings = recent.map(|drift| Finding {
        fact: format!(
            "Meter {} read {} {} than the others from {} on",
            drift.meter,
            numbers::concentration(drift.by.abs()),
            if drift.by < 0.0 { "less" } else { "more" },
            drift.began.in_words()
        ),
        beside: format!(
            "{} pairs; flagged in {}; last pair in {}.",
            drift.pairs,
            drift.flagged.in_words(),
            drift.last.in_words()
        ),
        anchor: "agreement".to_owned(),
    });
    findings.collect()
}

/// The skin tone on which the meters read furthest from all others, beyond chance.
fn skin_tone(data: &DashboardData<'_>) -> Option<Finding> {
    let differing = data.agreed.groups.iter().filter(|group| {
        let is_known = group.name != "unknown";
        group.by == "skin_tone" && is_known && group.pairs >= FEWEST_PAIRS && group.differs()
    });
    let off = |group: &Group| group.difference.map_or(0.0, |difference| difference.value);
    let furthest = differing.max_by(|a, b| off(a).abs().total_cmp(&off(b).abs()))?;
    let interval = furthest.difference.map(|difference| difference.interval)?;
    Some(Finding {
        fact: format!(
            "Screens read {} {} on skin tone {} than on all others",
            numbers::concentration(off(furthest).abs()),
            if off(furthest) < 0.0 { "less" } else { "more" },
            furthest.name
        ),
        beside: format!(
            "{} to {} umol/L, {} first pairs with serum over twelve months; beyond chance, each group taken alone.",
            numbers::whole(interval.lower),
            numbers::whole(interval.upper),
            furthest.pairs
        ),
        anchor: "agreement".to_owned(),
    })
}

/// Units beyond the outer limits of a funnel on the worse side, of the figures that matter most.
fn units(data: &DashboardData<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    for measure in super::network_view::headlines(data.year) {
        let Some(found) = data.units.get(measure) else { continue };
        for unit in &found.units {
            let is_far = unit.beyond.is_some_and(|beyond| beyond.level == Level::Action);
            let better = data.signals.get(measure).and_then(|signalled| signalled.better);
            if !is_far || !units_view::is_worse(unit, better) {
                continue;
            }
            let all = numbers::percent(found.centre, unit.cases);
            findings.push(Finding {
                fact: format!(
                    "Unit {}, {}: {} of {} over twelve months",
                    unit.name,
                    lower(&words::figure(measure)),
                    numbers::count(unit.events),
                    numbers::count(unit.cases)
                ),
                beside: format!(
                    "{}; all units {all}. Outside the limits that 998 of 1\u{202f}000 units keep by chance.",
                    numbers::percent(unit.value, unit.cases)
                ),
                anchor: measure.to_owned(),
            });
        }
    }
    findings
}

/// A name within a sentence.
fn lower(name: &str) -> String {
    let mut letters = name.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_lowercase().collect::<String>() + letters.as_str()
    })
}

/// `9 of 112 referrals`; `Neither of 2` and the like read worse than the numbers.
fn n_of(n: u64, of: u64, one: &str) -> String {
    let many = match one {
        "" => String::new(),
        "baby sent home" => " babies sent home".to_owned(),
        _ if of == 1 => format!(" {one}"),
        _ => format!(" {one}s"),
    };
    format!("{} of {}{many}", numbers::count(n), numbers::count(of))
}
