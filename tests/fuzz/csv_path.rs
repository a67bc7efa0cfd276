//! The way of a CSV file from bytes to rows, on any bytes: nothing panics, every row
//! is accepted or set aside with a reason and a remedy, and both can be stored.
//!
//! The first byte chooses the table (`0` births to `7` merges), the rest is the file.

use std::path::Path;

use jiff::tz::TimeZone;

use siskin::extracts::Reader;
use siskin::extracts::csv::CsvExtract;
use siskin::intake::field::Batches;
use siskin::intake::judge::Judge;
use siskin::intake::place::Place;
use siskin::protocol::Protocol;
use siskin::warehouse::tables::{SOURCE_TABLES, set_aside_schema};

/// Takes the bytes all the way; `scratch` is a file to use. Returns rows accepted and set aside.
pub fn run(bytes: &[u8], protocol: &Protocol, scratch: &Path) -> (usize, usize) {
    let Some((first, text)) = bytes.split_first() else {
        return (0, 0);
    };
    let table = &SOURCE_TABLES[usize::from(first.wrapping_sub(b'0')) % SOURCE_TABLES.len()];
    std::fs::write(scratch, text).unwrap();
    let Ok(mut extract) = CsvExtract::open(scratch, table) else {
        return (0, 0);
    };
    let zone: &TimeZone = protocol.zone();
    let judge = Judge {
        zone,
        plausible: protocol.plausible(),
    };
    let mut accepted = Batches::new(table.schema());
    let mut aside = Batches::new(set_aside_schema());
    let mut last_line = 1;
    let (mut kept, mut refused) = (0, 0);
    while let Ok(Some(record)) = extract.next_record() {
        assert!(record.line > last_line, "line {} after {last_line}", record.line);
        last_line = record.line;
        let place = Place {
            load: 1,
            seq: (kept + refused) as i64,
            file: "fuzz.csv",
            form: "table",
            header_text: "",
            record: &record,
        };
        for source in &record.rows {
            match judge.row(source) {
                Ok(row) => {
                    assert!(!row.row_id.is_empty());
                    accepted.push(&place.row(row));
                    kept += 1;
                }
                Err(why) => {
                    assert!(!why.remedy.is_empty() && !why.reason.word().is_empty());
                    aside.push(&place.aside(source, judge.event(source).as_ref(), &why));
                    refused += 1;
                }
            }
        }
    }
    assert_eq!(accepted.take().unwrap().num_rows(), kept);
    assert_eq!(aside.take().unwrap().num_rows(), refused);
    (kept, refused)
}
