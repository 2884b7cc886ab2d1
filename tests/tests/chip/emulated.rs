//! The emulated chip: another program, told line by line what happens, and answering with what follows.

use serde_json::{Value, json};
use std::io::{BufRead as _, BufReader, Write as _};
use std::path::Path;
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

/// Where the rig has put the emulator.
pub(crate) const MODULES: &str = "EVENHAND_CHIP_MODULES";
/// The image, as a board in its boot mode takes it.
pub(crate) const IMAGE: &str = "EVENHAND_CHIP_IMAGE";

/// A variable that the rig sets.
///
/// # Panics
/// If it did not.
pub(crate) fn told(name: &str) -> String {
    std::env::var(name).unwrap_or_else(|_| panic!("{name} is not set: run `cargo xtask rig chip`"))
}

/// How long the flash takes for a page and for a sector, in microseconds.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Times {
    pub(crate) page: u32,
    pub(crate) sector: u32,
}

/// The W25Q16JV of a Pico (its datasheet, table of AC characteristics; from memory).
pub(crate) const TYPICAL: Times = Times { page: 400, sector: 45_000 };
pub(crate) const WORST: Times = Times { page: 3_000, sector: 400_000 };

/// What the chip did, and when, in microseconds since its power came.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Deed {
    /// The lamps, left to right.
    Lamps([bool; 3]),
    /// The sounder begins or ends.
    Sounder(bool),
    /// A page is written, or a sector erased.
    Flash { erases: bool, address: u32, micros: f64 },
    /// Bytes for the computer.
    Usb(Vec<u8>),
    /// A byte was taken out of the UART; when it had come, and the time that it was stamped with.
    Taken { byte: u8, came: f64, stamp: u64 },
    /// A byte left the UART.
    Sent(u8),
    /// Interrupts were off for so many microseconds.
    InterruptsOff(f64),
}

/// A deed and its time.
pub(crate) type At = (f64, Deed);

/// What the rig counts.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Figures {
    pub(crate) overruns: u64,
    /// The longest that a byte stood in the UART, in microseconds.
    pub(crate) latest: f64,
    /// The longest that interrupts were off, in microseconds.
    pub(crate) longest_off: f64,
    pub(crate) baud: f64,
}

/// An emulated chip.
pub(crate) struct Chip {
    process: Child,
    lines: ChildStdin,
    answers: BufReader<ChildStdout>,
    /// Microseconds since the power came.
    now: f64,
    stopped: Option<String>,
}

impl Chip {
    /// One whose power has just come, with the image in its flash and what else `flash` has.
    pub(crate) fn on(flash: Option<&Path>, times: Times, others: &Value) -> Self {
        let script = xtask::places::root().join("tests/outside/chip/main.js");
        let mut process = Command::new("node")
            .arg(script)
            .env(MODULES, told(MODULES))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("node starts");
        let lines = process.stdin.take().expect("piped");
        let answers = BufReader::new(process.stdout.take().expect("piped"));
        let mut chip = Self { process, lines, answers, now: 0.0, stopped: None };
        let mut power = json!({
            "do": "power", "uf2": told(IMAGE), "flash": flash, "page": times.page, "sector": times.sector,
        });
        let others = others.as_object().cloned().unwrap_or_default();
        power.as_object_mut().expect("an object").extend(others);
        chip.ask(&power);
        chip
    }

    fn ask(&mut self, question: &Value) -> Value {
        writeln!(self.lines, "{question}").expect("the emulator listens");
        let mut line = String::new();
        self.answers.read_line(&mut line).expect("the emulator answers");
        let answer: Value = serde_json::from_str(&line).unwrap_or_else(|_| panic!("{line}"));
        assert!(answer.get("error").is_none(), "{question}: {}", answer["error"]);
        answer
    }

    /// Microseconds since the power came.
    pub(crate) const fn now(&self) -> f64 {
        self.now
    }

    /// Why it has stopped, if it has: `cut`, `watchdog`, `usb-boot`.
    pub(crate) fn stopped(&self) -> Option<&str> {
        self.stopped.as_deref()
    }

    /// Bytes on the MIDI line, from then on or as soon as the line is free. Says when the line is free again.
    pub(crate) fn midi(&mut self, at: f64, bytes: &[u8]) -> f64 {
        let answer = self.ask(&json!({"do": "midi", "at": at, "bytes": bytes}));
        answer["line"].as_f64().expect("a time")
    }

    /// A byte whose stop bit is missing, at this very time.
    pub(crate) fn broken(&mut self, at: f64, byte: u8) {
        self.ask(&json!({"do": "raw", "at": at, "byte": byte, "broken": true}));
    }

    /// A byte that is there at this very time, however full the line is.
    pub(crate) fn raw(&mut self, at: f64, byte: u8) {
        self.ask(&json!({"do": "raw", "at": at, "byte": byte}));
    }

    /// A switch is down from then until then.
    pub(crate) fn foot(&mut self, pin: u8, from: f64, to: f64) {
        self.ask(&json!({"do": "foot", "pin": pin, "from": from, "to": to}));
    }

    /// Bytes from the computer.
    pub(crate) fn usb(&mut self, bytes: &[u8]) {
        self.ask(&json!({"do": "usb", "bytes": bytes}));
    }

    /// The power goes in the middle of this operation of the flash, counted from 1 and from now.
    pub(crate) fn cut_at(&mut self, operation: u32) {
        self.ask(&json!({"do": "cut", "operation": operation}));
    }

    /// The processor meets what it cannot do.
    pub(crate) fn break_down(&mut self) {
        self.ask(&json!({"do": "fault"}));
    }

    /// The processor begins anew; what its watchdog keeps stays.
    pub(crate) fn restart(&mut self) {
        self.ask(&json!({"do": "restart"}));
        self.now = 0.0;
        self.stopped = None;
    }

    /// Writes what is in the flash into a file.
    pub(crate) fn keep(&mut self, file: &Path) {
        self.ask(&json!({"do": "keep", "file": file}));
    }

    /// What the rig has counted.
    pub(crate) fn figures(&mut self) -> Figures {
        let answer = self.ask(&json!({"do": "figures"}));
        let number = |name: &str| answer[name].as_f64().expect("a number");
        Figures {
            overruns: answer["overruns"].as_u64().expect("a number"),
            latest: number("latest") / 1_000.0,
            longest_off: number("longest_off"),
            baud: number("baud"),
        }
    }

    /// The serial number that a computer reads from it.
    pub(crate) fn serial(&mut self) -> Option<String> {
        let answer = self.ask(&json!({"do": "figures"}));
        answer["serial"].as_str().map(str::to_owned)
    }

    /// Runs on until then; a look at the clock in the main loop lasts `idle` microseconds longer than it does.
    ///
    /// # Panics
    /// If the image does what no chip could.
    pub(crate) fn run(&mut self, until: f64, idle: f64) -> Vec<At> {
        let answer = self.ask(&json!({"do": "run", "until": until, "idle": idle}));
        self.now = answer["at"].as_f64().expect("a time");
        self.stopped = answer["stopped"].as_str().map(str::to_owned);
        let events = answer["events"].as_array().expect("a list");
        events.iter().map(deed).collect()
    }
}

impl Drop for Chip {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

fn deed(event: &Value) -> At {
    let number = |name: &str| event[name].as_f64().unwrap_or_else(|| panic!("{event}"));
    let byte = || number("byte") as u8;
    let deed = match event["kind"].as_str().expect("a kind") {
        "lamps" => Deed::Lamps([0, 1, 2].map(|lamp| event["lit"][lamp] == true)),
        "sounder" => Deed::Sounder(event["on"] == true),
        "flash" => Deed::Flash {
            erases: event["what"] == "erase",
            address: number("address") as u32,
            micros: number("micros"),
        },
        "usb" => {
            let bytes = event["bytes"].as_array().expect("bytes");
            Deed::Usb(bytes.iter().filter_map(Value::as_u64).map(|byte| byte as u8).collect())
        }
        "taken" => {
            Deed::Taken { byte: byte(), came: number("came"), stamp: number("stamp") as u64 }
        }
        "sent" => Deed::Sent(byte()),
        "interrupts off" => Deed::InterruptsOff(number("micros")),
        _ => panic!("{event}"),
    };
    (number("at"), deed)
}
