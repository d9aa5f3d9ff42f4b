//! Machine lists as people write them: read like the plain list, or asked about.

use rust_xlsxwriter::{Format, Workbook};
use tapoff::message::{Level, Message};
use tapoff::site::{Site, read_site};

use crate::program::Workshop;

const SITE: &str = r#"[site]
name = "Lists"

[supply]
line_voltage_v = 400
phase_limit_a = 100
COLOURS

[[board]]
id = "DB1"
fed_from = "supply"
"#;

/// Four machines: name, connection, power [kW], power factor, utilisation factor, number, movable.
const PLAIN: &str = "\
machine,circuit,connection,power_kw,power_factor,utilisation_factor,quantity,movable
Lathe,DB1,3ph,4,0.82,0.5,1,no
Drill,DB1,L1,1.1,0.75,0.3,1,yes
Heater,DB1,L2,1.5,1,0.6,2,yes
Welder,DB1,L1-L2,6,0.8,0.15,1,yes
";

fn shop(colours: &str, file: &str, list: impl AsRef<[u8]>) -> Workshop {
    Workshop::empty()
        .with("site.toml", SITE.replace("COLOURS", colours))
        .with(file, list)
}

/// What the calculation sees of each machine.
fn facts(site: &Site) -> Vec<String> {
    let of = |machine: &tapoff::site::Machine| {
        let power = machine.rated_power(230.0);
        format!(
            "{} {} {:.6} {:.6} {:.6} {} {}",
            machine.name,
            machine.connection,
            power.re,
            power.im,
            machine.utilisation_factor,
            machine.quantity,
            machine.movable
        )
    };
    site.machines.iter().map(of).collect()
}

#[track_caller]
fn read(shop: &Workshop) -> Site {
    let (site, messages) = read_site(&shop.site()).unwrap_or_else(|errors| panic!("{errors}"));
    let warnings = messages.draw(Level::Warning, false);
    assert!(warnings.is_empty(), "{warnings}");
    site
}

fn errors(shop: &Workshop) -> Vec<Message> {
    match read_site(&shop.site()) {
        Ok((site, _)) => panic!("read as {:?}", facts(&site)),
        Err(errors) => errors.0.all().to_vec(),
    }
}

/// A list with the plain one's machines, in other words.
struct OtherWords {
    colours: &'static str,
    list: &'static str,
}

const fn list(list: &'static str) -> OtherWords {
    OtherWords { colours: "", list }
}

const HEAD: &str = "Machine,Circuit,Phase,Power (kW),PF,Utilisation,Qty,Movable\n";

/// Headers, units, numbers and phases in the words of the trade.
const ALIKE: [OtherWords; 20] = [
    // 1: capitals and full words.
    list(
        "Machine,Circuit,Connection,Power (kW),Power factor,Utilisation factor,Quantity,Movable\nLathe,DB1,3ph,4,0.82,0.5,1,no\nDrill,DB1,L1,1.1,0.75,0.3,1,yes\nHeater,DB1,L2,1.5,1,0.6,2,yes\nWelder,DB1,L1-L2,6,0.8,0.15,1,yes\n",
    ),
    // 2: short words, a title, blank rows, a total.
    list(
        "Machine list of the shop,,,,,,,\n,,,,,,,\nName,Board,Ph,kW,PF,Duty,Qty,Can move\n\nLathe,DB1,3-phase,4,0.82,0.5,1,n\nDrill,DB1,L-1,1.1,0.75,0.3,1,y\n,,,,,,,\nHeater,DB1,l2,1.5,1,0.6,2,y\nWelder,DB1,L2-L1,6,0.8,0.15,1,Y\nTotal,,,14.1,,,5,\n",
    ),
    // 3: semicolons and decimal commas.
    list(
        "Machine;Circuit;Phase;Power [kW];cos φ;Utilisation;Qty;Movable\nLathe;DB1;3 ph;4;0,82;0,5;1;no\nDrill;DB1;L1;1,1;0,75;0,3;1;yes\nHeater;DB1;L2;1,5;1;0,6;2;yes\nWelder;DB1;L1/L2;6;0,8;0,15;1;yes\n",
    ),
    // 4: commas in quoted numbers.
    list(
        "Machine,Circuit,Phase,kW,PF,Utilisation,Qty,Movable\nLathe,DB1,TPN,\"4,0\",\"0,82\",\"0,5\",1,no\nDrill,DB1,L1-N,\"1,1\",\"0,75\",\"0,3\",1,yes\nHeater,DB1,L2+N,\"1,5\",1,\"0,6\",2,yes\nWelder,DB1,L1+L2,6,\"0,8\",\"0,15\",1,yes\n",
    ),
    // 5: watts.
    list(
        "Load,Fed from,Phase,Power (W),PF,Utilisation,Qty,Movable\nLathe,DB1,3ph,4000,0.82,0.5,1,no\nDrill,DB1,L1,1100,0.75,0.3,1,yes\nHeater,DB1,L2,1 500,1,0.6,2,yes\nWelder,DB1,L1-L2,\"6,000.0\",0.8,0.15,1,yes\n",
    ),
    // 6: a row of units.
    list(
        "Machine,Circuit,Phase,Power,PF,Utilisation,Qty,Movable\n,,,kW,-,%,-,\nLathe,DB1,3ph,4,0.82,50,1,no\nDrill,DB1,L1,1.1,0.75,30,1,yes\nHeater,DB1,L2,1.5,1,60,2,yes\nWelder,DB1,L1-L2,6,0.8,15,1,yes\n",
    ),
    // 7: a unit behind each number.
    list(
        "Machine,Circuit,Phase,Rating,PF,Utilisation,Qty,Movable\nLathe,DB1,3ph,4 kW,0.82,50%,1,no\nDrill,DB1,L1,1100 W,0.75,30 %,1,yes\nHeater,DB1,L2,1.5kW,1,60%,2,yes\nWelder,DB1,L1-L2,7.5 kVA,0.8,15%,1,yes\n",
    ),
    // 8: per cent in the header, power factor in per cent.
    list(
        "Machine,Circuit,Phase,Power (kW),PF (%),Utilisation (%),Qty,Movable\nLathe,DB1,3ph,4,82,50,1,no\nDrill,DB1,L1,1.1,75,30,1,yes\nHeater,DB1,L2,1.5,100,60,2,yes\nWelder,DB1,L1-L2,6,80,15,1,yes\n",
    ),
    // 9: R, Y, B; names of several words with commas.
    list(
        "Machine,Circuit,Phase,Power (kW),PF,Utilisation,Qty,Movable\nLathe,db1,RYB,4,0.82,0.5,1,no\nDrill,db1,R,1.1,0.75,0.3,1,yes\nHeater,db1,Y,1.5,1,0.6,2,yes\nWelder,db1,R-Y,6,0.8,0.15,1,yes\n",
    ),
    // 10: A, B, C.
    list(
        "Machine,Circuit,Phase,Power (kW),PF,Utilisation,Qty,Movable\nLathe,DB1,ABC,4,0.82,0.5,1,no\nDrill,DB1,A,1.1,0.75,0.3,1,yes\nHeater,DB1,B,1.5,1,0.6,2,yes\nWelder,DB1,A-B,6,0.8,0.15,1,yes\n",
    ),
    // 11: U, V, W.
    list(
        "Machine,Circuit,Phase,Power (kW),PF,Utilisation,Qty,Movable\nLathe,DB1,UVW,4,0.82,0.5,1,no\nDrill,DB1,U,1.1,0.75,0.3,1,yes\nHeater,DB1,V,1.5,1,0.6,2,yes\nWelder,DB1,UV,6,0.8,0.15,1,yes\n",
    ),
    // 12: numbers.
    list(
        "Machine,Circuit,Phase,Power (kW),PF,Utilisation,Qty,Movable\nLathe,DB1,1-2-3,4,0.82,0.5,1,no\nDrill,DB1,1,1.1,0.75,0.3,1,yes\nHeater,DB1,2,1.5,1,0.6,2,yes\nWelder,DB1,1-2,6,0.8,0.15,1,yes\n",
    ),
    // 13: colours that are a phase in every code.
    list(
        "Machine,Circuit,Phase,Power (kW),PF,Utilisation,Qty,Movable\nLathe,DB1,three phase,4,0.82,0.5,1,no\nDrill,DB1,red,1.1,0.75,0.3,1,yes\nHeater,DB1,yellow,1.5,1,0.6,2,yes\nWelder,DB1,Red/Yellow,6,0.8,0.15,1,yes\n",
    ),
    // 14: black is L2, as site.toml says.
    OtherWords {
        colours: "conductor_colours = \"brown-black-grey\"",
        list: "Machine,Circuit,Phase,Power (kW),PF,Utilisation,Qty,Movable\nLathe,DB1,3~,4,0.82,0.5,1,no\nDrill,DB1,brown,1.1,0.75,0.3,1,yes\nHeater,DB1,Black,1.5,1,0.6,2,yes\nWelder,DB1,brown-black,6,0.8,0.15,1,yes\n",
    },
    // 15: the site's own words.
    OtherWords {
        colours: "conductor_colours = { l1 = \"white\", l2 = \"sky blue\", l3 = \"tan\", n = \"black\" }",
        list: "Machine,Circuit,Phase,Power (kW),PF,Utilisation,Qty,Movable\nLathe,DB1,3ph,4,0.82,0.5,1,no\nDrill,DB1,White,1.1,0.75,0.3,1,yes\nHeater,DB1,sky blue,1.5,1,0.6,2,yes\nWelder,DB1,L1-L2,6,0.8,0.15,1,yes\n",
    },
    // 16: tabs, a note above, columns in another order.
    list(
        "Shop survey, hand-written\nQty\tUF\tPF\tkW\tLine\tCct\tEquipment\tMovable\n1\t0.5\t0.82\t4\t3P+N\tDB1\tLathe\tno\n1\t0.3\t0.75\t1.1\tphase 1\tDB1\tDrill\tyes\n2\t0.6\t1\t1.5\tphase 2\tDB1\tHeater\tyes\n1\t0.15\t0.8\t6\tL1 and L2\tDB1\tWelder\tyes\n",
    ),
    // 17: dashes for empty cells, own columns.
    list(
        "Machine,Circuit,Phase,Power (kW),Power (kVA),PF,Utilisation,Qty,Movable,x_bay\nLathe,DB1,3ph,4,-,0.82,0.5,1,no,2\nDrill,DB1,L1,1.1,–,0.75,0.3,1,yes,2\nHeater,DB1,L2,1.5,,-,0.6,2,yes,3\nWelder,DB1,L1-L2,-,7.5,0.8,0.15,1,yes,4\n",
    ),
    // 18: horsepower of a motor with its efficiency (4 kW of input).
    list(
        "Machine,Circuit,Phase,Power,Eff.,PF,Utilisation,Qty,Movable\nLathe,DB1,3ph,4.559475 hp,85 %,0.82,0.5,1,no\nDrill,DB1,L1,1.1 kW,,0.75,0.3,1,yes\nHeater,DB1,L2,1.5 kW,,1,0.6,2,yes\nWelder,DB1,L1-L2,6 kW,,0.8,0.15,1,yes\n",
    ),
    // 19: a sum below, a repeated unit in a cell.
    list(
        "Machine,Circuit,Phase,Rated power (kW),PF,Utilisation,Qty,Movable\nLathe,DB1,L1-L2-L3,4 kW,0.82,0.5,1,no\nDrill,DB1,L 1,1.1,0.75,0.3,1,yes\nHeater,DB1,L 2,1.5,1,0.6,2,yes\nWelder,DB1,L1 L2,6,0.8,0.15,1,yes\nSum:,,,14.1 kW,,,,\n",
    ),
    // 20: typographic spaces and a plus sign.
    list(
        "Machine,Circuit,Phase,Power (W),PF,Utilisation,Qty,Movable\nLathe,DB1,3ph,4\u{202f}000,0.82,0.5,1,no\nDrill,DB1,L1,1\u{a0}100,0.75,0.3,1,yes\nHeater,DB1,L2,+1500,1,0.6,2,yes\nWelder,DB1,L1-L2,6'000,0.8,0.15,1,yes\n",
    ),
];

#[test]
fn lists_in_other_words_are_read_alike() {
    let plain = facts(&read(&shop("", "machines.csv", PLAIN)));
    for (number, other) in ALIKE.iter().enumerate() {
        let shop = shop(other.colours, "machines.csv", other.list);
        let site = read(&shop);
        assert_eq!(facts(&site), plain, "list {}\n{}", number + 1, other.list);
        // The list that results are written from has the declared columns.
        let again = self::shop(other.colours, "machines.csv", &site.machine_list);
        assert_eq!(facts(&read(&again)), plain, "list {}", number + 1);
    }
}

/// What is wrong, and the place of it.
struct Asked {
    list: String,
    name: &'static str,
    place: (usize, &'static str),
    help: &'static str,
}

fn asked(
    rows: &str,
    name: &'static str,
    place: (usize, &'static str),
    help: &'static str,
) -> Asked {
    Asked {
        list: format!("{HEAD}{rows}"),
        name,
        place,
        help,
    }
}

#[test]
fn lists_that_may_be_read_in_two_ways_are_asked_about() {
    let mut lists = vec![
        asked(
            "Drill,DB1,B,1.1,0.75,0.3,1,yes\n",
            "phase-in-doubt",
            (2, "B"),
            "write `L1`, `L2` or `L3`",
        ),
        asked(
            "Drill,DB1,black,1.1,0.75,0.3,1,yes\n",
            "phase-in-doubt",
            (2, "black"),
            "conductor_colours",
        ),
        asked(
            "Drill,DB1,red,1,1,1,1,yes\nHeater,DB1,blue,1.1,0.75,0.3,1,yes\n",
            "phase-in-doubt",
            (3, "blue"),
            "conductor_colours",
        ),
        asked(
            "Drill,DB1,1,1.1,1,0.3,1,yes\nLathe,DB1,3,4,1,1,1,no\n",
            "phase-in-doubt",
            (2, "1"),
            "`L1`",
        ),
        asked(
            "Drill,DB1,single phase,1.1,1,0.3,1,yes\n",
            "phase-in-doubt",
            (2, "single phase"),
            "`any`",
        ),
        asked(
            "Drill,DB1,L1,\"1,100\",1,0.3,1,yes\n",
            "two-readings",
            (2, "\"1,100\""),
            "`1.1` or `1100`",
        ),
        asked(
            "Drill,DB1,L1,1.1,1,30,1,yes\n",
            "out-of-range",
            (2, "30"),
            "`0.3` or `30 %`",
        ),
        asked(
            "Drill,DB1,L1,1.1,1,0.3,1,x\nHeater,DB1,L2,2,1,0.3,1,\n",
            "marks-and-blanks",
            (2, "x"),
            "write `no`",
        ),
        asked("Drill,DB1,L1,1.1,1,0.3,1,-\n", "yes-or-no", (2, "-"), ""),
    ];
    let whole = |list: &str, name, place, help| Asked {
        list: list.to_owned(),
        name,
        place,
        help,
    };
    lists.extend([
        whole(
            "Machine,Circuit,Phase,Power\nDrill,DB1,L1,1100\n",
            "no-unit",
            (1, "Power"),
            "`Power (kW)`",
        ),
        whole(
            "No.,Machine,Circuit,Phase,kW\n1,Drill,DB1,L1,1\n",
            "unknown-column",
            (1, "No."),
            "`quantity`",
        ),
        whole(
            "Machine,Circuit,Board,Phase,kW\nDrill,1,DB1,L1,1\n",
            "duplicate-column",
            (1, "Board"),
            "",
        ),
        whole(
            "Machine,Circuit,Phase,hp\nDrill,DB1,L1,1.5\n",
            "missing-efficiency",
            (2, "1.5"),
            "`efficiency`",
        ),
        whole(
            "Machine,Circuit,Phase,Motor (kW)\nDrill,DB1,L1,1.5\n",
            "unknown-column",
            (1, "Motor (kW)"),
            "`shaft_kw`",
        ),
    ]);
    for asked in &lists {
        let found = errors(&shop("", "machines.csv", &asked.list));
        let first = &found[0];
        assert_eq!(first.name, asked.name, "{}\n{found:?}", asked.list);
        let place = first.place.as_ref().expect("a place");
        let cell = &place.text[place.span.clone()];
        assert_eq!((place.line, cell), asked.place, "{}", asked.list);
        let help = first.help.clone().unwrap_or_default();
        assert!(help.contains(asked.help), "{help}\n{}", asked.list);
    }
}

/// The plain list in a workbook: numbers as numbers, shares with the given format.
fn workbook(share: &Format, header: &str, scale: f64) -> Vec<u8> {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    sheet.set_name("List of 2026").expect("a name");
    sheet.write(1, 2, "Machines of the shop").expect("a cell");
    for (row, line) in (3..).zip(PLAIN.lines()) {
        for (column, text) in (2..).zip(line.split(',')) {
            let is_share = column == 7;
            match text.parse::<f64>() {
                Ok(number) if is_share => {
                    sheet.write_number_with_format(row, column, number * scale, share)
                }
                Ok(number) => sheet.write(row, column, number),
                Err(_) if is_share => sheet.write(row, column, header),
                Err(_) => sheet.write(row, column, text),
            }
            .expect("a cell");
        }
    }
    book.save_to_buffer().expect("a workbook")
}

#[test]
fn a_per_cent_format_is_read_and_its_absence_asked_about() {
    let plain = facts(&read(&shop("", "machines.csv", PLAIN)));
    let percent = Format::new().set_num_format("0.0%");
    let general = Format::new();
    for (file, bytes) in [
        (
            "Machines.XLSX",
            workbook(&percent, "utilisation_factor", 1.0),
        ),
        ("machines.xlsx", workbook(&percent, "Utilisation (%)", 1.0)),
        (
            "MACHINES.xlsx",
            workbook(&general, "Utilisation (%)", 100.0),
        ),
        ("machines.xlsx", workbook(&general, "Utilisation", 1.0)),
    ] {
        assert_eq!(facts(&read(&shop("", file, bytes))), plain, "{file}");
    }
    let found = errors(&shop(
        "",
        "machines.xlsx",
        workbook(&general, "Utilisation (%)", 1.0),
    ));
    assert_eq!(found[0].name, "percent-or-share");
    let place = found[0].place.as_ref().and_then(|place| place.cell.clone());
    assert_eq!(place.as_deref(), Some("sheet `List of 2026`, cell H7"));
    assert!(
        found[0]
            .help
            .as_ref()
            .is_some_and(|help| help.contains("`0.6 %` or `60 %`"))
    );
}

#[test]
fn files_are_found_in_any_letter_case_and_two_are_refused() {
    let plain = facts(&read(&shop("", "machines.csv", PLAIN)));
    assert_eq!(facts(&read(&shop("", "Machines.CSV", PLAIN))), plain);
    let two =
        shop("", "Machines.csv", PLAIN).with("machines.xlsx", workbook(&Format::new(), "x", 1.0));
    let found = errors(&two);
    assert_eq!(found[0].name, "two-machine-lists");
    assert!(
        found[0].text.contains("Machines.csv, machines.xlsx"),
        "{}",
        found[0].text
    );
}

#[test]
fn check_says_how_a_list_was_understood() {
    let shop = shop("", "machines.csv", ALIKE[1].list);
    let run = shop.run(&["check", "SITE"]);
    assert_eq!(run.status, 0, "{}", run.err);
    for part in [
        "machines.csv as understood",
        "Can move",
        "movable",
        "3-phase",
        "L2-L1",
        "L1-L2",
        "row 10, a total",
        "row 1, above the header",
    ] {
        assert!(run.out.contains(part), "{part}\n{}", run.out);
    }
    let plain = self::shop("", "machines.csv", PLAIN).run(&["check", "SITE"]);
    assert!(!plain.out.contains("understood"), "{}", plain.out);
}
