//! The sub-meters: three loggers that write a row every five minutes.

use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::Path;

use chrono::{DateTime, Utc};

use super::calendar::{Moment, STEP_H, wall_clock};
use super::faults::{Faults, REVERSED, ROLLING, ROLLOVER_KWH};
use super::load::Load;
use super::log::{Mean, push_figure, push_register};
use super::network::{Network, Node};

/// One metered machine on a logger.
struct Channel {
    /// Index of the load.
    load: usize,
    name: &'static str,
    /// Is the current logged? It is for single-phase machines.
    with_current: bool,
    with_reactive: bool,
    /// 1, or −1 with the current transformer the wrong way round.
    sign: f64,
    register_kwh: f64,
    /// Current [A], P [kW], Q [kvar].
    mean: Mean<3>,
}

impl Channel {
    /// Names a column prefix, the machine, what is logged and where the register starts.
    fn new(
        loads: &[Load],
        faults: &Faults,
        name: &'static str,
        (with_current, with_reactive): (bool, bool),
        register_kwh: f64,
    ) -> Self {
        let load = loads
            .iter()
            .position(|load| load.name == name)
            .expect("every metered machine is a load of the workshop");
        let reversed = faults.present && name == REVERSED;
        let rolls = faults.present && name == ROLLING;
        Channel {
            load,
            name,
            with_current,
            with_reactive,
            sign: if reversed { -1.0 } else { 1.0 },
            register_kwh: if rolls {
                ROLLOVER_KWH - 90.0
            } else {
                register_kwh
            },
            mean: Mean::new(),
        }
    }

    fn add(&mut self, loads: &[Load]) {
        let draw = &loads[self.load].draw;
        let rms = (0..3)
            .map(|k| (draw.current[k].norm_sqr() + draw.third[k] * draw.third[k]).sqrt())
            .fold(0.0, f64::max);
        let p_kw = self.sign * draw.p.iter().sum::<f64>() / 1000.0;
        let q_kvar = self.sign * draw.q.iter().sum::<f64>() / 1000.0;
        self.mean.add(&[rms, p_kw, q_kvar]);
        // An import register does not run backwards.
        self.register_kwh += p_kw.max(0.0) * STEP_H;
    }

    fn push(&mut self, row: &mut String) -> bool {
        let [current, p, q] = self.mean.take();
        if self.with_current {
            push_figure(row, current, 2);
        }
        push_figure(row, p, 3);
        if self.with_reactive {
            push_figure(row, q, 3);
        }
        let rolls = self.register_kwh >= ROLLOVER_KWH;
        if rolls {
            self.register_kwh -= ROLLOVER_KWH;
        }
        push_register(row, self.register_kwh, 1);
        rolls
    }
}

/// The three loggers.
pub(crate) struct SubMeters {
    joinery: BufWriter<File>,
    shed: BufWriter<File>,
    board: BufWriter<File>,
    in_joinery: Vec<Channel>,
    in_shed: Vec<Channel>,
    /// Board DB2: line voltages, phase and neutral currents, P per phase, Q in total.
    board_mean: Mean<11>,
    board_register_kwh: f64,
    /// End of the interval in which a register started again.
    pub(crate) rolled_over: Option<DateTime<Utc>>,
}

const JOINERY_HEADER: &str = "time,saw_P,saw_Q,saw_kWh,chips_P,chips_Q,chips_kWh,\
    air_P,air_Q,air_kWh,hall_I,hall_P,hall_kWh,kiln_I,kiln_P,kiln_Q,kiln_kWh";
const SHED_HEADER: &str = "utc,launch_I,launch_P,launch_Q,launch_kWh,steam_I,steam_P,steam_kWh";
const BOARD_HEADER: &str = "time,U12,U23,U31,I1,I2,I3,IN,P1,P2,P3,Q,kWh";
const BOARD_DECIMALS: [usize; 11] = [1, 1, 1, 2, 2, 2, 2, 3, 3, 3, 3];

impl SubMeters {
    pub(crate) fn create(folder: &Path, loads: &[Load], faults: &Faults) -> io::Result<Self> {
        let open = |name: &str, header: &str| -> io::Result<BufWriter<File>> {
            let mut file = BufWriter::new(File::create(folder.join(name))?);
            writeln!(file, "{header}")?;
            Ok(file)
        };
        let channel = |name, logged, kwh| Channel::new(loads, faults, name, logged, kwh);
        Ok(SubMeters {
            joinery: open("joinery-5min.csv", JOINERY_HEADER)?,
            shed: open("boat-shed-5min.csv", SHED_HEADER)?,
            board: open("db2-5min.csv", BOARD_HEADER)?,
            in_joinery: vec![
                channel("Sliding panel saw", (false, true), 7_214.6),
                channel("Chip extraction", (false, true), 15_530.9),
                channel(ROLLING, (false, true), 21_407.2),
                channel("Bench hall heaters", (true, false), 3_961.4),
                channel(REVERSED, (true, true), 212.8),
            ],
            in_shed: vec![
                channel("Launch charger", (true, true), 1_874.5),
                channel("Steam box", (true, false), 655.1),
            ],
            board_mean: Mean::new(),
            board_register_kwh: 26_833.7,
            rolled_over: None,
        })
    }

    pub(crate) fn add(
        &mut self,
        moment: &Moment,
        network: &Network,
        loads: &[Load],
    ) -> io::Result<()> {
        for channel in self.in_joinery.iter_mut().chain(&mut self.in_shed) {
            channel.add(loads);
        }
        self.add_board(&network.db2);
        match moment.closes(300) {
            Some(end) => self.write_rows(end),
            None => Ok(()),
        }
    }

    fn add_board(&mut self, node: &Node) {
        let [u12, u23, u31] = node.line_v();
        let [i1, i2, i3] = node.phase_a();
        let [s1, s2, s3] = node.power().map(|s| s / 1000.0);
        let q = s1.im + s2.im + s3.im;
        let i_n = node.neutral_a();
        self.board_mean
            .add(&[u12, u23, u31, i1, i2, i3, i_n, s1.re, s2.re, s3.re, q]);
        self.board_register_kwh += (s1.re + s2.re + s3.re) * STEP_H;
    }

    fn write_rows(&mut self, end: DateTime<Utc>) -> io::Result<()> {
        let local = wall_clock(end).format("%Y-%m-%d %H:%M").to_string();
        let mut row = local.clone();
        for channel in &mut self.in_joinery {
            if channel.push(&mut row) {
                self.rolled_over = Some(end);
            }
        }
        writeln!(self.joinery, "{row}")?;

        row = end.format("%Y-%m-%dT%H:%MZ").to_string();
        for channel in &mut self.in_shed {
            channel.push(&mut row);
        }
        writeln!(self.shed, "{row}")?;

        row = local;
        for (value, decimals) in self.board_mean.take().into_iter().zip(BOARD_DECIMALS) {
            push_figure(&mut row, value, decimals);
        }
        push_register(&mut row, self.board_register_kwh, 1);
        writeln!(self.board, "{row}")
    }

    /// Is this machine metered?
    pub(crate) fn measure(&self, name: &str) -> bool {
        self.in_joinery
            .iter()
            .chain(&self.in_shed)
            .any(|channel| channel.name == name)
    }

    pub(crate) fn finish(&mut self) -> io::Result<()> {
        self.joinery.flush()?;
        self.shed.flush()?;
        self.board.flush()
    }
}
