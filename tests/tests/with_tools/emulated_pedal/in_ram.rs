//! What runs on a board while its flash is busy: nothing of it may lie in flash, or call into it, or read there.
//!
//! The machine code of the image is read: where it calls, and which addresses it holds (Armv6-M and Armv8-M
//! architecture reference manuals, Thumb instruction encodings).

use std::collections::BTreeSet;
use xtask::elf::{self, Function};
use xtask::pedal;

/// What runs then, as in the sources of the board: the UART's interrupt, and what works on the flash.
const ROOTS: [&str; 2] = ["4midi7on_byte", "10flash_work6in_ram"];

/// Flash as a program sees it, and RAM (RP2040 datasheet, 2.2; the same in the RP2350).
const FLASH: std::ops::Range<u32> = 0x1000_0000..0x2000_0000;
const RAM: std::ops::Range<u32> = 0x2000_0000..0x2100_0000;

/// What is wrong with the code that begins with these functions; how many functions were looked at.
fn faults(functions: &[Function], roots: &[&str]) -> (Vec<String>, usize) {
    let mut faults = Vec::new();
    let mut open: Vec<&Function> = Vec::new();
    for root in roots {
        // What a linker puts in front of a function that is far away has its name with another before it.
        let is_own = |name: &str| name.ends_with(root) && !name.starts_with("__");
        let own = functions.iter().filter(|function| is_own(&function.name));
        let before = open.len();
        open.extend(own);
        if open.len() == before {
            faults.push(format!("there is no {root}"));
        }
    }
    let mut seen = BTreeSet::new();
    while let Some(function) = open.pop() {
        if !seen.insert(function.address) {
            continue;
        }
        if !RAM.contains::<u32>(&function.address) {
            faults.push(format!("{} is not in RAM: {:#x}", function.name, function.address));
            continue;
        }
        let Reads { calls, words } = reads(function);
        faults.extend(
            words
                .iter()
                .filter(|word| FLASH.contains::<u32>(word))
                .map(|word| format!("{} holds an address in flash: {word:#x}", function.name)),
        );
        for call in calls {
            let whose = |one: &&Function| {
                let end = one.address + one.bytes.len() as u32;
                (one.address..end).contains::<u32>(&call)
            };
            match functions.iter().find(whose) {
                Some(called) => open.push(called),
                None => faults.push(format!("{} calls {call:#x}", function.name)),
            }
        }
    }
    (faults, seen.len())
}

/// What a function has to do with other places.
struct Reads {
    /// Where it calls or goes on, beyond itself.
    calls: Vec<u32>,
    /// Words that it loads from between its code, and addresses that it puts together.
    words: Vec<u32>,
}

fn reads(function: &Function) -> Reads {
    let bytes = &function.bytes;
    let half = |at: usize| {
        let two = bytes.get(at..at + 2)?;
        Some(u32::from(u16::from_le_bytes([two[0], two[1]])))
    };
    let word = |at: usize| Some(half(at)? | half(at + 2)? << 16);
    let (mut calls, mut words, mut data) = (Vec::new(), Vec::new(), BTreeSet::new());
    let mut at = 0;
    while let Some(first) = half(at) {
        if data.contains(&(at & !3)) {
            at += 2;
            continue;
        }
        // Of two halves: 11101, 11110, 11111.
        let is_long = first >> 11 > 0b11100;
        let second = if is_long { half(at + 2).unwrap_or(0) } else { 0 };
        let after = function.address as usize + at + 4;
        // LDR from between the code, short and long.
        let offset = match () {
            () if first >> 11 == 0b01001 => Some((first & 0xff) << 2),
            () if first == 0xf8df => Some(second & 0xfff),
            () => None,
        };
        if let Some(offset) = offset {
            let place = (after & !3) - function.address as usize + offset as usize;
            data.insert(place & !3);
            words.extend(word(place));
        }
        // MOVT: the upper half of an address.
        if is_long && first & 0xfbf0 == 0xf2c0 {
            let upper =
                (first & 0xf) << 12 | (first & 0x400) << 1 | (second & 0x7000) >> 4 | second & 0xff;
            words.push(upper << 16);
        }
        // BL and B, long.
        if first >> 11 == 0b11110 && second & 0x9000 == 0x9000 {
            let sign = first >> 10 & 1;
            let bit = |from: u32| second >> from & 1 ^ sign ^ 1;
            let distance =
                bit(13) << 23 | bit(11) << 22 | (first & 0x3ff) << 12 | (second & 0x7ff) << 1;
            let distance = ((distance | sign << 24) << 7) as i32 >> 7;
            let to = (after as u32).wrapping_add_signed(distance);
            let end = function.address + bytes.len() as u32;
            if to < function.address || to >= end {
                calls.push(to);
            }
        }
        at += if is_long { 4 } else { 2 };
    }
    Reads { calls, words }
}

pub(crate) fn what_runs_while_flash_is_busy_is_in_ram() {
    let (board, with) = pedal::BUILT;
    let file = std::fs::read(board.image(with)).expect("`cargo xtask test` builds it");
    let functions = elf::functions(&file).expect("an image");
    let (faults, looked_at) = faults(&functions, &ROOTS);
    println!("in RAM: {looked_at} functions");
    assert_eq!(faults, Vec::<String>::new());
}

pub(crate) fn what_is_not_in_ram_is_found() {
    let of = |name: &str, address: u32, halves: &[u16]| Function {
        name: name.to_owned(),
        address,
        bytes: halves.iter().flat_map(|half| half.to_le_bytes()).collect(),
    };
    let found = |functions: &[Function]| faults(functions, &["root"]).0;
    const RETURNS: u16 = 0x4770;
    let called = of("called", 0x2000_0100, &[RETURNS, RETURNS]);
    // BL to 0x2000_0100, and a word that is loaded: LDR r0, [pc, #0].
    let calls = |word: u32| {
        let word = [word as u16, (word >> 16) as u16];
        of("root", 0x2000_0000, &[0xf000, 0xf87e, 0x4800, RETURNS, word[0], word[1]])
    };
    assert_eq!(found(&[calls(0x4003_4000), called.clone()]), Vec::<String>::new());
    // A word that looks like a call is none.
    assert_eq!(found(&[calls(0xf87e_f000), called.clone()]), Vec::<String>::new());
    assert_eq!(
        found(&[calls(0x1000_2001), called.clone()]),
        ["root holds an address in flash: 0x10002001"]
    );
    assert_eq!(found(&[calls(0)]), ["root calls 0x20000100"]);
    // What is called is looked at, too: here the way into flash that a linker puts between.
    let way = of("way", 0x2000_0100, &[0x4800, 0x4700, 0x0101, 0x1000]);
    assert_eq!(found(&[calls(0), way]), ["way holds an address in flash: 0x10000101"]);
    let back = of("root", 0x2000_0104, &[0xf7ff, 0xfffc, RETURNS]);
    assert_eq!(found(&[back, called]), Vec::<String>::new());
    // MOVW and MOVT r0, 0x10002000.
    let high = of("root", 0x2000_0000, &[0xf242, 0x0000, 0xf2c1, 0x0000, RETURNS]);
    assert_eq!(found(&[high]), ["root holds an address in flash: 0x10000000"]);
    assert_eq!(found(&[of("root", 0x1000_0100, &[RETURNS])]), ["root is not in RAM: 0x10000100"]);
    assert_eq!(found(&[]), ["there is no root"]);
}
