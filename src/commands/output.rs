//! The only printing: results on standard output, progress on standard error.

use std::io::{IsTerminal, Write};
use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressStyle};

use crate::error::Error;

/// Prints what the user is to know.
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

    /// Begins long work: a bar on a terminal, plain lines with times elsewhere. What takes less
    /// than two seconds is shown on a terminal only.
    pub fn work(&self) -> Work {
        Work(match (self.quiet, std::io::stderr().is_terminal()) {
            (true, _) => How::Silent,
            (false, false) => How::Lines(Lines::begin()),
            (false, true) => {
                let bar = ProgressBar::no_length();
                bar.enable_steady_tick(Duration::from_millis(120));
                How::Bar(bar)
            }
        })
    }
}

/// Long work under way: its parts, and the steps of each.
pub struct Work(How);

enum How {
    /// Nothing is to be shown.
    Silent,
    /// A line now and then.
    Lines(Lines),
    /// A bar with the step beside it.
    Bar(ProgressBar),
}

impl Work {
    /// Begins the next part, of so many steps; of none when they cannot be counted.
    pub fn part(&self, what: &str, steps: u64) {
        match &self.0 {
            How::Silent => {}
            How::Lines(lines) => lines.now(|now| {
                *now = Now {
                    part: what.to_owned(),
                    steps,
                    ..Now::default()
                };
            }),
            How::Bar(bar) => {
                let shown = match steps {
                    0 => "{spinner} {prefix} {msg} ({elapsed})",
                    _ => "{spinner} {prefix} {bar:24} {pos} of {len} {msg} ({elapsed})",
                };
                if let Ok(style) = ProgressStyle::with_template(shown) {
                    bar.set_style(style);
                }
                bar.set_length(steps);
                bar.set_position(0);
                bar.set_prefix(what.to_owned());
                bar.set_message("");
            }
        }
    }

    /// Begins the next step of the part.
    pub fn step(&self, what: &str) {
        match &self.0 {
            How::Silent => {}
            How::Lines(lines) => lines.now(|now| {
                now.done += 1;
                what.clone_into(&mut now.step);
            }),
            How::Bar(bar) => {
                bar.inc(1);
                bar.set_message(what.to_owned());
            }
        }
    }

    /// Shows how far the step is.
    pub fn within(&self, what: &str) {
        match &self.0 {
            How::Silent => {}
            How::Lines(lines) => lines.now(|now| what.clone_into(&mut now.step)),
            How::Bar(bar) => bar.set_message(what.to_owned()),
        }
    }
}

impl Drop for Work {
    fn drop(&mut self) {
        if let How::Bar(bar) = &self.0 {
            bar.finish_and_clear();
        }
    }
}

/// No line is written before.
const FIRST_LINE_AFTER: Duration = Duration::from_secs(2);

/// Nothing new is written again after.
const NEXT_LINE_AFTER: Duration = Duration::from_secs(10);

/// Where the work is.
#[derive(Default)]
struct Now {
    part: String,
    steps: u64,
    done: u64,
    step: String,
    is_written: bool,
    is_over: bool,
}

impl Now {
    fn line(&self) -> String {
        let mut line = self.part.clone();
        if self.steps > 0 {
            line.push_str(&format!(", {} of {}", self.done, self.steps));
        }
        if !self.step.is_empty() {
            line.push_str(&format!(": {}", self.step));
        }
        line
    }
}

/// Lines with times, written by a thread of their own: the first after two seconds, one more for
/// each part, and one where nothing was written for ten.
struct Lines {
    shared: Arc<(Mutex<Now>, Condvar)>,
    writer: Option<JoinHandle<()>>,
}

impl Lines {
    fn begin() -> Self {
        let shared = Arc::new((Mutex::new(Now::default()), Condvar::new()));
        let own = Arc::clone(&shared);
        let began = Instant::now();
        Self {
            shared,
            writer: Some(std::thread::spawn(move || write_lines(&own, began))),
        }
    }

    fn now(&self, change: impl FnOnce(&mut Now)) {
        let (now, changed) = &*self.shared;
        change(&mut now.lock().unwrap_or_else(PoisonError::into_inner));
        changed.notify_one();
    }
}

impl Drop for Lines {
    fn drop(&mut self) {
        self.now(|now| now.is_over = true);
        if let Some(writer) = self.writer.take() {
            // It has nothing left to say.
            let _ = writer.join();
        }
    }
}

fn write_lines((now, changed): &(Mutex<Now>, Condvar), began: Instant) {
    let mut due = began + FIRST_LINE_AFTER;
    let mut at = now.lock().unwrap_or_else(PoisonError::into_inner);
    while !at.is_over {
        let time = Instant::now();
        let is_first = began.elapsed() < FIRST_LINE_AFTER;
        if time >= due || (!is_first && !at.is_written) {
            let seconds = began.elapsed().as_secs();
            // A line that cannot be written has no reader.
            let _ = writeln!(
                std::io::stderr(),
                "  {}:{:02}  {}",
                seconds / 60,
                seconds % 60,
                at.line()
            );
            at.is_written = true;
            due = Instant::now() + NEXT_LINE_AFTER;
        }
        let wait = due.saturating_duration_since(Instant::now());
        at = match changed.wait_timeout(at, wait) {
            Ok((at, _)) => at,
            Err(poisoned) => poisoned.into_inner().0,
        };
    }
}
