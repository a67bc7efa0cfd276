//! The babies that are derived anew by a load, and the months in which anything of them lies.

use std::collections::{BTreeSet, HashSet};
use std::path::Path;

use arrow::array::{AsArray, BooleanArray, RecordBatch};
use arrow::compute::filter_record_batch;
use arrow::error::ArrowError;
use serde::Deserialize;

use crate::engine::rows::typed;
use crate::engine::{Session, Sql, Value, next_batch};
use crate::month::Month;
use crate::warehouse::{Building, DataFile, read_stored};

use super::QueryError;

/// The tables whose rows are of babies.
pub(super) const OF_BABIES: [&str; 6] = ["births", "screens", "serum", "phototherapy", "stays", "exchanges"];

/// The table whose rows are of no baby.
const OF_NO_BABY: &str = "meter_checks";

/// The babies that are derived anew, and the months in which anything of them lies, before
/// this load or after it. What is derived of a baby lies in these months.
#[derive(Debug, Default)]
pub struct Renewed {
    babies: HashSet<String>,
    months: BTreeSet<String>,
    of_no_baby: BTreeSet<String>,
}

/// A row of `babies_to_derive`.
#[derive(Deserialize)]
struct Named {
    infant_id: Option<String>,
}

/// A row of `refused_months`.
#[derive(Deserialize)]
struct OfMonth {
    month: String,
}

impl Renewed {
    /// The babies that a query names, and their months in the snapshot being built and in the
    /// one before it.
    ///
    /// # Errors
    /// When the query fails, or a table cannot be read.
    pub async fn of(
        session: &Session,
        building: &Building,
        query: Sql<'_>,
        parameters: &[(&str, Value)],
    ) -> Result<Self, QueryError> {
        let mut renewed = Self::default();
        let mut rows = session.stream(query, parameters).await?;
        while let Some(batch) = next_batch(query.name, &mut rows).await? {
            let named: Vec<Named> = typed(query.name, &batch)?;
            // A row of no baby, as a merge or a check of a meter, has none to derive.
            renewed.babies.extend(named.into_iter().filter_map(|row| row.infant_id));
        }
        let site = building.site();
        for table in OF_BABIES {
            if let Some(entry) = building.manifest().tables.get(table) {
                renewed.add_months(table, site.path(), &entry.files)?;
            }
            if let (Some(before), Some(entry)) = (site.before(), site.table_before(table)) {
                let now = building.manifest().tables.get(table);
                let is_kept = |file: &DataFile| now.is_some_and(|now| now.files.contains(file));
                let gone = entry.files.iter().filter(|file| !is_kept(file));
                renewed.add_months(table, before.path(), gone)?;
            }
        }
        Ok(renewed)
    }

    /// How many babies.
    pub(super) fn babies(&self) -> u64 {
        self.babies.len() as u64
    }

    /// Adds the months in which what is of no baby may have changed: those that a query names, and
    /// those with rows from `from` on. The last check of a meter, however old, decides what a
    /// reading is, so a changed check may change its own month and every later one.
    ///
    /// # Errors
    /// When the query fails.
    pub async fn add_months_of_no_baby(
        &mut self,
        session: &Session,
        building: &Building,
        query: Sql<'_>,
        from: Month,
    ) -> Result<(), QueryError> {
        let site = building.site();
        let now = |table: &str| {
            let entry = building.manifest().tables.get(table);
            entry.map_or(&[][..], |entry| &entry.files)
        };
        let before = |table: &str| site.table_before(table).map_or(&[][..], |entry| &entry.files);
        let month_of = |file: &DataFile| file.month().map(str::to_owned);
        let (checks, checks_before) = (now(OF_NO_BABY), before(OF_NO_BABY));
        let differs = |file: &&DataFile| checks.contains(file) != checks_before.contains(file);
        let changed = checks.iter().chain(checks_before).filter(differs);
        let from = changed.filter_map(month_of).fold(from.to_string(), String::min);
        let of = [("load", site.load().into()), ("from_month", from.as_str().into())];
        let named: Vec<OfMonth> = session.rows(query, &of).await?;
        self.of_no_baby.extend(named.into_iter().map(|row| row.month));
        for table in ["screens", OF_NO_BABY] {
            let months = now(table).iter().chain(before(table)).filter_map(month_of);
            self.of_no_baby.extend(months.filter(|month| *month >= from));
        }
        Ok(())
    }

    /// The months in which anything may have changed, of a baby or of none.
    pub(super) fn all_months(&self) -> impl Iterator<Item = &str> {
        self.months.union(&self.of_no_baby).map(String::as_str)
    }

    /// The months of the babies.
    pub(super) fn months(&self) -> &BTreeSet<String> {
        &self.months
    }

    /// Adds the months in which rows of the babies begin or end.
    fn add_months<'f>(
        &mut self,
        table: &str,
        root: &Path,
        files: impl IntoIterator<Item = &'f DataFile>,
    ) -> Result<(), QueryError> {
        for file in files {
            let Some(month) = file.month() else { continue };
            for batch in read_stored(&root.join(&file.path), table, Some(&["infant_id", "until_month"]))? {
                let batch = batch?;
                let babies = self.are_of(&batch);
                if babies.true_count() == 0 {
                    continue;
                }
                self.months.insert(month.to_owned());
                let until = batch
                    .column_by_name("until_month")
                    .map(|column| column.as_string::<i32>());
                for (is_one, until) in babies.iter().zip(until.into_iter().flatten()) {
                    if let (Some(true), Some(until)) = (is_one, until) {
                        self.months.insert(until.to_owned());
                    }
                }
            }
        }
        Ok(())
    }

    /// Whether each row is of one of the babies.
    fn are_of(&self, rows: &RecordBatch) -> BooleanArray {
        match rows.column_by_name("infant_id") {
            Some(ids) => {
                let ids = ids.as_string::<i32>().iter();
                BooleanArray::from_iter(ids.map(|id| Some(id.is_some_and(|id| self.babies.contains(id)))))
            }
            None => BooleanArray::from(vec![false; rows.num_rows()]),
        }
    }

    /// The rows of the babies.
    pub(super) fn only_theirs(&self, rows: &RecordBatch) -> Result<RecordBatch, ArrowError> {
        filter_record_batch(rows, &self.are_of(rows))
    }

    /// Whether each row is of another baby.
    pub(super) fn are_of_others(&self, rows: &RecordBatch) -> Result<BooleanArray, ArrowError> {
        arrow::compute::not(&self.are_of(rows))
    }
}
