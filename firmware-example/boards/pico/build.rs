//! Tells the linker where the board's memory is, which depends on the processor.

use std::{env, fs, path::PathBuf};

fn main() {
    let processor = if env::var_os("CARGO_FEATURE_RP2350").is_some() { "rp2350" } else { "rp2040" };
    let file = format!("memory-{processor}.x");
    println!("cargo:rerun-if-changed={file}");
    println!("cargo:rerun-if-changed=build.rs");
    let folder = PathBuf::from(env::var_os("OUT_DIR").expect("cargo names a folder"));
    fs::copy(&file, folder.join("memory.x")).expect("the folder can be written to");
    println!("cargo:rustc-link-search={}", folder.display());
    println!("cargo:rustc-link-arg-bins=--nmagic");
    println!("cargo:rustc-link-arg-bins=-Tlink.x");
    if processor == "rp2040" {
        println!("cargo:rustc-link-arg-bins=-Tlink-rp.x");
    }
    if env::var_os("CARGO_FEATURE_DEFMT").is_some() {
        println!("cargo:rustc-link-arg-bins=-Tdefmt.x");
    }
}
