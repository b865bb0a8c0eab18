//! Arguments, and nothing else: each command is a function of [`fullset::cli`].

use std::process::ExitCode;

fn main() -> ExitCode {
    match fullset::cli::Arguments::read().and_then(fullset::cli::Arguments::run) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("fullset: {error:#}");
            ExitCode::FAILURE
        }
    }
}
