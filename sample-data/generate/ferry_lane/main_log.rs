//! The main meter: one row a minute, one file a week.

use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use chrono::{DateTime, Datelike, IsoWeek, NaiveDateTime, TimeDelta, Utc};

use super::calendar::{Moment, STEP_H, wall_clock};
use super::faults::Faults;
use super::log::{Mean, push_figure, push_register};
use super::network::Node;

const HEADER: &str = "time,U1,U2,U3,I1,I2,I3,IN,P1,P2,P3,Q1,Q2,Q3,kWh";
/// Decimals of each column but the first and the last: V, A, kW, kvar.
const DECIMALS: [usize; 13] = [1, 1, 1, 1, 1, 1, 1, 2, 2, 2, 2, 2, 2];
const REGISTER_START_KWH: f64 = 48_210.3;

/// The main meter and its log.
pub(crate) struct MainLog {
    folder: PathBuf,
    file: Option<(IsoWeek, BufWriter<File>)>,
    mean: Mean<13>,
    register_kwh: f64,
}

impl MainLog {
    pub(crate) fn new(folder: &Path) -> Self {
        MainLog {
            folder: folder.to_owned(),
            file: None,
            mean: Mean::new(),
            register_kwh: REGISTER_START_KWH,
        }
    }

    pub(crate) fn add(&mut self, moment: &Moment, node: &Node, faults: &Faults) -> io::Result<()> {
        let [u1, u2, u3] = node.phase_v();
        let [i1, i2, i3] = node.phase_a();
        let [s1, s2, s3] = node.power().map(|s| s / 1000.0);
        let i_n = node.neutral_a();
        self.mean.add(&[
            u1, u2, u3, i1, i2, i3, i_n, s1.re, s2.re, s3.re, s1.im, s2.im, s3.im,
        ]);
        self.register_kwh += (s1.re + s2.re + s3.re) * STEP_H;
        match moment.closes(60) {
            Some(end) => self.close_minute(end, faults),
            None => Ok(()),
        }
    }

    fn close_minute(&mut self, end: DateTime<Utc>, faults: &Faults) -> io::Result<()> {
        let means = self.mean.take();
        let stamp = wall_clock(end);
        if faults.is_lost(stamp) {
            return Ok(());
        }
        let mut row = stamp.format("%Y-%m-%d %H:%M").to_string();
        for (value, decimals) in means.into_iter().zip(DECIMALS) {
            push_figure(&mut row, value, decimals);
        }
        push_register(&mut row, self.register_kwh, 1);
        let times = if faults.is_repeated(stamp) { 2 } else { 1 };
        let file = self.file_of(wall_clock(end - TimeDelta::minutes(1)))?;
        for _ in 0..times {
            writeln!(file, "{row}")?;
        }
        Ok(())
    }

    /// The file of the week in which the interval began.
    fn file_of(&mut self, began: NaiveDateTime) -> io::Result<&mut BufWriter<File>> {
        let week = began.iso_week();
        if self.file.as_ref().is_none_or(|(open, _)| *open != week) {
            self.finish()?;
            let name = format!("main-{}-w{:02}.csv", week.year(), week.week());
            let mut file = BufWriter::new(File::create(self.folder.join(name))?);
            writeln!(file, "{HEADER}")?;
            self.file = Some((week, file));
        }
        let (_, file) = self.file.as_mut().expect("a file was opened above");
        Ok(file)
    }

    pub(crate) fn finish(&mut self) -> io::Result<()> {
        match &mut self.file {
            Some((_, file)) => file.flush(),
            None => Ok(()),
        }
    }
}
