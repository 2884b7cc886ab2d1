//! One table of capacities and ranges. Checks, array sizes and messages all come from here.

/// Expected notes in one chunk, at most.
pub const EXPECTED_NOTES: usize = 256;

/// Played notes in one attempt, at most. What comes after them is counted, not judged.
pub const PLAYED_NOTES: usize = 512;

/// Notes that begin together (an *event*), at most. Six strings give six; eight leave room
/// for instruments with more.
pub const NOTES_TOGETHER: usize = 8;

/// Findings in one verdict, at most; the lightest give way.
pub const FINDINGS: usize = 24;

/// Fewer expected notes than this cannot be told from chance, so they are no chunk.
pub const FEWEST_EXPECTED_NOTES: usize = 1;

/// What the alignment has for its back-pointers, in bytes for each expected note that a session has
/// room for: it takes two bits for each expected note and each played one, so this holds 128 played
/// notes of the longest chunk that there is room for, and more of a shorter one. Where an attempt
/// takes more, judging it aligns its first notes once more. Our default.
pub const STEPS_BYTES_A_NOTE: usize = 32;

/// The longest chunk, in quarter notes: long enough for 256 slow notes, short enough that
/// every distance in it fits [`Offset`](crate::units::Offset) at the slowest tempo.
pub const CHUNK_QUARTERS: u32 = 340;

/// The working memory of one [`Session`](crate::session::Session), at most, in bytes.
pub const SESSION_BYTES: usize = 32 * 1024;

/// Chunks in one study, at most: a hundred bars in halves. Our default.
pub const CHUNKS: usize = 200;

/// Pieces that practice makes of a chunk, at most: itself, its two halves, the join to the next
/// chunk, and the notes around that seam.
pub const PIECES_A_CHUNK: usize = 5;

/// What practice keeps of one piece, at most, in bytes.
pub const PIECE_BYTES: usize = 72;

/// Pieces of practice of the longest study.
pub const PIECES: usize = CHUNKS * PIECES_A_CHUNK;

/// The longest name or title in a pack, in bytes: 80 letters of four bytes each.
pub const NAME_BYTES: usize = 320;

/// Other fingerings of one chunk in a pack, at most. Our default.
pub const FINGERINGS: u8 = 8;

/// Voices of one chunk in a pack, at most: as many as an instrument has strings.
pub const VOICES: usize = 8;

/// The longest pack, in bytes: half of the flash of common small boards. Our default.
pub const PACK_BYTES: usize = 1024 * 1024;

/// Findings that a result keeps, at most; the lightest give way. Our default.
pub const RESULT_FINDINGS: usize = 6;

/// Played notes that a result keeps, at most; of a longer attempt it keeps none. Our default:
/// a result is read and written in one piece, and most attempts have fewer.
pub const RESULT_NOTES: usize = 128;

/// The longest result, in bytes. Every number of its body at its longest makes 2,000.
pub const RESULT_BYTES: usize = 2_048;
