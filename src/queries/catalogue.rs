//! The SQL files, embedded in the program, and the order in which they build.

use std::collections::BTreeSet;
use std::sync::LazyLock;

use sha2::{Digest, Sha256};

use crate::engine::Sql;
use crate::warehouse::digest::hex;

use super::figure_kind::{FigureKind, kinds};
use super::header::{Header, HeaderError};

pub use super::query::Query;

/// Each folder of queries is a module with a constant for each of its files, and with `ALL` of
/// them: a query that is not there is an error of the compiler.
macro_rules! queries {
    ($($(#[$doc:meta])* pub mod $module:ident: $($name:ident),+ $(,)?;)+) => {
        $(
            $(#[$doc])*
            #[allow(non_upper_case_globals, missing_docs)]
            pub mod $module {
                use crate::engine::Sql;
                $(pub const $name: Sql<'static> = Sql {
                    name: stringify!($name),
                    text: include_str!(concat!("../../queries/", stringify!($module), "/", stringify!($name), ".sql")),
                };)+
                pub(super) const ALL: &[Sql<'static>] = &[$($name),+];
            }
        )+
    };
}

queries! {
    /// Queries by which a load is settled.
    pub mod intake:
        repeats, unsaid_results, aside_keys, standing_keys, affected_ids, affected_keys, placed_keys, fates, births_known, held_rows,
        data_ends, rows_to_read_again, reader_memory, files_loaded, late_from, babies_to_derive, refused_months;
    /// Derived tables.
    pub mod derive:
        table_months, known_until, last_births, first_loads, corrected_serum, known_births, chained_stays,
        stay_chains, exits, courses, line_risks, aged_tests, lowest_lines, judged_screens, judged_serum, referral_indices, after_referrals, referral_episodes,
        above_line_indices, tests_to_recheck, courses_to_recheck, last_tests_before_home, recheck_triggers, recheck_obligations, readmissions, above_line_serum, severe_cases, pairs, rises,
        home_at_risk, linked_back, findings_of_serum, findings_of_care, review_list;
    /// Measures.
    pub mod measures:
        screening_coverage, missed_referral, off_limit_referral, time_to_serum, time_to_treatment, treatment_below_line,
        recheck_adherence, jaundice_readmission, severe_jaundice, rapid_rise, meter_agreement, meter_bias, meter_checks,
        screens_outside_limits, failed_specimens, specimen_delay, record_quality, records_in_time;
    /// Checks of the records.
    pub mod quality:
        unit_shifts, meter_clocks, missing_days, half_delivered_months, unmapped_codes, mother_ids_on_results,
        twins_sharing_a_sample_time, times_out_of_order, overlapping_stays, implausible_dates, most_rows_set_aside, nothing_taken;
    /// What a command prints or a page shows besides the measures.
    pub mod listings:
        covered_months, findings_stored, rows_to_mend, ledger, last_told, restated, unmapped, ungrouped,
        grouped, counted, dropped_rows, flow, case_keys, birth_stays_looked_back, rises_of_month, unknown_risk,
        pairs_compared, births_between, review_cases, review_babies, review_tests, review_lines, review_courses,
        review_stays, review_exchanges, review_referrals, review_rechecks, review_treatments;
    /// What must hold of any snapshot.
    pub mod checks:
        ledger_balances, ledger_matches_rows, one_live_row_per_id, live_rows_were_loaded, rows_in_their_month;
}

/// All files with a header that is read.
struct Catalogue {
    derived: Vec<Query>,
    measures: Vec<Query>,
    figure_kinds: Vec<FigureKind>,
    quality: Vec<Query>,
    listings: Vec<Query>,
    checks: Vec<Query>,
}

/// Without the headers there is no query at all, and no command runs (`check_headers`).
static CATALOGUE: LazyLock<Result<Catalogue, HeaderError>> = LazyLock::new(|| {
    read(intake::ALL)?;
    let measures = read(measures::ALL)?;
    let figure_kinds = measures.iter().map(kinds).collect::<Result<Vec<_>, _>>()?;
    Ok(Catalogue {
        derived: in_order(read(derive::ALL)?)?,
        measures,
        figure_kinds: figure_kinds.into_iter().flatten().collect(),
        quality: read(quality::ALL)?,
        listings: read(listings::ALL)?,
        checks: read(checks::ALL)?,
    })
});

fn read(files: &[Sql<'static>]) -> Result<Vec<Query>, HeaderError> {
    let query = |sql: &Sql<'static>| {
        Ok(Query {
            name: sql.name,
            header: Header::parse(sql.name, sql.text)?,
            sql: sql.text,
        })
    };
    files.iter().map(query).collect()
}

/// Whether all headers can be read; every command asks before it does anything else.
///
/// # Errors
/// With the first that cannot.
pub fn check_headers() -> Result<(), HeaderError> {
    match &*CATALOGUE {
        Ok(_) => Ok(()),
        Err(error) => Err(error.clone()),
    }
}

fn of<T>(part: fn(&Catalogue) -> &Vec<T>) -> &'static [T] {
    match &*CATALOGUE {
        Ok(catalogue) => part(catalogue),
        Err(_) => &[],
    }
}

/// All listings.
pub fn all_listings() -> &'static [Query] {
    of(|all| &all.listings)
}

/// Every embedded file as `folder/name`, with its text; for the tests.
pub fn files() -> Vec<(String, &'static str)> {
    let folders = [
        ("intake", intake::ALL),
        ("derive", derive::ALL),
        ("measures", measures::ALL),
        ("quality", quality::ALL),
        ("listings", listings::ALL),
        ("checks", checks::ALL),
    ];
    let files = folders.into_iter().flat_map(|(folder, files)| {
        files
            .iter()
            .map(move |sql| (format!("{folder}/{}.sql", sql.name), sql.text))
    });
    files.collect()
}

/// The derived tables, each after those it reads.
pub fn derived() -> &'static [Query] {
    of(|all| &all.derived)
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
    of(|all| &all.measures)
}

/// What each figure of the measures is.
pub(super) fn figure_kinds() -> &'static [FigureKind] {
    of(|all| &all.figure_kinds)
}

/// The checks of the records: each row is a finding.
pub fn quality() -> &'static [Query] {
    of(|all| &all.quality)
}

/// What must hold of any snapshot: each gives the rows for which it does not.
pub fn checks() -> &'static [Query] {
    of(|all| &all.checks)
}

/// One hash over all queries: a snapshot derived by others is derived anew.
pub fn sha256() -> String {
    let mut hash = Sha256::new();
    let files = [intake::ALL, derive::ALL, measures::ALL, quality::ALL];
    for sql in files.into_iter().flatten() {
        hash.update(sql.name.as_bytes());
        hash.update(sql.text.as_bytes());
    }
    hex(&hash.finalize())
}

/// Puts each query after the derived tables it reads.
fn in_order(mut waiting: Vec<Query>) -> Result<Vec<Query>, HeaderError> {
    let mut ordered: Vec<Query> = Vec::new();
    while !waiting.is_empty() {
        let names: BTreeSet<&str> = waiting.iter().map(|q| q.name).collect();
        let ready = waiting
            .iter()
            .position(|q| !q.header.list("reads").iter().any(|r| names.contains(r)));
        match ready {
            Some(place) => ordered.push(waiting.remove(place)),
            None => {
                return Err(HeaderError {
                    file: names.into_iter().collect::<Vec<_>>().join(", "),
                    line: 1,
                    why: "they read each other".to_owned(),
                });
            }
        }
    }
    Ok(ordered)
}
