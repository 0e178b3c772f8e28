//! A published number as a value, so that no check can leave its source out.

/// A number somebody printed.
pub struct Published {
    /// Author, title, edition, table or page; or honestly "computed from the formula of …".
    pub source: &'static str,
    /// The number, in the unit of what it is compared with.
    pub value: f64,
    /// Half the last printed digit, or the source's own plus/minus.
    pub within: f64,
}

/// Checks a result of ours against a published number.
#[track_caller]
pub fn agrees(got: f64, published: &Published) {
    let Published {
        source,
        value,
        within,
    } = published;
    assert!(
        (got - value).abs() <= *within,
        "got {got}, but {source} gives {value} (within {within})"
    );
}
