//! The clocks from a referral to its serum, one for each referral, for curves over time.

use std::collections::BTreeMap;

use crate::month::Month;
use crate::statistics::survival::End;

use super::catalogue;
use super::cell_figures::follow_ups;
use super::measure::Counted;
use super::split::Split;

/// Follow-ups in seconds by group.
pub type Clocks = BTreeMap<String, Vec<(i64, End)>>;

impl Counted<'_> {
    /// How long each referral of the months was followed until its serum, and how that ended, in
    /// the groups of a split: of the whole network, or of one unit.
    pub fn clocks(&self, (first, last): (Month, Month), split: Split, unit: Option<&str>) -> Clocks {
        let mut clocks = Clocks::new();
        let months: Vec<String> = Month::range(first, last).iter().map(Month::to_string).collect();
        let mut measures = catalogue::measures().iter();
        let Some(query) = measures.find(|query| query.name == "time_to_serum") else {
            return clocks;
        };
        let formulas = query.header.figures();
        let Some(formula) = formulas.first() else {
            return clocks;
        };
        for (cell, counts) in self.counts(query, formula, formula.name, Some(split)).iter() {
            if cell.unit.as_deref() != unit || !months.contains(&cell.month) {
                continue;
            }
            let group = cell.group.clone().unwrap_or_default();
            clocks.entry(group).or_default().extend(follow_ups(counts));
        }
        clocks
    }
}
