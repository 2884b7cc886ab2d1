//! A display that is not there: points in memory, and a picture of them as text.

use embedded_graphics::Pixel;
use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::{OriginDimensions, Size};
use embedded_graphics::pixelcolor::BinaryColor;
use std::convert::Infallible;

const WIDTH: usize = 128;
const HEIGHT: usize = 64;

/// 128 by 64 points.
#[derive(Clone, PartialEq, Eq)]
pub(crate) struct Frame {
    lit: Vec<bool>,
    /// Points that were written to, also with what was there.
    pub(crate) written: usize,
    /// Points that were beside it.
    pub(crate) beside: usize,
}

impl Frame {
    /// What a display shows before anything is drawn is left to chance.
    pub(crate) fn new() -> Self {
        let lit = (0..WIDTH * HEIGHT).map(|point| point % 3 == 0).collect();
        Self { lit, written: 0, beside: 0 }
    }

    /// Two rows of points in a line of text, in a frame.
    pub(crate) fn picture(&self) -> String {
        let edge = format!("+{}+\n", "-".repeat(WIDTH));
        let rows: String = (0..HEIGHT / 2)
            .map(|row| {
                let letter = |x: usize| {
                    let upper = self.lit[2 * row * WIDTH + x];
                    let lower = self.lit[(2 * row + 1) * WIDTH + x];
                    match (upper, lower) {
                        (true, true) => '\u{2588}',
                        (true, false) => '\u{2580}',
                        (false, true) => '\u{2584}',
                        (false, false) => ' ',
                    }
                };
                format!("|{}|\n", (0..WIDTH).map(letter).collect::<String>())
            })
            .collect();
        format!("{edge}{rows}{edge}")
    }
}

impl OriginDimensions for Frame {
    fn size(&self) -> Size {
        Size::new(WIDTH as u32, HEIGHT as u32)
    }
}

impl DrawTarget for Frame {
    type Color = BinaryColor;
    type Error = Infallible;

    fn draw_iter<I: IntoIterator<Item = Pixel<BinaryColor>>>(
        &mut self,
        pixels: I,
    ) -> Result<(), Infallible> {
        for Pixel(point, color) in pixels {
            match (usize::try_from(point.x), usize::try_from(point.y)) {
                (Ok(x), Ok(y)) if x < WIDTH && y < HEIGHT => {
                    self.lit[y * WIDTH + x] = color.is_on();
                    self.written += 1;
                }
                _ => self.beside += 1,
            }
        }
        Ok(())
    }
}
