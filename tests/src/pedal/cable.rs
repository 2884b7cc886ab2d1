//! A pedal on a pair of pseudo-terminals, as the program sees one.

use super::MemoryStore;
use evenhand_core::link::Device;
use evenhand_core::units::Seconds;
use serialport::{SerialPort, TTYPort};
use std::io::{ErrorKind, Read, Write};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::Duration;

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
        let (mut master, mut slave) = TTYPort::pair().expect("a pair of pseudo-terminals");
        slave.set_exclusive(false).expect("the program may open it, too");
        master.set_timeout(Duration::from_millis(20)).expect("a time limit");
        let path = slave.name().expect("it has a name");
        let over = Arc::new(AtomicBool::new(false));
        let (store, ends) = (Arc::clone(&self.store), Arc::clone(&over));
        let pedal = std::thread::spawn(move || {
            let mut device = Device::new();
            let mut left = pulled_after.unwrap_or(usize::MAX);
            let mut buffer = [0; 64];
            while !ends.load(Ordering::Relaxed) {
                let most = buffer.len().min(left);
                if most == 0 {
                    // Pulled: both ends are dropped.
                    return;
                }
                let length = match master.read(&mut buffer[..most]) {
                    Ok(length) => length,
                    Err(error) if error.kind() == ErrorKind::TimedOut => continue,
                    Err(_) => return,
                };
                left -= length;
                for byte in &buffer[..length] {
                    let mut store = store.lock().expect("a store");
                    if let Some(frame) = device.push(*byte, &mut *store, Seconds::new(3_600)) {
                        if master.write_all(frame).is_err() {
                            return;
                        }
                    }
                }
            }
        });
        Cable { path, over, pedal: Some(pedal), _slave: slave }
    }
}

/// A pedal that is plugged in.
#[derive(Debug)]
pub struct Cable {
    path: String,
    over: Arc<AtomicBool>,
    pedal: Option<JoinHandle<()>>,
    /// Open, so that the line stays between two runs of the program.
    _slave: TTYPort,
}

impl Cable {
    /// The device that the program is told.
    pub fn path(&self) -> &str {
        &self.path
    }
}

impl Drop for Cable {
    fn drop(&mut self) {
        self.over.store(true, Ordering::Relaxed);
        if let Some(pedal) = self.pedal.take() {
            let ended = pedal.join();
            assert!(ended.is_ok() || std::thread::panicking(), "the pedal panicked");
        }
    }
}
