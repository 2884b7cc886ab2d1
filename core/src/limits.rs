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

/// The longest chunk, in quarter notes: long enough for 256 slow notes, short enough that
/// every distance in it fits [`Offset`](crate::units::Offset) at the slowest tempo.
pub const CHUNK_QUARTERS: u32 = 340;

/// The working memory of one [`Session`](crate::session::Session), at most, in bytes.
pub const SESSION_BYTES: usize = 60 * 1024;

/// Chunks in one study, at most: a hundred bars in halves. Our default.
pub const CHUNKS: usize = 200;

/// Pieces that practice makes of a chunk, at most: itself, its two halves, the join to the next
/// chunk, and the notes around that seam.
pub const PIECES_A_CHUNK: usize = 5;

/// What practice keeps of one piece, at most, in bytes.
pub const PIECE_BYTES: usize = 72;

/// Pieces of practice of the longest study.
pub const PIECES: usize = CHUNKS * PIECES_A_CHUNK;
