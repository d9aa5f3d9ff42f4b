//! What is wrong with the channels of a meter, and when.

use std::ops::Range;

use electrical::Phase;

/// A fault of a meter or of its wiring.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FaultKind {
    /// A voltage lead is off: the voltage reads zero and the current goes on.
    VoltageLost,
    /// The voltage repeats one value while the other phases move.
    VoltageStuck,
    /// The current and power repeat one value while the voltage moves.
    CurrentStuck,
    /// The current reads zero for a time and never does otherwise: the transformer is open or shorted.
    CurrentOpen,
    /// The current transformer is turned round, or its secondary wires are swapped.
    Reversed,
    /// Energy flows back that the log's voltages show to be real, and no generation is declared.
    Generation,
    /// The current is read with the voltage of another phase.
    Paired {
        /// The phase whose current is read as that of L1, L2, L3.
        from: [usize; 3],
        /// Is that transformer reversed as well?
        reversed: [bool; 3],
    },
    /// The ratio is not as declared: what is read times this is the truth.
    Ratio {
        /// True current over current read.
        factor: f64,
    },
    /// From here on the loads of two phases are on each other's; voltages and currents stay paired.
    LoadsExchanged {
        /// The two phases.
        phases: [Phase; 2],
    },
    /// A standby generator feeds the installation: a state, no fault.
    OnGenerator,
    /// From here on several channels have another resolution: another logger, or another setting.
    LoggerChanged,
    /// Rows of two loggers in turn.
    TwoLoggers,
    /// The log seems to be in UTC and is declared as local, or the reverse.
    TimeZone {
        /// By how much its times are later than the truth. (h)
        hours: f64,
    },
}

/// What was done about a fault in the table that all answers rest on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Treatment {
    /// The fault is certain, and so is what the readings would have been.
    Corrected,
    /// The readings are left out.
    LeftOut,
    /// Nothing: it is reported only.
    Reported,
}

/// A fault over a stretch of a log.
#[derive(Clone, Debug, PartialEq)]
pub struct MeterFault {
    /// What is wrong.
    pub kind: FaultKind,
    /// The phase, where it is one.
    pub phase: Option<Phase>,
    /// Rows of the table.
    pub rows: Range<usize>,
    /// Does it hold from the first reading to the last?
    pub whole_log: bool,
    /// What was done about it.
    pub remedy: Treatment,
    /// The figures that show it, by name with unit.
    pub evidence: Vec<(&'static str, f64)>,
}
