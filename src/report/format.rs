//! Short names for the formatters of figures and times, and lists of words.

use chrono::{DateTime, Utc};
use chrono_tz::Tz;

pub(super) use tables::quoted;
pub(super) use units::{
    format_amps as amps, format_duration as duration, format_length as length,
    format_limit as limit, format_number as number, format_percent as percent,
    format_period as period, format_with_unit as with_unit,
};

/// Energy, without its unit.
pub(super) fn kwh(value: f64) -> String {
    units::FigureKind::ActiveEnergy.number(value)
}

/// `Tue 10 Mar 2026 10:00` in the site's time zone.
pub(super) fn moment(at: DateTime<Utc>, zone: Tz) -> String {
    units::format_moment(at.with_timezone(&zone))
}

/// `1 move`, `2 moves`.
pub(super) fn counted(count: usize, one: &str, several: &str) -> String {
    if count == 1 {
        format!("1\u{A0}{one}")
    } else {
        format!("{count}\u{A0}{several}")
    }
}

/// `L1`, `L1 and L2`, `L1, L2 and L3`.
pub(super) fn listed(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [only] => only.clone(),
        [start @ .., last] => format!("{} and {last}", start.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_listed() {
        let words = ["L1", "L2", "L3"].map(str::to_owned);
        assert_eq!(listed(&words), "L1, L2 and L3");
        assert_eq!(listed(&words[..2]), "L1 and L2");
    }
}
