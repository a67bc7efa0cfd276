//! The SQL files, embedded in the program, and the order in which they build.

use std::collections::BTreeSet;
use std::sync::LazyLock;

use sha2::{Digest, Sha256};

use crate::warehouse::digest::hex;

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

macro_rules! queries {
    ($folder:literal: $($name:literal),+ $(,)?) => {
        &[$(($name, include_str!(concat!("../../queries/", $folder, "/", $name, ".sql")))),+]
    };
}

type Files = &'static [(&'static str, &'static str)];

const INTAKE: Files = queries!("intake": "repeats", "standing_keys", "affected_ids", "affected_keys", "placed_keys", "fates",
    "births_known", "held_rows", "data_ends", "rows_to_read_again", "reader_memory", "files_loaded",
    "late_from", "babies_to_derive", "refused_months");

const DERIVE: Files = queries!("derive":
    "table_months", "known_until", "last_births", "first_loads", "corrected_serum", "known_births", "chained_stays", "stay_chains", "courses", "aged_tests",
    "judged_screens", "judged_serum",
    "referral_indices", "referral_episodes", "recheck_triggers", "recheck_obligations", "readmissions",
    "above_line_serum", "severe_cases", "pairs", "rises", "linked_back");

const MEASURES: Files = queries!("measures":
    "screening_coverage", "missed_referral", "time_to_serum", "time_to_treatment", "treatment_below_line",
    "recheck_adherence", "jaundice_readmission", "severe_jaundice", "meter_agreement", "meter_bias", "meter_checks",
    "screens_outside_limits", "failed_specimens", "specimen_delay", "record_quality");

const QUALITY: Files = queries!("quality": "unit_shifts", "meter_clocks", "missing_days", "half_delivered_months",
    "unmapped_codes", "mother_ids_on_results", "twins_sharing_a_sample_time", "times_out_of_order",
    "implausible_dates", "most_rows_set_aside", "nothing_taken");

const LISTINGS: Files = queries!("listings": "covered_months", "findings_stored", "rows_to_mend", "ledger", "last_told", "restated",
    "unmapped", "ungrouped", "grouped", "counted", "dropped_rows", "flow", "case_keys",
    "birth_stays_looked_back", "rises_of_month", "pairs_compared", "births_between",
    "review_cases", "review_babies", "review_tests", "review_lines", "review_courses", "review_stays",
    "review_exchanges", "review_referrals", "review_rechecks", "review_treatments");

const CHECKS: Files = queries!("checks": "ledger_balances", "ledger_matches_rows", "one_live_row_per_id",
    "live_rows_were_loaded", "rows_in_their_month");

fn read(files: Files) -> Vec<Query> {
    let query = |(name, sql): &(&'static str, &'static str)| {
        let header = Header::parse(name, sql).unwrap_or_default();
        Query { name, header, sql }
    };
    files.iter().map(query).collect()
}

static MEASURE_QUERIES: LazyLock<Vec<Query>> = LazyLock::new(|| read(MEASURES));
static QUALITY_QUERIES: LazyLock<Vec<Query>> = LazyLock::new(|| read(QUALITY));
static LISTING_QUERIES: LazyLock<Vec<Query>> = LazyLock::new(|| read(LISTINGS));
static CHECK_QUERIES: LazyLock<Vec<Query>> = LazyLock::new(|| read(CHECKS));
static DERIVE_QUERIES: LazyLock<Vec<Query>> = LazyLock::new(|| in_order(read(DERIVE)));

/// The query of intake with that name; empty when there is none.
pub fn intake(name: &str) -> &'static str {
    INTAKE.iter().find(|(n, _)| *n == name).map_or("", |(_, sql)| sql)
}

/// The listing with that name: what a command or page tells besides the measures.
pub fn listing(name: &str) -> &'static str {
    LISTINGS.iter().find(|(n, _)| *n == name).map_or("", |(_, sql)| sql)
}

/// All listings.
pub fn listings() -> &'static [Query] {
    &LISTING_QUERIES
}

/// Every embedded file as `folder/name`, with its text; for the tests.
pub fn files() -> Vec<(String, &'static str)> {
    let folders = [
        ("intake", INTAKE),
        ("derive", DERIVE),
        ("measures", MEASURES),
        ("quality", QUALITY),
        ("listings", LISTINGS),
        ("checks", CHECKS),
    ];
    let all = folders.into_iter().flat_map(|(folder, files)| {
        files
            .iter()
            .map(move |(name, sql)| (format!("{folder}/{name}.sql"), *sql))
    });
    all.collect()
}

/// The derived tables, each after those it reads.
pub fn derived() -> &'static [Query] {
    &DERIVE_QUERIES
}

/// Derived tables that a query reads, and those that they read, in the order in which they are built.
pub fn rests_on(query: &Query) -> Vec<&'static Query> {
    let mut wanted: Vec<&str> = query.header.list("reads");
    let mut found = Vec::new();
    for table in derived().iter().rev() {
        if wanted.contains(&table.name) {
            wanted.extend(table.header.list("reads"));
            found.push(table);
        }
    }
    found.reverse();
    found
}

/// The measures, in the order in which they are reported.
pub fn measures() -> &'static [Query] {
    &MEASURE_QUERIES
}

/// The checks of the records: each row is a finding.
pub fn quality() -> &'static [Query] {
    &QUALITY_QUERIES
}

/// What must hold of any snapshot: each gives the rows for which it does not.
pub fn checks() -> &'static [Query] {
    &CHECK_QUERIES
}

/// One hash over all queries: a snapshot derived by others is derived anew.
pub fn sha256() -> String {
    let mut hash = Sha256::new();
    for (name, sql) in INTAKE.iter().chain(DERIVE).chain(MEASURES).chain(QUALITY) {
        hash.update(name.as_bytes());
        hash.update(sql.as_bytes());
    }
    hex(&hash.finalize())
}

/// Puts each query after the derived tables it reads. Queries that wait for each
/// other keep the order of the list; the tests see to it that there are none.
fn in_order(mut waiting: Vec<Query>) -> Vec<Query> {
    let mut ordered: Vec<Query> = Vec::new();
    while !waiting.is_empty() {
        let names: BTreeSet<&str> = waiting.iter().map(|q| q.name).collect();
        let ready = waiting
            .iter()
            .position(|q| !q.header.list("reads").iter().any(|r| names.contains(r)))
            .unwrap_or(0);
        ordered.push(waiting.remove(ready));
    }
    ordered
}
