//! One verb per file; each reads as a table of contents.

pub mod build;
mod demo;
mod invent;
mod load;
mod measure;
pub mod output;
mod report;

use crate::cli::{Cli, Command};
use crate::error::Error;

/// Runs what was typed.
///
/// # Errors
/// Whatever the command failed with.
pub async fn run(cli: Cli) -> Result<(), Error> {
    let say = output::Say::new(cli.quiet);
    match cli.command {
        Command::Demo(options) => demo::run(&options, &say).await,
        Command::Load(options) => load::run(&options, &say).await,
        Command::Report(options) => report::run(&options, &say).await,
        Command::Measure(options) => measure::run(&options, &say).await,
        Command::Invent(options) => invent::run(&options, &say),
    }
}
