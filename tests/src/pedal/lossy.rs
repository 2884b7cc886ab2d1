//! A cable that loses, garbles, doubles, swaps and cuts what goes over it, with a pedal at its
//! end.

use super::MemoryStore;
use crate::seeded::Seeded;
use evenhand::pedal::Pipe;
use evenhand_core::link::Device;
use evenhand_core::units::Seconds;
use std::collections::VecDeque;
use std::io::{self, ErrorKind};
use std::time::Duration;

/// What goes wrong, each with its probability for a frame.
#[derive(Clone, Copy, Debug, Default)]
pub struct Faults {
    /// The frame does not come.
    pub lost: f64,
    /// A byte of it is another one.
    pub garbled: f64,
    /// It comes twice.
    pub doubled: f64,
    /// It comes after the next one.
    pub late: f64,
    /// Bytes that nobody sent come before it.
    pub noise: f64,
    /// The pedal is switched off and on before it.
    pub switched_off: f64,
}

/// The cable, with the pedal.
#[derive(Debug)]
pub struct Lossy<'a> {
    store: &'a mut MemoryStore,
    device: Device,
    faults: Faults,
    seeded: Seeded,
    /// What is on its way to the computer.
    coming: VecDeque<u8>,
    /// Frames that come late, there and back.
    late: [Option<Vec<u8>>; 2],
    /// Bytes until it is cut, both ways together.
    left: Option<usize>,
    /// Bytes that were sent to the pedal.
    pub sent: usize,
}

impl<'a> Lossy<'a> {
    /// A cable with these faults.
    pub fn new(store: &'a mut MemoryStore, faults: Faults, seed: u64) -> Self {
        Self {
            store,
            device: Device::new(),
            faults,
            seeded: Seeded::new(seed),
            coming: VecDeque::new(),
            late: [None, None],
            left: None,
            sent: 0,
        }
    }

    /// A perfect cable that is pulled after so many bytes.
    pub fn cut_after(store: &'a mut MemoryStore, bytes: usize) -> Self {
        Self { left: Some(bytes), ..Self::new(store, Faults::default(), 0) }
    }

    /// What comes out at the other end of a frame that goes in.
    fn spoil(&mut self, frame: &[u8], way: usize) -> Vec<u8> {
        let mut out = Vec::new();
        let mut frame = frame.to_vec();
        let Faults { lost, garbled, doubled, late, noise, .. } = self.faults;
        if self.seeded.chance(noise) {
            out.extend((0..self.seeded.index(40)).map(|_| self.seeded.byte()));
        }
        if self.seeded.chance(garbled) && !frame.is_empty() {
            let at = self.seeded.index(frame.len());
            frame[at] ^= 1 << self.seeded.index(8);
        }
        let held = self.late[way].take();
        if self.seeded.chance(lost) {
            frame.clear();
        } else if self.seeded.chance(late) {
            self.late[way] = Some(std::mem::take(&mut frame));
        }
        out.extend(&frame);
        if self.seeded.chance(doubled) {
            out.extend(&frame);
        }
        out.extend(held.unwrap_or_default());
        out
    }

    fn cut(&mut self) -> io::Result<()> {
        match &mut self.left {
            Some(0) => Err(ErrorKind::BrokenPipe.into()),
            Some(left) => {
                *left -= 1;
                Ok(())
            }
            None => Ok(()),
        }
    }
}

impl Pipe for Lossy<'_> {
    fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
        if self.seeded.chance(self.faults.switched_off) {
            self.device = Device::new();
            let keeps = self.seeded.chance(0.5);
            self.store.switch_off(keeps);
        }
        for byte in self.spoil(bytes, 0) {
            self.cut()?;
            self.sent += 1;
            let answer = self.device.push(byte, self.store, Seconds::new(100));
            if let Some(answer) = answer.map(<[u8]>::to_vec) {
                let answer = self.spoil(&answer, 1);
                self.coming.extend(answer);
            }
        }
        Ok(())
    }

    fn receive(&mut self, buffer: &mut [u8], wait: Duration) -> io::Result<usize> {
        if self.coming.is_empty() {
            // Nothing will come until something is sent.
            std::thread::sleep(wait.min(Duration::from_micros(200)));
            return Ok(0);
        }
        let length = buffer.len().min(self.coming.len()).min(1 + self.seeded.index(64));
        for (place, byte) in buffer.iter_mut().zip(self.coming.drain(..length)) {
            *place = byte;
        }
        for _ in 0..length {
            self.cut()?;
        }
        Ok(length)
    }
}
