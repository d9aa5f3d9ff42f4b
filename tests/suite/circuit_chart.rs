//! The circuit chart for the door: ways in their order on the board, spare ones as rows, now and after the plan.

use crate::program::Workshop;

/// A board of three ways on each phase: C1 on way 2, C2 (L1) on way 1.
fn workshop() -> Workshop {
    Workshop::new()
        .replace(
            "site.toml",
            "phase_limit_a = 50\n",
            "phase_limit_a = 50\nways = [3, 3, 2]\nincomer = \"main switch 63 A\"\ntested = \"2026-01-20\"\nrevision = \"B\"\n",
        )
        .replace(
            "site.toml",
            "protective_device = \"gG 25\"\n",
            "protective_device = \"gG 25\"\nway = 2\nrcd = \"30 mA, type A\"\n",
        )
        .replace(
            "site.toml",
            "protective_device = \"B 16\"\n",
            "protective_device = \"B 16\"\nway = 1\npoints = \"4 lamps over the benches\"\n",
        )
}

/// The sheets of a chart, each as its rows; a row as the words of its cells.
fn sheets(html: &str) -> Vec<(String, Vec<Vec<String>>)> {
    let text = |part: &str| {
        let mut out = String::new();
        let mut in_tag = false;
        for c in part.chars() {
            match c {
                '<' => in_tag = true,
                '>' => in_tag = false,
                c if !in_tag => out.push(c),
                _ => {}
            }
        }
        out.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    html.split("<article class=\"sheet\">")
        .skip(1)
        .map(|sheet| {
            let (head, table) = sheet.split_once("<tbody").expect("a table");
            let (body, _) = table.split_once("</tbody>").expect("an end");
            let rows = body.split("<tr").skip(1).map(|row| {
                let cells = row.replace("<th", "<td");
                let cells = cells.split("<td").skip(1);
                cells.map(|cell| text(&format!("<td{cell}"))).collect()
            });
            (text(head), rows.collect())
        })
        .collect()
}

#[test]
fn ways_are_in_their_order_with_the_spare_ones_between() {
    let workshop = workshop();
    let run = workshop.run(&["report", "SITE", "-o", "BESIDE/report"]);
    assert_eq!(run.status, 0, "{}", run.err);
    let html = std::fs::read_to_string(workshop.beside("report/circuit-chart.html")).expect("made");
    let sheets = sheets(&html);
    let (head, rows) = &sheets[0];
    for fact in [
        "Present state",
        "main switch 63 A",
        "Tue 20 Jan 2026",
        "RevisionB",
        "Made on",
    ] {
        assert!(head.contains(fact), "{fact}: {head}");
    }
    let first: Vec<(&str, &str)> = rows
        .iter()
        .map(|row| (row[0].as_str(), row[4].as_str()))
        .collect();
    assert_eq!(
        first,
        [
            ("1", "C2L1"),
            ("1", "spare"),
            ("2", "C1three-phase"),
            ("3", "spare")
        ]
    );
    let marks = |row: usize| [1, 2, 3].map(|k: usize| rows[row][k].chars().next());
    assert_eq!(marks(0), [Some('●'), Some('·'), Some('·')]);
    assert_eq!(marks(1), [Some('·'), Some('○'), Some('○')]);
    // There are only two ways on L3.
    assert_eq!(marks(3), [Some('○'), Some('○'), Some('·')]);
    assert_eq!(rows[0][5], "4 lamps over the benches4 × lamps");
    assert_eq!(rows[0][6], "circuit-breaker type B, 16 A");
    assert_eq!(rows[2][7], "30 mA, type A");
}

/// The plan moves what is on the board: its sheet follows that of the present state, without the old revision.
#[test]
fn the_plan_has_a_sheet_of_its_own() {
    let workshop = workshop();
    let run = workshop.run(&["report", "SITE", "-o", "BESIDE/report"]);
    assert_eq!(run.status, 0, "{}", run.err);
    let html = std::fs::read_to_string(workshop.beside("report/circuit-chart.html")).expect("made");
    let sheets = sheets(&html);
    assert_eq!(sheets.len(), 2);
    let (head, rows) = &sheets[1];
    assert!(
        head.contains("After ") && !head.contains("RevisionB"),
        "{head}"
    );
    let moved = rows.iter().filter(|row| row[5].contains("moved, was on"));
    assert_ne!(moved.count(), 0, "{rows:?}");
}

/// Where a circuit has no number it is not known which ways are spare, only how many.
#[test]
fn without_numbers_spare_ways_are_counted() {
    let workshop = workshop().replace("site.toml", "way = 1\n", "");
    let run = workshop.run(&["report", "SITE", "-o", "BESIDE/report"]);
    assert_eq!(run.status, 0, "{}", run.err);
    let html = std::fs::read_to_string(workshop.beside("report/circuit-chart.html")).expect("made");
    let (_, rows) = &sheets(&html)[0];
    let first: Vec<(&str, &str)> = rows
        .iter()
        .map(|row| (row[0].as_str(), row[4].as_str()))
        .collect();
    assert_eq!(
        first,
        [
            ("2", "C1three-phase"),
            ("–", "C2L1"),
            ("–", "1 on L1, 2 on L2, 1 on L3spare")
        ]
    );
}
