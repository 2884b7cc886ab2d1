//! What midir loses before it reaches us. It says so only in its log, so we read that.

use log::{Level, LevelFilter, Log, Metadata, Record};
use std::sync::Once;
use std::sync::atomic::{AtomicU32, Ordering};

static OVERRUNS: AtomicU32 = AtomicU32::new(0);

struct Reader;

impl Log for Reader {
    fn enabled(&self, metadata: &Metadata<'_>) -> bool {
        metadata.level() == Level::Error && metadata.target().starts_with("midir")
    }

    fn log(&self, record: &Record<'_>) {
        // “… ALSA MIDI input buffer overrun!”; other errors lose nothing.
        if self.enabled(record.metadata()) && record.args().to_string().contains("overrun") {
            OVERRUNS.fetch_add(1, Ordering::Relaxed);
        }
    }

    fn flush(&self) {}
}

/// Begins to read, if nobody else does.
pub(super) fn read_along() {
    static BEGUN: Once = Once::new();
    BEGUN.call_once(|| {
        if log::set_logger(&Reader).is_ok() {
            log::set_max_level(LevelFilter::Error);
        }
    });
}

/// How often messages have been lost since the last call.
pub(super) fn since_last() -> u32 {
    OVERRUNS.swap(0, Ordering::Relaxed)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_an_overrun_is_counted() {
        read_along();
        log::error!(target: "midir::backend", "Error in handle_input: buffer overrun!");
        log::error!(target: "midir::backend", "Error in handle_input: no event!");
        log::error!(target: "another", "overrun");
        assert_eq!((since_last(), since_last()), (1, 0));
    }
}
