//! Records of a log one by one, each from a place of one's own choosing.

use csv_core::{ReadRecordResult, Reader, ReaderBuilder};

/// Splits records with all that separated values may hold: quotes, separators in quotes.
#[derive(Debug)]
pub(crate) struct Records {
    reader: Reader,
    text: Vec<u8>,
    ends: Vec<usize>,
    cells: usize,
}

impl Records {
    pub(crate) fn new(separator: u8) -> Records {
        Records {
            reader: ReaderBuilder::new().delimiter(separator).build(),
            text: vec![0; 1024],
            ends: vec![0; 64],
            cells: 0,
        }
    }

    /// Reads the first record; blank lines before it are passed over. Returns the bytes it took,
    /// `None` where there is no record.
    pub(crate) fn read(&mut self, bytes: &[u8]) -> Option<usize> {
        self.reader.reset();
        let (mut taken, mut written, mut cells) = (0, 0, 0);
        loop {
            let (result, input, output, ends) = self.reader.read_record(
                &bytes[taken..],
                &mut self.text[written..],
                &mut self.ends[cells..],
            );
            taken += input;
            written += output;
            cells += ends;
            match result {
                // With nothing left, the next round ends the record.
                ReadRecordResult::InputEmpty => {}
                ReadRecordResult::OutputFull => self.text.resize(self.text.len() * 2, 0),
                ReadRecordResult::OutputEndsFull => self.ends.resize(self.ends.len() * 2, 0),
                ReadRecordResult::Record => {
                    self.cells = cells;
                    return Some(taken);
                }
                ReadRecordResult::End => {
                    self.cells = 0;
                    return None;
                }
            }
        }
    }

    /// A cell of the record.
    pub(crate) fn get(&self, cell: usize) -> Option<&[u8]> {
        if cell >= self.cells {
            return None;
        }
        let start = cell.checked_sub(1).map_or(0, |before| self.ends[before]);
        Some(&self.text[start..self.ends[cell]])
    }

    pub(crate) fn is_blank(&self) -> bool {
        (0..self.cells)
            .filter_map(|cell| self.get(cell))
            .all(|cell| cell.trim_ascii().is_empty())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn records_are_split_as_the_csv_crate_splits_them() {
        let long = "x".repeat(3000);
        let many = "1;".repeat(200);
        let text = format!(
            "a;\"b;\n c\";\"d\"\"e\"\r\n\n\r\n;{long}\n{many}\nx\ry;z\n \"q\";\"open\nto the end"
        );
        let mut expected = Vec::new();
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(b';')
            .from_reader(text.as_bytes());
        for record in reader.byte_records() {
            let record = record.expect("bytes in memory");
            expected.push(record.iter().map(<[u8]>::to_vec).collect::<Vec<_>>());
        }
        let mut records = Records::new(b';');
        let mut at = 0;
        for expected in &expected {
            at += records.read(&text.as_bytes()[at..]).expect("a record");
            let cells: Vec<Vec<u8>> = (0..)
                .map_while(|cell| records.get(cell).map(<[u8]>::to_vec))
                .collect();
            assert_eq!(&cells, expected);
        }
        assert_eq!(records.read(&text.as_bytes()[at..]), None);
        assert_eq!(at, text.len());
    }
}
