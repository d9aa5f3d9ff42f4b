//! Wrong values on a rating plate: the whole text of each refusal, exit status 2, and nothing on standard output.

use crate::program::{SITE, Workshop, same_as_before};

fn refused(name: &str, words: &str, arguments: &[&str]) {
    let workshop = Workshop::new().with("site.toml", SITE).with(
        "wanted.csv",
        "machine,power_kw,power_factor,connection,candidates\nLathe,-3,0.8,any,\nMill,2,0,any,\nsaw,2,1,3ph,C2\n",
    );
    let all: Vec<&str> = ["place", "SITE"]
        .into_iter()
        .chain(arguments.iter().copied())
        .collect();
    let run = workshop.run(&all);
    assert_eq!(run.status, 2, "{}", run.out);
    assert_eq!(run.out, "");
    assert!(run.err.contains(words), "{}", run.err);
    same_as_before(&format!("place_{name}"), &run.err);
}

macro_rules! refusals {
    ($($name:ident, $words:literal, $arguments:expr;)*) => {
        $(
            #[test]
            fn $name() {
                refused(stringify!($name), $words, &$arguments);
            }
        )*
    };
}

refusals! {
    negative_power, "(out-of-range)", ["--name", "Lathe", "--power-kw", "-3"];
    power_factor_zero, "(power-factor-range)", ["--name", "Lathe", "--power-kw", "3", "--power-factor", "0"];
    power_factor_in_percent, "(power-factor-range)", ["--name", "Lathe", "--power-kw", "3", "--power-factor", "80"];
    three_phases_on_a_circuit_of_one, "(not-on-circuit)",
        ["--name", "Lathe", "--power-kw", "3", "--connection", "3ph", "--candidates", "C2"];
    unknown_schedule, "(unknown-schedule)", ["--name", "Lathe", "--power-kw", "3", "--schedule", "dayshift"];
    unknown_circuit, "(unknown-circuit)", ["--name", "Lathe", "--power-kw", "3", "--candidates", "C9"];
    unknown_way_to_start, "(start)", ["--name", "Lathe", "--power-kw", "3", "--start", "kick"];
    unknown_connection, "(connection)", ["--name", "Lathe", "--power-kw", "3", "--connection", "L4"];
    unknown_class, "(efficiency-class)", ["--name", "Lathe", "--shaft-kw", "3", "--efficiency-class", "IE9"];
    a_section_without_a_length, "(missing-length)", ["--name", "Lathe", "--power-kw", "3", "--cable-mm2", "4"];
    two_ratings, "--power-kw, --current-a", ["--name", "Lathe", "--power-kw", "3", "--current-a", "13"];
    no_rating, "rating", ["--name", "Lathe"];
    a_name_that_is_taken, "(duplicate-machine)", ["--name", "saw", "--power-kw", "3"];
    a_place_that_is_not_there, "C1:L9", ["--name", "Lathe", "--power-kw", "1", "--detail", "C1:L9"];
    a_list_with_faults, "wanted.csv, row 2, column B", ["--new-machines", "SITE/wanted.csv"];
    a_list_that_is_not_there, "none.csv", ["--new-machines", "SITE/none.csv"];
}
