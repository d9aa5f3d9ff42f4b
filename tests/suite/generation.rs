//! Machines that generate: their current flows towards the source.

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
