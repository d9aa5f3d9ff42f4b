//! Clamp-meter readings compared with every limit of the place at which they were taken.

use crate::program::Workshop;

const SITE: &str = r#"[site]
name = "Readings"

[supply]
line_voltage_v = 400
phase_limit_a = 100

[[board]]
id = "DB1"
fed_from = "supply"
phase_limit_a = 80

[[circuit]]
id = "Ovens"
board = "DB1"
phases = "L1"
protective_device = "B 32"

[[circuit]]
id = "Lights"
board = "DB1"
phases = "L2"
protective_device = "B 10"
cable = { length_m = 10, phase_mm2 = 1.5, current_capacity_a = 14 }
"#;

const MACHINES: &str = "\
machine,circuit,connection,power_kw,protective_device
Oven,Ovens,L1,3,gG 16
Lamps,Lights,L2,1.2,
";

fn shop(readings: &str) -> Workshop {
    let readings = format!("time,at,l1_a,l2_a,l3_a,n_a\n{readings}");
    Workshop::empty()
        .with("site.toml", SITE)
        .with("machines.csv", MACHINES)
        .with("readings.csv", readings)
}

/// Supply, board, circuit device, cable and machine device, each with its place, conductor and limit.
#[test]
fn each_reading_above_a_limit_is_named() {
    let shop = shop(
        "2026-11-23 09:30,supply,112,40,30,75\n2026-11-23 09:30,DB1,85,14.2,0,81\n2026-11-23 09:31,Ovens,41,,,\n\
         2026-11-23 09:31,Oven,20,,,\n2026-11-23 09:32,Lights,,14.2,,\n",
    );
    let run = shop.run(&["check", "SITE", "--format", "json"]);
    assert_eq!(run.status, 1, "{}{}", run.out, run.err);
    let result: serde_json::Value = serde_json::from_str(&run.out).expect("JSON");
    let exceeded: Vec<String> = result["exceeded"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|one| {
            let text = |key: &str| one[key].as_str().expect("a text").to_owned();
            format!(
                "{} {} {} > {} of {} at {}",
                text("at"),
                text("conductor"),
                one["value_a"],
                one["limit_a"],
                text("limit_of"),
                text("read_at"),
            )
        })
        .collect();
    let at = "at 2026-11-23T09:30:00+00:00";
    let expected = [
        format!("supply L1 112.0 > 100.0 of the supply {at}"),
        format!("DB1 L1 85.0 > 80.0 of board `DB1` {at}"),
        format!("DB1 N 81.0 > 80.0 of board `DB1` {at}"),
        format!("Ovens L1 41.0 > 32.0 of circuit `Ovens`, device B 32 {at}"),
        format!("Oven L1 20.0 > 16.0 of its device gG 16 {at}"),
        format!("Lights L2 14.2 > 10.0 of circuit `Lights`, device B 10 {at}"),
        format!("Lights L2 14.2 > 14.0 of cable of 1.5 mm² {at}"),
    ];
    assert_eq!(exceeded, expected);
    let text = shop.run(&["check", "SITE"]);
    assert_eq!(text.status, 1);
    for part in ["Limits exceeded", "112.0", "Mon 23 Nov 2026 09:30"] {
        assert!(text.out.contains(part), "{part}\n{}", text.out);
    }
    assert!(!text.out.contains("No measured current"), "{}", text.out);
    let report = shop.run(&["energy", "SITE", "--fail-on", "limit"]);
    assert_eq!(report.status, 1, "{}", report.err);
}

/// A current that flows back heats the conductor as well; at the limit is not above it.
#[test]
fn export_counts_and_the_limit_itself_is_allowed() {
    let allowed = shop("2026-11-23 09:30,supply,100,-100,0,100\n2026-11-23 09:30,Ovens,32,,,\n");
    let run = allowed.run(&["check", "SITE"]);
    assert_eq!(run.status, 0, "{}{}", run.out, run.err);
    assert!(run.out.contains("No measured current exceeds its limit"));
    let above = shop("2026-11-23 09:30,supply,-101,0,0,\n");
    assert_eq!(above.run(&["check", "SITE"]).status, 1);
}

/// Whether machines that nobody read were on is not known: a round of the supply alone says nothing against the list
/// until it lies outside what they can draw. Three heaters of 13.0 A (3 kW, 230.9 V) on L1, each on for a quarter of
/// the time: 9.7 A on average, 0 to 39 A at any moment.
#[test]
fn a_round_of_the_supply_is_held_against_what_the_machines_can_draw() {
    let machines = "machine,circuit,connection,power_kw,utilisation_factor\n\
        Heater 1,supply,L1,3,0.25\nHeater 2,supply,L1,3,0.25\nHeater 3,supply,L1,3,0.25\nKiln,supply,L2,9,0.9\n";
    let finds = |l1: &str, l3: &str| {
        let readings = format!("2026-11-23 09:30,supply,{l1},35,{l3},\n");
        let shop = shop(&readings).with("machines.csv", machines);
        let run = shop.run(&["diagnose", "SITE", "--format", "json"]);
        let result: serde_json::Value = serde_json::from_str(&run.out).expect("JSON");
        let round = &result["after_work"]["round"];
        let expected = round["predicted_a"][0].as_f64().expect("a current");
        assert!((expected - 9.74).abs() < 0.01, "{round}");
        let findings = result["findings"].as_array().expect("a list");
        findings
            .iter()
            .any(|finding| finding["kind"] == "wrong-phase")
    };
    for amps in ["0", "13", "26"] {
        assert!(!finds(amps, "0"), "{amps}");
    }
    assert!(finds("70", "0"));
    assert!(finds("13", "13"));
}

/// 8.3 kW for 45 hours a week are 8.3 · 45 · 365 / 7 = 19 475 kWh a year, whether or not somebody read a clamp meter.
#[test]
fn a_round_of_readings_does_not_make_a_machine_run_all_week() {
    let schedule =
        "[[schedule]]\nname = \"shift\"\ndays = \"Mon-Fri\"\nfrom = \"08:00\"\nto = \"17:00\"\n";
    let tariff = "[[tariff]]\nfrom = \"2026-01-01\"\n\
        energy = [{ band = \"all\", otherwise = true, rate_per_kwh = 0.2 }]\n";
    let site = SITE.replacen(
        "[site]\n",
        "[site]\ncurrency = \"GBP\"\ntimezone = \"Europe/London\"\n",
        1,
    );
    let header = "machine,circuit,connection,power_kw,utilisation_factor,schedule\n";
    let shop = Workshop::empty()
        .with("site.toml", format!("{site}{schedule}{tariff}"))
        .with("machines.csv", format!("{header}Oven,Ovens,L1,3,1,shift\n"))
        .with(
            "new-machines.csv",
            format!("{header}Mill,DB1,3ph,8.3,1,shift\n"),
        );
    let kwh = |shop: &Workshop| {
        let new = shop.site().join("new-machines.csv");
        let new = new.to_str().expect("a path in UTF-8");
        let run = shop.run(&["place", "SITE", "--new-machines", new, "--format", "json"]);
        let result: serde_json::Value =
            serde_json::from_str(&run.out).unwrap_or_else(|_| panic!("{}{}", run.out, run.err));
        let cost = &result["running_cost"]["energy_kwh_per_year"];
        cost.as_f64().unwrap_or_else(|| panic!("{result}"))
    };
    let expected = 8.3 * 45.0 * 365.0 / 7.0;
    let alone = kwh(&shop);
    assert!((alone - expected).abs() < 1.0, "{alone}");
    let read = kwh(&shop.with(
        "readings.csv",
        "time,at,l1_a,l2_a,l3_a,n_a\n2026-11-23 09:30,supply,13,0,0,13\n",
    ));
    assert!((read - expected).abs() < 1.0, "{read}");
}
