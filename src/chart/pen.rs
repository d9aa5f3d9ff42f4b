//! The drawing surface: plotters' area in page pixels, with inks and safe text.

use std::cell::RefCell;

use plotters::coord::Shift;
use plotters::coord::cartesian::Cartesian2d;
use plotters::coord::types::RangedCoordf64;
use plotters::prelude::{
    Circle, DrawingArea, IntoDrawingArea, IntoFont, PathElement, Polygon, RGBColor, Rectangle,
    SVGBackend, ShapeStyle, Text, TextStyle,
};
use plotters::style::Color;
use plotters::style::text_anchor::{HPos, Pos, VPos};

use super::style::{DETAIL, Ink, NOTE_PX, Width};
use super::svg_style::is_unwritable;

/// A chart that could not be drawn.
#[derive(Debug, thiserror::Error)]
#[error("a chart could not be drawn: {0}")]
pub struct ChartError(String);

/// Which end of a text is at the given point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Hold {
    Left,
    Middle,
    Right,
}

/// A place in page pixels from the upper left corner.
pub(super) type Point = (f64, f64);

/// Style of a text.
#[derive(Clone, Copy, Debug)]
pub(super) struct Letters {
    pub(super) ink: Ink,
    pub(super) px: u32,
    pub(super) bold: bool,
    pub(super) hold: Hold,
}

impl Letters {
    pub(super) const fn note(hold: Hold) -> Letters {
        Letters {
            ink: Ink::Quiet,
            px: NOTE_PX,
            bold: false,
            hold,
        }
    }

    pub(super) const fn in_ink(self, ink: Ink) -> Letters {
        Letters { ink, ..self }
    }

    pub(super) const fn bold(self) -> Letters {
        Letters { bold: true, ..self }
    }

    pub(super) const fn px(self, px: u32) -> Letters {
        Letters { px, ..self }
    }
}

/// A drawing of one width.
pub(super) struct Pen<'a> {
    area: DrawingArea<SVGBackend<'a>, Shift>,
    pub(super) width: Width,
    values: RefCell<Vec<(Point, String)>>,
}

/// What was drawn.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Drawn {
    /// What plotters wrote.
    pub(super) svg: String,
    /// Values that can be read under a pointer: where they are, and in words.
    pub(super) values: Vec<(Point, String)>,
}

/// Draws a figure of the given height (px) in one width.
pub(super) fn draw(
    width: Width,
    height: i32,
    figure: impl FnOnce(&Pen) -> Result<(), ChartError>,
) -> Result<Drawn, ChartError> {
    let mut svg = String::new();
    let values = {
        let size = ((width.px() * DETAIL) as u32, (height * DETAIL) as u32);
        let pen = Pen {
            area: SVGBackend::with_string(&mut svg, size).into_drawing_area(),
            width,
            values: RefCell::default(),
        };
        figure(&pen)?;
        pen.area
            .present()
            .map_err(|error| ChartError(error.to_string()))?;
        pen.values.take()
    };
    Ok(Drawn { svg, values })
}

fn units((x, y): Point) -> (i32, i32) {
    let scale = f64::from(DETAIL);
    ((x * scale).round() as i32, (y * scale).round() as i32)
}

fn stroke(ink: Ink, width_px: f64) -> ShapeStyle {
    let (red, green, blue) = ink.light();
    let width = (width_px * f64::from(DETAIL)).round() as u32;
    ShapeStyle {
        color: RGBColor(red, green, blue).to_rgba(),
        filled: false,
        stroke_width: width,
    }
}

fn area_of(ink: Ink, opacity: f64) -> ShapeStyle {
    let (red, green, blue) = ink.light();
    ShapeStyle {
        color: RGBColor(red, green, blue).mix(opacity),
        filled: true,
        stroke_width: 0,
    }
}

impl Pen<'_> {
    fn done<E: std::fmt::Display>(result: Result<(), E>) -> Result<(), ChartError> {
        result.map_err(|error| ChartError(error.to_string()))
    }

    /// A value that can be read under a pointer.
    pub(super) fn value(&self, at: Point, words: String) {
        if at.0.is_finite() && at.1.is_finite() {
            self.values.borrow_mut().push((at, words));
        }
    }

    /// A line through places. Fewer than two draw nothing.
    pub(super) fn line(&self, places: &[Point], ink: Ink, px: f64) -> Result<(), ChartError> {
        if places.len() < 2 {
            return Ok(());
        }
        let mut points: Vec<(i32, i32)> = places.iter().copied().map(units).collect();
        points.dedup();
        Self::done(self.area.draw(&PathElement::new(points, stroke(ink, px))))
    }

    /// A filled area.
    pub(super) fn fill(&self, places: &[Point], ink: Ink, opacity: f64) -> Result<(), ChartError> {
        if places.len() < 3 {
            return Ok(());
        }
        let mut points: Vec<(i32, i32)> = places.iter().copied().map(units).collect();
        points.dedup();
        Self::done(self.area.draw(&Polygon::new(points, area_of(ink, opacity))))
    }

    /// A filled rectangle between two corners.
    pub(super) fn block(
        &self,
        a: Point,
        b: Point,
        ink: Ink,
        opacity: f64,
    ) -> Result<(), ChartError> {
        Self::done(
            self.area
                .draw(&Rectangle::new([units(a), units(b)], area_of(ink, opacity))),
        )
    }

    /// A dot.
    pub(super) fn dot(&self, at: Point, px: f64, ink: Ink) -> Result<(), ChartError> {
        let radius = (px * f64::from(DETAIL)).round() as u32;
        Self::done(
            self.area
                .draw(&Circle::new(units(at), radius, area_of(ink, 1.0))),
        )
    }

    /// A ring.
    pub(super) fn ring(&self, at: Point, radius: f64, ink: Ink, px: f64) -> Result<(), ChartError> {
        let radius = (radius * f64::from(DETAIL)).round() as u32;
        Self::done(
            self.area
                .draw(&Circle::new(units(at), radius, stroke(ink, px))),
        )
    }

    /// Lettering, vertically centred on the place.
    pub(super) fn write(&self, text: &str, at: Point, letters: Letters) -> Result<(), ChartError> {
        let clean: String = tables::plain(text)
            .chars()
            .map(|c| if is_unwritable(c) { ' ' } else { c })
            .collect();
        let clean = clean.trim();
        if clean.is_empty() {
            return Ok(());
        }
        // plotters' SVG backend divides sizes by 1.24 (it takes them as line heights).
        let size = f64::from(letters.px * DETAIL as u32) * 1.24;
        let (red, green, blue) = letters.ink.light();
        let hold = match letters.hold {
            Hold::Left => HPos::Left,
            Hold::Middle => HPos::Center,
            Hold::Right => HPos::Right,
        };
        let font = ("sans-serif", size).into_font();
        let font = if letters.bold {
            font.style(plotters::style::FontStyle::Bold)
        } else {
            font
        };
        let colour = RGBColor(red, green, blue);
        let style = TextStyle::from(font)
            .color(&colour)
            .pos(Pos::new(hold, VPos::Center));
        Self::done(
            self.area
                .draw(&Text::new(clean.to_owned(), units(at), style)),
        )
    }

    /// A plot area: from values to points. `left`, `top`, `right`, `bottom` are page pixels.
    pub(super) fn field(frame: [f64; 4], x: (f64, f64), y: (f64, f64)) -> PlotArea {
        let [left, top, right, bottom] = frame;
        let (upper_left, lower_right) = (units((left, top)), units((right, bottom)));
        let coordinates = Cartesian2d::<RangedCoordf64, RangedCoordf64>::new(
            x.0..x.1,
            y.0..y.1,
            (upper_left.0..lower_right.0, lower_right.1..upper_left.1),
        );
        PlotArea {
            coordinates,
            left,
            top,
            right,
            bottom,
        }
    }
}

/// A rectangle of the drawing with a scale on both axes.
pub(super) struct PlotArea {
    coordinates: Cartesian2d<RangedCoordf64, RangedCoordf64>,
    pub(super) left: f64,
    pub(super) top: f64,
    pub(super) right: f64,
    pub(super) bottom: f64,
}

impl PlotArea {
    /// The point of a pair of values in the drawing.
    pub(super) fn place(&self, x: f64, y: f64) -> Point {
        use plotters::coord::CoordTranslate as _;
        let (x, y) = self.coordinates.translate(&(x, y));
        (
            f64::from(x) / f64::from(DETAIL),
            f64::from(y) / f64::from(DETAIL),
        )
    }

    /// Round values on the horizontal axis, at most `most`.
    pub(super) fn ticks_across(&self, most: usize) -> Vec<f64> {
        use plotters::coord::ranged1d::{BoldPoints, Ranged as _};
        self.coordinates.x_spec().key_points(BoldPoints(most))
    }

    /// Round values on the vertical axis, at most `most`.
    pub(super) fn ticks(&self, most: usize) -> Vec<f64> {
        use plotters::coord::ranged1d::{BoldPoints, Ranged as _};
        self.coordinates.y_spec().key_points(BoldPoints(most))
    }
}

/// Width of lettering, a little too wide rather than too narrow: the reader's font is not known. (px)
pub(super) fn text_width(text: &str, letters: Letters) -> f64 {
    let em = |c: char| match c {
        'i' | 'j' | 'l' | '\'' | '.' | ',' | ':' | ';' | '|' | ' ' | '\u{A0}' | '\u{202F}' => 0.30,
        'f' | 't' | 'r' | 'I' | '(' | ')' | '-' => 0.38,
        'm' | 'w' | 'M' | 'W' | '%' | '—' => 0.92,
        c if c.is_uppercase() => 0.70,
        _ => 0.58,
    };
    let bold = if letters.bold { 1.08 } else { 1.0 };
    text.chars().map(em).sum::<f64>() * f64::from(letters.px) * bold
}

/// The text, shortened to this width. (px)
pub(super) fn shortened(text: &str, letters: Letters, most_px: f64) -> String {
    if text_width(text, letters) <= most_px {
        return text.to_owned();
    }
    let mut short = String::new();
    for c in text.chars() {
        short.push(c);
        if text_width(&short, letters) + text_width("…", letters) > most_px {
            short.pop();
            break;
        }
    }
    let mut short = short.trim_end().to_owned();
    short.push('…');
    short
}
