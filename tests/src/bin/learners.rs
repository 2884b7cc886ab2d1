//! `learners [SITTINGS [BASE]]`: what becomes of simulated learners in twenty minutes.

use evenhand_tests::learners::table;
use std::error::Error;
use std::io::Write;

fn main() -> Result<(), Box<dyn Error>> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let number = |at: usize, default: u64| words.get(at).map_or(Ok(default), |word| word.parse());
    let table = table(number(0, 20)?, number(1, 0)?);
    std::io::stdout().lock().write_all(table.as_bytes())?;
    Ok(())
}
