//! Writes a set of files into a folder: all of them or none, and never over somebody else's work.

use super::interrupt;
use super::source::shown;
use crate::cli::answer::Trouble;
use std::fs::{self, File};
use std::io::{self, ErrorKind, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// Where in a file the mark is looked for, bytes from its start and from its end.
const MARK_WITHIN: usize = 512;
/// The mark: every format that coldstep writes can carry it in a comment, a header or a field.
const MARK: &[u8] = b"written by coldstep";

/// A file to be written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewFile {
    /// Name without a folder.
    pub name: String,
    /// Content.
    pub bytes: Vec<u8>,
}

/// Which existing files may be replaced.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Replace {
    /// None.
    Nothing,
    /// Those that coldstep wrote.
    Ours,
    /// All.
    Any,
}

/// Whether coldstep wrote a file, by its first and last bytes: a ZIP archive can carry the mark only at its end.
pub fn is_ours(content: &[u8]) -> bool {
    let within = content.len().min(MARK_WITHIN);
    let marked = |bytes: Option<&[u8]>| {
        bytes.is_some_and(|bytes| bytes.windows(MARK.len()).any(|window| window == MARK))
    };
    marked(content.get(..within)) || marked(content.get(content.len() - within..))
}

/// Writes all files into `folder`, which is made if it is missing; returns their paths for people.
///
/// The files are first written in full into a hidden folder beside their place and then moved.
///
/// # Errors
/// Nothing has changed then: no file is written, none replaced, no folder made.
pub fn write(folder: &Path, files: &[NewFile], replace: Replace) -> Result<Vec<String>, Trouble> {
    write_and_clear(folder, files, &[], replace)
}

/// Says beforehand what would stand in the way of [`write()`], so that nobody waits for a result that cannot be kept.
///
/// # Errors
/// As [`write()`], as far as it can be known without trying.
pub fn may_write(folder: &Path, names: &[&str], replace: Replace) -> Result<(), Trouble> {
    let files: Vec<NewFile> = names
        .iter()
        .map(|name| NewFile {
            name: (*name).to_owned(),
            bytes: Vec::new(),
        })
        .collect();
    conflicts(folder, &files, replace)
}

/// Like [`write()`], and removes files named in `stale` that an earlier run wrote and this one does not.
///
/// A file in `stale` that coldstep did not write stays.
///
/// # Errors
/// As [`write()`]: nothing has changed then.
pub fn write_and_clear(
    folder: &Path,
    files: &[NewFile],
    stale: &[&str],
    replace: Replace,
) -> Result<Vec<String>, Trouble> {
    let here = shown(folder);
    for file in files {
        if Path::new(&file.name).file_name() != Some(file.name.as_ref()) {
            return Err(
                Trouble::new(format!("\"{}\" is no name for a file", file.name))
                    .help("use letters, digits, dots and dashes"),
            );
        }
    }
    conflicts(folder, files, replace)?;
    let _whole = interrupt::held_off();
    let made = make_folder(folder).map_err(|error| cannot("make the folder", &here, &error))?;
    let result = stage(folder, files, stale).map_err(|(name, error)| match name {
        Some(name) => cannot("write", &shown(&plainly(folder).join(name)), &error),
        None if here == "." => cannot("write into", "this folder", &error),
        None => cannot("write into", &here, &error),
    });
    if result.is_err() {
        for folder in made.iter().rev() {
            // Only empty folders go: a folder that somebody filled meanwhile stays.
            let _ = fs::remove_dir(folder);
        }
    }
    result.map(|()| {
        files
            .iter()
            .map(|file| shown(&plainly(folder).join(&file.name)))
            .collect()
    })
}

/// `./plate.toml` reads better as `plate.toml`.
fn plainly(folder: &Path) -> &Path {
    if folder == Path::new(".") {
        Path::new("")
    } else {
        folder
    }
}

fn cannot(what: &str, place: &str, error: &io::Error) -> Trouble {
    let trouble = match error.kind() {
        ErrorKind::PermissionDenied => Trouble::new(format!(
            "coldstep could not {what} {place}: you may not write there"
        ))
        .help("choose another folder, or give yourself the right to write in this one"),
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => Trouble::new(format!(
            "coldstep could not {what} {place}: the disk is full"
        ))
        .help("make room, or choose a folder on another disk"),
        ErrorKind::ReadOnlyFilesystem => Trouble::new(format!(
            "coldstep could not {what} {place}: the disk is read-only"
        ))
        .help("choose a folder on another disk"),
        ErrorKind::NotADirectory | ErrorKind::AlreadyExists => Trouble::new(format!(
            "coldstep could not {what} {place}: there is a file where a folder should be"
        ))
        .help("choose another folder"),
        // The kind only: the text of the error may name the staging folder.
        kind => Trouble::new(format!("coldstep could not {what} {place}: {kind}"))
            .help("choose another folder"),
    };
    trouble.file(place)
}

/// What stands in the way of writing, before anything is written.
fn conflicts(folder: &Path, files: &[NewFile], replace: Replace) -> Result<(), Trouble> {
    let here = shown(folder);
    if fs::metadata(folder).is_ok_and(|about| !about.is_dir()) {
        return Err(
            Trouble::new(format!("{here} is a file, files can only go into a folder"))
                .help("name another folder, or move that file away")
                .file(here),
        );
    }
    let mut foreign = Vec::new();
    for file in files {
        let target = folder.join(&file.name);
        if fs::symlink_metadata(&target).is_err() {
            continue;
        }
        let name = shown(&plainly(folder).join(&file.name));
        let about = fs::metadata(&target);
        if about.is_ok_and(|about| !about.is_file()) {
            return Err(
                Trouble::new(format!("{name} is no file, coldstep cannot replace it"))
                    .help("choose another folder, or move it away")
                    .file(name),
            );
        }
        let replaceable = match replace {
            Replace::Nothing => false,
            Replace::Ours => wrote(&target),
            Replace::Any => true,
        };
        if !replaceable {
            foreign.push(name);
        }
    }
    let message = match (replace, foreign.as_slice()) {
        (_, []) => return Ok(()),
        (Replace::Nothing, [one]) => format!("{one} exists already"),
        (Replace::Nothing, many) => format!("these files exist already: {}", many.join(", ")),
        (_, [one]) => format!("{one} exists already, and coldstep did not write it"),
        (_, many) => format!(
            "these files exist already, and coldstep did not write them: {}",
            many.join(", ")
        ),
    };
    let trouble = Trouble::new(message)
        .help("nothing was written; choose another name or folder, or move them away")
        .help("or replace them with --force: what is in them is lost");
    Err(match foreign.as_slice() {
        [one] => trouble.file(one),
        _ => trouble.file(here),
    })
}

fn wrote(path: &Path) -> bool {
    ends(path).is_ok_and(|[start, end]| is_ours(&start) || is_ours(&end))
}

/// First and last bytes of a file.
fn ends(path: &Path) -> io::Result<[Vec<u8>; 2]> {
    let mut file = File::open(path)?;
    let [mut start, mut end] = [Vec::new(), Vec::new()];
    (&file).take(MARK_WITHIN as u64).read_to_end(&mut start)?;
    let length = file.metadata()?.len();
    file.seek(SeekFrom::Start(length.saturating_sub(MARK_WITHIN as u64)))?;
    file.take(MARK_WITHIN as u64).read_to_end(&mut end)?;
    Ok([start, end])
}

/// Makes a folder and those above it; returns which were missing, outermost first.
fn make_folder(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut missing: Vec<PathBuf> = folder
        .ancestors()
        .take_while(|above| *above != Path::new("") && !above.exists())
        .map(Path::to_path_buf)
        .collect();
    missing.reverse();
    fs::create_dir_all(folder).map(|()| missing)
}

/// Name of the file that could not be written, and why; no name when it is the folder.
type Failed = (Option<String>, io::Error);

fn stage(folder: &Path, files: &[NewFile], stale: &[&str]) -> Result<(), Failed> {
    let unnamed = |error| (None, error);
    let staging = tempfile::Builder::new()
        .prefix(".coldstep-")
        .tempdir_in(folder)
        .map_err(unnamed)?;
    let (fresh, old) = (staging.path().join("new"), staging.path().join("old"));
    fs::create_dir(&fresh).map_err(unnamed)?;
    fs::create_dir(&old).map_err(unnamed)?;
    for file in files {
        File::create(fresh.join(&file.name))
            .and_then(|mut opened| {
                opened.write_all(&file.bytes)?;
                opened.sync_all()
            })
            .map_err(|error| (Some(file.name.clone()), error))?;
    }
    let names: Vec<&str> = files.iter().map(|file| file.name.as_str()).collect();
    exchange(&names, &fresh, folder, &old)?;
    for name in stale {
        let path = folder.join(name);
        if !names.contains(name) && path.is_file() && wrote(&path) {
            // The answer stands without it; a file that cannot be removed is left, not the run.
            let _ = fs::remove_file(path);
        }
    }
    Ok(())
}

/// Moves files from `fresh` to `folder`, what they replace to `old`; on failure moves everything back.
fn exchange(names: &[&str], fresh: &Path, folder: &Path, old: &Path) -> Result<(), Failed> {
    let mut replaced = Vec::new();
    let mut placed = Vec::new();
    let mut failed = None;
    for name in names {
        let target = folder.join(name);
        if fs::symlink_metadata(&target).is_ok() {
            if let Err(error) = fs::rename(&target, old.join(name)) {
                failed = Some((Some((*name).to_owned()), error));
                break;
            }
            replaced.push(*name);
        }
        if let Err(error) = fs::rename(fresh.join(name), &target) {
            failed = Some((Some((*name).to_owned()), error));
            break;
        }
        placed.push(*name);
    }
    let Some(failed) = failed else { return Ok(()) };
    for name in placed {
        let _ = fs::remove_file(folder.join(name));
    }
    for name in replaced {
        let _ = fs::rename(old.join(name), folder.join(name));
    }
    Err(failed)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn set(pairs: &[(&str, &str)]) -> Vec<NewFile> {
        pairs
            .iter()
            .map(|(name, text)| NewFile {
                name: (*name).into(),
                bytes: text.as_bytes().into(),
            })
            .collect()
    }

    fn listing(folder: &Path) -> Vec<(String, String)> {
        let mut all: Vec<_> = fs::read_dir(folder)
            .unwrap()
            .map(|entry| {
                let entry = entry.unwrap();
                (
                    entry.file_name().into_string().unwrap(),
                    fs::read_to_string(entry.path()).unwrap_or_else(|_| "(folder)".into()),
                )
            })
            .collect();
        all.sort();
        all
    }

    fn pairs(expected: &[(&str, &str)]) -> Vec<(String, String)> {
        expected
            .iter()
            .map(|(name, text)| ((*name).to_owned(), (*text).to_owned()))
            .collect()
    }

    #[test]
    fn the_mark_counts_in_the_first_and_last_bytes_only() {
        assert!(is_ours(b"<?xml?>\n<!-- written by coldstep -->"));
        assert!(is_ours(b"999\r\nwritten by coldstep\r\n"));
        assert!(!is_ours(b""));
        assert!(!is_ours(b"solid cold step"));
        let blank = |count: usize| vec![b' '; count];
        let amid =
            |before: usize, after: usize| [blank(before), MARK.to_vec(), blank(after)].concat();
        assert!(is_ours(&amid(493, 3000)) && !is_ours(&amid(494, 3000)));
        assert!(is_ours(&amid(3000, 493)) && !is_ours(&amid(3000, 494)));
        assert!(is_ours(&amid(500, 0)));
    }

    #[test]
    fn the_mark_of_a_long_file_is_found_at_either_end() {
        let home = tempfile::tempdir().unwrap();
        let path = home.path().join("archive");
        let filling = vec![b' '; 3000];
        for (content, ours) in [
            ([&filling, MARK, &filling].concat(), false),
            ([MARK, &filling[..], &filling].concat(), true),
            ([&filling[..], &filling, MARK].concat(), true),
            (b"short".to_vec(), false),
            (Vec::new(), false),
        ] {
            fs::write(&path, content).unwrap();
            assert_eq!(wrote(&path), ours);
        }
        assert!(!wrote(&home.path().join("missing")));
    }

    #[test]
    fn files_appear_in_a_folder_that_was_missing() {
        let home = tempfile::tempdir().unwrap();
        let folder = home.path().join("a/b");
        let written = write(&folder, &set(&[("x", "1"), ("y", "2")]), Replace::Ours).unwrap();
        assert_eq!(written.len(), 2);
        assert!(written[1].ends_with("a/b/y"), "{written:?}");
        // Nothing of the staging is left.
        assert_eq!(listing(&folder), pairs(&[("x", "1"), ("y", "2")]));
    }

    #[test]
    fn what_an_earlier_run_wrote_and_this_one_does_not_goes_away() {
        let home = tempfile::tempdir().unwrap();
        fs::write(home.path().join("old"), "written by coldstep").unwrap();
        fs::write(home.path().join("mine"), "not by it").unwrap();
        write_and_clear(
            home.path(),
            &set(&[("x", "1")]),
            &["x", "old", "mine", "never"],
            Replace::Ours,
        )
        .unwrap();
        assert_eq!(
            listing(home.path()),
            pairs(&[("mine", "not by it"), ("x", "1")])
        );
    }

    #[cfg(unix)]
    #[test]
    fn files_can_be_read_by_those_who_may_read_others_of_the_user() {
        use std::os::unix::fs::PermissionsExt;
        let home = tempfile::tempdir().unwrap();
        fs::write(home.path().join("usual"), "").unwrap();
        write(home.path(), &set(&[("x", "1")]), Replace::Ours).unwrap();
        let mode = |name: &str| {
            let about = fs::metadata(home.path().join(name)).unwrap();
            about.permissions().mode()
        };
        assert_eq!(mode("x"), mode("usual"));
    }

    #[test]
    fn own_files_are_replaced_and_others_are_listed_together() {
        let home = tempfile::tempdir().unwrap();
        fs::write(home.path().join("own"), "written by coldstep, old").unwrap();
        write(
            home.path(),
            &set(&[("own", "written by coldstep, new")]),
            Replace::Ours,
        )
        .unwrap();
        fs::write(home.path().join("mine"), "1").unwrap();
        fs::write(home.path().join("too"), "2").unwrap();
        let before = listing(home.path());
        let all = set(&[("own", "3"), ("mine", "3"), ("too", "3"), ("fresh", "3")]);
        let trouble = write(home.path(), &all, Replace::Ours).unwrap_err();
        assert!(trouble.message.contains("mine, "), "{}", trouble.message);
        assert!(trouble.message.contains("too"), "{}", trouble.message);
        assert!(!trouble.message.contains("own"), "{}", trouble.message);
        assert_eq!(listing(home.path()), before);
        let trouble = write(home.path(), &set(&[("own", "4")]), Replace::Nothing).unwrap_err();
        assert!(trouble.message.contains("exists already"));
        write(home.path(), &all, Replace::Any).unwrap();
        assert_eq!(
            listing(home.path()),
            pairs(&[("fresh", "3"), ("mine", "3"), ("own", "3"), ("too", "3")])
        );
    }

    #[test]
    fn a_failure_half_way_leaves_everything_as_it_was() {
        let home = tempfile::tempdir().unwrap();
        let [fresh, folder, old] = ["fresh", "folder", "old"].map(|name| home.path().join(name));
        for folder in [&fresh, &folder, &old] {
            fs::create_dir(folder).unwrap();
        }
        fs::write(fresh.join("a"), "new a").unwrap();
        fs::write(fresh.join("b"), "new b").unwrap();
        fs::write(folder.join("b"), "old b").unwrap();
        fs::write(folder.join("c"), "old c").unwrap();
        // "c" was never staged, so its move fails after two went well.
        let (name, _) = exchange(&["a", "b", "c"], &fresh, &folder, &old).unwrap_err();
        assert_eq!(name.as_deref(), Some("c"));
        assert_eq!(listing(&folder), pairs(&[("b", "old b"), ("c", "old c")]));
    }

    #[test]
    fn folders_made_for_nothing_are_removed_again() {
        let home = tempfile::tempdir().unwrap();
        let folder = home.path().join("a/b");
        // Longer than any file system takes: the folder is made, the file is not.
        let name = "x".repeat(300);
        let trouble = write(&folder, &set(&[(&name, "1")]), Replace::Ours).unwrap_err();
        assert!(trouble.message.contains("could not write"));
        assert_eq!(listing(home.path()), []);
    }

    #[test]
    fn what_is_no_folder_or_no_file_is_left_alone() {
        let home = tempfile::tempdir().unwrap();
        let file = home.path().join("file");
        fs::write(&file, "mine").unwrap();
        for (folder, words) in [
            (file.clone(), "is a file"),
            (
                file.join("below"),
                "there is a file where a folder should be",
            ),
        ] {
            let trouble = write(&folder, &set(&[("x", "1")]), Replace::Any).unwrap_err();
            assert!(trouble.message.contains(words), "{}", trouble.message);
        }
        fs::create_dir(home.path().join("sub")).unwrap();
        let trouble = write(home.path(), &set(&[("sub", "1")]), Replace::Any).unwrap_err();
        assert!(trouble.message.contains("is no file"));
        let trouble = write(home.path(), &set(&[("../x", "1")]), Replace::Any).unwrap_err();
        assert!(trouble.message.contains("no name"));
        assert_eq!(fs::read_to_string(&file).unwrap(), "mine");
    }
}
