//! All tests in one binary, so that the engine is linked once. See `README.md`
//! in this folder for what each part is for and how to add a case.
#![allow(missing_docs, unreachable_pub)]

/// As in the program.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

mod harness; // a warehouse in a temporary folder

mod random; // random extracts that hit every window edge

mod ask; // questions in SQL: answers, forms, refusals; the data dictionary
mod border; // rows of queries as values, headers: whatever does not fit is an error
mod cases; // whole cases worked by hand, a folder each
mod cases_review; // report --cases: which babies, in which order and words, and their reviews
mod cells; // how single cells are read
mod charts; // what is drawn, and what is a gap
mod circles; // no file of src imports another in a circle
mod clusters; // intervals of cases of one baby, or of one meter-day
mod commands; // the real binary: demo, output, exit codes, manners
mod crash; // a load killed, met by another, read meanwhile, without room; check and tidy
mod explain; // measure --explain: flows add up and end at the figures; the keys behind counts
mod formats; // one month in three formats, and the handmade files: the same rows and figures
mod fuzz; // the kept corpus of tests/fuzz, through the CSV path
mod incremental; // a load renews what it changes, and nothing else
mod invariants; // what DEVELOPERS.md promises about the code
mod late; // rows set aside read again, rows that wait, restated months, pages as of earlier loads
mod load; // what is refused, what changes nothing, what the next load mends
mod oracle_equality; // measures equal the oracle on random extracts and on the sample
mod pages; // what is written for others: no identifiers, no small numbers, nothing hostile, the same bytes
mod privacy; // what is handed on gives no small count back: attacks by linear programs
mod protocol {
    //! The unit's rules as data: what is refused, what is doubtful, lines, plain words.
    mod change; // a protocol that changes on a date
    mod checked; // `siskin check` and `siskin describe` on protocols
    mod doubts; // what is allowed but suspicious
    mod lines; // the built-in lines against the published table
    mod offsets; // the zone's offsets as spans; versions begin at local midnight
    mod rechecks; // recheck rules that cannot hold
    mod refused; // what else cannot hold
    mod site_lines; // the site's own tables of lines
    mod syntax; // unknown and missing keys and words
    mod words; // the protocol in plain words
}
mod quality; // the checks of the records, a folder each
mod sample; // the effects planted in the sample, and in others like it
mod scale; // millions of rows in one load: time and memory
mod sources {
    //! What a hospital hands over, as it is: mapped CSV, FHIR, HL7 v2.
    mod fhir; // FHIR R4 bulk exports
    mod hl7v2; // HL7 v2 messages
    mod mapping; // files of any shape, by sources.toml
    mod rules; // each rule of sources.toml
    mod spectrum; // csv-spectrum, and every prefix of every file
}
mod signals; // verdicts, phases, drifting meters, agreement: by hand, and planted effects in the sample
mod statistics;
mod tubes; // total and direct of one specimen are two results, in every format // published figures and examples worked by hand
