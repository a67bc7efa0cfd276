//! The only printing: results on standard output, progress on standard error.

use std::io::{IsTerminal, Write};
use std::time::Duration;

use indicatif::{ProgressBar, ProgressStyle};

use crate::error::Error;

/// Tells the user what happens.
pub struct Say {
    quiet: bool,
}

impl Say {
    /// `quiet` keeps everything but results and errors to itself.
    pub fn new(quiet: bool) -> Self {
        Self { quiet }
    }

    /// Prints a result, whatever `quiet` says.
    ///
    /// # Errors
    /// When standard output cannot be written.
    pub fn result(&self, text: &str) -> Result<(), Error> {
        let mut out = std::io::stdout().lock();
        out.write_all(text.as_bytes())
            .and_then(|()| out.flush())
            .map_err(Error::write("standard output"))
    }

    /// Prints a line about what was done.
    ///
    /// # Errors
    /// When standard output cannot be written.
    pub fn line(&self, text: &str) -> Result<(), Error> {
        if self.quiet {
            return Ok(());
        }
        self.result(&format!("{text}\n"))
    }

    /// Prints a remark on standard error.
    pub fn remark(&self, text: &str) {
        if !self.quiet {
            // A remark that cannot be written has no reader.
            let _ = writeln!(std::io::stderr(), "{text}");
        }
    }

    /// Begins long work: a spinner on a terminal, plain lines elsewhere.
    pub fn work(&self) -> Work {
        if self.quiet {
            return Work::Silent;
        }
        if !std::io::stderr().is_terminal() {
            return Work::Lines;
        }
        let bar = ProgressBar::new_spinner();
        if let Ok(style) = ProgressStyle::with_template("{spinner} {msg} ({elapsed})") {
            bar.set_style(style);
        }
        bar.enable_steady_tick(Duration::from_millis(120));
        Work::Bar(bar)
    }
}

/// Long work under way.
pub enum Work {
    /// Nobody is to be told.
    Silent,
    /// One line per part.
    Lines,
    /// A spinner with the step beside it.
    Bar(ProgressBar),
}

impl Work {
    /// Tells the next part of the work.
    pub fn part(&self, what: &str) {
        match self {
            Self::Silent => {}
            Self::Lines => {
                let _ = writeln!(std::io::stderr(), "  {what}");
            }
            Self::Bar(bar) => bar.set_message(what.to_owned()),
        }
    }

    /// Tells a step within a part; on a terminal only.
    pub fn step(&self, what: &str) {
        if let Self::Bar(bar) = self {
            bar.set_message(what.to_owned());
        }
    }
}

impl Drop for Work {
    fn drop(&mut self) {
        if let Self::Bar(bar) = self {
            bar.finish_and_clear();
        }
    }
}
