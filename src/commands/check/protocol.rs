//! The protocol that the next command will judge by: in plain words, and what is doubtful in it.

use crate::error::Error;
use crate::protocol::{Protocol, ProtocolError};
use crate::warehouse::{Snapshot, Warehouse};

use super::super::build::derived_by;
use super::checklist::Checklist;
use super::figures;

/// Columns of a line of plain words.
const WIDTH: usize = 100;

/// Explains the protocol, and prints whether it can be read, holds no doubt, and has derived the
/// snapshot, if there is one. A table of lines that is not there leaves the rest to be explained.
pub(super) fn check(
    warehouse: &Warehouse,
    snapshot: Option<&Snapshot>,
    checklist: &mut Checklist<'_>,
) -> Result<(), Error> {
    let path = warehouse.protocol_path();
    let (protocol, no_lines) = match Protocol::read(&path) {
        Err(error @ (ProtocolError::NoLines { .. } | ProtocolError::Lines { .. })) => {
            (Protocol::read_without_lines(&path)?, Some(error))
        }
        Err(error) => return checklist.doubt("protocol.toml can be read", &[error.to_string()]),
        Ok(protocol) => (protocol, None),
    };
    explain(&protocol, checklist)?;
    match (no_lines, snapshot) {
        (Some(error), _) => {
            checklist.good("protocol.toml can be read, but for its table of lines")?;
            checklist.doubt(
                "the table of lines is there and complete: nothing is loaded or measured without it",
                &[error.to_string()],
            )?;
        }
        (None, None) => checklist.good("protocol.toml can be read")?,
        (None, Some(snapshot)) if has_derived(&protocol, snapshot) => {
            checklist.good("protocol.toml can be read; the snapshot was derived by it")?;
        }
        (None, Some(_)) => checklist
            .good("protocol.toml can be read; it has changed since, so the next command that reads derives anew")?,
    }
    let mut doubts = protocol.doubts();
    doubts.extend(figures::doubts(&protocol));
    match doubts.is_empty() {
        true => checklist.good("nothing in protocol.toml looks like a slip"),
        false => checklist.doubt("nothing in protocol.toml looks like a slip", &doubts),
    }
}

fn has_derived(protocol: &Protocol, snapshot: &Snapshot) -> bool {
    let (then, now) = (&snapshot.manifest().derived_by, derived_by(protocol));
    then.protocol_sha256 == now.protocol_sha256 && then.line_tables_sha256 == now.line_tables_sha256
}

/// The protocol in plain words, for the clinicians who sign it.
fn explain(protocol: &Protocol, checklist: &Checklist<'_>) -> Result<(), Error> {
    for chapter in protocol.in_words() {
        checklist.say.line(&chapter.to_text(WIDTH))?;
    }
    Ok(())
}
