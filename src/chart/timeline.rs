//! Currents over time, one panel below another on a common time axis.

use std::collections::BTreeMap;

use super::axis::{
    TimeTick, YEAR_ROW, draw_times, draw_values, has_years, headroom, local, time_ticks,
    value_field,
};
use super::figure::Figure;
use super::panel::{Panel, TimeAxis};
use super::pen::{ChartError, Hold, Letters, Pen, PlotArea, Point, text_width};
use super::reduce::{ColumnSpan, reduce, runs};
use super::style::{Ink, LABEL_PX, Width};
use electrical::is_above_limit;
use units::{fixed, format_duration};

const RIGHT: f64 = 10.0;
const HEAD: f64 = 32.0;
const FOOT: f64 = 26.0;
/// Times at which the currents can be read under a pointer.
const READABLE: usize = 168;

fn field_height(width: Width) -> f64 {
    if width.is_narrow() { 104.0 } else { 124.0 }
}

/// Draws currents over time.
///
/// Each column of the drawing shows the range from the minimum to the maximum of its time, with the
/// mean as a line; values over the limit are filled in the ink of limits.
///
/// # Errors
///
/// [`ChartError`] if the drawing library refuses.
pub fn timeline(
    name: &'static str,
    title: &str,
    description: &str,
    axis: TimeAxis,
    panels: &[Panel],
) -> Result<Figure, ChartError> {
    let largest = panels
        .iter()
        .flat_map(|panel| panel.values.iter().copied().chain(panel.limit))
        .filter(|value| value.is_finite())
        .fold(0.0, f64::max);
    let smallest = panels
        .iter()
        .flat_map(|panel| panel.values.iter().copied())
        .fold(0.0, f64::min);
    let scale = (smallest, headroom(largest));
    let foot = FOOT
        + if has_years(axis.bounds()) {
            YEAR_ROW
        } else {
            0.0
        };
    let height = |width| (panels.len() as f64 * (HEAD + field_height(width)) + foot).ceil() as i32;
    Figure::new(
        name,
        title.to_owned(),
        description.to_owned(),
        height,
        |pen| {
            let most = if pen.width.is_narrow() { 4 } else { 8 };
            let ticks = time_ticks(axis.zone, axis.bounds(), most);
            for (position, panel) in panels.iter().enumerate() {
                let last = position + 1 == panels.len();
                draw_panel(pen, position, panel, axis, scale, &ticks, last)?;
            }
            give_values(pen, axis, panels, scale);
            Ok(())
        },
    )
}

fn draw_panel(
    pen: &Pen,
    position: usize,
    panel: &Panel,
    axis: TimeAxis,
    scale: (f64, f64),
    ticks: &[TimeTick],
    last: bool,
) -> Result<(), ChartError> {
    let (from, to) = axis.bounds();
    let x = (from as f64, to as f64);
    let top = position as f64 * (HEAD + field_height(pen.width)) + HEAD;
    let right = f64::from(pen.width.px()) - RIGHT;
    let field = field(pen, top, x, scale);
    draw_values(pen, &field, x, 4, "A")?;
    draw_times(pen, &field, ticks, last)?;
    let name = Letters::note(Hold::Left)
        .in_ink(panel.ink)
        .bold()
        .px(LABEL_PX);
    pen.write(&panel.name, (field.left, top - 10.0), name)?;

    let columns = (right - field.left) as usize;
    let spans = reduce(
        axis.start_s,
        axis.interval_s,
        panel.values,
        (from, to),
        columns,
    );
    for run in runs(&spans) {
        draw_run(pen, &field, run, panel)?;
    }
    if let Some(limit) = panel.limit {
        let (left, y) = field.place(x.0, limit);
        pen.line(&[(left, y), (right, y)], Ink::Limit, 1.0)?;
        let letters = Letters::note(Hold::Right).in_ink(Ink::Limit);
        let beyond = panel
            .values
            .iter()
            .filter(|&&value| value.is_finite() && is_above_limit(value, limit));
        let limit_words = format!("limit {limit:.0} A");
        let words = match beyond.count() as u64 * u64::from(axis.interval_s) {
            0 => limit_words,
            seconds => {
                let length = format_duration(seconds);
                let full = format!("{limit_words}, exceeded for {length}");
                let free = right - field.left - text_width(&panel.name, name) - 8.0;
                if text_width(&full, letters) < free {
                    full
                } else {
                    format!("{limit:.0} A, over for {length}")
                }
            }
        };
        pen.write(&words, (right, top - 10.0), letters)?;
    }
    Ok(())
}

fn field(pen: &Pen, top: f64, x: (f64, f64), scale: (f64, f64)) -> PlotArea {
    let right = f64::from(pen.width.px()) - RIGHT;
    let frame = [top, right, top + field_height(pen.width)];
    value_field(frame, x, scale, (4, "A"))
}

/// The range of each panel over parts of the time, to be read under a pointer.
fn give_values(pen: &Pen, axis: TimeAxis, panels: &[Panel], scale: (f64, f64)) {
    let (from, to) = axis.bounds();
    let field = field(pen, HEAD, (from as f64, to as f64), scale);
    let mut parts: BTreeMap<i64, (f64, Vec<String>)> = BTreeMap::new();
    for panel in panels {
        let spans = reduce(
            axis.start_s,
            axis.interval_s,
            panel.values,
            (from, to),
            READABLE,
        );
        for span in spans {
            let amps = if span.count > 1 {
                format!("{} to {} A", fixed(span.min, 1), fixed(span.max, 1))
            } else {
                format!("{} A", fixed(span.mean, 1))
            };
            let (_, words) = parts
                .entry(span.from_s as i64)
                .or_insert_with(|| (span.to_s, Vec::new()));
            words.push(format!("{} {amps}", panel.name));
        }
    }
    for (from_s, (to_s, words)) in parts {
        let middle = f64::midpoint(from_s as f64, to_s);
        let shown = |at_s: i64, format: &str| {
            local(axis.zone, at_s).map_or_else(String::new, |at| at.format(format).to_string())
        };
        let (x, _) = field.place(middle, 0.0);
        pen.value(
            (x, 0.0),
            format!(
                "{} to {}: {}",
                shown(from_s, "%a %-d %b %Y %H:%M"),
                shown(to_s as i64, "%H:%M"),
                words.join("; ")
            ),
        );
    }
}

fn draw_run(
    pen: &Pen,
    field: &PlotArea,
    run: &[ColumnSpan],
    panel: &Panel,
) -> Result<(), ChartError> {
    let band = between(field, run, |span| span.min, |span| span.max);
    if run.iter().any(|span| span.count > 1) {
        pen.fill(&band, panel.ink, 0.38)?;
    }
    pen.line(&edge(field, run, |span| span.mean), panel.ink, 1.0)?;
    let Some(limit) = panel.limit else {
        return Ok(());
    };
    for over in run.chunk_by(|a, b| is_above_limit(a.max, limit) == is_above_limit(b.max, limit)) {
        if is_above_limit(over[0].max, limit) {
            pen.fill(
                &between(field, over, |_| limit, |span| span.max),
                Ink::Over,
                1.0,
            )?;
        }
    }
    Ok(())
}

/// The line through the middle of each column, or in steps where each value has its own.
fn edge(field: &PlotArea, run: &[ColumnSpan], value: impl Fn(&ColumnSpan) -> f64) -> Vec<Point> {
    let mut places = Vec::with_capacity(run.len() + 2);
    let (Some(first), Some(last)) = (run.first(), run.last()) else {
        return places;
    };
    if run.iter().all(|span| span.count == 1) {
        for span in run {
            places.push(field.place(span.from_s, value(span)));
            places.push(field.place(span.to_s, value(span)));
        }
        return places;
    }
    places.push(field.place(first.from_s, value(first)));
    for span in run {
        places.push(field.place(f64::midpoint(span.from_s, span.to_s), value(span)));
    }
    places.push(field.place(last.to_s, value(last)));
    places
}

fn between(
    field: &PlotArea,
    run: &[ColumnSpan],
    low: impl Fn(&ColumnSpan) -> f64,
    high: impl Fn(&ColumnSpan) -> f64,
) -> Vec<Point> {
    let mut outline = edge(field, run, high);
    let mut back = edge(field, run, low);
    back.reverse();
    outline.append(&mut back);
    outline
}

#[cfg(test)]
mod tests {
    use chrono_tz::Tz;

    use super::*;

    fn drawn(values: &[f64], limit: Option<f64>) -> Figure {
        let start_s: Vec<i64> = (0..values.len() as i64)
            .map(|n| 1_700_000_000 + n * 60)
            .collect();
        let axis = TimeAxis {
            start_s: &start_s,
            interval_s: 60,
            zone: Tz::Europe__Berlin,
        };
        let panel = Panel {
            name: "L1 <\"&>".to_owned(),
            ink: Ink::L1,
            values,
            limit,
        };
        timeline("t", "title", "description", axis, &[panel]).expect("a drawing")
    }

    #[test]
    fn only_what_exceeds_the_limit_is_filled_in_its_ink() {
        let mut values = vec![10.0; 5_000];
        assert!(!drawn(&values, Some(20.0)).inline().contains("f-over\"/>"));
        values[2_500] = 21.0;
        let over = drawn(&values, Some(20.0)).inline();
        assert!(
            over.contains("f-over\"/>") && over.contains("limit 20 A, exceeded for 1\u{A0}min")
        );
    }

    #[test]
    fn empty_and_unusable_series_are_drawn_without_harm() {
        for values in [
            vec![],
            vec![f64::NAN; 10],
            vec![0.0; 10],
            vec![-3.0, f64::INFINITY],
        ] {
            let svg = drawn(&values, None).file();
            assert!(!svg.contains("NaN") && !svg.contains("inf"), "{values:?}");
        }
    }

    #[test]
    fn names_are_escaped() {
        let svg = drawn(&[1.0, 2.0], None).file();
        assert!(svg.contains("L1 &lt;&quot;&amp;&gt;") && !svg.contains("L1 <"));
    }
}
