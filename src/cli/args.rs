//! Exactly what was typed.

use std::path::PathBuf;

use clap::{Parser, Subcommand};

use super::exit_code::HELP;

/// From a soil-test sheet with places to zones by what the ground holds, and a rate file.
#[derive(Debug, Parser)]
#[command(name = "holdground", version, propagate_version = true, after_help = after_help())]
pub(crate) struct Args {
    #[command(subcommand)]
    pub(crate) command: Command,
    /// No progress, no notes; errors and the result stay.
    #[arg(long, global = true)]
    pub(crate) quiet: bool,
    /// Threads to use; the results do not depend on it.
    #[arg(long, global = true, value_name = "N", value_parser = clap::builder::RangedU64ValueParser::<usize>::new().range(1..=1024))]
    pub(crate) threads: Option<usize>,
    /// Refuse on warnings: nothing is written, exit code 4.
    #[arg(long, global = true)]
    pub(crate) strict: bool,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Read everything and tell every fault at once; nothing is written.
    #[command(after_help = "Example:\n  holdground check field.toml")]
    Check {
        /// The field file.
        field_file: PathBuf,
    },
    /// Zones, rates, maps and files, as far as the answers go.
    #[command(
        after_help = "Examples:\n  holdground run field.toml --out north-2026\n  holdground run field.toml --out north-2026 --replace"
    )]
    Run {
        /// The field file.
        field_file: PathBuf,
        /// Folder to make for the results.
        #[arg(long, value_name = "DIR")]
        out: PathBuf,
        /// Put the new results in the place of an earlier run's folder.
        #[arg(long)]
        replace: bool,
    },
    /// What a message means and how to mend it; without a name, all names.
    #[command(after_help = "Example:\n  holdground explain samples-outside-boundary")]
    Explain {
        /// Name of the message, as printed in brackets.
        code: Option<String>,
    },
}

fn after_help() -> String {
    format!(
        "Examples:\n  holdground check field.toml\n  holdground run field.toml --out north-2026\n  \
         holdground explain samples-outside-boundary\n\nSettings that change a result stand in the field file \
         (docs/field-file.md), never in flags.\n{HELP}"
    )
}
