//! Charges for reactive energy: which, when, and above which share of the active energy.

use rust_decimal::Decimal;

use super::time_window::TimeWindow;

/// Which reactive energy is charged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReactiveFlow {
    /// Lagging.
    Lagging,
    /// Leading.
    Leading,
    /// Lagging less leading, over the period or the quarter-hour.
    Net,
}

/// Which way active energy flows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EnergyDirection {
    /// From the supply.
    Import,
    /// To the supply.
    Export,
}

/// A price of reactive energy above a share of the active energy (a tangent of φ).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ReactiveStep {
    /// kvarh for each kWh above which it holds.
    pub above_share: Decimal,
    /// Price. (currency/kvarh)
    pub rate_per_kvarh: Decimal,
}

/// Price of reactive energy beyond a free share.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReactiveCharge {
    /// Its name on the bill, behind `reactive`.
    pub name: Option<String>,
    /// Which reactive energy.
    pub flow: ReactiveFlow,
    /// Is the share that of each quarter-hour, not of the month?
    pub by_quarter_hour: bool,
    /// Days, months and hours in which it applies.
    pub window: TimeWindow,
    /// Only while active energy is imported, or exported, on balance.
    pub only_while: Option<EnergyDirection>,
    /// Steps, ascending; the first begins where it is no longer free.
    pub steps: Vec<ReactiveStep>,
}

impl ReactiveCharge {
    /// Its line on the bill.
    #[must_use]
    pub fn line(&self) -> String {
        match &self.name {
            Some(name) => format!("reactive {name}"),
            None => "reactive".to_owned(),
        }
    }

    /// What is in each step, of reactive and active energy.
    pub(super) fn in_steps<T>(&self, kvarh: T, at: impl Fn(Decimal) -> T) -> Vec<T>
    where
        T: Copy + PartialOrd + std::ops::Sub<Output = T> + Default,
    {
        let least = |a: T, b: T| if b < a { b } else { a };
        let ends = self.steps.iter().skip(1).map(|step| at(step.above_share));
        let ends = ends.map(Some).chain([None]);
        let begins = self.steps.iter().map(|step| at(step.above_share));
        begins
            .zip(ends)
            .map(|(begin, end)| {
                let end = end.map_or(kvarh, |end| least(end, kvarh));
                if begin < end {
                    end - begin
                } else {
                    T::default()
                }
            })
            .collect()
    }
}
