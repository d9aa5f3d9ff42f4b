//! Quarter-hours shared out among parts; energy and cost of the parts follow from these alone, so that they
//! add up.

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

/// A part as it is told.
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
    /// Energy of each part. (kWh)
    pub(super) fn sums(&self) -> Vec<f64> {
        let mut sums = vec![0.0; self.labels.len()];
        for slice in &self.slices {
            sums[slice.part] += slice.kwh;
        }
        sums
    }
}
