//! Inputs that cannot be worked with: the whole text of each message, its place worked out by hand,
//! exit status 2, and nothing written.

use std::fs;

use crate::program::{MACHINES, SITE, Workshop, project, same_as_before};

/// Refused by every command, with one message at this place, in this text.
fn refused(name: &str, place: &str, workshop: &Workshop) {
    let text = refusal(workshop, &["check", "SITE"]);
    if !place.is_empty() {
        let found = first_place(workshop);
        assert!(found.starts_with(place), "{place}: {found}");
    }
    same_as_before(&format!("bad_{name}"), &text);
}

/// File, line and column of the first message, as programs get them.
fn first_place(workshop: &Workshop) -> String {
    let run = workshop.run(&["check", "SITE", "--format", "json"]);
    let errors: serde_json::Value = serde_json::from_str(&run.err).expect("errors are JSON");
    let error = &errors["errors"][0];
    let file = error["file"].as_str().unwrap_or_default();
    format!("{file}:{}:{}", error["line"], error["column"])
}

/// The message of a command that must fail without writing anything.
fn refusal(workshop: &Workshop, arguments: &[&str]) -> String {
    let before = workshop.files();
    let run = workshop.run(arguments);
    assert_eq!(run.status, 2, "{}{}", run.out, run.err);
    assert_eq!(run.out, "");
    // The report is refused for the same reason and leaves no folder behind.
    let mut report = arguments.to_vec();
    report[0] = "report";
    report.extend(["-o", "BESIDE/report"]);
    let report = workshop.run(&report);
    assert_eq!((report.status, &report.err), (2, &run.err));
    assert!(!workshop.beside("report").exists(), "a report was begun");
    assert_eq!(workshop.files(), before, "something was written");
    run.err
}

/// One test for each bad input: name, place of the first message, how the workshop is spoilt.
macro_rules! bad_inputs {
    ($($name:ident, $place:literal, $workshop:expr;)*) => {
        $(#[test]
        fn $name() {
            refused(stringify!($name), $place, &$workshop);
        })*

        /// Those above and the few that need more than a spoilt file.
        const NAMES: &[&str] = &[$(stringify!($name)),*];
    };
}

fn site(from: &str, to: &str) -> Workshop {
    Workshop::new().replace("site.toml", from, to)
}

fn machines(from: &str, to: &str) -> Workshop {
    Workshop::new().replace("machines.csv", from, to)
}

/// A tariff after the site file of 43 lines: it begins on line 45.
fn tariff(text: &str) -> Workshop {
    Workshop::new().with(
        "site.toml",
        format!("{SITE}\n[[tariff]]\nfrom = \"2026-01-01\"\n{text}"),
    )
}

/// A variable and a baseline after the site file of 43 lines: they begin on line 45.
fn variable(end: &str, file: &str) -> Workshop {
    Workshop::new()
        .with(
            "site.toml",
            format!(
                "{SITE}\n[[variable]]\nname = \"pieces\"\nfile = \"variables.csv\"\ncolumn = \"pieces\"\n{end}"
            ),
        )
        .with("variables.csv", file)
}

fn log(text: &str) -> Workshop {
    Workshop::new().with("meters/main.csv", text)
}

bad_inputs! {
    // What drives the energy.
    variable_without_its_file, "",
        variable("", "").without("variables.csv");
    variable_column_that_is_not_there, "variables.csv:1:1",
        variable("", "date,peices\n2026-03-09,4\n");
    variable_word_for_a_number, "variables.csv:2:12",
        variable("", "date,pieces\n2026-03-09,some\n");
    variable_date_of_another_kind, "variables.csv:2:1",
        variable("", "date,pieces\n9 March,4\n");
    variable_date_twice, "variables.csv:3:1",
        variable("", "date,pieces\n2026-03-09,4\n2026-03-09,5\n");
    variable_outside_the_site, "site.toml:47:8",
        variable("", "date,pieces\n").replace("site.toml", "\"variables.csv\"", "\"../variables.csv\"");
    variable_per_year, "site.toml:49:7",
        variable("per = \"year\"\n", "date,pieces\n");
    variable_with_two_bases, "site.toml:45:",
        variable("heating_base_c = 15\ncooling_base_c = 22\n", "date,pieces\n");
    baseline_that_ends_before_it_begins, "site.toml:51:6",
        variable("[baseline]\nfrom = \"2026-03-09\"\nto = \"2026-03-09\"\n", "date,pieces\n");
    baseline_by_an_unknown_variable, "site.toml:50:12",
        variable("[baseline]\ngoes_by = [\"peices\"]\n", "date,pieces\n");
    baseline_of_an_unknown_meter, "site.toml:50:9",
        variable("[baseline]\nmeter = \"mian\"\n", "date,pieces\n");
    // The machine list.
    missing_column, "machines.csv:1:",
        Workshop::new().with("machines.csv", "machine,circuit,power_kw\nsaw,C1,2.4\n");
    misspelt_column, "machines.csv:1:28",
        machines("connection,power_kw", "connection,powr_kw");
    duplicate_column, "machines.csv:1:105",
        machines("keep_with,description", "keep_with,movable");
    word_for_a_number, "machines.csv:3:13",
        machines("drill,C1,L1,0.9", "drill,C1,L1,lots");
    unit_in_a_number, "machines.csv:3:13",
        machines("drill,C1,L1,0.9", "drill,C1,L1,0.9 kWh");
    negative_power, "machines.csv:3:13",
        machines("drill,C1,L1,0.9", "drill,C1,L1,-0.9");
    power_factor_above_one, "machines.csv:3:17",
        machines("0.9,0.75", "0.9,1.2");
    power_factor_in_percent, "machines.csv:3:17",
        machines("0.9,0.75", "0.9,75");
    power_factor_word, "machines.csv:3:17",
        machines("0.9,0.75", "0.9,good");
    unknown_circuit, "machines.csv:3:7",
        machines("drill,C1", "drill,C11");
    unknown_connection, "machines.csv:3:10",
        machines("drill,C1,L1", "drill,C1,L4");
    unknown_schedule, "machines.csv:3:23",
        machines("0.75,,day shift", "0.75,,dayshift");
    unknown_machine_meter, "machines.csv:2:14",
        Workshop::new().with("machines.csv", "machine,circuit,connection,power_kw,meter\nsaw,C1,3ph,2,mian\n");
    duplicate_machine, "machines.csv:4:1",
        machines("grinder,", "drill,");
    no_machine_name, "machines.csv:4:1",
        machines("grinder,", ",");
    two_ratings, "machines.csv:2:14",
        Workshop::new().with("machines.csv", "machine,circuit,connection,power_kw,current_a\nsaw,C1,3ph,2,5\n");
    no_rating, "machines.csv:3:13",
        machines("drill,C1,L1,0.9", "drill,C1,L1,");
    shaft_without_efficiency, "machines.csv:2:12",
        Workshop::new().with("machines.csv", "machine,circuit,connection,shaft_kw\nsaw,C1,3ph,2\n");
    quantity_not_whole, "machines.csv:3:",
        machines("drill,C1,L1,0.9,0.75,,day shift,1", "drill,C1,L1,0.9,0.75,,day shift,1.5");
    fixed_without_a_phase, "machines.csv:5:",
        machines("heater,C1,L2,2,,,,1,yes", "heater,C1,any,2,,,,1,no");
    neither_yes_nor_no, "machines.csv:5:",
        machines("heater,C1,L2,2,,,,1,yes", "heater,C1,L2,2,,,,1,perhaps");
    other_phase_than_its_circuit, "machines.csv:6:10",
        machines("lamps,C2,L1", "lamps,C2,L2");
    too_many_cells, "machines.csv:5:",
        machines("under the window", "under, the window");
    unknown_protective_device, "machines.csv:2:14",
        Workshop::new().with("machines.csv", "machine,circuit,connection,power_kw,protective_device\nsaw,C1,3ph,2,fuse\n");
    kept_together_on_two_phases, "machines.csv:5:",
        machines("0.9,0.75,,day shift,1,,,", "0.9,0.75,,day shift,1,,bench,")
            .replace("machines.csv", "2,,,,1,yes,,under", "2,,,,1,yes,bench,under");
    kept_together_of_two_kinds, "machines.csv:5:",
        machines("0.9,0.75,,day shift,1,,,", "0.9,0.75,,day shift,1,,bench,")
            .replace("machines.csv", "heater,C1,L2,2,,,,1,yes,,under", "heater,C1,L1-L2,2,,,,1,yes,bench,under");
    machines_not_utf_8, "machines.csv:4",
        Workshop::new().with("machines.csv", [MACHINES.split("grinder").next().unwrap_or(""), "gr"].concat().into_bytes().into_iter().chain(*b"\xfcn,C1,L1,1\n").collect::<Vec<u8>>());
    machines_empty, "machines.csv",
        Workshop::new().with("machines.csv", "");
    machines_missing, "",
        Workshop::new().without("machines.csv");

    // The site file.
    misspelt_key, "site.toml:7:1",
        site("phase_limit_a = 63", "phase_limt_a = 63");
    word_for_a_number_in_site, "site.toml:7:17",
        site("phase_limit_a = 63", "phase_limit_a = \"lots\"");
    limit_of_nothing, "site.toml:7:17",
        site("phase_limit_a = 63", "phase_limit_a = 0");
    not_toml, "site.toml:7:",
        site("phase_limit_a = 63", "phase_limit_a = ");
    no_supply, "site.toml",
        site("[supply]\nline_voltage_v = 400\nphase_limit_a = 63\n", "");
    no_site_table, "site.toml",
        site("[site]\nname = \"Five Machines\"\ntimezone = \"Europe/London\"\n", "");
    delta_supply, "site.toml:6:10",
        site("line_voltage_v = 400", "system = \"three-phase three-wire\"\nline_voltage_v = 400");
    split_phase_supply, "site.toml:6:10",
        site("line_voltage_v = 400", "phases = 1\nwires = 3\nline_voltage_v = 400");
    wrong_time_zone, "site.toml:3:12",
        site("Europe/London", "Europe/Londres");
    duplicate_board, "site.toml:15:6",
        site("\n[[circuit]]\nid = \"C1\"", "\n[[board]]\nid = \"DB1\"\nfed_from = \"supply\"\n\n[[circuit]]\nid = \"C1\"");
    board_loop, "site.toml:9:1",
        site("fed_from = \"supply\"\nphase_limit_a = 50", "fed_from = \"DB2\"\n\n[[board]]\nid = \"DB2\"\nfed_from = \"DB1\"");
    unknown_board, "site.toml:16:9",
        site("id = \"C1\"\nboard = \"DB1\"", "id = \"C1\"\nboard = \"DB7\"");
    days_in_another_language, "site.toml:27:8",
        site("Mon-Fri", "Mo-Fr");
    no_time_of_day, "site.toml:29:6",
        site("16:00", "4 pm");
    circuit_on_no_phase, "site.toml:22:10",
        site("phases = \"L1\"", "phases = \"L5\"");

    // The meters.
    meter_of_nothing, "site.toml:33:12",
        site("measures = \"supply\"", "measures = \"DB9\"");
    glob_without_a_file, "site.toml:34:9",
        site("meters/main.csv", "meters/mian-*.csv");
    kept_together_with_a_fixed_one, "machines.csv:4:",
        machines("0.9,0.75,,day shift,1,,,", "0.9,0.75,,day shift,1,no,bench,")
            .replace("machines.csv", "1.2,0.8,,day shift,1,,,", "1.2,0.8,,day shift,1,,bench,");
    kept_together_across_circuits, "machines.csv:6:",
        machines("0.9,0.75,,day shift,1,,,", "0.9,0.75,,day shift,1,,bench,")
            .replace("machines.csv", "day shift,4,yes,,", "day shift,4,yes,bench,");
    watts_for_kilowatts, "machines.csv:3:13",
        machines("drill,C1,L1,0.9", "drill,C1,L1,900 mW");
    log_outside_the_site, "site.toml:34:9",
        site("meters/main.csv", "../elsewhere/main.csv");
    unknown_quantity, "site.toml:38:1",
        site("current_l1_a = ", "curent_l1_a = ");
    log_column_that_is_not_there, "meters/main.csv:1:",
        site("\"I1\"", "\"L1 current\"");
    log_empty, "meters/main.csv", log("");
    log_of_a_header_only, "meters/main.csv", log("time,I1,I2,I3,P1,P2,P3\n");
    log_of_unreadable_times, "meters/main.csv:2:1",
        log("time,I1,I2,I3,P1,P2,P3\n09/03/26 08h15,18,10,2,3.6,2.3,0.4\n09/03/26 08h30,18,10,2,3.6,2.3,0.4\n");
    log_column_of_words, "meters/main.csv:2:24",
        log("time,I1,I2,I3,P1,P2,P3\n2026-03-09 08:15,18,10,low,3.6,2.3,0.4\n2026-03-09 08:30,18,10,low,3.6,2.3,0.4\n");
    log_of_no_numbers, "meters/main.csv:2:18",
        log("time,I1,I2,I3,P1,P2,P3\n2026-03-09 08:15,a,b,c,d,e,f\n2026-03-09 08:30,a,b,c,d,e,f\n");
    repeated_hour_refused, "meters/main.csv",
        site("%H:%M\" }", "%H:%M\", repeated_hour = \"error\" }")
            .with("meters/main.csv", "time,I1,I2,I3,P1,P2,P3\n2026-10-25 00:45,18,10,2,3.6,2.3,0.4\n2026-10-25 01:00,18,10,2,3.6,2.3,0.4\n2026-10-25 01:15,18,10,2,3.6,2.3,0.4\n");

    log_column_misspelt, "meters/main.csv:1:15",
        site("\"P1\"", "\"p1\"");

    // The tariff.
    tariff_key_misspelt, "site.toml:47:1",
        tariff("standing_per_dya = 0.85\n");
    tariff_price_in_words, "site.toml:47:20",
        tariff("standing_per_day = \"0.85\"\n");
    tariff_price_of_too_many_digits, "site.toml:47:20",
        tariff("standing_per_day = 0.85000000000000000000000000000000000001\n");
    tariff_tax_above_all, "site.toml:47:11",
        tariff("tax_pct = 120\n");
    tariff_without_a_date, "site.toml:45:1",
        Workshop::new().with("site.toml", format!("{SITE}\n[[tariff]]\ntax_pct = 20\n"));
    tariff_twice, "site.toml:48:1",
        tariff("tax_pct = 20\n[[tariff]]\nfrom = \"2026-01-01\"\n");
    tariff_bands_with_a_gap, "site.toml:47:10",
        tariff("energy = [ { band = \"day\", days = \"Mon-Fri\", from = \"07:00\", to = \"19:00\", rate_per_kwh = 0.2 },\n  { band = \"week end\", days = \"Sat,Sun\", rate_per_kwh = 0.1 } ]\n");
    tariff_bands_that_overlap, "site.toml:48:3",
        tariff("energy = [ { band = \"summer\", months = \"4-10\", rate_per_kwh = 0.2 },\n  { band = \"winter\", months = \"10-3\", rate_per_kwh = 0.3 } ]\n");
    tariff_holidays_without_a_price, "site.toml:47:10",
        tariff("energy = [ { band = \"week\", days = \"Mon-Sun\", rate_per_kwh = 0.2 },\n  { band = \"feast\", days = \"holidays\", from = \"08:00\", rate_per_kwh = 0.1 } ]\n");
    tariff_band_off_the_quarter_hour, "site.toml:47:35",
        tariff("energy = [ { band = \"day\", from = \"07:10\", to = \"19:00\", rate_per_kwh = 0.2 }, { band = \"other\", otherwise = true, rate_per_kwh = 0.1 } ]\n");
    tariff_band_of_no_days, "site.toml:47:35",
        tariff("energy = [ { band = \"day\", days = \"workdays\", rate_per_kwh = 0.2 } ]\n");
    tariff_band_of_no_months, "site.toml:47:37",
        tariff("energy = [ { band = \"day\", months = \"0-12\", rate_per_kwh = 0.2 } ]\n");
    tariff_band_over_midnight_of_some_days, "site.toml:47:12",
        tariff("energy = [ { band = \"night\", days = \"Fri\", from = \"22:00\", to = \"06:00\", rate_per_kwh = 0.2 }, { band = \"other\", otherwise = true, rate_per_kwh = 0.1 } ]\n");
    tariff_band_without_a_price, "site.toml:47:12",
        tariff("energy = [ { band = \"day\" } ]\n");
    tariff_otherwise_with_times, "site.toml:47:55",
        tariff("energy = [ { band = \"other\", otherwise = true, days = \"Mon-Fri\", rate_per_kwh = 0.2 } ]\n");
    tariff_bands_and_blocks, "site.toml:48:17",
        tariff("energy = [ { band = \"all\", rate_per_kwh = 0.2 } ]\nenergy_blocks = [ { rate_per_kwh = 0.2 } ]\n");
    tariff_blocks_that_fall, "site.toml:47:70",
        tariff("energy_blocks = [ { up_to_kwh_per_month = 500, rate_per_kwh = 0.2 }, { up_to_kwh_per_month = 400, rate_per_kwh = 0.2 }, { rate_per_kwh = 0.1 } ]\n");
    tariff_demand_of_nothing, "site.toml:47:18",
        tariff("demand = { per = \"kvar\", rate_per_month = 6.5 }\n");
    tariff_ratchet_above_one, "site.toml:47:83",
        tariff("demand = { per = \"kVA\", rate_per_month = 6.5, ratchet_months = 6, ratchet_share = 80 }\n");

    // The folder.
    folder_without_files, "", Workshop::empty();
    site_not_utf_8, "site.toml:2",
        Workshop::new().with("site.toml", b"[site]\nname = \"Fr\xe4serei\"\n");
}

#[test]
fn no_such_folder() {
    let workshop = Workshop::new();
    let text = refusal(&workshop, &["check", "BESIDE/fery-lane"]);
    same_as_before("bad_no_such_folder", &text);
}

#[test]
fn a_file_for_a_folder() {
    let workshop = Workshop::new();
    let text = refusal(&workshop, &["check", "SITE/site.toml"]);
    same_as_before("bad_a_file_for_a_folder", &text);
}

#[test]
fn a_period_without_readings() {
    let workshop = Workshop::new();
    let text = refusal(&workshop, &["check", "SITE", "--from", "2027-01-01"]);
    same_as_before("bad_a_period_without_readings", &text);
}

#[test]
fn a_period_that_ends_before_it_begins() {
    let workshop = Workshop::new();
    let arguments = [
        "check",
        "SITE",
        "--from",
        "2026-03-10",
        "--to",
        "2026-03-09",
    ];
    same_as_before(
        "bad_a_period_that_ends_before_it_begins",
        &refusal(&workshop, &arguments),
    );
}

/// One run shows what is wrong in both files.
#[test]
fn several_faults_at_once() {
    let workshop = site("phase_limit_a = 63", "phase_limt_a = 63")
        .replace("site.toml", "Mon-Fri", "Mo-Fr")
        .replace("machines.csv", "drill,C1,L1,0.9", "drill,C1,L1,lots")
        .replace("machines.csv", "grinder,C1", "grinder,C9");
    let text = refusal(&workshop, &["check", "SITE"]);
    for name in ["unknown-key", "days", "not-a-number", "unknown-circuit"] {
        assert!(text.contains(&format!("({name})")), "{name}: {text}");
    }
    same_as_before("bad_several_faults_at_once", &text);
}

#[test]
fn more_than_twenty_faults_are_counted() {
    let rows: Vec<String> = (1..=33)
        .map(|number| format!("m{number},C1,L9,1\n"))
        .collect();
    let list = format!("machine,circuit,connection,power_kw\n{}", rows.concat());
    let workshop = Workshop::new().with("machines.csv", list);
    let text = refusal(&workshop, &["check", "SITE"]);
    assert_eq!(text.matches("Error: ").count(), 20);
    assert!(text.ends_with("and 13 more\n"), "{text}");
}

/// The same faults for programs: name, message, file, line, column.
#[test]
fn faults_as_json() {
    let workshop = machines("drill,C1,L1,0.9", "drill,C1,L1,lots");
    let run = workshop.run(&["check", "SITE", "--format", "json"]);
    assert_eq!((run.status, run.out.as_str()), (2, ""));
    let errors: serde_json::Value = serde_json::from_str(&run.err).expect("errors are JSON");
    let error = &errors["errors"][0];
    assert_eq!(error["level"], "error");
    assert_eq!(error["name"], "not-a-number");
    assert_eq!(error["file"], "machines.csv");
    assert_eq!(error["line"], 3);
    assert_eq!(error["column"], 13);
    assert_eq!(errors["errors"].as_array().map(Vec::len), Some(1));
}

/// A list without machines is no fault.
#[test]
fn a_header_alone_is_a_machine_list() {
    let workshop = Workshop::new().with("machines.csv", "machine,circuit,connection,power_kw\n");
    assert_eq!(workshop.run(&["check", "SITE"]).status, 0);
}

/// Columns of the user's own are no fault.
#[test]
fn own_columns_are_left_alone() {
    let list = "machine,circuit,connection,power_kw,x_serial\nsaw,C1,3ph,2.4,0815\n";
    let workshop = Workshop::new().with("machines.csv", list);
    assert_eq!(workshop.run(&["check", "SITE"]).status, 0);
}

/// Files as other programs write them: byte order mark, line ends of Windows, blank lines.
#[test]
fn marks_and_line_ends_are_no_fault() {
    let dos = |text: &str| format!("\u{feff}{}\r\n", text.replace('\n', "\r\n"));
    let plain = Workshop::new().run(&["check", "SITE"]);
    let workshop = Workshop::new()
        .with("site.toml", dos(SITE))
        .with("machines.csv", dos(MACHINES))
        .with("meters/main.csv", dos(crate::program::MAIN_LOG));
    let run = workshop.run(&["check", "SITE"]);
    assert_eq!((run.status, run.err.as_str()), (0, ""));
    assert_eq!(run.out, plain.out);
}

/// No text of a message that no test asks for any more.
#[test]
fn every_kept_message_has_its_test() {
    let more = [
        "no_such_folder",
        "a_file_for_a_folder",
        "a_period_without_readings",
        "a_period_that_ends_before_it_begins",
        "several_faults_at_once",
    ];
    for entry in fs::read_dir(project().join("tests/snapshots")).expect("the folder is there") {
        let name = entry.expect("the folder can be read").file_name();
        let name = name.to_string_lossy();
        let Some(name) = name.strip_prefix("bad_") else {
            continue;
        };
        let known = NAMES
            .iter()
            .chain(&more)
            .any(|known| name == format!("{known}.snap"));
        assert!(known, "no test for tests/snapshots/bad_{name}");
    }
}

proptest::proptest! {
    #![proptest_config(proptest::test_runner::Config {
        cases: 300,
        failure_persistence: None,
        ..proptest::test_runner::Config::default()
    })]

    /// Whatever stands in a file, the program answers: bytes exchanged, taken out or put in anywhere.
    #[test]
    fn no_bytes_make_it_panic(
        file in 0..3_usize,
        at in 0.0..1.0_f64,
        taken in 0..40_usize,
        put in proptest::collection::vec(proptest::prelude::any::<u8>(), 0..12),
    ) {
        let (name, text) = [
            ("site.toml", SITE),
            ("machines.csv", MACHINES),
            ("meters/main.csv", crate::program::MAIN_LOG),
        ][file];
        let from = (at * text.len() as f64) as usize;
        let to = (from + taken).min(text.len());
        let bytes = [&text.as_bytes()[..from], &put, &text.as_bytes()[to..]].concat();
        let workshop = Workshop::new().with(name, bytes);
        for command in ["check", "balance", "energy"] {
            let run = workshop.run(&[command, "SITE"]);
            proptest::prop_assert!(run.status <= 2);
            proptest::prop_assert_eq!(run.status == 2, run.err.starts_with("Error: "));
        }
    }
}
