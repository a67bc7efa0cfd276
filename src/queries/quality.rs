//! The checks of the records: SQL files of `queries/quality`, each row a finding. One of
//! level `stop` is run before a load is published, and publishes nothing when it finds
//! anything; what those of level `warn` find is stored with the load, printed after it and shown on the page.

use std::collections::BTreeMap;
use std::sync::Arc;

use arrow::array::{ArrayRef, Int64Array, RecordBatch, StringArray};
use serde::{Deserialize, Serialize};

use crate::engine::Session;
use crate::engine::rows::or_none;
use crate::warehouse::{Building, WarehouseError};
use crate::words::words;

use super::catalogue::{self, listings};
use super::{QueryError, Tasks};

/// One finding; a row of the listing `findings_stored`, but for its title.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize)]
pub struct Finding {
    /// Name of the check.
    #[serde(rename(deserialize = "check_name"))]
    pub check: String,
    /// What is wrong, in words.
    #[serde(skip_deserializing)]
    pub title: String,
    /// The table, unit, meter or file it is about.
    #[serde(deserialize_with = "or_none")]
    pub about: String,
    /// The month; empty for none.
    #[serde(deserialize_with = "or_none")]
    pub month: String,
    /// What was found, with its numbers.
    #[serde(deserialize_with = "or_none")]
    pub found: String,
    /// Rows concerned.
    pub n: i64,
}

words! {
    /// How grave what a check finds is.
    pub Level {
        /// A reason to look at the source.
        Warn = "warn",
        /// Nothing is published.
        Stop = "stop",
    }
}

/// Runs the checks of a level, as many at a time as rows allow (`side_by_side`). The session must
/// hold all tables of a snapshot.
///
/// # Errors
/// When a query fails.
pub async fn run(session: &Session, level: Level, at_once: usize) -> Result<Vec<Finding>, QueryError> {
    let wanted = catalogue::quality()
        .iter()
        .filter(|query| query.header.get("level") == level.word());
    let mut waiting = wanted.enumerate();
    let (mut tasks, mut found) = (Tasks::new(), BTreeMap::new());
    loop {
        while tasks.running() < at_once
            && let Some((place, query)) = waiting.next()
        {
            let session = session.clone();
            tasks.spawn(async move {
                let rows: Vec<Found> = session.rows(query.as_sql(), &[]).await?;
                let findings = rows.into_iter().map(|row| row.by(query.name));
                Ok::<_, QueryError>((place, findings.collect::<Vec<_>>()))
            });
        }
        let Some((place, findings)) = tasks.next().await? else {
            break;
        };
        found.insert(place, findings);
    }
    Ok(found.into_values().flatten().collect())
}

/// The table of what was found.
const TABLE: &str = "findings";

/// Stores what the checks found in the snapshot being built.
///
/// # Errors
/// When it cannot be written.
pub fn store(found: &[Finding], building: &mut Building) -> Result<(), WarehouseError> {
    let texts =
        |of: fn(&Finding) -> &str| -> ArrayRef { Arc::new(StringArray::from_iter_values(found.iter().map(of))) };
    let columns: [(&str, ArrayRef); 6] = [
        ("place", Arc::new(Int64Array::from_iter_values(1..=found.len() as i64))),
        ("check_name", texts(|f| &f.check)),
        ("concerns", texts(|f| &f.about)),
        ("month", texts(|f| &f.month)),
        ("found", texts(|f| &f.found)),
        ("n", Arc::new(Int64Array::from_iter_values(found.iter().map(|f| f.n)))),
    ];
    let rows = RecordBatch::try_from_iter(columns).map_err(|source| WarehouseError::Arrow {
        table: TABLE.to_owned(),
        source,
    })?;
    let mut writer = building.site().table(TABLE, &rows.schema(), None)?;
    if !found.is_empty() {
        writer.push(&rows)?;
    }
    let entry = writer.finish()?;
    building.add(TABLE, entry)
}

/// What the checks found when the snapshot was built.
///
/// # Errors
/// When it cannot be read.
pub async fn stored(session: &Session) -> Result<Vec<Finding>, QueryError> {
    let mut found: Vec<Finding> = session.rows(listings::findings_stored, &[]).await?;
    found
        .iter_mut()
        .for_each(|finding| finding.title = title(&finding.check));
    Ok(found)
}

/// What a check looks for; one that this siskin no longer has keeps its name as title.
fn title(check: &str) -> String {
    let query = catalogue::quality().iter().find(|query| query.name == check);
    query.map_or(check, |query| query.header.get("title")).to_owned()
}

/// A row of a check of the records.
#[derive(Deserialize)]
struct Found {
    #[serde(deserialize_with = "or_none")]
    about: String,
    #[serde(deserialize_with = "or_none")]
    month: String,
    #[serde(deserialize_with = "or_none")]
    found: String,
    n: i64,
}

impl Found {
    /// What the check of that name found.
    fn by(self, check: &str) -> Finding {
        Finding {
            check: check.to_owned(),
            title: title(check),
            about: self.about,
            month: self.month,
            found: self.found,
            n: self.n,
        }
    }
}
