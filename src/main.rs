//! Flags in, library call, exit code.

use std::process::ExitCode;

fn main() -> ExitCode {
    ExitCode::from(coldstep::cli::run(std::env::args_os()))
}
