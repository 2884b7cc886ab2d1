//! The terminal while the page is on it. Whatever ends the program, it gets its own state back.

#![expect(clippy::disallowed_methods, reason = "the page takes the whole terminal; see `draw`")]

use super::draw::{TerminalStyle, draw};
use super::page::Page;
use ratatui::backend::CrosstermBackend;
use ratatui::crossterm::cursor::{Hide, Show};
use ratatui::crossterm::event::{self, Event, KeyCode, KeyEventKind, KeyModifiers};
use ratatui::crossterm::execute;
use ratatui::crossterm::terminal::{
    EnterAlternateScreen, LeaveAlternateScreen, disable_raw_mode, enable_raw_mode,
};
use std::io::{self, Stdout, Write};
use std::sync::Once;
use std::time::Duration;

/// What a key says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Key {
    /// A character.
    Char(char),
    /// Space, return or escape, arrows and page keys of page turners.
    Named(&'static str),
    /// Control and C: stop.
    Interrupt,
    /// The terminal has another size.
    Resized,
}

/// The terminal with the page on it.
pub struct Terminal {
    screen: ratatui::Terminal<CrosstermBackend<Stdout>>,
    look: TerminalStyle,
    shown: Option<Page>,
}

impl Terminal {
    /// Takes the terminal.
    pub fn open(look: TerminalStyle) -> io::Result<Self> {
        restore_on_panic();
        enable_raw_mode()?;
        // From here on it has to be given back.
        let opened = execute!(io::stdout(), EnterAlternateScreen, Hide)
            .and_then(|()| ratatui::Terminal::new(CrosstermBackend::new(io::stdout())));
        match opened {
            Ok(screen) => Ok(Self { screen, look, shown: None }),
            Err(error) => {
                give_back();
                Err(error)
            }
        }
    }

    /// Shows a page, if it is not the one that is shown.
    pub fn show(&mut self, page: &Page) -> io::Result<()> {
        if self.shown.as_ref() == Some(page) {
            return Ok(());
        }
        let look = self.look;
        self.screen.draw(|frame| draw(page, look, frame.area(), frame.buffer_mut()))?;
        self.shown = Some(page.clone());
        Ok(())
    }

    /// Columns that a picture on the page may take.
    pub fn columns(&self) -> usize {
        self.screen.size().map_or(80, |size| usize::from(size.width)).saturating_sub(2)
    }

    /// The page has to be drawn anew, since the terminal has changed.
    pub fn forget(&mut self) {
        self.shown = None;
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        give_back();
    }
}

/// The keyboard without a page: keys come as they are pressed, and are not shown.
pub struct Keys(());

impl Keys {
    /// Takes the keyboard.
    pub fn take() -> io::Result<Self> {
        enable_raw_mode()?;
        Ok(Self(()))
    }
}

impl Drop for Keys {
    fn drop(&mut self) {
        let _ = disable_raw_mode();
    }
}

/// Waits for a key, at most so long. Keys come from wherever the terminal's come. A terminal that
/// is gone is an interrupt.
pub fn key(wait: Duration) -> io::Result<Option<Key>> {
    // The library would look for keys at its end for ever.
    if is_gone() {
        return Ok(Some(Key::Interrupt));
    }
    if !event::poll(wait)? {
        return Ok(None);
    }
    Ok(match event::read()? {
        Event::Resize(..) => Some(Key::Resized),
        Event::Key(key) if key.kind != KeyEventKind::Release => match key.code {
            KeyCode::Char('c' | 'd') if key.modifiers.contains(KeyModifiers::CONTROL) => {
                Some(Key::Interrupt)
            }
            KeyCode::Char(' ') => Some(Key::Named("space")),
            KeyCode::Char(letter) => Some(Key::Char(letter.to_ascii_lowercase())),
            KeyCode::Enter => Some(Key::Named("return")),
            KeyCode::Esc => Some(Key::Named("escape")),
            KeyCode::Left => Some(Key::Named("left")),
            KeyCode::Right => Some(Key::Named("right")),
            KeyCode::Up => Some(Key::Named("up")),
            KeyCode::Down => Some(Key::Named("down")),
            KeyCode::PageUp => Some(Key::Named("page up")),
            KeyCode::PageDown => Some(Key::Named("page down")),
            _ => None,
        },
        _ => None,
    })
}

/// Whether the terminal has been closed, or the line to it is cut.
#[cfg(unix)]
fn is_gone() -> bool {
    use rustix::event::{PollFd, PollFlags, Timespec, poll};
    let input = rustix::stdio::stdin();
    let mut looked = [PollFd::new(&input, PollFlags::IN)];
    let at_once = Timespec { tv_sec: 0, tv_nsec: 0 };
    poll(&mut looked, Some(&at_once)).is_ok()
        && looked[0].revents().intersects(PollFlags::HUP | PollFlags::ERR | PollFlags::NVAL)
}

#[cfg(not(unix))]
const fn is_gone() -> bool {
    false
}

fn give_back() {
    // Nothing can be done where this fails, and the shell can still be reset.
    let _ = disable_raw_mode();
    let _ = execute!(io::stdout(), LeaveAlternateScreen, Show);
    let _ = io::stdout().flush();
}

/// A panic's message has to be readable, and the terminal usable after it.
fn restore_on_panic() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        let before = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |panic| {
            give_back();
            before(panic);
        }));
    });
}
