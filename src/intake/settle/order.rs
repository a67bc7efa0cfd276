//! How to settle a load.

use std::collections::BTreeMap;

/// Through when the user says the data is complete.
#[derive(Clone, Debug, Default)]
pub struct Through {
    /// For every table that has a file in this load; never moves a table back.
    pub all: Option<i64>,
    /// For one table, by name; as it is said, also back.
    pub tables: BTreeMap<String, i64>,
}

/// How to settle.
#[derive(Clone, Copy, Debug)]
pub struct SettleOrder<'a> {
    /// When the load happens, epoch seconds.
    pub loaded_at_s: i64,
    /// Through when its tables are complete.
    pub through: &'a Through,
    /// Look at all rows, also at those of which nothing has changed.
    pub is_whole: bool,
    /// Rows that are settled at a time, about.
    pub slice_rows: u64,
}
