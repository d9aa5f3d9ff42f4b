//! A site with one long log: 35 days of three phases, neutral and register, sample by sample.
//!
//! The same numbers every time; no two samples alike.

use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::Path;

/// Days in the log.
pub(crate) const DAYS: u64 = 35;
/// Seconds from one sample to the next, where there is one a second.
const DAY_S: u64 = 86_400;
/// 2026-01-05, a Monday.
const FIRST_DAY: (u32, u32, u32) = (2026, 1, 5);

const SITE: &str = "\
[site]
name = \"Long log\"
timezone = \"UTC\"

[supply]
line_voltage_v = 400
phase_limit_a = 100

[[meter]]
id = \"main\"
measures = \"supply\"
files = \"log.csv\"
time = { column = \"time\", zone = \"UTC\" }
";

/// The columns of readings.
pub(crate) const COLUMNS: [&str; 14] = [
    "voltage_l1_v",
    "voltage_l2_v",
    "voltage_l3_v",
    "current_l1_a",
    "current_l2_a",
    "current_l3_a",
    "active_power_l1_kw",
    "active_power_l2_kw",
    "active_power_l3_kw",
    "reactive_power_l1_kvar",
    "reactive_power_l2_kvar",
    "reactive_power_l3_kvar",
    "current_n_a",
    "energy_import_kwh",
];

/// How the lines are written.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Writing {
    /// Samples a second.
    pub(crate) per_second: u64,
    /// Seconds of log; the whole log where there are none.
    pub(crate) seconds: Option<u64>,
    /// Every reading in quotes, so that no line is plain.
    pub(crate) quoted: bool,
}

/// Writes the site into a folder. Returns rows and bytes of the log.
///
/// # Errors
///
/// What stood in the way of writing.
pub(crate) fn write_site(folder: &Path, writing: Writing) -> io::Result<(u64, u64)> {
    fs::create_dir_all(folder)?;
    fs::write(folder.join("site.toml"), SITE)?;
    fs::write(
        folder.join("machines.csv"),
        "machine,circuit,connection,current_a\n",
    )?;
    let path = folder.join("log.csv");
    let mut out = BufWriter::with_capacity(1 << 20, File::create(&path)?);
    write!(out, "time")?;
    for column in COLUMNS {
        write!(out, ",{column}")?;
    }
    writeln!(out)?;
    let mut noise = Noise(7);
    let mut rows = 0;
    let mut energy_mwh = 12_345_678_000_u64;
    for second in 0..writing.seconds.unwrap_or(DAYS * DAY_S) {
        for part in 0..writing.per_second.max(1) {
            write_row(
                &mut out,
                writing,
                (second, part),
                &mut noise,
                &mut energy_mwh,
            )?;
            rows += 1;
        }
    }
    out.flush()?;
    drop(out);
    Ok((rows, fs::metadata(path)?.len()))
}

fn write_row(
    out: &mut impl Write,
    writing: Writing,
    (second, part): (u64, u64),
    noise: &mut Noise,
    energy_mwh: &mut u64,
) -> io::Result<()> {
    let (year, month, first) = FIRST_DAY;
    // January has 31 days; the log ends in February.
    let day = u64::from(first) + second / DAY_S;
    let (month, day) = if day > 31 {
        (month + 1, day - 31)
    } else {
        (month, day)
    };
    let of_day = second % DAY_S;
    let (hour, minute) = (of_day / 3600, of_day / 60 % 60);
    write!(
        out,
        "{year}-{month:02}-{day:02}T{hour:02}:{minute:02}:{:02}",
        of_day % 60
    )?;
    if writing.per_second > 1 {
        write!(out, ".{:03}", part * 1000 / writing.per_second)?;
    }
    let busy = if (7..16).contains(&hour) { 4 } else { 1 };
    let volts: [u64; 3] = std::array::from_fn(|_| 22_800 + noise.below(500));
    let amps: [u64; 3] = std::array::from_fn(|_| busy * (1000 + noise.below(9000)));
    let watts: [u64; 3] = std::array::from_fn(|k| volts[k] * amps[k] / 100_000 * 9 / 10);
    *energy_mwh += watts.iter().sum::<u64>() * 1000 / 3600 / writing.per_second.max(1);
    let mut cell = |value: u64, decimals: u32| {
        let scale = 10_u64.pow(decimals);
        let (whole, rest) = (value / scale, value % scale);
        let width = decimals as usize;
        if writing.quoted {
            write!(out, ",\"{whole}.{rest:0width$}\"")
        } else {
            write!(out, ",{whole}.{rest:0width$}")
        }
    };
    volts.iter().try_for_each(|&value| cell(value, 2))?;
    amps.iter().try_for_each(|&value| cell(value, 3))?;
    watts.iter().try_for_each(|&value| cell(value, 3))?;
    watts.iter().try_for_each(|&value| cell(value / 3, 3))?;
    cell(noise.below(20_000), 3)?;
    cell(*energy_mwh / 1_000, 3)?;
    writeln!(out)
}

/// A linear congruential generator (Knuth, MMIX): the log need not be random, only uneven.
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
