//! What has been said of each visit: a stay for each unit the baby was in.
//!
//! HL7 v2 reports a transfer as a change within a visit. A visit `V` is the stay `V`; each
//! transfer to another unit ends it and opens `V.2`, `V.3` and so on. Numbers are never
//! used twice, as a withdrawn id stays withdrawn. A message that comes again says the same
//! again: what each message did is kept under its control id.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

/// All visits that messages were about, kept from load to load.
#[derive(Clone, Debug, Default)]
pub struct Visits {
    visits: BTreeMap<String, Visit>,
    changed: BTreeSet<String>,
}

/// One visit.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
struct Visit {
    /// The highest number a stay has had.
    last: u32,
    /// The stays that stand, in order; the last is the current one.
    stays: Vec<Stay>,
    /// What each message did.
    done: BTreeMap<String, Change>,
}

#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
struct Stay {
    number: u32,
    unit: String,
    /// Moves within the unit, which may be cancelled like transfers.
    bed_moves: u32,
}

/// What a message says of the stays of its visit, by number.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub(super) struct Change {
    /// The stay it describes, opens or opens again.
    pub(super) about: Option<u32>,
    /// Whether that is the stay with which the visit began.
    pub(super) is_first: bool,
    /// Whether nothing was known of the visit before.
    pub(super) is_news: bool,
    /// The stay it ends.
    pub(super) ended: Option<u32>,
    /// The stays it withdraws.
    pub(super) withdrawn: Vec<u32>,
}

/// What happens in a visit.
#[derive(Clone, Copy, Debug)]
pub(super) enum Happening<'a> {
    /// An admission; `unit` where it is said.
    Admitted { unit: Option<&'a str> },
    /// Something is said of the current stay.
    Described { unit: Option<&'a str> },
    /// A transfer; `from` is the unit before, where it is said.
    Moved { unit: &'a str, from: Option<&'a str> },
    /// The last transfer did not take place.
    TransferCancelled,
    /// The admission did not take place.
    AdmissionCancelled,
    /// The discharge did not take place.
    DischargeCancelled,
}

/// Why a message cannot be applied to what is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Refused {
    /// The admission was cancelled.
    Cancelled,
    /// It cancels a transfer that no message reported yet.
    UnknownTransfer,
}

impl Visits {
    /// Takes back what an earlier load learned of a visit; whether it could be read.
    pub fn recall(&mut self, key: &str, value: &str) -> bool {
        let visit = serde_json::from_str(value);
        visit.is_ok_and(|visit| {
            self.visits.insert(key.to_owned(), visit);
            true
        })
    }

    /// What was learned since the start: visits, and what [`Self::recall`] takes.
    pub fn learned(&self) -> Vec<(String, String)> {
        let changed = self.changed.iter().filter_map(|key| {
            let value = serde_json::to_string(self.visits.get(key)?).ok()?;
            Some((key.clone(), value))
        });
        changed.collect()
    }

    /// Applies a message to its visit; `message` is what distinguishes it from all others.
    pub(super) fn apply(&mut self, visit: &str, message: &str, happening: Happening<'_>) -> Result<Change, Refused> {
        let known = self.visits.entry(visit.to_owned()).or_default();
        if let Some(done) = known.done.get(message) {
            return Ok(done.clone());
        }
        let change = known.apply(happening)?;
        if !message.is_empty() {
            known.done.insert(message.to_owned(), change.clone());
        }
        self.changed.insert(visit.to_owned());
        Ok(change)
    }
}

impl Visit {
    fn apply(&mut self, happening: Happening<'_>) -> Result<Change, Refused> {
        let is_known = self.last > 0;
        if self.stays.is_empty() {
            match happening {
                Happening::Admitted { .. } => {}
                Happening::AdmissionCancelled if is_known => return Ok(Change::default()),
                Happening::TransferCancelled if !is_known => return Err(Refused::UnknownTransfer),
                _ if is_known => return Err(Refused::Cancelled),
                _ => {}
            }
            self.open("");
        }
        let mut change = self.change(happening)?;
        change.is_news = !is_known;
        Ok(change)
    }

    fn change(&mut self, happening: Happening<'_>) -> Result<Change, Refused> {
        match happening {
            Happening::Admitted { unit } => {
                let stay = self.stays.first_mut();
                Ok(Self::said_of(stay, unit, true))
            }
            Happening::Described { unit } => {
                let is_first = self.stays.len() == 1;
                Ok(Self::said_of(self.stays.last_mut(), unit, is_first))
            }
            Happening::Moved { unit, from } => Ok(self.moved(unit, from)),
            Happening::TransferCancelled => self.move_back(),
            Happening::AdmissionCancelled => Ok(Change {
                withdrawn: std::mem::take(&mut self.stays).iter().map(|stay| stay.number).collect(),
                ..Change::default()
            }),
            Happening::DischargeCancelled => Ok(self.about_current()),
        }
    }

    fn open(&mut self, unit: &str) {
        self.last = self.last.saturating_add(1);
        self.stays.push(Stay {
            number: self.last,
            unit: unit.to_owned(),
            bed_moves: 0,
        });
    }

    fn about_current(&self) -> Change {
        Change {
            about: self.stays.last().map(|stay| stay.number),
            is_first: self.stays.len() == 1,
            ..Change::default()
        }
    }

    fn said_of(stay: Option<&mut Stay>, unit: Option<&str>, is_first: bool) -> Change {
        let about = stay.map(|stay| {
            if let Some(unit) = unit {
                unit.clone_into(&mut stay.unit);
            }
            stay.number
        });
        Change {
            about,
            is_first,
            ..Change::default()
        }
    }

    fn moved(&mut self, unit: &str, from: Option<&str>) -> Change {
        let ended = self.stays.last_mut().and_then(|current| {
            if current.unit.is_empty() {
                from.unwrap_or_default().clone_into(&mut current.unit);
            }
            if current.unit == unit {
                current.bed_moves += 1;
                return None;
            }
            Some(current.number)
        });
        if ended.is_none() {
            return Change::default();
        }
        self.open(unit);
        Change {
            ended,
            ..self.about_current()
        }
    }

    fn move_back(&mut self) -> Result<Change, Refused> {
        if let Some(current) = self.stays.last_mut().filter(|current| current.bed_moves > 0) {
            current.bed_moves -= 1;
            return Ok(Change::default());
        }
        if self.stays.len() < 2 {
            return Err(Refused::UnknownTransfer);
        }
        let withdrawn = self.stays.pop().map(|stay| stay.number);
        Ok(Change {
            withdrawn: withdrawn.into_iter().collect(),
            ..self.about_current()
        })
    }
}
