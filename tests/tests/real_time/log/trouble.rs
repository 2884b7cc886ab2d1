//! Disks that are full, folders that may not be written to, files that others hold.

use evenhand_core::player::{Skill, perform};
use evenhand_tests::kept;
use evenhand_tests::looping::{Looping, study};
use evenhand_tests::run::{Folder, Run, code, command, evenhand};
use evenhand_tests::{program, told};
use std::fs::{self, Permissions};
use std::io::{BufRead, BufReader, Write};
use std::os::unix::fs::PermissionsExt;
use std::os::unix::process::CommandExt;
use std::process::{Child, ChildStdin, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

/// How long to wait for something that happens soon. Our default.
const SOON: Duration = Duration::from_secs(20);

pub(crate) fn played(attempts: usize) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut player = Looping::new(6, Duration::ZERO);
    for _ in 0..attempts {
        player.attempt(&mut bytes).unwrap();
    }
    bytes
}

/// A user whom permissions bind: root is nobody here.
fn as_a_user(command: &mut Command) -> Folder {
    let folder = Folder::new();
    // Who runs this owns the file that it made.
    let probe = folder.write("probe", "");
    let owner = std::os::unix::fs::MetadataExt::uid(&fs::metadata(probe).unwrap());
    if owner == 0 {
        command.uid(65_534);
    }
    folder
}

/// The program where every user can run it.
fn copied(folder: &Folder) -> String {
    let path = folder.path("evenhand");
    fs::copy(program::path(), &path).unwrap();
    fs::set_permissions(&path, Permissions::from_mode(0o755)).unwrap();
    path
}

#[test]
fn a_folder_that_may_not_be_written_to_is_told() {
    let folder = Folder::new();
    fs::set_permissions(&folder, Permissions::from_mode(0o755)).unwrap();
    let (program, study) =
        (copied(&folder), folder.write("small.study", fs::read(study()).unwrap()));
    let data = folder.path("data");
    fs::create_dir(&data).unwrap();
    // A log is there already, by somebody else.
    Run::of(
        command(&["listen", &study, "--raw", "-", "--data", &data]).stdout(Stdio::null()),
        played(2),
    )
    .done();
    fs::set_permissions(folder.path("data/log.sqlite"), Permissions::from_mode(0o444)).unwrap();
    fs::set_permissions(&data, Permissions::from_mode(0o555)).unwrap();
    let run = |arguments: &[&str], input| {
        let mut command = Command::new(&program);
        command.args(arguments).stdout(Stdio::piped()).env("HOME", "/nonexistent");
        let _probe = as_a_user(&mut command);
        Run::of(&mut command, input)
    };
    let listen = ["listen", study.as_str(), "--raw", "-", "--events", "--data"];
    let there = run(&[&listen[..], &[&data]].concat(), played(2));
    there.refused(
        code::OUTPUT,
        &["is not kept: it may only be read", "2 attempts could not be kept"],
    );
    assert_eq!(there.verdicts().len(), 2);
    // Looking back needs no right to write.
    let history = run(&["history", "--events", "--data", &data], Vec::new());
    let attempts = history.done().events();
    assert_eq!(attempts.iter().filter(|event| event["kind"] == "kept-attempt").count(), 2);
    // No log, and none can be made.
    fs::set_permissions(&data, Permissions::from_mode(0o755)).unwrap();
    fs::remove_file(folder.path("data/log.sqlite")).unwrap();
    fs::set_permissions(&data, Permissions::from_mode(0o555)).unwrap();
    run(&[&listen[..], &[&data]].concat(), played(1))
        .refused(code::OUTPUT, &["it cannot be opened or made", "one attempt could not be kept"]);
    run(&[&listen[..], &[&format!("{data}/deeper")]].concat(), played(1))
        .refused(code::OUTPUT, &["data/deeper cannot be used", "denied", "--data FOLDER"]);
    fs::set_permissions(&data, Permissions::from_mode(0o755)).unwrap();
}

/// Files may not grow: the system refuses to write, as a failing disk does.
#[test]
fn a_disk_that_takes_nothing_is_told_and_nothing_half_written_stays() {
    let folder = Folder::new();
    let data = folder.path("data");
    let listen = ["listen", &study(), "--raw", "-", "--events", "--data", &data];
    Run::of(&mut command(&listen), played(1)).done();
    let before = fs::metadata(folder.path("data/log.sqlite")).unwrap().len();
    let mut limited = Command::new("sh");
    // The signal would end the program; without it, writing fails. Blocks have 512 bytes.
    let script = format!("trap '' XFSZ; ulimit -f {}; exec \"$@\"", before / 512);
    limited.args(["-c", &script, "sh"]).arg(program::path()).args(listen).stdout(Stdio::piped());
    let run = Run::of(&mut limited, played(200));
    run.refused(
        code::OUTPUT,
        &["is not kept: it cannot be read or written", "could not be kept in"],
    );
    assert_eq!(run.verdicts().len(), 200);
    let lost: usize = run
        .err
        .lines()
        .find_map(|line| line.strip_prefix("evenhand: ")?.split_once(" attempts could not be kept"))
        .and_then(|(number, _)| number.parse().ok())
        .expect("how many");
    let log = kept::open(&data);
    assert_eq!(kept::integrity(&log), "ok");
    let there = kept::number(&log, "SELECT count(*) FROM attempts") as usize;
    assert_eq!(there + lost, 1 + 200, "{there} are there, {lost} are said to be lost");
}

/// A listener that is talked to bit by bit.
struct Live {
    child: Child,
    to: Option<ChildStdin>,
    lines: std::sync::mpsc::Receiver<String>,
    player: Looping,
}

impl Live {
    fn start(mut command: Command) -> Self {
        let mut child =
            command.stdin(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("it starts");
        let (sender, lines) = std::sync::mpsc::channel();
        let out = BufReader::new(child.stdout.take().expect("a pipe"));
        thread::spawn(move || {
            for line in out.lines().map_while(Result::ok) {
                let _ = sender.send(line);
            }
        });
        let to = child.stdin.take();
        let player = Looping::new(8, Duration::from_millis(4));
        Self { child, to, lines, player }
    }

    /// Plays attempts, and waits for their verdicts. An attempt is over when the next begins,
    /// or after a silence.
    fn play(&mut self, attempts: usize) {
        let to = self.to.as_mut().expect("it is open");
        for _ in 0..attempts {
            self.player.attempt(to).unwrap();
        }
        to.flush().unwrap();
        let mut left = attempts;
        while left > 0 {
            let line = self.lines.recv_timeout(SOON).expect("a verdict");
            left -= usize::from(line.contains("\"kind\":\"verdict\""));
        }
    }

    /// Waits for a line that holds this.
    fn wait_for(&self, text: &str) {
        let start = Instant::now();
        while !self.lines.recv_timeout(SOON).expect("a line").contains(text) {
            assert!(start.elapsed() < SOON, "no {text}");
        }
    }

    fn end(mut self) -> (Option<i32>, String) {
        drop(self.to.take());
        let output = self.child.wait_with_output().unwrap();
        (output.status.code(), String::from_utf8(output.stderr).unwrap())
    }
}

#[test]
fn a_log_that_another_program_holds_is_written_later() {
    let folder = Folder::new();
    let data = folder.path("data");
    let listen = ["listen", &study(), "--raw", "-", "--events", "--data", &data];
    Run::of(&mut command(&listen), played(1)).done();
    let other = kept::open(&data);
    let mut live = Live::start(command(&listen));
    live.play(1);
    other.execute_batch("BEGIN EXCLUSIVE").unwrap();
    live.play(3);
    other.execute_batch("COMMIT").unwrap();
    // Nobody plays any more, and still it is written, a few seconds later.
    live.wait_for("\"kept\":true");
    assert_eq!(kept::number(&other, "SELECT count(*) FROM attempts"), 1 + 4);
    let (code, err) = live.end();
    assert_eq!(code, Some(code::DONE), "{err}");
    assert_eq!(err.matches("is not kept: another program is using it").count(), 1, "{err}");
    assert!(err.contains("the log is kept again; no attempt is lost"), "{err}");
    assert_eq!(kept::number(&other, "SELECT count(DISTINCT sitting) FROM attempts"), 2);
}

/// What practice begins with, and what it complains of.
fn begun(data: &str) -> (Vec<serde_json::Value>, Run) {
    let run = evenhand(&["practice", &study(), "--timed", "/dev/null", "--events", "--data", data]);
    assert_eq!(run.code, code::DONE, "{run:?}");
    (run.events().into_iter().filter(|event| event["kind"] == "step").collect(), run)
}

/// The study is played cleanly, as often as it takes, slower than it is to be in the end.
fn played_cleanly(data: &str) {
    let chunk = evenhand::study::parse(&fs::read_to_string(study()).unwrap())
        .and_then(|study| study.prepare())
        .unwrap()
        .remove(0);
    let mut lines = String::new();
    for attempt in 0..6 {
        let played = perform(&chunk.chunk(), chunk.tempo, Skill::SKILLED, &[], 9 + attempt);
        lines += &told::lines(1_000_000 + attempt * 30_000_000, played.notes());
    }
    let listen = ["listen", &study(), "--timed", "-", "--plain", "--data", data];
    let run = Run::of(&mut command(&listen), lines.into_bytes());
    assert!(run.done().out.contains("passed"), "{run:?}");
}

#[test]
fn practice_waits_for_what_it_knows_and_never_forgets_it_in_silence() {
    let folder = Folder::new();
    let data = folder.path("data");
    let (new, _) = begun(&folder.path("none"));
    played_cleanly(&data);
    let (known, run) = begun(&data);
    assert_eq!(run.err, "");
    assert_ne!(known, new, "earlier days make a difference");
    // Held for a while, longer than an attempt may wait to be written.
    let other = kept::open(&data);
    other.execute_batch("BEGIN EXCLUSIVE").unwrap();
    let released = thread::spawn(move || {
        thread::sleep(Duration::from_millis(1_500));
        other.execute_batch("COMMIT").unwrap();
    });
    let (after_a_while, run) = begun(&data);
    released.join().unwrap();
    assert_eq!(after_a_while, known, "{run:?}");
    // Held all the time.
    let other = kept::open(&data);
    other.execute_batch("BEGIN EXCLUSIVE").unwrap();
    let (held, run) = begun(&data);
    assert_eq!(held, new);
    for words in ["earlier days is not known", "another program is using it", "Close what else"] {
        assert!(run.err.contains(words), "{run:?}");
    }
}

/// Needs a file system of its own, which not every machine lets a test make. Where it does,
/// the disk is really full for a while.
#[test]
fn a_full_disk_is_told_and_what_waited_is_written_when_there_is_room() {
    let folder = Folder::new();
    let (disk, room, log) = (folder.path("disk"), folder.path("room"), folder.path("log.sqlite"));
    fs::create_dir(&disk).unwrap();
    let script = r#"mount -t tmpfs -o size=256k none "$1" || exit 77
        head -c 1000000 /dev/zero > "$1/filler" 2> /dev/null
        disk=$1 room=$2 log=$3; shift 3
        exec 3<&0
        "$@" <&3 & listening=$!
        while [ ! -e "$room" ]; do sleep 0.05; done
        rm "$disk/filler"
        wait $listening; code=$?
        cp "$disk/log.sqlite" "$log"
        exit $code"#;
    let inside = |script: &str| {
        let mut command = Command::new("unshare");
        command.args(["--user", "--map-root-user", "--mount", "sh", "-c", script, "sh"]);
        command
    };
    let probe = inside("mount -t tmpfs none \"$1\"").arg(&disk).output();
    if !probe.is_ok_and(|output| output.status.success()) {
        eprintln!("this machine makes no file system for a test; a full one is not tried");
        return;
    }
    let mut command = inside(script);
    command.args([&disk, &room, &log]).arg(program::path());
    command.args(["listen", &study(), "--raw", "-", "--events", "--data", &disk]);
    command.stdout(Stdio::piped());
    let mut live = Live::start(command);
    live.play(3);
    fs::write(&room, "").unwrap();
    live.wait_for("\"kept\":true");
    live.play(2);
    let (code, err) = live.end();
    assert_eq!(code, Some(code::DONE), "{err}");
    assert_eq!(err.matches("is not kept: the disk is full").count(), 1, "{err}");
    assert!(err.contains("no attempt is lost"), "{err}");
    let log = rusqlite::Connection::open(&log).unwrap();
    assert_eq!(kept::integrity(&log), "ok");
    assert_eq!(kept::number(&log, "SELECT count(*) FROM attempts"), 5);
}
