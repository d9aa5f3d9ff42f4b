//! Parts by phase.

use super::split::{Label, Slice, Split};
use crate::meter::quarters::quarters;
use analysis::NetPower;
use electrical::Phase;
use metering::MeterLog;

/// The quarter-hours of the three phases; those of registers alone have none.
pub(super) fn split(log: &MeterLog, complete: bool) -> Split {
    let mut split = Split::default();
    for (part, phase) in Phase::ALL.into_iter().enumerate() {
        split.labels.push(Label {
            key: phase.to_string(),
            order: part as i64,
            complete,
        });
        let draw = NetPower::of_phase(log, phase);
        let own = quarters(&log.table, draw);
        split.slices.extend(own.iter().map(|quarter| Slice {
            part,
            start_s: quarter.start_s,
            kwh: quarter.energy_kwh,
        }));
    }
    split
}
