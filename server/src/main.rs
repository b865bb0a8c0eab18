//! Arguments, and nothing else: each command is a function of [`fullset::cli`].

use clap::Parser as _;

fn main() -> std::process::ExitCode {
    match fullset::cli::Arguments::parse().run() {
        Ok(()) => std::process::ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("fullset: {error:#}");
            std::process::ExitCode::FAILURE
        }
    }
}
