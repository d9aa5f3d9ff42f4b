//! The day of maximum demand, with the meters below it stacked.

use chrono_tz::Tz;

use super::axis::{draw_times, draw_values, headroom, local, time_ticks, value_field};
use super::figure::Figure;
use super::pen::{ChartError, Hold, Letters, Pen, PlotArea, Point, shortened, text_width};
use super::stack::{SHADES, draw_band, draw_key, draw_letter, key_height};
use super::style::Ink;
use demand::PeakDay;
use tables::{Cell, number, words};
use units::{FigureKind as Q, fixed, format_date};

/// Meters with their own band; the others share one.
const MOST: usize = 5;

/// A band of the stack.
struct MeterBand {
    letter: char,
    name: String,
    kw: Vec<f64>,
}

impl MeterBand {
    fn kwh(&self, hours: f64) -> f64 {
        self.kw.iter().sum::<f64>() * hours
    }
}

/// Draws the day of maximum demand of a meter with demand periods of `window_min`. (kW)
///
/// # Errors
///
/// [`ChartError`] if the drawing library refuses.
pub fn peak_day(day: &PeakDay, zone: Tz, window_min: u32) -> Result<Figure, ChartError> {
    let bands = bands(day);
    let window_s = i64::from(window_min) * 60;
    let hours = f64::from(window_min) / 60.0;
    let highest =
        (0..day.kw.len()).reduce(|best, at| if day.kw[at] > day.kw[best] { at } else { best });
    let largest = highest.map_or(0.0, |at| day.kw[at]);
    let stacked = (0..day.kw.len()).map(|at| bands.iter().map(|band| band.kw[at].max(0.0)).sum());
    let top = headroom(stacked.fold(largest, f64::max));
    let low = day.kw.iter().copied().fold(0.0, f64::min);
    let first = day.start_s.first().copied().unwrap_or(0);
    let last = day.start_s.last().map_or(1, |at| at + window_s);
    let date = local(zone, first).map_or_else(String::new, |at| format_date(at.date_naive()));
    let figure = Figure::new(
        "peak-day",
        format!("Day of maximum demand, {date} [kW]"),
        format!(
            "A stepped line of the demand, maximum {} kW, over stacked bands of the meters below it; the table \
             below gives the values.",
            fixed(largest, 1)
        ),
        |width| 300 + key_height(width, bands.len() + 1),
        |pen| {
            let right = f64::from(pen.width.px()) - 10.0;
            let x = (first as f64, last as f64);
            let field = value_field([24.0, right, 262.0], x, (low, top), (6, "kW"));
            draw_values(pen, &field, (first as f64, last as f64), 6, "kW")?;
            let most = if pen.width.is_narrow() { 5 } else { 9 };
            draw_times(pen, &field, &time_ticks(zone, (first, last), most), true)?;
            draw_bands(pen, &field, day, &bands, window_s)?;
            give_values(pen, &field, zone, (day, &bands, window_s));
            let line = steps(&field, day, &day.kw, window_s);
            for places in &line {
                pen.line(places, Ink::Strong, 2.25)?;
            }
            if let Some(at) = highest {
                draw_highest(pen, &field, zone, (day.start_s[at], window_s, day.kw[at]))?;
            }
            draw_key(pen, 306.0, &key(&bands, hours), line_words(&bands))
        },
    )?;
    let power = |head: String| number(head, Q::ActivePower);
    let mut columns = vec![words("Demand period starts"), power("Demand".to_owned())];
    columns.extend(bands.iter().map(|band| power(band.name.clone())));
    let rows = (0..day.kw.len())
        .map(|at| {
            let begins = local(zone, day.start_s[at]);
            let begins = begins.map_or_else(String::new, |at| at.format("%H:%M").to_string());
            let mut row = vec![begins.into(), day.kw[at].into()];
            row.extend(bands.iter().map(|band| Cell::from(band.kw[at])));
            row
        })
        .collect();
    Ok(figure.with_table(columns, rows))
}

/// The meters with the most energy, and the total of the others. Unknown readings stay in the unmetered part.
fn bands(day: &PeakDay) -> Vec<MeterBand> {
    let known = |kw: &[Option<f64>]| kw.iter().map(|kw| kw.unwrap_or(0.0)).collect::<Vec<f64>>();
    let whole = day.parts.len() <= MOST + 1;
    let alone = if whole { day.parts.len() } else { MOST };
    let mut bands: Vec<MeterBand> = day.parts[..alone]
        .iter()
        .zip('A'..)
        .map(|(part, letter)| MeterBand {
            letter,
            name: part.meter.clone(),
            kw: known(&part.kw),
        })
        .collect();
    if !whole {
        let mut kw = vec![0.0; day.kw.len()];
        for part in &day.parts[alone..] {
            for (sum, value) in kw.iter_mut().zip(known(&part.kw)) {
                *sum += value;
            }
        }
        bands.push(MeterBand {
            letter: 'F',
            name: format!("other ({} meters)", day.parts.len() - alone),
            kw,
        });
    }
    bands
}

/// A stepped line for each period without a gap.
fn steps(field: &PlotArea, day: &PeakDay, kw: &[f64], window_s: i64) -> Vec<Vec<Point>> {
    let mut lines: Vec<Vec<Point>> = Vec::new();
    for (at, &start) in day.start_s.iter().enumerate() {
        let follows = at > 0 && start - day.start_s[at - 1] == window_s;
        if !follows {
            lines.push(Vec::new());
        }
        if let Some(line) = lines.last_mut() {
            line.push(field.place(start as f64, kw[at]));
            line.push(field.place((start + window_s) as f64, kw[at]));
        }
    }
    lines
}

/// Demand and bands of each period, to be read under a pointer.
fn give_values(
    pen: &Pen,
    field: &PlotArea,
    zone: Tz,
    (day, bands, window_s): (&PeakDay, &[MeterBand], i64),
) {
    for (at, &start_s) in day.start_s.iter().enumerate() {
        let begins =
            local(zone, start_s).map_or_else(String::new, |at| at.format("%H:%M").to_string());
        let parts = bands
            .iter()
            .map(|band| format!("; {} {}", band.name, fixed(band.kw[at], 1)));
        let words = format!(
            "{begins}: demand {} kW{}",
            fixed(day.kw[at], 1),
            parts.collect::<String>()
        );
        let middle = start_s + window_s / 2;
        pen.value(field.place(middle as f64, day.kw[at]), words);
    }
}

fn draw_bands(
    pen: &Pen,
    field: &PlotArea,
    day: &PeakDay,
    bands: &[MeterBand],
    window_s: i64,
) -> Result<(), ChartError> {
    let mut floor = vec![0.0; day.kw.len()];
    for (band, shade) in bands.iter().zip(SHADES) {
        let roof: Vec<f64> = floor
            .iter()
            .zip(&band.kw)
            .map(|(low, kw)| low + kw.max(0.0))
            .collect();
        let (low, high) = (
            steps(field, day, &floor, window_s),
            steps(field, day, &roof, window_s),
        );
        for (low, high) in low.iter().zip(&high) {
            draw_band(pen, low, high, shade)?;
        }
        draw_own_letter(pen, field, day, band, (&floor, window_s))?;
        floor = roof;
    }
    Ok(())
}

/// The band's letter where it is thickest.
fn draw_own_letter(
    pen: &Pen,
    field: &PlotArea,
    day: &PeakDay,
    band: &MeterBand,
    (floor, window_s): (&[f64], i64),
) -> Result<(), ChartError> {
    let thickest = (0..band.kw.len()).reduce(|best, at| {
        if band.kw[at] > band.kw[best] {
            at
        } else {
            best
        }
    });
    let Some(at) = thickest else { return Ok(()) };
    let middle = day.start_s[at] + window_s / 2;
    let low = field.place(middle as f64, floor[at]);
    let high = field.place(middle as f64, floor[at] + band.kw[at]);
    draw_letter(pen, band.letter, low, high)
}

fn draw_highest(
    pen: &Pen,
    field: &PlotArea,
    zone: Tz,
    (start_s, window_s, kw): (i64, i64, f64),
) -> Result<(), ChartError> {
    let at = field.place((start_s + window_s / 2) as f64, kw);
    pen.ring(at, 5.0, Ink::Strong, 2.0)?;
    let begins = local(zone, start_s).map_or_else(String::new, |at| at.format("%H:%M").to_string());
    let words = format!("{} kW from {begins}", fixed(kw, 1));
    let half = text_width(&words, Letters::note(Hold::Middle).bold()) / 2.0;
    let (hold, x) = if at.0 < field.left + half {
        (Hold::Left, field.left)
    } else if at.0 > field.right - half {
        (Hold::Right, field.right)
    } else {
        (Hold::Middle, at.0)
    };
    let letters = Letters::note(hold).in_ink(Ink::Strong).bold();
    pen.write(&words, (x, (at.1 - 15.0).max(9.0)), letters)
}

/// Name and energy of each band.
fn key(bands: &[MeterBand], hours: f64) -> Vec<String> {
    let words = |band: &MeterBand| {
        format!(
            "{}  {}, {:.1} kWh",
            band.letter,
            shortened(&band.name, Letters::note(Hold::Left), 130.0),
            band.kwh(hours)
        )
    };
    bands.iter().map(words).collect()
}

const fn line_words(bands: &[MeterBand]) -> &'static str {
    if bands.is_empty() {
        "demand"
    } else {
        "demand; the gap below is unmetered"
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::shown;
    use demand::PeakDayPart;

    fn day(parts: usize) -> PeakDay {
        PeakDay {
            start_s: (0..48).map(|half| half * 1800).collect(),
            kw: (0..48)
                .map(|half| if half == 21 { 40.0 } else { 30.0 })
                .collect(),
            parts: (0..parts)
                .map(|part| PeakDayPart {
                    meter: format!("m{part}"),
                    kw: (0..48).map(|half| (half != 5).then_some(4.0)).collect(),
                })
                .collect(),
        }
    }

    #[test]
    fn every_band_has_its_letter_and_the_highest_block_its_time() {
        let figure = peak_day(&day(3), Tz::UTC, 30).expect("a drawing");
        let drawing = figure.file();
        for letter in ["A", "B", "C"] {
            assert!(drawing.contains(&format!(">{letter}<")), "{letter}");
        }
        assert!(drawing.contains("40.0 kW from 10:30"));
        assert_eq!(
            shown(&figure)[21],
            ["10:30", "40.00", "4.00", "4.00", "4.00"]
        );
    }

    #[test]
    fn many_meters_share_the_last_band() {
        let figure = peak_day(&day(9), Tz::UTC, 30).expect("a drawing");
        assert_eq!(figure.table.columns.len(), 8);
        assert_eq!(shown(&figure)[0][7], "16.00");
        assert!(figure.file().contains("F  other (4 meters), 376.0 kWh"));
    }
}
