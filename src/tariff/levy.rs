//! Levies, discounts and taxes: what is added to the lines before them.

use rust_decimal::Decimal;

use super::bill_line::{BillLine, LineKind};

/// What a levy is charged by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LevyBase {
    /// Energy of the period.
    Kwh,
    /// The first demand that is billed, in its unit.
    Demand,
    /// Days.
    Day,
    /// Months, or billing periods.
    Month,
    /// Hundredths of lines.
    Percent,
}

/// A levy; a discount has a negative rate.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Levy {
    /// Its line on the bill.
    pub name: String,
    /// What it is charged by.
    pub per: LevyBase,
    /// Price of a unit, or per cent.
    pub rate: Decimal,
    /// So much of the quantity of a month is free.
    pub free: Decimal,
    /// Which lines a percentage is of.
    pub on: LineChoice,
}

/// A tax on lines before it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tax {
    /// Its line on the bill.
    pub name: String,
    /// Per cent.
    pub pct: Decimal,
    /// So much of the amount of a month is not taxed.
    pub free: Decimal,
    /// Which lines are taxed.
    pub on: LineChoice,
}

impl Tax {
    /// A tax on all lines before it that are no taxes.
    #[must_use]
    pub fn on_all(name: &str, pct: Decimal) -> Tax {
        Tax {
            name: name.to_owned(),
            pct,
            free: Decimal::ZERO,
            on: LineChoice::default(),
        }
    }
}

/// Lines of a bill by their names or kinds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LineChoice(pub Vec<String>);

impl LineChoice {
    /// Words for kinds of lines, besides the names of lines.
    pub const KINDS: [&'static str; 9] = [
        "standing", "energy", "demand", "capacity", "reactive", "levies", "export", "taxes", "all",
    ];

    /// Are the lines of energy chosen as a whole?
    pub(super) fn holds_energy(&self) -> bool {
        self.0.is_empty() || self.names("energy") || self.names("all")
    }

    /// Are taxes chosen, or one by its name?
    pub(super) fn names_tax(&self, tax: &Tax) -> bool {
        self.names("taxes") || self.names("all") || self.names(&tax.name)
    }

    fn names(&self, word: &str) -> bool {
        self.0.iter().any(|own| own == word)
    }

    /// Is a line chosen? Where nothing is named, all but taxes.
    #[must_use]
    pub fn holds(&self, line: &BillLine) -> bool {
        if self.0.is_empty() {
            return line.kind != LineKind::Tax;
        }
        self.0.iter().any(|word| match word.as_str() {
            "all" => true,
            "standing" => line.kind == LineKind::Standing,
            "energy" => line.kind == LineKind::Energy,
            "demand" => line.kind == LineKind::Demand,
            "capacity" => line.kind == LineKind::Capacity,
            "reactive" => line.kind == LineKind::Reactive,
            "levies" => line.kind == LineKind::Levy,
            "export" => line.kind == LineKind::Export,
            "taxes" => line.kind == LineKind::Tax,
            name => {
                let rest = line.line.strip_prefix(name);
                rest.is_some_and(|rest| rest.is_empty() || rest.starts_with(' '))
            }
        })
    }
}
