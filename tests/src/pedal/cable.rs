//! A pedal on a pair of pseudo-terminals, as the program sees one.

use super::MemoryStore;
use evenhand_core::link::Device;
use evenhand_core::units::Seconds;
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{OptionalActions, tcgetattr, tcsetattr};
use std::fs::File;
use std::io::{Read, Write};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;

/// A pedal that can be plugged in and pulled out; its memory stays.
#[derive(Clone, Debug, Default)]
pub struct Bench {
    store: Arc<Mutex<MemoryStore>>,
}

impl Bench {
    /// Looks at the pedal's memory, or changes it.
    ///
    /// # Panics
    /// If the pedal panicked.
    pub fn memory<T>(&self, with: impl FnOnce(&mut MemoryStore) -> T) -> T {
        with(&mut self.store.lock().expect("the pedal did not panic"))
    }

    /// Plugs the pedal in. After `pulled_after` bytes from the computer the cable is pulled.
    ///
    /// # Panics
    /// If the system has no pseudo-terminals.
    pub fn plug(&self, pulled_after: Option<usize>) -> Cable {
        let (mut end, path, line) = terminals();
        let store = Arc::clone(&self.store);
        let pedal = std::thread::spawn(move || {
            let mut device = Device::new();
            let mut left = pulled_after.unwrap_or(usize::MAX);
            let mut buffer = [0; 64];
            // Pulled when none are left: the pedal's end is closed then.
            while left > 0 {
                let most = buffer.len().min(left);
                let Ok(length @ 1..) = end.read(&mut buffer[..most]) else { return };
                left -= length;
                for byte in &buffer[..length] {
                    let mut store = store.lock().expect("a store");
                    let frame = device.push(*byte, &mut *store, Seconds::new(3_600));
                    if frame.is_some_and(|frame| end.write_all(frame).is_err()) {
                        return;
                    }
                }
            }
        });
        Cable { path, line: Some(line), pedal: Some(pedal) }
    }
}

/// The pedal's end, the name of the computer's, and that one held open, so that the line stays
/// between two runs of the program. No program inherits any of them.
///
/// # Panics
/// If the system has no pseudo-terminals.
pub fn terminals() -> (File, String, File) {
    let flags = OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC;
    let end = openpt(flags).expect("a pseudo-terminal");
    grantpt(&end).and_then(|()| unlockpt(&end)).expect("it can be used");
    let path = ptsname(&end, Vec::new()).expect("it has a name");
    let path = path.into_string().expect("its name is text");
    let line = File::options().read(true).write(true).open(&path).expect("it can be opened");
    let mut settings = tcgetattr(&line).expect("a terminal");
    settings.make_raw();
    tcsetattr(&line, OptionalActions::Now, &settings).expect("it can be raw");
    (File::from(end), path, line)
}

/// A pedal that is plugged in.
#[derive(Debug)]
pub struct Cable {
    path: String,
    line: Option<File>,
    pedal: Option<JoinHandle<()>>,
}

impl Cable {
    /// The device that the program is told.
    pub fn path(&self) -> &str {
        &self.path
    }
}

impl Drop for Cable {
    fn drop(&mut self) {
        // With the line closed the pedal reads its end.
        self.line = None;
        if let Some(pedal) = self.pedal.take() {
            let ended = pedal.join();
            assert!(ended.is_ok() || std::thread::panicking(), "the pedal panicked");
        }
    }
}
