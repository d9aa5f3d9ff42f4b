//! What a row or a column of a table holds, by the words and units next to it.

use super::column_unit::{self, ColumnUnit, Dimension};
use site::Quantity;

/// Direction and kind of energy.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct EnergyKind {
    pub(crate) exports: bool,
    pub(crate) reactive: bool,
}

/// The kind that a cell or a heading names; `None` where it names none. Abbreviations as in half-hourly data of
/// suppliers: AI and AE active import and export, RI and RE reactive (common practice).
pub(crate) fn kind(text: &str) -> Option<EnergyKind> {
    let lower = text.to_lowercase();
    let words: Vec<&str> = lower
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .collect();
    let has = |known: &[&str]| words.iter().any(|word| known.contains(word));
    let reactive = has(&["reactive", "kvarh", "varh", "mvarh", "kvar", "ri", "re"]);
    let exports = has(&[
        "export",
        "exported",
        "generation",
        "generated",
        "ae",
        "re",
        "received",
        "returned",
    ]) || lower.contains("feed-in")
        || lower.contains("feed in");
    let imports = has(&[
        "import",
        "imported",
        "consumption",
        "consumed",
        "usage",
        "ai",
        "ri",
        "active",
        "kwh",
        "wh",
        "mwh",
        "kw",
        "energy",
        "delivered",
        "demand",
        "electricity",
        "power",
    ]);
    (reactive || exports || imports).then_some(EnergyKind { exports, reactive })
}

/// The unit that a text names anywhere, such as in `Half-hourly consumption (kWh)`.
pub(crate) fn unit_in(text: &str) -> Option<&str> {
    let mut words = text.split(|c: char| !c.is_alphanumeric());
    words.find(|word| {
        let energy_or_power = column_unit::parse(word).is_some_and(|unit| {
            !matches!(
                unit.dimension,
                Dimension::Ratio | Dimension::Current | Dimension::Voltage | Dimension::Frequency
            )
        });
        word.len() > 1 && energy_or_power
    })
}

/// Quantity and factor of values of a kind in a unit. `apart`: the file also has values in the other direction.
pub(crate) fn quantity(kind: EnergyKind, unit: ColumnUnit, apart: bool) -> Option<(Quantity, f64)> {
    let quantity = match (unit.dimension, kind.exports) {
        (Dimension::ActiveEnergy, false) => Quantity::EnergyInterval,
        (Dimension::ActiveEnergy, true) => Quantity::EnergyExportInterval,
        (Dimension::ReactiveEnergy, false) => Quantity::ReactiveEnergyInterval,
        (Dimension::ReactiveEnergy, true) => Quantity::ReactiveEnergyExportInterval,
        (Dimension::ActivePower, false) if apart => Quantity::ActivePowerImport(None),
        (Dimension::ActivePower, false) => Quantity::ActivePower(None),
        (Dimension::ActivePower, true) => Quantity::ActivePowerExport(None),
        (Dimension::ReactivePower, false) => Quantity::ReactivePower(None),
        (Dimension::ApparentPower, false) => Quantity::ApparentPower(None),
        _ => return None,
    };
    Some((quantity, column_unit::factor(unit, quantity)?))
}

/// Is a heading one of a column that identifies the meter? The more usual, the smaller the number.
pub(crate) fn id_rank(heading: &str) -> Option<usize> {
    const WORDS: [&str; 14] = [
        "mpan",
        "nmi",
        "point",
        "pod",
        "ean",
        "usagepoint",
        "meter",
        "serial",
        "site",
        "msn",
        "device",
        "channel",
        "register",
        "id",
    ];
    let lower = heading.to_lowercase();
    let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).collect();
    // `Meter reading` is a value, not a meter.
    if words.iter().any(|word| {
        matches!(
            *word,
            "reading" | "read" | "value" | "date" | "time" | "type" | "status" | "unit"
        )
    }) {
        return None;
    }
    WORDS.iter().position(|known| words.contains(known))
}

/// Is a heading one of a column of quality?
pub(crate) fn is_quality(heading: &str) -> bool {
    let lower = heading.to_lowercase();
    let words: Vec<&str> = lower
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .collect();
    words
        .iter()
        .any(|word| matches!(*word, "quality" | "estimated" | "estimate" | "flag"))
        || matches!(
            words[..],
            ["a", "e"] | ["status" | "type"] | ["reading" | "read", "type"]
        )
}

/// Does a cell say that its row sums up others?
pub(crate) fn is_summary(cell: &str) -> bool {
    let lower = cell.to_lowercase();
    lower.split(|c: char| !c.is_alphabetic()).any(|word| {
        matches!(
            word,
            "total"
                | "totals"
                | "subtotal"
                | "sum"
                | "average"
                | "avg"
                | "mean"
                | "min"
                | "minimum"
                | "max"
                | "maximum"
                | "peak"
        )
    })
}

/// Does a mark of quality say that a value is estimated or substituted? `None`: it is no such mark.
pub(crate) fn estimated(mark: &str) -> Option<bool> {
    Some(match mark.trim().to_lowercase().as_str() {
        "a" | "actual" | "r" | "read" | "real" | "v" | "valid" | "ok" | "measured" | "m"
        | "good" | "no" | "n" | "0" | "false" | "normal" => false,
        "e" | "est" | "estimated" | "estimate" | "s" | "substituted" | "substitute" | "f"
        | "final" | "c" | "calculated" | "yes" | "y" | "1" | "true" | "interpolated" => true,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_of_tables() {
        let of = |exports, reactive| Some(EnergyKind { exports, reactive });
        for (text, found) in [
            ("AI", of(false, false)),
            ("AE", of(true, false)),
            ("RI", of(false, true)),
            ("kWh Export", of(true, false)),
            ("Consumption (kWh)", of(false, false)),
            ("kvarh", of(false, true)),
            ("HH", None),
            ("", None),
        ] {
            assert_eq!(kind(text), found, "{text}");
        }
        assert_eq!(unit_in("Half-hourly consumption (kWh)"), Some("kWh"));
        assert_eq!(unit_in("Meter A"), None);
        assert_eq!(id_rank("Meter reading"), None);
        assert!(id_rank("MPAN") < id_rank("Meter serial"));
        assert_eq!(
            (estimated("E"), estimated("Actual"), estimated("12")),
            (Some(true), Some(false), None)
        );
    }
}
