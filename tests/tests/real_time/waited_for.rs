//! A FIFO whose writer goes and a serial line that is unplugged: told once, waited for, and nothing is lost.

use evenhand::smf::{Recording, Timed};
use evenhand_tests::live::{Listening, wait_until};
use evenhand_tests::run::{Folder, bundled, command};
use portable_pty::{PtyPair, PtySize, native_pty_system};
use std::fs::{File, OpenOptions};
use std::io::{Read, Write};
use std::os::unix::fs::symlink;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

fn messages(name: &str) -> Vec<Timed> {
    let path = bundled(&format!("performances/{name}.mid"));
    Recording::read(path.as_ref()).unwrap().messages
}

fn play(to: &mut dyn Write, messages: &[Timed]) {
    let start = Instant::now();
    for message in messages {
        wait_until(start, Duration::from_micros(message.at.as_micros()));
        to.write_all(&message.bytes).unwrap();
        to.flush().unwrap();
    }
}

fn fifo(folder: &Folder) -> String {
    let fifo = folder.path("bridge");
    assert!(Command::new("mkfifo").arg(&fifo).status().unwrap().success());
    fifo
}

/// Opens a FIFO as the program that writes to it, while another reads.
fn written(fifo: &str) -> File {
    OpenOptions::new().write(true).open(fifo).unwrap()
}

fn listening(from: &str) -> Listening {
    let study = bundled("studies/lantern-quay.study");
    let words = ["listen", &study, "--raw", from, "--channels", "string", "--no-log"];
    Listening::start(&mut command(&words))
}

#[test]
fn a_fifo_whose_writer_goes_is_waited_for() {
    let folder = Folder::new();
    let fifo = fifo(&folder);
    let opened = thread::spawn({
        let fifo = fifo.clone();
        move || written(&fifo)
    });
    let listening = listening(&fifo);
    let mut to = opened.join().unwrap();
    let all = messages("last-steps-wrong-note");
    play(&mut to, &all[..all.len() / 2]);
    // In the middle of a message, too.
    to.write_all(&[0x90, 60]).unwrap();
    drop(to);
    let (_, gone) = listening.next("interrupted");
    assert_eq!(gone["attempt_under_way"], true, "{gone}");
    let mut to = written(&fifo);
    let (before, _, _) = listening.until("resumed");
    assert!(before.is_empty(), "told once: {before:?}");
    play(&mut to, &all);
    let (attempt, _, verdict) = listening.until("verdict");
    assert_eq!((&verdict["attempt"], &verdict["verdict"]), (&1.into(), &"needs work".into()));
    assert!(attempt.iter().any(|event| event["kind"] == "wrong"), "{attempt:?}");
    drop(to);
    listening.next("interrupted");
    // A program that makes its FIFO anew has made another file.
    std::fs::remove_file(&fifo).unwrap();
    assert!(Command::new("mkfifo").arg(&fifo).status().unwrap().success());
    let mut to = written(&fifo);
    play(&mut to, &messages("bells-one-clean"));
    let (_, verdict) = listening.next("verdict");
    assert_eq!(verdict["attempt"], 2, "{verdict}");
    let said = listening.end();
    let [gone, back, gone_again, back_again] = said.lines().collect::<Vec<_>>()[..] else {
        panic!("{said}");
    };
    assert!(
        gone.ends_with("any more. The attempt under way is not judged. Waiting for it."),
        "{said}"
    );
    assert!(back.contains("is written to again. Go on playing.") && back == back_again, "{said}");
    assert!(gone_again.contains("Nothing writes to") && gone_again.ends_with("it."), "{said}");
}

/// A serial line at a path that stays, as systems give to a device.
fn plugged_in(path: &str) -> PtyPair {
    let size = PtySize { rows: 24, cols: 80, pixel_width: 0, pixel_height: 0 };
    let pair = native_pty_system().openpty(size).expect("a pseudo-terminal");
    let own = pair.master.tty_name().expect("it has a path");
    let _ = std::fs::remove_file(path);
    symlink(own, path).expect("a link");
    pair
}

#[test]
fn a_serial_line_that_is_unplugged_is_waited_for_and_set_as_it_was() {
    let folder = Folder::new();
    let device = folder.path("pickup");
    let pair = plugged_in(&device);
    // As users set it: bytes as they come.
    let raw = ["-F", &device, "raw", "-echo"];
    assert!(Command::new("stty").args(raw).status().expect("stty").success());
    let listening = listening(&device);
    let mut to = pair.master.take_writer().expect("its other end");
    play(&mut to, &messages("last-steps-wrong-note"));
    let (_, verdict) = listening.next("verdict");
    assert_eq!(verdict["attempt"], 1, "{verdict}");
    drop((to, pair));
    listening.next("interrupted");
    // It has forgotten how it was set: line by line, with an echo.
    let pair = plugged_in(&device);
    listening.next("resumed");
    let mut to = pair.master.take_writer().expect("its other end");
    play(&mut to, &messages("bells-one-clean"));
    let (_, verdict) = listening.next("verdict");
    assert_eq!(verdict["attempt"], 2, "{verdict}");
    let said = listening.end();
    assert!(said.contains("is away, unplugged or switched off."), "{said}");
    assert!(said.contains("is back. Go on playing."), "{said}");
}

/// Tells a program to end, as a system that shuts down does, and gives what it wrote.
fn ended(mut child: Child) -> (String, String) {
    assert!(Command::new("kill").arg(child.id().to_string()).status().expect("kill").success());
    let (mut out, mut err) = (String::new(), String::new());
    child.stdout.take().expect("piped").read_to_string(&mut out).expect("text");
    child.stderr.take().expect("piped").read_to_string(&mut err).expect("text");
    assert!(child.wait().expect("it runs").success(), "{out}{err}");
    (out, err)
}

#[test]
fn a_recording_goes_on_when_the_writer_is_back() {
    let folder = Folder::new();
    let (fifo, file) = (fifo(&folder), folder.path("take.mid"));
    let mut record = command(&["record", &file, "--raw", &fifo]);
    let child = record.stderr(Stdio::piped()).spawn().unwrap();
    // It says that it waits, and for what.
    thread::sleep(Duration::from_millis(1_600));
    for pitch in [50_u8, 52, 53] {
        let mut to = written(&fifo);
        to.write_all(&[0x90, pitch, 80, 0x80, pitch, 0]).unwrap();
        drop(to);
        thread::sleep(Duration::from_millis(400));
    }
    let (out, err) = ended(child);
    assert!(out.contains("6 messages."), "{out}");
    assert!(err.lines().next().unwrap_or("").contains("yet; waiting for it"), "{err}");
    assert_eq!(err.matches("Nothing writes to").count(), 3, "{err}");
    assert_eq!(Recording::read(Path::new(&file)).unwrap().messages.len(), 6);
    assert!(!out.contains("hears"), "nothing extra where nobody looks: {out}");
}
