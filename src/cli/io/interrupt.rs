//! Ctrl-C: the program ends at once, but never between two files that belong together.

use super::terminal;
use crate::cli::answer::Exit;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// Held by whoever changes files.
static CHANGING: Mutex<()> = Mutex::new(());

/// Ctrl-C waits as long as this is held: take it before the first change, drop it when everything is whole and tidied up.
pub fn held_off() -> MutexGuard<'static, ()> {
    CHANGING.lock().unwrap_or_else(PoisonError::into_inner)
}

/// From now on Ctrl-C ends the program with its exit code. Where whoever started it has Ctrl-C ignored, it stays so.
pub fn end_cleanly() {
    // Without a handler the system ends the program: only the tidying is lost.
    let _ = ctrlc::try_set_handler(|| {
        let _whole = held_off();
        terminal::wipe();
        std::process::exit(Exit::Interrupted.code().into());
    });
}
