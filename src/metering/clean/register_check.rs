//! A register against the power of the same meter, over the time that both saw.

use schemars::JsonSchema;
use serde::Serialize;

use super::register::register_steps;
use crate::table::quality::{Action, QualityEntry};
use units::format_kwh;

/// Accuracy class of a meter that declares none (IEC 62053-21). \[%\]
const USUAL_CLASS_PCT: f64 = 1.0;

/// What a register counted compared with the sum of the power. Neither is corrected by the other.
#[derive(Clone, Copy, Debug, PartialEq, JsonSchema, Serialize)]
pub struct RegisterCheck {
    /// What the register counted over intervals with power. \[kWh\]
    pub register_kwh: f64,
    /// What the power drawn adds up to over the same intervals. \[kWh\]
    pub integral_kwh: f64,
    /// How far the two may lie apart: accuracy class and last digits of the register. \[kWh\]
    pub allowed_kwh: f64,
    /// They do not lie further apart.
    pub agrees: bool,
    /// What the register counted beyond that, while power was not logged. \[kWh\]
    pub unlogged_kwh: f64,
    /// The last digit of the register. \[kWh\]
    pub step_kwh: f64,
}

/// What the check needs besides the readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct CheckGround {
    /// Accuracy class, if declared. \[%\]
    pub(crate) class_pct: Option<f64>,
    /// Last digits of the register (of its parts together). \[kWh\]
    pub(crate) step_kwh: f64,
    pub(crate) interval_s: i64,
}

/// Compares a register that has been corrected with the power, and reports the problems found.
///
/// An import register does not count backwards: export counts as none.
pub(crate) fn check(
    starts: &[i64],
    counts: impl Iterator<Item = Option<f64>>,
    power_kw: impl Fn(usize) -> Option<f64>,
    ground: CheckGround,
) -> Option<(RegisterCheck, Vec<QualityEntry>)> {
    let hours = ground.interval_s as f64 / 3600.0;
    let drawn_at = |start: i64| {
        let row = starts.binary_search(&start).ok()?;
        power_kw(row).map(|kw| kw.max(0.0) * hours)
    };
    let mut seen = CommonTime::default();
    let (mut unlogged_kwh, mut unlogged) = (0.0, Vec::new());
    for step in register_steps(starts, counts) {
        let (before, after) = (drawn_at(step.from_s), drawn_at(step.to_s));
        if step.to_s - step.from_s == ground.interval_s
            && let (Some(before), Some(after)) = (before, after)
        {
            seen.register_kwh += step.energy_kwh;
            seen.before_kwh += before;
            seen.after_kwh += after;
            seen.intervals += 1;
            seen.stretches += usize::from(seen.to_s != Some(step.from_s));
            seen.from_s = seen.from_s.or(Some(step.from_s));
            seen.to_s = Some(step.to_s);
        } else {
            // The interval at its end belongs to it and may have power.
            let more = step.energy_kwh - after.unwrap_or(0.0);
            unlogged_kwh += more;
            if more > ground.step_kwh.max(0.001) {
                unlogged.push(step.from_s + ground.interval_s);
            }
        }
    }
    let (from_s, to_s) = (seen.from_s?, seen.to_s?);
    let class_pct = ground.class_pct.unwrap_or(USUAL_CLASS_PCT);
    let integral_kwh = seen.integral_kwh();
    let allowed_kwh =
        class_pct / 100.0 * seen.register_kwh.abs() + ground.step_kwh * seen.stretches as f64;
    let check = RegisterCheck {
        register_kwh: seen.register_kwh,
        integral_kwh,
        allowed_kwh,
        agrees: (integral_kwh - seen.register_kwh).abs() <= allowed_kwh,
        unlogged_kwh,
        step_kwh: ground.step_kwh,
    };
    let mut quality = Vec::new();
    if !check.agrees {
        quality.push(mismatch(&check, class_pct, &seen, [from_s, to_s]));
    }
    if !unlogged.is_empty() {
        let note = format!(
            "the register advanced by {} while no power was logged: counted in the energy by register, not in the energy by power",
            format_kwh(unlogged_kwh)
        );
        let entry = QualityEntry::at_times("register-advanced-in-gap", &unlogged, note);
        quality.push(entry.with(Action::Kept));
    }
    Some((check, quality))
}

fn mismatch(
    check: &RegisterCheck,
    class_pct: f64,
    seen: &CommonTime,
    times: [i64; 2],
) -> QualityEntry {
    let note = format!(
        "over the {} intervals with both, the register counted {} and the import of the power as logged adds up to {}; other intervals, export and corrected faults of the meter are not in these figures; class {class_pct} and the last digit of the register allow a difference of {}; both are shown, neither is corrected",
        seen.intervals,
        format_kwh(check.register_kwh),
        format_kwh(check.integral_kwh),
        format_kwh(check.allowed_kwh),
    );
    let entry = QualityEntry::at_times("register-mismatch", &times, note);
    QualityEntry { count: 1, ..entry }.with(Action::Kept)
}

/// What both saw.
#[derive(Debug, Default)]
struct CommonTime {
    register_kwh: f64,
    before_kwh: f64,
    after_kwh: f64,
    intervals: usize,
    /// Stretches without interruption; each begins and ends with a digit cut off.
    stretches: usize,
    from_s: Option<i64>,
    to_s: Option<i64>,
}

impl CommonTime {
    /// Whether a register was read at the start or at the end of its interval is not always as
    /// declared: the power of both is added up, and the closer sum counts.
    fn integral_kwh(&self) -> f64 {
        let distance = |sum: f64| (sum - self.register_kwh).abs();
        if distance(self.before_kwh) < distance(self.after_kwh) {
            self.before_kwh
        } else {
            self.after_kwh
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HOURLY: CheckGround = CheckGround {
        class_pct: None,
        step_kwh: 1.0,
        interval_s: 3600,
    };

    fn checked(counts: &[f64], power: &[Option<f64>]) -> (RegisterCheck, Vec<String>) {
        let starts: Vec<i64> = (0..counts.len() as i64).map(|hour| hour * 3600).collect();
        let counts = counts.iter().copied().map(Some);
        let power = |row: usize| power[row];
        let (check, quality) = check(&starts, counts, power, HOURLY).expect("both are there");
        (check, quality.into_iter().map(|entry| entry.kind).collect())
    }

    /// 30 h at 10 kW between readings are 300 kWh; class 1 allows 3 kWh and the last digit 1 kWh.
    #[test]
    fn a_register_off_by_more_than_class_and_digit_is_named() {
        let register = |per_hour: f64| -> Vec<f64> {
            (0..31)
                .map(|hour| (1000.0 + f64::from(hour) * per_hour).floor())
                .collect()
        };
        let power = vec![Some(10.0); 31];
        let (near, kinds) = checked(&register(9.9), &power);
        assert!(near.agrees && kinds.is_empty());
        let (far, kinds) = checked(&register(9.8), &power);
        assert!(!far.agrees);
        assert_eq!(kinds, ["register-mismatch"]);
        assert!((far.register_kwh - 294.0).abs() < 1e-9 && (far.integral_kwh - 300.0).abs() < 1e-9);
    }

    /// Power is unknown from the 10th to the 19th hour: the register's 100 kWh of that time are
    /// set apart, and the interval that follows the gap belongs to it as well.
    #[test]
    fn what_a_register_counted_in_a_gap_is_set_apart() {
        let mut power = vec![Some(10.0); 31];
        power[10..20].fill(None);
        let register: Vec<f64> = (0..31)
            .map(|hour| 1000.0 + 10.0 * f64::from(hour))
            .collect();
        let (check, kinds) = checked(&register, &power);
        assert!(check.agrees);
        assert!((check.unlogged_kwh - 100.0).abs() < 1e-9, "{check:?}");
        assert_eq!(kinds, ["register-advanced-in-gap"]);
    }
}
