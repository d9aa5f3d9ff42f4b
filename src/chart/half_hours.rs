//! The worst half-hours of a phase compared with its limit, by machine.

use super::axis::headroom;
use super::bars::{hatch, outline};
use super::figure::Figure;
use super::pen::{ChartError, Hold, Letters, Pen, shortened, text_width};
use super::style::{Ink, LABEL_PX};
use diagnosis::{HalfHour, HalfHourPart, OverloadTrace};
use electrical::Phase;
use tables::{number, words};
use units::{FigureKind as Q, format_local};

/// Parts drawn separately; the others are drawn as one.
const PARTS: usize = 6;
/// Letter of the parts drawn as one.
const OTHERS: char = '+';
const ROW: f64 = 62.0;
const HEAD: f64 = 40.0;

const fn name(phase: Phase) -> &'static str {
    match phase {
        Phase::L1 => "worst-half-hours-l1",
        Phase::L2 => "worst-half-hours-l2",
        Phase::L3 => "worst-half-hours-l3",
    }
}

/// A part of a bar with its letter in the key.
struct BarPiece<'t> {
    letter: char,
    part: &'t HalfHourPart,
}

/// Names in the order of their letters, in descending order of current.
fn lettered(trace: &OverloadTrace) -> Vec<&str> {
    let mut names: Vec<(f64, &str)> = Vec::new();
    for part in trace.half_hours.iter().flat_map(|block| &block.made_up_of) {
        match names.iter_mut().find(|(_, name)| *name == part.name) {
            Some(known) => known.0 = known.0.max(part.active_current_a),
            None => names.push((part.active_current_a, &part.name)),
        }
    }
    names.retain(|(amps, _)| *amps > 0.0);
    names.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
    names.truncate(PARTS + 1);
    names.into_iter().map(|(_, name)| name).collect()
}

/// Draws a bar for each half-hour, made of the machines' active currents; the mark is the mean current. (A)
///
/// # Errors
///
/// [`ChartError`] if the drawing library refuses.
pub fn worst_half_hours(trace: &OverloadTrace) -> Result<Figure, ChartError> {
    let names = lettered(trace);
    let largest = trace
        .half_hours
        .iter()
        .map(|block| block.mean_a)
        .fold(trace.limit_a, f64::max);
    let scale = headroom(headroom(largest));
    let others = trace
        .half_hours
        .iter()
        .any(|block| rest(block, &names) > 0.0);
    let count = names.len() + usize::from(others);
    let keys = |narrow: bool| {
        if narrow { count } else { count.div_ceil(2) }
    };
    let height = |narrow: bool| {
        HEAD + ROW * trace.half_hours.len() as f64 + 22.0 * keys(narrow) as f64 + 12.0
    };
    let figure = Figure::new(
        name(trace.phase),
        format!("{}: worst half-hours, by machine [A]", trace.phase),
        format!(
            "{} bars compared with a limit of {:.0} A; the letters are machines, named below.",
            trace.half_hours.len(),
            trace.limit_a
        ),
        |width| height(width.is_narrow()) as i32,
        |pen| {
            let right = f64::from(pen.width.px()) - 16.0;
            let place = |amps: f64| 4.0 + (right - 4.0) * (amps / scale).clamp(0.0, 1.0);
            for (position, block) in trace.half_hours.iter().enumerate() {
                let top = HEAD + ROW * position as f64;
                bar(pen, top, block, &names, &place)?;
            }
            let foot = HEAD + ROW * trace.half_hours.len() as f64;
            let limit = place(trace.limit_a);
            pen.line(
                &[(limit, HEAD - 12.0), (limit, foot - 4.0)],
                Ink::Limit,
                1.5,
            )?;
            let words = format!("limit {:.0} A", trace.limit_a);
            let letters = Letters::note(Hold::Middle).in_ink(Ink::Limit).bold();
            let half = text_width(&words, letters) / 2.0;
            pen.write(&words, (limit.min(right - half), HEAD - 22.0), letters)?;
            key(pen, foot + 12.0, &names, others)
        },
    )?;
    let rows = trace.half_hours.iter().flat_map(|block| {
        block.made_up_of.iter().map(move |part| {
            vec![
                format_local(block.from).into(),
                block.mean_a.into(),
                part.name.as_str().into(),
                part.active_current_a.into(),
                part.basis.into(),
            ]
        })
    });
    Ok(figure
        .with_caption(
            "At most one half-hour per day, worst first. Filled: measured by the machine's own meter. Hatched: estimated \
             from the machine list. Outlined: unmetered. Pale: small loads together. Active currents add up; the vertical mark is the \
             mean current, which includes reactive current and is slightly higher. Where the machine list gives more \
             than was measured, the bar extends past the mark."
                .to_owned(),
        )
        .with_table(
            vec![
                words("Half-hour starts"),
                number("Mean current", Q::Current),
                words("Machine"),
                number("Active current", Q::Current),
                words("Basis"),
            ],
            rows.collect(),
        ))
}

fn bar(
    pen: &Pen,
    top: f64,
    block: &HalfHour,
    names: &[&str],
    place: &dyn Fn(f64) -> f64,
) -> Result<(), ChartError> {
    let words = format!("{} · {:.1} A", format_local(block.from), block.mean_a);
    let letters = Letters::note(Hold::Left).in_ink(Ink::Text).px(LABEL_PX);
    pen.write(&words, (4.0, top + 10.0), letters)?;
    let (high, low) = (top + 22.0, top + 48.0);
    let mut sum = 0.0;
    for piece in pieces(block, names) {
        let amps = piece.part.active_current_a;
        let corners = [place(sum), high, place(sum + amps), low];
        sum += amps;
        let [left, _, right, _] = corners;
        match piece.part.basis {
            "estimated" => hatch(pen, corners)?,
            "unmetered" => {}
            _ => pen.block((left, high), (right, low), Ink::Energy, 0.45)?,
        }
        outline(pen, corners)?;
        letter(pen, corners, piece.letter)?;
    }
    let others = rest(block, names);
    if others > 0.0 {
        let corners = [place(sum), high, place(sum + others), low];
        pen.block((corners[0], high), (corners[2], low), Ink::Energy, 0.15)?;
        outline(pen, corners)?;
        letter(pen, corners, OTHERS)?;
    }
    let mean = place(block.mean_a);
    pen.line(&[(mean, high - 5.0), (mean, low + 5.0)], Ink::Strong, 3.0)
}

/// Writes a piece's letter where it has room.
fn letter(pen: &Pen, [left, high, right, low]: [f64; 4], letter: char) -> Result<(), ChartError> {
    if right - left <= 14.0 {
        return Ok(());
    }
    let centre = (f64::midpoint(left, right), f64::midpoint(high, low));
    // A patch of background keeps the letter legible on hatching.
    pen.dot(centre, 7.5, Ink::Paper)?;
    let letters = Letters::note(Hold::Middle).in_ink(Ink::Text).bold();
    pen.write(&letter.to_string(), centre, letters)
}

/// What the parts without a letter add up to. (A)
fn rest(block: &HalfHour, names: &[&str]) -> f64 {
    let parts = block.made_up_of.iter();
    parts
        .filter(|part| !names.contains(&part.name.as_str()))
        .map(|part| part.active_current_a.max(0.0))
        .sum()
}

/// The named parts in the key's order, positive ones only.
fn pieces<'t>(block: &'t HalfHour, names: &[&str]) -> Vec<BarPiece<'t>> {
    names
        .iter()
        .zip('A'..)
        .filter_map(|(name, letter)| {
            let part = block.made_up_of.iter().find(|part| part.name == *name)?;
            (part.active_current_a > 0.0).then_some(BarPiece { letter, part })
        })
        .collect()
}

fn key(pen: &Pen, top: f64, names: &[&str], others: bool) -> Result<(), ChartError> {
    let columns = if pen.width.is_narrow() { 1 } else { 2 };
    let each = f64::from(pen.width.px()) / f64::from(columns as u32);
    let small = others.then_some(("other (small)", OTHERS));
    let lettered = names.iter().copied().zip('A'..).chain(small);
    for (position, (name, letter)) in lettered.enumerate() {
        let (x, y) = (
            4.0 + each * (position % columns) as f64,
            top + 22.0 * (position / columns) as f64,
        );
        let bold = Letters::note(Hold::Left).in_ink(Ink::Text).bold();
        pen.write(&letter.to_string(), (x, y), bold)?;
        pen.write(
            &shortened(name, Letters::note(Hold::Left), each - 28.0),
            (x + 18.0, y),
            Letters::note(Hold::Left),
        )?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::shown;

    #[test]
    fn parts_are_lettered_by_size_and_all_of_them_are_in_the_table() {
        let part = |name: &str, amps: f64, basis| HalfHourPart {
            name: name.to_owned(),
            active_current_a: amps,
            basis,
        };
        let trace = OverloadTrace {
            phase: Phase::L1,
            limit_a: 100.0,
            half_hours: vec![HalfHour {
                from: "2026-03-12T10:00:00".parse().expect("a local time"),
                mean_a: 110.0,
                made_up_of: vec![
                    part("Kiln", 20.0, "measured"),
                    part("Heater <1>", 60.0, "estimated"),
                    part("Unmetered", -5.0, "unmetered"),
                ],
            }],
        };
        assert_eq!(lettered(&trace), ["Heater <1>", "Kiln"]);
        let figure = worst_half_hours(&trace).expect("a drawing");
        assert_eq!(figure.table.rows.len(), 3);
        assert_eq!(shown(&figure)[2][3], "−5.0");
        let svg = figure.file();
        assert!(svg.contains("limit 100 A") && svg.contains("Heater &lt;1&gt;"));
    }
}
