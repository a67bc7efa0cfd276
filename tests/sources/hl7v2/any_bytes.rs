//! Whatever the bytes, there are records and no panic.

use siskin::extracts::hl7v2::Visits;

use super::{read_with, settings};

#[path = "../../fuzz/hl7v2_path.rs"]
mod hl7v2_path;

const FEED: &[u8] = include_bytes!("../handmade/hl7v2/feed.hl7");

#[test]
fn every_beginning_of_the_feed_is_read_to_its_end() {
    let settings = settings();
    let whole = read_with(FEED, &settings, &mut Visits::default()).len();
    for end in 0..=FEED.len() {
        let records = read_with(&FEED[..end], &settings, &mut Visits::default());
        assert!(records.len() <= whole);
        let bad = records.iter().filter(|record| record.fault.is_some()).count();
        assert!(bad <= 1, "only the last one is cut off, at {end}");
    }
}

#[test]
fn no_byte_of_the_feed_cut_out_makes_it_panic() {
    for place in 0..FEED.len() {
        let mut bytes = FEED.to_vec();
        bytes.remove(place);
        hl7v2_path::run(&bytes);
    }
}

#[test]
fn every_file_of_the_corpus_is_read() {
    let corpus = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/corpus_hl7v2");
    let mut files = 0;
    for entry in std::fs::read_dir(corpus).unwrap() {
        let bytes = std::fs::read(entry.unwrap().path()).unwrap();
        hl7v2_path::run(&bytes);
        files += 1;
    }
    assert!(files >= 25, "{files}");
}
