//! Writes a site of thirty meters with a year of one-minute data each: FOLDER, then days (365).
//!
//! A supply, four boards and twenty-five machines, with a tariff, schedules and a column of words; the supply sees
//! the sum of the others. The same numbers every time.

use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

const BOARDS: usize = 4;
const MACHINES: usize = 25;
const MINUTES_OF_DAY: u64 = 1440;
/// Days of the months of 2025.
const MONTHS: [u64; 12] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

const HEAD: &str = "\
[site]
name = \"Year of minutes\"
timezone = \"Europe/Berlin\"
currency = \"EUR\"
carbon_g_per_kwh = 150
holidays = [\"2025-01-01\", \"2025-12-25\"]

[supply]
line_voltage_v = 400
phase_limit_a = 400

[[schedule]]
name = \"early\"
days = \"Mon-Fri\"
from = \"06:00\"
to = \"14:00\"

[[schedule]]
name = \"late\"
days = \"Mon-Fri\"
from = \"14:00\"
to = \"22:00\"

[[tariff]]
from = \"2024-12-01\"
standing_per_day = 1.2
energy = [ { band = \"day\", days = \"Mon-Fri\", from = \"07:00\", to = \"19:00\", rate_per_kwh = 0.26 },
           { band = \"other\", otherwise = true, rate_per_kwh = 0.17 } ]
demand = { per = \"kVA\", rate_per_month = 4.20 }
tax_pct = 20

";

fn main() -> ExitCode {
    let mut arguments = std::env::args_os().skip(1);
    let Some(folder) = arguments.next().map(PathBuf::from) else {
        return ExitCode::FAILURE;
    };
    let days = arguments
        .next()
        .and_then(|text| text.to_str()?.parse().ok())
        .unwrap_or(365);
    match write_site(&folder).and_then(|()| write_logs(&folder, days)) {
        Ok(()) => ExitCode::SUCCESS,
        Err(_) => ExitCode::FAILURE,
    }
}

fn write_site(folder: &Path) -> io::Result<()> {
    fs::create_dir_all(folder.join("meters"))?;
    let mut site = BufWriter::new(File::create(folder.join("site.toml"))?);
    write!(site, "{HEAD}")?;
    for board in 0..BOARDS {
        writeln!(
            site,
            "[[board]]\nid = \"B{board}\"\nfed_from = \"supply\"\n"
        )?;
    }
    meter(&mut site, "main", "supply", &PHASES)?;
    for board in 0..BOARDS {
        meter(
            &mut site,
            &format!("b{board}"),
            &format!("B{board}"),
            &TOTALS,
        )?;
    }
    let mut list = BufWriter::new(File::create(folder.join("machines.csv"))?);
    writeln!(list, "machine,circuit,connection,power_kw,schedule")?;
    for machine in 0..MACHINES {
        writeln!(
            list,
            "M{machine},B{},3ph,{},",
            machine % BOARDS,
            4 + machine
        )?;
        meter(
            &mut site,
            &format!("m{machine}"),
            &format!("M{machine}"),
            &TOTALS,
        )?;
    }
    writeln!(list, "Lamps,supply,L1,0.4,early")?;
    site.flush()?;
    list.flush()
}

/// Quantities and their columns.
const TOTALS: [(&str, &str); 2] = [("active_power_kw", "P"), ("reactive_power_kvar", "Q")];
const PHASES: [(&str, &str); 6] = [
    ("active_power_l1_kw", "P1"),
    ("active_power_l2_kw", "P2"),
    ("active_power_l3_kw", "P3"),
    ("reactive_power_l1_kvar", "Q1"),
    ("reactive_power_l2_kvar", "Q2"),
    ("reactive_power_l3_kvar", "Q3"),
];

fn meter(
    site: &mut impl Write,
    id: &str,
    measures: &str,
    columns: &[(&str, &str)],
) -> io::Result<()> {
    writeln!(
        site,
        "[[meter]]\nid = \"{id}\"\nmeasures = \"{measures}\"\nfiles = \"meters/{id}.csv\"\nstamp = \"start\"\n\
         time = {{ column = \"utc\", zone = \"UTC\" }}\nclass = \"1\"\n[meter.columns]"
    )?;
    for (quantity, column) in columns {
        writeln!(site, "{quantity} = \"{column}\"")?;
    }
    writeln!(site)
}

fn write_logs(folder: &Path, days: u64) -> io::Result<()> {
    let open = |name: String, columns: &str| -> io::Result<BufWriter<File>> {
        let path = folder.join("meters").join(name);
        let mut out = BufWriter::with_capacity(1 << 16, File::create(path)?);
        writeln!(out, "utc,{columns}")?;
        Ok(out)
    };
    let mut main = open("main.csv".to_owned(), "P1,P2,P3,Q1,Q2,Q3,shift")?;
    let mut boards = (0..BOARDS)
        .map(|board| open(format!("b{board}.csv"), "P,Q"))
        .collect::<io::Result<Vec<_>>>()?;
    let mut machines = (0..MACHINES)
        .map(|machine| open(format!("m{machine}.csv"), "P,Q"))
        .collect::<io::Result<Vec<_>>>()?;
    let mut noise = Noise(7);
    for day in 0..days {
        for minute in 0..MINUTES_OF_DAY {
            let stamp = stamp(day, minute);
            let busy = (360..1320).contains(&minute) && day % 7 < 5;
            let mut of_board = [500_u64; BOARDS];
            for (machine, out) in machines.iter_mut().enumerate() {
                let most = if busy {
                    1000 * (4 + machine as u64)
                } else {
                    400
                };
                let watts = noise.below(most);
                of_board[machine % BOARDS] += watts;
                row(out, &stamp, watts)?;
            }
            for (watts, out) in of_board.iter().zip(&mut boards) {
                row(out, &stamp, *watts)?;
            }
            let third = (of_board.iter().sum::<u64>() + 300) / 3;
            let shift = ["night", "early", "late"][(minute / 480) as usize];
            let (kw, kvar) = (Kilo(third), Kilo(third / 3));
            writeln!(main, "{stamp},{kw},{kw},{kw},{kvar},{kvar},{kvar},{shift}")?;
        }
    }
    main.flush()?;
    boards
        .iter_mut()
        .chain(&mut machines)
        .try_for_each(Write::flush)
}

fn row(out: &mut impl Write, stamp: &str, watts: u64) -> io::Result<()> {
    writeln!(out, "{stamp},{},{}", Kilo(watts), Kilo(watts / 3))
}

fn stamp(day: u64, minute: u64) -> String {
    let mut day = day % 365;
    let mut month = 0;
    while day >= MONTHS[month] {
        day -= MONTHS[month];
        month += 1;
    }
    let (hour, minute) = (minute / 60, minute % 60);
    format!("2025-{:02}-{:02}T{hour:02}:{minute:02}", month + 1, day + 1)
}

/// Thousandths.
struct Kilo(u64);

impl std::fmt::Display for Kilo {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}.{:03}", self.0 / 1000, self.0 % 1000)
    }
}

/// A linear congruential generator (Knuth, MMIX): the logs need not be random, only uneven.
struct Noise(u64);

impl Noise {
    fn below(&mut self, limit: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % limit
    }
}
