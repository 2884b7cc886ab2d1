//! The computer's side: questions into frames, frames into answers.

use super::frame::{Frame, Head, Incoming, Kind, LINK_VERSION};
use super::message::{Answer, Question};

/// Why a frame is no answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unanswered {
    /// The pedal speaks this version of the protocol, and not ours.
    OtherVersion(u8),
    /// It answered in a way that this program does not know.
    NotUnderstood,
    /// The question came back as it was: that is no pedal, but a cable that leads back.
    Echo,
}

/// Asks one question at a time. When nothing comes back in time, ask [`again`](Computer::again).
#[derive(Debug)]
pub struct Computer {
    incoming: Incoming,
    question: Frame,
    session: u32,
    number: u32,
}

impl Computer {
    /// A session. Its number should be another one each time; the time will do.
    pub const fn new(session: u32) -> Self {
        Self { incoming: Incoming::NEW, question: Frame::EMPTY, session, number: 0 }
    }

    /// The bytes to send for a question. A session begins with [`Question::Hello`]. `None` if
    /// the question is too long: more than [`DATA`](super::DATA) bytes.
    pub fn ask(&mut self, question: &Question<'_>) -> Option<&[u8]> {
        self.number = self.number.saturating_add(1);
        let head = Head {
            version: LINK_VERSION,
            kind: Kind::Question,
            session: self.session,
            number: self.number,
        };
        self.question.make(head, Some(question))?;
        Some(self.question.bytes())
    }

    /// The bytes of the last question once more.
    pub fn again(&self) -> &[u8] {
        self.question.bytes()
    }

    /// Takes a byte from the cable. Gives the answer to the last question when it is complete;
    /// answers to earlier ones are passed over.
    pub fn push(&mut self, byte: u8) -> Option<Result<Answer<'_>, Unanswered>> {
        let (head, body) = self.incoming.push(byte)?;
        if head.session != self.session || head.number != self.number {
            return None;
        }
        Some(match head.kind {
            Kind::OtherVersion => Err(Unanswered::OtherVersion(head.version)),
            Kind::Question => Err(Unanswered::Echo),
            Kind::Answer if head.version != LINK_VERSION => {
                Err(Unanswered::OtherVersion(head.version))
            }
            Kind::Answer => match postcard::take_from_bytes::<Answer<'_>>(body) {
                Ok((answer, [])) => Ok(answer),
                _ => Err(Unanswered::NotUnderstood),
            },
        })
    }
}
