//! Statistics against published figures. Sources beside each.

mod published;

mod clustered;
mod means;
mod proportion;
mod summary;
mod survival;
