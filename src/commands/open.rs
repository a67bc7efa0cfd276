//! The snapshot that a command reads: the newest, brought up to date, or an earlier one as it is.

use jiff::Timestamp;

use crate::cli::SnapshotArgs;
use crate::error::Error;
use crate::month::Month;
use crate::queries::cases::TABLE as CASES;
use crate::queries::catalogue;
use crate::warehouse::{Snapshot, Warehouse};

use super::build::up_to_date;
use super::output::Say;

/// Refuses a snapshot that holds no cases to count: an earlier load, as an earlier siskin made it.
pub(super) fn has_cases(snapshot: &Snapshot) -> Result<(), Error> {
    let manifest = snapshot.manifest();
    match manifest.tables.contains_key(CASES) {
        true => Ok(()),
        false => Err(Error::NoCases {
            load: manifest.load,
            siskin: manifest.siskin.clone(),
        }),
    }
}

/// Refuses a month outside those loaded.
pub(super) fn within(months: &[Month], month: Month) -> Result<(), Error> {
    match (months.first(), months.last()) {
        (Some(first), Some(last)) if month < *first || month > *last => Err(Error::NoSuchMonth {
            month,
            first: *first,
            last: *last,
        }),
        _ => Ok(()),
    }
}

/// Opens the snapshot asked for.
pub(super) async fn snapshot(args: &SnapshotArgs, say: &Say) -> Result<Snapshot, Error> {
    let warehouse = Warehouse::at(&args.warehouse.warehouse)?;
    let Some(load) = args.as_of else {
        return up_to_date(&warehouse, Timestamp::now().as_second(), say).await;
    };
    let snapshot = warehouse.as_of(load)?;
    if snapshot.manifest().derived_by.queries_sha256 != catalogue::sha256() {
        say.remark(&format!(
            "load {load} was derived by the queries of another siskin ({}): its tables stay as they are, \
             so figures may differ from those of today's queries",
            snapshot.manifest().siskin
        ));
    }
    Ok(snapshot)
}
