//! When words are coloured: the flag.

use anstream::ColorChoice;
use clap::ValueEnum;
use std::ffi::OsString;

/// When the verdict and headings are coloured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum Color {
    /// On a terminal, unless NO_COLOR is set.
    #[default]
    Auto,
    /// Also into a pipe or a file.
    Always,
    /// Nowhere.
    Never,
}

impl Color {
    /// Lets both streams follow it.
    pub fn choose(self) {
        match self {
            Self::Auto => ColorChoice::Auto,
            Self::Always => ColorChoice::Always,
            Self::Never => ColorChoice::Never,
        }
        .write_global();
    }

    /// What a command line asks for that is otherwise not understood, or asks for help.
    pub fn asked(args: &[OsString]) -> Self {
        let mut asked = Self::default();
        let mut is_next = false;
        for arg in args.iter().filter_map(|arg| arg.to_str()) {
            let word = match arg.strip_prefix("--color=") {
                None if is_next => Some(arg),
                word => word,
            };
            if let Some(color) = word.and_then(|word| Self::from_str(word, false).ok()) {
                asked = color;
            }
            is_next = arg == "--color";
        }
        asked
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_flag_is_found_among_others() {
        let asked = |args: &[&str]| {
            let args: Vec<OsString> = args.iter().map(OsString::from).collect();
            Color::asked(&args)
        };
        assert_eq!(asked(&["coldstep", "--help"]), Color::Auto);
        assert_eq!(asked(&["coldstep", "--color", "never", "x"]), Color::Never);
        assert_eq!(asked(&["coldstep", "--color=always"]), Color::Always);
        assert_eq!(asked(&["coldstep", "never", "--color"]), Color::Auto);
    }
}
