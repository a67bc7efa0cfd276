//! A warehouse in a temporary folder, loaded and measured through the library.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use arrow::util::display::{ArrayFormatter, FormatOptions};

use siskin::commands::build::{Built, Order, build, sources_of, up_to_date};
use siskin::commands::output::Say;
use siskin::engine::{Limits, Session, Sql};
use siskin::error::Error;
use siskin::extracts::files;
use siskin::extracts::readers::form_of;
use siskin::intake::SLICE_ROWS;
use siskin::intake::settle::Through;
use siskin::month::Month;
use siskin::protocol::{Protocol, ready};
use siskin::queries::figures::Figure;
use siskin::queries::measure::Measuring;
use siskin::queries::split::Split;
use siskin::warehouse::{Snapshot, Warehouse};

/// The protocol of the sample.
pub const SAMPLE_PROTOCOL: &str = include_str!("../sample-warehouse/protocol.toml");

/// The rules of the sample's protocol without its targets, which most tests use.
pub const PROTOCOL: &str = without_targets(SAMPLE_PROTOCOL);

/// The text up to the first target; targets come last in a protocol.
const fn without_targets(text: &str) -> &str {
    const TARGETS: &[u8] = b"\n# What the invented network wants";
    let mut rest = text.as_bytes();
    while !starts_with(rest, TARGETS) {
        (_, rest) = rest.split_at(1);
    }
    text.split_at(text.len() - rest.len()).0
}

const fn starts_with(text: &[u8], beginning: &[u8]) -> bool {
    let mut at = 0;
    while at < beginning.len() && text[at] == beginning[at] {
        at += 1;
    }
    at == beginning.len()
}

/// Lines invented for tests, by gestation and risk: no guideline's.
pub const INVENTED_LINES: &str = include_str!("protocols/invented_lines.csv");

/// The ready protocol in the AAP manner, in London from 2026 on, by the invented lines.
pub fn aap_protocol() -> String {
    let mut text = ready::AAP_2022.to_owned();
    for (from, to) in [
        ("America/New_York", "Europe/London"),
        ("\"2022-08-05\"", "\"2026-01-01\""),
        ("standard = \"aap_2022\"", "standard = \"invented_for_tests\""),
        ("table = \"aap_2022_lines.csv\"", "table = \"lines.csv\""),
    ] {
        assert!(text.contains(from), "{from}");
        text = text.replacen(from, to, 1);
    }
    text
}

pub struct TestWarehouse {
    folder: tempfile::TempDir,
    runtime: tokio::runtime::Runtime,
    /// How many pieces queries are cut into when measuring.
    pub partitions: usize,
    /// Whether loads settle and derive everything anew.
    pub is_whole: bool,
    /// How many versions of rows loads settle at a time.
    pub slice_rows: u64,
    /// Whether loads read again what was set aside.
    pub retry: bool,
    /// Checks of the records that may not stop a load.
    pub despite: Vec<String>,
}

impl TestWarehouse {
    pub fn new() -> Self {
        Self::with_protocol(PROTOCOL)
    }

    pub fn with_protocol(protocol: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("protocol.toml"), protocol).unwrap();
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(2)
            .enable_all()
            .build()
            .unwrap();
        Self {
            folder,
            runtime,
            partitions: 2,
            is_whole: false,
            slice_rows: SLICE_ROWS,
            retry: false,
            despite: Vec::new(),
        }
    }

    /// A network in the manner of the AAP 2022 rules, with lines invented for tests.
    pub fn aap() -> Self {
        let warehouse = Self::with_protocol(&aap_protocol());
        warehouse.set_lines(INVENTED_LINES);
        warehouse
    }

    pub fn set_lines(&self, text: &str) {
        fs::write(self.path().join("lines.csv"), text).unwrap();
    }

    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    pub fn warehouse(&self) -> Warehouse {
        Warehouse::at(self.path()).unwrap()
    }

    pub fn set_protocol(&self, text: &str) {
        fs::write(self.path().join("protocol.toml"), text).unwrap();
    }

    /// Loads texts, each named by its file name.
    pub fn load_texts(&self, texts: &[(&str, &str)], through: &Through, loaded_at_s: i64) -> Result<Built, Error> {
        let folder = tempfile::tempdir().unwrap();
        let paths: Vec<PathBuf> = texts
            .iter()
            .map(|(name, text)| {
                let path = folder.path().join(name);
                fs::write(&path, text).unwrap();
                path
            })
            .collect();
        self.load(&paths, through, loaded_at_s)
    }

    pub fn load(&self, paths: &[PathBuf], through: &Through, loaded_at_s: i64) -> Result<Built, Error> {
        let sources = sources_of(&self.warehouse())?;
        let files = files::listed(paths, &|path| form_of(&sources, path), None)?;
        let order = Order {
            files: &files,
            through,
            loaded_at_s,
            dry_run: false,
            retry: self.retry,
            despite: &self.despite,
            is_whole: self.is_whole,
            slice_rows: self.slice_rows,
            limits: &Limits::default(),
        };
        self.runtime.block_on(build(&self.warehouse(), &order, &Say::new(true)))
    }

    /// What something comes to on the newest snapshot.
    pub fn run<T, F: Future<Output = T>>(&self, what: impl FnOnce(Session) -> F) -> T {
        let snapshot = self.warehouse().newest().unwrap();
        let session = Session::of(&snapshot, &Limits::default()).unwrap();
        self.runtime.block_on(what(session))
    }

    /// All rows a query gives on the newest snapshot, as text; null is empty.
    pub fn rows(&self, sql: &str) -> Vec<BTreeMap<String, String>> {
        let snapshot = self.warehouse().newest().unwrap();
        let session = Session::of(&snapshot, &Limits::default()).unwrap();
        let batches = self
            .runtime
            .block_on(session.batches(
                Sql {
                    name: "test",
                    text: sql,
                },
                &[],
            ))
            .unwrap();
        let mut rows = Vec::new();
        for batch in batches {
            let schema = batch.schema();
            let options = FormatOptions::default();
            let columns: Vec<ArrayFormatter<'_>> = batch
                .columns()
                .iter()
                .map(|c| ArrayFormatter::try_new(c.as_ref(), &options).unwrap())
                .collect();
            for i in 0..batch.num_rows() {
                let cells = schema.fields().iter().zip(&columns);
                rows.push(cells.map(|(f, c)| (f.name().clone(), c.value(i).to_string())).collect());
            }
        }
        rows
    }

    /// The figures of a month: of the network and of each unit.
    pub fn measure(&self, month: &str) -> Vec<Figure> {
        self.measure_by(month, month, &[])
    }

    /// The figures of a month, also those of the groups of every split.
    pub fn measure_all(&self, month: &str) -> Vec<Figure> {
        self.measure_by(month, month, &Split::ALL)
    }

    /// The figures of several months, also those of the groups of some splits.
    pub fn measure_by(&self, first: &str, last: &str, splits: &[Split]) -> Vec<Figure> {
        let months = (first.parse().unwrap(), last.parse().unwrap());
        self.runtime.block_on(async {
            let snapshot = up_to_date(&self.warehouse(), 0, &Say::new(true)).await.unwrap();
            figures_of(&snapshot, self.partitions, months, splits).await
        })
    }
}

/// The figures of a snapshot, also those of the groups of some splits.
pub async fn figures_of(
    snapshot: &Snapshot,
    partitions: usize,
    (first, last): (Month, Month),
    splits: &[Split],
) -> Vec<Figure> {
    let protocol = Protocol::parse(&snapshot.protocol_text().unwrap()).unwrap();
    let limits = Limits {
        partitions,
        ..Limits::default()
    };
    let session = Session::of(snapshot, &limits).unwrap();
    let measuring = Measuring {
        session: &session,
        protocol: &protocol,
        load: snapshot.manifest().load,
    };
    let by: Vec<Option<Split>> = [None].into_iter().chain(splits.iter().copied().map(Some)).collect();
    let counted = measuring.count(Month::range(first, last), &by).await.unwrap();
    let told = by
        .iter()
        .map(|split| counted.figures((first, last), None, *split).by_month);
    told.flatten().collect()
}
