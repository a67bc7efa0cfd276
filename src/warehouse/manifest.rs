//! What a snapshot holds: each table's columns, and each file with its hash.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use arrow::datatypes::{DataType, Field, Schema, SchemaRef, TimeUnit};
use serde::{Deserialize, Serialize};

use super::error::{WarehouseError, io};

/// The file's name inside a snapshot.
pub(super) const FILE: &str = "manifest.json";

/// Everything a snapshot holds.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct Manifest {
    /// Number of the load that made the snapshot.
    pub load: i64,
    /// Version of siskin that wrote it.
    pub siskin: String,
    /// What it was derived by.
    #[serde(flatten)]
    pub derived_by: DerivedBy,
    /// SHA-256 of `notes.toml`; empty without notes.
    #[serde(default)]
    pub notes_sha256: String,
    /// SHA-256 of `reviews.csv`; empty without reviews.
    #[serde(default)]
    pub reviews_sha256: String,
    /// Tables by name.
    pub tables: BTreeMap<String, TableEntry>,
}

/// What a snapshot is derived by: when it is the same, nothing needs to be derived anew.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct DerivedBy {
    /// SHA-256 of `protocol.toml`.
    pub protocol_sha256: String,
    /// SHA-256 of the site's tables of lines; empty without one.
    #[serde(default)]
    pub line_tables_sha256: String,
    /// SHA-256 of all queries.
    pub queries_sha256: String,
}

/// One table: its columns, how it is split into files, and the files.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct TableEntry {
    /// Columns inside the files, in order.
    pub columns: Vec<Column>,
    /// Column kept in the path only (`month`, `load`), when there is one.
    pub partition: Option<String>,
    /// The files.
    pub files: Vec<DataFile>,
}

/// One column: name and type.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Column {
    /// Its name.
    pub name: String,
    /// `utf8`, `int32`, `int64`, `float64`, `boolean`, `date32` or `timestamp_us_utc`.
    #[serde(rename = "type")]
    pub of: String,
}

/// One Parquet file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct DataFile {
    /// Path below the snapshot.
    pub path: String,
    /// Rows in it.
    pub rows: u64,
    /// Its size.
    pub bytes: u64,
    /// Its hash.
    pub sha256: String,
}

impl Manifest {
    pub(super) fn read(snapshot: &Path) -> Result<Self, WarehouseError> {
        let path = snapshot.join(FILE);
        let text = std::fs::read(&path).map_err(io("cannot read", &path))?;
        serde_json::from_slice(&text).map_err(|source| WarehouseError::Manifest { path, source })
    }
}

impl TableEntry {
    /// Rows in all files.
    pub fn rows(&self) -> u64 {
        self.files.iter().map(|f| f.rows).sum()
    }

    /// The same table with only its files of some months.
    pub fn of_months(&self, is_wanted: impl Fn(&str) -> bool) -> Self {
        let files = self.files.iter().filter(|file| file.month().is_some_and(&is_wanted));
        Self {
            files: files.cloned().collect(),
            ..self.clone()
        }
    }

    /// Takes in other files of the same table.
    pub fn take_in(&mut self, other: Option<Self>) {
        self.files.extend(other.map(|other| other.files).unwrap_or_default());
        self.files.sort_by(|a, b| a.path.cmp(&b.path));
    }

    /// One table of the files of several that have the same columns; `None` of none.
    pub fn of_parts(parts: impl IntoIterator<Item = Self>) -> Option<Self> {
        parts.into_iter().reduce(|mut all, part| {
            all.take_in(Some(part));
            all
        })
    }

    /// The schema inside the files, without the partition column.
    pub fn schema(&self) -> SchemaRef {
        let fields: Vec<Field> = self
            .columns
            .iter()
            .map(|c| Field::new(&c.name, type_of(&c.of), true))
            .collect();
        Arc::new(Schema::new(fields))
    }
}

impl DataFile {
    /// The load whose rows it holds.
    pub fn load(&self) -> Option<i64> {
        self.path
            .split('/')
            .find_map(|part| part.strip_prefix("load=")?.parse().ok())
    }

    /// The month whose rows it holds.
    pub fn month(&self) -> Option<&str> {
        self.path.split('/').find_map(|part| part.strip_prefix("month="))
    }
}

impl Column {
    pub(super) fn of(field: &Field) -> Self {
        Self {
            name: field.name().clone(),
            of: type_word(field.data_type()).to_owned(),
        }
    }
}

/// The plain type a column is stored as: view and large strings become `utf8`,
/// unsigned and small integers the next signed one.
pub(super) fn stored_type(of: &DataType) -> DataType {
    type_of(type_word(of))
}

/// The word a manifest uses for the plain form of a type.
pub fn type_word(of: &DataType) -> &'static str {
    match of {
        DataType::Boolean => "boolean",
        DataType::Int8 | DataType::Int16 | DataType::Int32 | DataType::UInt8 | DataType::UInt16 => "int32",
        DataType::Int64 | DataType::UInt32 | DataType::UInt64 => "int64",
        DataType::Float16 | DataType::Float32 | DataType::Float64 => "float64",
        DataType::Date32 | DataType::Date64 => "date32",
        DataType::Timestamp(..) => "timestamp_us_utc",
        _ => "utf8",
    }
}

fn type_of(word: &str) -> DataType {
    match word {
        "boolean" => DataType::Boolean,
        "int32" => DataType::Int32,
        "int64" => DataType::Int64,
        "float64" => DataType::Float64,
        "date32" => DataType::Date32,
        "timestamp_us_utc" => DataType::Timestamp(TimeUnit::Microsecond, Some("UTC".into())),
        _ => DataType::Utf8,
    }
}
