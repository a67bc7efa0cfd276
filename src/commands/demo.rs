//! `siskin demo`: loads the sample warehouse month by month, renders its last
//! month, and says what to open.

use std::path::{Path, PathBuf};

use crate::cli::Demo;
use crate::engine::Limits;
use crate::error::Error;
use crate::extracts::files;
use crate::intake::SLICE_ROWS;
use crate::intake::ledger::LedgerLine;
use crate::intake::settle::Through;
use crate::intake::time;
use crate::month::Month;
use crate::protocol::Protocol;
use crate::warehouse::Warehouse;

use super::build::{Order, build, up_to_date};
use super::output::Say;
use super::report;

/// Loads and renders the sample.
pub(super) async fn run(options: &Demo, say: &Say) -> Result<(), Error> {
    let warehouse = Warehouse::at(&options.warehouse)?;
    let protocol = Protocol::read(&warehouse.protocol_path())?;
    let folders = month_folders(&options.warehouse.join("extracts"))?;
    let Some((last, _)) = folders.last() else {
        return Err(Error::Usage(format!(
            "{} holds no extracts/YYYY-MM folders: run the demo from the project's folder",
            options.warehouse.display()
        )));
    };
    let last = *last;
    let mut end_s = 0;
    for (month, folder) in &folders {
        // Each folder holds its month's extracts, complete through the last midnight.
        end_s = time::day_begins_s(month.plus(1).first_day(), protocol.zone()).unwrap_or_default();
        let order = Order {
            files: &files::listed(std::slice::from_ref(folder), &|_| None, None)?,
            through: &Through {
                all: Some(end_s),
                ..Through::default()
            },
            loaded_at_s: end_s,
            dry_run: false,
            retry: false,
            despite: &[],
            is_whole: false,
            slice_rows: SLICE_ROWS,
            limits: &Limits::default(),
        };
        let built = build(&warehouse, &order, say).await?;
        let rows: u64 = built.settled.lines.iter().map(LedgerLine::new_rows).sum();
        say.line(&match &built.snapshot {
            Some(_) => format!("{month}: load {}, {rows} new rows", built.load),
            None => format!("{month}: nothing new"),
        })?;
    }
    let snapshot = up_to_date(&warehouse, end_s, say).await?;
    let order = report::Order {
        month: last,
        unit: None,
        // Its babies are invented.
        has_cases: true,
        out: &options.out,
        reviews: &warehouse.reviews_path(),
        limits: Limits::default(),
    };
    let folder = report::write(&snapshot, &order, &say.work()).await?.folder;
    say.line(&format!(
        "\nThe report of {} is in {}. Open {} in a browser.",
        last.in_words(),
        folder.display(),
        folder.join("quality/dashboard.html").display()
    ))
}

/// The `YYYY-MM` folders below `folder`, in order.
fn month_folders(folder: &Path) -> Result<Vec<(Month, PathBuf)>, Error> {
    let failed = || Error::write(format!("what is read from {}", folder.display()));
    let mut months = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(failed())? {
        let path = entry.map_err(failed())?.path();
        let month = path.file_name().and_then(|name| name.to_str()?.parse::<Month>().ok());
        months.extend(month.map(|month| (month, path)));
    }
    months.sort();
    Ok(months)
}
