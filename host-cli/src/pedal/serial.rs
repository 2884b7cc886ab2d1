//! A pedal on a serial device.

use super::pipe::Pipe;
use serialport::{ClearBuffer, SerialPort};
use std::io::{self, ErrorKind, Read, Write};
use std::path::Path;
use std::time::Duration;

/// Bits a second. Over USB the number means nothing; 115,200 is the usual one where it does.
const BAUD: u32 = 115_200;

/// The longest that a whole frame may take to be sent.
const SENDING: Duration = Duration::from_secs(2);

/// Opens a serial device in raw mode, for this program alone.
///
/// # Errors
///
/// What the system says.
pub fn open(path: &Path) -> io::Result<impl Pipe + use<>> {
    // The library's messages do not say which file.
    std::fs::metadata(path)?;
    let name = path.to_string_lossy();
    let port = serialport::new(name, BAUD).timeout(SENDING).open().map_err(io::Error::from)?;
    // What stands there from before is no answer to us.
    let _ = port.clear(ClearBuffer::Input);
    Ok(Serial { port })
}

struct Serial {
    port: Box<dyn SerialPort>,
}

impl Pipe for Serial {
    fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.port.set_timeout(SENDING).map_err(io::Error::from)?;
        self.port.write_all(bytes)?;
        self.port.flush()
    }

    fn receive(&mut self, buffer: &mut [u8], wait: Duration) -> io::Result<usize> {
        self.port.set_timeout(wait).map_err(io::Error::from)?;
        match self.port.read(buffer) {
            // A device that is gone has an end; one that is silent does not.
            Ok(0) => Err(ErrorKind::BrokenPipe.into()),
            Ok(length) => Ok(length),
            Err(error) if matches!(error.kind(), ErrorKind::TimedOut | ErrorKind::Interrupted) => {
                Ok(0)
            }
            Err(error) => Err(error),
        }
    }
}
