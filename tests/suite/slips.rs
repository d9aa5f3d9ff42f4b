//! Slips of typing that people make: each is named as what it is, with what to write instead.

use crate::program::{SITE, Workshop};

/// What `check` says of a workshop that cannot be read.
fn said(workshop: &Workshop) -> String {
    let run = workshop.run(&["check", "SITE"]);
    assert_eq!(run.status, 2, "{}{}", run.out, run.err);
    run.err
}

fn contains(text: &str, parts: &[&str]) {
    for part in parts {
        assert!(text.contains(part), "{part}\n{text}");
    }
}

#[test]
fn a_decimal_comma_is_answered_with_a_point() {
    let toml = Workshop::new().replace("site.toml", "phase_limit_a = 63", "phase_limit_a = 63,5");
    contains(
        &said(&toml),
        &[
            "site.toml, line 7",
            "`63,5` has a decimal comma",
            "Write a point: `63.5`",
            "(decimal-comma)",
        ],
    );
    let quoted = Workshop::new().replace(
        "site.toml",
        "phase_limit_a = 63",
        "phase_limit_a = \"63,5\"",
    );
    contains(
        &said(&quoted),
        &["Write a point: `63.5`, without quotation marks"],
    );
    // In a list a comma is understood, unless it may separate thousands.
    let list = Workshop::new().replace("machines.csv", "drill,C1,L1,0.9,", "drill,C1,L1,\"0,9\",");
    assert_eq!(list.run(&["check", "SITE"]).status, 0);
    let open =
        Workshop::new().replace("machines.csv", "drill,C1,L1,0.9,", "drill,C1,L1,\"1,900\",");
    contains(
        &said(&open),
        &["machines.csv, row 3, column D", "Write `1.9` or `1900`"],
    );
    let cut = Workshop::new().replace(
        "machines.csv",
        "drill,C1,L1,0.9,0.75",
        "drill,C1,L1,1,1,0.75",
    );
    contains(
        &said(&cut),
        &[
            "If `1,1` is one number, write a point: `1.1`",
            "(too-many-cells)",
        ],
    );
    let readings = Workshop::new().with(
        "readings.csv",
        "time,at,l1_a,l2_a,l3_a,n_a\n2026-03-09 10:30,supply,\"41,2\",28,35,12\n",
    );
    assert_eq!(readings.run(&["check", "SITE"]).status, 0);
}

#[test]
fn typographic_quotation_marks_are_answered_with_straight_ones() {
    let toml = Workshop::new().replace("site.toml", "\"Five Machines\"", "“Five Machines”");
    contains(
        &said(&toml),
        &[
            "site.toml, line 2",
            "Write straight quotation marks: `\"Five Machines\"`",
            "(curly-quotes)",
        ],
    );
    let list = Workshop::new().replace("machines.csv", "drill,", "“drill, old”,");
    contains(
        &said(&list),
        &[
            "machines.csv, row 3",
            "Write straight quotation marks: `\"drill, old\"`",
        ],
    );
    let one = Workshop::new().replace("machines.csv", "drill,", "“drill”,");
    contains(&said(&one), &["(curly-quotes)", "`\"drill\"`"]);
    // Within a text they are the user's own.
    let own = Workshop::new().replace("machines.csv", "under the window", "the “old” heater");
    assert_eq!(own.run(&["check", "SITE"]).status, 0);
}

#[test]
fn horsepower_is_the_output_of_a_motor() {
    let column = Workshop::new().with(
        "machines.csv",
        "machine,circuit,connection,shaft_hp,efficiency\nsaw,C1,3ph,10,0.89\ndrill,C1,L1,1.5,0.8\n",
    );
    let run = column.run(&["check", "SITE"]);
    assert_eq!(run.status, 0, "{}", run.err);
    contains(&run.out, &["shaft_hp", "shaft_kw, in hp"]);
    let cell = Workshop::new().replace("machines.csv", "saw,C1,3ph,2.4,", "saw,C1,3ph,3 hp,");
    contains(&said(&cell), &["`3 hp`", "(missing-efficiency)"]);
}

#[test]
fn a_device_is_read_in_words_or_asked_about() {
    for words in ["32 A fuse", "MCB 16A type C", "circuit-breaker C16"] {
        let workshop = Workshop::new().replace("site.toml", "\"gG 25\"", &format!("\"{words}\""));
        let run = workshop.run(&["check", "SITE"]);
        assert_eq!(run.status, 0, "{}", run.err);
    }
    for (words, short) in [
        ("C 33", "write `C 32` or `C 40`"),
        ("MCB 20", "`B 20`, `C 20` or `D 20` for a circuit-breaker"),
    ] {
        let workshop = Workshop::new().replace("site.toml", "\"gG 25\"", &format!("\"{words}\""));
        contains(&said(&workshop), &[short]);
    }
}

#[test]
fn a_time_without_an_hour_is_named_as_that() {
    let log =
        "time,I1,I2,I3,P1,P2,P3\n2026-03-09,18,10,2,3.6,2.3,0.4\n2026-03-10,18,10,2,3.6,2.3,0.4\n";
    let declared = Workshop::new().with("meters/main.csv", log).replace(
        "site.toml",
        "%Y-%m-%d %H:%M",
        "%Y-%m-%d",
    );
    contains(
        &said(&declared),
        &[
            "written as `%Y-%m-%d`",
            "reads a date without an hour",
            "columns = [\"date\", \"time\"]",
        ],
    );
    let missing = Workshop::new().with("meters/main.csv", log);
    contains(
        &said(&missing),
        &[
            "expected a time written as `%Y-%m-%d %H:%M`, found `2026-03-09`",
            "is a date without an hour",
        ],
    );
}

#[test]
fn a_log_without_a_known_column_is_described_with_the_quantities_that_fit() {
    let columns = crate::program::SITE
        .split("[meter.columns]")
        .next()
        .expect("the meter");
    let rows: Vec<String> = (0..8)
        .map(|k| {
            format!(
                "2026-03-09 10:{:02};23{},1;{},5;{}\n",
                k * 5,
                k % 3,
                k * 3 % 7,
                1000 + k
            )
        })
        .collect();
    let rows = rows.concat();
    let workshop = Workshop::new().with("site.toml", columns).with(
        "meters/main.csv",
        format!("time;Kanal 1;Kanal 2;Kanal 3\n{rows}"),
    );
    contains(
        &said(&workshop),
        &[
            "looks like a table of 4 columns separated by `;`, with the time in `time`",
            "`voltage_l1_v = \"Kanal 1\"`",
            "`current_l1_a = \"Kanal 2\"`",
            "`energy_import_kwh = \"Kanal 3\"`",
        ],
    );
    let list = Workshop::new().with("site.toml", columns).with(
        "meters/main.csv",
        "machine,circuit,connection,rating\nsaw,C1,3ph,2.4\n",
    );
    contains(&said(&list), &["looks like a machine list, not a log"]);
}

#[test]
fn an_unknown_quantity_is_answered_with_those_like_it() {
    let near = Workshop::new().replace("site.toml", "current_l1_a =", "curent_l1_a =");
    contains(&said(&near), &["Did you mean `current_l1_a`?"]);
    let like = Workshop::new().replace("site.toml", "current_l1_a =", "reactive_l1 =");
    contains(
        &said(&like),
        &["Quantities like it: ", "reactive_power_l1_kvar"],
    );
}

/// Files that are no text, each with what it is.
fn no_texts() -> Vec<(Vec<u8>, &'static str)> {
    let zip = |name: &str| {
        [
            b"PK\x03\x04\x14\x00\x06\x00".as_slice(),
            name.as_bytes(),
            &[0, 159, 146, 150],
        ]
        .concat()
    };
    vec![
        (zip("xl/workbook.xml"), "a workbook (.xlsx)"),
        (zip("main.csv"), "a ZIP archive"),
        (b"%PDF-1.7\n%\xe2\xe3".to_vec(), "a PDF document"),
        (b"\x89PNG\r\n\x1a\n\x00".to_vec(), "an image (PNG)"),
        (
            b"\xd0\xcf\x11\xe0\xa1\xb1".to_vec(),
            "a workbook or document of an old kind",
        ),
        // All of it is UTF-8.
        (b"PAR1\x15\x00\x15\x0cPAR1".to_vec(), "a Parquet file"),
    ]
}

fn is_named(text: &str, file: &str, kind: &str) {
    contains(
        text,
        &[
            &format!("`{file}` is {kind}"),
            "not a text file",
            "(not-text)",
        ],
    );
    for bytes in ["PK", "PAR1", "%PDF", "\u{fffd}", "\0"] {
        assert!(!text.contains(bytes), "{text}");
    }
}

#[test]
fn a_file_that_is_no_text_is_named_and_never_printed() {
    for (bytes, kind) in no_texts() {
        for file in ["meters/main.csv", "machines.csv", "readings.csv"] {
            // A log may well be a Parquet file.
            if kind != "a Parquet file" || file != "meters/main.csv" {
                let text = said(&Workshop::new().with(file, bytes.clone()));
                is_named(&text, file, kind);
            }
        }
    }
}

#[test]
fn a_variable_or_carbon_file_that_is_no_text_is_named_and_never_printed() {
    let toml = format!(
        "{SITE}\n[[variable]]\nname = \"pieces\"\nfile = \"pieces.csv\"\ncolumn = \"pieces\"\n"
    );
    let carbon = format!("{SITE}\n[carbon]\nfile = \"carbon.csv\"\n");
    for (bytes, kind) in no_texts() {
        for (file, toml) in [("pieces.csv", &toml), ("carbon.csv", &carbon)] {
            let workshop = Workshop::new().with("site.toml", toml);
            is_named(&said(&workshop.with(file, bytes.clone())), file, kind);
        }
    }
}

#[test]
fn a_list_of_new_machines_that_is_no_text_is_named_and_never_printed() {
    for (bytes, kind) in no_texts() {
        let run = Workshop::new().with("../new.csv", bytes).run(&[
            "place",
            "SITE",
            "--new-machines",
            "BESIDE/new.csv",
        ]);
        assert_eq!((run.status, run.out.as_str()), (2, ""));
        is_named(&run.err, "[TEMP]/new.csv", kind);
    }
}

#[test]
fn an_invoice_that_is_no_text_is_named_and_never_printed() {
    let tariff = "[[tariff]]\nfrom = \"2026-01-01\"\nstanding_per_day = 0.5\n";
    for (bytes, kind) in no_texts() {
        let run = Workshop::new()
            .append("site.toml", tariff)
            .with("../invoice.csv", bytes)
            .run(&["energy", "SITE", "--invoice", "BESIDE/invoice.csv"]);
        assert_eq!((run.status, run.out.as_str()), (2, ""));
        is_named(&run.err, "[TEMP]/invoice.csv", kind);
    }
}
