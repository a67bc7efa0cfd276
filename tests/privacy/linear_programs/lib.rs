//! The part of siskin that is attacked, alone.

#[path = "../../../src/privacy/mod.rs"]
pub mod privacy;
