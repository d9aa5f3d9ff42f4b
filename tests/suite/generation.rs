//! Machines that generate: their current flows towards the source.

use std::fmt::Write as _;

use serde_json::Value;

use crate::program::Workshop;

const SITE: &str = "[site]\nname = \"Mill\"\n[supply]\nline_voltage_v = 400\nphase_limit_a = 63\n[[board]]\nid = \"DB1\"\nfed_from = \"supply\"\nphase_limit_a = 63\n";

const HEAD: &str = "machine,circuit,connection,current_a,movable,role\n";

fn workshop(rows: &str) -> Workshop {
    Workshop::empty()
        .with("site.toml", SITE)
        .with("machines.csv", format!("{HEAD}{rows}"))
}

/// 10 A on L1 drawn, 10 A on L2 in this role.
fn of_role(role: &str) -> Workshop {
    workshop(&format!(
        "heater,supply,L1,10,no,load\nroof,supply,L2,10,no,{role}\n"
    ))
}

fn neutral_a(role: &str) -> f64 {
    let result: Value = of_role(role).json(&["balance", "SITE", "--format", "json"]);
    result["before"]["neutral_rms_a"]
        .as_f64()
        .expect("a figure")
}

/// 10 A drawn on L1 and 10 A drawn on L2 leave 10 A in the neutral; 10 A given on L2 stand opposite, and
/// |10∠0° − 10∠−120°| = 10·√3 = 17.32 A (worked out by hand).
#[test]
fn what_flows_back_turns_its_phasor() {
    assert!((neutral_a("load") - 10.0).abs() < 1e-9);
    assert!((neutral_a("") - 10.0).abs() < 1e-9);
    assert!((neutral_a("generation") - 10.0 * 3.0_f64.sqrt()).abs() < 1e-9);
}

/// What gives nothing at night makes no room for a load: 50 A and 30 A are too much for 63 A.
#[test]
fn generation_makes_no_room() {
    let fits = |rows: &str| {
        let new = ["--name", "kiln", "--current-a", "30", "--connection", "L1"];
        let mut arguments = vec!["place", "SITE", "--format", "json"];
        arguments.extend(new);
        let result = workshop(rows).run(&arguments);
        let result: Value = serde_json::from_str(&result.out).expect("JSON");
        result["places"]
            .as_array()
            .expect("places are a list")
            .iter()
            .any(|place| place["connection"] == "L1" && place["fits"] == true)
    };
    assert!(fits("oven,DB1,L1,20,no,\n"));
    assert!(!fits("oven,DB1,L1,50,no,\n"));
    assert!(!fits("oven,DB1,L1,50,no,\nroof,DB1,L1,40,no,generation\n"));
}

/// An inverter of 20 A per phase at the end of a feeder of 16 mm² copper.
fn inverter(length_m: f64, rows: &str) -> Value {
    let feeder =
        format!("feeder = {{ length_m = {length_m}, phase_mm2 = 16, neutral_mm2 = 16 }}\n");
    let new = ["--name", "roof", "--current-a", "20", "--connection", "3ph"];
    let mut arguments = vec!["place", "SITE", "--format", "json", "--role", "generation"];
    arguments.extend(new);
    let site = workshop(rows).append("site.toml", &feeder);
    site.json(&arguments)["places"][0].clone()
}

fn check_of<'p>(place: &'p Value, name: &str) -> &'p Value {
    let checks = place["checks"].as_array().expect("checks");
    let found = checks.iter().find(|check| check["check"] == name);
    found.unwrap_or_else(|| panic!("{name} among {checks:?}"))
}

/// IEC 60364-5-52, annex G: u = b·(ρ1·L/S·cos φ + λ·L·sin φ)·I with ρ1 = 0.0225 Ω·mm²/m and b = 1 for three phases
/// (constants from memory): 0.0225·30/16·20 = 0.844 V of 230.9 V at unity power factor.
#[test]
fn an_inverter_raises_the_voltage_by_the_same_formula() {
    let place = inverter(30.0, "");
    let rise = check_of(&place, "voltage-rise");
    let by_hand = 100.0 * 0.0225 * 30.0 / 16.0 * 20.0 / (400.0 / 3.0_f64.sqrt());
    let value = rise["value"].as_f64().expect("a figure");
    assert!((value - by_hand).abs() < 1e-9, "{value} {by_hand}");
    assert_eq!(rise["pass"], true);
    // A load does not help at night: the rise is that without it.
    let place = inverter(30.0, "oven,DB1,3ph,30,,\n");
    assert_eq!(
        check_of(&place, "voltage-rise")["value"].as_f64(),
        Some(value)
    );
    // 1.2 % is above the limit of 1 %.
    let far = inverter(100.0, "");
    assert_eq!(check_of(&far, "voltage-rise")["pass"], false);
    assert_eq!(far["fits"], false);
}

/// 50 A drawn and 20 A given are 30 A by day and 20 A without load: within 63 A. With 50 A given already it is 70 A.
#[test]
fn generation_is_added_to_generation_and_not_to_loads() {
    let largest = |rows: &str| {
        let place = inverter(5.0, rows);
        let check = check_of(&place, "phase-loading").clone();
        (
            check["value"].as_f64().expect("a figure"),
            check["pass"].clone(),
        )
    };
    let (amps, pass) = largest("oven,DB1,L1,50,no,\n");
    assert!((amps - 30.0).abs() < 1e-9 && pass == true, "{amps}");
    let (amps, pass) = largest("oven,DB1,L1,10,no,\n");
    assert!((amps - 20.0).abs() < 1e-9 && pass == true, "{amps}");
    let (amps, pass) = largest("old roof,DB1,L1,50,no,generation\n");
    assert!((amps - 70.0).abs() < 1e-9 && pass == false, "{amps}");
}

/// What it saves depends on the price of exports and on the hours of the sun: no cost is given.
#[test]
fn what_generation_saves_is_not_guessed() {
    let new = [
        "--name",
        "roof",
        "--power-kw",
        "10",
        "--connection",
        "3ph",
        "--role",
        "generation",
    ];
    let mut arguments = vec!["place", "SITE"];
    arguments.extend(new);
    let run = workshop("").run(&arguments);
    assert!(
        run.out.contains("The energy of a year is not known"),
        "{}",
        run.out
    );
    // 10 kW · 8760 h · 0.11.
    arguments.extend(["--utilisation-factor", "0.11"]);
    let yearly = workshop("").run(&arguments);
    assert!(
        yearly.out.contains("636.0\u{a0}kWh per year"),
        "{}",
        yearly.out
    );
    assert!(
        run.out.contains("for the network operator to decide"),
        "{}",
        run.out
    );
    let list = "machine,power_kw,connection,role\nroof,10,3ph,generation\nlathe,2,3ph,\n";
    let run = workshop("").with("new.csv", list).run(&[
        "place",
        "SITE",
        "--new-machines",
        "SITE/new.csv",
    ]);
    assert_eq!(run.status, 2);
    assert!(run.err.contains("place it alone"), "{}", run.err);
}

#[test]
fn another_role_is_refused() {
    let result = of_role("generator").run(&["check", "SITE"]);
    assert_eq!(result.status, 2, "{}", result.err);
    assert!(
        result
            .err
            .contains("expected load or generation, found `generator`"),
        "{}",
        result.err
    );
}

/// For half a day 15 kW are generated and 5 of them exported, for the other 4 kW are imported: 180 kWh, 60 exported, 120 used on
/// site (66.7 %) of 168 (71.4 %). The meter of generation may count either way.
#[test]
fn self_consumption_where_generation_is_metered() {
    let of = |sign: f64, export: f64| {
        let (mut supply, mut roof) = ("time,P\n".to_owned(), "time,P\n".to_owned());
        for at in 0..48 {
            let time = format!("2026-03-09 {:02}:{:02}", at / 2, at % 2 * 30);
            let (net, made) = if at < 24 { (-export, 15.0) } else { (4.0, 0.0) };
            writeln!(supply, "{time},{net}").expect("text");
            writeln!(roof, "{time},{}", sign * made).expect("text");
        }
        let meter = |id: &str, measures: &str| {
            format!(
                "[[meter]]\nid = \"{id}\"\nmeasures = \"{measures}\"\nfiles = \"meters/{id}.csv\"\nstamp = \"start\"\ntime = {{ column = \
                 \"time\", format = \"%Y-%m-%d %H:%M\" }}\n[meter.columns]\nactive_power_kw = \"P\"\n"
            )
        };
        workshop("panels,DB1,3ph,25,no,generation\n")
            .append(
                "site.toml",
                &(meter("main", "supply") + &meter("roof", "panels")),
            )
            .with("meters/main.csv", supply)
            .with("meters/roof.csv", roof)
    };
    for sign in [1.0, -1.0] {
        let own = &of(sign, 5.0).json(&["energy", "SITE", "--format", "json"])["self_consumption"];
        let figure = |key: &str| own[key].as_f64().expect("a figure");
        let keys = ["hours", "generated_kwh", "exported_kwh", "used_on_site_kwh"];
        let expected = [24.0, 180.0, 60.0, 120.0].map(Value::from);
        assert_eq!(keys.map(|key| own[key].clone()), expected, "{own}");
        assert!((figure("self_consumption_pct") - 200.0 / 3.0).abs() < 1e-9);
        assert!((figure("self_sufficiency_pct") - 12_000.0 / 168.0).abs() < 1e-9);
    }
    let text = of(1.0, 5.0).run(&["energy", "SITE"]).out;
    assert!(
        text.contains(
            "used on site 120.0\u{a0}kWh (66.7\u{a0}% of it, 71.4\u{a0}% of what the site uses)"
        ),
        "{text}"
    );
    // More is exported than metered as generated.
    let found = of(1.0, 20.0).json(&["energy", "SITE", "--format", "json"]);
    assert_eq!(found["self_consumption"], Value::Null);
    assert!(
        found["notes"]
            .to_string()
            .contains("other generation is not metered"),
        "{found:#}"
    );
}
