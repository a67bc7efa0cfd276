//! Cases of the measures, counted: by measure, figure, month, unit and group.

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

use arrow::array::{Array, AsArray, RecordBatch, StringArray};
use arrow::compute::cast;
use arrow::datatypes::{DataType, Int64Type};
use arrow::error::ArrowError;

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
    /// Times or differences, of measures that have one.
    pub amounts: Vec<Amount>,
    /// Clusters and how many cases of each, by outcome and further names, of measures whose cases
    /// come in clusters. The number of a cluster is its place among those of all counted with it.
    clusters: BTreeMap<Names, Vec<(u32, u64)>>,
}

/// The time or difference of some cases.
#[derive(Clone, Debug)]
pub(super) struct Amount {
    /// Seconds, or millionths of umol/L.
    pub value: i64,
    /// The outcome.
    pub name: Arc<str>,
    /// The cluster the cases are of, of measures whose cases come in clusters.
    pub cluster: Option<u32>,
    /// How many cases.
    pub n: u64,
}

/// The outcome of a case, and its further names.
type Names = (Arc<str>, Arc<str>);

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
        for (names, clusters) in &other.clusters {
            self.clusters
                .entry(names.clone())
                .or_default()
                .extend_from_slice(clusters);
        }
    }

    /// The clusters of the cases and how many of each, by outcome as the figure counts it.
    pub(super) fn clusters(&self) -> impl Iterator<Item = (&str, &[(u32, u64)])> {
        self.clusters.iter().map(|((name, _), of)| (&**name, of.as_slice()))
    }

    /// Adds the counts of one row of `counted.sql`.
    fn count(&mut self, row: &Row<'_>) -> Result<(), String> {
        self.provisional |= &*row.also == PROVISIONAL;
        match row.kind {
            "outcome" => {}
            "left_out" => {
                add(&mut self.left_out, &row.name, row.n);
                return Ok(());
            }
            other => return Err(other.to_owned()),
        }
        match &*row.also {
            "" | PROVISIONAL => add(&mut self.outcomes, &row.name, row.n),
            also => *self.further.entry((row.name.to_string(), also.to_owned())).or_default() += row.n,
        }
        if let Some(amount) = row.amount {
            self.amounts.push(Amount {
                value: amount,
                name: row.name.clone(),
                cluster: row.cluster,
                n: row.n,
            });
        }
        if let Some(cluster) = row.cluster {
            let names = (row.name.clone(), row.also.clone());
            self.clusters.entry(names).or_default().push((cluster, row.n));
        }
        Ok(())
    }

    /// As a figure counts them: each case by the one of its names that the formula means.
    /// `None` when none of them counts.
    fn seen_by(&self, formula: &header::Figure<'_>) -> Option<Self> {
        let mut seen = Self {
            outcomes: self.outcomes.clone(),
            further: BTreeMap::new(),
            left_out: self.left_out.clone(),
            provisional: self.provisional,
            amounts: self.amounts.clone(),
            clusters: BTreeMap::new(),
        };
        for ((name, also), n) in &self.further {
            match formula.counts(name, also) {
                Some(header::Counts::As(outcome)) => add(&mut seen.outcomes, outcome, *n),
                Some(header::Counts::LeftOut(reason)) => add(&mut seen.left_out, reason, *n),
                None => {}
            }
        }
        for ((name, also), clusters) in &self.clusters {
            let outcome = match &**also {
                "" | PROVISIONAL => Some(&**name),
                also => match formula.counts(name, also) {
                    Some(header::Counts::As(outcome)) => Some(outcome),
                    _ => None,
                },
            };
            if let Some(outcome) = outcome {
                let names = (outcome.into(), "".into());
                seen.clusters.entry(names).or_default().extend_from_slice(clusters);
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
    /// Each name once.
    names: BTreeSet<Arc<str>>,
    /// The clusters counted, numbered as they came.
    clusters: HashMap<Box<str>, u32>,
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
    name: Arc<str>,
    also: Arc<str>,
    amount: Option<i64>,
    cluster: Option<u32>,
    n: u64,
}

impl Placed {
    /// Adds a batch of the rows of `counted.sql`. Each counts for its cell and for those that hold
    /// it: by a split for its group in its unit and in the network, without one for its unit and
    /// the network.
    ///
    /// # Errors
    /// When a column is missing or of another type, or with the word that is no kind of row.
    pub(super) fn place(&mut self, rows: &RecordBatch) -> Result<(), ArrowError> {
        let column = |name: &str, of: &DataType| cast(rows.column(rows.schema().index_of(name)?), of);
        let texts = |name: &str| Ok::<_, ArrowError>(column(name, &DataType::Utf8)?.as_string::<i32>().clone());
        let ints =
            |name: &str| Ok::<_, ArrowError>(column(name, &DataType::Int64)?.as_primitive::<Int64Type>().clone());
        let [split, measure, figure, month, unit, group] =
            ["split", "measure", "figure", "month", "unit", "group_name"].map(texts);
        let keys = [split?, measure?, figure?, month?, unit?, group?];
        let (kinds, names, alsos, clusters) = (texts("kind")?, texts("name")?, texts("also")?, texts("cluster_key")?);
        let (amounts, counts) = (ints("amount")?, ints("n")?);
        let is_as_before = |i: usize| i > 0 && keys.iter().all(|key| text_of(key, i) == text_of(key, i - 1));
        let mut from = 0;
        // Rows of one cell come one after the other.
        while from < counts.len() {
            let to = (from + 1..counts.len())
                .find(|i| !is_as_before(*i))
                .unwrap_or(counts.len());
            let [split, measure, figure, month, unit, group] = keys.each_ref().map(|key| text_of(key, from).to_owned());
            let group = (split != UNSPLIT).then_some(group);
            let mut of_cell = Vec::with_capacity(to - from);
            for i in from..to {
                of_cell.push(Row {
                    kind: text_of(&kinds, i),
                    name: self.name(text_of(&names, i)),
                    also: self.name(text_of(&alsos, i)),
                    amount: amounts.is_valid(i).then(|| amounts.value(i)),
                    cluster: clusters.is_valid(i).then(|| self.number(clusters.value(i))),
                    n: u64::try_from(counts.value(i)).map_err(|e| ArrowError::ComputeError(e.to_string()))?,
                });
            }
            let cells = self.of.entry((split, measure)).or_default().entry(figure).or_default();
            for unit in [None, Some(unit)] {
                let cell = Cell {
                    month: month.clone(),
                    unit,
                    group: group.clone(),
                };
                let counts = cells.entry(cell).or_default();
                for row in &of_cell {
                    let counted = counts.count(row);
                    counted.map_err(|word| ArrowError::ComputeError(format!("'{word}' is no kind of row")))?;
                }
            }
            from = to;
        }
        Ok(())
    }

    fn name(&mut self, name: &str) -> Arc<str> {
        match self.names.get(name) {
            Some(name) => name.clone(),
            None => {
                let name: Arc<str> = name.into();
                self.names.insert(name.clone());
                name
            }
        }
    }

    fn number(&mut self, cluster: &str) -> u32 {
        match self.clusters.get(cluster) {
            Some(number) => *number,
            None => {
                let number = self.clusters.len() as u32;
                self.clusters.insert(cluster.into(), number);
                number
            }
        }
    }

    /// Numbers the clusters by the order of their ids, once all rows are placed: what is worked out
    /// of them does not depend on the order of the rows.
    pub(super) fn number_in_order(&mut self) {
        let mut by_id: Vec<(Box<str>, u32)> = std::mem::take(&mut self.clusters).into_iter().collect();
        by_id.sort_unstable();
        let mut places = vec![0; by_id.len()];
        for (place, (_, number)) in by_id.into_iter().enumerate() {
            places[number as usize] = place as u32;
        }
        for counts in self
            .of
            .values_mut()
            .flat_map(BTreeMap::values_mut)
            .flat_map(BTreeMap::values_mut)
        {
            let of_names = counts.clusters.values_mut().flatten().map(|(cluster, _)| cluster);
            let of_amounts = counts.amounts.iter_mut().filter_map(|amount| amount.cluster.as_mut());
            for cluster in of_names.chain(of_amounts) {
                *cluster = places[*cluster as usize];
            }
        }
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

/// A cell of text; empty where it is null.
fn text_of(column: &StringArray, row: usize) -> &str {
    if column.is_null(row) { "" } else { column.value(row) }
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
