//! The distances between the rows of a log: how often it is read, and whether that changes.

/// Equal steps in a row from which they are a cadence; fewer may be gaps.
const STEADY: u64 = 8;

/// Equal steps one after the other.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct StepRun {
    step: i64,
    rows: u64,
}

/// Shorter steps are gaps and jitter. (s)
const SHORTEST_JUMP_S: i64 = 600;
/// Steps by so much are those of usual cadences. (s)
const USUAL_S: i64 = 300;
/// So many steps that may be jumps are kept.
const MOST_JUMPS: usize = 1000;
/// Share of the steps that must be whole cadences for a clock to be steady. (1)
const STEADY_SHARE: f64 = 0.9;

/// A step that a clock may have made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct ClockJump {
    /// The stamp before. (Unix s)
    pub(crate) from_s: i64,
    /// The stamp after. (Unix s)
    pub(crate) to_s: i64,
}

/// What became of the runs that ended.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
struct Totals {
    /// Cadences and their rows, in the order of their first appearance.
    steady: Vec<StepRun>,
    first: Option<i64>,
    last: Option<i64>,
    changes: u64,
}

impl Totals {
    fn take(&mut self, run: StepRun) {
        if run.rows < STEADY {
            return;
        }
        self.add(run);
        self.changes += u64::from(self.last.is_some_and(|last| last != run.step));
        self.first.get_or_insert(run.step);
        self.last = Some(run.step);
    }

    fn add(&mut self, run: StepRun) {
        match self.steady.iter_mut().find(|known| known.step == run.step) {
            Some(known) => known.rows += run.rows,
            None => self.steady.push(run),
        }
    }

    fn merge(&mut self, later: &Totals) {
        for &run in &later.steady {
            self.add(run);
        }
        let met = self.last.is_some() && later.first.is_some() && self.last != later.first;
        self.changes += later.changes + u64::from(met);
        self.first = self.first.or(later.first);
        self.last = later.last.or(self.last);
    }
}

/// The steps of a log or of a part of it, in the order of the rows.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Steps {
    ends: Option<(i64, i64)>,
    /// Long steps that are not those of a usual cadence.
    jumps: Vec<ClockJump>,
    /// Steps that are a few seconds off a whole minute.
    uneven: u64,
    /// The run at the beginning: it may continue one of an earlier part.
    lead: StepRun,
    /// What ended since, and the run at the end.
    rest: Option<(Totals, StepRun)>,
}

impl Steps {
    /// One more row. (Unix s)
    #[inline]
    pub(crate) fn push(&mut self, at: i64) {
        let Some((_, last)) = &mut self.ends else {
            self.ends = Some((at, at));
            return;
        };
        let signed = at - *last;
        let step = signed.abs();
        if step >= SHORTEST_JUMP_S && step % USUAL_S != 0 && self.jumps.len() < MOST_JUMPS {
            self.jumps.push(ClockJump {
                from_s: *last,
                to_s: at,
            });
        }
        *last = at;
        // Nearly every row follows at the distance of the one before.
        let current = match &mut self.rest {
            Some((_, trail)) => trail,
            None => &mut self.lead,
        };
        if step > 0 && current.step == step {
            current.rows += 1;
            return;
        }
        // Samples of one second, or a row sent twice.
        if step > 0 {
            self.uneven += u64::from(settled(step) != step);
            self.extend(StepRun {
                step: settled(step),
                rows: 1,
            });
        }
    }

    #[inline]
    fn extend(&mut self, run: StepRun) {
        let current = match &mut self.rest {
            Some((_, trail)) => trail,
            None => &mut self.lead,
        };
        if current.step == run.step || current.rows == 0 {
            current.step = run.step;
            current.rows += run.rows;
        } else {
            self.begin(run);
        }
    }

    fn begin(&mut self, run: StepRun) {
        match &mut self.rest {
            Some((totals, trail)) => totals.take(std::mem::replace(trail, run)),
            None => self.rest = Some((Totals::default(), run)),
        }
    }

    /// Takes over the steps of a later part.
    pub(crate) fn merge(&mut self, later: &Steps) {
        let Some((first, last)) = later.ends else {
            return;
        };
        self.push(first);
        let room = MOST_JUMPS - self.jumps.len();
        self.jumps.extend(later.jumps.iter().take(room));
        self.uneven += later.uneven;
        if later.lead.rows > 0 {
            self.extend(later.lead);
        }
        if let Some((totals, trail)) = &later.rest {
            // The last run never continues the one before it.
            self.begin(*trail);
            if let Some((own, _)) = &mut self.rest {
                own.merge(totals);
            }
        }
        self.ends = self.ends.map(|(first, _)| (first, last));
    }

    /// Steps by which the clock of a logger was set: so long, and no multiple of a cadence that nearly all rows keep.
    pub(crate) fn clock_jumps(&self) -> Vec<ClockJump> {
        let (cadences, _) = self.cadences();
        let rows: u64 = cadences.iter().map(|(_, rows)| rows).sum();
        let Some(&(cadence, most)) = cadences.iter().max_by_key(|(_, rows)| *rows) else {
            return Vec::new();
        };
        let wanders = self.uneven as f64 > (1.0 - STEADY_SHARE) * rows as f64;
        let is_steady = most as f64 >= STEADY_SHARE * rows as f64 && !wanders;
        if !is_steady || self.jumps.len() == MOST_JUMPS {
            return Vec::new();
        }
        let is_off = |jump: &&ClockJump| {
            let rest = (jump.to_s - jump.from_s).rem_euclid(cadence);
            rest.min(cadence - rest) > (cadence / 20).max(1)
        };
        self.jumps.iter().filter(is_off).copied().collect()
    }

    /// Does the last row lie before the first?
    pub(crate) fn descends(&self) -> bool {
        self.ends.is_some_and(|(first, last)| last < first)
    }

    /// Cadences with the rows of each, and how often one followed another.
    pub(crate) fn cadences(&self) -> (Vec<(i64, u64)>, u64) {
        let mut totals = Totals::default();
        totals.take(self.lead);
        if let Some((inner, trail)) = &self.rest {
            totals.merge(inner);
            totals.take(*trail);
        }
        let mut steady: Vec<(i64, u64)> = totals
            .steady
            .iter()
            .map(|run| (run.step, run.rows))
            .collect();
        steady.sort_unstable();
        (steady, totals.changes)
    }
}

/// Jitter of a few seconds around a whole minute is not a cadence of its own. (s)
pub(crate) fn settled(step: i64) -> i64 {
    let minute = (step + 30).div_euclid(60) * 60;
    if step > 30 && (step - minute).abs() <= 5 {
        minute
    } else {
        step
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(times: &[i64]) -> Steps {
        let mut steps = Steps::default();
        for &at in times {
            steps.push(at);
        }
        steps
    }

    /// Twenty minutes minute by minute, a gap, ten quarter-hours, ten minutes, and jitter.
    fn times() -> Vec<i64> {
        let mut times: Vec<i64> = (0..20).map(|n| 60 * n).collect();
        times.extend((0..10).map(|n| 7200 + 900 * n + n % 3));
        times.extend((0..10).map(|n| 20_000 + 60 * n));
        times.extend([20_600, 20_630, 20_700]);
        times
    }

    #[test]
    fn cadences_are_runs_of_equal_steps() {
        // 19 steps and, with the two to 20 540 and 20 600, 10 of a minute, 9 of a quarter-hour.
        assert_eq!(of(&times()).cadences(), (vec![(60, 29), (900, 9)], 2));
        assert_eq!(of(&[]).cadences(), (vec![], 0));
    }

    /// Minutes at 7 s past; after 1 h 47 min 25 s they are at 32 s past. Later 107 minutes are missing.
    #[test]
    fn a_clock_that_is_set_changes_the_seconds_and_a_gap_does_not() {
        let mut times: Vec<i64> = (0..60).map(|n| 7 + 60 * n).collect();
        let set = times[59] + 6445;
        times.extend((0..60).map(|n| set + 60 * n));
        let gap = times[119] + 6420;
        times.extend((0..60).map(|n| gap + 60 * n));
        let jump = ClockJump {
            from_s: times[59],
            to_s: set,
        };
        assert_eq!(of(&times).clock_jumps(), [jump]);
        // A logger that is read when there is time, every 61 or 62 s.
        let mut wandering: Vec<i64> = (0..90).map(|n| 61 * n + n / 2).collect();
        wandering.extend((0..90).map(|n| 20_000 + 61 * n + n / 2));
        assert_eq!(of(&wandering).clock_jumps(), []);
    }

    #[test]
    fn cut_anywhere_the_steps_are_the_same() {
        let times = times();
        let whole = of(&times);
        for first in 0..=times.len() {
            for second in first..=times.len() {
                let mut joined = of(&times[..first]);
                joined.merge(&of(&times[first..second]));
                joined.merge(&of(&times[second..]));
                assert_eq!(joined, whole, "{first} {second}");
            }
        }
    }
}
