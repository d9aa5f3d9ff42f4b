//! How figures are written for people: fixed decimals per quantity, thousands set apart.

/// Set between groups of three digits: a narrow space that does not break a line. ISO 80000-1 sets
/// groups apart by a small space, never by a comma or point, which countries read differently.
const GROUP_SPACE: char = '\u{202f}';

/// Written for a figure that is not known.
pub const UNKNOWN: &str = "–";

/// What a figure in a table, a text or a chart is, and so with how many decimals and which unit it is
/// written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FigureKind {
    /// Current (A).
    Current,
    /// Voltage (V).
    Voltage,
    /// Active power (kW).
    ActivePower,
    /// Apparent power (kVA).
    ApparentPower,
    /// Reactive power (kvar).
    ReactivePower,
    /// Active energy (kWh).
    ActiveEnergy,
    /// Reactive energy (kvarh).
    ReactiveEnergy,
    /// Share of a whole (%).
    Percent,
    /// Power factor, without unit.
    PowerFactor,
    /// Small resistance, such as a joint's (mΩ).
    JointResistance,
    /// What a move takes off a current, and what is left: tenths would hide small steps (A).
    CurrentStep,
    /// Share of a whole where a tenth of a per cent is much, such as unbalance of voltages (%).
    FinePercent,
    /// Load, demand, diversity and coincidence factor, without unit.
    Factor,
    /// Carbon dioxide (kg).
    Carbon,
    /// Carbon of energy (g/kWh).
    CarbonFactor,
    /// Length of a cable (m).
    Length,
}

impl FigureKind {
    /// Digits behind the point.
    #[must_use]
    pub const fn decimals(self) -> usize {
        match self {
            FigureKind::Current
            | FigureKind::Voltage
            | FigureKind::ActiveEnergy
            | FigureKind::ReactiveEnergy
            | FigureKind::Percent
            | FigureKind::JointResistance
            | FigureKind::Carbon
            | FigureKind::CarbonFactor => 1,
            FigureKind::ActivePower
            | FigureKind::ApparentPower
            | FigureKind::ReactivePower
            | FigureKind::CurrentStep
            | FigureKind::FinePercent => 2,
            FigureKind::PowerFactor | FigureKind::Factor => 3,
            FigureKind::Length => 0,
        }
    }

    /// Symbol of the unit, for the figure or the head of its column; empty for a factor.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            FigureKind::Current | FigureKind::CurrentStep => "A",
            FigureKind::Voltage => "V",
            FigureKind::ActivePower => "kW",
            FigureKind::ApparentPower => "kVA",
            FigureKind::ReactivePower => "kvar",
            FigureKind::ActiveEnergy => "kWh",
            FigureKind::ReactiveEnergy => "kvarh",
            FigureKind::Percent | FigureKind::FinePercent => "%",
            FigureKind::PowerFactor | FigureKind::Factor => "",
            FigureKind::JointResistance => "mΩ",
            FigureKind::Carbon => "kg",
            FigureKind::CarbonFactor => "g/kWh",
            FigureKind::Length => "m",
        }
    }

    /// The number alone, for a column whose head carries the unit.
    ///
    /// ```
    /// use units::FigureKind;
    /// assert_eq!(FigureKind::ActivePower.number(4.6), "4.60");
    /// ```
    #[must_use]
    pub fn number(self, value: f64) -> String {
        format_number(value, self.decimals())
    }

    /// The number with its unit.
    ///
    /// ```
    /// use units::FigureKind;
    /// assert_eq!(FigureKind::ActivePower.text(4.6), "4.60\u{a0}kW");
    /// ```
    #[must_use]
    pub fn text(self, value: f64) -> String {
        format_with_unit(value, self.decimals(), self.unit())
    }
}

/// A number with its unit, on one line; words where it is not known.
///
/// ```
/// use units::format_with_unit;
/// assert_eq!(format_with_unit(12.34, 1, "A"), "12.3\u{a0}A");
/// assert_eq!(format_with_unit(f64::NAN, 1, "A"), "not known");
/// ```
#[must_use]
pub fn format_with_unit(value: f64, decimals: usize, unit: &str) -> String {
    if !value.is_finite() {
        return "not known".to_owned();
    }
    let number = format_number(value, decimals);
    if unit.is_empty() {
        number
    } else {
        format!("{number}\u{a0}{unit}")
    }
}

/// A limit with its unit: whole amperes without a decimal.
#[must_use]
pub fn format_limit(amps: f64) -> String {
    format_with_unit(amps, usize::from((amps - amps.round()).abs() > 1e-9), "A")
}

/// A current with its unit: `12.5 A`.
#[must_use]
pub fn format_amps(amps: f64) -> String {
    FigureKind::Current.text(amps)
}

/// An energy with its unit, thousands set apart: `12 345.6 kWh`.
#[must_use]
pub fn format_kwh(kwh: f64) -> String {
    FigureKind::ActiveEnergy.text(kwh)
}

/// A share with its sign: `37.8 %`. The value is in percent already.
#[must_use]
pub fn format_percent(percent: f64) -> String {
    FigureKind::Percent.text(percent)
}

/// Largest share that means something: beyond it the whole is next to nothing. (%)
const LARGEST_PERCENT: f64 = 1000.0;

/// A part as a share of a whole; unknown where the whole is zero or below, or tiny compared with the part. (%)
///
/// ```
/// use units::percent_of;
/// assert_eq!(percent_of(1.0, 4.0), Some(25.0));
/// assert_eq!(percent_of(1.0, 0.0), None);
/// assert_eq!(percent_of(631.0, 1.0), None);
/// ```
#[must_use]
pub fn percent_of(part: f64, whole: f64) -> Option<f64> {
    let share = 100.0 * part / whole;
    (whole > 0.0 && share.abs() <= LARGEST_PERCENT).then_some(share)
}

/// A figure that may be unknown: a dash represents it.
///
/// ```
/// use units::{format_amps, or_dash};
/// assert_eq!(or_dash(Some(3.0), format_amps), "3.0\u{a0}A");
/// assert_eq!(or_dash(None, format_amps), "–");
/// ```
pub fn or_dash<T>(value: Option<T>, format: impl Fn(T) -> String) -> String {
    value.map_or_else(|| UNKNOWN.to_owned(), format)
}

/// Fixed decimals; what reads as zero after rounding has no sign; a dash for what is no number.
///
/// ```
/// use units::fixed;
/// assert_eq!(fixed(-0.06, 1), "-0.1");
/// assert_eq!(fixed(-0.04, 1), "0.0");
/// assert_eq!(fixed(-0.0, 0), "0");
/// ```
#[must_use]
pub fn fixed(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return UNKNOWN.to_owned();
    }
    without_sign_of_zero(format!("{value:.decimals$}"))
}

/// As [`fixed`], with a plus sign before what is above zero.
///
/// ```
/// use units::signed;
/// assert_eq!(signed(1.26, 1), "+1.3");
/// assert_eq!(signed(-1.26, 1), "-1.3");
/// assert_eq!(signed(-0.04, 1), "0.0");
/// ```
#[must_use]
pub fn signed(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return UNKNOWN.to_owned();
    }
    without_sign_of_zero(format!("{value:+.decimals$}"))
}

fn without_sign_of_zero(text: String) -> String {
    let is_zero = text
        .bytes()
        .all(|byte| matches!(byte, b'+' | b'-' | b'0' | b'.'));
    if is_zero {
        text.trim_start_matches(['+', '-']).to_owned()
    } else {
        text
    }
}

/// Fixed decimals, digits before the point in groups of three, the minus sign of print, no negative zero; a dash for
/// what is no number.
///
/// ```
/// use units::format_number;
/// assert_eq!(format_number(-1234.56, 1), "−1\u{202f}234.6");
/// assert_eq!(format_number(-0.04, 1), "0.0");
/// ```
#[must_use]
pub fn format_number(value: f64, decimals: usize) -> String {
    if value.is_finite() {
        grouped_digits(&format!("{value:.decimals$}"))
    } else {
        UNKNOWN.to_owned()
    }
}

/// A figure as it is typed: up to six decimals, without zeros at the end and without groups.
///
/// ```
/// use units::plain_figure;
/// assert_eq!([1234.5, 0.1 + 0.2, 3.0].map(plain_figure), ["1234.5", "0.3", "3"]);
/// ```
#[must_use]
pub fn plain_figure(value: f64) -> String {
    let text = format!("{value:.6}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// As [`format_number`], a positive number with its sign; what reads as zero has none.
///
/// ```
/// use units::format_signed;
/// assert_eq!([1.25, -1.25, 0.04].map(|value| format_signed(value, 1)), ["+1.2", "−1.2", "0.0"]);
/// ```
#[must_use]
pub fn format_signed(value: f64, decimals: usize) -> String {
    let number = format_number(value, decimals);
    let reads_as_zero = !number.bytes().any(|digit| matches!(digit, b'1'..=b'9'));
    if value > 0.0 && !reads_as_zero {
        format!("+{number}")
    } else {
        number
    }
}

/// A decimal as it is written, thousands set apart, with the minus sign of print; what reads as zero has none.
///
/// ```
/// use units::grouped_digits;
/// assert_eq!(grouped_digits("-12345.60"), "−12\u{202f}345.60");
/// ```
#[must_use]
pub fn grouped_digits(number: &str) -> String {
    let is_zero = !number.bytes().any(|digit| matches!(digit, b'1'..=b'9'));
    let (sign, digits) = match number.strip_prefix('-') {
        Some(digits) if is_zero => ("", digits),
        Some(digits) => ("−", digits),
        None => ("", number),
    };
    let (whole, fraction) = digits.split_at(digits.find('.').unwrap_or(digits.len()));
    let mut text = String::with_capacity(number.len() + 8);
    text.push_str(sign);
    for (position, digit) in whole.chars().enumerate() {
        if position > 0 && (whole.len() - position).is_multiple_of(3) {
            text.push(GROUP_SPACE);
        }
        text.push(digit);
    }
    text.push_str(fraction);
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn groups_are_made_after_rounding() {
        for (value, decimals, text) in [
            (0.0, 1, "0.0"),
            (999.94, 1, "999.9"),
            (999.96, 1, "1_000.0"),
            (1000.0, 0, "1_000"),
            (12_345.6, 1, "12_345.6"),
            (999_999.96, 1, "1_000_000.0"),
            (1_234_567.0, 0, "1_234_567"),
            (-1234.5, 1, "−1_234.5"),
            (-123.4, 1, "−123.4"),
        ] {
            assert_eq!(
                format_number(value, decimals).replace(GROUP_SPACE, "_"),
                text
            );
        }
    }

    #[test]
    fn what_rounds_to_zero_has_no_sign() {
        assert_eq!(format_amps(-0.0), "0.0\u{a0}A");
        assert_eq!(format_amps(-0.049), "0.0\u{a0}A");
        assert_eq!(format_amps(-0.051), "−0.1\u{a0}A");
    }

    #[test]
    fn each_quantity_has_its_decimals_and_unit() {
        assert_eq!(format_kwh(12_345.64), "12\u{202f}345.6\u{a0}kWh");
        assert_eq!(format_percent(37.816), "37.8\u{a0}%");
        assert_eq!(FigureKind::PowerFactor.text(0.8), "0.800");
        assert_eq!(FigureKind::ApparentPower.text(117.536), "117.54\u{a0}kVA");
        assert_eq!(FigureKind::ReactivePower.text(-2.0), "−2.00\u{a0}kvar");
        assert_eq!(FigureKind::JointResistance.text(4.96), "5.0\u{a0}mΩ");
        assert_eq!(FigureKind::Voltage.number(230.94), "230.9");
        assert_eq!(FigureKind::ReactiveEnergy.text(1.0), "1.0\u{a0}kvarh");
    }

    #[test]
    fn a_number_that_is_none_is_shown_as_unknown() {
        assert_eq!(format_number(f64::NAN, 1), UNKNOWN);
        assert_eq!(format_number(f64::NEG_INFINITY, 1), UNKNOWN);
    }

    proptest::proptest! {
        /// No helper writes infinity, what is no number, or a sign before what reads as zero.
        #[test]
        fn what_is_written_is_a_figure_or_unknown(
            value in proptest::num::f64::ANY, small in -1.0..1.0_f64, decimals in 0_usize..4, whole in -2.0..2.0_f64
        ) {
            for value in [value, small, -0.0] {
                let kinds = [FigureKind::Current, FigureKind::Percent, FigureKind::ActivePower, FigureKind::Length];
                let texts = [
                    fixed(value, decimals),
                    signed(value, decimals),
                    format_number(value, decimals),
                    format_signed(value, decimals),
                    format_with_unit(value, decimals, "A"),
                    format_limit(value),
                    or_dash(percent_of(value, whole), format_percent),
                ];
                for text in texts.into_iter().chain(kinds.map(|kind| kind.text(value))) {
                    proptest::prop_assert!(!text.contains("inf") && !text.contains("NaN"), "{text}");
                    let has_sign = text.starts_with(['-', '−', '+']);
                    let has_digit = text.bytes().any(|digit| matches!(digit, b'1'..=b'9'));
                    proptest::prop_assert!(!has_sign || has_digit, "{text}");
                }
                if let Some(share) = percent_of(value, whole) {
                    proptest::prop_assert!(share.abs() <= LARGEST_PERCENT);
                }
            }
        }
    }
}
