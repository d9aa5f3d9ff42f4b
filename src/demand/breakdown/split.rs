//! Quarter-hours shared out among parts; energy and cost of the parts follow from these alone, so that they
//! add up.

use crate::meter::carbon::CarbonFactor;
use crate::meter::quarter_hours::QuarterHours;
use crate::meter::quarters::Quarter;

/// What a part has of a quarter-hour.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Slice {
    /// Index of the part.
    pub(super) part: usize,
    /// Start of the quarter-hour, Unix seconds.
    pub(super) start_s: i64,
    /// Net active energy. (kWh)
    pub(super) kwh: f64,
}

/// A part as it is reported.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Label {
    pub(super) key: String,
    pub(super) order: i64,
    pub(super) complete: bool,
}

/// A meter's quarter-hours shared out among parts.
#[derive(Clone, Debug, Default)]
pub(super) struct Split {
    pub(super) labels: Vec<Label>,
    pub(super) slices: Vec<Slice>,
}

impl Split {
    /// All of a meter as one part.
    pub(super) fn whole(key: &str, quarters: &QuarterHours, complete: bool) -> Split {
        let label = Label {
            key: key.to_owned(),
            order: 0,
            complete,
        };
        let slice = |quarter: Quarter| Slice {
            part: 0,
            start_s: quarter.start_s,
            kwh: quarter.energy_kwh,
        };
        Split {
            labels: vec![label],
            slices: quarters.iter().map(slice).collect(),
        }
    }

    /// Carbon of each part by the user's factor: of a constant one its energy × the factor, else of its
    /// quarter-hours; `None` where one of them has no factor. (kg)
    pub(super) fn carbon_kg(&self, factor: CarbonFactor<'_>, kwh: &[f64]) -> Vec<Option<f64>> {
        if let CarbonFactor::Constant(grams) = factor {
            return kwh.iter().map(|kwh| Some(kwh * grams / 1000.0)).collect();
        }
        let mut sums = vec![Some(0.0); self.labels.len()];
        for slice in self.slices.iter().filter(|slice| slice.kwh != 0.0) {
            let sum = &mut sums[slice.part];
            let grams = factor.at(slice.start_s);
            *sum = (*sum)
                .zip(grams)
                .map(|(sum, grams)| sum + slice.kwh * grams / 1000.0);
        }
        sums
    }

    /// Energy of each part. (kWh)
    pub(super) fn sums(&self) -> Vec<f64> {
        let mut sums = vec![0.0; self.labels.len()];
        for slice in &self.slices {
            sums[slice.part] += slice.kwh;
        }
        sums
    }
}
