//! What a run cost: the deepest stack.

/// What cortex-m-rt fills the stack with at the start.
const PAINT: u32 = 0xcccc_cccc;

/// Where RAM begins, see `memory.x`.
const RAM: usize = 0x2000_0000;

unsafe extern "C" {
    static _stack_end: u32;
    static _stack_start: u32;
}

/// The deepest that the stack has been since the start or since [`paint_stack`], in bytes: it
/// reaches down to the first word that has lost its paint.
pub fn stack_used() -> usize {
    let (mut word, top) = (&raw const _stack_end, &raw const _stack_start);
    // SAFETY: both ends are the linker script's, and everything between them is RAM that
    // belongs to the stack.
    while word < top && unsafe { word.read_volatile() } == PAINT {
        word = word.wrapping_add(1);
    }
    top.addr() - word.addr()
}

/// What statics take of the RAM, in bytes. The stack has the rest.
pub fn static_ram() -> usize {
    (&raw const _stack_end).addr() - RAM
}

/// How deep the stack is here, in bytes.
#[inline(never)]
pub fn stack_here() -> usize {
    let here = 0_u32;
    (&raw const _stack_start).addr() - (&raw const here).addr()
}

/// Paints what is not in use, to measure anew from here.
#[inline(never)]
pub fn paint_stack() {
    /// More than this function and an exception's frame take. Our default.
    const SPARED: usize = 256;
    let here = 0_u32;
    let in_use = (&raw const here).addr() - SPARED;
    let mut word = (&raw const _stack_end).cast_mut();
    while word.addr() < in_use {
        // SAFETY: from the linker script's end of the stack to below all frames in use.
        unsafe { word.write_volatile(PAINT) };
        word = word.wrapping_add(1);
    }
}
