//! Through the computer's audio output.
//!
//! The audio system asks for samples in a thread of its own, which must never wait. What it does
//! there is in [`Player`]: it takes orders from a queue without locks (`rtrb`, one sender and one
//! receiver), mixes, and says on a board without locks which frame is heard when.

use super::device::Device;
use super::frames::{Board, Frames, State};
use super::stall::Stall;
use super::voice::Voice;
use super::{ClickTrack, Mixer, Passage, SoundProblem, frame, since};
use cpal::traits::{DeviceTrait, HostTrait, StreamTrait};
use cpal::{BufferSize, Error, ErrorKind, FromSample, OutputCallbackInfo, SampleFormat};
use cpal::{SizedSample, Stream, StreamConfig};
use evenhand_core::units::Instant;
use evenhand_core::verdict::Outcome;
use rtrb::{Consumer, Producer, RingBuffer};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::sync::mpsc::sync_channel;
use std::thread;
use std::time::Duration;

/// Frames that the system is asked to take at a time: 5 ms at 48,000 a second, which any card of
/// today can do. Our default; where it is refused, the system's own.
const BLOCK: u32 = 256;

/// How long to wait for the system to open the output. Our default.
const OPENING: Duration = Duration::from_secs(5);

/// How long to wait until it asks for samples. Our default.
const STARTING: Duration = Duration::from_secs(2);

/// So many blocks it has to have taken before its latency is believed. Our default.
const BELIEVED: u64 = 4;

/// Orders that can wait: more than anybody gives between two blocks. Our default.
const WAITING: usize = 16;

/// Frames that are mixed in one go. Our default.
const PIECE: usize = 512;

/// What the player is told.
enum Order {
    Start { click: ClickTrack, from: u64 },
    Stop,
    Cue(Voice),
    Play { samples: Arc<[f32]>, from: u64 },
    Hush,
}

/// What has happened in the threads of the audio system.
#[derive(Default)]
struct Flags {
    /// How often samples came too late, or were lost on the way out.
    gaps: AtomicU32,
    /// The output is gone.
    lost: AtomicBool,
}

/// The open output.
pub(super) struct Audio {
    /// It plays as long as it lives.
    _stream: Stream,
    orders: Producer<Order>,
    board: Arc<Board>,
    flags: Arc<Flags>,
    name: String,
    rate: u32,
    /// The frame of the first beat of the click that goes on.
    from: u64,
    stall: Stall,
    /// Passages that were handed over: the thread in which samples are asked for may not give memory back, so the
    /// last hold on them is here.
    passages: Vec<Arc<[f32]>>,
}

/// Asks the audio system something, in a thread: one that hangs must not hold up the sitting.
fn asked<T: Send + 'static>(
    what: impl FnOnce() -> Result<T, SoundProblem> + Send + 'static,
) -> Result<T, SoundProblem> {
    let (to, answer) = sync_channel(1);
    thread::spawn(move || to.send(quietly(what)));
    answer.recv_timeout(OPENING).map_err(|_| SoundProblem::NoAnswer)?
}

/// Unless it is told otherwise, ALSA's library says on standard error what it cannot open, in
/// words for its developers.
fn quietly<T>(what: impl FnOnce() -> T) -> T {
    #[cfg(target_os = "linux")]
    let _quiet = alsa::Output::local_error_handler();
    what()
}

fn refused(error: &Error) -> SoundProblem {
    match error.kind() {
        ErrorKind::DeviceNotAvailable | ErrorKind::HostUnavailable => SoundProblem::NoOutput,
        _ => SoundProblem::Refused(error.to_string()),
    }
}

/// The system's own choice of output, with its name and how it is usually played through. To
/// say the latter it has to be there and free; nothing is played.
fn usual() -> Result<(cpal::Device, String, cpal::SupportedStreamConfig), SoundProblem> {
    let device = cpal::default_host().default_output_device().ok_or(SoundProblem::NoOutput)?;
    let usual = device.default_output_config().map_err(|error| refused(&error))?;
    let name = device.description().map_or_else(|_| device.to_string(), |d| d.name().to_owned());
    Ok((device, name, usual))
}

/// The name of the system's own choice of output.
pub(super) fn name() -> Result<String, SoundProblem> {
    asked(|| usual().map(|(_, name, _)| name))
}

impl Audio {
    /// Opens the system's own choice of output, and waits until it plays (silence).
    pub(super) fn open(clock: std::time::Instant) -> Result<Self, SoundProblem> {
        asked(move || Self::open_here(clock))
    }

    /// The same however long it takes, in a thread of its own.
    pub(super) fn open_at_leisure(clock: std::time::Instant) -> Result<Self, SoundProblem> {
        quietly(|| Self::open_here(clock))
    }

    fn open_here(clock: std::time::Instant) -> Result<Self, SoundProblem> {
        let (device, name, usual) = usual()?;
        let formats = [usual.sample_format(), SampleFormat::F32, SampleFormat::I16];
        let mut first = None;
        for buffer_size in [BufferSize::Fixed(BLOCK), BufferSize::Default] {
            let config = StreamConfig { buffer_size, ..usual.config() };
            for format in formats {
                let (player, handle) = player(clock, config);
                match build(&device, format, config, player, &handle.flags) {
                    Ok(stream) => return handle.wait(stream, name),
                    Err(error) => first = first.or(Some(error)),
                }
            }
        }
        Err(first.as_ref().map_or(SoundProblem::NoOutput, refused))
    }

    fn order(&mut self, order: Order) {
        // A full queue means that nothing takes samples any more; then there is nothing to hear.
        let _ = self.orders.push(order);
    }
}

impl Device for Audio {
    fn name(&self) -> &str {
        &self.name
    }

    fn start(&mut self, click: ClickTrack, at: Instant) -> Instant {
        if let Some(state) = self.board.read() {
            let wanted = state.reading.frame(at.as_micros() as f64);
            self.from = wanted.max(ready(&state));
            self.order(Order::Start { click, from: self.from });
        }
        self.heard(click, 0).unwrap_or(at)
    }

    fn stop(&mut self) {
        self.order(Order::Stop);
    }

    fn cue(&mut self, outcome: Outcome) {
        self.order(Order::Cue(Voice::cue(outcome)));
    }

    fn play(&mut self, passage: &Passage, at: Instant) -> Instant {
        let samples: Arc<[f32]> = passage.samples(self.rate).into();
        self.passages.retain(|passage| Arc::strong_count(passage) > 1);
        self.passages.push(Arc::clone(&samples));
        let Some(state) = self.board.read() else { return at };
        let from = state.reading.frame(at.as_micros() as f64).max(ready(&state));
        self.order(Order::Play { samples, from });
        moment(state.reading.heard(from))
    }

    fn hush(&mut self) {
        self.order(Order::Hush);
    }

    fn heard(&self, click: ClickTrack, beat: u32) -> Option<Instant> {
        let frame = self.from.saturating_add(frame(&click, beat, self.rate));
        self.board.read().map(|state| moment(state.reading.heard(frame)))
    }

    fn soonest(&self) -> Option<Instant> {
        self.board.read().map(|state| moment(state.reading.heard(ready(&state))))
    }

    fn latency(&self) -> Option<Duration> {
        self.board.read().map(|state| Duration::from_micros(state.latency))
    }

    fn gaps(&self) -> u32 {
        self.flags.gaps.load(Ordering::Relaxed)
    }

    fn trouble(&mut self) -> Option<SoundProblem> {
        let lost = self.flags.lost.load(Ordering::Relaxed);
        let still = self.stall.is_still(self.board.written(), std::time::Instant::now());
        (lost || still).then_some(SoundProblem::Lost)
    }
}

/// The first frame that a new order is sure to come in time for: two blocks may be under way.
const fn ready(state: &State) -> u64 {
    state.next + 2 * state.block
}

fn moment(micros: f64) -> Instant {
    // The cast holds what is below zero at zero.
    Instant::from_micros(micros.round() as u64)
}

/// The handle's half while the output is being opened.
struct Handle {
    orders: Producer<Order>,
    board: Arc<Board>,
    flags: Arc<Flags>,
    rate: u32,
}

impl Handle {
    fn wait(self, stream: Stream, name: String) -> Result<Audio, SoundProblem> {
        stream.play().map_err(|error| SoundProblem::Refused(error.to_string()))?;
        let begun = std::time::Instant::now();
        while self.board.written() < BELIEVED {
            if begun.elapsed() > STARTING || self.flags.lost.load(Ordering::Relaxed) {
                return Err(SoundProblem::NothingTaken);
            }
            thread::sleep(Duration::from_millis(2));
        }
        let Self { orders, board, flags, rate } = self;
        let stall = Stall::new(board.written(), std::time::Instant::now());
        Ok(Audio {
            _stream: stream,
            orders,
            board,
            flags,
            name,
            rate,
            from: 0,
            stall,
            passages: Vec::new(),
        })
    }
}

/// The half that lives in the audio system's thread.
struct Player {
    clock: std::time::Instant,
    orders: Consumer<Order>,
    board: Arc<Board>,
    flags: Arc<Flags>,
    mixer: Mixer,
    frames: Frames,
    /// How many gaps `frames` knows of.
    gaps: u32,
    rate: u32,
    channels: usize,
    piece: Vec<f32>,
}

fn player(clock: std::time::Instant, config: StreamConfig) -> (Player, Handle) {
    let (orders, taken) = RingBuffer::new(WAITING);
    let (rate, channels) = (config.sample_rate, usize::from(config.channels).max(1));
    let handle = Handle { orders, board: Arc::default(), flags: Arc::default(), rate };
    let player = Player {
        clock,
        orders: taken,
        board: Arc::clone(&handle.board),
        flags: Arc::clone(&handle.flags),
        mixer: Mixer::new(rate),
        frames: Frames::new(rate),
        gaps: 0,
        rate,
        channels,
        piece: vec![0.0; PIECE * channels],
    };
    (player, handle)
}

impl Player {
    /// Fills what the system asks for.
    fn fill<T: SizedSample + FromSample<f32>>(&mut self, out: &mut [T], info: &OutputCallbackInfo) {
        let now = since(self.clock).as_micros() as f64;
        let stamp = info.timestamp();
        let latency = stamp.playback.saturating_duration_since(stamp.callback);
        while let Ok(order) = self.orders.pop() {
            match order {
                Order::Start { click, from } => self.mixer.start(click, from),
                Order::Stop => self.mixer.stop(),
                Order::Cue(voice) => self.mixer.cue(voice),
                Order::Play { samples, from } => self.mixer.play(samples, from),
                Order::Hush => self.mixer.hush(),
            }
        }
        let first = self.mixer.frame();
        for out in out.chunks_mut(self.piece.len()) {
            let Some(piece) = self.piece.get_mut(..out.len()) else { continue };
            self.mixer.fill(piece, self.channels);
            for (out, sample) in out.iter_mut().zip(piece) {
                *out = T::from_sample(*sample);
            }
        }
        let gaps = self.flags.gaps.load(Ordering::Relaxed);
        if gaps != self.gaps {
            self.gaps = gaps;
            self.frames = Frames::new(self.rate);
        }
        let next = self.mixer.frame();
        let reading = self.frames.report(first, now + latency.as_secs_f64() * 1e6);
        let latency = u64::try_from(latency.as_micros()).unwrap_or(u64::MAX);
        self.board.write(&State { reading, next, block: next - first, latency });
    }
}

fn build(
    device: &cpal::Device,
    format: SampleFormat,
    config: StreamConfig,
    player: Player,
    flags: &Arc<Flags>,
) -> Result<Stream, Error> {
    match format {
        SampleFormat::F32 => build_of::<f32>(device, config, player, flags),
        SampleFormat::I32 => build_of::<i32>(device, config, player, flags),
        SampleFormat::U16 => build_of::<u16>(device, config, player, flags),
        _ => build_of::<i16>(device, config, player, flags),
    }
}

fn build_of<T: SizedSample + FromSample<f32>>(
    device: &cpal::Device,
    config: StreamConfig,
    mut player: Player,
    flags: &Arc<Flags>,
) -> Result<Stream, Error> {
    let flags = Arc::clone(flags);
    let fill = move |out: &mut [T], info: &OutputCallbackInfo| player.fill(out, info);
    let mind = move |error: Error| match error.kind() {
        ErrorKind::Xrun | ErrorKind::DeviceChanged => {
            flags.gaps.fetch_add(1, Ordering::Relaxed);
        }
        ErrorKind::DeviceNotAvailable
        | ErrorKind::HostUnavailable
        | ErrorKind::PermissionDenied
        | ErrorKind::StreamInvalidated => flags.lost.store(true, Ordering::Relaxed),
        // Of these it recovers, or it stops asking for samples.
        _ => {}
    };
    device.build_output_stream(config, fill, mind, None)
}
