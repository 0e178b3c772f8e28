//! How the help of every verb ends: with the exit codes.

/// What exit code 1 means for a verb.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum One {
    /// It gives a verdict.
    Verdict,
    /// It reads a part and gives no verdict.
    Part,
    /// It reads no part: there is none.
    Never,
}

/// Text of a help, then the exit codes.
pub fn with_exit_codes(text: &str, one: One) -> String {
    let one = match one {
        One::Verdict => " 1 the verdict is NO, or the part is refused;",
        One::Part => " 1 the part is refused;",
        One::Never => "",
    };
    format!(
        "{text}\n\nExit codes: 0 done;{one} 2 usage or file trouble; 130 stopped with Ctrl-C; \
         141 the reader of the output went away."
    )
}
