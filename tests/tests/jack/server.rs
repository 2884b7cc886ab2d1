//! A JACK server without a sound card.

use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

/// The variable by which JACK's library chooses a server, ours and the program's.
const NAME: &str = "JACK_DEFAULT_SERVER";

/// Samples a second, and samples a period: 2.7 ms.
pub(super) const RATE: u32 = 48_000;
const PERIOD: u32 = 128;

/// It is up within a second; our default for a machine under load.
const PATIENCE: Duration = Duration::from_secs(20);

/// A server that ends with the test.
pub(super) struct Server(Child);

impl Server {
    /// Starts one with the name that the environment gives, so that it is in nobody's way, and
    /// with so many inputs of a sound card that is not there.
    pub(super) fn start(inputs: u8) -> Self {
        let name = std::env::var(NAME).unwrap_or_else(|_| {
            panic!("{NAME} must name a server of its own: run `cargo xtask rig`")
        });
        let mut command = Command::new("jackd");
        // -S: a period waits for all clients, so a machine under load loses no message.
        command.args(["-n", &name, "-R", "-S", "-d", "dummy", "-C", "0"]);
        command.args(["-P", &inputs.to_string()]);
        command.args(["-r", &RATE.to_string(), "-p", &PERIOD.to_string()]);
        command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
        let server = Self(command.spawn().expect("jackd starts"));
        let begun = Instant::now();
        while ports().is_none() {
            assert!(begun.elapsed() < PATIENCE, "the JACK server does not come up");
            thread::sleep(Duration::from_millis(100));
        }
        server
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        // A server that is asked to end takes its shared memory with it.
        let asked = Command::new("kill").arg(self.0.id().to_string()).status();
        if !asked.is_ok_and(|status| status.success()) {
            let _ = self.0.kill();
        }
        let _ = self.0.wait();
    }
}

/// The ports of the server, by JACK's own tool.
fn ports() -> Option<String> {
    let output = Command::new("jack_lsp").stderr(Stdio::null()).output().ok()?;
    output.status.success().then(|| String::from_utf8_lossy(&output.stdout).into_owned())
}

/// Waits until the server has a port of this name.
pub(super) fn wait_for(port: &str) {
    let begun = Instant::now();
    while !ports().is_some_and(|ports| ports.lines().any(|name| name.contains(port))) {
        assert!(begun.elapsed() < PATIENCE, "no port {port}: {:?}", ports());
        thread::sleep(Duration::from_millis(50));
    }
}
