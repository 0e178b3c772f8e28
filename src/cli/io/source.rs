//! The part file as the user named it.

use std::path::Path;

pub use crate::result::source::Source;

/// The word for standard input where a file is read, and for standard output where one is written. A file of this name is
/// `./-`.
const STANDARD: &str = "-";

/// What standard input is called where a file would have its name.
pub const STANDARD_INPUT: &str = "standard input";

/// Whether a path stands for standard input or output.
pub fn is_standard(path: &Path) -> bool {
    path.as_os_str() == STANDARD
}

/// A path that is safe to print.
pub fn shown(path: &Path) -> String {
    path.to_string_lossy()
        .chars()
        .map(|c| if c.is_control() { '\u{fffd}' } else { c })
        .collect()
}
