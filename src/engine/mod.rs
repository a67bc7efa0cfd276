//! The only maker of query sessions: memory and disk limits, and which tables
//! a session sees. Everything else asks a [`Session`] for rows.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use arrow::array::RecordBatch;
use arrow::datatypes::{Field, Schema, SchemaRef};
use datafusion::catalog::TableProvider;
use datafusion::common::ParamValues;
pub use datafusion::common::ScalarValue as Value;
use datafusion::datasource::MemTable;
use datafusion::execution::SendableRecordBatchStream;
use datafusion::execution::disk_manager::{DiskManagerBuilder, DiskManagerMode};
use datafusion::execution::memory_pool::FairSpillPool;
use datafusion::execution::runtime_env::RuntimeEnvBuilder;
use datafusion::prelude::{DataFrame, SessionConfig, SessionContext};
use serde::de::DeserializeOwned;

use crate::warehouse::{Snapshot, TableEntry};

pub mod door;
mod error;
mod kept;
pub mod machine;
pub mod rows;
mod stored;

pub use error::EngineError;

use error::refused;
use kept::Kept;
use stored::{StoredTable, partition_type};

/// What a session may use.
#[derive(Clone, Debug)]
pub struct Limits {
    /// Memory for queries, bytes; beyond it they spill to disk.
    pub memory_bytes: usize,
    /// Most disk a session may spill, bytes.
    pub spill_bytes: u64,
    /// Threads, and pieces a query is cut into.
    pub partitions: usize,
    /// Where spilled rows go; the system's temporary folder when `None`.
    pub spill_dir: Option<PathBuf>,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            memory_bytes: machine::memory_bytes(),
            spill_bytes: 20 << 30,
            partitions: machine::threads(),
            spill_dir: None,
        }
    }
}

impl Limits {
    /// Those of the machine, but for what was asked for.
    pub fn asked_for(memory_mib: Option<u32>, threads: Option<u16>) -> Self {
        let machine = Self::default();
        Self {
            memory_bytes: memory_mib.map_or(machine.memory_bytes, |mib| mib as usize * (1 << 20)),
            partitions: threads.map_or(machine.partitions, usize::from),
            ..machine
        }
    }
}

/// A query: its name, by which errors call it, and its text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sql<'a> {
    /// Its name.
    pub name: &'a str,
    /// Its text.
    pub text: &'a str,
}

/// More rows than these are cut into pieces, and looked at by one query after the other.
pub const FEW_ROWS: u64 = 200_000;

/// Tables that can be queried with SQL. A clone sees the same tables, also those added later.
#[derive(Clone)]
pub struct Session {
    context: SessionContext,
    kept: Arc<Kept>,
}

impl Session {
    /// A session without tables.
    ///
    /// # Errors
    /// When the spill folder cannot be used.
    pub fn new(limits: &Limits) -> Result<Self, EngineError> {
        let mode = match &limits.spill_dir {
            Some(folder) => DiskManagerMode::Directories(vec![folder.clone()]),
            None => DiskManagerMode::OsTmpDirectory,
        };
        let disk = DiskManagerBuilder::default()
            .with_mode(mode)
            .with_max_temp_directory_size(limits.spill_bytes);
        let runtime = RuntimeEnvBuilder::new()
            .with_memory_pool(Arc::new(FairSpillPool::new(limits.memory_bytes)))
            .with_disk_manager_builder(disk)
            .build_arc()
            .map_err(refused("the engine"))?;
        let config = SessionConfig::new()
            .with_target_partitions(limits.partitions)
            .with_information_schema(false)
            // Further passes over a plan change little and cost as much as the first.
            .set_usize("datafusion.optimizer.max_passes", 1)
            .set_bool("datafusion.execution.parquet.schema_force_view_types", false)
            // Files are small, sorted by baby and have neither: looking for them costs more than it saves.
            .set_bool("datafusion.execution.parquet.enable_page_index", false)
            .set_bool("datafusion.execution.parquet.bloom_filter_on_read", false)
            .set_bool("datafusion.sql_parser.map_string_types_to_utf8view", false);
        Ok(Self {
            kept: Arc::new(Kept::within(&runtime.memory_pool, limits.memory_bytes)),
            context: SessionContext::new_with_config_rt(config, runtime),
        })
    }

    /// A session beside this one, within the same limits, that sees `tables` of it.
    ///
    /// # Errors
    /// When one of them is not there.
    pub async fn beside(&self, tables: &[&str]) -> Result<Self, EngineError> {
        self.with(self.context.copied_config(), tables).await
    }

    /// The same for tables of so many rows at most: of few, a query is not cut into pieces.
    ///
    /// # Errors
    /// When one of the tables is not there.
    pub async fn beside_for(&self, rows: u64, tables: &[&str]) -> Result<Self, EngineError> {
        match rows > FEW_ROWS {
            true => self.beside(tables).await,
            false => self.undivided(tables).await,
        }
    }

    /// The same, and its queries are not cut into pieces: others run beside them.
    ///
    /// # Errors
    /// When one of the tables is not there.
    pub async fn undivided(&self, tables: &[&str]) -> Result<Self, EngineError> {
        self.with(self.context.copied_config().with_target_partitions(1), tables)
            .await
    }

    async fn with(&self, config: SessionConfig, tables: &[&str]) -> Result<Self, EngineError> {
        let runtime = self.context.runtime_env();
        let session = Self {
            context: SessionContext::new_with_config_rt(config, runtime),
            kept: self.kept.clone(),
        };
        for name in tables {
            let table = self.context.table_provider(*name).await.map_err(refused(name))?;
            session.register(name, table)?;
        }
        Ok(session)
    }

    /// A session with all tables of a snapshot.
    ///
    /// # Errors
    /// When a table cannot be opened.
    pub fn of(snapshot: &Snapshot, limits: &Limits) -> Result<Self, EngineError> {
        let session = Self::new(limits)?;
        for (name, entry) in &snapshot.manifest().tables {
            session.add_files(name, snapshot.path(), entry)?;
        }
        Ok(session)
    }

    /// Adds a stored table, replacing one of the same name.
    ///
    /// # Errors
    /// When its folder cannot be opened.
    pub fn add_files(&self, name: &str, root: &Path, entry: &TableEntry) -> Result<(), EngineError> {
        if entry.files.is_empty() {
            let mut fields: Vec<_> = entry.schema().fields().iter().cloned().collect();
            if let Some(partition) = &entry.partition {
                fields.push(Arc::new(Field::new(partition, partition_type(partition), true)));
            }
            let whole = Arc::new(Schema::new(fields));
            return self.add_batches(name, &whole, Vec::new());
        }
        let table = StoredTable::new(root, entry, &self.kept).map_err(refused(name))?;
        self.register(name, Arc::new(table))
    }

    /// Adds rows held in memory; for small tables only.
    ///
    /// # Errors
    /// When the batches do not follow the schema.
    pub fn add_batches(&self, name: &str, schema: &SchemaRef, batches: Vec<RecordBatch>) -> Result<(), EngineError> {
        let table = MemTable::try_new(schema.clone(), vec![batches]).map_err(refused(name))?;
        self.register(name, Arc::new(table))
    }

    /// Adds a query as a table that later queries read, replacing one of the same name.
    ///
    /// # Errors
    /// When it is not understood, or a table is missing.
    pub async fn add_view(&self, name: &str, sql: Sql<'_>, parameters: &[(&str, Value)]) -> Result<(), EngineError> {
        let view = self.frame(sql, parameters).await?.into_view();
        self.register(name, view)
    }

    /// Memory that its queries and those beside it may use together, bytes.
    pub fn memory_bytes(&self) -> usize {
        self.kept.memory_bytes()
    }

    /// How many threads its queries are cut for.
    pub fn threads(&self) -> usize {
        self.context.state().config().target_partitions()
    }

    /// Forgets a table.
    ///
    /// # Errors
    /// Never for a name that can be written.
    pub fn remove(&self, name: &str) -> Result<(), EngineError> {
        self.context.deregister_table(name).map_err(refused(name))?;
        Ok(())
    }

    async fn frame(&self, sql: Sql<'_>, parameters: &[(&str, Value)]) -> Result<DataFrame, EngineError> {
        let plan = self.context.sql(sql.text).await.map_err(refused(sql.name))?;
        if parameters.is_empty() {
            return Ok(plan);
        }
        let values = parameters
            .iter()
            .map(|(name, value)| ((*name).to_owned(), value.clone()));
        let values = ParamValues::from(values.collect::<Vec<_>>());
        plan.with_param_values(values).map_err(refused(sql.name))
    }

    fn register(&self, name: &str, table: Arc<dyn TableProvider>) -> Result<(), EngineError> {
        self.context.deregister_table(name).map_err(refused(name))?;
        self.context.register_table(name, table).map_err(refused(name))?;
        Ok(())
    }

    /// Runs one query and returns its rows as they come.
    ///
    /// # Errors
    /// When the query is not understood or a table is missing.
    pub async fn stream(
        &self,
        sql: Sql<'_>,
        parameters: &[(&str, Value)],
    ) -> Result<SendableRecordBatchStream, EngineError> {
        let plan = self.frame(sql, parameters).await?;
        plan.execute_stream().await.map_err(refused(sql.name))
    }

    /// Plans one query without running it: whether it fits the tables.
    ///
    /// # Errors
    /// When it is not understood, or a table or column is missing.
    pub async fn plan(&self, sql: Sql<'_>) -> Result<(), EngineError> {
        self.context.sql(sql.text).await.map_err(refused(sql.name))?;
        Ok(())
    }

    /// Runs one query and returns all rows; for small results only.
    ///
    /// # Errors
    /// As [`Session::stream`], and when the query fails while running.
    pub async fn batches(&self, sql: Sql<'_>, parameters: &[(&str, Value)]) -> Result<Vec<RecordBatch>, EngineError> {
        let stream = self.stream(sql, parameters).await?;
        datafusion::physical_plan::common::collect(stream)
            .await
            .map_err(refused(sql.name))
    }

    /// Runs one query and returns all rows as values of a type; for small results only.
    ///
    /// # Errors
    /// As [`Session::batches`], and when a column is missing, null where the type has no room for
    /// it, or of another type.
    pub async fn rows<T: DeserializeOwned>(
        &self,
        sql: Sql<'_>,
        parameters: &[(&str, Value)],
    ) -> Result<Vec<T>, EngineError> {
        let mut stream = self.stream(sql, parameters).await?;
        rows::check_columns::<T>(sql.name, &stream.schema())?;
        let mut all = Vec::new();
        while let Some(batch) = next_batch(sql.name, &mut stream).await? {
            all.extend(rows::typed(sql.name, &batch)?);
        }
        Ok(all)
    }
}

/// The next batch of a stream.
///
/// # Errors
/// When the query fails while running.
pub async fn next_batch(
    what: &str,
    stream: &mut SendableRecordBatchStream,
) -> Result<Option<RecordBatch>, EngineError> {
    use futures::StreamExt;
    stream.next().await.transpose().map_err(refused(what))
}
