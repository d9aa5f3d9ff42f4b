//! The sample site: registers and power agree, and its faults are found where they are.

use tapoff::demand::{EnergyResult, MeterEnergy};

use crate::sample::demo_energy;

fn meter<'r>(result: &'r EnergyResult, id: &str) -> &'r MeterEnergy {
    let found = result.meters.iter().find(|meter| meter.id == id);
    found.expect("the meter is in the result")
}

fn kinds(meter: &MeterEnergy) -> Vec<&str> {
    meter
        .quality
        .iter()
        .map(|entry| entry.kind.as_str())
        .collect()
}

/// What is wrong, and the energies, are in `sample-data/README.md` and `truth.json`: rollover of the
/// compressor's register, the kiln's transformer, the main log's lost and repeated rows.
#[test]
fn registers_agree_with_power_and_the_faults_are_found() {
    let result = demo_energy();
    for meter in &result.meters {
        let check = meter.register_check.expect("every meter logs both");
        assert!(check.agrees, "{}: {check:?}", meter.id);
    }
    let main = meter(result, "main");
    assert_eq!(
        kinds(main),
        ["gap", "duplicate", "register-advanced-in-gap"]
    );
    let check = main.register_check.expect("both are logged");
    // 78.3 kWh in the gap; the register shows tenths.
    assert!((check.unlogged_kwh - 78.3).abs() < 0.2, "{check:?}");
    assert_eq!(main.trace.covered_s.len(), 2);
    // 25 rows sent twice, each right after itself: in the second and in the fourth week.
    let duplicates = &main.quality[1];
    assert_eq!(duplicates.count, 25);
    let file = |name: &Option<String>| name.clone().unwrap_or_default();
    assert!(file(&duplicates.first_file).ends_with("main-2026-w12.csv"));
    assert!(file(&duplicates.last_file).ends_with("main-2026-w14.csv"));
    assert!(
        duplicates
            .effect_kwh
            .is_some_and(|kwh| (-30.0..0.0).contains(&kwh))
    );
    assert_eq!(kinds(meter(result, "air")), ["register-rollover"]);
    let air = meter(result, "air")
        .register_energy_kwh
        .expect("a register");
    assert!((air - 232.943).abs() < 0.2, "{air}");
    assert_eq!(kinds(meter(result, "kiln")), ["meter-fault-corrected"]);
    for sound in ["boat shed", "saw", "chips", "hall", "launch", "steam"] {
        assert!(kinds(meter(result, sound)).is_empty(), "{sound}");
    }
}
