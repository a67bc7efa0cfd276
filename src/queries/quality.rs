//! The checks of the records: SQL files of `queries/quality`, each row a finding. One of
//! level `stop` is run before a load is published, and publishes nothing when it finds
//! anything; those of level `warn` are told after a load and on the page.

use crate::engine::Session;
use crate::engine::values::Cells;

use super::QueryError;
use super::catalogue;

/// One finding.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Finding {
    /// Name of the check.
    pub check: String,
    /// What is wrong, in words.
    pub title: String,
    /// The table, unit, meter or file it is about.
    pub about: String,
    /// The month; empty for none.
    pub month: String,
    /// What was found, with its numbers.
    pub found: String,
    /// Rows concerned.
    pub n: i64,
}

/// How grave what a check finds is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Level {
    /// A reason to look at the source.
    Warn,
    /// Nothing is published.
    Stop,
}

impl Level {
    fn word(self) -> &'static str {
        match self {
            Self::Warn => "warn",
            Self::Stop => "stop",
        }
    }
}

/// Runs the checks of a level. The session must hold all tables of a snapshot.
///
/// # Errors
/// When a query fails.
pub async fn run(session: &Session, level: Level) -> Result<Vec<Finding>, QueryError> {
    let mut all = Vec::new();
    let wanted = catalogue::quality().iter();
    for query in wanted.filter(|query| query.header.get("level") == level.word()) {
        let rows = session.rows(query.name, query.sql, &[]).await?;
        all.extend(findings(&Cells::new(rows), query.name, query.header.get("title")));
    }
    Ok(all)
}

fn findings(cells: &Cells, check: &str, title: &str) -> Vec<Finding> {
    let [abouts, months, founds] = ["about", "month", "found"].map(|name| cells.texts(name));
    let counts = cells.ints("n").into_iter().enumerate();
    let text = |of: &[Option<String>], i: usize| of[i].clone().unwrap_or_default();
    let row = |(i, n): (usize, Option<i64>)| Finding {
        check: check.to_owned(),
        title: title.to_owned(),
        about: text(&abouts, i),
        month: text(&months, i),
        found: text(&founds, i),
        n: n.unwrap_or(0),
    };
    counts.map(row).collect()
}
