//! The way between a computer and a pedal: questions and answers over any stream of bytes.
//!
//! The computer asks, the pedal answers, one question at a time. A question that got no answer
//! is asked again; the pedal does each only once, and sends the answer that it gave. A pack comes
//! in pieces, and the pedal says which it wants next, so that a transfer goes on where a pulled
//! cable cut it. Nothing is kept before it is whole and was opened; nothing is forgotten before
//! the computer says so.
//!
//! Frames are COBS (Cheshire and Baker 1999) between zero bytes, with a CRC-32; `docs/pedal-link.md`
//! has every byte. [`Device`] is the pedal's side, over a [`Store`]; [`Computer`] the other.
//!
//! ```
//! use evenhand_core::link::{Answer, Computer, Device, Question, Store};
//! use evenhand_core::units::Seconds;
//! # fn example(store: &mut impl Store) -> Option<()> {
//! let mut computer = Computer::new(1);
//! let mut device = Device::new();
//! let asked = computer.ask(&Question::Hello)?.to_vec();
//! for byte in &asked {
//!     // On a board: each byte from the cable, and what is given back goes out on it.
//!     if let Some(frame) = device.push(*byte, store, Seconds::new(12)) {
//!         for byte in frame.to_vec() {
//!             if let Some(Ok(Answer::Hello(hello))) = computer.push(byte) {
//!                 assert_eq!(hello.seconds, 12);
//!             }
//!         }
//!     }
//! }
//! # Some(()) }
//! ```

mod computer;
mod device;
mod frame;
mod message;
mod store;
#[cfg(test)]
mod tests;

pub use computer::{Computer, Unanswered};
pub use device::Device;
pub use frame::{BODY, FRAME, LINK_VERSION};
pub use message::{Answer, DATA, Hello, NAME, PackId, Question, Refusal, Stopped, Troubles};
pub use store::{PedalInfo, Store, StoreProblem};
