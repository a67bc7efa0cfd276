//! Statistics against published figures. Sources beside each.

mod control;
mod published;

mod agreement;
mod clustered;
mod comparison;
mod line;
mod means;
mod ours;
mod proportion;
mod regression;
mod summary;
mod survival;
