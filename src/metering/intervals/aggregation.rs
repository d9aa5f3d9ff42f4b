//! What is kept of each quantity in an interval.

use super::sample_neutral::SampleNeutral;
use site::{Quantity, QuantityKind};

/// Name of the neutral current that is computed sample by sample. (A)
pub const COMPUTED_NEUTRAL: &str = "current_n_computed_a";

/// How the samples of an interval become its main value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Rule {
    Mean,
    Sum,
    Last,
}

/// What is kept of one quantity.
#[derive(Clone, Copy, Debug, PartialEq)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each says whether one thing is kept"
)]
pub(crate) struct Keeping {
    /// `None`: the computed neutral.
    quantity: Option<Quantity>,
    pub(crate) rule: Rule,
    /// Kept in double precision; else in single precision (seven digits), which is finer than
    /// what meters write.
    pub(crate) double: bool,
    pub(crate) min: bool,
    pub(crate) max: bool,
    pub(crate) mean_square: bool,
}

impl Keeping {
    fn of(quantity: Quantity, fast: bool) -> Keeping {
        let neutral = quantity == Quantity::NeutralCurrent;
        let current = neutral || matches!(quantity, Quantity::Current(_));
        let voltage = matches!(quantity, Quantity::Voltage(_) | Quantity::LineVoltage(_));
        // Energy is a sum over very many intervals: its terms stay exact.
        let active = matches!(
            quantity,
            Quantity::ActivePower(_)
                | Quantity::ActivePowerImport(_)
                | Quantity::ActivePowerExport(_)
        );
        Keeping {
            quantity: Some(quantity),
            rule: match quantity.kind() {
                QuantityKind::Level => Rule::Mean,
                QuantityKind::Amount => Rule::Sum,
                QuantityKind::Register => Rule::Last,
            },
            double: !fast || active || quantity.kind() != QuantityKind::Level,
            min: fast && (current || voltage) && !neutral,
            max: fast && (current || voltage),
            mean_square: fast && current,
        }
    }

    fn computed_neutral() -> Keeping {
        Keeping {
            quantity: None,
            ..Keeping::of(Quantity::NeutralCurrent, true)
        }
    }

    /// Energy of an interval of a value: of an amount itself, of active power over its length. (kWh)
    pub(crate) fn is_energy(self) -> Option<bool> {
        match self.quantity? {
            Quantity::EnergyInterval => Some(true),
            Quantity::ActivePower(None) => Some(false),
            _ => None,
        }
    }

    /// Name of the main value's column.
    pub(crate) fn name(self) -> String {
        self.quantity
            .map_or_else(|| COMPUTED_NEUTRAL.to_owned(), Quantity::name)
    }
}

/// What is kept of each quantity of a meter.
#[derive(Clone, Debug)]
pub(crate) struct Shape {
    pub(crate) columns: Vec<Keeping>,
    /// Several samples fall into one interval.
    pub(crate) fast: bool,
    /// Of two values of an interval the later counts.
    pub(crate) later_counts: bool,
    /// Where three currents are logged fast enough to see loads that take turns.
    pub(crate) neutral: Option<SampleNeutral>,
}

impl Shape {
    pub(crate) fn new(quantities: &[Quantity], fast: bool) -> Shape {
        let mut columns: Vec<Keeping> = quantities
            .iter()
            .map(|&quantity| Keeping::of(quantity, fast))
            .collect();
        let neutral = SampleNeutral::find(quantities).filter(|_| fast);
        if neutral.is_some() {
            columns.push(Keeping::computed_neutral());
        }
        Shape {
            columns,
            fast,
            later_counts: false,
            neutral,
        }
    }

    /// The same with another choice between two values of an interval.
    pub(crate) fn with_later(self, later_counts: bool) -> Shape {
        Shape {
            later_counts,
            ..self
        }
    }
}
