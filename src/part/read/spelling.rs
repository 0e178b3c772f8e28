//! Texts of a person in messages: shortened, and the known word that was perhaps meant.

/// Shortened and without control characters, for messages.
pub fn printable(text: &str) -> String {
    let mut shown: String = text
        .chars()
        .take(60)
        .map(|c| if c.is_control() { '\u{fffd}' } else { c })
        .collect();
    if text.chars().nth(60).is_some() {
        shown.push('…');
    }
    shown
}

/// The known word that is nearest to what was written, if any is near.
pub fn nearest<'w>(written: &str, known: &[&'w str]) -> Option<&'w str> {
    // Long texts are no slips of the pen, and the comparison grows with their length.
    if written.len() > 60 {
        return None;
    }
    known
        .iter()
        .map(|word| (strsim::jaro_winkler(written, word), *word))
        .filter(|(likeness, _)| *likeness > 0.75)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, word)| word)
}
