//! The channels of one meter, as columns that can be changed.

use num_complex::Complex64;
use std::ops::Range;

use super::series::ChannelSeries;
use electrical::Phase;
use metering::{FaultKind, IntervalTable, MeterFault, Treatment};
use site::Quantity;

/// The quantities of one phase that a wiring fault touches.
#[derive(Clone, Debug, Default)]
pub(crate) struct Channel<'t> {
    /// Voltage to neutral. (V)
    pub(crate) volts: Option<ChannelSeries<'t>>,
    /// Current. (A)
    pub(crate) amps: Option<ChannelSeries<'t>>,
    /// Active power. (kW)
    pub(crate) kw: Option<ChannelSeries<'t>>,
    /// Reactive power. (kvar)
    pub(crate) kvar: Option<ChannelSeries<'t>>,
    /// Apparent power. (kVA)
    pub(crate) kva: Option<ChannelSeries<'t>>,
    /// Power factor.
    pub(crate) factor: Option<ChannelSeries<'t>>,
}

/// All channels of a meter.
#[derive(Clone, Debug)]
pub(crate) struct Channels<'t> {
    pub(crate) starts: &'t [i64],
    pub(crate) interval_s: i64,
    pub(crate) phases: [Channel<'t>; 3],
    /// Current of the neutral as logged. (A)
    pub(crate) neutral: Option<ChannelSeries<'t>>,
    /// Frequency. (Hz)
    pub(crate) frequency: Option<ChannelSeries<'t>>,
    /// Active power of all phases, where no phase has its own. (kW)
    pub(crate) total_kw: Option<ChannelSeries<'t>>,
    /// Reactive power of all phases, where no phase has its own. (kvar)
    pub(crate) total_kvar: Option<ChannelSeries<'t>>,
}

impl<'t> Channels<'t> {
    pub(crate) fn of(table: &'t IntervalTable) -> Channels<'t> {
        let series = |quantity: Quantity| table.values(quantity).map(ChannelSeries::of);
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
            starts: table.starts(),
            interval_s: i64::from(table.interval_s()),
            neutral: series(Quantity::NeutralCurrent),
            frequency: series(Quantity::Frequency),
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
        let volts = channel
            .volts
            .as_ref()?
            .get(row)
            .filter(|volts| *volts > 1.0)?;
        let (kw, kvar) = (
            channel.kw.as_ref()?.get(row)?,
            channel.kvar.as_ref()?.get(row)?,
        );
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
