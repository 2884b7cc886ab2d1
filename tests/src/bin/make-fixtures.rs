//! Writes the bundled recordings anew, and the page that says what is in them.

use evenhand_tests::performances::{chunks, file, takes};
use std::error::Error;
use std::fs;
use std::path::Path;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/performances");
    let chunks = chunks();
    for take in takes() {
        let path = folder.join(take.file).with_extension("mid");
        fs::write(&path, file(&take, &chunks))?;
        println!("{}: {}, {}", path.display(), take.chunk, take.text);
    }
    Ok(())
}
