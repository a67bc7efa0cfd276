//! The source tables: their columns in the extract, what kind each is, and the
//! Arrow columns they become. Declared once; readers, intake and storage follow.

use std::sync::Arc;

use arrow::datatypes::{DataType, Field, Schema, SchemaRef, TimeUnit};

/// What a column of an extract holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// The row's own id; required.
    Id,
    /// The number of a specimen; required. Together with what was measured it makes the row's own
    /// id, which is stored under the column's name; the number is stored beside it.
    Specimen,
    /// The baby a row belongs to; required.
    Infant,
    /// Free text or an id of something else, kept as given.
    Text,
    /// As `Text`; empty sets the row aside.
    RequiredText,
    /// A descriptive word, kept in lower case; any word is accepted.
    Term,
    /// Descriptive words separated by `;`, kept in lower case without spaces around them.
    Terms,
    /// One of these words; empty is unknown, another word sets the row aside.
    Word(&'static [&'static str]),
    /// One of these words; empty sets the row aside as well.
    RequiredWord(&'static [&'static str]),
    /// `total`, `direct` or a LOINC code; anything else sets the row aside.
    Analyte,
    /// A whole number.
    Count,
    /// Weeks+days or completed weeks.
    Gestation,
    /// A moment that dates the row: required, its day and month are kept.
    Event,
    /// The moment of birth: as `Event`, but a day alone is accepted.
    Birth,
    /// Another moment; may be empty.
    Moment,
    /// A bilirubin value, with its unit in the next column.
    Value,
    /// The unit of the value before it.
    Unit,
    /// ICD-10 codes separated by `;`, the primary first.
    Codes,
}

/// One source table.
#[derive(Debug, PartialEq, Eq)]
pub struct SourceTable {
    /// Name of table and extract.
    pub name: &'static str,
    /// Columns of the extract, in the order of the contract.
    pub columns: &'static [(&'static str, Kind)],
    /// Whether its rows are tests, which cannot precede the birth.
    pub is_test: bool,
}

/// Where records that cannot be read at all are counted, as they are of no table.
pub const UNREADABLE_RECORDS: &str = "records";

/// Any extract may carry these as well.
pub const OPTIONAL_COLUMNS: [&str; 2] = ["record_status", "recorded_at"];

const SERUM_STATUS: &[&str] = &["preliminary", "final", "corrected", "cancelled", "withdrawn"];

/// All source tables; the birth register first, as the others refer to it. `merges` says
/// which of two ids of one baby stands.
pub const SOURCE_TABLES: &[SourceTable] = &[
    SourceTable {
        name: "births",
        is_test: false,
        columns: &[
            ("infant_id", Kind::Id),
            ("mother_id", Kind::Text),
            ("born_at", Kind::Birth),
            ("gestation", Kind::Gestation),
            ("birth_weight_g", Kind::Count),
            ("sex", Kind::Term),
            ("plurality", Kind::Count),
            ("birth_order", Kind::Count),
            ("unit", Kind::Text),
            ("feeding", Kind::Term),
            ("risk_factors", Kind::Terms),
            ("skin_tone", Kind::Term),
            ("ethnicity", Kind::Text),
        ],
    },
    SourceTable {
        name: "screens",
        is_test: true,
        columns: &[
            ("screen_id", Kind::Id),
            ("infant_id", Kind::Infant),
            ("measured_at", Kind::Event),
            ("value", Kind::Value),
            ("unit_of_measure", Kind::Unit),
            ("body_site", Kind::Term),
            ("readings", Kind::Count),
            ("meter_id", Kind::Text),
            ("operator_id", Kind::Text),
            ("id_entry", Kind::Term),
            ("setting", Kind::Term),
            ("unit", Kind::Text),
        ],
    },
    SourceTable {
        name: "serum",
        is_test: true,
        columns: &[
            ("specimen_id", Kind::Specimen),
            ("infant_id", Kind::Infant),
            ("collected_at", Kind::Event),
            ("resulted_at", Kind::Moment),
            ("value", Kind::Value),
            ("unit_of_measure", Kind::Unit),
            ("analyte", Kind::Analyte),
            ("specimen", Kind::Term),
            ("status", Kind::RequiredWord(SERUM_STATUS)),
            ("unit", Kind::Text),
        ],
    },
    SourceTable {
        name: "phototherapy",
        is_test: false,
        columns: &[
            ("episode_id", Kind::Id),
            ("infant_id", Kind::Infant),
            ("started_at", Kind::Event),
            ("stopped_at", Kind::Moment),
            ("kind", Kind::Term),
            ("setting", Kind::Term),
            ("unit", Kind::Text),
        ],
    },
    SourceTable {
        name: "stays",
        is_test: false,
        columns: &[
            ("stay_id", Kind::Id),
            ("infant_id", Kind::Infant),
            ("unit", Kind::Text),
            ("admitted_at", Kind::Event),
            ("discharged_at", Kind::Moment),
            ("source", Kind::Word(&["birth", "home", "transfer"])),
            ("disposition", Kind::Word(&["home", "transfer", "died"])),
            ("diagnoses", Kind::Codes),
        ],
    },
    SourceTable {
        name: "exchanges",
        is_test: false,
        columns: &[
            ("exchange_id", Kind::Id),
            ("infant_id", Kind::Infant),
            ("performed_at", Kind::Event),
            ("unit", Kind::Text),
        ],
    },
    SourceTable {
        name: "meter_checks",
        is_test: false,
        columns: &[
            ("check_id", Kind::Id),
            ("meter_id", Kind::Text),
            ("checked_at", Kind::Event),
            ("outcome", Kind::RequiredWord(&["pass", "fail"])),
            ("unit", Kind::Text),
        ],
    },
    SourceTable {
        name: "merges",
        is_test: false,
        columns: &[
            ("from_infant_id", Kind::Id),
            ("into_infant_id", Kind::RequiredText),
            ("merged_at", Kind::Event),
        ],
    },
];

impl SourceTable {
    /// The table of that name.
    pub fn named(name: &str) -> Option<&'static Self> {
        SOURCE_TABLES.iter().find(|table| table.name == name)
    }

    /// Names of the extract's columns.
    pub fn column_names(&self) -> Vec<&'static str> {
        self.columns.iter().map(|(name, _)| *name).collect()
    }

    /// The column of the extract that a stored column was read from; `None` for the row's ids
    /// and for what says where and when the row was read.
    pub fn read_from(&self, stored: &str) -> Option<&'static str> {
        let is_id = |kind: &Kind| matches!(kind, Kind::Id | Kind::Specimen | Kind::Infant);
        for (name, kind) in self.columns.iter().filter(|(_, kind)| !is_id(kind)) {
            let mut fields = Vec::new();
            push_fields(&mut fields, name, *kind);
            let of_row: &[&str] = match kind {
                Kind::Event | Kind::Birth => &["event_s", "local_month"],
                Kind::Moment if *name != "resulted_at" => &["until_s", "until_month"],
                _ => &[],
            };
            if of_row.contains(&stored) || fields.iter().any(|field| field.name() == stored) {
                return Some(name);
            }
        }
        None
    }

    /// Columns of one accepted row, as stored: what the extract says in typed
    /// form, then where the row came from.
    pub fn schema(&self) -> SchemaRef {
        let mut fields: Vec<Field> = Vec::new();
        for (name, kind) in self.columns {
            push_fields(&mut fields, name, *kind);
        }
        fields.extend(ROW_COLUMNS.iter().map(|(name, of)| Field::new(*name, of.clone(), true)));
        Arc::new(Schema::new(fields))
    }
}

/// What every stored row carries besides its own columns: the id under which
/// versions replace each other, the baby, the moment it is dated by and the one
/// it lasts until (a stop, a discharge), what orders its versions, which columns
/// it states when it states only part (`,born_at,sex,`), and where it was read. They
/// let one query serve every table.
const ROW_COLUMNS: &[(&str, DataType)] = &[
    ("row_id", DataType::Utf8),
    ("of_infant_id", DataType::Utf8),
    ("event_s", DataType::Int64),
    ("local_month", DataType::Utf8),
    ("until_s", DataType::Int64),
    ("until_month", DataType::Utf8),
    ("version_rank", DataType::Int32),
    ("version_s", DataType::Int64),
    ("record_status", DataType::Utf8),
    ("recorded_s", DataType::Int64),
    ("said", DataType::Utf8),
    ("load", DataType::Int64),
    ("seq", DataType::Int64),
    ("file", DataType::Utf8),
    ("line", DataType::Int64),
];

/// Columns of a row that was set aside: also its moment, meter and unit where these could be
/// read, as a reading whose value cannot be used was taken all the same.
pub fn set_aside_schema() -> SchemaRef {
    let columns = [
        ("table_name", DataType::Utf8),
        ("row_id", DataType::Utf8),
        ("column_name", DataType::Utf8),
        ("cell", DataType::Utf8),
        ("reason", DataType::Utf8),
        ("remedy", DataType::Utf8),
        ("row_text", DataType::Utf8),
        ("header_text", DataType::Utf8),
        ("form", DataType::Utf8),
        ("event_s", DataType::Int64),
        ("local_day", DataType::Date32),
        ("local_month", DataType::Utf8),
        ("meter_id", DataType::Utf8),
        ("unit", DataType::Utf8),
        ("load", DataType::Int64),
        ("seq", DataType::Int64),
        ("file", DataType::Utf8),
        ("line", DataType::Int64),
    ];
    let fields = columns.into_iter().map(|(name, of)| Field::new(name, of, true));
    Arc::new(Schema::new(fields.collect::<Vec<_>>()))
}

/// Columns of a row that waits for another one: see `held_rows.sql`.
pub fn held_schema() -> SchemaRef {
    let columns = [
        ("table_name", DataType::Utf8),
        ("row_id", DataType::Utf8),
        ("infant_id", DataType::Utf8),
        ("reason", DataType::Utf8),
        ("remedy", DataType::Utf8),
        ("file", DataType::Utf8),
        ("line", DataType::Int64),
        ("load", DataType::Int64),
        ("seq", DataType::Int64),
    ];
    let fields = columns.into_iter().map(|(name, of)| Field::new(name, of, true));
    Arc::new(Schema::new(fields.collect::<Vec<_>>()))
}

/// A moment's stem: `measured` for `measured_at`.
pub fn stem(column: &str) -> &str {
    column.strip_suffix("_at").unwrap_or(column)
}

fn instant() -> DataType {
    DataType::Timestamp(TimeUnit::Microsecond, Some("UTC".into()))
}

fn push_fields(fields: &mut Vec<Field>, name: &str, kind: Kind) {
    let mut add = |name: String, of: DataType| fields.push(Field::new(name, of, true));
    let stem = stem(name);
    match kind {
        Kind::Id
        | Kind::Infant
        | Kind::Text
        | Kind::RequiredText
        | Kind::Term
        | Kind::Terms
        | Kind::Word(_)
        | Kind::RequiredWord(_)
        | Kind::Analyte => add(name.into(), DataType::Utf8),
        Kind::Specimen => {
            add(name.into(), DataType::Utf8);
            add("specimen_number".into(), DataType::Utf8);
        }
        Kind::Count => add(name.into(), DataType::Int32),
        Kind::Gestation => {
            add(format!("{name}_text"), DataType::Utf8);
            add(format!("{name}_days"), DataType::Int32);
            add(format!("{name}_weeks"), DataType::Int32);
            add(format!("{name}_precision"), DataType::Utf8);
        }
        Kind::Event | Kind::Birth | Kind::Moment => {
            add(format!("{stem}_text"), DataType::Utf8);
            add(name.into(), instant());
            add(format!("{stem}_s"), DataType::Int64);
            if kind != Kind::Moment {
                add("local_day".into(), DataType::Date32);
                add("local_hour".into(), DataType::Int32);
                add("is_weekend".into(), DataType::Boolean);
                add("clock_flag".into(), DataType::Utf8);
            }
            if kind == Kind::Birth {
                add("born_day_s".into(), DataType::Int64);
            }
        }
        Kind::Value => {
            add("value_text".into(), DataType::Utf8);
            add("value".into(), DataType::Float64);
            add("bound".into(), DataType::Utf8);
            add("value_umol_l".into(), DataType::Float64);
            add("value_micro".into(), DataType::Int64);
            add("compare_micro".into(), DataType::Int64);
        }
        Kind::Unit => {
            add("unit_of_measure_text".into(), DataType::Utf8);
            add("unit_of_measure".into(), DataType::Utf8);
            add("unit_assumed".into(), DataType::Boolean);
        }
        Kind::Codes => {
            add(name.into(), DataType::Utf8);
            add("primary_code".into(), DataType::Utf8);
        }
    }
}
