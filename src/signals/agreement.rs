//! How well the meters agree with the laboratory, over the pairs of twelve months.
//!
//! Bias, limits and regressions are of each baby's first pair, so that pairs are independent; all
//! pairs are told beside, with the spread between and within babies taken apart. A group's bias is
//! compared with that of all other pairs (Welch). The referral rule is held against serum above
//! the line among all pairs whose screen could call for one, with intervals that go by babies. Serum is mostly drawn when a screen
//! was high: the rule's misses are under-counted, its sensitivity looks better and its specificity
//! worse than they are (verification bias).

use std::collections::BTreeMap;

use crate::engine::Session;
use crate::month::Month;
use crate::queries::QueryError;
use crate::statistics::Interval;
use crate::statistics::agreement::bland_altman::{Agreement, agreement};
use crate::statistics::agreement::concordance::{Concordance, concordance};
use crate::statistics::agreement::deming::{Deming, deming};
use crate::statistics::agreement::diagnostic::Table;
use crate::statistics::agreement::passing_bablok::{PassingBablok, passing_bablok};
use crate::statistics::agreement::repeated::{Repeated, repeated};
use crate::statistics::agreement::roc::{self, Area};
use crate::statistics::means::{Difference, welch};

use super::drift::{Drifts, drifts};
use super::pairs::{self, Pair};

/// Months of pairs taken together: single months have too few.
pub const MONTHS: i32 = 12;

/// Months in which drifting meters are looked for.
pub const DRIFT_MONTHS: i32 = 24;

/// How near the two of a pair are in the stricter comparison, seconds.
const NEARER_S: i64 = 1_800;

/// Error variance of a screen over that of a serum; 1 as nothing better is known of the site.
const ERROR_RATIO: f64 = 1.0;

/// Level of the intervals of Passing and Bablok.
const LEVEL: f64 = 0.95;

/// What the pairs of a span show. Screens are compared with serum: a positive difference is a
/// screen that read higher. umol/L.
#[derive(Clone, Debug)]
pub struct Agreed {
    /// The first month.
    pub first: Month,
    /// The last month.
    pub last: Month,
    /// All pairs.
    pub pairs: usize,
    /// Bias and limits of each baby's first pair; `None` of fewer than two.
    pub headline: Option<Agreement>,
    /// The same of those taken within half the protocol's customary hour.
    pub nearer: Option<Agreement>,
    /// All pairs, babies with several taken for what they are.
    pub repeated: Option<Repeated>,
    /// Regression with error in both.
    pub deming: Option<Deming>,
    /// Regression by ranks of slopes.
    pub passing_bablok: Option<PassingBablok>,
    /// Lin's concordance.
    pub concordance: Option<Concordance>,
    /// The referral rule against serum above the line, all pairs.
    pub rule: Table,
    /// The same of each baby, as pairs of one are not independent.
    pub rule_of_babies: Vec<Table>,
    /// How far the screen lies above the line, against serum above it, whatever the rule.
    pub area: Option<Area>,
    /// First pairs by group.
    pub groups: Vec<Group>,
    /// Mean and difference of each first pair, for the plot, in order of the mean.
    pub points: Vec<(f64, f64)>,
    /// Serum and screen of each first pair, likewise.
    pub compared: Vec<(f64, f64)>,
    /// Meters that drifted within the months looked at for that.
    pub drifts: Drifts,
}

/// First pairs of one group.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// What it is a group by: `meter`, `body_site`, `gestation`, `skin_tone` or `age`.
    pub by: &'static str,
    /// Which group.
    pub name: String,
    /// Its pairs.
    pub pairs: usize,
    /// Its bias.
    pub bias: f64,
    /// The interval of its bias; `None` of fewer than two pairs.
    pub bias_interval: Option<Interval>,
    /// Limits of agreement.
    pub limits: Option<Interval>,
    /// Its bias minus that of all other pairs.
    pub difference: Option<Difference>,
}

impl Group {
    /// Whether it differs from the rest by more than chance, each group taken alone.
    pub fn differs(&self) -> bool {
        let leaves_out_zero = |d: Difference| d.interval.lower > 0.0 || d.interval.upper < 0.0;
        self.difference.is_some_and(leaves_out_zero)
    }
}

/// Reads the pairs up to a month, of one unit or, where that is empty, of all, and compares them.
///
/// # Errors
/// When the snapshot cannot be read.
pub async fn read(session: &Session, month: Month, unit: &str) -> Result<Agreed, QueryError> {
    let all = pairs::read(session, (month.plus(1 - DRIFT_MONTHS), month), unit).await?;
    Ok(agreed(&all, month))
}

/// Compares pairs, which come in order of time, of the months up to `month`.
pub fn agreed(all: &[Pair], month: Month) -> Agreed {
    let first = month.plus(1 - MONTHS);
    let pairs: Vec<&Pair> = all.iter().filter(|pair| pair.month >= first).collect();
    let firsts: Vec<&Pair> = pairs.iter().copied().filter(|pair| pair.is_first).collect();
    let nearer: Vec<&Pair> = firsts.iter().copied().filter(|pair| pair.apart_s <= NEARER_S).collect();
    let mut compared: Vec<(f64, f64)> = firsts.iter().map(|pair| (pair.serum, pair.screen)).collect();
    compared.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let mut points: Vec<(f64, f64)> = firsts
        .iter()
        .map(|pair| ((pair.screen + pair.serum) / 2.0, pair.difference()))
        .collect();
    points.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let scored: Vec<(f64, bool)> = pairs
        .iter()
        .filter_map(|pair| Some((pair.screen - pair.line?, pair.above_line?)))
        .collect();
    Agreed {
        first,
        last: month,
        pairs: pairs.len(),
        headline: agreement(&both(&firsts)),
        nearer: agreement(&both(&nearer)),
        repeated: repeated(&by_baby(&pairs)),
        deming: deming(&compared, ERROR_RATIO),
        passing_bablok: passing_bablok(&compared, LEVEL),
        concordance: concordance(&both(&firsts)),
        rule: rule(&pairs),
        rule_of_babies: rule_of_babies(&pairs),
        area: roc::area(&scored),
        groups: groups(&firsts),
        points,
        compared,
        drifts: drifts(all),
    }
}

/// Screen and serum of each.
fn both(pairs: &[&Pair]) -> Vec<(f64, f64)> {
    pairs.iter().map(|pair| (pair.screen, pair.serum)).collect()
}

fn by_baby(pairs: &[&Pair]) -> Vec<Vec<(f64, f64)>> {
    let babies = pairs.iter().map(|pair| pair.baby + 1).max().unwrap_or(0);
    let mut of_baby = vec![Vec::new(); babies];
    for pair in pairs {
        of_baby[pair.baby].push((pair.screen, pair.serum));
    }
    of_baby.retain(|pairs| !pairs.is_empty());
    of_baby
}

fn rule(pairs: &[&Pair]) -> Table {
    let count = |called: bool, above: bool| {
        let those = pairs
            .iter()
            .filter(|pair| pair.called == Some(called) && pair.above_line == Some(above));
        those.count() as u64
    };
    Table {
        true_positives: count(true, true),
        false_positives: count(true, false),
        false_negatives: count(false, true),
        true_negatives: count(false, false),
    }
}

/// The table of each baby that has a pair.
fn rule_of_babies(pairs: &[&Pair]) -> Vec<Table> {
    let mut of_baby: BTreeMap<usize, Vec<&Pair>> = BTreeMap::new();
    for pair in pairs {
        of_baby.entry(pair.baby).or_default().push(pair);
    }
    of_baby.values().map(|pairs| rule(pairs)).collect()
}

/// What a pair is grouped by, and its group.
type By = (&'static str, fn(&Pair) -> &str);

const BY: [By; 5] = [
    ("meter", |pair| &pair.meter),
    ("body_site", |pair| &pair.body_site),
    ("gestation", |pair| &pair.gestation),
    ("skin_tone", |pair| &pair.skin_tone),
    ("age", |pair| &pair.age),
];

fn groups(firsts: &[&Pair]) -> Vec<Group> {
    let mut all = Vec::new();
    for (by, group_of) in BY {
        let mut names: Vec<&str> = firsts.iter().map(|pair| group_of(pair)).collect();
        // What is not known comes last.
        names.sort_by_key(|name| (*name == "unknown" || name.is_empty(), *name));
        names.dedup();
        for name in names {
            let (own, rest): (Vec<&Pair>, Vec<&Pair>) = firsts.iter().partition(|pair| group_of(pair) == name);
            let differences = |of: &[&Pair]| of.iter().map(|pair| pair.difference()).collect::<Vec<f64>>();
            let found = agreement(&both(&own));
            let own_differences = differences(&own);
            all.push(Group {
                by,
                name: if name.is_empty() {
                    "unknown".to_owned()
                } else {
                    name.to_owned()
                },
                pairs: own.len(),
                bias: own_differences.iter().sum::<f64>() / own.len() as f64,
                bias_interval: found.as_ref().map(|found| found.bias_interval),
                limits: found.as_ref().map(|found| found.limits),
                difference: welch(&own_differences, &differences(&rest)),
            });
        }
    }
    all
}
