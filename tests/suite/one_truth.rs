//! Every figure that appears in two outputs of one site is the same figure: what the meters measured is "now" in
//! `energy`, in `balance`, on the page and on its what-if board, to the last digit.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use serde_json::Value;

use crate::program::{Workshop, run};
use crate::sample::{sample_json, sample_run};

/// The outputs of one site.
struct Outputs {
    energy: Value,
    balance: Value,
    energy_csv: Vec<Vec<String>>,
    balance_csv: Vec<Vec<String>>,
    report: PathBuf,
    compared: usize,
    wrong: Vec<String>,
}

fn json(arguments: &[&str]) -> Value {
    let run = run(arguments);
    assert!([0, 1].contains(&run.status), "{arguments:?}: {}", run.err);
    serde_json::from_str(&run.out).expect("the result is JSON")
}

fn csv(path: &Path) -> Vec<Vec<String>> {
    csv::ReaderBuilder::new()
        .has_headers(false)
        .from_path(path)
        .expect("the report has this file")
        .into_records()
        .map(|record| {
            let record = record.expect("a record");
            record.iter().map(str::to_owned).collect()
        })
        .collect()
}

/// The parser of JSON may miss the last binary digit.
fn digit(value: f64) -> f64 {
    2.0 * f64::EPSILON * value.abs()
}

fn read(path: &Path) -> Value {
    let text = fs::read_to_string(path).expect("the report has this file");
    serde_json::from_str(&text).expect("the file is JSON")
}

impl Outputs {
    /// The figures of `site`, whose report goes into `folder`.
    fn of(site: &Path, folder: &Path) -> Outputs {
        let site = site.to_str().expect("the folder has a plain name");
        let report = folder.join("report");
        let to = report.to_str().expect("the folder has a plain name");
        let made = run(&["report", site, "--output", to]);
        assert!([0, 1].contains(&made.status), "{}", made.err);
        let energy = json(&["energy", site, "--format", "json"]);
        let balance = json(&["balance", site, "--format", "json"]);
        Outputs::with(report, energy, balance)
    }

    /// The figures of the demo, whose report goes into `folder`.
    fn of_demo(folder: &Path) -> Outputs {
        sample_run("report sample-data/ferry-lane").write(folder);
        let energy = sample_json("energy sample-data/ferry-lane");
        let balance = sample_json("balance sample-data/ferry-lane");
        Outputs::with(folder.join("result"), energy, balance)
    }

    fn with(report: PathBuf, energy: Value, balance: Value) -> Outputs {
        Outputs {
            energy,
            balance,
            energy_csv: csv(&report.join("energy.csv")),
            balance_csv: csv(&report.join("balance.csv")),
            report,
            compared: 0,
            wrong: Vec::new(),
        }
    }

    /// Two values of one figure; unknown in both is no figure.
    fn same(&mut self, what: &str, one: &Value, other: &Value) {
        match (one, other) {
            (Value::Array(one), Value::Array(other)) if one.len() == other.len() => {
                for (k, (one, other)) in one.iter().zip(other).enumerate() {
                    self.same(&format!("{what}[{k}]"), one, other);
                }
            }
            (Value::Object(one), Value::Object(other)) => {
                for (key, one) in one {
                    let other = other.get(key).unwrap_or(&Value::Null);
                    self.same(&format!("{what}.{key}"), one, other);
                }
            }
            (Value::Null, Value::Null) => {}
            _ => {
                self.compared += 1;
                if one != other {
                    self.wrong.push(format!("{what}: {one} and {other}"));
                }
            }
        }
    }

    /// A figure that is worked out anew, to within a tolerance of its own.
    fn near(&mut self, what: &str, one: f64, other: f64, tolerance: f64) {
        self.compared += 1;
        if (one - other).abs() > tolerance {
            self.wrong.push(format!("{what}: {one} and {other}"));
        }
    }

    fn meter(&self, measures: &str) -> Option<Value> {
        let meters = self.energy["meters"].as_array().expect("meters");
        meters
            .iter()
            .find(|meter| meter["measures"] == measures)
            .cloned()
    }

    /// What a node is now, and what its meter says.
    fn nodes(&mut self) {
        let before = self.balance["before"].clone();
        self.same(
            "before",
            &before,
            &self.balance["nodes"][0]["before"].clone(),
        );
        for node in self.balance["nodes"].as_array().expect("nodes").clone() {
            let id = node["id"].as_str().expect("an id");
            let Some(meter) = self.meter(id) else {
                continue;
            };
            if node["basis"] != "measured" || node["before"].is_null() {
                continue;
            }
            for key in [
                "neutral_rms_a",
                "neutral_max_a",
                "phase_rms_a",
                "phase_max_a",
            ] {
                let what = format!("{id} {key} of energy and balance");
                self.same(&what, &meter[key], &node["before"][key]);
            }
        }
    }

    /// Without moves the neutral is that of now, and with all of them that of the plan.
    fn curve(&mut self) {
        let curve = self.balance["moves_curve"]
            .as_array()
            .expect("a curve")
            .clone();
        let plan = self.balance["recommended_moves"]
            .as_u64()
            .expect("a number");
        let of_plan = curve.iter().find(|point| point["moves"] == plan);
        let ends = [
            (
                "before",
                curve.first(),
                &self.balance["before"]["neutral_rms_a"],
            ),
            ("after", of_plan, &self.balance["after"]["neutral_rms_a"]),
            ("lowest", curve.last(), &self.balance["best_neutral_rms_a"]),
        ];
        let ends: Vec<(&str, f64, f64)> = ends
            .into_iter()
            .filter_map(|(name, point, figure)| {
                Some((name, point?["neutral_rms_a"].as_f64()?, figure.as_f64()?))
            })
            .collect();
        for (name, reached, figure) in ends {
            // Both are sums of the same squares, in another order.
            self.near(
                &format!("curve {name}"),
                reached,
                figure,
                1e-9 * (1.0 + figure),
            );
        }
    }

    /// The files of a report are the answers of the commands.
    fn files(&mut self) {
        let report = self.report.clone();
        let energy = self.energy.clone();
        self.same(
            "energy.json",
            &energy["meters"],
            &read(&report.join("energy.json"))["meters"],
        );
        let own = read(&report.join("report.json"));
        for (k, meter) in own["meters"].as_array().expect("meters").iter().enumerate() {
            self.same(
                &format!("report.json meter {k}"),
                meter,
                &energy["meters"][k],
            );
        }
        let balance = self.balance.clone();
        let written = read(&report.join("balance.json"));
        for key in [
            "before",
            "after",
            "nodes",
            "machines",
            "moves",
            "moves_curve",
        ] {
            self.same(&format!("balance.json {key}"), &balance[key], &written[key]);
        }
    }

    /// The CSV tables hold the digits of the JSON.
    fn tables(&mut self) {
        let energy = self.energy_csv.clone();
        let header = energy[0].clone();
        for (row, cells) in energy[1..].iter().enumerate() {
            let meter = self.energy["meters"][row].clone();
            for (name, cell) in header.iter().zip(cells) {
                if let Some(value) = meter.get(name).and_then(Value::as_f64) {
                    let cell = cell.parse().unwrap_or(f64::NAN);
                    self.near(
                        &format!("energy.csv {row} {name}"),
                        cell,
                        value,
                        digit(value),
                    );
                }
            }
        }
        let balance = self.balance_csv.clone();
        let header = balance[0].clone();
        for (row, cells) in balance[1..].iter().enumerate() {
            let machine = self.balance["machines"][row].clone();
            for (name, cell) in header.iter().zip(cells) {
                if let Some(value) = machine.get(name).and_then(Value::as_f64) {
                    let cell = cell.parse().unwrap_or(f64::NAN);
                    self.near(
                        &format!("balance.csv {row} {name}"),
                        cell,
                        value,
                        digit(value),
                    );
                }
            }
        }
    }

    /// A machine with a meter has the energy of its meter.
    fn machines(&mut self) {
        for machine in self.balance["machines"]
            .as_array()
            .expect("machines")
            .clone()
        {
            let name = machine["machine"].as_str().expect("a name");
            let Some(meter) = self.meter(name).filter(|_| machine["basis"] == "measured") else {
                continue;
            };
            self.same(
                &format!("energy of {name}"),
                &meter["energy_kwh"],
                &machine["energy_kwh"],
            );
        }
    }

    /// What the page says of the neutral, and the board that it tries allocations on.
    fn page(&mut self) {
        let page = fs::read_to_string(self.report.join("index.html")).expect("the page");
        let before = self.balance["before"].clone();
        let after = self.balance["after"].clone();
        if before.is_null() {
            return;
        }
        let amps =
            |figures: &Value, key: &str| format!("{:.1}", figures[key].as_f64().expect("a figure"));
        let sentence = format!(
            "Neutral current, rms over the period: {} A now, {} A after the moves. Maximum: \
             {} A now, {} A after",
            amps(&before, "neutral_rms_a"),
            amps(&after, "neutral_rms_a"),
            amps(&before, "neutral_max_a"),
            amps(&after, "neutral_max_a"),
        );
        self.compared += 4;
        let plain = page.replace('\u{A0}', " ");
        if !plain.contains(&sentence) {
            self.wrong
                .push(format!("the page does not say: {sentence}"));
        }
        self.board(&page);
    }

    /// The board's own numbers under the allocation of now, worked out as its script does.
    fn board(&mut self, page: &str) {
        let Some((_, data)) = page.split_once("id=\"trial-data\">") else {
            return;
        };
        let data = data.split_once("</script>").expect("the element ends").0;
        let data: Value = serde_json::from_str(data).expect("the board's numbers are JSON");
        for node in data["nodes"].as_array().expect("nodes") {
            let id = node["id"].as_str().expect("an id").to_owned();
            let told = self.balance["nodes"]
                .as_array()
                .expect("nodes")
                .iter()
                .find(|told| told["id"] == node["id"])
                .expect("a node of the answer")
                .clone();
            self.same(
                &format!("what-if board, {id}"),
                &node["now"]["phaseRms"],
                &told["before"]["phase_rms_a"],
            );
            self.same(
                &format!("what-if board, {id}"),
                &node["now"]["phaseMax"],
                &told["before"]["phase_max_a"],
            );
            self.same(
                &format!("what-if board, {id}"),
                &node["now"]["neutralRms"],
                &told["before"]["neutral_rms_a"],
            );
            self.same(
                &format!("what-if board, {id}"),
                &node["now"]["neutralMax"],
                &told["before"]["neutral_max_a"],
            );
            let worked_out = mean_square_of_now(&data, node).max(0.0).sqrt();
            let exact = told["before"]["neutral_rms_a"].as_f64().expect("a figure");
            self.near(
                &format!("what-if board, {id}, from its moments"),
                worked_out,
                exact,
                1e-9 * (1.0 + exact),
            );
        }
    }

    fn all(mut self, name: &str, least: usize) -> Outputs {
        self.nodes();
        self.curve();
        self.files();
        self.tables();
        self.machines();
        self.page();
        assert!(self.wrong.is_empty(), "{name}:\n{}", self.wrong.join("\n"));
        assert!(
            self.compared >= least,
            "{name}: only {} cells compared",
            self.compared
        );
        tell(&format!("{name}: {} cells compared", self.compared));
        self
    }
}

#[expect(clippy::print_stderr, reason = "a count is told where it is asked for")]
fn tell(line: &str) {
    eprintln!("{line}");
}

/// Mean square of a node's neutral with every unit where it is now, from second moments.
fn mean_square_of_now(data: &Value, node: &Value) -> f64 {
    let moments: Vec<f64> = STANDARD
        .decode(node["moments"].as_str().expect("moments"))
        .expect("base 64")
        .chunks_exact(8)
        .map(|bytes| f64::from_le_bytes(bytes.try_into().expect("eight bytes")))
        .collect();
    let direction = |phase: usize| {
        let angle = [0.0, -120.0, 120.0][phase];
        num_complex::Complex64::from_polar(1.0, f64::to_radians(angle))
    };
    let factors: Vec<num_complex::Complex64> = node["slots"]
        .as_array()
        .expect("slots")
        .iter()
        .map(|slot| {
            let position = slot[2].as_u64().expect("a position") as usize;
            if position == 3 {
                return num_complex::Complex64::ONE;
            }
            let unit = slot[1].as_i64().expect("a unit");
            let turn = usize::try_from(unit).map_or(0, |unit| {
                data["units"][unit]["now"].as_u64().expect("a turn") as usize
            });
            direction((position + turn) % 3)
        })
        .collect();
    let mut sum = node["beyondMeanSquare"].as_f64().expect("a figure");
    let mut next = 0;
    for first in 0..factors.len() {
        for second in first..factors.len() {
            let moment = num_complex::Complex64::new(moments[next], moments[next + 1]);
            next += 2;
            let twice = if first == second { 1.0 } else { 2.0 };
            sum += twice * (factors[first].conj() * factors[second] * moment).re;
        }
    }
    sum
}

#[test]
fn the_demo_says_each_figure_once() {
    let folder = tempfile::tempdir().expect("a folder");
    let outputs = Outputs::of_demo(folder.path()).all("demo", 1000);
    // The largest neutral that the meter logged, not the larger sum of its phase currents.
    assert_eq!(outputs.balance["before"]["neutral_max_a"], 82.5);
}

#[test]
fn the_european_feeder_says_each_figure_once() {
    let named = std::env::var_os("TAPOFF_SHARED").map(PathBuf::from);
    let shared = named
        .clone()
        .unwrap_or_else(|| Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared"));
    let site = shared.join("data/european-lv");
    if !site.join("site.toml").exists() {
        assert!(named.is_none(), "{} is not there", site.display());
        return tell(&format!("skipped: {} is not there", site.display()));
    }
    let folder = tempfile::tempdir().expect("a folder");
    let outputs = Outputs::of(&site, folder.path()).all("European feeder", 500);
    let lowest = outputs.balance["best_neutral_rms_a"].as_f64();
    assert!((lowest.unwrap_or(f64::NAN) - 15.206_379).abs() < 1e-6);
}

/// Numbers that are the same on every computer.
struct Dice(u64);

impl Dice {
    /// A number from 0 to below `most`.
    fn below(&mut self, most: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % most
    }

    fn amps(&mut self, most: u64) -> f64 {
        self.below(10 * most) as f64 / 10.0
    }
}

const COLUMNS: &str = "time,I1,I2,I3,P1,P2,P3,Q1,Q2,Q3,IN\n";

/// A site whose supply logs currents, powers and the neutral of a day in steps of `step_s`. The neutral is what
/// `neutral` makes of the phasor sum; `lost` leaves cells out.
fn logged(
    seed: u64,
    step_s: u64,
    neutral: impl Fn(f64, &mut Dice) -> f64,
    lost: impl Fn(u64, usize) -> bool,
) -> (Workshop, String) {
    let mut dice = Dice(seed);
    let mut log = COLUMNS.to_owned();
    let mut amps = [20.0, 12.0, 8.0];
    for row in 0..86_400 / step_s {
        for phase in &mut amps {
            if dice.below(4) == 0 {
                *phase = 2.0 + dice.amps(40);
            }
        }
        let factors = [0.95, 0.8, 1.0];
        let mut sum = num_complex::Complex64::ZERO;
        let mut cells = vec![String::new(); 10];
        for k in 0..3 {
            let angle = -f64::acos(factors[k]);
            let turned = [0.0, -120.0, 120.0][k];
            sum += num_complex::Complex64::from_polar(amps[k], angle + f64::to_radians(turned));
            let kva = amps[k] * 0.23;
            cells[k] = format!("{:.1}", amps[k]);
            cells[3 + k] = format!("{:.4}", kva * factors[k]);
            cells[6 + k] = format!("{:.4}", kva * f64::sqrt(1.0 - factors[k] * factors[k]));
        }
        cells[9] = format!("{:.1}", neutral(sum.norm(), &mut dice));
        for (column, cell) in cells.iter_mut().enumerate() {
            if lost(row, column) {
                cell.clear();
            }
        }
        let seconds = row * step_s;
        let clock = format!(
            "{:02}:{:02}:{:02}",
            seconds / 3600,
            seconds / 60 % 60,
            seconds % 60
        );
        let _ = writeln!(log, "2026-03-09 {clock},{}", cells.join(","));
    }
    let site = crate::program::SITE.replace("%Y-%m-%d %H:%M", "%Y-%m-%d %H:%M:%S")
        + "active_power_placeholder = 0\n";
    let more = "reactive_power_l1_kvar = \"Q1\"\nreactive_power_l2_kvar = \"Q2\"\nreactive_power_l3_kvar = \"Q3\"\n\
                current_n_a = \"IN\"\n";
    let site = site.replace("active_power_placeholder = 0\n", more);
    let shop = Workshop::new()
        .with("site.toml", site)
        .with("meters/main.csv", &log);
    (shop, log)
}

fn check(name: &str, shop: &Workshop) -> Outputs {
    let outputs = Outputs::of(&shop.site(), &shop.beside("out"));
    outputs.all(name, 100)
}

/// The neutral's reading is at times smaller, at times larger than the sum of the phase currents.
#[test]
fn a_neutral_smaller_than_the_sum_of_the_phases_is_told_as_measured() {
    let (shop, _) = logged(
        7,
        300,
        |sum, dice| sum * (70 + dice.below(60)) as f64 / 100.0,
        |_, _| false,
    );
    let outputs = check("smaller neutral", &shop);
    let difference = outputs.balance["nodes"][0]["model_difference_neutral_rms_a"].as_f64();
    assert!(difference.is_some_and(|amps| amps > 0.1), "{difference:?}");
}

/// Readings every ten seconds of loads that switch within the minute.
#[test]
fn loads_that_switch_within_an_interval_are_told_as_measured() {
    let (shop, _) = logged(11, 10, |sum, _| sum * 1.02, |_, _| false);
    check("fast switching", &shop);
}

/// Some readings lack a phase, some the neutral.
#[test]
fn intervals_without_a_reading_do_not_shift_what_was_measured() {
    let (shop, _) = logged(
        13,
        60,
        |sum, _| sum + 1.0,
        |row, column| match column {
            0 => row % 97 == 5,
            9 => row % 89 == 7,
            _ => false,
        },
    );
    check("readings lost", &shop);
}
