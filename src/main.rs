//! The command line of holdground.

mod cli;

use clap::Parser as _;
use cli::args::{Args, Command};
use cli::console::Console;
use cli::exit_code::ExitCode;
#[cfg(test)]
use holdground::{cell_grid, coverage}; // under the names the coverage's own scenarios use

fn main() -> std::process::ExitCode {
    cli::console::report_panics();
    let args = match Args::try_parse() {
        Ok(args) => args,
        Err(error) => return cli::console::usage(&error),
    };
    let console = Console::new(args.quiet);
    if let Some(n_threads) = args.threads
        && let Err(error) = rayon::ThreadPoolBuilder::new().num_threads(n_threads).build_global()
    {
        console.line(&format!("error: could not start {n_threads} threads: {error}"));
        return ExitCode::CommandLine.into();
    }
    let outcome = std::panic::catch_unwind(|| match &args.command {
        Command::New(new) => cli::new(new, args.strict, &console),
        Command::Fields(fields) => cli::fields(fields, &console),
        Command::Check { field_file } => cli::check(field_file, args.strict, &console),
        Command::Run { field_file, out, replace } => cli::run(field_file, out, *replace, args.strict, &console),
        Command::Stick(stick) => cli::stick(stick, args.strict, &console),
        Command::Decide { field_file, port } => cli::decide(field_file, *port, &console),
        Command::Guides { name } => cli::guides(name.as_deref(), &console),
        Command::Applied(applied) => cli::applied(applied, &console),
        Command::Audit(audit) => cli::audit(audit, args.strict, &console),
        Command::Explain { code } => cli::explain(code.as_deref(), &console),
    });
    // The panic has been told by the hook.
    let Ok(result) = outcome else { return ExitCode::Internal.into() };
    result.unwrap_or_else(|failure| console.failure(&failure)).into()
}
