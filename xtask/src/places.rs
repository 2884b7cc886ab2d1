//! Where things stand in the checkout.

use std::path::{Path, PathBuf};

/// The top of the checkout. Cargo says at run time where the package is, so that a target folder which
/// is copied into another clone works on that one; whoever runs a program by itself gets the place
/// where it was built.
pub fn root() -> PathBuf {
    let built = || PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    let package = std::env::var_os("CARGO_MANIFEST_DIR").map_or_else(built, PathBuf::from);
    package.parent().map_or_else(|| package.clone(), Path::to_path_buf)
}

/// The workspace of the firmware.
pub fn firmware() -> PathBuf {
    root().join("firmware-example")
}

/// The workspace of the boards that people build.
pub fn pico() -> PathBuf {
    firmware().join("boards").join("pico")
}

/// What the emulated practice must print, to the byte.
pub fn expected_practice() -> PathBuf {
    firmware().join("expected-practice.txt")
}

/// The program as the tests of the workspace build it.
pub fn program() -> PathBuf {
    let target =
        std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| "target".into(), PathBuf::from);
    let name = format!("evenhand{}", std::env::consts::EXE_SUFFIX);
    root().join(target).join("debug").join(name)
}

/// Everything built for other processors. It stands beside the host's files whatever
/// `CARGO_TARGET_DIR` says, so that tests find the images.
pub fn embedded_target() -> PathBuf {
    root().join("target").join("embedded")
}

/// The pedal's images and files for its boards.
pub fn pedal_images() -> PathBuf {
    root().join("target").join("pedal")
}

/// The Python environment with the outside references.
pub fn outside() -> PathBuf {
    root().join("target").join("outside")
}
