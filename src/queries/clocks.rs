//! The clocks from a referral to its serum, one for each referral, for curves over time.

use std::collections::BTreeMap;

use crate::month::Month;
use crate::statistics::survival::End;

use super::QueryError;
use super::catalogue;
use super::cell_figures::follow_ups;
use super::measure::Measuring;
use super::split::Split;

/// Follow-ups in seconds by group.
pub type Clocks = BTreeMap<String, Vec<(i64, End)>>;

impl Measuring<'_> {
    /// How long each referral of the months was followed until its serum, and how that ended, in
    /// the groups of a split: of the whole network, or of one unit.
    ///
    /// # Errors
    /// When the measure fails.
    pub async fn clocks(&self, span: (Month, Month), split: Split, unit: Option<&str>) -> Result<Clocks, QueryError> {
        let mut clocks = Clocks::new();
        let Some(query) = catalogue::measures().iter().find(|query| query.name == "time_to_serum") else {
            return Ok(clocks);
        };
        let counted = self.count(query, span, &[Some(split)]).await?;
        let of_serum = counted.get(split.word()).and_then(|counted| counted.get("serum"));
        for (cell, counts) in of_serum.into_iter().flatten() {
            if cell.unit.as_deref() != unit {
                continue;
            }
            let group = cell.group.clone().unwrap_or_default();
            clocks.entry(group).or_default().extend(follow_ups(counts));
        }
        Ok(clocks)
    }
}
