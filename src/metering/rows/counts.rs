//! What the rows of a chunk or a file came to, and the first of each kind that could not be read.

use crate::table::quality::{ReadingLine, Tally};
use crate::time::cadence::Steps;

/// The first cell of a kind that could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Fault {
    /// Line within the chunk, from 0.
    pub(crate) line: usize,
    pub(crate) cell: usize,
    pub(crate) text: String,
}

/// Counts of one chunk or file.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Counts {
    pub(crate) rows: u64,
    /// Rows taken by the fast path.
    pub(crate) fast: u64,
    pub(crate) usable: u64,
    /// From usable row to usable row.
    pub(crate) steps: Steps,
    pub(crate) bad_time: Tally,
    pub(crate) bad_cell: Tally,
    pub(crate) typeset_minus: Tally,
    pub(crate) headers: Tally,
    pub(crate) skipped_hour: Tally,
    pub(crate) repeated_hour: Tally,
    pub(crate) first_bad_time: Option<Fault>,
    pub(crate) first_bad_cell: Option<Fault>,
    /// The first header between the rows that names other columns.
    pub(crate) first_other_header: Option<Fault>,
}

impl Fault {
    /// Remembers a cell if it is the first of its kind.
    pub(super) fn note(first: &mut Option<Fault>, line: usize, cell: usize, text: &[u8]) {
        first.get_or_insert_with(|| Fault {
            line,
            cell,
            text: String::from_utf8_lossy(text).trim().to_owned(),
        });
    }

    fn moved(self, lines: usize) -> Fault {
        Fault {
            line: self.line + lines,
            ..self
        }
    }
}

impl Counts {
    /// The same counts with other lines; the first faults stay where they are.
    pub(crate) fn placed(self, place: impl Fn(ReadingLine) -> ReadingLine) -> Counts {
        Counts {
            bad_time: self.bad_time.placed(&place),
            bad_cell: self.bad_cell.placed(&place),
            typeset_minus: self.typeset_minus.placed(&place),
            headers: self.headers.placed(&place),
            skipped_hour: self.skipped_hour.placed(&place),
            repeated_hour: self.repeated_hour.placed(&place),
            ..self
        }
    }

    /// Takes over the counts of a later chunk whose first line is `line`.
    pub(crate) fn merge(&mut self, later: Counts, line: usize) {
        self.rows += later.rows;
        self.fast += later.fast;
        self.usable += later.usable;
        self.steps.merge(&later.steps);
        let later = later.placed(|spot| spot.moved(line));
        self.bad_time.merge(later.bad_time);
        self.bad_cell.merge(later.bad_cell);
        self.typeset_minus.merge(later.typeset_minus);
        self.headers.merge(later.headers);
        self.skipped_hour.merge(later.skipped_hour);
        self.repeated_hour.merge(later.repeated_hour);
        keep_first(&mut self.first_bad_time, later.first_bad_time, line);
        keep_first(&mut self.first_bad_cell, later.first_bad_cell, line);
        keep_first(&mut self.first_other_header, later.first_other_header, line);
    }
}

/// The first fault stays; else it is that of the later chunk.
fn keep_first(first: &mut Option<Fault>, later: Option<Fault>, line: usize) {
    if first.is_none() {
        *first = later.map(|fault| fault.moved(line));
    }
}
