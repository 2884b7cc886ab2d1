//! A page as points. Whole numbers only.

use embedded_graphics::Drawable;
use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::{Point, Size};
use embedded_graphics::mono_font::iso_8859_1::{FONT_6X10, FONT_10X20};
use embedded_graphics::mono_font::{MonoFont, MonoTextStyle};
use embedded_graphics::pixelcolor::BinaryColor;
use embedded_graphics::primitives::Rectangle;
use embedded_graphics::text::{Baseline, Text};

use super::page::Page;

/// Points from side to side.
const WIDTH: u32 = 128;
/// Where the small lines begin, from the top.
const TOP: [i32; 2] = [0, 10];
const LOW: [i32; 2] = [44, 54];
/// Where the large word begins: at a band of eight points, as displays take them, so that it is
/// sent in three.
const WORD: i32 = 24;
/// A thin line under what is to be played.
const RULE: i32 = 21;

impl Page {
    /// Draws the page. With the page that stands on the display, only what differs is drawn.
    ///
    /// # Errors
    /// Only what the display gives; what it shows is not known then, so draw all of it next.
    pub fn draw<D>(&self, before: Option<&Self>, display: &mut D) -> Result<(), D::Error>
    where
        D: DrawTarget<Color = BinaryColor>,
    {
        let mut row = 0;
        while self.draw_row(row, before, display)? {
            row += 1;
        }
        Ok(())
    }

    /// Draws one of the rows, counted from 0, if it differs, so that a slow display can be drawn
    /// to in steps. `false` behind the last row.
    ///
    /// # Errors
    /// As for [`draw`](Self::draw).
    pub fn draw_row<D>(
        &self,
        row: usize,
        before: Option<&Self>,
        display: &mut D,
    ) -> Result<bool, D::Error>
    where
        D: DrawTarget<Color = BinaryColor>,
    {
        let ([first, second], [third, fourth]) = (&self.top, &self.low);
        let rows = [
            (first, &FONT_6X10, TOP[0]),
            (second, &FONT_6X10, TOP[1]),
            (&self.word, &FONT_10X20, WORD),
            (third, &FONT_6X10, LOW[0]),
            (fourth, &FONT_6X10, LOW[1]),
        ];
        let Some((line, font, at)) = rows.get(row) else { return Ok(false) };
        if before.is_none() && row == 0 {
            display.clear(BinaryColor::Off)?;
            let rule = Rectangle::new(Point::new(0, RULE), Size::new(WIDTH, 1));
            display.fill_solid(&rule, BinaryColor::On)?;
        }
        if before.is_some_and(|before| before.row(row) == Some(line.as_str())) {
            return Ok(true);
        }
        write(line.as_str(), font, *at, display)?;
        Ok(true)
    }

    fn row(&self, row: usize) -> Option<&str> {
        let ([first, second], [third, fourth]) = (&self.top, &self.low);
        let rows = [first, second, &self.word, third, fourth];
        rows.get(row).map(|line| line.as_str())
    }
}

fn write<D: DrawTarget<Color = BinaryColor>>(
    text: &str,
    font: &MonoFont<'_>,
    at: i32,
    display: &mut D,
) -> Result<(), D::Error> {
    let band = Rectangle::new(Point::new(0, at), Size::new(WIDTH, font.character_size.height));
    display.fill_solid(&band, BinaryColor::Off)?;
    let style = MonoTextStyle::new(font, BinaryColor::On);
    Text::with_baseline(text, Point::new(0, at), style, Baseline::Top).draw(display)?;
    Ok(())
}
