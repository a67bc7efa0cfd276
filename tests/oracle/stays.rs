//! Stays that overlap or follow a transfer, chained, and how a baby leaves.

use super::facts::{Born, Stay};
use super::rules::{Rules, hours};

/// Stays of one baby that overlap, or follow one another by transfer.
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

    /// "The chain ends with its latest end (never, while one of its stays is open)."
    pub fn end(&self) -> Option<i64> {
        let mut latest = None;
        for stay in &self.stays {
            latest = latest.max(Some(stay.discharged?));
        }
        latest
    }

    /// "Its disposition is that of the stays ending then (died before home before transfer before
    /// unknown)."
    pub fn disposition(&self) -> &str {
        let end = self.end();
        let ends = |disposition: &&str| {
            let mut stays = self.stays.iter();
            stays.any(|stay| stay.discharged == end && stay.disposition == *disposition)
        };
        ["died", "home", "transfer"].into_iter().find(ends).unwrap_or("")
    }

    /// The first stay.
    pub fn first(&self) -> &Stay {
        &self.stays[0]
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

/// "An open stay followed by an admission from home ends at that admission, disposition unknown."
fn with_assumed_ends(stays: &[Stay]) -> Vec<Stay> {
    let mut ended = stays.to_vec();
    for stay in ended.iter_mut().filter(|stay| stay.discharged.is_none()) {
        let mut later: Vec<i64> = Vec::new();
        for other in stays {
            if other.source == "home" && other.admitted > stay.admitted {
                later.push(other.admitted);
            }
        }
        if let Some(next) = later.into_iter().min() {
            stay.discharged = Some(next);
            stay.disposition = String::new();
        }
    }
    ended
}

/// "Stays of a baby, by admission, then end, then id: one belongs to the chain before it when
/// admitted before that chain's latest end (an open stay has none), or within 6 h after it where a
/// stay ending at that latest end ended by transfer."
pub fn chains(stays: &[Stay], rules: &Rules) -> Vec<Chain> {
    let mut ordered = with_assumed_ends(stays);
    ordered.sort_by(|a, b| {
        let key = |stay: &Stay| (stay.admitted, stay.discharged.unwrap_or(i64::MAX));
        key(a).cmp(&key(b)).then_with(|| a.id.cmp(&b.id))
    });
    let mut chains: Vec<Chain> = Vec::new();
    for stay in ordered {
        match chains.last_mut() {
            Some(chain) if continues(chain, &stay, rules) => chain.stays.push(stay),
            _ => chains.push(Chain { stays: vec![stay] }),
        }
    }
    chains
}

/// Whether a stay belongs to the chain before it.
fn continues(before: &Chain, stay: &Stay, rules: &Rules) -> bool {
    let Some(end) = before.end() else {
        return true;
    };
    let mut stays = before.stays.iter();
    let moved_then = stays.any(|stay| stay.discharged == Some(end) && stay.disposition == "transfer");
    stay.admitted < end || (moved_then && stay.admitted <= end + hours(rules.transfer_h))
}

/// The earliest chain: "by start, then first stay_id" (choice 6).
pub fn earliest<'a>(chains: impl Iterator<Item = &'a Chain>) -> Option<&'a Chain> {
    chains.min_by_key(|chain| (chain.start(), chain.first().id.clone()))
}

/// The birth stay is the earliest chain that has any stay with source birth, or that contains the
/// birth (choice 6).
pub fn birth_stay(chains: &[Chain], born: Born) -> Option<&Chain> {
    earliest(chains.iter().filter(|chain| {
        let contains_birth = match born {
            Born::At(born_at) => covers(chain.start(), chain.end(), born_at),
            Born::On(_) => false,
        };
        chain.stays.iter().any(|stay| stay.source == "birth") || contains_birth
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

/// One exit.
#[derive(Clone, Copy, Debug)]
pub struct Gone {
    /// When.
    pub at: i64,
    /// How.
    pub how: Exit,
    /// When the baby was next admitted, if it was by data end.
    pub back: Option<i64>,
}

/// The exits known at data end, with their moments (choice 7).
pub fn exits(chains: &[Chain], data_end: i64, rules: &Rules) -> Vec<Gone> {
    let mut exits = Vec::new();
    for (number, chain) in chains.iter().enumerate() {
        for stay in &chain.stays {
            // `died` at the discharge of any stay with disposition died.
            if let (Some(at), "died") = (stay.discharged, stay.disposition.as_str()) {
                exits.push(Gone {
                    at,
                    how: Exit::Died,
                    back: None,
                });
            }
        }
        let Some(at) = chain.end() else {
            continue;
        };
        let next = chains.get(number + 1).map(Chain::start);
        let back = next.filter(|next| *next <= data_end);
        match chain.disposition() {
            // `transferred out`, once D >= discharge + 6 h.
            "transfer" if data_end >= at + hours(rules.transfer_h) => {
                exits.push(Gone {
                    at,
                    how: Exit::TransferredOut,
                    back,
                });
            }
            // `unknown` at a discharge, as last stay of a chain, with empty disposition.
            "" => exits.push(Gone {
                at,
                how: Exit::Unknown,
                back,
            }),
            _ => {}
        }
    }
    exits.retain(|exit| exit.at <= data_end);
    exits
}
