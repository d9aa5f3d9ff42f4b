//! The plain words of the trade: a symbol, a phase, a unit. `U L1-N [V]`, `I L2 (A)`, `P L3 [W]`,
//! `kWh`. Usage throughout the trade (letter symbols as in IEC 60027-1); what is not clear is left
//! unrecognised.

use super::{Guess, Meaning, Reason};
use electrical::{Phase, PhasePair};
use formats::column_unit::{self, Dimension};
use site::Quantity;

/// Where something is measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Where {
    Total,
    Phase(Phase),
    Pair(PhasePair),
    Neutral,
}

/// Direction of energy or power, where it is given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Way {
    Unsaid,
    Drawn,
    Returned,
}

/// What a symbol or word represents.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Symbol {
    Voltage,
    Current,
    Active,
    Reactive,
    Apparent,
    Factor,
    Distortion,
    Frequency,
    Energy,
}

/// What a name represents. `unit_text` is what the log says with it.
pub(super) fn recognise(name: &str, unit_text: Option<&str>) -> Option<Guess> {
    let (words, in_name) = match column_unit::split(name) {
        Some((words, unit)) => (words, Some(unit)),
        None => (name.trim(), None),
    };
    let alone = column_unit::parse(words).filter(|unit| unit.dimension != Dimension::Ratio);
    let said = unit_text.or(in_name).filter(|text| !text.is_empty());
    let said = match said {
        Some(text) => Some(column_unit::parse(text)?),
        // A unit that is the whole name.
        None => {
            alone.filter(|unit| !matches!(unit.dimension, Dimension::Voltage | Dimension::Current))
        }
    };
    let reading = if words.is_empty() || in_name.is_none() && alone.is_some() {
        WordReading::default()
    } else {
        WordReading::of(words)?
    };
    let dimension = said.map(|unit| unit.dimension);
    let meaning = reading.meaning(dimension)?;
    let quantity = match meaning {
        Meaning::Quantity(quantity) => quantity,
        Meaning::Energy { register, .. } => register,
    };
    let factor = match said {
        Some(unit) => column_unit::factor(unit, quantity)?,
        // Watts or kilowatts? The log does not say.
        None if column_unit::of(quantity).plain > 1.0 => return None,
        None if matches!(quantity, Quantity::ThdCurrent(_)) => return None,
        None => 1.0,
    };
    Some(Guess {
        meaning,
        factor,
        reason: Reason::Words,
        unit_assumed: false,
        of_tariff: false,
    })
}

/// What the words of a name say.
#[derive(Clone, Copy, Debug)]
struct WordReading {
    symbol: Option<Symbol>,
    place: Option<Where>,
    way: Way,
}

impl Default for WordReading {
    fn default() -> Self {
        WordReading {
            symbol: None,
            place: None,
            way: Way::Unsaid,
        }
    }
}

impl WordReading {
    /// `None` where a word is not understood.
    fn of(words: &str) -> Option<WordReading> {
        let lower = words.to_lowercase().replace('_', " ");
        let mut reading = WordReading::default();
        let mut tokens = lower.split_whitespace().peekable();
        while let Some(token) = tokens.next() {
            // Two words for one thing.
            let pair = tokens.peek().and_then(|next| double(token, next));
            if let Some(symbol) = pair {
                tokens.next();
                reading.symbol = Some(reading.joined(symbol)?);
                continue;
            }
            match token {
                // What every row is of.
                "avg" | "average" | "mean" | "rms" | "true" | "half" | "hourly" | "hh"
                | "interval" | "value" | "reading" | "register" | "meter" | "usage"
                | "consumption" | "consumed" | "used" | "electricity" | "active" | "real"
                | "demand" | "power" | "delta" | "cumulative" | "index" => {}
                "reactive" => reading.symbol = Some(reading.joined(Symbol::Reactive)?),
                "import" | "imported" | "drawn" | "delivered" | "+" => reading.way = Way::Drawn,
                "export" | "exported" | "returned" | "generation" | "generated" | "received" => {
                    reading.way = Way::Returned;
                }
                _ => {
                    if let Some(symbol) = symbol(token) {
                        reading.symbol = Some(reading.joined(symbol)?);
                    } else if let Some(place) = place(token) {
                        reading.put(place)?;
                    } else {
                        let (symbol, place) = glued(token)?;
                        reading.symbol = Some(reading.joined(symbol)?);
                        reading.put(place)?;
                    }
                }
            }
        }
        Some(reading)
    }

    fn put(&mut self, place: Where) -> Option<()> {
        self.place.is_none().then(|| self.place = Some(place))
    }

    /// `THD` next to `I` is the distortion of the current, `active` with `energy` its kind.
    fn joined(self, symbol: Symbol) -> Option<Symbol> {
        match (self.symbol, symbol) {
            (None, symbol) => Some(symbol),
            (Some(Symbol::Distortion), Symbol::Current)
            | (Some(Symbol::Current), Symbol::Distortion) => Some(Symbol::Distortion),
            (Some(Symbol::Energy), Symbol::Active) | (Some(Symbol::Active), Symbol::Energy) => {
                Some(Symbol::Energy)
            }
            _ => None,
        }
    }

    fn meaning(self, dimension: Option<Dimension>) -> Option<Meaning> {
        let symbol = match (self.symbol, dimension) {
            (Some(symbol), _) => symbol,
            (None, Some(Dimension::ActivePower)) => Symbol::Active,
            (None, Some(Dimension::ReactivePower)) => Symbol::Reactive,
            (None, Some(Dimension::ApparentPower)) => Symbol::Apparent,
            (None, Some(Dimension::ActiveEnergy | Dimension::ReactiveEnergy)) => Symbol::Energy,
            (None, Some(Dimension::Frequency)) => Symbol::Frequency,
            (None, _) => return None,
        };
        let phase = match self.place {
            None | Some(Where::Total) => None,
            Some(Where::Phase(phase)) => Some(phase),
            Some(Where::Pair(_) | Where::Neutral) => {
                return match (symbol, self.place) {
                    (Symbol::Voltage, Some(Where::Pair(pair))) => {
                        Some(Meaning::Quantity(Quantity::LineVoltage(pair)))
                    }
                    (Symbol::Current, Some(Where::Neutral)) => {
                        Some(Meaning::Quantity(Quantity::NeutralCurrent))
                    }
                    _ => None,
                };
            }
        };
        let quantity = match (symbol, self.way) {
            (Symbol::Voltage, Way::Unsaid) => Quantity::Voltage(phase?),
            (Symbol::Current, Way::Unsaid) => Quantity::Current(phase?),
            (Symbol::Distortion, Way::Unsaid) => Quantity::ThdCurrent(phase?),
            (Symbol::Frequency, Way::Unsaid) => Quantity::Frequency,
            (Symbol::Factor, Way::Unsaid) => Quantity::PowerFactor(phase),
            (Symbol::Apparent, Way::Unsaid) => Quantity::ApparentPower(phase),
            (Symbol::Active, Way::Unsaid) if dimension != Some(Dimension::ActiveEnergy) => {
                Quantity::ActivePower(phase)
            }
            (Symbol::Active, Way::Drawn) if dimension == Some(Dimension::ActivePower) => {
                Quantity::ActivePowerImport(phase)
            }
            (Symbol::Active, Way::Returned) if dimension == Some(Dimension::ActivePower) => {
                Quantity::ActivePowerExport(phase)
            }
            (Symbol::Reactive, Way::Unsaid) if dimension != Some(Dimension::ReactiveEnergy) => {
                Quantity::ReactivePower(phase)
            }
            (Symbol::Energy | Symbol::Active | Symbol::Reactive, way) => {
                return energy(dimension?, phase, way);
            }
            _ => return None,
        };
        Some(Meaning::Quantity(quantity))
    }
}

/// Energy is a register or the amount of an interval; the readings show which.
fn energy(dimension: Dimension, phase: Option<Phase>, way: Way) -> Option<Meaning> {
    match (dimension, way, phase) {
        (Dimension::ActiveEnergy, Way::Returned, None) => Some(Meaning::Energy {
            register: Quantity::EnergyExport,
            amount: Quantity::EnergyExportInterval,
        }),
        (Dimension::ActiveEnergy, Way::Unsaid | Way::Drawn, None) => Some(Meaning::Energy {
            register: Quantity::EnergyImport(None),
            amount: Quantity::EnergyInterval,
        }),
        (Dimension::ActiveEnergy, Way::Unsaid | Way::Drawn, Some(phase)) => {
            Some(Meaning::Quantity(Quantity::EnergyImport(Some(phase))))
        }
        (Dimension::ReactiveEnergy, Way::Returned, None) => Some(Meaning::Energy {
            register: Quantity::ReactiveEnergyExport,
            amount: Quantity::ReactiveEnergyExportInterval,
        }),
        (Dimension::ReactiveEnergy, Way::Unsaid | Way::Drawn, None) => Some(Meaning::Energy {
            register: Quantity::ReactiveEnergyImport,
            amount: Quantity::ReactiveEnergyInterval,
        }),
        _ => None,
    }
}

fn double(first: &str, second: &str) -> Option<Symbol> {
    match (first, second) {
        ("active" | "real", "power") => Some(Symbol::Active),
        ("reactive", "power") => Some(Symbol::Reactive),
        ("apparent", "power") => Some(Symbol::Apparent),
        ("power", "factor") => Some(Symbol::Factor),
        ("active" | "reactive", "energy") => Some(Symbol::Energy),
        _ => None,
    }
}

fn symbol(token: &str) -> Option<Symbol> {
    Some(match token {
        "u" | "v" | "voltage" => Symbol::Voltage,
        "i" | "current" => Symbol::Current,
        "p" => Symbol::Active,
        "q" => Symbol::Reactive,
        "s" => Symbol::Apparent,
        "pf" | "λ" => Symbol::Factor,
        "thd" => Symbol::Distortion,
        "f" | "frequency" => Symbol::Frequency,
        "e" | "energy" | "w" => Symbol::Energy,
        _ => return None,
    })
}

fn place(token: &str) -> Option<Where> {
    let phase = |text: &str| match text {
        "l1" => Some(Phase::L1),
        "l2" => Some(Phase::L2),
        "l3" => Some(Phase::L3),
        _ => None,
    };
    match token {
        "total" | "sum" | "tot" | "σ" | "∑" => return Some(Where::Total),
        "n" | "neutral" => return Some(Where::Neutral),
        _ => {}
    }
    if let Some(phase) = phase(token) {
        return Some(Where::Phase(phase));
    }
    if let Some((first, second)) = token.split_once(['-', '/', '–']) {
        return match second {
            "n" => phase(first).map(Where::Phase),
            _ => pair(phase(first)?, phase(second)?),
        };
    }
    match token.split_at_checked(2)? {
        (first, "n") => phase(first).map(Where::Phase),
        (first, second) => pair(phase(first)?, phase(second)?),
    }
}

fn pair(first: Phase, second: Phase) -> Option<Where> {
    Some(Where::Pair(match (first, second) {
        (Phase::L1, Phase::L2) | (Phase::L2, Phase::L1) => PhasePair::L1L2,
        (Phase::L2, Phase::L3) | (Phase::L3, Phase::L2) => PhasePair::L2L3,
        (Phase::L3, Phase::L1) | (Phase::L1, Phase::L3) => PhasePair::L3L1,
        _ => return None,
    }))
}

/// Symbol and phase in one word: `U1`, `U12`, `I3`, `IN`, `PL2`, `UL1-N`.
fn glued(token: &str) -> Option<(Symbol, Where)> {
    let cut = if token.starts_with("pf") {
        2
    } else {
        token.chars().next()?.len_utf8()
    };
    let (first, rest) = token.split_at_checked(cut)?;
    let symbol = symbol(first)?;
    let place = match rest {
        "1" => Where::Phase(Phase::L1),
        "2" => Where::Phase(Phase::L2),
        "3" => Where::Phase(Phase::L3),
        "12" => pair(Phase::L1, Phase::L2)?,
        "23" => pair(Phase::L2, Phase::L3)?,
        "31" => pair(Phase::L3, Phase::L1)?,
        _ => place(rest)?,
    };
    Some((symbol, place))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_the_trade() {
        let [l1, l2, l3] = Phase::ALL;
        for (name, quantity, factor) in [
            ("U L1-N [V]", Quantity::Voltage(l1), 1.0),
            ("U L1-L2 [V]", Quantity::LineVoltage(PhasePair::ALL[0]), 1.0),
            ("U12 (V)", Quantity::LineVoltage(PhasePair::ALL[0]), 1.0),
            ("Voltage L3", Quantity::Voltage(l3), 1.0),
            ("I L2 (A)", Quantity::Current(l2), 1.0),
            ("I2 [mA]", Quantity::Current(l2), 0.001),
            ("I N [A]", Quantity::NeutralCurrent, 1.0),
            ("IN [A]", Quantity::NeutralCurrent, 1.0),
            ("P L3 [W]", Quantity::ActivePower(Some(l3)), 0.001),
            ("P_L1 avg [kW]", Quantity::ActivePower(Some(l1)), 1.0),
            ("P total (MW)", Quantity::ActivePower(None), 1000.0),
            ("Active power [kW]", Quantity::ActivePower(None), 1.0),
            ("P import [kW]", Quantity::ActivePowerImport(None), 1.0),
            ("Q L1 [var]", Quantity::ReactivePower(Some(l1)), 0.001),
            ("S [kVA]", Quantity::ApparentPower(None), 1.0),
            ("PF L2", Quantity::PowerFactor(Some(l2)), 1.0),
            ("Power factor", Quantity::PowerFactor(None), 1.0),
            ("THD I L1 [%]", Quantity::ThdCurrent(l1), 1.0),
            ("f [Hz]", Quantity::Frequency, 1.0),
            ("kW", Quantity::ActivePower(None), 1.0),
            ("kvar", Quantity::ReactivePower(None), 1.0),
        ] {
            let guess = recognise(name, None).map(|guess| (guess.meaning, guess.factor));
            assert_eq!(guess, Some((Meaning::Quantity(quantity), factor)), "{name}");
        }
        let energy = Meaning::Energy {
            register: Quantity::EnergyImport(None),
            amount: Quantity::EnergyInterval,
        };
        for (name, factor) in [
            ("kWh", 1.0),
            ("E [Wh]", 0.001),
            ("Active energy (MWh)", 1000.0),
        ] {
            let guess = recognise(name, None).map(|guess| (guess.meaning, guess.factor));
            assert_eq!(guess, Some((energy, factor)), "{name}");
        }
        let by_row = recognise("P L1", Some("W")).map(|guess| guess.factor);
        assert_eq!(by_row, Some(0.001));
    }

    /// A name with two possible meanings is not recognised.
    #[test]
    fn what_is_not_clear_is_left() {
        for name in [
            "P1",
            "P L1",
            "P",
            "kvah",
            "U L1 max [V]",
            "I [A]",
            "A",
            "V",
            "U",
            "P L1 L2 [W]",
            "Temp [°C]",
            "I L1 [V]",
            "cos phi",
            "",
            "N",
            "L1",
            "status",
            "Q L1 [W]",
            "THD I L1",
            "comment",
        ] {
            assert_eq!(recognise(name, None), None, "{name}");
        }
    }
}
