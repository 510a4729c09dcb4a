//! Exit codes: a contract, listed in `--help`.

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum ExitCode {
    /// The result was made.
    Done = 0,
    /// A fault of the program.
    Internal = 1,
    /// The command line was wrong.
    CommandLine = 2,
    /// An input was refused; nothing was written.
    InputRefused = 3,
    /// Warnings with `--strict`; nothing was written.
    NoSafeResult = 4,
    /// The result could not be written.
    CouldNotWrite = 5,
}

/// The lines of `--help`.
pub(crate) const HELP: &str = "Exit codes: 0 done, 1 fault of the program, 2 wrong command line, 3 input refused, \
4 warnings with --strict, 5 could not write.";

impl From<ExitCode> for std::process::ExitCode {
    fn from(code: ExitCode) -> Self {
        std::process::ExitCode::from(code as u8)
    }
}
