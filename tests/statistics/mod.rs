//! Statistics against published figures. Sources beside each.

mod published;

mod agreement;
mod clustered;
mod comparison;
mod control;
mod coverage;
mod line;
mod means;
mod ours;
mod proportion;
mod ratio;
mod regression;
mod summary;
mod survival;
