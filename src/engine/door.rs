//! The read-only door: one question, judged before it is planned and again after.
//!
//! Only queries pass (SELECT, WITH, VALUES, and EXPLAIN of one), only over tables
//! the session has. A session knows no table made of a file's name, so a path is
//! a table that is not there.

use datafusion::error::DataFusionError;
use datafusion::execution::SendableRecordBatchStream;
use datafusion::execution::context::SQLOptions;
use datafusion::sql::parser::{DFParser, Statement};
use datafusion::sql::sqlparser::ast::Statement as SqlStatement;

use super::Session;

/// A question that may be asked.
#[derive(Debug)]
pub struct Question {
    statement: Statement,
    tables: Vec<String>,
}

impl Question {
    /// Names of the tables it reads, without those it makes itself (`with`).
    pub fn tables(&self) -> &[String] {
        &self.tables
    }
}

/// Why a question is not answered. Nothing was changed.
#[derive(Debug, thiserror::Error)]
pub enum Refusal {
    /// There is no statement.
    #[error("there is no question\n  to do: write one SELECT")]
    Empty,
    /// There is more than one statement.
    #[error("{count} statements at once are refused\n  to do: ask one question at a time")]
    Several {
        /// How many.
        count: usize,
    },
    /// It would change something.
    #[error("{what} is refused: questions only read\n  to do: write a SELECT")]
    NotReading {
        /// What it would do, by its SQL word.
        what: String,
    },
    /// It names a table that is not there.
    #[error("there is no table '{name}'\n  to do: `siskin describe` lists the tables; files are not read by questions")]
    NoTable {
        /// The name.
        name: String,
    },
    /// It is not SQL, or not of these tables and columns.
    #[error("the question is not understood: {why}\n  to do: `siskin describe TABLE` lists a table's columns")]
    NotUnderstood {
        /// What the engine says.
        why: String,
    },
    /// Its answer has columns that the format cannot hold.
    #[error(
        "the answer has lists or structures, which CSV cannot hold\n  to do: choose --format json, or select plain columns"
    )]
    NotFlat,
    /// It needs more memory than it may use.
    #[error(
        "the question needs more than its {mib} MiB of memory\n  to do: read fewer columns or months, group first, or give more with --memory"
    )]
    TooLarge {
        /// What it may use.
        mib: u32,
    },
}

fn not_understood(error: &DataFusionError) -> Refusal {
    Refusal::NotUnderstood {
        why: error.strip_backtrace().replace("datafusion.public.", ""),
    }
}

impl Session {
    /// Reads a question and judges whether it may be asked.
    ///
    /// # Errors
    /// When it is no single query, or names a table that is not there.
    pub fn question(&self, sql: &str) -> Result<Question, Refusal> {
        let mut statements = DFParser::parse_sql(sql).map_err(|e| not_understood(&e))?;
        if statements.len() > 1 {
            return Err(Refusal::Several {
                count: statements.len(),
            });
        }
        let statement = statements.pop_front().ok_or(Refusal::Empty)?;
        if let Some(what) = would_do(&statement) {
            return Err(Refusal::NotReading { what });
        }
        let state = self.context.state();
        let references = state.resolve_table_references(&statement);
        let mut tables = Vec::new();
        for reference in references.map_err(|e| not_understood(&e))? {
            if !state.table_functions().contains_key(reference.table()) {
                tables.push(reference.table().to_owned());
            }
        }
        Ok(Question { statement, tables })
    }

    /// Answers a question, row by row as they come.
    ///
    /// # Errors
    /// When it is refused; what fails later fails in the stream.
    pub async fn answer(&self, question: Question) -> Result<SendableRecordBatchStream, Refusal> {
        for name in question.tables {
            if !self.context.table_exist(name.as_str()).unwrap_or(false) {
                return Err(Refusal::NoTable { name });
            }
        }
        let plan = self.context.state().statement_to_plan(question.statement).await;
        let plan = plan.map_err(|e| not_understood(&e))?;
        let reading_only = SQLOptions::new()
            .with_allow_ddl(false)
            .with_allow_dml(false)
            .with_allow_statements(false);
        reading_only.verify_plan(&plan).map_err(|_| Refusal::NotReading {
            what: "changing tables".to_owned(),
        })?;
        let frame = self.context.execute_logical_plan(plan).await;
        let frame = frame.map_err(|e| not_understood(&e))?;
        frame.execute_stream().await.map_err(|e| not_understood(&e))
    }
}

/// The SQL word of a statement that is no query; `None` for a query.
fn would_do(statement: &Statement) -> Option<String> {
    match statement {
        Statement::Statement(inner) => match inner.as_ref() {
            SqlStatement::Query(_) => None,
            SqlStatement::Explain { statement, .. } if matches!(**statement, SqlStatement::Query(_)) => None,
            other => first_words(&other.to_string()),
        },
        Statement::Explain(explain) => would_do(&explain.statement),
        other => first_words(&other.to_string()),
    }
}

fn first_words(sql: &str) -> Option<String> {
    let words = sql.split_whitespace().take(1).map(str::to_uppercase);
    Some(words.collect::<Vec<_>>().join(" "))
}
