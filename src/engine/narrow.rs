//! Work on part of a table: its rows of some babies or ids, in the months they lie
//! in, and the rows of others put beside them again.

use std::collections::BTreeSet;
use std::path::Path;

use datafusion::common::JoinType;
use datafusion::execution::SendableRecordBatchStream;
use datafusion::prelude::{DataFrame, col};

use crate::warehouse::TableEntry;

use super::values::Cells;
use super::{EngineError, Session, refused};

/// A table and one of its columns.
#[derive(Clone, Copy, Debug)]
pub struct Column<'a> {
    /// Name of the table.
    pub table: &'a str,
    /// Name of the column.
    pub column: &'a str,
}

impl Session {
    /// The months in which a table has rows whose column is among the values of another.
    ///
    /// # Errors
    /// When a table is missing, or the query fails.
    pub async fn months_of(&self, rows: Column<'_>, among: Column<'_>) -> Result<BTreeSet<String>, EngineError> {
        let found = self.joined(rows, among, JoinType::LeftSemi).await?;
        let months = found.select_columns(&["month"]).and_then(DataFrame::distinct);
        let batches = months.map_err(refused(rows.table))?.collect().await;
        let months = Cells::new(batches.map_err(refused(rows.table))?).texts("month");
        Ok(months.into_iter().flatten().collect())
    }

    /// Adds a stored table with only those of its rows whose column is among the values of another.
    ///
    /// # Errors
    /// When a table is missing, or the query fails.
    pub async fn add_narrowed(
        &self,
        rows: Column<'_>,
        root: &Path,
        entry: &TableEntry,
        among: Column<'_>,
    ) -> Result<(), EngineError> {
        self.add_files(rows.table, root, entry)?;
        let months = self.months_of(rows, among).await?;
        self.add_files(rows.table, root, &entry.of_months(|month| months.contains(month)))?;
        let found = self.joined(rows, among, JoinType::LeftSemi).await?;
        self.register(rows.table, found.into_view())
    }

    /// The rows of `new`, and those of `old` whose column is not among the values of another,
    /// in order.
    ///
    /// # Errors
    /// When a table is missing, or the query fails.
    pub async fn put_together(
        &self,
        new: &str,
        old: Column<'_>,
        changed: Column<'_>,
        order: &[&str],
    ) -> Result<SendableRecordBatchStream, EngineError> {
        let kept = self.joined(old, changed, JoinType::LeftAnti).await?;
        let new = self.context.table(new).await.map_err(refused(new))?;
        // The engine puts rows together by place, and stored tables have their month last.
        let names: Vec<String> = new.schema().fields().iter().map(|f| f.name().clone()).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let kept = kept.select_columns(&names).map_err(refused(old.table))?;
        let all = new.union(kept).map_err(refused(old.table))?;
        sorted(old.table, all, order).await
    }

    /// The rows of a table in order.
    ///
    /// # Errors
    /// When the table or a column is missing, or the query fails.
    pub async fn in_order(&self, table: &str, order: &[&str]) -> Result<SendableRecordBatchStream, EngineError> {
        let rows = self.context.table(table).await.map_err(refused(table))?;
        sorted(table, rows, order).await
    }

    async fn joined(&self, rows: Column<'_>, among: Column<'_>, how: JoinType) -> Result<DataFrame, EngineError> {
        let left = self.context.table(rows.table).await.map_err(refused(rows.table))?;
        let right = self.context.table(among.table).await.map_err(refused(among.table))?;
        left.join(right, how, &[rows.column], &[among.column], None)
            .map_err(refused(rows.table))
    }
}

async fn sorted(what: &str, rows: DataFrame, order: &[&str]) -> Result<SendableRecordBatchStream, EngineError> {
    let keys = order.iter().map(|key| col(*key).sort(true, false)).collect();
    let rows = rows.sort(keys).map_err(refused(what))?;
    rows.execute_stream().await.map_err(refused(what))
}
