//! Counts of a measure, placed: by figure, month, unit and group.

use std::collections::BTreeMap;

use crate::engine::values::Cells;

use super::split::Split;

/// Where counts belong: month, `None` for all units or one, `None` for all babies or a group.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Cell {
    pub month: String,
    pub unit: Option<String>,
    pub group: Option<String>,
}

impl Cell {
    /// The whole network in a month.
    pub(super) fn network(month: &str) -> Self {
        Self {
            month: month.to_owned(),
            unit: None,
            group: None,
        }
    }

    /// Name of the split in the results.
    pub(super) fn split_name(&self, split: Option<Split>) -> String {
        let word = word_of(split);
        match (&self.unit, &self.group) {
            (None, None) => UNSPLIT.to_owned(),
            (Some(_), None) => "unit".to_owned(),
            (None, Some(_)) => word.to_owned(),
            (Some(_), Some(_)) => format!("unit_and_{word}"),
        }
    }

    /// Name of the group in the results.
    pub(super) fn group_name(&self) -> String {
        match (&self.unit, &self.group) {
            (None, None) => "all".to_owned(),
            (Some(name), None) | (None, Some(name)) => name.clone(),
            (Some(unit), Some(group)) => format!("{unit}: {group}"),
        }
    }
}

/// Counts of one figure in one cell.
#[derive(Clone, Debug, Default)]
pub(super) struct Counts {
    pub outcomes: BTreeMap<String, u64>,
    pub left_out: BTreeMap<String, u64>,
    pub provisional: bool,
    /// Time or difference, the outcome, and how many cases: of measures that have one.
    pub amounts: Vec<(i64, String, u64)>,
    /// Outcomes of each baby: of measures whose cases come in clusters.
    pub babies: BTreeMap<String, BTreeMap<String, u64>>,
}

impl Counts {
    fn add(&mut self, other: &Self) {
        for (name, n) in &other.outcomes {
            *self.outcomes.entry(name.clone()).or_default() += n;
        }
        for (name, n) in &other.left_out {
            *self.left_out.entry(name.clone()).or_default() += n;
        }
        self.provisional |= other.provisional;
        self.amounts.extend_from_slice(&other.amounts);
        for (baby, outcomes) in &other.babies {
            let own = self.babies.entry(baby.clone()).or_default();
            for (name, n) in outcomes {
                *own.entry(name.clone()).or_default() += n;
            }
        }
    }
}

/// Counts of a measure by figure, then cell.
pub(super) type Counted = BTreeMap<String, BTreeMap<Cell, Counts>>;

/// Counts of a measure by the word of a split, [`UNSPLIT`] without one.
pub(super) type CountedBy = BTreeMap<String, Counted>;

/// The word of no split.
const UNSPLIT: &str = "all";

/// The word of a split, or of none.
pub(super) fn word_of(split: Option<Split>) -> &'static str {
    split.map_or(UNSPLIT, Split::word)
}

/// Places the rows of `counted.sql`, `timed.sql` or `differed.sql`. Each counts for its cell and for
/// those that hold it: by a split for its group in its unit and in the network, without one for its
/// unit and the network.
///
/// # Errors
/// With the word that is no kind of row.
pub(super) fn placed(rows: &Cells) -> Result<CountedBy, String> {
    let mut counted = CountedBy::new();
    let columns = ["figure", "month", "unit", "group_name", "kind", "name", "split"];
    let texts = columns.map(|column| rows.texts(column));
    let amounts = rows
        .ints_if_any("time_s")
        .or_else(|| rows.ints_if_any("difference_micro"));
    for (i, n) in rows.ints("n").into_iter().enumerate() {
        let cell = |column: usize| texts[column].get(i).cloned().flatten().unwrap_or_default();
        let (figure, month, unit, group, kind, name) = (cell(0), cell(1), cell(2), cell(3), cell(4), cell(5));
        let n = n.unwrap_or(0) as u64;
        let split = cell(6);
        let group = (split != UNSPLIT).then_some(group);
        let of_figure = counted.entry(split).or_default().entry(figure).or_default();
        for unit in [None, Some(unit)] {
            let to = of_figure
                .entry(Cell {
                    month: month.clone(),
                    unit,
                    group: group.clone(),
                })
                .or_default();
            match kind.as_str() {
                "outcome" => {
                    *to.outcomes.entry(name.clone()).or_default() += n;
                    if let Some(amount) = amounts.as_ref().and_then(|amounts| amounts[i]) {
                        to.amounts.push((amount, name.clone(), n));
                    }
                }
                "left_out" => *to.left_out.entry(name.clone()).or_default() += n,
                "provisional" => to.provisional = true,
                other => return Err(other.to_owned()),
            }
        }
    }
    Ok(counted)
}

/// Adds the rows of `clustered.sql`, placed alike.
pub(super) fn add_babies(counted: &mut CountedBy, rows: &Cells) {
    let columns = ["figure", "month", "unit", "group_name", "infant_id", "name", "split"];
    let texts = columns.map(|column| rows.texts(column));
    for (i, n) in rows.ints("n").into_iter().enumerate() {
        let cell = |column: usize| texts[column].get(i).cloned().flatten().unwrap_or_default();
        let split = cell(6);
        let group = (split != UNSPLIT).then(|| cell(3));
        let of_figure = counted.entry(split).or_default().entry(cell(0)).or_default();
        for unit in [None, Some(cell(2))] {
            let to = of_figure
                .entry(Cell {
                    month: cell(1),
                    unit,
                    group: group.clone(),
                })
                .or_default();
            *to.babies.entry(cell(4)).or_default().entry(cell(5)).or_default() += n.unwrap_or(0) as u64;
        }
    }
}

/// The counts of several months as those of one.
pub(super) fn taken_together(
    counts: &BTreeMap<Cell, Counts>,
    months: &[(String, bool)],
    as_month: &str,
) -> BTreeMap<Cell, Counts> {
    let mut all: BTreeMap<Cell, Counts> = BTreeMap::new();
    for (cell, of_month) in counts
        .iter()
        .filter(|(cell, _)| months.iter().any(|(month, _)| *month == cell.month))
    {
        let place = Cell {
            month: as_month.to_owned(),
            ..cell.clone()
        };
        all.entry(place).or_default().add(of_month);
    }
    all
}
