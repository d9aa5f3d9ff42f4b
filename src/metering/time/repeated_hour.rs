//! The two passes of the hour that autumn repeats, distinguished by the order of the rows.

/// Rows of a repeated hour that show in which direction the rows of a file go.
const ENOUGH_ROWS: usize = 1000;

/// Rows in a repeated hour, with what they hold, until it is known whether the rows of the file ascend or descend in
/// time.
#[derive(Debug)]
pub(crate) struct RepeatedHourOrder<T> {
    held: Vec<HeldRow<T>>,
    /// With readings an hour apart, two rows at the same time are the two passes.
    hourly: bool,
    /// Do two rows hold the same?
    same: fn(&T, &T) -> bool,
    descends: Option<bool>,
    previous: Option<i64>,
    other_pass: bool,
}

#[derive(Debug)]
struct HeldRow<T> {
    earlier: i64,
    later: i64,
    holds: T,
}

impl<T> RepeatedHourOrder<T> {
    pub(crate) fn new(hourly: bool, same: fn(&T, &T) -> bool) -> RepeatedHourOrder<T> {
        RepeatedHourOrder {
            held: Vec::new(),
            hourly,
            same,
            descends: None,
            previous: None,
            other_pass: false,
        }
    }

    /// The next row and its two possible times.
    pub(crate) fn push(&mut self, (earlier, later): (i64, i64), holds: T) {
        self.held.push(HeldRow {
            earlier,
            later,
            holds,
        });
    }

    /// The rows whose time is known by now.
    pub(crate) fn known(&mut self) -> Vec<(i64, T)> {
        if self.descends.is_none() && self.held.len() >= ENOUGH_ROWS {
            self.descends = self.shown();
        }
        match self.descends {
            Some(descends) => self.release(descends),
            None => Vec::new(),
        }
    }

    /// The rows that are left; where they do not show it, the direction is that of the file.
    pub(crate) fn finish(&mut self, file_descends: bool) -> Vec<(i64, T)> {
        let shown = self.descends.or_else(|| self.shown());
        self.release(shown.unwrap_or(file_descends))
    }

    /// Do most rows lie before the one above them?
    fn shown(&self) -> Option<bool> {
        let steps = self.held.windows(2);
        let steps = steps.map(|pair| (pair[1].earlier - pair[0].earlier).signum());
        match steps.sum::<i64>() {
            0 => None,
            sum => Some(sum < 0),
        }
    }

    fn release(&mut self, descends: bool) -> Vec<(i64, T)> {
        let rows = std::mem::take(&mut self.held);
        if let Some(known) = self.by_label(&rows, descends) {
            return known
                .into_iter()
                .zip(rows)
                .map(|(at, row)| (at, row.holds))
                .collect();
        }
        let time_of = |row: HeldRow<T>| (self.time_of(row.earlier, row.later, descends), row.holds);
        rows.into_iter().map(time_of).collect()
    }

    /// The times of rows that are sorted by their labels, so that the two passes of each follow one another.
    /// Rows that hold the same are one that was sent twice.
    fn by_label(&self, rows: &[HeldRow<T>], descends: bool) -> Option<Vec<i64>> {
        let pairs = rows.chunk_by(|a, b| a.earlier == b.earlier);
        let twins = pairs.clone().filter(|pair| pair.len() == 2).count();
        let differ = pairs
            .clone()
            .filter(|pair| pair.len() == 2 && !(self.same)(&pair[0].holds, &pair[1].holds));
        let all = pairs.clone().count();
        let one_way = rows.windows(2).all(|pair| {
            let step = pair[1].earlier - pair[0].earlier;
            if descends { step <= 0 } else { step >= 0 }
        });
        // A reading may be missing in one of the passes.
        let sorted = all > 1 && one_way && 4 * twins >= 3 * all && 2 * differ.count() > twins;
        sorted.then(|| {
            pairs
                .flat_map(|pair| {
                    pair.iter().enumerate().map(move |(nth, row)| {
                        let second = (nth == 1) != (descends && pair.len() == 2);
                        if second { row.later } else { row.earlier }
                    })
                })
                .collect()
        })
    }

    fn time_of(&mut self, earlier: i64, later: i64, descends: bool) -> i64 {
        let begins_again = |previous: i64| {
            let step = earlier - previous;
            (if descends { step > 0 } else { step < 0 }) || self.hourly && step == 0
        };
        match self.previous {
            // Another autumn.
            Some(previous) if (earlier - previous).abs() > 12 * 3600 => self.other_pass = false,
            Some(previous) if begins_again(previous) => self.other_pass = true,
            _ => {}
        }
        self.previous = Some(earlier);
        if self.other_pass == descends {
            earlier
        } else {
            later
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn times(rows: &[i64], hourly: bool, file_descends: bool) -> Vec<i64> {
        let mut order = RepeatedHourOrder::new(hourly, |a, b| a == b);
        for (number, &minute) in rows.iter().enumerate() {
            order.push((60 * minute, 60 * minute + 3600), number);
        }
        let rows = order.finish(file_descends);
        rows.into_iter().map(|(at, _)| at / 60).collect()
    }

    #[test]
    fn both_directions_and_two_autumns() {
        let year = 365 * 1440;
        let up = [0, 20, 40, 0, 20, 40, year, year + 20, year, year + 20];
        let read = [
            0,
            20,
            40,
            60,
            80,
            100,
            year,
            year + 20,
            year + 60,
            year + 80,
        ];
        assert_eq!(times(&up, false, false), read);
        let reversed = |rows: &[i64]| -> Vec<i64> { rows.iter().rev().copied().collect() };
        assert_eq!(times(&reversed(&up), false, true), reversed(&read));
    }

    #[test]
    fn rows_sorted_by_their_labels_are_both_passes() {
        let sorted = [0, 0, 15, 15, 30, 30, 45, 45];
        assert_eq!(
            times(&sorted, false, false),
            [0, 60, 15, 75, 30, 90, 45, 105]
        );
        let backwards: Vec<i64> = sorted.iter().rev().copied().collect();
        assert_eq!(
            times(&backwards, false, true),
            [105, 45, 90, 30, 75, 15, 60, 0]
        );
    }

    #[test]
    fn two_equal_hours_go_with_the_file() {
        assert_eq!(times(&[0, 0], true, false), [0, 60]);
        assert_eq!(times(&[0, 0], true, true), [60, 0]);
        assert_eq!(times(&[0], true, false), [0]);
    }
}
