//! All tests in one binary, so that the engine is linked once. See `README.md`
//! in this folder for what each part is for and how to add a case.
#![allow(missing_docs, unreachable_pub)]

mod harness; // a warehouse in a temporary folder

mod oracle; // the measures in plain loops over raw rows, sharing no code with the SQL
mod random; // random extracts that hit every window edge

mod oracle_equality; // measures equal the oracle on random extracts and on the sample
