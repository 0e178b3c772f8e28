//! Writes a change into a part file: whole or not at all, and only if nobody changed it meanwhile.

use super::interrupt;
use super::source::{Source, is_standard};
use crate::change::Way;
use crate::cli::answer::{Answer, Failure, Trouble};
use crate::part::edit::{lines, set};
use crate::result::{Found, Verb};
use std::fs;
use std::io::{self, Write};
use std::path::Path;

/// Writes the change of this number, as an answer tells it, into the part file that the answer is about.
///
/// # Errors
/// When there is no change of this number, or the file is no longer what was read, or cannot be written: nothing has changed
/// then.
pub fn apply(
    path: &Path,
    source: &Source,
    ways: &[&Way],
    number: usize,
) -> Result<Answer, Failure> {
    let file = &source.file;
    if is_standard(path) {
        return Err(Trouble::new(format!("{file} cannot be written into"))
            .help("save the part as a file and name that: coldstep check plate.toml --apply 1")
            .file(file)
            .into());
    }
    let Some(way) = number.checked_sub(1).and_then(|at| ways.get(at)) else {
        let message = match ways.len() {
            0 => format!("{file} gets no advice that could be written into it"),
            1 => format!("there is no advice {number} on {file}, only [1]"),
            many => format!("there is no advice {number} on {file}, only [1] to [{many}]"),
        };
        return Err(Trouble::new(message)
            .help(if ways.is_empty() {
                format!("`coldstep check {file}` says how it stands; nothing was written")
            } else {
                format!("`coldstep check {file}` tells it, with its numbers")
            })
            .file(file)
            .into());
    };
    let edited = set(&source.text, &way.edits).map_err(|findings| Failure::Refused {
        source: Box::new(source.clone()),
        findings: findings.0,
    })?;
    let before = fs::read(path).map_err(|error| unwritten(file, &error))?;
    let text = before.strip_prefix("\u{feff}".as_bytes());
    if text.unwrap_or(&before) != source.text.as_bytes() {
        return Err(
            Trouble::new(format!("{file} has changed since it was read"))
                .help("nothing was written; run it again, and look at the new advice")
                .file(file)
                .into(),
        );
    }
    let mark = if text.is_some() { "\u{feff}" } else { "" };
    replace(path, format!("{mark}{edited}").as_bytes()).map_err(|error| unwritten(file, &error))?;
    let end = if way.words.ends_with('?') { "" } else { "." };
    let brief = format!("{file} is changed: {}{end}\n", way.words);
    Ok(Answer {
        text: format!(
            "{brief}It now says {}.\nEverything else in it is as it was.\n\nNext: coldstep check {file}\n",
            lines(&edited, &way.edits)
        ),
        brief,
        document: Found {
            files: Some(vec![file.clone()]),
            ..Found::new(Verb::Check, true, Vec::new())
        }
        .to_json(),
        good: true,
        warnings: Vec::new(),
        source: None,
    })
}

/// Puts other bytes in the place of a file, with its rights; where the path is a link, in the place that it leads to.
fn replace(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let path = fs::canonicalize(path)?;
    let folder = path.parent().unwrap_or(Path::new("."));
    let rights = fs::metadata(&path)?.permissions();
    if rights.readonly() {
        return Err(io::Error::from(io::ErrorKind::PermissionDenied));
    }
    let _whole = interrupt::held_off();
    let mut fresh = tempfile::Builder::new()
        .prefix(".coldstep-")
        .tempfile_in(folder)?;
    fresh.write_all(bytes)?;
    fresh.as_file().set_permissions(rights)?;
    fresh.as_file().sync_all()?;
    fresh.persist(path).map_err(|error| error.error)?;
    Ok(())
}

fn unwritten(file: &str, error: &io::Error) -> Failure {
    Trouble::new(format!("{file} could not be changed: {error}"))
        .help("nothing was written; look at your rights in its folder and at the disk")
        .file(file)
        .into()
}

#[cfg(test)]
mod tests {
    use super::super::source::shown;
    use super::*;
    use crate::change::Edit;
    use crate::part::starter::STARTER;

    fn wider() -> Way {
        Way::new(
            "make it wider",
            vec![Edit::new("plate", 0, "width_mm", 33.5)],
        )
    }

    #[test]
    fn a_change_is_written_with_all_comments_and_said() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.toml");
        for mark in ["", "\u{feff}"] {
            fs::write(&path, format!("{mark}{STARTER}")).unwrap();
            let source = Source::new(shown(&path), STARTER);
            let answer = apply(&path, &source, &[&wider()], 1).unwrap();
            assert!(
                answer
                    .text
                    .contains("It now says [plate]: width_mm = 33.5.")
            );
            let after = fs::read_to_string(&path).unwrap();
            let wanted = STARTER.replace("width_mm = 32.0", "width_mm = 33.5");
            assert_eq!(after, format!("{mark}{wanted}"));
            assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
        }
    }

    #[test]
    fn a_file_that_changed_meanwhile_and_a_number_that_is_not_there_are_refused() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.toml");
        let other = format!("{STARTER}# measured again\n");
        fs::write(&path, &other).unwrap();
        let source = Source::new(shown(&path), STARTER);
        let way = wider();
        let trouble = |number| match apply(&path, &source, &[&way], number) {
            Err(Failure::Trouble(trouble)) => trouble.message,
            other => panic!("{other:?}"),
        };
        assert!(trouble(1).ends_with("has changed since it was read"));
        assert!(trouble(0).contains("no advice 0"));
        assert!(trouble(2).ends_with("only [1]"));
        assert_eq!(fs::read_to_string(&path).unwrap(), other);
    }
}
