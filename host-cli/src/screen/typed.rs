//! Words that are typed and ended with Return, while the terminal stays as it is: what is written to it
//! scrolls on, and nothing has to be given back.

use std::io::{self, IsTerminal};

/// The longest word that is looked at. Our default: nobody means more by it.
const LONGEST: usize = 64;

/// What is typed.
#[derive(Debug)]
pub struct Typed {
    /// Somebody can type, and nothing else reads it.
    on: bool,
    line: Vec<u8>,
}

impl Typed {
    /// What is typed from here on, unless the keyboard `is_taken` by something else that reads it.
    pub fn new(is_taken: bool) -> Self {
        Self { on: !is_taken && cfg!(unix) && io::stdin().is_terminal(), line: Vec::new() }
    }

    /// Whether something can be typed.
    pub const fn is_on(&self) -> bool {
        self.on
    }

    /// A word that has been typed to its end. Never waits.
    pub fn word(&mut self) -> Option<String> {
        if self.on {
            self.read();
        }
        let end = self.line.iter().position(|byte| *byte == b'\n')?;
        let line: Vec<u8> = self.line.drain(..=end).collect();
        Some(String::from_utf8_lossy(&line).trim().to_lowercase())
    }

    #[cfg(unix)]
    fn read(&mut self) {
        use rustix::event::{PollFd, PollFlags, Timespec, poll};
        use rustix::process::getpgrp;
        use rustix::termios::tcgetpgrp;
        let input = rustix::stdio::stdin();
        // In the background the system would stop whoever reads.
        if tcgetpgrp(input).ok() != Some(getpgrp()) {
            return;
        }
        let mut looked = [PollFd::new(&input, PollFlags::IN)];
        let at_once = Timespec { tv_sec: 0, tv_nsec: 0 };
        if poll(&mut looked, Some(&at_once)).is_err() || looked[0].revents().is_empty() {
            return;
        }
        let mut buffer = [0; LONGEST];
        match rustix::io::read(input, &mut buffer) {
            Ok(length @ 1..) => self.line.extend_from_slice(&buffer[..length]),
            Err(rustix::io::Errno::INTR | rustix::io::Errno::AGAIN) => {}
            // The terminal has gone, or the typing is over.
            Ok(0) | Err(_) => self.on = false,
        }
        if self.line.len() > LONGEST && !self.line.contains(&b'\n') {
            self.line.clear();
        }
    }

    #[cfg(not(unix))]
    const fn read(&mut self) {}
}
