//! What the pedal waits for, the click, and what a display is told.

use embassy_rp::Peri;
use embassy_rp::peripherals::{PIN_20, PWM_SLICE2};
use embassy_rp::pwm::{Config, Pwm};
use evenhand_core::units::{Instant, Offset};
use evenhand_pedal::board::{Board, BoardEvent};
#[cfg(feature = "display")]
use evenhand_pedal::display::PageWriter;
#[cfg(any(feature = "defmt", feature = "display"))]
use evenhand_pedal::observer::Judgement;
use evenhand_pedal::observer::Observer;
#[cfg(feature = "display")]
use {
    evenhand_core::practice::{Step, Task},
    evenhand_core::study::Chunk,
    evenhand_pedal::lights::View,
};

#[cfg(feature = "display")]
use crate::display;
#[cfg(feature = "midi-click")]
use crate::notes::Notes;
use crate::waiting::Came;
use crate::{link, midi, watch};

/// Switches are looked at so often. Our default: a bounce lasts longer.
const LOOK: Offset = Offset::from_millis(1);
/// How long a click sounds, and how high: our defaults, heard well from a small piezo disc.
const CLICK: Offset = Offset::from_millis(15);
const STRONG_HERTZ: u32 = 3_000;
const WEAK_HERTZ: u32 = 2_000;
/// The PWM counts at a sixty-fourth of the clock, so that a period fits its sixteen bits.
const DIVIDER: u8 = 64;

/// The time since the start.
pub fn now() -> Instant {
    Instant::from_micros(embassy_time::Instant::now().as_micros())
}

/// The board.
pub struct PicoBoard {
    pwm: Pwm<'static>,
    silent_at: Option<Instant>,
    #[cfg(feature = "midi-click")]
    notes: Notes,
    #[cfg(feature = "display")]
    page_writer: PageWriter,
}

impl PicoBoard {
    /// A board with a piezo disc at this pin; without one nothing is missing but the click.
    pub fn new(slice: Peri<'static, PWM_SLICE2>, pin: Peri<'static, PIN_20>) -> Self {
        Self {
            pwm: Pwm::new_output_a(slice, pin, silence()),
            silent_at: None,
            #[cfg(feature = "midi-click")]
            notes: Notes::new(),
            #[cfg(feature = "display")]
            page_writer: PageWriter::new(),
        }
    }
}

fn silence() -> Config {
    let mut config = Config::default();
    config.compare_a = 0;
    config
}

fn tone(hertz: u32) -> Config {
    let mut config = Config::default();
    config.divider = DIVIDER.into();
    let period = embassy_rp::clocks::clk_sys_freq() / u32::from(DIVIDER) / hertz;
    config.top = u16::try_from(period).unwrap_or(u16::MAX);
    config.compare_a = config.top / 2;
    config
}

impl Observer for PicoBoard {
    fn click(&mut self, strong: bool, at: Instant) {
        self.pwm.set_config(&tone(if strong { STRONG_HERTZ } else { WEAK_HERTZ }));
        self.silent_at = Some(at.plus(CLICK));
        #[cfg(feature = "midi-click")]
        self.notes.begin(strong, at);
        #[cfg(feature = "display")]
        self.page_writer.click(strong);
    }

    #[cfg(any(feature = "defmt", feature = "display"))]
    fn judged(&mut self, judgement: &Judgement<'_>) {
        #[cfg(feature = "defmt")]
        defmt::info!("{} at {}", judgement.verdict.outcome, judgement.task);
        #[cfg(feature = "display")]
        self.page_writer.judged(judgement);
    }

    #[cfg(feature = "display")]
    fn next(&mut self, step: &Step, _at: Instant) {
        self.page_writer.next(step);
    }

    #[cfg(feature = "display")]
    fn show_task(&mut self, task: &Task, chunk: &Chunk<'_>) {
        self.page_writer.show_task(task, chunk);
    }
}

impl Board for PicoBoard {
    fn wait(&mut self, until: Option<Instant>) -> BoardEvent {
        watch::feed();
        let look = now().plus(LOOK);
        let until = until.map_or(look, |until| until.min(look));
        loop {
            let at = now();
            if self.silent_at.is_some_and(|end| end <= at) {
                self.silent_at = None;
                self.pwm.set_config(&silence());
            }
            #[cfg(feature = "midi-click")]
            self.notes.go_on(at);
            match midi::next() {
                Some(Came::Byte(byte, micros)) => {
                    return BoardEvent::Midi { byte, at: Instant::from_micros(micros) };
                }
                Some(Came::Lost) => return BoardEvent::Lost { at },
                None => {}
            }
            if let Some(byte) = link::next() {
                return BoardEvent::Link { byte, at };
            }
            if at >= until {
                return BoardEvent::Nothing { at };
            }
        }
    }

    fn send(&mut self, frame: &[u8]) {
        link::send(frame);
    }

    #[cfg(feature = "display")]
    fn study(&mut self, study: u8, of: u8, title: &str) {
        self.page_writer.study(study, of, title);
    }

    #[cfg(feature = "display")]
    fn look(&mut self, view: View, _now: Instant) {
        if self.page_writer.look(view) {
            display::show(self.page_writer.page());
        }
    }
}
