//! What the workshop writes down day by day: the mean outdoor temperature and the frames it has made.

use std::fmt::Write as _;

use chrono::NaiveDate;

use super::calendar::{Moment, STEP_H};

/// Frames made in an hour of a machine that cuts.
const FRAMES_PER_H: f64 = 1.5;

#[derive(Default)]
struct Day {
    date: NaiveDate,
    steps: u32,
    sum_c: f64,
    cutting_h: f64,
}

/// The days so far.
#[derive(Default)]
pub(crate) struct Variables {
    days: Vec<Day>,
}

impl Variables {
    pub(crate) fn add(&mut self, moment: &Moment, outdoor_c: f64, cutting: usize) {
        let date = moment.local.date();
        if self.days.last().is_none_or(|day| day.date != date) {
            self.days.push(Day {
                date,
                ..Day::default()
            });
        }
        if let Some(day) = self.days.last_mut() {
            day.steps += 1;
            day.sum_c += outdoor_c;
            day.cutting_h += cutting as f64 * STEP_H;
        }
    }

    /// The file.
    pub(crate) fn text(&self) -> String {
        let mut text = String::from("date,outdoor_c,frames\n");
        for day in &self.days {
            let mean_c = day.sum_c / f64::from(day.steps);
            let frames = (day.cutting_h * FRAMES_PER_H).round();
            writeln!(text, "{},{mean_c:.1},{frames}", day.date).expect("a String takes any text");
        }
        text
    }
}
