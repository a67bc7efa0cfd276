//! Stub.
pub mod bland_altman;
