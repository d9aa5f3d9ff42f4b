//! Invented workshops of an estate: the same numbers give the same files. Three trades of different size, three tariffs,
//! faults in some; the last ones are broken, each in its own way.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

/// What is written.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Invented {
    /// Number of sites, of which up to twelve are broken.
    pub(crate) sites: usize,
    /// Of them broken.
    pub(crate) broken: usize,
    /// Days of readings.
    pub(crate) days: u32,
    /// Minutes between readings.
    pub(crate) step_min: u32,
}

const GROUPS: [&str; 3] = ["joineries", "mills", "bakeries"];

const TARIFFS: [(&str, &str); 3] = [
    (
        "GBP",
        "standing_per_day = 0.85\nenergy = [ { band = \"day\", days = \"Mon-Fri\", from = \"07:00\", to = \"19:00\", rate_per_kwh = 0.27 }, { band = \"other\", otherwise = true, rate_per_kwh = 0.19 } ]\ntax_pct = 20\n",
    ),
    (
        "EUR",
        "energy = [ { band = \"all\", otherwise = true, rate_per_kwh = 0.24 } ]\ncapacity = { kva = 60, rate_per_kva_day = 0.05 }\n",
    ),
    (
        "USD",
        "energy_blocks = [ { up_to_kwh_per_month = 2000, rate_per_kwh = 0.18 }, { rate_per_kwh = 0.15 } ]\ndemand = { per = \"kW\", rate_per_month = 9.5 }\n",
    ),
];

/// Names that a careless program would trip over.
const HOSTILE: [&str; 6] = [
    "<b>bold & \"quoted\"",
    "it's; DROP TABLE sites --",
    "-rf",
    "größe ☃ $HOME `id`",
    "line\nbreak",
    "month=2026-01 %2F..",
];

/// Numbers that look random and depend on nothing but what is asked for.
fn hash(parts: [u64; 3]) -> f64 {
    let mut x = parts[0]
        .wrapping_mul(0x9e37_79b9_7f4a_7c15)
        .wrapping_add(parts[1].wrapping_mul(0xbf58_476d_1ce4_e5b9))
        .wrapping_add(parts[2].wrapping_mul(0x94d0_49bb_1331_11eb));
    for _ in 0..2 {
        x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    }
    ((x ^ (x >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
}

struct Load {
    name: String,
    phase: usize,
    kw: f64,
    duty: f64,
}

/// Writes the sites below a folder, with an estate.toml; the path of each below it.
pub(crate) fn write(folder: &Path, invented: &Invented) -> Vec<String> {
    let mut list = String::new();
    let mut paths = Vec::new();
    for number in 0..invented.sites {
        let group = GROUPS[number % 3];
        let name = HOSTILE
            .get(number)
            .map_or_else(|| format!("site-{number:04}"), |name| (*name).to_owned());
        let path = format!("{group}/{name}");
        let home = folder.join(&path);
        write_site(&home, number as u64, invented);
        if number + invented.broken >= invented.sites {
            break_site(&home, number + invented.broken - invented.sites);
        }
        let quoted = format!("{path:?}");
        let area = 200 + 150 * (number % 5) as u32;
        let _ = write!(
            list,
            "[[site]]\npath = {quoted}\ngroup = \"{group}\"\nfloor_area_m2 = {area}\n"
        );
        if number % 4 == 0 {
            list += "tags = [\"leased\", \"two shifts\"]\noutput = 12.5\noutput_unit = \"t\"\n";
        }
        paths.push(path);
    }
    fs::write(folder.join("estate.toml"), list).expect("the folder can be written");
    paths
}

fn loads(number: u64) -> Vec<Load> {
    let count = 3 + 2 * (number % 4);
    (0..count)
        .map(|at| Load {
            name: format!("machine {}", at + 1),
            // Most are on L1, so that moves gain something.
            phase: [0, 0, 1, 0, 2][(at % 5) as usize],
            kw: 0.4 + 2.6 * hash([number, at, 1]),
            duty: 0.1 + 0.6 * hash([number, at, 2]),
        })
        .collect()
}

fn write_site(home: &Path, number: u64, invented: &Invented) {
    let loads = loads(number);
    let mut machines =
        "machine,circuit,connection,power_kw,power_factor,utilisation_factor,schedule\n".to_owned();
    for load in &loads {
        let (phase, kw, duty) = (load.phase + 1, load.kw, load.duty);
        let _ = writeln!(
            machines,
            "{},DB1,L{phase},{kw:.2},0.9,{duty:.2},day shift",
            load.name
        );
    }
    let rated: f64 = loads
        .iter()
        .filter(|load| load.phase == 0)
        .map(|load| load.kw)
        .sum();
    // Each fifth supply is too small for L1.
    let limit_a = if number % 5 == 4 {
        (rated * 1.2).round()
    } else {
        100.0
    };
    let (currency, tariff) = TARIFFS[(number % 3) as usize];
    let toml = format!(
        "[site]\nname = \"Workshop {number}\"\ntimezone = \"Europe/London\"\ncurrency = \"{currency}\"\n\
         carbon_g_per_kwh = 150\n\n[supply]\nline_voltage_v = 400\nphase_limit_a = {limit_a}\n\n\
         [[board]]\nid = \"DB1\"\nfed_from = \"supply\"\n\n\
         [[schedule]]\nname = \"day shift\"\ndays = \"Mon-Fri\"\nfrom = \"07:00\"\nto = \"17:00\"\n\n\
         [[meter]]\nid = \"main\"\nmeasures = \"supply\"\nfiles = \"meters/main.csv\"\nstamp = \"start\"\ntime = {{ column = \"time\", zone = \"UTC\" }}\n\n\
         [[tariff]]\nfrom = \"2026-01-01\"\n{tariff}"
    );
    fs::create_dir_all(home.join("meters")).expect("the folder can be written");
    fs::write(home.join("site.toml"), toml).expect("the folder can be written");
    fs::write(home.join("machines.csv"), machines).expect("the folder can be written");
    fs::write(home.join("meters/main.csv"), log(number, &loads, invented))
        .expect("the folder can be written");
}

/// From Monday 2 March 2026, in UTC.
fn log(number: u64, loads: &[Load], invented: &Invented) -> String {
    let mut text =
        "time,voltage_l1_v,voltage_l2_v,voltage_l3_v,current_l1_a,current_l2_a,current_l3_a,\
                    active_power_l1_kw,active_power_l2_kw,active_power_l3_kw,\
                    reactive_power_l1_kvar,reactive_power_l2_kvar,reactive_power_l3_kvar\n"
            .to_owned();
    // A joint that is loose.
    let joint_ohm = if number % 7 == 3 { 0.06 } else { 0.0 };
    let base_kw = 0.3 + hash([number, 0, 3]);
    for day in 0..invented.days {
        for minute in (0..1440_u32).step_by(invented.step_min as usize) {
            let at = u64::from(day) * 1440 + u64::from(minute);
            // Each eleventh log lacks a morning.
            if number % 11 == 5 && day == 3 && (480..720).contains(&minute) {
                continue;
            }
            let works = day % 7 < 5 && (420..1020).contains(&minute);
            // What always runs varies a little, as no channel of a meter repeats itself.
            let base = |phase: u64| base_kw * (0.8 + 0.4 * hash([number, at, 100 + phase]));
            let mut kw = [0_u64, 1, 2].map(base);
            for (place, load) in loads.iter().enumerate() {
                if works && hash([number * 1000 + place as u64, at / 20, 4]) < load.duty {
                    kw[load.phase] += load.kw * (0.9 + 0.2 * hash([number, at, place as u64]));
                }
            }
            // March has 31 days; what is more is in April.
            let (month, date) = if day < 30 {
                (3, day + 2)
            } else {
                (4, day - 29)
            };
            let (hour, within) = (minute / 60, minute % 60);
            let _ = write!(text, "2026-{month:02}-{date:02} {hour:02}:{within:02}");
            let volts = [0, 1, 2].map(|phase| {
                let amps = kw[phase] / 0.207;
                let sag = 0.05 + if phase == 1 { joint_ohm } else { 0.0 };
                232.0 + hash([number, at / 5, 5]) - sag * amps
            });
            let amps: Vec<f64> = (0..3)
                .map(|phase| kw[phase] * 1000.0 / (0.9 * volts[phase]))
                .collect();
            for volts in volts {
                let _ = write!(text, ",{volts:.2}");
            }
            for amps in amps {
                let _ = write!(text, ",{amps:.2}");
            }
            for kw in kw {
                let _ = write!(text, ",{kw:.3}");
            }
            for kw in kw {
                let _ = write!(text, ",{:.3}", kw * 0.484_322);
            }
            text.push('\n');
        }
    }
    text
}

/// The twelve ways.
fn break_site(home: &Path, way: usize) {
    let toml = home.join("site.toml");
    let text = fs::read_to_string(&toml).expect("it was written");
    let put = |name: &str, text: &str| {
        fs::write(home.join(name), text).expect("the folder can be written");
    };
    match way {
        0 => put("site.toml", "[site\nname = "),
        1 => fs::remove_file(home.join("machines.csv")).expect("it was written"),
        2 => fs::remove_file(home.join("meters/main.csv")).expect("it was written"),
        3 => put("meters/main.csv", "when,what\n2026-03-02 00:00,5\n"),
        4 => put(
            "site.toml",
            &text.replace("phase_limit_a", "phase_limit_amps"),
        ),
        5 => put(
            "site.toml",
            &text.replace("measures = \"supply\"", "measures = \"DB9\""),
        ),
        6 => put("site.toml", ""),
        7 => fs::write(
            home.join("meters/main.csv"),
            [0_u8, 159, 146, 150].repeat(300),
        )
        .expect("written"),
        8 => put(
            "machines.csv",
            "machine,circuit,connection,power_kw\nsaw,DB1,L4,2\n",
        ),
        9 => link_out(home),
        10 => put(
            "site.toml",
            &text.replace("Europe/London", "Europe/Londres"),
        ),
        _ => put("site.toml", &text.replace("[[tariff]]", "[[tarif]]")),
    }
}

#[cfg(unix)]
fn link_out(home: &Path) {
    std::os::unix::fs::symlink("/etc/hostname", home.join("meters/other.csv"))
        .expect("a link can be made");
}

#[cfg(not(unix))]
fn link_out(home: &Path) {
    fs::remove_file(home.join("site.toml")).expect("it was written");
}

/// A folder of their own below the target folder, so that programs outside the tests can read them too.
pub(crate) fn folder_for(name: &str) -> PathBuf {
    let folder = Path::new(option_env!("CARGO_TARGET_TMPDIR").unwrap_or("target/tmp")).join(name);
    if folder.exists() {
        fs::remove_dir_all(&folder).expect("earlier files can be removed");
    }
    fs::create_dir_all(&folder).expect("the target folder can be written");
    folder
}
