//! The warehouse on disk: table declarations, snapshots, the lock, and the only
//! writer of Parquet.
//!
//! ```text
//! W/protocol.toml                    the unit's rules, written by people
//! W/notes.toml, W/reviews.csv        what changed, and reviews of cases, where people wrote any
//! W/current -> snapshots/000007      swapped by one atomic rename
//! W/snapshots/000007/manifest.json   tables, columns, files with their hashes
//! W/snapshots/000007/protocol.toml   the rules this snapshot was derived by; notes and reviews beside it
//! W/snapshots/000007/<table>/month=2026-09/rows.parquet
//! W/lock                             held by the one writer
//! ```

mod building;
mod by_month;
pub mod digest;
mod disk;
mod error;
mod folder;
mod heaps;
mod leftovers;
mod loads;
mod lock;
mod manifest;
mod scratch;
mod site;
mod snapshot;
mod stored;
pub mod tables;
mod tidy;
mod verify;
mod writer;

pub use building::Building;
pub use by_month::ByMonth;
pub use error::WarehouseError;
pub use folder::Warehouse;
pub use heaps::{Heap, HeapFile, Heaps};
pub use lock::WriteLock;
pub use manifest::{Column, DataFile, DerivedBy, Manifest, TableEntry, type_word};
pub use scratch::{ScratchRows, ScratchWriter};
pub use site::Site;
pub use snapshot::{Snapshot, Texts};
pub use stored::read_stored;
pub use tidy::Tidied;
pub use verify::{Fault, Verified};
pub use writer::TableWriter;
