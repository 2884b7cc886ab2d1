//! A conversation with a pedal.

use super::pipe::{Patience, Pipe};
use evenhand_core::limits::{PACK_BYTES, RESULT_BYTES};
use evenhand_core::link::{
    Answer, Computer, DATA, Hello, LINK_VERSION, PackId, Question, Refusal, Stopped, Troubles,
    Unanswered,
};
use evenhand_core::pack::Pack;
use std::io;
use std::time::Instant;
use thiserror::Error;

/// How often a question is asked after the pedal forgot the session, or wants the same piece.
const ANEW: u32 = 5;

/// More studies than this no pedal holds: a flash of twice the longest pack, in sectors of 4 KiB (the
/// smallest that common flash chips erase), one a pack at least. Our default.
const MOST_STUDIES: u16 = (2 * PACK_BYTES / 4_096) as u16;

/// Why a conversation ended.
#[derive(Debug, Error)]
pub enum LinkError {
    /// Nothing came back.
    #[error("nothing answers")]
    NoAnswer,
    /// The cable broke.
    #[error("the cable broke: {0}")]
    Broke(io::Error),
    /// The question itself came back.
    #[error("what is sent comes back as it was")]
    Echo,
    /// The pedal speaks this version of the protocol.
    #[error("the pedal speaks version {0} of the link, and this program version {LINK_VERSION}")]
    OtherVersion(u8),
    /// It answered what does not answer the question.
    #[error("it answers, but not to what it was asked")]
    Odd,
    /// It cannot do that.
    #[error("{}", words(*.0))]
    Refused(Refusal),
    /// It wants the same piece again and again.
    #[error("it asks for the same piece again and again")]
    Stuck,
    /// It lists more studies than a pedal can hold.
    #[error("its list of studies does not end; no pedal holds over {MOST_STUDIES}")]
    Endless,
}

/// Why a pedal cannot do something, in words.
fn words(refusal: Refusal) -> &'static str {
    match refusal {
        Refusal::NotUnderstood => "the pedal does not know this question",
        Refusal::NoSession => "the pedal forgets that it was greeted",
        Refusal::NoRoom => "there is no room for it on the pedal",
        Refusal::NotBegun => "the pedal forgets that a pack was coming",
        Refusal::Damaged => "what came in was damaged, and the pedal threw it away",
        Refusal::TooNew => "the pedal's firmware is too old for this pack",
        Refusal::NoSuchPack => "the pedal has no such study",
        Refusal::InUse => "the study is being practised on the pedal",
        Refusal::Memory => "the pedal's memory failed",
        _ => "the pedal refuses it, and this program is too old to know why",
    }
}

/// Who a pedal is, and what it has: [`Hello`] with texts of its own.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WhoItIs {
    /// The firmware's version.
    pub firmware: String,
    /// The board.
    pub board: String,
    /// A number that no other pedal has.
    pub device: u64,
    /// A number that changes when its memory is made anew.
    pub memory: u32,
    /// The longest pack that it can take now.
    pub free: u32,
    /// How many packs it has.
    pub packs: u16,
    /// The number of the oldest result that it keeps.
    pub oldest: u32,
    /// The number of its next result.
    pub next: u32,
    /// Its sitting.
    pub sitting: u32,
    /// Seconds since it was switched on.
    pub seconds: u32,
}

impl WhoItIs {
    fn of(hello: &Hello<'_>) -> Self {
        Self {
            firmware: hello.firmware.to_owned(),
            board: hello.board.to_owned(),
            device: hello.device,
            memory: hello.memory,
            free: hello.free,
            packs: hello.packs,
            oldest: hello.oldest,
            next: hello.next,
            sitting: hello.sitting,
            seconds: hello.seconds,
        }
    }
}

/// A study on a pedal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OnPedal {
    /// What it is.
    pub pack: PackId,
    /// Its title; none if the pedal finds it damaged.
    pub title: String,
}

/// What became of a pack.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Loaded {
    /// It was there already.
    WasThere,
    /// It was sent, from this byte on: more than 0 goes on where an earlier try ended.
    From(u32),
}

/// The bytes of a result.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fetched {
    /// Its number.
    pub number: u32,
    /// The result, as the pedal keeps it.
    pub bytes: Vec<u8>,
}

/// A pedal that answered.
pub struct Pedal<P> {
    pipe: P,
    computer: Computer,
    patience: Patience,
}

impl<P: Pipe> Pedal<P> {
    /// Greets whoever is at the other end. `session` should be another number each time.
    ///
    /// # Errors
    ///
    /// If nobody is there who understands.
    pub fn greet(pipe: P, session: u32, patience: Patience) -> Result<(Self, WhoItIs), LinkError> {
        let mut pedal = Self { pipe, computer: Computer::new(session), patience };
        let who = pedal.hello()?;
        Ok((pedal, who))
    }

    fn hello(&mut self) -> Result<WhoItIs, LinkError> {
        self.once(&Question::Hello, |answer| match answer {
            Answer::Hello(hello) => Ok(WhoItIs::of(&hello)),
            Answer::Refused(refusal) => Err(LinkError::Refused(refusal)),
            _ => Err(LinkError::Odd),
        })
    }

    /// The studies on the pedal.
    ///
    /// # Errors
    ///
    /// If it no longer answers, or there is no end of them.
    pub fn list(&mut self) -> Result<Vec<Option<OnPedal>>, LinkError> {
        let mut listed = Vec::new();
        for index in 0..=MOST_STUDIES {
            let found = self.ask(&Question::List { index }, |answer| match answer {
                Answer::Listed { pack, title } => {
                    Ok(Some(Some(OnPedal { pack, title: title.to_owned() })))
                }
                Answer::Refused(Refusal::Damaged) => Ok(Some(None)),
                Answer::Refused(Refusal::NoSuchPack) => Ok(None),
                Answer::Refused(refusal) => Err(LinkError::Refused(refusal)),
                _ => Err(LinkError::Odd),
            })?;
            match found {
                Some(pack) => listed.push(pack),
                None => return Ok(listed),
            }
        }
        Err(LinkError::Endless)
    }

    /// Tells the pedal the time.
    ///
    /// # Errors
    ///
    /// If it no longer answers.
    pub fn set_clock(&mut self, seconds: u32) -> Result<(), LinkError> {
        self.ask(&Question::Clock { seconds }, |answer| match answer {
            Answer::ClockSet | Answer::Refused(Refusal::NotUnderstood) => Ok(()),
            Answer::Refused(refusal) => Err(LinkError::Refused(refusal)),
            _ => Err(LinkError::Odd),
        })
    }

    /// What has gone wrong with the pedal; `None` if its firmware is too old to know.
    ///
    /// # Errors
    ///
    /// If it no longer answers.
    pub fn troubles(&mut self) -> Result<Option<Troubles>, LinkError> {
        self.ask(&Question::Troubles, |answer| match answer {
            Answer::Troubles { lost, stopped } => {
                Ok(Some(Troubles { lost, stopped: Stopped::of(stopped) }))
            }
            Answer::Refused(Refusal::NotUnderstood) => Ok(None),
            Answer::Refused(refusal) => Err(LinkError::Refused(refusal)),
            _ => Err(LinkError::Odd),
        })
    }

    /// Sends a pack, or what is missing of it; `tell` hears how much of it is there.
    ///
    /// # Errors
    ///
    /// If the pedal no longer answers or cannot take it. What it has is not lost: the next try
    /// goes on there.
    pub fn load(
        &mut self,
        pack: &Pack<'_>,
        mut tell: impl FnMut(u32),
    ) -> Result<Loaded, LinkError> {
        let bytes = pack.bytes();
        let length = u32::try_from(bytes.len()).unwrap_or(u32::MAX);
        let checksum = pack.checksum();
        let id = PackId { study: pack.study(), length, checksum };
        let mut began = None;
        for _ in 0..ANEW {
            let State::Wants(mut offset) = self.step(&Question::Begin(id), checksum)? else {
                return Ok(began.map_or(Loaded::WasThere, Loaded::From));
            };
            began.get_or_insert(offset);
            let mut same = 0;
            loop {
                tell(offset.min(length));
                let question = match bytes.get(offset as usize..) {
                    Some([]) => Question::End { checksum },
                    Some(rest) => {
                        let piece = rest.get(..DATA).unwrap_or(rest);
                        Question::Data { checksum, offset, bytes: piece }
                    }
                    None => return Err(LinkError::Odd),
                };
                match self.step(&question, checksum) {
                    Ok(State::Wants(next)) => {
                        same = if next > offset { 0 } else { same + 1 };
                        if same > ANEW {
                            return Err(LinkError::Stuck);
                        }
                        offset = next;
                    }
                    Ok(State::Stored) => return Ok(Loaded::From(began.unwrap_or(0))),
                    // It was switched off in between: from what it has kept.
                    Err(LinkError::Refused(Refusal::NotBegun)) => break,
                    Err(trouble) => return Err(trouble),
                }
            }
        }
        Err(LinkError::Refused(Refusal::NotBegun))
    }

    fn step(&mut self, question: &Question<'_>, of: u32) -> Result<State, LinkError> {
        self.ask(question, |answer| match answer {
            Answer::Want { checksum, offset } if checksum == of => Ok(State::Wants(offset)),
            Answer::Stored { checksum } if checksum == of => Ok(State::Stored),
            Answer::Refused(refusal) => Err(LinkError::Refused(refusal)),
            _ => Err(LinkError::Odd),
        })
    }

    /// Removes a study from the pedal; its results stay.
    ///
    /// # Errors
    ///
    /// If it no longer answers, or the study is in use.
    pub fn remove(&mut self, pack: PackId) -> Result<(), LinkError> {
        self.ask(&Question::Remove(pack), |answer| match answer {
            Answer::Removed => Ok(()),
            Answer::Refused(refusal) => Err(LinkError::Refused(refusal)),
            _ => Err(LinkError::Odd),
        })
    }

    /// Fetches a study's pack from the pedal.
    ///
    /// # Errors
    ///
    /// If it no longer answers, or the study is gone.
    pub fn read(&mut self, pack: PackId) -> Result<Vec<u8>, LinkError> {
        let length = pack.length as usize;
        if length > PACK_BYTES {
            return Err(LinkError::Odd);
        }
        let mut bytes: Vec<u8> = Vec::with_capacity(length);
        while bytes.len() < length {
            let offset = bytes.len() as u32;
            self.ask(&Question::Read { pack, offset }, |answer| match answer {
                Answer::Part { offset: at, bytes: piece } if at == offset && !piece.is_empty() => {
                    bytes.extend(piece);
                    Ok(())
                }
                Answer::Refused(refusal) => Err(LinkError::Refused(refusal)),
                _ => Err(LinkError::Odd),
            })?;
        }
        bytes.truncate(length);
        Ok(bytes)
    }

    /// Fetches the first result that has this number or a higher one.
    ///
    /// # Errors
    ///
    /// If the pedal no longer answers.
    pub fn result(&mut self, number: u32) -> Result<Option<Fetched>, LinkError> {
        let mut whole: Option<Fetched> = None;
        loop {
            let wanted = whole.as_ref().map_or(number, |fetched| fetched.number);
            let at = whole.as_ref().map_or(0, |fetched| fetched.bytes.len());
            let offset = u16::try_from(at).map_err(|_| LinkError::Odd)?;
            let piece =
                self.ask(&Question::Result { number: wanted, offset }, |answer| match answer {
                    Answer::Result { number, total, offset: from, bytes }
                        if number >= wanted
                            && from == offset
                            && !bytes.is_empty()
                            && usize::from(total) <= RESULT_BYTES =>
                    {
                        Ok(Some((number, usize::from(total), bytes.to_vec())))
                    }
                    Answer::NoResult { .. } => Ok(None),
                    Answer::Refused(refusal) => Err(LinkError::Refused(refusal)),
                    _ => Err(LinkError::Odd),
                })?;
            let Some((number, total, bytes)) = piece else { return Ok(None) };
            let fetched = whole.get_or_insert(Fetched { number, bytes: Vec::new() });
            if fetched.number != number {
                return Err(LinkError::Odd);
            }
            fetched.bytes.extend(bytes);
            if fetched.bytes.len() >= total {
                return Ok(whole);
            }
        }
    }

    /// Lets the pedal forget the results up to this number.
    ///
    /// # Errors
    ///
    /// If it no longer answers.
    pub fn forget(&mut self, up_to: u32) -> Result<(), LinkError> {
        self.ask(&Question::Forget { up_to }, |answer| match answer {
            Answer::Forgotten { .. } => Ok(()),
            Answer::Refused(refusal) => Err(LinkError::Refused(refusal)),
            _ => Err(LinkError::Odd),
        })
    }

    /// Asks, and greets the pedal again if it has forgotten the session.
    fn ask<T>(
        &mut self,
        question: &Question<'_>,
        mut read: impl FnMut(Answer<'_>) -> Result<T, LinkError>,
    ) -> Result<T, LinkError> {
        for _ in 0..ANEW {
            match self.once(question, &mut read) {
                Err(LinkError::Refused(Refusal::NoSession)) => {
                    self.hello()?;
                }
                other => return other,
            }
        }
        Err(LinkError::Refused(Refusal::NoSession))
    }

    fn once<T>(
        &mut self,
        question: &Question<'_>,
        mut read: impl FnMut(Answer<'_>) -> Result<T, LinkError>,
    ) -> Result<T, LinkError> {
        self.computer.ask(question).ok_or(LinkError::Odd)?;
        let mut buffer = [0; 512];
        let mut echoed = false;
        for _ in 0..self.patience.tries {
            self.pipe.send(self.computer.again()).map_err(LinkError::Broke)?;
            let until = Instant::now() + self.patience.wait;
            loop {
                let left = until.saturating_duration_since(Instant::now());
                if left.is_zero() {
                    break;
                }
                let length = self.pipe.receive(&mut buffer, left).map_err(LinkError::Broke)?;
                for byte in buffer.iter().take(length) {
                    match self.computer.push(*byte) {
                        None => {}
                        Some(Ok(answer)) => return read(answer),
                        // An answer may still follow: some lines echo what they are sent.
                        Some(Err(Unanswered::Echo)) => echoed = true,
                        Some(Err(Unanswered::OtherVersion(version))) => {
                            return Err(LinkError::OtherVersion(version));
                        }
                        Some(Err(Unanswered::NotUnderstood)) => return Err(LinkError::Odd),
                    }
                }
            }
        }
        Err(if echoed { LinkError::Echo } else { LinkError::NoAnswer })
    }
}

enum State {
    Wants(u32),
    Stored,
}
