//! Names too long for a page, cut where all that a page is made from has been gathered.
//!
//! A name of more than 80 characters becomes its first 60 and the beginning of its hash, so that
//! two names stay two. Files beside a page hold names whole.

use std::borrow::Cow;
use std::collections::BTreeMap;

use crate::queries::review::{Baby, Case};
use crate::warehouse::digest;

use super::gathered::Gathered;

/// Characters of the longest name that is shown whole.
const MOST: usize = 80;

/// Characters shown of a longer one.
const BEGINNING: usize = 60;

/// Cuts the names of units, groups, meters and codes.
pub(super) fn shorten(gathered: &mut Gathered) {
    for figures in gathered.shown_figures() {
        figures.iter_mut().for_each(|figure| cut(&mut figure.group));
    }
    let units = gathered.units.values_mut().flat_map(|funnel| &mut funnel.units);
    units.for_each(|unit| cut(&mut unit.name));
    gathered.agreed.groups.iter_mut().for_each(|group| cut(&mut group.name));
    gathered
        .agreed
        .drifts
        .found
        .iter_mut()
        .for_each(|drift| cut(&mut drift.meter));
    for finding in &mut gathered.records.findings {
        cut(&mut finding.about);
    }
    for row in &mut gathered.records.unmapped {
        cut(&mut row.code);
        cut(&mut row.system);
    }
    gathered.unit.iter_mut().for_each(cut);
}

/// Cuts what the records say of babies, but for ids: a review names a case by them.
pub(in crate::commands) fn shorten_cases(cases: &mut [Case], babies: &mut BTreeMap<String, Baby>) {
    cases.iter_mut().for_each(|case| cut(&mut case.unit));
    for baby in babies.values_mut() {
        cut(&mut baby.unit);
        cut(&mut baby.risk_factors);
        for test in &mut baby.tests {
            cut(&mut test.unit);
            cut(&mut test.written);
        }
        for stay in &mut baby.stays {
            cut(&mut stay.unit);
            cut(&mut stay.code);
        }
        baby.courses.iter_mut().for_each(|course| cut(&mut course.unit));
        baby.exchanges.iter_mut().for_each(|exchange| cut(&mut exchange.unit));
    }
}

fn cut(name: &mut String) {
    if let Cow::Owned(short) = shortened(name) {
        *name = short;
    }
}

/// A name as a page shows it.
fn shortened(name: &str) -> Cow<'_, str> {
    match name.char_indices().nth(BEGINNING) {
        Some((end, _)) if name.chars().nth(MOST).is_some() => {
            let hash = digest::of_text(name);
            Cow::Owned(format!("{}\u{2026} {}", name[..end].trim_end(), &hash[..8]))
        }
        _ => Cow::Borrowed(name),
    }
}
