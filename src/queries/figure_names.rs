//! The names of the figures that a measure gives under versions of a protocol.

use crate::protocol::{Protocol, Version};

use super::catalogue::{self, Query};
use super::header::Figure;

/// The figures a formula stands for: `recheck_adherence_*` is one per rule of the versions. A
/// name that stands in another formula of the query is not meant.
pub fn figure_names(query: &Query, formula: &Figure<'_>, versions: &[Version]) -> Vec<String> {
    let Some(stem) = formula.name.strip_suffix('*') else {
        return vec![formula.name.to_owned()];
    };
    let suffixes = |v: &Version| -> Vec<String> {
        match stem {
            "recheck_adherence_" => v.recheck.rules.iter().map(|r| r.rule.clone()).collect(),
            "severe_jaundice_" => v.severe.bands.iter().map(|b| b.name.clone()).collect(),
            "jaundice_readmission_" => v.readmission.within_days.iter().map(|d| format!("{d}d")).collect(),
            "time_to_serum_" => v.time_to_serum.shares_at_h.iter().map(|h| format!("{h}h")).collect(),
            _ => Vec::new(),
        }
    };
    let all = versions.iter().flat_map(suffixes);
    let others: Vec<&str> = query.header.figures().iter().map(|f| f.name).collect();
    let mut names: Vec<String> = Vec::new();
    for name in all.map(|suffix| format!("{stem}{suffix}")) {
        if !names.contains(&name) && !others.contains(&name.as_str()) {
            names.push(name);
        }
    }
    if stem == "time_to_serum_" {
        names.sort_by_key(|name| name[stem.len()..name.len() - 1].parse::<u32>().unwrap_or(0));
    }
    names
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
