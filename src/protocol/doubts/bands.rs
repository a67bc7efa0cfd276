//! Recheck rows of one rule that leave out gaps to the line, or ages, between them, or reach
//! further from the line with risk than without.

use std::collections::{BTreeMap, BTreeSet};

use crate::protocol::file::{RecheckRule, Risk, Version};
use crate::protocol::{Concentration, gestation_days};

/// A stretch that a row holds for, ends included, in whole units.
type Stretch = (i64, i64);

/// What rows must share besides their rule so that their stretches belong together.
type Group<'a> = (&'a str, &'static str, Option<i32>, Stretch);

pub(super) fn doubts(version: &Version, found: &mut Vec<String>) {
    let recheck = &version.recheck;
    let step = recheck.gap_rounded_to().map_or(1, Concentration::micro);
    for rule in &recheck.rules {
        for bound in [rule.gap_at_least(), rule.gap_at_most()].into_iter().flatten() {
            if bound.micro() % step != 0 {
                found.push(format!(
                    "recheck rule {}: its gap of {bound} is no multiple of what gaps are rounded to",
                    rule.rule
                ));
            }
        }
    }
    for rule in holes(&recheck.rules, RecheckRule::gaps_micro, RecheckRule::ages_s, step) {
        found.push(format!(
            "recheck rule {rule}: its rows leave out some gaps to the line between them"
        ));
    }
    for rule in holes(&recheck.rules, RecheckRule::ages_s, RecheckRule::gaps_micro, 1) {
        found.push(format!(
            "recheck rule {rule}: its rows leave out some ages between them"
        ));
    }
    by_risk(&recheck.rules, found);
}

/// Rules whose rows hold for other gaps to the line with risk than without.
fn by_risk(rules: &[RecheckRule], found: &mut Vec<String>) {
    let names: BTreeSet<&str> = rules.iter().map(|rule| rule.rule.as_str()).collect();
    for name in names {
        let reach = |risk: Risk| {
            let of_risk = |rule: &&RecheckRule| rule.rule == name && [risk, Risk::Any].contains(&rule.risk);
            let gaps = rules.iter().filter(of_risk);
            let gaps = gaps.filter_map(|rule| Some((rule.gap_at_least()?, rule.gap_at_most()?)));
            gaps.reduce(|all, one| {
                let least = if one.0.micro() < all.0.micro() { one.0 } else { all.0 };
                let most = if one.1.micro() > all.1.micro() { one.1 } else { all.1 };
                (least, most)
            })
        };
        let (Some(with), Some(without)) = (reach(Risk::Present), reach(Risk::Absent)) else {
            continue;
        };
        if (with.0.micro(), with.1.micro()) != (without.0.micro(), without.1.micro()) {
            found.push(format!(
                "recheck rule {name}: with risk it holds from {} to {} below the line, without risk from {} to {}: is one of them a slip?",
                with.0, with.1, without.0, without.1
            ));
        }
    }
}

/// Rules with rows, alike but for one stretch, between which more than `step` is left out.
fn holes<'a>(
    rules: &'a [RecheckRule],
    of: fn(&RecheckRule) -> Stretch,
    other: fn(&RecheckRule) -> Stretch,
    step: i64,
) -> BTreeSet<&'a str> {
    let mut groups: BTreeMap<Group<'a>, Vec<Stretch>> = BTreeMap::new();
    for rule in rules {
        let gestation = rule.gestation_at_least.as_deref().and_then(gestation_days);
        let group = (rule.rule.as_str(), rule.risk.word(), gestation, other(rule));
        groups.entry(group).or_default().push(of(rule));
    }
    let mut holes = BTreeSet::new();
    for ((rule, ..), mut stretches) in groups {
        stretches.sort_unstable();
        for pair in stretches.windows(2) {
            if pair[1].0.saturating_sub(pair[0].1) > step {
                holes.insert(rule);
            }
        }
    }
    holes
}
