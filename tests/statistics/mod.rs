//! Statistics against published figures. Sources beside each.

mod published;

mod proportion;
mod summary;
mod survival;
