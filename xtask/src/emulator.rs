//! Running an image on an emulated board, and comparing what it printed.

use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use crate::process::{Stop, works};

/// QEMU's name for Arm's MPS2 board with the Cortex-M4 image AN386.
const BOARD: &str = "mps2-an386";
const PROGRAM: &str = "qemu-system-arm";

/// One instruction is 2⁴ ns of virtual time, and idle time is skipped: the same image gives
/// the same output on every machine and every run, whatever else that machine is doing.
const CLOCK: &str = "shift=4,sleep=off";

/// One instruction is 2⁸ ns, so that the board's counter of 40 ns steps tells one from the next.
/// The image that counts knows this number.
const COUNTING_CLOCK: &str = "shift=8,sleep=off";

/// Where the emulated board looks for a table (`firmware-example/boards/mps2/src/memory.rs`).
const TABLE: &str = "0x20100000";

/// A run takes under a second; one that takes this long is stuck. Our default.
pub const PATIENCE: Duration = Duration::from_secs(60);

/// The same for counting instructions, where everything is tried in its worst form.
pub const PATIENCE_COUNTING: Duration = Duration::from_secs(300);

/// What came of a run.
#[derive(Debug)]
pub struct Ran {
    /// Whether the image ended the emulator and called it a success.
    pub success: bool,
    /// What it printed on its first serial port: the same on every run.
    pub transcript: Vec<u8>,
    /// What it printed on its second serial port: figures that change with the compiler.
    pub figures: String,
    /// What the emulator itself said, and the image's last words if it panicked.
    pub complaint: String,
}

impl Ran {
    /// Shows it. What the tests compare goes to standard output and nothing else does, so that it
    /// can be written to a file.
    pub fn show(&self) -> Result<(), Stop> {
        eprint!("{}", self.figures);
        print!("{}", String::from_utf8_lossy(&self.transcript));
        if self.success {
            return Ok(());
        }
        Err(Stop::Failed { what: format!("the emulated board\n{}", self.complaint), code: 1 })
    }
}

/// Whether the emulator is on this machine.
pub fn available() -> bool {
    works(Command::new(PROGRAM).arg("--version"))
}

/// Runs `image` to its end, or until `patience` is used up. Its files go to a folder of its own
/// beside the image, so several runs at once do not meet.
pub fn run(image: &Path, patience: Duration) -> Result<Ran, Stop> {
    run_with(image, CLOCK, None, patience)
}

/// The same with a table of what happens to the board (`firmware-example/boards/mps2/src/table.rs`).
pub fn run_table(image: &Path, table: &[u8], patience: Duration) -> Result<Ran, Stop> {
    run_with(image, CLOCK, Some(table), patience)
}

/// The same at the clock by which instructions are counted.
pub fn run_counting(image: &Path, patience: Duration) -> Result<Ran, Stop> {
    run_with(image, COUNTING_CLOCK, None, patience)
}

fn run_with(
    image: &Path,
    clock: &str,
    table: Option<&[u8]>,
    patience: Duration,
) -> Result<Ran, Stop> {
    let folder = image.with_extension(format!("run-{}-{}", std::process::id(), serial_number()));
    fs::create_dir_all(&folder).map_err(Stop::file(&folder))?;
    let ran = run_in(image, &folder, clock, table, patience);
    // Left-over files are harmless.
    let _ = fs::remove_dir_all(&folder);
    ran
}

fn serial_number() -> u32 {
    use std::sync::atomic::{AtomicU32, Ordering};
    static RUNS: AtomicU32 = AtomicU32::new(0);
    RUNS.fetch_add(1, Ordering::Relaxed)
}

fn run_in(
    image: &Path,
    folder: &Path,
    clock: &str,
    table: Option<&[u8]>,
    patience: Duration,
) -> Result<Ran, Stop> {
    let (first, second) = (folder.join("serial-0"), folder.join("serial-1"));
    let last_words = folder.join("complaint");
    let complaint = fs::File::create(&last_words).map_err(Stop::file(&last_words))?;
    let mut command = Command::new(PROGRAM);
    command.args(["-machine", BOARD, "-icount", clock, "-display", "none", "-monitor", "none"]);
    command.args(["-semihosting-config", "enable=on,target=native"]);
    command.args(["-serial", &file_port(&first), "-serial", &file_port(&second)]);
    command.arg("-kernel").arg(image);
    if let Some(table) = table {
        let path = folder.join("table");
        fs::write(&path, table).map_err(Stop::file(&path))?;
        let path = path.display().to_string().replace(',', ",,");
        command.args(["-device", &format!("loader,file={path},addr={TABLE},force-raw=on")]);
    }
    command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(complaint);
    let mut child = command.spawn().map_err(|error| Stop::Missing {
        what: format!("{PROGRAM} cannot be run: {error}"),
        how: crate::machine::install_line(&[&crate::machine::EMULATOR]),
    })?;
    let started = Instant::now();
    let mut stuck = false;
    let success = loop {
        match child.try_wait().map_err(Stop::file(image))? {
            Some(status) => break status.success() && !stuck,
            None if started.elapsed() >= patience && !stuck => {
                stuck = true;
                child.kill().map_err(Stop::file(image))?;
            }
            None => std::thread::sleep(Duration::from_millis(5)),
        }
    };
    let read = |path: &PathBuf| fs::read(path).unwrap_or_default();
    let mut complaint = String::from_utf8_lossy(&read(&last_words)).into_owned();
    if stuck {
        complaint.push_str(&format!("stopped after {} s without an end", patience.as_secs()));
    }
    let figures = String::from_utf8_lossy(&read(&second)).into_owned();
    Ok(Ran { success, transcript: read(&first), figures, complaint })
}

fn file_port(path: &Path) -> String {
    // QEMU reads a comma in an option as a separator unless it is doubled.
    format!("file:{}", path.display().to_string().replace(',', ",,"))
}

/// Where two texts first differ.
#[derive(Debug, PartialEq, Eq)]
pub struct Difference {
    line: usize,
    expected: String,
    got: String,
}

impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { line, expected, got } = self;
        write!(f, "line {line} should be {expected}\n          but is {got}")
    }
}

/// Compares byte for byte, and names the first line that differs.
pub fn compare(expected: &[u8], got: &[u8]) -> Result<(), Difference> {
    if expected == got {
        return Ok(());
    }
    let mut expected = expected.split_inclusive(|&byte| byte == b'\n');
    let mut got = got.split_inclusive(|&byte| byte == b'\n');
    let mut line = 0;
    loop {
        line += 1;
        let pair = (expected.next(), got.next());
        if pair.0 != pair.1 {
            let show = |text: Option<&[u8]>| {
                text.map_or_else(
                    || "the end".to_owned(),
                    |text| format!("{:?}", String::from_utf8_lossy(text)),
                )
            };
            return Err(Difference { line, expected: show(pair.0), got: show(pair.1) });
        }
    }
}
