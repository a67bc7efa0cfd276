//! The `siskin` command.

use std::io::Write;
use std::process::ExitCode;

use clap::Parser;

use siskin::cli::Cli;
use siskin::engine::machine;
use siskin::{commands, error};

/// Planning and columns allocate much in small pieces; a load takes a fifth less time with this one.
/// Its second version gives memory back soon; the third keeps half a gigabyte after large sorts.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(refusal) => {
            // Help that cannot be printed has no reader.
            let _ = refusal.print();
            return ExitCode::from(if refusal.use_stderr() { error::USAGE } else { 0 });
        }
    };
    let threads = cli.threads().unwrap_or_else(machine::threads);
    let done = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(threads)
        .enable_all()
        .build()
        .map_err(error::Error::write("the threads to work in"))
        .and_then(|runtime| error::not_by_panic(|| runtime.block_on(commands::run(cli))));
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) if error.is_broken_pipe() => ExitCode::SUCCESS,
        Err(error) => {
            let remedy = error
                .remedy()
                .map_or_else(String::new, |what| format!("\n  to do: {what}"));
            let _ = writeln!(std::io::stderr(), "siskin: {error}{remedy}");
            ExitCode::from(error.exit_code())
        }
    }
}
