//! What text of the user may not do: run, steer a terminal, or become markup.

use crate::program::Workshop;

/// Clears the screen, then turns the direction of writing.
const HOSTILE: &str = "saw\u{1b}[2J\u{202e}\u{7}";

fn hostile() -> Workshop {
    Workshop::new()
        .replace("machines.csv", "drill,", &format!("{HOSTILE},"))
        .replace(
            "site.toml",
            "Five Machines",
            "Five \\u001b[2J\\u202e <script>alert(1)</script>",
        )
        .replace("site.toml", "id = \"main\"", "id = \"=main\\u001b[2J\"")
        .replace("meters/main.csv", "P2,P3\n", &format!("P2,P3,{HOSTILE}\n"))
}

fn is_harmless(text: &str) -> bool {
    !text.contains(|c: char| {
        c.is_control() && c != '\n'
            || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    })
}

#[test]
fn control_characters_reach_no_terminal() {
    let workshop = hostile();
    for name in ["check", "balance", "energy"] {
        for form in ["text", "csv"] {
            let run = workshop.run(&[name, "SITE", "--format", form]);
            assert_eq!(run.status, 0, "{}", run.err);
            assert!(is_harmless(&run.out), "{name} {form}: {:?}", run.out);
            assert!(is_harmless(&run.err), "{name} {form}: {:?}", run.err);
        }
        let json = workshop.run(&[name, "SITE", "--format", "json"]);
        assert!(!json.out.contains('\u{1b}'), "{name}: {:?}", json.out);
    }
}

#[test]
fn control_characters_in_messages_reach_no_terminal() {
    let workshop = Workshop::new();
    for (file, from) in [
        ("machines.csv", "drill,C1,L1,0.9"),
        ("machines.csv", "drill,C1"),
        ("machines.csv", "keep_with"),
        ("meters/main.csv", "2026-03-09 08:15"),
        ("meters/main.csv", "I2"),
    ] {
        let to = match from.rsplit_once(',') {
            Some((head, _)) => format!("{head},{HOSTILE}"),
            None => HOSTILE.to_owned(),
        };
        let text = std::fs::read_to_string(workshop.site().join(file)).expect("the file is there");
        let spoilt = Workshop::new().with(file, text.replacen(from, &to, 1));
        let run = spoilt.run(&["check", "SITE"]);
        assert!(is_harmless(&run.err), "{from}: {:?}", run.err);
        assert!(is_harmless(&run.out), "{from}: {:?}", run.out);
    }
    let run = workshop
        .replace("site.toml", "Europe/London", "\\u001b[2J\\u202e")
        .run(&["check", "SITE"]);
    assert_eq!(run.status, 2);
    assert!(is_harmless(&run.err), "{:?}", run.err);
}

/// A cell that starts with `=`, `+`, `-` or `@` is run as a formula by spreadsheets (OWASP, "CSV Injection").
#[test]
fn formulas_are_disarmed() {
    for start in ["=", "+", "-", "@"] {
        let name = format!("{start}cmd()");
        let workshop = Workshop::new()
            .replace("machines.csv", "drill,", &format!("{name},"))
            .replace("site.toml", "id = \"main\"", &format!("id = \"{name}\""));
        for command in ["check", "balance", "energy"] {
            let run = workshop.run(&[command, "SITE", "--format", "csv"]);
            let mut reader = csv::Reader::from_reader(run.out.as_bytes());
            for record in reader.records() {
                let record = record.expect("the result is CSV");
                assert!(
                    record.iter().all(|cell| cell != name),
                    "{command}: {record:?}"
                );
            }
            assert!(
                run.out.contains(&format!("'{name}")),
                "{command}: {}",
                run.out
            );
        }
    }
}

#[test]
fn user_text_is_no_markup_in_the_report() {
    let marked = "<img src=x onerror=alert(1)>";
    let workshop = hostile()
        .replace("machines.csv", "grinder,", &format!("{marked},"))
        .replace(
            "site.toml",
            "name = \"day shift\"",
            "name = \"</script><b>day\"",
        )
        .with(
            "machines.csv",
            std::fs::read_to_string(Workshop::new().site().join("machines.csv"))
                .expect("the list is there")
                .replace("grinder,", &format!("{marked},"))
                .replace("day shift", "</script><b>day"),
        );
    let run = workshop.run(&["report", "SITE", "-o", "BESIDE/report"]);
    assert_eq!(run.status, 0, "{}", run.err);
    for name in workshop
        .files()
        .iter()
        .filter(|name| name.starts_with("report/"))
    {
        let text = std::fs::read_to_string(workshop.beside(name)).expect("the file is there");
        let kind = std::path::Path::new(name).extension();
        if kind.is_some_and(|kind| kind == "html" || kind == "svg") {
            for raw in [marked, "<script>alert", "</script><b>"] {
                assert!(!text.contains(raw), "{raw} in {name}");
            }
        }
    }
}
