//! Ending by Ctrl-C, or because the system ends: what is under way is finished properly.

use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::Duration;

static ASKED: AtomicBool = AtomicBool::new(false);

/// How often to look whether the end was asked for. Our default: nobody notices the wait.
pub const LOOK: Duration = Duration::from_millis(200);

/// The exit code of a program that was interrupted (128 and the number of the signal; common
/// practice of shells).
const INTERRUPTED: i32 = 130;

/// How long the end may take once it has been asked for. Our default: everything that is kept is
/// written in a fraction of it; a terminal or a device that hangs must not keep the port.
const ENDING: Duration = Duration::from_secs(10);

/// From now on the first Ctrl-C only asks for the end; a second one ends at once.
pub fn listen_for_it() {
    // Where it cannot be set up, Ctrl-C ends at once, as it does without it.
    let _ = ctrlc::set_handler(|| {
        if ASKED.swap(true, Ordering::SeqCst) {
            std::process::exit(INTERRUPTED);
        }
        thread::spawn(|| {
            thread::sleep(ENDING);
            std::process::exit(INTERRUPTED);
        });
    });
}

/// Whether the end was asked for.
pub fn is_asked() -> bool {
    ASKED.load(Ordering::SeqCst)
}
