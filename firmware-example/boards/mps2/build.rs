//! Tells the linker where the board's memory is. Here and not in RUSTFLAGS, which would
//! replace whatever the caller has set.

fn main() {
    // Only images are linked with it; checking the code on a computer is not.
    let bare = std::env::var("CARGO_CFG_TARGET_OS").is_ok_and(|os| os == "none");
    let folder = std::env::var("CARGO_MANIFEST_DIR").unwrap_or_default();
    println!("cargo:rerun-if-changed=memory.x");
    if bare {
        println!("cargo:rustc-link-search={folder}");
        println!("cargo:rustc-link-arg-bins=--nmagic");
        println!("cargo:rustc-link-arg-bins=-Tlink.x");
    }
}
