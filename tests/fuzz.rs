//! The kept corpus takes the CSV path: what fuzzing found, and what it starts from.

use std::fs;
use std::path::Path;

use siskin::protocol::Protocol;

mod csv_path;

#[test]
fn the_corpus_takes_the_csv_path_without_a_panic() {
    let corpus = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/corpus_csv");
    let protocol = Protocol::parse(crate::harness::PROTOCOL).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let (mut accepted, mut set_aside) = (0, 0);
    for entry in fs::read_dir(corpus).unwrap() {
        let bytes = fs::read(entry.unwrap().path()).unwrap();
        let rows = csv_path::run(&bytes, &protocol, &folder.path().join("rows.csv"));
        accepted += rows.0;
        set_aside += rows.1;
    }
    assert!(
        accepted > 10 && set_aside > 5,
        "{accepted} accepted, {set_aside} set aside"
    );
}
