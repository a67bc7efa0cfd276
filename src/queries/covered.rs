//! Which months have data, table by table.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Time;
use jiff::tz::TimeZone;

use serde::Deserialize;

use crate::engine::Session;
use crate::month::Month;

use super::QueryError;
use super::catalogue::{intake, listings};

/// Tables so rare that a month without a row has data when the table is complete through it.
const RARE_TABLES: [&str; 1] = ["exchanges"];

/// Tables whose data ends bound the measures.
pub const MEASURED_TABLES: [&str; 5] = ["births", "screens", "serum", "phototherapy", "stays"];

/// A row of the listing `covered_months`.
#[derive(Deserialize)]
struct CoveredMonth {
    table_name: String,
    month: String,
}

/// Through when a table is complete.
#[derive(Clone, Debug, Deserialize)]
pub struct DataEnd {
    /// The table.
    pub table_name: String,
    /// Epoch seconds.
    pub through_s: i64,
}

/// Months with rows, and through when each table is complete.
pub(super) struct Covered<'a> {
    with_rows: BTreeSet<(String, String)>,
    through_s: BTreeMap<String, i64>,
    zone: &'a TimeZone,
}

impl<'a> Covered<'a> {
    /// That of a snapshot.
    ///
    /// # Errors
    /// When it cannot be read.
    pub(super) async fn read(session: &Session, zone: &'a TimeZone) -> Result<Self, QueryError> {
        let months: Vec<CoveredMonth> = session.rows(listings::covered_months, &[]).await?;
        let ends: Vec<DataEnd> = session.rows(intake::data_ends, &[]).await?;
        Ok(Self {
            with_rows: months.into_iter().map(|row| (row.table_name, row.month)).collect(),
            through_s: ends.into_iter().map(|row| (row.table_name, row.through_s)).collect(),
            zone,
        })
    }

    /// Months that have rows, of any source table.
    pub(super) fn months(&self) -> Vec<Month> {
        let months: BTreeSet<Month> = self
            .with_rows
            .iter()
            .filter_map(|(_, month)| month.parse().ok())
            .collect();
        months.into_iter().collect()
    }

    /// Whether a table has data of a month.
    pub(super) fn has_data(&self, table: &str, month: &str) -> bool {
        if self.with_rows.contains(&(table.to_owned(), month.to_owned())) {
            return true;
        }
        let month_ends_s = month.parse().ok().and_then(|month: Month| self.begins_s(month.plus(1)));
        RARE_TABLES.contains(&table) && month_ends_s.is_some_and(|end| self.through_s.get(table) >= Some(&end))
    }

    /// The first moment of a month on the local clock, epoch seconds.
    fn begins_s(&self, month: Month) -> Option<i64> {
        let midnight = month.first_day().to_datetime(Time::midnight());
        self.zone.to_timestamp(midnight).ok().map(|at| at.as_second())
    }
}
