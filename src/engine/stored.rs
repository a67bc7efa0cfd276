//! A stored table as the engine reads it: exactly the files its manifest lists,
//! with the row counts it gives. No folder is listed and nothing is inferred, so
//! planning costs the same however many months there are.

use std::path::Path;
use std::sync::Arc;

use arrow::array::{Array, AsArray, RecordBatch};
use arrow::datatypes::{DataType, Field, Schema, SchemaRef};
use async_trait::async_trait;
use datafusion::catalog::{Session, TableProvider};
use datafusion::common::stats::Precision;
use datafusion::common::tree_node::TreeNode;
use datafusion::common::{DFSchema, DataFusionError, Result, ScalarValue, Statistics};
use datafusion::datasource::TableType;
use datafusion::datasource::file_format::FileFormat;
use datafusion::datasource::file_format::parquet::ParquetFormat;
use datafusion::datasource::listing::PartitionedFile;
use datafusion::datasource::memory::{DataSourceExec, MemorySourceConfig};
use datafusion::datasource::object_store::ObjectStoreUrl;
use datafusion::datasource::physical_plan::{FileGroup, FileScanConfigBuilder};
use datafusion::datasource::table_schema::TableSchema;
use datafusion::logical_expr::{Expr, TableProviderFilterPushDown};
use datafusion::physical_plan::ExecutionPlan;
use datafusion::physical_plan::empty::EmptyExec;

use crate::warehouse::TableEntry;

use super::kept::Kept;

/// The files of a table below a folder.
#[derive(Debug)]
pub(super) struct StoredTable {
    schema: TableSchema,
    partition: Option<String>,
    files: Vec<PartitionedFile>,
    rows: u64,
    kept: Arc<Kept>,
}

impl StoredTable {
    /// The table of an entry in a manifest, below its folder.
    ///
    /// # Errors
    /// When a file cannot be found, or a partition's value is none of its type.
    pub(super) fn new(root: &Path, entry: &TableEntry, kept: &Arc<Kept>) -> Result<Self> {
        let root = std::path::absolute(root)?;
        let partition = entry.partition.clone();
        let mut files = Vec::new();
        for file in &entry.files {
            let path = root.join(&file.path);
            let mut stored = PartitionedFile::new("", file.bytes);
            stored.object_meta.location = object_store::path::Path::from_absolute_path(&path)?;
            // Together with path and size it distinguishes a file from an earlier one of its name.
            stored.object_meta.last_modified = std::fs::metadata(&path)?.modified()?.into();
            if let Some(column) = &partition {
                stored.partition_values = vec![partition_value(column, &file.path)?];
            }
            files.push(stored);
        }
        let partitions = partition
            .iter()
            .map(|column| Field::new(column, partition_type(column), true));
        let partitions: Vec<Arc<Field>> = partitions.map(Arc::new).collect();
        Ok(Self {
            schema: TableSchema::builder(entry.schema())
                .with_table_partition_cols(partitions)
                .build(),
            partition,
            files,
            rows: entry.rows(),
            kept: kept.clone(),
        })
    }

    /// Whether a filter speaks of the partition alone, so that it chooses files.
    fn chooses_files(&self, filter: &Expr) -> bool {
        let Some(partition) = &self.partition else {
            return false;
        };
        let is_plain = !filter
            .exists(|e| {
                Ok(matches!(
                    e,
                    Expr::ScalarSubquery(_) | Expr::Exists(_) | Expr::InSubquery(_)
                ))
            })
            .unwrap_or(true);
        let columns = filter.column_refs();
        is_plain && !columns.is_empty() && columns.iter().all(|column| column.name == *partition)
    }

    /// The files whose partition passes all filters that speak of it alone.
    fn chosen(&self, state: &dyn Session, filters: &[Expr]) -> Result<Vec<PartitionedFile>> {
        let Some(partition) = &self.partition else {
            return Ok(self.files.clone());
        };
        let values = self.files.iter().map(|file| file.partition_values[0].clone());
        let column = ScalarValue::iter_to_array(values)?;
        let field = Field::new(partition, column.data_type().clone(), true);
        let schema = Arc::new(Schema::new(vec![field]));
        let rows = RecordBatch::try_new(schema.clone(), vec![column])?;
        let schema = DFSchema::try_from(schema)?;
        let mut passes = vec![true; self.files.len()];
        for filter in filters.iter().filter(|filter| self.chooses_files(filter)) {
            let plain = unqualified(filter.clone())?;
            let holds = state.create_physical_expr(plain, &schema)?.evaluate(&rows)?;
            let holds = holds.into_array(rows.num_rows())?;
            let holds = holds
                .as_boolean_opt()
                .ok_or_else(|| DataFusionError::Internal(format!("the filter {filter} is neither true nor false")))?;
            for (i, passes) in passes.iter_mut().enumerate() {
                *passes &= holds.is_valid(i) && holds.value(i);
            }
        }
        let chosen = self.files.iter().zip(passes).filter(|(_, passes)| *passes);
        Ok(chosen.map(|(file, _)| file.clone()).collect())
    }

    fn statistics_of(&self, rows: Precision<usize>) -> Statistics {
        Statistics {
            num_rows: rows,
            ..Statistics::new_unknown(self.schema.table_schema())
        }
    }
}

#[async_trait]
impl TableProvider for StoredTable {
    fn schema(&self) -> SchemaRef {
        self.schema.table_schema().clone()
    }

    fn table_type(&self) -> TableType {
        TableType::Base
    }

    fn supports_filters_pushdown(&self, filters: &[&Expr]) -> Result<Vec<TableProviderFilterPushDown>> {
        let answer = |filter: &&Expr| {
            if self.chooses_files(filter) {
                TableProviderFilterPushDown::Exact
            } else {
                // The engine's own rules hand it to the reader of Parquet later.
                TableProviderFilterPushDown::Unsupported
            }
        };
        Ok(filters.iter().map(answer).collect())
    }

    fn statistics(&self) -> Option<Statistics> {
        Some(self.statistics_of(Precision::Exact(self.rows as usize)))
    }

    async fn scan(
        &self,
        state: &dyn Session,
        projection: Option<&Vec<usize>>,
        filters: &[Expr],
        limit: Option<usize>,
    ) -> Result<Arc<dyn ExecutionPlan>> {
        let schema = self.schema();
        let places = projection
            .cloned()
            .unwrap_or_else(|| (0..schema.fields().len()).collect());
        let files = self.chosen(state, filters)?;
        if files.is_empty() {
            return Ok(Arc::new(EmptyExec::new(Arc::new(schema.project(&places)?))));
        }
        if let Some(rows) = self.kept.rows_of(&files, &schema, &places) {
            let source = MemorySourceConfig::try_new(&[rows], Arc::new(schema.project(&places)?), None)?;
            return Ok(DataSourceExec::from_data_source(source.with_limit(limit)));
        }
        let rows = if files.len() == self.files.len() {
            Precision::Exact(self.rows as usize)
        } else {
            Precision::Inexact(self.rows as usize * files.len() / self.files.len())
        };
        let format = ParquetFormat::default();
        let groups = FileGroup::new(files).split_files(state.config().target_partitions());
        let scan = FileScanConfigBuilder::new(
            ObjectStoreUrl::local_filesystem(),
            format.file_source(self.schema.clone()),
        )
        .with_file_groups(groups)
        .with_statistics(self.statistics_of(rows))
        .with_projection_indices(projection.cloned())?
        .with_limit(limit)
        .build();
        format.create_physical_plan(state, scan).await
    }
}

/// The filter with columns by their plain names.
fn unqualified(filter: Expr) -> Result<Expr> {
    use datafusion::common::Column;
    use datafusion::common::tree_node::Transformed;
    let plain = filter.transform(|e| {
        Ok(match e {
            Expr::Column(column) => Transformed::yes(Expr::Column(Column::new_unqualified(column.name))),
            other => Transformed::no(other),
        })
    })?;
    Ok(plain.data)
}

/// Loads are numbers, months are text.
pub(super) fn partition_type(column: &str) -> DataType {
    if column == "load" {
        DataType::Int64
    } else {
        DataType::Utf8
    }
}

/// The value in a path such as `screens/month=2026-09/rows.parquet`.
fn partition_value(column: &str, path: &str) -> Result<ScalarValue> {
    let wrong = || DataFusionError::Internal(format!("{path} does not say its {column}"));
    let mut parts = path.split('/');
    let text = parts.find_map(|part| part.strip_prefix(column)?.strip_prefix('='));
    let text = text.ok_or_else(wrong)?;
    Ok(if column == "load" {
        ScalarValue::Int64(Some(text.parse().map_err(|_| wrong())?))
    } else {
        ScalarValue::Utf8(Some(text.to_owned()))
    })
}
