//! A pedal with the emulated chip in it: feet on its switches, a guitar on its line, a computer on its USB.

use crate::emulated::{At, Chip, Deed, Figures, Times};
use evenhand_core::units::Instant;
use evenhand_tests::pedal::terminals;
use evenhand_tests::program;
use evenhand_tests::run::Folder;
use rustix::fs::{OFlags, fcntl_getfl, fcntl_setfl};
use serde_json::{Value, json};
use std::fs::File;
use std::io::{ErrorKind, Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread;
use std::time::{Duration, Instant as Wall};

/// The pins of the switches (`docs/pedal-build.md`).
pub(crate) const LEFT: u8 = 14;
pub(crate) const RIGHT: u8 = 15;

/// A second, in the rig's microseconds.
pub(crate) const SECOND: f64 = 1e6;
const MILLI: f64 = 1e3;

/// A look at the clock in the main loop lasts so many microseconds longer: a wait costs the rig a tenth then,
/// and what comes is looked at no later than this. Our default.
const IDLE: f64 = 20.0;

/// A pedal.
pub(crate) struct Pedal {
    pub(crate) chip: Chip,
    pub(crate) folder: Folder,
    times: Times,
    /// Whatever it did, since the power came.
    pub(crate) deeds: Vec<At>,
}

impl Pedal {
    /// A new one, as it comes from the workbench.
    pub(crate) fn new(times: Times) -> Self {
        Self::with(times, &json!({}))
    }

    /// A new one, with what else the chip is told.
    pub(crate) fn with(times: Times, others: &Value) -> Self {
        let chip = Chip::on(None, times, others);
        Self { chip, folder: Folder::new(), times, deeds: Vec::new() }
    }

    /// The power goes and comes again.
    pub(crate) fn off_and_on(&mut self) {
        let kept = self.kept();
        self.chip = Chip::on(Some(&kept), self.times, &json!({}));
        self.deeds.clear();
        // It looks at its flash, and its lamps come on.
        self.run(0.5);
    }

    /// What is in its flash, as a file.
    fn kept(&mut self) -> PathBuf {
        let file = PathBuf::from(self.folder.path("flash.bin"));
        self.chip.keep(&file);
        file
    }

    /// Another pedal with what this one has in its flash.
    pub(crate) fn copy(&mut self, times: Times) -> Self {
        let kept = self.kept();
        let chip = Chip::on(Some(&kept), times, &json!({}));
        let mut copy = Self { chip, folder: Folder::new(), times, deeds: Vec::new() };
        copy.run(0.5);
        copy
    }

    pub(crate) fn now(&self) -> f64 {
        self.chip.now()
    }

    /// Time goes on by so many seconds.
    pub(crate) fn run(&mut self, seconds: f64) {
        self.run_until(self.now() + seconds * SECOND);
    }

    /// The same with every look at the clock as quick as it is.
    pub(crate) fn run_exactly(&mut self, micros: f64) {
        let deeds = self.chip.run(micros, 0.0);
        self.deeds.extend(deeds);
    }

    pub(crate) fn run_until(&mut self, micros: f64) {
        let deeds = self.chip.run(micros, IDLE);
        self.deeds.extend(deeds);
    }

    /// Steps on a switch for so many milliseconds, from now on, and waits until it is over.
    pub(crate) fn step(&mut self, pin: u8, millis: f64) {
        let now = self.now();
        self.chip.foot(pin, now, now + millis * MILLI);
        self.run_until(now + (millis + 50.0) * MILLI);
    }

    /// Chooses the chunk of this number, counted from 0, and begins: a held step. Says when it began.
    pub(crate) fn begin(&mut self, chunk: u8) -> f64 {
        for _ in 0..chunk {
            self.step(RIGHT, 150.0);
            // Two at once would be something else.
            self.run(0.45);
        }
        self.step(RIGHT, 900.0);
        self.now()
    }

    /// When clicks began, from then on.
    pub(crate) fn clicks(&self, from: f64) -> Vec<f64> {
        let began =
            self.deeds.iter().filter(|(at, deed)| *at >= from && *deed == Deed::Sounder(true));
        began.map(|(at, _)| *at).collect()
    }

    /// The bytes that came with the times that they were stamped with, from then on.
    pub(crate) fn stamped(&self, from: f64) -> Vec<(Instant, u8)> {
        let taken = self.deeds.iter().filter(|(at, _)| *at >= from);
        taken
            .filter_map(|(_, deed)| match deed {
                Deed::Taken { byte, stamp, .. } => Some((Instant::from_micros(*stamp), *byte)),
                _ => None,
            })
            .collect()
    }

    /// What the flash was told to do, from then on.
    pub(crate) fn flash(&self, from: f64) -> Vec<(f64, bool, f64)> {
        let deeds = self.deeds.iter().filter(|(at, _)| *at >= from);
        deeds
            .filter_map(|(at, deed)| match deed {
                Deed::Flash { erases, micros, .. } => Some((*at, *erases, *micros)),
                _ => None,
            })
            .collect()
    }

    /// What the lamps showed, each state that lasted a millisecond, from then on.
    pub(crate) fn lamps(&self, from: f64) -> Vec<(f64, [bool; 3])> {
        let mut states: Vec<(f64, [bool; 3])> = Vec::new();
        for (at, deed) in &self.deeds {
            if let Deed::Lamps(lit) = deed {
                match states.last_mut() {
                    Some((before, state)) if *at - *before < MILLI => *state = *lit,
                    Some((_, state)) if state == lit => {}
                    _ => states.push((*at, *lit)),
                }
            }
        }
        states.retain(|(at, _)| *at >= from);
        states
    }

    pub(crate) fn figures(&mut self) -> Figures {
        self.chip.figures()
    }

    /// Runs `evenhand pedal` on its USB, while it runs on at the pace of the clock on the wall. What it says, and
    /// its exit code.
    pub(crate) fn ask(&mut self, words: &[&str]) -> (String, i32) {
        let (mut line, path, open) = terminals();
        let flags = fcntl_getfl(&line).expect("flags") | OFlags::NONBLOCK;
        fcntl_setfl(&line, flags).expect("it need not wait");
        let mut child = Command::new(program::path())
            .arg("pedal")
            .args(words)
            .args(["--device", &path, "--data", &self.folder.path("data")])
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        let status = loop {
            let began = Wall::now();
            self.carry(&mut line);
            // The program waits by the clock on the wall, so the chip is not faster than that.
            thread::sleep(Duration::from_micros(SLICE as u64).saturating_sub(began.elapsed()));
            if let Some(status) = child.try_wait().expect("it can be asked") {
                break status;
            }
        };
        drop(open);
        let mut said = String::new();
        child.stdout.take().expect("piped").read_to_string(&mut said).expect("text");
        child.stderr.take().expect("piped").read_to_string(&mut said).expect("text");
        (said, status.code().unwrap_or(-1))
    }

    /// A moment of both ends of the cable.
    fn carry(&mut self, line: &mut File) {
        let mut bytes = [0; 512];
        match line.read(&mut bytes) {
            Ok(length) if length > 0 => self.chip.usb(&bytes[..length]),
            Err(error) if error.kind() != ErrorKind::WouldBlock => panic!("{error}"),
            _ => {}
        }
        let from = self.deeds.len();
        self.run_until(self.now() + SLICE);
        for (_, deed) in &self.deeds[from..] {
            if let Deed::Usb(bytes) = deed {
                line.write_all(bytes).expect("the program reads");
            }
        }
    }

    /// Loads a study.
    pub(crate) fn load(&mut self, study: &Path) {
        let (said, code) = self.ask(&["load", study.to_str().expect("text")]);
        assert_eq!(code, 0, "{said}");
        // The lamps show the link for a second.
        self.run(1.2);
    }

    /// Fetches what the pedal keeps, and says how many results that were; it is free of them then.
    pub(crate) fn fetch(&mut self) -> usize {
        let (said, code) = self.ask(&["results", "--events"]);
        assert_eq!(code, 0, "{said}");
        let events =
            said.lines().map(|line| serde_json::from_str::<Value>(line).expect("a record"));
        let mut events = events;
        let fetched = events.rfind(|event| event["kind"] == "fetched").expect("the end");
        assert_eq!(fetched["unreadable"], 0, "{said}");
        fetched["results"].as_u64().expect("a number") as usize
    }
}

/// The chip and the program take turns of so many microseconds.
const SLICE: f64 = 5_000.0;
