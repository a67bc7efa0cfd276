//! The names of the figures that a measure gives under versions of a protocol.

use std::collections::BTreeSet;

use crate::protocol::{Protocol, Version};

use super::catalogue::{self, Query};
use super::header::Figure;

/// The figures a formula stands for: of a name with a star one for each of what the measure's
/// header says under `each`, in the order of the versions, hours by size. A name that stands in
/// another formula of the query is not meant.
pub fn figure_names(query: &Query, formula: &Figure<'_>, versions: &[Version]) -> Vec<String> {
    let Some(stem) = formula.name.strip_suffix('*') else {
        return vec![formula.name.to_owned()];
    };
    let mut stars: Vec<String> = match query.header.get("each") {
        "recheck rule" => of_each(versions, |v| v.recheck.rules.iter().map(|r| r.rule.clone())),
        "band of severe jaundice" => of_each(versions, |v| v.severe.bands.iter().map(|b| b.name.clone())),
        "day of age" => of_each(versions, |v| v.readmission.within_days.iter().map(|d| format!("{d}d"))),
        "hour" => {
            let hours: BTreeSet<u32> = versions
                .iter()
                .flat_map(|v| v.time_to_serum.shares_at_h.clone())
                .collect();
            hours.into_iter().map(|hour| format!("{hour}h")).collect()
        }
        _ => Vec::new(),
    };
    let others: Vec<&str> = query.header.figures().iter().map(|f| f.name).collect();
    let mut seen = BTreeSet::new();
    stars.retain(|star| seen.insert(star.clone()));
    let names = stars.iter().map(|star| format!("{stem}{star}"));
    names.filter(|name| !others.contains(&name.as_str())).collect()
}

fn of_each<'v, I: Iterator<Item = String>>(versions: &'v [Version], of: fn(&'v Version) -> I) -> Vec<String> {
    versions.iter().flat_map(of).collect()
}

/// The names of all figures under a protocol.
pub fn all_figure_names(protocol: &Protocol) -> Vec<String> {
    let mut names = Vec::new();
    for query in catalogue::measures() {
        for formula in query.header.figures() {
            names.extend(figure_names(query, &formula, protocol.versions()));
        }
    }
    names
}
