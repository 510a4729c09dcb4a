//! The only module that prints. Results go to stdout; messages and progress to stderr.

use std::io::{IsTerminal as _, Write as _};
use std::time::Duration;

use holdground::diagnostic::{Diagnostic, Severity, render};
use indicatif::{ProgressBar, ProgressStyle};

use super::Failure;
use super::exit_code::ExitCode;

/// Where and how to print.
pub(crate) struct Console {
    quiet: bool,
    color: bool,
    is_terminal: bool,
}

impl Console {
    pub(crate) fn new(quiet: bool) -> Self {
        let is_terminal = std::io::stderr().is_terminal();
        // https://no-color.org: set and not empty means no color.
        let no_color = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
        Console { quiet, color: is_terminal && !no_color, is_terminal }
    }

    /// The result of a command.
    pub(crate) fn result(&self, text: &str) {
        // A closed pipe (`| head`) is no fault; anything else is told.
        let written = std::io::stdout().write_all(text.as_bytes()).and_then(|()| std::io::stdout().flush());
        if let Err(error) = written
            && error.kind() != std::io::ErrorKind::BrokenPipe
        {
            self.line(&format!("error: could not print the result: {error}"));
        }
    }

    /// One line of a message.
    pub(crate) fn line(&self, text: &str) {
        let _ = writeln!(std::io::stderr(), "{text}");
    }

    /// Warnings and notes; `--quiet` keeps notes back.
    pub(crate) fn diagnostics(&self, diagnostics: &[Diagnostic]) {
        let shown: Vec<Diagnostic> =
            diagnostics.iter().filter(|d| !self.quiet || d.severity != Severity::Note).cloned().collect();
        let _ = std::io::stderr().write_all(render(&shown, self.color).as_bytes());
    }

    /// Prints why a command failed and gives its exit code.
    pub(crate) fn failure(&self, failure: &Failure) -> ExitCode {
        let _ = std::io::stderr().write_all(render(&failure.diagnostics, self.color).as_bytes());
        let n_errors = failure.diagnostics.iter().filter(|d| d.severity == Severity::Error).count();
        let count = match n_errors {
            0 => "warnings are refused (--strict)".to_owned(),
            1 => "one error".to_owned(),
            n => format!("{n} errors"),
        };
        self.line(&format!("{count}; nothing was written"));
        failure.exit_code
    }

    /// Progress, silent when not a terminal or when quiet.
    pub(crate) fn progress(&self) -> Progress {
        let bar = (self.is_terminal && !self.quiet).then(|| {
            let bar = ProgressBar::new_spinner();
            if let Ok(style) = ProgressStyle::with_template("{spinner} {msg}") {
                bar.set_style(style);
            }
            bar.enable_steady_tick(Duration::from_millis(100));
            bar
        });
        Progress { bar }
    }
}

/// A line that says what is being done.
pub(crate) struct Progress {
    bar: Option<ProgressBar>,
}

impl Progress {
    pub(crate) fn stage(&self, name: &str) {
        if let Some(bar) = &self.bar {
            bar.set_message(name.to_owned());
        }
    }

    pub(crate) fn finish(&self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.finish();
    }
}

/// Prints what the command line parser says: help and version to stdout, faults to stderr.
pub(crate) fn usage(error: &clap::Error) -> std::process::ExitCode {
    let _ = error.print();
    if error.use_stderr() { ExitCode::CommandLine.into() } else { ExitCode::Done.into() }
}

/// Makes a panic read as what it is, and end with exit code 1.
pub(crate) fn report_panics() {
    std::panic::set_hook(Box::new(|info| {
        // The reader of workbooks panics on some damaged ones; that is caught and told as a fault of the file.
        if info.location().is_some_and(|place| place.file().contains("/calamine-")) {
            return;
        }
        let text =
            format!("internal error: {info}\nthis is a fault of the program; please report it with the field file\n");
        let _ = std::io::stderr().write_all(text.as_bytes());
    }));
}
