//! Stays chained through transfers, the birth stay, and how a baby left.

use crate::invent::history::{Disposition, History, Source, Stay};

/// All stays of one baby.
pub(super) struct Stays<'a> {
    /// In order of time.
    pub(super) chains: Vec<Chain<'a>>,
    /// The place of the birth stay in `chains`.
    pub(super) birth: Option<usize>,
    exits: Vec<(i64, Exit)>,
}

/// Stays that follow on each other through transfers.
pub(super) struct Chain<'a> {
    pub(super) start_s: i64,
    /// Discharge of its last stay, whether or not a further transfer may still follow.
    pub(super) discharged_s: Option<i64>,
    /// End and disposition; none while the baby counts as in.
    pub(super) end: Option<(i64, Disposition)>,
    pub(super) source: Source,
    /// The primary diagnoses of its stays.
    pub(super) primary: Vec<&'a str>,
}

/// A way out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Exit {
    Died,
    TransferredOut,
    Unknown,
}

/// Whether a baby left in some interval.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Leaving {
    Stayed,
    Left,
    Unknown,
}

struct SeenStay<'a> {
    stay: &'a Stay,
    id: u64,
    discharged_s: Option<i64>,
    disposition: Disposition,
}

impl<'a> Stays<'a> {
    /// Chains the stays seen at data end.
    pub(super) fn of(
        history: &'a History,
        born_s: Option<i64>,
        row: impl Fn(usize) -> u64,
        data_end_s: i64,
        chain_s: i64,
    ) -> Stays<'a> {
        let mut seen: Vec<SeenStay<'a>> = Vec::new();
        for (place, stay) in history.stays.iter().enumerate() {
            let discharged_s = stay.discharged_s.filter(|at_s| *at_s < data_end_s);
            if stay.admitted_s < data_end_s {
                seen.push(SeenStay {
                    stay,
                    id: row(place),
                    discharged_s,
                    disposition: if discharged_s.is_some() {
                        stay.disposition
                    } else {
                        Disposition::Empty
                    },
                });
            }
        }
        seen.sort_by_key(|seen| {
            let until_s = seen.discharged_s.unwrap_or(i64::MAX);
            (seen.stay.admitted_s, until_s, seen.id)
        });
        let mut groups: Vec<Vec<SeenStay<'a>>> = Vec::new();
        for next in seen {
            let chains = groups.last().and_then(|group| group.last()).is_some_and(|before| {
                before.disposition == Disposition::Transfer
                    && before
                        .discharged_s
                        .is_some_and(|out_s| next.stay.admitted_s <= out_s + chain_s)
            });
            match groups.last_mut() {
                Some(group) if chains => group.push(next),
                _ => groups.push(vec![next]),
            }
        }
        let mut stays = Stays {
            chains: Vec::new(),
            birth: None,
            exits: Vec::new(),
        };
        for group in &groups {
            stays.add(group, born_s, data_end_s, chain_s);
        }
        stays
    }

    fn add(&mut self, group: &[SeenStay<'a>], born_s: Option<i64>, data_end_s: i64, chain_s: i64) {
        let (Some(first), Some(last)) = (group.first(), group.last()) else {
            return;
        };
        let may_follow = |out_s: i64| last.disposition == Disposition::Transfer && data_end_s < out_s + chain_s;
        let end = last
            .discharged_s
            .filter(|out_s| !may_follow(*out_s))
            .map(|out_s| (out_s, last.disposition));
        for seen in group {
            if let (Some(out_s), Disposition::Died) = (seen.discharged_s, seen.disposition) {
                self.exits.push((out_s, Exit::Died));
            }
        }
        match end {
            Some((out_s, Disposition::Transfer)) => self.exits.push((out_s, Exit::TransferredOut)),
            Some((out_s, Disposition::Empty)) => self.exits.push((out_s, Exit::Unknown)),
            _ => {}
        }
        let is_birth = group.iter().any(|seen| {
            let until_s = seen.discharged_s.unwrap_or(i64::MAX);
            seen.stay.source == Source::Birth
                || born_s.is_some_and(|born_s| (seen.stay.admitted_s..until_s).contains(&born_s))
        });
        if is_birth && self.birth.is_none() {
            self.birth = Some(self.chains.len());
        }
        let coded = group.iter().filter(|seen| seen.discharged_s.is_some());
        self.chains.push(Chain {
            start_s: first.stay.admitted_s,
            discharged_s: last.discharged_s,
            end,
            source: first.stay.source,
            primary: coded.filter_map(|seen| seen.stay.diagnoses.split(';').next()).collect(),
        });
    }

    /// Whether the baby died or was transferred out in `[from, before)`; unknown when the only
    /// way out in it has no disposition.
    pub(super) fn leaving(&self, from_s: i64, before_s: i64) -> Leaving {
        let mut leaving = Leaving::Stayed;
        for (at_s, exit) in &self.exits {
            if (from_s..before_s).contains(at_s) {
                if *exit != Exit::Unknown {
                    return Leaving::Left;
                }
                leaving = Leaving::Unknown;
            }
        }
        leaving
    }

    /// The first exit of a kind at or after a moment.
    pub(super) fn first_exit(&self, kind: Exit, from_s: i64) -> Option<i64> {
        let exits = self.exits.iter().filter(|(_, exit)| *exit == kind);
        exits.map(|(at_s, _)| *at_s).filter(|at_s| *at_s >= from_s).min()
    }

    /// The earliest chain whose `[start, discharge)` contains a moment.
    pub(super) fn containing(&self, at_s: i64) -> Option<&Chain<'a>> {
        self.chains.iter().find(|chain| {
            let until_s = chain.discharged_s.unwrap_or(i64::MAX);
            (chain.start_s..until_s).contains(&at_s)
        })
    }
}
