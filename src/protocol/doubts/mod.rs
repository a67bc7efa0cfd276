//! What a protocol may say, but probably does not mean.

mod bands;
mod lines;
mod numbers;
mod words;

use super::file::{Trigger, Version};
use super::{Protocol, ready};

/// Counts below this are hidden where a protocol does not say otherwise.
const USUAL_HIDE_BELOW: u32 = 5;

impl Protocol {
    /// Everything that is allowed but suspicious, a sentence each.
    pub fn doubts(&self) -> Vec<String> {
        let mut doubts = Vec::new();
        let hide_below = self.suppression().hide_below;
        if hide_below < USUAL_HIDE_BELOW {
            doubts.push(format!(
                "suppression.hide_below = {hide_below} hides fewer counts than the usual {USUAL_HIDE_BELOW} (common practice)"
            ));
        }
        let pieces = self.line_pieces();
        for version in self.versions() {
            let mut found = Vec::new();
            numbers::doubts(version, self.plausible(), &pieces, &mut found);
            words::doubts(version, &mut found);
            bands::doubts(version, &mut found);
            missing_rules(version, &mut found);
            lines::doubts(version, &self.site_lines.pieces, &mut found);
            doubts.extend(
                found
                    .into_iter()
                    .map(|doubt| format!("version '{}': {doubt}", version.name)),
            );
        }
        doubts
    }
}

/// Triggers of the ready protocol of the same manner that no rule has.
fn missing_rules(version: &Version, found: &mut Vec<String>) {
    let has = |version: &Version, trigger| version.recheck.rules.iter().any(|rule| rule.trigger == trigger);
    let is_by_gap = has(version, Trigger::GoingHome);
    let (manner, text) = ready::ALL[usize::from(is_by_gap)];
    let Ok(ready) = Protocol::parse(text) else { return };
    let mut named = Vec::new();
    for rule in &ready.newest().recheck.rules {
        if !has(version, rule.trigger) && !named.contains(&rule.trigger.word()) {
            named.push(rule.trigger.word());
            found.push(format!(
                "no recheck rule has the trigger {}; the ready protocol {manner} has {}",
                rule.trigger.word(),
                rule.rule
            ));
        }
    }
}
