//! The mark that every file carries: a later run may replace what carries it.

/// Says whose a file is, in its first or last 512 bytes.
pub const MARK: &str = "written by coldstep";
