use super::*;

/// One reading an hour, limits far away unless given.
fn unwound(readings: &[f64], rules: RegisterRules) -> (Option<f64>, Vec<(String, u64)>) {
    let starts: Vec<i64> = (0..readings.len() as i64).map(|hour| hour * 3600).collect();
    let readings: Vec<Option<f64>> = readings.iter().copied().map(Some).collect();
    let found = unwind(&starts, &readings, rules);
    let kinds = found.quality.iter();
    (
        counted(found.counts.iter().copied()),
        kinds
            .map(|entry| (entry.kind.clone(), entry.count))
            .collect(),
    )
}

fn within(limit_kw: f64) -> RegisterRules {
    RegisterRules {
        factor: 1.0,
        digits: None,
        limit_kw,
    }
}

fn close(found: Option<f64>, expected: f64) -> bool {
    found.is_some_and(|found| (found - expected).abs() < 1e-6)
}

fn kinds(list: &[(&str, u64)]) -> Vec<(String, u64)> {
    list.iter()
        .map(|&(kind, count)| (kind.to_owned(), count))
        .collect()
}

/// A five-digit register from 99 970 over its end to 45 has counted 75; one with two decimals
/// from 9999.90 to 0.35 has counted 0.45 (arithmetic of the rollover rule: add the range once).
#[test]
fn rollover_adds_the_range_once() {
    let (energy, found) = unwound(&[99_970.0, 45.0], within(50.0));
    assert!(close(energy, 75.0));
    assert_eq!(found, kinds(&[("register-rollover", 1)]));
    assert!(close(unwound(&[9999.90, 0.35], within(50.0)).0, 0.45));
}

/// Read as 99 970 and 45, times 20 for the transformers: 75 · 20 = 1500.
#[test]
fn the_range_is_that_of_the_register_before_its_factor() {
    let rules = RegisterRules {
        factor: 20.0,
        ..within(1000.0)
    };
    let (energy, found) = unwound(&[1_999_400.0, 900.0], rules);
    assert!(close(energy, 1500.0), "{energy:?} {found:?}");
}

#[test]
fn a_wider_register_does_not_roll_over_at_a_smaller_power_of_ten() {
    // Declared with six digits: 9 990 → 5 cannot be its end.
    let rules = RegisterRules {
        digits: Some(6),
        ..within(50.0)
    };
    let (energy, found) = unwound(&[9980.0, 9990.0, 5.0, 9.0], rules);
    assert!(close(energy, 14.0));
    assert_eq!(found, kinds(&[("register-reset", 1)]));
    // Learned: it has shown five digits in its first lap.
    let (energy, _) = unwound(&[99_990.0, 5.0, 9000.0, 9990.0, 4.0, 6.0], within(9000.0));
    assert!(close(energy, 15.0 + 8995.0 + 990.0 + 2.0), "{energy:?}");
}

#[test]
fn a_step_over_the_end_that_is_too_large_is_an_exchange() {
    // 99 970 → 9 045 would be 9 075 kWh in an hour at a supply of 69 kW.
    let (energy, found) = unwound(&[99_960.0, 99_970.0, 9045.0, 9055.0], within(69.0));
    assert!(close(energy, 20.0));
    assert_eq!(found, kinds(&[("register-exchange", 1)]));
    // The new register may stand higher.
    let (energy, found) = unwound(&[100.0, 110.0, 70_000.0, 70_010.0], within(69.0));
    assert!(close(energy, 20.0));
    assert_eq!(found, kinds(&[("register-exchange", 1)]));
}

#[test]
fn a_reset_counts_on_and_a_dip_is_left_out() {
    let (energy, found) = unwound(&[5000.0, 5010.0, 3.0, 5.0], within(50.0));
    assert!(close(energy, 12.0));
    assert_eq!(found, kinds(&[("register-reset", 1)]));
    let dip = [5000.0, 5010.0, 0.0, 0.0, 5011.0, 5012.0];
    let (energy, found) = unwound(&dip, within(50.0));
    assert!(close(energy, 12.0));
    assert_eq!(found, kinds(&[("register-dip", 2)]));
    let spike = [5000.0, 5010.0, 65_535.0, 5011.0, 5012.0];
    let (energy, found) = unwound(&spike, within(50.0));
    assert!(close(energy, 12.0));
    assert_eq!(found, kinds(&[("register-spike", 1)]));
    assert_eq!(unwound(&[7.0], within(50.0)).0, None);
}

#[test]
fn a_small_register_that_climbs_back_was_reset() {
    // 0.5 an hour; at 2.0 it is set to zero and passes 2.0 again four hours later.
    let readings = [1.5, 2.0, 0.0, 0.5, 1.0, 1.5, 2.0, 2.5];
    let (energy, found) = unwound(&readings, within(50.0));
    assert!(close(energy, 0.5 + 2.5));
    assert_eq!(found, kinds(&[("register-reset", 1)]));
}

#[test]
fn a_register_in_the_wrong_unit_is_doubted_as_a_whole() {
    let readings: Vec<f64> = (0..50).map(|hour| f64::from(hour) * 5000.0).collect();
    let (energy, found) = unwound(&readings, within(69.0));
    assert!(close(energy, 49.0 * 5000.0));
    assert_eq!(found, kinds(&[("register-too-fast", 49)]));
}

/// Every tenth reading is 40 lower than it should be: more than 1 % of the steps rise too fast, each back to where the
/// register stood. 1 kWh an hour is 200 kWh in 200 hours.
#[test]
fn a_register_that_dips_again_and_again_is_not_too_fast() {
    let readings: Vec<f64> = (0..201)
        .map(|hour| 5000.0 + f64::from(hour) - if hour % 10 == 5 { 40.0 } else { 0.0 })
        .collect();
    let (energy, found) = unwound(&readings, within(10.0));
    assert!(close(energy, 200.0), "{energy:?}");
    assert_eq!(found, kinds(&[("register-dip", 20)]));
}

/// A fall of two while five an hour flow.
#[test]
fn a_small_fall_that_returns_counts_what_flowed() {
    let (energy, found) = unwound(&[5000.0, 5005.0, 5003.0, 5015.0, 5020.0], within(50.0));
    assert!(close(energy, 20.0), "{energy:?}");
    assert_eq!(found, kinds(&[("register-dip", 1)]));
}

#[test]
fn steps_and_digits() {
    let counts = [Some(10.0), None, Some(12.5), Some(13.0)];
    let steps = register_steps(&[0, 60, 120, 180], counts.into_iter());
    assert_eq!((steps[0].from_s, steps[0].to_s), (0, 120));
    assert!((steps[0].energy_kwh - 2.5).abs() < 1e-12);
    let digit = |readings: &[f64], factor| {
        let readings: Vec<Option<f64>> = readings.iter().copied().map(Some).collect();
        last_digit(&readings, factor)
    };
    assert!((digit(&[48210.4, 48210.6, 50000.0], 1.0) - 0.1).abs() < 1e-12);
    // A large register keeps its hundredths.
    assert!((digit(&[48210.44, 48210.6], 1.0) - 0.01).abs() < 1e-12);
    // Read as 12.3 and multiplied by 20.
    assert!((digit(&[246.0, 248.0], 20.0) - 2.0).abs() < 1e-12);
}
