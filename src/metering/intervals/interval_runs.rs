//! Numbers of intervals in the order of their arrival, kept as runs of neighbours.

/// Interval numbers; a log without gaps is one run, whatever its length.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Bins {
    runs: Vec<IntervalRun>,
    len: usize,
    descends: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct IntervalRun {
    first: i64,
    len: usize,
}

impl Bins {
    pub(crate) fn len(&self) -> usize {
        self.len
    }

    pub(crate) fn last(&self) -> Option<i64> {
        self.runs.last().map(|run| run.first + run.len as i64 - 1)
    }

    pub(crate) fn push(&mut self, bin: i64) {
        let last = self.last();
        self.len += 1;
        self.descends |= last.is_some_and(|last| last >= bin);
        match self.runs.last_mut() {
            Some(run) if last == bin.checked_sub(1) => run.len += 1,
            _ => self.runs.push(IntervalRun { first: bin, len: 1 }),
        }
    }

    pub(crate) fn append(&mut self, later: &Bins) {
        for run in &later.runs {
            let last = self.last();
            self.descends |= last.is_some_and(|last| last >= run.first);
            self.len += run.len;
            match self.runs.last_mut() {
                Some(own) if last == run.first.checked_sub(1) => own.len += run.len,
                _ => self.runs.push(*run),
            }
        }
    }

    /// Does every number exceed the one before?
    pub(crate) fn ascend(&self) -> bool {
        !self.descends
    }

    pub(crate) fn iter(&self) -> impl Iterator<Item = i64> {
        self.runs
            .iter()
            .flat_map(|run| run.first..run.first + run.len as i64)
    }

    /// Memory in use. (bytes)
    #[cfg(test)]
    pub(crate) fn bytes(&self) -> usize {
        self.runs.capacity() * size_of::<IntervalRun>()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_give_back_what_was_pushed() {
        let numbers = [5, 6, 7, 9, 10, 8, 8, 2];
        let mut pushed = Bins::default();
        for number in numbers {
            pushed.push(number);
        }
        assert_eq!(pushed.iter().collect::<Vec<_>>(), numbers);
        assert_eq!((pushed.len(), pushed.last()), (8, Some(2)));
        assert!(!pushed.ascend());
        for cut in 0..numbers.len() {
            let (mut first, mut second) = (Bins::default(), Bins::default());
            for (index, &number) in numbers.iter().enumerate() {
                let part = if index < cut { &mut first } else { &mut second };
                part.push(number);
            }
            first.append(&second);
            assert_eq!(first.iter().collect::<Vec<_>>(), numbers, "cut at {cut}");
            assert!(!first.ascend());
        }
    }
}
