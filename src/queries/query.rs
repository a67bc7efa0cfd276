//! One query file: its name, what its header says, and its text.

use crate::engine::Sql;

use super::header::Header;

/// One query file.
#[derive(Clone, Debug)]
pub struct Query {
    /// The file's name without `.sql`; a derived table has the same name.
    pub name: &'static str,
    /// What it says about itself.
    pub header: Header,
    /// The whole file.
    pub sql: &'static str,
}

impl Query {
    /// The query as the engine runs it.
    pub fn as_sql(&self) -> Sql<'static> {
        Sql {
            name: self.name,
            text: self.sql,
        }
    }

    /// Whether a derived table is stored; others serve those that read them, and go.
    pub fn is_stored(&self) -> bool {
        self.header.get("kept").is_empty()
    }
}
