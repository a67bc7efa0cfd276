//! A row that is set aside, and why.

use crate::extracts::reason::Reason;
use crate::extracts::record::Fault;

/// A row that is set aside: where in it, why, and what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SetAside {
    /// Why.
    pub reason: Reason,
    /// The column at fault; empty when it is the whole row.
    pub column: String,
    /// The cell as given.
    pub cell: String,
    /// What to do about it.
    pub remedy: String,
}

impl SetAside {
    /// With the reason's usual remedy.
    pub fn new(reason: Reason, column: &str, cell: &str) -> Self {
        Self {
            reason,
            column: column.to_owned(),
            cell: cell.to_owned(),
            remedy: reason.remedy().to_owned(),
        }
    }
}

impl From<&Fault> for SetAside {
    fn from(fault: &Fault) -> Self {
        let mut aside = Self::new(fault.kind, &fault.column, &fault.cell);
        if let Some(remedy) = &fault.remedy {
            aside.remedy = remedy.clone();
        }
        aside
    }
}
