//! Results of earlier searches, kept in the user's cache folder: what the same program found for the same task is read.
//!
//! Whatever goes wrong here is no trouble: a result that cannot be read is calculated, one that cannot be written is not
//! kept. A result is believed only from the very same program, byte for byte, so that a newer one never shows older
//! numbers.
//!
//! # Source
//! Place: XDG Base Directory Specification 0.8 (from memory); on macOS and Windows what their systems provide for caches.

use super::interrupt;
use crate::forming::pressing::{Effort, NoPressing, Pressing, Task, Watcher};
use blake3::{Hash, Hasher};
use clap::Args;
use std::env;
use std::ffi::OsStr;
use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// Folder for kept results, or `off`.
const PLACE: &str = "COLDSTEP_KEPT";
/// First bytes of a kept file.
const HEAD: &[u8] = b"coldstep kept result 1\n";
/// Bytes of a hash.
const HASH: usize = blake3::OUT_LEN;
/// Larger files are neither written nor read; results of the bundled examples have a sixteenth of it.
const LARGEST_BYTES: usize = 4 << 20;
/// So many results are kept, and so many bytes of them.
const MOST_RESULTS: usize = 40;
const MOST_BYTES: u64 = 20 << 20;
/// Ending of kept files, and the beginning of those that are being written.
const ENDING: &str = ".kept";
const BEGUN: &str = "begun-";

/// The flag of verbs that press.
#[derive(Debug, Clone, Copy, Args)]
pub struct Fresh {
    /// Ignore kept results and recalculate the pressing
    ///
    /// Results are kept in the user's cache folder and used again by the same program while sheet, flats, dies, printer and
    /// vise stay as they are. COLDSTEP_KEPT names another folder for them, or `off`.
    #[arg(long)]
    pub fresh: bool,
}

/// [`Task::find`], or what it found earlier.
///
/// # Errors
/// As there.
pub fn search(
    task: &Task,
    effort: Effort,
    fresh: Fresh,
    watcher: &mut Watcher<'_>,
) -> Result<Pressing, NoPressing> {
    let place = task.key(effort).and_then(|key| Place::of(&key));
    let kept = place.as_ref().filter(|_| !fresh.fresh);
    if let Some(found) = kept.and_then(|place| task.from_kept(&place.read()?)) {
        return found;
    }
    let found = task.find(effort, watcher);
    if let (Some(place), Some(bytes)) = (place, Task::to_keep(&found)) {
        place.write(&bytes);
    }
    found
}

/// Where one result is kept.
#[derive(Debug)]
struct Place {
    folder: PathBuf,
    /// Of the program and of everything the result depends on.
    key: Hash,
}

impl Place {
    /// `None` when nothing is kept: nobody wants it, there is no home, or the program cannot read itself.
    fn of(key: &[u8]) -> Option<Self> {
        let folder = folder()?;
        let program = program().ok()?;
        Some(Self::with(folder, &program, key))
    }

    fn with(folder: PathBuf, program: &Hash, key: &[u8]) -> Self {
        let mut hasher = Hasher::new();
        hasher.update(program.as_bytes()).update(key);
        Self {
            folder,
            key: hasher.finalize(),
        }
    }

    fn file(&self) -> PathBuf {
        self.folder.join(format!("{}{ENDING}", self.key.to_hex()))
    }

    /// What stands at the end of the file: nobody's slip of a byte or of a name passes it.
    fn seal(&self, payload: &[u8]) -> Hash {
        let mut hasher = Hasher::new();
        hasher
            .update(HEAD)
            .update(self.key.as_bytes())
            .update(payload);
        hasher.finalize()
    }

    /// The payload of a whole file; `None` for anything else.
    fn read(&self) -> Option<Vec<u8>> {
        let path = self.file();
        // Opening a pipe would wait for somebody to write into it.
        if !fs::symlink_metadata(&path).ok()?.is_file() {
            return None;
        }
        let mut bytes = Vec::new();
        let most = LARGEST_BYTES as u64 + 1;
        File::open(&path)
            .ok()?
            .take(most)
            .read_to_end(&mut bytes)
            .ok()?;
        if bytes.len() > LARGEST_BYTES {
            return None;
        }
        let (payload, seal) = bytes
            .strip_prefix(HEAD)?
            .split_at_checked(bytes.len().checked_sub(HEAD.len() + HASH)?)?;
        (self.seal(payload).as_bytes() == seal).then(|| payload.to_vec())
    }

    /// Keeps a result, and lets the oldest go. Not being able to is no trouble.
    fn write(&self, payload: &[u8]) {
        if HEAD.len() + payload.len() + HASH <= LARGEST_BYTES && self.try_write(payload).is_ok() {
            tidy(&self.folder);
        }
    }

    fn try_write(&self, payload: &[u8]) -> io::Result<()> {
        let _whole = interrupt::held_off();
        private_folder(&self.folder)?;
        let mut file = tempfile::Builder::new()
            .prefix(BEGUN)
            .suffix(ENDING)
            .tempfile_in(&self.folder)?;
        file.write_all(HEAD)?;
        file.write_all(payload)?;
        file.write_all(self.seal(payload).as_bytes())?;
        file.persist(self.file())?;
        Ok(())
    }
}

/// The running program by its bytes.
fn program() -> io::Result<Hash> {
    Ok(blake3::hash(&fs::read(env::current_exe()?)?))
}

/// Where results are kept.
fn folder() -> Option<PathBuf> {
    let text = |name: &str| env::var_os(name).filter(|value| !value.is_empty());
    if let Some(place) = text(PLACE) {
        return (place != OsStr::new("off")).then(|| PathBuf::from(place));
    }
    // A path that is not absolute is to be ignored.
    let absolute = |path: &PathBuf| path.is_absolute();
    let base = if cfg!(windows) {
        text("LOCALAPPDATA").map(PathBuf::from).filter(absolute)?
    } else {
        let home = || env::home_dir().filter(absolute);
        if cfg!(target_os = "macos") {
            home()?.join("Library/Caches")
        } else {
            let given = text("XDG_CACHE_HOME").map(PathBuf::from).filter(absolute);
            given.or_else(|| Some(home()?.join(".cache")))?
        }
    };
    Some(base.join("coldstep"))
}

/// Makes a folder that only its owner reads.
fn private_folder(folder: &Path) -> io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder)
}

/// Removes the oldest results beyond what may be kept; files of others stay.
fn tidy(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else {
        return;
    };
    let mut results: Vec<(SystemTime, PathBuf, u64)> = entries
        .filter_map(|entry| {
            let entry = entry.ok()?;
            let about = entry.metadata().ok()?;
            (about.is_file() && is_ours(&entry.file_name()))
                .then(|| Some((about.modified().ok()?, entry.path(), about.len())))?
        })
        .collect();
    // Newest first.
    results.sort_by(|one, other| other.cmp(one));
    let mut sum = 0;
    for (number, (_, path, bytes)) in results.iter().enumerate() {
        sum += bytes;
        if number >= MOST_RESULTS || sum > MOST_BYTES {
            // Another run may have removed it already.
            let _ = fs::remove_file(path);
        }
    }
}

/// Whether a name is one that is given here.
fn is_ours(name: &OsStr) -> bool {
    let Some(stem) = name.to_str().and_then(|name| name.strip_suffix(ENDING)) else {
        return false;
    };
    stem.starts_with(BEGUN) || Hash::from_hex(stem).is_ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(folder: &Path, program: &[u8], key: &[u8]) -> Place {
        Place::with(folder.to_owned(), &blake3::hash(program), key)
    }

    #[test]
    fn a_result_is_read_by_the_same_program_for_the_same_task_only() {
        let home = tempfile::tempdir().unwrap();
        let folder = home.path().join("new").join("folder");
        place(&folder, b"program", b"task").write(b"found");
        let read = |program: &[u8], key: &[u8]| place(&folder, program, key).read();
        assert_eq!(read(b"program", b"task").as_deref(), Some(&b"found"[..]));
        assert_eq!(read(b"another", b"task"), None);
        assert_eq!(read(b"program", b"other"), None);
        // Renamed to what another run looks for.
        let other = place(&folder, b"another", b"task");
        fs::rename(place(&folder, b"program", b"task").file(), other.file()).unwrap();
        assert_eq!(other.read(), None);
    }

    #[test]
    fn a_damaged_file_is_as_good_as_none_and_is_written_anew() {
        let home = tempfile::tempdir().unwrap();
        let place = place(home.path(), b"program", b"task");
        place.write(b"found");
        let whole = fs::read(place.file()).unwrap();
        for length in 0..whole.len() {
            fs::write(place.file(), &whole[..length]).unwrap();
            assert_eq!(place.read(), None, "{length}");
        }
        for at in 0..whole.len() {
            let mut bytes = whole.clone();
            bytes[at] ^= 0x10;
            fs::write(place.file(), bytes).unwrap();
            assert_eq!(place.read(), None, "{at}");
        }
        let file = File::create(place.file()).unwrap();
        file.set_len(1 << 40).unwrap();
        assert_eq!(place.read(), None, "a terabyte of nothing");
        place.write(b"again");
        assert_eq!(place.read().as_deref(), Some(&b"again"[..]));
        place.write(&vec![0; LARGEST_BYTES]);
        assert_eq!(place.read().as_deref(), Some(&b"again"[..]), "too large");
    }

    #[test]
    fn where_nothing_can_be_written_nothing_is_kept() {
        let home = tempfile::tempdir().unwrap();
        let file = home.path().join("file");
        fs::write(&file, "in the way").unwrap();
        for folder in [file.clone(), file.join("below")] {
            let place = place(&folder, b"program", b"task");
            place.write(b"found");
            assert_eq!(place.read(), None);
        }
        let taken = place(home.path(), b"program", b"task");
        fs::create_dir(taken.file()).unwrap();
        taken.write(b"found");
        assert_eq!(taken.read(), None);
        let left: Vec<_> = fs::read_dir(home.path()).unwrap().collect();
        assert_eq!(left.len(), 2, "nothing half written stays");
    }

    #[test]
    fn the_oldest_results_go_and_files_of_others_stay() {
        let home = tempfile::tempdir().unwrap();
        fs::write(home.path().join("notes.kept"), "mine").unwrap();
        fs::write(home.path().join("begun-by-hand.txt"), "mine").unwrap();
        let place_of = |number: usize| place(home.path(), b"program", &number.to_le_bytes());
        let set_age = |number: usize, days: u64| {
            let day = std::time::Duration::from_secs(86_400);
            let file = File::options()
                .write(true)
                .open(place_of(number).file())
                .unwrap();
            file.set_modified(SystemTime::UNIX_EPOCH + day * u32::try_from(1000 - days).unwrap())
                .unwrap();
        };
        for number in 0..MOST_RESULTS {
            place_of(number).write(b"found");
            set_age(number, number as u64);
        }
        place_of(99).write(b"found");
        assert!(place_of(99).read().is_some());
        assert!(place_of(MOST_RESULTS - 2).read().is_some());
        assert!(place_of(MOST_RESULTS - 1).read().is_none(), "the oldest");
        // Six of nearly four megabytes are too many.
        for number in 200..206 {
            place_of(number).write(&vec![0; LARGEST_BYTES - 1000]);
        }
        let kept: u64 = fs::read_dir(home.path())
            .unwrap()
            .map(|entry| entry.unwrap().metadata().unwrap().len())
            .sum();
        assert!(kept <= MOST_BYTES + 8, "{kept}");
        assert!(place_of(205).read().is_some());
        assert!(home.path().join("notes.kept").exists());
        assert!(home.path().join("begun-by-hand.txt").exists());
    }
}
