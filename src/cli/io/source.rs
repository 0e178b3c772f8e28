//! The part file as the user named it.

use std::path::Path;

pub use crate::result::source::Source;

/// A path that is safe to print.
pub fn shown(path: &Path) -> String {
    path.to_string_lossy()
        .chars()
        .map(|c| if c.is_control() { '\u{fffd}' } else { c })
        .collect()
}
