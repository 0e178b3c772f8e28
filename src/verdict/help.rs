//! Changes of the part file that were tried and help.

use crate::change::Way;

/// A change of the part file that was tried and helps.
#[derive(Debug, Clone, PartialEq)]
pub struct Help {
    /// Board part or obstacle whose gap it mends; `None` where an analysis tells it among its own ways out.
    pub about: Option<String>,
    /// As it is told: what to do, the lines, what it costs.
    pub text: String,
    /// The change.
    pub way: Way,
}
