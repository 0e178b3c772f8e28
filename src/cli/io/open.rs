//! Shows a file in the program that the system has for it.

use super::terminal;
use std::io::ErrorKind;
use std::path::Path;
use std::time::Duration;

/// A program that has not failed by then is at work, and is not waited for.
const WAITED_FOR: Duration = Duration::from_secs(2);

/// Opens a written file. Where that fails the file is there all the same: it is told, and is no error.
pub fn open(file: &str) {
    // Whole, so that no program takes its beginning for a flag.
    let opened = Path::new(file)
        .canonicalize()
        .and_then(|path| open::that_detached_with_timeout(path, WAITED_FOR));
    if let Err(error) = opened {
        let why = match error.kind() {
            ErrorKind::NotFound => "there is no program for it",
            _ => "the system's program for it failed",
        };
        terminal::note(&format!(
            "{file} could not be shown: {why}; open it in a browser yourself"
        ));
    }
}
