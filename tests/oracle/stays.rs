//! Stays chained through transfers, and how a baby leaves.

use super::facts::{Born, Stay};
use super::rules::{Rules, hours};

/// Stays of one baby that follow one another by transfer.
#[derive(Clone, Debug)]
pub struct Chain {
    /// The stays, in order; never empty.
    pub stays: Vec<Stay>,
}

impl Chain {
    /// Admission of the first stay.
    pub fn start(&self) -> i64 {
        self.first().admitted
    }

    /// "A chain's end, disposition = those of its last stay" (choice 5).
    pub fn end(&self) -> Option<i64> {
        self.last().discharged
    }

    /// Disposition of the last stay.
    pub fn disposition(&self) -> &str {
        &self.last().disposition
    }

    /// The first stay.
    pub fn first(&self) -> &Stay {
        &self.stays[0]
    }

    /// The last stay.
    pub fn last(&self) -> &Stay {
        &self.stays[self.stays.len() - 1]
    }

    /// The end as known at data end: "a chain that ends after D counts as still in" (choice 3),
    /// and "a chain whose last stay has disposition transfer and D < discharged + 6 h counts as
    /// still in" (choice 5).
    pub fn end_at(&self, data_end: i64, rules: &Rules) -> Option<i64> {
        let end = self.end()?;
        let may_still_chain = self.disposition() == "transfer" && data_end < end + hours(rules.transfer_h);
        if end > data_end || may_still_chain {
            return None;
        }
        Some(end)
    }
}

/// "A stay is [admitted, discharged)"; without an end it covers everything after.
pub fn covers(start: i64, end: Option<i64>, moment: i64) -> bool {
    start <= moment && end.is_none_or(|end| moment < end)
}

/// "Order a baby's stays by (admitted_at, discharged_at with open last, stay_id). A stay joins
/// the chain of the stay just before it when that one has disposition transfer, has a
/// discharge, and this admitted_at <= its discharged_at + 6 h" (choice 5).
pub fn chains(stays: &[Stay], rules: &Rules) -> Vec<Chain> {
    let mut ordered = stays.to_vec();
    ordered.sort_by(|a, b| {
        let key = |stay: &Stay| (stay.admitted, stay.discharged.unwrap_or(i64::MAX));
        key(a).cmp(&key(b)).then_with(|| a.id.cmp(&b.id))
    });
    let mut chains: Vec<Chain> = Vec::new();
    for stay in ordered {
        match chains.last_mut() {
            Some(chain) if continues(chain.last(), &stay, rules) => chain.stays.push(stay),
            _ => chains.push(Chain { stays: vec![stay] }),
        }
    }
    chains
}

/// "That one has disposition transfer, has a discharge, and this admitted_at <= its discharged_at
/// plus 6 h" (choice 5).
fn continues(before: &Stay, stay: &Stay, rules: &Rules) -> bool {
    let Some(discharged) = before.discharged else {
        return false;
    };
    before.disposition == "transfer" && stay.admitted <= discharged + hours(rules.transfer_h)
}

/// The earliest chain: "by start, then first stay_id" (choice 6).
pub fn earliest<'a>(chains: impl Iterator<Item = &'a Chain>) -> Option<&'a Chain> {
    chains.min_by_key(|chain| (chain.start(), chain.first().id.clone()))
}

/// "The birth stay = the earliest chain that has any stay with source birth, or any stay with
/// admitted <= born_at < discharged (or open)" (choice 6).
pub fn birth_stay(chains: &[Chain], born: Born) -> Option<&Chain> {
    earliest(chains.iter().filter(|chain| {
        chain.stays.iter().any(|stay| {
            let contains_birth = match born {
                Born::At(born_at) => covers(stay.admitted, stay.discharged, born_at),
                Born::On(_) => false,
            };
            stay.source == "birth" || contains_birth
        })
    }))
}

/// How a baby left.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exit {
    /// A stay ended by death.
    Died,
    /// A transfer that no stay of the network continued.
    TransferredOut,
    /// A discharge without disposition.
    Unknown,
}

/// The exits known at data end, with their moments (choice 7).
pub fn exits(chains: &[Chain], data_end: i64, rules: &Rules) -> Vec<(i64, Exit)> {
    let mut exits = Vec::new();
    for chain in chains {
        for stay in &chain.stays {
            // `died` at the discharge of any stay with disposition died.
            if let (Some(at), "died") = (stay.discharged, stay.disposition.as_str()) {
                exits.push((at, Exit::Died));
            }
        }
        let Some(at) = chain.end() else {
            continue;
        };
        match chain.disposition() {
            // `transferred out`, once D >= discharge + 6 h.
            "transfer" if data_end >= at + hours(rules.transfer_h) => {
                exits.push((at, Exit::TransferredOut));
            }
            // `unknown` at a discharge, as last stay of a chain, with empty disposition.
            "" => exits.push((at, Exit::Unknown)),
            _ => {}
        }
    }
    exits.retain(|(at, _)| *at <= data_end);
    exits
}
