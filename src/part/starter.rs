//! The commented part file that `new` writes.

/// A part file with an invented part and a word on every key.
pub const STARTER: &str = include_str!("starter.toml");

#[cfg(test)]
mod tests {
    use super::STARTER;

    #[test]
    fn the_starter_is_taken_without_a_finding() {
        let part = crate::part::parse(STARTER).unwrap();
        assert_eq!(part.notes, []);
        assert!(crate::fit::fit(&part.value).is_good());
    }

    /// Every commented-out line of the starter is a true line once its `#` is gone.
    #[test]
    fn the_starter_is_taken_with_its_comments_switched_on() {
        let lines = STARTER.lines().map(|line| {
            let bare = line.strip_prefix("# ").unwrap_or(line);
            let is_key = bare.starts_with('[')
                || bare.split_once(" = ").is_some_and(|(key, _)| {
                    key.bytes().all(|b| b.is_ascii_lowercase() || b == b'_')
                });
            // The explicit outline and the K rules exclude what else is written.
            let excluded = bare.starts_with("outline_mm") || bare.starts_with("step =");
            if is_key && !excluded { bare } else { line }
        });
        let switched = lines.collect::<Vec<_>>().join("\n");
        assert!(switched.contains("\n[[obstacle]]"));
        if let Err(findings) = crate::part::parse(&switched) {
            panic!("{findings:#?}");
        }
    }
}
