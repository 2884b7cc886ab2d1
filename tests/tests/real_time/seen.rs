//! The program on a real terminal: a pseudo-terminal of the system, and an emulator (the crate
//! `vt100`, which knows nothing of how the page is drawn) that says what stands on it.
#![cfg(unix)]

use evenhand_core::player::{Skill, perform};
use evenhand_tests::run::{CONFIG, DATA, Folder};
use evenhand_tests::{program, told};
use portable_pty::{CommandBuilder, MasterPty, PtyPair, PtySize, native_pty_system};
use std::fs::File;
use std::io::{Read, Write};
use std::num::NonZero;
use std::process::Command;
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

/// Nothing on a screen takes longer than this to come. Our default.
const PATIENCE: Duration = Duration::from_secs(20);

pub(crate) const STUDY: &str = "evenhand study 1\ntitle Steps\nmetre 4/4\ntempo 100\nlevel first\n\
     chunk \"Up and on\" at bar 1\n  m: 1/8 6:3 5:0 5:2 5:3 4:0 4:2 4:4 3:0 |\n";

pub(crate) fn size_of(cells: u16) -> NonZero<u16> {
    NonZero::new(cells).expect("a size")
}

/// `evenhand practice` on a terminal, its player at the end of a FIFO.
pub(crate) struct Seen {
    pub(crate) terminal: Box<dyn MasterPty + Send>,
    pub(crate) screen: Arc<Mutex<vt100::Parser>>,
    pub(crate) keys: Box<dyn Write + Send>,
    pub(crate) child: Box<dyn portable_pty::Child + Send + Sync>,
    pub(crate) player: File,
    /// The raw bytes that came.
    pub(crate) bytes: Arc<Mutex<Vec<u8>>>,
    /// Reads them until nobody can write any more.
    reader: Option<thread::JoinHandle<()>>,
    pub(crate) now: u64,
    _folder: Folder,
}

pub(crate) fn open_terminal(columns: u16, rows: u16) -> PtyPair {
    let size = PtySize { rows, cols: columns, pixel_width: 0, pixel_height: 0 };
    native_pty_system().openpty(size).expect("a pseudo-terminal")
}

/// A new FIFO for the player.
pub(crate) fn fifo(folder: &Folder) -> String {
    let fifo = folder.path("notes");
    assert!(Command::new("mkfifo").arg(&fifo).status().expect("mkfifo").success());
    fifo
}

/// The program, practising with the player at the end of this FIFO, which it opens as `from`.
pub(crate) fn practice(folder: &Folder, study: &str, from: &str, fifo: &str) -> CommandBuilder {
    told_to("practice", folder, study, from, fifo)
}

/// The same doing something else.
pub(crate) fn told_to(
    what: &str,
    folder: &Folder,
    study: &str,
    from: &str,
    fifo: &str,
) -> CommandBuilder {
    let study = folder.write("steps.study", study);
    let mut command = CommandBuilder::new(program::path());
    for word in [what, &study, from, fifo, "--no-log"] {
        command.arg(word);
    }
    if what == "practice" {
        // What is clean comes again at the same tempo, so its verdict stands until the next.
        command.arg("--by-steps");
    }
    command.env(CONFIG, folder.path("settings"));
    command.env(DATA, folder.path("data"));
    command.env("TERM", "xterm-256color");
    command.env("LC_ALL", "C.UTF-8");
    command.env_remove("NO_COLOR");
    command
}

impl Seen {
    /// As long as a minute of told time a verdict is read.
    pub(crate) fn read_slowly(columns: u16, rows: u16) -> Self {
        let folder = Folder::new();
        let fifo = fifo(&folder);
        let mut command = practice(&folder, STUDY, "--timed", &fifo);
        command.args(["--pause", "60"]);
        Self::run(folder, &fifo, &command, columns, rows)
    }

    pub(crate) fn open(columns: u16, rows: u16, set: &[(&str, &str)]) -> Self {
        Self::open_from("--timed", columns, rows, set)
    }

    pub(crate) fn open_from(from: &str, columns: u16, rows: u16, set: &[(&str, &str)]) -> Self {
        Self::open_with(STUDY, from, columns, rows, set)
    }

    pub(crate) fn open_with(
        study: &str,
        from: &str,
        columns: u16,
        rows: u16,
        set: &[(&str, &str)],
    ) -> Self {
        let folder = Folder::new();
        let fifo = fifo(&folder);
        let mut command = practice(&folder, study, from, &fifo);
        for (name, value) in set {
            command.env(name, value);
        }
        Self::run(folder, &fifo, &command, columns, rows)
    }

    /// Runs this in a terminal, its player at the end of a FIFO.
    pub(crate) fn run(
        folder: Folder,
        fifo: &str,
        command: &CommandBuilder,
        columns: u16,
        rows: u16,
    ) -> Self {
        let pair = open_terminal(columns, rows);
        let child = pair.slave.spawn_command(command.clone()).expect("the program starts");
        drop(pair.slave);
        let screen = Arc::new(Mutex::new(vt100::Parser::new(size_of(rows), size_of(columns), 0)));
        let bytes = Arc::new(Mutex::new(Vec::new()));
        let mut from = pair.master.try_clone_reader().expect("its output");
        let (into, raw) = (Arc::clone(&screen), Arc::clone(&bytes));
        let reader = thread::spawn(move || {
            let mut buffer = [0; 4_096];
            while let Ok(length @ 1..) = from.read(&mut buffer) {
                raw.lock().expect("bytes").extend_from_slice(&buffer[..length]);
                into.lock().expect("a screen").process(&buffer[..length]);
            }
        });
        let keys = pair.master.take_writer().expect("its keyboard");
        // Opens as soon as the program listens.
        let player = File::create(fifo).expect("the fifo opens");
        Self {
            terminal: pair.master,
            screen,
            keys,
            child,
            player,
            bytes,
            reader: Some(reader),
            now: 0,
            _folder: folder,
        }
    }

    pub(crate) fn text(&self) -> String {
        self.screen.lock().expect("a screen").screen().contents()
    }

    /// Waits until the screen shows this.
    pub(crate) fn wait_for(&self, what: &str, is_there: impl Fn(&str) -> bool) {
        let start = Instant::now();
        while !is_there(&self.text()) {
            assert!(start.elapsed() < PATIENCE, "no {what} on\n{}", self.text());
            thread::sleep(Duration::from_millis(20));
        }
    }

    /// Plays the chunk once; an attempt with slips needs work.
    pub(crate) fn play(&mut self, slips: u16) {
        let chunk =
            evenhand::study::parse(STUDY).expect("a study").prepare().expect("it").remove(0);
        let tempo = chunk.tempo.at_per_mille(600);
        let faults: Vec<_> = (0..slips)
            .map(|slip| evenhand_core::player::Fault::Wrong { note: slip + 2, semitones: 1 })
            .collect();
        let played = perform(&chunk.chunk(), tempo, Skill::SKILLED, &faults, 9);
        let lines = told::lines(self.now + 200_000, played.notes());
        // Time for the attempt, for reading, and for a count-in.
        self.now += 40_000_000;
        self.player.write_all(lines.as_bytes()).expect("the program listens");
        writeln!(self.player, "{}", self.now).expect("the program listens");
    }

    pub(crate) fn press(&mut self, key: &[u8]) {
        self.keys.write_all(key).expect("a keyboard");
        self.keys.flush().expect("a keyboard");
    }

    /// Waits for the end: the exit code, and what is left on the screen.
    pub(crate) fn end(mut self) -> (u32, String) {
        let start = Instant::now();
        let code = loop {
            if let Some(status) = self.child.try_wait().expect("it was started") {
                break status.exit_code();
            }
            assert!(start.elapsed() < PATIENCE, "it does not end:\n{}", self.text());
            thread::sleep(Duration::from_millis(20));
        };
        // Nothing is left to be read when the program's side of the terminal is closed.
        self.reader.take().map(thread::JoinHandle::join).expect("it ends once").expect("it reads");
        let screen = self.screen.lock().expect("a screen");
        assert!(!screen.screen().alternate_screen(), "the page is still there");
        assert!(!screen.screen().hide_cursor(), "the cursor is still hidden");
        (code, screen.screen().contents())
    }
}
