//! The channels of one meter, as columns that can be changed.

use num_complex::Complex64;
use std::ops::Range;

use electrical::Phase;
use metering::{FaultKind, IntervalTable, MeterFault, Treatment};
use site::Quantity;

/// A series with unknowns.
pub(crate) type ChannelSeries = Vec<Option<f64>>;

/// The quantities of one phase that a wiring fault touches.
#[derive(Clone, Debug, Default)]
pub(crate) struct Channel {
    /// Voltage to neutral. (V)
    pub(crate) volts: Option<ChannelSeries>,
    /// Current. (A)
    pub(crate) amps: Option<ChannelSeries>,
    /// Active power. (kW)
    pub(crate) kw: Option<ChannelSeries>,
    /// Reactive power. (kvar)
    pub(crate) kvar: Option<ChannelSeries>,
    /// Apparent power. (kVA)
    pub(crate) kva: Option<ChannelSeries>,
    /// Power factor.
    pub(crate) factor: Option<ChannelSeries>,
}

/// All channels of a meter.
#[derive(Clone, Debug)]
pub(crate) struct Channels {
    pub(crate) starts: Vec<i64>,
    pub(crate) interval_s: i64,
    pub(crate) phases: [Channel; 3],
    /// Current of the neutral as logged. (A)
    pub(crate) neutral: Option<ChannelSeries>,
    /// Active power of all phases, where no phase has its own. (kW)
    pub(crate) total_kw: Option<ChannelSeries>,
    /// Reactive power of all phases, where no phase has its own. (kvar)
    pub(crate) total_kvar: Option<ChannelSeries>,
}

impl Channels {
    pub(crate) fn of(table: &IntervalTable) -> Channels {
        let series = |quantity: Quantity| table.values(quantity).map(metering::Logged::to_vec);
        let phases = Phase::ALL.map(|phase| Channel {
            volts: series(Quantity::Voltage(phase)),
            amps: series(Quantity::Current(phase)),
            kw: series(Quantity::ActivePower(Some(phase))),
            kvar: series(Quantity::ReactivePower(Some(phase))),
            kva: series(Quantity::ApparentPower(Some(phase))),
            factor: series(Quantity::PowerFactor(Some(phase))),
        });
        let total = |quantity: fn(Option<Phase>) -> Quantity| {
            let apart = Phase::ALL
                .into_iter()
                .any(|phase| table.has(quantity(Some(phase))));
            series(quantity(None)).filter(|_| !apart)
        };
        Channels {
            starts: table.starts().to_vec(),
            interval_s: i64::from(table.interval_s()),
            neutral: series(Quantity::NeutralCurrent),
            total_kw: total(Quantity::ActivePower),
            total_kvar: total(Quantity::ReactivePower),
            phases,
        }
    }

    pub(crate) fn len(&self) -> usize {
        self.starts.len()
    }

    /// Time that these rows take, gaps within them included. (s)
    pub(crate) fn duration_s(&self, rows: &Range<usize>) -> i64 {
        if rows.is_empty() {
            return 0;
        }
        self.starts[rows.end - 1] - self.starts[rows.start] + self.interval_s
    }

    /// Does the row follow the one before it without a gap?
    pub(crate) fn follows(&self, row: usize) -> bool {
        row > 0 && self.starts[row] - self.starts[row - 1] == self.interval_s
    }

    /// Complex current of a phase against its own voltage, lagging negative, by its powers. (A)
    pub(crate) fn current(&self, phase: usize, row: usize) -> Option<Complex64> {
        let channel = &self.phases[phase];
        let volts = channel.volts.as_ref()?[row].filter(|volts| *volts > 1.0)?;
        let (kw, kvar) = (channel.kw.as_ref()?[row]?, channel.kvar.as_ref()?[row]?);
        Some(Complex64::new(kw, -kvar) * 1000.0 / volts)
    }

    /// A fault of these rows.
    pub(crate) fn fault(
        &self,
        kind: FaultKind,
        phase: Option<usize>,
        rows: Range<usize>,
        remedy: Treatment,
        evidence: Vec<(&'static str, f64)>,
    ) -> MeterFault {
        MeterFault {
            kind,
            phase: phase.map(|phase| Phase::ALL[phase]),
            whole_log: rows == (0..self.len()),
            rows,
            remedy,
            evidence,
        }
    }
}
