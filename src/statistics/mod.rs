//! Pure mathematics: numbers in, numbers out. Knows nothing of jaundice, Arrow or SQL.

pub mod aalen_johansen;
pub mod poisson;
pub mod proportion;
