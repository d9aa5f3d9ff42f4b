//! Stacked bands: their shades, their letters and the key below.

use super::pen::{ChartError, Hold, Letters, Pen, Point};
use super::style::{Ink, Width};

/// Shades of neighbouring bands, far apart so that they also differ in grey.
pub(super) const SHADES: [f64; 6] = [0.8, 0.35, 0.6, 0.2, 0.7, 0.3];

/// Fills a band between its lower and its upper edge.
pub(super) fn draw_band(
    pen: &Pen,
    floor: &[Point],
    roof: &[Point],
    shade: f64,
) -> Result<(), ChartError> {
    let around: Vec<Point> = roof.iter().chain(floor.iter().rev()).copied().collect();
    pen.fill(&around, Ink::Energy, shade)?;
    pen.line(roof, Ink::Paper, 1.0)
}

/// The letter of a band, where there is room for it.
pub(super) fn draw_letter(
    pen: &Pen,
    letter: char,
    floor: Point,
    roof: Point,
) -> Result<(), ChartError> {
    if floor.1 - roof.1 < 13.0 {
        return Ok(());
    }
    let centre = (floor.0, f64::midpoint(floor.1, roof.1));
    // Background under the letter keeps it legible on every shade.
    pen.block(
        (centre.0 - 7.0, centre.1 - 7.0),
        (centre.0 + 7.0, centre.1 + 7.0),
        Ink::Paper,
        0.85,
    )?;
    let letters = Letters::note(Hold::Middle).in_ink(Ink::Text).bold();
    pen.write(&letter.to_string(), centre, letters)
}

const fn key_columns(width: Width) -> usize {
    if width.is_narrow() { 1 } else { 2 }
}

/// Height of a key with this number of entries. (px)
pub(super) const fn key_height(width: Width, entries: usize) -> i32 {
    (entries.div_ceil(key_columns(width)) * 20) as i32 + 6
}

/// The key of the bands, and last of the line over them.
pub(super) fn draw_key(
    pen: &Pen,
    top: f64,
    bands: &[String],
    line: &str,
) -> Result<(), ChartError> {
    let columns = key_columns(pen.width);
    let across = (f64::from(pen.width.px()) - 20.0) / columns as f64;
    let place = |entry: usize| {
        let x = 12.0 + (entry % columns) as f64 * across;
        (x, top + (entry / columns) as f64 * 20.0)
    };
    for (entry, (words, shade)) in bands.iter().zip(SHADES).enumerate() {
        let (x, y) = place(entry);
        pen.block((x, y - 6.0), (x + 22.0, y + 6.0), Ink::Energy, shade)?;
        let letters = Letters::note(Hold::Left).in_ink(Ink::Text);
        pen.write(words, (x + 28.0, y), letters)?;
    }
    let (x, y) = place(bands.len());
    pen.line(&[(x, y), (x + 22.0, y)], Ink::Strong, 2.25)?;
    let letters = Letters::note(Hold::Left).in_ink(Ink::Text);
    pen.write(line, (x + 28.0, y), letters)
}
