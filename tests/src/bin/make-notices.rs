//! Writes the notices of the libraries that are in the program: `cargo xtask notices`.

use evenhand_tests::dependencies::{Allowed, NOTICES, notices, shipped};
use evenhand_tests::program::workspace;

fn main() -> std::io::Result<()> {
    std::fs::write(workspace().join(NOTICES), notices(&shipped(), &Allowed::kept()))
}
