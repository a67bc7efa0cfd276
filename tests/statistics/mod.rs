//! Statistics against published figures. Sources beside each.

mod published;

mod agreement;
mod clustered;
mod line;
mod means;
mod proportion;
mod summary;
mod survival;
