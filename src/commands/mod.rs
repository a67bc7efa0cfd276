//! One verb per file; each reads as a table of contents.

mod ask;
pub mod build;
mod check;
mod compare;
mod demo;
mod describe;
mod explain;
mod invent;
mod load;
mod measure;
mod open;
pub mod output;
mod preview;
pub mod report;
mod tidy;

use crate::cli::{Cli, Command};
use crate::error::Error;
use crate::queries::catalogue;

/// Runs what was typed.
///
/// # Errors
/// Whatever the command failed with.
pub async fn run(cli: Cli) -> Result<(), Error> {
    catalogue::check_headers().map_err(|error| Error::Fault(error.to_string()))?;
    let say = output::Say::new(cli.quiet);
    match cli.command {
        Command::Demo(options) => demo::run(&options, &say).await,
        Command::Load(options) => load::run(&options, &say).await,
        Command::Report(options) => report::run(&options, &say).await,
        Command::Compare(options) => compare::run(&options, &say),
        Command::Measure(options) => measure::run(&options, &say).await,
        Command::Ask(options) => ask::run(&options, &say).await,
        Command::Describe(options) => describe::run(&options, &say).await,
        Command::Check(options) => check::run(&options, &say).await,
        Command::Tidy(options) => tidy::run(&options, &say),
        Command::Invent(options) => invent::run(&options, &say),
    }
}
