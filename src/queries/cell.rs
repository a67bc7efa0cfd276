//! Cases of the measures, counted: by measure, figure, month, unit and group.

use std::borrow::Cow;
use std::collections::BTreeMap;

use crate::engine::values::Cells;

use super::header;
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

/// Counts of cases in one cell.
#[derive(Clone, Debug, Default)]
pub(super) struct Counts {
    pub outcomes: BTreeMap<String, u64>,
    /// Outcomes of cases with further names, by both.
    further: BTreeMap<(String, String), u64>,
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
        for (names, n) in &other.further {
            *self.further.entry(names.clone()).or_default() += n;
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

    /// Adds the counts of one row of `counted.sql`.
    fn count(&mut self, row: &Row<'_>) -> Result<(), String> {
        self.provisional |= row.also == PROVISIONAL;
        match row.kind {
            "outcome" => {}
            "left_out" => {
                add(&mut self.left_out, row.name, row.n);
                return Ok(());
            }
            other => return Err(other.to_owned()),
        }
        match row.also {
            "" | PROVISIONAL => add(&mut self.outcomes, row.name, row.n),
            also => *self.further.entry((row.name.to_owned(), also.to_owned())).or_default() += row.n,
        }
        if let Some(amount) = row.amount {
            self.amounts.push((amount, row.name.to_owned(), row.n));
        }
        if let Some(baby) = row.baby {
            add(self.babies.entry(baby.to_owned()).or_default(), row.name, row.n);
        }
        Ok(())
    }

    /// As a figure counts them: each case by the one of its names that the formula means.
    /// `None` when none of them counts.
    fn seen_by(&self, formula: &header::Figure<'_>) -> Option<Self> {
        let mut seen = Self {
            further: BTreeMap::new(),
            ..self.clone()
        };
        for ((name, also), n) in &self.further {
            if let Some(outcome) = formula.outcome(name, also) {
                add(&mut seen.outcomes, outcome, *n);
            }
        }
        let is_empty = seen.outcomes.is_empty() && seen.left_out.is_empty() && !seen.provisional;
        (!is_empty).then_some(seen)
    }
}

/// The further name of a case whose month may still change.
const PROVISIONAL: &str = "provisional";

fn add(to: &mut BTreeMap<String, u64>, name: &str, n: u64) {
    match to.get_mut(name) {
        Some(sum) => *sum += n,
        None => {
            to.insert(name.to_owned(), n);
        }
    }
}

/// Counts of cells.
pub(super) type ByCell = BTreeMap<Cell, Counts>;

/// Cases of all measures, counted once for all their figures.
#[derive(Clone, Debug, Default)]
pub(super) struct Placed {
    /// By the word of a split ([`UNSPLIT`] without one) and the measure, then by the name the
    /// cases are stored under.
    of: BTreeMap<(String, String), BTreeMap<String, ByCell>>,
}

/// The word of no split.
const UNSPLIT: &str = "all";

/// The word of a split, or of none.
pub(super) fn word_of(split: Option<Split>) -> &'static str {
    split.map_or(UNSPLIT, Split::word)
}

/// A row of `counted.sql`.
struct Row<'a> {
    kind: &'a str,
    name: &'a str,
    also: &'a str,
    amount: Option<i64>,
    baby: Option<&'a str>,
    n: u64,
}

impl Placed {
    /// Adds the rows of `counted.sql`. Each counts for its cell and for those that hold it: by a
    /// split for its group in its unit and in the network, without one for its unit and the
    /// network.
    ///
    /// # Errors
    /// With the word that is no kind of row.
    pub(super) fn place(&mut self, rows: &Cells) -> Result<(), String> {
        let columns = ["split", "measure", "figure", "month", "unit", "group_name"];
        let keys = columns.map(|column| rows.texts(column));
        let [kinds, names, alsos, babies] = ["kind", "name", "also", "infant_id"].map(|column| rows.texts(column));
        let (amounts, counts) = (rows.ints("amount"), rows.ints("n"));
        let text = |of: &'_ [Option<String>], i: usize| of[i].clone().unwrap_or_default();
        let is_as_before = |i: usize| i > 0 && keys.iter().all(|key| key[i] == key[i - 1]);
        let mut from = 0;
        // Rows of one cell come one after the other.
        while from < counts.len() {
            let more = (from + 1..counts.len()).take_while(|i| is_as_before(*i)).count();
            let [split, measure, figure, month, unit, group] =
                [0, 1, 2, 3, 4, 5].map(|column| text(&keys[column], from));
            let group = (split != UNSPLIT).then_some(group);
            let of_measure = self.of.entry((split, measure)).or_default();
            let cells = of_measure.entry(figure).or_default();
            for unit in [None, Some(unit)] {
                let cell = Cell {
                    month: month.clone(),
                    unit,
                    group: group.clone(),
                };
                let to = cells.entry(cell).or_default();
                for i in from..=from + more {
                    to.count(&Row {
                        kind: kinds[i].as_deref().unwrap_or_default(),
                        name: names[i].as_deref().unwrap_or_default(),
                        also: alsos[i].as_deref().unwrap_or_default(),
                        amount: amounts[i],
                        baby: babies[i].as_deref(),
                        n: counts[i].unwrap_or(0) as u64,
                    })?;
                }
            }
            from += more + 1;
        }
        Ok(())
    }

    /// The counts of a figure of a measure by a split, or without one.
    pub(super) fn figure(
        &self,
        split: Option<Split>,
        measure: &str,
        formula: &header::Figure<'_>,
        name: &str,
    ) -> Cow<'_, ByCell> {
        let of_measure = self.of.get(&(word_of(split).to_owned(), measure.to_owned()));
        let sets = formula.sets(name).into_iter();
        let mut found = sets.filter_map(|set| of_measure?.get(set));
        let Some(first) = found.next() else {
            return Cow::Owned(ByCell::new());
        };
        let others: Vec<&ByCell> = found.collect();
        if others.is_empty() && first.values().all(|counts| counts.further.is_empty()) {
            return Cow::Borrowed(first);
        }
        let mut all = ByCell::new();
        for (cell, counts) in std::iter::once(first).chain(others).flatten() {
            if let Some(seen) = counts.seen_by(formula) {
                all.entry(cell.clone()).or_default().add(&seen);
            }
        }
        Cow::Owned(all)
    }
}

/// The counts of several months as those of one.
pub(super) fn taken_together(counts: &ByCell, months: &[(String, bool)], as_month: &str) -> ByCell {
    let mut all = ByCell::new();
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
