//! One part of the page.

use super::html::Html;

/// One part of the page with its own heading and a place in its list of contents.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Section {
    /// Where links lead.
    pub id: &'static str,
    /// Heading, fixed words.
    pub heading: &'static str,
    /// What stands below it.
    pub body: Html,
}
