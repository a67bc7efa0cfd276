//! The kinds of all figures of the catalogue, by name.

use super::catalogue;
use super::figure_kind::Quantity;
use super::header::is_of;

pub use super::figure_kind::{Clusters, FigureKind, kinds};

/// The figure of that name; `None` when no measure of this siskin gives one.
pub fn kind_of(name: &str) -> Option<&'static FigureKind> {
    let kinds = catalogue::figure_kinds();
    // A whole name is meant before one with a star.
    let whole = kinds.iter().find(|kind| kind.name == name);
    whole.or_else(|| kinds.iter().find(|kind| is_of(&kind.name, name)))
}

/// Whether a measure gives the figure of that name.
pub fn is_given_by(name: &str, measure: &str) -> bool {
    kind_of(name).is_some_and(|kind| kind.measure == measure)
}

impl Quantity {
    /// That of a figure; a share for one that this siskin does not give.
    pub fn of(measure: &str) -> Self {
        kind_of(measure).map_or(Self::Share, |kind| kind.quantity)
    }
}
