//! Charts: results in, SVG out. The only room that knows plotters.
//!
//! In: series and figures from the results. Out: a [`Figure`] with a title, a description, a
//! caption, a table of values, and the drawing twice: wide for a screen or paper, narrow for a
//! phone, so that the lettering is legible on both.
//!
//! A drawing is made once with plotters; [`Figure::inline`] gives it with class names, so that the
//! page's palette applies in light and dark, and [`Figure::file`] with its own colours.

mod axis;
mod bars;
mod cost;
mod coverage;
mod cusum;
mod day_curves;
mod days;
mod demand_days;
mod duration;
mod few_moves;
mod figure;
mod half_hours;
mod joint;
mod load_duration;
mod panel;
mod peak_day;
mod pen;
mod phasor;
mod profile;
mod reduce;
mod stack;
pub mod style;
mod svg_style;
mod timeline;
mod triangle;
mod variable;
mod week;

pub use bars::{EnergyBar, energy_bars};
pub use cost::cost_by_day;
pub use coverage::{CoverageRow, coverage};
pub use cusum::cusum;
pub use day_curves::DayCurves;
pub use days::daily_energy;
pub use demand_days::demand_by_day;
pub use duration::neutral_duration;
pub use few_moves::few_moves;
pub use figure::Figure;
pub use half_hours::worst_half_hours;
pub use joint::{extra_resistance, lost_voltage};
pub use load_duration::load_duration;
pub use panel::{Panel, TimeAxis};
pub use peak_day::peak_day;
pub use pen::ChartError;
pub use phasor::phasor_diagram;
pub use profile::{DemandMark, demand_profile};
pub use reduce::{ColumnSpan, reduce};
pub use timeline::timeline;
pub use triangle::voltage_triangle;
pub use variable::{drawn_variables, energy_by_variable};
pub use week::week_of_hours;
