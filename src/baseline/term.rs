//! What a model is made of.

use super::day_type::DayType;
use super::period::ModelPeriod;

/// A column of the model.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Term {
    /// What every day takes.
    Constant,
    /// What a day of a kind takes beyond a working day; of weeks and months, by its share of the days.
    OfKind(DayType),
    /// What a day that is no working day takes beyond one.
    NoWorkingDay,
    /// What a unit of a variable takes.
    Variable {
        index: usize,
        name: String,
        unit: String,
    },
}

impl Term {
    pub(super) fn name(&self) -> String {
        match self {
            Term::Constant => "each day".to_owned(),
            Term::OfKind(kind) => kind.name().to_owned(),
            Term::NoWorkingDay => "non-working day".to_owned(),
            Term::Variable { name, .. } => name.clone(),
        }
    }

    /// What its coefficient counts.
    pub(super) fn unit(&self) -> String {
        match self {
            Term::Constant | Term::OfKind(_) | Term::NoWorkingDay => "kWh/d".to_owned(),
            Term::Variable { unit, .. } => format!("kWh/{unit}"),
        }
    }

    /// Its value in a period; `None` where a variable has none.
    pub(super) fn value(&self, period: &ModelPeriod) -> Option<f64> {
        match self {
            Term::Constant => Some(1.0),
            Term::OfKind(kind) => Some(period.share(*kind)),
            Term::NoWorkingDay => Some(1.0 - period.share(DayType::WorkingDay)),
            Term::Variable { index, .. } => *period.variables.get(*index)?,
        }
    }

    /// What its values count, of a variable.
    pub(super) fn variable_unit(&self) -> Option<&str> {
        match self {
            Term::Variable { unit, .. } => Some(unit),
            Term::Constant | Term::OfKind(_) | Term::NoWorkingDay => None,
        }
    }

    /// Is it one of the user's own series?
    pub(super) fn is_variable(&self) -> bool {
        matches!(self, Term::Variable { .. })
    }
}

/// Values of the terms in a period; `None` where one of them has none.
pub(super) fn row(terms: &[Term], period: &ModelPeriod) -> Option<Vec<f64>> {
    terms.iter().map(|term| term.value(period)).collect()
}
