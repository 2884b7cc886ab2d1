//! Whether the disk has room for a build. A compiler that runs out of it in the middle says so
//! in a way that looks like a fault of ours, and after ten minutes.

use std::path::Path;
use std::process::Command;

use crate::places;
use crate::process::{Stop, answer};

/// What `cargo xtask test` writes from nothing: 4.2 GiB when last measured, half a gigabyte for the
/// boards that people build, and some to spare.
const NEEDED_MIB: u64 = 5 * 1024 + 512;

/// Stops if too little is free for everything to be built from nothing. Where half of it is
/// there from an earlier run, less is enough, so a folder with builds in it is believed.
pub(crate) fn enough() -> Result<(), Stop> {
    let root = places::root();
    if root.join("target").join("embedded").is_dir() {
        return Ok(());
    }
    free_mib(&root).map_or(Ok(()), judge)
}

fn judge(free_mib: u64) -> Result<(), Stop> {
    if free_mib >= NEEDED_MIB {
        return Ok(());
    }
    Err(Stop::Missing {
        what: format!("{free_mib} MiB of disk are free, and everything takes {NEEDED_MIB}."),
        how: "delete what you can spare, or check out on a larger disk".to_owned(),
    })
}

/// What is free where `folder` lies; `None` where nothing tells.
fn free_mib(folder: &Path) -> Option<u64> {
    let table = answer(Command::new("df").arg("-Pk").arg(folder))?;
    available_kib(&table).map(|kib| kib / 1024)
}

/// The fourth column of the second line, as POSIX lays `df -P` down.
fn available_kib(table: &str) -> Option<u64> {
    table.lines().nth(1)?.split_whitespace().nth(3)?.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_free_space_is_read_from_the_table() {
        let table = "Filesystem     1024-blocks     Used Available Capacity Mounted on\n\
                     /dev/disk        263960000 26000000  68000000      28% /\n";
        assert_eq!(available_kib(table), Some(68_000_000));
        assert_eq!(available_kib("df: no such thing"), None);
    }

    #[test]
    fn too_little_stops_before_anything_is_built() {
        assert!(judge(NEEDED_MIB).is_ok());
        let stop = judge(300).expect_err("300 MiB are too little");
        assert_eq!(stop.code(), 3);
        assert!(stop.to_string().starts_with("300 MiB of disk are free"), "{stop}");
    }
}
